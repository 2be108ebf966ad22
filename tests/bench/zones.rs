//! Minimum zones in step with the number of points: each is found in 1,000, 10,000 and 100,000 places of an invented
//! form, and as many numbers are sorted beside it in the same run. What counts are the two ratios: against a tenth as many
//! places (n log n goes up by about 13), and against the sort.
//!
//! `cargo bench --bench zones`
#![allow(clippy::unwrap_used)]

#[path = "../shared/fastest.rs"]
mod fastest;

use std::time::Duration;

use bedway::metrology::{
    CircleReference, Generator, Place, PlaneReference, Reference, Rule, flatness, points_roundness,
    roundness, straightness, worst_window,
};
use bedway::quantity::{Real, ratio};
use fastest::fastest;

const SIZES: [i64; 3] = [1_000, 10_000, 100_000];

/// Places along a line, round a turn or over a square, and a form in whole thousandths at each.
struct Form {
    along: Vec<Real>,
    angles: Vec<Real>,
    over: Vec<Place>,
    /// An ellipse 2 to 1 with some of that form on it.
    oval: Vec<Place>,
    heights: Vec<Real>,
}

impl Form {
    fn of(count: i64) -> Self {
        let mut generator = Generator::new(101);
        let side = (1..).find(|side| side * side >= count).unwrap();
        let heights: Vec<Real> = (0..count)
            .map(|k| {
                let wave = 40.0 * (k as f64 / count as f64 * 9.0).sin();
                Real::Exact(ratio((1000.0 * (wave + generator.unit())) as i64, 1000))
            })
            .collect();
        let oval = heights.iter().enumerate().map(|(k, height)| {
            let turn = k as f64 / count as f64 * std::f64::consts::TAU;
            let size = |axis: f64| (100.0 * axis + 2.0 * height.to_f64()) as i64;
            let at = |axis: f64, of: f64| Real::Exact(ratio((size(axis) as f64 * of) as i64, 100));
            (at(2000.0, turn.cos()), at(1000.0, turn.sin()))
        });
        Self {
            oval: oval.collect(),
            along: (0..count).map(Real::from).collect(),
            angles: (0..count).map(|k| Real::Exact(ratio(360 * k, count))).collect(),
            over: (0..count).map(|k| (Real::from(k % side), Real::from(k / side))).collect(),
            heights,
        }
    }
}

type Zone = fn(&Form) -> Real;

const ZONES: [(&str, Zone); 10] = [
    ("line, minimum zone", |form| straightness(&form.along, &form.heights, Reference::MinimumZone).unwrap()),
    ("line, windows by spread", |form| {
        worst_window(&form.along, &form.heights, &Real::from(250), Rule::Spread).unwrap().value
    }),
    ("line, windows by chord", |form| {
        worst_window(&form.along, &form.heights, &Real::from(250), Rule::Chord).unwrap().value
    }),
    ("turn, minimum zone", |form| round(form, CircleReference::MinimumZone)),
    ("turn, circumscribed", |form| round(form, CircleReference::Circumscribed)),
    ("turn, inscribed", |form| round(form, CircleReference::Inscribed)),
    ("oval, minimum zone", |form| circle(form, CircleReference::MinimumZone)),
    ("oval, circumscribed", |form| circle(form, CircleReference::Circumscribed)),
    ("oval, inscribed", |form| circle(form, CircleReference::Inscribed)),
    ("plane, minimum zone", |form| flatness(&form.over, &form.heights, PlaneReference::MinimumZone).unwrap()),
];

fn round(form: &Form, reference: CircleReference) -> Real {
    roundness(&form.angles, &form.heights, reference).unwrap().value
}

fn circle(form: &Form, reference: CircleReference) -> Real {
    points_roundness(&form.oval, reference).unwrap().value
}

fn main() {
    println!("{:<24} {:>8} {:>11} {:>14} {:>9}", "zone", "places", "time", "tenth of it, x", "sort, x");
    for (name, zone) in ZONES {
        let mut before: Option<Duration> = None;
        for size in SIZES {
            let form = Form::of(size);
            let ours = fastest(|| zone(&form));
            let sort = fastest(|| {
                let mut heights = form.heights.clone();
                heights.sort();
                heights
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
