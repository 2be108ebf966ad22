//! Bad input, function by function: what can be known beforehand is found by `check`; what only the walk can know gives
//! no figure and says why. Never a crash, never a 0 in silence.

use std::collections::BTreeSet;
use std::rc::Rc;

use bedway::check::check;
use bedway::diagnostic::Problem;
use bedway::syntax::parse_text;
use bedway::walk::event::JudgedStep;
use bedway::walk::examples;

const LIST: &str = "um\n    times 3\n    not read allowed";
const LINE: &str = "um\n    over place 0 mm, 100 mm, reach\n    not read allowed";
const TURN: &str = "um\n    over turn 0 deg, 90 deg, 180 deg, last\n    not read allowed";
const CLOSED: &str = "um\n    over turn 0 deg to 270 deg by 90 deg closing\n    not read allowed";
const PAIR: &str = "um\n    over turn 0 deg, 180 deg\n    sense stays with the machine\n    not read allowed";
const STEPPED: &str = "mm/m\n    over place 0 mm to 300 mm stepped by 100 mm\n    sense rises along place\n    not read allowed";
const GRID: &str =
    "um\n    over along 0 mm, 100 mm\n    over across 0 mm, 100 mm, 200 mm\n    not read allowed";
const PLATE: &str = "um/m\n    survey eight lines 400 mm by 300 mm foot 50 mm\n    not read allowed";
const SLIDE: &str =
    "um\n    times 2\n    over approach plus, minus\n    over target 0 mm, 100 mm\n    not read allowed";
const FEET: &str = "um\n    over foot a, b, c\n    not read allowed";
const LEVEL: &str = "mm/m\n    over place 0 mm, 100 mm, reach\n    not read allowed";
const SERIES: &str = "degC\n    every 10 min for at most 30 min";
const ONE: &str = "um";

const LOST: &str = "not read \"lost\"";

/// What a reading of nothing but good values is spoilt by, and what is said of the result.
struct Case {
    function: &'static str,
    reading: &'static str,
    entered: &'static str,
    value: &'static str,
    /// Facts beside those that are good.
    given: &'static str,
    says: &'static str,
}

const fn case(
    function: &'static str,
    reading: &'static str,
    entered: &'static str,
    value: &'static str,
    says: &'static str,
) -> Case {
    Case { function, reading, entered, value, given: "", says }
}

const fn given(given: &'static str, case: Case) -> Case {
    Case { given, ..case }
}

/// Said before the first reading is asked for.
const SAME_PLACE: &str = "place has 100 mm twice";
const ONE_OF_THREE: &str = "only 1 of 3 read, 2 are needed";
const TWO_OF_THREE: &str = "only 2 of 3 read, 3 are needed";

fn cases() -> Vec<Case> {
    let one_left = "1, LOST, LOST";
    let two_left = "1, LOST, 2";
    let none_left = "LOST, LOST, LOST";
    let mut all = vec![
        case("mean", LIST, none_left, "mean(x over repeat)", "not read: lost"),
        case("sum", LIST, none_left, "sum(x over repeat)", "not read: lost"),
        case("least", LIST, none_left, "least(x over repeat)", "not read: lost"),
        case("greatest", LIST, none_left, "greatest(x over repeat)", "not read: lost"),
        case("range", LIST, none_left, "range(x over repeat)", "not read: lost"),
        case("stdev", LIST, one_left, "stdev(x over repeat)", ONE_OF_THREE),
        case("lag_1", LIST, one_left, "lag_1(x over repeat) * 1 um", "not read: lost"),
        case("lag_1", LIST, "5, 5, 5", "lag_1(x over repeat) * 1 um", "all values are equal"),
        case("worst_step", LINE, one_left, "worst_step(x over place)", "not read: lost"),
        case("root_sum_squares", LIST, none_left, "root_sum_squares(x over repeat)", "not read: lost"),
        case("abs", LIST, none_left, "least(abs(x))", "not read: lost"),
        case("half", LIST, none_left, "least(half(x))", "not read: lost"),
        case("sqrt", ONE, "-4", "sqrt(x * 1 um)", "the root of a negative number"),
        case("sin", ONE, "LOST", "sin(x / 1 um * 1 deg) * 1 um", "not read: lost"),
        case("cos", ONE, "LOST", "cos(x / 1 um * 1 deg) * 1 um", "not read: lost"),
        case("tan", ONE, "90", "tan(x / 1 um * 1 deg) * 1 um", "the tangent of a right angle"),
        case("atan", ONE, "LOST", "atan(x / 1 um)", "not read: lost"),
        case("first", LINE, "LOST, 1, 2", "first(x over place)", "not read: lost"),
        case("last", LINE, "1, 2, LOST", "last(x over place)", "not read: lost"),
        case("gain", LINE, "1, 2, LOST", "gain(x over place)", "not read: lost"),
        case("span", LINE, none_left, "span(x over place)", "needs at least 1 values"),
        case("slope", LINE, one_left, "slope(x over place) in mm/m", ONE_OF_THREE),
        case("line_at", LINE, one_left, "line_at(x over place, 150 mm)", ONE_OF_THREE),
        case("line_scatter", LINE, two_left, "line_scatter(x over place)", TWO_OF_THREE),
        case("slope_uncertainty", LINE, two_left, "slope_uncertainty(x over place) in mm/m", TWO_OF_THREE),
        case("line_uncertainty", LINE, two_left, "line_uncertainty(x over place, 150 mm)", TWO_OF_THREE),
        case("line_correlation", LINE, two_left, "line_correlation(x over place, 0 mm) * 1 um", TWO_OF_THREE),
        given(
            "reach = 100 mm",
            case("line_at", LINE, "1, 2, 3", "line_at(x over place, 150 mm)", SAME_PLACE),
        ),
        case("heights", STEPPED, "1, LOST, 2", "range(heights(x over place)) in um", "not read: lost"),
        case("runout", LIST, one_left, "runout(x over repeat)", ONE_OF_THREE),
        case("machine", PAIR, "1, LOST", "machine(x over turn)", "not read: lost"),
        case("artefact", PAIR, "LOST, 1", "artefact(x over turn)", "not read: lost"),
        case("closure", CLOSED, "1, 2, 3, 4, LOST", "closure(x over turn)", "not read: lost"),
        case("station_of_greatest", LINE, none_left, "station_of_greatest(x over place)", "not read: lost"),
        case("station_of_least", LINE, none_left, "station_of_least(x over place)", "not read: lost"),
        case(
            "backlash",
            SLIDE,
            "1, 2; 3, LOST; 1, 2; 3, 4",
            "backlash(x[repeat 1, target 100 mm] over approach)",
            "not read: lost",
        ),
        case("lead_error", LINE, one_left, "lead_error(x over place within 60 mm)", ONE_OF_THREE),
        given(
            "reach = 100 mm",
            case("lead_error", LINE, "1, 2, 3", "lead_error(x over place within 60 mm)", SAME_PLACE),
        ),
        case(
            "size",
            TURN,
            "1, 2, LOST, LOST",
            "size(eccentricity(x over turn))",
            "only 2 of 4 read, 3 are needed",
        ),
        given(
            "last = 360 deg",
            case(
                "eccentricity",
                TURN,
                "1, 2, 3, 4",
                "size(eccentricity(x over turn))",
                "two readings stand at the same angle",
            ),
        ),
        case(
            "high_at",
            TURN,
            "5, 5, 5, 5",
            "high_at(eccentricity(x over turn))",
            "there is no eccentricity, so it has no direction",
        ),
        given(
            "last = 360 deg",
            case(
                "roundness",
                TURN,
                "1, 2, 3, 4",
                "roundness(x over turn by minimum_zone)",
                "two readings stand at the same angle",
            ),
        ),
        case(
            "roundness",
            TURN,
            "1, 2, 3, LOST",
            "roundness(x over turn by least_squares)",
            "only 3 of 4 read, 4 are needed",
        ),
        given(
            "last = 170 deg",
            case(
                "roundness",
                TURN,
                "1, 2, LOST, 9",
                "roundness(x over turn by inscribed)",
                "only 3 of 4 read, 4 are needed",
            ),
        ),
        case(
            "circle_form",
            TURN,
            "1, 2, 3, LOST",
            "circle_form(x, 2 * x over turn by minimum_zone)",
            "only 3 of 4 read, 4 are needed",
        ),
        case(
            "circle_diameter",
            TURN,
            "1, 2, 3, 4",
            "circle_diameter(x, 2 * x over turn by least_squares)",
            "all lie on one line",
        ),
        case(
            "circle_centre",
            TURN,
            "5, 5, 5, 5",
            "size(circle_centre(x, x over turn by circumscribed))",
            "all lie on one line",
        ),
        case(
            "undulation",
            TURN,
            "1, 2, LOST, LOST",
            "undulation(x over turn, 1)",
            "only 2 of 4 read, 3 are needed",
        ),
        case(
            "flatness",
            GRID,
            "1, 2, 3; LOST, LOST, LOST",
            "flatness(x by minimum_zone)",
            "only 3 of 6 read, 4 are needed",
        ),
        case(
            "flatness",
            GRID,
            "1, 2, LOST; 4, 5, 6",
            "flatness(x by three_corners)",
            "a corner was not read",
        ),
        case(
            "ordinates",
            GRID,
            "1, 2, 3; LOST, LOST, LOST",
            "range(ordinates(x over along and across by least_squares))",
            "only 3 of 6 read, 4 are needed",
        ),
        case("plate_map", PLATE, "", "range(plate_map(x by closing)) in um", "not read: lost"),
        case("closure", PLATE, "", "closure(x) in um", "not read: lost"),
        case("sag", ONE, "-1", "sag(abs(x) - x, x, 0 mm, steel)", "must be more than zero"),
        case("sag", ONE, "1000", "sag(300 mm, x, 2 * x, steel)", "the bore is not smaller than the diameter"),
        case("at_20_degC", ONE, "LOST", "at_20_degC(x, steel, 20 degC)", "not read: lost"),
        case("per", ONE, "0", "per(1 um, 300 mm, x)", "the measured length must be more than zero"),
        case("rounded", ONE, "0", "rounded(1 um, x)", "the step that is rounded to must be more than zero"),
        case(
            "set_over",
            ONE,
            "0",
            "set_over(1 mm, x, 300 mm)",
            "the distance of the collars must be more than zero",
        ),
        case(
            "set_over",
            ONE,
            "0",
            "set_over(1 mm, 300 mm, x)",
            "the length between centres must be more than zero",
        ),
        case("height_effect", ONE, "0", "height_effect(x, 1 mm)", "the diameter must be more than zero"),
        case("taper_from_twist", ONE, "LOST", "taper_from_twist(1 mm/m, x)", "not read: lost"),
        case("taper_from_lean", ONE, "LOST", "taper_from_lean(x)", "not read: lost"),
        case(
            "twist_shims",
            LEVEL,
            one_left,
            "greatest(twist_shims(x over place, legs, 100 mm))",
            ONE_OF_THREE,
        ),
        given(
            "reach = 200 mm",
            case(
                "twist_shims",
                LEVEL,
                "1, 2, 3",
                "greatest(twist_shims(x over place, legs, 200 mm - reach))",
                "the distance between the feet of a pair must be more than zero",
            ),
        ),
        case(
            "shims_to_level",
            ONE,
            "LOST",
            "greatest(shims_to_level(x / 1 m, 0 mm/m, corners, 0 mm, 0 mm, 900 mm, 0 mm, 0 mm, 500 mm))",
            "not read: lost",
        ),
        case(
            "seating_shims",
            FEET,
            "1, LOST, 2",
            "greatest(seating_shims(x over foot, 0 mm, 0 mm, 900 mm, 0 mm, 0 mm, 500 mm))",
            "not read: lost",
        ),
        given(
            "reach = 1 mm",
            case(
                "seating_shims",
                FEET,
                "1, 2, 3",
                "greatest(seating_shims(x over foot, 0 mm, 0 mm, 900 mm, 0 mm, 0 mm, reach - 1 mm))",
                "the stations all lie on one line",
            ),
        ),
        case(
            "without_background",
            "dB",
            "70",
            "without_background(60 dB, x)",
            "the total is below the background: measure both again",
        ),
        case(
            "settles_at",
            SERIES,
            "0 20; 10 20; 20 20; 30 20",
            "settles_at(x over time)",
            "do not bend toward an end value",
        ),
        case(
            "time_constant",
            SERIES,
            "0 20; 10 21; 20 23; 30 26",
            "time_constant(x over time)",
            "do not bend toward an end value",
        ),
        case(
            "time_to_rate",
            SERIES,
            "0 20; 10 20; 20 20; 30 20",
            "time_to_rate(x over time, 2 K/h)",
            "do not bend toward an end value",
        ),
        case(
            "change",
            SERIES,
            "20 20; 30 21",
            "change(x over time within 20 min)",
            "the series ended before so much time was covered",
        ),
        case(
            "rate",
            SERIES,
            "20 20; 30 21",
            "rate(x over time within 20 min) in K/h",
            "the series ended before so much time was covered",
        ),
    ];
    for (function, value) in [
        ("ordinates", "range(ordinates(x over place by WAY))"),
        ("straightness", "straightness(x over place by WAY)"),
        ("hump", "hump(x over place by WAY)"),
        ("hollow", "hollow(x over place by WAY)"),
        ("taper", "taper(x over place by WAY)"),
    ] {
        for way in ["ends", "least_squares", "minimum_zone"] {
            if function == "taper" && way == "minimum_zone" {
                continue;
            }
            let value: &'static str = value.replace("WAY", way).leak();
            let few = if way == "ends" { "not read: lost" } else { ONE_OF_THREE };
            all.push(case(function, LINE, one_left, value, few));
            all.push(given("reach = 100 mm", case(function, LINE, "1, 2, 3", value, SAME_PLACE)));
        }
    }
    for function in
        ["accuracy", "repeatability", "systematic_deviation", "mean_deviation_range", "reversal_value"]
    {
        let value: &'static str = format!("{function}(x by iso_230_2_2014)").leak();
        all.push(case(function, SLIDE, "1, 2; 3, LOST; 1, 2; 3, 4", value, "only 1 of 2 read, 2 are needed"));
    }
    all
}

fn procedure(case: &Case) -> String {
    let signed = "\n    plus \"high\"\n    minus \"low\"";
    let senses = if case.reading.starts_with("um") || case.reading.starts_with("mm/m") { signed } else { "" };
    let words = if case.reading.starts_with("degC") || case.reading.starts_with("dB") { "" } else { signed };
    let allowed = if case.reading == ONE { "\n    not read allowed" } else { "" };
    let mut entered = case.entered.replace("LOST", LOST);
    if case.reading == PLATE {
        entered = format!("{LOST}{}", ", 1".repeat(61));
    }
    let entries = match case.reading {
        SERIES => entered
            .split("; ")
            .filter_map(|row| row.split_once(' '))
            .map(|(time, value)| format!("  enter A.x at {time} min = {value}\n"))
            .collect(),
        _ => format!("  enter A.x = {entered}\n"),
    };
    let fact = |name: &str, good: &str| match case.given.strip_prefix(name) {
        Some(given) => format!("  given {name}{given}\n"),
        None => format!("  given {name} = {good}\n"),
    };
    let facts = fact("reach", "300 mm") + &fact("last", "270 deg");
    format!(
        "language 1\nprocedure \"Trial\"\ndecide simple\nfact reach \"Reach\" in mm from 1 to 900\n\
         fact last \"Last angle\" in deg from 1 to 720\naxis legs 0 mm, 100 mm\naxis corners p, q, r\n\
         section one \"One\"\nstep A \"A\"\n  read x in {}{senses}{allowed}\n  let y \"Y\" = {}{words}\n  report y\n\
         example \"bad\"\n{facts}{entries}",
        case.reading, case.value,
    )
}

/// What is said of the result, or why the walk refuses to go on.
fn said(case: &Case) -> String {
    let checked = check(&parse_text("trial.bedway", procedure(case)));
    let faults: Vec<&Problem> = checked.problems.iter().filter(|problem| problem.is_fault()).collect();
    let program = Rc::new(checked.program.unwrap_or_else(|| panic!("{}: {faults:?}", case.value)));
    let (machine, problems) = examples::walk_one(&program, &program.examples[0]);
    if let Some(refused) = problems.first() {
        return refused.message.clone();
    }
    let attempt = machine.state().steps[0].attempts.last().unwrap();
    let judged: &JudgedStep = attempt.recorded.as_ref().unwrap_or_else(|| panic!("{}: open", case.value));
    judged.results.iter().find(|result| result.name == "y").unwrap().values.join(", ")
}

#[test]
fn bad_input_gives_no_figure_and_says_why() {
    for case in cases() {
        let said = said(&case);
        assert!(said.contains(case.says), "{}: {said:?} does not say {:?}", case.value, case.says);
        let says_why = ["not read: ", "invalid: ", "This is refused on the walk: "].iter();
        assert!(says_why.clone().any(|why| said.starts_with(why)), "{}: {said}", case.value);
    }
}

/// All that is equal is no fault where the figure is really nothing: then it is a 0 that was measured.
#[test]
fn equal_readings_have_no_spread_and_that_is_a_figure() {
    for (reading, entered, value) in [
        (LIST, "5, 5, 5", "stdev(x over repeat)"),
        (LINE, "5, 5, 5", "straightness(x over place by minimum_zone)"),
        (TURN, "5, 5, 5, 5", "roundness(x over turn by minimum_zone)"),
        (GRID, "5, 5, 5; 5, 5, 5", "flatness(x by minimum_zone)"),
        (SLIDE, "5, 5; 5, 5; 5, 5; 5, 5", "accuracy(x by iso_230_2_2014)"),
        (FEET, "5, 5, 5", "greatest(seating_shims(x over foot, 0 mm, 0 mm, 900 mm, 0 mm, 0 mm, 500 mm))"),
    ] {
        let found = said(&case("", reading, entered, value, ""));
        assert_eq!(found.parse::<f64>(), Ok(0.0), "{value}: {found}");
    }
}

/// The functions of the reference, from the first column of its tables.
fn functions() -> BTreeSet<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/README.md");
    let text = std::fs::read_to_string(path).unwrap();
    let section = text.split("\n## Functions\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows = section.lines().filter(|line| line.starts_with("| `"));
    let cells = rows.filter_map(|row| row[1..].split(" | ").next());
    let quoted =
        cells.flat_map(|cell| cell.split('`').skip(1).step_by(2).map(str::to_string).collect::<Vec<_>>());
    let names = quoted.flat_map(|text| {
        let head = text.split('(').next().unwrap_or_default().to_string();
        head.split(' ').map(str::to_string).collect::<Vec<_>>()
    });
    names
        .filter(|name| {
            !name.is_empty()
                && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == 'C')
        })
        .collect()
}

#[test]
fn no_function_is_left_out() {
    let tried: BTreeSet<String> = cases().iter().map(|case| case.function.to_string()).collect();
    // `count` of nothing is 0 by definition; the others take names, and what is wrong with a name `check` finds.
    let by_name = ["aim", "count", "previous", "resolution", "where"].map(str::to_string);
    let words = ["by", "direction", "else", "extreme", "least_squares", "over"].map(str::to_string);
    let left: Vec<String> = functions()
        .into_iter()
        .filter(|name| !tried.contains(name) && !by_name.contains(name) && !words.contains(name))
        .collect();
    assert_eq!(left, Vec::<String>::new());
    assert!(functions().len() > 60);
}

/// A circle within the readings is held from all sides, or it slips out: where the angles stand in the file, `check` says so.
#[test]
fn a_held_circle_needs_readings_all_round() {
    let found = |angles: &str, way: &str| {
        let text = format!(
            "language 1\nprocedure \"Ring\"\ndecide simple\nsection s \"S\"\nstep A \"A\"\n  read x in um\n\
             \x20   over turn {angles}\n    plus \"out\"\n    minus \"in\"\n  let form \"Form\" = roundness(x over turn by {way})\n\
             \x20 tolerance form at most 5 um\n"
        );
        check(&parse_text("ring.bedway", text.as_str()))
            .problems
            .iter()
            .map(|it| it.code.name())
            .collect::<Vec<_>>()
    };
    let part = "0 deg, 30 deg, 60 deg, 90 deg";
    assert_eq!(found(part, "inscribed"), ["axis::too-few"]);
    assert_eq!(found(part, "circumscribed"), ["axis::too-few"]);
    assert_eq!(found(part, "least_squares"), [""; 0]);
    assert_eq!(found("0 deg to 315 deg by 45 deg", "inscribed"), [""; 0]);
    assert_eq!(found("0 deg, 90 deg, 180 deg, 270 deg", "circumscribed"), [""; 0]);
}
