//! What a report says, as data, built from the events of a record alone; the frozen procedure only lends its words.
//!
//! Numbers stand as on the record (exact, in the unit beside them), so that text, page, table and file are all made from
//! one model and none has to read words back. How they are said is in `said`.

use serde::Serialize;

use crate::quantity::Sense;
use crate::walk::event::{Answer, How, ResultLine, RuleLine};

#[derive(Clone, Debug, Default, Serialize)]
pub struct Report {
    pub title: String,
    pub revision: Option<String>,
    pub scope: Vec<String>,
    pub basis: Vec<String>,
    /// The decision rule of the procedure, with its edition; empty where it could not be read.
    pub decision: String,
    pub rehearsal: bool,
    pub program: String,
    /// Name and SHA-256 of each procedure text that is frozen in the record.
    pub files: Vec<(String, String)>,
    pub previous: Option<String>,
    pub opened: String,
    /// When the walk ended: what was signed or added after it is not walked.
    pub last: String,
    /// What was typed in from paper.
    pub paper: Option<Paper>,
    pub closed: Option<Closed>,
    pub people: Vec<(String, String)>,
    /// What the procedure says of each party.
    pub parties: Vec<(String, String)>,
    /// What the temperature was meanwhile, as far as it was measured.
    pub temperatures: Vec<Temperature>,
    /// Facts: what was asked and what was answered.
    pub machine: Vec<FactLine>,
    pub rows: Vec<Row>,
    pub steps: Vec<StepPart>,
    /// Name and title of each step of which nothing is on the record.
    pub untouched: Vec<(String, String)>,
    pub moves: Vec<Move>,
    pub instruments: Vec<InstrumentLine>,
    pub defects: Vec<DefectLine>,
    pub notes: Vec<String>,
    /// What was added after the signing.
    pub amendments: Vec<AmendmentLine>,
    /// Pauses, torn lines, a file that changed: when and what.
    pub history: Vec<(String, String)>,
    pub signatures: Vec<SignatureLine>,
    pub expected: Vec<String>,
    /// Whether what each uncertainty is made of is to be shown.
    pub budgets: bool,
}

#[derive(Clone, Debug, Serialize)]
pub struct Closed {
    pub verdict: String,
    pub exceptions: Vec<String>,
    pub open: Vec<String>,
    pub stale: Vec<String>,
}

/// One rule of one step, as found and as left.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    pub step: String,
    pub what: String,
    pub found: Option<Held>,
    /// None where there was one try only.
    pub left: Option<Held>,
    /// A `require` line, not a tolerance.
    pub required: bool,
    /// An electrical value: earth, insulation, current. It stands with what was required, not among the geometry.
    pub electrical: bool,
}

/// Readings that stood on paper first.
#[derive(Clone, Debug, Serialize)]
pub struct Paper {
    /// When the first and the last of them were read.
    pub from: String,
    pub to: String,
    /// No reading was typed in where it was taken.
    pub all: bool,
}

/// A fact of the machine.
#[derive(Clone, Debug, Serialize)]
pub struct FactLine {
    pub seq: u64,
    pub time: String,
    pub name: String,
    pub label: String,
    /// The unit of the question, in which the exact value stands.
    pub unit: Option<String>,
    /// Answered in any words, as names and serial numbers are.
    pub free_text: bool,
    /// Answered by one of the words of the procedure.
    pub choice: bool,
    pub answer: Answer,
    /// Values struck out, oldest first.
    pub struck: Vec<Struck>,
}

/// What was read of one temperature.
#[derive(Clone, Debug, Serialize)]
pub struct Temperature {
    /// None of the room and of facts.
    pub step: Option<String>,
    pub what: String,
    pub unit: String,
    pub least: String,
    pub greatest: String,
    pub readings: usize,
    /// When the first and the last was read.
    pub from: String,
    pub to: String,
}

/// A value held against its limit, as it stands on the record.
#[derive(Clone, Debug, Serialize)]
pub struct Held {
    /// What is judged, in words.
    pub label: String,
    pub rule: RuleLine,
    /// What its sign says, at the place where it was judged.
    pub sense: Option<Sense>,
    /// From where to where the window reaches that settled it, in mm.
    pub window: Option<(String, String)>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct StepPart {
    pub name: String,
    pub title: String,
    pub section: String,
    /// Its decision rule, with its edition.
    pub decision: String,
    pub basis: Vec<String>,
    pub setup: Vec<String>,
    pub conditions: Vec<String>,
    pub state: String,
    pub tries: Vec<Try>,
    /// Confirmations, who did it, witnesses, why it was left out, in their order.
    pub remarks: Vec<String>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Try {
    pub number: u32,
    pub opened: String,
    /// From paper: when the first of it was read.
    pub read_at: Option<String>,
    /// The adjustments before it, by line.
    pub after: Vec<u64>,
    pub readings: Vec<Readings>,
    pub lists: Vec<(String, Vec<String>)>,
    /// As it was judged last; none if it never was.
    pub state: Option<String>,
    pub results: Vec<ResultPart>,
    pub rules: Vec<Held>,
    /// What is advised: texts and amounts.
    pub advice: Vec<String>,
}

/// A result of a try, with what lends its values a meaning.
#[derive(Clone, Debug, Serialize)]
pub struct ResultPart {
    pub line: ResultLine,
    pub label: String,
    pub sense: Option<Sense>,
    /// Where its values stand, the last axis running fastest. None where the record could not be reckoned again.
    pub axes: Vec<AxisPart>,
    /// Of a result laid out along the lines of a survey: the lines, and the cells of each.
    pub survey: Option<Vec<(String, usize)>>,
}

/// The stations of an axis as they were on the walk.
#[derive(Clone, Debug, Serialize)]
pub struct AxisPart {
    pub name: String,
    pub stations: Vec<StationPart>,
}

#[derive(Clone, Debug, Serialize)]
pub struct StationPart {
    pub name: String,
    /// Of one that is a quantity, in the base unit of its kind (mm, deg, s).
    pub position: Option<String>,
}

/// One set of a reading or of an observation.
#[derive(Clone, Debug, Serialize)]
pub struct Readings {
    pub name: String,
    pub label: String,
    /// Seen and answered, not measured.
    pub observed: bool,
    pub set: u32,
    /// The unit of the question, in which the exact values stand.
    pub unit: Option<String>,
    /// Names of the axes that the stations of an entry stand on.
    pub axes: Vec<String>,
    pub sense: Option<Sense>,
    /// Stations with words of their own.
    pub own: Vec<(String, Sense)>,
    pub entries: Vec<EntryLine>,
    /// Stations read once more behind a break, to join both parts.
    pub read_again: Vec<EntryLine>,
    /// Begun again: kept, but it does not count.
    pub left_off: bool,
}

#[derive(Clone, Debug, Serialize)]
pub struct EntryLine {
    pub seq: u64,
    pub time: String,
    pub stations: Vec<String>,
    /// As it was read; none where the station was not read.
    pub answer: Option<Answer>,
    /// Why it was not read.
    pub reason: Option<String>,
    pub how: How,
    /// Answered by one of the words of the procedure.
    pub choice: bool,
    /// From paper: when it was read, by the clock on the wall, or the day alone.
    pub read_at: Option<String>,
    /// Behind a break at which the series was joined: the reading less the shift.
    pub counts_as: Option<Answer>,
    /// Values struck out, oldest first.
    pub struck: Vec<Struck>,
    pub kept: Option<Kept>,
}

/// What stood there before a correction.
#[derive(Clone, Debug, Serialize)]
pub struct Struck {
    /// It was one of the words of the procedure.
    pub choice: bool,
    /// The line of the correction.
    pub seq: u64,
    pub time: String,
    pub was: Option<Answer>,
    /// Why it had not been read.
    pub not_read: Option<String>,
    /// Why it was corrected.
    pub reason: String,
}

/// An entry that was asked about and kept.
#[derive(Clone, Debug, Serialize)]
pub struct Kept {
    pub query: String,
    pub reason: String,
}

/// What was altered on the machine, and what it did.
#[derive(Clone, Debug, Serialize)]
pub struct Move {
    pub seq: u64,
    pub time: String,
    pub step: String,
    /// The adjustment of the procedure, by its name.
    pub adjustment: Option<String>,
    /// Its label, or what was altered in words.
    pub what: String,
    pub stations: Vec<String>,
    pub amount: Option<Answer>,
    /// The unit of the adjustment, in which the exact amount stands.
    pub unit: Option<String>,
    pub sense: Option<Sense>,
    /// Which way, in words, where no sign says it.
    pub toward: Option<String>,
    pub torque: Option<Answer>,
    /// Who did it.
    pub by: Option<String>,
    pub advised: Option<String>,
    pub withdrawn: bool,
    pub justified: Option<String>,
    /// Moved back since.
    pub undone: bool,
    /// What was struck out of it, oldest first.
    pub struck: Vec<StruckPart>,
    /// It never happened: struck out as a whole.
    pub never: bool,
    pub effects: Vec<Effect>,
}

/// A part of what was said, as it was before it was put right.
#[derive(Clone, Debug, Serialize)]
pub struct StruckPart {
    /// The line of the correction.
    pub seq: u64,
    pub time: String,
    /// Which part, in words.
    pub part: String,
    /// Empty where nothing was said.
    pub was: String,
    /// Of an amount: as it was.
    pub answer: Option<Answer>,
    /// All of it: it never happened.
    pub never: bool,
    pub reason: String,
}

/// A result before and after a move.
#[derive(Clone, Debug, Serialize)]
pub struct Effect {
    pub what: String,
    pub before: String,
    /// As the procedure reckoned it from what was moved.
    pub predicted: Option<String>,
    pub after: String,
    /// Change of the result for one unit moved: `-0.4 mm/m per 1 mm`.
    pub per_unit: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
pub struct InstrumentLine {
    pub name: String,
    pub title: String,
    pub number: String,
    pub until: Option<String>,
    /// It was chosen or read after that date.
    pub past: bool,
    /// The line that said so.
    pub line: u64,
    pub details: Vec<String>,
    /// What was struck out of it, oldest first.
    pub struck: Vec<StruckPart>,
}

#[derive(Clone, Debug, Serialize)]
pub struct DefectLine {
    pub number: u32,
    pub step: Option<String>,
    pub text: String,
    /// The name of the picture's file, and its SHA-256.
    pub photo: Option<(String, String)>,
    pub standing: String,
    /// What was struck out of it, oldest first.
    pub struck: Vec<StruckPart>,
}

/// What became known after the signing.
#[derive(Clone, Debug, Serialize)]
pub struct AmendmentLine {
    pub time: String,
    pub text: String,
    /// The number of its line.
    pub line: u64,
    /// Who is said to have added it.
    pub said_by: String,
    /// Name and party, once they have signed it.
    pub by: Option<(String, String)>,
}

#[derive(Clone, Debug, Serialize)]
pub struct SignatureLine {
    pub party: String,
    pub name: String,
    pub identity: String,
    pub fingerprint: String,
    pub time: String,
    /// As it stood when it was signed.
    pub verdict: String,
    pub bytes: u64,
    /// It was given to what was added after the signing, not to the verdict.
    pub amends: bool,
}

/// What the caller has proved about the record, to stand in the report.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Proof {
    /// The file name of the record, for the commands that check it.
    pub record: String,
    /// SHA-256 of its whole lines.
    pub end: String,
    /// What a reader must know before all else: damage, a signature that does not hold.
    pub warnings: Vec<String>,
    /// Lines of it cannot be believed: what stands behind the damage is not there.
    pub damaged: bool,
    /// Why not all of its exceptions and of what was not tested can be told.
    pub untold: Option<String>,
    /// How far each signature can be relied on, in their order.
    pub signatures: Vec<String>,
    /// Expected parties without a signature.
    pub missing: Vec<String>,
    /// Results that must agree, with what was compared.
    pub crosschecks: Vec<String>,
    /// Where each step stands at the end, by name: where the events leave it open.
    pub states: Vec<(String, String)>,
}
