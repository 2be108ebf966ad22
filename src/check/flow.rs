//! The order of steps and what becomes of results: cycles, steps that wait for later ones, results that lead nowhere,
//! powered steps that nobody confirms.

use std::collections::HashSet;

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast::StepLine;

use super::Checker;
use super::names::What;
use super::program::{Judged, Need, NeedKind, StepId, ValueId};

impl Checker<'_> {
    pub(super) fn check_flow(&mut self) {
        self.imply_needs();
        self.check_cycles();
        for at in 0..self.steps.len() {
            self.check_step(StepId(at));
        }
        self.check_shown();
        // Whether a value leads nowhere can only be told when everything else has been understood.
        if self.file.broken.is_empty() && !self.problems.iter().any(Problem::is_fault) {
            self.check_unjudged();
        }
    }

    /// A reference to another step's result implies that it has been taken.
    fn imply_needs(&mut self) {
        let mut uses: Vec<(StepId, StepId)> = self.uses.keys().copied().collect();
        uses.sort_unstable();
        for (step, other) in uses {
            let Some(step) = self.steps.get_mut(step.0) else { continue };
            step.uses.push(other);
            if !step.needs.iter().any(|need| need.step == other) {
                step.needs.push(Need { step: other, kind: NeedKind::Done });
            }
        }
    }

    /// Where a step says that it needs another: its own line, or the first name it uses.
    fn need_span(&self, step: StepId, other: StepId) -> Span {
        let other_name = self.step_name(other);
        let lines = self.names.sources.get(step.0).map(|source| source.lines.as_slice()).unwrap_or_default();
        for line in lines {
            match &line.what {
                StepLine::Needs(needs) => {
                    if let Some(need) = needs.iter().find(|need| need.step.text == other_name) {
                        return need.span;
                    }
                }
                StepLine::Keeps { step, .. } if step.text == other_name => return step.span,
                _ => {}
            }
        }
        self.uses.get(&(step, other)).copied().unwrap_or_default()
    }

    /// Without recursion: a chain of needs may be as long as the file.
    fn check_cycles(&mut self) {
        let edges: Vec<Vec<usize>> = self
            .steps
            .iter()
            .map(|step| {
                step.needs
                    .iter()
                    .map(|need| need.step.0)
                    .chain(step.keeps.iter().map(|(kept, _)| kept.0))
                    .collect()
            })
            .collect();
        let mut state = vec![0_u8; edges.len()];
        let mut cycles: Vec<Vec<usize>> = Vec::new();
        for start in 0..edges.len() {
            let mut path: Vec<(usize, usize)> = Vec::new();
            if state.get(start) == Some(&0) {
                path.push((start, 0));
            }
            while let Some((node, next)) = path.last_mut() {
                let node = *node;
                if let Some(place) = state.get_mut(node) {
                    *place = 1;
                }
                let Some(&target) = edges.get(node).and_then(|edges| edges.get(*next)) else {
                    if let Some(place) = state.get_mut(node) {
                        *place = 2;
                    }
                    path.pop();
                    continue;
                };
                *next += 1;
                match state.get(target) {
                    Some(0) => path.push((target, 0)),
                    Some(1) if cycles.len() < 20 => {
                        cycles.push(
                            path.iter().map(|(node, _)| *node).skip_while(|node| *node != target).collect(),
                        );
                    }
                    _ => {}
                }
            }
        }
        for cycle in cycles {
            self.report_needs_cycle(&cycle);
        }
    }

    fn report_needs_cycle(&mut self, cycle: &[usize]) {
        let mut names: Vec<&str> = cycle.iter().map(|step| self.step_name(StepId(*step))).collect();
        names.extend(names.first().copied());
        let text = super::order::in_short(&names);
        let spans: Vec<Span> = cycle
            .iter()
            .zip(cycle.iter().cycle().skip(1))
            .map(|(step, other)| self.need_span(StepId(*step), StepId(*other)))
            .collect();
        let mut problem = Problem::fault(
            Code::FlowNeedsCycle,
            spans.first().copied().unwrap_or_default(),
            format!("these steps wait for each other: {text}"),
        )
        .label("waits for the next")
        .help("one of them must be able to begin: take one of the `needs` away");
        for span in spans.iter().skip(1).take(4) {
            problem = problem.and(*span, "waits for the next");
        }
        self.report(problem);
    }

    fn check_step(&mut self, id: StepId) {
        let Some(step) = self.steps.get(id.0) else { return };
        let name = step.name.clone();
        let Some(source) = self.names.sources.get(id.0) else { return };
        let at = source.node.name.span;
        let mut found = Vec::new();
        if step.powered
            && step.confirms.is_empty()
            && !source.lines.iter().any(|line| matches!(line.what, StepLine::Confirm(_)))
        {
            found.push(
                Problem::fault(
                    Code::FlowPoweredUnconfirmed,
                    at,
                    format!("step {name} runs the machine, and nobody has to confirm that it is clear"),
                )
                .label("powered, without a `confirm`")
                .help("add a line as: confirm \"Bar, key and spanners are out; guards are closed\""),
            );
        }
        let judged = source.lines.iter().any(|line| {
            matches!(line.what, StepLine::Tolerance(_) | StepLine::Require(_) | StepLine::ValidWhen { .. })
        });
        let nothing = source.node.repeats.is_none()
            && source.node.follows.is_none()
            && !source.lines.iter().any(|line| {
                matches!(
                    line.what,
                    StepLine::Read(_)
                        | StepLine::Observe(_)
                        | StepLine::Defects(_)
                        | StepLine::Confirm(_)
                        | StepLine::Hold { .. }
                        | StepLine::Wait { .. }
                        | StepLine::Tolerance(_)
                        | StepLine::Require(_)
                        | StepLine::Report(_)
                )
            });
        if nothing && self.file.broken.is_empty() {
            found.push(
                Problem::warning(Code::FlowNothingToDo, at, format!("step {name} asks for nothing"))
                    .label("nothing is read, observed, confirmed or judged")
                    .help("add a `read` or an `observe` line"),
            );
        }
        for need in &step.needs {
            let other = need.step;
            let later = other.0 > id.0;
            let any_order = self.same_free_section(id, other);
            if later && !any_order {
                let span = self.need_span(id, other);
                found.push(
                    Problem::warning(
                        Code::FlowLaterStep,
                        span,
                        format!("step {name} waits for {}, which stands below it", self.step_name(other)),
                    )
                    .label("steps are offered in the order of the file")
                    .help("move the step below the one that it needs"),
                );
            }
        }
        if step.tries.is_some() && !judged && self.file.broken.is_empty() {
            found.push(
                Problem::warning(
                    Code::FlowTriesUnjudged,
                    at,
                    format!("step {name} limits its tries, and nothing in it can fail"),
                )
                .help("add a tolerance, or leave `tries` away"),
            );
        }
        for problem in found {
            self.report(problem);
        }
    }

    fn same_free_section(&self, a: StepId, b: StepId) -> bool {
        let section = |step: StepId| self.steps.get(step.0).and_then(|step| step.section);
        let Some(shared) = section(a).filter(|of| section(b) == Some(*of)) else { return false };
        let mut sections = self.file.items.iter().filter_map(|line| match &line.what {
            crate::syntax::ast::Item::Section(section) => Some(section.any_order),
            _ => None,
        });
        sections.nth(shared.0).unwrap_or(false)
    }

    /// Texts and remedies may only name what is there when they are shown.
    fn check_shown(&mut self) {
        let shown = std::mem::take(&mut self.shown);
        let mut needed: HashSet<(StepId, StepId)> = HashSet::new();
        for (at, step) in self.steps.iter().enumerate() {
            needed.extend(step.needs.iter().map(|need| (StepId(at), need.step)));
            needed.extend(step.keeps.iter().map(|(kept, _)| (StepId(at), *kept)));
        }
        for (step, value, span) in shown {
            let Some(owner) = self.names.declared.get(value.0).and_then(|declared| declared.step) else {
                continue;
            };
            if needed.contains(&(step, owner)) {
                continue;
            }
            let name = self.value_name(value, Some(step));
            let (own, other) = (self.step_name(step), self.step_name(owner));
            self.report(
                Problem::fault(
                    Code::FlowTextTooEarly,
                    span,
                    format!("`{name}` may not be there when this is shown"),
                )
                .label(format!("nothing says that {other} has been done before {own}"))
                .help(format!("add to step {own}: needs {other} done")),
            );
        }
    }

    /// Readings and results that nothing judges, reports or works with.
    fn check_unjudged(&mut self) {
        for step in &self.steps {
            let judged = step.judgements.iter().filter_map(|judgement| match &judgement.of {
                Judged::Tolerance { value, .. } => Some(*value),
                Judged::Require(_) => None,
            });
            let named: Vec<ValueId> = judged.chain(step.reports.iter().copied()).collect();
            for value in named {
                if let Some(used) = self.used.get_mut(value.0) {
                    *used = true;
                }
            }
        }
        for at in 0..self.names.declared.len() {
            let Some(declared) = self.names.declared.get(at) else { continue };
            if self.used.get(at).copied().unwrap_or(true) {
                continue;
            }
            let (what, help) = match declared.what {
                What::Let(node) if node.argument => continue,
                What::Let(_) if declared.step.is_some() => {
                    ("result", "judge it with `tolerance`, or put it on the record with")
                }
                What::Let(_) => continue,
                What::Read(_) => {
                    ("reading", "judge it, work with it, or say that it is only for the record with")
                }
                What::Fact(_) | What::Observe(_) | What::Adjustment(_) => continue,
            };
            let name = declared.name.text.clone();
            let problem = Problem::warning(
                Code::FlowUnjudged,
                declared.name.span,
                format!("nothing judges or reports the {what} `{name}`"),
            )
            .label("it leads nowhere")
            .help(format!("{help} `report {name}`"));
            self.report(problem);
        }
    }
}
