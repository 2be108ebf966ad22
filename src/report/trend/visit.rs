//! What is taken from one record: which machine, when, with what, and each value that was judged in its first and in its
//! last try.

use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};

use indexmap::IndexMap;

use crate::quantity::Rational;
use crate::record::{Digest, Skimmed};
use crate::walk::event::{Event, JudgedStep, RuleLine};
use crate::walk::noted_lengths;

/// The kinds of entries that say which machine it was, when, and how it ended.
pub const NAMES: &[&str] = &["fact", "corrected", "sheet", "closed", "signed"];
/// The kinds of entries that a trend is made from.
pub const KINDS: &[&str] = &[
    "fact",
    "corrected",
    "instrument",
    "put_right",
    "sheet",
    "judged",
    "closed",
    "reopened",
    "signed",
    "amended",
];

#[derive(Clone, Debug)]
pub struct Visit {
    pub file: String,
    /// When its first readings were taken: what was typed in from paper is older than its record.
    pub read: String,
    pub machine: Option<String>,
    pub title: String,
    /// SHA-256 of each text of its procedure.
    pub digest: String,
    pub verdict: Option<String>,
    pub rehearsal: bool,
    pub signed: bool,
    /// What was added after the signing.
    pub added: Vec<String>,
    /// Which instruments were in use: a set for each time that one was said, in the order of the walk.
    pub instruments: Vec<Vec<(String, String)>>,
    /// By step and try.
    tries: IndexMap<String, BTreeMap<u32, Told>>,
    first: Digest,
    last: Digest,
    count: u64,
}

/// What a try came to: no more than a trend needs, so that thousands of them fit.
#[derive(Clone, Debug)]
struct Told {
    /// When it was read.
    time: String,
    /// The set of instruments that were in use when it was judged first.
    with: usize,
    /// Its rules with a value, as they were judged last, each with its lengths.
    rules: Vec<(RuleLine, Option<Lengths>)>,
}

/// The length that a limit is stated for, and that over which it was read.
pub type Lengths = (Rational, Rational);

/// A value with its rule.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'v> {
    pub time: &'v str,
    pub rule: &'v RuleLine,
    pub lengths: Option<&'v Lengths>,
    pub instruments: &'v [(String, String)],
}

/// A record that is not taken in, and why.
#[derive(Clone, Debug)]
pub struct LeftOut {
    pub file: String,
    pub why: String,
}

/// Takes a record apart. `by` is the fact that names the machine.
pub fn visit(file: String, skimmed: &Skimmed, by: &str) -> Option<Visit> {
    let (_, opened, first) = skimmed.lines.first()?;
    let Event::Opened { title, rehearsal, files, .. } = first else { return None };
    let digests: Vec<&str> = files.iter().map(|file| file.sha256.as_str()).collect();
    let mut visit = Visit {
        file,
        read: opened.clone(),
        machine: None,
        title: title.clone(),
        digest: digests.join(" "),
        verdict: None,
        rehearsal: *rehearsal,
        signed: false,
        added: Vec::new(),
        instruments: vec![Vec::new()],
        tries: IndexMap::new(),
        first: skimmed.first,
        last: skimmed.last,
        count: skimmed.count,
    };
    // Which instrument a line meant, by its last correction.
    let put_right: HashMap<u64, &str> = skimmed
        .lines
        .iter()
        .filter_map(|(_, _, event)| match event {
            Event::PutRight(by) => Some((by.of, by.card.as_ref()?.number.as_str())),
            _ => None,
        })
        .collect();
    let mut named_on: Vec<u64> = Vec::new();
    let mut pages: BTreeMap<(String, u32), String> = BTreeMap::new();
    for (number, time, event) in &skimmed.lines {
        match event {
            Event::Fact { name, answer } if name == by => {
                visit.machine = Some(answer.value.clone());
                named_on.push(*number);
            }
            Event::Corrected { of, answer: Some(answer), .. } if named_on.contains(of) => {
                visit.machine = Some(answer.value.clone());
                named_on.push(*number);
            }
            Event::Instrument(card) => {
                let mut now = visit.instruments.last().cloned().unwrap_or_default();
                now.retain(|(known, _)| *known != card.name);
                let meant = put_right.get(number).map_or(card.number.as_str(), |meant| meant);
                now.push((card.name.clone(), meant.to_owned()));
                visit.instruments.push(now);
            }
            Event::Sheet { step, number, taken, .. } => {
                pages.insert((step.clone(), *number), taken.clone());
            }
            Event::Judged(judged) => {
                let page = pages.get(&(judged.step.clone(), judged.number));
                let tries = visit.tries.entry(judged.step.clone()).or_default();
                let before = tries.get(&judged.number).map(|told| (told.time.clone(), told.with));
                let (was_read, with) = before.unzip();
                let time = page.cloned().or(was_read).unwrap_or_else(|| time.clone());
                let with = with.unwrap_or(visit.instruments.len() - 1);
                tries.insert(judged.number, Told { time, with, rules: rules_of(judged) });
            }
            Event::Closed { verdict, .. } => visit.verdict = Some(verdict.clone()),
            Event::Reopened { .. } => visit.verdict = None,
            Event::Signed { .. } => visit.signed = true,
            Event::Amended { text, .. } => visit.added.push(text.clone()),
            _ => {}
        }
    }
    if let Some(first) = pages.into_values().min() {
        visit.read = first.min(visit.read);
    }
    Some(visit)
}

/// The rules with a value, without what only a report tells.
fn rules_of(judged: &JudgedStep) -> Vec<(RuleLine, Option<Lengths>)> {
    let rules = judged.rules.iter().filter(|rule| rule.value.is_some());
    let bare = rules.map(|rule| {
        let lengths = rule.notes.iter().find_map(|note| noted_lengths(note));
        let mut rule = RuleLine { notes: Vec::new(), ..rule.clone() };
        rule.uncertainty.iter_mut().for_each(|own| own.budget.clear());
        (rule, lengths)
    });
    bare.collect()
}

impl Visit {
    pub fn day(&self) -> &str {
        self.read.get(..10).unwrap_or_default()
    }

    /// It has all lines of the other: they are copies of one walk. `sum_at` finds the sum of one of its own lines.
    pub fn holds(&self, other: &Visit, sum_at: impl FnOnce(u64) -> Option<Digest>) -> bool {
        self.begins_as(other)
            && match self.count.cmp(&other.count) {
                Ordering::Less => false,
                Ordering::Equal => self.last == other.last,
                Ordering::Greater => sum_at(other.count) == Some(other.last),
            }
    }

    /// Copies stand one after the other, the longest first.
    pub fn beside_copies(&self, other: &Visit) -> Ordering {
        self.first.cmp(&other.first).then(other.count.cmp(&self.count))
    }

    pub fn begins_as(&self, other: &Visit) -> bool {
        self.first == other.first
    }

    /// Step and name of each rule with a number, in the order of the record.
    pub fn rules(&self) -> impl Iterator<Item = (&str, &str)> {
        self.tries.iter().flat_map(|(step, tries)| {
            let rules = tries.values().flat_map(|told| &told.rules);
            rules.map(|(rule, _)| (step.as_str(), rule.name.as_str()))
        })
    }

    /// A value as it was found.
    pub fn found(&self, step: &str, rule: &str) -> Option<Judged<'_>> {
        self.tries.get(step)?.values().find_map(|told| self.in_try(told, rule))
    }

    /// As it was left.
    pub fn left(&self, step: &str, rule: &str) -> Option<Judged<'_>> {
        self.tries.get(step)?.values().rev().find_map(|told| self.in_try(told, rule))
    }

    fn in_try<'v>(&'v self, told: &'v Told, rule: &str) -> Option<Judged<'v>> {
        let (rule, lengths) = told.rules.iter().find(|(it, _)| it.name == rule)?;
        let instruments = self.instruments.get(told.with).map(Vec::as_slice).unwrap_or_default();
        Some(Judged { time: &told.time, rule, lengths: lengths.as_ref(), instruments })
    }
}

/// Years since 1970, by the day; a year has 365.25 days.
pub fn years(stamp: &str) -> Option<Rational> {
    let day: jiff::civil::Date = stamp.get(..10)?.parse().ok()?;
    let days = day.since(jiff::civil::date(1970, 1, 1)).ok()?.get_days();
    Some(Rational::new((i64::from(days) * 100).into(), 36_525.into()))
}
