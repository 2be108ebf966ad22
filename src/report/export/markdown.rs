//! The report as Markdown (CommonMark with the tables of GFM), in the order of the page of text. Whatever was typed stands
//! as text: nothing in it becomes a heading, a link, a tag or a cell.

use crate::report::blocks::Blocks;
use crate::report::by_hand;
use crate::report::model::{Held, Proof, Readings, Report, Row, StepPart, Try};
use crate::report::page::clean;
use crate::report::said::{spoken, when};
use crate::report::summary::{exceptions, left_out, loud, state, warnings};

/// A Markdown text as it grows.
#[derive(Debug, Default)]
pub struct Markdown {
    text: String,
}

impl Markdown {
    pub fn into_text(self) -> String {
        self.text
    }

    /// What is typed into a shell, as it is.
    fn code(&mut self, text: &str) {
        self.text.push_str(&format!("    {}\n\n", clean(text)));
    }

    /// Beneath an item, one level further in.
    fn inner_items(&mut self, items: &[String]) {
        for item in items {
            self.text.push_str(&format!("  - {}\n", inline(item)));
        }
    }
}

impl Blocks for Markdown {
    fn warnings(&mut self, warnings: &[String]) {
        for warning in warnings {
            self.text.push_str(&format!("**{}**\n\n", inline(warning)));
        }
    }

    fn heading(&mut self, level: usize, text: &str) {
        self.text.push_str(&format!("{} {}\n\n", "#".repeat(level), inline(text)));
    }

    fn paragraph(&mut self, text: &str) {
        self.text.push_str(&format!("{}\n\n", inline(text)));
    }

    fn items(&mut self, items: &[String]) {
        for item in items {
            self.text.push_str(&format!("- {}\n", inline(item)));
        }
        if !items.is_empty() {
            self.text.push('\n');
        }
    }

    fn table(&mut self, heading: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
        self.text.push_str(&line(heading.iter().map(|cell| inline(cell)).collect()));
        self.text.push_str(&line(heading.iter().map(|_| "---".to_owned()).collect()));
        for row in rows {
            self.text.push_str(&line(row.iter().map(|cell| inline(cell)).collect()));
        }
        self.text.push('\n');
    }
}

/// A text in which nothing is taken for a mark. Control characters are spelled out.
pub fn inline(text: &str) -> String {
    let text = clean(text.trim());
    let mut shown = String::with_capacity(text.len());
    for (at, letter) in text.chars().enumerate() {
        let is_mark =
            matches!(letter, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '$');
        // What makes a heading, a list or a rule stands at the beginning.
        let begins = at == 0 && matches!(letter, '#' | '+' | '-' | '=' | ':');
        // `1.` and `1)` begin a numbered list.
        let numbers =
            matches!(letter, '.' | ')') && shown.chars().all(|c| c.is_ascii_digit()) && !shown.is_empty();
        if is_mark || begins || numbers {
            shown.push('\\');
        }
        shown.push(letter);
    }
    shown
}

/// Lays the report out.
pub fn report(report: &Report, proof: &Proof) -> String {
    let mut page = Markdown::default();
    page.warnings(&warnings(report, proof));
    page.heading(1, &report.title);
    let revision = report.revision.as_ref().map(|it| format!("revision {it}, ")).unwrap_or_default();
    page.paragraph(&format!("{revision}{}", report.walked_said()));
    page.heading(2, "Verdict");
    let verdict = report.closed.as_ref().map_or("unfinished", |closed| closed.verdict.as_str());
    page.warnings(&[verdict.to_uppercase()]);
    let signed = report.signatures.iter().filter(|it| it.bytes > 0 && !it.amends);
    let mut lines: Vec<String> =
        signed.map(|it| format!("signed by {}, {}, {}", it.name, it.party, when(&it.time))).collect();
    if report.closed.is_some() && !proof.missing.is_empty() {
        lines.push(format!("still expected to sign: {}", proof.missing.join(", ")));
    }
    page.items(&lines);
    page.heading(2, "The machine");
    let facts = report.machine.iter().map(|fact| vec![fact.label.clone(), fact.said()]);
    page.table(&["asked", "answered"], &facts.collect::<Vec<_>>());
    if !report.people.is_empty() {
        page.heading(2, "People");
        page.items(
            &report
                .people
                .iter()
                .map(|(role, name)| format!("{}: {name}", report.role_said(role)))
                .collect::<Vec<_>>(),
        );
    }
    page.heading(2, "Scope and conditions");
    let basis = report.basis.iter().map(|text| format!("Basis: {text}"));
    let conditions = report
        .steps
        .iter()
        .flat_map(|part| part.conditions.iter().map(|text| format!("{}: {text}", part.name)));
    page.items(&report.scope.iter().cloned().chain(basis).chain(conditions).collect::<Vec<_>>());
    page.heading(2, "Temperatures, as measured");
    page.items(&report.temperatures_said());
    page.heading(2, "Exceptions, and what was not tested");
    match exceptions(report, proof).as_slice() {
        [] => page.paragraph("none"),
        items => page.items(items),
    }
    if !report.amendments.is_empty() {
        page.heading(2, "Added after the signing");
        page.items(&report.amendments.iter().map(|it| it.said()).collect::<Vec<_>>());
    }
    let (safety, tests): (Vec<&Row>, Vec<&Row>) =
        report.rows.iter().partition(|row| row.required || row.electrical);
    rows(&mut page, "Safety, and what was required", &safety, report, proof);
    rows(&mut page, "Tests", &tests, report, proof);
    if !proof.crosschecks.is_empty() {
        page.heading(2, "Cross-checks between tests");
        page.items(&proof.crosschecks);
    }
    moves(&mut page, report);
    if !report.defects.is_empty() {
        page.heading(2, "Defects");
        let lines = report.defects.iter().map(|it| {
            let step = it.step.as_ref().map(|step| format!(" ({step})")).unwrap_or_default();
            let photo = it.photo_in_words().map(|photo| format!("; {photo}")).unwrap_or_default();
            let struck = it.struck.iter().map(|struck| format!("; {}", struck.said())).collect::<String>();
            format!("{}{step}, number {}: {}{photo}{struck}", it.text, it.number, it.standing)
        });
        page.items(&lines.collect::<Vec<_>>());
    }
    page.heading(2, "Each test with its readings");
    for part in &report.steps {
        step(&mut page, part, report, proof);
    }
    page.heading(2, "Instruments");
    let instruments = report.instruments.iter().map(|it| {
        let until = match (&it.until, it.past) {
            (Some(until), true) => format!("{until}, PAST ITS DATE"),
            (Some(until), false) => until.clone(),
            (None, _) => "no date given".to_owned(),
        };
        let title = if it.title.is_empty() { it.name.clone() } else { it.title.clone() };
        let struck = it.struck.iter().map(super::super::model::StruckPart::said);
        let details: Vec<String> = it.details.iter().cloned().chain(struck).collect();
        vec![title, it.number.clone(), until, details.join("; ")]
    });
    page.table(&["instrument", "number", "calibrated until", "details"], &instruments.collect::<Vec<_>>());
    if !report.notes.is_empty() || !report.history.is_empty() {
        page.heading(2, "Remarks");
        let history = report.history.iter().map(|(time, text)| format!("{} {text}", when(time)));
        page.items(&report.notes.iter().cloned().chain(history).collect::<Vec<_>>());
    }
    page.heading(2, "Procedure and record");
    let files = report.files.iter().map(|(name, digest)| format!("procedure {name}, SHA-256 {digest}"));
    let previous =
        report.previous.iter().map(|digest| format!("the record before this one, SHA-256 {digest}"));
    let own = format!("record {}, SHA-256 of its end {}", proof.record, proof.end);
    let pictures = report.pictures();
    let pictures = pictures.iter().map(|(picture, digest)| format!("picture {picture}, SHA-256 {digest}"));
    page.items(&files.chain(previous).chain([own]).chain(pictures).collect::<Vec<_>>());
    page.heading(2, "Signatures");
    signatures(&mut page, report, proof);
    page.paragraph(
        "A pass here is no certificate of legal compliance. Local codes, the maker's instructions and licensed practice \
         take precedence.",
    );
    page.into_text()
}

fn signatures(page: &mut Markdown, report: &Report, proof: &Proof) {
    let signed = report.signatures.iter().enumerate().map(|(at, it)| {
        let standing = proof.signatures.get(at).cloned().unwrap_or_default();
        vec![it.name.clone(), it.party.clone(), when(&it.time), it.signs(), it.fingerprint.clone(), standing]
    });
    let signed: Vec<Vec<String>> = signed.collect();
    if signed.is_empty() {
        page.paragraph("none");
    }
    page.table(&["name", "role", "signed", "what", "key", "standing"], &signed);
    if !proof.missing.is_empty() {
        page.items(&proof.missing.iter().map(|party| format!("{party}: has not signed")).collect::<Vec<_>>());
    }
    let signed = report.signatures.iter().filter(|it| it.bytes > 0);
    let commands: Vec<String> = signed.map(|it| by_hand::command(it, proof).join(" ")).collect();
    if !commands.is_empty() {
        page.paragraph("To check them without this program:");
        commands.iter().for_each(|command| page.code(command));
        page.items(&by_hand::explained(&report.signatures, proof));
    }
}

fn rows(page: &mut Markdown, heading: &str, rows: &[&Row], report: &Report, proof: &Proof) {
    if rows.is_empty() {
        return;
    }
    page.heading(2, heading);
    let cells = rows.iter().map(|row| {
        let part = report.steps.iter().find(|part| part.name == row.step);
        let title = part.map_or("", |part| part.title.as_str());
        let limit = row.left.as_ref().or(row.found.as_ref()).map(Held::limit).unwrap_or_default();
        let left = row.left.as_ref().map_or_else(|| "as found".to_owned(), Held::told);
        let left = match left_out(&proof.states, &row.step) {
            Some(word) => format!("{left}; {word}"),
            None => left,
        };
        vec![
            format!("{} {title}", row.step),
            row.what.clone(),
            row.found.as_ref().map_or_else(|| "-".to_owned(), Held::told),
            left,
            limit,
            part.map(|part| part.decision.clone()).filter(|_| !row.required).unwrap_or_default(),
        ]
    });
    let heads = ["test", "what is judged", "as found", "as left", "limit", "decided"];
    page.table(&heads, &cells.collect::<Vec<_>>());
}

fn moves(page: &mut Markdown, report: &Report) {
    if report.moves.is_empty() {
        return;
    }
    page.heading(2, "What was altered, and what it did");
    for it in &report.moves {
        let amount = it.amount_said().map(|amount| format!(": {amount}")).unwrap_or_default();
        let beside = it.beside_said();
        page.items(&[format!(
            "{} {}{amount} ({}, line {}{beside})",
            it.step,
            it.said(),
            when(&it.time),
            it.seq
        )]);
        page.text.pop();
        let mut inner: Vec<String> = Vec::new();
        inner.extend(it.struck_said());
        inner.extend(it.withdrawn_said().map(str::to_owned));
        inner.extend(it.justified.iter().map(|reason| format!("justified: {reason}")));
        inner.extend(it.effects.iter().map(|effect| {
            let predicted =
                effect.predicted.as_ref().map(|it| format!("; predicted {it}")).unwrap_or_default();
            let per_unit = effect.per_unit.as_ref().map(|it| format!("; {it}")).unwrap_or_default();
            format!(
                "{}: before {}{predicted}; obtained {}{per_unit}",
                effect.what, effect.before, effect.after
            )
        }));
        page.inner_items(&inner);
    }
    page.text.push('\n');
}

fn step(page: &mut Markdown, part: &StepPart, report: &Report, proof: &Proof) {
    let standing = state(part, &proof.states);
    let standing = if standing.is_empty() { String::new() } else { format!(": {}", loud(standing)) };
    page.heading(3, &format!("{} {}{standing}", part.name, part.title));
    let basis = part.basis.iter().map(|text| format!("Basis: {text}"));
    let setup = part.setup.iter().map(|text| format!("Set-up: {text}"));
    page.items(&basis.chain(setup).chain(part.remarks.iter().cloned()).collect::<Vec<_>>());
    for attempt in &part.tries {
        of_try(page, attempt, part.tries.len(), report);
    }
}

fn of_try(page: &mut Markdown, attempt: &Try, of: usize, report: &Report) {
    if of > 1 {
        let which =
            if attempt.number == 1 { "As found".to_owned() } else { format!("Try {}", attempt.number) };
        let state = attempt.state.as_ref().map(|state| format!(": {}", loud(state))).unwrap_or_default();
        page.heading(4, &format!("{which}, {}{state}", attempt.when_said()));
    }
    page.items(
        &attempt
            .lists
            .iter()
            .map(|(axis, items)| format!("{axis}: {}", items.join(", ")))
            .collect::<Vec<_>>(),
    );
    for set in &attempt.readings {
        readings(page, set);
    }
    let said = crate::report::results::said(attempt).into_iter().map(|(text, _)| text);
    let judged = attempt
        .judged()
        .flat_map(|held| std::iter::once(held.told_in_full()).chain(held.certainty(report.budgets)));
    let advice = attempt.advice.iter().map(|advice| format!("advised: {advice}"));
    page.items(&said.chain(judged).chain(advice).collect::<Vec<_>>());
}

fn readings(page: &mut Markdown, set: &Readings) {
    let again = if set.set > 1 { format!(", measured again ({})", set.set) } else { String::new() };
    let off = if set.left_off { ", left off and begun again" } else { "" };
    page.paragraph(&format!("{}{again}{off}", set.label));
    let axes: Vec<String> = set.axes.iter().map(|axis| spoken(axis)).collect();
    let heads: Vec<&str> = axes.iter().map(String::as_str).chain(["read"]).collect();
    let row = |entry: &crate::report::model::EntryLine| {
        let mut cells: Vec<String> = entry.stations.iter().map(|it| spoken(it)).collect();
        cells.resize(set.axes.len(), String::new());
        cells.push(entry.said());
        cells
    };
    page.table(&heads, &set.entries.iter().map(row).collect::<Vec<_>>());
    if !set.read_again.is_empty() {
        page.paragraph("Stations read again, to join both parts:");
        page.table(&heads, &set.read_again.iter().map(row).collect::<Vec<_>>());
    }
    let mut senses: Vec<String> = Vec::new();
    senses.extend(set.sense.iter().map(|sense| format!("plus: {}; minus: {}", sense.plus, sense.minus)));
    let own = set.own.iter();
    senses.extend(
        own.map(|(station, sense)| format!("{station}: plus: {}; minus: {}", sense.plus, sense.minus)),
    );
    page.items(&senses);
}
