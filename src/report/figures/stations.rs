//! What stands at stations and is not drawn otherwise: levels along a bed, results at several places, repeats.

use crate::check::program::{AxisId, Function, Item, Judged, Over, Stations, ValueId};
use crate::metrology;
use crate::quantity::{Real, Sense, Unit};
use crate::report::plot::{Axis, Chart, Edge, Form, Line, Marks, Tint, Zone};

use super::profile::reach;
use super::slope::names;
use super::walked::{Along, Laying, MOST_LINES, Rule, Walked, begun, drawn, ends, joined, with_unit};
use super::{Figure, Shown};

/// A reading at fewer places than this is told well enough by its numbers.
const WORTH_DRAWING: usize = 4;

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let mut figures = Vec::new();
    for of in walked.uses(&[Function::TwistShims]) {
        let axis = of.over.first().copied().or_else(|| of.argument.axes.first().copied());
        let Some(laying) = axis.and_then(|axis| walked.along(of.argument, axis)) else { continue };
        let (unit, sense) = (walked.unit_of(&of), of.argument.sense.as_ref());
        let of_argument = match &of.argument.node {
            crate::check::program::Node::Value(id) => *id,
            _ => of.result,
        };
        if shown.0.insert(of_argument) {
            let looks = Looks { title: walked.label(of_argument), unit, sense, of: of_argument };
            figures.extend(figure(walked, &laying, looks, &[]));
        }
    }
    let mut results: Vec<ValueId> = walked.plan.lets.clone();
    results.sort_by_key(|id| (walked.program.values[id.0].span.start, *id));
    let readings = walked.plan.items.iter().filter_map(|item| match item {
        Item::Reading(id) => Some(*id),
        Item::Observation(_) | Item::Defects(_) => None,
    });
    // Repeats are drawn as they were read; what is worked out of each of them says no more.
    let repeated = |id: &ValueId| {
        walked.program.values[id.0].axes.iter().any(|axis| {
            let plan = walked.program.axes.get(axis.0).map(|axis| &axis.stations);
            matches!(plan, Some(Stations::Repeat { .. }))
        })
    };
    let results = results.into_iter().filter(|id| !repeated(id) || !walked.rules_on(*id).is_empty());
    let values = results.map(|id| (id, true)).chain(readings.map(|id| (id, false)));
    let mut found = Vec::new();
    for (id, is_result) in values {
        if shown.0.contains(&id) {
            continue;
        }
        let Some(figure) = of_value(walked, id, is_result) else { continue };
        shown.0.insert(id);
        found.push((walked.program.values[id.0].span.start, figure));
    }
    found.sort_by_key(|(at, _)| *at);
    figures.extend(found.into_iter().map(|(_, figure)| figure));
    figures
}

/// So many places need no high drawing.
const FEW: usize = 6;

fn most(laying: &Laying) -> usize {
    laying.lines.iter().map(|line| line.values.len()).max().unwrap_or(0)
}

/// How a value is shown.
struct Looks<'a> {
    title: String,
    unit: Option<Unit>,
    sense: Option<&'a Sense>,
    of: ValueId,
}

fn of_value(walked: &Walked<'_>, id: ValueId, is_result: bool) -> Option<Figure> {
    let value = walked.program.values.get(id.0)?;
    let plan = |axis: &AxisId| walked.program.axes.get(axis.0).map(|axis| &axis.stations);
    let repeats = value.axes.iter().find(|axis| matches!(plan(axis), Some(Stations::Repeat { .. })));
    let axis = match (repeats, value.axes.as_slice()) {
        (Some(axis), _) => *axis,
        (None, [.., axis]) => *axis,
        (None, []) => return None,
    };
    if value.axes.iter().any(|axis| {
        matches!(plan(axis), Some(Stations::Survey(_) | Stations::SurveyLines(_) | Stations::Time { .. }))
    }) {
        return None;
    }
    let laying = walked.laid_along(&walked.evaluator.value(id), axis)?;
    let most = most(&laying);
    let rules = walked.rules_on(id);
    // A reading is drawn where it was repeated, or stands along a length or a turn.
    let worth = match (is_result, repeats, laying.named) {
        (true, ..) => most >= WORTH_DRAWING - 1,
        (false, Some(_), _) => most >= WORTH_DRAWING,
        (false, None, named) => most >= WORTH_DRAWING && !named,
    };
    if !worth {
        return None;
    }
    let looks = Looks { title: walked.label(id), unit: walked.unit(id), sense: walked.sense(id), of: id };
    figure(walked, &laying, looks, &rules)
}

fn figure(walked: &Walked<'_>, laying: &Laying, looks: Looks<'_>, rules: &[Rule<'_>]) -> Option<Figure> {
    let Looks { title, unit, sense, of } = looks;
    let joins = !laying.named;
    let line = |(at, along): (usize, &Along)| {
        let places = along.stations.iter().map(|station| walked.station(laying, station));
        Line {
            name: along.name.clone(),
            form: Form(at),
            points: places.zip(along.values.iter().map(|value| drawn(value, unit))).collect(),
            marks: Marks::Full,
            joined: joins,
        }
    };
    let mut x = Axis::new(walked.axis_label(laying.axis));
    if laying.named {
        x.names = names(laying);
    }
    let mut chart = Chart {
        x,
        y: Axis::new(with_unit(&title, unit)).with_ends(ends(sense)),
        lines: laying.lines.iter().take(MOST_LINES).enumerate().map(line).collect(),
        height: Some(if most(laying) > FEW { 170.0 } else { 120.0 }),
        ..Chart::default()
    };
    chart.stretches.extend(walked.seams(laying));
    chart.zones.extend(rules.iter().find_map(|rule| allowed(rule, &chart)));
    let mut words = vec![format!("Values {}.", reach(laying))];
    for along in laying.lines.iter().take(MOST_LINES) {
        words.push(said(walked, along, laying.lines.len() <= 2, (unit, sense, of)));
    }
    if laying.lines.len() > MOST_LINES {
        words.push(format!("The first {MOST_LINES} of {} rows are drawn.", laying.lines.len()));
    }
    words.extend(rules.iter().map(|rule| rule.sentence()));
    Some(Figure { title, words: joined(words), drawing: chart.draw() })
}

/// Few values one by one, of many the ends.
fn said(
    walked: &Walked<'_>,
    along: &Along,
    one_by_one: bool,
    (unit, sense, of): (Option<Unit>, Option<&Sense>, ValueId),
) -> String {
    let one = |value: &Real| walked.said(value, unit, sense, of);
    if one_by_one && along.values.len() <= 4 {
        let values =
            along.places.iter().zip(&along.values).map(|(place, value)| format!("{place} {}", one(value)));
        return begun(&along.name, &format!("{}.", values.collect::<Vec<_>>().join("; ")));
    }
    match (metrology::least(&along.values), metrology::greatest(&along.values)) {
        (Ok(least), Ok(greatest)) => {
            let at = |value: &Real| {
                let at = along.values.iter().position(|it| it == value);
                at.and_then(|at| along.places.get(at)).cloned().unwrap_or_default()
            };
            let (low, high) = (at(&least), at(&greatest));
            let ends = format!("least {} at {low}, greatest {} at {high}.", one(&least), one(&greatest));
            begun(&along.name, &ends)
        }
        _ => String::new(),
    }
}

/// What is allowed at every station, where it is the same for all.
fn allowed(rule: &Rule<'_>, chart: &Chart) -> Option<Zone> {
    let Judged::Tolerance { over: Over::Every, rule: plan, .. } = &rule.judgement.of else { return None };
    if plan.window.is_some() {
        return None;
    }
    let (low, high) = (rule.lower(), rule.upper());
    let points = chart.lines.iter().flat_map(|line| line.points.iter().map(|point| point.0));
    let (from, to) =
        points.fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), x| (from.min(x), to.max(x)));
    let room = if chart.x.names.is_empty() { 0.0 } else { 0.5 };
    let edges = [from - room, to + room].map(|at| Edge { at, low, high }).to_vec();
    (low.is_some() || high.is_some()).then(|| Zone {
        tint: Tint::Allowed,
        edges,
        edged: true,
        name: format!("allowed: {}", rule.held.limit()),
    })
}
