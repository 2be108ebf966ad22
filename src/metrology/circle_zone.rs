//! Roundness of points of a plane (not of dial readings: those go to `roundness`), against the circle asked for.
//!
//! With d_i(c) the distances of the points from a centre c: minimum zone = least max d - min d, circumscribed = least
//! max d, inscribed = greatest min d; roundness = max d - min d from that centre; unsigned. By least squares: the range
//! of the distances from the geometric circle. Reference circles of ISO 12181-1 (from memory).
//!
//! The circumscribed circle is found exactly (`smallest_circle`). For the other two the distances are taken as straight
//! about a centre, the linear programme of `roundness` gives the next one, and so on until nothing moves. That the
//! centre reached is the best of all is then proved, or the result refused:
//!
//! - with the contacts found, going off by e in any direction makes things worse by at least s e - e^2 / (2 (r - e)),
//!   s the least slope of any direction among the contacts, r the inner radius: nothing better within 2 s r / (1 + 2 s)
//! - farther out, and still within the points, which go all around with gaps up to g, they are too uneven: one side
//!   comes nearer by e cos(g / 2) - e^2 / (2 r), more than the roundness f from e = 1.1 f / cos(g / 2) on, if f is at
//!   most 0.15 r cos^2(g / 2). So the first distance must reach the second

use num_traits::ToPrimitive;

use super::circle::fit_circle;
use super::plane::Place;
use super::roundness::{CircleReference, Turn};
use super::smallest_circle::smallest_circle;
use super::{Fault, enough, range};
use crate::quantity::{Rational, Real};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PointsRoundness {
    pub value: Real,
    pub centre: Place,
    /// Least and greatest distance from the centre.
    pub inner: Real,
    pub outer: Real,
    /// Of the circle itself: of the minimum zone, the middle between its two.
    pub radius: Real,
}

/// Needs four points that go all around.
pub fn points_roundness(points: &[Place], reference: CircleReference) -> Result<PointsRoundness, Fault> {
    enough(points, 4)?;
    let circle = fit_circle(points)?;
    if reference == CircleReference::LeastSquares {
        let distances: Vec<Real> =
            circle.departures.iter().map(|departure| departure + &circle.radius).collect();
        let (inner, outer) = (super::least(&distances)?, super::greatest(&distances)?);
        let value = range(&distances)?;
        return Ok(PointsRoundness { value, centre: circle.centre, inner, outer, radius: circle.radius });
    }
    let origin: Place = (Real::Exact(circle.centre.0.middle()), Real::Exact(circle.centre.1.middle()));
    let scale = circle.radius.to_f64();
    if reference == CircleReference::Circumscribed {
        return circumscribed(points);
    }
    let xy: Vec<[f64; 2]> = points
        .iter()
        .map(|(x, y)| [(x - &origin.0).to_f64() / scale, (y - &origin.1).to_f64() / scale])
        .collect();
    let gap = widest_gap(&xy);
    if gap >= std::f64::consts::PI {
        return Err(Fault::HalfTurn);
    }
    let found = best_centre(&xy, gap, reference)?;
    let input = points.iter().map(|(x, y)| x.bound().max(y.bound())).fold(0.0, f64::max);
    // A point moves a distance by as much, and the centre by that over the slope.
    let bound = (found.reach + ROUNDING) * scale + 4.0 * input / found.slope;
    let real = |value: f64| Real::approximate(value * scale, bound).ok_or(Fault::IllConditioned);
    let [x, y] = found.centre;
    let (inner, outer) = (real(found.inner)?, real(found.outer)?);
    Ok(PointsRoundness {
        value: real(found.outer - found.inner)?,
        centre: (&origin.0 + &real(x)?, &origin.1 + &real(y)?),
        radius: if reference == CircleReference::Inscribed {
            inner.clone()
        } else {
            (&inner + &outer).half()
        },
        inner,
        outer,
    })
}

/// Rounding of a distance of about one radius, and of a difference of two.
const ROUNDING: f64 = 2e-15;

fn circumscribed(points: &[Place]) -> Result<PointsRoundness, Fault> {
    let middles: Vec<_> = points.iter().map(|(x, y)| (x.middle(), y.middle())).collect();
    let around = smallest_circle(&middles).ok_or(Fault::IllConditioned)?;
    let centre = (Real::Exact(around.centre.0), Real::Exact(around.centre.1));
    let outer = Real::Exact(around.radius_squared).sqrt().ok_or(Fault::IllConditioned)?;
    let nearest = middles
        .iter()
        .map(|(x, y)| {
            let (dx, dy) = (x - centre.0.middle(), y - centre.1.middle());
            &dx * &dx + &dy * &dy
        })
        .min()
        .ok_or(Fault::IllConditioned)?;
    let inner = Real::Exact(nearest).sqrt().ok_or(Fault::IllConditioned)?;
    // The radius moves no more than a point does; the centre may move along a chord by the root of that.
    let input = points.iter().map(|(x, y)| x.bound().max(y.bound())).fold(0.0, f64::max);
    let sway = if input > 0.0 { 4.0 * input + libm::sqrt(8.0 * input * outer.to_f64()) } else { 0.0 };
    let loose = |value: Real, bound: f64| super::statistics::widened(&value, value.bound() + bound);
    Ok(PointsRoundness {
        value: loose(&outer - &inner, sway)?,
        centre: (loose(centre.0, sway)?, loose(centre.1, sway)?),
        inner: loose(inner, sway)?,
        outer: loose(outer.clone(), 2.0 * input)?,
        radius: loose(outer, 2.0 * input)?,
    })
}

/// The widest angle about the origin without a point.
fn widest_gap(xy: &[[f64; 2]]) -> f64 {
    let mut angles: Vec<f64> = xy.iter().map(|[x, y]| libm::atan2(*y, *x)).collect();
    angles.sort_by(f64::total_cmp);
    let turn = 2.0 * std::f64::consts::PI;
    let around = angles.first().zip(angles.last()).map_or(turn, |(first, last)| first + turn - last);
    angles.windows(2).filter_map(|pair| Some(pair.last()? - pair.first()?)).fold(around, f64::max)
}

struct Found {
    centre: [f64; 2],
    inner: f64,
    outer: f64,
    /// How far the centre may be off.
    reach: f64,
    slope: f64,
}

/// The centre at which nothing moves any more, with the proof that it is the best.
fn best_centre(xy: &[[f64; 2]], gap: f64, reference: CircleReference) -> Result<Found, Fault> {
    let mut centre = [0.0; 2];
    let mut last = f64::INFINITY;
    for _ in 0..60 {
        let views: Vec<[f64; 3]> = xy
            .iter()
            .map(|[x, y]| {
                let (dx, dy) = (x - centre[0], y - centre[1]);
                let distance = libm::sqrt(dx * dx + dy * dy);
                [distance, dx / distance, dy / distance]
            })
            .collect();
        let turn = Turn {
            rays: views.iter().map(ray).collect::<Option<_>>().ok_or(Fault::IllConditioned)?,
            readings: views
                .iter()
                .map(|[distance, ..]| Rational::from_float(*distance))
                .collect::<Option<_>>()
                .ok_or(Fault::IllConditioned)?,
            ray_bound: 0.0,
            reading_bound: 0.0,
        };
        let inscribed = reference == CircleReference::Inscribed;
        let next = if inscribed { turn.inscribed() } else { turn.minimum_zone() }?;
        let number = |exact: &Rational| exact.to_f64().ok_or(Fault::IllConditioned);
        let step = [number(&next.along)?, number(&next.across)?];
        let size = libm::hypot(step[0], step[1]);
        if size > ROUNDING && size < last {
            last = size;
            centre = [centre[0] + step[0], centre[1] + step[1]];
            continue;
        }
        if size > 1e-9 {
            return Err(Fault::IllConditioned);
        }
        let inner = views.iter().map(|view| view[0]).fold(f64::INFINITY, f64::min);
        let outer = views.iter().map(|view| view[0]).fold(0.0, f64::max);
        // Round to the last digit: there is no form to find the best centre of, and every one of them is as good.
        if outer - inner < 1e-13 {
            return Ok(Found { centre, inner, outer, reach: 4.0 * (outer - inner) + ROUNDING, slope: 1.0 });
        }
        let direction = |place: &usize| views.get(*place).map(|view| [view[1], view[2]]);
        let near: Vec<[f64; 2]> = next.inner.iter().filter_map(direction).collect();
        let far: Vec<[f64; 2]> = next.outer.iter().filter_map(direction).collect();
        // How each pair of contacts, or each inner contact alone, grows worse along a direction.
        let slopes: Vec<[f64; 2]> = if inscribed {
            near
        } else {
            far.iter().flat_map(|f| near.iter().map(move |n| [n[0] - f[0], n[1] - f[1]])).collect()
        };
        let slope = least_slope(&slopes).ok_or(Fault::IllConditioned)?;
        let (form, cosine) = (outer - inner, libm::cos(0.5 * gap));
        let settled = 2.0 * slope * inner / (1.0 + 2.0 * slope);
        let proved = form <= 0.15 * inner * cosine * cosine && settled >= 1.1 * form / cosine;
        let found = Found { centre, inner, outer, reach: 2.0 * size + ROUNDING / slope, slope };
        return if proved { Ok(found) } else { Err(Fault::NoBestCentre) };
    }
    Err(Fault::IllConditioned)
}

fn ray([_, x, y]: &[f64; 3]) -> Option<[Rational; 2]> {
    Some([Rational::from_float(*x)?, Rational::from_float(*y)?])
}

/// The least over all directions of the greatest of the slopes: the distance from the origin to the nearest side of
/// their hull. `None` if the origin does not lie inside, and some direction makes nothing worse.
fn least_slope(slopes: &[[f64; 2]]) -> Option<f64> {
    let mut least: Option<f64> = None;
    for (place, a) in slopes.iter().enumerate() {
        for b in slopes.iter().skip(place + 1) {
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let length = libm::hypot(dx, dy);
            if length < 1e-12 {
                continue;
            }
            // Height over the line through both, of the origin and of the others.
            let over = |x: f64, y: f64| ((x - a[0]) * dy - (y - a[1]) * dx) / length;
            let origin = over(0.0, 0.0);
            let side = if origin < 0.0 { -1.0 } else { 1.0 };
            let on_one_side = slopes.iter().all(|[x, y]| over(*x, *y) * side >= -1e-12);
            if on_one_side {
                least = Some(least.map_or(origin.abs(), |least| least.min(origin.abs())));
            }
        }
    }
    least.filter(|least| *least > 1e-6 && slopes.len() > 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    const ALL: [CircleReference; 4] = CircleReference::ALL;

    fn points(list: &[(i64, i64)]) -> Vec<Place> {
        list.iter().map(|(x, y)| (Real::from(*x), Real::from(*y))).collect()
    }

    #[test]
    fn an_oval_on_a_cross_is_known_in_closed_form() {
        let cross = points(&[(20, 0), (0, 19), (-20, 0), (0, -19)]);
        for reference in ALL.into_iter().filter(|reference| *reference != CircleReference::Inscribed) {
            let found = points_roundness(&cross, reference).unwrap();
            assert!(
                found.value.equals(&Real::from(1)) && found.value.bound() < 1e-6,
                "{reference:?} {found:?}"
            );
        }
        let around = points_roundness(&cross, CircleReference::Circumscribed).unwrap();
        assert_eq!(around.outer, Real::from(20));
        // Within the short way a circle can roll to either end: two largest circles, so none is given.
        assert_eq!(points_roundness(&cross, CircleReference::Inscribed), Err(Fault::IllConditioned));
    }

    #[test]
    fn points_on_a_circle_have_no_roundness_and_an_arc_is_refused() {
        let round = points(&[(5, 0), (3, 4), (-4, 3), (-5, 0), (0, -5), (4, -3)]);
        for reference in ALL {
            let found = points_roundness(&round, reference).unwrap();
            assert!(found.value.is_zero() && found.value.bound() < 1e-9, "{reference:?} {found:?}");
        }
        let arc = points(&[(5, 0), (4, 3), (3, 4), (0, 5), (-3, 4)]);
        assert_eq!(points_roundness(&arc, CircleReference::Inscribed), Err(Fault::HalfTurn));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]
        /// No reference gives less than the minimum zone, and where the part lies takes no part. With a form that is
        /// small beside the radius the dial would read the same.
        #[test]
        fn the_zone_is_least_wherever_the_part_lies(form in proptest::collection::vec(-50i64..50, 9..30), x in -90i64..90) {
            let n = form.len() as i64;
            let angles: Vec<Real> = (0..n).map(|k| Real::Exact(ratio(k * 360, n))).collect();
            let readings: Vec<Real> = form.iter().map(|r| Real::Exact(ratio(*r, 10_000))).collect();
            let at = |off: i64| -> Vec<Place> {
                angles.iter().zip(&readings).map(|(angle, reading)| {
                    let radius = &Real::from(30) + reading;
                    (&(&radius * &angle.cos()) + &Real::from(off), &(&radius * &angle.sin()) - &Real::from(2 * off))
                }).collect()
            };
            let zone = points_roundness(&at(0), CircleReference::MinimumZone).unwrap().value;
            for reference in ALL {
                let Ok(PointsRoundness { value: found, .. }) = points_roundness(&at(0), reference) else {
                    prop_assert_eq!(reference, CircleReference::Inscribed);
                    continue;
                };
                prop_assert!(zone.is_at_most(&found));
                let moved = points_roundness(&at(x), reference).unwrap().value;
                prop_assert!((moved.to_f64() - found.to_f64()).abs() < 1e-9);
                if reference == CircleReference::MinimumZone || reference == CircleReference::LeastSquares {
                    let dial = super::super::roundness::roundness(&angles, &readings, reference).unwrap().value;
                    prop_assert!((dial.to_f64() - found.to_f64()).abs() < 5e-6);
                }
            }
        }
    }
}
