//! Circles, planes and surveys against answers from outside the project (see `reference`).

use bedway::metrology::*;
use bedway::quantity::Real;

use crate::reference_case::{Case, each, places};

fn pairs(xs: Vec<Real>, ys: Vec<Real>) -> Vec<Place> {
    xs.into_iter().zip(ys).collect()
}

/// The places of a case, written out or as a grid that runs along the first length first.
fn places_of(case: &Case, count: usize) -> Vec<Place> {
    if !case.has("columns") {
        return pairs(case.list("x"), case.list("y"));
    }
    let columns: usize = case.text("columns").parse().unwrap();
    let steps = case.list("step");
    let whole = |n: usize| Real::from(i64::try_from(n).unwrap());
    (0..count).map(|k| (&steps[0] * &whole(k % columns), &steps[1] * &whole(k / columns))).collect()
}

#[test]
fn planes() {
    each("plane.json", |case| {
        if case.expects("worst_area") {
            let (xs, ys, window) = (case.list("xs"), case.list("ys"), case.list("window"));
            let rows: Vec<Vec<Real>> = case.list("rows").chunks(ys.len()).map(<[Real]>::to_vec).collect();
            let worst = worst_area(&xs, &ys, &rows, (&window[0], &window[1])).unwrap();
            return case.is("worst_area", &[worst.value]);
        }
        let heights = case.list("z");
        let places = places_of(case, heights.len());
        let by = |reference| flatness(&places, &heights, reference).unwrap();
        let (least_squares, zone) = (by(PlaneReference::LeastSquares), by(PlaneReference::MinimumZone));
        assert!(least_squares.is_exact() && zone.is_exact(), "{}: exact readings, exact results", case.case);
        assert!(zone <= least_squares);
        case.is("by_least_squares", &[least_squares]);
        case.is("by_minimum_zone", &[zone]);
        let plane = fit_plane(&places, &heights, PlaneReference::LeastSquares).unwrap();
        if case.expects("slopes") {
            case.is("slopes", &[plane.slope_x.clone(), plane.slope_y.clone()]);
        }
        if case.expects("mean") {
            case.is("mean", &[plane.value]);
            let residuals = plane_ordinates(&places, &heights, PlaneReference::LeastSquares).unwrap();
            case.is("first_residuals", &residuals[..14]);
        }
    });
}

const CIRCLES: [(&str, CircleReference); 4] = [
    ("by_least_squares", CircleReference::LeastSquares),
    ("by_minimum_zone", CircleReference::MinimumZone),
    ("circumscribed", CircleReference::Circumscribed),
    ("inscribed", CircleReference::Inscribed),
];

#[test]
fn circles() {
    each("circle.json", |case| {
        if case.has("y") && case.expects("circumscribed") {
            let points = pairs(case.list("x"), case.list("y"));
            for (name, reference) in CIRCLES.into_iter().filter(|(name, _)| case.expects(name)) {
                match points_roundness(&points, reference) {
                    Ok(found) => {
                        assert!(found.value.bound() < 1e-6, "{}: {found:?}", case.case);
                        case.is(name, &[found.value]);
                    }
                    Err(Fault::NotHeld) => case.says(name, &["not held".to_owned()]),
                    Err(fault) => panic!("{}: {name}: {fault}", case.case),
                }
            }
            if case.expects("inscribed_radius") {
                let found = points_roundness(&points, CircleReference::Inscribed).unwrap();
                case.is("inscribed_radius", &[found.radius.unwrap()]);
            }
            return;
        }
        if case.has("y") {
            let found = fit_circle(&pairs(case.list("x"), case.list("y"))).unwrap();
            case.is("centre", &[found.centre.0, found.centre.1]);
            return case.is("radius", &[found.radius]);
        }
        let readings = case.list("r");
        let angles =
            if case.has("step") { places(&case.one("step"), readings.len()) } else { case.list("angle") };
        if case.has("most") {
            let most = case.text("most").parse().unwrap();
            let found = harmonics(&angles, &readings, most).unwrap();
            let sizes: Vec<Real> = found.arrows.iter().map(|arrow| arrow.size().unwrap()).collect();
            case.is("amplitudes", &sizes);
            return case.is("high_at", &[found.arrows[0].high_at().unwrap()]);
        }
        for (name, reference) in CIRCLES {
            if !case.expects(name) {
                continue;
            }
            let found = roundness(&angles, &readings, reference).unwrap();
            assert!(found.value.bound() < 1e-8, "{}: {:?}", case.case, found.value);
            case.is(name, &[found.value]);
            let radius = found.circle[0].clone();
            match reference {
                CircleReference::Circumscribed => case.is("outer_radius", &[radius]),
                CircleReference::Inscribed => case.is("inner_radius", &[radius]),
                CircleReference::MinimumZone => {
                    let (inner, outer) = (found.inner_contacts.len(), found.outer_contacts.len());
                    assert!(inner >= 1 && outer >= 1 && inner + outer <= 4, "{}: 2-2 or 3-1", case.case);
                }
                CircleReference::LeastSquares => {}
            }
        }
        if case.expects("circle") {
            let found = roundness(&angles, &readings, CircleReference::LeastSquares).unwrap();
            case.is("circle", &found.circle);
            let residuals: Vec<Real> =
                angles.iter().zip(&readings).map(|(angle, r)| found.departure(angle, r)).collect();
            case.is("residuals", &residuals);
            let third = harmonics(&angles, &readings, 3).unwrap().arrows.remove(2);
            case.is("third_harmonic", &[third.along, third.across]);
        }
    });
}

#[test]
fn surveys_of_eight_lines() {
    each("survey.json", |case| {
        let survey = Survey::new(&case.one("width"), &case.one("depth"), &case.one("foot")).unwrap();
        // um/m times mm is nm.
        let thousandth = Real::from(1).div(&Real::from(1000)).unwrap();
        let tilts = SURVEY_LINES.map(|line| {
            case.list(&format!("tilt {line}")).iter().map(|tilt| tilt * &thousandth).collect::<Vec<_>>()
        });
        for (name, by) in [("closing", MapBy::Closing), ("least_squares", MapBy::LeastSquares)] {
            let map = survey.map(&tilts, by).unwrap();
            for (line, heights) in SURVEY_LINES.iter().zip(&map.heights) {
                let name = format!("{name} {line}");
                if case.expects(&name) {
                    case.is(&name, heights);
                }
            }
            if case.expects("closure") {
                case.is_one("closure", map.closure());
                case.is_one("range", range(&map.heights.concat()));
            }
        }
    });
}
