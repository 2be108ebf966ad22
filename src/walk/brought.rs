//! What is brought to a walk: which instruments are used, and what the record before left.

use std::rc::Rc;

use crate::check::program::ValueId;

use super::event::{Answer, InstrumentCard};
use super::value::Cell;

/// Which one an instrument is.
#[derive(Clone, Debug)]
pub struct Card {
    pub said: InstrumentCard,
    /// The latest day on which it was chosen or something was read with it.
    pub day: Option<jiff::civil::Date>,
    /// Something was read with it.
    pub used: bool,
    pub sequence: u64,
    pub same: Same,
}

/// Lines that mean one and the same instrument: its scale is one unknown wherever it is read, its zero is one as long as no
/// other came between.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Same {
    /// The first of them all.
    pub first: u64,
    /// The first of those in a row.
    pub in_a_row: u64,
}

impl Card {
    /// On the day it was chosen, or on one on which something was read with it.
    pub fn is_expired(&self) -> bool {
        let until = self.said.calibrated_until.as_deref().and_then(|date| date.parse().ok());
        until.zip(self.day).is_some_and(|(until, day): (jiff::civil::Date, _)| until < day)
    }
}

/// A fact, a reading or a result as the record before left it.
#[derive(Clone, Debug, Default)]
pub struct Earlier {
    /// Parallel to `answers`; empty where it was only said in its order, as an example says it.
    pub stations: Vec<Vec<String>>,
    pub answers: Vec<Answer>,
    pub cells: Vec<Cell>,
    /// U = 2u of each, as a number in the unit in which the cells are kept; not known where there is none. Empty: none.
    pub expanded: Vec<Cell>,
    /// Why it cannot be compared.
    pub reason: Option<Rc<str>>,
}

impl Earlier {
    /// What stood at these stations.
    pub fn at(&self, stations: &[String]) -> Option<&Cell> {
        self.cells.get(self.place_of(stations)?)
    }

    pub fn place_of(&self, stations: &[String]) -> Option<usize> {
        match self.stations.is_empty() && self.cells.len() == 1 && stations.is_empty() {
            true => Some(0),
            false => self.stations.iter().position(|own| own == stations),
        }
    }
}

/// What an adjustment did when the record before was made, in base units.
#[derive(Clone, Debug)]
pub struct EarlierMove {
    pub adjustment: ValueId,
    pub result: ValueId,
    pub amount: Cell,
    pub change: Cell,
}
