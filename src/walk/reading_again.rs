//! The ways to read again with the machine untouched: a correction (typed wrong), a remeasure. Of broken series
//! `joining` knows.
//!
//! The old value always stays on the record.

use crate::check::program::{Again, Role, Stations, StepId, ValueId, WhichEntry};

use super::acts::Picks;
use super::answer::Taken;
use super::directory::item_value;
use super::entry::{Understood, understand};
use super::event::Event;
use super::lines;
use super::machine::{Dialog, Machine, Pending, Reply};
use super::question::{Refusal, Tone};
use super::seam::Seam;
use super::state::{Answered, EntryPlace, Sheet};
use super::wording;

/// An entry in words.
pub(super) struct EntrySaid {
    pub value: Option<ValueId>,
    /// What was asked, with its step and station.
    pub name: String,
    /// What stands there now.
    pub now: String,
}

impl Machine {
    pub(super) fn correct(
        &mut self,
        value: ValueId,
        picks: &Picks,
        which: &WhichEntry,
        typed: &str,
        reason: &str,
    ) -> Taken {
        if matches!(self.program.values[value.0].role, Role::Adjustment { .. }) {
            return self.correct_move(value, picks, which, typed, reason);
        }
        let of = match self.program.values[value.0].step {
            None => self.state.facts.get(&value).map(|answered| answered.sequence),
            Some(step) => {
                let sheet = match self.sheet_meant(step, value, which)? {
                    Some(sheet) => std::borrow::Cow::Borrowed(sheet),
                    None => self.sheet(step, value).map_err(|cell| Refusal::new(lines::why_not(&cell)))?,
                };
                let only = (sheet.cells.len() == 1).then_some(0);
                let axes = sheet.axes.iter().filter(|axis| axis.stations.len() > 1).count();
                let picks = if picks.len() < axes { &[] } else { picks };
                let cell = self.picked_cell(step, value, picks, &sheet)?.or(only).ok_or_else(|| {
                    Refusal::new(format!("{} has several stations.", self.program.values[value.0].name))
                        .help(format!("Say which: correct {}", self.example_pick(step, value, &sheet)))
                })?;
                match which.again {
                    None => sheet.cells.get(cell).and_then(Option::as_ref).map(|answered| answered.sequence),
                    Some(again) => read_again_at(&sheet, again, cell)?,
                }
            }
        };
        let of = of.ok_or_else(|| Refusal::new("There is no entry there yet: nothing to correct."))?;
        self.correct_line(of, typed, reason)
    }

    /// The sheet that an entry stands on: the one that counts, unless it is said which. None: nothing is read yet.
    fn sheet_meant(
        &self,
        step: StepId,
        value: ValueId,
        which: &WhichEntry,
    ) -> Result<Option<&Sheet>, Refusal> {
        let attempts = &self.state.step(step).attempts;
        let name = || format!("{}.{}", self.name_of(step), self.program.values[value.0].name);
        let attempt = match which.attempt {
            None => attempts.last(),
            Some(number) => Some(attempts.get(number - 1).ok_or_else(|| {
                Refusal::new(format!("{} was taken {}.", self.name_of(step), times(attempts.len())))
            })?),
        };
        let sheets = attempt.and_then(|attempt| attempt.sheets.get(&value)).map_or(&[][..], Vec::as_slice);
        // What was begun and broken off before anything was read is no set that could be corrected.
        let sheets: Vec<&Sheet> = sheets.iter().filter(|sheet| sheet.filled > 0).collect();
        match (which.set, which.attempt) {
            (Some(set), _) => sheets.get(set - 1).copied().map(Some).ok_or_else(|| {
                Refusal::new(format!("{} was read {} in that try.", name(), times(sheets.len())))
            }),
            (None, None) => Ok(attempt.and_then(|attempt| attempt.sheet(value))),
            (None, Some(_)) => match sheets.iter().rev().find(|sheet| !sheet.retired) {
                Some(sheet) => Ok(Some(sheet)),
                None => Err(Refusal::new(format!("{} was not read in that try.", name()))),
            },
        }
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
            // Which one it is, is said anew; what was said first stays on the record.
            EntryPlace::Instrument(instrument) => return self.choose_anew(instrument, typed),
            EntryPlace::List(step, axis) => return self.answer_list(step, axis, typed),
            EntryPlace::Page(step, _) => return self.answer_page(step, typed, Some(of)),
            EntryPlace::Fact(value) | EntryPlace::Cell { value, .. } | EntryPlace::Again { value, .. } => {
                value
            }
        };
        let asked = self.asked(value);
        let is_again = matches!(place, EntryPlace::Again { .. });
        if super::entry::strip_words(typed.trim(), "not read").is_some()
            && (is_again || !asked.not_read_allowed)
        {
            let EntrySaid { name, .. } = self.entry_in_words(of);
            return Err(Refusal::new(format!("{name} must be had: it cannot be left out as not read.")).help(
                "Type the value that was meant. If the reading is no good, take it again: remeasure. If it cannot be had: \
                 skip \"why\".",
            ));
        }
        let understood = self.understood(value, typed)?;
        if let Some(why) = understood.not_read {
            let EntrySaid { name, now: was, .. } = self.entry_in_words(of);
            self.say(Tone::Echo, format!("{name} counts as not read: {why}; it was {was}"));
            self.emit(Event::Corrected { of, answer: None, reason: why });
            return Ok(());
        }
        self.check_bounds(value, &understood.cell)?;
        let is_retired = self.found_at(&place).is_some_and(|(sheet, ..)| sheet.retired);
        if is_retired {
            self.say_corrected(of, value, &understood);
            self.say(Tone::Notice, "It stands in a series that was begun again, so it does not count.");
        } else if let EntryPlace::Cell { step, value, cell, .. } = place
            && let Some(query) = wording::unusual(&self.program, &self.state, step, value, &understood.cell)
        {
            self.dialog = Some(Dialog::Take(Pending {
                step,
                value,
                entries: vec![(cell, understood)],
                queries: vec![(cell, query)],
                how: self.how,
                row_at: None,
                again: false,
                corrects: Some((of, reason.to_owned())),
            }));
            return Ok(());
        } else {
            self.say_corrected(of, value, &understood);
        }
        self.emit(Event::Corrected { of, answer: Some(understood.answer), reason: reason.to_owned() });
        Ok(())
    }

    /// Beside what stood there until now, so it is said before the entry is changed.
    pub(super) fn say_corrected(&mut self, of: u64, value: ValueId, understood: &Understood) {
        let found = self.state.places.get(&of).and_then(|place| self.found_at(place));
        let stations = found.map(|(sheet, cell, _)| sheet.stations(cell)).unwrap_or_default();
        let EntrySaid { name, now: was, .. } = self.entry_in_words(of);
        let echo = self.said_back(value, &stations, understood);
        self.say(Tone::Echo, format!("{name} corrected: {echo}; it was {was}"));
    }

    /// The entry just made, to be typed again.
    pub(super) fn back(&mut self) -> Taken {
        if matches!(
            self.dialog,
            Some(
                Dialog::Take(_)
                    | Dialog::Party { .. }
                    | Dialog::Altered { .. }
                    | Dialog::Reason(_)
                    | Dialog::Which(_)
                    | Dialog::OtherMachine { .. }
            )
        ) {
            self.dialog = None;
            self.say(Tone::Notice, "Nothing was taken.");
            return Ok(());
        }
        let before = match self.dialog {
            Some(Dialog::Correct(of) | Dialog::PutRight(of)) => self.line_before(of),
            _ => self.last_typed(),
        };
        let of = before.ok_or_else(|| Refusal::new("There is no entry to go back to."))?;
        if let Some(EntryPlace::Instrument(instrument)) = self.state.places.get(&of).cloned() {
            if self.is_read_with(of) {
                self.dialog = Some(Dialog::PutRight(of));
                return Ok(());
            }
            if !self.offers(instrument).is_empty() {
                self.dialog = Some(Dialog::Which(instrument));
                return Ok(());
            }
        }
        self.dialog = Some(self.back_to(of));
        Ok(())
    }

    /// The latest entry, or what was said after it.
    fn last_typed(&self) -> Option<u64> {
        let said = self.state.last_said.and_then(|(line, of)| {
            let saying = self.state.sayings.iter().find(|it| it.line == of)?;
            let is_later = self.state.last_entry.is_none_or(|entry| entry < line);
            (is_later && Self::is_gone_back_to(saying)).then_some(of)
        });
        said.or(self.state.last_entry)
    }

    /// An entry in words, for "Back to ...".
    pub(super) fn entry_in_words(&self, of: u64) -> EntrySaid {
        let said = |value, name: String, now: Option<String>| EntrySaid {
            value,
            name,
            now: now.unwrap_or_else(|| "not known".to_owned()),
        };
        match self.state.places.get(&of) {
            Some(EntryPlace::Instrument(instrument)) => {
                let title = wording::plain(&self.program.instruments[instrument.0].title);
                let number = self.state.instruments.get(instrument).map(|card| card.said.number.clone());
                said(None, title, number)
            }
            Some(EntryPlace::List(step, axis)) => {
                let name = match &self.program.axes[axis.0].stations {
                    Stations::Listed { question } => self.say_in(*step, question),
                    _ => wording::spoken(&self.program.axes[axis.0].name),
                };
                let items = self.listed_before(*step, *axis).map(|items| items.join(", "));
                said(None, format!("{} {name}", self.name_of(*step)), items)
            }
            Some(EntryPlace::Page(step, _)) => {
                let page = self.state.page.as_ref().map(|page| page.in_words());
                said(None, format!("the sheet of {}", self.name_of(*step)), page)
            }
            Some(EntryPlace::Fact(value)) => {
                let label = wording::plain(&self.program.values[value.0].label);
                let now = self.state.facts.get(value).map(|it| self.echo(*value, &[], &it.cell));
                said(Some(*value), label, now)
            }
            Some(
                place @ (EntryPlace::Cell { step, value, cell: _, .. }
                | EntryPlace::Again { step, value, .. }),
            ) => {
                let Some((sheet, cell, now)) = self.found_at(place) else {
                    return said(Some(*value), self.name_of(*step), None);
                };
                let now = now.map(|it| self.echo(*value, &sheet.stations(cell), &it.cell));
                let asked = self.asked_in_words(*step, *value, sheet, cell);
                let row = self.series(*value).and_then(|_| sheet.stations(cell).into_iter().next());
                let asked = row.map(|row| format!("{row}: {asked}")).unwrap_or(asked);
                let again = if matches!(place, EntryPlace::Again { .. }) { ", read again" } else { "" };
                said(Some(*value), format!("{} {asked}{again}", self.name_of(*step)), now)
            }
            None => said(None, "that entry".to_owned(), None),
        }
    }

    /// The walk broke off between an odd entry and the line that keeps it: the exception stands all the same.
    pub fn kept_unsaid(&mut self, line: u64) -> Reply {
        let place = self.state.places.get(&line).cloned();
        let reason = "the walk broke off before a reason was written down".to_owned();
        if let Some(EntryPlace::Fact(fact)) = place
            && let Some(cell) = self.state.facts.get(&fact).map(|fact| fact.cell.clone())
            && let Some(before) = self.other_machine(fact, &cell)
        {
            let query = super::before::other_machine_said(&before);
            self.emit(Event::Kept { of: line, query, reason });
        } else if let Some(
            place @ (EntryPlace::Cell { step, value, .. } | EntryPlace::Again { step, value, .. }),
        ) = place
            && let Some(cell) = self.found_at(&place).and_then(|(.., there)| Some(there?.cell.clone()))
            && let Some(query) = wording::unusual(&self.program, &self.state, step, value, &cell)
        {
            self.emit(Event::Kept { of: line, query, reason });
        }
        self.finish()
    }

    /// The sheet and the cell of an entry of a step, and what stands there.
    fn found_at(&self, place: &EntryPlace) -> Option<(&Sheet, usize, Option<&Answered>)> {
        let sheet_of = |step: StepId, attempt: usize, value: ValueId, sheet: usize| {
            self.state.step(step).attempts.get(attempt)?.sheets.get(&value)?.get(sheet)
        };
        match place {
            EntryPlace::Cell { step, attempt, value, sheet, cell } => {
                let sheet = sheet_of(*step, *attempt, *value, *sheet)?;
                Some((sheet, *cell, sheet.cells.get(*cell).and_then(Option::as_ref)))
            }
            EntryPlace::Again { step, attempt, value, sheet, seam, at } => {
                let sheet = sheet_of(*step, *attempt, *value, *sheet)?;
                let (cell, read) = sheet.seams.get(*seam)?.again.get(*at)?;
                Some((sheet, *cell, Some(read)))
            }
            EntryPlace::Fact(_) | EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..) => {
                None
            }
        }
    }

    /// The one reading of the step once more.
    pub(super) fn remeasure_of(&mut self, step: StepId) -> Taken {
        let readings: Vec<ValueId> = self.program.steps[step.0]
            .items
            .iter()
            .filter_map(item_value)
            .filter(|value| {
                self.state.step(step).attempt().is_some_and(|attempt| attempt.sheet(*value).is_some())
            })
            .collect();
        match readings.as_slice() {
            [only] => self.remeasure(*only, &[], None),
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
    pub(super) fn remeasure(&mut self, value: ValueId, entries: &[String], reason: Option<String>) -> Taken {
        let step = self.step_of(value)?;
        self.may_be_read(step)?;
        let sets = self.state.step(step).attempt().and_then(|attempt| attempt.sheets.get(&value));
        // In an example a series needs no start: it runs from when its step is begun.
        let runs = self.touched.is_some() && self.series(value).is_some_and(|(reading, _)| reading == value);
        let none = Sheet::new(1, Vec::new());
        let begun = runs && self.state.step(step).is_begun();
        let Some(last) = sets.and_then(|sheets| sheets.last()).or(begun.then_some(&none)) else {
            return Err(Refusal::new(format!(
                "{} has not been read yet.",
                self.program.values[value.0].name
            )));
        };
        let set = last.set + 1;
        let left_off = !last.retired && !last.is_full() && last.filled > 0;
        if let Some((reading, _)) = self.series(value)
            && (reading != value || !entries.is_empty())
        {
            let name = format!("{}.{}", self.name_of(step), self.program.values[reading.0].name);
            return Err(Refusal::new("A series is read again from its start, row by row.")
                .help(format!("Type remeasure {name}; then its rows are asked for as they come due.")));
        }
        // Values that do not fit must not leave an empty set behind: look at them on a clean sheet first.
        let typed: Vec<String> = entries.iter().filter(|entry| *entry != ";").cloned().collect();
        let clean = Sheet::new(set, last.axes.clone());
        self.check_rows(value, &clean, entries)?;
        if typed.len() > clean.cells.len() {
            return Err(Refusal::new(format!("{} values for {} stations.", typed.len(), clean.cells.len())));
        }
        for one in &typed {
            let understood = understand(one, &self.asked(value))?;
            self.check_bounds(value, &understood.cell)?;
        }
        let (step_name, reading) = (self.name_of(step), self.program.values[value.0].name.clone());
        if left_off {
            self.say(Tone::Notice, "The set that was not finished is kept, and does not count.");
        }
        self.emit(Event::SetOpened { step: step_name, reading, set, reason });
        if typed.is_empty() { Ok(()) } else { self.enter(value, &[], entries) }
    }
}

fn times(count: usize) -> String {
    match count {
        0 => "not at all".to_owned(),
        1 => "once".to_owned(),
        count => format!("{count} times"),
    }
}

/// Where a broken series was read again at that station.
fn read_again_at(sheet: &Sheet, again: Again, cell: usize) -> Result<Option<u64>, Refusal> {
    let here = |seam: &Seam| seam.again.iter().find(|(at, _)| *at == cell).map(|(_, read)| read.sequence);
    let found = match again {
        Again::Latest => sheet.seams.iter().rev().find_map(here),
        Again::AtBreak(number) => sheet.seams.get(number - 1).and_then(here),
    };
    match found {
        Some(sequence) => Ok(Some(sequence)),
        None => Err(Refusal::new("That station was not read again, to join a broken series.")),
    }
}
