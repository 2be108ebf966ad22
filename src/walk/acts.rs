//! What a person does on the walk beside answering: corrections, remeasures, tries, adjustments, leaving out.
//!
//! One function an act, used by the prompt and by worked examples alike. Each checks everything before its first
//! event.

use crate::check::program::{
    Act, AxisId, PartyId, StateWord, StationPick, Stations as Planned, StepId, ValueId,
};
use crate::quantity::Real;

use super::answer::Taken;
use super::entry::understand;
use super::eval::Evaluator;
use super::event::{Answer, Event};
use super::lines;
use super::machine::{Dialog, Machine};
use super::question::{Refusal, Tone};
use super::state::{EntryPlace, Sheet};
use super::value::{Cell, Laid, Scalar};
use super::view::View;
use super::wording;

pub(super) type Picks = [(AxisId, StationPick)];

impl Machine {
    pub(super) fn perform(&mut self, act: Act) -> Taken {
        match act {
            Act::Given(facts) => facts.into_iter().try_for_each(|(fact, typed)| self.give(fact, &typed)),
            Act::PreviousValue(value, typed) => self.previous_value(value, &typed),
            Act::Using { instrument, resolution } => {
                let name = self.program.instruments[instrument.0].name.clone();
                let resolution = resolution.as_ref().map(wording::literal);
                self.emit(Event::InUse { instrument: name, resolution });
                Ok(())
            }
            Act::List { axis, step, items } => {
                let step = step.map_or_else(|| self.current_step(), Ok)?;
                self.list(step, axis, items)
            }
            Act::Enter { value, picks, entries } => self.enter(value, &picks, &entries),
            Act::Type { value, text } => self.type_raw(value, &text),
            Act::Keep(reason) => match self.dialog.take() {
                Some(Dialog::Take(pending)) => self.take(pending, &reason),
                other => {
                    self.dialog = other;
                    Err(Refusal::new("No entry is being queried: there is nothing to keep."))
                }
            },
            Act::Confirm { step, answer } => self.confirm(step, answer),
            Act::Correct { value, picks, entry, reason } => self.correct(value, &picks, &entry, &reason),
            Act::Remeasure { value, entries } => self.remeasure(value, &entries),
            Act::Again(step) => self.again(step),
            Act::Adjust { adjustment, picks, entries } => self.adjust(adjustment, &picks, &entries),
            Act::Altered { step, what } => self.altered(step, &what),
            Act::Break { value, reason, zero_intact } => self.break_off(value, reason, zero_intact),
            Act::Rejoin { .. } => {
                Err(Refusal::new("A broken series cannot be joined yet: it is read again from its start."))
            }
            Act::Skip { step, reason } => self.skip(step, reason),
            Act::Waive { step, reason, by } => self.waive(step, reason, by),
            Act::Held { step, by } => {
                let name = self.party_name(by).unwrap_or_else(|| self.program.parties[by.0].name.clone());
                self.hold(step, by, &name)
            }
            Act::Defect { text } => {
                let step = self.asked_step().or(self.state.current);
                self.note_defect(step, text);
                Ok(())
            }
            Act::Mended { number, text } => {
                self.open_defect(number)?;
                self.emit(Event::Mended { number, text });
                Ok(())
            }
            Act::Accepted { number, by } => self.accept_defect(number, by),
            Act::Stop { text } => self.stop(text),
            Act::Justify { adjustment, reason } => self.justify(adjustment, reason),
            Act::Note { text } => {
                let step = self.asked_step().or(self.state.current).map(|step| self.name_of(step));
                self.emit(Event::Noted { step, text });
                Ok(())
            }
            Act::Expect(_) => Err(Refusal::new("`expect` belongs to a worked example.")),
        }
    }

    // -------------------------------------------------------------------------------------------- entries

    fn give(&mut self, fact: ValueId, typed: &str) -> Taken {
        let understood = understand(typed, &self.asked(fact))?;
        self.check_bounds(fact, &understood.cell)?;
        let name = self.program.values[fact.0].name.clone();
        self.emit(Event::Fact { name, answer: understood.answer });
        Ok(())
    }

    fn previous_value(&mut self, value: ValueId, typed: &[String]) -> Taken {
        let asked = self.asked(value);
        let answers: Result<Vec<Answer>, Refusal> =
            typed.iter().filter(|it| *it != ";").map(|it| Ok(understand(it, &asked)?.answer)).collect();
        let step = self.program.values[value.0].step.map(|step| self.name_of(step)).unwrap_or_default();
        let name = format!("{step}.{}", self.program.values[value.0].name);
        self.emit(Event::PreviousValue { name, answers: answers? });
        Ok(())
    }

    /// `enter STEP.READING = ...`: at picked stations, or from the next free one on.
    fn enter(&mut self, value: ValueId, picks: &Picks, entries: &[String]) -> Taken {
        let step = self.step_of(value)?;
        self.may_be_read(step)?;
        let typed: Vec<String> = entries.iter().filter(|entry| *entry != ";").cloned().collect();
        let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?;
        let first = match self.picked_cell(step, value, picks, &sheet)? {
            Some(cell) => cell,
            None => sheet.next().ok_or_else(|| {
                let name = &self.program.values[value.0].name;
                Refusal::new(format!("{name} has all its readings."))
                    .help("correct a typing mistake, remeasure if the machine is untouched, again after altering it.")
            })?,
        };
        self.check_rows(&sheet, entries)?;
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
            let step = self.name_of(step);
            self.emit(Event::Listed {
                step,
                axis: "repeat".to_owned(),
                items: vec![typed.len().to_string()],
            });
        }
        Ok(())
    }

    /// `;` ends a row: every row but the last must be as long as the innermost axis.
    fn check_rows(&self, sheet: &Sheet, entries: &[String]) -> Taken {
        let Some(inner) = sheet.axes.last() else { return Ok(()) };
        let rows: Vec<usize> = entries.split(|entry| entry == ";").map(<[String]>::len).collect();
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
    fn may_be_read(&self, step: StepId) -> Taken {
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
    fn picked_cell(
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
                    let at = axis.stations.iter().position(|station| *station.name == **word);
                    at.ok_or_else(|| Refusal::new(format!("{} has no station {word}.", axis.axis)))?
                }
                Some(StationPick::Value(expr)) => {
                    let Cell::Known(Scalar::Number(position)) = evaluator.expr(expr).as_single() else {
                        return Err(Refusal::new(format!("The station on {} is not known yet.", axis.axis)));
                    };
                    let is_there = |it: &Option<Real>| it.as_ref().is_some_and(|it| it.equals(&position));
                    let at = axis.stations.iter().position(|station| is_there(&station.position));
                    at.ok_or_else(|| Refusal::new(format!("There is no such station on {}.", axis.axis)))?
                }
            };
            cell = cell * axis.stations.len() + at;
        }
        Ok(Some(cell))
    }

    fn same_axis(&self, one: AxisId, other: AxisId) -> bool {
        one == other || self.program.axes[one.0].name == self.program.axes[other.0].name
    }

    pub(super) fn list(&mut self, step: StepId, axis: AxisId, items: Vec<String>) -> Taken {
        if items.is_empty() {
            return Err(Refusal::new("Nothing was listed.").help("Type the names, parted by commas."));
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
        self.ensure_opened(step);
        let (step, axis) = (self.name_of(step), self.program.axes[axis.0].name.clone());
        self.say(Tone::Echo, format!("{}: {}", items.len(), items.join(", ")));
        self.emit(Event::Listed { step, axis, items });
        Ok(())
    }

    // -------------------------------------------------------------------------------------------- read again

    fn correct(&mut self, value: ValueId, picks: &Picks, typed: &str, reason: &str) -> Taken {
        let of = match self.program.values[value.0].step {
            None => self.state.facts.get(&value).map(|answered| answered.sequence),
            Some(step) => {
                let sheet = self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?;
                let only = (sheet.cells.len() == 1).then_some(0);
                let cell = self.picked_cell(step, value, picks, &sheet)?.or(only).ok_or_else(|| {
                    Refusal::new(format!("{} has several stations.", self.program.values[value.0].name))
                        .help(format!("Say which: correct {}", self.example_pick(step, value, &sheet)))
                })?;
                sheet.cells.get(cell).and_then(Option::as_ref).map(|answered| answered.sequence)
            }
        };
        let of = of.ok_or_else(|| Refusal::new("There is no entry there yet: nothing to correct."))?;
        self.correct_line(of, typed, reason)
    }

    fn example_pick(&self, step: StepId, value: ValueId, sheet: &Sheet) -> String {
        let at: Vec<String> = sheet
            .axes
            .iter()
            .zip(sheet.stations(0))
            .map(|(axis, name)| format!("{} {name}", axis.axis))
            .collect();
        format!(
            "{}.{}[{}] = VALUE \"why\"",
            self.name_of(step),
            self.program.values[value.0].name,
            at.join(", ")
        )
    }

    pub(super) fn correct_line(&mut self, of: u64, typed: &str, reason: &str) -> Taken {
        let Some(place) = self.state.places.get(&of).cloned() else {
            return Err(Refusal::new("That line holds no entry."));
        };
        let value = match place {
            EntryPlace::Fact(value) | EntryPlace::Cell { value, .. } => value,
        };
        let understood = understand(typed, &self.asked(value))?;
        if understood.not_read.is_some() {
            return Err(Refusal::new("A correction gives the value that was meant.")
                .help("Type the value. A reading that cannot be had: remeasure, or skip \"why\"."));
        }
        self.check_bounds(value, &understood.cell)?;
        let stations = match &place {
            EntryPlace::Cell { step, attempt, value, cell, .. } => {
                let sheet = self.state.step(*step).attempts.get(*attempt).and_then(|it| it.sheet(*value));
                sheet.map(|sheet| sheet.stations(*cell)).unwrap_or_default()
            }
            EntryPlace::Fact(_) => Vec::new(),
        };
        let echo = self.echo(value, &stations, &understood.cell);
        self.say(Tone::Echo, format!("corrected: {echo}"));
        self.emit(Event::Corrected { of, answer: understood.answer, reason: reason.to_owned() });
        Ok(())
    }

    /// The entry just made, to be typed again.
    pub(super) fn back(&mut self) -> Taken {
        if matches!(self.dialog, Some(Dialog::Take(_) | Dialog::Altered { .. } | Dialog::Reason(_))) {
            self.dialog = None;
            self.say(Tone::Notice, "Nothing was taken.");
            return Ok(());
        }
        let before = match self.dialog {
            Some(Dialog::Correct(of)) => (1..of).rev().find(|line| self.state.places.contains_key(line)),
            _ => self.state.last_entry,
        };
        let of = before.ok_or_else(|| Refusal::new("There is no entry to go back to."))?;
        self.dialog = Some(Dialog::Correct(of));
        Ok(())
    }

    /// An entry in words, for "Back to ...".
    pub(super) fn entry_in_words(&self, of: u64) -> (Option<ValueId>, String) {
        match self.state.places.get(&of) {
            Some(EntryPlace::Fact(value)) => {
                let definition = &self.program.values[value.0];
                let now = self.state.facts.get(value).map(|it| self.echo(*value, &[], &it.cell));
                (Some(*value), format!("{}: {}", definition.name, now.unwrap_or_default()))
            }
            Some(EntryPlace::Cell { step, attempt, value, cell, .. }) => {
                let sheet = self.state.step(*step).attempts.get(*attempt).and_then(|it| it.sheet(*value));
                let Some(sheet) = sheet else { return (Some(*value), String::new()) };
                let stations = sheet.stations(*cell);
                let now = sheet.cells.get(*cell).and_then(Option::as_ref);
                let now = now.map(|it| self.echo(*value, &stations, &it.cell)).unwrap_or_default();
                let name = format!("{}.{}", self.name_of(*step), self.program.values[value.0].name);
                let at =
                    if stations.is_empty() { String::new() } else { format!(" [{}]", stations.join(", ")) };
                (Some(*value), format!("{name}{at}: {now}"))
            }
            None => (None, "that entry".to_owned()),
        }
    }

    pub(super) fn remeasure_here(&mut self) -> Taken {
        let step = self.current_step()?;
        let readings: Vec<ValueId> = self.program.steps[step.0]
            .items
            .iter()
            .filter_map(super::directory::item_value)
            .filter(|value| {
                self.state.step(step).attempt().is_some_and(|attempt| attempt.sheet(*value).is_some())
            })
            .collect();
        match readings.as_slice() {
            [only] => self.remeasure(*only, &[]),
            [] => Err(Refusal::new("Nothing has been read in this step yet.")),
            several => {
                let name = self.name_of(step);
                let list: Vec<String> = several
                    .iter()
                    .map(|value| format!("remeasure {name}.{}", self.program.values[value.0].name))
                    .collect();
                Err(Refusal::new("This step has several readings.")
                    .help(format!("Say which: {}.", list.join(", "))))
            }
        }
    }

    /// The machine untouched: a new set in the same try; the old one is kept.
    fn remeasure(&mut self, value: ValueId, entries: &[String]) -> Taken {
        let step = self.step_of(value)?;
        self.may_be_read(step)?;
        let sets = self.state.step(step).attempt().and_then(|attempt| attempt.sheets.get(&value));
        let Some(last) = sets.and_then(|sheets| sheets.last()) else {
            return Err(Refusal::new(format!(
                "{} has not been read yet.",
                self.program.values[value.0].name
            )));
        };
        let set = last.set + 1;
        // Values that do not fit must not leave an empty set behind: look at them on a clean sheet first.
        let typed: Vec<String> = entries.iter().filter(|entry| *entry != ";").cloned().collect();
        let clean = Sheet::new(set, last.axes.clone());
        self.check_rows(&clean, entries)?;
        if typed.len() > clean.cells.len() {
            return Err(Refusal::new(format!("{} values for {} stations.", typed.len(), clean.cells.len())));
        }
        for one in &typed {
            understand(one, &self.asked(value))?;
        }
        let (step_name, reading) = (self.name_of(step), self.program.values[value.0].name.clone());
        self.emit(Event::SetOpened { step: step_name, reading, set });
        if typed.is_empty() { Ok(()) } else { self.enter(value, &[], entries) }
    }

    fn break_off(&mut self, value: ValueId, reason: String, zero_intact: bool) -> Taken {
        let step = self.step_of(value)?;
        let open = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value));
        if open.is_none_or(Sheet::is_full) {
            return Err(Refusal::new("That series is not being read: there is nothing to break off."));
        }
        let (step, reading) = (self.name_of(step), self.program.values[value.0].name.clone());
        self.say(
            Tone::Notice,
            if zero_intact {
                "The series goes on where it was."
            } else {
                "The series begins again; what was read is kept."
            },
        );
        self.emit(Event::Broken { step, reading, reason, zero_intact });
        Ok(())
    }

    // -------------------------------------------------------------------------------------------- left out, held

    pub(super) fn confirm(&mut self, step: StepId, answer: bool) -> Taken {
        let definition = &self.program.steps[step.0];
        if self.touched.is_some() {
            // An example says how it goes on from here; without the line it counts as yes.
            let text = definition.confirms.first().map(wording::plain).unwrap_or_default();
            match answer {
                true => self.state.refused.remove(&step),
                false => self.state.refused.insert(step, text),
            };
            return Ok(());
        }
        let done = self.state.step(step).attempt().map_or(0, |attempt| attempt.confirmed);
        let Some(words) = definition.confirms.get(done) else {
            return Err(Refusal::new("There is nothing to confirm."));
        };
        let text = wording::plain(words);
        self.ensure_opened(step);
        let name = self.name_of(step);
        self.emit(Event::Confirmed { step: name, text, answer });
        if !answer {
            self.say(Tone::Notice, "The step does not go on until this is yes.");
        }
        Ok(())
    }

    pub(super) fn hold(&mut self, step: StepId, party: PartyId, name: &str) -> Taken {
        let is_operator = |it: &str| it.trim().to_lowercase() == name.trim().to_lowercase();
        if self.state.operator().is_some_and(is_operator) {
            return Err(Refusal::new("The operator cannot be the witness of a hold.")
                .help("Type the name of the other person."));
        }
        let role = self.program.parties[party.0].name.clone();
        if self.party_name(party).is_none() {
            self.emit(Event::Person { role: role.clone(), name: name.to_owned() });
        }
        let step = self.name_of(step);
        self.emit(Event::Held { step, party: role, name: name.to_owned() });
        Ok(())
    }

    pub(super) fn party_name(&self, party: PartyId) -> Option<String> {
        self.state.people.get(&self.program.parties[party.0].name).cloned()
    }

    pub(super) fn skip(&mut self, step: StepId, reason: String) -> Taken {
        if reason.is_empty() {
            return Err(Refusal::new("A step that is left out needs its reason.").help("skip \"why\""));
        }
        let state = self.standing().state_of(step);
        if matches!(state, StateWord::Passes | StateWord::Fails | StateWord::Undecided | StateWord::Recorded)
        {
            return Err(Refusal::new(format!(
                "{} has been taken: it cannot be skipped.",
                self.name_of(step)
            ))
            .help(format!(
                "What was found can be accepted by a party: waive {} \"why\" by PARTY",
                self.name_of(step)
            )));
        }
        if state == StateWord::Stopped {
            return Err(Refusal::new(format!(
                "{} was stopped; a stop cannot be skipped.",
                self.name_of(step)
            )));
        }
        let step = self.name_of(step);
        self.say(Tone::Notice, format!("{step} is skipped: {reason}"));
        self.emit(Event::Skipped { step, reason });
        Ok(())
    }

    fn waive(&mut self, step: StepId, reason: String, by: Option<PartyId>) -> Taken {
        let Some(party) = by else {
            return Err(Refusal::new("A party must waive it.").help("waive STEP \"why\" by PARTY"));
        };
        if self.state.step(step).stop.is_some() {
            return Err(Refusal::new(format!(
                "{} was stopped; a stop cannot be waived.",
                self.name_of(step)
            )));
        }
        let role = self.program.parties[party.0].name.clone();
        let name = self.party_name(party).unwrap_or_else(|| role.clone());
        let step = self.name_of(step);
        self.say(Tone::Notice, format!("{step} is waived by {name}: {reason}"));
        self.emit(Event::Waived { step, reason, party: role, name });
        Ok(())
    }

    // -------------------------------------------------------------------------------------------- findings

    pub(super) fn note_defect(&mut self, step: Option<StepId>, text: String) {
        let number = self.state.defects.iter().map(|defect| defect.number).max().unwrap_or(0) + 1;
        let step = step.map(|step| self.name_of(step));
        self.say(Tone::Echo, format!("defect {number}: {text}"));
        self.emit(Event::Defect { number, step, text });
    }

    fn open_defect(&self, number: u32) -> Taken {
        match self.state.defects.iter().find(|defect| defect.number == number) {
            None => Err(Refusal::new(format!("There is no defect {number}."))),
            Some(defect) if defect.mended.is_some() => {
                Err(Refusal::new(format!("Defect {number} is mended already.")))
            }
            Some(_) => Ok(()),
        }
    }

    fn accept_defect(&mut self, number: u32, by: PartyId) -> Taken {
        self.open_defect(number)?;
        let party = self.program.parties[by.0].name.clone();
        let name = self.party_name(by).unwrap_or_else(|| party.clone());
        self.emit(Event::Accepted { number, party, name });
        Ok(())
    }

    fn stop(&mut self, text: String) -> Taken {
        let step = self.current_step()?;
        if self.state.step(step).stop.is_some() {
            return Err(Refusal::new(format!("{} is stopped already.", self.name_of(step))));
        }
        self.ensure_opened(step);
        self.say(
            Tone::NotWell,
            format!("STOP. {text}. No other powered step goes on until this is cleared."),
        );
        let step = self.name_of(step);
        self.emit(Event::Stopped { step, by_hand: true, text });
        Ok(())
    }

    fn justify(&mut self, adjustment: ValueId, reason: String) -> Taken {
        let step = self.step_of(adjustment)?;
        let flagged =
            |it: &&super::state::Move| it.adjustment == Some(adjustment) && it.withdrawn && !it.justified;
        if !self.state.moves.iter().any(|it| flagged(&it)) {
            return Err(Refusal::new(
                "That adjustment was not made on withdrawn advice: there is nothing to justify.",
            ));
        }
        let (step, adjustment) = (self.name_of(step), self.program.values[adjustment.0].name.clone());
        self.emit(Event::Justified { step, adjustment, reason });
        Ok(())
    }

    /// For predictions: the value a result is expected to take after what was moved since its last try.
    pub fn predicted(&self, result: ValueId) -> Option<Cell> {
        let step = self.program.values.get(result.0)?.step?;
        let own = self.state.step(step);
        let last = own.attempts.len().checked_sub(1)?;
        let results = own.attempts.get(last)?.results.as_ref()?;
        let (_, before) = results.values.iter().find(|(value, _)| *value == result)?;
        let Cell::Known(Scalar::Number(mut total)) = before.as_single() else { return None };
        let since = own.attempts.get(last)?.opened;
        for moved in self.state.moves_since(since) {
            let (Some(adjustment), Some(amount)) = (moved.adjustment, &moved.amount) else { continue };
            let crate::check::program::Role::Adjustment { predicts } =
                &self.program.values[adjustment.0].role
            else {
                continue;
            };
            for prediction in predicts.iter().filter(|it| it.result == result) {
                let mut view = View::latest(&self.program, &self.state);
                view.moved = Some((adjustment, Laid::single(amount.clone())));
                let change = Evaluator::new(&self.program, &view).expr(&prediction.change);
                match change.as_single() {
                    Cell::Known(Scalar::Number(change)) => total = &total + &change,
                    other => return Some(other),
                }
            }
        }
        Some(Cell::number(total))
    }
}
