//! Draws by choice: a smooth result whose uncertainty is drawn and held against the law of propagation, by the examples of
//! JCGM 101:2008 (from memory). Draws are good to about a part in a hundred.

use bedway::walk::event::RuleLine;

use crate::uncertainty::{near, number, rule};

/// The interval of 95 %, from the value, as the record has it.
fn interval(rule: &RuleLine) -> (f64, f64) {
    let method = &rule.uncertainty.as_ref().unwrap().method;
    let (_, from) = method.split_once("95 % of them from ").unwrap_or_else(|| panic!("{method}"));
    let (low, high) = from.split_once(" to ").unwrap();
    let first = |text: &str| number(text.split_whitespace().next().unwrap());
    (first(low), first(high))
}

fn u(rule: &RuleLine) -> f64 {
    number(&rule.uncertainty.as_ref().unwrap().u)
}

fn method(rule: &RuleLine) -> &str {
    &rule.uncertainty.as_ref().unwrap().method
}

fn differs(rule: &RuleLine) -> bool {
    rule.notes.iter().any(|note| note.contains("draws and sensitivities differ"))
}

/// The sum of four readings, the last of an instrument of its own.
fn sum(decide: &str, fourth: &str) -> RuleLine {
    let read = |name: &str, using: &str| format!("  read {name} in um using {using}\n    unsigned\n");
    rule(&format!(
        "language 1\nprocedure \"Sum\"\ndecide {decide}\n\
         instrument dial \"Dial\"\n  uncertainty fresh 1.7320508 um rectangular\n\
         instrument other \"Other\"\n  uncertainty fresh {fourth}\n\
         step A \"A\"\n{}{}{}{}  let all \"Sum\" = a + b + c + d\n    unsigned\n  tolerance all at most 100 um\n\
         example \"one\"\n  enter A.a = 10\n  enter A.b = 10\n  enter A.c = 10\n  enter A.d = 10\n",
        read("a", "dial"),
        read("b", "dial"),
        read("c", "dial"),
        read("d", "other"),
    ))
}

/// 9.2.3, table 3: four that are even over their width, each with u = 1, have u = 2.0 and 95 % within 3.88; 9.2.4, table 4: if
/// one has u = 10, u is 10.1 and 95 % lie within 17.0, where the law of propagation has 19.9 and so disagrees.
#[test]
fn a_sum_is_drawn_where_that_is_chosen() {
    let linear = sum("guarded U", "1.7320508 um rectangular");
    assert!(method(&linear).starts_with("law of propagation"), "{}", method(&linear));
    near(u(&linear), 2.0, 1e-6);

    let alike = sum("guarded U by draws", "1.7320508 um rectangular");
    near(u(&alike), 2.0, 0.02);
    near(interval(&alike).0, -3.88, 0.06);
    near(interval(&alike).1, 3.88, 0.06);
    assert!(method(&alike).ends_with("; the law of propagation gives u = 2"), "{}", method(&alike));
    assert!(!differs(&alike), "{:?}", alike.notes);

    let wide = sum("guarded U by draws", "17.320508 um rectangular");
    near(u(&wide), 10.15, 0.1);
    near(interval(&wide).0, -17.0, 0.3);
    near(interval(&wide).1, 17.0, 0.3);
    assert!(method(&wide).contains("which disagrees, has 95 % within 20 um"), "{}", method(&wide));
    assert!(differs(&wide), "{:?}", wide.notes);

    // Nothing hangs on it in an example, and draws take their time: U is there where it is asked for.
    let simple = sum("simple by draws", "17.320508 um rectangular");
    assert_eq!(simple.uncertainty, None);
}

/// 9.3, tables 5 and 6: the mass of a weight of 100 g, compared in air. u is 0.0754 mg and 95 % lie from 1.0834 to 1.3825 mg
/// about 1.234 mg; the law of propagation knows of the densities nothing at the best estimate, and has u = 0.0539 mg.
#[test]
fn a_mass_compared_in_air() {
    // Plain numbers, in mg and in kg a cubic metre; what is stated of them in hundredths of one.
    let inputs = [
        ("reference", "100000", "5 % k 1"),
        ("added", "1.234", "2 % k 1"),
        ("air", "1.2", "10 % rectangular"),
        ("weight", "8000", "100000 % rectangular"),
        ("standard", "8000", "5000 % rectangular"),
    ];
    let instruments = inputs
        .map(|(name, _, stated)| format!("instrument of_{name} \"{name}\"\n  uncertainty fresh {stated}\n"));
    let read = inputs.map(|(name, ..)| format!("  read {name} in 1 using of_{name}\n"));
    let entered = inputs.map(|(name, value, _)| format!("  enter A.{name} = {value}\n"));
    let found = rule(&format!(
        "language 1\nprocedure \"Mass\"\ndecide guarded U by draws\n{}step A \"A\"\n{}\
         \x20 let more \"Over 100 g\" = (reference + added) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100000\n\
         \x20 tolerance more at most 2\nexample \"one\"\n{}",
        instruments.concat(),
        read.concat(),
        entered.concat()
    ));
    assert_eq!(found.value.as_deref(), Some("1.234"));
    near(u(&found), 0.0754, 0.001);
    near(interval(&found).0, 1.0834 - 1.234, 0.005);
    near(interval(&found).1, 1.3825 - 1.234, 0.005);
    assert!(method(&found).ends_with("u = 0.0538516"), "{}", method(&found));
    assert!(differs(&found), "{:?}", found.notes);
}

/// JCGM 101:2008, 6.4.3 (from memory): a voltage of 10.0 V give or take 0.1 V, a limit that is known to 0.05 V, has u = 0.060 V
/// where limits known for sure would give 0.058 V. The shape is the curvilinear trapezoid: of limits 6 and 3 the middle 95 %
/// end at 6.77853 on either side (scipy.integrate.quad and scipy.optimize.brentq, scipy 1.17.1).
#[test]
fn limits_that_are_rough_themselves_leave_a_little_more_open() {
    let of = |decide: &str, stated: &str, unit: &str| {
        rule(&format!(
            "language 1\nprocedure \"Rough limits\"\ndecide {decide}\n\
             instrument meter \"Meter\"\n  uncertainty zero {stated}\n\
             step A \"A\"\n  read off in {unit} using meter\n    unsigned\n  tolerance off at most 100 {unit}\n\
             example \"one\"\n  enter A.off = 10\n"
        ))
    };
    near(u(&of("guarded U", "0.1 V rectangular give or take 0.05 V", "V")), 0.060, 0.0005);
    near(u(&of("guarded U", "0.1 V rectangular", "V")), 0.058, 0.0005);
    let drawn = of("guarded U by draws", "6 um rectangular give or take 3 um", "um");
    near(u(&drawn), 13.0f64.sqrt(), 0.03);
    near(interval(&drawn).0, -6.77853, 0.1);
    near(interval(&drawn).1, 6.77853, 0.1);
}

/// JCGM 100:2008, 4.3.9 (from memory): a trapezoid of half width a whose top is b of it has u^2 = a^2(1 + b^2)/6, between
/// triangular and rectangular; draws take its shape. Of a trapezoid with b = 1/2 the middle 95 % end at 1 - sqrt(0.05 x 0.75)
/// of a on either side: what lies beyond x is (1 - x)^2/(2(1 - b^2)) on one side (closed form).
#[test]
fn a_trapezoid_lies_between_a_triangle_and_a_rectangle() {
    let of = |decide: &str, stated: &str| {
        rule(&format!(
            "language 1\nprocedure \"Trapezoid\"\ndecide {decide}\n\
             instrument dial \"Dial\"\n  uncertainty zero {stated}\n\
             step A \"A\"\n  read off in um using dial\n    unsigned\n  tolerance off at most 100 um\n\
             example \"one\"\n  enter A.off = 10\n"
        ))
    };
    near(u(&of("guarded U", "6 um trapezoidal flat 3 um")), (36.0 * 1.25 / 6.0f64).sqrt(), 1e-5);
    near(u(&of("guarded U", "6 um trapezoidal flat 0.0045 mm")), (36.0 * 1.5625 / 6.0f64).sqrt(), 1e-5);
    near(u(&of("guarded U", "6 um triangular")), (36.0 / 6.0f64).sqrt(), 1e-5);
    near(u(&of("guarded U", "6 um rectangular")), (36.0 / 3.0f64).sqrt(), 1e-5);
    let drawn = of("guarded U by draws", "6 um trapezoidal flat 3 um");
    near(u(&drawn), 7.5f64.sqrt(), 0.03);
    let end = 6.0 * (1.0 - (0.05 * 0.75f64).sqrt());
    near(interval(&drawn).0, -end, 0.1);
    near(interval(&drawn).1, end, 0.1);
}
