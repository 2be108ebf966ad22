//! Twist of a bed, and what to put under its feet.
//!
//! - twist = greatest less least of the transverse tilts along the bed; a tilt common to all is no twist. Unsigned.
//! - rigid stand on feet at (x, y), tilted by a (along x) and b (along y), plus = that side high: shims
//!   s = const - a x - b y, the least of them zero
//! - seating of a stand: departures of the floor gaps from their plane. Three feet always seat; of four one is
//!   redundant, and the departures are +e -e +e -e around the stand; with more, least squares.
//! - shims for a twisted bed: the roll is taken as straight from one pair of feet to the next, and the rolls of the
//!   pairs are found by least squares from the levels read anywhere along the bed; shim = (wanted - roll) * spacing,
//!   plus = under the foot on the side that plus of the level calls high, minus = under the other. A first guess: a bed
//!   is no chain of straight pieces, read the level again after each change (common practice, no source).
//!
//! Tilts are ratios, the rest lengths; exact.

use super::line::{in_order, span};
use super::plane::{Place, PlaneReference, fit_plane};
use super::solve::least_squares;
use super::{Fault, enough, least, paired, range};
use crate::quantity::Real;

/// The variation of the transverse tilt; needs two stations.
pub fn twist(tilts: &[Real]) -> Result<Real, Fault> {
    enough(tilts, 2)?;
    range(tilts)
}

/// The greatest change of tilt from one station to the next, as listed. Unsigned.
pub fn worst_step(tilts: &[Real]) -> Result<Real, Fault> {
    enough(tilts, 2)?;
    let steps = tilts.windows(2).filter_map(|pair| match pair {
        [a, b] => Some((b - a).abs()),
        _ => None,
    });
    super::greatest(&steps.collect::<Vec<_>>())
}

/// Shims that bring a rigid stand level, one a foot.
pub fn shims_to_level(feet: &[Place], along: &Real, across: &Real) -> Result<Vec<Real>, Fault> {
    enough(feet, 3)?;
    let heights: Vec<Real> = feet.iter().map(|(x, y)| &(along * x) + &(across * y)).collect();
    let highest = super::greatest(&heights)?;
    Ok(heights.iter().map(|height| &highest - height).collect())
}

/// What keeps a stand from sitting on all its feet, and the shims that seat it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seating {
    /// Departure of each foot from the plane of all; plus = too high, the foot that carries more.
    pub departures: Vec<Real>,
    /// One a foot, the least of them zero.
    pub shims: Vec<Real>,
    /// Feet beyond the three that always seat.
    pub redundant: usize,
}

/// From the heights of the feet over a common datum, at their places.
pub fn seating(feet: &[Place], heights: &[Real]) -> Result<Seating, Fault> {
    paired(feet, heights, 3)?;
    let plane = fit_plane(feet, heights, PlaneReference::LeastSquares)?;
    let departures: Vec<Real> =
        feet.iter().zip(heights).map(|(foot, height)| height - &plane.at(foot)).collect();
    // A foot that stands low gets the more under it.
    let turned: Vec<Real> = departures.iter().map(|departure| -departure).collect();
    let lowest = least(&turned)?;
    let shims = turned.iter().map(|departure| departure - &lowest).collect();
    Ok(Seating { departures, shims, redundant: feet.len() - 3 })
}

/// A pair of feet across the bed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FootPair {
    pub station: Real,
    pub spacing: Real,
}

/// What is to be done at each pair of feet, and how well the levels agree with that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwistShims {
    /// The roll at each pair.
    pub rolls: Vec<Real>,
    pub shims: Vec<Real>,
    /// Each level less the roll that was fitted there; all zero where there are as many pairs as levels.
    pub departures: Vec<Real>,
}

/// Needs two pairs at different stations, and at least as many levels as pairs.
pub fn twist_shims(
    pairs: &[FootPair],
    stations: &[Real],
    tilts: &[Real],
    wanted: &Real,
) -> Result<TwistShims, Fault> {
    enough(pairs, 2)?;
    paired(stations, tilts, pairs.len())?;
    if pairs.iter().any(|pair| !pair.spacing.is_positive()) {
        return Err(Fault::NotPositive("the distance between the feet of a pair"));
    }
    let places: Vec<Real> = pairs.iter().map(|pair| pair.station.clone()).collect();
    let order = in_order(&places)?;
    let rows: Vec<Vec<Real>> =
        stations.iter().map(|station| shares(&places, &order, station)).collect::<Result<_, _>>()?;
    let weights = vec![Real::from(1); tilts.len()];
    let rolls = least_squares(&rows, tilts, &weights)?;
    let fitted =
        |row: &Vec<Real>| super::statistics::total(row.iter().zip(&rolls).map(|(share, roll)| share * roll));
    Ok(TwistShims {
        departures: rows.iter().zip(tilts).map(|(row, tilt)| tilt - &fitted(row)).collect(),
        shims: pairs.iter().zip(&rolls).map(|(pair, roll)| &(wanted - roll) * &pair.spacing).collect(),
        rolls,
    })
}

/// How much of the roll of each pair counts at a station: straight between pairs, carried on beyond the last.
fn shares(places: &[Real], order: &[usize], station: &Real) -> Result<Vec<Real>, Fault> {
    let sorted: Vec<&Real> = order.iter().filter_map(|place| places.get(*place)).collect();
    let right = sorted.partition_point(|place| *place <= station).clamp(1, sorted.len().saturating_sub(1));
    let (Some((left_at, left)), Some((right_at, after))) =
        (order.get(right - 1).zip(sorted.get(right - 1)), order.get(right).zip(sorted.get(right)))
    else {
        return Err(Fault::TooFew { needed: 2, found: places.len() });
    };
    let width = span(&[(*left).clone(), (*after).clone()])?;
    let share = (station - left).div(&width).ok_or(Fault::SamePlace)?;
    let mut shares = vec![Real::zero(); places.len()];
    for (at, value) in [(left_at, &Real::from(1) - &share), (right_at, share)] {
        if let Some(entry) = shares.get_mut(*at) {
            *entry = value;
        }
    }
    Ok(shares)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    fn feet(list: &[(i64, i64)]) -> Vec<Place> {
        list.iter().map(|(x, y)| (Real::from(*x), Real::from(*y))).collect()
    }

    #[test]
    fn a_tilt_of_the_whole_bed_is_no_twist() {
        assert_eq!(twist(&whole(&[7, 7, 7])), Ok(Real::zero()));
        assert_eq!(worst_step(&whole(&[2, 3, 5, 4, 0, -1])), Ok(Real::from(4)));
        assert_eq!(twist(&whole(&[7])), Err(Fault::TooFew { needed: 2, found: 1 }));
    }

    #[test]
    fn three_feet_always_seat_and_four_share_what_is_left() {
        let three = seating(&feet(&[(0, 0), (900, 0), (450, 500)]), &whole(&[3, -2, 9])).unwrap();
        assert_eq!((three.departures, three.redundant), (whole(&[0, 0, 0]), 0));
        let four = seating(&feet(&[(0, 0), (900, 0), (900, 500), (0, 500)]), &whole(&[4, 0, 0, 0])).unwrap();
        assert_eq!((four.departures, four.redundant), (whole(&[1, -1, 1, -1]), 1));
        assert_eq!(four.shims, whole(&[0, 2, 0, 2]), "the two low feet of a rocking stand");
    }

    #[test]
    fn a_rigid_stand_is_raised_at_its_low_corner() {
        // 0.5 mm/m high to the right, 1 mm/m high to the rear.
        let stand = feet(&[(0, 0), (1000, 0), (1000, 600), (0, 600)]);
        let shims =
            shims_to_level(&stand, &Real::Exact(ratio(1, 2000)), &Real::Exact(ratio(1, 1000))).unwrap();
        assert_eq!(shims, [ratio(11, 10), ratio(6, 10), ratio(0, 1), ratio(1, 2)].map(Real::Exact));
    }

    #[test]
    fn a_bed_that_is_twisted_between_its_end_feet_gets_a_shim_at_the_end() {
        let pair = |station: i64| FootPair { station: Real::from(station), spacing: Real::from(400) };
        // Front high grows by 0.02 mm/m over each 500.
        let tilts: Vec<Real> = (0..5).map(|k| Real::Exact(ratio(k, 50_000))).collect();
        let stations = whole(&[0, 500, 1000, 1500, 2000]);
        let found = twist_shims(&[pair(0), pair(2000)], &stations, &tilts, &Real::zero()).unwrap();
        assert_eq!(
            found.shims,
            [Real::zero(), Real::Exact(ratio(-4 * 400, 50_000))],
            "under the rear foot at the end"
        );
        assert!(found.departures.iter().all(Real::is_zero));
        let short = twist_shims(&[pair(0), pair(2000)], &stations[..1], &tilts[..1], &Real::zero());
        assert_eq!(short, Err(Fault::TooFew { needed: 2, found: 1 }));
        let apart =
            twist_shims(&[pair(0), pair(1000), pair(2000)], &stations[..3], &tilts[..3], &Real::zero());
        assert_eq!(apart, Err(Fault::IllConditioned), "no level was read near the last pair");
    }

    #[test]
    fn middle_feet_take_their_own_share_and_the_misfit_is_told() {
        let pair = |station: i64| FootPair { station: Real::from(station), spacing: Real::from(1) };
        let stations = whole(&[0, 250, 500, 750, 1000]);
        let found = twist_shims(
            &[pair(0), pair(500), pair(1000)],
            &stations,
            &whole(&[0, 3, 4, 2, 0]),
            &Real::from(1),
        )
        .unwrap();
        let sum = super::super::statistics::total(found.departures.iter().cloned());
        assert!(found.departures.iter().any(|departure| !departure.is_zero()) && sum.to_f64().abs() < 1.0);
        assert!(found.shims[1].is_negative() && found.shims[0].is_positive());
    }
}
