//! The report as a JSON document: its types, from which its schema is made.
//!
//! A doc comment here is a description there. Numbers are texts, exact: a decimal or `p/q`, in the unit beside them.

use schemars::JsonSchema;
use serde::Serialize;

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
    pub record: RecordPart,
    pub procedure: Procedure,
    pub verdict: Verdict,
    /// Facts of the machine, as asked and answered.
    pub machine: Vec<Fact>,
    pub people: Vec<Person>,
    pub instruments: Vec<Instrument>,
    pub tests: Vec<Test>,
    /// Results of different tests that must agree, and whether they do.
    pub crosschecks: Vec<String>,
    /// What was altered on the machine, in the order in which it was.
    pub moves: Vec<Move>,
    pub defects: Vec<Defect>,
    pub notes: Vec<String>,
    /// What was added after the signing, each with the name and party of who signed it.
    pub amendments: Vec<Amendment>,
    /// Pauses, torn lines, a file that changed.
    pub history: Vec<Remark>,
    pub signatures: Vec<Signature>,
    /// Who is expected to sign and has not.
    pub still_to_sign: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Amendment {
    pub time: String,
    pub text: String,
    /// Absent where no signature follows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub party: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RecordPart {
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
    /// The time of its last line.
    pub last: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Procedure {
    pub title: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<String>,
    pub scope: Vec<String>,
    pub basis: Vec<String>,
    /// How a value is held against its limits, with the edition of the rule; empty where it could not be read.
    pub decision: String,
    pub files: Vec<File>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct File {
    pub name: String,
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
    pub name: String,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What its sign means.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typed: Option<String>,
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
    pub time: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Person {
    pub role: String,
    pub name: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Instrument {
    pub name: String,
    pub title: String,
    pub number: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<String>,
    /// The walk began after that date.
    pub past_its_date: bool,
    pub details: Vec<String>,
}

/// One step of the procedure.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Test {
    pub step: String,
    pub title: String,
    pub section: String,
    /// Where it stands at the end: `passed`, `failed`, `skipped`, ...; `, stale` behind it if it is to be taken again.
    pub state: String,
    /// Its own decision rule.
    pub decision: String,
    pub basis: Vec<String>,
    pub set_up: Vec<String>,
    pub conditions: Vec<String>,
    /// As found is the first, as left the last.
    pub tries: Vec<Attempt>,
    /// Who did it, who witnessed it, why it was left out, what was confirmed, in their order.
    pub remarks: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Attempt {
    /// From 1: as found.
    pub number: u32,
    pub opened: String,
    /// The lines of the moves before it.
    pub after: Vec<u64>,
    /// As it was judged; absent if it never was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    pub readings: Vec<Reading>,
    /// Things that were listed on the spot.
    pub lists: Vec<List>,
    pub results: Vec<Outcome>,
    pub rules: Vec<Rule>,
    pub advice: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct List {
    pub axis: String,
    pub items: Vec<String>,
}

/// What a positive and a negative number mean.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Sense {
    pub plus: String,
    pub minus: String,
    /// The station that has these words of its own; absent: all others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
}

/// One set of a reading or of an observation.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Reading {
    pub name: String,
    pub label: String,
    /// Seen and answered, not measured.
    pub observed: bool,
    /// From 1; a further one measured the same machine again.
    pub set: u32,
    pub senses: Vec<Sense>,
    /// Begun again since: kept, and it does not count.
    pub left_off: bool,
    pub entries: Vec<Entry>,
    /// Stations read once more behind a break, to join both parts.
    pub read_again: Vec<Entry>,
}

#[derive(Debug, Serialize, JsonSchema)]
pub struct Entry {
    /// The line of the record.
    pub line: u64,
    pub time: String,
    pub at: Vec<Station>,
    #[serde(flatten)]
    pub value: Value,
    /// Why it was not read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_read: Option<String>,
    /// Behind a break at which the series was joined: the value less the shift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counts_as: Option<String>,
    /// `typed`, `row`, `gauge`, `sheet`, `example`, `seeded`.
    pub how: String,
    /// Values that were struck out, oldest first.
    pub struck_out: Vec<StruckOut>,
    /// It was asked about, and kept: what was odd about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub queried: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept_because: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Station {
    /// Empty where the procedure could not be read.
    pub axis: String,
    pub station: String,
}

/// A result that was worked out.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Outcome {
    pub name: String,
    pub label: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sense: Option<Sense>,
    pub cells: Vec<Cell>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Cell {
    pub at: Vec<Station>,
    /// An exact number in the unit of the result (`0.01 at 90 deg` of an arrow), or a word, or why there is none.
    pub value: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// U = 2u.
    #[serde(rename = "U", skip_serializing_if = "Option::is_none")]
    pub expanded: Option<String>,
}

/// A `tolerance` or `require` line, judged.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Rule {
    pub name: String,
    /// What is judged, in words.
    pub label: String,
    pub verdict: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// Where, of several values.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// As it was scaled to what was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lower: Option<Bound>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub upper: Option<Bound>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Uncertainty>,
    pub notes: Vec<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Bound {
    pub value: String,
    /// The bound itself passes.
    pub included: bool,
}

/// In the unit of the value, to six significant digits.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Uncertainty {
    /// The decision rule with its edition.
    pub rule: String,
    pub u: String,
    pub k: String,
    /// U = k u.
    #[serde(rename = "U")]
    pub expanded: String,
    /// Effective degrees of freedom, where they are not infinitely many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub freedom: Option<String>,
    /// Probability that the true value lies within the limits.
    pub conformity: String,
    pub method: String,
    /// Each contribution, the greatest first.
    pub budget: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
pub struct Move {
    pub line: u64,
    pub time: String,
    pub step: String,
    /// The adjustment of the procedure; absent where it was only said in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adjustment: Option<String>,
    pub what: String,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    pub advised: Option<String>,
    /// Made on advice that a correction has taken away.
    pub withdrawn: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub justified: Option<String>,
    pub effects: Vec<Effect>,
}

/// What a move did, in words.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Effect {
    pub what: String,
    pub before: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predicted: Option<String>,
    pub after: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per_unit: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Defect {
    pub number: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    pub text: String,
    /// Its picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub photo: Option<File>,
    /// `open`, or how it was mended, or who accepted it.
    pub standing: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Remark {
    pub time: String,
    pub text: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Signature {
    pub party: String,
    pub name: String,
    pub identity: String,
    pub key_fingerprint: String,
    pub time: String,
    /// The verdict that was signed.
    pub verdict: String,
    /// It covers so many bytes from the beginning of the record; 0: it was begun and not made.
    pub bytes: u64,
    /// How far it can be relied on.
    pub standing: String,
}
