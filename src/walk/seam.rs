//! A broken series in parts, and how they are brought together: at stations that are read again after the break each
//! new reading less the old one is a shift. What was read after the break counts less the mean of the shifts; how far
//! they differ says whether that may be done.
//!
//! ```text
//! place      0      50     100    150    200    250    300
//! before   0.000  0.002  0.003  0.005  0.004
//! again                         0.015  0.015                shifts 0.010, 0.011: mean 0.0105, disagreement 0.001
//! after                                       0.016  0.017  count as 0.0055, 0.0065
//! ```
//!
//! Must not decide what is allowed; the author's `join` line does.

use crate::quantity::Real;

use super::state::{Answered, Sheet};
use super::value::{Cell, Laid, Scalar};

/// One break, and the stations read again behind it.
#[derive(Clone, Debug, Default)]
pub struct Seam {
    /// Cell, and what was read there again.
    pub again: Vec<(usize, Answered)>,
    /// As it stands on the record. None: not decided yet.
    pub joined: Option<Joined>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Joined {
    /// By how much what was read after the break stands off what was read before all breaks.
    pub shift: Real,
    /// The greatest less the least of the shifts.
    pub disagreement: Real,
    pub agreed: bool,
}

/// The parts of a set, for its uncertainty: which part each cell was read in, and the cells read again at each seam.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parts {
    pub of: Vec<usize>,
    pub again: Vec<Vec<usize>>,
}

/// One reading, as it was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    Cell(usize),
    /// Seam, and which of the stations read again there.
    Again(usize, usize),
}

impl Sheet {
    /// The seam whose stations are to be read again before the series goes on.
    pub fn parted(&self) -> Option<&Seam> {
        self.seams.last().filter(|seam| seam.joined.is_none())
    }

    /// Stations that were read and gave a number, in their order.
    pub fn numbers(&self) -> Vec<usize> {
        let is_number =
            |cell: &Option<Answered>| cell.as_ref().is_some_and(|it| it.cell.as_number().is_some());
        let known = self.cells.iter().enumerate().filter(|(_, cell)| is_number(cell));
        known.map(|(at, _)| at).collect()
    }

    /// The station to be read again next, of so many: the last ones before the break.
    pub fn next_again(&self, stations: usize) -> Option<usize> {
        let seam = self.parted()?;
        let known = self.numbers();
        let last = known.get(known.len().saturating_sub(stations)..).unwrap_or_default();
        last.iter().copied().find(|cell| seam.again.iter().all(|(read, _)| read != cell))
    }

    /// The shifts at a seam: at each station read again, in the order in which they were read.
    pub fn shifts(&self, seam: usize) -> Vec<Real> {
        let before: Vec<Option<Real>> = (0..seam).map(|earlier| self.shift(earlier)).collect();
        let again = self.seams.get(seam).map(|seam| seam.again.as_slice()).unwrap_or_default();
        let shift = |(cell, read): &(usize, Answered)| {
            let old = self.cells.get(*cell)?.as_ref()?;
            let counts = match old.part.checked_sub(1) {
                None => old.cell.as_number()?.clone(),
                Some(part) => old.cell.as_number()? - before.get(part)?.as_ref()?,
            };
            Some(read.cell.as_number()? - &counts)
        };
        again.iter().filter_map(shift).collect()
    }

    fn shift(&self, seam: usize) -> Option<Real> {
        mean(&self.shifts(seam))
    }

    /// What comes of a seam, once all of its stations are read again.
    pub fn joining(&self, seam: usize, within: &Real) -> Option<Joined> {
        let shifts = self.shifts(seam);
        let least = shifts.iter().cloned().reduce(|least, it| if it.is_less(&least) { it } else { least })?;
        let greatest = shifts.iter().cloned().reduce(|most, it| if most.is_less(&it) { it } else { most })?;
        let disagreement = &greatest - &least;
        let all = self.seams.get(seam).is_some_and(|seam| seam.again.len() == shifts.len());
        let agreed = all && disagreement.is_at_most(within);
        Some(Joined { shift: mean(&shifts)?, disagreement, agreed })
    }

    /// A cell as it counts: what was read after a break less the shift there.
    pub fn counts(&self, answered: &Answered) -> Cell {
        let Some(seam) = answered.part.checked_sub(1) else { return answered.cell.clone() };
        let Some(joined) = self.seams.get(seam).and_then(|seam| seam.joined.as_ref()) else {
            return answered.cell.clone();
        };
        match &answered.cell {
            Cell::Known(Scalar::Number(_)) | Cell::OpenEnded { .. } if !joined.agreed => {
                Cell::invalid("the stations read again after the break do not agree; read the series again")
            }
            Cell::Known(Scalar::Number(number)) => Cell::number(number - &joined.shift),
            Cell::OpenEnded { bound, above } => {
                Cell::OpenEnded { bound: bound - &joined.shift, above: *above }
            }
            other => other.clone(),
        }
    }

    pub fn laid(&self) -> Laid {
        let cell =
            |it: &Option<Answered>| it.as_ref().map_or(Cell::Awaited, |answered| self.counts(answered));
        Laid { axes: self.axes.clone(), cells: self.cells.iter().map(cell).collect() }
    }

    /// Of a series that was joined.
    pub fn parts(&self) -> Option<Parts> {
        let is_joined = |seam: &Seam| seam.joined.as_ref().is_some_and(|joined| joined.agreed);
        if !self.seams.iter().any(is_joined) {
            return None;
        }
        let of = self.cells.iter().map(|cell| cell.as_ref().map_or(0, |answered| answered.part)).collect();
        let again = self.seams.iter().map(|seam| seam.again.iter().map(|(cell, _)| *cell).collect());
        Some(Parts { of, again: again.collect() })
    }
}

impl Parts {
    /// What one unit of an error of this one reading adds to each cell as it counts.
    ///
    /// An error of a station read again moves all that was read behind that seam; that of an old reading at a common
    /// station moves its own cell, and through the shift the same.
    pub fn carried(&self, error: Taken) -> Vec<Real> {
        let mut shifts: Vec<Real> = Vec::new();
        let on_cell = |cell: usize, shifts: &[Real]| {
            let own = Real::from(i64::from(error == Taken::Cell(cell)));
            match self.of.get(cell).and_then(|part| part.checked_sub(1)).and_then(|part| shifts.get(part)) {
                Some(shift) => &own - shift,
                None => own,
            }
        };
        for (seam, again) in self.again.iter().enumerate() {
            let moved = again.iter().enumerate().map(|(at, cell)| {
                let own = Real::from(i64::from(error == Taken::Again(seam, at)));
                &own - &on_cell(*cell, &shifts)
            });
            let moved: Vec<Real> = moved.collect();
            shifts.push(mean(&moved).unwrap_or_else(Real::zero));
        }
        (0..self.of.len()).map(|cell| on_cell(cell, &shifts)).collect()
    }

    /// Cells that are common stations of some seam.
    pub fn common(&self) -> Vec<usize> {
        let mut cells: Vec<usize> = self.again.iter().flatten().copied().collect();
        cells.sort_unstable();
        cells.dedup();
        cells
    }

    /// All stations that were read again.
    pub fn all_again(&self) -> impl Iterator<Item = Taken> + '_ {
        let seams = self.again.iter().enumerate();
        seams.flat_map(|(seam, again)| (0..again.len()).map(move |at| Taken::Again(seam, at)))
    }
}

fn mean(numbers: &[Real]) -> Option<Real> {
    let count = Real::from(i64::try_from(numbers.len()).ok()?);
    numbers.iter().fold(Real::zero(), |sum, number| &sum + number).div(&count)
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::quantity::{parse_decimal, ratio};
    use crate::walk::event::Answer;
    use crate::walk::value::{Station, Stations};

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    fn answered(text: &str) -> Answered {
        let answer = Answer { typed: text.into(), unit: None, value: text.into(), sha256: None };
        Answered { cell: Cell::number(real(text)), answer, sequence: 0, part: 0 }
    }

    /// A sheet of seven stations with its first readings.
    fn sheet(read: &[&str]) -> Sheet {
        let station = |at: usize| Station { name: at.to_string().into(), position: None };
        let stations = (0..7).map(station).collect();
        let axis = Stations { axis: "place".into(), stations, closing: false, foot: None };
        let mut sheet = Sheet::new(1, vec![Rc::new(axis)]);
        read.iter().for_each(|text| put(&mut sheet, text));
        sheet
    }

    fn put(sheet: &mut Sheet, text: &str) {
        let next = sheet.next().unwrap();
        sheet.put(next, answered(text));
    }

    fn join(sheet: &mut Sheet, again: &[&str], within: &str) {
        sheet.seams.push(Seam::default());
        for text in again {
            let cell = sheet.next_again(again.len()).unwrap();
            sheet.seams.last_mut().unwrap().again.push((cell, answered(text)));
        }
        let seam = sheet.seams.len() - 1;
        let joined = sheet.joining(seam, &real(within));
        sheet.seams.last_mut().unwrap().joined = joined;
    }

    fn counted(sheet: &Sheet) -> Vec<Real> {
        sheet.laid().cells.iter().filter_map(|cell| cell.as_number().cloned()).collect()
    }

    #[test]
    fn the_mean_of_the_shifts_is_taken_off_what_follows() {
        let mut sheet = sheet(&["0", "0.002", "0.003", "0.005", "0.004"]);
        join(&mut sheet, &["0.015", "0.015"], "0.001");
        let joined = sheet.seams[0].joined.clone().unwrap();
        assert_eq!((joined.shift, joined.disagreement, joined.agreed), (real("0.0105"), real("0.001"), true));
        put(&mut sheet, "0.016");
        put(&mut sheet, "0.017");
        assert_eq!(counted(&sheet), ["0", "0.002", "0.003", "0.005", "0.004", "0.0055", "0.0065"].map(real));
    }

    #[test]
    fn a_second_break_is_joined_to_what_the_first_one_left() {
        let mut sheet = sheet(&["0", "0", "0"]);
        join(&mut sheet, &["1", "1"], "0");
        put(&mut sheet, "1");
        put(&mut sheet, "1.5");
        join(&mut sheet, &["4", "4.5"], "0");
        put(&mut sheet, "4.25");
        // Of the seventh: 4.25 less the shift of 4 against the first part.
        assert_eq!(counted(&sheet), ["0", "0", "0", "0", "0.5", "0.25"].map(real));
    }

    #[test]
    fn shifts_that_differ_more_than_is_allowed_leave_nothing_behind_the_break() {
        let mut sheet = sheet(&["0", "0", "0"]);
        join(&mut sheet, &["0.001", "0.0021"], "0.001");
        assert!(!sheet.seams[0].joined.as_ref().unwrap().agreed);
        put(&mut sheet, "0.001");
        assert!(matches!(sheet.laid().cells[3], Cell::Invalid(_)));
        assert!(sheet.parts().is_none());
    }

    /// What `carried` says is what comes of readings that are really off.
    #[test]
    fn an_error_is_carried_through_the_seams() {
        let readings = ["0", "0.1", "0.2"];
        let build = |off: Option<Taken>| {
            let by = |taken: Taken, text: &str| {
                let own = if off == Some(taken) { real("1") } else { Real::zero() };
                answered(&crate::quantity::exact_text((&real(text) + &own).exact().unwrap()))
            };
            let mut all = sheet(&[]);
            for (at, text) in readings.iter().enumerate() {
                all.put(at, by(Taken::Cell(at), text));
            }
            for (seam, again, next) in [(0, ["7.1", "7.3"], [3, 4]), (1, ["9", "8"], [5, 6])] {
                all.seams.push(Seam::default());
                for (at, text) in again.iter().enumerate() {
                    let cell = all.next_again(2).unwrap();
                    all.seams[seam].again.push((cell, by(Taken::Again(seam, at), text)));
                }
                all.seams[seam].joined = all.joining(seam, &real("100"));
                for cell in next {
                    all.put(cell, by(Taken::Cell(cell), "5"));
                }
            }
            all
        };
        let plain = build(None);
        let parts = plain.parts().unwrap();
        let every = (0..7).map(Taken::Cell).chain(parts.all_again()).collect::<Vec<_>>();
        assert_eq!(every.len(), 11);
        for error in every {
            let off = counted(&build(Some(error)));
            let moved: Vec<Real> = off.iter().zip(counted(&plain)).map(|(off, own)| off - &own).collect();
            assert_eq!(parts.carried(error), moved, "{error:?}");
        }
    }

    #[test]
    fn the_zero_of_each_part_drops_out_and_the_first_moves_all() {
        let parts = Parts { of: vec![0, 0, 0, 1, 1], again: vec![vec![1, 2]] };
        let sum = |errors: &[Taken]| {
            errors.iter().fold(vec![Real::zero(); 5], |sum, error| {
                sum.iter().zip(parts.carried(*error)).map(|(one, other)| one + &other).collect()
            })
        };
        let first = sum(&[Taken::Cell(0), Taken::Cell(1), Taken::Cell(2)]);
        assert_eq!(first, vec![Real::from(1); 5]);
        let second = sum(&[Taken::Again(0, 0), Taken::Again(0, 1), Taken::Cell(3), Taken::Cell(4)]);
        assert_eq!(second, vec![Real::zero(); 5]);
        assert_eq!(parts.carried(Taken::Again(0, 0))[4], Real::Exact(ratio(-1, 2)));
    }
}
