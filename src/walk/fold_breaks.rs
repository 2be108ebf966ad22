//! Broken series as their events leave them: begun again, gone on with, or read again at some stations and joined.

use crate::check::program::{Join, Program, Role, StepId, ValueId};
use crate::quantity::parse_exact;

use super::event::{Entry, Event};
use super::fold::Fold;
use super::seam::{Joined, Seam};
use super::state::{Answered, EntryPlace, Sheet};

/// The author's `join` line under a reading.
pub(super) fn join_of(program: &Program, value: ValueId) -> Option<&Join> {
    match &program.values.get(value.0)?.role {
        Role::Reading(reading) => reading.join.as_ref(),
        _ => None,
    }
}

impl Fold<'_> {
    /// With the zero intact the series goes on. Else it waits for stations to be read again, where the author allows that
    /// and enough were read, or it begins again; what was read is kept.
    pub(super) fn broken(&mut self, step: &str, reading: &str, zero_intact: bool, from_the_start: bool) {
        let Some((step, value, attempt)) = self.place_of(step, reading) else { return };
        let stations = join_of(self.program, value).map(|join| join.stations as usize);
        let Some(sheet) = self.sheet_mut(step, attempt, value) else { return };
        sheet.doubt = None;
        if zero_intact {
            return;
        }
        let may_be_joined = stations.is_some_and(|stations| sheet.numbers().len() >= stations);
        if from_the_start || !may_be_joined {
            self.retire(step, attempt, value);
            return;
        }
        // Knocked once more before the stations were read: they are read anew.
        if sheet.parted().is_some() {
            sheet.seams.pop();
        }
        sheet.seams.push(Seam::default());
    }

    pub(super) fn read_again(&mut self, entry: &Entry, sequence: u64) {
        let Some((step, value, _)) = self.place_of(&entry.step, &entry.name) else { return };
        let Some(answer) = entry.answer.clone() else { return };
        let attempt = (entry.number as usize).saturating_sub(1);
        let cell = self.cell(value, &answer, None);
        let Some(index) = self.sheet_index(step, attempt, value) else { return };
        let Some(sheet) = self.sheet_at(step, attempt, value, index) else { return };
        let Some(place) = sheet.index_of(&entry.stations) else { return };
        let seam = sheet.seams.len().saturating_sub(1);
        let Some(last) = sheet.seams.last_mut() else { return };
        let at = last.again.len();
        last.again.push((place, Answered { cell, answer, sequence, part: 0 }));
        let place = EntryPlace::Again { step, attempt, value, sheet: index, seam, at };
        self.state.places.insert(sequence, place);
        self.state.last_entry = Some(sequence);
        self.state.current = Some(step);
    }

    /// Joined; or refused, and the series begins again unless it went on already.
    pub(super) fn joined(&mut self, event: &Event) {
        let Event::Joined { step, number, reading, set, part, shift, disagreement, agreed, .. } = event
        else {
            return;
        };
        let Some((step, value, _)) = self.place_of(step, reading) else { return };
        let Some(unit) = self.program.values.get(value.0).and_then(|value| value.unit) else { return };
        let in_base = |text: &str| Some(unit.of_differences().to_base(&parse_exact(text)?.into()));
        let Some((shift, disagreement)) = in_base(shift).zip(in_base(disagreement)) else { return };
        let attempt = (*number as usize).saturating_sub(1);
        let seam = (*part as usize).saturating_sub(2);
        let Some(sheet) = self.sheet_of_set(step, attempt, value, *set) else { return };
        let goes_on = sheet.cells.iter().flatten().any(|cell| cell.part > seam);
        if let Some(seam) = sheet.seams.get_mut(seam) {
            seam.joined = Some(Joined { shift, disagreement, agreed: *agreed });
        }
        if !agreed && !goes_on {
            self.retire(step, attempt, value);
        }
    }

    fn sheet_of_set(&mut self, step: StepId, attempt: usize, value: ValueId, set: u32) -> Option<&mut Sheet> {
        let attempt = self.state.steps.get_mut(step.0)?.attempts.get_mut(attempt)?;
        let sheets = attempt.sheets.get_mut(&value)?.iter_mut();
        sheets.rev().find(|sheet| sheet.set == set && !sheet.retired)
    }

    fn place_of(&self, step: &str, reading: &str) -> Option<(StepId, ValueId, usize)> {
        let step = self.directory.step(step)?;
        let value = self.directory.value(Some(step), reading)?;
        Some((step, value, self.state.steps.get(step.0)?.attempts.len().checked_sub(1)?))
    }
}
