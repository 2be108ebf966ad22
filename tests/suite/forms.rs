//! What the reference says of the columns of the table and of the keys of the documents is what comes out.

use std::collections::BTreeSet;

use bedway::report::{Proof, export};
use bedway::walk::event::{Event, How};

use crate::chained::{answer, read, report_of};
use crate::exports::{read_back, valid};
use crate::opened::opened;

const REFERENCE: &str = include_str!("../../grammar/README.md");

/// The rows of the table under a heading of the reference, each by its cells.
fn rows(heading: &str) -> Vec<Vec<&'static str>> {
    let (_, part) = REFERENCE.split_once(heading).unwrap_or_else(|| panic!("no {heading}"));
    let part = part.split("\n#").next().unwrap();
    let lines = part.lines().filter(|line| line.starts_with("| ")).skip(1);
    lines.map(|line| line.trim_matches('|').split(" | ").map(str::trim).collect()).collect()
}

/// What stands as code in a cell.
fn words(cell: &str) -> Vec<String> {
    cell.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

#[test]
fn every_column_of_the_table_stands_in_the_reference_in_its_order() {
    let report = report_of([opened("t"), Event::Entered(read("A", "x", &[], answer("1", Some("mm"), "1")))]);
    let table = export::table(&report, &Proof::default());
    let heading = table.lines().next().unwrap();
    // What is not signed is said in the first heading too.
    let heading = heading.split(',').map(|head| if head.contains("warning") { "warning" } else { head });
    let told = rows("### Columns of the table").into_iter().flat_map(|row| words(row[0]));
    let told: Vec<String> = told.filter(|column| column != "at AXIS").collect();
    assert_eq!(told, heading.map(str::to_owned).collect::<Vec<_>>());
}

#[test]
fn every_key_is_described_in_its_schema_and_stands_in_the_reference() {
    let schemas = [
        export::schema::<export::Document>(),
        export::schema::<export::UnderDocument>(),
        export::schema::<export::CompareDocument>(),
    ];
    let mut known = BTreeSet::new();
    for schema in schemas {
        let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
        let root = (schema["title"].as_str().unwrap().to_owned(), schema.clone());
        let parts = schema["$defs"].as_object().unwrap().clone();
        for (name, part) in parts.into_iter().chain([root]) {
            let keys: BTreeSet<String> = part["properties"].as_object().unwrap().keys().cloned().collect();
            for key in &keys {
                let said = part["properties"][key]["description"].as_str().unwrap_or_default();
                assert!(!said.is_empty(), "{name}.{key} is not described");
            }
            known.insert((name, keys));
        }
    }
    let told = rows("### Keys of the documents").into_iter();
    let told: BTreeSet<_> =
        told.map(|row| (words(row[0]).remove(0), words(row[2]).into_iter().collect())).collect();
    assert_eq!(told, known);
}

/// A fact and two readings from a sheet whose day was first written wrong, and one that was typed at the machine.
#[test]
fn a_reading_from_paper_has_the_time_at_which_it_was_read_beside_that_of_typing() {
    let of = |station: &str, how| {
        let entry = read("A", "x", &[station], answer("0.004", Some("mm"), "0.004"));
        Event::Entered(bedway::walk::event::Entry { how, ..entry })
    };
    let sheet =
        |taken: &str, of| Event::Sheet { step: "A".into(), number: 1, taken: taken.into(), by: None, of };
    let events = [
        opened("t"),
        Event::Fact { name: "serial".into(), answer: answer("7", None, "7") },
        Event::StepOpened { step: "A".into(), number: 1, after: Vec::new() },
        sheet("2026-02-01", None),
        of("near", How::Sheet),
        sheet("2026-03-01T16:20:00", Some(4)),
        of("far", How::Sheet),
        of("end", How::Typed),
    ];
    let report = report_of(events);
    let rows = read_back(&export::table(&report, &Proof::default()));
    let told: Vec<[&str; 5]> = rows
        .iter()
        .map(|row| ["line", "time", "read_at", "how", "value"].map(|head| row[head].as_str()))
        .collect();
    let typed = "2026-03-02T09:14:07+01:00";
    assert_eq!(
        told,
        [
            ["2", typed, "", "", "7"],
            ["5", typed, "2026-03-01T16:20:00", "sheet", "0.004"],
            ["7", typed, "2026-03-01T16:20:00", "sheet", "0.004"],
            ["8", typed, "", "typed", "0.004"],
        ]
    );
    let json = export::json(&export::document(&report, &Proof::default()));
    valid(&export::schema::<export::Document>(), &json);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&json["machine"][0]["line"], &json["machine"][0]["time"]), (&2.into(), &typed.into()));
    let entries = &json["tests"][0]["tries"][0]["readings"][0]["entries"];
    assert_eq!(entries[0]["read_at"], "2026-03-01T16:20:00");
    assert!(entries[2].get("read_at").is_none());
}
