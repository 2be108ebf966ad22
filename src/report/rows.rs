//! The table of a report: each rule of a step on one line, as found and as left.

use crate::walk::event::{JudgedStep, RuleLine};

use super::labels::{Labels, band, direction, shown};
use super::model::{Held, Row, StepPart};

/// The rules of a step: as found is its first try, as left its last.
pub(super) fn of_step(labels: &Labels, part: &StepPart) -> Vec<Row> {
    let judged: Vec<&JudgedStep> = part.tries.iter().filter_map(|it| it.judged.as_ref()).collect();
    let (Some(first), Some(last)) = (judged.first(), judged.last()) else { return Vec::new() };
    // One value may be judged by several rules of the same name, each for its own case.
    let mut seen: Vec<(&str, usize)> = Vec::new();
    for judged in [last, first] {
        for (at, rule) in judged.rules.iter().enumerate() {
            let before = judged.rules.iter().take(at).filter(|other| other.name == rule.name).count();
            if !seen.contains(&(rule.name.as_str(), before)) {
                seen.push((&rule.name, before));
            }
        }
    }
    let rows = seen.into_iter().map(|(name, nth)| {
        let held_in = |judged: &JudgedStep| {
            let rule = judged.rules.iter().filter(|rule| rule.name == name).nth(nth);
            rule.map(|rule| held(labels, &part.name, rule))
        };
        Row {
            step: part.name.clone(),
            what: labels.rule(&part.name, name),
            found: held_in(first),
            left: if judged.len() > 1 { held_in(last) } else { None },
            required: labels.is_required(&part.name, name),
        }
    });
    let applies = |held: &Option<Held>| held.as_ref().is_some_and(|it| it.verdict != "not applicable");
    rows.filter(|row| applies(&row.found) || applies(&row.left)).collect()
}

fn held(labels: &Labels, step: &str, rule: &RuleLine) -> Held {
    let sense = labels.rule_sense(step, &rule.name, rule.place.as_deref());
    let unit = rule.unit.as_deref();
    let mut value = rule.value.as_deref().map(|it| shown(it, unit, sense.is_some())).unwrap_or_default();
    if let Some(words) = rule.value.as_deref().and_then(|it| direction(it, sense.as_ref())) {
        value.push_str(&format!(", {words}"));
    }
    if let Some(place) = &rule.place {
        value.push_str(&format!(" ({place})"));
    }
    let limit = band(rule.lower.as_deref(), rule.upper.as_deref(), unit, sense.is_some());
    let expanded = rule.uncertainty.as_ref().map(|it| super::labels::rounded(&it.expanded, unit));
    Held { value, limit, verdict: rule.verdict.clone(), expanded }
}
