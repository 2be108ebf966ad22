//! Whole pages as a reader sees them: a report, a record under another revision, two records compared. To be read.

use bedway::record::Digest;
use bedway::report::compare::{Walked, compare, render as render_comparison};
use bedway::report::under::{Of, render as render_under, under as judged_under, walk};
use bedway::report::{Labels, Proof, Report, build, export, render, warnings};
use bedway::walk::machine::Machine;

use crate::two_revisions::{ANSWERS, FIRST, Walk, program, under, walked};

/// The headstock and the bed once more, a year on: other words on the dial, a tighter limit, one test more.
fn second() -> String {
    FIRST
        .replacen("plus    \"toward the operator\"", "plus    \"away from the operator\"", 1)
        .replacen("minus   \"away from the operator\"", "minus   \"toward the operator\"", 1)
        .replace("from -0.002 mm to 0.015 mm per 300 mm", "from -0.005 mm to 0.002 mm per 300 mm")
        .replace("revision  \"1\"", "revision  \"2\"")
        .replace("uncertainty fresh 0.002 mm/m k 2", "uncertainty fresh 0.003 mm/m k 2")
        .replace("step SOUND", "step BELT \"Belt\"\n  observe worn \"Is it worn?\" yes or no\n  require worn is no\n\nstep SOUND")
}

fn page(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(format!("page-{name}"), text));
}

fn report(walk: &Walk) -> (Report, Proof) {
    let program = std::rc::Rc::new(walk.machine.program().clone());
    let states =
        walk.machine.status().steps.into_iter().map(|step| (step.name, step.stand.to_string())).collect();
    let proof =
        Proof { record: "lathe.record.jsonl".into(), end: "0".repeat(64), states, ..Proof::default() };
    (build(&walk.lines, &Labels::new(Some(&program)), Some(&walk.machine)), proof)
}

fn named(machine: &Machine, text: &str) -> bedway::report::under::Walk {
    let sha256 = Digest::of(text.as_bytes()).to_string();
    walk(machine.program(), "lathe.bedway", &sha256, machine.status().verdict.words())
}

fn side<'a>(file: &str, walk: &'a Walk, text: &'a str) -> Walked<'a> {
    let (report, proof) = report(walk);
    Walked {
        file: file.to_owned(),
        end: "0".repeat(64),
        warnings: warnings(&report, &proof),
        walk: named(&walk.machine, text),
        report,
        machine: &walk.machine,
        text,
    }
}

#[test]
fn a_report_as_text_as_markdown_and_as_a_table() {
    let walk = walked(
        FIRST,
        &format!("{ANSWERS}correct AXIS.dial_at[180 deg, 300 mm] = 0.002 \"read again\"\nsign\n"),
    );
    let (report, proof) = report(&walk);
    page("report", &render(&report, &proof));
    page("report-markdown", &export::markdown(&report, &proof));
    page("report-csv", &export::table(&report, &proof).replace('\r', ""));
}

#[test]
fn a_record_under_another_revision() {
    let walk = walked(FIRST, &format!("{ANSWERS}sign\n"));
    let text = second();
    let (report, proof) = report(&walk);
    let sha256 = Digest::of(text.as_bytes()).to_string();
    let of = Of {
        file: "lathe.record.jsonl".into(),
        end: "0".repeat(64),
        machine: "Serial number: A-12".to_owned(),
        recorded: named(&walk.machine, FIRST),
        under: bedway::report::under::walk(&program(&text), "second.bedway", &sha256, ""),
        warnings: warnings(&report, &proof),
    };
    let found = judged_under(&of, &walk.machine, &under(&walk, &text));
    page("judge", &render_under(&found, &of));
}

#[test]
fn two_records_under_two_revisions() {
    let text = second();
    let old = walked(FIRST, &format!("{ANSWERS}sign\n"));
    let answers = ANSWERS.replace("300 mm\nDI-1", "150 mm\nDI-2").replace("0.004\n", "0.004\n\n");
    let answers = answers.replace("hum", "no\nhum\nsign");
    let new = walked(&text, &answers);
    let carried = under(&old, &text);
    let found = compare(
        &side("2026.record.jsonl", &old, FIRST),
        &side("2027.record.jsonl", &new, &text),
        Some(&carried),
    );
    page("compare", &render_comparison(&found));
}
