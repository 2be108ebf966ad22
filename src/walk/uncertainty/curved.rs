//! Whether a result that has sensitivities curves within what is not known of it, so that they do not tell its uncertainty:
//! a root near zero, the standard deviation of readings that are all alike, a product of two that are next to nothing.
//!
//! A few trials are drawn, and each is held against what the sensitivities say of it. What they miss is what the terms
//! of higher order would add (JCGM 100:2008, 5.1.2, note, from memory). Where that is more than a tenth of u, taken as
//! the root of its mean square, draws have to tell: less would change u by a two-hundredth at most.

use crate::metrology::few_trials;
use crate::quantity::Real;

use super::model::{Model, Slopes, components};
use super::monte_carlo::{Draws, SEED};

const TRIALS: usize = 16;

/// Squared, of u squared.
const MOST_MISSED: f64 = 0.01;

/// Less than this part of the result is binary noise.
const NOISE: f64 = 1e-9;

pub fn is_curved(model: &Model<'_, '_>, slopes: &[Slopes]) -> bool {
    if model.is_linear() || model.movements.is_empty() {
        return false;
    }
    let base: Vec<Option<f64>> =
        components(&model.base).into_iter().map(|own| own.map(Real::to_f64)).collect();
    let slope = |slopes: &Slopes| -> Vec<(usize, f64)> {
        slopes.iter().filter_map(|(at, slope)| Some((*at, slope.as_ref()?.to_f64()))).collect()
    };
    let slopes: Vec<Vec<(usize, f64)>> = slopes.iter().map(slope).collect();
    let mut variances = vec![0.0; base.len()];
    for (movement, slopes) in model.movements.iter().zip(&slopes) {
        let own = movement.variance().to_f64();
        for (at, slope) in slopes {
            variances.iter_mut().skip(*at).take(1).for_each(|sum| *sum += slope * slope * own);
        }
    }
    let draws = Draws::of(model);
    let block = few_trials(&draws.all, SEED, TRIALS);
    let amounts = draws.amounts(model, &block);
    let mut missed = vec![0.0; base.len()];
    for trial in 0..TRIALS {
        let own: Vec<f64> = amounts.iter().map(|column| column.get(trial).copied().unwrap_or(0.0)).collect();
        let mut expected = base.clone();
        for (amount, slopes) in own.iter().zip(&slopes) {
            for (at, slope) in slopes {
                expected.iter_mut().skip(*at).take(1).flatten().for_each(|sum| *sum += slope * amount);
            }
        }
        let moved = model.moved(&own);
        for ((missed, expected), moved) in missed.iter_mut().zip(expected).zip(components(&moved)) {
            match (expected, moved) {
                (Some(expected), Some(moved)) => {
                    let by = moved.to_f64() - expected;
                    *missed += by * by / TRIALS as f64;
                }
                // Only draws can say that it may leave nothing.
                (Some(_), None) => return true,
                (None, _) => {}
            }
        }
    }
    let found = missed.iter().zip(&variances).zip(&base);
    found.into_iter().any(|((missed, variance), base)| {
        let noise = NOISE * base.unwrap_or(0.0).abs();
        *missed > MOST_MISSED * variance && *missed > noise * noise
    })
}
