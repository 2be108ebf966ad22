//! The worst window by chord that neither begins nor ends at a station.
//!
//! While a window moves between two places where one of its ends meets a station, its ends run along two straight lines,
//! and the departure of each station in it is a parabola in the place of the window, all of one curvature: (slope at the
//! far end - slope at the near end) / length. What is greatest inside is the vertex of one of them, an exact fraction
//! like all else. (By spread nothing is gained there: the difference of two heights that run along straight lines is
//! greatest at an end.)

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_traits::{Signed, ToPrimitive, Zero};

use crate::quantity::Rational;

/// A profile of whole numbers whose stations rise, and the length of the window in the same measure as the stations.
pub(super) struct Profile<'a> {
    pub xs: &'a [BigInt],
    pub ys: &'a [BigInt],
    pub length: &'a BigInt,
}

/// A place where an end of the window meets a station, and what the window there departs by.
pub(super) struct Known {
    pub from: BigInt,
    pub value: Rational,
}

/// A straight piece of the profile: through (x, y), rising by `rise` over `run`.
struct Piece<'a> {
    x: &'a BigInt,
    y: &'a BigInt,
    rise: BigInt,
    run: BigInt,
}

impl<'a> Piece<'a> {
    fn of(profile: &Profile<'a>, place: usize) -> Option<Self> {
        let (x, y) = (profile.xs.get(place)?, profile.ys.get(place)?);
        let (next_x, next_y) = (profile.xs.get(place + 1)?, profile.ys.get(place + 1)?);
        Some(Piece { x, y, rise: next_y - y, run: next_x - x })
    }

    fn slope(&self) -> Rational {
        Rational::new(self.rise.clone(), self.run.clone())
    }

    /// The height at zero.
    fn at_zero(&self) -> Rational {
        Rational::from_integer(self.y.clone()) - self.slope() * self.x
    }
}

/// Where the worst such window begins, if it is worse than all that are `known`. Those stand in order of their places.
pub(super) fn worst_between(profile: &Profile<'_>, known: &[Known]) -> Option<Rational> {
    let mut worst = known.iter().map(|known| &known.value).max()?.clone();
    let mut found: Option<Rational> = None;
    let (mut near, mut far) = (0, 0);
    for pair in known.windows(2) {
        let [from, to] = pair else { break };
        let last_reached = |x: &BigInt, place: usize| profile.xs.get(place + 1).is_some_and(|next| next <= x);
        while last_reached(&from.from, near) {
            near += 1;
        }
        while last_reached(&(&from.from + profile.length), far) {
            far += 1;
        }
        let width = &to.from - &from.from;
        let (Some(left), Some(right)) = (Piece::of(profile, near), Piece::of(profile, far)) else { break };
        let bend = right.slope() - left.slope();
        // A parabola rises above its ends by a quarter of curvature times width squared at most.
        let rise = bend.abs() * &width * &width / (profile.length * BigInt::from(4));
        if width.is_zero() || bend.is_zero() || from.value.clone().max(to.value.clone()) + rise <= worst {
            continue;
        }
        for (place, value) in vertices(profile, near + 1..far + 1, (&left, &right), (&from.from, &to.from)) {
            if value > worst {
                (worst, found) = (value, Some(place));
            }
        }
    }
    found
}

/// So near to the greatest, by binary numbers, that the exact ones must tell.
const NEAR: f64 = 1e-9;

/// The vertices between two places that may be the greatest: where the window begins and what it departs by there.
fn vertices(
    profile: &Profile<'_>,
    inside: std::ops::Range<usize>,
    (left, right): (&Piece<'_>, &Piece<'_>),
    between: (&BigInt, &BigInt),
) -> Vec<(Rational, Rational)> {
    let length = Rational::from_integer(profile.length.clone());
    let (slope, bend) = (left.slope(), right.slope() - left.slope());
    // The window from a: its near end is at `zero + slope a`, its far one above that by `gap + bend a`.
    let zero = left.at_zero();
    let gap = right.at_zero() + right.slope() * &length - &zero;
    let sign = if bend.is_negative() { 1 } else { -1 };
    let vertex = |place: usize| {
        let (x, y) = (profile.xs.get(place)?, profile.ys.get(place)?);
        let from = (&slope * &length + &bend * x - &gap) / (&bend * BigInt::from(2));
        let chord = &zero + &slope * &from + (&gap + &bend * &from) * (-&from + x) / &length;
        let lies_between =
            from.numer() > &(between.0 * from.denom()) && from.numer() < &(between.1 * from.denom());
        lies_between.then(|| (from, (-chord + y) * BigInt::from(sign)))
    };
    // There may be thousands: most go by binary numbers, and only the highest are worked out.
    let rough = rough(profile, inside.clone(), (&slope, &zero), (&bend, &gap), between);
    let value = |(place, value): (usize, (f64, f64))| (place, f64::from(sign) * value.1, value.0);
    let near: Vec<(usize, f64)> = inside
        .zip(rough)
        .map(value)
        .filter(|(_, _, share)| !(*share < -NEAR || *share > 1.0 + NEAR))
        .map(|(place, value, _)| (place, value))
        .collect();
    let greatest = near.iter().map(|(_, value)| *value).fold(f64::NEG_INFINITY, f64::max);
    let size = near.iter().map(|(_, value)| value.abs()).fold(0.0, f64::max);
    let may_be_greatest = |value: f64| value.is_nan() || value >= greatest - NEAR * size;
    near.into_iter()
        .filter(|(_, value)| may_be_greatest(*value))
        .filter_map(|(place, _)| vertex(place))
        .collect()
}

/// In binary numbers of each vertex: how far it lies from the first place toward the second, from 0 to 1, and what the
/// station stands above the chord there.
fn rough(
    profile: &Profile<'_>,
    inside: std::ops::Range<usize>,
    (slope, zero): (&Rational, &Rational),
    (bend, gap): (&Rational, &Rational),
    (begin, end): (&BigInt, &BigInt),
) -> Vec<(f64, f64)> {
    let float = |value: Rational| value.to_f64().unwrap_or(f64::NAN);
    let whole = |value: BigInt| value.to_f64().unwrap_or(f64::NAN);
    // All as seen from where the window begins first.
    let (zero, gap) = (zero + slope * begin, gap + bend * begin);
    let y0 = zero.to_integer();
    let (zero, gap) = (float(zero - &y0), float(gap));
    let (slope, bend) = (float(slope.clone()), float(bend.clone()));
    let (length, width) = (whole(profile.length.clone()), whole(end - begin));
    let points = profile.xs.iter().zip(profile.ys).take(inside.end).skip(inside.start);
    let one = |(x, y): (&BigInt, &BigInt)| {
        let (x, y) = (whole(x - begin), whole(y - &y0));
        let from = (slope * length + bend * x - gap) / (2.0 * bend);
        (from / width, y - zero - slope * from - (gap + bend * from) * (x - from) / length)
    };
    points.map(one).collect()
}

impl Known {
    pub(super) fn in_order(&self, other: &Self) -> Ordering {
        self.from.cmp(&other.from)
    }
}
