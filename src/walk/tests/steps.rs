//! A step as a whole: outcome, what to do, stops at every entry, crosschecks, values in words.

use crate::check::program::*;
use crate::quantity::{Sense, Unit};
use crate::walk::testing::*;
use crate::walk::value::Cell;
use crate::walk::verdict::{Agreement, Outcome};
use crate::walk::{judge, text};

#[test]
fn the_outcome_is_the_first_that_holds() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    assert_eq!(bench.judge().outcome, Outcome::NotReached);
    bench.enter(a, "0.012");
    assert_eq!(bench.judge().outcome, Outcome::Recorded, "no rule in it");
    bench.tolerance(a, Over::Whole, at_most("0.010"));
    assert_eq!(bench.judge().outcome, Outcome::Failed);
    let steady = meets(named(a), rule(Test::Below(number("0"))));
    bench.step().valid.push((steady, Text::plain("The zero has moved: measure again")));
    let judged = bench.judge();
    assert_eq!(judged.outcome, Outcome::Invalid, "neither pass nor fail");
    assert_eq!(judged.invalid, ["The zero has moved: measure again"]);
}

#[test]
fn a_tolerance_whose_condition_does_not_hold_is_no_rule() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    bench.enter(a, "5");
    bench.tolerance(a, Over::Whole, at_most("1"));
    bench.step().judgements[0].when = Some(condition(Node::YesNo(false)));
    assert_eq!(bench.judge().outcome, Outcome::Recorded);
}

#[test]
fn a_stop_fires_at_the_first_entry_that_calls_for_it() {
    let mut bench = Bench::new();
    let place = bench.words("place", &["front", "rear", "middle"]);
    let temp = bench.reading("temp", &[place]);
    let hot = meets(named(temp), rule(Test::Above(number("75"))));
    let spread = meets(call(Function::Range, named(temp), &[], None), rule(Test::Above(number("20"))));
    bench.step().stops =
        vec![(hot, Text::plain("Switch off: too hot")), (spread, Text::plain("One side only"))];
    let mut now = |row: &str| {
        bench.enter(temp, row);
        judge::stops_now(&bench.program, STEP, &bench)
    };
    assert!(now("-, -, -").is_empty());
    assert!(now("70, -, -").is_empty());
    assert_eq!(now("70, 76, -"), ["Switch off: too hot"], "true if any element makes it so");
    assert_eq!(now("40, 61, -"), ["One side only"], "on what is known so far");
    assert_eq!(now("over 60, -, -"), ["Switch off: too hot"], "undecided counts as true");
    assert!(now("x, 40, -").is_empty());
}

#[test]
fn require_names_the_first_that_fails() {
    let mut bench = Bench::new();
    let guard = bench.words("guard", &["chuck", "belt"]);
    let works = bench.observation("works", &[guard], None);
    bench.judgement(Judged::Require(condition(Node::Every(Box::new(condition(Node::Value(works)))))));
    bench.enter(works, "yes, no");
    let judged = bench.judge();
    assert_eq!(judged.outcome, Outcome::Failed);
    assert_eq!(judged.judged[0].place.as_deref(), Some("belt"));
}

#[test]
fn remedies_are_shown_where_they_hold_with_their_amounts() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    let tolerance = bench.tolerance(a, Over::Whole, at_most("0.010"));
    let amount = expr(Node::Arithmetic(Arithmetic::Subtract, Box::new(number("0.005")), Box::new(named(a))));
    let remedy = |when: Option<Expr>, said: &str, advises: Vec<(ValueId, Expr)>| Remedy {
        when,
        text: Text { parts: vec![Part::Plain(format!("{said} ")), Part::Value(named(a), None)] },
        advises,
        span: Default::default(),
    };
    let outside = condition(Node::ValueOutside(a));
    let named_outside = condition(Node::JudgementOutside(STEP, tolerance));
    bench.step().remedies = vec![
        remedy(Some(outside), "outside by value:", vec![(a, amount)]),
        remedy(Some(named_outside), "outside by name:", vec![]),
        remedy(None, "not passed:", vec![]),
        remedy(Some(condition(Node::YesNo(true))), "always:", vec![]),
    ];
    bench.enter(a, "0.012");
    let shown = bench.judge().remedies;
    let texts: Vec<&str> = shown.iter().map(|remedy| &*remedy.text).collect();
    assert_eq!(
        texts,
        [
            "outside by value: 0.012 mm",
            "outside by name: 0.012 mm",
            "not passed: 0.012 mm",
            "always: 0.012 mm"
        ]
    );
    assert_eq!(shown[0].advised[0].1.cells, [cell("-0.007")]);
    bench.enter(a, "0.009");
    let texts: Vec<String> = bench.judge().remedies.into_iter().map(|remedy| remedy.text).collect();
    assert_eq!(texts, ["always: 0.009 mm"]);
}

#[test]
fn results_that_disagree_ask_to_look_again() {
    let mut bench = Bench::new();
    let (a, b) = (bench.reading("a", &[]), bench.reading("b", &[]));
    bench.program.crosschecks.push(Crosscheck {
        name: "c".into(),
        why: Text::plain("both see the same twist"),
        left: named(a),
        right: named(b),
        within: number("0.009"),
        when: None,
        steps: vec![],
        span: Default::default(),
    });
    let mut agreement = |one: &str, other: &str| {
        bench.enter(a, one);
        bench.enter(b, other);
        judge::crosscheck(&bench.program, CrosscheckId(0), &bench).agreement
    };
    assert_eq!(agreement("0.012", "0.003"), Agreement::Agree, "exactly 0.009");
    assert_eq!(agreement("0.003", "0.0121"), Agreement::LookAgain);
    assert_eq!(agreement("0.003", "-"), Agreement::Waiting);
    assert_eq!(agreement("0.003", "x"), Agreement::Invalid("behind the wall".into()));
}

#[test]
fn a_value_says_its_unit_and_its_direction() {
    let sense = Sense::new("toward the operator", "away from the operator");
    let step = real("0.001");
    let show = |value: &str| text::show(&real(value), Some(Unit::Mm), Some(&sense), Some(&step), &[]);
    assert_eq!(show("0.006"), "+0.006 mm, toward the operator");
    assert_eq!(show("-0.004"), "-0.004 mm, away from the operator");
    assert_eq!(show("0"), "0.000 mm");
    assert!(!show("-0.0000001").starts_with('-'), "never -0.000");
    let against =
        |limit: &str| text::show(&real("0.01016"), Some(Unit::Mm), None, Some(&step), &[real(limit)]);
    assert_eq!(against("0.010"), "0.01016 mm");
    assert_eq!(text::show(&real("22.5"), Some(Unit::DegC), None, Some(&real("0.1")), &[]), "22.5 degC");
    assert_eq!(text::show(&real("20"), Some(Unit::DegF), None, None, &[]), "68 degF");
}

#[test]
fn the_record_keeps_exact_text() {
    let on_record = |text: &str| text::record_text(&cell(text), Some(Unit::Thou));
    assert_eq!(on_record("0.0254"), "1");
    assert_eq!(text::record_text(&Cell::number(real("1/3")), None), "1/3");
    assert_eq!(on_record("over 0.254"), "over 10");
    assert_eq!(on_record("-"), "awaited");
    assert_eq!(on_record("x"), "not read: behind the wall");
    assert_eq!(text::record_text(&Cell::invalid("division by zero"), None), "invalid: division by zero");
}

#[test]
fn a_question_names_the_station_that_is_asked_for() {
    let mut bench = Bench::new();
    let turn = bench.axis("turn", Stations::Values { values: vec![number("180")], unit: Unit::Deg });
    let ask = Text {
        parts: vec![Part::Plain("Spindle at ".into()), Part::Value(expr(Node::CurrentStation(turn)), None)],
    };
    let said = text::say(&ask, &bench.evaluator(), &[("turn".into(), cell("180"))]);
    assert_eq!(said, "Spindle at 180 deg");
}
