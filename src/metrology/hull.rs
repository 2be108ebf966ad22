//! The upper convex hull of points in order of their stations, on whole numbers, so that no corner is lost to rounding.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Zero};

use super::Fault;
use crate::quantity::{Rational, Real};

/// Common denominators longer than this are refused; readings at a bench have a few dozen bits.
const MOST_BITS: u64 = 8192;

/// Numbers multiplied by the one common denominator that makes them all whole. Of a number that is not exact the
/// middle is taken: it decides which points count, while the result is worked out with the bounds.
pub(super) fn whole_numbers(numbers: &[&Real]) -> Result<(Vec<BigInt>, BigInt), Fault> {
    let middles: Vec<Rational> = numbers.iter().map(|number| number.middle()).collect();
    let mut common = BigInt::one();
    for middle in &middles {
        if !common.is_multiple_of(middle.denom()) {
            common = common.lcm(middle.denom());
        }
        if common.bits() > MOST_BITS {
            return Err(Fault::IllConditioned);
        }
    }
    let whole = middles.iter().map(|middle| middle.numer() * (&common / middle.denom())).collect();
    Ok((whole, common))
}

/// A point by the position of its station.
#[derive(Clone, Debug)]
pub(super) struct Point {
    pub place: usize,
    pub x: BigInt,
    pub y: BigInt,
}

/// Whether the corner at `b`, coming from `a` and going to `c`, may be left out of an upper hull.
/// The three stand in order of their stations, rising or falling.
fn is_below(a: &Point, b: &Point, c: &Point) -> bool {
    let turn = (&b.x - &a.x) * (&c.y - &a.y) - (&b.y - &a.y) * (&c.x - &a.x);
    if c.x > a.x { turn >= BigInt::zero() } else { turn <= BigInt::zero() }
}

/// Puts a point on the end of an upper hull and returns the corners that it hides, in the order they were taken off.
pub(super) fn push(hull: &mut Vec<Point>, point: Point) -> Vec<Point> {
    let mut hidden = Vec::new();
    while let [.., a, b] = hull.as_slice() {
        if !is_below(a, b, &point) {
            break;
        }
        hidden.extend(hull.pop());
    }
    hull.push(point);
    hidden
}
