//! Answers that are no readings: facts, which instrument it is, waits by the clock, and lists of defects.

use crate::check::program::{InstrumentId, Role, StepId, ValueId};
use crate::quantity::Real;

use super::answer::Taken;
use super::entry::{self, understand};
use super::eval::Evaluator;
use super::event::Event;
use super::fold::DEFECTS;
use super::machine::Machine;
use super::question::{Refusal, Tone};
use super::value::{Cell, Scalar};
use super::view::View;
use super::wording;

impl Machine {
    pub(super) fn answer_fact(&mut self, fact: ValueId, typed: &str) -> Taken {
        let understood = understand(typed, &self.asked(fact))?;
        self.check_bounds(fact, &understood.cell)?;
        let echo = self.echo(fact, &[], &understood.cell);
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

    pub(super) fn answer_instrument(&mut self, instrument: InstrumentId, typed: &str) -> Taken {
        let is_date = |text: &str| text.trim().parse::<jiff::civil::Date>().is_ok();
        let (number, date) = match (typed.rsplit_once(','), typed.rsplit_once(char::is_whitespace)) {
            (Some((number, date)), _) => (number.trim(), Some(date.trim())),
            // The comma was left out.
            (None, Some((number, date))) if is_date(date) => (number.trim(), Some(date)),
            _ => (typed, None),
        };
        if number.is_empty() {
            return Err(Refusal::new("Nothing was typed.").help("Type its number, such as DI-07."));
        }
        if entry::looks_like_a_reading(number) {
            return Err(Refusal::new(format!(
                "\"{number}\" looks like a reading, and the instrument is asked for."
            ))
            .help("Type its number first, such as DI-07. If that is its number, put it in quotes."));
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
        let known = self.state.properties.get(&instrument).cloned().unwrap_or_default();
        let resolution = known.resolution.as_ref().or(it.resolution.as_ref()).map(wording::literal);
        let uncertainty = wording::stated(it, &known).map(wording::uncertainty).collect();
        let event = Event::Instrument {
            name: it.name.clone(),
            number: entry::unquoted(number),
            calibrated_until: date.map(|date| date.to_string()),
            resolution,
            uncertainty,
        };
        let until =
            date.map_or_else(|| "no date given".to_owned(), |date| format!("calibrated until {date}"));
        self.say(Tone::Echo, format!("{number}, {until}"));
        self.emit(event);
        if self.state.instruments.get(&instrument).is_some_and(|card| card.expired) {
            self.say(Tone::NotWell, "It is past its date: that stands as an exception on the record.");
        }
        Ok(())
    }

    pub(super) fn answer_wait(&mut self, step: StepId, index: usize, typed: &str) -> Taken {
        let (seconds, words) = &self.program.steps[step.0].waits[index];
        let (seconds, words) = (seconds.to_integer().try_into().unwrap_or(i64::MAX), wording::plain(words));
        let name = self.name_of(step);
        if self.is_from_paper() {
            return self.answer_wait_on_paper(step, words, seconds, typed);
        }
        let Some(since) = self.wait_since else {
            self.emit(Event::WaitStarted { step: name, text: words, at: None });
            return Ok(());
        };
        let gone = self.now.map_or(i64::MAX, |now| now.as_second() - since.as_second());
        if gone < seconds {
            return Err(Refusal::new(format!(
                "{} of {} are over.",
                in_words(gone.max(0)),
                in_words(seconds)
            ))
            .help("Enter again when the time is over. Meanwhile another step may be taken: take STEP"));
        }
        self.emit(Event::WaitDone { step: name, text: words, at: None });
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
        let words = typed.strip_prefix("defect ").unwrap_or(typed);
        self.note_defect(Some(step), entry::unquoted(words.trim()));
        Ok(())
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
