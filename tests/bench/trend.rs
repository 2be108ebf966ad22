//! Does a folder of ten thousand records cost ten times one of a thousand, and how much more than only reading and hashing
//! the same files? Ratios within one run.
//!
//! `cargo bench --bench trend`
#![allow(clippy::panic, clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;
use std::rc::Rc;
use std::time::{Duration, Instant};

use bedway::record::{Digest, Line};
use bedway::walk::event::{Event, FORMAT, FileText};
use bedway::walk::machine::Machine;

const TEXT: &str = "language 1\nprocedure \"Yearly\"\ndecide simple\nfact serial \"Serial number\" text\n\
    section all \"All\"\nstep A \"Bed\"\n  read height in mm\n    over place 0 mm to 1000 mm by 50 mm\n\
    plus \"high\"\n    minus \"low\"\n  let rise \"Rise\" = gain(height over place)\n\
    tolerance rise within 1 mm\n";

/// One machine in so many is looked at, as in the folder of a shop that serves many.
const MACHINES: usize = 200;

fn main() {
    let events = events();
    println!("{:>8} {:>12} {:>12} {:>14}", "records", "trend", "hashed only", "trend/hashed");
    for count in [1_000, 10_000] {
        let folder = tempfile::tempdir().unwrap();
        for number in 0..count {
            std::fs::write(folder.path().join(format!("{number}.record.jsonl")), record(&events, number))
                .unwrap();
        }
        let hashed = timed(|| {
            for number in 0..count {
                let bytes = std::fs::read(folder.path().join(format!("{number}.record.jsonl"))).unwrap();
                bytes.split_inclusive(|byte| *byte == b'\n').map(Digest::of).for_each(drop);
            }
        });
        let looked = timed(|| look(folder.path()));
        let ratio = looked.as_secs_f64() / hashed.as_secs_f64();
        println!("{count:>8} {looked:>12.2?} {hashed:>12.2?} {ratio:>14.1}");
    }
}

fn look(folder: &Path) {
    let bedway =
        Command::new(env!("CARGO_BIN_EXE_bedway")).arg("trend").arg(folder).args(["--serial", "M7"]).output();
    let said = bedway.unwrap().stdout;
    assert!(String::from_utf8_lossy(&said).contains("Machine M7 over time"));
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

/// A walk of the procedure, with a line that looks like a signature: a trend does not check it.
fn events() -> Vec<Event> {
    let checked = bedway::check::check(&bedway::syntax::parse_text("bench", TEXT.to_owned()));
    let program = Rc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.problems)));
    let mut machine = Machine::new(Rc::clone(&program));
    machine.set_time("2026-03-02T09:14:07+01:00");
    let opened = Event::Opened {
        format: FORMAT,
        language: 1,
        program: "bench".to_owned(),
        rehearsal: false,
        title: program.title.clone(),
        files: vec![FileText {
            name: "bench.bedway".to_owned(),
            sha256: Digest::of(TEXT.as_bytes()).to_string(),
            text: TEXT.to_owned(),
        }],
        previous: None,
        parties: Vec::new(),
    };
    let mut events = machine.open(opened).events;
    for typed in ["Bench", "M"].into_iter().chain(std::iter::repeat_n("0.001", 21)) {
        events.extend(machine.answer(typed).unwrap_or_else(|refusal| panic!("{refusal:?}")).events);
    }
    events.push(Event::Signed { bytes: 1, signature: "none".to_owned() });
    events
}

/// The walk of one machine in one year.
fn record(events: &[Event], number: usize) -> Vec<u8> {
    let time = format!("{}-03-02T09:14:{:02}+01:00", 1970 + number / MACHINES, number % 60);
    let (mut bytes, mut prev) = (Vec::new(), Digest::ZERO);
    for (event, seq) in events.iter().zip(1..) {
        let mut event = event.clone();
        if let Event::Fact { answer, .. } = &mut event {
            answer.value = format!("M{}", number % MACHINES);
        }
        let (_, own) = Line::seal(seq, &time, "operator", event, prev).unwrap();
        prev = Digest::of(&own);
        bytes.extend(own);
    }
    bytes
}
