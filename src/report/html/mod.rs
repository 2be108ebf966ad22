//! The report as one page of HTML: what the customer reads first, then what the next inspector needs. One file that loads
//! nothing, runs nothing and prints on A4 and Letter.

mod blocks;
mod cells;
mod ending;
mod head;
mod readings;
mod steps;
mod tables;

use maud::{Markup, html};

use super::figures::Figure;
use super::frame::{self, Running};
use super::model::{Proof, Report};
use super::page::clean;
use super::plot;
use super::summary::warnings;
use crate::walk::machine::Machine;

pub(super) use blocks::Plain;

const STYLE: &str = include_str!("page.css");

/// What the page is made from.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    pub report: &'a Report,
    pub proof: &'a Proof,
    /// The walk as it was replayed. Without it nothing is drawn, and the page says why.
    pub machine: Option<&'a Machine>,
    /// Name and text of each procedure that is frozen in the record.
    pub texts: &'a [(String, String)],
}

/// Lays the page out.
pub fn page(page: &Page<'_>) -> String {
    let Page { report, proof, .. } = *page;
    let first = warnings(report, proof);
    let name = machine_name(report);
    let title = if name.is_empty() { report.title.clone() } else { format!("{name}: {}", report.title) };
    let steps = steps::steps(page);
    let body = html! {
        header {
            @for warning in &first { p.first dir="auto" { (said(warning)) } }
            (head::title(report))
        }
        svg.defs aria-hidden="true" focusable="false" { (plot::definitions()) }
        nav aria-label="Contents" { (contents(report, proof)) }
        main {
            (head::verdict(report, proof))
            (head::machine(report))
            (head::conditions(report))
            (head::exceptions(report, proof))
            (head::amendments(report))
            (tables::rules(report, proof))
            (head::crosschecks(proof))
            (tables::moves(report))
            (tables::defects(report))
            (steps)
            (ending::instruments(report))
            (ending::remarks(report))
            (ending::procedure(page))
            (ending::signatures(report, proof))
            (readings::long(report))
        }
        footer {
            p { "A pass here is no certificate of legal compliance. Local codes, the maker's instructions and licensed practice take precedence." }
        }
    };
    frame::page(&title, &[STYLE, plot::STYLE, &running(report, proof, &name, &first)], &body)
}

/// What someone typed, safe to show; no line breaks within a date.
fn said(text: &str) -> Markup {
    let text = clean(text);
    let mut parts = Vec::new();
    let mut rest = text.as_str();
    while let Some((from, to)) = dated(rest) {
        parts.push((&rest[..from], &rest[from..to]));
        rest = &rest[to..];
    }
    html! {
        @for (before, date) in parts { (before) time { (date) } }
        (rest)
    }
}

/// Where the first date of a text stands, with its time of day. One within a name of a file is none.
fn dated(text: &str) -> Option<(usize, usize)> {
    let like = |at: usize, form: &str| {
        let own = text.as_bytes().get(at..at + form.len())?;
        let alike = |(own, form): (&u8, u8)| if form == b'0' { own.is_ascii_digit() } else { *own == form };
        let to = at + form.len();
        let behind = text.get(to..)?.trim_start_matches(['.', ':']);
        let ends = !behind.starts_with(|it: char| it.is_alphanumeric() || "-_/".contains(it));
        (own.iter().zip(form.bytes()).all(alike) && ends).then_some((at, to))
    };
    let digits = text.match_indices(|it: char| it.is_ascii_digit());
    let begins = |at: &usize| !text[..*at].ends_with(|it: char| it.is_alphanumeric() || "-_/.:".contains(it));
    let mut starts = digits.map(|(at, _)| at).filter(begins);
    starts.find_map(|at| like(at, "0000-00-00 00:00").or_else(|| like(at, "0000-00-00")))
}

/// A section with its heading.
fn section(id: &str, heading: &str, content: Markup) -> Markup {
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (heading) }
            (content)
        }
    }
}

/// A table that may be wider than a narrow screen: it can be moved by hand and by the keyboard.
fn wide(name: &str, table: Markup) -> Markup {
    html! { div.wide tabindex="0" role="region" aria-label=(clean(name)) { (table) } }
}

/// A drawing, named and described in words that everyone reads.
fn figure(id: &str, figure: &Figure) -> Markup {
    let (title, words) = (format!("{id}-t"), format!("{id}-w"));
    html! {
        figure {
            (figure.drawing.on_page(&title, &words))
            figcaption {
                b id=(title) dir="auto" { (said(&figure.title)) }
                span id=(words) { (said(&figure.words)) }
            }
        }
    }
}

fn contents(report: &Report, proof: &Proof) -> Markup {
    let mut parts =
        vec![("verdict", "Verdict"), ("machine", "The machine"), ("exceptions", "Exceptions, not tested")];
    parts.extend((!report.amendments.is_empty()).then_some(("amendments", "Added after the signing")));
    let (required, tests): (Vec<_>, Vec<_>) =
        report.rows.iter().partition(|row| row.required || row.electrical);
    parts.extend((!required.is_empty()).then_some(("required", "Safety and what was required")));
    parts.extend((!tests.is_empty()).then_some(("tests", "Tests")));
    parts.extend((!proof.crosschecks.is_empty()).then_some(("crosschecks", "Cross-checks")));
    parts.extend((!report.moves.is_empty()).then_some(("moves", "What was altered")));
    parts.extend((!report.defects.is_empty()).then_some(("defects", "Defects")));
    parts.extend((!report.steps.is_empty()).then_some(("readings", "Each test with its readings")));
    parts.extend((!report.instruments.is_empty()).then_some(("instruments", "Instruments")));
    parts.extend([("procedure", "Procedure and record"), ("signatures", "Signatures")]);
    html! { ul { @for (id, name) in parts { li { a href={ "#" (id) } { (name) } } } } }
}

/// What the machine is called: its first facts in free words, such as name and serial number.
fn machine_name(report: &Report) -> String {
    let words = report.machine.iter().filter(|fact| fact.free_text).take(2);
    let words: Vec<String> = words.map(|fact| super::page::cut(fact.answer.value.trim(), 40)).collect();
    words.join(", ")
}

/// The running lines of a printed page: machine, what the record is not, its digest, the number of the page.
fn running(report: &Report, proof: &Proof, name: &str, first: &[String]) -> String {
    let name = if name.is_empty() { super::page::cut(&report.title, 60) } else { name.to_owned() };
    let warning = first.first().map(|words| frame::in_short(words)).unwrap_or_default();
    let foot = format!("record SHA-256 {}", proof.end);
    Running { left: &name, right: warning, foot: &foot }.style()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_is_one_word_wherever_it_stands_and_a_name_of_a_file_is_none() {
        let page = |text: &str| said(text).into_string();
        assert_eq!(
            page("walked 2026-03-02 09:14, again 2026-03-03."),
            "walked <time>2026-03-02 09:14</time>, again <time>2026-03-03</time>."
        );
        for plain in
            ["lathe-2026-03-02.record.jsonl", "2026-03-02.record.jsonl", "12026-03-02", "2026-03", "\u{664}2"]
        {
            assert_eq!(page(plain), plain);
        }
        assert_eq!(page("<b>2026-03-02 09:14:33"), "&lt;b&gt;<time>2026-03-02</time> 09:14:33");
    }
}
