//! What stands in a procedure file, line by line, as owned data. Types only.
//!
//! Every node has its `Span` in the file. Numbers and units keep the text as typed; what they mean is for `check`.
//! Nothing is resolved here: a word may be a fact, a station or a choice, and only `check` can tell. Blank lines and
//! comments are kept beside the tree in `layout`, one entry a line, so that the pieces give back the file byte for
//! byte; `Line::layout` is the place of a line in that list.

// One node stands for one line that a person wrote; boxes would only make it harder to read.
#![allow(clippy::large_enum_variant)]

pub use crate::source::Span;

pub use super::ast_example::*;
pub use super::ast_expression::*;
pub use super::ast_step::*;

/// A file: its lines and blocks in their order. Always there, however broken the text is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct File {
    pub items: Vec<Line<Item>>,
    /// Lines that could not be read, each already reported. A name that only one of them gives is not "unknown".
    pub broken: Vec<Span>,
    /// All lines of the file, whatever block they are in, with the blanks and comments around them.
    pub layout: Vec<Layout>,
    /// What stands below the last line.
    pub tail: Span,
}

/// One line, joined from as many lines of the file as it goes on over.
#[derive(Clone, Debug, PartialEq)]
pub struct Line<T> {
    /// From its first word to its last, without blanks and comments around it, and without the lines beneath it.
    pub span: Span,
    /// Index in `File::layout`.
    pub layout: usize,
    pub what: T,
}

/// How a line lies in the file. `leading`, `body` and `trailing` of all lines, then `File::tail`, are the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Blank lines and comment lines above it, and its indentation.
    pub leading: Span,
    pub body: Span,
    /// Blanks, a comment and the line end behind it.
    pub trailing: Span,
    /// How many blocks it stands in.
    pub depth: usize,
    /// It could be read.
    pub sound: bool,
}

/// A name or any other single word.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Name {
    pub text: String,
    pub span: Span,
}

/// A number as typed, with its minus: `-0.0040`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    pub text: String,
    pub span: Span,
}

/// A unit as typed: `mm/m`, `%`, `/min`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitName {
    pub text: String,
    pub span: Span,
}

/// A number with or without a unit, as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quantity {
    pub span: Span,
    pub number: Number,
    pub unit: Option<UnitName>,
}

/// A date as typed, `2026-03-02`; whether there is such a day is for `check`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DateText {
    pub text: String,
    pub span: Span,
}

/// A text in quotes, its continuation lines joined by one blank, `\"`, `\\` and `{{` undone.
#[derive(Clone, Debug, PartialEq)]
pub struct Prose {
    pub span: Span,
    pub parts: Vec<Piece>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    Text(String),
    /// `{expression}` or `{expression in UNIT}`.
    Value(Expr, Option<UnitName>),
}

impl Prose {
    /// The text, if no value stands in it.
    pub fn plain(&self) -> Option<String> {
        self.parts
            .iter()
            .map(|piece| match piece {
                Piece::Text(text) => Some(text.as_str()),
                Piece::Value(..) => None,
            })
            .collect()
    }

    /// The values that stand in it.
    pub fn values(&self) -> impl Iterator<Item = &Expr> {
        self.parts.iter().filter_map(|piece| match piece {
            Piece::Value(value, _) => Some(value),
            Piece::Text(_) => None,
        })
    }
}

/// A line at the top of a file, with the lines beneath it.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// `language 1`
    Language(Number),
    /// `procedure "title"`
    Procedure(Prose),
    /// `library "title"`
    Library(Prose),
    /// `kit "title"`
    Kit(Prose),
    Revision(Prose),
    Scope(Prose),
    Basis(Prose),
    Note(Prose),
    Decide(Decide),
    /// `party NAME "who"`
    Party {
        name: Name,
        who: Prose,
    },
    /// `include "path"`
    Include(Prose),
    Fact(Fact),
    Let(Let),
    /// `axis NAME STATIONS`
    Axis(Over),
    Instrument(Instrument),
    Gauge(Gauge),
    Table(Table),
    Section(Section),
    Step(Step),
    Method(Method),
    Crosscheck(Crosscheck),
    Example(Example),
}

/// `decide simple`, `decide guarded 95 %`, `decide guarded U`; `by draws` may stand behind each
#[derive(Clone, Debug, PartialEq)]
pub struct Decide {
    pub rule: DecideRule,
    pub by_draws: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub enum DecideRule {
    Simple,
    GuardedBy(Quantity),
    GuardedU,
}

/// `fact NAME "question" KIND`
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    pub name: Name,
    pub question: Prose,
    pub kind: Kind,
}

/// What kind of answer is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    pub span: Span,
    pub what: KindOf,
}

#[derive(Clone, Debug, PartialEq)]
pub enum KindOf {
    Text,
    YesOrNo,
    OneOf(Vec<Name>),
    Date,
    Count,
    /// `in UNIT [from A to B]`; a bare number in the range is in that unit.
    In(UnitName, Option<Range>),
    /// Only of an `observe`.
    Photo,
}

/// `from A to B`
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    pub span: Span,
    pub from: Expr,
    pub to: Expr,
}

/// `let NAME "label" = EXPRESSION [in UNIT]`, with the sense lines beneath it.
#[derive(Clone, Debug, PartialEq)]
pub struct Let {
    pub name: Name,
    pub label: Prose,
    pub value: Expr,
    pub unit: Option<UnitName>,
    pub sense: Vec<Line<SenseLine>>,
    /// No line of the file: what is given for a parameter of the method that a step follows.
    pub argument: bool,
}

/// Which way is plus, in words.
#[derive(Clone, Debug, PartialEq)]
pub enum SenseLine {
    Plus(Prose),
    Minus(Prose),
    Unsigned,
}

/// `over NAME STATIONS`, `axis NAME STATIONS`
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    pub name: Name,
    pub stations: Stations,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Stations {
    pub span: Span,
    pub what: StationsOf,
    /// `closing`: the first station is read again at the end.
    pub closing: Option<Span>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum StationsOf {
    /// `over round`: an axis that is laid out elsewhere.
    Named,
    /// `0 deg, 180 deg` or `first, turned`
    List(Vec<Station>),
    /// `0 mm to 400 mm by 50 mm`, `0 mm up to reach by 50 mm`, `... stepped by 125 mm`
    Run { from: Expr, to: Expr, up_to: bool, by: Expr, stepped: bool },
    /// `as listed "Name each metal part"`
    Listed(Prose),
}

/// One station: a single word (a station word, or a value that is a station), or a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Station {
    Word(Name),
    Value(Expr),
}

/// `instrument NAME "what it is"`
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    pub name: Name,
    pub label: Prose,
    pub lines: Vec<Line<InstrumentLine>>,
}

/// A property of an instrument, in its block or in `using` of an example.
#[derive(Clone, Debug, PartialEq)]
pub enum InstrumentLine {
    Resolution(Quantity),
    /// `scale Q per UNIT` (per div)
    Scale(Quantity, UnitName),
    Uncertainty(Source, Quantity, Spread),
    Range(Range),
}

/// `gauge "DI-07" is dial or indicator`: one thing of a kit, by its number, and what a procedure may call it.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    pub number: Prose,
    pub kinds: Vec<Name>,
    pub lines: Vec<Line<GaugeLine>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum GaugeLine {
    Serial(Prose),
    Certificate(Prose),
    /// `calibrated until 2027-03-01`
    CalibratedUntil(DateText),
    Note(Prose),
    Property(InstrumentLine),
}

/// How an uncertainty of an instrument acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    Zero,
    Fresh,
    Scale,
}

/// How the size of an uncertainty is meant, and with how many degrees of freedom it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    pub shape: Shape,
    pub freedom: Option<Number>,
}

/// Expanded with its factor, or the half width of a shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Coverage(Number),
    Rectangular,
    Triangular,
    /// With the half width of its flat top.
    Trapezoidal(Quantity),
    /// Rectangular, with how well its half width is known.
    Loose(Quantity),
    Arcsine,
}

/// `table NAME "title" [over NAME [in UNIT]] [of a, b]`
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    pub name: Name,
    pub title: Prose,
    pub over: Option<(Name, Option<UnitName>)>,
    pub columns: Vec<Name>,
    pub rows: Vec<Line<Row>>,
}

/// `[when CONDITION] [up to Q] then A, B` or `[when CONDITION] every further Q or part adds A, B`
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    pub when: Option<Expr>,
    pub reach: Reach,
    pub values: Vec<Expr>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Reach {
    All,
    UpTo(Expr),
    EveryFurther(Expr),
}

/// `section NAME "title" [in any order]`
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    pub name: Name,
    pub title: Prose,
    pub any_order: bool,
}

/// `crosscheck NAME "why" A against B within Q [when CONDITION]`
#[derive(Clone, Debug, PartialEq)]
pub struct Crosscheck {
    pub name: Name,
    pub why: Prose,
    pub left: Expr,
    pub right: Expr,
    pub within: Expr,
    pub when: Option<Expr>,
}
