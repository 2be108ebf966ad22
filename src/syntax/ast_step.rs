//! Steps and methods: their lines, readings, observations, adjustments and remedies, as they are written.

// One node stands for one line that a person wrote; boxes would only make it harder to read.
#![allow(clippy::large_enum_variant)]

use super::ast::{
    Decide, Expr, Kind, Let, Line, Name, Number, Over, Path, Prose, Quantity, Range, Rule, Span, Spread,
    Station, UnitName,
};

/// `step NAME "object of the test" [follows METHOD(args)] [repeats STEP]`
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub name: Name,
    pub title: Prose,
    pub follows: Option<Follows>,
    pub repeats: Option<Name>,
    pub lines: Vec<Line<StepLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Follows {
    pub span: Span,
    pub method: Name,
    pub arguments: Vec<Expr>,
}

/// `method NAME(plane one of vertical, horizontal; limit in mm) ["title"]`
#[derive(Clone, Debug, PartialEq)]
pub struct Method {
    pub name: Name,
    pub parameters: Vec<Parameter>,
    pub title: Option<Prose>,
    pub lines: Vec<Line<StepLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    pub name: Name,
    pub kind: Kind,
}

#[derive(Clone, Debug, PartialEq)]
pub enum StepLine {
    Setup(Prose),
    Caution(Prose),
    Conditions(Prose),
    Note(Prose),
    Basis(Prose),
    Confirm(Prose),
    Powered,
    /// `by "qualified electrician"`
    By(Prose),
    OnlyWhen(Expr),
    Needs(Vec<Need>),
    /// `keeps A "Leave the bar in its seat"`
    Keeps {
        step: Name,
        text: Option<Prose>,
    },
    Unsettles(Vec<Name>),
    Tries(Number),
    Optional,
    /// `hold owner "Witness before cutting"`
    Hold {
        party: Name,
        text: Prose,
    },
    Wait {
        time: Quantity,
        text: Prose,
    },
    Read(Read),
    Observe(Observe),
    Let(Let),
    Adjustment(Adjustment),
    Remedy(Remedy),
    Defects(Prose),
    ValidWhen {
        condition: Expr,
        text: Prose,
    },
    Tolerance(Tolerance),
    Require(Expr),
    Report(Expr),
    Decide(Decide),
    /// `uncertainty set_up Q k 2 on RESULT "seating of the bar"`
    Uncertainty {
        quantity: Quantity,
        spread: Spread,
        on: Path,
        text: Prose,
    },
    StopWhen {
        condition: Expr,
        text: Prose,
    },
}

/// `A done`, `A passed`, `A passed before adjusting`
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    pub span: Span,
    pub step: Name,
    pub how: NeedHow,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeedHow {
    Done,
    Passed,
    PassedBeforeAdjusting,
}

/// `tolerance [NAME "label"] [every / any] RESULT RULE [when CONDITION]`
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    pub named: Option<(Name, Prose)>,
    pub each: Option<Each>,
    pub result: Expr,
    pub rule: Rule,
    pub when: Option<Expr>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Each {
    Every,
    Any,
}

/// `read NAME in UNIT [using INSTRUMENT [or INSTRUMENT]]`
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    pub name: Name,
    pub unit: UnitName,
    pub using: Vec<Name>,
    pub lines: Vec<Line<ReadLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ReadLine {
    Over(Over),
    /// `times 3`, `times 1 to 10`
    Times {
        least: Number,
        most: Option<Number>,
    },
    HighAndLow,
    ThereAndBack,
    /// `survey eight lines 800 mm by 600 mm foot 100 mm`
    Survey {
        lines: Name,
        length: Quantity,
        width: Quantity,
        foot: Quantity,
    },
    /// `every 10 min for at most 2 h`
    Every {
        period: Quantity,
        at_most: Quantity,
    },
    Until(Expr),
    Plus(Prose),
    Minus(Prose),
    Unsigned,
    /// `sense stays with the machine`: the noun as typed
    StaysWith(Name),
    /// `sense turns with the level`
    TurnsWith(Name),
    /// `sense rises along place`
    RisesAlong(Name),
    FallsAlong(Name),
    /// `station place tail plus "..." minus "..."`
    Station {
        axis: Name,
        station: Station,
        plus: Prose,
        minus: Prose,
    },
    Ask(Prose),
    Usual(Range),
    /// `remeasure latest counts` / `remeasure mean counts`
    Remeasure(Counts),
    NotReadAllowed,
    OpenEndedAllowed,
    /// `join on 2 stations within 0.001 mm`
    Join {
        stations: Number,
        within: Quantity,
    },
    OnlyWhen(Expr),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    Latest,
    Mean,
}

/// `observe NAME "question" KIND`
#[derive(Clone, Debug, PartialEq)]
pub struct Observe {
    pub name: Name,
    pub question: Prose,
    pub kind: Kind,
    pub lines: Vec<Line<ObserveLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ObserveLine {
    Over(Over),
    OnlyWhen(Expr),
    /// `with temp`: asked in each row of that series
    With(Name),
}

/// `adjustment NAME "label" in UNIT`
#[derive(Clone, Debug, PartialEq)]
pub struct Adjustment {
    pub name: Name,
    pub label: Prose,
    pub unit: UnitName,
    pub lines: Vec<Line<AdjustmentLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum AdjustmentLine {
    Plus(Prose),
    Minus(Prose),
    Over(Over),
    /// `predicts twist by EXPRESSION`
    Predicts {
        result: Path,
        by: Expr,
    },
}

/// `remedy [when CONDITION] "text"`
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    pub when: Option<Expr>,
    pub text: Prose,
    pub advise: Vec<Line<Advise>>,
}

/// `advise shim = EXPRESSION`
#[derive(Clone, Debug, PartialEq)]
pub struct Advise {
    pub adjustment: Name,
    pub amount: Expr,
}
