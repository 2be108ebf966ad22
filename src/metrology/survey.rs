//! The survey of a plate by eight lines, and the heights that follow from it.
//!
//! Corners A front left, B front right, C rear right, D rear left; E F G H the middles of front, right, rear, left; O
//! the middle of the plate. Lines, each from the first letter to the second: A-C, D-B, A-B, D-C, A-D, B-C, E-G, H-F.
//! A reading is the tilt of the foot (a ratio), plus = its far end is higher. Every line is as good as its own tilt is
//! unknown: a common tilt of all its readings takes no part. x runs along the front from A, y toward the rear.
//!
//! - by closing (Moody 1955, from memory): the diagonals share their middle, at height zero, and the two ends of each
//!   are equally high; the four sides are hung from the corners; the middle lines are hung from the middles of the
//!   sides, and what they show at the middle of the plate is the closure
//! - by least squares: the tilts of all lines and all heights at once, every reading of equal weight, the datum the
//!   same. Of a line of 2 n feet only mid-height over the chord counts, with weight 1 / n; between, the misfit is
//!   spread evenly over the feet of each half.
//!
//! Heights are lengths, plus is up; all exact.

use super::plane::Place;
use super::solve::least_squares;
use super::statistics::{count, total};
use super::{Fault, Tilt, heights, range};
use crate::quantity::{Real, ratio};

/// Names of the eight lines in their order.
pub const SURVEY_LINES: [&str; 8] = ["A-C", "D-B", "A-B", "D-C", "A-D", "B-C", "E-G", "H-F"];

/// First end, middle and last end of each line; the nodes are A B C D E F G H O.
const NODES: [[usize; 3]; 8] =
    [[0, 8, 2], [3, 8, 1], [0, 4, 1], [3, 6, 2], [0, 7, 3], [1, 5, 2], [4, 8, 6], [7, 8, 5]];

/// Of the nodes, A (as high as C), B (as D), E, F, G, H are free; the middle is zero.
const UNKNOWN: [Option<usize>; 9] =
    [Some(0), Some(1), Some(0), Some(1), Some(2), Some(3), Some(4), Some(5), None];

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MapBy {
    Closing,
    LeastSquares,
}

/// A plate of a size, and how many feet each of its lines has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Survey {
    width: Real,
    depth: Real,
    foot: Real,
    diagonal: usize,
    along: usize,
    across: usize,
    places: [Vec<Place>; 8],
    /// How much the middle of each line over its chord counts for each node that is free, by least squares.
    shares: Vec<[Real; 6]>,
}

/// Heights at the n + 1 ends of the n feet of each line, in the order of the lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlateMap {
    pub heights: [Vec<Real>; 8],
    /// What the lines E-G and H-F show at the middle of the plate, hung from the sides: zero on a survey that closes.
    pub closures: [Real; 2],
}

impl PlateMap {
    /// The greatest disagreement where lines meet: at the middle of the plate, among both middle lines and the
    /// diagonals. Unsigned.
    pub fn closure(&self) -> Result<Real, Fault> {
        let [eg, hf] = &self.closures;
        range(&[Real::zero(), eg.clone(), hf.clone()])
    }
}

impl Survey {
    /// The area that is surveyed: `width` along the front, `depth` to the rear, and the length of the foot. Each line
    /// must be an even number of feet long, so that its middle stands at the end of a foot.
    pub fn new(width: &Real, depth: &Real, foot: &Real) -> Result<Survey, Fault> {
        if !(width.is_positive() && depth.is_positive() && foot.is_positive()) {
            return Err(Fault::NotPositive("the width, the depth and the foot"));
        }
        let diagonal = (&(width * width) + &(depth * depth)).sqrt().ok_or(Fault::IllConditioned)?;
        let feet = |length: &Real| {
            let pairs = length.div(&(foot * &Real::from(2))).and_then(|pairs| pairs.exact().cloned());
            let pairs = pairs.filter(|pairs| pairs.is_integer()).ok_or(Fault::NoWholeFeet)?;
            usize::try_from(pairs.to_integer()).map(|pairs| 2 * pairs).map_err(|_| Fault::NoWholeFeet)
        };
        let mut survey = Survey {
            diagonal: feet(&diagonal)?,
            along: feet(width)?,
            across: feet(depth)?,
            width: width.clone(),
            depth: depth.clone(),
            foot: foot.clone(),
            places: Default::default(),
            shares: Vec::new(),
        };
        survey.places = survey.worked_out_places();
        survey.shares = survey.worked_out_shares()?;
        Ok(survey)
    }

    /// The sizes that fit the foot, in order of how little they differ from the one wanted; at most five.
    pub fn sizes_that_fit(width: &Real, depth: &Real, foot: &Real) -> Result<Vec<(Real, Real)>, Fault> {
        if !(width.is_positive() && depth.is_positive() && foot.is_positive()) {
            return Err(Fault::NotPositive("the width, the depth and the foot"));
        }
        let pair = foot * &Real::from(2);
        let mut sizes = Vec::new();
        for along in 1..=60i64 {
            for across in 1..=60i64 {
                let square = along * along + across * across;
                let root = (square as f64).sqrt().round() as i64;
                if root * root == square {
                    let size = (&pair * &Real::from(along), &pair * &Real::from(across));
                    let off = (&size.0 - width).abs().max((&size.1 - depth).abs());
                    sizes.push((off, size));
                }
            }
        }
        sizes.sort();
        Ok(sizes.into_iter().take(5).map(|(_, size)| size).collect())
    }

    /// The number of feet of each line, in order.
    pub fn feet(&self) -> [usize; 8] {
        let (d, a, b) = (self.diagonal, self.along, self.across);
        [d, d, a, a, b, b, b, a]
    }

    /// Where the ends of the feet stand, line by line; A is the origin.
    pub fn places(&self) -> &[Vec<Place>; 8] {
        &self.places
    }

    fn worked_out_places(&self) -> [Vec<Place>; 8] {
        let half = Real::Exact(ratio(1, 2));
        let corner = |node: usize| {
            let (x, y) = match node {
                0 => (0, 0),
                1 => (2, 0),
                2 => (2, 2),
                3 => (0, 2),
                4 => (1, 0),
                5 => (2, 1),
                6 => (1, 2),
                7 => (0, 1),
                _ => (1, 1),
            };
            (&(&self.width * &half) * &Real::from(x), &(&self.depth * &half) * &Real::from(y))
        };
        let feet = self.feet();
        std::array::from_fn(|line| {
            let [first, _, last] = NODES[line];
            let (from, to) = (corner(first), corner(last));
            (0..=feet[line])
                .map(|step| {
                    let share = count(step).div(&count(feet[line])).unwrap_or_else(Real::zero);
                    (&from.0 + &(&(&to.0 - &from.0) * &share), &from.1 + &(&(&to.1 - &from.1) * &share))
                })
                .collect()
        })
    }

    /// The heights from the tilts of all feet, line by line.
    pub fn map(&self, tilts: &[Vec<Real>; 8], by: MapBy) -> Result<PlateMap, Fault> {
        let feet = self.feet();
        let mut raw: [Vec<Real>; 8] = Default::default();
        for (line, tilts) in tilts.iter().enumerate() {
            if tilts.len() != feet[line] {
                return Err(Fault::Unpaired { stations: feet[line], values: tilts.len() });
            }
            raw[line] = heights(tilts, &vec![self.foot.clone(); tilts.len()], Tilt::RisesAlong)?;
        }
        let middles: [Real; 8] = std::array::from_fn(|line| middle_over_chord(&raw[line]));
        let closed = closed_nodes(&middles);
        let closures = [6, 7].map(|line| {
            let [first, _, last] = NODES[line];
            &(&closed[first] + &closed[last]).half() + &middles[line]
        });
        let nodes = match by {
            MapBy::Closing => closed,
            MapBy::LeastSquares => self.adjusted_nodes(&middles),
        };
        let heights = std::array::from_fn(|line| {
            let [first, middle, last] = NODES[line].map(|node| &nodes[node]);
            let chord = (first + last).half();
            // Closing leaves the middle lines their own form; their ends alone are tied.
            let misfit = match by {
                MapBy::Closing => Real::zero(),
                MapBy::LeastSquares => middle - &(&chord + &middles[line]),
            };
            hung(&raw[line], first, last, &misfit)
        });
        Ok(PlateMap { heights, closures })
    }

    /// Heights of the nodes that fit all eight lines best; the datum as by closing.
    fn adjusted_nodes(&self, middles: &[Real; 8]) -> [Real; 9] {
        let height = |node: usize| match UNKNOWN[node] {
            Some(unknown) => {
                total(middles.iter().zip(&self.shares).map(|(middle, of)| middle * &of[unknown]))
            }
            None => Real::zero(),
        };
        std::array::from_fn(height)
    }

    /// The least-squares solution is linear: solved for each line alone standing one over its chord.
    fn worked_out_shares(&self) -> Result<Vec<[Real; 6]>, Fault> {
        let row = |line: usize| {
            let mut row = vec![Real::zero(); 6];
            let [first, middle, last] = NODES[line];
            for (node, factor) in [(first, ratio(-1, 2)), (middle, ratio(1, 1)), (last, ratio(-1, 2))] {
                if let Some(entry) = UNKNOWN[node].and_then(|unknown| row.get_mut(unknown)) {
                    *entry = &*entry + &Real::Exact(factor);
                }
            }
            row
        };
        let rows: Vec<Vec<Real>> = (0..8).map(row).collect();
        let weight = |feet: usize| Real::from(1).div(&count(feet)).ok_or(Fault::NoWholeFeet);
        let weights: Result<Vec<Real>, Fault> = self.feet().into_iter().map(weight).collect();
        let weights = weights?;
        let alone = |line: usize| {
            let middles: Vec<Real> = (0..8).map(|other| Real::from(i64::from(other == line))).collect();
            let found = least_squares(&rows, &middles, &weights)?;
            found.try_into().map_err(|_| Fault::IllConditioned)
        };
        (0..8).map(alone).collect()
    }
}

/// How high the middle of a profile stands over the chord through its ends.
fn middle_over_chord(raw: &[Real]) -> Real {
    match (raw.first(), raw.get(raw.len() / 2), raw.last()) {
        (Some(first), Some(middle), Some(last)) => middle - &(first + last).half(),
        _ => Real::zero(),
    }
}

/// Heights of the nodes as the diagonals and sides settle them.
fn closed_nodes(middles: &[Real; 8]) -> [Real; 9] {
    let (ac, bd) = (-&middles[0], -&middles[1]);
    let corners = [ac.clone(), bd.clone(), ac, bd];
    let side = |line: usize| {
        let [first, _, last] = NODES[line];
        &(&corners[first] + &corners[last]).half() + &middles[line]
    };
    let [e, g, h, f] = [2, 3, 4, 5].map(side);
    let [a, b, c, d] = corners.clone();
    [a, b, c, d, e, f, g, h, Real::zero()]
}

/// A profile hung from the heights of its ends, its middle raised by `misfit`, evenly over each half.
fn hung(raw: &[Real], first: &Real, last: &Real, misfit: &Real) -> Vec<Real> {
    let feet = raw.len().saturating_sub(1);
    let (Some(from), Some(to)) = (raw.first(), raw.last()) else {
        return Vec::new();
    };
    let at_first = first - from;
    let each_foot = |whole: &Real, feet: usize| whole.div(&count(feet)).unwrap_or_else(Real::zero);
    let tied = each_foot(&(&(last - to) - &at_first), feet);
    let raised = each_foot(misfit, feet / 2);
    raw.iter()
        .enumerate()
        .map(|(step, height)| {
            let raised = &raised * &count(step.min(feet - step));
            &(height + &(&at_first + &(&tied * &count(step)))) + &raised
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metrology::{PlaneReference, flatness, over_three};
    use proptest::prelude::*;

    fn survey() -> Survey {
        Survey::new(&Real::from(800), &Real::from(600), &Real::from(100)).unwrap()
    }

    /// Tilts of every foot on a surface, each line with a tilt of its own besides.
    fn tilts_on(
        survey: &Survey,
        surface: impl Fn(&Place) -> Real,
        own: impl Fn(usize) -> Real,
    ) -> [Vec<Real>; 8] {
        let places = survey.places();
        std::array::from_fn(|line| {
            let rise = |pair: &[Place]| {
                let rise = &surface(&pair[1]) - &surface(&pair[0]);
                &rise.div(&Real::from(100)).unwrap() + &own(line)
            };
            places[line].windows(2).map(rise).collect()
        })
    }

    fn dome(place: &Place) -> Real {
        let (x, y) = (&place.0 - &Real::from(400), &place.1 - &Real::from(300));
        let micrometre = Real::Exact(ratio(1, 100_000_000));
        &(&(&x * &x) - &(&(&x * &y) * &Real::from(3))) * &micrometre
    }

    #[test]
    fn a_plate_that_the_foot_does_not_divide_is_refused_and_sizes_that_fit_are_named() {
        assert_eq!(survey().feet(), [10, 10, 8, 8, 6, 6, 6, 8]);
        let wrong = Survey::new(&Real::from(810), &Real::from(600), &Real::from(100));
        assert_eq!(wrong, Err(Fault::NoWholeFeet));
        let fits = Survey::sizes_that_fit(&Real::from(810), &Real::from(590), &Real::from(100)).unwrap();
        assert_eq!(fits[0], (Real::from(800), Real::from(600)));
        // 1 : 1 has an irrational diagonal; 700 x 700 would leave its middle between two feet.
        assert!(Survey::new(&Real::from(600), &Real::from(600), &Real::from(100)).is_err());
    }

    #[test]
    fn both_ways_find_the_surface_whatever_the_tilt_of_each_line() {
        let survey = survey();
        let tilts = tilts_on(&survey, dome, |line| Real::Exact(ratio(line as i64 - 3, 1000)));
        for by in [MapBy::Closing, MapBy::LeastSquares] {
            let map = survey.map(&tilts, by).unwrap();
            assert_eq!(map.closure(), Ok(Real::zero()));
            let places: Vec<Place> = survey.places().concat();
            let heights = map.heights.concat();
            let surface: Vec<Real> = places.iter().map(dome).collect();
            for reference in [PlaneReference::LeastSquares, PlaneReference::MinimumZone] {
                assert_eq!(flatness(&places, &heights, reference), flatness(&places, &surface, reference));
            }
            // The three-corner datum: A, B and D at zero.
            let (b, d) = (survey.feet()[..3].iter().sum::<usize>() + 2, survey.feet()[0] + 1);
            let over = over_three(&places, &heights, [0, b, d]).unwrap();
            assert_eq!(over, over_three(&places, &surface, [0, b, d]).unwrap());
        }
    }

    #[test]
    fn a_wrong_middle_line_shows_in_the_closure_and_leaves_the_closed_sides_alone() {
        let survey = survey();
        let mut tilts = tilts_on(&survey, dome, |_| Real::zero());
        let good = survey.map(&tilts, MapBy::Closing).unwrap();
        tilts[6][2] = &tilts[6][2] + &Real::Exact(ratio(1, 100_000));
        let bad = survey.map(&tilts, MapBy::Closing).unwrap();
        // 1 um more on the third of six feet: half of it at the middle.
        assert_eq!(bad.closures, [Real::Exact(ratio(1, 2000)), Real::zero()]);
        assert_eq!(bad.heights[..6], good.heights[..6]);
        let adjusted = survey.map(&tilts, MapBy::LeastSquares).unwrap();
        assert_ne!(adjusted.heights[2], good.heights[2], "the misfit is shared");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(8))]
        /// The adjusted heights meet the normal equations of the full problem: the misfits of the feet of each line add
        /// up to nothing, and so do those that meet at every point inside a line or at a node.
        #[test]
        fn no_other_heights_fit_better(noise in proptest::collection::vec(-50i64..50, 62)) {
            let survey = survey();
            let mut noise = noise.iter().map(|n| Real::Exact(ratio(*n, 1_000_000)));
            let feet = survey.feet();
            let tilts: [Vec<Real>; 8] = std::array::from_fn(|line| noise.by_ref().take(feet[line]).collect());
            let map = survey.map(&tilts, MapBy::LeastSquares).unwrap();
            let mut at_node = vec![Real::zero(); 9];
            for line in 0..8 {
                let rises: Vec<Real> = map.heights[line].windows(2).map(|pair| &pair[1] - &pair[0]).collect();
                let misfits: Vec<Real> = rises.iter().zip(&tilts[line]).map(|(rise, tilt)| rise - &(tilt * &Real::from(100))).collect();
                // The unknown tilt of the line takes the mean away.
                let mean = crate::metrology::mean(&misfits).unwrap();
                let misfits: Vec<Real> = misfits.iter().map(|misfit| misfit - &mean).collect();
                let half = feet[line] / 2;
                for step in (1..feet[line]).filter(|step| *step != half) {
                    prop_assert_eq!(&misfits[step - 1], &misfits[step]);
                }
                let [first, middle, last] = NODES[line];
                at_node[first] = &at_node[first] - &misfits[0];
                at_node[middle] = &(&at_node[middle] + &misfits[half - 1]) - &misfits[half];
                at_node[last] = &at_node[last] + &misfits[feet[line] - 1];
                prop_assert_eq!(&map.heights[line][0], &map.heights[NODES.iter().position(|nodes| nodes[0] == first).unwrap()][0]);
            }
            prop_assert!(at_node.iter().all(Real::is_zero));
        }
    }
}
