//! Series in time: their rows, what ends them, what is asked with them, and spans of time in functions and rules.
//!
//! What is projected beyond the readings is marked here, and kept out of every rule.

use num_traits::Signed;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Rational, Unit, exact_text};
use crate::source::Span;
use crate::syntax::ast::{self, ReadLine};

use super::Checker;
use super::answers::{literal_expr, value_name};
use super::carried::{Typed, kind_name};
use super::command::{Commands, Found, Standing};
use super::constant::constant;
use super::expression::Place;
use super::literal::base_of;
use super::program::{
    Axis, AxisId, Expr, Function, Join, Kind, Node, Role, Series, StationPick, Stations, StepId, ValueId,
};

/// Functions that look back over a span of time.
pub(super) fn takes_span(function: Function) -> bool {
    matches!(function, Function::Change | Function::Rate)
}

/// `[time first]`, `[time last]`: the rows that are always there.
pub(super) fn is_end_of_series(axis: &Axis, word: &ast::Name) -> bool {
    matches!(axis.stations, Stations::Time { .. }) && matches!(word.text.as_str(), "first" | "last")
}

/// More rows than anyone reads.
const MOST_ROWS: i64 = 100_000;

impl<'a> Checker<'a> {
    pub(super) fn time_axis(&mut self, reading: ValueId, span: Span) -> AxisId {
        let axis = self.made_axis("time", Stations::Time { reading }, span);
        if let Some(made) = self.axes.get_mut(axis.0) {
            made.dimension = Some(Dimension::TIME);
        }
        axis
    }

    pub(super) fn is_time(&self, axis: AxisId) -> bool {
        self.axes.get(axis.0).is_some_and(|axis| axis.dimension == Some(Dimension::TIME))
    }

    /// The series of a reading, without what ends it: that is lowered with the step. `Err`: reported.
    pub(super) fn series(&mut self, read: &'a ast::Read) -> Result<Option<Series>, ()> {
        let mut found = None;
        for line in &read.lines {
            if let ReadLine::Every { period, at_most } = &line.what {
                found = Some((period, at_most, line.span));
            }
        }
        let Some((period, at_most, span)) = found else {
            let alone = read.lines.iter().find(|line| matches!(line.what, ReadLine::Until(_)));
            let Some(line) = alone else { return Ok(None) };
            self.report(
                Problem::fault(
                    Code::SeriesAlone,
                    line.span,
                    format!("`until` ends a series, and `{}` is read once", read.name.text),
                )
                .help("add a line beneath the reading: every 10 min for at most 2 h"),
            );
            return Err(());
        };
        for line in &read.lines {
            let what = match &line.what {
                ReadLine::Times { most: Some(_), .. } => "as many repeats as wanted",
                ReadLine::Remeasure(ast::Counts::Mean) => "the mean of several sets",
                ReadLine::Join { .. } => "joining",
                ReadLine::Survey { .. } => "a survey",
                _ => continue,
            };
            self.report(
                Problem::fault(
                    Code::SeriesLayout,
                    line.span,
                    format!("a series in time does not go with {what}"),
                )
                .and(span, "the series")
                .help("leave one of the two lines away; a fixed number of repeats is `times 3`"),
            );
            return Err(());
        }
        let every = self.time_above_zero(period, "the time between two readings");
        let at_most = self.time_above_zero(at_most, "the time of a series");
        let (every, at_most) = (every.ok_or(())?, at_most.ok_or(())?);
        if at_most < every || &at_most / &every > Rational::from_integer(MOST_ROWS.into()) {
            let long = at_most >= every;
            let message = match long {
                true => "this makes more than a hundred thousand rows".to_string(),
                false => "the series is over before its second reading is due".to_string(),
            };
            self.report(
                Problem::fault(Code::SeriesDuration, span, message)
                    .help("write the time between readings first, then the time of all of it: every 10 min for at most 2 h"),
            );
            return Err(());
        }
        Ok(Some(Series { every, at_most, until: None, with: Vec::new() }))
    }

    /// `join on 2 stations within 0.001 mm`.
    pub(super) fn join_line(
        &mut self,
        read: &'a ast::Read,
        stations: &ast::Number,
        within: &ast::Quantity,
        unit: Unit,
        span: Span,
    ) -> Option<Join> {
        let is_laid_out = read.lines.iter().any(|line| {
            matches!(
                line.what,
                ReadLine::Over(_)
                    | ReadLine::Times { .. }
                    | ReadLine::Survey { .. }
                    | ReadLine::HighAndLow
                    | ReadLine::ThereAndBack
                    | ReadLine::Every { .. }
            )
        });
        if !is_laid_out {
            self.report(
                Problem::fault(
                    Code::SeriesJoin,
                    span,
                    format!("`{}` is one reading: there is nothing to join", read.name.text),
                )
                .label("no series that could be broken")
                .help("leave the line away, or lay the reading out: over place 0 mm to 400 mm by 50 mm"),
            );
            return None;
        }
        let number = stations.text.parse::<u32>().ok().filter(|number| (2..=1000).contains(number));
        let Some(number) = number else {
            self.report(
                Problem::fault(
                    Code::SeriesJoin,
                    stations.span,
                    format!("a series is not joined on {} stations", stations.text),
                )
                .label("one alone cannot show whether they agree")
                .help("write 2 or more: join on 2 stations within 0.001 mm"),
            );
            return None;
        };
        let within = self.literal_of(within, unit.of_differences().dimension(), "the allowance of a join")?;
        if within.number.is_negative() {
            self.report(
                Problem::fault(Code::SeriesJoin, span, "the allowance of a join is below zero")
                    .label("no stations could agree so well")
                    .help("write how far the shifts may differ: join on 2 stations within 0.001 mm"),
            );
            return None;
        }
        Some(Join { stations: number, within })
    }

    fn time_above_zero(&mut self, quantity: &ast::Quantity, what: &str) -> Option<Rational> {
        let literal = self.literal_of(quantity, Dimension::TIME, what)?;
        let seconds = base_of(&literal)?;
        if seconds.is_positive() {
            return Some(seconds);
        }
        self.report(
            Problem::fault(Code::SeriesDuration, quantity.span, format!("{what} must be above zero"))
                .help("write it as `10 min` or `2 h`"),
        );
        None
    }

    /// `with temp`: the time axis of that series of the same step; the observation is one of its rows' questions.
    pub(super) fn asked_with(
        &mut self,
        observation: ValueId,
        name: &ast::Name,
        step: Option<StepId>,
    ) -> Option<AxisId> {
        let found = step.and_then(|step| self.own_value(step, name));
        let Some(reading) = found else {
            self.unknown(Code::NameUnknown, name, "series of this step", None);
            return None;
        };
        let time = self.values.get(reading.0).and_then(|value| value.axes.first().copied());
        let time = time.filter(|axis| {
            self.axes
                .get(axis.0)
                .is_some_and(|axis| matches!(axis.stations, Stations::Time { reading: of } if of == reading))
        });
        let series = match self.values.get_mut(reading.0).map(|value| &mut value.role) {
            Some(Role::Reading(reading)) => reading.series.as_mut(),
            _ => None,
        };
        let (Some(time), Some(series)) = (time, series) else {
            if !self.names.broken.contains(name.text.as_str()) {
                self.report(
                    Problem::fault(
                        Code::SeriesAlone,
                        name.span,
                        format!("`{}` is no series, so nothing can be asked in each of its rows", name.text),
                    )
                    .help("name a reading that has a line such as: every 10 min for at most 2 h"),
                );
            }
            return None;
        };
        series.with.push(observation);
        series.with.sort_unstable();
        Some(time)
    }

    /// What ends a series, once the results that it may speak of are there.
    pub(super) fn until(&mut self, step: StepId, read: &'a ast::Read) {
        let Some(reading) = self.own_value(step, &read.name) else { return };
        let conditions = read.lines.iter().filter_map(|line| match &line.what {
            ReadLine::Until(condition) => Some((condition, line.span)),
            _ => None,
        });
        let mut all = None;
        for (condition, span) in conditions {
            if all.is_some() {
                self.report(
                    Problem::fault(Code::NameTaken, span, "the series has two `until` lines")
                        .help("join them with `and`"),
                );
            }
            all = self.until_condition(condition, step, reading);
        }
        if let Some(Role::Reading(reading)) = self.values.get_mut(reading.0).map(|value| &mut value.role)
            && let Some(series) = &mut reading.series
        {
            series.until = all;
        }
    }

    /// The condition must hold as a whole; without a word of time in it, it speaks of the latest row.
    fn until_condition(&mut self, node: &'a ast::Expr, step: StepId, reading: ValueId) -> Option<Expr> {
        let mut condition = self.condition(node, Place::of(Some(step)))?.expr;
        let over_time = condition.axes.iter().copied().find(|axis| {
            matches!(self.axes.get(axis.0).map(|axis| &axis.stations), Some(Stations::Time { reading: of }) if *of == reading)
        });
        if let Some(time) = over_time {
            let axes: Vec<AxisId> = condition.axes.iter().copied().filter(|axis| *axis != time).collect();
            let (span, sense) = (condition.span, None);
            let picked = Node::Pick(Box::new(condition), vec![(time, StationPick::Word("last".to_string()))]);
            condition = Expr { node: picked, kind: Kind::YesNo, axes, sense, span };
        }
        self.as_a_whole(node, condition)
    }

    // -------------------------------------------------------------------------------------------- spans of time

    /// The one axis of times of what is judged.
    pub(super) fn axis_of_times(&mut self, subject: &Typed, span: Span) -> Option<AxisId> {
        if let Some(axis) = subject.expr.axes.iter().copied().find(|axis| self.is_time(*axis)) {
            return Some(axis);
        }
        self.report(
            Problem::fault(
                Code::SeriesNoTime,
                span,
                format!("`steady` looks back in time, and `{}` is no series", self.words(subject.expr.span)),
            )
            .help("judge a reading with a line such as `every 10 min for at most 2 h`, or what is worked out in each of its rows"),
        );
        None
    }

    /// A span of time above zero that the series covers.
    pub(super) fn duration(&mut self, node: &ast::Expr, axis: AxisId, place: Place) -> Option<Expr> {
        let typed = self.single(node, place)?;
        if typed.expr.kind != Kind::Quantity(Dimension::TIME) {
            let found = kind_name(&typed.expr.kind);
            self.report(
                Problem::fault(
                    Code::UnitMismatch,
                    node.span,
                    format!("`{}` is {found}, and a span of time is wanted here", self.words(node.span)),
                )
                .help("write it as `30 min`"),
            );
            return None;
        }
        let Some(seconds) = constant(&typed.expr) else { return Some(typed.expr) };
        if !seconds.is_positive() {
            self.report(
                Problem::fault(Code::SeriesDuration, node.span, "a span of time must be above zero")
                    .help("write it as `30 min`"),
            );
            return None;
        }
        let longest = self.longest(axis).filter(|longest| *longest < seconds);
        if let Some(longest) = longest {
            let minutes = exact_text(&(longest / Rational::from_integer(60.into())));
            self.report(
                Problem::fault(
                    Code::SeriesTooShort,
                    node.span,
                    format!(
                        "the series lasts {minutes} min at most, and `{}` is never covered",
                        self.words(node.span)
                    ),
                )
                .help("let the series run longer, or ask for a shorter span"),
            );
            return None;
        }
        Some(typed.expr)
    }

    fn longest(&self, axis: AxisId) -> Option<Rational> {
        let Stations::Time { reading } = &self.axes.get(axis.0)?.stations else { return None };
        match &self.values.get(reading.0)?.role {
            Role::Reading(reading) => reading.series.as_ref().map(|series| series.at_most.clone()),
            _ => None,
        }
    }

    /// `within 30 min` of `change` and `rate`: they have no other span to go by.
    pub(super) fn span_of_time(
        &mut self,
        function: &str,
        argument: &ast::Argument,
        axis: AxisId,
        place: Place,
    ) -> Option<Expr> {
        match &argument.within {
            Some(within) => self.duration(within, axis, place),
            None => {
                let of = self.words(argument.span);
                self.report(
                    Problem::fault(
                        Code::NameArguments,
                        argument.span,
                        format!("`{function}` does not say over what span of time"),
                    )
                    .help(format!("write `{function}({of} within 30 min)`")),
                );
                None
            }
        }
    }

    pub(super) fn no_row_by_time(&mut self, span: Span) {
        self.report(
            Problem::fault(
                Code::SeriesRow,
                span,
                "rows of a series stand at their real times, so none stands just here",
            )
            .help("pick `[time first]` or `[time last]`, or work with `change(... over time within 30 min)`"),
        );
    }

    // -------------------------------------------------------------------------------------------- projections

    pub(super) fn is_projection(&self, expr: &Expr) -> bool {
        let mut found = false;
        expr.each(&mut |part| match &part.node {
            Node::Call {
                function: Function::SettlesAt | Function::TimeConstant | Function::TimeToRate,
                ..
            } => found = true,
            Node::Value(id) if self.values.get(id.0).is_some_and(|value| value.projection) => found = true,
            _ => {}
        });
        found
    }

    /// No rule takes a projection.
    pub(super) fn no_projection(&mut self, expr: &Expr, span: Span) -> Option<()> {
        if !self.is_projection(expr) {
            return Some(());
        }
        self.report(
            Problem::fault(
                Code::SeriesProjection,
                span,
                format!("`{}` is a projection, and nothing is judged by it", self.words(expr.span)),
            )
            .label("where it seems to be going was not measured")
            .help("judge what was read, such as the last row or `steady within 1 K for 30 min`; put the projection on the record with `report`"),
        );
        None
    }
}

impl Commands {
    /// The time of a row, in seconds. In an example a row must say it; what is no series has none.
    pub(super) fn time_of_row(
        &self,
        at: Standing,
        value: ValueId,
        time: Option<&ast::Quantity>,
        span: Span,
    ) -> Found<Option<Rational>> {
        let is_series = self.time_of(at, value).is_some();
        let name = value_name(at, value);
        let Some(time) = time else {
            // At the prompt a row stands at the time at which it is typed.
            return Ok(None);
        };
        if !is_series {
            return Err(Box::new(
                Problem::fault(
                    Code::SeriesRow,
                    span,
                    format!("`{name}` is no series, so it has no rows at a time"),
                )
                .help("leave `at ...` away"),
            ));
        }
        let expr = literal_expr(time, Some(Unit::Min))?;
        match (&expr.node, expr.kind == Kind::Quantity(Dimension::TIME)) {
            (Node::Number(seconds), true) if !seconds.is_negative() => Ok(Some(seconds.clone())),
            _ => Err(Box::new(
                Problem::fault(
                    Code::SeriesRow,
                    time.span,
                    "a row stands at a time since the start of its series",
                )
                .help("write it as `at 30 min`; the first row may stand at 0 min"),
            )),
        }
    }

    /// `correct RUN.temp at 30 min`: the row as a station.
    pub(super) fn row_picked(
        &self,
        at: Standing,
        value: ValueId,
        time: Option<&ast::Quantity>,
        span: Span,
    ) -> Found<Option<(AxisId, StationPick)>> {
        let Some(seconds) = self.time_of_row(at, value, time, span)? else { return Ok(None) };
        let Some(axis) = self.time_of(at, value) else { return Ok(None) };
        let kind = Kind::Quantity(Dimension::TIME);
        let expr = Expr { node: Node::Number(seconds), kind, axes: Vec::new(), sense: None, span };
        Ok(Some((axis, StationPick::Value(Box::new(expr)))))
    }

    fn time_of(&self, at: Standing, value: ValueId) -> Option<AxisId> {
        let axis = at.program.values.get(value.0)?.axes.first().copied()?;
        let is_time =
            at.program.axes.get(axis.0).is_some_and(|axis| matches!(axis.stations, Stations::Time { .. }));
        is_time.then_some(axis)
    }
}
