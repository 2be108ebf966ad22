//! What a move did: each result that the adjustment says it moves, before and after, and its change for one unit moved.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Program, Role, Value, ValueId};
use crate::quantity::{Rational, parse_exact};
use crate::record::Line;
use crate::walk;
use crate::walk::event::{Alteration, Event, JudgedStep, ResultLine};
use crate::walk::machine::Machine;

use super::labels::{Labels, shown};
use super::model::{Effect, Move};

/// What a move was to lead to, by its line and the step and name of the result: as it is shown.
pub type Predictions = HashMap<(u64, String, String), String>;

/// Works out what each move predicted, with what had been moved before it since the last try.
pub fn predictions(program: &Rc<Program>, lines: &[Line]) -> Predictions {
    let mut found = Predictions::new();
    if !lines.iter().any(|line| matches!(line.event, Event::Adjusted(_))) {
        return found;
    }
    let mut machine = Machine::new(Rc::clone(program));
    for line in lines {
        machine.set_time(&line.time);
        machine.apply(&line.event);
        let Event::Adjusted(Alteration { step, adjustment: Some(name), .. }) = &line.event else { continue };
        for result in moved_results(program, step, name) {
            let Some(value) = program.values.get(result.0) else { continue };
            let owner = value.step.and_then(|step| program.steps.get(step.0));
            let (Some(owner), Some(cell)) = (owner, machine.predicted(result)) else { continue };
            let shown = walk::text::show_cell(&cell, value.unit, value.sense.as_ref(), None);
            found.insert((line.seq, owner.name.clone(), value.name.clone()), shown);
        }
    }
    found
}

/// The results that an adjustment says it moves.
fn moved_results(program: &Program, step: &str, adjustment: &str) -> Vec<ValueId> {
    let of_step = |value: &&Value| {
        let owner = value.step.and_then(|step| program.steps.get(step.0));
        value.name == adjustment && owner.is_some_and(|owner| owner.name == step)
    };
    match program.values.iter().find(of_step).map(|value| &value.role) {
        Some(Role::Adjustment { predicts }) => predicts.iter().map(|prediction| prediction.result).collect(),
        _ => Vec::new(),
    }
}

/// Fills in the effects of the moves, which stand in the order of their lines.
pub(super) fn fill(moves: &mut [Move], lines: &[Line], labels: &Labels, predictions: &Predictions) {
    let mut judged: HashMap<&str, Vec<Judgement>> = HashMap::new();
    let mut adjusted = Vec::new();
    for line in lines {
        match &line.event {
            Event::Judged(step) => judged.entry(step.step.as_str()).or_default().push((line.seq, step)),
            Event::Adjusted(Alteration { step, adjustment: Some(name), amount, .. }) => {
                let amount = amount.as_ref().and_then(|answer| parse_exact(&answer.value));
                let unit = labels
                    .value(Some(step), name)
                    .and_then(|value| value.unit)
                    .map(|unit| unit.symbol().to_owned());
                adjusted.push((line.seq, labels.predicted_results(step, name), amount, unit));
            }
            _ => {}
        }
    }
    for (seq, results, amount, unit) in &adjusted {
        let Some(entry) = moves.iter_mut().find(|entry| entry.seq == *seq) else { continue };
        for (step, name) in results {
            let tries = judged.get(step.as_str()).map(Vec::as_slice).unwrap_or_default();
            let Some((before, after)) = around(tries, *seq) else { continue };
            let (Some(before_value), Some(after_value)) = (result(before.1, name), result(after.1, name))
            else {
                continue;
            };
            // Two moves between the same two readings cannot be told apart.
            let alone = adjusted
                .iter()
                .filter(|(other, results, ..)| {
                    before.0 < *other && *other < after.0 && results.contains(&(step.clone(), name.clone()))
                })
                .count()
                == 1;
            let amount = amount.as_ref().filter(|_| alone);
            let mut effect = effect(labels, (step, name), before_value, after_value, amount, unit.as_deref());
            effect.predicted = predictions.get(&(*seq, step.clone(), name.clone())).cloned();
            entry.effects.push(effect);
        }
    }
}

/// A judgement with the line it stands in.
type Judgement<'a> = (u64, &'a JudgedStep);

/// The last judgement before a line, and the first of a later try after it.
fn around<'a>(tries: &[Judgement<'a>], seq: u64) -> Option<(Judgement<'a>, Judgement<'a>)> {
    let before = tries.iter().rev().find(|(at, _)| *at < seq)?;
    let is_after = |(at, step): &&Judgement| *at > seq && step.number > before.1.number;
    let first = tries.iter().find(is_after)?;
    // A try is judged again when one of its entries is corrected: the last word on it counts.
    let after = tries.iter().rev().find(|(_, step)| step.number == first.1.number)?;
    Some((*before, *after))
}

fn result<'a>(step: &'a JudgedStep, name: &str) -> Option<&'a ResultLine> {
    step.results.iter().find(|result| result.name == name)
}

fn effect(
    labels: &Labels,
    (step, name): (&str, &str),
    before: &ResultLine,
    after: &ResultLine,
    amount: Option<&Rational>,
    moved_unit: Option<&str>,
) -> Effect {
    let unit = after.unit.as_deref();
    let signed = labels.value(Some(step), name).is_some_and(|value| value.sense.is_some());
    let said = |result: &ResultLine| {
        let value = match result.values.as_slice() {
            [single] => shown(single, result.unit.as_deref(), signed),
            _ => "several values".to_owned(),
        };
        match &result.says {
            Some(words) => format!("{value}, {words}"),
            None => value,
        }
    };
    let single = |result: &ResultLine| match result.values.as_slice() {
        [value] => parse_exact(value),
        _ => None,
    };
    let zero = Rational::default();
    let per_unit = match (single(before), single(after), amount) {
        (Some(was), Some(is), Some(amount)) if *amount != zero => {
            let ratio = (is - was) / amount;
            let text = shown(&crate::quantity::exact_text(&ratio), unit, true);
            Some(format!("{text} for each {}", moved_unit.unwrap_or("unit")))
        }
        _ => None,
    };
    let what = format!("{step} {}", labels.label(Some(step), name));
    Effect { what, before: said(before), predicted: None, after: said(after), per_unit }
}
