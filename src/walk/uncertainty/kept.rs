//! Uncertainties that were worked out before, so that what has not changed is never drawn twice.
//!
//! While a figure is worked out, a [`Listener`] stands before the scope and writes down all that is asked of it, with the
//! answers. The figure hangs on nothing else, so that it is good again wherever the same questions get the same answers:
//! a step that is judged anew, the next example, another case of the facts. Nobody has to say what it hangs on.

use std::cell::RefCell;
use std::collections::{HashMap, VecDeque};
use std::rc::Rc;

use indexmap::IndexMap;

use crate::check::program::{AxisId, JudgementId, Rule, StepId, ValueId};
use crate::quantity::Real;
use crate::walk::scope::{Scope, Taken};
use crate::walk::value::{Laid, Station};

use super::{Effort, Spread};

/// So many of one value: under a few rules, as found and as left, of a few examples.
const MOST_OF_ONE: usize = 24;

/// Which figure it is.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::walk) struct Name {
    /// The step that is judged, whose own rules are looked at.
    pub step: Option<StepId>,
    pub effort: Effort,
    pub value: ValueId,
    pub of: FigureOf,
}

/// What a figure is of. A rule is known by where it lies in the program.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::walk) enum FigureOf {
    Itself,
    /// Its distance to the limits of a rule.
    Margins(*const Rule),
    /// How far it moved in the last span.
    Steady(*const Rule),
    /// The window of a rule that was found worst: along which line, from where to where.
    Window(*const Rule, usize, [Real; 2]),
    /// The worst window of two lengths.
    Area(*const Rule),
}

#[derive(Clone, Debug)]
struct Entry {
    name: Name,
    heard: Vec<(Question, Answer)>,
    spread: Option<Spread>,
}

/// Belongs to one program.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    figures: RefCell<HashMap<ValueId, VecDeque<Entry>>>,
}

impl Kept {
    /// As it was worked out before, if all that it hangs on is as it was.
    pub(super) fn find(&self, name: &Name, scope: &dyn Scope) -> Option<Option<Spread>> {
        let figures = self.figures.borrow();
        let good = |entry: &&Entry| {
            entry.name == *name && entry.heard.iter().all(|(question, answer)| question.ask(scope) == *answer)
        };
        let found = figures.get(&name.value)?.iter().rev().find(good)?;
        Some(found.spread.clone())
    }

    pub(super) fn keep(&self, name: Name, listener: Listener<'_>, spread: Option<Spread>) {
        let heard = listener.heard.into_inner().into_iter().collect();
        let mut figures = self.figures.borrow_mut();
        let entries = figures.entry(name.value).or_default();
        if entries.len() == MOST_OF_ONE {
            entries.pop_front();
        }
        entries.push_back(Entry { name, heard, spread });
    }

    /// How many figures are kept.
    pub fn count(&self) -> usize {
        self.figures.borrow().values().map(VecDeque::len).sum()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Question {
    Entered(ValueId),
    Listed(AxisId),
    Taken(ValueId),
    Rows(ValueId),
    IsOver(ValueId),
    Previous(ValueId),
    SpreadBefore(ValueId),
    Failed(StepId, JudgementId),
}

#[derive(Clone, Debug, PartialEq)]
enum Answer {
    Laid(Option<Laid>),
    Listed(Option<Vec<Rc<str>>>),
    Taken(Vec<Taken>),
    Rows(Option<Vec<Station>>),
    IsOver(bool),
    Failed(Option<bool>),
}

impl Question {
    fn ask(self, scope: &dyn Scope) -> Answer {
        match self {
            Question::Entered(value) => Answer::Laid(scope.entered(value)),
            Question::Listed(axis) => Answer::Listed(scope.listed(axis)),
            Question::Taken(reading) => Answer::Taken(scope.taken(reading)),
            Question::Rows(reading) => Answer::Rows(scope.rows(reading)),
            Question::IsOver(reading) => Answer::IsOver(scope.is_over(reading)),
            Question::Previous(result) => Answer::Laid(scope.previous(result)),
            Question::SpreadBefore(result) => Answer::Laid(scope.spread_before(result)),
            Question::Failed(step, judgement) => Answer::Failed(scope.failed(step, judgement)),
        }
    }
}

/// A scope that keeps what it was asked, and answers the second time from there.
pub(super) struct Listener<'s> {
    scope: &'s dyn Scope,
    heard: RefCell<IndexMap<Question, Answer>>,
}

impl<'s> Listener<'s> {
    pub fn new(scope: &'s dyn Scope) -> Self {
        Self { scope, heard: RefCell::default() }
    }

    fn answer(&self, question: Question) -> Answer {
        if let Some(known) = self.heard.borrow().get(&question) {
            return known.clone();
        }
        let answer = question.ask(self.scope);
        self.heard.borrow_mut().insert(question, answer.clone());
        answer
    }

    fn laid(&self, question: Question) -> Option<Laid> {
        match self.answer(question) {
            Answer::Laid(laid) => laid,
            _ => None,
        }
    }
}

impl Scope for Listener<'_> {
    fn entered(&self, value: ValueId) -> Option<Laid> {
        self.laid(Question::Entered(value))
    }

    fn listed(&self, axis: AxisId) -> Option<Vec<Rc<str>>> {
        match self.answer(Question::Listed(axis)) {
            Answer::Listed(listed) => listed,
            _ => None,
        }
    }

    fn taken(&self, reading: ValueId) -> Vec<Taken> {
        match self.answer(Question::Taken(reading)) {
            Answer::Taken(taken) => taken,
            _ => Vec::new(),
        }
    }

    fn rows(&self, reading: ValueId) -> Option<Vec<Station>> {
        match self.answer(Question::Rows(reading)) {
            Answer::Rows(rows) => rows,
            _ => None,
        }
    }

    fn is_over(&self, reading: ValueId) -> bool {
        self.answer(Question::IsOver(reading)) == Answer::IsOver(true)
    }

    fn previous(&self, result: ValueId) -> Option<Laid> {
        self.laid(Question::Previous(result))
    }

    fn spread_before(&self, result: ValueId) -> Option<Laid> {
        self.laid(Question::SpreadBefore(result))
    }

    fn failed(&self, step: StepId, judgement: JudgementId) -> Option<bool> {
        match self.answer(Question::Failed(step, judgement)) {
            Answer::Failed(failed) => failed,
            _ => None,
        }
    }
}
