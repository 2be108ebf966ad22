//! Expressions that are the same number on every machine, and expressions that are the same as written.

use num_traits::Zero;

use crate::quantity::{Rational, ratio};

use super::program::{Arithmetic, Expr, Function, Node, Rule, StationPick, Test};

/// The value in base units, if it rests on literals alone and is exact.
pub(super) fn constant(expr: &Expr) -> Option<Rational> {
    match &expr.node {
        Node::Number(number) => Some(number.clone()),
        Node::Negate(of) => Some(-constant(of)?),
        Node::Arithmetic(operation, left, right) => {
            let (left, right) = (constant(left)?, constant(right)?);
            match operation {
                Arithmetic::Add => Some(left + right),
                Arithmetic::Subtract => Some(left - right),
                Arithmetic::Multiply => Some(left * right),
                Arithmetic::Divide if right.is_zero() => None,
                Arithmetic::Divide => Some(left / right),
            }
        }
        Node::Call { function: Function::Half, arguments, .. } => {
            Some(constant(arguments.first()?)? * ratio(1, 2))
        }
        _ => None,
    }
}

/// Whether two expressions are the same as written, so that they have the same value whatever the readings.
pub(super) fn same(a: &Expr, b: &Expr) -> bool {
    if let (Some(a), Some(b)) = (constant(a), constant(b)) {
        return a == b;
    }
    match (&a.node, &b.node) {
        (Node::Number(a), Node::Number(b)) => a == b,
        (Node::Inexact(a), Node::Inexact(b)) => a.to_bits() == b.to_bits(),
        (Node::Word(a), Node::Word(b)) | (Node::Text(a), Node::Text(b)) => a == b,
        (Node::YesNo(a), Node::YesNo(b)) => a == b,
        (Node::Date(a), Node::Date(b)) => a == b,
        (Node::Value(a), Node::Value(b)) | (Node::Aim(a), Node::Aim(b)) => a == b,
        (Node::Resolution(a), Node::Resolution(b)) | (Node::ValueOutside(a), Node::ValueOutside(b)) => a == b,
        (Node::Pick(a, x), Node::Pick(b, y)) => {
            same(a, b)
                && x.len() == y.len()
                && x.iter().zip(y).all(|(x, y)| x.0 == y.0 && same_pick(&x.1, &y.1))
        }
        (Node::Table { table: a, column: c, at: x }, Node::Table { table: b, column: d, at: y }) => {
            a == b && c == d && same_option(x.as_deref(), y.as_deref())
        }
        (Node::Negate(a), Node::Negate(b)) | (Node::Not(a), Node::Not(b)) => same(a, b),
        (Node::Every(a), Node::Every(b)) | (Node::Any(a), Node::Any(b)) => same(a, b),
        (Node::Arithmetic(f, a, b), Node::Arithmetic(g, c, d)) => f == g && same(a, c) && same(b, d),
        (Node::And(a, b), Node::And(c, d)) | (Node::Or(a, b), Node::Or(c, d)) => same(a, c) && same(b, d),
        (Node::Is(a, b), Node::Is(c, d)) => same(a, c) && same(b, d),
        (Node::Power(a, n), Node::Power(b, m)) => n == m && same(a, b),
        (Node::Meets(a, r), Node::Meets(b, s)) => same(a, b) && same_rule(r, s),
        (
            Node::Call { function: f, arguments: x, over: o, by: p },
            Node::Call { function: g, arguments: y, over: q, by: r },
        ) => f == g && o == q && p == r && x.len() == y.len() && x.iter().zip(y).all(|(x, y)| same(x, y)),
        (
            Node::If { condition: a, then: b, otherwise: c },
            Node::If { condition: d, then: e, otherwise: f },
        ) => same(a, d) && same(b, e) && same(c, f),
        (Node::Dates { left: a, before: x, right: b }, Node::Dates { left: c, before: y, right: d }) => {
            x == y && same(a, c) && same(b, d)
        }
        _ => false,
    }
}

/// `a` is `-b` as written, or the two are numbers of the same size and opposite sign.
pub(super) fn opposite(a: &Expr, b: &Expr) -> bool {
    match (constant(a), constant(b)) {
        (Some(a), Some(b)) => a == -b,
        _ => match (&a.node, &b.node) {
            (Node::Negate(a), _) if same(a, b) => true,
            (_, Node::Negate(b)) => same(a, b),
            _ => false,
        },
    }
}

fn same_option(a: Option<&Expr>, b: Option<&Expr>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => same(a, b),
        _ => false,
    }
}

fn same_pick(a: &StationPick, b: &StationPick) -> bool {
    match (a, b) {
        (StationPick::Word(a), StationPick::Word(b)) => a == b,
        (StationPick::Value(a), StationPick::Value(b)) => same(a, b),
        _ => false,
    }
}

fn same_rule(a: &Rule, b: &Rule) -> bool {
    let plain = |rule: &Rule| {
        rule.per.is_none() && rule.floor.is_none() && rule.cap.is_none() && rule.window.is_none()
    };
    if !plain(a) || !plain(b) {
        return false;
    }
    match (&a.test, &b.test) {
        (Test::AtMost(a), Test::AtMost(b)) | (Test::AtLeast(a), Test::AtLeast(b)) => same(a, b),
        (Test::Above(a), Test::Above(b)) | (Test::Below(a), Test::Below(b)) => same(a, b),
        (Test::FromTo(a, b), Test::FromTo(c, d)) => same(a, c) && same(b, d),
        (Test::Within { size: a, of: b }, Test::Within { size: c, of: d }) => {
            same(a, c) && same_option(b.as_ref(), d.as_ref())
        }
        _ => false,
    }
}
