//! What comes out of a function: kind, axes, unit and sense, by the table in `functions`.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;

use super::Checker;
use super::carried::{Carried, Typed, difference_of, dimension_of, kind_name};
use super::functions::{Carry, Gives, Shape, Spec};
use super::program::{AxisId, By, Expr, Function, Kind, Node, Pair, Stations};
use super::sense::Direction;

impl Checker<'_> {
    /// Kind, axes and sense of what comes out.
    pub(super) fn finish(
        &mut self,
        spec: &'static Spec,
        of: Typed,
        over: Vec<AxisId>,
        by: Option<By>,
        span: Span,
    ) -> Option<Typed> {
        // Of several axes together a place is said in words.
        let axis = over.first().copied().filter(|_| over.len() == 1 || spec.gives != Gives::Position);
        let kind = self.gives(spec, &of, axis, span)?;
        let axes = self.axes_left(spec, &of, &over);
        let direction = self.sense_of_call(spec, &of, &over);
        let position = axis.and_then(|axis| self.axis_unit(axis));
        let unit = match spec.gives {
            Gives::Same | Gives::Additive => of.carried.unit,
            Gives::Difference => of.carried.unit.map(Unit::of_differences),
            Gives::Position => position,
            Gives::TimesPosition => None,
            Gives::Number => Some(Unit::One),
            Gives::Count | Gives::PerPosition | Gives::Root | Gives::Ratio => None,
            Gives::Arrow => of.carried.unit.map(Unit::of_differences),
            Gives::ArrowSize => of.carried.unit,
            Gives::Angle | Gives::ArrowAngle => Some(Unit::Deg),
        };
        let slope = of.carried.slope
            && dimension_of(&kind) == Some(Dimension::NONE)
            && !matches!(spec.gives, Gives::Count | Gives::Number);
        let carried = Carried {
            positive: match direction {
                Direction::Unsigned => Some(true),
                _ if spec.gives == Gives::Same => of.carried.positive,
                _ => None,
            },
            direction,
            slope,
            unit,
            scale: of
                .carried
                .scale
                .clone()
                .filter(|_| matches!(spec.gives, Gives::Same | Gives::Additive | Gives::Difference)),
            resolution: of.carried.resolution.clone(),
        };
        let node = Node::Call { function: spec.function, arguments: vec![of.expr], over, by };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    fn gives(&mut self, spec: &'static Spec, of: &Typed, axis: Option<AxisId>, span: Span) -> Option<Kind> {
        let position = axis.and_then(|axis| self.axes.get(axis.0)).and_then(|axis| match &axis.stations {
            Stations::Survey(_) => Some(Dimension::LENGTH),
            _ => axis.dimension,
        });
        let dimension = dimension_of(&of.expr.kind);
        let wrong = |checker: &mut Self, wanted: &str| {
            let found = kind_name(&of.expr.kind);
            checker.report(Problem::fault(
                Code::UnitArgument,
                span,
                format!("`{}` wants {wanted}, and `{}` is {found}", spec.name, checker.words(of.expr.span)),
            ));
            None
        };
        match spec.gives {
            Gives::Same => Some(of.expr.kind.clone()),
            Gives::Count => Some(Kind::Count),
            Gives::Number => Some(Kind::Quantity(Dimension::NONE)),
            Gives::Additive => match (&of.expr.kind, dimension) {
                (Kind::Point, _) => {
                    self.report(
                        Problem::fault(
                            Code::UnitTemperature,
                            span,
                            format!("temperatures have no `{}`", spec.name),
                        )
                        .label("20 degC is a point on a scale, not an amount")
                        .help("take a difference first, in K, or use mean, least or greatest"),
                    );
                    None
                }
                (_, Some(Dimension::LEVEL))
                    if spec.function != Function::Half && spec.function != Function::Abs =>
                {
                    self.report(
                        Problem::fault(
                            Code::UnitLevel,
                            span,
                            format!("sound levels in dB have no `{}`", spec.name),
                        )
                        .help("use mean, least, greatest or range"),
                    );
                    None
                }
                (kind, _) => Some(kind.clone()),
            },
            Gives::Difference
                if matches!(
                    axis.and_then(|axis| self.axes.get(axis.0)).map(|axis| &axis.stations),
                    Some(Stations::Survey(_))
                ) =>
            {
                self.height_of(spec, of, span)
            }
            Gives::Difference => difference_of(&of.expr.kind).map(Kind::Quantity),
            Gives::PerPosition => {
                let per = difference_of(&of.expr.kind).zip(position).and_then(|(a, b)| a.over(b));
                per.map(Kind::Quantity)
            }
            Gives::TimesPosition => match dimension {
                Some(Dimension::NONE) => position.map(Kind::Quantity),
                _ => wrong(self, "a slope, as from a level in div or mm/m"),
            },
            Gives::Arrow => match dimension {
                Some(dimension) => Some(Kind::Arrow(dimension)),
                None => wrong(self, "a length, as a dial shows it"),
            },
            Gives::ArrowSize | Gives::ArrowAngle => match of.expr.kind {
                Kind::Arrow(_) if spec.gives == Gives::ArrowAngle => Some(Kind::Quantity(Dimension::ANGLE)),
                Kind::Arrow(dimension) => Some(Kind::Quantity(dimension)),
                _ => wrong(self, "an arrow, as `eccentricity` gives it"),
            },
            Gives::Position => Some(position.map_or(Kind::Text, Kind::Quantity)),
            Gives::Root => match dimension.and_then(Dimension::sqrt) {
                Some(root) => Some(Kind::Quantity(root)),
                None => wrong(self, "a square of something"),
            },
            Gives::Ratio => match dimension {
                Some(Dimension::ANGLE) => Some(Kind::Quantity(Dimension::NONE)),
                _ => wrong(self, "an angle"),
            },
            Gives::Angle => match dimension {
                Some(Dimension::NONE) => Some(Kind::Quantity(Dimension::ANGLE)),
                _ => wrong(self, "a plain ratio"),
            },
        }
    }

    fn axes_left(&mut self, spec: &'static Spec, of: &Typed, over: &[AxisId]) -> Vec<AxisId> {
        // One number whatever other axes there are.
        if spec.function == Function::Span {
            return Vec::new();
        }
        if spec.function == Function::PlateMap {
            let kept = of.expr.axes.iter().copied().filter(|axis| !over.contains(axis)).collect::<Vec<_>>();
            let map = over.first().and_then(|axis| self.map_axes(*axis)).unwrap_or_default();
            return kept.into_iter().chain(map).collect();
        }
        let mut left = Vec::new();
        for axis in &of.expr.axes {
            if !over.contains(axis) {
                left.push(*axis);
            } else if spec.shape == Shape::Keep {
                left.push(if spec.function == Function::Heights { self.height_axis(*axis) } else { *axis });
            }
        }
        left
    }

    fn sense_of_call(&mut self, spec: &'static Spec, of: &Typed, over: &[AxisId]) -> Direction {
        if matches!(of.expr.kind, Kind::Arrow(_)) && spec.sense != Carry::Unsigned {
            return Direction::Plain;
        }
        match spec.sense {
            Carry::Unsigned => Direction::Unsigned,
            Carry::Plain => Direction::Plain,
            Carry::Lost => Direction::Lost,
            // Of a survey: how far apart lines are where they meet.
            Carry::Keeps if self.is_survey(over) => Direction::Unsigned,
            Carry::Keeps if self.has_station_sense(&of.expr, over) => Direction::Lost,
            Carry::Keeps
                if spec.gives == Gives::Difference && of.carried.direction == Direction::Unsigned =>
            {
                Direction::Lost
            }
            Carry::Keeps => of.carried.direction.clone(),
            Carry::Pair => {
                let pair =
                    over.first().and_then(|axis| self.axes.get(axis.0)).and_then(|axis| axis.pair.as_ref());
                match pair {
                    Some(Pair::Stays(_)) => of.carried.direction.clone(),
                    _ => Direction::Lost,
                }
            }
        }
    }
}
