//! Functions round a turn: arrows, roundness, undulations, and the bar taken out and put back.

use std::rc::Rc;

use crate::check::program::{By, Function};
use crate::metrology::{self, CircleReference, Fault};
use crate::quantity::Real;
use crate::walk::arrows;
use crate::walk::eval::{combine, one};
use crate::walk::value::{Cell, Laid};

use super::along::{Along, Needs};

impl Along<'_> {
    pub(super) fn round_a_turn(&self, function: Function, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        if function == Function::Eccentricity {
            return self.placed_cells(Needs::AtLeast(3), arrows::eccentricity);
        }
        let reference = reference(by);
        self.placed(Needs::AtLeast(4), |angles, readings| {
            Ok(metrology::roundness(angles, readings, reference)?.value)
        })
    }

    /// Over arrows: the mean, or the bore and the bar.
    pub(super) fn over_arrows(&self, function: Function) -> Result<Rc<Laid>, Cell> {
        let machine = match function {
            Function::Machine => true,
            Function::Artefact => false,
            _ => {
                return self.each(|group| match self.taking_part(group, Needs::AtLeast(1)) {
                    Ok(left) => arrows::mean(
                        &left.iter().filter_map(|at| group.get(*at).copied()).collect::<Vec<_>>(),
                    ),
                    Err(missing) => missing,
                });
            }
        };
        let (_, axis) = self.axis()?;
        let indices: Vec<Real> = axis.open().iter().filter_map(|station| station.position.clone()).collect();
        self.each(|group| match self.taking_part(group, Needs::All) {
            Ok(_) => arrows::indexed(&indices, group, machine),
            Err(missing) => missing,
        })
    }
}

pub(in crate::walk) fn reference(by: Option<By>) -> CircleReference {
    match by {
        Some(By::MinimumZone) => CircleReference::MinimumZone,
        Some(By::Inscribed) => CircleReference::Inscribed,
        Some(By::Circumscribed) => CircleReference::Circumscribed,
        _ => CircleReference::LeastSquares,
    }
}

/// `undulation(x over turn, 3)`: the amplitude of so many waves a turn.
pub(super) fn undulation(along: &Along<'_>, waves: &Laid) -> Rc<Laid> {
    let amplitude = |waves: usize| {
        along.placed(Needs::AtLeast(2 * waves + 1), |angles, readings| {
            let found = metrology::harmonics(angles, readings, waves)?;
            found.arrows.last().ok_or(Fault::IllConditioned)?.size()
        })
    };
    let number = |cell: &Cell| {
        let exact = cell.as_number().and_then(Real::exact)?;
        let whole = exact.is_integer().then(|| exact.to_integer());
        whole.and_then(|whole| usize::try_from(whole).ok()).filter(|waves| (1..=1000).contains(waves))
    };
    match waves.as_single() {
        cell if number(&cell).is_some() => match number(&cell).map(amplitude) {
            Some(Ok(laid)) => laid,
            Some(Err(missing)) => one(missing),
            None => one(cell),
        },
        Cell::Known(_) => one(Cell::invalid("the waves a turn must be a whole number from 1")),
        missing => combine(&[waves], |_| missing.clone()),
    }
}
