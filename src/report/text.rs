//! The report as plain text, 80 columns: first what the customer reads, then what the next inspector needs, and what was
//! moved with what it did. Says in its first line if it is a rehearsal, damaged or not signed.

use super::by_hand;
use super::model::{
    AmendmentLine, Effect, EntryLine, Held, Move, Proof, Readings, Report, Row, StepPart, Try,
};
use super::page::{Page, clean};
use super::said::{decided, when};
use super::summary::{self, left_out, loud};
use crate::quantity::Sense;

/// Lays the report out.
pub fn render(report: &Report, proof: &Proof) -> String {
    let mut page = Page::default();
    headline(&mut page, report, proof);
    verdict(&mut page, report, proof);
    machine(&mut page, report);
    conditions(&mut page, report);
    exceptions(&mut page, report, proof);
    amendments(&mut page, report);
    let (safety, tests): (Vec<&Row>, Vec<&Row>) =
        report.rows.iter().partition(|row| row.required || row.electrical);
    table(&mut page, "Safety, and what was required", &safety, report, &proof.states);
    table(&mut page, "Tests", &tests, report, &proof.states);
    crosschecks(&mut page, proof);
    moves(&mut page, &report.moves);
    defects(&mut page, report);
    readings(&mut page, report, proof);
    instruments(&mut page, report);
    history(&mut page, report);
    procedure(&mut page, report, proof);
    signatures(&mut page, report, proof);
    page.into_text()
}

fn headline(page: &mut Page, report: &Report, proof: &Proof) {
    for warning in summary::warnings(report, proof) {
        page.wrap(&warning, "*** ", "    ");
    }
    page.wrap(&report.title, "", "");
    let revision = report.revision.as_ref().map(|it| format!("revision {it}, ")).unwrap_or_default();
    page.wrap(&format!("{revision}{}", report.walked_said()), "", "");
}

fn verdict(page: &mut Page, report: &Report, proof: &Proof) {
    page.heading("Verdict");
    match &report.closed {
        Some(closed) => page.wrap(&closed.verdict.to_uppercase(), "  ", "  "),
        None => page.wrap("UNFINISHED", "  ", "  "),
    }
    for signature in report.signatures.iter().filter(|signature| signature.bytes > 0 && !signature.amends) {
        let text = format!("signed by {}, {}, {}", signature.name, signature.party, when(&signature.time));
        page.wrap(&text, "  ", "    ");
    }
    if report.closed.is_some() && !proof.missing.is_empty() {
        page.wrap(&format!("still expected to sign: {}", proof.missing.join(", ")), "  ", "    ");
    }
}

fn machine(page: &mut Page, report: &Report) {
    page.heading("The machine");
    let facts: Vec<(String, String)> =
        report.machine.iter().map(|fact| (fact.label.clone(), fact.said())).collect();
    page.pairs(&facts);
    let people: Vec<(String, String)> =
        report.people.iter().map(|(role, name)| (report.role_said(role), name.clone())).collect();
    if !people.is_empty() {
        page.heading("People");
        page.pairs(&people);
    }
}

fn conditions(page: &mut Page, report: &Report) {
    let stated = |part: &StepPart| {
        part.conditions.iter().map(|text| format!("{}: {text}", part.name)).collect::<Vec<_>>()
    };
    let steps: Vec<String> = report.steps.iter().flat_map(stated).collect();
    if !(report.scope.is_empty() && report.basis.is_empty() && steps.is_empty()) {
        page.heading("Scope and conditions");
    }
    for text in &report.scope {
        page.wrap(text, "  ", "  ");
    }
    for text in &report.basis {
        page.wrap(&format!("Basis: {text}"), "  ", "    ");
    }
    page.items(&steps);
    page.heading("Temperatures, as measured");
    page.items(&report.temperatures_said());
}

fn exceptions(page: &mut Page, report: &Report, proof: &Proof) {
    page.heading("Exceptions, and what was not tested");
    let exceptions = summary::exceptions(report, proof);
    page.items(&exceptions);
    if exceptions.is_empty() {
        page.line("  none");
    }
}

fn amendments(page: &mut Page, report: &Report) {
    if !report.amendments.is_empty() {
        page.heading("Added after the signing");
        page.items(&report.amendments.iter().map(AmendmentLine::said).collect::<Vec<_>>());
    }
}

/// One line a value that was judged, each test under its title.
fn table(page: &mut Page, heading: &str, rows: &[&Row], report: &Report, states: &[(String, String)]) {
    if rows.is_empty() {
        return;
    }
    // Questions are long and their answers short; of figures it is the other way.
    let most = if rows.iter().any(|row| row.required) { [30, 18, 10] } else { [21, 18, 18] };
    page.heading(heading);
    let limited = rows.iter().any(|row| !limit(row).is_empty());
    if limited {
        page.wrap(&format!("Decided {}.", decided(&report.decision)), "  ", "  ");
    }
    let cells = rows.iter().map(|row| {
        let left = row.left.as_ref().map(Held::told).unwrap_or_else(|| "as found".to_owned());
        let left = match left_out(states, &row.step) {
            Some(word) => format!("{left}; {word}"),
            None => left,
        };
        let mut cells = vec![
            clean(&row.what),
            row.found.as_ref().map_or_else(|| "-".to_owned(), |it| clean(&it.told())),
            clean(&left),
        ];
        cells.extend(limited.then(|| clean(&limit(row))));
        (title(row, report), cells)
    });
    let cells: Vec<(String, Vec<String>)> = cells.collect();
    match limited {
        true => page.titled(&["", "as found", "as left", "limit"], &cells, &most),
        false => page.titled(&["", "as found", "as left"], &cells, &[48, 12]),
    }
}

fn limit(row: &Row) -> String {
    row.left.as_ref().or(row.found.as_ref()).map(Held::limit).unwrap_or_default()
}

/// Name and title of the test; its decision rule, where it has one of its own.
fn title(row: &Row, report: &Report) -> String {
    let Some(part) = report.steps.iter().find(|part| part.name == row.step) else { return row.step.clone() };
    let own = match part.decision == report.decision || part.decision.is_empty() {
        true => String::new(),
        false => format!(" (decided {})", part.decision),
    };
    format!("{}  {}{own}", part.name, part.title).trim_end().to_owned()
}

fn crosschecks(page: &mut Page, proof: &Proof) {
    if !proof.crosschecks.is_empty() {
        page.heading("Cross-checks between tests");
        page.items(&proof.crosschecks);
    }
}

fn moves(page: &mut Page, moves: &[Move]) {
    if moves.is_empty() {
        return;
    }
    page.heading("What was altered, and what it did");
    for entry in moves {
        let Move { seq, time, step, justified, effects, .. } = entry;
        let amount = entry.amount_said().map(|it| format!(": {it}")).unwrap_or_default();
        page.wrap(&format!("{step}  {}{amount}", entry.said()), "  ", "      ");
        page.wrap(&format!("{}, line {seq}{}", when(time), entry.beside_said()), "      ", "      ");
        for struck in entry.struck_said() {
            page.wrap(&struck, "      ", "        ");
        }
        if let Some(withdrawn) = entry.withdrawn_said() {
            page.wrap(withdrawn, "      ", "      ");
        }
        if let Some(reason) = justified {
            page.wrap(&format!("justified: {reason}"), "      ", "      ");
        }
        for Effect { what, before, predicted, after, per_unit } in effects {
            let per_unit = per_unit.as_ref().map(|it| format!("; {it}")).unwrap_or_default();
            let predicted = predicted.as_ref().map(|it| format!("; predicted {it}")).unwrap_or_default();
            page.wrap(
                &format!("{what}: before {before}{predicted}; obtained {after}{per_unit}"),
                "      ",
                "        ",
            );
        }
    }
}

fn defects(page: &mut Page, report: &Report) {
    if report.defects.is_empty() {
        return;
    }
    page.heading("Defects");
    for defect in &report.defects {
        let step = defect.step.as_ref().map(|step| format!(" ({step})")).unwrap_or_default();
        let text = format!("{}{step}: {}", defect.text, defect.standing);
        page.wrap(&text, &format!("  {:>2}  ", defect.number), "      ");
        if let Some(photo) = defect.photo_in_words() {
            page.wrap(&photo, "      ", "      ");
        }
        for struck in &defect.struck {
            page.wrap(&struck.said(), "      ", "        ");
        }
    }
}

fn readings(page: &mut Page, report: &Report, proof: &Proof) {
    if report.steps.is_empty() {
        return;
    }
    page.heading("Each test with its readings");
    for part in &report.steps {
        page.line("");
        let state = summary::state(part, &proof.states);
        let state = if state.is_empty() { String::new() } else { format!(": {}", loud(state)) };
        let heading = format!("{}  {}", part.name, part.title);
        page.wrap(&format!("{}{state}", heading.trim_end()), "  ", "      ");
        let prose = [("Basis", &part.basis), ("Set-up", &part.setup)];
        for (name, texts) in prose {
            for text in texts {
                page.wrap(&format!("{name}: {text}"), "    ", "      ");
            }
        }
        for remark in &part.remarks {
            page.wrap(remark, "    ", "      ");
        }
        for attempt in &part.tries {
            one_try(page, attempt, part.tries.len(), report.budgets);
        }
    }
}

fn one_try(page: &mut Page, attempt: &Try, of: usize, budgets: bool) {
    if of > 1 || attempt.number > 1 {
        let which =
            if attempt.number == 1 { "as found".to_owned() } else { format!("try {}", attempt.number) };
        let state = attempt.state.as_ref().map(|it| format!(": {}", loud(it))).unwrap_or_default();
        page.wrap(&format!("{which}, {}{state}", attempt.when_said()), "    ", "      ");
    }
    for (axis, items) in &attempt.lists {
        page.wrap(&format!("{axis}: {}", items.join(", ")), "      ", "        ");
    }
    for set in &attempt.readings {
        one_set(page, set);
    }
    for (text, indent) in super::results::said(attempt) {
        page.wrap(&text, &" ".repeat(indent), &" ".repeat(indent + 2));
    }
    for held in attempt.judged() {
        page.wrap(&held.told_in_full(), "      ", "        ");
        for (at, line) in held.certainty(budgets).iter().enumerate() {
            let indent = if at < 2 { 8 } else { 10 };
            page.wrap(line, &" ".repeat(indent), &" ".repeat(indent + 2));
        }
    }
    for advice in &attempt.advice {
        page.wrap(&format!("advised: {advice}"), "      ", "        ");
    }
}

/// A question ends as it does; what is none, with a colon.
fn asked(label: &str, number: &str) -> String {
    let colon = if label.ends_with('?') && number.is_empty() { "" } else { ":" };
    format!("{label}{number}{colon}")
}

fn one_set(page: &mut Page, set: &Readings) {
    let again = if set.set > 1 { format!(", measured again ({})", set.set) } else { String::new() };
    let number = if set.left_off { format!("{again}, left off and begun again") } else { again };
    match set.entries.as_slice() {
        [entry] if entry.stations.is_empty() => {
            page.wrap(&format!("{} {}", asked(&set.label, &number), entry.said()), "      ", "        ");
        }
        entries => {
            page.wrap(&asked(&set.label, &number), "      ", "        ");
            for (outer, entries) in by_outer_station(entries) {
                let values = entries.iter().map(|entry| match entry.last_place() {
                    station if station.is_empty() => entry.said(),
                    station => format!("{station}: {}", entry.said()),
                });
                let values = values.collect::<Vec<_>>().join("   ");
                let first = if outer.is_empty() { String::new() } else { format!("{}:  ", clean(&outer)) };
                page.wrap(&format!("{first}{values}"), "        ", "          ");
            }
        }
    }
    if !set.read_again.is_empty() {
        let again = set.read_again.iter().map(|entry| format!("{}: {}", entry.place(), entry.said()));
        let again = again.collect::<Vec<_>>().join("   ");
        page.wrap(&format!("read again:  {again}"), "        ", "          ");
    }
    if let Some(Sense { plus, minus }) = &set.sense {
        page.wrap(&format!("plus: {plus}; minus: {minus}"), "        ", "          ");
    }
    for (station, Sense { plus, minus }) in &set.own {
        page.wrap(&format!("but {station}: plus: {plus}; minus: {minus}"), "        ", "          ");
    }
}

/// Entries side by side as long as all stations but the last stay the same.
fn by_outer_station(entries: &[EntryLine]) -> Vec<(String, Vec<&EntryLine>)> {
    let mut rows: Vec<(String, Vec<&EntryLine>)> = Vec::new();
    for entry in entries {
        let outer = entry.outer_place();
        match rows.last_mut() {
            Some((last, row)) if *last == outer => row.push(entry),
            _ => rows.push((outer, vec![entry])),
        }
    }
    rows
}

fn instruments(page: &mut Page, report: &Report) {
    if report.instruments.is_empty() {
        return;
    }
    page.heading("Instruments");
    for it in &report.instruments {
        let until = match (&it.until, it.past) {
            (Some(until), true) => format!("calibrated until {until}, PAST ITS DATE"),
            (Some(until), false) => format!("calibrated until {until}"),
            (None, _) => "no calibration date given".to_owned(),
        };
        let title = if it.title.is_empty() { &it.name } else { &it.title };
        let details = it.details.iter().map(|detail| format!("; {detail}")).collect::<String>();
        page.wrap(&format!("{title}, no. {}: {until}{details}", it.number), "  ", "      ");
        for struck in &it.struck {
            page.wrap(&struck.said(), "      ", "        ");
        }
    }
}

fn history(page: &mut Page, report: &Report) {
    if report.history.is_empty() && report.notes.is_empty() {
        return;
    }
    page.heading("Remarks");
    page.items(&report.notes);
    let history: Vec<String> =
        report.history.iter().map(|(time, text)| format!("{} {text}", when(time))).collect();
    page.items(&history);
}

fn procedure(page: &mut Page, report: &Report, proof: &Proof) {
    page.heading("Procedure and record");
    for (name, digest) in &report.files {
        page.wrap(&format!("procedure {name}, frozen in the record, SHA-256"), "  ", "    ");
        page.line(&format!("    {digest}"));
    }
    if let Some(previous) = &report.previous {
        page.line("  the record before this one, SHA-256");
        page.wrap(previous, "    ", "    ");
    }
    page.wrap(&format!("record {}, SHA-256 of its end", proof.record), "  ", "    ");
    page.line(&format!("    {}", proof.end));
    for (picture, digest) in report.pictures() {
        page.wrap(&format!("picture {picture}, SHA-256"), "  ", "    ");
        page.line(&format!("    {digest}"));
    }
    page.wrap(&format!("written by bedway {}", report.program), "  ", "    ");
}

fn signatures(page: &mut Page, report: &Report, proof: &Proof) {
    page.heading("Signatures");
    if report.signatures.is_empty() {
        page.line("  none");
    }
    for (at, it) in report.signatures.iter().enumerate() {
        page.wrap(&format!("{}, {}, {}", it.name, it.party, when(&it.time)), "  ", "      ");
        page.wrap(&it.signs(), "      ", "        ");
        page.line(&format!("      key {}", clean(&it.fingerprint)));
        if let Some(text) = proof.signatures.get(at) {
            page.wrap(text, "      ", "        ");
        }
        if it.bytes > 0 {
            page.line("      check it without this program:");
            let [head, verify] = by_hand::command(it, proof);
            page.line(&clean(&format!("        {head}")));
            // A command goes on behind a backslash.
            let (verify, rest) = verify.split_once(" -n ").unwrap_or((&verify, ""));
            page.line(&clean(&format!("          {verify} \\")));
            page.line(&clean(&format!("          -n {rest}")));
        }
    }
    for text in by_hand::explained(&report.signatures, proof) {
        page.wrap(&text, "  ", "    ");
    }
    for party in &proof.missing {
        page.wrap(&format!("{party}: has not signed"), "  ", "    ");
    }
    page.line("");
    page.wrap(
        "A pass here is no certificate of legal compliance. Local codes, the maker's instructions and licensed practice \
         take precedence.",
        "",
        "",
    );
}
