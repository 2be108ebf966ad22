//! What the words of a procedure mean, each shown by a worked example in the language itself: the example is walked as a
//! person would walk it, and every line it expects must come. Data invented, arithmetic by hand beside it.

use std::rc::Rc;

use bedway::check::check;
use bedway::diagnostic::Problem;
use bedway::syntax::parse_text;
use bedway::walk::examples::prove;

const HEAD: &str = r#"
language  1
procedure "A trial"
decide    simple

fact class    "Which class was agreed?"        one of general, toolroom
fact reach    "Free length of the bar"         in mm from 10 to 2000
fact between  "Distance between centres"       in mm from 100 to 9000

instrument dial "Lever indicator"
  resolution  0.001 mm
instrument level "Block level"
  scale       0.02 mm/m per div
  resolution  0.2 div
instrument meter "Insulation tester"
  resolution  0.1 Mohm
instrument probe "Thermometer"
  resolution  0.1 K
"#;

/// The faults of a procedure and what of its examples did not come out.
fn faults(body: &str) -> Vec<String> {
    let text = format!("{HEAD}\n{body}\n");
    let checked = check(&parse_text("trial.bedway", text));
    let words = |problem: &Problem| format!("{}: {}", problem.code.name(), problem.message);
    let mut found: Vec<String> =
        checked.problems.iter().filter(|problem| problem.is_fault()).map(words).collect();
    match checked.program {
        Some(program) => {
            assert!(!program.examples.is_empty(), "an example is what the procedure is proved by");
            found.extend(prove(&Rc::new(program)).iter().map(words));
        }
        None => assert!(!found.is_empty(), "no program, and no fault that says why"),
    }
    found
}

#[track_caller]
pub fn holds(body: &str) {
    assert_eq!(faults(body), Vec::<String>::new(), "\n{body}");
}

pub const AXIS_HORIZONTAL: &str = r#"
step L16 "Spindle axis parallel to carriage travel, horizontal plane"
  setup   "Dial on the front of the bar, zeroed near the nose."
  read dial_at in mm using dial
    over    turn   0 deg, 180 deg
    over    place  0 mm, reach
    plus    "toward the operator"
    minus   "away from the operator"
    sense   stays with the machine
  let lean "Lean of the axis over the bar" = gain(machine(dial_at over turn) over place)
  let bent "Bar and bore together"         = gain(artefact(dial_at over turn) over place)
  tolerance lean from 0 mm to 0.015 mm per 300 mm over span(dial_at over place) floor 0.005 mm
  report    bent
"#;

#[test]
fn small_but_the_wrong_way_fails() {
    holds(&format!(
        r#"{AXIS_HORIZONTAL}
example "the size alone would pass: 0.004 is less than 0.015"
  given  reach = 300 mm
  enter  L16.dial_at = 0, -0.002; 0, -0.006
  expect L16.lean = -0.004 mm
  expect L16.bent = 0.002 mm
  expect L16 fails"#
    ));
}

#[test]
fn an_example_that_expects_something_else_is_a_fault() {
    let found = faults(&format!(
        r#"{AXIS_HORIZONTAL}
example "wrong on purpose"
  given  reach = 300 mm
  enter  L16.dial_at = 0, -0.002; 0, -0.006
  expect L16.lean = 0.004 mm
  expect L16 passes"#
    ));
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(found[0].contains("-0.004 mm"), "{found:?}");
}

#[test]
fn a_bent_bar_on_a_true_spindle_passes_though_either_reading_alone_would_fail() {
    holds(&format!(
        r#"{AXIS_HORIZONTAL}
example "bent bar"
  given  reach = 300 mm
  enter  L16.dial_at = 0, 0.018; 0, -0.002
  expect L16.lean = 0.008 mm
  expect L16.bent = 0.010 mm
  expect L16 passes"#
    ));
}

#[test]
fn a_limit_is_scaled_to_the_length_that_was_measured_down_to_its_floor() {
    holds(&format!(
        r#"{AXIS_HORIZONTAL}
example "0.015 x 200 / 300 = 0.010"
  given  reach = 200 mm
  enter  L16.dial_at = 0, 0.010; 0, 0.010
  expect L16.lean limit 0.010 mm
  expect L16 passes
example "over 200 mm 0.011 is too much, though it is less than 0.015"
  given  reach = 200 mm
  enter  L16.dial_at = 0, 0.011; 0, 0.011
  expect L16 fails
example "0.015 x 45 / 300 = 0.00225: the floor counts"
  given  reach = 45 mm
  enter  L16.dial_at = 0, 0.004; 0, 0.004
  expect L16.lean limit 0.005 mm
  expect L16 passes"#
    ));
}

#[test]
fn a_difference_of_decimals_meets_its_limit_exactly() {
    // In binary 0.012 - 0.003 = 0.009000000000000001.
    holds(
        r#"
step L20 "Quill, horizontal"
  read dial_at in mm using dial
    over  place 0 mm, 60 mm
    plus  "toward the operator"
    minus "away from the operator"
  let rise "Rise over the quill" = gain(dial_at over place)
  tolerance rise from 0 mm to 0.015 mm per 100 mm over span(dial_at over place)
example "exactly the limit"
  enter  L20.dial_at = 0.003, 0.012
  expect L20.rise = 0.009 mm
  expect L20 passes"#,
    );
}

#[test]
fn a_bed_may_pass_over_all_and_fail_in_one_window() {
    holds(
        r#"
step L4 "Bed straightness, vertical plane"
  read tilt in div using level
    over   place 0 mm to 1000 mm stepped by 125 mm
    plus   "bubble to the tail end"
    minus  "bubble to the head end"
    sense  rises along place
  let form "Form of the bed" = ordinates(heights(tilt over place) over place by ends) in mm
    plus  "high"
    minus "low"
  let peak "Hump" = hump(heights(tilt over place) over place by ends)
  tolerance peak at most 0.020 mm
  tolerance rounded "No hollow" form convex
  tolerance local "In any 250 mm" form at most 0.0075 mm in any 250 mm by spread
  tolerance bow   "In any 250 mm, by its own chord" form at most 0.0075 mm in any 250 mm by chord
  remedy when outside local "Work between {where(local)}."
example "a steep place"
  enter  L4.tilt = 1.0, 1.0, 2.4, 2.2, 0.0, -0.4, -0.6, -0.8
  expect L4.form = 0 mm, 0.001 mm, 0.002 mm, 0.0065 mm, 0.0105 mm, 0.009 mm, 0.0065 mm, 0.0035 mm, 0 mm
  expect L4.peak = 0.0105 mm
  expect L4.rounded passes
  expect L4.local fails from 250 mm to 500 mm
  expect L4.bow passes
  expect L4 fails
example "hollow is not convex, however small"
  enter  L4.tilt = 0, 0, 0, -0.2, 0.2, 0, 0, 0
  expect L4.rounded fails"#,
    );
}

#[test]
fn units_typed_are_converted_exactly_and_ambiguous_words_refused() {
    holds(
        r#"
step L9 "Spindle nose, run-out of the register"
  read nose in mm using dial
    high and low
    unsigned
    usual from -0.1 mm to 0.1 mm
  let tir "Run-out" = runout(nose over extreme)
  tolerance tir at most 0.010 mm
example "0.4 thou is 0.01016 mm"
  type   "0.4 thou"
  type   "0"
  expect L9.tir = 0.01016 mm
  expect L9 fails
example "a bare 0.4 is in mm and is asked about; tenths have two meanings"
  type   "4 tenths"
  expect refused
  type   "0.4"
  expect query"#,
    );
}

#[test]
fn what_was_not_read_never_passes_and_is_left_out_where_enough_is_left() {
    holds(
        r#"
step S "Survey"
  read dial_at in mm using dial
    over place 0 mm, 100 mm, 200 mm
    unsigned
    not read allowed
  let middle "Mean" = mean(dial_at over place)
  tolerance middle at most 0.010 mm
step T "Survey, each place by itself"
  read dial_at in mm using dial
    over place 0 mm, 100 mm, 200 mm
    unsigned
    not read allowed
  tolerance every dial_at at most 0.010 mm
example "one place behind the wall"
  enter  S.dial_at = 0.004, not read "behind the wall", 0.008
  expect S.middle = 0.006 mm
  expect S passes
  enter  T.dial_at = 0.004, not read "behind the wall", 0.008
  expect T invalid
example "one no is no, whatever is missing"
  enter  T.dial_at = 0.014, not read "behind the wall", 0.008
  expect T fails
example "readings awaited"
  enter  S.dial_at = 0.004, 0.002
  expect S not reached"#,
    );
}

#[test]
fn an_open_ended_reading_meets_a_rule_or_leaves_it_undecided() {
    holds(
        r#"
step L46 "Insulation of circuits to earth"
  read ohms in Mohm using meter
    over circuit main, control
    unsigned
    open ended allowed
  tolerance every ohms at least 1 Mohm
step L47 "Insulation, where a figure was agreed"
  read ohms in Mohm using meter
    unsigned
    open ended allowed
  tolerance ohms at least 500 Mohm
example "beyond the scale of the tester"
  enter  L46.ohms = over 200, 5
  expect L46 passes
  enter  L47.ohms = over 200
  expect L47 undecided
example "below"
  enter  L46.ohms = over 200, below 0.5
  expect L46 fails"#,
    );
}

#[test]
fn the_first_reading_that_calls_for_a_stop_stops() {
    holds(
        r#"
step RUN "Run"
  confirm "Bar, key and spanners are out"
  powered
  read temp in degC using probe
    over bearing front, rear
  stop when temp above 75 degC "Switch off and let it cool"
  tolerance every temp at most 70 degC
example "the second bearing is never read"
  enter  RUN.temp = 76
  expect RUN stopped"#,
    );
}

#[test]
fn a_level_turned_end_for_end_loses_its_own_error() {
    holds(
        r#"
step L3 "Tilt across the bed"
  read tilt in div using level
    over   way first, turned
    plus   "bubble to the marked end"
    minus  "bubble to the plain end"
    sense  turns with the level
  let across "Tilt across the bed" = machine(tilt over way) in mm/m
    plus   "front high"
    minus  "front low"
  let zero "The level's own error" = artefact(tilt over way) in mm/m
    plus   "reads high at the marked end"
    minus  "reads low at the marked end"
  tolerance across within 0.04 mm/m
  report zero
example "the level reads half a division high"
  enter  L3.tilt = 2.5, -1.5
  expect L3.across = 0.04 mm/m
  expect L3.zero = 0.01 mm/m
  expect L3 passes"#,
    );
}
