//! Worked examples: each is walked as a walk is, line by line, and what it expects is compared with what comes.
//!
//! A wrong example is a fault of the file like any other: at its line, what was expected, what came.

use std::collections::HashSet;
use std::rc::Rc;

use crate::check::program::{
    Act, AxisId, CrosscheckId, Example, Expect, Expr, JudgementId, Program, StateWord, StationPick, StepId,
    ValueId, WalkVerdict, Which,
};
use crate::diagnostic::{Code, Problem};
use crate::quantity::Real;
use crate::source::Span;

use super::eval::Evaluator;
use super::fold::verdict_words;
use super::layout;
use super::lines;
use super::machine::{Dialog, Machine, Reply};
use super::question::Refusal;
use super::standing::{outcome_words, state_words};
use super::text;
use super::value::{Cell, Laid, Scalar};
use super::verdict::{Agreement, Judged, Verdict};
use super::view::View;

/// Walks every example of a program. No problem: all come out as they say.
pub fn prove(program: &Rc<Program>) -> Vec<Problem> {
    program.examples.iter().flat_map(|example| walk(program, example).1).collect()
}

/// The machine at the end of one example, and what did not come out.
pub fn walk(program: &Rc<Program>, example: &Example) -> (Machine, Vec<Problem>) {
    let machine = Machine::of_example(Rc::clone(program), touched(program, example));
    let mut walker = Walker { machine, problems: Vec::new(), last: Last::Taken };
    for (act, span) in &example.lines {
        walker.line(act, *span);
    }
    walker.close_last(false, false);
    (walker.machine, walker.problems)
}

/// The steps that an example does something in.
pub(super) fn touched(program: &Program, example: &Example) -> HashSet<StepId> {
    let of_value = |value: &ValueId| program.values.get(value.0).and_then(|it| it.step);
    let step = |act: &Act| match act {
        Act::Enter { value, .. }
        | Act::Correct { value, .. }
        | Act::Remeasure { value, .. }
        | Act::Break { value, .. }
        | Act::Rejoin { value, .. }
        | Act::Adjust { adjustment: value, .. }
        | Act::Justify { adjustment: value, .. } => of_value(value),
        Act::Type { value, .. } => value.as_ref().and_then(of_value),
        Act::Confirm { step, .. }
        | Act::Again(step)
        | Act::Altered { step, .. }
        | Act::Skip { step, .. }
        | Act::Waive { step, .. }
        | Act::Held { step, .. } => Some(*step),
        Act::List { step, .. } => *step,
        _ => None,
    };
    example.lines.iter().filter_map(|(act, _)| step(act)).collect()
}

/// How the last line that did something came out.
enum Last {
    Taken,
    /// Said to be as expected already.
    Seen,
    Queried(Span, String),
    Refused(Span, Refusal),
}

struct Walker {
    machine: Machine,
    problems: Vec<Problem>,
    last: Last,
}

impl Walker {
    fn line(&mut self, act: &Act, span: Span) {
        if let Act::Expect(expect) = act {
            if let Err(problem) = self.expect(expect, span) {
                self.problems.push(problem);
            }
            return;
        }
        self.close_last(matches!(act, Act::Keep(_)), matches!(act, Act::Type { .. }));
        self.last = match self.machine.act(act.clone()) {
            Err(refusal) => Last::Refused(span, refusal),
            Ok(_) => match self.machine.queried() {
                Some(query) => Last::Queried(span, query),
                None => Last::Taken,
            },
        };
    }

    /// A refusal or a query that the example did not expect is a fault at the line that led to it.
    fn close_last(&mut self, kept: bool, typed_again: bool) {
        match std::mem::replace(&mut self.last, Last::Taken) {
            Last::Refused(span, refusal) => {
                let problem = Problem::fault(
                    Code::ExampleRefused,
                    span,
                    format!("This is refused on the walk: {}", refusal.message),
                )
                .label("refused");
                self.problems.push(match refusal.help {
                    Some(help) => problem.help(help),
                    None => {
                        problem.help("If that is what the example is to show, add a line: expect refused")
                    }
                });
            }
            Last::Queried(span, query) if !kept && !typed_again => {
                self.problems.push(
                    Problem::fault(
                        Code::ExampleQueried,
                        span,
                        format!("This is queried on the walk: {query}."),
                    )
                    .label("queried, and not taken yet")
                    .help("Add a line: expect query. Then keep \"why\", or enter it again."),
                );
            }
            _ => {}
        }
    }

    fn expect(&mut self, expect: &Expect, span: Span) -> Result<(), Problem> {
        match expect {
            Expect::Query => match &self.last {
                Last::Queried(..) => {
                    self.last = Last::Seen;
                    Ok(())
                }
                _ => Err(wrong_state(span, "a query was expected, but the line before was not queried")),
            },
            Expect::Refused => match &self.last {
                Last::Refused(..) => {
                    self.last = Last::Seen;
                    Ok(())
                }
                _ => Err(wrong_state(span, "a refusal was expected, but the line before was taken")),
            },
            Expect::Value { which, value, picks, values, within } => {
                self.expect_value(*which, *value, picks, values, within.as_ref(), span)
            }
            Expect::Step { which, step, state } => self.expect_step(*which, *step, *state, span),
            Expect::Judgement { which, step, judgement, state, window } => {
                self.expect_judgement(*which, *step, *judgement, *state, window.as_ref(), span)
            }
            Expect::Crosscheck { crosscheck, agrees } => self.expect_crosscheck(*crosscheck, *agrees, span),
            Expect::Advised { adjustment, picks, value } => {
                self.expect_advised(*adjustment, picks, value.as_ref(), span)
            }
            Expect::Predicted { result, value, within } => {
                let came = self.machine.predicted(*result).unwrap_or(Cell::Awaited);
                self.compare(*result, &came, value, within.as_ref(), span, "predicted")
            }
            Expect::Limit { step, judgement, value, within } => {
                self.expect_limit(*step, *judgement, value, within.as_ref(), span)
            }
            Expect::WithdrawnAdvice(adjustment) => {
                let moves = &self.machine.state().moves;
                let flagged = moves
                    .iter()
                    .any(|it| it.adjustment == Some(*adjustment) && it.withdrawn && !it.justified);
                match flagged {
                    true => Ok(()),
                    false => Err(wrong_state(span, "no adjustment stands on withdrawn advice here")),
                }
            }
            Expect::Joined(_) => Err(wrong_state(span, "a broken series is not joined yet: it begins again")),
            Expect::Exceptions(count) => {
                let exceptions = self.machine.standing().exceptions();
                match exceptions.len() == *count {
                    true => Ok(()),
                    false => Err(wrong_state(
                        span,
                        format!("{count} exceptions expected, {} came", exceptions.len()),
                    )
                    .help(if exceptions.is_empty() {
                        "There is none.".to_owned()
                    } else {
                        exceptions.join("; ")
                    })),
                }
            }
            Expect::Verdict(verdict) => self.expect_verdict(*verdict, span),
        }
    }

    // -------------------------------------------------------------------------------------------- values

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

    fn expect_value(
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
        let laid = match evaluator.value(value) {
            laid if picks.is_empty() => laid,
            laid => Rc::new(picked(&evaluator, &laid, program, picks).map_err(|why| wrong_state(span, why))?),
        };
        if laid.cells.len() != expected.len() {
            let name = self.full_name(value);
            let message =
                format!("{name} has {} values here, {} are expected", laid.cells.len(), expected.len());
            return Err(Problem::fault(Code::WrongResult, span, message)
                .help(format!("{name} is {}.", text::laid(&laid, program.values[value.0].unit))));
        }
        for (index, (cell, expr)) in laid.cells.iter().zip(expected).enumerate() {
            let place = layout::place(&laid.axes, index);
            let what = if place.is_empty() { String::new() } else { format!(" at {place}") };
            self.compare_with(&evaluator, value, cell, expr, within, span, &what)?;
        }
        Ok(())
    }

    fn compare(
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
        let allowed = allowed.map(|it| {
            format!(" within {}", text::cell(&it, unit.map(crate::quantity::Unit::of_differences)))
        });
        let message = format!(
            "{}{what}: expected {}{}, came {}",
            self.full_name(value),
            text::cell(&wanted, unit),
            allowed.unwrap_or_default(),
            text::cell(came, unit)
        );
        Err(Problem::fault(Code::WrongResult, span, message))
    }

    fn expect_advised(
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
                let laid = match picks {
                    [] => (**laid).clone(),
                    picks => {
                        picked(&evaluator, laid, program, picks).map_err(|why| wrong_state(span, why))?
                    }
                };
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

    fn expect_step(&self, which: Which, step: StepId, state: StateWord, span: Span) -> Result<(), Problem> {
        let standing = self.machine.standing();
        let name = &self.machine.program().steps[step.0].name;
        let came = match which {
            Which::Now | Which::AsLeft => standing.words_of(step),
            Which::AsFound => {
                let first = self.machine.state().step(step).attempts.first();
                let outcome = first.and_then(|it| it.results.as_ref()).map(|it| it.outcome);
                outcome.map_or("not reached", outcome_words).to_owned()
            }
        };
        let is_so = match state {
            StateWord::Stale => standing.is_stale(step),
            // Stale stands beside a state; only a pass is not one while it is stale.
            StateWord::Passes => came == state_words(state),
            _ => came.trim_end_matches(", stale") == state_words(state),
        };
        if is_so {
            return Ok(());
        }
        let mut problem = wrong_state(span, format!("{name}: expected {}, came {came}", state_words(state)));
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

    fn expect_judgement(
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
        if came != state_words(state) {
            return Err(wrong_state(span, format!("{name}: expected {}, came {came}", state_words(state))));
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
        let mm = Some(crate::quantity::Unit::Mm);
        let came =
            worst.map(|(from, to)| format!("from {} to {}", text::limit(&from, mm), text::limit(&to, mm)));
        let came = came.unwrap_or_else(|| "no window".to_owned());
        Err(wrong_state(span, format!("{name}: the worst window is {came}")))
    }

    fn expect_limit(
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
        let came: Vec<String> = limits.iter().map(|limit| text::limit(limit, unit)).collect();
        let came = if came.is_empty() { "no limit in force".to_owned() } else { came.join(" and ") };
        let message = format!("limit of {name}: expected {}, came {came}", text::cell(&wanted, unit));
        Err(Problem::fault(Code::WrongResult, span, message))
    }

    fn expect_crosscheck(&self, crosscheck: CrosscheckId, agrees: bool, span: Span) -> Result<(), Problem> {
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

    fn expect_verdict(&self, verdict: WalkVerdict, span: Span) -> Result<(), Problem> {
        let standing = self.machine.standing();
        let came = standing.verdict();
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
        let message = format!("verdict: expected {}, came {}", verdict_words(verdict), verdict_words(came));
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
            .map(|step| format!("{}: {}", self.machine.program().steps[step.0].name, standing.words_of(step)))
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

impl Machine {
    /// One act of an example or of a rehearsal.
    pub fn act(&mut self, act: Act) -> Result<Reply, Refusal> {
        if !matches!(act, Act::Keep(_)) {
            self.dialog = None;
        }
        match self.perform(act) {
            Ok(()) => {
                // A row that is only said back needs no Enter in an example.
                if let Some(Dialog::Take(pending)) = self.dialog.take() {
                    match pending.queries.is_empty() {
                        true => self.take(pending, "")?,
                        false => self.dialog = Some(Dialog::Take(pending)),
                    }
                }
                Ok(self.finish())
            }
            Err(refusal) => self.refuse(refusal),
        }
    }

    /// What is being queried.
    pub fn queried(&self) -> Option<String> {
        match &self.dialog {
            Some(Dialog::Take(pending)) => pending.queries.first().map(|(_, query)| query.clone()),
            _ => None,
        }
    }
}

fn wrong_state(span: Span, message: impl Into<String>) -> Problem {
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

fn value_unit(expr: &Expr) -> Option<crate::quantity::Unit> {
    match &expr.kind {
        crate::check::program::Kind::Quantity(dimension) => crate::quantity::Unit::usual(*dimension),
        _ => None,
    }
}

/// The cells at picked stations; axes that are not picked stay.
fn picked(
    evaluator: &Evaluator,
    laid: &Laid,
    program: &Program,
    picks: &[(AxisId, StationPick)],
) -> Result<Laid, String> {
    let mut laid = laid.clone();
    for (axis, pick) in picks {
        let name = &program.axes[axis.0].name;
        let at =
            laid.axes.iter().position(|it| *it.axis == **name).ok_or(format!("it has no axis {name}"))?;
        let stations = &laid.axes[at].stations;
        let station = match pick {
            StationPick::Word(word) => stations.iter().position(|it| *it.name == **word),
            StationPick::Value(expr) => {
                let cell = evaluator.single(expr);
                let wanted = cell.as_number();
                stations.iter().position(|it| {
                    it.position.as_ref().zip(wanted).is_some_and(|(it, wanted)| it.equals(wanted))
                })
            }
        };
        laid = layout::at(&laid, at, station.ok_or(format!("{name} has no such station"))?);
    }
    Ok(laid)
}
