//! What is not known of a value that the record before lends.
//!
//! Its U stands there; what it came from is not known any more. So each cell is an unknown of its own, independent of
//! the others and of all that is read now.

use std::rc::Rc;

use crate::check::program::ValueId;
use crate::metrology::Shape;
use crate::quantity::Real;
use crate::walk::eval::Evaluator;

use super::COVERAGE;
use super::sources::Part;

#[derive(Clone, Debug)]
pub struct Lent {
    pub part: Part,
    /// Standard uncertainty, squared.
    pub variance: Real,
    pub result: ValueId,
    pub cell: usize,
    /// How many cells the value has.
    pub count: usize,
}

/// The unknowns of a value of the record before: none where it stated no U.
pub fn of(evaluator: &Evaluator<'_>, id: ValueId) -> Vec<Lent> {
    let stated = evaluator.scope.spread_before(id).zip(evaluator.program.values.get(id.0));
    let Some((stated, value)) = stated else { return Vec::new() };
    let stated = evaluator.scaled(id, value, Rc::new(stated));
    let step = value.step.and_then(|step| evaluator.program.steps.get(step.0));
    let step = step.map(|step| format!("{}.", step.name)).unwrap_or_default();
    let name = format!("{step}{}, from the record before", value.name);
    let part = Part::named(name);
    let of = |(cell, size): (usize, &crate::walk::value::Cell)| {
        let expanded = size.as_number().filter(|size| !size.is_zero())?.clone();
        let variance = Shape::Certificate { expanded, factor: Real::from(COVERAGE) }.variance().ok()?;
        Some(Lent { part: part.clone(), variance, result: id, cell, count: stated.cells.len() })
    };
    stated.cells.iter().enumerate().filter_map(of).collect()
}
