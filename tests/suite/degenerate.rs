//! Every evaluation with what no bench should give it: too few values, all equal, places that repeat, spans of nothing,
//! huge and tiny numbers, numbers known badly. Each comes back, with a figure or with the reason why there is none.

use bedway::metrology::*;
use bedway::quantity::{Real, ratio};

/// Lists that are odd one by one.
fn lists() -> Vec<Vec<Real>> {
    let whole = |list: &[i64]| list.iter().copied().map(Real::from).collect::<Vec<_>>();
    let huge = Real::from(10).powi(60).unwrap();
    let tiny = Real::from(1).div(&huge).unwrap();
    let rough = |value: f64, bound: f64| Real::approximate(value, bound).unwrap();
    let mut lists: Vec<Vec<Real>> = [
        &[][..],
        &[0],
        &[7, 7],
        &[0, 0, 0, 0],
        &[5, 5, 5, 5, 5, 5, 5, 5, 5],
        &[0, 1, 0],
        &[0, 90, 180, 270],
        &[0, 360, 720, 1080],
        &[3, 2, 1, 0, -1],
        &[1, 1, 2, 2, 3, 3, 3, 3],
        &[-9, 0, 4, 8, 15, 16, 23, 42],
    ]
    .iter()
    .map(|list| whole(list))
    .collect();
    lists.push(vec![huge.clone(), -&huge, tiny.clone(), huge, tiny.clone(), -&tiny]);
    lists.push((0..5).map(|k| Real::Exact(ratio(k, 7))).collect());
    lists.push((0..6).map(|k| rough(f64::from(k), 1e-3)).collect());
    lists.push((0..6).map(|k| rough(1e-12 * f64::from(k), 1.0)).collect());
    lists
}

/// A figure that came must be one.
fn looked_at<T>(found: Result<T, Fault>) {
    if let Err(fault) = found {
        assert!(fault.to_string().len() > 8, "{fault:?} says nothing");
    }
}

fn number(found: Result<Real, Fault>) {
    if let Ok(value) = &found {
        assert!(value.to_f64().is_finite() && value.bound().is_finite(), "{value:?}");
    }
    looked_at(found);
}

const LINES: [Reference; 3] = [Reference::Ends, Reference::LeastSquares, Reference::MinimumZone];
const PLANES: [PlaneReference; 3] =
    [PlaneReference::LeastSquares, PlaneReference::LeastSquaresByPlace, PlaneReference::MinimumZone];

#[test]
fn lists_by_themselves() {
    for list in lists() {
        for of in [mean, sum, least, greatest, range, stdev, lag_1, root_sum_squares, energy_mean, gain, span]
        {
            number(of(&list));
        }
        for of in [runout, twist, worst_step] {
            number(of(&list));
        }
        if list.is_empty() {
            assert!(
                [mean, sum, least, greatest, range, stdev, lag_1, span].iter().all(|of| of(&list).is_err())
            );
        }
    }
}

#[test]
fn values_along_stations() {
    let lengths = [Real::zero(), Real::from(-3), Real::from(2), Real::from(10).powi(40).unwrap()];
    for stations in lists() {
        for values in lists() {
            for reference in LINES {
                looked_at(fit(&stations, &values, reference));
                looked_at(ordinates(&stations, &values, reference));
                for of in [straightness, hump, hollow, taper] {
                    number(of(&stations, &values, reference));
                }
            }
            number(slope(&stations, &values));
            for tilt in [Tilt::RisesAlong, Tilt::FallsAlong] {
                looked_at(heights(&values, &stations, tilt));
            }
            for length in &lengths {
                let _ = interpolate(&stations, &values, length);
                looked_at(fit_with_uncertainty(&stations, &values, length));
                for of in [change, rate, spread] {
                    number(of(&stations, &values, length));
                }
                for rule in [Rule::Spread, Rule::Chord] {
                    number(worst_window(&stations, &values, length, rule).map(|window| window.value));
                }
            }
            for start in [None, Some(&lengths[0])] {
                looked_at(first_order(&stations, &values, start));
            }
            if let [a, b, c, ..] = values.as_slice() {
                looked_at(three_point(stations.first().unwrap_or(a), [a, b, c]));
            }
            looked_at(backlash(&stations, &values));
        }
    }
}

#[test]
fn round_a_turn_and_through_points() {
    for (place, angles) in lists().into_iter().enumerate() {
        for (other, readings) in lists().into_iter().enumerate() {
            for reference in CircleReference::ALL {
                number(roundness(&angles, &readings, reference).map(|found| found.value));
            }
            for most in [0, 1, 3, 40] {
                looked_at(harmonics(&angles, &readings, most));
            }
            if let Ok(arrow) = eccentricity(&angles, &readings) {
                number(arrow.size());
                number(arrow.high_at());
            }
            let arrows: Vec<Arrow> =
                readings.iter().map(|value| Arrow { along: value.clone(), across: Real::zero() }).collect();
            looked_at(indexings(&angles, &arrows));
            // Seen in a mirror, points are no others.
            if other < place {
                continue;
            }
            let points: Vec<Place> = angles.iter().cloned().zip(readings).collect();
            looked_at(fit_circle(&points));
            for reference in CircleReference::ALL {
                number(points_roundness(&points, reference).map(|found| found.value));
                let draws: Vec<(Vec<f64>, Vec<f64>)> =
                    points.iter().map(|(x, y)| (vec![x.to_f64(); 2], vec![y.to_f64(); 2])).collect();
                if let Some(found) = drawn_circles(&draws, reference) {
                    assert!(found.form.len() == 2 && found.form.iter().all(|form| form.is_finite()));
                }
            }
        }
    }
}

#[test]
fn over_surfaces_and_under_feet() {
    for xs in lists() {
        for ys in lists() {
            let places: Vec<Place> = xs.iter().cloned().zip(ys.iter().cloned()).collect();
            let zero = Real::zero();
            looked_at(shims_to_level(&places, &Real::from(1), &zero));
            for values in [&xs, &ys] {
                let values: Vec<Real> = values.iter().take(places.len()).cloned().collect();
                for reference in PLANES {
                    looked_at(fit_plane(&places, &values, reference));
                    looked_at(plane_ordinates(&places, &values, reference));
                    number(flatness(&places, &values, reference));
                }
                looked_at(over_three(&places, &values, [0, 1, 2]));
                looked_at(over_three(&places, &values, [0, 0, 9999]));
                looked_at(seating(&places, &values));
                let pairs: Vec<FootPair> = xs
                    .iter()
                    .map(|station| FootPair { station: station.clone(), spacing: zero.clone() })
                    .collect();
                looked_at(twist_shims(&pairs, &ys, &values, &zero));
            }
            let rows: Vec<Vec<Real>> = xs.iter().map(|_| ys.clone()).collect();
            for side in [&zero, &Real::from(2), &Real::from(-1)] {
                number(worst_area(&xs, &ys, &rows, (side, side)).map(|area| area.value));
            }
            looked_at(Survey::new(
                xs.first().unwrap_or(&zero),
                ys.first().unwrap_or(&zero),
                ys.last().unwrap_or(&zero),
            ));
            for edition in [Edition::Iso1988, Edition::Iso2014] {
                looked_at(one_way(&[xs.clone(), ys.clone()], edition));
                looked_at(two_way(&[Target { plus: xs.clone(), minus: ys.clone() }], edition));
                looked_at(two_way(&[], edition));
            }
        }
    }
}

#[test]
fn amounts() {
    let amounts: Vec<Real> = lists().concat();
    let some: Vec<&Real> = amounts.iter().step_by(3).collect();
    let materials = Material::ALL;
    for a in &some {
        for b in &some {
            let (first, second) = (stays_with(a, b), turns_with(a, b));
            assert_eq!((&first.machine, &first.artefact), (&second.artefact, &second.machine));
            let _ = (taper_from_twist(a, b), taper_from_lean(a));
            number(off_height(a, b));
            number(rounded_to(a, b));
            looked_at(without_background(a, b));
            for c in [&Real::zero(), &Real::from(3)] {
                number(set_over(a, b, c));
                number(sag(a, b, c, materials[0]));
                looked_at(scaled(a, b, c, Some(b), Some(a)));
                let stretch = Stretch { length: (*a).clone(), diameter: (*b).clone(), bore: c.clone() };
                number(sag_at(&[stretch.clone(), stretch], c, materials[1]));
            }
            let _ = at_20_deg_c(a, materials[2], b, a);
            let _ = variance_at_20_deg_c(a, materials[2], b, b);
            let _ = variance_of_expansion();
            let _ = variance_of_droop(materials[2]);
        }
    }
    number(sag_at(&[], &Real::zero(), materials[5]));
}

/// What is no number is none from the first.
#[test]
fn no_number_enters_that_is_none() {
    for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(Real::approximate(odd, 0.0), None);
    }
    for bound in [f64::NAN, f64::NEG_INFINITY, -1.0] {
        assert_eq!(Real::approximate(1.0, bound), None);
    }
    for typed in ["nan", "NaN", "inf", "-inf", "infinity", "1e", "--1", ""] {
        assert!(bedway::quantity::parse_decimal(typed).is_none(), "{typed}");
    }
}

/// An evaluation that this file does not call is not tried. Those of uncertainties and decisions take no readings.
#[test]
fn no_evaluation_is_left_out() {
    let folder = env!("CARGO_MANIFEST_DIR");
    let module = std::fs::read_to_string(format!("{folder}/src/metrology/mod.rs")).unwrap();
    let here = std::fs::read_to_string(format!("{folder}/tests/suite/degenerate.rs")).unwrap();
    let elsewhere = ["decision", "distribution", "monte_carlo", "nonlinear", "random", "risk", "uncertainty"];
    let uses = module.split("pub use ").skip(1).filter_map(|text| text.split(';').next());
    let mut count = 0;
    for (file, names) in uses.filter_map(|text| text.split_once("::")) {
        for name in names.split(|c: char| !(c.is_alphanumeric() || c == '_')) {
            let is_function = name.starts_with(|c: char| c.is_ascii_lowercase());
            if is_function && !elsewhere.contains(&file) {
                assert!(
                    here.contains(&format!("{name}("))
                        || here.contains(&format!("{name}, "))
                        || here.contains(&format!("{name}]")),
                    "{name} is never tried"
                );
                count += 1;
            }
        }
    }
    assert!(count > 50, "only {count}");
}
