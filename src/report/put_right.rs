//! What was said and put right later: the lines as they should have been, and what stood there before.

use std::borrow::Cow;
use std::collections::HashMap;

use indexmap::{IndexMap, IndexSet};

use crate::check::program::SaidPart;
use crate::record::Line;
use crate::walk::event::{Event, PutRight};
use crate::walk::sayings;

use super::model::StruckPart;

/// The lines of a record with what was put right.
pub(super) struct Righted<'a> {
    pub lines: Cow<'a, [Line]>,
    /// What was struck out of moves, defects and names, by the line that said it.
    pub struck: IndexMap<u64, Vec<StruckPart>>,
}

/// Puts each line right by those that correct it. Words that only stand in a remark carry what they were behind them.
pub(super) fn righted(lines: &[Line]) -> Righted<'_> {
    let mut struck: IndexMap<u64, Vec<StruckPart>> = IndexMap::new();
    if !lines.iter().any(|line| matches!(line.event, Event::PutRight(_))) {
        return Righted { lines: Cow::Borrowed(lines), struck };
    }
    let mut own = lines.to_vec();
    // The right reason of a correction stands wherever that is told.
    for of_reasons in [true, false] {
        put_right(&mut own, of_reasons, &mut struck);
    }
    Righted { lines: Cow::Owned(own), struck }
}

fn put_right(own: &mut [Line], of_reasons: bool, struck: &mut IndexMap<u64, Vec<StruckPart>>) {
    let corrections = own.iter().filter_map(|line| match &line.event {
        Event::PutRight(by) if (by.part == SaidPart::Reason) == of_reasons => {
            Some((line.seq, line.time.clone(), by.clone()))
        }
        _ => None,
    });
    let corrections: Vec<(u64, String, PutRight)> = corrections.collect();
    let at: HashMap<u64, usize> = own.iter().enumerate().map(|(index, line)| (line.seq, index)).collect();
    let mut touched: Vec<u64> = Vec::new();
    for (seq, time, by) in corrections {
        let Some(said) = at.get(&by.of).and_then(|index| own.get_mut(*index)) else { continue };
        let was = sayings::was(&said.event, &by);
        let answer = match (&said.event, by.part) {
            (Event::Adjusted(moved), SaidPart::Amount) => moved.amount.clone(),
            _ => None,
        };
        let part = part_in_words(&said.event, by.part);
        said.event = sayings::put_right(&said.event, &by);
        let never = by.part == SaidPart::Whole;
        struck.entry(by.of).or_default().push(StruckPart {
            seq,
            time,
            part,
            was,
            answer,
            never,
            reason: by.reason,
        });
        touched.push(by.of);
    }
    for of in touched.into_iter().collect::<IndexSet<u64>>() {
        if let (Some(said), Some(parts)) =
            (at.get(&of).and_then(|index| own.get_mut(*index)), struck.get(&of))
        {
            mark(&mut said.event, parts);
        }
    }
}

/// Moves and defects show what was struck out beside them, names of people in the history.
fn mark(event: &mut Event, parts: &[StruckPart]) {
    if matches!(
        event,
        Event::Adjusted(_) | Event::Defect { .. } | Event::Person { .. } | Event::Instrument(_)
    ) {
        return;
    }
    for (part, text) in sayings::parts(event) {
        let own = parts.iter().rev().filter(|struck| struck.part == part_in_words(event, part));
        let was: String = own.map(|it| format!(" (was {}, corrected: {})", it.was, it.reason)).collect();
        if !was.is_empty() {
            let answer = crate::walk::event::Answer {
                typed: text.clone(),
                unit: None,
                value: format!("{text}{was}"),
                sha256: None,
            };
            let by =
                PutRight { of: 0, part, now: None, card: None, answer: Some(answer), reason: String::new() };
            *event = sayings::put_right(event, &by);
        }
    }
}

fn part_in_words(event: &Event, part: SaidPart) -> String {
    match (part, event) {
        (SaidPart::Whole, _) => "all of it",
        (SaidPart::Amount, _) => "how much",
        (SaidPart::At, _) => "where",
        (SaidPart::Which, _) => "which one",
        (SaidPart::Toward, _) => "which way",
        (SaidPart::Torque, _) => "torque",
        (SaidPart::By | SaidPart::Name, _) => "who",
        (SaidPart::Photo, _) => "photo",
        (SaidPart::Number, _) => "number",
        (SaidPart::Until, _) => "calibrated until",
        (SaidPart::Reason, _) => "reason",
        (SaidPart::Temperature, _) => "temperature",
        (SaidPart::Words, _) => "words",
    }
    .to_owned()
}

impl StruckPart {
    /// `how much corrected: one nought too many`, behind what it was.
    pub fn why(&self) -> String {
        match self.never {
            true => format!("STRUCK OUT, it never happened: {}", self.reason),
            false => format!("{} corrected: {}", self.part, self.reason),
        }
    }

    /// The same with what it was, for text alone.
    pub fn said(&self) -> String {
        match (self.never, self.was.is_empty()) {
            (true, _) => self.why(),
            (false, true) => format!("{} was not said, corrected: {}", self.part, self.reason),
            (false, false) => format!("{} was {}, corrected: {}", self.part, self.was, self.reason),
        }
    }
}
