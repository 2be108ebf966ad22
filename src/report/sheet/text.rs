//! The sheet for a printer: pages of 80 columns and 60 lines, parted by form feeds.

use crate::report::page::{Columns, clean, columns, cut, padded, width_of, wrapped};
use crate::walk::blank::{Answer, ItemForm, StepForm};
use crate::walk::spoken;

use super::boxes::{self, Boxes, Column};
use super::pages::{AROUND, Block, LINES, Pages, WIDTH};
use super::{Sheet, words};

const BOX: usize = 11;

/// The whole sheet as text.
pub fn render(sheet: &Sheet) -> String {
    let mut pages = Pages::default();
    if sheet.only.is_empty() {
        visit(&mut pages, sheet);
        pages.turn();
        head(&mut pages, sheet);
    }
    let mut section = None;
    for step in sheet.steps() {
        if step.section != section {
            section.clone_from(&step.section);
            pages.announce(section.as_deref().unwrap_or_default());
        }
        pages.step(&step.name, step_blocks(step));
    }
    tables(&mut pages, sheet);
    remedies(&mut pages, sheet);
    if sheet.only.is_empty() {
        let checks = words::crosschecks(sheet);
        if !checks.is_empty() {
            let lines = wrap(words::CROSSCHECKS, "", "").into_iter();
            let checks = checks.iter().flat_map(|text| wrap(text, "  - ", "    "));
            pages.block(with_heading("Cross-checks between the tests", lines.chain(checks)));
        }
        signatures(&mut pages, sheet);
    }
    pages.print(sheet)
}

fn wrap(text: &str, first: &str, rest: &str) -> Block {
    wrapped(&clean(text), WIDTH, first, rest)
}

fn heading(text: &str) -> Block {
    vec![String::new(), text.to_owned(), "-".repeat(width_of(text))]
}

fn with_heading(text: &str, lines: impl IntoIterator<Item = String>) -> Block {
    heading(text).into_iter().chain(lines).collect()
}

// ------------------------------------------------------------------------------------------------ before the visit

fn visit(pages: &mut Pages, sheet: &Sheet) {
    let form = &sheet.form;
    pages.block(with_heading("Before the visit", wrap(&words::effort(&form.visit.effort), "", "")));
    pages.block(wrap(words::ESTIMATE, "", ""));
    let mut rows = vec![["", "bring", "it must do", "for"].map(str::to_owned).to_vec()];
    rows.extend(
        form.instruments.iter().map(|it| {
            vec!["[ ]".to_owned(), clean(&it.title), clean(&words::demands(it)), it.steps.join(", ")]
        }),
    );
    let fitted = Columns::fit(&rows, &[5, 30, 24], "");
    pages.block(heading("Instruments"));
    for (at, row) in rows.iter().enumerate() {
        let mut block = fitted.lines(row);
        if at > 0 {
            block.push(String::new());
            block.push(format!("       No. {}  calibrated until ____-__-__", "_".repeat(30)));
        }
        pages.block(block);
    }
    let mut rows = vec![["", "set-up", "steps", "time", ""].map(str::to_owned).to_vec()];
    rows.extend(form.visit.set_ups.iter().enumerate().map(|(index, it)| {
        vec![
            (index + 1).to_string(),
            clean(&it.title),
            words::steps_of(it),
            words::time_of(it),
            if it.powered { "runs".to_owned() } else { String::new() },
        ]
    }));
    pages.block(heading("Order of the set-ups (runs: the machine runs in it)"));
    if form.visit.other_order {
        pages.block(wrap(words::OTHER_ORDER, "", ""));
    }
    let lines = columns(&rows, &[3, 44, 14, 10], WIDTH, "");
    lines.into_iter().for_each(|line| pages.block(vec![line]));
    let people = words::people(sheet);
    if !people.is_empty() {
        let lines = people.iter().flat_map(|text| wrap(text, "  - ", "    "));
        pages.block(with_heading("People besides the operator", lines));
    }
    let left_out = form.steps.iter().filter_map(|step| {
        let why = step.not_applicable.as_ref()?;
        Some(wrap(&format!("{} {}: only when {why}", step.name, step.title), "  - ", "    "))
    });
    let left_out: Vec<String> = left_out.flatten().collect();
    if !left_out.is_empty() {
        pages.block(with_heading("Not taken, by the facts given", left_out));
    }
}

fn head(pages: &mut Pages, sheet: &Sheet) {
    let form = &sheet.form;
    let mut lines = Vec::new();
    for text in form.scope.iter().chain(&form.notes) {
        lines.extend(wrap(text, "", ""));
    }
    for text in &form.basis {
        lines.extend(wrap(text, "Basis: ", "  "));
    }
    lines.extend(wrap(words::CAUTION, "CAUTION: ", "  "));
    lines.extend(wrap(words::LIMITS, "", ""));
    pages.block(lines);
    let how = words::how_to(sheet).into_iter().flat_map(|line| wrap(&line, "  - ", "    "));
    pages.block(with_heading("How to fill it in", how));
    let line = |label: &str| format!("{} {}", padded(label, 38), "_".repeat(WIDTH - 39));
    pages.block(with_heading("Who", [String::new(), line("Operator, who answers for the readings")]));
    pages.block(heading("The machine"));
    for fact in &form.facts {
        let hint = words::fact_hint(fact);
        if let Some(value) = &fact.value {
            let given = wrap(&format!("{}: {value}", words::fact(fact)), "", "  ");
            pages.block(std::iter::once(String::new()).chain(given).collect());
            continue;
        }
        let answer = answer_line(&fact.answer, FACT, &hint);
        let room = WIDTH - 2 - width_of(&answer).max(FACT);
        let label = wrapped(&clean(&words::fact(fact)), room, "", "  ");
        let mut block = vec![String::new()];
        let last = label.len().saturating_sub(1);
        block.extend(label.into_iter().enumerate().map(|(index, words)| match index == last {
            true => format!("{}  {answer}", padded(&words, room)),
            false => words,
        }));
        pages.block(block);
    }
}

/// Columns for the answer to a question about the machine.
const FACT: usize = 33;

// ------------------------------------------------------------------------------------------------ a step

fn step_blocks(step: &StepForm) -> Vec<Block> {
    let title = format!("{}  {}", step.name, clean(&step.title));
    let mut head = vec![String::new()];
    head.extend(wrapped(&title, WIDTH, "", &" ".repeat(width_of(&step.name) + 2)));
    head.push("-".repeat(WIDTH));
    if let Some(why) = &step.not_applicable {
        head.extend(wrap(&format!("Not taken: only when {why}."), "", "  "));
        return vec![head];
    }
    for (word, text) in words::before(step) {
        head.extend(wrap(&text, &format!("{word}: "), "  "));
    }
    head.push(String::new());
    head.push("Read ____-__-__ at __:__   by ____________________   [ ] as found   [ ] try ____".to_owned());
    for by in &step.by {
        head.extend(answer_of(&format!("Done by: {by}. Name"), &Answer::Text, ""));
    }
    for text in &step.confirms {
        head.extend(answer_of(&format!("Confirmed: {text}"), &Answer::YesNo, ""));
    }
    for (who, what) in &step.holds {
        head.extend(answer_of(&format!("WAIT FOR WITNESS: {what} ({who}). Name"), &Answer::Text, ""));
    }
    for (time, what) in &step.waits {
        head.extend(wrap(&format!("Wait {time}: {what}"), "", "  "));
        head.extend([String::new(), "  from __:__   until __:__".to_owned()]);
    }
    let mut blocks = vec![head];
    for item in &step.items {
        blocks.extend(item_blocks(item));
    }
    let mut foot = Vec::new();
    let listed = |foot: &mut Block, word: &str, lines: Vec<String>| {
        lines.iter().for_each(|line| foot.extend(wrap(line, word, "  ")));
    };
    if !step.valid.is_empty() || !step.limits.is_empty() {
        foot.push(String::new());
    }
    listed(&mut foot, "Holds only if ", words::valid(step));
    listed(&mut foot, "", words::limits(step));
    if let Some(text) = words::adjusting(step) {
        foot.extend(wrap(&text, "If adjusted: ", "  "));
        for adjustment in &step.adjustments {
            foot.extend(item_blocks(adjustment).into_iter().flatten().skip(1));
        }
    }
    foot.push(String::new());
    foot.push(format!("Remarks {}", "_".repeat(WIDTH - 8)));
    blocks.push(foot);
    blocks
}

fn item_blocks(item: &ItemForm) -> Vec<Block> {
    let mut head = vec![String::new()];
    if let Some(condition) = &item.only_when {
        head.extend(wrap(condition, "Only when ", "  "));
    }
    let hints = words::hints(item).join(";  ");
    if let Some(series) = &item.series {
        head.extend(wrap(&item.label, "", "  "));
        head.extend(wrap(&hints, "  ", "  "));
        head.extend(words::series(item).map(|text| wrap(&text, "  ", "  ")).unwrap_or_default());
        for other in &series.with {
            let mut hints = words::hints(other);
            if let Answer::Words(words) = &other.answer {
                hints.insert(0, words.join(", "));
            }
            let text = format!("{}: {}; {}", spoken(&other.name), other.label, hints.join("; "));
            head.extend(wrap(text.trim_end_matches("; "), "  ", "    "));
        }
        head.extend([String::new(), "  Begun at __:__".to_owned()]);
        let columns = boxes::of_series(item, &series.with);
        let mut blocks = vec![head];
        blocks.extend(series_rows(&columns, &series.due));
        if series.more {
            blocks.push(wrap("Further rows: print this page again.", "  ", "  "));
        }
        return blocks;
    }
    match boxes::of(item) {
        Boxes::One => {
            let beside = words::hints_beside(item).join(";  ");
            let first = usize::from(item.only_when.is_none());
            head.extend(answer_of(&item.label, &item.answer, &beside).into_iter().skip(first));
            vec![head]
        }
        Boxes::Table { corner, columns, rows } => {
            head.extend(wrap(&item.label, "", "  "));
            head.extend(wrap(&hints, "  ", "  "));
            head.extend(table(&corner, &columns, &rows));
            split(head)
        }
        Boxes::Run(rows) => {
            head.extend(wrap(&item.label, "", "  "));
            head.extend(wrap(&hints, "  ", "  "));
            let mut blocks = vec![head];
            blocks.extend(rows.iter().map(|(label, stations)| run(label, stations)));
            blocks
        }
    }
}

/// A table longer than a page is broken between its rows.
fn split(block: Block) -> Vec<Block> {
    if block.len() <= LINES - AROUND {
        return vec![block];
    }
    block.chunks(2).map(<[String]>::to_vec).collect()
}

/// A label with its box behind it, or beneath it where both do not fit.
fn answer_of(label: &str, answer: &Answer, hints: &str) -> Block {
    let label = clean(label);
    if let Answer::Words(words) = answer
        && width_of(&answer_line(answer, WIDTH, "")) > 26
    {
        // All words to be ticked, under their question.
        let ticks = words.iter().map(|word| format!("[ ] {}", clean(word)));
        let ticks = columns(&[ticks.collect::<Vec<_>>()], &[], usize::MAX, "").join(" ");
        let mut block = vec![String::new()];
        block.extend(wrapped(&label, WIDTH, "", "  "));
        block.extend(wrapped(&clean(hints), WIDTH, "  ", "  ").into_iter().filter(|line| !line.is_empty()));
        block.push(String::new());
        block.extend(wrapped(&ticks, WIDTH, "  ", "  "));
        return block;
    }
    let room = match answer {
        Answer::Text | Answer::Photo | Answer::Findings => 34,
        _ => 26,
    };
    let mut lines = Vec::new();
    let words = wrapped(&label, WIDTH - room - 2, "", "  ");
    let last = words.len().saturating_sub(1);
    lines.extend(words.into_iter().enumerate().map(|(index, words)| match index == last {
        true => format!("{}  {}", padded(&words, WIDTH - room - 2), answer_line(answer, room, "")),
        false => words,
    }));
    lines.extend(wrapped(&clean(hints), WIDTH, "  ", "  ").into_iter().filter(|line| !line.is_empty()));
    if *answer == Answer::Findings {
        for _ in 0..4 {
            lines.extend([String::new(), format!("  {}", "_".repeat(WIDTH - 2))]);
        }
    }
    let mut block = vec![String::new()];
    block.extend(lines);
    block
}

/// What is written or ticked, in so many columns.
fn answer_line(answer: &Answer, width: usize, hint: &str) -> String {
    let ticks = |words: &[String]| {
        let ticks: Vec<String> = words.iter().map(|word| format!("[ ] {word}")).collect();
        ticks.join("  ")
    };
    match answer {
        Answer::YesNo => ticks(&["yes".to_owned(), "no".to_owned()]),
        Answer::Words(words) if width_of(&ticks(words)) <= width => ticks(words),
        Answer::Words(words) if width == WIDTH => ticks(words),
        Answer::Words(_) => "_".repeat(BOX),
        Answer::Date => "____-__-__".to_owned(),
        Answer::Number { unit } => {
            let unit = if hint.is_empty() { unit.clone() } else { hint.to_owned() };
            format!("{} {unit}", "_".repeat(BOX))
        }
        Answer::Count => "_".repeat(BOX),
        Answer::Findings => String::new(),
        Answer::Text | Answer::Photo => "_".repeat(width),
    }
}

/// What stands in a cell of a table.
fn cell(answer: &Answer, width: usize) -> String {
    let blank = "_".repeat(width);
    match answer {
        Answer::YesNo => padded("yes / no", width),
        Answer::Words(words) => {
            let all = words.join("/");
            if width_of(&all) <= width { padded(&all, width) } else { blank }
        }
        _ => blank,
    }
}

fn table(corner: &str, columns: &[Column], rows: &[String]) -> Block {
    let widest = |words: &mut dyn Iterator<Item = usize>| words.max().unwrap_or(0);
    let blank = boxes::is_open(rows);
    let label = widest(&mut rows.iter().map(|row| width_of(row))).max(width_of(corner)).clamp(4, 30);
    let label = if blank { 24 } else { label };
    let own = widest(&mut columns.iter().map(|column| width_of(&column.title))).clamp(BOX, 16);
    let fits = 2 + label + columns.len() * (own + 2) <= WIDTH;
    if !fits {
        let titles: Vec<String> = columns.iter().map(|column| clean(&column.title)).collect();
        return rows.iter().flat_map(|row| run(row, &titles)).collect();
    }
    let titles: Vec<String> = columns.iter().map(|column| padded(&clean(&column.title), own)).collect();
    let width = 2 + label + columns.len() * (own + 2);
    let part = |rows: &[String]| {
        let mut lines =
            vec![format!("  {}  {}", padded(&cut(&clean(corner), label), label), titles.join("  "))];
        for row in rows {
            let words = match (row.is_empty(), blank) {
                (true, true) => "_".repeat(label),
                _ => padded(&cut(&clean(row), label), label),
            };
            let cells: Vec<String> = columns.iter().map(|column| cell(&column.answer, own)).collect();
            lines.push(String::new());
            lines.push(format!("  {words}  {}", cells.join("  ")));
        }
        lines
    };
    let parts = if 2 * width <= WIDTH {
        boxes::side_by_side(columns, rows).map(part).collect()
    } else {
        vec![part(rows)]
    };
    let height = parts.iter().map(Vec::len).max().unwrap_or(0);
    let line = |at: usize| {
        let cells = parts.iter().map(|part: &Block| padded(part.get(at).map_or("", String::as_str), width));
        cells.collect::<String>().trim_end().to_owned()
    };
    (0..height).map(line).collect()
}

/// Boxes with their own labels, as many on a line as fit.
fn run(label: &str, stations: &[String]) -> Block {
    let own = stations.iter().map(|station| width_of(station)).max().unwrap_or(0).clamp(3, 30);
    let own = if stations.iter().any(String::is_empty) { own.max(9) } else { own };
    let lead = if label.is_empty() { String::new() } else { format!("{}:", cut(&clean(label), 24)) };
    let lead_width = if lead.is_empty() { 0 } else { width_of(&lead) + 2 };
    let each = own + 1 + BOX + 2;
    let count = ((WIDTH - 2 - lead_width) / each).max(1);
    let mut lines = Vec::new();
    for (index, part) in stations.chunks(count).enumerate() {
        let lead = if index == 0 { lead.as_str() } else { "" };
        let cells = part.iter().map(|station| {
            let words = match station.is_empty() {
                true => format!("({})", "_".repeat(own.saturating_sub(2))),
                false => padded(&cut(&clean(station), own), own),
            };
            format!("{words} {}", "_".repeat(BOX))
        });
        lines.push(String::new());
        lines.push(format!("  {}{}", padded(lead, lead_width), cells.collect::<Vec<_>>().join("  ")));
    }
    lines
}

/// Rows of a series with their times.
fn series_rows(columns: &[Column], due: &[String]) -> Vec<Block> {
    let own = columns.iter().map(|column| width_of(&column.title)).max().unwrap_or(0).clamp(9, 14);
    let lead = 2 + 8 + 2 + 7;
    let fits = lead + columns.len() * (own + 2) <= WIDTH;
    if !fits {
        let titles: Vec<String> = columns.iter().map(|column| clean(&column.title)).collect();
        return due.iter().map(|time| run(&format!("{time}, at __:__"), &titles)).collect();
    }
    let titles: Vec<String> =
        columns.iter().map(|column| padded(&cut(&clean(&column.title), own), own)).collect();
    let mut blocks =
        vec![vec![String::new(), format!("  {}  read at  {}", padded("due", 8), titles.join("  "))]];
    blocks.extend(due.iter().map(|time| {
        let cells: Vec<String> = columns.iter().map(|column| cell(&column.answer, own)).collect();
        vec![String::new(), format!("  {}  __:__    {}", padded(time, 8), cells.join("  "))]
    }));
    blocks
}

// ------------------------------------------------------------------------------------------------ the end

fn tables(pages: &mut Pages, sheet: &Sheet) {
    let mut first = true;
    for (at, (title, rows)) in sheet.form.tables.iter().enumerate() {
        let mut block =
            if first { heading("Limits that hang on what is asked at the machine") } else { Vec::new() };
        first = false;
        block.extend(wrap(&format!("Table {}: {title}", at + 1), "", "  "));
        block.extend(rows.iter().flat_map(|row| wrap(row, "    ", "      ")));
        pages.block(block);
    }
}

fn remedies(pages: &mut Pages, sheet: &Sheet) {
    for (at, (step, texts)) in words::remedies(sheet).into_iter().enumerate() {
        let mut block = if at == 0 { heading(words::REMEDIES) } else { Vec::new() };
        block.extend(wrap(&format!("{}  {}", step.name, step.title), "", "    "));
        texts.iter().for_each(|text| block.extend(wrap(text, "  - ", "    ")));
        pages.block(block);
    }
    let bases = words::bases(sheet);
    if !bases.is_empty() {
        pages.block(heading(words::BASES));
        bases.iter().for_each(|text| pages.block(wrap(text, "  - ", "    ")));
    }
}

fn signatures(pages: &mut Pages, sheet: &Sheet) {
    let line = |words: &str| {
        let words = cut(&clean(words), 40);
        vec![
            String::new(),
            String::new(),
            format!("{}  {}  ____-__-__", padded(&words, 40), "_".repeat(WIDTH - 40 - 14)),
        ]
    };
    let mut block = heading("Read as it stands on these pages");
    block.extend(line("Operator"));
    for (_, who) in &sheet.form.parties {
        block.extend(line(who));
    }
    block.push(String::new());
    block.extend(wrap(words::END, "", ""));
    pages.block(block);
}
