//! One walk as one side of a comparison: each judged value and each reported one, try by try, exact and in words.

use crate::check::program::{Expr, Judged, JudgementId, Node, Program, Role, Step, StepId, ValueId};
use crate::quantity::{Real, Unit};
use crate::walk::eval::Evaluator;
use crate::walk::event::RuleLine;
use crate::walk::layout;
use crate::walk::machine::Machine;
use crate::walk::state::Attempt;
use crate::walk::uncertainty::{self, Effort, Uncertain};
use crate::walk::verdict::Judged as Verdict;
use crate::walk::view::View;

use super::labels::{Labels, plain};
use super::model::Held;

/// A walk and the words of its procedure.
#[derive(Debug)]
pub struct Side<'a> {
    pub machine: &'a Machine,
    pub labels: Labels<'a>,
    /// The text of the procedure, where definitions are to be held against each other.
    text: &'a str,
}

/// Which line of a step: a rule by its name (the same name may stand several times, each for its own case), or a result
/// that is only reported.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    pub name: String,
    pub nth: usize,
    /// The stations of a result that is laid out and only reported; empty of all else.
    pub place: String,
}

/// A value held against its limit, or reported without one, with its figures to reckon with.
#[derive(Clone, Debug)]
pub struct Figure {
    pub held: Held,
    pub exact: Option<Exact>,
    /// The try that it comes from, by its place, and which rule of the step it is held against.
    pub(super) of: Option<(usize, JudgementId)>,
}

/// The same figures to reckon with, in base units.
#[derive(Clone, Debug)]
pub struct Exact {
    pub value: Real,
    /// U = 2u.
    pub expanded: Option<Real>,
    /// In which it is shown.
    pub unit: Option<Unit>,
    /// `per P over L`: the length that the limit is stated for, and that over which it was read.
    pub per: Option<(Real, Real)>,
    /// The length of the windows that were looked at.
    pub window: Option<Real>,
}

/// Lines of the record that no rule of the procedure stands behind.
pub(super) const VALID: &str = "valid";
pub(super) const UNTIL: &str = "until";

/// As found and as left.
#[derive(Clone, Debug, Default)]
pub struct Tries {
    pub found: Option<Figure>,
    /// None where there was one try only: as left is as found.
    pub left: Option<Figure>,
}

impl Tries {
    /// As it was left: the last try.
    pub fn last(&self) -> Option<&Figure> {
        self.left.as_ref().or(self.found.as_ref())
    }

    pub fn is_empty(&self) -> bool {
        self.found.is_none() && self.left.is_none()
    }
}

impl<'a> Side<'a> {
    pub fn new(machine: &'a Machine, text: &'a str) -> Self {
        Self { machine, labels: Labels::new(Some(machine.program())), text }
    }

    pub fn program(&self) -> &'a Program {
        self.machine.program()
    }

    pub fn step(&self, name: &str) -> Option<StepId> {
        self.program().steps.iter().position(|step| step.name == name).map(StepId)
    }

    /// Name and title.
    pub fn title(&self, step: StepId) -> String {
        let step = self.program().steps.get(step.0);
        step.map(|step| format!("{} {}", step.name, plain(&step.title))).unwrap_or_default()
    }

    /// Where each step stands at the end, by name.
    pub fn states(&self) -> Vec<(String, String)> {
        self.machine.status().steps.into_iter().map(|step| (step.name, step.stand.to_string())).collect()
    }

    /// The first and the last try that were judged; the last is none where they are one.
    fn judged(&self, step: StepId) -> Option<(&'a Attempt, Option<&'a Attempt>)> {
        let attempts = &self.machine.state().step(step).attempts;
        let mut judged = attempts.iter().filter(|it| it.results.is_some() && it.recorded.is_some());
        Some((judged.next()?, judged.next_back()))
    }

    /// The lines of a step as found and as left. As left comes first, so that their order is that of the procedure.
    pub fn of_step(&self, step: StepId) -> Vec<(Key, Tries)> {
        let Some((first, last)) = self.judged(step) else { return Vec::new() };
        let found = self.lines(step, first);
        let left = last.map(|last| self.lines(step, last));
        let mut keys: Vec<&Key> = left.iter().flatten().map(|(key, _)| key).collect();
        for (key, _) in &found {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        let of = |lines: &[(Key, Figure)], key: &Key| {
            let mut own =
                lines.iter().filter(|(own, figure)| own == key && figure.verdict() != "not applicable");
            own.next().map(|(_, figure)| figure.clone())
        };
        let tries = keys.into_iter().map(|key| {
            (
                key.clone(),
                Tries { found: of(&found, key), left: left.as_ref().and_then(|left| of(left, key)) },
            )
        });
        tries.filter(|(_, tries)| !tries.is_empty()).collect()
    }

    /// What a line judges or reports, in words.
    pub fn what(&self, step: StepId, key: &Key) -> String {
        match key.name.as_str() {
            VALID => return "what must hold for the measurement".to_owned(),
            UNTIL => return "steady by the end of its time".to_owned(),
            _ => {}
        }
        let Some(definition) = self.program().steps.get(step.0) else { return key.name.clone() };
        match definition.judgements.iter().any(|it| it.name == key.name) {
            true => self.labels.rule(&definition.name, &key.name),
            false if key.place.is_empty() => self.labels.label(Some(&definition.name), &key.name),
            false => format!(
                "{}, at {}",
                self.labels.label(Some(&definition.name), &key.name),
                super::said::spoken(&key.place)
            ),
        }
    }

    fn lines(&self, step: StepId, attempt: &Attempt) -> Vec<(Key, Figure)> {
        let (Some(recorded), Some(results)) = (&attempt.recorded, &attempt.results) else {
            return Vec::new();
        };
        let Some(plan) = self.program().steps.get(step.0) else { return Vec::new() };
        let view = View::of(self.program(), self.machine.state(), step, attempt.number as usize - 1);
        let evaluator = Evaluator::new(self.program(), &view).of_step(step);
        let mut lines: Vec<(Key, Figure)> = Vec::new();
        for (at, rule) in recorded.rules.iter().enumerate() {
            let nth = lines.iter().filter(|(key, _)| key.name == rule.name).count();
            let judged = results.judged.get(at);
            let exact = judged.and_then(|judged| exact(&evaluator, plan, judged, rule));
            let of = judged.map(|judged| (attempt.number as usize - 1, judged.judgement));
            let sense = self.labels.rule_sense(&plan.name, &rule.name, rule.place.as_deref());
            let label = self.labels.rule(&plan.name, &rule.name);
            let held = Held { label, rule: rule.clone(), sense, window: None };
            let key = Key { name: rule.name.clone(), nth, place: String::new() };
            lines.push((key, Figure { held, exact, of }));
        }
        for id in &plan.reports {
            let name = self.program().values.get(id.0).map(|value| value.name.as_str()).unwrap_or_default();
            if lines.iter().any(|(own, _)| own.name == name) {
                continue;
            }
            let laid = results.values.iter().find(|(own, _)| own == id).map(|(_, laid)| laid);
            let result = recorded.results.iter().find(|result| result.name == name);
            let (Some(laid), Some(result)) = (laid, result) else { continue };
            let spread = results.spreads.iter().find(|(of, _)| of == id).map(|(_, spread)| spread);
            let sense = self.labels.value(Some(&plan.name), name).and_then(|value| value.sense.clone());
            let label = self.labels.label(Some(&plan.name), name);
            for (at, (cell, value)) in laid.cells.iter().zip(&result.values).enumerate() {
                let expanded = spread.and_then(|spread| spread.cells.get(at)?.as_ref().ok());
                let exact = cell.as_number().cloned().map(|value| Exact {
                    value,
                    expanded: expanded.and_then(|it| size_of(it)),
                    unit: result.unit.as_deref().and_then(Unit::parse),
                    per: None,
                    window: None,
                });
                let rule = RuleLine {
                    name: name.to_owned(),
                    verdict: "recorded".to_owned(),
                    value: Some(value.clone()),
                    lower: None,
                    upper: None,
                    unit: result.unit.clone(),
                    place: None,
                    uncertainty: None,
                    notes: Vec::new(),
                };
                let held = Held { label: label.clone(), rule, sense: sense.clone(), window: None };
                let place = layout::place(&laid.axes, at);
                lines.push((Key { name: name.to_owned(), nth: 0, place }, Figure { held, exact, of: None }));
            }
        }
        lines
    }

    /// How a judged or reported value is worked out, as the procedure has it, with all that it rests on: two revisions in
    /// which this is the same give figures that may be compared.
    pub fn definition(&self, step: StepId, key: &Key) -> Option<String> {
        let plan = self.program().steps.get(step.0)?;
        let judgement = plan.judgements.iter().find(|it| it.name == key.name).map(|it| &it.of);
        let value = match judgement {
            Some(Judged::Tolerance { value, .. }) => *value,
            Some(Judged::Require(condition)) => return Some(self.words(condition)),
            None => *plan.reports.iter().find(|id| self.name(**id) == key.name)?,
        };
        let mut said = Vec::new();
        self.define(value, &mut said);
        Some(said.join("\n"))
    }

    fn define(&self, value: ValueId, said: &mut Vec<String>) {
        let Some(definition) = self.program().values.get(value.0) else { return };
        let head = match &definition.role {
            Role::Let(expr) => format!("{} = {}", definition.name, self.words(expr)),
            _ => definition.name.clone(),
        };
        if said.contains(&head) {
            return;
        }
        said.push(head);
        if let Role::Let(expr) = &definition.role {
            expr.each(&mut |part| {
                if let Node::Value(inner) = part.node {
                    self.define(inner, said);
                }
            });
        }
    }

    fn name(&self, value: ValueId) -> &str {
        self.program().values.get(value.0).map(|value| value.name.as_str()).unwrap_or_default()
    }

    /// An expression as it is written, one blank between words.
    fn words(&self, expr: &Expr) -> String {
        let text = self.text.get(expr.span.start..expr.span.end).unwrap_or_default();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// U of a figure of which it was not asked for, because the decision was a simple one and the result bends.
    pub fn further(&self, step: StepId, figure: &Figure) -> Option<Real> {
        let plan = self.program().steps.get(step.0)?;
        let (attempt, judgement) = figure.of?;
        let Judged::Tolerance { value, rule, .. } = &plan.judgements.get(judgement.0)?.of else {
            return None;
        };
        if rule.window.is_some() || rule.test.takes_axis() {
            return None;
        }
        let view = View::of(self.program(), self.machine.state(), step, attempt);
        let evaluator = Evaluator::new(self.program(), &view).of_step(step).keeping(self.machine.kept());
        let spread = uncertainty::of_value(&evaluator, *value, Effort::Decided)?;
        match spread.cells.as_slice() {
            [Ok(own)] if !spread.unstated => size_of(own),
            _ => None,
        }
    }
}

impl Figure {
    pub fn verdict(&self) -> &str {
        &self.held.rule.verdict
    }

    /// `-0.004 mm, away from the operator (U 0.0014 mm)`; empty where there is no figure.
    pub fn said(&self) -> String {
        let mut text = self.held.value();
        if let Some(own) = self.expanded().filter(|_| !text.is_empty()) {
            text.push_str(&format!(" (U {own})"));
        }
        text
    }

    /// U in the unit of the value, to six significant digits.
    pub fn expanded_exact(&self) -> Option<String> {
        let exact = self.exact.as_ref()?;
        Some(uncertainty::wording::recorded(exact.expanded.as_ref()?.to_f64(), exact.unit))
    }

    /// U, of a value that is only reported too.
    pub fn expanded(&self) -> Option<String> {
        let exact = self.exact.as_ref()?;
        Some(uncertainty::wording::size(exact.expanded.as_ref()?.to_f64(), exact.unit))
    }
}

/// The figures of a rule.
fn exact(evaluator: &Evaluator<'_>, plan: &Step, judged: &Verdict, line: &RuleLine) -> Option<Exact> {
    let value = judged.value.clone()?;
    let Judged::Tolerance { rule, .. } = &plan.judgements.get(judged.judgement.0)?.of else { return None };
    let length = |expr: &Expr| evaluator.single(expr).as_number().cloned();
    Some(Exact {
        value,
        expanded: judged.certainty.as_ref().and_then(|own| size_of(&own.uncertain)),
        unit: line.unit.as_deref().and_then(Unit::parse),
        per: rule.per.as_ref().and_then(|(per, over)| Some((length(per)?, length(over)?))),
        window: rule.window.as_ref().and_then(|window| length(&window.length)),
    })
}

/// U, exact where it can be.
fn size_of(uncertain: &Uncertain) -> Option<Real> {
    uncertain.expanded_exact().or_else(|| Real::approximate(uncertain.expanded(), 0.0))
}
