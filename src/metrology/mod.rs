//! The evaluations of measured numbers: plain numbers in, plain numbers or a [`Fault`] out.
//!
//! Knows nothing of the language, of steps or of verdicts. One file an evaluation, its formula, sign and source at its
//! head. Stations and values are [`Real`](crate::quantity::Real)s in base units, so that exact readings give exact
//! results. Every error is a [`Fault`] with a plain sentence; nothing here panics.
//!
//! ```
//! use bedway::metrology::{Reference, straightness};
//! use bedway::quantity::Real;
//! let stations: Vec<Real> = (0..5).map(Real::from).collect();
//! let heights: Vec<Real> = [0, 3, 0, -3, 0].into_iter().map(Real::from).collect();
//! assert_eq!(straightness(&stations, &heights, Reference::Ends), Ok(Real::from(6)));
//! assert_eq!(straightness(&stations, &heights, Reference::MinimumZone), Ok(Real::from(4)));
//! ```

mod area;
mod arrow;
mod bed;
mod best_centre;
mod circle;
mod circle_zone;
mod columns;
mod decision;
mod distribution;
mod drawn_circle;
mod drawn_form;
mod guess;
mod hull;
mod level;
mod line;
mod line_uncertainty;
mod material;
mod minimum_zone;
mod minimum_zone_plane;
mod monte_carlo;
mod nonlinear;
mod optimum;
mod plane;
mod positioning;
mod random;
mod ranked;
mod reversal;
mod risk;
mod roundness;
mod scaling;
mod smallest_circle;
mod solve;
mod sound;
mod spindle;
mod statistics;
mod survey;
mod turn;
mod turning;
mod uncertainty;
mod warm_up;
mod window;
mod window_between;

pub use area::{Area, worst_area};
pub use arrow::Arrow;
pub use bed::{FootPair, Seating, TwistShims, seating, shims_to_level, twist, twist_shims, worst_step};
pub use circle::{FittedCircle, fit_circle};
pub use circle_zone::{PointsRoundness, points_roundness};
pub use decision::{
    Decision, DecisionRule, Distribution, Known, Limits, Verdict, can_pass, conformity, decide,
    repeats_to_decide, u_to_decide,
};
pub use distribution::{
    coverage_factor, normal_density, normal_probability, normal_quantile, student_probability,
    student_quantile,
};
pub use drawn_circle::{DrawnCircles, drawn_circles};
pub use drawn_form::DrawnForm;
pub use level::{Tilt, heights};
pub use line::{Line, Reference, fit, gain, hollow, hump, interpolate, ordinates, slope, span, straightness};
pub use line_uncertainty::{FittedLine, fit_with_uncertainty};
pub use material::{
    Material, Stretch, at_20_deg_c, sag, sag_at, variance_at_20_deg_c, variance_of_droop,
    variance_of_expansion,
};
pub use monte_carlo::{
    Block, Draw, Outcome, Trials, expanded, few_trials, monte_carlo, monte_carlo_of_several,
};
pub use nonlinear::{CurveFit, fit_curve};
pub use plane::{Place, Plane, PlaneReference, fit_plane, flatness, over_three, plane_ordinates};
pub use positioning::{Backlash, Edition, OneWay, Side, Target, TwoWay, backlash, one_way, two_way};
pub use random::Generator;
pub use ranked::{Ranked, Share};
pub use reversal::{Pair, stays_with, turns_with};
pub use risk::{GlobalRisk, global_risk};
pub use roundness::{CircleReference, Roundness, roundness};
pub use scaling::{Counted, Scaled, rounded_to, scaled};
pub use sound::{WithoutBackground, energy_mean, without_background};
pub use spindle::{Separated, indexings};
pub use statistics::{greatest, lag_1, least, mean, range, root_sum_squares, stdev, sum};
pub use survey::{MapBy, PlateMap, SURVEY_LINES, Survey};
pub use turn::{Harmonics, eccentricity, harmonics};
pub use turning::{off_height, runout, set_over, taper, taper_from_lean, taper_from_twist};
pub use uncertainty::{Combined, Shape, Source, combined, combined_with, variance_of_mean};
pub use warm_up::{Projection, change, first_order, rate, spread, three_point};
pub use window::{Rule, Window, worst_window};

/// Why an evaluation has no result. Each says what to do about it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    #[error("needs at least {needed} values, there are {found}")]
    TooFew { needed: usize, found: usize },
    #[error("{stations} stations but {values} values: each station needs its value")]
    Unpaired { stations: usize, values: usize },
    #[error("two stations stand at the same place")]
    SamePlace,
    #[error("{0} must be more than zero")]
    NotPositive(&'static str),
    #[error("the floor is above the cap")]
    FloorAboveCap,
    #[error("the bore is not smaller than the diameter")]
    BoreTooLarge,
    #[error("the total is below the background: measure both again")]
    BelowBackground,
    #[error("a probability lies between 0 and 1, neither included")]
    NotAProbability,
    #[error("two readings stand at the same angle")]
    SameAngle,
    #[error("all readings lie within half a turn: read around the whole turn")]
    HalfTurn,
    #[error("there is no eccentricity, so it has no direction")]
    NoDirection,
    #[error("the stations all lie on one line: a plane needs them spread over a surface")]
    OneLine,
    #[error("the points all lie on one line or in one spot: no circle goes through them")]
    NoCircle,
    #[error("a corner was not read: by three corners the ends of two sides are needed")]
    NoCorner,
    #[error("the lines are not an even number of feet long")]
    NoWholeFeet,
    #[error(
        "the indexings are not spread evenly over the turn: use 0 and 180, or 0, 90, 180 and 270 degrees"
    )]
    UnevenIndexings,
    #[error("the place lies beyond the end of the bar")]
    BeyondTheBar,
    #[error("the readings do not bend toward an end value yet")]
    NoBend,
    #[error("the readings do not cover that stretch of time yet")]
    NotCovered,
    #[error("no curve of this kind fits the readings")]
    NoFit,
    #[error("the second width of the shape is more than the first")]
    TopWiderThanFoot,
    #[error("the covariances make a variance less than zero: check them against the variances")]
    NegativeVariance,
    #[error("a trial gave no result: the values lie too close to where there is none")]
    NoTrial,
    #[error("there is no limit to decide by")]
    NoLimit,
    #[error("the lower limit is above the upper one")]
    CrossedLimits,
    #[error("the probability of a guarded decision is 50 % or more and less than 100 %")]
    NotGuarding,
    #[error(
        "the points do not settle one centre: take them from more of the circle, or the circle by least squares"
    )]
    NoBestCentre,
    #[error(
        "no circle is the best: the larger it is, the narrower its zone, down to that between two straight lines"
    )]
    StraightZone,
    #[error("the points do not hold a circle: it slips out between them; take points all around")]
    NotHeld,
    #[error("several circles are equally good, and they differ in this")]
    SeveralCircles,
    #[error("all values are equal")]
    AllEqual,
    #[error("too ill-conditioned: the numbers do not settle a result")]
    IllConditioned,
}

/// Checks that each station has its value and that there are enough of them.
fn paired<A, B>(stations: &[A], values: &[B], needed: usize) -> Result<(), Fault> {
    if stations.len() != values.len() {
        return Err(Fault::Unpaired { stations: stations.len(), values: values.len() });
    }
    enough(values, needed)
}

fn enough<A>(values: &[A], needed: usize) -> Result<(), Fault> {
    if values.len() < needed { Err(Fault::TooFew { needed, found: values.len() }) } else { Ok(()) }
}
