//! Roundness of the readings of one turn, against the circle that is asked for.
//!
//! A circle seen by a dial on a turned part is R + a cos t + b sin t (the first term of its eccentricity e; the next
//! is e^2 / (2 radius), 0.1 nm for 5 um on a radius of 125 mm). Roundness = greatest less least departure from it:
//!
//! - by least squares (LSCI): first harmonic of the readings
//! - by minimum zone (MZCI): the R, a, b for which it is least
//! - circumscribed (MCCI): the smallest circle around the readings, plus = outward
//! - inscribed (MICI): the largest circle within them
//!
//! Of several smallest or largest circles (contacts just opposite) the one with the least roundness. Reference circles
//! of ISO 12181-1 (from memory). The last three by linear programme: exact for the sines and cosines that were used,
//! whose own error goes into the bound. Angles in degrees, in any order, unequal, none twice; unsigned.

use num_traits::{Signed, ToPrimitive};

use super::optimum::{Columns, Optimum, maximise};
use super::turn::{harmonics, within_turn};
use super::{Fault, paired, range};
use crate::quantity::{Rational, Real, ratio};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CircleReference {
    LeastSquares,
    MinimumZone,
    Inscribed,
    Circumscribed,
}

impl CircleReference {
    pub const ALL: [Self; 4] = [Self::LeastSquares, Self::MinimumZone, Self::Inscribed, Self::Circumscribed];
}

/// The circle found, and what departs from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Roundness {
    pub value: Real,
    /// The coefficients R, a, b: of the least-squares, inscribed or circumscribed circle, or midway in the zone.
    pub circle: [Real; 3],
    /// The positions of the readings that touch the circle or the borders of the zone from within; by least squares none.
    pub inner_contacts: Vec<usize>,
    /// Those that touch from outside.
    pub outer_contacts: Vec<usize>,
}

impl Roundness {
    /// The departure of a reading from the circle; plus is outward.
    pub fn departure(&self, angle: &Real, reading: &Real) -> Real {
        let [radius, along, across] = &self.circle;
        reading - &(&(radius + &(along * &angle.cos())) + &(across * &angle.sin()))
    }
}

/// Needs four readings.
pub fn roundness(angles: &[Real], readings: &[Real], reference: CircleReference) -> Result<Roundness, Fault> {
    paired(angles, readings, 4)?;
    let angles = within_turn(angles)?;
    if reference == CircleReference::LeastSquares {
        return by_least_squares(&angles, readings);
    }
    let turn = Turn::new(&angles, readings)?;
    let found = match reference {
        CircleReference::Inscribed => turn.inscribed(),
        CircleReference::Circumscribed => turn.circumscribed(),
        CircleReference::LeastSquares | CircleReference::MinimumZone => turn.minimum_zone(),
    };
    found.and_then(|circle| turn.judged(circle))
}

fn by_least_squares(angles: &[Real], readings: &[Real]) -> Result<Roundness, Fault> {
    let found = harmonics(angles, readings, 1)?;
    let arrow = found.arrows.into_iter().next().ok_or(Fault::IllConditioned)?;
    let mut circle = Roundness {
        value: Real::zero(),
        circle: [found.mean, arrow.along, arrow.across],
        inner_contacts: Vec::new(),
        outer_contacts: Vec::new(),
    };
    let departures: Vec<Real> =
        angles.iter().zip(readings).map(|(angle, reading)| circle.departure(angle, reading)).collect();
    circle.value = range(&departures)?;
    Ok(circle)
}

/// The readings as numbers of the linear programme.
pub(super) struct Turn {
    /// Cosine and sine.
    pub rays: Vec<[Rational; 2]>,
    pub readings: Vec<Rational>,
    pub ray_bound: f64,
    pub reading_bound: f64,
}

/// A circle before its departures are looked at. `sway` says by how much more than its own error the roundness may move.
pub(super) struct Circle {
    radius: Rational,
    pub along: Rational,
    pub across: Rational,
    value: Rational,
    pub inner: Vec<usize>,
    pub outer: Vec<usize>,
    sway: f64,
}

fn zero() -> Rational {
    ratio(0, 1)
}

/// A circle outside of which no reading may lie (`side` 1), or inside of which none may (-1): the first entries of its
/// columns, the sign of the readings, and what is taken off them.
struct Border {
    head: Vec<i32>,
    side: i32,
    sign: i32,
    less: Rational,
}

impl Border {
    fn new(head: &[i32], side: i32, sign: i32, less: Rational) -> Self {
        Self { head: head.to_vec(), side, sign, less }
    }
}

fn places(optimum: &Optimum) -> impl Iterator<Item = usize> + '_ {
    optimum.contacts.iter().map(|(place, _)| *place)
}

fn coefficients<const N: usize>(optimum: &Optimum) -> Result<[Rational; N], Fault> {
    optimum.dual.clone().try_into().map_err(|_| Fault::IllConditioned)
}

impl Turn {
    fn new(angles: &[Real], readings: &[Real]) -> Result<Self, Fault> {
        let rays: Vec<(Real, Real)> = angles.iter().map(|angle| (angle.cos(), angle.sin())).collect();
        let widest = |bounds: &mut dyn Iterator<Item = f64>| bounds.fold(0.0, f64::max);
        let turn = Self {
            ray_bound: widest(&mut rays.iter().map(|(x, y)| x.bound().max(y.bound()))),
            reading_bound: widest(&mut readings.iter().map(Real::bound)),
            rays: rays.iter().map(|(x, y)| [x.middle(), y.middle()]).collect(),
            readings: readings.iter().map(Real::middle).collect(),
        };
        if turn.ray_bound.is_finite() && turn.reading_bound.is_finite() {
            Ok(turn)
        } else {
            Err(Fault::IllConditioned)
        }
    }

    /// The readings against each of the borders, as columns.
    fn columns(&self, borders: Vec<Border>) -> Columns<'_> {
        let number = |exact: &Rational| exact.to_f64().unwrap_or(f64::INFINITY);
        let points =
            self.rays.iter().zip(&self.readings).map(|([x, y], r)| [number(x), number(y), number(r)]);
        let points: Vec<[f64; 3]> = points.collect();
        let column = |border: &Border, [x, y, r]: &[f64; 3]| {
            let (side, sign) = (f64::from(border.side), f64::from(border.sign));
            let turned = [side * x, side * y, sign * r - number(&border.less)];
            border.head.iter().map(|head| f64::from(*head)).chain(turned).collect::<Vec<f64>>()
        };
        let binary = borders.iter().flat_map(|border| points.iter().map(|point| column(border, point)));
        let binary: Vec<Vec<f64>> = binary.collect();
        let largest =
            points.iter().fold([0.0f64; 3], |most, point| [0, 1, 2].map(|of| most[of].max(point[of].abs())));
        let less = borders.iter().map(|border| number(&border.less).abs()).fold(0.0, f64::max);
        let heads = borders.first().map_or(0, |border| border.head.len());
        let off = [largest[0], largest[1], largest[2] + less].map(|most| 4.0 * f64::EPSILON * most);
        let off = std::iter::repeat_n(0.0, heads).chain(off).collect();
        let exact = move |column: usize| {
            let count = self.readings.len().max(1);
            let (border, place) = (borders.get(column / count), column % count);
            let Some(((border, [x, y]), reading)) =
                border.zip(self.rays.get(place)).zip(self.readings.get(place))
            else {
                return Vec::new();
            };
            let (side, sign) = (ratio(border.side.into(), 1), ratio(border.sign.into(), 1));
            let turned = [x * &side, y * &side, reading * &sign - &border.less];
            border.head.iter().map(|head| ratio((*head).into(), 1)).chain(turned).collect()
        };
        Columns::new(exact, binary, off)
    }

    pub(super) fn minimum_zone(&self) -> Result<Circle, Fault> {
        let columns =
            self.columns(vec![Border::new(&[1, 0], 1, 1, zero()), Border::new(&[0, 1], -1, -1, zero())]);
        let best = maximise(&columns, &[1, 1, 0, 0]).ok_or(Fault::IllConditioned)?;
        let [outer, inner, along, across] = coefficients(&best)?;
        let n = self.readings.len();
        Ok(Circle {
            radius: (outer - inner) / ratio(2, 1),
            along,
            across,
            value: best.value.clone(),
            outer: places(&best).filter(|place| *place < n).collect(),
            inner: places(&best).filter(|place| *place >= n).map(|place| place - n).collect(),
            sway: 1.0,
        })
    }

    fn circumscribed(&self) -> Result<Circle, Fault> {
        self.touching(1)
    }

    pub(super) fn inscribed(&self) -> Result<Circle, Fault> {
        let mut circle = self.touching(-1)?;
        circle.radius = -circle.radius;
        circle.along = -circle.along;
        circle.across = -circle.across;
        std::mem::swap(&mut circle.inner, &mut circle.outer);
        Ok(circle)
    }

    /// The smallest circle around the readings times `sign`; among several the one of least roundness.
    fn touching(&self, sign: i32) -> Result<Circle, Fault> {
        // Without readings all around, a circle could be moved away for ever.
        let around = self.columns(vec![Border::new(&[1], 1, sign, zero())]);
        let first = maximise(&around, &[1, 0, 0]).ok_or(Fault::HalfTurn)?;
        let radius = first.value.clone();
        // With that radius held: the largest circle within the readings from the same centre.
        let held = Border::new(&[0], 1, sign, radius.clone());
        let columns = self.columns(vec![held, Border::new(&[1], -1, -sign, zero())]);
        let second = maximise(&columns, &[1, 0, 0]).ok_or(Fault::IllConditioned)?;
        let [inner, along, across] = coefficients(&second)?;
        let n = self.readings.len();
        let held: f64 = second
            .contacts
            .iter()
            .filter(|(place, _)| *place < n)
            .filter_map(|(_, share)| share.to_f64())
            .sum();
        Ok(Circle {
            value: &radius + &inner,
            radius,
            along,
            across,
            outer: places(&first).collect(),
            inner: places(&second).filter(|place| *place >= n).map(|place| place - n).collect(),
            sway: 1.0 + held,
        })
    }

    /// The bound on the roundness: true sines and cosines differ from those used by `ray_bound`, which moves a
    /// departure by that times the size of the eccentricity. Of the true best circle only this is known: it fits the
    /// readings as well, so that it lies no further from the least-squares circle than the zone allows.
    fn judged(&self, circle: Circle) -> Result<Roundness, Fault> {
        let number = |exact: &Rational| exact.to_f64().unwrap_or(f64::INFINITY);
        let value = number(&circle.value);
        let off = number(&circle.along.abs()) + number(&circle.across.abs());
        let spread = self.spread().ok_or(Fault::IllConditioned)?;
        let reach = 2.0 * (off + value / spread);
        let rays = 4.0 * reach * self.ray_bound;
        let bound = circle.sway * (rays + 2.0 * self.reading_bound);
        let real = |exact: Rational| {
            if bound == 0.0 {
                return Ok(Real::Exact(exact));
            }
            let value = number(&exact);
            Real::approximate(value, bound + value.abs() * 2.0 * f64::EPSILON).ok_or(Fault::IllConditioned)
        };
        Ok(Roundness {
            value: real(circle.value)?,
            circle: [real(circle.radius)?, real(circle.along)?, real(circle.across)?],
            inner_contacts: circle.inner,
            outer_contacts: circle.outer,
        })
    }

    /// How well the angles go around: the root of the least eigenvalue of the centred mean squares of the rays, 0.7 for
    /// equal angles. `None` where they are so close together that nothing can be said.
    fn spread(&self) -> Option<f64> {
        let n = self.rays.len() as f64;
        let rays: Vec<[f64; 2]> =
            self.rays.iter().map(|[x, y]| [x.to_f64().unwrap_or(0.0), y.to_f64().unwrap_or(0.0)]).collect();
        let mean = rays.iter().fold([0.0; 2], |sum, ray| [sum[0] + ray[0] / n, sum[1] + ray[1] / n]);
        let mut squares = [0.0; 3];
        for ray in &rays {
            let (x, y) = (ray[0] - mean[0], ray[1] - mean[1]);
            squares = [squares[0] + x * x / n, squares[1] + x * y / n, squares[2] + y * y / n];
        }
        let half = 0.5 * (squares[0] + squares[2]);
        let skew = 0.5 * (squares[0] - squares[2]);
        let root = libm::sqrt(skew * skew + squares[1] * squares[1]);
        let least = half - root;
        (least > 1e-9).then(|| libm::sqrt(least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ALL: [CircleReference; 4] = CircleReference::ALL;

    fn whole(values: &[i64]) -> Vec<Real> {
        values.iter().copied().map(Real::from).collect()
    }

    #[test]
    fn an_oval_of_four_quarters_is_exact_by_every_circle() {
        let (angles, readings) = (whole(&[0, 90, 180, 270]), whole(&[12, 4, 8, 6]));
        // Centred: 10, 5, 10, 5. Circles around the long and within the short way keep the same centre.
        for reference in ALL {
            assert_eq!(
                roundness(&angles, &readings, reference).unwrap().value,
                Real::from(5),
                "{reference:?}"
            );
        }
        let around = roundness(&angles, &readings, CircleReference::Circumscribed).unwrap();
        assert_eq!((around.circle[0].clone(), around.outer_contacts), (Real::from(10), vec![0, 2]));
        let within = roundness(&angles, &readings, CircleReference::Inscribed).unwrap();
        assert_eq!((within.circle[0].clone(), within.inner_contacts), (Real::from(5), vec![1, 3]));
    }

    #[test]
    fn readings_of_half_a_turn_are_refused_where_the_circle_would_run_away() {
        let (angles, readings) = (whole(&[0, 40, 80, 120]), whole(&[1, 2, 3, 9]));
        for reference in [CircleReference::Inscribed, CircleReference::Circumscribed] {
            assert_eq!(roundness(&angles, &readings, reference), Err(Fault::HalfTurn));
        }
        assert!(roundness(&angles, &readings, CircleReference::MinimumZone).is_ok());
        let few = roundness(&angles[..3], &readings[..3], CircleReference::MinimumZone);
        assert_eq!(few, Err(Fault::TooFew { needed: 4, found: 3 }));
    }

    #[test]
    fn a_true_circle_has_no_roundness() {
        let angles = whole(&[0, 30, 90, 150, 180, 270, 300]);
        let readings: Vec<Real> = angles
            .iter()
            .map(|angle| &(&Real::from(40) + &(&Real::from(6) * &angle.sin())) - &angle.cos())
            .collect();
        for reference in ALL {
            let found = roundness(&angles, &readings, reference).unwrap().value;
            assert!(found.is_zero() && found.bound() < 1e-12, "{reference:?} {found:?}");
        }
        let flat = roundness(&angles, &vec![Real::from(3); 7], CircleReference::MinimumZone).unwrap().value;
        assert_eq!(flat.to_f64(), 0.0);
    }

    /// Readings around a turn at unequal angles.
    fn turns() -> impl Strategy<Value = (Vec<Real>, Vec<Real>)> {
        proptest::collection::vec((1i64..40, -50i64..50), 8..20).prop_map(|points| {
            let total: i64 = points.iter().map(|(step, _)| step).sum();
            let mut place = 0;
            let angles = points.iter().map(|(step, _)| {
                place += step;
                Real::Exact(ratio(place * 360, total))
            });
            (angles.collect(), points.iter().map(|(_, value)| Real::from(*value)).collect())
        })
    }

    fn is_near(a: &Real, b: &Real) -> bool {
        (a.to_f64() - b.to_f64()).abs() <= 2.0 * (a.bound() + b.bound()) + 1e-12
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(16))]
        /// No reference gives less than the minimum zone; moving the part, turning the start, the order, the sign of
        /// inside and outside, and the unit change what they must and nothing else.
        #[test]
        fn the_zone_is_least_and_nothing_hangs_on_the_set_up((angles, readings) in turns(), by in 0i64..360) {
            let find = |angles: &[Real], readings: &[Real], reference| roundness(angles, readings, reference).map(|found| found.value);
            let Ok(zone) = find(&angles, &readings, CircleReference::MinimumZone) else { return Ok(()) };
            for reference in ALL {
                let Ok(value) = find(&angles, &readings, reference) else { continue };
                prop_assert!(zone.is_at_most(&value), "{:?} {:?} {:?}", zone, reference, value);
                prop_assert!(value.bound() < 1e-9);
                let moved: Vec<Real> = angles.iter().zip(&readings)
                    .map(|(angle, reading)| &(reading + &(&angle.sin() * &Real::from(30))) + &Real::from(1000)).collect();
                prop_assert!(is_near(&value, &find(&angles, &moved, reference).unwrap()), "moved {:?}", reference);
                let turned: Vec<Real> = angles.iter().map(|angle| angle + &Real::from(by)).collect();
                prop_assert!(is_near(&value, &find(&turned, &readings, reference).unwrap()), "turned {:?}", reference);
                let scaled: Vec<Real> = readings.iter().map(|reading| reading * &Real::Exact(ratio(254, 10))).collect();
                prop_assert!(is_near(&(&value * &Real::Exact(ratio(254, 10))), &find(&angles, &scaled, reference).unwrap()));
                let reversed: (Vec<Real>, Vec<Real>) = (angles.iter().rev().cloned().collect(), readings.iter().rev().cloned().collect());
                prop_assert!(is_near(&value, &find(&reversed.0, &reversed.1, reference).unwrap()));
                let inside_out: Vec<Real> = readings.iter().map(|reading| -reading).collect();
                let other = match reference {
                    CircleReference::Inscribed => CircleReference::Circumscribed,
                    CircleReference::Circumscribed => CircleReference::Inscribed,
                    same => same,
                };
                prop_assert!(is_near(&value, &find(&angles, &inside_out, other).unwrap()));
            }
        }
    }
}
