//! Series in time: what was read against the clock, where the curve points, and the last span in which it was to be steady.

use crate::check::program::{
    AxisId, Expr, Function, Item, Judged, Node, Over, Role, Rule, Stations, Test, ValueId,
};
use crate::metrology::{self, Projection};
use crate::quantity::{Real, Unit};
use crate::report::plot::{Axis, Chart, Form, Level, Line, Marks, Stretch, Tint};
use crate::walk::text;

use super::walked::{Along, Laying, MOST_LINES, Walked, begun, drawn, ends, joined, with_unit};
use super::{Figure, Shown};

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let mut figures = Vec::new();
    for item in &walked.plan.items {
        let Item::Reading(id) = item else { continue };
        let Some(time) = time_axis(walked, *id) else { continue };
        figures.extend(figure(walked, *id, time));
        shown.0.insert(*id);
    }
    let mut results: Vec<ValueId> = walked.plan.lets.clone();
    results.sort_by_key(|id| (walked.program.values[id.0].span.start, *id));
    for id in results {
        if let Some(time) = time_axis(walked, id).filter(|_| !shown.0.contains(&id)) {
            figures.extend(figure(walked, id, time));
            shown.0.insert(id);
        }
    }
    figures
}

/// The axis of times that a value is laid out over.
fn time_axis(walked: &Walked<'_>, id: ValueId) -> Option<AxisId> {
    let axes = &walked.program.values.get(id.0)?.axes;
    axes.iter().copied().find(|axis| {
        walked.program.axes.get(axis.0).is_some_and(|it| matches!(it.stations, Stations::Time { .. }))
    })
}

fn figure(walked: &Walked<'_>, id: ValueId, time: AxisId) -> Option<Figure> {
    let laying = walked.laid_along(&walked.evaluator.value(id), time)?;
    let (unit, sense) = (walked.unit(id), walked.sense(id));
    let line = |(at, along): (usize, &Along)| Line {
        name: along.name.clone(),
        form: Form(at),
        points: points(walked, &laying, along, unit),
        marks: Marks::Full,
        joined: true,
    };
    let mut chart = Chart {
        x: Axis::new("time since the start, in min"),
        y: Axis::new(with_unit(&walked.label(id), unit)).with_ends(ends(sense)),
        lines: laying.lines.iter().take(MOST_LINES).enumerate().map(line).collect(),
        height: Some(220.0),
        ..Chart::default()
    };
    let mut words = vec![format!("{} rows, {}.", rows(&laying), span(&laying))];
    for along in laying.lines.iter().take(MOST_LINES) {
        let (Some(first), Some(last)) = (along.values.first(), along.values.last()) else { continue };
        let said = |value: &Real| walked.said(value, unit, sense, id);
        let most = metrology::greatest(&along.values).map(|most| said(&most)).unwrap_or_default();
        words.push(begun(
            &along.name,
            &format!("first {}, last {}, highest {most}.", said(first), said(last)),
        ));
    }
    steady(walked, id, &laying, &mut chart, &mut words);
    fits(walked, id, &laying, unit, &mut chart, &mut words);
    limits(walked, id, &mut chart);
    words.extend(walked.rules_on(id).iter().map(|rule| rule.sentence()));
    Some(Figure { title: walked.label(id), words: joined(words), drawing: chart.draw() })
}

fn points(walked: &Walked<'_>, laying: &Laying, along: &Along, unit: Option<Unit>) -> Vec<(f64, f64)> {
    let times = along.stations.iter().map(|station| walked.station(laying, station));
    times.zip(along.values.iter().map(|value| drawn(value, unit))).collect()
}

fn rows(laying: &Laying) -> usize {
    laying.lines.iter().map(|line| line.values.len()).max().unwrap_or(0)
}

fn span(laying: &Laying) -> String {
    let longest = laying.lines.iter().max_by_key(|line| line.places.len());
    match longest.and_then(|line| Some((line.places.first()?, line.places.last()?))) {
        Some((first, last)) => format!("from {first} to {last}"),
        None => String::new(),
    }
}

/// The spans in which a value was to be steady, of tolerances and of what ends the series.
fn steady(walked: &Walked<'_>, id: ValueId, laying: &Laying, chart: &mut Chart, words: &mut Vec<String>) {
    for rule in steady_rules(walked, id) {
        let Test::Steady { within, duration } = &rule.test else { continue };
        let (within, duration) = (walked.evaluator.single(within), walked.evaluator.single(duration));
        let (Some(within), Some(duration)) = (within.as_number(), duration.as_number()) else { continue };
        let last = laying.lines.iter().filter_map(|line| line.stations.last()).max();
        let Some(last) = last else { continue };
        let (from, to) = (walked.station(laying, &(last - duration)), walked.station(laying, last));
        let unit = walked.unit(id).map(Unit::of_differences);
        let moved: Vec<Real> = laying
            .lines
            .iter()
            .filter_map(|line| metrology::spread(&line.stations, &line.values, duration).ok())
            .collect();
        let span = text::limit(duration, Some(Unit::Min));
        let allowed = text::limit(within, unit);
        match metrology::greatest(&moved) {
            Ok(moved) => words.push(format!(
                "In the last {span} it moved {}; steady is at most {allowed}.",
                walked.said(&moved, unit, None, id)
            )),
            Err(_) => words.push(format!("Not steady for {span} yet.")),
        }
        let name = format!("last {span}: steady is at most {allowed}");
        // A tolerance may ask for what also ends the series.
        if chart.stretches.iter().any(|known| known.name == name) {
            words.pop();
            continue;
        }
        chart.stretches.push(Stretch { from, to, tint: Tint::Dotted, name });
    }
}

fn steady_rules<'a>(walked: &Walked<'a>, id: ValueId) -> Vec<&'a Rule> {
    let mut found = Vec::new();
    for judgement in &walked.plan.judgements {
        if let Judged::Tolerance { value, rule, .. } = &judgement.of
            && *value == id
        {
            found.push(&**rule);
        }
    }
    for item in &walked.plan.items {
        let Item::Reading(reading) = item else { continue };
        let Role::Reading(plan) = &walked.program.values[reading.0].role else { continue };
        let Some(until) = plan.series.as_ref().and_then(|series| series.until.as_ref()) else { continue };
        until.each(&mut |part: &'a Expr| {
            if let Node::Meets(of, rule) = &part.node
                && names(of, id)
            {
                found.push(rule);
            }
        });
    }
    found.retain(|rule| matches!(rule.test, Test::Steady { .. }));
    found
}

/// Whether an expression is this value, or a station of it.
fn names(expr: &Expr, id: ValueId) -> bool {
    match &expr.node {
        Node::Value(value) => *value == id,
        Node::Pick(of, _) => names(of, id),
        _ => false,
    }
}

/// The curves that results read their projections off.
fn fits(
    walked: &Walked<'_>,
    id: ValueId,
    laying: &Laying,
    unit: Option<Unit>,
    chart: &mut Chart,
    words: &mut Vec<String>,
) {
    let uses = walked.uses(&[Function::SettlesAt, Function::TimeConstant]);
    let mut drawn_already: Vec<Along> = Vec::new();
    for of in uses.into_iter().filter(|of| names(of.argument, id)) {
        let Some(part) = walked.along(of.argument, laying.axis) else { continue };
        for along in &part.lines {
            if drawn_already.iter().any(|known| known.values == along.values) {
                continue;
            }
            let Some(curve) = projection(along) else { continue };
            let (Some(first), Some(last)) = (along.stations.first(), along.stations.last()) else { continue };
            let tau = curve.time_constant.to_f64();
            let (start, from, to) = (drawn(&curve.start, unit), first.to_f64(), last.to_f64());
            let end = drawn(&curve.end, unit);
            let at = |time: f64| end + (start - end) * libm::exp(-(time - from) / tau);
            let until = to + (to - from) * 0.25;
            let points = (0..=60).map(|step| from + (until - from) * f64::from(step) / 60.0);
            let points = points.map(|time| {
                let x = walked.station(laying, &Real::approximate(time, 0.0).unwrap_or_else(Real::zero));
                (x, at(time))
            });
            let form = Form(chart.lines.len());
            chart.lines.push(Line {
                name: "fit, a projection beyond the last row".to_owned(),
                form,
                points: points.collect(),
                marks: Marks::None,
                joined: true,
            });
            let settles = roughly(&curve.end, unit);
            chart.levels.push(Level {
                at: end,
                name: format!("settles at {settles}, a projection"),
                limit: false,
            });
            let tau = roughly(&curve.time_constant, Some(Unit::Min));
            words.push(format!("The fit seems to settle at {settles}, with a time constant of {tau}: a projection, not measured."));
            drawn_already.push(along.clone());
        }
    }
}

/// To a tenth: a projection is not known better.
fn roughly(value: &Real, unit: Option<Unit>) -> String {
    let shown = unit.map_or_else(|| value.clone(), |unit| unit.from_base(value));
    let number = crate::quantity::fixed(&shown.middle(), 1);
    unit.map_or(number.clone(), |unit| format!("{number} {}", unit.symbol()))
}

fn projection(along: &Along) -> Option<Projection> {
    match (along.stations.as_slice(), along.values.as_slice()) {
        ([first, second, _], [a, b, c]) => metrology::three_point(&(second - first), [a, b, c]).ok(),
        (times, values) => metrology::first_order(times, values, None).ok(),
    }
}

/// Limits on the value itself, and on its last or greatest.
fn limits(walked: &Walked<'_>, id: ValueId, chart: &mut Chart) {
    let mut rules = walked.rules_on(id);
    for of in walked.uses(&[Function::Last, Function::Greatest, Function::Least]) {
        if of.whole && names(of.argument, id) {
            rules.extend(walked.rules_on(of.result));
        }
    }
    for rule in rules {
        let Judged::Tolerance { rule: plan, over, .. } = &rule.judgement.of else { continue };
        if matches!(plan.test, Test::Steady { .. }) || *over == Over::Any {
            continue;
        }
        let bounds = [(rule.lower(), &rule.held.rule.lower), (rule.upper(), &rule.held.rule.upper)];
        for (bound, recorded) in bounds {
            if let (Some(at), Some(recorded)) = (bound, recorded) {
                let name = format!("limit {}: {}", rule.held.number(recorded), rule.held.label);
                chart.levels.push(Level { at, name, limit: true });
            }
        }
    }
}
