//! The temperature of the room when the walk is left and when it is taken up again: what was read before and after a
//! change does not compare to the micrometre.

use crate::check::program::{Kind, ValueId};
use crate::quantity::{Real, Unit};

use super::entry::{Asked, recorded, understand};
use super::event::Answer;
use super::fold::Fold;
use super::machine::Machine;
use super::question::Refusal;
use super::text;
use super::value::Cell;

/// A change of more than this is said. Common practice, no source: 300 mm of iron grow by about 3.5 um in 1 K, and a
/// bench that warms bends by more than it grows.
const NOTICED: i64 = 1;

/// So a reading or a station is called that gives the temperature of the room.
const NAMES: &[&str] = &["ambient", "room", "air"];

#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// In degC.
    pub value: Real,
    pub at: Option<jiff::Timestamp>,
    /// The line that said so.
    pub line: u64,
}

/// Whether a reading, a fact or a station of this name gives the temperature of the room.
pub fn is_room(name: &str) -> bool {
    NAMES.contains(&name.to_lowercase().as_str())
}

fn asked() -> Asked<'static> {
    let kind = &Kind::Point;
    Asked { kind, unit: Some(Unit::DegC), not_read_allowed: false, open_ended_allowed: false }
}

fn shown(value: &Real) -> String {
    text::show(value, Some(Unit::DegC), None, None, &[])
}

impl Fold<'_> {
    /// As it was given when the walk was left or taken up.
    pub(super) fn room(&mut self, answer: Option<&Answer>) {
        if let Some(answer) = answer {
            let cell = recorded(answer, &Kind::Point, Some(Unit::DegC), None);
            self.keep_room(&cell);
        }
    }

    /// Line `line` should have said this.
    pub(super) fn room_otherwise(&mut self, line: u64, answer: Option<&Answer>) {
        let Some(room) = self.state.room.as_mut().filter(|room| room.line == line) else { return };
        let cell = answer.map(|answer| recorded(answer, &Kind::Point, Some(Unit::DegC), None));
        if let Some(value) = cell.as_ref().and_then(Cell::as_number) {
            room.value = value.clone();
        }
    }

    /// As a reading of a series or an observation of the room gives it.
    pub(super) fn room_read(&mut self, value: ValueId, stations: &[String], cell: &Cell) {
        let Some(definition) = self.program.values.get(value.0) else { return };
        if definition.kind == Kind::Point
            && (is_room(&definition.name) || stations.iter().any(|station| is_room(station)))
        {
            self.keep_room(cell);
        }
    }

    fn keep_room(&mut self, cell: &Cell) {
        if let Some(value) = cell.as_number() {
            self.state.room =
                Some(Room { value: value.clone(), at: self.state.now, line: self.state.sequence });
        }
    }
}

impl Machine {
    /// What was typed as the temperature of the room.
    pub fn temperature(&self, typed: &str) -> Result<Answer, Refusal> {
        Ok(understand(typed, &asked())?.answer)
    }

    /// As it was measured last: `18.4 degC`.
    pub fn room_before(&self) -> Option<String> {
        self.state.room.as_ref().map(|room| shown(&room.value))
    }

    /// What a change since then means, where it is worth saying.
    pub fn room_changed(&self, now: &Answer) -> Option<String> {
        let before = &self.state.room.as_ref()?.value;
        let cell = recorded(now, &Kind::Point, Some(Unit::DegC), None);
        let change = cell.as_number()? - before;
        if change.abs().is_at_most(&Real::from(NOTICED)) {
            return None;
        }
        let size = text::show(&change.abs(), Some(Unit::K), None, None, &[]);
        let way = if change.is_negative() { "colder" } else { "warmer" };
        Some(format!(
            "The room is {size} {way} than it was ({}). Machine and instruments follow for hours, and readings before and \
             after do not compare to the micrometre: let them settle, and take again what was half read.",
            shown(before)
        ))
    }

    /// Whether anything was read, so that the temperature matters.
    pub fn has_readings(&self) -> bool {
        self.state.steps.iter().any(|step| step.attempts.iter().any(|it| !it.sheets.is_empty()))
    }
}
