//! `+ - * / ^` and comparisons: which kinds go together, and what comes out.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Real};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Carried, Typed, dimension_of, is_number, kind_name};
use super::literal::base_of;
use super::program::{Arithmetic, Expr, Kind, Literal, Node};
use super::sense::Direction;

impl Checker<'_> {
    pub(super) fn arithmetic(
        &mut self,
        operation: Arithmetic,
        mut left: Typed,
        mut right: Typed,
        span: Span,
    ) -> Option<Typed> {
        if matches!(left.expr.kind, Kind::Arrow(_)) || matches!(right.expr.kind, Kind::Arrow(_)) {
            return self.of_arrows(operation, left, right, span);
        }
        for side in [&left, &right] {
            if !is_number(&side.expr.kind) {
                self.not_a_number(side);
                return None;
            }
        }
        divisions(&mut left, &mut right);
        let axes = self.meet(&left.expr, &right.expr, span)?;
        let kind = match operation {
            Arithmetic::Add | Arithmetic::Subtract => self.sum(operation, &left, &right, span)?,
            Arithmetic::Multiply | Arithmetic::Divide => self.product(operation, &left, &right, span)?,
        };
        let carried = carry(operation, &left, &right, &kind);
        let node = Node::Arithmetic(operation, Box::new(left.expr), Box::new(right.expr));
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    /// Arrows take sum, difference and a plain factor.
    fn of_arrows(&mut self, operation: Arithmetic, left: Typed, right: Typed, span: Span) -> Option<Typed> {
        let arrow = |typed: &Typed| matches!(typed.expr.kind, Kind::Arrow(_));
        let plain = |typed: &Typed| dimension_of(&typed.expr.kind) == Some(Dimension::NONE);
        let kind = match operation {
            Arithmetic::Add | Arithmetic::Subtract if left.expr.kind == right.expr.kind => {
                left.expr.kind.clone()
            }
            Arithmetic::Multiply if arrow(&left) && plain(&right) => left.expr.kind.clone(),
            Arithmetic::Multiply if plain(&left) && arrow(&right) => right.expr.kind.clone(),
            Arithmetic::Divide if arrow(&left) && plain(&right) => left.expr.kind.clone(),
            _ => {
                self.mismatch(
                    &left,
                    &right,
                    span,
                    "do not go together; arrows take `+`, `-` and a plain factor",
                );
                return None;
            }
        };
        let axes = self.meet(&left.expr, &right.expr, span)?;
        let of = if arrow(&left) { &left } else { &right };
        let carried = Carried {
            unit: of.carried.unit,
            resolution: left.carried.resolution_with(&right.carried),
            ..Carried::default()
        };
        let node = Node::Arithmetic(operation, Box::new(left.expr), Box::new(right.expr));
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    fn not_a_number(&mut self, typed: &Typed) {
        let found = kind_name(&typed.expr.kind);
        self.report(Problem::fault(
            Code::UnitNotANumber,
            typed.expr.span,
            format!("`{}` is {found}, and a number is wanted here", self.words(typed.expr.span)),
        ));
    }

    /// Something that must be a number.
    pub(super) fn must_be_number(&mut self, typed: &Typed) -> Option<()> {
        if is_number(&typed.expr.kind) {
            return Some(());
        }
        self.not_a_number(typed);
        None
    }

    fn sum(&mut self, operation: Arithmetic, left: &Typed, right: &Typed, span: Span) -> Option<Kind> {
        let adding = operation == Arithmetic::Add;
        let kelvin = Kind::Quantity(Dimension::TEMPERATURE);
        match (&left.expr.kind, &right.expr.kind) {
            (Kind::Point, Kind::Point) if adding => {
                self.temperatures(span, "two temperatures have no sum");
                None
            }
            (Kind::Point, Kind::Point) => Some(kelvin),
            (Kind::Point, other) if *other == kelvin => Some(Kind::Point),
            (other, Kind::Point) if adding && *other == kelvin => Some(Kind::Point),
            (Kind::Count, Kind::Count) => Some(Kind::Count),
            (a, b) => match (dimension_of(a), dimension_of(b)) {
                (Some(Dimension::LEVEL), Some(Dimension::LEVEL)) if adding => {
                    self.levels(span);
                    None
                }
                (Some(a), Some(b)) if a == b => Some(Kind::Quantity(a)),
                _ => {
                    let doing = if adding { "added" } else { "taken from each other" };
                    self.mismatch(left, right, span, &format!("cannot be {doing}"));
                    None
                }
            },
        }
    }

    fn product(&mut self, operation: Arithmetic, left: &Typed, right: &Typed, span: Span) -> Option<Kind> {
        let (Some(a), Some(b)) = (dimension_of(&left.expr.kind), dimension_of(&right.expr.kind)) else {
            self.temperatures(span, "a temperature has no product; only a difference of two has");
            return None;
        };
        if a == Dimension::LEVEL || b == Dimension::LEVEL {
            self.levels(span);
            return None;
        }
        let dimension = match operation {
            Arithmetic::Multiply => a.times(b),
            _ => a.over(b),
        };
        if dimension.is_none() {
            self.fault(Code::UnitMismatch, span, "the powers of the units run out of all sense here");
        }
        dimension.map(Kind::Quantity)
    }

    fn temperatures(&mut self, span: Span, message: &str) {
        self.report(
            Problem::fault(Code::UnitTemperature, span, message)
                .label("20 degC is a point on a scale, not an amount")
                .help("take a difference first, in K, or use mean, least or greatest"),
        );
    }

    fn levels(&mut self, span: Span) {
        self.report(
            Problem::fault(Code::UnitLevel, span, "sound levels in dB take no sum and no product")
                .label("dB is a logarithm: two machines of 80 dB make 83 dB")
                .help("take a difference, mean, least, greatest or range, or `without_background`"),
        );
    }

    /// Reports two values that do not go together.
    fn mismatch(&mut self, left: &Typed, right: &Typed, span: Span, what: &str) {
        let (a, b) = (kind_name(&left.expr.kind), kind_name(&right.expr.kind));
        let mut problem = Problem::fault(
            Code::UnitMismatch,
            span,
            format!(
                "`{}` is {a} and `{}` is {b}: they {what}",
                self.words(left.expr.span),
                self.words(right.expr.span)
            ),
        );
        for (bare, other) in [(left, right), (right, left)] {
            if let (Node::Number(_), None, Some(unit)) =
                (&bare.expr.node, bare.carried.unit, other.carried.unit)
            {
                problem = problem.help(format!(
                    "write its unit: `{} {}`",
                    self.words(bare.expr.span),
                    unit.symbol()
                ));
            }
        }
        if dimension_of(&left.expr.kind) == Some(Dimension::DIVISION)
            || dimension_of(&right.expr.kind) == Some(Dimension::DIVISION)
        {
            problem =
                problem.help("give the instrument a scale: a line `scale 0.02 mm/m per div` beneath it");
        }
        let is =
            |dimension| [left, right].iter().any(|side| dimension_of(&side.expr.kind) == Some(dimension));
        if problem.help.is_none() && is(Dimension::ANGLE) {
            problem =
                problem.help("an angle becomes a ratio through `tan`: `tan(3 deg) * 100 mm` is a length");
        }
        self.report(problem);
    }

    /// Two values that must be of one kind, a literal in div adapted to the other. `None` is reported.
    pub(super) fn same_kind(&mut self, left: &mut Typed, right: &mut Typed, what: &str) -> Option<()> {
        divisions(left, right);
        let alike = match (&left.expr.kind, &right.expr.kind) {
            (a, b) if a == b => true,
            (a, b) => dimension_of(a).is_some_and(|dimension| Some(dimension) == dimension_of(b)),
        };
        if alike {
            return Some(());
        }
        let span = right.expr.span;
        self.mismatch(left, right, span, &format!("cannot be {what}"));
        None
    }

    pub(super) fn negate(&mut self, of: Typed, span: Span) -> Option<Typed> {
        if !matches!(of.expr.kind, Kind::Arrow(_)) {
            self.must_be_number(&of)?;
        }
        if of.expr.kind == Kind::Point {
            self.temperatures(span, "a temperature cannot be turned round");
            return None;
        }
        let carried = Carried {
            direction: of.carried.direction.turned(),
            positive: of.carried.positive.map(|positive| !positive),
            ..of.carried.clone()
        };
        let (kind, axes) = (of.expr.kind.clone(), of.expr.axes.clone());
        Some(Typed::new(
            Expr { node: Node::Negate(Box::new(of.expr)), kind, axes, sense: None, span },
            carried,
        ))
    }

    pub(super) fn power(&mut self, of: Typed, power: &ast::Number, span: Span) -> Option<Typed> {
        self.must_be_number(&of)?;
        let Some(exponent) = power.text.parse::<i32>().ok().filter(|power| power.unsigned_abs() <= 64) else {
            self.report(
                Problem::fault(Code::UnitNumber, power.span, format!("`{}` cannot be a power", power.text))
                    .help("write a whole number from -64 to 64"),
            );
            return None;
        };
        let Some(dimension) = dimension_of(&of.expr.kind) else {
            self.temperatures(span, "a temperature has no power");
            return None;
        };
        let Some(dimension) = dimension.powi(exponent) else {
            self.fault(Code::UnitMismatch, span, "the powers of the units run out of all sense here");
            return None;
        };
        let carried = Carried {
            direction: match of.carried.direction {
                Direction::Plain | Direction::Unsigned => of.carried.direction.clone(),
                _ if exponent == 1 => of.carried.direction.clone(),
                _ => Direction::Lost,
            },
            positive: of.carried.positive.filter(|positive| *positive),
            resolution: of.carried.resolution.clone(),
            ..Carried::default()
        };
        let axes = of.expr.axes.clone();
        let node = Node::Power(Box::new(of.expr), exponent);
        Some(Typed::new(Expr { node, kind: Kind::Quantity(dimension), axes, sense: None, span }, carried))
    }
}

/// What a sum, difference, product or quotient carries.
fn carry(operation: Arithmetic, left: &Typed, right: &Typed, kind: &Kind) -> Carried {
    let (a, b) = (&left.carried, &right.carried);
    let (dimension_a, dimension_b) = (dimension_of(&left.expr.kind), dimension_of(&right.expr.kind));
    let both = |sign: bool| a.positive == Some(sign) && b.positive == Some(sign);
    let sign = match operation {
        Arithmetic::Add if both(true) => Some(true),
        Arithmetic::Add if both(false) => Some(false),
        Arithmetic::Add | Arithmetic::Subtract => None,
        Arithmetic::Multiply | Arithmetic::Divide => a.positive.zip(b.positive).map(|(a, b)| a == b),
    };
    let direction = match operation {
        Arithmetic::Add => a.direction.plus(&b.direction),
        Arithmetic::Subtract => a.direction.minus(&b.direction),
        Arithmetic::Multiply if a.direction == Direction::Plain => {
            b.direction.times(&a.direction, a.positive)
        }
        Arithmetic::Multiply | Arithmetic::Divide => a.direction.times(&b.direction, b.positive),
    };
    let plain = |dimension: Option<Dimension>, carried: &Carried| {
        dimension == Some(Dimension::NONE) && !carried.slope
    };
    let of_difference = |carried: &Carried| carried.unit.map(crate::quantity::Unit::of_differences);
    let unit =
        match operation {
            Arithmetic::Add | Arithmetic::Subtract if *kind == Kind::Point => {
                if left.expr.kind == Kind::Point { a.unit } else { b.unit }
            }
            Arithmetic::Add | Arithmetic::Subtract => of_difference(a).or(of_difference(b)),
            _ if plain(dimension_b, b) => a.unit,
            Arithmetic::Multiply if plain(dimension_a, a) => b.unit,
            _ => None,
        };
    let slope = match operation {
        Arithmetic::Add | Arithmetic::Subtract => a.slope || b.slope,
        Arithmetic::Multiply => a.slope != b.slope && dimension_of(kind) == Some(Dimension::NONE),
        Arithmetic::Divide => a.slope && plain(dimension_b, b),
    };
    let scale = match operation {
        Arithmetic::Add | Arithmetic::Subtract => a.scale.clone().or_else(|| b.scale.clone()),
        _ => None,
    };
    Carried { direction, slope, unit, scale, positive: sign, resolution: a.resolution_with(b) }
}

/// A literal in div beside a reading taken in div is of that reading's instrument.
fn divisions(left: &mut Typed, right: &mut Typed) {
    if let Some(scale) = right.carried.scale.clone() {
        scale_literal(left, &scale);
    }
    if let Some(scale) = left.carried.scale.clone() {
        scale_literal(right, &scale);
    }
}

fn scale_literal(typed: &mut Typed, scale: &Literal) {
    if typed.expr.kind != Kind::Quantity(Dimension::DIVISION) {
        return;
    }
    let Some(factor) = base_of(scale) else { return };
    match &mut typed.expr.node {
        Node::Number(number) => *number = &*number * &factor,
        Node::Negate(of) => {
            if let Node::Number(number) = &mut of.node {
                *number = &*number * &factor;
                of.kind = Kind::Quantity(scale.unit.dimension());
            } else {
                return;
            }
        }
        Node::Inexact(number) => *number *= Real::Exact(factor).to_f64(),
        _ => return,
    }
    typed.expr.kind = Kind::Quantity(scale.unit.dimension());
    typed.carried.unit = Some(scale.unit);
    typed.carried.slope = scale.unit.is_slope();
}
