//! The first page: verdict, machine, conditions, exceptions.

use maud::{Markup, html};

use super::{said, section};
use crate::check::program::WalkVerdict;
use crate::report::model::{Proof, Report};
use crate::report::said::when;
use crate::report::summary;

pub(super) fn title(report: &Report) -> Markup {
    html! {
        h1 dir="auto" { (said(&report.title)) }
        p.about {
            @if let Some(revision) = &report.revision { "revision " (said(revision)) ", " }
            (said(&report.walked_said()))
        }
    }
}

pub(super) fn verdict(report: &Report, proof: &Proof) -> Markup {
    let verdict = report.closed.as_ref().map_or("unfinished", |closed| closed.verdict.as_str());
    let class = if WalkVerdict::accepts(verdict) { "verdict" } else { "verdict bad" };
    section(
        "verdict",
        "Verdict",
        html! {
            p class=(class) { (said(&verdict.to_uppercase())) }
            @for signature in report.signatures.iter().filter(|signature| signature.bytes > 0 && !signature.amends) {
                p { "Signed by " bdi { (said(&signature.name)) } ", " (said(&signature.party)) ", " (said(&when(&signature.time))) }
            }
            @if report.closed.is_some() && !proof.missing.is_empty() {
                p.bad { "Still expected to sign: " (said(&proof.missing.join(", "))) }
            }
        },
    )
}

pub(super) fn machine(report: &Report) -> Markup {
    section(
        "machine",
        "The machine",
        html! {
            @if report.machine.is_empty() { p { "Nothing was asked of the machine." } }
            @else {
                dl.facts {
                    @for fact in &report.machine {
                        div { dt dir="auto" { (said(&fact.label)) } dd dir="auto" { (super::readings::answered(&fact.value(), &fact.struck)) } }
                    }
                }
            }
            @if !report.people.is_empty() {
                h3 { "People" }
                dl { @for (role, name) in &report.people { dt dir="auto" { (said(&report.role_said(role))) } dd dir="auto" { (said(name)) } } }
            }
        },
    )
}

pub(super) fn conditions(report: &Report) -> Markup {
    let stated = report.steps.iter().flat_map(|part| part.conditions.iter().map(move |text| (part, text)));
    let stated: Vec<_> = stated.collect();
    section(
        "conditions",
        "Scope and conditions",
        html! {
            div.prose {
                @for text in &report.scope { p dir="auto" { (said(text)) } }
                @for text in &report.basis { p dir="auto" { "Basis: " (said(text)) } }
                @if !stated.is_empty() {
                    ul { @for (part, text) in &stated { li dir="auto" { (said(&part.name)) ": " (said(text)) } } }
                }
            }
            h3 { "Temperatures, as measured" }
            ul { @for text in report.temperatures_said() { li dir="auto" { (said(&text)) } } }
        },
    )
}

pub(super) fn exceptions(report: &Report, proof: &Proof) -> Markup {
    let exceptions = summary::exceptions(report, proof);
    section(
        "exceptions",
        "Exceptions, and what was not tested",
        html! {
            @if exceptions.is_empty() { p { "None." } }
            @else { ul { @for text in &exceptions { li dir="auto" { (said(text)) } } } }
        },
    )
}

pub(super) fn amendments(report: &Report) -> Markup {
    if report.amendments.is_empty() {
        return html! {};
    }
    let content = html! {
        p.prose { "The verdict above is the one that was signed; this became known later and does not change it." }
        ul { @for it in &report.amendments { li dir="auto" { (said(&it.said())) } } }
    };
    section("amendments", "Added after the signing", content)
}

pub(super) fn crosschecks(proof: &Proof) -> Markup {
    if proof.crosschecks.is_empty() {
        return html! {};
    }
    section(
        "crosschecks",
        "Cross-checks between tests",
        html! { ul { @for text in &proof.crosschecks { li dir="auto" { (said(text)) } } } },
    )
}
