//! What does it cost to judge a step with its uncertainty? The same readings are judged plainly, by the law of
//! propagation, by draws, and by draws that were made before; and the draws of a range are made plainly, a trial at a time
//! in a bare loop, in the same run. What counts are the ratios: against the plain verdict, and against the bare loop.
//!
//! `cargo bench --bench decisions`
#![allow(clippy::panic, clippy::unwrap_used)]

use std::rc::Rc;
use std::time::{Duration, Instant};

use bedway::check::program::{Program, StepId};
use bedway::metrology::Generator;
use bedway::walk::machine::Machine;
use bedway::walk::uncertainty::{Effort, Kept};
use bedway::walk::view::View;
use bedway::walk::{examples, judge};

const STATIONS: usize = 24;

/// A result, the line beneath it, and how it is held against its limit.
type Result = (&'static str, &'static str, &'static str);

const BENDING: Result = ("range(off over place)", "    unsigned\n", "at most");

fn main() {
    let plain = Walked::new("simple", BENDING);
    let first = timed(|| plain.judge(Effort::Shown, &Kept::default()));
    println!(
        "{:>34} {:>11} {:>9} {:>13}",
        "a step of 24 readings, judged", "time", "plain, x", "bare loop, x"
    );
    let bare = timed(|| bare_loop(30_000));
    let line = |what: &str, time: Duration| {
        let against = |other: Duration| time.as_secs_f64() / other.as_secs_f64();
        println!("{what:>34} {time:>11.2?} {:>9.2} {:>13.3}", against(first), against(bare));
    };
    line("plainly", first);
    let linear = Walked::new("guarded U", ("mean(off over place)", "", "within"));
    line("guarded, linear", timed(|| linear.judge(Effort::Decided, &Kept::default())));
    let smooth = Walked::new("guarded U", ("stdev(off over place)", "    unsigned\n", "at most"));
    line("guarded, by sensitivities", timed(|| smooth.judge(Effort::Decided, &Kept::default())));
    let drawn = Walked::new("guarded U", BENDING);
    line("guarded, by draws", timed(|| drawn.judge(Effort::Decided, &Kept::default())));
    let kept = Kept::default();
    drawn.judge(Effort::Decided, &kept);
    line("guarded, nothing changed", timed(|| drawn.judge(Effort::Decided, &kept)));
    line("30,000 trials in a bare loop", bare);
    println!("{:>34} {:>11} {:>9}", "a turn of 10,000 readings, judged", "time", "plain, x");
    for by in ["least_squares", "minimum_zone", "circumscribed", "inscribed"] {
        let once = |decide: &str| {
            let walked = Walked::turn(decide, by);
            let start = Instant::now();
            walked.judge(if decide == "simple" { Effort::Shown } else { Effort::Decided }, &Kept::default());
            start.elapsed()
        };
        let plain = once("simple");
        println!("{:>34} {plain:>11.2?} {:>9.2}", format!("{by}, plainly"), 1.0);
        let guarded = once("guarded U");
        let against = guarded.as_secs_f64() / plain.as_secs_f64();
        println!("{:>34} {guarded:>11.2?} {against:>9.2}", format!("{by}, guarded by draws"));
    }
}

/// A full turn.
const TURN: usize = 10_000;

struct Walked {
    program: Rc<Program>,
    machine: Machine,
}

impl Walked {
    fn new(decide: &str, (of, beneath, rule): Result) -> Self {
        let readings: Vec<String> = (0..STATIONS).map(|at| format!("{}", at * 7 % 11)).collect();
        let text = format!(
            "language 1\nprocedure \"Judged\"\ndecide {decide}\n\
             instrument dial \"Dial\"\n  resolution 1 um\n  uncertainty zero 2 um k 2\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read off in um using dial\n    over place 0 mm to {} mm by 100 mm\n\
             \x20   plus \"high\"\n    minus \"low\"\n  let form \"Form\" = {of}\n{beneath}  tolerance form {rule} 1 mm\n\
             example \"one\"\n  enter A.off = {}\n",
            (STATIONS - 1) * 100,
            readings.join(", ")
        );
        Self::walk(&text)
    }

    /// Two waves and nine, and something that has no pattern.
    fn turn(decide: &str, by: &str) -> Self {
        let mut generator = Generator::new(101);
        let mut reading = |at: usize| {
            let turn = at as f64 / TURN as f64 * std::f64::consts::TAU;
            let form = 40.0 * (9.0 * turn).sin() + 25.0 * (2.0 * turn).cos() + 6.0 * generator.unit();
            format!("{:.0}", form)
        };
        let readings: Vec<String> = (0..TURN).map(&mut reading).collect();
        let rows: Vec<String> = readings.chunks(20).map(|row| row.join(", ")).collect();
        Self::walk(&format!(
            "language 1\nprocedure \"Judged\"\ndecide {decide}\n\
             instrument probe \"Probe\"\n  resolution 1 um\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read r in um using probe\n    over turn 0 deg to 359.964 deg by 0.036 deg\n\
             \x20   plus \"out\"\n    minus \"in\"\n  let form \"Form\" = roundness(r over turn by {by})\n\
             \x20 tolerance form at most 1 mm\nexample \"one\"\n  enter A.r = {}\n",
            rows.join(",\n    ")
        ))
    }

    fn walk(text: &str) -> Self {
        let loaded = bedway::cli::load::check("judged.bedway", text.as_bytes());
        let program = loaded.program.unwrap_or_else(|| panic!("{:#?}", loaded.problems));
        let (machine, problems) = examples::walk_one(&program, &program.examples[0]);
        assert!(problems.is_empty(), "{problems:?}");
        Self { program, machine }
    }

    fn judge(&self, effort: Effort, kept: &Kept) {
        let view = View::of(&self.program, self.machine.state(), StepId(0), 0);
        std::hint::black_box(judge::judge(&self.program, StepId(0), &view, effort, kept));
    }
}

/// The same draws for a range without anything around them.
fn bare_loop(trials: usize) {
    let mut generator = Generator::new(101);
    let mut ranges: Vec<f64> = (0..trials)
        .map(|_| {
            let zero = generator.normal();
            let off = |at| (at * 7 % 11) as f64 + zero + generator.normal() + (generator.unit() - 0.5);
            let readings: Vec<f64> = (0..STATIONS).map(off).collect();
            let most = readings.iter().copied().fold(f64::MIN, f64::max);
            let least = readings.iter().copied().fold(f64::MAX, f64::min);
            most - least
        })
        .collect();
    ranges.sort_by(f64::total_cmp);
    std::hint::black_box(ranges);
}

/// The median of so many runs.
fn timed(mut work: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..15)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[times.len() / 2]
}
