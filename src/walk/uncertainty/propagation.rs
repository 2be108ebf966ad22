//! The law of propagation (JCGM 100:2008, 5.1.2, from memory): u^2(y) = sum of (c_i u_i)^2 over unknowns that are
//! independent of each other.
//!
//! A sensitivity c_i is half the difference of the result at readings moved a little up and a little down, over that
//! little (JCGM 100:2008, 5.1.3, note 2). On exact readings the arithmetic is exact, so that of a result that is linear
//! in its readings the sensitivity is too, and so is u squared: equality with a limit is then decided in exact numbers.

use crate::metrology::{self, Source};
use crate::quantity::Real;
use crate::walk::value::{Cell, Laid};

use super::arrow::worst_direction;
use super::model::{LEAVES_NOTHING, Model, Movement, Slopes};
use super::sources::Part;

/// What one part brings to one cell of a result.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    pub source: String,
    /// Standard uncertainty of one such unknown, where all are alike.
    pub each: Option<Real>,
    /// How many unknowns of this part the result rests on.
    pub count: usize,
    /// (c u)^2, summed over them.
    pub variance: Real,
    /// Degrees of freedom; None: infinitely many.
    pub freedom: Option<f64>,
    /// Averaging more readings makes it smaller.
    pub shrinks: bool,
}

/// The contributions to each cell that is a number or an arrow. `Err`: why a cell has none.
pub fn propagate(model: &Model<'_, '_>, slopes: &[Slopes]) -> Vec<Result<Vec<Contribution>, &'static str>> {
    let directions = directions(model, slopes);
    let mut cells: Vec<Result<Vec<Contribution>, &'static str>> = directions
        .iter()
        .map(|direction| direction.as_ref().map(|_| Vec::new()).ok_or("it is no number"))
        .collect();
    for (movement, slopes) in model.movements.iter().zip(slopes) {
        let mut slopes = slopes.iter().peekable();
        while let Some((at, first)) = slopes.next() {
            let place = at / 2;
            let (Some(cell), Some(Some(direction))) = (cells.get_mut(place), directions.get(place)) else {
                continue;
            };
            let second = slopes.next_if(|(other, _)| other / 2 == place);
            let slope = direction.slope(at % 2 == 1, first.as_ref(), second.map(|(_, slope)| slope.as_ref()));
            match movement {
                Movement::Shared(shared) => {
                    add(cell, slope.as_ref(), &shared.part, (0, shared.part.freedom), &shared.variance)
                }
                Movement::Lent(lent) => add(cell, slope.as_ref(), &lent.part, (0, None), &lent.variance),
                Movement::Material(own) => add(cell, slope.as_ref(), &own.part, (0, None), &own.variance),
                Movement::Fresh(_, parts, own) => {
                    for part in *parts {
                        let Some(variance) = part.variances.get(*own) else { continue };
                        let group = part.groups.as_ref().and_then(|(belongs, freedoms)| {
                            let group = *belongs.get(*own)?;
                            Some((group, Some(*freedoms.get(group)?)))
                        });
                        add(cell, slope.as_ref(), &part.part, group.unwrap_or((0, None)), variance);
                    }
                }
            }
        }
    }
    cells
}

/// How the components of each cell count; None: it is neither a number nor an arrow.
fn directions(model: &Model<'_, '_>, slopes: &[Slopes]) -> Vec<Option<Direction>> {
    let laid: &Laid = &model.base;
    let of = |(place, cell): (usize, &Cell)| match cell {
        _ if cell.as_number().is_some() => Some(Direction::Number),
        _ if cell.as_arrow().is_some() => {
            let moved = model.movements.iter().zip(slopes).map(|(movement, slopes)| {
                let of = |at: usize| {
                    let found = slopes.iter().find(|(own, _)| *own == at);
                    found.and_then(|(_, slope)| slope.as_ref()).map_or(0.0, Real::to_f64)
                };
                ([of(2 * place), of(2 * place + 1)], movement.variance().to_f64())
            });
            let (along, across) = worst_direction(moved);
            Some(Direction::Arrow(along, across))
        }
        _ => None,
    };
    laid.cells.iter().enumerate().map(of).collect()
}

enum Direction {
    Number,
    /// The direction in which an arrow is known least: a unit vector.
    Arrow(f64, f64),
}

impl Direction {
    /// The slope that counts, of one or two components; `second_alone`: the one that is given is the second.
    fn slope(&self, second_alone: bool, first: Option<&Real>, second: Option<Option<&Real>>) -> Option<Real> {
        let Direction::Arrow(along, across) = self else { return first.cloned() };
        let by = |part: f64, slope: &Real| Some(slope * &Real::approximate(part, 0.0)?);
        match (second_alone, second) {
            (true, _) => by(*across, first?),
            (false, None) => by(*along, first?),
            (false, Some(second)) => Some(&by(*along, first?)? + &by(*across, second?)?),
        }
    }
}

fn add(
    cell: &mut Result<Vec<Contribution>, &'static str>,
    slope: Option<&Real>,
    part: &Part,
    (group, freedom): (usize, Option<f64>),
    variance: &Real,
) {
    let Ok(contributions) = cell else { return };
    let Some(slope) = slope else {
        *cell = Err(LEAVES_NOTHING);
        return;
    };
    let own = &(slope * slope) * variance;
    if own.exact().is_some_and(num_traits::Zero::is_zero) {
        return;
    }
    let name = if group == 0 { part.name.clone() } else { format!("{}, group {}", part.name, group + 1) };
    match contributions.iter_mut().find(|known| known.source == name) {
        Some(known) => {
            known.variance = &known.variance + &own;
            known.count += 1;
            if known.each.as_ref().is_some_and(|each| each != variance) {
                known.each = None;
            }
        }
        None => contributions.push(Contribution {
            source: name,
            each: Some(variance.clone()),
            count: 1,
            variance: own,
            freedom,
            shrinks: part.shrinks,
        }),
    }
}

/// From so many on nobody can tell them from infinitely many.
const MANY: f64 = 10_000.0;

/// u squared and the effective degrees of freedom; None: infinitely many. Without a contribution u is zero.
pub fn combined(contributions: &[Contribution]) -> (Real, Option<f64>) {
    let source = |own: &Contribution| Source {
        gradient: Real::from(1),
        variance: own.variance.clone(),
        freedom: own.freedom.filter(|freedom| *freedom > 0.0).and_then(|it| Real::approximate(it, 0.0)),
    };
    let sources: Vec<Source> = contributions.iter().map(source).collect();
    match metrology::combined(&sources) {
        Ok(combined) => {
            (combined.variance, combined.freedom.map(|freedom| freedom.to_f64()).filter(|it| *it < MANY))
        }
        Err(_) => (Real::zero(), None),
    }
}
