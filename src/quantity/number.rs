//! Numbers: exact rationals wherever the input allows, else a binary number with a proved bound on its error.
//!
//! A verdict never hangs on binary noise: two numbers that differ by no more than their bounds count as equal. NaN
//! never enters. Where an error can no longer be bounded the bound is infinite, and [`Real::is_bounded`] says so.

use std::cmp::Ordering;
use std::ops::{Add, Mul, Neg, Sub};

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

pub type Rational = BigRational;

/// Larger numerators or denominators are given up for a binary number, so that no expression can eat the memory.
const MOST_BITS: u64 = 8192;

/// The longest number that may be typed, in characters.
const LONGEST_TEXT: usize = 40;

/// A number. `Exact` has no error; the true value of `Approximate` lies within `bound` of `value`.
#[derive(Clone, Debug)]
pub enum Real {
    Exact(Rational),
    /// `value` is finite, `bound` is at least zero and may be infinite (nothing is known).
    Approximate {
        value: f64,
        bound: f64,
    },
}

/// `numerator / denominator`; zero if the denominator is zero, which no caller with constants writes.
pub fn ratio(numerator: i64, denominator: i64) -> Rational {
    if denominator == 0 {
        return Rational::zero();
    }
    Rational::new(BigInt::from(numerator), BigInt::from(denominator))
}

/// Reads a decimal as people write it: `12`, `-0.004`, `+0,5`, `.5`. Point or comma, at most one; no exponent, no
/// blanks, at most 40 characters. Exact. A typographic minus is a minus.
pub fn parse_decimal(text: &str) -> Option<Rational> {
    if text.len() > LONGEST_TEXT { None } else { decimal(text) }
}

/// [`parse_decimal`] without the limit on what a person may type.
pub(super) fn decimal(text: &str) -> Option<Rational> {
    let (negative, digits) = if let Some(rest) = text.strip_prefix(['-', '\u{2212}']) {
        (true, rest)
    } else {
        (false, text.strip_prefix('+').unwrap_or(text))
    };
    let (whole, part) = match digits.split_once(['.', ',']) {
        Some((whole, part)) => (whole, part),
        None => (digits, ""),
    };
    if whole.is_empty() && part.is_empty() || !whole.chars().chain(part.chars()).all(|c| c.is_ascii_digit()) {
        return None;
    }
    let mut numerator = format!("{whole}{part}").parse::<BigInt>().ok()?;
    if negative {
        numerator = -numerator;
    }
    Some(Rational::new(numerator, BigInt::from(10).pow(u32::try_from(part.len()).ok()?)))
}

impl Real {
    pub fn zero() -> Self {
        Real::Exact(Rational::zero())
    }

    /// The exact value of a binary number with its error; `None` if it is no number or the bound is none.
    pub fn approximate(value: f64, bound: f64) -> Option<Self> {
        (value.is_finite() && bound >= 0.0).then_some(Real::Approximate { value, bound })
    }

    pub fn is_exact(&self) -> bool {
        matches!(self, Real::Exact(_))
    }

    pub fn exact(&self) -> Option<&Rational> {
        match self {
            Real::Exact(exact) => Some(exact),
            Real::Approximate { .. } => None,
        }
    }

    /// The proved bound on the error, 0 where exact.
    pub fn bound(&self) -> f64 {
        match self {
            Real::Exact(_) => 0.0,
            Real::Approximate { bound, .. } => *bound,
        }
    }

    /// False where nothing is known of the error any more; such a result is ill-conditioned.
    pub fn is_bounded(&self) -> bool {
        self.bound().is_finite()
    }

    /// The nearest binary number; saturates beyond the range of `f64`.
    pub fn to_f64(&self) -> f64 {
        match self {
            Real::Exact(exact) => to_f64(exact),
            Real::Approximate { value, .. } => *value,
        }
    }

    /// The middle of what is known, as an exact number.
    pub fn middle(&self) -> Rational {
        match self {
            Real::Exact(exact) => exact.clone(),
            Real::Approximate { value, .. } => Rational::from_float(*value).unwrap_or_else(Rational::zero),
        }
    }

    /// Equal as far as is known: exactly, or within the bounds.
    pub fn equals(&self, other: &Real) -> bool {
        !self.is_less(other) && !other.is_less(self)
    }

    /// Less for certain: exactly, or by more than the bounds.
    pub fn is_less(&self, other: &Real) -> bool {
        if let (Real::Exact(a), Real::Exact(b)) = (self, other) {
            return a < b;
        }
        let bound = self.bound() + other.bound();
        if let Some(gap) = self.clear_gap(other, bound) {
            return gap > bound;
        }
        match Rational::from_float(bound) {
            Some(bound) => self.middle() + bound < other.middle(),
            None => false,
        }
    }

    /// `self <= limit`, the limit included; with a bound, met if `self <= limit + bound`.
    pub fn is_at_most(&self, limit: &Real) -> bool {
        !limit.is_less(self)
    }

    pub fn is_at_least(&self, limit: &Real) -> bool {
        !self.is_less(limit)
    }

    /// How much more the other is, where binary numbers tell it from `than` beyond any rounding; else only exact
    /// numbers tell.
    fn clear_gap(&self, other: &Real, than: f64) -> Option<f64> {
        let (here, there) = (self.to_f64(), other.to_f64());
        let gap = there - here;
        let doubt = 8.0 * (f64::EPSILON * (here.abs() + there.abs() + than.abs()) + f64::MIN_POSITIVE);
        ((gap - than).abs() > doubt && doubt.is_finite()).then_some(gap)
    }

    /// Zero as far as is known.
    pub fn is_zero(&self) -> bool {
        self.equals(&Real::zero())
    }

    pub fn is_positive(&self) -> bool {
        Real::zero().is_less(self)
    }

    pub fn is_negative(&self) -> bool {
        self.is_less(&Real::zero())
    }

    pub fn abs(&self) -> Real {
        match self {
            Real::Exact(exact) => Real::Exact(exact.abs()),
            Real::Approximate { value, bound } => Real::Approximate { value: value.abs(), bound: *bound },
        }
    }

    /// `None` if the divisor is zero, or may be zero within its bound.
    pub fn div(&self, divisor: &Real) -> Option<Real> {
        if divisor.is_zero() {
            return None;
        }
        if let (Real::Exact(a), Real::Exact(b)) = (self, divisor) {
            return Some(limited(a / b));
        }
        let (a, b) = (self.to_binary(), divisor.to_binary());
        let value = a.0 / b.0;
        let bound = (a.1 + value.abs() * b.1) / (b.0.abs() - b.1);
        // Rounding can leave a divisor that is just clear of zero with no room: then nothing is known.
        Some(rounded(value, if bound >= 0.0 { bound } else { f64::INFINITY }))
    }

    /// A whole power; `None` for a negative power of zero and for powers beyond 64.
    pub fn powi(&self, power: i32) -> Option<Real> {
        if power.unsigned_abs() > 64 {
            return None;
        }
        let mut product = Real::from(1);
        for _ in 0..power.unsigned_abs() {
            product = &product * self;
        }
        if power < 0 { Real::from(1).div(&product) } else { Some(product) }
    }

    pub fn half(&self) -> Real {
        self * &Real::Exact(ratio(1, 2))
    }

    /// The same as a binary number with its bound: where others of an expression are, long fractions help nobody.
    pub fn in_binary(&self) -> Real {
        let (value, bound) = self.to_binary();
        Real::Approximate { value, bound }
    }

    /// The value and its bound in binary, the error of getting there included.
    pub(super) fn to_binary(&self) -> (f64, f64) {
        match self {
            Real::Exact(exact) => {
                if let Some((value, exactly)) = short(exact) {
                    return (value, if exactly { 0.0 } else { rounding(value) });
                }
                let value = to_f64(exact);
                let bound = match Rational::from_float(value) {
                    Some(same) if same == *exact => 0.0,
                    _ => rounding(value),
                };
                let saturated = value.abs() == f64::MAX;
                (value, if saturated { f64::INFINITY } else { bound })
            }
            Real::Approximate { value, bound } => (*value, *bound),
        }
    }
}

/// Of a quotient of two numbers that are binary ones themselves: the nearest binary number, and whether it is the very
/// value. The same as by the long way, and most of what is worked out in thousands of draws.
fn short(exact: &Rational) -> Option<(f64, bool)> {
    let (numerator, denominator) = (exact.numer().to_i64()?, exact.denom().to_i64()?);
    let most = 1 << f64::MANTISSA_DIGITS;
    let is_short = numerator.abs() <= most && denominator <= most;
    is_short.then(|| (numerator as f64 / denominator as f64, denominator & (denominator - 1) == 0))
}

fn to_f64(exact: &Rational) -> f64 {
    if let Some((value, _)) = short(exact) {
        return value;
    }
    match exact.to_f64() {
        Some(value) if value.is_finite() => value,
        _ if exact.is_negative() => -f64::MAX,
        _ => f64::MAX,
    }
}

/// An upper bound on the error of one correctly rounded operation, and on that of a good library function.
pub(super) fn rounding(value: f64) -> f64 {
    value.abs() * f64::EPSILON + f64::MIN_POSITIVE
}

/// A binary result with the propagated bound, to which the rounding of the last operation is added.
pub(super) fn rounded(value: f64, bound: f64) -> Real {
    if !value.is_finite() {
        let value = if value < 0.0 { -f64::MAX } else { f64::MAX };
        return Real::Approximate { value, bound: f64::INFINITY };
    }
    let bound = (bound + rounding(value)) * (1.0 + 4.0 * f64::EPSILON);
    Real::Approximate { value, bound: if bound.is_nan() { f64::INFINITY } else { bound } }
}

/// Keeps an exact result, unless it has grown out of all proportion.
fn limited(exact: Rational) -> Real {
    if exact.numer().bits() <= MOST_BITS && exact.denom().bits() <= MOST_BITS {
        return Real::Exact(exact);
    }
    let (value, bound) = Real::Exact(exact).to_binary();
    Real::Approximate { value, bound }
}

impl From<i64> for Real {
    fn from(whole: i64) -> Self {
        Real::Exact(Rational::from_integer(BigInt::from(whole)))
    }
}

impl From<Rational> for Real {
    fn from(exact: Rational) -> Self {
        Real::Exact(exact)
    }
}

impl Add for &Real {
    type Output = Real;
    fn add(self, other: &Real) -> Real {
        if let (Real::Exact(a), Real::Exact(b)) = (self, other) {
            return limited(a + b);
        }
        let (a, b) = (self.to_binary(), other.to_binary());
        rounded(a.0 + b.0, a.1 + b.1)
    }
}

impl Sub for &Real {
    type Output = Real;
    fn sub(self, other: &Real) -> Real {
        self + &-other
    }
}

impl Mul for &Real {
    type Output = Real;
    fn mul(self, other: &Real) -> Real {
        if let (Real::Exact(a), Real::Exact(b)) = (self, other) {
            return limited(a * b);
        }
        if self.exact().is_some_and(Zero::is_zero) || other.exact().is_some_and(Zero::is_zero) {
            return Real::zero();
        }
        if self.exact().is_some_and(One::is_one) {
            return other.clone();
        }
        let (a, b) = (self.to_binary(), other.to_binary());
        rounded(a.0 * b.0, a.0.abs() * b.1 + b.0.abs() * a.1 + a.1 * b.1)
    }
}

impl Neg for &Real {
    type Output = Real;
    fn neg(self) -> Real {
        match self {
            Real::Exact(exact) => Real::Exact(-exact),
            Real::Approximate { value, bound } => Real::Approximate { value: -value, bound: *bound },
        }
    }
}

/// By the middle of what is known, then exact before approximate, then by the bound: for sorting and for the greatest
/// and least of a list. Verdicts use [`Real::is_at_most`] and [`Real::is_less`].
impl Ord for Real {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_middle = match (self, other) {
            (Real::Exact(a), Real::Exact(b)) => a.cmp(b),
            (Real::Approximate { value: a, .. }, Real::Approximate { value: b, .. }) => {
                // Adding zero makes -0.0 the same as 0.0.
                (a + 0.0).total_cmp(&(b + 0.0))
            }
            _ => match self.clear_gap(other, 0.0) {
                Some(gap) if gap > 0.0 => Ordering::Less,
                Some(_) => Ordering::Greater,
                None => self.middle().cmp(&other.middle()),
            },
        };
        by_middle
            .then_with(|| other.is_exact().cmp(&self.is_exact()))
            .then_with(|| self.bound().total_cmp(&other.bound()))
    }
}

impl PartialOrd for Real {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Real {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Real {}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    #[test]
    fn decimals_are_read_with_point_or_comma_and_nothing_else() {
        assert_eq!(parse_decimal("0,4"), Some(ratio(2, 5)));
        assert_eq!(parse_decimal("-0.004"), Some(ratio(-1, 250)));
        assert_eq!(parse_decimal("\u{2212}3"), Some(ratio(-3, 1)));
        assert_eq!(parse_decimal(".5"), Some(ratio(1, 2)));
        for wrong in ["", "-", ".", "1.000,5", "1e3", "1 2", "nan", "inf", "--1", "0x1", "١"] {
            assert_eq!(parse_decimal(wrong), None, "{wrong}");
        }
        assert_eq!(parse_decimal(&"9".repeat(100_000)), None);
    }

    #[test]
    fn a_difference_of_decimals_meets_its_limit_exactly() {
        let rise = &real("0.012") - &real("0.003");
        assert!(rise.is_at_most(&real("0.009")), "binary arithmetic would give 0.009000000000000001");
        assert!(!real("0.0090000000000000000001").is_at_most(&real("0.009")));
    }

    #[test]
    fn a_root_that_comes_back_counts_as_equal_not_as_less_and_not_as_more() {
        let two = real("2");
        let root = two.sqrt().unwrap();
        let again = &root * &root;
        assert!(!again.is_exact() && again.bound() < 1e-14);
        assert!(again.is_at_most(&two) && again.is_at_least(&two) && again.equals(&two));
        assert!(!again.is_less(&two) && !two.is_less(&again));
        assert!(again.is_less(&real("2.000000001")));
    }

    #[test]
    fn division_by_zero_or_by_what_may_be_zero_gives_nothing() {
        assert_eq!(real("1").div(&Real::zero()), None);
        let nearly = &real("2").sqrt().unwrap() - &Real::approximate(2f64.sqrt(), 0.0).unwrap();
        assert_eq!(real("1").div(&nearly), None);
        assert_eq!(real("1").div(&real("4")), Some(real("0.25")));
    }

    #[test]
    fn repeated_squaring_stays_small_and_never_becomes_a_non_number() {
        let mut grown = real("1.0000001");
        for _ in 0..40 {
            grown = &grown * &grown;
        }
        assert!(!grown.is_exact() && !grown.is_bounded() && grown.to_f64().is_finite());
        assert!(!grown.is_less(&real("1")) && !real("1").is_less(&grown), "nothing is claimed any more");
        assert!((&grown - &grown).to_f64().is_finite());
        assert!(!(&grown * &Real::approximate(0.0, 0.0).unwrap()).is_bounded());
    }

    #[test]
    fn powers() {
        assert_eq!(real("0.1").powi(3), Some(real("0.001")));
        assert_eq!(real("2").powi(-1), Some(real("0.5")));
        assert_eq!(Real::zero().powi(-1), None);
        assert_eq!(real("2").powi(65), None);
    }

    proptest! {
        /// The short way to a binary number is the long one.
        #[test]
        fn short_quotients_become_the_nearest_binary_number(a in proptest::num::i64::ANY, b in 1i64..i64::MAX, cut in 0u32..64) {
            let exact = ratio(a >> cut, (b >> cut).max(1));
            let (value, bound) = Real::Exact(exact.clone()).to_binary();
            prop_assert_eq!(Some(value), exact.to_f64());
            prop_assert_eq!(bound == 0.0, Rational::from_float(value) == Some(exact));
        }

        /// Binary shortcuts order numbers as exact ones do, also those that differ in the last digit.
        #[test]
        fn numbers_are_ordered_as_exact_ones_are(a in -9_000i64..9_000, b in 1i64..9_000, ulps in -3i64..4, bound in 0.0f64..1e-3) {
            let exact = Real::Exact(ratio(a, b));
            let value = f64::from_bits((exact.to_f64().to_bits() as i64 + ulps) as u64);
            prop_assume!(value.is_finite());
            let close = Real::approximate(value, 0.0).unwrap();
            let wanted = close.middle().cmp(&exact.middle());
            prop_assert_eq!(close.cmp(&exact).is_lt(), wanted.is_lt());
            prop_assert_eq!(close.is_less(&exact), wanted.is_lt());
            prop_assert_eq!(exact.is_less(&close), wanted.is_gt());
            let rough = Real::approximate(value, bound).unwrap();
            let edge = Real::Exact(rough.middle() + Rational::from_float(bound).unwrap());
            prop_assert!(!rough.is_less(&edge));
            prop_assert!(rough.is_less(&Real::Exact(edge.middle() + ratio(1, i64::MAX))));
        }

        /// The bound that is carried covers the true error, whatever the operations.
        #[test]
        fn the_carried_bound_holds(a in -1_000_000i64..1_000_000, b in 1i64..1_000_000, steps in proptest::collection::vec(0u8..5, 1..20)) {
            let mut exact = Real::Exact(ratio(a, 997));
            let mut rough = Real::approximate(exact.to_f64(), rounding(exact.to_f64())).unwrap();
            let other = Real::Exact(ratio(b, 1013));
            for step in steps {
                let apply = |x: &Real| match step {
                    0 => x + &other,
                    1 => x - &other,
                    2 => x * &other,
                    3 => x.div(&other).unwrap(),
                    _ => -x,
                };
                exact = apply(&exact);
                rough = apply(&rough);
                let error = (rough.middle() - exact.middle()).abs();
                prop_assert!(error <= Rational::from_float(rough.bound()).unwrap());
                prop_assert!(rough.equals(&exact));
            }
        }
    }
}
