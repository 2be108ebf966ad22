//! Lines of steps, readings, observations, adjustments and remedies.

use super::ast::*;
use super::cursor::{Cursor, Lowered};
use super::grammar::{Rule, unreadable};
use super::limit::lower_limit;
use super::lower::name;

impl Cursor<'_> {
    pub fn needs(mut self) -> Lowered<StepLine> {
        let mut needs = Vec::new();
        for pair in self.all(Rule::need) {
            let mut need = Cursor::new(pair, self.base());
            let step = need.name()?;
            let how = if need.has(Rule::word_done) {
                NeedHow::Done
            } else if need.has(Rule::before_adjusting) {
                NeedHow::PassedBeforeAdjusting
            } else {
                NeedHow::Passed
            };
            needs.push(Need { span: need.span(), step, how });
        }
        Ok(StepLine::Needs(needs))
    }

    pub fn read(mut self) -> Lowered<StepLine> {
        let (name, unit) = (self.name()?, self.in_unit()?);
        Ok(StepLine::Read(Read { name, unit, using: self.names(), lines: Vec::new() }))
    }

    pub fn observe_block(mut self) -> Lowered<StepLine> {
        let (name, question, kind) = (self.name()?, self.prose()?, self.kind()?);
        Ok(StepLine::Observe(Observe { name, question, kind, lines: Vec::new() }))
    }

    pub fn adjustment(mut self) -> Lowered<StepLine> {
        let (name, label, unit) = (self.name()?, self.prose()?, self.in_unit()?);
        Ok(StepLine::Adjustment(Adjustment { name, label, unit, lines: Vec::new() }))
    }

    pub fn remedy(mut self) -> Lowered<StepLine> {
        let (when, text) = (self.maybe_expression()?, self.prose()?);
        Ok(StepLine::Remedy(Remedy { when, text, advise: Vec::new() }))
    }

    pub fn advise(mut self) -> Lowered<Advise> {
        Ok(Advise { adjustment: self.name()?, amount: self.expression()? })
    }

    pub fn predicts(mut self) -> Lowered<AdjustmentLine> {
        Ok(AdjustmentLine::Predicts { result: self.path()?, by: self.sum()? })
    }

    pub fn tolerance(mut self) -> Lowered<StepLine> {
        let base = self.base();
        let named = match self.maybe(Rule::named) {
            Some(pair) => {
                let mut named = Cursor::new(pair, base);
                Some((named.name()?, named.prose()?))
            }
            None => None,
        };
        let each = if self.has(Rule::word_every) {
            Some(Each::Every)
        } else if self.has(Rule::word_any) {
            Some(Each::Any)
        } else {
            None
        };
        let result = self.sum()?;
        let rule = lower_limit(self.expect(Rule::limit)?, base)?;
        Ok(StepLine::Tolerance(Tolerance { named, each, result, rule, when: self.maybe_expression()? }))
    }

    pub fn set_up_uncertainty(mut self) -> Lowered<StepLine> {
        let (quantity, spread) = (self.quantity()?, self.spread()?);
        Ok(StepLine::Uncertainty { quantity, spread, on: self.path()?, text: self.prose()? })
    }

    pub fn stop_when(mut self) -> Lowered<StepLine> {
        Ok(StepLine::StopWhen { condition: self.expression()?, text: self.prose()? })
    }

    pub fn valid_when(mut self) -> Lowered<StepLine> {
        Ok(StepLine::ValidWhen { condition: self.expression()?, text: self.prose()? })
    }

    pub fn keeps(mut self) -> Lowered<StepLine> {
        Ok(StepLine::Keeps { step: self.name()?, text: self.maybe_prose()? })
    }

    pub fn hold(mut self) -> Lowered<StepLine> {
        Ok(StepLine::Hold { party: self.name()?, text: self.prose()? })
    }

    pub fn wait(mut self) -> Lowered<StepLine> {
        Ok(StepLine::Wait { time: self.quantity()?, text: self.prose()? })
    }

    pub fn times(mut self) -> Lowered<ReadLine> {
        Ok(ReadLine::Times { least: self.number()?, most: self.maybe_number() })
    }

    pub fn survey(mut self) -> Lowered<ReadLine> {
        let lines = self.word()?;
        Ok(ReadLine::Survey {
            lines,
            length: self.quantity()?,
            width: self.quantity()?,
            foot: self.quantity()?,
        })
    }

    pub fn every(mut self) -> Lowered<ReadLine> {
        Ok(ReadLine::Every { period: self.quantity()?, at_most: self.quantity()? })
    }

    pub fn sense(mut self) -> Lowered<ReadLine> {
        let noun = |cursor: &mut Self| {
            let pair = cursor.expect(Rule::noun)?;
            Ok(name(&pair, cursor.base()))
        };
        if self.has(Rule::stays_with) {
            Ok(ReadLine::StaysWith(noun(&mut self)?))
        } else if self.has(Rule::turns_with) {
            Ok(ReadLine::TurnsWith(noun(&mut self)?))
        } else if self.has(Rule::rises_along) {
            Ok(ReadLine::RisesAlong(self.name()?))
        } else if self.has(Rule::falls_along) {
            Ok(ReadLine::FallsAlong(self.name()?))
        } else {
            Err(unreadable(self.span()))
        }
    }

    pub fn station_sense(mut self) -> Lowered<ReadLine> {
        let (axis, station) = (self.name()?, self.station()?);
        Ok(ReadLine::Station { axis, station, plus: self.prose()?, minus: self.prose()? })
    }

    pub fn remeasure_rule(mut self) -> Lowered<ReadLine> {
        let counts = if self.has(Rule::word_mean) { Counts::Mean } else { Counts::Latest };
        Ok(ReadLine::Remeasure(counts))
    }

    pub fn join(mut self) -> Lowered<ReadLine> {
        Ok(ReadLine::Join { stations: self.number()?, within: self.quantity()? })
    }
}
