//! The report of a record: what a reader must find in it, and that nothing typed can spoil it.

use bedway::record::Digest;
use bedway::report::html::{self, Page};
use bedway::report::{Labels, Proof, build, export, render};
use bedway::walk::event::{
    Alteration, Answer, Entry, Event, How, InstrumentCard, JudgedStep, ResultLine, RuleLine, Torn,
};

use crate::chained::{answer, lines, read, rehearsal};
use crate::opened::opened;

fn entered(number: u32, station: &str, typed: &str) -> Event {
    let entry = read("L3", "tilt", &[station, "first"], answer(typed, Some("div"), typed));
    Event::Entered(Entry { number, ..entry })
}

fn judged(number: u32, value: &str, state: &str, says: &str) -> Event {
    Event::Judged(JudgedStep {
        step: "L3".into(),
        number,
        state: state.into(),
        results: vec![ResultLine {
            name: "twist".into(),
            values: vec![value.into()],
            unit: Some("mm/m".into()),
            says: Some(says.into()),
            expanded: Vec::new(),
        }],
        rules: vec![RuleLine {
            name: "twist".into(),
            verdict: state.into(),
            value: Some(value.into()),
            lower: Some("-0.04".into()),
            upper: Some("0.04".into()),
            unit: Some("mm/m".into()),
            place: None,
            uncertainty: None,
            notes: Vec::new(),
        }],
        advice: Vec::new(),
    })
}

const TITLE: &str = "Bench lathe: level";

fn begun() -> Event {
    let mut first = opened(TITLE);
    if let Event::Opened { parties, .. } = &mut first {
        parties.push("owner".into());
    }
    first
}

fn whole_walk() -> Vec<Event> {
    let step_opened = |number, after| Event::StepOpened { step: "L3".into(), number, after };
    vec![
        begun(),
        Event::Person { role: "operator".into(), name: "Ann Example".into() },
        Event::Fact { name: "serial".into(), answer: answer("BL-1\u{1b}[2J", None, "BL-1\u{1b}[2J") },
        Event::Instrument(InstrumentCard {
            name: "level".into(),
            number: "LV-2".into(),
            calibrated_until: Some("2026-01-31".into()),
            resolution: Some("0.2 div".into()),
            ..InstrumentCard::default()
        }),
        step_opened(1, Vec::new()),
        entered(1, "head", "0.6"),
        entered(1, "tail", "-4.5"),
        judged(1, "-0.1", "failed", "front falls toward the tail"),
        Event::Corrected {
            of: 6,
            answer: Some(answer("0.5", Some("div"), "0.5")),
            reason: "read again off the slip".into(),
        },
        Event::Adjusted(Alteration {
            step: "L3".into(),
            adjustment: Some("shim".into()),
            amount: Some(answer("0.016", Some("mm"), "0.016")),
            torque: Some(answer("25 N m", Some("Nm"), "25")),
            by: Some("Bo Example".into()),
            advised: Some("0.02 mm".into()),
            ..Alteration::default()
        }),
        step_opened(2, vec![10]),
        entered(2, "head", "0.5"),
        judged(2, "-0.02", "passed", "front falls toward the tail"),
        Event::Defect {
            number: 1,
            step: None,
            text: "chip tray cracked".into(),
            photo: Some(Answer { sha256: Some("0f".repeat(32)), ..answer("drain.jpg", None, "drain.jpg") }),
        },
        Event::Skipped { step: "L19".into(), reason: "tailstock away for repair".into() },
        Event::Resumed {
            torn: Some(Torn { bytes: 12, sha256: Digest::of(b"t").to_string() }),
            file_now: None,
            temperature: None,
        },
        Event::Closed {
            verdict: "accepted with exceptions".into(),
            exceptions: vec![
                "L19: skipped: tailstock away for repair".into(),
                "defect 1: chip tray cracked (photo drain.jpg): open".into(),
            ],
            open: Vec::new(),
            stale: Vec::new(),
        },
    ]
}

fn report_of(events: Vec<Event>) -> String {
    with_labels(events, &Labels::default())
}

fn with_labels(events: Vec<Event>, labels: &Labels<'_>) -> String {
    let proof = Proof { record: "lathe.record.jsonl".into(), ..Proof::default() };
    render(&build(&lines(events), labels, None), &proof)
}

#[test]
fn as_found_and_as_left_stand_side_by_side_with_their_direction() {
    let report = report_of(whole_walk());
    let row = report.lines().find(|line| line.contains("-0.1 mm/m") && line.contains("-0.02 mm/m"));
    assert!(row.is_some(), "{report}");
    assert!(report.contains("within 0.04 mm/m"), "{report}");
    assert!(
        report.contains("FAILED") && report.contains("twist = -0.1 mm/m, front falls toward the tail"),
        "{report}"
    );
}

#[test]
fn a_corrected_value_stands_with_what_it_was_and_why() {
    let report = report_of(whole_walk());
    let text = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("0.5 div (was 0.6 div, corrected: read again off the slip)"), "{report}");
}

#[test]
fn exceptions_defects_and_past_dates_are_named_and_the_order_is_the_customers() {
    let report = report_of(whole_walk());
    assert!(
        report.contains("tailstock away for repair") && report.contains("chip tray cracked: open"),
        "{report}"
    );
    let text = report.split_whitespace().collect::<String>();
    assert!(text.contains(&format!("photodrain.jpg,SHA-256{}", "0f".repeat(32))), "{report}");
    assert!(report.contains("PAST ITS DATE"), "{report}");
    let parts = [
        "Verdict",
        "The machine",
        "Exceptions, and what was not tested",
        "Tests",
        "What was altered, and what it did",
        "Defects",
        "Each test with its readings",
        "Instruments",
        "Procedure and record",
        "Signatures",
    ];
    let places: Vec<_> = parts
        .iter()
        .map(|part| report.find(&format!("\n{part}\n")).unwrap_or_else(|| panic!("{part}: {report}")))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn the_first_line_says_what_the_record_is_not() {
    assert!(report_of(whole_walk()).starts_with("*** NOT SIGNED"));
    assert!(report_of(vec![rehearsal(TITLE)]).starts_with("*** REHEARSAL"));
    assert!(report_of(vec![begun()]).starts_with("*** UNFINISHED"));
}

#[test]
fn nothing_typed_moves_the_cursor_and_no_line_is_wider_than_the_page() {
    let report = report_of(whole_walk());
    assert!(!report.contains('\u{1b}') && report.contains("BL-1\\u{1b}[2J"), "{report}");
    for line in report.lines() {
        assert!(bedway::report::width_of(line) <= 80, "{line}");
    }
}

/// A level along and across the bed in one reading: the words of the one must not be said of the other.
#[test]
fn a_station_with_words_of_its_own_is_reported_in_them() {
    let text = r#"
language  1
procedure "Stand"
decide    simple
section one "One"
step L1 "Level of the stand"
  read stance in mm/m
    over    direction along, across
    plus    "front high"
    minus   "rear high"
    station direction along plus "tail end high" minus "headstock end high"
  tolerance every stance within 0.2 mm/m
"#;
    let parsed = bedway::syntax::parse_text("stand.bedway", text);
    let program = bedway::check::check(&parsed).program.unwrap();
    let entry = |station: &str, typed: &str| {
        Event::Entered(Entry {
            step: "L1".into(),
            number: 1,
            set: 1,
            name: "stance".into(),
            stations: vec![station.into()],
            answer: Some(answer(typed, Some("mm/m"), typed)),
            reason: None,
            how: How::Typed,
        })
    };
    let rule = RuleLine {
        name: "stance".into(),
        verdict: "passed".into(),
        value: Some("0.06".into()),
        lower: Some("-0.2".into()),
        upper: Some("0.2".into()),
        unit: Some("mm/m".into()),
        place: Some("along".into()),
        uncertainty: None,
        notes: Vec::new(),
    };
    let judged = JudgedStep {
        step: "L1".into(),
        number: 1,
        state: "passed".into(),
        results: Vec::new(),
        rules: vec![rule],
        advice: Vec::new(),
    };
    let events = vec![
        begun(),
        Event::StepOpened { step: "L1".into(), number: 1, after: Vec::new() },
        entry("along", "0.06"),
        entry("across", "-0.04"),
        Event::Judged(judged),
    ];
    let report = with_labels(events, &Labels::new(Some(&program)));
    assert!(report.contains("tail"), "{report}");
    assert!(!report.contains("+0.06 mm/m, front"), "{report}");
    assert!(report.contains("but along: plus: tail end high; minus: headstock end high"), "{report}");
}

/// Signed on the day, added to a year later: the walk is a year old still, and who signed what stands beside each name.
#[test]
fn a_name_under_what_was_added_later_is_no_name_under_the_verdict_and_no_time_of_the_walk() {
    let signing = |party: &str, name: &str| Event::Signing {
        party: party.into(),
        name: name.into(),
        identity: name.to_lowercase(),
        key: String::new(),
        verdict: "accepted with exceptions".into(),
        exceptions: Vec::new(),
    };
    let signed = |bytes| Event::Signed { bytes, signature: String::new() };
    let mut events = whole_walk();
    let walked = events.len();
    events.extend([
        signing("operator", "Ann"),
        signed(100),
        Event::Amended { text: "the scale was off".into(), name: Some("Bo".into()) },
    ]);
    events.extend([signing("owner", "Bo"), signed(200)]);
    let mut lines = lines(events);
    for line in lines.iter_mut().skip(walked) {
        line.time = "2027-05-06T07:08:09+01:00".into();
        if matches!(line.event, Event::Amended { .. }) {
            line.who = "owner".into();
        }
    }
    let report = build(&lines, &Labels::default(), None);
    assert_eq!(report.signatures.iter().map(|it| it.amends).collect::<Vec<_>>(), [false, true]);
    let proof = Proof::default();
    let page = Page { report: &report, proof: &proof, machine: None, texts: &[] };
    let html = scraper::Html::parse_document(&html::page(&page));
    let parts = scraper::Selector::parse("header, main").unwrap();
    let said: String =
        html.select(&parts).flat_map(|part| part.text()).flat_map(|text| [text, " "]).collect();
    for form in [render(&report, &proof), export::markdown(&report, &proof), said] {
        let words = form.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("walked 2026-03-02 09:14 to 2026-03-02 09:14"), "{words}");
        assert!(words.contains("the verdict: accepted with exceptions"), "{words}");
        assert!(words.contains("what was added after the signing; the verdict stands"), "{words}");
        let head = words.split("Exceptions").next().unwrap().to_lowercase();
        assert!(head.contains("signed by ann") && !head.contains("signed by bo"), "{head}");
    }
    let json = serde_json::to_value(export::document(&report, &proof)).unwrap();
    assert_eq!(
        (&json["signatures"][0]["amends"], &json["signatures"][1]["amends"]),
        (&false.into(), &true.into())
    );
}
