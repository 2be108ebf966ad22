//! What was entered, as expressions see it: as many repeats as were taken, nothing where a question does not apply, a reading
//! in div taken to the scale of its instrument.

use std::rc::Rc;

use crate::check::program::{
    Arithmetic, Expr, Instrument, InstrumentId, Kind, Literal, Reading, Role, Stations as Plan, Value,
    ValueId,
};
use crate::quantity::{Real, Unit};

use super::cells;
use super::eval::{Evaluator, map, zip};
use super::layout;
use super::value::{Cell, Laid, NOT_APPLICABLE, NOT_TAKEN};

impl<'a> Evaluator<'a> {
    /// What was entered, as it was read (in div too); awaited over its stations if nothing was. Of a `times` axis only as
    /// many stations as were taken.
    pub fn as_entered(&self, id: ValueId) -> Rc<Laid> {
        let Some(value) = self.program.values.get(id.0) else {
            return Rc::new(Laid::single(Cell::invalid("there is no such value")));
        };
        let entered = self.scope.entered(id).unwrap_or_else(|| match self.layout(&value.axes) {
            Ok(axes) => Laid::filled(axes, Cell::Awaited),
            Err(missing) => Laid::single(missing),
        });
        Rc::new(self.as_often_as_taken(value, entered))
    }

    fn as_often_as_taken(&self, value: &Value, mut laid: Laid) -> Laid {
        for id in &value.axes {
            let Some(axis) = self.program.axes.get(id.0) else { continue };
            let Plan::Repeat { least, most } = axis.stations else { continue };
            let Some(position) = laid.axes.iter().position(|own| *own.axis == *axis.name) else { continue };
            if least == most {
                continue;
            }
            let least = usize::try_from(least).unwrap_or(1).max(1);
            let taken = layout::gather(&laid, &[position], false)
                .groups()
                .map(|row| row.iter().rposition(|cell| **cell != Cell::Awaited).map_or(0, |last| last + 1))
                .max();
            let taken = taken.unwrap_or(0).max(least);
            laid = layout::shortened(&laid, position, taken);
            let Some(stations) = laid.axes.get(position).cloned() else { continue };
            // Where it was read less often than elsewhere, but often enough, the rest is no element at all.
            laid = layout::reshape(&laid, position, stations, |row| {
                let own = row.iter().rposition(|cell| **cell != Cell::Awaited).map_or(0, |last| last + 1);
                let missing = |place: usize| place >= own && own >= least;
                let cell = |(place, cell): (usize, &&Cell)| {
                    if missing(place) { Cell::NotRead(NOT_TAKEN.into()) } else { (*cell).clone() }
                };
                row.iter().enumerate().map(cell).collect()
            });
        }
        laid
    }

    /// Where `only when` does not hold there is no element.
    pub(super) fn applicable(&self, only_when: Option<&Expr>, entered: Rc<Laid>) -> Rc<Laid> {
        let Some(condition) = only_when else { return entered };
        let holds = self.expr(condition);
        let cell = |holds: &Cell, entered: &Cell| match holds.as_yes_no() {
            Some(true) => entered.clone(),
            Some(false) => Cell::NotRead(NOT_APPLICABLE.into()),
            None => holds.clone(),
        };
        if holds.axes.is_empty() && holds.cells.first().and_then(Cell::as_yes_no) == Some(true) {
            return entered;
        }
        zip(&holds, &entered, cell)
    }

    pub(super) fn scaled(&self, id: ValueId, value: &Value, entered: Rc<Laid>) -> Rc<Laid> {
        if value.unit != Some(Unit::Div) {
            return entered;
        }
        match self.scale(id) {
            Some(scale) => map(&entered, |cell| {
                cells::arithmetic(Arithmetic::Multiply, cell, &Cell::number(scale.clone()))
            }),
            None => entered,
        }
    }

    fn instrument(&self, reading: ValueId) -> Option<&'a Instrument> {
        let Some(Role::Reading(plan)) = self.program.values.get(reading.0).map(|value| &value.role) else {
            return None;
        };
        let taken = self.scope.taken(reading).pop().unwrap_or_default();
        self.instrument_of(plan, taken.used.instrument)
    }

    /// The instrument of a set: the one in use, else the first that the reading names.
    pub(super) fn instrument_of(
        &self,
        reading: &Reading,
        used: Option<InstrumentId>,
    ) -> Option<&'a Instrument> {
        let id = used.or_else(|| reading.instruments.first().copied())?;
        self.program.instruments.get(id.0)
    }

    pub(super) fn scale(&self, reading: ValueId) -> Option<Real> {
        self.instrument(reading)?.scale.as_ref().map(in_base)
    }

    /// Least step that can be read of a reading, with the instrument in use, in the base unit of what the reading means.
    pub fn resolution(&self, reading: ValueId) -> Option<Real> {
        let instrument = self.instrument(reading)?;
        let taken = self.scope.taken(reading).pop().unwrap_or_default();
        let stated = taken.used.properties.resolution.as_ref().or(instrument.resolution.as_ref())?;
        Some(meant(instrument, stated))
    }

    /// The kind and unit in which a value is shown.
    pub fn shown_in(&self, id: ValueId) -> Option<Unit> {
        let value = self.program.values.get(id.0)?;
        match (&value.kind, value.unit) {
            // A reading in div is judged as what it means; without a scale it stays a number of divisions.
            (_, Some(Unit::Div)) => {
                let scale = self.instrument(id).and_then(|instrument| instrument.scale.as_ref());
                Some(scale.map_or(Unit::Div, |scale| scale.unit))
            }
            (_, Some(unit)) => Some(unit),
            (Kind::Quantity(dimension) | Kind::Arrow(dimension), None) => Unit::usual(*dimension),
            (Kind::Point, None) => Some(Unit::DegC),
            _ => None,
        }
    }
}

/// A size that is stated of an instrument, in the base unit of what a reading with it means.
pub(super) fn meant(instrument: &Instrument, stated: &Literal) -> Real {
    match &instrument.scale {
        Some(scale) if stated.unit == Unit::Div => &Real::Exact(stated.number.clone()) * &in_base(scale),
        _ => in_base(stated),
    }
}

fn in_base(literal: &Literal) -> Real {
    literal.unit.to_base(&Real::Exact(literal.number.clone()))
}
