//! Facts and results: kind, unit, sense. Lowered in the order that `order` gives, so that all they rest on is there.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, KindOf};

use super::carried::{Carried, Typed, dimension_of, is_position, kind_name};
use super::expression::Place;
use super::literal::kind_of;
use super::names::What;
use super::order::Unit as Rests;
use super::program::{Arithmetic, Expr, Kind, Node, Role, StepId, ValueId};
use super::sense::{Direction, of_let};
use super::{Checker, Slot, constant};

/// A choice is picked by a person who reads all of it.
const MOST_CHOICES: usize = 100;

/// An inclusive range as lowered.
pub(super) type Bounds = (Expr, Expr);

impl Checker<'_> {
    pub(super) fn lower_values(&mut self) {
        self.reserve_file_axes();
        let order = self.order();
        for cycle in &order.cycles {
            self.report_cycle(cycle);
            for unit in cycle {
                match unit {
                    Rests::Value(value) => self.settle(*value, None),
                    Rests::Table(table) => self.fail_table(*table),
                    Rests::Axis(axis) => {
                        self.failed_axes.insert(*axis);
                    }
                }
            }
        }
        self.reserve_tables();
        self.rank = vec![usize::MAX; self.names.declared.len()];
        for (at, unit) in order.units.into_iter().enumerate() {
            match unit {
                Rests::Value(value) => {
                    if let Some(rank) = self.rank.get_mut(value.0) {
                        *rank = at;
                    }
                    if let Some(Slot::Waiting) = self.carried.get(value.0) {
                        let carried = self.lower_value(value);
                        self.settle(value, carried);
                    }
                }
                Rests::Table(table) => self.lower_table(table),
                Rests::Axis(axis) => {
                    if !self.failed_axes.contains(&axis) {
                        self.lower_file_axis(axis);
                    }
                }
            }
        }
    }

    fn settle(&mut self, value: ValueId, carried: Option<Carried>) {
        if let Some(carried) = &carried
            && let Some(value) = self.values.get_mut(value.0)
        {
            let by_station = matches!(value.role, Role::Let(_)) && !value.station_senses.is_empty();
            value.sense = carried.direction.words().filter(|_| !by_station).cloned();
        }
        if let Some(slot) = self.carried.get_mut(value.0) {
            *slot = carried.map_or(Slot::Failed, Slot::Ready);
        }
    }

    fn lower_value(&mut self, id: ValueId) -> Option<Carried> {
        let declared = *self.names.declared.get(id.0)?;
        match declared.what {
            What::Fact(fact) => self.fact(id, fact),
            What::Let(node) => self.result(id, node, declared.step),
            What::Read(read) => self.reading(id, read, declared.step, declared.at),
            What::Observe(observe) => self.observation(id, observe, declared.step),
            What::Adjustment(node) => self.adjustment(id, node, declared.step),
        }
    }

    fn fact(&mut self, id: ValueId, fact: &ast::Fact) -> Option<Carried> {
        let (kind, unit, bounds) = self.kind(&fact.kind, &fact.name.text, None)?;
        let carried = self.asked(&kind, unit, bounds.as_ref());
        let value = self.values.get_mut(id.0)?;
        value.kind = kind;
        value.unit = unit;
        value.role = Role::Fact { bounds };
        Some(carried)
    }

    /// What a value that is asked for once carries. Facts have no direction of their own; they count as above zero
    /// unless their range says otherwise.
    pub(super) fn asked(&self, kind: &Kind, unit: Option<Unit>, bounds: Option<&Bounds>) -> Carried {
        use num_traits::Signed;
        let low = bounds.and_then(|(low, _)| constant::constant(low));
        let high = bounds.and_then(|(_, high)| constant::constant(high));
        let positive = match low {
            Some(low) if low.is_negative() => high.filter(|high| !high.is_positive()).map(|_| false),
            None if *kind == Kind::Point => None,
            _ => Some(true),
        };
        Carried { positive, ..unit.map_or_else(Carried::default, Carried::in_unit) }
    }

    /// The kind of an answer, with its unit and range.
    pub(super) fn kind(
        &mut self,
        kind: &ast::Kind,
        of: &str,
        step: Option<StepId>,
    ) -> Option<(Kind, Option<Unit>, Option<Bounds>)> {
        match &kind.what {
            KindOf::Text => Some((Kind::Text, None, None)),
            KindOf::YesOrNo => Some((Kind::YesNo, None, None)),
            KindOf::Date => Some((Kind::Date, None, None)),
            KindOf::Count => Some((Kind::Count, None, None)),
            KindOf::Photo if step.is_none() => {
                self.report(
                    Problem::fault(
                        Code::NameNotThat,
                        kind.span,
                        format!("`{of}` cannot be a photo: a fact is something that is typed"),
                    )
                    .help("take the photo in a step, with `observe`"),
                );
                None
            }
            KindOf::Photo => Some((Kind::Photo, None, None)),
            KindOf::OneOf(words) if words.len() > MOST_CHOICES => {
                self.report(
                    Problem::fault(
                        Code::NameTooManyChoices,
                        kind.span,
                        format!("`{of}` offers {} words to choose from", words.len()),
                    )
                    .help(format!("offer at most {MOST_CHOICES}, or ask for a `text`")),
                );
                None
            }
            KindOf::OneOf(words) => {
                let mut seen = std::collections::HashMap::new();
                for word in words {
                    if let Some(first) = seen.insert(word.text.as_str(), word.span) {
                        self.report(
                            Problem::fault(
                                Code::NameTaken,
                                word.span,
                                format!("`{}` is offered twice", word.text),
                            )
                            .label("the second")
                            .and(first, "the first")
                            .help("leave one of them away"),
                        );
                        return None;
                    }
                }
                Some((Kind::Choice(words.iter().map(|word| word.text.clone()).collect()), None, None))
            }
            KindOf::In(name, range) => {
                let unit = self.unit(name)?;
                let bounds = match range {
                    Some(range) => Some(self.range(range, unit, Place::of(step))?),
                    None => None,
                };
                Some((kind_of(unit), Some(unit), bounds))
            }
        }
    }

    /// `from A to B` of something asked in `unit`; a bare number is in that unit.
    pub(super) fn range(&mut self, range: &ast::Range, unit: Unit, place: Place) -> Option<Bounds> {
        let place = place.bare(Some(unit));
        let (low, high) = (self.single(&range.from, place), self.single(&range.to, place));
        let (low, high) = (low?, high?);
        let kind = kind_of(unit);
        for bound in [&low, &high] {
            let alike = bound.expr.kind == kind
                || dimension_of(&bound.expr.kind)
                    .is_some_and(|dimension| Some(dimension) == dimension_of(&kind));
            if !alike {
                let (wanted, found) = (kind_name(&kind), kind_name(&bound.expr.kind));
                self.report(
                    Problem::fault(
                        Code::UnitMismatch,
                        bound.expr.span,
                        format!(
                            "the range is of {wanted} in {}, and `{}` is {found}",
                            unit.symbol(),
                            self.words(bound.expr.span)
                        ),
                    )
                    .help(format!("write the bound in {}", unit.symbol())),
                );
                return None;
            }
        }
        if let (Some(a), Some(b)) = (constant::constant(&low.expr), constant::constant(&high.expr))
            && a > b
        {
            self.report(
                Problem::fault(Code::RuleBoundsCross, range.span, "the range ends below where it begins")
                    .help("write the smaller bound first"),
            );
            return None;
        }
        Some((low.expr, high.expr))
    }

    fn result(&mut self, id: ValueId, node: &ast::Let, step: Option<StepId>) -> Option<Carried> {
        let unit = match &node.unit {
            Some(name) => Some(self.unit(name)?),
            None => None,
        };
        let typed = self.expr(&node.value, Place::of(step))?;
        let typed = self.in_its_unit(typed, unit, node)?;
        let said = self.sense_lines(&node.name.text, of_let(&node.sense));
        let mut carried = typed.carried.clone();
        match &said {
            Some((direction, span)) => {
                self.check_said(node, &typed, direction, *span);
                carried.direction = direction.clone();
                if *direction == Direction::Unsigned {
                    carried.positive = Some(true);
                }
            }
            None => self.ask_for_words(node, &typed),
        }
        let projection = self.is_projection(&typed.expr);
        let own_senses = match said {
            Some(_) => Vec::new(),
            None => self.carried_senses(&typed.expr, &carried.direction),
        };
        let value = self.values.get_mut(id.0)?;
        value.projection = projection;
        value.station_senses = own_senses;
        value.kind = typed.expr.kind.clone();
        value.axes = typed.expr.axes.clone();
        value.unit = carried.unit;
        value.role = Role::Let(typed.expr);
        // An amount said in div is still worked out in the unit of the scale.
        Some(carried)
    }

    /// The unit in which a result is shown: said, or clear from what it is made of.
    fn in_its_unit(&mut self, mut typed: Typed, said: Option<Unit>, node: &ast::Let) -> Option<Typed> {
        // An arrow is shown in the unit of its size.
        let kind = match typed.expr.kind.clone() {
            Kind::Arrow(dimension) => Kind::Quantity(dimension),
            kind => kind,
        };
        if let Some(unit) = said {
            let fits = match &kind {
                Kind::Point => unit.is_point(),
                kind => !unit.is_point() && dimension_of(kind) == Some(unit.dimension()),
            };
            if !fits {
                let (found, wanted) = (kind_name(&kind), kind_name(&kind_of(unit)));
                let mut problem = Problem::fault(
                    Code::UnitMismatch,
                    node.unit.as_ref().map_or(node.name.span, |unit| unit.span),
                    format!("`{}` is {found}, and {} is a unit of {wanted}", node.name.text, unit.symbol()),
                )
                .and(node.value.span, found.to_string());
                problem.help = match dimension_of(&kind) {
                    Some(Dimension::NONE) => Some("write `in mm/m`, `in %` or `in 1`".to_string()),
                    Some(Dimension::DIVISION) => {
                        Some("give the instrument a line `scale 0.02 mm/m per div`, so that divisions have a meaning".to_string())
                    }
                    dimension => dimension.and_then(Unit::usual).map(|unit| format!("write `in {}`", unit.symbol())),
                };
                self.report(problem);
                return None;
            }
            typed.carried.unit = Some(unit);
            typed.carried.slope = unit.is_slope();
            return Some(typed);
        }
        let Kind::Quantity(dimension) = kind else {
            if kind != Kind::Point {
                typed.carried.unit = None;
            }
            return Some(typed);
        };
        let carried = typed.carried.unit.filter(|unit| unit.dimension() == dimension && !unit.is_point());
        let plain = dimension.is_none() && !is_ratio(&typed.expr);
        let unit = carried.or_else(|| Unit::usual(dimension)).or(plain.then_some(Unit::One));
        if unit.is_none() {
            let (message, help) = match dimension.is_none() {
                true => (
                    format!("`{}` is a ratio, and nobody can tell how it is to be shown", node.name.text),
                    "write behind it `in mm/m`, `in %` or `in 1`".to_string(),
                ),
                false => (
                    format!(
                        "`{}` comes out as {}, for which there is no unit",
                        node.name.text,
                        dimension.name()
                    ),
                    "see whether a factor is missing or too many".to_string(),
                ),
            };
            self.report(Problem::fault(Code::UnitOfRatio, node.value.span, message).help(help));
            return None;
        }
        typed.carried.unit = unit;
        Some(typed)
    }

    /// Words beneath a `let` against what carries over.
    fn check_said(&mut self, node: &ast::Let, typed: &Typed, said: &Direction, span: Span) {
        let name = &node.name.text;
        match (&typed.carried.direction, said) {
            (Direction::Words(from), Direction::Words(to)) if *to == from.flipped() => self.report(
                Problem::warning(Code::SenseTurned, span, format!("these words turn `{name}` round"))
                    .label(format!("what comes in has plus \"{}\"", from.plus))
                    .help("take a minus into the expression if it is meant to turn, or leave the words away"),
            ),
            (Direction::Words(from), Direction::Unsigned) => self.report(
                Problem::fault(
                    Code::SenseNotUnsigned,
                    span,
                    format!("`{name}` has a sign and is said to have none"),
                )
                .label(format!("plus is \"{}\", minus is \"{}\"", from.plus, from.minus))
                .help("write `abs(...)` if only the size counts, or leave the line away"),
            ),
            (Direction::Unsigned, Direction::Words(_)) => self.report(
                Problem::warning(
                    Code::SenseTurned,
                    span,
                    format!("`{name}` is never below zero, so the words for minus are never said"),
                )
                .help("leave the words away"),
            ),
            _ => {}
        }
        if let Node::Call { function: super::program::Function::Machine, arguments, over, .. } =
            &typed.expr.node
            && let Direction::Words(said) = said
            && over.iter().any(|axis| {
                matches!(
                    self.axes.get(axis.0).and_then(|axis| axis.pair.as_ref()),
                    Some(super::program::Pair::Turns(_))
                )
            })
            && arguments.first().and_then(|of| of.sense.as_ref()) == Some(said)
        {
            self.report(
                Problem::fault(
                    Code::SenseTurnsSameWords,
                    span,
                    format!("`{name}` has the very words of the reading"),
                )
                .label(
                    "the reading turns round with the instrument, so its plus speaks of the instrument's end",
                )
                .help("say what plus means for the machine, as \"front high\""),
            );
        }
    }

    /// A difference of two stations keeps its sense, but deserves words of its own.
    fn ask_for_words(&mut self, node: &ast::Let, typed: &Typed) {
        let Node::Arithmetic(Arithmetic::Subtract, left, right) = &typed.expr.node else { return };
        let (Node::Pick(a, _), Node::Pick(b, _)) = (&left.node, &right.node) else { return };
        if constant::same(a, b)
            && is_position(&typed.expr.kind, typed.carried.slope)
            && typed.expr.sense.is_some()
        {
            self.report(
                Problem::warning(
                    Code::SenseStationDifference,
                    node.name.span,
                    format!(
                        "`{}` is a difference between two stations and has no words of its own",
                        node.name.text
                    ),
                )
                .label("it says how much more there is at one station than at the other")
                .help("add `plus` and `minus` beneath it, as plus \"front rises toward the tail\""),
            );
        }
    }
}

/// Made by setting two values with units against each other, so that it may be meant as mm/m or as a plain number.
fn is_ratio(expr: &Expr) -> bool {
    let unitless = |expr: &Expr| dimension_of(&expr.kind).is_some_and(Dimension::is_none);
    match &expr.node {
        Node::Arithmetic(Arithmetic::Add | Arithmetic::Subtract, a, b) => is_ratio(a) || is_ratio(b),
        Node::Arithmetic(_, a, b) => !unitless(a) || !unitless(b) || is_ratio(a) || is_ratio(b),
        Node::If { then, otherwise, .. } => is_ratio(then) || is_ratio(otherwise),
        Node::Negate(of) | Node::Power(of, _) | Node::Pick(of, _) => is_ratio(of),
        Node::Call { .. } => true,
        _ => false,
    }
}
