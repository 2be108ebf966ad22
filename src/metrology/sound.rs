//! Sound levels, in dB: their mean is a mean of energies, and the background is taken off as energy.
//!
//! - energy mean = 10 lg( (1/n) sum 10^(L/10) )
//! - without background = 10 lg( 10^(T/10) - 10^(B/10) ); where the total is within 3 dB of the background nothing
//!   more can be said than that the source is at most as loud as the total (rule of ISO 3746, from memory)

use super::{Fault, enough};
use crate::quantity::Real;

/// The source alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WithoutBackground {
    Level(Real),
    /// The background is too loud to tell: at most this.
    AtMost(Real),
}

/// Error of the powers, the sum and the logarithm together, in dB; each is good to a few units in the last place.
const ROUNDING: f64 = 1e-12;

/// The level of the mean energy; at least the plain mean of the levels.
pub fn energy_mean(levels: &[Real]) -> Result<Real, Fault> {
    enough(levels, 1)?;
    let top = levels.iter().map(Real::to_f64).fold(f64::NEG_INFINITY, f64::max);
    let energies: f64 = levels.iter().map(|level| libm::exp10((level.to_f64() - top) / 10.0)).sum();
    let count = levels.len() as f64;
    let value = top + 10.0 * libm::log10(energies / count);
    // No level moves the mean by more than it is moved itself.
    let carried = levels.iter().map(Real::bound).fold(0.0, f64::max);
    Real::approximate(value, carried + ROUNDING * count.max(value.abs()).max(1.0))
        .ok_or(Fault::IllConditioned)
}

pub fn without_background(total: &Real, background: &Real) -> Result<WithoutBackground, Fault> {
    let over = total - background;
    if over.is_negative() {
        return Err(Fault::BelowBackground);
    }
    if over.is_at_most(&Real::from(3)) {
        return Ok(WithoutBackground::AtMost(total.clone()));
    }
    let left = 1.0 - libm::exp10(-over.to_f64() / 10.0);
    let value = total.to_f64() + 10.0 * libm::log10(left);
    // Beyond 3 dB the derivatives by the total and by the background stay below 2.01 and 1.01.
    let carried = 2.01 * total.bound() + 1.01 * background.bound();
    Real::approximate(value, carried + ROUNDING * value.abs().max(1.0))
        .map(WithoutBackground::Level)
        .ok_or(Fault::IllConditioned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn about(real: &Real, expected: f64) -> bool {
        (real.to_f64() - expected).abs() < 1e-9
    }

    #[test]
    fn twice_the_energy_is_three_decibels() {
        // lg 2 = 0.30103: two sources of 80 dB give 83.0103 dB, so one of them is what is left of 83.0103 over 80.
        let both = 80.0 + 10.0 * 2f64.log10();
        let total = Real::approximate(both, 1e-12).unwrap();
        let WithoutBackground::Level(level) = without_background(&total, &Real::from(80)).unwrap() else {
            panic!("3.01 dB apart is enough")
        };
        assert!(about(&level, 80.0));
        // Mean of 80 dB and silence: half the energy.
        let mean = energy_mean(&[Real::from(80), Real::from(-200)]).unwrap();
        assert!(about(&mean, 80.0 - 10.0 * 2f64.log10()));
        assert!(energy_mean(&[Real::from(80), Real::from(80)]).unwrap().equals(&Real::from(80)));
    }

    #[test]
    fn a_loud_background_gives_a_bound_and_a_louder_one_a_fault() {
        let at_most = WithoutBackground::AtMost(Real::from(83));
        assert_eq!(without_background(&Real::from(83), &Real::from(80)), Ok(at_most));
        assert_eq!(without_background(&Real::from(79), &Real::from(80)), Err(Fault::BelowBackground));
        assert_eq!(energy_mean(&[]), Err(Fault::TooFew { needed: 1, found: 0 }));
    }
}
