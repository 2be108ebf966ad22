//! Every test: its prose, its tries with results and rules, raw readings and drawings.

use maud::{Markup, html};

use super::cells::{self, Row};
use super::tables::{id_of, mark, uncertainty};
use super::{Page, figure, readings, said, section, wide};
use crate::quantity::Sense;
use crate::report::figures::{self, Figure};
use crate::report::model::{Held, Report, ResultPart, StepPart, Try};
use crate::report::results::{self, Laid, Said};
use crate::report::said::freedom;
use crate::report::summary;
use crate::walk::uncertainty::wording::Chance;

pub(super) fn steps(page: &Page<'_>) -> Markup {
    let report = page.report;
    if report.steps.is_empty() {
        return html! {};
    }
    let content = html! {
        @if page.machine.is_none() {
            p.bad { "Nothing is drawn: the record could not be reckoned again." }
        }
        @for part in &report.steps { (step(page, part)) }
    };
    section("readings", "Each test with its readings", content)
}

fn step(page: &Page<'_>, part: &StepPart) -> Markup {
    let id = id_of(&part.name);
    let state = summary::state(part, &page.proof.states);
    let several = part.tries.len() > 1;
    html! {
        section.step id={ "step-" (id) } aria-labelledby={ "name-" (id) } {
            h3 id={ "name-" (id) } dir="auto" {
                (said(&part.name)) " " (said(&part.title))
                @if !state.is_empty() { ": " (mark(state)) }
            }
            (prose(part))
            @for attempt in &part.tries {
                @if several || attempt.number > 1 {
                    h4 {
                        @if attempt.number == 1 { "As found" } @else { "Try " (attempt.number) }
                        ", " (said(&attempt.when_said()))
                        @if let Some(state) = &attempt.state { ": " (mark(state)) }
                    }
                }
                (one_try(page, part, attempt, &id))
            }
            @for (number, drawn) in figures::of_step(part).iter().enumerate() {
                (figure(&format!("f-{id}-r{number}"), drawn))
            }
        }
    }
}

fn prose(part: &StepPart) -> Markup {
    let parts = [("Basis", &part.basis), ("Set-up", &part.setup), ("Conditions", &part.conditions)];
    let parts: Vec<_> = parts.into_iter().filter(|(_, texts)| !texts.is_empty()).collect();
    html! {
        @if !parts.is_empty() {
            dl.prose {
                @for (name, texts) in parts {
                    dt { (name) }
                    dd dir="auto" { @for (at, text) in texts.iter().enumerate() { @if at > 0 { br; } (said(text)) } }
                }
            }
        }
        @if !part.remarks.is_empty() {
            ul { @for remark in &part.remarks { li dir="auto" { (said(remark)) } } }
        }
    }
}

fn one_try(page: &Page<'_>, part: &StepPart, attempt: &Try, id: &str) -> Markup {
    let drawn: Vec<Figure> =
        page.machine.map(|machine| figures::of_try(machine, &part.name, attempt)).unwrap_or_default();
    let (short, laid) = results(attempt, id);
    html! {
        @for (axis, items) in &attempt.lists { p dir="auto" { (said(axis)) ": " (said(&items.join(", "))) } }
        (readings::readings(part, attempt, &laid))
        (short)
        (rules_table(attempt, page.report))
        @if !attempt.advice.is_empty() {
            p { b { "Advised" } }
            ul { @for advice in &attempt.advice { li dir="auto" { (said(advice)) } } }
        }
        @for (number, drawn) in drawn.iter().enumerate() {
            (figure(&format!("f-{id}-{}-{number}", attempt.number), drawn))
        }
    }
}

/// The results that do not stand with their rule: in a line each, and laid out over their stations.
fn results(attempt: &Try, id: &str) -> (Markup, Vec<Markup>) {
    let (mut short, mut laid) = (Vec::new(), Vec::new());
    for part in attempt.unjudged() {
        match results::values(part) {
            Said::One(value) | Said::Many(value) => short.push((part, value)),
            Said::Laid(values) => laid.push(result(part, &values, id, attempt.number)),
        }
    }
    let short = html! {
        @if !short.is_empty() {
            table.results {
                thead { tr { th scope="col" { "Result" } th scope="col" { "Value" } } }
                tbody {
                    @for (part, value) in &short {
                        tr {
                            th scope="row" dir="auto" { (said(&part.label)) (several(part)) }
                            td dir="auto" { (said(value)) }
                        }
                    }
                }
            }
        }
    };
    (short, laid)
}

/// What plus and minus mean of several values, where no words stand beside each.
fn several(part: &ResultPart) -> Markup {
    html! {
        @if let Some(Sense { plus, minus }) = part.sense.as_ref().filter(|_| part.line.values.len() > 1) {
            small { "plus: " (said(plus)) "; minus: " (said(minus)) }
        }
    }
}

fn result(part: &ResultPart, values: &Laid, id: &str, number: u32) -> Markup {
    let name = format!("r-{id}-{number}-{}", id_of(&part.line.name));
    let cell = |cell: &results::Cell| {
        // An arrow has its direction beneath its size: several do not fit side by side otherwise.
        let (value, beneath) = cell.value.split_once(", ").unwrap_or((&cell.value, ""));
        let content = html! {
            (said(value))
            @if !beneath.is_empty() { small { (said(beneath)) } }
            @if let Some(own) = &cell.expanded { small { "U " (said(own)) } }
        };
        (cell.place.clone(), content)
    };
    let row =
        |row: &results::Row| Row { outer: row.outer.clone(), cells: row.cells.iter().map(cell).collect() };
    let rows: Vec<Row> = values.rows.iter().map(row).collect();
    html! {
        div.keep {
            p.caption id=(name) dir="auto" {
                "Result: " (said(&part.label)) (several(part))
                @if let Some(own) = &values.expanded { small { "U of each " (said(own)) } }
            }
            (wide(&part.label, cells::table(&name, &values.corner, &rows)))
        }
    }
}

fn rules_table(attempt: &Try, report: &Report) -> Markup {
    let rules: Vec<&Held> = attempt.judged().collect();
    if rules.is_empty() {
        return html! {};
    }
    let table = html! {
        table.judged {
            thead { tr { @for head in ["What is judged", "Value", "Allowed", "Verdict"] { th scope="col" { (head) } } } }
            tbody {
                @for held in rules {
                    @let bare = held.rule.value.is_none() && held.limit().is_empty();
                    tr {
                        // A question has its answer among the readings; here it needs the room.
                        th scope="row" dir="auto" colspan=[bare.then_some("3")] {
                            (said(&held.label))
                            @if !held.rule.notes.is_empty() { small { (said(&held.rule.notes.join("; "))) } }
                        }
                        @if !bare {
                            td dir="auto" { (said(&held.value())) (certainty(held, report)) }
                            td { (said(&held.limit())) }
                        }
                        td { (mark(&held.rule.verdict)) }
                    }
                }
            }
        }
    };
    wide("Rules of this try", table)
}

/// How sure the verdict is, under a guarded rule; with budgets also what the uncertainty is made of.
fn certainty(held: &Held, report: &Report) -> Markup {
    let budgets = report.budgets;
    let Some(own) = &held.rule.uncertainty else { return html! {} };
    if own.rule == "simple" && !budgets {
        return html! { small { "U " (uncertainty(held, &report.decision)) } };
    }
    let conformity = Chance::recorded(own);
    let risk = conformity.risk_of(&held.rule.verdict);
    let risk = risk.map(|it| format!("; specific risk {}", it.said())).unwrap_or_default();
    let freedom = freedom(own).map(|it| format!(", {it}")).unwrap_or_default();
    html! {
        small { "U " (uncertainty(held, &report.decision)) "; k " (said(&own.k)) (said(&freedom)) "; probability of conformity " (conformity.said()) (risk) }
        @if budgets {
            @for line in held.budget() { small { (said(&line)) } }
        }
    }
}
