//! What is asked next: worked out from the state, so that a resumed walk asks just what the broken one would have.

use std::borrow::Cow;
use std::rc::Rc;

use crate::check::program::{
    AxisId, InstrumentId, Item, Role, StateWord, Stations as Planned, StepId, Value, ValueId,
};

use super::directory::{item_value, only_when};
use super::entry::{Asked, what_to_type};
use super::eval::Evaluator;
use super::machine::{Dialog, Machine};
use super::question::{Briefing, Expects, Place, Question};
use super::standing::{state_words, truth};
use super::state::Sheet;
use super::text;
use super::value::{Cell, Stations};
use super::view::View;
use super::wording;

/// The question that stands, as the machine sees it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Ask {
    Operator,
    Fact(ValueId),
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
    /// The stations of a reading cannot be laid out, with the reason.
    Stuck(StepId, ValueId, Rc<str>),
    Defects(StepId),
    AfterStep(StepId),
    /// A stale step: take it again?
    Repeat(StepId),
    Nothing,
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
        if let Some(current) = self.state.current {
            if let Some(ask) = self.ask_in(current).or_else(|| self.ask_after(current)) {
                return ask;
            }
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
            && standing.words_of(step).ends_with("stale")
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
        if self.touched.is_none() {
            if let Some(ask) = self.ask_before(step) {
                return Some(ask);
            }
        }
        definition.items.iter().find_map(|item| self.ask_item(step, item))
    }

    /// People, instruments, confirmations and waits come before the first reading.
    fn ask_before(&self, step: StepId) -> Option<Ask> {
        let definition = &self.program.steps[step.0];
        let own = self.state.step(step);
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
        if !own.is_begun() {
            if let Some((kept, keeper)) = self.setup_broken_by(step) {
                return Some(Ask::KeptSetup(step, kept, keeper));
            }
        }
        let confirmed = own.attempt().map_or(0, |attempt| attempt.confirmed);
        if confirmed < definition.confirms.len() {
            return Some(Ask::Confirm(step, confirmed));
        }
        (own.waits_done < definition.waits.len()).then_some(Ask::Wait(step, own.waits_done))
    }

    /// The instruments that a step takes: of each reading the one in use, else the first named.
    fn instruments_of(&self, step: StepId) -> impl Iterator<Item = InstrumentId> {
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
            !here && super::scope::Scope::listed(&view, **axis).is_none()
        });
        if let Some(axis) = unlisted {
            return Some(Ask::List(step, *axis));
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

    pub(super) fn layout(&self, step: StepId, value: ValueId) -> Result<Vec<Rc<Stations>>, Cell> {
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        Evaluator::new(&self.program, &view).layout(&self.program.values[value.0].axes)
    }

    /// The sheet that a reading is being entered on, or a fresh one as it would be laid out.
    pub(super) fn sheet(&self, step: StepId, value: ValueId) -> Result<Cow<'_, Sheet>, Cell> {
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
            _ => (false, false),
        };
        Asked { kind: &value.kind, unit: value.unit, not_read_allowed, open_ended_allowed }
    }

    // -------------------------------------------------------------------------------------------- in words

    /// The question that stands.
    pub fn question(&self) -> Question {
        match &self.dialog {
            Some(dialog) => self.dialog_question(dialog),
            None => self.ask_question(&self.next_ask()),
        }
    }

    fn ask_question(&self, ask: &Ask) -> Question {
        let question =
            |place, ask: String, hints: Vec<String>, expects| Question { place, ask, hints, expects };
        match ask {
            Ask::Operator => {
                question(None, "Who takes the readings? Your name".to_owned(), Vec::new(), Expects::Name)
            }
            Ask::Fact(fact) => {
                let value = &self.program.values[fact.0];
                let hints = self.hints(*fact, None);
                question(None, wording::plain(&value.label), hints, self.expects(value))
            }
            Ask::Instrument(instrument, step) => {
                let it = &self.program.instruments[instrument.0];
                let ask = format!(
                    "Which {} ({})? Its number, and calibrated until when",
                    it.name,
                    wording::plain(&it.title)
                );
                let hint = "such as: DI-07, 2027-03-01   or the number alone if it has no date".to_owned();
                question(self.place(*step, None), ask, vec![hint], Expects::Text)
            }
            Ask::By(step, index) => {
                let who = self.say_in(*step, &self.program.steps[step.0].by[*index]);
                let ask = format!("This step is for: {who}. The name of that person");
                question(self.place(*step, None), ask, Vec::new(), Expects::Name)
            }
            Ask::Hold(step, index) => {
                let (party, words) = &self.program.steps[step.0].holds[*index];
                let party = &self.program.parties[party.0];
                let words = self.say_in(*step, words);
                let ask = format!("Hold: {words} ({}). That person's name", wording::plain(&party.who));
                let hint = "The walk waits here. The operator cannot be the witness.".to_owned();
                question(self.place(*step, None), ask, vec![hint], Expects::Name)
            }
            Ask::KeptSetup(step, kept, keeper) => {
                let name = |it: &StepId| self.program.steps[it.0].name.clone();
                let ask = format!(
                    "{} still needs the set-up of {}. Go on with {} all the same?",
                    name(keeper),
                    name(kept),
                    name(step)
                );
                question(self.place(*step, None), ask, Vec::new(), Expects::YesNo)
            }
            Ask::Confirm(step, index) => {
                let words = self.say_in(*step, &self.program.steps[step.0].confirms[*index]);
                let ask = format!("Confirm: {words}");
                question(
                    self.place(*step, None),
                    ask,
                    vec!["yes or no; only yes goes on".to_owned()],
                    Expects::YesNo,
                )
            }
            Ask::Wait(step, index) => {
                let (seconds, words) = &self.program.steps[step.0].waits[*index];
                let seconds = seconds.to_integer().try_into().unwrap_or(u64::MAX);
                let ask = format!("Wait: {}", self.say_in(*step, words));
                let hint = match self.wait_since {
                    None => format!("{} min by the clock. Enter begins it.", seconds / 60),
                    Some(_) => "Enter when the time is over.".to_owned(),
                };
                question(self.place(*step, None), ask, vec![hint], Expects::Wait { seconds })
            }
            Ask::List(step, axis) => {
                let ask = match &self.program.axes[axis.0].stations {
                    Planned::Listed { question } => self.say_in(*step, question),
                    _ => self.program.axes[axis.0].name.clone(),
                };
                let hint = "all of them on one line, parted by commas".to_owned();
                question(self.place(*step, None), ask, vec![hint], Expects::List)
            }
            Ask::Entry { step, value, cell } => self.entry_question(*step, *value, *cell),
            Ask::Stuck(step, value, reason) => {
                let name = &self.program.values[value.0].name;
                let ask = format!("{name} cannot be laid out: {reason}");
                let hint =
                    "Correct the fact it rests on: correct NAME = VALUE \"why\". Or skip \"why\".".to_owned();
                question(self.place(*step, None), ask, vec![hint], Expects::AfterStep)
            }
            Ask::Defects(step) => {
                let definition = &self.program.steps[step.0];
                let words = definition.items.iter().find_map(|item| match item {
                    Item::Defects(words) => Some(self.say_in(*step, words)),
                    _ => None,
                });
                let there = self.state.defects.iter().filter(|it| it.step == Some(*step)).count();
                let ask = format!("Defects: {}", words.unwrap_or_default());
                let hint = match there {
                    0 => "one a line; none if there is none".to_owned(),
                    count => format!("{count} noted; the next one, or done"),
                };
                question(self.place(*step, None), ask, vec![hint], Expects::Text)
            }
            Ask::AfterStep(step) => {
                let state = state_words(self.standing().state_of(*step));
                let name = &self.program.steps[step.0].name;
                let ask = format!("{name} {state}. What now?");
                let hints = vec![
                    "remeasure (machine untouched), adjust, again (after altering something), correct, waive, or Enter to go on"
                        .to_owned(),
                ];
                question(self.place(*step, None), ask, hints, Expects::AfterStep)
            }
            Ask::Repeat(step) => {
                let name = &self.program.steps[step.0].name;
                let ask = format!("{name} is stale: something it rests on was altered. Take it again now?");
                let hints = vec!["yes, or no to leave it for later".to_owned()];
                question(self.place(*step, None), ask, hints, Expects::YesNo)
            }
            Ask::Nothing => {
                let ask = match self.state.closed {
                    Some(_) => "The walk is closed.",
                    None => "Nothing more can be asked for.",
                };
                question(None, ask.to_owned(), Vec::new(), Expects::Nothing)
            }
        }
    }

    fn dialog_question(&self, dialog: &Dialog) -> Question {
        match dialog {
            Dialog::Take(pending) => {
                let odd = pending.queries.iter().map(|(_, query)| query.clone());
                let ask = match pending.queries.is_empty() {
                    true => "Take these?".to_owned(),
                    false => format!("{}. Is it right?", odd.collect::<Vec<_>>().join("; ")),
                };
                let hints = vec![
                    "Enter or yes takes it; keep \"why\" takes it with a note; else type it again".to_owned(),
                ];
                Question { place: self.place(pending.step, None), ask, hints, expects: Expects::TakeOrRetype }
            }
            Dialog::Correct(of) => {
                let (value, what) = self.entry_in_words(*of);
                let expects =
                    value.map_or(Expects::Text, |value| self.expects(&self.program.values[value.0]));
                let hints = vec!["the right value; the old one stays on the record, struck out".to_owned()];
                Question { place: None, ask: format!("Back to {what}"), hints, expects }
            }
            Dialog::Altered { step, .. } => {
                let names: Vec<String> = self.program.steps[step.0]
                    .adjustments
                    .iter()
                    .map(|value| {
                        let value = &self.program.values[value.0];
                        let unit = value.unit.map(|unit| unit.symbol()).unwrap_or_default();
                        format!("{} and its amount in {unit} ({})", value.name, wording::plain(&value.label))
                    })
                    .collect();
                let mut hints = vec![
                    "in words: what, how much, which way; or nothing, if the machine is untouched".to_owned(),
                ];
                if !names.is_empty() {
                    hints.insert(0, format!("type {}", names.join(", or ")));
                }
                let ask = "What was really altered?".to_owned();
                Question { place: self.place(*step, None), ask, hints, expects: Expects::Text }
            }
            Dialog::Reason(step) => {
                let ask = format!("Why is {} left out?", self.program.steps[step.0].name);
                Question { place: self.place(*step, None), ask, hints: Vec::new(), expects: Expects::Text }
            }
        }
    }

    fn entry_question(&self, step: StepId, value: ValueId, cell: usize) -> Question {
        let Ok(sheet) = self.sheet(step, value) else {
            return self.ask_question(&Ask::Stuck(step, value, "its stations cannot be laid out".into()));
        };
        let definition = &self.program.values[value.0];
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        let evaluator = Evaluator::new(&self.program, &view);
        let stations = sheet.stations(cell);
        let ask = text::say(&definition.label, &evaluator, &wording::current(&sheet, cell));
        let ask = match wording::names_station(&definition.label) || stations.is_empty() {
            true => ask,
            false => {
                let at: Vec<String> = sheet
                    .axes
                    .iter()
                    .zip(&stations)
                    .map(|(axis, station)| format!("{} {station}", axis.axis))
                    .collect();
                format!("{ask}, {}", at.join(", "))
            }
        };
        Question {
            place: self.place(step, Some((value, cell, sheet.cells.len()))),
            ask,
            hints: self.hints(value, Some((&sheet, cell))),
            expects: self.expects(definition),
        }
    }

    fn say_in(&self, step: StepId, words: &crate::check::program::Text) -> String {
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        text::say(words, &Evaluator::new(&self.program, &view), &[])
    }

    fn expects(&self, value: &Value) -> Expects {
        use crate::check::program::Kind;
        match &value.kind {
            Kind::Quantity(_) | Kind::Point => {
                Expects::Number { unit: value.unit.map(|unit| unit.symbol().to_owned()).unwrap_or_default() }
            }
            Kind::Count => Expects::Count,
            Kind::Choice(words) => Expects::Words(words.clone()),
            Kind::YesNo => Expects::YesNo,
            Kind::Date => Expects::Date,
            Kind::Text => Expects::Text,
            Kind::Photo => Expects::Photo,
        }
    }

    /// The unit, what plus and minus mean, and how to type a row.
    fn hints(&self, value: ValueId, at: Option<(&Sheet, usize)>) -> Vec<String> {
        let definition = &self.program.values[value.0];
        let mut hints = Vec::new();
        let what = what_to_type(&self.asked(value));
        if !matches!(
            definition.kind,
            crate::check::program::Kind::Quantity(_) | crate::check::program::Kind::Point
        ) {
            hints.push(what);
        } else if let Some(unit) = definition.unit {
            hints.push(format!("in {}", unit.symbol()));
        }
        let sense =
            at.and_then(|(sheet, cell)| wording::sense_at(&self.program, value, &sheet.stations(cell)));
        if let Some(sense) = sense.as_ref().or(definition.sense.as_ref()) {
            hints.push(format!("plus: {}", sense.plus));
            hints.push(format!("minus: {}", sense.minus));
        }
        if let Some((sheet, cell)) = at {
            let left = sheet.cells.len() - cell;
            if left > 1 && cell == 0 {
                hints.push(format!("one at a time, or a row of up to {left} on one line"));
            }
            if self.may_end(value, sheet, cell) {
                hints.push("Enter alone if that was all".to_owned());
            }
        }
        hints
    }

    /// Whether a `times least to most` reading may end before this cell.
    pub(super) fn may_end(&self, value: ValueId, sheet: &Sheet, cell: usize) -> bool {
        let axes = &self.program.values[value.0].axes;
        let taken = sheet.indices(cell);
        axes.iter().zip(taken).any(|(axis, taken)| match self.program.axes[axis.0].stations {
            Planned::Repeat { least, most } => {
                least < most && taken >= least as usize && taken < most as usize
            }
            _ => false,
        })
    }

    /// How many cells a reading will have that is not begun. Kept, so that a question costs the same at the last
    /// station as at the first.
    fn planned_size(&self, step: StepId, value: ValueId) -> usize {
        if let Some(size) = self.sizes.borrow().get(&value) {
            return *size;
        }
        let size =
            self.layout(step, value).map_or(1, |axes| axes.iter().map(|it| it.stations.len()).product());
        self.sizes.borrow_mut().insert(value, size);
        size
    }

    fn place(&self, step: StepId, reading: Option<(ValueId, usize, usize)>) -> Option<Place> {
        let definition = &self.program.steps[step.0];
        let own = self.state.step(step);
        let reading = reading.map(|(value, cell, cells)| {
            // Readings before this one in the step count, so that the last reads "k of k".
            let sizes = definition.items.iter().filter_map(item_value).map(|it| {
                let size = match own.attempt().and_then(|attempt| attempt.sheet(it)) {
                    Some(sheet) => sheet.cells.len(),
                    None if it == value => cells,
                    None => self.planned_size(step, it),
                };
                (it, size)
            });
            let sizes: Vec<(ValueId, usize)> = sizes.collect();
            let before: usize = sizes.iter().take_while(|(it, _)| *it != value).map(|(_, size)| size).sum();
            (before + cell + 1, sizes.iter().map(|(_, size)| size).sum())
        });
        Some(Place {
            step,
            name: definition.name.clone(),
            title: wording::plain(&definition.title),
            number: step.0 + 1,
            of: self.program.steps.len(),
            attempt: own.attempts.len().max(1) as u32,
            reading,
        })
    }

    /// What is shown when a step or a further try of it begins.
    pub fn briefing(&self, step: StepId) -> Briefing {
        let definition = &self.program.steps[step.0];
        let all = |texts: &[crate::check::program::Text]| -> Vec<String> {
            texts.iter().map(|words| self.say_in(step, words)).collect()
        };
        Briefing {
            section: definition
                .section
                .map(|section| wording::plain(&self.program.sections[section.0].title)),
            basis: all(&definition.basis),
            setup: all(&definition.setup),
            keeps: definition
                .keeps
                .iter()
                .map(|(kept, words)| {
                    format!(
                        "The set-up of {} is kept. {}",
                        self.program.steps[kept.0].name,
                        self.say_in(step, words)
                    )
                })
                .collect(),
            cautions: all(&definition.cautions),
            conditions: all(&definition.conditions),
            notes: all(&definition.notes),
            instruments: {
                let mut seen = Vec::new();
                for id in self.instruments_of(step) {
                    let it = &self.program.instruments[id.0];
                    let number = self.state.instruments.get(&id).map(|card| format!(", {}", card.number));
                    let line = format!("{}{}", wording::plain(&it.title), number.unwrap_or_default());
                    if !seen.contains(&line) {
                        seen.push(line);
                    }
                }
                seen
            },
            by: all(&definition.by),
            powered: definition.powered,
        }
    }
}
