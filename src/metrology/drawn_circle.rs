//! Circles through many draws of the same points, in binary numbers: tens of thousands of them, of which the last digits do
//! not matter. The value itself comes from `circle_zone`.
//!
//! Centres are found for the mean of all draws: by minimum zone and inscribed all that are as good as the draws tell
//! apart, each with its proof that there are no others. From there each draw moves them: distances are taken as straight
//! about the mean points, which gives a step, and so on until none is left; so contacts of one draw are mostly those of
//! the others. The circle around a draw is found from its own points.

use super::Place;
use super::best_centre::{Goal, ROUNDING, best_centre};
use super::circle::fit_circle;
use super::circle_zone::corners;
use super::guess::{Programme, Table};
use super::roundness::CircleReference;
use crate::quantity::Real;

/// One a draw.
#[derive(Debug, Default)]
pub struct DrawnCircles {
    pub form: Vec<f64>,
    pub radius: Vec<f64>,
    pub x: Vec<f64>,
    pub y: Vec<f64>,
}

type Point = [f64; 2];

/// More centres that are equally good are not looked at.
const MOST_CENTRES: usize = 6;

const MOST_STEPS: usize = 30;

/// Steps end where they are so small beside what draws scatter by.
const FINE: f64 = 1e-6;

/// A centre of the mean points, and how it moves.
struct Start {
    centre: Point,
    way: Way,
}

enum Way {
    LeastSquares,
    Zone(Programme, Table),
    Inscribed(Programme, Table),
    Around,
}

/// `points`: of each its x and its y in all draws. `None` where draws have to be worked out one by one.
pub fn drawn_circles<C: AsRef<[f64]>>(points: &[(C, C)], reference: CircleReference) -> Option<DrawnCircles> {
    let draws = points.iter().map(|(x, y)| x.as_ref().len().min(y.as_ref().len())).min()?;
    let mean = |column: &C| column.as_ref().iter().sum::<f64>() / draws as f64;
    let means: Vec<Point> = points.iter().map(|(x, y)| [mean(x), mean(y)]).collect();
    let scatter =
        |column: &C, mean: f64| column.as_ref().iter().map(|own| (own - mean).abs()).fold(0.0, f64::max);
    let scatters = points.iter().zip(&means).map(|((x, y), [mx, my])| scatter(x, *mx).max(scatter(y, *my)));
    let scatter = scatters.fold(0.0, f64::max);
    // Three points lie on one circle.
    let through = means.len() == 3 && reference == CircleReference::MinimumZone;
    let reference = if through { CircleReference::LeastSquares } else { reference };
    let starts = starts(&means, reference, scatter)?;
    let mut found = DrawnCircles::default();
    let mut own: Vec<Point> = Vec::with_capacity(points.len());
    for draw in 0..draws {
        own.clear();
        own.extend(points.iter().filter_map(|(x, y)| Some([*x.as_ref().get(draw)?, *y.as_ref().get(draw)?])));
        let circles = starts.iter().filter_map(|start| start.circle(&own, FINE * scatter));
        let better = |a: &Circle, b: &Circle| match reference {
            CircleReference::Inscribed => b.inner.total_cmp(&a.inner),
            _ => (a.outer - a.inner).total_cmp(&(b.outer - b.inner)),
        };
        let best = circles.min_by(better)?;
        found.form.push(best.outer - best.inner);
        found.radius.push(best.radius);
        found.x.push(best.centre[0]);
        found.y.push(best.centre[1]);
    }
    Some(found)
}

struct Circle {
    centre: Point,
    inner: f64,
    outer: f64,
    radius: f64,
}

fn starts(means: &[Point], reference: CircleReference, scatter: f64) -> Option<Vec<Start>> {
    match reference {
        CircleReference::Circumscribed => Some(vec![Start { centre: [0.0; 2], way: Way::Around }]),
        CircleReference::LeastSquares => {
            let places: Vec<Place> =
                means.iter().map(|[x, y]| Some((real(*x)?, real(*y)?))).collect::<Option<_>>()?;
            let fitted = fit_circle(&places).ok()?;
            let centre = [fitted.centre.0.to_f64(), fitted.centre.1.to_f64()];
            Some(vec![Start { centre, way: Way::LeastSquares }])
        }
        CircleReference::MinimumZone => touching(means, Goal::Zone, scatter),
        CircleReference::Inscribed => touching(means, Goal::Inscribed, scatter),
    }
}

fn real(value: f64) -> Option<Real> {
    Real::approximate(value, 0.0)
}

fn directions(points: &[Point], [x, y]: Point) -> Option<Vec<Point>> {
    let direction = |[px, py]: &Point| {
        let size = libm::hypot(px - x, py - y);
        (size > 0.0).then(|| [(px - x) / size, (py - y) / size])
    };
    points.iter().map(direction).collect()
}

/// The step and the radius for which the squares of distance - radius - step in its direction are least.
fn least_squares(points: &[Point], centre: Point) -> Option<[f64; 3]> {
    let mut normal = [[0.0; 4]; 3];
    for (point, [x, y]) in points.iter().zip(directions(points, centre)?) {
        let row = [x, y, 1.0, distance(*point, centre)];
        for (normal, a) in normal.iter_mut().zip(row) {
            normal.iter_mut().zip(row).for_each(|(sum, b)| *sum += a * b);
        }
    }
    let [a, b, c] = normal;
    let times = |u: [f64; 3], v: [f64; 3]| u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
    let across = |u: [f64; 3], v: [f64; 3]| {
        [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
    };
    let column = |at: usize| [a, b, c].map(|row| row.get(at).copied().unwrap_or(0.0));
    let (x, y, one, right) = (column(0), column(1), column(2), column(3));
    let whole = times(x, across(y, one));
    let found = [times(right, across(y, one)), times(x, across(right, one)), times(x, across(y, right))];
    (whole.abs() > 0.0).then(|| found.map(|own| own / whole))
}

/// All centres that draws of this scatter could make the best.
fn touching(means: &[Point], goal: Goal, scatter: f64) -> Option<Vec<Start>> {
    let places: Vec<Place> =
        means.iter().map(|[x, y]| Some((real(*x)?, real(*y)?))).collect::<Option<_>>()?;
    let first = *means.first()?;
    let scale = means.iter().map(|[x, y]| libm::hypot(x - first[0], y - first[1])).fold(0.0, f64::max);
    if !(scale > 0.0 && scale.is_finite()) {
        return None;
    }
    let about: Vec<Point> =
        means.iter().map(|[x, y]| [(x - first[0]) / scale, (y - first[1]) / scale]).collect();
    let hull: Vec<Point> = corners(&places).ok()?.iter().filter_map(|at| about.get(*at).copied()).collect();
    // Points of one line have no circle.
    if hull.len() < 3 {
        return None;
    }
    let best = best_centre(&about, &hull, goal, (4.0 * scatter / scale).clamp(ROUNDING, 0.1)).ok()?;
    let found = |[x, y]: &Point| {
        let centre = [first[0] + x * scale, first[1] + y * scale];
        let circle = measured(means, centre);
        (centre, if goal == Goal::Zone { circle.outer - circle.inner } else { -circle.inner })
    };
    let mut centres: Vec<(Point, f64)> = best.centres.iter().map(found).collect();
    centres.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut starts: Vec<Start> = Vec::new();
    for (centre, _) in centres {
        let known = |start: &Start| {
            libm::hypot(start.centre[0] - centre[0], start.centre[1] - centre[1]) < 0.1 * scale
        };
        if !starts.iter().any(known) && starts.len() < MOST_CENTRES {
            starts.push(settled(means, centre, goal, scale)?);
        }
    }
    Some(starts)
}

/// The centre to which the steps lead on the mean points, each taken afresh.
fn settled(means: &[Point], mut centre: Point, goal: Goal, scale: f64) -> Option<Start> {
    for _ in 0..MOST_STEPS {
        let way = way(means, centre, goal)?;
        let start = Start { centre, way };
        let [x, y] = start.step(means, centre)?;
        if libm::hypot(x, y) < 1e-12 * scale {
            return Some(start);
        }
        centre = [centre[0] + x, centre[1] + y];
    }
    None
}

/// The linear programmes of `roundness`, and where they end.
fn way(means: &[Point], centre: Point, goal: Goal) -> Option<Way> {
    let directions = directions(means, centre)?;
    let columns: Vec<Vec<f64>> = match goal {
        Goal::Zone => {
            let above = directions.iter().map(|[x, y]| vec![1.0, 0.0, *x, *y]);
            above.chain(directions.iter().map(|[x, y]| vec![0.0, 1.0, -x, -y])).collect()
        }
        Goal::Inscribed => directions.iter().map(|[x, y]| vec![1.0, *x, *y]).collect(),
    };
    let right: &[i64] = if goal == Goal::Zone { &[1, 1, 0, 0] } else { &[1, 0, 0] };
    let programme = Programme::new(&columns, right)?;
    let mut table = programme.begin();
    programme.maximise(&mut table, &costs(means, centre, goal))?;
    Some(match goal {
        Goal::Zone => Way::Zone(programme, table),
        Goal::Inscribed => Way::Inscribed(programme, table),
    })
}

/// The distances, about their middle, so that the digits go to the form.
fn costs(points: &[Point], centre: Point, goal: Goal) -> Vec<f64> {
    let circle = measured(points, centre);
    let middle = 0.5 * (circle.inner + circle.outer);
    let off = |sign: f64| points.iter().map(move |point| sign * (distance(*point, centre) - middle));
    match goal {
        Goal::Zone => off(1.0).chain(off(-1.0)).collect(),
        Goal::Inscribed => off(-1.0).collect(),
    }
}

fn distance([x, y]: Point, centre: Point) -> f64 {
    let (dx, dy) = (x - centre[0], y - centre[1]);
    libm::sqrt(dx * dx + dy * dy)
}

/// Least and greatest distance from a centre; the radius midway.
fn measured(points: &[Point], centre: Point) -> Circle {
    let distances = points.iter().map(|point| distance(*point, centre));
    let ends = |(least, most): (f64, f64), own: f64| (least.min(own), most.max(own));
    let (inner, outer) = distances.fold((f64::INFINITY, 0.0), ends);
    Circle { centre, inner, outer, radius: 0.5 * (inner + outer) }
}

impl Start {
    /// How far off a centre the best one seems to lie.
    fn step(&self, points: &[Point], centre: Point) -> Option<Point> {
        match &self.way {
            Way::Around => Some([0.0; 2]),
            Way::LeastSquares => least_squares(points, centre).map(|[x, y, _]| [x, y]),
            Way::Zone(programme, table) => {
                let prices = programme.maximise(&mut table.clone(), &costs(points, centre, Goal::Zone))?;
                Some([*prices.get(2)?, *prices.get(3)?])
            }
            Way::Inscribed(programme, table) => {
                let prices =
                    programme.maximise(&mut table.clone(), &costs(points, centre, Goal::Inscribed))?;
                Some([-*prices.get(1)?, -*prices.get(2)?])
            }
        }
    }

    fn circle(&self, points: &[Point], fine: f64) -> Option<Circle> {
        if let Way::Around = self.way {
            return around(points);
        }
        let (mut centre, mut last) = (self.centre, f64::INFINITY);
        for _ in 0..MOST_STEPS {
            let [x, y] = self.step(points, centre)?;
            centre = [centre[0] + x, centre[1] + y];
            let size = libm::hypot(x, y);
            if size <= fine {
                let circle = measured(points, centre);
                let radius = match &self.way {
                    Way::LeastSquares => least_squares(points, centre)?[2],
                    Way::Inscribed(..) => circle.inner,
                    _ => circle.radius,
                };
                return Some(Circle { radius, ..circle });
            }
            if size > 0.9 * last {
                return None;
            }
            last = size;
        }
        None
    }
}

/// The way of `smallest_circle`.
fn around(points: &[Point]) -> Option<Circle> {
    let mut support = vec![*points.first()?];
    let mut centre = *points.first()?;
    for _ in 0..MOST_STEPS.max(points.len()) {
        let radius = support.iter().map(|point| distance(*point, centre)).fold(0.0, f64::max);
        let far = points.iter().max_by(|a, b| distance(**a, centre).total_cmp(&distance(**b, centre)))?;
        if distance(*far, centre) <= radius * (1.0 + 1e-12) {
            let circle = measured(points, centre);
            return Some(Circle { radius: circle.outer, ..circle });
        }
        support.push(*far);
        (centre, support) = around_few(&support)?;
    }
    None
}

fn around_few(points: &[Point]) -> Option<(Point, Vec<Point>)> {
    let mut best: Option<(f64, Point, Vec<Point>)> = None;
    let mut offer = |centre: Point, by: &[Point]| {
        let radius = by.iter().map(|point| distance(*point, centre)).fold(0.0, f64::max);
        let holds = points.iter().all(|point| distance(*point, centre) <= radius * (1.0 + 1e-12));
        if holds && best.as_ref().is_none_or(|(known, ..)| radius < *known) {
            best = Some((radius, centre, by.to_vec()));
        }
    };
    for (place, a) in points.iter().enumerate() {
        for (next, b) in points.iter().enumerate().skip(place + 1) {
            offer([0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])], &[*a, *b]);
            for c in points.iter().skip(next + 1) {
                let (bx, by, cx, cy) = (b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]);
                let area = 2.0 * (bx * cy - by * cx);
                if area != 0.0 {
                    let (b_squared, c_squared) = (bx * bx + by * by, cx * cx + cy * cy);
                    let x = a[0] + (cy * b_squared - by * c_squared) / area;
                    let y = a[1] + (bx * c_squared - cx * b_squared) / area;
                    offer([x, y], &[*a, *b, *c]);
                }
            }
        }
    }
    best.map(|(_, centre, by)| (centre, by))
}
