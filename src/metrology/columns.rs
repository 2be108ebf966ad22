//! Standard draws by the column: all trials of one source in one block at once.
//!
//! Each column has a generator of its own, seeded by seed, source and block, so that any of them can be drawn alone. The
//! draws of one seed are the same for every result; those of the first blocks are kept, since they are asked for at each.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::random::Generator;

/// The shape of a draw, with the size one: what of it is not size stands in its bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Standard {
    Normal,
    /// Even from -1 to 1.
    Even,
    Triangular,
    Arcsine,
    /// Degrees of freedom.
    Student(u64),
    Scatter(u64),
    /// The half width of the top.
    Trapezoid(u64),
    /// What the half width is known to.
    Loose(u64),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Place {
    pub seed: u64,
    pub source: usize,
    pub block: usize,
    pub trials: usize,
}

/// So many numbers are kept at most: 32 MB.
const MOST_KEPT: usize = 4_000_000;

type Known = HashMap<(Standard, Place), Arc<[f64]>>;

/// A memory of a function of its arguments alone, shared by all threads.
static KEPT: Mutex<Option<Known>> = Mutex::new(None);

pub(super) fn column(shape: Standard, place: Place) -> Arc<[f64]> {
    let known = KEPT
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .as_ref()
        .and_then(|it| it.get(&(shape, place)).cloned());
    if let Some(known) = known {
        return known;
    }
    let drawn: Arc<[f64]> = draw(shape, place).into();
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    let kept = kept.get_or_insert_default();
    if (kept.len() + 1) * place.trials <= MOST_KEPT {
        kept.insert((shape, place), Arc::clone(&drawn));
    }
    drawn
}

/// Not kept.
pub(super) fn draw(shape: Standard, place: Place) -> Vec<f64> {
    let mut generator = Generator::of(place.seed, &[place.source as u64, place.block as u64]);
    let n = place.trials;
    let even = |generator: &mut Generator| 2.0 * generator.unit() - 1.0;
    match shape {
        Standard::Normal => generator.normals(n),
        Standard::Even => (0..n).map(|_| even(&mut generator)).collect(),
        Standard::Triangular => (0..n).map(|_| 0.5 * (even(&mut generator) + even(&mut generator))).collect(),
        Standard::Arcsine => (0..n).map(|_| libm::sin(std::f64::consts::PI * even(&mut generator))).collect(),
        Standard::Student(freedom) => (0..n).map(|_| generator.student(f64::from_bits(freedom))).collect(),
        Standard::Scatter(freedom) => (0..n).map(|_| generator.scatter(f64::from_bits(freedom))).collect(),
        Standard::Loose(known) => {
            let known = f64::from_bits(known);
            let of = |generator: &mut Generator| (1.0 + known * even(generator)) * even(generator);
            (0..n).map(|_| of(&mut generator)).collect()
        }
        Standard::Trapezoid(top) => {
            let top = f64::from_bits(top);
            let of = |generator: &mut Generator| {
                0.5 * ((1.0 + top) * even(generator) + (1.0 - top) * even(generator))
            };
            (0..n).map(|_| of(&mut generator)).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_hangs_on_its_place_alone() {
        let place = Place { seed: 101, source: 3, block: 2, trials: 100 };
        let first = column(Standard::Normal, place);
        assert_eq!(column(Standard::Normal, place), first, "kept");
        assert_eq!(draw(Standard::Normal, place), *first, "drawn again");
        for other in [Place { seed: 102, ..place }, Place { source: 2, ..place }, Place { block: 3, ..place }]
        {
            assert_ne!(column(Standard::Normal, other), first);
        }
    }

    /// Correlation of two columns, whose standard deviation is 1/sqrt(n).
    #[test]
    fn columns_know_nothing_of_each_other() {
        let n = 10_000;
        let columns: Vec<Arc<[f64]>> = (0..6)
            .map(|at| column(Standard::Normal, Place { seed: 101, source: at / 2, block: at % 2, trials: n }))
            .collect();
        for (at, a) in columns.iter().enumerate() {
            for b in &columns[..at] {
                let product = a.iter().zip(b.iter()).map(|(a, b)| a * b).sum::<f64>() / n as f64;
                assert!(product.abs() < 0.04, "{product}");
            }
        }
    }
}
