//! Rows of a series on its sheet: added as they are taken, looked at one by one or from one on.

use std::rc::Rc;

use crate::quantity::{Rational, Real};

use super::state::{Answered, Run, Sheet};
use super::times;
use super::value::{Laid, Station, Stations};

pub fn station(seconds: &Rational) -> Station {
    Station { name: times::name(seconds).into(), position: Some(Real::Exact(seconds.clone())) }
}

impl Sheet {
    pub fn run(&self) -> Option<&Run> {
        self.run.as_ref().filter(|run| run.begun)
    }

    pub fn row_count(&self) -> usize {
        self.axes.first().map_or(0, |axis| axis.stations.len())
    }

    /// Cells of one row.
    pub fn row_length(&self) -> usize {
        self.axes.iter().skip(1).map(|axis| axis.stations.len()).product()
    }

    /// The time of the last row, in seconds since the start.
    pub fn last_time(&self) -> Option<Rational> {
        self.axes.first()?.stations.last()?.position.as_ref()?.exact().cloned()
    }

    pub fn add_row(&mut self, seconds: &Rational) {
        let length = self.row_length();
        if let Some(axis) = self.axes.first_mut() {
            Rc::make_mut(axis).stations.push(station(seconds));
            self.cells.extend(std::iter::repeat_with(|| None::<Answered>).take(length));
        }
    }

    /// One row as a sheet of its own.
    pub fn row(&self, row: usize) -> Sheet {
        let mut one = self.rows_from(row);
        one.truncate_to_first_row();
        one
    }

    /// A row that is not there yet, at this time.
    pub fn row_at(&self, seconds: &Rational) -> Sheet {
        let mut one = self.rows_from(self.row_count());
        one.add_row(seconds);
        one
    }

    fn rows_from(&self, row: usize) -> Sheet {
        let mut axes = self.axes.clone();
        if let Some(axis) = axes.first_mut() {
            let stations = axis.stations.get(row..).unwrap_or_default().to_vec();
            *axis = Rc::new(Stations { stations, axis: axis.axis.clone(), closing: false, foot: None });
        }
        let cells = self.cells.get(row * self.row_length()..).unwrap_or_default().to_vec();
        let filled = cells.iter().filter(|cell| cell.is_some()).count();
        Sheet {
            set: self.set,
            axes,
            cells,
            filled,
            retired: self.retired,
            run: None,
            instrument: self.instrument.clone(),
            seams: Vec::new(),
            doubt: None,
        }
    }

    fn truncate_to_first_row(&mut self) {
        let length = self.row_length();
        if let Some(axis) = self.axes.first_mut() {
            Rc::make_mut(axis).stations.truncate(1);
        }
        self.cells.truncate(length);
        self.filled = self.cells.iter().filter(|cell| cell.is_some()).count();
    }

    /// The values of the rows from this one on.
    pub fn laid_from(&self, row: usize) -> Laid {
        self.rows_from(row).laid()
    }

    /// The first row that a look back over this span needs: the last that stands at its beginning or before.
    pub fn first_row_within(&self, span: &Rational) -> usize {
        let Some(last) = self.last_time() else { return 0 };
        let from = last - span;
        let before = |station: &Station| {
            station.position.as_ref().and_then(Real::exact).is_some_and(|time| *time <= from)
        };
        self.axes.first().and_then(|axis| axis.stations.iter().rposition(before)).unwrap_or(0)
    }
}
