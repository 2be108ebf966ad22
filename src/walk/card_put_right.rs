//! Which instrument it is, or until when it is calibrated, was typed wrong: all that was read with it stands under the
//! right one, with what the kit states of that.

use crate::check::program::{InstrumentId, Properties, PutTo, Role, SaidPart};

use super::brought::Card;
use super::called::number_and_date;
use super::entry;
use super::event::{Event, InstrumentCard};
use super::machine::Machine;
use super::putting_right::it_stands;
use super::question::{Refusal, Tone};
use super::sayings::{PutRight, Saying};

impl Machine {
    pub(super) fn card_put_right(
        &self,
        saying: &Saying,
        card: &InstrumentCard,
        part: SaidPart,
        to: &PutTo,
    ) -> Result<InstrumentCard, Refusal> {
        let instrument = self.directory.instrument(&card.name).ok_or_else(|| it_stands(saying))?;
        match to {
            PutTo::Card { instrument: other, .. } if *other != instrument => {
                let (target, name) = (saying.target(SaidPart::Number), &card.name);
                Err(Refusal::new(format!("{target} is a {name}.")).help(format!(
                    "Type it so: correct {target} = {name} \"NUMBER\", resolution ... \"why\""
                )))
            }
            PutTo::Card { number, until, known, .. } => {
                let said = card.calibrated_until.clone().filter(|_| card.from.is_none());
                let calibrated_until = until.map(|day| day.to_string()).or(said);
                let now = self.card_as_said(instrument, number.clone(), known);
                Ok(InstrumentCard { calibrated_until, ..now })
            }
            PutTo::Typed(typed) if part == SaidPart::Until => {
                Ok(InstrumentCard { calibrated_until: until(saying, typed)?, ..card.clone() })
            }
            PutTo::Typed(typed) => self.numbered_otherwise(instrument, card, &entry::unquoted(typed)),
            PutTo::Never | PutTo::Which(..) => Err(it_stands(saying)),
        }
    }

    fn numbered_otherwise(
        &self,
        instrument: InstrumentId,
        card: &InstrumentCard,
        typed: &str,
    ) -> Result<InstrumentCard, Refusal> {
        let (number, date) = number_and_date(typed.trim())?;
        // A date that was typed was read off the instrument itself; one out of the kit is that of the wrong one.
        let read_off = || card.calibrated_until.clone().filter(|_| card.from.is_none());
        let until = date.map(|date| date.to_string()).or_else(read_off);
        let offers = self.offers(instrument);
        if let Some(offer) = offers.into_iter().find(|offer| offer.card.number.eq_ignore_ascii_case(number)) {
            let calibrated_until = until.or_else(|| offer.card.calibrated_until.clone());
            return Ok(InstrumentCard { calibrated_until, ..offer.card });
        }
        if let Some(refusal) = self.does_not_serve(instrument, number) {
            return Err(refusal);
        }
        let number = number.to_owned();
        Ok(match card.from {
            None => InstrumentCard { number, calibrated_until: until, ..card.clone() },
            Some(_) => InstrumentCard {
                calibrated_until: until,
                ..self.card_as_said(instrument, number, &Properties::default())
            },
        })
    }

    pub(super) fn emit_card(&mut self, line: u64, was: &InstrumentCard, now: &InstrumentCard, by: PutRight) {
        let is_past = |machine: &Self| machine.state.card(line).is_some_and(Card::is_expired);
        let was_past = is_past(self);
        if was.number != now.number {
            let until = self.until_in_words(now);
            let stated = (was.resolution != now.resolution || was.uncertainty != now.uncertainty)
                .then(|| now.resolution.iter().map(|it| format!("resolution {it}")))
                .map(|resolution| {
                    resolution.chain(now.uncertainty.iter().cloned()).collect::<Vec<_>>().join(", ")
                });
            let stated = match stated.as_deref() {
                None => String::new(),
                Some("") => "; nothing is stated of how it reads".to_owned(),
                Some(stated) => format!("; {stated}"),
            };
            self.say(Tone::Notice, format!("{}: {until}{stated}", now.number));
        }
        self.emit(Event::PutRight(by));
        let read = self.read_with_card(line);
        self.say(
            Tone::Notice,
            match read.is_empty() {
                true => "Nothing was read with it yet.".to_owned(),
                false => format!("Read with it: {}", read.join(", ")),
            },
        );
        match (was_past, is_past(self)) {
            (false, true) => {
                self.say(Tone::NotWell, "It is past its date: that stands as an exception on the record.");
            }
            (true, false) => self.say(Tone::Well, "It is not past its date: that exception is gone."),
            _ => {}
        }
    }

    /// Something was read with the instrument that this line says, so that another number puts it right.
    pub(super) fn is_read_with(&self, line: u64) -> bool {
        self.state.card(line).is_some_and(|card| card.used)
    }

    fn read_with_card(&self, line: u64) -> Vec<String> {
        let mut read = Vec::new();
        for attempt in self.state.steps.iter().flat_map(|own| &own.attempts) {
            for (value, sheets) in &attempt.sheets {
                let definition = &self.program.values[value.0];
                let is_reading = matches!(definition.role, Role::Reading(_));
                let with = |sheet: &super::state::Sheet| sheet.filled > 0 && sheet.instrument.card == line;
                if let Some(step) = definition.step.filter(|_| is_reading && sheets.iter().any(with)) {
                    read.push(format!("{}.{}", self.name_of(step), definition.name));
                }
            }
        }
        read.dedup();
        read
    }
}

fn until(saying: &Saying, typed: &str) -> Result<Option<String>, Refusal> {
    let typed = entry::unquoted(typed);
    match typed.trim() {
        "none" => Ok(None),
        day => match day.parse::<jiff::civil::Date>() {
            Ok(day) => Ok(Some(day.to_string())),
            Err(_) => Err(Refusal::new(format!("\"{day}\" is not a date.")).help(format!(
                "Type it as year-month-day: correct {0} = 2027-03-01 \"why\"; if it has no date: correct {0} = none \"why\"",
                saying.target(SaidPart::Until)
            ))),
        },
    }
}
