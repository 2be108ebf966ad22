//! What to put under feet: under the pairs of feet of a bed, from the levels read along it; under feet at any places.

use std::rc::Rc;

use crate::check::program::AxisId;
use crate::metrology::{self, FootPair, Place};
use crate::quantity::Real;
use crate::walk::eval::{Evaluator, one};
use crate::walk::layout;
use crate::walk::value::{Cell, Laid};

use super::along::{Along, Needs};
use super::numbers;

/// `further`: how far apart the feet of a pair are, and the tilt that is wanted (level if it is not said).
pub(super) fn twist_shims(along: &Along<'_>, further: &[Rc<Laid>]) -> Rc<Laid> {
    shims(along, further).unwrap_or_else(one)
}

fn single(laid: &Rc<Laid>) -> Result<Real, Cell> {
    match laid.as_single() {
        cell if cell.is_known() => {
            cell.as_number().cloned().ok_or_else(|| Cell::invalid("a number was expected"))
        }
        missing => Err(missing),
    }
}

/// Lengths in pairs: where each foot stands.
fn places(lengths: &[Rc<Laid>]) -> Result<Vec<Place>, Cell> {
    let lengths: Vec<Real> = lengths.iter().map(single).collect::<Result<_, _>>()?;
    let place = |two: &[Real]| Some((two.first()?.clone(), two.last()?.clone()));
    Ok(lengths.chunks_exact(2).filter_map(place).collect())
}

/// `values`: the tilts along and across, then the places of the feet.
pub(super) fn shims_to_level(evaluator: &Evaluator<'_>, over: &[AxisId], values: &[Rc<Laid>]) -> Rc<Laid> {
    let shims = || {
        let ([along, across, lengths @ ..], [feet]) = (values, over) else {
            return Err(Cell::invalid("the feet were not given"));
        };
        let feet = evaluator.stations(*feet)?;
        let (along, across, places) = (single(along)?, single(across)?, places(lengths)?);
        let shims = metrology::shims_to_level(&places, &along, &across)
            .map_err(|fault| Cell::invalid(fault.to_string()))?;
        if shims.len() != feet.open().len() {
            return Err(Cell::invalid("there are more feet than places, or fewer"));
        }
        Ok(Rc::new(Laid { axes: vec![feet], cells: shims.into_iter().map(Cell::number).collect() }))
    };
    shims().unwrap_or_else(one)
}

/// Of heights over the feet; a foot that was not read leaves nothing to say.
pub(super) fn seating_shims(along: &Along<'_>, further: &[Rc<Laid>]) -> Rc<Laid> {
    let shims = || {
        let (position, axis) = along.axis()?;
        let places = places(further);
        let into = |group: &[&Cell]| -> Vec<Cell> {
            let found =
                along.taking_part(group, Needs::All).and_then(|_| numbers(group)).and_then(|heights| {
                    let places = places.clone()?;
                    metrology::seating(&places, &heights).map_err(|fault| Cell::invalid(fault.to_string()))
                });
            match found {
                Ok(found) => found.shims.into_iter().map(Cell::number).collect(),
                Err(missing) => vec![missing; group.len()],
            }
        };
        Ok(Rc::new(layout::reshape(along.argument, position, layout::opened(&axis), into)))
    };
    shims().unwrap_or_else(one)
}

fn shims(along: &Along<'_>, further: &[Rc<Laid>]) -> Result<Rc<Laid>, Cell> {
    let [spacing, wanted @ ..] = further else { return Err(Cell::invalid("the feet were not given")) };
    let spacing = single(spacing)?;
    let wanted = wanted.first().map_or(Ok(Real::zero()), single)?;
    let [place, feet] = along.over else { return Err(Cell::invalid("the feet were not given")) };
    let feet = along.evaluator.stations(*feet)?;
    let stations: Vec<Real> = feet.open().iter().filter_map(|foot| foot.position.clone()).collect();
    let pairs: Vec<FootPair> = stations
        .iter()
        .map(|station| FootPair { station: station.clone(), spacing: spacing.clone() })
        .collect();
    let levels = Along { over: std::slice::from_ref(place), ..*along };
    let (position, axis) = levels.axis()?;
    let gathered = layout::gather(levels.argument, &[position], false);
    let mut cells = Vec::new();
    for group in gathered.groups() {
        let found = levels.placed_values(axis.open(), &group, Needs::AtLeast(pairs.len())).and_then(
            |(_, places, tilts)| {
                metrology::twist_shims(&pairs, &places, &tilts, &wanted)
                    .map_err(|fault| Cell::invalid(fault.to_string()))
            },
        );
        match found {
            Ok(found) => cells.extend(found.shims.into_iter().map(Cell::number)),
            Err(missing) => cells.extend(vec![missing; pairs.len()]),
        }
    }
    let mut axes = gathered.kept;
    axes.push(feet);
    Ok(Rc::new(Laid { axes, cells }))
}
