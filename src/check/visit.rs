//! Looking through an expression, all that stands in its rules, picks and arguments included.

use super::program::{Expr, Node, Rule, StationPick, Test};

impl Expr {
    /// Calls `visit` for this expression and for everything beneath it, outermost first.
    pub fn each<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        visit(self);
        self.inner(&mut |inner| inner.each(visit));
    }

    /// Calls `visit` for every expression that stands directly in this one.
    pub fn inner<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        match &self.node {
            Node::Negate(a) | Node::Power(a, _) | Node::Not(a) | Node::Every(a) | Node::Any(a) => visit(a),
            Node::Arithmetic(_, a, b) | Node::And(a, b) | Node::Or(a, b) | Node::Is(a, b) => {
                visit(a);
                visit(b);
            }
            Node::Dates { left, right, .. } => {
                visit(left);
                visit(right);
            }
            Node::Pick(of, picks) => {
                visit(of);
                for (_, pick) in picks {
                    if let StationPick::Value(value) = pick {
                        visit(value);
                    }
                }
            }
            Node::If { condition, then, otherwise } => {
                visit(condition);
                visit(then);
                visit(otherwise);
            }
            Node::Meets(of, rule) => {
                visit(of);
                rule.inner(visit);
            }
            Node::Call { arguments, .. } => arguments.iter().for_each(visit),
            Node::Table { at: Some(inner), .. } | Node::Previous { otherwise: Some(inner), .. } => {
                visit(inner)
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
    /// Calls `visit` for every expression of the rule and for everything beneath it.
    pub fn each<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        self.inner(&mut |inner| inner.each(visit));
    }

    /// Calls `visit` for every expression that stands directly in the rule.
    pub fn inner<'e>(&'e self, visit: &mut dyn FnMut(&'e Expr)) {
        match &self.test {
            Test::AtMost(a) | Test::AtLeast(a) | Test::Above(a) | Test::Below(a) => visit(a),
            Test::FromTo(a, b) => {
                visit(a);
                visit(b);
            }
            Test::Within { size, of } => {
                visit(size);
                of.iter().for_each(&mut *visit);
            }
            Test::Steady { within, duration } => {
                visit(within);
                visit(duration);
            }
            Test::Convex { allowance } | Test::Concave { allowance } => {
                allowance.iter().for_each(&mut *visit);
            }
        }
        if let Some((per, over)) = &self.per {
            visit(per);
            visit(over);
        }
        self.floor.iter().chain(&self.cap).for_each(&mut *visit);
        if let Some(window) = &self.window {
            visit(&window.length);
            window.second.iter().for_each(visit);
        }
    }
}
