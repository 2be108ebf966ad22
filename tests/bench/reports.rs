//! Does a report of 50,000 readings cost ten times one of 5,000, in every form? And does going over to another revision,
//! and comparing? Beside each the same lines are only read as JSON, so that what counts are ratios within one run.
//!
//! `cargo bench --bench reports`
#![allow(clippy::panic, clippy::unwrap_used)]

use std::rc::Rc;
use std::time::{Duration, Instant};

use bedway::check::program::Program;
use bedway::record::{Digest, Line};
use bedway::report::html::{Page, page};
use bedway::report::{Labels, Proof, build, export, render};
use bedway::walk::carry::carry;
use bedway::walk::machine::Machine;
use bedway::walk::replay;

#[path = "../shared/opened.rs"]
mod opened;

use opened::opened;

const TIME: &str = "2026-03-02T09:14:07+01:00";
const FEW: usize = 5_000;
const MANY: usize = 50_000;

/// What is made of a walk, by name.
type Form = (&'static str, fn(&Walk));

fn main() {
    let (few, many) = (Walk::of(FEW), Walk::of(MANY));
    println!("{:>10} {:>11} {:>11} {:>8} {:>15}", "", FEW, MANY, "times", "reading it, x");
    let forms: [Form; 8] = [
        ("replay", |walk| drop(walk.replayed())),
        ("model", |walk| drop(walk.report())),
        ("text", |walk| drop(render(&walk.report(), &Proof::default()))),
        ("markdown", |walk| drop(export::markdown(&walk.report(), &Proof::default()))),
        ("csv", |walk| drop(export::table(&walk.report(), &Proof::default()))),
        ("json", |walk| drop(export::json(&export::document(&walk.report(), &Proof::default())))),
        ("html", |walk| drop(walk.page())),
        ("judge", |walk| drop(walk.carried())),
    ];
    let reading = timed(|| {
        for line in &many.bytes {
            serde_json::from_slice::<serde_json::Value>(line).unwrap();
        }
    });
    for (name, form) in forms {
        let (short, long) = (timed(|| form(&few)), timed(|| form(&many)));
        println!(
            "{name:>10} {short:>11.2?} {long:>11.2?} {:>8.1} {:>15.1}",
            long.as_secs_f64() / short.as_secs_f64(),
            long.as_secs_f64() / reading.as_secs_f64(),
        );
    }
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

struct Walk {
    program: Rc<Program>,
    other: Rc<Program>,
    machine: Machine,
    lines: Vec<Line>,
    bytes: Vec<Vec<u8>>,
}

/// A bed read at a thousand places, fifty times or as often as it takes.
fn procedure(count: usize, unit: &str) -> Rc<Program> {
    let repeats = count / 1000;
    let text = format!(
        "language 1\nprocedure \"Long\"\ndecide simple\nsection all \"All\"\nstep A \"Bed\"\n\
           read height in {unit}\n    times {repeats}\n    over place 0 mm to 999 mm by 1 mm\n\
           plus \"high\"\n    minus \"low\"\n  let spread \"Spread\" = range(height)\n  tolerance spread at most 1 mm\n"
    );
    let checked = bedway::check::check(&bedway::syntax::parse_text("bench", text));
    Rc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.problems)))
}

impl Walk {
    fn of(count: usize) -> Self {
        let program = procedure(count, "mm");
        let mut machine = Machine::new(Rc::clone(&program));
        machine.set_time(TIME);
        let mut events = machine.open(opened(&program.title)).events;
        for typed in std::iter::once("Bench").chain(std::iter::repeat_n("0.001", count)) {
            events.extend(machine.answer(typed).unwrap_or_else(|refusal| panic!("{refusal:?}")).events);
        }
        let (mut lines, mut bytes, mut prev) = (Vec::new(), Vec::new(), Digest::ZERO);
        for (event, number) in events.into_iter().zip(1..) {
            let (line, own) = Line::seal(number, TIME, "operator", event, prev).unwrap();
            prev = Digest::of(&own);
            lines.push(line);
            bytes.push(own);
        }
        Self { other: procedure(count, "um"), program, machine, lines, bytes }
    }

    fn replayed(&self) -> Machine {
        let events = self.lines.iter().map(|line| (line.time.as_str(), &line.event));
        replay::verify(Rc::clone(&self.program), events).unwrap_or_else(|fault| panic!("{fault}")).machine
    }

    fn report(&self) -> bedway::report::Report {
        let labels = Labels::new(Some(&self.program));
        build(&self.lines, &labels, Some(&self.machine))
    }

    fn page(&self) -> String {
        let (report, proof) = (self.report(), Proof::default());
        let machine = Some(&self.machine);
        page(&Page { report: &report, proof: &proof, machine, texts: &[] })
    }

    fn carried(&self) -> Machine {
        let lines = self.lines.iter().map(|line| (line.seq, line.time.as_str(), &line.event));
        carry(&self.machine, Rc::clone(&self.other), lines).machine
    }
}
