//! Rules: what a value is held against, in tolerances and in conditions.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, ExprKind, RuleOf};

use super::Checker;
use super::carried::{Typed, difference_of, is_number, kind_name};
use super::constant::constant;
use super::expression::{Place, yes_no};
use super::program::{AxisId, Expr, Kind, Node, Rule, Test, Window, WindowBy};

impl Checker<'_> {
    /// `x at most 3 mm` as a condition.
    pub(super) fn meets(
        &mut self,
        left: &ast::Expr,
        rule: &ast::Rule,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let left = self.expr(left, place)?;
        if let RuleOf::Before(day) | RuleOf::After(day) = &rule.what {
            return self.dates(left, day, matches!(rule.what, RuleOf::Before(_)), span, place);
        }
        let subject = left.clone();
        let rule = self.rule(rule, &subject, place)?;
        let takes_axes = rule.test.takes_axis() || rule.window.is_some();
        let axes = match &rule.test {
            Test::Steady { .. } => {
                left.expr.axes.iter().copied().filter(|axis| !self.is_time(*axis)).collect()
            }
            _ if takes_axes => Vec::new(),
            _ => left.expr.axes.clone(),
        };
        Some(yes_no(Node::Meets(Box::new(left.expr), Box::new(rule)), axes, span))
    }

    fn dates(
        &mut self,
        left: Typed,
        day: &ast::Expr,
        before: bool,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let right = self.expr(day, place)?;
        for side in [&left, &right] {
            if side.expr.kind != Kind::Date {
                let found = kind_name(&side.expr.kind);
                self.report(
                    Problem::fault(
                        Code::UnitMismatch,
                        side.expr.span,
                        format!(
                            "`{}` is {found}, and `before` and `after` are of dates",
                            self.words(side.expr.span)
                        ),
                    )
                    .help("write a date as 2026-03-02; numbers are compared with `below` and `above`"),
                );
                return None;
            }
        }
        let axes = self.meet(&left.expr, &right.expr, span)?;
        let node = Node::Dates { left: Box::new(left.expr), before, right: Box::new(right.expr) };
        Some(yes_no(node, axes, span))
    }

    pub(super) fn rule(&mut self, rule: &ast::Rule, subject: &Typed, place: Place) -> Option<Rule> {
        if !is_number(&subject.expr.kind) {
            let found = kind_name(&subject.expr.kind);
            let help = match &subject.expr.kind {
                Kind::Choice(words) => format!(
                    "write `{} is {}`",
                    self.words(subject.expr.span),
                    words.first().map_or("...", String::as_str)
                ),
                Kind::YesNo => "it is a condition already: judge it with `require`".to_string(),
                _ => "only numbers are judged by a rule".to_string(),
            };
            self.report(
                Problem::fault(
                    Code::UnitNotANumber,
                    subject.expr.span,
                    format!("`{}` is {found}, which no limit can hold", self.words(subject.expr.span)),
                )
                .help(help),
            );
            return None;
        }
        let test = self.test(rule, subject, place);
        let per = match &rule.per {
            None => Some(None),
            Some((length, over)) => self.per_length(length, over, place).map(Some),
        };
        let floor = self.optional_bound(rule.floor.as_ref(), subject, place);
        let cap = self.optional_bound(rule.cap.as_ref(), subject, place);
        let window = match &rule.window {
            None => Some(None),
            Some(window) => self.window(window, subject, place).map(Some),
        };
        let rule =
            Rule { test: test?, per: per?, floor: floor?, cap: cap?, window: window?, span: rule.span };
        self.bounds_cross(&rule)?;
        self.no_projection(&subject.expr, rule.span)?;
        let mut limits = Vec::new();
        rule.each(&mut |part| limits.push(part));
        for limit in limits {
            self.no_projection(limit, limit.span)?;
        }
        Some(rule)
    }

    fn test(&mut self, rule: &ast::Rule, subject: &Typed, place: Place) -> Option<Test> {
        match &rule.what {
            RuleOf::AtMost(limit) => Some(Test::AtMost(self.bound(limit, subject, place)?)),
            RuleOf::AtLeast(limit) => Some(Test::AtLeast(self.bound(limit, subject, place)?)),
            RuleOf::Above(limit) => Some(Test::Above(self.bound(limit, subject, place)?)),
            RuleOf::Below(limit) => Some(Test::Below(self.bound(limit, subject, place)?)),
            RuleOf::FromTo(low, high) => {
                let (low, high) = (self.bound(low, subject, place), self.bound(high, subject, place));
                Some(Test::FromTo(low?, high?))
            }
            RuleOf::Within { bound, of } => self.within(bound, of.as_ref(), subject, place),
            RuleOf::Convex { allowance } => {
                Some(Test::Convex { allowance: self.optional_bound(allowance.as_ref(), subject, place)? })
            }
            RuleOf::Concave { allowance } => {
                Some(Test::Concave { allowance: self.optional_bound(allowance.as_ref(), subject, place)? })
            }
            RuleOf::Steady { within, duration } => {
                let axis = self.axis_of_times(subject, rule.span)?;
                let (within, duration) =
                    (self.difference(within, subject, place), self.duration(duration, axis, place));
                Some(Test::Steady { within: within?, duration: duration? })
            }
            RuleOf::Before(_) | RuleOf::After(_) => {
                self.report(
                    Problem::fault(
                        Code::UnitMismatch,
                        rule.span,
                        "`before` and `after` are of dates, and this is a number",
                    )
                    .help("write `below` or `above`"),
                );
                None
            }
        }
    }

    fn within(
        &mut self,
        bound: &ast::Expr,
        of: Option<&ast::Expr>,
        subject: &Typed,
        place: Place,
    ) -> Option<Test> {
        if let (ExprKind::PartOf(part, whole), None) = (&bound.what, of) {
            let whole = self.words(whole.span);
            let help = match part.number.text.parse::<f64>() {
                Ok(number) => format!("write `within {} * {whole} of {whole}`", number / 100.0),
                Err(_) => format!("write `within 0.05 * {whole} of {whole}`"),
            };
            self.report(
                Problem::fault(
                    Code::RulePercentWithin,
                    bound.span,
                    format!(
                        "`within {}` would be that part of it, either side of zero",
                        self.words(bound.span)
                    ),
                )
                .label("about which value is not said")
                .help(help),
            );
            return None;
        }
        let size = self.difference(bound, subject, place);
        let of = match of {
            Some(of) => Some(self.bound(of, subject, place)?),
            None if subject.expr.kind == Kind::Point => {
                self.report(
                    Problem::fault(
                        Code::UnitTemperature,
                        bound.span,
                        "a temperature is within so many kelvin of something, not of zero",
                    )
                    .help("write `within 2 K of 20 degC`"),
                );
                return None;
            }
            None => None,
        };
        Some(Test::Within { size: size?, of })
    }

    fn optional_bound(
        &mut self,
        bound: Option<&ast::Expr>,
        subject: &Typed,
        place: Place,
    ) -> Option<Option<Expr>> {
        match bound {
            None => Some(None),
            Some(bound) => self.difference(bound, subject, place).map(Some),
        }
    }

    /// A limit of the kind of what is judged; laid out at most as that is.
    fn bound(&mut self, bound: &ast::Expr, subject: &Typed, place: Place) -> Option<Expr> {
        let bound = self.expr(bound, place)?;
        self.fit(bound, subject)
    }

    /// A width, an allowance, a floor: of the kind of a difference.
    fn difference(&mut self, bound: &ast::Expr, subject: &Typed, place: Place) -> Option<Expr> {
        let bound = self.expr(bound, place)?;
        let mut against = subject.clone();
        if let Some(dimension) = difference_of(&subject.expr.kind)
            && subject.expr.kind != Kind::Count
        {
            against.expr.kind = Kind::Quantity(dimension);
            against.carried.unit = subject.carried.unit.map(Unit::of_differences);
        }
        self.fit(bound, &against)
    }

    fn fit(&mut self, mut bound: Typed, subject: &Typed) -> Option<Expr> {
        self.must_be_number(&bound)?;
        let mut against = subject.clone();
        self.same_kind(&mut against, &mut bound, "held against each other")?;
        if bound.expr.axes.is_empty() {
            return Some(bound.expr);
        }
        // A laid-out bound must not spread wider than what it judges.
        let axes = self.meet(&subject.expr, &bound.expr, bound.expr.span)?;
        if axes.len() > subject.expr.axes.len() {
            self.laid_out(&bound);
            return None;
        }
        Some(bound.expr)
    }

    fn per_length(&mut self, length: &ast::Expr, over: &ast::Expr, place: Place) -> Option<(Expr, Expr)> {
        let (length, over) = (self.single(length, place), self.single(over, place));
        let (mut length, mut over) = (length?, over?);
        self.must_be_number(&length)?;
        self.same_kind(&mut length, &mut over, "set against each other after `per`")?;
        for side in [&length, &over] {
            if constant(&side.expr).is_some_and(|size| !num_traits::Signed::is_positive(&size)) {
                self.report(
                    Problem::fault(
                        Code::RulePer,
                        side.expr.span,
                        format!("a limit cannot be stated per `{}`", self.words(side.expr.span)),
                    )
                    .help("write `per 300 mm over` and the length that was measured"),
                );
                return None;
            }
        }
        Some((length.expr, over.expr))
    }

    fn window(&mut self, window: &ast::Window, subject: &Typed, place: Place) -> Option<Window> {
        let by = match window.by {
            ast::WindowBy::Spread => WindowBy::Spread,
            ast::WindowBy::Chord => WindowBy::Chord,
        };
        if let Some(second) = &window.second {
            self.two_length_axes(&subject.expr, window)?;
            let length = self.window_side(&window.length, Dimension::LENGTH, subject, place);
            let second = self.window_side(second, Dimension::LENGTH, subject, place);
            return Some(Window { length: length?, second: Some(second?), by });
        }
        let axis = self.length_axis(&subject.expr, window.span)?;
        let dimension = self.axes.get(axis.0).and_then(|axis| axis.dimension).unwrap_or(Dimension::LENGTH);
        let length = self.window_side(&window.length, dimension, subject, place)?;
        Some(Window { length, second: None, by })
    }

    /// A window over two lengths is taken by its spread: it has no one chord.
    fn two_length_axes(&mut self, subject: &Expr, window: &ast::Window) -> Option<()> {
        let lengths = subject.axes.iter().filter_map(|axis| self.axes.get(axis.0));
        let lengths = lengths.filter(|axis| axis.dimension == Some(Dimension::LENGTH)).count();
        let (message, help) = match window.by {
            _ if lengths != 2 => (
                format!(
                    "this window goes over two lengths, and `{}` is not laid out over two",
                    self.words(subject.span)
                ),
                "judge `ordinates(h over along and across by least_squares)` of a reading with two `over` lines; along one length write `in any 250 mm`",
            ),
            ast::WindowBy::Chord => (
                "a window over two lengths has no chord".to_string(),
                "write `by spread`: greatest less least ordinate in it",
            ),
            ast::WindowBy::Spread => return Some(()),
        };
        self.report(Problem::fault(Code::RuleWindow, window.span, message).help(help));
        None
    }

    pub(super) fn window_side(
        &mut self,
        side: &ast::Expr,
        dimension: Dimension,
        subject: &Typed,
        place: Place,
    ) -> Option<Expr> {
        let length = self.single(side, place)?;
        if length.expr.kind != Kind::Quantity(dimension) {
            let (found, wanted) = (kind_name(&length.expr.kind), dimension.name());
            self.report(
                Problem::fault(
                    Code::UnitMismatch,
                    side.span,
                    format!(
                        "the window is {found}, and `{}` is laid out over {wanted}",
                        self.words(subject.expr.span)
                    ),
                )
                .help("write the length of the window, as `in any 250 mm`"),
            );
            return None;
        }
        if constant(&length.expr).is_some_and(|size| !num_traits::Signed::is_positive(&size)) {
            self.fault(Code::RuleWindow, side.span, "a window must be longer than nothing");
            return None;
        }
        Some(length.expr)
    }

    /// The one axis with positions that a window or a shape is taken along.
    pub(super) fn length_axis(&mut self, subject: &Expr, span: Span) -> Option<AxisId> {
        let mut with_positions = subject
            .axes
            .iter()
            .copied()
            .filter(|axis| self.axes.get(axis.0).is_some_and(|axis| axis.dimension.is_some()));
        if let (Some(axis), None) = (with_positions.next(), with_positions.next()) {
            return Some(axis);
        }
        self.report(
            Problem::fault(
                Code::RuleWindow,
                span,
                format!(
                    "this rule goes along one length, and `{}` is not laid out over exactly one",
                    self.words(subject.span)
                ),
            )
            .help("judge `ordinates(... over place by ends)` of a reading at stations along a length"),
        );
        None
    }

    fn bounds_cross(&mut self, rule: &Rule) -> Option<()> {
        use num_traits::Signed;
        let cross = match &rule.test {
            Test::FromTo(low, high) => {
                constant(low).zip(constant(high)).is_some_and(|(low, high)| low > high)
            }
            Test::Within { size, .. } | Test::Steady { within: size, .. } => {
                constant(size).is_some_and(|size| size.is_negative())
            }
            Test::Convex { allowance } | Test::Concave { allowance } => {
                allowance.as_ref().and_then(constant).is_some_and(|size| size.is_negative())
            }
            _ => false,
        };
        if cross {
            self.report(
                Problem::fault(Code::RuleBoundsCross, rule.span, "no value can meet these bounds")
                    .help("write the smaller bound first; a width or an allowance is never below zero"),
            );
            return None;
        }
        if let (Some(floor), Some(cap)) =
            (rule.floor.as_ref().and_then(constant), rule.cap.as_ref().and_then(constant))
            && floor > cap
        {
            self.report(Problem::fault(Code::RuleBoundsCross, rule.span, "the floor lies above the cap"));
            return None;
        }
        Some(())
    }
}
