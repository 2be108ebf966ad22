//! What an expression may see while it is worked out: the entries of one state of the walk.

use std::rc::Rc;

use crate::check::program::{AxisId, JudgementId, StepId, ValueId};

use super::seam::Parts;
use super::state::Used;
use super::value::{Laid, Station};

/// A set of a reading that counts: what it was read with, and in which set-up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taken {
    pub used: Used,
    pub set_up: SetUp,
    /// Of a series that was broken and joined.
    pub parts: Option<Parts>,
}

/// One set-up: what is zeroed in it stays zeroed. A step that keeps the set-up of another shares its.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SetUp {
    /// The step that made it; none of what belongs to no step.
    pub step: Option<StepId>,
    /// Try and set in it, from 1.
    pub attempt: u32,
    pub set: u32,
}

/// The entries as they stand (for one try of the step that is judged, the latest of all others). Lets, layouts and
/// judgements are worked out from these by `eval` and `judge`; a scope only knows what was entered.
pub trait Scope {
    /// A fact, reading, observation or the amount of an adjustment as entered. None: nothing entered yet.
    fn entered(&self, value: ValueId) -> Option<Laid>;

    /// The names given to an `as listed` axis. None: not listed yet.
    fn listed(&self, axis: AxisId) -> Option<Vec<Rc<str>>>;

    /// What a reading is read with: of each set that counts, the latest last; never empty. Before anything is entered,
    /// what it would be read with.
    fn taken(&self, reading: ValueId) -> Vec<Taken>;

    /// The rows of a series that have been taken. None: none yet.
    fn rows(&self, _reading: ValueId) -> Option<Vec<Station>> {
        None
    }

    /// Whether no further row of a series is to come.
    fn is_over(&self, _reading: ValueId) -> bool {
        true
    }

    /// A result of the record before. None: there is none. A single `NotRead` says why one that is there cannot be
    /// compared.
    fn previous(&self, result: ValueId) -> Option<Laid>;

    /// U = 2u of a result of the record before, cell by cell, in the unit in which it is kept. None: none is stated.
    fn spread_before(&self, _result: ValueId) -> Option<Laid> {
        None
    }

    /// Whether a tolerance of another step has failed as it stands. None: not judged yet.
    fn failed(&self, step: StepId, judgement: JudgementId) -> Option<bool>;
}
