//! What the walk knows beyond its events: the stations that each result is laid out over, and where the window lies that
//! settled a rule.

use crate::check::program::StepId;
use crate::quantity::record_text;
use crate::walk::machine::Machine;
use crate::walk::value::Stations;
use crate::walk::verdict::StepResults;

use super::build::Builder;
use super::model::{AxisPart, StationPart, Try};

impl Builder<'_> {
    /// Fills in the stations and windows of every try, from the walk as the lines left it.
    pub(super) fn lay_out(&mut self, machine: &Machine) {
        for (index, step) in machine.program().steps.iter().enumerate() {
            let at = self.step(&step.name);
            let Some(part) = self.report.steps.get_mut(at) else { continue };
            let state = machine.state().step(StepId(index));
            for attempt in &mut part.tries {
                let found = state.attempts.iter().find(|it| it.number == attempt.number);
                if let Some(results) = found.and_then(|found| found.results.as_ref()) {
                    of_try(machine, results, attempt);
                }
            }
        }
    }
}

fn of_try(machine: &Machine, results: &StepResults, attempt: &mut Try) {
    for (id, laid) in &results.values {
        let Some(value) = machine.program().values.get(id.0) else { continue };
        if let Some(result) = attempt.results.iter_mut().find(|it| it.line.name == value.name) {
            result.axes = laid.axes.iter().map(|axis| axis_part(axis)).collect();
        }
    }
    // The rules of the record stand in the order in which they were judged.
    for (held, judged) in attempt.rules.iter_mut().zip(&results.judged) {
        held.window = judged.window.as_ref().map(|(from, to)| (record_text(from), record_text(to)));
    }
}

fn axis_part(axis: &Stations) -> AxisPart {
    let station = |station: &crate::walk::value::Station| StationPart {
        name: station.name.to_string(),
        position: station.position.as_ref().map(record_text),
    };
    AxisPart { name: axis.axis.to_string(), stations: axis.stations.iter().map(station).collect() }
}
