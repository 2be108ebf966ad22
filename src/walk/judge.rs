//! Judging a try of a step from its readings: values, verdicts, stops, remedies, and crosschecks between steps.
//!
//! Pure: the same entries give the same results on every platform, which is what `verify` relies on. States that hang on
//! more than the readings of one step (blocked, stale, skipped) are the walk's.

use std::rc::Rc;

use crate::check::program::{
    Crosscheck, CrosscheckId, Expr, Item, Judged as Plan, Judgement, JudgementId, Node, Program, Remedy,
    Step, StepId, Text, ValueId,
};
use crate::quantity::Real;

use super::cells;
use super::directory::series_of;
use super::eval::{Evaluator, over_all, zip};
use super::layout;
use super::rules;
use super::scope::Scope;
use super::text::say;
use super::uncertainty::{self, Effort, Kept, Spread};
use super::value::{Cell, Laid};
use super::verdict::{Agreement, CrosscheckResult, Judged, Outcome, RemedyShown, StepResults, Verdict};

/// Judges a step on what was entered. `effort`: for the uncertainty of results that no guarded rule judges. `kept`:
/// uncertainties of this program that were worked out before.
pub fn judge(program: &Program, step: StepId, scope: &dyn Scope, effort: Effort, kept: &Kept) -> StepResults {
    let evaluator = Evaluator::new(program, scope).of_step(step).with_effort(effort).keeping(kept);
    let Some(plan) = program.steps.get(step.0) else {
        return StepResults {
            values: Vec::new(),
            spreads: Vec::new(),
            judged: Vec::new(),
            invalid: vec!["there is no such step".to_string()],
            not_steady: Vec::new(),
            stops: Vec::new(),
            outcome: Outcome::Invalid,
            remedies: Vec::new(),
        };
    };
    let judged: Vec<Rc<Judged>> = (0..plan.judgements.len())
        .filter_map(|number| judgement(&evaluator, step, JudgementId(number)))
        .collect();
    let measured = measured(&evaluator, plan);
    let mut invalid = measured.invalid;
    let mut awaited = measured.awaited;
    for (condition, advice) in &plan.valid {
        let reason = match evaluator.holds(condition) {
            cell if cell.as_yes_no() == Some(true) || cell.is_no_element() => continue,
            Cell::Awaited => {
                awaited = true;
                continue;
            }
            Cell::NotRead(reason) | Cell::Invalid(reason) | Cell::Undecided(reason) => Some(reason),
            Cell::Known(_) | Cell::OpenEnded { .. } => None,
        };
        let advice = say(advice, &evaluator, &[]);
        invalid.push(reason.map_or(advice.clone(), |reason| format!("{advice} ({reason})")));
    }
    let not_steady = not_steady(&evaluator, plan);
    let outcome = match outcome(&judged, awaited, !invalid.is_empty()) {
        Outcome::NotReached => Outcome::NotReached,
        // What was measured does not hold: measure again.
        Outcome::Invalid if !invalid.is_empty() => Outcome::Invalid,
        _ if !not_steady.is_empty() => Outcome::Failed,
        outcome => outcome,
    };
    let remedies = plan.remedies.iter().filter_map(|remedy| shown(&evaluator, remedy, outcome)).collect();
    StepResults {
        values: results(&evaluator, plan),
        spreads: spreads(&evaluator, plan),
        judged: judged.iter().map(|judged| (**judged).clone()).collect(),
        invalid,
        not_steady,
        stops: stops_now(program, step, scope),
        outcome,
        remedies,
    }
}

/// The stops that hold on what is known so far; an undecided condition counts as true, and one element is enough.
pub fn stops_now(program: &Program, step: StepId, scope: &dyn Scope) -> Vec<String> {
    let Some(plan) = program.steps.get(step.0).filter(|plan| !plan.stops.is_empty()) else {
        return Vec::new();
    };
    let evaluator = Evaluator::new(program, scope).of_step(step).on_what_is_known();
    let fires = |(condition, advice): &(Expr, Text)| {
        let laid = evaluator.expr(condition);
        let open = laid.cells.iter().any(|cell| matches!(cell, Cell::Undecided(_)));
        (open || laid.cells.iter().any(|cell| cell.as_yes_no() == Some(true)))
            .then(|| say(advice, &evaluator, &[]))
    };
    plan.stops.iter().filter_map(fires).collect()
}

/// Whether the step is to be done at all: yes, no, or the cell that says why it is not known.
pub fn is_applicable(program: &Program, step: StepId, scope: &dyn Scope) -> Cell {
    let condition = program.steps.get(step.0).and_then(|plan| plan.only_when.as_ref());
    condition.map_or(Cell::yes_no(true), |condition| Evaluator::new(program, scope).holds(condition))
}

/// Whether two results agree. Disagreement is "look again", never a pass and never a fail.
pub fn crosscheck(program: &Program, id: CrosscheckId, scope: &dyn Scope) -> CrosscheckResult {
    let evaluator = Evaluator::new(program, scope);
    match program.crosschecks.get(id.0) {
        Some(plan) => compare(&evaluator, plan),
        None => CrosscheckResult {
            agreement: Agreement::Invalid("there is no such crosscheck".into()),
            left: Rc::new(Laid::single(Cell::Awaited)),
            right: Rc::new(Laid::single(Cell::Awaited)),
            within: Cell::Awaited,
        },
    }
}

fn compare(evaluator: &Evaluator<'_>, plan: &Crosscheck) -> CrosscheckResult {
    let (left, right) = (evaluator.expr(&plan.left), evaluator.expr(&plan.right));
    let within = evaluator.single(&plan.within);
    let agreement = match plan.when.as_ref().map(|when| evaluator.holds(when)) {
        None => agreement(&left, &right, &within),
        Some(cell) if cell.as_yes_no() == Some(true) => agreement(&left, &right, &within),
        Some(Cell::Known(_) | Cell::OpenEnded { .. }) => Agreement::NotApplicable,
        Some(Cell::Awaited) => Agreement::Waiting,
        Some(Cell::NotRead(reason) | Cell::Invalid(reason) | Cell::Undecided(reason)) => {
            Agreement::Invalid(reason)
        }
    };
    CrosscheckResult { agreement, left, right, within }
}

fn agreement(left: &Laid, right: &Laid, within: &Cell) -> Agreement {
    let apart = zip(left, right, |left, right| {
        let difference = cells::arithmetic(crate::check::program::Arithmetic::Subtract, left, right);
        match Cell::gravest([&difference, within]) {
            Some(missing) => missing.clone(),
            None => match (difference.as_number(), within.as_number()) {
                (Some(difference), Some(within)) => Cell::yes_no(difference.abs().is_at_most(within)),
                _ => Cell::Undecided("an open-ended reading does not settle it".into()),
            },
        }
    });
    match over_all(&apart, false) {
        Cell::Awaited => Agreement::Waiting,
        Cell::NotRead(reason) | Cell::Invalid(reason) | Cell::Undecided(reason) => Agreement::Invalid(reason),
        cell if cell.as_yes_no() == Some(true) => Agreement::Agree,
        _ => Agreement::LookAgain,
    }
}

/// One `tolerance` or `require` line, worked out once. `None` while it is being worked out.
pub(super) fn judgement(evaluator: &Evaluator<'_>, step: StepId, id: JudgementId) -> Option<Rc<Judged>> {
    let plan = evaluator.program.steps.get(step.0)?.judgements.get(id.0)?;
    evaluator.judged(id, || {
        let (mut judged, notes) = evaluator.with_notes(|| one_judgement(evaluator, id, plan));
        for note in notes {
            if !judged.notes.contains(&note) {
                judged.notes.push(note);
            }
        }
        judged
    })
}

fn one_judgement(evaluator: &Evaluator<'_>, id: JudgementId, plan: &Judgement) -> Judged {
    if let Some(when) = &plan.when {
        let verdict = match evaluator.holds(when) {
            cell if cell.as_yes_no() == Some(true) => None,
            cell if cell.as_yes_no() == Some(false) || cell.is_no_element() => Some(Verdict::NotApplicable),
            cell => Some(rules::verdict_of(&cell)),
        };
        if let Some(verdict) = verdict {
            return rules::bare(id, verdict);
        }
    }
    match &plan.of {
        Plan::Tolerance { value, over, rule, .. } => {
            let subject = evaluator.value(*value);
            let mut judged = rules::judge_value(evaluator, id, *value, &subject, *over, rule);
            judged.notes.extend(failed_by_less_than_can_be_seen(evaluator, *value, &judged));
            judged
        }
        Plan::Require(condition) => {
            let mut judged = rules::bare(id, rules::verdict_of(&evaluator.holds(condition)));
            if judged.verdict == Verdict::Failed {
                judged.place = first_that_fails(evaluator, condition);
            }
            judged
        }
    }
}

/// Which element of `require every ...` fails.
fn first_that_fails(evaluator: &Evaluator<'_>, condition: &Expr) -> Option<Rc<str>> {
    let laid = match &condition.node {
        Node::Every(inner) => evaluator.expr(inner),
        _ => evaluator.expr(condition),
    };
    let element = laid.cells.iter().position(|cell| cell.as_yes_no() == Some(false))?;
    Some(layout::place(&laid.axes, element)).filter(|place| !place.is_empty()).map(Into::into)
}

/// A failure smaller than the least step of the instrument: it stands, and a finer instrument would tell.
fn failed_by_less_than_can_be_seen(
    evaluator: &Evaluator<'_>,
    id: ValueId,
    judged: &Judged,
) -> Option<Rc<str>> {
    if judged.verdict != Verdict::Failed {
        return None;
    }
    let value = judged.value.as_ref()?;
    let over = |limit: &Real, above: bool| if above { value - limit } else { limit - value };
    let upper = judged.upper.as_ref().map(|limit| over(&limit.scaled, true));
    let lower = judged.lower.as_ref().map(|limit| over(&limit.scaled, false));
    let by = [upper, lower].into_iter().flatten().find(Real::is_positive)?;
    let resolution = evaluator.finest_resolution(id)?;
    let unit = evaluator.shown_in(id).map(crate::quantity::Unit::of_differences);
    by.is_less(&resolution).then(|| {
        let (by, step) = (super::text::limit(&by, unit), super::text::limit(&resolution, unit));
        format!("fails by {by}, less than the instrument's {step}: measure with a finer one").into()
    })
}

// ------------------------------------------------------------------------------------------------ the step

struct Measured {
    awaited: bool,
    invalid: Vec<String>,
}

/// Series that are over without what was to end them.
fn not_steady(evaluator: &Evaluator<'_>, plan: &Step) -> Vec<String> {
    let mut lines = Vec::new();
    for item in &plan.items {
        let Item::Reading(id) = item else { continue };
        let Some((_, series)) = series_of(evaluator.program, *id).filter(|(reading, _)| reading == id) else {
            continue;
        };
        let Some(until) = &series.until else { continue };
        if !evaluator.scope.is_over(*id) || evaluator.holds(until).as_yes_no() == Some(true) {
            continue;
        }
        let awaited = rules::what_is_awaited(evaluator, until);
        let reason = if awaited.is_empty() { String::new() } else { format!(": {}", awaited.join("; ")) };
        lines.push(format!("not steady when its time was over{reason}"));
    }
    lines
}

/// Whether all is there that was asked for.
fn measured(evaluator: &Evaluator<'_>, plan: &Step) -> Measured {
    let mut found = Measured { awaited: false, invalid: Vec::new() };
    for item in &plan.items {
        let (Item::Reading(id) | Item::Observation(id)) = item else { continue };
        let value = evaluator.value(*id);
        found.awaited |= value.cells.contains(&Cell::Awaited);
        // Stations that cannot be laid out: nothing can be read at them.
        if let ([Cell::Invalid(reason)], Some(value)) =
            (value.cells.as_slice(), evaluator.program.values.get(id.0))
        {
            found.invalid.push(format!("{}: {reason}", value.name));
        }
    }
    found
}

fn outcome(judged: &[Rc<Judged>], awaited: bool, invalid: bool) -> Outcome {
    let any = |test: fn(&Verdict) -> bool| judged.iter().any(|judged| test(&judged.verdict));
    if awaited || any(|verdict| *verdict == Verdict::Waiting) {
        Outcome::NotReached
    } else if invalid || any(|verdict| matches!(verdict, Verdict::Invalid(_))) {
        Outcome::Invalid
    } else if any(|verdict| *verdict == Verdict::Failed) {
        Outcome::Failed
    } else if any(|verdict| matches!(verdict, Verdict::Undecided(_))) {
        Outcome::Undecided
    } else if any(|verdict| *verdict == Verdict::Passed) {
        Outcome::Passed
    } else {
        Outcome::Recorded
    }
}

/// Lets and reported values, in the order of the file.
fn results(evaluator: &Evaluator<'_>, plan: &Step) -> Vec<(ValueId, Rc<Laid>)> {
    in_order(evaluator, plan).into_iter().map(|id| (id, evaluator.value(id))).collect()
}

fn in_order(evaluator: &Evaluator<'_>, plan: &Step) -> Vec<ValueId> {
    let mut ids: Vec<ValueId> = plan.lets.iter().chain(&plan.reports).copied().collect();
    ids.sort_by_key(|id| (evaluator.program.values.get(id.0).map(|value| value.span.start), *id));
    ids.dedup();
    ids
}

/// How uncertain the results are.
fn spreads(evaluator: &Evaluator<'_>, plan: &Step) -> Vec<(ValueId, Spread)> {
    let measured = |id: &ValueId| {
        let value = evaluator.program.values.get(id.0);
        value.is_some_and(|value| !value.projection && value.kind.is_measured())
    };
    let of = |id: ValueId| Some((id, uncertainty::of_value(evaluator, id, evaluator.effort)?));
    in_order(evaluator, plan)
        .into_iter()
        .filter(measured)
        .filter_map(of)
        .filter(|(_, spread)| !spread.unstated)
        .collect()
}

fn shown(evaluator: &Evaluator<'_>, remedy: &Remedy, outcome: Outcome) -> Option<RemedyShown> {
    let holds = match &remedy.when {
        // Readings that do not hold are to be taken again; there is nothing to put right on the machine yet.
        None => matches!(outcome, Outcome::Failed | Outcome::Undecided),
        Some(when) => {
            outcome != Outcome::NotReached && over_all(&evaluator.expr(when), true).as_yes_no() == Some(true)
        }
    };
    holds.then(|| RemedyShown {
        text: say(&remedy.text, evaluator, &[]),
        advised: remedy.advises.iter().map(|(id, amount)| (*id, evaluator.expr(amount))).collect(),
    })
}
