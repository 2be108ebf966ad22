//! Harmonics of the readings of one turn, by least squares; angles need not be equally spoken.
//!
//! reading = mean + sum over k of (a_k cos k t + b_k sin k t), fitted together. With equal angles this is
//! a_k = (2/n) sum r cos k t, b_k = (2/n) sum r sin k t (k = 1: ISO 4291, annex F, abstract seen, and the
//! NIST/SEMATECH handbook, extract seen).
//!
//! - eccentricity: k = 1 alone; its size is half of the run-out that it makes, high_at is where the dial reads high
//! - undulations: the amplitudes for k = 1 to m, the departure of a lobed form of k lobes; unsigned with a direction
//!
//! Angles in degrees. Exact where the sines and cosines are, else with the carried bound.

use super::arrow::Arrow;
use super::solve::least_squares;
use super::statistics::mean;
use super::{Fault, paired};
use crate::quantity::{Rational, Real, ratio};

/// The mean reading and the harmonics from the first on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Harmonics {
    pub mean: Real,
    pub arrows: Vec<Arrow>,
}

/// Each angle within the turn, from 0 up to 360; a fault if two are the same.
pub(super) fn within_turn(angles: &[Real]) -> Result<Vec<Real>, Fault> {
    let turn = ratio(360, 1);
    let folded: Vec<Real> = angles
        .iter()
        .map(|angle| {
            let turns: Rational = (angle.middle() / &turn).floor();
            angle - &Real::Exact(turns * &turn)
        })
        .collect();
    let mut sorted: Vec<&Real> = folded.iter().collect();
    sorted.sort();
    let same = |pair: &[&Real]| matches!(pair, [a, b] if a.equals(b));
    let closes = matches!((sorted.first(), sorted.last()), (Some(first), Some(last))
        if sorted.len() > 1 && (*first + &Real::from(360)).equals(last));
    if closes || sorted.windows(2).any(same) { Err(Fault::SameAngle) } else { Ok(folded) }
}

/// Harmonics 1 to `most` fitted together; needs 2 `most` + 1 readings at different angles.
pub fn harmonics(angles: &[Real], readings: &[Real], most: usize) -> Result<Harmonics, Fault> {
    paired(angles, readings, 2 * most + 1)?;
    let angles = within_turn(angles)?;
    // Around the mean, so that the digits go to the departures.
    let centre = mean(readings)?;
    let departures: Vec<Real> = readings.iter().map(|reading| reading - &centre).collect();
    let row = |angle: &Real| {
        let mut row = vec![Real::from(1)];
        for k in 1..=most {
            let folded = angle * &super::statistics::count(k);
            row.extend([folded.cos(), folded.sin()]);
        }
        row
    };
    let rows: Vec<Vec<Real>> = angles.iter().map(row).collect();
    let weights = vec![Real::from(1); readings.len()];
    let found = least_squares(&rows, &departures, &weights)?;
    let (offset, parts) = found.split_first().ok_or(Fault::IllConditioned)?;
    let arrows = parts.chunks_exact(2).filter_map(|part| match part {
        [along, across] => Some(Arrow { along: along.clone(), across: across.clone() }),
        _ => None,
    });
    Ok(Harmonics { mean: &centre + offset, arrows: arrows.collect() })
}

/// The first harmonic: size and direction of the eccentricity; needs three readings at different angles.
pub fn eccentricity(angles: &[Real], readings: &[Real]) -> Result<Arrow, Fault> {
    harmonics(angles, readings, 1)?.arrows.into_iter().next().ok_or(Fault::IllConditioned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn four_quarters_are_exact() {
        let arrow = eccentricity(&whole(&[0, 90, 180, 270]), &whole(&[13, 6, 7, 14])).unwrap();
        assert_eq!((arrow.along.clone(), arrow.across.clone()), (Real::from(3), Real::from(-4)));
        assert_eq!(arrow.size(), Ok(Real::from(5)));
    }

    #[test]
    fn angles_that_repeat_and_too_few_are_refused() {
        let twice = eccentricity(&whole(&[0, 90, 360, 200]), &whole(&[1, 2, 3, 4]));
        assert_eq!(twice, Err(Fault::SameAngle));
        let few = eccentricity(&whole(&[0, 90]), &whole(&[1, 2]));
        assert_eq!(few, Err(Fault::TooFew { needed: 3, found: 2 }));
        let few = harmonics(&whole(&[0, 90, 180, 270]), &whole(&[1, 2, 3, 4]), 2);
        assert_eq!(few, Err(Fault::TooFew { needed: 5, found: 4 }));
    }

    proptest! {
        /// What was put in comes out, at unequal angles and with a station missing, whatever the order.
        #[test]
        fn a_lobed_form_is_taken_apart(size in 1i64..40, lobes in 2usize..5, place in 0i64..360, missing in 0usize..23) {
            let angles: Vec<Real> = (0..23).filter(|k| *k != missing).rev()
                .map(|k| Real::from(((k * 360 + 7 * (k % 3)) / 23) as i64)).collect();
            let (out, form) = (Arrow::pointing(&Real::from(7), &Real::from(200)), Arrow::pointing(&Real::from(size), &Real::from(place)));
            let readings: Vec<Real> = angles.iter().map(|angle| {
                let folded = angle * &Real::from(lobes as i64);
                let wave = |arrow: &Arrow, at: &Real| &(&arrow.along * &at.cos()) + &(&arrow.across * &at.sin());
                &(&Real::from(25) + &wave(&out, angle)) + &wave(&form, &folded)
            }).collect();
            let found = harmonics(&angles, &readings, 5).unwrap();
            prop_assert!(found.mean.equals(&Real::from(25)) && found.mean.bound() < 1e-10);
            for (k, arrow) in found.arrows.iter().enumerate() {
                let expected = if k == 0 { out.clone() } else if k + 1 == lobes { form.clone() } else { Arrow::none() };
                prop_assert!(arrow.minus(&expected).size().unwrap().to_f64() < 1e-10);
            }
        }
    }
}
