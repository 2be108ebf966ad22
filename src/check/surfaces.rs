//! Functions over more than one axis, over the angles of a turn and over a survey: what their axes must be.

use num_traits::{Signed, ToPrimitive};

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Rational, ratio};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::carried::{Carried, Typed, difference_of, dimension_of, kind_name};
use super::constant::constant;
use super::expression::Place;
use super::functions::{Arrows, AxisNeed, EDITIONS, PLANE, Shape, Spec, arrows, function_named};
use super::program::{AxisId, By, Expr, Function, Kind, Node, Stations};
use super::sense::Direction;

impl Checker<'_> {
    /// Numbers for most functions, arrows for some, for two of them nothing else.
    pub(super) fn must_suit(&mut self, spec: &Spec, of: &Typed) -> Option<()> {
        match (arrows(spec.function), &of.expr.kind) {
            (Arrows::Also | Arrows::Only, Kind::Arrow(_)) => Some(()),
            (Arrows::Only, kind) => {
                let found = kind_name(kind);
                self.report(
                    Problem::fault(
                        Code::UnitArgument,
                        of.expr.span,
                        format!(
                            "`{}` wants an arrow, and `{}` is {found}",
                            spec.name,
                            self.words(of.expr.span)
                        ),
                    )
                    .help("`eccentricity(x over turn)` gives an arrow"),
                );
                None
            }
            _ => self.must_be_number(of),
        }
    }

    // -------------------------------------------------------------------------------------------- two lengths

    /// Whether a function that may go along one axis or over two lengths is meant to go over two.
    pub(super) fn is_surface(&self, spec: &Spec, of: &Typed, argument: &ast::Argument) -> bool {
        spec.function == Function::Ordinates
            && (argument.over.len() == 2 || (argument.over.is_empty() && self.is_map(&of.expr.axes)))
    }

    /// The lines of a survey and the steps along them.
    fn is_map(&self, axes: &[AxisId]) -> bool {
        axes.len() == 2
            && axes.iter().any(|axis| {
                matches!(self.axes.get(axis.0).map(|axis| &axis.stations), Some(Stations::SurveyLines(_)))
            })
    }

    pub(super) fn is_survey(&self, axes: &[AxisId]) -> bool {
        axes.iter()
            .any(|axis| matches!(self.axes.get(axis.0).map(|axis| &axis.stations), Some(Stations::Survey(_))))
    }

    pub(super) fn surface(
        &mut self,
        spec: &'static Spec,
        of: Typed,
        argument: &ast::Argument,
        name: Span,
        span: Span,
    ) -> Option<Typed> {
        let mut over = Vec::new();
        for axis in &argument.over {
            over.push(self.axis_of(&of.expr.axes, axis, argument.value.span)?);
        }
        if over.is_empty() {
            over = of.expr.axes.clone();
        }
        if !self.is_map(&over) {
            let dimensions: Vec<Option<Dimension>> =
                over.iter().map(|axis| self.axes.get(axis.0).and_then(|axis| axis.dimension)).collect();
            if dimensions != [Some(Dimension::LENGTH); 2] {
                let value = self.words(argument.value.span);
                self.report(
                    Problem::fault(
                        Code::AxisNotASurface,
                        argument.span,
                        format!("`{}` goes over two lengths", spec.name),
                    )
                    .label(format!("`{value}` is not laid out like that"))
                    .help(
                        "lay the reading out by two `over` lines with lengths, and name both: \
                         `flatness(h over along and across by least_squares)`; or give it a `plate_map` of a survey",
                    ),
                );
                return None;
            }
            for axis in &over {
                if self.station_count(*axis).is_some_and(|count| count < 2) {
                    self.too_few(spec.name, 2, *axis, span);
                    return None;
                }
            }
        }
        let by = self.way(spec.name, PLANE, argument, name)?;
        self.finish(spec, of, over, by, span)
    }

    pub(super) fn too_few(&mut self, function: &str, needed: usize, axis: AxisId, span: Span) {
        let (name, laid) = (self.axis_name(axis).to_string(), self.axes.get(axis.0).map(|axis| axis.span));
        let mut problem = Problem::fault(
            Code::AxisTooFew,
            span,
            format!("`{function}` needs {needed} stations, and `{name}` has fewer"),
        )
        .help("lay out more stations");
        if let Some(laid) = laid.filter(|laid| !laid.is_empty()) {
            problem = problem.and(laid, "laid out here");
        }
        self.report(problem);
    }

    // -------------------------------------------------------------------------------------------- turns, surveys

    /// The axes of functions round a turn, of a bar taken out and put back, and of a survey.
    pub(super) fn turn_or_survey_fits(
        &mut self,
        spec: &'static Spec,
        axis: AxisId,
        value: Span,
        span: Span,
    ) -> Option<()> {
        let laid = self.axes.get(axis.0)?.clone();
        let (name, words) = (laid.name.clone(), self.words(value));
        let survey = matches!(laid.stations, Stations::Survey(_));
        let wrong = match spec.axis {
            AxisNeed::Survey | AxisNeed::Closing if survey => return Some(()),
            AxisNeed::Survey => Some((
                Code::AxisNotASurvey,
                format!("`{}` takes the lines of a survey, and `{words}` has none", spec.name),
                "give the reading a line `survey eight lines 800 mm by 600 mm foot 100 mm`".to_string(),
            )),
            _ if survey && matches!(spec.shape, Shape::Collapse | Shape::CollapseOrSeveral) => {
                return Some(());
            }
            _ if survey => Some((
                Code::AxisNoPositions,
                format!("`{}` goes along one line, and `{name}` holds the feet of eight", spec.name),
                "make heights of them first: `plate_map(x by least_squares)`".to_string(),
            )),
            _ if laid.dimension != Some(Dimension::ANGLE) => Some((
                Code::AxisNoPositions,
                format!("`{}` needs angles round a turn, and the stations of `{name}` are none", spec.name),
                format!("lay `{name}` out by angles, as `over {name} 0 deg to 315 deg by 45 deg closing`"),
            )),
            _ => None,
        };
        if let Some((code, message, help)) = wrong {
            let mut problem = Problem::fault(code, span, message).help(help);
            if !laid.span.is_empty() {
                problem = problem.and(laid.span, "laid out here");
            }
            self.report(problem);
            return None;
        }
        if self.station_count(axis).is_some_and(|count| count < spec.stations) {
            self.too_few(spec.name, spec.stations, axis, span);
            return None;
        }
        let angles = angles_of(&laid.stations);
        self.no_angle_twice(spec, angles.as_deref(), axis, span)?;
        match (spec.axis, angles) {
            (AxisNeed::Pair, Some(angles)) => self.equally_spaced(spec, &angles, axis, span),
            _ => Some(()),
        }
    }

    /// 0 deg and 360 deg are the same place.
    fn no_angle_twice(
        &mut self,
        spec: &Spec,
        angles: Option<&[Rational]>,
        axis: AxisId,
        span: Span,
    ) -> Option<()> {
        // Angles that hang on facts are looked at on the walk.
        let Some(angles) = angles else { return Some(()) };
        let mut turned: Vec<Rational> = angles.iter().map(within_a_turn).collect();
        turned.sort();
        if turned.windows(2).all(|pair| pair.first() != pair.last()) {
            return Some(());
        }
        let (name, laid) = (self.axis_name(axis).to_string(), self.axes.get(axis.0)?.span);
        self.report(
            Problem::fault(
                Code::AxisSameAngle,
                span,
                format!("two stations of `{name}` are the same angle, and `{}` takes each once", spec.name),
            )
            .and(laid, "laid out here")
            .help("stop before the full turn; `closing` at the end of the line reads the first angle again"),
        );
        None
    }

    /// A circle within or around the readings is held from all sides, or it is not held at all.
    pub(super) fn all_around(&mut self, by: Option<By>, over: &[AxisId], span: Span) -> Option<()> {
        let ([axis], Some(By::Inscribed | By::Circumscribed)) = (over, by) else { return Some(()) };
        let laid = self.axes.get(axis.0)?;
        let (name, laid_out) = (laid.name.clone(), laid.span);
        // Angles that hang on facts are looked at on the walk.
        let Some(angles) = angles_of(&laid.stations).filter(|_| laid.dimension == Some(Dimension::ANGLE))
        else {
            return Some(());
        };
        let mut turned: Vec<Rational> = angles.iter().map(within_a_turn).collect();
        turned.sort();
        let round = turned.first().map(|first| first + ratio(360, 1));
        turned.extend(round);
        let half = ratio(180, 1);
        if turned.windows(2).all(|pair| matches!(pair, [a, b] if b - a <= half)) {
            return Some(());
        }
        self.report(
            Problem::fault(
                Code::AxisTooFew,
                span,
                format!("the stations of `{name}` leave more than half a turn open, and nothing holds that circle there"),
            )
            .and(laid_out, "laid out here")
            .help(format!("read all round: `over {name} 0 deg to 315 deg by 45 deg`, or work it out by `least_squares`")),
        );
        None
    }

    /// A bar is taken out and put back turned by equal parts of a turn.
    fn equally_spaced(&mut self, spec: &Spec, angles: &[Rational], axis: AxisId, span: Span) -> Option<()> {
        let count = i64::try_from(angles.len()).ok().filter(|count| *count > 1)?;
        let mut turned: Vec<Rational> = angles.iter().map(within_a_turn).collect();
        turned.sort();
        let step = ratio(360, count);
        if turned.windows(2).all(|pair| matches!(pair, [a, b] if b - a == step)) {
            return Some(());
        }
        let (name, laid) = (self.axis_name(axis).to_string(), self.axes.get(axis.0)?.span);
        self.report(
            Problem::fault(
                Code::AxisIndexings,
                span,
                format!("`{}` wants the bar turned by equal parts of a turn along `{name}`", spec.name),
            )
            .and(laid, "laid out here")
            .help(format!("lay it out as `over {name} 0 deg, 90 deg, 180 deg, 270 deg`")),
        );
        None
    }

    /// `closure` of a survey is a height, so its readings must be slopes.
    pub(super) fn height_of(&mut self, spec: &Spec, of: &Typed, span: Span) -> Option<Kind> {
        if dimension_of(&of.expr.kind) == Some(Dimension::NONE) {
            return Some(Kind::Quantity(Dimension::LENGTH));
        }
        if spec.function != Function::Closure {
            return difference_of(&of.expr.kind).map(Kind::Quantity);
        }
        let found = kind_name(&of.expr.kind);
        self.report(
            Problem::fault(
                Code::UnitArgument,
                span,
                format!("`closure` of a survey wants slopes, and `{}` is {found}", self.words(of.expr.span)),
            )
            .help("give the instrument a scale in mm/m, or write `tan(x)` of angles"),
        );
        None
    }

    /// `undulation(x over turn, 3)`: the amplitude of three waves a turn.
    pub(super) fn undulation(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<2>(
            "undulation",
            "a value over a turn, and how many waves a turn",
            arguments,
            span,
        )?;
        self.no_otherwise("undulation", arguments)?;
        let [first, second] = arguments else { return None };
        let of = self.expr(&first.value, place)?;
        self.must_be_number(&of)?;
        let waves = self.single(&second.value, place)?;
        let spec = function_named("eccentricity")?;
        let over = self.over(spec, &of, first, span)?;
        let turn = *over.first()?;
        let number = constant(&waves.expr).and_then(|waves| waves.to_usize());
        let whole = constant(&waves.expr).is_none_or(|waves| waves.is_integer() && waves.is_positive());
        if dimension_of(&waves.expr.kind) != Some(Dimension::NONE) || !whole {
            self.report(
                Problem::fault(
                    Code::UnitNumber,
                    second.value.span,
                    format!("`{}` is no number of waves a turn", self.words(second.value.span)),
                )
                .help("write a whole number from 1, as `undulation(x over turn, 3)`"),
            );
            return None;
        }
        if let (Some(number), Some(count)) = (number, self.station_count(turn))
            && count < 2 * number + 1
        {
            self.too_few("undulation", 2 * number + 1, turn, span);
            return None;
        }
        let kind = difference_of(&of.expr.kind).map(Kind::Quantity)?;
        let axes = of.expr.axes.iter().copied().filter(|axis| *axis != turn).collect();
        let carried = Carried {
            direction: Direction::Unsigned,
            positive: Some(true),
            scale: None,
            unit: of.carried.unit.map(crate::quantity::Unit::of_differences),
            ..of.carried
        };
        let arguments = vec![of.expr, waves.expr];
        let node = Node::Call { function: Function::Undulation, arguments, over, by: None };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    // -------------------------------------------------------------------------------------------- positioning

    /// The figures of ISO 230-2: over targets, approaches and repeats all at once.
    pub(super) fn positioning(
        &mut self,
        name: &str,
        function: Function,
        arguments: &[ast::Argument],
        name_span: Span,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<1>(name, "one value", arguments, span)?;
        self.no_otherwise(name, arguments)?;
        let argument = arguments.first()?;
        let of = self.expr(&argument.value, place)?;
        self.must_be_number(&of)?;
        for axis in &argument.over {
            self.axis_of(&of.expr.axes, axis, argument.value.span)?;
        }
        let both = matches!(function, Function::MeanDeviationRange | Function::ReversalValue);
        self.positioning_axes(name, &of.expr.axes, both, argument.value.span)?;
        let by = self.way(name, EDITIONS, argument, name_span)?;
        let kind = difference_of(&of.expr.kind).map(Kind::Quantity)?;
        let over = of.expr.axes.clone();
        let carried = Carried {
            direction: Direction::Unsigned,
            positive: Some(true),
            scale: None,
            unit: of.carried.unit.map(crate::quantity::Unit::of_differences),
            ..of.carried
        };
        let node = Node::Call { function, arguments: vec![of.expr], over, by };
        Some(Typed::new(Expr { node, kind, axes: Vec::new(), sense: None, span }, carried))
    }

    fn positioning_axes(&mut self, name: &str, axes: &[AxisId], both: bool, value: Span) -> Option<()> {
        let (mut targets, mut repeats, mut approaches, mut others) = (0, 0, 0, 0);
        let mut few = false;
        for axis in axes {
            let laid = self.axes.get(axis.0)?;
            let count = self.station_count(*axis);
            match &laid.stations {
                Stations::Repeat { least, .. } => {
                    repeats += 1;
                    few |= *least < 2;
                }
                Stations::Words(words) if *words == ["plus", "minus"] => approaches += 1,
                _ if laid.dimension.is_some() => {
                    targets += 1;
                    few |= count.is_some_and(|count| count < 2);
                }
                _ => others += 1,
            }
        }
        let fits = (targets, repeats, others) == (1, 1, 0) && approaches <= 1 && (approaches == 1 || !both);
        if fits && !few {
            return Some(());
        }
        let words = self.words(value);
        let message = match fits {
            true => format!("`{name}` needs two targets and two runs at least, and `{words}` has fewer"),
            false if approaches == 0 && (targets, repeats, others) == (1, 1, 0) => {
                format!("`{name}` compares the two directions, and `{words}` is taken in one")
            }
            false => format!(
                "`{name}` works on targets approached several times, and `{words}` is not laid out so"
            ),
        };
        self.report(Problem::fault(Code::AxisPositioning, value, message).help(
            "lay it out by `times 5`, `over approach plus, minus` and `over target 0 mm to 300 mm by 60 mm`",
        ));
        None
    }
}

/// The angles of an axis, where all are known from the file.
fn angles_of(stations: &Stations) -> Option<Vec<Rational>> {
    match stations {
        Stations::Values { values, .. } => values.iter().map(constant).collect(),
        Stations::Range { from, to, step, .. } => {
            let (from, to, step) = (constant(from)?, constant(to)?, constant(step)?);
            let count = ((&to - &from) / &step).floor().to_integer().to_usize()?;
            Some((0..=count).map(|number| &from + Rational::from_integer(number.into()) * &step).collect())
        }
        _ => None,
    }
}

fn within_a_turn(angle: &Rational) -> Rational {
    let turn = ratio(360, 1);
    angle - (angle / &turn).floor() * turn
}
