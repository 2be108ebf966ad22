//! Propagation of distributions (JCGM 101:2008, from memory): for results that bend or jump where they are read, such as
//! zones, ranges and greatest values.
//!
//! Draws come from one seed that stands on the record, so that one record gives one figure on every computer. The number
//! of trials is adaptive (7.9.4): blocks are drawn until twice the standard deviation of the mean of their u is within
//! half a unit of the first significant digit of u.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::ValueId;
use crate::metrology::Generator;
use crate::quantity::Real;
use crate::walk::eval::{Evaluator, Shifts};
use crate::walk::value::Laid;

use super::propagation::Figure;
use super::sources::{Part, Shape, Sources};

pub const SEED: u64 = 101;
/// 100/(1 - 0.95), the least block of the standard for an interval of 95 %.
const BLOCK: usize = 2000;
const MOST_BLOCKS: usize = 25;

/// What the trials say of one cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulated {
    pub mean: f64,
    pub u: f64,
    /// The shortest tails left out: from 2.5 % to 97.5 % of the trials.
    pub low: f64,
    pub high: f64,
    pub trials: usize,
}

/// What the trials say of each cell. `Err`: why a cell has nothing.
pub fn simulate(
    evaluator: &Evaluator<'_>,
    sources: &Sources,
    figure: Figure<'_>,
) -> Vec<Result<Simulated, &'static str>> {
    let mut draws = Generator::new(SEED);
    let mut values: Vec<Vec<f64>> = vec![Vec::new(); figure(evaluator).cells.len()];
    let mut of_blocks: Vec<Vec<f64>> = vec![Vec::new(); values.len()];
    for block in 0..MOST_BLOCKS {
        for _ in 0..BLOCK {
            let trial = trial(evaluator, sources, figure, &mut draws);
            for (known, cell) in values.iter_mut().zip(&trial.cells) {
                known.extend(cell.as_number().map(Real::to_f64));
            }
        }
        for (known, blocks) in values.iter().zip(&mut of_blocks) {
            let from = known.len().saturating_sub(BLOCK);
            blocks.extend(known.get(from..).filter(|own| !own.is_empty()).map(|own| spread(own).1));
        }
        if block > 0 && values.iter().zip(&of_blocks).all(|(known, blocks)| is_settled(known, blocks)) {
            break;
        }
    }
    values.into_iter().map(summed_up).collect()
}

fn trial(
    evaluator: &Evaluator<'_>,
    sources: &Sources,
    figure: Figure<'_>,
    draws: &mut Generator,
) -> Rc<Laid> {
    let mut off: HashMap<ValueId, Vec<f64>> = HashMap::new();
    for shared in &sources.shared {
        let drawn = draw(draws, &shared.part, &shared.variance);
        for (id, by) in &shared.moves {
            let own = laid_out(&mut off, *id, by.len());
            for (at, own) in own.iter_mut().enumerate() {
                *own += drawn * by.get(at).or(by.first()).map_or(0.0, Real::to_f64);
            }
        }
    }
    for fresh in &sources.fresh {
        let count = fresh.parts.first().map_or(0, |part| part.variances.len());
        let own = laid_out(&mut off, fresh.reading, count);
        for part in &fresh.parts {
            for (own, variance) in own.iter_mut().zip(&part.variances) {
                *own += draw(draws, &part.part, variance);
            }
        }
    }
    let real = |value: f64| Real::approximate(value, 0.0).unwrap_or_else(Real::zero);
    let shifts: Shifts = off.into_iter().map(|(id, by)| (id, by.into_iter().map(real).collect())).collect();
    figure(&evaluator.shifted(&shifts))
}

/// What a value is off by: what moves all of its cells alike stands in one number until others are added.
fn laid_out(off: &mut HashMap<ValueId, Vec<f64>>, id: ValueId, count: usize) -> &mut Vec<f64> {
    let own = off.entry(id).or_default();
    if own.len() < count {
        let all = own.first().copied().unwrap_or(0.0);
        own.resize(count, all);
    }
    own
}

fn draw(draws: &mut Generator, part: &Part, variance: &Real) -> f64 {
    let u = libm::sqrt(variance.to_f64());
    match part.shape {
        Shape::Normal => u * draws.normal(),
        Shape::Even => u * libm::sqrt(3.0) * (2.0 * draws.unit() - 1.0),
    }
}

/// Mean and standard deviation.
fn spread(values: &[f64]) -> (f64, f64) {
    let count = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, libm::sqrt(squares / (count - 1.0).max(1.0)))
}

fn is_settled(values: &[f64], blocks: &[f64]) -> bool {
    let u = spread(values).1;
    let of_mean = spread(blocks).1 / libm::sqrt(blocks.len().max(1) as f64);
    2.0 * of_mean <= half_a_digit(u)
}

/// Half a unit of the first significant digit (JCGM 101:2008, 7.9.2, from memory).
pub fn half_a_digit(u: f64) -> f64 {
    if u > 0.0 { 0.5 * libm::exp10(libm::floor(libm::log10(u))) } else { 0.0 }
}

fn summed_up(mut values: Vec<f64>) -> Result<Simulated, &'static str> {
    if values.is_empty() {
        return Err("it is no number");
    }
    if !values.len().is_multiple_of(BLOCK) {
        return Err("readings that are a little off leave no result");
    }
    let (mean, u) = spread(&values);
    values.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = libm::round(part * (values.len() - 1) as f64) as usize;
        values.get(place).copied().unwrap_or(mean)
    };
    Ok(Simulated { mean, u, low: at(0.025), high: at(0.975), trials: values.len() })
}
