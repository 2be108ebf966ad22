//! How the entries of one value go over: to which value, in which order of axes, into which unit, with which sign.

use std::rc::Rc;

use crate::check::program::{Axis, AxisId, Kind, Pair, Program, Rise, Role, Stations, Value, ValueId};
use crate::quantity::{Rational, Real, Sense, Unit, parse_exact, record_text};
use crate::walk::directory::Directory;
use crate::walk::eval::Evaluator;
use crate::walk::event::Answer;
use crate::walk::machine::Machine;
use crate::walk::text;
use crate::walk::view::View;
use crate::walk::wording::{parse_literal, sense_at};

use super::Entered;

#[derive(Debug)]
pub(super) enum Way {
    Over(Passage),
    /// The other procedure has no such value.
    NotAsked,
    /// It has one, and the entries do not fit it.
    Not(String),
}

#[derive(Clone, Debug)]
pub(super) struct Passage {
    old: ValueId,
    new: ValueId,
    axes: Rc<[Along]>,
    from: Scale,
    to: Scale,
    /// The words that may be answered.
    words: Option<Rc<[String]>>,
}

/// An axis of the other procedure: which of the record's it is, and in which unit its stations are named.
#[derive(Clone, Debug)]
struct Along {
    old: usize,
    unit: Option<Unit>,
    /// What plus means along the stations, then and under the other.
    rises: Option<(Rise, Rise)>,
}

/// What a number stands in: a unit, or divisions of so much.
#[derive(Clone, Debug, PartialEq)]
enum Scale {
    Plain,
    In(Unit),
    Divisions(Real),
}

pub(super) fn find(from: &Machine, old: &Directory, to: &Machine, entered: &Entered) -> Way {
    let step = |directory: &Directory| entered.step.as_ref().map(|step| directory.step(step));
    let id = |directory: &Directory| match step(directory) {
        Some(None) => None,
        Some(step) => directory.value(step, &entered.name),
        None => directory.value(None, &entered.name),
    };
    let (Some(old_id), Some(new_id)) = (id(old), id(&to.directory)) else { return Way::NotAsked };
    let (program, other) = (from.program(), to.program());
    let (Some(was), Some(is)) = (program.values.get(old_id.0), other.values.get(new_id.0)) else {
        return Way::NotAsked;
    };
    if role(was) != role(is) {
        return Way::Not(format!("it was {} and is now {}", role(was), role(is)));
    }
    if !same_kind(&was.kind, &is.kind) {
        return Way::Not(format!("it was {} and is now {}", kind_words(&was.kind), kind_words(&is.kind)));
    }
    let axes = match axes(from, was, to, is) {
        Ok(axes) => axes,
        Err(why) => return Way::Not(why),
    };
    let scale_of = |machine: &Machine, id: ValueId, value: &Value| match value.unit {
        None => Scale::Plain,
        Some(Unit::Div) => {
            let view = View::latest(machine.program(), machine.state());
            match Evaluator::new(machine.program(), &view).scale(id) {
                Some(scale) => Scale::Divisions(scale),
                None => Scale::In(Unit::Div),
            }
        }
        Some(unit) => Scale::In(unit),
    };
    let words = match &is.kind {
        Kind::Choice(words) => Some(words.clone().into()),
        _ => None,
    };
    let (from, to) = (scale_of(from, old_id, was), scale_of(to, new_id, is));
    Way::Over(Passage { old: old_id, new: new_id, axes: axes.into(), from, to, words })
}

fn role(value: &Value) -> &'static str {
    match value.role {
        Role::Fact { .. } => "a fact",
        Role::Let(_) => "a result",
        Role::Reading(_) => "a reading",
        Role::Observation { .. } => "an observation",
        Role::Adjustment { .. } => "an adjustment",
    }
}

fn same_kind(was: &Kind, is: &Kind) -> bool {
    match (was, is) {
        (Kind::Choice(_), Kind::Choice(_)) => true,
        (was, is) => was == is,
    }
}

fn kind_words(kind: &Kind) -> String {
    match kind {
        Kind::Quantity(dimension) => dimension.name().to_owned(),
        Kind::Point => "a temperature".to_owned(),
        Kind::Arrow(_) => "an arrow".to_owned(),
        Kind::Choice(_) => "a choice of words".to_owned(),
        Kind::YesNo => "yes or no".to_owned(),
        Kind::Text => "a text".to_owned(),
        Kind::Date => "a date".to_owned(),
        Kind::Count => "a count".to_owned(),
        Kind::Photo => "a photograph".to_owned(),
    }
}

fn axes(from: &Machine, was: &Value, to: &Machine, is: &Value) -> Result<Vec<Along>, String> {
    let of = |program: &Program, ids: &[AxisId]| -> Vec<Axis> {
        ids.iter().filter_map(|id| program.axes.get(id.0)).cloned().collect()
    };
    let (before, after) = (of(from.program(), &was.axes), of(to.program(), &is.axes));
    let names = |axes: &[Axis]| match axes {
        [] => "one value".to_owned(),
        axes => format!("over {}", axes.iter().map(|axis| axis.name.as_str()).collect::<Vec<_>>().join(", ")),
    };
    let differ = || format!("it was read {} and is now read {}", names(&before), names(&after));
    if before.len() != after.len() {
        return Err(differ());
    }
    after
        .iter()
        .map(|axis| {
            let old = before.iter().position(|it| it.name == axis.name).ok_or_else(differ)?;
            let Some(earlier) = before.get(old) else { return Err(differ()) };
            same_stations(from, earlier, to, axis)?;
            let unit = match &axis.stations {
                Stations::Values { unit, .. }
                | Stations::Range { unit, .. }
                | Stations::Stepped { unit, .. } => Some(*unit),
                _ => None,
            };
            Ok(Along { old, unit, rises: earlier.rise.zip(axis.rise) })
        })
        .collect()
}

/// Stations of one name that are not the same thing: feet of another length, lines of another plate, a pair that is taken
/// apart the other way.
fn same_stations(from: &Machine, was: &Axis, to: &Machine, is: &Axis) -> Result<(), String> {
    if let (Some(before), Some(after)) = (&was.pair, &is.pair) {
        let differ = match (before, after) {
            (Pair::Stays(was), Pair::Turns(is)) => {
                Some((format!("stayed with the {was}"), format!("turns with the {is}")))
            }
            (Pair::Turns(was), Pair::Stays(is)) => {
                Some((format!("turned with the {was}"), format!("stays with the {is}")))
            }
            (Pair::Stays(_), Pair::Stays(_)) | (Pair::Turns(_), Pair::Turns(_)) => None,
        };
        if let Some((was, is)) = differ {
            return Err(format!("its sense {was} and now {is}"));
        }
    }
    match (&was.stations, &is.stations) {
        (Stations::Survey(before), Stations::Survey(after)) if before != after => {
            Err("the survey has lines or feet of another length now".to_owned())
        }
        (Stations::Stepped { step: before, .. }, Stations::Stepped { step: after, .. }) => {
            let foot = |machine: &Machine, expr| {
                let view = View::latest(machine.program(), machine.state());
                Evaluator::new(machine.program(), &view).single(expr)
            };
            let (before, after) = (foot(from, before), foot(to, after));
            match before == after {
                true => Ok(()),
                false => Err(format!(
                    "the foot was {} long and is now {}",
                    text::cell(&before, Some(Unit::Mm)),
                    text::cell(&after, Some(Unit::Mm))
                )),
            }
        }
        (Stations::Stepped { .. }, _) | (_, Stations::Stepped { .. }) => {
            Err("it was read along a length and is now stepped along it, or the other way round".to_owned())
        }
        _ => Ok(()),
    }
}

impl Passage {
    /// Stations in the order and the units of the other procedure.
    pub fn stations(&self, old: &[String]) -> Vec<String> {
        let along = |axis: &Along| old.get(axis.old).map(|name| renamed(name, axis.unit)).unwrap_or_default();
        self.axes.iter().map(along).collect()
    }

    /// The conversion in words, if there is one.
    pub fn converted(&self) -> Option<String> {
        let words = |scale: &Scale| match scale {
            Scale::Plain => String::new(),
            Scale::In(unit) => unit.symbol().to_owned(),
            Scale::Divisions(scale) => format!("div of {}", scale_words(scale)),
        };
        (self.from != self.to).then(|| format!("{} taken as {}", words(&self.from), words(&self.to)))
    }

    /// Whether the sign is to be turned round; `Err`: nobody can know what it meant.
    pub fn sense_of(&self, old: &Program, new: &Program, stations: &[String]) -> Result<bool, String> {
        let was = sense_at(old, self.old, stations);
        let is = sense_at(new, self.new, &self.stations(stations));
        let turned = match (&was, &is) {
            (None, None) => false,
            (Some(was), Some(is)) if was == is => false,
            (Some(was), Some(is)) if was.flipped() == *is => true,
            _ => {
                return Err(format!(
                    "plus meant {} and now means {}",
                    quoted(was.as_ref()),
                    quoted(is.as_ref())
                ));
            }
        };
        let along_the_other_way =
            self.axes.iter().filter_map(|axis| axis.rises).any(|(before, after)| (before == after) == turned);
        match along_the_other_way {
            true => Err("what plus means along the stations is said the other way round".to_owned()),
            false => Ok(turned),
        }
    }

    /// Plus and minus as they were.
    pub fn turned_words(&self, old: &Program, stations: &[String]) -> Option<(String, String)> {
        sense_at(old, self.old, stations).map(|sense| (sense.plus, sense.minus))
    }

    /// The answer in the unit of the other procedure. What was typed stays as it was.
    pub fn answer(&self, answer: &Answer, turned: bool) -> Result<Answer, String> {
        if let Some(words) = &self.words
            && !words.contains(&answer.value)
        {
            return Err(format!("\"{}\" is no longer one of {}", answer.value, words.join(", ")));
        }
        if self.from == self.to && !turned {
            return Ok(answer.clone());
        }
        let (open, number) = match answer.value.split_once(' ') {
            Some(("over", rest)) => (Some(true), rest),
            Some(("below", rest)) => (Some(false), rest),
            _ => (None, answer.value.as_str()),
        };
        let exact = parse_exact(number).ok_or_else(|| format!("\"{}\" is no number", answer.value))?;
        let value = self.number(&exact, turned).ok_or_else(|| "its scale is zero".to_owned())?;
        let value = record_text(&value);
        let value = match open {
            // What was above it lies below once it is turned round.
            Some(above) => format!("{} {value}", if above != turned { "over" } else { "below" }),
            None => value,
        };
        Ok(Answer { value, ..answer.clone() })
    }

    /// An uncertainty, which has neither sign nor zero point.
    pub fn size(&self, text: &str) -> Option<String> {
        let exact = parse_exact(text)?;
        let plain = |scale: &Scale| match scale {
            Scale::In(unit) => Scale::In(unit.of_differences()),
            other => other.clone(),
        };
        let plain = Self { from: plain(&self.from), to: plain(&self.to), ..self.clone() };
        Some(record_text(&plain.number(&exact, false)?))
    }

    fn number(&self, exact: &Rational, turned: bool) -> Option<Real> {
        let read = Real::Exact(if turned { -exact.clone() } else { exact.clone() });
        if self.from == self.to {
            return Some(read);
        }
        let base = match &self.from {
            Scale::Plain => read,
            Scale::In(unit) => unit.to_base(&read),
            Scale::Divisions(scale) => &read * scale,
        };
        match &self.to {
            Scale::Plain => Some(base),
            Scale::In(unit) => Some(unit.from_base(&base)),
            Scale::Divisions(scale) => base.div(scale),
        }
    }
}

fn scale_words(scale: &Real) -> String {
    text::name(scale, Unit::MmPerM)
}

fn quoted(sense: Option<&Sense>) -> String {
    match sense {
        Some(sense) => format!("\"{}\"", sense.plus),
        None => "nothing: it has no direction".to_owned(),
    }
}

/// A station that is a place, in the unit in which it is named now; any other as it is.
fn renamed(name: &str, unit: Option<Unit>) -> String {
    let (bare, again) = match name.strip_suffix(AGAIN) {
        Some(bare) => (bare, AGAIN),
        None => (name, ""),
    };
    let place = parse_literal(bare).zip(unit).filter(|(place, unit)| place.unit.converts_to(*unit));
    match place {
        Some((place, unit)) if place.unit != unit => {
            let base = place.unit.to_base(&Real::Exact(place.number));
            format!("{}{again}", text::name(&base, unit))
        }
        _ => name.to_owned(),
    }
}

/// Behind the station of a closing axis that is read a second time.
const AGAIN: &str = " again";
