//! What was really altered, and what it leaves to be taken again.

use std::collections::HashSet;

use crate::check::program::StepId;

use super::event::{Alteration, Event};
use super::fold::Fold;
use super::state::Move;

impl Fold<'_> {
    pub(super) fn adjusted(&mut self, event: &Event, sequence: u64) {
        let Event::Adjusted(alteration) = event else { return };
        let Some(moved) = self.a_move(alteration, sequence) else { return };
        let id = moved.step;
        self.state.moves.push(moved);
        self.mark_undone();
        self.unsettle(id);
        if let Some(stop) = self.state.steps[id.0].stop.as_mut() {
            stop.attended = true;
        }
    }

    /// As it stands on that line.
    pub(super) fn a_move(&self, alteration: &Alteration, sequence: u64) -> Option<Move> {
        let Alteration { step, adjustment, what, stations, amount, advised, .. } = alteration;
        let step = self.directory.step(step)?;
        let adjustment = adjustment.as_ref().and_then(|name| self.directory.value(Some(step), name));
        let amount = adjustment.zip(amount.as_ref()).map(|(value, answer)| self.cell(value, answer, None));
        Some(Move {
            sequence,
            step,
            adjustment,
            what: what.clone(),
            stations: stations.clone(),
            amount,
            advised: advised.is_some(),
            withdrawn: false,
            justified: false,
            undone: false,
        })
    }

    pub(super) fn mark_undone(&mut self) {
        let undone: Vec<bool> = self.state.moves.iter().map(|it| self.state.is_undone(it)).collect();
        self.state.moves.iter_mut().zip(undone).for_each(|(it, undone)| it.undone = undone);
    }

    /// An adjustment leaves its own step and those it unsettles, with their repeats, to be taken again.
    fn unsettle(&mut self, step: StepId) {
        self.state.last_unsettled.clear();
        for it in self.left_to_retake(step) {
            let own = &mut self.state.steps[it.0];
            own.unsettled = own.is_begun();
            self.state.last_unsettled.push(it);
        }
    }

    /// The step itself, those it unsettles with their repeats, and what rests on them.
    pub(super) fn left_to_retake(&self, step: StepId) -> Vec<StepId> {
        let mut unsettled = vec![step];
        unsettled.extend(&self.program.steps[step.0].unsettles);
        let repeats: Vec<StepId> =
            unsettled.iter().flat_map(|it| self.directory.repeats(*it)).copied().collect();
        unsettled.extend(repeats);
        // What rests on them was read on the machine as it was before: it is to be taken again too.
        let mut seen: HashSet<StepId> = unsettled.iter().copied().collect();
        let mut all = Vec::new();
        while let Some(it) = unsettled.pop() {
            let users = self.directory.users(it).iter().copied().filter(|user| seen.insert(*user));
            unsettled.extend(users);
            all.push(it);
        }
        all
    }

    /// Of the moves made after that try, the advised ones; of an early record all of them.
    pub(super) fn withdrawn(&mut self, step: &str, adjustment: &str, number: Option<u32>) {
        let attempts = self.directory.step(step).map(|step| &self.state.steps[step.0].attempts);
        let opened = |number: u32| attempts?.get((number as usize).checked_sub(1)?).map(|it| it.opened);
        let from = number.and_then(opened).unwrap_or(0);
        let until = number.and_then(|number| opened(number + 1)).unwrap_or(u64::MAX);
        self.with_moves(step, adjustment, |it| {
            it.withdrawn |= it.advised && (from..until).contains(&it.sequence);
        });
    }

    pub(super) fn with_moves(&mut self, step: &str, adjustment: &str, mut change: impl FnMut(&mut Move)) {
        let Some(step) = self.directory.step(step) else { return };
        let value = self.directory.value(Some(step), adjustment);
        let is_meant =
            |it: &Move| it.step == step && (it.adjustment == value || it.what.as_deref() == Some(adjustment));
        self.state.moves.iter_mut().filter(|it| is_meant(it)).for_each(&mut change);
    }
}
