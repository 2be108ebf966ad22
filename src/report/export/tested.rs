//! The tests of a report as a JSON document: their tries, readings, results and rules.
//!
//! A doc comment here is a description in the schema.

use schemars::JsonSchema;
use serde::Serialize;

use super::document::{StruckOut, Value};

/// One step of the procedure.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Test {
    /// Its name in the procedure.
    pub step: String,
    /// In words.
    pub title: String,
    /// The part of the procedure that it stands in.
    pub section: String,
    /// Where it stands at the end: `passed`, `failed`, `skipped`, ...; `, stale` behind it if it is to be taken again.
    pub state: String,
    /// Its own decision rule.
    pub decision: String,
    /// Where method and limits are from.
    pub basis: Vec<String>,
    /// How it was set up, with the values of the walk put in.
    pub set_up: Vec<String>,
    /// What had to hold around it.
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
    /// When it was begun.
    pub opened: String,
    /// The lines of the moves before it.
    pub after: Vec<u64>,
    /// As it was judged; absent if it never was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// In the order in which they were read.
    pub readings: Vec<Reading>,
    /// Things that were listed on the spot.
    pub lists: Vec<List>,
    /// What was worked out from the readings.
    pub results: Vec<Outcome>,
    /// What was judged.
    pub rules: Vec<Rule>,
    /// What was advised: texts and amounts.
    pub advice: Vec<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct List {
    /// What was listed.
    pub axis: String,
    /// In their order.
    pub items: Vec<String>,
}

/// What a positive and a negative number mean.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Sense {
    /// What a positive number means.
    pub plus: String,
    /// What a negative number means.
    pub minus: String,
    /// The station that has these words of its own; absent: all others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
}

/// One set of a reading or of an observation.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Reading {
    /// Its name in the procedure.
    pub name: String,
    /// As it was asked.
    pub label: String,
    /// Seen and answered, not measured.
    pub observed: bool,
    /// From 1; a further one measured the same machine again.
    pub set: u32,
    /// What its signs mean.
    pub senses: Vec<Sense>,
    /// Begun again since: kept, and it does not count.
    pub left_off: bool,
    /// One for each station.
    pub entries: Vec<Entry>,
    /// Stations read once more behind a break, to join both parts.
    pub read_again: Vec<Entry>,
}

#[derive(Debug, Serialize, JsonSchema)]
pub struct Entry {
    /// The line of the record.
    pub line: u64,
    /// When it was entered, with offset.
    pub time: String,
    /// From paper: when it was read, as the sheet says. Absent where `time` is the time of reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read_at: Option<String>,
    /// The station on each axis.
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
    /// Why it was kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept_because: Option<String>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Station {
    /// Empty where the procedure could not be read.
    pub axis: String,
    /// A name, or a quantity with its unit.
    pub station: String,
}

/// A result that was worked out.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Outcome {
    /// Its name in the procedure.
    pub name: String,
    /// In words.
    pub label: String,
    /// Absent where it has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What its sign means.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sense: Option<Sense>,
    /// Its values, the last axis running fastest.
    pub cells: Vec<Cell>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Cell {
    /// Its place; empty where there is one value.
    pub at: Vec<Station>,
    /// An exact number in the unit of the result (`0.01 at 90 deg` of an arrow), or a word, or why there is none.
    pub value: String,
    /// What its sign means.
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
    /// Its name in the procedure.
    pub name: String,
    /// What is judged, in words.
    pub label: String,
    /// `passed`, `failed`, `undecided`, `invalid`, ...
    pub verdict: String,
    /// The value that was held against the limits; absent where a condition was required.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// Of value and bounds; absent where they have none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What the sign of the value means.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// Where, of several values.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// As it was scaled to what was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lower: Option<Bound>,
    /// The same above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub upper: Option<Bound>,
    /// Absent where none was stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Uncertainty>,
    /// What a reader must know of it.
    pub notes: Vec<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Bound {
    /// In the unit of the value.
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
    /// Standard uncertainty.
    pub u: String,
    /// The coverage factor.
    pub k: String,
    /// U = k u.
    #[serde(rename = "U")]
    pub expanded: String,
    /// Effective degrees of freedom, where they are not infinitely many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub freedom: Option<String>,
    /// Probability that the true value lies within the limits.
    pub conformity: String,
    /// From where the number of draws leaves it open, where draws tell it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conformity_from: Option<String>,
    /// Up to where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conformity_to: Option<String>,
    /// How it was worked out.
    pub method: String,
    /// Each contribution, the greatest first.
    pub budget: Vec<String>,
}
