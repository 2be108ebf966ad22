//! A wait is measured by the clock, whatever comes between.

use std::cell::Cell;

use bedway::cli::clock::{Clock, TestClock};
use bedway::cli::load;
use bedway::record::MemoryStore;
use bedway::walk::event::Event;
use bedway::walk::replay;
use jiff::tz::{Offset, TimeZone};
use jiff::{Timestamp, ZonedDateTime};

use super::commands::Folder;
use super::walking::{lines, program, resume, walk, walk_at};

const SOAK: &str = "\
language 1
procedure \"Soak\"
decide simple
section one \"One\"
step A \"Bar at the temperature of the room\"
  wait 90 min \"Bar on the bed, doors shut\"
  observe even \"Do bar and bed feel the same?\" yes or no
  require even
";

#[test]
fn a_wait_that_was_begun_is_over_after_a_night_without_power() {
    let loaded = load::check("soak.bedway", SOAK.as_bytes());
    let store = MemoryStore::default();
    let before = walk(&loaded, store.clone(), "Ann Example\n\n\n");
    assert!(before.screen.contains("2 min of 90 min are over"), "{}", before.screen);

    // Two hours later the doors were shut all the time: Enter ends the wait, it is not begun again.
    let night = store.bytes();
    let after = resume(store.clone(), "yes\n\nyes\n");
    assert!(after.screen.contains("A PASSED"), "{}", after.screen);
    let count = |wanted: fn(&Event) -> bool| lines(&store).iter().filter(|line| wanted(&line.event)).count();
    assert_eq!(count(|event| matches!(event, Event::WaitStarted { .. })), 1);
    assert_eq!(count(|event| matches!(event, Event::WaitDone { .. })), 1);

    // Or they were not: then it begins again.
    let store = MemoryStore::new(night);
    let after = resume(store.clone(), "no\n\n");
    assert!(after.screen.contains("Did it go on"), "{}", after.screen);
    assert!(after.screen.contains("min of 90 min are over"), "{}", after.screen);
}

const TWO: &str = "\
language 1
procedure \"Two waits\"
decide simple
section one \"One\"
step A \"Glue\"
  wait 90 min \"Glue sets\"
  observe firm \"Is it firm?\" yes or no
  require firm
step B \"Bar\"
  wait 60 min \"Bar on the bed\"
  observe even \"Do bar and bed feel the same?\" yes or no
  require even
";

#[test]
fn the_wait_of_one_step_does_not_count_for_another() {
    let loaded = load::check("two.bedway", TWO.as_bytes());
    let answers = format!("Ann Example\n\n{}take B\n\n\n", "note still here\n".repeat(70));
    let walked = walk(&loaded, MemoryStore::default(), &answers);
    assert!(walked.screen.contains("60 min by the clock. Enter begins it."), "{}", walked.screen);
    assert!(walked.screen.contains("2 min of 60 min are over"), "{}", walked.screen);
}

/// Somebody set the clock back between two sittings, or the record was begun on a computer that goes ahead.
#[test]
fn a_clock_that_stands_before_the_last_line_is_said_when_the_walk_is_taken_up() {
    let loaded = load::check("soak.bedway", SOAK.as_bytes());
    let store = MemoryStore::default();
    let ahead = TestClock::new();
    ahead.advance(100 * 366 * 86_400);
    walk_at(&loaded, store.clone(), "Ann Example\n\n", &ahead);
    let folder = Folder::new();
    std::fs::write(folder.path("a.record.jsonl"), store.bytes()).unwrap();
    let (_, said) = folder.run(&["walk", "--resume", "a.record.jsonl"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("which is earlier: was it set back?"), "{said}");
    assert!(!said.contains("s ago"), "{said}");
}

/// Over midnight, on the night on which the clocks are put forward: 01:55, 03:05, 03:15 are ten minutes apart.
#[derive(Debug)]
struct Night(Cell<i64>);

impl Clock for Night {
    fn now(&self) -> ZonedDateTime {
        let instant = Timestamp::from_second(self.0.get()).unwrap();
        let summer = instant >= "2026-03-29T01:00:00Z".parse().unwrap();
        self.0.set(self.0.get() + 30);
        instant.to_zoned_datetime(TimeZone::fixed(Offset::constant(if summer { 2 } else { 1 })))
    }
}

#[test]
fn rows_and_waits_go_on_over_midnight_and_over_the_change_to_summer_time() {
    let text = "language 1\nprocedure \"Night\"\ndecide simple\nsection one \"One\"\nstep A \"Oil\"\n  read temp in degC\n    \
                every 10 min for at most 1 h\n    until temp steady within 1 K for 20 min\n  tolerance every temp at most 50 \
                degC\nstep B \"Soak\"\n  wait 20 min \"Soak\"\n  observe even \"Even?\" yes or no\n  require even\n";
    let loaded = load::check("night.bedway", text.as_bytes());
    for begins in ["2026-03-28T22:50:00Z", "2026-03-29T00:50:00Z"] {
        let store = MemoryStore::default();
        let begins: Timestamp = begins.parse().unwrap();
        let clock = Night(Cell::new(begins.as_second()));
        // Each look is half a minute later; notes while away the time.
        let notes = "note still here\n".repeat(9);
        let answers = format!(
            "Ann Example\n\n20\n{notes}20.2\n{notes}20.3\n{notes}20.3\n\n{}\nyes\nsign\n",
            "note soaking\n".repeat(20)
        );
        let walked = walk_at(&loaded, store.clone(), &answers, &clock);
        assert!(walked.screen.contains("A PASSED"), "{}", walked.screen);
        assert!(walked.screen.contains("B PASSED"), "{}", walked.screen);
        let rows: Vec<String> = lines(&store)
            .into_iter()
            .filter_map(|line| match line.event {
                Event::Entered(entry) => entry.stations.first().cloned(),
                _ => None,
            })
            .collect();
        assert!(rows.len() > 2, "{rows:?}\n{}", walked.screen);
        let minutes: Vec<i64> =
            rows.iter().map(|row| row.split(' ').next().unwrap().parse().unwrap()).collect();
        assert!(
            minutes.iter().enumerate().all(|(at, minute)| (minute - 10 * at as i64).abs() < 5),
            "{rows:?}"
        );
        let lines = lines(&store);
        assert_ne!(lines[0].time[..13], lines[lines.len() - 1].time[..13], "no hour went by");
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        assert!(replay::verify(program(&loaded), events).is_ok());
    }
}
