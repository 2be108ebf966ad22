//! What a decision rule does to a whole production, before anything is measured (JCGM 106:2012, clause 9, from memory).
//!
//! True values are spread normally about the mean of the production, each is measured with u and accepted between two
//! acceptance limits; good are those between the tolerance limits.
//!
//! - consumer's risk = share that is accepted and not good, integral over the bad values of density * P(accepted)
//! - producer's risk = share that is good and not accepted
//!
//! `f64`, error below 1e-9.

use super::Fault;
use super::distribution::{normal_density, normal_probability};

/// What a whole production would suffer: true values normal with mean and standard deviation, measured with u, accepted
/// between two acceptance limits, good between two tolerance limits (JCGM 106:2012, clause 9, from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlobalRisk {
    pub conforming: f64,
    /// Accepted and not good.
    pub consumer: f64,
    /// Rejected and good.
    pub producer: f64,
}

/// `production` mean and standard deviation; `tolerance` and `acceptance` lower and upper. Error below 1e-9.
pub fn global_risk(
    production: (f64, f64),
    u: f64,
    tolerance: (f64, f64),
    acceptance: (f64, f64),
) -> Result<GlobalRisk, Fault> {
    let (mean, spread) = production;
    if !(spread > 0.0 && u > 0.0) {
        return Err(Fault::NotPositive("both standard deviations"));
    }
    if tolerance.1 < tolerance.0 || acceptance.1 < acceptance.0 {
        return Err(Fault::CrossedLimits);
    }
    let accepted = |true_value: f64| {
        normal_probability((acceptance.1 - true_value) / u)
            - normal_probability((acceptance.0 - true_value) / u)
    };
    let both = |true_value: f64| {
        let z = (true_value - mean) / spread;
        accepted(true_value) * normal_density(z) / spread
    };
    let (from, to) = (mean - 12.0 * spread, mean + 12.0 * spread);
    let step = spread.min(u) / 8.0;
    let good = |x: f64| x.clamp(from, to);
    let conforming =
        normal_probability((tolerance.1 - mean) / spread) - normal_probability((tolerance.0 - mean) / spread);
    let within = integral(&both, good(tolerance.0), good(tolerance.1), step);
    let outside =
        integral(&both, from, good(tolerance.0), step) + integral(&both, good(tolerance.1), to, step);
    Ok(GlobalRisk { conforming, consumer: outside, producer: (conforming - within).max(0.0) })
}

/// Gauss-Legendre with five nodes on pieces of about `step`, at most a million of them.
fn integral(of: &impl Fn(f64) -> f64, from: f64, to: f64, step: f64) -> f64 {
    const NODES: [(f64, f64); 5] = [
        (0.0, 128.0 / 225.0),
        (0.538_469_310_105_683, 0.478_628_670_499_366_5),
        (-0.538_469_310_105_683, 0.478_628_670_499_366_5),
        (0.906_179_845_938_664, 0.236_926_885_056_189_1),
        (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    ];
    let pieces = ((to - from) / step).ceil().clamp(1.0, 1e6);
    let half = 0.5 * (to - from) / pieces;
    let mut sum = 0.0;
    for piece in 0..pieces as usize {
        let middle = from + half * (2.0 * piece as f64 + 1.0);
        sum += NODES.iter().map(|(node, weight)| weight * of(middle + half * node)).sum::<f64>();
    }
    sum * half
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guard_band_takes_risk_from_the_consumer_and_gives_it_to_the_producer() {
        let risk = |band: f64| global_risk((10.0, 1.0), 0.3, (8.0, 12.0), (8.0 + band, 12.0 - band)).unwrap();
        let (none, guarded) = (risk(0.0), risk(0.5));
        assert!(guarded.consumer < none.consumer && guarded.producer > none.producer);
        assert_eq!(guarded.conforming, none.conforming);
        assert!((none.conforming - 0.954_499_736_103_641_6).abs() < 1e-12);
    }

    #[test]
    fn a_sharp_instrument_leaves_no_risk_and_a_wrong_one_is_refused() {
        let sharp = global_risk((0.0, 1.0), 1e-4, (-1.0, 1.0), (-1.0, 1.0)).unwrap();
        assert!(sharp.consumer < 1e-4 && sharp.producer < 1e-4);
        assert!(matches!(global_risk((0.0, 1.0), 0.0, (-1.0, 1.0), (-1.0, 1.0)), Err(Fault::NotPositive(_))));
        assert_eq!(global_risk((0.0, 1.0), 1.0, (1.0, -1.0), (-1.0, 1.0)), Err(Fault::CrossedLimits));
    }
}
