//! What rests on what: values, tables and shared axes in an order in which each can be worked out from those before.
//!
//! Without recursion over the file, so that a chain of ten thousand `let` lines costs no more than its length.

use std::collections::HashMap;

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast::{
    self, ExprKind, Item, ObserveLine, ReadLine, RuleOf, Station, Stations, StationsOf,
};

use super::Checker;
use super::names::{Global, What};
use super::program::{AxisId, StepId, TableId, ValueId};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Value(ValueId),
    Table(TableId),
    Axis(AxisId),
}

/// The order, and every cycle that stands in the way.
pub(super) struct Order {
    pub units: Vec<Unit>,
    pub cycles: Vec<Vec<Unit>>,
}

impl Checker<'_> {
    pub(super) fn order(&self) -> Order {
        let values = self.names.declared.len();
        let tables = self.names.tables.len();
        let count = values + tables + self.names.file_axes.len();
        let laid_out = self.first_layouts();
        let edges: Vec<Vec<usize>> = (0..count)
            .map(|node| self.rests_on(unit_of(node, values, tables), values, tables, &laid_out))
            .collect();
        let mut order = Order { units: Vec::with_capacity(count), cycles: Vec::new() };
        let mut state = vec![0_u8; count];
        for start in 0..count {
            let mut path: Vec<(usize, usize)> = Vec::new();
            if state.get(start) == Some(&0) {
                mark(&mut state, start, 1);
                path.push((start, 0));
            }
            while let Some((node, next)) = path.last_mut() {
                let node = *node;
                let Some(&target) = edges.get(node).and_then(|edges| edges.get(*next)) else {
                    mark(&mut state, node, 2);
                    order.units.push(unit_of(node, values, tables));
                    path.pop();
                    continue;
                };
                *next += 1;
                match state.get(target) {
                    Some(0) => {
                        mark(&mut state, target, 1);
                        path.push((target, 0));
                    }
                    Some(1) => {
                        let cycle = path.iter().map(|(node, _)| *node).skip_while(|node| *node != target);
                        order.cycles.push(cycle.map(|node| unit_of(node, values, tables)).collect());
                    }
                    _ => {}
                }
            }
        }
        order
    }

    /// The value of a step that first lays out an axis under a name.
    fn first_layouts(&self) -> HashMap<(StepId, &str), usize> {
        let mut first = HashMap::new();
        for (at, declared) in self.names.declared.iter().enumerate() {
            let Some(step) = declared.step else { continue };
            for over in overs(&declared.what) {
                if !matches!(over.stations.what, StationsOf::Named) {
                    first.entry((step, over.name.text.as_str())).or_insert(at);
                }
            }
        }
        first
    }

    fn rests_on(
        &self,
        unit: Unit,
        values: usize,
        tables: usize,
        laid_out: &HashMap<(StepId, &str), usize>,
    ) -> Vec<usize> {
        let mut found = Vec::new();
        let mut step = None;
        let mut paths: Vec<(Option<&str>, &str, Span)> = Vec::new();
        {
            let mut take = |owner, name, at| paths.push((owner, name, at));
            let mut look = Look {
                take: &mut take,
                station_words: &self.names.station_words,
                tables: &self.names.globals,
            };
            match unit {
                Unit::Table(table) => {
                    if let Some(Item::Table(table)) = self.names.tables.get(table.0).map(|line| &line.what) {
                        for row in &table.rows {
                            look.option(row.what.when.as_ref());
                            match &row.what.reach {
                                ast::Reach::UpTo(at) | ast::Reach::EveryFurther(at) => look.expr(at),
                                ast::Reach::All => {}
                            }
                            row.what.values.iter().for_each(|value| look.expr(value));
                        }
                    }
                }
                Unit::Axis(axis) => {
                    if let Some(over) = self.names.file_axes.get(axis.0) {
                        look.stations(&over.stations);
                    }
                }
                Unit::Value(value) => {
                    if let Some(declared) = self.names.declared.get(value.0) {
                        step = declared.step;
                        look.value(&declared.what);
                    }
                }
            }
        }
        for (owner, name, at) in paths {
            let global = match owner {
                Some(owner) => match self.names.globals.get(owner) {
                    Some(Global::Table(table)) => Some(Global::Table(*table)),
                    _ => {
                        let named = self.names.steps.get(owner).copied();
                        self.in_step(named.map(|named| self.names.meant(step, named, at)), name)
                    }
                },
                None => self.names.value(step, name).or_else(|| match unit {
                    Unit::Table(_) => {
                        self.in_step(self.names.elsewhere.get(name).map(|(first, _)| *first), name)
                    }
                    _ => None,
                }),
            };
            match global {
                Some(Global::Value(value)) => found.push(value.0),
                Some(Global::Table(table)) => found.push(values + table.0),
                // A function may take a shared axis by its name.
                None if owner.is_none() && !matches!(unit, Unit::Axis(_)) => {
                    found.extend(self.names.axes.get(name).map(|axis| values + tables + axis.0));
                }
                None => {}
            }
        }
        if let Unit::Value(value) = unit
            && let Some(declared) = self.names.declared.get(value.0)
        {
            for over in overs(&declared.what).filter(|over| matches!(over.stations.what, StationsOf::Named)) {
                let name = over.name.text.as_str();
                let own = declared.step.and_then(|step| laid_out.get(&(step, name))).copied();
                let shared = self.names.axes.get(name).map(|axis| values + tables + axis.0);
                found.extend(own.filter(|own| *own != value.0).or(shared));
            }
        }
        found
    }

    fn in_step(&self, step: Option<StepId>, name: &str) -> Option<Global> {
        self.names.scopes.get(step?.0)?.values.get(name).map(|value| Global::Value(*value))
    }

    /// Says which values need each other.
    pub(super) fn report_cycle(&mut self, cycle: &[Unit]) {
        let name = |unit: &Unit| match unit {
            Unit::Value(value) => self.value_name(*value, None),
            Unit::Table(table) => match self.names.tables.get(table.0).map(|line| &line.what) {
                Some(Item::Table(table)) => table.name.text.clone(),
                _ => String::new(),
            },
            Unit::Axis(axis) => {
                self.names.file_axes.get(axis.0).map_or(String::new(), |over| over.name.text.clone())
            }
        };
        let mut path: Vec<String> = cycle.iter().map(name).collect();
        path.extend(path.first().cloned());
        let spans: Vec<Span> = cycle
            .iter()
            .filter_map(|unit| match unit {
                Unit::Value(value) => self.names.declared.get(value.0).map(|declared| declared.name.span),
                Unit::Table(table) => self.names.tables.get(table.0).map(|line| line.span),
                Unit::Axis(axis) => self.names.file_axes.get(axis.0).map(|over| over.name.span),
            })
            .collect();
        let mut problem = Problem::fault(
            Code::FlowValueCycle,
            spans.first().copied().unwrap_or_default(),
            format!("these values need each other: {}", in_short(&path)),
        )
        .label("needs itself in the end")
        .help("one of them must be worked out from readings or facts alone");
        for span in spans.iter().skip(1).take(4) {
            problem = problem.and(*span, "by way of this");
        }
        self.report(problem);
    }
}

/// A path that may be long: how it begins and how it ends.
pub(super) fn in_short(path: &[impl AsRef<str>]) -> String {
    let names: Vec<&str> = path.iter().map(AsRef::as_ref).collect();
    match names.as_slice() {
        [first @ .., a, b] if first.len() > 8 => {
            let begin = names.iter().take(6).copied().collect::<Vec<_>>().join(" -> ");
            format!("{begin} -> ... ({} more) ... -> {a} -> {b}", names.len() - 8)
        }
        _ => names.join(" -> "),
    }
}

fn mark(state: &mut [u8], node: usize, to: u8) {
    if let Some(place) = state.get_mut(node) {
        *place = to;
    }
}

fn unit_of(node: usize, values: usize, tables: usize) -> Unit {
    if node < values {
        Unit::Value(ValueId(node))
    } else if node < values + tables {
        Unit::Table(TableId(node - values))
    } else {
        Unit::Axis(AxisId(node - values - tables))
    }
}

/// The `over` lines beneath a value.
pub(super) fn overs<'a>(what: &What<'a>) -> impl Iterator<Item = &'a ast::Over> + use<'a> {
    let mut all: Vec<&'a ast::Over> = Vec::new();
    match what {
        What::Read(read) => all.extend(read.lines.iter().filter_map(|line| match &line.what {
            ReadLine::Over(over) => Some(over),
            _ => None,
        })),
        What::Observe(observe) => all.extend(observe.lines.iter().filter_map(|line| match &line.what {
            ObserveLine::Over(over) => Some(over),
            _ => None,
        })),
        What::Adjustment(node) => all.extend(node.lines.iter().filter_map(|line| match &line.what {
            ast::AdjustmentLine::Over(over) => Some(over),
            _ => None,
        })),
        What::Fact(_) | What::Let(_) => {}
    }
    all.into_iter()
}

/// Finds the names in expressions. Expressions are of limited depth, so it may recurse.
struct Look<'l, 'a> {
    take: &'l mut dyn FnMut(Option<&'a str>, &'a str, Span),
    station_words: &'l std::collections::HashSet<&'a str>,
    tables: &'l HashMap<&'a str, Global>,
}

fn is_table(global: &Global) -> bool {
    matches!(global, Global::Table(_))
}

impl<'a> Look<'_, 'a> {
    fn value(&mut self, what: &What<'a>) {
        match what {
            What::Fact(fact) => self.kind(&fact.kind),
            What::Let(node) => self.expr(&node.value),
            What::Read(read) => {
                for line in &read.lines {
                    match &line.what {
                        ReadLine::Over(over) => self.stations(&over.stations),
                        ReadLine::Usual(range) => self.range(range),
                        ReadLine::OnlyWhen(condition) => self.expr(condition),
                        _ => {}
                    }
                }
            }
            What::Observe(observe) => {
                self.kind(&observe.kind);
                for line in &observe.lines {
                    match &line.what {
                        ObserveLine::Over(over) => self.stations(&over.stations),
                        ObserveLine::OnlyWhen(condition) => self.expr(condition),
                        ObserveLine::With(reading) => (self.take)(None, &reading.text, reading.span),
                    }
                }
            }
            // What a move predicts is lowered with the step: it may speak of results that rest on the move.
            What::Adjustment(node) => {
                for line in &node.lines {
                    if let ast::AdjustmentLine::Over(over) = &line.what {
                        self.stations(&over.stations);
                    }
                }
            }
        }
    }

    fn kind(&mut self, kind: &'a ast::Kind) {
        if let ast::KindOf::In(_, Some(range)) = &kind.what {
            self.range(range);
        }
    }

    fn range(&mut self, range: &'a ast::Range) {
        self.expr(&range.from);
        self.expr(&range.to);
    }

    fn stations(&mut self, stations: &'a Stations) {
        match &stations.what {
            StationsOf::Named | StationsOf::Listed(_) => {}
            // A word in a layout may be a value: facts and observations above.
            StationsOf::List(list) => list.iter().for_each(|station| match station {
                Station::Word(word) => (self.take)(None, &word.text, word.span),
                Station::Value(value) => self.expr(value),
            }),
            StationsOf::Run { from, to, by, .. } => {
                self.expr(from);
                self.expr(to);
                self.expr(by);
            }
        }
    }

    fn option(&mut self, expr: Option<&'a ast::Expr>) {
        if let Some(expr) = expr {
            self.expr(expr);
        }
    }

    fn path(&mut self, path: &'a ast::Path) {
        (self.take)(path.step.as_ref().map(|step| step.text.as_str()), &path.name.text, path.span);
    }

    fn expr(&mut self, expr: &'a ast::Expr) {
        match &expr.what {
            ExprKind::Quantity(_)
            | ExprKind::Date(_)
            | ExprKind::YesNo(_)
            | ExprKind::Chosen(..)
            | ExprKind::OutsideTolerance(_) => {}
            ExprKind::Name(path) => self.path(path),
            ExprKind::Call(path, arguments) => {
                // A result may have the name of a function; only a table is looked up with brackets.
                if path.step.is_some() || self.tables.get(path.name.text.as_str()).is_some_and(is_table) {
                    self.path(path);
                }
                for argument in arguments {
                    self.expr(&argument.value);
                    self.option(argument.within.as_ref());
                    self.option(argument.otherwise.as_ref());
                }
            }
            ExprKind::Pick(of, picks) => {
                self.expr(of);
                for pick in picks {
                    match &pick.station {
                        Station::Word(word) if self.station_words.contains(word.text.as_str()) => {}
                        Station::Word(word) => (self.take)(None, &word.text, word.span),
                        Station::Value(value) => self.expr(value),
                    }
                }
            }
            ExprKind::Negate(of) | ExprKind::Not(of) | ExprKind::Every(of) | ExprKind::Any(of) => {
                self.expr(of)
            }
            ExprKind::Outside(of) | ExprKind::Power(of, _) | ExprKind::PartOf(_, of) => self.expr(of),
            ExprKind::Binary(_, left, right) => {
                self.expr(left);
                self.expr(right);
            }
            ExprKind::Is { left, .. } => self.expr(left),
            ExprKind::Meets(of, rule) => {
                self.expr(of);
                self.rule(rule);
            }
            ExprKind::If { condition, then, otherwise } => {
                self.expr(condition);
                self.expr(then);
                self.expr(otherwise);
            }
        }
    }

    fn rule(&mut self, rule: &'a ast::Rule) {
        match &rule.what {
            RuleOf::AtMost(a) | RuleOf::AtLeast(a) | RuleOf::Above(a) | RuleOf::Below(a) => self.expr(a),
            RuleOf::Before(a) | RuleOf::After(a) => self.expr(a),
            RuleOf::FromTo(a, b) | RuleOf::Steady { within: a, duration: b } => {
                self.expr(a);
                self.expr(b);
            }
            RuleOf::Within { bound, of } => {
                self.expr(bound);
                self.option(of.as_ref());
            }
            RuleOf::Convex { allowance } | RuleOf::Concave { allowance } => self.option(allowance.as_ref()),
        }
        if let Some((per, over)) = &rule.per {
            self.expr(per);
            self.expr(over);
        }
        self.option(rule.floor.as_ref());
        self.option(rule.cap.as_ref());
        if let Some(window) = &rule.window {
            self.expr(&window.length);
            window.second.iter().for_each(|second| self.expr(second));
        }
    }
}
