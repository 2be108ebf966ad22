//! The report in forms that other programs read: nothing is lost, nothing typed can spoil it, the first line says what the
//! record is not.

use bedway::report::{Labels, Proof, build, export, html, render, width_of};
use bedway::walk::event::{Alteration, Answer, Event, InstrumentCard};
use proptest::prelude::*;
use pulldown_cmark::{Event as Mark, Options, Parser, Tag};

use crate::chained::{answer, read, rehearsal, report_of};
use crate::opened::opened;
use crate::two_revisions::{ANSWERS, FIRST, walked};

fn entered(station: &str, typed: &str, value: &str) -> Event {
    Event::Entered(read("A", "x", &[station], answer(typed, Some("mm"), value)))
}

fn proof() -> Proof {
    Proof { record: "lathe.record.jsonl".into(), ..Proof::default() }
}

/// Heading and rows of a table, each row by its headings.
pub fn read_back(table: &str) -> Vec<std::collections::HashMap<String, String>> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let heading = reader.headers().unwrap().clone();
    reader
        .records()
        .map(|record| {
            heading.iter().map(str::to_owned).zip(record.unwrap().iter().map(str::to_owned)).collect()
        })
        .collect()
}

/// A text without the apostrophe that keeps a spreadsheet from working it out.
pub fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\'']) => rest,
        _ => cell,
    }
}

/// Whatever a person may have typed into a text.
const ODD: [&str; 9] = [
    "\"quoted\", and; parted",
    "<script>alert(1)</script> & <b>bold</b>",
    "=1+1",
    "a | b `code` *strong* _low_ [link](http://x) ![picture](y) # none",
    "\u{1b}[2J\r\nnext\u{7}\0",
    "\u{202e}turned round\u{2066} עברית العربية",
    "心押し台の傾き",
    "~~gone~~ \\ back &amp; $x$ ---",
    "1. one",
];

/// Each odd text in every place that takes one.
fn odd_walk() -> Vec<Event> {
    let mut events = vec![opened(&ODD.join(" "))];
    for text in ODD {
        events.push(Event::Person { role: text.into(), name: text.into() });
        events.push(Event::Fact { name: text.into(), answer: answer(text, None, text) });
        events.push(Event::Instrument(InstrumentCard {
            name: text.into(),
            number: text.into(),
            calibrated_until: None,
            resolution: None,
            uncertainty: vec![text.into()],
            serial: Some(text.into()),
            certificate: Some(text.into()),
            from: None,
        }));
        events.push(Event::StepOpened { step: "A".into(), number: 1, after: Vec::new() });
        events.push(entered(text, "0.1", "0.1"));
        let of = events.len() as u64;
        events.push(Event::Corrected {
            of,
            answer: Some(answer("0.2", Some("mm"), "0.2")),
            reason: text.into(),
        });
        events.push(Event::Noted { step: Some("A".into()), text: text.into() });
        events.push(Event::Noted { step: None, text: text.into() });
        events.push(Event::Skipped { step: text.into(), reason: text.into() });
        let picture = Answer { sha256: Some("0".repeat(64)), ..answer(text, None, text) };
        let photo = Some(picture);
        events.push(Event::Defect { number: 1, step: Some(text.into()), text: text.into(), photo });
        events.push(Event::Mended { number: 1, text: text.into() });
        events.push(Event::Performed { step: "A".into(), role: text.into(), name: text.into() });
        events.push(Event::Adjusted(Alteration {
            step: "A".into(),
            what: Some(text.into()),
            stations: vec![text.into()],
            toward: Some(text.into()),
            torque: Some(answer(text, Some("Nm"), "25")),
            by: Some(text.into()),
            advised: Some(text.into()),
            ..Alteration::default()
        }));
    }
    events
}

pub fn valid(schema: &str, document: &str) {
    let schema: serde_json::Value = serde_json::from_str(schema).unwrap();
    let document: serde_json::Value = serde_json::from_str(document).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> =
        validator.iter_errors(&document).map(|fault| format!("{}: {fault}", fault.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

// ------------------------------------------------------------------------------------------------ the table

#[test]
fn every_reading_of_a_walk_stands_in_the_table_with_its_place_and_its_sense() {
    let walk =
        walked(FIRST, &format!("{ANSWERS}correct AXIS.dial_at[180 deg, 300 mm] = 0.002 \"read again\"\n"));
    let program = walk.machine.program();
    let report = build(&walk.lines, &Labels::new(Some(program)), Some(&walk.machine));
    let rows = read_back(&export::table(&report, &proof()));
    let entries =
        walk.lines.iter().filter(|line| matches!(line.event, Event::Entered(_) | Event::Observed(_))).count();
    let facts = walk.lines.iter().filter(|line| matches!(line.event, Event::Fact { .. })).count();
    assert_eq!(rows.len(), entries + facts + 1, "each entry, each fact, and the value that was struck out");
    let axis: Vec<[&str; 8]> = rows
        .iter()
        .filter(|row| row["step"] == "AXIS" && row["try"] == "2")
        .map(|row| {
            ["at turn", "at place", "standing", "value", "unit", "says", "reason", "how"]
                .map(|head| row[head].as_str())
        })
        .collect();
    assert_eq!(
        axis,
        [
            ["0 deg", "0 mm", "stands", "0", "mm", "", "", "typed"],
            ["0 deg", "300 mm", "stands", "0.008", "mm", "toward the operator", "", "typed"],
            ["180 deg", "0 mm", "stands", "0", "mm", "", "", "typed"],
            [
                "180 deg",
                "300 mm",
                "struck out",
                "0.004",
                "mm",
                "toward the operator",
                "corrected: read again",
                "typed"
            ],
            ["180 deg", "300 mm", "stands", "0.002", "mm", "toward the operator", "", "typed"],
        ]
    );
    let heard = rows.iter().find(|row| row["name"] == "heard").unwrap();
    assert_eq!(
        (heard["kind"].as_str(), heard["value"].as_str(), heard["at turn"].as_str()),
        ("observation", "hum", "")
    );
}

#[test]
fn what_is_no_plain_number_keeps_its_meaning_in_the_table() {
    let mut not_read = entered("c", "", "");
    if let Event::Entered(entry) = &mut not_read {
        (entry.answer, entry.reason) = (None, Some("behind the wall".into()));
    }
    let rows = read_back(&export::table(
        &report_of(vec![
            opened("t"),
            Event::StepOpened { step: "A".into(), number: 1, after: Vec::new() },
            entered("a", "over 200", "over 200"),
            entered("b", "1", "1/3"),
            not_read,
        ]),
        &proof(),
    ));
    let told: Vec<[&str; 5]> = rows
        .iter()
        .map(|row| ["standing", "value", "bound", "exact", "reason"].map(|head| row[head].as_str()))
        .collect();
    assert_eq!(
        told,
        [
            ["stands", "200", "over", "", ""],
            ["stands", "0.333333333333", "", "1/3", ""],
            ["not read", "", "", "", "behind the wall"],
        ]
    );
}

proptest! {
    /// Whatever stands in a cell, each line has as many cells as the heading, no cell is a formula, and numbers stay.
    #[test]
    fn any_text_reads_back_from_the_table(texts in prop::collection::vec("[\\PC\t\r\n\"',;=+@|-]{0,12}", 1..6), um in -9999i32..9999) {
        let number = format!("{}", f64::from(um) / 1000.0);
        let mut events = vec![opened("t"), Event::StepOpened { step: "A".into(), number: 1, after: Vec::new() }];
        events.extend(texts.iter().map(|text| entered(text, &number, &number)));
        events.extend(texts.iter().map(|text| Event::Fact { name: "f".into(), answer: answer(text, None, text) }));
        let rows = read_back(&export::table(&report_of(events), &proof()));
        prop_assert_eq!(rows.len(), 2 * texts.len());
        for (row, text) in rows.iter().filter(|row| row["kind"] == "fact").zip(&texts) {
            prop_assert_eq!(unguarded(&row["value"]), bedway::report::clean(text));
            let value = row["value"].as_str();
            prop_assert!(!value.starts_with(['=', '@']), "{}", value);
            let is_number = value.trim_start_matches(['+', '-']).parse::<f64>().is_ok();
            prop_assert!(!value.starts_with(['+', '-']) || is_number, "{}", value);
        }
        for row in rows.iter().filter(|row| row["kind"] == "reading") {
            prop_assert_eq!(&row["value"], &number);
        }
    }
}

/// Read as a browser reads it: no tag came out of a text, and each text stands there whole, its control characters spelled
/// out.
#[test]
fn nothing_typed_becomes_a_tag_of_the_page() {
    let mut events = odd_walk();
    events.extend(ODD.map(|text| Event::Amended { text: text.into(), name: None }));
    let report = report_of(events);
    let page = html::page(&html::Page { report: &report, proof: &proof(), machine: None, texts: &[] });
    let read = scraper::Html::parse_document(&page);
    assert!(read.errors.is_empty(), "{:?}", read.errors);
    let tags = scraper::Selector::parse("script, img, iframe, b b, section b > *").unwrap();
    assert_eq!(read.select(&tags).count(), 0);
    assert!(!page.contains(['\u{1b}', '\u{7}', '\0', '\u{202e}', '\u{2066}']));
    let said: String = read.root_element().text().collect();
    for text in ODD.map(bedway::report::clean) {
        // Person, fact, serial number, reading's place, reason, notes, defect, picture, what mended it, what was altered, amendment.
        assert!(said.matches(text.as_str()).count() >= 11, "{text}: {}", said.matches(text.as_str()).count());
    }
}

// ------------------------------------------------------------------------------------------------ the document

#[test]
fn the_document_keeps_to_its_schema_and_its_numbers_are_exact_texts() {
    let walk =
        walked(FIRST, &format!("{ANSWERS}correct AXIS.dial_at[180 deg, 300 mm] = 0.002 \"read again\"\n"));
    let program = walk.machine.program();
    let report = build(&walk.lines, &Labels::new(Some(program)), Some(&walk.machine));
    let json = export::json(&export::document(&report, &proof()));
    let schema = export::schema::<export::Document>();
    valid(&schema, &json);
    valid(&schema, &export::json(&export::document(&report_of(odd_walk()), &proof())));
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let entry = &json["tests"][0]["tries"][1]["readings"][0]["entries"][3];
    assert_eq!(
        (&entry["value"], &entry["unit"], &entry["says"]),
        (&"0.002".into(), &"mm".into(), &"toward the operator".into())
    );
    assert_eq!(entry["at"][0]["axis"], "turn");
    assert_eq!(entry["struck_out"][0]["value"], "0.004");
    let rule = &json["tests"][0]["tries"][1]["rules"][0];
    assert_eq!(
        (&rule["value"], &rule["lower"]["value"], &rule["upper"]["value"]),
        (&"0.005".into(), &"-0.002".into(), &"0.015".into())
    );
    // A number as a JSON number, or a key that the schema does not know, is refused.
    let mut spoilt = json.clone();
    spoilt["tests"][0]["tries"][1]["rules"][0]["value"] = 0.005.into();
    let validator = jsonschema::validator_for(&serde_json::from_str(&schema).unwrap()).unwrap();
    assert!(validator.is_valid(&json) && !validator.is_valid(&spoilt));
    spoilt = json;
    spoilt["more"] = "x".into();
    assert!(!validator.is_valid(&spoilt));
}

// ------------------------------------------------------------------------------------------------ odd texts

#[test]
fn every_odd_text_comes_through_the_document_as_it_was_typed_and_through_the_table_spelled_out() {
    let report = report_of([odd_walk(), vec![opened(&ODD.join(" "))]].concat());
    let json = export::json(&export::document(&report, &proof()));
    assert!(
        !json.chars().any(|letter| letter.is_control() && letter != '\n'),
        "control characters are escaped"
    );
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let rows = read_back(&export::table(&report, &proof()));
    for (at, text) in ODD.iter().enumerate() {
        assert_eq!(json["machine"][at]["value"], *text);
        assert_eq!(json["people"][at]["name"], *text);
        assert_eq!(json["instruments"][at]["number"], *text);
        assert_eq!(json["moves"][at]["what"], *text);
        assert!(json["defects"].as_array().unwrap().iter().any(|defect| defect["text"] == *text));
        assert_eq!(unguarded(&rows[at]["value"]), bedway::report::clean(text));
    }
}

#[test]
fn nothing_typed_becomes_a_mark_of_markdown() {
    let text = export::markdown(&report_of(odd_walk()), &proof());
    assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}') && !text.contains('\0'));
    let mut cells = 0;
    let mut width = 0;
    for event in
        Parser::new_ext(&text, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_MATH)
    {
        match event {
            Mark::Html(html) | Mark::InlineHtml(html) => panic!("a tag: {html}"),
            Mark::Code(code) => panic!("code: {code}"),
            Mark::InlineMath(math) | Mark::DisplayMath(math) => panic!("a formula: {math}"),
            Mark::Rule => panic!("a rule"),
            Mark::Start(
                Tag::Link { .. }
                | Tag::Image { .. }
                | Tag::Emphasis
                | Tag::Strikethrough
                | Tag::BlockQuote(_)
                | Tag::CodeBlock(_),
            ) => {
                panic!("a mark that nobody has made: {event:?}")
            }
            Mark::Start(Tag::List(Some(_))) => panic!("a numbered list"),
            Mark::Start(Tag::Table(columns)) => width = columns.len(),
            Mark::Start(Tag::TableRow | Tag::TableHead) => cells = 0,
            Mark::Start(Tag::TableCell) => {
                cells += 1;
                assert!(cells <= width, "a cell more than the heading has");
            }
            _ => {}
        }
    }
    let plain: String = Parser::new_ext(&text, Options::ENABLE_TABLES)
        .filter_map(|event| match event {
            Mark::Text(text) => Some(text.into_string()),
            _ => None,
        })
        .collect();
    for odd in ODD {
        assert!(plain.contains(bedway::report::clean(odd).as_str()), "{odd:?} is not said as it was typed");
    }
}

#[test]
fn a_page_of_text_keeps_its_width_and_its_screen_whatever_was_typed() {
    let long = "long ".repeat(100);
    let text = render(
        &report_of([odd_walk(), vec![Event::Noted { step: None, text: "x".repeat(500) }]].concat()),
        &proof(),
    );
    assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}') && !text.contains('\u{2066}'));
    for line in text.lines() {
        assert!(width_of(line) <= 80, "{line}");
    }
    let titled = report_of(vec![opened(&long)]);
    assert!(render(&titled, &proof()).split_whitespace().filter(|word| *word == "long").count() == 100);
    assert!(export::markdown(&titled, &proof()).contains(long.trim()));
    assert_eq!(export::document(&titled, &proof()).procedure.title, long);
}

// ------------------------------------------------------------------------------------------------ the first line

#[test]
fn the_first_line_of_every_form_says_in_words_what_the_record_is_not() {
    let damaged = Proof { warnings: vec!["DAMAGED: line 7 was changed.".into()], ..proof() };
    let cases = [
        (report_of(vec![rehearsal("t")]), proof(), "REHEARSAL"),
        (report_of(vec![opened("t")]), proof(), "UNFINISHED"),
        (report_of(vec![opened("t"), entered("a", "1", "1")]), damaged, "DAMAGED: line 7 was changed."),
    ];
    for (report, proof, words) in cases {
        let forms = [
            render(&report, &proof),
            export::markdown(&report, &proof),
            export::table(&report, &proof),
            export::json(&export::document(&report, &proof)),
        ];
        for form in forms {
            let first = form.lines().next().unwrap();
            assert!(first.contains(words), "{words}: {first}");
        }
    }
    // In a table it stands on each line too, so that no sorting loses it.
    let report = report_of(vec![rehearsal("t"), entered("a", "1", "1"), entered("b", "2", "2")]);
    let table = export::table(&report, &proof());
    assert_eq!(table.lines().filter(|line| line.contains("REHEARSAL")).count(), 3, "{table}");
}
