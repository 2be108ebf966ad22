//! Steps: their prose, order, judgements and remedies, once all values are there.

use crate::diagnostic::{Code, Problem};
use crate::quantity::Dimension;
use crate::source::Span;
use crate::syntax::ast::{self, StepLine};

use super::Checker;
use super::carried::Typed;
use super::expression::{Mood, Place};
use super::literal::base_of;
use super::names::What;
use super::program::{
    Crosscheck, Decision, Expr, Item, Judged, Judgement, Kind, Need, NeedKind, Prediction, Remedy, Role,
    SectionId, Step, StepId, Text, UncertaintySource, ValueId,
};
use super::texts::When;

impl<'a> Checker<'a> {
    /// Questions and labels, once every value they may name is there.
    pub(super) fn lower_labels(&mut self) {
        for at in 0..self.names.declared.len() {
            let Some(declared) = self.names.declared.get(at).copied() else { continue };
            let id = ValueId(at);
            let axes = self.values.get(at).map(|value| value.axes.clone()).unwrap_or_default();
            let (step, line) = (declared.step, declared.at);
            let label = match declared.what {
                What::Fact(fact) => self.text(&fact.question, None, When::Header),
                What::Let(node) => self.text(&node.label, step, When::After),
                What::Observe(node) => self.text_asking(&node.question, step, When::Asked, &axes, line),
                What::Adjustment(node) => self.text(&node.label, step, When::After),
                What::Read(read) => {
                    let ask = read.lines.iter().rev().find_map(|line| match &line.what {
                        ast::ReadLine::Ask(text) => Some(text),
                        _ => None,
                    });
                    match ask {
                        Some(text) if self.is_ready(id) => {
                            self.text_asking(text, step, When::Asked, &axes, line)
                        }
                        _ => Some(Text::plain(read.name.text.clone())),
                    }
                }
            };
            if let (Some(label), Some(value)) = (label, self.values.get_mut(at)) {
                value.label = label;
            }
        }
    }

    fn is_ready(&self, id: ValueId) -> bool {
        matches!(self.carried.get(id.0), Some(super::Slot::Ready(_)))
    }

    pub(super) fn lower_steps(&mut self) {
        for at in 0..self.names.sources.len() {
            let step = self.step(StepId(at));
            self.steps.push(step);
        }
        self.add_repeats_to_unsettles();
    }

    fn step(&mut self, id: StepId) -> Step {
        let source = self.names.sources.get(id.0).cloned();
        let (name, title, section, repeats, span) = match &source {
            Some(source) => (
                source.node.name.text.clone(),
                self.text(&source.node.title, Some(id), When::Before).unwrap_or_default(),
                source.section,
                source.repeats,
                source.span,
            ),
            None => (String::new(), Text::default(), None, None, Span::default()),
        };
        let mut step = empty_step(name, title, section, repeats, span);
        step.decision = self.decision_of_file();
        step.by_draws = self.draws_of_file();
        for line in source.iter().flat_map(|source| source.lines.iter().copied()) {
            self.step_line(&mut step, id, line);
        }
        self.step_lets(&mut step, id);
        step
    }

    #[allow(clippy::too_many_lines)]
    fn step_line(&mut self, step: &mut Step, id: StepId, line: &'a ast::Line<StepLine>) {
        let own = Some(id);
        let place = Place::of(own);
        match &line.what {
            StepLine::Setup(text) => step.setup.extend(self.text(text, own, When::Before)),
            StepLine::Caution(text) => step.cautions.extend(self.text(text, own, When::Before)),
            StepLine::Conditions(text) => step.conditions.extend(self.text(text, own, When::Before)),
            StepLine::Note(text) => step.notes.extend(self.text(text, own, When::Before)),
            StepLine::Basis(text) => step.basis.extend(self.text(text, own, When::Before)),
            StepLine::Confirm(text) => step.confirms.extend(self.text(text, own, When::Before)),
            StepLine::By(text) => step.by.extend(self.text(text, own, When::Before)),
            StepLine::Powered => step.powered = true,
            StepLine::Optional => step.optional = true,
            StepLine::OnlyWhen(condition) => {
                if step.only_when.is_some() {
                    self.report(
                        Problem::fault(Code::NameTaken, line.span, "the step has two `only when` lines")
                            .help("join them with `and`"),
                    );
                }
                step.only_when = self.single_condition(condition, place);
            }
            StepLine::Needs(needs) => {
                for need in needs {
                    if let Some(other) = self.step_named(&need.step) {
                        let kind = match need.how {
                            ast::NeedHow::Done => NeedKind::Done,
                            ast::NeedHow::Passed => NeedKind::Passed,
                            ast::NeedHow::PassedBeforeAdjusting => NeedKind::PassedBeforeAdjusting,
                        };
                        step.needs.push(Need { step: other, kind });
                    }
                }
            }
            StepLine::Keeps { step: name, text } => {
                let text = match text {
                    Some(text) => self.text(text, own, When::Before),
                    None => Some(Text::default()),
                };
                if let (Some(other), Some(text)) = (self.step_named(name), text) {
                    step.keeps.push((other, text));
                }
            }
            StepLine::Unsettles(names) => {
                for name in names {
                    if let Some(other) = self.step_named(name) {
                        step.unsettles.push(other);
                    }
                }
            }
            StepLine::Tries(number) => step.tries = self.whole(number, 1, "tries"),
            StepLine::Hold { party, text } => {
                if let (Some(party), Some(text)) =
                    (self.party_named(party), self.text(text, own, When::Before))
                {
                    step.holds.push((party, text));
                }
            }
            StepLine::Wait { time, text } => {
                let time = self.literal_of(time, Dimension::TIME, "a wait");
                let seconds = time.and_then(|time| base_of(&time));
                if let (Some(seconds), Some(text)) = (seconds, self.text(text, own, When::Before)) {
                    step.waits.push((seconds, text));
                }
            }
            StepLine::Read(node) => {
                self.item(step, id, &node.name, Item::Reading);
                self.until(id, node);
            }
            StepLine::Observe(node) => self.item(step, id, &node.name, Item::Observation),
            StepLine::Defects(text) => {
                if let Some(text) = self.text(text, own, When::Before) {
                    step.items.push(Item::Defects(text));
                }
            }
            StepLine::Let(_) => {}
            StepLine::Adjustment(node) => self.predictions(step, id, node),
            StepLine::Remedy(node) => {
                let remedy = self.remedy(node, line.span, id);
                step.remedies.extend(remedy);
            }
            StepLine::ValidWhen { condition, text } => {
                let condition = self.single_condition(condition, place);
                if let (Some(condition), Some(text)) = (condition, self.text(text, own, When::After)) {
                    self.check_directions_in(&condition);
                    step.valid.push((condition, text));
                }
            }
            StepLine::StopWhen { condition, text } => {
                let condition = self.condition(condition, place);
                if let (Some(condition), Some(text)) = (condition, self.text(text, own, When::After)) {
                    step.stops.push((condition.expr, text));
                }
            }
            StepLine::Tolerance(node) => {
                if let Some(judgement) = self.tolerance(node, line.span, id) {
                    step.judgements.push(judgement);
                }
            }
            StepLine::Require(node) => {
                if let Some(condition) = self.single_condition(node, place) {
                    self.check_directions_in(&condition);
                    let name = self.words(node.span);
                    let of = Judged::Require(condition);
                    step.judgements.push(Judgement { name, label: None, of, when: None, span: line.span });
                }
            }
            StepLine::Report(node) => {
                if let Some(value) = self.judged_value(node, id)
                    && self.value(value, node.span, place).is_some()
                {
                    step.reports.push(value);
                }
            }
            StepLine::Decide(decide) => {
                step.decision = self.decision(decide, line.span);
                step.by_draws = decide.by_draws;
            }
            StepLine::Uncertainty { quantity, spread, on, text } => {
                let part = self.stated(UncertaintySource::SetUp, quantity, spread);
                let on = self.find_value(on, own);
                let text = self.text(text, own, When::Before);
                if let (Some(part), Some(on), Some(text)) = (part, on, text)
                    && self.set_up_fits(&part, on, quantity.span)
                {
                    step.set_up.push((part, on, text));
                }
            }
        }
    }

    pub(super) fn own_value(&self, step: StepId, name: &ast::Name) -> Option<ValueId> {
        self.names.scopes.get(step.0)?.values.get(name.text.as_str()).copied()
    }

    fn item(&mut self, step: &mut Step, id: StepId, name: &ast::Name, item: fn(ValueId) -> Item) {
        if let Some(value) = self.own_value(id, name) {
            step.items.push(item(value));
        }
    }

    fn predictions(&mut self, step: &mut Step, id: StepId, node: &'a ast::Adjustment) {
        let Some(adjustment) = self.own_value(id, &node.name) else { return };
        step.adjustments.push(adjustment);
        let mut all = Vec::new();
        for line in &node.lines {
            let ast::AdjustmentLine::Predicts { result, by } = &line.what else { continue };
            let place = Place::of(Some(id)).with(Mood::Forecast);
            let Some(value) = self.find_value(result, Some(id)) else { continue };
            let (against, change) = (self.value(value, result.span, place), self.expr(by, place));
            let (Some(mut against), Some(mut change)) = (against, change) else { continue };
            // A prediction is a change: of a temperature so many kelvin.
            if against.expr.kind == Kind::Point {
                against.expr.kind = Kind::Quantity(Dimension::TEMPERATURE);
            }
            if self.same_kind(&mut against, &mut change, "the change of the other").is_some() {
                all.push(Prediction { result: value, change: change.expr });
            }
        }
        if let Some(Role::Adjustment { predicts }) =
            self.values.get_mut(adjustment.0).map(|value| &mut value.role)
        {
            *predicts = all;
        }
    }

    fn remedy(&mut self, node: &'a ast::Remedy, span: Span, id: StepId) -> Option<Remedy> {
        let place = Place::of(Some(id)).with(Mood::Shown);
        let when = match &node.when {
            None => Some(None),
            Some(condition) => self.single_condition(condition, place).map(Some),
        };
        let text = self.text(&node.text, Some(id), When::After);
        let mut advises = Vec::new();
        for line in &node.advise {
            advises.extend(self.advice(&line.what, id, place));
        }
        Some(Remedy { when: when?, text: text?, advises, span })
    }

    fn advice(&mut self, node: &'a ast::Advise, id: StepId, place: Place) -> Option<(ValueId, Expr)> {
        let name = &node.adjustment;
        let found = self.own_value(id, name);
        let is_adjustment = found.is_some_and(|value| {
            matches!(self.names.declared.get(value.0).map(|d| d.what), Some(What::Adjustment(_)))
        });
        let Some(adjustment) = found.filter(|_| is_adjustment) else {
            let known = self.names.values_of(Some(id));
            let help = self.guess(&name.text, known).unwrap_or_else(|| {
                format!(
                    "add `adjustment {} \"what is moved\" in mm` to the step, with `plus` and `minus`",
                    name.text
                )
            });
            if !self.names.broken.contains(name.text.as_str()) {
                self.report(
                    Problem::fault(
                        Code::NameUnknownAdjustment,
                        name.span,
                        format!("`{}` is no adjustment of this step", name.text),
                    )
                    .help(help),
                );
            }
            return None;
        };
        let against = self.value(adjustment, name.span, place);
        let amount = self.expr(&node.amount, place);
        let (mut against, mut amount) = (against?, amount?);
        self.same_kind(&mut against, &mut amount, "the amount of the other")?;
        self.same_layout(&against, &amount)?;
        Some((adjustment, amount.expr))
    }

    fn same_layout(&mut self, adjustment: &Typed, amount: &Typed) -> Option<()> {
        if amount.expr.axes.len() <= adjustment.expr.axes.len() {
            self.meet(&adjustment.expr, &amount.expr, amount.expr.span)?;
            return Some(());
        }
        self.laid_out(amount);
        None
    }

    /// Results of the step, each below those that it rests on.
    fn step_lets(&mut self, step: &mut Step, id: StepId) {
        let mut own: Vec<ValueId> = self
            .names
            .scopes
            .get(id.0)
            .map(|scope| scope.values.values().copied().collect())
            .unwrap_or_default();
        own.retain(|value| {
            matches!(self.names.declared.get(value.0).map(|declared| declared.what), Some(What::Let(_)))
        });
        own.sort_by_key(|value| self.rank.get(value.0).copied().unwrap_or(usize::MAX));
        step.lets = own;
    }

    /// What unsettles a step unsettles the steps that repeat it.
    fn add_repeats_to_unsettles(&mut self) {
        let mut repeats: std::collections::HashMap<StepId, Vec<StepId>> = std::collections::HashMap::new();
        for (at, step) in self.steps.iter().enumerate() {
            if let Some(base) = step.repeats {
                repeats.entry(base).or_default().push(StepId(at));
            }
        }
        for (at, step) in self.steps.iter_mut().enumerate() {
            let mut all = Vec::new();
            let mut seen = std::collections::HashSet::new();
            let mut open: Vec<StepId> = step.unsettles.iter().rev().copied().collect();
            while let Some(next) = open.pop() {
                if next != StepId(at) && seen.insert(next) {
                    all.push(next);
                    open.extend(repeats.get(&next).into_iter().flatten().rev());
                }
            }
            step.unsettles = all;
        }
    }

    pub(super) fn crosscheck(&mut self, node: &'a ast::Crosscheck, span: Span) -> Option<Crosscheck> {
        let place = Place::of(None);
        let why = self.text(&node.why, None, When::After);
        let (left, right) = (self.single(&node.left, place), self.single(&node.right, place));
        let when = match &node.when {
            None => Some(None),
            Some(condition) => self.single_condition(condition, place).map(Some),
        };
        let (mut left, mut right) = (left?, right?);
        self.same_kind(&mut left, &mut right, "checked against each other")?;
        for side in [&left, &right] {
            self.no_projection(&side.expr, side.expr.span)?;
        }
        let within = self.single(&node.within, place)?;
        let mut difference = left.clone();
        if let Some(dimension) = super::carried::difference_of(&left.expr.kind) {
            difference.expr.kind = Kind::Quantity(dimension);
        }
        let mut within = within;
        self.same_kind(&mut difference, &mut within, "the difference that is allowed")?;
        let mut steps = Vec::new();
        for side in [&left.expr, &right.expr] {
            super::texts::each_value(side, &mut |value| {
                if let Some(step) = self.names.declared.get(value.0).and_then(|declared| declared.step)
                    && !steps.contains(&step)
                {
                    steps.push(step);
                }
            });
        }
        Some(Crosscheck {
            name: node.name.text.clone(),
            why: why?,
            left: left.expr,
            right: right.expr,
            within: within.expr,
            when: when?,
            steps,
            span,
        })
    }
}

fn empty_step(
    name: String,
    title: Text,
    section: Option<SectionId>,
    repeats: Option<StepId>,
    span: Span,
) -> Step {
    Step {
        name,
        title,
        section,
        repeats,
        basis: Vec::new(),
        setup: Vec::new(),
        cautions: Vec::new(),
        conditions: Vec::new(),
        notes: Vec::new(),
        confirms: Vec::new(),
        powered: false,
        by: Vec::new(),
        only_when: None,
        needs: Vec::new(),
        keeps: Vec::new(),
        unsettles: Vec::new(),
        tries: None,
        optional: false,
        holds: Vec::new(),
        waits: Vec::new(),
        items: Vec::new(),
        lets: Vec::new(),
        adjustments: Vec::new(),
        remedies: Vec::new(),
        valid: Vec::new(),
        judgements: Vec::new(),
        reports: Vec::new(),
        stops: Vec::new(),
        decision: Decision::Simple,
        by_draws: false,
        set_up: Vec::new(),
        uses: Vec::new(),
        span,
    }
}
