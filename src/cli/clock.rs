//! The one place that reads the clock. Times are handed to everything else as text.

use std::cell::{Cell, RefCell};
use std::fmt::Debug;

use jiff::civil::Date;
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

pub trait Clock: Debug {
    fn now(&self) -> ZonedDateTime;

    /// To the second, with its offset from UTC: `2026-03-02T09:14:07+01:00`.
    fn stamp(&self) -> String {
        self.now().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
    }
}

/// The clock of this computer, in its time zone.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> ZonedDateTime {
        ZonedDateTime::now()
    }
}

/// For rehearsals: a made-up clock. It begins now and stands still until it is put forward, so that the hours of a
/// series pass in milliseconds and its rows stand at just the times of the example.
#[derive(Debug)]
pub struct RehearsalClock {
    now: RefCell<ZonedDateTime>,
}

impl RehearsalClock {
    pub fn new(clock: &dyn Clock) -> Self {
        Self { now: RefCell::new(clock.now()) }
    }

    pub fn put_forward(&self, seconds: u64) {
        let span = SignedDuration::from_secs(i64::try_from(seconds).unwrap_or(i64::MAX));
        let later = self.now.borrow().checked_add(span);
        if let Ok(later) = later {
            self.now.replace(later);
        }
    }

    /// The day on which an example begins: at eight in the morning.
    pub fn begin_on(&self, day: Date) {
        if let Ok(morning) = day.at(8, 0, 0, 0).to_zoned_datetime(self.now().time_zone().clone()) {
            self.now.replace(morning);
        }
    }

    /// The day on which an example goes on. It never goes back.
    pub fn put_to(&self, day: Date) {
        if day > self.now().date() {
            self.begin_on(day);
        }
    }
}

impl Clock for RehearsalClock {
    fn now(&self) -> ZonedDateTime {
        self.now.borrow().clone()
    }
}

/// For tests: each look finds it a minute later.
#[derive(Debug)]
pub struct TestClock {
    seconds: Cell<i64>,
}

impl TestClock {
    /// Begins at 2026-03-02T09:14:07+01:00.
    pub fn new() -> Self {
        Self { seconds: Cell::new(1_772_439_247) }
    }

    pub fn advance(&self, seconds: i64) {
        self.seconds.set(self.seconds.get() + seconds);
    }
}

impl Default for TestClock {
    fn default() -> Self {
        Self::new()
    }
}

impl Clock for TestClock {
    fn now(&self) -> ZonedDateTime {
        let instant = Timestamp::from_second(self.seconds.get()).unwrap_or(Timestamp::UNIX_EPOCH);
        self.advance(60);
        instant.to_zoned_datetime(TimeZone::fixed(Offset::constant(1)))
    }
}

/// How long from one stamp to the other, in words: `2 h 15 min`. None if one of them is no stamp, or the clock was set
/// back between them.
pub fn between(earlier: &str, later: &str) -> Option<String> {
    Some(seconds(later)? - seconds(earlier)?).filter(|span| *span >= 0).map(in_words)
}

/// Whether one stamp is earlier than the other.
pub fn is_before(stamp: &str, other: &str) -> bool {
    seconds(stamp).zip(seconds(other)).is_some_and(|(stamp, other)| stamp < other)
}

fn seconds(stamp: &str) -> Option<i64> {
    stamp.parse::<Timestamp>().ok().map(Timestamp::as_second)
}

/// A span of time in the two units that matter: `40 s`, `2 h 15 min`, `3 days`.
pub fn in_words(seconds: i64) -> String {
    let (minutes, hours, days) = (seconds / 60, seconds / 3600, seconds / 86_400);
    match seconds {
        ..60 => format!("{seconds} s"),
        60..3600 => format!("{minutes} min"),
        3600..86_400 if minutes % 60 == 0 => format!("{hours} h"),
        3600..86_400 => format!("{hours} h {} min", minutes % 60),
        86_400..172_800 => "1 day".to_owned(),
        _ => format!("{days} days"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stamp_is_one_that_a_record_takes() {
        let clock = TestClock::new();
        assert_eq!(clock.stamp(), "2026-03-02T09:14:07+01:00");
        assert!(crate::record::check_time(&clock.stamp()).is_ok());
        assert!(crate::record::check_time(&SystemClock.stamp()).is_ok());
    }

    #[test]
    fn spans_are_said_as_people_say_them() {
        let earlier = "2026-03-02T09:14:07+01:00";
        let from = |later| between(earlier, later).unwrap();
        assert_eq!(from("2026-03-02T09:14:47+01:00"), "40 s");
        assert_eq!(from("2026-03-02T10:29:07+02:00"), "15 min");
        assert_eq!(from("2026-03-02T11:29:07+01:00"), "2 h 15 min");
        assert_eq!(from("2026-03-05T11:29:07+01:00"), "3 days");
        assert_eq!(between(earlier, "2026-03-02T09:00:00+01:00"), None);
        assert!(is_before("2026-03-02T09:00:00+01:00", earlier) && !is_before(earlier, earlier));
        assert_eq!(between("yesterday", "today"), None);
    }
}
