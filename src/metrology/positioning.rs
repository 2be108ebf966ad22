//! Positioning of an axis by repeated approaches to targets from both sides (ISO 230-2, definitions from memory).
//!
//! At target i, deviation x = actual - wanted position, n approaches from each side (plus: the position rises):
//!
//! - m = mean, s = standard deviation (n - 1), of each side
//! - reversal value B_i = m(plus) - m(minus); B = greatest size of B_i
//! - systematic deviation E = greatest less least mean of either side; of one side: of that side
//! - range of the mean deviations M = greatest less least of (m(plus) + m(minus)) / 2
//! - repeatability, bidirectional: R_i = max(c s(plus) + c s(minus) + |B_i|, 2 c s(plus), 2 c s(minus)), R = greatest;
//!   one side: greatest 2 c s
//! - accuracy A = greatest (m + c s) - least (m - c s) over either side; of one side: of that side
//!
//! c = 3 in the edition of 1988, c = 2 in that of 2014 (change seen in a trade article): figures of the two must never
//! be compared. All lengths; B has a sign at each target, the rest are unsigned.

use super::statistics::{greatest, least, mean, stdev};
use super::{Fault, enough, range};
use crate::quantity::Real;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Edition {
    /// Limits of three standard deviations.
    Iso1988,
    /// Limits of two.
    Iso2014,
}

impl Edition {
    pub fn name(self) -> &'static str {
        match self {
            Edition::Iso1988 => "iso_230_2_1988",
            Edition::Iso2014 => "iso_230_2_2014",
        }
    }

    fn factor(self) -> Real {
        Real::from(match self {
            Edition::Iso1988 => 3,
            Edition::Iso2014 => 2,
        })
    }
}

/// The deviations read at one target, side by side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    pub plus: Vec<Real>,
    pub minus: Vec<Real>,
}

/// Mean and standard deviation of one side of a target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    pub mean: Real,
    pub stdev: Real,
}

impl Side {
    fn of(deviations: &[Real]) -> Result<Side, Fault> {
        Ok(Side { mean: mean(deviations)?, stdev: stdev(deviations)? })
    }
}

/// One direction of approach: every figure that it has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OneWay {
    pub sides: Vec<Side>,
    pub accuracy: Real,
    pub repeatability: Real,
    pub systematic_deviation: Real,
}

/// Both directions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwoWay {
    pub plus: OneWay,
    pub minus: OneWay,
    pub accuracy: Real,
    pub repeatability: Real,
    pub systematic_deviation: Real,
    pub mean_deviation_range: Real,
    /// B_i with its sign, target by target.
    pub reversals: Vec<Real>,
    /// The greatest size of them.
    pub reversal_value: Real,
    /// Their mean, with its sign.
    pub mean_reversal: Real,
}

/// From the deviations at each target, approached from one side; needs two approaches a target.
pub fn one_way(targets: &[Vec<Real>], edition: Edition) -> Result<OneWay, Fault> {
    enough(targets, 2)?;
    let sides: Vec<Side> = targets.iter().map(|deviations| Side::of(deviations)).collect::<Result<_, _>>()?;
    let means: Vec<Real> = sides.iter().map(|side| side.mean.clone()).collect();
    let spreads: Vec<Real> = sides.iter().map(|side| &side.stdev * &edition.factor()).collect();
    Ok(OneWay {
        accuracy: accuracy(&sides, edition)?,
        repeatability: &greatest(&spreads)? * &Real::from(2),
        systematic_deviation: range(&means)?,
        sides,
    })
}

fn accuracy(sides: &[Side], edition: Edition) -> Result<Real, Fault> {
    let reach = |side: &Side| &side.stdev * &edition.factor();
    let above: Vec<Real> = sides.iter().map(|side| &side.mean + &reach(side)).collect();
    let below: Vec<Real> = sides.iter().map(|side| &side.mean - &reach(side)).collect();
    Ok(&greatest(&above)? - &least(&below)?)
}

/// Needs two targets, and two approaches from each side at every target.
pub fn two_way(targets: &[Target], edition: Edition) -> Result<TwoWay, Fault> {
    let side =
        |of: fn(&Target) -> &Vec<Real>| targets.iter().map(|target| of(target).clone()).collect::<Vec<_>>();
    let plus = one_way(&side(|target| &target.plus), edition)?;
    let minus = one_way(&side(|target| &target.minus), edition)?;
    let pairs = || plus.sides.iter().zip(&minus.sides);
    let reversals: Vec<Real> = pairs().map(|(plus, minus)| &plus.mean - &minus.mean).collect();
    let middles: Vec<Real> = pairs().map(|(plus, minus)| (&plus.mean + &minus.mean).half()).collect();
    let both: Vec<Side> = plus.sides.iter().chain(&minus.sides).cloned().collect();
    let means: Vec<Real> = both.iter().map(|side| side.mean.clone()).collect();
    let mut repeats: Vec<Real> = pairs()
        .zip(&reversals)
        .map(|((plus, minus), reversal)| {
            &(&(&plus.stdev + &minus.stdev) * &edition.factor()) + &reversal.abs()
        })
        .collect();
    repeats.extend([plus.repeatability.clone(), minus.repeatability.clone()]);
    Ok(TwoWay {
        accuracy: accuracy(&both, edition)?,
        repeatability: greatest(&repeats)?,
        systematic_deviation: range(&means)?,
        mean_deviation_range: range(&middles)?,
        reversal_value: greatest(&reversals.iter().map(Real::abs).collect::<Vec<_>>())?,
        mean_reversal: mean(&reversals)?,
        reversals,
        plus,
        minus,
    })
}

/// Lost motion of a screw from readings at several places, forward and back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backlash {
    /// Forward less back at each place.
    pub values: Vec<Real>,
    pub mean: Real,
    /// Greatest less least: a screw that is worn in its middle. Unsigned.
    pub spread: Real,
}

pub fn backlash(forward: &[Real], back: &[Real]) -> Result<Backlash, Fault> {
    super::paired(forward, back, 1)?;
    let values: Vec<Real> = forward.iter().zip(back).map(|(forward, back)| forward - back).collect();
    Ok(Backlash { mean: mean(&values)?, spread: range(&values)?, values })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    fn axis() -> Vec<Target> {
        [[0, 2, 4], [5, 5, 5], [9, 10, 11]]
            .into_iter()
            .map(|plus| Target { plus: whole(&plus), minus: whole(&plus.map(|deviation| deviation - 3)) })
            .collect()
    }

    #[test]
    fn the_editions_differ_only_where_scatter_counts() {
        let (old, new) =
            (two_way(&axis(), Edition::Iso1988).unwrap(), two_way(&axis(), Edition::Iso2014).unwrap());
        // s = 2, 0, 1; B = 3 everywhere; means 2 5 10 and -1 2 7.
        assert_eq!((old.repeatability, new.repeatability), (Real::from(15), Real::from(11)));
        assert_eq!((old.accuracy, new.accuracy), (Real::from(13 + 7), Real::from(12 + 5)));
        for found in [old.systematic_deviation, new.systematic_deviation] {
            assert_eq!(found, Real::from(11));
        }
        assert_eq!((old.reversal_value, new.mean_reversal), (Real::from(3), Real::from(3)));
        assert_eq!(new.plus.repeatability, Real::from(8));
        assert_eq!(new.mean_deviation_range, Real::from(8));
    }

    #[test]
    fn backlash_has_a_sign_and_a_spread() {
        let found = backlash(&whole(&[10, 12, 9]), &whole(&[2, 2, 2])).unwrap();
        assert_eq!((found.values, found.spread), (whole(&[8, 10, 7]), Real::from(3)));
        assert_eq!(backlash(&[], &[]), Err(Fault::TooFew { needed: 1, found: 0 }));
    }

    #[test]
    fn one_approach_has_no_scatter() {
        let once = vec![whole(&[1]), whole(&[2])];
        assert_eq!(one_way(&once, Edition::Iso2014), Err(Fault::TooFew { needed: 2, found: 1 }));
    }

    proptest! {
        /// A shift of the zero and the order of targets and of approaches take no part; one side alone is never worse.
        #[test]
        fn a_shift_of_the_zero_takes_no_part(readings in proptest::collection::vec(-40i64..40, 24), shift in -99i64..99) {
            let targets: Vec<Target> = readings.chunks(6).map(|six| Target { plus: whole(&six[..3]), minus: whole(&six[3..]) }).collect();
            let moved = |list: &[Real]| list.iter().rev().map(|x| x + &Real::from(shift)).collect::<Vec<_>>();
            let other: Vec<Target> = targets.iter().rev().map(|target| Target { plus: moved(&target.plus), minus: moved(&target.minus) }).collect();
            for edition in [Edition::Iso1988, Edition::Iso2014] {
                let (a, b) = (two_way(&targets, edition).unwrap(), two_way(&other, edition).unwrap());
                prop_assert!(a.accuracy.equals(&b.accuracy) && a.repeatability.equals(&b.repeatability));
                prop_assert_eq!(&a.reversal_value, &b.reversal_value);
                prop_assert!(a.plus.accuracy.is_at_most(&a.accuracy) && a.systematic_deviation.is_at_most(&a.accuracy));
                prop_assert!(a.mean_deviation_range.is_at_most(&a.systematic_deviation));
            }
        }
    }
}
