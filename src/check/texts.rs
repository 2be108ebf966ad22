//! Texts with values put in: what is named must be there when the text is shown.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Unit;
use crate::source::Span;
use crate::syntax::ast::{self, Piece};

use super::Checker;
use super::carried::{Typed, dimension_of};
use super::expression::{Mood, Place};
use super::names::What;
use super::program::{AxisId, Expr, Kind, Node, Part, Role, StepId, Text, ValueId};

/// When a text is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum When {
    /// At the top, before anything is asked: no values at all.
    Header,
    /// Before the readings of its step.
    Before,
    /// As a question, before the line at this place of its step is answered.
    Asked,
    /// With the results.
    After,
}

impl Checker<'_> {
    pub(super) fn text(&mut self, prose: &ast::Prose, step: Option<StepId>, when: When) -> Option<Text> {
        self.text_asking(prose, step, when, &[], usize::MAX)
    }

    /// A text that asks for stations of `asking`; `at` is its line in the step.
    pub(super) fn text_asking(
        &mut self,
        prose: &ast::Prose,
        step: Option<StepId>,
        when: When,
        asking: &[AxisId],
        at: usize,
    ) -> Option<Text> {
        let mut text = Text::default();
        let mut failed = false;
        for piece in &prose.parts {
            match piece {
                Piece::Text(plain) => text.parts.push(Part::Plain(plain.clone())),
                Piece::Value(node, unit) => match self.in_text(node, unit.as_ref(), step, when, asking, at) {
                    Some(part) => text.parts.push(part),
                    None => failed = true,
                },
            }
        }
        (!failed).then_some(text)
    }

    fn in_text(
        &mut self,
        node: &ast::Expr,
        unit: Option<&ast::UnitName>,
        step: Option<StepId>,
        when: When,
        asking: &[AxisId],
        at: usize,
    ) -> Option<Part> {
        if when == When::Header {
            self.report(
                Problem::fault(
                    Code::FlowTextTooEarly,
                    node.span,
                    "this text is shown before anything is known",
                )
                .label("no value is there yet")
                .help("write plain words; `{{` is a brace"),
            );
            return None;
        }
        let place = Place { asking, ..Place::of(step).with(Mood::Shown) };
        let typed = self.expr(node, place)?;
        if when != When::After {
            self.is_there(&typed.expr, step, node.span, if when == When::Before { 0 } else { at })?;
        }
        let unit = match unit {
            Some(name) => {
                let unit = self.unit(name)?;
                let fits = match &typed.expr.kind {
                    Kind::Point => unit.is_point(),
                    Kind::Arrow(dimension) => unit.dimension() == *dimension,
                    kind => !unit.is_point() && dimension_of(kind) == Some(unit.dimension()),
                };
                if !fits {
                    let found = super::carried::kind_name(&typed.expr.kind);
                    self.fault(
                        Code::UnitMismatch,
                        name.span,
                        format!(
                            "`{}` is {found}, which is not shown in {}",
                            self.words(node.span),
                            name.text
                        ),
                    );
                    return None;
                }
                Some(unit)
            }
            None => self.shown_unit(&typed)?,
        };
        Some(Part::Value(typed.expr, unit))
    }

    /// The unit in which a value in a text is shown. The inner `None` has none, the outer one is reported.
    pub(super) fn shown_unit(&mut self, typed: &Typed) -> Option<Option<Unit>> {
        let (Kind::Quantity(dimension) | Kind::Arrow(dimension)) = typed.expr.kind else {
            return Some(if typed.expr.kind == Kind::Point {
                typed.carried.unit.or(Some(Unit::DegC))
            } else {
                None
            });
        };
        let carried = typed.carried.unit.filter(|unit| unit.dimension() == dimension && !unit.is_point());
        if let Some(unit) = carried.or_else(|| Unit::usual(dimension)) {
            return Some(Some(unit));
        }
        let words = self.words(typed.expr.span);
        self.report(
            Problem::fault(
                Code::UnitOfRatio,
                typed.expr.span,
                format!("`{words}` is a ratio, and nobody can tell how it is to be shown"),
            )
            .help(format!(
                "write its unit into the text: {{{words} in mm/m}}, {{{words} in %}} or {{{words} in 1}}"
            )),
        );
        None
    }

    /// What is given for a parameter is there from the beginning, unless it rests on something that is asked.
    fn rests_on_facts(&self, argument: ValueId) -> bool {
        let Some(Role::Let(expr)) = self.values.get(argument.0).map(|value| &value.role) else { return true };
        let mut facts_alone = true;
        each_value(expr, &mut |id| {
            facts_alone &= self.names.declared.get(id.0).is_none_or(|declared| declared.step.is_none());
        });
        facts_alone
    }

    /// Values of the step that are asked at line `before` or below, or worked out from such, are not there yet.
    fn is_there(&mut self, expr: &Expr, step: Option<StepId>, span: Span, before: usize) -> Option<()> {
        let mut missing = None;
        each_value(expr, &mut |id| {
            if let Some(declared) = self.names.declared.get(id.0)
                && declared.step.is_some()
                && declared.step == step
            {
                let early = match declared.what {
                    What::Fact(_) => true,
                    What::Read(_) | What::Observe(_) => declared.at < before,
                    What::Let(node) if node.argument => self.rests_on_facts(id),
                    What::Let(_) | What::Adjustment(_) => false,
                };
                if !early {
                    missing.get_or_insert((id, declared.name.span));
                }
            }
        });
        let Some((id, given)) = missing else { return Some(()) };
        let name = self.value_name(id, step);
        self.report(
            Problem::fault(
                Code::FlowTextTooEarly,
                span,
                format!("`{name}` is not there yet when this text is shown"),
            )
            .and(given, "it comes from here")
            .help("name a fact, or something that is read or observed above"),
        );
        None
    }
}

/// Every value that an expression names.
pub(super) fn each_value(expr: &Expr, take: &mut dyn FnMut(ValueId)) {
    expr.each(&mut |part| {
        if let Node::Value(id) | Node::ValueOutside(id) | Node::Aim(id) = &part.node {
            take(*id);
        }
    });
}
