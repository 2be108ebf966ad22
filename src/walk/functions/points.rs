//! A circle through points of two coordinates each: its form, its diameter, its centre.

use std::rc::Rc;

use crate::check::program::{By, Function};
use crate::metrology::{self, Arrow};
use crate::walk::eval::one;
use crate::walk::layout;
use crate::walk::value::{Cell, Laid, Scalar};

use super::along::{Along, Needs};
use super::numbers;
use super::round::reference;

/// A point of which one coordinate was not read is left out.
pub(super) fn circle(along: &Along<'_>, across: &Rc<Laid>, function: Function, by: Option<By>) -> Rc<Laid> {
    let found = || {
        let second = Along { argument: across, ..*along };
        let xs = layout::gather(along.argument, &along.positions()?, false);
        let ys = layout::gather(across, &second.positions()?, false);
        let cells = xs.groups().zip(ys.groups()).map(|(xs, ys)| of_one(along, &xs, &ys, function, by));
        let cells = cells.map(|cell| cell.unwrap_or_else(|missing| missing)).collect();
        Ok(Rc::new(Laid { cells, axes: xs.kept }))
    };
    found().unwrap_or_else(one)
}

fn of_one(
    along: &Along<'_>,
    xs: &[&Cell],
    ys: &[&Cell],
    function: Function,
    by: Option<By>,
) -> Result<Cell, Cell> {
    let graver = |(x, y): (&&'_ Cell, &&'_ Cell)| Cell::gravest([*x, *y]).cloned();
    let whole: Vec<Cell> =
        xs.iter().zip(ys).map(|pair| graver(pair).unwrap_or_else(|| (*pair.0).clone())).collect();
    let left =
        along.taking_part(&whole.iter().collect::<Vec<_>>(), Needs::AtLeast(function.least_points()))?;
    let of =
        |cells: &[&Cell]| numbers(&left.iter().filter_map(|at| cells.get(*at).copied()).collect::<Vec<_>>());
    let points: Vec<metrology::Place> = of(xs)?.into_iter().zip(of(ys)?).collect();
    let invalid = |fault: metrology::Fault| Cell::invalid(fault.to_string());
    let found = metrology::points_roundness(&points, reference(by)).map_err(invalid)?;
    Ok(match function {
        Function::CircleCentre => {
            let (along, across) = found.centre.map_err(invalid)?;
            Cell::Known(Scalar::Arrow(Box::new(Arrow { along, across })))
        }
        Function::CircleDiameter => {
            let radius = found.radius.map_err(invalid)?;
            Cell::number(&radius + &radius)
        }
        _ => Cell::number(found.value),
    })
}
