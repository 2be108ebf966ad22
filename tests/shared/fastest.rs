//! How long something takes at its fastest of three runs: what benches hold against each other.

use std::time::{Duration, Instant};

pub fn fastest<T>(run: impl Fn() -> T) -> Duration {
    let once = |_| {
        let start = Instant::now();
        std::hint::black_box(run());
        start.elapsed()
    };
    (0..3).map(once).min().unwrap_or_default()
}
