//! Every test: its prose, its tries with results and rules, raw readings and drawings.

use maud::{Markup, html};

use super::tables::{id_of, mark, uncertainty};
use super::{Page, figure, readings, said, section, wide};
use crate::quantity::Sense;
use crate::report::figures::{self, Figure};
use crate::report::model::{Held, Report, ResultPart, StepPart, Try};
use crate::report::results::{self, Said};
use crate::report::said::{freedom, when};
use crate::report::summary;
use crate::walk::uncertainty::wording::chance;

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
                        ", " (when(&attempt.opened))
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
    html! {
        @for (axis, items) in &attempt.lists { p dir="auto" { (said(axis)) ": " (said(&items.join(", "))) } }
        (readings::readings(part, attempt))
        (results_table(attempt))
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

fn results_table(attempt: &Try) -> Markup {
    // A single value that is judged under its own name stands with its rule.
    let judged = |part: &&ResultPart| {
        part.line.values.len() == 1
            && attempt.rules.iter().any(|held| held.rule.name == part.line.name && held.rule.value.is_some())
    };
    let results: Vec<&ResultPart> = attempt.results.iter().filter(|part| !judged(part)).collect();
    if results.is_empty() {
        return html! {};
    }
    html! {
        table.results {
            thead { tr { th scope="col" { "Result" } th scope="col" { "Value" } } }
            tbody { @for part in results { (result(part)) } }
        }
    }
}

fn result(part: &ResultPart) -> Markup {
    html! {
        tr {
            th scope="row" dir="auto" {
                (said(&part.label))
                @if let Some(Sense { plus, minus }) = part.sense.as_ref().filter(|_| part.line.values.len() > 1) {
                    small { "plus: " (said(plus)) "; minus: " (said(minus)) }
                }
            }
            td dir="auto" {
                @match results::values(part) {
                    Said::One(value) => (said(&value)),
                    Said::Several(values) => {
                        @for (at, (place, value)) in values.iter().enumerate() {
                            @if at > 0 { "; " }
                            span.each {
                                @if !place.is_empty() { span.about { (said(place)) } " " }
                                (said(value))
                            }
                        }
                    },
                    Said::Many(values) => (said(&values)),
                }
            }
        }
    }
}

fn rules_table(attempt: &Try, report: &Report) -> Markup {
    let rules: Vec<&Held> =
        attempt.rules.iter().filter(|held| held.rule.verdict != "not applicable").collect();
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
    let conformity: f64 = own.conformity.parse().unwrap_or(0.0);
    let risk = match held.rule.verdict.as_str() {
        "passed" => format!("; specific risk {}", chance(1.0 - conformity)),
        "failed" => format!("; specific risk {}", chance(conformity)),
        _ => String::new(),
    };
    let freedom = freedom(own).map(|it| format!(", {it}")).unwrap_or_default();
    html! {
        small { "U " (uncertainty(held, &report.decision)) "; k " (said(&own.k)) (said(&freedom)) "; probability of conformity " (chance(conformity)) (risk) }
        @if budgets {
            @for line in held.budget() { small { (said(&line)) } }
        }
    }
}
