//! What an example says beside the entries: with which instrument and on which day, what the record before lends, and
//! which of several entries is corrected.

use crate::check::program::{Beside, StepId, ValueId};
use crate::quantity::{Unit, record_text};

use super::super::alteration::put;
use super::super::event::{Alteration, Answer, Event, InstrumentCard};
use super::super::state::{EntryPlace, Sheet};
use super::super::target::{self, EntryAt};
use super::super::wording;
use super::teller::Teller;
use super::words::{amount, quoted, value};

impl Teller {
    /// An instrument has its date, so that it matters on which day it is used.
    pub(super) fn on_its_day(&mut self, event: &Event, rest: &[(&str, &Event)]) {
        let state = self.machine.state();
        let in_use = || state.instruments.values().any(|card| card.said.calibrated_until.is_some());
        let has_date = match event {
            Event::Instrument(card) => self.dated_later || card.calibrated_until.is_some(),
            Event::Entered(_) | Event::NotRead(_) => self.dated_later || in_use(),
            _ => false,
        };
        if let Some(day) = state.day().filter(|day| has_date && self.day != Some(*day)) {
            self.flush(rest);
            self.day = Some(day);
            self.line(format!("day {day}"));
        }
    }

    /// What rules ask of the record before, at the stations as they are laid out now.
    pub(super) fn previous(&mut self) {
        for id in self.machine.program().lent.clone() {
            if let Some(line) = self.previous_of(id)
                && self.lent.insert(id, line.clone()).as_ref() != Some(&line)
            {
                self.line(line);
            }
        }
    }

    fn previous_of(&self, id: ValueId) -> Option<String> {
        let earlier = self.machine.state().previous.get(&id)?;
        let definition = &self.machine.program().values[id.0];
        let name = format!("previous {}.{}", self.machine.name_of(definition.step?), definition.name);
        if let Some(reason) = &earlier.reason {
            return Some(format!("{name} = not read {}", quoted(reason)));
        }
        let sheet = Sheet::new(1, self.machine.laid_out_before(id).ok()?);
        let places: Vec<Option<usize>> = match earlier.stations.is_empty() {
            true => (0..earlier.answers.len()).map(Some).collect(),
            false => (0..sheet.cells.len()).map(|at| earlier.place_of(&sheet.stations(at))).collect(),
        };
        let cells: Vec<Option<&Answer>> = places.iter().map(|place| earlier.answers.get((*place)?)).collect();
        let is_told = cells.len() == sheet.cells.len() && cells.iter().any(Option::is_some);
        let text = |answer: &Option<&Answer>| match answer {
            Some(answer) => value(definition, Some(answer), None),
            None => "not read \"not read there for the record before\"".to_owned(),
        };
        let values: Vec<String> = cells.iter().map(text).collect();
        // What was not known then is told as nothing, which is as good.
        let unit = definition.unit.map(Unit::of_differences);
        let known = |place: &Option<usize>| {
            let size = earlier.expanded.get((*place)?)?.as_number()?;
            Some(record_text(&unit.map_or_else(|| size.clone(), |unit| unit.from_base(size))))
        };
        let known: Vec<String> =
            places.iter().map(|place| known(place).unwrap_or_else(|| "0".to_owned())).collect();
        let known = match known.as_slice() {
            [first, rest @ ..] if rest.iter().all(|it| it == first) => match first.as_str() {
                "0" => String::new(),
                all => format!(" uncertainty {all}"),
            },
            all => format!(" uncertainty {}", all.join(", ")),
        };
        is_told.then(|| format!("{name} = {}{known}", values.join(", ")))
    }

    /// Which one it is, until when it is calibrated, and what its own papers say otherwise than the procedure.
    pub(super) fn instrument(&mut self, card: &InstrumentCard) {
        self.line(format!("using {}", self.card_in_words(card)));
    }

    /// As it stands behind `using`.
    pub(super) fn card_in_words(&self, card: &InstrumentCard) -> String {
        let program = self.machine.program();
        let found =
            self.machine.directory.instrument(&card.name).and_then(|it| program.instruments.get(it.0));
        let usual = found.and_then(|it| it.resolution.as_ref()).map(wording::literal);
        let as_usual: Vec<String> =
            found.into_iter().flat_map(|it| &it.uncertainties).map(wording::uncertainty).collect();
        let number = format!("{} {}", card.name, quoted(&card.number));
        let until = card.calibrated_until.as_ref().map(|day| format!("calibrated until {day}"));
        let resolution = card.resolution.as_ref().filter(|it| Some(*it) != usual.as_ref());
        let resolution = resolution.map(|text| format!("resolution {text}"));
        let own = card.uncertainty.iter().filter(|it| !as_usual.contains(it)).cloned();
        let parts: Vec<String> = std::iter::once(number).chain(until).chain(resolution).chain(own).collect();
        parts.join(", ")
    }

    pub(super) fn using(&mut self, instrument: &str, resolution: Option<&str>, uncertainty: &[String]) {
        let resolution = resolution.map(|text| format!("resolution {text}"));
        let parts: Vec<String> = resolution.into_iter().chain(uncertainty.iter().cloned()).collect();
        self.line(format!("using {instrument} {}", parts.join(", ")).trim_end().to_owned());
    }

    /// What was really altered, with all that was said beside it.
    pub(super) fn altered(&mut self, of: &Alteration) {
        self.stands(&of.step);
        let directory = &self.machine.directory;
        let step = directory.step(&of.step);
        let value =
            step.zip(of.adjustment.as_ref()).and_then(|(step, name)| directory.value(Some(step), name));
        let torque = of.torque.as_ref().map(|torque| format!("{} Nm", torque.value));
        let by = of.by.clone();
        let line = match (step.zip(value), &of.adjustment, &of.amount) {
            (Some((step, value)), Some(name), Some(moved)) => {
                let laid = self.machine.layout(step, value).map(|axes| Sheet::new(1, axes));
                let place = laid.map(|sheet| target::picks(&sheet, &of.stations)).unwrap_or_default();
                let moved = amount(&self.machine.program().values[value.0], moved);
                let remark = of.what.as_ref().map(|what| format!(" {}", quoted(what))).unwrap_or_default();
                let beside = put(&Beside { torque, by, ..Beside::default() });
                format!("adjust {}.{name}{place} = {moved}{remark}{beside}", of.step)
            }
            _ => {
                let unit = |answer: &Answer| answer.unit.clone().unwrap_or_default();
                let beside = Beside {
                    at: of.stations.first().cloned(),
                    moved: of.amount.as_ref().map(|moved| format!("{} {}", moved.value, unit(moved))),
                    toward: of.toward.clone(),
                    torque,
                    by,
                };
                let what = quoted(of.what.as_deref().unwrap_or_default());
                format!("altered {} {what}{}", of.step, put(&beside))
            }
        };
        self.line(line);
    }

    pub(super) fn corrected(&mut self, of: u64, answer: Option<&Answer>, reason: &str) {
        match self.machine.state().places.get(&of).cloned() {
            Some(EntryPlace::Fact(id)) => {
                let Some(answer) = answer else { return };
                let definition = &self.machine.program().values[id.0];
                let line = format!(
                    "correct {} = {} {}",
                    definition.name,
                    amount(definition, answer),
                    quoted(reason)
                );
                self.line(line);
            }
            Some(EntryPlace::Cell { step, attempt, value: id, sheet, cell }) => {
                let at = EntryAt { step, attempt, value: id, sheet, cell, seam: None };
                self.corrected_at(at, answer, reason);
            }
            Some(EntryPlace::Again { step, attempt, value: id, sheet, seam, at }) => {
                let seams = self.sheet_at(step, attempt, id, sheet).map(|sheet| sheet.seams.as_slice());
                let here = seams.and_then(|seams| seams.get(seam)?.again.get(at));
                if let Some((cell, _)) = here.cloned() {
                    let at = EntryAt { step, attempt, value: id, sheet, cell, seam: Some(seam) };
                    self.corrected_at(at, answer, reason);
                }
            }
            // Said anew by an event of its own.
            Some(EntryPlace::Instrument(_) | EntryPlace::List(..) | EntryPlace::Page(..)) | None => {}
        }
    }

    fn sheet_at(&self, step: StepId, attempt: usize, value: ValueId, sheet: usize) -> Option<&Sheet> {
        self.machine.state().step(step).attempts.get(attempt)?.sheets.get(&value)?.get(sheet)
    }

    fn corrected_at(&mut self, at: EntryAt, answer: Option<&Answer>, reason: &str) {
        let name = self.machine.name_of(at.step);
        self.stands(&name);
        let Some(entry) = target::of_entry(self.machine.program(), self.machine.state(), &at) else { return };
        let definition = &self.machine.program().values[at.value.0];
        let line = match answer {
            Some(_) => format!("correct {entry} = {} {}", value(definition, answer, None), quoted(reason)),
            None => format!("correct {entry} = not read {}", quoted(reason)),
        };
        self.line(line);
    }
}
