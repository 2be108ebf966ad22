//! Series in time on the walk: when the next row is due by the clock, what is asked for it, what ends it.
//!
//! A row is due at each multiple of the author's time between readings. It stands at the time at which it was really
//! taken, early or late; one that was not taken by half-way to the next is missed, and is no element at all. The clock
//! is handed in, so a walk that is taken up again goes on with the row that is due then.

use std::borrow::Cow;

use num_traits::{ToPrimitive, Zero};

use crate::check::program::{Series, StateWord, StepId, ValueId};
use crate::quantity::{Rational, ratio};

use super::answer::Taken;
use super::ask::Ask;
use super::asked_words;
use super::directory::{only_when, series_of};
use super::event::{Entry, Event, SeriesEnd};
use super::machine::Machine;
use super::question::{Refusal, Tone};
use super::standing::truth;
use super::state::{Attempt, Sheet};
use super::times;
use super::value::Cell;
use super::view::View;

/// What the clock says of the next row.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Due {
    Now,
    /// At this time since the start, in seconds.
    Later(Rational),
    /// The time of the series is over.
    Over,
}

impl Series {
    /// Which of the regular times this one is nearest to, from 0.
    fn slot(&self, seconds: &Rational) -> Rational {
        (seconds / &self.every + ratio(1, 2)).floor()
    }

    fn last_slot(&self) -> Rational {
        (&self.at_most / &self.every).floor()
    }

    /// The next regular time that can still be kept: behind the last row, and not missed already.
    pub(super) fn next_slot(&self, last: Option<&Rational>, now: Option<&Rational>) -> Rational {
        let after =
            last.map_or_else(Rational::zero, |last| self.slot(last) + Rational::from_integer(1.into()));
        match now.map(|now| self.slot(now)) {
            Some(missed) if missed > after => missed,
            _ => after,
        }
    }

    pub(super) fn due(&self, last: Option<&Rational>, now: Option<&Rational>) -> Due {
        let slot = self.next_slot(last, now);
        let time = &slot * &self.every;
        if slot > self.last_slot() {
            Due::Over
        } else if now.is_some_and(|now| *now < time) {
            Due::Later(time)
        } else {
            Due::Now
        }
    }
}

impl Machine {
    pub(super) fn series(&self, value: ValueId) -> Option<(ValueId, &Series)> {
        series_of(&self.program, value)
    }

    pub(super) fn reading_sheet(&self, step: StepId, reading: ValueId) -> Option<&Sheet> {
        self.state.step(step).attempt()?.sheet(reading)
    }

    /// Seconds since the start of a series, by the clock of the record.
    pub(super) fn elapsed(&self, sheet: &Sheet) -> Option<Rational> {
        let started = sheet.run()?.started?;
        let seconds = self.state.now?.as_second() - started.as_second();
        Some(Rational::from_integer(seconds.into()))
    }

    /// The same when the question was put; of what stands on paper the time of the row.
    pub(super) fn elapsed_when_asked(&self, sheet: &Sheet) -> Option<Rational> {
        if self.is_from_paper() {
            let typed = self.row_on_paper.as_ref().map(|(.., at)| at.clone());
            return typed.or_else(|| sheet.last_time()).or_else(|| Some(Rational::zero()));
        }
        let seconds = self.asked_at?.as_second() - sheet.run()?.started?.as_second();
        Some(Rational::from_integer(seconds.into()))
    }

    /// The time at which a row that is begun now stands. A clock that was set back does not take rows back.
    fn row_time(&self, series: &Series, sheet: Option<&Sheet>) -> Rational {
        let on_paper = self.row_on_paper.as_ref().map(|(.., at)| at);
        if let Some(at) = self.entering_at.as_ref().or(on_paper) {
            return at.clone();
        }
        let last = sheet.and_then(Sheet::last_time);
        let now = sheet.and_then(|sheet| self.elapsed(sheet));
        let time = match (now, sheet.and_then(Sheet::run).and_then(|run| run.started)) {
            (Some(now), _) => now,
            // Without a clock rows stand where they are due.
            (None, _) => series.next_slot(last.as_ref(), None) * &series.every,
        };
        match last {
            Some(last) if time <= last => last + Rational::from_integer(1.into()),
            _ => time,
        }
    }

    /// The row that is being entered, as a sheet of its own: the last one while it is not complete, else a new one.
    pub(super) fn row_sheet(&self, step: StepId, value: ValueId) -> Result<Cow<'_, Sheet>, Cell> {
        let Some((reading, series)) = self.series(value) else {
            return Err(Cell::invalid("it is no series"));
        };
        let there = self.reading_sheet(step, value);
        if let Some(sheet) = there
            && sheet.row_count() > 0
        {
            let is_done = sheet.run.as_ref().is_some_and(|run| run.ended.is_some());
            if !sheet.has_all() || value != reading || is_done || !self.row_is_complete(step, reading) {
                return Ok(Cow::Owned(sheet.row(sheet.row_count() - 1)));
            }
        }
        let at = self.row_time(series, self.reading_sheet(step, reading));
        match there {
            Some(sheet) => Ok(Cow::Owned(sheet.row_at(&at))),
            None => Ok(Cow::Owned(Sheet::of_series(1, self.layout_of_row(step, value)?).row_at(&at))),
        }
    }

    /// The last row has its readings and the answers to all that is asked with them.
    pub(super) fn row_is_complete(&self, step: StepId, reading: ValueId) -> bool {
        let Some((attempt, series)) = self.state.step(step).attempt().zip(self.series(reading)) else {
            return true;
        };
        let has_all = |value: ValueId| attempt.sheet(value).is_none_or(Sheet::has_all);
        has_all(reading)
            && series.1.with.iter().all(|value| has_all(*value) || !self.applies(step, attempt, *value))
    }

    fn applies(&self, step: StepId, attempt: &Attempt, value: ValueId) -> bool {
        let index = (attempt.number as usize).saturating_sub(1);
        only_when(&self.program, value).is_none_or(|condition| {
            let view = View::of(&self.program, &self.state, step, index);
            truth(condition, &view, &self.program) != Some(false)
        })
    }

    // -------------------------------------------------------------------------------------------- what is asked

    /// What a series asks for next: its start, the row that is due, what is asked with it, or its end.
    pub(super) fn ask_series(&self, step: StepId, reading: ValueId) -> Option<Ask> {
        let (_, series) = self.series(reading)?;
        let Some(sheet) = self.reading_sheet(step, reading).filter(|sheet| sheet.run().is_some()) else {
            return Some(match self.layout_of_row(step, reading) {
                Ok(_) => Ask::Start(step, reading),
                Err(Cell::Invalid(reason) | Cell::NotRead(reason)) => Ask::Stuck(step, reading, reason),
                Err(_) => {
                    let reason = "its stations depend on something that is not known yet".into();
                    Ask::Stuck(step, reading, reason)
                }
            });
        };
        if sheet.run.as_ref().is_some_and(|run| run.ended.is_some()) {
            return None;
        }
        if !self.row_is_complete(step, reading) {
            let attempt = self.state.step(step).attempt()?;
            let open = |value: &ValueId| attempt.sheet(*value).is_some_and(|sheet| !sheet.has_all());
            let asked = std::iter::once(&reading).chain(&series.with);
            let value =
                *asked.filter(|value| open(value)).find(|value| self.applies(step, attempt, **value))?;
            let cell = self.row_sheet(step, value).ok()?.next()?;
            return Some(Ask::Entry { step, value, cell });
        }
        if self.is_from_paper() {
            let is_typed = self.row_on_paper.as_ref().is_some_and(|it| (it.0, it.1) == (step, reading));
            return Some(match is_typed {
                true => Ask::Entry { step, value: reading, cell: 0 },
                false => Ask::RowTime(step, reading),
            });
        }
        Some(match series.due(sheet.last_time().as_ref(), self.elapsed_when_asked(sheet).as_ref()) {
            Due::Now => Ask::Entry { step, value: reading, cell: 0 },
            Due::Later(time) => Ask::Due(step, reading, time),
            Due::Over => Ask::Over(step, reading),
        })
    }

    /// The question of a series that cannot wait: a row is due, or half of one is there.
    pub(super) fn series_that_is_due(&self) -> Option<Ask> {
        self.running().find_map(|(step, _)| {
            let ask = self.ask_in(step)?;
            matches!(ask, Ask::Entry { .. } | Ask::Over(..)).then_some(ask)
        })
    }

    pub(super) fn running(&self) -> impl Iterator<Item = (StepId, ValueId)> + '_ {
        let standing = self.standing();
        let is_open = move |(step, _): &(StepId, ValueId)| standing.state_of(*step) == StateWord::NotReached;
        self.state.running.iter().rev().copied().filter(is_open)
    }

    /// The step whose series was begun and is not over.
    pub(super) fn step_that_runs(&self) -> Option<StepId> {
        let begun = |(step, reading): &(StepId, ValueId)| {
            self.reading_sheet(*step, *reading)
                .is_some_and(|sheet| sheet.run().is_some_and(|run| run.started.is_some()))
        };
        self.running().find(begun).map(|(step, _)| step)
    }

    pub fn is_series_running(&self) -> bool {
        self.running().next().is_some()
    }

    /// When the row that is asked for was due, if that is a minute ago or more.
    pub(super) fn due_since(&self, step: StepId, reading: ValueId) -> Option<Rational> {
        let (sheet, (_, series)) = self.reading_sheet(step, reading).zip(self.series(reading))?;
        let now = self.elapsed_when_asked(sheet)?;
        let due = series.next_slot(sheet.last_time().as_ref(), Some(&now)) * &series.every;
        (sheet.has_all() && &now - &due >= Rational::from_integer(60.into())).then_some(due)
    }

    /// Regular times between the last row and the next that went by without one, in words.
    pub(super) fn missed(&self, step: StepId, reading: ValueId) -> Vec<String> {
        let Some((sheet, (_, series))) = self.reading_sheet(step, reading).zip(self.series(reading)) else {
            return Vec::new();
        };
        let (last, now) = (sheet.last_time(), self.elapsed_when_asked(sheet));
        let from = series.next_slot(last.as_ref(), None);
        let to = series.next_slot(last.as_ref(), now.as_ref());
        let to = to.min(series.last_slot() + Rational::from_integer(1.into()));
        let (Some(from), Some(to)) = (from.to_i64(), to.to_i64()) else { return Vec::new() };
        (from..to).map(|slot| times::name(&(Rational::from_integer(slot.into()) * &series.every))).collect()
    }

    // -------------------------------------------------------------------------------------------- what is done

    pub(super) fn start_series(&mut self, step: StepId, reading: ValueId, at: Option<String>) {
        self.ensure_opened(step);
        let set = self.reading_sheet(step, reading).map_or(1, |sheet| sheet.set);
        let (step, reading) = (self.name_of(step), self.program.values[reading.0].name.clone());
        self.emit(Event::SeriesStarted { step, reading, set, at });
    }

    /// Before the first cell of a row is written: the series must be running.
    pub(super) fn ensure_started(&mut self, step: StepId, value: ValueId) {
        let Some((reading, _)) = self.series(value) else { return };
        if self.reading_sheet(step, reading).is_none_or(|sheet| sheet.run().is_none()) {
            self.start_series(step, reading, None);
        }
    }

    /// Whether a row that was said back may still stand at the time at which it was typed: the series may have begun
    /// again, or gone on, before it was taken.
    pub(super) fn may_be_then(&self, step: StepId, value: ValueId, at: &Rational) -> bool {
        let sheet = self.series(value).and_then(|(reading, _)| self.reading_sheet(step, reading));
        let Some(sheet) = sheet else { return false };
        let has_come = self.elapsed(sheet).is_none_or(|now| *at <= now) || self.touched.is_some();
        has_come && sheet.last_time().is_none_or(|last| last < *at)
    }

    pub(super) fn close_series(&mut self, step: StepId, reading: ValueId) {
        self.end_series(step, reading, SeriesEnd::Closed);
        self.settle_all();
    }

    fn end_series(&mut self, step: StepId, reading: ValueId, because: SeriesEnd) {
        let rows = self.reading_sheet(step, reading).map_or(0, Sheet::row_count);
        let (step, name) = (self.name_of(step), self.program.values[reading.0].name.clone());
        let rows = u32::try_from(rows).unwrap_or(u32::MAX);
        let why = match because {
            SeriesEnd::Met => "what it waited for has come",
            SeriesEnd::Time | SeriesEnd::Closed => "its time is over",
        };
        self.say(Tone::Notice, format!("The series ends with {rows} rows: {why}."));
        self.derive(Event::SeriesEnded { step, reading: name, rows, because });
    }

    /// After a row that is complete: is it enough, or was it the last?
    pub(super) fn try_ends(&mut self, step: StepId, attempt: usize) {
        let own = self.state.step(step);
        // A stop of an earlier try stands until this one passes; what fires in this one ends nothing.
        let stopped = own.stop.as_ref().is_some_and(|stop| stop.attempt == attempt);
        if attempt + 1 != own.attempts.len() || stopped {
            return;
        }
        let running: Vec<ValueId> =
            self.state.running.iter().filter(|(it, _)| *it == step).map(|(_, reading)| *reading).collect();
        for reading in running {
            if let Some(because) = self.end_of(step, attempt, reading) {
                self.end_series(step, reading, because);
            }
        }
    }

    fn end_of(&self, step: StepId, attempt: usize, reading: ValueId) -> Option<SeriesEnd> {
        let (_, series) = self.series(reading)?;
        let sheet = self.reading_sheet(step, reading)?;
        let last = sheet.last_time()?;
        if !self.row_is_complete(step, reading) {
            return None;
        }
        if let Some(until) = &series.until {
            let tail = super::tail::of(&self.program, until);
            let view = View { tail, ..View::of(&self.program, &self.state, step, attempt) };
            if truth(until, &view, &self.program) == Some(true) {
                return Some(SeriesEnd::Met);
            }
        }
        (series.slot(&last) >= series.last_slot()).then_some(SeriesEnd::Time)
    }

    /// For a rehearsal: whether a row of an example stands later than it is now.
    pub(super) fn comes_later(&self, value: ValueId, at: Option<&Rational>) -> bool {
        let is_series = self.series(value).is_some();
        is_series && at.is_some_and(|at| self.seconds_until(at).is_some_and(|seconds| seconds > 0))
    }

    /// When the next row of the series that is running is due, if that is still to come.
    pub(super) fn row_that_comes(&self) -> Option<Rational> {
        let (step, reading) = self.running().next()?;
        let (sheet, (_, series)) = self.reading_sheet(step, reading).zip(self.series(reading))?;
        match series.due(sheet.last_time().as_ref(), self.elapsed(sheet).as_ref()) {
            Due::Later(time) => Some(time),
            Due::Now | Due::Over => None,
        }
    }

    /// Seconds until the clock of the series that is running has come so far.
    pub(super) fn seconds_until(&self, time: &Rational) -> Option<u64> {
        let (step, reading) = self.running().next()?;
        let now = self.elapsed(self.reading_sheet(step, reading)?)?;
        (time - now).ceil().to_integer().to_u64()
    }

    // -------------------------------------------------------------------------------------------- rows at their time

    /// Whether a row may stand at this time (`enter R.temp at 30 min = ...`), or at the time it is now.
    pub(super) fn may_stand_at(&self, step: StepId, value: ValueId, at: Option<&Rational>) -> Taken {
        let Some((reading, series)) = self.series(value) else { return Ok(()) };
        let sheet = self.reading_sheet(step, reading);
        let last = sheet.and_then(Sheet::last_time);
        let title = asked_words::titled(&self.program, reading);
        if sheet.is_some_and(|sheet| sheet.run.as_ref().is_some_and(|run| run.ended.is_some())) {
            return Err(Refusal::new(format!("{title}: the series is over."))
                .help("remeasure it if the machine is untouched, again after altering it."));
        }
        let Some(at) = at else {
            let begins = value == reading && self.row_is_complete(step, reading);
            let by_clock = self.touched.is_none() && (!self.is_from_paper() || self.row_on_paper.is_some());
            return match begins && !by_clock {
                true => Err(Refusal::new(format!("{title}: it is not said when this row was taken.")).help(
                    format!(
                        "enter {}.{name} at 30 min = ...",
                        self.name_of(step),
                        name = self.program.values[reading.0].name
                    ),
                )),
                false => Ok(()),
            };
        };
        let (said, is_open) = (times::name(at), !self.row_is_complete(step, reading));
        match last {
            Some(last) if *at == last && (is_open || value != reading) => return Ok(()),
            Some(last) if is_open => {
                return Err(Refusal::new(format!("The row at {} is not complete yet.", times::name(&last)))
                    .help("Enter what is missing there first."));
            }
            Some(last) if value != reading => {
                return Err(Refusal::new(format!(
                    "There is no row at {said}; the last is at {}.",
                    times::name(&last)
                )));
            }
            None if value != reading => {
                return Err(Refusal::new(format!("{title}: there is no row yet.")));
            }
            Some(last) if *at <= last => {
                return Err(Refusal::new(format!(
                    "{title}: rows go on in time, and the last is at {}.",
                    times::name(&last)
                )));
            }
            _ => {}
        }
        if series.slot(at) > series.last_slot() {
            return Err(Refusal::new(format!(
                "{title}: the series lasts {} at most.",
                times::name(&series.at_most)
            )));
        }
        if self.touched.is_none() && sheet.and_then(Sheet::run).is_none() && *at > Rational::zero() {
            return Err(Refusal::new(format!("{title}: the series is not started yet.")));
        }
        if self.touched.is_none()
            && let Some(now) = sheet.and_then(|sheet| self.elapsed(sheet))
            && *at > now
        {
            return Err(Refusal::new(format!("It is {} now: {said} is still to come.", times::name(&now))));
        }
        Ok(())
    }

    /// For `verify`: a recorded row must stand at a time that had come by its line, and behind the row before it.
    pub(super) fn misplaced_row(&self, event: &Event) -> Option<String> {
        let (Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry)) = event else {
            return None;
        };
        let Entry { step, name, stations, .. } = entry;
        let step = self.directory.step(step)?;
        let value = self.directory.value(Some(step), name)?;
        let (reading, _) = self.series(value)?;
        let Some(time) = stations.first().and_then(|station| times::parse(station)) else {
            return Some("a row at its time since the start of the series".to_owned());
        };
        let sheet = self.reading_sheet(step, reading)?;
        let last = sheet.last_time();
        if last.as_ref().is_some_and(|last| *last == time) {
            return None;
        }
        if let Some(last) = last.as_ref().filter(|last| time < **last) {
            return Some(format!("a row after the one at {}", times::name(last)));
        }
        let now = self.elapsed(sheet)?;
        let latest = match last.map(|last| last + Rational::from_integer(1.into())) {
            Some(next) if next > now => next,
            _ => now,
        };
        (time > latest).then(|| format!("a row at {} or before", times::name(&latest)))
    }
}
