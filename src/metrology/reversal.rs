//! A reversal pair taken apart into machine and artefact (or instrument). Method: Evans, Hocken and Estler, CIRP
//! Annals 45 (1996), and the averaging of bar readings at 0 and 180 degrees in ISO 230-1 (both from memory).
//!
//! - the reading's sense stays with the machine (dial on a turned bar):
//!   machine = (first + second) / 2, artefact = (first - second) / 2, the artefact as it stands at the first
//! - the reading's sense turns with the instrument (level turned end for end):
//!   machine = (first - second) / 2, zero error of the instrument = (first + second) / 2
//!
//! Signs are those of the reading.

use crate::quantity::Real;

/// The two parts of a reversal pair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pair {
    pub machine: Real,
    /// The bar, straightedge or square as it stands at the first reading; of a level, its zero error.
    pub artefact: Real,
}

pub fn stays_with(first: &Real, second: &Real) -> Pair {
    Pair { machine: (first + second).half(), artefact: (first - second).half() }
}

pub fn turns_with(first: &Real, second: &Real) -> Pair {
    let Pair { machine, artefact } = stays_with(first, second);
    Pair { machine: artefact, artefact: machine }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    proptest! {
        /// A machine error and an artefact error put into the two readings come out again.
        #[test]
        fn what_went_in_comes_out(machine in -999i64..999, artefact in -999i64..999) {
            let (machine, artefact) = (Real::Exact(ratio(machine, 1000)), Real::Exact(ratio(artefact, 1000)));
            let dial = stays_with(&(&machine + &artefact), &(&machine - &artefact));
            prop_assert_eq!((&dial.machine, &dial.artefact), (&machine, &artefact));
            let level = turns_with(&(&machine + &artefact), &(&artefact - &machine));
            prop_assert_eq!((&level.machine, &level.artefact), (&machine, &artefact));
        }
    }
}
