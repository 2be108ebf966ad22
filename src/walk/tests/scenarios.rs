//! Worked cases from the bench, the arithmetic done by hand beside them. Invented data.

use crate::check::program::*;
use crate::quantity::Unit;
use crate::walk::testing::*;
use crate::walk::verdict::{Outcome, Verdict};

/// Axis against carriage travel: dial near and far, spindle at 0 and 180 deg.
fn axis_horizontal(row: &str) -> (Bench, Expr, Expr) {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "300"]);
    let turn =
        bench.axis("turn", Stations::Values { values: vec![number("0"), number("180")], unit: Unit::Deg });
    bench.program.axes[turn.0].pair = Some(Pair::Stays("machine".into()));
    let dial = bench.reading("dial", &[turn, place]);
    bench.enter(dial, row);
    let part = |function| call(Function::Gain, call(function, named(dial), &[turn], None), &[place], None);
    let (machine, artefact) = (part(Function::Machine), part(Function::Artefact));
    let lean = bench.result("lean", machine.clone());
    let span = call(Function::Span, named(dial), &[place], None);
    let band = rule(Test::FromTo(number("0"), number("0.015")));
    bench.tolerance(lean, Over::Whole, Rule { per: Some((number("300"), span)), ..band });
    (bench, machine, artefact)
}

#[test]
fn small_but_the_wrong_way_fails() {
    let (bench, machine, artefact) = axis_horizontal("0, -0.002, 0, -0.006");
    assert_eq!(bench.shows(&machine), "-0.004");
    assert_eq!(bench.shows(&artefact), "0.002");
    assert_eq!(bench.judge().outcome, Outcome::Failed, "though 0.004 is less than 0.015");
}

#[test]
fn a_bent_bar_on_a_true_spindle_passes() {
    let (bench, machine, artefact) = axis_horizontal("0, 0.018, 0, -0.002");
    assert_eq!(bench.shows(&machine), "0.008");
    assert_eq!(bench.shows(&artefact), "0.01");
    assert_eq!(bench.judge().outcome, Outcome::Passed);
}

#[test]
fn a_limit_per_100_is_scaled_to_the_60_that_were_measured() {
    for (near, far, limit, outcome) in
        [("0", "0.014", "0.020", Outcome::Failed), ("0.003", "0.012", "0.015", Outcome::Passed)]
    {
        let mut bench = Bench::new();
        let place = bench.places("place", &["0", "60"]);
        let dial = bench.reading("dial", &[place]);
        bench.enter(dial, &format!("{near}, {far}"));
        let rise = bench.result("rise", call(Function::Gain, named(dial), &[place], None));
        let span = call(Function::Span, named(dial), &[place], None);
        bench.tolerance(rise, Over::Whole, Rule { per: Some((number("100"), span)), ..from_to("0", limit) });
        assert_eq!(bench.judge().outcome, outcome, "{near} to {far}");
    }
}

#[test]
fn a_bed_that_is_well_as_a_whole_fails_in_one_window_by_spread_only() {
    let mut bench = Bench::new();
    bench.program.instruments[0].scale = Some(Literal { number: exact("0.02"), unit: Unit::MmPerM });
    let (from, to, step) = (number("0"), number("1000"), number("125"));
    let place = bench.axis("place", Stations::Stepped { from, to, step, up_to: true, unit: Unit::Mm });
    bench.program.axes[place.0].rise = Some(Rise::Along);
    let tilt = bench.reading("tilt", &[place]);
    bench.program.values[tilt.0].unit = Some(Unit::Div);
    bench.enter(tilt, "1.0, 1.0, 2.4, 2.2, 0.0, -0.4, -0.6, -0.8");
    let heights = call(Function::Heights, named(tilt), &[place], None);
    let form = bench.result("form", call(Function::Ordinates, heights, &[place], Some(By::Ends)));
    let hump = bench.result("hump", call(Function::Greatest, named(form), &[place], None));
    assert_eq!(bench.shows(&named(form)), "0, 0.001, 0.002, 0.0065, 0.0105, 0.009, 0.0065, 0.0035, 0");
    bench.tolerance(hump, Over::Whole, at_most("0.020"));
    bench.tolerance(form, Over::Whole, rule(Test::Convex { allowance: None }));
    for by in [WindowBy::Spread, WindowBy::Chord] {
        let window = Some(Window { length: number("250"), second: None, by });
        bench.tolerance(form, Over::Whole, Rule { window, ..at_most("0.0075") });
    }
    let judged = bench.judge().judged;
    let verdicts: Vec<&Verdict> = judged.iter().map(|judged| &judged.verdict).collect();
    assert_eq!(verdicts, [&Verdict::Passed, &Verdict::Passed, &Verdict::Failed, &Verdict::Passed]);
    assert_eq!(judged[2].value, Some(real("0.0085")));
    assert_eq!(judged[2].place.as_deref(), Some("250 mm to 500 mm"));
    assert_eq!(judged[2].window, Some((real("250"), real("500"))));
}

#[test]
fn four_tenths_of_a_thou_over_the_limit_is_a_failure_that_a_finer_instrument_would_tell() {
    let mut bench = Bench::new();
    bench.program.instruments[0].resolution = Some(Literal { number: exact("0.1"), unit: Unit::Thou });
    let nose = bench.reading("nose", &[]);
    bench.enter(nose, "0.01016");
    bench.tolerance(nose, Over::Whole, at_most("0.010"));
    let found = &bench.judge().judged[0];
    assert_eq!(found.verdict, Verdict::Failed);
    assert_eq!(
        found.notes,
        ["fails by 0.00016 mm, less than the instrument's 0.00254 mm: measure with a finer one".into()]
    );
}
