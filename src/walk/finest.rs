//! The finest instrument under a result: it gives the decimals that are shown and what an error bound is measured by.

use std::collections::HashSet;

use crate::check::program::{Expr, Kind, Node, Role, ValueId};
use crate::quantity::Real;

use super::eval::Evaluator;

impl Evaluator<'_> {
    /// The least resolution among the readings of the same kind that a value rests on.
    pub fn finest_resolution(&self, id: ValueId) -> Option<Real> {
        let kind = &self.program.values.get(id.0)?.kind;
        self.finest(vec![id], kind)
    }

    pub(super) fn finest_resolution_of(&self, expr: &Expr) -> Option<Real> {
        self.finest(named(expr), &expr.kind)
    }

    fn finest(&self, mut waiting: Vec<ValueId>, kind: &Kind) -> Option<Real> {
        let mut seen: HashSet<ValueId> = waiting.iter().copied().collect();
        let mut finest: Option<Real> = None;
        while let Some(id) = waiting.pop() {
            let Some(value) = self.program.values.get(id.0) else { continue };
            match &value.role {
                Role::Reading(_) if value.kind == *kind => {
                    let own = self.resolution(id);
                    finest = [finest, own].into_iter().flatten().min();
                }
                Role::Let(expr) => {
                    waiting.extend(named(expr).into_iter().filter(|below| seen.insert(*below)))
                }
                _ => {}
            }
        }
        finest
    }
}

fn named(expr: &Expr) -> Vec<ValueId> {
    let mut found = Vec::new();
    expr.each(&mut |inner| {
        if let Node::Value(id) = &inner.node {
            found.push(*id);
        }
    });
    found
}
