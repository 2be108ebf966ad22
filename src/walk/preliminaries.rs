//! Answers that are no readings: facts and photographs.

use crate::check::program::{Role, ValueId};
use crate::quantity::Real;

use super::answer::Taken;
use super::entry::understand;
use super::eval::Evaluator;
use super::event::Event;
use super::machine::{Dialog, Machine, Reply};
use super::question::{Refusal, Tone};
use super::value::{Cell, Scalar};
use super::view::View;

impl Machine {
    pub(super) fn answer_fact(&mut self, fact: ValueId, typed: &str) -> Taken {
        let before = typed.is_empty().then(|| self.typed_before(fact)).flatten();
        let typed = before.as_deref().unwrap_or(typed);
        let understood = understand(typed, &self.asked(fact))?;
        self.check_bounds(fact, &understood.cell)?;
        if let Some(before) = self.other_machine(fact, &understood.cell) {
            self.dialog = Some(Dialog::OtherMachine { typed: understood.answer.value, before });
            return Ok(());
        }
        let echo = self.said_back(fact, &[], &understood);
        self.say(Tone::Echo, echo);
        let name = self.program.values[fact.0].name.clone();
        self.emit(Event::Fact { name, answer: understood.answer });
        Ok(())
    }

    /// What a fact or an observation may be, where the procedure says so and it is known.
    pub(super) fn bounds_of(&self, value: ValueId) -> Option<(Real, Real)> {
        let (Role::Fact { bounds } | Role::Observation { bounds, .. }) = &self.program.values[value.0].role
        else {
            return None;
        };
        let (from, to) = bounds.as_ref()?;
        let view = View::latest(&self.program, &self.state);
        let evaluator = Evaluator::new(&self.program, &view);
        let bound = |expr| match evaluator.expr(expr).as_single() {
            Cell::Known(Scalar::Number(bound)) => Some(bound),
            _ => None,
        };
        Some((bound(from)?, bound(to)?))
    }

    /// Outside the bounds of a fact the procedure is not for that machine; of an observation it cannot be.
    pub(super) fn check_bounds(&self, value: ValueId, cell: &Cell) -> Taken {
        let what = match &self.program.values[value.0].role {
            Role::Fact { .. } => "This procedure is not for that machine",
            _ => "That cannot be",
        };
        let (Some((from, to)), Cell::Known(Scalar::Number(number))) = (self.bounds_of(value), cell) else {
            return Ok(());
        };
        if number.is_at_least(&from) && number.is_at_most(&to) {
            return Ok(());
        }
        let show = |it| self.echo(value, &[], &Cell::number(it));
        Err(Refusal::new(format!(
            "{what}: {} is not from {} to {}.",
            show(number.clone()),
            show(from),
            show(to)
        )))
    }

    /// The digest of a photograph that the console has read, as the answer to the question that stands.
    pub fn photo(&mut self, file: &str, sha256: &str) -> Result<Reply, Refusal> {
        self.answer_with_photo(file, sha256)
    }
}

/// A time as it is waited for: `40 s`, `3 min`, `1 min 20 s`.
pub(super) fn in_words(seconds: i64) -> String {
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}
