//! A finished walk as a worked example: its events told again in the words that examples and the prompt share.
//!
//! The record is replayed beside the telling, so that each line can be put as the walk stood then. What was told is
//! then checked and walked like any example; where it does not lead to what the record says, the difference is named
//! and never papered over.
//!
//! ```text
//! events -> Teller (lines) -> text -> syntax, check, walk_one -> what differs
//! ```

use std::rc::Rc;

use crate::check::program::{Program, StateWord, StepId};
use crate::source::Span;
use crate::syntax;

use super::event::{Event, JudgedStep};
use super::examples;
use super::machine::Machine;

mod grouped;
mod particulars;
mod put_right;
mod teller;
mod words;

use teller::Teller;
use words::quoted;

/// A walk told again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The `example` block, tidy, to be put behind the last line of the procedure.
    pub text: String,
    /// What the example cannot say, or says otherwise than the record; empty where it is the same walk.
    pub differences: Vec<String>,
}

/// Why a record has no walk to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoExample {
    #[error("the record does not hold its procedure")]
    NoProcedure,
    #[error("the procedure of the record has faults in this version")]
    FaultyProcedure,
    #[error("nothing was entered on this walk")]
    NothingEntered,
}

/// Tells a walk as an example. Times and events go together, from the first line of the record on.
pub fn as_example(events: &[(&str, &Event)], title: &str) -> Result<Written, NoExample> {
    let Some((_, Event::Opened { files, .. })) = events.first() else { return Err(NoExample::NoProcedure) };
    let file = files.first().ok_or(NoExample::NoProcedure)?;
    let procedure = Procedure { name: file.name.clone(), text: file.text.clone() };
    let program = procedure.program("").ok_or(NoExample::FaultyProcedure)?;
    let mut teller = Teller::new(Machine::new(program), events);
    for at in 0..events.len() {
        teller.tell(events, at);
    }
    let (machine, lines, mut differences) = teller.end();
    if lines.iter().all(|line| line.starts_with('#')) {
        return Err(NoExample::NothingEntered);
    }
    let mut lines = lines;
    let mut expected = expectations(&machine);
    let block = |lines: &[String], expected: &[String]| {
        let all = lines.iter().chain(expected).map(|line| format!("  {line}\n"));
        format!("\nexample {}\n{}", quoted(title), all.collect::<String>())
    };
    // What an example refuses is left out and named; what comes out is what it then expects.
    let came = loop {
        let walked = procedure.walked(&block(&lines, &expected)).ok_or(NoExample::FaultyProcedure)?;
        if walked.wrong.is_empty() {
            break walked.machine;
        }
        let before = lines.len();
        for (at, why) in walked.wrong.iter().rev().filter(|(at, _)| *at < before) {
            differences.push(format!("{}: {why}", lines.remove(*at)));
        }
        let settled = lines.len() == before && expected == expectations(&walked.machine);
        expected = expectations(&walked.machine);
        if settled {
            break walked.machine;
        }
    };
    for (step, definition) in machine.program().steps.iter().enumerate() {
        let words = |machine: &Machine| machine.standing().stand_of(StepId(step));
        let (was, is) = (words(&machine), words(&came));
        if was != is {
            differences.push(format!("{} {was} on the walk, {is} in the example", definition.name));
        }
        differences.extend(otherwise(&machine, &came, StepId(step)));
    }
    let verdicts = (machine.standing().verdict_if_closed(), came.standing().verdict_if_closed());
    if verdicts.0 != verdicts.1 {
        let (was, is) = (verdicts.0.words(), verdicts.1.words());
        differences.push(format!("the walk is {was}, the example {is}"));
    }
    differences.dedup();
    Ok(Written { text: procedure.tidied(&block(&lines, &expected)), differences })
}

/// Tries of a step that were judged otherwise, and by what.
fn otherwise(walk: &Machine, example: &Machine, step: StepId) -> Vec<String> {
    let name = walk.name_of(step);
    let tries = |machine: &Machine| {
        let attempts = &machine.state().step(step).attempts;
        attempts.iter().map(|attempt| attempt.recorded.clone().map(without_uncertainty)).collect::<Vec<_>>()
    };
    let (was, is) = (tries(walk), tries(example));
    if was.len() != is.len() {
        return vec![format!(
            "{name} was tried {} times on the walk, {} in the example",
            was.len(),
            is.len()
        )];
    }
    let differ = was.iter().zip(&is).enumerate().filter(|(_, (was, is))| was != is);
    differ.map(|(at, _)| format!("try {} of {name} has other results in the example", at + 1)).collect()
}

/// An example works uncertainty out only where it decides, and then it shows in the verdict.
fn without_uncertainty(mut judged: JudgedStep) -> JudgedStep {
    judged.rules.iter_mut().for_each(|rule| rule.uncertainty = None);
    judged.results.iter_mut().for_each(|result| result.expanded.clear());
    judged
}

/// The procedure of the record.
struct Procedure {
    name: String,
    text: String,
}

impl Procedure {
    fn with(&self, block: &str) -> String {
        format!("{}\n{block}", self.text.trim_end())
    }

    fn program(&self, block: &str) -> Option<Rc<Program>> {
        let parsed = syntax::parse_text(self.name.as_str(), self.with(block));
        crate::check::check(&parsed).program.map(Rc::new)
    }

    fn walked(&self, block: &str) -> Option<Walked> {
        let program = self.program(block)?;
        let text = self.with(block);
        let (machine, problems) = examples::walk_one(&program, program.examples.last()?);
        // Behind the empty line and the title.
        let first = text.len() - block.len() + 1;
        let row = |span: Span| text.get(first..span.start).map_or(0, |above| above.matches('\n').count());
        let mut wrong: Vec<(usize, String)> = problems
            .iter()
            .filter_map(|problem| {
                Some((row(problem.labels.first()?.0).checked_sub(1)?, problem.message.clone()))
            })
            .collect();
        wrong.sort();
        wrong.dedup_by_key(|(at, _)| *at);
        Some(Walked { machine, wrong })
    }

    /// The block in its tidy form.
    fn tidied(&self, block: &str) -> String {
        let text = crate::tidy::tidy(&syntax::parse_text(self.name.as_str(), self.with(block)));
        let start = text.rfind("\nexample ").map_or(0, |at| at + 1);
        text.get(start..).unwrap_or_default().to_owned()
    }
}

/// An example as it came out.
struct Walked {
    machine: Machine,
    /// Lines that did not come out, counted from the first behind the title, and why.
    wrong: Vec<(usize, String)>,
}

/// How everything stands at the end.
fn expectations(machine: &Machine) -> Vec<String> {
    let standing = machine.standing();
    let program = machine.program();
    let mut lines = Vec::new();
    for (index, step) in program.steps.iter().enumerate() {
        let state = standing.state_of(StepId(index));
        let is_begun = machine.state().step(StepId(index)).is_begun();
        if is_begun || !matches!(state, StateWord::ToDo | StateWord::NotApplicable) {
            lines.push(format!("expect {} {}", step.name, expected_word(machine, StepId(index))));
        }
    }
    let exceptions = standing.exceptions().len();
    if exceptions > 0 {
        lines.push(format!("expect exceptions {exceptions}"));
    }
    lines.push(format!("expect verdict {}", standing.verdict_if_closed().words()));
    lines
}

/// The word of an `expect` for the state that a step is in.
fn expected_word(machine: &Machine, step: StepId) -> &'static str {
    let standing = machine.standing();
    match standing.state_of(step) {
        StateWord::Passes if standing.is_stale(step) => "stale",
        StateWord::Passes => "passes",
        StateWord::Fails => "fails",
        other => other.words(),
    }
}
