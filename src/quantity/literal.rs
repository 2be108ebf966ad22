//! A number with its unit, as it was written.

use super::number::{Rational, Real};
use super::unit::Unit;

/// `0.020 mm`: the exact number, the unit, and the text, so that a file can be given back as it stood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quantity {
    pub number: Rational,
    pub unit: Unit,
    pub text: String,
}

impl Quantity {
    /// The value in the base unit of its dimension.
    pub fn value(&self) -> Real {
        self.unit.to_base(&Real::Exact(self.number.clone()))
    }
}
