//! A circle through points that were measured by two coordinates each.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Dimension;
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Carried, Typed, dimension_of, kind_name};
use super::expression::Place;
use super::functions::CIRCLE;
use super::program::{Expr, Function, Kind, Node, Stations};
use super::sense::Direction;

impl Checker<'_> {
    /// `circle_form(x, y over point by minimum_zone)`; what stands behind the second coordinate is of both.
    pub(super) fn circle(
        &mut self,
        function: Function,
        name: &str,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<2>(name, "the two coordinates of points", arguments, span)?;
        self.no_otherwise(name, arguments)?;
        let [first, last] = arguments else { return None };
        if let Some(word) = first.by.as_ref().map(|by| by.span).or(first.over.first().map(|axis| axis.span)) {
            self.report(
                Problem::fault(Code::NameArguments, word, "this belongs behind the second coordinate")
                    .help(format!("write `{name}(x, y over point by least_squares)`")),
            );
            return None;
        }
        let (x, y) = (self.expr(&first.value, place), self.expr(&last.value, place));
        let (x, y) = (x?, y?);
        for coordinate in [&x, &y] {
            if dimension_of(&coordinate.expr.kind) != Some(Dimension::LENGTH) {
                let (words, found) = (self.words(coordinate.expr.span), kind_name(&coordinate.expr.kind));
                self.fault(
                    Code::UnitArgument,
                    coordinate.expr.span,
                    format!("`{name}` wants lengths, and `{words}` is {found}"),
                );
                return None;
            }
        }
        self.meet(&x.expr, &y.expr, span)?;
        if x.expr.axes.len() != y.expr.axes.len() {
            self.report(
                Problem::fault(
                    Code::AxisMismatch,
                    span,
                    "one coordinate has stations that the other has not",
                )
                .help("lay both out over the same axes: `over point 1 to 8` in each"),
            );
            return None;
        }
        let axis = match last.over.as_slice() {
            [axis] => self.axis_of(&x.expr.axes, axis, first.value.span)?,
            [] if x.expr.axes.len() == 1 => *x.expr.axes.first()?,
            _ => {
                self.report(
                    Problem::fault(Code::AxisWhich, span, format!("`{name}` goes over one axis of points"))
                        .help(format!("say which: `{name}(x, y over point by least_squares)`")),
                );
                return None;
            }
        };
        if matches!(self.axes.get(axis.0)?.stations, Stations::Survey(_)) {
            self.fault(Code::AxisMismatch, span, "the feet of a survey are no points of a circle");
            return None;
        }
        let least = function.least_points();
        if self.station_count(axis).is_some_and(|count| count < least) {
            self.too_few(name, least, axis, span);
            return None;
        }
        let by = self.way(name, CIRCLE, last, span)?;
        let kind = match function {
            Function::CircleCentre => Kind::Arrow(Dimension::LENGTH),
            _ => Kind::Quantity(Dimension::LENGTH),
        };
        let arrow = function == Function::CircleCentre;
        let carried = Carried {
            direction: if arrow { Direction::Plain } else { Direction::Unsigned },
            positive: (!arrow).then_some(true),
            scale: None,
            resolution: x.carried.resolution_with(&y.carried),
            ..x.carried
        };
        let axes = x.expr.axes.iter().copied().filter(|own| *own != axis).collect();
        let node = Node::Call { function, arguments: vec![x.expr, y.expr], over: vec![axis], by };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }
}
