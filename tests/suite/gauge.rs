//! Readings from a gauge beside the keyboard: over a serial line (a pair of pseudo terminals) and over a named pipe.

#![cfg(unix)]

use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use bedway::walk::event::{Entry, Event, How};
use portable_pty::{MasterPty, PtyPair, PtySize, native_pty_system};

use super::pty::{BEDWAY, Bench, Terminal};

/// A gauge on a serial line.
struct Gauge {
    pair: PtyPair,
    cable: Box<dyn Write + Send>,
}

impl Gauge {
    fn new() -> Self {
        let size = PtySize { rows: 1, cols: 1, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let cable = pair.master.take_writer().unwrap();
        Self { pair, cable }
    }

    fn path(&self) -> String {
        let master: &dyn MasterPty = self.pair.master.as_ref();
        master.tty_name().unwrap().to_string_lossy().into_owned()
    }

    fn sends(&mut self, bytes: &str) {
        self.cable.write_all(bytes.as_bytes()).unwrap();
        self.cable.flush().unwrap();
    }
}

fn pipe(bench: &Bench) -> PathBuf {
    let path = bench.path("gauge");
    assert!(Command::new("mkfifo").arg(&path).status().unwrap().success());
    path
}

/// At the first reading of the drill.
fn at_the_dial(bench: &Bench, from: &str, unit: &str) -> Terminal {
    let arguments =
        ["walk", "drill.bedway", "--record", "walk.record.jsonl", "--from", from, "--from-unit", unit];
    let mut terminal = bench.terminal(&arguments, 80);
    terminal.sees("is heard beside the keyboard");
    for (question, typed) in [
        ("Your name", "Ann Example"),
        ("Serial number", "DP-0031"),
        ("Radius of the sweep", "150"),
        ("Which drive", "belt"),
        ("arm: its number", "DG-4"),
    ] {
        terminal.answers(question, typed);
    }
    terminal.sees("at the front of the table");
    terminal.sees("> ");
    terminal
}

fn leave(mut terminal: Terminal) -> String {
    terminal.keys("\u{3}");
    terminal.sees("--resume");
    terminal.ends();
    terminal.all()
}

/// Typed text, value and how it came, of all readings on the record.
fn readings(bench: &Bench) -> Vec<(String, String, How)> {
    let entered = |event: &Event| match event {
        Event::Entered(Entry { answer: Some(answer), how, .. }) => {
            Some((answer.typed.clone(), answer.value.clone(), *how))
        }
        _ => None,
    };
    bench.record().lines.iter().filter_map(|line| entered(&line.event)).collect()
}

fn reading(typed: &str, value: &str, how: How) -> (String, String, How) {
    (typed.to_owned(), value.to_owned(), how)
}

#[test]
fn presses_over_a_serial_line_are_readings_in_the_forms_that_gauges_send() {
    let bench = Bench::new();
    let mut gauge = Gauge::new();
    let mut terminal = at_the_dial(&bench, &gauge.path(), "um");
    // Channel, leading zeros, no unit: in the unit that was named. The question is in mm.
    gauge.sends("01A+00020.0\r");
    terminal.sees("+0.02 mm, table high");
    terminal.sees("at the back of the table");
    // Comma, a unit of its own; the line end in two parts.
    gauge.sends("  -0,004 mm\r");
    gauge.sends("\n");
    terminal.sees("-0.004 mm, table low");
    terminal.sees("R2  Bore of the spindle");
    // The keyboard has its turn as before.
    terminal.answers("extreme high", "0.01");
    terminal.sees("extreme low");
    leave(terminal);
    assert_eq!(
        readings(&bench),
        [
            reading("01A+00020.0", "0.02", How::Gauge),
            reading("-0,004 mm", "-0.004", How::Gauge),
            reading("0.01", "0.01", How::Typed)
        ]
    );
}

#[test]
fn presses_down_a_pipe_answer_one_question_after_the_other() {
    let bench = Bench::new();
    let path = pipe(&bench);
    let mut terminal = at_the_dial(&bench, &path.to_string_lossy(), "mm");
    // A writer that comes, writes and goes, and one whose last line has no end.
    for (sent, next) in [
        ("0.010\n", "at the back of the table"),
        ("-0.002\n", "extreme high"),
        ("0.005\n", "extreme low"),
        ("-0.003", "R2 PASSED"),
    ] {
        std::fs::write(&path, sent).unwrap();
        terminal.sees(next);
    }
    leave(terminal);
    let values: Vec<String> = readings(&bench).into_iter().map(|(_, value, _)| value).collect();
    assert_eq!(values, ["0.01", "-0.002", "0.005", "-0.003"]);
}

/// Set to send without end, it would answer station after station while nobody looks.
#[test]
fn a_gauge_that_sends_by_itself_is_told_and_answers_nothing() {
    let bench = Bench::new();
    let mut gauge = Gauge::new();
    let mut terminal = at_the_dial(&bench, &gauge.path(), "mm");
    gauge.sends("0.010\r0.011\r0.010\r0.012\r");
    terminal.sees("Not taken: The gauge sent \"0.010\" and \"0.011\"");
    terminal.sees("faster");
    terminal.sees("at the front of the table");
    terminal.sees("is heard again. 2 more lines were not taken");
    terminal.sees("at the front of the table");
    gauge.sends("0.01\r");
    terminal.sees("+0.01 mm, table high");
    leave(terminal);
    assert_eq!(readings(&bench), [reading("0.01", "0.01", How::Gauge)]);
}

#[test]
fn a_half_typed_line_survives_a_press_which_waits_for_it() {
    let bench = Bench::new();
    let mut gauge = Gauge::new();
    let mut terminal = at_the_dial(&bench, &gauge.path(), "mm");
    terminal.keys("note lamp mo");
    terminal.row_reads("> note lamp mo");
    gauge.sends("0.010\r\n");
    terminal.sees("From the gauge: 0.010. It waits");
    terminal.row_reads("> note lamp mo");
    terminal.keys("ved\r");
    terminal.sees("noted: lamp moved");
    // The question is still the one at which it was pressed.
    terminal.sees("+0.01 mm, table high");
    terminal.sees("at the back of the table");

    // Emptied, the line stands in its way no longer.
    terminal.row_reads("> ");
    terminal.keys("0.7");
    terminal.row_reads("> 0.7");
    gauge.sends("0.002\r\n");
    terminal.sees("From the gauge: 0.002. It waits");
    terminal.keys("\u{15}");
    terminal.sees("+0.002 mm, table high");
    leave(terminal);
    let values: Vec<String> = readings(&bench).into_iter().map(|(_, value, _)| value).collect();
    assert_eq!(values, ["0.01", "0.002"]);
}

#[test]
fn a_press_never_answers_a_question_that_came_after_it() {
    let bench = Bench::new();
    let mut gauge = Gauge::new();
    let mut terminal = at_the_dial(&bench, &gauge.path(), "mm");
    terminal.keys("0.01");
    terminal.row_reads("> 0.01");
    gauge.sends("0.013\r\n");
    terminal.sees("It waits");
    terminal.row_reads("> 0.01");
    // Both meant the front; the next question is for the back.
    terminal.keys("\r");
    terminal.sees("+0.01 mm, table high");
    terminal.sees("The gauge sent \"0.013\" while the answer before was");
    terminal.sees("at the back of the table");
    leave(terminal);
    assert_eq!(readings(&bench), [reading("0.01", "0.01", How::Typed)]);
}

#[test]
fn junk_and_presses_out_of_place_are_refused_aloud_and_not_taken() {
    let bench = Bench::new();
    let mut gauge = Gauge::new();
    let mut terminal = at_the_dial(&bench, &gauge.path(), "mm");
    for (sent, said) in [
        ("ERR 12\r", "reads like a fault"),
        ("0.01 0.02\r", "there is more than"),
        ("hello\r", "there is no number"),
        ("21.4 degC\r", "degC is a temperature"),
        ("0.01 furlongs\r", "is not a unit"),
    ] {
        gauge.sends(sent);
        terminal.sees("Not taken: The gauge sent");
        terminal.sees(said);
        terminal.sees("at the front of the table");
    }
    // Outside the usual range it is asked about as a typed value is, and what comes meanwhile is not the answer.
    gauge.sends("40\r");
    terminal.sees("40");
    terminal.sees("> ");
    gauge.sends("0.01\r");
    terminal.sees("answered by keyboard");
    terminal.keys("no\r");
    terminal.sees("at the front of the table");
    gauge.sends("0.01\r");
    terminal.sees("+0.01 mm, table high");
    gauge.sends("0.01\r");
    terminal.sees("R1 PASSED");
    gauge.sends("0.01\r");
    terminal.sees("extreme low");
    gauge.sends("0.01\r");
    terminal.sees("R2 PASSED");
    terminal.sees("guard shut by itself");
    gauge.sends("1\r");
    terminal.sees("The question is not for a number");
    leave(terminal);
    assert_eq!(readings(&bench).len(), 4);
}

#[test]
fn a_gauge_that_is_unplugged_is_said_and_the_walk_goes_on_by_keyboard() {
    let bench = Bench::new();
    let gauge = Gauge::new();
    // By a name of its own: that of the terminal may soon be another's.
    let cable = bench.path("cable");
    std::os::unix::fs::symlink(gauge.path(), &cable).unwrap();
    let mut terminal = at_the_dial(&bench, &cable.to_string_lossy(), "mm");
    std::fs::remove_file(&cable).unwrap();
    drop(gauge);
    terminal.sees("The gauge is gone");
    terminal.answers("at the front of the table", "0.02");
    terminal.sees("+0.02 mm, table high");
    leave(terminal);
    assert_eq!(readings(&bench), [reading("0.02", "0.02", How::Typed)]);
}

#[test]
fn a_gauge_that_cannot_be_heard_is_told_before_the_walk_begins() {
    let bench = Bench::new();
    std::fs::write(bench.path("readings.txt"), "0.01\n").unwrap();
    let walk = |more: &[&str]| bench.run(&[&["walk", "drill.bedway"], more].concat());
    let (status, said) = walk(&["--from", "nowhere", "--from-unit", "mm"]);
    assert_eq!(status, 4, "{said}");
    assert!(said.contains("the gauge at nowhere cannot be opened"), "{said}");
    let (status, said) = walk(&["--from", "readings.txt", "--from-unit", "mm"]);
    assert_eq!(status, 2, "{said}");
    assert!(said.contains("--answers"), "{said}");
    let (status, said) = walk(&["--from", "/dev/null", "--from-unit", "mm"]);
    assert_eq!(status, 4, "{said}");
    let (status, said) = walk(&["--from", "nowhere"]);
    assert_eq!(status, 2, "{said}");
    assert!(said.contains("--from-unit"), "{said}");
    let (status, said) = walk(&["--from", "nowhere", "--from-unit", "furlong"]);
    assert_eq!(status, 2, "{said}");
    assert!(said.contains("type one of: mm um"), "{said}");
    assert!(
        std::fs::read_dir(bench.folder.path())
            .unwrap()
            .all(|it| { !it.unwrap().file_name().to_string_lossy().ends_with(".record.jsonl") })
    );
}

#[test]
fn a_gauge_is_heard_beside_lines_from_a_pipe_too() {
    let bench = Bench::new();
    let path = pipe(&bench);
    let mut child = Command::new(BEDWAY)
        .args(["walk", "drill.bedway", "--record", "walk.record.jsonl", "--from-unit", "mm", "--from"])
        .arg(&path)
        .current_dir(bench.folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut keyboard = child.stdin.take().unwrap();
    keyboard.write_all(b"Ann Example\nDP-0031\n150\nbelt\nDG-4\n").unwrap();
    let record = bench.path("walk.record.jsonl");
    let stands = |text: &str| std::fs::read_to_string(&record).is_ok_and(|record| record.contains(text));
    let wait_for = |text: &str| {
        while !stands(text) {
            std::thread::sleep(std::time::Duration::from_millis(10));
        }
    };
    wait_for("DG-4");
    std::fs::write(&path, "0.01\n").unwrap();
    wait_for("\"how\":\"gauge\"");
    drop(keyboard);
    let output = child.wait_with_output().unwrap();
    let screen = String::from_utf8(output.stdout).unwrap();
    assert!(screen.contains("> 0.01   (gauge)\n  = +0.01 mm, table high"), "{screen}");
    assert_eq!(readings(&bench), [reading("0.01", "0.01", How::Gauge)]);
}
