//! Words for single things of a program: a value said back, a text without its values, an instrument's figures.

use std::rc::Rc;

use crate::check::program::{
    Instrument, Kind, Literal, Node, Part, Program, Properties, Role, Spread, StationPick, StepId, Text,
    Uncertainty, UncertaintySource, ValueId,
};
use crate::quantity::{Real, Sense, Unit, exact_text};

use super::eval::Evaluator;
use super::state::{Sheet, State};
use super::text;
use super::value::{Cell, Scalar};
use super::view::View;

/// A text as written, its values left out: for labels and titles.
pub fn plain(words: &Text) -> String {
    let part = |part: &Part| match part {
        Part::Plain(plain) => plain.clone(),
        Part::Value(..) => "...".to_owned(),
    };
    words.parts.iter().map(part).collect()
}

/// A word of the procedure as people say it: `near side` for `near_side`. Only in addresses and in
/// tables for programs it stands as it is written. A stroke at the end of a word is part of what somebody typed.
pub fn spoken(word: &str) -> String {
    let letters: Vec<char> = word.chars().collect();
    let is_inside = |at: usize| {
        let beside = |at: Option<usize>| {
            at.and_then(|at| letters.get(at)).is_some_and(|letter| letter.is_alphanumeric())
        };
        beside(at.checked_sub(1)) && beside(Some(at + 1))
    };
    let said = letters
        .iter()
        .enumerate()
        .map(|(at, letter)| if *letter == '_' && is_inside(at) { ' ' } else { *letter });
    said.collect()
}

/// The stations of an entry as people say them.
pub(super) fn spoken_place(stations: &[String]) -> String {
    spoken(&stations.join(", "))
}

/// With a capital, where a station stands first.
pub(super) fn sentence(words: String) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) if first.is_lowercase() => first.to_uppercase().chain(letters).collect(),
        _ => words,
    }
}

/// "{plane}, bar seated at {turn}".
pub(super) fn begins_with_station(words: &Text) -> bool {
    matches!(words.parts.first(), Some(Part::Value(expr, _)) if matches!(expr.node, Node::CurrentStation(_)))
}

/// Whether a question says at which station it is asked.
pub fn names_station(words: &Text) -> bool {
    words
        .parts
        .iter()
        .any(|part| matches!(part, Part::Value(expr, _) if matches!(expr.node, Node::CurrentStation(_))))
}

/// The sense of a value at a station: its own there, else that of the value.
pub fn sense_at(program: &Program, value: ValueId, stations: &[String]) -> Option<Sense> {
    let stations: Vec<&str> = stations.iter().map(String::as_str).collect();
    sense_of(program, value, &stations).cloned()
}

/// As `sense_at`.
pub(super) fn sense_of<'p>(program: &'p Program, value: ValueId, stations: &[&str]) -> Option<&'p Sense> {
    let definition = program.values.get(value.0)?;
    let own = definition.station_senses.iter().find(|(axis, pick, _)| {
        let at = definition.axes.iter().position(|it| it == axis).and_then(|index| stations.get(index));
        match (pick, at) {
            (StationPick::Word(word), Some(at)) => word == at,
            (StationPick::Value(expr), Some(at)) => match &expr.node {
                Node::Number(number) => {
                    let unit = station_unit(program, *axis);
                    unit.is_some_and(|unit| text::name(number, unit) == *at)
                }
                _ => false,
            },
            _ => false,
        }
    });
    own.map(|(.., sense)| sense).or(definition.sense.as_ref())
}

fn station_unit(program: &Program, axis: crate::check::program::AxisId) -> Option<Unit> {
    use crate::check::program::Stations::{Range, Stepped, Values};
    match &program.axes.get(axis.0)?.stations {
        Values { unit, .. } | Range { unit, .. } | Stepped { unit, .. } => Some(*unit),
        _ => None,
    }
}

/// A value said back with its meaning: `+0.006 mm, toward the operator`.
pub fn echo(program: &Program, value: ValueId, stations: &[String], cell: &Cell) -> String {
    let unit = program.values.get(value.0).and_then(|it| it.unit);
    text::show_cell(cell, unit, sense_at(program, value, stations).as_ref(), None)
}

pub fn literal(literal: &Literal) -> String {
    format!("{} {}", exact_text(&literal.number), literal.unit.symbol())
}

/// The way back of `literal`.
pub fn parse_literal(text: &str) -> Option<Literal> {
    let (number, unit) = text.split_once(' ')?;
    Some(Literal { number: crate::quantity::parse_exact(number)?, unit: Unit::parse(unit)? })
}

pub fn uncertainty(part: &Uncertainty) -> String {
    let source = match part.source {
        UncertaintySource::Zero => "zero",
        UncertaintySource::Fresh => "fresh",
        UncertaintySource::Scale => "scale",
        UncertaintySource::SetUp => "set_up",
    };
    let spread = match &part.spread {
        Spread::Coverage(factor) => format!("k {}", exact_text(factor)),
        Spread::Rectangular => "rectangular".to_owned(),
        Spread::Triangular => "triangular".to_owned(),
        Spread::Trapezoidal(top) => {
            let top = Literal { number: top * &part.size.number, unit: part.size.unit };
            format!("{TRAPEZOIDAL}{}", literal(&top))
        }
        Spread::Loose(known) => {
            let known = Literal { number: known * &part.size.number, unit: part.size.unit };
            format!("{LOOSE}{}", literal(&known))
        }
        Spread::Arcsine => "arcsine".to_owned(),
    };
    let freedom = part.freedom.as_ref();
    let freedom = freedom.map(|it| format!("{WITH}{}{DEGREES}", exact_text(it))).unwrap_or_default();
    format!("{source} {} {spread}{freedom}", literal(&part.size))
}

const TRAPEZOIDAL: &str = "trapezoidal flat ";
const LOOSE: &str = "rectangular give or take ";
const WITH: &str = " with ";
const DEGREES: &str = " degrees of freedom";

/// The way back of `uncertainty`.
pub fn parse_uncertainty<'t>(text: &'t str) -> Option<Uncertainty> {
    let (text, freedom) = match text.strip_suffix(DEGREES).and_then(|text| text.rsplit_once(WITH)) {
        Some((text, freedom)) => (text, Some(crate::quantity::parse_exact(freedom)?)),
        None => (text, None),
    };
    let (source, rest) = text.split_once(' ')?;
    let part = |(size, second): (&'t str, &str)| {
        let size = size.trim_end();
        Some((size, parse_literal(second)?.number / parse_literal(size)?.number))
    };
    let (trapezoid, loose) = (rest.split_once(TRAPEZOIDAL), rest.split_once(LOOSE));
    let (size, spread) = match (rest.split_once(" k "), trapezoid, loose) {
        (Some((size, factor)), ..) => (size, Spread::Coverage(crate::quantity::parse_exact(factor)?)),
        (None, Some(both), _) => part(both).map(|(size, top)| (size, Spread::Trapezoidal(top)))?,
        (None, None, Some(both)) => part(both).map(|(size, known)| (size, Spread::Loose(known)))?,
        (None, None, None) => {
            let (size, shape) = rest.rsplit_once(' ')?;
            let shape = match shape {
                "rectangular" => Spread::Rectangular,
                "triangular" => Spread::Triangular,
                "arcsine" => Spread::Arcsine,
                _ => return None,
            };
            (size, shape)
        }
    };
    let source = match source {
        "zero" => UncertaintySource::Zero,
        "fresh" => UncertaintySource::Fresh,
        "scale" => UncertaintySource::Scale,
        "set_up" => UncertaintySource::SetUp,
        _ => return None,
    };
    Some(Uncertainty { source, size: parse_literal(size)?, spread, freedom })
}

/// What is stated of an instrument: what is known of the one at hand, else what the file says.
pub(super) fn stated<'a>(
    instrument: &'a Instrument,
    known: &'a Properties,
) -> impl Iterator<Item = &'a Uncertainty> {
    let replaced = |it: &&Uncertainty| known.uncertainties.iter().all(|other| other.source != it.source);
    known.uncertainties.iter().chain(instrument.uncertainties.iter().filter(replaced))
}

/// The stations of a cell as an `ask` text sees them.
pub fn current(sheet: &Sheet, cell: usize) -> Vec<(Rc<str>, Cell)> {
    let at = |(axis, index): (&Rc<super::value::Stations>, usize)| {
        let station = axis.stations.get(index)?;
        let closes = axis.closing && index + 1 == axis.stations.len();
        let value = match &station.position {
            // "0 mm again", or nobody would know why it is asked for a second time.
            Some(position) if !closes => Cell::number(position.clone()),
            _ => Cell::Known(Scalar::Word(station.name.clone())),
        };
        Some((axis.axis.clone(), value))
    };
    sheet.axes.iter().zip(sheet.indices(cell)).filter_map(at).collect()
}

const OUTSIDE: &str = " is outside the usual ";

/// What is odd about a row; the same range is named once.
pub fn odd(queries: &[String]) -> String {
    let parted: Option<Vec<(&str, &str)>> = queries.iter().map(|query| query.split_once(OUTSIDE)).collect();
    let same = parted.filter(|it| {
        it.len() > 1 && it.iter().all(|(_, range)| Some(range) == it.first().map(|(_, range)| range))
    });
    match same.as_deref() {
        Some(several @ [(_, range), ..]) => {
            let values: Vec<&str> = several.iter().map(|(value, _)| *value).collect();
            format!("{} are outside the usual {range}. Are they right?", values.join(", "))
        }
        _ => format!("{}. Is it right?", queries.join("; ")),
    }
}

/// What is odd about an entry: outside its usual range or, where none is stated, more than ten times the greatest
/// limit of its step. Asked once, then taken with a note.
pub fn unusual(
    program: &Program,
    state: &State,
    step: StepId,
    value: ValueId,
    cell: &Cell,
) -> Option<String> {
    let Cell::Known(Scalar::Number(number)) = cell else { return None };
    let definition = program.values.get(value.0)?;
    let Role::Reading(reading) = &definition.role else { return None };
    let attempt = state.step(step).attempts.len().saturating_sub(1);
    let view = View::of(program, state, step, attempt);
    let evaluator = Evaluator::new(program, &view).of_step(step);
    let shown = |number: &Real| text::show(number, definition.unit, None, None, &[]);
    if let Some((from, to)) = &reading.usual {
        let (from, to) = (evaluator.single(from), evaluator.single(to));
        let (Some(from), Some(to)) = (from.as_number(), to.as_number()) else { return None };
        let usual = number.is_at_least(from) && number.is_at_most(to);
        return (!usual).then(|| format!("{}{OUTSIDE}{} to {}", shown(number), shown(from), shown(to)));
    }
    // A size, such as a diameter, is far greater than what it may vary by: only readings with a sense are compared.
    // Divisions are compared by nobody: what they mean is known only with the instrument's scale.
    definition.sense.as_ref().filter(|_| definition.unit != Some(Unit::Div))?;
    let greatest = greatest_limit(program, step, &definition.kind, &evaluator)?;
    let times = number.abs().div(&greatest).filter(|times| !times.is_at_most(&Real::from(10)))?;
    let times = text::show(&times, None, None, Some(&Real::from(1)), &[]);
    Some(format!("{} is {times} times the limit of {}", shown(number), shown(&greatest)))
}

/// The greatest bound of the step's tolerances in the dimension of the reading.
fn greatest_limit(program: &Program, step: StepId, kind: &Kind, evaluator: &Evaluator) -> Option<Real> {
    use crate::check::program::{Judged, Test};
    let mut greatest: Option<Real> = None;
    for judgement in &program.steps.get(step.0)?.judgements {
        let Judged::Tolerance { value, rule, .. } = &judgement.of else { continue };
        if program.values.get(value.0).is_none_or(|it| it.kind != *kind) {
            continue;
        }
        let bounds = match &rule.test {
            Test::AtMost(bound) | Test::Below(bound) => vec![bound],
            Test::FromTo(from, to) => vec![from, to],
            Test::Within { size, of } => of.iter().chain([size]).collect(),
            _ => Vec::new(),
        };
        for bound in bounds {
            let cell = evaluator.single(bound);
            let Some(size) = cell.as_number().map(Real::abs).filter(|size| !size.is_zero()) else { continue };
            greatest = Some(greatest.map_or(size.clone(), |it| it.max(size)));
        }
    }
    greatest
}
