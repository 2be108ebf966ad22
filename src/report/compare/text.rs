//! The comparison as a page of text.

use super::{Change, Comparison, Kind, Row, Taken, Which};
use crate::report::page::{Columns, Page, clean};
use crate::report::said::when;
use crate::report::sides::Figure;
use crate::report::summary::loud;

/// Lays the comparison out.
pub fn render(found: &Comparison) -> String {
    let mut page = Page::default();
    for warning in &found.warnings {
        page.wrap(warning, "*** ", "    ");
    }
    page.wrap("Two records compared", "", "");
    page.wrap(&found.new.walk.title, "", "");
    page.heading("What is compared");
    page.columns(&[walked("then", &found.old), walked("now", &found.new)], &[5, 24, 24]);
    page.wrap(
        "Between the two: as the one then was left against as the one now was found. Work: now as found against now as left.",
        "  ",
        "  ",
    );
    page.wrap(
        "Changed is said only of what differs by more than its U, the root of the sum of U then and U now squared.",
        "  ",
        "  ",
    );
    if let Some(verdict) = &found.old_under_new {
        page.wrap(
            &format!(
                "Two revisions: the entries of then are judged again under the revision of now, which comes to {}. That is \
                 not the verdict that was signed.",
                verdict.to_uppercase()
            ),
            "  ",
            "  ",
        );
    }
    apart(&mut page, "Facts that are not the same", &found.facts);
    apart(&mut page, "Other instruments", &found.instruments);

    for (kind, heading) in [
        (Kind::Changed, "Changed between the two"),
        (Kind::Unknown, "Differs, and no uncertainty is known: nobody can tell"),
        (Kind::Within, "No change that can be told"),
        (Kind::Same, "The same"),
        (Kind::NotCompared, "Not compared"),
    ] {
        let rows: Vec<&Row> = found.rows.iter().filter(|row| row.between.kind == kind).collect();
        if !rows.is_empty() {
            page.heading(heading);
            match kind {
                Kind::Same => same(&mut page, &rows),
                _ => table(&mut page, &rows),
            }
        } else if kind == Kind::Changed {
            page.heading(heading);
            page.line("  nothing");
        }
    }
    for (heading, items) in [("Only then", &found.only_old), ("Only now", &found.only_new)] {
        if !items.is_empty() {
            page.heading(heading);
            page.items(items);
        }
    }
    crate::report::under::remarks(&mut page, &found.remarks);
    page.heading("Records and procedures");
    for which in [&found.old, &found.new] {
        page.wrap(&format!("record {}, SHA-256 of its end", which.file), "  ", "    ");
        page.line(&format!("    {}", which.end));
        page.wrap(&format!("procedure {}, SHA-256", which.walk.file), "  ", "    ");
        page.line(&format!("    {}", which.walk.sha256));
    }
    page.into_text()
}

fn walked(name: &str, which: &Which) -> Vec<String> {
    let revision = which.walk.revision.as_ref().map(|it| format!("revision {it}")).unwrap_or_default();
    vec![
        name.to_owned(),
        clean(&which.file),
        format!("{} to {}", when(&which.opened), when(&which.last)),
        clean(&format!("{} {revision}", which.walk.verdict.to_uppercase())),
    ]
}

fn apart(page: &mut Page, heading: &str, items: &[(String, String, String)]) {
    if items.is_empty() {
        return;
    }
    page.heading(heading);
    let head = ["", "then", "now"].map(str::to_owned).to_vec();
    let rows = items.iter().map(|(label, then, now)| vec![clean(label), clean(then), clean(now)]);
    page.columns(&std::iter::once(head).chain(rows).collect::<Vec<_>>(), &[30, 22]);
}

/// The rows, the title of each step once.
fn table(page: &mut Page, rows: &[&Row]) {
    let head = ["", "then, as left", "now, as found", "now, as left"].map(str::to_owned).to_vec();
    let cells: Vec<Vec<String>> =
        std::iter::once(head).chain(rows.iter().map(|row| row_cells(row))).collect();
    let columns = Columns::fit(&cells, &[20, 17, 17], "    ");
    let mut step = "";
    for (at, row) in cells.iter().enumerate() {
        let Some(of) = at.checked_sub(1).and_then(|at| rows.get(at)) else {
            page.row(row, &columns);
            continue;
        };
        if of.step != step {
            step = &of.step;
            page.wrap(&of.title, "  ", "      ");
        }
        page.row(row, &columns);
        said(page, of);
    }
}

/// What stands as it stood, a line each.
fn same(page: &mut Page, rows: &[&Row]) {
    let cell = |row: &&Row| {
        let figure = row.new.found.as_ref();
        let told = figure.map(|it| (loud(it.verdict()), clean(&it.said()))).unwrap_or_default();
        let turned = if verdict_turns(row) { "; the verdict is another" } else { "" };
        // Two figures that are alike only for one length both stand there.
        let then = row.between.per.as_ref().zip(row.old.last());
        let then = then
            .map(|(per, old)| clean(&format!("; then {}; the same per {per}", old.said())))
            .unwrap_or_default();
        vec![clean(&row.step), clean(&row.what), told.0, format!("{}{then}{turned}", told.1)]
    };
    page.columns(&rows.iter().map(cell).collect::<Vec<_>>(), &[6, 32, 9]);
}

fn verdict_turns(row: &Row) -> bool {
    let verdict = |figure: Option<&Figure>| figure.map(|it| it.verdict().to_owned());
    verdict(row.old.last()) != verdict(row.new.found.as_ref())
}

fn row_cells(row: &Row) -> Vec<String> {
    let told = |figure: Option<&Figure>| match figure {
        None => "-".to_owned(),
        Some(figure) => match figure.said() {
            text if text.is_empty() => loud(figure.verdict()),
            text => format!("{}: {}", loud(figure.verdict()), clean(&text)),
        },
    };
    let left = if row.new.left.is_none() { "as found".to_owned() } else { told(row.new.left.as_ref()) };
    vec![clean(&row.what), told(row.old.last()), told(row.new.found.as_ref()), left]
}

/// What a row comes to, beneath it.
fn said(page: &mut Page, row: &Row) {
    let mut lines = vec![format!("between: {}", changed(&row.between))];
    if let Some(work) = &row.work {
        lines.push(format!("work: {}", changed(work)));
    }
    if row.taken == Taken::OwnRevision {
        lines.push("each by its own revision, which work it out alike".to_owned());
    }
    if let Some(under) = row.old_under_new.as_ref().and_then(|under| under.last()) {
        let same =
            row.old.last().is_some_and(|own| own.verdict() == under.verdict() && own.said() == under.said());
        if !same {
            lines.push(format!(
                "then, judged under the revision of now (not what was signed): {}: {}",
                loud(under.verdict()),
                under.said()
            ));
        }
    }
    let limit = |figure: Option<&Figure>| figure.map(|it| it.held.limit()).unwrap_or_default();
    let (then, now) = (limit(row.old.last()), limit(row.new.last()));
    if then == now && !now.is_empty() {
        lines.push(format!("limit {now}"));
    } else if !(then.is_empty() && now.is_empty()) {
        let or_none = |limit: String| if limit.is_empty() { "none".to_owned() } else { limit };
        lines.push(format!("limit then {}, now {}", or_none(then), or_none(now)));
    }
    for line in lines {
        page.wrap(&line, "        ", "          ");
    }
}

/// A change in words.
pub fn changed(change: &Change) -> String {
    let per = change.per.as_ref().map(|per| format!(" per {per}")).unwrap_or_default();
    let size = match change.said.as_deref().map(|said| (said, said.split_once(", "))) {
        Some((_, Some((number, words)))) => format!("{number}{per}, {words}"),
        Some((number, None)) => format!("{number}{per}"),
        None => String::new(),
    };
    let own = change.expanded_said.clone().unwrap_or_default();
    let said = match change.kind {
        Kind::Changed if change.said.is_none() => "CHANGED".to_owned(),
        Kind::Changed => format!("CHANGED by {size}; its U is {own}"),
        Kind::Within => format!("{size}; within its U of {own}"),
        Kind::Unknown => format!("{size}; no uncertainty is known of both"),
        Kind::Same => format!("the same{per}"),
        Kind::NotCompared => format!("not compared: {}", change.why.clone().unwrap_or_default()),
    };
    let brought = if per.is_empty() { "" } else { "; both are brought to that length" };
    let turned =
        if change.turned { "; then turned round, its plus and minus have changed places" } else { "" };
    format!("{said}{brought}{turned}")
}
