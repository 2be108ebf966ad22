//! What is asked next: worked out from the state, so that a resumed walk asks just what the broken one would have.

use std::borrow::Cow;
use std::rc::Rc;

use crate::check::program::{
    AxisId, InstrumentId, Item, Kind, Role, StateWord, Stations as Planned, StepId, ValueId,
};

use crate::quantity::Rational;

use super::directory::{item_value, only_when};
use super::entry::Asked;
use super::eval::Evaluator;
use super::machine::Machine;
use super::standing::truth;
use super::state::Sheet;
use super::value::{Cell, Stations};
use super::view::View;

/// The question that stands, as the machine sees it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Ask {
    Operator,
    Fact(ValueId),
    /// When a page of paper was filled in, and by whom.
    Page(StepId),
    /// The time of the next row of a series on paper.
    RowTime(StepId, ValueId),
    /// Whose number, and the step that needs it.
    Instrument(InstrumentId, StepId),
    By(StepId, usize),
    Hold(StepId, usize),
    /// The set-up of the second step is kept for the third; the first would break it.
    KeptSetup(StepId, StepId, StepId),
    Confirm(StepId, usize),
    Wait(StepId, usize),
    List(StepId, AxisId),
    Entry {
        step: StepId,
        value: ValueId,
        cell: usize,
    },
    /// A station of a broken series that is read again.
    Again {
        step: StepId,
        value: ValueId,
        cell: usize,
    },
    /// Whether the zero of a reading that was left half read is still what it was.
    Doubt(StepId, ValueId),
    /// The clock of a series is to begin.
    Start(StepId, ValueId),
    /// The next row of a series is due at this time since its start.
    Due(StepId, ValueId, Rational),
    /// The time of a series is over and its last row was not taken.
    Over(StepId, ValueId),
    /// The stations of a reading cannot be laid out, with the reason.
    Stuck(StepId, ValueId, Rc<str>),
    Defects(StepId),
    AfterStep(StepId),
    /// A stale step: take it again?
    Repeat(StepId),
    Nothing,
}

impl Ask {
    /// The step that asks.
    pub(super) fn step(&self) -> Option<StepId> {
        match self {
            Ask::Instrument(_, step)
            | Ask::Page(step)
            | Ask::RowTime(step, _)
            | Ask::By(step, _)
            | Ask::Hold(step, _)
            | Ask::KeptSetup(step, ..)
            | Ask::Confirm(step, _)
            | Ask::Wait(step, _)
            | Ask::List(step, _)
            | Ask::Entry { step, .. }
            | Ask::Again { step, .. }
            | Ask::Doubt(step, _)
            | Ask::Start(step, _)
            | Ask::Due(step, ..)
            | Ask::Over(step, _)
            | Ask::Stuck(step, ..)
            | Ask::Defects(step)
            | Ask::AfterStep(step)
            | Ask::Repeat(step) => Some(*step),
            Ask::Operator | Ask::Fact(_) | Ask::Nothing => None,
        }
    }
}

impl Machine {
    pub(super) fn next_ask(&self) -> Ask {
        if !self.state.opened || self.state.closed.is_some() {
            return Ask::Nothing;
        }
        if self.touched.is_none() {
            if self.state.operator().is_none() {
                return Ask::Operator;
            }
            let unanswered = |fact: &&ValueId| !self.state.facts.contains_key(fact);
            if let Some(fact) = self.program.facts.iter().find(unanswered) {
                return Ask::Fact(*fact);
            }
        }
        if let Some(ask) = self.series_that_is_due() {
            return ask;
        }
        if let Some(ask) = self.wanted.and_then(|step| self.ask_in(step)) {
            return ask;
        }
        if let Some(current) = self.state.current
            && let Some(ask) = self.ask_in(current).or_else(|| self.ask_after(current))
        {
            return ask;
        }
        let steps = || (0..self.program.steps.len()).map(StepId);
        steps()
            .find_map(|step| self.ask_in(step).or_else(|| self.ask_after(step)))
            .or_else(|| steps().find(|step| self.is_to_repeat(*step)).map(Ask::Repeat))
            .unwrap_or(Ask::Nothing)
    }

    /// A step that has not passed: adjust, remeasure, or go on.
    fn ask_after(&self, step: StepId) -> Option<Ask> {
        let own = self.state.step(step);
        if own.left || !own.is_begun() || self.touched.is_some() {
            return None;
        }
        let state = self.standing().state_of(step);
        let has_not_passed = matches!(state, StateWord::Fails | StateWord::Undecided | StateWord::Invalid);
        has_not_passed.then_some(Ask::AfterStep(step))
    }

    fn is_to_repeat(&self, step: StepId) -> bool {
        let standing = self.standing();
        let attempts = self.state.step(step).attempts.len();
        self.touched.is_none()
            && attempts > 0
            && !self.declined.contains(&step)
            && self.state.step(step).unsettled
            && standing.stand_of(step).stale
            && standing.why_not(step, attempts).is_none()
    }

    /// What a step that is not finished asks for next.
    pub(super) fn ask_in(&self, step: StepId) -> Option<Ask> {
        let standing = self.standing();
        let own = self.state.step(step);
        if !matches!(standing.state_of(step), StateWord::ToDo | StateWord::NotReached) {
            return None;
        }
        let definition = &self.program.steps[step.0];
        if definition.only_when.as_ref().is_some_and(|condition| standing.holds(condition) != Some(true)) {
            return None;
        }
        if standing.why_not(step, own.attempts.len().saturating_sub(1)).is_some() {
            return None;
        }
        if self.touched.is_none()
            && let Some(ask) = self.ask_before(step)
        {
            return Some(ask);
        }
        definition.items.iter().find_map(|item| self.ask_item(step, item))
    }

    /// People, instruments, confirmations and waits come before the first reading.
    pub(super) fn ask_before(&self, step: StepId) -> Option<Ask> {
        let definition = &self.program.steps[step.0];
        let own = self.state.step(step);
        if self.is_page_wanted(step) {
            return Some(Ask::Page(step));
        }
        if own.performed.len() < definition.by.len() {
            return Some(Ask::By(step, own.performed.len()));
        }
        let awaits_party = |(party, _): &(crate::check::program::PartyId, _)| {
            let name = &self.program.parties[party.0].name;
            !own.held.iter().any(|(held, _)| held == name)
        };
        if let Some(hold) = definition.holds.iter().position(awaits_party) {
            return Some(Ask::Hold(step, hold));
        }
        if let Some(instrument) =
            self.instruments_of(step).find(|it| !self.state.instruments.contains_key(it))
        {
            return Some(Ask::Instrument(instrument, step));
        }
        if !own.is_begun()
            && let Some((kept, keeper)) = self.setup_broken_by(step)
        {
            return Some(Ask::KeptSetup(step, kept, keeper));
        }
        let confirmed = own.attempt().map_or(0, |attempt| attempt.confirmed);
        if confirmed < definition.confirms.len() {
            return Some(Ask::Confirm(step, confirmed));
        }
        (own.waits_done < definition.waits.len()).then_some(Ask::Wait(step, own.waits_done))
    }

    /// The instruments that a step takes: of each reading the one in use, else the first named.
    pub(super) fn instruments_of(&self, step: StepId) -> impl Iterator<Item = InstrumentId> {
        let items = &self.program.steps[step.0].items;
        items.iter().filter_map(item_value).filter_map(|value| {
            let Role::Reading(reading) = &self.program.values[value.0].role else { return None };
            let in_use = self.state.in_use.filter(|it| reading.instruments.contains(it));
            in_use.or_else(|| reading.instruments.first().copied())
        })
    }

    /// A set-up that a later step still needs and this one does not keep.
    fn setup_broken_by(&self, step: StepId) -> Option<(StepId, StepId)> {
        let keeps =
            |it: StepId, of: StepId| self.program.steps[it.0].keeps.iter().any(|(kept, _)| *kept == of);
        let last = self.state.current.filter(|last| *last != step && self.state.step(*last).is_begun())?;
        let given_up = |of: StepId| self.state.given_up.contains(&(step, of));
        (0..self.program.steps.len()).map(StepId).find_map(|keeper| {
            let waits = keeper != step && !self.state.step(keeper).is_begun();
            let waits = waits && self.standing().state_of(keeper) == StateWord::ToDo;
            let chain = self.program.steps[keeper.0].keeps.iter().map(|(kept, _)| *kept);
            let mut standing_now = chain.filter(|kept| *kept == last || keeps(last, *kept));
            let kept = standing_now.find(|kept| !keeps(step, *kept) && !given_up(*kept));
            kept.filter(|_| waits).map(|kept| (kept, keeper))
        })
    }

    fn ask_item(&self, step: StepId, item: &Item) -> Option<Ask> {
        let own = self.state.step(step);
        let Some(value) = item_value(item) else {
            let listed = own.attempt().is_some_and(|attempt| attempt.defects_listed);
            return (!listed && self.touched.is_none()).then_some(Ask::Defects(step));
        };
        let index = own.attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        let series = self.series(value).map(|(reading, _)| reading);
        if series.is_some_and(|reading| reading != value) {
            return None;
        }
        if let Some(sheet) = own.attempt().and_then(|attempt| attempt.sheet(value)).filter(|it| !it.is_full())
        {
            if sheet.doubt.is_some() && self.touched.is_none() && !self.is_from_paper() {
                return Some(Ask::Doubt(step, value));
            }
            let stations = super::fold_breaks::join_of(&self.program, value).map_or(0, |it| it.stations);
            if let Some(cell) = sheet.next_again(stations as usize) {
                return Some(Ask::Again { step, value, cell });
            }
        }
        if series.is_some() && own.attempt().is_some_and(|attempt| attempt.sheet(value).is_some()) {
            return self.ask_series(step, value);
        }
        if let Some(sheet) = own.attempt().and_then(|attempt| attempt.sheet(value)) {
            return sheet.next().map(|cell| Ask::Entry { step, value, cell });
        }
        if only_when(&self.program, value).is_some_and(|it| truth(it, &view, &self.program) != Some(true)) {
            return None;
        }
        let axes = &self.program.values[value.0].axes;
        let is_listed = |axis: &&AxisId| matches!(self.program.axes[axis.0].stations, Planned::Listed { .. });
        let unlisted = axes.iter().filter(is_listed).find(|axis| {
            let here = own.attempt().is_some_and(|attempt| attempt.lists.contains_key(axis));
            let was_here = own.attempts.iter().any(|attempt| attempt.lists.contains_key(axis));
            let is_known = super::scope::Scope::listed(&view, **axis).is_some();
            // On a further try the list is shown again, to be kept or changed.
            !here && (!is_known || (was_here && self.touched.is_none()))
        });
        if let Some(axis) = unlisted {
            return Some(Ask::List(step, *axis));
        }
        if series.is_some() {
            return self.ask_series(step, value);
        }
        match self.layout(step, value) {
            Ok(axes) if axes.iter().all(|axis| !axis.stations.is_empty()) => {
                Some(Ask::Entry { step, value, cell: 0 })
            }
            Ok(_) => Some(Ask::Stuck(step, value, "it has no station".into())),
            Err(Cell::Invalid(reason) | Cell::NotRead(reason)) => Some(Ask::Stuck(step, value, reason)),
            Err(_) => {
                Some(Ask::Stuck(step, value, "its stations depend on something that is not known yet".into()))
            }
        }
    }

    /// As `layout`; of a series the stations of one row.
    pub(super) fn layout_of_row(&self, step: StepId, value: ValueId) -> Result<Vec<Rc<Stations>>, Cell> {
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        Evaluator::new(&self.program, &view).layout_of_row(&self.program.values[value.0].axes)
    }

    pub(super) fn layout(&self, step: StepId, value: ValueId) -> Result<Vec<Rc<Stations>>, Cell> {
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        Evaluator::new(&self.program, &view).layout(&self.program.values[value.0].axes)
    }

    /// The sheet that a reading is being entered on, or a fresh one as it would be laid out; of a series the row.
    pub(super) fn sheet(&self, step: StepId, value: ValueId) -> Result<Cow<'_, Sheet>, Cell> {
        if self.series(value).is_some() {
            return self.row_sheet(step, value);
        }
        let there = self.state.step(step).attempt().and_then(|attempt| attempt.sheet(value));
        match there {
            Some(sheet) => Ok(Cow::Borrowed(sheet)),
            None => self.layout(step, value).map(|axes| Cow::Owned(Sheet::new(1, axes))),
        }
    }

    pub(super) fn asked(&self, value: ValueId) -> Asked<'_> {
        let value = &self.program.values[value.0];
        let (not_read_allowed, open_ended_allowed) = match &value.role {
            Role::Reading(reading) => (reading.not_read_allowed, reading.open_ended_allowed),
            // Without a camera the reason stands in its place; no rule judges a picture.
            _ => (value.kind == Kind::Photo, false),
        };
        Asked { kind: &value.kind, unit: value.unit, not_read_allowed, open_ended_allowed }
    }
}
