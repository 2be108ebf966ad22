//! Round a turn: what was read, the eccentricity in it, and the form that is left.

use crate::check::program::Function;
use crate::metrology;
use crate::quantity::{Dimension, Real};
use crate::report::plot::{Turn, TurnPoint};

use super::walked::{Along, Use, Walked, drawn, grouped, joined};
use super::{Figure, Shown};

const OF_A_TURN: [Function; 4] =
    [Function::Eccentricity, Function::Roundness, Function::Undulation, Function::Runout];

/// Turns of one reading that are drawn; what is beyond is in the table of readings.
const MOST_TURNS: usize = 8;

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let round = |of: &Use<'_>| {
        let axis = walked.axis_of(of).and_then(|axis| walked.program.axes.get(axis.0));
        axis.is_some_and(|axis| axis.dimension == Some(Dimension::ANGLE))
    };
    let uses = walked.uses(&OF_A_TURN).into_iter().filter(round).collect();
    let mut figures = Vec::new();
    for (laid, members) in grouped(walked, uses, false) {
        let Some(first) = members.first() else { continue };
        let Some(laying) = walked.axis_of(first).and_then(|axis| walked.laid_along(&laid, axis)) else {
            continue;
        };
        let found: Vec<Figure> = laying
            .lines
            .iter()
            .take(MOST_TURNS)
            .filter_map(|along| figure(walked, &members, along))
            .collect();
        if !found.is_empty() {
            members.iter().for_each(|of| walked.take(shown, of.argument));
        }
        figures.extend(found);
    }
    figures
}

fn figure(walked: &Walked<'_>, members: &[Use<'_>], along: &Along) -> Option<Figure> {
    let first = members.first()?;
    let unit = walked.unit_of(first);
    let harmonics = metrology::harmonics(&along.stations, &along.values, 1).ok()?;
    let arrow = harmonics.arrows.first()?;
    let (size, high) = (arrow.size().ok()?, arrow.high_at().ok());
    let wave = |angle: &Real| &(&arrow.along * &angle.cos()) + &(&arrow.across * &angle.sin());
    let forms: Vec<Real> = along
        .stations
        .iter()
        .zip(&along.values)
        .map(|(angle, value)| &(value - &harmonics.mean) - &wave(angle))
        .collect();
    let range = metrology::range(&along.values).ok()?;
    // Less than a millionth of the run-out is the noise of working it out.
    let centred = size.to_f64() <= range.to_f64() * 1e-6;
    let points = along.stations.iter().zip(along.values.iter().zip(&forms));
    let turn = Turn {
        points: points
            .map(|(angle, (read, form))| TurnPoint {
                angle: angle.to_f64(),
                read: drawn(read, unit),
                form: drawn(form, unit),
            })
            .collect(),
        arrow: high.as_ref().filter(|_| !centred).map(|high| (drawn(&size, unit), high.to_f64())),
        mean: drawn(&harmonics.mean, unit),
        unit: unit.map(|unit| unit.symbol().to_owned()).unwrap_or_default(),
        outward: first.argument.sense.as_ref().map(|sense| sense.plus.clone()),
    };
    let said = |value: &Real| walked.said(value, unit, None, first.result);
    let left = metrology::range(&forms).ok()?;
    let towards = match &high {
        Some(high) => format!(", high at {}\u{b0}", crate::quantity::fixed(&high.middle(), 0)),
        None => String::new(),
    };
    let minus = first.argument.sense.as_ref();
    let minus = minus.map(|sense| format!("Inward is minus: {}.", sense.minus)).unwrap_or_default();
    let words = joined(
        [
            format!("{} places round a turn. Run-out as read (TIR) {}.", along.values.len(), said(&range)),
            match centred {
                true => "No eccentricity.".to_owned(),
                false => format!(
                    "Eccentricity {}{towards}: it makes {} of the run-out.",
                    said(&size),
                    said(&(&size * &Real::from(2)))
                ),
            },
            format!("Left when it is taken out: {} from lowest to highest, the form.", said(&left)),
            minus,
        ]
        .into_iter()
        .chain(members.iter().flat_map(|of| walked.rules_on(of.result)).map(|rule| rule.sentence())),
    );
    let title = walked.label(first.result);
    let title = if along.name.is_empty() { title } else { format!("{title}: {}", along.name) };
    Some(Figure { title, words, drawing: turn.draw() })
}
