//! Looking through an expression, all that stands in its rules, picks and arguments included.

use super::program::{Expr, Node, Rule, StationPick, Test};

impl Expr {
    /// Calls `visit` for this expression and for everything beneath it, outermost first.
    pub fn each<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        visit(self);
        match &self.node {
            Node::Negate(a) | Node::Power(a, _) | Node::Not(a) | Node::Every(a) | Node::Any(a) => {
                a.each(visit)
            }
            Node::Arithmetic(_, a, b) | Node::And(a, b) | Node::Or(a, b) | Node::Is(a, b) => {
                a.each(visit);
                b.each(visit);
            }
            Node::Dates { left, right, .. } => {
                left.each(visit);
                right.each(visit);
            }
            Node::Pick(of, picks) => {
                of.each(visit);
                for (_, pick) in picks {
                    if let StationPick::Value(value) = pick {
                        value.each(visit);
                    }
                }
            }
            Node::If { condition, then, otherwise } => {
                condition.each(visit);
                then.each(visit);
                otherwise.each(visit);
            }
            Node::Meets(of, rule) => {
                of.each(visit);
                rule.each(visit);
            }
            Node::Call { arguments, .. } => arguments.iter().for_each(|argument| argument.each(visit)),
            Node::Table { at: Some(inner), .. } | Node::Previous { otherwise: Some(inner), .. } => {
                inner.each(visit)
            }
            Node::Table { at: None, .. }
            | Node::Previous { otherwise: None, .. }
            | Node::Number(_)
            | Node::Inexact(_)
            | Node::Word(_)
            | Node::YesNo(_)
            | Node::Text(_)
            | Node::Date(_)
            | Node::Value(_)
            | Node::ValueOutside(_)
            | Node::JudgementOutside(..)
            | Node::Aim(_)
            | Node::Resolution(_)
            | Node::Where(..)
            | Node::CurrentStation(_) => {}
        }
    }
}

impl Rule {
    /// Calls `visit` for every expression of the rule.
    pub fn each<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        match &self.test {
            Test::AtMost(a) | Test::AtLeast(a) | Test::Above(a) | Test::Below(a) => a.each(visit),
            Test::FromTo(a, b) => {
                a.each(visit);
                b.each(visit);
            }
            Test::Within { size, of } => {
                size.each(visit);
                of.iter().for_each(|of| of.each(visit));
            }
            Test::Steady { within, duration } => {
                within.each(visit);
                duration.each(visit);
            }
            Test::Convex { allowance } | Test::Concave { allowance } => {
                allowance.iter().for_each(|allowance| allowance.each(visit));
            }
        }
        if let Some((per, over)) = &self.per {
            per.each(visit);
            over.each(visit);
        }
        self.floor.iter().chain(&self.cap).for_each(|size| size.each(visit));
        if let Some(window) = &self.window {
            window.length.each(visit);
            window.second.iter().for_each(|second| second.each(visit));
        }
    }
}
