//! How each step and the whole walk stand: states, what is blocked or stale, what may be begun, the verdict.
//!
//! Everything here is worked out from the state; nothing is stored. Only passed, and not stale, ever counts as a pass.

use std::collections::HashSet;

use crate::check::program::{
    Crosscheck, CrosscheckId, Expr, Item, Need, NeedKind, Program, StateWord, StepId, ValueId, WalkVerdict,
};

use super::directory::{item_value, only_when, series_of};
use super::eval::Evaluator;
use super::judge;
use super::stand::Stand;
use super::state::{Attempt, Sheet, State};
use super::value::{Cell, Scalar};
use super::verdict::{Agreement, Outcome};
use super::view::View;

#[derive(Debug)]
pub struct Standing<'a> {
    pub program: &'a Program,
    pub state: &'a State,
    /// In a worked example: the steps that it touches. What it does not touch counts as met.
    pub touched: Option<&'a HashSet<StepId>>,
}

impl Standing<'_> {
    /// Yes, no, or not known yet, of a condition as the walk stands.
    pub fn holds(&self, condition: &Expr) -> Option<bool> {
        truth(condition, &View::latest(self.program, self.state), self.program)
    }

    /// The first state that holds, in the order of the language's description; staleness stands beside it.
    pub fn state_of(&self, step: StepId) -> StateWord {
        let definition = &self.program.steps[step.0];
        let own = self.state.step(step);
        let applies = definition.only_when.as_ref().map(|condition| self.holds(condition));
        if applies == Some(Some(false)) {
            return StateWord::NotApplicable;
        }
        if own.skipped.is_some() {
            return StateWord::Skipped;
        }
        if own.waived.is_some() {
            return StateWord::Waived;
        }
        // A further try after the cause was seen to is a try like any other; the stop stands until it passes.
        if own.stop.as_ref().is_some_and(|stop| own.attempts.len() <= stop.attempt + 1) {
            return StateWord::Stopped;
        }
        let outcome = own.attempt().map(|attempt| self.outcome(step, attempt));
        let finished = outcome.is_some_and(|outcome| outcome != Outcome::NotReached);
        if definition.powered && !finished && self.stop_elsewhere(step).is_some() {
            return StateWord::Blocked;
        }
        match outcome {
            _ if applies == Some(None) && !finished => StateWord::ToDo,
            None => StateWord::ToDo,
            Some(outcome) => outcome.state(),
        }
    }

    fn outcome(&self, step: StepId, attempt: &Attempt) -> Outcome {
        match &attempt.results {
            Some(results) if self.is_complete(step, attempt) => results.outcome,
            _ => Outcome::NotReached,
        }
    }

    /// Another step whose stop is in force.
    pub fn stop_elsewhere(&self, step: StepId) -> Option<StepId> {
        let stopped =
            |(index, own): (usize, &super::state::StepState)| own.stop.as_ref().map(|_| StepId(index));
        self.state.steps.iter().enumerate().filter_map(stopped).find(|it| *it != step)
    }

    /// All that a try asks for has been answered.
    pub fn is_complete(&self, step: StepId, attempt: &Attempt) -> bool {
        self.program.steps[step.0].items.iter().all(|item| self.is_answered(step, attempt, item))
    }

    pub fn is_answered(&self, step: StepId, attempt: &Attempt, item: &Item) -> bool {
        let Some(value) = item_value(item) else {
            return attempt.defects_listed || (self.touched.is_some() && !attempt.defects_open);
        };
        let series = series_of(self.program, value).map(|(reading, _)| reading);
        if let Some(reading) = series.filter(|reading| *reading != value) {
            let over = |value| {
                attempt
                    .sheet(value)
                    .is_some_and(|sheet| sheet.run.as_ref().is_some_and(|run| run.ended.is_some()))
            };
            let is_over = over(reading) || self.is_answered(step, attempt, &Item::Reading(reading));
            return is_over
                && (attempt.sheet(value).is_none_or(Sheet::has_all) || !self.is_asked(step, attempt, value));
        }
        if let Some(sheet) = attempt.sheet(value) {
            return sheet.is_full();
        }
        !self.is_asked(step, attempt, value)
    }

    /// Whether a question applies, as far as it is known.
    fn is_asked(&self, step: StepId, attempt: &Attempt, value: ValueId) -> bool {
        match only_when(self.program, value) {
            Some(condition) => {
                let index = (attempt.number as usize).saturating_sub(1);
                let view = View::of(self.program, self.state, step, index);
                truth(condition, &view, self.program) != Some(false)
            }
            None => true,
        }
    }

    /// Another step whose series is running.
    pub fn series_elsewhere(&self, step: StepId) -> Option<StepId> {
        let running = self.state.running.iter().map(|(running, _)| *running);
        running.filter(|it| *it != step).find(|it| self.state_of(*it) == StateWord::NotReached)
    }

    /// Something it rests on was altered since its last try.
    pub fn is_stale(&self, step: StepId) -> bool {
        self.state.step(step).unsettled
    }

    pub fn stand_of(&self, step: StepId) -> Stand {
        use StateWord::{Fails, Invalid, Passes, Recorded, Undecided};
        let state = self.state_of(step);
        let may_be_stale = matches!(state, Invalid | Fails | Undecided | Passes | Recorded);
        Stand { state, stale: may_be_stale && self.is_stale(step) }
    }

    pub fn counts_as_passed(&self, step: StepId) -> bool {
        match self.state_of(step) {
            StateWord::NotApplicable => true,
            StateWord::Passes => !self.is_stale(step),
            _ => false,
        }
    }

    pub fn is_done(&self, step: StepId) -> bool {
        use StateWord::{
            Fails, Invalid, NotApplicable, Passes, Recorded, Skipped, Stopped, Undecided, Waived,
        };
        matches!(
            self.state_of(step),
            NotApplicable | Skipped | Waived | Passes | Fails | Undecided | Recorded | Invalid | Stopped
        )
    }

    /// Needs of a step that are not met, for its try with this index.
    pub fn unmet(&self, step: StepId, attempt: usize) -> Vec<Need> {
        let is_met = |need: &Need| {
            if self.touched.is_some_and(|touched| !touched.contains(&need.step)) {
                return true;
            }
            match need.kind {
                NeedKind::Done => self.is_done(need.step),
                NeedKind::PassedBeforeAdjusting if attempt == 0 => true,
                NeedKind::Passed | NeedKind::PassedBeforeAdjusting => self.counts_as_passed(need.step),
            }
        };
        self.program.steps[step.0].needs.iter().filter(|need| !is_met(need)).copied().collect()
    }

    /// Why a step cannot be taken now, in words; None if it can. `attempt` is the index of the try meant.
    pub fn why_not(&self, step: StepId, attempt: usize) -> Option<String> {
        let definition = &self.program.steps[step.0];
        let name = &definition.name;
        if definition.only_when.as_ref().is_some_and(|condition| self.holds(condition) == Some(false)) {
            return Some(format!("{name} does not apply to this machine."));
        }
        let stopped = if definition.powered { self.stop_elsewhere(step) } else { None };
        if let Some(stopped) = stopped {
            let by = &self.program.steps[stopped.0].name;
            let text =
                self.state.step(stopped).stop.as_ref().map(|stop| stop.text.clone()).unwrap_or_default();
            return Some(format!("{name} runs the machine, and {by} was stopped: {text}"));
        }
        if let Some(running) = self.series_elsewhere(step).filter(|_| definition.powered) {
            let by = &self.program.steps[running.0].name;
            return Some(format!("{name} runs the machine, and the series of {by} is not over yet."));
        }
        let unmet = self.unmet(step, attempt);
        let list: Vec<String> = unmet
            .iter()
            .map(|need| {
                let other = &self.program.steps[need.step.0].name;
                let kind = if need.kind == NeedKind::Done { "done" } else { "passed" };
                format!("{other} {kind} ({other}: {})", self.stand_of(need.step))
            })
            .collect();
        (!list.is_empty()).then(|| format!("{name} needs {}.", list.join(" and ")))
    }

    pub fn crosscheck(&self, crosscheck: CrosscheckId) -> Agreement {
        let it: &Crosscheck = &self.program.crosschecks[crosscheck.0];
        if it.steps.iter().any(|step| self.is_stale(*step)) {
            return Agreement::Waiting;
        }
        judge::crosscheck(self.program, crosscheck, &View::latest(self.program, self.state)).agreement
    }

    /// Results that do not agree, and the step among those compared that a party accepts or that was left out.
    fn disagreements(&self) -> impl Iterator<Item = (CrosscheckId, Option<StepId>)> {
        let ids = (0..self.program.crosschecks.len()).map(CrosscheckId);
        let apart = ids.filter(|id| self.crosscheck(*id) == Agreement::LookAgain);
        let is_left = |step: &StepId| matches!(self.state_of(*step), StateWord::Waived | StateWord::Skipped);
        apart.map(move |id| (id, self.program.crosschecks[id.0].steps.iter().copied().find(is_left)))
    }

    /// Results that do not agree, of steps that all count.
    pub fn apart(&self) -> Vec<CrosscheckId> {
        self.disagreements().filter(|(_, left)| left.is_none()).map(|(it, _)| it).collect()
    }

    // -------------------------------------------------------------------------------------------- the whole walk

    fn steps(&self) -> impl Iterator<Item = StepId> {
        (0..self.program.steps.len()).map(StepId)
    }

    /// Steps that are still to be done or gone on with, and what has been left open otherwise.
    pub fn open(&self) -> Vec<String> {
        let mut open = Vec::new();
        for step in self.steps() {
            let definition = &self.program.steps[step.0];
            let state = self.state_of(step);
            let is_open = match state {
                StateWord::ToDo => !definition.optional,
                StateWord::NotReached | StateWord::Invalid => true,
                _ => false,
            };
            if is_open {
                let attempt = self.state.step(step).attempts.len().saturating_sub(1);
                let why = self
                    .why_not(step, attempt)
                    .map(|why| format!(": {}", why.trim_end_matches('.')))
                    .unwrap_or_default();
                let stand = Stand { state, stale: false }.in_words();
                open.push(format!("{} {}: {stand}{why}", definition.name, title(definition)));
            }
        }
        open.extend(self.state.unconfirmed());
        open.extend(self.apart().iter().map(|it| {
            let it = &self.program.crosschecks[it.0];
            format!("{}: look again ({})", it.name, super::wording::plain(&it.why))
        }));
        open
    }

    pub fn stale(&self) -> Vec<String> {
        self.steps()
            .filter(|step| self.stand_of(*step).stale)
            .map(|step| {
                let definition = &self.program.steps[step.0];
                format!("{} {}: {}", definition.name, title(definition), self.stand_of(step))
            })
            .collect()
    }

    /// All that a reader of "accepted" must be told beside it.
    pub fn exceptions(&self) -> Vec<String> {
        let mut exceptions = Vec::new();
        for step in self.steps() {
            let definition = &self.program.steps[step.0];
            let own = self.state.step(step);
            match self.state_of(step) {
                StateWord::Skipped if !definition.optional => {
                    let reason = own.skipped.as_deref().unwrap_or_default();
                    exceptions.push(format!("{} {}: skipped: {reason}", definition.name, title(definition)));
                }
                StateWord::Waived => {
                    let reason = own.waived.as_deref().unwrap_or_default();
                    exceptions.push(format!("{} {}: waived: {reason}", definition.name, title(definition)));
                }
                _ => {}
            }
        }
        exceptions.extend(self.disagreements().filter_map(|(it, left)| {
            let (step, stand) = left.map(|step| (&self.program.steps[step.0].name, self.state_of(step)))?;
            Some(format!("{}: look again; {step} is {}", self.program.crosschecks[it.0].name, stand.words()))
        }));
        exceptions.extend(self.state.defects.iter().filter(|defect| defect.mended.is_none()).map(|defect| {
            match &defect.accepted {
                Some(by) => format!("defect {}: {}: accepted by {by}", defect.number, defect.in_words()),
                None => format!("defect {}: {}: open", defect.number, defect.in_words()),
            }
        }));
        for card in self.state.cards().filter(|card| card.is_expired()) {
            let until = card.said.calibrated_until.as_deref().unwrap_or_default();
            let (name, number) = (&card.said.name, &card.said.number);
            exceptions.push(format!("{name} {number}: calibrated until {until}, past its date"));
        }
        exceptions.extend(self.state.kept.iter().map(|kept| {
            let of = kept.step.map_or("serial", |step| self.program.steps[step.0].name.as_str());
            format!("{of}: {}; kept: {}", kept.query, kept.reason)
        }));
        let flagged = self.state.moves.iter().filter(|it| it.is_on_withdrawn_advice());
        exceptions.extend(flagged.map(|it| {
            let name = it.adjustment.map_or("", |it| self.program.values[it.0].name.as_str());
            let at = if it.stations.is_empty() {
                String::new()
            } else {
                format!(" at {}", it.stations.join(", "))
            };
            format!(
                "{}.{name}{at}: adjusted on advice that a correction withdrew",
                self.program.steps[it.step.0].name
            )
        }));
        exceptions
    }

    pub fn verdict(&self) -> WalkVerdict {
        self.verdict_when(self.state.closed.is_some())
    }

    /// What it comes to with nothing more done.
    pub fn verdict_if_closed(&self) -> WalkVerdict {
        self.verdict_when(true)
    }

    fn verdict_when(&self, is_closed: bool) -> WalkVerdict {
        use StateWord::{Blocked, Fails, Invalid, NotReached, Stopped, ToDo, Undecided};
        let stands: Vec<(Stand, bool)> =
            self.steps().map(|step| (self.stand_of(step), self.program.steps[step.0].optional)).collect();
        if stands.iter().any(|(it, _)| matches!(it.state, Fails | Stopped | Undecided | Blocked)) {
            return WalkVerdict::NotAccepted;
        }
        let unfinished = stands.iter().any(|(it, optional)| {
            it.stale || matches!(it.state, NotReached | Invalid) || (it.state == ToDo && !optional)
        });
        if unfinished {
            return WalkVerdict::Unfinished;
        }
        if !self.apart().is_empty() {
            // To look again is all that is left to do; where that was done and nothing came of it, nobody accepts it.
            return if is_closed { WalkVerdict::NotAccepted } else { WalkVerdict::Unfinished };
        }
        match self.exceptions().is_empty() {
            true => WalkVerdict::Accepted,
            false => WalkVerdict::AcceptedWithExceptions,
        }
    }
}

fn title(step: &crate::check::program::Step) -> String {
    super::wording::plain(&step.title)
}

pub fn truth(condition: &Expr, view: &View, program: &Program) -> Option<bool> {
    match Evaluator::new(program, view).expr(condition).as_single() {
        Cell::Known(Scalar::YesNo(answer)) => Some(answer),
        _ => None,
    }
}
