//! Forms of draws: 2,000 sets of readings about one form, in binary numbers and, in the same run, as the value itself is
//! worked out. What counts are the ratios: against the exact way, and against a bare sum over the same readings.
//!
//! `cargo bench --bench draws`
#![allow(clippy::unwrap_used)]

#[path = "../shared/fastest.rs"]
mod fastest;

use std::time::Duration;

use bedway::metrology::{
    CircleReference, DrawnForm, Generator, Place, PlaneReference, Reference, drawn_circles, flatness,
    points_roundness, roundness, straightness,
};
use bedway::quantity::{Real, ratio};
use fastest::fastest;

const SETS: usize = 2_000;

/// The exact way is tried on so many of them.
const EXACTLY: usize = 40;

fn main() {
    println!(
        "{:<32} {:>8} {:>12} {:>11} {:>11}",
        "2,000 sets of readings", "stations", "time", "exactly, x", "bare sum, x"
    );
    for stations in [8, 36] {
        for reference in CircleReference::ALL {
            let angles: Vec<Real> = (0..stations).map(|k| Real::Exact(ratio(360 * k, stations))).collect();
            line(
                &format!("round, {reference:?}"),
                &DrawnForm::round(&angles, reference).unwrap(),
                stations,
                |own| roundness(&angles, own, reference).unwrap().value,
            );
        }
        for reference in [PlaneReference::LeastSquares, PlaneReference::MinimumZone] {
            let places: Vec<Place> = (0..stations).map(|k| (Real::from(k % 4), Real::from(k / 4))).collect();
            line(
                &format!("flat, {reference:?}"),
                &DrawnForm::flat(&places, reference).unwrap(),
                stations,
                |own| flatness(&places, own, reference).unwrap(),
            );
        }
        CircleReference::ALL.into_iter().for_each(|reference| points(reference, stations));
        let along: Vec<Real> = (0..stations).map(Real::from).collect();
        line(
            "straight, MinimumZone",
            &DrawnForm::straight(&along, Reference::MinimumZone).unwrap(),
            stations,
            |own| straightness(&along, own, Reference::MinimumZone).unwrap(),
        );
    }
}

/// Of readings about one form, against the same set by set.
fn line(name: &str, form: &DrawnForm, stations: i64, exactly: impl Fn(&[Real]) -> Real) {
    let columns = columns(stations, |at| (at * 7 % 11) as f64);
    let ours = fastest(|| form.of_all(&columns).unwrap());
    let set = |at: usize| -> Vec<Real> { columns.iter().map(|column| real(column[at])).collect() };
    row(name, stations, &columns, ours, |at| exactly(&set(at)));
}

/// Of points about a large form: two coordinates a point.
fn points(reference: CircleReference, count: i64) {
    let turn = |at: i64| at as f64 * std::f64::consts::TAU / count as f64;
    let out = |at: i64| 1000.0 + 50.0 * (3.0 * turn(at)).cos() + (at * 7 % 11) as f64;
    let xs = columns(count, |at| out(at) * turn(at).cos());
    let ys = columns(count, |at| out(at) * turn(at).sin());
    let points: Vec<(&Vec<f64>, &Vec<f64>)> = xs.iter().zip(&ys).collect();
    let ours = fastest(|| drawn_circles(&points, reference).unwrap());
    row(&format!("circle of points, {reference:?}"), count, &xs, ours, |at| {
        let places: Vec<Place> = xs.iter().zip(&ys).map(|(x, y)| (real(x[at]), real(y[at]))).collect();
        points_roundness(&places, reference).unwrap().value
    });
}

fn real(value: f64) -> Real {
    Real::approximate(value, 0.0).unwrap()
}

fn columns(stations: i64, about: impl Fn(i64) -> f64) -> Vec<Vec<f64>> {
    let mut generator = Generator::new(101);
    (0..stations).map(|at| generator.normals(SETS).iter().map(|own| about(at) + own).collect()).collect()
}

fn row(name: &str, stations: i64, columns: &[Vec<f64>], ours: Duration, exactly: impl Fn(usize) -> Real) {
    let theirs = fastest(|| (0..EXACTLY).map(&exactly).collect::<Vec<_>>());
    let bare =
        fastest(|| (0..SETS).map(|at| columns.iter().map(|column| column[at]).sum::<f64>()).sum::<f64>());
    let exactly = theirs.as_secs_f64() * SETS as f64 / EXACTLY as f64;
    println!(
        "{name:<32} {stations:>8} {ours:>12.2?} {:>11.5} {:>11.1}",
        ours.as_secs_f64() / exactly,
        ours.as_secs_f64() / bare.as_secs_f64()
    );
}
