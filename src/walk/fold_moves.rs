//! What was really altered, and what it leaves to be taken again.

use std::collections::HashSet;

use crate::check::program::StepId;

use super::event::{Alteration, Event};
use super::fold::Fold;
use super::state::Move;

impl Fold<'_> {
    pub(super) fn adjusted(&mut self, event: &Event, sequence: u64) {
        let Event::Adjusted(alteration) = event else { return };
        let Alteration { step, adjustment, what, stations, amount, advised, .. } = alteration;
        let Some(id) = self.directory.step(step) else { return };
        let adjustment = adjustment.as_ref().and_then(|name| self.directory.value(Some(id), name));
        let amount = adjustment.zip(amount.as_ref()).map(|(value, answer)| self.cell(value, answer, None));
        self.state.moves.push(Move {
            sequence,
            step: id,
            adjustment,
            what: what.clone(),
            stations: stations.clone(),
            amount,
            advised: advised.is_some(),
            withdrawn: false,
            justified: false,
            undone: false,
        });
        self.mark_undone();
        self.unsettle(id);
        if let Some(stop) = self.state.steps[id.0].stop.as_mut() {
            stop.attended = true;
        }
    }

    fn mark_undone(&mut self) {
        let undone: Vec<bool> = self.state.moves.iter().map(|it| self.state.is_undone(it)).collect();
        self.state.moves.iter_mut().zip(undone).for_each(|(it, undone)| it.undone = undone);
    }

    /// An adjustment leaves its own step and those it unsettles, with their repeats, to be taken again.
    fn unsettle(&mut self, step: StepId) {
        self.state.last_unsettled.clear();
        let mut unsettled = vec![step];
        unsettled.extend(&self.program.steps[step.0].unsettles);
        let repeats: Vec<StepId> =
            unsettled.iter().flat_map(|it| self.directory.repeats(*it)).copied().collect();
        unsettled.extend(repeats);
        // What rests on them was read on the machine as it was before: it is to be taken again too.
        let mut seen: HashSet<StepId> = unsettled.iter().copied().collect();
        while let Some(it) = unsettled.pop() {
            let users = self.directory.users(it).iter().copied().filter(|user| seen.insert(*user));
            unsettled.extend(users);
            let own = &mut self.state.steps[it.0];
            own.unsettled = own.is_begun();
            self.state.last_unsettled.push(it);
        }
    }

    pub(super) fn with_moves(&mut self, step: &str, adjustment: &str, mut change: impl FnMut(&mut Move)) {
        let Some(step) = self.directory.step(step) else { return };
        let value = self.directory.value(Some(step), adjustment);
        let is_meant =
            |it: &Move| it.step == step && (it.adjustment == value || it.what.as_deref() == Some(adjustment));
        self.state.moves.iter_mut().filter(|it| is_meant(it)).for_each(&mut change);
    }
}
