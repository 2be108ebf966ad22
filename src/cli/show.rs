//! What the word `show` prints: how each step stands, and what was entered in the one that is being taken.

use super::console::Shown;
use super::layout::plain;
use crate::check::program::StepId;
use crate::report::rounded;
use crate::walk::machine::Machine;

pub fn lines(machine: &Machine, width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    let status = machine.status();
    for (name, title, state) in status.steps.iter().filter(|(.., state)| state != "to do") {
        lines.extend(plain(&format!("{name} {title}: {state}"), width, "  ", "      "));
    }
    let current = machine.question().place.map(|place| place.step).or(machine.state().current);
    if let Some(step) = current {
        lines.extend(entries(machine, step).iter().flat_map(|text| plain(text, width, "    ", "      ")));
        lines.extend(budgets(machine, step).iter().flat_map(|text| plain(text, width, "    ", "      ")));
    }
    lines.extend(super::layout::list("  Exceptions:", &status.exceptions, width));
    lines.extend(super::layout::exit_for_now(&status, width));
    lines
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
            "{}: U = {} (k {}), by the {}; u of each part:",
            rule.name,
            size(&own.expanded),
            own.k,
            own.method
        ));
        texts.extend(own.budget.iter().map(|part| match part.rsplit_once(": ") {
            Some((what, u)) => format!("  {what}: {}", size(u)),
            None => part.clone(),
        }));
    }
    texts
}

/// Each set of the last try, its stations with what was typed.
fn entries(machine: &Machine, step: StepId) -> Vec<String> {
    let Some(attempt) = machine.state().step(step).attempt() else { return Vec::new() };
    let mut texts = Vec::new();
    for (value, sheets) in &attempt.sheets {
        let name = machine.program().values.get(value.0).map(|it| it.name.as_str()).unwrap_or_default();
        for sheet in sheets {
            let read = sheet.cells.iter().enumerate().filter_map(|(at, cell)| {
                let text = crate::report::answer_text(&cell.as_ref()?.answer);
                let stations = sheet.stations(at);
                Some(if stations.is_empty() { text } else { format!("{}: {text}", stations.join(", ")) })
            });
            let read: Vec<String> = read.collect();
            if sheet.retired && read.is_empty() {
                continue;
            }
            let set = if sheet.set > 1 { format!(" ({})", sheet.set) } else { String::new() };
            let old = if sheet.retired { ", does not count any more" } else { "" };
            texts.push(format!("{name}{set}{old}: {}", read.join("; ")));
        }
    }
    texts
}
