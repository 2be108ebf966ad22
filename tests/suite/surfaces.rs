//! Arrows, circles, surfaces, surveys and positioning used the wrong way: found before the walk, each with what to type.

use bedway::diagnostic::{Code, Problem};
use bedway::syntax::parse_bytes;

/// The faults of a file with one reading and one result.
fn faults(reading: &str, value: &str) -> Vec<Problem> {
    let text = format!(
        "language 1\nprocedure \"Trial\"\ndecide simple\naxis feet 0 mm, 500 mm\naxis foot a, b, c\nsection one \"One\"\n\
         step A \"A\"\n  read x in {reading}\n    unsigned\n  let y \"Y\" = {value}\n    unsigned\n  report y\n"
    );
    let checked = bedway::check::check(&parse_bytes("trial.bedway", text.as_bytes()));
    let faults: Vec<Problem> = checked.problems.into_iter().filter(Problem::is_fault).collect();
    assert_eq!(faults.is_empty(), checked.program.is_some(), "{value}: a fault in silence");
    faults
}

const TURN: &str = "um\n    over turn 0 deg to 270 deg by 90 deg";
const INDEXED: &str =
    "um\n    over index 0 deg, 90 deg, 180 deg, 270 deg\n    over turn 0 deg to 270 deg by 90 deg";
const GRID: &str = "um\n    over along 0 mm to 200 mm by 100 mm\n    over across 0 mm to 200 mm by 100 mm";
const PLATE: &str = "um/m\n    survey eight lines 400 mm by 300 mm foot 50 mm";
const SLIDE: &str = "um\n    times 5\n    over approach plus, minus\n    over target 0 mm to 100 mm by 50 mm";
const ONE_WAY: &str = "um\n    times 5\n    over target 0 mm to 100 mm by 50 mm";
const FEET: &str = "um\n    over foot";
const WARM: &str = "degC\n    every 10 min for at most 2 h";
const THREE_POINTS: &str = "um\n    over point a, b, c";
const TWO_PLACES: &str = "um\n    over place 0 mm, 100 mm";
const BED: &str = "mm/m\n    over place 0 mm to 500 mm by 250 mm";

#[test]
fn what_is_right_is_taken() {
    for (reading, value) in [
        (TURN, "size(eccentricity(x over turn) - half(eccentricity(x over turn)))"),
        (TURN, "high_at(-2 * eccentricity(x over turn) / 3)"),
        (TURN, "roundness(x over turn by circumscribed)"),
        (TURN, "undulation(x over turn, 1)"),
        (INDEXED, "size(mean(eccentricity(x over turn) over index))"),
        (INDEXED, "greatest(size(eccentricity(x over turn)))"),
        (GRID, "flatness(x by least_squares)"),
        (GRID, "range(ordinates(x over along and across by minimum_zone))"),
        (GRID, "greatest(straightness(x over along by ends))"),
        (PLATE, "range(plate_map(x by closing)) in um"),
        (PLATE, "flatness(plate_map(x by least_squares) by minimum_zone) in um"),
        (PLATE, "plate_map(x by closing)[line AC, step 100 mm] in um"),
        (PLATE, "greatest(x)"),
        (SLIDE, "reversal_value(x by iso_230_2_1988)"),
        (ONE_WAY, "accuracy(x by iso_230_2_2014)"),
        (BED, "greatest(twist_shims(x over place, feet, 200 mm))"),
        (GRID, "rounded(greatest(x), 2 um)"),
        (GRID, "flatness(x by three_corners)"),
        (SLIDE, "greatest(backlash(x over approach))"),
        (BED, "greatest(shims_to_level(1 mm/m, 0 mm/m, foot, 0 mm, 0 mm, 900 mm, 0 mm, 450 mm, 500 mm))"),
        (FEET, "greatest(seating_shims(x over foot, 0 mm, 0 mm, 900 mm, 0 mm, 450 mm, 500 mm))"),
        (ONE_WAY, "greatest(lead_error(x over target within 60 mm))"),
        (WARM, "time_to_rate(x over time, 2 K/h)"),
        (THREE_POINTS, "circle_diameter(x, 2 * x over point by least_squares)"),
        (THREE_POINTS, "size(circle_centre(x, 2 * x over point by minimum_zone))"),
        (TWO_PLACES, "line_at(x, half(300 mm))"),
        (GRID, "greatest(line_uncertainty(x over along, 150 mm) over across)"),
        (TURN, "line_at(x over turn, 45 deg)"),
    ] {
        let found: Vec<String> = faults(reading, value).into_iter().map(|problem| problem.message).collect();
        assert_eq!(found, Vec::<String>::new(), "{value}");
    }
}

#[test]
fn what_is_wrong_is_named_at_its_place_with_what_to_type() {
    let two = "um\n    over turn 0 deg, 90 deg";
    let words = "um\n    over place head, tail, middle";
    for (reading, value, code) in [
        (two, "size(eccentricity(x over turn))", Code::AxisTooFew),
        ("um\n    over turn 0 deg, 90 deg, 360 deg", "size(eccentricity(x over turn))", Code::AxisSameAngle),
        (words, "size(eccentricity(x over place))", Code::AxisNoPositions),
        (TURN, "size(x)", Code::UnitArgument),
        (TURN, "eccentricity(x over turn) + 3 um", Code::UnitMismatch),
        (TURN, "eccentricity(x over turn) * 3 um", Code::UnitMismatch),
        (TURN, "greatest(eccentricity(x over turn), 3 um)", Code::UnitNotANumber),
        (TURN, "roundness(x over turn)", Code::AxisSayHow),
        (TURN, "roundness(x over turn by ends)", Code::NameUnknownWay),
        (TURN, "undulation(x over turn, 2)", Code::AxisTooFew),
        (TURN, "undulation(x over turn, 1.5)", Code::UnitNumber),
        (TURN, "undulation(x over turn)", Code::NameArguments),
        (GRID, "flatness(x over along and across)", Code::AxisSayHow),
        (GRID, "flatness(x over along by least_squares)", Code::AxisNotASurface),
        (GRID, "range(ordinates(x over along and across by ends))", Code::NameUnknownWay),
        (PLATE, "plate_map(x)", Code::AxisSayHow),
        (PLATE, "gain(x)", Code::AxisNoPositions),
        (GRID, "range(plate_map(x over along by closing))", Code::AxisNotASurvey),
        (PLATE, "plate_map(x by closing)[line AX, step 0 mm] in um", Code::AxisNoSuchStation),
        ("um\n    survey nine lines 400 mm by 300 mm foot 50 mm", "greatest(x)", Code::AxisSurvey),
        ("um\n    survey eight lines 400 mm by 300 mm foot 0.001 mm", "greatest(x)", Code::AxisSurvey),
        (SLIDE, "accuracy(x)", Code::AxisSayHow),
        (SLIDE, "accuracy(x by least_squares)", Code::NameUnknownWay),
        (ONE_WAY, "reversal_value(x by iso_230_2_2014)", Code::AxisPositioning),
        (GRID, "accuracy(x by iso_230_2_2014)", Code::AxisPositioning),
        (BED, "greatest(twist_shims(x over place, legs, 200 mm))", Code::AxisUnknown),
        (BED, "greatest(twist_shims(x over place, feet, 2 deg))", Code::UnitArgument),
        ("mm/m\n    over place 0 mm", "greatest(twist_shims(x over place, feet, 2 mm))", Code::AxisTooFew),
        (GRID, "rounded(greatest(x), 0 um)", Code::UnitNumber),
        (BED, "sag(100 mm, 40 mm, steel) in um", Code::NameArguments),
        (BED, "sag(0 mm, 40 mm, 0 mm, steel) in um", Code::UnitNumber),
        (BED, "sag(100 mm, 40 mm, 40 mm, steel) in um", Code::UnitNumber),
        (BED, "per(1 um, 300 mm, 0 mm)", Code::UnitNumber),
        (BED, "set_over(1 mm, 2 mm)", Code::NameArguments),
        (BED, "set_over(1 mm, 2 deg, 3 mm)", Code::UnitArgument),
        (BED, "set_over(1 mm, 0 mm, 3 mm)", Code::UnitNumber),
        (BED, "height_effect(0 mm, 1 mm)", Code::UnitNumber),
        (BED, "taper_from_twist(1 mm, 100 mm)", Code::UnitArgument),
        (BED, "taper_from_lean(1 mm else 2 mm)", Code::NameArguments),
        (SLIDE, "greatest(backlash(x over target))", Code::AxisNotAPair),
        (ONE_WAY, "greatest(lead_error(x over target within 0 mm))", Code::RuleWindow),
        (ONE_WAY, "greatest(lead_error(x over target within 5 min))", Code::UnitMismatch),
        (ONE_WAY, "greatest(slope(x over target within 5 mm)) in mm/m", Code::NameArguments),
        (BED, "line_at(x over place) * 1 mm", Code::NameArguments),
        (BED, "line_at(x, 150 mm over place) * 1 mm", Code::NameArguments),
        (BED, "line_at(x over place by ends, 150 mm) * 1 mm", Code::NameUnknownWay),
        (BED, "line_at(x over place, 150 deg) * 1 mm", Code::UnitArgument),
        (BED, "line_at(x over place, x) * 1 mm", Code::AxisLaidOut),
        (GRID, "line_at(x, 150 mm)", Code::AxisWhich),
        (FEET, "line_at(x over foot, 150 mm)", Code::AxisNoPositions),
        (TWO_PLACES, "line_scatter(x over place)", Code::AxisTooFew),
        // Three points have no form.
        (THREE_POINTS, "circle_form(x, 2 * x over point by least_squares)", Code::AxisTooFew),
        (WARM, "time_to_rate(x over time, 2 K)", Code::UnitArgument),
        (WARM, "time_to_rate(x over time, 0 K/h)", Code::UnitNumber),
        (BED, "greatest(twist_shims(x over place, feet, 0 mm))", Code::UnitNumber),
        (BED, "greatest(shims_to_level(1 mm/m, 0 mm/m))", Code::NameArguments),
        (BED, "greatest(shims_to_level(1 mm/m, 0 mm/m, legs, 0 mm, 0 mm))", Code::AxisUnknown),
        (BED, "greatest(shims_to_level(1 mm/m, 0 mm/m, feet, 0 mm, 0 mm, 1 mm, 1 mm))", Code::AxisTooFew),
        (BED, "greatest(shims_to_level(1 mm/m, 0 mm/m, foot, 0 mm, 0 mm, 1 mm, 1 mm))", Code::NameArguments),
        (
            FEET,
            "greatest(seating_shims(x over foot, 0 mm, 0 mm, 1 mm, 1 mm, 2 mm, 2 mm))",
            Code::AxisNotASurface,
        ),
        (
            FEET,
            "greatest(seating_shims(x over foot, 0 mm, 0 mm, 1 mm, 1 deg, 2 mm, 3 mm))",
            Code::UnitArgument,
        ),
    ] {
        let found = faults(reading, value);
        let codes: Vec<Code> = found.iter().map(|problem| problem.code).collect();
        assert_eq!(codes, [code], "{value}");
    }
}

#[test]
fn an_arrow_or_a_window_of_two_lengths_is_not_judged_like_a_number() {
    let judged = |reading: &str, value: &str, rule: &str| {
        let text = format!(
            "language 1\nprocedure \"Trial\"\ndecide simple\nsection one \"One\"\nstep A \"A\"\n  read x in {reading}\n    \
             plus \"high\"\n    minus \"low\"\n  let y \"Y\" = {value}\n  tolerance y {rule}\n"
        );
        let checked = bedway::check::check(&parse_bytes("trial.bedway", text.as_bytes()));
        checked.problems.into_iter().filter(Problem::is_fault).map(|fault| fault.code).collect::<Vec<_>>()
    };
    let form = "ordinates(x over along and across by least_squares)";
    assert_eq!(judged(TURN, "eccentricity(x over turn)", "at most 3 um"), [Code::UnitNotANumber]);
    assert_eq!(judged(GRID, form, "at most 3 um in any 100 mm by 100 mm by chord"), [Code::RuleWindow]);
    assert_eq!(judged(GRID, form, "at most 3 um in any 100 mm by spread"), [Code::RuleWindow]);
    assert_eq!(judged(GRID, form, "at most 3 um in any 100 mm by 100 deg by spread"), [Code::UnitMismatch]);
    assert_eq!(judged(GRID, form, "at most 3 um in any 100 mm by 100 mm by spread"), []);
}
