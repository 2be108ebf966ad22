//! Functions of the language in all trials of a block at once. What is not here is worked out trial by trial.

use std::rc::Rc;

use crate::check::program::{AxisId, By, Expr, Function, Kind};
use crate::metrology::{self, DrawnForm, Place, PlaneReference, Reference};
use crate::quantity::{Dimension, Real};
use crate::walk::value::Cell;
use crate::walk::{functions, layout};

use super::column::{Column, combined, fold, matrix, negated, of_list};
use super::drawn::{Block, Drawn, Each, Placed, number, numbered};

impl Block<'_> {
    pub(super) fn call(
        &self,
        function: Function,
        arguments: &[Expr],
        over: &[AxisId],
        by: Option<By>,
    ) -> Option<Rc<Drawn>> {
        if arguments.iter().any(|it| it.kind == Kind::Quantity(Dimension::LEVEL)) {
            return None;
        }
        let values: Vec<Rc<Drawn>> = arguments.iter().map(|it| self.expr(it)).collect::<Option<_>>()?;
        let [first, further @ ..] = values.as_slice() else { return None };
        match function {
            Function::Abs => return self.map(first, f64::abs),
            Function::Half => return self.map(first, |value| 0.5 * value),
            Function::Sqrt => return self.map(first, libm::sqrt),
            // Angles are in degrees.
            Function::Sin => return self.map(first, |angle| libm::sin(angle.to_radians())),
            Function::Cos => return self.map(first, |angle| libm::cos(angle.to_radians())),
            Function::Tan => return self.map(first, |angle| libm::tan(angle.to_radians())),
            Function::Atan => return self.map(first, |slope| libm::atan(slope).to_degrees()),
            Function::Size => return size(first),
            Function::Rounded => {
                let to = |value: f64, step: f64| libm::round(value / step) * step;
                return self.meet(&[first, further.first()?], |columns| fold(columns, to));
            }
            _ => {}
        }
        if matches!(function, Function::CircleForm | Function::CircleDiameter | Function::CircleCentre) {
            let positions = self.positions(first, over)?;
            return self.circle(
                function,
                first,
                further.first()?,
                &positions,
                functions::round::reference(by),
            );
        }
        if !further.is_empty() {
            let all: Vec<&Drawn> = values.iter().map(|it| &**it).collect();
            return self.meet(&all, |columns| of_list(function, columns));
        }
        let positions = self.positions(first, over)?;
        match function {
            Function::Roundness => {
                let reference = functions::round::reference(by);
                let angles = places_along(first, &positions)?;
                self.form(first, &positions, &angles, |angles| DrawnForm::round(angles, reference))
            }
            Function::Flatness => {
                let reference = functions::surface::reference(by);
                let laid = Rc::new(numbered(first));
                let places = functions::places(self.evaluator, &laid, arguments, over)?;
                if reference != PlaneReference::ThreeCorners {
                    return self
                        .form(first, &positions, &places, |places| DrawnForm::flat(places, reference));
                }
                let places: Vec<Place> = places.into_iter().collect::<Option<_>>()?;
                let above = |unit: &[Real]| metrology::plane_ordinates(&places, unit, reference).ok();
                let matrix = matrix(places.len(), above)?;
                self.collapse(first, &positions, |columns| {
                    let form: Vec<Column> = matrix.iter().map(|row| combined(row, columns)).collect();
                    of_list(Function::Range, &form)
                })
            }
            Function::Straightness => {
                let places = places_along(first, &positions)?;
                self.form(first, &positions, &places, |places| DrawnForm::straight(places, line_by(by)?))
            }
            Function::Ordinates | Function::Hump | Function::Hollow if positions.len() == 1 => {
                let places = places_along(first, &positions)?;
                let straight = |places: &[Real]| DrawnForm::straight(places, line_by(by)?);
                let form = self.departures(first, &positions, &places, straight)?;
                if function == Function::Ordinates {
                    return Some(form);
                }
                let (axes, groups) = self.read(&form, &positions)?;
                let of_one = |group: &Placed| {
                    let zero: Column = vec![0.0; self.trials].into();
                    let columns: Vec<Column> = group.iter().map(|(_, column)| column.clone()).collect();
                    Some(Each::Number(match function {
                        Function::Hump => fold(&[fold(&columns, f64::max)?, zero], f64::max)?,
                        _ => negated(&fold(&[fold(&columns, f64::min)?, zero], f64::min)?),
                    }))
                };
                let cells = groups.iter().map(of_one).collect::<Option<_>>()?;
                Some(Rc::new(Drawn { axes, cells }))
            }
            Function::Ordinates if by == Some(By::MinimumZone) => {
                let laid = Rc::new(numbered(first));
                let places = functions::places(self.evaluator, &laid, arguments, over)?;
                let flat = |places: &[Place]| DrawnForm::flat(places, PlaneReference::MinimumZone);
                self.departures(first, &positions, &places, flat)
            }
            Function::Closure => match functions::surveyed(self.evaluator, arguments, over) {
                Some(plan) => self.closure(first, &positions, plan),
                None => self.linear(first, |laid| {
                    functions::along_axes(self.evaluator, function, laid, arguments, over, by)
                }),
            },
            Function::Heights
            | Function::Ordinates
            | Function::Slope
            | Function::Eccentricity
            | Function::PlateMap
            | Function::Machine
            | Function::Artefact
            | Function::Taper
                if by != Some(By::MinimumZone) =>
            {
                self.linear(first, |laid| {
                    functions::along_axes(self.evaluator, function, laid, arguments, over, by)
                })
            }
            Function::First | Function::Last | Function::Gain => {
                self.collapse(first, &positions, |columns| of_list(function, columns))
            }
            _ => {
                let (axes, groups) = self.read(first, &positions)?;
                let of_one = |group: &Placed| {
                    let columns: Vec<Column> = group.iter().map(|(_, column)| column.clone()).collect();
                    of_list(function, &columns).map(Each::Number)
                };
                let cells = groups.iter().map(of_one).collect::<Option<_>>()?;
                Some(Rc::new(Drawn { axes, cells }))
            }
        }
    }

    /// Where the axes stand that a function goes over.
    fn positions(&self, value: &Drawn, over: &[AxisId]) -> Option<Vec<usize>> {
        if over.is_empty() {
            return Some((0..value.axes.len()).collect());
        }
        let at = |axis: &AxisId| {
            let name = self.evaluator.axis_name(*axis);
            value.axes.iter().position(|own| *own.axis == *name)
        };
        over.iter().map(at).collect()
    }

    /// What departs from a line or a plane, at the places of what was read.
    fn departures<P: Clone>(
        &self,
        value: &Drawn,
        positions: &[usize],
        places: &[Option<P>],
        at: impl Fn(&[P]) -> Option<DrawnForm>,
    ) -> Option<Rc<Drawn>> {
        let groups = self.read(value, positions)?.1;
        let of_one = |group: &Placed| -> Option<Placed> {
            let own: Vec<P> = group.iter().map(|(at, _)| places.get(*at).cloned()?).collect::<Option<_>>()?;
            let columns: Vec<&Column> = group.iter().map(|(_, column)| column).collect();
            let found = at(&own)?.ordinates_of_all(&columns)?;
            Some(group.iter().zip(found).map(|((at, _), own)| (*at, Column::from(own))).collect())
        };
        let found: Vec<Placed> = groups.iter().map(of_one).collect::<Option<_>>()?;
        let mut groups = found.into_iter();
        // Which cell of the value stands where, or, behind all of those, what was found.
        let (count, mut new) = (value.cells.len(), Vec::new());
        let placed = layout::replaced(&Rc::new(numbered(value)), positions, |group| {
            let mut cells: Vec<Cell> = group.iter().map(|cell| (*cell).clone()).collect();
            for (at, column) in groups.next().unwrap_or_default() {
                let next = i64::try_from(count + new.len())
                    .map_or_else(|_| Cell::Awaited, |next| Cell::number(next.into()));
                cells.iter_mut().skip(at).take(1).for_each(|cell| *cell = next.clone());
                new.push(Each::Number(column));
            }
            cells
        });
        let each = |cell: &Cell| {
            let at = number(cell)?;
            value.cells.get(at).or_else(|| new.get(at.checked_sub(count)?)).cloned()
        };
        let cells = placed.cells.iter().map(each).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes: placed.axes, cells }))
    }

    /// A form of what was read of each group.
    fn form<P: Clone>(
        &self,
        value: &Drawn,
        positions: &[usize],
        places: &[Option<P>],
        at: impl Fn(&[P]) -> Option<DrawnForm>,
    ) -> Option<Rc<Drawn>> {
        let (axes, groups) = self.read(value, positions)?;
        let of_one = |group: &Placed| {
            let places: Vec<P> =
                group.iter().map(|(at, _)| places.get(*at).cloned()?).collect::<Option<_>>()?;
            let columns: Vec<&Column> = group.iter().map(|(_, column)| column).collect();
            Some(Each::Number(at(&places)?.of_all(&columns)?.into()))
        };
        let cells = groups.iter().map(of_one).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes, cells }))
    }

    /// One window of a line, as its rule judges it: by spread or by chord.
    pub fn window(
        &self,
        value: &Drawn,
        line: usize,
        (from, to): (&Real, &Real),
        by_chord: bool,
    ) -> Option<Rc<Drawn>> {
        let position =
            value.axes.iter().position(|axis| axis.stations.iter().any(|it| it.position.is_some()))?;
        let stations = value.axes.get(position)?.open().iter();
        let places: Vec<Real> = stations.map(|it| it.position.clone()).collect::<Option<_>>()?;
        // Only then is what lies between two of them found; closing stations are not judged.
        if !places.is_sorted() || value.axes.iter().any(|axis| axis.closing) {
            return None;
        }
        let groups = self.groups(value, &[position])?.1;
        let columns = groups.into_iter().nth(line)?;
        let inside = |place: &&Real| from.is_less(place) && place.is_less(to);
        let mut at: Vec<&Real> = vec![from];
        at.extend(places.iter().filter(inside));
        at.push(to);
        let rows = matrix(places.len(), |unit| {
            at.iter().map(|place| metrology::interpolate(&places, unit, place)).collect()
        })?;
        let taken: Vec<Column> = rows.iter().map(|row| combined(row, &columns)).collect();
        let found = if by_chord {
            let at: Vec<Real> = at.into_iter().cloned().collect();
            let chord = matrix(at.len(), |unit| metrology::ordinates(&at, unit, Reference::Ends).ok())?;
            let form: Vec<Column> = chord.iter().map(|row| combined(row, &taken)).collect();
            fold(&[fold(&form, f64::max)?, negated(&fold(&form, f64::min)?)], f64::max)?
        } else {
            of_list(Function::Range, &taken)?
        };
        Some(Rc::new(Drawn { axes: Vec::new(), cells: vec![Each::Number(found)] }))
    }
}

fn line_by(by: Option<By>) -> Option<Reference> {
    match by {
        None | Some(By::Ends) => Some(Reference::Ends),
        Some(By::LeastSquares) => Some(Reference::LeastSquares),
        Some(By::MinimumZone) => Some(Reference::MinimumZone),
        _ => None,
    }
}

/// Where the stations of the one axis lie.
fn places_along(value: &Drawn, positions: &[usize]) -> Option<Vec<Option<Real>>> {
    let [position] = positions else { return None };
    Some(value.axes.get(*position)?.open().iter().map(|station| station.position.clone()).collect())
}

fn size(value: &Drawn) -> Option<Rc<Drawn>> {
    let of = |each: &Each| match each {
        Each::Arrow(along, across) => {
            Some(Each::Number(along.iter().zip(across.iter()).map(|(a, b)| libm::hypot(*a, *b)).collect()))
        }
        _ => None,
    };
    let cells = value.cells.iter().map(of).collect::<Option<_>>()?;
    Some(Rc::new(Drawn { axes: value.axes.clone(), cells }))
}
