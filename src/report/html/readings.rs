//! Raw readings: a table a set, corrections struck out. Very long sets stand at the end of the page, told here in short.

use maud::{Markup, html};

use super::cells::{self, Row};
use super::{said, section, wide};
use crate::quantity::{Sense, parse_exact};
use crate::report::model::{EntryLine, Readings, Report, StepPart, Struck, Try};
use crate::report::said::spoken;

/// A set of more entries than this stands at the end.
const LONG: usize = 200;

/// A set of no more entries than this stays on one printed page.
const KEPT: usize = 60;

/// The readings of a try; those at several places stand beside the results that are `laid` out as they are.
pub(super) fn readings(part: &StepPart, attempt: &Try, laid: &[Markup]) -> Markup {
    let single = |set: &&Readings| matches!(set.entries.as_slice(), [entry] if entry.stations.is_empty());
    let (singles, others): (Vec<&Readings>, Vec<&Readings>) = attempt.readings.iter().partition(single);
    html! {
        @if !singles.is_empty() {
            table.results {
                thead { tr { th scope="col" { "Reading" } th scope="col" { "As entered" } } }
                tbody {
                    @for set in singles {
                        @for entry in &set.entries {
                            tr {
                                th scope="row" dir="auto" { (said(&set.label)) (which(set)) (sense(set)) }
                                td dir="auto" { (one(entry)) }
                            }
                        }
                    }
                }
            }
        }
        @if !others.is_empty() || !laid.is_empty() {
            div.sets {
                @for (number, set) in others.iter().enumerate() {
                    @if set.entries.len() > LONG { (in_short(part, attempt, set, number)) } @else { (table(set, &anchor(part, attempt, number))) }
                }
                @for result in laid { (result) }
            }
        }
    }
}

fn which(set: &Readings) -> Markup {
    html! {
        @if set.set > 1 { ", measured again (" (set.set) ")" }
        @if set.left_off { ", left off and begun again" }
    }
}

fn sense(set: &Readings) -> Markup {
    html! {
        @if let Some(Sense { plus, minus }) = &set.sense { small { "plus: " (said(plus)) "; minus: " (said(minus)) } }
        @for (station, Sense { plus, minus }) in &set.own {
            small { "but " (said(station)) ": plus: " (said(plus)) "; minus: " (said(minus)) }
        }
    }
}

/// An entry: what counts, what was struck out and why, what else must be known.
fn one(entry: &EntryLine) -> Markup {
    html! {
        @for before in &entry.struck { del { (said(&before.value())) } " " }
        (said(&entry.value()))
        @for before in &entry.struck { small { "corrected: " (said(&before.reason)) } }
        @if let Some(note) = entry.note() { small { (said(&note)) } }
    }
}

/// A fact with what was struck out.
pub(super) fn answered(value: &str, struck: &[Struck]) -> Markup {
    html! {
        @for before in struck { del { (said(&before.value())) } " " }
        (said(value))
        @for before in struck { " (corrected: " (said(&before.reason)) ")" }
    }
}

/// Entries with the same outer stations in a row, the last station of each above it.
fn table(set: &Readings, id: &str) -> Markup {
    let name = format!("{id}-name");
    html! {
        div.keep[set.entries.len() <= KEPT] {
            p.caption id=(name) dir="auto" { (said(&set.label)) (which(set)) (sense(set)) }
            (wide(&set.label, cells::table(&name, &corner(set), &rows(&set.entries))))
            (read_again(set))
        }
    }
}

/// What the names of the rows stand on.
fn corner(set: &Readings) -> String {
    set.axes.split_last().map(|(_, outer)| spoken(&outer.join(", "))).unwrap_or_default()
}

/// Stations read once more behind a break, by which both parts were joined.
fn read_again(set: &Readings) -> Markup {
    html! {
        @if !set.read_again.is_empty() {
            p.about { "Read again behind the break, to join both parts:" }
            dl.pairs {
                @for entry in &set.read_again { dt dir="auto" { (said(&entry.place())) } dd dir="auto" { (one(entry)) } }
            }
        }
    }
}

/// Entries side by side as long as all stations but the last stay the same.
fn rows(entries: &[EntryLine]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for entry in entries {
        let outer = entry.outer_place();
        let cell = (entry.last_place(), one(entry));
        match rows.last_mut() {
            Some(row) if row.outer == outer => row.cells.push(cell),
            _ => rows.push(Row { outer, cells: vec![cell] }),
        }
    }
    rows
}

/// The address of a set within the page.
fn anchor(part: &StepPart, attempt: &Try, number: usize) -> String {
    format!("all-{}-{}-{number}", super::tables::id_of(&part.name), attempt.number)
}

fn in_short(part: &StepPart, attempt: &Try, set: &Readings, number: usize) -> Markup {
    let numbers = set.entries.iter().filter_map(|entry| {
        let value = parse_exact(&entry.answer.as_ref()?.value)?;
        Some((value, entry))
    });
    let numbers: Vec<_> = numbers.collect();
    let at = |entry: &EntryLine| entry.place();
    let unit = set.unit.as_deref().unwrap_or_default();
    let said_at = |found: Option<&(crate::quantity::Rational, &EntryLine)>| {
        found.map(|(value, entry)| format!("{} {unit} at {}", crate::quantity::exact_text(value), at(entry)))
    };
    let least = said_at(numbers.iter().min_by(|a, b| a.0.cmp(&b.0)));
    let greatest = said_at(numbers.iter().max_by(|a, b| a.0.cmp(&b.0)));
    let corrected = set.entries.iter().filter(|entry| !entry.struck.is_empty()).count();
    html! {
        p dir="auto" {
            b { (said(&set.label)) (which(set)) } ": " (set.entries.len()) " entries"
            @if let (Some(least), Some(greatest)) = (least, greatest) { ", least " (said(&least)) ", greatest " (said(&greatest)) }
            @if corrected > 0 { ", " (corrected) " of them corrected" }
            ". All of them: "
            a href={ "#" (anchor(part, attempt, number)) } { "at the end of this report" }
            "." (sense(set))
        }
    }
}

/// The sets that are too long to stand within their tests.
pub(super) fn long(report: &Report) -> Markup {
    let mut found = Vec::new();
    for part in &report.steps {
        for attempt in &part.tries {
            let single =
                |set: &&Readings| matches!(set.entries.as_slice(), [entry] if entry.stations.is_empty());
            let others = attempt.readings.iter().filter(|set| !single(set)).enumerate();
            found.extend(
                others.filter(|(_, set)| set.entries.len() > LONG).map(|(at, set)| (part, attempt, at, set)),
            );
        }
    }
    if found.is_empty() {
        return html! {};
    }
    let content = html! {
        @for (part, attempt, number, set) in &found {
            h3 id=(anchor(part, attempt, *number)) dir="auto" { (said(&part.name)) ", try " (attempt.number) }
            (table(set, &anchor(part, attempt, *number)))
        }
    };
    section("long", "Long series, entry by entry", content)
}
