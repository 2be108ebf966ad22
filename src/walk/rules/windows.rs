//! The worst window of a given length along a value.

use std::rc::Rc;

use crate::check::program::WindowBy;
use crate::metrology;
use crate::quantity::{Real, Unit};
use crate::walk::layout::{gather, place};
use crate::walk::text;
use crate::walk::value::{Cell, Laid, Stations};

/// A window found: its spread, its ends along the first length, and both in words.
pub(super) struct Worst {
    pub value: Real,
    pub from: Real,
    pub to: Real,
    pub place: Rc<str>,
}

fn ends(from: &Real, to: &Real) -> String {
    format!("{} to {}", text::limit(from, Some(Unit::Mm)), text::limit(to, Some(Unit::Mm)))
}

/// The worst window over all lines that the value is laid out along. `Err`: what stands in the way.
pub(super) fn worst_window(value: &Laid, length: &Cell, by: WindowBy) -> Result<(Worst, Vec<Rc<str>>), Cell> {
    if let Some(missing) =
        Cell::gravest(value.cells.iter().filter(|cell| !matches!(cell, Cell::NotRead(_))).chain([length]))
    {
        return Err(missing.clone());
    }
    let length = length.as_number().ok_or_else(|| Cell::invalid("a window needs a length"))?;
    let placed = |axis: &Rc<Stations>| axis.stations.iter().any(|station| station.position.is_some());
    let Some(position) = value.axes.iter().position(placed) else {
        return Err(Cell::gravest(&value.cells)
            .cloned()
            .unwrap_or_else(|| Cell::invalid("a window needs stations along a length")));
    };
    let stations = value.axes.get(position).map_or(&[][..], |axis| &axis.stations);
    let rule = match by {
        WindowBy::Spread => metrology::Rule::Spread,
        WindowBy::Chord => metrology::Rule::Chord,
    };
    let lines = gather(value, &[position], false);
    let mut worst: Option<metrology::Window> = None;
    let mut notes: Vec<Rc<str>> = Vec::new();
    for (number, line) in lines.groups().enumerate() {
        let read = stations
            .iter()
            .zip(&line)
            .filter_map(|(station, cell)| Some((station.position.clone()?, cell.as_number()?.clone())));
        let (places, values): (Vec<Real>, Vec<Real>) = read.unzip();
        if values.len() < stations.len() {
            notes.push(format!("{} of {} read", values.len(), stations.len()).into());
        }
        let found = metrology::worst_window(&places, &values, length, rule)
            .map_err(|fault| Cell::invalid(fault.to_string()))?;
        if worst.as_ref().is_none_or(|worst| worst.value.is_less(&found.value)) {
            if !lines.kept.is_empty() {
                notes.retain(|note| !note.starts_with("worst along "));
                notes.push(format!("worst along {}", place(&lines.kept, number)).into());
            }
            worst = Some(found);
        }
    }
    let worst = worst.ok_or_else(|| Cell::invalid("nothing is listed"))?;
    if worst.shortened {
        let measured = text::limit(&(&worst.to - &worst.from), Some(Unit::Mm));
        notes.push(format!("judged over {measured}, all there is").into());
    }
    notes.dedup();
    let place = ends(&worst.from, &worst.to).into();
    Ok((Worst { value: worst.value, from: worst.from, to: worst.to, place }, notes))
}

/// The worst window of two lengths, the first along the first of the two axes with places.
pub(super) fn worst_area(value: &Laid, length: &Cell, second: &Cell) -> Result<(Worst, Vec<Rc<str>>), Cell> {
    if let Some(missing) = Cell::gravest(value.cells.iter().chain([length, second])) {
        return Err(missing.clone());
    }
    let sides = length.as_number().zip(second.as_number());
    let sides = sides.ok_or_else(|| Cell::invalid("a window needs its lengths"))?;
    let places = |axis: &Stations| -> Option<Vec<Real>> {
        axis.stations.iter().map(|station| station.position.clone()).collect()
    };
    let placed: Vec<(usize, Vec<Real>)> =
        value.axes.iter().enumerate().filter_map(|(at, axis)| Some((at, places(axis)?))).collect();
    let [(first, xs), (other, ys)] = placed.as_slice() else {
        return Err(Cell::invalid("a window of two lengths needs a grid of two lengths"));
    };
    let grids = gather(value, &[*first, *other], false);
    let mut worst: Option<metrology::Area> = None;
    let mut notes: Vec<Rc<str>> = Vec::new();
    for (number, grid) in grids.groups().enumerate() {
        let values: Vec<Real> = grid.iter().filter_map(|cell| cell.as_number().cloned()).collect();
        let rows: Vec<Vec<Real>> = values.chunks(ys.len().max(1)).map(<[Real]>::to_vec).collect();
        let found =
            metrology::worst_area(xs, ys, &rows, sides).map_err(|fault| Cell::invalid(fault.to_string()))?;
        if worst.as_ref().is_none_or(|worst| worst.value.is_less(&found.value)) {
            if !grids.kept.is_empty() {
                notes = vec![format!("worst at {}", place(&grids.kept, number)).into()];
            }
            worst = Some(found);
        }
    }
    let worst = worst.ok_or_else(|| Cell::invalid("nothing is listed"))?;
    if worst.shortened {
        notes.push("judged over all there is, which is shorter than the window".into());
    }
    let place =
        format!("{} by {}", ends(&worst.from.0, &worst.to.0), ends(&worst.from.1, &worst.to.1)).into();
    Ok((Worst { value: worst.value, from: worst.from.0, to: worst.to.0, place }, notes))
}
