//! What an expression may see while it is worked out: the entries of one state of the walk.

use std::rc::Rc;

use crate::check::program::{AxisId, InstrumentId, JudgementId, StepId, ValueId};
use crate::quantity::{Rational, Unit};

use super::value::{Laid, Station};

/// The entries as they stand (for one try of the step that is judged, the latest of all others). Lets, layouts and
/// judgements are worked out from these by `eval` and `judge`; a scope only knows what was entered.
pub trait Scope {
    /// A fact, reading, observation or the amount of an adjustment as entered. None: nothing entered yet.
    fn entered(&self, value: ValueId) -> Option<Laid>;

    /// The names given to an `as listed` axis. None: not listed yet.
    fn listed(&self, axis: AxisId) -> Option<Vec<Rc<str>>>;

    /// The instrument in use for a reading, if it differs from the first one named.
    fn instrument(&self, reading: ValueId) -> Option<InstrumentId>;

    /// Least step of the instrument in use, where the walk knows it better than the file (`using`, or its card).
    fn resolution(&self, instrument: InstrumentId) -> Option<(Rational, Unit)>;

    /// The rows of a series that have been taken. None: none yet.
    fn rows(&self, _reading: ValueId) -> Option<Vec<Station>> {
        None
    }

    /// Whether no further row of a series is to come.
    fn is_over(&self, _reading: ValueId) -> bool {
        true
    }

    /// A result of the previous record. `Awaited` is never returned; a single `NotRead` says why there is none.
    fn previous(&self, result: ValueId) -> Laid;

    /// Whether a tolerance of another step has failed as it stands. None: not judged yet.
    fn failed(&self, step: StepId, judgement: JudgementId) -> Option<bool>;
}
