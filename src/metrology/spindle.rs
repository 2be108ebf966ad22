//! A spindle bore and the bar in it, taken apart.
//!
//! The bar is taken out and put back turned by an index, counted in the direction in which the spindle is turned.
//! high_at of a reading is the spindle angle at which the dial reads high. A bar turned forward by i comes to its high
//! earlier by i, so that reading(i) = machine + artefact turned backward by i:
//!
//! - machine (the bore) = mean of the arrows as they stand
//! - artefact (the bar, as it stands at index zero) = mean of the arrows turned forward by their index
//!
//! Both hold where the indexings are spread evenly over the turn (two opposite ones, four quarters, ...): then what is
//! not asked for cancels. Run-out by four indexings: ISO 230-1 (from memory); the separation by vectors is geometry.

use super::arrow::Arrow;
use super::turn::within_turn;
use super::{Fault, greatest, paired};
use crate::quantity::Real;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Separated {
    pub machine: Arrow,
    pub artefact: Arrow,
    /// What each indexing shows beyond the two: how well the bar seats. Zero for two indexings but for rounding.
    pub left_over: Vec<Arrow>,
}

impl Separated {
    /// The largest of what is left over.
    pub fn seating(&self) -> Result<Real, Fault> {
        let sizes: Result<Vec<Real>, Fault> = self.left_over.iter().map(Arrow::size).collect();
        greatest(&sizes?)
    }
}

/// The arrows at the indexings, in degrees; needs at least two, spread evenly.
pub fn indexings(indices: &[Real], arrows: &[Arrow]) -> Result<Separated, Fault> {
    paired(indices, arrows, 2)?;
    let folded = within_turn(indices)?;
    let rays: Vec<Arrow> = folded.iter().map(|index| Arrow::pointing(&Real::from(1), index)).collect();
    let middle = Arrow::mean(&rays)?;
    if !(middle.along.is_zero() && middle.across.is_zero()) {
        return Err(Fault::UnevenIndexings);
    }
    let machine = Arrow::mean(arrows)?;
    let forward: Vec<Arrow> = arrows.iter().zip(&folded).map(|(arrow, index)| arrow.turned(index)).collect();
    let artefact = Arrow::mean(&forward)?;
    let left_over = arrows
        .iter()
        .zip(&folded)
        .map(|(arrow, index)| arrow.minus(&machine.plus(&artefact.turned(&-index))))
        .collect();
    Ok(Separated { machine, artefact, left_over })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metrology::eccentricity;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn indexings_that_do_not_cancel_are_refused() {
        let arrows = vec![Arrow::none(); 3];
        assert_eq!(indexings(&whole(&[0, 90, 180]), &arrows), Err(Fault::UnevenIndexings));
        assert_eq!(
            indexings(&whole(&[0, 90, 90, 270]), &[&arrows[..], &arrows[..1]].concat()),
            Err(Fault::SameAngle)
        );
        assert!(indexings(&whole(&[0, 120, 240]), &arrows).is_ok());
    }

    #[test]
    fn a_bar_that_did_not_seat_shows_in_what_is_left_over() {
        let size = Real::from(4);
        let arrows = [0, 0, 0, 0].map(|angle: i64| Arrow::pointing(&size, &Real::from(angle))).to_vec();
        let clean = indexings(&whole(&[0, 90, 180, 270]), &arrows).unwrap();
        assert_eq!(clean.seating(), Ok(Real::zero()));
        let mut dirty = arrows;
        dirty[2] = Arrow::pointing(&Real::from(8), &Real::zero());
        assert!(indexings(&whole(&[0, 90, 180, 270]), &dirty).unwrap().seating().unwrap().is_positive());
    }

    proptest! {
        /// A rotor made up from its parts: the high side of the bore is fixed to the spindle, the high side of the bar
        /// to the bar, which sits turned by the index. When the spindle has turned by t, what was at angle p of the
        /// spindle stands under the dial at t + p.
        #[test]
        fn a_made_up_rotor_is_taken_apart(bore in 1i64..30, bore_at in 0i64..12, bar in 1i64..30, bar_at in 0i64..12, quarters in proptest::bool::ANY) {
            let dial = |high: i64, turned: i64, size: i64| {
                // The marked place is under the dial, at 0, when it has come round.
                &Real::from(size) * &Real::from(30 * high + turned).cos()
            };
            let indices: Vec<i64> = if quarters { vec![0, 90, 180, 270] } else { vec![0, 180] };
            let stations = whole(&[0, 60, 120, 180, 240, 300]);
            let arrows: Vec<Arrow> = indices.iter().map(|index| {
                let readings: Vec<Real> = (0..6).map(|step| {
                    let turned = step * 60;
                    &(&dial(bore_at, turned, bore) + &(&Real::from(bar) * &Real::from(30 * bar_at + index + turned).cos())) + &Real::Exact(ratio(7, 3))
                }).collect();
                eccentricity(&stations, &readings).unwrap()
            }).collect();
            let found = indexings(&indices.iter().copied().map(Real::from).collect::<Vec<_>>(), &arrows).unwrap();
            let near = |arrow: &Arrow, size: i64, place: i64| {
                let expected = Arrow::pointing(&Real::from(size), &Real::from(-30 * place));
                arrow.minus(&expected).size().unwrap().to_f64() < 1e-9
            };
            prop_assert!(near(&found.machine, bore, bore_at) && near(&found.artefact, bar, bar_at));
            prop_assert!(found.seating().unwrap().to_f64() < 1e-9);
        }
    }
}
