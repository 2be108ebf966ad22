//! The checked program: everything resolved, typed and ready to walk. No syntax types in it.
//!
//! Names are indices: a `ValueId` points into `Program::values`, an `AxisId` into `Program::axes`, and so on. All
//! numbers are exact, in the base unit of their dimension (`crate::quantity`); `unit` fields only say how a value is
//! asked for and shown. A `Program` exists only if the file has no fault.

mod example;
mod expression;
mod kit;
mod saying;

pub use example::*;
pub use expression::*;
pub use kit::*;
pub use saying::*;

use std::rc::Rc;

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
    /// Shared parts, for other files to include: it cannot be walked.
    pub is_library: bool,
    pub title: String,
    pub revision: Option<String>,
    pub scope: Vec<Text>,
    pub basis: Vec<Text>,
    pub notes: Vec<Text>,
    pub decision: Decision,
    /// Uncertainties come from draws, also where sensitivities would do.
    pub by_draws: bool,
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
    /// Readings and results that `previous(...)` asks of the record before.
    pub lent: Vec<ValueId>,
}

/// How a value is judged against a limit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Decision {
    /// The value against the limit.
    #[default]
    Simple,
    /// `guarded U`: inside by U = 2u passes, outside by U fails, else undecided (ISO 14253-1:1998).
    GuardedU,
    /// `guarded 95 %`: the least probability of conformity, as a part of one (ISO 14253-1:2017).
    GuardedBy(Rational),
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

/// A stated part of the uncertainty: `fresh 0.0008 mm k 2`.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertainty {
    pub source: UncertaintySource,
    /// As its spread says.
    pub size: Literal,
    pub spread: Spread,
    /// How well the size itself is known, as a certificate may say; None: nobody asks.
    pub freedom: Option<Rational>,
}

/// What the size of an uncertainty means (JCGM 100:2008, 4.3).
#[derive(Clone, Debug, PartialEq)]
pub enum Spread {
    /// Expanded, as a certificate gives it: so many times the standard uncertainty.
    Coverage(Rational),
    /// The half width within which it lies, no place likelier than another.
    Rectangular,
    /// The half width; the middle is likeliest.
    Triangular,
    /// The half width of the foot; the top is flat over this part of it.
    Trapezoidal(Rational),
    /// Rectangular; the half width itself is known to this part of it, give or take (JCGM 101:2008, 6.4.3).
    Loose(Rational),
    /// The half width; what swings between two ends and dwells there.
    Arcsine,
}

/// What `using` says of the instrument at hand where it differs from the one that the file describes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Properties {
    pub resolution: Option<Literal>,
    /// Each takes the place of the one of its source.
    pub uncertainties: Vec<Uncertainty>,
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
    /// Another sense at one station: axis, station, sense. A result that carries them has no other.
    pub station_senses: Vec<(AxisId, StationPick, Sense)>,
    pub role: Role,
    /// Worked out from a fit beyond what was read: shown as a projection, and no rule takes it.
    pub projection: bool,
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

impl Kind {
    /// A value that is known only so well.
    pub fn is_measured(&self) -> bool {
        matches!(self, Kind::Quantity(_) | Kind::Point | Kind::Arrow(_))
    }
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
    /// Read again and again by the clock; its axis `time` is the outermost.
    pub series: Option<Series>,
}

/// `every 10 min for at most 2 h`, `until CONDITION`. Times are in seconds.
#[derive(Clone, Debug)]
pub struct Series {
    pub every: Rational,
    pub at_most: Rational,
    /// Tried after each row, on the latest; at the end of the time without it the step fails.
    pub until: Option<Expr>,
    /// Observations that are asked in each row.
    pub with: Vec<ValueId>,
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
    /// The rows of this series, each at its real time since the start.
    Time {
        reading: ValueId,
    },
    /// The feet of a survey, line after line, axis `foot`.
    Survey(Survey),
    /// The lines of a survey whose heights were worked out, axis `line`.
    SurveyLines(Survey),
}

/// `survey eight lines 800 mm by 600 mm foot 100 mm`: each line is a whole number of feet. The foot is in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    pub plan: Rc<crate::metrology::Survey>,
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
    /// Uncertainties come from draws, also where sensitivities would do.
    pub by_draws: bool,
    /// `uncertainty set_up` lines: one unknown more for that result.
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
