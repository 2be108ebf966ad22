//! The form of many sets of readings at the same stations, in binary numbers: of draws, where the last digits do not
//! matter and there are tens of thousands of them. The value itself comes from `line`, `roundness` and `plane`.
//!
//! By least squares: readings less their projection on an orthonormal basis of what fits (Gram-Schmidt, twice). By
//! touching: the linear programme of those modules. Its conditions hang on the stations alone and the readings are its
//! costs, so that the contacts of one set meet the conditions for all others: each begins from those of the first, and
//! mostly they are its own. A set that rounding leaves open goes the exact way.

use super::guess::{Programme, Table, product};
use super::{
    CircleReference, Fault, Place, PlaneReference, Reference, ordinates, plane_ordinates, roundness,
};
use crate::quantity::Real;

/// What departs from the reference, worked out exactly.
type Exactly = Box<dyn Fn(&[Real]) -> Result<Vec<Real>, Fault>>;

/// The stations, and how a form is found at them.
pub struct DrawnForm {
    /// What is free beside the height or radius: a slope and the place along it, or the two of a centre.
    rows: Vec<Vec<f64>>,
    way: Way,
    exactly: Exactly,
}

enum Way {
    /// Which stations are the ends.
    Ends(usize, usize),
    /// An orthonormal basis, and by how much each reading counts, its root.
    LeastSquares(Vec<Vec<f64>>, Vec<f64>),
    MinimumZone(Programme),
    /// Around the readings times the sign; then, with that radius held, the largest within them.
    Touching {
        sign: f64,
        around: Programme,
        held: Programme,
    },
}

/// Where the first set ended.
struct Begin {
    first: Table,
    second: Option<Table>,
}

impl std::fmt::Debug for DrawnForm {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "DrawnForm of {} stations", self.rows.len())
    }
}

impl DrawnForm {
    /// Roundness of readings at these angles.
    pub fn round(angles: &[Real], reference: CircleReference) -> Option<Self> {
        let rows = angles.iter().map(|angle| vec![angle.cos().to_f64(), angle.sin().to_f64()]).collect();
        let angles = angles.to_vec();
        let exactly = Box::new(move |readings: &[Real]| {
            let found = roundness(&angles, readings, reference)?;
            Ok(angles.iter().zip(readings).map(|(angle, own)| found.departure(angle, own)).collect())
        });
        let touching = |sign| move |rows: &[Vec<f64>]| touching(rows, sign);
        match reference {
            CircleReference::LeastSquares => Self::new(rows, least_squares, exactly),
            CircleReference::MinimumZone => Self::new(rows, minimum_zone, exactly),
            CircleReference::Circumscribed => Self::new(rows, touching(1.0), exactly),
            CircleReference::Inscribed => Self::new(rows, touching(-1.0), exactly),
        }
    }

    /// Flatness of heights at these places; not by three corners.
    pub fn flat(places: &[Place], reference: PlaneReference) -> Option<Self> {
        let (x, y) = places.first()?;
        let rows =
            places.iter().map(|place| vec![(&place.0 - x).to_f64(), (&place.1 - y).to_f64()]).collect();
        let places = places.to_vec();
        let exactly = Box::new(move |heights: &[Real]| plane_ordinates(&places, heights, reference));
        match reference {
            PlaneReference::LeastSquares => Self::new(rows, least_squares, exactly),
            PlaneReference::LeastSquaresByPlace => Self::new(rows, least_squares_by_place, exactly),
            PlaneReference::MinimumZone => Self::new(rows, minimum_zone, exactly),
            PlaneReference::ThreeCorners => None,
        }
    }

    /// Straightness along these places.
    pub fn straight(places: &[Real], reference: Reference) -> Option<Self> {
        let from = places.first()?;
        let rows = places.iter().map(|place| vec![(place - from).to_f64()]).collect();
        let places = places.to_vec();
        let exactly = Box::new(move |heights: &[Real]| ordinates(&places, heights, reference));
        match reference {
            Reference::Ends => Self::new(rows, by_ends, exactly),
            Reference::LeastSquares => Self::new(rows, least_squares, exactly),
            Reference::MinimumZone => Self::new(rows, minimum_zone, exactly),
        }
    }

    fn new(rows: Vec<Vec<f64>>, way: impl Fn(&[Vec<f64>]) -> Option<Way>, exactly: Exactly) -> Option<Self> {
        Some(Self { way: way(&rows)?, rows, exactly })
    }

    /// The form of each set; `readings` holds of each station its reading in all sets.
    pub fn of_all(&self, readings: &[impl AsRef<[f64]>]) -> Option<Vec<f64>> {
        let mut forms = Vec::new();
        self.each(readings, |departures| forms.push(range(departures.iter().copied())))?;
        Some(forms)
    }

    /// What departs from a plane or a line, midway in the zone where it is one: of each station in all sets.
    pub fn ordinates_of_all(&self, readings: &[impl AsRef<[f64]>]) -> Option<Vec<Vec<f64>>> {
        let mut all = vec![Vec::new(); readings.len()];
        self.each(readings, |departures| {
            let (least, most) = ends(departures.iter().copied());
            let middle = match self.way {
                Way::Ends(..) | Way::LeastSquares(..) => 0.0,
                Way::MinimumZone(_) | Way::Touching { .. } => 0.5 * (least + most),
            };
            all.iter_mut().zip(departures).for_each(|(all, own)| all.push(own - middle));
        })?;
        Some(all)
    }

    /// What departs from the reference in each set, up to its own height.
    fn each(&self, readings: &[impl AsRef<[f64]>], mut take: impl FnMut(&[f64])) -> Option<()> {
        let sets = readings.iter().map(|own| own.as_ref().len()).min()?;
        let mut begin: Option<Begin> = None;
        let mut own: Vec<f64> = Vec::with_capacity(readings.len());
        for at in 0..sets {
            own.clear();
            own.extend(readings.iter().filter_map(|readings| readings.as_ref().get(at).copied()));
            take(&self.of(&own, &mut begin).or_else(|| self.of_exactly(&own))?);
        }
        Some(())
    }

    fn of_exactly(&self, readings: &[f64]) -> Option<Vec<f64>> {
        let readings: Option<Vec<Real>> = readings.iter().map(|own| Real::approximate(*own, 0.0)).collect();
        (self.exactly)(&readings?).ok().map(|departures| departures.iter().map(Real::to_f64).collect())
    }

    fn off_ends(&self, first: usize, last: usize, readings: &[f64]) -> Option<Vec<f64>> {
        let at = |of: usize| Some((*self.rows.get(of)?.first()?, *readings.get(of)?));
        let ((from, low), (to, high)) = (at(first)?, at(last)?);
        let slope = (high - low) / (to - from);
        let off = |(row, own): (&Vec<f64>, &f64)| Some(own - low - slope * (row.first()? - from));
        self.rows.iter().zip(readings).map(off).collect()
    }

    fn of(&self, readings: &[f64], begin: &mut Option<Begin>) -> Option<Vec<f64>> {
        if let Way::LeastSquares(basis, roots) = &self.way {
            let counted: Vec<f64> = readings.iter().zip(roots).map(|(own, root)| own * root).collect();
            return Some(projected(basis, &counted).zip(roots).map(|(own, root)| own / root).collect());
        }
        if let Way::Ends(first, last) = self.way {
            return self.off_ends(first, last, readings);
        }
        // About the middle, so that the digits go to the form.
        let (least, most) = ends(readings.iter().copied());
        let middle = 0.5 * (least + most);
        let about = |sign: f64| readings.iter().map(move |own| sign * (own - middle));
        let slopes = match &self.way {
            Way::Ends(..) | Way::LeastSquares(..) => return None,
            Way::MinimumZone(programme) => {
                let costs: Vec<f64> = about(1.0).chain(about(-1.0)).collect();
                let mut table = begin.as_ref().map_or_else(|| programme.begin(), |begin| begin.first.clone());
                let prices = programme.maximise(&mut table, &costs)?;
                begin.get_or_insert(Begin { first: table, second: None });
                prices.get(2..)?.to_vec()
            }
            Way::Touching { sign, around, held } => {
                let mut first = begin.as_ref().map_or_else(|| around.begin(), |begin| begin.first.clone());
                let costs: Vec<f64> = about(*sign).collect();
                let radius = *around.maximise(&mut first, &costs)?.first()?;
                // A little more, or rounding leaves no centre with that radius.
                let radius = radius + 1e-11 * (most - least);
                let costs: Vec<f64> = about(*sign).map(|own| own - radius).chain(about(-sign)).collect();
                let known = begin.as_ref().and_then(|begin| begin.second.clone());
                let mut second = known.unwrap_or_else(|| held.begin());
                let prices = held.maximise(&mut second, &costs)?;
                begin.get_or_insert(Begin { first, second: Some(second) });
                prices.get(1..)?.iter().map(|slope| sign * slope).collect()
            }
        };
        let off = |(row, reading): (&Vec<f64>, &f64)| reading - middle - product(row, &slopes);
        Some(self.rows.iter().zip(readings).map(off).collect())
    }
}

/// `None` if all stand at one place.
fn by_ends(rows: &[Vec<f64>]) -> Option<Way> {
    let place = |at: &usize| rows.get(*at).and_then(|row| row.first()).copied().unwrap_or(0.0);
    let by_place = |a: &usize, b: &usize| place(a).total_cmp(&place(b));
    let (first, last) = ((0..rows.len()).min_by(by_place)?, (0..rows.len()).max_by(by_place)?);
    (place(&first) < place(&last)).then_some(Way::Ends(first, last))
}

/// The columns of `minimum_zone_plane` and of `roundness`: for the border above and for the one below.
fn minimum_zone(rows: &[Vec<f64>]) -> Option<Way> {
    let above = rows.iter().map(|row| column(&[1.0, 0.0], 1.0, row));
    let below = rows.iter().map(|row| column(&[0.0, 1.0], -1.0, row));
    let columns: Vec<Vec<f64>> = above.chain(below).collect();
    let right: Vec<i64> = [1, 1].into_iter().chain(rows.first()?.iter().map(|_| 0)).collect();
    Programme::new(&columns, &right).map(Way::MinimumZone)
}

fn touching(rows: &[Vec<f64>], sign: f64) -> Option<Way> {
    let outside = |head: f64| rows.iter().map(move |row| column(&[head], 1.0, row));
    let around: Vec<Vec<f64>> = outside(1.0).collect();
    let within = rows.iter().map(|row| column(&[1.0], -1.0, row));
    let held: Vec<Vec<f64>> = outside(0.0).chain(within).collect();
    let right = [1, 0, 0];
    let (around, held) = (Programme::new(&around, &right)?, Programme::new(&held, &right)?);
    Some(Way::Touching { sign, around, held })
}

fn column(head: &[f64], side: f64, row: &[f64]) -> Vec<f64> {
    head.iter().copied().chain(row.iter().map(|own| side * own)).collect()
}

fn least_squares(rows: &[Vec<f64>]) -> Option<Way> {
    counted(rows, vec![1.0; rows.len()])
}

/// Of several readings at one place each counts for its part.
fn least_squares_by_place(rows: &[Vec<f64>]) -> Option<Way> {
    let there = |row: &Vec<f64>| rows.iter().filter(|other| *other == row).count() as f64;
    counted(rows, rows.iter().map(|row| libm::sqrt(1.0 / there(row))).collect())
}

/// `None` if the stations do not settle what fits.
fn counted(rows: &[Vec<f64>], roots: Vec<f64>) -> Option<Way> {
    let width = rows.first()?.len();
    let counted = |row: &Vec<f64>, of: usize, root: &f64| root * row.get(of).copied().unwrap_or(0.0);
    let column = |of: usize| rows.iter().zip(&roots).map(|(row, root)| counted(row, of, root)).collect();
    let columns = [roots.clone()].into_iter().chain((0..width).map(column));
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for column in columns {
        let size = libm::sqrt(product(&column, &column));
        let once: Vec<f64> = projected(&basis, &column).collect();
        let left: Vec<f64> = projected(&basis, &once).collect();
        let length = libm::sqrt(product(&left, &left));
        if length.is_nan() || length <= 1e-9 * size {
            return None;
        }
        basis.push(left.iter().map(|own| own / length).collect());
    }
    Some(Way::LeastSquares(basis, roots))
}

/// What of the numbers is left when their parts along the basis are taken off.
fn projected<'a>(basis: &'a [Vec<f64>], numbers: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    let along: Vec<f64> = basis.iter().map(|own| product(own, numbers)).collect();
    numbers.iter().enumerate().map(move |(at, number)| {
        let parts = basis.iter().zip(&along).map(|(own, along)| own.get(at).copied().unwrap_or(0.0) * along);
        number - parts.sum::<f64>()
    })
}

fn ends(numbers: impl Iterator<Item = f64>) -> (f64, f64) {
    numbers.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), own| (least.min(own), most.max(own)))
}

fn range(numbers: impl Iterator<Item = f64>) -> f64 {
    let (least, most) = ends(numbers);
    most - least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metrology::{flatness, straightness};
    use crate::quantity::ratio;
    use proptest::prelude::*;

    fn real(numbers: &[i64]) -> Vec<Real> {
        numbers.iter().map(|own| Real::from(*own)).collect()
    }

    /// Several sets at the same stations, small whole numbers, so that ties are the rule.
    fn sets(stations: usize) -> impl Strategy<Value = Vec<Vec<i64>>> {
        proptest::collection::vec(proptest::collection::vec(-4i64..5, stations), 1..5)
    }

    fn agree(form: Option<DrawnForm>, sets: &[Vec<i64>], exactly: impl Fn(&[Real]) -> Result<Real, Fault>) {
        if exactly(&real(&sets[0])).is_err() {
            return;
        }
        let form = form.unwrap();
        let stations = sets[0].len();
        let columns: Vec<Vec<f64>> =
            (0..stations).map(|at| sets.iter().map(|set| set[at] as f64).collect()).collect();
        let found = form.of_all(&columns).unwrap();
        for (set, found) in sets.iter().zip(&found) {
            let wanted = exactly(&real(set)).unwrap().to_f64();
            // What is added to a radius that is held counts more where contacts lie just beyond half a turn.
            assert!((found - wanted).abs() < 1e-6, "{form:?} {set:?}: {found}, exactly {wanted}");
            // In binary numbers, and not because the exact way was taken.
            let readings: Vec<f64> = set.iter().map(|own| *own as f64).collect();
            assert!(form.of(&readings, &mut None).is_some(), "{set:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn a_turn_is_as_round_as_exactly(
            (steps, sets) in (4usize..13).prop_flat_map(|n| (proptest::collection::vec(1i64..4, n), sets(n))),
            equal in any::<bool>(),
        ) {
            let steps = if equal { vec![1; steps.len()] } else { steps };
            let total: i64 = steps.iter().sum();
            let angles: Vec<Real> = steps.iter().scan(0, |place, step| {
                *place += step;
                Some(Real::Exact(ratio(*place * 360, total)))
            }).collect();
            for reference in CircleReference::ALL {
                agree(DrawnForm::round(&angles, reference), &sets, |readings| {
                    Ok(roundness(&angles, readings, reference)?.value)
                });
            }
        }

        #[test]
        fn a_surface_is_as_flat_as_exactly(
            (places, sets) in (4usize..13).prop_flat_map(|n| (proptest::collection::vec((0i64..4, 0i64..4), n), sets(n))),
        ) {
            let places: Vec<Place> = places.iter().map(|(x, y)| (Real::from(300 + 100 * x), Real::from(-7 * y))).collect();
            for reference in [
                PlaneReference::LeastSquares,
                PlaneReference::LeastSquaresByPlace,
                PlaneReference::MinimumZone,
            ] {
                agree(DrawnForm::flat(&places, reference), &sets, |heights| flatness(&places, heights, reference));
            }
        }

        #[test]
        fn a_zone_has_its_ordinates_about_its_middle(
            (steps, sets) in (3usize..10).prop_flat_map(|n| (proptest::collection::vec(1i64..4, n), sets(n))),
        ) {
            let places: Vec<Real> = steps.iter().scan(0, |place, step| {
                *place += step;
                Some(Real::from(*place))
            }).collect();
            let columns: Vec<Vec<f64>> =
                (0..places.len()).map(|at| sets.iter().map(|set| set[at] as f64).collect()).collect();
            let found = DrawnForm::straight(&places, Reference::MinimumZone).unwrap().ordinates_of_all(&columns).unwrap();
            for (at, set) in sets.iter().enumerate() {
                let width = straightness(&places, &real(set), Reference::MinimumZone).unwrap().to_f64();
                let own: Vec<f64> = found.iter().map(|station| station[at]).collect();
                let (least, most) = ends(own.iter().copied());
                assert!((most - 0.5 * width).abs() < 1e-9 && (least + 0.5 * width).abs() < 1e-9, "{own:?}");
                // What was taken off is a straight line.
                let line: Vec<Real> = set.iter().zip(&own).map(|(set, own)| {
                    Real::approximate(*set as f64 - own, 1e-9).unwrap()
                }).collect();
                assert!(straightness(&places, &line, Reference::Ends).unwrap().to_f64() < 1e-9);
            }
        }

        #[test]
        fn a_line_is_as_straight_as_exactly(
            (steps, sets) in (2usize..13).prop_flat_map(|n| (proptest::collection::vec(1i64..4, n), sets(n))),
        ) {
            let places: Vec<Real> = steps.iter().scan(0, |place, step| {
                *place += step;
                Some(Real::from(*place))
            }).collect();
            for reference in [Reference::Ends, Reference::LeastSquares, Reference::MinimumZone] {
                agree(DrawnForm::straight(&places, reference), &sets, |heights| {
                    straightness(&places, heights, reference)
                });
            }
        }
    }
}
