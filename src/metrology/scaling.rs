//! A tolerance stated per length, scaled to the length that was measured.
//!
//! limit = bound * L / P; zero stays zero; with a floor or a cap the size of a bound that is not zero is raised or
//! lowered to it, its sign kept. Proportion with a least value: IS 6040:1993, 3.5 (seen), which rounds besides:
//! [`rounded_to`] does that where it is asked for.

use super::Fault;
use crate::quantity::{Rational, Real};

/// What settled the limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    Proportion,
    Floor,
    Cap,
}

/// A limit as scaled, and what settled it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scaled {
    pub limit: Real,
    pub counted: Counted,
}

/// Scales `bound`, stated per `per`, to the measured length `over`.
pub fn scaled(
    bound: &Real,
    per: &Real,
    over: &Real,
    floor: Option<&Real>,
    cap: Option<&Real>,
) -> Result<Scaled, Fault> {
    if !per.is_positive() {
        return Err(Fault::NotPositive("the length after 'per'"));
    }
    if !over.is_positive() {
        return Err(Fault::NotPositive("the measured length"));
    }
    for (size, name) in [(floor, "the floor"), (cap, "the cap")] {
        if size.is_some_and(|size| !size.is_positive()) {
            return Err(Fault::NotPositive(name));
        }
    }
    if let (Some(floor), Some(cap)) = (floor, cap)
        && cap.is_less(floor)
    {
        return Err(Fault::FloorAboveCap);
    }
    let proportion = (bound * over).div(per).ok_or(Fault::NotPositive("the length after 'per'"))?;
    let signed = |size: &Real| if bound.is_negative() { -size } else { size.clone() };
    let settled = match (floor, cap) {
        _ if bound.is_zero() => (proportion, Counted::Proportion),
        (Some(floor), _) if proportion.abs().is_less(floor) => (signed(floor), Counted::Floor),
        (_, Some(cap)) if cap.is_less(&proportion.abs()) => (signed(cap), Counted::Cap),
        _ => (proportion, Counted::Proportion),
    };
    Ok(Scaled { limit: settled.0, counted: settled.1 })
}

/// A number rounded to the nearest multiple of `step`, halves away from zero. One that is not exact is refused where its
/// bound leaves open to which.
pub fn rounded_to(limit: &Real, step: &Real) -> Result<Real, Fault> {
    if !step.is_positive() {
        return Err(Fault::NotPositive("the step that is rounded to"));
    }
    let (Some(step), Some(bound)) = (step.exact(), Rational::from_float(limit.bound())) else {
        return Err(Fault::IllConditioned);
    };
    let rounded = |limit: Rational| (limit / step).round() * step;
    let (least, most) = (rounded(limit.middle() - &bound), rounded(limit.middle() + &bound));
    if least == most { Ok(Real::Exact(least)) } else { Err(Fault::IllConditioned) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{parse_decimal, ratio};

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    #[test]
    fn zero_stays_zero_and_the_sign_is_kept() {
        let floor = real("0.005");
        let at = |bound: &str, over: &str| {
            scaled(&real(bound), &real("300"), &real(over), Some(&floor), None).unwrap()
        };
        assert_eq!(at("0", "60"), Scaled { limit: Real::zero(), counted: Counted::Proportion });
        assert_eq!(at("-0.02", "45"), Scaled { limit: real("-0.005"), counted: Counted::Floor });
        assert_eq!(at("0.02", "200").limit, Real::Exact(ratio(1, 75)), "exact, not rounded");
    }

    #[test]
    fn a_limit_is_rounded_to_the_nearest_step() {
        let to = |limit: &str| rounded_to(&real(limit), &real("0.002")).unwrap();
        assert_eq!(
            ["0.0133", "-0.0133", "0.005", "0.0049"].map(to),
            ["0.014", "-0.014", "0.006", "0.004"].map(real)
        );
        let near = |value: f64| rounded_to(&Real::approximate(value, 1e-6).unwrap(), &real("0.002"));
        assert_eq!(near(0.00512), Ok(real("0.006")));
        assert_eq!(near(0.005), Err(Fault::IllConditioned), "half way, within its bound");
        assert!(matches!(rounded_to(&real("1"), &Real::zero()), Err(Fault::NotPositive(_))));
    }

    #[test]
    fn a_cap_lowers_and_nonsense_is_refused() {
        let capped = scaled(&real("0.02"), &real("300"), &real("900"), None, Some(&real("0.03"))).unwrap();
        assert_eq!(capped, Scaled { limit: real("0.03"), counted: Counted::Cap });
        assert!(matches!(
            scaled(&real("1"), &Real::zero(), &real("1"), None, None),
            Err(Fault::NotPositive(_))
        ));
        let crossed = scaled(&real("1"), &real("1"), &real("1"), Some(&real("2")), Some(&real("1")));
        assert_eq!(crossed, Err(Fault::FloorAboveCap));
    }
}
