//! The figures of ISO 230-2: targets, approaches and runs, from the axes of a reading.

use std::rc::Rc;

use crate::check::program::{Axis, By, Function, Stations as Plan};
use crate::metrology::{self, Edition, Fault, Target};
use crate::quantity::Real;
use crate::walk::eval::one;
use crate::walk::layout;
use crate::walk::value::{Cell, Laid};

use super::along::{Along, Needs};
use super::{numbers, result};

/// Runs at each target that the standard asks for.
const RUNS: usize = 5;

impl Along<'_> {
    pub(super) fn positioning(&self, function: Function, by: Option<By>) -> Result<Rc<Laid>, Cell> {
        let edition = match by {
            Some(By::Iso230Of1988) => Edition::Iso1988,
            _ => Edition::Iso2014,
        };
        let plus = self.approached("plus")?;
        let figure = match self.approaches() {
            Some(_) => {
                let minus = self.approached("minus")?;
                let pair = |(plus, minus)| Target { plus, minus };
                two_way(function, &plus.into_iter().zip(minus).map(pair).collect::<Vec<_>>(), edition)
            }
            None => one_way(function, &plus, edition),
        };
        Ok(one(result(figure)))
    }

    fn laid_out(&self, position: usize) -> Option<&Axis> {
        let name = &self.argument.axes.get(position)?.axis;
        let mut axes = self.over.iter().filter_map(|axis| self.evaluator.program.axes.get(axis.0));
        axes.find(|axis| *axis.name == **name)
    }

    fn position(&self, is: impl Fn(&Plan) -> bool) -> Option<usize> {
        (0..self.argument.axes.len()).find(|at| self.laid_out(*at).is_some_and(|axis| is(&axis.stations)))
    }

    fn approaches(&self) -> Option<usize> {
        self.position(|stations| matches!(stations, Plan::Words(_)))
    }

    /// The deviations at each target, taken from one side.
    fn approached(&self, side: &str) -> Result<Vec<Vec<Real>>, Cell> {
        if let Some(missing) = Cell::gravest(&self.argument.cells).filter(|_| self.argument.axes.is_empty()) {
            return Err(missing.clone());
        }
        let taken = match self.approaches().and_then(|at| Some((at, self.argument.axes.get(at)?))) {
            Some((at, axis)) => {
                let station = axis.stations.iter().position(|station| &*station.name == side);
                let station =
                    station.ok_or_else(|| Cell::invalid(format!("there is no approach from {side}")))?;
                Rc::new(layout::at(self.argument, at, station))
            }
            None => self.argument.clone(),
        };
        let runs = self.position(|stations| matches!(stations, Plan::Repeat { .. }));
        let runs = runs.and_then(|at| self.argument.axes.get(at));
        let runs = runs.and_then(|runs| taken.axes.iter().position(|axis| axis.axis == runs.axis));
        let Some(runs) = runs else { return Err(Cell::invalid("there are no runs to compare")) };
        let gathered = layout::gather(&taken, &[runs], false);
        let target = |group: Vec<&Cell>| {
            let left = self.taking_part(&group, Needs::AtLeast(2))?;
            if left.len() < RUNS {
                self.evaluator.note(format!("{} runs; ISO 230-2 asks for {RUNS}", left.len()).into());
            }
            numbers(&left.iter().filter_map(|at| group.get(*at).copied()).collect::<Vec<_>>())
        };
        gathered.groups().map(target).collect()
    }
}

fn one_way(function: Function, targets: &[Vec<Real>], edition: Edition) -> Result<Real, Fault> {
    let found = metrology::one_way(targets, edition)?;
    match function {
        Function::Accuracy => Ok(found.accuracy),
        Function::Repeatability => Ok(found.repeatability),
        _ => Ok(found.systematic_deviation),
    }
}

fn two_way(function: Function, targets: &[Target], edition: Edition) -> Result<Real, Fault> {
    let found = metrology::two_way(targets, edition)?;
    Ok(match function {
        Function::Accuracy => found.accuracy,
        Function::Repeatability => found.repeatability,
        Function::SystematicDeviation => found.systematic_deviation,
        Function::MeanDeviationRange => found.mean_deviation_range,
        _ => found.reversal_value,
    })
}

impl Along<'_> {
    /// Greatest less least deviation over all places, or in the worst stretch of a length.
    pub(super) fn lead_error(&self, window: &[Rc<Laid>]) -> Rc<Laid> {
        let found = match window.first().map(|window| window.as_single()) {
            None => self.placed(Needs::AtLeast(2), |_, deviations| metrology::range(deviations)),
            Some(cell) => match cell.as_number() {
                Some(length) => self.placed(Needs::AtLeast(2), |places, deviations| {
                    let worst = metrology::worst_window(places, deviations, length, metrology::Rule::Spread)?;
                    if worst.shortened {
                        self.evaluator
                            .note("the places span less than that length: judged over all of them".into());
                    }
                    Ok(worst.value)
                }),
                None => Err(cell),
            },
        };
        found.unwrap_or_else(one)
    }
}
