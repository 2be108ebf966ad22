//! `repeats STEP`: the lines of the step that is repeated, with the further step's own lines put in.
//!
//! A named line (read, let, observe, adjustment, a named tolerance) replaces the one of that name in its place;
//! `tries decide optional only when` replace; all others are added after.

use std::collections::HashMap;

use crate::diagnostic::{Code, Problem};
use crate::syntax::ast::{Line, StepLine};

use super::Checker;
use super::program::StepId;

/// Repeats may not blow a file up beyond all use.
pub(super) const MOST_LINES: usize = 500_000;

impl<'a> Checker<'a> {
    pub(super) fn expand_repeats(&mut self) {
        let count = self.names.sources.len();
        let mut bases: Vec<Option<StepId>> = Vec::with_capacity(count);
        for step in 0..count {
            let name = self.names.sources.get(step).and_then(|source| source.node.repeats.as_ref());
            let base = name.and_then(|name| self.step_named(name));
            bases.push(base);
        }
        let mut done = vec![false; count];
        let mut total = 0;
        for start in 0..count {
            // From this step down to one that is expanded or repeats nothing, then up again.
            let mut path = Vec::new();
            let mut on_path = HashMap::new();
            let mut at = start;
            while !done.get(at).copied().unwrap_or(true) {
                if on_path.insert(at, path.len()).is_some() {
                    self.repeat_cycle(&path, at);
                    for step in path.drain(..) {
                        if let Some(flag) = done.get_mut(step) {
                            *flag = true;
                        }
                    }
                    break;
                }
                path.push(at);
                match bases.get(at).copied().flatten() {
                    Some(base) => at = base.0,
                    None => break,
                }
            }
            for step in path.into_iter().rev() {
                if let Some(flag) = done.get_mut(step) {
                    *flag = true;
                }
                if let Some(base) = bases.get(step).copied().flatten() {
                    total += self.expand(StepId(step), base);
                    if total > MOST_LINES {
                        self.too_many(StepId(step));
                        return;
                    }
                }
            }
        }
    }

    fn expand(&mut self, step: StepId, base: StepId) -> usize {
        let Some(base_lines) = self.names.sources.get(base.0).map(|source| source.lines.clone()) else {
            return 0;
        };
        let Some(source) = self.names.sources.get_mut(step.0) else { return 0 };
        source.repeats = Some(base);
        let mut lines: Vec<&'a Line<StepLine>> = base_lines;
        let places: HashMap<Key<'a>, usize> =
            lines.iter().enumerate().filter_map(|(at, line)| Some((key(&line.what)?, at))).collect();
        let mut added = Vec::new();
        for own in std::mem::take(&mut source.lines) {
            match key(&own.what).and_then(|key| places.get(&key)).and_then(|at| lines.get_mut(*at)) {
                Some(place) => *place = own,
                None => added.push(own),
            }
        }
        lines.append(&mut added);
        let count = lines.len();
        source.lines = lines;
        count
    }

    fn repeat_cycle(&mut self, path: &[usize], back_to: usize) {
        let names: Vec<&str> = path
            .iter()
            .skip_while(|step| **step != back_to)
            .chain([&back_to])
            .map(|step| self.step_name(StepId(*step)))
            .collect();
        let text = super::order::in_short(&names);
        let Some(name) = self.names.sources.get(back_to).and_then(|source| source.node.repeats.as_ref())
        else {
            return;
        };
        self.report(
            Problem::fault(
                Code::FlowRepeatsCycle,
                name.span,
                format!("these steps repeat each other: {text}"),
            )
            .help("one of them must have lines of its own and repeat none"),
        );
    }

    fn too_many(&mut self, step: StepId) {
        let span = self.names.sources.get(step.0).map(|source| source.span).unwrap_or_default();
        self.fault(Code::FlowRepeatsCycle, span, format!("repeated steps make more than {MOST_LINES} lines"));
    }
}

#[derive(PartialEq, Eq, Hash)]
pub(super) enum Key<'a> {
    Value(&'a str),
    Tolerance(&'a str),
    Tries,
    Decide,
    Optional,
    OnlyWhen,
}

/// What a line of the further step replaces.
pub(super) fn key(line: &StepLine) -> Option<Key<'_>> {
    Some(match line {
        StepLine::Read(node) => Key::Value(&node.name.text),
        StepLine::Observe(node) => Key::Value(&node.name.text),
        StepLine::Let(node) => Key::Value(&node.name.text),
        StepLine::Adjustment(node) => Key::Value(&node.name.text),
        StepLine::Tolerance(node) => Key::Tolerance(&node.named.as_ref()?.0.text),
        StepLine::Tries(_) => Key::Tries,
        StepLine::Decide(_) => Key::Decide,
        StepLine::Optional => Key::Optional,
        StepLine::OnlyWhen(_) => Key::OnlyWhen,
        _ => return None,
    })
}
