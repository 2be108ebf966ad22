//! `steady within Q for T`: how far a value moved in the last span of time, and what is still awaited, in words.

use std::rc::Rc;

use crate::check::program::{AxisId, Expr, Node, Rule, Test};
use crate::metrology;
use crate::quantity::{Real, Unit, ratio};
use crate::walk::asked_words;
use crate::walk::eval::Evaluator;
use crate::walk::functions::Timed;
use crate::walk::text;
use crate::walk::value::{Cell, Laid};

use super::unit_judged;

/// Greatest less least over the last span, with the axis of times taken up. None: the rule asks for no such thing.
pub(super) fn spreads(
    evaluator: &Evaluator<'_>,
    axes: &[AxisId],
    value: &Rc<Laid>,
    rule: &Rule,
) -> Option<Rc<Laid>> {
    let Test::Steady { duration, .. } = &rule.test else { return None };
    let span = evaluator.single(duration);
    let timed = Timed { evaluator, argument: value, axes };
    Some(timed.over_span(&span, metrology::spread))
}

/// What a condition still waits for, a line for each rule in it: "rise moved 3.6 K in 30 min, allowed 1 K".
pub(in crate::walk) fn what_is_awaited(evaluator: &Evaluator<'_>, condition: &Expr) -> Vec<String> {
    let mut lines = Vec::new();
    condition.each(&mut |part| {
        if let Node::Meets(of, rule) = &part.node
            && super::meets(evaluator, of, rule).cells.iter().any(|cell| cell.as_yes_no() != Some(true))
        {
            lines.extend(awaited(evaluator, of, rule));
        }
    });
    lines.dedup();
    lines
}

fn awaited(evaluator: &Evaluator<'_>, of: &Expr, rule: &Rule) -> Option<String> {
    let name = match &of.node {
        Node::Value(id) => Some(asked_words::named(evaluator.program, *id)),
        _ => None,
    };
    let unit = unit_judged(rule, text::unit_of(evaluator, of));
    let value = evaluator.expr(of);
    let before = name.map(|name| format!("{name} ")).unwrap_or_default();
    let Test::Steady { within, duration } = &rule.test else {
        let worst = value.cells.iter().rev().find(|cell| cell.as_number().is_some())?;
        return Some(format!("{before}{}", text::cell(worst, unit)));
    };
    let spreads = spreads(evaluator, &of.axes, &value, rule)?;
    let worst: Option<&Real> = spreads.cells.iter().filter_map(Cell::as_number).max();
    let span = text::cell(&evaluator.single(duration), Some(Unit::Min));
    Some(match worst {
        Some(worst) => {
            let finest = evaluator.finest_resolution_of(of).unwrap_or_else(|| Real::Exact(ratio(1, 10)));
            let limits: Vec<Real> = evaluator.single(within).as_number().cloned().into_iter().collect();
            // No more than three figures, unless they would hide that it is more than is allowed.
            let short = text::foreseen(worst, unit);
            let is_more = limits.iter().all(|limit| short.middle() > limit.middle());
            let worst = if is_more { &short } else { worst };
            let (moved, allowed) = text::against(worst, &limits, unit, Some(&finest));
            format!("{before}moved {moved} in {span}, allowed {}", allowed.join(""))
        }
        None => format!("{before}not watched for {span} yet"),
    })
}
