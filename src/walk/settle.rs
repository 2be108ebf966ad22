//! What follows from an event: verdicts, stops, staleness, advice withdrawn. Worked out step by step in the order of
//! the file, written only where something has changed; `verify` runs the same and demands the same.

use std::rc::Rc;

use crate::check::program::{StepId, ValueId};

use super::event::Event;
use super::judge;
use super::lines;
use super::machine::Machine;
use super::question::Tone;
use super::sayings::Saying;
use super::stand::Stand;
use super::text;
use super::uncertainty::Effort;
use super::value::Cell;
use super::verdict::{Outcome, StepResults};
use super::view::View;

impl Machine {
    /// Marks what an event may have changed. Cheap: a step that is still being read is not looked at.
    pub(super) fn after(&mut self, event: &Event) {
        if !matches!(event, Event::Entered(_) | Event::NotRead(_) | Event::Judged(_) | Event::Changed { .. })
        {
            self.sizes.borrow_mut().clear();
        }
        match event {
            Event::Entered(entry)
            | Event::NotRead(entry)
            | Event::Observed(entry)
            | Event::ReadAgain(entry) => {
                self.row_on_paper = None;
                if let Some(step) = self.directory.step(&entry.step) {
                    let attempt = (entry.number as usize).saturating_sub(1);
                    self.cause = format!("{} taken", entry.step);
                    let is_alone = self.dirty.is_empty();
                    self.mark(step, attempt);
                    self.latest = is_alone.then_some(step);
                }
            }
            Event::SeriesStarted { step, .. } | Event::SeriesEnded { step, .. } => self.mark_named(step),
            Event::Listed { step, .. } | Event::SetOpened { step, .. } | Event::StepOpened { step, .. } => {
                self.mark_named(step);
            }
            Event::Broken { step, .. } => self.mark_named(step),
            Event::Joined { step, number, .. } => {
                if let Some(step) = self.directory.step(step) {
                    self.mark(step, (*number as usize).saturating_sub(1));
                }
            }
            Event::Corrected { of, .. } => {
                self.cause = format!("line {of} corrected");
                self.mark_corrected(*of);
            }
            Event::PutRight(by) => {
                let saying = self.state.sayings.iter().find(|it| it.line == by.of);
                if let (Some(saying), Some(card)) = (saying, &by.card) {
                    self.cause = format!("instrument {} corrected", saying.number);
                    return self.mark_read_with(&card.name);
                }
                if let Some((Event::Adjusted(moved), number)) = saying.map(|it| (&it.event, it.number)) {
                    self.cause = format!("move {number} of {} corrected", moved.step);
                    for unsettled in self.state.last_unsettled.clone() {
                        self.mark_last(unsettled);
                    }
                }
            }
            Event::Adjusted(alteration) => {
                self.cause = format!("{} was altered", alteration.step);
                for unsettled in self.state.last_unsettled.clone() {
                    self.mark_last(unsettled);
                }
            }
            Event::Judged(judged) => {
                if let Some(step) = self.directory.step(&judged.step) {
                    self.mark_users(step);
                }
            }
            Event::Changed { step, .. } => {
                if let Some(step) = self.directory.step(step) {
                    self.mark_users(step);
                }
            }
            _ => {}
        }
    }

    fn mark_named(&mut self, step: &str) {
        if let Some(step) = self.directory.step(step) {
            self.mark_last(step);
        }
    }

    fn mark_last(&mut self, step: StepId) {
        if let Some(last) = self.state.step(step).attempts.len().checked_sub(1) {
            self.mark(step, last);
        }
    }

    fn mark(&mut self, step: StepId, attempt: usize) {
        if let Some(it) = self.state.steps.get_mut(step.0).and_then(|it| it.attempts.get_mut(attempt)) {
            it.results = None;
            self.dirty.insert((step, attempt));
            self.latest = None;
        }
    }

    fn mark_users(&mut self, step: StepId) {
        let directory = Rc::clone(&self.directory);
        for user in directory.users(step) {
            self.mark_last(*user);
        }
    }

    /// Tries in which something was read with such an instrument: which of its lines mean the same one may be seen otherwise.
    fn mark_read_with(&mut self, name: &str) {
        let named = |saying: &&Saying| matches!(&saying.event, Event::Instrument(card) if card.name == name);
        let lines: Vec<u64> = self.state.sayings.iter().filter(named).map(|saying| saying.line).collect();
        let mut tries = Vec::new();
        for (step, own) in self.state.steps.iter().enumerate() {
            for (at, attempt) in own.attempts.iter().enumerate() {
                if attempt.sheets.values().flatten().any(|sheet| lines.contains(&sheet.instrument.card)) {
                    tries.push((StepId(step), at));
                }
            }
        }
        tries.into_iter().for_each(|(step, at)| self.mark(step, at));
    }

    fn mark_corrected(&mut self, of: u64) {
        use super::state::EntryPlace;
        match self.state.places.get(&of) {
            Some(EntryPlace::Cell { step, attempt, .. } | EntryPlace::Again { step, attempt, .. }) => {
                self.mark(*step, *attempt);
            }
            // A fact may be used anywhere.
            Some(EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..)) => {}
            Some(EntryPlace::Fact(_)) => {
                (0..self.state.steps.len()).for_each(|it| self.mark_last(StepId(it)))
            }
            None => {}
        }
    }

    pub(super) fn settle_all(&mut self) {
        // Each event that is emitted here may mark more; steps use earlier results without a cycle, so it ends.
        while let Some((step, attempt)) = self.dirty.pop_first() {
            self.settle_seams(step, attempt);
            self.try_stops(step, attempt);
            self.try_ends(step, attempt);
            // What ended here is settled below, not once more.
            self.dirty.remove(&(step, attempt));
            self.settle_attempt(step, attempt);
            self.announce(step);
        }
    }

    /// `stop when` is tried at every entry, on what is known so far.
    fn try_stops(&mut self, step: StepId, attempt: usize) {
        let is_last = attempt + 1 == self.state.step(step).attempts.len();
        if !is_last || self.program.steps[step.0].stops.is_empty() {
            return;
        }
        // The rows before the latest have been tried, and none of them fired.
        let only_latest = self.latest == Some(step) && self.state.step(step).stop.is_none();
        let tail = if only_latest { self.tail_of_stops(step) } else { None };
        let view = View { tail, ..View::of(&self.program, &self.state, step, attempt) };
        let texts = judge::stops_now(&self.program, step, &view);
        let name = self.program.steps[step.0].name.clone();
        match (&self.state.step(step).stop, texts.first()) {
            (stop, Some(text)) if stop.as_ref().is_none_or(|stop| stop.attempt < attempt) => {
                let text = text.clone();
                self.say_stopped(&name, &text);
                self.derive(Event::Stopped { step: name, by_hand: false, text });
            }
            // A correction took the cause away. A further try lifts it only by passing.
            (Some(stop), None) if !stop.by_hand && stop.attempt == attempt => {
                self.say(Tone::Notice, format!("The stop of {name} is lifted: what fired it was corrected."));
                self.derive(Event::Cleared { step: name, because: self.cause.clone() });
            }
            _ => {}
        }
    }

    fn tail_of_stops(&self, step: StepId) -> Option<crate::quantity::Rational> {
        let mut widest = crate::quantity::ratio(0, 1);
        for (condition, _) in &self.program.steps[step.0].stops {
            widest = widest.max(super::tail::of(&self.program, condition)?);
        }
        Some(widest)
    }

    /// Whether the entry that was just made is the last of a set that was measured again.
    fn ends_a_further_set(&self, step: StepId, attempt: usize) -> bool {
        let last = self.state.last_entry.and_then(|line| self.state.places.get(&line));
        let Some(super::state::EntryPlace::Cell { step: of, attempt: at, value, sheet, .. }) = last else {
            return false;
        };
        let set =
            self.state.step(step).attempts.get(attempt).and_then(|it| it.sheets.get(value)?.get(*sheet));
        (*of, *at, self.latest) == (step, attempt, Some(step))
            && *sheet > 0
            && set.is_some_and(|set| set.is_full())
    }

    fn settle_attempt(&mut self, step: StepId, attempt: usize) {
        let Some(results) = self.recompute(step, attempt) else { return };
        let line = lines::judged_step(&self.program, &self.state, step, attempt, &results);
        let before = self.state.step(step).attempts.get(attempt).and_then(|it| it.recorded.clone());
        if before.as_ref() == Some(&line) {
            // Measured again, and it comes to the same: that is said, and is nothing new on the record.
            if self.ends_a_further_set(step, attempt) {
                let said = lines::results_said(&self.program, &self.state, step, attempt, &results);
                self.out.said.extend(said);
            }
            return;
        }
        let turned = before.as_ref().filter(|before| before.state != line.state).map(|it| it.state.clone());
        let now = line.state.clone();
        let name = lines::try_in_words(&self.program, &self.state, step, attempt);
        let said = lines::results_said(&self.program, &self.state, step, attempt, &results);
        self.derive(Event::Judged(line));
        self.out.said.extend(said);
        let is_over = lines::is_over(&self.state, step, attempt);
        let remedies = results.remedies.iter().filter(|_| !is_over);
        let advised: Vec<ValueId> = remedies.flat_map(|remedy| &remedy.advised).map(|(id, _)| *id).collect();
        for adjustment in advised {
            for words in self.did_before(adjustment) {
                self.say(Tone::Notice, words);
            }
        }
        if before.is_none() {
            self.say_obtained(step, attempt);
        }
        if let Some(was) = turned {
            self.say(Tone::Notice, format!("{name} was {was}, now {now}."));
        }
        self.flag_withdrawn(step, attempt, &results);
        self.lift_stop_of_passed(step, attempt, results.outcome);
    }

    /// A worked example asks for the uncertainties that it wants; on a walk all of them go on the record.
    fn effort(&self) -> Effort {
        if self.touched.is_some() { Effort::Shown } else { Effort::Decided }
    }

    /// Works a complete try out and keeps it; of an incomplete one nothing is kept.
    fn recompute(&mut self, step: StepId, attempt: usize) -> Option<Rc<StepResults>> {
        let own = self.state.step(step).attempts.get(attempt)?;
        let results = self.standing().is_complete(step, own).then(|| {
            let view = View::of(&self.program, &self.state, step, attempt);
            Rc::new(judge::judge(&self.program, step, &view, self.effort(), &self.kept))
        });
        self.state.steps.get_mut(step.0)?.attempts.get_mut(attempt)?.results = results.clone();
        results
    }

    /// Adjustments made on advice that no longer stands.
    fn flag_withdrawn(&mut self, step: StepId, attempt: usize, results: &StepResults) {
        let still_advised = |value: ValueId| {
            results.remedies.iter().flat_map(|remedy| &remedy.advised).any(|(advised, _)| *advised == value)
        };
        let attempts = &self.state.step(step).attempts;
        let from = attempts.get(attempt).map_or(0, |it| it.opened);
        let until = attempts.get(attempt + 1).map_or(u64::MAX, |it| it.opened);
        let withdrawn: Vec<(String, Option<String>)> =
            self.state
                .moves
                .iter()
                .filter(|it| it.step == step && it.sequence > from && it.sequence < until)
                .filter(|it| it.advised && !it.withdrawn && !it.justified)
                .filter_map(|it| Some((it.adjustment?, it)))
                .filter(|(value, _)| !still_advised(*value))
                .map(|(value, it)| {
                    let back = it.amount.as_ref().and_then(Cell::as_number).map(|amount| {
                        text::show(&-amount, self.program.values[value.0].unit, None, None, &[])
                    });
                    (self.program.values[value.0].name.clone(), back.filter(|_| it.stations.is_empty()))
                })
                .collect();
        let name = self.program.steps[step.0].name.clone();
        for (at, (adjustment, back)) in withdrawn.iter().enumerate() {
            let number = Some(attempt as u32 + 1);
            let (step_name, adjustment_name) = (name.clone(), adjustment.clone());
            self.derive(Event::Withdrawn { step: step_name, adjustment: adjustment_name, number });
            let stands = |it: &super::state::Move| it.step == step && it.is_on_withdrawn_advice();
            let is_said = withdrawn[..at].iter().any(|(said, _)| said == adjustment);
            if is_said || !self.state.moves.iter().any(stands) {
                continue;
            }
            let undo = match back {
                Some(back) => format!("move it back and type adjust {name}.{adjustment} = {back}"),
                None => "move it back and type what was moved".to_owned(),
            };
            self.say(
                Tone::NotWell,
                format!("{name}.{adjustment} was moved on advice that no longer stands: {undo}; or justify {name}.{adjustment} \"why\"."),
            );
        }
    }

    /// A new try that passes clears the stop of its step.
    fn lift_stop_of_passed(&mut self, step: StepId, attempt: usize, outcome: Outcome) {
        let own = self.state.step(step);
        let is_later = own.stop.as_ref().is_some_and(|stop| attempt > stop.attempt);
        if is_later && matches!(outcome, Outcome::Passed | Outcome::Recorded) {
            let name = self.program.steps[step.0].name.clone();
            self.say(Tone::Well, format!("The stop of {name} is cleared."));
            self.derive(Event::Cleared {
                step: name,
                because: format!("try {} {}", attempt + 1, outcome.words()),
            });
        }
    }

    /// Says on the record when a step went stale, or is no longer.
    fn announce(&mut self, step: StepId) {
        let own = self.state.step(step);
        if own.attempt().is_none_or(|attempt| attempt.recorded.is_none() || attempt.results.is_none()) {
            return;
        }
        let results = own.attempt().and_then(|attempt| attempt.results.as_ref());
        let Some(state) = results.map(|results| results.outcome.state()) else { return };
        let is_stale = self.standing().is_stale(step);
        let now = Stand { state, stale: is_stale }.to_string();
        let was = own.announced.clone();
        if was != now {
            let name = self.program.steps[step.0].name.clone();
            if is_stale && !Stand::parse(&was).is_some_and(|was| was.stale) {
                // The number of the line is for the record.
                let because =
                    if self.cause.starts_with("line ") { "an entry was corrected" } else { &self.cause };
                self.say(Tone::Notice, format!("{name} is now stale: {because}."));
            }
            self.derive(Event::Changed { step: name, was, now, because: self.cause.clone() });
        }
    }
}
