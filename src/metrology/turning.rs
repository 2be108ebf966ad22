//! What is read in a turn, and on a turned test piece.
//!
//! - run-out = greatest less least reading of one turn (total indicator reading), ISO 230-1 (from memory); unsigned
//! - taper = slope of the line through the diameters times the distance from the first to the last station: the
//!   change of diameter, plus if the far end is larger

use super::line::{Reference, fit};
use super::{Fault, enough, range};
use crate::quantity::Real;

/// The total indicator reading; needs two readings.
pub fn runout(readings: &[Real]) -> Result<Real, Fault> {
    enough(readings, 2)?;
    range(readings)
}

/// The change of diameter from the first station to the last, as listed.
pub fn taper(stations: &[Real], diameters: &[Real], reference: Reference) -> Result<Real, Fault> {
    let line = fit(stations, diameters, reference)?;
    match stations {
        [first, .., last] => Ok(&line.slope * &(last - first)),
        _ => Err(Fault::TooFew { needed: 2, found: stations.len() }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn runout_is_unsigned_and_needs_a_turn() {
        assert_eq!(runout(&whole(&[-3, 4, 0])), Ok(Real::from(7)));
        assert_eq!(runout(&whole(&[1])), Err(Fault::TooFew { needed: 2, found: 1 }));
    }

    #[test]
    fn taper_is_plus_where_the_last_station_is_larger() {
        let stations = whole(&[0, 50, 100]);
        let diameters = whole(&[30, 33, 34]);
        assert_eq!(taper(&stations, &diameters, Reference::Ends), Ok(Real::from(4)));
        assert_eq!(taper(&stations, &diameters, Reference::LeastSquares), Ok(Real::from(4)));
        let backward: (Vec<_>, Vec<_>) =
            (stations.into_iter().rev().collect(), diameters.into_iter().rev().collect());
        assert_eq!(taper(&backward.0, &backward.1, Reference::LeastSquares), Ok(Real::from(-4)));
    }
}
