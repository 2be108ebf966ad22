//! The smallest circle around points of a plane, exact: centre and square of the radius are rational.
//!
//! Three points at most settle it. Beginning with any, the point farthest outside joins, and the smallest circle around
//! those that settled it so far and the new one is found among their pairs (as a diameter) and triples. The circle grows
//! each time, so it ends, and at the end no point is outside: that is the proof.

use num_traits::{Signed, ToPrimitive, Zero};

use crate::quantity::{Rational, ratio};

pub(super) type Point = (Rational, Rational);

pub(super) struct Around {
    pub centre: Point,
    pub radius_squared: Rational,
}

fn distance_squared(a: &Point, b: &Point) -> Rational {
    let (dx, dy) = (&a.0 - &b.0, &a.1 - &b.1);
    &dx * &dx + &dy * &dy
}

impl Around {
    fn over(a: &Point, b: &Point) -> Around {
        let half = ratio(1, 2);
        let centre = ((&a.0 + &b.0) * &half, (&a.1 + &b.1) * &half);
        Around { radius_squared: distance_squared(&centre, a), centre }
    }

    fn through(a: &Point, b: &Point, c: &Point) -> Option<Around> {
        let (bx, by, cx, cy) = (&b.0 - &a.0, &b.1 - &a.1, &c.0 - &a.0, &c.1 - &a.1);
        let area = (&bx * &cy - &by * &cx) * ratio(2, 1);
        if area.is_zero() {
            return None;
        }
        let (b_squared, c_squared) = (&bx * &bx + &by * &by, &cx * &cx + &cy * &cy);
        let x = (&cy * &b_squared - &by * &c_squared) / &area;
        let y = (&bx * &c_squared - &cx * &b_squared) / &area;
        Some(Around { radius_squared: &x * &x + &y * &y, centre: (&a.0 + x, &a.1 + y) })
    }

    fn holds(&self, point: &Point) -> bool {
        distance_squared(&self.centre, point) <= self.radius_squared
    }
}

/// `None` for no points at all.
pub(super) fn smallest_circle(points: &[Point]) -> Option<Around> {
    let binary: Vec<(f64, f64)> =
        points.iter().map(|(x, y)| Some((x.to_f64()?, y.to_f64()?))).collect::<Option<_>>()?;
    let size = binary.iter().map(|(x, y)| x.abs().max(y.abs())).fold(0.0, f64::max);
    let mut support = vec![points.first()?.clone()];
    let mut circle = Around { centre: points.first()?.clone(), radius_squared: Rational::zero() };
    loop {
        // Binary numbers say who may be the farthest; exact ones, who is.
        let (cx, cy) = (circle.centre.0.to_f64()?, circle.centre.1.to_f64()?);
        let rough: Vec<f64> = binary.iter().map(|(x, y)| libm::hypot(x - cx, y - cy)).collect();
        let most = rough.iter().copied().fold(0.0, f64::max) - 1e-13 * (size + cx.abs() + cy.abs());
        let near_most =
            points.iter().zip(&rough).filter(|(_, rough)| **rough >= most).map(|(point, _)| point);
        let farthest = near_most
            .max_by(|a, b| distance_squared(&circle.centre, a).cmp(&distance_squared(&circle.centre, b)))?;
        if circle.holds(farthest) {
            return Some(circle);
        }
        support.push(farthest.clone());
        (circle, support) = around_few(&support)?;
    }
}

/// The smallest circle around at most four points, and those that settle it.
fn around_few(points: &[Point]) -> Option<(Around, Vec<Point>)> {
    let mut best: Option<(Around, Vec<Point>)> = None;
    let mut offer = |circle: Option<Around>, by: &[&Point]| {
        if let Some(circle) = circle
            && points.iter().all(|point| circle.holds(point))
            && best
                .as_ref()
                .is_none_or(|(best, _)| (&circle.radius_squared - &best.radius_squared).is_negative())
        {
            best = Some((circle, by.iter().map(|point| (*point).clone()).collect()));
        }
    };
    for (place, a) in points.iter().enumerate() {
        for (next, b) in points.iter().enumerate().skip(place + 1) {
            offer(Some(Around::over(a, b)), &[a, b]);
            for c in points.iter().skip(next + 1) {
                offer(Around::through(a, b, c), &[a, b, c]);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn two_points_make_a_diameter_and_one_a_spot() {
        let at = |x: i64, y: i64| (ratio(x, 1), ratio(y, 1));
        let two = smallest_circle(&[at(0, 0), at(6, 8), at(3, 4)]).unwrap();
        assert_eq!((two.centre, two.radius_squared), (at(3, 4), ratio(25, 1)));
        assert_eq!(smallest_circle(&[at(2, 2), at(2, 2)]).unwrap().radius_squared, ratio(0, 1));
        assert!(smallest_circle(&[]).is_none());
    }

    proptest! {
        /// All points lie within, and no pair or triple has a smaller circle around all.
        #[test]
        fn nothing_smaller_holds_all(points in proptest::collection::vec((-20i64..20, -20i64..20), 2..9)) {
            let points: Vec<Point> = points.into_iter().map(|(x, y)| (ratio(x, 3), ratio(y, 3))).collect();
            let found = smallest_circle(&points).unwrap();
            prop_assert!(points.iter().all(|point| found.holds(point)));
            let mut circles = Vec::new();
            for a in &points {
                for b in &points {
                    circles.push(Around::over(a, b));
                    circles.extend(points.iter().filter_map(|c| Around::through(a, b, c)));
                }
            }
            for circle in circles {
                prop_assert!(!points.iter().all(|point| circle.holds(point)) || circle.radius_squared >= found.radius_squared);
            }
        }
    }
}
