//! What a person sees in terminals of all kinds: narrow ones, plain ones, ones that are drawn wider or narrower, and the
//! bell of a reading that is due.

use bedway::report::width_of;
use portable_pty::PtySize;

use super::pty::{Bench, Terminal};

/// Walks the drill press from the first question to the last signature, with mistakes, help and lists on the way. What
/// is waited for are single words: a narrow screen breaks lines anywhere else.
fn walked(bench: &Bench, columns: u16, set: &[(&str, &str)]) -> Terminal {
    let arguments = ["walk", "drill.bedway", "--record", "walk.record.jsonl"];
    let mut terminal = bench.terminal_with(&arguments, columns, set);
    terminal.answers("leave.", "Ann Example");
    terminal.answers("machine", "DP-0031");
    terminal.answers("sweep", "15");
    terminal.answers("taken:", "150");
    terminal.answers("drive", "help");
    terminal.answers("amend", "belt");
    terminal.answers("Dial", "DG-4, 2030-01-31");
    terminal.answers("table", "0,9 0,02");
    terminal.answers("right?", "no");
    terminal.answers("again.", "-0.04, 0.02");
    terminal.answers("Take", "");
    terminal.answers("now?", "correct R1.swoop = 0.02 \"why\"");
    terminal.answers("taken:", "adjust R1.shim = 0.04 mm");
    terminal.answers("now?", "again R1");
    terminal.answers("front", "0.02");
    terminal.answers("back", "0");
    terminal.answers("R2", "0.01 -0.01");
    terminal.answers("Take", "yes");
    terminal.answers("guard", "yes");
    terminal.answers("button", "yes");
    terminal.answers("missing", "none");
    terminal.answers("machine", "Bo Example");
    terminal.answers("key,", "");
    terminal.answers("Chuck", "yes");
    terminal.answers("run?", "hum");
    terminal.answers("closes", "sign");
    terminal.answers("now?", "yes");
    terminal.answers("alone", "");
    for ask in ["passphrase", "once"] {
        terminal.sees(ask);
        terminal.sees(": ");
        terminal.keys("three blind mice\r");
    }
    terminal.answers("owner?", "");
    terminal.sees("report:");
    terminal.sees("walk.record.jsonl");
    assert_eq!(terminal.ends(), 0);
    terminal
}

#[test]
fn no_row_is_wider_than_the_screen_from_the_first_question_to_the_last_signature() {
    for (columns, set) in [
        (60, vec![]),
        (40, vec![("NO_COLOR", "1")]),
        (60, vec![("TERM", "dumb")]),
        (40, vec![("LC_ALL", "C")]),
    ] {
        let bench = Bench::new();
        let terminal = walked(&bench, columns, &set);
        for row in terminal.all().lines() {
            assert!(width_of(row.trim_end()) <= usize::from(columns), "{columns} {set:?}: {row}");
        }
        // What is to be typed on is whole: a shell takes the rows as one command.
        let all = terminal.all().replace(" \\\r\n", " ").replace(" \\\n", " ");
        let words: Vec<&str> = all.split_whitespace().collect();
        assert!(words.join(" ").contains("bedway sign walk.record.jsonl --as \"NAME, owner\""), "{all}");
        // And the key, too long for any of them, lies beside the record.
        let line = std::fs::read_to_string(bench.path("walk.ann-example.signer")).unwrap();
        assert!(line.starts_with("ann-example namespaces=\"bedway\" ssh-ed25519 "), "{line}");
        std::fs::write(bench.path("signers"), line).unwrap();
        let (_, said) = bench.run(&["verify", "walk.record.jsonl", "--signers", "signers"]);
        assert!(said.contains("Ann Example") && !said.contains("known only"), "{said}");
    }
}

/// An old printer terminal, or the pane of an editor: it shows letters and knows nothing else.
#[test]
fn a_dumb_terminal_is_sent_letters_and_nothing_else() {
    let bench = Bench::new();
    let terminal = walked(&bench, 80, &[("TERM", "dumb")]);
    let raw = terminal.raw();
    let strange = |letter: char| !(letter.is_ascii_graphic() || " \r\n\u{8}".contains(letter));
    assert!(
        !raw.contains(strange),
        "{:?}",
        raw.chars().filter(|letter| strange(*letter)).collect::<String>()
    );
}

const SIGNS: &str = "\
language 1
procedure \"Wärme der Spindel\"
decide simple
section one \"Eins\"
step A \"Lager, ø 40 mm\"
  note \"Auf 0,5 °C genau; Ω zählt nicht.\"
  read temp in degC
  tolerance temp at most 50 degC
";

#[test]
fn an_ascii_terminal_shows_every_sign_in_ascii_and_the_record_keeps_what_was_typed() {
    let bench = Bench::new();
    std::fs::write(bench.path("signs.bedway"), SIGNS).unwrap();
    let arguments = ["walk", "signs.bedway", "--record", "walk.record.jsonl"];
    let mut terminal = bench.terminal_with(&arguments, 60, &[("LC_ALL", "C"), ("TERM", "xterm")]);
    terminal.answers("Your name", "Jörg Beispiel");
    terminal.answers("degC", "21,5 °C");
    terminal.answers("As it stands", "pause");
    terminal.answers("Before you go", "");
    terminal.ends();
    let raw = terminal.raw();
    assert!(raw.is_ascii(), "{raw}");
    assert!(raw.contains("Auf 0,5 degC genau; ohm"), "{raw}");
    let record = std::fs::read_to_string(bench.path("walk.record.jsonl")).unwrap();
    assert!(record.contains("Jörg Beispiel") && record.contains("21,5 °C"), "{record}");
}

#[test]
fn a_window_drawn_narrower_shows_the_question_anew_and_keeps_what_is_half_typed() {
    let bench = Bench::new();
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", "walk.record.jsonl"], 80);
    terminal.answers("Your name", "Ann Example");
    terminal.answers("Serial number", "DP-0031");
    terminal.answers("Radius of the sweep", "150");
    terminal.answers("Which drive", "belt");
    terminal.answers("arm: its number", "DG-4, 2030-01-31");
    terminal.sees("at the front of the table");
    terminal.sees("> ");
    terminal.keys("-0.0");
    terminal.row_reads("> -0.0");
    let before = terminal.all().len();
    terminal.master.resize(PtySize { rows: 24, cols: 40, pixel_width: 0, pixel_height: 0 }).unwrap();
    // The same question once more, and the line as it was.
    terminal.sees("at the front of the table");
    terminal.row_reads("> -0.0");
    for row in terminal.all()[before..].lines() {
        assert!(width_of(row.trim_end()) <= 40, "{row}");
    }
    terminal.keys("4\r");
    terminal.sees("-0.04 mm, table low");
    terminal.keys("\u{3}");
    terminal.ends();
}

const SERIES: &str = "\
language 1
procedure \"Quick run-in\"
decide simple
section one \"One\"
step A \"Spindle\"
  read temp in degC
    every 5 s for at most 100 s
  let top \"At the end\" = last(temp over time)
  tolerance top at most 50 degC
";

fn series(bench: &Bench, text: &str, bell: bool) -> Terminal {
    std::fs::write(bench.path("series.bedway"), text).unwrap();
    let mut arguments = vec!["walk", "series.bedway", "--record", "walk.record.jsonl"];
    arguments.extend(bell.then_some("--bell"));
    let mut terminal = bench.terminal(&arguments, 80);
    terminal.answers("Your name", "Ann Example");
    terminal.answers("Enter starts the clock", "");
    terminal.answers("0 min", "20");
    terminal
}

#[test]
fn a_due_reading_rings_where_that_is_wanted_and_nowhere_else() {
    for bell in [true, false] {
        let bench = Bench::new();
        let mut terminal = series(&bench, SERIES, bell);
        // The prompt says when; the question comes by itself.
        terminal.sees("Next row at 5 s, in ");
        terminal.sees("in degC");
        terminal.sees("> ");
        terminal.keys("\u{3}");
        terminal.sees("--resume");
        terminal.ends();
        assert_eq!(terminal.raw().contains('\u{7}'), bell);
    }
}

#[test]
fn what_is_half_typed_when_a_reading_comes_due_stays_and_is_told() {
    let bench = Bench::new();
    let mut terminal = series(&bench, &SERIES.replace("every 5 s", "every 8 s"), true);
    terminal.sees("Next row at");
    terminal.sees("> ");
    terminal.keys("note no");
    terminal.sees("the next reading is due");
    terminal.row_reads("> note no");
    terminal.keys("ise\r");
    terminal.sees("in degC");
    terminal.keys("\u{3}");
    terminal.sees("--resume");
    terminal.ends();
}
