//! Uncertainty at a tolerance: what it leaves of the plain verdict, and what is said beside it.

use std::rc::Rc;

use crate::check::program::{AxisId, Decision, Expr, Rule, ValueId, WindowBy};
use crate::metrology;
use crate::quantity::{Real, Unit};
use crate::walk::eval::{Evaluator, one};
use crate::walk::layout::{Aligned, align, without_closing};
use crate::walk::uncertainty::decide::{Certainty, Found, Held, Standing};
use crate::walk::uncertainty::{
    self, Block, COVERAGE, Drawn, Effort, Figure, FigureOf, Root, Spread, Uncertain, smooth, wording,
};
use crate::walk::value::{Cell, Laid};
use crate::walk::verdict::Verdict;

use super::limits::{Bounds, Quantities};
use super::{steady, windows};

/// How well what is judged is known.
pub(super) struct Known {
    pub spread: Spread,
    /// One figure an element of the rule; else one a cell of the value.
    pub by_element: bool,
}

impl Known {
    fn of_cells(spread: Spread) -> Self {
        Self { spread, by_element: false }
    }
}

/// A value that is judged, and the rule by which it is.
pub(super) struct Guard<'s> {
    evaluator: &'s Evaluator<'s>,
    value: ValueId,
    decision: &'s Decision,
    drawn_out: bool,
}

impl<'s> Guard<'s> {
    /// Only tolerances of the step that is judged take uncertainty into account.
    pub(super) fn of(evaluator: &'s Evaluator<'_>, value: ValueId) -> Option<Self> {
        let step = evaluator.step.filter(|_| !evaluator.partial)?;
        Some(Self {
            evaluator,
            value,
            decision: &evaluator.program.steps.get(step.0)?.decision,
            drawn_out: false,
        })
    }

    /// With as many draws as are made at all.
    pub(super) fn drawn_out(self) -> Self {
        Self { drawn_out: true, ..self }
    }

    fn effort(&self) -> Effort {
        let simple = *self.decision == Decision::Simple;
        let decided = if self.drawn_out { Effort::DrawnOut } else { Effort::Decided };
        let usual = if simple { self.evaluator.effort } else { decided };
        self.evaluator.foreseen.unwrap_or(usual)
    }

    /// How well each element is known against this rule.
    pub(super) fn of_elements(&self, rule: &Rule) -> Option<Known> {
        if self.is_of_margins(rule) {
            let smooth = smooth::is_smooth(self.evaluator.program, self.value)
                && smooth::is_smooth_rule(self.evaluator.program, rule);
            let itself = |evaluator: &Evaluator<'_>| without_closing(&evaluator.value(self.value));
            let drawn = |block: &Block<'_>| {
                block.value(self.value).filter(|it| it.axes.iter().all(|axis| !axis.closing))
            };
            return self.of_margins(FigureOf::Margins(rule), rule, smooth, &itself, &drawn);
        }
        self.of_cells().map(Known::of_cells)
    }

    /// A limit that rests on readings is not exact.
    fn is_of_margins(&self, rule: &Rule) -> bool {
        *self.decision != Decision::Simple && smooth::is_measured(self.evaluator.program, rule)
    }

    /// Where the limits rest on readings as well, it is the distance of what is judged to them that is uncertain: at each
    /// element the greater of both, if there are two.
    fn of_margins(
        &self,
        what: FigureOf,
        rule: &Rule,
        smooth: bool,
        judged: &dyn Fn(&Evaluator<'_>) -> Rc<Laid>,
        judged_drawn: &dyn Fn(&Block<'_>) -> Option<Rc<Drawn>>,
    ) -> Option<Known> {
        let margins = |evaluator: &Evaluator<'_>| {
            let value = judged(evaluator);
            let quantities = Quantities::of(evaluator, rule);
            let mut values = vec![&*value];
            values.extend(quantities.laid());
            let Ok(aligned) = align(&values) else { return one(Cell::invalid("the limits do not meet it")) };
            let cells = (0..aligned.count()).flat_map(|element| {
                let bounds = quantities.bounds(&rule.test, &aligned, element, None).unwrap_or_default();
                [bounds.lower, bounds.upper].map(|limit| {
                    let value = aligned.cell(0, element).as_number();
                    let margin = limit.and_then(|limit| Some(value? - &limit.scaled));
                    margin.map_or_else(|| Cell::invalid("there is no limit"), Cell::number)
                })
            });
            Rc::new(Laid { axes: Vec::new(), cells: cells.collect() })
        };
        let mut roots = vec![Root::Value(self.value)];
        rule.inner(&mut |inner| roots.push(Root::Expr(inner)));
        let drawn = |block: &Block<'_>| block.margins(&*judged_drawn(block)?, rule);
        let figure = Figure { value: self.value, what, roots: &roots, of: &margins, drawn: &drawn };
        let both = uncertainty::of_figure(self.evaluator, &figure, smooth, self.effort())?;
        let wider = |pair: &[Result<Rc<Uncertain>, String>]| {
            Uncertain::of_pair(pair).ok_or_else(|| "it or its limit is no number".to_owned())
        };
        let spread = Spread {
            cells: both.cells.chunks(2).map(wider).collect(),
            unstated: both.unstated,
            read: both.read,
        };
        Some(Known { spread, by_element: true })
    }

    /// The uncertainty of each cell, in the order in which they are judged.
    fn of_cells(&self) -> Option<Spread> {
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
            Spread { cells: cells.collect(), unstated: spread.unstated, read: spread.read }
        })
    }

    /// Of something that bends and is made of the value.
    fn of_figure(
        &self,
        what: FigureOf,
        rule: &Rule,
        of: &dyn Fn(&Evaluator<'_>) -> Rc<Laid>,
        drawn: &dyn Fn(&Block<'_>) -> Option<Rc<Drawn>>,
    ) -> Option<Known> {
        if self.is_of_margins(rule) {
            return self.of_margins(what, rule, false, of, drawn);
        }
        let figure = Figure { value: self.value, what, roots: &[Root::Value(self.value)], of, drawn };
        uncertainty::of_figure(self.evaluator, &figure, false, self.effort()).map(Known::of_cells)
    }

    /// The uncertainty of the spread or chord in this one window.
    pub(super) fn of_window(
        &self,
        rule: &Rule,
        found: &metrology::Window,
        by: WindowBy,
        line: usize,
    ) -> Option<Known> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            let found = windows::one_window(&value, line, &found.from, &found.to, by);
            one(found.map_or_else(|| Cell::invalid("no window was found"), Cell::number))
        };
        let what = FigureOf::Window(rule, line, [found.from.clone(), found.to.clone()]);
        let drawn = |block: &Block<'_>| {
            let value = block.value(self.value)?;
            block.window(&value, line, (&found.from, &found.to), by == WindowBy::Chord)
        };
        self.of_figure(what, rule, &figure, &drawn)
    }

    /// The uncertainty of how far it moved in the last span of a series.
    pub(super) fn of_steady(&self, axes: &[AxisId], rule: &Rule) -> Option<Known> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            steady::spreads(evaluator, axes, &value, rule).unwrap_or(value)
        };
        self.of_figure(FigureOf::Steady(rule), rule, &figure, &|_| None)
    }

    /// The uncertainty of the spread in the worst window of two lengths.
    pub(super) fn of_area(&self, rule: &Rule, length: &Expr, second: &Expr) -> Option<Known> {
        let figure = |evaluator: &Evaluator<'_>| {
            let value = without_closing(&evaluator.value(self.value));
            let (length, second) = (evaluator.single(length), evaluator.single(second));
            one(match windows::worst_area(&value, &length, &second) {
                Ok((found, _)) => Cell::number(found.value),
                Err(missing) => missing,
            })
        };
        self.of_figure(FigureOf::Area(rule), rule, &figure, &|_| None)
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
            // Where nothing is left of what is stated, or nothing is stated, nothing is known of it: zero would be believed.
            Some(Ok(uncertain)) if uncertain.variance.is_zero() => return (plain, None),
            Some(Ok(uncertain)) => uncertain.clone(),
            Some(Err(reason)) if guarded => {
                let reason = format!("its uncertainty cannot be worked out: {reason}");
                return (Verdict::Invalid(reason.into()), None);
            }
            _ => return (plain, None),
        };
        let held = Held { value, lower: bounds.lower.as_ref(), upper: bounds.upper.as_ref() };
        let found = held.decide(self.decision, &uncertain.variance, held.distribution(&uncertain));
        let Some(Found { standing, conformity, draws_leave_open }) = found else {
            let verdict = Verdict::Invalid("its limits cannot be held against its uncertainty".into());
            return (if guarded { verdict } else { plain }, None);
        };
        let decision = self.decision.clone();
        let certainty = Certainty { decision, uncertain, conformity, draws_leave_open };
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
    pub(super) fn notes(&self, known: Option<&Known>, certainty: Option<&Certainty>) -> Vec<Rc<str>> {
        let mut notes: Vec<Rc<str>> = Vec::new();
        let is_nothing = |cell: &Result<Rc<Uncertain>, String>| {
            cell.as_ref().is_ok_and(|uncertain| uncertain.variance.is_zero())
        };
        let known = known.filter(|_| *self.decision != Decision::Simple && certainty.is_none());
        match known {
            Some(known) if known.spread.unstated => notes
                .push("no reading is in it, and no uncertainty is stated: the value alone is judged".into()),
            Some(known) if known.spread.cells.iter().any(is_nothing) => notes.push(
                "nothing is left in it of what is stated, and its repeats show no scatter: the value alone is judged"
                    .into(),
            ),
            _ => {}
        }
        if let Some(certainty) = certainty.filter(|it| it.decision != Decision::Simple) {
            notes.extend(certainty.uncertain.notes.iter().map(|note| Rc::from(note.as_str())));
            let unit = self.evaluator.shown_in(self.value).map(Unit::of_differences);
            let differ = wording::disagreement(&certainty.uncertain.method, unit);
            notes.extend(differ.map(Rc::from));
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
