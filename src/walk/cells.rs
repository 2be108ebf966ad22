//! One element against another: arithmetic, conditions and comparison of cells that may not be known.
//!
//! Invalid beats not read beats awaited beats known. Open-ended values go through where the result is monotone; where
//! it is not, the result is invalid and says so. Conditions are three-valued: `or` with one yes is yes, whatever the
//! others are. Nothing here knows of axes.

use std::cmp::Ordering;
use std::rc::Rc;

use crate::check::program::Arithmetic;
use crate::quantity::Real;

use super::arrows;
use super::value::{Cell, Scalar};

/// A number, or all numbers beyond a bound (the bound itself left out).
#[derive(Clone, Debug)]
pub(super) enum Extent {
    At(Real),
    Above(Real),
    Below(Real),
}

impl Extent {
    /// `Err`: what stands in the way.
    pub(super) fn of(cell: &Cell) -> Result<Extent, Cell> {
        match cell {
            Cell::Known(Scalar::Number(value)) => Ok(Extent::At(value.clone())),
            Cell::Known(_) => Err(Cell::invalid("a number was expected")),
            Cell::OpenEnded { bound, above: true } => Ok(Extent::Above(bound.clone())),
            Cell::OpenEnded { bound, above: false } => Ok(Extent::Below(bound.clone())),
            other => Err(other.clone()),
        }
    }

    pub(super) fn into_cell(self) -> Cell {
        match self {
            Extent::At(value) => Cell::number(value),
            Extent::Above(bound) => Cell::OpenEnded { bound, above: true },
            Extent::Below(bound) => Cell::OpenEnded { bound, above: false },
        }
    }

    pub(super) fn bound(&self) -> &Real {
        match self {
            Extent::At(bound) | Extent::Above(bound) | Extent::Below(bound) => bound,
        }
    }

    /// The same kind of extent (turned round if asked) at another bound.
    fn moved(&self, bound: Real, turned: bool) -> Extent {
        match (self, turned) {
            (Extent::At(_), _) => Extent::At(bound),
            (Extent::Above(_), false) | (Extent::Below(_), true) => Extent::Above(bound),
            (Extent::Below(_), false) | (Extent::Above(_), true) => Extent::Below(bound),
        }
    }

    fn negated(&self) -> Extent {
        self.moved(-self.bound(), true)
    }

    pub(super) fn plus(&self, other: &Extent) -> Option<Extent> {
        let bound = self.bound() + other.bound();
        match (self, other) {
            (Extent::At(_), _) => Some(other.moved(bound, false)),
            (_, Extent::At(_))
            | (Extent::Above(_), Extent::Above(_))
            | (Extent::Below(_), Extent::Below(_)) => Some(self.moved(bound, false)),
            _ => None,
        }
    }

    pub(super) fn minus(&self, other: &Extent) -> Option<Extent> {
        self.plus(&other.negated())
    }

    fn times(&self, other: &Extent) -> Option<Extent> {
        let bound = self.bound() * other.bound();
        let (open, factor) = match (self, other) {
            (Extent::At(_), Extent::At(_)) => return Some(Extent::At(bound)),
            (Extent::At(factor), open) | (open, Extent::At(factor)) => (open, factor),
            _ => {
                // Both beyond a bound: the product is, where neither can change its sign.
                let nought = Real::zero();
                return match (self, other) {
                    (Extent::Above(a), Extent::Above(b))
                        if a.is_at_least(&nought) && b.is_at_least(&nought) =>
                    {
                        Some(Extent::Above(bound))
                    }
                    (Extent::Below(a), Extent::Below(b))
                        if a.is_at_most(&nought) && b.is_at_most(&nought) =>
                    {
                        Some(Extent::Above(bound))
                    }
                    _ => None,
                };
            }
        };
        if factor.is_positive() {
            Some(open.moved(bound, false))
        } else if factor.is_negative() {
            Some(open.moved(bound, true))
        } else {
            factor.is_exact().then(|| Extent::At(Real::zero()))
        }
    }

    /// `None`: by zero, or not to be told.
    fn over(&self, other: &Extent) -> Option<Extent> {
        match other {
            Extent::At(divisor) => {
                let bound = self.bound().div(divisor)?;
                Some(self.moved(bound, divisor.is_negative()))
            }
            // Beyond a bound that is clear of zero: between zero and the quotient, of which the far side is kept.
            Extent::Above(bound) if bound.is_positive() => match self {
                Extent::At(value) if value.is_zero() => value.is_exact().then(|| self.clone()),
                Extent::At(value) if value.is_positive() => value.div(bound).map(Extent::Below),
                Extent::At(value) => value.div(bound).map(Extent::Above),
                _ => None,
            },
            _ => None,
        }
    }

    pub(super) fn abs(&self) -> Option<Extent> {
        match self {
            Extent::At(value) => Some(Extent::At(value.abs())),
            Extent::Above(bound) => bound.is_at_least(&Real::zero()).then(|| self.clone()),
            Extent::Below(bound) => bound.is_at_most(&Real::zero()).then(|| self.negated()),
        }
    }

    /// The greater of the two, as far as it can be told.
    pub(super) fn greater(self, other: Extent) -> Extent {
        let by_bound = self.bound().cmp(other.bound());
        match (&self, &other) {
            (Extent::Above(_), Extent::Above(_))
            | (Extent::At(_), Extent::At(_))
            | (Extent::Below(_), Extent::Below(_)) => {
                if by_bound == Ordering::Less {
                    other
                } else {
                    self
                }
            }
            // Beyond at least the greater of the bounds.
            (Extent::Above(_), _) => {
                let bound = if by_bound == Ordering::Less { other.bound() } else { self.bound() };
                Extent::Above(bound.clone())
            }
            (_, Extent::Above(_)) => other.greater(self),
            // A value, and something below a bound: the value, if the bound is not beyond it.
            (Extent::At(_), Extent::Below(_)) => {
                if by_bound == Ordering::Less {
                    other
                } else {
                    self
                }
            }
            (Extent::Below(_), Extent::At(_)) => other.greater(self),
        }
    }

    pub(super) fn lesser(self, other: Extent) -> Extent {
        self.negated().greater(other.negated()).negated()
    }
}

const NOT_TO_BE_TOLD: &str = "it cannot be worked out from an open-ended reading";

fn open_ended_or(result: Option<Extent>, reason: &str) -> Cell {
    result.map_or_else(|| Cell::invalid(reason), Extent::into_cell)
}

/// A cell worked out from two numbers that are both there.
fn both(a: &Cell, b: &Cell, with: impl FnOnce(Extent, Extent) -> Cell) -> Cell {
    if let Some(missing) = Cell::gravest([a, b]) {
        return missing.clone();
    }
    match (Extent::of(a), Extent::of(b)) {
        (Ok(a), Ok(b)) => with(a, b),
        (Err(fault), _) | (_, Err(fault)) => fault,
    }
}

pub(super) fn arithmetic(operation: Arithmetic, a: &Cell, b: &Cell) -> Cell {
    if let Some(arrow) = arrows::arithmetic(operation, a, b) {
        return arrow;
    }
    both(a, b, |a, b| match operation {
        Arithmetic::Add => open_ended_or(a.plus(&b), NOT_TO_BE_TOLD),
        Arithmetic::Subtract => open_ended_or(a.minus(&b), NOT_TO_BE_TOLD),
        Arithmetic::Multiply => open_ended_or(a.times(&b), NOT_TO_BE_TOLD),
        Arithmetic::Divide => {
            let reason = if matches!(b, Extent::At(_)) { "division by zero" } else { NOT_TO_BE_TOLD };
            open_ended_or(a.over(&b), reason)
        }
    })
}

/// Element by element over one number; an open-ended one only where `with` can take it.
pub(super) fn number(cell: &Cell, with: impl FnOnce(&Real) -> Cell) -> Cell {
    match Extent::of(cell) {
        Ok(Extent::At(value)) => with(&value),
        Ok(_) => Cell::invalid(NOT_TO_BE_TOLD),
        Err(missing) => missing,
    }
}

pub(super) fn extent(cell: &Cell, with: impl FnOnce(&Extent) -> Option<Extent>) -> Cell {
    match Extent::of(cell) {
        Ok(found) => open_ended_or(with(&found), NOT_TO_BE_TOLD),
        Err(missing) => missing,
    }
}

pub(super) fn negate(cell: &Cell) -> Cell {
    if let Some(arrow) = cell.as_arrow() {
        return arrows::negate(arrow);
    }
    extent(cell, |value| Some(value.negated()))
}

pub(super) fn half(cell: &Cell) -> Cell {
    if let Some(arrow) = cell.as_arrow() {
        return arrows::half(arrow);
    }
    extent(cell, |value| Some(value.moved(value.bound().half(), false)))
}

/// The sum, difference or extreme of several; what is not there must have been left out before.
pub(super) fn fold(cells: &[&Cell], with: impl Fn(Extent, Extent) -> Option<Extent>) -> Cell {
    if let Some(missing) = Cell::gravest(cells.iter().copied()) {
        return missing.clone();
    }
    let mut total: Option<Extent> = None;
    for cell in cells {
        let next = match Extent::of(cell) {
            Ok(next) => next,
            Err(fault) => return fault,
        };
        total = match total {
            None => Some(next),
            Some(total) => match with(total, next) {
                None => return Cell::invalid(NOT_TO_BE_TOLD),
                sum => sum,
            },
        };
    }
    open_ended_or(total, "there is nothing to work it out from")
}

// ------------------------------------------------------------------------------------------------ conditions

pub(super) fn not(cell: &Cell) -> Cell {
    match cell.as_yes_no() {
        Some(yes) => Cell::yes_no(!yes),
        None => condition(cell),
    }
}

/// A cell as a condition: anything known that is no yes or no is a fault.
fn condition(cell: &Cell) -> Cell {
    match cell {
        Cell::Known(Scalar::YesNo(_)) => cell.clone(),
        Cell::Known(_) | Cell::OpenEnded { .. } => Cell::invalid("a yes or no was expected"),
        other => other.clone(),
    }
}

/// Several conditions together: `decisive` (no for `and`, yes for `or`) settles it, else all must be there.
pub(super) fn together<'c>(cells: impl Iterator<Item = &'c Cell> + Clone, decisive: bool) -> Cell {
    if cells.clone().any(|cell| cell.as_yes_no() == Some(decisive)) {
        return Cell::yes_no(decisive);
    }
    match Cell::gravest(cells.clone()) {
        Some(missing) => missing.clone(),
        None => match cells.map(condition).find(|cell| cell.as_yes_no().is_none()) {
            Some(fault) => fault,
            None => Cell::yes_no(!decisive),
        },
    }
}

/// `a is b`: words, yes or no, dates, texts, counts.
pub(super) fn is(a: &Cell, b: &Cell) -> Cell {
    if let Some(missing) = Cell::gravest([a, b]) {
        return missing.clone();
    }
    let same = match (a, b) {
        (Cell::Known(Scalar::Number(a)), Cell::Known(Scalar::Number(b))) => a.equals(b),
        (Cell::Known(a), Cell::Known(b)) => match (words_of(a), words_of(b)) {
            (Some(a), Some(b)) => a == b,
            _ => a == b,
        },
        _ => return Cell::Undecided("an open-ended reading is not one value".into()),
    };
    Cell::yes_no(same)
}

fn words_of(scalar: &Scalar) -> Option<&Rc<str>> {
    match scalar {
        Scalar::Word(word) | Scalar::Text(word) => Some(word),
        _ => None,
    }
}

pub(super) fn dates(left: &Cell, before: bool, right: &Cell) -> Cell {
    if let Some(missing) = Cell::gravest([left, right]) {
        return missing.clone();
    }
    match (left, right) {
        (Cell::Known(Scalar::Date(left)), Cell::Known(Scalar::Date(right))) => {
            Cell::yes_no(if before { left < right } else { left > right })
        }
        _ => Cell::invalid("a date was expected"),
    }
}
