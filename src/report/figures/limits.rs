//! Values against their limits: the tries of one rule side by side, with their uncertainty; and all rules of a walk, each
//! in its own band, on one scale.

use crate::report::labels::bound;
use crate::report::model::{Held, Report, StepPart, Try};
use crate::report::plot::{Axis, Dot, Form, Strip, Strips, Tint};
use crate::report::summary::{left_out, loud};
use crate::walk::uncertainty::wording::Chance;

use super::walked::{ends, number};
use super::{Figure, guard};

/// A drawing stays whole on a printed page: more rows than this would often leave much of one empty.
const MOST_ROWS: usize = 15;

pub(super) fn of_step(part: &StepPart) -> Vec<Figure> {
    let tries: Vec<&Try> = part.tries.iter().filter(|it| it.state.is_some()).collect();
    let Some(last) = tries.last() else { return Vec::new() };
    let rule = |(at, held): (usize, &Held)| {
        let name = &held.rule.name;
        let nth = last.rules.iter().take(at).filter(|it| it.rule.name == *name).count();
        let of_try = |attempt: &&Try| {
            attempt
                .rules
                .iter()
                .filter(|it| it.rule.name == *name)
                .nth(nth)
                .cloned()
                .map(|held| (attempt.number, held))
        };
        let rows: Vec<(u32, Held)> = tries.iter().filter_map(of_try).collect();
        of_rule(&rows)
    };
    last.rules.iter().enumerate().filter_map(rule).collect()
}

fn is_guarded(held: &Held) -> bool {
    held.rule.uncertainty.as_ref().is_some_and(|own| own.rule.starts_with("guarded"))
}

fn of_rule(tries: &[(u32, Held)]) -> Option<Figure> {
    let rows: Vec<(&(u32, Held), f64)> =
        tries.iter().filter_map(|row| Some((row, number(row.1.rule.value.as_deref())?))).collect();
    let (_, last) = rows.last()?.0;
    let bounded = |held: &Held| held.rule.lower.is_some() || held.rule.upper.is_some();
    if !bounded(last) || !(rows.len() > 1 || is_guarded(last)) {
        return None;
    }
    let count = rows.len();
    let strip = |(at, ((number_of, held), value)): (usize, &(&(u32, Held), f64))| {
        let (lower, upper) = (number(held.rule.lower.as_deref()), number(held.rule.upper.as_deref()));
        let uncertain = held.rule.uncertainty.as_ref().and_then(|own| own.expanded.parse::<f64>().ok());
        Strip {
            name: try_name(*number_of, at, count),
            allowed: Some((lower, upper)),
            undecided: guard::of(held).map(|guard| guard.undecided).unwrap_or_default(),
            dots: vec![Dot { form: form(at, count), at: *value, uncertain }],
            said: loud(&held.rule.verdict),
        }
    };
    let strips: Vec<Strip> = rows.iter().enumerate().map(strip).collect();
    let guard = rows.iter().find_map(|row| guard::of(&row.0.1));
    let mut tints = vec![(Tint::Allowed, "allowed".to_owned()), (Tint::Hatched, "not allowed".to_owned())];
    let guarded = guard.is_some();
    if let Some(guard) = guard {
        tints.push((Tint::Dotted, guard.said));
    }
    let uncertain = strips.iter().flat_map(|strip| &strip.dots).any(|dot| dot.uncertain.is_some());
    let with = if uncertain { ", with \u{b1} U" } else { "" };
    let forms = match count {
        1 => vec![(Form(0), format!("value{with}"))],
        _ => vec![(Form(1), format!("earlier{with}")), (Form(0), format!("as left{with}"))],
    };
    let unit = last.rule.unit.as_deref().filter(|unit| *unit != "1");
    let zero_counts = number(last.rule.lower.as_deref()).is_none_or(|lower| lower <= 0.0);
    let drawing = Strips {
        axis: Axis::new(unit.map_or_else(|| "value".to_owned(), |unit| format!("value, in {unit}")))
            .with_ends(ends(last.sense.as_ref())),
        rows: strips,
        forms,
        tints,
        from: (zero_counts && !guarded).then_some(0.0),
    };
    let words = rows.iter().enumerate().map(|(at, ((number_of, held), _))| {
        let expanded = held.expanded().map(|it| format!(" (U {it})")).unwrap_or_default();
        let name = try_name(*number_of, at, count);
        let sure = held.rule.uncertainty.as_ref().filter(|_| is_guarded(held)).map(Chance::recorded);
        let sure = sure.map(|it| format!(", probability of conformity {}", it.said()));
        format!(
            "{name}: {}{expanded}, allowed {}{}: {}.",
            held.value(),
            held.limit(),
            sure.unwrap_or_default(),
            loud(&held.rule.verdict)
        )
    });
    let words = words.collect::<Vec<_>>().join(" ");
    Some(Figure { title: format!("{}, against its limit", last.label), words, drawing: drawing.draw() })
}

fn form(at: usize, count: usize) -> Form {
    Form(usize::from(at + 1 < count))
}

fn try_name(number: u32, at: usize, count: usize) -> String {
    match (number, at + 1 == count, count) {
        (1, _, 1) => "as found".to_owned(),
        (1, ..) => "as found".to_owned(),
        (_, true, _) => "as left".to_owned(),
        (number, ..) => format!("try {number}"),
    }
}

/// Every rule with numbers, as found and as left, each in its own band: 0 is its lower end or nothing at all, 1 its limit.
pub fn overview(report: &Report, states: &[(String, String)]) -> Vec<Figure> {
    let rows: Vec<(Strip, String)> = report
        .rows
        .iter()
        .filter(|row| !row.required)
        .filter_map(|row| {
            let found = row.found.as_ref().and_then(share);
            let left = row.left.as_ref().and_then(share);
            let last = row.left.as_ref().or(row.found.as_ref())?;
            let dots = [left.map(|at| (Form(0), at)), found.map(|at| (Form(1), at))];
            // One try is as found and as left.
            let dots: Vec<Dot> = match (found, left) {
                (Some(at), None) if row.left.is_none() => vec![Dot { form: Form(0), at, uncertain: None }],
                _ => dots.into_iter().flatten().map(|(form, at)| Dot { form, at, uncertain: None }).collect(),
            };
            let verdict = left_out(states, &row.step).map_or_else(|| loud(&last.rule.verdict), str::to_owned);
            let strip = Strip {
                name: format!("{} {}", row.step, row.what),
                allowed: Some((Some(0.0), Some(1.0))),
                dots,
                said: verdict.clone(),
                ..Strip::default()
            };
            let said =
                format!("{} {}: {}, allowed {}: {verdict}.", row.step, row.what, last.value(), last.limit());
            (!strip.dots.is_empty()).then_some((strip, said))
        })
        .collect();
    let of = rows.len().div_ceil(MOST_ROWS).max(1);
    let parts = rows.chunks(rows.len().div_ceil(of).max(1)).enumerate();
    parts
        .map(|(part, rows)| {
            let not_well = rows.iter().filter(|(strip, _)| !crate::report::summary::is_well(&strip.said));
            let not_well: Vec<&str> = not_well.map(|(_, said)| said.as_str()).collect();
            let drawing = Strips {
                axis: Axis {
                    names: vec![
                        (0.0, "lower end or 0".into()),
                        (0.5, "middle".into()),
                        (1.0, "limit".into()),
                    ],
                    reach: Some((-0.55, 1.55)),
                    ..Axis::new("place in what is allowed")
                },
                rows: rows.iter().map(|(strip, _)| strip.clone()).collect(),
                forms: vec![(Form(1), "as found".to_owned()), (Form(0), "as left".to_owned())],
                tints: vec![(Tint::Allowed, "allowed".to_owned()), (Tint::Hatched, "not allowed".to_owned())],
                from: None,
            };
            let part = if of > 1 { format!(", part {} of {of}", part + 1) } else { String::new() };
            let words = format!(
                "{}; an arrow points to one that lies far outside. {}",
                if rows.len() == 1 {
                    "One value in the band that is allowed for it".to_owned()
                } else {
                    format!("{} values, each in the band that is allowed for it", rows.len())
                },
                if not_well.is_empty() {
                    "All that is shown has passed as left.".to_owned()
                } else {
                    format!("Not passed as left: {}", not_well.join(" "))
                }
            );
            Figure { title: format!("As found and as left{part}"), words, drawing: drawing.draw() }
        })
        .collect()
}

/// Where a value lies in its band: 0 to 1 is allowed.
fn share(held: &Held) -> Option<f64> {
    let value = number(held.rule.value.as_deref())?;
    let (lower, upper) = (number(held.rule.lower.as_deref()), number(held.rule.upper.as_deref()));
    match (lower, upper) {
        (Some(lower), Some(upper)) if upper > lower => Some((value - lower) / (upper - lower)),
        (None, Some(upper)) if upper > 0.0 => Some(value / upper),
        // The more the better: what is just enough lies at the limit.
        (Some(lower), None) if lower > 0.0 && value > 0.0 => Some(lower / value),
        (Some(recorded), None) | (None, Some(recorded)) if recorded == 0.0 => None,
        _ => None,
    }
    .filter(|share| share.is_finite())
    .filter(|_| held.rule.value.as_deref().is_some_and(|value| !bound(value).1))
}
