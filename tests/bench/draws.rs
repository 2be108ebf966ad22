//! Forms of draws: 2,000 sets of readings about one form, in binary numbers and, in the same run, as the value itself is
//! worked out. What counts are the ratios: against the exact way, and against a bare sum over the same readings.
//!
//! `cargo bench --bench draws`
#![allow(clippy::unwrap_used)]

use std::time::{Duration, Instant};

use bedway::metrology::{
    CircleReference, DrawnForm, Generator, Place, PlaneReference, Reference, flatness, roundness,
    straightness,
};
use bedway::quantity::{Real, ratio};

const SETS: usize = 2_000;

/// The exact way is tried on so many of them.
const EXACTLY: usize = 40;

fn main() {
    println!(
        "{:<26} {:>8} {:>12} {:>11} {:>11}",
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
        let along: Vec<Real> = (0..stations).map(Real::from).collect();
        line("straight, MinimumZone", &DrawnForm::straight(&along).unwrap(), stations, |own| {
            straightness(&along, own, Reference::MinimumZone).unwrap()
        });
    }
}

fn line(name: &str, form: &DrawnForm, stations: i64, exactly: impl Fn(&[Real]) -> Real) {
    let mut generator = Generator::new(101);
    let columns: Vec<Vec<f64>> = (0..stations)
        .map(|at| generator.normals(SETS).iter().map(|own| (at * 7 % 11) as f64 + own).collect())
        .collect();
    let set = |at: usize| -> Vec<f64> { columns.iter().map(|column| column[at]).collect() };
    let ours = fastest(|| drop(std::hint::black_box(form.of_all(&columns).unwrap())));
    let theirs = fastest(|| {
        for at in 0..EXACTLY {
            let readings: Vec<Real> =
                set(at).iter().map(|own| Real::approximate(*own, 0.0).unwrap()).collect();
            std::hint::black_box(exactly(&readings));
        }
    });
    let bare = fastest(|| {
        for at in 0..SETS {
            std::hint::black_box(set(at).iter().sum::<f64>());
        }
    });
    let exactly = theirs.as_secs_f64() * SETS as f64 / EXACTLY as f64;
    println!(
        "{name:<26} {stations:>8} {ours:>12.2?} {:>11.5} {:>11.1}",
        ours.as_secs_f64() / exactly,
        ours.as_secs_f64() / bare.as_secs_f64()
    );
}

/// The fastest of three runs.
fn fastest(run: impl Fn()) -> Duration {
    let once = |_| {
        let start = Instant::now();
        run();
        start.elapsed()
    };
    (0..3).map(once).min().unwrap()
}
