//! A size with a direction in a turn: eccentricity, run-out of a bore, unbalance.
//!
//! A reading r over the angle t that belongs to an arrow is along cos t + across sin t: greatest at the angle
//! [`Arrow::high_at`], where the dial reads high, counted in the direction in which the stations count. The size is the
//! greatest reading, half of the total indicator reading that it makes by itself; unsigned.

use super::{Fault, enough};
use crate::quantity::Real;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrow {
    /// The part at 0 degrees.
    pub along: Real,
    /// The part at 90 degrees.
    pub across: Real,
}

impl Arrow {
    pub fn none() -> Self {
        Arrow { along: Real::zero(), across: Real::zero() }
    }

    /// An arrow of a size that points to an angle in degrees.
    pub fn pointing(size: &Real, angle: &Real) -> Self {
        Arrow { along: size * &angle.cos(), across: size * &angle.sin() }
    }

    pub fn size(&self) -> Result<Real, Fault> {
        let squares = &(&self.along * &self.along) + &(&self.across * &self.across);
        squares.sqrt().ok_or(Fault::IllConditioned)
    }

    /// The angle at which the dial reads high, from 0 up to 360 degrees; a fault where the arrow is, or may be, none.
    pub fn high_at(&self) -> Result<Real, Fault> {
        if self.along.is_zero() && self.across.is_zero() {
            return Err(Fault::NoDirection);
        }
        let (along, across) = (self.along.to_f64(), self.across.to_f64());
        // The smaller part over the larger, so that no quotient is lost.
        let ratio = |a: &Real, b: &Real| a.div(b).map(|ratio| ratio.atan()).ok_or(Fault::NoDirection);
        if along.abs() >= across.abs() {
            let angle = ratio(&self.across, &self.along)?;
            Ok(match (along > 0.0, angle.is_negative()) {
                (true, false) => angle,
                (true, true) => &angle + &Real::from(360),
                (false, _) => &angle + &Real::from(180),
            })
        } else {
            let angle = ratio(&self.along, &self.across)?;
            Ok(&Real::from(if across > 0.0 { 90 } else { 270 }) - &angle)
        }
    }

    /// Turned forward by an angle in degrees: what read high at 30 then reads high at 30 + angle.
    pub fn turned(&self, angle: &Real) -> Arrow {
        let (sine, cosine) = (angle.sin(), angle.cos());
        Arrow {
            along: &(&self.along * &cosine) - &(&self.across * &sine),
            across: &(&self.along * &sine) + &(&self.across * &cosine),
        }
    }

    pub fn plus(&self, other: &Arrow) -> Arrow {
        Arrow { along: &self.along + &other.along, across: &self.across + &other.across }
    }

    pub fn minus(&self, other: &Arrow) -> Arrow {
        self.plus(&other.times(&Real::from(-1)))
    }

    pub fn times(&self, factor: &Real) -> Arrow {
        Arrow { along: &self.along * factor, across: &self.across * factor }
    }

    pub fn mean(arrows: &[Arrow]) -> Result<Arrow, Fault> {
        enough(arrows, 1)?;
        let sum = arrows.iter().fold(Arrow::none(), |sum, arrow| sum.plus(arrow));
        let share =
            Real::from(1).div(&super::statistics::count(arrows.len())).ok_or(Fault::IllConditioned)?;
        Ok(sum.times(&share))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn round_directions_are_exact() {
        for angle in [0, 90, 180, 270, 45, 135, 225, 315] {
            let arrow = match angle % 90 {
                0 => Arrow::pointing(&Real::from(3), &Real::from(angle)),
                _ => Arrow::pointing(&Real::from(3), &Real::from(angle - 45))
                    .plus(&Arrow::pointing(&Real::from(3), &Real::from(angle + 45))),
            };
            assert_eq!(arrow.high_at(), Ok(Real::from(angle)));
        }
        assert_eq!(Arrow::none().high_at(), Err(Fault::NoDirection));
        assert_eq!(Arrow::pointing(&Real::from(3), &Real::from(90)).size(), Ok(Real::from(3)));
    }

    proptest! {
        #[test]
        fn turning_moves_the_high_place_and_keeps_the_size(angle in 0i64..360, by in -720i64..720) {
            let arrow = Arrow::pointing(&Real::from(5), &Real::from(angle));
            let turned = arrow.turned(&Real::from(by));
            prop_assert!((turned.size().unwrap().to_f64() - 5.0).abs() < 1e-12);
            let expected = (angle + by).rem_euclid(360) as f64;
            let off = (turned.high_at().unwrap().to_f64() - expected).abs();
            prop_assert!(off < 1e-9 || (off - 360.0).abs() < 1e-9);
            prop_assert!(turned.turned(&Real::from(-by)).minus(&arrow).size().unwrap().to_f64() < 1e-12);
        }
    }
}
