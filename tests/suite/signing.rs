//! Who may sign what and when: a walk that is not at its end, and what is added behind the signatures.

use bedway::record::signature::{OsRng, SigningKey, sign_record};
use bedway::record::{MemoryStore, Writer};
use bedway::walk::event::Event;

use crate::commands::Folder;
use crate::record::{OPERATOR, closed, opened, time};
use crate::signatures::{check, statement};

/// They signed what they added, whatever stands before it; the verdict waits for them, and a second signature is on it.
#[test]
fn who_signs_an_amendment_has_not_signed_the_verdict() {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let key = |name: &str| SigningKey::make(&folder.path().join(name), "", None, &mut OsRng).unwrap();
    let (ann, bo) = (key("ann"), key("bo"));
    for event in [opened(&["witness"]), closed()] {
        writer.append(&time(0), OPERATOR, event).unwrap();
    }
    let by_ann = || statement(OPERATOR, "Ann Example");
    let by_bo = || statement("witness", "Bo Example");
    sign_record(&mut writer, &ann, &time(1), OPERATOR, "ann-example", by_ann()).unwrap();
    for (at, text) in [(2, "the serial number ends in 7"), (3, "the bed is of 1962")] {
        writer.append(&time(at), "witness", Event::Amended { text: text.to_owned(), name: None }).unwrap();
        sign_record(&mut writer, &bo, &time(at), "witness", "bo-example", by_bo()).unwrap();
        let found = check(&store.bytes(), None);
        assert_eq!(found.missing, ["witness"]);
        assert!(found.hold() && found.uncovered.is_none());
    }
    sign_record(&mut writer, &bo, &time(4), "witness", "bo-example", by_bo()).unwrap();
    let found = check(&store.bytes(), None);
    assert!(found.missing.is_empty());
    assert_eq!(found.findings.iter().map(|it| it.amends).collect::<Vec<_>>(), [false, true, true, false]);
}

/// The power went between the addition and the signature of who made it: whoever signs next has not signed it for them.
#[test]
fn an_addition_counts_as_signed_only_by_the_one_who_made_it() {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let key = |name: &str| SigningKey::make(&folder.path().join(name), "", None, &mut OsRng).unwrap();
    let (ann, bo, cy) = (key("ann"), key("bo"), key("cy"));
    for event in [opened(&["owner", "witness"]), closed()] {
        writer.append(&time(0), OPERATOR, event).unwrap();
    }
    let by = |party: &str, name: &str| statement(party, name);
    sign_record(&mut writer, &ann, &time(1), OPERATOR, "ann-example", by(OPERATOR, "Ann Example")).unwrap();
    let added = Event::Amended { text: "the bed is of 1962".into(), name: Some("Bo Example".into()) };
    writer.append(&time(2), "owner", added).unwrap();
    sign_record(&mut writer, &cy, &time(3), "witness", "cy-example", by("witness", "Cy Example")).unwrap();
    let found = check(&store.bytes(), None);
    assert_eq!(
        found.amending.unsigned.iter().map(|it| it.said_by()).collect::<Vec<_>>(),
        ["Bo Example, owner"]
    );
    assert!(!found.hold());
    assert_eq!(found.missing, ["owner"], "the witness has signed the verdict");

    sign_record(&mut writer, &bo, &time(4), "owner", "bo-example", by("owner", "bo  example")).unwrap();
    let found = check(&store.bytes(), None);
    assert!(found.hold(), "{found:?}");
    assert_eq!(found.missing, ["owner"]);
    assert_eq!(found.findings.iter().map(|it| it.amends).collect::<Vec<_>>(), [false, false, true]);
}

const APART: &str = "language 1\nprocedure \"Two ways\"\ndecide simple\nsection s \"S\"\nstep A \"Along\"\n  read x in mm\n    \
                     plus \"high\"\n    minus \"low\"\n  report x\nstep B \"Across\"\n  read x in mm\n    plus \"high\"\n    minus \
                     \"low\"\n  report x\ncrosscheck ways \"Both ways\" A.x against B.x within 0.01 mm\n";

/// That nobody finds why two results differ is for whoever measured them to say, not for whoever types `sign` outside.
#[test]
fn a_walk_whose_results_do_not_agree_is_not_closed_from_outside() {
    let folder = Folder::new();
    std::fs::write(folder.path("two.bedway"), APART).unwrap();
    let record = "two.record.jsonl";
    folder.typed(&["walk", "two.bedway", "--record", record], "Ann Example\n0.01\n0.05\n");
    let before = std::fs::read(folder.path(record)).unwrap();
    let (status, said) = folder.run(&["sign", record, "--as", "Ann Example, operator"]);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(status, 1, "{said}");
    assert!(words.contains("Still open: - ways: look again (Both ways)"), "{said}");
    assert!(words.contains("nothing was closed and nothing was signed"), "{said}");
    assert!(words.contains("bedway walk --resume two.record.jsonl"), "{said}");
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), before, "nothing was written");

    // In the walk, before both figures, it can be.
    let (_, said) = folder.typed(&["walk", "--resume", record], "\nsign\n");
    assert!(said.contains("Closed: not accepted"), "{said}");
    assert_eq!(folder.run(&["sign", record, "--as", "Ann Example, operator"]).0, 0);
}

#[test]
fn a_walk_in_which_a_stop_stands_is_not_closed_from_outside() {
    let folder = Folder::new();
    let text = APART.replace("step B", "step R \"Run\"\n  caution \"Stand clear.\"\n  confirm \"Clear\"\n  powered\n  observe fine \"Fine?\" yes or no\n  require fine\nstep B");
    std::fs::write(folder.path("two.bedway"), text).unwrap();
    let record = "two.record.jsonl";
    folder.typed(&["walk", "two.bedway", "--record", record], "Ann Example\n0.01\nstop a knock\n0.01\n");
    let (status, said) = folder.run(&["sign", record, "--as", "Ann Example, operator"]);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(status, 1, "{said}");
    assert!(words.contains("the walk is stopped (R: stopped)"), "{said}");
}
