//! Decision rules of the language onto those of `metrology::decide`: a value, its limits and its uncertainty to conforming,
//! not conforming, or neither proven; what would decide it; and how it stands on the record.
//!
//! `guarded U` is a guard band of 2u (ISO 14253-1:1998), `guarded 95 %` a least probability (ISO 14253-1:2017 with JCGM
//! 106:2012). u is exact wherever it can be, so that a value just inside by U passes.

use std::rc::Rc;

use crate::check::program::Decision;
use crate::metrology::{self, DecisionRule, Distribution, Limits, Verdict};
use crate::quantity::{Real, Unit, ratio, significant};
use crate::walk::event::UncertaintyLine;
use crate::walk::verdict::{self, Limit};

use super::wording::Chance;
use super::{COVERAGE, Method, Uncertain, wording};

/// Most repeats that are advised; who needs more needs a better instrument.
const MOST_REPEATS: usize = 30;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Conforms,
    DoesNot,
    NeitherProven,
}

/// What a guarded rule makes of a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    pub standing: Standing,
    pub conformity: Chance,
    /// More draws might decide it.
    pub draws_leave_open: bool,
}

/// What was known of a value when it was judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Certainty {
    pub decision: Decision,
    pub uncertain: Rc<Uncertain>,
    /// Probability that the true value lies within the limits.
    pub conformity: Chance,
    /// More draws might decide it.
    pub draws_leave_open: bool,
}

impl Certainty {
    /// As it stands on the record.
    pub fn line(&self, unit: Option<Unit>) -> UncertaintyLine {
        let uncertain = &self.uncertain;
        UncertaintyLine {
            rule: wording::rule(&self.decision),
            u: wording::recorded(uncertain.u(), unit),
            k: COVERAGE.to_string(),
            expanded: wording::recorded(uncertain.expanded(), unit),
            freedom: uncertain.freedom.map(|freedom| significant(freedom, 6)),
            conformity: significant(self.conformity.probability, 6),
            conformity_from: self.conformity.told.map(|(from, _)| significant(from, 6)),
            conformity_to: self.conformity.told.map(|(_, to)| significant(to, 6)),
            method: wording::method(&uncertain.method, unit),
            budget: wording::budget(uncertain, unit),
        }
    }

    /// What is said of it beside a verdict that a guarded rule has given. Of an undecided one the reason says it all.
    pub fn said(&self, verdict: &verdict::Verdict, unit: Option<Unit>) -> Option<String> {
        let risk = match verdict {
            verdict::Verdict::Passed => self.conformity.others(),
            verdict::Verdict::Failed => self.conformity,
            _ => return None,
        };
        if self.decision == Decision::Simple {
            return Some(format!("U = {}", wording::size(self.uncertain.expanded(), unit)));
        }
        let freedom =
            self.uncertain.freedom.map(wording::freedom).map(|it| format!(", {it}")).unwrap_or_default();
        Some(format!(
            "U = {}{freedom}; probability of conformity {}, specific risk {}",
            wording::size(self.uncertain.expanded(), unit),
            self.conformity.said(),
            risk.said()
        ))
    }
}

/// A value against its limits.
#[derive(Clone, Copy, Debug)]
pub struct Held<'l> {
    pub value: &'l Real,
    pub lower: Option<&'l Limit>,
    pub upper: Option<&'l Limit>,
}

impl Held<'_> {
    /// Under a guarded rule. `None`: there is no limit to hold it against.
    pub fn decide(
        &self,
        decision: &Decision,
        variance: &Real,
        distribution: Distribution<'_>,
    ) -> Option<Found> {
        let limits = self.limits()?;
        let u = variance.sqrt()?;
        let known = metrology::Known { u: &u, distribution };
        let found = metrology::decide(self.value, known, &limits, &rule_of(decision)).ok()?;
        let standing = match found.verdict {
            Verdict::Pass if self.is_on_what_is_left_out(decision, &u) => {
                if u.is_zero() {
                    Standing::DoesNot
                } else {
                    Standing::NeitherProven
                }
            }
            Verdict::Pass => Standing::Conforms,
            Verdict::Fail => Standing::DoesNot,
            Verdict::Undecided => Standing::NeitherProven,
        };
        let conformity = Chance { probability: found.conformity, told: found.told };
        Some(Found { standing, conformity, draws_leave_open: found.draws_leave_open })
    }

    /// How what is judged is spread, as these limits count it.
    pub fn distribution<'u>(&self, uncertain: &'u Uncertain) -> Distribution<'u> {
        let is_left_out = |limit: Option<&Limit>| limit.is_some_and(|limit| limit.exclusive);
        uncertain.distribution((is_left_out(self.lower), is_left_out(self.upper)))
    }

    fn limits(&self) -> Option<Limits> {
        let scaled = |limit: Option<&Limit>| limit.map(|limit| limit.scaled.clone());
        Limits::new(scaled(self.lower), scaled(self.upper)).ok()
    }

    /// `above` and `below`: the limit itself does not pass, nor does the end of what the guard band leaves.
    fn is_on_what_is_left_out(&self, decision: &Decision, u: &Real) -> bool {
        self.out_from_what_is_left_out(decision, u).is_some()
    }

    /// Such a value a hair nearer to its limit, where it is as undecided for plain comparisons as it is for the rule.
    fn out_from_what_is_left_out(&self, decision: &Decision, u: &Real) -> Option<Real> {
        let band = match decision {
            Decision::GuardedBy(_) if !u.is_zero() => return None,
            Decision::GuardedU => u * &Real::from(COVERAGE),
            _ => Real::zero(),
        };
        let hair = u * &Real::Exact(ratio(1, 1_000_000));
        let is_on = |limit: &&Limit, margin: Real| limit.exclusive && margin.equals(&band);
        let lower = self.lower.filter(|limit| is_on(limit, self.value - &limit.scaled));
        let upper = self.upper.filter(|limit| is_on(limit, &limit.scaled - self.value));
        match (lower, upper) {
            (Some(_), _) => Some(self.value - &hair),
            (None, Some(_)) => Some(self.value + &hair),
            (None, None) => None,
        }
    }

    /// Why it is undecided, and what would decide it.
    pub fn advice(&self, certainty: &Certainty, unit: Option<Unit>) -> String {
        let uncertain = &certainty.uncertain;
        let mut text = format!(
            "U = {} leaves it open, probability of conformity {}",
            wording::size(uncertain.expanded(), unit),
            certainty.conformity.said()
        );
        if certainty.draws_leave_open
            && let Method::MonteCarlo { trials, .. } = uncertain.method
        {
            text.push_str(&format!(", no closer by {trials} draws"));
        }
        let rule = rule_of(&certainty.decision);
        let Some(limits) = self.limits() else { return text };
        let (fixed, shrinking) = parts(uncertain);
        let distribution = self.distribution(uncertain);
        let nearer =
            uncertain.variance.sqrt().and_then(|u| self.out_from_what_is_left_out(&certainty.decision, &u));
        let value = nearer.as_ref().unwrap_or(self.value);
        let of_u = (&fixed, &shrinking, distribution);
        let repeats = metrology::repeats_to_decide(value, of_u, &limits, &rule, MOST_REPEATS);
        match repeats.ok().flatten().filter(|n| *n > 1) {
            Some(n) => text.push_str(&format!(
                ": the mean of {n} such measurements would decide it if it comes out the same"
            )),
            None => match metrology::u_to_decide(value, &limits, &rule, distribution).ok().flatten() {
                Some(u) => {
                    // Readings that are all alike show no sensitivity, and nothing is known of what repeats would do.
                    let repeats = if uncertain.budget.is_empty() { "" } else { "repeating does not help; " };
                    let needed = wording::size(rounded_down(u * COVERAGE as f64), unit);
                    text.push_str(&format!(
                        ": {repeats}an instrument with U of at most {needed} would decide it"
                    ));
                }
                None => text.push_str(": it lies on the limit, so that no instrument decides it"),
            },
        }
        text
    }
}

fn rule_of(decision: &Decision) -> DecisionRule {
    match decision {
        Decision::Simple => DecisionRule::Simple,
        Decision::GuardedU => DecisionRule::expanded(),
        Decision::GuardedBy(least) => DecisionRule::Probability(Real::Exact(least.clone())),
    }
}

/// Two digits, never more than what it was.
fn rounded_down(u: f64) -> f64 {
    let digit = libm::exp10(libm::floor(libm::log10(u)) - 1.0);
    libm::floor(u / digit * (1.0 + 1e-9)) * digit
}

/// What stays and what shrinks with repeats, of u squared.
fn parts(uncertain: &Uncertain) -> (Real, Real) {
    let of = |shrinks: bool| {
        let own = uncertain.budget.iter().filter(|part| part.shrinks == shrinks);
        own.fold(Real::zero(), |sum, part| &sum + &part.variance)
    };
    let (fixed, shrinking) = (of(false), of(true));
    // Where draws gave the figure, it is parted as the sensitivities part it.
    let drawn = uncertain.variance.div(&(&fixed + &shrinking));
    match drawn {
        Some(factor) => (&fixed * &factor, &shrinking * &factor),
        None => (uncertain.variance.clone(), Real::zero()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse_decimal;

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    fn limit(text: &str) -> Limit {
        Limit { stated: real(text), scaled: real(text), exclusive: false, how: "".into() }
    }

    fn of(value: &str, lower: Option<&str>, upper: Option<&str>, decision: &Decision, u: &str) -> Standing {
        let (lower, upper) = (lower.map(limit), upper.map(limit));
        let value = real(value);
        let held = Held { value: &value, lower: lower.as_ref(), upper: upper.as_ref() };
        held.decide(decision, &(&real(u) * &real(u)), Distribution::Normal).unwrap().standing
    }

    /// Limits within 10 um, u = 1 um. ISO 14253-1:1998: conforming up to 10 - U, not conforming beyond 10 + U.
    #[test]
    fn guarded_by_u_on_both_sides_of_both_limits() {
        use Standing::*;
        for (value, wanted) in [
            ("0", Conforms),
            ("8", Conforms),
            ("8.000001", NeitherProven),
            ("10", NeitherProven),
            ("12", NeitherProven),
            ("12.000001", DoesNot),
            ("-8", Conforms),
            ("-8.3", NeitherProven),
            ("-12.1", DoesNot),
        ] {
            assert_eq!(of(value, Some("-10"), Some("10"), &Decision::GuardedU, "1"), wanted, "{value}");
        }
    }

    /// ISO 14253-1:2017 with 95 %: the factor of one limit is 1.645; near both limits both tails count.
    #[test]
    fn guarded_by_a_probability() {
        use Standing::*;
        let rule = Decision::GuardedBy(ratio(95, 100));
        for (value, wanted) in
            [("8.35", Conforms), ("8.36", NeitherProven), ("11.6", NeitherProven), ("11.7", DoesNot)]
        {
            assert_eq!(of(value, Some("-10"), Some("10"), &rule, "1"), wanted, "{value}");
        }
        // A band of 3.5 u holds 91.99 % at best: nothing in it is proven.
        assert_eq!(of("0", Some("-1.75"), Some("1.75"), &rule, "1"), NeitherProven);
        assert_eq!(of("0", Some("-1.75"), None, &rule, "1"), Conforms);
    }

    /// The limit itself is left out, and so is the end of what the guard band leaves.
    #[test]
    fn a_limit_that_is_left_out_is_left_out_by_u_as_well() {
        let upper = Limit { exclusive: true, ..limit("10") };
        let of = |value: &str, u: &str| {
            let value = real(value);
            let held = Held { value: &value, lower: None, upper: Some(&upper) };
            held.decide(&Decision::GuardedU, &(&real(u) * &real(u)), Distribution::Normal).unwrap().standing
        };
        assert_eq!(of("8", "1"), Standing::NeitherProven);
        assert_eq!(of("7.9999", "1"), Standing::Conforms);
        assert_eq!(of("10", "0"), Standing::DoesNot);
    }
}
