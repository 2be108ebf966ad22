//! Two walks side by side as tables: a sheet of comma-separated values, and a page of Markdown or HTML.

use super::csv::sheet_of;
use super::markdown::Markdown;
use crate::report::blocks::Blocks;
use crate::report::compare::{Change, Comparison, Kind};
use crate::report::html::Plain;
use crate::report::page::cut;
use crate::report::said::when;
use crate::report::sides::{Figure, Tries};
use crate::report::summary::loud;
use crate::report::under::{Under, Walk, remark_lists};
use crate::walk::carry::Remarks;

/// The first heading, and what stands on each line beneath it.
fn warning(warnings: &[String]) -> (String, String) {
    match warnings.join(" ") {
        none if none.is_empty() => ("warning".to_owned(), none),
        warning => (format!("warning: {warning}"), warning),
    }
}

const FIGURE: [&str; 5] = ["verdict", "value", "U", "lower", "upper"];

fn heads(of: &str) -> Vec<String> {
    FIGURE.iter().map(|head| format!("{of} {head}")).collect()
}

fn figure(figure: Option<&Figure>) -> Vec<String> {
    let Some(held) = figure.map(|figure| &figure.held.rule) else { return vec![String::new(); FIGURE.len()] };
    let own = figure.and_then(Figure::expanded_exact).unwrap_or_default();
    let or_none = |text: &Option<String>| text.clone().unwrap_or_default();
    vec![held.verdict.clone(), or_none(&held.value), own, or_none(&held.lower), or_none(&held.upper)]
}

fn unit(figures: &[Option<&Figure>]) -> String {
    figures.iter().flatten().find_map(|figure| figure.held.rule.unit.clone()).unwrap_or_default()
}

/// A line a rule: as found and as left, on the record and under the other revision.
pub fn under_table(found: &Under) -> String {
    let (head, own) = warning(&found.warnings);
    let mut heading = vec![head, "step".to_owned(), "what".to_owned(), "turns".to_owned()];
    for of in ["recorded found", "recorded left", "under found", "under left"] {
        heading.extend(heads(of));
    }
    heading.extend(["recorded unit", "under unit"].map(str::to_owned));
    let rows = found.rows.iter().map(|row| {
        let turns = if row.turns { "yes" } else { "no" };
        let mut cells = vec![own.clone(), row.step.clone(), row.what.clone(), turns.to_owned()];
        let (was, is) = (&row.recorded, &row.under);
        for part in [was.found.as_ref(), was.last(), is.found.as_ref(), is.last()] {
            cells.extend(figure(part));
        }
        cells.extend([unit(&[was.found.as_ref(), was.last()]), unit(&[is.found.as_ref(), is.last()])]);
        cells
    });
    sheet_of(&std::iter::once(heading).chain(rows).collect::<Vec<_>>())
}

/// A line a figure: then as left, now as found, now as left, and what has changed.
pub fn comparison_table(found: &Comparison) -> String {
    let (head, own) = warning(&found.warnings);
    let mut heading = vec![head, "step".to_owned(), "what".to_owned()];
    for of in ["then left", "then left under now", "now found", "now left"] {
        heading.extend(heads(of));
    }
    heading.extend(["then unit", "now unit"].map(str::to_owned));
    for of in ["between", "work"] {
        heading.extend(
            ["kind", "difference", "U", "unit", "per", "turned", "why"].map(|head| format!("{of} {head}")),
        );
    }
    let change = |change: Option<&Change>| {
        let Some(change) = change else { return vec![String::new(); 7] };
        let or_none = |text: &Option<String>| text.clone().unwrap_or_default();
        let turned = if change.turned { "yes" } else { "no" };
        vec![
            change.kind.words().to_owned(),
            or_none(&change.difference),
            or_none(&change.expanded),
            or_none(&change.unit),
            or_none(&change.per),
            turned.to_owned(),
            or_none(&change.why),
        ]
    };
    let rows = found.rows.iter().map(|row| {
        let mut cells = vec![own.clone(), row.step.clone(), row.what.clone()];
        let under = row.old_under_new.as_ref().and_then(Tries::last);
        for part in [row.old.last(), under, row.new.found.as_ref(), row.new.last()] {
            cells.extend(figure(part));
        }
        cells.extend([unit(&[row.old.last()]), unit(&[row.new.found.as_ref(), row.new.last()])]);
        cells.extend(change(Some(&row.between)));
        cells.extend(change(row.work.as_ref()));
        cells
    });
    sheet_of(&std::iter::once(heading).chain(rows).collect::<Vec<_>>())
}

fn told(figure: Option<&Figure>) -> String {
    match figure.map(|figure| (loud(figure.verdict()), figure.said())) {
        None => "not judged".to_owned(),
        Some((verdict, said)) if said.is_empty() => verdict,
        Some((verdict, said)) => format!("{verdict}: {said}"),
    }
}

fn limit(figure: Option<&Figure>) -> String {
    figure.map(|figure| figure.held.limit()).unwrap_or_default()
}

/// So much of a digest tells two texts apart in a table; the whole stands beneath it.
const SHORT: usize = 12;

fn procedure(name: &str, walk: &Walk) -> Vec<String> {
    let revision = walk.revision.clone().unwrap_or_default();
    let text = format!("{} ({}\u{2026})", walk.file, walk.sha256.get(..SHORT).unwrap_or(&walk.sha256));
    vec![name.to_owned(), walk.verdict.to_uppercase(), revision, text]
}

/// The digests of both texts, whole.
fn digests(page: &mut impl Blocks, of: [(&str, &Walk); 2]) {
    let said =
        |(name, walk): (&str, &Walk)| format!("Procedure {name}: {}, SHA-256 {}", walk.file, walk.sha256);
    page.items(&of.map(said));
}

/// The title of a test once, then its name alone: its rows are read as one.
fn named<'r>(rows: impl Iterator<Item = (&'r str, &'r str, Vec<String>)>) -> Vec<Vec<String>> {
    let mut before = "";
    let mut named = Vec::new();
    for (step, title, mut cells) in rows {
        cells.insert(0, if step == before { step } else { title }.to_owned());
        before = step;
        named.push(cells);
    }
    named
}

/// A record under another revision, as Markdown.
pub fn under_page(found: &Under) -> String {
    let mut page = Markdown::default();
    under_blocks(&mut page, found);
    page.into_text()
}

/// The same as a page of HTML.
pub fn under_html(found: &Under) -> String {
    let mut page = Plain::default();
    under_blocks(&mut page, found);
    page.into_page("not the signed verdict")
}

fn under_blocks(page: &mut impl Blocks, found: &Under) {
    page.warnings(&found.warnings);
    page.heading(1, &found.recorded.title);
    page.paragraph(&found.machine);
    page.heading(2, "Verdict");
    page.table(
        &["", "verdict", "revision", "procedure"],
        &[procedure("on the record", &found.recorded), procedure("under the other", &found.under)],
    );
    page.paragraph(&format!(
        "Decided on the record: {}; under the other: {}.",
        found.recorded.decision, found.under.decision
    ));
    digests(page, [("on the record", &found.recorded), ("of the other revision", &found.under)]);
    for (name, items) in [("Open", &found.open), ("Stale", &found.stale), ("Exceptions", &found.exceptions)] {
        if !items.is_empty() {
            page.heading(3, name);
            page.items(items);
        }
    }
    for (heading, turns) in [("Verdicts that turn", true), ("All others", false)] {
        page.heading(2, heading);
        let rows = found.rows.iter().filter(|row| row.turns == turns).map(|row| {
            let mut cells = vec![row.what.clone()];
            for tries in [&row.recorded, &row.under] {
                let left =
                    if tries.left.is_none() { "as found".to_owned() } else { told(tries.left.as_ref()) };
                cells.extend([told(tries.found.as_ref()), left, limit(tries.last())]);
            }
            (row.step.as_str(), row.title.as_str(), cells)
        });
        let rows = named(rows);
        if rows.is_empty() {
            page.paragraph("none");
        }
        page.table(
            &[
                "test",
                "what is judged",
                "recorded, found",
                "recorded, left",
                "limit",
                "under, found",
                "under, left",
                "limit",
            ],
            &rows,
        );
    }
    remarks(page, &found.remarks);
}

fn heading(kind: Kind) -> &'static str {
    match kind {
        Kind::Changed => "Changed",
        Kind::Within => "No change that can be told",
        Kind::Unknown => "Uncertainty not known",
        Kind::Same => "The same",
        Kind::NotCompared => "Not compared",
    }
}

/// Two records compared, as Markdown.
pub fn comparison_page(found: &Comparison) -> String {
    let mut page = Markdown::default();
    comparison_blocks(&mut page, found);
    page.into_text()
}

/// The same as a page of HTML.
pub fn comparison_html(found: &Comparison) -> String {
    let mut page = Plain::default();
    comparison_blocks(&mut page, found);
    let foot = format!("then {}, now {}", cut(&found.old.file, 40), cut(&found.new.file, 40));
    page.into_page(&foot)
}

fn comparison_blocks(page: &mut impl Blocks, found: &Comparison) {
    page.warnings(&found.warnings);
    page.heading(1, "Two records compared");
    page.paragraph(&found.new.walk.title);
    let record = |name: &str, which: &crate::report::compare::Which| {
        let mut cells = procedure(name, &which.walk);
        cells.splice(1..1, [which.file.clone(), format!("{} to {}", when(&which.opened), when(&which.last))]);
        cells
    };
    page.table(
        &["", "record", "walked", "verdict", "revision", "procedure"],
        &[record("then", &found.old), record("now", &found.new)],
    );
    digests(page, [("then", &found.old.walk), ("now", &found.new.walk)]);
    if let Some(verdict) = &found.old_under_new {
        page.paragraph(&format!(
            "Two revisions: the entries of then are judged again under the revision of now, which comes to {}. That is not \
             the verdict that was signed.",
            verdict.to_uppercase()
        ));
    }
    for (heading, items) in
        [("Facts that are not the same", &found.facts), ("Other instruments", &found.instruments)]
    {
        if !items.is_empty() {
            page.heading(2, heading);
            let rows = items.iter().map(|(what, then, now)| vec![what.clone(), then.clone(), now.clone()]);
            page.table(&["", "then", "now"], &rows.collect::<Vec<_>>());
        }
    }
    for kind in [Kind::Changed, Kind::Unknown, Kind::Within, Kind::Same, Kind::NotCompared] {
        let rows = found.rows.iter().filter(|row| row.between.kind == kind).map(|row| {
            let left =
                if row.new.left.is_none() { "as found".to_owned() } else { told(row.new.left.as_ref()) };
            let cells = vec![
                row.what.clone(),
                told(row.old.last()),
                told(row.new.found.as_ref()),
                left,
                crate::report::compare::changed(&row.between),
                row.work.as_ref().map(crate::report::compare::changed).unwrap_or_default(),
            ];
            (row.step.as_str(), row.title.as_str(), cells)
        });
        let rows = named(rows);
        if rows.is_empty() {
            continue;
        }
        page.heading(2, heading(kind));
        page.table(
            &["test", "what", "then, as left", "now, as found", "now, as left", "between", "work"],
            &rows,
        );
    }
    for (heading, items) in [("Only then", &found.only_old), ("Only now", &found.only_new)] {
        if !items.is_empty() {
            page.heading(2, heading);
            page.items(items);
        }
    }
    remarks(page, &found.remarks);
}

fn remarks(page: &mut impl Blocks, remarks: &Remarks) {
    for (heading, items) in remark_lists(remarks) {
        if !items.is_empty() {
            page.heading(2, heading);
            page.items(items);
        }
    }
}
