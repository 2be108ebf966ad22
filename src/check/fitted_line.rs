//! Functions of a fitted line at a place: `line_at(x over place, 150 mm)`.

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Typed, dimension_of, kind_name};
use super::expression::Place;
use super::functions::Spec;
use super::program::{Function, Node};

impl Checker<'_> {
    /// What stands behind the value is of it; the place is a single one in the unit of the stations.
    pub(super) fn at_a_place(
        &mut self,
        spec: &'static Spec,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<2>(
            spec.name,
            "a value (over its stations) and a place (in their unit)",
            arguments,
            span,
        )?;
        self.no_otherwise(spec.name, arguments)?;
        let [first, last] = arguments else { return None };
        if let Some(word) = last.by.as_ref().map(|by| by.span).or(last.over.first().map(|axis| axis.span)) {
            self.report(
                Problem::fault(
                    Code::NameArguments,
                    word,
                    "this belongs behind the value, not behind the place",
                )
                .help(format!("write `{}(x over place, 150 mm)`", spec.name)),
            );
            return None;
        }
        let (of, at) = (self.expr(&first.value, place), self.single(&last.value, place));
        let (of, at) = (of?, at?);
        let over = self.over(spec, &of, first, span)?;
        let by = self.way(spec.name, spec.ways, first, span)?;
        self.must_suit(spec, &of)?;
        let axis = *over.first()?;
        let wanted = self.axes.get(axis.0)?.dimension?;
        if dimension_of(&at.expr.kind) != Some(wanted) {
            let (words, found) = (self.words(at.expr.span), kind_name(&at.expr.kind));
            let (name, wanted) = (self.axis_name(axis), wanted.name());
            let message = format!(
                "`{}` wants a place along `{name}` here, {wanted}, and `{words}` is {found}",
                spec.name
            );
            let mut problem = Problem::fault(Code::UnitArgument, at.expr.span, message);
            if let Some(unit) = self.axis_unit(axis) {
                problem = problem.help(format!("write the place in {}, as its stations are", unit.symbol()));
            }
            self.report(problem);
            return None;
        }
        let mut made = self.finish(spec, of, over, by, span)?;
        if spec.function == Function::LineAt {
            // Beyond its stations a line of amounts may fall below zero.
            made.carried.positive = None;
        }
        if let Node::Call { arguments, .. } = &mut made.expr.node {
            arguments.push(at.expr);
        }
        Some(made)
    }
}
