//! One value along its axes: which stations take part, and what comes of them.

use std::rc::Rc;

use crate::check::program::{Arithmetic, Axis, AxisId, By, Function, Pair, Rise, Stations as Plan};
use crate::metrology::{self, Fault, Reference, Tilt};
use crate::quantity::Real;
use crate::walk::eval::{Evaluator, one};
use crate::walk::stations::with_far_end;
use crate::walk::value::{Cell, Laid, Scalar, Station, Stations};
use crate::walk::{cells, layout};

use super::{evaluate, nothing_listed, numbers, result, with_numbers};

/// Which stations a function must have.
#[derive(Clone, Copy)]
pub(super) enum Needs {
    AtLeast(usize),
    /// The first and the last.
    Ends,
    All,
}

/// The stations of a group that take part, by their place in it.
pub(super) type Left = Vec<usize>;

/// One value along its axes.
pub(super) struct Along<'e> {
    pub evaluator: &'e Evaluator<'e>,
    pub argument: &'e Rc<Laid>,
    pub over: &'e [AxisId],
    /// The axes of the argument, where `over` names none.
    pub axes: &'e [AxisId],
    pub decibel: bool,
    /// The argument is of arrows.
    pub arrows: bool,
}

impl Along<'_> {
    pub fn call(&self, function: Function, by: Option<By>) -> Rc<Laid> {
        self.try_call(function, by).unwrap_or_else(one)
    }

    fn try_call(&self, function: Function, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        let ends = by == Some(By::Ends);
        let reference = match by {
            Some(By::LeastSquares) => Reference::LeastSquares,
            Some(By::MinimumZone) => Reference::MinimumZone,
            _ => Reference::Ends,
        };
        let two = if ends { Needs::Ends } else { Needs::AtLeast(2) };
        if self.arrows && matches!(function, Function::Mean | Function::Machine | Function::Artefact) {
            return self.over_arrows(function);
        }
        match function {
            Function::Eccentricity | Function::Roundness => self.round_a_turn(function, by),
            Function::Accuracy
            | Function::Repeatability
            | Function::SystematicDeviation
            | Function::MeanDeviationRange
            | Function::ReversalValue => self.positioning(function, by),
            Function::Flatness => self.flatness(by),
            Function::Ordinates if self.over.len() == 2 => self.plane_ordinates(by),
            Function::Span => self.span(),
            Function::First | Function::Last => {
                let last = function == Function::Last;
                self.each(|group| {
                    let cell = if last { group.last() } else { group.first() };
                    cell.map_or_else(nothing_listed, |cell| (*cell).clone())
                })
            }
            Function::Gain => self.each(|group| match self.taking_part(group, Needs::Ends) {
                Ok(_) => with_numbers(
                    &[group.first(), group.last()].into_iter().flatten().copied().collect::<Vec<_>>(),
                    metrology::gain,
                ),
                Err(missing) => missing,
            }),
            Function::Slope => self.placed(two, metrology::slope),
            Function::Taper => self.placed(two, |places, values| metrology::taper(places, values, reference)),
            Function::Straightness => {
                self.placed(two, |places, values| metrology::straightness(places, values, reference))
            }
            Function::Hump => self.placed(two, |places, values| metrology::hump(places, values, reference)),
            Function::Hollow => {
                self.placed(two, |places, values| metrology::hollow(places, values, reference))
            }
            Function::Ordinates => self.ordinates(two, reference),
            Function::Heights => self.heights(),
            Function::Machine => self.pair(true),
            Function::Artefact => self.pair(false),
            Function::PlateMap => self.plate_map(by),
            Function::Closure if self.is_survey() => self.survey_closure(),
            Function::Closure => self.closure(),
            Function::Backlash => self.backlash(),
            Function::StationOfGreatest => self.station_of(true),
            Function::StationOfLeast => self.station_of(false),
            _ => {
                let needs = match function {
                    Function::Stdev | Function::Runout => Needs::AtLeast(2),
                    // Each is held against the one before it.
                    Function::Lag1 | Function::WorstStep => Needs::All,
                    Function::Count => Needs::AtLeast(0),
                    _ => Needs::AtLeast(1),
                };
                if self.decibel && function == Function::Mean {
                    self.evaluator.note("mean of the energies".into());
                }
                self.each(|group| match self.taking_part(group, needs) {
                    Ok(left) => {
                        let cells: Vec<&Cell> =
                            left.iter().filter_map(|place| group.get(*place).copied()).collect();
                        evaluate(function, self.decibel, &cells)
                    }
                    Err(missing) => missing,
                })
            }
        }
    }

    /// The positions of the axes that are gathered.
    pub(super) fn positions(&self) -> Result<Vec<usize>, Cell> {
        if self.over.is_empty() {
            return Ok((0..self.argument.axes.len()).collect());
        }
        let position = |axis: &AxisId| {
            let name = self.evaluator.axis_name(*axis);
            self.argument.axes.iter().position(|own| *own.axis == *name).ok_or_else(|| {
                // Before its stations are known a value is a single cell that says why.
                let missing = Cell::gravest(&self.argument.cells).filter(|_| self.argument.axes.is_empty());
                missing.cloned().unwrap_or_else(|| Cell::invalid(format!("there are no stations of {name}")))
            })
        };
        self.over.iter().map(position).collect()
    }

    /// The one axis that is gathered: its position, its stations and how it was declared.
    pub(super) fn axis(&self) -> Result<(usize, Rc<Stations>), Cell> {
        match self.positions()?.as_slice() {
            [position] => match self.argument.axes.get(*position) {
                Some(stations) => Ok((*position, stations.clone())),
                None => Err(Cell::invalid("there are no stations")),
            },
            [] => Err(Cell::gravest(&self.argument.cells)
                .cloned()
                .unwrap_or_else(|| Cell::invalid("there are no stations"))),
            _ => Err(Cell::invalid("one axis was expected")),
        }
    }

    pub(super) fn plan(&self) -> Option<&Axis> {
        self.over
            .first()
            .or_else(|| self.axes.first())
            .and_then(|axis| self.evaluator.program.axes.get(axis.0))
    }

    pub(super) fn each(&self, into: impl FnMut(&[&Cell]) -> Cell) -> Result<Rc<Laid>, Cell> {
        Ok(Rc::new(layout::collapse(self.argument, &self.positions()?, into)))
    }

    /// What of a group takes part: not-read stations are left out where enough are left. `Err`: what stands in the way.
    pub(super) fn taking_part(&self, group: &[&Cell], needs: Needs) -> Result<Left, Cell> {
        let left_out = |cell: &Cell| match cell {
            Cell::NotRead(_) => true,
            Cell::Awaited => self.evaluator.partial,
            _ => false,
        };
        let missing = |place: usize| group.get(place).copied().filter(|cell| left_out(cell));
        let needed = match needs {
            Needs::AtLeast(needed) => needed,
            Needs::Ends => {
                let last = group.len().saturating_sub(1);
                if let Some(end) = Cell::gravest([missing(0), missing(last)].into_iter().flatten()) {
                    return Err(end.clone());
                }
                2
            }
            Needs::All => {
                if let Some(missing) = Cell::gravest((0..group.len()).filter_map(missing)) {
                    return Err(missing.clone());
                }
                1
            }
        };
        let left: Left = (0..group.len()).filter(|place| missing(*place).is_none()).collect();
        if let Some(missing) = Cell::gravest(left.iter().filter_map(|place| group.get(*place).copied())) {
            return Err(missing.clone());
        }
        let real = group.iter().filter(|cell| !cell.is_no_element()).count();
        if left.len() < needed {
            return Err(match Cell::gravest(group.iter().copied()) {
                None if group.is_empty() => nothing_listed(),
                None => Cell::invalid(format!("{needed} readings are needed, there {}", of_them(left.len()))),
                Some(Cell::Awaited) => Cell::Awaited,
                Some(missing) if left.is_empty() => missing.clone(),
                Some(_) => Cell::invalid(format!("only {} of {real} read, {needed} are needed", left.len())),
            });
        }
        if group.iter().any(|cell| matches!(cell, Cell::NotRead(_)) && !cell.is_no_element()) {
            self.evaluator.note(format!("{} of {real} read", left.len()).into());
        }
        Ok(left)
    }

    /// Places and values of what takes part in a group.
    pub(super) fn placed_values(
        &self,
        stations: &[Station],
        group: &[&Cell],
        needs: Needs,
    ) -> Result<(Left, Vec<Real>, Vec<Real>), Cell> {
        let left = self.taking_part(group, needs)?;
        let cells: Vec<&Cell> = left.iter().filter_map(|place| group.get(*place).copied()).collect();
        let values = numbers(&cells)?;
        let place = |place: &usize| stations.get(*place).and_then(|station| station.position.clone());
        let places: Vec<Real> = left.iter().filter_map(place).collect();
        if places.len() != values.len() {
            return Err(Cell::invalid("the stations have no places along a length"));
        }
        Ok((left, places, values))
    }

    pub(super) fn placed(
        &self,
        needs: Needs,
        with: impl Fn(&[Real], &[Real]) -> Result<Real, Fault>,
    ) -> Result<Rc<Laid>, Cell> {
        self.placed_cells(needs, |places, values| result(with(places, values)))
    }

    pub(super) fn placed_cells(
        &self,
        needs: Needs,
        with: impl Fn(&[Real], &[Real]) -> Cell,
    ) -> Result<Rc<Laid>, Cell> {
        let (_, axis) = self.axis()?;
        self.each(|group| match self.placed_values(axis.open(), group, needs) {
            Ok((_, places, values)) => with(&places, &values),
            Err(missing) => missing,
        })
    }

    fn ordinates(&self, needs: Needs, reference: Reference) -> Result<Rc<Laid>, Cell> {
        let (position, axis) = self.axis()?;
        let into = |group: &[&Cell]| -> Vec<Cell> {
            let all = |cell: Cell| vec![cell; group.len()];
            let (left, places, values) = match self.placed_values(axis.open(), group, needs) {
                Ok(found) => found,
                Err(missing) => return all(missing),
            };
            match metrology::ordinates(&places, &values, reference) {
                Ok(ordinates) => {
                    let mut cells: Vec<Cell> = group.iter().map(|cell| (*cell).clone()).collect();
                    for (place, ordinate) in left.iter().zip(ordinates) {
                        if let Some(cell) = cells.get_mut(*place) {
                            *cell = Cell::number(ordinate);
                        }
                    }
                    cells
                }
                Err(fault) => all(Cell::invalid(fault.to_string())),
            }
        };
        Ok(Rc::new(layout::reshape(self.argument, position, layout::opened(&axis), into)))
    }

    fn heights(&self) -> Result<Rc<Laid>, Cell> {
        let (position, axis) = self.axis()?;
        let plus = match self.plan().and_then(|plan| plan.rise) {
            Some(Rise::Along) => Tilt::RisesAlong,
            Some(Rise::Against) => Tilt::FallsAlong,
            None => return Err(Cell::invalid("it was not said what plus means along the stations")),
        };
        let unit = match self.plan().map(|plan| &plan.stations) {
            Some(Plan::Stepped { unit, .. }) => *unit,
            _ => return Err(Cell::invalid("the reading is not stepped along")),
        };
        let (Some(longer), Some(foot)) = (with_far_end(&axis, unit), axis.foot.as_ref()) else {
            return Err(Cell::invalid("the reading is not stepped along"));
        };
        // Against the foot's direction a step goes the other way, and so does the rise.
        let feet = vec![foot.abs(); axis.open().len()];
        let into = |group: &[&Cell]| -> Vec<Cell> {
            let found = self.taking_part(group, Needs::All).and_then(|_| numbers(group)).and_then(|tilts| {
                metrology::heights(&tilts, &feet, plus).map_err(|fault| Cell::invalid(fault.to_string()))
            });
            match found {
                Ok(heights) => heights.into_iter().map(Cell::number).collect(),
                Err(missing) => vec![missing; group.len() + 1],
            }
        };
        Ok(Rc::new(layout::reshape(self.argument, position, Rc::new(longer), into)))
    }

    fn pair(&self, machine: bool) -> Result<Rc<Laid>, Cell> {
        let (_, axis) = self.axis()?;
        let plan = if self.over.is_empty() {
            self.axes
                .iter()
                .filter_map(|axis| self.evaluator.program.axes.get(axis.0))
                .find(|plan| *plan.name == *axis.axis)
        } else {
            self.plan()
        };
        let Some(pair) = plan.and_then(|plan| plan.pair.as_ref()) else {
            return Err(Cell::invalid("it was not said whether the sense stays with the machine or turns"));
        };
        self.each(|group| match self.taking_part(group, Needs::All).and_then(|_| numbers(group)).as_deref() {
            Ok([first, second]) => {
                let parts = match pair {
                    Pair::Stays(_) => metrology::stays_with(first, second),
                    Pair::Turns(_) => metrology::turns_with(first, second),
                };
                Cell::number(if machine { parts.machine } else { parts.artefact })
            }
            Ok(_) => Cell::invalid("a pair has two stations"),
            Err(missing) => missing.clone(),
        })
    }

    /// The first direction less the second, station by station of the other axes.
    fn backlash(&self) -> Result<Rc<Laid>, Cell> {
        self.each(|group| match self.taking_part(group, Needs::All).and_then(|_| numbers(group)).as_deref() {
            Ok([there, back]) => Cell::number(there - back),
            Ok(_) => Cell::invalid("lost motion is taken from two directions"),
            Err(missing) => missing.clone(),
        })
    }

    fn closure(&self) -> Result<Rc<Laid>, Cell> {
        let (position, axis) = self.axis()?;
        if !axis.closing {
            return Err(Cell::invalid(format!(
                "{} is not closing: the first station is not read again",
                axis.axis
            )));
        }
        let gathered = layout::gather(self.argument, &[position], true);
        let cells = gathered.groups().map(|group| match group.as_slice() {
            [first, .., last] => cells::arithmetic(Arithmetic::Subtract, last, first),
            _ => nothing_listed(),
        });
        let cells = cells.collect();
        Ok(Rc::new(Laid { cells, axes: gathered.kept }))
    }

    /// Greatest less least station read, whatever the other axes; the last foot of a stepped reading included.
    fn span(&self) -> Result<Rc<Laid>, Cell> {
        let (position, axis) = if self.over.is_empty() && self.argument.axes.len() > 1 {
            let placed = self
                .argument
                .axes
                .iter()
                .position(|axis| axis.open().iter().any(|station| station.position.is_some()));
            placed
                .and_then(|position| Some((position, self.argument.axes.get(position)?.clone())))
                .ok_or_else(|| Cell::invalid("the stations have no places along a length"))?
        } else {
            self.axis()?
        };
        let others: Vec<usize> = (0..self.argument.axes.len()).filter(|other| *other != position).collect();
        let gathered = layout::gather(self.argument, &others, false);
        let mut read = Vec::new();
        for (station, cells) in axis.open().iter().zip(gathered.groups()) {
            if !self.evaluator.partial && cells.iter().any(|cell| **cell == Cell::Awaited) {
                return Err(Cell::Awaited);
            }
            if cells.iter().any(|cell| !matches!(cell, Cell::NotRead(_) | Cell::Awaited)) {
                read.extend(station.position.clone());
            }
        }
        let span = metrology::span(&read).map(|span| match &axis.foot {
            Some(foot) => &span + &foot.abs(),
            None => span,
        });
        Ok(one(result(span)))
    }

    fn station_of(&self, greatest: bool) -> Result<Rc<Laid>, Cell> {
        let positions = self.positions()?;
        let axes: Vec<Rc<Stations>> = positions
            .iter()
            .filter_map(|position| self.argument.axes.get(*position))
            .map(layout::opened)
            .collect();
        self.each(|group| {
            let left = match self.taking_part(group, Needs::AtLeast(1)) {
                Ok(left) => left,
                Err(missing) => return missing,
            };
            let cells: Vec<&Cell> = left.iter().filter_map(|place| group.get(*place).copied()).collect();
            let values = match numbers(&cells) {
                Ok(values) => values,
                Err(missing) => return missing,
            };
            let better = |a: &Real, b: &Real| if greatest { b.is_less(a) } else { a.is_less(b) };
            let mut found: Option<(usize, &Real)> = None;
            for (place, value) in left.iter().zip(&values) {
                if found.is_none_or(|(_, best)| better(value, best)) {
                    found = Some((*place, value));
                }
            }
            let Some((place, _)) = found else { return nothing_listed() };
            match axes.as_slice() {
                [axis] => match axis.stations.get(place) {
                    Some(Station { position: Some(position), .. }) => Cell::number(position.clone()),
                    Some(station) => Cell::Known(Scalar::Word(station.name.clone())),
                    None => nothing_listed(),
                },
                _ => Cell::Known(Scalar::Word(layout::place(&axes, place).into())),
            }
        })
    }
}

fn of_them(count: usize) -> String {
    match count {
        0 => "is none".to_string(),
        1 => "is 1".to_string(),
        _ => format!("are {count}"),
    }
}
