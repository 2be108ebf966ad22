//! Is the time in step with the size? Each stage reads a procedure of growing length, and the `toml` crate a table of
//! as many bytes beside it, in one run on one machine. What counts are the two ratios: time a byte against the
//! smallest size (it should stay near 1), and time against `toml` on as many bytes.
//!
//! `cargo bench --bench linear`
#![allow(clippy::panic)]

#[path = "../shared/fastest.rs"]
mod fastest;

use std::fmt::Write as _;
use std::rc::Rc;

use fastest::fastest;

/// A stage that is measured: its name, and what it does with the text.
struct Stage {
    name: &'static str,
    run: fn(&str) -> usize,
}

const STAGES: &[Stage] = &[
    Stage { name: "parse", run: parse },
    Stage { name: "check", run: check },
    Stage { name: "prove", run: prove },
];

const SIZES: &[usize] = &[10_000, 100_000, 1_000_000, 5_000_000];

fn main() {
    println!("{:<8} {:>9} {:>11} {:>13} {:>11}", "stage", "bytes", "time", "per byte, x", "toml, x");
    for stage in STAGES {
        let mut first = None;
        for &size in SIZES {
            let procedure = procedure(size);
            let table = table(procedure.len());
            let ours = fastest(|| (stage.run)(&procedure));
            let theirs = fastest(|| table.parse::<toml::Table>().map_or(0, |table| table.len()));
            let per_byte = ours.as_secs_f64() / procedure.len() as f64;
            let smallest = *first.get_or_insert(per_byte);
            println!(
                "{:<8} {:>9} {:>11.3?} {:>13.2} {:>11.2}",
                stage.name,
                procedure.len(),
                ours,
                per_byte / smallest,
                ours.as_secs_f64() / theirs.as_secs_f64(),
            );
        }
    }
}

fn parse(text: &str) -> usize {
    let parsed = bedway::syntax::parse_text("bench", text);
    assert!(parsed.problems.is_empty(), "{:?}", parsed.problems.first());
    parsed.file.items.len()
}

fn check(text: &str) -> usize {
    program(text).steps.len()
}

/// Parsed, checked, and every example worked out.
fn prove(text: &str) -> usize {
    let program = Rc::new(program(text));
    let problems = bedway::walk::examples::prove(&program);
    assert!(problems.is_empty(), "{:?}", problems.first());
    program.examples.len()
}

fn program(text: &str) -> bedway::check::program::Program {
    let checked = bedway::check::check(&bedway::syntax::parse_text("bench", text));
    checked.program.unwrap_or_else(|| panic!("{:?}", checked.problems.first()))
}

/// A procedure of at least that many bytes: one step after another, each with its example.
fn procedure(bytes: usize) -> String {
    let mut text = String::from(
        "language 1\nprocedure \"Long\"\ndecide simple\n\
         instrument dial \"Lever indicator\"\n  resolution 0.001 mm\nsection all \"All steps\"\n",
    );
    let mut number = 0;
    while text.len() < bytes {
        number += 1;
        // Writing to a String does not fail.
        let _ = write!(
            text,
            r#"
step T{number} "Axis against carriage travel, place {number}"
  basis     "Common practice, for the author to confirm"
  setup     "Bar in the taper. Dial on the front of the bar,"
            "zeroed near the nose."
  read dial_at in mm using dial
    over    turn   0 deg, 180 deg
    over    place  0 mm, 300 mm
    plus    "toward the operator"
    minus   "away from the operator"
    sense   stays with the machine
  let lean "Lean" = gain(machine(dial_at over turn) over place)   # the bar itself drops out
  tolerance lean from 0 mm to 0.015 mm per 300 mm over span(dial_at over place) floor 0.005 mm
  remedy when lean outside "Swivel by {{aim(lean) - lean}}."
example "{number}"
  enter T{number}.dial_at = 0, 0.004; 0, 0.006
  expect T{number}.lean = 0.005 mm
  expect T{number} passes
"#
        );
    }
    text
}

/// A table of at least that many bytes.
fn table(bytes: usize) -> String {
    let mut text = String::new();
    let mut number = 0;
    while text.len() < bytes {
        number += 1;
        let _ = write!(
            text,
            "[step.T{number}]\ntitle = \"Axis against carriage travel, place {number}\"\nbasis = \"Common practice\"\n\
             turn = [0, 180]\nplace = [0, 300] # the bar itself drops out\nlimit = {{ from = 0.0, to = 0.015 }}\n\
             plus = \"toward the operator\"\nvalues = [0, 0.004, 0, 0.006]\n\n"
        );
    }
    text
}
