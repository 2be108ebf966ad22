//! The last pages: instruments, remarks, procedure and record, signatures and how to check them by hand.

use maud::{Markup, html};

use super::tables::struck_parts;
use super::{Page, said, section, wide};
use crate::report::by_hand;
use crate::report::model::{Proof, Report, SignatureLine};
use crate::report::said::when;

pub(super) fn instruments(report: &Report) -> Markup {
    if report.instruments.is_empty() {
        return html! {};
    }
    let table = html! {
        table {
            thead { tr { @for head in ["Instrument", "Number", "Calibrated until", "As it was stated"] { th scope="col" { (head) } } } }
            tbody {
                @for it in &report.instruments {
                    tr {
                        th scope="row" dir="auto" { (said(if it.title.is_empty() { &it.name } else { &it.title })) }
                        td dir="auto" { (said(&it.number)) }
                        td {
                            @match &it.until { Some(until) => (said(until)), None => "no date given" }
                            @if it.past { " " strong.mark { "PAST ITS DATE" } }
                        }
                        td { (said(&it.details.join("; "))) (struck_parts(&it.struck, |struck| struck.was.clone())) }
                    }
                }
            }
        }
    };
    section("instruments", "Instruments", wide("Instruments", table))
}

pub(super) fn remarks(report: &Report) -> Markup {
    if report.history.is_empty() && report.notes.is_empty() {
        return html! {};
    }
    let content = html! {
        ul {
            @for note in &report.notes { li dir="auto" { (said(note)) } }
            @for (time, text) in &report.history { li dir="auto" { (said(&when(time))) " " (said(text)) } }
        }
    };
    section("remarks", "Remarks", content)
}

pub(super) fn procedure(page: &Page<'_>) -> Markup {
    let Page { report, proof, texts, .. } = *page;
    let content = html! {
        dl.short {
            dt { "Procedure" } dd dir="auto" { (said(&report.title)) }
            @if let Some(revision) = &report.revision { dt { "Revision" } dd dir="auto" { (said(revision)) } }
            @for (name, digest) in &report.files {
                dt { "Text, frozen in the record" } dd { (said(name)) br; "SHA-256 " span.digest { (said(digest)) } }
            }
            @if let Some(previous) = &report.previous {
                dt { "The record before this one" } dd { "SHA-256 " span.digest { (said(previous)) } }
            }
            dt { "Record" } dd { (said(&proof.record)) br; "SHA-256 of its end " span.digest { (said(&proof.end)) } }
            @for (picture, digest) in report.pictures() {
                dt { "Picture" } dd { (said(&picture)) br; "SHA-256 " span.digest { (said(digest)) } }
            }
            dt { "Written by" } dd { "bedway " (said(&report.program)) }
        }
        @for (name, text) in texts {
            details {
                summary { "The whole text of " (said(name)) " (not printed unless it is opened)" }
                pre dir="ltr" { @for line in text.lines() { (said(line)) "\n" } }
            }
        }
    };
    section("procedure", "Procedure and record", content)
}

pub(super) fn signatures(report: &Report, proof: &Proof) -> Markup {
    let content = html! {
        @if report.signatures.is_empty() { p.bad { "None: anybody could have written this." } }
        @for (at, it) in report.signatures.iter().enumerate() { (signature(it, proof, at)) }
        @for party in &proof.missing { p.bad { (said(party)) ": has not signed" } }
        @for text in by_hand::explained(&report.signatures, proof) { p.prose { (said(&text)) } }
    };
    section("signatures", "Signatures", content)
}

fn signature(it: &SignatureLine, proof: &Proof, at: usize) -> Markup {
    let command = by_hand::command(it, proof).join(" ");
    html! {
        div.keep {
            dl.short {
                dt { "Signed by" } dd dir="auto" { b { (said(&it.name)) } ", " (said(&it.party)) ", " (said(&when(&it.time))) }
                dt { "What was signed" } dd { (said(&it.signs())) }
                dt { "Fingerprint of the key" } dd { span.digest { (said(&it.fingerprint)) } }
                @if let Some(standing) = proof.signatures.get(at) { dt { "What is proved" } dd { (said(standing)) } }
                @if it.bytes > 0 { dt { "Check it without this program" } dd { code { (said(&command)) } } }
            }
        }
    }
}
