//! Expressions: each node resolved, its kind, axes and sense worked out. `None` means that it has been reported.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Unit;
use crate::source::Span;
use crate::syntax::ast::{self, Binary, ExprKind};

use super::carried::{Carried, Typed, is_number, kind_name};
use super::names::Global;
use super::program::{Arithmetic, AxisId, Expr, Kind, Node, StepId, ValueId};
use super::sense::Direction;
use super::{Checker, Slot};

/// Where an expression stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'c> {
    /// Whose values its bare names are.
    pub step: Option<StepId>,
    pub mood: Mood,
    /// In an `ask`: the axes whose current station may be named.
    pub asking: &'c [AxisId],
    /// The unit of a number that has none.
    pub bare: Option<Unit>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mood {
    /// Part of a result or a condition: another step's value is needed for it.
    Works,
    /// Shown in a text or a remedy.
    Shown,
    /// Of a table: names may be observations of the step that uses it.
    Table,
    /// A forecast or the record before: names another step's value without needing it.
    Forecast,
}

impl<'c> Place<'c> {
    pub fn of(step: Option<StepId>) -> Place<'c> {
        Place { step, mood: Mood::Works, asking: &[], bare: None }
    }

    pub fn with(self, mood: Mood) -> Self {
        Place { mood, ..self }
    }

    pub fn bare(self, bare: Option<Unit>) -> Self {
        Place { bare, ..self }
    }
}

impl Checker<'_> {
    pub(super) fn expr(&mut self, node: &ast::Expr, place: Place) -> Option<Typed> {
        let span = node.span;
        // A bare number takes the unit of the question only where it stands alone.
        let inner = place.bare(None);
        match &node.what {
            ExprKind::Quantity(quantity) => self.quantity(quantity, place.bare),
            ExprKind::Date(date) => {
                let date = self.date(date)?;
                Some(plain(Node::Date(date), Kind::Date, span))
            }
            ExprKind::YesNo(yes) => Some(plain(Node::YesNo(*yes), Kind::YesNo, span)),
            ExprKind::Chosen(word, of) => {
                let words = of.iter().map(|word| word.text.clone()).collect();
                Some(plain(Node::Word(word.text.clone()), Kind::Choice(words), span))
            }
            ExprKind::Name(path) => self.name(path, span, inner),
            ExprKind::Call(path, arguments) => self.call(path, arguments, span, inner),
            ExprKind::Pick(of, picks) => {
                let of = self.expr(of, inner)?;
                self.pick(of, picks, span, inner)
            }
            ExprKind::Negate(of) => {
                let of = self.expr(of, inner)?;
                self.negate(of, span)
            }
            ExprKind::PartOf(quantity, of) => {
                let part = self.quantity(quantity, None);
                let of = self.expr(of, inner);
                self.arithmetic(Arithmetic::Multiply, part?, of?, span)
            }
            ExprKind::Power(of, power) => {
                let of = self.expr(of, inner);
                self.power(of?, power, span)
            }
            ExprKind::Binary(Binary::And, left, right) => self.logic(left, right, span, inner, Node::And),
            ExprKind::Binary(Binary::Or, left, right) => self.logic(left, right, span, inner, Node::Or),
            ExprKind::Binary(operation, left, right) => {
                let left = self.expr(left, inner);
                let right = self.expr(right, inner);
                let operation = match operation {
                    Binary::Subtract => Arithmetic::Subtract,
                    Binary::Multiply => Arithmetic::Multiply,
                    Binary::Divide => Arithmetic::Divide,
                    Binary::Add | Binary::And | Binary::Or => Arithmetic::Add,
                };
                self.arithmetic(operation, left?, right?, span)
            }
            ExprKind::Not(of) => {
                let of = self.condition(of, inner)?;
                let axes = of.expr.axes.clone();
                Some(yes_no(Node::Not(Box::new(of.expr)), axes, span))
            }
            ExprKind::Every(of) => self.quantified(of, span, inner, Node::Every),
            ExprKind::Any(of) => self.quantified(of, span, inner, Node::Any),
            ExprKind::Is { left, not, choice } => self.is(left, *not, choice, span, inner),
            ExprKind::Meets(left, rule) => self.meets(left, rule, span, inner),
            ExprKind::Outside(of) => self.outside(of, span, inner),
            ExprKind::OutsideTolerance(path) => {
                let (step, judgement, _) = self.tolerance_named(path, inner)?;
                Some(yes_no(Node::JudgementOutside(step, judgement), Vec::new(), span))
            }
            ExprKind::If { condition, then, otherwise } => {
                self.choose(condition, then, otherwise, span, inner)
            }
        }
    }

    /// An expression that must be a yes or no.
    pub(super) fn condition(&mut self, node: &ast::Expr, place: Place) -> Option<Typed> {
        let typed = self.expr(node, place)?;
        if typed.expr.kind == Kind::YesNo {
            return Some(typed);
        }
        let help = match &typed.expr.kind {
            Kind::Choice(words) => {
                format!(
                    "write `{} is {}`",
                    self.words(node.span),
                    words.first().map_or("...", String::as_str)
                )
            }
            kind if is_number(kind) => format!("compare it, as `{} at most ...`", self.words(node.span)),
            _ => "write what must hold of it".to_string(),
        };
        self.report(
            Problem::fault(
                Code::UnitNotACondition,
                node.span,
                format!(
                    "`{}` is {}, and a condition is wanted here",
                    self.words(node.span),
                    kind_name(&typed.expr.kind)
                ),
            )
            .help(help),
        );
        None
    }

    /// A condition that must be a single yes or no.
    pub(super) fn single_condition(&mut self, node: &ast::Expr, place: Place) -> Option<Expr> {
        let condition = self.condition(node, place)?.expr;
        self.as_a_whole(node, condition)
    }

    /// A yes or no that is one for all, or the fault that it is laid out.
    pub(super) fn as_a_whole(&mut self, node: &ast::Expr, condition: Expr) -> Option<Expr> {
        if condition.axes.is_empty() {
            return Some(condition);
        }
        let axes = self.axis_names(&condition.axes);
        self.report(
            Problem::fault(
                Code::AxisLaidOut,
                node.span,
                format!(
                    "`{}` has a yes or no for every {axes}, and one is wanted here",
                    self.words(node.span)
                ),
            )
            .help(format!("write `every {0}` or `any {0}`", self.words(node.span))),
        );
        None
    }

    /// A value that must be a single one.
    pub(super) fn single(&mut self, node: &ast::Expr, place: Place) -> Option<Typed> {
        let typed = self.expr(node, place)?;
        if typed.expr.axes.is_empty() {
            return Some(typed);
        }
        self.laid_out(&typed);
        None
    }

    pub(super) fn laid_out(&mut self, typed: &Typed) {
        let axes = self.axis_names(&typed.expr.axes);
        self.report(
            Problem::fault(
                Code::AxisLaidOut,
                typed.expr.span,
                format!(
                    "`{}` is laid out over {axes}, and a single value is wanted here",
                    self.words(typed.expr.span)
                ),
            )
            .help("pick a station, as `x[STATION]`, or take one value of all, as `greatest(x)`"),
        );
    }

    fn name(&mut self, path: &ast::Path, span: Span, place: Place) -> Option<Typed> {
        // In an `ask` the name of an axis is its current station, before any value of that name.
        if path.step.is_none()
            && let Some(axis) = place.asking.iter().find(|axis| self.axis_name(**axis) == path.name.text)
        {
            return Some(self.current_station(*axis, span));
        }
        let found = match place.mood {
            Mood::Table if path.step.is_none() && self.names.value(None, &path.name.text).is_none() => {
                self.observed_in_table(path)?
            }
            _ => self.find(path, place.step)?,
        };
        match found {
            Global::Value(value) => self.value(value, span, place),
            Global::Table(table) => self.look_up(table, path, None, span, place),
        }
    }

    /// A name in a table that is no fact: the one observation of that name in the file.
    fn observed_in_table(&mut self, path: &ast::Path) -> Option<Global> {
        let name = path.name.text.as_str();
        let Some(&(first, last)) = self.names.elsewhere.get(name) else { return self.find(path, None) };
        if last != first {
            let (a, b) = (self.step_name(first), self.step_name(last));
            self.report(
                Problem::fault(
                    Code::NameUnknown,
                    path.span,
                    format!("`{name}` is a value of more than one step"),
                )
                .help(format!("say which: `{a}.{name}` or `{b}.{name}`")),
            );
            return None;
        }
        self.names.scopes.get(first.0)?.values.get(name).map(|value| Global::Value(*value))
    }

    /// A value by its identifier, as an expression.
    pub(super) fn value(&mut self, id: ValueId, span: Span, place: Place) -> Option<Typed> {
        if let Some(used) = self.used.get_mut(id.0) {
            *used = true;
        }
        let owner = self.names.declared.get(id.0)?.step;
        if let (Some(own), Some(owner)) = (place.step, owner)
            && own != owner
        {
            match place.mood {
                Mood::Works | Mood::Table => {
                    self.uses.entry((own, owner)).or_insert(span);
                }
                Mood::Shown => self.shown.push((own, id, span)),
                Mood::Forecast => {}
            }
        }
        let Some(Slot::Ready(carried)) = self.carried.get(id.0) else { return None };
        let carried = carried.clone();
        let value = self.values.get(id.0)?;
        let expr = Expr {
            node: Node::Value(id),
            kind: value.kind.clone(),
            axes: value.axes.clone(),
            sense: None,
            span,
        };
        Some(Typed::new(expr, carried))
    }

    fn logic(
        &mut self,
        left: &ast::Expr,
        right: &ast::Expr,
        span: Span,
        place: Place,
        node: fn(Box<Expr>, Box<Expr>) -> Node,
    ) -> Option<Typed> {
        let left = self.condition(left, place);
        let right = self.condition(right, place);
        let (left, right) = (left?, right?);
        let axes = self.meet(&left.expr, &right.expr, span)?;
        Some(yes_no(node(Box::new(left.expr), Box::new(right.expr)), axes, span))
    }

    fn quantified(
        &mut self,
        of: &ast::Expr,
        span: Span,
        place: Place,
        node: fn(Box<Expr>) -> Node,
    ) -> Option<Typed> {
        let of = self.condition(of, place)?;
        if of.expr.axes.is_empty() {
            self.report(
                Problem::fault(
                    Code::AxisNotLaidOut,
                    span,
                    format!("`{}` is a single yes or no", self.words(of.expr.span)),
                )
                .label("there is nothing to go through")
                .help("leave `every` or `any` away"),
            );
            return None;
        }
        Some(yes_no(node(Box::new(of.expr)), Vec::new(), span))
    }

    fn is(
        &mut self,
        left: &ast::Expr,
        not: bool,
        choice: &ast::Choice,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let left = self.expr(left, place)?;
        let right = match (&left.expr.kind, choice) {
            (Kind::Choice(words), ast::Choice::Word(word)) => {
                if !words.contains(&word.text) {
                    let words = words.clone();
                    let help = self
                        .guess(&word.text, words.iter().map(String::as_str))
                        .unwrap_or_else(|| format!("it is one of {}", words.join(", ")));
                    self.report(
                        Problem::fault(
                            Code::NameUnknownChoice,
                            word.span,
                            format!("`{}` is never `{}`", self.words(left.expr.span), word.text),
                        )
                        .help(help),
                    );
                    return None;
                }
                plain(Node::Word(word.text.clone()), left.expr.kind.clone(), word.span)
            }
            (Kind::YesNo, ast::Choice::Word(word)) if word.text == "yes" || word.text == "no" => {
                plain(Node::YesNo(word.text == "yes"), Kind::YesNo, word.span)
            }
            (Kind::Text, ast::Choice::Text(text)) => {
                plain(Node::Text(text.plain().unwrap_or_default()), Kind::Text, text.span)
            }
            (kind, _) => {
                let help = match kind {
                    Kind::Choice(words) => format!("after `is` write one of {}", words.join(", ")),
                    Kind::YesNo => "after `is` write yes or no".to_string(),
                    Kind::Text => "after `is` write a text in quotes".to_string(),
                    Kind::Date => "write `before` or `after` and a date".to_string(),
                    _ => "write `at most`, `at least`, `from .. to` or `within`".to_string(),
                };
                let found = kind_name(kind);
                self.report(
                    Problem::fault(
                        Code::UnitMismatch,
                        span,
                        format!(
                            "`{}` is {found}, which cannot be compared like that",
                            self.words(left.expr.span)
                        ),
                    )
                    .help(help),
                );
                return None;
            }
        };
        let axes = left.expr.axes.clone();
        let is = Node::Is(Box::new(left.expr), Box::new(right.expr));
        if !not {
            return Some(yes_no(is, axes, span));
        }
        let is = yes_no(is, axes.clone(), span);
        Some(yes_no(Node::Not(Box::new(is.expr)), axes, span))
    }

    fn choose(
        &mut self,
        condition: &ast::Expr,
        then: &ast::Expr,
        otherwise: &ast::Expr,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let condition = self.condition(condition, place);
        let then = self.expr(then, place);
        let otherwise = self.expr(otherwise, place);
        let (condition, mut then, mut otherwise) = (condition?, then?, otherwise?);
        self.same_kind(&mut then, &mut otherwise, "the two branches of an `if`")?;
        let axes = self.meet(&then.expr, &otherwise.expr, span)?;
        let laid = Expr { axes, ..then.expr.clone() };
        let axes = self.meet(&condition.expr, &laid, span)?;
        let direction = match (&then.carried.direction, &otherwise.carried.direction) {
            (a, b) if a == b => a.clone(),
            (Direction::Words(a), Direction::Words(b)) => {
                self.report(
                    Problem::fault(
                        Code::SenseBranches,
                        span,
                        "the two branches of an `if` point in different ways",
                    )
                    .label(format!("plus is \"{}\" in one and \"{}\" in the other", a.plus, b.plus))
                    .help(
                        "bring both to one sense, for instance with a minus, or with words beneath a `let`",
                    ),
                );
                return None;
            }
            (Direction::Plain, other) | (other, Direction::Plain) => other.clone(),
            _ => Direction::Lost,
        };
        let carried = Carried {
            direction,
            positive: then.carried.positive.filter(|sign| otherwise.carried.positive == Some(*sign)),
            resolution: then.carried.resolution_with(&otherwise.carried),
            ..then.carried.clone()
        };
        let kind = then.expr.kind.clone();
        let node = Node::If {
            condition: Box::new(condition.expr),
            then: Box::new(then.expr),
            otherwise: Box::new(otherwise.expr),
        };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    fn outside(&mut self, of: &ast::Expr, span: Span, place: Place) -> Option<Typed> {
        let ExprKind::Name(path) = &of.what else {
            self.report(
                Problem::fault(
                    Code::RuleByName,
                    of.span,
                    "`outside` speaks of a reading or a result by its name",
                )
                .help("give the value a name with `let`, and write that"),
            );
            return None;
        };
        let value = self.find_value(path, place.step)?;
        self.value(value, of.span, place);
        if self.tolerances_on(value).is_empty() {
            self.report(
                Problem::fault(
                    Code::RuleNoTolerance,
                    of.span,
                    format!("no tolerance judges `{}`", self.words(of.span)),
                )
                .label("so it is never outside")
                .help(format!(
                    "add a line `tolerance {} ...`, or compare it with a limit here",
                    path.name.text
                )),
            );
            return None;
        }
        Some(yes_no(Node::ValueOutside(value), Vec::new(), span))
    }
}

/// A value without axes, unit or sense.
pub(super) fn plain(node: Node, kind: Kind, span: Span) -> Typed {
    Typed::new(Expr { node, kind, axes: Vec::new(), sense: None, span }, Carried::default())
}

pub(super) fn yes_no(node: Node, axes: Vec<AxisId>, span: Span) -> Typed {
    Typed::new(Expr { node, kind: Kind::YesNo, axes, sense: None, span }, Carried::default())
}
