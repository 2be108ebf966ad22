//! Expressions, conditions and tolerance rules as they are written.

use super::ast::{DateText, Name, Number, Prose, Quantity, Span, Station};

/// An expression or a condition; they are one thing until `check` has looked at the kinds.
/// Never deeper than `parse::DEPTH_LIMIT` nodes, so a walk over it may recurse.
#[derive(Clone, Debug, PartialEq)]
pub struct Expr {
    pub span: Span,
    pub what: ExprKind,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ExprKind {
    /// `0.02 mm`, `-4 um`, `2`
    Quantity(Quantity),
    /// `2026-03-02`
    Date(DateText),
    /// `yes`, `no`
    YesNo(bool),
    /// One word of several, given for a parameter of a method. Never read from a line.
    Chosen(Name, Vec<Name>),
    /// `lean`, `L16.lean`, `limits.whole` (a table's column without `over`), or a station's word.
    Name(Path),
    /// `machine(dial_at over turn)`, `bed_limit.whole(between)`
    Call(Path, Vec<Argument>),
    /// `dial_at[turn 180 deg, place reach]`
    Pick(Box<Expr>, Vec<Pick>),
    Negate(Box<Expr>),
    Not(Box<Expr>),
    Every(Box<Expr>),
    Any(Box<Expr>),
    /// `Q % of X`
    PartOf(Quantity, Box<Expr>),
    /// `x ^ 2`
    Power(Box<Expr>, Number),
    Binary(Binary, Box<Expr>, Box<Expr>),
    /// `noise is smooth`, `noise is not knock`
    Is {
        left: Box<Expr>,
        not: bool,
        choice: Choice,
    },
    /// `temp above 75 degC`
    Meets(Box<Expr>, Box<Rule>),
    /// `lean outside`: some tolerance on it has failed
    Outside(Box<Expr>),
    /// `outside local`: the tolerance of that name has failed
    OutsideTolerance(Path),
    If {
        condition: Box<Expr>,
        then: Box<Expr>,
        otherwise: Box<Expr>,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binary {
    Add,
    Subtract,
    Multiply,
    Divide,
    And,
    Or,
}

/// What stands after `is`.
#[derive(Clone, Debug, PartialEq)]
pub enum Choice {
    /// A choice word, also `yes` and `no`.
    Word(Name),
    Text(Prose),
}

/// `NAME` or `STEP.NAME` or `TABLE.COLUMN`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    pub span: Span,
    pub step: Option<Name>,
    pub name: Name,
}

/// One station of one axis: `turn 180 deg`, or `tail` where there is one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Pick {
    pub span: Span,
    pub axis: Option<Name>,
    pub station: Station,
}

/// `x over place and plane by ends within 30 min else 0 mm`
#[derive(Clone, Debug, PartialEq)]
pub struct Argument {
    pub span: Span,
    pub value: Expr,
    pub over: Vec<Name>,
    pub by: Option<Name>,
    /// Only behind `over` or `by`; `change(x within 30 min)` is read as a rule on x.
    pub within: Option<Expr>,
    pub otherwise: Option<Expr>,
}

/// A tolerance rule or comparison, without the value it judges.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    pub span: Span,
    pub what: RuleOf,
    /// `per P over L`
    pub per: Option<(Expr, Expr)>,
    pub floor: Option<Expr>,
    pub cap: Option<Expr>,
    /// `in any W [by W2] by spread / chord`
    pub window: Option<Window>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum RuleOf {
    AtMost(Expr),
    AtLeast(Expr),
    Above(Expr),
    Below(Expr),
    FromTo(Expr, Expr),
    Within {
        bound: Expr,
        of: Option<Expr>,
    },
    Convex {
        allowance: Option<Expr>,
    },
    Concave {
        allowance: Option<Expr>,
    },
    Steady {
        within: Expr,
        duration: Expr,
    },
    /// Of dates.
    Before(Expr),
    After(Expr),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    pub span: Span,
    pub length: Expr,
    pub second: Option<Expr>,
    pub by: WindowBy,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowBy {
    Spread,
    Chord,
}

impl Expr {
    /// The expressions directly in it, in the order they are written.
    pub fn parts(&self) -> Vec<&Expr> {
        match &self.what {
            ExprKind::Quantity(_)
            | ExprKind::Date(_)
            | ExprKind::YesNo(_)
            | ExprKind::Chosen(..)
            | ExprKind::Name(_)
            | ExprKind::OutsideTolerance(_) => Vec::new(),
            ExprKind::Call(_, arguments) => arguments.iter().flat_map(Argument::values).collect(),
            ExprKind::Pick(inner, picks) => {
                std::iter::once(&**inner).chain(picks.iter().filter_map(Pick::value)).collect()
            }
            ExprKind::Negate(inner)
            | ExprKind::Not(inner)
            | ExprKind::Every(inner)
            | ExprKind::Any(inner)
            | ExprKind::PartOf(_, inner)
            | ExprKind::Power(inner, _)
            | ExprKind::Is { left: inner, .. }
            | ExprKind::Outside(inner) => vec![inner],
            ExprKind::Binary(_, left, right) => vec![left, right],
            ExprKind::Meets(inner, rule) => {
                let mut parts = vec![&**inner];
                parts.extend(rule.values());
                parts
            }
            ExprKind::If { condition, then, otherwise } => vec![condition, then, otherwise],
        }
    }

    /// How many nodes it is deep.
    pub(super) fn depth(&self) -> usize {
        1 + self.parts().into_iter().map(Expr::depth).max().unwrap_or(0)
    }
}

impl Argument {
    /// The expressions in it.
    pub fn values(&self) -> impl Iterator<Item = &Expr> {
        std::iter::once(&self.value).chain(&self.within).chain(&self.otherwise)
    }
}

impl Pick {
    /// The value that is its station, unless that is a single word.
    pub fn value(&self) -> Option<&Expr> {
        match &self.station {
            Station::Value(value) => Some(value),
            Station::Word(_) => None,
        }
    }
}

impl Rule {
    /// The expressions in it: bounds, lengths, windows.
    pub fn values(&self) -> Vec<&Expr> {
        let mut values = match &self.what {
            RuleOf::AtMost(bound)
            | RuleOf::AtLeast(bound)
            | RuleOf::Above(bound)
            | RuleOf::Below(bound)
            | RuleOf::Before(bound)
            | RuleOf::After(bound) => vec![bound],
            RuleOf::FromTo(from, to) => vec![from, to],
            RuleOf::Within { bound, of } => std::iter::once(bound).chain(of).collect(),
            RuleOf::Convex { allowance } | RuleOf::Concave { allowance } => allowance.iter().collect(),
            RuleOf::Steady { within, duration } => vec![within, duration],
        };
        values.extend(self.per.iter().flat_map(|(per, over)| [per, over]));
        values.extend(&self.floor);
        values.extend(&self.cap);
        values.extend(
            self.window.iter().flat_map(|window| std::iter::once(&window.length).chain(&window.second)),
        );
        values
    }
}
