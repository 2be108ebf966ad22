//! What is listed on the spot, and how often something was repeated: both settle the stations of a reading.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Stations, StepId, ValueId};

use super::directory::item_value;
use super::eval::Evaluator;
use super::fold::{DEFECTS, Fold};
use super::state::{EntryPlace, Sheet};
use super::view::View;

impl Fold<'_> {
    /// A list of names; of a `times` axis the count that was taken; of the defects that all are noted.
    pub(super) fn listed(&mut self, step: &str, axis: &str, items: &[String], sequence: u64) {
        let Some(step) = self.directory.step(step) else { return };
        self.state.current = Some(step);
        if axis == DEFECTS {
            if let Some(attempt) = self.state.steps[step.0].attempts.last_mut() {
                attempt.defects_listed = true;
            }
            return;
        }
        let program = self.program;
        let mut relaid = Vec::new();
        let values: Vec<ValueId> = program.steps[step.0].items.iter().filter_map(item_value).collect();
        let Some(attempt) = self.state.steps[step.0].attempts.last_mut() else { return };
        for value in values {
            for id in &program.values[value.0].axes {
                let Some(found) = program.axes.get(id.0).filter(|it| it.name == axis) else { continue };
                match &found.stations {
                    Stations::Listed { .. } => {
                        self.state.places.insert(sequence, EntryPlace::List(step, *id));
                        self.state.last_entry = Some(sequence);
                        attempt.lists.insert(*id, items.iter().map(|item| Rc::from(item.as_str())).collect());
                        relaid.push(value);
                    }
                    Stations::Repeat { .. } => {
                        let count = items.first().and_then(|count| count.parse().ok());
                        let sheet = attempt.sheets.get_mut(&value).and_then(|sheets| sheets.last_mut());
                        if let Some((count, sheet)) = count.zip(sheet).filter(|(_, sheet)| !sheet.is_full()) {
                            shorten(sheet, axis, count);
                        }
                    }
                    _ => {}
                }
            }
        }
        for value in relaid {
            self.lay_out_anew(step, value);
        }
    }

    /// A set without a reading is laid out by the new list; what was read keeps its station, and what was forgotten is
    /// still to be read.
    fn lay_out_anew(&mut self, step: StepId, value: ValueId) {
        let Some(last) = self.state.steps[step.0].attempts.len().checked_sub(1) else { return };
        if let Some(sheets) = self.state.steps[step.0].attempts[last].sheets.get_mut(&value) {
            sheets.retain(|sheet| sheet.retired || sheet.filled > 0);
        }
        let Some(at) = self.sheet_index(step, last, value) else { return };
        let view = View::of(self.program, self.state, step, last);
        let axes = &self.program.values[value.0].axes;
        let Ok(axes) = Evaluator::new(self.program, &view).layout_of_row(axes) else { return };
        let Some(sheet) = self.sheet_at(step, last, value, at).filter(|sheet| sheet.axes != axes) else {
            return;
        };
        let old = std::mem::replace(sheet, Sheet::new(0, axes));
        let cells = std::mem::take(&mut sheet.cells);
        *sheet = Sheet { axes: std::mem::take(&mut sheet.axes), cells, filled: 0, ..old.clone() };
        let mut moved = HashMap::new();
        for (cell, answered) in old.cells.iter().enumerate() {
            if let (Some(answered), Some(to)) = (answered, sheet.index_of(&old.stations(cell))) {
                sheet.put(to, answered.clone());
                moved.insert(cell, to);
            }
        }
        // In any order: each is moved by itself.
        #[allow(clippy::iter_over_hash_type)]
        for place in self.state.places.values_mut() {
            if let EntryPlace::Cell { step: of, attempt, value: it, sheet, cell } = place
                && (*of, *attempt, *it, *sheet) == (step, last, value, at)
                && let Some(to) = moved.get(cell)
            {
                *cell = *to;
            }
        }
    }
}

/// A `times` axis ends with as many repeats as were taken.
fn shorten(sheet: &mut Sheet, axis: &str, count: usize) {
    let old = sheet.clone();
    sheet.axes = old
        .axes
        .iter()
        .map(|it| {
            if *it.axis != *axis {
                return it.clone();
            }
            let mut shorter = (**it).clone();
            shorter.stations.truncate(count);
            Rc::new(shorter)
        })
        .collect();
    let cells = sheet.axes.iter().map(|axis| axis.stations.len()).product();
    sheet.cells = vec![None; cells];
    sheet.filled = 0;
    for (index, answered) in old.cells.iter().enumerate() {
        if let (Some(answered), Some(place)) = (answered, sheet.index_of(&old.stations(index))) {
            sheet.put(place, answered.clone());
        }
    }
}
