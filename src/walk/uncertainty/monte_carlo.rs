//! Propagation of distributions (JCGM 101:2008) for results that bend or jump where they are read, such as zones, ranges
//! and greatest values. The method is that of `metrology::monte_carlo`; here the draws become readings that are off.
//!
//! Draws come from one seed that stands on the record, so that one record gives one figure on every computer. All cells
//! of a result are looked at in the same trials.

use std::sync::Arc;

use crate::metrology::{Block, Draw, Fault, Outcome, Trials, few_trials, monte_carlo_of_several};
use crate::quantity::Real;
use crate::walk::value::Cell;

use super::column::add;
use super::model::{LEAVES_NOTHING, Model, Movement};
use super::sources::{FreshPart, LEAST_FREEDOM, Part, Spread};

pub const SEED: u64 = 101;

/// Until one digit of u stands, which is enough for a decision (JCGM 101:2008, 7.9.2: one or two).
const TRIALS: Trials =
    Trials { seed: SEED, coverage: 0.95, digits: 1, least_blocks: 2, most_blocks: 50, shortest: false };

/// Who draws out goes on to so many numbers drawn.
const MOST_DRAWN: usize = 50_000_000;

/// What the trials say of each cell. `Err`: why a cell has nothing. `closely`: until two digits stand, for a comparison
/// with the law of propagation, and `drawn_out`: as many trials as are made at all, if many can be worked out at once.
pub fn simulate(model: &Model<'_, '_>, closely: bool, drawn_out: bool) -> Vec<Result<Outcome, &'static str>> {
    let draws = Draws::of(model);
    let cells = &model.base.cells;
    let numbers: Vec<usize> = (0..cells.len()).filter(|at| is_number(cells, *at)).collect();
    let block = |block: &Block| {
        let amounts = draws.amounts(model, block);
        let drawn = model.drawn(&amounts, block.trials);
        let columns = drawn.and_then(|drawn| numbers.iter().map(|at| drawn.column(*at)).collect());
        columns.unwrap_or_else(|| one_by_one(model, &numbers, &amounts, block.trials))
    };
    let at_once = || {
        let few = few_trials(&draws.all, SEED, 2);
        model.drawn(&draws.amounts(model, &few), few.trials).is_some()
    };
    let at_once = (closely || drawn_out) && at_once();
    let most = MOST_DRAWN / (10_000 * draws.all.len().max(1));
    let trials = Trials {
        digits: if closely && at_once { 2 } else { 1 },
        least_blocks: if drawn_out && at_once {
            most.clamp(TRIALS.least_blocks, TRIALS.most_blocks)
        } else {
            TRIALS.least_blocks
        },
        ..TRIALS
    };
    let mut outcomes = match monte_carlo_of_several(&draws.all, trials, numbers.len(), block) {
        Ok(outcomes) => outcomes.into_iter(),
        Err(_) => return vec![Err("it is too ill-conditioned"); cells.len()],
    };
    let of_cell = |at: usize| match is_number(cells, at) {
        true => outcomes.next().unwrap_or(Err(Fault::NoTrial)).map_err(|_| LEAVES_NOTHING),
        false => Err("it is no number"),
    };
    (0..cells.len()).map(of_cell).collect()
}

/// Trial by trial, of what is not taken by the column.
fn one_by_one(
    model: &Model<'_, '_>,
    numbers: &[usize],
    amounts: &[Vec<f64>],
    trials: usize,
) -> Vec<Option<Vec<f64>>> {
    let mut found: Vec<Option<Vec<f64>>> = vec![Some(Vec::with_capacity(trials)); numbers.len()];
    for trial in 0..trials {
        let own: Vec<f64> = amounts.iter().map(|column| column.get(trial).copied().unwrap_or(0.0)).collect();
        let laid = model.moved(&own);
        for (found, at) in found.iter_mut().zip(numbers) {
            match laid.cells.get(*at).and_then(Cell::as_number) {
                Some(value) => found.iter_mut().for_each(|found| found.push(value.to_f64())),
                None => *found = None,
            }
        }
    }
    found
}

fn is_number(cells: &[Cell], at: usize) -> bool {
    cells.get(at).is_some_and(|cell| cell.as_number().is_some())
}

/// What is drawn in a trial: first how far the standard deviation of each group of repeats may be off, then movement by
/// movement each of its parts.
pub(super) struct Draws {
    pub all: Vec<Draw>,
    /// Where the factors of each part of a reading stand: one a group. None: it is taken as stated.
    factors: Vec<(*const FreshPart, Vec<Option<usize>>)>,
    first: usize,
}

impl Draws {
    pub fn of(model: &Model<'_, '_>) -> Self {
        let mut all: Vec<Draw> = Vec::new();
        let mut factors: Vec<(*const FreshPart, Vec<Option<usize>>)> = Vec::new();
        for part in model.movements.iter().flat_map(fresh_parts) {
            let Some((_, freedoms)) = &part.groups else { continue };
            if factors.iter().any(|(known, _)| std::ptr::eq(*known, part)) {
                continue;
            }
            let place = |freedom: &f64| {
                let is_student = *freedom >= LEAST_FREEDOM && part.part.spread == Spread::Normal;
                is_student.then(|| {
                    all.push(Draw::Scatter { freedom: *freedom });
                    all.len() - 1
                })
            };
            let places = freedoms.iter().map(place).collect();
            factors.push((std::ptr::from_ref(part), places));
        }
        let first = all.len();
        for movement in &model.movements {
            match movement {
                Movement::Shared(shared) => all.push(of_shared(&shared.part, &shared.variance)),
                Movement::Lent(lent) => all.push(draw(&lent.part, &lent.variance)),
                Movement::Material(own) => all.push(draw(&own.part, &own.variance)),
                Movement::Fresh(_, parts, at) => {
                    let own = parts.iter().map(|part| match part.variances.get(*at) {
                        Some(variance) => draw(&part.part, variance),
                        None => Draw::Normal(0.0),
                    });
                    all.extend(own);
                }
            }
        }
        Self { all, factors, first }
    }

    /// By how much each movement is off in each trial.
    pub fn amounts(&self, model: &Model<'_, '_>, block: &Block) -> Vec<Vec<f64>> {
        let (factors, drawn) = block.sources.split_at_checked(self.first).unwrap_or_default();
        let mut drawn = drawn.iter();
        let amount = |movement: &Movement<'_>| {
            let mut sum = vec![0.0; block.trials];
            match movement {
                Movement::Shared(_) | Movement::Lent(_) | Movement::Material(_) => {
                    drawn.next().into_iter().for_each(|(column, size)| add(&mut sum, *size, column));
                }
                Movement::Fresh(_, parts, at) => {
                    for part in *parts {
                        let Some((column, size)) = drawn.next() else { continue };
                        match self.factor(part, *at, factors) {
                            None => add(&mut sum, *size, column),
                            Some(factor) => {
                                for ((sum, own), factor) in sum.iter_mut().zip(column.iter()).zip(factor) {
                                    *sum += size * own * factor;
                                }
                            }
                        }
                    }
                }
            }
            sum
        };
        model.movements.iter().map(amount).collect()
    }

    /// How far the standard deviation of a group of repeats is off in each trial. None: it is taken as stated.
    fn factor<'b>(&self, part: &FreshPart, at: usize, factors: &'b [(Arc<[f64]>, f64)]) -> Option<&'b [f64]> {
        let (belongs, _) = part.groups.as_ref()?;
        let places =
            self.factors.iter().find(|(known, _)| std::ptr::eq(*known, part)).map(|(_, places)| places)?;
        let place = places.get(*belongs.get(at)?).copied().flatten()?;
        factors.get(place).map(|(column, _)| &**column)
    }
}

fn fresh_parts<'s>(movement: &Movement<'s>) -> &'s [FreshPart] {
    match movement {
        Movement::Shared(_) | Movement::Lent(_) | Movement::Material(_) => &[],
        Movement::Fresh(_, parts, _) => parts,
    }
}

/// Student's t where the size itself is only known with so many degrees of freedom (JCGM 101:2008, 6.4.9.7, from memory).
fn of_shared(part: &Part, variance: &Real) -> Draw {
    match (draw(part, variance), part.freedom.filter(|it| *it >= LEAST_FREEDOM)) {
        (Draw::Normal(u), Some(freedom)) => Draw::Student { u, freedom },
        (draw, _) => draw,
    }
}

fn draw(part: &Part, variance: &Real) -> Draw {
    let u = libm::sqrt(variance.to_f64());
    match part.spread {
        Spread::Normal => Draw::Normal(u),
        Spread::Even => Draw::Rectangular(u * libm::sqrt(3.0)),
        Spread::Triangular => Draw::Triangular(u * libm::sqrt(6.0)),
        Spread::Trapezoidal(top) => {
            let foot = u * libm::sqrt(6.0 / (1.0 + top * top));
            Draw::Trapezoid(foot, top * foot)
        }
        Spread::Loose(known) => {
            let half = u * libm::sqrt(3.0 / (1.0 + known * known / 3.0));
            Draw::Loose(half, known * half)
        }
        Spread::Arcsine => Draw::UShaped(u * libm::sqrt(2.0)),
    }
}
