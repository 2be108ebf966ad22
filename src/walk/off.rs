//! A state that is taken to be a little off, to see what that does to a result.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Expr, ValueId};
use crate::metrology::Material;
use crate::quantity::Real;

use super::value::Laid;

/// What of a material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Property {
    Expansion,
    /// Density over stiffness: how much it sags under its own weight.
    Droop,
}

/// How values are taken to be off.
#[derive(Debug, Default)]
pub(super) struct Off {
    /// What is added to the cells of a value: one amount a cell, or one for all.
    pub by: HashMap<ValueId, Vec<Real>>,
    /// The same of results of the record before.
    pub before: HashMap<ValueId, Vec<Real>>,
    /// Of a figure of a material, as a part of itself.
    pub materials: HashMap<(Material, Property), Real>,
    /// What stands in place of a value.
    pub instead: HashMap<ValueId, Rc<Laid>>,
    /// What stands in place of an expression, which is known by where it lies in the program.
    pub parts: HashMap<*const Expr, Rc<Laid>>,
}
