//! `over` and `axis` lines: stations of one kind, in steps that come out, each of them once.

use num_traits::{Signed, Zero};

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Real, Unit, exact_text};
use crate::source::Span;
use crate::syntax::ast::{self, Station, StationsOf};

use super::Checker;
use super::carried::{Typed, kind_name};
use super::constant::{constant, same};
use super::expression::{Place, plain};
use super::names::Global;
use super::program::{Axis, AxisId, Expr, Kind, Node, Stations, StepId, Text};

/// Nobody types or reads more stations than this one by one.
const MOST_LISTED: usize = 1000;

impl Checker<'_> {
    pub(super) fn lower_file_axis(&mut self, id: AxisId) {
        let Some(over) = self.names.file_axes.get(id.0).copied() else { return };
        if let StationsOf::Named = over.stations.what {
            self.report(
                Problem::fault(
                    Code::AxisUnknown,
                    over.name.span,
                    format!("axis `{}` says no stations", over.name.text),
                )
                .help("write them behind its name, as `0 mm to 400 mm by 50 mm`"),
            );
            self.failed_axes.insert(id);
            return;
        }
        match self.lay_out(over, None) {
            Some(axis) => {
                if let Some(place) = self.axes.get_mut(id.0) {
                    *place = axis;
                }
            }
            None => {
                self.failed_axes.insert(id);
            }
        }
    }

    /// Room for the shared axes, so that their identifiers stand before they are laid out.
    pub(super) fn reserve_file_axes(&mut self) {
        for over in &self.names.file_axes {
            self.axes.push(Axis {
                name: over.name.text.clone(),
                label: Text::plain(over.name.text.clone()),
                dimension: None,
                stations: Stations::Words(Vec::new()),
                closing: false,
                pair: None,
                rise: None,
                span: over.name.span,
            });
        }
    }

    pub(super) fn add_axis(&mut self, axis: Axis) -> AxisId {
        let id = AxisId(self.axes.len());
        self.axes.push(axis);
        id
    }

    /// An axis that a line makes by itself: `times`, `high and low`, `there and back`.
    pub(super) fn made_axis(&mut self, name: &str, stations: Stations, span: Span) -> AxisId {
        self.add_axis(Axis {
            name: name.to_string(),
            label: Text::plain(name),
            dimension: None,
            stations,
            closing: false,
            pair: None,
            rise: None,
            span,
        })
    }

    /// The axis of an `over` line: laid out there, or earlier in the step, or for the whole file.
    pub(super) fn over_line(&mut self, over: &'_ ast::Over, step: Option<StepId>) -> Option<AxisId> {
        if !matches!(over.stations.what, StationsOf::Named) {
            let axis = self.lay_out(over, step)?;
            return Some(self.add_axis(axis));
        }
        let name = over.name.text.as_str();
        let own = step
            .and_then(|step| self.names.scopes.get(step.0))
            .and_then(|scope| scope.axes.get(name))
            .copied();
        if let Some(axis) = own.or_else(|| self.names.axes.get(name).copied()) {
            return (!self.failed_axes.contains(&axis)).then_some(axis);
        }
        let help = self.guess_name(name, |names| names.axes.keys().copied().collect()).unwrap_or_else(|| {
            format!("write its stations behind it, as `over {name} 0 mm to 400 mm by 50 mm`")
        });
        self.unknown(Code::AxisUnknown, &over.name, "axis", Some(help));
        None
    }

    fn lay_out(&mut self, over: &ast::Over, step: Option<StepId>) -> Option<Axis> {
        let span = over.name.span.to(over.stations.span);
        let place = Place::of(step);
        let (stations, dimension) = match &over.stations.what {
            StationsOf::Named => return None,
            StationsOf::Listed(question) => {
                (Stations::Listed { question: self.text(question, step, super::texts::When::Asked)? }, None)
            }
            StationsOf::List(list) => self.station_list(over, list, place)?,
            StationsOf::Run { from, to, up_to, by, stepped } => {
                self.station_run(from, to, *up_to, by, *stepped, place)?
            }
        };
        if let Some(closing) = over.stations.closing
            && matches!(stations, Stations::Stepped { .. } | Stations::Listed { .. })
        {
            self.report(
                Problem::fault(Code::AxisNotClosing, closing, "these stations cannot be closed")
                    .help("`closing` reads the first of a list or of a run `by` again at the end"),
            );
            return None;
        }
        Some(Axis {
            name: over.name.text.clone(),
            label: Text::plain(over.name.text.clone()),
            dimension,
            stations,
            closing: over.stations.closing.is_some(),
            pair: None,
            rise: None,
            span,
        })
    }

    fn station_list(
        &mut self,
        over: &ast::Over,
        list: &[Station],
        place: Place,
    ) -> Option<(Stations, Option<Dimension>)> {
        if list.len() > MOST_LISTED {
            self.report(
                Problem::fault(
                    Code::AxisStep,
                    over.stations.span,
                    format!("`{}` has {} stations, one by one", over.name.text, list.len()),
                )
                .help("lay them out as a run, `0 mm to 400 mm by 50 mm`, or split the reading"),
            );
            return None;
        }
        let is_value = |checker: &Self, station: &Station| match station {
            Station::Value(_) => true,
            Station::Word(word) => {
                matches!(checker.names.value(place.step, &word.text), Some(Global::Value(id)) if checker.is_measure(id))
            }
        };
        let any_literal = list.iter().any(|station| matches!(station, Station::Value(_)));
        if !any_literal && !list.iter().all(|station| is_value(self, station)) {
            let words: Vec<&ast::Name> = list
                .iter()
                .filter_map(|station| match station {
                    Station::Word(word) => Some(word),
                    Station::Value(_) => None,
                })
                .collect();
            let mut seen = std::collections::HashMap::new();
            for word in &words {
                if let Some(first) = seen.insert(word.text.as_str(), word.span) {
                    self.twice(&word.text, &over.name.text, word.span, first);
                    return None;
                }
            }
            return Some((Stations::Words(words.iter().map(|word| word.text.clone()).collect()), None));
        }
        let mut values: Vec<Typed> = Vec::new();
        let mut failed = false;
        for station in list {
            let typed = match station {
                Station::Value(value) => self.single(value, place),
                Station::Word(word) => match self.names.value(place.step, &word.text) {
                    Some(Global::Value(id)) => self.value(id, word.span, place),
                    _ => {
                        self.report(
                            Problem::fault(
                                Code::AxisMixed,
                                word.span,
                                format!(
                                    "the stations of `{}` are values, and `{}` names none",
                                    over.name.text, word.text
                                ),
                            )
                            .help("a list holds either values with their units or words"),
                        );
                        None
                    }
                },
            };
            match typed {
                Some(typed) => values.push(typed),
                None => failed = true,
            }
        }
        if failed {
            return None;
        }
        let unit = self.positions(values.iter_mut(), &over.name.text)?;
        let values: Vec<Expr> = values.into_iter().map(|typed| typed.expr).collect();
        self.none_twice(&values, &over.name.text)?;
        let dimension = unit.dimension();
        Some((Stations::Values { values, unit }, Some(dimension)))
    }

    /// Constant stations by a table; the few that rest on facts against all others.
    fn none_twice(&mut self, values: &[Expr], axis: &str) -> Option<()> {
        let mut seen = std::collections::HashMap::new();
        let mut moving: Vec<&Expr> = Vec::new();
        for value in values {
            let first = match constant(value) {
                Some(number) => seen.insert(number, value.span),
                None => {
                    let first = moving.iter().find(|other| same(other, value)).map(|other| other.span);
                    if moving.len() < 100 {
                        moving.push(value);
                    }
                    first
                }
            };
            if let Some(first) = first {
                let text = self.words(value.span);
                self.twice(&text, axis, value.span, first);
                return None;
            }
        }
        Some(())
    }

    fn twice(&mut self, station: &str, axis: &str, span: Span, first: Span) {
        self.report(
            Problem::fault(Code::AxisTwice, span, format!("station `{station}` stands twice on `{axis}`"))
                .label("the second")
                .and(first, "the first")
                .help("write `closing` at the end of the line to read the first station again, or `times` for repeats"),
        );
    }

    /// A fact, observation or result that may be a station.
    fn is_measure(&self, id: super::program::ValueId) -> bool {
        use super::names::What;
        match self.names.declared.get(id.0).map(|declared| declared.what) {
            Some(What::Fact(fact)) => matches!(fact.kind.what, ast::KindOf::In(..)),
            Some(What::Observe(observe)) => matches!(observe.kind.what, ast::KindOf::In(..)),
            Some(What::Let(_) | What::Read(_)) => true,
            Some(What::Adjustment(_)) | None => false,
        }
    }

    /// Stations that are all of one kind; their unit.
    fn positions<'t>(&mut self, values: impl Iterator<Item = &'t mut Typed>, axis: &str) -> Option<Unit> {
        let mut first: Option<Typed> = None;
        for value in values {
            let Kind::Quantity(dimension) = value.expr.kind else {
                let found = kind_name(&value.expr.kind);
                self.report(Problem::fault(
                    Code::AxisMixed,
                    value.expr.span,
                    format!(
                        "`{}` is {found}, which cannot be a station of `{axis}`",
                        self.words(value.expr.span)
                    ),
                ));
                return None;
            };
            if !value.expr.axes.is_empty() {
                self.laid_out(value);
                return None;
            }
            match &mut first {
                None => first = Some(value.clone()),
                Some(first) if first.expr.kind != Kind::Quantity(dimension) => {
                    self.same_kind(first, value, "stations of one axis")?;
                }
                Some(_) => {}
            }
        }
        let first = first?;
        let dimension = super::carried::dimension_of(&first.expr.kind)?;
        first.carried.unit.or_else(|| Unit::usual(dimension)).or(Some(Unit::One))
    }

    fn station_run(
        &mut self,
        from: &ast::Expr,
        to: &ast::Expr,
        up_to: bool,
        by: &ast::Expr,
        stepped: bool,
        place: Place,
    ) -> Option<(Stations, Option<Dimension>)> {
        let (start, end, step) = (self.single(from, place), self.single(to, place), self.single(by, place));
        let (mut start, mut end, mut step) = (start?, end?, step?);
        let unit = self.positions([&mut start, &mut end, &mut step].into_iter(), "the run")?;
        let (start, end, step) = (start.expr, end.expr, step.expr);
        if let Some(size) = constant(&step)
            && !size.is_positive()
        {
            self.report(
                Problem::fault(
                    Code::AxisStep,
                    step.span,
                    format!("a step of `{}` leads nowhere", self.words(step.span)),
                )
                .help("write a step above zero"),
            );
            return None;
        }
        if let (Some(first), Some(last)) = (constant(&start), constant(&end))
            && last <= first
        {
            self.report(
                Problem::fault(Code::AxisStep, end.span, "the last station does not lie beyond the first")
                    .and(start.span, "the first")
                    .help("write the smaller one first"),
            );
            return None;
        }
        if let (Some(first), Some(last), Some(size)) = (constant(&start), constant(&end), constant(&step)) {
            let steps = (&last - &first) / &size;
            if steps > crate::quantity::Rational::from_integer(100_000.into()) {
                self.fault(Code::AxisStep, step.span, "this makes more than a hundred thousand stations");
                return None;
            }
            if !up_to && !steps.is_integer() {
                let fits = &first + steps.floor() * &size;
                let fits = unit.from_base(&Real::Exact(fits)).middle();
                let shown = exact_text(&fits);
                self.report(
                    Problem::fault(
                        Code::AxisNotDivided,
                        step.span,
                        format!("steps of `{}` do not end at `{}`", self.words(step.span), self.words(end.span)),
                    )
                    .and(end.span, format!("the last that fits is {shown} {}", unit.symbol()))
                    .help("write `up to` in place of `to` to stop at the last that fits, or choose a step that divides the length"),
                );
                return None;
            }
            if steps.floor().is_zero() {
                self.report(
                    Problem::fault(Code::AxisStep, step.span, "one step is longer than the whole run")
                        .help("choose a smaller step"),
                );
                return None;
            }
        }
        let dimension = unit.dimension();
        let stations = match stepped {
            true => Stations::Stepped { from: start, to: end, step, up_to, unit },
            false => Stations::Range { from: start, to: end, step, up_to, unit },
        };
        Some((stations, Some(dimension)))
    }

    /// The axis of `heights` over a stepped one: one station more, at the end of the last foot.
    pub(super) fn height_axis(&mut self, stepped: AxisId) -> AxisId {
        if let Some(known) = self.height_axes.get(&stepped) {
            return *known;
        }
        let Some(axis) = self.axes.get(stepped.0) else { return stepped };
        let Stations::Stepped { from, to, step, up_to, unit } = &axis.stations else { return stepped };
        let stations = Stations::Range {
            from: from.clone(),
            to: to.clone(),
            step: step.clone(),
            up_to: *up_to,
            unit: *unit,
        };
        let axis = Axis { stations, pair: None, rise: None, ..axis.clone() };
        let id = self.add_axis(axis);
        self.height_axes.insert(stepped, id);
        id
    }

    /// `{turn}` in an `ask`.
    pub(super) fn current_station(&self, axis: AxisId, span: Span) -> Typed {
        let kind = self.axes.get(axis.0).and_then(|axis| axis.dimension).map_or(Kind::Text, Kind::Quantity);
        let mut typed = plain(Node::CurrentStation(axis), kind, span);
        typed.carried.unit = self.axis_unit(axis);
        typed
    }
}
