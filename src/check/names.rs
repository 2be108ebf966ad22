//! Who is who: every name of the file with what it stands for, and the faults about names that stand for nothing.
//!
//! Values, axes, steps, instruments, parties and crosschecks each have names for themselves. Within a step its own
//! values come first, then those of the file; values of other steps are written `STEP.NAME`.

use std::collections::{HashMap, HashSet};

use crate::diagnostic::{Code, Problem, nearest};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::program::{
    AxisId, CrosscheckId, InstrumentId, JudgementId, PartyId, SectionId, StepId, TableId, ValueId,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Global {
    Value(ValueId),
    Table(TableId),
}

/// A declared value before it is lowered.
#[derive(Clone, Copy, Debug)]
pub(super) struct Declared<'a> {
    pub name: &'a ast::Name,
    pub step: Option<StepId>,
    /// Its place among the lines of its step.
    pub at: usize,
    pub what: What<'a>,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum What<'a> {
    Fact(&'a ast::Fact),
    Let(&'a ast::Let),
    Read(&'a ast::Read),
    Observe(&'a ast::Observe),
    Adjustment(&'a ast::Adjustment),
}

/// A step with its lines, those of the step that it repeats among them.
#[derive(Clone, Debug)]
pub(super) struct StepSource<'a> {
    pub node: &'a ast::Step,
    pub span: Span,
    pub section: Option<SectionId>,
    pub repeats: Option<StepId>,
    /// Where the next thing at the top of the file begins.
    pub end: usize,
    pub lines: Vec<&'a ast::Line<ast::StepLine>>,
}

/// What a step names for itself.
#[derive(Clone, Debug, Default)]
pub(super) struct Scope<'a> {
    pub values: HashMap<&'a str, ValueId>,
    pub tolerances: HashMap<&'a str, (JudgementId, &'a ast::Tolerance)>,
    /// All tolerances on a value, by their place among the step's judgements.
    pub judged: HashMap<ValueId, Vec<&'a ast::Tolerance>>,
    /// Axes laid out in this step under a name of their own; the first of each name.
    pub axes: HashMap<&'a str, AxisId>,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Names<'a> {
    pub globals: HashMap<&'a str, Global>,
    pub axes: HashMap<&'a str, AxisId>,
    pub steps: HashMap<&'a str, StepId>,
    pub instruments: HashMap<&'a str, InstrumentId>,
    pub parties: HashMap<&'a str, PartyId>,
    pub crosschecks: HashMap<&'a str, CrosscheckId>,
    pub methods: HashSet<&'a str>,
    /// Where each name was first given, by what kind of thing it names.
    pub given: HashMap<(&'static str, &'a str), Span>,
    pub scopes: Vec<Scope<'a>>,
    pub sources: Vec<StepSource<'a>>,
    pub declared: Vec<Declared<'a>>,
    pub tables: Vec<&'a ast::Line<ast::Item>>,
    pub file_axes: Vec<&'a ast::Over>,
    pub facts: Vec<ValueId>,
    /// The first and the last step that have a value of this name.
    pub elsewhere: HashMap<&'a str, (StepId, StepId)>,
    /// Every word that is a station somewhere.
    pub station_words: HashSet<&'a str>,
    /// Words of lines that could not be read: what they may have named is not reported as unknown.
    pub broken: HashSet<&'a str>,
}

impl<'a> Names<'a> {
    pub fn values_of(&self, step: Option<StepId>) -> Vec<&'a str> {
        let scope = step.and_then(|step| self.scopes.get(step.0));
        scope.map(|scope| scope.values.keys().copied().collect()).unwrap_or_default()
    }

    /// The step that is meant by a name: in lines taken over from a step that is repeated, the repeating step stands in
    /// its place.
    pub fn meant(&self, step: Option<StepId>, named: StepId, at: Span) -> StepId {
        let Some((id, own)) = step.and_then(|id| Some((id, self.sources.get(id.0)?))) else { return named };
        let is_own_line = own.span.start <= at.start && at.start < own.end;
        if is_own_line {
            return named;
        }
        let mut base = own.repeats;
        while let Some(of) = base {
            if of == named {
                return id;
            }
            base = self.sources.get(of.0).and_then(|source| source.repeats);
        }
        named
    }

    /// A name of the file or of the step.
    pub fn value(&self, step: Option<StepId>, name: &str) -> Option<Global> {
        step.and_then(|step| self.scopes.get(step.0))
            .and_then(|scope| scope.values.get(name))
            .map(|id| Global::Value(*id))
            .or_else(|| self.globals.get(name).copied())
    }
}

impl<'a> Checker<'a> {
    /// "did you mean", looked for in the first faults only.
    pub(super) fn guess<'n>(
        &mut self,
        found: &str,
        known: impl IntoIterator<Item = &'n str>,
    ) -> Option<String> {
        if self.guesses_left == 0 {
            return None;
        }
        self.guesses_left -= 1;
        // Sorted, so that of two words equally near always the same is offered.
        let mut known: Vec<&str> = known.into_iter().collect();
        known.sort_unstable();
        nearest(found, known).map(|word| format!("did you mean `{word}`?"))
    }

    /// `guess` among names of the file, which are only gathered if there is still a guess to be made.
    pub(super) fn guess_name(
        &mut self,
        found: &str,
        known: impl FnOnce(&Names<'a>) -> Vec<&'a str>,
    ) -> Option<String> {
        if self.guesses_left == 0 {
            return None;
        }
        let known = known(&self.names);
        self.guess(found, known)
    }

    /// Reports a name that stands for nothing, unless a broken line may have given it.
    pub(super) fn unknown(&mut self, code: Code, name: &ast::Name, what: &str, help: Option<String>) {
        if self.names.broken.contains(name.text.as_str()) {
            return;
        }
        let mut problem = Problem::fault(code, name.span, format!("there is no {what} `{}`", name.text));
        problem.help = help;
        self.report(problem);
    }

    pub(super) fn step_named(&mut self, name: &ast::Name) -> Option<StepId> {
        if let Some(step) = self.names.steps.get(name.text.as_str()) {
            return Some(*step);
        }
        let help = self.guess_name(&name.text, |names| names.steps.keys().copied().collect());
        let help = help.or_else(|| Some("add the step, or take its name away here".to_string()));
        self.unknown(Code::NameUnknownStep, name, "step", help);
        None
    }

    pub(super) fn party_named(&mut self, name: &ast::Name) -> Option<PartyId> {
        if let Some(party) = self.names.parties.get(name.text.as_str()) {
            return Some(*party);
        }
        let help =
            self.guess_name(&name.text, |names| names.parties.keys().copied().collect()).or_else(|| {
                Some(format!("add a line at the top of the file: party {} \"who that is\"", name.text))
            });
        self.unknown(Code::NameUnknownParty, name, "party", help);
        None
    }

    pub(super) fn instrument_named(&mut self, name: &ast::Name) -> Option<InstrumentId> {
        if let Some(instrument) = self.names.instruments.get(name.text.as_str()) {
            return Some(*instrument);
        }
        let help =
            self.guess_name(&name.text, |names| names.instruments.keys().copied().collect()).or_else(|| {
                Some(format!("add it at the top of the file: instrument {} \"what it is\"", name.text))
            });
        self.unknown(Code::NameUnknownInstrument, name, "instrument", help);
        None
    }

    /// A value by its path. `None` has been reported, or rests on a line that was.
    pub(super) fn find(&mut self, path: &ast::Path, step: Option<StepId>) -> Option<Global> {
        let Some(owner) = &path.step else {
            if let Some(found) = self.names.value(step, &path.name.text) {
                return Some(found);
            }
            self.unknown_value(&path.name, step);
            return None;
        };
        if let Some(&Global::Table(table)) = self.names.globals.get(owner.text.as_str()) {
            return Some(Global::Table(table));
        }
        let owner_id = self.step_named(owner)?;
        let owner_id = self.names.meant(step, owner_id, path.span);
        let scope = self.names.scopes.get(owner_id.0)?;
        if let Some(value) = scope.values.get(path.name.text.as_str()) {
            return Some(Global::Value(*value));
        }
        let help = self.guess_name(&path.name.text, |names| names.values_of(Some(owner_id)));
        self.unknown(
            Code::NameUnknown,
            &path.name,
            &format!("value in step {} by the name of", owner.text),
            help,
        );
        None
    }

    /// A value that is one, not a table.
    pub(super) fn find_value(&mut self, path: &ast::Path, step: Option<StepId>) -> Option<ValueId> {
        match self.find(path, step)? {
            Global::Value(value) => Some(value),
            Global::Table(_) => {
                self.report(
                    Problem::fault(
                        Code::NameNotThat,
                        path.span,
                        format!("`{}` is a table, and a value is wanted here", self.words(path.span)),
                    )
                    .help("name a reading, an observation or a `let`"),
                );
                None
            }
        }
    }

    fn unknown_value(&mut self, name: &ast::Name, step: Option<StepId>) {
        let mut help = None;
        if let Some((step, _)) = self.names.elsewhere.get(name.text.as_str()) {
            let owner = self.names.sources.get(step.0).map_or("", |source| source.node.name.text.as_str());
            help = Some(format!("step {owner} has one: write `{owner}.{}`", name.text));
        } else if self.names.steps.contains_key(name.text.as_str()) {
            help = Some(format!("`{0}` is a step; name a value of it, as `{0}.RESULT`", name.text));
        }
        if help.is_none() {
            help = self.guess_name(&name.text, |names| {
                let mut known = names.values_of(step);
                known.extend(names.globals.keys().copied());
                known
            });
        }
        let help = help.or_else(|| {
            Some("a value is given by `fact`, `let`, `read`, `observe` or `adjustment`; that of another step is written STEP.NAME".to_string())
        });
        self.unknown(Code::NameUnknown, name, "value", help);
    }

    /// The name of a step, for messages.
    pub(super) fn step_name(&self, step: StepId) -> &'a str {
        self.names.sources.get(step.0).map_or("", |source| source.node.name.text.as_str())
    }

    /// The name of a value as it is written from within `step`.
    pub(super) fn value_name(&self, value: ValueId, step: Option<StepId>) -> String {
        let Some(declared) = self.names.declared.get(value.0) else { return String::new() };
        match declared.step {
            Some(owner) if Some(owner) != step => format!("{}.{}", self.step_name(owner), declared.name.text),
            _ => declared.name.text.clone(),
        }
    }
}
