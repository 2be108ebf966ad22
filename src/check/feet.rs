//! `twist_shims(tilt over place, feet, spacing)`: what to put under the pairs of feet of a bed. The second argument is the
//! name of an axis, so that the result is laid out over the feet.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, ExprKind};

use super::Checker;
use super::carried::{Carried, Typed, dimension_of, kind_name};
use super::expression::Place;
use super::functions::function_named;
use super::program::{AxisId, Expr, Function, Kind, Node};
use super::sense::Direction;

const TAKES: &str = "tilts over a length, the axis of the feet, and how far apart the feet of a pair are";

impl Checker<'_> {
    pub(super) fn twist_shims(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        if !matches!(arguments.len(), 3 | 4) {
            self.argument_count("twist_shims", span, TAKES, arguments.len());
            return None;
        }
        self.no_otherwise("twist_shims", arguments)?;
        let [first, feet, spacing, wanted @ ..] = arguments else { return None };
        let tilt = self.expr(&first.value, place);
        let feet = self.axis_of_feet(&feet.value);
        let spacing = self.single(&spacing.value, place);
        let (tilt, feet, spacing) = (tilt?, feet?, spacing?);
        let over = self.over(function_named("slope")?, &tilt, first, span)?;
        let along = *over.first()?;
        let wanted = match wanted.first() {
            Some(wanted) => Some(self.single(&wanted.value, place)?),
            None => None,
        };
        let slopes = std::iter::once(&tilt).chain(&wanted).map(|typed| (typed, Dimension::NONE, "a slope"));
        let lengths = std::iter::once((&spacing, Dimension::LENGTH, "a length"));
        for (typed, dimension, name) in slopes.chain(lengths).collect::<Vec<_>>() {
            if dimension_of(&typed.expr.kind) != Some(dimension) {
                let (found, words) = (kind_name(&typed.expr.kind), self.words(typed.expr.span));
                self.report(Problem::fault(
                    Code::UnitArgument,
                    typed.expr.span,
                    format!("`twist_shims` wants {name} here, and `{words}` is {found}"),
                ));
                return None;
            }
        }
        if let (Some(pairs), Some(levels)) = (self.station_count(feet), self.station_count(along))
            && levels < pairs
        {
            self.report(
                Problem::fault(
                    Code::AxisTooFew,
                    span,
                    format!("`twist_shims` needs as many levels as pairs of feet: {levels} for {pairs}"),
                )
                .help("read the level at more places along the bed"),
            );
            return None;
        }
        let axes = tilt.expr.axes.iter().copied().filter(|axis| *axis != along).chain([feet]).collect();
        let carried = Carried { direction: Direction::Lost, unit: Some(Unit::Mm), ..Carried::default() };
        let arguments = [Some(tilt), Some(spacing), wanted].into_iter().flatten().map(|typed| typed.expr);
        let node = Node::Call {
            function: Function::TwistShims,
            arguments: arguments.collect(),
            over: vec![along, feet],
            by: None,
        };
        let kind = Kind::Quantity(Dimension::LENGTH);
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    /// An axis of lengths by its name: of the whole file, or of the reading before.
    fn axis_of_feet(&mut self, node: &ast::Expr) -> Option<AxisId> {
        let name = match &node.what {
            ExprKind::Name(path) if path.step.is_none() => path.name.text.as_str(),
            _ => "",
        };
        let axis = self.names.axes.get(name).copied().filter(|axis| !self.failed_axes.contains(axis));
        let lengths = |axis: &AxisId| {
            self.axes
                .get(axis.0)
                .is_some_and(|axis| axis.dimension == Some(Dimension::LENGTH) && !axis.closing)
        };
        let found =
            axis.filter(lengths).filter(|axis| self.station_count(*axis).is_none_or(|count| count > 1));
        if found.is_none() {
            let words = self.words(node.span);
            self.report(
                Problem::fault(
                    Code::AxisUnknown,
                    node.span,
                    format!("`twist_shims` wants the axis of the feet here, and `{words}` is none"),
                )
                .help("write at the top of the file where the pairs of feet stand: `axis feet 0 mm, 600 mm, 1200 mm`"),
            );
        }
        found
    }
}
