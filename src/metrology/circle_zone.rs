//! Roundness of points of a plane (not of dial readings: those go to `roundness`), against the circle asked for.
//!
//! With d_i(c) the distances of the points from a centre c: minimum zone = least max d - min d, circumscribed = least
//! max d, inscribed = greatest min d with c within the hull of the points; roundness = max d - min d from that centre;
//! unsigned. By least squares: the range of the distances from the geometric circle. Reference circles of ISO 12181-1
//! (from memory).
//!
//! The circumscribed circle is found exactly (`smallest_circle`), of the other two the best of all centres is proved
//! (`best_centre`), whatever the form. Of several inscribed circles of one size the one with the least roundness counts,
//! as it does round a turn. Centre and diameter are there where they are the same for all that are equally good.

use num_bigint::BigInt;
use num_traits::Zero;

use super::best_centre::{Best, Goal, ROUNDING, best_centre};
use super::circle::fit_circle;
use super::hull::{Point, push, whole_numbers};
use super::plane::Place;
use super::roundness::CircleReference;
use super::smallest_circle::smallest_circle;
use super::{Fault, enough, range};
use crate::quantity::Real;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PointsRoundness {
    pub value: Real,
    /// A fault where several places are equally good.
    pub centre: Result<Place, Fault>,
    /// Of the circle itself: of the minimum zone, the middle between its two.
    pub radius: Result<Real, Fault>,
}

/// Needs three points, which have no form by least squares or minimum zone: the circle goes through them. The inscribed
/// circle needs points all around it.
pub fn points_roundness(points: &[Place], reference: CircleReference) -> Result<PointsRoundness, Fault> {
    enough(points, 3)?;
    match reference {
        CircleReference::LeastSquares | CircleReference::MinimumZone if points.len() == 3 => {
            through_three(points)
        }
        CircleReference::LeastSquares => {
            let circle = fit_circle(points)?;
            let value = range(&circle.departures)?;
            Ok(PointsRoundness { value, centre: Ok(circle.centre), radius: Ok(circle.radius) })
        }
        CircleReference::Circumscribed => circumscribed(points),
        CircleReference::MinimumZone => proved(points, Goal::Zone),
        CircleReference::Inscribed => proved(points, Goal::Inscribed),
    }
}

/// Centres apart by more than this part of the size of what was measured are several.
const SEVERAL: f64 = 1e-6;

fn proved(points: &[Place], goal: Goal) -> Result<PointsRoundness, Fault> {
    let origin = (middle(points, |point| &point.0)?, middle(points, |point| &point.1)?);
    let from_origin = |(x, y): &Place| [(x - &origin.0).to_f64(), (y - &origin.1).to_f64()];
    let raw: Vec<[f64; 2]> = points.iter().map(from_origin).collect();
    let scale = raw.iter().map(|[x, y]| libm::hypot(*x, *y)).fold(0.0, f64::max);
    let input = input(points);
    if !(scale > 0.0 && scale.is_finite() && (1.0 / scale).is_finite()) {
        return Err(Fault::NoCircle);
    }
    let mut xy: Vec<[f64; 2]> = raw.iter().map(|[x, y]| [x / scale, y / scale]).collect();
    let hull: Vec<[f64; 2]> = corners(points)?.iter().filter_map(|at| xy.get(*at).copied()).collect();
    if hull.len() < 3 {
        return Err(Fault::NoCircle);
    }
    xy.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    xy.dedup();
    // A point moves no distance by more than it moves itself; twice that, here and at the true best centre.
    let tolerance = ROUNDING + 6.0 * input / scale;
    if tolerance > 1e-3 {
        return Err(Fault::IllConditioned);
    }
    let best = best_centre(&xy, &hull, goal, tolerance)?;
    let found = Centres::of(&best, &xy, goal);
    let real = |[least, most]: [f64; 2]| {
        let bound = 0.5 * (most - least) + best.reach + tolerance;
        match bound <= SEVERAL + 100.0 * tolerance {
            true => {
                Real::approximate(0.5 * (least + most) * scale, bound * scale).ok_or(Fault::IllConditioned)
            }
            false => Err(Fault::SeveralCircles),
        }
    };
    let (form, off) = match goal {
        Goal::Zone => (best.value, best.off + tolerance),
        Goal::Inscribed => found.least_form(2.0 * (best.reach + tolerance)),
    };
    let value = Real::approximate(form * scale, off * scale);
    let (x, y) = (real(found.x), real(found.y));
    let placed = x.and_then(|x| Ok((&origin.0 + &x, &origin.1 + &y?)));
    Ok(PointsRoundness {
        value: value.ok_or(Fault::IllConditioned)?,
        centre: placed,
        radius: real(found.radius),
    })
}

/// From where to where the centres reach that may be the best, and the radii of their circles.
struct Centres {
    x: [f64; 2],
    y: [f64; 2],
    radius: [f64; 2],
    /// Each with its roundness.
    forms: Vec<([f64; 2], f64)>,
}

/// What joins nothing yet.
const NOTHING: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];

fn with([least, most]: [f64; 2], own: f64) -> [f64; 2] {
    [least.min(own), most.max(own)]
}

impl Centres {
    fn of(best: &Best, points: &[[f64; 2]], goal: Goal) -> Self {
        let mut all = Centres { x: NOTHING, y: NOTHING, radius: NOTHING, forms: Vec::new() };
        for [x, y] in &best.centres {
            let distances = points.iter().map(|[px, py]| libm::hypot(px - x, py - y));
            let [inner, outer] = distances.fold(NOTHING, with);
            let radius = if goal == Goal::Zone { 0.5 * (inner + outer) } else { inner };
            all.x = with(all.x, *x);
            all.y = with(all.y, *y);
            all.radius = with(all.radius, radius);
            all.forms.push(([*x, *y], outer - inner));
        }
        all
    }

    /// The least roundness of those centres, with its bound: it is that of all that lie about the same place, each of
    /// which may be off by so much.
    fn least_form(&self, off: f64) -> (f64, f64) {
        let least = self.forms.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        let Some(([x, y], _)) = least else { return (0.0, f64::INFINITY) };
        let about = |[ox, oy]: &[f64; 2]| libm::hypot(ox - x, oy - y) < SEVERAL;
        let forms = self.forms.iter().filter(|(place, _)| about(place)).map(|(_, form)| *form);
        let [least, most] = forms.fold(NOTHING, with);
        (0.5 * (least + most), 0.5 * (most - least) + off)
    }
}

/// The most that a coordinate may be off.
fn input(points: &[Place]) -> f64 {
    points.iter().map(|(x, y)| x.bound().max(y.bound())).fold(0.0, f64::max)
}

/// Midway between the least and the greatest, as an exact number.
fn middle(points: &[Place], of: impl Fn(&Place) -> &Real) -> Result<Real, Fault> {
    let list: Vec<Real> = points.iter().map(|point| of(point).clone()).collect();
    let middle = (&super::least(&list)? + &super::greatest(&list)?).half();
    Ok(Real::Exact(middle.middle()))
}

/// The corners of the hull against the clock, from exact numbers.
pub(super) fn corners(points: &[Place]) -> Result<Vec<usize>, Fault> {
    let (xs, _) = whole_numbers(&points.iter().map(|point| &point.0).collect::<Vec<_>>())?;
    let (ys, _) = whole_numbers(&points.iter().map(|point| &point.1).collect::<Vec<_>>())?;
    let mut order: Vec<(usize, (&BigInt, &BigInt))> = xs.iter().zip(&ys).enumerate().collect();
    order.sort_by(|a, b| a.1.cmp(&b.1));
    order.dedup_by(|a, b| a.1 == b.1);
    let half = |turned: bool| {
        let mut hull = Vec::new();
        for (place, (x, y)) in &order {
            let y = if turned { -(*y).clone() } else { (*y).clone() };
            push(&mut hull, Point { place: *place, x: (*x).clone(), y });
        }
        hull.into_iter().map(|point: Point| point.place).collect::<Vec<_>>()
    };
    let (below, mut above) = (half(true), half(false));
    above.reverse();
    let ends =
        |half: &[usize]| half.get(..half.len().saturating_sub(1)).map(<[usize]>::to_vec).unwrap_or_default();
    Ok([ends(&below), ends(&above)].concat())
}

fn through_three(points: &[Place]) -> Result<PointsRoundness, Fault> {
    let [a, b, c] = points else { return Err(Fault::NoCircle) };
    // About a, so that exact points have an exact centre.
    let off = |point: &Place| (&point.0 - &a.0, &point.1 - &a.1);
    let ((bx, by), (cx, cy)) = (off(b), off(c));
    let doubled = &Real::from(2) * &(&(&bx * &cy) - &(&by * &cx));
    let squares = |x: &Real, y: &Real| &(x * x) + &(y * y);
    let (b_squared, c_squared) = (squares(&bx, &by), squares(&cx, &cy));
    let over = |numerator: Real| numerator.div(&doubled).filter(Real::is_bounded).ok_or(Fault::NoCircle);
    let x = over(&(&cy * &b_squared) - &(&by * &c_squared))?;
    let y = over(&(&bx * &c_squared) - &(&cx * &b_squared))?;
    let radius = squares(&x, &y).sqrt().ok_or(Fault::IllConditioned)?;
    Ok(PointsRoundness { value: Real::zero(), centre: Ok((&a.0 + &x, &a.1 + &y)), radius: Ok(radius) })
}

fn circumscribed(points: &[Place]) -> Result<PointsRoundness, Fault> {
    let middles: Vec<_> = points.iter().map(|(x, y)| (x.middle(), y.middle())).collect();
    let around = smallest_circle(&middles).ok_or(Fault::IllConditioned)?;
    if around.radius_squared.is_zero() {
        return Err(Fault::NoCircle);
    }
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
    let input = input(points);
    let sway = if input > 0.0 { 4.0 * input + libm::sqrt(8.0 * input * outer.to_f64()) } else { 0.0 };
    let loose = |value: Real, bound: f64| super::statistics::widened(&value, value.bound() + bound);
    Ok(PointsRoundness {
        value: loose(&outer - &inner, sway)?,
        centre: Ok((loose(centre.0, sway)?, loose(centre.1, sway)?)),
        radius: loose(outer, 2.0 * input),
    })
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
                found.value.equals(&Real::from(1)) && found.value.bound() < 1e-10,
                "{reference:?} {found:?}"
            );
        }
        let around = points_roundness(&cross, CircleReference::Circumscribed).unwrap();
        assert_eq!(around.radius, Ok(Real::from(20)));
        // Within the short way a circle can roll to either end, 39/40 off the middle: (20 - x)^2 = x^2 + 19^2.
        let within = points_roundness(&cross, CircleReference::Inscribed).unwrap();
        let radius = within.radius.unwrap();
        assert!((radius.to_f64() - 19.025).abs() <= radius.bound() && radius.bound() < 1e-10, "{radius:?}");
        assert!((within.value.to_f64() - 1.95).abs() <= within.value.bound());
        assert_eq!(within.centre, Err(Fault::SeveralCircles));
    }

    #[test]
    fn points_on_a_circle_have_no_roundness_and_an_arc_is_refused() {
        let round = points(&[(5, 0), (3, 4), (-4, 3), (-5, 0), (0, -5), (4, -3)]);
        for reference in ALL {
            let found =
                points_roundness(&round, reference).unwrap_or_else(|fault| panic!("{reference:?} {fault}"));
            assert!(found.value.is_zero() && found.value.bound() < 1e-9, "{reference:?} {found:?}");
        }
        let arc = points(&[(5, 0), (4, 3), (3, 4), (0, 5), (-3, 4)]);
        assert_eq!(points_roundness(&arc, CircleReference::Inscribed), Err(Fault::NotHeld));
    }

    /// The points at 0 and 180 degrees almost hold it alone: thousands of places have to be told apart. Where the part
    /// lies changes nothing but the rounding.
    #[test]
    fn a_circle_held_by_points_almost_opposite_is_proved() {
        let form = [-43, -6, -9, 3, 21, 1, -11, -1, 20, 0, 17, -24_i64];
        let of = |off: i64| {
            let at = |(k, r): (i64, &i64)| {
                let (angle, radius) = (Real::from(k * 30), &Real::from(30) + &Real::Exact(ratio(*r, 10_000)));
                (
                    &(&radius * &angle.cos()) + &Real::from(off),
                    &(&radius * &angle.sin()) - &Real::from(2 * off),
                )
            };
            let points: Vec<Place> = (0..).zip(&form).map(at).collect();
            points_roundness(&points, CircleReference::Inscribed).unwrap().value
        };
        let (here, there) = (of(0), of(6));
        assert!((here.to_f64() - there.to_f64()).abs() <= here.bound() + there.bound(), "{here:?} {there:?}");
    }

    #[test]
    fn where_there_is_no_circle_it_is_said() {
        let found = |list: &[(i64, i64)]| ALL.map(|by| points_roundness(&points(list), by).err());
        let none = Some(Fault::NoCircle);
        assert_eq!(found(&[(3, 3); 5]), [none.clone(), none.clone(), none.clone(), none.clone()]);
        // Around points of one line there is one, over the two ends.
        let line = found(&[(0, 0), (1, 2), (2, 4), (5, 10)]);
        assert_eq!(line, [none.clone(), none.clone(), none.clone(), None]);
        // Nearly on a line: the straighter, the narrower.
        let [_, zone, within, _] = found(&[(0, 0), (10, 1), (20, 0), (30, 1), (40, 0)]);
        assert_eq!((zone, within), (Some(Fault::StraightZone), Some(Fault::NotHeld)));
        let few = points_roundness(&points(&[(0, 0), (4, 0)]), CircleReference::LeastSquares);
        assert_eq!(few, Err(Fault::TooFew { needed: 3, found: 2 }));
        let straight = found(&[(0, 0), (1, 2), (3, 6)]);
        assert_eq!(straight[..3], [none.clone(), none.clone(), none]);
    }

    /// 5 from (1, 2), and far from being the circle around the first two.
    #[test]
    fn one_circle_goes_through_three_points() {
        let three = points(&[(6, 2), (4, 6), (-2, 6)]);
        for by in [CircleReference::LeastSquares, CircleReference::MinimumZone] {
            let found = points_roundness(&three, by).unwrap();
            assert_eq!((found.value, found.radius.unwrap()), (Real::zero(), Real::from(5)));
            assert_eq!(found.centre.unwrap(), (Real::from(1), Real::from(2)));
        }
        let around = points_roundness(&three, CircleReference::Circumscribed).unwrap();
        assert!(around.radius.unwrap().is_less(&Real::from(5)), "the two that are farthest apart hold it");
    }

    /// Ten thousand points of an ellipse 2 to 1. Its four ends alone take a zone of 10 and a circle of 20 around them,
    /// and from the middle all lie between 10 and 20: so that is the best. Within, the points in pairs about the short way
    /// leave a little more than 10.
    #[test]
    fn an_ellipse_of_ten_thousand_points_is_proved() {
        // Rounded inward along the long way and outward along the short one, so that the ends stay the ends.
        let at =
            |k: i64, size: f64, of: fn(f64) -> f64| size * of(k as f64 * std::f64::consts::TAU / 10_000.0);
        let outward = |own: f64| (own.abs() - 1e-3).ceil().copysign(own) as i64;
        let oval: Vec<(i64, i64)> =
            (0..10_000).map(|k| ((at(k, 2e6, libm::cos)) as i64, outward(at(k, 1e6, libm::sin)))).collect();
        let oval = points(&oval);
        let found = |by| points_roundness(&oval, by).unwrap();
        for by in [CircleReference::MinimumZone, CircleReference::Circumscribed] {
            let form = found(by).value;
            assert!((form.to_f64() - 1e6).abs() <= form.bound() && form.bound() < 1e-5, "{by:?} {form:?}");
        }
        let within = found(CircleReference::Inscribed).radius.unwrap();
        assert!((within.to_f64() - 1e6).abs() < 2.0 && within.bound() < 1e-3, "{within:?}");
        assert_eq!(found(CircleReference::Circumscribed).radius, Ok(Real::from(2_000_000)));
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
                // Held by points almost opposite there may be too many centres that are nearly as good.
                let Ok(PointsRoundness { value: moved, .. }) = points_roundness(&at(x), reference) else {
                    prop_assert_eq!(reference, CircleReference::Inscribed);
                    continue;
                };
                // Contacts that are almost opposite leave more open.
                let open = 1e-9 + moved.bound() + found.bound();
                prop_assert!((moved.to_f64() - found.to_f64()).abs() < open);
                if reference == CircleReference::MinimumZone || reference == CircleReference::LeastSquares {
                    let dial = super::super::roundness::roundness(&angles, &readings, reference).unwrap().value;
                    prop_assert!((dial.to_f64() - found.to_f64()).abs() < 5e-6);
                }
            }
        }
    }
}
