//! Events as the lines of a record, for tests of what is said of them: no procedure and no walk behind them.

use bedway::record::{Digest, Line};
use bedway::report::{Labels, Report, build};
use bedway::walk::event::{Answer, Entry, Event, How};

use crate::opened::opened;

/// The first line of a rehearsal.
pub fn rehearsal(title: &str) -> Event {
    let mut first = opened(title);
    if let Event::Opened { rehearsal, .. } = &mut first {
        *rehearsal = true;
    }
    first
}

pub fn answer(typed: &str, unit: Option<&str>, value: &str) -> Answer {
    Answer { typed: typed.into(), unit: unit.map(str::to_owned), value: value.into(), sha256: None }
}

/// A reading in the first try of a step.
pub fn read(step: &str, name: &str, stations: &[&str], answer: Answer) -> Entry {
    Entry {
        step: step.into(),
        number: 1,
        set: 1,
        name: name.into(),
        stations: stations.iter().map(|station| (*station).to_owned()).collect(),
        answer: Some(answer),
        reason: None,
        how: How::Typed,
    }
}

pub fn lines(events: impl IntoIterator<Item = Event>) -> Vec<Line> {
    let mut prev = Digest::ZERO;
    let line = |(event, seq)| {
        let (line, bytes) = Line::seal(seq, "2026-03-02T09:14:07+01:00", "operator", event, prev).unwrap();
        prev = Digest::of(&bytes);
        line
    };
    events.into_iter().zip(1..).map(line).collect()
}

/// Their report, all names bare.
pub fn report_of(events: impl IntoIterator<Item = Event>) -> Report {
    build(&lines(events), &Labels::default(), None)
}
