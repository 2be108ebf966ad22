//! What is answered to the clock of a series: its start, a row that is early, its end.

use num_traits::{Signed, ToPrimitive};

use crate::check::program::{StepId, ValueId};
use crate::quantity::Rational;

use super::answer::Taken;
use super::ask::Ask;
use super::machine::Machine;
use super::question::{Refusal, Tone};
use super::times;

impl Machine {
    /// Seconds until the question may change by the clock alone: the next row of a series is due, a wait is over.
    pub fn seconds_to_due(&self) -> Option<u64> {
        let left = match self.next_ask() {
            Ask::Wait(step, index) => {
                let (seconds, _) = &self.program.steps[step.0].waits[index];
                let gone = self.now?.as_second() - self.state.step(step).waiting?.since?.as_second();
                Some(seconds - Rational::from_integer(gone.into()))
            }
            _ => None,
        };
        let row = self.row_that_comes().and_then(|time| self.seconds_until(&time));
        let wait = left.and_then(|left| left.ceil().to_integer().to_u64());
        wait.into_iter().chain(row).filter(|seconds| *seconds > 0).min()
    }

    /// Enter starts the clock of a series.
    pub(super) fn answer_start(&mut self, step: StepId, reading: ValueId, typed: &str) -> Taken {
        if self.is_from_paper() {
            return self.answer_start_on_paper(step, reading, typed);
        }
        if !matches!(typed.to_lowercase().as_str(), "" | "yes" | "y" | "start") {
            return Err(Refusal::new("The clock of the series is not started yet.")
                .help("Enter alone starts it; then the first row is asked for."));
        }
        self.start_series(step, reading, None);
        Ok(())
    }

    /// Before a row is due: Enter looks at the clock again, values are taken as a row that is early.
    pub(super) fn answer_early(
        &mut self,
        step: StepId,
        reading: ValueId,
        due: &Rational,
        typed: &str,
    ) -> Taken {
        if !typed.is_empty() {
            return self.enter_typed(step, reading, 0, typed);
        }
        let sheet = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(reading));
        let left = sheet.and_then(|sheet| self.elapsed(sheet)).map(|now| due - now);
        if let Some(left) = left.filter(Signed::is_positive) {
            let text = format!("The next row is due at {}, in {}.", times::name(due), times::name(&left));
            self.say(Tone::Notice, text);
        }
        Ok(())
    }

    /// The time of a series has run out: it ends with the rows that were taken.
    pub(super) fn answer_over(&mut self, step: StepId, reading: ValueId, typed: &str) -> Taken {
        if !matches!(typed.to_lowercase().as_str(), "" | "yes" | "y") {
            return Err(Refusal::new("The time of the series is over: no further row belongs to it.")
                .help("Enter ends it with the rows that were taken."));
        }
        self.close_series(step, reading);
        Ok(())
    }
}
