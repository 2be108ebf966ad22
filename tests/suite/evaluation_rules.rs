//! What rules, tables, crosschecks and advice mean, by worked examples in the language. Data invented.

use super::evaluation::{AXIS_HORIZONTAL, holds};

#[test]
fn a_table_is_read_from_the_top_and_no_row_is_no_pass() {
    holds(
        r#"
table bed_limit "Bed, by distance between centres" over length in mm
  when class is toolroom  up to  500 mm  then 0.008 mm
  when class is general   up to  500 mm  then 0.010 mm
  when class is general   up to 1000 mm  then 0.020 mm
  when class is general   every further 1000 mm or part  adds 0.010 mm
step L4 "Bed"
  read hump_at in mm using dial
    unsigned
  tolerance hump_at at most bed_limit(between)
example "the boundary belongs to its row"
  given  class = general, between = 500 mm
  enter  L4.hump_at = 0.010
  expect L4 passes
example "just beyond"
  given  class = general, between = 501 mm
  enter  L4.hump_at = 0.0105
  expect L4 passes
example "each begun part adds"
  given  class = general, between = 2001 mm
  enter  L4.hump_at = 0.041
  expect L4.hump_at limit 0.040 mm
  expect L4 fails
example "nothing is agreed for this length: not a pass"
  given  class = toolroom, between = 501 mm
  enter  L4.hump_at = 0.001
  expect L4 invalid"#,
    );
}

#[test]
fn repeats_may_be_as_many_as_wanted() {
    holds(
        r#"
step R "Repeats"
  read dial_at in mm using dial
    times 1 to 10
    unsigned
  let middle "Mean" = mean(dial_at)
  let spread "Range" = range(dial_at)
  tolerance middle at most 0.010 mm
  valid when spread at most 0.002 mm "The readings do not repeat: find out why"
example "three are enough"
  enter  R.dial_at = 0.004, 0.004, 0.006
  expect R.middle = 0.0046667 mm within 0.0000001 mm
  expect R passes
example "they do not repeat: neither pass nor fail"
  enter  R.dial_at = 0.004, 0.014
  expect R invalid"#,
    );
}

#[test]
fn the_closing_station_is_for_closure_only() {
    holds(
        r#"
step F "Faceplate"
  read dial_at in mm using dial
    over turn 0 deg to 270 deg by 90 deg closing
    plus  "plate forward"
    minus "plate back"
  let tir "Run-out" = runout(dial_at over turn)
  let back "Return to the first" = closure(dial_at over turn)
  tolerance tir at most 0.010 mm
  valid when back within 0.001 mm "The dial did not come back: begin again"
example "the fifth reading is not run-out"
  enter  F.dial_at = 0, 0.004, 0.006, 0.002, 0.001
  expect F.tir = 0.006 mm
  expect F.back = 0.001 mm
  expect F passes
example "the dial was knocked"
  enter  F.dial_at = 0, 0.004, 0.006, 0.002, 0.020
  expect F invalid"#,
    );
}

#[test]
fn advice_aims_at_the_middle_of_the_band() {
    holds(&format!(
        r#"{AXIS_HORIZONTAL}
  adjustment swivel "Swivel of the headstock, at the free end" in mm
    plus  "free end toward the operator"
    minus "free end away from the operator"
  remedy when lean outside "Swivel the headstock."
    advise swivel = aim(lean) - lean
example "0.0075 + 0.004"
  given  reach = 300 mm
  enter  L16.dial_at = 0, -0.002; 0, -0.006
  expect L16.swivel advised 0.0115 mm
example "within its band nothing is advised"
  given  reach = 300 mm
  enter  L16.dial_at = 0, 0.018; 0, -0.002
  expect L16.swivel not advised"#
    ));
}

#[test]
fn temperatures_are_points_and_their_differences_are_kelvin() {
    holds(
        r#"
step SOAK "Soak"
  read temp in degC using probe
    over place bed, head, air
  let uneven "Spread" = range(temp)
  let middle "Mean" = mean(temp)
  tolerance uneven at most 1 K
  tolerance middle within 2 K of 20 degC
example "68 degF is 20 degC"
  type   "68 degF"
  type   "20.5"
  type   "20.1"
  expect SOAK.uneven = 0.5 K
  expect SOAK.middle = 20.2 degC
  expect SOAK passes"#,
    );
}

#[test]
fn a_question_that_does_not_apply_is_no_missing_reading() {
    holds(
        r#"
step OIL "Oil"
  observe oil_seen "Is oil seen in the glass?" yes or no
  observe drips "Drips a minute" in /min
    only when oil_seen is no
  require oil_seen is yes or drips from 6 /min to 12 /min
example "seen"
  observe OIL.oil_seen = yes
  expect OIL passes
example "not seen, but it drips"
  observe OIL.oil_seen = no
  observe OIL.drips = 8
  expect OIL passes
example "neither"
  observe OIL.oil_seen = no
  observe OIL.drips = 3
  expect OIL fails"#,
    );
}

#[test]
fn a_limit_may_hang_on_what_was_seen_at_each_element() {
    holds(
        r#"
table earth_limit "Earth continuity, by cable"
  when cable is thick then 0.1 ohm
  when cable is thin  then 0.3 ohm
step L45 "Earth continuity"
  observe cable "Which cable leads to it?" one of thick, thin
    over part bed, motor
  read earth in ohm
    over part bed, motor
    unsigned
  tolerance every earth at most earth_limit
example "each against its own"
  observe L45.cable = thick, thin
  enter  L45.earth = 0.1, 0.3
  expect L45 passes
example "the thick one may not have what the thin one may"
  observe L45.cable = thick, thin
  enter  L45.earth = 0.2, 0.2
  expect L45 fails"#,
    );
}

#[test]
fn results_that_must_agree_are_never_a_pass_or_a_fail() {
    holds(
        r#"
step A "Twist by level"
  read twist in mm/m using level
    plus  "front rises toward the tail"
    minus "front falls toward the tail"
  report twist
step B "Twist by the bar"
  read twist in mm/m using level
    plus  "front rises toward the tail"
    minus "front falls toward the tail"
  report twist
crosscheck both "The bed has one twist" A.twist against B.twist within 0.009 mm/m
example "exactly apart by what is allowed"
  enter  A.twist = 0.012 mm/m
  enter  B.twist = 0.003 mm/m
  expect both agrees
  expect A recorded
example "further apart"
  enter  A.twist = 0.012 mm/m
  enter  B.twist = 0.0029 mm/m
  expect both look again
  expect verdict not accepted"#,
    );
}

#[test]
fn a_rule_against_the_record_before_needs_that_record() {
    holds(
        r#"
step L40 "Vibration"
  read shake in mm/s
    unsigned
  tolerance shake at most 1.5 * previous(L40.shake)
step L41 "Vibration, with what the maker says to begin with"
  read shake in mm/s
    unsigned
  tolerance shake at most 1.5 * previous(L41.shake else 1.2 mm/s)
example "no record was given"
  enter  L40.shake = 1.0
  expect L40 invalid
  enter  L41.shake = 1.8
  expect L41 passes
example "against the record before"
  previous L40.shake = 0.6 mm/s
  enter  L40.shake = 1.0
  expect L40 fails"#,
    );
}

#[test]
fn two_planes_of_one_reading_are_judged_each_and_may_be_told_apart() {
    holds(
        r#"
step P "Two planes"
  read dial_at in mm using dial
    over  plane vertical, horizontal
    over  place 0 mm, 100 mm, 300 mm
    plus  "plunger in"
    minus "plunger out"
  let lean "Lean" = gain(dial_at over place)
  let across "One plane against the other" = lean[vertical] - lean[horizontal]
  let line "Slope" = slope(dial_at over place) in mm/m
  let worst "Worst place" = greatest(abs(dial_at) over plane and place)
  tolerance every lean within 0.010 mm
  tolerance fine "One of them is fine" any lean within 0.001 mm
  tolerance across within 0.020 mm
  tolerance worst at most 0.012 mm
  report line
example "element by element"
  enter  P.dial_at = 0, 0.004, 0.012; 0, 0, 0.001
  expect P.lean = 0.012 mm, 0.001 mm
  expect P.across = 0.011 mm
  expect P.worst = 0.012 mm
  expect P.fine passes
  expect P fails"#,
    );
}

#[test]
fn limits_that_cross_and_divisions_by_zero_are_invalid() {
    holds(
        r#"
step X "Crossing"
  read gap in mm using dial
    unsigned
  read speed in rpm
    unsigned
  read wanted in rpm
    unsigned
  let share "Error of speed" = (speed - wanted) / wanted in %
  tolerance gap from reach to between
  tolerance share within 5 %
example "the band is upside down"
  given  reach = 300 mm, between = 200 mm
  enter  X.gap = 250
  enter  X.speed = 104
  enter  X.wanted = 100
  expect X.share = 4 %
  expect X invalid
example "nothing was wanted"
  given  reach = 300 mm, between = 400 mm
  enter  X.gap = 350
  enter  X.speed = 104
  enter  X.wanted = 0
  expect X invalid
example "both well, five per cent included"
  given  reach = 300 mm, between = 400 mm
  enter  X.gap = 350
  enter  X.speed = 105
  enter  X.wanted = 100
  expect X passes"#,
    );
}
