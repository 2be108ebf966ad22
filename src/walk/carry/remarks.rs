//! What is to be said of entries that were taken over: stations and facts that are asked for and not there, witnesses that
//! nobody has named, instruments of which something else is stated.

use crate::check::program::{InstrumentId, Item, Program, Step, StepId};
use crate::walk::event::{Answer, Entry};
use crate::walk::state::Attempt;
use crate::walk::{entry, wording};

use super::{Carried, Carrier};

impl Carrier<'_> {
    /// An entry that has no place under the other procedure, said once a reading.
    pub(super) fn not_placed(&mut self, entry: &Entry) {
        if !self.unplaced.insert((entry.step.clone(), entry.name.clone())) {
            return;
        }
        let at = match entry.stations.as_slice() {
            [] => String::new(),
            stations => format!(" at {} and perhaps others", stations.join(", ")),
        };
        self.remarks.not_asked.push(format!("{} {}{at}", entry.step, entry.name));
    }

    /// A machine that the other procedure is not for.
    pub(super) fn bounds_of_fact(&mut self, name: &str, answer: &Answer) {
        let Some(id) = self.machine.directory.value(None, name) else { return };
        let Some(value) = self.machine.program.values.get(id.0) else { return };
        let cell = entry::recorded(answer, &value.kind, value.unit, None);
        if let Err(refusal) = self.machine.check_bounds(id, &cell) {
            self.remarks.stated.push(format!("fact {name}: {}", refusal.message));
        }
    }

    pub(super) fn finish(mut self) -> Carried {
        let program = self.machine.program.clone();
        for fact in &program.facts {
            let Some(value) = program.values.get(fact.0) else { continue };
            if !self.machine.state.facts.contains_key(fact) {
                self.remarks.not_there.push(format!("fact {}", value.name));
            }
        }
        for (index, step) in program.steps.iter().enumerate() {
            self.step_not_there(StepId(index), step);
        }
        self.instruments(&program);
        Carried { machine: self.machine, remarks: self.remarks }
    }

    fn step_not_there(&mut self, id: StepId, step: &Step) {
        let own = self.machine.state.step(id);
        let left_out = own.skipped.is_some() || own.waived.is_some();
        let Some(attempt) = own.attempt() else {
            let applies = step.only_when.as_ref().map(|condition| self.machine.standing().holds(condition));
            if !left_out && applies != Some(Some(false)) {
                let what =
                    if self.old.step(&step.name).is_some() { "not taken" } else { "a step of its own" };
                let title = wording::plain(&step.title);
                self.remarks.not_there.push(format!("{} {title}: {what}", step.name));
            }
            return;
        };
        let mut missing = self.readings_not_there(id, step, attempt);
        if own.held.len() < step.holds.len() {
            missing.push("its witness".to_owned());
        }
        if own.performed.len() < step.by.len() {
            missing.push("who did it".to_owned());
        }
        if attempt.confirmed < step.confirms.len() {
            missing.push("what is to be confirmed before it".to_owned());
        }
        if !left_out && !missing.is_empty() {
            self.remarks.not_there.push(format!("{}: {}", step.name, missing.join(", ")));
        }
    }

    fn readings_not_there(&self, id: StepId, step: &Step, attempt: &Attempt) -> Vec<String> {
        let standing = self.machine.standing();
        let mut missing = Vec::new();
        for item in &step.items {
            let (Item::Reading(value) | Item::Observation(value)) = item else { continue };
            let Some(plan) = self.machine.program.values.get(value.0) else { continue };
            if standing.is_answered(id, attempt, item) {
                continue;
            }
            let sheet = attempt.sheet(*value).filter(|sheet| sheet.filled > 0);
            missing.push(match sheet {
                None => plan.name.clone(),
                Some(sheet) if sheet.has_all() => format!("{} up to the end of its series", plan.name),
                Some(sheet) => {
                    let open: Vec<usize> = (0..sheet.cells.len())
                        .filter(|at| sheet.cells.get(*at).is_some_and(Option::is_none))
                        .collect();
                    let first = open.first().map(|at| sheet.stations(*at).join(", ")).unwrap_or_default();
                    match open.len() {
                        0 | 1 => format!("{} at {first}", plan.name),
                        more => format!("{} at {first} and {} more", plan.name, more - 1),
                    }
                }
            });
        }
        missing
    }

    /// What counts is what the other procedure states.
    fn instruments(&mut self, program: &Program) {
        let before = self.from.program();
        for (index, is) in program.instruments.iter().enumerate() {
            let Some(was) = self.old.instrument(&is.name).and_then(|id| before.instruments.get(id.0)) else {
                if !self.machine.state.instruments.contains_key(&InstrumentId(index)) {
                    self.remarks.not_there.push(format!("which {} was used", is.name));
                }
                continue;
            };
            // Of the very one that was used its kit says more than any file.
            let card = self.machine.state.instruments.get(&InstrumentId(index));
            if card.is_some_and(|card| card.said.from.is_some()) {
                continue;
            }
            let mut parts = Vec::new();
            let literal =
                |it: &Option<_>| it.as_ref().map_or_else(|| "not stated".to_owned(), wording::literal);
            if was.resolution != is.resolution {
                parts.push(format!(
                    "resolution {}, now {}",
                    literal(&was.resolution),
                    literal(&is.resolution)
                ));
            }
            if was.scale != is.scale {
                parts.push(format!("scale {}, now {}", literal(&was.scale), literal(&is.scale)));
            }
            if was.uncertainties != is.uncertainties {
                let all = |parts: &[_]| match parts {
                    [] => "not stated".to_owned(),
                    parts => parts.iter().map(wording::uncertainty).collect::<Vec<_>>().join(", "),
                };
                parts.push(format!(
                    "uncertainty {}, now {}",
                    all(&was.uncertainties),
                    all(&is.uncertainties)
                ));
            }
            if !parts.is_empty() {
                self.remarks.stated.push(format!("{}: {}", is.name, parts.join("; ")));
            }
        }
    }
}
