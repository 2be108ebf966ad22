//! One event into the state. The record is replayed with nothing but this, so it must not ask, judge or refuse: an
//! event that names something unknown is passed over here and found by `verify`.

use std::rc::Rc;

use crate::check::program::{Program, Role, StepId, ValueId, WalkVerdict};

use super::directory::{Directory, series_of, stations_may_move};
use super::doubt::LEFT;
use super::entry;
use super::eval::Evaluator;
use super::event::{Answer, Entry, Event};
use super::fold_sayings::accepted_by;
use super::state::{Answered, Attempt, Defect, EntryPlace, Kept, Sheet, State, Stop, Struck};
use super::value::Cell;
use super::view::View;
use super::waits::Waiting;
use super::wording;

pub const DEFECTS: &str = "defects";

#[derive(Debug)]
pub struct Fold<'a> {
    pub program: &'a Program,
    pub directory: &'a Directory,
    pub state: &'a mut State,
}

impl Fold<'_> {
    pub fn apply(&mut self, event: &Event) {
        self.state.sequence += 1;
        let sequence = self.state.sequence;
        let read_before = self.mind_half_said(event);
        self.said(event, sequence);
        match event {
            Event::Opened { rehearsal, .. } => {
                self.state.opened = true;
                self.state.rehearsal = *rehearsal;
            }
            Event::Person { role, name } => {
                self.state.people.insert(role.clone(), name.clone());
            }
            Event::Fact { name, answer } => self.fact(name, answer, sequence),
            Event::Instrument(card) => self.instrument(card, sequence),
            Event::InUse { instrument, resolution, uncertainty } => {
                let Some(instrument) = self.directory.instrument(instrument) else { return };
                self.state.in_use = Some(instrument);
                let known = self.state.properties.entry(instrument).or_default();
                let mut properties = (**known).clone();
                if let Some(resolution) = resolution.as_deref().and_then(wording::parse_literal) {
                    properties.resolution = Some(resolution);
                }
                for stated in uncertainty.iter().filter_map(|text| wording::parse_uncertainty(text)) {
                    properties.uncertainties.retain(|other| other.source != stated.source);
                    properties.uncertainties.push(stated);
                }
                *known = Rc::new(properties);
            }
            Event::PreviousValue { name, answers, stations, expanded, reason } => {
                self.previous_value(name, answers, stations, expanded, reason.as_deref());
            }
            Event::PreviousInstrument(card) => {
                if let Some(instrument) = self.directory.instrument(&card.name) {
                    self.state.previous_instruments.push((instrument, card.clone()));
                }
            }
            Event::PreviousMove { step, adjustment, amount, result, change } => {
                self.previous_move((step, adjustment), amount, result, change);
            }
            Event::StepOpened { step, number, .. } => {
                if let Some(step) = self.directory.step(step) {
                    self.turned_to(step);
                }
                self.with_step(step, |state, step| {
                    let own = &mut state.steps[step.0];
                    state.running.retain(|(running, _)| *running != step);
                    own.attempts.push(Attempt { number: *number, opened: sequence, ..Attempt::default() });
                    own.unsettled = false;
                    own.left = false;
                    own.skipped = None;
                    state.current = Some(step);
                });
            }
            Event::SetOpened { step, reading, set, .. } => self.set_opened(step, reading, *set),
            Event::Confirmed { step, answer, .. } => self.with_step(step, |state, step| {
                state.current = Some(step);
                if let Some(attempt) = state.steps[step.0].attempts.last_mut().filter(|_| *answer) {
                    attempt.confirmed += 1;
                }
            }),
            Event::SetupGivenUp { step, of } => {
                if let (Some(step), Some(of)) = (self.directory.step(step), self.directory.step(of)) {
                    self.state.given_up.push((step, of));
                }
            }
            Event::Performed { step, name, .. } => self.with_step(step, |state, step| {
                state.current = Some(step);
                state.steps[step.0].performed.push(name.clone());
            }),
            Event::Sheet { step, number, taken, by, of } => {
                self.page(step, *number, taken, by.as_ref(), of.is_some(), sequence);
            }
            Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) => {
                self.entry(entry, sequence);
                if let Some(step) = self.directory.step(&entry.step).filter(|_| read_before) {
                    self.doubt(step, LEFT, true);
                }
            }
            Event::Listed { step, axis, items } => self.listed(step, axis, items, sequence),
            Event::Corrected { of, answer, reason } => self.corrected(*of, answer.as_ref(), reason, sequence),
            Event::PutRight(by) => self.put_right(by, sequence),
            Event::Kept { of, query, reason } => {
                let Some(place) = self.state.places.get(of) else { return };
                let is_fact = matches!(place, EntryPlace::Fact(_));
                let step = place.step();
                if step.is_some() || is_fact {
                    let (query, reason) = (query.clone(), reason.clone());
                    self.state.kept.push(Kept { of: *of, step, query, reason });
                }
            }
            Event::LeftAsIs { step, .. } => {
                self.with_step(step, |state, step| state.steps[step.0].left = true);
            }
            Event::Noted { text, .. } => self.state.notes.push(text.clone()),
            Event::Defect { number, step, text, photo } => {
                let step = step.as_ref().and_then(|name| self.directory.step(name));
                let (number, text) = (*number, text.clone());
                self.state.defects.push(Defect {
                    number,
                    text,
                    photo: photo.as_ref().map(|photo| photo.value.clone()),
                    step,
                    sequence,
                    mended: None,
                    accepted: None,
                });
            }
            Event::Mended { number, text } => {
                self.with_defect(*number, |defect| defect.mended = Some((text.clone(), sequence)));
                self.state
                    .steps
                    .iter_mut()
                    .filter_map(|it| it.stop.as_mut())
                    .for_each(|it| it.attended = true);
            }
            Event::Accepted { number, .. } => {
                let by = accepted_by(event);
                self.with_defect(*number, |defect| defect.accepted = by.clone());
            }
            Event::Adjusted(_) => self.adjusted(event, sequence),
            Event::Justified { step, adjustment, .. } => {
                self.with_moves(step, adjustment, |it| it.justified |= it.is_on_withdrawn_advice())
            }
            Event::Withdrawn { step, adjustment, number } => {
                self.withdrawn(step, adjustment, *number);
            }
            Event::Broken { step, reading, zero_intact, from_the_start, .. } => {
                self.broken(step, reading, *zero_intact, *from_the_start);
            }
            Event::ReadAgain(entry) => self.read_again(entry, sequence),
            Event::Joined { .. } => self.joined(event),
            Event::SeriesStarted { step, reading, set, at } => {
                self.series_started(step, reading, *set, at.as_deref());
            }
            Event::SeriesEnded { step, reading, because, .. } => self.series_ended(step, reading, *because),
            Event::WaitStarted { step, .. } => self.with_step(step, |state, step| {
                state.current = Some(step);
                state.steps[step.0].waiting = Some(Waiting { since: state.now, doubt: false });
            }),
            Event::WaitDone { step, .. } => self.with_step(step, |state, step| {
                state.steps[step.0].waits_done += 1;
                state.steps[step.0].waiting = None;
            }),
            Event::Held { step, party, name, .. } => self.with_step(step, |state, step| {
                state.steps[step.0].held.push((party.clone(), name.clone()));
            }),
            Event::Skipped { step, reason } => {
                self.with_step(step, |state, step| state.steps[step.0].skipped = Some(reason.clone()));
            }
            Event::Waived { step, reason, party, name } => self.with_step(step, |state, step| {
                state.steps[step.0].waived = Some(format!("{reason} ({name}, {party})"));
            }),
            Event::Paused { temperature, .. } => {
                self.state.paused = true;
                self.room(temperature.as_ref());
            }
            Event::Resumed { temperature, .. } => {
                self.state.paused = false;
                self.room(temperature.as_ref());
                self.state.page = None;
                self.doubt_all();
            }
            Event::Judged(judged) => self.with_step(&judged.step, |state, step| {
                let own = &mut state.steps[step.0];
                let last = own.attempts.len();
                let Some(attempt) = own.attempts.get_mut((judged.number as usize).saturating_sub(1)) else {
                    return;
                };
                attempt.recorded = Some(judged.clone());
                attempt.recorded_at = sequence;
                if judged.number as usize == last {
                    own.announced = judged.state.clone();
                    own.left = false;
                }
            }),
            Event::Changed { step, now, .. } => {
                self.with_step(step, |state, step| state.steps[step.0].announced = now.clone());
            }
            Event::Stopped { step, by_hand, text } => self.with_step(step, |state, step| {
                let own = &mut state.steps[step.0];
                let attempt = own.attempts.len().saturating_sub(1);
                own.stop =
                    Some(Stop { by_hand: *by_hand, text: text.clone(), sequence, attended: false, attempt });
            }),
            Event::Cleared { step, .. } => {
                self.with_step(step, |state, step| state.steps[step.0].stop = None)
            }
            Event::Closed { verdict, .. } => self.state.closed = WalkVerdict::parse(verdict),
            Event::Reopened { .. } => self.state.closed = None,
            Event::Signed { .. } => self.state.signed = true,
            Event::HalfSaid { .. } | Event::Signing { .. } | Event::Amended { .. } => {}
        }
    }

    pub(super) fn with_step(&mut self, name: &str, change: impl FnOnce(&mut State, StepId)) {
        if let Some(step) = self.directory.step(name) {
            self.state.visited.insert(step);
            change(self.state, step);
        }
    }

    pub(super) fn with_defect(&mut self, number: u32, change: impl FnOnce(&mut Defect)) {
        if let Some(defect) = self.state.defects.iter_mut().find(|defect| defect.number == number) {
            change(defect);
        }
    }

    pub(super) fn cell(&self, value: ValueId, answer: &Answer, not_read: Option<&str>) -> Cell {
        match self.program.values.get(value.0) {
            Some(it) => entry::recorded(answer, &it.kind, it.unit, not_read),
            None => Cell::Awaited,
        }
    }

    fn fact(&mut self, name: &str, answer: &Answer, sequence: u64) {
        let Some(value) = self.directory.value(None, name) else { return };
        let cell = self.cell(value, answer, None);
        self.room_read(value, &[], &cell);
        self.state.facts.insert(value, Answered { cell, answer: answer.clone(), sequence, part: 0 });
        self.state.places.insert(sequence, EntryPlace::Fact(value));
        self.state.last_entry = Some(sequence);
    }

    fn entry(&mut self, entry: &Entry, sequence: u64) {
        let Some(step) = self.directory.step(&entry.step) else { return };
        let Some(value) = self.directory.value(Some(step), &entry.name) else { return };
        let answer = entry.answer.clone().unwrap_or_else(Answer::not_read);
        let cell = self.cell(value, &answer, entry.reason.as_deref());
        self.room_read(value, &entry.stations, &cell);
        let attempt = (entry.number as usize).saturating_sub(1);
        self.open_sheet(step, attempt, value, entry.set);
        self.open_row(step, attempt, value, entry.stations.first());
        self.turned_to(step);
        self.state.current = Some(step);
        self.state.last_entry = Some(sequence);
        // A set is read with the instrument with which it is begun.
        let used = match &self.program.values[value.0].role {
            Role::Reading(reading) => Some(self.state.in_use(&reading.instruments)),
            _ => None,
        };
        if let Role::Reading(reading) = &self.program.values[value.0].role {
            self.read_with(&reading.instruments);
        }
        let Some(sheet) = self.sheet_mut(step, attempt, value) else { return };
        // Entries mostly come in order: try the next free station before searching for it by name.
        let next = sheet.next().filter(|&next| sheet.stations(next) == entry.stations);
        let Some(cell_index) = next.or_else(|| sheet.index_of(&entry.stations)) else { return };
        if let Some(used) = used.filter(|_| sheet.filled == 0) {
            sheet.instrument = used;
        }
        sheet.put(cell_index, Answered { cell, answer, sequence, part: 0 });
        sheet.doubt = None;
        let sheet = self.sheet_index(step, attempt, value).unwrap_or_default();
        let place = EntryPlace::Cell { step, attempt, value, sheet, cell: cell_index };
        self.state.places.insert(sequence, place);
    }

    /// Which of the sheets of a value counts.
    pub(super) fn sheet_index(&self, step: StepId, attempt: usize, value: ValueId) -> Option<usize> {
        let attempt = self.state.steps.get(step.0)?.attempts.get(attempt)?;
        attempt.sheets.get(&value)?.iter().rposition(|sheet| !sheet.retired)
    }

    pub(super) fn sheet_at(
        &mut self,
        step: StepId,
        attempt: usize,
        value: ValueId,
        sheet: usize,
    ) -> Option<&mut Sheet> {
        let attempt = self.state.steps.get_mut(step.0)?.attempts.get_mut(attempt)?;
        attempt.sheets.get_mut(&value)?.get_mut(sheet)
    }

    pub(super) fn sheet_mut(&mut self, step: StepId, attempt: usize, value: ValueId) -> Option<&mut Sheet> {
        let attempt = self.state.steps.get_mut(step.0)?.attempts.get_mut(attempt)?;
        attempt.sheets.get_mut(&value)?.iter_mut().rev().find(|sheet| !sheet.retired)
    }

    /// Lays a sheet out if this set has none yet that counts.
    pub(super) fn open_sheet(&mut self, step: StepId, attempt: usize, value: ValueId, set: u32) {
        let there = self.state.steps.get(step.0).and_then(|it| it.attempts.get(attempt)?.sheet(value));
        if there.is_some_and(|sheet| sheet.set == set) {
            return;
        }
        let axes = self.program.values.get(value.0).map(|it| it.axes.clone()).unwrap_or_default();
        let view = View::of(self.program, self.state, step, attempt);
        let Ok(axes) = Evaluator::new(self.program, &view).layout_of_row(&axes) else { return };
        let is_series = series_of(self.program, value).is_some();
        let sheet = if is_series { Sheet::of_series(set, axes) } else { Sheet::new(set, axes) };
        if let Some(attempt) = self.state.steps.get_mut(step.0).and_then(|it| it.attempts.get_mut(attempt)) {
            attempt.sheets.entry(value).or_default().push(sheet);
        }
    }

    fn set_opened(&mut self, step: &str, reading: &str, set: u32) {
        let Some(step) = self.directory.step(step) else { return };
        let Some(value) = self.directory.value(Some(step), reading) else { return };
        let attempt = self.state.steps[step.0].attempts.len().saturating_sub(1);
        // A set that was left half read would be waited for in the mean of all.
        if self.sheet_mut(step, attempt, value).is_some_and(|sheet| !sheet.is_full()) {
            self.retire(step, attempt, value);
        }
        self.open_sheet(step, attempt, value, set);
        self.state.current = Some(step);
        // What is read again was read later.
        self.state.page = None;
        self.state.page_before = None;
    }

    fn corrected(&mut self, of: u64, answer: Option<&Answer>, reason: &str, sequence: u64) {
        let Some(place) = self.state.places.get(&of).cloned() else { return };
        let not_read = answer.is_none().then_some(reason);
        let answer = &answer.cloned().unwrap_or_else(Answer::not_read);
        if let Some(was) = self.state.answered_at(&place).cloned() {
            self.state.struck.push(Struck {
                place: place.clone(),
                was,
                by: sequence,
                reason: reason.to_owned(),
            });
        }
        match place {
            // Given anew by an event of its own.
            EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..) => {}
            EntryPlace::Fact(value) => {
                let cell = self.cell(value, answer, None);
                self.state.facts.insert(value, Answered { cell, answer: answer.clone(), sequence, part: 0 });
                self.restart_where_stations_moved();
            }
            EntryPlace::Cell { step, attempt, value, sheet, cell } => {
                let meant = self.cell(value, answer, not_read);
                let answered = Answered { cell: meant, answer: answer.clone(), sequence, part: 0 };
                if let Some(sheet) = self.sheet_at(step, attempt, value, sheet) {
                    sheet.put(cell, answered);
                }
                if !matches!(self.program.values[value.0].role, Role::Reading(_)) {
                    self.restart_where_stations_moved();
                }
            }
            EntryPlace::Again { step, attempt, value, sheet, seam, at } => {
                let meant = self.cell(value, answer, not_read);
                let answered = Answered { cell: meant, answer: answer.clone(), sequence, part: 0 };
                let sheet = self.sheet_at(step, attempt, value, sheet);
                let again = sheet.and_then(|sheet| sheet.seams.get_mut(seam)?.again.get_mut(at));
                if let Some((_, read)) = again {
                    *read = answered;
                }
            }
        }
        // What was odd about the old value went with it.
        let places = &self.state.places;
        self.state.kept.retain(|kept| places.get(&kept.of) != Some(&place));
        // The line that was corrected and the correction lead to the same place from now on.
        self.state.places.insert(sequence, place);
        self.state.last_entry = Some(sequence);
    }

    /// Why the reading that line `line` withdrew counts as not read.
    pub(super) fn not_read_because(&mut self, line: u64, reason: &str) {
        let Some(EntryPlace::Cell { step, attempt, value, sheet, cell }) =
            self.state.places.get(&line).cloned()
        else {
            return;
        };
        let there = self.sheet_at(step, attempt, value, sheet).and_then(|sheet| sheet.cells.get_mut(cell));
        if let Some(answered) = there.and_then(Option::as_mut).filter(|it| it.sequence == line) {
            answered.cell = Cell::NotRead(reason.into());
        }
    }

    /// A correction that moves stations restarts the readings laid out over them; the old ones are kept.
    fn restart_where_stations_moved(&mut self) {
        for index in 0..self.state.steps.len() {
            let step = StepId(index);
            let Some(last) = self.state.steps[index].attempts.len().checked_sub(1) else { continue };
            let values: Vec<ValueId> =
                self.state.steps[index].attempts[last].sheets.keys().copied().collect();
            for value in values {
                let axes = &self.program.values[value.0].axes;
                if !stations_may_move(self.program, axes) {
                    continue;
                }
                let view = View::of(self.program, self.state, step, last);
                let laid_out = Evaluator::new(self.program, &view).layout_of_row(axes);
                let Some(sheet) = self.sheet_mut(step, last, value) else { continue };
                let inner = usize::from(sheet.run.is_some());
                let moved = laid_out.is_ok_and(|axes| axes.get(inner..) != sheet.axes.get(inner..));
                if moved {
                    self.retire(step, last, value);
                }
            }
        }
    }
}
