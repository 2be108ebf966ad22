//! Readings, observations and adjustments: axes in the order of their lines, instruments, sense.

use std::collections::HashSet;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, ObserveLine, ReadLine};

use super::Checker;
use super::carried::{Carried, is_position};
use super::expression::Place;
use super::literal::{base_of, kind_of};
use super::program::{
    AxisId, Expr, InstrumentId, Kind, Literal, Reading, Remeasure, Role, Stations, StepId, Text, ValueId,
};
use super::sense::{Direction, SenseLine};

impl<'a> Checker<'a> {
    pub(super) fn reading(
        &mut self,
        id: ValueId,
        read: &'a ast::Read,
        step: Option<StepId>,
        at: usize,
    ) -> Option<Carried> {
        let unit = self.unit(&read.unit);
        let instruments: Vec<InstrumentId> =
            read.using.iter().filter_map(|name| self.instrument_named(name)).collect();
        let axes = self.reading_axes(id, read, step, at);
        let said = self.sense_lines(
            &read.name.text,
            read.lines.iter().filter_map(|line| {
                let sense = match &line.what {
                    ReadLine::Plus(text) => SenseLine::Plus(text),
                    ReadLine::Minus(text) => SenseLine::Minus(text),
                    ReadLine::Unsigned => SenseLine::Unsigned,
                    _ => return None,
                };
                Some((line.span, sense))
            }),
        );
        let (unit, axes) = (unit?, axes?);
        if instruments.len() < read.using.len() {
            return None;
        }
        let (kind, scale) = self.scaled_kind(unit, &instruments, read)?;
        let slope = scale.as_ref().map_or(unit.is_slope(), |scale| scale.unit.is_slope());
        let direction = match said {
            Some((direction, _)) => direction,
            None => {
                let has_lines = read.lines.iter().any(|line| {
                    matches!(line.what, ReadLine::Plus(_) | ReadLine::Minus(_) | ReadLine::Unsigned)
                });
                if has_lines {
                    // Half a sense, already reported.
                    return None;
                }
                if is_position(&kind, slope) {
                    self.ask_for_sense(read);
                    return None;
                }
                Direction::Plain
            }
        };
        let direction = if direction == Direction::Plain && kind == Kind::Quantity(Dimension::DIVISION) {
            Direction::Lost
        } else {
            direction
        };
        let carried = Carried {
            positive: match direction {
                Direction::Unsigned => Some(true),
                _ => None,
            },
            direction,
            slope,
            unit: Some(scale.as_ref().map_or(unit, |scale| scale.unit)),
            scale,
            resolution: self.coarsest(&instruments),
        };
        self.uncertainties_fit(read, &instruments, &kind);
        let sets = self.set_axis_senses(read, &axes);
        let role = self.reading_lines(read, step, unit, instruments);
        let station_senses = self.station_senses(read, &axes, step);
        sets?;
        let value = self.values.get_mut(id.0)?;
        value.kind = kind;
        value.axes = axes;
        value.unit = Some(unit);
        value.station_senses = station_senses?;
        value.role = Role::Reading(Box::new(role?));
        Some(carried)
    }

    fn ask_for_sense(&mut self, read: &'a ast::Read) {
        self.report(
            Problem::fault(
                Code::SenseMissing,
                read.name.span,
                format!("`{}` does not say what plus and minus mean", read.name.text),
            )
            .label("a sign without words is read the other way next year")
            .help(
                "add `plus \"toward the operator\"` and `minus \"away from the operator\"` beneath it, in your own words; \
                 or `unsigned` if it can never be below zero",
            ),
        );
    }

    /// A reading in div means what the scale of its instruments says.
    fn scaled_kind(
        &mut self,
        unit: Unit,
        instruments: &[InstrumentId],
        read: &'a ast::Read,
    ) -> Option<(Kind, Option<Literal>)> {
        if unit != Unit::Div {
            return Some((kind_of(unit), None));
        }
        let scales: Vec<Option<Literal>> = instruments
            .iter()
            .map(|id| self.instruments.get(id.0).and_then(|instrument| instrument.scale.clone()))
            .collect();
        let Some(first) = scales.first() else { return Some((kind_of(unit), None)) };
        let alike = scales.iter().all(|scale| match (scale, first) {
            (Some(a), Some(b)) => a.unit.converts_to(b.unit) && base_of(a) == base_of(b),
            (None, None) => true,
            _ => false,
        });
        if !alike {
            self.report(
                Problem::fault(
                    Code::UnitTwoScales,
                    read.unit.span,
                    format!("`{}` is read in div, and its instruments have different scales", read.name.text),
                )
                .label("one division means different things")
                .help("read it in mm/m, or write a step for each instrument"),
            );
            return None;
        }
        Some(match first {
            Some(scale) => (Kind::Quantity(scale.unit.dimension()), Some(scale.clone())),
            None => (kind_of(unit), None),
        })
    }

    fn coarsest(&self, instruments: &[InstrumentId]) -> Vec<(Dimension, crate::quantity::Rational)> {
        // With several to choose from, the finest is what the author had in mind.
        let sizes = instruments
            .iter()
            .filter_map(|id| self.instruments.get(id.0))
            .filter_map(|instrument| self.resolution_of(instrument));
        sizes.min_by(|a, b| a.1.cmp(&b.1)).into_iter().collect()
    }

    /// The axes of a reading, each where its line stands.
    fn reading_axes(
        &mut self,
        id: ValueId,
        read: &'a ast::Read,
        step: Option<StepId>,
        at: usize,
    ) -> Option<Vec<AxisId>> {
        let mut axes = Some(Vec::new());
        // Time is the outermost axis, wherever its line stands.
        for line in &read.lines {
            if let (ReadLine::Every { .. }, Some(list)) = (&line.what, &mut axes) {
                list.push(self.time_axis(id, line.span));
            }
        }
        for line in &read.lines {
            let axis = match &line.what {
                ReadLine::Over(over) => self.over_in_step(over, step, at),
                ReadLine::Times { least, most } => self.times(least, most.as_ref(), line.span),
                ReadLine::Survey { lines, length, width, foot } => {
                    self.survey_axis(lines, [length, width, foot], line.span)
                }
                ReadLine::HighAndLow => Some(self.made_axis("extreme", words(&["high", "low"]), line.span)),
                ReadLine::ThereAndBack => {
                    Some(self.made_axis("direction", words(&["there", "back"]), line.span))
                }
                _ => continue,
            };
            match (axis, &mut axes) {
                (Some(axis), Some(list)) => list.push(axis),
                (None, _) => axes = None,
                (_, None) => {}
            }
        }
        let axes = axes?;
        self.no_axis_twice(&axes)?;
        Some(axes)
    }

    fn no_axis_twice(&mut self, axes: &[AxisId]) -> Option<()> {
        let mut seen = HashSet::new();
        for axis in axes {
            let Some(laid) = self.axes.get(axis.0) else { continue };
            if !seen.insert(laid.name.clone()) {
                let (name, span) = (laid.name.clone(), laid.span);
                self.report(
                    Problem::fault(
                        Code::NameTaken,
                        span,
                        format!("axis `{name}` stands twice in one layout"),
                    )
                    .help("give one of them another name"),
                );
                return None;
            }
        }
        Some(())
    }

    fn over_in_step(&mut self, over: &'a ast::Over, step: Option<StepId>, at: usize) -> Option<AxisId> {
        self.stands_above(over, step, at)?;
        let axis = self.over_line(over, step)?;
        if !matches!(over.stations.what, ast::StationsOf::Named)
            && let Some(scope) = step.and_then(|step| self.names.scopes.get_mut(step.0))
        {
            scope.axes.entry(&over.name.text).or_insert(axis);
        }
        Some(axis)
    }

    /// An axis may use what is observed above it, not below.
    fn stands_above(&mut self, over: &'a ast::Over, step: Option<StepId>, at: usize) -> Option<()> {
        let ast::StationsOf::List(list) = &over.stations.what else { return Some(()) };
        for station in list {
            let name = match station {
                ast::Station::Word(word) => word,
                ast::Station::Value(ast::Expr { what: ast::ExprKind::Name(path), .. })
                    if path.step.is_none() =>
                {
                    &path.name
                }
                ast::Station::Value(_) => continue,
            };
            let Some(scope) = step.and_then(|step| self.names.scopes.get(step.0)) else { continue };
            let Some(declared) =
                scope.values.get(name.text.as_str()).and_then(|id| self.names.declared.get(id.0))
            else {
                continue;
            };
            if declared.at >= at && !matches!(declared.what, super::names::What::Let(_)) {
                let given = declared.name.span;
                self.report(
                    Problem::fault(
                        Code::AxisBelow,
                        name.span,
                        format!("`{}` is only asked below this line", name.text),
                    )
                    .and(given, "asked here")
                    .help("move it above: lines are asked in the order they stand"),
                );
                return None;
            }
        }
        Some(())
    }

    fn times(&mut self, least: &ast::Number, most: Option<&ast::Number>, span: Span) -> Option<AxisId> {
        let low = self.whole(least, 1, "repeats")?;
        let high = match most {
            Some(most) => self.whole(most, low, "repeats")?,
            None => low,
        };
        Some(self.made_axis("repeat", Stations::Repeat { least: low, most: high }, span))
    }

    fn reading_lines(
        &mut self,
        read: &'a ast::Read,
        step: Option<StepId>,
        unit: Unit,
        instruments: Vec<InstrumentId>,
    ) -> Option<Reading> {
        let mut reading = Reading {
            instruments,
            usual: None,
            remeasure: Remeasure::Latest,
            not_read_allowed: false,
            open_ended_allowed: false,
            join: None,
            only_when: None,
            series: None,
        };
        let mut fine = Some(());
        for line in &read.lines {
            match &line.what {
                ReadLine::Usual(range) => {
                    reading.usual = self.range(range, unit, Place::of(step));
                    fine = fine.and(reading.usual.as_ref().map(|_| ()));
                }
                ReadLine::Remeasure(ast::Counts::Mean) => reading.remeasure = Remeasure::Mean,
                ReadLine::Remeasure(ast::Counts::Latest) => reading.remeasure = Remeasure::Latest,
                ReadLine::NotReadAllowed => reading.not_read_allowed = true,
                ReadLine::OpenEndedAllowed => reading.open_ended_allowed = true,
                ReadLine::Join { stations, within } => {
                    reading.join = self.join_line(read, stations, within, unit, line.span);
                    fine = fine.and(reading.join.as_ref().map(|_| ()));
                }
                ReadLine::OnlyWhen(condition) => {
                    let condition = self.condition(condition, Place::of(step));
                    fine = fine.and(condition.as_ref().map(|_| ()));
                    reading.only_when = condition.map(|typed| typed.expr);
                }
                _ => {}
            }
        }
        match self.series(read) {
            Ok(series) => reading.series = series,
            Err(()) => fine = None,
        }
        fine.map(|()| reading)
    }

    pub(super) fn observation(
        &mut self,
        id: ValueId,
        observe: &'a ast::Observe,
        step: Option<StepId>,
    ) -> Option<Carried> {
        let at = self.names.declared.get(id.0)?.at;
        let kind = self.kind(&observe.kind, &observe.name.text, step);
        let mut axes = Some(Vec::new());
        let mut only_when: Option<Expr> = None;
        let mut fine = Some(());
        for line in &observe.lines {
            match &line.what {
                ObserveLine::Over(over) => match (self.over_in_step(over, step, at), &mut axes) {
                    (Some(axis), Some(list)) => list.push(axis),
                    (None, _) => axes = None,
                    (_, None) => {}
                },
                ObserveLine::OnlyWhen(condition) => {
                    let condition = self.condition(condition, Place::of(step));
                    fine = fine.and(condition.as_ref().map(|_| ()));
                    only_when = condition.map(|typed| typed.expr);
                }
                ObserveLine::With(name) => match (self.asked_with(id, name, step), &mut axes) {
                    (Some(time), Some(list)) => list.insert(0, time),
                    (None, _) => axes = None,
                    (_, None) => {}
                },
            }
        }
        let ((kind, unit, bounds), axes) = (kind?, axes?);
        self.no_axis_twice(&axes)?;
        fine?;
        let carried = self.asked(&kind, unit, bounds.as_ref());
        let value = self.values.get_mut(id.0)?;
        value.kind = kind;
        value.unit = unit;
        value.axes = axes;
        value.role = Role::Observation { bounds, only_when };
        Some(carried)
    }

    pub(super) fn adjustment(
        &mut self,
        id: ValueId,
        node: &'a ast::Adjustment,
        step: Option<StepId>,
    ) -> Option<Carried> {
        let at = self.names.declared.get(id.0)?.at;
        let unit = self.unit(&node.unit);
        let said = self.sense_lines(
            &node.name.text,
            node.lines.iter().filter_map(|line| match &line.what {
                ast::AdjustmentLine::Plus(text) => Some((line.span, SenseLine::Plus(text))),
                ast::AdjustmentLine::Minus(text) => Some((line.span, SenseLine::Minus(text))),
                _ => None,
            }),
        );
        let mut axes = Some(Vec::new());
        for line in &node.lines {
            if let ast::AdjustmentLine::Over(over) = &line.what {
                match (self.over_in_step(over, step, at), &mut axes) {
                    (Some(axis), Some(list)) => list.push(axis),
                    (None, _) => axes = None,
                    (_, None) => {}
                }
            }
        }
        let (unit, axes) = (unit?, axes?);
        if said.is_none() {
            let half = node.lines.iter().any(|line| {
                matches!(line.what, ast::AdjustmentLine::Plus(_) | ast::AdjustmentLine::Minus(_))
            });
            if !half {
                self.report(
                    Problem::fault(
                        Code::SenseMissing,
                        node.name.span,
                        format!("adjustment `{}` does not say what plus and minus mean", node.name.text),
                    )
                    .label("an amount without a direction moves things the wrong way")
                    .help("add `plus \"shim added\"` and `minus \"shim taken out\"` beneath it, in your own words"),
                );
            }
            return None;
        }
        let direction = said.map_or(Direction::Lost, |(direction, _)| direction);
        let carried = Carried { direction, ..Carried::in_unit(unit) };
        let value = self.values.get_mut(id.0)?;
        value.kind = match unit.is_point() {
            true => Kind::Quantity(Dimension::TEMPERATURE),
            false => kind_of(unit),
        };
        value.unit = Some(unit.of_differences());
        value.axes = axes;
        value.label = Text::plain(node.name.text.clone());
        value.role = Role::Adjustment { predicts: Vec::new() };
        Some(carried)
    }
}

fn words(all: &[&str]) -> Stations {
    Stations::Words(all.iter().map(|word| (*word).to_string()).collect())
}
