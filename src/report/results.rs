//! The results of a try in lines: a value, a row of values, an arrow by size and direction, a map of a plate by its lines.

use super::digits;
use super::labels::{rounded, shown};
use super::model::{ResultPart, Try};
use super::said::spoken;
use crate::quantity::Sense;
use crate::walk::PROJECTION;
use crate::walk::event::ResultLine;
use crate::walk::value::NOT_APPLICABLE;

/// Each line with the blanks before it.
pub(super) fn said(attempt: &Try) -> Vec<(String, usize)> {
    let mut lines = Vec::new();
    for part in &attempt.results {
        let ResultPart { line: result, label, survey, .. } = part;
        match survey {
            Some(rows) => {
                map(&mut lines, label, result, rows);
                senses(&mut lines, part);
            }
            None => {
                // A projection has no direction to lose.
                let signed = result.says.as_ref().is_some_and(|says| says != PROJECTION);
                let places = 0..result.values.len();
                let values: Vec<String> = places.map(|at| value(result, at, signed)).collect();
                let says = result.says.as_ref().map(|words| format!(", {words}")).unwrap_or_default();
                let own = result.expanded.iter().map(|own| rounded(own, result.unit.as_deref()));
                let own = own.collect::<Vec<_>>().join(", ");
                let says = if own.is_empty() { says } else { format!("{says} (U = {own})") };
                lines.push((format!("{label} = {}{says}", values.join(", ")), 6));
                senses(&mut lines, part);
            }
        }
    }
    lines
}

/// What plus and minus mean of several values, where no words stand beside each.
fn senses(lines: &mut Vec<(String, usize)>, part: &ResultPart) {
    if let Some(Sense { plus, minus }) = part.sense.as_ref().filter(|_| part.line.values.len() > 1) {
        lines.push((format!("plus: {plus}; minus: {minus}"), 8));
    }
}

/// Heights along the lines of a survey, a line a row.
fn map(lines: &mut Vec<(String, usize)>, label: &str, result: &ResultLine, rows: &[(String, usize)]) {
    let unit = result.unit.as_ref().map(|unit| format!(", in {unit}")).unwrap_or_default();
    lines.push((format!("{label}{unit}:"), 6));
    let mut values = result.values.iter();
    for (name, length) in rows {
        let row = values.by_ref().take(*length).filter(|value| *value != NOT_APPLICABLE);
        let row: Vec<String> = row.map(|value| shown(value, None, true)).collect();
        lines.push((format!("{name}  {}", row.join("  ")), 8));
    }
}

/// The values of a result, each as it is shown.
pub(super) enum Said {
    One(String),
    /// Place and value.
    Several(Vec<(String, String)>),
    /// Too many to stand one below the other.
    Many(String),
}

/// More values than this stand in lines of text.
const MOST_ONE_BY_ONE: usize = 12;

pub(super) fn values(part: &ResultPart) -> Said {
    let line = &part.line;
    if line.values.len() == 1 {
        let signed = part.sense.is_some() && line.says.as_deref() != Some(PROJECTION);
        let says = line.says.as_ref().map(|words| format!(", {words}")).unwrap_or_default();
        return Said::One(with_expanded(value(line, 0, signed) + &says, line, 0));
    }
    let there = line.values.iter().enumerate().filter(|(_, value)| *value != NOT_APPLICABLE);
    let each: Vec<(String, String)> = there
        .map(|(at, _)| (place(part, at), with_expanded(value(line, at, part.sense.is_some()), line, at)))
        .collect();
    if each.len() <= MOST_ONE_BY_ONE {
        return Said::Several(each);
    }
    let each = each.iter().map(|(place, value)| format!("{place}: {value}"));
    Said::Many(each.collect::<Vec<_>>().join("; "))
}

/// One value with its unit, to the digits that its U allows.
fn value(line: &ResultLine, at: usize, signed: bool) -> String {
    let recorded = line.values.get(at).map_or("", String::as_str);
    let cut = line.expanded.get(at).and_then(|own| digits::beside(recorded, own));
    shown(cut.as_deref().unwrap_or(recorded), line.unit.as_deref(), signed)
}

fn with_expanded(value: String, line: &ResultLine, at: usize) -> String {
    match line.expanded.get(at).filter(|own| !own.is_empty()) {
        Some(own) => format!("{value} (U {})", rounded(own, line.unit.as_deref())),
        None => value,
    }
}

/// The stations of a value, from the outermost in.
fn place(part: &ResultPart, mut at: usize) -> String {
    let mut names = Vec::new();
    for axis in part.axes.iter().rev() {
        let count = axis.stations.len().max(1);
        names.push(axis.stations.get(at % count).map_or("", |station| station.name.as_str()));
        at /= count;
    }
    names.reverse();
    spoken(&names.join(", "))
}
