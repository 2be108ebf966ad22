//! Which instruments are used, and what the record before left, into the state.

use std::rc::Rc;

use crate::check::program::{InstrumentId, Properties};
use crate::quantity::{Real, Unit, parse_exact};

use super::event::{Answer, InstrumentCard};
use super::fold::Fold;
use super::state::{Card, Earlier, EarlierMove, EntryPlace};
use super::value::Cell;
use super::wording;

impl Fold<'_> {
    pub(super) fn instrument(&mut self, card: &InstrumentCard, sequence: u64) {
        let Some(instrument) = self.directory.instrument(&card.name) else { return };
        let properties = Properties {
            resolution: card.resolution.as_deref().and_then(wording::parse_literal),
            uncertainties: card.uncertainty.iter().filter_map(|it| wording::parse_uncertainty(it)).collect(),
        };
        self.state.properties.insert(instrument, Rc::new(properties));
        let expired = self.is_past(card.calibrated_until.as_deref());
        let card = Card { said: card.clone(), expired, used: false, sequence };
        if let Some(before) = self.state.instruments.insert(instrument, card).filter(|before| before.used) {
            self.state.put_aside.push((instrument, before));
        }
        self.state.places.insert(sequence, EntryPlace::Instrument(instrument));
        self.state.last_entry = Some(sequence);
    }

    fn is_past(&self, until: Option<&str>) -> bool {
        let until = until.and_then(|date| date.parse::<jiff::civil::Date>().ok());
        until.zip(self.state.day()).is_some_and(|(until, day)| until < day)
    }

    /// Something is read with the instrument in use; its date may have passed meanwhile.
    pub(super) fn read_with(&mut self, reading: &[InstrumentId]) {
        let in_use = self.state.in_use.filter(|instrument| reading.contains(instrument));
        let Some(instrument) = in_use.or_else(|| reading.first().copied()) else { return };
        let until = self.state.instruments.get(&instrument);
        let until = until.and_then(|card| card.said.calibrated_until.clone());
        let past = self.is_past(until.as_deref());
        if let Some(card) = self.state.instruments.get_mut(&instrument) {
            card.used = true;
            card.expired |= past;
        }
    }

    pub(super) fn previous_value(
        &mut self,
        name: &str,
        answers: &[Answer],
        stations: &[Vec<String>],
        expanded: &[String],
        reason: Option<&str>,
    ) {
        let value = match name.split_once('.') {
            Some((step, result)) => {
                let step = self.directory.step(step);
                step.and_then(|step| self.directory.value(Some(step), result))
            }
            None => self.directory.value(None, name),
        };
        let Some(value) = value else { return };
        let cells = answers.iter().map(|answer| self.cell(value, answer, None)).collect();
        let unit = self.program.values.get(value.0).and_then(|it| it.unit).map(Unit::of_differences);
        let size = |text: &String| match parse_exact(text).map(Real::Exact) {
            Some(size) => Cell::number(unit.map_or(size.clone(), |unit| unit.to_base(&size))),
            None => Cell::NotRead("its uncertainty was not known".into()),
        };
        let expanded = expanded.iter().map(size).collect();
        let (answers, stations, reason) = (answers.to_vec(), stations.to_vec(), reason.map(Rc::from));
        self.state.previous.insert(value, Earlier { stations, answers, cells, expanded, reason });
    }

    pub(super) fn previous_move(
        &mut self,
        (step, adjustment): (&str, &str),
        amount: &Answer,
        result: &str,
        change: &Answer,
    ) {
        let value = |step: &str, name: &str| {
            let step = self.directory.step(step)?;
            self.directory.value(Some(step), name)
        };
        let (Some(adjustment), Some((of, name))) = (value(step, adjustment), result.split_once('.')) else {
            return;
        };
        let Some(result) = value(of, name) else { return };
        let (amount, change) = (self.cell(adjustment, amount, None), self.cell(result, change, None));
        self.state.previous_moves.push(EarlierMove { adjustment, result, amount, change });
    }
}
