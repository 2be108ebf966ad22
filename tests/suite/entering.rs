//! What was read on paper and typed in later: with its own times, and judged as it would have been at the machine.

use std::path::Path;
use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::session::Ending;
use bedway::record::MemoryStore;
use bedway::walk::event::{Event, How, JudgedStep};
use bedway::walk::machine::Machine;
use bedway::walk::replay;
use proptest::prelude::*;

use crate::any_walk::program;
use crate::opened::opened;
use crate::series::WARM;
use crate::walking::{enter, lines, procedure, program as program_of, resume_entering, transcript, walk};

fn screen_is(name: &str, screen: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/transcripts/{name}.screen"));
    if std::env::var_os("BEDWAY_NEW_SCREENS").is_some() {
        std::fs::write(&path, screen).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(screen == expected, "{name}.screen is not what is shown now:\n{screen}");
}

fn events(store: &MemoryStore) -> Vec<Event> {
    lines(store).into_iter().map(|line| line.event).collect()
}

fn verified(store: &MemoryStore, program: Rc<Program>) -> Result<(), String> {
    let lines = lines(store);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    replay::verify(program, events).map(|_| ()).map_err(|mismatch| mismatch.to_string())
}

/// A run-in whose sheet lay in a drawer for a day, typed in with a few slips: times of day, minutes, a row too many.
#[test]
fn a_series_on_paper_is_typed_in_at_the_times_that_stand_beside_its_rows() {
    let (loaded, store) = (procedure("run-in.bedway"), MemoryStore::default());
    let walked = enter(&loaded, store.clone(), &transcript("from-a-sheet.answers"));
    screen_is("from-a-sheet", &walked.screen);
    assert_eq!(walked.ending.ok(), Some(Ending::Closed));
    let of_rows = events(&store).into_iter().filter_map(|event| match event {
        Event::Observed(entry) if entry.name == "sound" => Some((entry.stations[0].clone(), entry.how)),
        _ => None,
    });
    let rows: Vec<_> = of_rows.collect();
    let at = |minutes: &str| (format!("{minutes} min"), How::Sheet);
    assert_eq!(rows, [at("0"), at("11"), at("20"), at("30"), at("41")]);
    verified(&store, program_of(&loaded)).unwrap();
}

/// Hold, confirmations, an adjustment with its second sheet: the same answers with the times of the sheets between.
#[test]
fn a_whole_walk_from_paper_comes_to_the_verdicts_of_the_walk_itself() {
    let loaded = procedure("drill-press.bedway");
    let (bench, paper) = (MemoryStore::default(), MemoryStore::default());
    walk(&loaded, bench.clone(), &transcript("whole-walk.answers"));
    let typed = "Ann Example\nDP-0031\n150\nbelt\n2026-03-01 09:40, Bo Example\nDG-4, 2030-01-31\n-0.08\n0.02\n\
                 adjust R1.shim = 0.06 mm\nagain R1\n10:20\n0.02 0.00\nyes\n10:50\n0.01\n-0.01\n\nyes\nyes\nnone\n\
                 11:10\nBo Example\nyes\nsmooth\nsign\n";
    let walked = enter(&loaded, paper.clone(), typed);
    assert_eq!(walked.ending.ok(), Some(Ending::Closed), "{}", walked.screen);
    let judged = |store: &MemoryStore| -> Vec<JudgedStep> {
        let judged = events(store).into_iter().filter_map(|event| match event {
            Event::Judged(judged) => Some(judged),
            _ => None,
        });
        judged.collect()
    };
    assert_eq!(judged(&paper), judged(&bench));
    let pages = events(&paper).into_iter().filter_map(|event| match event {
        Event::Sheet { step, number, taken, by, .. } => Some((step, number, taken, by.is_some())),
        _ => None,
    });
    let pages: Vec<_> = pages.collect();
    let page =
        |step: &str, number, time: &str, by| (step.to_owned(), number, format!("2026-03-01T{time}:00"), by);
    assert_eq!(
        pages,
        [
            page("R1", 1, "09:40", true),
            page("R1", 2, "10:20", true),
            page("R2", 1, "10:50", true),
            page("R3", 1, "10:50", true),
            page("R4", 1, "11:10", true)
        ]
    );
    verified(&paper, program_of(&loaded)).unwrap();
}

/// Left and gone on with: the sheet of the step is asked for once more, since it may be another.
#[test]
fn typing_in_can_be_left_and_gone_on_with() {
    let loaded = procedure("drill-press.bedway");
    let store = MemoryStore::default();
    enter(
        &loaded,
        store.clone(),
        "Ann Example\nDP-0031\n150\nbelt\n2026-03-01 09:40, Ann Example\nDG-4\n0.02\npause\n",
    );
    // A time alone is one of the day of the sheet before.
    let resumed = resume_entering(store.clone(), "09:45\n0\npause\n");
    assert!(resumed.screen.contains("The sheet of R1: when was it read?"), "{}", resumed.screen);
    assert!(
        resumed.screen.contains("Enter alone: as the sheet before, read 2026-03-01 09:40"),
        "{}",
        resumed.screen
    );
    assert!(resumed.screen.contains("R1 read 2026-03-01 09:45"), "{}", resumed.screen);
    assert!(resumed.screen.contains("R1 PASSED"), "{}", resumed.screen);
    verified(&store, program_of(&loaded)).unwrap();
}

/// Calibrated until the day before it is typed in, and in date on the day it was used.
#[test]
fn an_instrument_is_in_date_by_the_day_of_the_sheet() {
    let loaded = procedure("drill-press.bedway");
    let begun = "Ann Example\nDP-0031\n150\nbelt\n";
    let on = |day: &str| {
        enter(&loaded, MemoryStore::default(), &format!("{begun}{day}\nDG-4, 2026-03-01\npause\n")).screen
    };
    assert!(!on("2026-03-01 09:40, Ann Example").contains("past its date"));
    assert!(on("2026-03-02 09:00, Ann Example").contains("past its date"));
}

#[test]
fn a_time_that_is_still_to_come_is_not_taken() {
    let loaded = procedure("drill-press.bedway");
    let answers = "Ann Example\nDP-0031\n150\nbelt\n2026-03-02 19:00, Ann Example\npause\n";
    let walked = enter(&loaded, MemoryStore::default(), answers);
    assert!(
        walked.screen.contains("2026-03-02 19:00 is still to come: it is 2026-03-02 09:"),
        "{}",
        walked.screen
    );
}

// ------------------------------------------------------------------------------------------------ the verifier

/// Everything of a run-in from paper, as events with the times of their lines.
fn on_paper(rows: &[(u32, String)]) -> Vec<(String, Event)> {
    let stamp = "2026-03-02T18:00:00+01:00";
    let mut machine = begun(How::Sheet, stamp);
    let mut kept = Vec::new();
    let mut types = |machine: &mut Machine, line: &str| {
        let reply = machine.answer(line).unwrap_or_else(|refusal| panic!("{line}: {refusal:?}"));
        kept.extend(reply.events.into_iter().map(|event| (stamp.to_owned(), event)));
    };
    for line in ["Ann Example", "2026-03-02 08:00, Ann Example", "yes", "08:00"] {
        types(&mut machine, line);
    }
    for (minutes, bearing) in rows {
        if !machine.is_series_running() {
            break;
        }
        types(&mut machine, &format!("{:02}:{:02} {bearing} 20", 8 + minutes / 60, minutes % 60));
        types(&mut machine, "yes");
    }
    kept
}

fn at_the_bench(rows: &[(u32, String)]) -> Vec<(String, Event)> {
    let stamp = |minutes: u32| format!("2026-03-02T{:02}:{:02}:00+01:00", 8 + minutes / 60, minutes % 60);
    let mut machine = begun(How::Typed, &stamp(0));
    let mut kept = Vec::new();
    let mut types = |machine: &mut Machine, minutes: u32, line: &str| {
        machine.set_time(&stamp(minutes));
        let reply = machine.answer(line).unwrap_or_else(|refusal| panic!("{line}: {refusal:?}"));
        kept.extend(reply.events.into_iter().map(|event| (stamp(minutes), event)));
    };
    for line in ["Ann Example", "yes", ""] {
        types(&mut machine, 0, line);
    }
    for (minutes, bearing) in rows {
        if !machine.is_series_running() {
            break;
        }
        types(&mut machine, *minutes, &format!("{bearing} 20"));
        types(&mut machine, *minutes, "yes");
    }
    kept
}

fn begun(how: How, time: &str) -> Machine {
    let mut machine = Machine::new(program(WARM));
    machine.entries_come(how);
    machine.set_time(time);
    machine.open(opened("Warm"));
    machine
}

fn verdict_on(lines: &[(String, Event)]) -> Result<(), String> {
    let opened = ("2026-03-02T08:00:00+01:00".to_owned(), opened("Warm"));
    let all = std::iter::once(&opened).chain(lines).map(|(time, event)| (time.as_str(), event));
    replay::verify(program(WARM), all).map(|_| ()).map_err(|mismatch| mismatch.to_string())
}

/// What follows from the entries: verdicts, stops, the end of the series.
fn what_follows(lines: &[(String, Event)]) -> Vec<&Event> {
    let events = lines.iter().map(|(_, event)| event);
    let follows =
        |it: &&Event| matches!(it, Event::Judged(_) | Event::Stopped { .. } | Event::SeriesEnded { .. });
    events.filter(follows).collect()
}

fn rows() -> impl Strategy<Value = Vec<(u32, String)>> {
    let row = (-4_i32..=4, prop_oneof![9 => 200..450_u32, 1 => 740..760_u32]);
    prop::collection::vec(row, 1..7).prop_map(|rows| {
        let row = |(index, (shift, tenths)): (usize, (i32, u32))| {
            let due = index as i32 * 10;
            ((due + shift).max(due / 10) as u32, format!("{}.{}", tenths / 10, tenths % 10))
        };
        rows.into_iter().enumerate().map(row).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// A sheet typed in at night is judged as the walk by the clock was: the same verdicts, the same stops, the same end.
    #[test]
    fn a_sheet_is_judged_as_the_walk_with_the_same_readings(rows in rows()) {
        let (paper, bench) = (on_paper(&rows), at_the_bench(&rows));
        prop_assert_eq!(what_follows(&paper), what_follows(&bench));
        prop_assert_eq!(verdict_on(&paper), Ok(()));
    }
}

fn four_rows() -> Vec<(String, Event)> {
    on_paper(&[(0, "20".to_owned()), (10, "28".to_owned()), (20, "28.2".to_owned()), (31, "28.3".to_owned())])
}

#[test]
fn the_verifier_demands_the_page_before_what_stood_on_it() {
    let mut lines = four_rows();
    lines.retain(|(_, event)| !matches!(event, Event::Sheet { .. }));
    let said = verdict_on(&lines).unwrap_err();
    assert!(said.contains("a line `sheet` of R before it"), "{said}");
}

#[test]
fn the_verifier_refuses_times_that_had_not_come_when_they_were_typed_in() {
    for change in [0, 1] {
        let mut lines = four_rows();
        for (_, event) in &mut lines {
            match event {
                Event::Sheet { taken, .. } if change == 0 => *taken = "2026-03-02T18:00:01".to_owned(),
                Event::SeriesStarted { at, .. } if change == 1 => {
                    *at = Some("2026-03-02T18:00:01".to_owned())
                }
                _ => {}
            }
        }
        let said = verdict_on(&lines).unwrap_err();
        assert!(said.contains("a time that had come when it was typed in"), "{said}");
    }
}

/// Begun at eight by the sheet and typed in at six: a row ten hours and a minute later cannot be.
#[test]
fn the_verifier_refuses_a_row_that_had_not_come_by_its_own_clock() {
    let mut lines = four_rows();
    for (_, event) in &mut lines {
        if let Event::Entered(entry) = event
            && entry.stations[0] == "31 min"
        {
            entry.stations[0] = "601 min".to_owned();
        }
    }
    let said = verdict_on(&lines).unwrap_err();
    assert!(said.contains("a row at 600 min or before"), "{said}");
}
