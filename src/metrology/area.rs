//! The worst window of two given lengths over a measured grid ("local" flatness).
//!
//! Tried is every window of W by W2 inside what was measured whose sides begin or end at a line of the grid; at its
//! other sides the value is interpolated, straight along each of the two directions. Its spread is the greatest less
//! the least value in it. The values are ordinates from one plane over the whole grid. Unsigned. A window longer than
//! what was measured in a direction is judged over what there is there, and says so.

use super::line::{in_order, interpolate};
use super::{Fault, enough, greatest, least};
use crate::quantity::Real;

/// The worst window, the first of them if several are as bad.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Area {
    pub from: (Real, Real),
    pub to: (Real, Real),
    pub value: Real,
    /// The window was longer than what was measured, in one direction or both.
    pub shortened: bool,
}

/// `rows` holds for each of `xs` the values at `ys`. Needs two lines of the grid in each direction.
pub fn worst_area(
    xs: &[Real],
    ys: &[Real],
    rows: &[Vec<Real>],
    lengths: (&Real, &Real),
) -> Result<Area, Fault> {
    enough(xs, 2)?;
    enough(ys, 2)?;
    let unpaired = rows.iter().map(Vec::len).find(|values| *values != ys.len());
    if rows.len() != xs.len() || unpaired.is_some() {
        return Err(Fault::Unpaired { stations: ys.len(), values: unpaired.unwrap_or(rows.len()) });
    }
    if !lengths.0.is_positive() || !lengths.1.is_positive() {
        return Err(Fault::NotPositive("the length of the window"));
    }
    let (x_order, y_order) = (in_order(xs)?, in_order(ys)?);
    let sorted = |list: &[Real], order: &[usize]| pick(list, order);
    let rows: Vec<Vec<Real>> =
        x_order.iter().filter_map(|place| rows.get(*place)).map(|row| sorted(row, &y_order)).collect();
    let (xs, ys) = (sorted(xs, &x_order), sorted(ys, &y_order));
    let ((x_sides, x_short), (y_sides, y_short)) = (sides(&xs, lengths.0)?, sides(&ys, lengths.1)?);
    let columns: Vec<Vec<Real>> =
        (0..ys.len()).map(|y| rows.iter().filter_map(|row| row.get(y).cloned()).collect()).collect();
    let mut worst: Option<Area> = None;
    for (left, right) in &x_sides {
        // What lies between the two sides, at each line across: the inner stations and the two interpolated ends.
        let strips: Vec<Vec<Real>> =
            columns.iter().map(|column| within(&xs, column, left, right)).collect::<Result<_, _>>()?;
        for (near, far) in &y_sides {
            let value = spread(&ys, &strips, near, far)?;
            if worst.as_ref().is_none_or(|known| known.value < value) {
                let (from, to) = ((left.clone(), near.clone()), (right.clone(), far.clone()));
                worst = Some(Area { from, to, value, shortened: x_short || y_short });
            }
        }
    }
    worst.ok_or(Fault::IllConditioned)
}

fn pick(list: &[Real], order: &[usize]) -> Vec<Real> {
    order.iter().filter_map(|place| list.get(*place).cloned()).collect()
}

/// The two ends of every window along one direction, the stations rising; and whether the window was too long.
fn sides(stations: &[Real], length: &Real) -> Result<(Vec<(Real, Real)>, bool), Fault> {
    let (Some(first), Some(last)) = (stations.first(), stations.last()) else {
        return Err(Fault::TooFew { needed: 2, found: stations.len() });
    };
    let measured = last - first;
    if !length.is_less(&measured) {
        return Ok((vec![(first.clone(), last.clone())], measured.is_less(length)));
    }
    let begins = stations.iter().map(|from| (from.clone(), from + length));
    let ends = stations.iter().map(|to| (to - length, to.clone()));
    let mut sides: Vec<(Real, Real)> =
        begins.chain(ends).filter(|(from, to)| from.is_at_least(first) && to.is_at_most(last)).collect();
    sides.sort();
    sides.dedup();
    Ok((sides, false))
}

/// The values at the stations between two places, and those interpolated at the places.
fn within(stations: &[Real], values: &[Real], from: &Real, to: &Real) -> Result<Vec<Real>, Fault> {
    let inside = stations.partition_point(|x| x <= from)..stations.partition_point(|x| x < to);
    let at = |place| interpolate(stations, values, place).ok_or(Fault::IllConditioned);
    let mut found = vec![at(from)?];
    found.extend(values.get(inside).unwrap_or_default().iter().cloned());
    found.push(at(to)?);
    Ok(found)
}

fn spread(ys: &[Real], strips: &[Vec<Real>], near: &Real, far: &Real) -> Result<Real, Fault> {
    let width = strips.first().map_or(0, Vec::len);
    let mut values = Vec::new();
    for place in 0..width {
        let along: Vec<Real> = strips.iter().filter_map(|strip| strip.get(place).cloned()).collect();
        values.extend(within(ys, &along, near, far)?);
    }
    Ok(&greatest(&values)? - &least(&values)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metrology::{Rule, worst_window};
    use crate::quantity::ratio;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn the_worst_window_holds_the_step() {
        let axis = whole(&[0, 10, 20, 30]);
        let rows = [[0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 7, 0], [0, 0, 0, -2]].map(|row| whole(&row)).to_vec();
        let worst = worst_area(&axis, &axis, &rows, (&Real::from(10), &Real::from(10))).unwrap();
        assert_eq!((worst.value, worst.shortened), (Real::from(9), false));
        assert_eq!(worst.from, (Real::from(20), Real::from(20)));
        let small = worst_area(&axis, &axis, &rows, (&Real::from(5), &Real::from(5))).unwrap();
        // From (20, 20) to (25, 25): the value in the middle of the last cell is (7 + 0 + 0 - 2) / 4.
        assert_eq!(small.value, Real::Exact(ratio(23, 4)));
    }

    #[test]
    fn a_window_as_wide_as_the_grid_is_that_of_a_line() {
        let (xs, ys) = (whole(&[0, 7, 20, 45]), whole(&[0, 1]));
        let profile = whole(&[3, -1, 4, 1]);
        let rows: Vec<Vec<Real>> = profile.iter().map(|value| vec![value.clone(); 2]).collect();
        for length in [3, 10, 22] {
            let length = Real::from(length);
            let area = worst_area(&xs, &ys, &rows, (&length, &Real::from(5))).unwrap();
            let line = worst_window(&xs, &profile, &length, Rule::Spread).unwrap();
            assert_eq!((area.value, area.from.0), (line.value, line.from));
            assert!(area.shortened);
        }
    }

    #[test]
    fn a_grid_with_a_hole_is_refused() {
        let axis = whole(&[0, 10]);
        let rows = vec![whole(&[1, 2]), whole(&[1])];
        let found = worst_area(&axis, &axis, &rows, (&Real::from(5), &Real::from(5)));
        assert_eq!(found, Err(Fault::Unpaired { stations: 2, values: 1 }));
    }
}
