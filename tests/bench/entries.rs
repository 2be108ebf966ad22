//! Does an entry cost the same whether it is the 10th or the 10,000th? A walk of one long reading is entered into a
//! record on disk, and beside it the same bytes go into a bare file by append and fdatasync, in one run on one disk.
//! What counts are the two ratios: an entry late in the walk against an early one, and against the bare append.
//!
//! `cargo bench --bench entries`
#![allow(clippy::panic, clippy::unwrap_used)]

use std::fs::File;
use std::io::Write as _;
use std::rc::Rc;
use std::time::{Duration, Instant};

use bedway::check::program::Program;
use bedway::record::{FileStore, Writer};
use bedway::walk::machine::Machine;

#[path = "../shared/opened.rs"]
mod opened;

use opened::opened;

const TIME: &str = "2026-03-02T09:14:07+01:00";
const ENTRIES: usize = 10_000;
const BATCH: usize = 1_000;

fn main() {
    rows_of_a_series();
    let folder = tempfile::tempdir().unwrap();
    let program = program();
    let mut machine = Machine::new(Rc::clone(&program));
    let mut writer =
        Writer::begin(FileStore::create(&folder.path().join("long.record.jsonl")).unwrap()).unwrap();
    let mut bare = File::create(folder.path().join("bare")).unwrap();
    machine.set_time(TIME);
    let opened = machine.open(opened(&program.title));
    opened.events.into_iter().for_each(|event| drop(writer.append(TIME, "operator", event).unwrap()));
    enter(&mut machine, &mut writer, "Bench");

    println!("{:>14} {:>11} {:>9} {:>15}", "entries", "an entry", "first, x", "bare append, x");
    let mut first = None;
    for batch in 0..ENTRIES / BATCH {
        let ours = timed(|| enter(&mut machine, &mut writer, "0.001"));
        let line = vec![b'x'; 500];
        let theirs = timed(|| {
            bare.write_all(&line).unwrap();
            bare.sync_data().unwrap();
        });
        let smallest = *first.get_or_insert(ours);
        println!(
            "{:>6}..{:<6} {:>11.2?} {:>9.2} {:>15.2}",
            batch * BATCH,
            (batch + 1) * BATCH,
            ours,
            ours.as_secs_f64() / smallest.as_secs_f64(),
            ours.as_secs_f64() / theirs.as_secs_f64(),
        );
    }
}

/// Rows of a series in time, each tried for a stop and for steadiness; without a disk, so that only the machine counts.
fn rows_of_a_series() {
    let text = format!(
        "language 1\nprocedure \"Long\"\ndecide simple\nsection all \"All\"\nstep A \"Warm-up\"\n\
           read temp in degC\n    every 1 s for at most {ENTRIES} s\n    until temp steady within 1 K for 5 min\n\
           let top \"Hottest\" = greatest(temp over time)\n  tolerance top at most 90 degC\n\
           stop when temp above 95 degC \"Switch off.\"\n"
    );
    let checked = bedway::check::check(&bedway::syntax::parse_text("bench", text));
    let program = Rc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.problems)));
    let mut machine = Machine::new(Rc::clone(&program));
    let start: jiff::Timestamp = TIME.parse().unwrap();
    let at = |second: usize| {
        start.checked_add(jiff::SignedDuration::from_secs(second as i64)).unwrap().to_string()
    };
    machine.set_time(&at(0));
    machine.open(opened(&program.title));
    for typed in ["Bench", ""] {
        machine.answer(typed).unwrap_or_else(|refusal| panic!("{refusal:?}"));
    }
    println!("{:>14} {:>11} {:>9}", "rows", "a row", "first, x");
    let (mut first, mut second) = (None, 0);
    for batch in 0..ENTRIES / BATCH {
        let ours = timed(|| {
            machine.set_time(&at(second));
            std::hint::black_box(machine.question());
            let typed = if second.is_multiple_of(2) { "40" } else { "44" };
            machine.answer(typed).unwrap_or_else(|refusal| panic!("{refusal:?}"));
            second += 1;
        });
        let smallest = *first.get_or_insert(ours);
        let (from, to) = (batch * BATCH, (batch + 1) * BATCH);
        println!("{from:>6}..{to:<6} {ours:>11.2?} {:>9.2}", ours.as_secs_f64() / smallest.as_secs_f64());
    }
}

/// The middle of a batch, so that a busy disk now and then does not count.
fn timed(mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..BATCH)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[BATCH / 2]
}

/// One answer as the walk takes it: the question is made, the events appended and synced.
fn enter(machine: &mut Machine, writer: &mut Writer<FileStore>, typed: &str) {
    std::hint::black_box(machine.question());
    let reply = machine.answer(typed).unwrap_or_else(|refusal| panic!("{refusal:?}"));
    for event in reply.events {
        writer.append(TIME, "operator", event).unwrap();
    }
}

fn program() -> Rc<Program> {
    let text = format!(
        "language 1\nprocedure \"Long\"\ndecide simple\nsection all \"All\"\nstep A \"Many stations\"\n\
           read d in mm\n    over place 0 mm to {ENTRIES} mm by 1 mm\n    plus \"up\"\n    minus \"down\"\n\
           let spread \"Spread\" = range(d over place)\n  tolerance spread at most 0.1 mm\n"
    );
    let checked = bedway::check::check(&bedway::syntax::parse_text("bench", text));
    Rc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.problems)))
}
