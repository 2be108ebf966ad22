//! From a record back to a machine: plainly, to go on with, or demanding that every verdict on it follows from its
//! entries.

use std::collections::VecDeque;
use std::rc::Rc;

use crate::check::program::Program;

use super::event::{Event, SeriesEnd};
use super::machine::{Machine, Reply, closing};

/// An event that does not follow from those before it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("line {} does not follow from the entries: found {found}, expected {expected}", .index + 1)]
pub struct Mismatch {
    /// Index of the event, from 0.
    pub index: usize,
    pub found: String,
    pub expected: String,
}

/// The machine as the events left it, and what follows from them that is not among them: the tear of a record may
/// have cut between a cause and its verdict. `times` and events go together.
pub fn replay<'a>(
    program: Rc<Program>,
    events: impl IntoIterator<Item = (&'a str, &'a Event)>,
) -> Result<(Machine, Reply), Box<Mismatch>> {
    let mut machine = Machine::new(program);
    // What follows from an event must stand right behind it, alike.
    let mut due: VecDeque<Event> = VecDeque::new();
    for (index, (time, event)) in events.into_iter().enumerate() {
        machine.set_time(time);
        let mismatch = |expected: Option<&Event>| {
            Box::new(Mismatch {
                index,
                found: in_words(event),
                expected: expected
                    .map_or_else(|| "nothing that follows from the entries".to_owned(), in_words),
            })
        };
        if follows(event) {
            match due.pop_front() {
                Some(expected) if expected == *event => continue,
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
            if expected != *event {
                return Err(mismatch(Some(&expected)));
            }
        }
        if let Some(expected) = machine.misplaced_paper(event).or_else(|| machine.misplaced_row(event)) {
            return Err(Box::new(Mismatch { index, found: in_words(event), expected }));
        }
        machine.apply(event);
        due.extend(machine.settle().events);
    }
    Ok((machine, Reply { events: due.into(), said: Vec::new() }))
}

/// Works every verdict out again from the entries and demands that the record says the same.
pub fn verify<'a>(
    program: Rc<Program>,
    events: impl IntoIterator<Item = (&'a str, &'a Event)>,
) -> Result<Machine, Box<Mismatch>> {
    let mut count = 0;
    let (machine, due) = replay(program, events.into_iter().inspect(|_| count += 1))?;
    match due.events.first() {
        None => Ok(machine),
        Some(expected) => Err(Box::new(Mismatch {
            index: count,
            found: "the end of the record".to_owned(),
            expected: in_words(expected),
        })),
    }
}

/// Events that are worked out and not given. A stop by hand is given.
pub(super) fn follows(event: &Event) -> bool {
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

fn in_words(event: &Event) -> String {
    match event {
        Event::Judged(judged) => format!("{} try {} {}", judged.step, judged.number, judged.state),
        Event::Changed { step, was, now, .. } => format!("{step} was {was}, now {now}"),
        Event::Withdrawn { step, adjustment } => format!("advice for {step}.{adjustment} withdrawn"),
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
