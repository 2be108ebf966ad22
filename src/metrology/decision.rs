//! Whether a result meets its limits, in view of how well it is known.
//!
//! With result y, standard uncertainty u and limits TL, TU (either may be missing):
//!
//! - simple: pass if TL <= y <= TU, else fail
//! - guarded by r u: pass if TL + r u <= y <= TU - r u, fail if y < TL - r u or y > TU + r u, else undecided.
//!   r = 2 is ISO 14253-1:1998 (U = 2 u), r = 1.65 the rounded guard band of ISO 14253-1:2017 (from memory)
//! - guarded by a probability P: pass if pc >= P, fail if 1 - pc >= P, else undecided, with the probability of
//!   conformity pc = Phi((TU - y)/u) - Phi((TL - y)/u), so that both limits count (JCGM 106:2012 and ISO 14253-1:2017,
//!   95 % by default; from memory). Where few readings stand behind u, Phi is Student's t with its effective degrees of
//!   freedom, whose tails are wider (JCGM 100:2008, G.3 and G.4). A result within its limits never fails for want of a
//!   better instrument: if u is so large that pc is small everywhere, it stays undecided. Of draws pc is their share within
//!   the limits (JCGM 106:2012, 6; JCGM 101:2008); their number leaves some of it open, and a verdict is given where all
//!   of that is on its side
//!
//! Specific risk: of a pass 1 - pc, of a fail pc. Comparisons by r are exact where the numbers are: a result just on a
//! limit passes. Probabilities are good to 1e-12 and count as reached within that.

use super::Fault;
use super::distribution::{normal_probability, normal_quantile, student_probability, student_quantile};
use super::ranked::{Ranked, Share};
use crate::quantity::{Real, ratio};

/// At least one of the two is there, and they do not cross.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    lower: Option<Real>,
    upper: Option<Real>,
}

impl Limits {
    pub fn new(lower: Option<Real>, upper: Option<Real>) -> Result<Limits, Fault> {
        match (&lower, &upper) {
            (None, None) => Err(Fault::NoLimit),
            (Some(lower), Some(upper)) if upper.is_less(lower) => Err(Fault::CrossedLimits),
            _ => Ok(Limits { lower, upper }),
        }
    }

    pub fn lower(&self) -> Option<&Real> {
        self.lower.as_ref()
    }

    pub fn upper(&self) -> Option<&Real> {
        self.upper.as_ref()
    }

    /// Both limits moved inward by a guard band; outward if it is negative. They may cross then.
    fn inward(&self, band: &Real) -> (Option<Real>, Option<Real>) {
        (self.lower.as_ref().map(|lower| lower + band), self.upper.as_ref().map(|upper| upper - band))
    }
}

fn holds((lower, upper): &(Option<Real>, Option<Real>), y: &Real) -> bool {
    lower.as_ref().is_none_or(|lower| y.is_at_least(lower))
        && upper.as_ref().is_none_or(|upper| y.is_at_most(upper))
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DecisionRule {
    Simple,
    /// So many standard uncertainties on either side of each limit.
    GuardBand(Real),
    /// The probability that must be reached, from 1/2 up to, but without, 1.
    Probability(Real),
}

impl DecisionRule {
    /// ISO 14253-1:1998, U = 2 u.
    pub fn expanded() -> Self {
        DecisionRule::GuardBand(Real::from(2))
    }

    /// ISO 14253-1:2017, JCGM 106:2012.
    pub fn ninety_five_percent() -> Self {
        DecisionRule::Probability(Real::Exact(ratio(95, 100)))
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    Pass,
    Fail,
    Undecided,
}

/// The verdict and how sure it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    pub verdict: Verdict,
    /// Probability that the true value meets the limits.
    pub conformity: f64,
    /// What the number of draws leaves open of it, where draws tell it.
    pub told: Option<(f64, f64)>,
    /// More draws might decide it.
    pub draws_leave_open: bool,
}

impl Decision {
    /// The probability that the verdict is wrong; none where nothing was decided.
    pub fn risk(&self) -> Option<f64> {
        match self.verdict {
            Verdict::Pass => Some(1.0 - self.conformity),
            Verdict::Fail => Some(self.conformity),
            Verdict::Undecided => None,
        }
    }
}

/// How well a result is known.
#[derive(Clone, Copy, Debug)]
pub struct Known<'u> {
    /// Standard uncertainty.
    pub u: &'u Real,
    pub distribution: Distribution<'u>,
}

/// How the true value is spread about the value read.
#[derive(Clone, Copy, Debug)]
pub enum Distribution<'d> {
    Normal,
    /// Effective degrees of freedom.
    Student(f64),
    /// As draws lie from the value, `below` it toward a lower limit and `above` it toward an upper one: the same draws, or
    /// where limits were measured too, those of its distance to each.
    Drawn {
        below: &'d Ranked,
        above: &'d Ranked,
        /// Standard uncertainty of the draws: with another one they are taken to lie nearer or further in proportion.
        u: f64,
        /// Whether a draw just on the lower and on the upper limit is outside.
        left_out: (bool, bool),
    },
}

impl<'u> From<&'u Real> for Known<'u> {
    fn from(u: &'u Real) -> Self {
        Self { u, distribution: Distribution::Normal }
    }
}

impl Distribution<'_> {
    /// Normal, or with so many degrees of freedom; None: infinitely many.
    pub fn with_freedom(freedom: Option<f64>) -> Self {
        freedom.map_or(Distribution::Normal, Distribution::Student)
    }

    /// Probability of lying below so many standard uncertainties.
    fn probability(self, t: f64) -> f64 {
        match self {
            Distribution::Student(freedom) => student_probability(t, freedom).ok(),
            _ => None,
        }
        .unwrap_or_else(|| normal_probability(t))
    }
}

/// Probabilities this close count as reached.
const REACHED: f64 = 1e-12;

pub fn decide<'u>(
    y: &Real,
    known: impl Into<Known<'u>>,
    limits: &Limits,
    rule: &DecisionRule,
) -> Result<Decision, Fault> {
    let known = known.into();
    let u = known.u;
    if u.is_negative() {
        return Err(Fault::NotPositive("the uncertainty"));
    }
    let share = share(y, known, limits);
    let (least, most) = (share.from, share.to);
    let drawn = matches!(known.distribution, Distribution::Drawn { .. }) && !u.is_zero();
    let is_inside = holds(&limits.inward(&Real::zero()), y);
    let mut draws_leave_open = false;
    let verdict = match rule {
        DecisionRule::Simple => {
            if is_inside {
                Verdict::Pass
            } else {
                Verdict::Fail
            }
        }
        DecisionRule::GuardBand(factor) => {
            let band = factor * u;
            if holds(&limits.inward(&band), y) {
                Verdict::Pass
            } else if !holds(&limits.inward(&-&band), y) {
                Verdict::Fail
            } else {
                Verdict::Undecided
            }
        }
        DecisionRule::Probability(wanted) => {
            let wanted = guarding(wanted)?;
            if u.is_zero() {
                if is_inside { Verdict::Pass } else { Verdict::Fail }
            } else if least >= wanted - REACHED && (is_inside || !drawn) {
                Verdict::Pass
            } else if 1.0 - most >= wanted - REACHED && !is_inside {
                Verdict::Fail
            } else {
                let open = if is_inside { most } else { 1.0 - least };
                draws_leave_open = drawn && open >= wanted;
                Verdict::Undecided
            }
        }
    };
    let told = drawn.then_some((least, most));
    Ok(Decision { verdict, conformity: share.share, told, draws_leave_open })
}

/// A probability below a half would let a result pass and fail at once.
fn guarding(wanted: &Real) -> Result<f64, Fault> {
    let half = Real::Exact(ratio(1, 2));
    if wanted.is_at_least(&half) && wanted.is_less(&Real::from(1)) {
        Ok(wanted.to_f64())
    } else {
        Err(Fault::NotGuarding)
    }
}

/// Probability that a true value spread about y by u meets the limits.
pub fn conformity<'u>(y: &Real, known: impl Into<Known<'u>>, limits: &Limits) -> f64 {
    share(y, known.into(), limits).share
}

fn share(y: &Real, Known { u, distribution }: Known<'_>, limits: &Limits) -> Share {
    if u.is_zero() {
        let inside = if holds(&limits.inward(&Real::zero()), y) { 1.0 } else { 0.0 };
        return Share::exactly(inside);
    }
    let Distribution::Drawn { below, above, u: of_draws, left_out } = distribution else {
        return Share::exactly(within(y, u, distribution, limits));
    };
    // How far a limit lies from the value, as the draws would have it with their own u.
    let scale = of_draws / u.to_f64();
    let at = |limit: &Real| (limit - y).to_f64() * scale;
    let none = below.below(0.0, false).none();
    let lower = limits.lower.as_ref().map_or(none, |lower| below.below(at(lower), left_out.0));
    let upper = limits.upper.as_ref().map_or(none, |upper| above.above(at(upper), left_out.1));
    lower.and(upper).others().share()
}

fn within(y: &Real, u: &Real, distribution: Distribution<'_>, limits: &Limits) -> f64 {
    let u = u.to_f64();
    let probability = |t: f64| distribution.probability(t);
    // How far y stands inside each limit; the smaller tails are taken away, which keeps their digits.
    let beyond = |room: Option<Real>| room.map_or(0.0, |room| probability(-room.to_f64() / u));
    let below = beyond(limits.lower.as_ref().map(|lower| y - lower));
    let above = beyond(limits.upper.as_ref().map(|upper| upper - y));
    if below > 0.5 {
        // y stands outside: what lies inside is the difference of two small tails.
        let inside = limits.lower.as_ref().map_or(1.0, |lower| probability((y - lower).to_f64() / u));
        return (inside - above).max(0.0);
    }
    if above > 0.5 {
        let inside = limits.upper.as_ref().map_or(1.0, |upper| probability((upper - y).to_f64() / u));
        return (inside - below).max(0.0);
    }
    (1.0 - below - above).max(0.0)
}

/// Whether the best result there could be would pass: if not, the instruments cannot decide this limit at all.
pub fn can_pass(u: &Real, limits: &Limits, rule: &DecisionRule) -> Result<bool, Fault> {
    let Some((lower, upper)) = limits.lower.as_ref().zip(limits.upper.as_ref()) else {
        return Ok(true);
    };
    let middle = (lower + upper).half();
    decide(&middle, u, limits, rule).map(|decision| decision.verdict == Verdict::Pass)
}

/// How many readings, their mean being y again, would decide: u^2 = fixed + fresh / n, its degrees of freedom left as
/// they are. `None` if no number up to `most` does.
pub fn repeats_to_decide(
    y: &Real,
    (fixed, fresh, distribution): (&Real, &Real, Distribution<'_>),
    limits: &Limits,
    rule: &DecisionRule,
    most: usize,
) -> Result<Option<usize>, Fault> {
    let decided = |n: usize| {
        let share = fresh.div(&super::statistics::count(n)).ok_or(Fault::IllConditioned)?;
        let u = (fixed + &share).sqrt().ok_or(Fault::NegativeVariance)?;
        let known = Known { u: &u, distribution };
        decide(y, known, limits, rule).map(|decision| decision.verdict != Verdict::Undecided)
    };
    if most > 0 && decided(1)? {
        return Ok(Some(1));
    }
    // Once decided, a smaller u does not undo it.
    if most == 0 || !decided(most)? {
        return Ok(None);
    }
    let (mut too_few, mut enough) = (0, most);
    while enough - too_few > 1 {
        let middle = too_few + (enough - too_few) / 2;
        if decided(middle)? {
            enough = middle;
        } else {
            too_few = middle;
        }
    }
    Ok(Some(enough))
}

/// The greatest standard uncertainty that would decide the result as it stands: what a better instrument must reach.
/// `None` where none does, the result lying just on a limit.
pub fn u_to_decide(
    y: &Real,
    limits: &Limits,
    rule: &DecisionRule,
    distribution: Distribution<'_>,
) -> Result<Option<f64>, Fault> {
    let distances = [limits.lower.as_ref(), limits.upper.as_ref()];
    let nearest = distances.iter().flatten().map(|limit| (y - limit).abs()).min().ok_or(Fault::NoLimit)?;
    let factor = match rule {
        DecisionRule::Simple => return Ok(Some(f64::INFINITY)),
        DecisionRule::GuardBand(factor) => factor.to_f64(),
        DecisionRule::Probability(wanted) => match (guarding(wanted)?, distribution) {
            (wanted, Distribution::Student(freedom)) => student_quantile(wanted, freedom)?,
            (wanted, _) => normal_quantile(wanted)?,
        },
    };
    if nearest.is_zero() {
        return Ok(None);
    }
    // At a half one limit asks for nothing, only both together do.
    let mut high = nearest.to_f64() / factor.max(1e-3);
    // The other limit can only ask for less.
    let decides = |u: f64| {
        let u = Real::approximate(u, 0.0).ok_or(Fault::IllConditioned)?;
        let known = Known { u: &u, distribution };
        decide(y, known, limits, rule).map(|decision| decision.verdict != Verdict::Undecided)
    };
    if let Distribution::Drawn { u, .. } = distribution {
        // Draws may ask for less than a normal distribution does, but what they have leaves it open.
        high = high.max(u);
    } else if decides(high * (1.0 - 1e-12))? {
        return Ok(Some(high));
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if decides(middle)? {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok((low > 0.0).then_some(low))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse_decimal;
    use proptest::prelude::*;

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    fn at_most(upper: &str) -> Limits {
        Limits::new(None, Some(real(upper))).unwrap()
    }

    fn between(lower: &str, upper: &str) -> Limits {
        Limits::new(Some(real(lower)), Some(real(upper))).unwrap()
    }

    fn verdict(y: &str, u: &str, limits: &Limits, rule: &DecisionRule) -> Verdict {
        decide(&real(y), &real(u), limits, rule).unwrap().verdict
    }

    #[test]
    fn equality_is_settled_in_exact_numbers() {
        let (limit, rule) = (at_most("0.010"), DecisionRule::expanded());
        // 0.010 - 2 x 0.0015 = 0.007, which binary numbers miss.
        assert_eq!(verdict("0.007", "0.0015", &limit, &rule), Verdict::Pass);
        assert_eq!(verdict("0.0070000001", "0.0015", &limit, &rule), Verdict::Undecided);
        assert_eq!(verdict("0.013", "0.0015", &limit, &rule), Verdict::Undecided);
        assert_eq!(verdict("0.0130000001", "0.0015", &limit, &rule), Verdict::Fail);
        assert_eq!(verdict("0.010", "0.0015", &limit, &DecisionRule::Simple), Verdict::Pass);
    }

    #[test]
    fn both_limits_count_where_the_uncertainty_is_large() {
        let rule = DecisionRule::ninety_five_percent();
        // One limit alone would take 1.645 u; in the middle of a zone of +- 1.7 u both tails take more than 5 %.
        assert_eq!(verdict("0", "1", &between("-1.7", "1.7"), &rule), Verdict::Undecided);
        assert_eq!(verdict("0", "1", &at_most("1.7"), &rule), Verdict::Pass);
        assert_eq!(verdict("0", "1", &between("-1.97", "1.97"), &rule), Verdict::Pass);
        assert_eq!(can_pass(&real("1"), &between("-1.7", "1.7"), &rule), Ok(false));
        assert_eq!(can_pass(&real("1"), &at_most("-90"), &rule), Ok(true));
        assert_eq!(
            verdict("0", "100", &between("-1", "1"), &rule),
            Verdict::Undecided,
            "no fail within the limits"
        );
    }

    #[test]
    fn a_sure_result_is_judged_as_it_stands() {
        for rule in [DecisionRule::Simple, DecisionRule::expanded(), DecisionRule::ninety_five_percent()] {
            assert_eq!(verdict("5", "0", &at_most("5"), &rule), Verdict::Pass);
            assert_eq!(verdict("5.001", "0", &at_most("5"), &rule), Verdict::Fail);
        }
        let sure = decide(&real("5"), &Real::zero(), &at_most("5"), &DecisionRule::Simple).unwrap();
        assert_eq!(sure.risk(), Some(0.0));
    }

    #[test]
    fn advice_names_the_number_of_readings_or_says_that_none_will_do() {
        let (limit, rule) = (at_most("10"), DecisionRule::expanded());
        // Room 1, so u must come to 0.5: fresh 1 / n <= 0.25.
        let advice = |fixed: &str| {
            repeats_to_decide(
                &real("9"),
                (&real(fixed), &real("1"), Distribution::Normal),
                &limit,
                &rule,
                100,
            )
        };
        assert_eq!(advice("0"), Ok(Some(4)));
        assert_eq!(advice("0.2"), Ok(Some(20)));
        assert_eq!(advice("0.25"), Ok(None), "the fixed part alone is too much");
        assert_eq!(u_to_decide(&real("9"), &limit, &rule, Distribution::Normal), Ok(Some(0.5)));
        assert_eq!(u_to_decide(&real("10"), &limit, &rule, Distribution::Normal), Ok(None));
        let both = u_to_decide(
            &real("0"),
            &between("-1", "1"),
            &DecisionRule::ninety_five_percent(),
            Distribution::Normal,
        )
        .unwrap()
        .unwrap();
        assert!((both * 1.959_963_984_540_054 - 1.0).abs() < 1e-9, "1.96 where both tails count");
    }

    #[test]
    fn nonsense_is_refused() {
        assert_eq!(Limits::new(None, None), Err(Fault::NoLimit));
        assert_eq!(Limits::new(Some(real("2")), Some(real("1"))), Err(Fault::CrossedLimits));
        for wrong in ["0.49", "1", "0", "95"] {
            let rule = DecisionRule::Probability(real(wrong));
            assert_eq!(decide(&real("1"), &real("1"), &at_most("1"), &rule), Err(Fault::NotGuarding));
        }
        let minus = decide(&real("1"), &real("-1"), &at_most("1"), &DecisionRule::Simple);
        assert!(matches!(minus, Err(Fault::NotPositive(_))));
    }

    proptest! {
        /// What passes with a guard passes without, what fails with one fails without; mirrored limits mirror the
        /// verdict; the unit takes no part.
        #[test]
        fn a_guard_only_takes_verdicts_away(y in -300i64..300, u in 1i64..80, width in 0i64..250) {
            let exact = |n: i64| Real::Exact(crate::quantity::ratio(n, 10));
            let limits = Limits::new(Some(exact(-width)), Some(exact(width))).unwrap();
            let plain = decide(&exact(y), &exact(u), &limits, &DecisionRule::Simple).unwrap().verdict;
            for rule in [DecisionRule::expanded(), DecisionRule::ninety_five_percent()] {
                let found = decide(&exact(y), &exact(u), &limits, &rule).unwrap();
                prop_assert!(found.verdict == plain || found.verdict == Verdict::Undecided);
                prop_assert!((0.0..=1.0).contains(&found.conformity));
                let mirrored = decide(&exact(-y), &exact(u), &limits, &rule).unwrap();
                prop_assert_eq!(mirrored.verdict, found.verdict);
                let inch = |n: i64| &exact(n) * &real("25.4");
                let other = Limits::new(Some(inch(-width)), Some(inch(width))).unwrap();
                prop_assert_eq!(decide(&inch(y), &inch(u), &other, &rule).unwrap().verdict, found.verdict);
                prop_assert!(found.risk().is_none_or(|risk| risk <= 0.5 + 1e-12));
            }
        }
    }
}
