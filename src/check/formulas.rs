//! Functions of plain amounts with a formula of their own, element by element: by the table below. And the time to a rate
//! of a curve that settles.

use num_traits::Signed;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Carried, Typed, difference_of, dimension_of, kind_name};
use super::constant::constant;
use super::expression::Place;
use super::functions::function_named;
use super::program::{Expr, Function, Kind, Node};
use super::sense::Direction;

/// One formula: what it takes, and whether a length comes out that is never below zero.
struct Formula {
    name: &'static str,
    function: Function,
    takes: &'static [Dimension],
    words: &'static str,
    /// The arguments that must be more than nothing, by their place, each with what it is.
    positive: &'static [(usize, &'static str)],
    unsigned: bool,
}

const LENGTH: Dimension = Dimension::LENGTH;

const FORMULAS: &[Formula] = &[
    Formula {
        name: "set_over",
        function: Function::SetOver,
        takes: &[LENGTH, LENGTH, LENGTH],
        words: "the taper, the distance of its collars and the length between centres",
        positive: &[(1, "the distance of the collars"), (2, "the length between centres")],
        unsigned: false,
    },
    Formula {
        name: "height_effect",
        function: Function::HeightEffect,
        takes: &[LENGTH, LENGTH],
        words: "the diameter and how far the tool stands off centre height",
        positive: &[(0, "the diameter")],
        unsigned: true,
    },
    Formula {
        name: "taper_from_twist",
        function: Function::TaperFromTwist,
        takes: &[Dimension::NONE, LENGTH],
        words: "the twist of the bed over the piece and the centre height over the ways",
        positive: &[(1, "the centre height")],
        unsigned: false,
    },
    Formula {
        name: "taper_from_lean",
        function: Function::TaperFromLean,
        takes: &[LENGTH],
        words: "the lean of the spindle axis over the piece",
        positive: &[],
        unsigned: false,
    },
];

impl Checker<'_> {
    /// `None`: no formula of that name.
    pub(super) fn formula(
        &mut self,
        name: &str,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Option<Typed>> {
        let formula = FORMULAS.iter().find(|formula| formula.name == name)?;
        Some(self.formula_call(formula, arguments, span, place))
    }

    fn formula_call(
        &mut self,
        formula: &Formula,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        if arguments.len() != formula.takes.len() {
            self.argument_count(formula.name, span, formula.words, arguments.len());
            return None;
        }
        self.no_otherwise(formula.name, arguments)?;
        let kinds: Vec<Kind> = formula.takes.iter().map(|dimension| Kind::Quantity(*dimension)).collect();
        let arguments = self.arguments_of(arguments, &kinds, formula.name, place)?;
        for (at, what) in formula.positive {
            self.more_than_nothing(arguments.get(*at)?, what)?;
        }
        let mut made = self.made(formula.function, arguments, span)?;
        made.expr.kind = Kind::Quantity(LENGTH);
        let carried = Carried {
            direction: if formula.unsigned { Direction::Unsigned } else { Direction::Lost },
            positive: formula.unsigned.then_some(true),
            unit: Some(Unit::Mm),
            resolution: made.carried.resolution,
            ..Carried::default()
        };
        Some(Typed::new(made.expr, carried))
    }

    /// What is known from the file; the rest is looked at on the walk.
    pub(super) fn more_than_nothing(&mut self, typed: &Typed, what: &str) -> Option<()> {
        if constant(&typed.expr).is_none_or(|number| number.is_positive()) {
            return Some(());
        }
        self.fault(Code::UnitNumber, typed.expr.span, format!("{what} must be more than zero"));
        None
    }

    /// The sections of a bar, three sizes each: length, diameter, bore.
    pub(super) fn sizes_of_a_bar(&mut self, sizes: &[Typed]) -> Option<()> {
        for section in sizes.chunks_exact(3) {
            let [length, diameter, bore] = section else { continue };
            self.more_than_nothing(length, "the length of a bar")?;
            self.more_than_nothing(diameter, "the diameter of a bar")?;
            let (outside, within) = (constant(&diameter.expr), constant(&bore.expr));
            if outside.zip(within).is_some_and(|(outside, within)| within >= outside || within.is_negative())
            {
                self.fault(
                    Code::UnitNumber,
                    bore.expr.span,
                    "the bore must be smaller than the diameter; of a solid bar it is 0 mm",
                );
                return None;
            }
        }
        Some(())
    }

    /// `time_to_rate(x over time, 2 K/h)`: when, after the first row, the curve through the rows changes no faster.
    pub(super) fn time_to_rate(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<2>("time_to_rate", "a value over time, and a rate", arguments, span)?;
        self.no_otherwise("time_to_rate", arguments)?;
        let [first, rate] = arguments else { return None };
        let (of, rate) = (self.expr(&first.value, place), self.single(&rate.value, place));
        let (of, rate) = (of?, rate?);
        self.must_be_number(&of)?;
        let over = self.over(function_named("time_constant")?, &of, first, span)?;
        let time = *over.first()?;
        let wanted = difference_of(&of.expr.kind).and_then(|dimension| dimension.over(Dimension::TIME));
        if dimension_of(&rate.expr.kind) != wanted {
            let (found, words) = (kind_name(&rate.expr.kind), self.words(rate.expr.span));
            self.report(
                Problem::fault(
                    Code::UnitArgument,
                    rate.expr.span,
                    format!("`time_to_rate` wants how fast it may change here, and `{words}` is {found}"),
                )
                .help("of a temperature write `time_to_rate(x over time, 2 K/h)`"),
            );
            return None;
        }
        self.more_than_nothing(&rate, "a rate")?;
        let axes = of.expr.axes.iter().copied().filter(|axis| *axis != time).collect();
        let node = Node::Call {
            function: Function::TimeToRate,
            arguments: vec![of.expr, rate.expr],
            over,
            by: None,
        };
        let kind = Kind::Quantity(Dimension::TIME);
        let carried = Carried { positive: Some(true), unit: Some(Unit::Min), ..Carried::default() };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }
}
