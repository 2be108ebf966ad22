//! What is answered before and beside the readings of a step: instruments, waits, the clock of a series, defects.

use crate::check::program::{InstrumentId, StepId, ValueId};
use crate::quantity::Rational;

use super::answer::Taken;
use super::entry;
use super::event::Event;
use super::fold::DEFECTS;
use super::machine::Machine;
use super::question::{Refusal, Tone};
use super::times;
use super::wording;

impl Machine {
    pub(super) fn answer_instrument(&mut self, instrument: InstrumentId, typed: &str) -> Taken {
        let (number, date) = match typed.rsplit_once(',') {
            Some((number, date)) => (number.trim(), Some(date.trim())),
            None => (typed, None),
        };
        if number.is_empty() {
            return Err(Refusal::new("Nothing was typed.").help("Type its number, such as DI-07."));
        }
        let date = match date.map(str::parse::<jiff::civil::Date>) {
            None => None,
            Some(Ok(date)) => Some(date),
            Some(Err(_)) => {
                return Err(Refusal::new("What stands behind the comma is not a date.")
                    .help("Type it as year-month-day: DI-07, 2027-03-01"));
            }
        };
        let it = &self.program.instruments[instrument.0];
        let resolution =
            self.state.resolutions.get(&instrument).or(it.resolution.as_ref()).map(wording::literal);
        let uncertainty = it.uncertainties.iter().map(wording::uncertainty).collect();
        let event = Event::Instrument {
            name: it.name.clone(),
            number: number.to_owned(),
            calibrated_until: date.map(|date| date.to_string()),
            resolution,
            uncertainty,
        };
        self.emit(event);
        if self.state.instruments.get(&instrument).is_some_and(|card| card.expired) {
            self.say(Tone::NotWell, "It is past its date: that stands as an exception on the record.");
        }
        Ok(())
    }

    pub(super) fn answer_wait(&mut self, step: StepId, index: usize) -> Taken {
        let (seconds, words) = &self.program.steps[step.0].waits[index];
        let (seconds, words) = (seconds.to_integer().try_into().unwrap_or(i64::MAX), wording::plain(words));
        let name = self.name_of(step);
        let Some(since) = self.wait_since else {
            self.emit(Event::WaitStarted { step: name, text: words });
            return Ok(());
        };
        let gone = self.now.map_or(i64::MAX, |now| now.as_second() - since.as_second());
        if gone < seconds {
            return Err(Refusal::new(format!("{} min of {} min are over.", gone / 60, seconds / 60))
                .help("Enter again when the time is over."));
        }
        self.emit(Event::WaitDone { step: name, text: words });
        Ok(())
    }

    pub(super) fn answer_defects(&mut self, step: StepId, typed: &str) -> Taken {
        let lower = typed.to_lowercase();
        if matches!(lower.as_str(), "" | "none" | "done" | "no") {
            let numbers = self.state.defects.iter().filter(|it| it.step == Some(step));
            let items = numbers.map(|it| it.number.to_string()).collect();
            self.ensure_opened(step);
            let step = self.name_of(step);
            self.emit(Event::Listed { step, axis: DEFECTS.to_owned(), items });
            return Ok(());
        }
        self.ensure_opened(step);
        self.note_defect(Some(step), entry::unquoted(typed));
        Ok(())
    }

    /// Enter starts the clock of a series.
    pub(super) fn answer_start(&mut self, step: StepId, reading: ValueId, typed: &str) -> Taken {
        if !matches!(typed.to_lowercase().as_str(), "" | "yes" | "y" | "start") {
            return Err(Refusal::new("The clock of the series is not started yet.")
                .help("Enter alone starts it; then the first row is asked for."));
        }
        self.start_series(step, reading);
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
        let now =
            self.state.step(step).attempt().and_then(|it| it.sheet(reading)).and_then(|it| self.elapsed(it));
        let left = now.map(|now| times::name(&(due - now))).unwrap_or_default();
        self.say(Tone::Notice, format!("The next row is due at {}, in {left}.", times::name(due)));
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
