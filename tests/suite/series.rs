//! Series in time by a made-up clock: hours in milliseconds, rows at their real times, whatever comes between.

use std::rc::Rc;

use bedway::check::program::Program;
use bedway::walk::event::{Event, SeriesEnd};
use bedway::walk::machine::Machine;
use bedway::walk::question::Question;
use bedway::walk::replay::{Replayed, replay};
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Timestamp};

use crate::any_walk::program;
use crate::opened::opened;

pub const WARM: &str = "\
language 1
procedure \"Warm\"
decide simple
section one \"One\"
step R \"Run\"
  confirm \"Clear\"
  powered
  read temp in degC
    over  part bearing, room
    every 10 min for at most 1 h
    until rise steady within 1 K for 20 min
  let rise \"Rise\" = temp[part bearing] - temp[part room]
  let top \"Top\" = last(rise over time)
  tolerance top at most 25 K
  stop when temp above 75 degC \"Switch off.\"
step S \"Still\"
  read play in mm
    over turn one, two
    unsigned
  let worst \"Worst\" = greatest(play over turn)
  tolerance worst at most 0.1 mm
";

/// A walk, its clock in minutes, and what it wrote down when.
struct Bench {
    machine: Machine,
    minutes: f64,
    lines: Vec<(String, Event)>,
    program: Rc<Program>,
}

fn stamp(minutes: f64) -> String {
    let start: Timestamp = "2026-03-02T08:00:00+01:00".parse().unwrap();
    let now = start.checked_add(SignedDuration::from_secs((minutes * 60.0) as i64)).unwrap();
    now.to_zoned_datetime(TimeZone::fixed(Offset::constant(1))).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

impl Bench {
    /// Begun at minute 0, the operator named, the confirmation given, the clock of the series started.
    fn running() -> Self {
        let program = program(WARM);
        let mut bench =
            Self { machine: Machine::new(Rc::clone(&program)), minutes: 0.0, lines: Vec::new(), program };
        bench.machine.set_time(&stamp(0.0));
        let reply = bench.machine.open(opened("Warm"));
        bench.keep(reply.events);
        for line in ["Ann Example", "yes", ""] {
            bench.types(line);
        }
        bench
    }

    fn keep(&mut self, events: Vec<Event>) {
        let time = stamp(self.minutes);
        self.lines.extend(events.into_iter().map(|event| (time.clone(), event)));
    }

    /// Types a line now; what was said, or why it was not taken.
    fn types(&mut self, line: &str) -> String {
        match self.machine.answer(line) {
            Ok(reply) => {
                self.keep(reply.events);
                reply.said.iter().map(|said| said.text.clone()).collect::<Vec<_>>().join("\n")
            }
            Err(refusal) => format!("refused: {}", refusal.message),
        }
    }

    /// It is so many minutes since the start, and the question that stands then.
    fn at(&mut self, minutes: f64) -> Question {
        self.minutes = minutes;
        self.machine.set_time(&stamp(minutes));
        self.machine.question()
    }

    /// A whole row at a time, and what was said.
    fn row(&mut self, minutes: f64, bearing: &str, room: &str) -> String {
        self.at(minutes);
        let first = self.types(bearing);
        format!("{first}\n{}", self.types(room))
    }

    fn state(&self, step: &str) -> String {
        let status = self.machine.status();
        status.steps.into_iter().find(|it| it.name == step).unwrap().stand.to_string()
    }

    fn rows(&self) -> Vec<String> {
        let mut times: Vec<String> = Vec::new();
        for (_, event) in &self.lines {
            if let Event::Entered(entry) = event
                && entry.name == "temp"
                && times.last() != entry.stations.first()
            {
                times.push(entry.stations[0].clone());
            }
        }
        times
    }

    fn replayed(&self) -> (Machine, Vec<Event>) {
        let lines = self.lines.iter().map(|(time, event)| (time.as_str(), event));
        let Replayed { machine, due, .. } = replay(Rc::clone(&self.program), lines).unwrap();
        (machine, due.events)
    }
}

#[test]
fn rows_stand_at_the_times_at_which_they_were_taken_early_or_late() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.row(8.5, "27", "20"); // early for 10
    assert!(bench.at(12.0).ask.contains("at 20 min, in 8 min"), "{}", bench.at(12.0).ask);
    bench.row(23.2, "30", "20"); // late for 20
    assert_eq!(bench.rows(), ["0 min", "8 min 30 s", "23 min 12 s"]);
    assert!(bench.at(24.0).ask.contains("at 30 min"), "the next time is kept all the same");
}

#[test]
fn a_row_that_is_not_taken_by_half_way_to_the_next_is_missed_and_is_no_row() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    let question = bench.at(26.0);
    assert!(question.ask.contains("at 30 min"), "{question:?}");
    assert!(question.hints.contains(&"not taken: 10 min, 20 min".to_owned()), "{question:?}");
    bench.row(30.0, "30", "20");
    assert_eq!(bench.rows(), ["0 min", "30 min"]);
}

#[test]
fn it_says_how_far_it_still_moves_and_ends_when_it_is_steady() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.row(10.0, "28", "20");
    let said = bench.row(20.0, "31.6", "20");
    assert!(said.contains("20 min: not yet steady: Rise moved 11.6 K in 20 min, allowed 1 K"), "{said}");
    bench.row(30.0, "32.2", "20");
    let said = bench.row(40.0, "32.5", "20");
    assert!(said.contains("R PASSED"), "{said}");
    assert_eq!(bench.state("R"), "passed");
    let ended = bench
        .lines
        .iter()
        .any(|(_, event)| matches!(event, Event::SeriesEnded { rows: 5, because: SeriesEnd::Met, .. }));
    assert!(ended, "what ended it is on the record");
}

#[test]
fn at_the_end_of_its_time_without_being_steady_it_fails_whatever_the_limits_say() {
    let mut bench = Bench::running();
    for (minutes, bearing) in [(0.0, "20"), (20.0, "25"), (40.0, "30"), (60.0, "35")] {
        bench.row(minutes, bearing, "20");
    }
    assert_eq!(bench.state("R"), "failed");
    let rules = bench.lines.iter().rev().find_map(|(_, event)| match event {
        Event::Judged(judged) => Some(judged.rules.clone()),
        _ => None,
    });
    let rules = rules.unwrap();
    assert_eq!(
        rules.iter().map(|rule| (&*rule.name, &*rule.verdict)).collect::<Vec<_>>(),
        [("top", "passed"), ("until", "failed"),]
    );
    assert!(rules[1].notes[0].contains("Rise moved 5.0 K in 20 min, allowed 1 K"), "{:?}", rules[1].notes);
}

#[test]
fn nobody_came_back_the_series_is_closed_with_the_rows_there_are() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    let question = bench.at(90.0);
    assert!(question.ask.contains("is over"), "{question:?}");
    assert!(bench.types("31").starts_with("refused"), "no row belongs to it any more");
    bench.types("");
    assert_eq!(bench.state("R"), "failed");
    assert!(bench.replayed().1.is_empty());
}

#[test]
fn a_step_without_power_is_taken_meanwhile_and_the_walk_comes_back_when_a_row_is_due() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(1.0);
    bench.types("take S");
    assert_eq!(bench.at(2.0).place.unwrap().name, "S");
    bench.types("0.04");
    let place = bench.at(10.0).place.unwrap();
    assert_eq!(place.name, "R", "a row is due");
    bench.row(10.0, "28", "20");
    let place = bench.at(11.0).place.unwrap();
    assert_eq!((place.name.as_str(), place.reading), ("S", Some((2, 2))), "and goes on where it was");
}

/// The row became due between the question and its answer: the answer is still that of the question.
#[test]
fn an_answer_goes_to_the_question_that_was_read() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(1.0);
    bench.types("take S");
    assert!(bench.at(9.9).ask.starts_with("play"));
    bench.minutes = 10.2;
    bench.machine.set_answer_time(&stamp(10.2));
    bench.types("0.04");
    let last = bench.lines.iter().rev().find_map(|(_, event)| match event {
        Event::Entered(entry) => Some(entry.name.clone()),
        _ => None,
    });
    assert_eq!(last.as_deref(), Some("play"));
    assert_eq!(bench.at(10.3).place.unwrap().name, "R");
}

#[test]
fn a_walk_that_was_cut_at_any_line_goes_on_with_the_row_that_is_due_then() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.row(10.0, "28", "20");
    bench.at(12.0);
    bench.types("take S");
    bench.types("0.04");
    bench.row(21.0, "31", "20");
    for cut in 1..=bench.lines.len() {
        let lines = bench.lines[..cut].iter().map(|(time, event)| (time.as_str(), event));
        let mut machine = replay(Rc::clone(&bench.program), lines).unwrap().machine;
        // A night later the time of the series is over, wherever it was.
        machine.set_time(&stamp(600.0));
        let question = machine.question();
        let begun = bench.lines[..cut].iter().any(|(_, event)| matches!(event, Event::SeriesStarted { .. }));
        let half = question.ask.contains("Temperature") || question.ask.contains("temp, part room");
        assert!(!begun || half || question.ask.contains("is over"), "cut at {cut}: {question:?}");
    }
    let (mut machine, due) = bench.replayed();
    assert!(due.is_empty());
    machine.set_time(&stamp(29.0));
    bench.at(29.0);
    // What was turned to by name is not on the record: the walk goes on where it last was.
    assert!(machine.question().ask.contains("at 30 min, in 1 min"), "{:?}", machine.question());
}

#[test]
fn a_row_that_stands_later_than_its_own_line_is_found_by_verify() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.row(10.0, "28", "20");
    for (_, event) in &mut bench.lines {
        if let Event::Entered(entry) = event
            && entry.stations[0] == "10 min"
        {
            entry.stations[0] = "40 min".to_owned();
        }
    }
    let lines = bench.lines.iter().map(|(time, event)| (time.as_str(), event));
    let mismatch = replay(Rc::clone(&bench.program), lines).unwrap_err();
    assert!(mismatch.expected.contains("a row at 10 min or before"), "{mismatch}");
}

#[test]
fn a_stop_fires_in_the_middle_of_a_row_and_a_correction_lifts_it() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(10.0);
    let said = bench.types("275");
    assert!(said.contains("STOP"), "{said}");
    assert_eq!(bench.state("R"), "stopped");
    bench.types("correct R.temp[part bearing] at 10 min = 27.5 \"a figure too many\"");
    assert_eq!(bench.state("R"), "not reached");
    bench.types("20");
    bench.row(20.0, "31", "20");
    assert_eq!(bench.rows(), ["0 min", "10 min", "20 min"]);
    assert!(bench.replayed().1.is_empty());
}

#[test]
fn a_series_that_was_disturbed_begins_again_with_a_clock_of_its_own() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(7.0);
    bench.types("break R.temp \"the belt was off\"");
    assert!(bench.at(15.0).ask.contains("Enter starts the clock"), "{:?}", bench.at(15.0));
    bench.types("");
    bench.row(15.0, "22", "20");
    bench.row(25.0, "29", "20");
    assert_eq!(bench.rows(), ["0 min", "10 min"], "the second counts from its own start");
    assert!(bench.replayed().1.is_empty());
}

#[test]
fn a_row_read_in_time_and_typed_later_stands_when_it_was_read() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(13.0);
    assert!(bench.types("enter R.temp at 14 min = 28, 20").contains("still to come"));
    bench.types("enter R.temp at 10 min = 28, 20");
    assert!(bench.types("enter R.temp at 5 min = 25, 20").contains("rows go on in time"));
    assert_eq!(bench.rows(), ["0 min", "10 min"]);
    assert!(bench.replayed().1.is_empty());
}

#[test]
fn a_clock_that_is_set_back_takes_no_row_back() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.row(10.0, "28", "20");
    bench.at(4.0);
    bench.types("29");
    bench.types("20");
    assert_eq!(bench.rows(), ["0 min", "10 min", "10 min 1 s"]);
    assert!(bench.replayed().1.is_empty());
}

/// Whoever leaves is told that the clock goes on and that the machine runs, with the time on the wall.
#[test]
fn whoever_leaves_a_series_is_told_when_its_next_row_is_due() {
    let mut bench = Bench::running();
    bench.row(0.0, "20", "20");
    bench.at(4.0);
    assert_eq!(
        bench.machine.status().going_on,
        [
            "R Run: its next row is due at 10 min, 08:10 by the clock. The machine runs: stay with it, or switch it off"
        ]
    );
    bench.at(12.0);
    assert_eq!(
        bench.machine.status().going_on,
        ["R Run: a row is due now. The machine runs: stay with it, or switch it off"]
    );
}
