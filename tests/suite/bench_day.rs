//! Where what a walk promises is shown: the table beside the transcripts, and what only the command line says of it.

use std::collections::BTreeSet;
use std::path::Path;

use bedway::record::{MemoryStore, StoreFault};

use crate::commands::Folder;
use crate::transcripts::assert_shown_as;
use crate::walking::{procedure, resume_asked, transcript, walk};

/// What stands in backticks in the second column of the table.
fn shown_by(table: &str) -> Vec<String> {
    let cells =
        table.lines().filter(|line| line.starts_with("| ")).filter_map(|line| line.split(" | ").nth(1));
    cells.flat_map(|cell| cell.split('`').skip(1).step_by(2).map(str::to_owned)).collect()
}

#[test]
fn whatever_the_table_names_is_there_and_no_transcript_is_missing_in_it() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let named: BTreeSet<String> = shown_by(&transcript("README.md")).into_iter().collect();
    assert!(named.len() > 40, "{named:?}");
    for name in &named {
        match name.split_once("::") {
            Some((file, test)) => {
                let source = std::fs::read_to_string(root.join("suite").join(format!("{file}.rs")))
                    .unwrap_or_default();
                assert!(source.contains(&format!("fn {test}(")), "there is no test {name}");
            }
            None => {
                assert!(
                    root.join(format!("transcripts/{name}.screen")).exists(),
                    "there is no transcript {name}"
                );
            }
        }
    }
    for entry in std::fs::read_dir(root.join("transcripts")).unwrap() {
        let file = entry.unwrap().file_name().into_string().unwrap();
        if let Some(name) = file.strip_suffix(".screen") {
            assert!(named.contains(name), "{name} is in no line of the table");
        }
    }
}

#[test]
fn a_stop_is_said_to_whoever_takes_the_walk_up_again() {
    let store = MemoryStore::default();
    let until_the_stop =
        "Ann Example\nyes\n\n20 20\n\nsmooth\nstop smell of burning at the motor\npause\n18.0\n";
    walk(&procedure("run-in.bedway"), store.clone(), until_the_stop);
    let walked = resume_asked(store, &transcript("stop-kept.answers"));
    assert_shown_as("stop-kept", &walked.screen);
    let stop = walked.screen.find("smell of burning at the motor").unwrap();
    assert!(stop < walked.screen.find("> ").unwrap(), "{}", walked.screen);
}

/// Times and days in what the program says, which are others at each run.
fn timeless(said: &str) -> String {
    let words = said.split(' ').map(|word| {
        let is_time = word.len() >= 5 && word.starts_with(|it: char| it.is_ascii_digit());
        let is_time = is_time && (word.matches('-').count() == 2 || word.contains(':'));
        let digit = |letter: char| if is_time && letter.is_ascii_digit() { '0' } else { letter };
        word.chars().map(digit).collect::<String>()
    });
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn a_walk_that_is_left_says_what_is_open_stale_and_found_and_how_to_go_on() {
    let folder = Folder::new();
    for name in ["feet.bedway", "left-and-back.answers"] {
        std::fs::write(folder.path(name), transcript(name)).unwrap();
    }
    let record = "feet.record.jsonl";
    let (status, left) =
        folder.run(&["walk", "feet.bedway", "--record", record, "--answers", "left-and-back.answers"]);
    assert_eq!(status, 1, "{left}");
    let (_, back) = folder.typed(&["walk", "--resume", record], "21\n");
    // How long it was left is as long as this test took.
    let back = back.lines().map(|line| {
        match line.split_once(", 0 s ago").or_else(|| line.split_once(", 1 s ago")) {
            Some((before, behind)) => format!("{before}, ... ago{behind}"),
            None => line.to_owned(),
        }
    });
    let back = back.collect::<Vec<_>>().join("\n");
    assert_shown_as(
        "left-and-back",
        &timeless(&format!("{left}\n$ bedway walk --resume {record}\n{back}\n")),
    );
}

#[test]
fn where_nothing_can_be_written_it_is_said_what_to_do() {
    use std::io::{Error, ErrorKind};
    for (kind, what_to_do) in [
        (ErrorKind::PermissionDenied, "choose another folder or ask for leave"),
        (ErrorKind::ReadOnlyFilesystem, "use one that can be written"),
        (ErrorKind::StorageFull, "make room on it"),
        (ErrorKind::NotFound, "was it moved, or a disk unplugged?"),
    ] {
        let said = StoreFault::new("could not write", "lathe.record.jsonl", Error::from(kind)).to_string();
        assert!(said.contains("lathe.record.jsonl") && said.contains(what_to_do), "{said}");
    }
    // A folder that holds no files of ours, whoever asks.
    let folder = Folder::new();
    let (status, said) = folder.run(&["walk", "drill.bedway", "--record", "/proc/walk.record.jsonl"]);
    assert!(status == 4 && said.contains("could not create /proc/walk.record.jsonl"), "{said}");
}
