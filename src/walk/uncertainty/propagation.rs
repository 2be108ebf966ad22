//! The law of propagation (JCGM 100:2008, 5.1.2, from memory): u^2(y) = sum of (c_i u_i)^2 over unknowns that are
//! independent of each other.
//!
//! A sensitivity c_i is half the difference of the result at readings moved a little up and a little down, over that
//! little (JCGM 100:2008, 5.1.3, note 2). On exact readings the arithmetic is exact, so that of a result that is linear
//! in its readings the sensitivity is too, and so is u squared: equality with a limit is then decided in exact numbers.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::ValueId;
use crate::metrology::{self, Source};
use crate::quantity::{Real, ratio};
use crate::walk::eval::{Evaluator, Off};
use crate::walk::value::Laid;

use super::sources::{Part, Sources};

/// The result whose uncertainty is asked for, worked out by the evaluator that is given.
pub type Figure<'f> = &'f dyn Fn(&Evaluator<'_>) -> Rc<Laid>;

/// What one part brings to one cell of a result.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    pub source: String,
    /// Standard uncertainty of one such unknown, where all are alike.
    pub each: Option<Real>,
    /// How many unknowns of this part the result rests on.
    pub count: usize,
    /// (c u)^2, summed over them.
    pub variance: Real,
    /// Degrees of freedom; None: infinitely many.
    pub freedom: Option<f64>,
    /// Averaging more readings makes it smaller.
    pub shrinks: bool,
}

/// The contributions to each cell that is a number. `Err`: why a cell has none.
pub fn propagate(
    evaluator: &Evaluator<'_>,
    sources: &Sources,
    figure: Figure<'_>,
) -> Vec<Result<Vec<Contribution>, &'static str>> {
    let base = figure(evaluator);
    let mut cells: Vec<Result<Vec<Contribution>, &'static str>> = base
        .cells
        .iter()
        .map(|cell| if cell.as_number().is_some() { Ok(Vec::new()) } else { Err("it is no number") })
        .collect();
    for shared in &sources.shared {
        let step = little(&shared.variance);
        let moves: HashMap<ValueId, Vec<Real>> = shared.moves.iter().cloned().collect();
        let slopes = slopes(evaluator, figure, &moves, &step);
        for (cell, slope) in cells.iter_mut().zip(&slopes) {
            add(cell, slope, &shared.part, (0, None), &shared.variance);
        }
    }
    for fresh in &sources.fresh {
        let count = fresh.parts.first().map_or(0, |part| part.variances.len());
        for at in 0..count {
            let own = |part: &super::sources::FreshPart| part.variances.get(at).cloned();
            let all = fresh.parts.iter().filter_map(own).fold(Real::zero(), |sum, own| &sum + &own);
            if all.is_zero() {
                continue;
            }
            let mut by = vec![Real::zero(); count];
            if let Some(own) = by.get_mut(at) {
                *own = Real::from(1);
            }
            let moves = HashMap::from([(fresh.reading, by)]);
            let slopes = slopes(evaluator, figure, &moves, &little(&all));
            for part in &fresh.parts {
                let Some(variance) = part.variances.get(at) else { continue };
                let group = part.groups.as_ref().and_then(|(belongs, freedoms)| {
                    let group = *belongs.get(at)?;
                    Some((group, *freedoms.get(group)?))
                });
                let group = group.map_or((0, None), |(group, freedom)| (group, Some(freedom)));
                for (cell, slope) in cells.iter_mut().zip(&slopes) {
                    add(cell, slope, &part.part, group, variance);
                }
            }
        }
    }
    cells
}

/// A power of ten about a thousandth of the standard uncertainty: small against what bends, large against rounding.
fn little(variance: &Real) -> Real {
    let u = libm::sqrt(variance.to_f64());
    let power = libm::floor(libm::log10(u)).clamp(-30.0, 30.0) as i32 - 3;
    Real::from(10).powi(power).unwrap_or_else(|| Real::Exact(ratio(1, 1_000_000)))
}

/// What one unit of an unknown adds to each cell; None where the result is no number on one of the sides.
fn slopes(
    evaluator: &Evaluator<'_>,
    figure: Figure<'_>,
    moves: &HashMap<ValueId, Vec<Real>>,
    step: &Real,
) -> Vec<Option<Real>> {
    let side = |step: &Real| {
        let by = moves.iter().map(|(id, by)| (*id, by.iter().map(|by| by * step).collect())).collect();
        figure(&evaluator.shifted(&Off { by, ..Off::default() }))
    };
    let (up, down) = (side(step), side(&-step));
    let twice = step * &Real::from(2);
    up.cells
        .iter()
        .zip(&down.cells)
        .map(|(up, down)| (up.as_number()? - down.as_number()?).div(&twice))
        .collect()
}

fn add(
    cell: &mut Result<Vec<Contribution>, &'static str>,
    slope: &Option<Real>,
    part: &Part,
    (group, freedom): (usize, Option<f64>),
    variance: &Real,
) {
    let Ok(contributions) = cell else { return };
    let Some(slope) = slope else {
        *cell = Err("a reading that is a little off leaves no result");
        return;
    };
    if slope.exact().is_some_and(num_traits::Zero::is_zero) {
        return;
    }
    let own = &(slope * slope) * variance;
    let name = if group == 0 { part.name.clone() } else { format!("{}, group {}", part.name, group + 1) };
    match contributions.iter_mut().find(|known| known.source == name) {
        Some(known) => {
            known.variance = &known.variance + &own;
            known.count += 1;
            if known.each.as_ref().is_some_and(|each| each != variance) {
                known.each = None;
            }
        }
        None => contributions.push(Contribution {
            source: name,
            each: Some(variance.clone()),
            count: 1,
            variance: own,
            freedom,
            shrinks: part.shrinks,
        }),
    }
}

/// u squared and the effective degrees of freedom; None: infinitely many. Without a contribution u is zero.
pub fn combined(contributions: &[Contribution]) -> (Real, Option<f64>) {
    let source = |own: &Contribution| Source {
        gradient: Real::from(1),
        variance: own.variance.clone(),
        freedom: own.freedom.filter(|freedom| *freedom > 0.0).and_then(|it| Real::approximate(it, 0.0)),
    };
    let sources: Vec<Source> = contributions.iter().map(source).collect();
    match metrology::combined(&sources) {
        Ok(combined) => (combined.variance, combined.freedom.map(|freedom| freedom.to_f64())),
        Err(_) => (Real::zero(), None),
    }
}
