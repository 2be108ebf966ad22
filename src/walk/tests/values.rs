//! Stations, elements against elements, and what is not there.

use crate::check::program::*;
use crate::quantity::Unit;
use crate::walk::testing::*;
use crate::walk::text;
use crate::walk::value::Cell;

fn minus(a: Expr, b: Expr) -> Expr {
    expr(Node::Arithmetic(Arithmetic::Subtract, Box::new(a), Box::new(b)))
}

fn over(a: Expr, b: Expr) -> Expr {
    expr(Node::Arithmetic(Arithmetic::Divide, Box::new(a), Box::new(b)))
}

fn station_names(bench: &Bench, axis: AxisId) -> String {
    match bench.evaluator().stations(axis) {
        Ok(stations) => stations.stations.iter().map(|s| s.name.to_string()).collect::<Vec<_>>().join(", "),
        Err(missing) => text::cell(&missing, None),
    }
}

#[test]
fn stations_are_named_as_they_are_shown() {
    let mut bench = Bench::new();
    let reach = bench.fact("reach", "300");
    let whole = bench.range("place", "0", "400", "100", false);
    let fitting = bench.range("place", "0", "350", "100", true);
    let uneven = bench.range("place", "0", "350", "100", false);
    let back = bench.range("place", "200", "0", "100", false);
    let to_reach =
        bench.axis("place", Stations::Values { values: vec![number("0"), named(reach)], unit: Unit::Mm });
    let turn =
        bench.axis("turn", Stations::Values { values: vec![number("0"), number("180")], unit: Unit::Deg });
    bench.program.axes[turn.0].closing = true;
    let repeat = bench.axis("repeat", Stations::Repeat { least: 2, most: 3 });
    let unknown = bench.fact("unknown", "-");
    let waits = bench.axis("place", Stations::Values { values: vec![named(unknown)], unit: Unit::Mm });
    assert_eq!(station_names(&bench, whole), "0 mm, 100 mm, 200 mm, 300 mm, 400 mm");
    assert_eq!(
        station_names(&bench, fitting),
        "0 mm, 100 mm, 200 mm, 300 mm",
        "up to stops at the last that fits"
    );
    assert_eq!(station_names(&bench, uneven), "invalid: 100 mm does not divide the way from 0 mm to 350 mm");
    assert_eq!(station_names(&bench, back), "200 mm, 100 mm, 0 mm");
    assert_eq!(station_names(&bench, to_reach), "0 mm, 300 mm");
    assert_eq!(
        station_names(&bench, turn),
        "0 deg, 180 deg, 0 deg again",
        "closing reads the first once more"
    );
    assert_eq!(station_names(&bench, repeat), "1, 2, 3");
    assert_eq!(station_names(&bench, waits), "awaited", "a station that hangs on a fact waits for it");
    bench.enter(reach, "0");
    assert_eq!(station_names(&bench, to_reach), "invalid: place has 0 mm twice");
}

#[test]
fn absurd_numbers_of_stations_are_refused_and_not_laid_out() {
    let mut bench = Bench::new();
    let endless = bench.range("place", "0", "1000000000", "0.001", true);
    let standing = bench.range("place", "0", "10", "0", true);
    let wide = bench.range("a", "0", "9999", "1", false);
    let reading = bench.reading("x", &[wide, endless]);
    assert_eq!(station_names(&bench, endless), "invalid: more than 100000 stations");
    assert_eq!(station_names(&bench, standing), "invalid: stations cannot go on by 0 mm");
    assert_eq!(bench.shows(&named(reading)), "invalid: more than 100000 stations");
}

#[test]
fn values_meet_element_by_element_over_axes_of_the_same_name() {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "100"]);
    let plane = bench.words("plane", &["vertical", "horizontal"]);
    let a = bench.reading("a", &[place, plane]);
    let b = bench.reading("b", &[plane]);
    bench.enter(a, "1, 2, 3, 4");
    bench.enter(b, "0.1, 0.2");
    assert_eq!(bench.shows(&minus(named(a), named(b))), "0.9, 1.8, 2.9, 3.8");
    assert_eq!(bench.shows(&minus(named(b), named(a))), "-0.9, -1.8, -2.9, -3.8");
}

#[test]
fn stations_that_differ_are_both_named() {
    let mut bench = Bench::new();
    let here = bench.places("place", &["0", "100"]);
    let there = bench.places("place", &["0", "120"]);
    let longer = bench.places("place", &["0", "100", "200"]);
    let (a, b, c) =
        (bench.reading("a", &[here]), bench.reading("b", &[there]), bench.reading("c", &[longer]));
    for id in [a, b] {
        bench.enter(id, "1, 2");
    }
    bench.enter(c, "1, 2, 3");
    assert!(bench.shows(&minus(named(a), named(b))).contains("100 mm against 120 mm"));
    assert!(bench.shows(&minus(named(a), named(c))).contains("2 against 3, with nothing to meet 200 mm"));
}

#[test]
fn invalid_beats_not_read_beats_awaited_beats_known() {
    let mut bench = Bench::new();
    let kinds = bench.words("kind", &["known", "awaited", "not read"]);
    let a = bench.reading("a", &[kinds]);
    bench.enter(a, "1, -, x");
    let with = |bench: &Bench, other: Expr| bench.shows(&minus(named(a), other));
    let nothing = over(number("1"), number("0"));
    assert_eq!(with(&bench, number("1")), "0, awaited, not read: behind the wall");
    assert_eq!(with(&bench, nothing), ["invalid: division by zero"; 3].join(", "));
}

#[test]
fn open_ended_readings_go_through_where_the_result_is_plain() {
    let mut bench = Bench::new();
    let circuits = bench.words("circuit", &["a", "b"]);
    let ohms = bench.reading("ohms", &[circuits]);
    bench.enter(ohms, "over 200, 150");
    let twice = expr(Node::Arithmetic(Arithmetic::Multiply, Box::new(number("-2")), Box::new(named(ohms))));
    assert_eq!(bench.shows(&twice), "below -400, -300");
    assert_eq!(bench.shows(&minus(number("300"), named(ohms))), "below 100, 150");
    assert_eq!(bench.shows(&call(Function::Least, named(ohms), &[], None)), "150");
    assert_eq!(bench.shows(&call(Function::Greatest, named(ohms), &[], None)), "over 200");
    assert_eq!(bench.shows(&call(Function::Mean, named(ohms), &[], None)), "over 175");
    let squared = expr(Node::Power(Box::new(named(ohms)), 2));
    assert_eq!(bench.shows(&squared), "invalid: it cannot be worked out from an open-ended reading, 22500");
}

#[test]
fn conditions_are_three_valued() {
    let mut bench = Bench::new();
    let kinds = bench.words("kind", &["yes", "no", "awaited", "not read"]);
    let a = bench.observation("a", &[kinds], None);
    bench.enter(a, "yes, no, -, x");
    let answers = |node: Node| bench.shows(&condition(node));
    let answer = |word: bool| Box::new(condition(Node::YesNo(word)));
    let all = || Box::new(condition(Node::Value(a)));
    assert_eq!(answers(Node::Or(all(), answer(true))), "yes, yes, yes, yes", "or with one yes is yes");
    assert_eq!(answers(Node::Or(all(), answer(false))), "yes, no, awaited, not read: behind the wall");
    assert_eq!(answers(Node::And(all(), answer(false))), "no, no, no, no");
    assert_eq!(answers(Node::Not(all())), "no, yes, awaited, not read: behind the wall");
    assert_eq!(answers(Node::Every(all())), "no", "every with one no is no");
    assert_eq!(answers(Node::Any(all())), "yes");
}

#[test]
fn every_waits_for_all_unless_one_says_no() {
    let mut bench = Bench::new();
    let kinds = bench.words("kind", &["a", "b"]);
    let a = bench.observation("a", &[kinds], None);
    let every = condition(Node::Every(Box::new(condition(Node::Value(a)))));
    for (entered, expected) in
        [("yes, -", "awaited"), ("no, -", "no"), ("yes, yes", "yes"), ("yes, x", "not read: behind the wall")]
    {
        bench.enter(a, entered);
        assert_eq!(bench.shows(&every), expected, "{entered}");
    }
}

#[test]
fn nothing_listed_is_never_every() {
    let mut bench = Bench::new();
    let part = bench.axis("part", Stations::Listed { question: Text::plain("Name each part") });
    bench.listed.insert(part, vec![]);
    let a = bench.observation("a", &[part], None);
    let every = condition(Node::Every(Box::new(condition(Node::Value(a)))));
    bench.enter(a, "-");
    bench.entries.clear();
    assert_eq!(bench.shows(&every), "invalid: nothing is listed");
}

#[test]
fn only_the_branch_that_is_taken_is_looked_at() {
    let mut bench = Bench::new();
    let waiting = bench.reading("waiting", &[]);
    let branch = |answer: Expr| {
        expr(Node::If {
            condition: Box::new(answer),
            then: Box::new(number("1")),
            otherwise: Box::new(over(number("1"), number("0"))),
        })
    };
    let above = meets(named(waiting), rule(Test::Above(number("0"))));
    assert_eq!(bench.shows(&branch(condition(Node::YesNo(true)))), "1");
    assert_eq!(bench.shows(&branch(condition(Node::YesNo(false)))), "invalid: division by zero");
    assert_eq!(bench.shows(&branch(above)), "awaited");
}

#[test]
fn a_laid_out_branch_is_chosen_at_each_element() {
    let mut bench = Bench::new();
    let kinds = bench.words("kind", &["a", "b", "c"]);
    let a = bench.reading("a", &[kinds]);
    bench.enter(a, "1, -2, -");
    let size = expr(Node::If {
        condition: Box::new(meets(named(a), rule(Test::Above(number("0"))))),
        then: Box::new(named(a)),
        otherwise: Box::new(expr(Node::Negate(Box::new(named(a))))),
    });
    assert_eq!(bench.shows(&size), "1, 2, awaited");
}

#[test]
fn a_pick_takes_a_station_by_its_place_word_or_order() {
    let mut bench = Bench::new();
    let reach = bench.fact("reach", "300");
    let place =
        bench.axis("place", Stations::Values { values: vec![number("0"), named(reach)], unit: Unit::Mm });
    let way = bench.words("way", &["turned", "first"]);
    let a = bench.reading("a", &[place, way]);
    bench.enter(a, "1, 2, 3, 4");
    let pick = |picks: Vec<(AxisId, StationPick)>| bench.shows(&expr(Node::Pick(Box::new(named(a)), picks)));
    let at = |value: Expr| StationPick::Value(Box::new(value));
    assert_eq!(pick(vec![(place, at(named(reach)))]), "3, 4");
    assert_eq!(
        pick(vec![(place, at(number("0"))), (way, StationPick::Word("first".into()))]),
        "2",
        "its own word comes first"
    );
    assert_eq!(pick(vec![(place, StationPick::Word("last".into()))]), "3, 4");
    assert_eq!(pick(vec![(place, at(number("150")))]), "invalid: place has no station 150 mm");
}

#[test]
fn repeats_count_as_often_as_they_were_taken() {
    let mut bench = Bench::new();
    let place = bench.places("place", &["0", "100"]);
    let repeat = bench.axis("repeat", Stations::Repeat { least: 1, most: 10 });
    let a = bench.reading("a", &[place, repeat]);
    let mean = call(Function::Mean, named(a), &[repeat], None);
    assert_eq!(bench.shows(&mean), "awaited, awaited");
    let mut row = vec![Cell::Awaited; 20];
    for (at, value) in [(0, "1"), (1, "2"), (2, "3"), (10, "4"), (11, "6")] {
        row[at] = cell(value);
    }
    bench.entries.insert(a, Entered::Cells(row));
    assert_eq!(bench.shows(&mean), "2, 5", "three readings at one place, two at the other");
}

#[test]
fn a_reading_in_div_means_div_times_scale() {
    let mut bench = Bench::new();
    bench.program.instruments[0].scale = Some(Literal { number: exact("0.02"), unit: Unit::MmPerM });
    bench.program.instruments[0].resolution = Some(Literal { number: exact("0.2"), unit: Unit::Div });
    let tilt = bench.reading("tilt", &[]);
    bench.program.values[tilt.0].unit = Some(Unit::Div);
    bench.enter(tilt, "2.4");
    assert_eq!(bench.shows(&named(tilt)), "0.000048", "a plain ratio: 0.048 mm/m");
    assert_eq!(bench.evaluator().as_entered(tilt).cells, [cell("2.4")], "kept as read");
    assert_eq!(bench.evaluator().resolution(tilt), Some(real("0.000004")));
}

#[test]
fn a_long_chain_of_lets_is_worked_out_from_the_ground_up() {
    let mut bench = Bench::new();
    let mut last = bench.reading("a", &[]);
    bench.enter(last, "1");
    for step in 0..20_000 {
        let next = expr(Node::Arithmetic(Arithmetic::Add, Box::new(named(last)), Box::new(number("1"))));
        last = bench.result(&format!("let{step}"), next);
    }
    assert_eq!(bench.shows(&named(last)), "20001");
}

#[test]
fn previous_falls_back_only_where_there_is_none() {
    let mut bench = Bench::new();
    let a = bench.reading("a", &[]);
    let previous =
        |otherwise: Option<Expr>| expr(Node::Previous { result: a, otherwise: otherwise.map(Box::new) });
    assert_eq!(bench.shows(&previous(None)), "not read: no earlier record says it");
    assert_eq!(bench.shows(&previous(Some(number("1.2")))), "1.2");
    bench.previous.insert(a, cell("0.8"));
    assert_eq!(bench.shows(&previous(Some(number("1.2")))), "0.8");
    // What is there and cannot be compared (its plus meant something else) is not replaced by a guess.
    bench.previous.insert(a, cell("x"));
    assert_eq!(bench.shows(&previous(Some(number("1.2")))), "not read: behind the wall");
}

#[test]
fn what_does_not_apply_is_no_element() {
    let mut bench = Bench::new();
    let part = bench.words("part", &["bed", "motor", "stand"]);
    let asked = bench.observation("asked", &[part], None);
    let only_when = condition(Node::Value(asked));
    let ohms = bench.observation("ohms", &[part], Some(only_when));
    bench.enter(asked, "yes, no, yes");
    bench.enter(ohms, "0.1, -, 0.3");
    assert_eq!(bench.shows(&named(ohms)), "0.1, not applicable, 0.3");
    assert_eq!(bench.shows(&call(Function::Mean, named(ohms), &[part], None)), "0.2");
    bench.tolerance(ohms, Over::Every, at_most("0.3"));
    assert_eq!(bench.judge().outcome, crate::walk::verdict::Outcome::Passed);
    bench.enter(asked, "no, no, no");
    let judged = bench.judge();
    assert_eq!(judged.judged[0].verdict, crate::walk::verdict::Verdict::NotApplicable);
    assert_eq!(judged.outcome, crate::walk::verdict::Outcome::Recorded);
}
