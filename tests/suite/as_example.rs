//! A walk written out as a worked example: the same words, the same verdicts.

use std::rc::Rc;

use bedway::check;
use bedway::cli::clock::{Clock, TestClock};
use bedway::syntax;
use bedway::tidy::tidy;
use bedway::walk::as_example::{NoExample, Written, as_example};
use bedway::walk::event::{Event, FileText, How};
use bedway::walk::examples::prove;
use bedway::walk::machine::Machine;
use proptest::prelude::*;

use crate::any_input::cases;
use crate::opened::opened;

use super::any_walk::{Move, Walk, begun, hows, make, moves, program, type_line};

/// The walk with its procedure in the first line, as on a record.
fn written(walk: &Walk, text: &str) -> Result<Written, NoExample> {
    let mut events = walk.events.clone();
    if let Some((_, Event::Opened { files, .. })) = events.first_mut() {
        files.push(FileText { name: "p.bedway".into(), sha256: String::new(), text: text.to_owned() });
    }
    let events: Vec<(&str, &Event)> = events.iter().map(|(time, event)| (time.as_str(), event)).collect();
    as_example(&events, "as walked")
}

fn fresh(text: &str) -> Walk {
    let clock = TestClock::new();
    let program = program(text);
    let mut machine = Machine::new(Rc::clone(&program));
    let time = clock.stamp();
    machine.set_time(&time);
    let events = machine.open(opened(&program.title)).events;
    let events = events.into_iter().map(|event| (time.clone(), event)).collect();
    Walk { machine, events, clock }
}

/// With the example behind it the procedure is still tidy and without faults, and the example comes out.
fn proved(text: &str, example: &str) {
    let whole = format!("{}\n\n{example}", text.trim_end());
    let parsed = syntax::parse_text("p.bedway", whole.as_str());
    let checked = check::check(&parsed);
    let program = checked.program.unwrap_or_else(|| panic!("{:#?}\n{example}", checked.problems));
    let problems = prove(&Rc::new(program));
    assert!(problems.is_empty(), "{problems:#?}\n{example}");
    let tidied = tidy(&syntax::parse_text("p.bedway", whole.as_str()));
    assert!(tidied.ends_with(example), "not tidy:\n{example}");
}

fn corpus() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file());
    files.sort();
    let name = |path: &std::path::Path| path.file_name().unwrap().to_string_lossy().into_owned();
    let read = |path: &std::path::PathBuf| (name(path), std::fs::read_to_string(path).unwrap());
    // What a file includes is not handed in here.
    files.iter().map(read).filter(|(_, text)| !text.contains("\ninclude ")).collect()
}

const BENCH: &str = include_str!("../transcripts/drill-press.bedway");

#[test]
fn a_walk_with_slips_tries_and_findings_reads_as_it_went() {
    let typed = [
        "Ann Example",
        "DP \"31\" {old}",
        "150",
        "belt",
        "DG-4",
        "-0,02",
        "0",
        "adjust",
        "altered bracket shimmed",
        "again R1",
        "1 thou",
        "0",
        "correct R1.sweep[front] = 0.03 \"misread\"",
        "note lamp moved",
        "0.01",
        "-0.01",
        "defect belt frayed",
        "yes",
        "yes",
        "none",
        "Bo Example",
        "yes",
        "hum",
    ];
    let mut walk = fresh(BENCH);
    for line in typed {
        let colon =
            if walk.machine.question().expects.is_text() && line.contains("defect") { ":" } else { "" };
        type_line(&mut walk, &format!("{colon}{line}"));
    }
    let written = written(&walk, BENCH).unwrap();
    assert_eq!(written.differences, [] as [String; 0], "{}", written.text);
    proved(BENCH, &written.text);
    assert_eq!(written.text, AS_WALKED);
}

const AS_WALKED: &str = r##"example "as walked"
  # Ann Example, operator
  given serial = "DP \"31\" {{old}}"
  given reach = 150 mm
  given kind = belt
  using dial "DG-4"
  enter R1.sweep = -0.02, 0
  expect R1 fails
  altered R1 "altered bracket shimmed"
  again R1
  enter R1.sweep = 0.0254, 0
  expect R1 passes
  correct R1.sweep[place front] = 0.03 "misread"
  note "lamp moved"
  enter R2.dial_at = 0.01, -0.01
  defect "belt frayed"
  observe R3.guard = yes
  observe R3.button = yes
  # Bo Example, owner
  held R4 by owner
  observe R4.sound = hum
  expect R1 passes
  expect R2 passes
  expect R3 passes
  expect R4 passes
  expect exceptions 1
  expect verdict accepted with exceptions
"##;

/// A whole walk, with two of each instrument in the drawer, one of them past its date; in every other case with what a
/// walk before it left, and at the machine or from paper.
fn walked(text: &str, moves: &[Move], how: How, has_before: bool) -> Walk {
    let program = program(text);
    let play = |before: Option<&Machine>| {
        let mut walk = begun(&program, how, before);
        moves.iter().for_each(|it| make(&mut walk, it, how));
        walk
    };
    match has_before {
        true => play(Some(&play(None).machine)),
        false => play(None),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(4), failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever was typed, left or finished: the example checks out, is tidy, and is the same walk, try by try, to the
    /// same verdict. Nothing is left that an example cannot say.
    #[test]
    fn any_walk_can_be_told_as_an_example(moves in moves(), how in hows(), has_before in any::<bool>()) {
        for (file, text) in corpus() {
            let walk = walked(&text, &moves, how, has_before);
            let Ok(written) = written(&walk, &text) else { continue };
            proved(&text, &written.text);
            prop_assert!(written.differences.is_empty(), "{file}: {:#?}\n{}", written.differences, written.text);
            let verdict = format!("expect verdict {}\n", walk.machine.status().verdict_if_closed.words());
            prop_assert!(written.text.ends_with(&verdict), "{file}: {}", written.text);
        }
    }
}
