//! Straightness: departures from the reference line along a length, the band between the least and the greatest, what is
//! allowed, and the worst local window.

use crate::check::program::{By, Function};
use crate::metrology::{self, Reference};
use crate::quantity::{Real, Unit};
use crate::report::plot::{Axis, Chart, Edge, Ends, Form, Level, Line, Marks, Stretch, Tint, Zone};
use crate::walk::text;

use super::walked::{Laying, MOST_LINES, Rule, Use, Walked, begun, drawn, ends, grouped, joined, with_unit};
use super::{Figure, Shown};

const OF_A_LINE: [Function; 4] =
    [Function::Ordinates, Function::Straightness, Function::Hump, Function::Hollow];

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let uses = walked.uses(&OF_A_LINE).into_iter().filter(|of| walked.axis_of(of).is_some()).collect();
    let mut figures = Vec::new();
    for (laid, members) in grouped(walked, uses, true) {
        let Some(first) = members.first() else { continue };
        let laying = walked.axis_of(first).and_then(|axis| walked.laid_along(&laid, axis));
        let Some(figure) = laying.and_then(|laying| figure(walked, &members, &laying)) else { continue };
        for of in &members {
            walked.take(shown, of.argument);
            if of.whole {
                shown.0.insert(of.result);
            }
        }
        figures.push(figure);
    }
    figures
}

fn reference(by: Option<By>) -> (Reference, &'static str) {
    match by {
        Some(By::LeastSquares) => (Reference::LeastSquares, "the line of least squares"),
        Some(By::MinimumZone) => (Reference::MinimumZone, "the line of the minimum zone"),
        _ => (Reference::Ends, "the line through its ends"),
    }
}

/// Departures at their places, for one line of stations.
struct Departures {
    name: String,
    points: Vec<(f64, f64)>,
    least: (Real, String),
    greatest: (Real, String),
}

fn figure(walked: &Walked<'_>, members: &[Use<'_>], laying: &Laying) -> Option<Figure> {
    let first = members.first()?;
    let (reference, line) = reference(first.by);
    let unit = walked.unit_of(first);
    let departures: Vec<Departures> = laying
        .lines
        .iter()
        .take(MOST_LINES)
        .filter_map(|along| {
            let ordinates = metrology::ordinates(&along.stations, &along.values, reference).ok()?;
            let extreme = |least: bool| {
                let order = |a: &(usize, &Real), b: &(usize, &Real)| {
                    if least { a.1.cmp(b.1) } else { b.1.cmp(a.1) }
                };
                let (at, value) = ordinates.iter().enumerate().min_by(order)?;
                Some((value.clone(), along.places.get(at)?.clone()))
            };
            let places = along.stations.iter().map(|station| walked.station(laying, station));
            Some(Departures {
                name: along.name.clone(),
                points: places.zip(ordinates.iter().map(|it| drawn(it, unit))).collect(),
                least: extreme(true)?,
                greatest: extreme(false)?,
            })
        })
        .collect();
    if departures.is_empty() {
        return None;
    }
    let title = members.iter().find(|of| of.whole).unwrap_or(first);
    let title = walked.label(title.result);
    let own = members.iter().find(|of| of.whole && of.function == Function::Ordinates);
    let sense = own.and_then(|of| walked.sense(of.result));
    let marks = match (sense, first.argument.sense.as_ref()) {
        (Some(sense), _) => ends(Some(sense)),
        (None, Some(sense)) => Some(Ends {
            plus: format!("above the line: {}", sense.plus),
            minus: format!("below the line: {}", sense.minus),
        }),
        (None, None) => Some(Ends { plus: "above the line".to_owned(), minus: "below the line".to_owned() }),
    };
    let rules: Vec<(Function, Rule<'_>)> = members
        .iter()
        .filter(|of| of.whole)
        .flat_map(|of| walked.rules_on(of.result).into_iter().map(|rule| (of.function, rule)))
        .collect();
    let mut chart = Chart {
        x: Axis::new(walked.axis_label(laying.axis)),
        y: Axis::new(with_unit(&format!("departure from {line}"), unit)).with_ends(marks),
        lines: departures.iter().enumerate().map(|(at, it)| drawn_line(at, it)).collect(),
        ..Chart::default()
    };
    if let [one] = departures.as_slice() {
        chart.zones.push(band(one, unit));
        allowed(&mut chart, &rules, one, unit);
    }
    chart.stretches = windows(&rules, laying, walked);
    chart.stretches.extend(walked.seams(laying));
    let said = |value: &Real| walked.said(value, unit, sense, first.result);
    let described = departures.iter().map(|it| {
        let (highest, lowest) = (said(&it.greatest.0), said(&it.least.0));
        begun(
            &it.name,
            &format!("highest {highest} at {}, lowest {lowest} at {}.", it.greatest.1, it.least.1),
        )
    });
    let words = joined(
        [format!("Departures from {line}, {}.", reach(laying))]
            .into_iter()
            .chain(described)
            .chain(rules.iter().map(|(_, rule)| rule.sentence())),
    );
    Some(Figure { title, words, drawing: chart.draw() })
}

fn drawn_line(at: usize, departures: &Departures) -> Line {
    Line {
        name: departures.name.clone(),
        form: Form(at),
        points: departures.points.clone(),
        marks: Marks::Full,
        joined: true,
    }
}

/// `at 9 places from 0 mm to 400 mm`.
pub(super) fn reach(laying: &Laying) -> String {
    let Some(line) = laying.lines.iter().max_by_key(|line| line.places.len()) else { return String::new() };
    match line.places.as_slice() {
        [] => String::new(),
        [one] => format!("at {one}"),
        [first, .., last] => format!("at {} places from {first} to {last}", line.places.len()),
    }
}

/// From the least to the greatest departure.
fn band(one: &Departures, unit: Option<Unit>) -> Zone {
    let (low, high) = (drawn(&one.least.0, unit), drawn(&one.greatest.0, unit));
    let width = text::limit(&(&one.greatest.0 - &one.least.0), unit);
    let places = one.points.iter().map(|point| point.0);
    let from = places.clone().fold(f64::INFINITY, f64::min);
    let to = places.fold(f64::NEG_INFINITY, f64::max);
    Zone {
        tint: Tint::Band,
        edges: [from, to].map(|at| Edge { at, low: Some(low), high: Some(high) }).to_vec(),
        edged: false,
        name: format!("from lowest to highest: {width}"),
    }
}

/// What is allowed of each rule, as lines across.
fn allowed(chart: &mut Chart, rules: &[(Function, Rule<'_>)], one: &Departures, unit: Option<Unit>) {
    let middle = (drawn(&one.least.0, unit) + drawn(&one.greatest.0, unit)) / 2.0;
    for (function, rule) in rules {
        let (lower, upper) = (rule.lower(), rule.upper());
        let limit = |at: f64, name: String| Level { at, name, limit: true };
        match function {
            // A spread within a window is no height.
            Function::Ordinates if rule.held.window.is_some() => {}
            Function::Ordinates => {
                let bounds = [(lower, &rule.held.rule.lower), (upper, &rule.held.rule.upper)];
                for (bound, recorded) in bounds {
                    if let (Some(at), Some(recorded)) = (bound, recorded) {
                        chart.levels.push(limit(at, format!("limit {}", rule.held.number(recorded))));
                    }
                }
            }
            Function::Straightness => {
                if let Some(width) = upper {
                    chart
                        .levels
                        .push(limit(middle + width / 2.0, format!("allowed: {} wide", rule.held.limit())));
                    chart.levels.push(limit(middle - width / 2.0, String::new()));
                }
            }
            Function::Hollow => {
                if let Some(depth) = upper {
                    chart.levels.push(limit(-depth, format!("hollow {}", rule.held.limit())));
                }
            }
            _ => {
                if let Some(height) = upper {
                    chart.levels.push(limit(height, format!("hump {}", rule.held.limit())));
                }
            }
        }
    }
}

/// The worst windows, those that lie at the same place together.
fn windows(rules: &[(Function, Rule<'_>)], laying: &Laying, walked: &Walked<'_>) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for (_, rule) in rules {
        let Some((from, to)) = &rule.held.window else { continue };
        let place = |text: &str| {
            let exact = crate::quantity::parse_exact(text)?;
            Some(walked.station(laying, &Real::Exact(exact)))
        };
        let (Some(from), Some(to)) = (place(from), place(to)) else { continue };
        let name = format!("worst window, {}", rule.held.label);
        match found.iter_mut().find(|it| it.from == from && it.to == to) {
            Some(same) => same.name.push_str(&format!("; {}", rule.held.label)),
            // Two windows that overlap are told apart by their patterns.
            None => {
                let tint = if found.len().is_multiple_of(2) { Tint::Dotted } else { Tint::Hatched };
                found.push(Stretch { from, to, tint, name });
            }
        }
    }
    found
}
