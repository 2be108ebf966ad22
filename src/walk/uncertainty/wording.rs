//! Uncertainties in words: two significant digits for people, six for the record.

use crate::quantity::{Real, Unit, exact_text, significant};

use super::{Contribution, Method, Uncertain};
use crate::check::program::Decision;
use crate::quantity::Rational;
use crate::walk::event::UncertaintyLine;

/// A size in base units, shown in its unit with two significant digits.
pub fn size(size: f64, unit: Option<Unit>) -> String {
    let number = significant(in_unit(size, unit), 2);
    match unit {
        None | Some(Unit::One) => number,
        Some(unit) => format!("{number} {}", unit.symbol()),
    }
}

/// The same for the record.
pub fn recorded(size: f64, unit: Option<Unit>) -> String {
    significant(in_unit(size, unit), 6)
}

pub(super) fn in_unit(size: f64, unit: Option<Unit>) -> f64 {
    let Some(unit) = unit else { return size };
    Real::approximate(size, 0.0).map_or(size, |size| unit.of_differences().from_base(&size).to_f64())
}

pub fn freedom(freedom: f64) -> String {
    let degrees = significant(freedom, 3);
    format!("{degrees} degree{} of freedom", if degrees == "1" { "" } else { "s" })
}

/// A part of one as a percentage, with enough digits to tell 99.9 % from certainty.
pub fn percent(part: f64) -> String {
    let percent = 100.0 * part;
    let digits = if (1.0..=99.0).contains(&percent) { 1 } else { 2 };
    let text = format!("{percent:.digits$}");
    match text.as_str() {
        "100.00" if part < 1.0 => "more than 99.99 %".to_owned(),
        "0.00" if part > 0.0 => "less than 0.01 %".to_owned(),
        _ => format!("{} %", text.trim_end_matches('0').trim_end_matches('.')),
    }
}

/// A probability, and what the number of draws leaves open of it where draws tell it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    pub probability: f64,
    pub told: Option<(f64, f64)>,
}

impl Chance {
    /// As the record has it.
    pub fn recorded(own: &UncertaintyLine) -> Self {
        let number = |text: &str| text.parse::<f64>().ok();
        let end = |text: &Option<String>| text.as_deref().and_then(number);
        Self {
            probability: number(&own.conformity).unwrap_or(0.0),
            told: end(&own.conformity_from).zip(end(&own.conformity_to)),
        }
    }

    /// The risk that a verdict is wrong, of the probability of conformity; none where nothing was decided.
    pub fn risk_of(self, verdict: &str) -> Option<Self> {
        match verdict {
            "passed" => Some(self.others()),
            "failed" => Some(self),
            _ => None,
        }
    }

    pub fn others(self) -> Self {
        Self { probability: 1.0 - self.probability, told: self.told.map(|(from, to)| (1.0 - to, 1.0 - from)) }
    }

    /// Never quite 0 or 1, however it was rounded for the record.
    pub fn said(self) -> String {
        let Some((from, to)) = self.told else {
            return percent(self.probability.clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON));
        };
        let hundredths = |part: f64| 1e4 * part;
        if self.probability <= 0.0 {
            return format!("less than {}", percent(libm::ceil(hundredths(to)) / 1e4));
        }
        if self.probability >= 1.0 {
            return format!("more than {}", percent(libm::floor(hundredths(from)) / 1e4));
        }
        let either = (to - self.probability).max(self.probability - from);
        let digits = if either < 0.001 { 2 } else { 1 };
        format!("{:.digits$} +- {:.digits$} %", 100.0 * self.probability, 100.0 * either)
    }
}

/// The rule of a procedure or a step, and whether uncertainties come from draws in it.
pub fn decided(decision: &Decision, by_draws: bool) -> String {
    let draws = if by_draws { ", u by draws (JCGM 101:2008)" } else { "" };
    format!("{}{draws}", rule(decision))
}

/// The rule with the edition that it is taken from.
pub fn rule(decision: &Decision) -> String {
    match decision {
        Decision::Simple => "simple".to_owned(),
        Decision::GuardedU => "guarded U (ISO 14253-1:1998)".to_owned(),
        Decision::GuardedBy(least) => {
            let percent = least * Rational::from_integer(100.into());
            format!("guarded {} % (ISO 14253-1:2017, JCGM 106:2012)", exact_text(&percent))
        }
    }
}

pub fn method(method: &Method, unit: Option<Unit>) -> String {
    match method {
        Method::Propagation => "law of propagation (JCGM 100:2008)".to_owned(),
        Method::MonteCarlo { seed, trials, interval: (low, high), propagated, .. } => {
            let disagrees = |half| format!(", which disagrees, has 95 % within {} and", size(half, unit));
            let beside = propagated.map(|own| {
                let disagrees = own.disagrees.map(disagrees).unwrap_or_default();
                format!("; the law of propagation{disagrees} gives u = {}", recorded(own.u, unit))
            });
            format!(
                "Monte Carlo (JCGM 101:2008), seed {seed}, {trials} trials, 95 % of them from {} to {} of the value{}",
                signed(*low, unit),
                signed(*high, unit),
                beside.unwrap_or_default()
            )
        }
    }
}

/// That draws and the law of propagation do not have the same interval of 95 %.
pub fn disagreement(method: &Method, unit: Option<Unit>) -> Option<String> {
    let Method::MonteCarlo { interval: (low, high), propagated, .. } = method else { return None };
    let half = propagated.as_ref()?.disagrees?;
    Some(format!(
        "draws and sensitivities differ: 95 % of the draws lie from {} to {} of the value, by sensitivities within {} of it; the draws count",
        signed(*low, unit),
        signed(*high, unit),
        size(half, unit)
    ))
}

fn signed(size: f64, unit: Option<Unit>) -> String {
    let plus = if size > 0.0 { "+" } else { "" };
    format!("{plus}{}", self::size(size, unit))
}

/// The budget, the greatest contribution first: "dial, each reading, nose, 5 times: 0.000179".
pub fn budget(uncertain: &Uncertain, unit: Option<Unit>) -> Vec<String> {
    lines(uncertain, &|u| recorded(u, unit))
}

/// The budget for people, two significant digits with their unit.
pub fn budget_said(uncertain: &Uncertain, unit: Option<Unit>) -> Vec<String> {
    lines(uncertain, &|u| size(u, unit))
}

fn lines(uncertain: &Uncertain, shown: &dyn Fn(f64) -> String) -> Vec<String> {
    let mut parts: Vec<&Contribution> = uncertain.budget.iter().collect();
    parts.sort_by(|a, b| b.variance.cmp(&a.variance));
    let line = |part: &&Contribution| {
        let times = if part.count > 1 { format!(", {} times", part.count) } else { String::new() };
        let freedom = part.freedom.map(|it| format!(", {}", freedom(it))).unwrap_or_default();
        let u = libm::sqrt(part.variance.to_f64().max(0.0));
        format!("{}{times}{freedom}: {}", part.source, shown(u))
    };
    parts.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_never_said_to_be_certain_and_a_share_may_be_the_whole() {
        let exact = |probability: f64| Chance { probability, told: None }.said();
        assert_eq!(exact(1.0), "more than 99.99 %");
        assert_eq!(exact(0.0), "less than 0.01 %");
        assert_eq!(exact(0.637), "63.7 %");
        assert_eq!(percent(1.0), "100 %");
    }

    #[test]
    fn draws_say_no_more_than_their_number_tells() {
        let drawn = |probability: f64, from: f64, to: f64| Chance { probability, told: Some((from, to)) };
        assert_eq!(drawn(1.0, 0.999_55, 1.0).said(), "more than 99.95 %");
        assert_eq!(drawn(1.0, 0.999_55, 1.0).others().said(), "less than 0.05 %");
        assert_eq!(drawn(0.953, 0.948, 0.957).said(), "95.3 +- 0.5 %");
        assert_eq!(drawn(0.953, 0.948, 0.957).others().said(), "4.7 +- 0.5 %");
        assert_eq!(drawn(0.9993, 0.9986, 0.9997).said(), "99.93 +- 0.07 %");
    }
}
