//! Two records of one machine: what has changed between them, what nobody can tell, what must not be compared.

use bedway::record::{Digest, Line};
use bedway::report::compare::{Change, Comparison, Kind, Taken, Walked, compare, render};
use bedway::report::under::walk;
use bedway::report::{Labels, build, export, width_of};

use crate::looked_over::faults;
use crate::two_revisions::{ANSWERS, FIRST, Walk, under, walked};

fn side<'a>(file: &str, walked: &'a Walk, text: &'a str) -> Walked<'a> {
    let program = walked.machine.program();
    let lines: &[Line] = &walked.lines;
    Walked {
        file: file.to_owned(),
        end: "0".repeat(64),
        report: build(lines, &Labels::new(Some(program)), Some(&walked.machine)),
        walk: walk(program, "lathe.bedway", &Digest::of(text.as_bytes()).to_string(), "accepted"),
        warnings: Vec::new(),
        machine: &walked.machine,
        text,
    }
}

/// The later one under a text of its own, where one is given.
fn compared(old_answers: &str, new_answers: &str, new_text: Option<&str>) -> Comparison {
    let text = new_text.unwrap_or(FIRST);
    let (old, new) = (walked(FIRST, old_answers), walked(text, new_answers));
    let carried = new_text.map(|text| under(&old, text));
    compare(&side("old", &old, FIRST), &side("new", &new, text), carried.as_ref())
}

/// A walk that reads the bar so far out at its end, both ways.
fn reading(far: &str, reach: &str) -> String {
    format!("Ann Example\n{reach}\nDI-1\n0\n{far}\n0\n{far}\n\nLV-1\n1 1 0.5\nyes\nhum\n")
}

fn between<'c>(found: &'c Comparison, what: &str) -> &'c Change {
    let row = found.rows.iter().find(|row| row.what == what);
    &row.unwrap_or_else(|| panic!("{what}: {:?}", found.rows)).between
}

#[test]
fn as_left_then_is_held_against_as_found_now() {
    // Then -0.006 mm as found, +0.006 mm as left; now +0.001 mm as found, and nothing was done.
    let found = compared(ANSWERS, &reading("0.001", "300 mm"), None);
    let lean = between(&found, "Lean over the bar");
    assert_eq!((lean.kind, lean.difference.as_deref()), (Kind::Changed, Some("-0.005")));
    assert_eq!(lean.said.as_deref(), Some("-0.005 mm, away from the operator"));
    // And what the work of the new walk did stands apart from it.
    let found = compared(&reading("0.006", "300 mm"), ANSWERS, None);
    let row = found.rows.iter().find(|row| row.what == "Lean over the bar").unwrap();
    assert_eq!(row.between.difference.as_deref(), Some("-0.012"));
    assert_eq!(row.work.as_ref().unwrap().difference.as_deref(), Some("0.012"));
}

#[test]
fn a_difference_within_the_uncertainty_of_both_is_no_change() {
    // U of each is 0.0008 mm with a resolution of 0.001 mm: 0.00099 mm. Of the difference: 0.0014 mm.
    let kind = |far: &str| {
        between(&compared(&reading("0.006", "300 mm"), &reading(far, "300 mm"), None), "Lean over the bar")
            .kind
    };
    assert_eq!(kind("0.006"), Kind::Same);
    assert_eq!(kind("0.007"), Kind::Within);
    assert_eq!(kind("0.008"), Kind::Changed);
}

#[test]
fn over_a_shorter_bar_the_same_lean_is_the_same() {
    let found = compared(&reading("0.006", "300 mm"), &reading("0.002", "100 mm"), None);
    let lean = between(&found, "Lean over the bar");
    assert_eq!((lean.kind, lean.per.as_deref()), (Kind::Same, Some("300 mm")));
    let text = render(&found);
    assert!(text.contains("Free length of the bar") && text.contains("100 mm"), "{text}");
}

#[test]
fn under_two_revisions_the_older_entries_are_judged_again_and_that_is_said() {
    let tighter = FIRST.replace("to 0.015 mm per 300 mm", "to 0.005 mm per 300 mm").replace("\"1\"", "\"2\"");
    let found = compared(&reading("0.006", "300 mm"), &reading("0.001", "300 mm"), Some(&tighter));
    let row = found.rows.iter().find(|row| row.what == "Lean over the bar").unwrap();
    assert_eq!(row.taken, Taken::JudgedAgain);
    assert_eq!(row.old.last().unwrap().verdict(), "passed", "what was signed stays what it was");
    assert_eq!(row.old_under_new.as_ref().unwrap().last().unwrap().verdict(), "failed");
    let text = render(&found).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("not the verdict that was signed"), "{text}");
    assert!(text.contains("limit then -0.002 to +0.015 mm, now -0.002 to +0.005 mm"), "{text}");
}

#[test]
fn words_of_another_meaning_are_never_subtracted() {
    let other = FIRST.replace("toward the operator", "up").replace("away from the operator", "down");
    let found = compared(&reading("0.006", "300 mm"), &reading("0.001", "300 mm"), Some(&other));
    let lean = between(&found, "Lean over the bar");
    assert_eq!((lean.kind, lean.difference.as_deref()), (Kind::NotCompared, None));
    assert!(lean.why.as_ref().unwrap().contains("\"up\""), "{lean:?}");
    assert!(found.remarks.refused[0].contains("dial_at"), "{:?}", found.remarks);
    // The words only swapped: turned round, and 0.006 against -0.006 is no change.
    let swapped = FIRST
        .replace("toward the operator", "x x")
        .replace("away from the operator", "toward the operator")
        .replace("x x", "away from the operator")
        .replace("from -0.002 mm to 0.015 mm", "from -0.015 mm to 0.002 mm");
    let found = compared(&reading("0.006", "300 mm"), &reading("-0.006", "300 mm"), Some(&swapped));
    assert_eq!(between(&found, "Lean over the bar").kind, Kind::Same);
}

#[test]
fn a_result_that_is_worked_out_otherwise_is_not_taken_for_the_same_one() {
    // One reading more is asked for, so the older entries do not fill the newer step; its lean is another figure too.
    let other = FIRST
        .replace("  let lean", "  read again in mm using dial\n    unsigned\n  let lean")
        .replace("gain(machine(dial_at over turn) over place)", "gain(dial_at[turn 0 deg] over place)");
    let answers = reading("0.001", "300 mm").replacen("\n\nLV-1", "\n0\n\nLV-1", 1);
    let found = compared(&reading("0.006", "300 mm"), &answers, Some(&other));
    assert_eq!(between(&found, "Lean over the bar").kind, Kind::NotCompared);
    // With the formula as it was each figure stands by its own revision.
    let other = FIRST.replace("  let lean", "  read again in mm using dial\n    unsigned\n  let lean");
    let found = compared(&reading("0.006", "300 mm"), &answers, Some(&other));
    let row = found.rows.iter().find(|row| row.what == "Lean over the bar").unwrap();
    assert_eq!((row.taken, row.between.difference.as_deref()), (Taken::OwnRevision, Some("-0.005")));
}

#[test]
fn what_only_one_of_them_has_is_named() {
    let other = FIRST.replace("step SOUND \"Sound\"", "step NOISE \"Noise\"");
    let found = compared(ANSWERS, &reading("0.001", "300 mm"), Some(&other));
    assert_eq!(
        (found.only_old.as_slice(), found.only_new.as_slice()),
        (["SOUND Sound".to_owned()].as_slice(), ["NOISE Noise".to_owned()].as_slice())
    );
}

#[test]
fn an_answer_that_was_required_is_compared_by_its_verdict() {
    let knocking = reading("0.006", "300 mm").replace("hum", "knock");
    let found = compared(ANSWERS, &knocking, None);
    let sound = between(&found, "How does it sound? must be smooth or hum");
    assert_eq!((sound.kind, sound.said.as_deref()), (Kind::Changed, None));
}

#[test]
fn the_same_is_said_in_every_form() {
    let tighter = FIRST.replace("to 0.015 mm per 300 mm", "to 0.005 mm per 300 mm");
    let found = compared(&reading("0.006", "300 mm"), ANSWERS, Some(&tighter));
    let json = export::json(&export::comparison(&found));
    crate::exports::valid(&export::schema::<export::CompareDocument>(), &json);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let row = &json["rows"][0];
    assert_eq!(
        (&row["between"]["kind"], &row["between"]["difference"]),
        (&"changed".into(), &"-0.012".into())
    );
    assert_eq!(row["then"]["found"]["verdict"], "passed");
    assert_eq!(row["then_under_now"]["found"]["verdict"], "failed");
    let table = &crate::exports::read_back(&export::comparison_table(&found))[0];
    let told = [
        "then left verdict",
        "then left under now verdict",
        "now found verdict",
        "between kind",
        "between difference",
    ];
    assert_eq!(told.map(|head| table[head].as_str()), ["passed", "failed", "failed", "changed", "-0.012"]);
    let page = export::comparison_page(&found);
    assert!(page.contains("CHANGED by -0.012 mm, away from the operator"), "{page}");
    assert!(page.contains("not the verdict that was signed"), "{page}");
    assert_eq!(faults(&export::comparison_html(&found)), Vec::<String>::new());
}

#[test]
fn no_line_is_wider_than_the_page_whatever_the_machine_is_called() {
    let text = FIRST.replace("Lean over the bar", "心押し台の傾き、棒の自由端まで、とても長い名前の検査項目");
    let found = compared(ANSWERS, &reading("0.001", "300 mm"), Some(&text));
    let page = render(&found);
    assert!(page.contains("心押し台"), "{page}");
    for line in page.lines() {
        assert!(width_of(line) <= 80, "{line}");
    }
}

#[test]
fn a_laid_out_result_that_is_only_reported_is_compared_place_by_place() {
    let text = FIRST.replace("tolerance rise within 20 um", "tolerance rise within 20 um\n  report height");
    let (old, new) = (walked(&text, ANSWERS), walked(&text, &ANSWERS.replace("1 1 0.5", "1 3 0.5")));
    let found = compare(&side("old", &old, &text), &side("new", &new, &text), None);
    let heights: Vec<_> = found.rows.iter().filter(|row| row.what.starts_with("Height, at")).collect();
    let said: Vec<_> =
        heights.iter().map(|row| (row.what.as_str(), row.between.difference.as_deref())).collect();
    // A division is 0.02 mm/m: two more of them over a foot of 125 mm lift all that lies behind by 5 um.
    let expected = [
        ("Height, at 0 mm", Some("0")),
        ("Height, at 125 mm", Some("0")),
        ("Height, at 250 mm", Some("5")),
        ("Height, at 375 mm", Some("5")),
    ];
    assert_eq!(said, expected);
}
