//! The entries of one walk taken over to another procedure: what another revision would say of the same readings.
//!
//! Steps, readings, axes and stations are matched by name, a place along a length by the length itself. Numbers are
//! converted exactly. A reading whose words for plus and minus have changed places is turned round; one whose words are
//! others is left out, since nobody can know what its sign meant. All that does not go over is said, and the walk that the
//! entries come from is only read.
//!
//! ```text
//! events of the record -> entries in the other procedure's words -> a machine of its own -> verdicts
//! ```

mod passage;
mod remarks;

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use crate::check::program::{Program, Stations, StepId};

use super::directory::{Directory, item_value};
use super::event::{Alteration, Entry, Event, InstrumentCard, PutRight};
use super::machine::Machine;
use super::replay;
use passage::{Passage, Way};

/// A walk under another procedure, and what became of the entries on the way.
#[derive(Debug)]
pub struct Carried {
    pub machine: Machine,
    pub remarks: Remarks,
}

/// Sentences on how the entries went over, each list in the order of the record or of the procedure.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Remarks {
    /// Readings whose plus and minus have changed places: taken with the other sign.
    pub turned: Vec<String>,
    /// Given in another unit; converted exactly.
    pub converted: Vec<String>,
    /// Not taken over, and why.
    pub refused: Vec<String>,
    /// In the record, and not asked for by the other procedure.
    pub not_asked: Vec<String>,
    /// Asked for by the other procedure, and not in the record.
    pub not_there: Vec<String>,
    /// Instruments of which the other procedure states something else.
    pub stated: Vec<String>,
}

/// Takes the entries of a walk over to another procedure. `lines`: number, time and event of each line of its record.
pub fn carry<'a>(
    from: &Machine,
    to: Rc<Program>,
    lines: impl IntoIterator<Item = (u64, &'a str, &'a Event)>,
) -> Carried {
    let mut carrier = Carrier {
        from,
        old: Directory::new(from.program()),
        machine: Machine::new(to),
        ways: HashMap::new(),
        numbers: HashMap::new(),
        entered: HashMap::new(),
        remarks: Remarks::default(),
        unplaced: HashSet::new(),
    };
    for (number, time, event) in lines {
        carrier.line(number, time, event);
    }
    carrier.finish()
}

struct Carrier<'a> {
    from: &'a Machine,
    old: Directory,
    machine: Machine,
    /// How the values of a step go over; of facts those without a step.
    ways: HashMap<(Option<String>, String), Rc<Way>>,
    /// Lines of the record to those of the new walk.
    numbers: HashMap<u64, u64>,
    /// What stands in a line: for corrections of it.
    entered: HashMap<u64, Entered>,
    remarks: Remarks,
    /// Readings of which some station is not asked for, as far as it has been said.
    unplaced: HashSet<(String, String)>,
}

#[derive(Clone)]
struct Entered {
    step: Option<String>,
    name: String,
    stations: Vec<String>,
}

impl Carrier<'_> {
    fn line(&mut self, number: u64, time: &str, event: &Event) {
        if replay::follows(event) {
            return;
        }
        self.machine.set_time(time);
        let Some(event) = self.translated(number, event) else { return };
        self.machine.apply(&event);
        let placed = self.machine.state().sequence;
        self.numbers.insert(number, placed);
        if let Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) = &event
            && !self.machine.state().places.contains_key(&placed)
        {
            self.not_placed(entry);
        }
        self.machine.settle();
    }

    /// The event in the words of the other procedure; None: it says nothing there.
    fn translated(&mut self, number: u64, event: &Event) -> Option<Event> {
        Some(match event {
            Event::Instrument(card) => Event::Instrument(as_stated(card)),
            // Only advice rests on what a move did the last time.
            Event::PreviousMove { .. } => return None,
            // What counts of it follows in entries of its own.
            Event::HalfSaid { .. } => return None,
            // The end of the walk and who signed it belong to the record alone.
            Event::Closed { .. }
            | Event::Reopened { .. }
            | Event::Signing { .. }
            | Event::Signed { .. }
            | Event::Amended { .. } => {
                return None;
            }
            Event::Fact { name, answer } => {
                let entered = Entered { step: None, name: name.clone(), stations: Vec::new() };
                let answer = self.answer(&entered, answer)?;
                self.entered.insert(number, entered);
                self.bounds_of_fact(name, &answer);
                Event::Fact { name: name.clone(), answer }
            }
            Event::Entered(entry) => Event::Entered(self.entry(number, entry)?),
            Event::NotRead(entry) => Event::NotRead(self.entry(number, entry)?),
            Event::Observed(entry) => Event::Observed(self.entry(number, entry)?),
            Event::ReadAgain(entry) => Event::ReadAgain(self.entry(number, entry)?),
            Event::Corrected { of, answer, reason } => {
                let entered = self.entered.get(of)?.clone();
                let answer = match answer {
                    Some(answer) => Some(self.answer(&entered, answer)?),
                    None => None,
                };
                self.entered.insert(number, entered);
                Event::Corrected { of: *self.numbers.get(of)?, answer, reason: reason.clone() }
            }
            Event::PutRight(by) => {
                let of = *self.numbers.get(&by.of)?;
                let now = by.now.as_ref().map(|now| self.alteration(now));
                let card = by.card.as_ref().map(|card| Box::new(as_stated(card)));
                Event::PutRight(PutRight { of, now, card, ..by.clone() })
            }
            Event::Kept { of, query, reason } => {
                Event::Kept { of: *self.numbers.get(of)?, query: query.clone(), reason: reason.clone() }
            }
            Event::StepOpened { step, number, after } => {
                self.asks_for_step(step)?;
                let after = after.iter().filter_map(|it| self.numbers.get(it)).copied().collect();
                Event::StepOpened { step: step.clone(), number: *number, after }
            }
            Event::Listed { step, axis, items } if axis == "repeat" && !self.may_end(step, items) => {
                return None;
            }
            Event::Adjusted(moved) => Event::Adjusted(self.alteration(moved)),
            Event::PreviousValue { name, answers, stations, expanded, reason } => {
                let (step, result) = name.split_once('.')?;
                let at = |place: usize| Entered {
                    step: Some(step.to_owned()),
                    name: result.to_owned(),
                    stations: stations.get(place).cloned().unwrap_or_default(),
                };
                let over = answers.iter().enumerate().map(|(place, answer)| self.answer(&at(place), answer));
                let answers = over.collect::<Option<_>>()?;
                let passage = self.passage(&at(0))?;
                let stations = stations.iter().map(|stations| passage.stations(stations)).collect();
                let expanded = expanded.iter().map(|size| passage.size(size).unwrap_or_default()).collect();
                Event::PreviousValue {
                    name: name.clone(),
                    answers,
                    stations,
                    expanded,
                    reason: reason.clone(),
                }
            }
            Event::Sheet { step, number, taken, by, of } => Event::Sheet {
                step: step.clone(),
                number: *number,
                taken: taken.clone(),
                by: by.clone(),
                of: of.and_then(|of| self.numbers.get(&of)).copied(),
            },
            other => other.clone(),
        })
    }

    fn alteration(&mut self, moved: &Alteration) -> Alteration {
        let Alteration { adjustment: Some(name), step, what, stations, amount, .. } = moved else {
            return moved.clone();
        };
        let entered = Entered { step: Some(step.clone()), name: name.clone(), stations: stations.clone() };
        let over = amount.as_ref().map(|amount| self.answer(&entered, amount));
        let known = over.as_ref().is_none_or(Option::is_some) && self.passage(&entered).is_some();
        let (adjustment, what) = match known {
            true => (Some(name.clone()), what.clone()),
            // Something was moved all the same: what rests on it is stale.
            false => (None, Some(what.clone().unwrap_or_else(|| name.clone()))),
        };
        let stations = self.passage(&entered).map(|it| it.stations(stations)).unwrap_or_default();
        Alteration { adjustment, what, stations, amount: over.flatten(), ..moved.clone() }
    }

    fn entry(&mut self, number: u64, entry: &Entry) -> Option<Entry> {
        let entered = Entered {
            step: Some(entry.step.clone()),
            name: entry.name.clone(),
            stations: entry.stations.clone(),
        };
        let passage = self.passage(&entered)?;
        let answer = match &entry.answer {
            Some(answer) if entry.reason.is_none() => Some(self.answer(&entered, answer)?),
            other => other.clone(),
        };
        self.entered.insert(number, entered);
        Some(Entry { answer, stations: passage.stations(&entry.stations), ..entry.clone() })
    }

    /// How a value goes over, said once where it does not.
    fn passage(&mut self, entered: &Entered) -> Option<Passage> {
        let key = (entered.step.clone(), entered.name.clone());
        let way = match self.ways.get(&key) {
            Some(way) => Rc::clone(way),
            None => {
                let way = Rc::new(passage::find(self.from, &self.old, &self.machine, entered));
                match &*way {
                    Way::NotAsked if entered.step.as_ref().is_none_or(|it| self.has_step(it)) => {
                        self.remarks.not_asked.push(self.words_of(entered));
                    }
                    // The whole step is said to be gone.
                    Way::NotAsked => {}
                    Way::Not(why) => self.remarks.refused.push(format!("{}: {why}", self.words_of(entered))),
                    Way::Over(passage) => {
                        let converted =
                            passage.converted().map(|it| format!("{}: {it}", self.words_of(entered)));
                        self.remarks.converted.extend(converted);
                    }
                }
                self.ways.insert(key, Rc::clone(&way));
                way
            }
        };
        match &*way {
            Way::Over(passage) => Some(passage.clone()),
            Way::NotAsked | Way::Not(_) => None,
        }
    }

    fn answer(&mut self, entered: &Entered, answer: &super::event::Answer) -> Option<super::event::Answer> {
        let passage = self.passage(entered)?;
        let turned = match passage.sense_of(self.from.program(), self.machine.program(), &entered.stations) {
            Ok(turned) => turned,
            Err(why) => {
                self.refuse_once(format!("{}: {why}", self.words_of(entered)));
                return None;
            }
        };
        if turned {
            let words = self.words_of(entered);
            let text = match &passage.turned_words(self.from.program(), &entered.stations) {
                Some((plus, minus)) => format!("{words}: plus was \"{plus}\" and is now \"{minus}\""),
                None => words,
            };
            if !self.remarks.turned.contains(&text) {
                self.remarks.turned.push(text);
            }
        }
        match passage.answer(answer, turned) {
            Ok(answer) => Some(answer),
            Err(why) => {
                self.refuse_once(format!("{}: {why}", self.words_of(entered)));
                None
            }
        }
    }

    fn refuse_once(&mut self, text: String) {
        if !self.remarks.refused.contains(&text) {
            self.remarks.refused.push(text);
        }
    }

    fn has_step(&self, step: &str) -> bool {
        self.machine.directory.step(step).is_some()
    }

    /// Whether the other procedure has the step; said where it has not.
    fn asks_for_step(&mut self, step: &str) -> Option<StepId> {
        let found = self.machine.directory.step(step);
        if found.is_none() {
            let title = self.old.step(step).and_then(|it| self.from.program().steps.get(it.0));
            let title = title.map(|it| super::wording::plain(&it.title)).unwrap_or_default();
            let text = format!("{step} {title}").trim_end().to_owned();
            if !self.remarks.not_asked.contains(&text) {
                self.remarks.not_asked.push(text);
            }
        }
        found
    }

    /// Whether a `times` axis may end with as many as were taken.
    fn may_end(&self, step: &str, items: &[String]) -> bool {
        let program = self.machine.program();
        let count = items.first().and_then(|count| count.parse::<u32>().ok());
        let step = self.machine.directory.step(step).and_then(|it| program.steps.get(it.0));
        let axes = step.into_iter().flat_map(|step| &step.items).filter_map(item_value);
        let mut axes = axes.filter_map(|value| program.values.get(value.0)).flat_map(|value| &value.axes);
        axes.any(|axis| match program.axes.get(axis.0).map(|axis| &axis.stations) {
            Some(Stations::Repeat { least, .. }) => count.is_some_and(|count| count >= *least),
            _ => false,
        })
    }

    /// `L16 dial_at`, as it is named in both procedures.
    fn words_of(&self, entered: &Entered) -> String {
        match &entered.step {
            Some(step) => format!("{step} {}", entered.name),
            None => format!("fact {}", entered.name),
        }
    }
}

/// What was typed at the bench repeats what the file states of such an instrument; a kit speaks of this very one.
fn as_stated(card: &InstrumentCard) -> InstrumentCard {
    match card.from {
        Some(_) => card.clone(),
        None => InstrumentCard { resolution: None, uncertainty: Vec::new(), ..card.clone() },
    }
}
