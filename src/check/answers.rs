//! What is entered in an example or at the prompt: whether it can be an answer at all, and how it would be typed.

use num_traits::Signed;

use crate::diagnostic::{Code, Problem, nearest};
use crate::quantity::{Dimension, Real, Unit, parse_decimal, record_text};
use crate::source::Span;
use crate::syntax::ast::{self, AnswerOf};

use super::command::{Commands, Found, Standing};
use super::program::{
    Again, AxisId, Beside, Expr, Instrument, Kind, Literal, Node, Properties, Role, Stations, Uncertainty,
    UncertaintySource, ValueId, WhichEntry,
};

impl Commands {
    pub(super) fn is_asked(&self, at: Standing, value: ValueId, span: Span) -> Found<()> {
        match at.program.values.get(value.0).map(|value| &value.role) {
            Some(Role::Reading(_) | Role::Observation { .. }) => Ok(()),
            _ => Err(Box::new(
                Problem::fault(
                    Code::ExampleEntry,
                    span,
                    format!(
                        "`{}` is not read or observed, so nothing can be entered for it",
                        value_name(at, value)
                    ),
                )
                .help("enter the readings; what follows from them is worked out"),
            )),
        }
    }

    pub(super) fn is_reading(&self, at: Standing, value: ValueId, span: Span) -> Found<()> {
        match at.program.values.get(value.0).map(|value| &value.role) {
            Some(Role::Reading(_)) => Ok(()),
            _ => Err(Box::new(Problem::fault(
                Code::ExampleEntry,
                span,
                format!("`{}` is not a reading", value_name(at, value)),
            ))),
        }
    }

    /// Rows that may run out of time, or repeats as many as wanted.
    pub(super) fn may_end(&self, at: Standing, value: ValueId, span: Span) -> Found<()> {
        let ends = at.program.values.get(value.0).is_some_and(|value| {
            let is_open = |axis: &AxisId| {
                at.program.axes.get(axis.0).is_some_and(
                    |axis| matches!(axis.stations, Stations::Repeat { least, most } if least < most),
                )
            };
            matches!(&value.role, Role::Reading(reading) if reading.series.is_some())
                || value.axes.iter().any(is_open)
        });
        if ends {
            return Ok(());
        }
        let message = format!("`{}` has a fixed number of readings", value_name(at, value));
        Err(Box::new(Problem::fault(Code::ExampleEntry, span, message).help(
            "`end RUN.temp` is for a series whose time runs out, and for repeats such as `times 1 to 10`",
        )))
    }

    pub(super) fn is_adjustment(&self, at: Standing, value: ValueId, span: Span) -> Found<()> {
        match at.program.values.get(value.0).map(|value| &value.role) {
            Some(Role::Adjustment { .. }) => Ok(()),
            _ => Err(Box::new(
                Problem::fault(
                    Code::NameUnknownAdjustment,
                    span,
                    format!("`{}` is not an adjustment", value_name(at, value)),
                )
                .help("use `altered STEP \"what was done\"` for what has no `adjustment` line"),
            )),
        }
    }

    pub(super) fn rows_fit(&self, at: Standing, value: ValueId, rows: &ast::Rows) -> Found<()> {
        rows.rows.iter().flatten().try_for_each(|answer| self.fits(at, value, answer))
    }

    /// Whether what is entered can be an answer at all: a number for a quantity, one of the words for a choice.
    pub(super) fn fits(&self, at: Standing, value: ValueId, answer: &ast::Answer) -> Found<()> {
        let Some(value) = at.program.values.get(value.0) else { return Ok(()) };
        let wrong = |wanted: String| {
            Err(Box::new(
                Problem::fault(
                    Code::ExampleEntry,
                    answer.span,
                    format!("`{}` cannot be `{}`", value.name, typed(answer)),
                )
                .help(wanted),
            ))
        };
        match (&value.kind, &answer.what) {
            (_, AnswerOf::NotRead(_)) => Ok(()),
            (
                Kind::Quantity(_) | Kind::Point,
                AnswerOf::Quantity(quantity) | AnswerOf::Over(quantity) | AnswerOf::Below(quantity),
            ) => {
                let Some(unit) = &quantity.unit else { return Ok(()) };
                let asked = value.unit.unwrap_or(Unit::One);
                match Unit::parse(&unit.text) {
                    Some(unit) if unit.converts_to(asked) => Ok(()),
                    Some(_) => wrong(format!("write it in {}", asked.symbol())),
                    None => Err(Box::new(Problem::fault(
                        Code::UnknownUnit,
                        unit.span,
                        format!("`{}` is no unit that Bedway knows", unit.text),
                    ))),
                }
            }
            (Kind::Count, AnswerOf::Quantity(quantity)) if quantity.unit.is_none() => Ok(()),
            (Kind::Choice(words), AnswerOf::Word(word)) if words.contains(&word.text) => Ok(()),
            (Kind::Choice(words), _) => wrong(format!("it is one of {}", words.join(", "))),
            (Kind::YesNo, AnswerOf::Word(word)) if word.text == "yes" || word.text == "no" => Ok(()),
            (Kind::YesNo, _) => wrong("write yes or no".to_string()),
            (Kind::Date, AnswerOf::Date(_))
            | (Kind::Text | Kind::Photo, AnswerOf::Text(_) | AnswerOf::Word(_)) => Ok(()),
            (Kind::Text, _) => wrong("write a text in quotes".to_string()),
            (Kind::Date, _) => wrong("write a date as 2026-03-02".to_string()),
            (Kind::Arrow(_), _) => wrong("an arrow is worked out, never entered".to_string()),
            (Kind::Photo, _) => wrong("write the name of a file in quotes".to_string()),
            (Kind::Quantity(_) | Kind::Point | Kind::Count, _) => wrong("write a number".to_string()),
        }
    }
}

pub(super) fn value_name(at: Standing, value: ValueId) -> String {
    at.program.values.get(value.0).map_or(String::new(), |value| value.name.clone())
}

pub(super) fn unknown<'n>(
    code: Code,
    name: &ast::Name,
    what: &str,
    known: impl Iterator<Item = &'n str>,
) -> Box<Problem> {
    let mut known: Vec<&str> = known.collect();
    known.sort_unstable();
    let mut problem = Problem::fault(code, name.span, format!("there is no {what} `{}`", name.text));
    problem.help = nearest(&name.text, known).map(|word| format!("did you mean `{word}`?"));
    Box::new(problem)
}

pub(super) fn plain(text: &ast::Prose) -> String {
    text.plain().unwrap_or_default()
}

pub(super) fn count(number: &ast::Number) -> Found<u32> {
    number.text.parse().map_err(|_| {
        Box::new(Problem::fault(
            Code::UnitNumber,
            number.span,
            format!("`{}` is not a whole number", number.text),
        ))
    })
}

/// A day of the calendar.
pub(super) fn day(date: &ast::DateText) -> Found<jiff::civil::Date> {
    date.text.parse().map_err(|_| {
        Box::new(
            Problem::fault(Code::UnitDate, date.span, format!("there is no day {}", date.text))
                .help("write a date as 2026-03-02: year, month, day"),
        )
    })
}

/// `of try 1 set 2`, `read again 1`: counted from one.
pub(super) fn which_entry(which: &ast::WhichEntry) -> Found<WhichEntry> {
    let ordinal = |number: &ast::Number| match count(number)? {
        0 => Err(Box::new(
            Problem::fault(Code::UnitNumber, number.span, "tries, sets and breaks are counted from 1")
                .help("`of try 1` is the first, as found"),
        )),
        count => Ok(count as usize),
    };
    let again = match &which.again {
        None => None,
        Some(None) => Some(Again::Latest),
        Some(Some(number)) => Some(Again::AtBreak(ordinal(number)?)),
    };
    let (attempt, set) = (which.attempt.as_ref().map(ordinal), which.set.as_ref().map(ordinal));
    Ok(WhichEntry { attempt: attempt.transpose()?, set: set.transpose()?, again })
}

/// `using dial resolution 0.0005 mm, fresh 0.0003 mm k 2`. A scale and a range are those of the file.
pub(super) fn properties(of: &Instrument, lines: &[ast::InstrumentLine]) -> Found<Properties> {
    let mut found = Properties::default();
    for line in lines {
        match line {
            ast::InstrumentLine::Resolution(quantity) => found.resolution = Some(size(of, quantity)?),
            ast::InstrumentLine::Uncertainty(ast::Source::Scale, quantity, _)
                if literal(quantity)?.unit.dimension() != Dimension::NONE =>
            {
                return Err(Box::new(
                    Problem::fault(
                        Code::UnitMismatch,
                        quantity.span,
                        "an uncertainty of the scale is a part of the reading",
                    )
                    .help("write it in %"),
                ));
            }
            ast::InstrumentLine::Uncertainty(source, quantity, spread) => {
                let source = UncertaintySource::lower(*source);
                let size = match source {
                    UncertaintySource::Scale => positive(quantity)?,
                    _ => size(of, quantity)?,
                };
                let (spread, freedom) = super::uncertainty::spread_of(spread, &size)?;
                let stated = Uncertainty { source, size, spread, freedom };
                found.uncertainties.retain(|other| other.source != source);
                found.uncertainties.push(stated);
            }
            ast::InstrumentLine::Scale(..) | ast::InstrumentLine::Range(_) => {}
        }
    }
    Ok(found)
}

/// How uncertain values were: U of each, or one for all, in the unit of the value.
pub(super) fn sizes(at: Standing, value: ValueId, known: &[ast::Answer]) -> Found<Vec<String>> {
    let Some(of) = at.program.values.get(value.0) else { return Ok(Vec::new()) };
    let own = of.unit.map(Unit::of_differences);
    let size = |answer: &ast::Answer| {
        let wrong = |message: String| Problem::fault(Code::UnitMismatch, answer.span, message);
        let name = value_name(at, value);
        let ast::AnswerOf::Quantity(quantity) = &answer.what else {
            return Err(Box::new(wrong(format!("U of `{name}` is a number"))));
        };
        let Some(unit) = own.filter(|_| of.kind.is_measured()) else {
            return Err(Box::new(wrong(format!(
                "`{name}` is nothing measured, so that it has no uncertainty"
            ))));
        };
        let stated = match quantity.unit {
            Some(_) => literal(quantity)?,
            None => Literal { number: parse_decimal(&quantity.number.text).unwrap_or_default(), unit },
        };
        if stated.unit.dimension() != unit.dimension() || (stated.unit == Unit::Div) != (unit == Unit::Div) {
            let help = format!("write it in {}", unit.symbol());
            return Err(Box::new(
                wrong(format!("U of `{name}` is of another kind than its value")).help(help),
            ));
        }
        if stated.number.is_negative() || stated.unit.is_point() {
            let help = "U = 2u, as that record had it: a number of zero or more, of temperatures in K";
            return Err(Box::new(
                wrong(format!("`{}` is no uncertainty", quantity_text(quantity))).help(help),
            ));
        }
        let size = unit.from_base(&stated.unit.to_base(&Real::Exact(stated.number)));
        Ok(record_text(&size))
    };
    known.iter().map(size).collect()
}

/// A literal above zero, of the kind of what the file says of the instrument.
fn size(of: &Instrument, quantity: &ast::Quantity) -> Found<Literal> {
    let size = positive(quantity)?;
    let stated = of.uncertainties.iter().filter(|it| it.source != UncertaintySource::Scale);
    let stated = of.resolution.iter().chain(&of.scale).chain(stated.map(|it| &it.size));
    let kinds: Vec<Dimension> = stated.map(|literal| literal.unit.dimension()).collect();
    match kinds.is_empty() || kinds.contains(&size.unit.dimension()) {
        true => Ok(size),
        false => {
            let wanted = kinds.iter().map(|kind| kind.name()).collect::<Vec<_>>().join(" or ");
            let found = size.unit.dimension().name();
            let message = format!("`{}` is read in {wanted}, and this is {found}", of.name);
            Err(Box::new(Problem::fault(Code::UnitMismatch, quantity.span, message)))
        }
    }
}

fn positive(quantity: &ast::Quantity) -> Found<Literal> {
    let size = literal(quantity)?;
    match size.number.is_positive() && !size.unit.is_point() {
        true => Ok(size),
        false => Err(Box::new(
            Problem::fault(
                Code::UnitNumber,
                quantity.span,
                format!("`{}` is no size of an instrument", quantity_text(quantity)),
            )
            .help("write a number above zero"),
        )),
    }
}

/// What is said beside an adjustment: a torque is one, and more than none.
pub(super) fn beside(said: &ast::Beside) -> Found<Beside> {
    if let Some(torque) = &said.torque {
        let stated = literal(torque)?;
        if stated.unit.dimension() != Dimension::TORQUE || !stated.number.is_positive() {
            let message = format!("`{}` is no torque", quantity_text(torque));
            return Err(Box::new(
                Problem::fault(Code::UnitMismatch, torque.span, message).help("write it so: `torque 25 Nm`"),
            ));
        }
    }
    said.moved.as_ref().map(literal).transpose()?;
    Ok(Beside {
        at: said.at.as_ref().map(plain),
        moved: said.moved.as_ref().map(quantity_text),
        toward: said.toward.as_ref().map(plain),
        torque: said.torque.as_ref().map(quantity_text),
        by: said.by.as_ref().map(plain),
    })
}

pub(super) fn literal(quantity: &ast::Quantity) -> Found<Literal> {
    let number = parse_decimal(&quantity.number.text).ok_or_else(|| {
        Box::new(Problem::fault(
            Code::UnitNumber,
            quantity.number.span,
            format!("`{}` is not a number that can be used", quantity.number.text),
        ))
    })?;
    let unit = match &quantity.unit {
        Some(unit) => Unit::parse(&unit.text).ok_or_else(|| {
            Box::new(Problem::fault(
                Code::UnknownUnit,
                unit.span,
                format!("`{}` is no unit that Bedway knows", unit.text),
            ))
        })?,
        None => {
            return Err(Box::new(
                Problem::fault(
                    Code::UnitMissing,
                    quantity.span,
                    format!("`{}` has no unit", quantity.number.text),
                )
                .help("write the unit behind it"),
            ));
        }
    };
    Ok(Literal { number, unit })
}

/// A number in its unit, or in `bare`.
pub(super) fn literal_expr(quantity: &ast::Quantity, bare: Option<Unit>) -> Found<Expr> {
    let literal = match (&quantity.unit, bare) {
        (None, bare) => {
            let with = ast::Quantity {
                unit: Some(ast::UnitName {
                    text: bare.unwrap_or(Unit::One).symbol().to_string(),
                    span: quantity.span,
                }),
                ..quantity.clone()
            };
            literal(&with)?
        }
        _ => literal(quantity)?,
    };
    let node = match literal.unit.to_base(&Real::Exact(literal.number)) {
        Real::Exact(number) => Node::Number(number),
        Real::Approximate { value, .. } => Node::Inexact(value),
    };
    let kind = super::literal::kind_of(literal.unit);
    Ok(Expr { node, kind, axes: Vec::new(), sense: None, span: quantity.span })
}

pub(super) fn quantity_text(quantity: &ast::Quantity) -> String {
    match &quantity.unit {
        Some(unit) => format!("{} {}", quantity.number.text, unit.text),
        None => quantity.number.text.clone(),
    }
}

/// One value as it would be typed at the prompt.
pub(super) fn typed(answer: &ast::Answer) -> String {
    match &answer.what {
        AnswerOf::Quantity(quantity) => quantity_text(quantity),
        AnswerOf::Word(word) => word.text.clone(),
        AnswerOf::Text(text) => plain(text),
        AnswerOf::Date(date) => date.text.clone(),
        AnswerOf::NotRead(reason) => format!("not read \"{}\"", plain(reason)),
        AnswerOf::Over(quantity) => format!("over {}", quantity_text(quantity)),
        AnswerOf::Below(quantity) => format!("below {}", quantity_text(quantity)),
    }
}

/// Values flat, with ";" between rows.
pub(super) fn entries(rows: &ast::Rows) -> Vec<String> {
    let mut all = Vec::new();
    for (at, row) in rows.rows.iter().enumerate() {
        if at > 0 {
            all.push(";".to_string());
        }
        all.extend(row.iter().map(typed));
    }
    all
}
