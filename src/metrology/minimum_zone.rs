//! The minimum zone of a line: the slope s at which max(y - s x) - min(y - s x) is least.
//!
//! As s rises, the upper contact moves along the upper hull toward the first station and the lower contact along the
//! lower hull toward the last. The width falls while the lower contact stands before the upper one, so it is least at the edge where they
//! pass each other: high-low-high or low-high-low contact, exact, in O(n log n).

use num_bigint::BigInt;

use super::hull::{Point, push, whole_numbers};
use super::line::Line;
use super::{Fault, greatest, least};
use crate::quantity::Real;

/// The line midway in the zone. `order` names the stations from the least to the greatest; there are at least two.
pub(super) fn middle_line(stations: &[Real], values: &[Real], order: &[usize]) -> Result<Line, Fault> {
    let (xs, _) = whole_numbers(&stations.iter().collect::<Vec<_>>())?;
    let (ys, _) = whole_numbers(&values.iter().collect::<Vec<_>>())?;
    let hull = |sign: i8| {
        let mut hull = Vec::new();
        for place in order {
            if let (Some(x), Some(y)) = (xs.get(*place), ys.get(*place)) {
                push(&mut hull, Point { place: *place, x: x.clone(), y: y * BigInt::from(sign) });
            }
        }
        hull
    };
    let (upper, lower) = (hull(1), hull(-1));
    let (from, to) = contact_edge(&upper, &lower).ok_or(Fault::SamePlace)?;
    let point = |place: usize| stations.get(place).zip(values.get(place));
    let mut line =
        point(from).zip(point(to)).and_then(|(from, to)| Line::through(from, to)).ok_or(Fault::SamePlace)?;
    let departures: Vec<Real> = stations.iter().zip(values).map(|(x, y)| y - &line.at(x)).collect();
    let middle = (&greatest(&departures)? + &least(&departures)?).half();
    line.value = &line.value + &middle;
    Ok(line)
}

/// The two stations whose join has the slope of the zone. The lower hull is given turned upside down.
fn contact_edge(upper: &[Point], lower: &[Point]) -> Option<(usize, usize)> {
    let mut above = upper.len().checked_sub(1)?;
    let mut below = 0;
    loop {
        let up = above.checked_sub(1).and_then(|next| Some((upper.get(next)?, upper.get(above)?)));
        let low = lower.get(below).zip(lower.get(below + 1));
        let (edge, moves_up) = match (up, low) {
            (Some(up), Some(low)) if rises_less(up, low) => (up, true),
            (_, Some(low)) => (low, false),
            (Some(up), None) => (up, true),
            (None, None) => return None,
        };
        if moves_up {
            above -= 1;
        } else {
            below += 1;
        }
        if lower.get(below)?.x >= upper.get(above)?.x {
            return Some((edge.0.place, edge.1.place));
        }
    }
}

/// Whether the slope of an upper edge is at most that of a lower one (whose values are turned upside down).
fn rises_less(upper: (&Point, &Point), lower: (&Point, &Point)) -> bool {
    let (up, up_run) = (&upper.1.y - &upper.0.y, &upper.1.x - &upper.0.x);
    let (low, low_run) = (&lower.0.y - &lower.1.y, &lower.1.x - &lower.0.x);
    up * low_run <= low * up_run
}
