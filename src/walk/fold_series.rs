//! Series in time as their events leave them: begun, a row opened, over, broken off.

use crate::check::program::{StepId, ValueId};

use super::directory::series_of;
use super::event::SeriesEnd;
use super::fold::Fold;
use super::paper::Moment;
use super::state::Run;
use super::times;

impl Fold<'_> {
    pub(super) fn series_started(&mut self, step: &str, reading: &str, set: u32, at: Option<&str>) {
        let Some((step, reading, attempt)) = self.series_named(step, reading) else { return };
        let begun = self.sheet_mut(step, attempt, reading).is_some_and(|sheet| sheet.run().is_some());
        if begun {
            self.retire(step, attempt, reading);
        }
        let started = match at {
            Some(at) => Moment::parse(at).and_then(|at| at.instant(self.state)),
            None => self.state.now,
        };
        for value in self.rows_of(reading) {
            // What is asked in each row begins with its series.
            if value != reading
                && let Some(sheet) = self.sheet_mut(step, attempt, value)
            {
                sheet.retired = true;
            }
            self.open_sheet(step, attempt, value, set);
            if let Some(sheet) = self.sheet_mut(step, attempt, value) {
                sheet.run = Some(Run { begun: true, started, ended: None });
            }
        }
        self.state.running.push((step, reading));
        self.state.current = Some(step);
    }

    pub(super) fn series_ended(&mut self, step: &str, reading: &str, because: SeriesEnd) {
        let Some((step, reading, attempt)) = self.series_named(step, reading) else { return };
        for value in self.rows_of(reading) {
            if let Some(run) = self.sheet_mut(step, attempt, value).and_then(|sheet| sheet.run.as_mut()) {
                run.ended = Some(because);
            }
        }
        self.state.running.retain(|running| *running != (step, reading));
    }

    /// A row of this time, on the sheet of the series and of all that is asked with it.
    pub(super) fn open_row(&mut self, step: StepId, attempt: usize, value: ValueId, time: Option<&String>) {
        let Some((reading, _)) = series_of(self.program, value) else { return };
        let Some(seconds) = time.and_then(|time| times::parse(time)) else { return };
        let is_there = |sheet: &super::state::Sheet| {
            sheet.axes.first().is_some_and(|axis| {
                axis.stations.iter().rev().any(|station| Some(&*station.name) == time.map(String::as_str))
            })
        };
        let last = self.sheet_mut(step, attempt, reading).and_then(|sheet| sheet.last_time());
        let is_new = last.is_none_or(|last| seconds > last);
        if !is_new && self.sheet_mut(step, attempt, reading).is_some_and(|sheet| is_there(sheet)) {
            return;
        }
        for value in self.rows_of(reading) {
            if let Some(sheet) = self.sheet_mut(step, attempt, value) {
                sheet.add_row(&seconds);
            }
        }
    }

    /// What was read is kept, and does not count any more.
    pub(super) fn retire(&mut self, step: StepId, attempt: usize, value: ValueId) {
        let all = match series_of(self.program, value) {
            Some((reading, _)) if reading == value => self.rows_of(reading),
            _ => vec![value],
        };
        for value in all {
            if let Some(sheet) = self.sheet_mut(step, attempt, value) {
                sheet.retired = true;
            }
        }
        self.state.running.retain(|running| *running != (step, value));
    }

    fn series_named(&self, step: &str, reading: &str) -> Option<(StepId, ValueId, usize)> {
        let step = self.directory.step(step)?;
        let reading = self.directory.value(Some(step), reading)?;
        Some((step, reading, self.state.steps.get(step.0)?.attempts.len().checked_sub(1)?))
    }

    /// The reading, and what is asked in each of its rows.
    fn rows_of(&self, reading: ValueId) -> Vec<ValueId> {
        let with = series_of(self.program, reading).map(|(_, series)| series.with.as_slice());
        std::iter::once(reading).chain(with.unwrap_or_default().iter().copied()).collect()
    }
}
