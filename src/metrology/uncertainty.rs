//! How well a result is known, from what it is made of (JCGM 100:2008, GUM; clauses from memory).
//!
//! - what is known only by its limits has the variance of its shape (4.3.7, 4.3.9, F.2.2.1): rectangular a^2/3,
//!   triangular a^2/6, trapezoid with top b: (a^2 + b^2)/6, rectangular whose half width is known to d alone: a^2/3 + d^2/9
//!   (JCGM 101:2008, 6.4.3), U-shaped a^2/2 (a half width); display step d: d^2/12;
//!   certificate: (U/k)^2
//! - result f of independent sources: u^2 = sum (c_i u_i)^2, c_i the derivative of f (5.1.2); with covariances
//!   add 2 c_i c_j u(i, j) for each pair (5.2.2)
//! - effective degrees of freedom: u^4 / sum ((c_i u_i)^4 / v_i) (Welch-Satterthwaite, G.4.1), from the unrounded u;
//!   cut to the next lower whole number before a table is entered
//!
//! Variances stay exact where their parts are; only the root of the sum may not be. Units: those of the result.

use super::statistics::total;
use super::{Fault, enough};
use crate::quantity::{Real, ratio};

/// What is known of a source, each with the half width a, the step d or the certificate's U.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shape {
    Rectangular(Real),
    Triangular(Real),
    /// Half widths of the foot and of the top.
    Trapezoid(Real, Real),
    /// Half width, and what it is known to, give or take.
    Loose(Real, Real),
    /// What swings between two limits and turns there, such as a controlled temperature.
    UShaped(Real),
    Step(Real),
    Certificate {
        expanded: Real,
        factor: Real,
    },
    Standard(Real),
}

impl Shape {
    /// The square of the standard uncertainty.
    pub fn variance(&self) -> Result<Real, Fault> {
        let share = |half: &Real, of: i64| {
            if half.is_negative() {
                return Err(Fault::NotPositive("the width of a source of uncertainty"));
            }
            Ok(&(half * half) * &Real::Exact(ratio(1, of)))
        };
        match self {
            Shape::Rectangular(half) => share(half, 3),
            Shape::Triangular(half) => share(half, 6),
            Shape::Trapezoid(foot, top) => {
                if foot.is_less(top) {
                    return Err(Fault::TopWiderThanFoot);
                }
                Ok(&share(foot, 6)? + &share(top, 6)?)
            }
            Shape::Loose(half, known) => {
                if half.is_less(known) {
                    return Err(Fault::TopWiderThanFoot);
                }
                Ok(&share(half, 3)? + &share(known, 9)?)
            }
            Shape::UShaped(half) => share(half, 2),
            Shape::Step(step) => share(step, 12),
            Shape::Certificate { expanded, factor } => {
                if !factor.is_positive() {
                    return Err(Fault::NotPositive("the coverage factor k"));
                }
                share(&expanded.div(factor).ok_or(Fault::NotPositive("the coverage factor k"))?, 1)
            }
            Shape::Standard(u) => share(u, 1),
        }
    }
}

/// One source of a result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// How much the result changes with the source.
    pub gradient: Real,
    /// The square of the standard uncertainty of the source.
    pub variance: Real,
    /// Degrees of freedom; none where they are infinite (Type B).
    pub freedom: Option<Real>,
}

/// The result's uncertainty and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Combined {
    pub variance: Real,
    /// The standard uncertainty, unsigned.
    pub u: Real,
    /// Variance that each source brings, in the order given: the lines of a budget.
    pub parts: Vec<Real>,
    /// Effective degrees of freedom; none where they are infinite.
    pub freedom: Option<Real>,
}

/// Of independent sources.
pub fn combined(sources: &[Source]) -> Result<Combined, Fault> {
    combined_with(sources, &[])
}

/// Of sources some of which hang together: `(i, j, covariance)` for each such pair. The effective degrees of freedom
/// take the sources as independent (G.4.1 knows no other).
pub fn combined_with(sources: &[Source], covariances: &[(usize, usize, Real)]) -> Result<Combined, Fault> {
    enough(sources, 1)?;
    if sources.iter().any(|source| source.variance.is_negative()) {
        return Err(Fault::NotPositive("the variance of a source of uncertainty"));
    }
    let parts: Vec<Real> =
        sources.iter().map(|source| &(&source.gradient * &source.gradient) * &source.variance).collect();
    let mut variance = total(parts.iter().cloned());
    for (a, b, covariance) in covariances {
        let (Some(first), Some(second)) = (sources.get(*a), sources.get(*b)) else {
            return Err(Fault::Unpaired { stations: sources.len(), values: a.max(b) + 1 });
        };
        let product = &(&first.gradient * &second.gradient) * covariance;
        variance = &variance + &(&product * &Real::from(2));
    }
    let u = variance.sqrt().ok_or(Fault::NegativeVariance)?;
    Ok(Combined { freedom: effective(sources, &parts, &variance)?, variance, u, parts })
}

fn effective(sources: &[Source], parts: &[Real], variance: &Real) -> Result<Option<Real>, Fault> {
    let mut sum = Real::zero();
    for (source, part) in sources.iter().zip(parts) {
        if let Some(freedom) = &source.freedom {
            if !freedom.is_positive() {
                return Err(Fault::NotPositive("the degrees of freedom"));
            }
            sum = &sum + &(part * part).div(freedom).ok_or(Fault::IllConditioned)?;
        }
    }
    Ok((variance * variance).div(&sum))
}

/// The Type A variance of the mean of repeats, s^2 / n, and its degrees of freedom n - 1 (4.2.3).
pub fn variance_of_mean(repeats: &[Real]) -> Result<(Real, Real), Fault> {
    enough(repeats, 2)?;
    let n = super::statistics::count(repeats.len());
    let freedom = &n - &Real::from(1);
    let mean = super::mean(repeats)?;
    let squares = total(repeats.iter().map(|repeat| {
        let off = repeat - &mean;
        &off * &off
    }));
    let variance = squares.div(&(&n * &freedom)).ok_or(Fault::IllConditioned)?;
    Ok((variance, freedom))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(gradient: i64, variance: i64, freedom: Option<i64>) -> Source {
        Source {
            gradient: Real::from(gradient),
            variance: Real::from(variance),
            freedom: freedom.map(Real::from),
        }
    }

    #[test]
    fn three_and_four_make_five_exactly() {
        let found = combined(&[source(3, 1, None), source(-2, 4, None)]).unwrap();
        assert_eq!((found.u, found.freedom), (Real::from(5), None));
        assert_eq!(found.parts, [Real::from(9), Real::from(16)]);
    }

    #[test]
    fn a_zero_error_cancels_in_a_difference_and_five_readings_shrink_only_what_is_fresh() {
        // last - first share the zero, each has its own fresh part.
        let gain = [source(0, 100, None), source(1, 2, None), source(-1, 2, None)];
        assert_eq!(combined(&gain).unwrap().u, Real::from(2));
        let fifth = Real::Exact(ratio(1, 5));
        let fresh = Source { gradient: fifth, variance: Real::from(5), freedom: None };
        let mut mean = vec![source(1, 3, None)];
        mean.extend(vec![fresh; 5]);
        assert_eq!(combined(&mean).unwrap().u, Real::from(2), "3 of the zero stay, 5 x 5/25 of the readings");
        // Two sources that are one and the same, by their covariance.
        let twice = [source(1, 4, None), source(-1, 4, None)];
        assert_eq!(combined_with(&twice, &[(0, 1, Real::from(4))]).unwrap().u, Real::zero());
        assert_eq!(combined_with(&twice, &[(0, 1, Real::from(5))]), Err(Fault::NegativeVariance));
    }

    #[test]
    fn degrees_of_freedom_are_those_of_what_counts() {
        let alone = combined(&[source(1, 4, Some(7)), source(1, 0, Some(2))]).unwrap();
        assert_eq!(alone.freedom, Some(Real::from(7)));
        let both = combined(&[source(1, 1, Some(4)), source(1, 1, Some(4))]).unwrap();
        assert_eq!(both.freedom, Some(Real::from(8)));
        let half = combined(&[source(1, 1, Some(4)), source(1, 1, None)]).unwrap();
        assert_eq!(half.freedom, Some(Real::from(16)));
        assert!(matches!(combined(&[source(1, 1, Some(0))]), Err(Fault::NotPositive(_))));
        assert_eq!(combined(&[]), Err(Fault::TooFew { needed: 1, found: 0 }));
    }

    #[test]
    fn the_shapes_stand_in_their_order() {
        let one = Real::from(1);
        let variance = |shape: Shape| shape.variance().unwrap();
        let (u_shaped, even) =
            (variance(Shape::UShaped(one.clone())), variance(Shape::Rectangular(one.clone())));
        let pointed = variance(Shape::Triangular(one.clone()));
        assert!(even.is_less(&u_shaped) && pointed.is_less(&even));
        assert_eq!(variance(Shape::Trapezoid(one.clone(), one.clone())), even);
        assert_eq!(variance(Shape::Trapezoid(one.clone(), Real::zero())), pointed);
        assert_eq!(variance(Shape::Step(Real::from(2))), even);
        let certificate = Shape::Certificate { expanded: Real::from(6), factor: Real::from(2) };
        assert_eq!(variance(certificate), Real::from(9));
        let none = Shape::Certificate { expanded: one.clone(), factor: Real::zero() };
        assert!(matches!(none.variance(), Err(Fault::NotPositive(_))));
        assert_eq!(Shape::Trapezoid(one, Real::from(2)).variance(), Err(Fault::TopWiderThanFoot));
        assert!(matches!(Shape::Step(Real::from(-1)).variance(), Err(Fault::NotPositive(_))));
    }
}
