//! The minimum zone of a plane: the slopes a, b for which max(z - a x - b y) - min(z - a x - b y) is least.
//!
//! Linear programme with the border above (t), the border below (-s) and the slopes as dual values; contact of the
//! kind 3-1 (one height over a triangle of the others) or 2-2 (two pairs that cross), settled exactly.

use num_traits::{Signed, ToPrimitive};

use super::Fault;
use super::optimum::{Columns, Optimum, maximise};
use super::plane::{Place, Plane};
use crate::quantity::{Rational, Real, ratio};

/// The zone: its height, and the plane midway in it.
pub(super) struct Zone {
    pub height: Real,
    pub middle: Plane,
}

/// The places do not stand on one line.
pub(super) fn zone(places: &[Place], heights: &[Real]) -> Result<Zone, Fault> {
    let ((x, y), z) = places.first().zip(heights.first()).ok_or(Fault::TooFew { needed: 4, found: 0 })?;
    let best = programme(places, heights).ok_or(Fault::IllConditioned)?;
    let [top, bottom, slope_x, slope_y]: [Rational; 4] =
        best.dual.try_into().map_err(|_| Fault::IllConditioned)?;
    let slope = |slope: &Rational| slope.abs().to_f64().unwrap_or(f64::INFINITY);
    let widest = |of: &mut dyn Iterator<Item = f64>| of.fold(0.0, f64::max);
    // No height moves a border by more than it is moved itself, a place by that times the slope.
    let bound = widest(&mut heights.iter().map(Real::bound))
        + 2.0 * slope(&slope_x) * widest(&mut places.iter().map(|place| place.0.bound()))
        + 2.0 * slope(&slope_y) * widest(&mut places.iter().map(|place| place.1.bound()));
    let exact =
        places.iter().all(|(x, y)| x.is_exact() && y.is_exact()) && heights.iter().all(Real::is_exact);
    let real = |number: Rational, bound: f64| {
        if exact {
            return Ok(Real::Exact(number));
        }
        let middle = number.to_f64().unwrap_or(f64::INFINITY);
        Real::approximate(middle, bound + middle.abs() * f64::EPSILON).ok_or(Fault::IllConditioned)
    };
    Ok(Zone {
        height: real(best.value, 2.0 * bound)?,
        middle: Plane {
            x: Real::Exact(x.middle()),
            y: Real::Exact(y.middle()),
            value: real((top - bottom) / ratio(2, 1) + z.middle(), bound)?,
            slope_x: real(slope_x, 0.0)?,
            slope_y: real(slope_y, 0.0)?,
        },
    })
}

/// Columns (1, 0, x, y) with cost z for the border above, (0, 1, -x, -y) with cost -z for the one below, all taken from
/// the first place and its height.
fn programme(places: &[Place], heights: &[Real]) -> Option<Optimum> {
    let count = places.len();
    let middles = |place: usize| {
        let ((x, y), z) = places.get(place).zip(heights.get(place))?;
        Some([x.middle(), y.middle(), z.middle()])
    };
    let origin = middles(0)?;
    let exact = move |column: usize| {
        let (above, place) = if column < count { (1, column) } else { (0, column - count) };
        let Some(point) = middles(place) else { return Vec::new() };
        let sign = ratio(2 * above - 1, 1);
        let moved = point.iter().zip(&origin).map(|(point, origin)| (point - origin) * &sign);
        [ratio(above, 1), ratio(1 - above, 1)].into_iter().chain(moved).collect()
    };
    let points = places.iter().zip(heights).map(|((x, y), z)| [x.to_f64(), y.to_f64(), z.to_f64()]);
    let points: Vec<[f64; 3]> = points.collect();
    let first = *points.first()?;
    let moved = |point: &[f64; 3]| [point[0] - first[0], point[1] - first[1], point[2] - first[2]];
    let above = points.iter().map(moved).map(|[x, y, z]| vec![1.0, 0.0, x, y, z]);
    let below = points.iter().map(moved).map(|[x, y, z]| vec![0.0, 1.0, -x, -y, -z]);
    let most = |of: usize| points.iter().map(|point| point[of].abs()).fold(0.0, f64::max);
    let off = |of: usize| 4.0 * f64::EPSILON * most(of);
    let columns = Columns::new(exact, above.chain(below).collect(), vec![0.0, 0.0, off(0), off(1), off(2)]);
    maximise(&columns, &[1, 1, 0, 0])
}
