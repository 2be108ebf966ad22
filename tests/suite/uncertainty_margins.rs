//! Limits that were measured too: it is the distance to them that is uncertain, whatever the rule takes of the value.

use bedway::walk::event::RuleLine;

use crate::uncertainty::{near, number, rule};

/// A fine dial with u = 0.001 mm, a coarse one with u = 0.004 mm that reads what is allowed.
const TWO_DIALS: &str = "language 1\nprocedure \"Margins\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty fresh 0.002 mm k 2\n\
    instrument coarse \"Coarse\"\n  uncertainty fresh 0.008 mm k 2\n\
    step A \"Form\"\n  read allowed in mm using coarse\n    unsigned\n";

fn expanded(rule: &RuleLine) -> f64 {
    number(&rule.uncertainty.as_ref().unwrap().expanded)
}

/// Nine heights that rise to a corner. Its field of 100 mm by 100 mm is the worst: 0.060 - 0.020 = 0.040 mm of two readings.
fn area(limit: &str, allowed: &str) -> RuleLine {
    rule(&format!(
        "{TWO_DIALS}\
         \x20 read high in mm using dial\n    over along 0 mm to 200 mm by 100 mm\n\
         \x20   over across 0 mm to 200 mm by 100 mm\n    plus \"high\"\n    minus \"low\"\n\
         \x20 tolerance local \"In any field\" high at most {limit} in any 100 mm by 100 mm by spread\n\
         example \"one\"\n  enter A.allowed = {allowed}\n\
         \x20 enter A.high = 0, 0.010, 0.020; 0.010, 0.020, 0.030; 0.020, 0.030, 0.060\n"
    ))
}

/// By hand: U = 2 x 0.001 x sqrt 2 = 0.00283 mm, with the limit 2 x sqrt(0.001^2 + 0.001^2 + 0.004^2) = 0.00849 mm.
#[test]
fn an_area_against_a_limit_that_was_measured() {
    let exact = area("0.043 mm", "0.050");
    near(expanded(&exact), 0.002_828, 0.000_05);
    assert_eq!(exact.verdict, "passed");
    let own = area("allowed", "0.050");
    near(expanded(&own), 0.008_485, 0.000_15);
    assert_eq!(own.verdict, "passed");
    assert_eq!(area("allowed", "0.047").verdict, "undecided");
}

/// A spindle that rises by 0.4 K in the last half hour, each reading with u = 0.05 K, and what is allowed with u = 0.2 K.
fn steady(limit: &str, allowed: &str) -> RuleLine {
    rule(&format!(
        "language 1\nprocedure \"Steady\"\ndecide guarded U\n\
         instrument probe \"Probe\"\n  uncertainty fresh 0.1 K k 2\n\
         instrument other \"Other\"\n  uncertainty fresh 0.4 K k 2\n\
         step A \"Warm\"\n  read allowed in K using other\n    unsigned\n\
         \x20 read temp in degC using probe\n    every 30 min for at most 60 min\n\
         \x20 tolerance temp steady within {limit} for 30 min\n\
         example \"one\"\n  enter A.allowed = {allowed}\n  enter A.temp at 0 min = 30.0\n\
         \x20 enter A.temp at 30 min = 34.0\n  enter A.temp at 60 min = 34.4\n"
    ))
}

/// By hand: U = 2 x 0.05 x sqrt 2 = 0.141 K, with the limit 2 x sqrt(2 x 0.05^2 + 0.2^2) = 0.424 K.
#[test]
fn steadiness_against_a_limit_that_was_measured() {
    let exact = steady("0.5 K", "1");
    near(expanded(&exact), 0.141_4, 0.003);
    assert_eq!(exact.verdict, "undecided");
    let own = steady("allowed", "1.0");
    near(expanded(&own), 0.424_3, 0.008);
    assert_eq!(own.verdict, "passed");
    assert_eq!(steady("allowed", "0.8").verdict, "undecided");
}
