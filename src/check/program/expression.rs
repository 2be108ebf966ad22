//! Expressions, rules and tables as checked.

use super::{AxisId, JudgementId, Kind, StationPick, StepId, TableId, Text, ValueId};
use crate::quantity::{Rational, Sense, Unit};
use crate::source::Span;

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
    Lag1,
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
    WorstStep,
    Slope,
    SlopeUncertainty,
    /// `line_at(x over place, 150 mm)`: the place is the second argument, of the next two too.
    LineAt,
    LineUncertainty,
    LineCorrelation,
    LineScatter,
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
    /// `change(x over time within 30 min)`: the span is the second argument.
    Change,
    Rate,
    /// Projections by a first-order fit.
    SettlesAt,
    TimeConstant,
    /// `time_to_rate(x over time, 2 K/h)`: the rate is the second argument.
    TimeToRate,
    Eccentricity,
    Size,
    HighAt,
    Roundness,
    /// `rounded(x, 0.002 mm)`: to the nearest multiple, halves away from zero.
    Rounded,
    /// `undulation(x over turn, 3)`: amplitude of so many waves a turn.
    Undulation,
    /// `circle_form(x, y over point by least_squares)`: two arguments over the same axes.
    CircleForm,
    CircleDiameter,
    CircleCentre,
    Flatness,
    /// `twist_shims(tilt over place, feet, spacing, wanted)`: over the axis of the feet, which is the second of `over`.
    TwistShims,
    /// `shims_to_level(along, across, feet, x, y, ...)`: over the axis of the feet, which is the one of `over`.
    ShimsToLevel,
    /// `seating_shims(height over feet, x, y, ...)`.
    SeatingShims,
    PlateMap,
    SetOver,
    HeightEffect,
    TaperFromTwist,
    TaperFromLean,
    Backlash,
    /// `lead_error(x over place within 60 mm)`: the length is the second argument, all of the place without it.
    LeadError,
    Accuracy,
    Repeatability,
    SystematicDeviation,
    MeanDeviationRange,
    ReversalValue,
}

impl Function {
    /// How many points a function of a circle through points needs. Three have a circle, but no form: there a 0 would say
    /// nothing.
    pub fn least_points(self) -> usize {
        if self == Function::CircleForm { 4 } else { 3 }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    Ends,
    LeastSquares,
    MinimumZone,
    Inscribed,
    Circumscribed,
    ThreeCorners,
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
    Within {
        size: Expr,
        of: Option<Expr>,
    },
    Convex {
        allowance: Option<Expr>,
    },
    Concave {
        allowance: Option<Expr>,
    },
    /// `steady within 1 K for 30 min`: takes the axis of times.
    Steady {
        within: Expr,
        duration: Expr,
    },
}

impl Test {
    /// The rule speaks of a whole axis, not of single elements.
    pub fn takes_axis(&self) -> bool {
        matches!(self, Test::Convex { .. } | Test::Concave { .. } | Test::Steady { .. })
    }
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
