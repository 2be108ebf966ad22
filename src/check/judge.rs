//! Tolerances: a rule must fit what it judges. A direction needs a value with a direction, a shape needs ordinates, a
//! limit needs an instrument that can see it.

use num_traits::{Signed, Zero};

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Rational, Real, Unit, exact_text, significant};
use crate::source::Span;
use crate::syntax::ast::{self, ExprKind, RuleOf};

use super::Checker;
use super::carried::Typed;
use super::constant::{constant, opposite};
use super::expression::Place;
use super::names::Global;
use super::program::{Expr, Function, Judged, Judgement, Node, Over, Role, Rule, StepId, Test, ValueId};
use super::sense::Direction;
use super::texts::When;

/// A rule with two sides, so that there is a middle to aim at.
pub(super) fn is_band(tolerance: &ast::Tolerance) -> bool {
    matches!(tolerance.rule.what, RuleOf::FromTo(..) | RuleOf::Within { .. })
        && tolerance.rule.window.is_none()
}

impl Checker<'_> {
    pub(super) fn tolerance(&mut self, node: &ast::Tolerance, span: Span, step: StepId) -> Option<Judgement> {
        let place = Place::of(Some(step));
        let value = self.judged_value(&node.result, step)?;
        let subject = self.value(value, node.result.span, place)?;
        let rule = self.rule(&node.rule, &subject, place);
        let when = match &node.when {
            Some(condition) => Some(self.condition(condition, place)?.expr),
            None => None,
        };
        let label = match &node.named {
            Some((_, text)) => Some(self.text(text, Some(step), When::After)?),
            None => None,
        };
        let rule = rule?;
        let over = self.over_whole(node, &subject, &rule, span)?;
        self.check_shape(value, &subject, &rule);
        self.check_direction(node, &subject, &rule, span);
        self.check_resolution(&subject, &rule);
        let name =
            node.named.as_ref().map_or_else(|| self.words(node.result.span), |(name, _)| name.text.clone());
        let of = Judged::Tolerance { value, named: node.named.is_some(), over, rule: Box::new(rule) };
        Some(Judgement { name, label, of, when, span })
    }

    /// A tolerance or a report speaks of a reading or a result of its own step, by name.
    pub(super) fn judged_value(&mut self, node: &ast::Expr, step: StepId) -> Option<ValueId> {
        let ExprKind::Name(path) = &node.what else {
            self.report(
                Problem::fault(
                    Code::RuleByName,
                    node.span,
                    format!("`{}` has no name to be judged or reported by", self.words(node.span)),
                )
                .label("the record shows a result under its name")
                .help("write `let NAME \"what it is\" = ...` above, and judge NAME"),
            );
            return None;
        };
        let value = match self.find(path, Some(step))? {
            Global::Value(value) => value,
            Global::Table(_) => {
                self.report(
                    Problem::fault(
                        Code::RuleByName,
                        node.span,
                        format!("`{}` is a table of limits, not a result", self.words(node.span)),
                    )
                    .help("name the reading or result first, then its rule"),
                );
                return None;
            }
        };
        let owner = self.names.declared.get(value.0)?.step;
        if owner != Some(step) {
            let whose =
                owner.map_or("the whole file".to_string(), |owner| format!("step {}", self.step_name(owner)));
            self.report(
                Problem::fault(
                    Code::RuleByName,
                    node.span,
                    format!("`{}` belongs to {whose}", self.words(node.span)),
                )
                .help("a step judges and reports what is its own: make a result of it with `let` first"),
            );
            return None;
        }
        Some(value)
    }

    /// A laid-out value is judged with `every` or `any`, unless the rule takes its axis itself.
    fn over_whole(
        &mut self,
        node: &ast::Tolerance,
        subject: &Typed,
        rule: &Rule,
        span: Span,
    ) -> Option<Over> {
        let takes_axis = rule.test.takes_axis() || rule.window.is_some();
        let taken = match &rule.window {
            Some(window) if window.second.is_some() => 2,
            _ => usize::from(takes_axis),
        };
        let laid_out = subject.expr.axes.len() > taken;
        match (node.each, laid_out) {
            (None, false) => Some(Over::Whole),
            (Some(ast::Each::Every), true) => Some(Over::Every),
            (Some(ast::Each::Any), true) => Some(Over::Any),
            (None, true) => {
                let axes = self.axis_names(&subject.expr.axes);
                let name = self.words(node.result.span);
                self.report(
                    Problem::fault(
                        Code::RuleEveryOrAny,
                        node.result.span,
                        format!("`{name}` has a value for every {axes}"),
                    )
                    .label("must all of them meet the rule, or one?")
                    .help(format!("write `tolerance every {name} ...` or `tolerance any {name} ...`")),
                );
                None
            }
            (Some(_), false) => {
                self.report(
                    Problem::fault(
                        Code::AxisNotLaidOut,
                        span,
                        format!("`{}` is judged as one", self.words(node.result.span)),
                    )
                    .help("leave `every` or `any` away"),
                );
                None
            }
        }
    }

    /// Convex and concave speak of ordinates; a window of anything along a length.
    fn check_shape(&mut self, value: ValueId, subject: &Typed, rule: &Rule) {
        let shape = matches!(rule.test, Test::Convex { .. } | Test::Concave { .. });
        if !shape && rule.window.is_none() {
            self.hump_without_convex(value, subject, rule);
            return;
        }
        if shape && !self.is_ordinates(value) {
            self.report(
                Problem::fault(
                    Code::RuleConvex,
                    rule.span,
                    format!(
                        "convex and concave speak of departures from a line, and `{}` holds none",
                        self.words(subject.expr.span)
                    ),
                )
                .help("judge a result `let form \"...\" = ordinates(... over place by ends)`"),
            );
            return;
        }
        if shape && !matches!(subject.carried.direction, Direction::Words(_)) {
            self.no_direction(subject, rule.span, "whether plus is a hump or a hollow cannot be told");
        }
    }

    /// Whether a value is made by `ordinates`, perhaps picked or passed on under another name.
    fn is_ordinates(&self, value: ValueId) -> bool {
        let mut value = value;
        for _ in 0..100 {
            let Some(Role::Let(expr)) = self.values.get(value.0).map(|value| &value.role) else {
                return false;
            };
            let mut expr = expr;
            while let Node::Pick(of, _) = &expr.node {
                expr = of;
            }
            match &expr.node {
                Node::Call { function, .. } => return *function == Function::Ordinates,
                Node::Value(id) => value = *id,
                _ => return false,
            }
        }
        false
    }

    fn hump_without_convex(&mut self, value: ValueId, subject: &Typed, rule: &Rule) {
        let Some(Role::Let(Expr { node: Node::Call { function, .. }, .. })) =
            self.values.get(value.0).map(|value| &value.role)
        else {
            return;
        };
        let from_zero =
            matches!(&rule.test, Test::FromTo(low, _) if constant(low).is_some_and(|low| low.is_zero()));
        if matches!(function, Function::Hump | Function::Hollow) && from_zero {
            let name = self.words(subject.expr.span);
            self.report(
                Problem::warning(
                    Code::RuleHumpFromZero,
                    rule.span,
                    format!("`{name}` is never below zero, so `from` zero forbids nothing"),
                )
                .label("a hollow bed passes as well")
                .help("write `at most`, and judge the ordinates with `convex` if only a hump is allowed"),
            );
        }
    }

    /// Signs: a limit on one side needs a value whose sides have words.
    fn check_direction(&mut self, node: &ast::Tolerance, subject: &Typed, rule: &Rule, span: Span) {
        if rule.window.is_some() {
            return;
        }
        let signed = matches!(subject.carried.direction, Direction::Words(_));
        match &rule.test {
            Test::AtMost(limit) | Test::Below(limit) if signed => {
                let (name, limit) = (self.words(node.result.span), self.words(limit.span));
                let minus = subject.expr.sense.as_ref().map_or("", |sense| sense.minus.as_str());
                self.at_most_on_signed(span, &name, &limit, minus);
            }
            Test::Convex { .. } | Test::Concave { .. } | Test::Steady { .. } => {}
            test if subject.is_position()
                && !symmetrical(test)
                && !signed
                && subject.carried.direction != Direction::Unsigned =>
            {
                self.no_direction(subject, rule.span, "the bounds are not the same on both sides of zero");
            }
            _ => {}
        }
    }

    /// The same in a condition that a step must meet: every `at most` in it.
    pub(super) fn check_directions_in(&mut self, condition: &Expr) {
        let mut found = Vec::new();
        condition.each(&mut |part| {
            if let Node::Meets(of, rule) = &part.node
                && let (Test::AtMost(limit) | Test::Below(limit), None, Some(sense)) =
                    (&rule.test, &rule.window, &of.sense)
            {
                found.push((part.span, of.span, limit.span, sense.minus.clone()));
            }
        });
        for (span, name, limit, minus) in found {
            let (name, limit) = (self.words(name), self.words(limit));
            self.at_most_on_signed(span, &name, &limit, &minus);
        }
    }

    fn at_most_on_signed(&mut self, span: Span, name: &str, limit: &str, minus: &str) {
        self.report(
            Problem::fault(Code::SenseAtMost, span, format!("`at most` on `{name}`, which has a sign"))
                .label(format!("any size would pass, \"{minus}\""))
                .help(format!(
                    "write `within {limit}`, or `from ... to {limit}` for one side, or judge `abs({name})`"
                )),
        );
    }

    fn no_direction(&mut self, subject: &Typed, span: Span, why: &str) {
        let name = self.words(subject.expr.span);
        let lost = subject.carried.direction == Direction::Lost;
        let what = if lost { "has lost its sense on the way" } else { "has no sense" };
        let given = match subject.expr.node {
            Node::Value(id) => self.names.declared.get(id.0).map(|declared| declared.name.span),
            _ => None,
        };
        let mut problem = Problem::fault(
            Code::SenseNeeded,
            span,
            format!("this rule has a direction, and `{name}` {what}"),
        )
        .label(why)
        .help(format!(
            "say beneath `let {name}` what `plus` and `minus` mean, or `unsigned` if it is never below zero"
        ));
        if let Some(given) = given {
            problem = problem.and(given, "what its plus means is not said here");
        }
        self.report(problem);
    }

    /// An instrument should show a fifth of the limit.
    fn check_resolution(&mut self, subject: &Typed, rule: &Rule) {
        let Some(dimension) = super::carried::difference_of(&subject.expr.kind) else { return };
        let coarsest =
            subject.carried.resolution.iter().find(|(of, _)| *of == dimension).map(|(_, size)| size.clone());
        let (Some(resolution), Some(limit)) = (coarsest, self.tightest(rule)) else { return };
        let fifth = &limit / Rational::from_integer(5.into());
        if resolution <= fifth {
            return;
        }
        let unit = subject
            .carried
            .unit
            .map(Unit::of_differences)
            .or_else(|| Unit::usual(dimension))
            .unwrap_or(Unit::One);
        // Millimetres in thou hardly ever end.
        let show = |size: &Rational| {
            let size = unit.from_base(&Real::Exact(size.clone()));
            match size.exact().map(exact_text) {
                Some(text) if !text.contains('/') => text,
                _ => significant(size.to_f64(), 4),
            }
        };
        let (resolution, limit, fifth) = (show(&resolution), show(&limit), show(&fifth));
        let symbol = unit.symbol();
        self.report(
            Problem::warning(
                Code::RuleTooFine,
                rule.span,
                format!("the instrument reads {resolution} {symbol}, and the limit can be {limit} {symbol}"),
            )
            .label("coarser than a fifth of the limit: it hardly sees it")
            .help(format!("take an instrument that reads {fifth} {symbol} or finer")),
        );
    }

    /// The smallest limit that is not zero, as far as the file tells.
    fn tightest(&self, rule: &Rule) -> Option<Rational> {
        let sizes: Vec<Rational> = match &rule.test {
            Test::AtMost(a) | Test::Below(a) | Test::AtLeast(a) | Test::Above(a) => {
                self.least_size(a).into_iter().collect()
            }
            Test::FromTo(a, b) => match (constant(a), constant(b)) {
                (Some(a), Some(b)) if a.is_positive() || b.is_negative() => vec![b - a],
                _ => self.least_size(a).into_iter().chain(self.least_size(b)).collect(),
            },
            Test::Within { size, .. } | Test::Steady { within: size, .. } => {
                self.least_size(size).into_iter().collect()
            }
            Test::Convex { .. } | Test::Concave { .. } => Vec::new(),
        };
        let least = sizes.into_iter().filter(|size| !size.is_zero()).map(|size| size.abs()).min()?;
        match rule.floor.as_ref().and_then(constant) {
            Some(floor) if floor > least => Some(floor),
            _ => Some(least),
        }
    }

    /// The least size that a bound can have: a literal, or the least of a table.
    fn least_size(&self, bound: &Expr) -> Option<Rational> {
        if let Some(size) = constant(bound) {
            return Some(size.abs());
        }
        match &bound.node {
            Node::Negate(of) => self.least_size(of),
            Node::Table { table, column, .. } => self.least_in_table(*table, *column),
            _ => None,
        }
    }
}

/// The same on both sides of zero.
fn symmetrical(test: &Test) -> bool {
    match test {
        Test::FromTo(low, high) => opposite(low, high),
        Test::Within { of: None, .. } => true,
        Test::Within { of: Some(of), .. } => constant(of).is_some_and(|of| of.is_zero()),
        _ => false,
    }
}
