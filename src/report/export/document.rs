//! The report as a JSON document: its types, from which its schema is made.
//!
//! A doc comment here is a description there. Numbers are texts, exact: a decimal or `p/q`, in the unit beside them.

use schemars::JsonSchema;
use serde::Serialize;

pub use super::tested::*;

/// The version of the form; another one has another name.
pub const SCHEMA: &str = "bedway report 1";

/// The report of a record of a machine tool's test. Numbers are texts: exact decimals or `p/q`, in the unit beside them.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Document {
    /// What a reader must know before all else: a rehearsal, damage, no signature. Empty if there is nothing.
    pub warning: String,
    /// `bedway report 1`.
    pub schema: String,
    /// The file that all of this is from.
    pub record: RecordPart,
    /// The text that was walked.
    pub procedure: Procedure,
    /// What the whole comes to.
    pub verdict: Verdict,
    /// Facts of the machine, as asked and answered.
    pub machine: Vec<Fact>,
    /// Who took part, and as what.
    pub people: Vec<Person>,
    /// What the temperature was meanwhile: the room first, whatever gave it, then each reading of a temperature.
    pub temperatures: Vec<Temperature>,
    /// What it was read with, as it was said at the bench.
    pub instruments: Vec<Instrument>,
    /// The steps of the procedure of which something is on the record.
    pub tests: Vec<Test>,
    /// Results of different tests that must agree, and whether they do.
    pub crosschecks: Vec<String>,
    /// What was altered on the machine, in the order in which it was.
    pub moves: Vec<Move>,
    /// What was found besides, mended or not.
    pub defects: Vec<Defect>,
    /// Notes that belong to no step.
    pub notes: Vec<String>,
    /// What was added after the signing, each with the name and party of who signed it.
    pub amendments: Vec<Amendment>,
    /// Pauses, torn lines, a file that changed.
    pub history: Vec<Remark>,
    /// In their order.
    pub signatures: Vec<Signature>,
    /// Who is expected to sign and has not.
    pub still_to_sign: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Amendment {
    /// When it was added.
    pub time: String,
    /// What became known.
    pub text: String,
    /// Absent where no signature follows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The party that signed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub party: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Temperature {
    /// Absent of the room and of facts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// `Room`, or what was asked, with the place behind it where there are few.
    pub what: String,
    /// Of both values.
    pub unit: String,
    /// The lowest that was read.
    pub least: String,
    /// The highest that was read.
    pub greatest: String,
    /// How many.
    pub readings: usize,
    /// When the first was read.
    pub from: String,
    /// When the last was read.
    pub to: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RecordPart {
    /// The name of the file.
    pub file: String,
    /// SHA-256 of its whole lines.
    pub sha256: String,
    /// SHA-256 of the record before it, if one was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub previous: Option<String>,
    /// The version of the program that wrote it.
    pub program: String,
    /// Nothing was measured.
    pub rehearsal: bool,
    /// The time of its first line, with offset.
    pub opened: String,
    /// When the walk ended: the time of its last line before the signatures and what was added after them.
    pub last: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Procedure {
    /// As its text says.
    pub title: String,
    /// As its text says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<String>,
    /// What it is for.
    pub scope: Vec<String>,
    /// What it rests on.
    pub basis: Vec<String>,
    /// How a value is held against its limits, with the edition of the rule; empty where it could not be read.
    pub decision: String,
    /// Its text and those that it includes, frozen in the record.
    pub files: Vec<File>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct File {
    /// Without its folder.
    pub name: String,
    /// Of its bytes.
    pub sha256: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Verdict {
    /// `accepted`, `accepted with exceptions`, `not accepted`; `unfinished` as long as the walk is not closed.
    pub verdict: String,
    /// Exceptions, what is open or stale, what was not tested.
    pub exceptions: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Fact {
    /// The line of the record.
    pub line: u64,
    /// When it was answered, with offset.
    pub time: String,
    /// Its name in the procedure.
    pub name: String,
    /// As it was asked.
    pub label: String,
    #[serde(flatten)]
    pub value: Value,
    /// What stood there before, oldest first.
    pub struck_out: Vec<StruckOut>,
}

/// An answer: its value, and how it was typed.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct Value {
    /// An exact number in `unit`, or a word, a text, a date, the name of a file; `over 200` or `below 0.2` where it is only
    /// known to lie beyond. Absent where nothing was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// Absent where it has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What its sign means.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// As it was typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typed: Option<String>,
    /// The unit that was typed with it, if one was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typed_unit: Option<String>,
    /// Of a photograph.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
pub struct StruckOut {
    #[serde(flatten)]
    pub value: Value,
    /// Why it had not been read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_read: Option<String>,
    /// Why it was corrected.
    pub reason: String,
    /// The line of the correction.
    pub line: u64,
    /// When it was corrected.
    pub time: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Person {
    /// `operator`, or a party of the procedure.
    pub role: String,
    /// As typed.
    pub name: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Instrument {
    /// Its name in the procedure.
    pub name: String,
    /// What it must be.
    pub title: String,
    /// The shop's own number of it.
    pub number: String,
    /// Year-month-day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<String>,
    /// The walk began after that date.
    pub past_its_date: bool,
    /// Its resolution, uncertainty, serial number and certificate, in words.
    pub details: Vec<String>,
    /// Its number or its date as they were before they were put right, oldest first.
    pub struck_out: Vec<StruckPart>,
}

#[derive(Debug, Serialize, JsonSchema)]
pub struct Move {
    /// The line of the record.
    pub line: u64,
    /// When it was written down.
    pub time: String,
    /// The step in which it was made.
    pub step: String,
    /// The adjustment of the procedure; absent where it was only said in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adjustment: Option<String>,
    /// What was altered.
    pub what: String,
    /// The stations, where it was made at some.
    pub at: Vec<String>,
    #[serde(flatten)]
    pub amount: Value,
    /// Which way, of an alteration in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub toward: Option<String>,
    /// In Nm, exact.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub torque: Option<String>,
    /// Who did it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// What had been advised, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub advised: Option<String>,
    /// Made on advice that a correction has taken away.
    pub withdrawn: bool,
    /// Moved back since.
    pub undone: bool,
    /// Why it was made although nothing advised it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub justified: Option<String>,
    /// Struck out as a whole by a correction: it never happened.
    pub never: bool,
    /// Parts as they were before they were put right, oldest first.
    pub struck_out: Vec<StruckPart>,
    /// What it did to the results of the step.
    pub effects: Vec<Effect>,
}

/// A part of what was said, as it was before it was put right.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct StruckPart {
    /// Which part, in words.
    pub part: String,
    /// Empty where nothing was said.
    pub was: String,
    /// Why it was corrected.
    pub reason: String,
    /// The line of the correction.
    pub line: u64,
    /// When it was corrected.
    pub time: String,
}

/// What a move did, in words.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Effect {
    /// The result that changed.
    pub what: String,
    /// As it was read before.
    pub before: String,
    /// As the procedure worked it out from what was moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predicted: Option<String>,
    /// As it was read after the move, with its unit.
    pub after: String,
    /// The change for one unit moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per_unit: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Defect {
    /// As it was counted on the walk.
    pub number: u32,
    /// Where it was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// In words.
    pub text: String,
    /// Its picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub photo: Option<File>,
    /// `open`, or how it was mended, or who accepted it.
    pub standing: String,
    /// Its words or its picture as they were before they were put right, oldest first.
    pub struck_out: Vec<StruckPart>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Remark {
    /// When it was written down.
    pub time: String,
    /// In words.
    pub text: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Signature {
    /// For whom.
    pub party: String,
    /// Who signed.
    pub name: String,
    /// Under which the key is known.
    pub identity: String,
    /// SHA-256 of the public key, as `ssh-keygen -l` shows it.
    pub key_fingerprint: String,
    /// When.
    pub time: String,
    /// The verdict as it stood when it was signed.
    pub verdict: String,
    /// It was given to what was added after the signing, not to the verdict.
    pub amends: bool,
    /// It covers so many bytes from the beginning of the record; 0: it was begun and not made.
    pub bytes: u64,
    /// How far it can be relied on.
    pub standing: String,
}
