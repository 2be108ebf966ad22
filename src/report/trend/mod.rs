//! A machine over years: each value that was judged, as found and as left, visit by visit, against its limit.
//!
//! Values are brought to the unit and the sense of the newest record; where that cannot be done they are told and not
//! compared. A drift is what came from one visit to the next, what was adjusted taken out; it is told with its
//! uncertainty and judged by nobody.

mod drift;
mod html;
mod text;
mod visit;

use std::collections::HashMap;

use num_traits::{ToPrimitive, Zero};

use super::labels::Labels;
use crate::check::program::{Item, Role};
use crate::quantity::{Rational, Real, Sense, Unit, exact_text, parse_exact, significant};
use crate::walk::event::RuleLine;

pub use drift::{Drift, drift};
pub use html::page;
pub use text::{machines, render};
pub use visit::{Judged, KINDS, LeftOut, NAMES, Visit, visit};

/// One machine.
#[derive(Clone, Debug)]
pub struct Trend {
    pub machine: String,
    pub visits: Vec<VisitLine>,
    pub series: Vec<Series>,
    pub left_out: Vec<LeftOut>,
}

#[derive(Clone, Debug)]
pub struct VisitLine {
    pub day: String,
    pub file: String,
    pub title: String,
    pub revision: String,
    pub verdict: String,
    /// Taken in although nobody signed it.
    pub unsigned: bool,
    /// What was added after the signing.
    pub added: Vec<String>,
}

/// A value over time.
#[derive(Clone, Debug)]
pub struct Series {
    pub step: String,
    pub title: String,
    pub what: String,
    pub unit: Option<String>,
    pub sense: Option<Sense>,
    pub points: Vec<Point>,
    pub drift: Option<Drift>,
}

#[derive(Clone, Debug)]
pub struct Point {
    pub day: String,
    pub years: Rational,
    pub file: String,
    pub found: Figure,
    pub left: Figure,
    /// What is not as it was at the visit before.
    pub breaks: Vec<String>,
    /// The words of plus and minus have changed places since; it is shown with those of now.
    pub turned: bool,
    /// Why it is not compared with the newest.
    pub apart: Option<String>,
    /// Something was added to its record after the signing.
    pub added: bool,
}

impl Trend {
    /// What a reader must know first: none where every record that is taken in is signed.
    pub fn warning(&self) -> Option<String> {
        let unsigned = self.visits.iter().filter(|visit| visit.unsigned).count();
        let of = self.visits.len();
        (unsigned > 0)
            .then(|| format!("NOT SIGNED: {unsigned} of {of} records. Anybody could have written them."))
    }

    /// What was added to records after they were signed: the day of the visit and the words.
    pub fn added(&self) -> Vec<String> {
        let of_visit = |visit: &VisitLine| {
            visit.added.iter().map(|text| format!("{} {}: {text}", visit.day, visit.file)).collect::<Vec<_>>()
        };
        self.visits.iter().flat_map(of_visit).collect()
    }
}

impl Point {
    /// As found and, where it is another, as left.
    pub fn verdict(&self) -> String {
        match self.found.verdict == self.left.verdict {
            true => self.left.verdict.clone(),
            false => format!("{}, then {}", self.found.verdict, self.left.verdict),
        }
    }

    /// What a reader must know of it.
    pub fn remarks(&self) -> String {
        let apart = self.apart.iter().map(|why| format!("not compared: {why}"));
        let turned = self.turned.then(|| "its sign was the other way round then".to_owned());
        let added = self.added.then(|| "its record was added to after the signing".to_owned());
        apart.chain(self.breaks.clone()).chain(turned).chain(added).collect::<Vec<_>>().join("; ")
    }
}

#[derive(Clone, Debug)]
pub struct Figure {
    pub value: Rational,
    pub lower: Option<Rational>,
    pub upper: Option<Rational>,
    pub verdict: String,
    pub expanded: Option<String>,
}

impl Figure {
    pub fn shown(&self) -> f64 {
        self.value.to_f64().unwrap_or_default()
    }

    fn of(rule: &RuleLine) -> Option<Self> {
        let number = |text: &String| parse_exact(text.split(' ').next().unwrap_or_default());
        Some(Self {
            value: parse_exact(rule.value.as_ref()?)?,
            lower: rule.lower.as_ref().and_then(number),
            upper: rule.upper.as_ref().and_then(number),
            verdict: rule.verdict.clone(),
            expanded: rule.uncertainty.as_ref().map(|it| it.expanded.clone()),
        })
    }

    /// Over another length.
    fn stretched(&self, factor: &Rational) -> Self {
        let times = |value: &Rational| value * factor;
        let own = |own: &String| {
            parse_exact(own).map(|own| significant(times(&own).to_f64().unwrap_or_default(), 6))
        };
        Self {
            value: times(&self.value),
            lower: self.lower.as_ref().map(times),
            upper: self.upper.as_ref().map(times),
            verdict: self.verdict.clone(),
            expanded: self.expanded.as_ref().and_then(own),
        }
    }

    /// In another unit, and read the other way round where the words of the sign have changed places.
    fn brought(&self, from: Option<Unit>, to: Option<Unit>, turned: bool) -> Option<Self> {
        let convert = |value: &Rational| match (from, to) {
            (Some(from), Some(to)) => Unit::convert(&Real::Exact(value.clone()), from, to)?.exact().cloned(),
            (None, None) => Some(value.clone()),
            _ => None,
        };
        let number = |value: &Rational| convert(value).map(|value| if turned { -value } else { value });
        let (lower, upper) = match turned {
            true => (&self.upper, &self.lower),
            false => (&self.lower, &self.upper),
        };
        let expanded = self.expanded.as_ref().filter(|_| from == to).cloned();
        let limit = |limit: &Option<Rational>| limit.as_ref().and_then(number);
        Some(Self {
            value: number(&self.value)?,
            lower: limit(lower),
            upper: limit(upper),
            verdict: self.verdict.clone(),
            expanded,
        })
    }
}

/// The trend of one machine from its visits, oldest first. `labels` are those of each procedure, by the digest of its text.
pub fn build(
    machine: String,
    visits: &[Visit],
    labels: &HashMap<String, Labels>,
    left_out: Vec<LeftOut>,
) -> Trend {
    let none = Labels::default();
    let labels_of = |visit: &Visit| labels.get(&visit.digest).unwrap_or(&none);
    let mut keys: Vec<(String, String)> = Vec::new();
    for visit in visits.iter().rev() {
        for (step, rule) in visit.rules() {
            let key = (step.to_owned(), rule.to_owned());
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
    }
    let series = keys.iter().filter_map(|(step, rule)| series(step, rule, visits, &labels_of)).collect();
    let line = |visit: &Visit| VisitLine {
        day: visit.day().to_owned(),
        file: visit.file.clone(),
        title: visit.title.clone(),
        revision: labels_of(visit).program().and_then(|it| it.revision.clone()).unwrap_or_default(),
        verdict: visit.verdict.clone().unwrap_or_else(|| "unfinished".to_owned()),
        unsigned: !visit.signed,
        added: visit.added.clone(),
    };
    Trend { machine, visits: visits.iter().map(line).collect(), series, left_out }
}

fn series<'l>(
    step: &str,
    rule: &str,
    visits: &[Visit],
    labels_of: &dyn Fn(&Visit) -> &'l Labels<'l>,
) -> Option<Series> {
    // The newest that has it says in which unit and sense all is told.
    let newest = visits.iter().rev().find(|visit| visit.left(step, rule).is_some())?;
    let unit_of = |visit: &Visit| visit.left(step, rule).and_then(|left| left.rule.unit.clone());
    let sense_of = |visit: &Visit| {
        let place = visit.left(step, rule).and_then(|left| left.rule.place.clone());
        labels_of(visit).rule_sense(step, rule, place.as_deref())
    };
    let (unit, sense) = (unit_of(newest), sense_of(newest));
    let parse = |unit: Option<String>| unit.as_deref().and_then(Unit::parse);
    let one_length = one_length(step, rule, visits, newest);
    let mut points: Vec<Point> = Vec::new();
    let mut before: Option<(&Visit, Vec<(String, String)>)> = None;
    for visit in visits {
        let (Some(as_found), Some(as_left)) = (visit.found(step, rule), visit.left(step, rule)) else {
            continue;
        };
        let time = as_found.time;
        let (Some(found), Some(left)) = (Figure::of(as_found.rule), Figure::of(as_left.rule)) else {
            continue;
        };
        let own = sense_of(visit);
        let turned = match (&own, &sense) {
            (Some(own), Some(sense)) => own.plus == sense.minus && own.minus == sense.plus,
            _ => false,
        };
        let apart = (own != sense && !turned).then(|| "its sign meant something else".to_owned());
        let (from, to) = (parse(unit_of(visit)), parse(unit.clone()));
        let brought = found.brought(from, to, turned).zip(left.brought(from, to, turned));
        let apart =
            apart.or_else(|| brought.is_none().then(|| "it stood in a unit of another kind".to_owned()));
        let (mut found, mut left) = brought.filter(|_| apart.is_none()).unwrap_or((found, left));
        let mut apart = apart;
        if let Some(per) = &one_length {
            match (as_found.lengths, as_left.lengths) {
                (Some((_, over)), Some((_, last))) if !over.is_zero() && !last.is_zero() => {
                    (found, left) = (found.stretched(&(per / over)), left.stretched(&(per / last)));
                }
                _ => apart = apart.or(Some("its limit was not stated per length".to_owned())),
            }
        }
        let labels = labels_of(visit);
        let used_first = instruments_of(as_found.instruments, step, labels);
        let used_last = instruments_of(as_left.instruments, step, labels);
        let mut breaks = Vec::new();
        if let Some((last, used)) = &before {
            if last.digest != visit.digest {
                breaks.push(match labels.program().and_then(|it| it.revision.clone()) {
                    Some(revision) => format!("procedure changed, now revision {revision}"),
                    None => "procedure changed".to_owned(),
                });
            }
            let changed = used_first.iter().filter(|it| !used.contains(it));
            breaks.extend(changed.map(|(name, number)| format!("{name} is now {number}")));
        }
        // Exchanged between the first try and the last: what lies between is no work on the machine alone.
        let changed = used_last.iter().filter(|it| !used_first.contains(it));
        breaks.extend(changed.map(|(name, number)| format!("{name} was {number} when it was left")));
        before = Some((visit, used_last));
        let day = time.get(..10).unwrap_or_default().to_owned();
        let Some(years) = visit::years(time) else { continue };
        let (file, added) = (visit.file.clone(), !visit.added.is_empty());
        points.push(Point { day, years, file, found, left, breaks, turned, apart, added });
    }
    if points.is_empty() {
        return None;
    }
    let drift = drift(&points);
    let labels = labels_of(newest);
    let per = one_length.map(|per| text::over(&per)).unwrap_or_default();
    Some(Series {
        step: step.to_owned(),
        title: labels.step_title(step),
        what: format!("{}{per}", labels.rule(step, rule)),
        unit: unit.filter(|unit| unit != "1"),
        sense,
        points,
        drift,
    })
}

/// The length that the newest limit is stated for, where it was not read over the same length at each visit: all are
/// brought to it then.
fn one_length(step: &str, rule: &str, visits: &[Visit], newest: &Visit) -> Option<Rational> {
    let (per, over) = newest.left(step, rule)?.lengths?;
    let told = visits.iter().flat_map(|visit| [visit.found(step, rule), visit.left(step, rule)]).flatten();
    let differs = told.map(|it| it.lengths).any(|lengths| lengths.is_none_or(|(_, other)| other != over));
    differs.then(|| per.clone())
}

/// Those of the instruments that a step reads with.
fn instruments_of(used: &[(String, String)], step: &str, labels: &Labels) -> Vec<(String, String)> {
    let Some((program, plan)) = labels.program().zip(labels.step(step)) else { return Vec::new() };
    let readings = plan.items.iter().filter_map(|item| match item {
        Item::Reading(id) => program.values.get(id.0),
        _ => None,
    });
    let mut names: Vec<&str> = Vec::new();
    for value in readings {
        if let Role::Reading(reading) = &value.role {
            let own = reading.instruments.iter().filter_map(|it| program.instruments.get(it.0));
            names.extend(own.map(|it| it.name.as_str()));
        }
    }
    used.iter().filter(|(name, _)| names.contains(&name.as_str())).cloned().collect()
}

/// All points as a table: a point a row, for further use.
pub fn table(trend: &Trend) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "machine", "day", "record", "step", "what", "try", "value", "unit", "lower", "upper", "U", "verdict",
        "compared", "remarks",
    ])?;
    for series in &trend.series {
        for point in &series.points {
            for (which, figure) in [("as found", &point.found), ("as left", &point.left)] {
                let limit = |limit: &Option<Rational>| limit.as_ref().map(exact_text).unwrap_or_default();
                writer.write_record([
                    trend.machine.as_str(),
                    &point.day,
                    &point.file,
                    &series.step,
                    &series.what,
                    which,
                    &exact_text(&figure.value),
                    series.unit.as_deref().unwrap_or_default(),
                    &limit(&figure.lower),
                    &limit(&figure.upper),
                    figure.expanded.as_deref().unwrap_or_default(),
                    &figure.verdict,
                    if point.apart.is_none() { "yes" } else { "no" },
                    &point.remarks(),
                ])?;
            }
        }
    }
    writer.into_inner().map_err(|fault| csv::Error::from(fault.into_error()))
}
