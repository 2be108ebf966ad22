//! The readings of a record as a table (RFC 4180): a line a reading, its place in a column for each axis. What each column
//! holds stands in `grammar/README.md`.
//!
//! A text that a spreadsheet would take for a formula (it begins with `=`, `+`, `-`, `@`, an apostrophe or a tab) has an
//! apostrophe put before it. Numbers have none: `-0.004` is a number. Control characters are spelled out.

use crate::quantity::{Rational, exact_text, fixed, parse_exact};
use crate::report::labels::direction;
use crate::report::model::{EntryLine, Proof, Readings, Report, StepPart, Struck, Try};
use crate::report::page::clean;
use crate::report::summary::warnings;
use crate::walk::event::{Answer, How};

const BEFORE_AXES: [&str; 10] =
    ["line", "time", "read_at", "kind", "step", "title", "try", "set", "name", "label"];
const AFTER_AXES: [&str; 11] = [
    "standing",
    "value",
    "unit",
    "bound",
    "exact",
    "says",
    "typed",
    "typed_unit",
    "counts_as",
    "reason",
    "how",
];

/// The decimals of a number that does not end.
const DECIMALS: usize = 12;

/// All readings of a record.
pub fn table(report: &Report, proof: &Proof) -> String {
    let warning = warnings(report, proof).join(" ");
    let mut axes: Vec<&str> = Vec::new();
    for axis in sets(report).flat_map(|(.., set)| &set.axes) {
        if !axes.contains(&axis.as_str()) {
            axes.push(axis);
        }
    }
    let first = match warning.as_str() {
        "" => "warning".to_owned(),
        warning => format!("warning: {warning}"),
    };
    let heads = BEFORE_AXES.into_iter().map(str::to_owned);
    let places = axes.iter().map(|axis| format!("at {axis}"));
    let heading =
        std::iter::once(first).chain(heads).chain(places).chain(AFTER_AXES.into_iter().map(str::to_owned));
    let mut rows: Vec<Vec<String>> = vec![heading.collect()];
    for fact in &report.machine {
        let (line, time) = (fact.seq.to_string(), fact.time.clone());
        let mut own =
            Row { line, time, kind: "fact", name: &fact.name, label: &fact.label, ..Row::default() };
        own.unit = fact.unit.clone().unwrap_or_default();
        for struck in &fact.struck {
            rows.push(own.struck(struck, None).cells(&warning, &axes));
        }
        own.standing = "stands";
        rows.push(own.answered(Some(&fact.answer)).cells(&warning, &axes));
    }
    for (part, attempt, set) in sets(report) {
        let entries = set.entries.iter().map(|entry| (entry, false));
        for (entry, again) in entries.chain(set.read_again.iter().map(|entry| (entry, true))) {
            let own = of_entry(part, attempt, set, entry, again);
            rows.extend(
                entry
                    .struck
                    .iter()
                    .map(|struck| own.struck(struck, sense_of(set, entry)).cells(&warning, &axes)),
            );
            rows.push(own.cells(&warning, &axes));
        }
    }
    sheet_of(&rows)
}

/// Rows as a file. The first one is the heading.
pub fn sheet_of(rows: &[Vec<String>]) -> String {
    let mut writer = ::csv::WriterBuilder::new().terminator(::csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        // Writing to memory has nothing that could fail, and all rows are equally long.
        if writer.write_record(row.iter().map(|cell| guarded(cell))).is_err() {
            return String::new();
        }
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// A cell that no spreadsheet takes for a formula.
fn guarded(cell: &str) -> String {
    let cell = clean(cell);
    let is_number = !cell.is_empty()
        && cell.trim_start_matches(['+', '-']).chars().all(|c| c.is_ascii_digit() || c == '.')
        && parse_exact(cell.trim_start_matches('+')).is_some();
    match cell.starts_with(['=', '+', '-', '@', '\'']) && !is_number {
        true => format!("'{cell}"),
        false => cell,
    }
}

fn sets(report: &Report) -> impl Iterator<Item = (&StepPart, &Try, &Readings)> {
    report.steps.iter().flat_map(|part| {
        part.tries
            .iter()
            .flat_map(move |attempt| attempt.readings.iter().map(move |set| (part, attempt, set)))
    })
}

/// A line of the table.
#[derive(Clone, Default)]
struct Row<'a> {
    line: String,
    time: String,
    read_at: String,
    kind: &'static str,
    step: &'a str,
    title: &'a str,
    attempt: String,
    set: String,
    name: &'a str,
    label: &'a str,
    stations: Vec<(&'a str, &'a str)>,
    standing: &'static str,
    value: String,
    unit: String,
    bound: &'static str,
    exact: String,
    says: String,
    typed: String,
    typed_unit: String,
    counts_as: String,
    reason: String,
    how: &'static str,
}

fn of_entry<'a>(
    part: &'a StepPart,
    attempt: &'a Try,
    set: &'a Readings,
    entry: &'a EntryLine,
    again: bool,
) -> Row<'a> {
    let row = Row {
        line: entry.seq.to_string(),
        time: entry.time.clone(),
        read_at: entry.read_at.clone().unwrap_or_default(),
        kind: if set.observed { "observation" } else { "reading" },
        step: &part.name,
        title: &part.title,
        attempt: attempt.number.to_string(),
        set: set.set.to_string(),
        name: &set.name,
        label: &set.label,
        stations: set
            .axes
            .iter()
            .map(String::as_str)
            .zip(entry.stations.iter().map(String::as_str))
            .collect(),
        unit: set.unit.clone().unwrap_or_default(),
        standing: match () {
            () if again => "read again",
            () if set.left_off => "left off",
            () if entry.answer.is_none() || entry.reason.is_some() => "not read",
            () => "stands",
        },
        counts_as: entry.counts_as.as_ref().map(|answer| answer.value.clone()).unwrap_or_default(),
        how: how(entry.how),
        ..Row::default()
    };
    let mut row = match entry.reason {
        Some(_) => row,
        None => row.answered(entry.answer.as_ref()),
    };
    let sense = sense_of(set, entry);
    row.says = entry
        .answer
        .as_ref()
        .and_then(|answer| direction(&answer.value, sense))
        .unwrap_or_default()
        .to_owned();
    let kept = entry.kept.as_ref().map(|kept| match kept.reason.as_str() {
        "" => format!("kept: {}", kept.query),
        reason => format!("kept: {}: {reason}", kept.query),
    });
    row.reason = entry.reason.clone().or(kept).unwrap_or_default();
    row
}

/// Plus and minus at this station.
pub(super) fn sense_of<'s>(set: &'s Readings, entry: &EntryLine) -> Option<&'s crate::quantity::Sense> {
    let own = set.own.iter().find(|(station, _)| entry.stations.contains(station));
    own.map(|(_, sense)| sense).or(set.sense.as_ref())
}

impl Row<'_> {
    fn answered(mut self, answer: Option<&Answer>) -> Self {
        let Some(answer) = answer else { return self };
        self.typed.clone_from(&answer.typed);
        self.typed_unit = answer.unit.clone().unwrap_or_default();
        let (bound, number) = match answer.value.split_once(' ') {
            Some(("over", rest)) if parse_exact(rest).is_some() => ("over", rest),
            Some(("below", rest)) if parse_exact(rest).is_some() => ("below", rest),
            _ => ("", answer.value.as_str()),
        };
        self.bound = bound;
        match parse_exact(number).filter(|_| answer.sha256.is_none()) {
            Some(exact) => {
                self.value = decimal(&exact);
                if exact_text(&exact) != self.value {
                    self.exact = exact_text(&exact);
                }
            }
            None => self.value = number.to_owned(),
        }
        self
    }

    /// What stood there before.
    fn struck(&self, struck: &Struck, sense: Option<&crate::quantity::Sense>) -> Self {
        let bare = Row {
            value: String::new(),
            exact: String::new(),
            bound: "",
            counts_as: String::new(),
            ..self.clone()
        };
        let mut row = bare.answered(struck.was.as_ref());
        row.says =
            struck.was.as_ref().and_then(|was| direction(&was.value, sense)).unwrap_or_default().to_owned();
        row.standing = "struck out";
        row.reason = match &struck.not_read {
            Some(not_read) => format!("not read: {not_read}; corrected: {}", struck.reason),
            None => format!("corrected: {}", struck.reason),
        };
        row
    }

    fn cells(&self, warning: &str, axes: &[&str]) -> Vec<String> {
        let before = [
            warning,
            &self.line,
            &self.time,
            &self.read_at,
            self.kind,
            self.step,
            self.title,
            &self.attempt,
            &self.set,
            self.name,
            self.label,
        ];
        let places = axes.iter().map(|axis| {
            let own = self.stations.iter().find(|(name, _)| name == axis);
            own.map(|(_, station)| (*station).to_owned()).unwrap_or_default()
        });
        let after = [
            self.standing,
            &self.value,
            &self.unit,
            self.bound,
            &self.exact,
            &self.says,
            &self.typed,
            &self.typed_unit,
            &self.counts_as,
            &self.reason,
            self.how,
        ];
        before
            .into_iter()
            .map(str::to_owned)
            .chain(places)
            .chain(after.into_iter().map(str::to_owned))
            .collect()
    }
}

fn decimal(exact: &Rational) -> String {
    let text = exact_text(exact);
    if text.contains('/') { fixed(exact, DECIMALS) } else { text }
}

/// How an entry came.
pub(super) fn how(how: How) -> &'static str {
    match how {
        How::Typed => "typed",
        How::Row => "row",
        How::Gauge => "gauge",
        How::Example => "example",
        How::Seeded => "seeded",
        How::Sheet => "sheet",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_would_work_out_is_made_a_text_and_a_number_stays_one() {
        for formula in ["=1+1", "+HYPERLINK(0)", "-cmd", "@sum", "'tis", "=\"x\"", "-1+1", "--1"] {
            assert_eq!(guarded(formula), format!("'{formula}"));
        }
        for plain in ["-0.004", "+0.006", "0.006", "300 mm", "a=b", ""] {
            assert_eq!(guarded(plain), plain);
        }
        assert_eq!(guarded("\t=1"), "\\u{9}=1", "a tab is spelled out");
    }
}
