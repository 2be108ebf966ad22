//! What a series in time did over its last span: change, rate, spread.
//!
//! Times and values go together, times rising, all in base units. Where no reading stands just at the beginning of
//! the span, the value there is taken from the straight line between its neighbours. `None`: the span is not covered
//! yet. Exact if the input is. Source: straight lines and least squares, textbook definitions.

use super::{Fault, slope};
use crate::quantity::Real;

/// Last value less the value one span before; sign of the values.
pub fn change(times: &[Real], values: &[Real], span: &Real) -> Option<Real> {
    let (_, values) = last_span(times, values, span)?;
    Some(values.last()? - values.first()?)
}

/// Least-squares slope over the last span, per second; sign of the values.
pub fn rate(times: &[Real], values: &[Real], span: &Real) -> Option<Result<Real, Fault>> {
    let (times, values) = last_span(times, values, span)?;
    Some(slope(&times, &values))
}

/// Greatest less least over the last span; never below zero.
pub fn spread(times: &[Real], values: &[Real], span: &Real) -> Option<Real> {
    let (_, values) = last_span(times, values, span)?;
    let greatest = values.iter().max()?;
    let least = values.iter().min()?;
    Some(greatest - least)
}

/// Where the last three readings seem to be going, and how fast; they must stand equally far apart.
pub fn settles_at(times: &[Real], values: &[Real]) -> Result<Real, Fault> {
    let (_, [_, middle, last], ratio) = last_three(times, values)?;
    let left = &Real::from(1) - &ratio;
    let further = (&(last - middle) * &ratio).div(&left).ok_or(Fault::IllConditioned)?;
    Ok(last + &further)
}

/// Time in which what is left to go falls to 1/e, in seconds.
pub fn time_constant(times: &[Real], values: &[Real]) -> Result<Real, Fault> {
    let (step, _, ratio) = last_three(times, values)?;
    let constant = -step.to_f64() / libm::log(ratio.to_f64());
    Real::approximate(constant, constant.abs() * 1e-12).ok_or(Fault::IllConditioned)
}

/// Time between the readings, the readings, and the ratio by which the steps shrink.
fn last_three<'v>(times: &[Real], values: &'v [Real]) -> Result<(Real, [&'v Real; 3], Real), Fault> {
    let ([.., t1, t2, t3], [.., y1, y2, y3]) = (times, values) else {
        return Err(Fault::TooFew { needed: 3, found: values.len() });
    };
    let step = t2 - t1;
    if !step.equals(&(t3 - t2)) {
        return Err(Fault::IllConditioned);
    }
    let ratio = (y3 - y2).div(&(y2 - y1)).ok_or(Fault::IllConditioned)?;
    if !ratio.is_positive() || !ratio.is_less(&Real::from(1)) {
        return Err(Fault::IllConditioned);
    }
    Ok((step, [y1, y2, y3], ratio))
}

/// The readings of the last span, the value at its beginning put before them if none stands there. Costs no more
/// than the span is long.
fn last_span(times: &[Real], values: &[Real], span: &Real) -> Option<(Vec<Real>, Vec<Real>)> {
    let from = times.last()? - span;
    let before = times.iter().rposition(|time| time.is_at_most(&from))?;
    let (start, first) = (times.get(before)?, values.get(before)?);
    let inside = before + 1;
    let value = if start.equals(&from) {
        first.clone()
    } else {
        let (end, second) = (times.get(inside)?, values.get(inside)?);
        let share = (&from - start).div(&(end - start))?;
        first + &(&share * &(second - first))
    };
    let join = |first: Real, rest: &[Real]| std::iter::once(first).chain(rest.iter().cloned()).collect();
    Some((join(from, times.get(inside..)?), join(value, values.get(inside..)?)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse_decimal;

    fn reals(texts: &[&str]) -> Vec<Real> {
        texts.iter().map(|text| Real::Exact(parse_decimal(text).unwrap())).collect()
    }

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    #[test]
    fn a_span_that_is_not_covered_gives_nothing() {
        let (times, values) = (reals(&["0", "1200"]), reals(&["20", "24"]));
        assert_eq!(change(&times, &values, &real("1800")), None);
        assert_eq!(spread(&times, &values, &real("1800")), None);
        assert_eq!(change(&[], &[], &real("1800")), None);
    }

    #[test]
    fn the_beginning_of_a_span_is_interpolated_between_readings() {
        // At 15 min the value is half way between 20.0 (10 min) and 21.0 (20 min).
        let (times, values) = (reals(&["600", "1200", "2700"]), reals(&["20", "21", "22.1"]));
        assert_eq!(change(&times, &values, &real("1800")), Some(real("1.6")));
        assert_eq!(spread(&times, &values, &real("1800")), Some(real("1.6")));
    }

    #[test]
    fn a_peak_inside_the_span_counts_for_the_spread_and_not_for_the_change() {
        let (times, values) = (reals(&["0", "900", "1800"]), reals(&["20", "23", "20.5"]));
        assert_eq!(change(&times, &values, &real("1800")), Some(real("0.5")));
        assert_eq!(spread(&times, &values, &real("1800")), Some(real("3")));
    }

    #[test]
    fn the_rate_is_the_slope_of_the_last_span_alone() {
        let (times, values) = (reals(&["0", "600", "1200", "1800"]), reals(&["10", "20", "21", "22"]));
        assert_eq!(
            rate(&times, &values, &real("1200")).unwrap().unwrap(),
            Real::Exact(parse_decimal("1").unwrap() / parse_decimal("600").unwrap())
        );
    }
}
