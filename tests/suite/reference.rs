//! The evaluations against answers from outside the project. `tests/reference/*.json` holds the cases, each with its
//! source and whether the source was seen or is recalled; here each case is worked out afresh. A case without a check
//! fails, and so does an expected value that no check looked at.

use bedway::metrology::*;
use bedway::quantity::{Real, Unit};

use crate::reference_case::{Case, each, folder, places, scientific, times};

fn thousand() -> Real {
    Real::from(1000)
}

#[test]
fn every_file_of_cases_is_worked_through() {
    let known = [
        "circle",
        "decision",
        "distribution",
        "language",
        "limits",
        "line",
        "machine",
        "material",
        "monte_carlo",
        "plane",
        "positioning",
        "reversal",
        "sound",
        "spindle_and_bed",
        "statistics",
        "survey",
        "tolerance",
        "uncertainty",
        "units",
        "warm_up",
    ]
    .map(|name| format!("{name}.json"));
    let mut found: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".json"))
        .collect();
    found.sort();
    assert_eq!(found, known);
}

#[test]
fn statistics() {
    each("statistics.json", |case| {
        let y = if case.has("pairs") { alternating(case) } else { case.list("y") };
        if case.has("x") {
            let line = fit(&case.list("x"), &y, Reference::LeastSquares).unwrap();
            case.is("slope", std::slice::from_ref(&line.slope));
            case.is("intercept", &[line.at(&Real::zero())]);
        } else {
            case.is_one("mean", mean(&y));
            case.is_one("stdev", stdev(&y));
            if case.expects("lag_1") {
                case.is_one("lag_1", lag_1(&y));
            }
        }
    });
}

/// One value, then two in turn.
fn alternating(case: &Case) -> Vec<Real> {
    let pairs: usize = case.text("pairs").parse().unwrap();
    let mut values = case.list("first");
    values.extend(case.list("then").into_iter().cycle().take(2 * pairs));
    values
}

#[test]
fn lines_and_windows() {
    each("line.json", |case| {
        let (stations, values) = profile(case);
        for (name, reference) in [
            ("by_ends", Reference::Ends),
            ("by_least_squares", Reference::LeastSquares),
            ("by_minimum_zone", Reference::MinimumZone),
        ] {
            if case.expect.contains_key(name) {
                case.is_one(name, straightness(&stations, &values, reference));
            }
        }
        if case.expect.contains_key("heights_um") {
            case.is("heights_um", &values);
        }
        if case.expect.contains_key("slope") {
            case.is_one("slope", slope(&stations, &values));
        }
        if case.expect.contains_key("ordinates_by_ends") {
            case.is("ordinates_by_ends", &ordinates(&stations, &values, Reference::Ends).unwrap());
        }
        if case.expect.contains_key("worst_spread") {
            let form = ordinates(&stations, &values, Reference::Ends).unwrap();
            let worst = worst_window(&stations, &form, &case.one("window_mm"), Rule::Spread).unwrap();
            case.is("worst_spread", &[worst.value]);
            case.is("from", &[worst.from]);
            case.is("to", &[worst.to]);
            let chord = worst_window(&stations, &form, &case.one("window_mm"), Rule::Chord).unwrap();
            assert!(chord.value.is_less(&Real::from(3)), "by chord the same profile is far better");
        }
    });
}

/// The stations and heights of a case, from a profile or from a level or an autocollimator.
fn profile(case: &Case) -> (Vec<Real>, Vec<Real>) {
    if case.has("x") {
        return (case.list("x"), case.list("y"));
    }
    if case.has("step") {
        let values = case.list("y");
        return (places(&case.one("step"), values.len()), values);
    }
    // Rises in um over each foot.
    let (rises, foot) = if case.given.contains_key("tilt_mm_per_m") {
        let foot = case.one("foot_mm");
        (times(&case.list("tilt_mm_per_m"), &foot), foot)
    } else if case.given.contains_key("tilt_div") {
        (times(&case.list("tilt_div"), &case.one("um_per_div_and_foot")), case.one("foot_mm"))
    } else {
        let back = case.list("backward_arcsec");
        let means: Vec<Real> = case
            .list("forward_arcsec")
            .iter()
            .zip(&back)
            .map(|(a, b)| mean(&[a.clone(), b.clone()]).unwrap())
            .collect();
        // The first position is the start of the line; six spans follow.
        let from_first: Vec<Real> = means.iter().skip(1).map(|angle| angle - &means[0]).collect();
        (times(&from_first, &case.one("um_per_arcsec")), Real::from(100))
    };
    let each_foot = vec![Real::from(1); rises.len()];
    (places(&foot, rises.len() + 1), heights(&rises, &each_foot, Tilt::RisesAlong).unwrap())
}

#[test]
fn reversals() {
    each("reversal.json", |case| {
        let names = [
            ("at_0_um", "at_180_um", "bar_um"),
            ("first_um", "second_um", "edge_um"),
            ("first_um", "second_um", "square_um"),
        ];
        let (first, second, artefact) =
            names.into_iter().find(|names| case.expect.contains_key(names.2)).unwrap();
        let pairs: Vec<Pair> = case
            .list(first)
            .iter()
            .zip(&case.list(second))
            .map(|(first, second)| stays_with(first, second))
            .collect();
        let machine: Vec<Real> = pairs.iter().map(|pair| pair.machine.clone()).collect();
        case.is("machine_um", &machine);
        case.is(artefact, &pairs.iter().map(|pair| pair.artefact.clone()).collect::<Vec<_>>());
        if case.expect.contains_key("axis_over_300_um") {
            case.is_one("axis_over_300_um", gain(&machine));
        }
        if case.expect.contains_key("machine_arcsec") {
            let um_per_m = (&machine[0] * &thousand()).div(&case.one("length_mm")).unwrap();
            case.is("machine_um_per_m", std::slice::from_ref(&um_per_m));
            case.is("machine_arcsec", &[Unit::Arcsec.from_base(&Unit::UmPerM.to_base(&um_per_m).atan())]);
        }
    });
}

#[test]
fn units() {
    each("units.json", |case| {
        let (number, unit) = case.text("value").split_once(' ').unwrap();
        let value = Unit::parse(unit).unwrap().to_base(&scientific(number));
        let turned = match case.text("by") {
            "atan" => value.atan(),
            "tan" => value.tan().unwrap(),
            _ => value,
        };
        case.is("value", &[Unit::parse(case.text("unit")).unwrap().from_base(&turned)]);
    });
}

#[test]
fn turned_pieces_and_twist() {
    each("machine.json", |case| {
        if case.given.contains_key("across_mm_per_m") {
            let variation = range(&case.list("across_mm_per_m")).unwrap();
            case.is("variation_mm_per_m", std::slice::from_ref(&variation));
            case.is("ways_um", &[&variation * &case.one("way_spacing_mm")]);
            let tilted: Vec<Real> =
                case.list("across_mm_per_m").iter().map(|tilt| tilt + &Real::from(3)).collect();
            assert_eq!(range(&tilted).unwrap(), variation, "a tilt of the whole bed is no twist");
        } else if case.given.contains_key("station_mm") {
            let stations = case.list("station_mm");
            let taper = taper(&stations, &case.list("diameter_mm"), Reference::LeastSquares).unwrap();
            let over = |length: &Real| (&taper * length).div(&span(&stations).unwrap()).unwrap();
            if case.given.contains_key("work_length_mm") {
                case.is("set_over_mm", &[over(&case.one("work_length_mm")).half()]);
            } else {
                case.is("taper_mm", std::slice::from_ref(&taper));
                case.is("taper_over_300_mm", &[over(&Real::from(300))]);
            }
        } else if case.given.contains_key("twist_mm_per_m") {
            let shift = &case.one("twist_mm_per_m") * &case.one("height_mm");
            case.is("diameter_um", &[&shift * &Real::from(2)]);
        } else {
            let radius = root_sum_squares(&[case.one("r_mm"), case.one("v_mm")]).unwrap();
            case.is("diameter_change_mm", &[&(&radius - &case.one("r_mm")) * &Real::from(2)]);
        }
    });
}

#[test]
fn materials() {
    each("material.json", |case| {
        let material = Material::parse(case.text("material")).unwrap();
        let length = case.one("length_mm");
        if case.given.contains_key("diameter_mm") {
            let sag = sag(&length, &case.one("diameter_mm"), &Real::zero(), material).unwrap();
            case.is("sag_um", &[&sag * &thousand()]);
        } else {
            let cold = at_20_deg_c(&length, material, &case.one("temperature_degC"), &Real::zero());
            case.is("growth_um", &[&(&length - &cold) * &thousand()]);
        }
    });
}

#[test]
fn tolerances_over_another_length() {
    each("tolerance.json", |case| {
        let (bound, per, least) = (case.one("tolerance_mm"), case.one("per_mm"), case.one("least_mm"));
        let limits: Vec<Real> = case
            .list("over_mm")
            .iter()
            .map(|over| scaled(&bound, &per, over, Some(&least), None).unwrap().limit)
            .collect();
        // The clause rounds to 0.002 mm, so its figures lie within half of that; where it has nothing to round, or the
        // least value counts, they agree exactly.
        case.is("limit_mm", &limits);
        assert_eq!(limits[4..], [least.clone(), least]);
        assert_eq!(limits[0], bound);
    });
}

#[test]
fn sound_levels() {
    each("sound.json", |case| {
        if case.given.contains_key("levels_dB") {
            return case.is_one("mean_dB", energy_mean(&case.list("levels_dB")));
        }
        let total = case.one("total_dB");
        let taken: Vec<Real> = case
            .list("over_background_dB")
            .iter()
            .map(|over| match without_background(&total, &(&total - over)).unwrap() {
                WithoutBackground::Level(level) => &total - &level,
                WithoutBackground::AtMost(_) => panic!("more than 3 dB apart"),
            })
            .collect();
        case.is("taken_off_dB", &taken);
    });
}
