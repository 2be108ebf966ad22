//! Walks in a real terminal: typing, Ctrl-C, Ctrl-D, a closed window, a killed process, a narrow screen.

use std::io::Write;
use std::path::Path;
use std::process::Command;

use bedway::walk::event::Event;
use portable_pty::{MasterPty, PtySize, native_pty_system};

use super::pty::{BEDWAY, Bench, Terminal};

fn begin(bench: &Bench) -> Terminal {
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", "walk.record.jsonl"], 80);
    terminal.answers("Your name", "Ann Example");
    terminal.answers("Serial number", "DP-0031");
    terminal.answers("Radius of the sweep", "150");
    terminal
}

#[test]
fn a_walk_is_typed_signed_by_two_people_and_verified() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.answers("Which drive", "belt");
    terminal.answers("arm: its number", "DG-4, 2030-01-31");
    terminal.answers("at the front of the table", "0,02");
    terminal.sees("+0.02 mm, table high");
    terminal.answers("at the back of the table", "0");
    terminal.answers("R2", "0.01");
    terminal.answers("R2", "-0.01");
    terminal.answers("guard shut by itself", "yes");
    terminal.answers("stop button latch", "yes");
    terminal.answers("cracked, missing or leaking", "none");
    terminal.answers("owner is at the machine", "Bo Example");
    // A key that is not there costs nothing: Enter goes on without.
    terminal.answers("Bo Example, owner: your key", "nowhere");
    terminal.sees("That key cannot be used");
    terminal.answers("without a signature", "");
    terminal.answers("Chuck key and bar are out", "yes");
    terminal.answers("How does it run", "hum");
    terminal.answers("As it stands: accepted", "sign");
    // A key that is named too early is nobody's name.
    terminal.answers("Ann Example, operator: sign now?", "drill.bedway");
    terminal.answers("neither yes nor Enter", "yes");
    terminal.answers("Enter alone makes a new one", "");
    for ask in ["A new passphrase", "The same once more"] {
        terminal.sees(ask);
        terminal.keys("three blind mice\r");
    }
    terminal.sees("Signed by Ann Example, operator.");
    terminal.answers("Who signs as owner?", "drill.bedway");
    terminal.answers("First the name", "Bo Example");
    terminal.answers("Enter alone makes a new one", "");
    for ask in ["A new passphrase", "The same once more"] {
        terminal.sees(ask);
        terminal.keys("see how they run\r");
    }
    terminal.sees("Signed by Bo Example, owner.");
    assert_eq!(terminal.ends(), 0);
    assert!(!terminal.all().contains("blind mice"), "a passphrase was shown");
    let (status, said) = bench.run(&["verify", "walk.record.jsonl"]);
    assert_eq!(status, 0, "{said}");
}

#[test]
fn ctrl_c_and_ctrl_d_leave_the_walk_in_order_and_it_goes_on_at_the_same_question() {
    for (key, reason) in [("\u{3}", "Ctrl-C"), ("\u{4}", "end of input")] {
        let bench = Bench::new();
        let mut terminal = begin(&bench);
        terminal.sees("Which drive");
        terminal.sees("> ");
        terminal.keys(key);
        terminal.sees("bedway walk --resume walk.record.jsonl");
        assert_eq!(terminal.ends(), 1);
        assert_eq!(bench.last_event(), Event::Paused { reason: reason.to_owned(), temperature: None });

        let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
        again.sees("Taken up again");
        again.answers("Which drive", "gears");
        again.sees("arm: its number");
        again.sees("> ");
        again.keys("\u{3}");
        again.ends();
    }
}

/// Whether it draws keys, and makes a signal of Ctrl-C, as a terminal does that nobody has changed.
#[cfg(unix)]
fn is_as_before(terminal: &Terminal) -> bool {
    let fresh = native_pty_system().openpty(PtySize::default()).unwrap();
    let flags = |master: &dyn MasterPty| master.get_termios().unwrap().local_flags;
    flags(terminal.master.as_ref()) == flags(fresh.master.as_ref())
}

#[cfg(unix)]
#[test]
fn ctrl_c_between_two_questions_is_a_key_too_and_the_terminal_is_given_back_as_it_was() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    let answers = ["belt", "DG-4, 2030-01-31", "0,02", "0", "0.01", "-0.01", "yes", "yes"];
    for (row, answer) in answers.iter().enumerate() {
        terminal.keys(&format!("{answer}\r"));
        // As long as the answer is worked on, and after it.
        while bench.record().lines.len() < 5 + row {
            assert!(!is_as_before(&terminal), "a Ctrl-C would now be a signal:\n{}", terminal.all());
        }
    }
    terminal.sees("cracked, missing or leaking");
    terminal.keys("\u{3}");
    terminal.sees("--resume");
    assert_eq!(terminal.ends(), 1);
    assert!(is_as_before(&terminal));
}

#[cfg(unix)]
#[test]
fn a_killed_walk_goes_on_with_every_answer_that_was_taken() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.answers("Which drive", "belt");
    terminal.sees("arm: its number");
    terminal.sees("> ");
    // Typed, but Enter was not pressed: that much a power cut may cost.
    terminal.keys("DG-");
    kill(&mut terminal, "-9");

    // The lock died with it, whatever it left behind.
    assert!(bench.path("walk.held").exists());

    // Power also cuts a line in two.
    let path = bench.path("walk.record.jsonl");
    let bytes = std::fs::read(&path).unwrap();
    std::fs::write(&path, &bytes[..bytes.len() - 20]).unwrap();
    let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
    again.sees("The last line was torn");
    again.sees("walk.torn");
    again.answers("Which drive", "gears");
    again.sees("arm: its number");
    again.sees("> ");
    again.keys("\u{3}");
    again.ends();
    assert!(bench.path("walk.torn").exists());
}

#[cfg(unix)]
#[test]
fn a_row_that_was_called_and_not_confirmed_outlives_a_killed_walk_and_a_closed_window() {
    for signal in ["-9", "-HUP"] {
        called_and_cut_off(signal);
    }
}

#[cfg(unix)]
fn called_and_cut_off(signal: &str) {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.answers("Which drive", "belt");
    terminal.answers("arm: its number", "DG-4, 2030-01-31");
    terminal.answers("at the front of the table", "0,02 -0,01");
    terminal.sees("Take these?");
    kill(&mut terminal, signal);

    let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
    again.sees("Typed before the walk was left: 0,02 -0,01");
    again.sees("back: -0.01 mm, table low");
    again.answers("Take these?", "");
    again.answers("R2", "\u{3}");
    again.ends();
    let entered = |event: &Event| matches!(event, Event::Entered(entry) if entry.name == "sweep");
    assert_eq!(bench.record().lines.iter().filter(|line| entered(&line.event)).count(), 2);
}

#[cfg(unix)]
fn kill(terminal: &mut Terminal, signal: &str) {
    let process = terminal.child.process_id().unwrap().to_string();
    assert!(Command::new("kill").args([signal, &process]).status().unwrap().success());
    terminal.ends();
}

#[test]
fn ctrl_c_at_a_passphrase_signs_nothing_and_the_command_can_be_given_again() {
    let bench = Bench::new();
    let procedure = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts/whole-walk.answers");
    let answers = procedure.to_string_lossy().into_owned();
    let (status, said) =
        bench.run(&["walk", "drill.bedway", "--record", "walk.record.jsonl", "--answers", &answers]);
    assert_eq!(status, 0, "{said}");
    let before = bench.record().lines.len();
    let mut terminal = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    terminal.sees("A new passphrase");
    terminal.keys("half of it\u{3}");
    terminal.sees("Nothing was signed");
    assert_eq!(terminal.ends(), 4);
    assert_eq!(bench.record().lines.len(), before);
    assert!(!terminal.all().contains("half of it"), "{}", terminal.all());

    let mut again = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    for ask in ["A new passphrase", "The same once more"] {
        again.sees(ask);
        again.keys("three blind mice\r");
    }
    again.sees("Signed by Ann Example, operator.");
    assert_eq!(again.ends(), 0);
    // The key is kept, so that it is asked for once the next time, and a wrong passphrase is told.
    let mut other = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    other.sees("has signed it as operator already");
    assert_eq!(other.ends(), 2);
}

#[test]
fn a_second_walk_of_the_same_record_is_refused_while_the_first_one_runs() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.sees("Which drive");
    let (status, said) = bench.run(&["walk", "--resume", "walk.record.jsonl"]);
    assert_eq!(status, 4, "{said}");
    // With who holds it, so that one knows whom to ask.
    let process = terminal.child.process_id().unwrap();
    assert!(said.contains("another walk has it open, of "), "{said}");
    assert!(said.contains(&format!("process {process}, since 20")), "{said}");
    assert!(bench.path("walk.held").exists());
    terminal.keys("\u{3}");
    terminal.ends();
    assert!(!bench.path("walk.held").exists(), "the word is taken away with the lock");
}

#[test]
fn a_record_is_never_overwritten() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.sees("Which drive");
    terminal.keys("\u{3}");
    terminal.ends();
    let before = std::fs::read(bench.path("walk.record.jsonl")).unwrap();
    let (status, said) = bench.run(&["walk", "drill.bedway", "--record", "walk.record.jsonl"]);
    assert_eq!(status, 4, "{said}");
    assert!(said.contains("never overwritten") && said.contains("--resume walk.record.jsonl"), "{said}");
    assert_eq!(std::fs::read(bench.path("walk.record.jsonl")).unwrap(), before);
}

#[test]
fn sixty_columns_are_enough_and_a_resized_window_does_no_harm() {
    let bench = Bench::new();
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", "walk.record.jsonl"], 60);
    terminal.answers("Your name", "Ann Example");
    terminal.sees("Serial number");
    terminal.master.resize(PtySize { rows: 30, cols: 62, pixel_width: 0, pixel_height: 0 }).unwrap();
    terminal.sees("> ");
    terminal.keys("DP-0031\r");
    terminal.answers("Radius of the sweep", "150");
    terminal.answers("Which drive", "belt");
    terminal.answers("arm: its number", "DG-4");
    terminal.sees("at the front of the table");
    terminal.sees("> ");
    terminal.keys("\u{3}");
    terminal.sees("--resume");
    terminal.ends();
    for line in terminal.all().lines() {
        assert!(bedway::report::width_of(line) <= 62, "{line}");
    }
}

#[test]
fn headings_are_bold_and_with_no_color_they_are_not() {
    let bench = Bench::new();
    for (record, set, bold) in [("one.record.jsonl", "", true), ("two.record.jsonl", "1", false)] {
        let arguments = ["walk", "drill.bedway", "--record", record];
        let mut terminal = bench.terminal_with(&arguments, 80, &[("NO_COLOR", set)]);
        terminal.sees("Your name");
        terminal.keys("\u{3}");
        terminal.ends();
        assert_eq!(terminal.raw().contains("\u{1b}[1m"), bold, "NO_COLOR={set}");
        assert!(!terminal.raw().contains("\u{1b}[3"), "colour says nothing here");
    }
}

#[test]
fn nothing_but_text_is_sent_when_colour_is_not_wanted() {
    let bench = Bench::new();
    let mut child = Command::new(BEDWAY)
        .args(["walk", "drill.bedway", "--record", "walk.record.jsonl"])
        .current_dir(bench.folder.path())
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"Ann Example\nDP-0031\n150\n").unwrap();
    let output = child.wait_with_output().unwrap();
    let screen = String::from_utf8(output.stdout).unwrap();
    assert!(!screen.contains('\u{1b}'), "{screen}");
    assert!(screen.contains("Which drive") && screen.contains("--resume walk.record.jsonl"), "{screen}");
    assert_eq!(output.status.code(), Some(1));
}
