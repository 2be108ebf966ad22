//! The shop's kit, brought to a walk: which instrument it was, what is known of it, and what a number typed wrong changes.

use bedway::cli::clock::{Clock, TestClock};
use bedway::cli::session::Ending;
use bedway::record::MemoryStore;
use bedway::walk::event::{Event, InstrumentCard, Origin};

use crate::brought::{drawer, exceptions, kit_of, text, verifies, walked};
use crate::commands::Folder;
use crate::transcripts::assert_screen_with;
use crate::walking::{enter, lines, procedure, resume, walk_with};

pub fn cards(store: &MemoryStore) -> Vec<InstrumentCard> {
    let events = lines(store).into_iter().map(|line| line.event);
    events.filter_map(|event| if let Event::Instrument(card) = event { Some(card) } else { None }).collect()
}

#[test]
fn the_kit_offers_what_fits_and_what_it_says_goes_on_the_record() {
    let store = assert_screen_with("kit", "drill-press.bedway", &drawer());
    let cards = cards(&store);
    let numbers: Vec<&str> = cards.iter().map(|card| card.number.as_str()).collect();
    // DG-7 was chosen while nothing was read with DG-4 any more, DG-5 for the next step.
    assert_eq!(numbers, ["DG-4", "DG-7", "DG-5"]);
    assert_eq!(
        cards[0],
        InstrumentCard {
            name: "dial".into(),
            number: "DG-4".into(),
            calibrated_until: Some("2026-12-31".into()),
            resolution: Some("0.001 mm".into()),
            uncertainty: vec!["zero 0.002 mm k 2".into(), "fresh 0.001 mm k 2".into()],
            serial: Some("4711-4".into()),
            certificate: Some("C-25-090".into()),
            from: Some(Origin::Kit),
        }
    );
    assert_eq!(exceptions(&store), ["dial DG-5: calibrated until 2025-12-31, past its date"]);
    verifies(&procedure("drill-press.bedway"), &store);
}

#[test]
fn without_a_kit_the_number_is_typed_as_ever_and_with_one_it_still_may_be() {
    let begun = "Ann Example\nDP-0031\n150\nbelt\n";
    let (_, store) =
        walked(&procedure("drill-press.bedway"), &drawer(), &format!("{begun}X-1, 2030-01-01\n"));
    let card = cards(&store).remove(0);
    assert_eq!((card.number.as_str(), card.from), ("X-1", None));
    assert_eq!(card.resolution.as_deref(), Some("0.01 mm"), "what the procedure says of a dial");
}

/// A gauge that is called by a digit must not be taken for a place in the list, nor the other way round.
#[test]
fn a_number_that_could_be_a_place_in_the_list_is_not_guessed_at() {
    let kit = kit_of(
        "language 1\nkit \"k\"\ngauge \"2\" is dial\n  calibrated until 2026-12-31\ngauge \"B\" is dial\n  calibrated until 2026-12-31\n",
    );
    let begun = "Ann Example\nDP-0031\n150\nbelt\n";
    let (screen, store) = walked(&procedure("drill-press.bedway"), &kit, &format!("{begun}2\n\"2\"\n"));
    assert!(
        screen.screen.contains("2 is a place in the list, and also the number of a dial"),
        "{}",
        screen.screen
    );
    assert_eq!(cards(&store)[0].number, "2");
}

#[test]
fn a_resumed_walk_offers_what_the_kit_said_when_it_was_begun() {
    let (_, store) = walked(&procedure("drill-press.bedway"), &drawer(), "Ann Example\nDP-0031\n");
    let resumed = resume(store.clone(), "150\nbelt\nDG-4\npause\n");
    assert!(
        resumed.screen.contains("1  DG-4, calibrated until 2026-12-31, reads to 0.001 mm"),
        "{}",
        resumed.screen
    );
    assert_eq!(cards(&store)[0].certificate.as_deref(), Some("C-25-090"));
}

/// It was good when it was chosen, and its date passed before something was read with it.
#[test]
fn a_date_that_passes_during_the_walk_is_an_exception_too() {
    let loaded = text(
        "language 1\nprocedure \"p\"\ndecide simple\ninstrument dial \"d\"\nsection s \"s\"\nstep A \"a\"\n  read x in mm using dial\n    unsigned\n  tolerance x at most 1 mm\n",
    );
    let store = MemoryStore::default();
    let brought = kit_of("language 1\nkit \"k\"\ngauge \"D\" is dial\n  calibrated until 2026-03-02\n");
    walk_with(&loaded, &brought, store.clone(), "Ann\n\n", &TestClock::new());
    let clock = TestClock::new();
    clock.advance(86_400);
    assert!(clock.stamp().starts_with("2026-03-03"));
    let resumed = crate::walking::resume_at(store.clone(), "0.5\nsign\n", &clock);
    assert_eq!(resumed.ending.ok(), Some(Ending::Closed), "{}", resumed.screen);
    assert_eq!(exceptions(&store), ["dial D: calibrated until 2026-03-02, past its date"]);
    assert!(resumed.screen.contains("dial D is past its date since 2026-03-02"), "{}", resumed.screen);
}

/// b - a, both read in one set-up: the zero drops out with one dial, and does not with two.
#[test]
fn two_dials_have_two_zeros() {
    let loaded = text(
        "language 1\nprocedure \"p\"\ndecide guarded U\ninstrument dial \"d\"\n  uncertainty fresh 0.001 mm k 2\nsection s \"s\"\n\
         step A \"a\"\n  read a in mm using dial\n    plus \"up\"\n    minus \"down\"\n  report a\n\
         step B \"b\"\n  keeps A\n  read b in mm using dial\n    plus \"up\"\n    minus \"down\"\n  let rise \"rise\" = b - A.a\n  tolerance rise within 0.1 mm\n",
    );
    let kit = kit_of(
        "language 1\nkit \"k\"\ngauge \"D1\" is dial\n  calibrated until 2026-12-31\n  uncertainty zero 0.01 mm k 2\n\
         gauge \"D2\" is dial\n  calibrated until 2026-12-31\n  uncertainty zero 0.01 mm k 2\n",
    );
    let expanded = |answers: &str| {
        let (walked, store) = walked(&loaded, &kit, answers);
        let judged = lines(&store).into_iter().rev().find_map(|line| match line.event {
            Event::Judged(judged) if judged.step == "B" => judged.rules.into_iter().next(),
            _ => None,
        });
        verifies(&loaded, &store);
        judged.and_then(|rule| rule.uncertainty).unwrap_or_else(|| panic!("{}", walked.screen)).expanded
    };
    // By hand: 2 sqrt(2 x 0.0005^2), and 2 sqrt(2 x 0.0005^2 + 2 x 0.005^2).
    assert_eq!(expanded("Ann\nD1\n0\n0.01\n"), "0.00141421");
    assert_eq!(expanded("Ann\nD1\n0\nusing D2\n0.01\n"), "0.0142127");
    // It was one dial all along: only a number was typed wrong, the second or the first. Or it was another.
    let two = "Ann\nD1\n0\nusing D2\n0.01\n";
    assert_eq!(expanded(&format!("{two}correct instrument 2 = D1 because misread\n")), "0.00141421");
    assert_eq!(expanded(&format!("{two}correct instrument 1 = D2 because misread\n")), "0.00141421");
    let one = "Ann\nD1\n0\nusing D1\n0.01\n";
    assert_eq!(expanded(one), "0.00141421");
    assert_eq!(expanded(&format!("{one}correct instrument 2 = D2 because misread\n")), "0.0142127");
}

/// c - a, one dial, and another one between them: its zero is a new one, its scale is what it was.
#[test]
fn the_same_dial_has_its_scale_again() {
    let loaded = text(
        "language 1\nprocedure \"p\"\ndecide guarded U\ninstrument dial \"d\"\n  uncertainty fresh 0.001 mm k 2\nsection s \"s\"\n\
         step A \"a\"\n  read a in mm using dial\n    plus \"up\"\n    minus \"down\"\n  report a\n\
         step B \"b\"\n  read b in mm using dial\n    plus \"up\"\n    minus \"down\"\n  report b\n\
         step C \"c\"\n  read c in mm using dial\n    plus \"up\"\n    minus \"down\"\n  let rise \"rise\" = c - A.a\n  tolerance rise within 0.1 mm\n",
    );
    let gauge = |number: &str| {
        format!("gauge \"{number}\" is dial\n  calibrated until 2026-12-31\n  uncertainty scale 1 % k 2\n")
    };
    let kit = kit_of(&format!("language 1\nkit \"k\"\n{}{}", gauge("D1"), gauge("D2")));
    let expanded = |answers: &str| {
        let (walked, store) = walked(&loaded, &kit, answers);
        verifies(&loaded, &store);
        let judged = lines(&store).into_iter().rev().find_map(|line| match line.event {
            Event::Judged(judged) if judged.step == "C" => judged.rules.into_iter().next(),
            _ => None,
        });
        judged.and_then(|rule| rule.uncertainty).unwrap_or_else(|| panic!("{}", walked.screen)).expanded
    };
    // By hand: 2 sqrt(2 x 0.0005^2), and 2 sqrt(2 x 0.0005^2 + 2 x (0.005 x 1 mm)^2).
    assert_eq!(expanded("Ann\nD1\n1\nusing D2\n1\nusing D1\n1\n"), "0.00141421");
    assert_eq!(expanded("Ann\nD1\n1\nusing D2\n1\n1\n"), "0.0142127");
}

/// Which dial it was is put right when all is read: what was read with it is as uncertain as with the right one from the
/// beginning, and the report and the example say so.
#[test]
fn what_the_kit_says_of_the_right_instrument_comes_with_its_number() {
    let procedure = "language 1\nprocedure \"p\"\ndecide guarded U\ninstrument dial \"d\"\n  uncertainty fresh 0.001 mm k 2\nsection s \"s\"\n\
         step A \"a\"\n  read a in mm using dial\n    plus \"up\"\n    minus \"down\"\n  tolerance a within 0.012 mm\n";
    let loaded = text(procedure);
    let kit = kit_of(
        "language 1\nkit \"k\"\ngauge \"D1\" is dial\n  calibrated until 2026-01-31\n  uncertainty fresh 0.001 mm k 2\n\
         gauge \"D2\" is dial\n  calibrated until 2026-12-31\n  uncertainty fresh 0.008 mm k 2\n",
    );
    let judged = |answers: &str| {
        let (walked, store) = walked(&loaded, &kit, &format!("Ann\n{answers}sign\n"));
        verifies(&loaded, &store);
        let last = lines(&store).into_iter().rev().find_map(|line| match line.event {
            Event::Judged(judged) => judged.rules.into_iter().next(),
            _ => None,
        });
        let rule = last.unwrap_or_else(|| panic!("{}", walked.screen));
        (rule.verdict.clone(), rule.uncertainty.unwrap().expanded, exceptions(&store), store)
    };
    let (verdict, expanded, past, _) = judged("D1\n0.01\n");
    assert_eq!((verdict.as_str(), expanded.as_str(), past.len()), ("passed", "0.001", 1));
    let (verdict, expanded, past, _) = judged("D2\n0.01\n\n");
    assert_eq!((verdict.as_str(), expanded.as_str(), past.len()), ("undecided", "0.008", 0));
    let (verdict, expanded, past, store) = judged("D1\n0.01\ncorrect instrument 1 = D2 because misread\n\n");
    assert_eq!((verdict.as_str(), expanded.as_str(), past.len()), ("undecided", "0.008", 0));
    let report = crate::transcripts::report_of(&store);
    let struck = "d, no. D2: calibrated until 2026-12-31; fresh 0.008 mm k 2 number was D1, calibrated until 2026-01-31, \
                  corrected: misread";
    assert!(report.contains(struck), "{report}");
    // An example has no kit, and comes to the same.
    let folder = Folder::new();
    std::fs::write(folder.path("a.record.jsonl"), store.bytes()).unwrap();
    let (status, example) = folder.run(&["example", "a.record.jsonl"]);
    assert_eq!(status, 0, "{example}");
    assert!(example.contains("correct instrument 1 = dial \"D2\""), "{example}");
    std::fs::write(folder.path("p.bedway"), format!("{procedure}\n{example}")).unwrap();
    let (status, said) = folder.run(&["check", "p.bedway"]);
    assert_eq!(status, 0, "{said}\n{example}");
}

#[test]
fn an_instrument_typed_wrong_is_put_right_three_steps_later() {
    let store = assert_screen_with("instrument-put-right", "drill-press.bedway", &drawer());
    assert_eq!(exceptions(&store), Vec::<String>::new(), "DG-5 is past its date, and was not used");
    verifies(&procedure("drill-press.bedway"), &store);
    let report = crate::transcripts::report_of(&store);
    for said in [
        "Dial gauge on an arm, no. DG-4: calibrated until 2026-06-30; serial number 4711-4",
        "number was DG-5, calibrated until 2025-12-31, corrected: the tag was misread",
        "calibrated until was 2025-06-30, corrected: one year off",
    ] {
        assert!(report.contains(said), "{said}: {report}");
    }
    assert!(!report.contains("PAST ITS DATE"), "{report}");
}

/// What stands on a sheet was read on its day, whenever it is typed in; the report says of the date what the verdict says.
#[test]
fn an_instrument_of_a_sheet_was_in_date_on_the_day_of_the_sheet() {
    let loaded = text(
        "language 1\nprocedure \"p\"\ndecide simple\ninstrument dial \"d\"\nsection s \"s\"\nstep A \"a\"\n  read x in mm using dial\n    unsigned\n  tolerance x at most 1 mm\n",
    );
    let of = |more: &str| {
        let store = MemoryStore::default();
        let read = "Ann Example\n2026-02-01 09:00, Ann Example\nD1, 2026-02-15\n0.5\n";
        enter(&loaded, store.clone(), &format!("{read}{more}sign\n"));
        (exceptions(&store), crate::transcripts::report_of(&store).contains("PAST ITS DATE"))
    };
    assert_eq!(of(""), (Vec::new(), false));
    let past = vec!["dial D1: calibrated until 2026-01-15, past its date".to_owned()];
    assert_eq!(of("correct instrument 1 calibrated until = 2026-01-15 misread\n"), (past, true));
}

/// `back` reaches it, and `correct` finds it under each name it goes by.
#[test]
fn a_number_typed_wrong_is_seen_at_the_first_reading() {
    let begun = "Ann Example\nDP-0031\n150\nbelt\nDG-5\n0.03\n";
    let loaded = procedure("drill-press.bedway");
    let number = |typed: &str| {
        let (walked, store) = walked(&loaded, &drawer(), &format!("{begun}{typed}\n"));
        let right = lines(&store).into_iter().rev().find_map(|line| match line.event {
            Event::PutRight(by) => by.card.map(|card| card.number),
            _ => None,
        });
        right.unwrap_or_else(|| walked.screen.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    for typed in [
        "back\nback\nDG-4",
        "correct instrument 1\nDG-4",
        "correct instrument 1 DG-4 misread",
        "correct instrument 1 = dial \"DG-4\" misread",
        "correct instrument 1 = DG-4 \"misread\"",
    ] {
        assert_eq!(number(typed), "DG-4", "{typed}");
    }
    for typed in
        ["correct dial = DG-4", "correct instrument DG-4", "correct instrument = DG-4 because misread"]
    {
        assert!(
            number(typed).contains("correct instrument 1 = \"DI-07\" \"why\""),
            "{typed}: {}",
            number(typed)
        );
    }
    assert!(number("using DG-4").contains("If only its number was typed wrong: correct instrument 1 ="));
}
