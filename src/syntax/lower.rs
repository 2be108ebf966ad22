//! Tokens to nodes: what several kinds of line have in common.

use pest::iterators::Pair;

use super::ast::*;
use super::cursor::{Cursor, Lowered, span};
use super::expression::{lower_expression, lower_sum};
use super::grammar::{Rule, unreadable};
use super::text::lower_prose;
use crate::diagnostic::{Code, Problem, nearest};
use crate::quantity::Unit;

/// Takes a part of a line, by what it is.
impl Cursor<'_> {
    pub fn name(&mut self) -> Lowered<Name> {
        let pair = self.expect(Rule::name)?;
        Ok(name(&pair, self.base()))
    }

    pub fn maybe_name(&mut self) -> Option<Name> {
        self.maybe(Rule::name).map(|pair| name(&pair, self.base()))
    }

    pub fn names(&mut self) -> Vec<Name> {
        let base = self.base();
        self.all(Rule::name).iter().map(|pair| name(pair, base)).collect()
    }

    pub fn word(&mut self) -> Lowered<Name> {
        let pair = self.expect(Rule::word)?;
        Ok(name(&pair, self.base()))
    }

    pub fn number(&mut self) -> Lowered<Number> {
        let pair = self.expect(Rule::number)?;
        Ok(number(&pair, self.base()))
    }

    pub fn maybe_number(&mut self) -> Option<Number> {
        self.maybe(Rule::number).map(|pair| number(&pair, self.base()))
    }

    pub fn unit(&mut self) -> Lowered<UnitName> {
        let pair = self.expect(Rule::unit)?;
        lower_unit(&pair, self.base())
    }

    /// `in UNIT`
    pub fn in_unit(&mut self) -> Lowered<UnitName> {
        let pair = self.expect(Rule::in_unit)?;
        lower_in_unit(pair, self.base())
    }

    pub fn maybe_in_unit(&mut self) -> Lowered<Option<UnitName>> {
        self.maybe(Rule::in_unit).map(|pair| lower_in_unit(pair, self.base())).transpose()
    }

    pub fn quantity(&mut self) -> Lowered<Quantity> {
        let pair = self.expect(Rule::quantity)?;
        lower_quantity(pair, self.base())
    }

    pub fn path(&mut self) -> Lowered<Path> {
        let pair = self.expect(Rule::path)?;
        lower_path(pair, self.base())
    }

    pub fn maybe_path(&mut self) -> Lowered<Option<Path>> {
        self.maybe(Rule::path).map(|pair| lower_path(pair, self.base())).transpose()
    }

    pub fn prose(&mut self) -> Lowered<Prose> {
        let pair = self.expect(Rule::prose)?;
        lower_prose(pair, self.base())
    }

    pub fn maybe_prose(&mut self) -> Lowered<Option<Prose>> {
        self.maybe(Rule::prose).map(|pair| lower_prose(pair, self.base())).transpose()
    }

    pub fn expression(&mut self) -> Lowered<Expr> {
        let pair = self.expect(Rule::expression)?;
        lower_expression(pair, self.base())
    }

    pub fn maybe_expression(&mut self) -> Lowered<Option<Expr>> {
        self.maybe(Rule::expression).map(|pair| lower_expression(pair, self.base())).transpose()
    }

    pub fn sum(&mut self) -> Lowered<Expr> {
        let pair = self.expect(Rule::sum)?;
        lower_sum(pair, self.base())
    }

    pub fn sums(&mut self) -> Lowered<Vec<Expr>> {
        let base = self.base();
        self.all(Rule::sum).into_iter().map(|pair| lower_sum(pair, base)).collect()
    }

    /// `from A to B`
    pub fn range(&mut self) -> Lowered<Range> {
        let pair = self.expect(Rule::range)?;
        lower_range(pair, self.base())
    }

    pub fn maybe_range(&mut self) -> Lowered<Option<Range>> {
        self.maybe(Rule::range).map(|pair| lower_range(pair, self.base())).transpose()
    }

    pub fn kind(&mut self) -> Lowered<Kind> {
        let pair = self.expect(Rule::kind)?;
        lower_kind(pair, self.base())
    }

    pub fn station(&mut self) -> Lowered<Station> {
        let pair = self.expect(Rule::station)?;
        lower_station(pair, self.base())
    }

    /// `NAME STATIONS`
    pub fn over(&mut self) -> Lowered<Over> {
        let name = self.name()?;
        let base = self.base();
        let stations = match self.maybe(Rule::stations) {
            Some(pair) => lower_stations(pair, base)?,
            None => Stations { span: name.span, what: StationsOf::Named, closing: None },
        };
        Ok(Over { name, stations })
    }

    pub fn picks(&mut self) -> Lowered<Vec<Pick>> {
        match self.maybe(Rule::picks) {
            Some(pair) => lower_picks(pair, self.base()),
            None => Ok(Vec::new()),
        }
    }
}

pub(super) fn name(pair: &Pair<'_, Rule>, base: usize) -> Name {
    Name { text: pair.as_str().to_string(), span: span(pair, base) }
}

pub(super) fn number(pair: &Pair<'_, Rule>, base: usize) -> Number {
    Number { text: pair.as_str().to_string(), span: span(pair, base) }
}

/// A unit that there is; which one it is, is looked up again by whoever needs its meaning.
pub(super) fn lower_unit(pair: &Pair<'_, Rule>, base: usize) -> Lowered<UnitName> {
    let (text, span) = (pair.as_str(), span(pair, base));
    if Unit::parse(text).is_some() {
        return Ok(UnitName { text: text.to_string(), span });
    }
    let problem =
        Problem::fault(Code::UnknownUnit, span, format!("there is no unit `{text}`")).label("not a unit");
    Err(match meant(text) {
        Some(unit) => problem.help(format!("write `{unit}`")),
        None if text.contains('/') => problem.help(
            "a division has a blank on both sides of `/`; a compound unit is one of the list, as `mm/m`",
        ),
        None => problem
            .help("the units are listed in the language reference; a unit is written as `mm`, `degC`, `rpm`"),
    })
}

/// The unit that was meant by another way of writing it.
fn meant(text: &str) -> Option<&'static str> {
    Some(match text {
        "\u{b5}m" | "\u{3bc}m" | "mu" | "micron" | "microns" => "um",
        "in" | "inches" => "inch",
        "mil" | "mils" => "thou",
        "tenth" | "tenths" => "thou",
        "°" | "degree" | "degrees" => "deg",
        "°C" | "C" => "degC",
        "°F" | "F" => "degF",
        "min/rev" | "rev/min" | "U/min" => "rpm",
        "hour" | "hours" | "hr" => "h",
        "sec" | "second" | "seconds" => "s",
        "minute" | "minutes" => "min",
        "\u{3a9}" | "\u{2126}" => "ohm",
        "k\u{3a9}" | "k\u{2126}" => "kohm",
        "M\u{3a9}" | "M\u{2126}" => "Mohm",
        _ => {
            let small = text.to_lowercase();
            let symbols = || Unit::ALL.iter().map(|unit| unit.symbol());
            let same = symbols().find(|symbol| symbol.to_lowercase() == small);
            return same.or_else(|| nearest(text, symbols().filter(|symbol| symbol.len() > 1)));
        }
    })
}

fn lower_in_unit(pair: Pair<'_, Rule>, base: usize) -> Lowered<UnitName> {
    let mut cursor = Cursor::new(pair, base);
    if let Some(one) = cursor.maybe(Rule::one) {
        return Ok(UnitName { text: one.as_str().to_string(), span: span(&one, base) });
    }
    cursor.unit()
}

pub(super) fn lower_quantity(pair: Pair<'_, Rule>, base: usize) -> Lowered<Quantity> {
    let mut cursor = Cursor::new(pair, base);
    let number = cursor.number()?;
    let unit = cursor.maybe(Rule::unit).map(|pair| lower_unit(&pair, base)).transpose()?;
    Ok(Quantity { span: cursor.span(), number, unit })
}

pub(super) fn lower_path(pair: Pair<'_, Rule>, base: usize) -> Lowered<Path> {
    let mut cursor = Cursor::new(pair, base);
    let (first, second) = (cursor.name()?, cursor.maybe_name());
    let span = cursor.span();
    Ok(match second {
        Some(name) => Path { span, step: Some(first), name },
        None => Path { span, step: None, name: first },
    })
}

fn lower_range(pair: Pair<'_, Rule>, base: usize) -> Lowered<Range> {
    let mut cursor = Cursor::new(pair, base);
    Ok(Range { span: cursor.span(), from: cursor.sum()?, to: cursor.sum()? })
}

fn lower_kind(pair: Pair<'_, Rule>, base: usize) -> Lowered<Kind> {
    let mut cursor = Cursor::new(pair, base);
    let what = if cursor.has(Rule::word_text) {
        KindOf::Text
    } else if cursor.has(Rule::yes_or_no) {
        KindOf::YesOrNo
    } else if cursor.has(Rule::one_of) {
        KindOf::OneOf(cursor.all(Rule::word).iter().map(|pair| name(pair, base)).collect())
    } else if cursor.has(Rule::word_date) {
        KindOf::Date
    } else if cursor.has(Rule::word_count) {
        KindOf::Count
    } else if cursor.has(Rule::word_photo) {
        KindOf::Photo
    } else {
        KindOf::In(cursor.in_unit()?, cursor.maybe_range()?)
    };
    Ok(Kind { span: cursor.span(), what })
}

pub(super) fn lower_station(pair: Pair<'_, Rule>, base: usize) -> Lowered<Station> {
    let mut cursor = Cursor::new(pair, base);
    match cursor.maybe(Rule::lone_word) {
        Some(pair) => Ok(Station::Word(Cursor::new(pair, base).word()?)),
        None => Ok(Station::Value(cursor.sum()?)),
    }
}

fn lower_stations(pair: Pair<'_, Rule>, base: usize) -> Lowered<Stations> {
    let mut cursor = Cursor::new(pair, base);
    let what = if let Some(pair) = cursor.maybe(Rule::listed) {
        StationsOf::Listed(Cursor::new(pair, base).prose()?)
    } else {
        let mut stations = vec![cursor.station()?];
        match cursor.maybe(Rule::run) {
            Some(pair) => {
                let from = match stations.pop() {
                    Some(Station::Value(from)) => from,
                    _ => return Err(unreadable(cursor.span())),
                };
                let mut run = Cursor::new(pair, base);
                let up_to = run.has(Rule::up_to);
                let to = run.sum()?;
                let stepped = run.has(Rule::word_stepped);
                StationsOf::Run { from, to, up_to, by: run.sum()?, stepped }
            }
            None => {
                for pair in cursor.all(Rule::station) {
                    stations.push(lower_station(pair, base)?);
                }
                StationsOf::List(stations)
            }
        }
    };
    let closing = cursor.maybe(Rule::word_closing).map(|pair| span(&pair, base));
    Ok(Stations { span: cursor.span(), what, closing })
}

pub(super) fn lower_picks(pair: Pair<'_, Rule>, base: usize) -> Lowered<Vec<Pick>> {
    let mut cursor = Cursor::new(pair, base);
    cursor.all(Rule::pick).into_iter().map(|pair| lower_pick(pair, base)).collect()
}

pub(super) fn lower_pick(pair: Pair<'_, Rule>, base: usize) -> Lowered<Pick> {
    let mut cursor = Cursor::new(pair, base);
    Ok(Pick { span: cursor.span(), axis: cursor.maybe_name(), station: cursor.station()? })
}
