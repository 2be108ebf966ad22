//! The worst window of a given length along a value.

use std::rc::Rc;

use crate::check::program::WindowBy;
use crate::metrology;
use crate::quantity::{Real, Unit};
use crate::walk::layout::{gather, place};
use crate::walk::text;
use crate::walk::value::{Cell, Laid, Stations};

fn ends(from: &Real, to: &Real) -> String {
    format!("{} to {}", text::limit(from, Some(Unit::Mm)), text::limit(to, Some(Unit::Mm)))
}

/// The worst window over all lines that the value is laid out along. `Err`: what stands in the way.
pub(super) fn worst_window(
    value: &Laid,
    length: &Cell,
    by: WindowBy,
) -> Result<(metrology::Window, usize, Vec<Rc<str>>), Cell> {
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
    let rule = way(by);
    let lines = gather(value, &[position], false);
    let mut worst: Option<(metrology::Window, usize)> = None;
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
        if worst.as_ref().is_none_or(|(worst, _)| worst.value.is_less(&found.value)) {
            if !lines.kept.is_empty() {
                notes.retain(|note| !note.starts_with("worst along "));
                notes.push(format!("worst along {}", place(&lines.kept, number)).into());
            }
            worst = Some((found, number));
        }
    }
    let (worst, line) = worst.ok_or_else(|| Cell::invalid("nothing is listed"))?;
    if worst.shortened {
        let measured = text::limit(&(&worst.to - &worst.from), Some(Unit::Mm));
        notes.push(format!("judged over {measured}, all there is").into());
    }
    notes.dedup();
    Ok((worst, line, notes))
}

fn way(by: WindowBy) -> metrology::Rule {
    match by {
        WindowBy::Spread => metrology::Rule::Spread,
        WindowBy::Chord => metrology::Rule::Chord,
    }
}

/// One window of a line: what [`worst_window`] found there, worked out at other readings.
pub(super) fn one_window(value: &Laid, line: usize, from: &Real, to: &Real, by: WindowBy) -> Option<Real> {
    let placed = |axis: &Rc<Stations>| axis.stations.iter().any(|station| station.position.is_some());
    let position = value.axes.iter().position(placed)?;
    let stations = &value.axes.get(position)?.stations;
    let cells = gather(value, &[position], false).groups().nth(line)?;
    let mut read: Vec<(Real, Real)> = stations
        .iter()
        .zip(&cells)
        .filter_map(|(station, cell)| Some((station.position.clone()?, cell.as_number()?.clone())))
        .collect();
    read.sort();
    let (places, values): (Vec<Real>, Vec<Real>) = read.iter().cloned().unzip();
    let end = |at: &Real| Some((at.clone(), metrology::interpolate(&places, &values, at)?));
    let inner = read.iter().filter(|(place, _)| from.is_less(place) && place.is_less(to)).cloned();
    let (places, values): (Vec<Real>, Vec<Real>) =
        std::iter::once(end(from)?).chain(inner).chain(std::iter::once(end(to)?)).unzip();
    metrology::worst_window(&places, &values, &(to - from), way(by)).ok().map(|found| found.value)
}

/// The worst window of two lengths, the first along the first of the two axes with places.
pub(super) fn worst_area(
    value: &Laid,
    length: &Cell,
    second: &Cell,
) -> Result<(metrology::Area, Vec<Rc<str>>), Cell> {
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
    Ok((worst, notes))
}

/// Where an area lies: along the first length by along the second.
pub(super) fn area_place(area: &metrology::Area) -> Rc<str> {
    format!("{} by {}", ends(&area.from.0, &area.to.0), ends(&area.from.1, &area.to.1)).into()
}
