//! What a person does on the walk beside answering: corrections, remeasures, tries, adjustments, leaving out.
//!
//! One function an act, used by the prompt and by worked examples alike. Each checks everything before its first
//! event.

use crate::check::program::{Act, AxisId, StateWord, StationPick, Stations as Planned, StepId, ValueId};

use crate::quantity::{Rational, Real};

use super::answer::Taken;
use super::entry::{self, understand};
use super::eval::Evaluator;
use super::event::Event;
use super::lines;
use super::machine::{Dialog, Machine};
use super::question::{Refusal, Tone};
use super::state::Sheet;
use super::stations::{named_station, numbered_station};
use super::value::{Cell, Scalar};
use super::view::View;
use super::wording;

pub(super) type Picks = [(AxisId, StationPick)];

impl Machine {
    pub(super) fn perform(&mut self, act: Act) -> Taken {
        match act {
            Act::Given(facts) => facts.into_iter().try_for_each(|(fact, typed)| self.give(fact, &typed)),
            Act::PreviousValue(value, typed, known) => self.say_previous(value, &typed, &known),
            Act::Using { instrument, number, calibrated_until, properties } => match number {
                Some(number) => self.use_named(instrument, number, calibrated_until, &properties),
                None => {
                    let name = self.program.instruments[instrument.0].name.clone();
                    let resolution = properties.resolution.as_ref().map(wording::literal);
                    let uncertainty = properties.uncertainties.iter().map(wording::uncertainty).collect();
                    self.emit(Event::InUse { instrument: name, resolution, uncertainty });
                    Ok(())
                }
            },
            Act::Day(day) => self.in_example("day").map(|()| self.state.today = Some(day)),
            Act::Take(step) => self.take_step(step),
            Act::Defects { step, done } => self.defects_in_example(step, done),
            Act::End(reading) => self.end_reading(reading),
            Act::List { axis, step, items } => {
                let step = step.map_or_else(|| self.current_step(), Ok)?;
                self.list(step, axis, items)
            }
            Act::Enter { value, picks, at, entries } => self.enter_row(value, &picks, at, &entries),
            Act::Type { value, text } => self.type_raw(value, &text),
            Act::Keep(reason) => match self.dialog.take() {
                Some(Dialog::Take(pending)) => self.take(pending, &reason),
                Some(Dialog::OtherMachine { typed, before }) => self.keep_serial(&typed, &before, &reason),
                other => {
                    self.dialog = other;
                    Err(Refusal::new("No entry is being queried: there is nothing to keep."))
                }
            },
            Act::Confirm { step, answer } => self.confirm(step, answer),
            Act::Correct { value, picks, which, entry, reason } => {
                self.correct(value, &picks, &which, &entry, &reason)
            }
            Act::PutRight { kind, number, part, to, reason } => {
                self.put_right((kind, number), part.as_deref(), to, &reason)
            }
            Act::Remeasure { value, entries, reason } => self.remeasure(value, &entries, reason),
            Act::Again(step) => self.again(step),
            Act::Adjust { adjustment, picks, entries, what, beside } => {
                self.adjust(adjustment, &picks, &entries, what, &beside)
            }
            Act::Altered { step, what, beside } => self.altered(step, &what, &beside),
            Act::Break { value, reason, zero_intact, from_the_start } => {
                self.break_off(value, reason, zero_intact, from_the_start)
            }
            Act::Rejoin { value, picks, entries } => self.rejoin(value, &picks, &entries),
            Act::Skip { step, reason } => self.skip(step, reason),
            Act::Waive { step, reason, by } => self.waive(step, reason, by),
            Act::Held { step, by } => {
                let name = self.party_name(by).unwrap_or_else(|| self.program.parties[by.0].name.clone());
                self.hold(step, by, &name)
            }
            Act::Defect { text, photo } => {
                let step = self.asked_step().or(self.state.current);
                self.note_defect(step, text, photo)
            }
            Act::Mended { number, text } => {
                self.open_defect(number)?;
                self.say(Tone::Echo, format!("defect {number} is mended: {text}"));
                self.emit(Event::Mended { number, text });
                Ok(())
            }
            Act::Accepted { number, reason, by } => self.accept_defect(number, reason, by),
            Act::Stop { step, text } => self.stop(step, text),
            Act::Justify { adjustment, reason } => self.justify(adjustment, reason),
            Act::Note { text } => {
                let step = self.asked_step().or(self.state.current).map(|step| self.name_of(step));
                self.say(Tone::Echo, format!("noted: {text}"));
                self.emit(Event::Noted { step, text });
                Ok(())
            }
            Act::Expect(_) => Err(Refusal::new("`expect` belongs to a worked example.")),
        }
    }

    // -------------------------------------------------------------------------------------------- entries

    pub(super) fn give(&mut self, fact: ValueId, typed: &str) -> Taken {
        let understood = understand(typed, &self.asked(fact))?;
        self.check_bounds(fact, &understood.cell)?;
        if let Some(before) = self.other_machine(fact, &understood.cell) {
            self.dialog = Some(Dialog::OtherMachine { typed: understood.answer.value, before });
            return Ok(());
        }
        let name = self.program.values[fact.0].name.clone();
        self.emit(Event::Fact { name, answer: understood.answer });
        Ok(())
    }

    /// `enter STEP.READING = ...`: at picked stations, or from the next free one on.
    pub(super) fn enter(&mut self, value: ValueId, picks: &Picks, entries: &[String]) -> Taken {
        let step = self.step_of(value)?;
        self.may_be_read(step)?;
        self.is_prepared(step)?;
        let typed: Vec<String> = entries.iter().filter(|entry| *entry != ";").cloned().collect();
        let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?;
        if sheet.parted().is_some() {
            let name = format!("{}.{}", self.name_of(step), self.program.values[value.0].name);
            return Err(Refusal::new(format!("{name} is broken, and is to be joined first.")).help(format!(
                "Read the stations again: rejoin {name} at STATION, STATION = VALUE, VALUE. Or begin it again: break \
                 {name} \"why\" from the start"
            )));
        }
        let first = match self.picked_cell(step, value, picks, &sheet)? {
            Some(cell) => cell,
            None => sheet.next().ok_or_else(|| {
                let name = &self.program.values[value.0].name;
                Refusal::new(format!("{name} has all its readings."))
                    .help("correct a typing mistake, remeasure if the machine is untouched, again after altering it.")
            })?,
        };
        self.check_rows(value, &sheet, entries)?;
        let fills_repeats = typed.len() < sheet.cells.len() - first
            && picks.is_empty()
            && self.touched.is_some()
            && self.may_end(value, &sheet, first + typed.len());
        let pending = self.prepare(step, value, first, &typed)?;
        if !pending.queries.is_empty() {
            self.dialog = Some(Dialog::Take(pending));
            return Ok(());
        }
        self.take(pending, "")?;
        // In an example one line is all of a `times least to most` reading.
        if fills_repeats {
            return self.end_repeats(step, value, first + typed.len());
        }
        Ok(())
    }

    /// `enter STEP.READING at 30 min = ...`: a row of a series at its time; without one at the time it is.
    fn enter_row(
        &mut self,
        value: ValueId,
        picks: &Picks,
        at: Option<Rational>,
        entries: &[String],
    ) -> Taken {
        let step = self.step_of(value)?;
        self.may_stand_at(step, value, at.as_ref())?;
        self.entering_at = at;
        let taken = self.enter(value, picks, entries);
        self.entering_at = None;
        taken
    }

    /// `;` ends a row: every row must be as long as the innermost axis; of a survey a row is a line.
    pub(super) fn check_rows(&self, value: ValueId, sheet: &Sheet, entries: &[String]) -> Taken {
        let Some(inner) = sheet.axes.last() else { return Ok(()) };
        let rows: Vec<usize> = entries.split(|entry| entry == ";").map(<[String]>::len).collect();
        let axis = self.program.values[value.0].axes.last().and_then(|axis| self.program.axes.get(axis.0));
        if let Some(Planned::Survey(survey)) = axis.map(|axis| &axis.stations) {
            let lines: Vec<_> = survey.lines().collect();
            let fits = |(row, typed): (usize, &usize)| {
                lines.get(row % lines.len().max(1)).is_some_and(|(_, feet)| feet == typed)
            };
            if rows.len() < 2 || rows.iter().enumerate().all(fits) {
                return Ok(());
            }
            let feet = lines.iter().map(|(name, feet)| format!("{name} {feet}")).collect::<Vec<_>>();
            return Err(Refusal::new(format!(
                "A row is a line of the survey here ({} feet); the rows typed have {}.",
                feet.join(", "),
                rows.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
            )));
        }
        if rows.len() > 1 && rows.iter().any(|row| *row != inner.stations.len()) {
            return Err(Refusal::new(format!(
                "A row is {} values here, one for each {}; the rows typed have {}.",
                inner.stations.len(),
                inner.axis,
                rows.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
            )));
        }
        Ok(())
    }

    /// A step may be read if nothing blocks it, it is not left out, and what it needs is met.
    pub(super) fn may_be_read(&self, step: StepId) -> Taken {
        let standing = self.standing();
        let attempts = self.state.step(step).attempts.len();
        if let Some(reason) = standing.why_not(step, attempts.saturating_sub(1)) {
            return Err(Refusal::new(reason));
        }
        if standing.state_of(step) == StateWord::Stopped {
            let name = self.name_of(step);
            return Err(Refusal::new(format!("{name} is stopped."))
                .help(format!("See to the cause, write down what was done, then: again {name}")));
        }
        if let Some(refused) = self.state.refused.get(&step) {
            return Err(Refusal::new(format!("{}: \"{refused}\" was answered no.", self.name_of(step))));
        }
        Ok(())
    }

    /// No word goes past what is asked before the first reading: people, witnesses, confirmations, waits.
    fn is_prepared(&self, step: StepId) -> Taken {
        let before = if self.touched.is_some() { None } else { self.ask_before(step) };
        match before {
            None => Ok(()),
            Some(ask) => {
                let (name, asked) = (self.name_of(step), self.ask_question(&ask).ask);
                Err(Refusal::new(format!("{name} is not to be read yet. First comes: {asked}"))
                    .help(format!("To be asked that now: take {name}")))
            }
        }
    }

    fn type_raw(&mut self, value: Option<ValueId>, typed: &str) -> Taken {
        match value {
            Some(value) => {
                let step = self.step_of(value)?;
                self.may_be_read(step)?;
                let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?;
                let cell = sheet.next().ok_or_else(|| Refusal::new("All of it has been read."))?;
                self.enter_typed(step, value, cell, typed)
            }
            None => self.plain_answer(typed),
        }
    }

    pub(super) fn step_of(&self, value: ValueId) -> Result<StepId, Refusal> {
        self.program.values[value.0].step.ok_or_else(|| {
            Refusal::new(format!("{} is a fact, not a reading.", self.program.values[value.0].name))
        })
    }

    /// The cell at the picked stations; None without picks. Axes that are not picked stand at their first station.
    pub(super) fn picked_cell(
        &self,
        step: StepId,
        value: ValueId,
        picks: &Picks,
        sheet: &Sheet,
    ) -> Result<Option<usize>, Refusal> {
        if picks.is_empty() {
            return Ok(None);
        }
        let axes = &self.program.values[value.0].axes;
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        let evaluator = Evaluator::new(&self.program, &view);
        let mut cell = 0;
        for (id, axis) in axes.iter().zip(&sheet.axes) {
            let pick = picks.iter().find(|(picked, _)| self.same_axis(*picked, *id));
            let at = match pick.map(|(_, pick)| pick) {
                None => 0,
                Some(StationPick::Word(word)) => {
                    let at = named_station(axis, word);
                    at.ok_or_else(|| Refusal::new(format!("{} has no station {word}.", axis.axis)))?
                }
                Some(StationPick::Value(expr)) => {
                    let Cell::Known(Scalar::Number(position)) = evaluator.expr(expr).as_single() else {
                        return Err(Refusal::new(format!("The station on {} is not known yet.", axis.axis)));
                    };
                    let at =
                        numbered_station(axis, &position).or_else(|| self.nearest_row(*id, axis, &position));
                    at.ok_or_else(|| Refusal::new(format!("There is no such station on {}.", axis.axis)))?
                }
            };
            cell = cell * axis.stations.len() + at;
        }
        Ok(Some(cell))
    }

    /// A row of a series is meant if it stands nearer than half-way to the next.
    fn nearest_row(&self, id: AxisId, axis: &super::value::Stations, wanted: &Real) -> Option<usize> {
        let Planned::Time { reading } = self.program.axes.get(id.0)?.stations else { return None };
        let (_, series) = self.series(reading)?;
        let half = Real::Exact(&series.every / Rational::from_integer(2.into()));
        axis.stations.iter().position(|station| {
            station.position.as_ref().is_some_and(|time| (time - wanted).abs().is_less(&half))
        })
    }

    fn same_axis(&self, one: AxisId, other: AxisId) -> bool {
        one == other || self.program.axes[one.0].name == self.program.axes[other.0].name
    }

    /// What an axis was listed as on an earlier try.
    pub(super) fn listed_before(&self, step: StepId, axis: AxisId) -> Option<Vec<String>> {
        let attempts = &self.state.step(step).attempts;
        let items = attempts.iter().rev().find_map(|attempt| attempt.lists.get(&axis))?;
        Some(items.iter().map(|item| item.to_string()).collect())
    }

    /// Names on one line; Enter alone keeps those of the try before.
    pub(super) fn answer_list(&mut self, step: StepId, axis: AxisId, typed: &str) -> Taken {
        let kept = self.listed_before(step, axis).unwrap_or_default();
        let is_yes = ["yes", "y", "ok"].contains(&typed.to_lowercase().as_str());
        if typed.is_empty() || (is_yes && !kept.is_empty()) {
            return self.list(step, axis, kept);
        }
        if is_yes || ["no", "n"].contains(&typed.to_lowercase().as_str()) {
            return Err(Refusal::new(format!("\"{typed}\" is no name in a list."))
                .help("Type the names, with commas between. If it is one of them, put it in quotes."));
        }
        let parts = typed.split([',', ';']).map(str::trim).filter(|part| !part.is_empty());
        if parts.clone().all(|part| part.parse::<u64>().is_ok() || super::called::looks_like_a_reading(part))
        {
            return Err(Refusal::new(format!("\"{typed}\" is a number, and names are asked for.")).help(
                "Type the names, with commas between. Names that are numbers go in quotes: \"1\", \"2\"",
            ));
        }
        self.list(step, axis, parts.map(entry::unquoted).collect())
    }

    pub(super) fn list(&mut self, step: StepId, axis: AxisId, items: Vec<String>) -> Taken {
        if items.is_empty() {
            return Err(Refusal::new("Nothing was listed.").help("Type the names, with commas between."));
        }
        let doubled =
            items.iter().enumerate().find(|(index, item)| items.iter().take(*index).any(|it| it == *item));
        if let Some((_, item)) = doubled {
            return Err(
                Refusal::new(format!("\"{item}\" stands twice in the list.")).help("Give each its own name.")
            );
        }
        if !matches!(self.program.axes[axis.0].stations, Planned::Listed { .. }) {
            return Err(Refusal::new(format!(
                "{} is not listed on the spot.",
                self.program.axes[axis.0].name
            )));
        }
        self.is_free_to_be_listed(step, axis, &items)?;
        self.ensure_opened(step);
        let (step, axis) = (self.name_of(step), self.program.axes[axis.0].name.clone());
        self.say(Tone::Echo, format!("{}: {}", items.len(), items.join(", ")));
        self.emit(Event::Listed { step, axis, items });
        Ok(())
    }

    /// What was read at listed stations stays theirs: what was forgotten may be added, but to drop or rename one that was
    /// read it is broken off first.
    fn is_free_to_be_listed(&self, step: StepId, axis: AxisId, items: &[String]) -> Taken {
        let Some(attempt) = self.state.step(step).attempt() else { return Ok(()) };
        let is_read = |sheet: &&Sheet| sheet.filled > 0;
        let over_it = |value: &ValueId| self.program.values[value.0].axes.contains(&axis);
        let values = self.program.steps[step.0].items.iter().filter_map(super::directory::item_value);
        let read: Vec<ValueId> = values
            .filter(over_it)
            .filter(|it| attempt.live_sheets(*it).any(|sheet| is_read(&sheet)))
            .collect();
        let Some(first) = read.first() else { return Ok(()) };
        let before = self.listed_before(step, axis).unwrap_or_default();
        let is_one_plain_set = |value: &ValueId| {
            let plain = |sheet: &Sheet| sheet.run.is_none() && sheet.seams.is_empty();
            attempt.live_sheets(*value).count() == 1 && attempt.live_sheets(*value).all(plain)
        };
        if items.starts_with(&before) && read.iter().all(is_one_plain_set) {
            return Ok(());
        }
        let (name, value) = (self.name_of(step), &self.program.values[first.0].name);
        let is_whole = attempt.live_sheets(*first).all(Sheet::is_full);
        let axis = &self.program.axes[axis.0].name;
        Err(Refusal::new(format!("{name}.{value} was read at each {axis} as it is listed.")).help(
            match is_whole {
                true => {
                    format!(
                        "What was forgotten is added behind them: list {name}.{axis} = {}, ... After an alteration \
                         again {name} lists anew.",
                        before.join(", ")
                    )
                }
                false => format!("Begin it again first: break {name}.{value} \"why\". Then list anew."),
            },
        ))
    }
}
