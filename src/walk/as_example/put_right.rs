//! What was said and put right later, told by the same `correct` line.

use crate::check::program::{SaidKind, SaidPart};

use super::super::event::{Alteration, Event, InstrumentCard, PutRight};
use super::super::sayings;
use super::super::state::Sheet;
use super::super::target;
use super::teller::Teller;
use super::words::{amount, quoted};

impl Teller {
    pub(super) fn put_right(&mut self, by: &PutRight) {
        let Some(saying) = self.machine.state().sayings.iter().find(|it| it.line == by.of).cloned() else {
            return;
        };
        use SaidKind::{Break, By, Correction, Held, Person, Reopen, Room};
        let is_name = matches!(by.part, SaidPart::Name | SaidPart::By) && saying.kind != SaidKind::Move;
        // An example has no people, and says of breaks only what bears on the readings; of a correction only what is right.
        if is_name || matches!(saying.kind, Break | By | Correction | Held | Person | Reopen | Room) {
            let now = by.answer.as_ref().map(|answer| answer.in_words()).unwrap_or_default();
            self.line(format!("# {}, corrected: {now} ({})", saying.target(by.part), by.reason));
            return;
        }
        if let (Event::Instrument(was), Some(now)) = (&saying.event, &by.card) {
            return self.card_put_right(&saying.target(SaidPart::Number), was, now, &by.reason);
        }
        if let Event::Adjusted(moved) = &saying.event {
            let step = moved.step.clone();
            self.stands(&step);
        }
        let value = self.value_put_right(by);
        self.line(format!("correct {} = {value} because {}", saying.target(by.part), quoted(&by.reason)));
    }

    /// An example has no kit: what that says of the right one is told with its number.
    fn card_put_right(&mut self, target: &str, was: &InstrumentCard, now: &InstrumentCard, reason: &str) {
        let because = quoted(reason);
        let stated = |card: &InstrumentCard| (card.resolution.clone(), card.uncertainty.clone());
        let others = stated(was) != stated(now);
        let full = self.card_in_words(now);
        if others && full.contains("\",") {
            self.line(format!("correct {target} = {full} because {because}"));
        } else if was.number != now.number {
            self.line(format!("correct {target} = {} because {because}", quoted(&now.number)));
        }
        if was.calibrated_until != now.calibrated_until {
            let until = now.calibrated_until.as_deref().unwrap_or("none");
            if !(others && now.calibrated_until.is_some()) {
                self.line(format!("correct {target} calibrated until = {until} because {because}"));
            }
        }
    }

    fn value_put_right(&self, by: &PutRight) -> String {
        let now = match (&by.now, &by.answer) {
            (Some(now), _) => now,
            (None, Some(answer)) => return quoted(&answer.value),
            (None, None) => return "never".to_owned(),
        };
        let directory = &self.machine.directory;
        let step = directory.step(&now.step);
        let adjustment =
            step.zip(now.adjustment.as_ref()).and_then(|(step, name)| directory.value(Some(step), name));
        match (by.part, adjustment) {
            (SaidPart::Amount, Some(value)) => {
                let definition = &self.machine.program().values[value.0];
                now.amount.as_ref().map(|moved| amount(definition, moved)).unwrap_or_default()
            }
            (SaidPart::Which, Some(value)) => {
                let laid = step.and_then(|step| self.machine.layout(step, value).ok());
                let picks = laid.map(|axes| target::picks(&Sheet::new(1, axes), &now.stations));
                let name = now.adjustment.as_deref().unwrap_or_default();
                format!("{}.{name}{}", now.step, picks.unwrap_or_default())
            }
            (part @ (SaidPart::Amount | SaidPart::Torque), _) => quantity(now, part),
            (part, _) => {
                let event = Event::Adjusted(now.clone());
                let text = sayings::parts(&event).into_iter().find(|(it, _)| *it == part);
                quoted(&text.map(|(_, text)| text).unwrap_or_default())
            }
        }
    }
}

fn quantity(now: &Alteration, part: SaidPart) -> String {
    let answer = if part == SaidPart::Torque { now.torque.as_ref() } else { now.amount.as_ref() };
    let unit = |unit: Option<&str>| unit.map(|unit| format!(" {unit}")).unwrap_or_default();
    match (answer, part) {
        (Some(answer), SaidPart::Torque) => format!("{} Nm", answer.value),
        (Some(answer), _) => format!("{}{}", answer.value, unit(answer.unit.as_deref())),
        (None, _) => String::new(),
    }
}
