//! Functions that are linear in their one argument, and what is made of circles, in all trials of a block at once.

use std::rc::Rc;

use crate::check::program::Function;
use crate::metrology::{CircleReference, MapBy, Survey, drawn_circles};
use crate::quantity::Real;
use crate::walk::value::{Cell, Laid, Scalar};

use super::column::{Column, add, combined, fold, matrix};
use super::drawn::{Block, Drawn, Each, Placed};

impl Block<'_> {
    /// From what comes of each number of the argument alone being one, all others zero.
    pub(super) fn linear(&self, value: &Drawn, call: impl Fn(&Rc<Laid>) -> Rc<Laid>) -> Option<Rc<Drawn>> {
        let is_number = |each: &Each| match each {
            Each::Number(_) => true,
            Each::Same(cell) => cell.as_number().is_some(),
            Each::Arrow(..) => false,
        };
        if value.cells.iter().any(|each| matches!(each, Each::Arrow(..))) {
            return None;
        }
        let unit = |one: Option<usize>| {
            let cell = |(at, each): (usize, &Each)| match each {
                Each::Same(cell) if !is_number(each) => cell.clone(),
                _ => Cell::number(Real::from(i64::from(one == Some(at)))),
            };
            Rc::new(Laid {
                axes: value.axes.clone(),
                cells: value.cells.iter().enumerate().map(cell).collect(),
            })
        };
        let base = call(&unit(None));
        let mut sums = vec![[vec![0.0; self.trials], vec![0.0; self.trials]]; base.cells.len()];
        for (at, each) in value.cells.iter().enumerate().filter(|(_, each)| is_number(each)) {
            let column = self.column(each)?;
            for ([first, second], cell) in sums.iter_mut().zip(&call(&unit(Some(at))).cells) {
                match cell {
                    Cell::Known(Scalar::Number(own)) => add(first, own.to_f64(), &column),
                    Cell::Known(Scalar::Arrow(own)) => {
                        add(first, own.along.to_f64(), &column);
                        add(second, own.across.to_f64(), &column);
                    }
                    _ => {}
                }
            }
        }
        let cell = |(cell, [first, second]): (&Cell, [Vec<f64>; 2])| match cell {
            Cell::Known(Scalar::Number(_)) => Each::Number(first.into()),
            Cell::Known(Scalar::Arrow(_)) => Each::Arrow(first.into(), second.into()),
            other => Each::Same(other.clone()),
        };
        let cells = base.cells.iter().zip(sums).map(cell).collect();
        Some(Rc::new(Drawn { axes: base.axes.clone(), cells }))
    }

    /// How far apart the lines of a survey are where they meet.
    pub(super) fn closure(&self, tilts: &Drawn, positions: &[usize], plan: &Survey) -> Option<Rc<Drawn>> {
        let closures = matrix(plan.feet().iter().sum(), |unit| {
            let mut tilts = unit.iter().cloned();
            let lines = plan.feet().map(|feet| tilts.by_ref().take(feet).collect::<Vec<Real>>());
            Some(plan.map(&lines, MapBy::Closing).ok()?.closures.to_vec())
        })?;
        let zero: Column = vec![0.0; self.trials].into();
        self.collapse(tilts, positions, |columns| {
            let mut meet: Vec<Column> = closures.iter().map(|row| combined(row, columns)).collect();
            meet.push(zero.clone());
            fold(&[fold(&meet, f64::max)?, fold(&meet, f64::min)?], |high, low| high - low)
        })
    }

    /// Of a circle through points, of which those count whose two coordinates were read.
    pub(super) fn circle(
        &self,
        function: Function,
        x: &Drawn,
        y: &Drawn,
        positions: &[usize],
        reference: CircleReference,
    ) -> Option<Rc<Drawn>> {
        let ((axes, xs), (_, ys)) = (self.read(x, positions)?, self.read(y, positions)?);
        let of_one = |(xs, ys): (&Placed, &Placed)| {
            let beside = |at: &usize| ys.iter().find(|(own, _)| own == at).map(|(_, column)| column);
            let points: Vec<(&Column, &Column)> =
                xs.iter().filter_map(|(at, column)| Some((column, beside(at)?))).collect();
            let found = drawn_circles(&points, reference)?;
            Some(match function {
                Function::CircleForm => Each::Number(found.form.into()),
                Function::CircleDiameter => {
                    Each::Number(found.radius.iter().map(|radius| 2.0 * radius).collect())
                }
                _ => Each::Arrow(found.x.into(), found.y.into()),
            })
        };
        let cells = xs.iter().zip(&ys).map(of_one).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes, cells }))
    }
}
