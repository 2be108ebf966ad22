//! What a person at the bench reads: each sign with its own meaning, no name as the file writes it, numbers that can be
//! held by a hand, and that the machine runs.

use bedway::record::MemoryStore;

use crate::brought::text;
use crate::walking::{lines, walk, walk_at};
use bedway::cli::clock::TestClock;
use bedway::walk::event::Event;

const HEAD: &str = "language 1\nprocedure \"Said\"\ndecide simple\nsection one \"One\"\n";

fn screen(steps: &str, answers: &str) -> String {
    let loaded = text(&format!("{HEAD}{steps}"));
    walk(&loaded, MemoryStore::new(Vec::new()), &format!("Ann Example\n{answers}")).screen
}

/// The lines in one, since where they break is not what is tested here.
fn flat(screen: &str) -> String {
    screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

const PLANES: &str = r#"step B "Bore"
  read dial in mm
    over    plane  vertical, horizontal
    over    place  0 mm, 100 mm
    plus    "toward the operator"
    minus   "away from the operator"
    station plane vertical plus "up" minus "down"
  let along "Axis" = gain(dial over place)
  let back "The other way" = -1 * along
  tolerance every along within 0.010 mm
"#;

#[test]
fn a_result_at_a_station_with_a_sense_of_its_own_says_that_one() {
    let said = flat(&screen(PLANES, "0 0.003 0 0.004\nyes\n"));
    assert!(
        said.contains("Axis: vertical: +0.003 mm, up; horizontal: +0.004 mm, toward the operator"),
        "{said}"
    );
    // Turned round with its words: what was up stays up.
    let turned = "The other way: vertical: -0.003 mm, up; horizontal: -0.004 mm, toward the operator";
    assert!(said.contains(turned), "{said}");
}

#[test]
fn before_a_whole_row_is_typed_each_sense_in_it_is_said() {
    let said = flat(&screen(PLANES, ""));
    assert!(said.contains("plus: up; minus: down"), "{said}");
    assert!(
        said.contains("from horizontal, 0 mm on: plus: toward the operator; minus: away from the operator"),
        "{said}"
    );
}

const SIDES: &str = r#"step S "Side"
  observe held "How is it held?" one of in_chuck, in_collet
  read gap_wide in mm
    only when held is in_collet
    over side near_side, far_side
    unsigned
  read gap in mm
    over side near_side, far_side
    unsigned
    ask "Gap at the {side}"
  let most "Most" = greatest(gap over side)
  tolerance every gap at most 0.1 mm
  report most
"#;

#[test]
fn names_are_said_with_blanks_and_taken_so_in_a_command() {
    let said = flat(&screen(SIDES, "in chuck\n0.01 0.02\nyes\ncorrect S.gap[near side] = 0.03\nshow S\n"));
    for words in [
        "Type one of: in chuck, in collet.",
        "= in chuck",
        "Gap at the near side",
        "= far side: 0.02 mm",
        "Gap at the near side corrected: 0.03 mm; it was 0.01 mm",
        // As the command wants it, so that it can be typed after it.
        "S.gap[side far_side] = 0.02 mm",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn a_reading_that_does_not_apply_is_not_counted() {
    let said = flat(&screen(SIDES, "in chuck\n"));
    assert!(said.contains("reading 2 of 3"), "{said}");
}

const SHIM: &str = r#"step L "Level"
  read tilt in mm/m
    plus  "front high"
    minus "rear high"
  let lean "Lean" = tilt
  tolerance lean within 0.02 mm/m
  adjustment shim "Shim" in mm
    plus  "added"
    minus "taken out"
    predicts lean by -1 * shim / 0.333 m
  remedy when lean outside "Shim it."
    advise shim = lean * 0.333 m
step M "More"
  observe fine "Is it fine?" yes or no
  require fine is yes
"#;

#[test]
fn an_amount_that_is_reckoned_ahead_has_three_figures() {
    let said = flat(&screen(SHIM, "0.1234\nadjust L.shim = 0.04\n"));
    assert!(said.contains("Shim: +0.0411 mm, added"), "{said}");
    assert!(said.contains("Lean expected after this: +0.00328 mm/m"), "{said}");
}

#[test]
fn what_was_moved_on_withdrawn_advice_and_moved_back_is_no_exception() {
    let moved = "0.1234\nadjust L.shim = 0.04\n\ncorrect L.tilt = 0.0123\n";
    let left = flat(&screen(SHIM, &format!("{moved}show\n")));
    assert!(
        left.contains("move it back and type adjust L.shim = -0.04 mm; or justify L.shim \"why\""),
        "{left}"
    );
    assert!(left.contains("L.shim: adjusted on advice that a correction withdrew"), "{left}");
    let undone = flat(&screen(SHIM, &format!("{moved}adjust L.shim = -0.04\nshow\n")));
    assert!(!undone.contains("L.shim: adjusted on advice that a correction withdrew"), "{undone}");
}

#[test]
fn a_move_typed_wrong_is_corrected_and_all_that_rests_on_it_is_said_again() {
    let typed = "0.1234\nadjust L.shim = 0.4\n";
    let back = flat(&screen(SHIM, &format!("{typed}back\n0.04\n")));
    assert!(back.contains("Back to move 1: shim: +0.4 mm, added"), "{back}");
    assert!(back.contains("= move 1 corrected: shim: +0.04 mm, added; it was 0.4 mm"), "{back}");
    assert!(back.contains("Lean expected after this: +0.00328 mm/m"), "{back}");
    let later = flat(&screen(SHIM, &format!("{typed}again\n0.003\ncorrect L.shim = 0.04 heard wrong\n")));
    assert!(later.contains("Lean: expected -1.08 mm/m, rear high; obtained +0.003 mm/m"), "{later}");
    assert!(later.contains("Lean: expected +0.00328 mm/m, front high; obtained +0.003 mm/m"), "{later}");
    assert!(
        later.contains(
            "Shim moved by +0.04 mm, added; Lean changed by -0.12 mm/m, rear high (-3.01 mm/m for each mm)"
        ),
        "{later}"
    );
}

#[test]
fn a_move_that_never_happened_is_struck_out_and_nothing_is_stale_any_more() {
    let typed = "0.1234\nadjust L.shim = 0.04\n\nshow\n";
    assert!(flat(&screen(SHIM, typed)).contains("L Level: failed, stale"));
    let struck = flat(&screen(SHIM, &format!("{typed}correct move 1 = never \"it was the other lathe\"\n")));
    assert!(struck.contains("move 1 is struck out, it never happened: shim: +0.04 mm, added"), "{struck}");
    assert!(struck.contains("L is no longer stale: failed."), "{struck}");
    let twice = flat(&screen(SHIM, &format!("{typed}correct move 1 never\ncorrect move 1 never\n")));
    assert!(twice.contains("move 1 is struck out already."), "{twice}");
}

#[test]
fn several_moves_of_one_kind_are_told_apart_by_their_numbers() {
    let typed = "0.1234\nadjust L.shim = 0.04\nadjust L.shim = 0.04\n";
    let said = flat(&screen(SHIM, &format!("{typed}correct L.shim = 0.01\ncorrect move 3 = 0.01\n")));
    assert!(said.contains("L.shim was moved twice."), "{said}");
    assert!(said.contains("correct move 1 = 0.01 \"why\", or correct move 2 = 0.01 \"why\""), "{said}");
    assert!(said.contains("There is no move 3. The last one is move 2."), "{said}");
}

#[test]
fn the_whole_command_is_taken_where_it_is_asked_what_was_altered() {
    for line in [":adjust L.shim = 0.04", "adjust shim 0.04", "shim 0.04"] {
        let said = flat(&screen(SHIM, &format!("0.1234\nadjust\n{line}\n")));
        assert!(said.contains("= shim: +0.04 mm, added"), "{line}: {said}");
    }
    let bare = flat(&screen(SHIM, "0.1234\nadjust\nadjust 0.04\n"));
    assert!(bare.contains("\"0.04\" does not say what was altered."), "{bare}");
}

#[test]
fn yes_is_no_defect() {
    let steps = "step A \"Arrival\"\n  observe sound \"Sound?\" yes or no\n  defects \"Cracks\"\n  require sound is yes\n";
    let loaded = text(&format!("{HEAD}{steps}"));
    let store = MemoryStore::new(Vec::new());
    let walked = walk(&loaded, store.clone(), "Ann Example\nyes\nyes\ndrain cracked\ndone\n");
    assert!(walked.screen.contains("What was found?"), "{}", walked.screen);
    let found = lines(&store).into_iter().filter_map(|line| match line.event {
        Event::Defect { text, .. } => Some(text),
        _ => None,
    });
    assert_eq!(found.collect::<Vec<_>>(), ["drain cracked"]);
}

#[test]
fn beside_a_machine_that_runs_every_other_step_says_so() {
    let steps = r#"step R "Run"
  confirm "Clear"
  powered
  read temp in degC
    every 10 min for at most 1 h
  let top "Top" = last(temp over time)
  tolerance top at most 60 degC
step S "Still"
  caution "Isolate the machine."
  read play in mm
    unsigned
  tolerance play at most 0.1 mm
"#;
    let loaded = text(&format!("{HEAD}{steps}"));
    let walked =
        walk_at(&loaded, MemoryStore::new(Vec::new()), "Ann Example\nyes\n\n20\ntake S\n", &TestClock::new());
    let said = flat(&walked.screen);
    assert!(said.contains("Caution: The machine is running for R."), "{said}");
}

#[test]
fn who_runs_the_machine_is_named_once_and_kept_by_enter() {
    let step = |name: &str, by: &str| {
        format!(
            "step {name} \"{name}\"\n  by \"{by}\"\n  observe fine \"Fine?\" yes or no\n  require fine is yes\n"
        )
    };
    let steps =
        [step("A", "a trained person"), step("B", "an electrician"), step("C", "a trained person")].concat();
    let loaded = text(&format!("{HEAD}{steps}"));
    let store = MemoryStore::new(Vec::new());
    let walked = walk(&loaded, store.clone(), "Ann Example\nBo Example\nyes\n\nCy Example\nyes\n\nyes\n");
    let said = flat(&walked.screen);
    assert!(said.contains("Enter alone: Bo Example, as before"), "{said}");
    assert!(!said.contains("Enter alone: Cy Example"), "{said}");
    let performed = lines(&store).into_iter().filter_map(|line| match line.event {
        Event::Performed { step, name, .. } => Some(format!("{step} {name}")),
        _ => None,
    });
    assert_eq!(performed.collect::<Vec<_>>(), ["A Bo Example", "B Cy Example", "C Bo Example"]);
}

const EACH: &str = r#"step E "Earth"
  read earth in ohm
    over    part  motor, stand
    unsigned
    ask     "Between the {part} and the terminal"
  read level in mm
    over    place  head, tail
    unsigned
    ask     "Level at the {place} end"
  tolerance every earth at most 1 ohm
  tolerance every level at most 1 mm
"#;

#[test]
fn what_is_asked_at_each_place_is_said_of_all_of_them_as_a_sentence_where_it_is_one() {
    let said = flat(&screen(EACH, "0.1 0.2\nyes\n0.3 0.4\nyes\n"));
    assert!(said.contains("Between the part and the terminal: passed"), "{said}");
    assert!(said.contains("Level at the \u{2026} end: passed"), "{said}");
}
