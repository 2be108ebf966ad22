//! Draws of one quantity in order: how many of them lie beyond a place, and what their number leaves open of the
//! probability that they stand for (JCGM 106:2012, 6, integrates the density of the measurand; JCGM 101:2008, 7.5, has it as
//! draws in order; from memory).
//!
//! - share beyond = number beyond / number of draws; what lies on the place itself is not beyond it
//! - what is left open: Wilson's interval of a share with 3 standard deviations (from memory), so that hardly one in a
//!   thousand draws of the same size would have it on the other side of either end
//!
//! Of very many not every draw is kept: toward the middle ranks are left out, never so many that the count is off by more
//! than half of its own standard deviation, and what is left out is part of what is left open.

/// So many standard deviations of a share are left open.
const SURELY: f64 = 3.0;

/// Beside the widest spread of the draws and beside the quantity itself, less is binary noise.
const NOISE: (f64, f64) = (1e-9, 1e-13);

#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    draws: usize,
    /// In order: how many draws lie before, and the draw. The first and the last are always there.
    kept: Vec<(usize, f64)>,
    hair: f64,
}

/// So many draws of all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    least: usize,
    most: usize,
    of: usize,
}

/// A probability as draws have it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    pub share: f64,
    /// What the number of draws leaves open.
    pub from: f64,
    pub to: f64,
}

impl Ranked {
    /// Of draws that stand in order.
    pub fn of(ordered: &[f64]) -> Self {
        let last = ordered.len().saturating_sub(1);
        let mut kept = Vec::new();
        let mut rank = 0;
        while let Some(draw) = ordered.get(rank) {
            kept.push((rank, *draw));
            let step = (0.5 * libm::sqrt(rank.min(last - rank) as f64)) as usize;
            rank = if rank < last { (rank + step.max(1)).min(last) } else { rank + 1 };
        }
        let (low, high) = ordered.first().zip(ordered.last()).map_or((0.0, 0.0), |(low, high)| (*low, *high));
        let hair = NOISE.0 * (high - low) + NOISE.1 * low.abs().max(high.abs());
        Self { draws: ordered.len(), kept, hair }
    }

    /// The same draws, as they lie from a value.
    pub fn about(&self, value: f64) -> Self {
        let kept = self.kept.iter().map(|(rank, draw)| (*rank, draw - value)).collect();
        Self { kept, ..self.clone() }
    }

    /// How many lie below a place, `with` those on it or without.
    pub fn below(&self, at: f64, with: bool) -> Number {
        let at = if with { at + self.hair } else { at - self.hair };
        let next = self.kept.partition_point(|(_, draw)| *draw < at);
        let least =
            next.checked_sub(1).and_then(|before| self.kept.get(before)).map_or(0, |(rank, _)| rank + 1);
        let most = self.kept.get(next).map_or(self.draws, |(rank, _)| *rank);
        Number { least, most, of: self.draws }
    }

    /// How many lie above a place, `with` those on it or without.
    pub fn above(&self, at: f64, with: bool) -> Number {
        let Number { least, most, of } = self.below(at, !with);
        Number { least: of - most, most: of - least, of }
    }
}

impl Number {
    /// None of as many.
    pub fn none(self) -> Self {
        Number { least: 0, most: 0, ..self }
    }

    /// Of draws of which none is in both.
    pub fn and(self, other: Number) -> Self {
        let of = self.of;
        Number { least: (self.least + other.least).min(of), most: (self.most + other.most).min(of), of }
    }

    /// All others.
    pub fn others(self) -> Self {
        Number { least: self.of - self.most, most: self.of - self.least, ..self }
    }

    pub fn share(self) -> Share {
        let all = self.of.max(1) as f64;
        let share = (self.least + self.most) as f64 / (2.0 * all);
        Share {
            share,
            from: end(self.least as f64 / all, all, -SURELY),
            to: end(self.most as f64 / all, all, SURELY),
        }
    }
}

impl Share {
    /// With nothing left open.
    pub fn exactly(share: f64) -> Self {
        Share { share, from: share, to: share }
    }

    pub fn others(self) -> Self {
        Share { share: 1.0 - self.share, from: 1.0 - self.to, to: 1.0 - self.from }
    }
}

/// Wilson: p~ = (p + z^2/2n +- z sqrt(p(1 - p)/n + z^2/4n^2)) / (1 + z^2/n).
fn end(share: f64, all: f64, by: f64) -> f64 {
    let square = by * by / all;
    let spread = libm::sqrt(share * (1.0 - share) / all + square / (4.0 * all));
    ((share + square / 2.0 + by * spread) / (1.0 + square)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Published intervals by Wilson's score (Newcombe 1998, table I, from memory): 81 of 263 at 95 %, 0.2553 to 0.3662.
    #[test]
    fn what_a_share_leaves_open() {
        let (low, high) = (end(81.0 / 263.0, 263.0, -1.959_964), end(81.0 / 263.0, 263.0, 1.959_964));
        assert!((low - 0.2553).abs() < 5e-5 && (high - 0.3662).abs() < 5e-5, "{low} {high}");
        // None at all is not certainty: 9 of n + 9.
        assert!((end(0.0, 20_000.0, 3.0) - 9.0 / 20_009.0).abs() < 1e-12);
    }

    #[test]
    fn draws_on_a_place_are_counted_as_asked_whatever_the_binary_noise() {
        let ordered = [1.0, 2.0, 0.1 + 0.2 + 1.7, 3.0];
        let ranked = Ranked::of(&ordered);
        let exactly = |number: Number| (number.least, number.most);
        assert_eq!(exactly(ranked.below(2.0, false)), (1, 1));
        assert_eq!(exactly(ranked.below(2.0, true)), (3, 3));
        assert_eq!(exactly(ranked.above(2.0, false)), (1, 1));
        assert_eq!(exactly(ranked.above(2.0, true)), (3, 3));
        assert_eq!(exactly(ranked.about(2.0).below(0.0, false)), (1, 1));
        assert_eq!(exactly(ranked.below(0.0, true)), (0, 0));
        assert_eq!(exactly(ranked.below(4.0, false)), (4, 4));
        let none = Ranked::of(&[]).below(0.0, false).share();
        assert_eq!((none.from, none.to), (0.0, 0.9), "nothing drawn, nothing known");
    }

    proptest! {
        /// The true number lies between the two that are told, which are never further apart than half a standard
        /// deviation of the count; near the ends they are the same.
        #[test]
        fn what_is_left_out_is_told(n in 1usize..5000, scale in 1i64..400, at in -10i64..410) {
            let mut ordered: Vec<f64> = (0..n as i64).map(|i| (i * 7919 % scale) as f64).collect();
            ordered.sort_by(f64::total_cmp);
            let found = Ranked::of(&ordered).below(at as f64, false);
            let counted = ordered.iter().filter(|own| **own < at as f64).count();
            prop_assert!(found.least <= counted && counted <= found.most);
            let nearer = counted.min(n - counted) as f64;
            prop_assert!((found.most - found.least) as f64 <= 0.5 * nearer.sqrt() + 1.0);
        }
    }
}
