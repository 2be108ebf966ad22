//! Roots and trigonometry of [`Real`]: exact where the answer is rational and known, else through `libm` (the same
//! digits on every platform) with a proved bound. Angles are in degrees, the base unit.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{Signed, Zero};

use super::number::{Rational, Real, ratio, rounded, rounding};

impl Real {
    /// The square root; exact of a perfect square; `None` of a negative number.
    pub fn sqrt(&self) -> Option<Real> {
        if self.is_negative() {
            return None;
        }
        if let Real::Exact(exact) = self
            && let Some(root) = exact_root(exact)
        {
            return Some(Real::Exact(root));
        }
        let (value, bound) = self.to_binary();
        let value = value.max(0.0);
        let root = libm::sqrt(value);
        // |sqrt(v + d) - sqrt(v)| = |d| / (sqrt(v + d) + sqrt(v)), which neither of these falls short of.
        let carried = if root > 0.0 { libm::sqrt(bound).min(bound / root) } else { libm::sqrt(bound) };
        Some(rounded(root, carried))
    }

    /// The sine of an angle in degrees; exact at 0, 30, 90, ... degrees.
    pub fn sin(&self) -> Real {
        let Real::Exact(angle) = self else {
            let (radians, bound) = radians(self);
            return rounded(libm::sin(radians), bound.min(2.0));
        };
        let (folded, negative) = fold(angle);
        let size = match () {
            _ if folded.is_zero() => Real::zero(),
            _ if folded == ratio(30, 1) => Real::Exact(ratio(1, 2)),
            _ if folded == ratio(90, 1) => Real::from(1),
            _ => {
                let (radians, bound) = radians(&Real::Exact(folded));
                rounded(libm::sin(radians), bound)
            }
        };
        if negative { -&size } else { size }
    }

    /// The cosine of an angle in degrees; exact at 0, 60, 90, ... degrees.
    pub fn cos(&self) -> Real {
        match self {
            Real::Exact(angle) => Real::Exact(angle + ratio(90, 1)).sin(),
            Real::Approximate { .. } => {
                let (radians, bound) = radians(self);
                rounded(libm::cos(radians), bound.min(2.0))
            }
        }
    }

    /// The tangent of an angle in degrees, a plain ratio; `None` at 90 degrees and wherever it may be that.
    pub fn tan(&self) -> Option<Real> {
        if let Real::Exact(angle) = self {
            let turned = angle - (angle / ratio(180, 1)).floor() * ratio(180, 1);
            if turned == ratio(45, 1) {
                return Some(Real::from(1));
            }
            if turned == ratio(135, 1) {
                return Some(Real::from(-1));
            }
        }
        self.sin().div(&self.cos())
    }

    /// The angle in degrees, between -90 and 90, whose tangent this is; exact at -1, 0 and 1.
    pub fn atan(&self) -> Real {
        if let Real::Exact(exact) = self {
            if exact.is_zero() {
                return Real::zero();
            }
            if exact.abs() == ratio(1, 1) {
                return Real::Exact(exact * ratio(45, 1));
            }
        }
        let (value, bound) = self.to_binary();
        let degrees = libm::atan(value).to_degrees();
        // The slope of the arc tangent is at most 1, and 180/pi < 58 degrees a radian.
        rounded(degrees, (58.0 * bound + 2.0 * rounding(degrees)).min(180.0))
    }
}

/// An angle in degrees as radians, and the bound on its error.
fn radians(angle: &Real) -> (f64, f64) {
    let (degrees, bound) = angle.to_binary();
    let radians = degrees.to_radians();
    (radians, bound * 0.0175 + 4.0 * rounding(radians))
}

/// The angle in 0..=90 whose sine has the same size, and whether the sine is negative.
fn fold(angle: &Rational) -> (Rational, bool) {
    let turn = ratio(360, 1);
    let mut folded = angle - (angle / &turn).floor() * &turn;
    let negative = folded > ratio(180, 1);
    if negative {
        folded -= ratio(180, 1);
    }
    if folded > ratio(90, 1) {
        folded = ratio(180, 1) - folded;
    }
    (folded, negative)
}

fn exact_root(exact: &Rational) -> Option<Rational> {
    let root = |whole: &BigInt| {
        let root = whole.sqrt();
        (&root * &root == *whole).then_some(root)
    };
    // In lowest terms both parts of a perfect square are squares. A quick look at the last bits spares most roots.
    if exact.denom().is_even() && exact.denom().trailing_zeros()?.is_odd() {
        return None;
    }
    Some(Rational::new(root(exact.numer())?, root(exact.denom())?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(whole: i64) -> Real {
        Real::from(whole)
    }

    #[test]
    fn roots_of_perfect_squares_are_exact() {
        assert_eq!(Real::Exact(ratio(9, 100)).sqrt(), Some(Real::Exact(ratio(3, 10))));
        assert_eq!(Real::Exact(ratio(1, 2)).sqrt().map(|root| root.is_exact()), Some(false));
        assert_eq!(Real::from(-1).sqrt(), None);
        assert_eq!(Real::zero().sqrt(), Some(Real::zero()));
    }

    #[test]
    fn round_angles_have_exact_values() {
        let sines = [
            (0, 0, 1),
            (30, 1, 2),
            (90, 1, 1),
            (150, 1, 2),
            (180, 0, 1),
            (210, -1, 2),
            (270, -1, 1),
            (-30, -1, 2),
        ];
        for (angle, numerator, denominator) in sines {
            assert_eq!(degrees(angle).sin(), Real::Exact(ratio(numerator, denominator)), "sine of {angle}");
        }
        assert_eq!(degrees(60).cos(), Real::Exact(ratio(1, 2)));
        assert_eq!(degrees(180).cos(), Real::from(-1));
        assert_eq!(degrees(225).tan(), Some(Real::from(1)));
        assert_eq!(degrees(-45).tan(), Some(Real::from(-1)));
        assert_eq!(degrees(90).tan(), None);
        assert_eq!(Real::from(-1).atan(), degrees(-45));
    }

    #[test]
    fn other_angles_are_as_good_as_their_bound() {
        // sin 18 deg = (sqrt 5 - 1) / 4; tan 22.5 deg = sqrt 2 - 1: both closed forms.
        let golden = &Real::from(5).sqrt().unwrap() - &Real::from(1);
        let sine = degrees(18).sin();
        assert!(sine.equals(&golden.div(&Real::from(4)).unwrap()) && sine.bound() < 1e-14);
        let tangent = Real::Exact(ratio(45, 2)).tan().unwrap();
        assert!(
            tangent.equals(&(&Real::from(2).sqrt().unwrap() - &Real::from(1))) && tangent.bound() < 1e-14
        );
        assert!(tangent.atan().equals(&Real::Exact(ratio(45, 2))));
        assert!(
            Real::approximate(18.0, 1e-9).unwrap().sin().bound() > 1e-11,
            "the bound of the angle is carried"
        );
    }
}
