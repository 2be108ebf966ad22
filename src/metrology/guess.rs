//! Where the optimum of a linear programme seems to lie: the simplex method in binary numbers.
//!
//! What it finds is a guess. `optimum` proves it in exact numbers, or begins without it. So it may give up wherever
//! rounding is in the way, and takes no care of ties beyond not running for ever. A draw of `drawn_form` is content with
//! the guess: there the columns stay and the costs change, and one set of readings begins where another ended.

/// More than the columns of a short programme ever need.
const MOST_PIVOTS: usize = 300;

/// Beyond what rounding makes of numbers up to one.
const NOTHING: f64 = 1e-11;

/// The columns that seem to carry the optimum, one a row. The last entry of a column is its cost.
pub(super) fn contacts(columns: &[Vec<f64>], right: &[i64]) -> Option<Vec<usize>> {
    let (entries, costs): (Vec<&[f64]>, Vec<f64>) = columns
        .iter()
        .filter_map(|column| column.split_last())
        .map(|(cost, entries)| (entries, cost))
        .unzip();
    let programme = Programme::new(&entries, right)?;
    let mut table = programme.begin();
    programme.maximise(&mut table, &costs)?;
    table.rows.iter().map(|row| row.place).collect()
}

/// Columns and conditions, to be met at the greatest cost.
#[derive(Clone, Debug)]
pub(super) struct Programme {
    /// Each row brought to sizes up to one.
    columns: Vec<Vec<f64>>,
    /// The factors that did it.
    scale: Vec<f64>,
    begin: Table,
}

impl Programme {
    pub fn new(columns: &[impl AsRef<[f64]>], right: &[i64]) -> Option<Self> {
        let mut most = vec![0.0f64; right.len()];
        for column in columns {
            most.iter_mut().zip(column.as_ref()).for_each(|(most, entry)| *most = most.max(entry.abs()));
        }
        let scale: Option<Vec<f64>> = most.iter().map(|most| one_over(*most)).collect();
        let scale = scale?;
        let scaled = |column: &[f64]| column.iter().zip(&scale).map(|(a, b)| a * b).collect();
        let columns = columns.iter().map(|column| scaled(column.as_ref())).collect();
        Some(Self { columns, begin: Table::new(right, &scale), scale })
    }

    /// Where nothing is known yet.
    pub fn begin(&self) -> Table {
        self.begin.clone()
    }

    /// The price of each row at the optimum, from where the table stands to where it is left.
    pub fn maximise(&self, table: &mut Table, costs: &[f64]) -> Option<Vec<f64>> {
        let unit = one_over(costs.iter().fold(0.0, |most: f64, cost| most.max(cost.abs())))?;
        let costs: Vec<f64> = costs.iter().map(|cost| cost * unit).collect();
        for row in &mut table.rows {
            row.cost = row.place.and_then(|place| costs.get(place)).copied().unwrap_or(0.0);
        }
        for _ in 0..MOST_PIVOTS {
            let Some(entering) = table.entering(&self.columns, &costs) else {
                let prices = table.prices(|row| row.cost);
                return Some(
                    prices.iter().zip(&self.scale).map(|(price, scale)| price * scale / unit).collect(),
                );
            };
            table.pivot(entering, self.columns.get(entering)?, *costs.get(entering)?)?;
        }
        None
    }
}

/// One for nothing, none for what is no number.
fn one_over(most: f64) -> Option<f64> {
    most.is_finite().then(|| if most > 0.0 { 1.0 / most } else { 1.0 })
}

#[derive(Clone, Debug)]
struct Row {
    /// None of an artificial column.
    place: Option<usize>,
    cost: f64,
    share: f64,
    inverse: Vec<f64>,
}

/// The columns in use.
#[derive(Clone, Debug)]
pub(super) struct Table {
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

    fn entering(&self, columns: &[Vec<f64>], costs: &[f64]) -> Option<usize> {
        let artificial = self.rows.iter().any(|row| row.place.is_none());
        let plain = self.prices(|row| row.cost);
        let size = |prices: &[f64]| 1.0 + prices.iter().map(|price| price.abs()).sum::<f64>();
        let gain = |column: &[f64], cost: f64| cost - product(column, &plain);
        if !artificial {
            return greatest(columns, costs, gain, NOTHING * size(&plain));
        }
        let penalty = self.prices(|row| if row.place.is_none() { -1.0 } else { 0.0 });
        let out = |column: &[f64], _| -product(column, &penalty);
        // Nothing lessens what is artificial any more: any column takes its place that does not add to it.
        let level = |column: &[f64], cost: f64| {
            let artificial = || self.rows.iter().filter(|row| row.place.is_none());
            let takes_in = || artificial().any(|row| product(&row.inverse, column).abs() > 1e-6);
            let off = product(column, &penalty).abs();
            if off < 1e-9 && takes_in() { 1.0 + gain(column, cost).max(0.0) } else { 0.0 }
        };
        greatest(columns, costs, out, NOTHING * size(&penalty))
            .or_else(|| greatest(columns, costs, level, 0.5))
    }

    /// The column comes in for the one that reaches zero first; of several for the one with the largest pivot.
    fn pivot(&mut self, entering: usize, column: &[f64], cost: f64) -> Option<()> {
        let along: Vec<f64> = self.rows.iter().map(|row| product(&row.inverse, column)).collect();
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

/// Draws spend most of their time here: the usual lengths are written out.
pub(super) fn product(a: &[f64], b: &[f64]) -> f64 {
    match (a, b) {
        ([a, b], [c, d]) => a * c + b * d,
        ([a, b, c], [d, e, f]) => a * d + b * e + c * f,
        ([a, b, c, d], [e, f, g, h]) => a * e + b * f + c * g + d * h,
        _ => a.iter().zip(b).fold(0.0, |sum, (a, b)| sum + a * b),
    }
}

/// The column of the greatest worth, if that is more than nothing.
fn greatest(
    columns: &[Vec<f64>],
    costs: &[f64],
    worth: impl Fn(&[f64], f64) -> f64,
    nothing: f64,
) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, (column, cost)) in columns.iter().zip(costs).enumerate() {
        let worth = worth(column, *cost);
        if worth > best.map_or(nothing, |(_, known)| known) {
            best = Some((place, worth));
        }
    }
    best.map(|(place, _)| place)
}
