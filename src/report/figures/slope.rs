//! Taper, lean, slope: how a value goes from the first station to the last, in the wedge that is allowed.

use crate::check::program::{Arithmetic, By, Function, Node};
use crate::metrology::{self, Reference};
use crate::quantity::{Real, Sense};
use crate::report::plot::{Axis, Chart, Edge, Form, Line, Marks, Tint, Zone};
use crate::walk::value::Cell;

use super::profile::reach;
use super::walked::{Along, Laying, MOST_LINES, Use, Walked, begun, drawn, ends, grouped, joined, with_unit};
use super::{Figure, Shown};

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let uses = walked.uses(&[Function::Taper, Function::Gain, Function::Slope]);
    let uses = uses.into_iter().filter(|of| walked.axis_of(of).is_some()).collect();
    let mut figures = Vec::new();
    for (laid, members) in grouped(walked, uses, false) {
        let Some(first) = members.first() else { continue };
        let laying = walked.axis_of(first).and_then(|axis| walked.laid_along(&laid, axis));
        let Some(figure) = laying.and_then(|laying| figure(walked, &members, &laying)) else { continue };
        members.iter().for_each(|of| walked.take(shown, of.argument));
        figures.push(figure);
    }
    figures
}

/// What is allowed of the change from first to last.
struct Wedge {
    lower: Option<f64>,
    upper: Option<f64>,
    name: String,
}

fn figure(walked: &Walked<'_>, members: &[Use<'_>], laying: &Laying) -> Option<Figure> {
    let first = members.first()?;
    let most = laying.lines.iter().map(|line| line.values.len()).max().unwrap_or(0);
    // Two places that nothing judges are told well enough by their numbers.
    if most < 2 || (most == 2 && members.iter().all(|of| walked.rules_on(of.result).is_empty())) {
        return None;
    }
    let unit = walked.unit_of(first);
    let judged = members.iter().find(|of| !walked.rules_on(of.result).is_empty());
    let titled = judged.or(members.iter().find(|of| of.whole)).unwrap_or(first);
    let sense: Option<&Sense> = match titled.function {
        Function::Slope => first.argument.sense.as_ref(),
        _ => walked.sense(titled.result).filter(|_| titled.whole).or(first.argument.sense.as_ref()),
    };
    let points = |along: &Along| {
        let from = along.values.first().cloned().unwrap_or_else(Real::zero);
        let places = along.stations.iter().map(|station| walked.station(laying, station));
        places.zip(along.values.iter().map(|value| drawn(&(value - &from), unit))).collect::<Vec<_>>()
    };
    let lines: Vec<Line> = laying
        .lines
        .iter()
        .take(MOST_LINES)
        .enumerate()
        .map(|(at, along)| Line {
            name: along.name.clone(),
            form: Form(at),
            points: points(along),
            marks: Marks::Full,
            joined: true,
        })
        .collect();
    let mut x = Axis::new(walked.axis_label(laying.axis));
    if laying.named {
        x.names = names(laying);
    }
    let start = laying.lines.first()?.places.first()?.clone();
    let mut chart = Chart {
        x,
        y: Axis::new(with_unit(&format!("change from {start}"), unit)).with_ends(ends(sense)),
        lines,
        ..Chart::default()
    };
    if let Some(wedge) = members.iter().find_map(|of| wedge(walked, of, laying)) {
        chart.zones.push(zone(&wedge, &chart)?);
    }
    chart.stretches.extend(walked.seams(laying));
    if let ([along], [line], true) =
        (laying.lines.as_slice(), chart.lines.as_mut_slice(), is_least_squares(members))
    {
        "as measured".clone_into(&mut line.name);
        chart.lines.extend(fitted(walked, laying, along, unit));
    }
    let described = laying.lines.iter().take(MOST_LINES).filter_map(|along| {
        let change = along.values.last()? - along.values.first()?;
        let (from, to) = (along.places.first()?, along.places.last()?);
        let said = walked.said(&change, unit, sense, titled.result);
        Some(begun(&along.name, &format!("from {from} to {to} {said}.")))
    });
    let rules = members.iter().flat_map(|of| walked.rules_on(of.result));
    let mut words: Vec<String> = vec![format!("Change from the first place on, {}.", reach(laying))];
    words.extend(described);
    for rule in rules {
        let sentence = rule.sentence();
        if !words.contains(&sentence) {
            words.push(sentence);
        }
    }
    Some(Figure { title: walked.label(titled.result), words: joined(words), drawing: chart.draw() })
}

pub(super) fn names(laying: &Laying) -> Vec<(f64, String)> {
    let mut names: Vec<(f64, String)> = Vec::new();
    for line in &laying.lines {
        for (station, place) in line.stations.iter().zip(&line.places) {
            let at = station.to_f64();
            if names.iter().all(|(known, _)| *known != at) {
                names.push((at, place.clone()));
            }
        }
    }
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    names
}

fn is_least_squares(members: &[Use<'_>]) -> bool {
    members.iter().any(|of| match of.function {
        Function::Taper => of.by == Some(By::LeastSquares),
        function => function == Function::Slope,
    })
}

/// The line of least squares that the result is read off.
fn fitted(
    walked: &Walked<'_>,
    laying: &Laying,
    along: &Along,
    unit: Option<crate::quantity::Unit>,
) -> Option<Line> {
    let line = metrology::fit(&along.stations, &along.values, Reference::LeastSquares).ok()?;
    let from = along.values.first()?;
    let at = |station: &Real| (walked.station(laying, station), drawn(&(&line.at(station) - from), unit));
    let points = vec![at(along.stations.first()?), at(along.stations.last()?)];
    Some(Line { name: "least squares".to_owned(), form: Form(1), points, marks: Marks::None, joined: true })
}

/// The bounds of a rule on the change itself: on the function alone, or on it with something added or taken off.
fn wedge(walked: &Walked<'_>, of: &Use<'_>, laying: &Laying) -> Option<Wedge> {
    if of.function == Function::Slope || laying.lines.len() > MOST_LINES {
        return None;
    }
    let added = match (&of.expr.node, of.whole) {
        (_, true) => Real::zero(),
        (Node::Arithmetic(Arithmetic::Add | Arithmetic::Subtract, left, right), _) => {
            let is_change = |expr: &crate::check::program::Expr| {
                matches!(&expr.node, Node::Call { arguments, .. }
                    if arguments.first().is_some_and(|it| std::ptr::eq(it, of.argument)))
            };
            let adds = matches!(&of.expr.node, Node::Arithmetic(Arithmetic::Add, ..));
            if !(is_change(left) || (adds && is_change(right))) {
                return None;
            }
            let (whole, change) = (walked.evaluator.single(of.expr), change(laying)?);
            match whole {
                Cell::Known(crate::walk::value::Scalar::Number(whole)) => &whole - &change,
                _ => return None,
            }
        }
        _ => return None,
    };
    let unit = walked.unit(of.result);
    let added = drawn(&added, unit);
    let rule = walked.rules_on(of.result).into_iter().find(|rule| rule.held.window.is_none())?;
    let (lower, upper) = (rule.lower().map(|it| it - added), rule.upper().map(|it| it - added));
    if lower.is_none() && upper.is_none() {
        return None;
    }
    let name = match of.whole {
        true => format!("allowed: {}", rule.held.limit()),
        false => format!("allowed: {}, less what is added to the change", rule.held.limit()),
    };
    Some(Wedge { lower, upper, name })
}

/// Last less first, where there is one line.
fn change(laying: &Laying) -> Option<Real> {
    match laying.lines.as_slice() {
        [along] => Some(along.values.last()? - along.values.first()?),
        _ => None,
    }
}

fn zone(wedge: &Wedge, chart: &Chart) -> Option<Zone> {
    let xs = chart.lines.iter().flat_map(|line| line.points.iter().map(|point| point.0));
    let (first, last) = (
        chart.lines.first()?.points.first()?.0,
        xs.max_by(|a, b| {
            let from = chart.lines.first().and_then(|line| line.points.first()).map_or(0.0, |point| point.0);
            (a - from).abs().total_cmp(&(b - from).abs())
        })?,
    );
    let edges = vec![
        Edge { at: first, low: wedge.lower.map(|_| 0.0), high: wedge.upper.map(|_| 0.0) },
        Edge { at: last, low: wedge.lower, high: wedge.upper },
    ];
    Some(Zone { tint: Tint::Allowed, edges, edged: true, name: wedge.name.clone() })
}
