//! The table of functions: what each takes, what it does to axes, what comes out and whether a sense carries over.
//!
//! One line a function; `calls` reads it. Functions whose arguments are not plain values stand in `special`.

use super::program::{By, Function};

/// One function that works on values.
#[derive(Debug)]
pub(super) struct Spec {
    pub name: &'static str,
    pub function: Function,
    pub shape: Shape,
    /// What the axis that is taken up must have.
    pub axis: AxisNeed,
    /// So many stations at least.
    pub stations: usize,
    pub gives: Gives,
    pub sense: Carry,
    /// The ways that may be said after `by`. If not empty one must be said.
    pub ways: &'static [By],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// One value; the axes after `over` go, all of them if none is named.
    Collapse,
    /// As `Collapse`, or several values against each other, element by element.
    CollapseOrSeveral,
    /// One axis goes.
    Along,
    /// One axis stays, with other numbers on it.
    Keep,
    /// Element by element.
    Each,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AxisNeed {
    Any,
    /// Stations with a position: lengths, angles.
    Positions,
    Stepped,
    /// Two stations, and the reading says what the second does to the sign.
    Pair,
    Closing,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Gives {
    /// The kind of the argument.
    Same,
    /// As `Same`, but nothing that has no sum (temperatures, dB).
    Additive,
    /// The kind of a difference: K for temperatures.
    Difference,
    Count,
    /// Of the argument per length of the axis.
    PerPosition,
    /// Argument times the length of the axis.
    TimesPosition,
    /// A position on the axis.
    Position,
    Root,
    /// An angle to a plain number, and back.
    Ratio,
    Angle,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Carry {
    Keeps,
    Unsigned,
    /// Has none to lose.
    Plain,
    Lost,
    /// As the pair says.
    Pair,
}

const FIT: &[By] = &[By::Ends, By::LeastSquares, By::MinimumZone];
const ENDS_OR_SQUARES: &[By] = &[By::Ends, By::LeastSquares];

macro_rules! functions {
    ($($name:literal $function:ident $shape:ident $axis:ident $stations:literal $gives:ident $sense:ident $ways:expr;)*) => {
        pub(super) const FUNCTIONS: &[Spec] = &[$(Spec {
            name: $name,
            function: Function::$function,
            shape: Shape::$shape,
            axis: AxisNeed::$axis,
            stations: $stations,
            gives: Gives::$gives,
            sense: Carry::$sense,
            ways: $ways,
        }),*];
    };
}

functions! {
    // name            function        shape              axis      n gives         sense    ways
    "mean"             Mean            Collapse           Any       1 Same          Keeps    &[];
    "sum"              Sum             Collapse           Any       1 Additive      Keeps    &[];
    "least"            Least           CollapseOrSeveral  Any       1 Same          Keeps    &[];
    "greatest"         Greatest        CollapseOrSeveral  Any       1 Same          Keeps    &[];
    "range"            Range           Collapse           Any       1 Difference    Unsigned &[];
    "stdev"            Stdev           Collapse           Any       2 Difference    Unsigned &[];
    "count"            Count           Collapse           Any       1 Count         Plain    &[];
    "root_sum_squares" RootSumSquares  CollapseOrSeveral  Any       1 Additive      Unsigned &[];
    "first"            First           Along              Any       1 Same          Keeps    &[];
    "last"             Last            Along              Any       1 Same          Keeps    &[];
    "span"             Span            Along              Positions 1 Position      Unsigned &[];
    "gain"             Gain            Along              Any       2 Difference    Keeps    &[];
    "slope"            Slope           Along              Positions 2 PerPosition   Keeps    &[];
    "ordinates"        Ordinates       Keep               Positions 2 Difference    Keeps    FIT;
    "straightness"     Straightness    Along              Positions 2 Difference    Unsigned FIT;
    "hump"             Hump            Along              Positions 2 Difference    Unsigned FIT;
    "hollow"           Hollow          Along              Positions 2 Difference    Unsigned FIT;
    "heights"          Heights         Keep               Stepped   1 TimesPosition Keeps    &[];
    "taper"            Taper           Along              Positions 2 Difference    Lost     ENDS_OR_SQUARES;
    "runout"           Runout          Collapse           Any       2 Difference    Unsigned &[];
    "machine"          Machine         Along              Pair      2 Additive      Pair     &[];
    "artefact"         Artefact        Along              Pair      2 Additive      Pair     &[];
    "closure"          Closure         Along              Closing   2 Difference    Keeps    &[];
    "abs"              Abs             Each               Any       1 Additive      Unsigned &[];
    "half"             Half            Each               Any       1 Additive      Keeps    &[];
    "sqrt"             Sqrt            Each               Any       1 Root          Unsigned &[];
    "sin"              Sin             Each               Any       1 Ratio         Lost     &[];
    "cos"              Cos             Each               Any       1 Ratio         Lost     &[];
    "tan"              Tan             Each               Any       1 Ratio         Lost     &[];
    "atan"             Atan            Each               Any       1 Angle         Lost     &[];
    "station_of_greatest" StationOfGreatest Along         Any       1 Position      Plain    &[];
    "station_of_least"    StationOfLeast    Along         Any       1 Position      Plain    &[];
}

/// Functions whose arguments are names or words.
pub(super) const SPECIAL: &[&str] =
    &["aim", "previous", "resolution", "where", "per", "without_background", "at_20_degC", "sag"];

/// Part of the language, not worked out by this version.
pub(super) const LATER: &[&str] = &[
    "accuracy",
    "change",
    "eccentricity",
    "flatness",
    "high_at",
    "mean_deviation_range",
    "plate_map",
    "rate",
    "repeatability",
    "reversal_value",
    "roundness",
    "settles_at",
    "size",
    "systematic_deviation",
    "time_constant",
];

/// The words that may stand after `by`.
pub(super) fn way(word: &str) -> Option<By> {
    match word {
        "ends" => Some(By::Ends),
        "least_squares" => Some(By::LeastSquares),
        "minimum_zone" => Some(By::MinimumZone),
        _ => None,
    }
}

pub(super) fn way_name(way: By) -> &'static str {
    match way {
        By::Ends => "ends",
        By::LeastSquares => "least_squares",
        By::MinimumZone => "minimum_zone",
    }
}

pub(super) fn function_named(name: &str) -> Option<&'static Spec> {
    FUNCTIONS.iter().find(|spec| spec.name == name)
}
