//! The probability of conformity where draws tell how a result is spread: their share within the limits, whatever their
//! shape (JCGM 106:2012, 6, with JCGM 101:2008; from memory), against closed forms and tables. Nothing is decided by the noise
//! of the draws.

use bedway::cli::load;
use bedway::record::MemoryStore;
use bedway::walk::event::{Event, RuleLine, UncertaintyLine};
use bedway::walk::replay;

use crate::uncertainty::{number, rule};
use crate::walking::{lines, program, walk};

const SIGNED: &str = "    plus \"out\"\n    minus \"in\"\n";
const UNSIGNED: &str = "    unsigned\n";

fn known(rule: &RuleLine) -> &UncertaintyLine {
    rule.uncertainty.as_ref().unwrap()
}

/// What the draws say is what it is, as far as their number tells.
fn told(rule: &RuleLine, wanted: f64) {
    let own = known(rule);
    let end = |end: &Option<String>| number(end.as_deref().unwrap());
    let (from, to) = (end(&own.conformity_from), end(&own.conformity_to));
    assert!(from <= wanted && wanted <= to, "{wanted} is not from {from} to {to}");
    assert!(from <= number(&own.conformity) && number(&own.conformity) <= to && to - from < 0.03, "{own:?}");
}

/// A reading known to lie within 3 um of what was read, no place likelier than another.
fn even(limits: &str, value: &str) -> RuleLine {
    let sense = if limits.starts_with('w') || limits.starts_with('f') { SIGNED } else { UNSIGNED };
    rule(&format!(
        "language 1\nprocedure \"Even\"\ndecide guarded 95 % by draws\n\
         instrument dial \"Dial\"\n  uncertainty fresh 3 um rectangular\n\
         step A \"A\"\n  read off in um using dial\n{sense}  tolerance off {limits}\n\
         example \"one\"\n  enter A.off = {value}\n"
    ))
}

/// The share of a width of 6 um that lies within the limits (closed form). With its u of 1.732 um a normal distribution would
/// leave 2.75 um undecided (94.4 %), and never say that nothing lies beyond 3 um.
#[test]
fn of_what_is_known_by_its_limits_the_share_within_is_exact() {
    for (limits, value, share, verdict) in [
        ("at most 12 um", "10", 5.0 / 6.0, "undecided"),
        ("at most 12.6 um", "10", 5.6 / 6.0, "undecided"),
        ("at most 12.75 um", "10", 5.75 / 6.0, "passed"),
        ("at least 10 um", "12.75", 5.75 / 6.0, "passed"),
        ("below 12.75 um", "10", 5.75 / 6.0, "passed"),
        ("within 12.75 um", "10", 5.75 / 6.0, "passed"),
        ("within 2.9 um", "0", 5.8 / 6.0, "passed"),
        ("within 2.8 um", "0", 5.6 / 6.0, "undecided"),
        ("from -1 um to 1 um", "0", 2.0 / 6.0, "undecided"),
        ("at most 10 um", "12.75", 0.25 / 6.0, "failed"),
        ("at most 10 um", "12.6", 0.4 / 6.0, "undecided"),
        ("at least 10 um", "7.25", 0.25 / 6.0, "failed"),
        ("at most 13.01 um", "10", 1.0, "passed"),
        ("at most 10 um", "13.01", 0.0, "failed"),
    ] {
        let found = even(limits, value);
        told(&found, share);
        assert_eq!(found.verdict, verdict, "{value} {limits}");
    }
    // None outside is not certainty: so many draws could have missed one in two thousand.
    let inside = even("at most 13.01 um", "10");
    assert_eq!(
        (known(&inside).conformity.as_str(), known(&inside).conformity_to.as_deref()),
        ("1", Some("1"))
    );
    assert!(number(known(&inside).conformity_from.as_deref().unwrap()) < 0.9999);
}

/// At 2.7 um there are 95 % to the last digit, and however many are drawn it is not known on which side. A quarter of a percent more
/// is not told by the first draws, but by more of them.
#[test]
fn nothing_is_decided_by_the_noise_of_the_draws() {
    for (limits, value) in [("at most 12.7 um", "10"), ("at most 10 um", "12.7"), ("at least 10 um", "12.7")]
    {
        let edge = even(limits, value);
        assert_eq!(edge.verdict, "undecided", "{limits}");
        let said = edge.notes.join("; ");
        assert!(said.contains("no closer by 500000 draws"), "{said}");
        assert!(said.contains(" +- 0.1 %"), "{said}");
    }
    let more = even("at most 12.715 um", "10");
    assert_eq!(more.verdict, "passed");
    assert!(known(&more).method.contains("500000 trials"), "{}", known(&more).method);
    told(&more, 5.715 / 6.0);
    let first = even("at most 12.8 um", "10");
    assert!(!known(&first).method.contains("500000 trials"), "{}", known(&first).method);
    // What would decide it is of the same shape: 95 % of an even width reach 0.9 of it, 1.559 u.
    let often = even("at most 11 um", "10").notes.join("; ");
    assert!(often.contains("the mean of 8 such measurements would decide it"), "{often}");
}

/// Four readings with s^2 = 4/3 and nothing stated: their mean is spread as Student's t with 3 degrees of freedom about it,
/// with 0.57735 um. Published table of t, one side: 90, 95, 97.5 and 99.5 % within 1.638, 2.353, 3.182 and 5.841 (from memory).
#[test]
fn of_few_repeats_it_is_the_table_of_t() {
    let four = |limit: f64| {
        rule(&format!(
            "language 1\nprocedure \"Four\"\ndecide guarded 95 % by draws\ninstrument dial \"Dial\"\n  resolution 0.0001 um\n\
             step A \"A\"\n  read off in um using dial\n    times 4\n    plus \"out\"\n    minus \"in\"\n\
             \x20 let size \"Size\" = mean(off over repeat)\n  tolerance size from -1000 um to {limit:.6} um\n\
             example \"four\"\n  enter A.off = -1, 1, -1, 1\n"
        ))
    };
    for (t, share, verdict) in [
        (1.638, 0.9, "undecided"),
        (2.353, 0.95, "undecided"),
        (3.182, 0.975, "passed"),
        (5.841, 0.995, "passed"),
    ] {
        let found = four(t * (1.0f64 / 3.0).sqrt());
        told(&found, share);
        assert_eq!(found.verdict, verdict, "{t}");
    }
}

/// Two readings that are alike, u = 1 um each: their range is the half of a normal distribution with sqrt 2 um (closed form);
/// 84.27 % lie within 2 um, 95 % within 2.772 um, none below zero. The square of a number about zero is spread as chi squared
/// with 1 degree of freedom: 95 % within 3.841, 99 % within 6.635 (published table, from memory).
#[test]
fn of_a_skew_result_its_own_tail_counts() {
    let of = |result: &str, limits: &str| {
        rule(&format!(
            "language 1\nprocedure \"Skew\"\ndecide guarded 95 %\ninstrument dial \"Dial\"\n  uncertainty fresh 2 um k 2\n\
             step A \"A\"\n  read off in um using dial\n    over place one, two\n    plus \"out\"\n    minus \"in\"\n\
             \x20 let found \"Found\" = {result} in um\n    unsigned\n  tolerance found {limits}\n\
             example \"one\"\n  enter A.off = 0, 0\n"
        ))
    };
    for (result, limits, share, verdict) in [
        ("range(off over place)", "at most 2 um", 0.842_70, "undecided"),
        ("range(off over place)", "at most 2.772 um", 0.95, "undecided"),
        ("range(off over place)", "at most 3.643 um", 0.99, "passed"),
        ("range(off over place)", "at least 0.1773 um", 0.9, "undecided"),
        ("off[one] ^ 2 / 1 um", "at most 3.841 um", 0.95, "undecided"),
        ("off[one] ^ 2 / 1 um", "at most 6.635 um", 0.99, "passed"),
        ("off[one] ^ 2 / 1 um", "at most 2.706 um", 0.9, "undecided"),
    ] {
        let found = of(result, limits);
        told(&found, share);
        assert_eq!(found.verdict, verdict, "{result} {limits}");
    }
}

/// Limits that were measured with the same dial: the distance of two such readings is spread as a triangle of half width 6 um;
/// of a value about zero, 1/18 lies beyond either end of `within`: the mean of (|x| - 1)/6 over |x| from 1 to 3 of 3, halved
/// (closed forms).
#[test]
fn limits_that_were_measured_are_drawn_too() {
    let of = |limits: &str, off: &str, allowed: &str| {
        let sense = if limits.starts_with("at") { UNSIGNED } else { SIGNED };
        rule(&format!(
            "language 1\nprocedure \"Measured\"\ndecide guarded 95 % by draws\n\
             instrument dial \"Dial\"\n  uncertainty fresh 3 um rectangular\n\
             step A \"A\"\n  read allowed in um using dial\n    unsigned\n\
             \x20 read off in um using dial\n{sense}  tolerance off {limits}\n\
             example \"one\"\n  enter A.off = {off}\n  enter A.allowed = {allowed}\n"
        ))
    };
    let beyond = |room: f64| (6.0 - room) * (6.0 - room) / 72.0;
    for (limits, off, allowed, share, verdict) in [
        ("at most allowed", "10", "14.5", 1.0 - beyond(4.5), "passed"),
        ("at most allowed", "10", "13", 1.0 - beyond(3.0), "undecided"),
        ("at least allowed", "14.5", "10", 1.0 - beyond(4.5), "passed"),
        ("at most allowed", "14.5", "10", beyond(4.5), "failed"),
        ("within allowed", "0", "4", 8.0 / 9.0, "undecided"),
        ("from -50 um to allowed", "0", "4.5", 1.0 - beyond(4.5), "passed"),
    ] {
        let found = of(limits, off, allowed);
        told(&found, share);
        assert_eq!(found.verdict, verdict, "{off} {limits} {allowed}");
    }
}

/// By U the draws decide nothing but are counted all the same; what is stated of a linear result needs no draws, and nothing
/// is left open then.
#[test]
fn the_risk_beside_a_verdict_by_u_is_counted_too() {
    let of = |decide: &str| {
        rule(&format!(
            "language 1\nprocedure \"By U\"\ndecide {decide}\ninstrument dial \"Dial\"\n  uncertainty fresh 3 um rectangular\n\
             step A \"A\"\n  read off in um using dial\n    unsigned\n  tolerance off at most 12 um\n\
             example \"one\"\n  enter A.off = 10\n"
        ))
    };
    let drawn = of("guarded U by draws");
    told(&drawn, 5.0 / 6.0);
    assert_eq!(drawn.verdict, "undecided");
    let smooth = of("guarded U");
    assert!(
        (known(&smooth).conformity_from.is_none())
            && (number(&known(&smooth).conformity) - 0.875_9).abs() < 1e-3
    );
}

/// The seed stands on the record: who works it out again has the same draws, and one digit that was changed is found.
#[test]
fn a_record_of_draws_is_proved_to_the_last_digit() {
    let loaded = load::check(
        "drawn.bedway",
        b"language 1\nprocedure \"Drawn\"\ndecide guarded 95 % by draws\n\
          instrument dial \"Dial\"\n  uncertainty fresh 3 um rectangular\n\
          step A \"A\"\n  read off in um using dial\n    unsigned\n  tolerance off at most 12 um\n",
    );
    let store = MemoryStore::default();
    walk(&loaded, store.clone(), "Ann Example\nD-1\n9.2\nsign\n");
    let lines = lines(&store);
    let proved = |change: &dyn Fn(&mut UncertaintyLine)| {
        let mut events: Vec<(String, Event)> =
            lines.iter().map(|line| (line.time.clone(), line.event.clone())).collect();
        let rules = events.iter_mut().filter_map(|(_, event)| match event {
            Event::Judged(judged) => Some(&mut judged.rules),
            _ => None,
        });
        let mut known: Vec<&mut UncertaintyLine> =
            rules.flatten().filter_map(|rule| rule.uncertainty.as_mut()).collect();
        assert_eq!(known.len(), 1);
        known.iter_mut().for_each(|own| change(own));
        let times = events.iter().map(|(time, event)| (time.as_str(), event));
        replay::verify(program(&loaded), times).map(|_| ())
    };
    proved(&|_| {}).unwrap();
    let changed = proved(&|own| own.conformity = "0.96".to_owned()).unwrap_err();
    assert!(changed.found.contains("the probability of conformity, is 0.96"), "{}", changed.found);
    assert!(proved(&|own| own.conformity_from = None).is_err());
}
