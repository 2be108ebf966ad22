//! A disk that takes no more, or is gone, while somebody walks: it is said what stands and how to go on, and what was
//! typed is written once there is room.

use std::fs;

use bedway::walk::event::Event;

use super::pty::{Bench, Terminal};

const ANSWERS: &[(&str, &str)] = &[
    ("Which drive", "belt"),
    ("arm: its number", "DG-4, 2030-01-31"),
    ("front of the table", "0.02"),
    ("back of the table", "0"),
    ("high", "0.01"),
    ("low", "-0.01"),
];

fn begun(bench: &Bench, record: &str) -> Terminal {
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", record], 80);
    terminal.answers("Your name", "Ann Example");
    terminal.answers("Serial number", "DP-0031");
    terminal.answers("Radius of the sweep", "150");
    terminal
}

/// The system's own limit on the size of a file stands for a full disk: both refuse the bytes that are too many.
#[cfg(unix)]
#[test]
fn a_disk_that_fills_up_costs_no_answer() {
    let bench = Bench::new();
    let mut terminal = begun(&bench, "walk.record.jsonl");
    terminal.answers("Which drive", "pause");
    terminal.sees("--resume");
    terminal.ends();
    // Room for the line that it is taken up again, and for one or two answers, in blocks of 512 bytes.
    let blocks = fs::metadata(bench.path("walk.record.jsonl")).unwrap().len() / 512 + 3;
    let line = format!("ulimit -f {blocks}; trap '' XFSZ; exec \"$@\"");
    let mut full = bench.shell(&line, &["walk", "--resume", "walk.record.jsonl"]);
    let mut written = 0;
    for (question, answer) in ANSWERS {
        if full.sees_one_of(&[question, "Enter writes it"]) == 1 {
            break;
        }
        full.sees("> ");
        full.keys(&format!("{answer}\r"));
        written += 1;
    }
    assert!((1..ANSWERS.len()).contains(&written), "{}", full.all());
    // There is no room still; whoever leaves is told what was typed last, and what stands.
    full.sees("> ");
    full.keys("\r");
    full.sees("Enter writes it");
    full.sees("> ");
    full.keys("none\r");
    full.sees("\"none\" has to wait");
    full.sees("> ");
    full.keys("pause\r");
    full.sees("Typed last: ");
    full.sees(ANSWERS[written - 1].1);
    assert_eq!(full.ends(), 4);
    let said = full.all().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the system lets this file grow no further"), "{said}");
    assert!(said.contains("entries before it stand in the record"), "{said}");

    // On a disk with room the question is asked again, and nothing else.
    let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
    again.sees("Taken up again");
    if again.sees_one_of(&["temperature of the room now", ANSWERS[written - 1].0]) == 0 {
        again.sees("> ");
        again.keys("\r");
        again.sees(ANSWERS[written - 1].0);
    }
    again.sees("> ");
    again.keys("\u{3}");
    again.sees("--resume");
    again.ends();
}

#[cfg(unix)]
#[test]
fn a_folder_that_was_moved_away_is_missed_at_the_next_answer_which_is_written_once_it_is_back() {
    let bench = Bench::new();
    fs::create_dir(bench.path("stick")).unwrap();
    let mut terminal = begun(&bench, "stick/walk.record.jsonl");
    terminal.sees("Which drive");
    terminal.sees("> ");
    fs::rename(bench.path("stick"), bench.path("elsewhere")).unwrap();
    terminal.keys("belt\r");
    terminal.sees("was it moved, or a disk");
    terminal.sees("wherever it is now: put it back");
    terminal.sees("Enter writes it");
    fs::rename(bench.path("elsewhere"), bench.path("stick")).unwrap();
    terminal.sees("> ");
    terminal.keys("\r");
    terminal.answers("arm: its number", "\u{3}");
    terminal.ends();
    let bytes = fs::read(bench.path("stick/walk.record.jsonl")).unwrap();
    let record = bedway::record::read(&bytes).unwrap_or_else(|damaged| panic!("{}", damaged.damage));
    let belt = |event: &Event| matches!(event, Event::Fact { answer, .. } if answer.value == "belt");
    assert_eq!(record.lines.iter().filter(|line| belt(&line.event)).count(), 1);
}
