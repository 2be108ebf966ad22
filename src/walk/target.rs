//! What must be said behind `correct` to mean one entry and no other: `A.x[place 0 mm] of try 1 set 2`, no more than is
//! needed. And all entries of a step, each by that name, and what was moved in it.

use crate::check::program::{Program, StepId, ValueId};

use super::seam::Seam;
use super::state::{Sheet, State};
use super::times;
use super::value::Cell;
use super::wording;

/// One entry of a step.
#[derive(Clone, Copy, Debug)]
pub struct EntryAt {
    pub step: StepId,
    /// Which try, from 0.
    pub attempt: usize,
    pub value: ValueId,
    /// Which set of it, from 0.
    pub sheet: usize,
    pub cell: usize,
    /// A station that was read again after a break: which break, from 0.
    pub seam: Option<usize>,
}

/// The words that mean this entry. None: there is no such place.
pub fn of_entry(program: &Program, state: &State, at: &EntryAt) -> Option<String> {
    let own = state.steps.get(at.step.0)?;
    let sheets = own.attempts.get(at.attempt)?.sheets.get(&at.value)?.as_slice();
    let there = sheets.get(at.sheet)?;
    let is_last = at.attempt + 1 == own.attempts.len();
    let counts = sheets.iter().rposition(|it| !it.retired) == Some(at.sheet);
    let stations = there.stations(at.cell);
    let row = there.run.as_ref().and_then(|_| times::parse(stations.first()?));
    let of_try = if is_last { String::new() } else { format!(" try {}", at.attempt + 1) };
    let begun = sheets.iter().take(at.sheet + 1).filter(|it| it.filled > 0).count();
    let of_set = if counts { String::new() } else { format!(" set {begun}") };
    let of = if is_last && counts { "" } else { " of" };
    let again = match at.seam {
        None => String::new(),
        Some(seam) if latest_seam(there, at.cell) == Some(seam) => " read again".to_owned(),
        Some(seam) => format!(" read again {}", seam + 1),
    };
    Some(format!(
        "{}.{}{}{of}{of_try}{of_set}{again}{}",
        program.steps.get(at.step.0)?.name,
        program.values.get(at.value.0)?.name,
        picks(there, &stations),
        row.as_ref().map(times::at).unwrap_or_default(),
    ))
}

fn latest_seam(sheet: &Sheet, cell: usize) -> Option<usize> {
    sheet.seams.iter().rposition(|seam: &Seam| seam.again.iter().any(|(at, _)| *at == cell))
}

/// Every entry of a try, in the order of the stations, stations that were read again behind those of their series.
pub fn entries(state: &State, step: StepId, attempt: usize) -> Vec<EntryAt> {
    let Some(tried) = state.steps.get(step.0).and_then(|own| own.attempts.get(attempt)) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for (value, sheets) in &tried.sheets {
        for (sheet, own) in sheets.iter().enumerate() {
            let at = |cell, seam| EntryAt { step, attempt, value: *value, sheet, cell, seam };
            let read = own.cells.iter().enumerate().filter(|(_, cell)| cell.is_some());
            all.extend(read.map(|(cell, _)| at(cell, None)));
            for (seam, again) in own.seams.iter().enumerate() {
                all.extend(again.again.iter().map(|(cell, _)| at(*cell, Some(seam))));
            }
        }
    }
    all
}

/// What was really moved: "shim at front: +0.02 mm, shim added".
pub fn moved(program: &Program, adjustment: ValueId, stations: &[String], amount: &Cell) -> String {
    let at = match stations.is_empty() {
        true => String::new(),
        false => format!(" at {}", wording::spoken_place(stations)),
    };
    let name = program.values.get(adjustment.0).map_or("", |it| it.name.as_str());
    format!("{name}{at}: {}", wording::echo(program, adjustment, stations, amount))
}

/// `[place head, turn 180 deg]`; nothing where there is no axis. The rows of a series are named by their time.
pub fn picks(sheet: &Sheet, stations: &[String]) -> String {
    let rows = usize::from(sheet.run.is_some());
    let named = sheet.axes.iter().zip(stations).skip(rows);
    let list: Vec<String> = named.map(|(axis, station)| format!("{} {station}", axis.axis)).collect();
    if list.is_empty() { String::new() } else { format!("[{}]", list.join(", ")) }
}
