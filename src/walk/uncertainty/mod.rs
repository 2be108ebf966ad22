//! How uncertain a result is, and what that leaves of a verdict.
//!
//! ```text
//! sources        the unknowns under a value: zero, scale, fresh, resolution, set_up, scatter
//! stated         what a line of an instrument states of one
//! material       the unknowns of a material: its expansion, its droop
//! lent           the unknowns of values that the record before lends
//! linear         which parts of a result are linear in them
//! model          the result as a function of them: linear parts worked out once, the rest for each move
//! propagation    u by sensitivities, exact where the result is linear in exact readings
//! drawn, column  the result in all trials of a block at once; drawn_calls, drawn_linear what functions make of it,
//!                drawn_margins what limits leave that were measured too
//! monte_carlo    u by draws, for results that are not smooth; both are compared
//! curved         whether a smooth result is straight enough for sensitivities
//! arrow          what is meant by the u of an arrow
//! kept           what was worked out before, good again where nothing has changed
//! decide         value, limits and u to a verdict, the probability of conformity, what would decide it
//! ```
//!
//! Works by evaluating the same expressions at readings that are a little off, so that every function of the language
//! is taken, and plain working out is not slowed. Must not judge by itself and must not change what is entered.

mod arrow;
mod column;
mod curved;
pub mod decide;
mod drawn;
mod drawn_calls;
mod drawn_linear;
mod drawn_margins;
pub mod foresee;
mod kept;
mod lent;
mod linear;
mod material;
mod model;
mod monte_carlo;
mod propagation;
pub(super) mod smooth;
mod sources;
mod stated;
pub mod wording;

use std::rc::Rc;

use crate::check::program::ValueId;
use crate::metrology::{self, Distribution, Outcome, Ranked};
use crate::quantity::{Real, Unit};

use super::eval::Evaluator;
use super::value::{Cell, Laid};
use kept::Listener;
use model::Model;

pub(super) use drawn::{Block, Drawn};
pub use kept::Kept;
pub(super) use kept::{FigureOf, Name};
pub(super) use linear::Root;
pub(super) use model::Figure;
pub use propagation::Contribution;

/// Beyond so many unknowns sensitivities are not worked out one by one.
const MOST_UNKNOWNS: usize = 4000;

/// Beyond so many, what bends is worked out from its readings in each trial: the linear parts beneath have a sensitivity for
/// each number of theirs and each unknown.
const MANY_UNKNOWNS: usize = 500;

/// The coverage factor of every expanded uncertainty here: U = 2u, whatever the degrees of freedom.
pub const COVERAGE: i64 = 2;

/// The uncertainty of one cell of a result.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// u squared, in base units: exact where the result is linear in exact readings.
    pub variance: Real,
    pub method: Method,
    /// Effective degrees of freedom; None: infinitely many.
    pub freedom: Option<f64>,
    pub budget: Vec<Contribution>,
    /// What a reader must know beside the figure.
    pub notes: Vec<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Method {
    Propagation,
    MonteCarlo {
        seed: u64,
        trials: usize,
        /// Where the middle 95 % of the draws end, from the value.
        interval: (f64, f64),
        /// As sensitivities alone would have it, for comparison.
        propagated: Option<Propagated>,
        draws: Draws,
    },
}

/// As the draws lie from the value toward a lower limit and toward an upper one. They are the same but where the limits were
/// measured too: then they are those of the distance to each.
#[derive(Clone, Debug, PartialEq)]
pub struct Draws {
    pub below: Rc<Ranked>,
    pub above: Rc<Ranked>,
}

/// What the law of propagation says of a result that was drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Propagated {
    pub u: f64,
    /// Half the interval of 95 %, where it does not end where that of the draws does (JCGM 101:2008, 8.1).
    pub disagrees: Option<f64>,
}

impl Uncertain {
    pub fn u(&self) -> f64 {
        libm::sqrt(self.variance.to_f64().max(0.0))
    }

    /// U = 2u as a number of the language: exact if it can be.
    pub fn expanded_exact(&self) -> Option<Real> {
        (&self.variance * &Real::from(COVERAGE * COVERAGE)).sqrt()
    }

    /// How the true value is spread about the value. Draws have the wider tails of few degrees of freedom in them already.
    /// `left_out`: whether the lower and the upper limit itself is outside.
    pub fn distribution(&self, left_out: (bool, bool)) -> Distribution<'_> {
        match &self.method {
            Method::Propagation => Distribution::with_freedom(self.freedom),
            Method::MonteCarlo { draws, .. } => {
                Distribution::Drawn { below: &draws.below, above: &draws.above, u: self.u(), left_out }
            }
        }
    }

    /// As the wider of a pair of distances to a lower and to an upper limit.
    pub(super) fn of_pair(pair: &[Result<Rc<Uncertain>, String>]) -> Option<Rc<Uncertain>> {
        let known = |at: usize| pair.get(at).and_then(|own| own.as_ref().ok());
        let (lower, upper) = match (known(0), known(1)) {
            (Some(lower), Some(upper)) => (lower, upper),
            (one, other) => return one.or(other).cloned(),
        };
        let wider = if lower.variance.is_less(&upper.variance) { upper } else { lower };
        let (Method::MonteCarlo { draws: below, .. }, Method::MonteCarlo { draws: above, .. }) =
            (&lower.method, &upper.method)
        else {
            return Some(wider.clone());
        };
        let mut wider = Uncertain::clone(wider);
        if let Method::MonteCarlo { draws, .. } = &mut wider.method {
            *draws = Draws { below: below.below.clone(), above: above.above.clone() };
        }
        Some(Rc::new(wider))
    }

    /// U = 2u in a unit, for showing.
    pub fn expanded_in(&self, unit: Option<Unit>) -> f64 {
        wording::in_unit(self.expanded(), unit)
    }

    /// U = 2u.
    pub fn expanded(&self) -> f64 {
        COVERAGE as f64 * self.u()
    }
}

/// Of each cell of a result, in its order. `Err`: why a cell has none.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    pub cells: Vec<Result<Rc<Uncertain>, String>>,
    /// Nothing is stated of anything that the result rests on.
    pub unstated: bool,
    /// Something is stated of what was read, and not of materials alone.
    pub read: bool,
}

/// How much work may be put into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Effort {
    /// Sensitivities only, of what is smooth: enough to show beside a value.
    Shown,
    /// Sensitivities only, of what bends too: a first look before the walk.
    Foreseen,
    /// Draws too where the result is not smooth: a verdict hangs on it.
    Decided,
    /// As many draws as are made at all, since fewer have left a verdict open.
    DrawnOut,
}

impl Effort {
    /// Draws are made where they are needed.
    fn draws(self) -> bool {
        matches!(self, Effort::Decided | Effort::DrawnOut)
    }
}

/// The uncertainty of a value as it stands.
pub fn of_value(evaluator: &Evaluator<'_>, value: ValueId, effort: Effort) -> Option<Spread> {
    let smooth = smooth::is_smooth(evaluator.program, value);
    let figure = Figure {
        value,
        what: FigureOf::Itself,
        roots: &[Root::Value(value)],
        of: &|evaluator| evaluator.value(value),
        drawn: &|block| block.value(value),
    };
    of_figure(evaluator, &figure, smooth, effort)
}

/// The uncertainty of a figure that is made of a value, such as the spread in its worst window. `None`: it would take
/// draws, and the effort is not to be made.
pub(super) fn of_figure(
    evaluator: &Evaluator<'_>,
    figure: &Figure<'_, '_>,
    smooth: bool,
    effort: Effort,
) -> Option<Spread> {
    if (!smooth || is_chosen(evaluator, figure.value)) && effort == Effort::Shown {
        return None;
    }
    let Some(kept) = evaluator.kept else { return work_out(evaluator, figure, smooth, effort) };
    let name = Name { step: evaluator.step, effort, value: figure.value, of: figure.what.clone() };
    if let Some(known) = kept.find(&name, evaluator.scope) {
        return known;
    }
    let listener = Listener::new(evaluator.scope);
    let spread = work_out(&evaluator.before(&listener), figure, smooth, effort);
    kept.keep(name, listener, spread.clone());
    spread
}

/// Whether draws are asked for: by the step that is judged, else by that of the value.
fn is_chosen(evaluator: &Evaluator<'_>, value: ValueId) -> bool {
    let program = evaluator.program;
    let step = evaluator.step.or_else(|| program.values.get(value.0)?.step);
    step.and_then(|step| program.steps.get(step.0)).map_or(program.by_draws, |step| step.by_draws)
}

fn work_out(
    evaluator: &Evaluator<'_>,
    figure: &Figure<'_, '_>,
    smooth: bool,
    effort: Effort,
) -> Option<Spread> {
    let sources = sources::sources(evaluator, figure.roots);
    let most = if effort.draws() { MOST_UNKNOWNS } else { MOST_UNKNOWNS / 10 };
    let few = sources.count() <= most;
    if !few && !effort.draws() {
        return None;
    }
    let (unstated, read) = (sources.is_empty(), sources.are_of_readings());
    let readings_only = !few || (!smooth && sources.count() > MANY_UNKNOWNS);
    let model = match Model::new(evaluator, &sources, figure, readings_only) {
        Ok(model) => model,
        Err(reason) => {
            let cells = (figure.of)(evaluator).cells.iter().map(|_| Err(reason.to_owned())).collect();
            return Some(Spread { cells, unstated, read });
        }
    };
    let base: Rc<Laid> = model.base.clone();
    let chosen = effort != Effort::Foreseen && is_chosen(evaluator, figure.value);
    let (mut by_draws_only, mut propagated) = (!smooth || chosen, Vec::new());
    if few {
        // Of roots and the like nothing is exact, and binary numbers are many times as fast.
        let exactly =
            smooth && base.cells.iter().filter_map(Cell::as_number).all(|own| own.exact().is_some());
        let slopes = model.all_slopes(exactly);
        by_draws_only |= effort != Effort::Foreseen && curved::is_curved(&model, &slopes);
        propagated = propagation::propagate(&model, &slopes);
    }
    if by_draws_only && effort == Effort::Shown {
        return None;
    }
    propagated.resize(base.cells.len(), Err("too many readings to take one by one"));
    let simulated = (effort.draws() && (by_draws_only || !few) && !unstated)
        .then(|| monte_carlo::simulate(&model, smooth && chosen, effort == Effort::DrawnOut));
    let mut cells = Vec::with_capacity(base.cells.len());
    for (at, (cell, propagated)) in base.cells.iter().zip(propagated).enumerate() {
        // The tip of an arrow has no one distribution; its parts are linear but in the oddest of files.
        let drawn = simulated.as_ref().and_then(|all| all.get(at)).filter(|_| cell.as_arrow().is_none());
        let value = cell.as_number().map_or(0.0, Real::to_f64);
        cells.push(match drawn {
            None => propagated
                .map(|budget| Rc::new(by_propagation(budget, &sources.notes)))
                .map_err(str::to_owned),
            Some(Ok(drawn)) => Ok(Rc::new(by_draws(value, drawn, propagated.ok(), &sources.notes))),
            Some(Err(reason)) => Err((*reason).to_owned()),
        });
    }
    Some(Spread { cells, unstated, read })
}

fn by_propagation(budget: Vec<Contribution>, notes: &[String]) -> Uncertain {
    let (variance, freedom) = propagation::combined(&budget);
    Uncertain { variance, method: Method::Propagation, freedom, budget, notes: notes.to_vec() }
}

fn by_draws(value: f64, drawn: &Outcome, budget: Option<Vec<Contribution>>, notes: &[String]) -> Uncertain {
    let taken = budget.is_some();
    let budget = budget.unwrap_or_default();
    let (variance, freedom) = propagation::combined(&budget);
    let u = libm::sqrt(variance.to_f64());
    let apart = |expanded: &f64| !drawn.agrees_with(value, *expanded);
    let disagrees = metrology::expanded(u, 0.95, freedom).ok().filter(apart);
    let (low, high) = drawn.interval;
    let draws = Rc::new(drawn.ranked.about(value));
    Uncertain {
        variance: Real::approximate(drawn.u * drawn.u, 0.0).unwrap_or_else(Real::zero),
        method: Method::MonteCarlo {
            seed: monte_carlo::SEED,
            trials: drawn.trials,
            interval: (low - value, high - value),
            propagated: taken.then_some(Propagated { u, disagrees }),
            draws: Draws { below: draws.clone(), above: draws },
        },
        freedom,
        budget,
        notes: notes.to_vec(),
    }
}
