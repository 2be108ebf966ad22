//! What expressions see of a state: the entries of one try of the step in question, and of every other step the try
//! that stood beside it.

use std::rc::Rc;

use crate::check::program::{AxisId, JudgementId, Program, Remeasure, Role, StepId, ValueId};
use crate::quantity::{Rational, Real};

use super::brought::Earlier;
use super::eval::Evaluator;
use super::scope::{Scope, SetUp, Taken};
use super::state::{Attempt, Move, Sheet, State, StepState};
use super::value::{Cell, Laid, Scalar, Station};
use super::verdict::Verdict;

#[derive(Debug)]
pub struct View<'a> {
    pub program: &'a Program,
    pub state: &'a State,
    /// The step and the index of the try that is looked at. None: the latest of all.
    pub focus: Option<(StepId, usize)>,
    /// What an adjustment is taken to have been moved by, for predictions.
    pub moved: Option<(ValueId, Laid)>,
    /// Of the series of the step looked at only what a look back over this span needs, in seconds.
    pub tail: Option<Rational>,
}

impl<'a> View<'a> {
    pub fn latest(program: &'a Program, state: &'a State) -> Self {
        Self { program, state, focus: None, moved: None, tail: None }
    }

    pub fn of(program: &'a Program, state: &'a State, step: StepId, attempt: usize) -> Self {
        Self { program, state, focus: Some((step, attempt)), moved: None, tail: None }
    }

    /// The try of a step that counts here: of the step looked at its own, of any other the last one that was open
    /// before the next try of the step looked at began.
    pub fn attempt(&self, step: StepId) -> Option<&'a Attempt> {
        let attempts = &self.state.steps.get(step.0)?.attempts;
        match self.focus {
            Some((own, index)) if own == step => attempts.get(index),
            Some((own, index)) => {
                let next = self.state.steps.get(own.0)?.attempts.get(index + 1);
                let until = next.map_or(u64::MAX, |next| next.opened);
                attempts.iter().rev().find(|attempt| attempt.opened < until)
            }
            None => attempts.last(),
        }
    }

    /// The set-up of a set. The first try of a step that keeps another's set-up, after the last try of that one, is
    /// taken in it; a remeasure or a further try begins one of its own.
    fn set_up(&self, step: StepId, attempt: &Attempt, set: u32) -> SetUp {
        let mut found = SetUp { step: Some(step), attempt: attempt.number, set };
        let (mut step, mut opened) = (step, attempt.opened);
        // Each link goes to an earlier try, so that the chain ends.
        while set == 1
            && let Some((kept, _)) = self.program.steps.get(step.0).and_then(|it| it.keeps.first())
        {
            let before = |it: &&Attempt| it.opened < opened;
            let tries = |of: StepId| self.state.steps.get(of.0).map(|own| own.attempts.as_slice());
            let Some(base) = tries(*kept).and_then(|all| all.iter().rev().find(before)) else { break };
            let again = tries(step)
                .unwrap_or_default()
                .iter()
                .any(|it| it.opened > base.opened && it.opened < opened);
            if again || self.state.given_up.iter().any(|(_, of)| of == kept) {
                break;
            }
            found = SetUp { step: Some(*kept), attempt: base.number, set: 1 };
            (step, opened) = (*kept, base.opened);
        }
        found
    }

    /// What the record before says of each answer, over the stations of now.
    fn laid_before(&self, result: ValueId, earlier: &Earlier, of: &[Cell]) -> Option<Laid> {
        let value = self.program.values.get(result.0)?;
        let axes = match Evaluator::new(self.program, self).layout(&value.axes) {
            Ok(axes) => axes,
            Err(missing) => return Some(Laid::single(missing)),
        };
        let places = Sheet::new(1, axes.clone());
        let count = places.cells.len();
        if earlier.stations.is_empty() {
            return (of.len() == count).then(|| Laid { axes, cells: of.to_vec() });
        }
        let elsewhere = || Cell::NotRead("not read there for the record before".into());
        let at = |cell: usize| of.get(earlier.place_of(&places.stations(cell))?);
        let found: Vec<Option<&Cell>> = (0..count).map(at).collect();
        let any = found.iter().any(Option::is_some);
        let cells = found.into_iter().map(|cell| cell.cloned().unwrap_or_else(elsewhere)).collect();
        any.then_some(Laid { axes, cells })
    }

    fn entered_in_step(&self, step: StepId, value: ValueId) -> Option<Laid> {
        let role = &self.program.values.get(value.0)?.role;
        if let Role::Adjustment { .. } = role {
            return self.amount_moved(step, value);
        }
        let attempt = self.attempt(step)?;
        let mean = matches!(role, Role::Reading(reading) if reading.remeasure == Remeasure::Mean);
        if mean {
            return mean_of_sets(attempt, value);
        }
        let sheet = attempt.sheet(value)?;
        match &sheet.run {
            // Before its first row a series is not laid out.
            Some(_) if sheet.row_count() == 0 => None,
            Some(_) => Some(sheet.laid_from(self.first_row(step, sheet))),
            None => Some(sheet.laid()),
        }
    }

    fn first_row(&self, step: StepId, sheet: &Sheet) -> usize {
        let in_focus = self.focus.is_some_and(|(own, _)| own == step);
        self.tail.as_ref().filter(|_| in_focus).map_or(0, |span| sheet.first_row_within(span))
    }

    /// The sheet of a series that counts here.
    fn series(&self, reading: ValueId) -> Option<(StepId, &'a Sheet)> {
        let step = self.program.values.get(reading.0)?.step?;
        Some((step, self.attempt(step)?.sheet(reading)?))
    }

    /// What was moved since the try that is looked at, added up.
    fn amount_moved(&self, step: StepId, value: ValueId) -> Option<Laid> {
        if let Some((_, laid)) = self.moved.as_ref().filter(|(adjustment, _)| *adjustment == value) {
            return Some(laid.clone());
        }
        let since = self.attempt(step).map_or(0, |attempt| attempt.opened);
        let moves: Vec<&Move> =
            self.state.moves_since(since).filter(|it| it.adjustment == Some(value)).collect();
        (!moves.is_empty()).then(|| self.laid_moves(value, &moves))
    }

    /// Moves of one adjustment added up at each of its places; nothing moved is zero.
    pub fn laid_moves(&self, value: ValueId, moves: &[&Move]) -> Laid {
        let axes = self.program.values.get(value.0).map(|it| it.axes.clone()).unwrap_or_default();
        let axes = match Evaluator::new(self.program, self).layout(&axes) {
            Ok(axes) => axes,
            Err(cell) => return Laid::single(cell),
        };
        let places = Sheet::new(1, axes.clone());
        let mut totals = vec![Real::zero(); places.cells.len()];
        for moved in moves {
            let place = places.index_of(&moved.stations).and_then(|index| totals.get_mut(index));
            if let (Some(total), Some(Cell::Known(Scalar::Number(amount)))) = (place, &moved.amount) {
                *total = &*total + amount;
            }
        }
        Laid { axes, cells: totals.into_iter().map(Cell::number).collect() }
    }
}

fn mean_of_sets(attempt: &Attempt, value: ValueId) -> Option<Laid> {
    let sets: Vec<Laid> = attempt.live_sheets(value).map(|sheet| sheet.laid()).collect();
    let first = sets.first()?;
    let count = Real::Exact(Rational::from_integer(sets.len().into()));
    let mut mean = first.clone();
    for (index, cell) in mean.cells.iter_mut().enumerate() {
        let numbers: Option<Vec<&Real>> = sets
            .iter()
            .map(|set| match set.cells.get(index) {
                Some(Cell::Known(Scalar::Number(number))) => Some(number),
                _ => None,
            })
            .collect();
        *cell = match numbers {
            Some(numbers) => {
                let sum = numbers.into_iter().fold(Real::zero(), |sum, number| &sum + number);
                sum.div(&count).map_or(Cell::Awaited, Cell::number)
            }
            // One that is not a number in some set: that is what there is.
            None => sets
                .iter()
                .rev()
                .filter_map(|set| set.cells.get(index))
                .find(|cell| !cell.is_known())
                .cloned()
                .unwrap_or(Cell::Awaited),
        };
    }
    Some(mean)
}

impl<'a> Scope for View<'a> {
    fn entered(&self, value: ValueId) -> Option<Laid> {
        match self.program.values.get(value.0)?.step {
            None => self.state.facts.get(&value).map(|answered| Laid::single(answered.cell.clone())),
            Some(step) => self.entered_in_step(step, value),
        }
    }

    fn listed(&self, axis: AxisId) -> Option<Vec<Rc<str>>> {
        let of_focus = self.focus.and_then(|(step, _)| self.attempt(step)?.lists.get(&axis).cloned());
        // A list is made once and used by every step that is laid out over the same axis, and in its next tries.
        of_focus.or_else(|| {
            let tries = |step: &'a StepState| step.attempts.iter().rev().find_map(|it| it.lists.get(&axis));
            let own = self.focus.and_then(|(step, _)| tries(self.state.steps.get(step.0)?));
            own.or_else(|| self.state.steps.iter().find_map(tries)).cloned()
        })
    }

    fn taken(&self, reading: ValueId) -> Vec<Taken> {
        let Some(value) = self.program.values.get(reading.0) else { return vec![Taken::default()] };
        let Role::Reading(plan) = &value.role else { return vec![Taken::default()] };
        let attempt = value.step.and_then(|step| Some((step, self.attempt(step)?)));
        let mut taken: Vec<Taken> = Vec::new();
        if let Some((step, attempt)) = attempt {
            let sheets: Vec<&Sheet> = attempt.live_sheets(reading).filter(|sheet| sheet.filled > 0).collect();
            let counting = if plan.remeasure == Remeasure::Mean { 0 } else { sheets.len().saturating_sub(1) };
            taken.extend(sheets.iter().skip(counting).map(|sheet| Taken {
                used: sheet.instrument.clone(),
                set_up: self.set_up(step, attempt, sheet.set),
                parts: sheet.parts(),
            }));
        }
        if taken.is_empty() {
            let set_up = SetUp { step: value.step, attempt: 1, set: 1 };
            taken.push(Taken { used: self.state.in_use(&plan.instruments), set_up, parts: None });
        }
        taken
    }

    fn rows(&self, reading: ValueId) -> Option<Vec<Station>> {
        let (step, sheet) = self.series(reading).filter(|(_, sheet)| sheet.row_count() > 0)?;
        let from = self.first_row(step, sheet);
        Some(sheet.axes.first()?.stations.get(from..)?.to_vec())
    }

    fn is_over(&self, reading: ValueId) -> bool {
        self.series(reading).is_some_and(|(_, sheet)| sheet.is_full())
    }

    fn previous(&self, result: ValueId) -> Option<Laid> {
        let earlier = self.state.previous.get(&result)?;
        if let Some(reason) = &earlier.reason {
            return Some(Laid::single(Cell::NotRead(reason.clone())));
        }
        self.laid_before(result, earlier, &earlier.cells)
    }

    fn spread_before(&self, result: ValueId) -> Option<Laid> {
        let earlier = self.state.previous.get(&result)?;
        let stated = earlier.reason.is_none() && !earlier.expanded.is_empty();
        stated.then(|| self.laid_before(result, earlier, &earlier.expanded))?
    }

    fn failed(&self, step: StepId, judgement: JudgementId) -> Option<bool> {
        let results = self.attempt(step)?.results.as_ref()?;
        let judged = results.judged.iter().find(|judged| judged.judgement == judgement)?;
        match judged.verdict {
            Verdict::Failed => Some(true),
            Verdict::Waiting => None,
            _ => Some(false),
        }
    }
}
