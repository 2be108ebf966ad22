//! Which instruments are used, and what the record before left, into the state.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{InstrumentId, Properties, Uncertainty};
use crate::quantity::{Real, Unit, parse_exact};

use super::brought::{Card, Earlier, EarlierMove, Same};
use super::event::{Answer, Event, InstrumentCard};
use super::fold::Fold;
use super::state::EntryPlace;
use super::value::Cell;
use super::wording;

impl Fold<'_> {
    pub(super) fn instrument(&mut self, card: &InstrumentCard, sequence: u64) {
        let Some(instrument) = self.directory.instrument(&card.name) else { return };
        self.state.properties.insert(instrument, Rc::new(properties(card)));
        let same = self.same(&card.name).last().map(|(_, same)| *same).unwrap_or_default();
        let card = Card { said: card.clone(), day: self.state.day(), used: false, sequence, same };
        if let Some(before) = self.state.instruments.insert(instrument, card).filter(|before| before.used) {
            self.state.put_aside.push((instrument, before));
        }
        self.state.places.insert(sequence, EntryPlace::Instrument(instrument));
        self.state.last_entry = Some(sequence);
    }

    /// Line `line` meant another one, or another date: what was read with it was read with that.
    pub(super) fn card_otherwise(&mut self, line: u64, old: &InstrumentCard, new: &InstrumentCard) {
        let Some(instrument) = self.directory.instrument(&old.name) else { return };
        let aside = self.state.put_aside.iter_mut().map(|(_, card)| card);
        for card in aside.chain(self.state.instruments.values_mut()).filter(|card| card.sequence == line) {
            card.said.clone_from(new);
        }
        self.meant_otherwise(&new.name);
        let (old, new) = (properties(old), properties(new));
        if old == new {
            return;
        }
        let is_in_use = self.state.instruments.get(&instrument).is_some_and(|card| card.sequence == line);
        if let Some(known) = self.state.properties.get_mut(&instrument).filter(|_| is_in_use) {
            *known = exchanged(known, &old, &new);
        }
        let attempts = self.state.steps.iter_mut().flat_map(|own| &mut own.attempts);
        let sheets = attempts.flat_map(|attempt| attempt.sheets.values_mut().flatten());
        for used in sheets.map(|sheet| &mut sheet.instrument).filter(|used| used.card == line) {
            used.properties = exchanged(&used.properties, &old, &new);
        }
    }

    /// Which of the lines that name such an instrument mean the same one.
    fn same(&self, name: &str) -> Vec<(u64, Same)> {
        let mut all: Vec<(u64, &InstrumentCard, Same)> = Vec::new();
        for saying in &self.state.sayings {
            let Event::Instrument(card) = &saying.event else { continue };
            if card.name != name {
                continue;
            }
            let is_same = |other: &InstrumentCard| {
                other.number.eq_ignore_ascii_case(&card.number) && properties(other) == properties(card)
            };
            let first = all.iter().find(|(_, other, _)| is_same(other)).map(|(.., same)| same.first);
            let before = all.last().filter(|(_, other, _)| is_same(other)).map(|(.., same)| same.in_a_row);
            let (first, in_a_row) = (first.unwrap_or(saying.line), before.unwrap_or(saying.line));
            all.push((saying.line, card, Same { first, in_a_row }));
        }
        all.into_iter().map(|(line, _, same)| (line, same)).collect()
    }

    fn meant_otherwise(&mut self, name: &str) {
        let same: HashMap<u64, Same> = self.same(name).into_iter().collect();
        let aside = self.state.put_aside.iter_mut().map(|(_, card)| card);
        for card in aside.chain(self.state.instruments.values_mut()) {
            card.same = same.get(&card.sequence).copied().unwrap_or(card.same);
        }
        let attempts = self.state.steps.iter_mut().flat_map(|own| &mut own.attempts);
        let sheets = attempts.flat_map(|attempt| attempt.sheets.values_mut().flatten());
        for used in sheets.map(|sheet| &mut sheet.instrument) {
            used.same = same.get(&used.card).copied().unwrap_or(used.same);
        }
    }

    /// Something is read with the instrument in use; by its latest day it is in date or not.
    pub(super) fn read_with(&mut self, reading: &[InstrumentId]) {
        let in_use = self.state.in_use.filter(|instrument| reading.contains(instrument));
        let Some(instrument) = in_use.or_else(|| reading.first().copied()) else { return };
        let day = self.state.day();
        if let Some(card) = self.state.instruments.get_mut(&instrument) {
            card.used = true;
            card.day = card.day.max(day);
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

fn properties(card: &InstrumentCard) -> Properties {
    Properties {
        resolution: card.resolution.as_deref().and_then(wording::parse_literal),
        uncertainties: card.uncertainty.iter().filter_map(|it| wording::parse_uncertainty(it)).collect(),
    }
}

/// What is stated of the one in place of what was stated of the other; what `using` said since then stays.
fn exchanged(known: &Properties, old: &Properties, new: &Properties) -> Rc<Properties> {
    let own = known.uncertainties.iter().filter(|it| !old.uncertainties.contains(it));
    let own: Vec<Uncertainty> = own.cloned().collect();
    let is_own = |it: &&Uncertainty| own.iter().any(|other| other.source == it.source);
    let of_new = new.uncertainties.iter().filter(|it| !is_own(it)).cloned();
    let resolution = if known.resolution == old.resolution { &new.resolution } else { &known.resolution };
    Rc::new(Properties {
        resolution: resolution.clone(),
        uncertainties: of_new.chain(own.iter().cloned()).collect(),
    })
}
