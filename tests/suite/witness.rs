//! The witness of a hold signs what stands so far, with a key of the stock `ssh-keygen`, which also checks it.

use std::path::Path;
use std::process::Command;

use bedway::record::{MemoryStore, Record, read};
use bedway::walk::event::{Event, HoldSignature};

use super::commands::Folder;
use super::record::rechained;
use super::walking::{lines, walk};

const RECORD: &str = "walk.record.jsonl";

fn key(folder: &Folder, name: &str, passphrase: &str) -> String {
    let path = folder.path(name);
    let made = Command::new("ssh-keygen")
        .args(["-q", "-t", "ed25519", "-C", "invented", "-N", passphrase, "-f"])
        .arg(&path)
        .status()
        .unwrap();
    assert!(made.success());
    let public = std::fs::read_to_string(path.with_extension("pub")).unwrap();
    public.trim_end_matches(" invented\n").to_owned()
}

/// The walk with these lines in place of the witness's name.
fn walked(folder: &Folder, witness: &str) -> (i32, String) {
    let answers = std::fs::read_to_string(folder.path("answers")).unwrap();
    let answers = answers.replace("\nBo Example\n", &format!("\n{witness}\n"));
    std::fs::write(folder.path("answers"), answers).unwrap();
    folder.run(&["walk", "drill.bedway", "--record", RECORD, "--answers", "answers"])
}

fn record(folder: &Folder) -> Record {
    read(&std::fs::read(folder.path(RECORD)).unwrap()).unwrap()
}

/// The number of the line of the hold, who, and how they signed.
fn held(record: &Record) -> (usize, String, Option<HoldSignature>) {
    let mut held = record.lines.iter().enumerate().filter_map(|(index, line)| match &line.event {
        Event::Held { name, signed, .. } => Some((index + 1, name.clone(), signed.clone())),
        _ => None,
    });
    let found = held.next().unwrap();
    assert!(held.next().is_none(), "held once");
    found
}

fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// As the reference says it, with nothing of ours.
fn by_hand(folder: &Path, line: usize, bytes: u64) -> bool {
    let command = format!(
        r#"sed -n {line}p {RECORD} | sed 's/.*"signature":"//; s/".*//; s/\\u000a/\n/g' > hold.sig
        head -c {bytes} {RECORD} | ssh-keygen -Y verify -f signers -I bo-example -n bedway -s hold.sig"#
    );
    Command::new("sh").args(["-c", &command]).current_dir(folder).output().unwrap().status.success()
}

#[test]
fn a_signed_hold_is_proved_by_verify_and_by_ssh_keygen_and_named_in_the_report() {
    let folder = Folder::new();
    let public = key(&folder, "bo", "three blind mice");
    let (status, said) = walked(&folder, "Bo Example with key bo");
    assert_eq!(status, 0, "{said}");
    // What others need to check it lies beside the record, its fingerprint on the screen to be told by voice.
    assert!(said.contains("walk.bo-example.signer") && said.contains("key SHA256:"), "{said}");
    let signer = std::fs::read_to_string(folder.path("walk.bo-example.signer")).unwrap();
    assert_eq!(signer, format!("bo-example namespaces=\"bedway\" {public}\n"));
    let (line, name, signed) = held(&record(&folder));
    let signed = signed.unwrap();
    assert_eq!((name.as_str(), signed.identity.as_str(), &signed.key), ("Bo Example", "bo-example", &public));

    std::fs::write(folder.path("signers"), format!("bo-example {public}\n")).unwrap();
    assert!(by_hand(folder.path("").as_path(), line, signed.bytes.unwrap()));
    let print = bedway::record::signature::fingerprint(&public).unwrap();
    let (status, said) = folder.run(&["verify", RECORD, "--signers", "signers"]);
    assert_eq!(status, 1, "nobody has signed the verdict: {said}");
    let proved =
        format!("witness of R4 (bo-example, key {print}): signature good, and line 1 of the signers file");
    assert!(words(&said).contains(&proved), "{said}");
    let (_, said) = folder.run(&["verify", RECORD]);
    assert!(words(&said).contains("known only from this record"), "{said}");
    assert!(
        words(&said).contains("Expected to sign and has not: owner"),
        "a witness has not accepted: {said}"
    );

    let (_, text) = folder.run(&["report", RECORD]);
    assert!(
        words(&text).contains(&format!("Witnessed by Bo Example, owner, who signed with the key {print}"))
    );
    let (_, json) = folder.run(&["report", RECORD, "--json"]);
    let (_, markdown) = folder.run(&["report", RECORD, "--markdown"]);
    folder.run(&["report", RECORD, "--html", "out.html"]);
    let html = std::fs::read_to_string(folder.path("out.html")).unwrap();
    for text in [json, markdown.replace('\\', ""), html] {
        assert!(text.contains(&print), "{text}");
    }
}

#[test]
fn what_is_changed_before_a_signed_hold_is_found_even_where_the_chain_was_made_anew() {
    let folder = Folder::new();
    let public = key(&folder, "bo", "three blind mice");
    walked(&folder, "Bo Example with key bo");
    std::fs::write(folder.path("signers"), format!("bo-example {public}\n")).unwrap();
    let mut lines = record(&folder).lines;
    let (line, _, signed) = held(&record(&folder));
    let fact = lines.iter_mut().find_map(|line| match &mut line.event {
        Event::Fact { answer, .. } if answer.value == "DP-0031" => Some(answer),
        _ => None,
    });
    let fact = fact.unwrap();
    (fact.typed, fact.value) = ("DP-0032".into(), "DP-0032".into());
    std::fs::write(folder.path(RECORD), rechained(&lines)).unwrap();
    let (status, said) = folder.run(&["verify", RECORD]);
    assert_eq!(status, 5, "{said}");
    assert!(words(&said).contains("signature NOT good: it does not fit the bytes"), "{said}");
    assert!(!by_hand(folder.path("").as_path(), line, signed.unwrap().bytes.unwrap()));
    let (_, text) = folder.run(&["report", RECORD]);
    assert!(text.contains("A SIGNATURE IS NOT GOOD"), "{text}");
}

/// The line of the hold changed as somebody would who wants the witness elsewhere, and the chain made anew.
fn said_of_changed(change: impl FnOnce(&mut Event)) -> (i32, String) {
    let folder = Folder::new();
    key(&folder, "bo", "three blind mice");
    walked(&folder, "Bo Example with key bo");
    let mut lines = record(&folder).lines;
    change(&mut lines.iter_mut().find(|line| matches!(line.event, Event::Held { .. })).unwrap().event);
    std::fs::write(folder.path(RECORD), rechained(&lines)).unwrap();
    let (status, said) = folder.run(&["verify", RECORD]);
    (status, words(&said))
}

#[test]
fn the_witness_signs_at_which_step_for_which_party_and_who_they_are() {
    let moved = said_of_changed(|event| {
        if let Event::Held { step, .. } = event {
            "R3".clone_into(step);
        }
    });
    let renamed = said_of_changed(|event| {
        if let Event::Held { name, .. } = event {
            "Bo Exampla".clone_into(name);
        }
    });
    let shortened = said_of_changed(|event| {
        if let Event::Held { signed: Some(signed), .. } = event {
            signed.bytes = signed.bytes.map(|bytes| bytes - 1);
        }
    });
    for (status, said) in [&moved, &renamed] {
        assert_eq!(*status, 5, "{said}");
        assert!(said.contains("signature NOT good: it does not fit the bytes"), "{said}");
    }
    assert!(shortened.1.contains("signature NOT good: it says that it covers"), "{}", shortened.1);
}

#[test]
fn a_witness_on_an_early_record_who_signed_only_what_stood_before_is_said_not_to_name_the_step() {
    let (_, said) = said_of_changed(|event| {
        if let Event::Held { signed: Some(signed), .. } = event {
            signed.bytes = None;
        }
    });
    assert!(said.contains("signature NOT good"), "it was signed up to the name: {said}");
}

#[test]
fn a_key_that_cannot_be_used_is_refused_with_what_to_type_and_none_is_needed() {
    let folder = Folder::new();
    key(&folder, "other", "not that one");
    let keys = std::fs::read_to_string(folder.path("answers")).unwrap();
    for (witness, why) in [
        ("Bo Example with key nowhere", "no such file"),
        ("Bo Example with key", "The key is not named"),
        ("Bo Example with key other", "that is not the passphrase of other"),
    ] {
        let keys = keys.replace("\nBo Example\n", &format!("\n{witness}\n"));
        let (status, said) =
            folder.typed(&["walk", "drill.bedway", "--record", "refused.record.jsonl"], &keys);
        let said = words(&said);
        assert!(status == 1 && said.contains(why) && said.contains("or without \"with key\""), "{said}");
        std::fs::remove_file(folder.path("refused.record.jsonl")).unwrap();
    }
    let (status, said) = folder.typed(&["walk", "drill.bedway", "--record", RECORD], &keys);
    assert_eq!(status, 0, "{said}");
    let (_, name, signed) = held(&record(&folder));
    assert_eq!((name.as_str(), signed), ("Bo Example", None));
    assert!(!std::fs::read_to_string(folder.path(RECORD)).unwrap().contains("\"signed\":"));
}

#[test]
fn the_word_for_a_hold_takes_a_key_and_the_operator_cannot_sign_with_it_later() {
    let folder = Folder::new();
    key(&folder, "bo", "three blind mice");
    let (status, said) = walked(&folder, ":held R4 by owner with key \"bo\"");
    assert_eq!(status, 0, "{said}");
    assert!(held(&record(&folder)).2.is_some());
    let (status, said) = folder.run(&["sign", RECORD, "--as", "Ann Example, operator", "--key", "bo"]);
    assert_ne!(status, 0, "{said}");
    assert!(words(&said).contains("each person signs with a key of their own"), "{said}");
}

/// A word of the prompt is no way round what must be said before a step runs the machine.
#[test]
fn a_value_entered_by_name_waits_for_person_witness_and_confirmation() {
    let text = include_str!("../corpus/good/hold-by-confirm.bedway");
    let loaded = bedway::cli::load::check("p.bedway", text.as_bytes());
    let store = MemoryStore::default();
    let enter = "enter A.speed = 1000";
    let answers = format!(
        "Ann\n:{enter}\nCy Example\n:{enter}\nBo Example\n{enter}\nno\n{enter}\nyes\n{enter}\nsign\n"
    );
    let screen = words(&walk(&loaded, store.clone(), &answers).screen);
    for asked in
        ["This step is for: a trained person", "Hold: Witness before the cut", "Confirm: The key is out"]
    {
        assert!(screen.contains(&format!("A is not to be read yet. First comes: {asked}")), "{screen}");
    }
    assert!(screen.contains("A PASSED"), "{screen}");
    let entered = lines(&store).iter().filter(|line| matches!(line.event, Event::Entered(_))).count();
    assert_eq!(entered, 1);
}
