//! Positioning, warming up, spindles and beds against answers from outside the project (see `reference`).

use bedway::metrology::*;
use bedway::quantity::Real;

use crate::reference_case::{Case, each};

#[test]
fn positioning() {
    each("positioning.json", |case| {
        if case.has("deviation") {
            let (stations, deviations) = (case.list("station"), case.list("deviation"));
            let errors: Vec<Real> = case
                .list("over")
                .iter()
                .map(|over| worst_window(&stations, &deviations, over, Rule::Spread).unwrap().value)
                .collect();
            return case.is("lead_errors", &errors);
        }
        let runs: usize = case.text("runs").parse().unwrap();
        let (plus, minus) = (case.list("plus"), case.list("minus"));
        let targets: Vec<Target> = plus
            .chunks(runs)
            .zip(minus.chunks(runs))
            .map(|(plus, minus)| Target { plus: plus.to_vec(), minus: minus.to_vec() })
            .collect();
        let edition = match case.text("edition") {
            "1988" => Edition::Iso1988,
            _ => Edition::Iso2014,
        };
        let found = two_way(&targets, edition).unwrap();
        for (side, one) in [("plus", &found.plus), ("minus", &found.minus)] {
            let means: Vec<Real> = one.sides.iter().map(|side| side.mean.clone()).collect();
            let stdevs: Vec<Real> = one.sides.iter().map(|side| side.stdev.clone()).collect();
            case.is(&format!("mean_{side}"), &means);
            case.is(&format!("stdev_{side}"), &stdevs);
            case.is(&format!("repeatability_{side}"), std::slice::from_ref(&one.repeatability));
            case.is(&format!("systematic_{side}"), std::slice::from_ref(&one.systematic_deviation));
            case.is(&format!("accuracy_{side}"), std::slice::from_ref(&one.accuracy));
        }
        case.is("reversal_value", &[found.reversal_value]);
        case.is("mean_reversal", &[found.mean_reversal]);
        case.is("repeatability", &[found.repeatability]);
        case.is("systematic", &[found.systematic_deviation]);
        case.is("mean_deviation_range", &[found.mean_deviation_range]);
        case.is("accuracy", &[found.accuracy]);
    });
}

/// A curve of two parameters by its name, with its derivatives.
fn curve(name: &str) -> impl Fn(f64, &[f64; 2]) -> Option<(f64, [f64; 2])> {
    match name {
        "rise" => |x: f64, [a, b]: &[f64; 2]| {
            let left = (-b * x).exp();
            Some((a * (1.0 - left), [1.0 - left, a * x * left]))
        },
        "misra1b" => |x: f64, [a, b]: &[f64; 2]| {
            let root = 1.0 + b * x / 2.0;
            Some((a * (1.0 - root.powi(-2)), [1.0 - root.powi(-2), a * x * root.powi(-3)]))
        },
        "misra1c" => |x: f64, [a, b]: &[f64; 2]| {
            let root = 1.0 + 2.0 * b * x;
            (root > 0.0)
                .then(|| (a * (1.0 - root.powf(-0.5)), [1.0 - root.powf(-0.5), a * x * root.powf(-1.5)]))
        },
        "misra1d" => |x: f64, [a, b]: &[f64; 2]| {
            let root = 1.0 + b * x;
            Some((a * b * x / root, [b * x / root, a * x / (root * root)]))
        },
        _ => |x: f64, [a, b]: &[f64; 2]| Some((a * x.powf(*b), [x.powf(*b), a * x.powf(*b) * x.ln()])),
    }
}

#[test]
fn warming_up_and_curves() {
    each("warm_up.json", |case| {
        if case.has("curve") {
            let (xs, ys) = (case.floats("x"), case.floats("y"));
            for start in ["start_1", "start_2"] {
                let start: [f64; 2] = case.floats(start).try_into().unwrap();
                let found = fit_curve(&xs, &ys, start, curve(case.text("curve"))).unwrap();
                case.are_floats("parameters", &found.parameters);
                case.are_floats("u", &[found.u(0), found.u(1)]);
                case.is_float("residual_squares", found.residual_squares);
                case.is_float("residual_stdev", found.residual_stdev());
            }
            if case.text("curve") == "rise" {
                first_order_from_a_known_start(case);
            }
        } else if case.has("three") {
            let three = case.list("three");
            let found = three_point(&case.one("step"), [&three[0], &three[1], &three[2]]).unwrap();
            case.is("end", &[found.end]);
            case.is("time_constant", &[found.time_constant]);
        } else if case.has("within") {
            let (times, values, within) = (case.list("t"), case.list("T"), case.one("within"));
            case.is_one("change", change(&times, &values, &within));
            case.is_one("rate", rate(&times, &values, &within));
        } else {
            let found = first_order(&case.list("t"), &case.list("T"), None).unwrap();
            case.is("end", &[found.end]);
            case.is("time_constant", &[found.time_constant]);
            case.is("u_end", &[found.u_end.unwrap()]);
            case.is("u_time_constant", &[found.u_time_constant.unwrap()]);
        }
    });
}

/// A rise from a start that is known has the same algebra; it needs no starting values.
fn first_order_from_a_known_start(case: &Case) {
    // The curve starts at zero, where the data have no reading: one there changes nothing.
    let with_zero = |name: &str| [vec![Real::zero()], case.list(name)].concat();
    let found = first_order(&with_zero("x"), &with_zero("y"), Some(&Real::zero())).unwrap();
    let pace = Real::from(1).div(&found.time_constant).unwrap();
    case.is("parameters", &[found.rise, pace]);
}

#[test]
fn spindles_and_beds() {
    each("spindle_and_bed.json", |case| match case.text("of") {
        "twist" => {
            let across = case.list("across");
            case.is_one("twist", twist(&across));
            case.is_one("worst_step", worst_step(&across));
        }
        "tapers" => {
            let over = set_over(&case.one("taper"), &case.one("distance"), &case.one("work"));
            case.is_one("set_over", over);
            // mm/m times mm is um.
            case.is("from_twist_um", &[taper_from_twist(&case.one("twist_mm_per_m"), &case.one("height"))]);
            case.is_one("off_height", off_height(&case.one("radius"), &case.one("off_height")));
        }
        "sag" => {
            let stretches: Vec<Stretch> = case
                .list("stretches")
                .chunks(3)
                .map(|three| Stretch {
                    length: three[0].clone(),
                    diameter: three[1].clone(),
                    bore: three[2].clone(),
                })
                .collect();
            case.is_one("sag_mm", sag_at(&stretches, &case.one("at"), Material::Steel));
        }
        "indexings" => {
            let arrows: Vec<Arrow> = case
                .list("arrows")
                .chunks(2)
                .map(|two| Arrow { along: two[0].clone(), across: two[1].clone() })
                .collect();
            let found = indexings(&case.list("index"), &arrows).unwrap();
            case.is("machine", &[found.machine.along, found.machine.across]);
            case.is("artefact", &[found.artefact.along, found.artefact.across]);
        }
        _ => {
            let spacing = case.one("spacing");
            let pairs: Vec<FootPair> = case
                .list("pairs")
                .into_iter()
                .map(|station| FootPair { station, spacing: spacing.clone() })
                .collect();
            let found =
                twist_shims(&pairs, &case.list("station"), &case.list("tilt"), &Real::zero()).unwrap();
            case.is("rolls", &found.rolls);
            case.is("shims", &found.shims);
        }
    });
}
