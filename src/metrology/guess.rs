//! Where the optimum of a linear programme seems to lie: the simplex method in binary numbers.
//!
//! What it finds is a guess. `optimum` proves it in exact numbers, or begins without it. So it may give up wherever
//! rounding is in the way, and takes no care of ties beyond not running for ever.

/// More than the columns of a short programme ever need.
const MOST_PIVOTS: usize = 300;

/// Beyond what rounding makes of numbers up to one.
const NOTHING: f64 = 1e-11;

/// The columns that seem to carry the optimum, one a row. The last entry of a column is its cost.
pub(super) fn contacts(columns: &[Vec<f64>], right: &[i64]) -> Option<Vec<usize>> {
    let (scaled, scale) = scaled(columns)?;
    let mut table = Table::new(right, &scale);
    for _ in 0..MOST_PIVOTS {
        let Some(entering) = table.entering(&scaled) else {
            let places: Option<Vec<usize>> = table.rows.iter().map(|row| row.place).collect();
            return places;
        };
        table.pivot(entering, scaled.get(entering)?)?;
    }
    None
}

/// Each row and the cost brought to sizes up to one, and the factors that did it.
fn scaled(columns: &[Vec<f64>]) -> Option<(Vec<Vec<f64>>, Vec<f64>)> {
    let rows = columns.first()?.len();
    let mut most = vec![0.0f64; rows];
    for column in columns {
        for (most, entry) in most.iter_mut().zip(column) {
            *most = most.max(entry.abs());
        }
    }
    if !most.iter().all(|most| most.is_finite()) {
        return None;
    }
    let scale: Vec<f64> = most.iter().map(|most| if *most > 0.0 { 1.0 / most } else { 1.0 }).collect();
    let scaled = |column: &Vec<f64>| column.iter().zip(&scale).map(|(a, b)| a * b).collect();
    Some((columns.iter().map(scaled).collect(), scale))
}

struct Row {
    /// None of an artificial column.
    place: Option<usize>,
    cost: f64,
    share: f64,
    inverse: Vec<f64>,
}

struct Table {
    rows: Vec<Row>,
}

impl Table {
    /// Artificial columns alone.
    fn new(right: &[i64], scale: &[f64]) -> Self {
        let row = |(at, (share, scale)): (usize, (&i64, &f64))| {
            let unit = |place: usize| if place == at { 1.0 } else { 0.0 };
            let inverse = (0..right.len()).map(unit).collect();
            Row { place: None, cost: 0.0, share: *share as f64 * scale, inverse }
        };
        Self { rows: right.iter().zip(scale).enumerate().map(row).collect() }
    }

    /// Prices of the rows for a cost of each column in use.
    fn prices(&self, cost: impl Fn(&Row) -> f64) -> Vec<f64> {
        let mut prices = vec![0.0; self.rows.len()];
        for row in &self.rows {
            let cost = cost(row);
            prices.iter_mut().zip(&row.inverse).for_each(|(price, entry)| *price += cost * entry);
        }
        prices
    }

    fn entering(&self, columns: &[Vec<f64>]) -> Option<usize> {
        let artificial = self.rows.iter().any(|row| row.place.is_none());
        let plain = self.prices(|row| row.cost);
        let size = |prices: &[f64]| 1.0 + prices.iter().map(|price| price.abs()).sum::<f64>();
        if artificial {
            let penalty = self.prices(|row| if row.place.is_none() { -1.0 } else { 0.0 });
            let nothing = NOTHING * size(&penalty);
            let gain = |column: &[f64]| -column.iter().zip(&penalty).map(|(a, b)| a * b).sum::<f64>();
            return greatest(columns, gain, nothing)
                .or_else(|| self.entering_level(columns, &penalty, &plain));
        }
        greatest(columns, |column| gain(column, &plain), NOTHING * size(&plain))
    }

    /// Nothing lessens what is artificial any more: any column takes its place that does not add to it.
    fn entering_level(&self, columns: &[Vec<f64>], penalty: &[f64], plain: &[f64]) -> Option<usize> {
        let out = |column: &[f64]| {
            let off = column.iter().zip(penalty).map(|(a, b)| a * b).sum::<f64>().abs();
            let takes_in = self
                .rows
                .iter()
                .filter(|row| row.place.is_none())
                .any(|row| row.inverse.iter().zip(column).map(|(a, b)| a * b).sum::<f64>().abs() > 1e-6);
            if off < 1e-9 && takes_in { 1.0 + gain(column, plain).max(0.0) } else { 0.0 }
        };
        greatest(columns, out, 0.5)
    }

    /// The column comes in for the one that reaches zero first; of several for the one with the largest pivot.
    fn pivot(&mut self, entering: usize, column: &[f64]) -> Option<()> {
        let cost = *column.last()?;
        let along: Vec<f64> =
            self.rows.iter().map(|row| row.inverse.iter().zip(column).map(|(a, b)| a * b).sum()).collect();
        let mut best: Option<(usize, f64, f64)> = None;
        for (at, (row, along)) in self.rows.iter().zip(&along).enumerate() {
            // What is artificial and zero has to go, whichever way it would move.
            let goes = row.place.is_none() && row.share.abs() < NOTHING && along.abs() > 1e-6;
            if !(*along > 1e-9 || goes) {
                continue;
            }
            let ratio = if goes { 0.0 } else { (row.share / along).max(0.0) };
            let better = best.is_none_or(|(_, known, pivot)| {
                ratio < known - NOTHING || (ratio < known + NOTHING && along.abs() > pivot)
            });
            if better {
                best = Some((at, ratio, along.abs()));
            }
        }
        let (leaving, ..) = best?;
        let pivot = *along.get(leaving)?;
        let row = self.rows.get_mut(leaving)?;
        row.place = Some(entering);
        row.cost = cost;
        row.share /= pivot;
        row.inverse.iter_mut().for_each(|entry| *entry /= pivot);
        let (share, inverse) = (row.share, row.inverse.clone());
        for (at, (row, along)) in self.rows.iter_mut().zip(&along).enumerate() {
            if at != leaving {
                row.share -= along * share;
                row.inverse.iter_mut().zip(&inverse).for_each(|(entry, above)| *entry -= along * above);
            }
        }
        Some(())
    }
}

fn gain(column: &[f64], prices: &[f64]) -> f64 {
    let cost = column.last().copied().unwrap_or(0.0);
    cost - column.iter().zip(prices).map(|(a, b)| a * b).sum::<f64>()
}

/// The column of the greatest worth, if that is more than nothing.
fn greatest(columns: &[Vec<f64>], worth: impl Fn(&[f64]) -> f64, nothing: f64) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, column) in columns.iter().enumerate() {
        let worth = worth(column);
        if worth > best.map_or(nothing, |(_, known)| known) {
            best = Some((place, worth));
        }
    }
    best.map(|(place, _)| place)
}
