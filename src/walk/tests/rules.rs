//! Limits as scaled, verdicts at the edges, windows, tables.

use crate::check::program::*;
use crate::quantity::Real;
use crate::walk::testing::*;
use crate::walk::value::{Cell, Laid};
use crate::walk::verdict::{Judged as Found, Verdict};

fn judged(rule: Rule, value: &str) -> Found {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    bench.enter(a, value);
    bench.tolerance(a, Over::Whole, rule);
    bench.judge().judged[0].clone()
}

fn verdict(rule: Rule, value: &str) -> Verdict {
    judged(rule, value).verdict
}

fn test(test: Test) -> Rule {
    rule(test)
}

#[test]
fn limits_are_inclusive_but_for_above_and_below() {
    let within = |of: Option<Expr>| test(Test::Within { size: number("0.005"), of });
    for (rule, passes, fails) in [
        (at_most("0.010"), "0.010", "0.0100001"),
        (test(Test::AtLeast(number("1"))), "1", "0.99999"),
        (test(Test::Above(number("1"))), "1.00001", "1"),
        (test(Test::Below(number("1"))), "0.99999", "1"),
        (from_to("0", "0.015"), "0", "-0.0001"),
        (within(None), "-0.005", "-0.0051"),
        (within(Some(number("25"))), "25.005", "25.006"),
    ] {
        assert_eq!(verdict(rule.clone(), passes), Verdict::Passed, "{passes}");
        assert_eq!(verdict(rule, fails), Verdict::Failed, "{fails}");
    }
}

#[test]
fn what_is_not_there_never_passes() {
    assert_eq!(verdict(at_most("1"), "-"), Verdict::Waiting);
    assert_eq!(verdict(at_most("1"), "x"), Verdict::Invalid("not read: behind the wall".into()));
}

#[test]
fn an_open_ended_value_passes_fails_or_is_undecided() {
    let undecided = |verdict: Verdict| matches!(verdict, Verdict::Undecided(_));
    let at_least = |limit: &str| test(Test::AtLeast(number(limit)));
    assert_eq!(verdict(at_least("1"), "over 200"), Verdict::Passed);
    assert_eq!(verdict(test(Test::Above(number("200"))), "over 200"), Verdict::Passed);
    assert!(undecided(verdict(at_least("300"), "over 200")));
    assert_eq!(verdict(at_most("200"), "over 200"), Verdict::Failed);
    assert!(undecided(verdict(at_most("300"), "over 200")));
    assert_eq!(verdict(at_most("0.2"), "below 0.2"), Verdict::Passed);
    assert_eq!(verdict(at_least("0.2"), "below 0.2"), Verdict::Failed);
    assert!(undecided(verdict(from_to("0", "300"), "over 200")));
}

#[test]
fn bounds_that_cross_are_invalid() {
    assert_eq!(
        verdict(from_to("3", "1"), "2"),
        Verdict::Invalid("the limits cross: from 3 mm to 1 mm".into())
    );
    let negative = test(Test::Within { size: number("-1"), of: None });
    assert!(matches!(verdict(negative, "0"), Verdict::Invalid(_)));
}

fn scaled(test: Test, over: &str, floor: Option<&str>, cap: Option<&str>) -> Rule {
    Rule {
        per: Some((number("300"), number(over))),
        floor: floor.map(number),
        cap: cap.map(number),
        ..rule(test)
    }
}

#[test]
fn a_limit_per_length_is_scaled_to_the_length_that_was_measured() {
    let band = || Test::FromTo(number("0"), number("0.015"));
    let found = judged(scaled(band(), "60", None, None), "0.003");
    let (lower, upper) = (found.lower.unwrap(), found.upper.unwrap());
    assert_eq!(found.verdict, Verdict::Passed);
    assert_eq!((lower.scaled, upper.stated, upper.scaled), (Real::zero(), real("0.015"), real("0.003")));
    assert_eq!(&*upper.how, "per 300 mm over 60 mm");
    let floored = judged(scaled(band(), "60", Some("0.005"), None), "0.004").upper.unwrap();
    assert_eq!(floored.scaled, real("0.005"));
    assert_eq!(&*floored.how, "per 300 mm over 60 mm, floor 0.005 mm counted");
    let capped = judged(scaled(band(), "900", None, Some("0.030")), "0.031");
    assert_eq!(capped.verdict, Verdict::Failed);
    assert!(capped.upper.unwrap().how.ends_with("cap 0.03 mm counted"));
    assert!(matches!(verdict(scaled(band(), "0", None, None), "0"), Verdict::Invalid(_)));
}

#[test]
fn a_floor_keeps_the_sign_and_leaves_zero_alone() {
    let down = Test::FromTo(number("-0.040"), number("0"));
    let found = judged(scaled(down, "15", Some("0.005"), None), "-0.005");
    assert_eq!(found.verdict, Verdict::Passed);
    assert_eq!(found.lower.unwrap().scaled, real("-0.005"));
    assert_eq!(found.upper.unwrap().scaled, Real::zero());
}

#[test]
fn within_a_size_of_a_middle_scales_only_the_size() {
    let found = judged(
        scaled(Test::Within { size: number("0.03"), of: Some(number("25")) }, "100", None, None),
        "25.01",
    );
    assert_eq!(found.verdict, Verdict::Passed);
    assert_eq!((found.lower.unwrap().scaled, found.upper.unwrap().scaled), (real("24.99"), real("25.01")));
}

#[test]
fn every_and_any_tell_which_element_settled_it() {
    let mut bench = Bench::new();
    let part = bench.words("part", &["bed", "motor", "stand"]);
    let a = bench.reading("a", &[part]);
    bench.tolerance(a, Over::Every, at_most("0.3"));
    bench.tolerance(a, Over::Any, at_most("0.3"));
    let mut both = |row: &str| {
        bench.enter(a, row);
        let found = bench.judge().judged;
        let say = |found: &Found| (found.verdict.clone(), found.place.as_deref().unwrap_or("").to_string());
        (say(&found[0]), say(&found[1]))
    };
    let (every, any) = both("0.1, 0.4, 0.2");
    assert_eq!(every, (Verdict::Failed, "motor".into()));
    assert_eq!(any, (Verdict::Passed, "bed".into()));
    let (every, any) = both("0.1, 0.4, -");
    assert_eq!((every.0, any.0), (Verdict::Failed, Verdict::Passed), "one no is no, one yes is yes");
    let (every, any) = both("0.1, 0.2, -");
    assert_eq!((every.0, any.0), (Verdict::Waiting, Verdict::Passed));
    let (every, any) = both("0.9, 0.4, x");
    assert_eq!(every, (Verdict::Failed, "bed".into()), "the worst");
    assert!(matches!(any.0, Verdict::Invalid(_)));
    let (every, _) = both("0.1, 0.2, x");
    assert!(matches!(every.0, Verdict::Invalid(_)), "not read is never passed");
}

#[test]
fn a_laid_out_limit_is_taken_element_by_element() {
    let mut bench = Bench::new();
    let part = bench.words("part", &["thick", "thin"]);
    let (a, limit) = (bench.reading("a", &[part]), bench.reading("limit", &[part]));
    bench.enter(a, "0.2, 0.4");
    bench.enter(limit, "0.1, 0.5");
    bench.tolerance(a, Over::Every, rule(Test::AtMost(named(limit))));
    let found = &bench.judge().judged[0];
    assert_eq!(found.verdict, Verdict::Failed);
    assert_eq!(found.place.as_deref(), Some("thick"));
    assert_eq!(found.upper.as_ref().unwrap().scaled, real("0.1"));
}

#[test]
fn convex_forgives_nothing_below_its_allowance() {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "100", "200"]);
    let a = bench.reading("a", &[place]);
    bench.tolerance(a, Over::Whole, rule(Test::Convex { allowance: None }));
    bench.tolerance(a, Over::Whole, rule(Test::Convex { allowance: Some(number("0.001")) }));
    bench.tolerance(a, Over::Whole, rule(Test::Concave { allowance: None }));
    let mut verdicts = |row: &str| {
        bench.enter(a, row);
        bench.judge().judged.iter().map(|judged| judged.verdict.clone()).collect::<Vec<_>>()
    };
    use Verdict::{Failed, Passed};
    assert_eq!(verdicts("0, 0.004, 0"), [Passed, Passed, Failed]);
    assert_eq!(verdicts("0, -0.001, 0"), [Failed, Passed, Passed]);
    assert_eq!(verdicts("0, x, 0"), [Passed, Passed, Passed], "left out, and said");
}

#[test]
fn a_window_longer_than_what_was_measured_is_judged_over_what_there_is() {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "100", "200"]);
    let a = bench.reading("a", &[place]);
    bench.enter(a, "0, 0.010, 0.001");
    let window = Window { length: number("250"), second: None, by: WindowBy::Spread };
    bench.tolerance(a, Over::Whole, Rule { window: Some(window), ..at_most("0.0075") });
    let found = &bench.judge().judged[0];
    assert_eq!(found.verdict, Verdict::Failed);
    assert_eq!(found.notes, ["judged over 200 mm, all there is".into()]);
    bench.enter(a, "0, x, -");
    assert_eq!(bench.judge().judged[0].verdict, Verdict::Waiting);
}

#[test]
fn no_verdict_hangs_on_binary_noise() {
    // The root of two, squared and compared with two: equal within the bound that is carried.
    let mut bench = Bench::new();
    let root = bench.result("root", call(Function::Sqrt, number("2"), &[], None));
    let square = bench.result("square", expr(Node::Power(Box::new(named(root)), 2)));
    for test in [Test::AtMost(number("2")), Test::AtLeast(number("2"))] {
        bench.tolerance(square, Over::Whole, rule(test));
    }
    for judged in bench.judge().judged {
        assert_eq!(judged.verdict, Verdict::Passed);
    }
}

#[test]
fn an_error_bound_wider_than_a_millionth_of_the_resolution_settles_nothing() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    bench
        .entries
        .insert(a, Entered::Laid(Laid::single(Cell::number(Real::approximate(0.005, 2e-9).unwrap()))));
    bench.tolerance(a, Over::Whole, at_most("0.010"));
    let Verdict::Invalid(reason) = &bench.judge().judged[0].verdict else { panic!("not invalid") };
    assert!(reason.starts_with("too ill-conditioned"));
    bench
        .entries
        .insert(a, Entered::Laid(Laid::single(Cell::number(Real::approximate(0.005, 0.5e-9).unwrap()))));
    assert_eq!(bench.judge().judged[0].verdict, Verdict::Passed);
}

#[test]
fn a_table_is_read_from_the_top_within_its_condition() {
    let mut bench = Bench::new();
    let between = bench.fact("between", "500");
    let class = bench.fact("class", "toolroom");
    let is =
        |word: &str| condition(Node::Is(Box::new(named(class)), Box::new(expr(Node::Word(word.into())))));
    let table = bench.table(vec![
        row(0, Some(is("toolroom")), Reach::UpTo(number("500")), "0.008"),
        row(0, Some(is("toolroom")), Reach::UpTo(number("1000")), "0.015"),
        row(1, Some(is("general")), Reach::UpTo(number("500")), "0.010"),
        row(1, Some(is("general")), Reach::UpTo(number("1000")), "0.020"),
        row(1, Some(is("general")), Reach::EveryFurther(number("1000")), "0.010"),
        row(2, None, Reach::Whole, "9"),
    ]);
    let look = expr(Node::Table { table, column: 0, at: Some(Box::new(named(between))) });
    let mut at = |of: &str, length: &str| {
        bench.enter(class, of);
        bench.enter(between, length);
        bench.shows(&look)
    };
    assert_eq!(at("toolroom", "500"), "0.008", "the boundary belongs to its row");
    assert_eq!(at("toolroom", "500.1"), "0.015");
    assert_eq!(
        at("toolroom", "1200"),
        "invalid: table limit has no row for between = 1200 mm, class = toolroom",
        "it does not fall through"
    );
    assert_eq!(at("general", "1000"), "0.02");
    assert_eq!(at("general", "1001"), "0.03", "each begun part adds");
    assert_eq!(at("general", "3000"), "0.04");
    assert_eq!(at("other", "3000"), "9");
    assert_eq!(at("-", "3000"), "awaited");
    assert_eq!(at("general", "-"), "awaited");
}

#[test]
fn aim_is_the_middle_of_the_one_band_in_force() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    bench.tolerance(a, Over::Whole, scaled(Test::FromTo(number("0"), number("0.030")), "150", None, None));
    let aim = expr(Node::Aim(a));
    assert_eq!(bench.shows(&aim), "0.0075");
    bench.tolerance(a, Over::Whole, at_most("5"));
    assert_eq!(bench.shows(&aim), "0.0075", "one side is no band");
    bench.tolerance(a, Over::Whole, from_to("-1", "1"));
    assert_eq!(bench.shows(&aim), "invalid: more than one band with two sides is in force");
    bench.step().judgements[0].when = Some(condition(Node::YesNo(false)));
    assert_eq!(bench.shows(&aim), "0");
}
