//! The commands as a person or a script runs them: what they say, what they write, and their exit status.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

use crate::exports::valid;

const BEDWAY: &str = env!("CARGO_BIN_EXE_bedway");

pub struct Folder {
    folder: TempDir,
}

impl Folder {
    pub fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let transcripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts");
        std::fs::copy(transcripts.join("drill-press.bedway"), folder.path().join("drill.bedway")).unwrap();
        std::fs::copy(transcripts.join("whole-walk.answers"), folder.path().join("answers")).unwrap();
        Self { folder }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(BEDWAY);
        command
            .args(arguments)
            .current_dir(self.folder.path())
            .env("XDG_CONFIG_HOME", self.path("config"))
            .env("BEDWAY_PASSPHRASE", "three blind mice")
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> (i32, String) {
        said(self.command(arguments).output().unwrap())
    }

    /// With answers down a pipe.
    pub fn typed(&self, arguments: &[&str], keys: &str) -> (i32, String) {
        std::fs::write(self.path("keys"), keys).unwrap();
        let keys = std::fs::File::open(self.path("keys")).unwrap();
        said(self.command(arguments).stdin(keys).output().unwrap())
    }

    /// A walk from a file of answers, closed and not signed.
    pub fn walked(&self) -> &'static str {
        let (status, said) =
            self.run(&["walk", "drill.bedway", "--record", "walk.record.jsonl", "--answers", "answers"]);
        assert_eq!(status, 0, "{said}");
        "walk.record.jsonl"
    }

    pub fn signed(&self) -> &'static str {
        let record = self.walked();
        for signer in ["Ann Example, operator", "Bo Example, owner"] {
            let (status, said) = self.run(&["sign", record, "--as", signer]);
            assert_eq!(status, 0, "{said}");
        }
        record
    }
}

fn said(output: Output) -> (i32, String) {
    let text = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
    (output.status.code().unwrap(), text.into_owned())
}

#[test]
fn check_says_what_is_wrong_and_where_and_explain_what_it_means() {
    let folder = Folder::new();
    let (status, said) = folder.run(&["check", "drill.bedway"]);
    assert_eq!(status, 0, "{said}");
    std::fs::write(folder.path("bad.bedway"), "language 1\nprocedur \"x\"\n").unwrap();
    let (status, said) = folder.run(&["check", "bad.bedway", "drill.bedway", "none.bedway"]);
    assert_eq!(status, 4, "{said}");
    assert!(
        said.contains("bad.bedway:2") && said.contains("procedure") && said.contains("none.bedway"),
        "{said}"
    );
    let (status, said) = folder.run(&["check", "bad.bedway"]);
    assert_eq!(status, 3, "{said}");
    let code = said.lines().last().unwrap().rsplit(' ').next().unwrap();
    let (status, said) = folder.run(&["explain", code]);
    assert_eq!(status, 0, "{said}");
    // A line a file, in the order given, also for one without faults.
    let (_, lines) = folder.run(&["check", "--json", "bad.bedway", "drill.bedway"]);
    let named = |line: &str| serde_json::from_str::<serde_json::Value>(line).unwrap()["file"].clone();
    assert_eq!(lines.lines().map(named).collect::<Vec<_>>(), ["bad.bedway", "drill.bedway"], "{lines}");
    let (_, json) = folder.run(&["check", "--json", "bad.bedway"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert!(json["problems"].as_array().unwrap().iter().any(|problem| problem["line"] == 2), "{json}");
    assert_eq!(folder.run(&["explain", "no::such"]).0, 2);
    assert_eq!(folder.run(&["walk", "bad.bedway"]).0, 3);
    assert_eq!(folder.run(&[]).0, 2);
    assert_eq!(folder.run(&["--help"]).0, 0);
}

#[test]
fn a_walk_signed_by_all_verifies_and_one_that_nobody_signed_does_not() {
    let folder = Folder::new();
    let record = folder.walked();
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 1, "{said}");
    let text = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Expected to sign and has not: operator"), "{said}");
    assert!(folder.run(&["report", record]).1.starts_with("*** NOT SIGNED"));
    let folder = Folder::new();
    let record = folder.signed();
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 0, "{said}");
    let (status, report) = folder.run(&["report", record]);
    assert_eq!(status, 0, "{report}");
    assert!(!report.contains("***") && report.contains("ACCEPTED"), "{report}");
}

/// Their name stands under what they added; that they take the verdict too is another signature, which stays open.
#[test]
fn who_signs_an_amendment_is_still_expected_to_sign_the_verdict_and_may() {
    let folder = Folder::new();
    let record = folder.walked();
    let well = |arguments: &[&str]| {
        let (status, said) = folder.run(arguments);
        assert_eq!(status, 0, "{said}");
    };
    well(&["sign", record, "--as", "Ann Example, operator"]);
    well(&["amend", record, "the serial number ends in 7", "--as", "Bo Example, owner"]);
    let (status, said) = folder.run(&["verify", record]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(status, 1, "{said}");
    assert!(said.contains("Bo Example, owner, of what was added"), "{said}");
    assert!(said.contains("Expected to sign and has not: owner"), "{said}");
    well(&["sign", record, "--as", "Bo Example, owner"]);
    well(&["verify", record]);
    let (status, said) = folder.run(&["sign", record, "--as", "Bo Example, owner"]);
    assert!(status == 2 && said.contains("has signed it as owner already"), "{said}");
}

/// What became known after the signing is added, signed for itself, told in the report; what was signed stays proved.
#[test]
fn an_amendment_is_added_to_a_signed_record_with_a_signature_of_its_own() {
    let folder = Folder::new();
    let amend = |record: &str, signer: &str| {
        folder.run(&["amend", record, "the serial number ends in 7", "--as", signer])
    };
    let record = folder.walked();
    let (status, said) = amend(record, "Ann Example, operator");
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(status == 2 && words.contains("is closed and not signed yet"), "{said}");
    assert!(words.contains("Sign it first: bedway sign walk.record.jsonl"), "{said}");
    // Taken up again, it says that it is closed, and how it can be gone on with.
    std::fs::write(folder.path("none"), "").unwrap();
    let (_, said) = folder.run(&["walk", "--resume", record, "--answers", "none"]);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("Closed: accepted") && words.contains("reopen and why takes it up again"),
        "{said}"
    );
    let folder = Folder::new();
    let amend = |record: &str, signer: &str| {
        folder.run(&["amend", record, "the serial number ends in 7", "--as", signer])
    };
    let record = folder.signed();
    let before = std::fs::read(folder.path(record)).unwrap();
    let (status, said) = amend(record, "Cy Example, inspector");
    assert!(status == 2 && said.contains("nobody signs this record as inspector"), "{said}");
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), before, "refused before anything is written");

    let (status, said) = amend(record, "Ann Example, operator");
    assert_eq!(status, 0, "{said}");
    assert!(std::fs::read(folder.path(record)).unwrap().starts_with(&before));
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 0, "{said}");
    let (_, report) = folder.run(&["report", record]);
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    let added = "the serial number ends in 7 (signed by Ann Example, operator)";
    let after = words.split("Added after the signing").nth(1).unwrap_or_default();
    assert!(after.split("Tests").next().unwrap_or_default().contains(added), "{report}");
    // In every form, beside the verdict that it does not change.
    let (_, markdown) = folder.run(&["report", record, "--markdown"]);
    assert!(markdown.contains("## Added after the signing"), "{markdown}");
    let (_, json) = folder.run(&["report", record, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["amendments"][0]["name"], "Ann Example", "{json}");
    assert_eq!(folder.run(&["report", record, "--html", "out.html"]).0, 0);
    let page = std::fs::read_to_string(folder.path("out.html")).unwrap();
    assert!(page.contains("Added after the signing</h2>") && page.contains(added), "{page}");
}

#[test]
fn who_may_not_sign_is_told_why_and_nothing_is_written() {
    let folder = Folder::new();
    let record = folder.walked();
    let before = std::fs::read(folder.path(record)).unwrap();
    for (signer, reason) in [
        ("Cy Example, operator", "only that person signs as operator"),
        ("Ann Example, owner", "took the readings"),
        ("Cy Example, buyer", "operator, owner"),
        ("Cy Example", "a name and a role"),
    ] {
        let (status, said) = folder.run(&["sign", record, "--as", signer]);
        assert_eq!(status, 2, "{said}");
        assert!(said.contains(reason), "{signer}: {said}");
    }
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), before);
    assert_eq!(folder.run(&["sign", record, "--as", "Ann Example, operator"]).0, 0);
    let (status, said) = folder.run(&["sign", record, "--as", "Ann Example, operator"]);
    assert_eq!(status, 2, "{said}");
    assert!(said.contains("already"), "{said}");
}

#[test]
fn an_unfinished_walk_is_not_signed_and_the_list_says_what_is_open() {
    let folder = Folder::new();
    std::fs::write(folder.path("few"), "Ann Example\nDP-0031\n150\nbelt\nDG-4\n0.02 0\nyes\n").unwrap();
    let (status, said) =
        folder.run(&["walk", "drill.bedway", "--record", "r.record.jsonl", "--answers", "few"]);
    assert_eq!(status, 1, "{said}");
    let (status, said) = folder.run(&["sign", "r.record.jsonl", "--as", "Ann Example, operator"]);
    assert_eq!(status, 1, "{said}");
    assert!(said.contains("Still open") && said.contains("R2"), "{said}");
    assert_eq!(folder.run(&["verify", "r.record.jsonl"]).0, 1);
}

#[test]
fn the_stock_ssh_keygen_checks_a_signature() {
    let folder = Folder::new();
    let record = folder.signed();
    let (_, report) = folder.run(&["report", record]);
    let public = std::fs::read_to_string(folder.path("config/bedway/keys/ann-example.pub")).unwrap();
    std::fs::write(folder.path("allowed_signers"), format!("ann-example namespaces=\"bedway\" {public}"))
        .unwrap();
    // The command that the report prints, as it stands there.
    let begin = report.find("head -c").unwrap();
    let end = report[begin..].find(".sig").unwrap() + begin + ".sig".len();
    let command = &report[begin..end];
    let output = Command::new("sh").args(["-c", command]).current_dir(folder.folder.path()).output().unwrap();
    let (status, said) = said(output);
    assert_eq!(status, 0, "{command}\n{said}");
    assert!(said.contains("Good \"bedway\" signature"), "{said}");

    let (status, said) = folder.run(&["verify", record, "--signers", "allowed_signers"]);
    assert_eq!(status, 0, "{said}");
    assert!(said.contains("line 1 of the signers file"), "{said}");
}

#[test]
fn a_verdict_that_does_not_follow_from_the_entries_is_found_though_the_chain_is_whole() {
    use bedway::record::{Digest, Line, read};
    use bedway::walk::event::Event;
    let folder = Folder::new();
    let record = folder.walked();
    let lines = read(&std::fs::read(folder.path(record)).unwrap()).unwrap().lines;
    let mut bytes = Vec::new();
    let mut prev = Digest::ZERO;
    let mut forged_at = 0;
    for line in lines {
        let mut event = line.event;
        if let Event::Judged(judged) = &mut event
            && judged.state == "failed"
        {
            judged.state = "passed".into();
            forged_at = line.seq;
        }
        let (_, sealed) = Line::seal(line.seq, &line.time, &line.who, event, prev).unwrap();
        prev = Digest::of(&sealed);
        bytes.extend(sealed);
    }
    assert!(forged_at > 0);
    std::fs::write(folder.path(record), bytes).unwrap();
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 5, "{said}");
    assert!(said.contains(&format!("line {forged_at} ")), "{said}");
}

#[test]
fn a_changed_byte_and_a_cut_end_are_found() {
    let folder = Folder::new();
    let record = folder.walked();
    let bytes = std::fs::read(folder.path(record)).unwrap();
    let end = bedway::record::read(&bytes).unwrap().end.to_string();
    let (_, said) = folder.run(&["verify", record, "--ends", &end]);
    assert!(said.contains("ends as it is said to"), "{said}");

    let at = String::from_utf8_lossy(&bytes).find("\"typed\":\"-0.08\"").unwrap();
    let mut changed = bytes.clone();
    changed[at + 13] = b'9';
    std::fs::write(folder.path(record), &changed).unwrap();
    let line = bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 5, "{said}");
    assert!(said.contains(&format!("line {line} ")), "{said}");
    let (status, report) = folder.run(&["report", record]);
    assert_eq!(status, 5);
    assert!(report.starts_with("*** DAMAGED"), "{report}");

    let lines: Vec<&[u8]> = bytes.split_inclusive(|byte| *byte == b'\n').collect();
    std::fs::write(folder.path(record), lines[..lines.len() - 1].concat()).unwrap();
    let (status, said) = folder.run(&["verify", record, "--ends", &end]);
    assert_eq!(status, 5, "{said}");
    assert!(said.contains("never ended so"), "{said}");
}

/// The one command of the README, and the mill: each question finds its answer in the example, to the end.
#[test]
fn the_machines_of_the_library_are_rehearsed_to_their_end() {
    for name in ["bench-lathe", "knee-mill"] {
        let folder = Folder::new();
        let file = format!("{}/procedures/{name}.bedway", env!("CARGO_MANIFEST_DIR"));
        let (status, shown) = folder.run(&["rehearse", &file]);
        assert_eq!(status, 0, "{name}: {shown}");
        assert!(!shown.contains("Not taken"), "{name}: {shown}");
        assert!(shown.contains("Verdict of the walk: accepted"), "{name}: {shown}");
        let record = format!("rehearsal/{name}/{name}.record.jsonl");
        let (status, document) = folder.run(&["report", &record, "--json"]);
        assert_eq!(status, 0, "{name}: {document}");
        valid(&folder.run(&["report", "--json-schema"]).1, &document);
    }
}

#[test]
fn a_rehearsal_walks_signs_reports_and_never_passes_for_a_walk() {
    let folder = Folder::new();
    let (status, shown) = folder.run(&["rehearse", "drill.bedway"]);
    assert_eq!(status, 0, "{shown}");
    assert!(shown.contains("REHEARSAL") && shown.contains("> -0.08"), "{shown}");
    let record = "rehearsal/drill/drill.record.jsonl";
    let (status, said) = folder.run(&["verify", record]);
    assert_eq!(status, 1, "{said}");
    assert_eq!(folder.run(&["verify", record, "--rehearsal"]).0, 0);
    let report = std::fs::read_to_string(folder.path("rehearsal/drill/report.txt")).unwrap();
    assert!(report.starts_with("*** REHEARSAL"), "{report}");
    // A second one does not touch the first.
    let first = std::fs::read(folder.path(record)).unwrap();
    assert_eq!(folder.run(&["rehearse", "drill.bedway", "--seed", "7"]).0, 0);
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), first);
    assert!(folder.path("rehearsal/drill-2/report.txt").exists());
    let (status, said) = folder.run(&["rehearse", "drill.bedway", "--example", "nothing like it"]);
    assert_eq!(status, 2);
    assert!(said.contains("a shim under the front"), "{said}");
    let (status, said) = folder.run(&["sign", record, "--as", "Cy Example, owner"]);
    assert_eq!(status, 2, "{said}");
}

#[test]
fn a_procedure_that_changed_is_reported_and_its_frozen_text_goes_on() {
    let folder = Folder::new();
    std::fs::write(folder.path("few"), "Ann Example\nDP-0031\n").unwrap();
    folder.run(&["walk", "drill.bedway", "--record", "r.record.jsonl", "--answers", "few"]);
    let text = std::fs::read_to_string(folder.path("drill.bedway")).unwrap();
    std::fs::write(folder.path("drill.bedway"), text.replace("Radius of the sweep", "Some other question"))
        .unwrap();
    let mut child = folder
        .command(&["walk", "--resume", "r.record.jsonl"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"150\n").unwrap();
    let (_, said) = said(child.wait_with_output().unwrap());
    assert!(said.contains("drill.bedway has changed since"), "{said}");
    assert!(said.contains("Radius of the sweep") && said.contains("Which drive"), "{said}");
}

#[test]
fn output_that_nobody_reads_to_its_end_is_no_fault() {
    let folder = Folder::new();
    let record = folder.walked();
    let mut child = folder.command(&["report", record]).stdout(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    assert!(child.wait().unwrap().success());
}

#[test]
fn a_damaged_record_and_a_faulty_file_stay_so_where_nobody_reads_what_is_said_of_them() {
    let folder = Folder::new();
    let record = folder.walked();
    let mut bytes = std::fs::read(folder.path(record)).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(folder.path(record), bytes).unwrap();
    std::fs::write(folder.path("faulty.bedway"), "language 1\nprocedure\n").unwrap();
    for (arguments, status) in [(["verify", record], 5), (["check", "faulty.bedway"], 3)] {
        let mut child = folder.command(&arguments).stdout(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        assert_eq!(child.wait().unwrap().code(), Some(status), "{arguments:?}");
    }
}

#[test]
fn tidy_sets_a_file_in_order_once_and_only_says_so_when_asked() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(folder.path("drill.bedway")).unwrap();
    let untidy = text.replace("  read sweep", "read    sweep");
    assert_ne!(untidy, text);
    std::fs::write(folder.path("drill.bedway"), &untidy).unwrap();
    let (status, said) = folder.run(&["tidy", "--check", "drill.bedway"]);
    assert_eq!(status, 1, "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("drill.bedway")).unwrap(), untidy);
    assert_eq!(folder.run(&["tidy", "drill.bedway"]), (0, "drill.bedway is tidy now\n".to_owned()));
    assert_eq!(folder.run(&["tidy", "--check", "drill.bedway"]), (0, String::new()));
    assert_eq!(folder.run(&["check", "drill.bedway"]).0, 0);
    std::fs::write(folder.path("odd.bedway"), b"language 1\n\xff\n").unwrap();
    assert_eq!(folder.run(&["tidy", "odd.bedway"]).0, 3);
    assert_eq!(std::fs::read(folder.path("odd.bedway")).unwrap(), b"language 1\n\xff\n");
    assert!(!folder.path("drill.bedway.tidy-new").exists());
}

/// What was left as failed and then corrected, queried and then corrected, passed and then skipped: the report tells it
/// as it is in the end.
#[test]
fn the_report_does_not_hold_on_to_what_a_correction_or_a_skip_has_overtaken() {
    let folder = Folder::new();
    let answers = "Ann Example\nDP-0031\n150\nbelt\nDG-4\n4 0\nyes\n\n0.01 -0.01\nyes\n\
                   correct R1.sweep[front] = 0.04 \"misheard\"\nyes\nyes\nnone\n:skip R4 no current\n\
                   altered R2 cleaned the taper\nsign\npause\n";
    std::fs::write(folder.path("some"), answers).unwrap();
    folder.run(&["walk", "drill.bedway", "--record", "r.record.jsonl", "--answers", "some"]);
    let (_, report) = folder.run(&["report", "r.record.jsonl"]);
    assert!(report.contains("Left as it is (failed); an entry was corrected after that"), "{report}");
    assert!(report.contains("0.04 mm (was 4 mm, corrected: misheard)"), "{report}");
    assert!(!report.contains("outside the usual"), "{report}");
    let row = report.lines().find(|line| line.starts_with("    Run-out of the bore")).unwrap_or("");
    assert!(row.contains("STALE"), "{report}");
}

/// Nobody sits at a file of answers: behind a line that is refused, the next ones would meet other questions.
#[test]
fn a_file_of_answers_ends_at_the_first_refusal_and_its_rest_is_taken_once_it_is_put_right() {
    let folder = Folder::new();
    let good = std::fs::read_to_string(folder.path("answers")).unwrap();
    // A remark counts as a line of the file. The row behind the slip would fit the question just as well.
    let (before, rest) = good.split_once("again R1\n").unwrap();
    let slip = format!("# the arbor\n{before}again R1\n0.o2 0.00\n{}", rest.split_once('\n').unwrap().1);
    std::fs::write(folder.path("slip"), &slip).unwrap();
    let line = slip.lines().position(|line| line.contains("0.o2")).unwrap() + 1;
    let walk = ["walk", "drill.bedway", "--record", "r.record.jsonl", "--answers", "slip"];
    let (status, said) = folder.run(&walk);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(status, 1, "{said}");
    assert!(words.contains(&format!("Line {line} of the answers was refused: ")), "{said}");
    assert!(words.contains("bedway walk --resume r.record.jsonl --answers REST"), "{said}");
    assert_eq!(said.lines().rfind(|line| line.starts_with("> ")), Some("> 0.o2 0.00"), "{said}");
    // Down a pipe it is the same: nobody sees it being refused.
    let (status, piped) = folder.typed(&["walk", "drill.bedway", "--record", "p.record.jsonl"], &slip);
    assert_eq!((status, piped.replace("p.record.jsonl", "r.record.jsonl")), (1, said));

    std::fs::write(folder.path("rest"), format!("\n{rest}")).unwrap();
    let resume = ["walk", "--resume", "r.record.jsonl", "--answers", "rest"];
    let (status, said) = folder.run(&resume);
    assert_eq!(status, 0, "{said}");
    folder.walked();
    let entered = |name: &str| {
        let record = bedway::record::read(&std::fs::read(folder.path(name)).unwrap()).unwrap();
        let read = record.lines.into_iter().filter_map(|line| match line.event {
            bedway::walk::event::Event::Entered(entry) => Some((entry.name, entry.stations, entry.answer)),
            _ => None,
        });
        read.collect::<Vec<_>>()
    };
    assert_eq!(entered("r.record.jsonl"), entered("walk.record.jsonl"));
}

/// At every question that may come first, the temperature of the room among them.
#[test]
fn the_rest_of_a_file_of_answers_that_does_not_begin_with_what_is_asked_changes_nothing() {
    let folder = Folder::new();
    std::fs::write(folder.path("few"), "Ann Example\nDP-0031\n150\nbelt\nDG-4\n0.02\n").unwrap();
    folder.run(&["walk", "drill.bedway", "--record", "r.record.jsonl", "--answers", "few"]);
    std::fs::write(folder.path("rest"), "yes\n20\n0.01\n").unwrap();
    let (status, said) = folder.run(&["walk", "--resume", "r.record.jsonl", "--answers", "rest"]);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(status == 1 && words.contains("Line 1 of the answers was refused: "), "{said}");
    assert_eq!(said.lines().filter(|line| line.starts_with("> ")).collect::<Vec<_>>(), ["> yes"], "{said}");
}
