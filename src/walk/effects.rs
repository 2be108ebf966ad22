//! What a move did, as far as it can be told: between two tries of a result that it says it moves, nothing else was
//! moved. Said where the same adjustment is advised again, in this walk and, by the record before, in the next.

use crate::check::program::{Kind, Role, Value, ValueId};
use crate::quantity::{Real, Unit};

use super::asked_words;
use super::before::{answer, not_comparable};
use super::brought::EarlierMove;
use super::eval::Evaluator;
use super::event::Event;
use super::machine::Machine;
use super::state::Move;
use super::text;
use super::value::Cell;
use super::view::View;

impl Machine {
    /// What each adjustment did to what it says it moves: between two tries of the result, nothing else was moved.
    pub(super) fn effects(&self) -> Vec<EarlierMove> {
        let mut found = Vec::new();
        for (at, definition) in self.program.values.iter().enumerate() {
            let (Role::Adjustment { predicts }, Some(_)) = (&definition.role, definition.step) else {
                continue;
            };
            for prediction in predicts {
                found.extend(self.effect(ValueId(at), prediction.result));
            }
        }
        found
    }

    /// The latest of them.
    fn effect(&self, adjustment: ValueId, result: ValueId) -> Option<EarlierMove> {
        let step = self.program.values.get(result.0)?.step?;
        let attempts = &self.state.step(step).attempts;
        (1..attempts.len()).rev().find_map(|after| {
            let (from, to) = (attempts.get(after - 1)?.opened, attempts.get(after)?.opened);
            let between: Vec<&Move> =
                self.state.moves.iter().filter(|it| it.sequence > from && it.sequence < to).collect();
            let first = between.first()?;
            let alone = |it: &&Move| it.adjustment == Some(adjustment) && it.stations == first.stations;
            if !between.iter().all(alone) {
                return None;
            }
            let mut amount = Real::zero();
            for moved in &between {
                amount = &amount + moved.amount.as_ref()?.as_number()?;
            }
            let value = |attempt: usize| {
                let view = View::of(&self.program, &self.state, step, attempt);
                Evaluator::new(&self.program, &view).value(result).as_single().as_number().cloned()
            };
            let change = &value(after)? - &value(after - 1)?;
            let moved = !amount.is_zero();
            let (amount, change) = (Cell::number(amount), Cell::number(change));
            moved.then_some(EarlierMove { adjustment, result, amount, change })
        })
    }

    pub(super) fn effect_of(&self, before: &Machine, effect: &EarlierMove) -> Option<Event> {
        let old = |id: ValueId| {
            let value = before.program.values.get(id.0)?;
            Some((value, before.program.steps.get(value.step?.0)?.name.as_str()))
        };
        let ((adjustment, step), (result, of)) = (old(effect.adjustment)?, old(effect.result)?);
        let own = |step: &str, name: &str| {
            let step = self.directory.step(step)?;
            self.program.values.get(self.directory.value(Some(step), name)?.0)
        };
        let (own_adjustment, own_result) = (own(step, &adjustment.name)?, own(of, &result.name)?);
        let same = not_comparable(own_adjustment, adjustment).is_none()
            && not_comparable(own_result, result).is_none();
        if !same || !matches!(own_adjustment.role, Role::Adjustment { .. }) {
            return None;
        }
        let shown = |value: &Value| {
            value.unit.or_else(|| match value.kind {
                Kind::Quantity(dimension) => Unit::usual(dimension),
                _ => None,
            })
        };
        Some(Event::PreviousMove {
            step: step.to_owned(),
            adjustment: adjustment.name.clone(),
            amount: answer(&effect.amount, shown(adjustment), own_adjustment.unit)?,
            result: format!("{of}.{}", result.name),
            change: answer(&effect.change, shown(result), own_result.unit)?,
        })
    }

    /// What an adjustment that is advised has done before: in this walk, else when the record before was made.
    pub(super) fn did_before(&self, adjustment: ValueId) -> Vec<String> {
        let Some(Role::Adjustment { predicts }) = self.program.values.get(adjustment.0).map(|it| &it.role)
        else {
            return Vec::new();
        };
        let said = |result: ValueId| {
            let earlier = || {
                self.state
                    .previous_moves
                    .iter()
                    .rev()
                    .find(|it| it.adjustment == adjustment && it.result == result)
                    .cloned()
            };
            let (when, effect) = match self.effect(adjustment, result) {
                Some(effect) => ("in the try before", effect),
                None => ("last time", earlier()?),
            };
            Some(format!("{when}: {}", self.effect_in_words(&effect)))
        };
        predicts.iter().filter_map(|prediction| said(prediction.result)).collect()
    }

    /// What it did in this walk, as it is worked out now.
    pub(super) fn did_in_this_walk(&self, adjustment: ValueId) -> Vec<String> {
        let Some(Role::Adjustment { predicts }) = self.program.values.get(adjustment.0).map(|it| &it.role)
        else {
            return Vec::new();
        };
        let effects = predicts.iter().filter_map(|it| self.effect(adjustment, it.result));
        effects.map(|effect| self.effect_in_words(&effect)).collect()
    }

    fn effect_in_words(&self, effect: &EarlierMove) -> String {
        let view = View::latest(&self.program, &self.state);
        let evaluator = Evaluator::new(&self.program, &view);
        let shown = |id: ValueId, cell: &Cell| {
            let finest = evaluator.finest_resolution(id);
            let sense = self.program.values[id.0].sense.as_ref();
            text::show_cell(cell, evaluator.shown_in(id), sense, finest.as_ref())
        };
        let name = |id: ValueId| asked_words::named(&self.program, id);
        let (moved, result) = (effect.adjustment, effect.result);
        // A change is known no better than both readings, and its share of one unit moved no better than that.
        let (unit, of) = (evaluator.shown_in(result), evaluator.shown_in(moved));
        let short = |number: &Real| Cell::number(text::foreseen(number, unit));
        let change = effect.change.as_number().map_or_else(|| effect.change.clone(), short);
        let one = Real::from(1);
        let one = of.map_or_else(|| one.clone(), |of| of.of_differences().to_base(&one));
        let share = effect.change.as_number().zip(effect.amount.as_number());
        let share = share.and_then(|(change, amount)| Some(short(&(&change.div(amount)? * &one))));
        let share = share.map(|share| {
            let said = text::cell(&share, unit);
            let sign = if said.starts_with('-') { "" } else { "+" };
            format!(" ({sign}{said} for each {})", of.map_or("unit", Unit::symbol))
        });
        format!(
            "{} moved by {}; {} changed by {}{}",
            name(moved),
            shown(moved, &effect.amount),
            name(result),
            shown(result, &change),
            share.unwrap_or_default()
        )
    }
}
