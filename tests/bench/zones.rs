//! Minimum zones in step with the number of points: each is found in 1,000, 10,000 and 100,000 places of an invented
//! form, and as many numbers are sorted beside it in the same run. What counts are the two ratios: against a tenth as many
//! places (n log n goes up by about 13), and against the sort.
//!
//! `cargo bench --bench zones`
#![allow(clippy::unwrap_used)]

use std::time::{Duration, Instant};

use bedway::metrology::{
    CircleReference, Generator, Place, PlaneReference, Reference, Rule, flatness, roundness, straightness,
    worst_window,
};
use bedway::quantity::{Real, ratio};

const SIZES: [i64; 3] = [1_000, 10_000, 100_000];

/// Places along a line, round a turn or over a square, and a form in whole thousandths at each.
struct Form {
    along: Vec<Real>,
    angles: Vec<Real>,
    over: Vec<Place>,
    heights: Vec<Real>,
}

impl Form {
    fn of(count: i64) -> Self {
        let mut generator = Generator::new(101);
        let side = (1..).find(|side| side * side >= count).unwrap();
        Self {
            along: (0..count).map(Real::from).collect(),
            angles: (0..count).map(|k| Real::Exact(ratio(360 * k, count))).collect(),
            over: (0..count).map(|k| (Real::from(k % side), Real::from(k / side))).collect(),
            heights: (0..count)
                .map(|k| {
                    let wave = 40.0 * (k as f64 / count as f64 * 9.0).sin();
                    Real::Exact(ratio((1000.0 * (wave + generator.unit())) as i64, 1000))
                })
                .collect(),
        }
    }
}

type Zone = fn(&Form) -> Real;

const ZONES: [(&str, Zone); 5] = [
    ("line, minimum zone", |form| straightness(&form.along, &form.heights, Reference::MinimumZone).unwrap()),
    ("line, windows by spread", |form| {
        worst_window(&form.along, &form.heights, &Real::from(250), Rule::Spread).unwrap().value
    }),
    ("line, windows by chord", |form| {
        worst_window(&form.along, &form.heights, &Real::from(250), Rule::Chord).unwrap().value
    }),
    ("circle, minimum zone", |form| {
        roundness(&form.angles, &form.heights, CircleReference::MinimumZone).unwrap().value
    }),
    ("plane, minimum zone", |form| flatness(&form.over, &form.heights, PlaneReference::MinimumZone).unwrap()),
];

fn main() {
    println!("{:<24} {:>8} {:>11} {:>14} {:>9}", "zone", "places", "time", "tenth of it, x", "sort, x");
    for (name, zone) in ZONES {
        let mut before: Option<Duration> = None;
        for size in SIZES {
            let form = Form::of(size);
            let ours = fastest(|| {
                std::hint::black_box(zone(&form));
            });
            let sort = fastest(|| {
                let mut heights = form.heights.clone();
                heights.sort();
                std::hint::black_box(heights);
            });
            let grown = before.map_or(String::from("-"), |before| {
                format!("{:.1}", ours.as_secs_f64() / before.as_secs_f64())
            });
            println!(
                "{name:<24} {size:>8} {ours:>11.3?} {grown:>14} {:>9.1}",
                ours.as_secs_f64() / sort.as_secs_f64()
            );
            before = Some(ours);
        }
    }
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
