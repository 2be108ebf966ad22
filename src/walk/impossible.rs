//! Before the walk: what can never be worked out, whatever is read, because it is made of figures of the file alone.

use std::rc::Rc;

use crate::check::program::{
    Arithmetic, AxisId, Expr, Judged, JudgementId, Node, Program, Role, StepId, ValueId,
};
use crate::diagnostic::{Code, Problem};

use super::eval::Evaluator;
use super::scope::{Scope, SetUp, Taken};
use super::state::Used;
use super::value::{Cell, Laid};

/// Faults of the file, in no order.
pub fn impossible(program: &Program) -> Vec<Problem> {
    let evaluator = Evaluator::new(program, &Nothing);
    let mut problems: Vec<Problem> = Vec::new();
    let mut look_at = |expr: &Expr| {
        // A step that repeats another has its lines at the same place.
        let is_known = |problem: &Problem| problem.span() == expr.span;
        if let Some(why) = why_not(&evaluator, expr)
            && !problems.iter().any(is_known)
        {
            problems.push(
                Problem::fault(
                    Code::ValueImpossible,
                    expr.span,
                    format!("this can never be worked out: {why}"),
                )
                .label("it is made of the figures of the file alone"),
            );
        }
    };
    for value in &program.values {
        if let Role::Let(expr) = &value.role {
            expr.each(&mut look_at);
        }
    }
    for judgement in program.steps.iter().flat_map(|step| &step.judgements) {
        if let Judged::Tolerance { rule, .. } = &judgement.of {
            rule.each(&mut look_at);
        }
    }
    problems
}

/// Why it is so of this expression, and not already of one inside it.
fn why_not(evaluator: &Evaluator<'_>, expr: &Expr) -> Option<String> {
    if is_constant(expr) {
        let why = invalid(evaluator, expr)?;
        let mut inside = false;
        expr.inner(&mut |inner| inside = inside || invalid(evaluator, inner).is_some());
        return (!inside).then_some(why);
    }
    let Node::Arithmetic(Arithmetic::Divide, _, by) = &expr.node else { return None };
    let is_zero = is_constant(by)
        && evaluator.expr(by).as_single().as_number().is_some_and(crate::quantity::Real::is_zero);
    is_zero.then(|| "it is divided by zero".to_owned())
}

fn invalid(evaluator: &Evaluator<'_>, expr: &Expr) -> Option<String> {
    match evaluator.expr(expr).as_single() {
        Cell::Invalid(why) => Some(why.to_string()),
        _ => None,
    }
}

fn is_constant(expr: &Expr) -> bool {
    let mut constant = true;
    expr.each(&mut |inner| {
        constant &= match &inner.node {
            Node::Number(_)
            | Node::Inexact(_)
            | Node::Word(_)
            | Node::Negate(_)
            | Node::Arithmetic(..)
            | Node::Power(..) => true,
            Node::Call { over, .. } => over.is_empty(),
            _ => false,
        };
    });
    constant
}

/// A walk on which nothing is entered.
struct Nothing;

impl Scope for Nothing {
    fn entered(&self, _: ValueId) -> Option<Laid> {
        None
    }

    fn listed(&self, _: AxisId) -> Option<Vec<Rc<str>>> {
        None
    }

    fn taken(&self, _: ValueId) -> Vec<Taken> {
        vec![Taken { used: Used::default(), set_up: SetUp { step: None, attempt: 1, set: 1 }, parts: None }]
    }

    fn previous(&self, _: ValueId) -> Option<Laid> {
        None
    }

    fn failed(&self, _: StepId, _: JudgementId) -> Option<bool> {
        None
    }
}
