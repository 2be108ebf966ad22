//! The best of all centres, planes or lines: a linear programme solved exactly, so that what is called the minimum zone
//! is the minimum and no search stops short of it.
//!
//! Maximise sum c_j u_j over u_j >= 0 with sum u_j A_j = b. A_j is a short column (one entry a coefficient of the
//! reference), j runs over the readings. The dual values y are the coefficients of the reference: y A_j >= c_j holds
//! for every reading, with equality at the contacts, which are the readings with u_j > 0; sum c u = y b is the
//! certificate that nothing better exists (duality of linear programmes, any textbook).
//!
//! Revised simplex method on rationals. Ties are broken in lexicographic order, so it ends on any data. Which reading
//! comes in is looked for in binary numbers; that none is left is settled in exact ones.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, ToPrimitive, Zero};

use crate::quantity::Rational;

/// Far above what any data of a bench takes (10,000 readings: about thirty).
const MOST_PIVOTS: usize = 20_000;

/// The reference that cannot be bettered.
#[derive(Clone, Debug)]
pub(super) struct Optimum {
    pub value: Rational,
    /// One a row: the coefficients of the reference.
    pub dual: Vec<Rational>,
    /// The readings that settle it, with their share.
    pub contacts: Vec<(usize, Rational)>,
}

/// `None` if nothing meets the conditions, or if there is no greatest.
pub(super) fn maximise(columns: &[Vec<Rational>], costs: &[Rational], right: &[i64]) -> Option<Optimum> {
    let programme = Programme::new(columns, costs, right);
    let mut basis = Basis::new(&programme.right);
    for _ in 0..MOST_PIVOTS {
        let dual = basis.dual(&programme);
        let Some(entering) = programme.entering(&dual, &basis) else {
            return basis.optimum(&programme, &dual);
        };
        basis.pivot(entering, programme.columns.get(entering)?)?;
    }
    None
}

/// The problem on whole numbers, and beside it in binary ones.
struct Programme {
    columns: Vec<Vec<BigInt>>,
    costs: Vec<BigInt>,
    right: Vec<BigInt>,
    row_scales: Vec<BigInt>,
    cost_scale: BigInt,
    binary: Vec<(f64, Vec<f64>)>,
    binary_rows: Vec<Rational>,
    binary_cost: Rational,
}

/// Multiplied by a penalty that outweighs everything, and the plain part beside it.
struct Dual {
    penalty: Vec<Rational>,
    plain: Vec<Rational>,
}

fn common_denominator<'a>(numbers: impl Iterator<Item = &'a Rational>) -> BigInt {
    numbers.fold(BigInt::one(), |common, number| {
        if common.is_multiple_of(number.denom()) { common } else { common.lcm(number.denom()) }
    })
}

fn whole(number: &Rational, scale: &BigInt) -> BigInt {
    number.numer() * (scale / number.denom())
}

fn largest<'a>(numbers: impl Iterator<Item = &'a BigInt>) -> Rational {
    let most = numbers.map(|number| number.abs()).max().filter(|most| !most.is_zero());
    Rational::from_integer(most.unwrap_or_else(BigInt::one))
}

fn binary(number: &Rational) -> f64 {
    number.to_f64().unwrap_or(0.0)
}

impl Programme {
    fn new(columns: &[Vec<Rational>], costs: &[Rational], right: &[i64]) -> Self {
        let rows = right.len();
        let row = |of: usize| columns.iter().filter_map(move |column| column.get(of));
        let row_scales: Vec<BigInt> = (0..rows).map(|of| common_denominator(row(of))).collect();
        let cost_scale = common_denominator(costs.iter());
        let columns: Vec<Vec<BigInt>> = columns
            .iter()
            .map(|column| column.iter().zip(&row_scales).map(|(entry, scale)| whole(entry, scale)).collect())
            .collect();
        let costs: Vec<BigInt> = costs.iter().map(|cost| whole(cost, &cost_scale)).collect();
        let binary_rows: Vec<Rational> = (0..rows)
            .map(|of| largest(columns.iter().filter_map(|column: &Vec<BigInt>| column.get(of))))
            .collect();
        let binary_cost = largest(costs.iter());
        let share = |entry: &BigInt, of: &Rational| {
            let shift = of.numer().bits().saturating_sub(64);
            let top = |whole: &BigInt| (whole >> shift).to_f64().unwrap_or(0.0);
            top(entry) / top(of.numer())
        };
        let beside = columns
            .iter()
            .zip(&costs)
            .map(|(column, cost)| {
                let column =
                    column.iter().zip(&binary_rows).map(|(entry, most)| share(entry, most)).collect();
                (share(cost, &binary_cost), column)
            })
            .collect();
        let right = right.iter().zip(&row_scales).map(|(value, scale)| scale * value).collect();
        Self { columns, costs, right, row_scales, cost_scale, binary: beside, binary_rows, binary_cost }
    }

    /// The reading that the reference of `dual` violates most.
    fn entering(&self, dual: &Dual, basis: &Basis) -> Option<usize> {
        if basis.has_artificial() {
            return self.entering_exactly(dual);
        }
        let prices: Vec<f64> = dual
            .plain
            .iter()
            .zip(&self.binary_rows)
            .map(|(price, most)| binary(&(price * most / &self.binary_cost)))
            .collect();
        let prices_size = 1.0 + prices.iter().map(|price| price.abs()).sum::<f64>();
        let gain = |cost: f64, column: &[f64]| {
            column.iter().zip(&prices).fold((cost, cost.abs()), |(gain, size), (entry, price)| {
                (gain - entry * price, size + (entry * price).abs())
            })
        };
        let mut best: Option<(usize, f64)> = None;
        let mut doubtful = Vec::new();
        for (place, (cost, column)) in self.binary.iter().enumerate() {
            let (gain, size) = gain(*cost, column);
            let doubt = 1e-13 * (size + prices_size);
            if gain > doubt && best.is_none_or(|(_, known)| gain > known) {
                best = Some((place, gain));
            } else if gain > -doubt {
                doubtful.push(place);
            }
        }
        match best {
            Some((place, _)) => Some(place),
            // Binary numbers see no gain any more; those too close to tell are looked at exactly.
            None => {
                let (prices, common) = over_common_denominator(&dual.plain);
                let gains = doubtful.into_iter().map(|place| (place, self.gain(place, &prices, &common)));
                gains
                    .filter(|(_, gain)| gain.is_positive())
                    .max_by(|a, b| a.1.cmp(&b.1))
                    .map(|(place, _)| place)
            }
        }
    }

    /// The same while artificial columns are still in the basis and the penalty counts.
    fn entering_exactly(&self, dual: &Dual) -> Option<usize> {
        let (penalties, _) = over_common_denominator(&dual.penalty);
        let (prices, common) = over_common_denominator(&dual.plain);
        let mut best: Option<(usize, (BigInt, BigInt))> = None;
        for (place, column) in self.columns.iter().enumerate() {
            let penalty = -column.iter().zip(&penalties).map(|(entry, price)| entry * price).sum::<BigInt>();
            if penalty.is_negative() {
                continue;
            }
            let gain = (penalty, self.gain(place, &prices, &common));
            let gains = gain.0.is_positive() || gain.1.is_positive();
            if gains && best.as_ref().is_none_or(|(_, known)| gain > *known) {
                best = Some((place, gain));
            }
        }
        best.map(|(place, _)| place)
    }

    fn gain(&self, place: usize, prices: &[BigInt], common: &BigInt) -> BigInt {
        let spent = self.columns.get(place).map(|column| column.iter().zip(prices).map(|(a, b)| a * b).sum());
        let cost = self.costs.get(place).map(|cost| cost * common);
        cost.unwrap_or_else(BigInt::zero) - spent.unwrap_or_else(BigInt::zero)
    }
}

fn over_common_denominator(numbers: &[Rational]) -> (Vec<BigInt>, BigInt) {
    let common = common_denominator(numbers.iter());
    (numbers.iter().map(|number| whole(number, &common)).collect(), common)
}

/// The columns in use, each with its row of the inverse; the first entry of a row is the share of the column.
struct Basis {
    rows: Vec<(Option<usize>, Vec<Rational>)>,
}

impl Basis {
    /// Artificial columns alone; `right` has no negative entry.
    fn new(right: &[BigInt]) -> Self {
        let size = right.len();
        let row = |(place, share): (usize, &BigInt)| {
            let mut row = vec![Rational::zero(); size + 1];
            if let [first, inverse @ ..] = row.as_mut_slice() {
                *first = Rational::from_integer(share.clone());
                if let Some(one) = inverse.get_mut(place) {
                    *one = Rational::one();
                }
            }
            (None, row)
        };
        Self { rows: right.iter().enumerate().map(row).collect() }
    }

    fn has_artificial(&self) -> bool {
        self.rows.iter().any(|(column, _)| column.is_none())
    }

    fn dual(&self, programme: &Programme) -> Dual {
        let size = self.rows.len();
        let (mut penalty, mut plain) = (vec![Rational::zero(); size], vec![Rational::zero(); size]);
        for (column, row) in &self.rows {
            let cost = column.and_then(|place| programme.costs.get(place));
            let inverse = row.iter().skip(1);
            match cost {
                None => penalty.iter_mut().zip(inverse).for_each(|(price, entry)| *price -= entry),
                Some(cost) => {
                    let cost = Rational::from_integer(cost.clone());
                    plain.iter_mut().zip(inverse).for_each(|(price, entry)| *price += &cost * entry);
                }
            }
        }
        Dual { penalty, plain }
    }

    /// Brings a column in for the one that reaches zero first; `None` if none does, for then there is no greatest.
    fn pivot(&mut self, entering: usize, column: &[BigInt]) -> Option<()> {
        let along: Vec<Rational> = self
            .rows
            .iter()
            .map(|(_, row)| {
                let products = row.iter().skip(1).zip(column).filter(|(entry, _)| !entry.is_zero());
                products.fold(Rational::zero(), |sum, (entry, whole)| sum + entry * whole)
            })
            .collect();
        let ratios = self.rows.iter().zip(&along).enumerate().filter(|(_, (_, along))| along.is_positive());
        let (leaving, _) = ratios
            .map(|(place, ((_, row), along))| {
                (place, row.iter().map(|entry| entry / along).collect::<Vec<_>>())
            })
            .min_by(|a, b| a.1.cmp(&b.1))?;
        let pivot = along.get(leaving)?.clone();
        let (name, row) = self.rows.get_mut(leaving)?;
        *name = Some(entering);
        for entry in row.iter_mut() {
            *entry /= &pivot;
        }
        let pivot_row = row.clone();
        for (place, ((_, row), along)) in self.rows.iter_mut().zip(&along).enumerate() {
            if place == leaving || along.is_zero() {
                continue;
            }
            for (entry, above) in row.iter_mut().zip(&pivot_row) {
                *entry -= along * above;
            }
        }
        Some(())
    }

    fn optimum(&self, programme: &Programme, dual: &Dual) -> Option<Optimum> {
        let cost_scale = Rational::from_integer(programme.cost_scale.clone());
        let mut value = Rational::zero();
        let mut contacts = Vec::new();
        for (column, row) in &self.rows {
            let share = row.first().filter(|share| share.is_positive());
            match (column, share) {
                (_, None) => {}
                // Something artificial is still needed: nothing real meets the conditions.
                (None, Some(_)) => return None,
                (Some(place), Some(share)) => {
                    value += share * programme.costs.get(*place)?;
                    contacts.push((*place, share.clone()));
                }
            }
        }
        let scaled = |(price, scale): (&Rational, &BigInt)| price * scale / &cost_scale;
        contacts.sort_by_key(|(place, _)| *place);
        Some(Optimum {
            value: value / &cost_scale,
            dual: dual.plain.iter().zip(&programme.row_scales).map(scaled).collect(),
            contacts,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    fn column(entries: &[i64]) -> Vec<Rational> {
        entries.iter().map(|entry| ratio(*entry, 3)).collect()
    }

    #[test]
    fn the_optimum_carries_its_own_proof() {
        // u1/3 + u2/3 + u3/3 = 1 with costs 1, 5, 2: all on the second.
        let columns = [column(&[1]), column(&[1]), column(&[1])];
        let costs = [ratio(1, 7), ratio(5, 7), ratio(2, 7)];
        let best = maximise(&columns, &costs, &[1]).unwrap();
        assert_eq!(best.value, ratio(15, 7));
        assert_eq!(best.contacts, [(1, ratio(3, 1))]);
        assert_eq!(best.dual, [ratio(15, 7)]);
    }

    #[test]
    fn without_a_solution_or_without_a_greatest_there_is_none() {
        assert!(maximise(&[column(&[-1])], &[ratio(1, 1)], &[1]).is_none());
        assert!(maximise(&[column(&[1]), column(&[-1])], &[ratio(1, 1), ratio(1, 1)], &[1]).is_none());
    }
}
