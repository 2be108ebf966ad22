//! What a worked example expects, compared with what came: values, states, limits, advice, the verdict.

use std::rc::Rc;

use crate::check::program::{
    AxisId, CrosscheckId, Expr, JudgementId, Kind, StateWord, StationPick, StepId, ValueId, WalkVerdict,
    Which,
};
use crate::diagnostic::{Code, Problem};
use crate::quantity::{Real, Unit};
use crate::source::Span;

use super::eval::Evaluator;
use super::examples::Walker;
use super::layout;
use super::lines;
use super::stand::Stand;
use super::text;
use super::uncertainty::{self, Effort};
use super::value::{Cell, Laid, Scalar};
use super::verdict::{Agreement, Judged, Outcome, Verdict};
use super::view::View;

impl Walker {
    fn attempt(&self, which: Which, step: StepId) -> Option<usize> {
        let last = self.machine.state().step(step).attempts.len().checked_sub(1)?;
        Some(if which == Which::AsFound { 0 } else { last })
    }

    fn view(&self, which: Which, step: Option<StepId>) -> View<'_> {
        let (program, state) = (self.machine.program(), self.machine.state());
        match step.and_then(|step| Some((step, self.attempt(which, step)?))) {
            Some((step, attempt)) => View::of(program, state, step, attempt),
            None => View::latest(program, state),
        }
    }

    pub(super) fn expect_value(
        &self,
        which: Which,
        value: ValueId,
        picks: &[(AxisId, StationPick)],
        expected: &[Expr],
        within: Option<&Expr>,
        span: Span,
    ) -> Result<(), Problem> {
        let program = self.machine.program();
        let view = self.view(which, program.values[value.0].step);
        let evaluator = Evaluator::new(program, &view);
        let laid = evaluator.pick(evaluator.value(value), picks);
        // Beyond the end of a survey's line there is nothing to expect.
        let there = |(_, cell): &(usize, &Cell)| laid.axes.is_empty() || !cell.is_no_element();
        let cells: Vec<(usize, &Cell)> = laid.cells.iter().enumerate().filter(there).collect();
        let cells =
            if cells.len() == expected.len() { cells } else { laid.cells.iter().enumerate().collect() };
        if cells.len() != expected.len() {
            let name = self.full_name(value);
            let message = format!("{name} has {} values here, {} are expected", cells.len(), expected.len());
            return Err(Problem::fault(Code::WrongResult, span, message)
                .help(format!("{name} is {}.", text::laid(&laid, program.values[value.0].unit))));
        }
        for ((index, cell), expr) in cells.into_iter().zip(expected) {
            let place = layout::place(&laid.axes, index);
            let what = if place.is_empty() { String::new() } else { format!(" at {place}") };
            self.compare_with(&evaluator, value, cell, expr, within, span, &what)?;
        }
        Ok(())
    }

    pub(super) fn compare(
        &self,
        value: ValueId,
        came: &Cell,
        expected: &Expr,
        within: Option<&Expr>,
        span: Span,
        what: &str,
    ) -> Result<(), Problem> {
        let view = View::latest(self.machine.program(), self.machine.state());
        let evaluator = Evaluator::new(self.machine.program(), &view);
        self.compare_with(&evaluator, value, came, expected, within, span, &format!(" {what}"))
    }

    #[allow(clippy::too_many_arguments)]
    fn compare_with(
        &self,
        evaluator: &Evaluator,
        value: ValueId,
        came: &Cell,
        expected: &Expr,
        within: Option<&Expr>,
        span: Span,
        what: &str,
    ) -> Result<(), Problem> {
        let wanted = evaluator.single(expected);
        let allowed = within.map(|within| evaluator.single(within));
        if same(came, &wanted, allowed.as_ref()) {
            return Ok(());
        }
        let unit = self.machine.program().values[value.0].unit;
        let (wanted, came) = text::wanted_and_came(&wanted, allowed.as_ref(), came, unit);
        let message = format!("{}{what}: expected {wanted}, came {came}", self.full_name(value));
        Err(Problem::fault(Code::WrongResult, span, message))
    }

    pub(super) fn expect_advised(
        &self,
        adjustment: ValueId,
        picks: &[(AxisId, StationPick)],
        value: Option<&(Expr, Option<Expr>)>,
        span: Span,
    ) -> Result<(), Problem> {
        let program = self.machine.program();
        let step = program.values[adjustment.0].step;
        let results = step.and_then(|step| self.machine.state().step(step).attempt()?.results.clone());
        let advised = results.as_ref().and_then(|results| {
            results.remedies.iter().flat_map(|it| &it.advised).find(|(id, _)| *id == adjustment)
        });
        let name = self.full_name(adjustment);
        match (advised, value) {
            (None, None) => Ok(()),
            (None, Some(_)) => Err(wrong_state(span, format!("{name} is not advised here"))),
            (Some((_, laid)), None) => {
                let amount = text::laid(laid, program.values[adjustment.0].unit);
                Err(wrong_state(span, format!("{name} is advised here: {amount}")))
            }
            (Some((_, laid)), Some((expected, within))) => {
                let view = self.view(Which::Now, step);
                let evaluator = Evaluator::new(program, &view);
                let laid = evaluator.pick(Rc::clone(laid), picks);
                self.compare_with(
                    &evaluator,
                    adjustment,
                    &laid.as_single(),
                    expected,
                    within.as_ref(),
                    span,
                    " advised",
                )
            }
        }
    }

    // -------------------------------------------------------------------------------------------- states

    pub(super) fn expect_step(
        &self,
        which: Which,
        step: StepId,
        state: StateWord,
        span: Span,
    ) -> Result<(), Problem> {
        let standing = self.machine.standing();
        let name = &self.machine.program().steps[step.0].name;
        let came = match which {
            Which::Now | Which::AsLeft => standing.stand_of(step),
            Which::AsFound => {
                let first = self.machine.state().step(step).attempts.first();
                let outcome = first.and_then(|it| it.results.as_ref()).map(|it| it.outcome);
                Stand { state: outcome.map_or(StateWord::NotReached, Outcome::state), stale: false }
            }
        };
        let is_so = match state {
            StateWord::Stale => standing.is_stale(step),
            // Stale stands beside a state; only a pass is not one while it is stale.
            StateWord::Passes => came == Stand { state, stale: false },
            _ => came.state == state,
        };
        if is_so {
            return Ok(());
        }
        let mut problem = wrong_state(span, format!("{name}: expected {}, came {came}", state.words()));
        let results = self
            .attempt(which, step)
            .and_then(|it| self.machine.state().step(step).attempts.get(it)?.results.clone());
        let why: Vec<String> =
            results.iter().flat_map(|it| &it.judged).filter_map(|it| self.rule_in_words(step, it)).collect();
        if !why.is_empty() {
            problem = problem.help(why.join("; "));
        } else if let Some(why) = standing.why_not(step, 0) {
            problem = problem.help(why);
        }
        Err(problem)
    }

    fn rule_in_words(&self, step: StepId, judged: &Judged) -> Option<String> {
        let judgement = self.machine.program().steps[step.0].judgements.get(judged.judgement.0)?;
        let reason = match &judged.verdict {
            Verdict::Invalid(reason) | Verdict::Undecided(reason) => format!(" ({reason})"),
            _ => String::new(),
        };
        Some(format!("{} {}{reason}", judgement.name, lines::verdict_words(&judged.verdict)))
    }

    fn judged(&self, which: Which, step: StepId, judgement: JudgementId) -> Option<Judged> {
        let attempt = self.attempt(which, step)?;
        let results = self.machine.state().step(step).attempts.get(attempt)?.results.as_ref()?;
        results.judged.iter().find(|it| it.judgement == judgement).cloned()
    }

    pub(super) fn expect_judgement(
        &self,
        which: Which,
        step: StepId,
        judgement: JudgementId,
        state: StateWord,
        window: Option<&(Expr, Expr)>,
        span: Span,
    ) -> Result<(), Problem> {
        let name = &self.machine.program().steps[step.0].judgements[judgement.0].name;
        let judged = self.judged(which, step, judgement);
        let came = judged.as_ref().map_or("not reached", |it| lines::verdict_words(&it.verdict));
        if came != state.words() {
            return Err(wrong_state(span, format!("{name}: expected {}, came {came}", state.words())));
        }
        let Some((from, to)) = window else { return Ok(()) };
        let view = self.view(which, Some(step));
        let evaluator = Evaluator::new(self.machine.program(), &view);
        let wanted = [evaluator.single(from), evaluator.single(to)];
        let worst = judged.and_then(|it| it.window);
        let is_so = worst.as_ref().is_some_and(|(from, to)| {
            [from, to]
                .into_iter()
                .zip(&wanted)
                .all(|(came, wanted)| wanted.as_number().is_some_and(|it| it.equals(came)))
        });
        if is_so {
            return Ok(());
        }
        let mm = Some(Unit::Mm);
        let came =
            worst.map(|(from, to)| format!("from {} to {}", text::limit(&from, mm), text::limit(&to, mm)));
        let came = came.unwrap_or_else(|| "no window".to_owned());
        Err(wrong_state(span, format!("{name}: the worst window is {came}")))
    }

    pub(super) fn expect_limit(
        &self,
        step: StepId,
        judgement: JudgementId,
        value: &Expr,
        within: Option<&Expr>,
        span: Span,
    ) -> Result<(), Problem> {
        let view = self.view(Which::Now, Some(step));
        let evaluator = Evaluator::new(self.machine.program(), &view);
        let wanted = evaluator.single(value);
        let allowed = within.map(|within| evaluator.single(within));
        let judged = self.judged(Which::Now, step, judgement);
        let limits: Vec<Real> = judged
            .iter()
            .flat_map(|it| [&it.lower, &it.upper])
            .flatten()
            .map(|limit| limit.scaled.clone())
            .collect();
        if limits.iter().any(|limit| same(&Cell::number(limit.clone()), &wanted, allowed.as_ref())) {
            return Ok(());
        }
        let name = &self.machine.program().steps[step.0].judgements[judgement.0].name;
        let unit = value_unit(value);
        let both = |limit: Real| text::wanted_and_came(&wanted, allowed.as_ref(), &Cell::number(limit), unit);
        let (expected, _) = both(Real::zero());
        let came: Vec<String> = limits.into_iter().map(|limit| both(limit).1).collect();
        let came = if came.is_empty() { "no limit in force".to_owned() } else { came.join(" and ") };
        let message = format!("limit of {name}: expected {expected}, came {came}");
        Err(Problem::fault(Code::WrongResult, span, message))
    }

    /// U of every cell, as a guarded rule uses it.
    pub(super) fn expect_uncertainty(
        &self,
        value: ValueId,
        picks: &[(AxisId, StationPick)],
        expected: &Expr,
        within: Option<&Expr>,
        span: Span,
    ) -> Result<(), Problem> {
        let program = self.machine.program();
        let view = self.view(Which::Now, program.values[value.0].step);
        let evaluator = Evaluator::new(program, &view).keeping(&self.machine.kept);
        let laid = evaluator.value(value);
        let spread = uncertainty::of_value(&evaluator, value, Effort::Decided);
        let cells = spread.iter().flat_map(|spread| &spread.cells).map(|cell| match cell {
            Ok(uncertain) => match uncertain.expanded_exact() {
                Some(expanded) => Cell::number(expanded),
                None => Cell::invalid("no number"),
            },
            Err(reason) => Cell::invalid(reason.as_str()),
        });
        let expanded = Rc::new(Laid { axes: laid.axes.clone(), cells: cells.collect() });
        let expanded = evaluator.pick(expanded, picks);
        for (index, cell) in expanded.cells.iter().enumerate() {
            let wanted = evaluator.single(expected);
            let allowed = within.map(|within| evaluator.single(within));
            if same(cell, &wanted, allowed.as_ref()) {
                continue;
            }
            let unit = evaluator.shown_in(value).map(Unit::of_differences);
            let place = layout::place(&expanded.axes, index);
            let place = if place.is_empty() { place } else { format!(" at {place}") };
            let (wanted, came) = text::wanted_and_came(&wanted, allowed.as_ref(), cell, unit);
            let message =
                format!("uncertainty U of {}{place}: expected {wanted}, came {came}", self.full_name(value));
            let mut problem = Problem::fault(Code::WrongResult, span, message);
            if let Some(Ok(uncertain)) = spread.iter().flat_map(|spread| &spread.cells).next() {
                let budget = uncertainty::wording::budget_said(uncertain, unit).join("; ");
                problem = problem.help(format!("u of each part: {budget}"));
            }
            return Err(problem);
        }
        Ok(())
    }

    pub(super) fn expect_crosscheck(
        &self,
        crosscheck: CrosscheckId,
        agrees: bool,
        span: Span,
    ) -> Result<(), Problem> {
        let name = &self.machine.program().crosschecks[crosscheck.0].name;
        let (came, is_so) = match self.machine.standing().crosscheck(crosscheck) {
            Agreement::Agree => ("it agrees".to_owned(), agrees),
            Agreement::LookAgain => ("it says look again".to_owned(), !agrees),
            Agreement::Waiting => ("it waits for its results".to_owned(), false),
            Agreement::NotApplicable => ("it does not apply".to_owned(), false),
            Agreement::Invalid(reason) => (format!("it cannot be worked out: {reason}"), false),
        };
        match is_so {
            true => Ok(()),
            false => Err(wrong_state(span, format!("{name}: {came}"))),
        }
    }

    pub(super) fn expect_verdict(&self, verdict: WalkVerdict, span: Span) -> Result<(), Problem> {
        let standing = self.machine.standing();
        let came = standing.verdict_if_closed();
        if came == verdict {
            return Ok(());
        }
        let why: Vec<String> = standing
            .open()
            .into_iter()
            .chain(standing.stale())
            .chain(standing.exceptions())
            .chain(self.not_passed())
            .collect();
        let message = format!("verdict: expected {}, came {}", verdict.words(), came.words());
        let problem = wrong_state(span, message);
        Err(if why.is_empty() { problem } else { problem.help(why.join("; ")) })
    }

    fn not_passed(&self) -> Vec<String> {
        let standing = self.machine.standing();
        let steps = (0..self.machine.program().steps.len()).map(StepId);
        steps
            .filter(|step| {
                matches!(
                    standing.state_of(*step),
                    StateWord::Fails | StateWord::Undecided | StateWord::Stopped
                )
            })
            .map(|step| format!("{}: {}", self.machine.program().steps[step.0].name, standing.stand_of(step)))
            .collect()
    }

    fn full_name(&self, value: ValueId) -> String {
        let definition = &self.machine.program().values[value.0];
        match definition.step {
            Some(step) => format!("{}.{}", self.machine.program().steps[step.0].name, definition.name),
            None => definition.name.clone(),
        }
    }
}

pub(super) fn wrong_state(span: Span, message: impl Into<String>) -> Problem {
    Problem::fault(Code::WrongState, span, message)
}

fn same(came: &Cell, wanted: &Cell, allowed: Option<&Cell>) -> bool {
    match (came, wanted) {
        (Cell::Known(Scalar::Number(came)), Cell::Known(Scalar::Number(wanted))) => {
            match allowed.and_then(Cell::as_number) {
                Some(allowed) => (came - wanted).abs().is_at_most(allowed),
                None => came.equals(wanted),
            }
        }
        (Cell::Known(came), Cell::Known(wanted)) => came == wanted,
        _ => false,
    }
}

fn value_unit(expr: &Expr) -> Option<Unit> {
    match &expr.kind {
        Kind::Quantity(dimension) => Unit::usual(*dimension),
        _ => None,
    }
}
