//! The record before, brought to a walk. What of it counts is on the new record, so that it can be taken up and judged again
//! without any other file.

use std::rc::Rc;

use bedway::cli::brought::{Before, Brought, prove};
use bedway::cli::clock::TestClock;
use bedway::cli::failure::{Failure, Status};
use bedway::cli::load::{self, Loaded};
use bedway::cli::session::Ending;
use bedway::record::MemoryStore;
use bedway::walk::event::Event;
use bedway::walk::replay;

use crate::commands::Folder;
use crate::kit::cards;
use crate::record::rechained;
use crate::transcripts::assert_screen_with;
use crate::walking::{Walked, lines, procedure, program, resume, transcript, walk, walk_with};

pub fn kit_of(text: &str) -> Brought {
    let loaded = load::check("drawer.kit.bedway", text.as_bytes());
    let kit = loaded.kit.expect("a kit without faults");
    Brought { kit: Some((kit, loaded.frozen)), before: None }
}

pub fn drawer() -> Brought {
    kit_of(&transcript("drill.kit.bedway"))
}

pub fn with_before(loaded: &Loaded, store: &MemoryStore) -> Brought {
    Brought { before: Some(proved(loaded, store).unwrap()), kit: None }
}

pub fn proved(loaded: &Loaded, store: &MemoryStore) -> Result<Before, Failure> {
    prove("last.record.jsonl", store.bytes(), &program(loaded), &loaded.frozen, false)
}

fn last_year() -> MemoryStore {
    let store = MemoryStore::default();
    walk(&procedure("drill-press.bedway"), store.clone(), &transcript("whole-walk.answers"));
    store
}

pub fn text(text: &str) -> Loaded {
    let loaded = load::check("p.bedway", text.as_bytes());
    let said = bedway::diagnostic::render(&loaded.source, &loaded.problems, 80, false);
    assert!(loaded.program.is_some(), "{said}");
    loaded
}

pub fn walked(loaded: &Loaded, brought: &Brought, answers: &str) -> (Walked, MemoryStore) {
    let store = MemoryStore::default();
    let walked = walk_with(loaded, brought, store.clone(), answers, &TestClock::new());
    (walked, store)
}

pub fn exceptions(store: &MemoryStore) -> Vec<String> {
    let closed = lines(store).into_iter().rev().find_map(|line| match line.event {
        Event::Closed { exceptions, .. } => Some(exceptions),
        _ => None,
    });
    closed.expect("the walk is closed")
}

/// Every verdict follows from the new record by itself.
pub fn verifies(loaded: &Loaded, store: &MemoryStore) {
    let lines = lines(store);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    let verified = replay::verify(program(loaded), events);
    assert!(verified.is_ok(), "{:?}", verified.err());
}

#[test]
fn a_year_after_nothing_is_retyped_and_last_times_values_stand_behind_the_entries() {
    let loaded = procedure("drill-press.bedway");
    let brought = with_before(&loaded, &last_year());
    let store = assert_screen_with("year-after", "drill-press.bedway", &brought);
    let first = lines(&store).remove(0).event;
    let Event::Opened { previous, .. } = first else { panic!("{first:?}") };
    assert_eq!(
        previous.as_deref(),
        Some(bedway::record::Digest::of(&last_year().bytes()).to_string().as_str())
    );
    let facts = lines(&store).into_iter().filter_map(|line| match line.event {
        Event::Fact { name, answer } => Some((name, answer.value)),
        _ => None,
    });
    let facts: Vec<(String, String)> = facts.collect();
    let fact = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    assert_eq!(facts, [fact("serial", "DP-0031"), fact("reach", "150"), fact("kind", "gears")]);
    assert_eq!(cards(&store)[0].number, "DG-4");
    verifies(&loaded, &store);
}

/// From the question to what is typed at it there is no word of last time, in any of the walks.
#[test]
fn last_times_value_is_never_shown_before_the_reading() {
    let screen = transcript("year-after.screen");
    let mut readings = 0;
    for asked in screen.split("\nstep ").skip(1) {
        let (question, _) = asked.split_once("\n> ").unwrap_or((asked, ""));
        if question.contains("reading ") {
            assert!(!question.contains("last time"), "{question}");
            readings += 1;
        }
    }
    let shown = screen.matches("\n  last time: ").count();
    assert!(readings >= 6 && shown >= readings, "{shown} of {readings} compared in {screen}");
}

const SHAKE: &str = "language 1\nprocedure \"Shake\"\ndecide simple\nfact serial \"Serial number\" text\nsection s \"s\"\nstep A \"a\"\n";

fn shake(lines: &str) -> Loaded {
    text(&format!("{SHAKE}{lines}"))
}

/// The verdict on A, with what it was held against.
fn verdict(loaded: &Loaded, brought: &Brought, answers: &str) -> (String, Option<String>) {
    let (screen, store) = walked(loaded, brought, answers);
    let judged = lines(&store).into_iter().rev().find_map(|line| match line.event {
        Event::Judged(judged) => judged.rules.into_iter().next(),
        _ => None,
    });
    verifies(loaded, &store);
    let rule = judged.unwrap_or_else(|| panic!("{}", screen.screen));
    (rule.verdict, rule.upper)
}

#[test]
fn a_rule_may_rest_on_the_value_as_left_and_takes_it_in_the_unit_of_now() {
    let then = shake("  read x in thou\n    unsigned\n  tolerance x at most 100 thou\n");
    let now = shake("  read x in mm\n    unsigned\n  tolerance x at most 1.5 * previous(A.x else 2 mm)\n");
    let store = MemoryStore::default();
    // As found 8 thou; the bolts were tightened; as left 4 thou, which is 0.1016 mm.
    walk(&then, store.clone(), "Ann\nM-1\n8\naltered A \"bolts\"\nagain A\n4\nsign\n");
    let before = with_before(&now, &store);
    assert_eq!(verdict(&now, &before, "Ann\n\n0.1524\n"), ("passed".into(), Some("0.1524".into())));
    assert_eq!(verdict(&now, &before, "Ann\n\n0.1525\n"), ("failed".into(), Some("0.1524".into())));
    // Nothing before: what stands behind `else`.
    assert_eq!(verdict(&now, &Brought::default(), "Ann\nM-1\n2.9\n"), ("passed".into(), Some("3".into())));
}

/// Who reads the report sees what a limit was worked out from.
#[test]
fn the_report_names_the_value_that_a_rule_took_from_the_record_before() {
    let then = shake("  read x in thou\n    unsigned\n  tolerance x at most 100 thou\n");
    let now = shake("  read x in mm\n    unsigned\n  tolerance x at most 1.5 * previous(A.x else 2 mm)\n");
    let (_, store) = walked(&then, &Brought::default(), "Ann Example\nM-1\n40\nsign\n");
    let (_, store) = walked(&now, &with_before(&now, &store), "Ann Example\n\n1\nsign\n");
    let folder = Folder::new();
    std::fs::write(folder.path("now.record.jsonl"), store.bytes()).unwrap();
    let (_, text) = folder.run(&["report", "now.record.jsonl"]);
    assert!(text.contains("From the record before, for a rule: x 1.016 mm"), "{text}");
}

#[test]
fn without_a_record_and_without_else_or_under_other_words_there_is_no_verdict() {
    let now = |words: &str, otherwise: &str| {
        shake(&format!(
            "  read x in mm\n{words}  let dx \"change\" = x - previous(A.x{otherwise})\n    plus \"more\"\n    minus \"less\"\n  tolerance dx within 0.1 mm\n"
        ))
    };
    let up = "    plus \"up\"\n    minus \"down\"\n";
    let toward = "    plus \"toward the wall\"\n    minus \"away from it\"\n";
    let store = MemoryStore::default();
    let then = now(up, " else 0 mm");
    walk(&then, store.clone(), "Ann\nM-1\n0.05\nsign\n");
    let before = with_before(&then, &store);
    let of = |loaded: &Loaded, brought: &Brought| verdict(loaded, brought, "Ann\nM-1\n0.02\n").0;
    assert_eq!(of(&now(up, ""), &before), "passed");
    assert_eq!(of(&now(up, ""), &Brought::default()), "invalid");
    // With other words even `else` does not step in: it was said, and means something else.
    assert_eq!(of(&now(toward, " else 0 mm"), &before), "invalid");
    assert_eq!(of(&now(toward, " else 0 mm"), &Brought::default()), "passed");
}

/// What was altered after the last try is not how the machine was left; what was never valid is no value.
#[test]
fn what_was_stale_or_invalid_at_the_end_is_not_compared_with() {
    let now = shake("  read x in mm\n    unsigned\n  tolerance x at most previous(A.x else 9 mm)\n");
    let then = shake("  read x in mm\n    unsigned\n  tolerance x at most 1 mm\n");
    let stale = MemoryStore::default();
    walk(&then, stale.clone(), "Ann\nM-1\n0.5\naltered A \"bolts\"\npause\n");
    assert_eq!(verdict(&now, &with_before(&now, &stale), "Ann\n\n5\n"), ("passed".into(), Some("9".into())));
    let void = shake(
        "  read x in mm\n    unsigned\n  valid when x at least 1 mm \"again\"\n  tolerance x at most 2 mm\n",
    );
    let invalid = MemoryStore::default();
    walk(&void, invalid.clone(), "Ann\nM-1\n0.5\npause\n");
    assert_eq!(
        verdict(&now, &with_before(&now, &invalid), "Ann\n\n5\n"),
        ("passed".into(), Some("9".into()))
    );
}

#[test]
fn the_record_of_another_machine_is_asked_about_and_named() {
    let loaded = shake("  read x in mm\n    unsigned\n  tolerance x at most 1 mm\n");
    let store = MemoryStore::default();
    walk(&loaded, store.clone(), "Ann\nM-1\n0.5\nsign\n");
    let before = with_before(&loaded, &store);
    let (screen, new) = walked(&loaded, &before, "Ann\nM-2\nyes\n0.4\nsign\n");
    assert!(
        screen.screen.contains("The record before is of M-1, and this is M-2: another machine."),
        "{}",
        screen.screen
    );
    assert_eq!(
        exceptions(&new),
        ["serial: the record before is of M-1, another machine; kept: said to be right"]
    );
    // Blanks and capitals make no other machine of it.
    let (_, same) = walked(&loaded, &before, "Ann\nm-1\n0.4\nsign\n");
    assert_eq!(exceptions(&same), Vec::<String>::new());
}

#[test]
fn a_damaged_torn_or_rehearsed_record_is_not_the_one_before() {
    let loaded = procedure("drill-press.bedway");
    let bytes = last_year().bytes();
    let why = |bytes: Vec<u8>| match proved(&loaded, &MemoryStore::new(bytes)) {
        Err(Failure::Said { status, message }) => (status, message),
        other => panic!("{other:?}"),
    };
    let altered =
        String::from_utf8(bytes.clone()).unwrap().replacen("\"value\":\"0.02\"", "\"value\":\"0.01\"", 1);
    let (status, message) = why(altered.into_bytes());
    assert_eq!(status, Status::Damaged);
    assert!(message.contains("is not taken as the record before"), "{message}");
    let (status, message) = why(bytes[..bytes.len() - 7].to_vec());
    assert_eq!(status, Status::Damaged);
    assert!(message.contains("was not finished"), "{message}");
    let rehearsed = MemoryStore::default();
    let mut writer = bedway::record::Writer::begin(rehearsed.clone()).unwrap();
    let first = bedway::cli::walk::opened(&program(&loaded), vec![loaded.frozen.clone()], None, true);
    writer.append("2026-03-02T09:14:07+01:00", "operator", first).unwrap();
    let (status, message) = why(rehearsed.bytes());
    assert_eq!(status, Status::Usage);
    assert!(message.contains("is a rehearsal: nothing was measured in it"), "{message}");
}

#[test]
fn what_is_to_be_known_of_the_record_before_is_said() {
    let then = shake("  read x in mm\n    unsigned\n  tolerance x at most 1 mm\n");
    let store = MemoryStore::default();
    walk(&then, store.clone(), "Ann\nM-1\n0.5\npause\n");
    let revised = text(&format!(
        "{}  read x in mm\n    unsigned\n  tolerance x at most 1 mm\n",
        SHAKE.replace("decide", "revision \"2\"\ndecide")
    ));
    let said = proved(&revised, &store).unwrap().remarks.join("\n");
    for words in ["another revision", "never closed", "Nobody has signed it"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let same = proved(&then, &store).unwrap().remarks.join("\n");
    assert!(!same.contains("revision"), "{same}");
}

/// What a shim did then is told when it is advised again.
#[test]
fn what_an_adjustment_did_is_told_when_it_is_advised_again() {
    let loaded = procedure("drill-press.bedway");
    let brought = with_before(&loaded, &last_year());
    let begun = "Ann Example\n\n\n\n\n";
    let (screen, _) = walked(&loaded, &brought, &format!("{begun}0.08 0.00\nyes\npause\n"));
    // -0.10 to 0.02 mm by a shim of 0.06 mm.
    let told = "last time: Shim under the table bracket at the front moved by +0.06 mm, shim added; Front against back \
                changed by +0.12 mm, front high (+2 mm for each mm)";
    assert!(unwrapped(&screen).contains(told), "{}", screen.screen);
    let again = format!("{begun}0.08 0.00\nyes\nadjust shim -0.01\nagain\n0.07 0\nyes\npause\n");
    let (screen, _) = walked(&loaded, &brought, &again);
    let told = "in the try before: Shim under the table bracket at the front moved by -0.01 mm, shim taken out; Front \
                against back changed by -0.01 mm, front low (+1 mm for each mm)";
    assert!(unwrapped(&screen).contains(told), "{}", screen.screen);
}

/// What is on the screen, as if it were wide.
fn unwrapped(walked: &Walked) -> String {
    walked.screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Cut after every answer and gone on with: the same walk comes out, with the same offers and comparisons.
#[test]
fn a_walk_with_a_kit_and_a_record_before_is_taken_up_anywhere_as_if_it_had_not_been_left() {
    let loaded = procedure("drill-press.bedway");
    let before = with_before(&loaded, &last_year()).before;
    let brought = Brought { before, ..drawer() };
    // The dial of last time lies in the drawer.
    let answers: Vec<String> = transcript("year-after.answers").lines().skip(1).map(str::to_owned).collect();
    let whole = MemoryStore::default();
    walk_with(&loaded, &brought, whole.clone(), &answers.join("\n"), &TestClock::new());
    verifies(&loaded, &whole);
    let what_happened = |store: &MemoryStore| -> Vec<String> {
        let events = lines(store).into_iter().map(|line| line.event);
        let told = events.filter(|event| !matches!(event, Event::Resumed { .. } | Event::Paused { .. }));
        let mut told: Vec<String> = told
            .map(|event| match event {
                Event::StepOpened { step, number, after } => format!("{step} {number} {}", after.len()),
                other => format!("{other:?}"),
            })
            .collect();
        told.retain(|event| !event.starts_with("Kept"));
        told
    };
    let expected = what_happened(&whole);
    assert!(expected.last().is_some_and(|last| last.starts_with("Closed")), "{expected:#?}");
    // Where nothing said back is waiting to be taken, and no series stands half read.
    for typed in [1, 3, 4, 5, 6, 8, 9, 10, 12, 14, 15] {
        let store = MemoryStore::default();
        walk_with(&loaded, &brought, store.clone(), &(answers[..typed].join("\n") + "\n"), &TestClock::new());
        let resumed = resume(store.clone(), &answers[typed..].join("\n"));
        assert_eq!(resumed.ending.ok(), Some(Ending::Closed), "after {typed}: {}", resumed.screen);
        assert_eq!(what_happened(&store), expected, "after {typed}");
        let events = lines(&store);
        let replayed = replay::verify(
            Rc::clone(&program(&loaded)),
            events.iter().map(|line| (line.time.as_str(), &line.event)),
        );
        assert!(replayed.is_ok(), "{:?}", replayed.err());
    }
}

/// A reading that is kept in divisions is worth what a division is worth.
#[test]
fn divisions_of_another_level_are_not_compared_with() {
    let level = |scale: &str| {
        text(&format!(
            "language 1\nprocedure \"p\"\ndecide simple\ninstrument level \"l\"\n  scale {scale} per div\nsection s \"s\"\n\
             step A \"a\"\n  read x in div using level\n    plus \"up\"\n    minus \"down\"\n  \
             let dx \"change\" = x - previous(A.x else 0 mm/m) in mm/m\n    plus \"more\"\n    minus \"less\"\n  tolerance dx within 0.1 mm/m\n"
        ))
    };
    let then = level("0.02 mm/m");
    let (_, store) = walked(&then, &Brought::default(), "Ann Example\nLV-1\n1\nsign\n");
    let (same, _) = verdict(&then, &with_before(&then, &store), "Ann Example\n\n1\n");
    assert_eq!(same, "passed");
    let coarser = level("0.05 mm/m");
    let brought = with_before(&coarser, &store);
    let (said, _) = walked(&coarser, &brought, "Ann Example\nLV-2\n1\n");
    assert!(said.screen.contains("a division was 0.02 mm/m then, and is 0.05 mm/m now"), "{}", said.screen);
    let (other, _) = verdict(&coarser, &brought, "Ann Example\nLV-2\n1\n");
    assert_eq!(other, "invalid");
}

#[test]
fn verify_holds_a_record_against_the_one_before() {
    let folder = Folder::new();
    let before = folder.signed();
    std::fs::write(folder.path("next"), transcript("year-after.answers")).unwrap();
    let walk =
        ["walk", "drill.bedway", "--record", "next.record.jsonl", "--answers", "next", "--previous", before];
    let (status, said) = folder.run(&walk);
    assert_eq!(status, 0, "{said}");
    let verify = |more: &[&str]| {
        let (_, said) = folder.run(&[&["verify", "next.record.jsonl"][..], more].concat());
        said.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(
        verify(&[]).contains("not proved: That what was lent from the record before is what it says"),
        "{}",
        verify(&[])
    );
    let said = verify(&["--previous", before]);
    assert!(said.contains("proved: The record before is the one that is named, and all"), "{said}");

    // One figure lent otherwise, and the chain made anew.
    let bytes = std::fs::read(folder.path("next.record.jsonl")).unwrap();
    let mut lines = bedway::record::read(&bytes).unwrap().lines;
    let lent = lines.iter_mut().find_map(|line| match &mut line.event {
        Event::PreviousValue { name, answers, .. } if name.contains('.') => answers.first_mut(),
        _ => None,
    });
    "0.5".clone_into(&mut lent.unwrap().value);
    std::fs::write(folder.path("next.record.jsonl"), rechained(&lines)).unwrap();
    let said = verify(&["--previous", before]);
    assert!(
        said.contains("NOT GOOD: What was lent from the record before is not what that record says"),
        "{said}"
    );
    // The record before was added to since.
    let (status, amended) =
        folder.run(&["amend", before, "Lamp was moved.", "--as", "Ann Example, operator"]);
    assert_eq!(status, 0, "{amended}");
    let said = verify(&["--previous", before]);
    assert!(said.contains("it is another one, or was added to"), "{said}");
}
