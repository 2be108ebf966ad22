//! The record before: what it left is brought into a new walk, shown behind each entry (never before one: a value known
//! beforehand is read into the dial), and lent to rules as `previous(STEP.RESULT)`.
//!
//! Everything that is taken stands on the new record as an event of its own, so that it needs no other file.

use std::rc::Rc;

use crate::check::program::{Kind, Role, StepId, Value, ValueId};
use crate::quantity::{Sense, Unit};

use super::answer::Taken;
use super::brought::Earlier;
use super::entry::{Asked, understand};
use super::eval::Evaluator;
use super::event::{Answer, Event, InstrumentCard};
use super::machine::{Machine, Reply};
use super::question::{Refusal, Tone};
use super::state::Sheet;
use super::text;
use super::uncertainty::{self, Effort, Uncertain, wording};
use super::value::{Cell, Laid, Scalar, Stations};
use super::verdict::Outcome;
use super::view::View;

/// The fact that says which machine it is.
pub const SERIAL: &str = "serial";

/// A value as a walk left it.
struct Left {
    laid: Laid,
    /// In which it was entered or shown.
    unit: Option<Unit>,
    /// U = 2u of each cell, in base units or in divisions; empty where it is not asked for or not known.
    expanded: Vec<Option<f64>>,
}

impl Machine {
    // -------------------------------------------------------------------------------------------- taking over

    /// Takes what the record before left, as far as this procedure speaks of the same things. `summary` says which
    /// record it is.
    pub fn take_over(&mut self, before: &Machine, summary: &str) -> Reply {
        self.emit(Event::Noted { step: None, text: summary.to_owned() });
        let facts = self.program.facts.clone();
        let taken = facts.into_iter().filter_map(|fact| self.fact_of(before, fact));
        let mut events: Vec<Event> = taken.collect();
        let facts = events.len();
        for card in before.state.instruments.values().filter(|card| card.used) {
            if self.directory.instrument(&card.said.name).is_some() {
                let said = InstrumentCard { from: None, ..card.said.clone() };
                events.push(Event::PreviousInstrument(said));
            }
        }
        let instruments = events.len() - facts;
        let mut values = 0;
        let mut different = Vec::new();
        for at in 0..self.program.values.len() {
            let Some(event) = self.value_of(before, ValueId(at)) else { continue };
            match &event {
                Event::PreviousValue { name, reason: Some(reason), .. } => {
                    different.push(format!("{name}: {reason}"))
                }
                _ => values += 1,
            }
            events.push(event);
        }
        events.extend(before.effects().iter().filter_map(|effect| self.effect_of(before, effect)));
        for event in events {
            self.emit(event);
        }
        let count = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
        self.say(
            Tone::Notice,
            format!(
                "From the record before: {}, {}, {} to compare with. Last time's value is shown behind each entry.",
                count(facts, "fact"),
                count(instruments, "instrument"),
                count(values, "value")
            ),
        );
        for words in different {
            self.say(Tone::NotWell, format!("Not compared with the record before: {words}."));
        }
        self.finish()
    }

    fn fact_of(&self, before: &Machine, fact: ValueId) -> Option<Event> {
        let own = &self.program.values[fact.0];
        let there = before.directory.value(None, &own.name)?;
        let old = before.program.values.get(there.0)?;
        let cell = &before.state.facts.get(&there)?.cell;
        let known = match (&own.kind, cell) {
            (Kind::Choice(words), Cell::Known(Scalar::Word(word))) => words.iter().any(|it| **it == **word),
            (Kind::Choice(_), _) => false,
            _ => own.kind == old.kind,
        };
        if !known || self.check_bounds(fact, cell).is_err() {
            return None;
        }
        let answers = vec![answer(cell, old.unit, own.unit)?];
        Some(Event::PreviousValue {
            name: own.name.clone(),
            answers,
            stations: Vec::new(),
            expanded: Vec::new(),
            reason: None,
        })
    }

    /// A reading, an observation or a result as it was left.
    fn value_of(&self, before: &Machine, id: ValueId) -> Option<Event> {
        let own = &self.program.values[id.0];
        let step = &self.program.steps[own.step?.0];
        if matches!(own.role, Role::Adjustment { .. })
            || matches!(own.kind, Kind::Arrow(_) | Kind::Photo | Kind::Text)
        {
            return None;
        }
        let there = before.directory.step(&step.name)?;
        let old_id = before.directory.value(Some(there), &own.name)?;
        let old = before.program.values.get(old_id.0)?;
        let Left { laid, unit, expanded: known } =
            before.as_left(there, old_id, self.program.lent.contains(&id))?;
        let name = format!("{}.{}", step.name, own.name);
        let division = || {
            let (was, is) = (before.division(old_id)?, self.division(id)?);
            (was != is).then(|| format!("a division was {was} then, and is {is} now"))
        };
        if let Some(reason) = not_comparable(own, old).or_else(division) {
            return Some(Event::PreviousValue {
                name,
                answers: Vec::new(),
                stations: Vec::new(),
                expanded: Vec::new(),
                reason: Some(reason),
            });
        }
        let places = Sheet::new(1, laid.axes.clone());
        let (mut answers, mut stations, mut expanded) = (Vec::new(), Vec::new(), Vec::new());
        for (at, cell) in laid.cells.iter().enumerate() {
            if let Some(answer) = answer(cell, unit, own.unit) {
                answers.push(answer);
                let size = known.get(at).copied().flatten();
                expanded.push(size.map_or_else(String::new, |size| wording::recorded(size, own.unit)));
                stations.push(places.stations(at));
            }
        }
        if answers.is_empty() {
            return None;
        }
        if laid.axes.is_empty() {
            stations.clear();
        }
        if expanded.iter().all(String::is_empty) {
            expanded.clear();
        }
        Some(Event::PreviousValue { name, answers, stations, expanded, reason: None })
    }

    /// What one division means, of a reading that is kept in divisions.
    fn division(&self, reading: ValueId) -> Option<String> {
        let definition = self.program.values.get(reading.0).filter(|it| it.unit == Some(Unit::Div))?;
        let attempt =
            definition.step.map_or(0, |step| self.state.step(step).attempts.len().saturating_sub(1));
        let view = View::of(&self.program, &self.state, definition.step?, attempt);
        let evaluator = Evaluator::new(&self.program, &view);
        let scale = Cell::number(evaluator.scale(reading)?);
        Some(text::cell(&scale, evaluator.shown_in(reading)))
    }

    /// The value of the last try that was finished and held. None: the machine was altered after it, or it was never
    /// finished. `lent`: a rule takes it, so that its uncertainty counts.
    fn as_left(&self, step: StepId, value: ValueId, lent: bool) -> Option<Left> {
        let own = self.state.step(step);
        let (last, attempt) = own.attempts.iter().enumerate().next_back()?;
        let outcome = attempt.results.as_ref()?.outcome;
        if outcome == Outcome::Invalid || self.standing().is_stale(step) {
            return None;
        }
        let view = View::of(&self.program, &self.state, step, last);
        let evaluator = Evaluator::new(&self.program, &view).of_step(step);
        let definition = &self.program.values[value.0];
        let spread = lent.then(|| uncertainty::of_value(&evaluator, value, Effort::Decided)).flatten();
        let spread = spread.filter(|spread| !spread.unstated);
        // What is kept in divisions is worked out in what they mean.
        let division = match definition.unit {
            Some(Unit::Div) => evaluator.scale(value)?.to_f64().abs(),
            _ => 1.0,
        };
        let of = |cell: Result<Rc<Uncertain>, String>| Some(cell.ok()?.expanded() / division);
        let expanded = spread.into_iter().flat_map(|spread| spread.cells).map(of).collect();
        Some(match definition.role {
            Role::Let(_) => {
                let laid = evaluator.value(value).as_ref().clone();
                Left { laid, unit: evaluator.shown_in(value), expanded }
            }
            _ => Left { laid: evaluator.as_entered(value).as_ref().clone(), unit: definition.unit, expanded },
        })
    }

    // -------------------------------------------------------------------------------------------- shown

    /// Last time's answer to a fact, said back.
    pub(super) fn fact_before(&self, fact: ValueId) -> Option<String> {
        let cell = self.state.previous.get(&fact)?.cells.first()?;
        Some(self.echo(fact, &[], cell))
    }

    /// The same as it would be typed.
    pub(super) fn typed_before(&self, fact: ValueId) -> Option<String> {
        let answer = self.state.previous.get(&fact)?.answers.first()?;
        Some(match &answer.unit {
            Some(unit) => format!("{} {unit}", answer.typed),
            None => answer.typed.clone(),
        })
    }

    /// What was read at these stations last time. Called when the entry is taken, never sooner.
    pub(super) fn last_time(&self, value: ValueId, stations: &[String], single: bool) -> Option<String> {
        let cell = self.state.previous.get(&value)?.at(stations)?;
        Some(match single {
            true => self.echo(value, stations, cell),
            false => {
                let unit = self.program.values[value.0].unit;
                let shown = text::show_cell(cell, unit, None, None);
                if stations.is_empty() {
                    shown
                } else {
                    format!("{}: {shown}", super::wording::spoken_place(stations))
                }
            }
        })
    }

    // -------------------------------------------------------------------------------------------- another machine

    /// The serial number of the record before, where another one was typed.
    pub(super) fn other_machine(&self, fact: ValueId, typed: &Cell) -> Option<String> {
        let own = &self.program.values[fact.0];
        if own.name != SERIAL || own.kind != Kind::Text {
            return None;
        }
        let (Cell::Known(Scalar::Text(before)), Cell::Known(Scalar::Text(now))) =
            (self.state.previous.get(&fact)?.cells.first()?, typed)
        else {
            return None;
        };
        (!before.trim().eq_ignore_ascii_case(now.trim())).then(|| before.to_string())
    }

    pub(super) fn keep_serial(&mut self, serial: &str, before: &str, reason: &str) -> Taken {
        let answer = Answer { typed: serial.to_owned(), unit: None, value: serial.to_owned(), sha256: None };
        self.say(Tone::Echo, serial);
        self.emit(Event::Fact { name: SERIAL.to_owned(), answer });
        let of = self.state.sequence;
        let query = other_machine_said(before);
        self.emit(Event::Kept { of, query, reason: reason.to_owned() });
        Ok(())
    }

    // -------------------------------------------------------------------------------------------- in an example

    /// `previous L40.shake = 1.1 mm/s`; at a station that was not read then, or where the words have changed:
    /// `not read "why"`. `known`: U of each, or one for all.
    pub(super) fn say_previous(&mut self, value: ValueId, typed: &[String], known: &[String]) -> Taken {
        let definition = &self.program.values[value.0];
        let name = match definition.step {
            Some(step) => format!("{}.{}", self.name_of(step), definition.name),
            None => definition.name.clone(),
        };
        let typed: Vec<&String> = typed.iter().filter(|it| *it != ";").collect();
        let not_read =
            |typed: &str| typed.strip_prefix("not read").map(|reason| super::entry::unquoted(reason.trim()));
        let asked = Asked { open_ended_allowed: true, ..self.asked(value) };
        if let [only] = typed.as_slice()
            && let Some(reason) = not_read(only)
        {
            let (answers, stations, expanded) = (Vec::new(), Vec::new(), Vec::new());
            self.emit(Event::PreviousValue { name, answers, stations, expanded, reason: Some(reason) });
            return Ok(());
        }
        if known.len() > 1 && known.len() != typed.len() {
            let (count, there) = (known.len(), typed.len());
            return Err(Refusal::new(format!(
                "{name} has {there} here, and {count} stand behind `uncertainty`: write one for all, or one each."
            )));
        }
        let (mut answers, mut places) = (Vec::new(), Vec::new());
        for (at, typed) in typed.iter().enumerate().filter(|(_, typed)| not_read(typed).is_none()) {
            answers.push(understand(typed, &asked)?.answer);
            places.push(at);
        }
        let known_at = |at: &usize| known.get(*at).or(known.first()).cloned();
        let expanded = places.iter().filter_map(known_at).collect();
        let mut stations = Vec::new();
        if places.len() < typed.len() {
            let axes = self.laid_out_before(value)?;
            let sheet = Sheet::new(1, axes);
            if sheet.cells.len() != typed.len() {
                let (count, there) = (typed.len(), sheet.cells.len());
                return Err(Refusal::new(format!("{count} values for {there} stations of {name}.")));
            }
            stations = places.into_iter().map(|at| sheet.stations(at)).collect();
        }
        self.emit(Event::PreviousValue { name, answers, stations, expanded, reason: None });
        Ok(())
    }

    /// The stations over which a value of the record before is looked at.
    pub(super) fn laid_out_before(&self, value: ValueId) -> Result<Vec<Rc<Stations>>, Refusal> {
        let view = View::latest(&self.program, &self.state);
        Evaluator::new(&self.program, &view)
            .layout(&self.program.values[value.0].axes)
            .map_err(|cell| Refusal::new(super::lines::why_not(&cell)))
    }
}

pub(super) fn other_machine_said(before: &str) -> String {
    format!("the record before is of {before}, another machine")
}

/// Results of the record before, said behind those of now.
pub(super) fn result_before(
    evaluator: &Evaluator<'_>,
    earlier: Option<&Earlier>,
    id: ValueId,
    laid: &Laid,
) -> Option<String> {
    let earlier = earlier.filter(|earlier| earlier.reason.is_none())?;
    let places = Sheet::new(1, laid.axes.clone());
    let cells: Option<Vec<Cell>> =
        (0..laid.cells.len()).map(|cell| earlier.at(&places.stations(cell)).cloned()).collect();
    let before = Laid { axes: laid.axes.clone(), cells: cells? };
    Some(text::say_value(evaluator, id, &before))
}

/// Why two values of one name do not mean the same.
pub(super) fn not_comparable(own: &Value, old: &Value) -> Option<String> {
    if own.kind != old.kind {
        return Some("it was another kind of thing then".to_owned());
    }
    let words = |sense: &Option<Sense>| match sense {
        Some(sense) => format!("plus \"{}\", minus \"{}\"", sense.plus, sense.minus),
        None => "no words".to_owned(),
    };
    if own.sense != old.sense {
        return Some(format!("its sign had {} then, and has {} now", words(&old.sense), words(&own.sense)));
    }
    let stations =
        |value: &Value| value.station_senses.iter().map(|(.., sense)| sense.clone()).collect::<Vec<_>>();
    (stations(own) != stations(old)).then(|| "at some station its sign had other words then".to_owned())
}

/// A cell as an answer: as it stood then, and exact in the unit of now.
pub(super) fn answer(cell: &Cell, was: Option<Unit>, now: Option<Unit>) -> Option<Answer> {
    if !matches!(cell, Cell::Known(_) | Cell::OpenEnded { .. }) {
        return None;
    }
    let is_number = matches!(cell, Cell::Known(Scalar::Number(_)) | Cell::OpenEnded { .. });
    Some(Answer {
        typed: text::record_text(cell, was),
        unit: was.filter(|_| is_number).map(|unit| unit.symbol().to_owned()),
        value: text::record_text(cell, now),
        sha256: None,
    })
}
