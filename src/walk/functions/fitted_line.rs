//! The least-squares line of one value along its stations: what it says of a place, and how well it is known.

use std::rc::Rc;

use crate::check::program::Function;
use crate::metrology::{self, Fault, Reference};
use crate::quantity::Real;
use crate::walk::eval::one;
use crate::walk::value::Laid;

use super::along::{Along, Needs};

/// `further` holds the place, of those functions that take one.
pub(super) fn fitted(along: &Along<'_>, function: Function, further: &[Rc<Laid>]) -> Rc<Laid> {
    let at = match further.first().map(|at| at.as_single()) {
        None => Real::zero(),
        Some(cell) => match cell.as_number() {
            Some(at) => at.clone(),
            None => return one(cell),
        },
    };
    let needs = Needs::AtLeast(if function == Function::LineAt { 2 } else { 3 });
    let found = along.placed(needs, |places, values| {
        if matches!(function, Function::LineAt | Function::LineUncertainty) && is_beyond(places, &at) {
            along.evaluator.note("the place lies beyond those read: the line is carried on".into());
        }
        of_one(function, places, values, &at)
    });
    found.unwrap_or_else(one)
}

fn of_one(function: Function, places: &[Real], values: &[Real], at: &Real) -> Result<Real, Fault> {
    if function == Function::LineAt {
        return Ok(metrology::fit(places, values, Reference::LeastSquares)?.at(at));
    }
    let found = metrology::fit_with_uncertainty(places, values, at)?;
    Ok(match function {
        Function::SlopeUncertainty => found.u_slope,
        Function::LineUncertainty => found.u_intercept,
        Function::LineCorrelation => found.correlation,
        _ => found.residual_stdev,
    })
}

fn is_beyond(places: &[Real], at: &Real) -> bool {
    places.iter().all(|place| place.is_less(at)) || places.iter().all(|place| at.is_less(place))
}
