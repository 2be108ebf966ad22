//! Uncertainties as a user meets them: from the words of a procedure to u, against published examples.

use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::load;
use bedway::diagnostic::render;
use bedway::walk::event::{JudgedStep, RuleLine};
use bedway::walk::examples;

pub fn program(text: &str) -> Rc<Program> {
    let loaded = load::check("trial.bedway", text.as_bytes());
    let shown = render(&loaded.source, &loaded.problems, 80, false);
    loaded.program.unwrap_or_else(|| panic!("{shown}"))
}

/// The step A of a procedure as judged after its one example.
pub fn judged(text: &str) -> JudgedStep {
    let program = program(text);
    let (machine, problems) = examples::walk_one(&program, &program.examples[0]);
    assert!(problems.is_empty(), "{problems:?}");
    let step = machine.state().steps[0].attempts.last().unwrap();
    step.recorded.clone().unwrap()
}

pub fn rule(text: &str) -> RuleLine {
    judged(text).rules.remove(0)
}

/// One reading with u = 1 um, held against limits in um.
pub fn one_reading(decide: &str, limits: &str, value: &str) -> RuleLine {
    rule(&format!(
        "language 1\nprocedure \"One\"\ndecide {decide}\n\
         instrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
         step A \"A\"\n  read off in um using dial\n    plus \"out\"\n    minus \"in\"\n  let size \"Size\" = off\n\
         \x20   plus \"out\"\n    minus \"in\"\n  tolerance size {limits}\n\
         example \"one\"\n  enter A.off = {value}\n"
    ))
}

pub fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

pub fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted} within {within}");
}

/// JCGM 100:2008, H.1, the end gauge of 50 mm, with what its certificates say (from memory): u = 32 nm to first order, of it
/// 25 for the standard, 9.7 for the comparison, 2.9 and 16.6 for expansion and temperature, with 16.7 degrees of freedom.
/// The mean difference of temperature is read too, with u = 0.41 K: the term of second order makes 34 nm of it (H.1.7).
#[test]
fn the_end_gauge_of_the_gum() {
    let of = |mean_temperature: &str| {
        rule(&format!(
            "language 1\nprocedure \"End gauge\"\ndecide guarded U\n\
             instrument standard \"Standard\"\n  uncertainty fresh 0.075 um k 3 with 18 degrees of freedom\n\
             instrument comparator \"Comparator\"\n  uncertainty fresh 0.0058 um k 1 with 24 degrees of freedom\n\
             \x20 uncertainty zero 0.01 um k 2.57 with 5 degrees of freedom\n\
             instrument expansions \"Difference of the coefficients, um/m for each K\"\n\
             \x20 uncertainty fresh 1 um/m rectangular with 50 degrees of freedom\n\
             instrument thermometers \"Difference of temperature\"\n\
             \x20 uncertainty fresh 0.05 K rectangular with 2 degrees of freedom\n\
             instrument bed \"Temperature of the bed\"\n  uncertainty fresh 0.41 K k 1\n\
             step A \"A\"\n\
             \x20 read known in um using standard\n    unsigned\n\
             \x20 read apart in um using comparator\n    plus \"longer\"\n    minus \"shorter\"\n\
             \x20 read expands in um/m using expansions\n    plus \"more\"\n    minus \"less\"\n\
             \x20 read warmer in K using thermometers\n    plus \"warmer\"\n    minus \"colder\"\n\
             \x20 read off in K using bed\n    plus \"above 20 degC\"\n    minus \"below\"\n\
             \x20 let difference \"Difference\" = apart\n    plus \"longer\"\n    minus \"shorter\"\n\
             \x20 uncertainty set_up 0.02 um k 3 with 8 degrees of freedom on difference \"systematic\"\n\
             \x20 let length \"Length\" = known + difference - known * (expands * ({mean_temperature} / 1 K) + 11.5 um/m * (warmer / 1 K)) in um\n    unsigned\n\
             \x20 tolerance length within 1 um of 50000.8 um\n\
             example \"as published\"\n  enter A.known = 50000.623\n  enter A.apart = 0.215\n  enter A.expands = 0\n\
             \x20 enter A.warmer = 0\n  enter A.off = -0.1\n  expect A.length = 50000.838 um\n"
        ))
        .uncertainty
        .unwrap()
    };
    let own = of("-0.1 K");
    near(number(&own.u), 0.031_66, 1e-5);
    near(number(own.freedom.as_deref().unwrap()), 16.7, 0.05);
    let parts: Vec<f64> = own.budget.iter().map(|line| number(line.rsplit_once(": ").unwrap().1)).collect();
    for (found, wanted) in parts.iter().zip([0.025, 0.0166, 0.006_67, 0.0058, 0.0039, 0.0029]) {
        near(*found, wanted, 2e-5);
    }
    assert!(own.budget[0].contains("18 degrees of freedom"), "{:?}", own.budget);
    let own = of("off");
    assert!(own.method.starts_with("Monte Carlo"), "{}", own.method);
    // Draws are of Student's t where a size is known with few degrees of freedom: JCGM 101:2008, 9.5 has 36 nm.
    near(number(&own.u), 0.036, 0.001);
}

pub const GUARDED: &str = "language 1\nprocedure \"Guarded\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty zero 0.002 mm k 2\n  uncertainty fresh 0.004 mm k 2\n\
    step A \"Height\"\n  read high in mm using dial\n    times 4\n    unsigned\n\
    \x20 let average \"Mean\" = mean(high over repeat)\n  tolerance average at most 0.010 mm\n";

/// s of these is 0.004 mm, twice what `fresh` says; 4 x 4 > 11.07 x ... is seen from five readings on.
#[test]
fn more_scatter_than_the_instrument_explains_is_said() {
    let of = |readings: &str| {
        let text = GUARDED.replace("times 4", "times 6");
        rule(&format!("{text}example \"one\"\n  enter A.high = {readings}\n")).notes.join("; ")
    };
    let wild = of("0.001, 0.009, 0.001, 0.009, 0.001, 0.009");
    assert!(wild.contains("MORE than the instrument explains (0.002 mm)"), "{wild}");
    let quiet = of("0.001, 0.003, 0.001, 0.003, 0.001, 0.003");
    assert!(quiet.contains("s = 0.0011 mm, 5 degrees of freedom") && !quiet.contains("MORE"), "{quiet}");
}

/// What is stated in one unit is the same in another, and u grows with what it is multiplied by.
#[test]
fn u_is_the_same_in_every_unit() {
    let of = |unit: &str, fresh: &str, value: &str, factor: &str| {
        let text = format!(
            "language 1\nprocedure \"Units\"\ndecide guarded U\ninstrument dial \"Dial\"\n  uncertainty fresh {fresh} k 2\n\
             step A \"A\"\n  read high in {unit} using dial\n    unsigned\n  let size \"Size\" = {factor} * high in mm\n    unsigned\n\
             \x20 tolerance size at most 100 mm\nexample \"one\"\n  enter A.high = {value}\n"
        );
        rule(&text).uncertainty.unwrap().expanded
    };
    assert_eq!(of("mm", "0.254 mm", "25.4", "1"), "0.254");
    assert_eq!(of("inch", "0.01 inch", "1", "1"), "0.254");
    assert_eq!(of("inch", "0.254 mm", "1", "1"), "0.254");
    assert_eq!(of("thou", "254 um", "1000", "3"), "0.762");
}

/// A reading of 0 with u = 1 um, rounded to 2 um: 0 within one u, 2 um beyond it up to three, 4 um beyond. With the
/// probabilities of the normal distribution (tables, from memory: 68.27 %, 99.73 %) u = sqrt(4 x 0.3146 + 16 x 0.0027) um.
#[test]
fn a_reading_that_is_rounded_is_uncertain_by_its_steps() {
    let found = rule(
        "language 1\nprocedure \"One\"\ndecide guarded U\n\
         instrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
         step A \"A\"\n  read off in um using dial\n    plus \"out\"\n    minus \"in\"\n  let size \"Size\" = rounded(off, 2 um)\n\
         \x20   plus \"out\"\n    minus \"in\"\n  tolerance size within 10 um\n\
         example \"one\"\n  enter A.off = 0\n",
    );
    near(number(&found.uncertainty.as_ref().unwrap().u), libm::sqrt(4.0 * 0.3146 + 16.0 * 0.0027), 0.05);
    assert_eq!(found.verdict, "passed");
}

const BENT: &str = "language 1\nprocedure \"Bent\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty fresh 0.002 mm k 2\n\
    step A \"Form\"\n  read dial_at in mm using dial\n    over place 0 mm, 100 mm, 200 mm\n\
    \x20   plus \"high\"\n    minus \"low\"\n\
    \x20 let form \"Ordinates\" = ordinates(dial_at over place by ends)\n\
    \x20 tolerance local \"In any 100 mm\" form at most LIMIT in any 100 mm by spread\n\
    example \"one\"\n  enter A.dial_at = 0, 0.010, 0\n";

/// The worst window reaches from an end to the middle: its spread is the middle ordinate, 0.010 mm with
/// U = 2 x 0.001 sqrt(1 + 1/4 + 1/4) = 0.00245 mm, here from draws.
#[test]
fn a_window_is_judged_with_its_own_uncertainty() {
    let of = |limit: &str| rule(&BENT.replace("LIMIT", limit));
    let own = of("0.013 mm").uncertainty.unwrap();
    near(number(&own.expanded), 0.002_449, 0.0001);
    // Blocks of ten thousand, two at least (JCGM 101:2008, 7.9.4).
    let trials = own.method.strip_prefix("Monte Carlo (JCGM 101:2008), seed 101, ").expect(&own.method);
    let trials: usize = trials.split(' ').next().unwrap().parse().unwrap();
    assert!(trials >= 20_000 && trials.is_multiple_of(10_000), "{}", own.method);
    assert_eq!(of("0.013 mm").verdict, "passed");
    assert_eq!(of("0.012 mm").verdict, "undecided");
    assert_eq!(of("0.008 mm").verdict, "undecided");
    assert_eq!(of("0.007 mm").verdict, "failed");
}

/// What is allowed was measured too, with u = 0.004 mm: the distance to it has u = 0.001 sqrt(1.5 + 16) = 0.00418 mm.
#[test]
fn a_window_against_a_limit_that_was_measured_counts_both() {
    let text = BENT.replace("LIMIT", "allowed").replace(
        "step A \"Form\"\n",
        "instrument coarse \"Coarse\"\n  uncertainty fresh 0.008 mm k 2\n\
         step A \"Form\"\n  read allowed in mm using coarse\n    unsigned\n",
    );
    let own = rule(&format!("{text}  enter A.allowed = 0.030\n").replace(
        "  enter A.dial_at = 0, 0.010, 0\n  enter A.allowed = 0.030\n",
        "  enter A.allowed = 0.030\n  enter A.dial_at = 0, 0.010, 0\n",
    ));
    near(number(&own.uncertainty.unwrap().expanded), 0.008_367, 0.000_2);
    assert_eq!(own.verdict, "passed");
}

/// JCGM 100:2008, G.2b: s = 2 um of four readings and a zero of u = 1 um, both 1 um in the mean; 2^2/(1^2/3) = 12 degrees of
/// freedom. The readings -1, 1, ... have s^2 = 4/3 for a = 1, so a = sqrt 3 um gives 2.
#[test]
fn degrees_of_freedom_of_repeats_beside_what_is_stated() {
    let text = "language 1\nprocedure \"Repeats\"\ndecide guarded U\n\
        instrument dial \"Dial\"\n  uncertainty zero 2 um k 2\n\
        step A \"A\"\n  read high in um using dial\n    times 4\n    unsigned\n\
        \x20 let average \"Mean\" = mean(high over repeat)\n  tolerance average at most 100 um\n\
        example \"four\"\n  enter A.high = ROW\n";
    let own = rule(&text.replace("ROW", "10, 13.4641016151, 10, 13.4641016151"));
    let own = own.uncertainty.unwrap();
    near(number(&own.u), 2f64.sqrt(), 1e-5);
    near(number(own.freedom.as_deref().unwrap()), 12.0, 1e-3);
    let two = rule(&text.replace("times 4", "times 2").replace("ROW", "10, 12"));
    assert!(two.notes.join("; ").contains("high was read 2 times"), "{:?}", two.notes);
}

/// JCGM 100:2008, H.3, with u = 1 um of each reading: at the end of four equal places the line has
/// u = sqrt(1/4 + 150^2/50 000) um. Readings that lie on a line by chance do not prove that they have no scatter.
#[test]
fn a_fitted_line_is_known_as_well_as_its_readings() {
    let of = |value: &str, limit: &str| {
        rule(&format!(
            "language 1\nprocedure \"Line\"\ndecide guarded U\n\
             instrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read high in um using dial\n    over place 0 mm to 300 mm by 100 mm\n\
             \x20   plus \"high\"\n    minus \"low\"\n  let found \"Found\" = {value}\n  tolerance found {limit}\n\
             example \"one\"\n  enter A.high = 0, 1, 2, 3\n"
        ))
    };
    let end = of("line_at(high over place, 300 mm)", "within 10 um").uncertainty.unwrap();
    near(number(&end.expanded), 2.0 * 0.7f64.sqrt(), 1e-4);
    for scatter in ["line_scatter(high over place)", "line_uncertainty(high over place, 300 mm)"] {
        let own = of(scatter, "at most 100 um").uncertainty.unwrap();
        assert!(number(&own.expanded) > 0.1, "{scatter}: {}", own.expanded);
    }
}
