//! What of a result is linear in its unknowns. Such a part is worked out once, exactly, with its sensitivities; when
//! readings are taken to be off, only what stands above it is worked out again.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};

use crate::check::program::{Arithmetic, By, Expr, Function, Kind, Node, Program, Role, Stations, ValueId};
use crate::quantity::Dimension;
use crate::walk::eval::lets_below;

use super::material;
use super::sources::Sources;

/// How something hangs on the unknowns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nature {
    /// On none of them.
    Fixed,
    Linear,
    Other,
}

/// Where a figure begins: its value, or what else stands in it.
#[derive(Clone, Copy, Debug)]
pub(in crate::walk) enum Root<'p> {
    Value(ValueId),
    Expr(&'p Expr),
}

/// The largest parts of a figure that are fixed or linear.
pub struct Linear<'p> {
    program: &'p Program,
    /// The values that unknowns move.
    moved: HashSet<ValueId>,
    /// The values of the record before that are uncertain.
    lent: HashSet<ValueId>,
    /// Figures of materials are in it.
    materials: bool,
    natures: RefCell<HashMap<ValueId, Nature>>,
    /// Of expressions, by where they lie in the program.
    of_exprs: RefCell<HashMap<*const Expr, Nature>>,
    /// Only readings are taken as parts: of very many unknowns sensitivities are not worked out.
    readings_only: bool,
}

impl<'p> Linear<'p> {
    pub fn new(program: &'p Program, sources: &Sources, readings_only: bool) -> Self {
        Self {
            program,
            moved: sources.moved().into_iter().collect(),
            lent: sources.lent.iter().map(|lent| lent.result).collect(),
            materials: !sources.materials.is_empty(),
            natures: RefCell::default(),
            of_exprs: RefCell::default(),
            readings_only,
        }
    }

    /// The parts beneath some roots, each once, and the values above them that unknowns move directly.
    pub fn parts(&self, roots: &[Root<'p>]) -> (Vec<Root<'p>>, Vec<ValueId>) {
        let mut found =
            Found { seen: HashSet::new(), parts: Vec::new(), above: Vec::new(), waiting: Vec::new() };
        for root in roots {
            match root {
                Root::Value(id) => found.waiting.push(*id),
                Root::Expr(expr) => self.part(expr, &mut found),
            }
        }
        while let Some(id) = found.waiting.pop() {
            if found.seen.insert(id) {
                self.value_part(id, &mut found);
            }
        }
        (found.parts, found.above)
    }

    fn value_part(&self, id: ValueId, found: &mut Found<'p>) {
        if self.of_value(id) != Nature::Other {
            found.parts.push(Root::Value(id));
            return;
        }
        if self.moved.contains(&id) {
            found.above.push(id);
        }
        match self.program.values.get(id.0).map(|value| &value.role) {
            Some(Role::Let(expr)) => self.part(expr, found),
            // A reading that is asked only under some condition is taken as it stands.
            _ => found.parts.push(Root::Value(id)),
        }
    }

    fn part(&self, expr: &'p Expr, found: &mut Found<'p>) {
        if let Node::Value(id) = &expr.node {
            found.waiting.push(*id);
            return;
        }
        match self.of(expr) {
            Nature::Fixed if matches!(expr.node, Node::Number(_) | Node::Word(_) | Node::YesNo(_)) => {}
            Nature::Fixed | Nature::Linear => found.parts.push(Root::Expr(expr)),
            Nature::Other => {
                // What looks at the rules of the step looks at readings that do not stand here.
                if looks_at_rules(expr) {
                    let mut all: Vec<ValueId> =
                        self.moved.iter().filter(|id| self.is_reading(**id)).copied().collect();
                    all.sort_unstable();
                    found.waiting.extend(all);
                }
                expr.inner(&mut |inner| self.part(inner, found));
            }
        }
    }

    fn is_reading(&self, id: ValueId) -> bool {
        self.program.values.get(id.0).is_some_and(|value| matches!(value.role, Role::Reading(_)))
    }

    /// From the ground up, so that a long chain of lets does not pile up calls.
    fn of_value(&self, id: ValueId) -> Nature {
        let mut waiting = vec![(id, false)];
        let mut opened = HashSet::new();
        while let Some((next, ready)) = waiting.pop() {
            if self.natures.borrow().contains_key(&next) {
                continue;
            }
            let below = match self.program.values.get(next.0).map(|value| &value.role) {
                Some(Role::Let(expr)) if !ready && opened.insert(next) => {
                    lets_below(self.program, expr, &|_| false)
                }
                _ => Vec::new(),
            };
            if below.is_empty() {
                let nature = self.of_one(next);
                self.natures.borrow_mut().insert(next, nature);
            } else {
                waiting.push((next, true));
                waiting.extend(below.into_iter().map(|below| (below, false)));
            }
        }
        self.natures.borrow().get(&id).copied().unwrap_or(Nature::Other)
    }

    fn of_one(&self, id: ValueId) -> Nature {
        let beneath = match self.program.values.get(id.0).map(|value| &value.role) {
            Some(Role::Let(expr)) => self.of(expr),
            Some(Role::Reading(reading)) => match reading.only_when.as_ref().map(|when| self.of(when)) {
                None | Some(Nature::Fixed) => Nature::Fixed,
                Some(_) => Nature::Other,
            },
            _ => Nature::Fixed,
        };
        let own = if self.moved.contains(&id) { Nature::Linear } else { Nature::Fixed };
        match beneath.max(own) {
            Nature::Linear if self.readings_only && !self.is_reading(id) => Nature::Other,
            nature => nature,
        }
    }

    fn of(&self, expr: &Expr) -> Nature {
        let place = std::ptr::from_ref(expr);
        if let Some(known) = self.of_exprs.borrow().get(&place) {
            return *known;
        }
        let nature = match self.of_node(expr) {
            Nature::Linear
                if self.readings_only && !matches!(expr.node, Node::Value(_) | Node::Previous { .. }) =>
            {
                Nature::Other
            }
            nature => nature,
        };
        self.of_exprs.borrow_mut().insert(place, nature);
        nature
    }

    fn of_node(&self, expr: &Expr) -> Nature {
        let fixed = |expr: &Expr| self.of(expr) == Nature::Fixed;
        match &expr.node {
            Node::Value(id) => self.of_value(*id),
            // It is there, so that what stands behind `else` does not count.
            Node::Previous { result, .. } if self.lent.contains(result) => Nature::Linear,
            Node::ValueOutside(_) | Node::JudgementOutside(..) | Node::Aim(_) | Node::Where(..) => {
                if self.moved.is_empty() && self.lent.is_empty() && !self.materials {
                    Nature::Fixed
                } else {
                    Nature::Other
                }
            }
            // What is taken of the material is uncertain, whatever else goes in.
            Node::Call { function, .. } if self.materials && material::property(*function).is_some() => {
                match self.all_fixed(expr) {
                    true => Nature::Linear,
                    false => Nature::Other,
                }
            }
            // How far the stations reach, and how many of them were read.
            Node::Call { function: Function::Span | Function::Count, .. } => Nature::Fixed,
            _ if self.all_fixed(expr) => Nature::Fixed,
            Node::Pick(of, _) if self.all_fixed_but(expr, of) => self.of(of),
            Node::Negate(of) => self.of(of),
            Node::Arithmetic(Arithmetic::Add | Arithmetic::Subtract, a, b) => self.of(a).max(self.of(b)),
            Node::Arithmetic(Arithmetic::Multiply, a, b) if fixed(a) || fixed(b) => {
                self.of(a).max(self.of(b))
            }
            Node::Arithmetic(Arithmetic::Divide, a, b) if fixed(b) => self.of(a),
            Node::If { condition, then, otherwise } if fixed(condition) => {
                self.of(then).max(self.of(otherwise))
            }
            Node::Call { function, arguments, over, by } => {
                let [first, further @ ..] = arguments.as_slice() else { return Nature::Other };
                let decibel = arguments.iter().any(|it| it.kind == Kind::Quantity(Dimension::LEVEL));
                let survey = over.iter().any(|axis| {
                    let plan = self.program.axes.get(axis.0).map(|axis| &axis.stations);
                    matches!(plan, Some(Stations::Survey(_)))
                });
                let linear = match function {
                    Function::Mean | Function::Sum => !decibel,
                    Function::Closure => !survey,
                    Function::Ordinates => *by != Some(By::MinimumZone),
                    Function::Half
                    | Function::First
                    | Function::Last
                    | Function::Gain
                    | Function::Slope
                    | Function::LineAt
                    | Function::Change
                    | Function::Rate
                    | Function::Heights
                    | Function::Eccentricity
                    | Function::PlateMap
                    | Function::Machine
                    | Function::Artefact
                    | Function::Per => true,
                    Function::Taper => *by != Some(By::MinimumZone),
                    _ => false,
                };
                let list = matches!(function, Function::Mean | Function::Sum);
                match linear {
                    true if list => arguments.iter().map(|it| self.of(it)).max().unwrap_or(Nature::Other),
                    true if further.iter().all(fixed) => self.of(first),
                    _ => Nature::Other,
                }
            }
            _ => Nature::Other,
        }
    }

    fn all_fixed(&self, expr: &Expr) -> bool {
        let mut fixed = true;
        expr.inner(&mut |inner| fixed = fixed && self.of(inner) == Nature::Fixed);
        if let Node::Table { table, .. } = &expr.node
            && let Some(table) = self.program.tables.get(table.0)
        {
            let inner = table.rows.iter().flat_map(|row| row.when.iter().chain(&row.values));
            fixed = fixed && inner.into_iter().all(|inner| self.of(inner) == Nature::Fixed);
        }
        fixed
    }

    fn all_fixed_but(&self, expr: &Expr, but: &Expr) -> bool {
        let mut fixed = true;
        expr.inner(&mut |inner| {
            fixed = fixed && (std::ptr::eq(inner, but) || self.of(inner) == Nature::Fixed);
        });
        fixed
    }
}

struct Found<'p> {
    seen: HashSet<ValueId>,
    parts: Vec<Root<'p>>,
    above: Vec<ValueId>,
    waiting: Vec<ValueId>,
}

fn looks_at_rules(expr: &Expr) -> bool {
    matches!(expr.node, Node::ValueOutside(_) | Node::JudgementOutside(..) | Node::Aim(_) | Node::Where(..))
}
