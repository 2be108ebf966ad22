//! The worst window of a given length along a measured line ("local" tolerances).
//!
//! Of every window of length W inside what was measured, wherever it lies; between stations the value is interpolated.
//!
//! - by spread: greatest less least value in the window. The values are ordinates from one line over the whole length. It
//!   is greatest where the window begins or ends at a station.
//! - by chord: greatest departure in the window from the line through its own two ends. It may be greatest where neither
//!   end is at a station (`window_between`).
//!
//! Both unsigned. A window longer than what was measured is judged over what there is, and says so. The windows that
//! begin at a station are walked from the first to the last with the extremes kept in a queue; those that end at a
//! station are the same walk from the other end. O(n log n), on whole numbers.

use std::collections::VecDeque;

use num_bigint::BigInt;
use num_traits::Signed;

use super::hull::{Point, push, whole_numbers};
use super::line::{Line, in_order, interpolate};
use super::statistics::widened;
use super::window_between::{Known, Profile, worst_between};
use super::{Fault, greatest, paired, range};
use crate::quantity::{Rational, Real};

/// How a window is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rule {
    Spread,
    Chord,
}

/// The worst window, the first of them if several are as bad.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    pub from: Real,
    pub to: Real,
    pub value: Real,
    /// The window was longer than what was measured, and is judged over all of it.
    pub shortened: bool,
}

/// Needs two stations, in any order, none twice.
pub fn worst_window(stations: &[Real], values: &[Real], length: &Real, rule: Rule) -> Result<Window, Fault> {
    paired(stations, values, 2)?;
    if !length.is_positive() {
        return Err(Fault::NotPositive("the length of the window"));
    }
    let order = in_order(stations)?;
    let sorted =
        |list: &[Real]| order.iter().filter_map(|place| list.get(*place).cloned()).collect::<Vec<_>>();
    let (stations, values) = (sorted(stations), sorted(values));
    let (Some(first), Some(last)) = (stations.first(), stations.last()) else {
        return Err(Fault::TooFew { needed: 2, found: 0 });
    };
    let measured = last - first;
    let (from, to) = if length.is_less(&measured) {
        worst_place(&stations, &values, length, rule)?
    } else {
        (first.clone(), last.clone())
    };
    let value = judge(&stations, &values, (&from, &to), rule)?;
    // Each value in a window is off by at most the greatest bound, and so is the line that it is held against.
    let bound = values.iter().map(Real::bound).fold(0.0, f64::max);
    let value = widened(&value, 2.0 * bound)?;
    Ok(Window { from, to, value, shortened: measured.is_less(length) })
}

/// Judges one window; its ends lie within the stations, which rise.
fn judge(stations: &[Real], values: &[Real], ends: (&Real, &Real), rule: Rule) -> Result<Real, Fault> {
    let at = |place| interpolate(stations, values, place).ok_or(Fault::IllConditioned);
    let (low, high) = (at(ends.0)?, at(ends.1)?);
    let inside = stations.partition_point(|x| x < ends.0)..stations.partition_point(|x| x <= ends.1);
    let inner = values.get(inside.clone()).unwrap_or_default();
    match rule {
        Rule::Spread => {
            let mut all = inner.to_vec();
            all.extend([low, high]);
            range(&all)
        }
        Rule::Chord => {
            let chord = Line::through((ends.0, &low), (ends.1, &high)).ok_or(Fault::SamePlace)?;
            let places = stations.get(inside).unwrap_or_default();
            let mut departures: Vec<Real> =
                places.iter().zip(inner).map(|(x, y)| (y - &chord.at(x)).abs()).collect();
            departures.push(Real::zero());
            greatest(&departures)
        }
    }
}

/// Where the worst window begins and ends; of several that are equally bad the first that meets a station.
fn worst_place(stations: &[Real], values: &[Real], length: &Real, rule: Rule) -> Result<(Real, Real), Fault> {
    let (mut xs, scale) = whole_numbers(&stations.iter().chain([length]).collect::<Vec<_>>())?;
    let length_whole = xs.pop().ok_or(Fault::IllConditioned)?;
    let (mut ys, _) = whole_numbers(&values.iter().collect::<Vec<_>>())?;
    let begins = of_beginnings(&xs, &ys, &length_whole, rule).ok_or(Fault::IllConditioned)?;
    // The same profile seen from the other end: where windows ended they now begin.
    let turned: Vec<BigInt> = xs.iter().rev().map(|x| -x).collect();
    ys.reverse();
    let ends = of_beginnings(&turned, &ys, &length_whole, rule).ok_or(Fault::IllConditioned)?;
    ys.reverse();
    let mut known: Vec<Known> =
        xs.iter().zip(begins).map(|(x, value)| Known { from: x.clone(), value }).collect();
    known.extend(turned.iter().zip(ends).map(|(x, value)| Known { from: -x - &length_whole, value }));
    known.sort_by(Known::in_order);
    if rule == Rule::Chord
        && let Some(from) = worst_between(&Profile { xs: &xs, ys: &ys, length: &length_whole }, &known)
    {
        let from = Real::Exact(from / scale);
        return Ok((from.clone(), &from + length));
    }
    let worst = known.iter().reduce(|a, b| if b.value > a.value { b } else { a });
    let from = &worst.ok_or(Fault::IllConditioned)?.from;
    // As the stations were given: of one that is not known exactly, with its bound.
    let place = |x: &BigInt| xs.binary_search(x).ok().and_then(|place| stations.get(place));
    match (place(from), place(&(from + &length_whole))) {
        (Some(station), _) => Ok((station.clone(), station + length)),
        (None, Some(station)) => Ok((station - length, station.clone())),
        (None, None) => Err(Fault::IllConditioned),
    }
}

/// The value of each window that begins at a station, from the first station on.
fn of_beginnings(xs: &[BigInt], ys: &[BigInt], length: &BigInt, rule: Rule) -> Option<Vec<Rational>> {
    let mut spread = SpreadQueue::default();
    let (mut above, mut below) = (HullQueue::new(1), HullQueue::new(-1));
    let mut next = 0;
    let mut found = Vec::new();
    for (place, (x, y)) in xs.iter().zip(ys).enumerate() {
        let end = x + length;
        if xs.last()? < &end {
            break;
        }
        while let Some((inner_x, inner_y)) =
            xs.get(next).zip(ys.get(next)).filter(|(inner, _)| **inner <= end)
        {
            match rule {
                Rule::Spread => spread.push(next, inner_y),
                Rule::Chord => {
                    above.push(next, inner_x, inner_y);
                    below.push(next, inner_x, inner_y);
                }
            }
            next += 1;
        }
        // The value at the end, as a fraction with a positive denominator.
        let (left_x, left_y) = xs.get(next - 1).zip(ys.get(next - 1))?;
        let (end_y, share) = match xs.get(next).zip(ys.get(next)) {
            Some((right_x, right_y)) if left_x < &end => {
                let gap = right_x - left_x;
                (left_y * &gap + (right_y - left_y) * (&end - left_x), gap)
            }
            _ => (left_y.clone(), BigInt::from(1)),
        };
        let value = match rule {
            Rule::Spread => {
                let end_y = Rational::new(end_y, share);
                let (low, high) = spread.extremes()?;
                end_y.clone().max(Rational::from_integer(high)) - end_y.min(Rational::from_integer(low))
            }
            Rule::Chord => {
                let (run, rise) = (length * &share, end_y - y * &share);
                let departure = |queue: &HullQueue| {
                    let corner = |point: &Point| {
                        let height = (ys.get(point.place)? - y) * &run - &rise * (&point.x - x);
                        Some(height.abs())
                    };
                    queue.furthest(&run, &rise).iter().filter_map(|point| corner(point)).max()
                };
                Rational::new(departure(&above).max(departure(&below))?, run)
            }
        };
        match rule {
            Rule::Spread => spread.pop(place),
            Rule::Chord => {
                above.pop();
                below.pop();
            }
        }
        found.push(value);
    }
    Some(found)
}

/// The greatest and least of a window that only moves forward.
#[derive(Debug, Default)]
struct SpreadQueue {
    falling: VecDeque<(usize, BigInt)>,
    rising: VecDeque<(usize, BigInt)>,
}

impl SpreadQueue {
    fn push(&mut self, place: usize, y: &BigInt) {
        while self.falling.back().is_some_and(|(_, last)| last <= y) {
            self.falling.pop_back();
        }
        while self.rising.back().is_some_and(|(_, last)| last >= y) {
            self.rising.pop_back();
        }
        self.falling.push_back((place, y.clone()));
        self.rising.push_back((place, y.clone()));
    }

    /// Takes the station at `place`, the first of the window, out of it.
    fn pop(&mut self, place: usize) {
        for queue in [&mut self.falling, &mut self.rising] {
            if queue.front().is_some_and(|(first, _)| *first == place) {
                queue.pop_front();
            }
        }
    }

    fn extremes(&self) -> Option<(BigInt, BigInt)> {
        Some((self.rising.front()?.1.clone(), self.falling.front()?.1.clone()))
    }
}

/// The upper hull (with `sign` -1 the lower one) of a window that only moves forward: a queue made of two stacks.
/// `back` takes points on; when `front` is used up it is built anew from all points of `back`, last point first, and
/// remembers what each point hid, so that taking the first point off brings that to light again.
#[derive(Debug)]
struct HullQueue {
    sign: i8,
    back: Vec<Point>,
    waiting: Vec<Point>,
    front: Vec<Point>,
    hidden: Vec<Vec<Point>>,
}

impl HullQueue {
    fn new(sign: i8) -> Self {
        Self { sign, back: Vec::new(), waiting: Vec::new(), front: Vec::new(), hidden: Vec::new() }
    }

    fn push(&mut self, place: usize, x: &BigInt, y: &BigInt) {
        let point = Point { place, x: x.clone(), y: y * BigInt::from(self.sign) };
        self.waiting.push(point.clone());
        push(&mut self.back, point);
    }

    fn pop(&mut self) {
        if self.hidden.is_empty() {
            self.back.clear();
            for point in self.waiting.drain(..).rev() {
                self.hidden.push(push(&mut self.front, point));
            }
        }
        if let Some(hidden) = self.hidden.pop() {
            self.front.pop();
            self.front.extend(hidden.into_iter().rev());
        }
    }

    /// The points, one of each stack, that stand highest above lines of slope `rise / run`.
    fn furthest(&self, run: &BigInt, rise: &BigInt) -> Vec<&Point> {
        let rise = rise * BigInt::from(self.sign);
        [&self.front, &self.back].into_iter().filter_map(|hull| highest(hull, run, &rise)).collect()
    }
}

/// The corner of an upper hull that is highest above lines of slope `rise / run`, `run` positive.
fn highest<'a>(hull: &'a [Point], run: &BigInt, rise: &BigInt) -> Option<&'a Point> {
    let (mut low, mut high) = (0, hull.len().checked_sub(1)?);
    while low < high {
        let middle = low + (high - low) / 2;
        let (here, next) = (hull.get(middle)?, hull.get(middle + 1)?);
        if (&next.y - &here.y) * run > rise * (&next.x - &here.x) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    hull.get(low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn the_two_rules_disagree_on_a_steep_but_even_slope() {
        let (stations, values) = (whole(&[0, 10, 20, 30]), whole(&[0, 0, 8, 0]));
        let worst = |rule| worst_window(&stations, &values, &Real::from(10), rule).unwrap();
        assert_eq!(worst(Rule::Spread).value, Real::from(8));
        assert_eq!((worst(Rule::Spread).from, worst(Rule::Spread).to), (Real::from(10), Real::from(20)));
        // Along the slope a chord has nothing to depart from; over the ridge it has.
        assert_eq!((worst(Rule::Chord).from, worst(Rule::Chord).value), (Real::from(15), Real::from(4)));
    }

    #[test]
    fn a_window_that_ends_at_a_station_counts_too() {
        // The steep end is caught whole only by the window from 13, between two stations, to 25.
        let (stations, values) = (whole(&[0, 10, 20, 25]), whole(&[0, 0, 2, 9]));
        let worst = worst_window(&stations, &values, &Real::from(12), Rule::Spread).unwrap();
        assert_eq!(
            (worst.from, worst.to, worst.value),
            (Real::from(13), Real::from(25), Real::Exact(ratio(42, 5)))
        );
    }

    #[test]
    fn a_window_longer_than_what_was_measured_is_judged_over_what_there_is_and_says_so() {
        let (stations, values) = (whole(&[0, 100, 200]), whole(&[0, 5, 0]));
        let worst = |length: i64| worst_window(&stations, &values, &Real::from(length), Rule::Chord).unwrap();
        assert!(worst(250).shortened);
        assert_eq!((worst(250).value, worst(250).to), (Real::from(5), Real::from(200)));
        assert!(!worst(200).shortened, "just as long is not longer");
        let none = worst_window(&stations, &values, &Real::zero(), Rule::Spread);
        assert_eq!(none, Err(Fault::NotPositive("the length of the window")));
    }

    #[test]
    fn ten_thousand_stations_are_no_trouble() {
        let stations: Vec<Real> = (0..10_000).map(|i| Real::Exact(ratio(i * 25, 2))).collect();
        let values: Vec<Real> =
            (0..10_000i64).map(|i| Real::Exact(ratio(i * i * 7919 % 1009, 1000))).collect();
        for rule in [Rule::Spread, Rule::Chord] {
            let worst = worst_window(&stations, &values, &Real::from(50_000), rule).unwrap();
            assert!(worst.value.is_positive());
        }
    }

    /// What one station departs by from the chord of the window that begins at `from`.
    fn departure(stations: &[Real], values: &[Real], place: usize, from: &Real, length: &Real) -> Real {
        let end = |at: &Real| interpolate(stations, values, at).unwrap();
        let to = from + length;
        let chord = Line::through((from, &end(from)), (&to, &end(&to))).unwrap();
        &values[place] - &chord.at(&stations[place])
    }

    /// Where the parabola through three departures, at both ends of a range and at its middle, has its vertex.
    fn vertex([low, middle, high]: [&Real; 3], from: &Real, width: &Real) -> Option<Real> {
        let bend = &(&(low + high) - middle) - middle;
        let share = (&(low - high) * &Real::Exact(ratio(1, 4))).div(&bend)?;
        Some(&(from + &width.half()) + &(&share * width))
    }

    #[test]
    fn a_window_by_chord_may_be_worst_between_two_stations() {
        // Over a ridge of 1 in 2 the chord of a window of 24 lies 6 below it where it reaches as far on both sides, and 10/3
        // where the window begins at the end.
        let (stations, values) = (whole(&[0, 20, 40]), whole(&[0, 10, 0]));
        let worst = worst_window(&stations, &values, &Real::from(24), Rule::Chord).unwrap();
        assert_eq!((worst.from, worst.to, worst.value), (Real::from(8), Real::from(32), Real::from(6)));
    }

    proptest! {
        /// Found a second way: every window judged by itself.
        #[test]
        fn the_worst_of_all_windows_is_found(points in proptest::collection::vec((1i64..60, -30i64..30), 2..14), length in 1i64..900) {
            let mut place = 0;
            let stations: Vec<Real> = points.iter().map(|(step, _)| { place += step; Real::Exact(ratio(place, 2)) }).collect();
            let values: Vec<Real> = points.iter().map(|(_, value)| Real::from(*value)).collect();
            let length = Real::Exact(ratio(length, 4));
            let (first, last) = (&stations[0], &stations[stations.len() - 1]);
            for rule in [Rule::Spread, Rule::Chord] {
                let found = worst_window(&stations, &values, &length, rule).unwrap();
                if found.shortened {
                    prop_assert_eq!(&(last - first), &(&found.to - &found.from));
                    continue;
                }
                let inside = |from: &Real| *first <= *from && &(from + &length) <= last;
                let mut at_stations: Vec<Real> = stations.iter().flat_map(|at| [at.clone(), at - &length]).filter(inside).collect();
                at_stations.sort();
                let mut all = at_stations.clone();
                for pair in at_stations.windows(2).filter(|_| rule == Rule::Chord) {
                    let (from, width) = (&pair[0], &pair[1] - &pair[0]);
                    let middle = from + &width.half();
                    for (place, station) in stations.iter().enumerate() {
                        if &middle < station && station < &(&middle + &length) {
                            let at = |from: &Real| departure(&stations, &values, place, from, &length);
                            let vertex = vertex([&at(from), &at(&middle), &at(&pair[1])], from, &width);
                            all.extend(vertex.filter(|vertex| from < vertex && vertex < &pair[1]));
                        }
                    }
                }
                let mut worst: Option<Real> = None;
                for from in all {
                    let value = judge(&stations, &values, (&from, &(&from + &length)), rule).unwrap();
                    if worst.as_ref().is_none_or(|known| value > *known) {
                        worst = Some(value);
                    }
                }
                prop_assert_eq!(Some(&found.value), worst.as_ref());
                prop_assert_eq!(judge(&stations, &values, (&found.from, &found.to), rule).unwrap(), found.value);
            }
        }
    }
}
