//! Values on the walk: known or not there, alone or laid out over stations.
//!
//! Numbers are in the base unit of their dimension. A cell that is not known says why; nothing here ever turns
//! "not there" into a number.

use std::rc::Rc;

use crate::metrology::Arrow;
use crate::quantity::Real;

#[derive(Clone, Debug, PartialEq)]
pub enum Scalar {
    /// A quantity, a temperature point (kelvin) or a count.
    Number(Real),
    /// A choice.
    Word(Rc<str>),
    YesNo(bool),
    /// A size and the angle at which the dial reads high.
    Arrow(Box<Arrow>),
    Text(Rc<str>),
    Date(jiff::civil::Date),
    Photo {
        file: Rc<str>,
        sha256: Rc<str>,
    },
}

/// One element: known, or why it is not.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    Known(Scalar),
    /// "over 200 Mohm" (`above`), "below 0.2".
    OpenEnded {
        bound: Real,
        above: bool,
    },
    /// A condition that an open-ended value cannot decide, with the reason. For `stop when` it counts as true.
    Undecided(Rc<str>),
    /// Not entered yet.
    Awaited,
    /// Declared as not read, with the reason.
    NotRead(Rc<str>),
    /// Cannot be worked out, with the reason.
    Invalid(Rc<str>),
}

impl Cell {
    pub fn number(value: Real) -> Self {
        Cell::Known(Scalar::Number(value))
    }

    pub fn yes_no(value: bool) -> Self {
        Cell::Known(Scalar::YesNo(value))
    }

    pub fn invalid(reason: impl Into<Rc<str>>) -> Self {
        Cell::Invalid(reason.into())
    }

    pub fn is_known(&self) -> bool {
        matches!(self, Cell::Known(_))
    }

    pub fn as_number(&self) -> Option<&Real> {
        match self {
            Cell::Known(Scalar::Number(value)) => Some(value),
            _ => None,
        }
    }

    pub fn as_arrow(&self) -> Option<&Arrow> {
        match self {
            Cell::Known(Scalar::Arrow(arrow)) => Some(arrow),
            _ => None,
        }
    }

    pub fn as_yes_no(&self) -> Option<bool> {
        match self {
            Cell::Known(Scalar::YesNo(yes)) => Some(*yes),
            _ => None,
        }
    }

    /// No element at all, where others are: a repeat that was not taken, a question that does not apply.
    pub fn is_no_element(&self) -> bool {
        matches!(self, Cell::NotRead(reason) if &**reason == NOT_TAKEN || &**reason == NOT_APPLICABLE)
    }

    /// Which of two cells counts in arithmetic: invalid beats not read beats awaited beats undecided beats the rest.
    fn rank(&self) -> u8 {
        match self {
            Cell::Invalid(_) => 4,
            Cell::NotRead(_) => 3,
            Cell::Awaited => 2,
            Cell::Undecided(_) => 1,
            Cell::Known(_) | Cell::OpenEnded { .. } => 0,
        }
    }

    /// The first of the cells that stands in the way of working anything out, the gravest first. None: all are there.
    pub fn gravest<'c>(cells: impl IntoIterator<Item = &'c Cell>) -> Option<&'c Cell> {
        let mut found: Option<&Cell> = None;
        for cell in cells {
            if cell.rank() > found.map_or(0, Cell::rank) {
                found = Some(cell);
            }
        }
        found
    }
}

/// Why a cell is not there though nothing is missing (`Cell::is_no_element`).
pub const NOT_TAKEN: &str = "not taken";
pub const NOT_APPLICABLE: &str = "not applicable";

/// One place on an axis. `name` is how it is written on the record and picked; unique on its axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    pub name: Rc<str>,
    /// In base units, for stations that are quantities.
    pub position: Option<Real>,
}

/// The stations of one axis as they are on this walk.
#[derive(Clone, Debug, PartialEq)]
pub struct Stations {
    /// The axis's name; two layouts meet by it.
    pub axis: Rc<str>,
    pub stations: Vec<Station>,
    /// The last station is a second reading of the first.
    pub closing: bool,
    /// Length of the foot, for a stepped axis.
    pub foot: Option<Real>,
}

impl Stations {
    /// The stations but the closing one, which only `closure` sees.
    pub fn open(&self) -> &[Station] {
        let count = self.stations.len();
        self.stations.get(..count - usize::from(self.closing && count > 0)).unwrap_or(&[])
    }
}

/// Cells over axes, the last axis running fastest. No axes: a single cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    pub axes: Vec<Rc<Stations>>,
    pub cells: Vec<Cell>,
}

impl Laid {
    pub fn single(cell: Cell) -> Self {
        Self { axes: Vec::new(), cells: vec![cell] }
    }

    /// Every cell the same.
    pub fn filled(axes: Vec<Rc<Stations>>, cell: Cell) -> Self {
        let count = axes.iter().map(|axis| axis.stations.len()).product();
        Self { axes, cells: vec![cell; count] }
    }

    /// The one cell of a value without axes; of a laid-out one `Invalid`.
    pub fn as_single(&self) -> Cell {
        match self.cells.as_slice() {
            [cell] if self.axes.is_empty() => cell.clone(),
            _ => Cell::Invalid("a single value was expected".into()),
        }
    }
}
