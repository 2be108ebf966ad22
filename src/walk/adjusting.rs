//! Adjustments and the tries that follow them: what was really altered is on the record before the next try, with
//! what it is expected to do; nothing altered makes it a remeasure.

use crate::check::program::{Beside, Role, StateWord, StepId, ValueId};

use super::acts::Picks;
use super::alteration::parted;
use super::answer::Taken;
use super::asked_words;
use super::entry::{self, understand};
use super::eval::Evaluator;
use super::event::{Alteration, Event};
use super::machine::{Dialog, Machine};
use super::question::{Refusal, Tone};
use super::state::{Attempt, Move};
use super::text;
use super::value::{Cell, Scalar};
use super::view::View;
use super::wording;

impl Machine {
    /// `again` at the step that stands: asks what was altered, if that is not on the record yet.
    pub(super) fn again_here(&mut self) -> Taken {
        let step = self.current_step()?;
        self.again(step)
    }

    /// The next try of a step. The machine was altered since the last one, or what the step rests on was.
    pub(super) fn again(&mut self, step: StepId) -> Taken {
        let name = self.name_of(step);
        let own = self.state.step(step);
        let Some(last) = own.attempts.last() else {
            return Err(Refusal::new(format!("{name} has not been taken yet.")));
        };
        let opened = last.opened;
        let attempts = own.attempts.len();
        let stopped = own.stop.as_ref();
        if let Some(stop) = stopped.filter(|stop| !stop.attended) {
            return Err(Refusal::new(format!("{name} was stopped: {}.", stop.text.trim_end_matches('.'))).help(
                "First write down what was done about it: altered \"what\", adjust, or mended NUMBER \"what\".",
            ));
        }
        if stopped.is_none() && self.standing().state_of(step) == StateWord::NotReached {
            return Err(Refusal::new(format!("This try of {name} is not finished.")).help(
                "Finish its readings first; a broken series is read again with: break STEP.READING \"why\"",
            ));
        }
        if let Some(reason) = self.standing().why_not(step, attempts) {
            return Err(Refusal::new(reason));
        }
        let after: Vec<u64> = self
            .state
            .moves_since(opened)
            .filter(|it| self.touches(it.step, step))
            .map(|it| it.sequence)
            .collect();
        let is_stale = self.standing().is_stale(step);
        if after.is_empty() && !is_stale && stopped.is_none() {
            if self.touched.is_some() {
                return Err(Refusal::new(format!(
                    "Nothing was altered since {name} was taken: that is a remeasure."
                )));
            }
            self.dialog = Some(Dialog::Altered { step, again: true });
            return Ok(());
        }
        if self.program.steps[step.0].tries.is_some_and(|tries| attempts > tries as usize) {
            self.say(Tone::NotWell, format!("That was try {attempts} of {name}. Stop here and take advice."));
        }
        self.dialog = None;
        self.emit(Event::StepOpened { step: name, number: attempts as u32 + 1, after });
        Ok(())
    }

    /// An adjustment made in one step bears on another if it is the same step or unsettles it.
    fn touches(&self, adjusted: StepId, step: StepId) -> bool {
        let unsettles = &self.program.steps[adjusted.0].unsettles;
        adjusted == step
            || unsettles.contains(&step)
            || self.program.steps[step.0].repeats.is_some_and(|of| of == adjusted || unsettles.contains(&of))
    }

    /// `adjust STEP.NAME = amount`, at stations where it has some.
    pub(super) fn adjust(
        &mut self,
        adjustment: ValueId,
        picks: &Picks,
        entries: &[String],
        what: Option<String>,
        beside: &Beside,
    ) -> Taken {
        let step = self.step_of(adjustment)?;
        let amounts: Vec<&String> = entries.iter().filter(|entry| *entry != ";").collect();
        self.may_adjust(step)?;
        let mut understood = Vec::new();
        for amount in &amounts {
            understood.push(understand(amount, &self.asked(adjustment))?);
        }
        if understood.is_empty() {
            let name = &self.program.values[adjustment.0].name;
            let unit = self.program.values[adjustment.0].unit.map(|unit| unit.symbol()).unwrap_or_default();
            return Err(Refusal::new(format!("By how much was {name} moved, in {unit}?"))
                .help(format!("Type: adjust {}.{name} = AMOUNT", self.name_of(step))));
        }
        let said = Alteration::of(self.name_of(step), beside)?;
        let stations = self.adjusted_stations(step, adjustment, picks, understood.len())?;
        let advised = self.advised_in_words(step, adjustment);
        let label = self.program.values[adjustment.0].name.clone();
        let flagged = |moves: &[Move]| {
            moves.iter().filter(|it| it.adjustment == Some(adjustment) && it.is_on_withdrawn_advice()).count()
        };
        let flagged_before = flagged(&self.state.moves);
        for (understood, stations) in understood.into_iter().zip(stations) {
            let echo = self.said_back(adjustment, &stations, &understood);
            let at = if stations.is_empty() {
                String::new()
            } else {
                format!(" at {}", wording::spoken_place(&stations))
            };
            let alteration = Alteration {
                adjustment: Some(label.clone()),
                what: what.clone(),
                stations,
                amount: Some(understood.answer),
                advised: advised.clone(),
                ..said.clone()
            };
            self.say(Tone::Echo, format!("{label}{at}: {echo}{}", alteration.beside_in_words()));
            self.emit(Event::Adjusted(alteration));
        }
        if flagged(&self.state.moves) < flagged_before {
            self.say(
                Tone::Well,
                format!("{label} is back where it was before the advice that was withdrawn."),
            );
        }
        self.say_predictions(adjustment);
        Ok(())
    }

    /// As found comes first, and what must pass before adjusting has passed.
    pub(super) fn may_adjust(&self, step: StepId) -> Taken {
        let name = self.name_of(step);
        if !self.state.step(step).is_begun() {
            return Err(Refusal::new(format!("{name} has not been taken as found yet."))
                .help(format!("Read {name} first, so that as found is on the record.")));
        }
        match self.standing().why_not(step, self.state.step(step).attempts.len()) {
            Some(reason) => Err(Refusal::new(reason)),
            None => Ok(()),
        }
    }

    pub(super) fn adjusted_stations(
        &self,
        step: StepId,
        adjustment: ValueId,
        picks: &Picks,
        amounts: usize,
    ) -> Result<Vec<Vec<String>>, Refusal> {
        if self.program.values[adjustment.0].axes.is_empty() {
            return match amounts {
                1 => Ok(vec![Vec::new()]),
                _ => Err(Refusal::new("One amount is wanted.")),
            };
        }
        let axes =
            self.layout(step, adjustment).map_err(|cell| Refusal::new(super::lines::why_not(&cell)))?;
        let sheet = super::state::Sheet::new(1, axes);
        let first = self.picked_cell(step, adjustment, picks, &sheet)?.unwrap_or(0);
        let places = sheet.cells.len().saturating_sub(first);
        if amounts > places {
            return Err(Refusal::new(format!("{amounts} amounts for {places} places.")));
        }
        Ok((first..first + amounts).map(|cell| sheet.stations(cell)).collect())
    }

    /// `altered STEP "in words"`; "nothing" is no alteration.
    pub(super) fn altered(&mut self, step: StepId, what: &str, beside: &Beside) -> Taken {
        self.may_adjust(step)?;
        if what.trim().is_empty() {
            return Err(Refusal::new("What was altered?").help("In words: what, how much, which way."));
        }
        let said = Alteration::of(self.name_of(step), beside)?;
        let alteration = Alteration { what: Some(what.to_owned()), ..said };
        self.say(Tone::Echo, format!("altered at {}: {}", alteration.step, alteration.in_words()));
        self.emit(Event::Adjusted(alteration));
        Ok(())
    }

    /// The answer to "What was really altered?".
    pub(super) fn altered_answer(&mut self, step: StepId, again: bool, typed: &str) -> Taken {
        let words = entry::unquoted(typed);
        // The whole command will do as well.
        let command = words.split_once(char::is_whitespace);
        let command = command.filter(|(first, _)| first.eq_ignore_ascii_case("adjust"));
        let words = command.map(|(_, rest)| entry::unquoted(rest.trim())).unwrap_or(words);
        match words.to_lowercase().as_str() {
            "" => {
                return Err(Refusal::new("Nothing was typed.")
                    .help("Say what was altered, or nothing if the machine is untouched."));
            }
            "nothing" => {
                self.say(Tone::Notice, "Machine untouched: that is a remeasure.");
                return if again { self.remeasure_of(step) } else { Ok(()) };
            }
            _ => {}
        }
        let (first, rest) = words.split_once(char::is_whitespace).unwrap_or((words.as_str(), ""));
        let (first, rest) = (first.trim_end_matches([':', '=']), rest.trim_start_matches(['=', ' ']));
        let own = format!("{}.", self.name_of(step));
        let first = first.strip_prefix(own.as_str()).unwrap_or(first);
        let named = self.program.steps[step.0]
            .adjustments
            .iter()
            .copied()
            .find(|value| self.program.values[value.0].name.eq_ignore_ascii_case(first));
        match named {
            Some(adjustment) => {
                let (amounts, beside) = parted(rest, true);
                self.adjust(adjustment, &[], &entry::split_row(amounts), None, &beside)?;
            }
            None if matches!(words.to_lowercase().as_str(), "yes" | "y" | "no" | "n" | "ok") => {
                return Err(Refusal::new(format!("\"{words}\" does not say what was altered."))
                    .help("In words: what, how much, which way. Or nothing, if the machine is untouched."));
            }
            None if words.chars().all(|c| !c.is_alphabetic()) => {
                return Err(Refusal::new(format!("\"{words}\" does not say what was altered."))
                    .help("Name it with its amount, or say it in words: what, how much, which way."));
            }
            None => {
                let (what, beside) = parted(&words, false);
                self.altered(step, what, &beside)?;
            }
        }
        if !again {
            return Ok(());
        }
        // What was altered stays on the record, whether or not the next try can begin at once.
        if let Err(refusal) = self.again(step) {
            self.say(Tone::Notice, refusal.message);
        }
        Ok(())
    }

    /// The amount that the latest try advises, in words; None if it advises none.
    fn advised_in_words(&self, step: StepId, adjustment: ValueId) -> Option<String> {
        self.advised_by(self.state.step(step).attempt()?, adjustment)
    }

    /// The amount that the try before that line advises.
    pub(super) fn advised_before(&self, line: u64, adjustment: ValueId) -> Option<String> {
        let step = self.program.values.get(adjustment.0)?.step?;
        let attempt = self.state.step(step).attempts.iter().rfind(|attempt| attempt.opened < line)?;
        self.advised_by(attempt, adjustment)
    }

    fn advised_by(&self, attempt: &Attempt, adjustment: ValueId) -> Option<String> {
        let results = attempt.results.as_ref()?;
        let advised = results.remedies.iter().flat_map(|remedy| &remedy.advised);
        let (_, laid) = advised.into_iter().find(|(value, _)| *value == adjustment)?;
        let cells: Vec<String> = laid.cells.iter().map(|cell| self.echo(adjustment, &[], cell)).collect();
        Some(cells.join("; "))
    }

    fn say_predictions(&mut self, adjustment: ValueId) {
        let Role::Adjustment { predicts } = &self.program.values[adjustment.0].role else { return };
        let results: Vec<ValueId> = predicts.iter().map(|prediction| prediction.result).collect();
        for result in results {
            if let Some(cell @ Cell::Known(Scalar::Number(_))) = self.predicted(result) {
                let echo = self.foreseen_in_words(result, &cell);
                let name = asked_words::named(&self.program, result);
                let text = format!("{name} expected after this: {echo}");
                self.say(Tone::Notice, text);
            }
        }
    }

    fn foreseen_in_words(&self, result: ValueId, cell: &Cell) -> String {
        let definition = &self.program.values[result.0];
        let rounded = cell.as_number().map(|number| Cell::number(text::foreseen(number, definition.unit)));
        self.echo(result, &[], rounded.as_ref().unwrap_or(cell))
    }

    /// The value a result is expected to take after what was moved since its last try.
    pub fn predicted(&self, result: ValueId) -> Option<Cell> {
        let step = self.program.values.get(result.0)?.step?;
        let last = self.state.step(step).attempts.len().checked_sub(1)?;
        self.predicted_after(result, step, last, u64::MAX).map(|(cell, _)| cell)
    }

    /// What it was expected to be once the move on that line was made.
    pub fn predicted_at(&self, result: ValueId, line: u64) -> Option<Cell> {
        let step = self.program.values.get(result.0)?.step?;
        let attempt = self.state.step(step).attempts.iter().rposition(|it| it.opened < line)?;
        self.predicted_after(result, step, attempt, line).map(|(cell, _)| cell)
    }

    /// What was moved between that try and the next one, as far as that line, put to the result as it was; and whether
    /// anything was moved that says what it does to it.
    fn predicted_after(
        &self,
        result: ValueId,
        step: StepId,
        attempt: usize,
        as_far_as: u64,
    ) -> Option<(Cell, bool)> {
        let attempts = &self.state.step(step).attempts;
        let since = attempts.get(attempt)?.opened;
        let until = attempts.get(attempt + 1).map_or(u64::MAX, |next| next.opened);
        let view = || View::of(&self.program, &self.state, step, attempt);
        let Cell::Known(Scalar::Number(mut total)) =
            Evaluator::new(&self.program, &view()).value(result).as_single()
        else {
            return None;
        };
        let mut is_moved = false;
        for moved in
            self.state.moves_since(since).filter(|it| it.sequence < until && it.sequence <= as_far_as)
        {
            let Some(adjustment) = moved.adjustment else { continue };
            let Role::Adjustment { predicts } = &self.program.values[adjustment.0].role else {
                continue;
            };
            for prediction in predicts.iter().filter(|it| it.result == result) {
                is_moved = true;
                let mut view = view();
                view.moved = Some((adjustment, view.laid_moves(adjustment, &[moved])));
                let change = Evaluator::new(&self.program, &view).expr(&prediction.change);
                match change.as_single() {
                    Cell::Known(Scalar::Number(change)) => total = &total + &change,
                    other => return Some((other, is_moved)),
                }
            }
        }
        Some((Cell::number(total), is_moved))
    }

    /// What was expected of that result by the moves about a line, beside what came if the next try is there.
    pub(super) fn say_expected_of(&mut self, result: ValueId, line: u64) {
        let Some(step) = self.program.values.get(result.0).and_then(|it| it.step) else { return };
        let Some(at) = self.state.step(step).attempts.iter().rposition(|it| it.opened < line) else { return };
        let Some((predicted @ Cell::Known(_), _)) = self.predicted_after(result, step, at, u64::MAX) else {
            return;
        };
        let name = asked_words::named(&self.program, result);
        let expected = self.foreseen_in_words(result, &predicted);
        let after = self.state.step(step).attempts.get(at + 1).filter(|it| it.results.is_some());
        let text = match after {
            Some(_) => {
                let view = View::of(&self.program, &self.state, step, at + 1);
                let obtained = Evaluator::new(&self.program, &view).value(result).as_single();
                format!("{name}: expected {expected}; obtained {}", self.echo(result, &[], &obtained))
            }
            None => format!("{name} expected after this: {expected}"),
        };
        self.say(Tone::Notice, text);
    }

    /// At the end of a further try: what was expected of the moves before it, beside what came. A poor match means a
    /// wrong cause.
    pub(super) fn say_obtained(&mut self, step: StepId, attempt: usize) {
        let Some(before) = attempt.checked_sub(1) else { return };
        let results: Vec<ValueId> = (0..self.program.values.len())
            .map(ValueId)
            .filter(|it| self.program.values[it.0].step == Some(step))
            .filter(|it| matches!(self.program.values[it.0].role, Role::Let(_) | Role::Reading(_)))
            .collect();
        for result in results {
            let Some((predicted @ Cell::Known(_), true)) =
                self.predicted_after(result, step, before, u64::MAX)
            else {
                continue;
            };
            let view = View::of(&self.program, &self.state, step, attempt);
            let obtained = Evaluator::new(&self.program, &view).value(result).as_single();
            let name = asked_words::named(&self.program, result);
            let text = format!(
                "{name}: expected {}; obtained {}",
                self.foreseen_in_words(result, &predicted),
                self.echo(result, &[], &obtained)
            );
            self.say(Tone::Notice, text);
        }
    }
}
