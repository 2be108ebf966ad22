//! Values in words: for questions, results, advice and the record.
//!
//! A number carries its unit and, where it has one, its sense: `+0.006 mm, toward the operator`. Never `-0.000`, never a
//! rounded number that hides which side of a limit it lies on.

use std::rc::Rc;

use crate::check::program::{Decision, Expr, Kind, Node, Part, Text, ValueId};
use crate::quantity::{self, Dimension, Real, Sense, Unit};

use super::arrows;
use super::digits::Digits;
use super::eval::Evaluator;
use super::layout;
use super::uncertainty::Uncertain;
use super::uncertainty::decide::Certainty;
use super::value::{Cell, Laid, NOT_APPLICABLE, NOT_TAKEN, Scalar, Station};
use super::wording;

/// Decimals of a number that does not end, where no instrument says better.
const USUAL_DECIMALS: usize = 3;
/// An exact number with no more decimals than this is shown whole.
const MOST_OWN_DECIMALS: usize = 6;
/// Figures behind the first of a number that is reckoned ahead.
const FORESEEN_FIGURES: i32 = 2;
/// A grid of more values is said row by row, without the sense of each.
const MOST_SAID_ONE_BY_ONE: usize = 16;

/// An exact number with its unit, as stations are named: `300 mm`, `100/3 mm`.
pub fn name(value: &(impl Clone + Into<Real>), unit: Unit) -> String {
    let value: Real = value.clone().into();
    with_unit(quantity::record_text(&unit.from_base(&value)), Some(unit))
}

fn with_unit(number: String, unit: Option<Unit>) -> String {
    match unit {
        None | Some(Unit::One) => number,
        Some(unit) => format!("{number} {}", unit.symbol()),
    }
}

/// A number in its unit with what plus or minus means. `resolution` (base unit) gives the decimals; `against` are the
/// limits it is held against, so that it can be seen on which side it lies.
pub fn show(
    value: &Real,
    unit: Option<Unit>,
    sense: Option<&Sense>,
    resolution: Option<&Real>,
    against: &[Real],
) -> String {
    let (plain, _) = side_by_side(value, against, unit, resolution);
    let signed = sense.is_some() && !plain.starts_with('-') && plain.contains(|c| ('1'..='9').contains(&c));
    let number = with_unit(if signed { format!("+{plain}") } else { plain }, unit);
    match sense.and_then(|sense| sense.say(value)) {
        Some(says) => format!("{number}, {says}"),
        None => number,
    }
}

/// A number and the limits that it is held against, each in the unit and with the digits that tell them apart.
pub fn against(
    value: &Real,
    limits: &[Real],
    unit: Option<Unit>,
    resolution: Option<&Real>,
) -> (String, Vec<String>) {
    let (value, limits) = side_by_side(value, limits, unit, resolution);
    (with_unit(value, unit), limits.into_iter().map(|limit| with_unit(limit, unit)).collect())
}

fn side_by_side(
    value: &Real,
    limits: &[Real],
    unit: Option<Unit>,
    resolution: Option<&Real>,
) -> (String, Vec<String>) {
    let shown = in_unit(value, unit);
    let decimals = decimals(&shown, unit, resolution);
    let pairs = limits.iter().map(|limit| {
        let limit = in_unit(limit, unit);
        let (value, text) = quantity::show_against(&shown, &limit, decimals);
        // A limit that was scaled and does not come out even: 0.0667, not 0.07, which nobody has allowed.
        let is_even = limit.exact().is_some_and(|it| quantity::decimals_of(it) <= MOST_OWN_DECIMALS);
        let text = if is_even { short(&text) } else { scaled(text, &value, &limit, decimals) };
        (value, text)
    });
    let (values, limits): (Vec<String>, Vec<String>) = pairs.unzip();
    // Of several limits the one that needs the most digits to be told apart settles how the value is shown.
    let value = values.into_iter().max_by_key(String::len);
    (value.unwrap_or_else(|| quantity::show(&shown, decimals)), limits)
}

/// To three figures, or as many as the value beside it has; all of `text` only where it takes them to tell the two apart.
fn scaled(text: String, value: &str, limit: &Real, decimals: usize) -> String {
    let size = limit.to_f64().abs();
    let three = if size > 0.0 { (2 - size.log10().floor() as i32).max(0) as usize } else { 0 };
    // One that does not end is shown with two more decimals than are asked for.
    let shorter = quantity::show(limit, three.max(decimals.min(three + 1)).saturating_sub(2));
    let order = |limit: &str| Some(quantity::parse_decimal(value)?.cmp(&quantity::parse_decimal(limit)?));
    if order(&shorter) == order(&text) { shorter } else { text }
}

/// Without the zeros that only the value beside it has made it end in.
fn short(limit: &str) -> String {
    match limit.contains('.') {
        true => limit.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => limit.to_owned(),
    }
}

/// What was wanted, as it was typed and by how much it may be off, and what came, with the digits that tell them apart.
pub fn wanted_and_came(
    wanted: &Cell,
    allowed: Option<&Cell>,
    came: &Cell,
    unit: Option<Unit>,
) -> (String, String) {
    let of_allowed = unit.map(Unit::of_differences);
    let numbers = [(Some(wanted), unit), (allowed, of_allowed)];
    let numbers = numbers.map(|(cell, unit)| cell.and_then(Cell::as_number).map(|it| in_unit(it, unit)));
    let own = |number: &Real| number.exact().map_or(USUAL_DECIMALS, quantity::decimals_of);
    let most = numbers.iter().flatten().map(own).max();
    let [of_wanted, allowed_by] = numbers;
    let shown = |number: Real, unit| with_unit(short(&quantity::show(&number, own(&number))), unit);
    let within = allowed_by.map(|number| format!(" within {}", shown(number, of_allowed)));
    let wanted = of_wanted.map_or_else(|| cell(wanted, unit), |number| shown(number, unit));
    let came = match (came.as_number(), most) {
        (Some(number), Some(most)) => with_unit(quantity::show(&in_unit(number, unit), most), unit),
        _ => cell(came, unit),
    };
    (format!("{wanted}{}", within.unwrap_or_default()), came)
}

/// The value of a rule to the digits that its uncertainty allows. `None`: it has no more.
pub(super) fn cut(
    value: &Real,
    certainty: &Certainty,
    limits: &[Real],
    unit: Option<Unit>,
) -> Option<String> {
    let expanded = Real::approximate(certainty.uncertain.expanded(), 0.0)?;
    let expanded = of_differences(&expanded, unit).middle();
    let limits: Vec<_> = limits.iter().map(|limit| in_unit(limit, unit).middle()).collect();
    let guard = (certainty.decision == Decision::GuardedU).then_some(&expanded);
    let value = in_unit(value, unit).middle();
    let digits =
        Digits { value: &value, expanded: certainty.uncertain.expanded_in(unit), limits: &limits, guard };
    digits.cut().map(|number| with_unit(number, unit))
}

/// Each number of a result to the digits that its own uncertainty allows.
pub(super) fn to_their_digits(
    laid: &Laid,
    known: &[Result<Rc<Uncertain>, String>],
    unit: Option<Unit>,
) -> Laid {
    let cut = |(at, cell): (usize, &Cell)| {
        let number = cell.as_number()?;
        let expanded = known.get(at)?.as_ref().ok()?.expanded_in(unit);
        let value = in_unit(number, unit).middle();
        let text = Digits { value: &value, expanded, limits: &[], guard: None }.cut()?;
        let rounded = Real::Exact(quantity::parse_decimal(&text)?);
        Some(Cell::number(unit.map_or_else(|| rounded.clone(), |unit| unit.to_base(&rounded))))
    };
    let cells =
        laid.cells.iter().enumerate().map(|(at, cell)| cut((at, cell)).unwrap_or_else(|| cell.clone()));
    Laid { cells: cells.collect(), axes: laid.axes.clone() }
}

fn of_differences(size: &Real, unit: Option<Unit>) -> Real {
    in_unit(size, unit.map(Unit::of_differences))
}

/// A limit in its unit, in its own short form.
pub fn limit(value: &Real, unit: Option<Unit>) -> String {
    show(value, unit, None, None, &[])
}

fn in_unit(value: &Real, unit: Option<Unit>) -> Real {
    unit.map_or_else(|| value.clone(), |unit| unit.from_base(value))
}

fn decimals(shown: &Real, unit: Option<Unit>, resolution: Option<&Real>) -> usize {
    if let Some(step) = resolution {
        let step = unit.map_or_else(|| step.clone(), |unit| unit.of_differences().from_base(step));
        return quantity::decimals_of(&step.middle()).min(MOST_OWN_DECIMALS);
    }
    match shown.exact() {
        Some(exact) if quantity::decimals_of(exact) <= MOST_OWN_DECIMALS => quantity::decimals_of(exact),
        // 68 degF does not come out even in degC, and nobody reads a thousandth of a kelvin.
        _ if unit.is_some_and(|unit| unit.dimension() == Dimension::TEMPERATURE) => 0,
        _ => USUAL_DECIMALS,
    }
}

/// A cell in plain words, without a sense.
pub fn cell(cell: &Cell, unit: Option<Unit>) -> String {
    show_cell(cell, unit, None, None)
}

/// A cell with its sense, at the resolution of the instrument.
pub fn show_cell(
    cell: &Cell,
    unit: Option<Unit>,
    sense: Option<&Sense>,
    resolution: Option<&Real>,
) -> String {
    match cell {
        Cell::Known(Scalar::Number(value)) => show(value, unit, sense, resolution, &[]),
        Cell::OpenEnded { bound, above } => {
            format!("{} {}", if *above { "over" } else { "below" }, show(bound, unit, None, resolution, &[]))
        }
        Cell::Known(Scalar::Arrow(arrow)) => arrows::said(arrow, unit, resolution),
        Cell::Known(Scalar::Word(word)) => wording::spoken(word),
        Cell::Known(scalar) => words(scalar),
        other => not_there(other),
    }
}

/// All cells of a value, with their stations where it is laid out.
pub fn laid(laid: &Laid, unit: Option<Unit>) -> String {
    show_laid(laid, unit, None, None)
}

pub fn show_laid(
    laid: &Laid,
    unit: Option<Unit>,
    sense: Option<&Sense>,
    resolution: Option<&Real>,
) -> String {
    show_each(laid, unit, &|_| sense, resolution)
}

/// With the sense of each element.
fn show_each<'s>(
    laid: &Laid,
    unit: Option<Unit>,
    sense: &dyn Fn(usize) -> Option<&'s Sense>,
    resolution: Option<&Real>,
) -> String {
    if let [rows, columns] = laid.axes.as_slice()
        && laid.cells.len() > MOST_SAID_ONE_BY_ONE
    {
        let row = |(row, cells): (&Station, &[Cell])| {
            let there = cells.iter().filter(|cell| !cell.is_no_element());
            let cells: Vec<String> = there.map(|cell| show_cell(cell, unit, None, resolution)).collect();
            format!("{}: {}", row.name, cells.join(", "))
        };
        let rows = rows.stations.iter().zip(laid.cells.chunks(columns.stations.len().max(1))).map(row);
        return rows.collect::<Vec<_>>().join("; ");
    }
    // A reason that is the same everywhere is said once.
    if let [first, others @ ..] = laid.cells.as_slice()
        && !first.is_known()
        && !others.is_empty()
        && others.iter().all(|it| it == first)
    {
        return not_there(first);
    }
    let there =
        laid.cells.iter().enumerate().filter(|(_, cell)| laid.axes.is_empty() || !cell.is_no_element());
    let shown = there.map(|(element, cell)| {
        let shown = show_cell(cell, unit, sense(element), resolution);
        match layout::place(&laid.axes, element) {
            place if place.is_empty() => shown,
            place => format!("{}: {shown}", wording::spoken(&place)),
        }
    });
    shown.collect::<Vec<_>>().join("; ")
}

/// A value of the program in its unit, with its sense.
pub fn say_value(evaluator: &Evaluator<'_>, id: ValueId, value: &Laid) -> String {
    let unit = evaluator.shown_in(id);
    let finest = evaluator.finest_resolution(id);
    let sense = |element| wording::sense_of(evaluator.program, id, &layout::names(&value.axes, element));
    if evaluator.program.values.get(id.0).is_some_and(|value| value.projection) {
        // Where something seems to be going is not known to a tenth.
        let cells = value.cells.iter().map(|cell| match cell {
            Cell::Known(Scalar::Number(number)) => Cell::number(rounded(number, unit, 1)),
            other => other.clone(),
        });
        let value = Laid { axes: value.axes.clone(), cells: cells.collect() };
        let shown = show_each(&value, unit, &sense, None);
        return format!("{shown} ({})", super::lines::PROJECTION);
    }
    show_each(value, unit, &sense, finest.as_ref())
}

/// An amount that is advised, as a hand can follow it. What stands on the record has all its figures.
pub(super) fn say_amount(evaluator: &Evaluator<'_>, id: ValueId, value: &Laid) -> String {
    let unit = evaluator.shown_in(id);
    let cells = value.cells.iter().map(|cell| match cell {
        Cell::Known(Scalar::Number(number)) => Cell::number(foreseen(number, unit)),
        other => other.clone(),
    });
    say_value(evaluator, id, &Laid { axes: value.axes.clone(), cells: cells.collect() })
}

/// A number that is reckoned ahead, an amount advised or a value expected: to three figures, in the unit it is shown in.
pub fn foreseen(value: &Real, unit: Option<Unit>) -> Real {
    let size = in_unit(value, unit).abs().to_f64();
    if size == 0.0 {
        return value.clone();
    }
    let decimals = (FORESEEN_FIGURES - size.log10().floor() as i32).clamp(0, MOST_OWN_DECIMALS as i32);
    rounded(value, unit, decimals as usize)
}

fn rounded(value: &Real, unit: Option<Unit>, decimals: usize) -> Real {
    let shown = quantity::fixed(&in_unit(value, unit).middle(), decimals);
    let Some(shown) = quantity::parse_decimal(&shown) else { return value.clone() };
    unit.map_or_else(|| Real::Exact(shown.clone()), |unit| unit.to_base(&Real::Exact(shown.clone())))
}

fn words(scalar: &Scalar) -> String {
    match scalar {
        Scalar::Number(value) => quantity::record_text(value),
        Scalar::Arrow(arrow) => arrows::recorded(arrow, None).to_string(),
        Scalar::Word(word) | Scalar::Text(word) => word.to_string(),
        Scalar::YesNo(yes) => if *yes { "yes" } else { "no" }.to_string(),
        Scalar::Date(date) => date.to_string(),
        Scalar::Photo { file, .. } => file.to_string(),
    }
}

fn not_there(cell: &Cell) -> String {
    match cell {
        Cell::Awaited => "awaited".to_string(),
        Cell::Undecided(reason) => format!("undecided: {reason}"),
        Cell::NotRead(reason) if &**reason == NOT_APPLICABLE || &**reason == NOT_TAKEN => reason.to_string(),
        Cell::NotRead(reason) => format!("not read: {reason}"),
        Cell::Invalid(reason) => format!("invalid: {reason}"),
        Cell::Known(_) | Cell::OpenEnded { .. } => String::new(),
    }
}

/// For the record, exact, in this unit: a decimal or `p/q`, a word, "over 200", "awaited", "not read: reason",
/// "invalid: reason".
pub fn record_text(cell: &Cell, unit: Option<Unit>) -> String {
    match cell {
        Cell::Known(Scalar::Number(value)) => quantity::record_text(&in_unit(value, unit)),
        Cell::OpenEnded { bound, above } => {
            let bound = quantity::record_text(&in_unit(bound, unit));
            format!("{} {bound}", if *above { "over" } else { "below" })
        }
        Cell::Known(Scalar::Arrow(arrow)) => arrows::recorded(arrow, unit).to_string(),
        Cell::Known(scalar) => words(scalar),
        other => not_there(other),
    }
}

/// The unit in which an expression is shown where its place does not say: that of the value it names, else the usual one
/// of its kind.
pub fn unit_of(evaluator: &Evaluator<'_>, expr: &Expr) -> Option<Unit> {
    match (&expr.node, &expr.kind) {
        (Node::Value(id) | Node::Aim(id) | Node::Resolution(id) | Node::Previous { result: id, .. }, _) => {
            evaluator.shown_in(*id)
        }
        (Node::Pick(of, _) | Node::Negate(of), _) => unit_of(evaluator, of),
        (Node::CurrentStation(axis), _) => station_unit(evaluator, axis.0),
        (_, Kind::Quantity(dimension) | Kind::Arrow(dimension)) => Unit::usual(*dimension),
        (_, Kind::Point) => Some(Unit::DegC),
        _ => None,
    }
}

/// The unit in which the stations of an axis are given; none of words.
pub fn station_unit(evaluator: &Evaluator<'_>, axis: usize) -> Option<Unit> {
    use crate::check::program::Stations;
    match &evaluator.program.axes.get(axis)?.stations {
        Stations::Values { unit, .. } | Stations::Range { unit, .. } | Stations::Stepped { unit, .. } => {
            Some(*unit)
        }
        Stations::Time { .. } => Some(Unit::Min),
        Stations::Words(_)
        | Stations::Listed { .. }
        | Stations::Repeat { .. }
        | Stations::Survey(_)
        | Stations::SurveyLines(_) => None,
    }
}

/// A text with its values put in. `current`: the stations being asked for, by the names of their axes.
pub fn say(text: &Text, evaluator: &Evaluator<'_>, current: &[(Rc<str>, Cell)]) -> String {
    evaluator.stand_at(current.to_vec());
    let mut said = String::new();
    for part in &text.parts {
        match part {
            Part::Plain(plain) => said.push_str(plain),
            Part::Value(expr, unit) => {
                let (value, _) = evaluator.with_notes(|| evaluator.expr(expr));
                let unit = unit.or_else(|| unit_of(evaluator, expr));
                said.push_str(&show_laid(&value, unit, expr.sense.as_ref(), None));
            }
        }
    }
    evaluator.stand_at(Vec::new());
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    fn limits(value: (i64, i64), limit: (i64, i64)) -> String {
        let of = |(over, under)| Unit::Mm.to_base(&Real::Exact(ratio(over, under)));
        against(&of(value), &[of(limit)], Some(Unit::Mm), None).1.join("")
    }

    #[test]
    fn a_limit_is_shown_as_it_is_stated_and_a_scaled_one_is_not_rounded_up_into_another() {
        assert_eq!(limits((123, 100_000), (75, 10_000)), "0.0075 mm");
        assert_eq!(limits((1, 100), (0, 1)), "0 mm");
        assert_eq!(limits((1, 100), (1, 15)), "0.0667 mm");
    }
}
