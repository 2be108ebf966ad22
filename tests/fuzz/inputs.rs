//! What must hold of any bytes at each way into the program. Tried by the fuzz targets beside this file and, on
//! made-up input, by the test suite.

use std::rc::Rc;

use bedway::quantity::{GaugeLine, Unit, parse_decimal};
use bedway::walk::machine::Machine;
use bedway::walk::question::Expects;
use bedway::walk::replay;
use bedway::{check, record, syntax, tidy as tidying};

// The suite has it besides, and these inputs as well.
#[allow(clippy::duplicate_mod)]
#[path = "../shared/opened.rs"]
mod opened;

use opened::opened;

/// A procedure: read, checked and told of, whatever it is; the lines that were read give back its text.
pub fn parse(bytes: &[u8]) {
    let parsed = syntax::parse_bytes("input.bedway", bytes);
    let checked = check::check(&parsed);
    let is_whole = checked.program.is_some() || checked.kit.is_some();
    assert!(is_whole || checked.problems.iter().any(|problem| problem.is_fault()));
    let shown = bedway::diagnostic::render(&parsed.source, &checked.problems, 80, false);
    assert_eq!(shown.is_empty(), checked.problems.is_empty());
}

/// The tidy form is its own tidy form.
pub fn tidy(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let once = tidying::tidy(&syntax::parse_text("input.bedway", text));
    let twice = tidying::tidy(&syntax::parse_text("input.bedway", once.as_str()));
    assert_eq!(once, twice);
}

/// A record: what is read is a prefix of the bytes, or the damage is named.
pub fn record(bytes: &[u8]) {
    match record::read(bytes) {
        Ok(record) => assert!(record.lines.len() <= bytes.iter().filter(|byte| **byte == b'\n').count()),
        Err(damaged) => assert!(!damaged.damage.to_string().is_empty()),
    }
}

const WALKED: &str = r#"language 1
procedure "Fuzzed"
decide simple
party owner "Owner"
fact reach "Reach" in mm from 50 to 300
step A "Lean"
  read dial_at in mm
    over turn 0 deg, 180 deg
    over place 0 mm, reach
    plus "up"
    minus "down"
    sense stays with the machine
    not read allowed
  let lean "Lean" = gain(machine(dial_at over turn) over place)
  tolerance lean from 0 mm to 0.015 mm
  adjustment shim "Shim" in mm
    plus "added"
    minus "taken out"
    predicts lean by shim
  remedy "Shim." advise shim = aim(lean) - lean
step B "Oil"
  confirm "Hands clear"
  powered
  read temp in degC
    every 10 min for at most 1 h
  observe sound "Sound?" one of smooth, rough
  require sound is smooth
  stop when sound is rough "Switch off."
"#;

/// Lines typed at the prompt, one a line: each is taken or refused in words, and what is on the record then is enough
/// to go on from.
pub fn prompt(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let parsed = syntax::parse_text("walked.bedway", WALKED);
    let Some(program) = check::check(&parsed).program.map(Rc::new) else { return };
    let opened = opened(&program.title);
    let mut machine = Machine::new(Rc::clone(&program));
    let mut events = Vec::new();
    let lines = std::iter::once("").chain(["Ann", "150"]).chain(text.lines().take(60));
    for (minute, line) in lines.enumerate() {
        let time = format!("2026-03-02T{:02}:{:02}:00+01:00", 8 + minute / 60, minute % 60);
        machine.set_time(&time);
        let reply = match (minute, line.strip_prefix('\u{1}')) {
            (0, _) => Ok(machine.open(opened.clone())),
            // As if a gauge had sent it.
            (_, Some(sent)) => machine.gauge(sent, Unit::Mm),
            (_, None) => machine.answer(line),
        };
        match reply {
            Ok(reply) => events.extend(reply.events.into_iter().map(|event| (time.clone(), event))),
            Err(refusal) => assert!(!refusal.message.is_empty()),
        }
    }
    let on_record = events.iter().map(|(time, event)| (time.as_str(), event));
    let again = replay::replay(program, on_record);
    let replay::Replayed { machine: mut again, due, .. } =
        again.unwrap_or_else(|mismatch| panic!("{mismatch}"));
    assert!(due.events.is_empty(), "still due: {:?}", due.events);
    assert_eq!(again.status(), machine.status());
    // What was said back and not confirmed is said back again.
    if machine.question().expects == Expects::TakeOrRetype {
        again.say_again();
        assert_eq!(again.question(), machine.question());
    }
}

/// A line of a gauge: what is taken is one number, and reads the same when it is typed.
pub fn gauge(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    if let Some(Ok(line)) = GaugeLine::parse(&text) {
        let typed = line.as_typed("mm");
        let figures = typed.split(' ').next().unwrap_or_default();
        assert_eq!(parse_decimal(figures).as_ref(), Some(&line.number), "{text:?}");
        assert!(text.contains(|c: char| c.is_ascii_digit()), "{text:?}");
    }
}
