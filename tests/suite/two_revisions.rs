//! The entries of a record under another revision of its procedure: what goes over, what is turned, what is refused.

use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::load;
use bedway::record::{Line, MemoryStore};
use bedway::walk::carry::{Carried, carry};
use bedway::walk::machine::Machine;
use bedway::walk::replay;
use proptest::prelude::*;

use crate::walking::{self, lines, walk};

/// A bar on a headstock, a level stepped along a bed, a sound that was heard.
pub const FIRST: &str = r#"language  1
procedure "Headstock and bed"
revision  "1"
decide    guarded U
party     owner "Customer"

fact reach "Free length of the bar" in mm from 50 to 500

instrument dial "Lever indicator"
  resolution  0.001 mm
  uncertainty fresh 0.0008 mm k 2

instrument level "Block level"
  scale       0.02 mm/m per div
  uncertainty fresh 0.002 mm/m k 2

section one "One"
step AXIS "Axis of the spindle"
  read dial_at in mm using dial
    over    turn  0 deg, 180 deg
    over    place  0 mm, reach
    plus    "toward the operator"
    minus   "away from the operator"
    sense   stays with the machine
  let lean "Lean over the bar" = gain(machine(dial_at over turn) over place)
  tolerance lean from -0.002 mm to 0.015 mm per 300 mm over reach
  adjustment swivel "Swivel" in mm
    plus      "toward the operator"
    minus     "away from the operator"
    predicts  lean by swivel
  remedy when lean outside
    "Swivel."
    advise    swivel = aim(lean) - lean

step BED "Bed"
  read tilt in div using level
    over    place  0 mm to 375 mm stepped by 125 mm
    plus    "tail end high"
    minus   "head end high"
    sense   rises along place
  let height "Height" = heights(tilt over place) in um
    plus    "high"
    minus   "low"
  let rise "Rise of the bed" = gain(height over place)
    plus    "tail end high"
    minus   "head end high"
  tolerance rise within 20 um

step SOUND "Sound"
  observe heard "How does it sound?" one of smooth, hum, knock
  require  heard is smooth or heard is hum
"#;

/// As found it fails, is swivelled, and passes as left.
pub const ANSWERS: &str = "Ann Example\n300 mm\nDI-1\n0\n-0.010\n0\n-0.002\nadjust AXIS.swivel = 0.012\nagain AXIS\n\
                           0\n0.008\n0\n0.004\nLV-1\n1 1 0.5\nyes\nhum\n";

pub struct Walk {
    pub machine: Machine,
    pub lines: Vec<Line>,
}

pub fn walked(text: &str, answers: &str) -> Walk {
    let store = MemoryStore::new(Vec::new());
    let loaded = load::check("first.bedway", text.as_bytes());
    assert!(loaded.program.is_some(), "{:#?}", loaded.problems);
    let walked = walk(&loaded, store.clone(), answers);
    let lines = lines(&store);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    let machine = replay::verify(walking::program(&loaded), events);
    let machine = machine.unwrap_or_else(|fault| panic!("{fault}\n{}", walked.screen)).machine;
    Walk { machine, lines }
}

pub fn program(text: &str) -> Rc<Program> {
    let loaded = load::check("second.bedway", text.as_bytes());
    loaded.program.unwrap_or_else(|| panic!("{:#?}", loaded.problems))
}

pub fn under(walk: &Walk, text: &str) -> Carried {
    carry(
        &walk.machine,
        program(text),
        walk.lines.iter().map(|line| (line.seq, line.time.as_str(), &line.event)),
    )
}

fn state(machine: &Machine, step: &str) -> String {
    machine.status().steps.into_iter().find(|it| it.name == step).unwrap().stand.to_string()
}

/// The value of a rule as the record would have it, of the first and of the last try.
fn values(machine: &Machine, step: usize, rule: usize) -> Vec<String> {
    let attempts = &machine.state().steps[step].attempts;
    let value = |attempt: &bedway::walk::state::Attempt| {
        let rule = &attempt.recorded.as_ref().unwrap().rules[rule];
        format!("{} {}: {}", rule.value.as_ref().unwrap(), rule.unit.as_ref().unwrap(), rule.verdict)
    };
    attempts.iter().map(value).collect()
}

#[test]
fn under_its_own_text_a_walk_comes_to_what_it_came_to() {
    let walk = walked(FIRST, ANSWERS);
    assert_eq!(values(&walk.machine, 0, 0), ["-0.006 mm: failed", "0.006 mm: passed"], "as found, as left");
    let carried = under(&walk, FIRST);
    assert_eq!(values(&carried.machine, 0, 0), values(&walk.machine, 0, 0));
    assert_eq!(carried.machine.status(), walk.machine.status());
    assert_eq!(carried.remarks, Default::default());
}

#[test]
fn a_tighter_limit_turns_the_verdict_and_leaves_the_value() {
    let walk = walked(FIRST, ANSWERS);
    let tighter = FIRST.replace("to 0.015 mm per 300 mm", "to 0.006 mm per 300 mm");
    let carried = under(&walk, &tighter);
    assert_eq!(values(&carried.machine, 0, 0), ["-0.006 mm: failed", "0.006 mm: undecided"]);
    assert_eq!(state(&carried.machine, "AXIS"), "undecided");
}

#[test]
fn plus_and_minus_that_changed_places_turn_the_readings_round() {
    let walk = walked(FIRST, ANSWERS);
    let swapped = FIRST
        .replacen("plus    \"toward the operator\"", "plus    \"away from the operator\"", 1)
        .replacen("minus   \"away from the operator\"", "minus   \"toward the operator\"", 1);
    let carried = under(&walk, &swapped);
    assert_eq!(values(&carried.machine, 0, 0), ["0.006 mm: passed", "-0.006 mm: failed"]);
    assert_eq!(carried.remarks.turned.len(), 1, "said once, not at each station: {:?}", carried.remarks);
    assert!(carried.remarks.turned[0].contains("AXIS dial_at"), "{:?}", carried.remarks);
}

#[test]
fn a_reading_whose_plus_means_another_thing_is_refused_and_nothing_is_made_of_it() {
    let walk = walked(FIRST, ANSWERS);
    let other = FIRST.replacen("plus    \"toward the operator\"", "plus    \"up\"", 1);
    let carried = under(&walk, &other);
    assert_eq!(state(&carried.machine, "AXIS"), "not reached");
    let said = carried.remarks.refused.join("\n");
    assert!(said.contains("\"toward the operator\"") && said.contains("\"up\""), "{said}");
    assert_eq!(carried.machine.status().verdict.words(), "unfinished");
    assert_eq!(state(&carried.machine, "BED"), "passed", "the others are judged all the same");
}

#[test]
fn other_units_and_another_order_of_axes_change_nothing_but_the_unit() {
    let walk = walked(FIRST, ANSWERS);
    let inches = FIRST
        .replace("read dial_at in mm", "read dial_at in thou")
        .replace(
            "fact reach \"Free length of the bar\" in mm from 50 to 500",
            "fact reach \"Free length of the bar\" in inch from 1 to 20",
        )
        .replace(
            "    over    turn  0 deg, 180 deg\n    over    place  0 mm, reach\n",
            "    over    place  0 mm, reach\n    over    turn  0 deg, 180 deg\n",
        );
    assert_ne!(inches, FIRST);
    let carried = under(&walk, &inches);
    // 0.006 mm is 0.006/0.0254 = 30/127 thou.
    assert_eq!(values(&carried.machine, 0, 0), ["-30/127 thou: failed", "30/127 thou: passed"]);
    assert_eq!(carried.remarks.converted.len(), 2, "{:?}", carried.remarks);
    assert!(
        carried.remarks.not_there.is_empty() && carried.remarks.not_asked.is_empty(),
        "{:?}",
        carried.remarks
    );
}

#[test]
fn divisions_of_another_level_mean_what_they_meant_on_the_one_that_was_used() {
    let walk = walked(FIRST, ANSWERS);
    let finer = FIRST.replace("scale       0.02 mm/m per div", "scale       0.01 mm/m per div");
    let carried = under(&walk, &finer);
    assert_eq!(values(&carried.machine, 1, 0), values(&walk.machine, 1, 0));
    assert!(carried.remarks.converted[0].contains("div"), "{:?}", carried.remarks);
    let in_slope = FIRST.replace("read tilt in div using level", "read tilt in mm/m using level");
    assert_eq!(values(&under(&walk, &in_slope).machine, 1, 0), values(&walk.machine, 1, 0));
}

#[test]
fn feet_of_another_length_and_the_other_direction_along_them_are_refused() {
    let walk = walked(FIRST, ANSWERS);
    for other in [
        FIRST.replace("0 mm to 375 mm stepped by 125 mm", "0 mm to 375 mm stepped by 75 mm"),
        FIRST.replace("sense   rises along place", "sense   falls along place"),
    ] {
        let carried = under(&walk, &other);
        assert_eq!(state(&carried.machine, "BED"), "not reached");
        assert!(carried.remarks.refused.iter().any(|it| it.starts_with("BED tilt")), "{:?}", carried.remarks);
    }
    // The words swapped and the direction with them is the same thing said otherwise.
    let both = FIRST
        .replacen("plus    \"tail end high\"", "plus    \"head end high\"", 1)
        .replacen("minus   \"head end high\"", "minus   \"tail end high\"", 1)
        .replace("sense   rises along place", "sense   falls along place");
    assert_eq!(values(&under(&walk, &both).machine, 1, 0), values(&walk.machine, 1, 0));
}

#[test]
fn what_either_has_and_the_other_has_not_is_said() {
    let walk = walked(FIRST, ANSWERS);
    let other = FIRST
        .replace("step SOUND \"Sound\"", "step NOISE \"Noise\"")
        .replace("0 mm to 375 mm stepped by 125 mm", "0 mm to 500 mm stepped by 125 mm")
        .replace("step BED \"Bed\"\n", "step BED \"Bed\"\n  hold      owner \"Witness\"\n")
        .replace("one of smooth, hum, knock", "one of smooth, knock")
        .replace(" or heard is hum", "")
        .replace("fact reach", "fact class \"Class\" one of general, toolroom\nfact reach");
    let remarks = under(&walk, &other).remarks;
    assert_eq!(remarks.not_asked, ["SOUND Sound"]);
    let there = ["fact class", "BED: tilt at 375 mm, its witness", "NOISE Noise: a step of its own"];
    assert_eq!(remarks.not_there, there);
}

#[test]
fn what_the_other_revision_states_of_an_instrument_counts_and_is_said() {
    let walk = walked(FIRST, ANSWERS);
    let worse = FIRST.replace("uncertainty fresh 0.0008 mm k 2", "uncertainty fresh 0.008 mm k 2");
    let carried = under(&walk, &worse);
    // U of one reading 0.008 mm: -0.006 mm is no longer outside -0.002 mm for certain.
    assert_eq!(values(&carried.machine, 0, 0), ["-0.006 mm: undecided", "0.006 mm: undecided"]);
    assert_eq!(carried.remarks.stated, ["dial: uncertainty fresh 0.0008 mm k 2, now fresh 0.008 mm k 2"]);
}

#[test]
fn a_word_that_may_no_longer_be_answered_is_refused() {
    let walk = walked(FIRST, ANSWERS);
    let other =
        FIRST.replace("one of smooth, hum, knock", "one of smooth, knock").replace(" or heard is hum", "");
    let carried = under(&walk, &other);
    assert_eq!(state(&carried.machine, "SOUND"), "not reached");
    assert_eq!(carried.remarks.refused, ["SOUND heard: \"hum\" is no longer one of smooth, knock"]);
}

#[test]
fn a_correction_counts_under_the_other_revision_too() {
    let answers = format!("{ANSWERS}correct AXIS.dial_at[180 deg, 300 mm] = 0.002 \"read again\"\n");
    let walk = walked(FIRST, &answers);
    assert_eq!(values(&walk.machine, 0, 0), ["-0.006 mm: failed", "0.005 mm: passed"]);
    let carried = under(&walk, &FIRST.replace("read dial_at in mm", "read dial_at in um"));
    assert_eq!(values(&carried.machine, 0, 0), ["-6 um: failed", "5 um: passed"]);
}

/// What was put right of a move, or struck out, and which instrument it was, counts under the other revision too.
#[test]
fn what_was_put_right_is_put_right_under_the_other_revision_too() {
    let other = FIRST.replace("read dial_at in mm", "read dial_at in um");
    let put = |more: &str| {
        let walk = walked(FIRST, &format!("{ANSWERS}{more}"));
        let carried = under(&walk, &other);
        let moves = |machine: &Machine| -> Vec<f64> {
            let moves = machine.state().moves.iter();
            moves.map(|it| it.amount.as_ref().unwrap().as_number().unwrap().to_f64()).collect()
        };
        assert_eq!(moves(&carried.machine), moves(&walk.machine));
        let number = |machine: &Machine| machine.state().instruments[0].said.number.clone();
        assert_eq!(number(&carried.machine), number(&walk.machine));
        (moves(&carried.machine), number(&carried.machine), values(&carried.machine, 0, 0))
    };
    let (moves, number, judged) = put("");
    assert_eq!((moves.len(), number.as_str()), (1, "DI-1"));
    let corrected = put("correct move 1 = 0.006 mm \"misheard\"\n").0;
    assert!((corrected[0] - moves[0] / 2.0).abs() < 1e-12, "{corrected:?} and {moves:?}");
    assert_eq!(put("correct move 1 = never \"another machine\"\n").0, [0.0_f64; 0]);
    assert_eq!(put("correct instrument 1 = \"DI-9\" \"misread\"\n").1, "DI-9");
    // Of that one something else was stated, and a card that was typed says what the file says.
    let stated = put("correct instrument 1 = dial \"DI-9\", fresh 0.0008 mm k 2 \"misread\"\n");
    assert_eq!((stated.1.as_str(), stated.2), ("DI-9", judged));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever was read: with the words swapped, another unit, and the limits turned round to match, the verdict is the same.
    #[test]
    fn the_same_said_the_other_way_round_comes_to_the_same(readings in prop::collection::vec(-20i32..20, 4)) {
        let typed: Vec<String> = readings.iter().map(|it| format!("{}", f64::from(*it) / 1000.0)).collect();
        let walk = walked(FIRST, &format!("Ann Example\n300 mm\nDI-1\n{}\n", typed.join("\n")));
        let other = FIRST
            .replacen("plus    \"toward the operator\"", "plus    \"away from the operator\"", 1)
            .replacen("minus   \"away from the operator\"", "minus   \"toward the operator\"", 1)
            .replace("from -0.002 mm to 0.015 mm per", "from -0.015 mm to 0.002 mm per")
            .replace("read dial_at in mm", "read dial_at in um");
        let carried = under(&walk, &other);
        prop_assert_eq!(state(&carried.machine, "AXIS"), state(&walk.machine, "AXIS"));
    }
}
