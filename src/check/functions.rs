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
    /// As `Along`, and a place on that axis stands behind the value.
    AlongAt,
    /// One axis stays, with other numbers on it.
    Keep,
    /// Two axes of lengths go, or a whole plate map.
    Surface,
    /// The feet of a survey become heights along its lines.
    Map,
    /// Element by element.
    Each,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AxisNeed {
    Any,
    /// Stations with a position: lengths, angles.
    Positions,
    Stepped,
    /// Two stations: there and back.
    TwoWays,
    /// Two stations, and the reading says what the second does to the sign.
    Pair,
    Closing,
    /// Stations that are times.
    Time,
    /// Angles of one turn, each of them once.
    Angles,
    Survey,
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
    /// A plain number, whatever goes in.
    Number,
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
    /// An arrow of the argument, and its two parts back.
    Arrow,
    ArrowSize,
    ArrowAngle,
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
pub(super) const CIRCLE: &[By] = &[By::LeastSquares, By::MinimumZone, By::Inscribed, By::Circumscribed];
pub(super) const PLANE: &[By] = &[By::LeastSquares, By::MinimumZone, By::ThreeCorners];
const MAP: &[By] = &[By::Closing, By::LeastSquares];
pub(super) const EDITIONS: &[By] = &[By::Iso230Of1988, By::Iso230Of2014];

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
    "lag_1"            Lag1            Along              Any       3 Number        Plain    &[];
    "root_sum_squares" RootSumSquares  CollapseOrSeveral  Any       1 Additive      Unsigned &[];
    "first"            First           Along              Any       1 Same          Keeps    &[];
    "last"             Last            Along              Any       1 Same          Keeps    &[];
    "span"             Span            Along              Positions 1 Position      Unsigned &[];
    "gain"             Gain            Along              Any       2 Difference    Keeps    &[];
    "worst_step"       WorstStep       Along              Any       2 Difference    Unsigned &[];
    "slope"            Slope           Along              Positions 2 PerPosition   Keeps    &[];
    "slope_uncertainty" SlopeUncertainty Along           Positions 3 PerPosition   Unsigned &[];
    "line_at"          LineAt          AlongAt            Positions 2 Same          Keeps    &[];
    "line_uncertainty" LineUncertainty AlongAt            Positions 3 Difference    Unsigned &[];
    "line_correlation" LineCorrelation AlongAt            Positions 3 Number        Plain    &[];
    "line_scatter"     LineScatter     Along              Positions 3 Difference    Unsigned &[];
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
    "station_of_greatest" StationOfGreatest Collapse         Any       1 Position      Plain    &[];
    "station_of_least"    StationOfLeast    Collapse         Any       1 Position      Plain    &[];
    "eccentricity"     Eccentricity    Along              Angles    3 Arrow         Plain    &[];
    "size"             Size            Each               Any       1 ArrowSize     Unsigned &[];
    "high_at"          HighAt          Each               Any       1 ArrowAngle    Unsigned &[];
    "roundness"        Roundness       Along              Angles    4 Difference    Unsigned CIRCLE;
    "flatness"         Flatness        Surface            Positions 2 Difference    Unsigned PLANE;
    "plate_map"        PlateMap        Map                Survey    1 TimesPosition Lost     MAP;
    "backlash"         Backlash        Along              TwoWays   2 Difference    Lost     &[];
    "lead_error"       LeadError       Along              Positions 2 Difference    Unsigned &[];
    "change"           Change          Along              Time      1 Difference    Keeps    &[];
    "rate"             Rate            Along              Time      1 PerPosition   Keeps    &[];
    "settles_at"       SettlesAt       Along              Time      1 Same          Keeps    &[];
    "time_constant"    TimeConstant    Along              Time      1 Position      Plain    &[];
}

/// Functions whose arguments are names or words.
pub(super) const SPECIAL: &[&str] = &[
    "aim",
    "previous",
    "resolution",
    "where",
    "per",
    "without_background",
    "at_20_degC",
    "sag",
    "undulation",
    "circle_form",
    "circle_diameter",
    "circle_centre",
    "rounded",
    "twist_shims",
    "shims_to_level",
    "seating_shims",
    "set_over",
    "height_effect",
    "taper_from_twist",
    "taper_from_lean",
    "time_to_rate",
];

/// The figures of ISO 230-2, over targets, approaches and repeats.
pub(super) const POSITIONING: &[(&str, Function)] = &[
    ("accuracy", Function::Accuracy),
    ("repeatability", Function::Repeatability),
    ("systematic_deviation", Function::SystematicDeviation),
    ("mean_deviation_range", Function::MeanDeviationRange),
    ("reversal_value", Function::ReversalValue),
];

/// The words that may stand after `by`.
const WAYS: &[(&str, By)] = &[
    ("ends", By::Ends),
    ("least_squares", By::LeastSquares),
    ("minimum_zone", By::MinimumZone),
    ("inscribed", By::Inscribed),
    ("circumscribed", By::Circumscribed),
    ("three_corners", By::ThreeCorners),
    ("closing", By::Closing),
    ("iso_230_2_1988", By::Iso230Of1988),
    ("iso_230_2_2014", By::Iso230Of2014),
];

pub(super) fn way(word: &str) -> Option<By> {
    WAYS.iter().find(|(name, _)| *name == word).map(|(_, way)| *way)
}

pub(super) fn way_name(way: By) -> &'static str {
    WAYS.iter().find(|(_, known)| *known == way).map_or("", |(name, _)| name)
}

/// What a function makes of arrows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Arrows {
    Never,
    Also,
    Only,
}

pub(super) fn arrows(function: Function) -> Arrows {
    match function {
        Function::Size | Function::HighAt => Arrows::Only,
        Function::Mean
        | Function::Half
        | Function::First
        | Function::Last
        | Function::Machine
        | Function::Artefact => Arrows::Also,
        _ => Arrows::Never,
    }
}

pub(super) fn function_named(name: &str) -> Option<&'static Spec> {
    FUNCTIONS.iter().find(|spec| spec.name == name)
}
