//! Names of the record to indices of the program and back. Built once; every look-up is by hash.

use std::collections::HashMap;

use crate::check::program::{
    AxisId, Expr, InstrumentId, Item, Node, Program, Role, Series, Stations, StepId, ValueId,
};

#[derive(Clone, Debug, Default)]
pub struct Directory {
    steps: HashMap<String, StepId>,
    values: HashMap<(Option<StepId>, String), ValueId>,
    instruments: HashMap<String, InstrumentId>,
    /// Steps whose expressions use results of this one.
    users: Vec<Vec<StepId>>,
    /// Steps that take this one a further time.
    repeats: Vec<Vec<StepId>>,
}

impl Directory {
    pub fn new(program: &Program) -> Self {
        let mut users = vec![Vec::new(); program.steps.len()];
        let mut repeats = vec![Vec::new(); program.steps.len()];
        for (index, step) in program.steps.iter().enumerate() {
            for used in &step.uses {
                if let Some(list) = users.get_mut(used.0) {
                    list.push(StepId(index));
                }
            }
            if let Some(list) = step.repeats.and_then(|of| repeats.get_mut(of.0)) {
                list.push(StepId(index));
            }
        }
        Self {
            steps: named(program.steps.iter().map(|step| &step.name), StepId),
            instruments: named(program.instruments.iter().map(|it| &it.name), InstrumentId),
            values: program
                .values
                .iter()
                .enumerate()
                .map(|(index, value)| ((value.step, value.name.clone()), ValueId(index)))
                .collect(),
            users,
            repeats,
        }
    }

    pub fn step(&self, name: &str) -> Option<StepId> {
        self.steps.get(name).copied()
    }

    pub fn value(&self, step: Option<StepId>, name: &str) -> Option<ValueId> {
        self.values.get(&(step, name.to_owned())).copied()
    }

    pub fn instrument(&self, name: &str) -> Option<InstrumentId> {
        self.instruments.get(name).copied()
    }

    pub fn users(&self, step: StepId) -> &[StepId] {
        self.users.get(step.0).map_or(&[], Vec::as_slice)
    }

    pub fn repeats(&self, step: StepId) -> &[StepId] {
        self.repeats.get(step.0).map_or(&[], Vec::as_slice)
    }
}

fn named<'a, Id>(names: impl Iterator<Item = &'a String>, id: impl Fn(usize) -> Id) -> HashMap<String, Id> {
    names.enumerate().map(|(index, name)| (name.clone(), id(index))).collect()
}

pub fn item_value(item: &Item) -> Option<ValueId> {
    match item {
        Item::Reading(value) | Item::Observation(value) => Some(*value),
        Item::Defects(_) => None,
    }
}

pub fn only_when(program: &Program, value: ValueId) -> Option<&Expr> {
    match &program.values.get(value.0)?.role {
        Role::Reading(reading) => reading.only_when.as_ref(),
        Role::Observation { only_when, .. } => only_when.as_ref(),
        _ => None,
    }
}

/// The series of a reading, or the one in whose rows an observation is asked: which reading gives the rows, and how.
pub fn series_of(program: &Program, value: ValueId) -> Option<(ValueId, &Series)> {
    let axis = program.values.get(value.0)?.axes.first()?;
    let Stations::Time { reading } = program.axes.get(axis.0)?.stations else { return None };
    match &program.values.get(reading.0)?.role {
        Role::Reading(plan) => plan.series.as_ref().map(|series| (reading, series)),
        _ => None,
    }
}

/// Whether an expression names a fact or an observation, so that a correction of it may move stations.
pub fn stations_may_move(program: &Program, axes: &[AxisId]) -> bool {
    let depends = |expr: &Expr| !matches!(expr.node, Node::Number(_) | Node::Inexact(_));
    axes.iter().filter_map(|axis| program.axes.get(axis.0)).any(|axis| match &axis.stations {
        Stations::Words(_)
        | Stations::Repeat { .. }
        | Stations::Time { .. }
        | Stations::Survey(_)
        | Stations::SurveyLines(_) => false,
        Stations::Listed { .. } => true,
        Stations::Values { values, .. } => values.iter().any(depends),
        Stations::Range { from, to, step, .. } | Stations::Stepped { from, to, step, .. } => {
            [from, to, step].into_iter().any(depends)
        }
    })
}
