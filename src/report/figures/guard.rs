//! Where a value would be left undecided: between proven inside and proven outside of each limit.

use crate::metrology::{Distribution, Known, Limits, conformity};
use crate::quantity::{Real, parse_exact};
use crate::report::labels::bound;
use crate::report::model::Held;

/// What is drawn of a decision rule, and how it is called.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Guard {
    /// From where to where, at each limit.
    pub undecided: Vec<(f64, f64)>,
    pub said: String,
}

/// None where a value is held against its limit as it stands, or where the draws of the walk decided: they are no curve
/// that a record would keep.
pub(super) fn of(held: &Held) -> Option<Guard> {
    let own = held.rule.uncertainty.as_ref()?;
    if own.rule.starts_with("guarded U") {
        let half: f64 = own.expanded.parse().ok()?;
        let limits = [&held.rule.lower, &held.rule.upper].into_iter().flatten();
        let undecided =
            limits.filter_map(|it| super::walked::number(Some(it))).map(|at| (at - half, at + half));
        let said = "within U of a limit: cannot be decided".to_owned();
        return Some(Guard { undecided: undecided.collect(), said });
    }
    let percent = own.rule.strip_prefix("guarded ")?.split_once(" %")?.0;
    if own.method.starts_with("Monte Carlo") {
        return None;
    }
    let wanted = percent.parse::<f64>().ok()? / 100.0;
    let exact = |recorded: &Option<String>| Some(Real::Exact(parse_exact(bound(recorded.as_deref()?).0)?));
    let (lower, upper) = (exact(&held.rule.lower), exact(&held.rule.upper));
    let ends = (lower.as_ref().map(Real::to_f64), upper.as_ref().map(Real::to_f64));
    let limits = Limits::new(lower, upper).ok()?;
    let u = Real::Exact(parse_exact(&own.u)?);
    let freedom = own.freedom.as_ref().and_then(|it| it.parse().ok());
    let known = Known { u: &u, distribution: Distribution::with_freedom(freedom) };
    let inside = |at: f64| Real::approximate(at, 0.0).map_or(0.0, |at| conformity(&at, known, &limits));
    // Beyond so many u neither tail tells anything.
    let far = 60.0 * u.to_f64();
    let middle = match ends {
        (Some(lower), Some(upper)) => Some((lower + upper) / 2.0),
        _ => None,
    };
    let edge = |limit: f64, outward: f64| {
        let deep = middle.unwrap_or(limit - outward * far);
        let inner = crossing(&inside, deep, limit, wanted);
        // A value within its limits never fails for want of a better instrument.
        let outer = crossing(&inside, limit, limit + outward * far, 1.0 - wanted);
        (inner.min(outer), inner.max(outer))
    };
    let undecided = [ends.0.map(|at| edge(at, -1.0)), ends.1.map(|at| edge(at, 1.0))];
    let said = format!("less than {percent} % sure either way: cannot be decided");
    Some(Guard { undecided: undecided.into_iter().flatten().collect(), said })
}

/// Where a probability that falls from one place to another reaches a value; the first place where it is less already.
fn crossing(probability: &impl Fn(f64) -> f64, from: f64, to: f64, wanted: f64) -> f64 {
    let (mut more, mut less) = (from, to);
    if probability(more) < wanted {
        return more;
    }
    for _ in 0..60 {
        let middle = (more + less) / 2.0;
        if probability(middle) < wanted { less = middle } else { more = middle }
    }
    more
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walk::event::{RuleLine, UncertaintyLine};

    fn guard(rule: &str, method: &str, lower: Option<&str>, upper: Option<&str>) -> Option<Guard> {
        let uncertainty = UncertaintyLine {
            rule: rule.to_owned(),
            u: "0.001".to_owned(),
            k: "2".to_owned(),
            expanded: "0.002".to_owned(),
            freedom: None,
            conformity: "1".to_owned(),
            conformity_from: None,
            conformity_to: None,
            method: method.to_owned(),
            budget: Vec::new(),
        };
        of(&Held {
            label: String::new(),
            rule: RuleLine {
                name: "off".to_owned(),
                verdict: "passed".to_owned(),
                value: Some("0".to_owned()),
                lower: lower.map(str::to_owned),
                upper: upper.map(str::to_owned),
                unit: None,
                place: None,
                uncertainty: Some(uncertainty),
                notes: Vec::new(),
            },
            sense: None,
            window: None,
        })
    }

    fn near(found: f64, expected: f64) -> bool {
        (found - expected).abs() < 1e-7
    }

    /// The factors of the normal distribution: 1.644854 of 95 %, 2.326348 of 99 % (published tables).
    #[test]
    fn a_probability_leaves_undecided_what_its_factor_says_and_no_more() {
        let one = guard("guarded 99 % (ISO 14253-1:2017)", "law", None, Some("0.01")).unwrap();
        let (from, to) = one.undecided[0];
        assert!(near(from, 0.010 - 0.002326348) && near(to, 0.010 + 0.002326348), "{one:?}");
        let two = guard("guarded 95 % (ISO 14253-1:2017)", "law", Some("-0.01"), Some("0.01")).unwrap();
        assert!(near(two.undecided[0].0, -0.011644854) && near(two.undecided[1].0, 0.008355146), "{two:?}");
        assert!(two.said.starts_with("less than 95 %"));
        let narrow = guard("guarded 95 % (ISO 14253-1:2017)", "law", Some("-0.001"), Some("0.001")).unwrap();
        assert_eq!(narrow.undecided[0].1, 0.0, "nothing between the limits is sure: they meet in the middle");
    }

    #[test]
    fn u_leaves_itself_undecided_and_a_plain_comparison_and_draws_nothing() {
        let by_u = guard("guarded U (ISO 14253-1:1998)", "law", None, Some("0.01")).unwrap();
        assert!(near(by_u.undecided[0].0, 0.008) && near(by_u.undecided[0].1, 0.012));
        assert_eq!(guard("simple", "law", None, Some("0.01")), None);
        assert_eq!(guard("guarded 95 % (ISO)", "Monte Carlo (JCGM 101:2008)", None, Some("0.01")), None);
    }
}
