//! Numbers as text: exact for the record, and for people with enough digits to see why a limit is or is not met.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, Zero};

use super::number::{Rational, Real, decimal};

/// More decimals than this are never shown; closer numbers are shown exactly.
const MOST_DECIMALS: usize = 15;

/// Digits shown beyond those of the instrument, where the value has them: a mean of two, a third.
const FURTHER_DECIMALS: usize = 2;

/// A terminating decimal longer than this is written as a quotient instead.
const LONGEST_DECIMAL: usize = 30;

/// Longer than any exact number that [`Real`] keeps.
const LONGEST_EXACT: usize = 6000;

/// The number as exact text: a decimal if it ends (`-0.0105`), else a quotient in lowest terms (`1/3`).
/// [`parse_exact`] reads it back.
pub fn exact_text(exact: &Rational) -> String {
    match terminating_decimals(exact) {
        Some(decimals) => fixed(exact, decimals),
        None => format!("{}/{}", exact.numer(), exact.denom()),
    }
}

/// Reads what [`exact_text`] writes, in that form only.
pub fn parse_exact(text: &str) -> Option<Rational> {
    if text.len() > LONGEST_EXACT {
        return None;
    }
    let exact = match text.split_once('/') {
        Some((numerator, denominator)) => {
            let denominator = denominator.parse::<BigInt>().ok().filter(Signed::is_positive)?;
            Rational::new(numerator.parse().ok()?, denominator)
        }
        None => decimal(text)?,
    };
    (exact_text(&exact) == text).then_some(exact)
}

/// How many decimals the number has, if it is a decimal that ends soon enough to be written out.
fn terminating_decimals(exact: &Rational) -> Option<usize> {
    let mut rest = exact.denom().clone();
    let mut power_of = |prime: u32| {
        let prime = BigInt::from(prime);
        let mut power = 0;
        while power <= LONGEST_DECIMAL && !rest.is_one() && rest.is_multiple_of(&prime) {
            rest /= &prime;
            power += 1;
        }
        power
    };
    let decimals = power_of(2).max(power_of(5));
    (rest.is_one() && decimals <= LONGEST_DECIMAL).then_some(decimals)
}

/// How many decimals a step needs: 3 for 0.001, 1 for 0.2 and 0.5, 0 for whole numbers; for a third, enough.
pub fn decimals_of(step: &Rational) -> usize {
    terminating_decimals(step).unwrap_or(MOST_DECIMALS).min(MOST_DECIMALS)
}

/// Rounded to so many decimals, halves away from zero, all decimals written, and never `-0.000`.
pub fn fixed(exact: &Rational, decimals: usize) -> String {
    let scale = BigInt::from(10).pow(u32::try_from(decimals).unwrap_or(u32::MAX));
    let (numerator, denominator) = (exact.numer().abs() * &scale, exact.denom());
    let rounded: BigInt = (numerator * 2 + denominator) / (denominator * BigInt::from(2));
    let sign = if exact.is_negative() && !rounded.is_zero() { "-" } else { "" };
    let (whole, part) = rounded.div_rem(&scale);
    match decimals {
        0 => format!("{sign}{whole}"),
        _ => format!("{sign}{whole}.{part:0>decimals$}", part = part.to_string()),
    }
}

/// A binary number rounded to so many significant digits, written as a plain decimal without trailing zeros.
pub fn significant(value: f64, digits: usize) -> String {
    let Some(exact) = Rational::from_float(value).filter(|exact| !exact.is_zero()) else {
        return "0".to_string();
    };
    let written = format!("{:.*e}", digits.clamp(1, 17) - 1, value);
    let power = written.split_once('e').and_then(|(_, power)| power.parse::<i64>().ok()).unwrap_or(0);
    // `written` has been rounded already, which settles the power of ten of, say, 9.9999996.
    let decimals = i64::try_from(digits).unwrap_or(17) - 1 - power;
    match usize::try_from(decimals) {
        Ok(decimals) => trim(fixed(&exact, decimals)),
        Err(_) => {
            let unit = Rational::from_integer(BigInt::from(10).pow(u32::try_from(-decimals).unwrap_or(0)));
            fixed(&((exact / &unit).round() * unit), 0)
        }
    }
}

fn trim(text: String) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

/// For the record: exact text of an exact number, 6 significant digits of any other.
pub fn record_text(value: &Real) -> String {
    match value {
        Real::Exact(exact) => exact_text(exact),
        Real::Approximate { value, .. } => significant(*value, 6),
    }
}

/// The value with at least so many decimals (those of the instrument or of the limit), and two more where it has them.
pub fn show(value: &Real, decimals: usize) -> String {
    let exact = value.middle();
    fixed(&exact, shown_decimals(value, &exact, decimals))
}

/// As [`show`], with a `+` before a positive value: for values with a direction.
pub fn show_signed(value: &Real, decimals: usize) -> String {
    let text = show(value, decimals);
    if value.middle().is_positive() && text.contains(|c| ('1'..='9').contains(&c)) {
        format!("+{text}")
    } else {
        text
    }
}

fn shown_decimals(value: &Real, exact: &Rational, decimals: usize) -> usize {
    let least = decimals.min(MOST_DECIMALS);
    let most = (least + FURTHER_DECIMALS).min(MOST_DECIMALS);
    if !value.is_exact() {
        return most;
    }
    match terminating_decimals(exact) {
        Some(own) if own <= most => own.max(least),
        _ => most,
    }
}

/// A value and the limit it is held against, with as many digits as it takes to see which is the greater:
/// `0.01016` and `0.010`. Two that are equal as far as is known read the same or equal.
pub fn show_against(value: &Real, limit: &Real, decimals: usize) -> (String, String) {
    let (middle, bar) = (value.middle(), limit.middle());
    let true_order = if value.equals(limit) { Ordering::Equal } else { middle.cmp(&bar) };
    let places =
        |real: &Real, exact: &Rational, least: usize| shown_decimals(real, exact, decimals).max(least);
    for further in 0..=MOST_DECIMALS {
        let least = if further == 0 { 0 } else { decimals + FURTHER_DECIMALS + further };
        // The limit is an exact decimal as a rule and keeps its own short form.
        let limit_least = if terminating_decimals(&bar).is_some_and(|own| own <= least) { 0 } else { least };
        let value_text = fixed(&middle, places(value, &middle, least));
        let limit_text = fixed(&bar, places(limit, &bar, limit_least));
        let seen = match (decimal(&value_text), decimal(&limit_text)) {
            (Some(value), Some(limit)) => value.cmp(&limit),
            _ => break,
        };
        if seen == true_order || true_order == Ordering::Equal {
            return (value_text, limit_text);
        }
    }
    (exact_text(&middle), exact_text(&bar))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{parse_decimal, ratio};
    use proptest::prelude::*;

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    #[test]
    fn exact_text_is_a_decimal_where_it_ends_and_a_quotient_where_it_does_not() {
        assert_eq!(exact_text(&ratio(21, 2000)), "0.0105");
        assert_eq!(exact_text(&ratio(-1, 3)), "-1/3");
        assert_eq!(exact_text(&ratio(5, 1)), "5");
        assert_eq!(exact_text(&ratio(0, 1)), "0");
        for other_form in ["2/4", "0.50", "-0", "+1", "1,5", ".5", "1/-3", "1/0", "", "/"] {
            assert_eq!(parse_exact(other_form), None, "{other_form}: one number has one text");
        }
    }

    #[test]
    fn minus_nought_is_never_shown() {
        assert_eq!(fixed(&ratio(-1, 10_000), 3), "0.000");
        assert_eq!(show(&real("-0.000001"), 3), "0.00000");
        assert_eq!(show_signed(&real("0.000001"), 3), "0.00000");
        assert_eq!(show_signed(&real("0.006"), 3), "+0.006");
    }

    #[test]
    fn a_value_is_shown_with_the_digits_of_its_instrument_and_its_own() {
        assert_eq!(show(&real("0.4"), 3), "0.400");
        assert_eq!(show(&real("0.0105"), 3), "0.0105");
        assert_eq!(show(&Real::Exact(ratio(1, 3)), 3), "0.33333");
        assert_eq!(show(&Real::Exact(ratio(2, 3)), 0), "0.67");
        assert_eq!(fixed(&ratio(5, 2), 0), "3");
        assert_eq!(fixed(&ratio(-5, 2), 0), "-3");
    }

    #[test]
    fn enough_digits_are_shown_to_see_why() {
        let shown = |value: &Real, limit: &str| show_against(value, &real(limit), 3);
        assert_eq!(shown(&real("0.01016"), "0.010"), ("0.01016".into(), "0.010".into()));
        assert_eq!(shown(&real("0.0100000001"), "0.010"), ("0.0100000001".into(), "0.010".into()));
        assert_eq!(shown(&real("0.009"), "0.009"), ("0.009".into(), "0.009".into()));
        assert_eq!(shown(&real("0.004"), "0.010"), ("0.004".into(), "0.010".into()));
        let third = Real::Exact(ratio(1, 3));
        assert_eq!(show_against(&third, &real("0.33333"), 3), ("0.333333".into(), "0.33333".into()));
        // Closer than any number of digits that one would show: exact on both sides.
        let hair = &real("0.01") + &Real::Exact(ratio(1, 3).pow(50));
        assert!(show_against(&hair, &real("0.010"), 3).0.contains('/'));
    }

    #[test]
    fn six_significant_digits() {
        assert_eq!(significant(1.0 / 3.0, 6), "0.333333");
        assert_eq!(significant(0.00012345678, 6), "0.000123457");
        assert_eq!(significant(123_456_789.0, 6), "123457000");
        assert_eq!(significant(9.9999996, 6), "10");
        assert_eq!(significant(-0.0, 6), "0");
    }

    #[test]
    fn decimals_of_a_resolution() {
        let found: Vec<_> = ["0.001", "0.2", "0.5", "1", "10", "0.0005"]
            .iter()
            .map(|s| decimals_of(real(s).exact().unwrap()))
            .collect();
        assert_eq!(found, [3, 1, 1, 0, 0, 4]);
    }

    proptest! {
        #[test]
        fn every_exact_number_comes_back_from_its_text(numerator in any::<i64>(), denominator in 1i64..i64::MAX) {
            let exact = ratio(numerator, denominator).pow(3);
            prop_assert_eq!(parse_exact(&exact_text(&exact)), Some(exact));
        }

        #[test]
        fn what_is_shown_never_contradicts_the_comparison(a in -10_000_000i64..10_000_000, b in -10_000_000i64..10_000_000, scale in 1i64..10_000_000) {
            let (value, limit) = (Real::Exact(ratio(a, scale)), Real::Exact(ratio(b, 1_000_000)));
            let (left, right) = show_against(&value, &limit, 3);
            if let (Some(left), Some(right)) = (parse_decimal(&left), parse_decimal(&right)) {
                prop_assert_eq!(left.cmp(&right), value.cmp(&limit));
            }
        }
    }
}
