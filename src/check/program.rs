//! The checked program: everything resolved, typed and ready to walk. No syntax types in it.
//!
//! Names are indices: a `ValueId` points into `Program::values`, an `AxisId` into `Program::axes`, and so on. All
//! numbers are exact, in the base unit of their dimension (`crate::quantity`); `unit` fields only say how a value is
//! asked for and shown. A `Program` exists only if the file has no fault.

use crate::quantity::{Dimension, Rational, Sense, Unit};
use crate::source::Span;

macro_rules! ids {
    ($($(#[$meta:meta])* $name:ident),*) => {$(
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub usize);
    )*};
}

ids!(
    /// A fact, a let, a reading, an observation or an adjustment.
    ValueId,
    AxisId,
    InstrumentId,
    TableId,
    SectionId,
    StepId,
    PartyId,
    CrosscheckId,
    /// A `tolerance` or `require` line, by its place in `Step::judgements`.
    JudgementId
);

#[derive(Clone, Debug)]
pub struct Program {
    pub language: u32,
    pub title: String,
    pub revision: Option<String>,
    pub scope: Vec<Text>,
    pub basis: Vec<Text>,
    pub notes: Vec<Text>,
    pub decision: Decision,
    pub parties: Vec<Party>,
    /// Facts in the order in which they are asked.
    pub facts: Vec<ValueId>,
    pub values: Vec<Value>,
    pub axes: Vec<Axis>,
    pub instruments: Vec<Instrument>,
    pub tables: Vec<Table>,
    pub sections: Vec<Section>,
    pub steps: Vec<Step>,
    pub crosschecks: Vec<Crosscheck>,
    pub examples: Vec<Example>,
}

/// How a value is judged against a limit. Only simple acceptance is worked out so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    Simple,
}

#[derive(Clone, Debug)]
pub struct Party {
    pub name: String,
    pub who: Text,
}

#[derive(Clone, Debug)]
pub struct Section {
    pub name: String,
    pub title: Text,
    pub any_order: bool,
}

#[derive(Clone, Debug)]
pub struct Instrument {
    pub name: String,
    pub title: Text,
    /// Least step that can be read, in the dimension of the readings taken with it. In div if `scale` is given.
    pub resolution: Option<Literal>,
    /// What one division means.
    pub scale: Option<Literal>,
    pub range: Option<(Literal, Literal)>,
    pub uncertainties: Vec<Uncertainty>,
    pub span: Span,
}

/// A stated part of the uncertainty: kept on the record; not yet used in verdicts.
#[derive(Clone, Debug)]
pub struct Uncertainty {
    pub source: UncertaintySource,
    pub size: Literal,
    pub coverage: Rational,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UncertaintySource {
    Zero,
    Fresh,
    Scale,
    SetUp,
}

/// A number with its unit as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Literal {
    pub number: Rational,
    pub unit: Unit,
}

// ------------------------------------------------------------------------------------------------ values

#[derive(Clone, Debug)]
pub struct Value {
    pub name: String,
    /// None for facts and lets of the whole file.
    pub step: Option<StepId>,
    /// The question or the label; for a reading without `ask`, its name.
    pub label: Text,
    pub kind: Kind,
    /// Outermost first; the last runs fastest.
    pub axes: Vec<AxisId>,
    /// How it is asked for and shown. None where the kind has no unit. A reading in div whose instrument has a scale
    /// is asked, entered and kept in div (this field), while `kind` and every expression that names it speak of
    /// div x scale; `usual` stands in the unit of the question. A literal in div within an expression is already
    /// multiplied by the scale.
    pub unit: Option<Unit>,
    pub sense: Option<Sense>,
    /// Another sense at one station: axis, station, sense.
    pub station_senses: Vec<(AxisId, StationPick, Sense)>,
    pub role: Role,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    Quantity(Dimension),
    /// A temperature point (degC, degF): base degC.
    Point,
    /// A size with the angle in a turn at which the dial reads high, the size of this dimension.
    Arrow(Dimension),
    /// One of these words.
    Choice(Vec<String>),
    YesNo,
    Text,
    Date,
    Count,
    Photo,
}

#[derive(Clone, Debug)]
pub enum Role {
    /// `bounds`: outside it the procedure is not for that machine.
    Fact {
        bounds: Option<(Expr, Expr)>,
    },
    Let(Expr),
    Reading(Box<Reading>),
    /// `bounds`: of an observation in a unit; outside it the answer is refused.
    Observation {
        bounds: Option<(Expr, Expr)>,
        only_when: Option<Expr>,
    },
    /// Its value, where an expression names it, is what was moved.
    Adjustment {
        predicts: Vec<Prediction>,
    },
}

#[derive(Clone, Debug)]
pub struct Reading {
    pub instruments: Vec<InstrumentId>,
    pub usual: Option<(Expr, Expr)>,
    pub remeasure: Remeasure,
    pub not_read_allowed: bool,
    pub open_ended_allowed: bool,
    /// `join on 2 stations within 0.001 mm`. None: a broken series begins again.
    pub join: Option<Join>,
    pub only_when: Option<Expr>,
}

/// How a broken series may be joined through stations read again.
#[derive(Clone, Debug)]
pub struct Join {
    pub stations: u32,
    pub within: Literal,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remeasure {
    Latest,
    Mean,
}

/// `predicts RESULT by EXPR`: the change of `result` for a move of the adjustment.
#[derive(Clone, Debug)]
pub struct Prediction {
    pub result: ValueId,
    pub change: Expr,
}

// ------------------------------------------------------------------------------------------------ axes

/// Stations of one reading or observation. Each `over` line is an axis of its own; a file-level `axis` is shared.
#[derive(Clone, Debug)]
pub struct Axis {
    pub name: String,
    pub label: Text,
    /// Length, angle, ... for stations that are quantities; None for words and counts.
    pub dimension: Option<Dimension>,
    pub stations: Stations,
    /// One station more at the end, a second reading of the first; only `closure` sees it.
    pub closing: bool,
    /// What the two stations of a pair do with the sense of a reading.
    pub pair: Option<Pair>,
    /// What plus means along the stations of a stepped reading.
    pub rise: Option<Rise>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Stations {
    Words(Vec<String>),
    /// Quantities one by one; they may depend on facts and on observations above.
    Values {
        values: Vec<Expr>,
        unit: Unit,
    },
    /// `from` to `to` by `step`; `up_to`: stops at the last that fits.
    Range {
        from: Expr,
        to: Expr,
        step: Expr,
        up_to: bool,
        unit: Unit,
    },
    /// A foot stepped along: stations where each foot begins; heights have one more.
    Stepped {
        from: Expr,
        to: Expr,
        step: Expr,
        up_to: bool,
        unit: Unit,
    },
    /// Named on the spot.
    Listed {
        question: Text,
    },
    /// `times least to most`, axis `repeat`.
    Repeat {
        least: u32,
        most: u32,
    },
    /// The feet of a survey, line after line, axis `foot`.
    Survey(Survey),
    /// The lines of a survey whose heights were worked out, axis `line`.
    SurveyLines(Survey),
}

/// `survey eight lines 800 mm by 600 mm foot 100 mm`: the rectangle of the lines and the foot, in mm; each line is a
/// whole number of feet.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    pub length: Rational,
    pub width: Rational,
    pub foot: Rational,
    pub unit: Unit,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pair {
    /// `sense stays with the NOUN`: machine = (first + second)/2.
    Stays(String),
    /// `sense turns with the NOUN`: machine = (first - second)/2.
    Turns(String),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rise {
    Along,
    Against,
}

/// A station that is picked: by word, by a value that is worked out, or first/last by position.
#[derive(Clone, Debug)]
pub enum StationPick {
    Word(String),
    Value(Box<Expr>),
}

// ------------------------------------------------------------------------------------------------ expressions

#[derive(Clone, Debug)]
pub struct Expr {
    pub node: Node,
    pub kind: Kind,
    /// Axes that the value is laid out over, by name and where it comes from.
    pub axes: Vec<AxisId>,
    /// The words for plus and minus, where they carry over (`semantics`: Sense). None: unsigned or lost.
    pub sense: Option<Sense>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Node {
    /// In base units.
    Number(Rational),
    /// A literal in a unit whose factor is not exact (rad), in base units.
    Inexact(f64),
    Word(String),
    YesNo(bool),
    Text(String),
    Date(jiff::civil::Date),
    Value(ValueId),
    /// `x[turn 180 deg, place reach]`: each pick drops its axis.
    Pick(Box<Expr>, Vec<(AxisId, StationPick)>),
    /// `table.column(at)`, by facts.
    Table {
        table: TableId,
        column: usize,
        at: Option<Box<Expr>>,
    },
    Negate(Box<Expr>),
    Arithmetic(Arithmetic, Box<Expr>, Box<Expr>),
    Power(Box<Expr>, i32),
    Not(Box<Expr>),
    And(Box<Expr>, Box<Expr>),
    Or(Box<Expr>, Box<Expr>),
    /// Over all axes of the condition.
    Every(Box<Expr>),
    Any(Box<Expr>),
    If {
        condition: Box<Expr>,
        then: Box<Expr>,
        otherwise: Box<Expr>,
    },
    /// `a is word`, `a is yes`, also of dates and texts.
    Is(Box<Expr>, Box<Expr>),
    /// `x at most 3 mm`, with all that a tolerance may say.
    Meets(Box<Expr>, Box<Rule>),
    /// `x before DATE`, `x after DATE`.
    Dates {
        left: Box<Expr>,
        before: bool,
        right: Box<Expr>,
    },
    /// Some tolerance on the value has failed.
    ValueOutside(ValueId),
    /// That named tolerance has failed.
    JudgementOutside(StepId, JudgementId),
    Call {
        function: Function,
        arguments: Vec<Expr>,
        over: Vec<AxisId>,
        by: Option<By>,
    },
    /// Middle of the one two-sided band in force on the value.
    Aim(ValueId),
    /// `resolution(reading)` of the instrument that is in use.
    Resolution(ValueId),
    /// The worst window of a named tolerance, as words.
    Where(StepId, JudgementId),
    Previous {
        result: ValueId,
        otherwise: Option<Box<Expr>>,
    },
    /// In an `ask` text: the station that is being asked for.
    CurrentStation(AxisId),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arithmetic {
    Add,
    Subtract,
    Multiply,
    Divide,
}

/// Functions over axes and element by element. Their meaning stands in `grammar/README.md`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Function {
    Mean,
    Sum,
    Least,
    Greatest,
    Range,
    Stdev,
    Count,
    Abs,
    Half,
    Sqrt,
    Sin,
    Cos,
    Tan,
    Atan,
    RootSumSquares,
    First,
    Last,
    Span,
    Gain,
    Slope,
    Ordinates,
    Straightness,
    Hump,
    Hollow,
    Heights,
    Taper,
    Runout,
    Machine,
    Artefact,
    Closure,
    WithoutBackground,
    At20DegC,
    Sag,
    /// `per(x, 300 mm, span)`: x times the length over the span.
    Per,
    StationOfGreatest,
    StationOfLeast,
    Eccentricity,
    Size,
    HighAt,
    Roundness,
    /// `undulation(x over turn, 3)`: amplitude of so many waves a turn.
    Undulation,
    Flatness,
    PlateMap,
    Accuracy,
    Repeatability,
    SystematicDeviation,
    MeanDeviationRange,
    ReversalValue,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    Ends,
    LeastSquares,
    MinimumZone,
    Inscribed,
    Circumscribed,
    Closing,
    Iso230Of1988,
    Iso230Of2014,
}

// ------------------------------------------------------------------------------------------------ rules

/// A rule with all that scales it.
#[derive(Clone, Debug)]
pub struct Rule {
    pub test: Test,
    /// `per P over L`.
    pub per: Option<(Expr, Expr)>,
    pub floor: Option<Expr>,
    pub cap: Option<Expr>,
    /// `in any W by spread / chord` along the one length axis of the subject, or `in any W by W2` over its two.
    pub window: Option<Window>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Test {
    AtMost(Expr),
    AtLeast(Expr),
    Above(Expr),
    Below(Expr),
    FromTo(Expr, Expr),
    Within { size: Expr, of: Option<Expr> },
    Convex { allowance: Option<Expr> },
    Concave { allowance: Option<Expr> },
}

#[derive(Clone, Debug)]
pub struct Window {
    pub length: Expr,
    /// `in any W by W2`: over two lengths, the first along the first axis.
    pub second: Option<Expr>,
    pub by: WindowBy,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowBy {
    Spread,
    Chord,
}

/// A `tolerance` or `require` line.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// A tolerance's own name, else the name of what it judges; for `require` the condition as written.
    pub name: String,
    pub label: Option<Text>,
    pub of: Judged,
    pub when: Option<Expr>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Judged {
    Tolerance { value: ValueId, named: bool, over: Over, rule: Box<Rule> },
    Require(Expr),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// The value is a single one, or the rule takes the axis itself.
    Whole,
    Every,
    Any,
}

#[derive(Clone, Debug)]
pub struct Table {
    pub name: String,
    pub title: Text,
    /// The variable of `over NAME in UNIT` is the argument of the look-up.
    pub over: Option<Unit>,
    pub columns: Vec<String>,
    pub kind: Kind,
    pub rows: Vec<Row>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub struct Row {
    pub when: Option<Expr>,
    /// Rows with the same number have the same condition, as written: they do not fall through to others.
    pub group: usize,
    pub reach: Reach,
    pub values: Vec<Expr>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Reach {
    Whole,
    UpTo(Expr),
    /// From the last `up to` of its group each begun part adds the values.
    EveryFurther(Expr),
}

// ------------------------------------------------------------------------------------------------ steps

#[derive(Clone, Debug)]
pub struct Step {
    pub name: String,
    pub title: Text,
    pub section: Option<SectionId>,
    pub repeats: Option<StepId>,
    pub basis: Vec<Text>,
    pub setup: Vec<Text>,
    pub cautions: Vec<Text>,
    pub conditions: Vec<Text>,
    pub notes: Vec<Text>,
    pub confirms: Vec<Text>,
    pub powered: bool,
    pub by: Vec<Text>,
    pub only_when: Option<Expr>,
    pub needs: Vec<Need>,
    pub keeps: Vec<(StepId, Text)>,
    pub unsettles: Vec<StepId>,
    /// As found is not counted.
    pub tries: Option<u32>,
    pub optional: bool,
    pub holds: Vec<(PartyId, Text)>,
    pub waits: Vec<(Rational, Text)>,
    /// What is asked, in the order of the file.
    pub items: Vec<Item>,
    /// Lets in an order in which each can be worked out from those before.
    pub lets: Vec<ValueId>,
    pub adjustments: Vec<ValueId>,
    pub remedies: Vec<Remedy>,
    pub valid: Vec<(Expr, Text)>,
    pub judgements: Vec<Judgement>,
    pub reports: Vec<ValueId>,
    pub stops: Vec<(Expr, Text)>,
    pub decision: Decision,
    /// `uncertainty set_up` lines: kept on the record, not yet used in verdicts.
    pub set_up: Vec<(Uncertainty, ValueId, Text)>,
    /// Steps whose results this one's expressions use (each also a `Need` of kind `Done`).
    pub uses: Vec<StepId>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Item {
    Reading(ValueId),
    Observation(ValueId),
    Defects(Text),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    pub step: StepId,
    pub kind: NeedKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NeedKind {
    Done,
    Passed,
    /// An as-found reading may go ahead.
    PassedBeforeAdjusting,
}

#[derive(Clone, Debug)]
pub struct Remedy {
    /// None: shown when the step does not pass.
    pub when: Option<Expr>,
    pub text: Text,
    pub advises: Vec<(ValueId, Expr)>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub struct Crosscheck {
    pub name: String,
    pub why: Text,
    pub left: Expr,
    pub right: Expr,
    pub within: Expr,
    pub when: Option<Expr>,
    /// Steps whose results it compares.
    pub steps: Vec<StepId>,
    pub span: Span,
}

/// A text with values put in.
#[derive(Clone, Debug, Default)]
pub struct Text {
    pub parts: Vec<Part>,
}

#[derive(Clone, Debug)]
pub enum Part {
    Plain(String),
    Value(Expr, Option<Unit>),
}

impl Text {
    pub fn plain(text: impl Into<String>) -> Self {
        Self { parts: vec![Part::Plain(text.into())] }
    }
}

// ------------------------------------------------------------------------------------------------ examples

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
        resolution: Option<Literal>,
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
