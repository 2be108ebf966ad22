//! Worked examples as checked: what is done and what is expected, in the order of the file.

use super::{
    AxisId, CrosscheckId, Expr, InstrumentId, JudgementId, PartyId, Properties, StationPick, StepId, ValueId,
};
use crate::quantity::Rational;
use crate::source::Span;

#[derive(Clone, Debug)]
pub struct Example {
    pub title: String,
    pub lines: Vec<(Act, Span)>,
    pub span: Span,
}

/// One thing that a person does or, in an example, expects. The same words at the prompt and in a file; what is
/// typed as a value stays text and goes through the same reader as at the prompt.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant)] // built once from a file or a typed line, never held in bulk
pub enum Act {
    Given(Vec<(ValueId, String)>),
    /// `previous L40.shake = 1.1 mm/s`.
    PreviousValue(ValueId, Vec<String>),
    Using {
        instrument: InstrumentId,
        properties: Properties,
    },
    List {
        axis: AxisId,
        step: Option<StepId>,
        items: Vec<String>,
    },
    /// One entry a value, flat, in the order of the file, with ";" as an entry of its own between rows. Also
    /// observations.
    Enter {
        value: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        /// The time of a row of a series, in seconds since its start.
        at: Option<Rational>,
        entries: Vec<String>,
    },
    Type {
        value: Option<ValueId>,
        text: String,
    },
    Keep(String),
    Confirm {
        step: StepId,
        answer: bool,
    },
    Correct {
        value: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        entry: String,
        reason: String,
    },
    Remeasure {
        value: ValueId,
        entries: Vec<String>,
    },
    /// `again L3`: the next try.
    Again(StepId),
    Adjust {
        adjustment: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        entries: Vec<String>,
    },
    Altered {
        step: StepId,
        what: String,
    },
    Break {
        value: ValueId,
        reason: String,
        zero_intact: bool,
        /// Not to be joined, although the author allows it.
        from_the_start: bool,
    },
    Rejoin {
        value: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        entries: Vec<String>,
    },
    Skip {
        step: StepId,
        reason: String,
    },
    Waive {
        step: StepId,
        reason: String,
        by: Option<PartyId>,
    },
    Held {
        step: StepId,
        by: PartyId,
    },
    Defect {
        text: String,
        /// The name of the picture's file.
        photo: Option<String>,
    },
    Mended {
        number: u32,
        text: String,
    },
    Accepted {
        number: u32,
        by: PartyId,
    },
    Stop {
        text: String,
    },
    Justify {
        adjustment: ValueId,
        reason: String,
    },
    Note {
        text: String,
    },
    Expect(Expect),
}

#[derive(Clone, Debug)]
pub enum Expect {
    /// Values in base units, in the order of the stations.
    Value {
        which: Which,
        value: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        values: Vec<Expr>,
        within: Option<Expr>,
    },
    Step {
        which: Which,
        step: StepId,
        state: StateWord,
    },
    Judgement {
        which: Which,
        step: StepId,
        judgement: JudgementId,
        state: StateWord,
        window: Option<(Expr, Expr)>,
    },
    Query,
    Refused,
    Crosscheck {
        crosscheck: CrosscheckId,
        agrees: bool,
    },
    Advised {
        adjustment: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        value: Option<(Expr, Option<Expr>)>,
    },
    Predicted {
        result: ValueId,
        value: Expr,
        within: Option<Expr>,
    },
    /// The limit as scaled: of a named tolerance or of the only tolerance on a value.
    Limit {
        step: StepId,
        judgement: JudgementId,
        value: Expr,
        within: Option<Expr>,
    },
    /// The expanded uncertainty U = 2u of every cell.
    Uncertainty {
        value: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        expected: Expr,
        within: Option<Expr>,
    },
    WithdrawnAdvice(ValueId),
    Joined(StepId),
    Exceptions(usize),
    Verdict(WalkVerdict),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    Now,
    AsFound,
    AsLeft,
}

/// The words that an `expect` may use of a step or a tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StateWord {
    Passes,
    Fails,
    Undecided,
    Invalid,
    Recorded,
    Stale,
    Blocked,
    Skipped,
    Waived,
    NotApplicable,
    NotReached,
    ToDo,
    Stopped,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WalkVerdict {
    Accepted,
    AcceptedWithExceptions,
    NotAccepted,
    Unfinished,
}

impl WalkVerdict {
    const ALL: [WalkVerdict; 4] = [
        WalkVerdict::Accepted,
        WalkVerdict::AcceptedWithExceptions,
        WalkVerdict::NotAccepted,
        WalkVerdict::Unfinished,
    ];

    /// As it is said and stands on the record.
    pub fn words(self) -> &'static str {
        match self {
            WalkVerdict::Accepted => "accepted",
            WalkVerdict::AcceptedWithExceptions => "accepted with exceptions",
            WalkVerdict::NotAccepted => "not accepted",
            WalkVerdict::Unfinished => "unfinished",
        }
    }

    pub fn parse(words: &str) -> Option<WalkVerdict> {
        Self::ALL.into_iter().find(|verdict| verdict.words() == words)
    }
}
