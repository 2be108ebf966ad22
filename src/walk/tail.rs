//! How far back in time a condition looks, so that a row costs the same whether it is the tenth or the ten-thousandth.

use std::collections::HashMap;

use num_traits::Zero;

use crate::check::program::{
    AxisId, Expr, Function, Node, Program, Role, StationPick, Stations, Test, ValueId,
};
use crate::quantity::Rational;

/// The span before the last row that a condition rests on, in seconds. None: all of the series.
pub fn of(program: &Program, condition: &Expr) -> Option<Rational> {
    Look { program, known: HashMap::new() }.span(condition)
}

struct Look<'p> {
    program: &'p Program,
    known: HashMap<ValueId, Option<Rational>>,
}

impl Look<'_> {
    fn is_time(&self, axis: &AxisId) -> bool {
        self.program.axes.get(axis.0).is_some_and(|axis| matches!(axis.stations, Stations::Time { .. }))
    }

    fn has_time(&self, expr: &Expr) -> bool {
        expr.axes.iter().any(|axis| self.is_time(axis))
    }

    fn widest<'e>(&mut self, parts: impl IntoIterator<Item = &'e Expr>) -> Option<Rational> {
        parts.into_iter().try_fold(Rational::zero(), |widest, part| Some(widest.max(self.span(part)?)))
    }

    fn span(&mut self, expr: &Expr) -> Option<Rational> {
        match &expr.node {
            Node::Value(id) => self.value(*id),
            Node::Negate(a) | Node::Power(a, _) | Node::Not(a) => self.span(a),
            Node::Every(a) | Node::Any(a) if self.has_time(a) => None,
            Node::Every(a) | Node::Any(a) => self.span(a),
            Node::Arithmetic(_, a, b) | Node::And(a, b) | Node::Or(a, b) | Node::Is(a, b) => {
                self.widest([&**a, &**b])
            }
            Node::If { condition, then, otherwise } => self.widest([&**condition, &**then, &**otherwise]),
            Node::Pick(of, picks) => {
                let latest = picks.iter().all(|(axis, pick)| {
                    !self.is_time(axis) || matches!(pick, StationPick::Word(word) if word == "last")
                });
                if latest { self.span(of) } else { None }
            }
            Node::Meets(of, rule) => {
                if rule.window.is_some() || matches!(rule.test, Test::Convex { .. } | Test::Concave { .. }) {
                    return if self.has_time(of) { None } else { self.span(of) };
                }
                let own = match &rule.test {
                    Test::Steady { duration, .. } => literal(duration)?,
                    _ => Rational::zero(),
                };
                let mut limits = Vec::new();
                rule.each(&mut |limit| limits.push(limit));
                Some(own + self.widest(std::iter::once(&**of).chain(limits))?)
            }
            Node::Call { function, arguments, over, .. } => self.call(*function, arguments, over),
            Node::Number(_)
            | Node::Inexact(_)
            | Node::Word(_)
            | Node::YesNo(_)
            | Node::Text(_)
            | Node::Date(_)
            | Node::Resolution(_) => Some(Rational::zero()),
            // Anything else may rest on whatever was judged or looked up.
            _ => None,
        }
    }

    fn call(&mut self, function: Function, arguments: &[Expr], over: &[AxisId]) -> Option<Rational> {
        match function {
            Function::Change | Function::Rate => match arguments {
                [of, within] => Some(literal(within)? + self.span(of)?),
                _ => None,
            },
            Function::Last => self.widest(arguments),
            _ if over.iter().any(|axis| self.is_time(axis)) => None,
            _ => self.widest(arguments),
        }
    }

    fn value(&mut self, id: ValueId) -> Option<Rational> {
        if let Some(known) = self.known.get(&id) {
            return known.clone();
        }
        let found = match self.program.values.get(id.0).map(|value| &value.role) {
            Some(Role::Let(expr)) => self.span(expr),
            _ => Some(Rational::zero()),
        };
        self.known.insert(id, found.clone());
        found
    }
}

fn literal(expr: &Expr) -> Option<Rational> {
    match &expr.node {
        Node::Number(number) => Some(number.clone()),
        _ => None,
    }
}
