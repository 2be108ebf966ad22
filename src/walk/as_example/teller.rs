//! Tells one event after the other, with the walk replayed beside it.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;

use crate::check::program::{Item, StateWord, StepId, ValueId};

use super::super::event::{Entry, Event, SeriesEnd};
use super::super::fold::DEFECTS;
use super::super::machine::Machine;
use super::super::replay::follows;
use super::expected_word;
use super::grouped::Group;
use super::words::{amount, quoted, value};

pub struct Teller {
    pub(super) machine: Machine,
    lines: Vec<String>,
    group: Option<Group>,
    /// Stations of a broken series read again: their stations and values.
    again: Vec<(Entry, String)>,
    /// What is said of a step stays said until it changes.
    told: HashMap<StepId, &'static str>,
    /// Steps whose confirmation was answered no.
    refused: HashSet<String>,
    /// Steps of which it was said that what is found is still to come.
    open_defects: HashSet<String>,
    /// An instrument is given its date only when it is put right; by then it was used on a day.
    pub(super) dated_later: bool,
    /// The day that was told last.
    pub(super) day: Option<Date>,
    /// What was told of the record before.
    pub(super) lent: HashMap<ValueId, String>,
    differences: Vec<String>,
}

impl Teller {
    pub fn new(machine: Machine, events: &[(&str, &Event)]) -> Self {
        let gives_date = |event: &Event| match event {
            Event::PutRight(by) => by.card.as_ref().is_some_and(|card| card.calibrated_until.is_some()),
            _ => false,
        };
        Self {
            dated_later: events.iter().any(|(_, event)| gives_date(event)),
            machine,
            lines: Vec::new(),
            group: None,
            again: Vec::new(),
            told: HashMap::new(),
            refused: HashSet::new(),
            open_defects: HashSet::new(),
            day: None,
            lent: HashMap::new(),
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
        self.on_its_day(event, events.get(at..).unwrap_or_default());
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

    pub(super) fn line(&mut self, line: String) {
        self.lines.push(line);
    }

    /// What was gathered becomes lines. `rest` begins with the event that ends it.
    pub(super) fn flush(&mut self, rest: &[(&str, &Event)]) {
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
    }

    fn axis_of(&self, entry: &Entry) -> String {
        let step = self.machine.directory.step(&entry.step);
        let value = step.and_then(|step| self.machine.directory.value(Some(step), &entry.name));
        let sheet = step.zip(value).and_then(|(step, value)| self.machine.sheet(step, value).ok());
        sheet.and_then(|sheet| Some(format!("{} ", sheet.axes.last()?.axis))).unwrap_or_default()
    }

    /// Before something changes a step that was judged: how it stood.
    pub(super) fn stands(&mut self, step: &str) {
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

    /// Whether the next thing that happens in a try that was just opened opens it in an example too.
    fn is_opened_by_next(step: &str, rest: &[(&str, &Event)]) -> bool {
        for (_, event) in rest {
            return match event {
                Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) => entry.step == step,
                Event::Listed { step: of, axis, .. } => of == step && axis != DEFECTS,
                Event::Stopped { step: of, by_hand: true, .. } => of == step,
                _ if is_quiet(event) => continue,
                _ => false,
            };
        }
        false
    }

    /// In an example it counts as said what was found. Where more happened before it was said, the example says so.
    fn waits_for_defects(&self, step: &str, rest: &[(&str, &Event)]) -> bool {
        let asks = |id: StepId| {
            let items = &self.machine.program().steps[id.0].items;
            items.iter().any(|item| matches!(item, Item::Defects(_)))
        };
        if !self.machine.directory.step(step).is_some_and(asks) {
            return false;
        }
        for (_, event) in rest {
            match event {
                Event::Listed { step: of, axis, .. } if of == step && axis == DEFECTS => return false,
                Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry)
                    if entry.step == step => {}
                Event::Listed { step: of, .. } if of == step => {}
                Event::Defect { .. } | Event::Kept { .. } => {}
                _ if is_quiet(event) => {}
                _ => return true,
            }
        }
        true
    }

    pub(super) fn cannot(&mut self, what: impl Into<String>) {
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
            Event::Listed { step, axis, .. } if axis == "repeat" => return self.end_repeats(step, rest),
            _ => self.flush(rest),
        }
        self.previous();
        match event {
            Event::Fact { name, answer } => {
                let text = match self.machine.directory.value(None, name) {
                    Some(id) => amount(&self.machine.program().values[id.0], answer),
                    None => answer.value.clone(),
                };
                // Another machine than that of the record before is asked about.
                let kept = rest.get(1).is_some_and(|(_, next)| matches!(next, Event::Kept { .. }));
                let before = self.machine.directory.value(None, name);
                let before = before.and_then(|id| self.machine.state().previous.get(&id)?.answers.first());
                if let Some(before) = before.filter(|_| kept).map(|before| quoted(&before.value)) {
                    self.line(format!("previous {name} = {before}"));
                }
                self.line(format!("given {name} = {text}"));
            }
            Event::Person { role, name } => self.remark(format!("# {name}, {role}")),
            Event::Performed { step, role, name } => self.line(format!("# {step}: {name}, {role}")),
            Event::Instrument(card) => self.instrument(card),
            Event::InUse { instrument, resolution, uncertainty } => {
                self.using(instrument, resolution.as_deref(), uncertainty);
            }
            Event::StepOpened { step, number, .. } => {
                if *number > 1 {
                    self.stands(step);
                    self.line(format!("again {step}"));
                }
                let rest = rest.get(1..).unwrap_or_default();
                if self.waits_for_defects(step, rest) {
                    self.open_defects.insert(step.clone());
                    self.line(format!("defects {step} open"));
                } else if *number == 1 && !Self::is_opened_by_next(step, rest) {
                    self.line(format!("take {step}"));
                }
            }
            Event::Listed { step, axis, .. } if axis == DEFECTS => {
                if self.open_defects.remove(step) {
                    self.line(format!("defects {step} done"));
                }
            }
            Event::SetOpened { step, reading, set, reason } => {
                self.stands(step);
                self.group = Group::remeasure(&self.machine, step, reading, *set, reason.as_deref());
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
            Event::Listed { step, axis, items } => {
                let items: Vec<String> = items.iter().map(|item| quoted(item)).collect();
                self.line(format!("list {step}.{axis} = {}", items.join(", ")));
            }
            Event::Corrected { of, answer, reason } => self.corrected(*of, answer.as_ref(), reason),
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
            Event::Accepted { number, party, name, reason } => {
                self.remark(format!("# {name}, {party}"));
                let reason = quoted(reason.as_deref().unwrap_or_default());
                self.line(format!("accepted {number} {reason} by {party}"));
            }
            Event::PutRight(by) => self.put_right(by),
            Event::Adjusted(alteration) => self.altered(alteration),
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
            Event::Broken { step, reading, reason, zero_intact: true, .. }
                if self.is_parted(step, reading) =>
            {
                self.remark(format!("# {step}.{reading}, zero intact: {reason}"));
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
                self.line(format!("end {step}.{reading}"));
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
            Event::Reopened { reason } => self.remark(format!("# closed, and taken up again: {reason}")),
            Event::Stopped { step, by_hand: true, text } => {
                self.line(format!("stop {step} {}", quoted(text)));
            }
            // Said by others, or without a trace in what follows.
            Event::Opened { .. }
            | Event::PreviousValue { .. }
            | Event::PreviousInstrument(_)
            | Event::PreviousMove { .. }
            | Event::SetupGivenUp { .. }
            | Event::HalfSaid { .. }
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

    /// A broken series waits for stations to be read again: its zero is a new one, and that is intact.
    fn is_parted(&self, step: &str, reading: &str) -> bool {
        let directory = &self.machine.directory;
        let value = directory.step(step).and_then(|id| Some((id, directory.value(Some(id), reading)?)));
        let sheet = value.and_then(|(step, value)| self.machine.state().step(step).attempt()?.sheet(value));
        sheet.is_some_and(|sheet| sheet.parted().is_some())
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

    /// In an example one line is all of a reading that is repeated as often as wanted, if it is the last.
    fn end_repeats(&mut self, step: &str, rest: &[(&str, &Event)]) {
        let next = rest.first().map(|(_, event)| *event);
        let is_said = self.group.as_ref().is_some_and(|group| group.is_ended(&self.machine, next));
        self.flush(rest);
        let Some(id) = self.machine.directory.step(step).filter(|_| !is_said) else { return };
        let program = self.machine.program();
        let mut open = self.machine.state().step(id).attempt().into_iter().flat_map(|attempt| {
            let is_open = |value: &&ValueId| attempt.sheet(**value).is_some_and(|sheet| !sheet.is_full());
            attempt.sheets.keys().filter(is_open)
        });
        let repeats = |value: &&ValueId| {
            program.values[value.0].axes.iter().any(|axis| program.axes[axis.0].name == "repeat")
        };
        if let Some(value) = open.rfind(repeats).map(|value| &program.values[value.0].name) {
            let line = format!("end {step}.{value}");
            self.line(line);
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
}

/// What leaves no trace of its own in an example.
fn is_quiet(event: &Event) -> bool {
    follows(event)
        || matches!(
            event,
            Event::Confirmed { answer: true, .. }
                | Event::SeriesStarted { .. }
                | Event::WaitStarted { .. }
                | Event::WaitDone { .. }
                | Event::Sheet { .. }
                | Event::SetupGivenUp { .. }
                | Event::Person { .. }
                | Event::Performed { .. }
                | Event::Instrument(_)
                | Event::Noted { .. }
                | Event::Paused { .. }
                | Event::Resumed { .. }
        )
}
