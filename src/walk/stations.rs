//! The stations of an axis as they are on this walk: ranges, feet stepped along, lists, repeats.
//!
//! They may hang on facts and on observations. A station is named as it is written on the record: `300 mm`, `180 deg`,
//! `first`. Nothing here reads values; the evaluator gives them.

use std::collections::HashSet;
use std::rc::Rc;

use num_traits::{Signed, ToPrimitive, Zero};

use crate::check::program::{Axis, AxisId, Expr, Stations as Plan};
use crate::check::survey::LINES;
use crate::quantity::{Rational, Real, Unit};

use super::eval::Evaluator;
use super::text;
use super::value::{Cell, Scalar, Station, Stations};

/// More stations than anyone reads; a larger number is a fault in the facts.
pub const MOST_STATIONS: usize = 100_000;

impl Evaluator<'_> {
    /// The stations of several axes, outermost first. `Err`: what stands in the way (awaited, invalid).
    pub fn layout(&self, axes: &[AxisId]) -> Result<Vec<Rc<Stations>>, Cell> {
        let found = axes.iter().map(|axis| self.stations(*axis)).collect::<Result<Vec<_>, _>>()?;
        let count = found.iter().try_fold(1usize, |count, axis| count.checked_mul(axis.stations.len()));
        match count {
            Some(count) if count <= MOST_STATIONS => Ok(found),
            _ => Err(too_many()),
        }
    }

    /// The stations of one axis; of `times` as many as there may be.
    pub fn stations(&self, axis: AxisId) -> Result<Rc<Stations>, Cell> {
        if let Some(known) = self.known_stations(axis) {
            return known;
        }
        let found = match self.program.axes.get(axis.0) {
            Some(plan) => self.lay_out(axis, plan).map(Rc::new),
            None => Err(Cell::invalid("there is no such axis")),
        };
        self.keep_stations(axis, found.clone());
        found
    }

    /// As `layout`, for what is about to be entered: a series has no rows yet.
    pub fn layout_of_row(&self, axes: &[AxisId]) -> Result<Vec<Rc<Stations>>, Cell> {
        let time = |axis: &&AxisId| {
            self.program.axes.get(axis.0).is_some_and(|plan| matches!(plan.stations, Plan::Time { .. }))
        };
        let empty = axes.first().filter(time).map(|axis| {
            let axis = self.axis_name(*axis).into();
            Rc::new(Stations { axis, stations: Vec::new(), closing: false, foot: None })
        });
        let inner = axes.get(usize::from(empty.is_some())..).unwrap_or_default();
        Ok(empty.into_iter().chain(self.layout(inner)?).collect())
    }

    fn lay_out(&self, id: AxisId, plan: &Axis) -> Result<Stations, Cell> {
        let mut foot = None;
        let mut stations: Vec<Station> = match &plan.stations {
            Plan::Words(words) => words.iter().map(|word| named(word)).collect(),
            Plan::Values { values, unit } => {
                values.iter().map(|value| self.listed_value(value, *unit)).collect::<Result<Vec<_>, _>>()?
            }
            Plan::Range { from, to, step, up_to, unit } => {
                let (first, step, count) = self.steps(from, to, step, *up_to, *unit)?;
                places(&first, &step, count.saturating_add(1), *unit)?
            }
            Plan::Stepped { from, to, step, up_to, unit } => {
                let (first, step, count) = self.steps(from, to, step, *up_to, *unit)?;
                if count == 0 {
                    return Err(Cell::invalid(format!(
                        "not one foot of {} fits",
                        text::name(&step.abs(), *unit)
                    )));
                }
                foot = Some(Real::Exact(step.clone()));
                places(&first, &step, count, *unit)?
            }
            Plan::Listed { .. } => {
                let items = self.scope.listed(id).ok_or(Cell::Awaited)?;
                items.iter().map(|item| named(item)).collect()
            }
            Plan::Time { reading } => self.scope.rows(*reading).ok_or(Cell::Awaited)?,
            Plan::Survey(survey) => survey.foot_names().iter().map(|foot| named(foot)).collect(),
            Plan::SurveyLines(_) => LINES.iter().map(|line| named(line)).collect(),
            Plan::Repeat { most, .. } => (1..=*most).map(|number| named(&number.to_string())).collect(),
        };
        if stations.len() > MOST_STATIONS {
            return Err(too_many());
        }
        let mut seen = HashSet::new();
        if let Some(twice) = stations.iter().find(|station| !seen.insert(station.name.clone())) {
            return Err(Cell::invalid(format!("{} has {} twice", plan.name, twice.name)));
        }
        if plan.closing
            && let Some(first) = stations.first()
        {
            let again =
                Station { name: format!("{} again", first.name).into(), position: first.position.clone() };
            stations.push(again);
        }
        Ok(Stations { axis: plan.name.as_str().into(), stations, closing: plan.closing, foot })
    }

    fn listed_value(&self, value: &Expr, unit: Unit) -> Result<Station, Cell> {
        match self.single(value) {
            Cell::Known(Scalar::Number(position)) => {
                Ok(Station { name: text::name(&position, unit).into(), position: Some(position) })
            }
            Cell::Known(Scalar::Word(word) | Scalar::Text(word)) => Ok(named(&word)),
            Cell::Known(_) | Cell::OpenEnded { .. } => Err(Cell::invalid("a station cannot be this")),
            missing => Err(missing),
        }
    }

    /// First place, step with its sign, and how many whole steps lie in the range.
    fn steps(
        &self,
        from: &Expr,
        to: &Expr,
        step: &Expr,
        up_to: bool,
        unit: Unit,
    ) -> Result<(Rational, Rational, usize), Cell> {
        let exact = |expr: &Expr| match self.single(expr) {
            Cell::Known(Scalar::Number(value)) => Ok(value.middle()),
            Cell::Known(_) | Cell::OpenEnded { .. } => Err(Cell::invalid("stations need exact places")),
            missing => Err(missing),
        };
        let (from, to, step) = (exact(from)?, exact(to)?, exact(step)?);
        let shown = |value: &Rational| text::name(value, unit);
        if !step.is_positive() {
            return Err(Cell::invalid(format!("stations cannot go on by {}", shown(&step))));
        }
        let length = &to - &from;
        let fitting = length.abs() / &step;
        if !up_to && !fitting.is_integer() {
            return Err(Cell::invalid(format!(
                "{} does not divide the way from {} to {}",
                shown(&step),
                shown(&from),
                shown(&to)
            )));
        }
        if up_to && length.is_negative() {
            return Err(Cell::invalid(format!("{} is before {}", shown(&to), shown(&from))));
        }
        let count = fitting.floor().to_usize().filter(|count| *count < MOST_STATIONS).ok_or_else(too_many)?;
        let step = if length.is_negative() { -step } else { step };
        Ok((from, step, count))
    }
}

fn places(first: &Rational, step: &Rational, count: usize, unit: Unit) -> Result<Vec<Station>, Cell> {
    if count > MOST_STATIONS || step.is_zero() {
        return Err(too_many());
    }
    let mut place = first.clone();
    let mut stations = Vec::with_capacity(count);
    for _ in 0..count {
        stations.push(station(place.clone(), unit));
        place += step;
    }
    Ok(stations)
}

fn station(place: Rational, unit: Unit) -> Station {
    Station { name: text::name(&place, unit).into(), position: Some(Real::Exact(place)) }
}

fn named(word: &str) -> Station {
    Station { name: word.into(), position: None }
}

fn too_many() -> Cell {
    Cell::invalid(format!("more than {MOST_STATIONS} stations"))
}

/// The stations of heights over feet stepped along: where each foot begins, and where the last one ends.
pub(super) fn with_far_end(axis: &Stations, unit: Unit) -> Option<Stations> {
    let foot = axis.foot.as_ref()?;
    let last = axis.open().last()?.position.as_ref()?;
    let mut stations = axis.open().to_vec();
    stations.push(station((last + foot).middle(), unit));
    Some(Stations { axis: axis.axis.clone(), stations, closing: false, foot: None })
}

pub(super) fn named_station(stations: &Stations, word: &str) -> Option<usize> {
    let by_name = stations.stations.iter().position(|station| &*station.name == word);
    let last = || stations.open().len().checked_sub(1);
    by_name.or_else(|| match word {
        "first" => last().map(|_| 0),
        "last" => last(),
        _ => None,
    })
}

pub(super) fn numbered_station(stations: &Stations, wanted: &Real) -> Option<usize> {
    stations.stations.iter().position(|station| match &station.position {
        Some(position) => position.equals(wanted),
        None => wanted.exact().is_some_and(|exact| exact.to_string() == *station.name),
    })
}
