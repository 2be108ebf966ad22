//! Positioning: the runs at each target from both sides, their means, how far they scatter, and what accuracy that makes.

use crate::check::program::{AxisId, By, Expr, Function, Stations};
use crate::metrology::{self, Edition};
use crate::quantity::{Real, Unit};
use crate::report::plot::{Axis, Bar, Chart, Edge, Form, Line, Marks, Tint, Zone};
use crate::report::said::spoken;
use crate::walk::layout;
use crate::walk::text;

use super::walked::{Use, Walked, drawn, ends, grouped, joined, with_unit};
use super::{Figure, Shown};

const FIGURES_OF_ISO_230_2: [Function; 5] = [
    Function::Accuracy,
    Function::Repeatability,
    Function::SystematicDeviation,
    Function::MeanDeviationRange,
    Function::ReversalValue,
];

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (_, members) in grouped(walked, walked.uses(&FIGURES_OF_ISO_230_2), true) {
        let Some(first) = members.first() else { continue };
        let Some(figure) = figure(walked, first, &members) else { continue };
        members.iter().for_each(|of| walked.take(shown, of.argument));
        figures.push(figure);
    }
    figures
}

/// What was read from one side: the runs at each target.
struct Approach {
    name: String,
    targets: Vec<(Real, Vec<Real>)>,
}

fn approaches(walked: &Walked<'_>, argument: &Expr) -> Option<(AxisId, Vec<Approach>)> {
    let laid = walked.evaluator.expr(argument);
    let axis = |test: &dyn Fn(&Stations) -> bool| {
        argument
            .axes
            .iter()
            .copied()
            .find(|axis| walked.program.axes.get(axis.0).is_some_and(|it| test(&it.stations)))
    };
    let runs = axis(&|stations| matches!(stations, Stations::Repeat { .. }))?;
    let sided = axis(&|stations| matches!(stations, Stations::Words(_)));
    let target = argument.axes.iter().copied().find(|axis| *axis != runs && Some(*axis) != sided)?;
    let at = |axis: AxisId| {
        let name = &walked.program.axes.get(axis.0)?.name;
        laid.axes.iter().position(|own| *own.axis == **name)
    };
    let sides = match sided {
        Some(sided) => {
            let position = at(sided)?;
            let stations = &laid.axes.get(position)?.stations;
            let side = |(number, station): (usize, &crate::walk::value::Station)| {
                (spoken(&station.name), layout::at(&laid, position, number))
            };
            stations.iter().enumerate().map(side).collect()
        }
        None => vec![(String::new(), (*laid).clone())],
    };
    let approach = |(name, laid): (String, crate::walk::value::Laid)| {
        let runs = &walked.program.axes.get(runs.0)?.name;
        let position = laid.axes.iter().position(|own| *own.axis == **runs)?;
        let gathered = layout::gather(&laid, &[position], false);
        let stations = gathered.kept.first()?.clone();
        let mut targets = Vec::new();
        for (station, group) in stations.open().iter().zip(gathered.groups()) {
            let values: Vec<Real> = group.iter().filter_map(|cell| cell.as_number().cloned()).collect();
            targets.push((station.position.clone()?, values));
        }
        Some(Approach { name, targets })
    };
    Some((target, sides.into_iter().filter_map(approach).collect()))
}

fn figure(walked: &Walked<'_>, first: &Use<'_>, members: &[Use<'_>]) -> Option<Figure> {
    let (target, approaches) = approaches(walked, first.argument)?;
    let (edition, factor) = match first.by {
        Some(By::Iso230Of1988) => (Edition::Iso1988, 3.0),
        _ => (Edition::Iso2014, 2.0),
    };
    let unit = walked.unit_of(first);
    let along = text::station_unit(&walked.evaluator, target.0);
    let place = |station: &Real| drawn(station, along);
    let all = approaches.iter().flat_map(|it| it.targets.iter().map(|(at, _)| place(at)));
    let (from, to) = (all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max));
    // The two sides stand a little apart, so that neither covers the other.
    let apart = (to - from) * 0.008;
    let mut chart = Chart {
        x: Axis::new(walked.axis_label(target)),
        y: Axis::new(with_unit("deviation", unit)).with_ends(ends(first.argument.sense.as_ref())),
        height: Some(240.0),
        ..Chart::default()
    };
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (number, approach) in approaches.iter().enumerate() {
        let shift = if approaches.len() > 1 { (number as f64 * 2.0 - 1.0) * apart } else { 0.0 };
        let targets: Vec<Vec<Real>> = approach.targets.iter().map(|(_, values)| values.clone()).collect();
        let sides = metrology::one_way(&targets, edition).ok()?.sides;
        let points: Vec<(f64, f64)> = approach
            .targets
            .iter()
            .zip(&sides)
            .map(|((at, _), side)| (place(at) + shift, drawn(&side.mean, unit)))
            .collect();
        for ((x, mean), side) in points.iter().zip(&sides) {
            let half = factor * drawn(&side.stdev, unit);
            (low, high) = (low.min(mean - half), high.max(mean + half));
            chart.bars.push(Bar { form: Form(number), at: *x, from: mean - half, to: mean + half });
        }
        let from = if approach.name.is_empty() {
            "mean".to_owned()
        } else {
            format!("mean, from {}", approach.name)
        };
        chart.lines.push(Line { name: from, form: Form(number), points, marks: Marks::Full, joined: true });
        let runs = approach.targets.iter().flat_map(|(at, values)| {
            values.iter().map(move |value| (place(at) + shift * 2.2, drawn(value, unit)))
        });
        chart.lines.push(Line {
            name: String::new(),
            form: Form(2),
            points: runs.collect(),
            marks: Marks::Small,
            joined: false,
        });
    }
    let edges = [from, to].map(|at| Edge { at, low: Some(low), high: Some(high) }).to_vec();
    chart.zones.push(Zone {
        tint: Tint::Band,
        edges,
        edged: false,
        name: format!("within {factor} standard deviations of all means; small rings: the runs"),
    });
    let words = joined(
        [words(walked, first, &approaches, unit, edition)]
            .into_iter()
            .chain(
                members
                    .iter()
                    .filter(|of| of.whole && walked.rules_on(of.result).is_empty())
                    .map(|of| result(walked, of)),
            )
            .chain(members.iter().flat_map(|of| walked.rules_on(of.result)).map(|rule| rule.sentence())),
    );
    Some(Figure { title: walked.label(first.result), words, drawing: chart.draw() })
}

fn edition_in_words(edition: Edition) -> &'static str {
    match edition {
        Edition::Iso1988 => "ISO 230-2:1988",
        Edition::Iso2014 => "ISO 230-2:2014",
    }
}

fn words(
    walked: &Walked<'_>,
    first: &Use<'_>,
    approaches: &[Approach],
    unit: Option<Unit>,
    edition: Edition,
) -> String {
    let targets = approaches.iter().map(|it| it.targets.len()).max().unwrap_or(0);
    let runs = approaches.iter().flat_map(|it| it.targets.iter().map(|(_, values)| values.len())).max();
    let mut said = format!(
        "{targets} targets, {} runs from each side, by {}.",
        runs.unwrap_or(0),
        edition_in_words(edition)
    );
    if let [plus, minus] = approaches {
        let mean = |values: &Vec<Real>| metrology::mean(values).ok();
        let pairs = plus.targets.iter().zip(&minus.targets);
        let reversals = pairs.filter_map(|((at, plus), (_, minus))| Some((at, &mean(plus)? - &mean(minus)?)));
        if let Some((at, most)) = reversals.max_by(|a, b| a.1.abs().cmp(&b.1.abs())) {
            let along =
                first.argument.axes.iter().find_map(|axis| text::station_unit(&walked.evaluator, axis.0));
            said.push_str(&format!(
                " Reversal is most at {}: {} from {} less from {}.",
                text::limit(at, along),
                walked.said(&most, unit, first.argument.sense.as_ref(), first.result),
                plus.name,
                minus.name
            ));
        }
    }
    said
}

fn result(walked: &Walked<'_>, of: &Use<'_>) -> String {
    let value = walked.evaluator.value(of.result).as_single();
    match value.as_number() {
        Some(value) => {
            let said = walked.said(value, walked.unit(of.result), None, of.result);
            format!("{}: {said}.", walked.label(of.result))
        }
        None => String::new(),
    }
}
