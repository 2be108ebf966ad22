//! Results that must agree and do not: to look again is asked for, and whoever finds no cause still gets to an end.

use bedway::cli::load::{self, Loaded};
use bedway::cli::session::Ending;
use bedway::record::MemoryStore;
use bedway::walk::event::Event;
use bedway::walk::replay;

use super::walking::{lines, program, resume, walk};

const LENGTHWAYS: &str = "\
language 1
procedure \"Lean and taper\"
decide simple
party owner \"Who takes the machine over\"
section one \"One\"
step A \"Axis\"
  read lean in mm
    plus \"toward the operator\"
    minus \"away from the operator\"
  tolerance lean from 0 mm to 0.010 mm
step B \"Piece\"
  read taper in mm
    plus \"free end larger\"
    minus \"free end smaller\"
  tolerance taper from -0.020 mm to 0 mm
crosscheck foretold \"Twice the lean, smaller at the free end\" B.taper against -2 * A.lean within 0.005 mm
";

/// Both pass, and are 0.0051 mm apart where 0.005 mm is allowed.
const APART: &str = "Ann Example\n0.004\n-0.0131\n";

fn checked(text: &str) -> Loaded {
    load::check("lean.bedway", text.as_bytes())
}

/// Verdict, exceptions and what was open, as the last closing has it; the whole record is proved first.
fn closed(loaded: &Loaded, store: &MemoryStore) -> Option<(String, Vec<String>, Vec<String>)> {
    let lines = lines(store);
    let times = lines.iter().map(|line| (line.time.as_str(), &line.event));
    replay::verify(program(loaded), times).unwrap();
    lines.into_iter().rev().find_map(|line| match line.event {
        Event::Closed { verdict, exceptions, open, .. } => Some((verdict, exceptions, open)),
        _ => None,
    })
}

#[test]
fn results_that_stay_apart_do_not_keep_a_walk_from_its_end() {
    // Without a party too there is nobody else who could let it go.
    for text in
        [LENGTHWAYS.to_owned(), LENGTHWAYS.replace("party owner \"Who takes the machine over\"\n", "")]
    {
        let loaded = checked(&text);
        let store = MemoryStore::default();
        let answers = format!("{APART}remeasure\nB.taper\n-0.0131\nsign\n");
        let walked = walk(&loaded, store.clone(), &answers);
        let screen = walked.screen.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(screen.contains("-0.0131 mm, free end smaller; against -0.008 mm"), "{screen}");
        assert!(screen.contains("sign closes the walk with it, as not accepted"), "{screen}");
        assert_eq!(walked.ending.ok(), Some(Ending::Closed), "{screen}");
        let (verdict, exceptions, open) = closed(&loaded, &store).unwrap();
        assert_eq!((verdict.as_str(), exceptions.len()), ("not accepted", 0));
        assert_eq!(open, ["foretold: look again (Twice the lean, smaller at the free end)"]);
    }
}

#[test]
fn a_party_accepts_one_of_two_results_and_both_are_named() {
    let (loaded, store) = (checked(LENGTHWAYS), MemoryStore::default());
    let answers = format!("{APART}waive B \"another steel\" by owner\nBo Example\nsign\n");
    assert_eq!(walk(&loaded, store.clone(), &answers).ending.ok(), Some(Ending::Closed));
    let (verdict, exceptions, open) = closed(&loaded, &store).unwrap();
    assert_eq!(verdict, "accepted with exceptions");
    assert_eq!(
        exceptions,
        ["B Piece: waived: another steel (Bo Example, owner)", "foretold: look again; B is waived"]
    );
    assert!(open.is_empty());
}

#[test]
fn a_walk_closed_with_results_apart_is_accepted_once_the_cause_is_put_right() {
    let (loaded, store) = (checked(LENGTHWAYS), MemoryStore::default());
    walk(&loaded, store.clone(), &format!("{APART}sign\n"));
    let answers = "reopen \"typed wrong\"\ncorrect B.taper = -0.0121 \"misread\"\nsign\n";
    assert_eq!(resume(store.clone(), answers).ending.ok(), Some(Ending::Closed));
    assert_eq!(closed(&loaded, &store), Some(("accepted".to_owned(), vec![], vec![])));
}

#[test]
fn what_is_still_to_do_is_not_closed_with_them() {
    let text = LENGTHWAYS.replace(
        "crosscheck",
        "step C \"Level\"\n  observe even \"Even?\" yes or no\n  require even\ncrosscheck",
    );
    let (loaded, store) = (checked(&text), MemoryStore::default());
    let answers = format!("{APART}yes\naltered C \"feet\"\nno\nsign\n");
    let screen = walk(&loaded, store.clone(), &answers).screen;
    assert!(screen.contains("Not everything is finished: C Level: passed, stale."), "{screen}");
    assert_eq!(closed(&loaded, &store), None);
}
