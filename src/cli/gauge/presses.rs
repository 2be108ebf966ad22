//! What was pressed by a hand, and what a gauge sends by itself. A gauge that is set to send without end would answer one
//! question after the other while nobody looks. So a line is handed on only once nothing has followed it for a moment;
//! lines that come closer together than that are told, and none of them is taken until the gauge is silent again.

use std::time::{Duration, Instant};

use super::{Heard, News};

/// No hand presses for two readings within so short a time. So long a press waits.
pub const BETWEEN_PRESSES: Duration = Duration::from_millis(300);

/// A gauge that has sent by itself is heard again once it has been silent for so long.
pub const SILENCE: Duration = Duration::from_secs(2);

/// Time is handed in: when each line came.
#[derive(Debug, Default)]
pub struct Presses {
    state: State,
}

#[derive(Debug, Default)]
enum State {
    #[default]
    Silent,
    /// A line that may be a press.
    Pressed { line: String, at: Instant },
    /// It sends by itself: when last, and how many lines since that was said.
    Streaming { last: Instant, more: usize },
}

impl Presses {
    /// Until when it is waited whether something follows.
    pub fn due(&self) -> Option<Instant> {
        match &self.state {
            State::Silent => None,
            State::Pressed { at, .. } => Some(*at + BETWEEN_PRESSES),
            State::Streaming { last, .. } => Some(*last + SILENCE),
        }
    }

    /// A line came; what is to be told of it now.
    pub fn line(&mut self, line: String, at: Instant) -> Vec<Heard> {
        let mut told = self.time(at);
        self.state = match std::mem::take(&mut self.state) {
            State::Silent => State::Pressed { line, at },
            State::Pressed { line: first, .. } => {
                told.push(Heard::News(too_fast(&first, &line)));
                State::Streaming { last: at, more: 0 }
            }
            State::Streaming { more, .. } => State::Streaming { last: at, more: more + 1 },
        };
        told
    }

    /// It is so late now, and nothing came.
    pub fn time(&mut self, now: Instant) -> Vec<Heard> {
        if self.due().is_none_or(|due| now < due) {
            return Vec::new();
        }
        self.rest()
    }

    /// What was still waited with; nothing more comes.
    pub fn rest(&mut self) -> Vec<Heard> {
        match std::mem::take(&mut self.state) {
            State::Silent => Vec::new(),
            State::Pressed { line, at } => vec![Heard::Line { line, at }],
            State::Streaming { more, .. } => vec![Heard::News(silent_again(more))],
        }
    }
}

fn too_fast(first: &str, next: &str) -> News {
    News::bad(format!(
        "Not taken: The gauge sent \"{}\" and \"{}\" less than {} s apart, faster than a hand presses. If it sends by itself, \
         set it to send one line a press. Nothing is taken from it until it has been silent for {} s.",
        first.trim(),
        next.trim(),
        BETWEEN_PRESSES.as_secs_f32(),
        SILENCE.as_secs()
    ))
}

fn silent_again(more: usize) -> News {
    let more = match more {
        0 => String::new(),
        1 => " 1 more line was not taken.".to_owned(),
        more => format!(" {more} more lines were not taken."),
    };
    News::good(format!("The gauge is silent, and is heard again.{more}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told of lines that come so many milliseconds after the start, until long after the last.
    fn told(sent: &[(u64, &str)]) -> Vec<String> {
        let start = Instant::now();
        let at = |millis: u64| start + Duration::from_millis(millis);
        let mut presses = Presses::default();
        let mut told = Vec::new();
        for (millis, line) in sent {
            told.extend(presses.line((*line).to_owned(), at(*millis)));
        }
        told.extend(presses.time(at(3_600_000)));
        assert!(presses.due().is_none());
        told.into_iter()
            .map(|heard| match heard {
                Heard::Line { line, .. } => line,
                Heard::News(news) => news.text,
            })
            .collect()
    }

    #[test]
    fn presses_of_a_hand_are_handed_on_in_their_order() {
        assert_eq!(told(&[(0, "0.01"), (300, "0.02"), (5000, "0.03")]), ["0.01", "0.02", "0.03"]);
    }

    #[test]
    fn of_a_gauge_that_sends_by_itself_no_line_is_taken_until_it_is_silent() {
        let told = told(&[(0, "0.01"), (100, "0.02"), (200, "0.03"), (1900, "0.04"), (3900, "0.05")]);
        assert!(told[0].contains("\"0.01\" and \"0.02\" less than 0.3 s apart"), "{told:?}");
        assert_eq!(
            told[1..],
            ["The gauge is silent, and is heard again. 2 more lines were not taken.", "0.05"]
        );
    }

    #[test]
    fn a_press_waits_no_longer_than_it_must() {
        let start = Instant::now();
        let mut presses = Presses::default();
        assert!(presses.line("0.01".to_owned(), start).is_empty());
        assert!(presses.time(start + BETWEEN_PRESSES - Duration::from_millis(1)).is_empty());
        let due = presses.due().unwrap();
        let line = "0.01".to_owned();
        assert_eq!(presses.time(due), [Heard::Line { line, at: start }]);
    }
}
