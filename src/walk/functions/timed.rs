//! One value along the times of a series: what it did over its last span, and where it seems to be going.

use std::rc::Rc;

use crate::check::program::{AxisId, Function, Stations as Plan, ValueId};
use crate::metrology::{self, Fault, Projection};
use crate::quantity::{Dimension, Real};
use crate::walk::eval::{Evaluator, one};
use crate::walk::layout;
use crate::walk::value::{Cell, Laid, Station};

use super::numbers;

/// One value over the times of a series; `axes` are those of its expression.
pub(in crate::walk) struct Timed<'e> {
    pub evaluator: &'e Evaluator<'e>,
    pub argument: &'e Rc<Laid>,
    pub axes: &'e [AxisId],
}

/// Times and values that go together.
type Points = (Vec<Real>, Vec<Real>);

impl Timed<'_> {
    pub(super) fn call(&self, function: Function, span: &Cell) -> Rc<Laid> {
        match function {
            Function::Change => self.over_span(span, metrology::change),
            Function::Rate => self.over_span(span, metrology::rate),
            Function::SettlesAt => self.projected(|projection| Ok(projection.end)),
            Function::TimeToRate => match (span.as_number(), span) {
                (Some(rate), _) => self.projected(|projection| projection.time_to_rate(rate)),
                (None, missing) => one(missing.clone()),
            },
            _ => self.projected(|projection| Ok(projection.time_constant)),
        }
    }

    /// Something of the last span. Until the span is covered it is awaited; if the series is over, it cannot be told.
    pub(in crate::walk) fn over_span(
        &self,
        span: &Cell,
        with: impl Fn(&[Real], &[Real], &Real) -> Result<Real, Fault>,
    ) -> Rc<Laid> {
        let span = match (span.as_number(), span) {
            (Some(span), _) => span.clone(),
            (None, missing) => return one(missing.clone()),
        };
        let is_over = self.is_over();
        self.each(|(times, values)| match with(&times, &values, &span) {
            Ok(value) => Cell::number(value),
            Err(Fault::NotCovered | Fault::TooFew { .. }) if !is_over => Cell::Awaited,
            Err(Fault::NotCovered) => Cell::invalid("the series ended before so much time was covered"),
            Err(fault) => Cell::invalid(fault.to_string()),
        })
    }

    fn projected(&self, with: impl Fn(Projection) -> Result<Real, Fault>) -> Rc<Laid> {
        let is_over = self.is_over();
        self.each(|(times, values)| match projection(&times, &values).and_then(&with) {
            Ok(value) => Cell::number(value),
            Err(Fault::TooFew { .. }) if !is_over => Cell::Awaited,
            Err(fault) => Cell::invalid(fault.to_string()),
        })
    }

    fn each(&self, with: impl Fn(Points) -> Cell) -> Rc<Laid> {
        let Some((position, stations)) = self.times() else {
            let missing = Cell::gravest(&self.argument.cells).cloned();
            return one(missing.unwrap_or_else(|| Cell::invalid("it has no times")));
        };
        let into = |group: &[&Cell]| match self.points(&stations, group) {
            Ok(points) => with(points),
            Err(missing) => missing,
        };
        Rc::new(layout::collapse(self.argument, &[position], into))
    }

    /// The axis of times among those of the value: where it stands, and its stations.
    fn times(&self) -> Option<(usize, Vec<Station>)> {
        let plan = |axis: &AxisId| self.evaluator.program.axes.get(axis.0);
        let time = self.axes.iter().filter_map(plan).find(|plan| plan.dimension == Some(Dimension::TIME))?;
        let position = self.argument.axes.iter().position(|own| *own.axis == *time.name)?;
        Some((position, self.argument.axes.get(position)?.open().to_vec()))
    }

    /// What was read, at its times. A row that is being taken is not looked at yet: its last time counts when all of
    /// it is there.
    fn points(&self, stations: &[Station], group: &[&Cell]) -> Result<Points, Cell> {
        let read = |cell: &&Cell| !matches!(cell, Cell::NotRead(_));
        let count = group.iter().rposition(|cell| **cell != Cell::Awaited).map_or(0, |last| last + 1);
        let taken = group.get(..count).unwrap_or_default();
        let values: Vec<&Cell> = taken.iter().copied().filter(read).collect();
        let values = numbers(&values)?;
        let placed = stations.iter().zip(taken).filter(|(_, cell)| read(cell));
        let times: Vec<Real> = placed.filter_map(|(station, _)| station.position.clone()).collect();
        match times.len() == values.len() {
            true => Ok((times, values)),
            false => Err(Cell::invalid("it has no times")),
        }
    }

    fn is_over(&self) -> bool {
        let reading = |axis: &AxisId| match self.evaluator.program.axes.get(axis.0)?.stations {
            Plan::Time { reading } => Some(reading),
            _ => None,
        };
        self.axes
            .iter()
            .find_map(reading)
            .is_none_or(|reading: ValueId| self.evaluator.scope.is_over(reading))
    }
}

/// By least squares through all rows; of just three that stand equally far apart, in closed form.
fn projection(times: &[Real], values: &[Real]) -> Result<Projection, Fault> {
    if let ([first, second, third], [a, b, c]) = (times, values) {
        let step = second - first;
        if step.equals(&(third - second)) {
            return metrology::three_point(&step, [a, b, c]);
        }
    }
    metrology::first_order(times, values, None)
}
