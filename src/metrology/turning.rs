//! What is read in a turn, and on a turned test piece.
//!
//! - run-out = greatest less least reading of one turn (total indicator reading), ISO 230-1 (from memory); unsigned
//! - taper = slope of the line through the diameters times the distance from the first to the last station: the
//!   change of diameter, plus if the far end is larger
//! - tailstock set-over = taper * work length / (2 * collar distance), plus = the tailstock goes toward the tool
//!   (handbook formula, from memory)
//! - tool off centre height by v: radius sqrt(r^2 + v^2), so the diameter grows by 2 (sqrt(r^2 + v^2) - r), next to
//!   nothing (geometry)
//! - tool off to the side by h: the diameter grows by 2 h, plus = away from the axis
//! - a bed that rolls by t between the ends (plus: the tool side rises) leans the tool, h above the ways, in by t h:
//!   taper = -2 h t; a spindle axis that leads by s toward the tool: taper = -2 s (geometry; for cross-checks)

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

/// How far to move the tailstock; `distance` lies between the collars of the `taper`, `work` between the centres.
pub fn set_over(taper: &Real, distance: &Real, work: &Real) -> Result<Real, Fault> {
    if !work.is_positive() {
        return Err(Fault::NotPositive("the length between centres"));
    }
    (taper * work).div(&(distance * &Real::from(2))).ok_or(Fault::NotPositive("the distance of the collars"))
}

/// The growth of the diameter with the tool off centre height. Unsigned.
pub fn off_height(radius: &Real, height: &Real) -> Result<Real, Fault> {
    if !radius.is_positive() {
        return Err(Fault::NotPositive("the radius"));
    }
    let long = (&(radius * radius) + &(height * height)).sqrt().ok_or(Fault::IllConditioned)?;
    Ok(&(&long - radius) * &Real::from(2))
}

/// The taper that a twist of the bed (a tilt, a ratio) cuts at a height over the ways.
pub fn taper_from_twist(twist: &Real, height: &Real) -> Real {
    &(twist * height) * &Real::from(-2)
}

/// The taper that a lean of the spindle axis toward the tool cuts over the same length.
pub fn taper_from_lean(lean: &Real) -> Real {
    lean * &Real::from(-2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

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

    #[test]
    fn the_amounts_have_the_sign_of_the_remedy() {
        let over = set_over(&Real::Exact(ratio(3, 100)), &Real::from(250), &Real::from(300)).unwrap();
        assert_eq!(over, Real::Exact(ratio(18, 1000)));
        assert!(matches!(
            set_over(&Real::from(1), &Real::zero(), &Real::from(300)),
            Err(Fault::NotPositive(_))
        ));
        // Front high toward the tail by 0.04 mm/m, 110 over the ways: the tool leans in, the tail end is smaller.
        let twist = taper_from_twist(&Real::Exact(ratio(4, 100_000)), &Real::from(110));
        assert_eq!(twist, Real::Exact(ratio(-88, 10_000)));
        assert_eq!(taper_from_lean(&Real::from(3)), Real::from(-6));
        assert_eq!(off_height(&Real::from(3), &Real::from(-4)), Ok(Real::from(4)));
    }
}
