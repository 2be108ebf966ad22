//! What is put right beside the numbers: why something was corrected, how warm the room was, a reading that is withdrawn.
//! The old words stay, and a record that was written before some of them had their place still counts.

use bedway::cli::load::Loaded;
use bedway::record::MemoryStore;
use bedway::walk::event::Event;

use crate::brought::{text, verifies};
use crate::commands::Folder;
use crate::record::rechained;
use crate::transcripts::report_of;
use crate::walking::{lines, resume_asked, walk};

const PROCEDURE: &str = "language 1\nprocedure \"Put right\"\ndecide simple\nsection s \"S\"\nstep A \"Bed along a straightedge\"\n  \
    read dial_at in mm\n    over place 0 mm, 100 mm, 200 mm\n    plus \"bed high\"\n    minus \"bed low\"\n    not read allowed\n  \
    tolerance every dial_at within 0.010 mm\n";

fn walked(answers: &str) -> (Loaded, MemoryStore, String) {
    let (loaded, store) = (text(PROCEDURE), MemoryStore::default());
    let screen = walk(&loaded, store.clone(), &format!("Ann Example\n0 0.002 0.004\nyes\n{answers}")).screen;
    verifies(&loaded, &store);
    (loaded, store, screen.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The record told as an example comes to the same, beneath its procedure.
fn is_told_as_example(store: &MemoryStore, line: &str) {
    let folder = Folder::new();
    std::fs::write(folder.path("a.record.jsonl"), store.bytes()).unwrap();
    let (status, example) = folder.run(&["example", "a.record.jsonl"]);
    assert_eq!(status, 0, "{example}");
    assert!(example.contains(line), "{example}");
    std::fs::write(folder.path("p.bedway"), format!("{PROCEDURE}\n{example}")).unwrap();
    let (status, said) = folder.run(&["check", "p.bedway"]);
    assert_eq!(status, 0, "{said}\n{example}");
}

#[test]
fn the_reason_of_a_correction_is_put_right_by_its_number() {
    let (_, store, screen) = walked(
        "correct A.dial_at[place 100 mm] = 0.003 misheard\nnote oil low\ncorrect note 1 = oil full because wrong tank\n\
         correct correction 1 = read off the wrong line\ncorrect correction 2 = wrong lid\ncorrect correction 2 = other tank\n\
         correct correction 3 = x\ncorrect correction 1 never\nshow words\nsign\n",
    );
    for said in [
        "correction 1 corrected: read off the wrong line; it was misheard",
        "There is no correction 3. The last one is correction 2.",
        "correction 1 stands: it was said.",
        "note 1 = oil full (was oil low, corrected: other tank)",
        "correction 1 = read off the wrong line (was misheard, corrected: typed wrong)",
        "correction 2 = other tank (was wrong lid, corrected: typed wrong) (was wrong tank, corrected: typed wrong)",
    ] {
        assert!(screen.contains(said), "{said}: {screen}");
    }
    let report = report_of(&store);
    for said in [
        "(was 0.002 mm, corrected: read off the wrong line (was misheard, corrected: typed wrong))",
        "oil full (was oil low, corrected: other tank (was wrong lid, corrected: typed wrong) (was wrong tank",
    ] {
        assert!(report.contains(said), "{said}: {report}");
    }
    is_told_as_example(&store, "# correction 1, corrected: read off the wrong line (typed wrong)");
}

#[test]
fn how_warm_the_room_was_is_put_right() {
    let (loaded, store, _) = walked("pause\n");
    resume_asked(store.clone(), "24.5\ncorrect room 1 = 19,5 misheard\ncorrect room 1 = warm\npause\n");
    let warm = resume_asked(store.clone(), "22\nshow words\nsign\n").screen;
    verifies(&loaded, &store);
    let warm = warm.split_whitespace().collect::<Vec<_>>().join(" ");
    // Told against what it was, not against what was typed.
    assert!(warm.contains("2.5 K warmer than it was (19.5 degC)"), "{warm}");
    assert!(warm.contains("room 1 = 19.5 degC (was 24.5 degC, corrected: misheard)"), "{warm}");
    let report = report_of(&store);
    assert!(report.contains("resumed, 19.5 degC (was 24.5 degC, corrected: misheard)"), "{report}");
    is_told_as_example(&store, "# room 1, corrected: 19.5 degC (misheard)");
}

/// It is not read any more: what was read stays visible, and nothing passes on it.
#[test]
fn a_reading_that_was_no_good_is_withdrawn_and_nothing_passes_on_it() {
    let (_, store, screen) = walked("correct A.dial_at[place 100 mm] not read tip stood on a burr\nshow A\n");
    for said in [
        "100 mm counts as not read: tip stood on a burr; it was +0.002 mm, bed high",
        "A.dial_at[place 100 mm] = not read: tip stood on a burr",
        "A was passed, now invalid",
    ] {
        assert!(screen.contains(said), "{said}: {screen}");
    }
    let report = report_of(&store);
    let struck = "not read (tip stood on a burr) (was 0.002 mm, corrected: tip stood on a burr)";
    assert!(report.contains(struck), "{report}");
    is_told_as_example(&store, "correct A.dial_at[place 100 mm] = not read \"tip stood on a burr\"");
    // Taken back again, it is read as it was.
    let (_, store, screen) = walked(
        "correct A.dial_at[place 100 mm] = not read \"burr\"\ncorrect A.dial_at[place 100 mm] = 0.002 no burr there\nsign\n",
    );
    assert!(screen.contains("A was invalid, now passed"), "{screen}");
    assert!(report_of(&store).contains("0.002 mm (was not read (burr), corrected: no burr there)"));
    let (.., screen) = walked("correct A.dial_at[place 100 mm] not read\n");
    assert!(screen.contains("A station that is not read needs its reason."), "{screen}");
}

/// Records of before do not say after which try the advice was given that was withdrawn.
#[test]
fn advice_withdrawn_on_an_early_record_still_counts() {
    let (loaded, store) = crate::whole_day::walked();
    let mut early = lines(&store);
    let mut changed = 0;
    for line in &mut early {
        if let Event::Withdrawn { number, .. } = &mut line.event {
            changed += usize::from(number.take().is_some());
        }
    }
    assert!(changed > 0, "the day has advice that is withdrawn");
    let early = MemoryStore::new(rechained(&early));
    assert!(!String::from_utf8(early.bytes()).unwrap().contains("\"event\":\"withdrawn\",\"try\""));
    verifies(&loaded, &early);
    assert_eq!(report_of(&early), report_of(&store).replace(&end_of(&store), &end_of(&early)));
}

fn end_of(store: &MemoryStore) -> String {
    bedway::record::Digest::of(&store.bytes()).to_string()
}
