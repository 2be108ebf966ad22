//! Answers for a rehearsal: from a worked example and, where that is silent, plausible readings from a seed.
//!
//! The machine asks as on a real walk; the player types. The example leads: the walk turns to the steps in its order, and
//! what it says besides is typed in its own words as soon as all before it has been entered (`told`). Made up is only
//! what the walk asks for and the example says nothing of.

use std::collections::HashMap;
use std::rc::Rc;

use jiff::civil::Date;

use crate::check::program::{Act, Example, Expr, Judged, Kind, Program, Role, StepId, Test, ValueId};
use crate::quantity::{Rational, Real, Unit, decimals_of, fixed, parse_decimal};
use crate::source::SourceFile;

use super::ask::Ask;
use super::eval::Evaluator;
use super::machine::Machine;
use super::view::View;

mod told;

/// A small generator of our own (splitmix64), so that one seed gives one rehearsal on every platform.
#[derive(Clone, Debug)]
struct Seeded(u64);

impl Seeded {
    /// From 0 up to, but without, `below`.
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below.max(1)
    }
}

#[derive(Clone, Debug)]
pub struct Player {
    lines: Vec<(Act, String)>,
    at: usize,
    /// Values of the `enter` line at hand that are not typed yet, a row each.
    rows: Vec<Vec<String>>,
    facts: HashMap<ValueId, String>,
    seeded: Seeded,
    last: Option<Ask>,
    /// How often the same question stood in a row.
    stood: u32,
    made_up: bool,
    /// The clock of the series must have come so far, in seconds, before the answer is given.
    until: Option<Rational>,
    /// The day on which the example goes on, until the clock was put there.
    day: Option<Date>,
    /// The line of the example for which the walk was told to turn to another step.
    turned_for: Option<usize>,
}

impl Player {
    /// `source` is the file that the example stands in. Without an example all readings are seeded.
    pub fn new(example: Option<&Example>, source: &SourceFile, seed: u64) -> Self {
        let lines: Vec<(Act, String)> = example
            .map(|example| {
                example
                    .lines
                    .iter()
                    .map(|(act, span)| (act.clone(), source.slice(*span).to_owned()))
                    .collect()
            })
            .unwrap_or_default();
        let given = lines.iter().filter_map(|(act, _)| match act {
            Act::Given(facts) => Some(facts.clone()),
            _ => None,
        });
        Self {
            facts: given.flatten().collect(),
            lines,
            at: 0,
            rows: Vec::new(),
            seeded: Seeded(seed),
            last: None,
            stood: 0,
            made_up: false,
            until: None,
            day: None,
            turned_for: None,
        }
    }

    /// The day on which an example begins, if it says one.
    pub fn first_day(&self) -> Option<Date> {
        self.lines.iter().find_map(|(act, _)| match act {
            Act::Day(day) => Some(Some(*day)),
            Act::Given(_) | Act::PreviousValue(..) => None,
            _ => Some(None),
        })?
    }

    /// The day to which the clock is to be put before the last answer is given.
    pub fn turns_to_day(&mut self) -> Option<Date> {
        self.day.take()
    }

    /// By how many seconds the clock is to be put forward before the last answer is given.
    pub fn waits(&mut self, machine: &Machine) -> u64 {
        let until = self.until.take();
        until.and_then(|until| machine.seconds_until(&until)).unwrap_or(0)
    }

    /// What is typed at the question that stands. None: the rehearsal has come to its end.
    pub fn next(&mut self, machine: &Machine) -> Option<String> {
        let ask = machine.next_ask();
        self.made_up = false;
        self.stood = if self.last.as_ref() == Some(&ask) { self.stood + 1 } else { 0 };
        self.last = Some(ask.clone());
        // A question that plausible answers do not get past: leave the step out rather than ask for ever.
        if self.stood > 40 {
            return None;
        }
        if self.stood > 30 {
            return Some(self.command(machine, "skip \"no plausible answer for a rehearsal\""));
        }
        if let Some(dialog) = &machine.dialog {
            return Some(self.dialog_answer(machine, dialog));
        }
        if let Some(typed) = self.example_types(machine, &ask) {
            return Some(typed);
        }
        self.plausible(machine, &ask)
    }

    /// Whether the last answer was made up, not given by the example.
    pub fn made_up(&self) -> bool {
        self.made_up
    }

    /// A command needs a colon where any text may be the answer.
    fn command(&self, machine: &Machine, words: &str) -> String {
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        match machine.question().expects.is_text() {
            true => format!(":{words}"),
            false => words,
        }
    }

    fn plausible(&mut self, machine: &Machine, ask: &Ask) -> Option<String> {
        let program = machine.program();
        Some(match ask {
            Ask::Operator => "Rehearsal operator".to_owned(),
            // A rehearsal walks at the machine, never from paper.
            Ask::Page(_) | Ask::RowTime(..) => return None,
            Ask::Fact(fact) => match self.facts.get(fact) {
                Some(given) => given.clone(),
                // Enter takes over what the record before says.
                None if machine.fact_before(*fact).is_some() => String::new(),
                None => self.value(machine, *fact, None),
            },
            Ask::Instrument(instrument, _) => match machine.offers(*instrument).is_empty() {
                true => format!("R-{:02}", instrument.0 + 1),
                false => "1".to_owned(),
            },
            Ask::By(..) => "Rehearsal specialist".to_owned(),
            Ask::Hold(step, index) => {
                let party = program.steps[step.0].holds[*index].0;
                machine
                    .party_name(party)
                    .unwrap_or_else(|| format!("Rehearsal {}", program.parties[party.0].name))
            }
            Ask::KeptSetup(..) | Ask::Confirm(..) => "yes".to_owned(),
            Ask::Wait(..) | Ask::AfterStep(_) | Ask::Start(..) | Ask::Over(..) => String::new(),
            Ask::Due(_, _, due) => {
                self.until = Some(due.clone());
                String::new()
            }
            // Enter alone keeps the list of an earlier try.
            Ask::List(step, axis) => match machine.listed_before(*step, *axis) {
                Some(_) => String::new(),
                None => "first, second".to_owned(),
            },
            Ask::Entry { step, value, cell } => {
                self.made_up = true;
                let ends =
                    machine.sheet(*step, *value).is_ok_and(|sheet| machine.may_end(*value, &sheet, *cell));
                match ends {
                    true => String::new(),
                    false => {
                        let made_up = self.value(machine, *value, Some(*step));
                        self.at_most_the_high(machine, *step, *value, *cell, made_up)
                    }
                }
            }
            Ask::Again { step, value, cell } => {
                self.made_up = true;
                machine.read_there(*step, *value, *cell).unwrap_or_else(|| "no".to_owned())
            }
            Ask::Doubt(..) => "yes".to_owned(),
            Ask::Stuck(..) => "skip \"its stations cannot be laid out\"".to_owned(),
            Ask::Defects(_) => "done".to_owned(),
            Ask::Repeat(step) if self.comes_again(*step) => "no".to_owned(),
            Ask::Repeat(_) => "yes".to_owned(),
            Ask::Nothing => {
                // What is left of the example that never became possible is passed over.
                let (_, words) = self.lines.get(self.at)?;
                let words = words.clone();
                self.at += 1;
                words
            }
        })
    }

    /// The low reading of a turn is never above its high one, which stands just before it.
    fn at_most_the_high(
        &self,
        machine: &Machine,
        step: StepId,
        value: ValueId,
        cell: usize,
        made_up: String,
    ) -> String {
        let Some(before) = cell.checked_sub(1) else { return made_up };
        let is_low = machine.sheet(step, value).is_ok_and(|sheet| {
            let inner = sheet.axes.last().filter(|axis| axis.axis.as_ref() == "extreme");
            inner.is_some() && sheet.indices(cell).last() == Some(&1)
        });
        let high = machine.read_there(step, value, before).filter(|_| is_low);
        let numbers = high.as_deref().and_then(parse_decimal).zip(parse_decimal(&made_up));
        match (high, numbers) {
            (Some(high), Some((above, below))) if below > above => high,
            _ => made_up,
        }
    }

    fn value(&mut self, machine: &Machine, value: ValueId, step: Option<StepId>) -> String {
        let program: &Rc<Program> = &machine.program;
        let definition = &program.values[value.0];
        match &definition.kind {
            Kind::YesNo => "yes".to_owned(),
            Kind::Choice(words) => words.first().cloned().unwrap_or_default(),
            Kind::Text => "rehearsal".to_owned(),
            Kind::Date => "2026-01-01".to_owned(),
            Kind::Count => (1 + self.seeded.below(3)).to_string(),
            Kind::Photo => "rehearsal.jpg".to_owned(),
            Kind::Quantity(_) | Kind::Point | Kind::Arrow(_) => self.number(machine, value, step),
        }
    }

    /// In the middle of what is usual or allowed; else zero, or one of the instrument's least steps beside it.
    fn number(&mut self, machine: &Machine, value: ValueId, step: Option<StepId>) -> String {
        let program = machine.program();
        let definition = &program.values[value.0];
        let (range, unit) = match &definition.role {
            Role::Reading(reading) => (reading.usual.as_ref(), definition.unit),
            Role::Fact { bounds } | Role::Observation { bounds, .. } => (bounds.as_ref(), definition.unit),
            _ => (None, definition.unit),
        };
        let view = View::latest(program, machine.state());
        let evaluator = Evaluator::new(program, &view);
        let shown =
            |number: &Real| unit.map_or_else(|| number.clone(), |unit| unit.from_base(number)).middle();
        // A division has no size of its own: of a reading in div the step is a share of what one division means.
        let of_unit = |step: &Real| match (unit, evaluator.scale(value)) {
            (Some(Unit::Div), Some(scale)) => step.div(&scale).unwrap_or_else(|| step.clone()),
            (Some(unit), _) => unit.of_differences().from_base(step),
            (None, _) => step.clone(),
        };
        let resolution = step.and_then(|_| evaluator.resolution(value)).map(|step| of_unit(&step).middle());
        let decimals = resolution.as_ref().map_or(1, decimals_of).min(6);
        let whole = |number: u64| Rational::from_integer(number.into());
        let pair = |from: &Expr, to: &Expr| {
            let (from, to) = (evaluator.single(from), evaluator.single(to));
            Some((shown(from.as_number()?), shown(to.as_number()?)))
        };
        let bounds = match range {
            Some((from, to)) => pair(from, to),
            None => step.and_then(|step| allowed(program, step, value)).and_then(|rule| match rule {
                Test::FromTo(from, to) => pair(from, to),
                Test::Within { of: Some(middle), .. } => pair(middle, middle),
                Test::AtLeast(least) => pair(least, least),
                Test::AtMost(most) if matches!(definition.kind, Kind::Quantity(_)) => {
                    pair(most, most).map(|(_, most)| (whole(0), most))
                }
                _ => None,
            }),
        };
        let number = match bounds {
            Some((from, to)) => {
                let middle = (&from + &to) / whole(2);
                let spread = (&to - &from) / whole(200);
                middle + spread * (whole(self.seeded.below(3)) - whole(1))
            }
            None => resolution.unwrap_or_else(|| whole(0)) * (whole(self.seeded.below(3)) - whole(1)),
        };
        fixed(&number, decimals)
    }
}

/// The rule that judges a reading itself.
fn allowed(program: &Program, step: StepId, reading: ValueId) -> Option<&Test> {
    program.steps[step.0].judgements.iter().find_map(|judgement| match &judgement.of {
        Judged::Tolerance { value, rule, .. } if *value == reading && rule.per.is_none() => Some(&rule.test),
        _ => None,
    })
}
