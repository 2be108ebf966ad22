//! Results that must agree, in words: what was compared with what, and what came of it.

use crate::check::program::{Arithmetic, Crosscheck, CrosscheckId, Expr, Node, Program};
use crate::quantity::{Sense, Unit};

use super::standing::Standing;
use super::value::Laid;
use super::verdict::Agreement;
use super::view::View;
use super::wording::plain;
use super::{judge, text};

impl Standing<'_> {
    /// Each crosscheck that applies, and whether its results agree.
    pub fn agreements(&self) -> Vec<String> {
        let said = |(index, plan): (usize, &Crosscheck)| {
            let verdict = match self.crosscheck(CrosscheckId(index)) {
                Agreement::NotApplicable => return None,
                Agreement::Agree => "they agree",
                Agreement::LookAgain => "LOOK AGAIN",
                Agreement::Waiting => {
                    return Some(format!("{}: not compared, a result is missing", plain(&plan.why)));
                }
                Agreement::Invalid(reason) => {
                    return Some(format!("{}: not compared, {reason}", plain(&plan.why)));
                }
            };
            Some(format!("{}: {}: {verdict}", plain(&plan.why), self.compared(CrosscheckId(index))))
        };
        self.program.crosschecks.iter().enumerate().filter_map(said).collect()
    }

    /// Both results, and how far apart they may be.
    fn compared(&self, id: CrosscheckId) -> String {
        let (program, plan) = (self.program, &self.program.crosschecks[id.0]);
        let result = judge::crosscheck(program, id, &View::latest(program, self.state));
        let unit = unit_of(program, &plan.left).or_else(|| unit_of(program, &plan.right));
        // What is held against it may have lost its words on the way; it is of the same kind.
        let sense = sense_of(program, &plan.left).or_else(|| sense_of(program, &plan.right));
        let shown = |laid: &Laid| text::show_laid(laid, unit, sense, None);
        let (left, right) = (shown(&result.left), shown(&result.right));
        format!("{left}; against {right}; within {}", text::cell(&result.within, unit))
    }

    /// For who stands at the end with results that do not agree: which they are, and every way on.
    pub(super) fn look_again(&self, id: CrosscheckId) -> Vec<String> {
        let plan = &self.program.crosschecks[id.0];
        let steps: Vec<&str> =
            plan.steps.iter().map(|step| self.program.steps[step.0].name.as_str()).collect();
        let accept = match (steps.first(), self.program.parties.first()) {
            (Some(step), Some(party)) => {
                format!("; or a party accepts it: waive {step} \"why\" by {}", party.name)
            }
            _ => String::new(),
        };
        vec![
            format!("{} does not agree: {}: {}", plan.name, plain(&plan.why), self.compared(id)),
            format!(
                "look for the cause in {}: correct what was typed wrong, remeasure, or again and what was altered",
                steps.join(" and ")
            ),
            format!("if no cause is found, sign closes the walk with it, as not accepted{accept}"),
        ]
    }
}

/// What plus and minus mean of an expression that is one value.
fn sense_of<'p>(program: &'p Program, expr: &Expr) -> Option<&'p Sense> {
    match &expr.node {
        Node::Value(value) => program.values.get(value.0)?.sense.as_ref(),
        _ => None,
    }
}

/// The unit that an expression is shown in.
fn unit_of(program: &Program, expr: &Expr) -> Option<Unit> {
    match &expr.node {
        Node::Value(value) => program.values.get(value.0)?.unit,
        Node::Pick(of, _) | Node::Negate(of) => unit_of(program, of),
        Node::Arithmetic(Arithmetic::Add | Arithmetic::Subtract, left, right) => {
            unit_of(program, left).or_else(|| unit_of(program, right))
        }
        Node::Call { arguments, .. } => arguments.first().and_then(|of| unit_of(program, of)),
        _ => None,
    }
}
