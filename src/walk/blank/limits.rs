//! The rules of a step in words, with what they come to under the facts that are known.

use crate::check::program::{Expr, Judged, Node, Reach, StepId, TableId, Test};
use crate::quantity::Unit;
use crate::walk::eval::Evaluator;
use crate::walk::rules;
use crate::walk::verdict::Limit;
use crate::walk::{asked_words, spoken, text};

use super::spelled::Speller;
use super::{Blank, LimitForm};

impl Blank<'_> {
    pub(super) fn limits(&self, step: StepId) -> Vec<LimitForm> {
        let definition = &self.program.steps[step.0];
        let mut limits = Vec::new();
        for judgement in &definition.judgements {
            let when = judgement.when.as_ref();
            let holds = when.and_then(|when| self.truth(when));
            if holds == Some(false) {
                continue;
            }
            let speller = Speller { blank: self, step: Some(step) };
            let when = when.filter(|_| holds.is_none()).map(|when| speller.expr(when));
            let (what, rule, here) = match &judgement.of {
                Judged::Require(condition) => {
                    let asked = asked_words::judged(self.program, judgement);
                    let is_written = asked == judgement.name;
                    (None, if is_written { speller.expr(condition) } else { asked }, None)
                }
                Judged::Tolerance { value, rule, .. } => {
                    let view = self.view();
                    let evaluator = Evaluator::new(self.program, &view).of_step(step);
                    let unit = evaluator.shown_in(*value);
                    let band = rules::band(&evaluator, *value, rule);
                    let is_plain = matches!(
                        rule.test,
                        Test::Convex { allowance: None } | Test::Concave { allowance: None }
                    );
                    let here = band.filter(|_| !is_plain && worked_out(rule));
                    let here = here.map(|(lower, upper)| in_words(lower.as_ref(), upper.as_ref(), unit));
                    let what = asked_words::judged(self.program, judgement);
                    (Some(spoken(&what)), speller.rule(rule), here)
                }
            };
            limits.push(LimitForm { what, rule, here, when });
        }
        limits
    }

    /// Tables that were named by their number, in words.
    pub(super) fn open_tables(&self) -> Vec<(String, Vec<String>)> {
        let found: Vec<TableId> = self.numbered.borrow().clone();
        let table = |id: &TableId| {
            let table = &self.program.tables[id.0];
            let rows = table.rows.iter().map(|row| {
                let values: Vec<String> = row.values.iter().map(|value| self.spelled(value, None)).collect();
                let when = row.when.as_ref().map(|when| format!("{}, ", self.spelled(when, None)));
                let when = when.unwrap_or_default();
                match &row.reach {
                    Reach::Whole => format!("{when}{}", values.join(", ")),
                    Reach::UpTo(length) => {
                        format!("{when}up to {}: {}", self.spelled(length, None), values.join(", "))
                    }
                    Reach::EveryFurther(length) => {
                        let length = self.spelled(length, None);
                        format!("{when}every further {length} or part of it adds {}", values.join(", "))
                    }
                }
            });
            let columns = match table.columns.is_empty() {
                true => String::new(),
                false => format!(" ({})", spoken(&table.columns.join(", "))),
            };
            (format!("{}{columns}", self.say(&table.title, None)), rows.collect())
        };
        found.iter().map(table).collect()
    }
}

/// Whether a rule says something else than the bare numbers that are written in it.
fn worked_out(rule: &crate::check::program::Rule) -> bool {
    let mut found = rule.per.is_some();
    rule.each(&mut |expr: &Expr| {
        found |= !matches!(expr.node, Node::Number(_) | Node::Inexact(_) | Node::Negate(_));
    });
    found
}

fn in_words(lower: Option<&Limit>, upper: Option<&Limit>, unit: Option<Unit>) -> String {
    let show = |limit: &Limit| text::limit(&limit.scaled, unit);
    match (lower, upper) {
        (Some(lower), Some(upper)) => format!("from {} to {}", show(lower), show(upper)),
        (Some(lower), None) if lower.exclusive => format!("above {}", show(lower)),
        (Some(lower), None) => format!("at least {}", show(lower)),
        (None, Some(upper)) if upper.exclusive => format!("below {}", show(upper)),
        (None, Some(upper)) => format!("at most {}", show(upper)),
        (None, None) => String::new(),
    }
}
