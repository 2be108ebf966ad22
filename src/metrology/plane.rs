//! A plane through heights over a surface, and what departs from it.
//!
//! height = value + slope_x (x - x0) + slope_y (y - y0)
//!
//! - by least squares (LSPL): the sum of the squared departures is least; normal equations, exact. By place: several heights
//!   at one place, as where the lines of a survey meet, count once, by their mean; a corner that three lines share would else
//!   draw the plane to itself
//! - by minimum zone (MZPL): midway between the two parallel planes closest together in the direction of the heights
//!   that have all of them between; exact, see `minimum_zone_plane`
//!
//! - by three corners: through A, B and D of an area whose least x and y meet at A; what a side and a diagonal leave at
//!   zero (a course text, slides seen). Moves with one wrong corner: a datum, no measure of form
//!
//! An ordinate is the height less the plane: plus is above. Flatness = greatest less least ordinate; unsigned.
//! Reference planes of ISO 12781-1 (from memory).

use std::collections::BTreeMap;

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::Zero;

use super::hull::whole_numbers;
use super::minimum_zone_plane::zone;
use super::statistics::{mean, total};
use super::{Fault, paired, range};
use crate::quantity::{Rational, Real};

/// Where a height was taken: its place along the two lengths.
pub type Place = (Real, Real);

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlaneReference {
    LeastSquares,
    /// The same of the mean height at each place.
    LeastSquaresByPlace,
    MinimumZone,
    /// Through the corners at (least x, least y), (greatest x, least y) and (least x, greatest y).
    ThreeCorners,
}

/// A plane through `(x, y, value)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plane {
    pub x: Real,
    pub y: Real,
    pub value: Real,
    pub slope_x: Real,
    pub slope_y: Real,
}

impl Plane {
    pub fn at(&self, place: &Place) -> Real {
        let along = &self.slope_x * &(&place.0 - &self.x);
        let across = &self.slope_y * &(&place.1 - &self.y);
        &(&self.value + &along) + &across
    }

    /// The plane through three heights; a fault if their places stand on one line.
    pub fn through(places: [&Place; 3], heights: [&Real; 3]) -> Result<Plane, Fault> {
        let [origin, b, c] = places;
        let [height, at_b, at_c] = heights;
        let (bx, by, cx, cy) = (&b.0 - &origin.0, &b.1 - &origin.1, &c.0 - &origin.0, &c.1 - &origin.1);
        let (rise_b, rise_c) = (at_b - height, at_c - height);
        let area = &(&bx * &cy) - &(&cx * &by);
        let over_area = |numerator: Real| numerator.div(&area).ok_or(Fault::OneLine);
        Ok(Plane {
            x: origin.0.clone(),
            y: origin.1.clone(),
            value: height.clone(),
            slope_x: over_area(&(&rise_b * &cy) - &(&rise_c * &by))?,
            slope_y: over_area(&(&bx * &rise_c) - &(&cx * &rise_b))?,
        })
    }
}

/// The reference plane; least squares needs three places not on one line, the minimum zone four.
pub fn fit_plane(places: &[Place], heights: &[Real], reference: PlaneReference) -> Result<Plane, Fault> {
    match reference {
        PlaneReference::MinimumZone => {
            paired(places, heights, 4)?;
            return spread_out(places).and_then(|()| zone(places, heights)).map(|zone| zone.middle);
        }
        PlaneReference::ThreeCorners => {
            paired(places, heights, 3)?;
            return three_corners(places, heights);
        }
        PlaneReference::LeastSquares => {
            paired(places, heights, 3)?;
            return least_squares(places, heights);
        }
        PlaneReference::LeastSquaresByPlace => paired(places, heights, 3)?,
    }
    let mut at_each: BTreeMap<&Place, Vec<Real>> = BTreeMap::new();
    for (place, height) in places.iter().zip(heights) {
        at_each.entry(place).or_default().push(height.clone());
    }
    if at_each.len() == places.len() {
        return least_squares(places, heights);
    }
    let means: Result<Vec<Real>, Fault> = at_each.values().map(|heights| mean(heights)).collect();
    least_squares(&at_each.into_keys().cloned().collect::<Vec<_>>(), &means?)
}

fn least_squares(places: &[Place], heights: &[Real]) -> Result<Plane, Fault> {
    let exact =
        places.iter().all(|(x, y)| x.is_exact() && y.is_exact()) && heights.iter().all(Real::is_exact);
    if exact {
        least_squares_exactly(places, heights)
    } else {
        spread_out(places).and_then(|()| least_squares_in_binary(places, heights))
    }
}

/// The three corners must be there: heights at the ends of the two sides that meet at the first of them.
fn three_corners(places: &[Place], heights: &[Real]) -> Result<Plane, Fault> {
    let side = |of: fn(&Place) -> &Real| {
        let lengths: Vec<Real> = places.iter().map(|place| of(place).clone()).collect();
        Ok((super::least(&lengths)?, super::greatest(&lengths)?))
    };
    let (x, y) = (side(|place| &place.0)?, side(|place| &place.1)?);
    let corner = |x: &Real, y: &Real| {
        let here = places.iter().zip(heights).find(|(place, _)| place.0.equals(x) && place.1.equals(y));
        here.ok_or(Fault::NoCorner)
    };
    let (a, b, c) = (corner(&x.0, &y.0)?, corner(&x.1, &y.0)?, corner(&x.0, &y.1)?);
    Plane::through([a.0, b.0, c.0], [a.1, b.1, c.1])
}

/// Whether three of the places do not stand on one line.
fn spread_out(places: &[Place]) -> Result<(), Fault> {
    let origin = places.first().ok_or(Fault::OneLine)?;
    let mut from_origin = places.iter().map(|(x, y)| (x - &origin.0, y - &origin.1));
    let ray = from_origin.find(|(x, y)| !(x.is_zero() && y.is_zero())).ok_or(Fault::OneLine)?;
    let off_line = |(x, y): (Real, Real)| !(&(&ray.0 * &y) - &(&ray.1 * &x)).is_zero();
    if from_origin.any(off_line) { Ok(()) } else { Err(Fault::OneLine) }
}

/// By the normal equations around the means. The places as binary numbers too: heights that are not exact make no
/// exact slopes.
fn least_squares_in_binary(places: &[Place], heights: &[Real]) -> Result<Plane, Fault> {
    let list = |of: fn(&Place) -> &Real| places.iter().map(|place| of(place).clone()).collect::<Vec<_>>();
    let (xs, ys) = (list(|place| &place.0), list(|place| &place.1));
    let (x, y, value) = (mean(&xs)?, mean(&ys)?, mean(heights)?);
    let around = |list: &[Real], mean: &Real| -> Vec<Real> {
        list.iter().map(|number| (number - mean).in_binary()).collect()
    };
    let (xs, ys, zs) = (around(&xs, &x), around(&ys, &y), around(heights, &value));
    let products = |a: &[Real], b: &[Real]| total(a.iter().zip(b).map(|(a, b)| a * b));
    let (xx, xy, yy) = (products(&xs, &xs), products(&xs, &ys), products(&ys, &ys));
    let (xz, yz) = (products(&xs, &zs), products(&ys, &zs));
    let area = &(&xx * &yy) - &(&xy * &xy);
    let slope = |numerator: Real| numerator.div(&area).filter(Real::is_bounded).ok_or(Fault::IllConditioned);
    let slope_x = slope(&(&xz * &yy) - &(&yz * &xy))?;
    let slope_y = slope(&(&yz * &xx) - &(&xz * &xy))?;
    Ok(Plane { x, y, value, slope_x, slope_y })
}

/// The same with sums of whole numbers, which lose nothing and take far less time than sums of quotients.
fn least_squares_exactly(places: &[Place], heights: &[Real]) -> Result<Plane, Fault> {
    let list = |of: fn(&Place) -> &Real| whole_numbers(&places.iter().map(of).collect::<Vec<_>>());
    let (xs, x_scale) = list(|place| &place.0)?;
    let (ys, y_scale) = list(|place| &place.1)?;
    let (zs, z_scale) = whole_numbers(&heights.iter().collect::<Vec<_>>())?;
    let n = BigInt::from(zs.len());
    let sum = |a: &[BigInt]| a.iter().sum::<BigInt>();
    let (x, y, z) = (sum(&xs), sum(&ys), sum(&zs));
    // n times the sums of products around the means.
    let around = |a: &[BigInt], of_a: &BigInt, b: &[BigInt], of_b: &BigInt| {
        &n * a.iter().zip(b).map(|(a, b)| a * b).sum::<BigInt>() - of_a * of_b
    };
    let (xx, xy, yy) = (around(&xs, &x, &xs, &x), around(&xs, &x, &ys, &y), around(&ys, &y, &ys, &y));
    let (xz, yz) = (around(&xs, &x, &zs, &z), around(&ys, &y, &zs, &z));
    let area = &xx * &yy - &xy * &xy;
    if area.is_zero() {
        return Err(Fault::OneLine);
    }
    let real = |numerator: BigInt, denominator: BigInt| Real::Exact(Rational::new(numerator, denominator));
    Ok(Plane {
        x: real(x, &n * &x_scale),
        y: real(y, &n * &y_scale),
        value: real(z, &n * &z_scale),
        slope_x: real((&xz * &yy - &yz * &xy) * &x_scale, &area * &z_scale),
        slope_y: real((&yz * &xx - &xz * &xy) * &y_scale, &area * &z_scale),
    })
}

/// The departure of each height from the plane, in the order given; plus is above.
pub fn plane_ordinates(
    places: &[Place],
    heights: &[Real],
    reference: PlaneReference,
) -> Result<Vec<Real>, Fault> {
    fit_plane(places, heights, reference).map(|plane| above(&plane, places, heights))
}

fn above(plane: &Plane, places: &[Place], heights: &[Real]) -> Vec<Real> {
    if let Some(exactly) = above_exactly(plane, places, heights) {
        return exactly;
    }
    places.iter().zip(heights).map(|(place, height)| height - &plane.at(place)).collect()
}

/// The same over one common denominator; `None` if something is not exact.
fn above_exactly(plane: &Plane, places: &[Place], heights: &[Real]) -> Option<Vec<Real>> {
    let (slope_x, slope_y) = (plane.slope_x.exact()?, plane.slope_y.exact()?);
    let at_origin = plane.value.exact()? - slope_x * plane.x.exact()? - slope_y * plane.y.exact()?;
    let list = |of: fn(&(&Place, &Real)) -> Real| -> Option<(Vec<BigInt>, BigInt)> {
        let numbers: Vec<Real> = places.iter().zip(heights).map(|pair| of(&pair)).collect();
        numbers.iter().all(Real::is_exact).then(|| whole_numbers(&numbers.iter().collect::<Vec<_>>()).ok())?
    };
    let (xs, x_scale) = list(|(place, _)| place.0.clone())?;
    let (ys, y_scale) = list(|(place, _)| place.1.clone())?;
    let (zs, z_scale) = list(|(_, height)| (*height).clone())?;
    let common = [at_origin.denom().clone(), slope_x.denom() * &x_scale, slope_y.denom() * &y_scale]
        .iter()
        .fold(z_scale.clone(), |common, denominator| common.lcm(denominator));
    let whole = |number: &Rational, scale: &BigInt| number.numer() * (&common / (number.denom() * scale));
    let (per_x, per_y) = (whole(slope_x, &x_scale), whole(slope_y, &y_scale));
    let (fixed, per_z) = (whole(&at_origin, &BigInt::from(1)), &common / &z_scale);
    let ordinate = |((x, y), z): ((&BigInt, &BigInt), &BigInt)| {
        Real::Exact(Rational::new(z * &per_z - &fixed - x * &per_x - y * &per_y, common.clone()))
    };
    Some(xs.iter().zip(&ys).zip(&zs).map(ordinate).collect())
}

/// Greatest less least ordinate: by minimum zone, the height of the zone. Needs four places.
pub fn flatness(places: &[Place], heights: &[Real], reference: PlaneReference) -> Result<Real, Fault> {
    paired(places, heights, 4)?;
    match reference {
        PlaneReference::LeastSquares | PlaneReference::LeastSquaresByPlace | PlaneReference::ThreeCorners => {
            range(&plane_ordinates(places, heights, reference)?)
        }
        PlaneReference::MinimumZone => {
            spread_out(places).and_then(|()| zone(places, heights)).map(|zone| zone.height)
        }
    }
}

/// The heights over the plane through three of them, which become zero.
pub fn over_three(places: &[Place], heights: &[Real], three: [usize; 3]) -> Result<Vec<Real>, Fault> {
    paired(places, heights, 3)?;
    let at = |place: usize| places.get(place).zip(heights.get(place)).ok_or(Fault::OneLine);
    let [a, b, c] = three;
    let (a, b, c) = (at(a)?, at(b)?, at(c)?);
    Plane::through([a.0, b.0, c.0], [a.1, b.1, c.1]).map(|plane| above(&plane, places, heights))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    const BOTH: [PlaneReference; 2] = [PlaneReference::LeastSquares, PlaneReference::MinimumZone];

    fn places(list: &[(i64, i64)]) -> Vec<Place> {
        list.iter().map(|(x, y)| (Real::from(*x), Real::from(*y))).collect()
    }

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn heights_on_a_slanting_plane_have_ordinates_of_exactly_zero() {
        let places = places(&[(0, 0), (300, 0), (0, 170), (250, 400), (9, 9)]);
        let heights: Vec<Real> = places
            .iter()
            .map(|(x, y)| &(x * &Real::Exact(ratio(1, 3))) - &(y * &Real::Exact(ratio(2, 7))))
            .collect();
        for reference in BOTH {
            assert_eq!(plane_ordinates(&places, &heights, reference), Ok(vec![Real::zero(); 5]));
        }
        assert_eq!(over_three(&places, &heights, [0, 1, 2]), Ok(vec![Real::zero(); 5]));
    }

    #[test]
    fn a_place_that_was_measured_several_times_counts_once_if_that_is_asked_for() {
        let corners = [(0, 0), (100, 0), (0, 100), (100, 100)];
        let once = fit_plane(&places(&corners), &whole(&[4, 0, 0, 0]), PlaneReference::LeastSquares).unwrap();
        let often = places(&[&corners[..], &[(0, 0), (0, 0)]].concat());
        let found = |reference| fit_plane(&often, &whole(&[3, 0, 0, 0, 4, 5]), reference).unwrap();
        assert_eq!(found(PlaneReference::LeastSquaresByPlace), once);
        assert_ne!(found(PlaneReference::LeastSquares), once);
    }

    #[test]
    fn one_high_corner_of_four_is_shared_by_both_diagonals() {
        let places = places(&[(0, 0), (1, 0), (0, 1), (1, 1)]);
        let heights = whole(&[0, 0, 0, 4]);
        for reference in BOTH {
            let ordinates = plane_ordinates(&places, &heights, reference).unwrap();
            assert_eq!(ordinates, whole(&[1, -1, -1, 1]), "{reference:?}");
        }
    }

    #[test]
    fn what_has_no_plane_is_said() {
        let on_a_line = places(&[(0, 0), (1, 2), (2, 4), (3, 6)]);
        let heights = whole(&[1, 5, 2, 3]);
        for reference in BOTH {
            assert_eq!(flatness(&on_a_line, &heights, reference), Err(Fault::OneLine));
        }
        assert_eq!(over_three(&on_a_line, &heights, [0, 1, 2]), Err(Fault::OneLine));
        let few = flatness(&places(&[(0, 0), (1, 0), (0, 1)]), &heights[..3], BOTH[0]);
        assert_eq!(few, Err(Fault::TooFew { needed: 4, found: 3 }));
        // Four times the same place and a fifth elsewhere lie on one line too.
        let same =
            flatness(&places(&[(1, 1), (1, 1), (1, 1), (1, 1), (2, 5)]), &whole(&[1, 2, 3, 4, 5]), BOTH[1]);
        assert_eq!(same, Err(Fault::OneLine));
    }

    /// Scattered places with heights, some places twice.
    fn surface() -> impl Strategy<Value = (Vec<Place>, Vec<Real>)> {
        proptest::collection::vec((-20i64..20, -9i64..9, -40i64..40), 5..25).prop_map(|points| {
            let places = points.iter().map(|(x, y, _)| (Real::from(*x), Real::from(*y)));
            (places.collect(), points.iter().map(|(_, _, z)| Real::from(*z)).collect())
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        /// The zone is least; order, tilt, shift, a quarter turn and the unit change nothing but the unit.
        #[test]
        fn the_zone_is_least_and_nothing_hangs_on_the_set_up((places, heights) in surface(), tilt in -5i64..5) {
            let Ok(zone) = flatness(&places, &heights, PlaneReference::MinimumZone) else { return Ok(()) };
            for reference in BOTH {
                let value = flatness(&places, &heights, reference).unwrap();
                prop_assert!(value.is_exact() && zone.is_at_most(&value));
                let tilted: Vec<Real> = places.iter().zip(&heights)
                    .map(|((x, y), z)| &(z + &(x * &Real::from(tilt))) + &(y * &Real::Exact(ratio(tilt, 3)))).collect();
                prop_assert_eq!(&flatness(&places, &tilted, reference).unwrap(), &value);
                let turned: Vec<Place> = places.iter().map(|(x, y)| (-&(y + &Real::from(700)), x * &Real::Exact(ratio(254, 10)))).collect();
                prop_assert_eq!(&flatness(&turned, &heights, reference).unwrap(), &value);
                let upside_down: Vec<Real> = heights.iter().map(|z| -z).collect();
                prop_assert_eq!(&flatness(&places, &upside_down, reference).unwrap(), &value);
                let back: (Vec<Place>, Vec<Real>) = (places.iter().rev().cloned().collect(), heights.iter().rev().cloned().collect());
                prop_assert_eq!(&flatness(&back.0, &back.1, reference).unwrap(), &value);
            }
        }

        /// Numbers with a bound give the exact answer within the bound.
        #[test]
        fn the_carried_bound_covers_the_exact_answer((places, heights) in surface()) {
            let rough: Vec<Real> = heights.iter().enumerate()
                .map(|(k, z)| Real::approximate(z.to_f64() + 1e-6 * (k as f64).cos(), 1e-6).unwrap()).collect();
            for reference in BOTH {
                let Ok(exact) = flatness(&places, &heights, reference) else { return Ok(()) };
                let found = flatness(&places, &rough, reference).unwrap();
                prop_assert!(found.equals(&exact) && found.bound() < 1e-3);
            }
        }
    }
}
