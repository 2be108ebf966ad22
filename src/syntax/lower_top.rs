//! Lines at the top of a file, of tables and of instruments.

use super::ast::*;
use super::cursor::{Cursor, Lowered, span};
use super::grammar::Rule;
use super::lower::{lower_pick, lower_station};
use super::text::lower_string;

impl Cursor<'_> {
    /// `simple`, `guarded 95 %`, `guarded U`, `guarded U by draws`
    pub fn decide(mut self) -> Lowered<Decide> {
        let rule = if self.has(Rule::word_simple) {
            DecideRule::Simple
        } else if self.has(Rule::word_u) {
            DecideRule::GuardedU
        } else {
            DecideRule::GuardedBy(self.quantity()?)
        };
        Ok(Decide { rule, by_draws: self.has(Rule::by_draws) })
    }

    pub fn party(mut self) -> Lowered<Item> {
        Ok(Item::Party { name: self.name()?, who: self.prose()? })
    }

    pub fn fact(mut self) -> Lowered<Item> {
        Ok(Item::Fact(Fact { name: self.name()?, question: self.prose()?, kind: self.kind()? }))
    }

    pub fn lets(mut self) -> Lowered<Let> {
        Ok(Let {
            name: self.name()?,
            label: self.prose()?,
            value: self.expression()?,
            unit: self.maybe_in_unit()?,
            sense: Vec::new(),
            argument: false,
        })
    }

    pub fn instrument(mut self) -> Lowered<Item> {
        Ok(Item::Instrument(Instrument { name: self.name()?, label: self.prose()?, lines: Vec::new() }))
    }

    pub fn gauge(mut self) -> Lowered<Item> {
        let base = self.base();
        let number = lower_string(&self.expect(Rule::string)?, base)?;
        Ok(Item::Gauge(Gauge { number, kinds: self.names(), lines: Vec::new() }))
    }

    pub fn date(&mut self) -> Lowered<DateText> {
        let pair = self.expect(Rule::date)?;
        Ok(DateText { text: pair.as_str().to_string(), span: span(&pair, self.base()) })
    }

    pub fn table(mut self) -> Lowered<Item> {
        let (name, title) = (self.name()?, self.prose()?);
        let over = if self.has(Rule::word_over) { Some((self.name()?, self.maybe_in_unit()?)) } else { None };
        let columns = if self.has(Rule::word_of) { self.names() } else { Vec::new() };
        Ok(Item::Table(Table { name, title, over, columns, rows: Vec::new() }))
    }

    pub fn row(mut self) -> Lowered<Row> {
        let when = self.maybe_expression()?;
        let base = self.base();
        let values = |cursor: &mut Cursor<'_>| Cursor::new(cursor.expect(Rule::row_values)?, base).sums();
        let (reach, values) = if let Some(pair) = self.maybe(Rule::up_to_row) {
            let mut row = Cursor::new(pair, base);
            (Reach::UpTo(row.sum()?), values(&mut row)?)
        } else if let Some(pair) = self.maybe(Rule::further_row) {
            let mut row = Cursor::new(pair, base);
            (Reach::EveryFurther(row.sum()?), values(&mut row)?)
        } else {
            (Reach::All, values(&mut self)?)
        };
        Ok(Row { when, reach, values })
    }

    pub fn section(mut self) -> Lowered<Item> {
        let (name, title) = (self.name()?, self.prose()?);
        Ok(Item::Section(Section { name, title, any_order: self.has(Rule::in_any_order) }))
    }

    pub fn step(mut self) -> Lowered<Item> {
        let (name, title) = (self.name()?, self.prose()?);
        let base = self.base();
        let follows = self.maybe(Rule::follows).map(|pair| Cursor::new(pair, base).follows()).transpose()?;
        let repeats = self.maybe(Rule::repeats).map(|pair| Cursor::new(pair, base).name()).transpose()?;
        Ok(Item::Step(Step { name, title, follows, repeats, lines: Vec::new() }))
    }

    fn follows(mut self) -> Lowered<Follows> {
        let method = self.name()?;
        let mut arguments = Vec::new();
        if let Some(pair) = self.maybe(Rule::method_arguments) {
            let mut list = Cursor::new(pair, self.base());
            while let Some(argument) = list.maybe_expression()? {
                arguments.push(argument);
            }
        }
        Ok(Follows { span: self.span(), method, arguments })
    }

    pub fn method(mut self) -> Lowered<Item> {
        let name = self.name()?;
        let mut parameters = Vec::new();
        for pair in self.all(Rule::parameter) {
            let mut parameter = Cursor::new(pair, self.base());
            parameters.push(Parameter { name: parameter.name()?, kind: parameter.kind()? });
        }
        Ok(Item::Method(Method { name, parameters, title: self.maybe_prose()?, lines: Vec::new() }))
    }

    pub fn crosscheck(mut self) -> Lowered<Item> {
        Ok(Item::Crosscheck(Crosscheck {
            name: self.name()?,
            why: self.prose()?,
            left: self.sum()?,
            right: self.sum()?,
            within: self.sum()?,
            when: self.maybe_expression()?,
        }))
    }

    /// `Q per UNIT`
    pub fn scale_of(&mut self) -> Lowered<InstrumentLine> {
        let mut scale = Cursor::new(self.expect(Rule::scale_of)?, self.base());
        Ok(InstrumentLine::Scale(scale.quantity()?, scale.unit()?))
    }

    /// `zero Q k 2`
    pub fn uncertainty_of(&mut self) -> Lowered<InstrumentLine> {
        let mut parts = Cursor::new(self.expect(Rule::uncertainty_of)?, self.base());
        let mut source = Cursor::new(parts.expect(Rule::uncertainty_source)?, self.base());
        let source = if source.has(Rule::word_zero) {
            Source::Zero
        } else if source.has(Rule::word_fresh) {
            Source::Fresh
        } else {
            Source::Scale
        };
        Ok(InstrumentLine::Uncertainty(source, parts.quantity()?, parts.spread()?))
    }

    /// `k 2`, or the name of a shape; `with 8 degrees of freedom` behind it.
    pub fn spread(&mut self) -> Lowered<Spread> {
        let mut parts = Cursor::new(self.expect(Rule::spread)?, self.base());
        let (trapezoid, loose) = (parts.maybe(Rule::trapezoid), parts.maybe(Rule::loose));
        let shape = match (trapezoid, loose, parts.maybe(Rule::shape).map(|shape| shape.as_str())) {
            (Some(trapezoid), ..) => Shape::Trapezoidal(Cursor::new(trapezoid, self.base()).quantity()?),
            (_, Some(loose), _) => Shape::Loose(Cursor::new(loose, self.base()).quantity()?),
            (.., Some("rectangular")) => Shape::Rectangular,
            (.., Some("triangular")) => Shape::Triangular,
            (.., Some(_)) => Shape::Arcsine,
            (.., None) => Shape::Coverage(parts.number()?),
        };
        let freedom = match parts.maybe(Rule::freedom) {
            Some(freedom) => Some(Cursor::new(freedom, self.base()).number()?),
            None => None,
        };
        Ok(Spread { shape, freedom })
    }

    /// A property in `using`.
    pub fn property(mut self) -> Lowered<InstrumentLine> {
        if self.has(Rule::word_resolution) {
            Ok(InstrumentLine::Resolution(self.quantity()?))
        } else if self.has(Rule::word_range) {
            Ok(InstrumentLine::Range(self.range()?))
        } else if self.has(Rule::word_scale) {
            self.scale_of()
        } else {
            self.uncertainty_of()
        }
    }

    /// All picks and stations that follow, as picks.
    pub fn pick_list(&mut self) -> Lowered<Vec<Pick>> {
        let base = self.base();
        let mut picks = vec![lower_pick(self.expect(Rule::pick)?, base)?];
        while let Some(pair) = self.maybe(Rule::station) {
            let span = span(&pair, base);
            picks.push(Pick { span, axis: None, station: lower_station(pair, base)? });
        }
        Ok(picks)
    }
}
