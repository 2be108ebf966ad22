//! Small systems of linear equations and linear least squares on [`Real`]s: exact where the numbers are.
//!
//! Elimination with the largest pivot of its column; a pivot that is zero, or may be zero within its bound, means that
//! the numbers do not settle a result.

use super::{Fault, statistics::total};
use crate::quantity::Real;

/// The x with `matrix` x = `right`.
pub(super) fn solve(mut matrix: Vec<Vec<Real>>, right: Vec<Real>) -> Result<Vec<Real>, Fault> {
    for (row, value) in matrix.iter_mut().zip(right) {
        row.push(value);
    }
    let size = matrix.len();
    for column in 0..size {
        let largest = matrix
            .iter()
            .enumerate()
            .skip(column)
            .max_by(|a, b| entry(a.1, column).to_f64().abs().total_cmp(&entry(b.1, column).to_f64().abs()))
            .map(|(place, _)| place)
            .ok_or(Fault::IllConditioned)?;
        matrix.swap(column, largest);
        let pivot_row = matrix.get(column).cloned().ok_or(Fault::IllConditioned)?;
        let pivot = entry(&pivot_row, column);
        for (place, row) in matrix.iter_mut().enumerate() {
            let factor = entry(row, column).div(&pivot).ok_or(Fault::IllConditioned)?;
            if place == column || factor.exact().is_some_and(num_traits::Zero::is_zero) {
                continue;
            }
            for (value, above) in row.iter_mut().zip(&pivot_row).skip(column) {
                *value = &*value - &(&factor * above);
            }
        }
    }
    let solved: Option<Vec<Real>> =
        matrix.iter().enumerate().map(|(place, row)| entry(row, size).div(&entry(row, place))).collect();
    match solved {
        Some(solved) if solved.iter().all(Real::is_bounded) => Ok(solved),
        _ => Err(Fault::IllConditioned),
    }
}

fn entry(row: &[Real], column: usize) -> Real {
    row.get(column).cloned().unwrap_or_else(Real::zero)
}

/// The x for which the sum of `weights` (`rows` x - `values`)^2 is least, by the normal equations.
pub(super) fn least_squares(
    rows: &[Vec<Real>],
    values: &[Real],
    weights: &[Real],
) -> Result<Vec<Real>, Fault> {
    let width = rows.first().map_or(0, Vec::len);
    if rows.len() < width {
        return Err(Fault::TooFew { needed: width, found: rows.len() });
    }
    let product = |of: &dyn Fn(&[Real], &Real) -> Real| {
        total(rows.iter().zip(values).zip(weights).map(|((row, value), weight)| &of(row, value) * weight))
    };
    let matrix = (0..width)
        .map(|a| (0..width).map(|b| product(&|row, _| &entry(row, a) * &entry(row, b))).collect())
        .collect();
    let right = (0..width).map(|a| product(&|row, value| &entry(row, a) * value)).collect();
    solve(matrix, right)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    fn whole(rows: &[&[i64]]) -> Vec<Vec<Real>> {
        rows.iter().map(|row| row.iter().copied().map(Real::from).collect()).collect()
    }

    #[test]
    fn a_system_is_solved_exactly_and_a_singular_one_refused() {
        let solved = solve(whole(&[&[0, 2], &[3, 1]]), vec![Real::from(1), Real::from(2)]).unwrap();
        assert_eq!(solved, [Real::Exact(ratio(1, 2)), Real::Exact(ratio(1, 2))]);
        let singular = solve(whole(&[&[1, 2], &[2, 4]]), vec![Real::from(1), Real::from(2)]);
        assert_eq!(singular, Err(Fault::IllConditioned));
    }

    #[test]
    fn weights_count() {
        let rows = whole(&[&[1], &[1]]);
        let values = [Real::from(0), Real::from(3)];
        let mean = least_squares(&rows, &values, &[Real::from(2), Real::from(1)]).unwrap();
        assert_eq!(mean, [Real::from(1)]);
    }
}
