//! What stands beneath a question about a value: its unit, what its signs mean, how a row is typed.

use crate::check::program::{Kind, Stations as Planned, ValueId};

use super::entry::what_to_type;
use super::machine::Machine;
use super::state::Sheet;
use super::value::Cell;
use super::wording;

impl Machine {
    /// The unit, what plus and minus mean, and how to type a row.
    pub(super) fn hints(&self, value: ValueId, at: Option<(&Sheet, usize)>) -> Vec<String> {
        let definition = &self.program.values[value.0];
        let mut hints = Vec::new();
        let what = what_to_type(&self.asked(value));
        if !matches!(definition.kind, Kind::Quantity(_) | Kind::Point) {
            hints.push(what);
        } else if let Some(unit) = definition.unit {
            hints.push(format!("in {}", unit.symbol()));
            if let Some((from, to)) = self.bounds_of(value) {
                let show = |bound| self.echo(value, &[], &Cell::number(bound));
                hints.push(format!("from {} to {}", show(from), show(to)));
            }
        }
        let sense =
            at.and_then(|(sheet, cell)| wording::sense_at(&self.program, value, &sheet.stations(cell)));
        if let Some(sense) = sense.as_ref().or(definition.sense.as_ref()) {
            hints.push(format!("plus: {}", sense.plus));
            hints.push(format!("minus: {}", sense.minus));
        }
        if let Some((sheet, cell)) = at {
            let left = sheet.cells.len() - cell;
            let kind = &definition.kind;
            let in_a_row = !matches!(kind, Kind::Text | Kind::Photo);
            if left > 1 && cell == 0 && in_a_row {
                hints.extend(self.other_senses(value, sheet, cell));
                hints.push(format!("one at a time, or a row of up to {left} on one line"));
            }
            if self.may_end(value, sheet, cell) {
                hints.push("Enter alone if that was all".to_owned());
            }
        }
        hints
    }

    /// What plus and minus mean at the stations further on in a row, where they mean something else there.
    fn other_senses(&self, value: ValueId, sheet: &Sheet, cell: usize) -> Vec<String> {
        let own = &self.program.values[value.0].station_senses;
        let at = |cell: usize| wording::sense_at(&self.program, value, &sheet.stations(cell));
        let mut said = vec![at(cell)];
        let mut hints = Vec::new();
        for later in (cell + 1..sheet.cells.len()).filter(|_| !own.is_empty()) {
            let sense = at(later);
            if let Some(other) = sense.as_ref().filter(|_| !said.contains(&sense)) {
                let place = wording::spoken_place(&sheet.stations(later));
                hints.push(format!("from {place} on: plus: {}; minus: {}", other.plus, other.minus));
                said.push(sense);
            }
        }
        hints
    }

    /// Whether a `times least to most` reading may end before this cell.
    pub(super) fn may_end(&self, value: ValueId, sheet: &Sheet, cell: usize) -> bool {
        let axes = &self.program.values[value.0].axes;
        let taken = sheet.indices(cell);
        axes.iter().zip(taken).any(|(axis, taken)| match self.program.axes[axis.0].stations {
            Planned::Repeat { least, most } => {
                least < most && taken >= least as usize && taken < most as usize
            }
            _ => false,
        })
    }
}
