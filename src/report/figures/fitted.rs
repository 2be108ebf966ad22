//! The line of least squares where a procedure asks it something: the points, the line, how well it is known, and the place
//! that was asked for.

use crate::check::program::{Function, Node};
use crate::metrology::{self, Reference};
use crate::quantity::{Real, Unit};
use crate::report::plot::{Axis, Bar, Chart, Edge, Form, Line, Marks, Tint, Zone};

use super::profile::reach;
use super::slope::names;
use super::walked::{Along, Laying, Use, Walked, drawn, ends, grouped, joined, with_unit};
use super::{Figure, Shown};

/// What is asked of a fitted line. Its slope alone is drawn as the change along the length.
const OF_A_FIT: [Function; 5] = [
    Function::LineAt,
    Function::LineUncertainty,
    Function::SlopeUncertainty,
    Function::LineCorrelation,
    Function::LineScatter,
];

/// So many places at which the edge of the band is worked out.
const STEPS: i64 = 24;

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let uses = walked.uses(&OF_A_FIT).into_iter().filter(|of| walked.axis_of(of).is_some()).collect();
    let mut figures = Vec::new();
    for (laid, members) in grouped(walked, uses, false) {
        let Some(first) = members.first() else { continue };
        let laying = walked.axis_of(first).and_then(|axis| walked.laid_along(&laid, axis));
        let Some(laying) = laying else { continue };
        let before = figures.len();
        figures.extend(laying.lines.iter().filter_map(|along| figure(walked, &members, &laying, along)));
        if figures.len() > before {
            members.iter().for_each(|of| walked.take(shown, of.argument));
        }
    }
    figures
}

fn figure(walked: &Walked<'_>, members: &[Use<'_>], laying: &Laying, along: &Along) -> Option<Figure> {
    let first = members.first()?;
    let line = metrology::fit(&along.stations, &along.values, Reference::LeastSquares).ok()?;
    // Several figures may ask the line at one place.
    let asked = members.iter().filter_map(|of| walked.evaluator.single(of.place?).as_number().cloned());
    let asked: Vec<Real> = asked.fold(Vec::new(), |mut kept, place| {
        if !kept.contains(&place) {
            kept.push(place);
        }
        kept
    });
    let all = || along.stations.iter().chain(&asked);
    let least = all().min_by(|a, b| a.to_f64().total_cmp(&b.to_f64()))?;
    let most = all().max_by(|a, b| a.to_f64().total_cmp(&b.to_f64()))?;
    let unit = walked.unit_of(members.iter().find(|of| of.function == Function::LineAt).unwrap_or(first));
    let x = |station: &Real| walked.station(laying, station);
    let at = |station: &Real| (x(station), drawn(&line.at(station), unit));
    let name = match &first.argument.node {
        Node::Value(id) => walked.label(*id),
        _ => walked.label(first.result),
    };
    let read = x_and(along, unit, &x);
    let mut chart = Chart {
        x: Axis::new(walked.axis_label(laying.axis)),
        y: Axis::new(with_unit(&name, unit)).with_ends(ends(first.argument.sense.as_ref())),
        lines: vec![
            points("as read", Form(0), read),
            Line {
                name: "least squares".to_owned(),
                form: Form(0),
                points: vec![at(least), at(most)],
                marks: Marks::None,
                joined: true,
            },
        ],
        ..Chart::default()
    };
    if laying.named {
        chart.x.names = names(laying);
    }
    let mut words = vec![format!("The line of least squares through what was read {}.", reach(laying))];
    // Two readings lie on their line: nothing says how well it is known.
    if let Ok(fitted) = metrology::fit_with_uncertainty(&along.stations, &along.values, least) {
        let far = |station: &Real| {
            let (value, u) = fitted.predict(station).ok()?;
            let (value, far) = (drawn(&value, unit), 2.0 * size(&u, unit));
            Some((value - far, value + far))
        };
        let step = |number: i64| {
            let part = &(most - least) * &Real::from(number);
            part.div(&Real::from(STEPS)).map(|part| least + &part)
        };
        let edge = |station: Real| {
            far(&station).map(|(low, high)| Edge { at: x(&station), low: Some(low), high: Some(high) })
        };
        let edges: Vec<Edge> = (0..=STEPS).filter_map(step).filter_map(edge).collect();
        chart.zones.push(Zone {
            tint: Tint::Band,
            edges,
            edged: false,
            name: "the line, plus and minus U".to_owned(),
        });
        for station in &asked {
            let ends = far(station).map(|(from, to)| Bar { form: Form(1), at: x(station), from, to });
            chart.bars.extend(ends);
        }
        words.push(
            "The band is U = 2u of the line, from the scatter of these readings about it alone.".to_owned(),
        );
    }
    if !asked.is_empty() {
        chart.lines.push(points("the place asked for", Form(1), asked.iter().map(at).collect()));
    }
    for of in members.iter().filter(|of| of.whole && walked.rules_on(of.result).is_empty()) {
        let Some(value) = walked.evaluator.single(of.expr).as_number().cloned() else { continue };
        let said = walked.said(&value, walked.unit(of.result), walked.sense(of.result), of.result);
        words.push(format!("{}: {said}.", walked.label(of.result)));
    }
    words.extend(members.iter().flat_map(|of| walked.rules_on(of.result)).map(|rule| rule.sentence()));
    words.dedup();
    let title = if along.name.is_empty() { name } else { format!("{name}, {}", along.name) };
    Some(Figure { title: format!("{title}: fitted line"), words: joined(words), drawing: chart.draw() })
}

fn points(name: &str, form: Form, points: Vec<(f64, f64)>) -> Line {
    Line { name: name.to_owned(), form, points, marks: Marks::Full, joined: false }
}

fn x_and(along: &Along, unit: Option<Unit>, x: &dyn Fn(&Real) -> f64) -> Vec<(f64, f64)> {
    along.stations.iter().map(x).zip(along.values.iter().map(|value| drawn(value, unit))).collect()
}

/// A difference in the unit of the values: a temperature has another zero than a difference of two.
fn size(value: &Real, unit: Option<Unit>) -> f64 {
    drawn(value, unit.map(Unit::of_differences))
}
