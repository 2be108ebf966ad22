//! The functions of the language over axes and element by element. Formulas are in `metrology`; here it is settled which
//! stations take part, what is left out, and what is said about it.
//!
//! A station that was not read is left out where enough are left, and "7 of 8 read" is noted. The closing station of an
//! axis is seen by `closure` only.

mod along;
mod feet;
mod fitted_line;
mod points;
mod positioning;
pub(super) mod round;
pub(super) mod surface;
mod timed;

use std::rc::Rc;

use crate::check::program::{Arithmetic, AxisId, By, Expr, Function, Kind, Stations};
use crate::metrology::{self, Fault, Material, Place, Stretch, WithoutBackground};
use crate::quantity::{Dimension, Real};

use super::arrows;
use super::cells::{self, Extent};
use super::eval::{Evaluator, combine, map, one, zip};
use super::off::Property;
use super::value::{Cell, Laid, Scalar};
use along::Along;
pub(super) use timed::Timed;

pub(super) fn call(
    evaluator: &Evaluator<'_>,
    function: Function,
    arguments: &[Expr],
    over: &[AxisId],
    by: Option<By>,
) -> Rc<Laid> {
    let values: Vec<Rc<Laid>> = arguments.iter().map(|argument| evaluator.expr(argument)).collect();
    let [first, further @ ..] = values.as_slice() else {
        return one(Cell::invalid("a function of nothing"));
    };
    let decibel = arguments.iter().any(|argument| argument.kind == Kind::Quantity(Dimension::LEVEL));
    match function {
        Function::Abs => map(first, |cell| cells::extent(cell, Extent::abs)),
        Function::Half => map(first, cells::half),
        Function::Size => map(first, arrows::size),
        Function::HighAt => map(first, arrows::high_at),
        Function::Sqrt => map(first, |cell| {
            cells::number(cell, |value| known_or(value.sqrt(), "the root of a negative number"))
        }),
        Function::Sin => map(first, |cell| cells::number(cell, |value| Cell::number(value.sin()))),
        Function::Cos => map(first, |cell| cells::number(cell, |value| Cell::number(value.cos()))),
        Function::Tan => map(first, |cell| {
            cells::number(cell, |value| known_or(value.tan(), "the tangent of a right angle"))
        }),
        Function::Atan => map(first, |cell| cells::number(cell, |value| Cell::number(value.atan()))),
        Function::Per
        | Function::At20DegC
        | Function::Sag
        | Function::Rounded
        | Function::SetOver
        | Function::HeightEffect
        | Function::TaperFromTwist
        | Function::TaperFromLean => {
            let all: Vec<&Laid> = values.iter().map(|value| &**value).collect();
            combine(&all, |cells| of_several(evaluator, function, cells))
        }
        Function::WithoutBackground => match further {
            [background] => zip(first, background, without_background),
            _ => one(Cell::invalid("total and background are needed")),
        },
        Function::TwistShims => feet::twist_shims(&along(evaluator, first, arguments, over), further),
        Function::ShimsToLevel => feet::shims_to_level(evaluator, over, &values),
        Function::SeatingShims => feet::seating_shims(&along(evaluator, first, arguments, over), further),
        Function::LeadError => along(evaluator, first, arguments, over).lead_error(further),
        Function::SlopeUncertainty
        | Function::LineAt
        | Function::LineUncertainty
        | Function::LineCorrelation
        | Function::LineScatter => {
            fitted_line::fitted(&along(evaluator, first, arguments, over), function, further)
        }
        Function::Change
        | Function::Rate
        | Function::SettlesAt
        | Function::TimeConstant
        | Function::TimeToRate => {
            let axes = arguments.first().map_or(&[][..], |argument| &argument.axes);
            let span = further.first().map_or(Cell::Awaited, |span| span.as_single());
            Timed { evaluator, argument: first, axes }.call(function, &span)
        }
        Function::CircleForm | Function::CircleDiameter | Function::CircleCentre => match further {
            [across] => points::circle(&along(evaluator, first, arguments, over), across, function, by),
            _ => one(Cell::invalid("a circle needs two coordinates a point")),
        },
        Function::Undulation => match further {
            [waves] => round::undulation(&along(evaluator, first, arguments, over), waves),
            _ => one(Cell::invalid("how many waves a turn was not said")),
        },
        _ if !further.is_empty() => {
            let all: Vec<&Laid> = values.iter().map(|value| &**value).collect();
            combine(&all, |cells| evaluate(function, decibel, cells))
        }
        _ => Along { decibel, ..along(evaluator, first, arguments, over) }.call(function, by),
    }
}

fn along<'e>(
    evaluator: &'e Evaluator<'e>,
    argument: &'e Rc<Laid>,
    arguments: &'e [Expr],
    over: &'e [AxisId],
) -> Along<'e> {
    let axes = arguments.first().map_or(&[][..], |argument| &argument.axes);
    let arrows = arguments.first().is_some_and(|argument| matches!(argument.kind, Kind::Arrow(_)));
    Along { evaluator, argument, over, axes, decibel: false, arrows }
}

/// Where each cell that is gathered over two axes lies on a surface; none beyond the end of a survey's line.
pub(super) fn places(
    evaluator: &Evaluator<'_>,
    laid: &Rc<Laid>,
    arguments: &[Expr],
    over: &[AxisId],
) -> Option<Vec<Option<Place>>> {
    along(evaluator, laid, arguments, over).places().ok()
}

/// The lines of a survey, if that is what a function goes over.
pub(super) fn surveyed<'e>(
    evaluator: &'e Evaluator<'e>,
    arguments: &'e [Expr],
    over: &'e [AxisId],
) -> Option<&'e metrology::Survey> {
    let axes = arguments.first().map_or(&[][..], |argument| &argument.axes);
    over.iter().chain(axes).find_map(|axis| match &evaluator.program.axes.get(axis.0)?.stations {
        Stations::Survey(survey) => Some(survey.plan.as_ref()),
        _ => None,
    })
}

/// A function of one argument over its axes, with another value in the argument's place.
pub(super) fn along_axes(
    evaluator: &Evaluator<'_>,
    function: Function,
    laid: &Rc<Laid>,
    arguments: &[Expr],
    over: &[AxisId],
    by: Option<By>,
) -> Rc<Laid> {
    along(evaluator, laid, arguments, over).call(function, by)
}

fn known_or(value: Option<Real>, reason: &str) -> Cell {
    value.map_or_else(|| Cell::invalid(reason), Cell::number)
}

fn result(value: Result<Real, Fault>) -> Cell {
    value.map_or_else(|fault| Cell::invalid(fault.to_string()), Cell::number)
}

/// All numbers, or the cell that stands in the way.
fn numbers(cells: &[&Cell]) -> Result<Vec<Real>, Cell> {
    if let Some(missing) = Cell::gravest(cells.iter().copied()) {
        return Err(missing.clone());
    }
    let number = |cell: &&Cell| match Extent::of(cell)? {
        Extent::At(value) => Ok(value),
        _ => Err(Cell::invalid("it cannot be worked out from an open-ended reading")),
    };
    cells.iter().map(number).collect()
}

fn with_numbers(cells: &[&Cell], with: impl FnOnce(&[Real]) -> Result<Real, Fault>) -> Cell {
    numbers(cells).map_or_else(|missing| missing, |values| result(with(&values)))
}

fn of_several(evaluator: &Evaluator<'_>, function: Function, cells: &[&Cell]) -> Cell {
    let words = cells.iter().any(|cell| matches!(cell, Cell::Known(Scalar::Word(_))));
    let material = cells.iter().find_map(|cell| match cell {
        Cell::Known(Scalar::Word(word)) => Material::parse(word),
        _ => None,
    });
    let plain: Vec<&Cell> =
        cells.iter().copied().filter(|cell| !matches!(cell, Cell::Known(Scalar::Word(_)))).collect();
    let values = match numbers(&plain) {
        Ok(values) => values,
        Err(missing) => return missing,
    };
    match (function, values.as_slice(), material) {
        (Function::Per, [value, length, span], _) => {
            if !span.is_positive() {
                return Cell::invalid("the measured length must be more than zero");
            }
            known_or((value * length).div(span), "the measured length must be more than zero")
        }
        (Function::SetOver, [taper, collars, work], _) => result(metrology::set_over(taper, collars, work)),
        (Function::HeightEffect, [diameter, _], _) if !diameter.is_positive() => {
            result(Err(Fault::NotPositive("the diameter")))
        }
        (Function::HeightEffect, [diameter, height], _) => {
            result(metrology::off_height(&diameter.half(), height))
        }
        (Function::TaperFromTwist, [twist, height], _) => {
            Cell::number(metrology::taper_from_twist(twist, height))
        }
        (Function::TaperFromLean, [lean], _) => Cell::number(metrology::taper_from_lean(lean)),
        (Function::Rounded, [value, step], _) => result(metrology::rounded_to(value, step)),
        (Function::At20DegC, [length, temperature], Some(material)) => {
            let off = evaluator.material_off(material, Property::Expansion);
            Cell::number(metrology::at_20_deg_c(length, material, temperature, &off))
        }
        (Function::Sag, [length, diameter, bore], Some(material)) => result(
            metrology::sag(length, diameter, bore, material).map(|sag| drooped(evaluator, &sag, material)),
        ),
        (Function::Sag, sizes, Some(material)) if sizes.len() % 3 == 0 => {
            let stretch = |sizes: &[Real]| match sizes {
                [length, diameter, bore] => {
                    Some(Stretch { length: length.clone(), diameter: diameter.clone(), bore: bore.clone() })
                }
                _ => None,
            };
            let stretches: Vec<Stretch> = sizes.chunks(3).filter_map(stretch).collect();
            let lengths: Vec<Real> = stretches.iter().map(|stretch| stretch.length.clone()).collect();
            let end = metrology::sum(&lengths);
            let sag = end.and_then(|end| metrology::sag_at(&stretches, &end, material));
            result(sag.map(|sag| drooped(evaluator, &sag, material)))
        }
        _ if words => {
            let known: Vec<&str> = Material::ALL.iter().map(|material| material.name()).collect();
            Cell::invalid(format!("the material is not one of {}", known.join(", ")))
        }
        _ => Cell::invalid("the function needs other values"),
    }
}

/// A sag of a material whose density over stiffness is taken to be off.
fn drooped(evaluator: &Evaluator<'_>, sag: &Real, material: Material) -> Real {
    sag * &(&Real::from(1) + &evaluator.material_off(material, Property::Droop))
}

fn without_background(total: &Cell, background: &Cell) -> Cell {
    match numbers(&[total, background]).as_deref() {
        Ok([total, background]) => match metrology::without_background(total, background) {
            Ok(WithoutBackground::Level(level)) => Cell::number(level),
            Ok(WithoutBackground::AtMost(bound)) => Cell::OpenEnded { bound, above: false },
            Err(fault) => Cell::invalid(fault.to_string()),
        },
        Ok(_) => Cell::invalid("total and background are needed"),
        Err(missing) => missing.clone(),
    }
}

/// A function of a list whose order and places do not matter.
fn evaluate(function: Function, decibel: bool, cells: &[&Cell]) -> Cell {
    let open_ended = cells.iter().any(|cell| matches!(cell, Cell::OpenEnded { .. }));
    match function {
        Function::Mean if decibel => with_numbers(cells, metrology::energy_mean),
        Function::Mean if open_ended => {
            let count = Cell::number(Real::from(i64::try_from(cells.len()).unwrap_or(i64::MAX)));
            let sum = cells::fold(cells, |sum, next| sum.plus(&next));
            cells::arithmetic(Arithmetic::Divide, &sum, &count)
        }
        Function::Mean => with_numbers(cells, metrology::mean),
        Function::Sum if open_ended => cells::fold(cells, |sum, next| sum.plus(&next)),
        Function::Sum => with_numbers(cells, metrology::sum),
        Function::Greatest if open_ended => cells::fold(cells, |a, b| Some(a.greater(b))),
        Function::Greatest => with_numbers(cells, metrology::greatest),
        Function::Least if open_ended => cells::fold(cells, |a, b| Some(a.lesser(b))),
        Function::Least => with_numbers(cells, metrology::least),
        Function::Range | Function::Runout if open_ended => {
            let greatest = cells::fold(cells, |a, b| Some(a.greater(b)));
            let least = cells::fold(cells, |a, b| Some(a.lesser(b)));
            cells::arithmetic(Arithmetic::Subtract, &greatest, &least)
        }
        Function::Range => with_numbers(cells, metrology::range),
        Function::Runout => with_numbers(cells, metrology::runout),
        Function::Stdev => with_numbers(cells, metrology::stdev),
        Function::Lag1 => with_numbers(cells, metrology::lag_1),
        Function::WorstStep => with_numbers(cells, metrology::worst_step),
        Function::RootSumSquares => with_numbers(cells, metrology::root_sum_squares),
        Function::Count => count(cells),
        _ => Cell::invalid("the function takes one value over an axis"),
    }
}

/// Numbers that are known, or yes answers.
fn count(cells: &[&Cell]) -> Cell {
    if let Some(missing) = Cell::gravest(cells.iter().copied()) {
        return missing.clone();
    }
    let counted = cells.iter().filter(|cell| cell.as_yes_no() != Some(false)).count();
    Cell::number(Real::from(i64::try_from(counted).unwrap_or(i64::MAX)))
}

fn nothing_listed() -> Cell {
    Cell::invalid("nothing is listed")
}
