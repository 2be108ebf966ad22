//! Heights from a level (or an autocollimator) stepped along a bed.
//!
//! height[0] = 0, height[k+1] = height[k] + tilt[k] * foot[k]. A tilt is a ratio (0.02 mm/m = 0.00002), a foot and a
//! height are lengths. Plus is up if the sense of the tilt was said rightly: [`Tilt`] says what plus means along
//! the stations, since a hollow bed would else pass as a hump.

use super::{Fault, enough, paired};
use crate::quantity::Real;

/// What a positive tilt means, going from the first station to the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tilt {
    RisesAlong,
    FallsAlong,
}

/// Heights at the n + 1 ends of n feet, the first zero.
pub fn heights(tilts: &[Real], feet: &[Real], plus: Tilt) -> Result<Vec<Real>, Fault> {
    enough(tilts, 1)?;
    paired(feet, tilts, 1)?;
    let mut height = Real::zero();
    let mut heights = vec![height.clone()];
    for (tilt, foot) in tilts.iter().zip(feet) {
        if !foot.is_positive() {
            return Err(Fault::NotPositive("the foot"));
        }
        let rise = tilt * foot;
        height = match plus {
            Tilt::RisesAlong => &height + &rise,
            Tilt::FallsAlong => &height - &rise,
        };
        heights.push(height.clone());
    }
    Ok(heights)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metrology::{Reference, hollow, hump};
    use crate::quantity::ratio;

    #[test]
    fn the_same_bubble_is_a_hump_or_a_hollow_by_what_plus_means() {
        let tilts = [Real::Exact(ratio(1, 50_000)), Real::Exact(ratio(-1, 50_000))];
        let feet = vec![Real::from(125); 2];
        let stations: Vec<Real> = [0, 125, 250].map(Real::from).to_vec();
        let rising = heights(&tilts, &feet, Tilt::RisesAlong).unwrap();
        assert_eq!(hump(&stations, &rising, Reference::Ends), Ok(Real::Exact(ratio(1, 400))));
        let falling = heights(&tilts, &feet, Tilt::FallsAlong).unwrap();
        assert_eq!(hollow(&stations, &falling, Reference::Ends), Ok(Real::Exact(ratio(1, 400))));
    }
}
