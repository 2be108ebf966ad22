//! Worked examples, and what is typed at the prompt of a walk: the same words.

use super::ast::{DateText, InstrumentLine, Line, Name, Number, Path, Pick, Prose, Quantity, Range, Span};

/// `example "title"`
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    pub title: Prose,
    pub lines: Vec<Line<ExampleLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ExampleLine {
    /// `given reach = 300 mm, class = general`
    Given(Vec<(Name, Answer)>),
    /// `previous L40.shake = 1.1 mm/s uncertainty 0.2 mm/s`
    Previous(Target, Rows, Vec<Answer>),
    /// `using dial resolution 0.0005 mm, fresh 0.0003 mm k 2`; `using dial "DI-07", calibrated until 2027-03-01`
    Using {
        instrument: Name,
        number: Option<Prose>,
        calibrated_until: Option<DateText>,
        lines: Vec<InstrumentLine>,
    },
    /// `day 2026-03-02`
    Day(DateText),
    /// `list L45.part = "headstock", "motor"`
    List(Path, Vec<Answer>),
    Expect(Expect),
    Act(Act),
}

/// What is done on the walk. The step is left out only at the prompt, where it is the one that stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// `enter L16.dial_at = 0, -0.002; 0, -0.006`, `enter RUN.temp at 30 min = 20.1, 20.0`
    Enter { target: Target, at: Option<Quantity>, rows: Rows },
    /// `observe L44.guard = yes, yes, no`
    Observe { target: Target, at: Option<Quantity>, rows: Rows },
    /// `confirm RUN no`
    Confirm { step: Option<Name>, yes: bool },
    /// `type "4 tenths"`
    Type(Prose),
    /// `keep "reason"`
    Keep(Prose),
    /// `correct L4.tilt[place 0 mm] = 0.6 "sign mistyped"`
    Correct { target: Target, which: WhichEntry, at: Option<Quantity>, rows: Rows, reason: Prose },
    /// `correct move 1 torque = 25 Nm "misheard"`: what was moved, or said in words, by its number.
    PutRight { kind: Name, number: Number, part: Option<Name>, to: PutTo, reason: Prose },
    /// `remeasure L9.nose = 0.004 "reason"`; without values they are asked.
    Remeasure { target: Target, rows: Option<Rows>, reason: Option<Prose> },
    /// `adjust L3.shim = 0.05 mm "in two halves" torque 25 Nm by "Bo Example"`
    Adjust { target: Target, rows: Rows, text: Option<Prose>, beside: Beside },
    /// `altered L16 "headstock swivelled" at "rear bolts" moved 0.05 mm toward "the operator" torque 25 Nm by "Bo Example"`
    Altered { step: Option<Name>, text: Prose, beside: Beside },
    /// `take L3`: it is begun.
    Take { step: Option<Name> },
    /// `end RUN.temp`: the time of a series ran out without its last row; or no further repeat comes.
    End(Path),
    /// `defects L3 open`: it is not answered yet what was found; `defects L3 done`.
    Defects { step: Name, done: bool },
    /// `again L3`
    Again { step: Option<Name> },
    /// `break L5.dial "stand knocked" [zero intact]`
    Break { reading: Option<Path>, text: Prose, zero_intact: bool, from_the_start: bool },
    /// `rejoin L5.dial at place 150 mm, 200 mm = -0.011, -0.010`: the first pick names the axis of all.
    Rejoin { reading: Path, at: Vec<Pick>, rows: Rows },
    /// `skip L19 "tailstock away for repair"`
    Skip { step: Option<Name>, reason: Prose },
    /// `waive L19 "agreed by letter" by owner`
    Waive { step: Option<Name>, reason: Prose, by: Name },
    /// `held L30 by owner`
    Held { step: Option<Name>, by: Name },
    /// `defect "chip tray cracked at the drain" photo "drain.jpg"`
    Defect { text: Prose, photo: Option<Prose> },
    /// `mended 1 "welded, no leak"`
    Mended { number: Number, text: Prose },
    /// `accepted 1 "cosmetic" by owner`: a defect that stays
    Accepted { number: Number, text: Prose, by: Name },
    /// `stop RUN "knocking"`
    Stop { step: Option<Name>, text: Prose },
    /// `justify L4.shim "bed was low all the same"`
    Justify { adjustment: Path, reason: Prose },
    /// `note "..."`
    Note(Prose),
}

/// What may be said of an adjustment or an alteration beside what it was. Of an adjustment its stations and its amount
/// say the first three.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    pub at: Option<Prose>,
    pub moved: Option<Quantity>,
    pub toward: Option<Prose>,
    pub torque: Option<Quantity>,
    pub by: Option<Prose>,
}

/// What takes the place of something that was said.
#[derive(Clone, Debug, PartialEq)]
pub enum PutTo {
    /// It never happened.
    Never,
    /// Another adjustment, or another station of it.
    Which(Target),
    Answer(Answer),
    /// Of an instrument, what stands behind `using`.
    Card(Card),
}

/// `dial "DI-07", calibrated until 2027-03-01, resolution 0.001 mm`
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    pub instrument: Name,
    pub number: Prose,
    pub calibrated_until: Option<DateText>,
    pub lines: Vec<InstrumentLine>,
}

/// Which of several entries at one station is corrected: `of try 1 set 2`, `read again`. Else the one that counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WhichEntry {
    pub attempt: Option<Number>,
    pub set: Option<Number>,
    /// Where a broken series was read again, to join it; at which of its breaks, if that is said.
    pub again: Option<Option<Number>>,
}

/// A reading, observation, result or adjustment, perhaps at one station: `L4.tilt[place 0 mm]`
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    pub span: Span,
    pub path: Path,
    pub picks: Vec<Pick>,
}

/// Values as laid out: `;` parts the rows. Never empty, no row is empty.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    pub span: Span,
    pub rows: Vec<Vec<Answer>>,
}

/// One value as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    pub span: Span,
    pub what: AnswerOf,
}

#[derive(Clone, Debug, PartialEq)]
pub enum AnswerOf {
    /// A number, in the unit of the question where none is said.
    Quantity(Quantity),
    /// A choice, `yes` or `no`.
    Word(Name),
    Text(Prose),
    Date(DateText),
    /// `not read "behind the wall"`
    NotRead(Prose),
    /// `over 200`
    Over(Quantity),
    /// `below 0.2`
    Below(Quantity),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Expect {
    /// `as found` / `as left`
    pub as_when: Option<AsWhen>,
    pub what: Expected,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AsWhen {
    Found,
    Left,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Expected {
    /// `L16.lean = -0.004 mm [within Q]`
    Values {
        target: Target,
        rows: Rows,
        within: Option<Quantity>,
    },
    /// `L16 passes`, `L4.local fails from 250 mm to 500 mm`
    State {
        path: Path,
        state: State,
        window: Option<Range>,
    },
    /// `L9.nose uncertainty 0.0014 mm within 0.00001 mm`, and limit, advised, predicted
    Figure {
        target: Target,
        figure: Figure,
        value: Quantity,
        within: Option<Quantity>,
    },
    /// `L30.swivel not advised`
    NotAdvised(Target),
    /// `L4.shim on withdrawn advice`
    WithdrawnAdvice(Target),
    /// `L4 joined`
    Joined(Path),
    /// `taper_pair agrees`, `taper_pair look again`
    Agrees(Name),
    LookAgain(Name),
    /// Of the entry just before.
    Query,
    Refused,
    /// `exceptions 2`
    Exceptions(Number),
    Verdict(Verdict),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    Uncertainty,
    Limit,
    Advised,
    Predicted,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
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
pub enum Verdict {
    Accepted,
    AcceptedWithExceptions,
    NotAccepted,
    Unfinished,
}
