//! Tells one event after the other, with the walk replayed beside it.

use std::collections::{HashMap, HashSet};

use crate::check::program::{StateWord, StepId};

use super::super::event::{Answer, Entry, Event, SeriesEnd};
use super::super::fold::DEFECTS;
use super::super::machine::Machine;
use super::super::replay::follows;
use super::super::state::EntryPlace;
use super::super::times;
use super::super::wording;
use super::expected_word;
use super::grouped::{Group, time};
use super::words::{amount, picks, quoted, value};

pub struct Teller {
    machine: Machine,
    lines: Vec<String>,
    group: Option<Group>,
    /// Stations of a broken series read again: their stations and values.
    again: Vec<(Entry, String)>,
    /// Amounts of one adjustment, station by station.
    moved: Option<(String, Vec<String>, Vec<String>)>,
    /// What is said of a step stays said until it changes.
    told: HashMap<StepId, &'static str>,
    /// Steps whose confirmation was answered no.
    refused: HashSet<String>,
    /// A correction that could not be told; nor can be what was asked about it.
    untold: Option<u64>,
    differences: Vec<String>,
}

impl Teller {
    pub fn new(machine: Machine) -> Self {
        Self {
            machine,
            lines: Vec::new(),
            group: None,
            again: Vec::new(),
            moved: None,
            told: HashMap::new(),
            refused: HashSet::new(),
            untold: None,
            differences: Vec::new(),
        }
    }

    /// The machine at the end, the lines, and what they could not say.
    pub fn end(mut self) -> (Machine, Vec<String>, Vec<String>) {
        self.flush(&[]);
        (self.machine, self.lines, self.differences)
    }

    pub fn tell(&mut self, events: &[(&str, &Event)], at: usize) {
        let Some((stamp, event)) = events.get(at) else { return };
        // What follows from others follows in the example too.
        if follows(event) {
            return;
        }
        self.machine.set_time(stamp);
        self.say(event, events.get(at..).unwrap_or_default());
        self.machine.apply(event);
        self.machine.settle();
    }

    /// Said once where two events say the same.
    fn remark(&mut self, line: String) {
        if self.lines.last() != Some(&line) {
            self.line(line);
        }
    }

    fn line(&mut self, line: String) {
        self.lines.push(line);
    }

    /// What was gathered becomes lines. `rest` begins with the event that ends it.
    fn flush(&mut self, rest: &[(&str, &Event)]) {
        if let Some(group) = self.group.take() {
            self.lines.extend(group.lines(&self.machine, rest));
        }
        if let Some((first, _)) = self.again.first() {
            let stations: Vec<&str> = self
                .again
                .iter()
                .filter_map(|(entry, _)| entry.stations.last())
                .map(String::as_str)
                .collect();
            let values: Vec<&str> = self.again.iter().map(|(_, text)| text.as_str()).collect();
            let axis = self.axis_of(first);
            let line = format!(
                "rejoin {}.{} at {axis}{} = {}",
                first.step,
                first.name,
                stations.join(", "),
                values.join(", ")
            );
            self.lines.push(line);
            self.again.clear();
        }
        if let Some((target, _, amounts)) = self.moved.take() {
            self.lines.push(format!("adjust {target} = {}", amounts.join(", ")));
        }
    }

    fn axis_of(&self, entry: &Entry) -> String {
        let step = self.machine.directory.step(&entry.step);
        let value = step.and_then(|step| self.machine.directory.value(Some(step), &entry.name));
        let sheet = step.zip(value).and_then(|(step, value)| self.machine.sheet(step, value).ok());
        sheet.and_then(|sheet| Some(format!("{} ", sheet.axes.last()?.axis))).unwrap_or_default()
    }

    /// Before something changes a step that was judged: how it stood.
    fn stands(&mut self, step: &str) {
        let Some(id) = self.machine.directory.step(step) else { return };
        use StateWord::{Fails, Invalid, Passes, Recorded, Stopped, Undecided};
        if !matches!(
            self.machine.standing().state_of(id),
            Fails | Invalid | Passes | Recorded | Stopped | Undecided
        ) {
            return;
        }
        let word = expected_word(&self.machine, id);
        if self.told.insert(id, word) != Some(word) {
            self.line(format!("expect {step} {word}"));
        }
    }

    fn cannot(&mut self, what: impl Into<String>) {
        self.differences.push(what.into());
    }

    #[allow(clippy::too_many_lines)] // one arm an event: a new one cannot be forgotten here
    fn say(&mut self, event: &Event, rest: &[(&str, &Event)]) {
        match event {
            Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) => {
                return self.entry(entry, rest);
            }
            Event::ReadAgain(entry) => {
                if self.again.first().is_none_or(|(first, _)| {
                    (&first.step, &first.name, first.set) != (&entry.step, &entry.name, entry.set)
                }) {
                    self.flush(rest);
                }
                let text = self.text_of(entry);
                self.again.push((entry.clone(), text));
                return;
            }
            Event::Adjusted { step, adjustment: Some(name), stations, amount: Some(moved), .. } => {
                return self.adjusted(step, name, stations, moved, rest);
            }
            _ => self.flush(rest),
        }
        match event {
            Event::Fact { name, answer } => {
                let text = match self.machine.directory.value(None, name) {
                    Some(id) => amount(&self.machine.program().values[id.0], answer),
                    None => answer.value.clone(),
                };
                self.line(format!("given {name} = {text}"));
            }
            Event::Person { role, name } => self.remark(format!("# {name}, {role}")),
            Event::Performed { step, role, name } => self.line(format!("# {step}: {name}, {role}")),
            Event::Instrument(card) => {
                self.line(format!("# {}: {}", card.name, card.number));
                self.instrument(&card.name, card.resolution.as_deref(), &card.uncertainty);
            }
            Event::InUse { instrument, resolution, uncertainty } => {
                self.using(instrument, resolution.as_deref(), uncertainty);
            }
            Event::PreviousValue { name, answers, reason: None, .. } => {
                let values: Vec<&str> = answers.iter().map(|answer| answer.value.as_str()).collect();
                self.line(format!("previous {name} = {}", values.join(", ")));
            }
            Event::StepOpened { step, number, .. } if *number > 1 => {
                self.stands(step);
                self.line(format!("again {step}"));
            }
            Event::SetOpened { step, reading, set } => {
                self.stands(step);
                self.group = Group::remeasure(&self.machine, step, reading, *set);
            }
            Event::Confirmed { step, answer: false, .. } => {
                self.refused.insert(step.clone());
                self.line(format!("confirm {step} no"));
            }
            Event::Confirmed { step, answer: true, .. } => {
                if self.refused.remove(step) {
                    self.line(format!("confirm {step} yes"));
                }
            }
            Event::Listed { step, axis, items } if axis != DEFECTS && axis != "repeat" => {
                let items: Vec<String> = items.iter().map(|item| quoted(item)).collect();
                self.line(format!("list {step}.{axis} = {}", items.join(", ")));
            }
            Event::Corrected { of, answer, reason } => self.corrected(*of, answer, reason),
            Event::Kept { of, .. } if Some(*of) == self.untold => {}
            Event::Kept { reason, .. } => {
                self.line("expect query".to_owned());
                self.line(format!("keep {}", quoted(reason)));
            }
            Event::Noted { text, .. } => self.line(format!("note {}", quoted(text))),
            Event::Defect { text, photo, .. } => {
                let photo = photo.as_ref().map(|it| format!(" photo {}", quoted(&it.value)));
                self.line(format!("defect {}{}", quoted(text), photo.unwrap_or_default()));
            }
            Event::Mended { number, text } => self.line(format!("mended {number} {}", quoted(text))),
            Event::Accepted { number, party, name } => {
                self.line(format!("accepted {number} {} by {party}", quoted(&format!("by {name}"))));
            }
            Event::Adjusted { step, what, .. } => {
                self.stands(step);
                self.line(format!("altered {step} {}", quoted(what.as_deref().unwrap_or_default())));
            }
            Event::Justified { step, adjustment, reason } => {
                let is_named = self
                    .machine
                    .directory
                    .step(step)
                    .is_some_and(|step| self.machine.directory.value(Some(step), adjustment).is_some());
                match is_named {
                    true => self.line(format!("justify {step}.{adjustment} {}", quoted(reason))),
                    false => self.cannot(format!("{step}: an alteration in words was justified")),
                }
            }
            Event::Broken { step, reading, reason, zero_intact, from_the_start } => {
                let how = match (zero_intact, from_the_start) {
                    (true, _) => " zero intact",
                    (false, true) => " from the start",
                    (false, false) => "",
                };
                self.line(format!("break {step}.{reading} {}{how}", quoted(reason)));
            }
            Event::SeriesEnded { step, reading, because: SeriesEnd::Closed, .. } => {
                self.cannot(format!("the time of {step}.{reading} ran out without its last row"));
            }
            Event::Held { step, party, name, .. } => {
                self.remark(format!("# {name}, {party}"));
                self.line(format!("held {step} by {party}"));
            }
            Event::Skipped { step, reason } => {
                self.stands(step);
                self.line(format!("skip {step} {}", quoted(reason)));
            }
            Event::Waived { step, reason, party, .. } => {
                self.stands(step);
                self.line(format!("waive {step} {} by {party}", quoted(reason)));
            }
            Event::Stopped { by_hand: true, text, .. } => self.line(format!("stop {}", quoted(text))),
            // Said by others, or without a trace in what follows.
            Event::Opened { .. }
            | Event::StepOpened { .. }
            | Event::PreviousValue { .. }
            | Event::PreviousInstrument(_)
            | Event::PreviousMove { .. }
            | Event::SetupGivenUp { .. }
            | Event::Listed { .. }
            | Event::LeftAsIs { .. }
            | Event::SeriesStarted { .. }
            | Event::SeriesEnded { .. }
            | Event::Sheet { .. }
            | Event::WaitStarted { .. }
            | Event::WaitDone { .. }
            | Event::Paused { .. }
            | Event::Resumed { .. }
            | Event::Judged(_)
            | Event::Changed { .. }
            | Event::Withdrawn { .. }
            | Event::Joined { .. }
            | Event::Stopped { .. }
            | Event::Cleared { .. }
            | Event::Closed { .. }
            | Event::Signing { .. }
            | Event::Signed { .. }
            | Event::Amended { .. }
            | Event::Entered(_)
            | Event::NotRead(_)
            | Event::Observed(_)
            | Event::ReadAgain(_) => {}
        }
    }

    fn entry(&mut self, entry: &Entry, rest: &[(&str, &Event)]) {
        if let Some(mut group) = self.group.take_if(|group| group.takes(&self.machine, entry)) {
            group.add(&self.machine, entry);
            self.group = Some(group);
            return;
        }
        self.flush(rest);
        self.group = Group::begin(&self.machine, entry);
        if self.group.is_none() {
            self.cannot(format!("{}.{} at {}", entry.step, entry.name, entry.stations.join(", ")));
        }
    }

    fn text_of(&self, entry: &Entry) -> String {
        let step = self.machine.directory.step(&entry.step);
        match step.and_then(|step| self.machine.directory.value(Some(step), &entry.name)) {
            Some(id) => {
                value(&self.machine.program().values[id.0], entry.answer.as_ref(), entry.reason.as_deref())
            }
            None => String::new(),
        }
    }

    /// An instrument that is other than its kind: what its own papers say.
    fn instrument(&mut self, name: &str, resolution: Option<&str>, uncertainty: &[String]) {
        let program = self.machine.program();
        let found = self.machine.directory.instrument(name).and_then(|it| program.instruments.get(it.0));
        let usual = found.and_then(|it| it.resolution.as_ref()).map(wording::literal);
        let as_usual: Vec<String> =
            found.into_iter().flat_map(|it| &it.uncertainties).map(wording::uncertainty).collect();
        let own: Vec<String> = uncertainty.iter().filter(|it| !as_usual.contains(it)).cloned().collect();
        self.using(name, resolution.filter(|it| Some(*it) != usual.as_deref()), &own);
    }

    fn using(&mut self, instrument: &str, resolution: Option<&str>, uncertainty: &[String]) {
        let resolution = resolution.map(|text| format!("resolution {text}"));
        let parts: Vec<String> = resolution.into_iter().chain(uncertainty.iter().cloned()).collect();
        if !parts.is_empty() {
            self.line(format!("using {instrument} {}", parts.join(", ")));
        }
    }

    /// Amounts at one station after the other are one line; a single one names its station.
    fn adjusted(
        &mut self,
        step: &str,
        name: &str,
        stations: &[String],
        moved: &Answer,
        rest: &[(&str, &Event)],
    ) {
        let id = self.machine.directory.step(step);
        let value = id.and_then(|step| self.machine.directory.value(Some(step), name));
        let text = match value {
            Some(value) => amount(&self.machine.program().values[value.0], moved),
            None => moved.value.clone(),
        };
        let target = format!("{step}.{name}");
        if let Some((of, at, amounts)) = &mut self.moved
            && *of == target
            && !at.contains(&stations.join(", "))
        {
            at.push(stations.join(", "));
            amounts.push(text);
            return;
        }
        self.flush(rest);
        self.stands(step);
        let place = match stations {
            [one] if one.starts_with(|c: char| c.is_alphabetic()) => {
                // A single one that is not the first of its kind is named.
                let next = rest.iter().skip(1).find(|(_, next)| !follows(next));
                let more = next.is_some_and(|(_, next)| {
                    matches!(next, Event::Adjusted { adjustment: Some(next), .. } if next == name)
                });
                if more { String::new() } else { format!("[{one}]") }
            }
            _ => String::new(),
        };
        self.moved = Some((format!("{target}{place}"), vec![stations.join(", ")], vec![text]));
    }

    fn corrected(&mut self, of: u64, answer: &Answer, reason: &str) {
        match self.machine.state().places.get(&of).cloned() {
            Some(EntryPlace::Fact(id)) => {
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
                let name = self.machine.name_of(step);
                self.stands(&name);
                let own = self.machine.state().step(step);
                let is_last = attempt + 1 == own.attempts.len();
                let sheets = own.attempts.get(attempt).and_then(|it| it.sheets.get(&id));
                let counts =
                    sheets.and_then(|sheets| sheets.iter().rposition(|it| !it.retired)) == Some(sheet);
                let definition = &self.machine.program().values[id.0];
                let Some(there) = sheets.and_then(|sheets| sheets.get(sheet)).filter(|_| is_last && counts)
                else {
                    let name = format!("{name}.{}", definition.name);
                    self.untold = Some(self.machine.state().sequence + 1);
                    return self.cannot(format!("{name} of an earlier try or set was corrected"));
                };
                let stations = there.stations(cell);
                let row = there.run.as_ref().and_then(|_| times::parse(stations.first()?));
                let line = format!(
                    "correct {name}.{}{}{} = {} {}",
                    definition.name,
                    picks(there, &stations),
                    row.as_ref().map(time).unwrap_or_default(),
                    value(definition, Some(answer), None),
                    quoted(reason)
                );
                self.line(line);
            }
            Some(EntryPlace::Again { .. }) => self.cannot("a station read again was corrected"),
            // Said anew by an event of its own.
            Some(EntryPlace::Instrument(_) | EntryPlace::Page(..)) | None => {}
        }
    }
}
