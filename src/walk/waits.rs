//! Waits by the clock of the record, so that they go on while the walk is left. Whether what was waited for went on too,
//! a machine that warms up or glue that sets, nobody knows but the person, so it is asked when the walk is taken up again.

use crate::check::program::StepId;

use super::answer::Taken;
use super::event::Event;
use super::machine::Machine;
use super::preliminaries::in_words;
use super::question::{Expects, Question, Refusal, Tone};
use super::wording;

/// A wait that was begun and is not over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Waiting {
    pub since: Option<jiff::Timestamp>,
    /// The walk was left meanwhile.
    pub doubt: bool,
}

impl Machine {
    pub(super) fn wait_question(&self, step: StepId, index: usize) -> Question {
        let (seconds, words) = &self.program.steps[step.0].waits[index];
        let seconds = seconds.to_integer().try_into().unwrap_or(u64::MAX);
        let asked = i64::try_from(seconds).map(in_words).unwrap_or_default();
        let words = self.say_in(step, words);
        let waiting = self.state.step(step).waiting;
        let (ask, hint, expects) = match waiting {
            Some(waiting) if waiting.doubt && !self.is_from_paper() => (
                match waiting.since > self.now {
                    true => format!(
                        "{words}: begun, {asked} are asked, and the walk was left meanwhile. How long ago that was nobody can say: \
                         the clock was set back. Did it go on undisturbed?"
                    ),
                    false => format!(
                        "{words}: begun {} ago, {asked} are asked, and the walk was left meanwhile. Did it go on undisturbed?",
                        in_words(self.waited(&waiting).unwrap_or(0))
                    ),
                },
                "yes, or no to begin the wait again".to_owned(),
                Expects::YesNo,
            ),
            Some(_) => {
                let hint = match self.seconds_to_due().map(i64::try_from) {
                    Some(Ok(left)) => format!("{} left by the clock. Enter when it is over.", in_words(left)),
                    _ => "The time is over: Enter goes on.".to_owned(),
                };
                (format!("Wait: {words}"), hint, Expects::Wait { seconds })
            }
            None => {
                let hint = format!("{asked} by the clock. Enter begins it.");
                (format!("Wait: {words}"), hint, Expects::Wait { seconds })
            }
        };
        Question { place: self.place(step, None), ask, hints: vec![hint], expects }
    }

    fn waited(&self, waiting: &Waiting) -> Option<i64> {
        Some((self.now?.as_second() - waiting.since?.as_second()).max(0))
    }

    pub(super) fn answer_wait(&mut self, step: StepId, index: usize, typed: &str) -> Taken {
        let (seconds, words) = &self.program.steps[step.0].waits[index];
        let (seconds, words) = (seconds.to_integer().try_into().unwrap_or(i64::MAX), wording::plain(words));
        let name = self.name_of(step);
        if self.is_from_paper() {
            return self.answer_wait_on_paper(step, words, seconds, typed);
        }
        let Some(waiting) = self.state.step(step).waiting else {
            self.emit(Event::WaitStarted { step: name, text: words, at: None });
            return Ok(());
        };
        if waiting.doubt {
            return self.answer_whether_it_went_on(step, &words, typed);
        }
        let gone = self.waited(&waiting).unwrap_or(i64::MAX);
        if gone < seconds {
            return Err(Refusal::new(format!("{} of {} are over.", in_words(gone), in_words(seconds)))
                .help("Enter again when the time is over. Meanwhile another step may be taken: take STEP"));
        }
        self.emit(Event::WaitDone { step: name, text: words, at: None });
        Ok(())
    }

    fn answer_whether_it_went_on(&mut self, step: StepId, words: &str, typed: &str) -> Taken {
        let name = self.name_of(step);
        match typed.to_lowercase().as_str() {
            "yes" | "y" => {
                self.say(Tone::Notice, "The wait goes on.");
                let text = format!("{words}: went on undisturbed while the walk was left");
                if let Some(waiting) = self.state.steps[step.0].waiting.as_mut() {
                    waiting.doubt = false;
                }
                self.emit(Event::Noted { step: Some(name), text });
                Ok(())
            }
            "no" | "n" => {
                self.say(Tone::Notice, "The wait begins again.");
                self.emit(Event::WaitStarted { step: name, text: words.to_owned(), at: None });
                Ok(())
            }
            _ => Err(Refusal::new("Nobody knows but you.").help("Type yes or no. If you are not sure: no.")),
        }
    }
}
