//! Whether a result is smooth in its readings: where it is, sensitivities tell its uncertainty; where it bends or jumps
//! (greatest, range, zones, a branch that readings choose), draws do.

use crate::check::program::{By, Expr, Function, Node, Program, Role, Rule, Stations, ValueId};

use super::material;

pub fn is_smooth(program: &Program, value: ValueId) -> bool {
    let mut waiting = vec![value];
    let mut seen = std::collections::HashSet::from([value]);
    let mut smooth = true;
    while let Some(id) = waiting.pop() {
        let Some(Role::Let(expr)) = program.values.get(id.0).map(|value| &value.role) else { continue };
        expr.each(&mut |inner| {
            smooth &= is_smooth_here(program, inner);
            if let Node::Value(below) = &inner.node
                && seen.insert(*below)
            {
                waiting.push(*below);
            }
        });
    }
    smooth
}

/// Whether the limits of a rule are smooth in their readings.
pub fn is_smooth_rule(program: &Program, rule: &Rule) -> bool {
    let mut smooth = rule.floor.is_none() && rule.cap.is_none();
    rule.each(&mut |inner| {
        smooth &= is_smooth_here(program, inner);
        if let Node::Value(below) = &inner.node {
            smooth &= is_smooth(program, *below);
        }
    });
    smooth
}

/// Whether some limit of a rule rests on readings.
pub fn is_measured(program: &Program, rule: &Rule) -> bool {
    let mut measured = false;
    rule.inner(&mut |inner| measured = measured || rests_on_readings(program, inner));
    measured
}

fn is_smooth_here(program: &Program, expr: &Expr) -> bool {
    match &expr.node {
        // How far apart lines are where they meet is a size.
        Node::Call { function: Function::Closure, over, .. } => !over.iter().any(|axis| {
            matches!(program.axes.get(axis.0).map(|axis| &axis.stations), Some(Stations::Survey(_)))
        }),
        Node::Call { function, by, .. } => {
            let touching = matches!(by, Some(By::MinimumZone | By::Inscribed | By::Circumscribed));
            !touching && is_smooth_function(*function)
        }
        Node::If { condition, .. } => !rests_on_readings(program, condition),
        Node::Table { at: Some(at), .. } => !rests_on_readings(program, at),
        _ => true,
    }
}

/// Named one by one: what is not named here counts as bending, such as the scatter about a line, which bends where the
/// readings lie on it.
fn is_smooth_function(function: Function) -> bool {
    matches!(
        function,
        Function::Mean
            | Function::Sum
            | Function::Stdev
            | Function::Lag1
            | Function::Count
            | Function::Half
            | Function::Sqrt
            | Function::Sin
            | Function::Cos
            | Function::Tan
            | Function::Atan
            | Function::RootSumSquares
            | Function::First
            | Function::Last
            | Function::Span
            | Function::Gain
            | Function::Slope
            | Function::LineAt
            | Function::LineCorrelation
            | Function::Change
            | Function::Rate
            | Function::Ordinates
            | Function::Heights
            | Function::Eccentricity
            | Function::CircleCentre
            | Function::CircleDiameter
            | Function::PlateMap
            | Function::Taper
            | Function::Machine
            | Function::Artefact
            | Function::Closure
            | Function::WithoutBackground
            | Function::At20DegC
            | Function::Sag
            | Function::Per
            | Function::TwistShims
            | Function::Backlash
            | Function::SetOver
            | Function::TaperFromTwist
            | Function::TaperFromLean
    )
}

/// Whether an expression changes when a reading, of now or of the record before, is a little off.
pub fn rests_on_readings(program: &Program, expr: &Expr) -> bool {
    let mut waiting = vec![expr];
    let mut seen = std::collections::HashSet::new();
    while let Some(expr) = waiting.pop() {
        match &expr.node {
            // How far the stations reach, and how many of them were read.
            Node::Call { function: Function::Span | Function::Count, .. } => continue,
            Node::Value(id) => match program.values.get(id.0).map(|value| &value.role) {
                Some(Role::Reading(_)) => return true,
                Some(Role::Let(expr)) if seen.insert(*id) => waiting.push(expr),
                _ => {}
            },
            Node::Previous { .. } => return true,
            // What is taken of the material is uncertain as readings are.
            Node::Call { function, .. } if material::property(*function).is_some() => return true,
            _ => {}
        }
        expr.inner(&mut |inner| waiting.push(inner));
    }
    false
}
