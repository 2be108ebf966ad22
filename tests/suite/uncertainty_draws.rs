//! Results that bend or curve where they are read have the uncertainty of the known distribution, not that of a slope that
//! is not there.

use bedway::walk::event::UncertaintyLine;

use crate::uncertainty::{near, number, rule};

/// A result of readings with u = 1 um each, all under one rule.
fn guarded(read: &str, result: &str, entered: &str, decide: &str) -> Option<UncertaintyLine> {
    rule(&format!(
        "language 1\nprocedure \"Draws\"\ndecide {decide}\ninstrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
         step A \"A\"\n{read}  let found \"Found\" = {result} in um\n    unsigned\n  tolerance found at most 1000 um\n\
         example \"one\"\n{entered}"
    ))
    .uncertainty
}

fn of(read: &str, result: &str, entered: &str) -> UncertaintyLine {
    guarded(read, result, entered, "guarded U").unwrap()
}

fn repeats(n: usize, row: &str) -> (String, String) {
    (
        format!("  read off in um using dial\n    times {n}\n    plus \"out\"\n    minus \"in\"\n"),
        format!("  enter A.off = {row}\n"),
    )
}

fn one_each(names: &[&str], values: &str) -> (String, String) {
    let read = names.iter().map(|name| {
        format!("  read {name} in um using dial\n    plus \"{name} out\"\n    minus \"{name} in\"\n")
    });
    let values = values.split(' ').zip(names).map(|(value, name)| format!("  enter A.{name} = {value}\n"));
    (read.collect(), values.collect())
}

/// s of n normal readings has the mean c4 u and the standard deviation u sqrt(1 - c4^2). c4 of the tables for control
/// charts (from memory): 0.7979, 0.9400, 0.9727 for 2, 5 and 10.
#[test]
fn readings_that_are_all_alike_do_not_have_a_standard_deviation_without_doubt() {
    for (n, c4) in [(2, 0.7979f64), (5, 0.9400), (10, 0.9727)] {
        let (read, entered) = repeats(n, &vec!["3"; n].join(", "));
        let own = of(&read, "stdev(off over repeat)", &entered);
        near(number(&own.u) / (1.0 - c4 * c4).sqrt(), 1.0, 0.015);
        assert!(own.method.starts_with("Monte Carlo"), "{}", own.method);
    }
}

/// Where the scatter is wide against u, s has slopes: of n readings u / sqrt(n - 1), whatever they are.
#[test]
fn far_from_the_bend_sensitivities_tell_it() {
    let (read, entered) = repeats(5, "0, 400, 100, -300, 200");
    let own = of(&read, "stdev(off over repeat)", &entered);
    near(number(&own.u), 0.5, 1e-6);
    assert!(own.method.starts_with("law of propagation"), "{}", own.method);
}

/// The size of two normal numbers is Rayleigh's, of three Maxwell's, of one the half of a normal: their standard deviations
/// are sqrt(2 - pi/2), sqrt(3 - 8/pi) and sqrt(1 - 2/pi) (closed forms of the chi distribution).
#[test]
fn sizes_of_nothing_are_spread_as_chi_is() {
    use std::f64::consts::PI;
    let names = ["a", "b", "c"];
    for (result, wanted) in [
        ("sqrt(a ^ 2)", 1.0 - 2.0 / PI),
        ("abs(a)", 1.0 - 2.0 / PI),
        ("root_sum_squares(a, b)", 2.0 - PI / 2.0),
        ("sqrt(a * a + b * b)", 2.0 - PI / 2.0),
        ("root_sum_squares(a, b, c)", 3.0 - 8.0 / PI),
    ] {
        let (read, entered) = one_each(&names, "0 0 0");
        let own = of(&read, result, &entered);
        near(number(&own.u) / wanted.sqrt(), 1.0, 0.015);
    }
}

/// The product of two independent numbers about zero has u = u_a u_b; its slopes are both zero there.
#[test]
fn a_product_of_two_that_are_nothing_is_not_known_for_sure() {
    let (read, entered) = one_each(&["a", "b"], "0 0");
    let own = of(&read, "a * b / 1 um", &entered);
    near(number(&own.u), 1.0, 0.015);
    let (read, entered) = one_each(&["a", "b"], "100 100");
    let own = of(&read, "a * b / 1 um", &entered);
    near(number(&own.u), 100.0 * 2f64.sqrt(), 1e-3);
    assert!(own.method.starts_with("law of propagation"), "{}", own.method);
}

/// JCGM 101:2008, 9.4, the loss of a comparison x1^2 + x2^2 at x2 = 0 with u = 0.005 of each: at x1 = 0, 0.010 and 0.050 u is
/// 50, 112 and 502 in 10^-6, by sensitivities 0, 100 and 500 (tables 6 to 8, from memory).
#[test]
fn the_loss_of_a_comparison() {
    let of = |x1: &str| {
        rule(&format!(
            "language 1\nprocedure \"Loss\"\ndecide guarded U\ninstrument bridge \"Bridge\"\n  uncertainty fresh 0.5 % k 1\n\
             step A \"A\"\n  read x1 in % using bridge\n  read x2 in % using bridge\n\
             \x20 let loss \"Comparison loss\" = x1 ^ 2 + x2 ^ 2 in 1\n  tolerance loss at most 0.1\n\
             example \"one\"\n  enter A.x1 = {x1}\n  enter A.x2 = 0\n"
        ))
        .uncertainty
        .unwrap()
    };
    for (x1, u, by_slopes) in [("0", 50e-6, "0"), ("1", 111.8e-6, "0.0001"), ("5", 502.5e-6, "0.0005")] {
        let own = of(x1);
        near(number(&own.u) / u, 1.0, 0.015);
        assert!(own.method.ends_with(&format!("u = {by_slopes}")), "{}", own.method);
    }
}

/// Beside a value that nothing hangs on no draws are made, and no U is better than one that is not so.
#[test]
fn where_slopes_do_not_tell_it_the_simple_rule_shows_nothing() {
    let (read, entered) = repeats(5, "3, 3, 3, 3, 4");
    let shown = |row: &str| {
        let (read, entered) = repeats(5, row);
        guarded(&read, "stdev(off over repeat)", &entered, "simple")
    };
    assert_eq!(guarded(&read, "stdev(off over repeat)", &entered, "simple"), None);
    assert!(shown("0, 400, 100, -300, 200").is_some());
}

/// JCGM 101:2008, 9.2.3, the sum of four that are even over their width, each with u = 1: u = 2 (from memory). The second sum
/// is far off and only makes draws needed.
#[test]
fn a_sum_of_four_that_are_known_by_their_limits() {
    let read =
        ["a", "b", "c", "d"].map(|name| format!("  read {name} in um using dial\n    unsigned\n")).concat();
    let text = format!(
        "language 1\nprocedure \"Sum\"\ndecide guarded U\n\
         instrument dial \"Dial\"\n  uncertainty fresh 1.7320508 um rectangular\n\
         step A \"A\"\n{read}  let found \"Found\" = greatest(a + b + c + d, 1 um)\n    unsigned\n  tolerance found at most 100 um\n\
         example \"one\"\n  enter A.a = 10\n  enter A.b = 10\n  enter A.c = 10\n  enter A.d = 10\n"
    );
    let own = rule(&text).uncertainty.unwrap();
    near(number(&own.u), 2.0, 0.02);
    assert!(own.method.starts_with("Monte Carlo"), "{}", own.method);
}

/// JCGM 101:2008, 6.4.9.7 (from memory): what a certificate states with v degrees of freedom is drawn as Student's t, whose
/// standard deviation is u sqrt(v / (v - 2)); readings of one instrument share the one estimate, in a file as at hand.
#[test]
fn what_is_stated_with_few_degrees_of_freedom_is_drawn_wider() {
    let of = |source: &str, using: &str, found: &str| {
        rule(&format!(
            "language 1\nprocedure \"Few\"\ndecide guarded U\n\
             instrument dial \"Dial\"\n  uncertainty {source}\n\
             step A \"A\"\n  read a in um using dial\n    unsigned\n  let found \"Found\" = {found}\n    unsigned\n\
             \x20 tolerance found at most 100 um\nexample \"one\"\n{using}  enter A.a = 10\n"
        ))
        .uncertainty
        .unwrap()
    };
    for source in ["zero", "fresh"] {
        let stated = format!("{source} 2 um k 2 with 5 degrees of freedom");
        let linear = of(&stated, "", "half(a)");
        assert_eq!((linear.u.as_str(), linear.freedom.as_deref()), ("0.5", Some("5")));
        near(number(&of(&stated, "", "greatest(a, 1 um)").u), (5.0f64 / 3.0).sqrt(), 0.03);
        let at_hand = of(&format!("{source} 4 um k 2"), &format!("  using dial {stated}\n"), "half(a)");
        assert_eq!((at_hand.u.as_str(), at_hand.freedom.as_deref()), ("0.5", Some("5")));
        // Limits are limits: only how well they are known has degrees of freedom.
        let even = format!("{source} 1.7320508 um rectangular with 5 degrees of freedom");
        near(number(&of(&even, "", "greatest(a, 1 um)").u), 1.0, 0.015);
    }
}

/// Eight readings that are all alike: sensitivities see two of them and give sqrt 2, draws see all.
#[test]
fn draws_and_sensitivities_that_differ_are_told() {
    let rule = rule(
        "language 1\nprocedure \"Range\"\ndecide guarded U\n\
         instrument dial \"Dial\"\n  uncertainty fresh 0.002 mm k 2\n\
         step A \"A\"\n  read high in mm using dial\n    over turn 0 deg to 315 deg by 45 deg\n\
         \x20   plus \"high\"\n    minus \"low\"\n\
         \x20 let tir \"TIR\" = runout(high over turn)\n  tolerance tir at most 0.010 mm\n\
         example \"one\"\n  enter A.high = 0, 0, 0, 0, 0, 0, 0, 0\n",
    );
    assert!(rule.notes.iter().any(|note| note.contains("the draws count")), "{:?}", rule.notes);
}

/// A bed and a turn read at more than a thousand places, all with u = 1 um, in as little time as anything else here. The bed
/// rises by 10 um a station to its middle and falls again: from its ends it is straight to that one reading less the mean of the
/// first and the last, so u = sqrt(1 + 1/4 + 1/4), of three readings. Of the turn one reading stands far out and one far in, and the circle
/// follows each by three in 1,200 at most: u is sqrt 2, less half a hundredth.
#[test]
fn a_thousand_readings_that_bend_are_guarded_like_ten() {
    let of = |over: &str, found: &str, count: i64, value: &dyn Fn(i64) -> i64| {
        let values: Vec<String> = (0..count).map(|at| value(at).to_string()).collect();
        rule(&format!(
            "language 1\nprocedure \"Many\"\ndecide guarded U\ninstrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read off in um using dial\n    over {over}\n    plus \"out\"\n    minus \"in\"\n\
             \x20 let found \"Found\" = {found} in um\n    unsigned\n  tolerance found at most 20000 um\n\
             example \"one\"\n  enter A.off = {}\n",
            values.join(", ")
        ))
    };
    let bed = of("place 0 mm to 14000 mm by 10 mm", "straightness(off over place by ends)", 1401, &|at| {
        10 * at.min(1400 - at)
    });
    let turn =
        of("turn 0 deg to 359.7 deg by 0.3 deg", "roundness(off over turn by least_squares)", 1200, &|at| {
            match at {
                100 => 5000,
                700 => -5000,
                _ => 0,
            }
        });
    let budget = &bed.uncertainty.as_ref().unwrap().budget;
    assert!(budget[0].contains("off, 3 times"), "{budget:?}");
    for (found, u) in [(&bed, 1.5f64.sqrt()), (&turn, 2f64.sqrt())] {
        let own = found.uncertainty.as_ref().unwrap();
        assert_eq!(found.verdict, "passed");
        assert!(own.method.starts_with("Monte Carlo"), "{}", own.method);
        near(number(&own.u) / u, 1.0, 0.08);
        let by_slopes = own.method.rsplit("u = ").next().unwrap();
        near(number(by_slopes) / u, 1.0, 0.006);
    }
}
