//! The best centre of all for a circle through points of a plane, proved: branch and bound over every centre there is,
//! those infinitely far away included.
//!
//! The plane is parted into cells, ever smaller. With d_i the distance of point i from the centre, a cell goes
//!
//! - by minimum zone, where d_i - d_j of some pair of points is more than the narrowest zone known,
//! - inscribed, where d_j of some point is less than the largest circle known, or where it lies outside the hull.
//!
//! What makes that a proof: d_i - d_j >= f holds on one side of a branch of a hyperbola, d_j <= r in a disc, and to be
//! farther from j than from i in a half-plane. All three are convex, so that what holds at the corners of a cell holds
//! in all of it, also of one that reaches infinitely far. By the last, points that can be neither the farthest nor the
//! nearest from anywhere in a cell take no part in its parts.
//!
//! Cells end where the pair or the point that bounds them changes no more than the tolerance from their middle; those left
//! hold every best centre there is. That the best lies at a finite place is not taken for granted: the zone between two
//! straight lines is known from the start.

use std::rc::Rc;

use super::Fault;

/// A point or a centre (x, y) / w; w = 0 is the direction of (x, y), infinitely far.
type Place = [f64; 3];

/// Half the side of the middle square, of points within one of its middle.
const SQUARE: f64 = 2.0;

/// Of points within one of the middle, above what rounding makes of a difference of two distances.
pub(super) const ROUNDING: f64 = 2e-14;

/// The same of two squares of them.
const ROUNDING_OF_SQUARES: f64 = 1e-14;

/// How many times as long as wide a cell gets.
const LONG: f64 = 64.0;

/// The side of a cell that is not parted any more, in tolerances.
const SMALL: f64 = 64.0;

const MOST_LEVELS: usize = 160;

/// A circle held by points that are almost opposite takes a hundred thousand.
const MOST_CELLS: usize = 1_000_000;

/// Of one size. A circle held by points almost opposite takes ten thousand; where they are more and more, all along a
/// line is as good.
const MOST_AT_ONCE: usize = 40_000;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// Greatest less least distance is least.
    Zone,
    /// The least distance is greatest, of centres within the hull.
    Inscribed,
}

/// Where the best centres may lie.
#[derive(Debug)]
pub(super) struct Best {
    /// The width of the zone, or the radius within.
    pub value: f64,
    /// By how much one may be better that was not looked at.
    pub off: f64,
    /// The middles of the cells that are left.
    pub centres: Vec<[f64; 2]>,
    /// The greatest distance from the middle of one to a place in it.
    pub reach: f64,
}

/// Which points may be the farthest and the nearest in a cell, and which sides of the hull may cut it.
#[derive(Clone)]
struct Parts {
    outer: Vec<[f64; 2]>,
    inner: Vec<[f64; 2]>,
    sides: Vec<[[f64; 2]; 2]>,
}

/// A rectangle of a chart of the plane: of the middle square, or of what lies beyond one of its sides, where (a, b) is the
/// place (1, a, b), turned by quarters.
struct Cell {
    quarter: Option<u8>,
    low: [f64; 2],
    high: [f64; 2],
    parts: Rc<Parts>,
}

impl Cell {
    fn place(&self, [a, b]: [f64; 2]) -> Place {
        match self.quarter {
            None => [a, b, 1.0],
            Some(0) => [1.0, a, b],
            Some(1) => [-a, 1.0, b],
            Some(2) => [-1.0, -a, b],
            Some(_) => [a, -1.0, b],
        }
    }

    fn middle(&self) -> [f64; 2] {
        [0.5 * (self.low[0] + self.high[0]), 0.5 * (self.low[1] + self.high[1])]
    }

    fn corners(&self) -> [Place; 4] {
        let ([a, b], [c, d]) = (self.low, self.high);
        [[a, b], [a, d], [c, b], [c, d]].map(|place| self.place(place))
    }

    fn halves(&self, axis: usize, parts: &Rc<Parts>) -> [Cell; 2] {
        let (mut below, mut above) = (self.high, self.low);
        let middle = self.middle();
        for (at, middle) in middle.iter().enumerate().filter(|(at, _)| *at == axis) {
            below[at] = *middle;
            above[at] = *middle;
        }
        [(self.low, below), (above, self.high)].map(|(low, high)| Cell {
            quarter: self.quarter,
            low,
            high,
            parts: parts.clone(),
        })
    }

    /// What orders points by their distance from a place of this chart, without losing digits.
    fn distance_key(&self, [x, y, w]: &Place, [px, py]: &[f64; 2]) -> f64 {
        if self.quarter.is_none() {
            let (dx, dy) = (x - px, y - py);
            return dx * dx + dy * dy;
        }
        w * (px * px + py * py) - 2.0 * (x * px + y * py)
    }

    fn farthest(&self, place: &Place) -> Option<[f64; 2]> {
        self.most(&self.parts.outer, place, 1.0)
    }

    fn nearest(&self, place: &Place) -> Option<[f64; 2]> {
        self.most(&self.parts.inner, place, -1.0)
    }

    fn most(&self, points: &[[f64; 2]], place: &Place, sign: f64) -> Option<[f64; 2]> {
        let mut most: Option<([f64; 2], f64)> = None;
        for point in points {
            let key = sign * self.distance_key(place, point);
            if most.is_none_or(|(_, known)| key > known) {
                most = Some((*point, key));
            }
        }
        most.map(|(point, _)| point)
    }
}

/// By how much the squares of the distances of a and b from the centre differ, times w; more than 0 where a is farther.
fn farther([x, y, w]: &Place, a: &[f64; 2], b: &[f64; 2]) -> f64 {
    (b[0] - a[0]) * (2.0 * x - w * (a[0] + b[0])) + (b[1] - a[1]) * (2.0 * y - w * (a[1] + b[1]))
}

/// The distance of a point, times w.
fn distance([x, y, w]: &Place, a: &[f64; 2]) -> f64 {
    let (dx, dy) = (x - w * a[0], y - w * a[1]);
    libm::sqrt(dx * dx + dy * dy)
}

/// How much farther a is than b.
fn apart(place: &Place, a: &[f64; 2], b: &[f64; 2]) -> f64 {
    let sum = distance(place, a) + distance(place, b);
    if sum > 0.0 { farther(place, a, b) / sum } else { 0.0 }
}

/// More than 0 on the inner side of a side of the hull, whose corners go round against the clock.
fn within([x, y, w]: &Place, [a, b]: &[[f64; 2]; 2]) -> f64 {
    (b[0] - a[0]) * (y - w * a[1]) - (b[1] - a[1]) * (x - w * a[0])
}

/// What stands in the middle of a cell.
struct Seen {
    far: [f64; 2],
    near: [f64; 2],
    /// What is reached with this centre; none outside the hull.
    value: Option<f64>,
}

fn seen(cell: &Cell, goal: Goal) -> Option<Seen> {
    let middle = cell.place(cell.middle());
    let near = cell.nearest(&middle)?;
    match goal {
        Goal::Zone => {
            let far = cell.farthest(&middle)?;
            Some(Seen { far, near, value: Some(apart(&middle, &far, &near)) })
        }
        Goal::Inscribed => {
            let inside = cell.parts.sides.iter().all(|side| within(&middle, side) > 0.0);
            Some(Seen { far: near, near, value: inside.then(|| distance(&middle, &near)) })
        }
    }
}

/// What those that are seen from the middle make of another place.
fn from_there(place: &Place, seen: &Seen, goal: Goal) -> f64 {
    match goal {
        Goal::Zone => apart(place, &seen.far, &seen.near),
        Goal::Inscribed => distance(place, &seen.near),
    }
}

/// Whether all in the cell is as bad as this.
fn goes(cell: &Cell, corners: &[f64; 4], goal: Goal, worse: f64) -> bool {
    let outside = |side: &[[f64; 2]; 2]| cell.corners().iter().all(|corner| within(corner, side) <= 0.0);
    match goal {
        Goal::Zone => corners.iter().all(|own| *own >= worse),
        Goal::Inscribed => corners.iter().all(|own| *own <= worse) || cell.parts.sides.iter().any(outside),
    }
}

/// Along which side to halve a cell: where more changes, so that cells lie lengthwise along a ridge; then the longer one,
/// so that the centre is known too. None: it is small enough.
fn across(cell: &Cell, seen: &Seen, goal: Goal, tolerance: f64) -> Option<usize> {
    let ([a, b], [c, d], [x, y]) = (cell.low, cell.high, cell.middle());
    let at = |place: [f64; 2]| from_there(&cell.place(place), seen, goal);
    let middle = at([x, y]);
    let change =
        |ends: [[f64; 2]; 2]| ends.map(|end| (at(end) - middle).abs()).into_iter().fold(0.0, f64::max);
    let changes = [change([[a, y], [c, y]]), change([[x, b], [x, d]])];
    let more = |[first, second]: [f64; 2], least: f64| {
        (first.max(second) > least).then_some(usize::from(second > first))
    };
    let sides = [c - a, d - b];
    match more(changes, 0.25 * tolerance) {
        // Too long, and what bounds it from its middle says little of its ends.
        Some(0) if sides[1] > LONG * sides[0] => Some(1),
        Some(1) if sides[0] > LONG * sides[1] => Some(0),
        Some(axis) => Some(axis),
        None => more(sides, SMALL * tolerance),
    }
}

/// What may count in the parts of a cell.
fn left(cell: &Cell, seen: &Seen, goal: Goal) -> Rc<Parts> {
    let corners = cell.corners();
    let outer = |point: &&[f64; 2]| {
        **point == seen.far
            || corners.iter().any(|corner| farther(corner, point, &seen.far) > -ROUNDING_OF_SQUARES)
    };
    let inner = |point: &&[f64; 2]| {
        **point == seen.near
            || corners.iter().any(|corner| farther(corner, &seen.near, point) > -ROUNDING_OF_SQUARES)
    };
    let cuts = |side: &&[[f64; 2]; 2]| corners.iter().any(|corner| within(corner, side) <= 0.0);
    let parts = &cell.parts;
    Rc::new(Parts {
        outer: match goal {
            Goal::Zone => parts.outer.iter().filter(outer).copied().collect(),
            Goal::Inscribed => Vec::new(),
        },
        inner: parts.inner.iter().filter(inner).copied().collect(),
        sides: parts.sides.iter().filter(cuts).copied().collect(),
    })
}

/// The points lie within one of (0, 0); `hull` goes round them against the clock. All centres that may be the best, up to
/// the tolerance.
pub(super) fn best_centre(
    points: &[[f64; 2]],
    hull: &[[f64; 2]],
    goal: Goal,
    tolerance: f64,
) -> Result<Best, Fault> {
    let [cosine, sine] = lengthwise(hull);
    let all = |points: &[[f64; 2]]| -> Vec<[f64; 2]> {
        points.iter().map(|point| turned(*point, [cosine, sine])).collect()
    };
    let (points, hull) = (all(points), all(hull));
    let sides = || hull.iter().zip(hull.iter().cycle().skip(1)).map(|(a, b)| [*a, *b]);
    let (outer, own_sides, straight) = match goal {
        Goal::Zone => (hull.clone(), Vec::new(), narrowest(&hull)),
        Goal::Inscribed => (Vec::new(), sides().collect(), 0.0),
    };
    let parts = Rc::new(Parts { outer, inner: points, sides: own_sides });
    let square = Cell { quarter: None, low: [-SQUARE; 2], high: [SQUARE; 2], parts: parts.clone() };
    let beyond = |quarter| Cell {
        quarter: Some(quarter),
        low: [-1.0, 0.0],
        high: [1.0, 1.0 / SQUARE],
        parts: parts.clone(),
    };
    let mut cells = vec![square];
    if goal == Goal::Zone {
        cells.extend((0..4).map(beyond));
    }
    let mut known = straight;
    let better = |value: f64, known: f64| match goal {
        Goal::Zone => value < known,
        Goal::Inscribed => value > known,
    };
    let (mut total, mut least) = (0, Vec::new());
    for _ in 0..MOST_LEVELS {
        total += cells.len();
        if total > MOST_CELLS || cells.len() > MOST_AT_ONCE {
            return Err(Fault::NoBestCentre);
        }
        let looked: Vec<(Cell, Seen)> =
            cells.into_iter().filter_map(|cell| seen(&cell, goal).map(|seen| (cell, seen))).collect();
        let values = looked.iter().filter_map(|(_, seen)| seen.value);
        known = values.fold(known, |known, value| if better(value, known) { value } else { known });
        let worse = match goal {
            Goal::Zone => known + tolerance,
            Goal::Inscribed => known - tolerance,
        };
        cells = Vec::new();
        for (cell, seen) in looked {
            let corners = cell.corners().map(|corner| from_there(&corner, &seen, goal));
            if goes(&cell, &corners, goal, worse) {
                continue;
            }
            match across(&cell, &seen, goal, tolerance) {
                Some(axis) => cells.extend(cell.halves(axis, &left(&cell, &seen, goal))),
                None => least.push((cell, corners)),
            }
        }
        if cells.is_empty() {
            least.retain(|(cell, corners)| !goes(cell, corners, goal, worse));
            return settled(&least, goal, known, straight, tolerance)
                .map(|best| best.turned([cosine, -sine]));
        }
    }
    Err(Fault::NoBestCentre)
}

/// Turned by the angle of this cosine and sine.
fn turned([x, y]: [f64; 2], [cosine, sine]: [f64; 2]) -> [f64; 2] {
    [cosine * x - sine * y, sine * x + cosine * y]
}

/// By what to turn points so that they lie lengthwise along the first axis: then ridges mostly do, and so do cells.
fn lengthwise(points: &[[f64; 2]]) -> [f64; 2] {
    let n = points.len() as f64;
    let mean = points.iter().fold([0.0; 2], |sum, [x, y]| [sum[0] + x / n, sum[1] + y / n]);
    let squares = points.iter().fold([0.0; 3], |sum, [x, y]| {
        let (x, y) = (x - mean[0], y - mean[1]);
        [sum[0] + x * x, sum[1] + x * y, sum[2] + y * y]
    });
    let angle = 0.5 * libm::atan2(2.0 * squares[1], squares[0] - squares[2]);
    [libm::cos(angle), -libm::sin(angle)]
}

impl Best {
    fn turned(mut self, by: [f64; 2]) -> Self {
        self.centres.iter_mut().for_each(|centre| *centre = turned(*centre, by));
        self
    }
}

fn settled(
    cells: &[(Cell, [f64; 4])],
    goal: Goal,
    known: f64,
    straight: f64,
    tolerance: f64,
) -> Result<Best, Fault> {
    match goal {
        _ if cells.is_empty() => return Err(Fault::NoBestCentre),
        Goal::Zone if known >= straight - tolerance => return Err(Fault::StraightZone),
        // A larger circle has its centre at the border of the hull: it slips out between the points.
        Goal::Inscribed if cells.iter().any(|(cell, _)| !cell.parts.sides.is_empty()) => {
            return Err(Fault::NotHeld);
        }
        _ => {}
    }
    let mut best = Best { value: known, off: 0.0, centres: Vec::with_capacity(cells.len()), reach: 0.0 };
    for (cell, corners) in cells {
        for own in corners {
            best.off = best.off.max(if goal == Goal::Zone { known - own } else { own - known });
        }
        let middle = cell.place(cell.middle());
        let finite = |[x, y, w]: Place| (w > 0.0).then(|| [x / w, y / w]);
        let place = finite(middle).ok_or(Fault::NoBestCentre)?;
        for corner in cell.corners() {
            let [x, y] = finite(corner).ok_or(Fault::NoBestCentre)?;
            best.reach = best.reach.max(libm::hypot(x - place[0], y - place[1]));
        }
        best.centres.push(place);
    }
    Ok(best)
}

/// The least distance of two parallel lines with all points between them: one lies along a side of the hull.
fn narrowest(hull: &[[f64; 2]]) -> f64 {
    let count = hull.len();
    let at = |place: usize| hull.get(place % count.max(1)).copied().unwrap_or_default();
    let mut least = f64::INFINITY;
    let mut across = 1;
    for from in 0..count {
        let (a, b) = (at(from), at(from + 1));
        let length = libm::hypot(b[0] - a[0], b[1] - a[1]);
        let over = |place: usize| within(&[at(place)[0], at(place)[1], 1.0], &[a, b]) / length;
        across = across.max(from + 1);
        while across < from + count && over(across + 1) > over(across) {
            across += 1;
        }
        least = least.min(over(across));
    }
    least
}
