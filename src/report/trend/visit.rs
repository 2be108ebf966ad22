//! What is taken from one record: which machine, when, with what, and each value that was judged in its first and in its
//! last try.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use indexmap::IndexMap;

use crate::quantity::Rational;
use crate::record::{Digest, Skimmed};
use crate::walk::event::{Event, JudgedStep, RuleLine};

/// The kinds of entries that a trend is made from.
pub const KINDS: &[&str] = &["fact", "corrected", "instrument", "sheet", "judged", "closed", "signed"];

#[derive(Clone, Debug)]
pub struct Visit {
    pub file: String,
    /// When its first readings were taken: what was typed in from paper is older than its record.
    pub read: String,
    pub machine: Option<String>,
    pub title: String,
    /// SHA-256 of the procedure's text, and the first line that holds it.
    pub digest: String,
    pub first_line: Event,
    pub verdict: Option<String>,
    pub rehearsal: bool,
    pub signed: bool,
    pub instruments: Vec<(String, String)>,
    /// By step and try: when it was read, and how it was judged last.
    tries: IndexMap<String, BTreeMap<u32, (String, JudgedStep)>>,
    /// The sum of each line.
    sums: Vec<Digest>,
}

/// A record that is not taken in, and why.
#[derive(Clone, Debug)]
pub struct LeftOut {
    pub file: String,
    pub why: String,
}

/// Takes a record apart. `by` is the fact that names the machine.
pub fn visit(file: String, skimmed: &Skimmed, by: &str) -> Option<Visit> {
    let (_, opened, first_line) = skimmed.lines.first()?;
    let Event::Opened { title, rehearsal, files, .. } = first_line else { return None };
    let mut visit = Visit {
        file,
        read: opened.clone(),
        machine: None,
        title: title.clone(),
        digest: files.first().map(|file| file.sha256.clone()).unwrap_or_default(),
        first_line: first_line.clone(),
        verdict: None,
        rehearsal: *rehearsal,
        signed: false,
        instruments: Vec::new(),
        tries: IndexMap::new(),
        sums: skimmed.sums.clone(),
    };
    let mut named_on: Vec<u64> = Vec::new();
    let mut pages: BTreeMap<(String, u32), String> = BTreeMap::new();
    for (number, time, event) in &skimmed.lines {
        match event {
            Event::Fact { name, answer } if name == by => {
                visit.machine = Some(answer.value.clone());
                named_on.push(*number);
            }
            Event::Corrected { of, answer, .. } if named_on.contains(of) => {
                visit.machine = Some(answer.value.clone());
                named_on.push(*number);
            }
            Event::Instrument(card) => {
                visit.instruments.retain(|(known, _)| *known != card.name);
                visit.instruments.push((card.name.clone(), card.number.clone()));
            }
            Event::Sheet { step, number, taken, .. } => {
                pages.insert((step.clone(), *number), taken.clone());
            }
            Event::Judged(judged) => {
                let page = pages.get(&(judged.step.clone(), judged.number));
                let tries = visit.tries.entry(judged.step.clone()).or_default();
                let was_read = tries.get(&judged.number).map(|(time, _)| time.clone());
                let time = page.cloned().or(was_read).unwrap_or_else(|| time.clone());
                tries.insert(judged.number, (time, judged.clone()));
            }
            Event::Closed { verdict, .. } => visit.verdict = Some(verdict.clone()),
            Event::Signed { .. } => visit.signed = true,
            _ => {}
        }
    }
    if let Some(first) = pages.into_values().min() {
        visit.read = first.min(visit.read);
    }
    Some(visit)
}

impl Visit {
    pub fn day(&self) -> &str {
        self.read.get(..10).unwrap_or_default()
    }

    /// It has all lines of the other: they are copies of one walk.
    pub fn holds(&self, other: &Visit) -> bool {
        self.sums.starts_with(&other.sums)
    }

    /// Copies stand one after the other, the longest first.
    pub fn beside_copies(&self, other: &Visit) -> Ordering {
        self.sums.first().cmp(&other.sums.first()).then(other.sums.len().cmp(&self.sums.len()))
    }

    pub fn begins_as(&self, other: &Visit) -> bool {
        self.sums.first() == other.sums.first()
    }

    /// Step and name of each rule with a number, in the order of the record.
    pub fn rules(&self) -> impl Iterator<Item = (&str, &str)> {
        self.tries.iter().flat_map(|(step, tries)| {
            let rules = tries.values().flat_map(|(_, judged)| &judged.rules);
            rules.filter(|rule| rule.value.is_some()).map(|rule| (step.as_str(), rule.name.as_str()))
        })
    }

    /// A value as it was found: when it was read, and the rule.
    pub fn found(&self, step: &str, rule: &str) -> Option<(&str, &RuleLine)> {
        self.tries.get(step)?.values().find_map(|(time, judged)| Some((time.as_str(), in_try(judged, rule)?)))
    }

    /// As it was left.
    pub fn left(&self, step: &str, rule: &str) -> Option<(&str, &RuleLine)> {
        self.tries
            .get(step)?
            .values()
            .rev()
            .find_map(|(time, judged)| Some((time.as_str(), in_try(judged, rule)?)))
    }
}

fn in_try<'j>(judged: &'j JudgedStep, rule: &str) -> Option<&'j RuleLine> {
    judged.rules.iter().find(|it| it.name == rule && it.value.is_some())
}

/// Years since 1970, by the day; a year has 365.25 days.
pub fn years(stamp: &str) -> Option<Rational> {
    let day: jiff::civil::Date = stamp.get(..10)?.parse().ok()?;
    let days = day.since(jiff::civil::date(1970, 1, 1)).ok()?.get_days();
    Some(Rational::new((i64::from(days) * 100).into(), 36_525.into()))
}
