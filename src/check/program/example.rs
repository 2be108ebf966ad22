//! Worked examples as checked: what is done and what is expected, in the order of the file.

use super::{
    AxisId, CrosscheckId, Expr, InstrumentId, JudgementId, PartyId, Properties, PutTo, SaidKind, StationPick,
    StepId, ValueId,
};
use jiff::civil::Date;

use crate::quantity::Rational;
use crate::source::Span;

#[derive(Clone, Debug)]
pub struct Example {
    pub title: String,
    pub lines: Vec<(Act, Span)>,
    pub span: Span,
}

/// What may be said of an adjustment or an alteration beside what it was; quantities as typed, with their unit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    pub at: Option<String>,
    pub moved: Option<String>,
    pub toward: Option<String>,
    pub torque: Option<String>,
    pub by: Option<String>,
}

/// One thing that a person does or, in an example, expects. The same words at the prompt and in a file; what is
/// typed as a value stays text and goes through the same reader as at the prompt.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant)] // built once from a file or a typed line, never held in bulk
pub enum Act {
    Given(Vec<(ValueId, String)>),
    /// `previous L40.shake = 1.1 mm/s uncertainty 0.2 mm/s`: what was typed, and U in the unit of the value.
    PreviousValue(ValueId, Vec<String>, Vec<String>),
    Using {
        instrument: InstrumentId,
        /// Its number, where it is said which one it is.
        number: Option<String>,
        calibrated_until: Option<Date>,
        properties: Properties,
    },
    /// The day on which what follows is done. Examples have no clock of their own.
    Day(Date),
    /// `take L3`: it is begun, whether or not anything is read yet.
    Take(StepId),
    /// `defects L3 open`: that all is noted is still to be said. Else an example takes it as said.
    Defects {
        step: StepId,
        done: bool,
    },
    /// `end RUN.temp`: the time of the series ran out without its last row; `end L9.nose`: no further repeat.
    End(ValueId),
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
        which: WhichEntry,
        entry: String,
        reason: String,
    },
    /// Something that was moved, or said in words, by its number. `part`: the word for it; none: the chief one.
    PutRight {
        kind: SaidKind,
        number: u32,
        part: Option<String>,
        to: PutTo,
        reason: String,
    },
    Remeasure {
        value: ValueId,
        entries: Vec<String>,
        reason: Option<String>,
    },
    /// `again L3`: the next try.
    Again(StepId),
    Adjust {
        adjustment: ValueId,
        picks: Vec<(AxisId, StationPick)>,
        entries: Vec<String>,
        /// A remark.
        what: Option<String>,
        beside: Beside,
    },
    Altered {
        step: StepId,
        what: String,
        beside: Beside,
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
        reason: String,
        by: PartyId,
    },
    Stop {
        /// Else the one that stands.
        step: Option<StepId>,
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

/// Which of several entries at one station is meant; by default the one that counts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WhichEntry {
    /// From 1.
    pub attempt: Option<usize>,
    /// From 1, in the order in which the reading was begun in that try, begun again and measured again alike.
    pub set: Option<usize>,
    pub again: Option<Again>,
}

/// Where a broken series was read again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Again {
    /// At its latest break where that station was read again.
    Latest,
    /// From 1.
    AtBreak(usize),
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

impl StateWord {
    const ALL: [StateWord; 13] = [
        StateWord::Passes,
        StateWord::Fails,
        StateWord::Undecided,
        StateWord::Invalid,
        StateWord::Recorded,
        StateWord::Stale,
        StateWord::Blocked,
        StateWord::Skipped,
        StateWord::Waived,
        StateWord::NotApplicable,
        StateWord::NotReached,
        StateWord::ToDo,
        StateWord::Stopped,
    ];

    /// As it is said and stands on the record.
    pub fn words(self) -> &'static str {
        match self {
            StateWord::Passes => "passed",
            StateWord::Fails => "failed",
            StateWord::Undecided => "undecided",
            StateWord::Invalid => "invalid",
            StateWord::Recorded => "recorded",
            StateWord::Stale => "stale",
            StateWord::Blocked => "blocked",
            StateWord::Skipped => "skipped",
            StateWord::Waived => "waived",
            StateWord::NotApplicable => "not applicable",
            StateWord::NotReached => "not reached",
            StateWord::ToDo => "to do",
            StateWord::Stopped => "stopped",
        }
    }

    pub fn parse(words: &str) -> Option<StateWord> {
        Self::ALL.into_iter().find(|state| state.words() == words)
    }
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

    /// With exceptions or without.
    pub fn is_accepted(self) -> bool {
        matches!(self, WalkVerdict::Accepted | WalkVerdict::AcceptedWithExceptions)
    }

    /// Whether a verdict as it stands on a record is one of acceptance.
    pub fn accepts(words: &str) -> bool {
        Self::parse(words).is_some_and(Self::is_accepted)
    }
}
