//! Which drawings a try gets, and what they show: settled by the functions of the frozen procedure and the walk as it was
//! replayed, never by what things are called.
//!
//! | what the procedure works out | what is drawn |
//! |---|---|
//! | `ordinates straightness hump hollow` along a length | departures from the line, with the band, the limits and the worst window |
//! | `taper gain slope` | the path along the length, in the wedge that is allowed |
//! | `line_at line_uncertainty line_scatter line_correlation slope_uncertainty` | the points, the line of least squares, its U, the place asked for |
//! | `runout eccentricity roundness undulation` round a turn | the turn, the eccentricity taken apart from the form |
//! | `flatness plate_map ordinates` over a surface | a map of heights |
//! | the figures of ISO 230-2 | deviations at the targets, from both sides |
//! | a series in time | values against time, the fit, the last span |
//! | `twist_shims`, results laid out, repeats | values at their stations |
//! | a guarded rule; a rule with several tries | its values against the limit, with their uncertainty |

mod fitted;
mod guard;
mod limits;
mod positions;
mod profile;
mod slope;
mod stations;
mod surface;
mod timed;
mod turns;
mod walked;

pub use limits::overview;

use std::collections::HashSet;

use crate::check::program::{StepId, ValueId};
use crate::walk::eval::Evaluator;
use crate::walk::machine::Machine;
use crate::walk::view::View;

use super::model::{StepPart, Try};
use super::plot::Drawing;
use walked::Walked;

/// A drawing with what it is called and what it shows, in words with its figures.
#[derive(Clone, Debug)]
pub struct Figure {
    pub title: String,
    pub words: String,
    pub drawing: Drawing,
}

/// The figures of one try.
pub fn of_try(machine: &Machine, step: &str, attempt: &Try) -> Vec<Figure> {
    let program = machine.program();
    let Some(at) = program.steps.iter().position(|it| it.name == step) else { return Vec::new() };
    let (step, plan) = (StepId(at), &program.steps[at]);
    let attempts = &machine.state().step(step).attempts;
    let Some(index) = attempts.iter().position(|it| it.number == attempt.number) else { return Vec::new() };
    let view = View::of(program, machine.state(), step, index);
    let evaluator = Evaluator::new(program, &view).of_step(step);
    let results = attempts[index].results.as_deref();
    let walked = Walked { program, plan, evaluator, attempt, results };
    let mut shown = Shown::default();
    let mut figures = Vec::new();
    // A line through the ends, a turn or a plane that was not read to its end would be another one.
    if attempt.state.is_none() {
        figures.extend(timed::figures(&walked, &mut shown));
        return figures;
    }
    figures.extend(profile::figures(&walked, &mut shown));
    figures.extend(slope::figures(&walked, &mut shown));
    figures.extend(fitted::figures(&walked, &mut shown));
    figures.extend(turns::figures(&walked, &mut shown));
    figures.extend(surface::figures(&walked, &mut shown));
    figures.extend(positions::figures(&walked, &mut shown));
    figures.extend(timed::figures(&walked, &mut shown));
    figures.extend(stations::figures(&walked, &mut shown));
    figures
}

/// The figures that lay the tries of a step side by side.
pub fn of_step(part: &StepPart) -> Vec<Figure> {
    limits::of_step(part)
}

/// Values that have been drawn, or that something drawn was worked out from.
#[derive(Debug, Default)]
pub(super) struct Shown(HashSet<ValueId>);
