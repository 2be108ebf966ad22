//! Arrows as cells: sums and plain factors, size and angle, the bar taken out and put back, and how they are said.

use std::rc::Rc;

use crate::check::program::Arithmetic;
use crate::metrology::{self, Arrow, Fault};
use crate::quantity::{Real, Unit, ratio};

use super::cells;
use super::text;
use super::value::{Cell, Scalar};

fn cell(arrow: Result<Arrow, Fault>) -> Cell {
    match arrow {
        Ok(arrow) => Cell::Known(Scalar::Arrow(Box::new(arrow))),
        Err(fault) => Cell::invalid(fault.to_string()),
    }
}

/// `+ -` of two arrows, `* /` by a number. `None`: neither is an arrow.
pub(super) fn arithmetic(operation: Arithmetic, a: &Cell, b: &Cell) -> Option<Cell> {
    let (left, right) = (a.as_arrow(), b.as_arrow());
    if left.is_none() && right.is_none() {
        return None;
    }
    if let Some(missing) = Cell::gravest([a, b]) {
        return Some(missing.clone());
    }
    Some(match (operation, left, right) {
        (Arithmetic::Add, Some(a), Some(b)) => cell(Ok(a.plus(b))),
        (Arithmetic::Subtract, Some(a), Some(b)) => cell(Ok(a.minus(b))),
        (Arithmetic::Multiply, Some(arrow), None) => cells::number(b, |by| cell(Ok(arrow.times(by)))),
        (Arithmetic::Multiply, None, Some(arrow)) => cells::number(a, |by| cell(Ok(arrow.times(by)))),
        (Arithmetic::Divide, Some(arrow), None) => cells::number(b, |by| match Real::from(1).div(by) {
            Some(factor) => cell(Ok(arrow.times(&factor))),
            None => Cell::invalid("division by zero"),
        }),
        _ => Cell::invalid("arrows take a sum, a difference and a plain factor"),
    })
}

pub(super) fn negate(arrow: &Arrow) -> Cell {
    cell(Ok(arrow.times(&Real::from(-1))))
}

pub(super) fn half(arrow: &Arrow) -> Cell {
    cell(Ok(arrow.times(&Real::Exact(ratio(1, 2)))))
}

pub(super) fn eccentricity(angles: &[Real], readings: &[Real]) -> Cell {
    cell(metrology::eccentricity(angles, readings))
}

fn part(of: &Cell, with: impl Fn(&Arrow) -> Result<Real, Fault>) -> Cell {
    match of {
        Cell::Known(Scalar::Arrow(arrow)) => {
            with(arrow).map_or_else(|fault| Cell::invalid(fault.to_string()), Cell::number)
        }
        Cell::Known(_) | Cell::OpenEnded { .. } => Cell::invalid("an arrow was expected"),
        missing => missing.clone(),
    }
}

pub(super) fn size(of: &Cell) -> Cell {
    part(of, Arrow::size)
}

pub(super) fn high_at(of: &Cell) -> Cell {
    part(of, Arrow::high_at)
}

/// Arrows that are all there, or the cell that stands in the way.
fn arrows(cells: &[&Cell]) -> Result<Vec<Arrow>, Cell> {
    if let Some(missing) = Cell::gravest(cells.iter().copied()) {
        return Err(missing.clone());
    }
    let arrow = |cell: &&Cell| cell.as_arrow().cloned().ok_or_else(|| Cell::invalid("an arrow was expected"));
    cells.iter().map(arrow).collect()
}

pub(super) fn mean(cells: &[&Cell]) -> Cell {
    arrows(cells).map_or_else(|missing| missing, |arrows| cell(Arrow::mean(&arrows)))
}

/// The bore (`machine`) or the bar (`artefact`), from the arrows at each turning of the bar.
pub(super) fn indexed(indices: &[Real], cells: &[&Cell], machine: bool) -> Cell {
    let arrows = match arrows(cells) {
        Ok(arrows) => arrows,
        Err(missing) => return missing,
    };
    cell(
        metrology::indexings(indices, &arrows)
            .map(|parts| if machine { parts.machine } else { parts.artefact }),
    )
}

/// "0.01 mm, high at 90.0 deg (TIR 0.02 mm)": the size is half of its own total indicator reading, and the two are easily
/// taken for each other. Without a size only that.
pub(super) fn said(arrow: &Arrow, unit: Option<Unit>, resolution: Option<&Real>) -> String {
    let Ok(size) = arrow.size() else { return String::new() };
    let shown = text::show(&size, unit, None, resolution, &[]);
    let step = Real::Exact(ratio(1, 10));
    match arrow.high_at() {
        Ok(angle) => {
            let tir = text::show(&(&size + &size), unit, None, resolution, &[]);
            let angle = text::show(&angle, Some(Unit::Deg), None, Some(&step), &[]);
            format!("{shown}, high at {angle} (TIR {tir})")
        }
        Err(_) => shown,
    }
}

/// For the record: `0.01 at 90 deg`, the size in the unit of the value.
pub(super) fn recorded(arrow: &Arrow, unit: Option<Unit>) -> Rc<str> {
    let number = |value: Result<Real, Fault>, unit: Option<Unit>| match value {
        Ok(value) => text::record_text(&Cell::number(value), unit),
        Err(fault) => format!("invalid: {fault}"),
    };
    let size = number(arrow.size(), unit);
    match arrow.high_at() {
        Ok(angle) => format!("{size} at {} deg", number(Ok(angle), Some(Unit::Deg))).into(),
        Err(_) => size.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bar that is out by 10 high at some angle in a bore that is out by 4 high at 90 deg, put in four times.
    #[test]
    fn bore_and_bar_come_apart_over_four_turnings() {
        let bore = Arrow::pointing(&Real::from(4), &Real::from(90));
        let bar = Arrow { along: Real::from(6), across: Real::from(8) };
        let indices: Vec<Real> = [0, 90, 180, 270].into_iter().map(Real::from).collect();
        let cells: Vec<Cell> =
            indices.iter().map(|index| cell(Ok(bar.turned(&-index).plus(&bore)))).collect();
        let cells: Vec<&Cell> = cells.iter().collect();
        assert_eq!(indexed(&indices, &cells, true).as_arrow(), Some(&bore));
        assert_eq!(indexed(&indices, &cells, false).as_arrow(), Some(&bar));
        assert!(matches!(indexed(&indices[..3], &cells[..3], true), Cell::Invalid(_)));
    }
}
