//! Whole walks as they look: the answers of `tests/transcripts/NAME.answers` give the screen of `NAME.screen`. After a
//! change that is meant, `BEDWAY_NEW_SCREENS=1 cargo test transcripts` writes the screens anew, to be read in the diff.

use std::path::Path;

use bedway::cli::brought::Brought;
use bedway::cli::clock::TestClock;
use bedway::cli::load;
use bedway::cli::session::Ending;
use bedway::record::{Fault, FaultyStore, MemoryStore, Writer};
use bedway::walk::event::{Event, How};
use bedway::walk::replay;

use crate::any_walk::{begun, type_line};
use crate::commands::Folder;
use crate::walking::{Walked, lines, procedure, program, resume, resume_asked, transcript, walk, walk_with};

fn assert_screen(name: &str, procedure_name: &str) -> MemoryStore {
    assert_screen_with(name, procedure_name, &Brought::default())
}

pub fn assert_screen_with(name: &str, procedure_name: &str, brought: &Brought) -> MemoryStore {
    let store = MemoryStore::default();
    let answers = transcript(&format!("{name}.answers"));
    let walked = walk_with(&procedure(procedure_name), brought, store.clone(), &answers, &TestClock::new());
    assert_shown(name, &walked);
    store
}

/// The report of a record, as one reads it in the shell, without its breaks of lines.
pub fn report_of(store: &MemoryStore) -> String {
    let folder = Folder::new();
    std::fs::write(folder.path("a.record.jsonl"), store.bytes()).unwrap();
    let (_, text) = folder.run(&["report", "a.record.jsonl"]);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn assert_shown_as(name: &str, screen: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/transcripts/{name}.screen"));
    if std::env::var_os("BEDWAY_NEW_SCREENS").is_some() {
        std::fs::write(&path, screen).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(screen == expected, "{name}.screen is not what the walk shows now:\n{screen}");
}

fn assert_shown(name: &str, walked: &Walked) {
    assert_shown_as(name, &walked.screen);
    assert!(walked.ending.is_ok(), "{:?}", walked.ending);
}

/// Rows come due by the clock whatever is done between, and every time is on the record.
#[test]
fn a_series_goes_on_while_another_step_is_taken_between_its_rows() {
    let store = assert_screen("run-in", "run-in.bedway");
    let times: Vec<String> = lines(&store)
        .into_iter()
        .filter_map(|line| match line.event {
            Event::Observed(entry) if entry.name == "sound" => entry.stations.first().cloned(),
            _ => None,
        })
        .collect();
    assert_eq!(times, ["2 min", "16 min", "20 min", "31 min", "43 min"]);
}

/// `show STEP` tells what was entered, try by try, by the words with which one of it is corrected.
#[test]
fn what_was_entered_is_shown_as_correct_takes_it() {
    let store = assert_screen("shown", "drill-press.bedway");
    let corrected: Vec<Event> = lines(&store)
        .into_iter()
        .map(|line| line.event)
        .filter(|event| matches!(event, Event::Corrected { .. }))
        .collect();
    assert_eq!(corrected.len(), 2, "{corrected:?}");
}

/// What was moved or said in words, and was said wrong, is put right by its number; the report keeps what it was.
#[test]
fn a_move_and_words_that_were_said_wrong_are_put_right_and_what_they_were_stays() {
    let store = assert_screen("put-right", "feet.bedway");
    let report = report_of(&store);
    for said in [
        "how much was -0.45 mm, taken out, corrected: a nought was lost",
        "how much was -0.045 mm, taken out, corrected: typed wrong",
        "torque was 25 Nm, corrected: misheard",
        "who was Bo Example, corrected: typed wrong",
        "STRUCK OUT, it never happened: that was the other stand",
        "before +0.18 mm/m, front high; predicted +0.092 mm/m, front high; obtained +0.005 mm/m, front high",
        "paint gone at the foot (F4): mended: painted (was paintd, corrected: typed wrong)",
        "lamp moved (was lamp movd, corrected: typed wrong)",
    ] {
        assert!(report.contains(said), "no {said} in\n{report}");
    }
}

/// Left in the middle of a series, taken up in a warmer room with the dial moved, and joined.
#[test]
fn a_broken_series_is_joined_after_a_pause_and_told_in_the_report() {
    let store = assert_screen("left", "bed.bedway");
    let walked = resume_asked(store.clone(), &transcript("taken-up.answers"));
    assert_shown("taken-up", &walked);
    let events: Vec<Event> = lines(&store).into_iter().map(|line| line.event).collect();
    let temperatures: Vec<&str> = events
        .iter()
        .filter_map(|event| match event {
            Event::Paused { temperature, .. } | Event::Resumed { temperature, .. } => temperature.as_ref(),
            _ => None,
        })
        .map(|answer| answer.typed.as_str())
        .collect();
    assert_eq!(temperatures, ["18.9", "22.4"]);
    let joined = events.iter().find_map(|event| match event {
        Event::Joined { stations, shift, disagreement, agreed, .. } => {
            Some((stations.join(" "), shift.as_str(), disagreement.as_str(), *agreed))
        }
        _ => None,
    });
    assert_eq!(joined, Some(("100 mm 150 mm".to_owned(), "0.01075", "0.0005", true)));
}

#[test]
fn a_series_whose_stations_do_not_agree_begins_again_and_what_was_read_is_kept() {
    let store = assert_screen("not-joined", "bed.bedway");
    let refused = |line: &bedway::record::Line| matches!(line.event, Event::Joined { agreed: false, .. });
    assert_eq!(lines(&store).iter().filter(|line| refused(line)).count(), 1);
}

#[test]
fn a_walk_with_a_fail_a_shim_and_a_witness_ends_accepted() {
    let store = assert_screen("whole-walk", "drill-press.bedway");
    let verdict = lines(&store).into_iter().rev().find_map(|line| match line.event {
        Event::Closed { verdict, .. } => Some(verdict),
        _ => None,
    });
    assert_eq!(verdict.as_deref(), Some("accepted"));
}

/// What was done stands on the record part by part, and in the report.
#[test]
fn an_adjustment_says_what_where_how_much_which_way_how_tight_and_who() {
    let store = assert_screen("adjusted", "drill-press.bedway");
    let moves: Vec<_> = lines(&store)
        .into_iter()
        .filter_map(|line| match line.event {
            Event::Adjusted(it) => Some(it),
            _ => None,
        })
        .collect();
    let torque = |at: usize| moves[at].torque.as_ref().map(|it| (it.value.as_str(), it.unit.as_deref()));
    assert_eq!(moves.len(), 3, "{moves:#?}");
    assert_eq!((torque(0), moves[0].by.as_deref()), (Some(("25", Some("Nm"))), Some("Bo Example")));
    let amount = moves[1].amount.as_ref().map(|it| (it.value.as_str(), it.unit.as_deref()));
    assert_eq!(
        (amount, moves[1].toward.as_deref()),
        (Some(("0.05", Some("mm"))), Some("the front, by hand"))
    );
    assert_eq!(moves[1].stations, ["the left bolt"]);
    assert_eq!((torque(2), &moves[2].by), (Some(("30", Some("Nm"))), &None));
    let report = report_of(&store);
    for said in [
        "R1 Shim under the table bracket at the front: -0.01 mm, shim taken out",
        "torque 25 Nm; by Bo Example",
        "R1 bracket tapped back at the left bolt: 0.05 mm, toward the front, by hand",
        "torque 30 Nm; by Ann Example",
    ] {
        assert!(report.contains(said), "{said}:\n{report}");
    }
}

/// A walk that is closed and not signed is taken up again with a reason, and closed anew; the record proves both.
#[test]
fn a_walk_that_is_closed_and_not_signed_is_taken_up_again_with_a_reason() {
    let loaded = procedure("drill-press.bedway");
    let store = MemoryStore::default();
    walk(&loaded, store.clone(), &transcript("whole-walk.answers"));
    let walked = resume_asked(store.clone(), &transcript("reopened.answers"));
    assert_shown("reopened", &walked);
    let lines = lines(&store);
    let ends: Vec<String> = lines
        .iter()
        .filter_map(|line| match &line.event {
            Event::Closed { verdict, .. } => Some(verdict.clone()),
            Event::Reopened { reason } => Some(reason.clone()),
            _ => None,
        })
        .collect();
    assert_eq!(ends, ["accepted", "the dial was not read after the lunch break", "accepted with exceptions"]);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    assert!(replay::verify(program(&loaded), events).is_ok());
    let report = report_of(&store);
    assert!(report.contains("ACCEPTED WITH EXCEPTIONS"), "{report}");
    assert!(report.contains("Closed as accepted, and taken up again 2026-"), "{report}");
    assert!(report.contains("the dial was not read after the lunch break"), "{report}");
}

/// Nothing that was only half said keeps a closed walk from being answered.
#[test]
fn closing_drops_what_was_only_half_said() {
    let mut walk = begun(&crate::any_walk::program(HALF_SAID), How::Typed, None);
    for line in ["Ann Example", "0.05", ""] {
        type_line(&mut walk, line);
    }
    type_line(&mut walk, "again A");
    assert!(walk.machine.question().ask.contains("really altered"), "{:?}", walk.machine.question());
    walk.machine.close().unwrap();
    assert!(walk.machine.question().ask.contains("closed"), "{:?}", walk.machine.question());
    assert!(type_line(&mut walk, "reopen forgotten"));
}

const HALF_SAID: &str = "language 1\nprocedure \"p\"\ndecide simple\nsection s \"S\"\nstep A \"A\"\n  read x in mm\n    \
                         plus \"high\"\n    minus \"low\"\n  tolerance x within 0.01 mm\n";

/// Between a walk's end and its signature nothing slips in; a signed walk is not taken up again.
#[test]
fn nothing_is_entered_in_a_closed_walk_and_a_signed_one_stays_closed() {
    let store = MemoryStore::default();
    walk(&procedure("drill-press.bedway"), store.clone(), &transcript("whole-walk.answers"));
    let (mut writer, _) = Writer::resume(store.clone()).unwrap();
    let time = "2026-03-02T12:00:00+01:00";
    let waived = Event::Waived {
        step: "R1".into(),
        reason: "it will do".into(),
        party: "owner".into(),
        name: "Bo".into(),
    };
    let fault = writer.append(time, "operator", waived).unwrap_err().to_string();
    assert!(fault.contains("after `closed` only `reopened`"), "{fault}");
    let reopened = || Event::Reopened { reason: "forgotten".into() };
    writer.append(time, "operator", reopened()).unwrap();
    let fault = writer.append(time, "operator", reopened()).unwrap_err().to_string();
    assert!(fault.contains("`reopened` only after `closed`"), "{fault}");

    let folder = Folder::new();
    let record = folder.signed();
    let (status, said) = folder.run(&["walk", "--resume", record]);
    assert!(status == 2 && said.contains("is signed, so nothing can be changed in it"), "{said}");
    let bytes = std::fs::read(folder.path(record)).unwrap();
    let (mut writer, _) = Writer::resume(MemoryStore::new(bytes)).unwrap();
    assert!(writer.append(time, "operator", reopened()).is_err());
}

#[test]
fn an_adjustment_on_withdrawn_advice_is_flagged_until_it_is_undone_or_justified() {
    let store = assert_screen("withdrawn", "feet.bedway");
    let report = report_of(&store);
    assert!(report.contains("Made on advice that a correction took away, and moved back since."), "{report}");
    assert!(report.contains("justified: the rear foot rocked without it"), "{report}");
    assert!(report.contains("read off the wrong division"), "{report}");
}

/// Typed wrong, doubted, altered: an entry put right, a second set, a second try.
#[test]
fn the_three_ways_to_read_again_are_told_apart() {
    let store = assert_screen("again", "drill-press.bedway");
    let events: Vec<Event> = lines(&store).into_iter().map(|line| line.event).collect();
    let count = |of: fn(&Event) -> bool| events.iter().filter(|event| of(event)).count();
    assert_eq!(count(|it| matches!(it, Event::Corrected { .. })), 1);
    assert_eq!(count(|it| matches!(it, Event::SetOpened { step, .. } if step == "R1")), 2);
    assert_eq!(count(|it| matches!(it, Event::StepOpened { step, .. } if step == "R1")), 2);
}

#[test]
fn steps_are_taken_by_name_as_far_as_what_they_need_stands() {
    assert_screen("order", "feet.bedway");
}

#[test]
fn what_is_open_stale_and_found_is_listed_and_signing_waits_for_it() {
    let store = assert_screen("at-the-end", "feet.bedway");
    let closed = lines(&store).into_iter().find_map(|line| match line.event {
        Event::Closed { verdict, exceptions, .. } => Some((verdict, exceptions.len())),
        _ => None,
    });
    assert_eq!(closed, Some(("accepted with exceptions".to_owned(), 3)));
}

#[test]
fn a_stop_has_no_way_round() {
    assert_screen("stopped", "run-in.bedway");
}

#[test]
fn a_stop_raised_by_hand_is_cleared_by_a_try_that_passes_and_a_series_that_never_settles_fails() {
    let store = assert_screen("raised", "run-in.bedway");
    let events: Vec<Event> = lines(&store).into_iter().map(|line| line.event).collect();
    assert!(events.iter().any(|it| matches!(it, Event::Stopped { by_hand: true, .. })));
    assert!(events.iter().any(|it| matches!(it, Event::Cleared { .. })));
}

#[test]
fn a_wait_goes_on_by_the_clock_across_a_restart() {
    let store = assert_screen("warming", "feet.bedway");
    assert_shown("warmed", &resume_asked(store, &transcript("warmed.answers")));
}

/// A name that was forgotten joins the list: what was read stays at its station, also where the stations behind it
/// move, and nothing has to be called an alteration.
#[test]
fn a_forgotten_name_is_added_to_a_list_and_what_was_read_stays() {
    let text = "language 1\nprocedure \"Listed\"\ndecide simple\nsection s \"S\"\nstep A \"Pads\"\n  read pad in mm\n    \
                over spot as listed \"Which pads?\"\n    over side left, right\n    plus \"high\"\n    minus \"low\"\n  \
                tolerance every pad within 0.010 mm\nstep B \"Needs A\"\n  needs A passed\n  observe fine \"Fine?\" yes or no\n  require fine\n";
    let loaded = load::check("listed.bedway", text.as_bytes());
    let store = MemoryStore::default();
    let begun = "Ann Example\nfront, rear\n0.001 0.002 0.1 0.004\nyes\n";
    let rest = "correct A.pad[rear, left] = 0.003 slip\nlist A.spot rear, middle\nlist A.spot front, rear, middle\n0.005 \
                0.006\nyes\ncorrect A.pad[rear, right] = 0.007 misheard\nyes\nsign\n";
    let walked = walk(&loaded, store.clone(), &format!("{begun}{rest}"));
    assert_eq!(walked.ending.ok(), Some(Ending::Closed), "{}", walked.screen);
    assert!(walked.screen.contains("What was forgotten is added behind them"), "{}", walked.screen);
    let report = report_of(&store);
    let read = "front: left: 0.001 mm right: 0.002 mm rear: left: 0.003 mm (was 0.1 mm, corrected: slip) right: 0.007 mm \
                (was 0.004 mm, corrected: misheard) middle: left: 0.005 mm right: 0.006 mm";
    assert!(report.contains(read), "{report}");
    let lines = lines(&store);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    assert!(replay::verify(program(&loaded), events).is_ok());
    assert!(!lines.iter().any(|line| matches!(line.event, Event::Adjusted(_))));
}

#[test]
fn slips_of_the_fingers_get_a_plain_word_and_lose_nothing() {
    assert_screen("slips-and-words", "drill-press.bedway");
}

/// One calls, another types: no word needs its quotes, and no value is taken for something else or lost unsaid.
#[test]
fn what_is_called_across_the_shop_is_taken_as_it_is_meant() {
    assert_screen("called-across", "drill-press.bedway");
}

#[test]
fn a_series_that_is_gone_on_with_after_a_pause_asks_whether_the_zero_still_holds() {
    let store = MemoryStore::default();
    let before = "Ann Example\nDP-0031\n150\nbelt\nDG-4\n0.01\npause\n";
    walk(&procedure("drill-press.bedway"), store.clone(), before);
    for (typed, goes_on) in [("yes\n", "reading 2 of 2"), ("no\n", "reading 1 of 2")] {
        let store = MemoryStore::new(store.bytes());
        let resumed = resume(store, typed);
        assert!(
            resumed.screen.contains("1 of 2 readings were taken, and the walk was left."),
            "{}",
            resumed.screen
        );
        assert!(resumed.screen.contains(goes_on), "{}", resumed.screen);
    }
}

/// The bar is in the spindle already: that step first, then what was left.
#[test]
fn a_step_may_be_taken_out_of_turn_unless_it_needs_another() {
    let answers =
        "Ann Example\nDP-0031\n150\nbelt\nDG-4\ntake R4\ntake R9\ntake R2\n0.01 -0.01\nyes\npause\n";
    let walked = walk(&procedure("drill-press.bedway"), MemoryStore::default(), answers);
    let at = |words: &str| walked.screen.find(words).unwrap_or_else(|| panic!("{words}: {}", walked.screen));
    assert!(at("> take R4") < at("Not taken: R4 needs R3"), "{}", walked.screen);
    assert!(at("> take R9") < at("There is no step R9"), "{}", walked.screen);
    assert!(at("> take R2") < at("R2 PASSED"), "{}", walked.screen);
    assert!(walked.screen.contains("Left at R1") || walked.screen.rfind("R1 Table") > Some(at("R2 PASSED")));
}

/// Asked at another step, and the machine untouched: that very step is read once more. A command that names a step is
/// no answer to what was altered.
#[test]
fn again_at_a_step_before_with_nothing_altered_reads_that_step_once_more() {
    let begun = "Ann Example\nDP-0031\n150\nbelt\nDG-4\n0.02 0\nyes\nagain R1\n";
    let answers = format!("{begun}again R1\nnothing\n0.03 0\nyes\npause\n");
    let walked = walk(&procedure("drill-press.bedway"), MemoryStore::default(), &answers);
    assert!(walked.screen.contains("again R1 looks like a command"), "{}", walked.screen);
    assert!(walked.screen.contains("Front against back: +0.03 mm, front high"), "{}", walked.screen);
}

/// A name that is asked for first is any text, and nobody is called by a list that can be shown.
#[test]
fn a_list_that_is_asked_for_is_nobodys_name() {
    let answers = "show words\nshow facts\nAnn Example\nDP-0031\npause\n";
    let walked = walk(&procedure("drill-press.bedway"), MemoryStore::default(), answers);
    assert!(walked.screen.contains("show words looks like a command"), "{}", walked.screen);
    assert!(walked.screen.contains("= Ann Example, operator"), "{}", walked.screen);
}

#[test]
fn signing_too_early_says_what_is_in_the_way() {
    let answers = "Ann Example\nDP-0031\n150\nbelt\nDG-4\nsign\npause\n";
    let walked = walk(&procedure("drill-press.bedway"), MemoryStore::default(), answers);
    assert!(walked.screen.contains("The walk is not at its end"), "{}", walked.screen);
}

#[test]
fn a_row_that_is_not_taken_yet_is_said_when_the_walk_is_left() {
    let answers = "Ann Example\nDP-0031\n150\nbelt\nDG-4\n0.01 0.02\npause\n";
    let walked = walk(&procedure("drill-press.bedway"), MemoryStore::default(), answers);
    assert!(walked.screen.contains("said back last is not confirmed"), "{}", walked.screen);
}

#[test]
fn a_stop_blocks_what_runs_the_machine_and_the_exit_lists_it() {
    assert_screen("knock", "drill-press.bedway");
}

/// Cut after every answer, cleanly and inside the next line, and gone on with: the same walk comes out.
#[test]
fn a_walk_that_is_cut_anywhere_and_resumed_comes_out_the_same() {
    let loaded = procedure("drill-press.bedway");
    let answers: Vec<String> = transcript("whole-walk.answers").lines().map(str::to_owned).collect();
    let whole = MemoryStore::default();
    walk(&loaded, whole.clone(), &answers.join("\n"));
    let expected = what_happened(&whole);
    let bytes = whole.bytes();

    let mut since = 0;
    let mut recorded = 0;
    for typed in 0..answers.len() {
        let part = MemoryStore::default();
        let walked = walk(&loaded, part.clone(), &(answers[..typed].join("\n") + "\n"));
        assert_eq!(walked.ending.unwrap(), Ending::Paused);
        // The last line says that the answers ran out; a power cut says nothing.
        let length = read_length_without_last(&part);
        // What was said back but not yet taken is typed again.
        if length != recorded {
            (since, recorded) = (typed, length);
        }
        for torn in [0, 1, 40] {
            let store = MemoryStore::new(bytes[..length + torn].to_vec());
            let asked = resume(MemoryStore::new(store.bytes()), "");
            let words: Vec<&str> = asked.screen.split_whitespace().collect();
            let untouched = if words.join(" ").contains("Is the set-up untouched") { "yes\n" } else { "" };
            let resumed = resume(store.clone(), &format!("{untouched}{}", answers[since..].join("\n")));
            assert_eq!(
                resumed.ending.ok(),
                Some(Ending::Closed),
                "cut after {typed} answers: {}",
                resumed.screen
            );
            assert_eq!(what_happened(&store), expected, "cut after {typed} answers and {torn} bytes");
        }
    }
}

fn read_length_without_last(store: &MemoryStore) -> usize {
    let record = bedway::record::read(&store.bytes()).unwrap();
    *record.starts.last().unwrap() as usize
}

/// The events of a record without those that only tell of interruptions.
fn what_happened(store: &MemoryStore) -> Vec<String> {
    let events = lines(store).into_iter().map(|line| line.event);
    let told = events.filter(|event| {
        !matches!(
            event,
            Event::Resumed { .. } | Event::Paused { .. } | Event::Broken { zero_intact: true, .. }
        )
    });
    told.map(|event| {
        // Line numbers move by the lines that tell of the interruption.
        match event {
            Event::StepOpened { step, number, after } => format!("{step} {number} after {}", after.len()),
            other => format!("{other:?}"),
        }
    })
    .collect()
}

#[test]
fn every_record_of_a_walk_verifies_by_replay() {
    let loaded = procedure("drill-press.bedway");
    for name in ["whole-walk", "slips-and-words", "knock"] {
        let store = MemoryStore::default();
        walk(&loaded, store.clone(), &transcript(&format!("{name}.answers")));
        let lines = lines(&store);
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        let verified = replay::verify(program(&loaded), events);
        assert!(verified.is_ok(), "{name}: {:?}", verified.err());
    }
}

/// The disk fills at every operation in turn: the walk says so, and what stands is whole and a part of the same walk.
#[test]
fn a_full_disk_at_any_moment_is_said_and_leaves_a_whole_record() {
    let loaded = procedure("drill-press.bedway");
    let answers = transcript("whole-walk.answers");
    let whole = MemoryStore::default();
    walk(&loaded, whole.clone(), &answers);
    let expected = what_happened(&whole);
    let (appends, syncs, reads) = whole.counts();
    for at in 1..appends + syncs + reads {
        let store = MemoryStore::default();
        let walked = walk(&loaded, FaultyStore::new(store.clone(), at, Fault::Full), &answers);
        let Err(bedway::cli::failure::Failure::Said { message, .. }) = walked.ending else {
            panic!("operation {at} failed and the walk did not say so");
        };
        assert!(message.contains("disk"), "{message}");
        if !store.bytes().is_empty() {
            let stands = what_happened(&store);
            assert!(expected.starts_with(&stands), "operation {at}: {stands:#?}");
        }
    }
}
