//! Function calls and table look-ups: arguments, axes, and what comes out, by the table in `functions`.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Dimension;
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::Typed;
use super::expression::Place;
use super::functions::{
    AxisNeed, FUNCTIONS, POSITIONING, SPECIAL, Shape, Spec, function_named, way, way_name,
};
use super::names::Global;
use super::program::{AxisId, By, Function, Kind, Node};
use super::sense::Direction;
use super::series::takes_span;

impl Checker<'_> {
    pub(super) fn call(
        &mut self,
        path: &ast::Path,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let name = path.name.text.as_str();
        let table = match &path.step {
            Some(owner) => self.names.globals.get(owner.text.as_str()),
            None => self.names.globals.get(name),
        };
        if let Some(&Global::Table(table)) = table {
            return self.table_call(table, path, arguments, span, place);
        }
        if path.step.is_none() {
            if let Some(spec) = function_named(name) {
                return self.plain_call(spec, arguments, path.span, span, place);
            }
            if SPECIAL.contains(&name) {
                return self.special_call(name, arguments, span, place);
            }
            if let Some((name, function)) = POSITIONING.iter().find(|(known, _)| *known == name) {
                return self.positioning(name, *function, arguments, path.span, span, place);
            }
        }
        self.unknown_function(path, place);
        None
    }

    fn unknown_function(&mut self, path: &ast::Path, place: Place) {
        let name = self.words(path.span);
        let known = FUNCTIONS.iter().map(|spec| spec.name).chain(SPECIAL.iter().copied());
        let known = known.chain(POSITIONING.iter().map(|(name, _)| *name));
        let help = match self.names.value(place.step, &path.name.text) {
            Some(_) => Some(format!(
                "`{name}` is a value, not a function; a station of it is picked in brackets: `{name}[...]`"
            )),
            None => self.guess(&path.name.text, known),
        };
        let mut problem =
            Problem::fault(Code::NameUnknownFunction, path.span, format!("there is no function `{name}`"));
        problem.help = help;
        self.report(problem);
    }

    fn plain_call(
        &mut self,
        spec: &'static Spec,
        arguments: &[ast::Argument],
        name: Span,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        if spec.shape == Shape::AlongAt {
            return self.at_a_place(spec, arguments, span, place);
        }
        let several = spec.shape == Shape::CollapseOrSeveral;
        if arguments.is_empty() || (arguments.len() > 1 && !several) {
            self.argument_count(
                spec.name,
                name,
                if several { "one value or more" } else { "one value" },
                arguments.len(),
            );
            return None;
        }
        let lowered: Vec<Option<Typed>> =
            arguments.iter().map(|argument| self.expr(&argument.value, place)).collect();
        let lowered: Vec<Typed> = lowered.into_iter().collect::<Option<_>>()?;
        let first_argument = arguments.first()?;
        self.no_otherwise(spec.name, arguments)?;
        if lowered.len() > 1 {
            return self.several(spec, lowered, span);
        }
        let of = lowered.into_iter().next()?;
        if spec.shape == Shape::Each {
            self.must_suit(spec, &of)?;
            return self.finish(spec, of, Vec::new(), None, span);
        }
        if spec.shape == Shape::Surface || self.is_surface(spec, &of, first_argument) {
            self.must_be_number(&of)?;
            return self.surface(spec, of, first_argument, name, span);
        }
        let over = self.over(spec, &of, first_argument, span)?;
        let by = self.way(spec.name, spec.ways, first_argument, name)?;
        self.all_around(by, &over, span)?;
        if of.expr.kind == Kind::YesNo && spec.function == Function::Count {
            return self.finish(spec, of, over, by, span);
        }
        self.must_suit(spec, &of)?;
        let within = match takes_span(spec.function) {
            true => Some(self.span_of_time(spec.name, first_argument, over.first().copied()?, place)?),
            false => match &first_argument.within {
                Some(window) => {
                    let along = self.axes.get(over.first()?.0).and_then(|axis| axis.dimension)?;
                    Some(self.window_side(window, along, &of, place)?)
                }
                None => None,
            },
        };
        let mut made = self.finish(spec, of, over, by, span)?;
        if let Node::Call { arguments, .. } = &mut made.expr.node {
            arguments.extend(within);
        }
        Some(made)
    }

    pub(super) fn argument_count(&mut self, function: &str, at: Span, wanted: &str, found: usize) {
        self.report(Problem::fault(
            Code::NameArguments,
            at,
            format!("`{function}` takes {wanted} and has {found} here"),
        ));
    }

    pub(super) fn wants_arguments<const N: usize>(
        &mut self,
        function: &str,
        wanted: &str,
        arguments: &'_ [ast::Argument],
        span: Span,
    ) -> Option<()> {
        if arguments.len() == N {
            return Some(());
        }
        self.argument_count(function, span, wanted, arguments.len());
        None
    }

    /// `else` belongs to `previous` alone; `within` to what goes back over a span of time.
    pub(super) fn no_otherwise(&mut self, function: &str, arguments: &[ast::Argument]) -> Option<()> {
        let over_a_span = function_named(function)
            .is_some_and(|spec| takes_span(spec.function) || spec.function == Function::LeadError);
        for argument in arguments {
            if argument.otherwise.is_some() || (argument.within.is_some() && !over_a_span) {
                self.report(
                    Problem::fault(
                        Code::NameArguments,
                        argument.span,
                        format!("`{function}` takes neither `else` nor `within`"),
                    )
                    .help("`else` belongs to `previous(STEP.RESULT else VALUE)`, `within` to `change`, `rate` and `lead_error`"),
                );
                return None;
            }
        }
        Some(())
    }

    fn several(&mut self, spec: &'static Spec, lowered: Vec<Typed>, span: Span) -> Option<Typed> {
        let mut all = lowered.into_iter();
        let mut first = all.next()?;
        self.must_be_number(&first)?;
        let mut rest = Vec::new();
        for mut next in all {
            self.must_be_number(&next)?;
            self.same_kind(&mut first, &mut next, &format!("taken together by `{}`", spec.name))?;
            first.expr.axes = {
                let axes = self.meet(&first.expr, &next.expr, span)?;
                // Only for the layout of the whole; each argument keeps its own axes.
                rest.push(next);
                axes
            };
        }
        let layout = first.expr.axes.clone();
        let mut direction = first.carried.direction.clone();
        for next in &rest {
            if next.carried.direction != direction {
                direction = Direction::Lost;
            }
            first.carried.resolution = first.carried.resolution_with(&next.carried);
        }
        first.carried.direction = direction;
        let mut whole = self.finish(spec, first, Vec::new(), None, span)?;
        if let Node::Call { arguments, .. } = &mut whole.expr.node {
            arguments.extend(rest.into_iter().map(|typed| typed.expr));
        }
        whole.expr.axes = layout;
        Some(whole)
    }

    /// The axes that a function takes up.
    pub(super) fn over(
        &mut self,
        spec: &'static Spec,
        of: &Typed,
        argument: &ast::Argument,
        span: Span,
    ) -> Option<Vec<AxisId>> {
        if of.expr.axes.is_empty() {
            self.report(
                Problem::fault(
                    Code::AxisNotLaidOut,
                    argument.value.span,
                    format!(
                        "`{}` is a single value, and `{}` goes over several",
                        self.words(argument.value.span),
                        spec.name
                    ),
                )
                .help("give the reading an `over` line or a `times` line, or leave the function away"),
            );
            return None;
        }
        let mut over = Vec::new();
        for name in &argument.over {
            over.push(self.axis_of(&of.expr.axes, name, argument.value.span)?);
        }
        let one = matches!(spec.shape, Shape::Along | Shape::AlongAt | Shape::Keep | Shape::Map);
        if over.is_empty() {
            over = of.expr.axes.clone();
            if one && over.len() > 1 {
                let names = self.axis_names(&over);
                self.report(
                    Problem::fault(
                        Code::AxisWhich,
                        argument.span,
                        format!(
                            "`{}` goes along one axis, and `{}` has {names}",
                            spec.name,
                            self.words(argument.value.span)
                        ),
                    )
                    .help(format!(
                        "say which: `{}({} over {})`",
                        spec.name,
                        self.words(argument.value.span),
                        self.axis_name(*over.first()?)
                    )),
                );
                return None;
            }
        }
        if one && over.len() > 1 {
            self.report(Problem::fault(
                Code::AxisWhich,
                argument.span,
                format!("`{}` goes along one axis, not along several together", spec.name),
            ));
            return None;
        }
        for axis in &over {
            self.axis_fits(spec, of, *axis, argument.value.span, span)?;
        }
        Some(over)
    }

    fn axis_fits(
        &mut self,
        spec: &'static Spec,
        of: &Typed,
        axis: AxisId,
        value: Span,
        span: Span,
    ) -> Option<()> {
        if matches!(spec.axis, AxisNeed::Angles | AxisNeed::Survey)
            || (spec.axis == AxisNeed::Pair && matches!(of.expr.kind, Kind::Arrow(_)))
            || matches!(self.axes.get(axis.0)?.stations, super::program::Stations::Survey(_))
        {
            return self.turn_or_survey_fits(spec, axis, value, span);
        }
        let (name, value) = (self.axis_name(axis), self.words(value));
        let laid = self.axes.get(axis.0)?;
        let laid_out = laid.span;
        let (code, message, help) = match spec.axis {
            AxisNeed::Positions if laid.dimension.is_none() => (
                Code::AxisNoPositions,
                format!("`{}` needs stations with a position, and those of `{name}` are words", spec.name),
                format!("lay `{name}` out by lengths, as `over {name} 0 mm to 400 mm by 50 mm`"),
            ),
            AxisNeed::Stepped if !matches!(laid.stations, super::program::Stations::Stepped { .. }) => (
                Code::AxisNotStepped,
                format!("`heights` adds up what a foot shows that is stepped along, and `{name}` is not stepped"),
                format!("lay it out as `over {name} 0 mm up to LENGTH stepped by 125 mm`"),
            ),
            AxisNeed::Stepped if laid.rise.is_none() => (
                Code::SenseNoRise,
                format!("`{value}` does not say what plus means along `{name}`"),
                format!("add a line to the reading: `sense rises along {name}`, or `sense falls along {name}`"),
            ),
            AxisNeed::Pair if self.station_count(axis) != Some(2) => (
                Code::AxisNotAPair,
                format!("`{}` takes a pair apart, and `{name}` has not two stations", spec.name),
                format!("lay it out as a pair, as `over {name} 0 deg, 180 deg` or `over {name} first, turned`"),
            ),
            AxisNeed::Pair if laid.pair.is_none() => (
                Code::SensePairUnsaid,
                format!("`{value}` does not say what the second reading of the pair does to the sign"),
                "add a line to the reading: `sense stays with the machine` if plus goes on meaning the same direction \
                 (then machine = (first + second)/2), or `sense turns with the level` if the instrument turns round \
                 with its marked end (then machine = (first - second)/2)"
                    .to_string(),
            ),
            AxisNeed::TwoWays if self.station_count(axis) != Some(2) => (
                Code::AxisNotAPair,
                format!("`{}` compares two directions, and `{name}` has not two stations", spec.name),
                format!("lay it out as `over {name} plus, minus`, or by a line `there and back`"),
            ),
            AxisNeed::Closing if !laid.closing => (
                Code::AxisNotClosing,
                format!("`closure` looks at the first station read again, and `{name}` does not close"),
                "write `closing` at the end of its `over` line".to_string(),
            ),
            AxisNeed::Time if laid.dimension != Some(Dimension::TIME) => (
                Code::SeriesNoTime,
                format!("`{}` goes along a series in time, and `{name}` is none", spec.name),
                "read it as a series: `every 10 min for at most 2 h` beneath the reading".to_string(),
            ),
            _ if self.station_count(axis).is_some_and(|count| count < spec.stations) => (
                Code::AxisTooFew,
                format!("`{}` needs {} stations, and `{name}` has fewer", spec.name, spec.stations),
                "lay out more stations".to_string(),
            ),
            _ => return Some(()),
        };
        let mut problem = Problem::fault(code, span, message).help(help);
        if !laid_out.is_empty() {
            problem = problem.and(laid_out, "laid out here");
        }
        self.report(problem);
        None
    }

    /// The word after `by`.
    pub(super) fn way(
        &mut self,
        function: &str,
        ways: &[By],
        argument: &ast::Argument,
        name: Span,
    ) -> Option<Option<By>> {
        let known = ways.iter().map(|way| way_name(*way)).collect::<Vec<_>>().join(", ");
        match &argument.by {
            None if ways.is_empty() => Some(None),
            None => {
                self.report(
                    Problem::fault(
                        Code::AxisSayHow,
                        name,
                        format!("`{function}` is worked out in more than one way"),
                    )
                    .label("no way is said, and none is taken for granted")
                    .help(format!("write `by` and one of {known}")),
                );
                None
            }
            Some(word) => match way(&word.text).filter(|way| ways.contains(way)) {
                Some(way) => Some(Some(way)),
                None => {
                    let help = match ways.is_empty() {
                        true => format!("`{function}` takes no `by`"),
                        false => format!("write one of {known}"),
                    };
                    self.report(
                        Problem::fault(
                            Code::NameUnknownWay,
                            word.span,
                            format!("`{function}` is not worked out by `{}`", word.text),
                        )
                        .help(help),
                    );
                    None
                }
            },
        }
    }
}
