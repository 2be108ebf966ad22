//! What other lines ask of tolerances: whether one has failed, where, and the middle of a band.

use crate::check::program::{Judged as Plan, JudgementId, Rule, StepId, Test, ValueId};
use crate::walk::eval::Evaluator;
use crate::walk::layout::align;
use crate::walk::value::{Cell, Laid, Scalar};
use crate::walk::verdict::{Limit, Verdict};
use crate::walk::{cells, judge};

use super::cell_of;
use super::limits::{Bounds, Quantities};

/// Whether this tolerance has failed.
pub(in crate::walk) fn outside(evaluator: &Evaluator<'_>, step: StepId, id: JudgementId) -> Cell {
    if evaluator.step != Some(step) {
        return evaluator.scope.failed(step, id).map_or(Cell::Awaited, Cell::yes_no);
    }
    match judge::judgement(evaluator, step, id).map(|judged| judged.verdict.clone()) {
        Some(Verdict::Failed) => Cell::yes_no(true),
        Some(Verdict::Passed | Verdict::NotApplicable) => Cell::yes_no(false),
        Some(verdict) => cell_of(&verdict),
        None => Cell::invalid("a tolerance cannot rest on itself"),
    }
}

/// Whether some tolerance on the value has failed.
pub(in crate::walk) fn value_outside(evaluator: &Evaluator<'_>, value: ValueId) -> Cell {
    let cells: Vec<Cell> =
        on_value(evaluator, value).map(|(step, id, _)| outside(evaluator, step, id)).collect();
    cells::together(cells.iter(), true)
}

/// The tolerances on a value, in its step.
fn on_value<'e>(
    evaluator: &'e Evaluator<'_>,
    value: ValueId,
) -> impl Iterator<Item = (StepId, JudgementId, &'e Rule)> {
    let step = evaluator.program.values.get(value.0).and_then(|value| value.step);
    let plan = step.and_then(|step| evaluator.program.steps.get(step.0).map(|plan| (step, plan)));
    plan.into_iter().flat_map(move |(step, plan)| {
        plan.judgements.iter().enumerate().filter_map(move |(number, judgement)| match &judgement.of {
            Plan::Tolerance { value: judged, rule, .. } if *judged == value => {
                Some((step, JudgementId(number), &**rule))
            }
            _ => None,
        })
    })
}

/// The limits of a rule on a value as far as they are known; None where they are not, or differ from place to place.
pub(in crate::walk) fn band(
    evaluator: &Evaluator,
    value: ValueId,
    rule: &Rule,
) -> Option<(Option<Limit>, Option<Limit>)> {
    bounds_of(evaluator, value, rule).ok().map(|bounds| (bounds.lower, bounds.upper))
}

fn bounds_of(evaluator: &Evaluator, value: ValueId, rule: &Rule) -> Result<Bounds, Cell> {
    let quantities = Quantities::of(evaluator, rule);
    let subject = Laid::single(Cell::Awaited);
    let mut values = vec![&subject];
    values.extend(quantities.laid());
    match align(&values) {
        Ok(aligned) if aligned.axes.is_empty() => {
            quantities.bounds(&rule.test, &aligned, 0, evaluator.shown_in(value))
        }
        _ => Err(Cell::invalid("a band that is laid out has no one middle")),
    }
}

/// The middle of the one two-sided band in force on a value.
pub(in crate::walk) fn aim(evaluator: &Evaluator<'_>, value: ValueId) -> Cell {
    let mut middles = Vec::new();
    for (step, id, rule) in on_value(evaluator, value) {
        if rule.window.is_some() || !matches!(rule.test, Test::FromTo(..) | Test::Within { .. }) {
            continue;
        }
        let when =
            evaluator.program.steps.get(step.0).and_then(|plan| plan.judgements.get(id.0)?.when.as_ref());
        match when.map(|when| evaluator.holds(when)) {
            Some(cell) if cell.as_yes_no() == Some(false) => continue,
            Some(cell) if cell.as_yes_no().is_none() => return cell,
            _ => {}
        }
        let bounds = bounds_of(evaluator, value, rule);
        match bounds {
            Ok(Bounds { lower: Some(lower), upper: Some(upper) }) => {
                middles.push((&lower.scaled + &upper.scaled).half())
            }
            Ok(_) => {}
            Err(missing) => return missing,
        }
    }
    match middles.as_slice() {
        [middle] => Cell::number(middle.clone()),
        [] => Cell::invalid("no band with two sides is in force"),
        _ => Cell::invalid("more than one band with two sides is in force"),
    }
}

/// The worst window or element of a tolerance, in words.
pub(in crate::walk) fn place_of(evaluator: &Evaluator<'_>, step: StepId, id: JudgementId) -> Cell {
    if evaluator.step != Some(step) {
        return Cell::invalid("the place is known while its own step is judged");
    }
    let judged = judge::judgement(evaluator, step, id);
    match judged {
        Some(judged) => match (&judged.place, &judged.verdict) {
            (Some(place), _) => Cell::Known(Scalar::Word(place.clone())),
            (None, Verdict::Waiting) => Cell::Awaited,
            (None, _) => Cell::invalid("no place was found"),
        },
        None => Cell::invalid("a tolerance cannot rest on itself"),
    }
}
