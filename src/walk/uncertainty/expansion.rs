//! What is not known of a coefficient of expansion: a handbook's average stands for the alloy at hand.
//!
//! One unknown a material: lengths of one material, taken to 20 degC at one temperature, are off together.

use crate::check::program::{Expr, Function, Kind, Node};
use crate::metrology::{self, Material};
use crate::quantity::Real;
use crate::walk::eval::Evaluator;
use crate::walk::value::{Cell, Scalar};

use super::sources::{Part, Spread};

#[derive(Clone, Debug)]
pub struct Expansion {
    pub part: Part,
    /// Of the part by which the coefficient is off.
    pub variance: Real,
    pub material: Material,
}

impl Expansion {
    pub fn of(material: Material) -> Self {
        let name = format!("coefficient of expansion, {}", material.name().replace('_', " "));
        let part = Part { spread: Spread::Even, ..Part::named(name) };
        Self { part, variance: metrology::variance_of_expansion(), material }
    }
}

/// The material, if this takes a length to 20 degC, unless it is among those found.
pub fn add(evaluator: &Evaluator<'_>, expr: &Expr, found: &mut Vec<Material>) {
    let Node::Call { function: Function::At20DegC, arguments, .. } = &expr.node else { return };
    for argument in arguments.iter().filter(|it| matches!(it.kind, Kind::Choice(_))) {
        let Cell::Known(Scalar::Word(word)) = evaluator.single(argument) else { continue };
        found.extend(Material::parse(&word).filter(|material| !found.contains(material)));
    }
}
