//! Entries that stand behind each other on the record, gathered to be one line.

use crate::check::program::{Stations, StepId, ValueId};
use crate::quantity::Rational;

use super::super::event::{Entry, Event};
use super::super::machine::Machine;
use super::super::target;
use super::super::times;
use super::words;

/// One `enter`, `observe` or `remeasure` line that is being put together.
#[derive(Debug)]
pub struct Group {
    verb: &'static str,
    /// Why it was measured again, behind the values.
    reason: String,
    step: String,
    name: String,
    pub value: ValueId,
    number: u32,
    set: u32,
    /// The row of a series.
    row: Option<Rational>,
    /// Each value with the stations that it stands at.
    values: Vec<(String, String)>,
    /// It does not stand at the next free station.
    picked: bool,
}

impl Group {
    /// A set that is opened and has no value yet.
    pub fn remeasure(
        machine: &Machine,
        step: &str,
        name: &str,
        set: u32,
        reason: Option<&str>,
    ) -> Option<Self> {
        let id = machine.directory.step(step)?;
        let value = machine.directory.value(Some(id), name)?;
        let number = u32::try_from(machine.state.step(id).attempts.len()).ok()?;
        let (step, name) = (step.to_owned(), name.to_owned());
        let values = Vec::new();
        let reason = reason.map(|reason| format!(" {}", super::words::quoted(reason))).unwrap_or_default();
        Some(Self {
            verb: "remeasure",
            reason,
            step,
            name,
            value,
            number,
            set,
            row: None,
            values,
            picked: false,
        })
    }

    /// The first value of a line.
    pub fn begin(machine: &Machine, entry: &Entry) -> Option<Self> {
        let step = machine.directory.step(&entry.step)?;
        let value = machine.directory.value(Some(step), &entry.name)?;
        let is_series = machine.series(value).is_some();
        let sheet = machine.sheet(step, value).ok()?;
        let own = usize::from(is_series);
        let next = sheet.next().map(|cell| sheet.stations(cell));
        let is_next = next.is_some_and(|next| next.get(own..) == entry.stations.get(own..));
        let row = match is_series {
            true => Some(times::parse(entry.stations.first()?)?),
            false => None,
        };
        let reads = matches!(machine.program().values[value.0].role, crate::check::program::Role::Reading(_));
        let mut group = Self {
            verb: if reads { "enter" } else { "observe" },
            reason: String::new(),
            step: entry.step.clone(),
            name: entry.name.clone(),
            value,
            number: entry.number,
            set: entry.set,
            row,
            values: Vec::new(),
            picked: !is_next,
        };
        group.push(machine, step, entry);
        Some(group)
    }

    /// Whether the entry is the next value of this line.
    pub fn takes(&self, machine: &Machine, entry: &Entry) -> bool {
        if self.picked || (entry.step != self.step || entry.name != self.name) || entry.set != self.set {
            return false;
        }
        Self::begin(machine, entry)
            .is_some_and(|one| !one.picked && one.row == self.row && one.number == self.number)
    }

    pub fn add(&mut self, machine: &Machine, entry: &Entry) {
        if let Some(step) = machine.directory.step(&entry.step) {
            self.push(machine, step, entry);
        }
    }

    fn push(&mut self, machine: &Machine, step: StepId, entry: &Entry) {
        let definition = &machine.program().values[self.value.0];
        let text = words::value(definition, entry.answer.as_ref(), entry.reason.as_deref());
        let picks = machine.sheet(step, self.value).map(|sheet| target::picks(&sheet, &entry.stations));
        self.values.push((text, picks.unwrap_or_default()));
    }

    /// The lines, given what stands behind the last of its entries on the record.
    pub fn lines(&self, machine: &Machine, rest: &[(&str, &Event)]) -> Vec<String> {
        let target = format!("{}.{}", self.step, self.name);
        let at = self.row.as_ref().map(times::at).unwrap_or_default();
        if self.values.is_empty() {
            return vec![format!("{} {target}{}", self.verb, self.reason)];
        }
        // In an example one line without stations is all of a reading that is repeated as often as wanted.
        let next = rest.first().map(|(_, event)| *event);
        if self.picked || (self.ends_when_wanted(machine) && !self.is_ended(machine, next)) {
            let (verb, mut lines) = match self.verb {
                "remeasure" => ("enter", vec![format!("remeasure {target}{}", self.reason)]),
                verb => (verb, Vec::new()),
            };
            let each = self.values.iter().map(|(text, picks)| format!("{verb} {target}{picks}{at} = {text}"));
            lines.extend(each);
            return lines;
        }
        let values: Vec<&str> = self.values.iter().map(|(text, _)| text.as_str()).collect();
        vec![format!("{} {target}{at} = {}{}", self.verb, values.join(", "), self.reason)]
    }

    fn ends_when_wanted(&self, machine: &Machine) -> bool {
        let program = machine.program();
        program.values[self.value.0].axes.iter().any(
            |axis| matches!(program.axes[axis.0].stations, Stations::Repeat { least, most } if least < most),
        )
    }

    /// The record says next that these were all.
    pub fn is_ended(&self, machine: &Machine, next: Option<&Event>) -> bool {
        self.ends_when_wanted(machine)
            && !self.picked
            && matches!(next, Some(Event::Listed { step, axis, .. }) if *step == self.step && axis == "repeat")
    }
}
