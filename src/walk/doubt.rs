//! Whether a zero is still what it was, of a reading that was left half read: because the walk was left, or because
//! another step was taken in between. Nobody knows but the person at the machine, so it is asked before the reading goes
//! on; the answer stands on the record as a break.

use crate::check::program::{Program, Role, StepId, UncertaintySource, ValueId};

use super::answer::Taken;
use super::directory::series_of;
use super::entry;
use super::event::Event;
use super::fold::Fold;
use super::fold_breaks::join_of;
use super::machine::Machine;
use super::question::{Expects, Question, Refusal, Tone};

/// Why the zero is in doubt.
pub(super) const LEFT: &str = "the walk was left";

impl Fold<'_> {
    /// The walk was left and is taken up again.
    pub(super) fn doubt_all(&mut self) {
        for index in 0..self.state.steps.len() {
            if let Some(waiting) = self.state.steps[index].waiting.as_mut() {
                waiting.doubt = true;
            }
            self.doubt(StepId(index), LEFT, true);
        }
    }

    /// Another step is taken: what is half read in the one before stands without eyes on it. Between the rows of a
    /// series that is meant to be so.
    pub(super) fn turned_to(&mut self, step: StepId) {
        if let Some(before) = self.state.current.filter(|before| *before != step) {
            let because = format!("{} was taken in between", self.program.steps[step.0].name);
            self.doubt(before, &because, false);
        }
    }

    pub(super) fn doubt(&mut self, step: StepId, because: &str, series_too: bool) {
        let program = self.program;
        let Some(attempt) = self.state.steps[step.0].attempts.last_mut() else { return };
        for (value, sheets) in &mut attempt.sheets {
            let is_series = series_of(program, *value).is_some_and(|(reading, _)| reading == *value);
            let is_at_risk = if is_series { series_too } else { rests_on_a_zero(program, *value) };
            let Some(sheet) = sheets.last_mut().filter(|sheet| !sheet.retired && !sheet.is_full()) else {
                continue;
            };
            // Where stations are to be read again the zero is new anyhow.
            let is_new = sheet.parted().is_some_and(|seam| seam.again.is_empty());
            if is_at_risk && sheet.filled > 0 && !is_new {
                sheet.doubt.get_or_insert_with(|| because.to_owned());
            }
        }
    }
}

/// Readings with a sense are differences from where something was zeroed, and so are those of an instrument whose zero is
/// stated as uncertain.
fn rests_on_a_zero(program: &Program, value: ValueId) -> bool {
    let Some(definition) = program.values.get(value.0) else { return false };
    let Role::Reading(reading) = &definition.role else { return false };
    let mut instruments = reading.instruments.iter().filter_map(|id| program.instruments.get(id.0));
    let states_zero =
        instruments.any(|it| it.uncertainties.iter().any(|stated| stated.source == UncertaintySource::Zero));
    definition.sense.is_some() || !definition.station_senses.is_empty() || states_zero
}

impl Machine {
    pub(super) fn doubt_question(&self, step: StepId, value: ValueId) -> Question {
        let sheet = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value));
        let because = sheet.and_then(|sheet| sheet.doubt.clone()).unwrap_or_default();
        let is_series = self.series(value).is_some();
        let (taken, untouched) = match (sheet, is_series) {
            (Some(sheet), true) => (
                match sheet.row_count() {
                    1 => "1 row was taken".to_owned(),
                    rows => format!("{rows} rows were taken"),
                },
                "Did it run on undisturbed, every sensor in its place?",
            ),
            (Some(sheet), false) => (
                format!("{} of {} readings were taken", sheet.filled, sheet.cells.len()),
                "Is the set-up untouched, its zero what it was?",
            ),
            (None, _) => ("This was begun".to_owned(), "Is the set-up untouched?"),
        };
        let joins = join_of(&self.program, value)
            .is_some_and(|join| sheet.is_some_and(|sheet| sheet.numbers().len() >= join.stations as usize));
        let hint = match joins {
            true => "yes goes on; no: some stations are read again, to join both parts",
            false => "yes goes on; no begins it again, and what was read is kept",
        };
        Question {
            place: self.place(step, None),
            ask: format!("{taken}, and {because}. {untouched}"),
            hints: vec![hint.to_owned()],
            expects: Expects::YesNo,
        }
    }

    pub(super) fn answer_doubt(&mut self, value: ValueId, typed: &str) -> Taken {
        let zero_intact = match typed.to_lowercase().as_str() {
            "yes" | "y" => true,
            "no" | "n" => false,
            "" => {
                return Err(
                    Refusal::new("Nobody knows but you.").help("Type yes or no. If you are not sure: no.")
                );
            }
            _ => {
                return Err(Refusal::new(format!("\"{}\" is neither yes nor no.", entry::unquoted(typed)))
                    .help("Type yes or no. If you are not sure: no."));
            }
        };
        let step = self.step_of(value)?;
        let because = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value)?.doubt.clone());
        let because = because.unwrap_or_else(|| LEFT.to_owned());
        if zero_intact {
            self.say(Tone::Notice, "It goes on where it was.");
            let reading = self.program.values[value.0].name.clone();
            let step = self.name_of(step);
            self.emit(Event::Broken { step, reading, reason: because, zero_intact, from_the_start: false });
            return Ok(());
        }
        self.break_off(value, because, false, false)
    }
}
