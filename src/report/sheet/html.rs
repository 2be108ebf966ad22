//! The sheet for a browser: one file that prints on A4 and Letter, a step a page where it fits, boxes large enough to
//! write in. Nothing is fetched and nothing runs.

use maud::{Markup, html};

use crate::report::frame::{self, Running};
use crate::report::page::{clean, cut, width_of};
use crate::walk::blank::{Answer, ItemForm, StepForm};
use crate::walk::spoken;

use super::boxes::{self, Boxes, Column};
use super::{Sheet, words};

/// The whole sheet as a page.
pub fn page(sheet: &Sheet) -> String {
    let form = &sheet.form;
    let title = clean(&form.title);
    let all = sheet.only.is_empty();
    let mut sections = sections(sheet);
    let body = html! {
        header {
            h1 dir="auto" { (title) }
            p.version { @if let Some(revision) = &form.revision { "Revision " (clean(revision)) ". " } "Text " (sheet.digest) }
        }
        main {
            @if all {
                (visit(sheet))
                (head(sheet))
            }
            @for step in sheet.steps() {
                @if let Some(title) = sections.next().flatten() { h2 dir="auto" { (clean(title)) } }
                (step_part(step))
            }
            (tables(sheet))
            (remedies(sheet))
            @let checks = words::crosschecks(sheet);
            @if all && !checks.is_empty() {
                section.checks {
                    h2 { "Cross-checks between the tests" }
                    p { (words::CROSSCHECKS) }
                    ul { @for text in &checks { li dir="auto" { (clean(text)) } } }
                }
            }
            @if all { (signatures(sheet)) }
        }
        footer { p { (words::END) } }
    };
    let version = form.revision.as_ref().map(|it| format!("revision {}, ", cut(it, 24))).unwrap_or_default();
    let version = format!("{version}text {}", sheet.digest.get(..8).unwrap_or_default());
    let foot = "Machine No. ________________   Day ____-__-__";
    let running = Running { left: &cut(&title, 60), right: &version, foot }.style();
    frame::page(&format!("{title}, blank sheet"), &[STYLE, &running], &body)
}

const STYLE: &str = include_str!("sheet.css");

/// For each step the title of the section that begins with it.
fn sections(sheet: &Sheet) -> impl Iterator<Item = Option<&String>> {
    let mut last = None;
    sheet.steps().map(move |step| {
        let section = step.section.as_ref();
        let is_new = section != last;
        last = section;
        section.filter(|_| is_new)
    })
}

// ------------------------------------------------------------------------------------------------ before the visit

fn visit(sheet: &Sheet) -> Markup {
    let form = &sheet.form;
    let people = words::people(sheet);
    let left_out = form.steps.iter().filter_map(|step| Some((step, step.not_applicable.as_ref()?)));
    let left_out: Vec<_> = left_out.collect();
    html! {
        section.visit {
            h2 { "Before the visit" }
            p { (words::effort(&form.visit.effort)) }
            p.small { (words::ESTIMATE) }
            h3 { "Instruments" }
            table.list.bring {
                thead { tr {
                    th scope="col" { "Ready" } th scope="col" { "Bring" } th scope="col" { "It must do" } th scope="col" { "For" }
                    th scope="col" { "Its number" } th scope="col" { "Calibrated until" }
                } }
                tbody {
                    @for it in &form.instruments {
                        tr {
                            td { (tick()) }
                            td dir="auto" { (clean(&it.title)) }
                            td { (clean(&words::demands(it))) }
                            td { (it.steps.join(", ")) }
                            td.box {}
                            td.box {}
                        }
                    }
                }
            }
            h3 { "Order of the set-ups" }
            @if form.visit.other_order { p { (words::OTHER_ORDER) } }
            table.list.order {
                thead { tr { th scope="col" { "No." } th scope="col" { "Set-up" } th scope="col" { "Steps" } th scope="col" { "Time" } th scope="col" { "Power" } } }
                tbody {
                    @for (index, it) in form.visit.set_ups.iter().enumerate() {
                        tr {
                            td { (index + 1) }
                            td dir="auto" { (clean(&it.title)) }
                            td { (words::steps_of(it)) }
                            td { (words::time_of(it)) }
                            td { @if it.powered { "runs the machine" } }
                        }
                    }
                }
            }
            @if !people.is_empty() {
                h3 { "People besides the operator" }
                ul { @for person in &people { li dir="auto" { (clean(person)) } } }
            }
            @if !left_out.is_empty() {
                h3 { "Not taken, by the facts given" }
                ul { @for (step, why) in &left_out { li dir="auto" { (step.name) " " (clean(&step.title)) ": only when " (clean(why)) } } }
            }
        }
    }
}

fn head(sheet: &Sheet) -> Markup {
    let form = &sheet.form;
    html! {
        section.visit {
            h2 { "The machine, and what it is read with" }
            @for text in form.scope.iter().chain(&form.notes) { p dir="auto" { (clean(text)) } }
            @for text in &form.basis { p dir="auto" { b { "Basis. " } (clean(text)) } }
            p.caution { b { "Caution. " } (words::CAUTION) }
            p { (words::LIMITS) }
            h3 { "How to fill it in" }
            ul { @for line in words::how_to(sheet) { li { (clean(&line)) } } }
            table.facts {
                tbody {
                    tr { th scope="row" { "Operator, who answers for the readings" } td.box {} td {} }
                    @for fact in &form.facts {
                        tr {
                            th scope="row" dir="auto" { (clean(&fact.label)) @if let Some(tag) = &fact.tag { " " span.name { "[" (tag) "]" } } }
                            @match &fact.value {
                                Some(value) => { td.given dir="auto" { (clean(value)) } }
                                None => { (cell(&fact.answer)) }
                            }
                            td.small { (clean(&words::fact_hint(fact))) }
                        }
                    }
                }
            }
        }
    }
}

// ------------------------------------------------------------------------------------------------ a step

fn step_part(step: &StepForm) -> Markup {
    html! {
        article.step {
            h3 dir="auto" { span.step-name { (step.name) } " " (clean(&step.title)) }
            @if let Some(why) = &step.not_applicable {
                p { "Not taken: only when " (clean(why)) "." }
            } @else {
                @let narrow = step.items.iter().take_while(|item| !is_wide(item)).count();
                @let (beside, beneath) = step.items.split_at(narrow);
                div.step-body {
                    div.words {
                        @for (word, text) in words::before(step) {
                            p.line.caution[word == "CAUTION" || word == "STOP AT ONCE"] dir="auto" { b { (word) ". " } (clean(&text)) }
                        }
                        @for text in words::valid(step) { p.line dir="auto" { b { "Holds only if " } (clean(&text)) } }
                        @for text in words::limits(step) { p.line.limit dir="auto" { (clean(&text)) } }
                        @if let Some(text) = words::adjusting(step) { p.line { b { "If adjusted. " } (clean(&text)) } }
                    }
                    div {
                        (answers(step))
                        @for item in beside { (item_part(item)) }
                        @if beneath.is_empty() { @for adjustment in &step.adjustments { (item_part(adjustment)) } }
                    }
                }
                @for item in beneath { (item_part(item)) }
                @if !beneath.is_empty() { @for adjustment in &step.adjustments { (item_part(adjustment)) } }
                p.remarks { "Remarks" }
            }
        }
    }
}

/// Whether its boxes want the whole width of the page. What comes after it follows beneath, in the order it is read in.
fn is_wide(item: &ItemForm) -> bool {
    item.series.is_some()
        || item.answer == Answer::Findings
        || match boxes::of(item) {
            Boxes::One => false,
            Boxes::Table { columns, .. }
                if columns.iter().any(|it| matches!(it.answer, Answer::Words(_))) =>
            {
                true
            }
            // About so many letters fit beside the words of the step; a box is never narrower than nine of them.
            Boxes::Table { corner, columns, rows } => {
                let label = rows.iter().chain([&corner]).map(|row| width_of(row)).max().unwrap_or(0);
                let columns = columns.iter().map(|column| width_of(&column.title).max(9) + 2);
                label + columns.sum::<usize>() > 54
            }
            Boxes::Run(rows) => rows.iter().map(|(_, stations)| stations.len()).sum::<usize>() > 6,
        }
}

/// When it was read and by whom, what is confirmed and waited for.
fn answers(step: &StepForm) -> Markup {
    html! {
        table.facts {
            tbody {
                tr.read {
                    th scope="row" { "Read: day, time, by whom" }
                    td.box {}
                    td { (tick()) " as found" br; (tick()) " try ____" }
                }
                @for by in &step.by { tr { th scope="row" dir="auto" { "Done by: " (clean(by)) } td.box {} td.small { "name" } } }
                @for text in &step.confirms {
                    tr { th scope="row" dir="auto" { "Confirmed: " (clean(text)) } (cell(&Answer::YesNo)) td {} }
                }
                @for (who, what) in &step.holds {
                    tr { th scope="row" dir="auto" { b { "Wait for witness. " } (clean(what)) " (" (clean(who)) ")" } td.box {} td.small { "name" } }
                }
                @for (time, what) in &step.waits {
                    tr { th scope="row" dir="auto" { "Wait " (time) ": " (clean(what)) } td { "from ____:____ until ____:____" } td {} }
                }
            }
        }
    }
}

fn item_part(item: &ItemForm) -> Markup {
    let boxes = boxes::of(item);
    let is_one = item.series.is_none() && boxes == Boxes::One;
    let hints = if is_one { words::hints_beside(item) } else { words::hints(item) };
    html! {
        section.item.long[item.series.is_some()].alone[is_one || item.series.is_some() || item.answer == Answer::Findings] {
            @if let Some(condition) = &item.only_when { p.line { b { "Only when " } (clean(condition)) } }
            @if item.answer == Answer::Findings {
                h4 dir="auto" { (clean(&item.label)) }
                (small(&hints))
                div.large {}
            } @else if is_one {
                table.facts { tbody { tr {
                    th scope="row" dir="auto" { (clean(&item.label)) }
                    (cell(&item.answer))
                    td.small { @if let Answer::Number { unit } = &item.answer { (unit) } }
                } } }
                (small(&hints))
            } @else {
                h4 dir="auto" { (clean(&item.label)) }
                (small(&hints))
                @if let Some(series) = &item.series {
                    p.line { (clean(&words::series(item).unwrap_or_default())) }
                    @for other in &series.with { p.line dir="auto" { (spoken(&other.name)) ": " (clean(&other.label)) } }
                    p.line { "Begun at ____:____" }
                    (series_table(&boxes::of_series(item, &series.with), &series.due))
                    @if series.more { p.line { "Further rows: print this page again." } }
                } @else {
                    (boxes_part(&boxes))
                }
            }
        }
    }
}

fn small(hints: &[String]) -> Markup {
    html! { @if !hints.is_empty() { p.small dir="auto" { (clean(&hints.join("; "))) } } }
}

fn boxes_part(boxes: &Boxes) -> Markup {
    match boxes {
        Boxes::One => html! {},
        Boxes::Table { corner, columns, rows } => html! {
            div.tables { @for rows in boxes::side_by_side(columns, rows) { table.boxes {
                thead { tr {
                    th scope="col" { (clean(corner)) }
                    @for column in columns { (title(&column.title)) }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            @if row.is_empty() && boxes::is_open(rows) { td.box.label {} }
                            @else if row.is_empty() { td {} }
                            @else { th scope="row" dir="auto" { (clean(row)) } }
                            @for column in columns { (cell(&column.answer)) }
                        }
                    }
                }
            } } }
        },
        Boxes::Run(rows) => html! {
            @for (label, stations) in rows {
                div.run {
                    @if !label.is_empty() { b.lead dir="auto" { (clean(label)) } }
                    @for station in stations {
                        div.one {
                            @if station.is_empty() { span.place.open {} } @else { span.place dir="auto" { (clean(station)) } }
                            span.value {}
                        }
                    }
                }
            }
        },
    }
}

fn series_table(columns: &[Column], due: &[String]) -> Markup {
    html! {
        table.boxes {
            thead { tr {
                th scope="col" { "Due" } th scope="col" { "Read at" }
                @for column in columns { (title(&column.title)) }
            } }
            tbody {
                @for time in due {
                    tr { th scope="row" { (time) } td.box {} @for column in columns { (cell(&column.answer)) } }
                }
            }
        }
    }
}

fn tick() -> Markup {
    html! { span.tick {} }
}

/// A box, or words to be ticked.
fn cell(answer: &Answer) -> Markup {
    let ticks = |words: &[String]| html! { td.ticks { @for word in words { span.choice { (tick()) " " (clean(word)) } " " } } };
    match answer {
        Answer::YesNo => ticks(&["yes".to_owned(), "no".to_owned()]),
        Answer::Words(words) => ticks(words),
        _ => html! { td.box {} },
    }
}

// ------------------------------------------------------------------------------------------------ the end

fn tables(sheet: &Sheet) -> Markup {
    html! {
        @if !sheet.form.tables.is_empty() {
            section.closely {
                h2 { "Limits that hang on what is asked at the machine" }
                @for (at, (title, rows)) in sheet.form.tables.iter().enumerate() {
                    p.line dir="auto" { b { "Table " (at + 1) } ": " (clean(title)) }
                    ul { @for row in rows { li { (clean(row)) } } }
                }
            }
        }
    }
}

fn remedies(sheet: &Sheet) -> Markup {
    let remedies = words::remedies(sheet);
    let bases = words::bases(sheet);
    html! {
        @if !remedies.is_empty() {
            section.closely {
                h2 { (words::REMEDIES) }
                @for (step, texts) in &remedies {
                    div.item {
                        p.line dir="auto" { b { (step.name) " " (clean(&step.title)) } }
                        ul { @for text in texts { li dir="auto" { (clean(text)) } } }
                    }
                }
            }
        }
        @if !bases.is_empty() {
            section.closely {
                h2 { (words::BASES) }
                ul { @for text in &bases { li dir="auto" { (clean(text)) } } }
            }
        }
    }
}

/// Over a column; one that needs none has an empty cell, as a head that says nothing is read out as a head.
fn title(words: &str) -> Markup {
    html! { @if words.is_empty() { td {} } @else { th scope="col" dir="auto" { (clean(words)) } } }
}

fn signatures(sheet: &Sheet) -> Markup {
    html! {
        section.step {
            h2 { "Read as it stands on these pages" }
            table.facts.used.signatures {
                thead { tr { th scope="col" { "Who" } th scope="col" { "Name and signature" } th scope="col" { "Day" } } }
                tbody {
                    tr { th scope="row" { "Operator" } td.box {} td.box {} }
                    @for (_, who) in &sheet.form.parties { tr { th scope="row" dir="auto" { (clean(who)) } td.box {} td.box {} } }
                }
            }
        }
    }
}
