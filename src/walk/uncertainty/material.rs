//! What is not known of a material: a handbook's average stands for the alloy at hand, in its expansion and in how much it
//! droops under its own weight.
//!
//! One unknown a material and property: lengths of one material, taken to 20 degC at one temperature, are off together,
//! and so are bars of one material that sag.

use crate::check::program::{Expr, Function, Kind, Node};
use crate::metrology::{self, Material};
use crate::quantity::Real;
use crate::walk::eval::Evaluator;
use crate::walk::off::Property;
use crate::walk::value::{Cell, Scalar};

use super::sources::{Part, Spread};

#[derive(Clone, Debug)]
pub struct OfMaterial {
    pub part: Part,
    /// Of the part by which the figure is off.
    pub variance: Real,
    pub of: (Material, Property),
}

impl OfMaterial {
    pub fn new((material, property): (Material, Property)) -> Self {
        let (what, variance) = match property {
            Property::Expansion => ("coefficient of expansion", metrology::variance_of_expansion()),
            Property::Droop => ("density over stiffness", metrology::variance_of_droop(material)),
        };
        let name = format!("{what}, {}", material.name().replace('_', " "));
        let part = Part { spread: Spread::Even, ..Part::named(name) };
        Self { part, variance, of: (material, property) }
    }
}

/// Of what a function takes the figures from a material.
pub fn property(function: Function) -> Option<Property> {
    match function {
        Function::At20DegC => Some(Property::Expansion),
        Function::Sag => Some(Property::Droop),
        _ => None,
    }
}

/// What of which material this uses, unless it is among what was found.
pub fn add(evaluator: &Evaluator<'_>, expr: &Expr, found: &mut Vec<(Material, Property)>) {
    let Node::Call { function, arguments, .. } = &expr.node else { return };
    let Some(property) = property(*function) else { return };
    for argument in arguments.iter().filter(|it| matches!(it.kind, Kind::Choice(_))) {
        let Cell::Known(Scalar::Word(word)) = evaluator.single(argument) else { continue };
        let of = Material::parse(&word).map(|material| (material, property));
        found.extend(of.filter(|of| !found.contains(of)));
    }
}
