//! Before the walk: tolerances that the instruments of the file cannot decide, whatever the machine is like, and results
//! in which all that is stated of the instruments cancels.
//!
//! Each tolerance is judged as on a machine without error, with readings that differ by next to nothing, for the ends of
//! what the facts may be. The uncertainty and the limits that come out are held against each other.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{
    AxisId, Decision, Expr, Function, Judged as Plan, JudgementId, Kind, Node, Program, Role, Rule, StepId,
    Test, ValueId,
};
use crate::diagnostic::{Code, Problem};
use crate::metrology::{Distribution, Generator};
use crate::quantity::{Dimension, Real, Unit, ratio};
use crate::walk::eval::Evaluator;
use crate::walk::judge;
use crate::walk::scope::{Scope, SetUp, Taken};
use crate::walk::state::Used;
use crate::walk::text;
use crate::walk::value::{Cell, Laid, Scalar};
use crate::walk::verdict::{Judged, Verdict};

use super::decide::{Certainty, Held, Standing};
use super::{Effort, Kept, of_value, wording};

/// So many combinations of facts are tried at most.
const MOST_CASES: usize = 16;

/// Warnings about what the instruments can tell, in the order of the file.
pub fn foresee(program: &Program) -> Vec<Problem> {
    let mut problems = Vec::new();
    let kept = Kept::default();
    for (at, step) in program.steps.iter().enumerate() {
        for number in 0..step.judgements.len() {
            problems.extend(tolerance(program, StepId(at), JudgementId(number), &kept));
        }
    }
    problems
}

fn tolerance(program: &Program, step: StepId, id: JudgementId, kept: &Kept) -> Option<Problem> {
    let judgement = program.steps.get(step.0)?.judgements.get(id.0)?;
    let Plan::Tolerance { value, rule, .. } = &judgement.of else { return None };
    let mut worst: Option<(f64, Judged, String)> = None;
    let (mut looked_at, mut cancelling) = (0, 0);
    let lent: &[bool] = if is_since_last_time(program, *value, rule) { &[false, true] } else { &[false] };
    let cases = cases(program, *value, judgement.when.as_ref(), rule);
    let scopes = cases.into_iter().flat_map(|facts| {
        lent.iter().map(move |lent| Foreseen { program, facts: facts.clone(), lent: *lent })
    });
    for scope in scopes {
        let evaluator =
            Evaluator::new(program, &scope).of_step(step).foreseeing(Effort::Foreseen).keeping(kept);
        let Some(judged) = judge::judgement(&evaluator, step, id) else { continue };
        if let Some(cancels) = cancels(&evaluator, *value, kept).filter(|_| !scope.lent) {
            looked_at += 1;
            cancelling += usize::from(cancels);
        }
        let Some(judged) = judged_again((&scope, kept), (step, id), *value, &judged, rule) else { continue };
        let Some(certainty) = &judged.certainty else { continue };
        let share = certainty.uncertain.expanded() / width(&judged).max(f64::MIN_POSITIVE);
        if worst.as_ref().is_none_or(|(known, ..)| share > *known) {
            worst = Some((share, (*judged).clone(), scope.said()));
        }
    }
    // A single foot of a level makes no form, and nothing of it is uncertain; a longer bed has one.
    if looked_at > 0 && cancelling == looked_at {
        return Some(cancelled(program, *value, judgement.span));
    }
    let (_, judged, case) = worst?;
    Some(warning(program, *value, &judged, &case, judgement.span))
}

/// A tolerance that no reading could pass; of a result that bends or curves the draws have the last word.
fn judged_again(
    (scope, kept): (&Foreseen<'_>, &Kept),
    (step, id): (StepId, JudgementId),
    value: ValueId,
    judged: &Rc<Judged>,
    rule: &Rule,
) -> Option<Rc<Judged>> {
    let program = scope.program;
    if !is_hopeless(program, value, judged, rule) {
        return None;
    }
    let evaluator = Evaluator::new(program, scope).of_step(step).foreseeing(Effort::Decided).keeping(kept);
    judge::judgement(&evaluator, step, id).filter(|drawn| is_hopeless(program, value, drawn, rule))
}

/// Whether the best value that there could be is not proven to conform.
fn is_hopeless(program: &Program, value: ValueId, judged: &Judged, rule: &Rule) -> bool {
    let Some(Certainty { decision, uncertain, .. }) = &judged.certainty else { return false };
    if !matches!(judged.verdict, Verdict::Passed | Verdict::Failed) || is_direction(program, value) {
        return false;
    }
    let (lower, upper) = (judged.lower.as_ref(), judged.upper.as_ref());
    let best = match (lower, upper) {
        (Some(lower), Some(upper)) => (&lower.scaled + &upper.scaled).half(),
        // A size: nothing is better than zero.
        (None, Some(upper)) if is_size(program, value, rule) && !upper.scaled.is_negative() => Real::zero(),
        _ => return false,
    };
    let decision = if *decision == Decision::Simple { &Decision::GuardedU } else { decision };
    let held = Held { value: &best, lower, upper };
    // How few repeats tell of it is not the fault of an instrument.
    let distribution = match held.distribution(uncertain) {
        Distribution::Student(_) => Distribution::Normal,
        other => other,
    };
    held.decide(decision, &uncertain.variance, distribution)
        .is_some_and(|found| found.standing != Standing::Conforms)
}

/// Which way something lies cannot be told of next to nothing; of more it can.
fn is_direction(program: &Program, value: ValueId) -> bool {
    let mut waiting = vec![value];
    let mut seen = std::collections::HashSet::from([value]);
    let mut found = false;
    while let Some(id) = waiting.pop() {
        let Some(Role::Let(expr)) = program.values.get(id.0).map(|value| &value.role) else { continue };
        expr.each(&mut |inner| match &inner.node {
            Node::Call { function: Function::HighAt, .. } => found = true,
            Node::Value(below) if seen.insert(*below) => waiting.push(*below),
            _ => {}
        });
    }
    found
}

/// Whether a value rests on the record before, and its limits do not: of what is made up no limit can be made.
fn is_since_last_time(program: &Program, value: ValueId, rule: &Rule) -> bool {
    let mut limits = Vec::new();
    let mut of_limits = false;
    rule.each(&mut |inner| match &inner.node {
        Node::Previous { .. } => of_limits = true,
        Node::Value(below) => limits.push(*below),
        _ => {}
    });
    !program.lent.is_empty()
        && takes_previous(program, vec![value])
        && !of_limits
        && !takes_previous(program, limits)
}

fn takes_previous(program: &Program, mut waiting: Vec<ValueId>) -> bool {
    let mut found = false;
    let mut seen = std::collections::HashSet::new();
    while let Some(id) = waiting.pop().filter(|_| !found) {
        let role = program.values.get(id.0).map(|value| &value.role).filter(|_| seen.insert(id));
        let Some(Role::Let(expr)) = role else { continue };
        expr.each(&mut |inner| match &inner.node {
            Node::Previous { .. } => found = true,
            Node::Value(below) => waiting.push(*below),
            _ => {}
        });
    }
    found
}

/// At most some length, force or the like, without a direction; and the spread in a window.
fn is_size(program: &Program, value: ValueId, rule: &Rule) -> bool {
    let Some(value) = program.values.get(value.0) else { return false };
    let sized = match &value.kind {
        Kind::Quantity(dimension) => *dimension != Dimension::LEVEL,
        _ => false,
    };
    sized
        && matches!(rule.test, Test::AtMost(_) | Test::Below(_))
        && (rule.window.is_some() || value.sense.is_none())
}

/// What the limits leave: half of a band, or the size that is allowed.
fn width(judged: &Judged) -> f64 {
    match (&judged.lower, &judged.upper) {
        (Some(lower), Some(upper)) => (&upper.scaled - &lower.scaled).half().to_f64(),
        (Some(one), None) | (None, Some(one)) => one.scaled.abs().to_f64(),
        (None, None) => 0.0,
    }
}

fn warning(
    program: &Program,
    value: ValueId,
    judged: &Judged,
    case: &str,
    span: crate::source::Span,
) -> Problem {
    let scope = Foreseen { program, facts: HashMap::new(), lent: false };
    let unit = Evaluator::new(program, &scope).shown_in(value).map(Unit::of_differences);
    let name = program.values.get(value.0).map(|value| value.name.clone()).unwrap_or_default();
    let allowed = match (&judged.lower, &judged.upper) {
        (Some(lower), Some(upper)) => {
            let half = text::limit(&(&upper.scaled - &lower.scaled).half(), unit);
            format!("{half} either side of its middle")
        }
        (Some(one), None) | (None, Some(one)) => format!("at most {}", text::limit(&one.scaled, unit)),
        (None, None) => String::new(),
    };
    let certainty = judged.certainty.as_ref();
    let expanded = certainty.map_or(0.0, |certainty| certainty.uncertain.expanded());
    let mut problem = Problem::warning(
        Code::RuleCannotDecide,
        span,
        format!(
            "the instruments cannot decide `{name}`: U is {}, and the limit leaves {allowed}{case}",
            wording::size(expanded, unit)
        ),
    )
    .label("no reading could be told to be inside");
    let greatest =
        certainty.and_then(|certainty| wording::budget_said(&certainty.uncertain, unit).into_iter().next());
    if let Some(greatest) = greatest {
        problem = problem.help(format!(
            "most of u is {greatest}; take a finer instrument or the mean of several readings, or agree a wider limit"
        ));
    }
    problem
}

/// `None`: it cannot be worked out, or nothing is stated that could cancel. Readings of which the value does not change
/// for a little may only stand where it bends: the draws have the last word.
fn cancels(evaluator: &Evaluator<'_>, value: ValueId, kept: &Kept) -> Option<bool> {
    let cancels = cancels_by(evaluator, value, Effort::Foreseen)?;
    if !cancels {
        return Some(cancels);
    }
    let drawing =
        Evaluator::new(evaluator.program, evaluator.scope).foreseeing(Effort::Decided).keeping(kept);
    cancels_by(&drawing, value, Effort::Decided).or(Some(cancels))
}

fn cancels_by(evaluator: &Evaluator<'_>, value: ValueId, effort: Effort) -> Option<bool> {
    let spread = of_value(evaluator, value, effort)?;
    let nothing = |cell: &Result<Rc<super::Uncertain>, String>| {
        cell.as_ref().is_ok_and(|uncertain| uncertain.variance.is_zero())
    };
    let known = spread.read && spread.cells.iter().any(Result::is_ok);
    known.then(|| spread.cells.iter().all(nothing))
}

fn cancelled(program: &Program, value: ValueId, span: crate::source::Span) -> Problem {
    let name = program.values.get(value.0).map(|value| value.name.clone()).unwrap_or_default();
    Problem::warning(
        Code::RuleCancels,
        span,
        format!("all that is stated of the instruments cancels in `{name}`: its uncertainty would be zero"),
    )
    .label("no instrument is that good")
    .help("state its `resolution`, and `uncertainty fresh Q k 2` for what is new at each reading")
}

// ------------------------------------------------------------------------------------------------ cases

/// Values of the facts that the limits hang on: each word, the ends of each range.
fn cases<'p>(
    program: &'p Program,
    value: ValueId,
    when: Option<&'p Expr>,
    rule: &'p Rule,
) -> Vec<HashMap<ValueId, Cell>> {
    let mut waiting: Vec<&Expr> = when.into_iter().collect();
    rule.each(&mut |expr| waiting.push(expr));
    let facts = facts(program, value, waiting);
    let mut cases: Vec<HashMap<ValueId, Cell>> = vec![HashMap::new()];
    for fact in facts {
        let choices = choices(program, fact);
        if cases.len() * choices.len() > MOST_CASES {
            continue;
        }
        cases = cases
            .into_iter()
            .flat_map(|case| {
                choices.iter().map(move |cell| {
                    let mut case = case.clone();
                    case.insert(fact, cell.clone());
                    case
                })
            })
            .collect();
    }
    cases
}

/// The facts under a value and some expressions.
fn facts<'p>(program: &'p Program, value: ValueId, mut waiting: Vec<&'p Expr>) -> Vec<ValueId> {
    let mut facts = Vec::new();
    let of = |value: ValueId| program.values.get(value.0).map(|value| &value.role);
    let mut seen = std::collections::HashSet::from([value]);
    let mut values = vec![value];
    loop {
        while let Some(id) = values.pop() {
            match of(id) {
                Some(Role::Fact { .. }) => facts.push(id),
                Some(Role::Let(expr)) => waiting.push(expr),
                _ => {}
            }
            let axes = program.values.get(id.0).map(|value| value.axes.as_slice()).unwrap_or_default();
            waiting.extend(axes.iter().flat_map(|axis| station_exprs(program, *axis)));
        }
        let Some(expr) = waiting.pop() else { break };
        expr.each(&mut |inner| {
            if let Node::Value(id) = &inner.node
                && seen.insert(*id)
            {
                values.push(*id);
            }
            if let Node::Table { table, .. } = &inner.node
                && let Some(table) = program.tables.get(table.0)
            {
                let rows = table.rows.iter().flat_map(|row| row.when.iter().chain(&row.values));
                waiting.extend(rows);
            }
        });
        // Tables may name tables without end only in a file that was refused.
        if waiting.len() > 10_000 {
            break;
        }
    }
    facts.sort_unstable();
    facts.dedup();
    facts
}

fn station_exprs(program: &Program, axis: AxisId) -> Vec<&Expr> {
    use crate::check::program::Stations::{Listed, Range, Repeat, Stepped, Values, Words};
    match program.axes.get(axis.0).map(|axis| &axis.stations) {
        Some(Values { values, .. }) => values.iter().collect(),
        Some(Range { from, to, step, .. } | Stepped { from, to, step, .. }) => vec![from, to, step],
        Some(Words(_) | Listed { .. } | Repeat { .. }) | None => Vec::new(),
        #[allow(unreachable_patterns)]
        Some(_) => Vec::new(),
    }
}

fn choices(program: &Program, fact: ValueId) -> Vec<Cell> {
    let Some(value) = program.values.get(fact.0) else { return vec![Cell::Awaited] };
    match (&value.kind, &value.role) {
        (Kind::Choice(words), _) => {
            words.iter().map(|word| Cell::Known(Scalar::Word(word.as_str().into()))).collect()
        }
        (Kind::YesNo, _) => vec![Cell::yes_no(true), Cell::yes_no(false)],
        (Kind::Quantity(_) | Kind::Point, Role::Fact { bounds: Some((from, to)) }) => {
            [from, to].into_iter().filter_map(number).map(|it| Cell::number(Real::Exact(it))).collect()
        }
        (Kind::Count, _) => vec![Cell::number(Real::from(1))],
        _ => vec![Cell::Awaited],
    }
}

fn number(expr: &Expr) -> Option<crate::quantity::Rational> {
    match &expr.node {
        Node::Number(number) => Some(number.clone()),
        Node::Negate(of) => number(of).map(|number| -number),
        _ => None,
    }
}

/// A walk on a machine without error.
struct Foreseen<'p> {
    program: &'p Program,
    facts: HashMap<ValueId, Cell>,
    /// A record before lends what would be read now, as uncertain as now.
    lent: bool,
}

impl<'p> Foreseen<'p> {
    /// The walk before this one, which had none before it.
    fn first(&self) -> Option<Foreseen<'p>> {
        self.lent.then(|| Foreseen { program: self.program, facts: self.facts.clone(), lent: false })
    }

    /// " (class = toolroom, reach = 40 mm)".
    fn said(&self) -> String {
        let mut facts: Vec<&ValueId> = self.facts.keys().collect();
        facts.sort_unstable();
        let shown = facts.into_iter().filter_map(|id| {
            let value = self.program.values.get(id.0)?;
            let cell = self.facts.get(id).filter(|cell| cell.is_known())?;
            Some(format!("{} = {}", value.name, text::cell(cell, value.unit)))
        });
        let before = self.lent.then(|| "with a record before that is as uncertain as this walk".to_owned());
        let shown: Vec<String> = shown.chain(before).collect();
        if shown.is_empty() { String::new() } else { format!(" ({})", shown.join(", ")) }
    }

    /// The middle of what is usual, else zero; no two readings quite alike.
    fn readings(&self, id: ValueId) -> Option<Laid> {
        let value = self.program.values.get(id.0)?;
        let evaluator = Evaluator::new(self.program, self);
        let axes = evaluator.layout(&value.axes).ok()?;
        let usual = match &value.role {
            Role::Reading(reading) => reading.usual.as_ref(),
            Role::Observation { bounds, .. } => bounds.as_ref(),
            _ => None,
        };
        let middle = usual.and_then(|(from, to)| {
            let (from, to) = (evaluator.single(from), evaluator.single(to));
            Some((from.as_number()? + to.as_number()?).half())
        });
        let middle = middle.unwrap_or_else(Real::zero);
        let mut draws = Generator::new(id.0 as u64);
        let mut laid = Laid::filled(axes, Cell::Awaited);
        for cell in &mut laid.cells {
            let off = Real::Exact(ratio((draws.unit() * 1e6) as i64 - 500_000, 1_000_000_000_000));
            *cell = match &value.kind {
                Kind::Quantity(_) | Kind::Point => Cell::number(&middle + &off),
                Kind::Count => Cell::number(Real::from(1)),
                Kind::YesNo => Cell::yes_no(true),
                Kind::Choice(words) => match words.first() {
                    Some(word) => Cell::Known(Scalar::Word(word.as_str().into())),
                    None => Cell::Awaited,
                },
                _ => Cell::Awaited,
            };
        }
        Some(laid)
    }
}

impl Scope for Foreseen<'_> {
    fn entered(&self, id: ValueId) -> Option<Laid> {
        match &self.program.values.get(id.0)?.role {
            Role::Fact { .. } => {
                let known = self.facts.get(&id).cloned();
                known.or_else(|| choices(self.program, id).into_iter().next()).map(Laid::single)
            }
            Role::Reading(_) | Role::Observation { .. } => self.readings(id),
            _ => None,
        }
    }

    fn listed(&self, _: AxisId) -> Option<Vec<Rc<str>>> {
        Some(vec!["one".into(), "two".into()])
    }

    fn taken(&self, reading: ValueId) -> Vec<Taken> {
        let mut step = self.program.values.get(reading.0).and_then(|value| value.step);
        // A chain of kept set-ups has no cycle in a file that was taken.
        for _ in 0..self.program.steps.len() {
            let kept = step.and_then(|own| self.program.steps.get(own.0)?.keeps.first());
            let Some((kept, _)) = kept else { break };
            step = Some(*kept);
        }
        vec![Taken { used: Used::default(), set_up: SetUp { step, attempt: 1, set: 1 }, parts: None }]
    }

    fn previous(&self, result: ValueId) -> Option<Laid> {
        let first = self.first()?;
        let evaluator = Evaluator::new(self.program, &first);
        let value = match &self.program.values.get(result.0)?.role {
            Role::Let(_) => evaluator.value(result),
            _ => evaluator.as_entered(result),
        };
        Some(value.as_ref().clone())
    }

    fn spread_before(&self, result: ValueId) -> Option<Laid> {
        let first = self.first()?;
        // What is read in divisions is kept in them.
        if self.program.values.get(result.0)?.unit == Some(Unit::Div) {
            return None;
        }
        let evaluator = Evaluator::new(self.program, &first);
        let spread = of_value(&evaluator, result, Effort::Foreseen).filter(|spread| !spread.unstated)?;
        let size = |cell: &Result<Rc<super::Uncertain>, String>| {
            let known = cell.as_ref().ok().and_then(|own| own.expanded_exact());
            known.map_or_else(|| Cell::NotRead("its uncertainty was not known".into()), Cell::number)
        };
        let axes = evaluator.value(result).axes.clone();
        Some(Laid { axes, cells: spread.cells.iter().map(size).collect() })
    }

    fn failed(&self, _: StepId, _: JudgementId) -> Option<bool> {
        Some(false)
    }
}
