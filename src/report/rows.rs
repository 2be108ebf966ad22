//! The table of a report: each rule of a step on one line, as found and as left.

use crate::quantity::{Dimension, Unit};

use super::labels::Labels;
use super::model::{Held, Row, StepPart, Try};

/// The rules of a step: as found is its first try, as left its last.
pub(super) fn of_step(labels: &Labels, part: &StepPart) -> Vec<Row> {
    let judged: Vec<&Try> = part.tries.iter().filter(|it| it.state.is_some()).collect();
    let (Some(first), Some(last)) = (judged.first(), judged.last()) else { return Vec::new() };
    // One value may be judged by several rules of the same name, each for its own case.
    let mut seen: Vec<(&str, usize)> = Vec::new();
    for judged in [last, first] {
        for (at, rule) in judged.rules.iter().enumerate() {
            let before =
                judged.rules.iter().take(at).filter(|other| other.rule.name == rule.rule.name).count();
            if !seen.contains(&(rule.rule.name.as_str(), before)) {
                seen.push((&rule.rule.name, before));
            }
        }
    }
    let rows = seen.into_iter().map(|(name, nth)| {
        let held_in =
            |judged: &Try| judged.rules.iter().filter(|held| held.rule.name == name).nth(nth).cloned();
        Row {
            step: part.name.clone(),
            what: labels.rule(&part.name, name),
            found: held_in(first),
            left: if judged.len() > 1 { held_in(last) } else { None },
            required: labels.is_required(&part.name, name),
            electrical: held_in(last).or(held_in(first)).is_some_and(|held| is_electrical(&held)),
        }
    });
    let applies = |held: &Option<Held>| held.as_ref().is_some_and(|it| it.rule.verdict != "not applicable");
    rows.filter(|row| applies(&row.found) || applies(&row.left)).collect()
}

fn is_electrical(held: &Held) -> bool {
    let dimension = held.rule.unit.as_deref().and_then(Unit::parse).map(Unit::dimension);
    dimension.is_some_and(|it| [Dimension::VOLTAGE, Dimension::CURRENT, Dimension::RESISTANCE].contains(&it))
}
