//! The trend as text, 80 columns.

use super::{Drift, Figure, LeftOut, Series, Trend, Visit};
use crate::quantity::{Rational, Sense, exact_text, significant};
use crate::report::labels::{band, shown};
use crate::report::page::{clean, columns, width_of, wrapped};

const WIDTH: usize = 80;

/// What this view proves, and what it does not.
pub const PROOF: &str = "Each line of each record was held against its sum and the line before it. Verdicts were not \
                         worked out again and signatures not checked: bedway verify RECORD does both.";

pub fn render(trend: &Trend) -> String {
    let first = trend.warning().map(|warning| wrapped(&warning, WIDTH, "*** ", "    "));
    let mut lines = first.unwrap_or_default();
    lines.extend(wrapped(&clean(&format!("Machine {} over time", trend.machine)), WIDTH, "", ""));
    lines.extend(wrapped(PROOF, WIDTH, "", ""));
    heading(&mut lines, "Visits");
    let rows = trend.visits.iter().map(|visit| {
        let unsigned = if visit.unsigned { ", NOT SIGNED" } else { "" };
        let revision =
            if visit.revision.is_empty() { String::new() } else { format!(", revision {}", visit.revision) };
        vec![
            visit.day.clone(),
            clean(&format!("{}{unsigned}", visit.verdict)),
            clean(&format!("{}{revision}", visit.title)),
            clean(&visit.file),
        ]
    });
    lines.extend(columns(&rows.collect::<Vec<_>>(), &[10, 24, 24], WIDTH, "  "));
    let added = trend.added();
    if !added.is_empty() {
        heading(&mut lines, "Added after the signing");
        lines.extend(added.iter().flat_map(|text| wrapped(&clean(text), WIDTH, "  - ", "    ")));
    }
    left_out(&mut lines, &trend.left_out);
    if lacks_drift(trend) {
        lines.extend([String::new(), TOO_FEW.to_owned()]);
    }
    for series in &trend.series {
        part(&mut lines, series);
    }
    if trend.series.is_empty() {
        lines.push(String::new());
        lines.push("None of these records holds a judged number.".to_owned());
    }
    lines.join("\n") + "\n"
}

fn heading(lines: &mut Vec<String>, text: &str) {
    lines.extend([String::new(), text.to_owned(), "-".repeat(width_of(text))]);
}

fn left_out(lines: &mut Vec<String>, records: &[LeftOut]) {
    if records.is_empty() {
        return;
    }
    heading(lines, "Left out");
    for record in records {
        lines.extend(wrapped(&clean(&format!("{}: {}", record.file, record.why)), WIDTH, "  - ", "    "));
    }
}

fn part(lines: &mut Vec<String>, series: &Series) {
    lines.push(String::new());
    lines.extend(wrapped(&clean(&format!("{} {}", series.step, series.title)), WIDTH, "", "    "));
    let unit = series.unit.as_ref().map(|unit| format!(", in {unit}")).unwrap_or_default();
    lines.extend(wrapped(&clean(&format!("{}{unit}", series.what)), WIDTH, "  ", "    "));
    if let Some(Sense { plus, minus }) = &series.sense {
        lines.extend(wrapped(&clean(&format!("plus: {plus};  minus: {minus}")), WIDTH, "  ", "    "));
    }
    let signed = series.sense.is_some();
    let mut rows = vec![["", "as found", "as left", "limit", "verdict", ""].map(str::to_owned).to_vec()];
    rows.extend(series.points.iter().map(|point| {
        let left =
            if point.left.value == point.found.value { String::new() } else { value(&point.left, signed) };
        vec![
            point.day.clone(),
            value(&point.found, signed),
            left,
            limit(&point.left, signed),
            point.verdict(),
            clean(&point.remarks()),
        ]
    }));
    lines.extend(columns(&rows, &[10, 11, 11, 18, 10], WIDTH, "  "));
    if series.drift.is_some() {
        lines.extend(wrapped(&clean(&in_words(series)), WIDTH, "  ", "  "));
    }
}

/// Said once, and not under every table.
pub const TOO_FEW: &str = "A drift is worked out from three visits on.";

pub fn lacks_drift(trend: &Trend) -> bool {
    trend.series.iter().any(|series| series.drift.is_none())
}

/// `, each brought to 300 mm`, behind what was judged.
pub fn over(length: &Rational) -> String {
    format!(", each brought to {} mm", exact_text(length))
}

fn value(figure: &Figure, signed: bool) -> String {
    shown(&exact_text(&figure.value), None, signed)
}

fn limit(figure: &Figure, signed: bool) -> String {
    let text = |limit: &Option<Rational>| limit.as_ref().map(exact_text);
    band(text(&figure.lower).as_deref(), text(&figure.upper).as_deref(), None, signed)
}

/// What the points say together.
pub fn in_words(series: &Series) -> String {
    let Some(drift) = &series.drift else {
        return TOO_FEW.to_owned();
    };
    let Drift { rate, expanded, k, freedom, from, to, visits, across_breaks } = drift;
    let unit = series.unit.as_deref().unwrap_or_default();
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    let size = format!("{}{unit} a year", significant(rate.abs(), 2));
    let known = format!(
        "U = {}{unit} a year from the scatter, k {} for 95.45 %, degrees of freedom {freedom}",
        significant(*expanded, 2),
        significant(*k, 3)
    );
    let way = match (&series.sense, *rate > 0.0) {
        _ if *rate == 0.0 => String::new(),
        (Some(sense), true) => format!(" toward \"{}\"", sense.plus),
        (Some(sense), false) => format!(" toward \"{}\"", sense.minus),
        (None, true) => " upward".to_owned(),
        (None, false) => " downward".to_owned(),
    };
    let over = format!("from {from} to {to}, {visits} visits, adjustments taken out");
    let across = match across_breaks {
        true => " The procedure or an instrument changed in between: part of it may be that.",
        false => "",
    };
    match drift.stands_out() {
        true => format!("It moved {size}{way} ({known}; {over}).{across}"),
        false => format!("No drift stands out of the scatter: {size}{way} ({known}; {over}).{across}"),
    }
}

/// Which machines a folder has, where it has several.
pub fn machines(machines: &[(String, Vec<&Visit>)], left_out_too: &[LeftOut]) -> String {
    let mut lines = vec!["Several machines. Name one: --serial NUMBER".to_owned(), String::new()];
    if machines.is_empty() {
        lines = vec!["None of these records can be used.".to_owned()];
        left_out(&mut lines, left_out_too);
        return lines.join("\n") + "\n";
    }
    let mut rows = vec![["machine", "records", "first", "last", "last verdict"].map(str::to_owned).to_vec()];
    rows.extend(machines.iter().map(|(name, visits)| {
        let verdict =
            visits.last().and_then(|it| it.verdict.clone()).unwrap_or_else(|| "unfinished".to_owned());
        let day = |visit: Option<&&Visit>| visit.map(|visit| visit.day().to_owned()).unwrap_or_default();
        vec![clean(name), visits.len().to_string(), day(visits.first()), day(visits.last()), clean(&verdict)]
    }));
    lines.extend(columns(&rows, &[28, 7, 10, 10], WIDTH, "  "));
    left_out(&mut lines, left_out_too);
    lines.join("\n") + "\n"
}
