//! The tables of the whole: what was judged, what was altered, what was found.

use maud::{Markup, html};

use super::{figure, said, section, wide};
use crate::report::figures;
use crate::report::labels::rounded;
use crate::report::model::{Held, Move, Proof, Report, Row, StruckPart};
use crate::report::said::{decided, spoken, when};
use crate::report::summary::{is_well, left_out, loud};

/// A verdict: what is not well stands in capitals and framed, so that it is found without colour.
pub(super) fn mark(verdict: &str) -> Markup {
    html! {
        @if is_well(verdict) { (said(verdict)) } @else { strong.mark { (loud(verdict)) } }
    }
}

pub(super) fn rules(report: &Report, proof: &Proof) -> Markup {
    let (required, tests): (Vec<&Row>, Vec<&Row>) =
        report.rows.iter().partition(|row| row.required || row.electrical);
    html! {
        @if !required.is_empty() {
            (section("required", "Safety and what was required", html! {
                // What was asked needs no columns for limits.
                @let (asked, measured): (Vec<&Row>, Vec<&Row>) = required.iter().partition(|row| row.required);
                @if !measured.is_empty() {
                    (decision(report))
                    (table("Safety, measured", &measured, report, proof))
                }
                @if !asked.is_empty() { (table("What was required", &asked, report, proof)) }
            }))
        }
        @if !tests.is_empty() {
            (section("tests", "Tests", html! {
                (decision(report))
                (table("Tests, as found and as left", &tests, report, proof))
                @for (number, drawn) in figures::overview(report, &proof.states).iter().enumerate() {
                    (figure(&format!("all-{number}"), drawn))
                }
            }))
        }
    }
}

/// How it is decided, once for all rows that do not say otherwise.
fn decision(report: &Report) -> Markup {
    html! { @if !report.decision.is_empty() { p.about { "Decided " (said(&decided(&report.decision))) "." } } }
}

fn table(name: &str, rows: &[&Row], report: &Report, proof: &Proof) -> Markup {
    let measured = rows.iter().any(|row| !row.required);
    let known = |held: &Option<Held>| held.as_ref().is_some_and(|it| it.rule.uncertainty.is_some());
    let uncertain = measured && rows.iter().any(|row| known(&row.found) || known(&row.left));
    let mut heads = vec!["Step", "What is judged", "As found", "As left"];
    heads.extend(measured.then_some("Limit"));
    heads.extend(uncertain.then_some("U"));
    wide(
        name,
        html! {
            table.tests.measured[measured] role="table" {
                thead role="rowgroup" {
                    tr role="row" { @for head in heads { th scope="col" role="columnheader" { (head) } } }
                }
                // On a narrow screen a row is laid out as a block; the roles keep it a table for those who hear it.
                tbody role="rowgroup" {
                    @for row in rows {
                        tr role="row" {
                            th scope="row" role="rowheader" { a href={ "#step-" (id_of(&row.step)) } { (said(&row.step)) } }
                            td.what role="cell" dir="auto" { (said(&row.what)) }
                            td role="cell" data-head="As found" { @match &row.found { Some(found) => (held(found)), None => "\u{2013}" } }
                            td role="cell" data-head="As left" {
                                @match &row.left { Some(left) => (held(left)), None => span.same { "as found" } }
                                @if let Some(word) = left_out(&proof.states, &row.step) { " " strong.mark { (word) } }
                            }
                            @if measured {
                                @let last = row.left.as_ref().or(row.found.as_ref());
                                td role="cell" data-head="Limit" { @if let Some(last) = last { (whole(&last.limit())) } }
                                @if uncertain { td role="cell" data-head="Uncertainty" { @if let Some(last) = last { (uncertainty(last, &report.decision)) } } }
                            }
                        }
                    }
                }
            }
        },
    )
}

/// Numbers that are not torn from their units.
fn whole(limit: &str) -> Markup {
    match limit.rsplit_once(' ').and_then(|(before, unit)| Some((before.rsplit_once(' ')?, unit))) {
        Some(((before, number), unit)) => {
            html! { (said(before)) " " span.one { (said(number)) " " (said(unit)) } }
        }
        None => said(limit),
    }
}

fn held(held: &Held) -> Markup {
    let rule = &held.rule;
    html! {
        @if let Some(value) = held.bare() { (said(&value)) " " }
        (mark(&rule.verdict))
        @if let Some(words) = held.direction() { small dir="auto" { (said(words)) } }
        @if let Some(place) = &rule.place { small dir="auto" { "at " (said(&spoken(place))) } }
    }
}

/// U, and the rule that the value was held against its limit by where it is not the `usual` one.
pub(super) fn uncertainty(held: &Held, usual: &str) -> Markup {
    html! {
        @if let Some(own) = &held.rule.uncertainty {
            (said(&rounded(&own.expanded, held.rule.unit.as_deref())))
            @if own.rule != usual { ", " (said(&own.rule)) }
        }
    }
}

/// A name of a step as part of an address within the page.
pub(super) fn id_of(step: &str) -> String {
    step.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect()
}

pub(super) fn moves(report: &Report) -> Markup {
    if report.moves.is_empty() {
        return html! {};
    }
    let content = html! {
        @for entry in &report.moves {
            div.keep {
                p {
                    a href={ "#step-" (id_of(&entry.step)) } { b { (said(&entry.step)) } } " "
                    @if entry.never { del { (moved(entry)) } } @else { (moved(entry)) }
                    br;
                    span.about {
                        (said(&when(&entry.time))) ", line " (entry.seq) (said(&entry.beside_said()))
                    }
                }
                (struck_parts(&entry.struck, |struck| entry.was(struck)))
                @if let Some(withdrawn) = entry.withdrawn_said() {
                    @if entry.undone { p { (withdrawn) } } @else { p { strong.mark { (withdrawn) } } }
                }
                @if let Some(reason) = &entry.justified { p dir="auto" { "Justified: " (said(reason)) } }
                @if !entry.effects.is_empty() {
                    (wide("What it did", html! {
                        table {
                            thead { tr { @for head in ["What it moved", "Before", "Predicted", "Obtained", "For each unit moved"] { th scope="col" { (head) } } } }
                            tbody {
                                @for effect in &entry.effects {
                                    tr {
                                        th scope="row" dir="auto" { (said(&effect.what)) }
                                        td { (said(&effect.before)) }
                                        td { (said(effect.predicted.as_deref().unwrap_or("\u{2013}"))) }
                                        td { (said(&effect.after)) }
                                        td { (said(effect.per_unit.as_deref().unwrap_or("\u{2013}"))) }
                                    }
                                }
                            }
                        }
                    }))
                }
            }
        }
    };
    section("moves", "What was altered, and what it did", content)
}

fn moved(entry: &Move) -> Markup {
    html! {
        bdi { (said(&entry.said())) }
        @if let Some(amount) = entry.amount_said() { ": " b { (said(&amount)) } }
    }
}

/// What was put right: what stood there, struck out, and why.
pub(super) fn struck_parts(parts: &[StruckPart], was: impl Fn(&StruckPart) -> String) -> Markup {
    html! {
        @for struck in parts {
            p dir="auto" {
                @if !struck.never && !struck.was.is_empty() { del { (said(&was(struck))) } " " }
                (said(&struck.why())) " "
                span.about { "(" (said(&when(&struck.time))) ", line " (struck.seq) ")" }
            }
        }
    }
}

pub(super) fn defects(report: &Report) -> Markup {
    if report.defects.is_empty() {
        return html! {};
    }
    let content = html! {
        table {
            thead { tr { @for head in ["No.", "Step", "Defect", "Standing"] { th scope="col" { (head) } } } }
            tbody {
                @for defect in &report.defects {
                    tr {
                        th scope="row" { (defect.number) }
                        td { (said(defect.step.as_deref().unwrap_or("\u{2013}"))) }
                        td dir="auto" {
                            (said(&defect.text))
                            @if let Some(photo) = defect.photo_in_words() { br; small { (said(&photo)) } }
                            (struck_parts(&defect.struck, |struck| struck.was.clone()))
                        }
                        td dir="auto" { (said(&defect.standing)) }
                    }
                }
            }
        }
    };
    section("defects", "Defects", content)
}
