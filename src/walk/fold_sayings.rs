//! What was said beside the entries, kept so that it can be put right; and what a correction of it changes.

use std::collections::HashSet;

use crate::check::program::{SaidKind, SaidPart, StepId};

use super::event::{Alteration, Event};
use super::fold::Fold;
use super::sayings::{self, PutRight, Saying, Was};

impl Fold<'_> {
    /// Counts what an event says.
    pub(super) fn said(&mut self, event: &Event, sequence: u64) {
        let Some(kind) = sayings::kind_of(event) else { return };
        let of_kind = self.state.sayings.iter().filter(|it| it.kind == kind).count() as u32;
        self.state.sayings.push(Saying {
            kind,
            number: sayings::number_of(event).unwrap_or(of_kind + 1),
            line: sequence,
            event: event.clone(),
            was: Vec::new(),
            never: None,
        });
        // Which instrument it is, is an answer: `back` finds it among the entries, and what was corrected where that stands.
        if !matches!(kind, SaidKind::Instrument | SaidKind::Correction | SaidKind::Room) {
            self.state.last_said = Some((sequence, sequence));
        }
    }

    pub(super) fn put_right(&mut self, by: &PutRight, sequence: u64) {
        let Some(at) = self.state.sayings.iter().position(|it| it.line == by.of) else { return };
        self.state.last_said = Some((sequence, by.of));
        let Some(saying) = self.state.sayings.get_mut(at) else { return };
        let old = saying.event.clone();
        let text = sayings::was(&old, by);
        if by.part == SaidPart::Whole {
            saying.never = Some(sequence);
        } else {
            saying.never = None;
            saying.was.push(Was { part: by.part, text, reason: by.reason.clone(), by: sequence });
        }
        saying.event = sayings::put_right(&old, by);
        let new = saying.event.clone();
        match (&old, &new) {
            (Event::Adjusted(old), Event::Adjusted(new)) => self.moved_otherwise(by, old, new),
            (Event::Instrument(old), Event::Instrument(new)) => self.card_otherwise(by.of, old, new),
            _ => self.said_otherwise(by.of, &old, &new),
        }
    }

    /// Wherever the state holds those words too.
    fn said_otherwise(&mut self, line: u64, old: &Event, new: &Event) {
        let is_latest = self.is_latest_of_its_step(line, new);
        match new {
            Event::Noted { text, .. } => {
                let at = self.notes_before(line);
                if let Some(note) = self.state.notes.get_mut(at) {
                    note.clone_from(text);
                }
            }
            Event::Defect { number, text, photo, .. } => self.with_defect(*number, |defect| {
                defect.text.clone_from(text);
                defect.photo = photo.as_ref().map(|photo| photo.value.clone());
            }),
            Event::Mended { number, text } => self.with_defect(*number, |defect| {
                if let Some((words, _)) = &mut defect.mended {
                    words.clone_from(text);
                }
            }),
            Event::Accepted { number, .. } => {
                let by = accepted_by(new);
                self.with_defect(*number, |defect| defect.accepted = by.clone());
            }
            Event::Skipped { step, reason } if is_latest => self.with_step(step, |state, step| {
                let own = &mut state.steps[step.0].skipped;
                *own = own.as_ref().map(|_| reason.clone());
            }),
            Event::Waived { step, reason, party, name } if is_latest => {
                self.with_step(step, |state, step| {
                    state.steps[step.0].waived = Some(format!("{reason} ({name}, {party})"));
                });
            }
            Event::Held { step, party, name, .. } => {
                let Event::Held { name: before, .. } = old else { return };
                self.with_step(step, |state, step| {
                    let held = &mut state.steps[step.0].held;
                    if let Some(own) = held.iter_mut().rfind(|own| own.0 == *party && own.1 == *before) {
                        own.1.clone_from(name);
                    }
                });
            }
            Event::Performed { step, name, .. } => {
                let Event::Performed { name: before, .. } = old else { return };
                self.with_step(step, |state, step| {
                    let own = state.steps[step.0].performed.iter_mut().rfind(|own| *own == before);
                    if let Some(own) = own {
                        own.clone_from(name);
                    }
                });
            }
            Event::Person { role, name } => {
                let Event::Person { name: before, .. } = old else { return };
                if self.state.people.get(role) == Some(before) {
                    self.state.people.insert(role.clone(), name.clone());
                }
            }
            Event::Corrected { answer: None, reason, .. } => self.not_read_because(line, reason),
            Event::Paused { temperature, .. } | Event::Resumed { temperature, .. } => {
                self.room_otherwise(line, temperature.as_ref());
            }
            Event::Stopped { step, text, .. } => self.with_step(step, |state, step| {
                if let Some(stop) = state.steps[step.0].stop.as_mut().filter(|stop| stop.sequence == line) {
                    stop.text.clone_from(text);
                }
            }),
            Event::Kept { of, query, reason } => {
                let kept = self.state.kept.iter_mut().find(|kept| kept.of == *of && kept.query == *query);
                if let Some(kept) = kept {
                    kept.reason.clone_from(reason);
                }
            }
            _ => {}
        }
    }

    fn notes_before(&self, line: u64) -> usize {
        let notes = self.state.sayings.iter().filter(|it| it.kind == SaidKind::Note);
        notes.take_while(|it| it.line < line).count()
    }

    fn is_latest_of_its_step(&self, line: u64, event: &Event) -> bool {
        let step_of = |event: &Event| match event {
            Event::Skipped { step, .. } | Event::Waived { step, .. } => Some(step.clone()),
            _ => None,
        };
        let kind = sayings::kind_of(event);
        let later = self.state.sayings.iter().rev().take_while(|it| it.line > line);
        !later.into_iter().any(|it| Some(it.kind) == kind && step_of(&it.event) == step_of(event))
    }

    /// A move that was other than it was said, or never was: what it left to be taken again is found anew.
    fn moved_otherwise(&mut self, by: &PutRight, old: &Alteration, new: &Alteration) {
        let struck = by.now.is_none();
        let moves = &mut self.state.moves;
        let kept = moves.iter().position(|it| it.sequence == by.of);
        match (kept, struck) {
            (Some(at), true) => {
                let gone = moves.remove(at);
                self.state.never_made.push(gone);
            }
            (_, true) => {}
            (kept, false) => {
                let never = self.state.never_made.iter().position(|it| it.sequence == by.of);
                let before = match (kept, never) {
                    (Some(at), _) => self.state.moves.remove(at),
                    (None, Some(at)) => self.state.never_made.remove(at),
                    (None, None) => return,
                };
                let Some(mut moved) = self.a_move(new, by.of) else { return };
                // Advice was taken or not for what was really moved.
                if moved.adjustment == before.adjustment {
                    (moved.withdrawn, moved.justified) = (before.withdrawn, before.justified);
                }
                let at = self.state.moves.partition_point(|it| it.sequence < by.of);
                self.state.moves.insert(at, moved);
            }
        }
        self.mark_undone();
        let steps: Vec<StepId> =
            [&old.step, &new.step].into_iter().filter_map(|name| self.directory.step(name)).collect();
        self.unsettled_anew(&steps);
    }

    /// Whether a step was altered since its last try follows from the moves that were made.
    fn unsettled_anew(&mut self, steps: &[StepId]) {
        let reached: HashSet<StepId> = steps.iter().flat_map(|step| self.left_to_retake(*step)).collect();
        let reach: Vec<(u64, Vec<StepId>)> =
            self.state.moves.iter().map(|it| (it.sequence, self.left_to_retake(it.step))).collect();
        self.state.last_unsettled =
            (0..self.state.steps.len()).map(StepId).filter(|it| reached.contains(it)).collect();
        for step in self.state.last_unsettled.clone() {
            let own = &mut self.state.steps[step.0];
            let last = own.attempts.last().map(|attempt| attempt.opened);
            own.unsettled = last
                .is_some_and(|last| reach.iter().any(|(line, steps)| *line > last && steps.contains(&step)));
            let defects = &self.state.defects;
            if let Some(stop) = own.stop.as_mut() {
                let moves = self.state.moves.iter().filter(|it| it.step == step).map(|it| it.sequence);
                let mended = defects.iter().filter_map(|it| it.mended.as_ref()).map(|(_, line)| *line);
                stop.attended = moves.chain(mended).any(|line| line > stop.sequence);
            }
        }
    }
}

/// By whom, and why.
pub(super) fn accepted_by(event: &Event) -> Option<String> {
    let Event::Accepted { party, name, reason, .. } = event else { return None };
    let reason = reason.as_ref().map(|reason| format!(": {reason}")).unwrap_or_default();
    Some(format!("{name}, {party}{reason}"))
}
