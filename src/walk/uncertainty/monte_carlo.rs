//! Propagation of distributions (JCGM 101:2008) for results that bend or jump where they are read, such as zones, ranges
//! and greatest values. The method is that of `metrology::monte_carlo`; here the draws become readings that are off.
//!
//! Draws come from one seed that stands on the record, so that one record gives one figure on every computer. All cells
//! of a result are looked at in the same trials.

use std::cell::{Cell as Count, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Role, ValueId};
use crate::metrology::{Draw, Fault, Outcome, Trials, monte_carlo};
use crate::quantity::Real;
use crate::walk::eval::{Evaluator, Off};
use crate::walk::value::{Cell, Laid};

use super::propagation::Figure;
use super::sources::{Part, Sources, Spread};

pub const SEED: u64 = 101;

/// Blocks of the least size for an interval of 95 %, 100/(1 - 0.95), until one digit of u stands: a verdict is wanted
/// while someone waits at the machine. u is then good to a few parts in a hundred.
const TRIALS: Trials = Trials { seed: SEED, coverage: 0.95, digits: 1, most_blocks: 25, block: Some(2000) };

/// What the trials say of each cell. `Err`: why a cell has nothing.
pub fn simulate(
    evaluator: &Evaluator<'_>,
    sources: &Sources,
    figure: Figure<'_>,
) -> Vec<Result<Outcome, &'static str>> {
    let draws = draws(sources);
    let base = figure(evaluator);
    let is_reading = |id: &ValueId| {
        let value = evaluator.program.values.get(id.0);
        value.is_some_and(|value| matches!(value.role, Role::Reading(_)))
    };
    let readings = sources.moved().into_iter().filter(is_reading);
    let bases: HashMap<ValueId, Base> = readings.map(|id| (id, Base::of(&evaluator.value(id)))).collect();
    // The same seed draws the same for each cell, so that a trial is worked out once for all of them.
    let known: RefCell<Vec<Vec<Option<f64>>>> = RefCell::default();
    let of_cell = |at: usize| {
        let trial = Count::new(0);
        let result = |drawn: &[f64]| {
            let number = trial.replace(trial.get() + 1);
            if number >= known.borrow().len() {
                let off = off(sources, &bases, drawn);
                let laid = figure(&evaluator.shifted(&off));
                let cells = laid.cells.iter().map(|cell| cell.as_number().map(Real::to_f64));
                known.borrow_mut().push(cells.collect());
            }
            known.borrow().get(number)?.get(at).copied().flatten()
        };
        monte_carlo(&draws, TRIALS, result).map_err(|fault| match fault {
            Fault::NoTrial => "readings that are a little off leave no result",
            _ => "it is too ill-conditioned",
        })
    };
    let is_number = |at: &usize| base.cells.get(*at).is_some_and(|cell| cell.as_number().is_some());
    (0..base.cells.len())
        .map(|at| if is_number(&at) { of_cell(at) } else { Err("it is no number") })
        .collect()
}

/// One draw for each unknown: those that are shared, then those of each reading, part by part.
fn draws(sources: &Sources) -> Vec<Draw> {
    let shared = sources.shared.iter().map(|shared| draw(&shared.part, &shared.variance));
    let fresh = sources.fresh.iter().flat_map(|fresh| &fresh.parts);
    let fresh = fresh.flat_map(|part| part.variances.iter().map(|variance| draw(&part.part, variance)));
    shared.chain(fresh).collect()
}

fn draw(part: &Part, variance: &Real) -> Draw {
    let u = libm::sqrt(variance.to_f64());
    match part.spread {
        Spread::Normal => Draw::Normal(u),
        Spread::Even => Draw::Rectangular(u * libm::sqrt(3.0)),
    }
}

/// What all values are off by in a trial.
fn off(sources: &Sources, bases: &HashMap<ValueId, Base>, drawn: &[f64]) -> Off {
    let mut drawn = drawn.iter().copied();
    let mut next = || drawn.next().unwrap_or(0.0);
    let mut all: HashMap<ValueId, Vec<f64>> = HashMap::new();
    for shared in &sources.shared {
        let drawn = next();
        for (id, by) in &shared.moves {
            for (at, own) in laid_out(&mut all, *id, by.len()).iter_mut().enumerate() {
                *own += drawn * by.get(at).or(by.first()).map_or(0.0, Real::to_f64);
            }
        }
    }
    for fresh in &sources.fresh {
        let count = fresh.parts.first().map_or(0, |part| part.variances.len());
        let own = laid_out(&mut all, fresh.reading, count);
        for part in &fresh.parts {
            for (own, _) in own.iter_mut().zip(&part.variances) {
                *own += next();
            }
        }
    }
    let mut off = Off::default();
    for id in &sources.moved() {
        let Some(by) = all.remove(id) else { continue };
        match bases.get(id) {
            Some(base) => off.instead.insert(*id, base.off_by(&by)).map(drop),
            None => off.by.insert(*id, by.into_iter().map(real).collect()).map(drop),
        };
    }
    off
}

fn real(value: f64) -> Real {
    Real::approximate(value, 0.0).unwrap_or_else(Real::zero)
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

/// A reading as it was taken, in binary numbers: exact ones would be turned into them in every trial again.
struct Base {
    laid: Laid,
    numbers: Vec<Option<f64>>,
}

impl Base {
    fn of(laid: &Laid) -> Self {
        Self {
            numbers: laid.cells.iter().map(|cell| cell.as_number().map(Real::to_f64)).collect(),
            laid: laid.clone(),
        }
    }

    fn off_by(&self, by: &[f64]) -> Rc<Laid> {
        let own = |at: usize| by.get(at).or(by.first()).copied().unwrap_or(0.0);
        let cells = self.laid.cells.iter().zip(&self.numbers).enumerate().map(|(at, (cell, number))| {
            number.map_or_else(|| cell.clone(), |number| Cell::number(real(number + own(at))))
        });
        Rc::new(Laid { cells: cells.collect(), axes: self.laid.axes.clone() })
    }
}
