//! What judging a step gives.

use std::rc::Rc;

use crate::check::program::{JudgementId, StateWord, ValueId};
use crate::quantity::Real;

use super::uncertainty::Spread;
use super::uncertainty::decide::Certainty;
use super::value::{Cell, Laid};

/// Verdict on one rule.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    Passed,
    Failed,
    /// The value cannot decide it: an open-ended reading, or uncertainty under a guarded rule.
    Undecided(Rc<str>),
    /// Readings are awaited.
    Waiting,
    Invalid(Rc<str>),
    /// Its `when` does not hold.
    NotApplicable,
}

/// One `tolerance` or `require` line, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    pub judgement: JudgementId,
    pub verdict: Verdict,
    /// Value and limits that decided it: of `every`, the worst element; of windows, the worst window.
    pub value: Option<Real>,
    pub lower: Option<Limit>,
    pub upper: Option<Limit>,
    /// Where: stations of the worst element, or from..to of the worst window, as shown.
    pub place: Option<Rc<str>>,
    /// From and to of the worst window, in base units.
    pub window: Option<(Real, Real)>,
    /// How uncertain that value is, where it could be worked out, and the rule that it was judged by.
    pub certainty: Option<Certainty>,
    /// What a reader must know beside the verdict ("7 of 8 read", "judged over 200 mm, all there is", "floor counted").
    pub notes: Vec<Rc<str>>,
}

/// A bound as stated and as it was used, in base units.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    pub stated: Real,
    pub scaled: Real,
    /// `above` / `below`: the limit itself does not pass.
    pub exclusive: bool,
    /// "per 300 mm over 60 mm", "floor 0.005 mm counted"; empty if used as stated.
    pub how: Rc<str>,
}

/// How a try of a step stands, from its readings alone. In this order the first that holds (`semantics`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Begun; readings or rules awaited.
    NotReached,
    Invalid,
    Failed,
    Undecided,
    Passed,
    /// No rule in it.
    Recorded,
}

impl Outcome {
    /// The state of a step whose last try came to this.
    pub fn state(self) -> StateWord {
        match self {
            Outcome::NotReached => StateWord::NotReached,
            Outcome::Invalid => StateWord::Invalid,
            Outcome::Failed => StateWord::Fails,
            Outcome::Undecided => StateWord::Undecided,
            Outcome::Passed => StateWord::Passes,
            Outcome::Recorded => StateWord::Recorded,
        }
    }

    pub fn words(self) -> &'static str {
        self.state().words()
    }
}

/// A try of a step, worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct StepResults {
    /// Lets and reported values of the step, in file order.
    pub values: Vec<(ValueId, Rc<Laid>)>,
    /// How uncertain the reported ones are, where it can be worked out.
    pub spreads: Vec<(ValueId, Spread)>,
    pub judged: Vec<Judged>,
    /// Texts of `valid when` lines that do not hold: what to do.
    pub invalid: Vec<String>,
    /// Series that ran to the end of their time without what would have ended them: "not steady: ...".
    pub not_steady: Vec<String>,
    /// Texts of `stop when` lines that hold.
    pub stops: Vec<String>,
    pub outcome: Outcome,
    /// Remedies whose condition holds, in file order, with the amounts advised.
    pub remedies: Vec<RemedyShown>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct RemedyShown {
    pub text: String,
    pub advised: Vec<(ValueId, Rc<Laid>)>,
}

/// Whether two results agree.
#[derive(Clone, Debug, PartialEq)]
pub enum Agreement {
    Agree,
    LookAgain,
    Waiting,
    /// Its `when` does not hold.
    NotApplicable,
    Invalid(Rc<str>),
}

/// A crosscheck, worked out: what was compared, and how far apart it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct CrosscheckResult {
    pub agreement: Agreement,
    pub left: Rc<Laid>,
    pub right: Rc<Laid>,
    pub within: Cell,
}
