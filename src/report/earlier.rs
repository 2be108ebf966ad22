//! What a step took from the record before, by `previous(STEP.RESULT)`.

use crate::check::program::{Expr, Judged, Node, Role, Step, ValueId};
use crate::walk::machine::Machine;

use super::labels::shown;

/// A remark for each earlier value that the rules or results of a step rest on: what it was, or that there was none.
pub(super) fn taken(machine: &Machine, step: &Step) -> Vec<String> {
    let mut wanted: Vec<ValueId> = Vec::new();
    each_expression(machine, step, &mut |expr| {
        if let Node::Previous { result, .. } = &expr.node
            && !wanted.contains(result)
        {
            wanted.push(*result);
        }
    });
    wanted.into_iter().filter_map(|id| said(machine, id)).collect()
}

fn each_expression<'p>(machine: &'p Machine, step: &'p Step, visit: &mut dyn FnMut(&'p Expr)) {
    let program = machine.program();
    for id in &step.lets {
        if let Some(Role::Let(expr)) = program.values.get(id.0).map(|value| &value.role) {
            expr.each(visit);
        }
    }
    for judgement in &step.judgements {
        judgement.when.iter().for_each(|when| when.each(visit));
        match &judgement.of {
            Judged::Tolerance { rule, .. } => rule.each(visit),
            Judged::Require(condition) => condition.each(visit),
        }
    }
    for (condition, _) in step.valid.iter().chain(&step.stops) {
        condition.each(visit);
    }
    step.only_when.iter().for_each(|condition| condition.each(visit));
}

fn said(machine: &Machine, id: ValueId) -> Option<String> {
    let program = machine.program();
    let value = program.values.get(id.0)?;
    let step = value.step.and_then(|step| program.steps.get(step.0));
    let name = step.map_or_else(|| value.name.clone(), |step| format!("{}.{}", step.name, value.name));
    let Some(earlier) = machine.state().previous.get(&id) else {
        return Some(format!("Earlier value of {name}: none was given"));
    };
    if let Some(reason) = &earlier.reason {
        return Some(format!("Earlier value of {name}: not compared, {reason}"));
    }
    let signed = value.sense.is_some();
    let answers = earlier.answers.iter().enumerate().map(|(at, answer)| {
        let said = shown(&answer.value, answer.unit.as_deref(), signed);
        match earlier.stations.get(at).filter(|stations| !stations.is_empty()) {
            Some(stations) => format!("{} {said}", super::said::spoken(&stations.join(", "))),
            None => said,
        }
    });
    Some(format!("From the record before: {name} {}", answers.collect::<Vec<_>>().join("; ")))
}
