//! Decisions that take uncertainty into account, against the published rules.

use crate::uncertainty::{GUARDED, near, number, one_reading, rule};

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
