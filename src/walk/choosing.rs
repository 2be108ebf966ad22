//! Which instrument it is: typed at the bench, picked from the shop's kit, or the one of the record before. What is
//! known of it goes on the record with its number; later changes of the kit change nothing there.

use jiff::civil::Date;

use crate::check::program::{Gauge, InstrumentId, Kind, Properties, Role, SaidPart, StepId, Uncertainty};
use crate::quantity::Dimension;

use super::answer::Taken;
use super::called;
use super::entry;
use super::event::{Event, InstrumentCard, Origin};
use super::machine::{Dialog, Machine};
use super::question::{Expects, Place, Question, Refusal, Tone};
use super::wording;

/// An instrument that can be picked by its place in the list.
#[derive(Clone, Debug)]
pub(super) struct Offer {
    pub(super) card: InstrumentCard,
    expired: bool,
    last_time: bool,
    /// What its owner says of it.
    notes: Vec<String>,
}

impl Machine {
    /// What fits, in the order in which it is offered: last time's first, then the kit; what is past its date last.
    pub(super) fn offers(&self, instrument: InstrumentId) -> Vec<Offer> {
        let before = self.state.previous_instruments.iter().filter(|(id, _)| *id == instrument);
        let before: Vec<&InstrumentCard> = before.map(|(_, card)| card).collect();
        let is_before = |number: &str| before.iter().any(|card| card.number.eq_ignore_ascii_case(number));
        let fitting =
            |gauge: &&Gauge| self.serves(gauge, instrument) && self.misfit(gauge, instrument).is_none();
        let gauges = self.kit.iter().flat_map(|kit| &kit.gauges).filter(fitting);
        let mut offers: Vec<Offer> = gauges
            .map(|gauge| Offer {
                card: self.card_of(instrument, gauge),
                expired: self.is_past(gauge.calibrated_until),
                last_time: is_before(&gauge.number),
                notes: gauge.notes.clone(),
            })
            .collect();
        let in_kit = |card: &InstrumentCard| {
            self.kit
                .iter()
                .flat_map(|kit| &kit.gauges)
                .any(|gauge| gauge.number.eq_ignore_ascii_case(&card.number))
        };
        offers.extend(before.into_iter().filter(|card| !in_kit(card)).map(|card| Offer {
            expired: self.is_past(card.calibrated_until.as_deref().and_then(|date| date.parse().ok())),
            card: InstrumentCard { from: Some(Origin::Previous), ..card.clone() },
            last_time: true,
            notes: Vec::new(),
        }));
        offers.sort_by_key(|offer| (offer.expired, !offer.last_time));
        offers
    }

    fn is_past(&self, until: Option<Date>) -> bool {
        until.zip(self.state.day()).is_some_and(|(until, day)| until < day)
    }

    fn serves(&self, gauge: &Gauge, instrument: InstrumentId) -> bool {
        gauge.kinds.contains(&self.program.instruments[instrument.0].name)
    }

    fn misfit(&self, gauge: &Gauge, instrument: InstrumentId) -> Option<String> {
        gauge.misfit(&self.program.instruments[instrument.0], self.dimension_read(instrument))
    }

    /// What is read with an instrument.
    fn dimension_read(&self, instrument: InstrumentId) -> Option<Dimension> {
        self.program.values.iter().find_map(|value| match (&value.role, &value.kind) {
            (Role::Reading(reading), _) if !reading.instruments.contains(&instrument) => None,
            (Role::Reading(_), Kind::Quantity(dimension)) => Some(*dimension),
            (Role::Reading(_), Kind::Point) => Some(Dimension::TEMPERATURE),
            _ => None,
        })
    }

    /// What the kit says; what it does not say stays as in the procedure.
    fn card_of(&self, instrument: InstrumentId, gauge: &Gauge) -> InstrumentCard {
        let it = &self.program.instruments[instrument.0];
        let known =
            Properties { resolution: gauge.resolution.clone(), uncertainties: gauge.uncertainties.clone() };
        let stated: Vec<&Uncertainty> = wording::stated(it, &known).collect();
        InstrumentCard {
            name: it.name.clone(),
            number: gauge.number.clone(),
            calibrated_until: gauge.calibrated_until.map(|date| date.to_string()),
            resolution: gauge.resolution.as_ref().or(it.resolution.as_ref()).map(wording::literal),
            uncertainty: stated.into_iter().map(wording::uncertainty).collect(),
            serial: gauge.serial.clone(),
            certificate: gauge.certificate.clone(),
            from: Some(Origin::Kit),
        }
    }

    // -------------------------------------------------------------------------------------------- the question

    pub(super) fn instrument_question(&self, instrument: InstrumentId, place: Option<Place>) -> Question {
        let it = &self.program.instruments[instrument.0];
        let (name, title) = (&it.name, wording::plain(&it.title));
        let offers = self.offers(instrument);
        let kept = self.kept_by_enter(instrument);
        // The name of the file is needed only where another one is taken.
        let later = kept.is_none().then(|| format!("another one later on: using {name}"));
        if offers.is_empty() {
            let ask = format!("{title}: its number, and calibrated until when?");
            let mut hints =
                vec!["such as: DI-07, 2027-03-01   or the number alone if it has no date".to_owned()];
            hints.extend(later);
            hints.extend(self.misfits(instrument));
            hints.extend(kept.map(|number| format!("Enter alone keeps {number}")));
            return Question { place, ask, hints, expects: Expects::Text };
        }
        let mut ask = format!("{title}: which one?");
        for (at, offer) in offers.iter().enumerate() {
            ask.push_str(&format!("\n{}  {}", at + 1, offer.words()));
        }
        let by_enter = match (kept, by_enter(&offers)) {
            (Some(number), _) => Some(format!("Enter alone keeps {number}")),
            (None, Some(offer)) => Some(format!("Enter alone takes {}", offer.card.number)),
            (None, None) => None,
        };
        let mut hints = vec!["its place in the list, or its number".to_owned()];
        hints.extend(by_enter);
        hints.push("another one: number and date, such as DI-11, 2027-03-01".to_owned());
        hints.extend(later);
        hints.extend(self.misfits(instrument));
        Question { place, ask, hints, expects: Expects::Text }
    }

    /// `there are: DG-4, DG-7`
    pub(super) fn numbers_offered(&self, name: &str) -> Option<String> {
        let offers = self.offers(self.directory.instrument(name)?);
        let numbers: Vec<&str> = offers.iter().map(|offer| offer.card.number.as_str()).collect();
        (!numbers.is_empty()).then(|| format!("there are: {}", numbers.join(", ")))
    }

    fn kept_by_enter(&self, instrument: InstrumentId) -> Option<&str> {
        let is_change = matches!(self.dialog, Some(Dialog::Which(_)));
        self.state.instruments.get(&instrument).filter(|_| is_change).map(|card| card.said.number.as_str())
    }

    /// What the kit has by that name and cannot serve here.
    fn misfits(&self, instrument: InstrumentId) -> Vec<String> {
        let gauges =
            self.kit.iter().flat_map(|kit| &kit.gauges).filter(|gauge| self.serves(gauge, instrument));
        let words = |gauge: &Gauge| {
            Some(format!("{} does not fit: {}", gauge.number, self.misfit(gauge, instrument)?))
        };
        gauges.filter_map(words).collect()
    }

    // -------------------------------------------------------------------------------------------- the answer

    pub(super) fn answer_instrument(&mut self, instrument: InstrumentId, typed: &str) -> Taken {
        let card = self.card_meant(instrument, typed)?;
        self.use_from_here(card)
    }

    /// Another one in place of the one before; Enter alone keeps that.
    pub(super) fn choose_anew(&mut self, instrument: InstrumentId, typed: &str) -> Taken {
        if let (true, Some(card)) = (typed.is_empty(), self.state.instruments.get(&instrument)) {
            let number = card.said.number.clone();
            self.say(Tone::Notice, format!("{number} stays in use."));
            return Ok(());
        }
        let card = self.card_meant(instrument, typed)?;
        self.is_between_sets(instrument)?;
        self.use_from_here(card)
    }

    /// `using dial "DI-07", calibrated until 2027-03-01, resolution 0.001 mm`: what is not said stays as in the kit, else
    /// as in the procedure.
    pub(super) fn use_named(
        &mut self,
        instrument: InstrumentId,
        number: String,
        until: Option<Date>,
        known: &Properties,
    ) -> Taken {
        self.is_between_sets(instrument)?;
        let card = match self.offers(instrument).into_iter().find(|it| it.card.number == number) {
            Some(offer) if *known == Properties::default() => offer.card,
            _ => self.card_as_said(instrument, number, known),
        };
        let until = until.map(|date| date.to_string()).or(card.calibrated_until.clone());
        self.use_from_here(InstrumentCard { calibrated_until: until, ..card })
    }

    pub(super) fn card_as_said(
        &self,
        instrument: InstrumentId,
        number: String,
        known: &Properties,
    ) -> InstrumentCard {
        let it = &self.program.instruments[instrument.0];
        InstrumentCard {
            name: it.name.clone(),
            number,
            resolution: known.resolution.as_ref().or(it.resolution.as_ref()).map(wording::literal),
            uncertainty: wording::stated(it, known).map(wording::uncertainty).collect(),
            ..InstrumentCard::default()
        }
    }

    fn use_from_here(&mut self, card: InstrumentCard) -> Taken {
        self.say(Tone::Echo, format!("{}, {}", card.number, self.until_in_words(&card)));
        let name = card.name.clone();
        self.emit(Event::Instrument(card));
        let expired = self.state.instruments.values().any(|card| card.said.name == name && card.is_expired());
        if expired {
            self.say(Tone::NotWell, "It is past its date: that stands as an exception on the record.");
        }
        Ok(())
    }

    /// `calibrated until 2026-12-31, as the kit says`
    pub(super) fn until_in_words(&self, card: &InstrumentCard) -> String {
        let until = match &card.calibrated_until {
            Some(date) => format!("calibrated until {date}"),
            None => "no date given".to_owned(),
        };
        let mut gauges = self.kit.iter().flat_map(|kit| &kit.gauges);
        let in_kit = gauges.find(|it| it.number.eq_ignore_ascii_case(&card.number));
        let dated = in_kit.and_then(|it| it.calibrated_until).map(|date| date.to_string());
        until
            + match card.from {
                Some(Origin::Kit) if dated == card.calibrated_until => ", as the kit says",
                Some(Origin::Kit) => ", the rest as the kit says",
                Some(Origin::Previous) => ", as last time",
                None if self.kit.is_some() => ", not in the kit",
                None => "",
            }
    }

    fn card_meant(&self, instrument: InstrumentId, typed: &str) -> Result<InstrumentCard, Refusal> {
        let offers = self.offers(instrument);
        let is_quoted = typed.starts_with('"');
        let named =
            |number: &str| offers.iter().position(|offer| offer.card.number.eq_ignore_ascii_case(number));
        if typed.is_empty() && !offers.is_empty() {
            return match by_enter(&offers) {
                Some(offer) => Ok(offer.card.clone()),
                None => Err(Refusal::new("Nothing was typed.")
                    .help("Type its place in the list, such as 1, or its number.")),
            };
        }
        if let (false, Ok(place)) = (is_quoted, typed.parse::<usize>())
            && !offers.is_empty()
        {
            let offer = place.checked_sub(1).and_then(|at| offers.get(at));
            return match (offer, named(typed)) {
                (Some(_), Some(at)) if at + 1 != place => Err(Refusal::new(format!(
                    "{typed} is a place in the list, and also the number of a {}.",
                    self.program.instruments[instrument.0].name
                ))
                .help(format!("Type \"{typed}\" in quotes for its number, or another place."))),
                (Some(offer), _) => Ok(offer.card.clone()),
                (None, Some(at)) => {
                    Ok(offers.into_iter().nth(at).map(|offer| offer.card).unwrap_or_default())
                }
                (None, None) => Err(Refusal::new(format!("The list has {} places.", offers.len()))
                    .help(format!("If {typed} is the number of another one, put it in quotes: \"{typed}\""))),
            };
        }
        let (number, date) = called::number_and_date(typed)?;
        let number = entry::unquoted(number);
        if let Some(offer) = named(&number).and_then(|at| offers.into_iter().nth(at)) {
            // Calibrated anew since the kit was written.
            let until = date.map(|date| date.to_string()).or(offer.card.calibrated_until.clone());
            return Ok(InstrumentCard { calibrated_until: until, ..offer.card });
        }
        if let Some(refusal) = self.does_not_serve(instrument, &number) {
            return Err(refusal);
        }
        // What `using` has said of the one at hand.
        let known = match self.state.instruments.contains_key(&instrument) {
            true => Properties::default(),
            false => {
                self.state.properties.get(&instrument).map(|known| (**known).clone()).unwrap_or_default()
            }
        };
        let calibrated_until = date.map(|date| date.to_string());
        Ok(InstrumentCard { calibrated_until, ..self.card_as_said(instrument, number, &known) })
    }

    /// What the kit has by that number is not offered here: why.
    pub(super) fn does_not_serve(&self, instrument: InstrumentId, number: &str) -> Option<Refusal> {
        let mut gauges = self.kit.iter().flat_map(|kit| &kit.gauges);
        let gauge = gauges.find(|it| it.number.eq_ignore_ascii_case(number))?;
        let name = &self.program.instruments[instrument.0].name;
        Some(match self.misfit(gauge, instrument).filter(|_| self.serves(gauge, instrument)) {
            Some(why) => {
                Refusal::new(format!("{} does not fit: {why}.", gauge.number)).help("Take another one.")
            }
            None => {
                Refusal::new(format!("{} stands in the kit as {}.", gauge.number, gauge.kinds.join(", ")))
                    .help(format!(
                        "Take another one. If it can serve as {name}, the kit says so: is {} or {name}",
                        gauge.kinds.join(" or ")
                    ))
            }
        })
    }

    /// The lines that said which instruments they are, of those that are past their date.
    pub(super) fn expired(&self) -> Vec<u64> {
        let cards = self.state.instruments.values();
        cards.filter(|card| card.is_expired()).map(|card| card.sequence).collect()
    }

    /// A date that passed during the walk, at the first reading after it.
    pub(super) fn say_newly_expired(&mut self, before: &[u64]) {
        let newly = |card: &&super::brought::Card| card.is_expired() && !before.contains(&card.sequence);
        let words: Vec<String> = self
            .state
            .instruments
            .values()
            .filter(newly)
            .map(|card| {
                let until = card.said.calibrated_until.as_deref().unwrap_or_default();
                format!(
                    "{} {} is past its date since {until}: that stands as an exception on the record.",
                    card.said.name, card.said.number
                )
            })
            .collect();
        words.into_iter().for_each(|words| self.say(Tone::NotWell, words));
    }

    // -------------------------------------------------------------------------------------------- changing

    /// `using` at the prompt: a kind (which one is asked then) or the number of one.
    pub(super) fn use_another(&mut self, step: Option<StepId>, typed: &str) -> Taken {
        let here: Vec<InstrumentId> = match step {
            Some(step) => self.program.steps[step.0]
                .items
                .iter()
                .filter_map(super::directory::item_value)
                .filter_map(|value| match &self.program.values[value.0].role {
                    Role::Reading(reading) => Some(reading.instruments.clone()),
                    _ => None,
                })
                .flatten()
                .collect(),
            None => Vec::new(),
        };
        let name = |id: &InstrumentId| self.program.instruments[id.0].name.clone();
        if typed.is_empty() {
            let mut names: Vec<String> = here.iter().map(|id| format!("using {}", name(id))).collect();
            names.dedup();
            let names = if names.is_empty() { "using NAME".to_owned() } else { names.join(", or ") };
            return Err(
                Refusal::new("It is not said which instrument is meant.").help(format!("Type {names}."))
            );
        }
        let all = || (0..self.program.instruments.len()).map(InstrumentId);
        if let Some(instrument) = all().find(|id| name(id) == typed) {
            self.is_between_sets(instrument)?;
            let is_other = here.contains(&instrument)
                && self.state.in_use != Some(instrument)
                && here.first() != Some(&instrument);
            if is_other {
                let (instrument, resolution) = (name(&instrument), None);
                self.say(Tone::Echo, format!("{instrument} from here on"));
                self.emit(Event::InUse { instrument, resolution, uncertainty: Vec::new() });
            }
            if !is_other || self.state.instruments.contains_key(&instrument) {
                self.dialog = Some(Dialog::Which(instrument));
            }
            return Ok(());
        }
        let (number, _) = called::number_and_date(typed)?;
        let number = entry::unquoted(number);
        let offered = |id: &InstrumentId| {
            self.offers(*id).iter().any(|offer| offer.card.number.eq_ignore_ascii_case(&number))
        };
        let mut meant: Vec<InstrumentId> = here.iter().copied().filter(offered).collect();
        if meant.is_empty() {
            meant = here.clone();
        }
        meant.dedup();
        match meant.as_slice() {
            [only] => {
                let (only, typed) = (*only, typed.to_owned());
                self.choose_anew(only, &typed)
            }
            several => {
                let names: Vec<String> = several.iter().map(|id| format!("using {}", name(id))).collect();
                let names = if names.is_empty() { "using NAME".to_owned() } else { names.join(", or ") };
                Err(Refusal::new(format!("It is not clear what {typed} is to be used for."))
                    .help(format!("Type {names}; its number is asked then.")))
            }
        }
    }

    /// A set is read with one instrument from its beginning to its end: its zero is one unknown.
    fn is_between_sets(&self, instrument: InstrumentId) -> Taken {
        for (at, own) in self.state.steps.iter().enumerate() {
            let Some(attempt) = own.attempt() else { continue };
            for value in attempt.sheets.keys() {
                let Role::Reading(reading) = &self.program.values[value.0].role else { continue };
                let Some(sheet) = attempt.sheet(*value).filter(|sheet| sheet.filled > 0 && !sheet.is_full())
                else {
                    continue;
                };
                let used = sheet.instrument.instrument.or_else(|| reading.instruments.first().copied());
                if used != Some(instrument) {
                    continue;
                }
                let name = format!("{}.{}", self.program.steps[at].name, self.program.values[value.0].name);
                let card = self.state.instruments.get(&instrument);
                let said =
                    card.and_then(|card| self.state.sayings.iter().find(|it| it.line == card.sequence));
                let wrong = said.map(|said| {
                    let target = said.target(SaidPart::Number);
                    format!(" If only its number was typed wrong: correct {target} = \"DI-07\" \"why\"")
                });
                return Err(Refusal::new(format!(
                    "{name} is begun with {} ({} of {} read).",
                    card.map_or("another one", |card| card.said.number.as_str()),
                    sheet.filled,
                    sheet.cells.len()
                ))
                .help(format!(
                    "Finish it, or begin it again: break {name} \"why\". Then change.{}",
                    wrong.unwrap_or_default()
                )));
            }
        }
        Ok(())
    }
}

impl Offer {
    fn words(&self) -> String {
        let until = self.card.calibrated_until.as_deref();
        let until = match (until, self.expired) {
            (Some(date), true) => format!("PAST ITS DATE ({date})"),
            (Some(date), false) => format!("calibrated until {date}"),
            (None, _) => "no date".to_owned(),
        };
        let reads = self.card.resolution.as_ref().map(|step| format!("reads to {step}"));
        let mut words = [Some(self.card.number.clone()), Some(until), reads]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", ");
        if self.last_time {
            words.push_str(" (last time)");
        }
        for note in &self.notes {
            words.push_str(&format!("; {}", note.trim_end_matches('.')));
        }
        words
    }
}

/// What Enter alone takes: last time's, or the only one that is in date.
fn by_enter(offers: &[Offer]) -> Option<&Offer> {
    let mut good = offers.iter().filter(|offer| !offer.expired);
    let first = good.next()?;
    (first.last_time || good.next().is_none()).then_some(first)
}
