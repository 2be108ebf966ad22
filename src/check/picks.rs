//! Stations picked from a laid-out value, and what axes are called and where they agree.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Rational, Unit};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Typed, dimension_of, kind_name};
use super::constant::{constant, same};
use super::expression::Place;
use super::names::Global;
use super::program::{Axis, AxisId, Expr, Kind, Node, StationPick, Stations};
use super::series::is_end_of_series;
use super::survey::{LINES, some_of};

impl Checker<'_> {
    pub(super) fn axis_name(&self, axis: AxisId) -> &str {
        self.axes.get(axis.0).map_or("", |axis| axis.name.as_str())
    }

    pub(super) fn axis_names(&self, axes: &[AxisId]) -> String {
        let names: Vec<String> = axes.iter().map(|axis| format!("`{}`", self.axis_name(*axis))).collect();
        names.join(" and ")
    }

    pub(super) fn axis_unit(&self, axis: AxisId) -> Option<Unit> {
        match &self.axes.get(axis.0)?.stations {
            Stations::Values { unit, .. } | Stations::Range { unit, .. } | Stations::Stepped { unit, .. } => {
                Some(*unit)
            }
            Stations::Time { .. } => Some(Unit::Min),
            _ => None,
        }
    }

    /// How many stations there are, where that is known from the file.
    pub(super) fn station_count(&self, axis: AxisId) -> Option<usize> {
        let axis = self.axes.get(axis.0)?;
        match &axis.stations {
            Stations::Words(words) => Some(words.len()),
            Stations::Survey(survey) => Some(survey.foot_names().len()),
            Stations::SurveyLines(_) => Some(LINES.len()),
            Stations::Values { values, .. } => Some(values.len()),
            Stations::Repeat { least, most } if least == most => usize::try_from(*most).ok(),
            Stations::Range { from, to, step, .. } => {
                use num_traits::ToPrimitive;
                let steps = (constant(to)? - constant(from)?) / constant(step)?;
                steps.floor().to_integer().to_usize().map(|steps| steps + 1)
            }
            _ => None,
        }
    }

    /// The axis of that name among those of a value.
    pub(super) fn axis_of(&mut self, axes: &[AxisId], name: &ast::Name, value: Span) -> Option<AxisId> {
        if let Some(axis) = axes.iter().find(|axis| self.axis_name(**axis) == name.text) {
            return Some(*axis);
        }
        let known: Vec<String> = axes.iter().map(|axis| self.axis_name(*axis).to_string()).collect();
        let value = self.words(value);
        let help = match known.is_empty() {
            true => format!("`{value}` is a single value"),
            false => self
                .guess(&name.text, known.iter().map(String::as_str))
                .unwrap_or_else(|| format!("`{value}` is laid out over {}", known.join(" and "))),
        };
        self.report(
            Problem::fault(
                Code::AxisNotOver,
                name.span,
                format!("`{value}` is not laid out over `{}`", name.text),
            )
            .help(help),
        );
        None
    }

    pub(super) fn pick(&mut self, of: Typed, picks: &[ast::Pick], span: Span, place: Place) -> Option<Typed> {
        if of.expr.axes.is_empty() {
            self.report(
                Problem::fault(
                    Code::AxisNotLaidOut,
                    span,
                    format!(
                        "`{}` is a single value, so there is no station to pick",
                        self.words(of.expr.span)
                    ),
                )
                .help("leave the brackets away"),
            );
            return None;
        }
        let mut chosen = Vec::new();
        let mut failed = false;
        for pick in picks {
            let axis = match &pick.axis {
                Some(name) => self.axis_of(&of.expr.axes, name, of.expr.span),
                None => self.only_axis(&of.expr, pick),
            };
            match axis.and_then(|axis| Some((axis, self.station(axis, &pick.station, place)?))) {
                Some(pick) => chosen.push(pick),
                None => failed = true,
            }
        }
        if failed {
            return None;
        }
        let axes = of
            .expr
            .axes
            .iter()
            .copied()
            .filter(|axis| !chosen.iter().any(|(taken, _)| taken == axis))
            .collect();
        let mut carried = of.carried.clone();
        if let Some(sense) = self.station_sense(&of.expr, &chosen) {
            carried.direction = sense;
        }
        let kind = of.expr.kind.clone();
        let node = Node::Pick(Box::new(of.expr), chosen);
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    fn only_axis(&mut self, of: &Expr, pick: &ast::Pick) -> Option<AxisId> {
        if let [axis] = of.axes.as_slice() {
            return Some(*axis);
        }
        let axes = self.axis_names(&of.axes);
        let knows = |axis: &&AxisId| {
            self.axes.get(axis.0).is_some_and(|laid| match &pick.station {
                ast::Station::Word(word) => {
                    laid.stations.fixed_words().is_some_and(|words| words.contains(&word.text))
                }
                ast::Station::Value(_) => laid.dimension.is_some(),
            })
        };
        let meant = of.axes.iter().find(knows).or(of.axes.first());
        let meant = meant.map_or("", |axis| self.axis_name(*axis)).to_string();
        let station = self.words(pick.span);
        self.report(
            Problem::fault(
                Code::AxisWhich,
                pick.span,
                format!(
                    "`{}` is laid out over {axes}; of which is `{station}` a station?",
                    self.words(of.span)
                ),
            )
            .help(format!("write the axis before it, as `[{meant} {station}]`")),
        );
        None
    }

    /// A station of an axis: a word of it, or a value that is a position on it.
    pub(super) fn station(
        &mut self,
        axis: AxisId,
        station: &ast::Station,
        place: Place,
    ) -> Option<StationPick> {
        let laid = self.axes.get(axis.0)?;
        let (dimension, numbered) = (laid.dimension, matches!(laid.stations, Stations::Repeat { .. }));
        let is_series = matches!(laid.stations, Stations::Time { .. });
        let (typed, span) = match station {
            ast::Station::Word(word) => {
                if laid.stations.fixed_words().is_some_and(|words| words.contains(&word.text)) {
                    return Some(StationPick::Word(word.text.clone()));
                }
                let listed = matches!(laid.stations, Stations::Listed { .. });
                let is_end_of_series = is_end_of_series(laid, word);
                match self.names.value(place.step, &word.text) {
                    Some(Global::Value(value)) if dimension.is_some() => {
                        (self.value(value, word.span, place)?, word.span)
                    }
                    // Things named on the spot are only known on the walk.
                    _ if listed || is_end_of_series => {
                        return Some(StationPick::Word(word.text.clone()));
                    }
                    _ => {
                        self.no_such_station(axis, &word.text, word.span);
                        return None;
                    }
                }
            }
            ast::Station::Value(value) => (self.expr(value, place)?, value.span),
        };
        if !typed.expr.axes.is_empty() {
            self.laid_out(&typed);
            return None;
        }
        if is_series {
            self.no_row_by_time(span);
            return None;
        }
        let fits = match dimension {
            _ if numbered => dimension_of(&typed.expr.kind).is_some_and(crate::quantity::Dimension::is_none),
            Some(dimension) => typed.expr.kind == Kind::Quantity(dimension),
            None => false,
        };
        if !fits {
            let found = kind_name(&typed.expr.kind);
            let wanted = match dimension {
                _ if numbered => "numbers from 1".to_string(),
                Some(dimension) => dimension.name(),
                None => "words".to_string(),
            };
            let (name, laid_out) =
                (self.axis_name(axis).to_string(), self.axes.get(axis.0).map(|axis| axis.span));
            let mut problem = Problem::fault(
                Code::AxisNoSuchStation,
                span,
                format!("`{}` is {found}, and the stations of `{name}` are {wanted}", self.words(span)),
            );
            if let Some(laid_out) = laid_out {
                problem = problem.and(laid_out, "laid out here");
            }
            self.report(problem);
            return None;
        }
        if !self.axes.get(axis.0).is_some_and(|axis| may_hold(axis, &typed.expr)) {
            let text = self.words(span);
            self.no_such_station(axis, &text, span);
            return None;
        }
        Some(StationPick::Value(Box::new(typed.expr)))
    }

    fn no_such_station(&mut self, axis: AxisId, text: &str, span: Span) {
        let Some(axis) = self.axes.get(axis.0).cloned() else { return };
        let help = match axis.stations.fixed_words() {
            Some(words) => {
                self.guess(text, words.iter().map(String::as_str)).unwrap_or_else(|| some_of(&words))
            }
            None if matches!(axis.stations, Stations::Time { .. }) => {
                "the rows that are always there are `first` and `last`".to_string()
            }
            None => "pick a station of its `over` line".to_string(),
        };
        let mut problem = Problem::fault(
            Code::AxisNoSuchStation,
            span,
            format!("`{text}` was never laid out on `{}`", axis.name),
        )
        .help(help);
        if !axis.span.is_empty() {
            problem = problem.and(axis.span, "laid out here");
        }
        self.report(problem);
    }

    /// The axes of two values that meet element by element. `None` is reported.
    pub(super) fn meet(&mut self, a: &Expr, b: &Expr, span: Span) -> Option<Vec<AxisId>> {
        let (larger, smaller) = if a.axes.len() >= b.axes.len() { (a, b) } else { (b, a) };
        for axis in &smaller.axes {
            let name = self.axis_name(*axis).to_string();
            let Some(other) = larger.axes.iter().find(|other| self.axis_name(**other) == name) else {
                let (first, second) = (self.axis_names(&a.axes), self.axis_names(&b.axes));
                self.report(
                    Problem::fault(
                        Code::AxisMismatch,
                        span,
                        format!(
                            "`{}` is laid out over {first} and `{}` over {second}: they do not meet station by station",
                            self.words(a.span),
                            self.words(b.span)
                        ),
                    )
                    .help("take one of them together first, with mean, gain or another function over its axis"),
                );
                return None;
            };
            let (one, two) = (self.axes.get(other.0)?, self.axes.get(axis.0)?);
            if other != axis && !agree(one, two) {
                let (one, two) = (one.span, two.span);
                self.report(
                    Problem::fault(
                        Code::AxisMismatch,
                        span,
                        format!("`{}` and `{}` have different stations on `{name}`", self.words(a.span), self.words(b.span)),
                    )
                    .and(one, "laid out here")
                    .and(two, "and otherwise here")
                    .help(format!("lay both out alike, best with one line `axis {name} ...` at the top of the file and `over {name}` in each")),
                );
                return None;
            }
        }
        Some(larger.axes.clone())
    }
}

/// Whether a position may be one of the stations, as far as the file tells.
fn may_hold(axis: &Axis, station: &Expr) -> bool {
    let known = constant(station);
    match &axis.stations {
        Stations::Values { values, .. } => {
            values.iter().any(|value| same(value, station) || constant(value).is_none() || known.is_none())
        }
        Stations::Range { from, to, step, .. } => run_holds(known, from, Some(to), step),
        Stations::Stepped { from, to, step, .. } => {
            known.as_ref() != constant(to).as_ref().filter(|_| known.is_some())
                && run_holds(known, from, Some(to), step)
        }
        Stations::Repeat { most, .. } => known.is_none_or(|known| {
            known.is_integer()
                && known >= Rational::from_integer(1.into())
                && known <= Rational::from_integer((*most).into())
        }),
        Stations::Words(_) | Stations::Survey(_) | Stations::SurveyLines(_) => false,
        Stations::Listed { .. } | Stations::Time { .. } => true,
    }
}

fn run_holds(known: Option<Rational>, from: &Expr, to: Option<&Expr>, step: &Expr) -> bool {
    let (Some(known), Some(from), Some(step)) = (known, constant(from), constant(step)) else { return true };
    let steps = (&known - &from) / step;
    let inside = to.and_then(constant).is_none_or(|to| if to >= from { known <= to } else { known >= to });
    steps.is_integer() && steps >= Rational::from_integer(0.into()) && inside
}

/// Whether two axes have the same stations, as far as the file tells.
fn agree(a: &Axis, b: &Axis) -> bool {
    let alike = |a: &Expr, b: &Expr| same(a, b) || constant(a).is_none() || constant(b).is_none();
    match (&a.stations, &b.stations) {
        (Stations::Words(a), Stations::Words(b)) => a == b,
        (Stations::Survey(a), Stations::Survey(b)) | (Stations::SurveyLines(a), Stations::SurveyLines(b)) => {
            a == b
        }
        (Stations::Values { values: a, .. }, Stations::Values { values: b, .. }) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b))
        }
        (
            Stations::Range { from: a, to: b, step: c, up_to: x, .. },
            Stations::Range { from: d, to: e, step: f, up_to: y, .. },
        )
        | (
            Stations::Stepped { from: a, to: b, step: c, up_to: x, .. },
            Stations::Stepped { from: d, to: e, step: f, up_to: y, .. },
        ) => x == y && alike(a, d) && alike(b, e) && alike(c, f),
        (Stations::Repeat { least: a, most: b }, Stations::Repeat { least: c, most: d }) => {
            b.min(d) >= a.max(c)
        }
        // A list by values and a run may come to the same; that is seen on the walk.
        (Stations::Values { .. }, Stations::Range { .. })
        | (Stations::Range { .. }, Stations::Values { .. }) => a.dimension == b.dimension,
        _ => false,
    }
}
