//! The best of all centres, planes or lines: a linear programme solved exactly, so that what is called the minimum zone
//! is the minimum and no search stops short of it.
//!
//! Maximise sum c_j u_j over u_j >= 0 with sum u_j A_j = b. A_j is a short column (one entry a coefficient of the
//! reference), j runs over the readings. The dual values y are the coefficients of the reference: y A_j >= c_j holds
//! for every reading, with equality at the contacts, which are the readings with u_j > 0; sum c u = y b is the
//! certificate that nothing better exists (duality of linear programmes, any textbook).
//!
//! `guess` finds contacts in binary numbers. Here they are proved, or made right, in exact ones: revised simplex method
//! on rationals, from the contacts that were guessed or, where those lead nowhere, from none; then ties are broken in
//! lexicographic order, so it ends on any data. Which reading comes in is looked for in binary numbers; that none is left
//! is settled in exact ones.

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::guess::contacts;
use crate::quantity::Rational;

/// Far above what any data of a bench takes (10,000 readings: about thirty).
const MOST_PIVOTS: usize = 20_000;

/// From contacts that were guessed: mostly none, seldom one or two.
const MOST_PIVOTS_GUESSED: usize = 20;

/// The reference that cannot be bettered.
#[derive(Clone, Debug)]
pub(super) struct Optimum {
    pub value: Rational,
    /// One a row: the coefficients of the reference.
    pub dual: Vec<Rational>,
    /// The readings that settle it, with their share.
    pub contacts: Vec<(usize, Rational)>,
}

/// The readings as columns, the cost of each behind its entries: worked out exactly for the few that matter, and held in
/// binary numbers for all.
pub(super) struct Columns<'a> {
    exact: Box<dyn Fn(usize) -> Vec<Rational> + 'a>,
    binary: Vec<Vec<f64>>,
    /// By how much an entry of each row and a cost may be off in binary numbers, at most.
    off: Vec<f64>,
}

impl<'a> Columns<'a> {
    /// `off`: one a row and one for the cost.
    pub fn new(exact: impl Fn(usize) -> Vec<Rational> + 'a, binary: Vec<Vec<f64>>, off: Vec<f64>) -> Self {
        Self { exact: Box::new(exact), binary, off }
    }

    #[cfg(test)]
    /// Columns that are there already.
    pub fn of(columns: &'a [Vec<Rational>], costs: &'a [Rational]) -> Self {
        let entry = |number: &Rational| number.to_f64().unwrap_or(0.0);
        let binary: Vec<Vec<f64>> = columns
            .iter()
            .zip(costs)
            .map(|(column, cost)| column.iter().chain([cost]).map(entry).collect())
            .collect();
        let off = largest(&binary).iter().map(|most| most * f64::EPSILON).collect();
        let exact = |place: usize| match columns.get(place).zip(costs.get(place)) {
            Some((column, cost)) => column.iter().chain([cost]).cloned().collect(),
            None => Vec::new(),
        };
        Self::new(exact, binary, off)
    }

    /// What the reading would gain against the reference of `prices`, exactly.
    fn gain(&self, place: usize, prices: &[Rational]) -> Rational {
        let column = (self.exact)(place);
        let Some((cost, column)) = column.split_last() else { return Rational::zero() };
        cost - product(column, prices)
    }

    /// The reading that the reference of `dual` violates most.
    fn entering(&self, dual: &[Rational]) -> Option<usize> {
        let prices: Vec<f64> = dual.iter().map(|price| price.to_f64().unwrap_or(f64::INFINITY)).collect();
        let most = largest(&self.binary);
        // Rounding of the prices and of the sums, and of the entries themselves.
        let doubt = |(most, off): (&f64, &f64), price: f64| (1e-14 * most + off) * price.abs();
        let limits = most.iter().zip(&self.off);
        let doubt: f64 = limits.zip(prices.iter().copied().chain([1.0])).map(|(a, b)| doubt(a, b)).sum();
        let mut best: Option<(usize, f64)> = None;
        let mut doubtful = Vec::new();
        for (place, column) in self.binary.iter().enumerate() {
            let Some((cost, column)) = column.split_last() else { continue };
            let gain = column.iter().zip(&prices).fold(*cost, |gain, (entry, price)| gain - entry * price);
            if gain < -doubt {
                continue;
            }
            if gain <= doubt || gain.is_nan() {
                doubtful.push(place);
            } else if best.is_none_or(|(_, known)| gain > known) {
                best = Some((place, gain));
            }
        }
        // Where binary numbers see no gain any more, those too close to tell are looked at exactly.
        best.map(|(place, _)| place).or_else(|| {
            let gains = doubtful.into_iter().map(|place| (place, self.gain(place, dual)));
            let gains = gains.filter(|(_, gain)| gain.is_positive());
            gains.max_by(|a, b| a.1.cmp(&b.1)).map(|(place, _)| place)
        })
    }

    /// The same while artificial columns are still in use and their penalty counts before all else.
    fn entering_with_penalty(&self, dual: &Dual) -> Option<usize> {
        let mut best: Option<(usize, (Rational, Rational))> = None;
        for place in 0..self.binary.len() {
            let column = (self.exact)(place);
            let Some((cost, column)) = column.split_last() else { continue };
            let penalty = -product(column, &dual.penalty);
            if penalty.is_negative() {
                continue;
            }
            let gain = (penalty, cost - product(column, &dual.plain));
            let gains = gain.0.is_positive() || gain.1.is_positive();
            if gains && best.as_ref().is_none_or(|(_, known)| gain > *known) {
                best = Some((place, gain));
            }
        }
        best.map(|(place, _)| place)
    }
}

/// The largest size in each row.
fn largest(columns: &[Vec<f64>]) -> Vec<f64> {
    let rows = columns.first().map_or(0, Vec::len);
    columns.iter().fold(vec![0.0; rows], |most, column| {
        most.iter().zip(column).map(|(most, entry): (&f64, &f64)| most.max(entry.abs())).collect()
    })
}

fn product(column: &[Rational], prices: &[Rational]) -> Rational {
    let parts = column.iter().zip(prices).filter(|(entry, price)| !entry.is_zero() && !price.is_zero());
    parts.fold(Rational::zero(), |sum, (entry, price)| sum + entry * price)
}

/// `None` if nothing meets the conditions, or if there is no greatest.
pub(super) fn maximise(columns: &Columns<'_>, right: &[i64]) -> Option<Optimum> {
    let guessed = contacts(&columns.binary, right).and_then(|places| {
        let mut basis = Basis::new(right);
        places.into_iter().try_for_each(|place| basis.take_in(place, &(columns.exact)(place)))?;
        let stands = !basis.has_artificial() && basis.shares().all(|share| !share.is_negative());
        stands.then_some(basis)
    });
    guessed
        .and_then(|basis| improved(columns, basis, MOST_PIVOTS_GUESSED))
        .or_else(|| improved(columns, Basis::new(right), MOST_PIVOTS))
}

fn improved(columns: &Columns<'_>, mut basis: Basis, most: usize) -> Option<Optimum> {
    for _ in 0..most {
        let dual = basis.dual();
        let entering = match basis.has_artificial() {
            true => columns.entering_with_penalty(&dual),
            false => columns.entering(&dual.plain),
        };
        let Some(entering) = entering else {
            return basis.optimum(dual);
        };
        basis.pivot(entering, &(columns.exact)(entering))?;
    }
    None
}

/// Multiplied by a penalty that outweighs everything, and the plain part beside it.
struct Dual {
    penalty: Vec<Rational>,
    plain: Vec<Rational>,
}

/// A column in use with its row of the inverse.
struct Row {
    /// Its place and its cost; none of an artificial one.
    column: Option<(usize, Rational)>,
    /// The share of the column, then the row itself.
    entries: Vec<Rational>,
}

struct Basis {
    rows: Vec<Row>,
}

impl Basis {
    /// Artificial columns alone; `right` has no negative entry.
    fn new(right: &[i64]) -> Self {
        let row = |(place, share): (usize, &i64)| {
            let mut entries = vec![Rational::zero(); right.len() + 1];
            if let [first, inverse @ ..] = entries.as_mut_slice() {
                *first = Rational::from_integer((*share).into());
                if let Some(one) = inverse.get_mut(place) {
                    *one = Rational::one();
                }
            }
            Row { column: None, entries }
        };
        Self { rows: right.iter().enumerate().map(row).collect() }
    }

    fn has_artificial(&self) -> bool {
        self.rows.iter().any(|row| row.column.is_none())
    }

    fn shares(&self) -> impl Iterator<Item = &Rational> {
        self.rows.iter().filter_map(|row| row.entries.first())
    }

    fn dual(&self) -> Dual {
        let size = self.rows.len();
        let (mut penalty, mut plain) = (vec![Rational::zero(); size], vec![Rational::zero(); size]);
        for row in &self.rows {
            let inverse = row.entries.iter().skip(1);
            match &row.column {
                None => penalty.iter_mut().zip(inverse).for_each(|(price, entry)| *price -= entry),
                Some((_, cost)) => {
                    plain.iter_mut().zip(inverse).for_each(|(price, entry)| *price += cost * entry);
                }
            }
        }
        Dual { penalty, plain }
    }

    /// How much of each column in use the new one is made of.
    fn along(&self, column: &[Rational]) -> Vec<Rational> {
        self.rows.iter().map(|row| product(row.entries.get(1..).unwrap_or(&[]), column)).collect()
    }

    /// Brings a column in for the one that reaches zero first; `None` if none does, for then there is no greatest.
    fn pivot(&mut self, place: usize, column: &[Rational]) -> Option<()> {
        let (cost, column) = column.split_last()?;
        let along = self.along(column);
        let ratios = self.rows.iter().zip(&along).enumerate().filter(|(_, (_, along))| along.is_positive());
        let (leaving, _) = ratios
            .map(|(leaving, (row, along))| {
                (leaving, row.entries.iter().map(|entry| entry / along).collect::<Vec<_>>())
            })
            .min_by(|a, b| a.1.cmp(&b.1))?;
        self.replace(leaving, (place, cost.clone()), &along)
    }

    /// Brings a column in for an artificial one; `None` if it is made of those that are in use.
    fn take_in(&mut self, place: usize, column: &[Rational]) -> Option<()> {
        let (cost, column) = column.split_last()?;
        let along = self.along(column);
        let leaving =
            self.rows.iter().zip(&along).position(|(row, along)| row.column.is_none() && !along.is_zero())?;
        self.replace(leaving, (place, cost.clone()), &along)
    }

    fn replace(&mut self, leaving: usize, column: (usize, Rational), along: &[Rational]) -> Option<()> {
        let pivot = along.get(leaving)?;
        let row = self.rows.get_mut(leaving)?;
        row.column = Some(column);
        for entry in &mut row.entries {
            *entry /= pivot;
        }
        let pivot_row = row.entries.clone();
        for (place, (row, along)) in self.rows.iter_mut().zip(along).enumerate() {
            if place == leaving || along.is_zero() {
                continue;
            }
            for (entry, above) in row.entries.iter_mut().zip(&pivot_row) {
                if !above.is_zero() {
                    *entry -= along * above;
                }
            }
        }
        Some(())
    }

    fn optimum(&self, dual: Dual) -> Option<Optimum> {
        let mut value = Rational::zero();
        let mut contacts = Vec::new();
        for (row, share) in self.rows.iter().zip(self.shares()) {
            match &row.column {
                _ if !share.is_positive() => {}
                // Something artificial is still needed: nothing real meets the conditions.
                None => return None,
                Some((place, cost)) => {
                    value += share * cost;
                    contacts.push((*place, share.clone()));
                }
            }
        }
        contacts.sort_by_key(|(place, _)| *place);
        Some(Optimum { value, dual: dual.plain, contacts })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn column(entries: &[i64]) -> Vec<Rational> {
        entries.iter().map(|entry| ratio(*entry, 3)).collect()
    }

    #[test]
    fn the_optimum_carries_its_own_proof() {
        // u1/3 + u2/3 + u3/3 = 1 with costs 1, 5, 2: all on the second.
        let columns = [column(&[1]), column(&[1]), column(&[1])];
        let costs = [ratio(1, 7), ratio(5, 7), ratio(2, 7)];
        let best = maximise(&Columns::of(&columns, &costs), &[1]).unwrap();
        assert_eq!(best.value, ratio(15, 7));
        assert_eq!(best.contacts, [(1, ratio(3, 1))]);
        assert_eq!(best.dual, [ratio(15, 7)]);
    }

    #[test]
    fn without_a_solution_or_without_a_greatest_there_is_none() {
        let none = [column(&[-1])];
        assert!(maximise(&Columns::of(&none, &[ratio(1, 1)]), &[1]).is_none());
        let endless = [column(&[1]), column(&[-1])];
        assert!(maximise(&Columns::of(&endless, &[ratio(1, 1), ratio(1, 1)]), &[1]).is_none());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]
        /// What was guessed changes the way, never the answer: without a guess the value is the same. Small whole
        /// numbers, so that ties are the rule.
        #[test]
        fn a_guess_changes_nothing(points in proptest::collection::vec((-3i64..4, -3i64..4, -5i64..6), 4..40)) {
            let above = points.iter().map(|(x, y, _)| column(&[3, 0, *x, *y]));
            let below = points.iter().map(|(x, y, _)| column(&[0, 3, -x, -y]));
            let columns: Vec<_> = above.chain(below).collect();
            let costs: Vec<_> = points.iter().map(|p| ratio(p.2, 7)).chain(points.iter().map(|p| ratio(-p.2, 7))).collect();
            let columns = Columns::of(&columns, &costs);
            let right = [1, 1, 0, 0];
            let cold = improved(&columns, Basis::new(&right), MOST_PIVOTS).unwrap();
            let warm = maximise(&columns, &right).unwrap();
            prop_assert_eq!(&warm.value, &cold.value);
            prop_assert_eq!(&warm.dual[0] + &warm.dual[1], warm.value);
        }
    }
}
