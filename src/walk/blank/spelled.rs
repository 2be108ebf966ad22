//! Conditions and rules in words, for people with paper: values by their labels, in quotes; facts by the word in brackets
//! that stands beside them on the sheet; numbers as they are written.

use crate::check::program::{
    Arithmetic, By, Expr, Function, Node, Rule, StationPick, StepId, Test, ValueId, WindowBy,
};
use crate::walk::eval::Evaluator;
use crate::walk::{asked_words, spoken, text};

use super::Blank;

/// In one step: its own values go without its name.
pub(super) struct Speller<'b, 'a> {
    pub blank: &'b Blank<'a>,
    pub step: Option<StepId>,
}

impl Speller<'_, '_> {
    pub fn expr(&self, expr: &Expr) -> String {
        let program = self.blank.program;
        let say = |inner: &Expr| self.expr(inner);
        match &expr.node {
            Node::Word(word) => spoken(word),
            Node::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            Node::Value(id) => self.value(*id),
            Node::Pick(of, picks) => {
                let pick = |pick: &StationPick| match pick {
                    StationPick::Word(word) => spoken(word),
                    StationPick::Value(at) => say(at),
                };
                let places: Vec<String> = picks.iter().map(|(_, station)| pick(station)).collect();
                format!("{} at {}", say(of), places.join(", "))
            }
            Node::Table { table, column, at } => {
                if let Some(known) = self.known(expr) {
                    return known;
                }
                let columns = &program.tables[table.0].columns;
                let column = columns.get(*column).map(|column| format!(" ({})", spoken(column)));
                let at = at.as_ref().map(|at| format!(" at {}", say(at)));
                let number = self.blank.table_number(*table);
                format!("table {number}{}{}", column.unwrap_or_default(), at.unwrap_or_default())
            }
            Node::Negate(of) => format!("-{}", self.inner(of)),
            Node::Arithmetic(how, left, right) => {
                let sign = match how {
                    Arithmetic::Add => "+",
                    Arithmetic::Subtract => "-",
                    Arithmetic::Multiply => "x",
                    Arithmetic::Divide => "/",
                };
                format!("{} {sign} {}", self.inner(left), self.inner(right))
            }
            Node::Power(of, 2) => format!("{} squared", self.inner(of)),
            Node::Power(of, power) => format!("{} to the power {power}", self.inner(of)),
            Node::Not(of) => match &of.node {
                Node::Is(left, right) => format!("{} is not {}", self.subject(left), say(right)),
                _ => format!("not {}", say(of)),
            },
            Node::And(left, right) => format!("{} and {}", say(left), say(right)),
            Node::Or(left, right) => format!("{} or {}", say(left), say(right)),
            Node::Every(of) => format!("every {}", say(of)),
            Node::Any(of) => format!("any {}", say(of)),
            Node::If { condition, then, otherwise } => {
                format!("{} if {}, else {}", say(then), say(condition), say(otherwise))
            }
            Node::Is(left, right) => format!("{} is {}", self.subject(left), say(right)),
            Node::Meets(of, rule) => format!("{} {}", self.subject(of), self.rule(rule)),
            Node::Dates { left, before, right } => {
                format!("{} {} {}", say(left), if *before { "before" } else { "after" }, say(right))
            }
            Node::ValueOutside(id) => format!("{} outside its limit", self.value(*id)),
            Node::JudgementOutside(step, judgement) => {
                let judgement = &program.steps[step.0].judgements[judgement.0];
                format!("\"{}\" outside its limit", asked_words::judged(program, judgement))
            }
            Node::Call { function, arguments, over, by } => {
                let all: Vec<String> = arguments.iter().map(|it| self.inner(it)).collect();
                let of = match (function, all.as_slice()) {
                    (Function::Change, [of, span]) => format!("{of} within {span}"),
                    _ => all.join(" and "),
                };
                let over: Vec<String> = over.iter().map(|axis| spoken(&program.axes[axis.0].name)).collect();
                let over =
                    if over.is_empty() { String::new() } else { format!(" over {}", over.join(" and ")) };
                let by = by.map(|by| format!(", by {}", way(by))).unwrap_or_default();
                format!("{} of {of}{over}{by}", self.function(*function, expr))
            }
            Node::Aim(id) => format!("the middle of what is allowed of {}", self.value(*id)),
            Node::Resolution(id) => format!("the least step shown for {}", self.value(*id)),
            Node::Where(step, judgement) => {
                let judgement = &program.steps[step.0].judgements[judgement.0];
                format!("the worst place of \"{}\"", asked_words::judged(program, judgement))
            }
            Node::Previous { result, otherwise } => {
                let otherwise = otherwise.as_ref().map(|it| format!(" (without one {})", say(it)));
                format!("{} on the record before{}", self.value(*result), otherwise.unwrap_or_default())
            }
            Node::CurrentStation(axis) => spoken(&program.axes[axis.0].name),
            Node::Number(_) | Node::Inexact(_) | Node::Text(_) | Node::Date(_) => {
                self.blank.written(expr.span)
            }
        }
    }

    /// What a condition speaks of: of a fact that is known its label, or it would read "fine is fine".
    fn subject(&self, expr: &Expr) -> String {
        match expr.node {
            Node::Value(id) if self.blank.state.facts.contains_key(&id) => {
                format!("\"{}\"", asked_words::named(self.blank.program, id))
            }
            _ => self.expr(expr),
        }
    }

    /// A look-up whose facts are all known.
    fn known(&self, expr: &Expr) -> Option<String> {
        let view = self.blank.view();
        let evaluator = Evaluator::new(self.blank.program, &view);
        let laid = evaluator.expr(expr);
        let [cell] = laid.cells.as_slice() else { return None };
        cell.is_known().then(|| text::cell(cell, text::unit_of(&evaluator, expr)))
    }

    /// As part of a longer formula.
    fn inner(&self, expr: &Expr) -> String {
        match &expr.node {
            Node::Arithmetic(..) | Node::If { .. } => format!("({})", self.expr(expr)),
            _ => self.expr(expr),
        }
    }

    fn value(&self, id: ValueId) -> String {
        let program = self.blank.program;
        let value = &program.values[id.0];
        if program.facts.contains(&id) {
            return match self.blank.state.facts.get(&id) {
                Some(given) => text::cell(&given.cell, value.unit),
                None => format!("[{}]", self.blank.tag(id)),
            };
        }
        let label = asked_words::named(program, id);
        let label = if label == value.name { spoken(&label) } else { label };
        match value.step.filter(|step| Some(*step) != self.step) {
            Some(step) => format!("\"{label}\" of {}", program.steps[step.0].name),
            None => format!("\"{label}\""),
        }
    }

    pub fn rule(&self, rule: &Rule) -> String {
        let say = |inner: &Expr| self.expr(inner);
        let allowance = |of: &Option<Expr>| of.as_ref().map(|it| format!(", allowance {}", say(it)));
        let mut words = match &rule.test {
            Test::AtMost(limit) => format!("at most {}", say(limit)),
            Test::AtLeast(limit) => format!("at least {}", say(limit)),
            Test::Above(limit) => format!("above {}", say(limit)),
            Test::Below(limit) => format!("below {}", say(limit)),
            Test::FromTo(from, to) => format!("from {} to {}", say(from), say(to)),
            Test::Within { size, of: None } => format!("within {}", say(size)),
            Test::Within { size, of: Some(of) } => format!("within {} of {}", say(size), say(of)),
            Test::Convex { allowance: of } => format!("convex{}", allowance(of).unwrap_or_default()),
            Test::Concave { allowance: of } => format!("concave{}", allowance(of).unwrap_or_default()),
            Test::Steady { within, duration } => {
                format!("steady within {} for {}", say(within), say(duration))
            }
        };
        if let Some((per, over)) = &rule.per {
            words.push_str(&format!(" for each {}, taken over {}", say(per), say(over)));
        }
        let ends = [("never less than", &rule.floor), ("never more than", &rule.cap)];
        for (word, end) in ends.into_iter().filter_map(|(word, end)| Some((word, end.as_ref()?))) {
            words.push_str(&format!(", {word} {}", say(end)));
        }
        if let Some(window) = &rule.window {
            words.push_str(&format!(", in any {}", say(&window.length)));
            match (&window.second, window.by) {
                (Some(second), _) => words.push_str(&format!(" by {}", say(second))),
                (None, WindowBy::Spread) => words.push_str(", from its lowest to its highest"),
                (None, WindowBy::Chord) => words.push_str(", from the line through its own ends"),
            }
        }
        words
    }

    /// A function in the words of the trade; else its name, with blanks.
    fn function(&self, function: Function, call: &Expr) -> String {
        let words = match function {
            Function::Range => "greatest less least",
            Function::Stdev => "standard deviation",
            Function::Abs => "size",
            Function::Runout => "run-out",
            Function::Machine => "the machine's part",
            Function::Artefact => "the bar's or instrument's part",
            Function::Closure => "gap on coming back",
            Function::Span => "length",
            Function::Gain => "change from end to end",
            Function::WorstStep => "greatest step",
            Function::RootSumSquares => "root of the squares added up",
            Function::Sqrt => "root",
            Function::Count => "number",
            _ => {
                let written = self.blank.written(call.span);
                return spoken(written.split('(').next().unwrap_or_default().trim());
            }
        };
        words.to_owned()
    }
}

fn way(by: By) -> &'static str {
    match by {
        By::Ends => "the line through its ends",
        By::LeastSquares => "least squares",
        By::MinimumZone => "the least zone",
        By::Inscribed => "the greatest circle within",
        By::Circumscribed => "the least circle around",
        By::ThreeCorners => "three corners",
        By::Closing => "closing",
        By::Iso230Of1988 => "ISO 230-2:1988",
        By::Iso230Of2014 => "ISO 230-2:2014",
    }
}
