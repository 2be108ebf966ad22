//! A line through values along a length, and what departs from it.
//!
//! - by ends: the line joins the values at the least and the greatest station
//! - by least squares: slope = sum (x - xm)(y - ym) / sum (x - xm)^2, through the means; stations need no equal spacing
//! - by minimum zone: midway between the two parallel lines that are closest together in the direction of the values
//!   and have all values between them
//!
//! An ordinate is the value less the line: plus is above. Straightness = greatest less least ordinate; hump = the
//! greatest above the line, hollow = the depth below it; all three unsigned. Reference lines of ISO 12780-1 and
//! ISO 230-1 (from memory).

use num_bigint::BigInt;
use num_traits::Zero;

use super::hull::whole_numbers;
use super::minimum_zone;
use super::statistics::{count, total};
use super::{Fault, greatest, least, paired, range};
use crate::quantity::{Rational, Real};

/// The line from which departures are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reference {
    Ends,
    LeastSquares,
    MinimumZone,
}

/// A straight line through `(station, value)`, rising by `slope` a unit of length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub station: Real,
    pub value: Real,
    pub slope: Real,
}

impl Line {
    pub fn at(&self, station: &Real) -> Real {
        &self.value + &(&self.slope * &(station - &self.station))
    }

    /// The line through two points; `None` if they stand at one place.
    pub(super) fn through(first: (&Real, &Real), last: (&Real, &Real)) -> Option<Line> {
        let slope = (last.1 - first.1).div(&(last.0 - first.0))?;
        Some(Line { station: first.0.clone(), value: first.1.clone(), slope })
    }
}

/// The positions of the stations from the least to the greatest; a fault if two are the same.
pub(super) fn in_order(stations: &[Real]) -> Result<Vec<usize>, Fault> {
    let mut order: Vec<usize> = (0..stations.len()).collect();
    order.sort_by(|a, b| stations.get(*a).cmp(&stations.get(*b)));
    let same = |pair: &[usize]| match pair {
        [a, b] => stations.get(*a).zip(stations.get(*b)).is_some_and(|(a, b)| a.equals(b)),
        _ => false,
    };
    if order.windows(2).any(same) { Err(Fault::SamePlace) } else { Ok(order) }
}

/// The reference line; needs two stations, in any order. Only least squares takes several values at one station.
pub fn fit(stations: &[Real], values: &[Real], reference: Reference) -> Result<Line, Fault> {
    paired(stations, values, 2)?;
    match reference {
        Reference::Ends => by_ends(stations, values, &in_order(stations)?),
        Reference::LeastSquares => least_squares(stations, values),
        Reference::MinimumZone => minimum_zone::middle_line(stations, values, &in_order(stations)?),
    }
}

fn by_ends(stations: &[Real], values: &[Real], order: &[usize]) -> Result<Line, Fault> {
    let point = |at: Option<&usize>| at.and_then(|at| stations.get(*at).zip(values.get(*at)));
    let (first, last) =
        point(order.first()).zip(point(order.last())).ok_or(Fault::TooFew { needed: 2, found: 0 })?;
    Line::through(first, last).ok_or(Fault::SamePlace)
}

fn least_squares(stations: &[Real], values: &[Real]) -> Result<Line, Fault> {
    if stations.iter().chain(values).all(Real::is_exact) {
        return least_squares_exactly(stations, values);
    }
    let n = count(values.len());
    let centre = |list: &[Real]| total(list.iter().cloned()).div(&n).ok_or(Fault::IllConditioned);
    let (station, value) = (centre(stations)?, centre(values)?);
    let from_centre: Vec<Real> = stations.iter().map(|x| x - &station).collect();
    let squares = total(from_centre.iter().map(|x| x * x));
    let products = total(from_centre.iter().zip(values).map(|(x, y)| x * &(y - &value)));
    let slope = products.div(&squares).ok_or(Fault::SamePlace)?;
    Ok(Line { station, value, slope })
}

/// The same with plain sums of whole numbers, which lose nothing and take far less time than sums of quotients.
fn least_squares_exactly(stations: &[Real], values: &[Real]) -> Result<Line, Fault> {
    let (xs, x_scale) = whole_numbers(&stations.iter().collect::<Vec<_>>())?;
    let (ys, y_scale) = whole_numbers(&values.iter().collect::<Vec<_>>())?;
    let n = BigInt::from(xs.len());
    let sum = |a: &[BigInt]| a.iter().sum::<BigInt>();
    let products = |a: &[BigInt], b: &[BigInt]| a.iter().zip(b).map(|(a, b)| a * b).sum::<BigInt>();
    let (x, y) = (sum(&xs), sum(&ys));
    let squares = &n * products(&xs, &xs) - &x * &x;
    if squares.is_zero() {
        return Err(Fault::SamePlace);
    }
    let rise = &n * products(&xs, &ys) - &x * &y;
    Ok(Line {
        station: Real::Exact(Rational::new(x, &n * &x_scale)),
        value: Real::Exact(Rational::new(y, n * &y_scale)),
        slope: Real::Exact(Rational::new(rise * x_scale, squares * y_scale)),
    })
}

/// The departure of each value from the line, in the order given; plus is above.
pub fn ordinates(stations: &[Real], values: &[Real], reference: Reference) -> Result<Vec<Real>, Fault> {
    let line = fit(stations, values, reference)?;
    Ok(stations.iter().zip(values).map(|(station, value)| value - &line.at(station)).collect())
}

/// Greatest less least ordinate: by minimum zone, the width of the zone.
pub fn straightness(stations: &[Real], values: &[Real], reference: Reference) -> Result<Real, Fault> {
    range(&ordinates(stations, values, reference)?)
}

/// The greatest height above the line, at least zero.
pub fn hump(stations: &[Real], values: &[Real], reference: Reference) -> Result<Real, Fault> {
    let top = greatest(&ordinates(stations, values, reference)?)?;
    Ok(if top.is_negative() { Real::zero() } else { top })
}

/// The greatest depth below the line, at least zero.
pub fn hollow(stations: &[Real], values: &[Real], reference: Reference) -> Result<Real, Fault> {
    let bottom = least(&ordinates(stations, values, reference)?)?;
    Ok(if bottom.is_positive() { Real::zero() } else { -&bottom })
}

/// The value at the last station less that at the first, as listed.
pub fn gain(values: &[Real]) -> Result<Real, Fault> {
    match values {
        [first, .., last] => Ok(last - first),
        _ => Err(Fault::TooFew { needed: 2, found: values.len() }),
    }
}

/// The least-squares slope: value per unit of length, plus if the values rise with the stations.
pub fn slope(stations: &[Real], values: &[Real]) -> Result<Real, Fault> {
    fit(stations, values, Reference::LeastSquares).map(|line| line.slope)
}

/// Greatest less least station.
pub fn span(stations: &[Real]) -> Result<Real, Fault> {
    range(stations)
}

/// The value at a place between stations, straight from one to the next; `None` outside them.
/// The stations rise and each has its value.
pub fn interpolate(stations: &[Real], values: &[Real], at: &Real) -> Option<Real> {
    let after = stations.partition_point(|station| station <= at);
    let before = after.checked_sub(1)?;
    let (left, low) = (stations.get(before)?, values.get(before)?);
    match stations.get(after).zip(values.get(after)) {
        _ if left == at => Some(low.clone()),
        Some(right) => Line::through((left, low), right).map(|line| line.at(at)),
        None => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    const ALL: [Reference; 3] = [Reference::Ends, Reference::LeastSquares, Reference::MinimumZone];

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn values_on_a_slanting_line_have_ordinates_of_exactly_zero() {
        let stations = whole(&[0, 70, 145, 300]);
        let values: Vec<Real> = stations.iter().map(|x| x * &Real::Exact(ratio(1, 3))).collect();
        for reference in ALL {
            assert_eq!(ordinates(&stations, &values, reference), Ok(vec![Real::zero(); 4]), "{reference:?}");
        }
        assert_eq!(slope(&stations, &values), Ok(Real::Exact(ratio(1, 3))));
    }

    #[test]
    fn hump_and_hollow_are_told_apart() {
        let (stations, values) = (whole(&[0, 1, 2, 3]), whole(&[0, 2, -1, 0]));
        assert_eq!(hump(&stations, &values, Reference::Ends), Ok(Real::from(2)));
        assert_eq!(hollow(&stations, &values, Reference::Ends), Ok(Real::from(1)));
        let convex = whole(&[0, 2, 1, 0]);
        assert_eq!(hollow(&stations, &convex, Reference::Ends), Ok(Real::zero()));
    }

    #[test]
    fn what_cannot_be_evaluated_is_said() {
        for (reference, stations) in [
            (Reference::Ends, [0, 5, 5]),
            (Reference::MinimumZone, [5, 0, 5]),
            (Reference::LeastSquares, [5; 3]),
        ] {
            assert_eq!(fit(&whole(&stations), &whole(&[1, 2, 3]), reference), Err(Fault::SamePlace));
        }
        assert_eq!(
            fit(&whole(&[0]), &whole(&[1]), Reference::Ends),
            Err(Fault::TooFew { needed: 2, found: 1 })
        );
        assert!(matches!(fit(&whole(&[0, 1]), &whole(&[1]), Reference::Ends), Err(Fault::Unpaired { .. })));
        assert_eq!(gain(&whole(&[3])), Err(Fault::TooFew { needed: 2, found: 1 }));
    }

    #[test]
    fn between_stations_the_value_is_interpolated_and_outside_there_is_none() {
        let (stations, values) = (whole(&[0, 10, 30]), whole(&[0, 4, 0]));
        assert_eq!(interpolate(&stations, &values, &Real::from(15)), Some(Real::from(3)));
        assert_eq!(interpolate(&stations, &values, &Real::from(30)), Some(Real::zero()));
        assert_eq!(interpolate(&stations, &values, &Real::from(31)), None);
        assert_eq!(interpolate(&stations, &values, &Real::from(-1)), None);
    }

    /// Stations that rise unequally, and a value at each.
    fn profile(most: usize) -> impl Strategy<Value = (Vec<Real>, Vec<Real>)> {
        proptest::collection::vec((1i64..400, -50i64..50), 2..most).prop_map(|points| {
            let mut place = 0;
            let stations = points.iter().map(|(step, _)| {
                place += step;
                Real::Exact(ratio(place, 4))
            });
            let stations = stations.collect();
            (stations, points.iter().map(|(_, value)| Real::Exact(ratio(*value, 10))).collect())
        })
    }

    proptest! {
        /// Found a second way: the zone is the least over the slopes of all pairs of points.
        #[test]
        fn the_minimum_zone_is_the_least_of_all_and_never_wider_than_the_others((stations, values) in profile(12)) {
            let zone = straightness(&stations, &values, Reference::MinimumZone).unwrap();
            let mut best: Option<Real> = None;
            for i in 0..stations.len() {
                for j in 0..i {
                    let line = Line::through((&stations[j], &values[j]), (&stations[i], &values[i])).unwrap();
                    let departures: Vec<Real> = stations.iter().zip(&values).map(|(x, y)| y - &line.at(x)).collect();
                    let width = range(&departures).unwrap();
                    best = Some(best.map_or(width.clone(), |best| best.min(width)));
                }
            }
            prop_assert_eq!(Some(&zone), best.as_ref());
            prop_assert!(zone <= straightness(&stations, &values, Reference::Ends).unwrap());
            prop_assert!(zone <= straightness(&stations, &values, Reference::LeastSquares).unwrap());
        }

        #[test]
        fn tilting_the_whole_shifting_it_or_reordering_it_changes_no_ordinate((stations, values) in profile(30), tilt in -9i64..9, shift in -9i64..9, seed in any::<u64>()) {
            for reference in ALL {
                let plain = ordinates(&stations, &values, reference).unwrap();
                let moved: Vec<Real> = stations.iter().zip(&values)
                    .map(|(x, y)| &(y + &(x * &Real::Exact(ratio(tilt, 7)))) + &Real::from(shift))
                    .collect();
                prop_assert_eq!(&ordinates(&stations, &moved, reference).unwrap(), &plain);
                let n = stations.len();
                let turned = usize::try_from(seed % n as u64).unwrap();
                let around = |list: &[Real]| { let mut list = list.to_vec(); list.rotate_left(turned); list };
                prop_assert_eq!(ordinates(&around(&stations), &around(&values), reference).unwrap(), around(&plain));
            }
        }

        #[test]
        fn in_another_unit_the_result_is_the_same_length((stations, values) in profile(30)) {
            let per_inch = Real::Exact(ratio(5, 127));
            let inches = |list: &[Real]| -> Vec<Real> { list.iter().map(|x| x * &per_inch).collect() };
            for reference in ALL {
                let metric = straightness(&stations, &values, reference).unwrap();
                let other = straightness(&inches(&stations), &inches(&values), reference).unwrap();
                prop_assert_eq!(&metric * &per_inch, other);
            }
        }

        /// Values known with a bound: the result's bound covers what the exact values give.
        #[test]
        fn the_bound_is_carried_through_a_line((stations, values) in profile(30), errors in proptest::collection::vec(-1.0f64..1.0, 40)) {
            let bound = 0.01;
            let rough: Vec<Real> = values.iter().zip(&errors)
                .map(|(value, error)| Real::approximate(value.to_f64() + error * bound, bound * 1.000001).unwrap())
                .collect();
            for reference in ALL {
                let exact = straightness(&stations, &values, reference).unwrap();
                let rough = straightness(&stations, &rough, reference).unwrap();
                prop_assert!(rough.equals(&exact), "{:?}: {:?} against {:?}", reference, rough, exact);
            }
        }
    }
}
