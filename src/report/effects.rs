//! What a move did: each result that the adjustment says it moves, before and after, and its change for one unit moved.

use std::collections::HashMap;

use crate::check::program::{StepId, ValueId};
use crate::quantity::{Rational, Real, parse_exact, significant};
use crate::record::Line;
use crate::walk;
use crate::walk::event::{Event, JudgedStep, ResultLine};
use crate::walk::machine::Machine;
use crate::walk::value::Cell;

use super::labels::{Labels, shown};
use super::model::{Effect, Move};

/// Fills in the effects of the moves, which stand in the order of their lines.
pub(super) fn fill(moves: &mut [Move], lines: &[Line], labels: &Labels, machine: Option<&Machine>) {
    let mut judged: HashMap<&str, Vec<Judgement>> = HashMap::new();
    for line in lines {
        if let Event::Judged(step) = &line.event {
            judged.entry(step.step.as_str()).or_default().push((line.seq, step));
        }
    }
    let made: Vec<Made> = moves.iter().filter_map(|it| Made::of(it, labels)).collect();
    for own in &made {
        let Some(entry) = moves.iter_mut().find(|entry| entry.seq == own.seq) else { continue };
        for (step, name) in &own.results {
            let tries = judged.get(step.as_str()).map(Vec::as_slice).unwrap_or_default();
            let Some((before, after)) = around(tries, own.seq) else { continue };
            let (Some(before_value), Some(after_value)) = (result(before.1, name), result(after.1, name))
            else {
                continue;
            };
            // Two moves between the same two readings cannot be told apart.
            let between = made.iter().filter(|other| before.0 < other.seq && other.seq < after.0);
            let alone = between.filter(|it| it.results.contains(&(step.clone(), name.clone()))).count() == 1;
            let amount = own.amount.as_ref().filter(|_| alone);
            let (before_value, after_value) = (
                last_word(tries, before.1.number, name).unwrap_or(before_value),
                last_word(tries, after.1.number, name).unwrap_or(after_value),
            );
            let unit = own.unit.as_deref();
            let mut effect = effect(labels, (step, name), before_value, after_value, amount, unit);
            effect.predicted = machine.and_then(|machine| predicted(machine, own.seq, step, name));
            entry.effects.push(effect);
        }
    }
}

/// A move of an adjustment that was made.
struct Made {
    seq: u64,
    /// What it says it moves: step and result.
    results: Vec<(String, String)>,
    amount: Option<Rational>,
    unit: Option<String>,
}

impl Made {
    fn of(moved: &Move, labels: &Labels) -> Option<Self> {
        let name = moved.adjustment.as_ref().filter(|_| !moved.never)?;
        Some(Self {
            seq: moved.seq,
            results: labels.predicted_results(&moved.step, name),
            amount: moved.amount.as_ref().and_then(|answer| parse_exact(&answer.value)),
            unit: moved.unit.clone(),
        })
    }
}

/// What was expected of a result once that move was made, as it is shown.
fn predicted(machine: &Machine, line: u64, step: &str, name: &str) -> Option<String> {
    let program = machine.program();
    let step = program.steps.iter().position(|it| it.name == step).map(StepId)?;
    let at = program.values.iter().position(|it| it.step == Some(step) && it.name == name)?;
    let value = program.values.get(at)?;
    let cell = machine.predicted_at(ValueId(at), line)?;
    let rounded = cell.as_number().map(|number| Cell::number(walk::text::foreseen(number, value.unit)));
    Some(walk::text::show_cell(rounded.as_ref().unwrap_or(&cell), value.unit, value.sense.as_ref(), None))
}

/// A judgement with the line it stands in.
type Judgement<'a> = (u64, &'a JudgedStep);

/// The try that was judged last before a line, and the first judgement of a later one after it.
fn around<'a>(tries: &[Judgement<'a>], seq: u64) -> Option<(Judgement<'a>, Judgement<'a>)> {
    let before = tries.iter().rev().find(|(at, _)| *at < seq)?;
    let is_after = |(at, step): &&Judgement| *at > seq && step.number > before.1.number;
    Some((*before, *tries.iter().find(is_after)?))
}

/// A try is judged again when one of its entries is corrected: the last word on it counts.
fn last_word<'a>(tries: &[Judgement<'a>], number: u32, name: &str) -> Option<&'a ResultLine> {
    let last = tries.iter().rev().find(|(_, step)| step.number == number)?;
    result(last.1, name)
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
            // Known no better than both readings.
            let ratio = significant(Real::Exact((is - was) / amount).to_f64(), 3);
            let text = shown(&ratio, unit, true);
            Some(format!("{text} for each {}", moved_unit.unwrap_or("unit")))
        }
        _ => None,
    };
    let what = format!("{step} {}", labels.label(Some(step), name));
    Effect { what, before: said(before), predicted: None, after: said(after), per_unit }
}
