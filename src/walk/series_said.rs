//! How a series goes, said after each of its rows: what has changed, what it still waits for, where it seems to be
//! going.

use crate::check::program::{Role, Series, StepId, ValueId};

use super::ask::Ask;
use super::directory::series_of;
use super::eval::Evaluator;
use super::layout;
use super::machine::Machine;
use super::question::{Expects, Question, Tone};
use super::rules::what_is_awaited;
use super::series::Due;
use super::state::Sheet;
use super::text;
use super::times;
use super::value::Laid;
use super::view::View;
use super::wording;

/// Beyond so many rows only what looks back over a bounded span is worked out at each of them.
const MOST_ROWS_LOOKED_AT: usize = 200;

impl Machine {
    /// After a row that is complete: its results, and what is not yet as it must be.
    pub(super) fn say_how_it_goes(&mut self, step: StepId, value: ValueId) {
        let Some((reading, series)) = series_of(&self.program, value) else { return };
        if !self.row_is_complete(step, reading) {
            return;
        }
        let sheet = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(reading));
        // What has ended is judged, and its results are said there.
        let Some(sheet) = sheet.filter(|sheet| !sheet.is_full()) else { return };
        let lines = self.how_it_goes(step, reading, series, sheet);
        for line in lines {
            self.say(Tone::Notice, line);
        }
    }

    fn how_it_goes(&self, step: StepId, reading: ValueId, series: &Series, sheet: &Sheet) -> Vec<String> {
        let Some(last) = sheet.last_time() else { return Vec::new() };
        let attempt = self.state.step(step).attempts.len().saturating_sub(1);
        let is_short = sheet.row_count() <= MOST_ROWS_LOOKED_AT;
        let mut lines = Vec::new();
        for id in &self.program.steps[step.0].lets {
            let Some(Role::Let(expr)) = self.program.values.get(id.0).map(|value| &value.role) else {
                continue;
            };
            let tail = super::tail::of(&self.program, expr);
            if (tail.is_none() && !is_short) || !self.rests_on(*id, reading) {
                continue;
            }
            let view = View { tail, ..View::of(&self.program, &self.state, step, attempt) };
            let evaluator = Evaluator::new(&self.program, &view).of_step(step);
            let value = latest(&evaluator.value(*id));
            if value.cells.iter().all(|cell| cell.is_known()) && value.cells.len() <= 12 {
                let label = wording::plain(&self.program.values[id.0].label);
                lines.push(format!("{label}: {}", text::say_value(&evaluator, *id, &value)));
            }
        }
        if let Some(until) = &series.until {
            let tail = super::tail::of(&self.program, until);
            if tail.is_some() || is_short {
                let view = View { tail, ..View::of(&self.program, &self.state, step, attempt) };
                let evaluator = Evaluator::new(&self.program, &view).of_step(step);
                let awaited = what_is_awaited(&evaluator, until);
                if evaluator.holds(until).as_yes_no() != Some(true) {
                    let what = if awaited.is_empty() { "not yet".to_owned() } else { awaited.join("; ") };
                    lines.push(format!("{}: not yet steady: {what}", times::name(&last)));
                }
            }
        }
        lines
    }

    /// Whether a result is worked out from a series.
    fn rests_on(&self, result: ValueId, reading: ValueId) -> bool {
        let mut open = vec![result];
        let mut seen = std::collections::HashSet::new();
        while let Some(id) = open.pop() {
            if id == reading {
                return true;
            }
            if let Some(Role::Let(expr)) = self.program.values.get(id.0).map(|value| &value.role) {
                expr.each(&mut |part| {
                    if let crate::check::program::Node::Value(named) = &part.node
                        && seen.insert(*named)
                    {
                        open.push(*named);
                    }
                });
            }
        }
        false
    }

    /// The questions of the clock: start, wait for the next row, end.
    pub(super) fn series_question(&self, ask: &Ask) -> Question {
        match ask {
            Ask::Due(step, reading, due) => {
                let sheet = self.state.step(*step).attempt().and_then(|attempt| attempt.sheet(*reading));
                let left = sheet
                    .and_then(|sheet| self.elapsed_when_asked(sheet))
                    .map(|now| times::name(&(due - now)));
                let left = left.map(|left| format!(", in {left}")).unwrap_or_default();
                let definition = &self.program.values[reading.0];
                let mut hints = vec![
                    "take STEP goes to another step meanwhile; the walk comes back when the row is due"
                        .to_owned(),
                    "Enter looks at the clock again; values are taken as an early row".to_owned(),
                ];
                let missed = self.missed(*step, *reading);
                if !missed.is_empty() {
                    hints.push(format!("not taken: {}", missed.join(", ")));
                }
                Question {
                    place: self.place(*step, None),
                    ask: format!("Next row at {}{left}", times::name(due)),
                    hints,
                    expects: self.expects(definition),
                }
            }
            Ask::Over(step, reading) => Question {
                place: self.place(*step, None),
                ask: "The time of the series is over. Enter ends it".to_owned(),
                hints: vec![format!("not taken: {}", self.missed(*step, *reading).join(", "))],
                expects: Expects::Wait { seconds: 0 },
            },
            Ask::Start(step, reading) | Ask::Stuck(step, reading, _) => Question {
                place: self.place(*step, None),
                ask: "Enter starts the clock of the series".to_owned(),
                hints: self.series(*reading).map(|(_, series)| in_words(series)).into_iter().collect(),
                expects: Expects::Wait { seconds: 0 },
            },
            _ => Question { place: None, ask: String::new(), hints: Vec::new(), expects: Expects::Nothing },
        }
    }

    /// What runs by the clock, with the time on the wall at which its next row is due.
    pub(super) fn going_on(&self) -> Vec<String> {
        let said = |(step, reading): (StepId, ValueId)| {
            let definition = &self.program.steps[step.0];
            let (sheet, (_, series)) = self.reading_sheet(step, reading).zip(self.series(reading))?;
            let elapsed = self.elapsed(sheet)?;
            let next = match series.due(sheet.last_time().as_ref(), Some(&elapsed)) {
                Due::Later(time) => {
                    let left = (&time - elapsed).ceil().to_integer();
                    let on_the_wall = i64::try_from(left)
                        .ok()
                        .and_then(|left| {
                            self.state.local?.checked_add(jiff::SignedDuration::from_secs(left)).ok()
                        })
                        .map(|at| format!(", {:02}:{:02} by the clock", at.hour(), at.minute()))
                        .unwrap_or_default();
                    format!("its next row is due at {}{on_the_wall}", times::name(&time))
                }
                Due::Now => "a row is due now".to_owned(),
                Due::Over => "its time is over".to_owned(),
            };
            let machine =
                if definition.powered { ". The machine runs: stay with it, or switch it off" } else { "" };
            Some(format!("{} {}: {next}{machine}", definition.name, wording::plain(&definition.title)))
        };
        self.running().filter(|_| !self.is_from_paper()).filter_map(said).collect()
    }

    /// When the next row is due and how late it is, beside its question.
    pub(super) fn due_in_words(&self, step: StepId, reading: ValueId) -> Vec<String> {
        let mut hints = Vec::new();
        let missed = self.missed(step, reading);
        if !missed.is_empty() {
            hints.push(format!("not taken: {}", missed.join(", ")));
        }
        hints.extend(self.due_since(step, reading).map(|due| format!("due at {}", times::name(&due))));
        hints
    }
}

/// Of a value over time only its last row.
fn latest(laid: &Laid) -> Laid {
    match laid.axes.iter().position(|axis| &*axis.axis == "time") {
        Some(position) => {
            let last = laid.axes.get(position).map_or(0, |axis| axis.stations.len().saturating_sub(1));
            layout::at(laid, position, last)
        }
        None => laid.clone(),
    }
}

/// "a row every 10 min, for at most 120 min".
fn in_words(series: &Series) -> String {
    let ends = if series.until.is_some() { ", or until it is steady" } else { "" };
    format!("a row every {}, for {} at most{ends}", times::name(&series.every), times::name(&series.at_most))
}
