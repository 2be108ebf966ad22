//! The minimum zone of a plane: the slopes a, b for which max(z - a x - b y) - min(z - a x - b y) is least.
//!
//! Linear programme with the border above (t), the border below (-s) and the slopes as dual values; contact of the
//! kind 3-1 (one height over a triangle of the others) or 2-2 (two pairs that cross), settled exactly.

use num_traits::{Signed, ToPrimitive};

use super::Fault;
use super::optimum::maximise;
use super::plane::{Place, Plane};
use crate::quantity::{Rational, Real, ratio};

/// The plane midway in the zone. The places do not stand on one line.
pub(super) fn middle_plane(places: &[Place], heights: &[Real]) -> Result<Plane, Fault> {
    let (one, zero) = (ratio(1, 1), ratio(0, 1));
    let middles: Vec<(Rational, Rational)> = places.iter().map(|(x, y)| (x.middle(), y.middle())).collect();
    let above = middles.iter().map(|(x, y)| vec![one.clone(), zero.clone(), x.clone(), y.clone()]);
    let below = middles.iter().map(|(x, y)| vec![zero.clone(), one.clone(), -x, -y]);
    let columns: Vec<Vec<Rational>> = above.chain(below).collect();
    let heights_above: Vec<Rational> = heights.iter().map(Real::middle).collect();
    let costs: Vec<Rational> =
        heights_above.iter().cloned().chain(heights_above.iter().map(|height| -height)).collect();
    let best = maximise(&columns, &costs, &[1, 1, 0, 0]).ok_or(Fault::IllConditioned)?;
    let [top, bottom, slope_x, slope_y]: [Rational; 4] =
        best.dual.try_into().map_err(|_| Fault::IllConditioned)?;
    let value = (top - bottom) / ratio(2, 1);
    let slope = |slope: &Rational| slope.abs().to_f64().unwrap_or(f64::INFINITY);
    let widest = |of: &mut dyn Iterator<Item = f64>| of.fold(0.0, f64::max);
    // No height moves a border by more than it is moved itself, a place by that times the slope.
    let bound = widest(&mut heights.iter().map(Real::bound))
        + 2.0 * slope(&slope_x) * widest(&mut places.iter().map(|place| place.0.bound()))
        + 2.0 * slope(&slope_y) * widest(&mut places.iter().map(|place| place.1.bound()));
    let value = if bound == 0.0 {
        Real::Exact(value)
    } else {
        let middle = value.to_f64().unwrap_or(f64::INFINITY);
        Real::approximate(middle, bound + middle.abs() * f64::EPSILON).ok_or(Fault::IllConditioned)?
    };
    Ok(Plane { x: Real::zero(), y: Real::zero(), value, slope_x: slope_x.into(), slope_y: slope_y.into() })
}
