//! From a record back to a machine: plainly, to go on with, or demanding that every verdict on it follows from its
//! entries.

use std::collections::VecDeque;
use std::rc::Rc;

use crate::check::program::Program;

use super::closing::closing;
use super::event::{Event, JudgedStep, SeriesEnd};
use super::machine::{Machine, Reply};

/// An event that does not follow from those before it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("line {} does not follow from the entries: found {found}, expected {expected}", .index + 1)]
pub struct Mismatch {
    /// Index of the event, from 0.
    pub index: usize,
    pub found: String,
    pub expected: String,
}

/// A record that has been walked again.
#[derive(Debug)]
pub struct Replayed {
    pub machine: Machine,
    /// What follows from the events and is not among them: the tear of a record may have cut between a cause and its
    /// verdict.
    pub due: Reply,
    /// Indices of the events that mean what they must in other words than this version of the program has.
    pub otherwise: Vec<usize>,
}

/// The machine as the events left it; each with its time.
pub fn replay<'a>(
    program: Rc<Program>,
    events: impl IntoIterator<Item = (&'a str, &'a Event)>,
) -> Result<Replayed, Box<Mismatch>> {
    let mut machine = Machine::new(program);
    let mut otherwise = Vec::new();
    // What follows from an event must stand right behind it, alike.
    let mut due: VecDeque<Event> = VecDeque::new();
    for (index, (time, event)) in events.into_iter().enumerate() {
        machine.set_time(time);
        let mismatch = |expected: Option<&Event>| {
            let apart = expected.and_then(|expected| apart(event, expected));
            let (found, expected) = apart.unwrap_or_else(|| {
                let nothing = || "nothing that follows from the entries".to_owned();
                (in_words(event), expected.map_or_else(nothing, in_words))
            });
            Box::new(Mismatch { index, found, expected })
        };
        if follows(event) {
            match due.pop_front() {
                Some(expected) if expected == *event => continue,
                Some(expected) if means(event, &expected) => {
                    otherwise.push(index);
                    continue;
                }
                expected => return Err(mismatch(expected.as_ref())),
            }
        }
        // A full disk may have kept a verdict from being written; it then stands behind the pause or the resumption.
        if !matches!(event, Event::Resumed { .. } | Event::Paused { .. })
            && let Some(expected) = due.front()
        {
            return Err(mismatch(Some(expected)));
        }
        if let Event::Closed { .. } = event {
            let expected = closing(&machine.status());
            if meaning(&expected) != meaning(event) {
                return Err(mismatch(Some(&expected)));
            }
            if expected != *event {
                otherwise.push(index);
            }
        }
        if let Some(expected) = machine.misplaced_paper(event).or_else(|| machine.misplaced_row(event)) {
            return Err(Box::new(Mismatch { index, found: in_words(event), expected }));
        }
        machine.apply(event);
        due.extend(machine.settle().events);
    }
    Ok(Replayed { machine, due: Reply { events: due.into(), said: Vec::new() }, otherwise })
}

/// Works every verdict out again from the entries and demands that the record says the same.
pub fn verify<'a>(
    program: Rc<Program>,
    events: impl IntoIterator<Item = (&'a str, &'a Event)>,
) -> Result<Replayed, Box<Mismatch>> {
    let mut count = 0;
    let replayed = replay(program, events.into_iter().inspect(|_| count += 1))?;
    match replayed.due.events.first() {
        None => Ok(replayed),
        Some(expected) => Err(Box::new(Mismatch {
            index: count,
            found: "the end of the record".to_owned(),
            expected: in_words(expected),
        })),
    }
}

/// An event without the words that the program puts beside its figures and verdicts: advice, remarks, reasons. A record
/// must stay good when a later version says them better.
fn meaning(event: &Event) -> Event {
    let mut event = event.clone();
    match &mut event {
        Event::Judged(judged) => {
            judged.advice.clear();
            for rule in &mut judged.rules {
                rule.notes.clear();
                // How u was worked out is told in words; u, k and U are the figures.
                rule.uncertainty.iter_mut().for_each(|own| own.method.clear());
            }
            for value in judged.results.iter_mut().flat_map(|result| &mut result.values) {
                if let Some((kind @ ("invalid" | "not read" | "undecided"), _)) = value.split_once(": ") {
                    *value = kind.to_owned();
                }
            }
        }
        Event::Changed { because, .. } | Event::Cleared { because, .. } => because.clear(),
        // How many there are counts, and which verdict they leave.
        Event::Closed { exceptions, open, stale, .. } => {
            exceptions.iter_mut().chain(open).chain(stale).for_each(String::clear);
        }
        _ => {}
    }
    event
}

/// An early record does not say after which try the move was made whose advice was withdrawn.
fn means(found: &Event, expected: &Event) -> bool {
    let without = |event: &Event| match event {
        Event::Withdrawn { step, adjustment, .. } => {
            Event::Withdrawn { step: step.clone(), adjustment: adjustment.clone(), number: None }
        }
        event => meaning(event),
    };
    match found {
        Event::Withdrawn { number: None, .. } => without(found) == without(expected),
        _ => meaning(found) == meaning(expected),
    }
}

/// Events that are worked out and not given. A stop by hand is given.
pub fn follows(event: &Event) -> bool {
    matches!(
        event,
        Event::Judged(_)
            | Event::Changed { .. }
            | Event::Withdrawn { .. }
            | Event::Joined { .. }
            | Event::Cleared { .. }
            | Event::Stopped { by_hand: false, .. }
            | Event::SeriesEnded { because: SeriesEnd::Met | SeriesEnd::Time, .. }
    )
}

/// Of two judgements of one try that are the same in words: the first figure in which they differ, as each has it.
fn apart(found: &Event, expected: &Event) -> Option<(String, String)> {
    let (Event::Judged(found), Event::Judged(expected)) = (found, expected) else { return None };
    if (&found.step, found.number, &found.state) != (&expected.step, expected.number, &expected.state) {
        return None;
    }
    let (ours, theirs) = (figures(found), figures(expected));
    let differs = |(at, figure): &(usize, &(String, String))| theirs.get(*at) != Some(*figure);
    let at = ours.iter().enumerate().find(differs).map(|(at, _)| at).or_else(|| {
        // What the record lacks at its end.
        (ours.len() < theirs.len()).then_some(ours.len())
    })?;
    let said = |figures: &[(String, String)]| match figures.get(at) {
        Some((name, figure)) => format!("{} try {}: {name} {figure}", found.step, found.number),
        None => "nothing more of it".to_owned(),
    };
    Some((said(&ours), said(&theirs)))
}

/// All that a judgement says, each with what it is.
fn figures(judged: &JudgedStep) -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut say = |of: &str, what: &str, figure: &str, unit: Option<&str>| {
        if !figure.is_empty() {
            let unit = unit.map(|unit| format!(" {unit}")).unwrap_or_default();
            all.push((format!("{of}{what}"), format!("is {figure}{unit}")));
        }
    };
    for result in &judged.results {
        let unit = result.unit.as_deref();
        say(&result.name, "", &result.values.join(", "), unit);
        say(&result.name, ", its sense,", result.says.as_deref().unwrap_or_default(), None);
        say(&result.name, ", its U,", &result.expanded.join(", "), unit);
    }
    for rule in &judged.rules {
        let unit = rule.unit.as_deref();
        let said = |said: &Option<String>| said.clone().unwrap_or_default();
        say(&rule.name, ", the verdict,", &rule.verdict, None);
        say(&rule.name, ", the value judged,", &said(&rule.value), unit);
        say(&rule.name, ", the lower limit,", &said(&rule.lower), unit);
        say(&rule.name, ", the upper limit,", &said(&rule.upper), unit);
        say(&rule.name, ", its place,", &said(&rule.place), None);
        if let Some(own) = &rule.uncertainty {
            say(&rule.name, ", the rule of decision,", &own.rule, None);
            say(&rule.name, ", its u,", &own.u, unit);
            say(&rule.name, ", its k,", &own.k, None);
            say(&rule.name, ", its U,", &own.expanded, unit);
            say(&rule.name, ", its degrees of freedom,", &said(&own.freedom), None);
            say(&rule.name, ", the probability of conformity,", &own.conformity, None);
            say(&rule.name, ", from where draws leave it open,", &said(&own.conformity_from), None);
            say(&rule.name, ", up to where draws leave it open,", &said(&own.conformity_to), None);
            say(&rule.name, ", how u was worked out,", &own.method, None);
            say(&rule.name, ", the budget,", &own.budget.join("; "), None);
        }
    }
    all
}

fn in_words(event: &Event) -> String {
    match event {
        Event::Judged(judged) => format!("{} try {} {}", judged.step, judged.number, judged.state),
        Event::Changed { step, was, now, .. } => format!("{step} was {was}, now {now}"),
        Event::Withdrawn { step, adjustment, number } => {
            let after = number.map(|number| format!(" after try {number}")).unwrap_or_default();
            format!("advice for {step}.{adjustment}{after} withdrawn")
        }
        Event::Cleared { step, .. } => format!("the stop of {step} cleared"),
        Event::Stopped { step, text, .. } => format!("{step} stopped: {text}"),
        Event::SeriesEnded { step, reading, rows, .. } => {
            format!("the series of {step}.{reading} ended after {rows} rows")
        }
        Event::Closed { verdict, exceptions, .. } => {
            format!("closed as {verdict}, {} exceptions", exceptions.len())
        }
        Event::Joined { step, reading, shift, agreed, .. } => {
            let how = if *agreed { "joined" } else { "not joined" };
            format!("{step}.{reading} {how}, shift {shift}")
        }
        other => serde_json::to_string(other).unwrap_or_default(),
    }
}
