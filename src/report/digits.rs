//! The values of a record to the digits that their uncertainty allows.

use crate::quantity::{Rational, parse_exact};
use crate::walk::digits::Digits;
use crate::walk::event::RuleLine;

use super::labels::bound;

/// The value of a rule. `None`: it stays as it is recorded.
pub fn of_rule(rule: &RuleLine) -> Option<String> {
    let own = rule.uncertainty.as_ref()?;
    let bounds = [&rule.lower, &rule.upper].into_iter().flatten();
    let limits: Vec<Rational> = bounds.filter_map(|it| parse_exact(bound(it).0)).collect();
    let guard = parse_exact(&own.expanded)?;
    let guard = own.rule.starts_with("guarded U").then_some(&guard);
    cut(rule.value.as_deref()?, &own.expanded, &limits, guard)
}

/// A value that no rule judges.
pub fn beside(value: &str, expanded: &str) -> Option<String> {
    cut(value, expanded, &[], None)
}

fn cut(value: &str, expanded: &str, limits: &[Rational], guard: Option<&Rational>) -> Option<String> {
    let (value, expanded) = (parse_exact(value)?, expanded.parse().ok()?);
    Digits { value: &value, expanded, limits, guard }.cut()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walk::event::UncertaintyLine;

    fn of(value: &str, expanded: &str, upper: &str, rule: &str) -> Option<String> {
        let uncertainty = UncertaintyLine {
            rule: rule.to_owned(),
            u: String::new(),
            k: "2".to_owned(),
            expanded: expanded.to_owned(),
            freedom: None,
            conformity: "1".to_owned(),
            conformity_from: None,
            conformity_to: None,
            method: String::new(),
            budget: Vec::new(),
        };
        of_rule(&RuleLine {
            name: "rise".to_owned(),
            verdict: "passed".to_owned(),
            value: Some(value.to_owned()),
            lower: None,
            upper: Some(upper.to_owned()),
            unit: None,
            place: None,
            uncertainty: Some(uncertainty),
            notes: Vec::new(),
        })
    }

    #[test]
    fn a_value_has_no_more_digits_than_its_u_unless_they_settled_the_verdict() {
        let simple =
            |value, expanded, upper| of(value, expanded, upper, "simple").unwrap_or(value.to_owned());
        assert_eq!(simple("0.0062471", "0.00141421", "0.01"), "0.0062");
        assert_eq!(simple("1/3", "0.02", "1"), "0.333");
        assert_eq!(simple("503.26", "12", "600"), "503");
        assert_eq!(simple("0.006", "0.00141421", "0.01"), "0.006", "nothing is added");
        assert_eq!(simple("0.01016", "0.002", "0.01"), "0.0102");
        assert_eq!(simple("0.010004", "0.002", "0.01"), "0.010004", "0.0100 would have passed");
        // 0.0080 and U = 0.0020 would have passed under 0.010.
        let guarded = |value| of(value, "0.002", "0.01", "guarded U (ISO 14253-1:1998)");
        assert_eq!(guarded("0.00801"), None);
        assert_eq!(guarded("0.00812").as_deref(), Some("0.0081"));
        assert_eq!(simple("0.004", "0", "0.01"), "0.004");
    }
}
