//! What the temperature was while it was measured: a limit to the micrometre means little to a reader who does not know.

use indexmap::IndexMap;

use super::labels::shown;
use super::model::{EntryLine, Readings, Report, Temperature};
use super::said::{spoken, when};
use crate::quantity::{Rational, Real, Unit, exact_text, parse_exact};
use crate::record::Line;
use crate::walk::event::{Answer, Event};
use crate::walk::room::is_room;

/// A reading at more places than this is told as one.
const PLACES: usize = 6;

/// What the room is called, whatever gave its temperature.
const ROOM: &str = "Room";

/// Axes along which a thing is read again and again.
const AGAIN: [&str; 2] = ["time", "repeat"];

/// One value: in which unit, and when.
type Taken = (Rational, Unit, String);

/// Gathers them: the room first, then each reading of a temperature in the order of the report.
pub(super) fn fill(report: &mut Report, lines: &[Line]) {
    let mut found: IndexMap<(String, String), Vec<Taken>> = IndexMap::new();
    found.insert((String::new(), ROOM.to_owned()), Vec::new());
    let mut take = |step: &str, what: String, taken: Option<Taken>| {
        if let Some(taken) = taken {
            found.entry((step.to_owned(), what)).or_default().push(taken);
        }
    };
    for line in lines {
        if let Event::Paused { temperature: Some(answer), .. }
        | Event::Resumed { temperature: Some(answer), .. } = &line.event
        {
            take("", ROOM.to_owned(), value(answer, Some(Unit::DegC), &line.time));
        }
    }
    for fact in &report.machine {
        let what = if is_room(&fact.name) { ROOM } else { &fact.label };
        take("", what.to_owned(), value(&fact.answer, point(fact.unit.as_deref()), &fact.time));
    }
    for part in &report.steps {
        for set in part.tries.iter().flat_map(|attempt| &attempt.readings).filter(|set| !set.left_off) {
            let Some(unit) = point(set.unit.as_deref()) else { continue };
            let places = part.tries.iter().flat_map(|it| &it.readings).filter(|it| it.name == set.name);
            let apart = count(places) <= PLACES;
            for entry in &set.entries {
                let at = read_at(entry);
                let taken = entry.answer.as_ref().and_then(|answer| value(answer, Some(unit), at));
                let place = place(set, entry);
                if is_room(&set.name) || entry.stations.iter().any(|station| is_room(station)) {
                    take("", ROOM.to_owned(), taken);
                } else if apart && !place.is_empty() {
                    take(&part.name, format!("{}: {place}", set.label), taken);
                } else {
                    take(&part.name, set.label.clone(), taken);
                }
            }
        }
    }
    report.temperatures =
        found.into_iter().filter_map(|((step, what), taken)| told(step, what, &taken)).collect();
}

/// The unit, if it is one of a temperature and not of a difference.
fn point(symbol: Option<&str>) -> Option<Unit> {
    Unit::parse(symbol?).filter(|unit| unit.is_point())
}

/// A number that was read; one that only lies beyond what the instrument shows is none.
fn value(answer: &Answer, unit: Option<Unit>, at: &str) -> Option<Taken> {
    Some((parse_exact(&answer.value)?, unit?, at.to_owned()))
}

fn read_at(entry: &EntryLine) -> &str {
    entry.read_at.as_deref().unwrap_or(&entry.time)
}

/// Where it was read, but for the time and the number of the reading.
fn place(set: &Readings, entry: &EntryLine) -> String {
    let places = set.axes.iter().zip(&entry.stations).filter(|(axis, _)| !AGAIN.contains(&axis.as_str()));
    spoken(&places.map(|(_, station)| station.as_str()).collect::<Vec<_>>().join(", "))
}

fn count<'a>(sets: impl Iterator<Item = &'a Readings>) -> usize {
    let places = sets.flat_map(|set| set.entries.iter().map(|entry| place(set, entry)));
    places.collect::<std::collections::HashSet<_>>().len()
}

fn told(step: String, what: String, taken: &[Taken]) -> Option<Temperature> {
    let (_, unit, _) = taken.first()?;
    let same =
        |(value, own, _): &Taken| Unit::convert(&Real::Exact(value.clone()), *own, *unit)?.exact().cloned();
    let values: Vec<Rational> = taken.iter().filter_map(same).collect();
    let times = || taken.iter().map(|(.., time)| time);
    Some(Temperature {
        step: Some(step).filter(|step| !step.is_empty()),
        what,
        unit: unit.symbol().to_owned(),
        least: exact_text(values.iter().min()?),
        greatest: exact_text(values.iter().max()?),
        readings: values.len(),
        from: times().min()?.clone(),
        to: times().max()?.clone(),
    })
}

impl Temperature {
    /// `L36 Temperature: front: 20.1 to 32.4 degC, 12 readings, 2026-03-02 10:00 to 12:00`.
    pub fn said(&self) -> String {
        let step = self.step.iter().map(|step| format!("{step} ")).collect::<String>();
        let unit = Some(self.unit.as_str());
        let values = match self.least == self.greatest {
            true => shown(&self.least, unit, false),
            false => format!("{} to {}", shown(&self.least, None, false), shown(&self.greatest, unit, false)),
        };
        let readings =
            if self.readings == 1 { String::new() } else { format!(", {} readings", self.readings) };
        let (from, to) = (when(&self.from), when(&self.to));
        let times = match to.strip_prefix(from.get(..10).unwrap_or(&from)).map(str::trim_start) {
            _ if from == to => from,
            // The same day.
            Some(time) if !time.is_empty() => format!("{from} to {time}"),
            _ => format!("{from} to {to}"),
        };
        format!("{step}{}: {values}{readings}, {times}", self.what)
    }
}

impl Report {
    /// What the temperature was, a line each; that nobody knows it is said too.
    pub fn temperatures_said(&self) -> Vec<String> {
        match self.temperatures.as_slice() {
            [] => vec!["No temperature was measured.".to_owned()],
            known => known.iter().map(Temperature::said).collect(),
        }
    }

    /// A party with what the procedure says of it: `owner (customer, or who witnesses for them)`.
    pub fn role_said(&self, role: &str) -> String {
        match self.parties.iter().find(|(name, who)| name == role && !who.is_empty()) {
            Some((_, who)) => format!("{} ({who})", spoken(role)),
            None => role.to_owned(),
        }
    }
}
