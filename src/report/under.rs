//! What another revision of a procedure says of the entries of a record, beside what the record says: never the verdict
//! that was signed. Built from two walks; the record is only read.

use super::model::Report;
use super::page::{Page, clean};
use super::said::{file_name, when};
use super::sides::{Figure, Side, Tries};
use super::summary::{capitals, left_out, loud};
use crate::check::program::StepId;
use crate::walk::carry::{Carried, Remarks};
use crate::walk::machine::Machine;

/// A record judged under another revision.
#[derive(Debug)]
pub struct Under {
    /// What a reader must know before all else: first that this is not the signed verdict.
    pub warnings: Vec<String>,
    /// Which machine, and when.
    pub machine: String,
    pub recorded: Walk,
    pub under: Walk,
    pub rows: Vec<Row>,
    pub remarks: Remarks,
    /// Exceptions under the other revision.
    pub exceptions: Vec<String>,
    pub open: Vec<String>,
    pub stale: Vec<String>,
}

/// A procedure and the verdict that it comes to.
#[derive(Clone, Debug)]
pub struct Walk {
    pub title: String,
    pub revision: Option<String>,
    /// Name and SHA-256 of its text.
    pub file: String,
    pub sha256: String,
    /// How it holds a value against its limit.
    pub decision: String,
    pub verdict: String,
}

/// One rule, as it was judged on the record and as it would be.
#[derive(Debug)]
pub struct Row {
    pub step: String,
    /// Name and title of the step.
    pub title: String,
    pub what: String,

    pub recorded: Tries,
    pub under: Tries,
    /// The verdict, as found or as left, is another.
    pub turns: bool,
    /// What the step has become since its last try: stale, skipped, blocked.
    pub since: Option<&'static str>,
    pub since_under: Option<&'static str>,
}

/// What stands about a record beside its lines.
#[derive(Clone, Debug)]
pub struct Of {
    pub file: String,
    /// SHA-256 of its end.
    pub end: String,
    /// Which machine, and when.
    pub machine: String,
    pub recorded: Walk,
    pub under: Walk,
    /// Rehearsal, damage, a missing signature.
    pub warnings: Vec<String>,
}

/// Lays the two walks side by side.
pub fn under(of: &Of, recorded: &Machine, carried: &Carried) -> Under {
    let (was, is) = (Side::new(recorded, ""), Side::new(&carried.machine, ""));
    let status = carried.machine.status();
    let verdict = match recorded.state().closed {
        Some(_) => status.verdict_if_closed,
        None => status.verdict,
    };
    let (states, states_under) = (was.states(), is.states());
    let mut rows = Vec::new();
    for (index, step) in is.program().steps.iter().enumerate() {
        let (id, before) = (StepId(index), was.step(&step.name));
        let mut lines = is.of_step(id);
        let earlier = before.map(|before| was.of_step(before)).unwrap_or_default();
        for (key, _) in &earlier {
            if lines.iter().all(|(own, _)| own != key) {
                lines.push((key.clone(), Tries::default()));
            }
        }
        for (key, under) in lines {
            let recorded = earlier
                .iter()
                .find(|(own, _)| *own == key)
                .map(|(_, tries)| tries.clone())
                .unwrap_or_default();
            let what = match (under.is_empty(), before) {
                (true, Some(before)) => was.what(before, &key),
                _ => is.what(id, &key),
            };
            let turns = turns(&recorded, &under);
            let (since, since_under) = (left_out(&states, &step.name), left_out(&states_under, &step.name));
            let (step, title) = (step.name.clone(), is.title(id));
            rows.push(Row { step, title, what, recorded, under, turns, since, since_under });
        }
    }
    // What is wrong with the record itself stands in the first line as well.
    let known = of.warnings.iter().filter_map(|warning| capitals(warning));
    let known: String = known.map(|words| format!("; {words}")).collect();
    let mut warnings = vec![format!(
        "NOT THE SIGNED VERDICT{known}: what another revision of the procedure says of the entries of {}. The record is \
         not altered.",
        of.file
    )];
    warnings.extend(of.warnings.iter().cloned());
    Under {
        warnings,
        machine: of.machine.clone(),
        recorded: of.recorded.clone(),
        under: Walk { verdict: verdict.words().to_owned(), ..of.under.clone() },
        rows,
        remarks: carried.remarks.clone(),
        exceptions: status.exceptions,
        open: status.open,
        stale: status.stale,
    }
}

impl Row {
    /// A reader would be told nothing else under the other.
    fn is_the_same(&self) -> bool {
        cell(&self.recorded, self.since) == cell(&self.under, self.since_under)
    }
}

fn turns(recorded: &Tries, under: &Tries) -> bool {
    let verdict = |held: Option<&Figure>| held.map(|held| held.verdict().to_owned());
    let pairs = [(recorded.found.as_ref(), under.found.as_ref()), (recorded.last(), under.last())]
        .map(|(was, is)| (verdict(was), verdict(is)));
    pairs.iter().any(|(was, is)| was.is_some() && is.is_some() && was != is)
}

/// The page of text.
pub fn render(under: &Under, of: &Of) -> String {
    let mut page = Page::default();
    for warning in &under.warnings {
        page.wrap(warning, "*** ", "    ");
    }
    page.wrap(&under.recorded.title, "", "");
    page.wrap(&under.machine, "", "");

    page.heading("Verdict");
    let line =
        |name: &str, walk: &Walk| vec![name.to_owned(), clean(&walk.verdict.to_uppercase()), named(walk)];
    page.columns(&[line("on the record", &under.recorded), line("under the other", &under.under)], &[15, 26]);
    for (heading, items) in
        [("open: ", &under.open), ("stale: ", &under.stale), ("exception: ", &under.exceptions)]
    {
        page.items(&items.iter().map(|item| format!("{heading}{item}")).collect::<Vec<_>>());
    }

    let (turned, others): (Vec<&Row>, Vec<&Row>) = under.rows.iter().partition(|row| row.turns);
    page.heading("Verdicts that turn");
    match turned.as_slice() {
        [] => page.line("  none"),
        rows => table(&mut page, rows),
    }
    let (same, other): (Vec<&Row>, Vec<&Row>) = others.into_iter().partition(|row| row.is_the_same());
    if !other.is_empty() {
        page.heading("The same verdict, but another figure or limit, or no longer judged");
        table(&mut page, &other);
    }
    if !same.is_empty() {
        page.heading("The same in all");
        let rows = same
            .iter()
            .map(|row| vec![clean(&row.step), clean(&row.what), cell(&row.under, row.since_under)]);
        page.columns(&rows.collect::<Vec<_>>(), &[6, 34]);
    }
    remarks(&mut page, &under.remarks);
    page.heading("Record and procedures");
    digest(&mut page, &format!("record {}, SHA-256 of its end", of.file), &of.end);
    digest(
        &mut page,
        &format!("procedure {}, frozen in the record, SHA-256", under.recorded.file),
        &under.recorded.sha256,
    );
    digest(
        &mut page,
        &format!("procedure {}, judged under here, SHA-256", under.under.file),
        &under.under.sha256,
    );
    page.into_text()
}

fn digest(page: &mut Page, what: &str, digest: &str) {
    page.wrap(what, "  ", "    ");
    page.line(&format!("    {digest}"));
}

/// `revision 2.0 of lathe.bedway, decided simple`.
fn named(walk: &Walk) -> String {
    let revision = walk.revision.as_ref().map(|it| format!("revision {it} of ")).unwrap_or_default();
    clean(&format!("{revision}{}, decided {}", walk.file, walk.decision))
}

/// Which machine a record is of, by what was typed in any words (its name, its number), and when it was walked.
pub fn machine(report: &Report) -> String {
    let names = report.machine.iter().filter(|fact| fact.free_text);
    let names = names.map(|fact| format!("{}: {}", fact.label, fact.value()));
    names.chain([format!("walked from {}", when(&report.opened))]).collect::<Vec<_>>().join("; ")
}

/// The rows, the title of each step once.
fn table(page: &mut Page, rows: &[&Row]) {
    let cells = |row: &&Row| {
        let (was, is) = (cell(&row.recorded, row.since), cell(&row.under, row.since_under));
        (row.title.clone(), vec![clean(&row.what), was, is])
    };
    let cells: Vec<(String, Vec<String>)> = rows.iter().map(cells).collect();
    page.titled(&["", "on the record", "under the other"], &cells, &[22, 24]);
}

/// As found, as left and the limit, a line each.
fn cell(tries: &Tries, since: Option<&str>) -> String {
    let said = |it: &Figure| match it.said() {
        figure if figure.is_empty() => loud(it.verdict()),
        figure => format!("{}: {}", loud(it.verdict()), clean(&figure)),
    };
    let mut lines = Vec::new();
    match (&tries.found, &tries.left) {
        (None, None) => return "not judged".to_owned(),
        (Some(only), None) | (None, Some(only)) => lines.push(said(only)),
        (Some(found), Some(left)) => {
            lines.push(format!("found {}", said(found)));
            lines.push(format!("left {}", said(left)));
        }
    }
    lines.extend(since.map(str::to_owned));
    let limit = tries.last().map(|it| it.held.limit()).unwrap_or_default();
    if !limit.is_empty() {
        lines.push(format!("limit {}", clean(&limit)));
    }
    lines.join("\n")
}

pub(super) fn remarks(page: &mut Page, remarks: &Remarks) {
    for (heading, items) in remark_lists(remarks) {
        if !items.is_empty() {
            page.heading(heading);
            page.items(items);
        }
    }
}

/// How entries went over, each list under its heading.
pub(super) fn remark_lists(remarks: &Remarks) -> [(&'static str, &[String]); 6] {
    [
        ("Turned round: plus and minus have changed places", &remarks.turned),
        ("Converted, exactly", &remarks.converted),
        ("Not taken over", &remarks.refused),
        ("On the record, not asked for by the other", &remarks.not_asked),
        ("Asked for by the other, not on the record", &remarks.not_there),
        ("Otherwise stated by the other; that counts here", &remarks.stated),
    ]
}

/// What the frozen text of a procedure says of itself.
pub fn walk(title: &crate::check::program::Program, file: &str, sha256: &str, verdict: &str) -> Walk {
    Walk {
        title: title.title.clone(),
        revision: title.revision.clone(),
        file: file_name(file),
        sha256: sha256.to_owned(),
        decision: crate::walk::uncertainty::wording::rule(&title.decision),
        verdict: verdict.to_owned(),
    }
}

/// Titles of both, where they are not the same.
pub fn other_title(was: &Walk, is: &Walk) -> Option<String> {
    (was.title != is.title).then(|| {
        format!(
            "ANOTHER PROCEDURE: the record was walked under \"{}\", this file is \"{}\".",
            was.title, is.title
        )
    })
}
