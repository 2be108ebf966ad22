//! Uncertainty at a tolerance: what it leaves of the plain verdict, and what is said beside it.

use std::rc::Rc;

use crate::check::program::{AxisId, Decision, Rule, ValueId, WindowBy};
use crate::metrology;
use crate::quantity::{Real, Unit};
use crate::walk::eval::{Evaluator, one};
use crate::walk::layout::{Aligned, align, without_closing};
use crate::walk::uncertainty::decide::{Certainty, Held, Standing};
use crate::walk::uncertainty::{self, COVERAGE, Effort, Spread, Uncertain};
use crate::walk::value::{Cell, Laid};
use crate::walk::verdict::Verdict;

use super::limits::Bounds;
use super::{steady, windows};

/// A value that is judged, and the rule by which it is.
pub(super) struct Guard<'s> {
    evaluator: &'s Evaluator<'s>,
    value: ValueId,
    decision: &'s Decision,
}

impl<'s> Guard<'s> {
    /// Only tolerances of the step that is judged take uncertainty into account.
    pub(super) fn of(evaluator: &'s Evaluator<'_>, value: ValueId) -> Option<Self> {
        let step = evaluator.step.filter(|_| !evaluator.partial)?;
        Some(Self { evaluator, value, decision: &evaluator.program.steps.get(step.0)?.decision })
    }

    fn effort(&self) -> Effort {
        let usual = if *self.decision == Decision::Simple { Effort::Shown } else { Effort::Decided };
        self.evaluator.foreseen.unwrap_or(usual)
    }

    /// The uncertainty of each cell, in the order in which they are judged.
    pub(super) fn of_cells(&self) -> Option<Spread> {
        uncertainty::of_value(self.evaluator, self.value, self.effort()).map(|spread| {
            let value = self.evaluator.value(self.value);
            if value.axes.iter().all(|axis| !axis.closing) {
                return spread;
            }
            // The closing stations are not judged.
            let numbers = (0..value.cells.len()).filter_map(|at| i64::try_from(at).ok()).map(Real::from);
            let numbered = Laid { axes: value.axes.clone(), cells: numbers.map(Cell::number).collect() };
            let kept = without_closing(&Rc::new(numbered));
            let cells = kept
                .cells
                .iter()
                .filter_map(|cell| spread.cells.get(cell.as_number()?.to_f64() as usize).cloned());
            Spread { cells: cells.collect(), unstated: spread.unstated }
        })
    }

    /// The uncertainty of the spread or chord in this one window.
    pub(super) fn of_window(&self, window: &metrology::Window, by: WindowBy, line: usize) -> Option<Spread> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            let found = windows::one_window(&value, line, &window.from, &window.to, by);
            one(found.map_or_else(|| Cell::invalid("no window was found"), Cell::number))
        };
        uncertainty::of_figure(self.evaluator, self.value, &figure, false, self.effort())
    }

    /// The uncertainty of how far it moved in the last span of a series.
    pub(super) fn of_steady(&self, axes: &[AxisId], rule: &Rule) -> Option<Spread> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            steady::spreads(evaluator, axes, &value, rule).unwrap_or(value)
        };
        uncertainty::of_figure(self.evaluator, self.value, &figure, false, self.effort())
    }

    /// The uncertainty of the spread in the worst window of two lengths.
    pub(super) fn of_area(&self, length: &Cell, second: &Cell) -> Option<Spread> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            one(match windows::worst_area(&value, length, second) {
                Ok((found, _)) => Cell::number(found.value),
                Err(missing) => missing,
            })
        };
        uncertainty::of_figure(self.evaluator, self.value, &figure, false, self.effort())
    }

    /// The verdict with the uncertainty taken into account. A value that is not there, or open-ended, is judged as ever.
    pub(super) fn settle(
        &self,
        plain: Verdict,
        cell: &Cell,
        bounds: &Bounds,
        uncertain: Option<&Result<Rc<Uncertain>, String>>,
        unit: Option<Unit>,
    ) -> (Verdict, Option<Certainty>) {
        let (Some(value), Verdict::Passed | Verdict::Failed) = (cell.as_number(), &plain) else {
            return (plain, None);
        };
        let guarded = *self.decision != Decision::Simple && self.evaluator.foreseen.is_none();
        let uncertain = match uncertain {
            Some(Ok(uncertain)) => uncertain.clone(),
            Some(Err(reason)) if guarded => {
                let reason = format!("its uncertainty cannot be worked out: {reason}");
                return (Verdict::Invalid(reason.into()), None);
            }
            _ => return (plain, None),
        };
        let held = Held { value, lower: bounds.lower.as_ref(), upper: bounds.upper.as_ref() };
        let Some((standing, conformity)) = held.decide(self.decision, &uncertain.variance) else {
            let verdict = Verdict::Invalid("its limits cannot be held against its uncertainty".into());
            return (if guarded { verdict } else { plain }, None);
        };
        let certainty = Certainty { decision: self.decision.clone(), uncertain, conformity };
        if !guarded {
            return (plain, Some(certainty));
        }
        let verdict = match standing {
            Standing::Conforms => Verdict::Passed,
            Standing::DoesNot => Verdict::Failed,
            Standing::NeitherProven => Verdict::Undecided(held.advice(&certainty, unit).into()),
        };
        (verdict, Some(certainty))
    }

    /// What is said beside a verdict.
    pub(super) fn notes(&self, spread: Option<&Spread>, certainty: Option<&Certainty>) -> Vec<Rc<str>> {
        let mut notes: Vec<Rc<str>> = Vec::new();
        if *self.decision != Decision::Simple && spread.is_some_and(|spread| spread.unstated) {
            notes.push("no reading is in it, and no uncertainty is stated: the value alone is judged".into());
        }
        if let Some(certainty) = certainty.filter(|it| it.decision != Decision::Simple) {
            notes.extend(certainty.uncertain.notes.iter().map(|note| Rc::from(note.as_str())));
        }
        notes
    }
}

/// The margin that is left when U is taken off, to find the element that settles a verdict.
pub(super) fn less_uncertainty(margin: Real, certainty: Option<&Certainty>) -> Real {
    match certainty.filter(|it| it.decision != Decision::Simple) {
        Some(certainty) => {
            let expanded = Real::approximate(COVERAGE as f64 * certainty.uncertain.u(), 0.0);
            expanded.map_or(margin.clone(), |expanded| &margin - &expanded)
        }
        None => margin,
    }
}

/// Which cell of the value an element of `aligned` shows.
pub(super) fn place_in(value: &Laid, aligned: &Aligned<'_>) -> impl Fn(usize) -> usize + use<> {
    let numbers = (0..value.cells.len()).filter_map(|at| i64::try_from(at).ok()).map(Real::from);
    let numbered = Laid { axes: value.axes.clone(), cells: numbers.map(Cell::number).collect() };
    let wider = Laid::filled(aligned.axes.clone(), Cell::Awaited);
    let places: Vec<usize> = align(&[&wider, &numbered])
        .map(|both| {
            let place =
                |element: usize| both.cell(1, element).as_number().map_or(0, |at| at.to_f64() as usize);
            (0..both.count()).map(place).collect()
        })
        .unwrap_or_default();
    move |element| places.get(element).copied().unwrap_or(element)
}
