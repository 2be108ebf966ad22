//! A line that was sent is never lost, also while it is only said back: a walk that is cut off then goes on with the same
//! question, and nothing counts before it is confirmed.

use bedway::cli::clock::TestClock;
use bedway::cli::load::{self, Loaded};
use bedway::quantity::Unit;
use bedway::record::{MemoryStore, Writer, read};
use bedway::walk::as_example::as_example;
use bedway::walk::event::{Event, How};
use bedway::walk::machine::Machine;
use bedway::walk::replay::{Replayed, replay, verify};

use super::walking::{Walked, lines, procedure, program, resume, resume_at, walk, walk_at};

/// What is typed up to the bed of the day, without its last line: the operator and a row.
const ROW: &str = "Ann Example\n0 0.002 0.004 0.005\n";

/// Walks and is cut off behind the last line: the power goes, so that no pause is written.
fn cut_off(loaded: &Loaded, answers: &str) -> MemoryStore {
    let store = MemoryStore::default();
    walk(loaded, store.clone(), answers);
    without_pause(&store)
}

fn without_pause(store: &MemoryStore) -> MemoryStore {
    let bytes = store.bytes();
    let record = read(&bytes).unwrap();
    assert!(matches!(record.lines.last().unwrap().event, Event::Paused { .. }));
    MemoryStore::new(bytes[..*record.starts.last().unwrap() as usize].to_vec())
}

fn readings(store: &MemoryStore, of: &str) -> Vec<String> {
    let entered = lines(store).into_iter().filter_map(|line| match line.event {
        Event::Entered(entry) if entry.name == of => Some(entry.answer?.value),
        _ => None,
    });
    entered.collect()
}

/// One blank wherever there was any, so that a sentence is found however it was broken.
fn said(walked: &Walked) -> String {
    walked.screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn verified(loaded: &Loaded, store: &MemoryStore) {
    let events = lines(store);
    verify(program(loaded), events.iter().map(|line| (line.time.as_str(), &line.event))).unwrap();
}

#[test]
fn a_row_that_was_only_said_back_is_said_back_again_and_taken_with_enter() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, ROW);
    assert_eq!(readings(&store, "dial_at"), [""; 0], "not confirmed, it does not count");
    let after = resume(store.clone(), "\n");
    let text = said(&after);
    assert!(text.contains("Typed before the walk was left: 0 0.002 0.004 0.005"), "{text}");
    assert!(text.contains("150 mm: +0.005 mm, bed high") && text.contains("Take these?"), "{text}");
    assert_eq!(readings(&store, "dial_at"), ["0", "0.002", "0.004", "0.005"]);
    verified(&loaded, &store);
}

#[test]
fn an_unconfirmed_row_is_open_at_every_exit_and_a_row_that_was_refused_does_not_come_back() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, ROW);
    let after = resume(store.clone(), "no\n");
    assert!(said(&after).contains("Not taken. Type it again."), "{}", after.screen);
    let store = without_pause(&store);
    let again = resume(store.clone(), "0.001\n");
    assert!(!said(&again).contains("Take these?"), "{}", again.screen);
    assert_eq!(readings(&store, "dial_at"), ["0.001"]);

    let (machine, _) = replayed(&loaded, &cut_off(&loaded, ROW));
    let open = machine.status().open.join("; ");
    assert!(open.contains("said back, not confirmed yet: 0 0.002 0.004 0.005"), "{open}");
    let (machine, _) = replayed(&loaded, &store);
    assert!(!machine.status().open.join("; ").contains("said back"));
}

fn replayed(loaded: &Loaded, store: &MemoryStore) -> (Machine, usize) {
    let events = lines(store);
    let Replayed { machine, due, .. } =
        replay(program(loaded), events.iter().map(|line| (line.time.as_str(), &line.event))).unwrap();
    (machine, due.events.len())
}

/// The disk may end within a row that was confirmed: the rest of it is said back.
#[test]
fn of_a_row_that_was_taken_in_part_the_rest_is_said_back() {
    let loaded = procedure("day.bedway");
    let whole = MemoryStore::default();
    walk(&loaded, whole.clone(), &format!("{ROW}\n"));
    let bytes = whole.bytes();
    let record = read(&bytes).unwrap();
    let entered = |at: &usize| matches!(record.lines[*at].event, Event::Entered(_));
    let places: Vec<usize> = (0..record.lines.len()).filter(entered).collect();
    assert_eq!(places.len(), 4);
    for (taken, place) in places.iter().enumerate() {
        let store = MemoryStore::new(bytes[..record.starts[*place] as usize].to_vec());
        let after = resume(store.clone(), "\n");
        let missing = ["Take these?", "+0.002", "+0.004", "+0.005"][taken];
        assert!(said(&after).contains(missing), "{taken}: {}", after.screen);
        assert_eq!(readings(&store, "dial_at"), ["0", "0.002", "0.004", "0.005"], "{taken}");
        verified(&loaded, &store);
    }
}

/// What was called before the break and confirmed after it was read with the old zero; what comes then may not be.
#[test]
fn behind_a_row_of_before_the_break_it_is_asked_whether_the_zero_is_what_it_was() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, "Ann Example\n0 0.002\n");
    let after = resume(store.clone(), "\n");
    assert!(
        said(&after).contains("2 of 4 readings") && said(&after).contains("the walk was left"),
        "{}",
        after.screen
    );
    // A row that is whole leaves nothing to be asked.
    let store = cut_off(&loaded, ROW);
    let after = resume(store, "\n");
    assert!(!said(&after).contains("the walk was left."), "{}", after.screen);
}

#[test]
fn an_odd_value_is_queried_again_also_in_a_correction() {
    let loaded = procedure("day.bedway");
    let to_the_pad = "Ann Example\n0 0.002 0.004 0.005\n\n";
    let store = cut_off(&loaded, &format!("{to_the_pad}0.3\n"));
    let after = resume(store.clone(), "keep sure of it\n");
    assert!(said(&after).contains("Is it right?"), "{}", after.screen);
    assert_eq!(readings(&store, "pad"), ["0.3"]);
    let kept = |event: &Event| matches!(event, Event::Kept { reason, .. } if reason == "sure of it");
    assert!(lines(&store).iter().any(|line| kept(&line.event)));

    let store = cut_off(&loaded, &format!("{to_the_pad}0.003\n:correct B.pad = 0.4 misheard\n"));
    let after = resume(store.clone(), "\n");
    let corrected = lines(&store).into_iter().find_map(|line| match line.event {
        Event::Corrected { answer: Some(answer), reason, .. } => Some((answer.value, reason)),
        _ => None,
    });
    assert_eq!(corrected, Some(("0.4".to_owned(), "misheard".to_owned())), "{}", after.screen);
    verified(&loaded, &store);
}

#[test]
fn a_step_turned_to_and_a_command_without_its_reason_go_on_where_they_were() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, "Ann Example\ntake B\n");
    let after = resume(store.clone(), "0.003\n");
    assert_eq!(readings(&store, "pad"), ["0.003"], "{}", after.screen);

    let store = cut_off(&loaded, "Ann Example\nskip\n");
    let after = resume(store.clone(), "trolley in the way\n");
    assert!(said(&after).contains("Why is A left out?"), "{}", after.screen);
    assert!(
        lines(&store).iter().any(
            |line| matches!(&line.event, Event::Skipped { reason, .. } if reason == "trolley in the way")
        )
    );
}

const RUN_IN: &str = "\
language 1
procedure \"Run-in\"
decide simple
section one \"One\"
step A \"Spindle\"
  read temp in degC
    every 10 min for at most 40 min
    over place front, rear
  let top \"At the end\" = greatest(last(temp over time) over place)
  tolerance top at most 50 degC
";

#[test]
fn a_row_of_a_series_stands_at_the_time_at_which_it_was_typed() {
    let loaded = load::check("run-in.bedway", RUN_IN.as_bytes());
    let (store, clock) = (MemoryStore::default(), TestClock::new());
    walk_at(&loaded, store.clone(), "Ann Example\n\n20 21\n\n", &clock);
    let begun = without_pause(&store);
    clock.advance(600);
    resume_at(begun.clone(), "yes\n30 31\n", &clock);
    let store = without_pause(&begun);
    clock.advance(1200);
    let typed = lines(&store).last().unwrap().time.clone();
    let after = resume_at(store.clone(), "\n", &clock);
    let events = lines(&store);
    let started = events.iter().find(|line| matches!(line.event, Event::SeriesStarted { .. })).unwrap();
    let seconds = |time: &str| time.parse::<jiff::Timestamp>().unwrap().as_second();
    let minutes = (seconds(&typed) - seconds(&started.time)) / 60;
    let last = events.iter().rev().find_map(|line| match &line.event {
        Event::Entered(entry) => Some(entry.stations[0].clone()),
        _ => None,
    });
    assert!(
        last.as_ref().is_some_and(|it| it.starts_with(&format!("{minutes} min"))),
        "{last:?}: {}",
        after.screen
    );
    verified(&loaded, &store);
}

#[test]
fn an_odd_press_of_the_gauge_is_queried_again_and_stays_the_gauges() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, "Ann Example\n0 0.002 0.004 0.005\n\n");
    let (mut machine, _) = replayed(&loaded, &store);
    let reply = machine.gauge("0.3", Unit::Mm).unwrap();
    let (mut writer, _) = Writer::resume(store.clone()).unwrap();
    for event in reply.events {
        writer.append("2026-03-02T10:00:00+00:00", "operator", event).unwrap();
    }
    drop(writer);
    resume(store.clone(), "\n");
    let how = lines(&store).into_iter().rev().find_map(|line| match line.event {
        Event::Entered(entry) => Some((entry.how, entry.answer?.typed)),
        _ => None,
    });
    assert_eq!(how, Some((How::Gauge, "0.3".to_owned())));
}

#[test]
fn an_example_made_of_such_a_walk_says_only_what_was_taken() {
    let loaded = procedure("day.bedway");
    let store = cut_off(&loaded, &format!("{ROW}no\n0 0.001 0.002 0.003\n\n0.3\n"));
    let events = lines(&store);
    let events: Vec<(&str, &Event)> = events.iter().map(|line| (line.time.as_str(), &line.event)).collect();
    let text = as_example(&events, "so far").unwrap().text;
    assert!(text.contains("0.001") && !text.contains("0.005") && !text.contains("0.3"), "{text}");
}
