//! The question that stands, and the briefing of a step, in words.

use crate::check::program::{Item, StateWord, Stations as Planned, StepId, Value, ValueId};

use super::ask::Ask;
use super::directory::{item_value, only_when};
use super::eval::Evaluator;
use super::machine::{Dialog, Machine};
use super::question::{Briefing, Expects, Place, Question};
use super::reading_again::EntrySaid;
use super::standing::truth;
use super::state::Sheet;
use super::text;
use super::view::View;
use super::wording;

/// More facts than this are counted for the person who answers them.
const LONG_LIST: usize = 8;

impl Machine {
    /// The question that stands.
    pub fn question(&self) -> Question {
        match &self.dialog {
            Some(dialog) => self.dialog_question(dialog),
            None => self.ask_question(&self.next_ask()),
        }
    }

    pub(super) fn ask_question(&self, ask: &Ask) -> Question {
        if let Some(question) = self.paper_question(ask) {
            return question;
        }
        let question =
            |place, ask: String, hints: Vec<String>, expects| Question { place, ask, hints, expects };
        match ask {
            Ask::Operator => {
                question(None, "Who takes the readings? Your name".to_owned(), Vec::new(), Expects::Name)
            }
            Ask::Fact(fact) => {
                let value = &self.program.values[fact.0];
                let mut hints = self.hints(*fact, None);
                hints
                    .extend(self.fact_before(*fact).map(|said| format!("last time: {said}; Enter takes it")));
                hints.extend(self.how_many_facts(*fact));
                question(None, wording::plain(&value.label), hints, self.expects(value))
            }
            Ask::Instrument(instrument, step) => {
                self.instrument_question(*instrument, self.place(*step, None))
            }
            Ask::By(step, index) => {
                let who = self.say_in(*step, &self.program.steps[step.0].by[*index]);
                let ask = format!("This step is for: {who}. The name of that person");
                let kept = self.last_who_was(*step, *index);
                let hints = kept.map(|name| format!("Enter alone: {name}, as before")).into_iter().collect();
                question(self.place(*step, None), ask, hints, Expects::Name)
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
            Ask::Wait(step, index) => self.wait_question(*step, *index),
            Ask::List(step, axis) => {
                let ask = match &self.program.axes[axis.0].stations {
                    Planned::Listed { question } => self.say_in(*step, question),
                    _ => self.program.axes[axis.0].name.clone(),
                };
                let mut hints = vec!["all of them on one line, with commas between".to_owned()];
                if let Some(items) = self.listed_before(*step, *axis) {
                    hints.push(format!("Enter alone keeps: {}", items.join(", ")));
                }
                question(self.place(*step, None), ask, hints, Expects::List)
            }
            Ask::Entry { step, value, cell } => self.entry_question(*step, *value, *cell),
            Ask::Again { step, value, cell } => self.again_question(*step, *value, *cell),
            Ask::Doubt(step, value) => self.doubt_question(*step, *value),
            Ask::Start(..) | Ask::Due(..) | Ask::Over(..) | Ask::Page(..) | Ask::RowTime(..) => {
                self.series_question(ask)
            }
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
                question(self.place(*step, None), ask, vec![hint], Expects::Defects)
            }
            Ask::AfterStep(step) => {
                let state = self.standing().state_of(*step).words();
                let name = &self.program.steps[step.0].name;
                let ask = format!("{name} {state}. What now?");
                let altered = self.standing().is_stale(*step);
                let hint = match altered {
                    true => {
                        "again (measures it as it is now), adjust (something more), correct, waive, or Enter to go on"
                    }
                    false => {
                        "remeasure (machine untouched), adjust, again (after altering something), correct, waive, or Enter to go on"
                    }
                };
                let hints = vec![hint.to_owned()];
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
                    Some(_) if self.state.signed => "The walk is closed and signed.",
                    Some(_) => "The walk is closed, and nobody has signed it yet.",
                    None => "Nothing more can be asked for.",
                };
                let is_stopped = |step: &StepId| {
                    self.state.closed.is_none() && self.standing().state_of(*step) == StateWord::Stopped
                };
                let stopped = (0..self.program.steps.len()).map(StepId).filter(is_stopped);
                let hints = stopped.map(|step| {
                    let name = self.name_of(step);
                    match self.state.step(step).stop.as_ref().is_some_and(|stop| stop.attended) {
                        true => format!("{name} is stopped, and what was done about it is written down: again {name} tries it once more"),
                        false => format!("{name} is stopped: see to the cause, then type altered {name} \"what was done\", then again {name}"),
                    }
                });
                let mut hints: Vec<String> = hints.collect();
                if self.state.closed.is_none() {
                    let standing = self.standing();
                    hints.extend(standing.apart().into_iter().flat_map(|it| standing.look_again(it)));
                }
                if self.state.closed.is_some() && !self.state.signed {
                    hints.push("Enter asks for the signatures".to_owned());
                    hints.push(
                        "reopen and why takes it up again, such as: reopen a reading was forgotten"
                            .to_owned(),
                    );
                }
                question(None, ask.to_owned(), hints, Expects::Nothing)
            }
        }
    }

    /// Who was the last person of that kind, of this step or another.
    pub(super) fn last_who_was(&self, step: StepId, index: usize) -> Option<String> {
        let who = self.say_in(step, self.program.steps[step.0].by.get(index)?);
        let steps = (0..self.program.steps.len()).map(StepId).filter(|it| *it != step);
        let named = steps.flat_map(|it| {
            let of = self.state.step(it);
            self.program.steps[it.0]
                .by
                .iter()
                .zip(&of.performed)
                .map(move |(by, name)| (it, by, name, of.attempts.last().map_or(0, |last| last.opened)))
        });
        let same = named.filter(|(it, by, ..)| self.say_in(*it, by) == who);
        same.max_by_key(|(.., opened)| *opened).map(|(_, _, name, _)| name.clone())
    }

    /// How far one is in a long list of facts.
    fn how_many_facts(&self, fact: ValueId) -> Option<String> {
        let facts = &self.program.facts;
        let at = facts.iter().position(|it| *it == fact)?;
        (facts.len() > LONG_LIST).then(|| format!("fact {} of {}", at + 1, facts.len()))
    }

    fn dialog_question(&self, dialog: &Dialog) -> Question {
        match dialog {
            Dialog::Take(pending) => {
                let odd: Vec<String> = pending.queries.iter().map(|(_, query)| query.clone()).collect();
                let ask = match pending.queries.is_empty() {
                    true => "Take these?".to_owned(),
                    false => wording::odd(&odd),
                };
                let hint = match (pending.queries.is_empty(), pending.entries.len() > 1) {
                    (true, _) => "Enter or yes takes them; if one is wrong: no, or the whole row again",
                    (false, true) => {
                        "Enter or yes, or keep \"why\", takes them all; if one is wrong: no, or the whole row again"
                    }
                    (false, false) => "Enter or yes keeps it, or keep \"why\"; else type it again",
                };
                let hints = vec![hint.to_owned()];
                Question { place: self.place(pending.step, None), ask, hints, expects: Expects::TakeOrRetype }
            }
            Dialog::Correct(of) => {
                let EntrySaid { value, name, now } = self.entry_in_words(*of);
                let is_list = matches!(self.state.places.get(of), Some(super::state::EntryPlace::List(..)));
                let expects = match value {
                    Some(value) => self.expects(&self.program.values[value.0]),
                    None if is_list => Expects::List,
                    None => Expects::Text,
                };
                let hints = vec![
                    "the right value; the old one stays on the record, struck out. Enter alone leaves it."
                        .to_owned(),
                ];
                Question { place: None, ask: format!("Back to {name}: {now}"), hints, expects }
            }
            Dialog::PutRight(line) => {
                self.put_right_question(*line).unwrap_or_else(|| self.ask_question(&self.next_ask()))
            }
            Dialog::Altered { step, .. } => {
                let names: Vec<String> = self.program.steps[step.0]
                    .adjustments
                    .iter()
                    .map(|value| {
                        let value = &self.program.values[value.0];
                        let unit = value.unit.map(|unit| unit.symbol()).unwrap_or_default();
                        format!(
                            "{}: type {} and its amount in {unit}",
                            wording::plain(&value.label),
                            value.name
                        )
                    })
                    .collect();
                let mut hints = vec![
                    "in words: what, how much, which way; or nothing, if the machine is untouched; :back leaves it as it is"
                        .to_owned(),
                ];
                hints.push("behind a comma, where it matters: at WHERE, torque 25 Nm, by NAME".to_owned());
                if !names.is_empty() {
                    names.into_iter().rev().for_each(|name| hints.insert(0, name));
                }
                let ask = "What was really altered?".to_owned();
                Question { place: self.place(*step, None), ask, hints, expects: Expects::Text }
            }
            Dialog::Which(instrument) => {
                let place = self.asked_step().and_then(|step| self.place(step, None));
                self.instrument_question(*instrument, place)
            }
            Dialog::OtherMachine { typed, before } => Question {
                place: None,
                ask: format!(
                    "The record before is of {before}, and this is {typed}: another machine. Is it right?"
                ),
                hints: vec![
                    "Enter or yes keeps it, as an exception on the record; else type it again".to_owned(),
                ],
                expects: Expects::TakeOrRetype,
            },
            Dialog::Party { party, .. } => {
                let who = wording::plain(&self.program.parties[party.0].who);
                let hints = vec!["The operator cannot act for another party.".to_owned()];
                let ask = format!("Who is that? {who}. The name of that person");
                Question { place: None, ask, hints, expects: Expects::Name }
            }
            Dialog::Reason(step) => {
                let ask = format!("Why is {} left out?", self.program.steps[step.0].name);
                let hints = vec!["in words; :back leaves it as it is".to_owned()];
                Question { place: self.place(*step, None), ask, hints, expects: Expects::Text }
            }
        }
    }

    pub(super) fn entry_question(&self, step: StepId, value: ValueId, cell: usize) -> Question {
        let Ok(sheet) = self.sheet(step, value) else {
            return self.ask_question(&Ask::Stuck(step, value, "its stations cannot be laid out".into()));
        };
        let definition = &self.program.values[value.0];
        let series = self.series(value).map(|(reading, _)| reading);
        let ask = self.asked_in_words(step, value, &sheet, cell);
        let mut hints = self.hints(value, Some((&sheet, cell)));
        let ask = match series.filter(|_| self.touched.is_none()) {
            Some(reading) => {
                hints.extend(self.due_in_words(step, reading));
                format!("{}: {ask}", sheet.stations(cell).first().cloned().unwrap_or_default())
            }
            None => ask,
        };
        Question {
            place: self.place(step, Some((value, cell, sheet.cells.len()))),
            ask,
            hints,
            expects: self.expects(definition),
        }
    }

    /// What is asked at a station, with the station named.
    pub(super) fn asked_in_words(&self, step: StepId, value: ValueId, sheet: &Sheet, cell: usize) -> String {
        let label = &self.program.values[value.0].label;
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        let evaluator = Evaluator::new(&self.program, &view);
        let stations = sheet.stations(cell);
        let ask = text::say(label, &evaluator, &wording::current(sheet, cell));
        let ask = if wording::begins_with_station(label) { wording::sentence(ask) } else { ask };
        // Of a series the row says the time; only the stations within it are named.
        let outer = usize::from(self.series(value).is_some());
        if wording::names_station(label) || stations.len() <= outer {
            return ask;
        }
        let at = sheet.axes.iter().zip(&stations).skip(outer);
        let at = at.map(|(axis, station)| wording::spoken(&format!("{} {station}", axis.axis)));
        let at = at.collect::<Vec<_>>().join(", ");
        match ask.ends_with('?') {
            true => format!("{ask} ({at})"),
            false => format!("{ask}, {at}"),
        }
    }

    /// `STEP.READING`, where a station of it is asked for.
    pub(super) fn asked_reading(&self) -> Option<String> {
        match self.next_ask() {
            Ask::Entry { step, value, .. }
            | Ask::Again { step, value, .. }
            | Ask::Doubt(step, value)
            | Ask::Due(step, value, _)
            | Ask::Over(step, value) => {
                Some(format!("{}.{}", self.name_of(step), self.program.values[value.0].name))
            }
            _ => None,
        }
    }

    pub(super) fn say_in(&self, step: StepId, words: &crate::check::program::Text) -> String {
        let index = self.state.step(step).attempts.len().saturating_sub(1);
        let view = View::of(&self.program, &self.state, step, index);
        text::say(words, &Evaluator::new(&self.program, &view), &[])
    }

    pub(super) fn expects(&self, value: &Value) -> Expects {
        use crate::check::program::Kind;
        match &value.kind {
            Kind::Quantity(_) | Kind::Point | Kind::Arrow(_) => {
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

    pub(super) fn place(&self, step: StepId, reading: Option<(ValueId, usize, usize)>) -> Option<Place> {
        let definition = &self.program.steps[step.0];
        let own = self.state.step(step);
        let reading = reading.map(|(value, cell, cells)| {
            // How many rows a series will have nobody knows: its row counts.
            if self.series(value).is_some() {
                return (cell + 1, cells);
            }
            // Readings before this one in the step count, so that the last reads "k of k"; one that does not apply
            // here is none.
            let index = own.attempts.len().saturating_sub(1);
            let view = View::of(&self.program, &self.state, step, index);
            let applies = |it: &ValueId| {
                only_when(&self.program, *it)
                    .is_none_or(|when| truth(when, &view, &self.program) != Some(false))
            };
            let sizes = definition.items.iter().filter_map(item_value).filter(applies).map(|it| {
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

    /// Beside a machine that runs for the series of another step nobody reaches into it.
    fn runs_meanwhile(&self, step: StepId) -> Option<String> {
        let other = self.step_that_runs().filter(|it| *it != step && self.program.steps[it.0].powered)?;
        let name = self.name_of(other);
        Some(format!(
            "The machine is running for {name}. What wants it isolated or at rest waits until {name} is over: take \
             another step, or leave this one for later."
        ))
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
                    let (name, words) = (&self.program.steps[kept.0].name, self.say_in(step, words));
                    match self.state.given_up.iter().rev().find(|(_, of)| of == kept) {
                        Some((by, _)) => format!(
                            "The set-up of {name} was given up for {}: set it up again. {words}",
                            self.program.steps[by.0].name
                        ),
                        None => format!("The set-up of {name} is kept. {words}"),
                    }
                })
                .collect(),
            cautions: self.runs_meanwhile(step).into_iter().chain(all(&definition.cautions)).collect(),
            conditions: all(&definition.conditions),
            notes: {
                let optional = "This step may be left out without an exception: skip \"why\".".to_owned();
                let optional = definition.optional.then_some(optional);
                all(&definition.notes).into_iter().chain(optional).collect()
            },
            instruments: {
                let mut seen = Vec::new();
                for id in self.instruments_of(step) {
                    let it = &self.program.instruments[id.0];
                    let number =
                        self.state.instruments.get(&id).map(|card| format!(", {}", card.said.number));
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
