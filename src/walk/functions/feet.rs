//! What to put under the pairs of feet of a bed, from the levels read along it.

use std::rc::Rc;

use crate::metrology::{self, FootPair};
use crate::quantity::Real;
use crate::walk::eval::one;
use crate::walk::layout;
use crate::walk::value::{Cell, Laid};

use super::along::{Along, Needs};

/// `further`: how far apart the feet of a pair are, and the tilt that is wanted (level if it is not said).
pub(super) fn twist_shims(along: &Along<'_>, further: &[Rc<Laid>]) -> Rc<Laid> {
    shims(along, further).unwrap_or_else(one)
}

fn shims(along: &Along<'_>, further: &[Rc<Laid>]) -> Result<Rc<Laid>, Cell> {
    let single = |laid: &Rc<Laid>| match laid.as_single() {
        cell if cell.is_known() => {
            cell.as_number().cloned().ok_or_else(|| Cell::invalid("a number was expected"))
        }
        missing => Err(missing),
    };
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
