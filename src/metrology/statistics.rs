//! Sums, means, extremes and scatter of a list of values.
//!
//! - mean = (1/n) sum x
//! - standard deviation s = sqrt( sum (x - mean)^2 / (n - 1) ), in two passes and exact up to the root
//!   (JCGM 100:2008, 4.2.2, from memory); unsigned
//! - range = greatest - least; unsigned
//! - lag-1 autocorrelation r = sum (x_i - mean)(x_i+1 - mean) / sum (x_i - mean)^2, -1 to 1: near 1 the readings drift,
//!   near -1 they alternate (NIST StRD, seen)
//! - root sum of squares = sqrt( sum x^2 ); unsigned

use super::{Fault, enough};
use crate::quantity::Real;

pub fn sum(values: &[Real]) -> Result<Real, Fault> {
    enough(values, 1)?;
    Ok(total(values.iter().cloned()))
}

pub(super) fn total(values: impl Iterator<Item = Real>) -> Real {
    values.fold(Real::zero(), |sum, value| &sum + &value)
}

pub fn mean(values: &[Real]) -> Result<Real, Fault> {
    sum(values)?.div(&count(values.len())).ok_or(Fault::IllConditioned)
}

/// A count as a number.
pub(super) fn count(n: usize) -> Real {
    Real::from(i64::try_from(n).unwrap_or(i64::MAX))
}

/// The greatest of the values; its bound covers every value that may be the greatest.
pub fn greatest(values: &[Real]) -> Result<Real, Fault> {
    let found = values.iter().max().ok_or(Fault::TooFew { needed: 1, found: 0 })?;
    if values.iter().all(Real::is_exact) {
        return Ok(found.clone());
    }
    let middle = found.to_f64();
    let above = values.iter().map(|value| value.to_f64() - middle + value.bound()).fold(0.0, f64::max);
    let below =
        values.iter().map(|value| middle - value.to_f64() + value.bound()).fold(f64::INFINITY, f64::min);
    widened(found, above.max(below))
}

/// The least of the values.
pub fn least(values: &[Real]) -> Result<Real, Fault> {
    let turned: Vec<Real> = values.iter().map(|value| -value).collect();
    greatest(&turned).map(|greatest| -&greatest)
}

/// The same value with a bound at least as wide.
pub(super) fn widened(value: &Real, bound: f64) -> Result<Real, Fault> {
    if bound <= value.bound() {
        return Ok(value.clone());
    }
    Real::approximate(value.to_f64(), bound * (1.0 + 1e-12) + value.to_f64().abs() * f64::EPSILON)
        .ok_or(Fault::IllConditioned)
}

/// Greatest less least, at least zero.
pub fn range(values: &[Real]) -> Result<Real, Fault> {
    Ok(&greatest(values)? - &least(values)?)
}

/// The sample standard deviation (divisor n - 1); needs two values.
pub fn stdev(values: &[Real]) -> Result<Real, Fault> {
    enough(values, 2)?;
    let mean = mean(values)?;
    let squares = total(values.iter().map(|value| {
        let departure = value - &mean;
        &departure * &departure
    }));
    squares.div(&count(values.len() - 1)).and_then(|variance| variance.sqrt()).ok_or(Fault::IllConditioned)
}

/// How much each value hangs on the one before it; a fault where all are equal.
pub fn lag_1(values: &[Real]) -> Result<Real, Fault> {
    enough(values, 3)?;
    let mean = mean(values)?;
    let departures: Vec<Real> = values.iter().map(|value| value - &mean).collect();
    let squares = total(departures.iter().map(|departure| departure * departure));
    let products = total(departures.iter().zip(departures.iter().skip(1)).map(|(a, b)| a * b));
    products.div(&squares).ok_or(Fault::AllEqual)
}

pub fn root_sum_squares(values: &[Real]) -> Result<Real, Fault> {
    enough(values, 1)?;
    total(values.iter().map(|value| value * value)).sqrt().ok_or(Fault::IllConditioned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn exact_readings_give_exact_results() {
        let values = whole(&[1, 2, 3, 4]);
        assert_eq!(mean(&values), Real::from(5).div(&Real::from(2)).ok_or(Fault::IllConditioned));
        assert_eq!(range(&values), Ok(Real::from(3)));
        assert_eq!(root_sum_squares(&whole(&[3, -4])), Ok(Real::from(5)));
        assert_eq!(stdev(&whole(&[2, 4, 6])), Ok(Real::from(2)));
    }

    #[test]
    fn readings_that_drift_and_readings_that_alternate_are_told_apart() {
        assert!(lag_1(&whole(&[1, 2, 3, 4, 5, 6])).unwrap().is_positive());
        assert!(lag_1(&whole(&[1, 2, 1, 2, 1, 2])).unwrap().is_negative());
        assert_eq!(lag_1(&whole(&[3, 3, 3])), Err(Fault::AllEqual));
    }

    #[test]
    fn too_few_values_are_said() {
        assert_eq!(mean(&[]), Err(Fault::TooFew { needed: 1, found: 0 }));
        assert_eq!(stdev(&whole(&[1])), Err(Fault::TooFew { needed: 2, found: 1 }));
    }

    #[test]
    fn the_bound_of_the_greatest_covers_a_rival_that_is_less_well_known() {
        let values = [Real::from(10), Real::approximate(9.5, 2.0).unwrap()];
        let greatest = greatest(&values).unwrap();
        assert!(greatest.to_f64() + greatest.bound() >= 11.5);
        assert!(least(&values).unwrap().bound() >= 2.0);
    }
}
