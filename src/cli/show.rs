//! What the word `show` prints: how each step stands, and what was entered in the one that is being taken; with the name
//! of a step behind it, all that was entered there, each by the words that `correct` takes.

use super::console::Shown;
use super::layout::{list, plain};
use crate::check::program::{SaidKind, SaidPart, StateWord, StepId};
use crate::diagnostic::nearest;
use crate::report::{answer_text, method, rounded};
use crate::walk::event::Event;
use crate::walk::machine::{Machine, StepStatus};
use crate::walk::question::Refusal;
use crate::walk::sayings::{self, Saying, Was};
use crate::walk::state::{Answered, EntryPlace, Struck};
use crate::walk::target::{self, EntryAt};
use crate::walk::value::Cell;

/// The walk as it stands.
pub fn walk(machine: &Machine, width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    let status = machine.status();
    for step in status.steps.iter().filter(|step| step.stand.state != StateWord::ToDo) {
        lines.extend(heading(step, width));
    }
    let current = machine.question().place.map(|place| place.step).or(machine.state().current);
    if let Some(step) = current {
        if let Some(last) = machine.state().step(step).attempts.len().checked_sub(1) {
            let entered = entries(machine, step, last, width);
            if let Some(named) = status.steps.get(step.0).filter(|_| !entered.is_empty()) {
                let heading = format!("Entered in {}, {}:", named.name, which(last));
                lines.extend(plain(&heading, width, "  ", "    "));
            }
            lines.extend(entered);
        }
        lines.extend(budgets(machine, step).iter().flat_map(|text| plain(text, width, "    ", "      ")));
    }
    lines.extend(list("  Exceptions:", &status.exceptions, width));
    lines.extend(super::layout::exit_for_now(&status, width));
    lines
}

/// What stands behind `show`: the name of a step, `facts` or `words`.
pub fn named(machine: &Machine, name: &str, width: usize) -> Result<Vec<Shown>, Refusal> {
    let program = machine.program();
    let steps = &program.steps;
    let found = steps.iter().position(|step| step.name.eq_ignore_ascii_case(name));
    match found {
        Some(step) => Ok(step_in_full(machine, StepId(step), width)),
        None if name.eq_ignore_ascii_case("facts") => Ok(facts(machine, width)),
        None if name.eq_ignore_ascii_case("words") => Ok(words(machine, width)),
        None => {
            let near = nearest(name, steps.iter().map(|step| step.name.as_str()));
            let near = near.or(steps.first().map(|step| step.name.as_str())).unwrap_or("L3");
            Err(Refusal::new(format!("There is no step {}.", crate::report::clean(name))).help(format!(
                "Type it so: show {near}, show facts for what was asked at the start, or show words for what was said in \
                 words; show alone tells how the walk stands."
            )))
        }
    }
}

fn facts(machine: &Machine, width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    for fact in &machine.program().facts {
        let Some(answered) = machine.state().facts.get(fact) else { continue };
        let Some(definition) = machine.program().values.get(fact.0) else { continue };
        let was = was(machine, &EntryPlace::Fact(*fact));
        let text = format!("{} = {}{was}", definition.name, answer_text(&answered.answer));
        lines.extend(plain(&text, width, "  ", "      "));
    }
    if lines.is_empty() {
        return plain("Nothing was asked at the start yet.", width, "  ", "  ");
    }
    lines.extend(how_to_correct("one of them", width));
    lines
}

fn step_in_full(machine: &Machine, step: StepId, width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    let status = machine.status();
    lines.extend(status.steps.get(step.0).into_iter().flat_map(|step| heading(step, width)));
    let own = machine.state().step(step);
    let own_name = machine.program().steps.get(step.0).map_or("", |step| step.name.as_str());
    let of_step = |it: &&Saying| matches!(&it.event, Event::Adjusted(moved) if moved.step == own_name);
    let mut moves = machine.state().sayings.iter().filter(of_step).peekable();
    for (at, attempt) in own.attempts.iter().enumerate() {
        while let Some(moved) = moves.next_if(|moved| moved.line < attempt.opened) {
            lines.extend(moved_in_full(machine, moved, width));
        }
        let came = attempt.recorded.as_ref().map_or("not finished", |judged| judged.state.as_str());
        lines.extend(plain(&format!("{}: {came}", which(at)), width, "  ", "      "));
        lines.extend(entries(machine, step, at, width));
    }
    for moved in moves {
        lines.extend(moved_in_full(machine, moved, width));
    }
    match own.attempts.is_empty() {
        true => lines.extend(plain("Nothing was entered in it yet.", width, "  ", "  ")),
        false => lines.extend(how_to_correct("one of them", width)),
    }
    lines
}

fn which(attempt: usize) -> String {
    if attempt == 0 { "as found".to_owned() } else { format!("try {}", attempt + 1) }
}

fn heading(step: &StepStatus, width: usize) -> Vec<Shown> {
    let StepStatus { name, title, stand } = step;
    plain(&format!("{name} {title}: {}", stand.in_words()), width, "  ", "      ")
}

fn how_to_correct(what: &str, width: usize) -> Vec<Shown> {
    let text = format!("If {what} was typed wrong: correct, the words as they stand here, = VALUE \"why\"");
    plain(&text, width, "  ", "  ")
}

/// What was moved: in words, then each part by the words that mean it.
fn moved_in_full(machine: &Machine, saying: &Saying, width: usize) -> Vec<Shown> {
    let flagged = machine
        .state()
        .moves
        .iter()
        .any(|moved| moved.sequence == saying.line && moved.is_on_withdrawn_advice());
    let flagged = if flagged { "; on advice that no longer stands" } else { "" };
    let struck = if saying.never.is_some() { " STRUCK OUT" } else { "" };
    let text =
        format!("move {}, adjusted{struck}: {}{flagged}", saying.number, machine.in_words(&saying.event));
    let mut lines = plain(&text, width, "  ", "      ");
    lines.extend(parts(machine, saying, width));
    lines
}

/// The parts of what was said, each by the words that `correct` takes, with what stood there before.
fn parts(machine: &Machine, saying: &Saying, width: usize) -> Vec<Shown> {
    let why = |line: u64| sayings::reason(&machine.state().sayings, line);
    let why_not = |was: &Was| why(was.by).unwrap_or(&was.reason).to_owned();
    let of = machine.what_it_corrects(&saying.event);
    let of = of.map(|name| format!("; of {name}")).unwrap_or_default();
    let was = |part: SaidPart| -> String {
        let own = saying.was.iter().rev().filter(|was| was.part == part);
        own.map(|was| match was.text.as_str() {
            "" => format!(" (was not said, corrected: {})", why_not(was)),
            text => format!(" (was {text}, corrected: {})", why_not(was)),
        })
        .collect()
    };
    let mut texts: Vec<String> = sayings::parts(&saying.event)
        .into_iter()
        .map(|(part, text)| format!("{} = {text}{}{of}", saying.target(part), was(part)))
        .collect();
    if saying.was.iter().any(|was| was.part == SaidPart::Which) {
        let which = sayings::which_in_words(&saying.event);
        texts.push(format!("{} = {which}{}", saying.target(SaidPart::Which), was(SaidPart::Which)));
    }
    texts.extend(saying.never.map(|line| format!("it never happened: {}", why(line).unwrap_or_default())));
    texts.iter().flat_map(|text| plain(text, width, "    ", "      ")).collect()
}

/// All that was said in words.
fn words(machine: &Machine, width: usize) -> Vec<Shown> {
    let said = machine.state().sayings.iter().filter(|it| it.kind != SaidKind::Move);
    let (corrections, said): (Vec<&Saying>, Vec<&Saying>) =
        said.partition(|it| it.kind == SaidKind::Correction);
    let mut lines: Vec<Shown> = Vec::new();
    let mut under = None;
    for saying in said.into_iter().chain(corrections) {
        let of = match (&saying.event, saying.kind) {
            (Event::Instrument(card), _) => Some(card.name.as_str()),
            (_, SaidKind::Correction) => Some("why it was corrected"),
            _ => saying.step(),
        };
        if of != under {
            lines.extend(of.iter().flat_map(|name| plain(name, width, "  ", "    ")));
            under = of;
        }
        lines.extend(parts(machine, saying, width));
    }
    match lines.is_empty() {
        true => plain("Nothing was said in words yet.", width, "  ", "  "),
        false => {
            lines.extend(how_to_correct("something", width));
            lines
        }
    }
}

/// Each entry of a try, by the words that mean it.
fn entries(machine: &Machine, step: StepId, attempt: usize, width: usize) -> Vec<Shown> {
    let all = target::entries(machine.state(), step, attempt);
    all.iter()
        .filter_map(|at| entry(machine, at))
        .flat_map(|text| plain(&text, width, "    ", "      "))
        .collect()
}

fn entry(machine: &Machine, at: &EntryAt) -> Option<String> {
    let words = target::of_entry(machine.program(), machine.state(), at)?;
    let sheet =
        machine.state().step(at.step).attempts.get(at.attempt)?.sheets.get(&at.value)?.get(at.sheet)?;
    let EntryAt { step, attempt, value, sheet: set, cell, seam } = *at;
    let place = match seam {
        None => EntryPlace::Cell { step, attempt, value, sheet: set, cell },
        Some(seam) => {
            let at = sheet.seams.get(seam)?.again.iter().position(|(again, _)| *again == cell)?;
            EntryPlace::Again { step, attempt, value, sheet: set, seam, at }
        }
    };
    let value = said(machine.state().answered_at(&place)?);
    let was = was(machine, &place);
    let old = if sheet.retired { " (does not count any more)" } else { "" };
    Some(format!("{words} = {value}{was}{old}"))
}

fn said(answered: &Answered) -> String {
    match &answered.cell {
        Cell::NotRead(why) => format!("not read: {why}"),
        _ => answer_text(&answered.answer),
    }
}

/// What stood there before, the latest first, and why it was corrected.
fn was(machine: &Machine, place: &EntryPlace) -> String {
    let struck = machine.state().struck.iter().rev().filter(|it| it.place == *place);
    let why = |it: &Struck| sayings::reason(&machine.state().sayings, it.by).unwrap_or(&it.reason).to_owned();
    struck.map(|it| format!(" (was {}, corrected: {})", said(&it.was), why(it))).collect()
}

/// How uncertain each judged value of the last try is, and what of.
fn budgets(machine: &Machine, step: StepId) -> Vec<String> {
    let Some(judged) = machine.state().step(step).attempt().and_then(|it| it.recorded.as_ref()) else {
        return Vec::new();
    };
    let mut texts = Vec::new();
    for rule in &judged.rules {
        let Some(own) = &rule.uncertainty else { continue };
        let size = |value: &str| rounded(value, rule.unit.as_deref());
        texts.push(format!(
            "{}: U = {} (k {}), by {}; u of each part:",
            rule.name,
            size(&own.expanded),
            own.k,
            method(&own.method, rule.unit.as_deref())
        ));
        texts.extend(own.budget.iter().map(|part| match part.rsplit_once(": ") {
            Some((what, u)) => format!("  {what}: {}", size(u)),
            None => part.clone(),
        }));
    }
    texts
}
