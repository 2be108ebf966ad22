//! Uncertainty and decisions as a user meets them: from the words of a procedure to the verdict, the record and the report,
//! against published rules and examples.

use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::load;
use bedway::diagnostic::render;
use bedway::record::{Line, MemoryStore};
use bedway::report::{Labels, Predictions, Proof, build, render as render_report};
use bedway::walk::event::{Event, JudgedStep, RuleLine};
use bedway::walk::{examples, replay};

use crate::walking::{lines, walk};

fn program(text: &str) -> Rc<Program> {
    let loaded = load::check("trial.bedway", text.as_bytes());
    let shown = render(&loaded.source, &loaded.problems, 80, false);
    loaded.program.unwrap_or_else(|| panic!("{shown}"))
}

/// The step A of a procedure as judged after its one example.
fn judged(text: &str) -> JudgedStep {
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
fn one_reading(decide: &str, limits: &str, value: &str) -> RuleLine {
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

/// ISO 14253-1, symmetric tolerance 10 um, u = 1 um: by U = 2u (1998) and by 95 % (2017). By definition of the rules, from
/// memory. At 11.65 um the probability of nonconformity is 95.05 %, which the rounded factor 1.65 leaves open.
#[test]
fn the_two_rules_of_iso_14253_1() {
    for (value, by_u, by_probability) in [
        ("0", "passed", "passed"),
        ("5", "passed", "passed"),
        ("8", "passed", "passed"),
        ("8.35", "undecided", "passed"),
        ("8.4", "undecided", "undecided"),
        ("10", "undecided", "undecided"),
        ("11.6", "undecided", "undecided"),
        ("11.65", "undecided", "failed"),
        ("11.7", "undecided", "failed"),
        ("12", "undecided", "failed"),
        ("12.1", "failed", "failed"),
        ("-8.3", "undecided", "passed"),
        ("-12", "undecided", "failed"),
    ] {
        assert_eq!(one_reading("guarded U", "within 10 um", value).verdict, by_u, "{value}");
        assert_eq!(one_reading("guarded 95 %", "within 10 um", value).verdict, by_probability, "{value}");
    }
}

/// ILAC-G8:09/2019, table 1 (from memory): the risk of a false accept at the edge of a guard band of r u is below 1e-6,
/// 0.0016, 0.025, 0.05 and 0.50 for r = 6, 3, 2, 1.65 and 0.
#[test]
fn the_specific_risk_at_the_edge_of_each_guard_band() {
    for (value, least, most) in [
        ("4", 0.0, 1e-6),
        ("7", 0.001_349, 0.0016),
        ("8", 0.022_75, 0.025),
        ("8.35", 0.049_47, 0.05),
        ("10", 0.5, 0.5),
    ] {
        let own = one_reading("guarded U", "within 10 um", value).uncertainty.unwrap();
        let risk = 1.0 - number(&own.conformity);
        assert!(risk > least - 1e-5 && risk <= most + 1e-12, "{value}: {risk}");
    }
}

/// JCGM 106:2012, a breakdown voltage of -5.47 V with u = 0.05 V, which must be at most -5.40 V: 0.92 (from memory).
#[test]
fn the_breakdown_voltage_of_a_diode() {
    let text = "language 1\nprocedure \"Diode\"\ndecide guarded 90 %\n\
        instrument meter \"Meter\"\n  uncertainty fresh 0.10 V k 2\n\
        step A \"A\"\n  read volts in V using meter\n  tolerance volts at most -5.40 V\n\
        example \"diode\"\n  enter A.volts = -5.47\n";
    let rule = rule(text);
    assert_eq!(rule.verdict, "passed");
    near(number(&rule.uncertainty.unwrap().conformity), 0.919_243, 1e-6);
    assert_eq!(self::rule(&text.replace("90 %", "95 %")).verdict, "undecided");
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

const GUARDED: &str = "language 1\nprocedure \"Guarded\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty zero 0.002 mm k 2\n  uncertainty fresh 0.004 mm k 2\n\
    step A \"Height\"\n  read high in mm using dial\n    times 4\n    unsigned\n\
    \x20 let average \"Mean\" = mean(high over repeat)\n  tolerance average at most 0.010 mm\n";

/// Four readings and nothing stated: u = s/2 with 3 degrees of freedom, and the table of t (JCGM 100:2008, table G.2, from
/// memory) wants 2.353 u for 95 % on one side, not the 1.645 u of a normal distribution. Readings -1, 1, -1, 1 um have
/// s^2 = 4/3, so u = 0.57735 um: 2.353 u is 1.3585 um.
#[test]
fn few_repeats_prove_less_than_many() {
    let four = |decide: &str, limit: &str| {
        rule(&format!(
            "language 1\nprocedure \"Four\"\ndecide {decide}\ninstrument dial \"Dial\"\n  resolution 0.0001 um\n\
             step A \"A\"\n  read off in um using dial\n    times 4\n    plus \"out\"\n    minus \"in\"\n\
             \x20 let size \"Size\" = mean(off over repeat)\n  tolerance size from -1000 um to {limit} um\n\
             example \"four\"\n  enter A.off = -1, 1, -1, 1\n"
        ))
    };
    assert_eq!(four("guarded 95 %", "1.365").verdict, "passed");
    assert_eq!(four("guarded 95 %", "1.355").verdict, "undecided", "a normal distribution has 99 % there");
    let at_the_edge = four("guarded 95 %", "1.3585").uncertainty.unwrap();
    near(number(&at_the_edge.conformity), 0.95, 1e-4);
    near(number(at_the_edge.freedom.as_deref().unwrap()), 3.0, 1e-3);
    // By U = 2u the degrees of freedom are named and no more.
    assert_eq!(four("guarded U", "1.155").verdict, "passed");
}

/// Nothing stated is not nothing uncertain: no U, no probability. Where all that is stated drops out, that is said.
#[test]
fn where_nothing_is_known_of_it_no_uncertainty_is_claimed() {
    let one = |decide: &str, with: &str, value: &str| {
        rule(&format!(
            "language 1\nprocedure \"None\"\ndecide {decide}\ninstrument dial \"Dial\"\n  uncertainty zero 2 um k 2\n\
             step A \"A\"\n  read off in um{with}\n    over place one, two\n    plus \"out\"\n    minus \"in\"\n\
             \x20 let size \"Size\" = {value}\n    plus \"out\"\n    minus \"in\"\n  tolerance size within 10 um\n\
             example \"one\"\n  enter A.off = 5, 2\n"
        ))
    };
    let unstated = one("simple", "", "off[one]");
    assert_eq!((unstated.verdict.as_str(), unstated.uncertainty.is_none()), ("passed", true));
    let cancels = one("guarded U", " using dial", "off[one] - off[two]");
    assert_eq!((cancels.verdict.as_str(), cancels.uncertainty.is_none()), ("passed", true));
    assert!(
        cancels.notes.iter().any(|note| note.contains("the value alone is judged")),
        "{:?}",
        cancels.notes
    );
    let stated = one("simple", " using dial", "off[one]");
    near(number(&stated.uncertainty.unwrap().expanded), 2.0, 1e-9);
}

/// `above` leaves the end of the guard band out: U as it is does not decide it, so the advice asks for less than that.
#[test]
fn advice_at_a_limit_that_is_left_out_asks_for_less_than_there_is() {
    let edge = one_reading("guarded U", "above 10 um", "12");
    assert_eq!(edge.verdict, "undecided");
    assert!(
        edge.notes.iter().any(|note| note.contains("the mean of 2 such measurements")),
        "{:?}",
        edge.notes
    );
}

/// The mean of four has u = sqrt(0.001^2 + 0.002^2/4) = 0.001414 mm, so U = 0.00283 mm. At 0.0075 mm it lies 0.0025 mm
/// inside: (0.00125^2 - 0.001^2) wants the mean of 1.78 times as many, so twice the measurement.
#[test]
fn what_is_undecided_says_how_often_to_repeat_or_what_instrument_to_take() {
    let of = |readings: &str| {
        rule(&format!("{GUARDED}example \"one\"\n  enter A.high = {readings}\n")).notes.join("; ")
    };
    let twice = of("0.0075, 0.0075, 0.0075, 0.0075");
    assert!(twice.contains("U = 0.0028 mm leaves it open"), "{twice}");
    assert!(twice.contains("the mean of 2 such measurements would decide it"), "{twice}");
    // 0.0015 mm inside: the zero error alone is more than that allows.
    let finer = of("0.0085, 0.0085, 0.0085, 0.0085");
    assert!(finer.contains("an instrument with U of at most 0.0015 mm would decide it"), "{finer}");
    let never = of("0.010, 0.010, 0.010, 0.010");
    assert!(never.contains("it lies on the limit"), "{never}");
}

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

/// u = 1 um, so U = 2 um is too much at 1.5 um from whichever limit.
#[test]
fn what_would_decide_it_is_said_at_every_limit() {
    let unsigned = |limits: &str, value: &str| {
        rule(&format!(
            "language 1\nprocedure \"One\"\ndecide guarded U\ninstrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read size in um using dial\n    unsigned\n  tolerance size {limits}\n\
             example \"one\"\n  enter A.size = {value}\n"
        ))
    };
    let signed = |limits: &str, value: &str| one_reading("guarded U", limits, value);
    for (often, hardly) in [
        (signed("within 10 um", "8.5"), signed("within 10 um", "9.9")),
        (signed("within 10 um", "-8.5"), signed("within 10 um", "-9.9")),
        (unsigned("at most 10 um", "8.5"), unsigned("at most 10 um", "10.1")),
        (unsigned("at least 10 um", "11.5"), unsigned("at least 10 um", "9.9")),
    ] {
        assert_eq!((&*often.verdict, &*hardly.verdict), ("undecided", "undecided"));
        let said = often.notes.join("; ");
        assert!(said.contains("the mean of 2 such measurements would decide it"), "{said}");
        let said = hardly.notes.join("; ");
        assert!(said.contains("an instrument with U of at most 0.1 um would decide it"), "{said}");
    }
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

const WALKED: &str = "language 1\nprocedure \"Walked\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty fresh 0.002 mm k 2\n\
    step A \"Height\"\n  read high in mm using dial\n    unsigned\n  tolerance high at most 0.010 mm\n";

fn walked(answers: &str) -> (Rc<Program>, Vec<Line>, String) {
    let loaded = load::check("walked.bedway", WALKED.as_bytes());
    let store = MemoryStore::default();
    let screen = walk(&loaded, store.clone(), answers).screen;
    (loaded.program.unwrap(), lines(&store), screen)
}

#[test]
fn undecided_is_never_accepted_and_says_why_on_screen_and_record() {
    let (_, lines, screen) = walked("Ann Example\nDI-07\n0.009\n\nshow\nsign\n");
    assert!(screen.contains("A UNDECIDED"), "{screen}");
    assert!(
        screen.contains("dial, each reading, high: 0.001 mm"),
        "the budget is shown on request: {screen}"
    );
    let verdict = lines.iter().find_map(|line| match &line.event {
        Event::Closed { verdict, .. } => Some(verdict.as_str()),
        _ => None,
    });
    assert_eq!(verdict, Some("not accepted"));
    let judged = lines.iter().find_map(|line| match &line.event {
        Event::Judged(judged) => judged.rules.first(),
        _ => None,
    });
    let own = judged.and_then(|rule| rule.uncertainty.as_ref()).unwrap();
    assert_eq!(own.rule, "guarded U (ISO 14253-1:1998)");
    assert_eq!((own.u.as_str(), own.k.as_str(), own.expanded.as_str()), ("0.001", "2", "0.002"));
    assert_eq!(own.budget, ["dial, each reading, high: 0.001"]);
}

/// A figure changed by hand does not follow from the entries, however small the change.
#[test]
fn an_uncertainty_that_was_changed_on_the_record_is_found() {
    let (program, mut lines, _) = walked("Ann Example\nDI-07\n0.007\nsign\n");
    let verify = |lines: &[Line]| {
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        replay::verify(Rc::clone(&program), events).map(|_| ()).map_err(|mismatch| mismatch.to_string())
    };
    assert_eq!(verify(&lines), Ok(()));
    for line in &mut lines {
        if let Event::Judged(judged) = &mut line.event {
            judged.rules[0].uncertainty.as_mut().unwrap().u = "0.00100001".to_owned();
        }
    }
    let told = verify(&lines).unwrap_err();
    assert!(
        told.contains(
            "found A try 1: high, its u, is 0.00100001 mm, expected A try 1: high, its u, is 0.001 mm"
        ),
        "{told}"
    );
}

/// A later version may say its advice and remarks better; a record of today stays good, and what differs is named.
#[test]
fn other_words_beside_the_same_figures_are_told_and_are_no_fault() {
    let (program, mut lines, _) = walked("Ann Example\nDI-07\n0.009\nsign\n");
    let mut reworded = None;
    for (at, line) in lines.iter_mut().enumerate() {
        if let Event::Judged(judged) = &mut line.event {
            assert!(!judged.rules[0].notes.is_empty(), "undecided is said with what would decide it");
            judged.rules[0].notes[0].push_str(", as it was said of old");
            reworded = Some(at);
        }
    }
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    let verified = replay::verify(Rc::clone(&program), events).unwrap();
    assert_eq!(verified.otherwise, [reworded.unwrap()]);
    // A verdict is no wording.
    for line in &mut lines {
        if let Event::Judged(judged) = &mut line.event {
            judged.rules[0].verdict = "passed".to_owned();
        }
    }
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    assert!(replay::verify(program, events).is_err());
}

/// The codes of all that `check` finds.
fn codes(text: &str) -> Vec<&'static str> {
    load::check("faulty.bedway", text.as_bytes()).problems.iter().map(|problem| problem.code.name()).collect()
}

#[test]
fn what_cannot_be_an_uncertainty_or_a_rule_is_said_before_the_walk() {
    let example = "example \"one\"\n  enter A.high = 0.001\n";
    let of = |from: &str, to: &str| {
        let text = format!("{WALKED}{example}");
        assert!(text.contains(from), "{from}");
        codes(&text.replace(from, to))
    };
    assert_eq!(of("guarded U", "guarded U"), [""; 0]);
    assert_eq!(of("guarded U", "guarded 50 %"), [""; 0]);
    for wrong in ["guarded 49 %", "guarded 100 %", "guarded 95 mm"] {
        assert_eq!(of("guarded U", wrong), ["unit::number"], "{wrong}");
    }
    assert_eq!(of("fresh 0.002 mm", "fresh 0.002 K"), ["unit::mismatch"]);
    assert_eq!(of("fresh 0.002 mm", "scale 0.002 mm"), ["unit::mismatch"]);
    assert_eq!(of("fresh 0.002 mm", "fresh 0 mm"), ["unit::number"]);
    assert_eq!(of("k 2", "k 0"), ["unit::number"]);
    assert_eq!(of("k 2", "k 2 with 18 degrees of freedom"), [""; 0]);
    assert_eq!(of("k 2", "k 2 with 0 degrees of freedom"), ["unit::number"]);
    assert_eq!(of("  enter", "  using dial fresh 0.3 K k 2\n  enter"), ["unit::mismatch"]);
    assert_eq!(of("  enter", "  using dial resolution 0 mm\n  enter"), ["unit::number"]);
    assert_eq!(
        of("  tolerance", "  uncertainty set_up 1 K k 2 on high \"seating\"\n  tolerance"),
        ["unit::mismatch"]
    );
}

/// A band of 2 U has one point in it that passes; a narrower one has none, and `check` says so with the figures.
#[test]
fn a_limit_that_the_instruments_cannot_decide_is_warned_of_with_the_figures() {
    let of = |limit: &str, decide: &str| {
        let text = WALKED.replace("high at most 0.010 mm", limit).replace("guarded U", decide);
        let loaded = load::check("narrow.bedway", text.as_bytes());
        loaded.problems.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(of("high within 0.002 mm of 5 mm", "guarded U"), "");
    let narrow = of("high within 0.0019 mm of 5 mm", "guarded U");
    assert!(narrow.contains("U is 0.002 mm, and the limit leaves 0.0019 mm either side"), "{narrow}");
    assert_eq!(of("high at most 0.002 mm", "guarded U"), "");
    assert!(of("high at most 0.0019 mm", "guarded U").contains("the limit leaves at most 0.0019 mm"));
    assert!(of("high at most 0.0019 mm", "simple").contains("the limit leaves at most 0.0019 mm"));
    // 1.645 u = 0.00164 mm is all that 95 % wants of one limit.
    assert_eq!(of("high at most 0.0019 mm", "guarded 95 %"), "");
    // What may be as small as it likes can always pass.
    assert_eq!(of("high at least 0.0001 mm", "guarded U"), "");
}

/// Before the walk readings are made up, and differ by next to nothing: which way a bar is high cannot be told of them, and
/// a result may stand where it bends. Neither is a fault of the instruments.
#[test]
fn what_only_made_up_readings_hide_is_not_warned_of() {
    let of = |value: &str, limit: &str| {
        codes(&format!(
            "language 1\nprocedure \"Made up\"\ndecide guarded U\ninstrument dial \"Dial\"\n  uncertainty fresh 1 um k 2\n\
             section s \"S\"\nstep A \"A\"\n  read off in mm using dial\n    over turn 0 deg to 315 deg by 45 deg\n\
             \x20   plus \"out\"\n    minus \"in\"\n  let it \"It\" = {value}\n    unsigned\n  tolerance it {limit}\n"
        ))
    };
    assert_eq!(of("high_at(eccentricity(off over turn))", "at most 360 deg"), [""; 0]);
    assert_eq!(of("height_effect(30 mm, off[turn 0 deg])", "at most 1 mm"), [""; 0]);
    // What does cancel is told as ever.
    assert_eq!(of("abs(off[turn 0 deg] - off[turn 0 deg])", "at most 1 mm"), ["rule::cancels"]);
}

/// The report has U beside each value, the rule with its edition and risk, and what u is made of when it is asked for.
#[test]
fn the_report_says_how_well_a_value_is_known() {
    let (program, lines, _) = walked("Ann Example\nDI-07\n0.0079\nsign\n");
    let labels = Labels::new(Some(&program));
    let mut report = build(&lines, &labels, &Predictions::default(), None);
    let short = render_report(&report, &Proof::default());
    assert!(short.contains("passed: 0.0079") && short.contains("(U 0.002 mm)"), "{short}");
    assert!(!short.contains("each reading"), "{short}");
    report.budgets = true;
    let long = render_report(&report, &Proof::default()).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        long.contains(
            "high: U = 0.002 mm (k 2), decided guarded U (ISO 14253-1:1998), probability of conformity 98.2 %, specific risk 1.8 %"
        ),
        "{long}"
    );
    assert!(long.contains("u = 0.001 mm, by the law of propagation"), "{long}");
    assert!(long.contains("dial, each reading, high: 0.001 mm, 100 % of u squared"), "{long}");
}

/// Who asks what U is made of sees no digits that nobody knows.
#[test]
fn figures_of_a_budget_are_rounded_on_the_screen_and_in_the_report() {
    let text = WALKED.replace("fresh 0.002 mm", "fresh 0.00217 mm").replace(
        "tolerance high",
        "let size \"Size\" = greatest(high, 0.004 mm)\n    unsigned\n  tolerance size",
    );
    let loaded = load::check("walked.bedway", text.as_bytes());
    let store = MemoryStore::default();
    let screen = walk(&loaded, store.clone(), "Ann Example\nDI-07\n0.0079\nshow\nsign\n").screen;
    let rounded = "the law of propagation gives u = 0.0011 mm";
    assert!(screen.split_whitespace().collect::<Vec<_>>().join(" ").contains(rounded), "{screen}");
    let program = loaded.program.unwrap();
    let mut report = build(&lines(&store), &Labels::new(Some(&program)), &Predictions::default(), None);
    report.budgets = true;
    let long = render_report(&report, &Proof::default()).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(long.contains(rounded), "{long}");
}
