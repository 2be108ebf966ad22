//! A temperature, or a drift, that settles: how fast it changes now, and where it would end.
//!
//! - change within w = last value less the value w before, interpolated
//! - rate within w = least-squares slope over the same stretch
//! - first order: T(t) = start + rise (1 - exp(-t / tau)), t from the first reading; least squares over all readings.
//!   With three readings equally spoken: end = T1 + d1^2 / (d1 - d2), tau = dt / ln(d1 / d2), d1 = T2 - T1, d2 = T3 - T2
//! - time to a rate q: tau ln(|rise| / (tau q)); left to rise: rate * tau
//!
//! Plus is rising. What a fit says of the time to come is a projection: no verdict may rest on it. ISO 230-3 asks for
//! the curves themselves (from memory); the first order is common practice.

use super::line::{in_order, interpolate, slope};
use super::nonlinear::fit_curve;
use super::{Fault, paired};
use crate::quantity::Real;

/// The end and the time constant that the readings so far point to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Projection {
    /// At the first reading, by the curve.
    pub start: Real,
    /// End less start.
    pub rise: Real,
    pub end: Real,
    pub time_constant: Real,
    /// Standard uncertainties from the scatter about the curve; none where three readings leave no scatter.
    pub u_end: Option<Real>,
    pub u_time_constant: Option<Real>,
}

impl Projection {
    /// How fast it changes at a time after the first reading.
    pub fn rate_after(&self, time: &Real) -> Result<Real, Fault> {
        let tau = self.time_constant.to_f64();
        let rate = self.rise.to_f64() / tau * libm::exp(-time.to_f64() / tau);
        let doubt =
            self.rise.bound() / self.rise.to_f64().abs() + 3.0 * self.time_constant.bound() / tau + 1e-12;
        Real::approximate(rate, rate.abs() * doubt).ok_or(Fault::IllConditioned)
    }

    /// The time after the first reading from which on it changes by no more than `rate`; zero if it never did.
    pub fn time_to_rate(&self, rate: &Real) -> Result<Real, Fault> {
        if !rate.is_positive() {
            return Err(Fault::NotPositive("the rate"));
        }
        let tau = self.time_constant.to_f64();
        let times = self.rise.to_f64().abs() / (tau * rate.to_f64());
        let time = if times > 1.0 { tau * libm::log(times) } else { 0.0 };
        let doubt = self.time_constant.bound() * (1.0 + time / tau)
            + self.rise.bound() / self.rise.to_f64().abs() * tau;
        Real::approximate(time, doubt + 1e-12 * (tau + time)).ok_or(Fault::IllConditioned)
    }
}

fn in_time(times: &[Real], values: &[Real]) -> Result<(Vec<Real>, Vec<Real>), Fault> {
    let order = in_order(times)?;
    let sorted = |list: &[Real]| order.iter().filter_map(|place| list.get(*place).cloned()).collect();
    Ok((sorted(times), sorted(values)))
}

/// The readings of the last stretch of length `within`; its beginning is interpolated. A fault while less is covered.
fn stretch(times: &[Real], values: &[Real], within: &Real) -> Result<(Vec<Real>, Vec<Real>), Fault> {
    paired(times, values, 2)?;
    if !within.is_positive() {
        return Err(Fault::NotPositive("the stretch of time"));
    }
    let (times, values) = in_time(times, values)?;
    let last = times.last().ok_or(Fault::NotCovered)?;
    let from = last - within;
    let at_from = interpolate(&times, &values, &from).ok_or(Fault::NotCovered)?;
    let inside = times.partition_point(|time| time <= &from);
    let mut found = (vec![from], vec![at_from]);
    found.0.extend(times.iter().skip(inside).cloned());
    found.1.extend(values.iter().skip(inside).cloned());
    Ok(found)
}

/// The last value less that `within` before it.
pub fn change(times: &[Real], values: &[Real], within: &Real) -> Result<Real, Fault> {
    let (_, values) = stretch(times, values, within)?;
    super::gain(&values)
}

/// Greatest less least over the last `within`; never below zero.
pub fn spread(times: &[Real], values: &[Real], within: &Real) -> Result<Real, Fault> {
    let (_, values) = stretch(times, values, within)?;
    super::range(&values)
}

/// The least-squares rate over the last `within`, value per unit of time.
pub fn rate(times: &[Real], values: &[Real], within: &Real) -> Result<Real, Fault> {
    let (times, values) = stretch(times, values, within)?;
    slope(&times, &values)
}

/// The end and the time constant from three readings `step` apart.
pub fn three_point(step: &Real, values: [&Real; 3]) -> Result<Projection, Fault> {
    if !step.is_positive() {
        return Err(Fault::NotPositive("the time between the readings"));
    }
    let [first, second, third] = values;
    let (early, late) = (second - first, third - second);
    let slower = &early - &late;
    // Both changes go the same way, and the later is the smaller one.
    let bends = if early.is_negative() { slower.is_negative() } else { slower.is_positive() };
    if late.is_zero() || early.is_negative() != late.is_negative() || !bends {
        return Err(Fault::NoBend);
    }
    let rise = (&early * &early).div(&slower).ok_or(Fault::NoBend)?;
    let excess = slower.div(&late).ok_or(Fault::NoBend)?;
    let logarithm = libm::log1p(excess.to_f64());
    let logarithm = Real::approximate(logarithm, excess.bound() + 4.0 * f64::EPSILON * logarithm.abs());
    let tau = logarithm.and_then(|logarithm| step.div(&logarithm)).ok_or(Fault::NoBend)?;
    Ok(Projection {
        start: first.clone(),
        end: first + &rise,
        rise,
        time_constant: tau,
        u_end: None,
        u_time_constant: None,
    })
}

/// The curve through all readings; needs four at different times. The start is found too, unless it is known.
pub fn first_order(times: &[Real], values: &[Real], known_start: Option<&Real>) -> Result<Projection, Fault> {
    paired(times, values, 4)?;
    let (times, values) = in_time(times, values)?;
    let (Some(origin), Some(base)) = (times.first(), known_start.or(values.first())) else {
        return Err(Fault::TooFew { needed: 4, found: 0 });
    };
    let ts: Vec<f64> = times.iter().map(|time| (time - origin).to_f64()).collect();
    let ys: Vec<f64> = values.iter().map(|value| (value - base).to_f64()).collect();
    let pace = best_pace(&ts, &ys, known_start.is_none())?;
    let found = match known_start {
        None => {
            let (offset, rise) = amplitudes(&ts, &ys, pace, true).ok_or(Fault::NoBend)?;
            fit_curve(&ts, &ys, [rise, pace, offset], |t, [rise, pace, offset]| {
                let left = libm::exp(-pace * t);
                Some((offset + rise * (1.0 - left), [1.0 - left, rise * t * left, 1.0]))
            })
            .map(|fit| Fitted::new(fit.parameters, fit.bounds, fit.covariance))
        }
        Some(_) => {
            let (_, rise) = amplitudes(&ts, &ys, pace, false).ok_or(Fault::NoBend)?;
            fit_curve(&ts, &ys, [rise, pace], |t, [rise, pace]| {
                let left = libm::exp(-pace * t);
                Some((rise * (1.0 - left), [1.0 - left, rise * t * left]))
            })
            .map(|fit| {
                let [[a, b], [c, d]] = fit.covariance;
                let ([rise, pace], [rise_bound, pace_bound]) = (fit.parameters, fit.bounds);
                Fitted::new(
                    [rise, pace, 0.0],
                    [rise_bound, pace_bound, 0.0],
                    [[a, b, 0.0], [c, d, 0.0], [0.0; 3]],
                )
            })
        }
    };
    found.map_err(|_| Fault::NoBend)?.projection(base)
}

/// Rise, pace (1 / tau) and offset, with their bounds and covariance.
struct Fitted {
    parameters: [f64; 3],
    bounds: [f64; 3],
    covariance: [[f64; 3]; 3],
}

impl Fitted {
    fn new(parameters: [f64; 3], bounds: [f64; 3], covariance: [[f64; 3]; 3]) -> Self {
        Self { parameters, bounds, covariance }
    }

    fn projection(self, base: &Real) -> Result<Projection, Fault> {
        let [rise, pace, offset] = self.parameters;
        let [rise_bound, pace_bound, offset_bound] = self.bounds;
        let u_pace = libm::sqrt(self.covariance[1][1].max(0.0));
        // A curve whose bend drowns in its scatter points to no end.
        if pace <= 0.0 || rise == 0.0 || u_pace > 0.5 * pace {
            return Err(Fault::NoBend);
        }
        let tau = 1.0 / pace;
        let real = |value, bound| Real::approximate(value, bound).ok_or(Fault::NoBend);
        let start = base + &real(offset, offset_bound)?;
        let rise = real(rise, rise_bound)?;
        let u_end = self.covariance[0][0] + self.covariance[2][2] + 2.0 * self.covariance[0][2];
        Ok(Projection {
            end: &start + &rise,
            start,
            rise,
            time_constant: real(tau, 2.0 * tau * pace_bound / pace)?,
            u_end: Some(real(libm::sqrt(u_end.max(0.0)), 1e-6 * libm::sqrt(u_end.max(0.0)))?),
            u_time_constant: Some(real(u_pace * tau * tau, 1e-6 * u_pace * tau * tau)?),
        })
    }
}

/// The pace at which the best curve is nearest the readings, out of a ladder from very slow to very fast: a start that
/// no data of this kind can mislead, since for a given pace the rest is linear.
fn best_pace(ts: &[f64], ys: &[f64], with_offset: bool) -> Result<f64, Fault> {
    let span = ts.last().copied().unwrap_or(0.0);
    let gap = ts.windows(2).filter_map(|pair| Some(pair.last()? - pair.first()?)).fold(span, f64::min);
    let (slowest, fastest) = (0.003 / span, 30.0 / gap);
    let steps = 400;
    let ladder = (0..=steps).map(|k| slowest * libm::pow(fastest / slowest, f64::from(k) / f64::from(steps)));
    let misfit = |pace: f64| {
        let (offset, rise) = amplitudes(ts, ys, pace, with_offset)?;
        let curve = |t: f64| offset + rise * (1.0 - libm::exp(-pace * t));
        Some(ts.iter().zip(ys).map(|(t, y)| (y - curve(*t)) * (y - curve(*t))).sum::<f64>())
    };
    let found = ladder.filter_map(|pace| Some((misfit(pace)?, pace))).min_by(|a, b| a.0.total_cmp(&b.0));
    found.map(|(_, pace)| pace).filter(|pace| *pace > slowest).ok_or(Fault::NoBend)
}

/// Offset and rise of the best curve of a given pace.
fn amplitudes(ts: &[f64], ys: &[f64], pace: f64, with_offset: bool) -> Option<(f64, f64)> {
    let shape: Vec<f64> = ts.iter().map(|t| 1.0 - libm::exp(-pace * t)).collect();
    let n = ts.len() as f64;
    let (mean_shape, mean_y) =
        if with_offset { (shape.iter().sum::<f64>() / n, ys.iter().sum::<f64>() / n) } else { (0.0, 0.0) };
    let squares: f64 = shape.iter().map(|s| (s - mean_shape) * (s - mean_shape)).sum();
    let products: f64 = shape.iter().zip(ys).map(|(s, y)| (s - mean_shape) * (y - mean_y)).sum();
    let rise = products / squares;
    rise.is_finite().then_some((mean_y - rise * mean_shape, rise))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn change_and_rate_wait_until_the_stretch_is_covered() {
        let (times, values) = (whole(&[0, 10, 20, 40]), whole(&[20, 24, 26, 27]));
        assert_eq!(change(&times, &values, &Real::from(30)), Ok(Real::from(3)));
        assert_eq!(
            change(&times, &values, &Real::from(25)),
            Ok(Real::from(2)),
            "25 stands halfway between 24 and 26"
        );
        assert_eq!(change(&times, &values, &Real::from(41)), Err(Fault::NotCovered));
        assert_eq!(rate(&times, &values, &Real::from(20)), Ok(Real::Exact(ratio(1, 20))));
    }

    #[test]
    fn three_readings_give_the_end_exactly_or_none() {
        // Halving steps: 20, 28, 32 point to 36.
        let found =
            three_point(&Real::from(30), [&Real::from(20), &Real::from(28), &Real::from(32)]).unwrap();
        assert_eq!(found.end, Real::from(36));
        assert!((found.time_constant.to_f64() - 30.0 / 2f64.ln()).abs() < 1e-12);
        let cooling =
            three_point(&Real::from(30), [&Real::from(36), &Real::from(28), &Real::from(24)]).unwrap();
        assert_eq!(cooling.end, Real::from(20));
        for straight in [[20, 24, 28], [20, 24, 29], [20, 20, 20], [20, 24, 23], [20, 24, 24]] {
            let straight = straight.map(Real::from);
            let [a, b, c] = &straight;
            assert_eq!(three_point(&Real::from(30), [a, b, c]), Err(Fault::NoBend), "{straight:?}");
        }
    }

    #[test]
    fn what_does_not_bend_points_nowhere() {
        let times = whole(&[0, 10, 20, 30, 40]);
        for values in [[20, 20, 20, 20, 20], [20, 22, 24, 26, 28], [20, 21, 24, 29, 36]] {
            assert_eq!(first_order(&times, &whole(&values), None), Err(Fault::NoBend), "{values:?}");
        }
        let few = first_order(&times[..3], &whole(&[1, 2, 3]), None);
        assert_eq!(few, Err(Fault::TooFew { needed: 4, found: 3 }));
    }

    #[test]
    fn the_time_to_a_rate_is_when_the_rate_is_reached() {
        let found =
            three_point(&Real::from(30), [&Real::from(20), &Real::from(28), &Real::from(32)]).unwrap();
        let slow = Real::Exact(ratio(1, 60));
        let time = found.time_to_rate(&slow).unwrap();
        assert!(found.rate_after(&time).unwrap().equals(&slow));
        assert_eq!(found.time_to_rate(&Real::from(100)).unwrap().to_f64(), 0.0);
        assert!(matches!(found.time_to_rate(&Real::zero()), Err(Fault::NotPositive(_))));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        /// A made-up curve gives back what it was made from, warming or cooling, at uneven times.
        #[test]
        fn a_made_up_curve_is_found(start in 10i64..40, rise in 2i64..40, cools in proptest::bool::ANY, tau in 5i64..80) {
            let rise = if cools { -rise } else { rise };
            let times: Vec<Real> = [0, 5, 10, 20, 30, 45, 60, 90].map(Real::from).to_vec();
            let values: Vec<Real> = times.iter().map(|time| {
                let value = start as f64 + rise as f64 * (1.0 - libm::exp(-time.to_f64() / tau as f64));
                Real::approximate(value, 1e-14).unwrap()
            }).collect();
            let found = first_order(&times, &values, None).unwrap();
            prop_assert!((found.end.to_f64() - (start + rise) as f64).abs() < 1e-8, "{:?}", found);
            prop_assert!((found.time_constant.to_f64() / tau as f64 - 1.0).abs() < 1e-8);
        }
    }
}
