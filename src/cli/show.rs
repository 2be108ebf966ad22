//! What the word `show` prints: how each step stands, and what was entered in the one that is being taken; with the name
//! of a step behind it, all that was entered there, each by the words that `correct` takes.

use super::console::Shown;
use super::layout::{list, plain};
use crate::check::program::{StateWord, StepId};
use crate::diagnostic::nearest;
use crate::report::{answer_text, method, rounded};
use crate::walk::machine::{Machine, StepStatus};
use crate::walk::question::Refusal;
use crate::walk::state::Move;
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
            lines.extend(entries(machine, step, last, width));
        }
        lines.extend(budgets(machine, step).iter().flat_map(|text| plain(text, width, "    ", "      ")));
    }
    lines.extend(list("  Exceptions:", &status.exceptions, width));
    lines.extend(super::layout::exit_for_now(&status, width));
    lines
}

/// What stands behind `show`: the name of a step, or `facts`.
pub fn named(machine: &Machine, name: &str, width: usize) -> Result<Vec<Shown>, Refusal> {
    let program = machine.program();
    let steps = &program.steps;
    let found = steps.iter().position(|step| step.name.eq_ignore_ascii_case(name));
    match found {
        Some(step) => Ok(step_in_full(machine, StepId(step), width)),
        None if name.eq_ignore_ascii_case("facts") => Ok(facts(machine, width)),
        None => {
            let near = nearest(name, steps.iter().map(|step| step.name.as_str()));
            let near = near.or(steps.first().map(|step| step.name.as_str())).unwrap_or("L3");
            Err(Refusal::new(format!("There is no step {}.", crate::report::clean(name))).help(format!(
                "Type it so: show {near}, or show facts for what was asked at the start; show alone tells how the walk \
                 stands."
            )))
        }
    }
}

fn facts(machine: &Machine, width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    for fact in &machine.program().facts {
        let Some(answered) = machine.state().facts.get(fact) else { continue };
        let Some(definition) = machine.program().values.get(fact.0) else { continue };
        let text = format!("{} = {}", definition.name, answer_text(&answered.answer));
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
    let mut moves = machine.state().moves.iter().filter(|moved| moved.step == step).peekable();
    for (at, attempt) in own.attempts.iter().enumerate() {
        while let Some(moved) = moves.next_if(|moved| moved.sequence < attempt.opened) {
            lines.extend(plain(&moved_in_words(machine, moved), width, "  ", "      "));
        }
        let came = attempt.recorded.as_ref().map_or("not finished", |judged| judged.state.as_str());
        let which = if at == 0 { "as found".to_owned() } else { format!("try {}", at + 1) };
        lines.extend(plain(&format!("{which}: {came}"), width, "  ", "      "));
        lines.extend(entries(machine, step, at, width));
    }
    for moved in moves {
        lines.extend(plain(&moved_in_words(machine, moved), width, "  ", "      "));
    }
    match own.attempts.is_empty() {
        true => lines.extend(plain("Nothing was entered in it yet.", width, "  ", "  ")),
        false => lines.extend(how_to_correct("one of them", width)),
    }
    lines
}

fn heading(step: &StepStatus, width: usize) -> Vec<Shown> {
    let StepStatus { name, title, stand } = step;
    plain(&super::layout::begun(&format!("{name} {title}: {stand}")), width, "  ", "      ")
}

fn how_to_correct(what: &str, width: usize) -> Vec<Shown> {
    let text = format!("If {what} was typed wrong: correct, the words as they stand here, = VALUE \"why\"");
    plain(&text, width, "  ", "  ")
}

fn moved_in_words(machine: &Machine, moved: &Move) -> String {
    match target::moved(machine.program(), moved) {
        said if moved.is_on_withdrawn_advice() => {
            format!("adjusted: {said}; on advice that no longer stands")
        }
        said => format!("adjusted: {said}"),
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
    let answered = match at.seam {
        None => sheet.cells.get(at.cell)?.as_ref()?,
        Some(seam) => &sheet.seams.get(seam)?.again.iter().find(|(cell, _)| *cell == at.cell)?.1,
    };
    let value = match &answered.cell {
        Cell::NotRead(why) => format!("not read: {why}"),
        _ => answer_text(&answered.answer),
    };
    let old = if sheet.retired { " (does not count any more)" } else { "" };
    Some(format!("{words} = {value}{old}"))
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
