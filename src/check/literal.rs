//! Numbers, units, dates and counts as typed, turned into exact values.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Rational, Real, Unit, parse_decimal};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Carried, Typed, kind_name};
use super::program::{Expr, Kind, Literal, Node};

/// The kind of a value that is written in this unit.
pub(super) fn kind_of(unit: Unit) -> Kind {
    if unit.is_point() { Kind::Point } else { Kind::Quantity(unit.dimension()) }
}

impl Checker<'_> {
    pub(super) fn unit(&mut self, name: &ast::UnitName) -> Option<Unit> {
        if let Some(unit) = Unit::parse(&name.text) {
            return Some(unit);
        }
        let near = crate::diagnostic::nearest(&name.text, Unit::ALL.iter().map(|unit| unit.symbol()));
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => "units are a closed list; `bedway explain unit::unknown` shows it".to_string(),
        };
        self.report(
            Problem::fault(
                Code::UnknownUnit,
                name.span,
                format!("`{}` is no unit that Bedway knows", name.text),
            )
            .help(help),
        );
        None
    }

    pub(super) fn number(&mut self, number: &ast::Number) -> Option<Rational> {
        let value = parse_decimal(&number.text);
        if value.is_none() {
            self.report(
                Problem::fault(
                    Code::UnitNumber,
                    number.span,
                    format!("`{}` is not a number that can be used", self.words(number.span)),
                )
                .help("write a decimal number with a point, of at most 40 characters"),
            );
        }
        value
    }

    /// A whole number from `least` up, such as `tries 3`.
    pub(super) fn whole(&mut self, number: &ast::Number, least: u32, of: &str) -> Option<u32> {
        match number.text.parse::<u32>() {
            Ok(count) if count >= least && count <= 100_000 => Some(count),
            _ => {
                self.report(
                    Problem::fault(
                        Code::UnitNumber,
                        number.span,
                        format!("`{}` cannot be the number of {of}", number.text),
                    )
                    .help(format!("write a whole number, {least} or more")),
                );
                None
            }
        }
    }

    /// A quantity that must have a unit, kept as written.
    pub(super) fn literal(&mut self, quantity: &ast::Quantity) -> Option<Literal> {
        let number = self.number(&quantity.number)?;
        match &quantity.unit {
            Some(unit) => Some(Literal { number, unit: self.unit(unit)? }),
            None => {
                self.report(
                    Problem::fault(
                        Code::UnitMissing,
                        quantity.span,
                        format!("`{}` has no unit", quantity.number.text),
                    )
                    .help("write the unit behind it, as `0.02 mm`"),
                );
                None
            }
        }
    }

    /// A quantity as an expression. A bare number is a plain ratio, or in the unit of `bare` if there is one.
    pub(super) fn quantity(&mut self, quantity: &ast::Quantity, bare: Option<Unit>) -> Option<Typed> {
        let number = self.number(&quantity.number)?;
        let unit = match &quantity.unit {
            Some(unit) => Some(self.unit(unit)?),
            None => bare,
        };
        Some(number_in(number, unit, quantity.span))
    }

    /// A quantity of this kind; `what` is it of, for the message.
    pub(super) fn literal_of(
        &mut self,
        quantity: &ast::Quantity,
        dimension: Dimension,
        what: &str,
    ) -> Option<Literal> {
        let literal = self.literal(quantity)?;
        if literal.unit.dimension() == dimension && !literal.unit.is_point() {
            return Some(literal);
        }
        let wanted = dimension.name();
        let found = kind_name(&kind_of(literal.unit));
        self.report(Problem::fault(
            Code::UnitMismatch,
            quantity.span,
            format!("{what} must be {wanted}, and `{}` is {found}", self.words(quantity.span)),
        ));
        None
    }

    pub(super) fn date(&mut self, date: &ast::DateText) -> Option<jiff::civil::Date> {
        let parsed = date.text.parse().ok();
        if parsed.is_none() {
            self.report(
                Problem::fault(Code::UnitDate, date.span, format!("there is no day {}", date.text))
                    .help("write a date as 2026-03-02: year, month, day"),
            );
        }
        parsed
    }
}

/// An exact literal in a unit, or a plain number.
pub(super) fn number_in(number: Rational, unit: Option<Unit>, span: Span) -> Typed {
    use num_traits::{Signed, Zero};
    let positive = (!number.is_zero()).then(|| number.is_positive());
    let (node, kind, carried) = match unit {
        Some(unit) => {
            let node = match unit.to_base(&Real::Exact(number)) {
                Real::Exact(exact) => Node::Number(exact),
                Real::Approximate { value, .. } => Node::Inexact(value),
            };
            (node, kind_of(unit), Carried::in_unit(unit))
        }
        None => (Node::Number(number), Kind::Quantity(Dimension::NONE), Carried::default()),
    };
    Typed::new(Expr { node, kind, axes: Vec::new(), sense: None, span }, Carried { positive, ..carried })
}

/// A literal in base units.
pub(super) fn base_of(literal: &Literal) -> Option<Rational> {
    literal.unit.to_base(&Real::Exact(literal.number.clone())).exact().cloned()
}
