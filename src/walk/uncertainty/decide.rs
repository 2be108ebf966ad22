//! Decision rules: a value, its limits and its uncertainty to conforming, not conforming, or neither proven.
//!
//! - `guarded U` (ISO 14253-1:1998, from memory): conforming if it lies inside each limit by at least U = 2u, not
//!   conforming if outside one by more than U. Compared as squares, so that equality is decided in exact numbers.
//! - `guarded 95 %` (ISO 14253-1:2017 with JCGM 106:2012, from memory): conforming if the probability that the true value
//!   lies within the limits is at least that, not conforming if that of its lying outside is. The true value is taken to
//!   be normal about the value with u; both limits enter where both are there.
//!
//! Specific risk (JCGM 106:2012, 3.3.13 f., from memory): of a value that passed, that it does not conform all the same;
//! of one that failed, that it does.

use std::rc::Rc;

use crate::check::program::Decision;
use crate::metrology::normal_probability;
use crate::quantity::{Real, Unit, significant};
use crate::walk::event::UncertaintyLine;
use crate::walk::verdict::{Limit, Verdict};

use super::{COVERAGE, Uncertain, wording};

/// Most repeats that are advised; who needs more needs a better instrument.
const MOST_REPEATS: usize = 30;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Conforms,
    DoesNot,
    NeitherProven,
}

/// What was known of a value when it was judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Certainty {
    pub decision: Decision,
    pub uncertain: Rc<Uncertain>,
    /// Probability that the true value lies within the limits.
    pub conformity: f64,
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
            conformity: significant(self.conformity, 6),
            method: wording::method(&uncertain.method, unit),
            budget: wording::budget(uncertain, unit),
        }
    }

    /// What is said of it beside a verdict that a guarded rule has given. Of an undecided one the reason says it all.
    pub fn said(&self, verdict: &Verdict, unit: Option<Unit>) -> Option<String> {
        let risk = match verdict {
            Verdict::Passed => 1.0 - self.conformity,
            Verdict::Failed => self.conformity,
            _ => return None,
        };
        if self.decision == Decision::Simple {
            return Some(format!("U = {}", wording::size(self.uncertain.expanded(), unit)));
        }
        let freedom =
            self.uncertain.freedom.map(wording::freedom).map(|it| format!(", {it}")).unwrap_or_default();
        Some(format!(
            "U = {}{freedom}; risk that this is wrong {}",
            wording::size(self.uncertain.expanded(), unit),
            wording::percent(risk)
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
    /// Under a guarded rule. A simple one is not asked here: it looks at the value alone.
    pub fn decide(&self, decision: &Decision, variance: &Real) -> Standing {
        if variance.is_zero() {
            return if self.is_inside() { Standing::Conforms } else { Standing::DoesNot };
        }
        match decision {
            Decision::GuardedBy(least) => {
                let least = Real::Exact(least.clone()).to_f64();
                let conformity = self.conformity(variance);
                if conformity >= least {
                    Standing::Conforms
                } else if 1.0 - conformity >= least {
                    Standing::DoesNot
                } else {
                    Standing::NeitherProven
                }
            }
            Decision::GuardedU | Decision::Simple => self.by_expanded(variance),
        }
    }

    fn by_expanded(&self, variance: &Real) -> Standing {
        let guard = variance * &Real::from(COVERAGE * COVERAGE);
        let inside = |margin: &Real, exclusive: bool| {
            let square = margin * margin;
            !margin.is_negative()
                && if exclusive { guard.is_less(&square) } else { square.is_at_least(&guard) }
        };
        let outside = |margin: &Real| margin.is_negative() && guard.is_less(&(margin * margin));
        let margins = self.margins();
        if margins.iter().any(|(margin, _)| outside(margin)) {
            Standing::DoesNot
        } else if margins.iter().all(|(margin, exclusive)| inside(margin, *exclusive)) {
            Standing::Conforms
        } else {
            Standing::NeitherProven
        }
    }

    fn is_inside(&self) -> bool {
        self.margins().iter().all(
            |(margin, exclusive)| {
                if *exclusive { margin.is_positive() } else { !margin.is_negative() }
            },
        )
    }

    /// How far inside each limit, negative outside; and whether the limit itself does not pass.
    fn margins(&self) -> Vec<(Real, bool)> {
        let lower = self.lower.map(|limit| (self.value - &limit.scaled, limit.exclusive));
        let upper = self.upper.map(|limit| (&limit.scaled - self.value, limit.exclusive));
        lower.into_iter().chain(upper).collect()
    }

    pub fn conformity(&self, variance: &Real) -> f64 {
        let u = libm::sqrt(variance.to_f64().max(0.0));
        if u == 0.0 {
            return if self.is_inside() { 1.0 } else { 0.0 };
        }
        // What lies beyond each limit, so that a small risk keeps its digits.
        let beyond = |limit: &Limit, above: bool| {
            let margin = if above { &limit.scaled - self.value } else { self.value - &limit.scaled };
            normal_probability(-margin.to_f64() / u)
        };
        let above = self.upper.map_or(0.0, |limit| beyond(limit, true));
        let below = self.lower.map_or(0.0, |limit| beyond(limit, false));
        (1.0 - above - below).clamp(0.0, 1.0)
    }

    /// Why it is undecided, and what would decide it.
    pub fn advice(&self, certainty: &Certainty, unit: Option<Unit>) -> String {
        let uncertain = &certainty.uncertain;
        let mut text = format!(
            "U = {} leaves it open; probability of conformity {}",
            wording::size(uncertain.expanded(), unit),
            wording::percent(certainty.conformity)
        );
        let settles = |variance: f64| {
            Real::approximate(variance, 0.0)
                .is_some_and(|it| self.decide(&certainty.decision, &it) != Standing::NeitherProven)
        };
        let (fixed, shrinking) = parts(uncertain);
        let repeats = (2..=MOST_REPEATS).find(|n| settles(fixed + shrinking / *n as f64));
        match repeats {
            Some(n) => text.push_str(&format!(
                ": the mean of {n} such measurements would decide it if it comes out the same"
            )),
            None => match self.needed(uncertain.u(), &settles) {
                Some(u) => text.push_str(&format!(
                    ": repeating does not help; an instrument with U of at most {} would decide it",
                    wording::size(u * COVERAGE as f64, unit)
                )),
                None => text.push_str(": it lies on the limit, so that no instrument decides it"),
            },
        }
        text
    }

    /// The largest u that would decide it, rounded down to two digits.
    fn needed(&self, u: f64, settles: &dyn Fn(f64) -> bool) -> Option<f64> {
        let (mut well, mut open) = (0.0, u);
        for _ in 0..60 {
            let middle = 0.5 * (well + open);
            if settles(middle * middle) {
                well = middle;
            } else {
                open = middle;
            }
        }
        (well > u * 1e-3).then(|| {
            let digit = libm::exp10(libm::floor(libm::log10(well)) - 1.0);
            libm::floor(well / digit * (1.0 + 1e-9)) * digit
        })
    }
}

/// What stays and what shrinks with repeats, of u squared.
fn parts(uncertain: &Uncertain) -> (f64, f64) {
    let total = uncertain.variance.to_f64();
    let of = |shrinks: bool| {
        let own = uncertain.budget.iter().filter(|part| part.shrinks == shrinks);
        own.map(|part| part.variance.to_f64()).sum::<f64>()
    };
    let (fixed, shrinking) = (of(false), of(true));
    let all = fixed + shrinking;
    // Where draws gave the figure, it is parted as the sensitivities part it.
    if all > 0.0 { (total * fixed / all, total * shrinking / all) } else { (total, 0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{parse_decimal, ratio};

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
        held.decide(decision, &(&real(u) * &real(u)))
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

    /// JCGM 106:2012, the breakdown voltage of a diode: -5.47 V, u 0.05 V, at most -5.40 V: 0.92 (from memory).
    #[test]
    fn the_probability_of_one_limit() {
        let (upper, value) = (limit("-5.40"), real("-5.47"));
        let held = Held { value: &value, lower: None, upper: Some(&upper) };
        let found = held.conformity(&(&real("0.05") * &real("0.05")));
        assert!((found - 0.919_243_340_766_229).abs() < 1e-12, "{found}");
    }
}
