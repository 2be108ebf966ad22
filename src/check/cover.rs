//! Which rows of a table can be reached, and where it has none, tried out over all that its facts may be.
//!
//! Choices and yes or no are tried in full; numbers at the limits that the conditions name and between them. What
//! cannot be tried (other results, very many facts) is left to the walk, which calls a missing row invalid.

use std::collections::HashMap;

use num_traits::One;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Rational, Real, Unit, exact_text, ratio};

use super::Checker;
use super::carried::Typed;
use super::constant::constant;
use super::program::{Expr, Kind, Node, Reach, Role, Table, TableId, Test, ValueId};

/// More combinations than this are not tried.
const MOST: usize = 4096;

/// What a fact may be.
#[derive(Clone, Debug, PartialEq)]
enum Case {
    Word(String),
    YesNo(bool),
    Number(Rational),
}

type Setting = HashMap<ValueId, Case>;

impl Checker<'_> {
    pub(super) fn check_rows(&mut self, id: TableId) {
        let Some(table) = self.tables.get(id.0).cloned() else { return };
        self.check_within_groups(&table);
        let mut conditions: Vec<(usize, Option<&Expr>)> = Vec::new();
        let mut last_group = None;
        for (at, row) in table.rows.iter().enumerate() {
            if last_group.is_none_or(|last| row.group > last) {
                last_group = Some(row.group);
                conditions.push((at, row.when.as_ref()));
            }
        }
        let Some(facts) = self.cases(conditions.iter().filter_map(|(_, when)| *when)) else { return };
        let mut reached = vec![false; conditions.len()];
        let mut gaps: Vec<String> = Vec::new();
        each_setting(&facts, &mut |setting| {
            let mut covered = false;
            for ((_, when), reached) in conditions.iter().zip(reached.iter_mut()) {
                let holds = when.map_or(Some(true), |when| holds(when, setting));
                if holds != Some(false) {
                    *reached = true;
                    covered = true;
                }
                if holds == Some(true) {
                    break;
                }
            }
            if !covered {
                gaps.push(self.setting_in_words(&facts, setting));
            }
        });
        for ((at, _), reached) in conditions.iter().zip(&reached) {
            if let Some(row) = table.rows.get(*at).filter(|_| !reached) {
                self.unreachable(row.span, "whatever the facts are, a row above is taken");
            }
        }
        if let Some(gap) = gaps.first() {
            let more = if gaps.len() > 1 {
                format!(", and in {} more cases", gaps.len() - 1)
            } else {
                String::new()
            };
            self.report(
                Problem::warning(
                    Code::TableGap,
                    table.span,
                    format!("table `{}` has no row when {gap}{more}", table.name),
                )
                .label("there the step would be invalid, never passed")
                .help("add a row for it, or a last row without `when`"),
            );
        }
    }

    fn unreachable(&mut self, span: crate::source::Span, why: &str) {
        self.report(
            Problem::fault(Code::TableUnreachable, span, "this row can never be reached")
                .label(why)
                .help("tables are read from the top down: move it up, or leave it away"),
        );
    }

    /// Rows of one condition: `up to` must rise, and nothing stands below a row that takes everything.
    fn check_within_groups(&mut self, table: &Table) {
        let mut last: HashMap<usize, (Option<Rational>, bool, bool)> = HashMap::new();
        for row in &table.rows {
            let (top, whole, further) = last.entry(row.group).or_insert((None, false, false));
            if *whole || *further {
                let why = if *whole {
                    "a row above takes everything"
                } else {
                    "the row `every further` above takes the rest"
                };
                self.unreachable(row.span, why);
                continue;
            }
            match &row.reach {
                Reach::Whole => *whole = true,
                Reach::UpTo(at) => {
                    let at = constant(at);
                    if let (Some(before), Some(at)) = (&top, &at)
                        && at <= before
                    {
                        self.unreachable(row.span, "a row above reaches as far");
                        continue;
                    }
                    *top = at.or_else(|| top.clone());
                }
                Reach::EveryFurther(_) => {
                    *further = true;
                    if top.is_none() {
                        self.report(
                            Problem::fault(
                                Code::TableFurther,
                                row.span,
                                "there is nothing for `every further` to go on from",
                            )
                            .label("no `up to` with the same condition stands above it")
                            .help("add a row `up to LENGTH then ...` above, with the very same `when`"),
                        );
                    }
                }
            }
        }
    }

    /// Whether a table reaches as far as the value that it is looked up with.
    pub(super) fn check_reach_of(&mut self, id: TableId, at: &Typed) {
        let Some(table) = self.tables.get(id.0) else { return };
        let Some(unit) = table.over else { return };
        let most = match &at.expr.node {
            Node::Value(fact) => match self.values.get(fact.0).map(|value| &value.role) {
                Some(Role::Fact { bounds: Some((_, most)) }) => constant(most),
                _ => None,
            },
            _ => constant(&at.expr),
        };
        let Some(most) = most else { return };
        let mut reach: HashMap<usize, Option<Rational>> = HashMap::new();
        let mut order = Vec::new();
        for row in &table.rows {
            let so_far = reach.entry(row.group).or_insert_with(|| {
                order.push((row.group, row.span));
                Some(Rational::from_integer(i64::MIN.into()))
            });
            match &row.reach {
                Reach::UpTo(at) => {
                    *so_far = so_far.take().and_then(|before| constant(at).map(|at| at.max(before)))
                }
                Reach::Whole | Reach::EveryFurther(_) => *so_far = None,
            }
        }
        for (group, span) in order {
            let Some(Some(end)) = reach.get(&group) else { continue };
            if *end >= most {
                continue;
            }
            let show = |size: &Rational| exact_text(&in_unit(unit, size));
            let (end, most) = (show(end), show(&most));
            let (name, symbol, value) = (table.name.clone(), unit.symbol(), self.words(at.expr.span));
            self.report(
                Problem::warning(
                    Code::TableGap,
                    span,
                    format!("table `{name}` ends at {end} {symbol} here, and `{value}` may be up to {most} {symbol}"),
                )
                .and(at.expr.span, "looked up here")
                .help(format!("add a row `up to {most} {symbol}` or `every further ... or part adds ...` with this condition")),
            );
            return;
        }
    }

    /// The facts that the conditions test, each with what is to be tried. `None`: too many.
    fn cases<'e>(&self, conditions: impl Iterator<Item = &'e Expr>) -> Option<Vec<(ValueId, Vec<Case>)>> {
        let mut limits: Vec<(ValueId, Vec<Rational>)> = Vec::new();
        for condition in conditions {
            tested(condition, &mut |value, limit| {
                let place = match limits.iter().position(|(known, _)| *known == value) {
                    Some(place) => place,
                    None => {
                        limits.push((value, Vec::new()));
                        limits.len() - 1
                    }
                };
                if let Some((_, list)) = limits.get_mut(place) {
                    list.extend(limit);
                }
            });
            if limits.len() > 12 {
                return None;
            }
        }
        let mut all = Vec::new();
        let mut count = 1_usize;
        for (id, limits) in limits {
            let value = self.values.get(id.0)?;
            let cases = match &value.kind {
                Kind::Choice(words) => words.iter().cloned().map(Case::Word).collect(),
                Kind::YesNo => vec![Case::YesNo(true), Case::YesNo(false)],
                Kind::Quantity(_) | Kind::Count | Kind::Point => numbers(value, limits),
                _ => continue,
            };
            count = count.checked_mul(cases.len())?;
            if count > MOST {
                return None;
            }
            all.push((id, cases));
        }
        Some(all)
    }

    fn setting_in_words(&self, facts: &[(ValueId, Vec<Case>)], setting: &Setting) -> String {
        let parts = facts.iter().filter_map(|(id, _)| {
            let value = self.values.get(id.0)?;
            let unit = value.unit.unwrap_or(Unit::One);
            let case = match setting.get(id)? {
                Case::Word(word) => format!("is {word}"),
                Case::YesNo(yes) => format!("is {}", if *yes { "yes" } else { "no" }),
                Case::Number(number) => {
                    let text = exact_text(&in_unit(unit, number));
                    format!("is {text} {}", if unit == Unit::One { "" } else { unit.symbol() })
                }
            };
            Some(format!("{} {}", self.value_name(*id, None), case.trim_end()))
        });
        let text = parts.collect::<Vec<_>>().join(" and ");
        if text.is_empty() { "none of its conditions holds".to_string() } else { text }
    }
}

fn in_unit(unit: Unit, size: &Rational) -> Rational {
    unit.from_base(&Real::Exact(size.clone())).exact().cloned().unwrap_or_else(|| size.clone())
}

/// The limits themselves, between them and outside them, within the range of the fact.
fn numbers(value: &super::program::Value, mut limits: Vec<Rational>) -> Vec<Case> {
    let (low, high) = match &value.role {
        Role::Fact { bounds: Some((low, high)) } => (constant(low), constant(high)),
        _ => (None, None),
    };
    limits.sort();
    limits.dedup();
    let mut tried: Vec<Rational> = Vec::new();
    let first = limits.first().map(|first| first - Rational::one());
    let last = limits.last().map(|last| last + Rational::one());
    tried.extend(low.clone().or(first));
    for (at, limit) in limits.iter().enumerate() {
        tried.push(limit.clone());
        if let Some(next) = limits.get(at + 1) {
            tried.push((limit + next) * ratio(1, 2));
        }
    }
    tried.extend(high.clone().or(last));
    let inside = |number: &Rational| {
        low.as_ref().is_none_or(|low| number >= low) && high.as_ref().is_none_or(|high| number <= high)
    };
    // Just beyond a limit as well, or a limit and the range would hide what lies between them.
    let beyond: Vec<Rational> =
        limits.iter().flat_map(|limit| [limit - ratio(1, 1000), limit + ratio(1, 1000)]).collect();
    tried.extend(beyond);
    tried.retain(inside);
    tried.sort();
    tried.dedup();
    tried.into_iter().map(Case::Number).collect()
}

/// Calls `take` for every value that a condition tests, with the number that it is held against.
fn tested(condition: &Expr, take: &mut dyn FnMut(ValueId, Vec<Rational>)) {
    match &condition.node {
        Node::Not(of) | Node::Every(of) | Node::Any(of) => tested(of, take),
        Node::And(a, b) | Node::Or(a, b) => {
            tested(a, take);
            tested(b, take);
        }
        Node::Value(id) => take(*id, Vec::new()),
        Node::Is(of, _) => {
            if let Node::Value(id) = &of.node {
                take(*id, Vec::new());
            }
        }
        Node::Meets(of, rule) => {
            if let Node::Value(id) = &of.node {
                let mut limits = Vec::new();
                rule.each(&mut |part| limits.extend(constant(part)));
                take(*id, limits);
            }
        }
        _ => {}
    }
}

/// Whether a condition holds; `None` if the facts tried do not tell.
fn holds(condition: &Expr, setting: &Setting) -> Option<bool> {
    match &condition.node {
        Node::YesNo(yes) => Some(*yes),
        Node::Not(of) => holds(of, setting).map(|holds| !holds),
        Node::And(a, b) => match (holds(a, setting), holds(b, setting)) {
            (Some(false), _) | (_, Some(false)) => Some(false),
            (Some(true), Some(true)) => Some(true),
            _ => None,
        },
        Node::Or(a, b) => match (holds(a, setting), holds(b, setting)) {
            (Some(true), _) | (_, Some(true)) => Some(true),
            (Some(false), Some(false)) => Some(false),
            _ => None,
        },
        Node::Value(id) => match setting.get(id)? {
            Case::YesNo(yes) => Some(*yes),
            _ => None,
        },
        Node::Is(of, what) => {
            let Node::Value(id) = &of.node else { return None };
            match (setting.get(id)?, &what.node) {
                (Case::Word(word), Node::Word(wanted)) => Some(word == wanted),
                (Case::YesNo(yes), Node::YesNo(wanted)) => Some(yes == wanted),
                _ => None,
            }
        }
        Node::Meets(of, rule) => {
            let Node::Value(id) = &of.node else { return None };
            let Case::Number(number) = setting.get(id)? else { return None };
            match &rule.test {
                Test::AtMost(limit) => Some(*number <= constant(limit)?),
                Test::AtLeast(limit) => Some(*number >= constant(limit)?),
                Test::Above(limit) => Some(*number > constant(limit)?),
                Test::Below(limit) => Some(*number < constant(limit)?),
                Test::FromTo(low, high) => Some(*number >= constant(low)? && *number <= constant(high)?),
                _ => None,
            }
        }
        _ => None,
    }
}

fn each_setting(facts: &[(ValueId, Vec<Case>)], take: &mut dyn FnMut(&Setting)) {
    let mut turns = vec![0_usize; facts.len()];
    loop {
        let setting = facts
            .iter()
            .zip(&turns)
            .filter_map(|((id, cases), turn)| Some((*id, cases.get(*turn)?.clone())))
            .collect();
        take(&setting);
        let mut at = facts.len();
        loop {
            let Some(place) = at.checked_sub(1) else { return };
            at = place;
            let (Some(turn), Some((_, cases))) = (turns.get_mut(at), facts.get(at)) else { return };
            *turn += 1;
            if *turn < cases.len() {
                break;
            }
            *turn = 0;
        }
    }
}
