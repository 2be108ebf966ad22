//! How well a least-squares line is known, from the scatter about it.
//!
//! With x, y and n > 2 readings, xm the mean of x, Sxx = sum (x - xm)^2, residuals d:
//!
//! - s = sqrt( sum d^2 / (n - 2) )
//! - u(slope) = s / sqrt Sxx, u(intercept) = s sqrt( sum x^2 / (n Sxx) )
//! - r(intercept, slope) = - sum x / sqrt( n sum x^2 )
//! - u(value at x) = s sqrt( 1/n + (x - xm)^2 / Sxx )
//!
//! JCGM 100:2008 (GUM), annex H.3 (data seen, formulas from memory). `from` is where the intercept is taken, zero or
//! 20 degC as in H.3. Sums exact where the readings are; roots with their bound.

use super::line::{Line, Reference, fit};
use super::statistics::{count, total};
use super::{Fault, enough};
use crate::quantity::Real;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FittedLine {
    pub line: Line,
    /// The value at `from`.
    pub intercept: Real,
    pub u_intercept: Real,
    pub u_slope: Real,
    /// Between intercept and slope, -1 to 1.
    pub correlation: Real,
    /// Standard deviation of one reading about the line.
    pub residual_stdev: Real,
    /// Sum of the squared residuals.
    pub residual_squares: Real,
    /// Share of the scatter that the line explains (r squared); none if the values are all equal.
    pub explained: Option<Real>,
    pub freedom: usize,
    mean_station: Real,
    station_squares: Real,
    readings: usize,
}

impl FittedLine {
    /// The value of the line at a station and its standard uncertainty.
    pub fn predict(&self, station: &Real) -> Result<(Real, Real), Fault> {
        let off = station - &self.mean_station;
        let part = (&off * &off).div(&self.station_squares).ok_or(Fault::IllConditioned)?;
        let share = Real::from(1).div(&count(self.readings)).ok_or(Fault::IllConditioned)?;
        let root = (&part + &share).sqrt().ok_or(Fault::IllConditioned)?;
        Ok((self.line.at(station), &self.residual_stdev * &root))
    }
}

/// Needs three readings, not all at one station.
pub fn fit_with_uncertainty(stations: &[Real], values: &[Real], from: &Real) -> Result<FittedLine, Fault> {
    enough(values, 3)?;
    let line = fit(stations, values, Reference::LeastSquares)?;
    let n = count(values.len());
    let squares = |list: &mut dyn Iterator<Item = Real>| total(list.map(|value| &value * &value));
    let mean_value = total(values.iter().cloned()).div(&n).ok_or(Fault::IllConditioned)?;
    let station_squares = squares(&mut stations.iter().map(|x| x - &line.station));
    let raw_squares = squares(&mut stations.iter().map(|x| x - from));
    let scatter = squares(&mut values.iter().map(|y| y - &mean_value));
    let residual_squares = squares(&mut stations.iter().zip(values).map(|(x, y)| y - &line.at(x)));
    let freedom = values.len() - 2;
    let root = |square: Option<Real>| square.and_then(|square| square.sqrt()).ok_or(Fault::IllConditioned);
    let variance = residual_squares.div(&count(freedom));
    let over_squares = |numerator: Real| numerator.div(&station_squares);
    let u_slope = root(variance.clone().and_then(over_squares))?;
    let at_from = raw_squares.div(&(&n * &station_squares));
    let u_intercept = root(variance.clone().zip(at_from).map(|(a, b)| &a * &b))?;
    let sum = total(stations.iter().map(|x| x - from));
    // sum x / sqrt(n sum x^2), which is zero if all x are: then the slope is known at the intercept already.
    let correlation = match sum.div(&root(Some(&n * &raw_squares))?) {
        Some(correlation) => -&correlation,
        None => Real::zero(),
    };
    Ok(FittedLine {
        intercept: line.at(from),
        u_intercept,
        u_slope,
        correlation,
        residual_stdev: root(variance)?,
        explained: residual_squares.div(&scatter).map(|left| &Real::from(1) - &left),
        residual_squares,
        freedom,
        mean_station: line.station.clone(),
        station_squares,
        readings: values.len(),
        line,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn a_perfect_line_is_known_without_doubt() {
        let found =
            fit_with_uncertainty(&whole(&[0, 1, 2, 5]), &whole(&[1, 3, 5, 11]), &Real::zero()).unwrap();
        assert_eq!((found.intercept.clone(), found.line.slope.clone()), (Real::from(1), Real::from(2)));
        assert_eq!((found.u_slope.clone(), found.residual_stdev.clone()), (Real::zero(), Real::zero()));
        assert_eq!(found.explained, Some(Real::from(1)));
        assert_eq!(found.predict(&Real::from(100)), Ok((Real::from(201), Real::zero())));
    }

    #[test]
    fn two_readings_say_nothing_of_scatter_and_equal_values_nothing_of_correlation() {
        let two = fit_with_uncertainty(&whole(&[0, 1]), &whole(&[1, 3]), &Real::zero());
        assert_eq!(two, Err(Fault::TooFew { needed: 3, found: 2 }));
        let same = fit_with_uncertainty(&whole(&[4, 4, 4]), &whole(&[1, 3, 5]), &Real::zero());
        assert_eq!(same, Err(Fault::SamePlace));
        let flat = fit_with_uncertainty(&whole(&[1, 2, 3]), &whole(&[7, 7, 7]), &Real::zero()).unwrap();
        assert_eq!(flat.explained, None);
    }

    proptest! {
        /// In the middle of the stations a line is known best, to s / sqrt n; a change of unit changes u by the same
        /// factor.
        #[test]
        fn the_line_is_known_best_in_the_middle(values in proptest::collection::vec(-50i64..50, 4..12), off in 1i64..900) {
            let stations: Vec<Real> = (0..values.len()).map(|k| Real::from((k * k) as i64)).collect();
            let values = whole(&values);
            let found = fit_with_uncertainty(&stations, &values, &Real::zero()).unwrap();
            let (_, middle) = found.predict(&found.mean_station).unwrap();
            let (_, aside) = found.predict(&(&found.mean_station + &Real::from(off))).unwrap();
            prop_assert!(middle.is_at_most(&aside));
            let scaled: Vec<Real> = values.iter().map(|value| value * &Real::Exact(ratio(254, 10))).collect();
            let inch = fit_with_uncertainty(&stations, &scaled, &Real::zero()).unwrap();
            prop_assert!(inch.u_slope.equals(&(&found.u_slope * &Real::Exact(ratio(254, 10)))));
            let (at_zero, u_at_zero) = found.predict(&Real::zero()).unwrap();
            prop_assert!(at_zero == found.intercept && u_at_zero.equals(&found.u_intercept));
        }
    }
}
