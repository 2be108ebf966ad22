//! Worked examples: each is walked as a walk is, line by line, and what it expects is compared with what comes.
//!
//! A wrong example is a fault of the file like any other: at its line, what was expected, what came.

use std::collections::HashSet;
use std::rc::Rc;

use crate::check::program::{Act, Example, Expect, Item, Program, StepId, ValueId};
use crate::diagnostic::{Code, Problem, in_file_order};
use crate::source::Span;

use super::expectations::wrong_state;
use super::machine::{Dialog, Machine, Reply};
use super::question::Refusal;
use super::value::Cell;

/// Walks every example of a program. No problem: all come out as they say.
pub fn prove(program: &Rc<Program>) -> Vec<Problem> {
    let mut machine = Machine::of_example(Rc::clone(program), HashSet::new());
    let mut problems = Vec::new();
    for example in &program.examples {
        machine.begin_example(touched(program, example));
        let (after, found) = walk(machine, example);
        machine = after;
        problems.extend(found);
    }
    in_file_order(problems)
}

/// One example by itself: the machine at its end, and what did not come out.
pub fn walk_one(program: &Rc<Program>, example: &Example) -> (Machine, Vec<Problem>) {
    walk(Machine::of_example(Rc::clone(program), touched(program, example)), example)
}

/// The machine at the end of one example, and what did not come out.
fn walk(machine: Machine, example: &Example) -> (Machine, Vec<Problem>) {
    let mut walker = Walker { machine, problems: Vec::new(), last: Last::Taken };
    for (act, span) in &example.lines {
        walker.line(act, *span);
    }
    walker.close_last(false, false);
    (walker.machine, walker.problems)
}

/// The steps that an example does something in.
pub fn touched(program: &Program, example: &Example) -> HashSet<StepId> {
    example.lines.iter().filter_map(|(act, _)| step_of(program, act)).collect()
}

/// The step in which an act does something.
pub(super) fn step_of(program: &Program, act: &Act) -> Option<StepId> {
    let of_value = |value: &ValueId| program.values.get(value.0).and_then(|it| it.step);
    match act {
        Act::Enter { value, .. }
        | Act::Correct { value, .. }
        | Act::Remeasure { value, .. }
        | Act::Break { value, .. }
        | Act::Rejoin { value, .. }
        | Act::End(value)
        | Act::Adjust { adjustment: value, .. }
        | Act::Justify { adjustment: value, .. } => of_value(value),
        Act::Type { value, .. } => value.as_ref().and_then(of_value),
        Act::Stop { step, .. } => *step,
        Act::Confirm { step, .. }
        | Act::Take(step)
        | Act::Defects { step, .. }
        | Act::Again(step)
        | Act::Altered { step, .. }
        | Act::Skip { step, .. }
        | Act::Waive { step, .. }
        | Act::Held { step, .. } => Some(*step),
        Act::List { step, .. } => *step,
        _ => None,
    }
}

/// How the last line that did something came out.
#[derive(Debug)]
enum Last {
    Taken,
    /// Said to be as expected already.
    Seen,
    Queried(Span, String),
    Refused(Span, Refusal),
}

#[derive(Debug)]
pub(super) struct Walker {
    pub(super) machine: Machine,
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
            Expect::Uncertainty { value, picks, expected, within } => {
                self.expect_uncertainty(*value, picks, expected, within.as_ref(), span)
            }
            Expect::WithdrawnAdvice(adjustment) => {
                let moves = &self.machine.state().moves;
                let flagged =
                    moves.iter().any(|it| it.adjustment == Some(*adjustment) && it.is_on_withdrawn_advice());
                match flagged {
                    true => Ok(()),
                    false => Err(wrong_state(span, "no adjustment stands on withdrawn advice here")),
                }
            }
            Expect::Joined(step) => match self.machine.is_joined(*step) {
                true => Ok(()),
                false => Err(wrong_state(span, "no series of this step is joined")),
            },
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
                match self.dialog.take() {
                    Some(Dialog::Take(pending)) if pending.queries.is_empty() => self.take(pending, "")?,
                    Some(dialog @ (Dialog::Take(_) | Dialog::OtherMachine { .. })) => {
                        self.dialog = Some(dialog)
                    }
                    _ => {}
                }
                Ok(self.finish())
            }
            Err(refusal) => self.refuse(refusal),
        }
    }

    // -------------------------------------------------------------------------------------------- words of examples

    /// A word that makes sense only where nothing is asked.
    pub(super) fn in_example(&self, word: &str) -> Result<(), Refusal> {
        match self.touched.is_some() {
            true => Ok(()),
            false => Err(Refusal::new(format!("`{word}` belongs to a worked example."))),
        }
    }

    /// `take L3`: at the prompt the walk turns to it; in an example, where nothing is asked, it is begun.
    pub(super) fn take_step(&mut self, step: StepId) -> Result<(), Refusal> {
        if self.touched.is_none() {
            return self.turn_to(&self.name_of(step));
        }
        self.may_be_read(step)?;
        self.ensure_opened(step);
        Ok(())
    }

    /// `defects L3 open`, `defects L3 done`.
    pub(super) fn defects_in_example(&mut self, step: StepId, done: bool) -> Result<(), Refusal> {
        self.in_example("defects")?;
        let asks = |item: &Item| matches!(item, Item::Defects(_));
        if !self.program.steps[step.0].items.iter().any(asks) {
            return Err(Refusal::new(format!("{} does not ask for defects.", self.name_of(step)))
                .help("A step does if it has a line: defects \"Cracks, leaks\""));
        }
        if done {
            return self.answer_defects(step, "done");
        }
        self.take_step(step)?;
        if let Some(attempt) = self.state.steps[step.0].attempts.last_mut() {
            attempt.defects_open = true;
        }
        self.settle_all();
        Ok(())
    }

    /// `end RUN.temp`: no further row or repeat comes. At the prompt Enter alone says so where it is asked.
    pub(super) fn end_reading(&mut self, reading: ValueId) -> Result<(), Refusal> {
        self.in_example("end")?;
        let step = self.step_of(reading)?;
        if self.series(reading).is_none() {
            let next = self.sheet(step, reading).ok().and_then(|sheet| sheet.next());
            return match next {
                Some(cell) => self.end_repeats(step, reading, cell),
                None => Err(Refusal::new("All of it has been read.")),
            };
        }
        if !self.state.running.contains(&(step, reading)) {
            return Err(Refusal::new("This series is not running."));
        }
        self.close_series(step, reading);
        Ok(())
    }

    /// What is being queried.
    pub fn queried(&self) -> Option<String> {
        match &self.dialog {
            Some(Dialog::Take(pending)) => pending.queries.first().map(|(_, query)| query.clone()),
            Some(Dialog::OtherMachine { before, .. }) => Some(super::before::other_machine_said(before)),
            _ => None,
        }
    }
}
