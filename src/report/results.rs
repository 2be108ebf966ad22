//! The results of a try in lines: a value, a row of values, an arrow by size and direction, a map of a plate by its lines.

use super::digits;
use super::labels::{rounded, shown};
use super::model::{Held, ResultPart, Try};
use super::said::spoken;
use crate::quantity::Sense;
use crate::walk::PROJECTION;
use crate::walk::event::ResultLine;
use crate::walk::value::NOT_APPLICABLE;

/// Each line with the blanks before it. A single value that is judged under its own name stands with its rule.
pub(super) fn said(attempt: &Try) -> Vec<(String, usize)> {
    let mut lines = Vec::new();
    for part in attempt.unjudged() {
        match &part.survey {
            Some(rows) => map(&mut lines, &part.label, &part.line, rows),
            None => lines.push((format!("{} = {}", part.label, in_a_row(part)), 6)),
        }
        senses(&mut lines, part);
    }
    lines
}

impl Try {
    /// Its results, without those of one value that stand with their rule. What a sign says is not lost with it where the
    /// procedure could not be read.
    pub(super) fn unjudged(&self) -> impl Iterator<Item = &ResultPart> {
        self.results.iter().filter(|part| {
            let judged = |held: &Held| {
                held.rule.name == part.line.name
                    && held.rule.value.is_some()
                    && (held.sense.is_some() || part.line.says.is_none())
            };
            part.line.values.len() != 1 || !self.rules.iter().any(judged)
        })
    }

    /// Its rules, without those that were not applicable.
    pub(super) fn judged(&self) -> impl Iterator<Item = &Held> {
        self.rules.iter().filter(|held| held.rule.verdict != NOT_APPLICABLE)
    }
}

/// `head: 0 mm/m; tail: -0.1 mm/m (U 0.0033 mm/m each)`; the U beside each value where they are not alike.
fn in_a_row(part: &ResultPart) -> String {
    let Laid { rows, expanded, .. } = match values(part) {
        Said::One(said) | Said::Many(said) => return said,
        Said::Laid(laid) => laid,
    };
    let cells = rows.iter().flat_map(|row| row.cells.iter().map(|cell| (row.outer.as_str(), cell)));
    let cells = cells.map(|(outer, cell)| {
        let places = [outer, cell.place.as_str()];
        let places: Vec<&str> = places.into_iter().filter(|place| !place.is_empty()).collect();
        let value = with_expanded(cell.value.clone(), cell.expanded.clone());
        if places.is_empty() { value } else { format!("{}: {value}", places.join(", ")) }
    });
    let each = expanded.map(|own| format!(" (U {own} each)")).unwrap_or_default();
    cells.collect::<Vec<_>>().join("; ") + &each
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
    /// As they are laid out over their stations.
    Laid(Laid),
    /// Too many for a table.
    Many(String),
}

#[derive(Debug)]
pub(super) struct Laid {
    /// What the names of the rows stand on.
    pub corner: String,
    pub rows: Vec<Row>,
    /// U, where it is the same for every value.
    pub expanded: Option<String>,
}

/// Values side by side, as long as all stations but the last stay the same.
#[derive(Debug)]
pub(super) struct Row {
    pub outer: String,
    pub cells: Vec<Cell>,
}

#[derive(Debug)]
pub(super) struct Cell {
    pub place: String,
    pub value: String,
    /// Its own U, where not all have the same.
    pub expanded: Option<String>,
}

/// More values than this stand in lines of text.
const MOST_IN_A_TABLE: usize = 200;

pub(super) fn values(part: &ResultPart) -> Said {
    let line = &part.line;
    if line.values.len() == 1 {
        let signed = part.sense.is_some() && line.says.as_deref() != Some(PROJECTION);
        let says = line.says.as_ref().map(|words| format!(", {words}")).unwrap_or_default();
        return Said::One(with_expanded(value(line, 0, signed) + &says, expanded(line, 0)));
    }
    let signed = part.sense.is_some();
    let there = line.values.iter().enumerate().filter(|(_, value)| *value != NOT_APPLICABLE);
    let there: Vec<usize> = there.map(|(at, _)| at).collect();
    if there.len() > MOST_IN_A_TABLE {
        let each = there.iter().map(|at| {
            let (outer, last) = place(part, *at);
            let place = if outer.is_empty() { last } else { format!("{outer}, {last}") };
            format!("{place}: {}", with_expanded(value(line, *at, signed), expanded(line, *at)))
        });
        return Said::Many(each.collect::<Vec<_>>().join("; "));
    }
    let first = there.first().and_then(|at| expanded(line, *at));
    let same = first.filter(|first| there.iter().all(|at| expanded(line, *at).as_ref() == Some(first)));
    let mut rows: Vec<Row> = Vec::new();
    for at in there {
        let (outer, place) = place(part, at);
        let own = expanded(line, at).filter(|_| same.is_none());
        let cell = Cell { place, value: value(line, at, signed), expanded: own };
        match rows.last_mut() {
            Some(row) if row.outer == outer => row.cells.push(cell),
            _ => rows.push(Row { outer, cells: vec![cell] }),
        }
    }
    let outer = part.axes.split_last().map(|(_, outer)| outer).unwrap_or_default();
    let corner = outer.iter().map(|axis| spoken(&axis.name)).collect::<Vec<_>>().join(", ");
    Said::Laid(Laid { corner, rows, expanded: same })
}

/// One value with its unit, to the digits that its U allows.
fn value(line: &ResultLine, at: usize, signed: bool) -> String {
    let recorded = line.values.get(at).map_or("", String::as_str);
    let cut = line.expanded.get(at).and_then(|own| digits::beside(recorded, own));
    shown(cut.as_deref().unwrap_or(recorded), line.unit.as_deref(), signed)
}

/// What is known of its uncertainty.
fn expanded(line: &ResultLine, at: usize) -> Option<String> {
    let own = line.expanded.get(at).filter(|own| !own.is_empty())?;
    Some(rounded(own, line.unit.as_deref()))
}

fn with_expanded(value: String, expanded: Option<String>) -> String {
    match expanded {
        Some(own) => format!("{value} (U {own})"),
        None => value,
    }
}

/// The stations of a value: those of the outer axes, and the last.
fn place(part: &ResultPart, mut at: usize) -> (String, String) {
    let mut names = Vec::new();
    for axis in part.axes.iter().rev() {
        let count = axis.stations.len().max(1);
        names.push(axis.stations.get(at % count).map_or("", |station| station.name.as_str()));
        at /= count;
    }
    let last = names.first().map(|name| spoken(name)).unwrap_or_default();
    names.reverse();
    names.pop();
    (spoken(&names.join(", ")), last)
}
