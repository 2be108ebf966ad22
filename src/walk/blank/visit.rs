//! What to know before a visit: in which order set-ups follow each other, and how long it takes.
//!
//! Waits and series are as long as the procedure says. The rest is an estimate from what is to be done, by figures that
//! are common practice without a source; whoever prints the list says so beside it.

use crate::check::program::{Program, StepId};

use super::items::{Answer, AxisForm, ItemForm};
use super::{Blank, StepForm};

/// Seconds for each, by common practice, no source.
pub const NEW_SET_UP: u64 = 10 * 60;
pub const KEPT_SET_UP: u64 = 2 * 60;
pub const READING: u64 = 20;
pub const ANSWER: u64 = 15;

#[derive(Clone, Debug, Default)]
pub struct Visit {
    /// In the order in which they are best taken.
    pub set_ups: Vec<SetUp>,
    /// The order differs from that of the file, in which the walk asks.
    pub other_order: bool,
    pub effort: Effort,
}

/// Steps that share one set-up.
#[derive(Clone, Debug, Default)]
pub struct SetUp {
    pub steps: Vec<String>,
    pub title: String,
    pub effort: Effort,
    pub powered: bool,
    /// Who is needed besides the operator.
    pub people: Vec<String>,
}

/// Times in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    pub readings: u64,
    pub answers: u64,
    /// By the procedure, exactly.
    pub waits: u64,
    /// Series at their longest.
    pub series: u64,
    /// Some series may end earlier.
    pub may_end: bool,
    /// Set-ups, readings and answers, by common practice.
    pub estimated: u64,
}

impl Effort {
    fn and(self, other: Effort) -> Effort {
        Effort {
            readings: self.readings + other.readings,
            answers: self.answers + other.answers,
            waits: self.waits + other.waits,
            series: self.series + other.series,
            may_end: self.may_end || other.may_end,
            estimated: self.estimated + other.estimated,
        }
    }

    pub fn total(&self) -> u64 {
        self.waits + self.series + self.estimated
    }
}

impl Blank<'_> {
    pub(super) fn visit(&self, steps: &[StepForm], taken: &[bool]) -> Visit {
        let order = order(self.program, taken);
        let in_file: Vec<StepId> = (0..steps.len()).filter(|it| taken[*it]).map(StepId).collect();
        let mut set_ups: Vec<(StepId, SetUp)> = Vec::new();
        for step in &order {
            let (root, form) = (root(self.program, *step, taken), &steps[step.0]);
            let people = form.by.iter().chain(form.holds.iter().map(|(who, _)| who));
            let is_new = set_ups.last().is_none_or(|(last, _)| *last != root);
            if is_new {
                let title = steps[root.0].title.clone();
                set_ups.push((root, SetUp { title, ..SetUp::default() }));
            }
            let Some((_, set_up)) = set_ups.last_mut() else { continue };
            set_up.steps.push(form.name.clone());
            set_up.powered |= form.powered;
            for person in people {
                if !set_up.people.contains(person) {
                    set_up.people.push(person.clone());
                }
            }
            set_up.effort = set_up.effort.and(self.effort(*step, form, is_new));
        }
        let set_ups: Vec<SetUp> = set_ups.into_iter().map(|(_, set_up)| set_up).collect();
        let effort = set_ups.iter().fold(Effort::default(), |sum, it| sum.and(it.effort));
        Visit { set_ups, other_order: order != in_file, effort }
    }

    fn effort(&self, step: StepId, form: &StepForm, is_new: bool) -> Effort {
        let mut effort = Effort::default();
        for (seconds, _) in &self.program.steps[step.0].waits {
            effort.waits += u64::try_from(seconds.to_integer()).unwrap_or(0);
        }
        for item in &form.items {
            match &item.series {
                Some(series) => {
                    effort.series += series.at_most_seconds;
                    effort.may_end |= series.until.is_some();
                }
                None => {
                    let count = cells(item);
                    match item.answer {
                        Answer::Number { .. } => effort.readings += count,
                        _ => effort.answers += count,
                    }
                }
            }
        }
        effort.answers += (form.confirms.len() + form.holds.len() + form.by.len()) as u64;
        let readings = effort.readings > 0 || effort.series > 0;
        let set_up = match (is_new, readings && !form.setup.is_empty()) {
            (true, true) => NEW_SET_UP,
            (false, true) => KEPT_SET_UP,
            _ => 0,
        };
        effort.estimated = set_up + effort.readings * READING + effort.answers * ANSWER;
        effort
    }
}

/// How many values are written down.
pub(super) fn cells(item: &ItemForm) -> u64 {
    item.axes.iter().map(|axis: &AxisForm| axis.stations.len().max(1) as u64).product()
}

/// The step whose set-up this one is read in, through whatever it keeps.
fn root(program: &Program, step: StepId, taken: &[bool]) -> StepId {
    let mut found = step;
    // A step keeps the set-up of an earlier one, so that the chain ends; a file that goes round is not checked.
    for _ in 0..program.steps.len() {
        match program.steps[found.0].keeps.first() {
            Some((kept, _)) if taken[kept.0] => found = *kept,
            _ => break,
        }
    }
    found
}

/// Each step after what it needs; where the set-up that stands can be kept, that step first.
fn order(program: &Program, taken: &[bool]) -> Vec<StepId> {
    let mut left: Vec<StepId> = (0..program.steps.len()).map(StepId).filter(|it| taken[it.0]).collect();
    let mut order: Vec<StepId> = Vec::new();
    while !left.is_empty() {
        let done = |it: &StepId| order.contains(it) || !taken[it.0];
        let is_ready = |it: &StepId| {
            let step = &program.steps[it.0];
            step.needs.iter().all(|need| done(&need.step)) && step.uses.iter().all(done)
        };
        let standing = order.last().map(|last| root(program, *last, taken));
        let keeps = |it: &&StepId| standing == Some(root(program, **it, taken));
        let next = left.iter().filter(|it| is_ready(it)).find(keeps);
        let next = next.or_else(|| left.iter().find(|it| is_ready(it))).or(left.first()).copied();
        let Some(next) = next else { break };
        left.retain(|it| *it != next);
        order.push(next);
    }
    order
}
