//! A circle through points of a plane, by geometric least squares: the sum of the squared distances from the points to
//! the circle is least (Gander, Golub and Strebel, BIT 34 (1994), from memory). Not the algebraic fit, which is far off
//! on a short arc.
//!
//! Found by damped Gauss-Newton from several starts, the best of them kept; `f64` with the bound of the last step.

use super::nonlinear::{CurveFit, least_squares};
use super::{Fault, enough};
use crate::quantity::Real;

use super::plane::Place;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FittedCircle {
    pub centre: Place,
    pub radius: Real,
    /// Standard deviation of one point about the circle; none for three points.
    pub residual_stdev: Option<Real>,
    /// Distance of each point from the circle, plus = outside.
    pub departures: Vec<Real>,
}

/// Needs three points, not on one line.
pub fn fit_circle(points: &[Place]) -> Result<FittedCircle, Fault> {
    enough(points, 3)?;
    // Around the middle and over the spread, so that the digits go to the form.
    let n = points.len() as f64;
    let list = |of: fn(&Place) -> &Real| points.iter().map(|point| of(point).clone()).collect::<Vec<_>>();
    let (x0, y0) = (super::mean(&list(|point| &point.0))?, super::mean(&list(|point| &point.1))?);
    let raw: Vec<[f64; 2]> = points.iter().map(|(x, y)| [(x - &x0).to_f64(), (y - &y0).to_f64()]).collect();
    let scale = libm::sqrt(raw.iter().map(|[x, y]| x * x + y * y).sum::<f64>() / n);
    if !(scale > 0.0 && scale.is_finite()) {
        return Err(Fault::NoCircle);
    }
    let xy: Vec<[f64; 2]> = raw.iter().map(|[x, y]| [x / scale, y / scale]).collect();
    let mut best: Option<CurveFit<3>> = None;
    for start in starts(&xy).ok_or(Fault::NoCircle)? {
        let found = least_squares(xy.len(), start, |place, [cx, cy, radius]| {
            let [x, y] = xy.get(place)?;
            let (dx, dy) = (x - cx, y - cy);
            let distance = libm::hypot(dx, dy);
            // At the very centre the direction is anything; a point there only pulls on the radius.
            let over = if distance > 0.0 { 1.0 / distance } else { 0.0 };
            Some((distance - radius, [-dx * over, -dy * over, -1.0]))
        });
        if let Ok(found) = found
            && found.parameters[2] > 0.0
            && best.as_ref().is_none_or(|best| found.residual_squares < best.residual_squares)
        {
            best = Some(found);
        }
    }
    let fit = best.ok_or(Fault::NoCircle)?;
    // A radius thousands of times the spread is a straight line with noise.
    if fit.parameters[2] > 1e5 {
        return Err(Fault::NoCircle);
    }
    let input = points.iter().map(|(x, y)| x.bound().max(y.bound())).fold(0.0, f64::max);
    let stiffness = fit.parameters[2] * fit.parameters[2];
    let carried = 4.0 * input * n * (1.0 + stiffness);
    let real = |place: usize| {
        let (value, bound) = (fit.parameters.get(place)?, fit.bounds.get(place)?);
        Real::approximate(value * scale, bound * scale + carried + 1e-13 * scale * (1.0 + stiffness))
    };
    let [Some(cx), Some(cy), Some(radius)] = [0, 1, 2].map(real) else {
        return Err(Fault::IllConditioned);
    };
    let centre = (&x0 + &cx, &y0 + &cy);
    let departures: Option<Vec<Real>> = points
        .iter()
        .map(|(x, y)| {
            let (dx, dy) = (x - &centre.0, y - &centre.1);
            (&(&dx * &dx) + &(&dy * &dy)).sqrt().map(|distance| &distance - &radius)
        })
        .collect();
    let stdev = fit.residual_stdev() * scale;
    Ok(FittedCircle {
        centre,
        radius,
        residual_stdev: (fit.freedom > 0)
            .then(|| Real::approximate(stdev, 1e-9 * stdev + 1e-14 * scale))
            .flatten(),
        departures: departures.ok_or(Fault::IllConditioned)?,
    })
}

/// The algebraic circle, and centres around the middle of the points; `None` if they stand on one line.
fn starts(xy: &[[f64; 2]]) -> Option<Vec<[f64; 3]>> {
    let sum = |of: &dyn Fn(f64, f64) -> f64| xy.iter().map(|[x, y]| of(*x, *y)).sum::<f64>();
    let (xx, xy_sum, yy) = (sum(&|x, _| x * x), sum(&|x, y| x * y), sum(&|_, y| y * y));
    let determinant = xx * yy - xy_sum * xy_sum;
    if determinant <= 1e-13 * (xx + yy) * (xx + yy) {
        return None;
    }
    let (xz, yz) = (sum(&|x, y| x * (x * x + y * y)), sum(&|x, y| y * (x * x + y * y)));
    let (cx, cy) = (0.5 * (xz * yy - yz * xy_sum) / determinant, 0.5 * (yz * xx - xz * xy_sum) / determinant);
    let with_radius = |cx: f64, cy: f64| {
        let radius = xy.iter().map(|[x, y]| libm::hypot(x - cx, y - cy)).sum::<f64>() / xy.len() as f64;
        [cx, cy, radius]
    };
    let mut starts = vec![with_radius(cx, cy), with_radius(0.0, 0.0)];
    for distance in [1.0, 3.0] {
        for eighth in 0..8 {
            let angle = f64::from(eighth) * std::f64::consts::FRAC_PI_4;
            starts.push(with_radius(distance * libm::cos(angle), distance * libm::sin(angle)));
        }
    }
    Some(starts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    fn points(list: &[(i64, i64)]) -> Vec<Place> {
        list.iter().map(|(x, y)| (Real::from(*x), Real::from(*y))).collect()
    }

    #[test]
    fn points_on_a_circle_give_it_back_wherever_it_lies() {
        let away = points(&[(1005, -2000), (997, -1996), (996, -2003), (1003, -1996), (1004, -2003)]);
        let found = fit_circle(&away).unwrap();
        assert!(
            (found.centre.0.to_f64() - 1000.0).abs() < 1e-9
                && (found.centre.1.to_f64() + 2000.0).abs() < 1e-9
        );
        assert!(found.radius.equals(&Real::from(5)) && found.radius.bound() < 1e-9, "{found:?}");
        assert!(found.departures.iter().all(Real::is_zero));
        let three = fit_circle(&away[..3]).unwrap();
        assert!(three.radius.equals(&Real::from(5)) && three.residual_stdev.is_none());
    }

    #[test]
    fn points_on_a_line_or_on_one_spot_have_no_circle() {
        assert_eq!(fit_circle(&points(&[(0, 0), (1, 1), (2, 2), (7, 7)])), Err(Fault::NoCircle));
        assert_eq!(fit_circle(&points(&[(3, 3), (3, 3), (3, 3)])), Err(Fault::NoCircle));
        assert_eq!(fit_circle(&points(&[(3, 3), (4, 3)])), Err(Fault::TooFew { needed: 3, found: 2 }));
    }

    #[test]
    fn unit_and_place_change_nothing_but_the_unit_and_the_place() {
        let list = points(&[(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)]);
        let moved: Vec<Place> = list
            .iter()
            .rev()
            .map(|(x, y)| {
                let inch = Real::Exact(ratio(254, 10));
                (&(&-y * &inch) + &Real::from(300), &(x * &inch) - &Real::from(77))
            })
            .collect();
        let (found, other) = (fit_circle(&list).unwrap(), fit_circle(&moved).unwrap());
        assert!((found.radius.to_f64() * 25.4 / other.radius.to_f64() - 1.0).abs() < 1e-10);
        assert!((other.centre.1.to_f64() - (found.centre.0.to_f64() * 25.4 - 77.0)).abs() < 1e-8);
    }
}
