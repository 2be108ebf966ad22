//! Each function over stations: what it gives, what it needs, what it leaves out.

use crate::check::program::*;
use crate::walk::testing::*;
use crate::walk::verdict::Verdict;

fn along(function: Function, by: Option<By>, places: &[&str], row: &str) -> String {
    let mut bench = Bench::new();
    let place = bench.places("place", places);
    let a = bench.reading("a", &[place]);
    bench.enter(a, row);
    bench.shows(&call(function, named(a), &[place], by))
}

const FOUR: &[&str] = &["0", "100", "200", "300"];

#[test]
fn lists() {
    for (function, expected) in [
        (Function::Mean, "0.0065"),
        (Function::Sum, "0.026"),
        (Function::Least, "0"),
        (Function::Greatest, "0.012"),
        (Function::Range, "0.012"),
        (Function::Runout, "0.012"),
        (Function::Count, "4"),
        (Function::First, "0"),
        (Function::Last, "0.012"),
        (Function::Span, "300"),
        (Function::Gain, "0.012"),
        (Function::StationOfGreatest, "300"),
        (Function::StationOfLeast, "0"),
    ] {
        assert_eq!(along(function, None, FOUR, "0, 0.004, 0.010, 0.012"), expected, "{function:?}");
    }
}

#[test]
fn lines() {
    // By the ends 0.012/300. By least squares (-50 x 0.004 + 50 x 0.010 + 150 x 0.012) / 50 000 = 0.000042.
    for (function, by, expected) in [
        (Function::Ordinates, By::Ends, "0, 0, 0.002, 0"),
        (Function::Straightness, By::Ends, "0.002"),
        (Function::Hump, By::Ends, "0.002"),
        (Function::Hollow, By::Ends, "0"),
        (Function::Taper, By::Ends, "0.012"),
        (Function::Taper, By::LeastSquares, "0.0126"),
        (Function::Straightness, By::MinimumZone, "0.002"),
    ] {
        assert_eq!(
            along(function, Some(by), FOUR, "0, 0.004, 0.010, 0.012"),
            expected,
            "{function:?} {by:?}"
        );
    }
    assert_eq!(along(Function::Slope, None, FOUR, "0, 0.004, 0.010, 0.012"), "0.000042");
}

#[test]
fn a_station_that_was_not_read_is_left_out_where_enough_are_left() {
    assert_eq!(along(Function::Mean, None, FOUR, "1, x, 2, 3"), "2");
    assert_eq!(along(Function::Span, None, FOUR, "1, 2, 3, x"), "200");
    assert_eq!(
        along(Function::Ordinates, Some(By::Ends), FOUR, "0, x, 4, 3"),
        "0, not read: behind the wall, 2, 0"
    );
    assert_eq!(along(Function::Stdev, None, FOUR, "1, x, x, x"), "invalid: only 1 of 4 read, 2 are needed");
    assert_eq!(along(Function::Mean, None, FOUR, "x, x, x, x"), "not read: behind the wall");
    for (function, by) in
        [(Function::Gain, None), (Function::Taper, Some(By::Ends)), (Function::Ordinates, Some(By::Ends))]
    {
        let shown = along(function, by, FOUR, "1, 2, 3, x");
        assert!(shown.starts_with("not read: behind the wall"), "{function:?} needs its ends: {shown}");
    }
    assert_eq!(along(Function::Mean, None, FOUR, "1, -, x, 3"), "awaited");
}

#[test]
fn what_was_left_out_is_said_beside_the_verdict() {
    let mut bench = Bench::new();
    let place = bench.places("place", FOUR);
    let a = bench.reading("a", &[place]);
    bench.enter(a, "1, x, 2, 3");
    let mean = bench.result("mean", call(Function::Mean, named(a), &[place], None));
    let twice = bench.result(
        "twice",
        expr(Node::Arithmetic(Arithmetic::Add, Box::new(named(mean)), Box::new(named(mean)))),
    );
    bench.tolerance(twice, Over::Whole, at_most("4"));
    let judged = &bench.judge().judged[0];
    assert_eq!(judged.verdict, Verdict::Passed);
    assert_eq!(judged.notes, ["3 of 4 read".into()]);
}

fn stepped(bench: &mut Bench, rise: Rise) -> (AxisId, ValueId) {
    let (from, to, step) = (number("0"), number("500"), number("125"));
    let place = bench
        .axis("place", Stations::Stepped { from, to, step, up_to: true, unit: crate::quantity::Unit::Mm });
    bench.program.axes[place.0].rise = Some(rise);
    let tilt = bench.reading("tilt", &[place]);
    (place, tilt)
}

#[test]
fn heights_of_a_level_stepped_along_have_one_station_more() {
    let mut bench = Bench::new();
    let (place, tilt) = stepped(&mut bench, Rise::Along);
    bench.enter(tilt, "0.00002, 0.00002, 0, -0.00004");
    let heights = call(Function::Heights, named(tilt), &[place], None);
    assert_eq!(bench.shows(&heights), "0, 0.0025, 0.005, 0.005, 0");
    let evaluator = bench.evaluator();
    assert_eq!(&*evaluator.expr(&heights).axes[0].stations[4].name, "500 mm");
    assert_eq!(
        bench.shows(&call(Function::Span, named(tilt), &[place], None)),
        "500",
        "the last foot included"
    );
    bench.program.axes[place.0].rise = Some(Rise::Against);
    assert_eq!(bench.shows(&heights), "0, -0.0025, -0.005, -0.005, 0");
    bench.enter(tilt, "0.00002, x, 0, 0");
    assert!(bench.shows(&heights).starts_with("not read"), "heights need every foot");
}

#[test]
fn a_pair_is_taken_apart_as_its_sense_says() {
    for (pair, machine, artefact) in
        [(Pair::Stays("machine".into()), "0.008", "0.01"), (Pair::Turns("level".into()), "0.01", "0.008")]
    {
        let mut bench = Bench::new();
        let turn = bench.words("turn", &["first", "turned"]);
        bench.program.axes[turn.0].pair = Some(pair);
        let a = bench.reading("a", &[turn]);
        bench.enter(a, "0.018, -0.002");
        assert_eq!(bench.shows(&call(Function::Machine, named(a), &[turn], None)), machine);
        assert_eq!(bench.shows(&call(Function::Artefact, named(a), &[turn], None)), artefact);
        bench.enter(a, "0.018, x");
        assert_eq!(
            bench.shows(&call(Function::Machine, named(a), &[turn], None)),
            "not read: behind the wall"
        );
    }
}

#[test]
fn the_closing_station_is_seen_by_closure_only() {
    let mut bench = Bench::new();
    let turn = bench.places("turn", &["0", "90", "180", "270"]);
    bench.program.axes[turn.0].closing = true;
    let a = bench.reading("a", &[turn]);
    bench.enter(a, "0, 0.004, 0.010, 0.012, 0.9");
    let of = |function, by| bench.shows(&call(function, named(a), &[turn], by));
    assert_eq!(of(Function::Closure, None), "0.9");
    assert_eq!(of(Function::Greatest, None), "0.012");
    assert_eq!(of(Function::Last, None), "0.012");
    assert_eq!(of(Function::Count, None), "4");
    assert_eq!(of(Function::Ordinates, Some(By::Ends)), "0, 0, 0.002, 0");
    bench.tolerance(a, Over::Every, at_most("0.012"));
    assert_eq!(bench.judge().judged[0].verdict, Verdict::Passed);
}

#[test]
fn over_names_the_axes_that_collapse_and_none_means_all() {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "100"]);
    let repeat = bench.axis("repeat", Stations::Repeat { least: 3, most: 3 });
    let a = bench.reading("a", &[place, repeat]);
    bench.enter(a, "1, 2, 3, 5, 6, 7");
    let mean = |over: &[AxisId]| bench.shows(&call(Function::Mean, named(a), over, None));
    assert_eq!(mean(&[repeat]), "2, 6");
    assert_eq!(mean(&[place]), "3, 4, 5");
    assert_eq!(mean(&[place, repeat]), "4");
    assert_eq!(mean(&[]), "4");
    let gain = call(Function::Gain, call(Function::Mean, named(a), &[repeat], None), &[place], None);
    assert_eq!(bench.shows(&gain), "4");
}

#[test]
fn several_values_and_words_as_stations() {
    let mut bench = Bench::new();
    let arguments = vec![number("3"), number("4")];
    let of = |function| expr(Node::Call { function, arguments: arguments.clone(), over: vec![], by: None });
    assert_eq!(bench.shows(&of(Function::Greatest)), "4");
    assert_eq!(bench.shows(&of(Function::RootSumSquares)), "5");
    let per = expr(Node::Call {
        function: Function::Per,
        arguments: vec![number("0.014"), number("100"), number("60")],
        over: vec![],
        by: None,
    });
    assert_eq!(bench.shows(&per), "7/300");
    let end = bench.words("end", &["head", "tail"]);
    let a = bench.reading("a", &[end]);
    bench.enter(a, "1, 2");
    assert_eq!(bench.shows(&call(Function::StationOfGreatest, named(a), &[end], None)), "tail");
}

#[test]
fn roots_and_angles() {
    let bench = Bench::new();
    let of = |function, argument| bench.shows(&call(function, number(argument), &[], None));
    assert_eq!(of(Function::Sqrt, "4"), "2");
    assert_eq!(of(Function::Sqrt, "-4"), "invalid: the root of a negative number");
    assert_eq!(of(Function::Tan, "45"), "1");
    assert_eq!(of(Function::Tan, "90"), "invalid: the tangent of a right angle");
    assert_eq!(of(Function::Abs, "-0.5"), "0.5");
    assert_eq!(of(Function::Half, "1"), "0.5");
}

#[test]
fn sound_within_3_db_of_the_background_is_open_ended() {
    let bench = Bench::new();
    let level = |number: &str| {
        expr_of(Node::Number(exact(number)), Kind::Quantity(crate::quantity::Dimension::LEVEL))
    };
    let without = |total: &str| {
        bench.shows(&expr(Node::Call {
            function: Function::WithoutBackground,
            arguments: vec![level(total), level("70")],
            over: vec![],
            by: None,
        }))
    };
    assert_eq!(without("72"), "below 72");
    assert!(without("80").starts_with("79.54"), "10 lg(10^8 - 10^7) = 79.542");
}
