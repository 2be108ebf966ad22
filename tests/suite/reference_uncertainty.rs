//! Uncertainty and decisions against answers from outside the project (see `reference`).

use bedway::metrology::*;
use bedway::quantity::Real;

use crate::reference_case::{Case, each, scientific};

#[test]
fn distributions() {
    each("distribution.json", |case| {
        if case.has("coverage") {
            for freedom in case.text("freedom").split(' ') {
                let factor = |p: &f64| coverage_factor(*p, freedom.parse().ok()).unwrap();
                let row: Vec<f64> = case.floats("coverage").iter().map(factor).collect();
                case.are_floats(&format!("factors at {freedom}"), &row);
            }
        }
        let each_of =
            |name: &str, of: &dyn Fn(f64) -> f64| case.floats(name).into_iter().map(of).collect::<Vec<_>>();
        if case.expects("student_quantile") {
            let freedom = case.float("freedom");
            case.are_floats("student_quantile", &each_of("p", &|p| student_quantile(p, freedom).unwrap()));
        }
        if case.expects("student_probability") {
            let freedom = case.float("freedom");
            case.are_floats(
                "student_probability",
                &each_of("t", &|t| student_probability(t, freedom).unwrap()),
            );
        }
        if case.expects("normal_probability") {
            case.are_floats("normal_probability", &each_of("z", &normal_probability));
        }
        if case.expects("normal_quantile") {
            case.are_floats("normal_quantile", &each_of("p", &|p| normal_quantile(p).unwrap()));
        }
    });
}

fn square(u: &Real) -> Real {
    u * u
}

#[test]
fn uncertainties() {
    each("uncertainty.json", |case| match case.text("of") {
        "line" => a_line(case),
        "end gauge" => the_end_gauge(case),
        "repeats" => {
            let (variance, freedom) = variance_of_mean(&case.list("y")).unwrap();
            case.is("u_mean", &[variance.sqrt().unwrap()]);
            case.is("freedom", &[freedom]);
        }
        "shapes" => {
            let half = case.one("half_width");
            let u = |shape: Shape| shape.variance().unwrap().sqrt().unwrap();
            case.is("rectangular", &[u(Shape::Rectangular(half.clone()))]);
            case.is("triangular", &[u(Shape::Triangular(half))]);
            case.is("step", &[u(Shape::Step(case.one("step")))]);
        }
        "correlated" => {
            let (gradients, us, r) = (case.list("gradient"), case.list("u"), case.list("correlation"));
            let sources: Vec<Source> = gradients
                .iter()
                .zip(&us)
                .map(|(gradient, u)| Source {
                    gradient: gradient.clone(),
                    variance: square(u),
                    freedom: None,
                })
                .collect();
            let covariance = |a: usize, b: usize, r: &Real| (a, b, &(&us[a] * &us[b]) * r);
            let covariances = [covariance(0, 1, &r[0]), covariance(0, 2, &r[1]), covariance(1, 2, &r[2])];
            case.is("u", &[combined_with(&sources, &covariances).unwrap().u]);
        }
        _ => {
            let n: usize = case.text("n").parse().unwrap();
            let source = Source { gradient: Real::from(1), variance: square(&case.one("u")), freedom: None };
            let sources = vec![source; n];
            let covariances: Vec<(usize, usize, Real)> = (0..n)
                .flat_map(|a| (a + 1..n).map(move |b| (a, b)))
                .map(|(a, b)| (a, b, square(&case.one("u"))))
                .collect();
            case.is("u", &[combined_with(&sources, &covariances).unwrap().u]);
            case.is("u_independent", &[combined(&sources).unwrap().u]);
        }
    });
}

fn a_line(case: &Case) {
    let found = fit_with_uncertainty(&case.list("x"), &case.list("y"), &case.one("from")).unwrap();
    let mut values = vec![
        ("intercept", found.intercept.clone()),
        ("slope", found.line.slope.clone()),
        ("u_intercept", found.u_intercept.clone()),
        ("u_slope", found.u_slope.clone()),
        ("correlation", found.correlation.clone()),
        ("residual_stdev", found.residual_stdev.clone()),
        ("residual_squares", found.residual_squares.clone()),
        ("explained", found.explained.clone().unwrap()),
        ("freedom", Real::from(i64::try_from(found.freedom).unwrap())),
    ];
    if case.has("at") {
        let (value, u) = found.predict(&case.one("at")).unwrap();
        values.extend([("value", value), ("u_value", u)]);
    }
    for (name, value) in values {
        if case.expects(name) {
            case.is(name, &[value]);
        }
    }
}

/// Annex H.1 of the GUM: the comparison of two end gauges, to first order, in nm.
fn the_end_gauge(case: &Case) {
    let source = |gradient: Real, u: &Real, freedom: &Real| Source {
        gradient,
        variance: square(u),
        freedom: Some(freedom.clone()),
    };
    let pair = |name: &str| -> [Real; 2] { case.list(name).try_into().unwrap() };
    let parts: Vec<Source> = case
        .list("difference_parts_nm")
        .iter()
        .zip(&case.list("difference_parts_freedom"))
        .map(|(u, freedom)| source(Real::from(1), u, freedom))
        .collect();
    let difference = combined(&parts).unwrap();
    case.is("u_difference", std::slice::from_ref(&difference.u));
    // The source goes on with the rounded u of the difference, to the fourth power.
    let [rounded, rounded_freedom] = pair("difference_nm_rounded");
    let up = rounded.div(&difference.u).unwrap().powi(4).unwrap();
    case.is("freedom_difference", &[&difference.freedom.unwrap() * &up]);
    let length = case.one("length_nm");
    let [standard, standard_freedom] = pair("standard_nm");
    let [alpha, alpha_freedom] = pair("alpha_difference");
    let [temperature, temperature_freedom] = pair("temperature_difference");
    let all = combined(&[
        source(Real::from(1), &standard, &standard_freedom),
        source(Real::from(1), &rounded, &rounded_freedom),
        source(&length * &case.one("temperature_off"), &alpha, &alpha_freedom),
        source(&length * &case.one("alpha"), &temperature, &temperature_freedom),
    ])
    .unwrap();
    let part = |place: usize| all.parts[place].sqrt().unwrap();
    case.is("alpha_part", &[part(2)]);
    case.is("temperature_part", &[part(3)]);
    case.is("u", std::slice::from_ref(&all.u));
    let freedom = all.freedom.unwrap();
    case.is("freedom", std::slice::from_ref(&freedom));
    let factor = coverage_factor(case.float("coverage"), Some(freedom.to_f64().floor())).unwrap();
    case.is_float("factor", factor);
    case.is_float("expanded", factor * all.u.to_f64());
}

#[test]
fn trials() {
    each("monte_carlo.json", |case| {
        let sources: Vec<Draw> = case
            .text("sources")
            .split(' ')
            .map(|source| {
                let (shape, size) = source.split_once(':').unwrap();
                let size = size.parse().unwrap();
                if shape == "normal" { Draw::Normal(size) } else { Draw::Rectangular(size) }
            })
            .collect();
        let model = |x: &[f64]| match case.text("model") {
            "sum" => x.iter().sum(),
            // Weights in air: conventional mass of the standard and of what was added, air, weight, standard.
            "mass" => {
                let (air, weight, standard) = (1.2 + x[2], 8000.0 + x[3], 8000.0 + x[4]);
                let mass = 100_000.0 + x[0] + 1.234 + x[1];
                mass * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
            }
            loss => {
                let first: f64 = loss.strip_prefix("loss ").unwrap().parse().unwrap();
                (first + x[0]).powi(2) + x[1].powi(2)
            }
        };
        let trials = Trials { most_blocks: 30, ..Trials::with_seed(2026) };
        let found = monte_carlo(&sources, trials, |x| Some(model(x))).unwrap();
        for (name, value) in [("mean", found.mean), ("u", found.u)] {
            if case.expects(name) {
                case.is_float(name, value);
            }
        }
        for (name, (low, high)) in [("interval", found.interval), ("shortest", found.shortest.unwrap())] {
            if case.expects(name) {
                case.are_floats(name, &[low, high]);
            }
        }
        let agrees = found.agrees_with(found.mean, expanded(found.u, 0.95, None).unwrap());
        case.says("linear", &[if agrees { "agrees" } else { "off" }.to_string()]);
    });
}

fn at_most(upper: &Real) -> Limits {
    Limits::new(None, Some(upper.clone())).unwrap()
}

#[test]
fn decisions() {
    each("decision.json", |case| match case.text("of") {
        "rules" => three_rules(case),
        "conformity" => {
            case.is_float(
                "conformity",
                conformity(&case.one("y"), &case.one("u"), &at_most(&case.one("upper"))),
            );
        }
        "conformities" => {
            let [lower, upper] = case.list("limits").try_into().unwrap();
            let limits = Limits::new(Some(lower), Some(upper)).unwrap();
            let found: Vec<f64> =
                case.list("y").iter().zip(&case.list("u")).map(|(y, u)| conformity(y, u, &limits)).collect();
            case.are_floats("conformity", &found);
        }
        "risks" => {
            let risks: Vec<f64> = case
                .list("bands_in_u")
                .iter()
                .map(|band| {
                    // On the acceptance limit, in units of u; the last passes by the simple rule.
                    let rule = DecisionRule::GuardBand(band.clone());
                    let found = decide(&-band, &Real::from(1), &at_most(&Real::zero()), &rule).unwrap();
                    assert_eq!(found.verdict, Verdict::Pass);
                    found.risk().unwrap()
                })
                .collect();
            case.are_floats("risk", &risks);
            for (risk, bound) in risks.iter().zip(case.wanted("below")) {
                assert!(*risk < bound.to_f64(), "{}", case.case);
            }
        }
        "ratios" => {
            let half = case.one("half");
            let limits = Limits::new(Some(-&half), Some(half.clone())).unwrap();
            let rule = DecisionRule::GuardBand(scientific("1.65"));
            for (u, acceptance) in case.list("U").iter().map(Real::half).zip(case.wanted("acceptance")) {
                let verdict = |y: &Real| decide(y, &u, &limits, &rule).unwrap().verdict;
                assert_eq!(verdict(&acceptance), Verdict::Pass);
                assert_eq!(verdict(&(&acceptance + &scientific("1e-9"))), Verdict::Undecided);
                assert!(verdict(&-&acceptance) == Verdict::Pass && can_pass(&u, &limits, &rule).unwrap());
            }
        }
        _ => {
            let pair = |name: &str| (case.floats(name)[0], case.floats(name)[1]);
            let found =
                global_risk(pair("production"), case.float("u"), pair("tolerance"), pair("acceptance"))
                    .unwrap();
            case.is_float("conforming", found.conforming);
            case.is_float("consumer", found.consumer);
            case.is_float("producer", found.producer);
        }
    });
}

fn three_rules(case: &Case) {
    let (half, u) = (case.one("limit"), case.one("u"));
    let limits = Limits::new(Some(-&half), Some(half)).unwrap();
    let verdicts = |rule: &DecisionRule| -> Vec<String> {
        let verdict = |y: &Real| decide(y, &u, &limits, rule).unwrap().verdict;
        case.list("y").iter().map(|y| format!("{:?}", verdict(y)).to_lowercase()).collect()
    };
    let rounded = verdicts(&DecisionRule::GuardBand(scientific("1.65")));
    case.says("band 1.65", &rounded);
    case.says("band 2", &verdicts(&DecisionRule::expanded()));
    case.says("simple", &verdicts(&DecisionRule::Simple));
    // The probability itself, 1.645 u and not its rounded factor, differs at 11.65 alone.
    let unrounded = verdicts(&DecisionRule::ninety_five_percent());
    let differs: Vec<usize> = (0..rounded.len()).filter(|k| rounded[*k] != unrounded[*k]).collect();
    assert_eq!(differs, [7], "{unrounded:?}");
}
