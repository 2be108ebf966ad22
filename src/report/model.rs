//! What a report says, as data, built from the events of a record alone; the frozen procedure only lends its words.

use std::collections::HashMap;

use crate::walk::event::{Answer, JudgedStep};

#[derive(Clone, Debug, Default)]
pub struct Report {
    pub title: String,
    pub revision: Option<String>,
    pub scope: Vec<String>,
    pub basis: Vec<String>,
    pub rehearsal: bool,
    pub program: String,
    /// Name and SHA-256 of each procedure text that is frozen in the record.
    pub files: Vec<(String, String)>,
    pub previous: Option<String>,
    pub opened: String,
    pub last: String,
    pub closed: Option<Closed>,
    pub people: Vec<(String, String)>,
    /// Facts: what was asked and what was answered.
    pub machine: Vec<(String, String)>,
    pub rows: Vec<Row>,
    pub steps: Vec<StepPart>,
    pub moves: Vec<Move>,
    pub instruments: Vec<InstrumentLine>,
    pub defects: Vec<DefectLine>,
    pub notes: Vec<String>,
    /// Pauses, torn lines, a file that changed: when and what.
    pub history: Vec<(String, String)>,
    pub signatures: Vec<SignatureLine>,
    pub expected: Vec<String>,
    /// Whether what each uncertainty is made of is to be shown.
    pub budgets: bool,
}

#[derive(Clone, Debug)]
pub struct Closed {
    pub verdict: String,
    pub exceptions: Vec<String>,
    pub open: Vec<String>,
    pub stale: Vec<String>,
}

/// One rule of one step, as found and as left.
#[derive(Clone, Debug)]
pub struct Row {
    pub step: String,
    pub what: String,
    pub found: Option<Held>,
    /// None where there was one try only.
    pub left: Option<Held>,
    /// A `require` line, not a tolerance.
    pub required: bool,
}

/// A value held against its limit.
#[derive(Clone, Debug)]
pub struct Held {
    /// With its unit and what its sign says.
    pub value: String,
    pub limit: String,
    pub verdict: String,
    /// U, where it was worked out.
    pub expanded: Option<String>,
}

#[derive(Clone, Debug, Default)]
pub struct StepPart {
    pub name: String,
    pub title: String,
    pub basis: Vec<String>,
    pub setup: Vec<String>,
    pub conditions: Vec<String>,
    pub state: String,
    pub tries: Vec<Try>,
    /// Confirmations, who did it, witnesses, why it was left out, in their order.
    pub remarks: Vec<String>,
}

#[derive(Clone, Debug, Default)]
pub struct Try {
    pub number: u32,
    pub opened: String,
    pub readings: Vec<Readings>,
    pub lists: Vec<(String, Vec<String>)>,
    pub judged: Option<JudgedStep>,
    /// Of a result laid out along the lines of a survey, by its name: the lines, and the cells of each.
    pub rows: HashMap<String, Vec<(String, usize)>>,
    /// Labels of the results, by name.
    pub labels: HashMap<String, String>,
    /// What plus and minus of a result mean, by name.
    pub senses: HashMap<String, (String, String)>,
}

/// One set of a reading or of an observation.
#[derive(Clone, Debug)]
pub struct Readings {
    pub name: String,
    pub label: String,
    pub set: u32,
    pub plus: Option<(String, String)>,
    /// Stations with words of their own: station, plus, minus.
    pub own: Vec<(String, String, String)>,
    pub entries: Vec<EntryLine>,
    /// Begun again: kept, but it does not count.
    pub left_off: bool,
}

#[derive(Clone, Debug)]
pub struct EntryLine {
    pub seq: u64,
    pub stations: Vec<String>,
    pub value: String,
    /// Values struck out, with what was said about it, oldest first.
    pub struck: Vec<(String, String)>,
    pub note: Option<String>,
}

/// What was altered on the machine, and what it did.
#[derive(Clone, Debug)]
pub struct Move {
    pub seq: u64,
    pub time: String,
    pub step: String,
    pub what: String,
    pub amount: Option<String>,
    pub advised: Option<String>,
    pub withdrawn: bool,
    pub justified: Option<String>,
    pub effects: Vec<Effect>,
}

/// A result before and after a move.
#[derive(Clone, Debug)]
pub struct Effect {
    pub what: String,
    pub before: String,
    /// As the procedure reckoned it from what was moved.
    pub predicted: Option<String>,
    pub after: String,
    /// Change of the result for one unit moved: `-0.4 mm/m per 1 mm`.
    pub per_unit: Option<String>,
}

#[derive(Clone, Debug)]
pub struct InstrumentLine {
    pub name: String,
    pub title: String,
    pub number: String,
    pub until: Option<String>,
    /// The walk began after that date.
    pub past: bool,
    pub details: Vec<String>,
}

#[derive(Clone, Debug)]
pub struct DefectLine {
    pub number: u32,
    pub step: Option<String>,
    pub text: String,
    pub standing: String,
}

#[derive(Clone, Debug)]
pub struct SignatureLine {
    pub party: String,
    pub name: String,
    pub identity: String,
    pub fingerprint: String,
    pub time: String,
    pub verdict: String,
    pub bytes: u64,
}

/// What was answered: as typed, with the unit it stands in; beside it the value where they differ.
pub fn answer_text(answer: &Answer) -> String {
    if answer.sha256.is_some() {
        return answer.value.clone();
    }
    let unit = answer.unit.as_deref();
    let typed = answer.typed.trim();
    let has_unit = unit.is_some_and(|unit| typed.ends_with(unit) || typed.contains(' '));
    match unit {
        _ if typed.is_empty() => answer.value.clone(),
        Some(unit) if !has_unit && unit != "1" => format!("{typed} {unit}"),
        Some(_) => typed.to_owned(),
        None => answer.value.clone(),
    }
}

/// `2026-03-02 09:14` of a stamp.
pub fn when(stamp: &str) -> String {
    match (stamp.get(..10), stamp.get(11..16)) {
        (Some(date), Some(time)) => format!("{date} {time}"),
        _ => stamp.to_owned(),
    }
}
