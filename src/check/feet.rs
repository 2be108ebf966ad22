//! What to put under feet. `twist_shims(tilt over place, feet, spacing)`: under the pairs of feet of a bed;
//! `shims_to_level(along, across, feet, x, y, ...)` and `seating_shims(height over feet, x, y, ...)`: under feet at any
//! places. The feet are the name of an axis, so that the result is laid out over them.

use crate::diagnostic::{Code, Problem};
use crate::metrology::seating;
use crate::quantity::{Dimension, Real, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, ExprKind};

use super::Checker;
use super::carried::{Carried, Typed, dimension_of, kind_name};
use super::constant::constant;
use super::expression::Place;
use super::functions::function_named;
use super::program::{AxisId, Expr, Function, Kind, Node};
use super::sense::Direction;

/// How many feet settle a plane.
const LEAST_FEET: usize = 3;

const PLACES: &str = "the place of each foot, first along and then across";

const TAKES: &str = "tilts over a length, the axis of the feet, and how far apart the feet of a pair are";

impl Checker<'_> {
    pub(super) fn twist_shims(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        if !matches!(arguments.len(), 3 | 4) {
            self.argument_count("twist_shims", span, TAKES, arguments.len());
            return None;
        }
        self.no_otherwise("twist_shims", arguments)?;
        let [first, feet, spacing, wanted @ ..] = arguments else { return None };
        let tilt = self.expr(&first.value, place);
        let feet = self.axis_of_feet(&feet.value);
        let spacing = self.single(&spacing.value, place);
        let (tilt, feet, spacing) = (tilt?, feet?, spacing?);
        let over = self.over(function_named("slope")?, &tilt, first, span)?;
        let along = *over.first()?;
        let wanted = match wanted.first() {
            Some(wanted) => Some(self.single(&wanted.value, place)?),
            None => None,
        };
        let slopes = std::iter::once(&tilt).chain(&wanted).map(|typed| (typed, Dimension::NONE, "a slope"));
        let lengths = std::iter::once((&spacing, Dimension::LENGTH, "a length"));
        for (typed, dimension, name) in slopes.chain(lengths) {
            self.of_dimension("twist_shims", typed, dimension, name)?;
        }
        self.more_than_nothing(&spacing, "the distance between the feet of a pair")?;
        if let (Some(pairs), Some(levels)) = (self.station_count(feet), self.station_count(along))
            && levels < pairs
        {
            self.report(
                Problem::fault(
                    Code::AxisTooFew,
                    span,
                    format!("`twist_shims` needs as many levels as pairs of feet: {levels} for {pairs}"),
                )
                .help("read the level at more places along the bed"),
            );
            return None;
        }
        let axes = tilt.expr.axes.iter().copied().filter(|axis| *axis != along).chain([feet]).collect();
        let carried = Carried { direction: Direction::Lost, unit: Some(Unit::Mm), ..Carried::default() };
        let arguments = [Some(tilt), Some(spacing), wanted].into_iter().flatten().map(|typed| typed.expr);
        let node = Node::Call {
            function: Function::TwistShims,
            arguments: arguments.collect(),
            over: vec![along, feet],
            by: None,
        };
        let kind = Kind::Quantity(Dimension::LENGTH);
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    /// `shims_to_level(along, across, feet, 0 mm, 0 mm, 900 mm, 0 mm, 450 mm, 500 mm)`.
    pub(super) fn shims_to_level(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let [along, across, feet, places @ ..] = arguments else {
            let takes = format!("the tilts along and across, the axis of the feet, and {PLACES}");
            self.argument_count("shims_to_level", span, &takes, arguments.len());
            return None;
        };
        self.no_otherwise("shims_to_level", arguments)?;
        let tilts = [along, across].map(|tilt| self.single(&tilt.value, place));
        let name = self.axis_named(&feet.value);
        let Some(axis) = name.filter(|axis| self.axes.get(axis.0).is_some_and(|axis| !axis.closing)) else {
            let words = self.words(feet.value.span);
            self.report(
                Problem::fault(
                    Code::AxisUnknown,
                    feet.value.span,
                    format!("`shims_to_level` wants the axis of the feet here, and `{words}` is none"),
                )
                .help("name the feet at the top of the file: `axis feet left, right, rear`"),
            );
            return None;
        };
        let mut lowered = tilts.into_iter().collect::<Option<Vec<Typed>>>()?;
        for tilt in &lowered {
            self.of_dimension("shims_to_level", tilt, Dimension::NONE, "a slope")?;
        }
        lowered.extend(self.places_of_feet("shims_to_level", axis, places, span, place)?);
        self.shims(Function::ShimsToLevel, lowered, axis, vec![axis], span)
    }

    /// `seating_shims(height over feet, 0 mm, 0 mm, ...)`.
    pub(super) fn seating_shims(
        &mut self,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let [heights, places @ ..] = arguments else {
            let takes = format!("heights over the feet, and {PLACES}");
            self.argument_count("seating_shims", span, &takes, arguments.len());
            return None;
        };
        self.no_otherwise("seating_shims", arguments)?;
        let of = self.expr(&heights.value, place)?;
        self.of_dimension("seating_shims", &of, Dimension::LENGTH, "a length")?;
        let over = self.over(function_named("first")?, &of, heights, span)?;
        let axis = *over.first()?;
        let axes = of.expr.axes.clone();
        let places = self.places_of_feet("seating_shims", axis, places, span, place)?;
        let lowered = std::iter::once(of).chain(places).collect();
        self.shims(Function::SeatingShims, lowered, axis, axes, span)
    }

    /// Two lengths a foot: known to be too few or on one line, they are a fault.
    fn places_of_feet(
        &mut self,
        function: &str,
        feet: AxisId,
        places: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Vec<Typed>> {
        let count = self.station_count(feet);
        if count.is_some_and(|count| count < LEAST_FEET) {
            self.too_few(function, LEAST_FEET, feet, span);
            return None;
        }
        if places.len() % 2 == 1
            || places.len() < 2 * LEAST_FEET
            || count.is_some_and(|count| 2 * count != places.len())
        {
            let name = self.axis_name(feet).to_string();
            let wanted = count
                .map_or_else(|| "two lengths a foot".to_string(), |count| format!("{} lengths", 2 * count));
            self.report(
                Problem::fault(
                    Code::NameArguments,
                    span,
                    format!("`{function}` takes {wanted} for the feet of `{name}` and has {} here", places.len()),
                )
                .help("give each foot in the order of its axis, how far it stands along and across: `0 mm, 0 mm, 900 mm, 0 mm, 450 mm, 500 mm`"),
            );
            return None;
        }
        let lowered: Vec<Typed> = places
            .iter()
            .map(|length| self.single(&length.value, place))
            .collect::<Vec<_>>()
            .into_iter()
            .collect::<Option<_>>()?;
        for length in &lowered {
            self.of_dimension(function, length, Dimension::LENGTH, "a length")?;
        }
        let known: Option<Vec<Real>> =
            lowered.iter().map(|typed| constant(&typed.expr).map(Real::Exact)).collect();
        let on_one_line = |known: &Vec<Real>| {
            let places: Vec<_> = known
                .chunks_exact(2)
                .filter_map(|two| Some((two.first()?.clone(), two.last()?.clone())))
                .collect();
            seating(&places, &vec![Real::zero(); places.len()]).is_err()
        };
        if known.as_ref().is_some_and(on_one_line) {
            self.report(
                Problem::fault(Code::AxisNotASurface, span, "these feet all stand on one line")
                    .help("give three or more that stand apart along and across"),
            );
            return None;
        }
        Some(lowered)
    }

    fn of_dimension(&mut self, function: &str, typed: &Typed, wanted: Dimension, name: &str) -> Option<()> {
        if dimension_of(&typed.expr.kind) == Some(wanted) {
            return Some(());
        }
        let (found, words) = (kind_name(&typed.expr.kind), self.words(typed.expr.span));
        self.report(Problem::fault(
            Code::UnitArgument,
            typed.expr.span,
            format!("`{function}` wants {name} here, and `{words}` is {found}"),
        ));
        None
    }

    /// Shims are never below nothing; the least of them is nothing.
    fn shims(
        &mut self,
        function: Function,
        lowered: Vec<Typed>,
        feet: AxisId,
        axes: Vec<AxisId>,
        span: Span,
    ) -> Option<Typed> {
        let carried = Carried {
            direction: Direction::Unsigned,
            positive: Some(true),
            unit: Some(Unit::Mm),
            ..Carried::default()
        };
        let arguments = lowered.into_iter().map(|typed| typed.expr).collect();
        let node = Node::Call { function, arguments, over: vec![feet], by: None };
        let kind = Kind::Quantity(Dimension::LENGTH);
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    fn axis_named(&self, node: &ast::Expr) -> Option<AxisId> {
        let name = match &node.what {
            ExprKind::Name(path) if path.step.is_none() => path.name.text.as_str(),
            _ => "",
        };
        self.names.axes.get(name).copied().filter(|axis| !self.failed_axes.contains(axis))
    }

    /// An axis of lengths by its name: of the whole file, or of the reading before.
    fn axis_of_feet(&mut self, node: &ast::Expr) -> Option<AxisId> {
        let axis = self.axis_named(node);
        let lengths = |axis: &AxisId| {
            self.axes
                .get(axis.0)
                .is_some_and(|axis| axis.dimension == Some(Dimension::LENGTH) && !axis.closing)
        };
        let found =
            axis.filter(lengths).filter(|axis| self.station_count(*axis).is_none_or(|count| count > 1));
        if found.is_none() {
            let words = self.words(node.span);
            self.report(
                Problem::fault(
                    Code::AxisUnknown,
                    node.span,
                    format!("`twist_shims` wants the axis of the feet here, and `{words}` is none"),
                )
                .help("write at the top of the file where the pairs of feet stand: `axis feet 0 mm, 600 mm, 1200 mm`"),
            );
        }
        found
    }
}
