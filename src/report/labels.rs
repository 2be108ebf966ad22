//! The words of the frozen procedure for what the events name: labels, units, senses. The events say what happened; the
//! procedure says what it is called.

use std::collections::HashMap;

use crate::check::program::{Judged, Part, Program, Role, Stations, Step, Text, Value, ValueId};
use crate::quantity::{Rational, Real, Sense, Unit, exact_text, fixed, parse_exact, significant};
use crate::walk::event::{Answer, Event, SeriesEnd};
use crate::walk::{asked_words, sense_at, uncertainty};

use super::said::when;

/// Looks names up in a checked procedure. Without one (it could not be read) everything keeps its bare name.
#[derive(Debug, Default)]
pub struct Labels<'a> {
    program: Option<&'a Program>,
    steps: HashMap<&'a str, &'a Step>,
    values: HashMap<(Option<&'a str>, &'a str), &'a Value>,
}

impl<'a> Labels<'a> {
    /// When a series began, or ended and why.
    pub fn series(&self, event: &Event, time: &str) -> String {
        match event {
            Event::SeriesStarted { step, reading, at, .. } => {
                let begun = when(at.as_deref().unwrap_or(time));
                format!("{}: series begun {begun}", self.label(Some(step), reading))
            }
            Event::SeriesEnded { step, reading, rows, because } => {
                let why = match because {
                    SeriesEnd::Met => "what it waited for had come",
                    SeriesEnd::Time => "at the end of its time",
                    SeriesEnd::Closed => "its time had run out, the last row was not taken",
                };
                let label = self.label(Some(step), reading);
                format!("{label}: series ended {} with {rows} rows, {why}", when(time))
            }
            _ => String::new(),
        }
    }

    /// What stood on paper: when it was read and by whom, and when it was typed in.
    pub fn sheet(&self, number: u32, taken: &str, by: Option<&str>, of: Option<u64>, time: &str) -> String {
        let by = by.map(|name| format!(" by {name}")).unwrap_or_default();
        let attempt = if number > 1 { format!(", try {number}") } else { String::new() };
        let corrects = of.map(|line| format!(" (line {line} was wrong)")).unwrap_or_default();
        format!("From a sheet{attempt}: read {}{by}, typed in {}{corrects}", when(taken), when(time))
    }

    /// What the record before lent to a rule (`previous(...)`): the step whose value it is, and the words.
    pub fn lent(
        &self,
        name: &str,
        answers: &[Answer],
        stations: &[Vec<String>],
        expanded: &[String],
    ) -> Option<(String, String)> {
        let (step, name) = name.split_once('.')?;
        let value = self.value(Some(step), name)?;
        let program = self.program?;
        program.lent.iter().find(|id| program.values.get(id.0).is_some_and(|it| std::ptr::eq(it, value)))?;
        // As it was shown then where it is a result, which has no unit of its own to be asked in.
        let said = answers.iter().enumerate().map(|(at, answer)| {
            let unit = value.unit.map(|unit| unit.symbol()).or(answer.unit.as_deref());
            let number = if value.unit.is_some() { &answer.value } else { &answer.typed };
            let mut words = shown(number, unit, value.sense.is_some());
            // In the unit of the question, or in the base unit.
            if let Some(size) = expanded.get(at).and_then(|size| parse_exact(size)).map(Real::Exact) {
                let size = value.unit.map_or(size.clone(), |unit| unit.of_differences().to_base(&size));
                let unit = unit.and_then(Unit::parse);
                words.push_str(&format!(" (U = {})", uncertainty::wording::size(size.to_f64(), unit)));
            }
            match stations.get(at).filter(|stations| !stations.is_empty()) {
                Some(stations) => format!("{}: {words}", stations.join(", ")),
                None => words,
            }
        });
        let said = said.collect::<Vec<_>>().join("; ");
        Some((step.to_owned(), format!("From the record before, for a rule: {name} {said}")))
    }

    pub fn new(program: Option<&'a Program>) -> Self {
        let Some(program) = program else { return Self::default() };
        let steps = program.steps.iter().map(|step| (step.name.as_str(), step)).collect();
        let step_name = |value: &Value| {
            value.step.and_then(|step| program.steps.get(step.0)).map(|step| step.name.as_str())
        };
        let values =
            program.values.iter().map(|value| ((step_name(value), value.name.as_str()), value)).collect();
        Self { program: Some(program), steps, values }
    }

    pub fn program(&self) -> Option<&'a Program> {
        self.program
    }

    pub fn step(&self, name: &str) -> Option<&'a Step> {
        self.steps.get(name).copied()
    }

    pub fn step_title(&self, name: &str) -> String {
        self.step(name).map(|step| plain(&step.title)).unwrap_or_default()
    }

    /// The title of the section that a step stands in; none before the first.
    pub fn section(&self, step: &Step) -> String {
        let section = step.section.and_then(|it| self.program?.sections.get(it.0));
        section.map(|section| plain(&section.title)).unwrap_or_default()
    }

    /// Names of the axes of a value, outermost first.
    pub fn axes(&self, value: &Value) -> Vec<String> {
        let axes = self.program.map(|program| program.axes.as_slice()).unwrap_or_default();
        value.axes.iter().filter_map(|axis| axes.get(axis.0)).map(|axis| axis.name.clone()).collect()
    }

    /// A reading, result, observation or adjustment of a step; a fact with no step.
    pub fn value(&self, step: Option<&str>, name: &str) -> Option<&'a Value> {
        self.values.get(&(step, name)).copied()
    }

    /// The unit in which a value is asked for.
    pub fn unit(&self, step: Option<&str>, name: &str) -> Option<String> {
        self.value(step, name).and_then(|value| value.unit).map(|unit| unit.symbol().to_owned())
    }

    /// The label of a value, or its name.
    pub fn label(&self, step: Option<&str>, name: &str) -> String {
        let asked = self.program.zip(self.value(step, name));
        let label = asked.and_then(|(program, value)| asked_words::of(program, &value.label));
        label.unwrap_or_else(|| name.to_owned())
    }

    /// What a `tolerance` or `require` line judges, in words.
    pub fn rule(&self, step: &str, name: &str) -> String {
        let judgement = self.step(step).and_then(|step| step.judgements.iter().find(|it| it.name == name));
        match judgement {
            Some(judgement) => {
                self.program.map_or_else(|| name.to_owned(), |it| asked_words::judged(it, judgement))
            }
            // What the walk itself adds to the rules of the file.
            None if name == "until" => "Steady before its time was over".to_owned(),
            None if name == "valid" => "The measurement itself".to_owned(),
            None => name.to_owned(),
        }
    }

    /// The sense of the value that a rule judges, at the place where it was judged: a station may have its own.
    pub fn rule_sense(&self, step: &str, name: &str, place: Option<&str>) -> Option<Sense> {
        let judgement = self.step(step)?.judgements.iter().find(|it| it.name == name)?;
        let stations: Vec<String> =
            place.map(|place| place.split(", ").map(str::to_owned).collect()).unwrap_or_default();
        match &judgement.of {
            // A spread within a window points nowhere, whatever the ordinates do.
            Judged::Tolerance { rule, .. } if rule.window.is_some() => None,
            Judged::Tolerance { value, .. } => sense_at(self.program?, *value, &stations),
            Judged::Require(_) => None,
        }
    }

    /// The station of an entry that gives plus and minus words of its own, with these words.
    pub fn own_sense(&self, value: &Value, stations: &[String]) -> Option<(String, Sense)> {
        let program = self.program?;
        let id = ValueId(program.values.iter().position(|it| std::ptr::eq(it, value))?);
        let sense = sense_at(program, id, stations)?;
        let (axis, ..) = value.station_senses.iter().find(|(.., own)| *own == sense)?;
        let index = value.axes.iter().position(|it| it == axis)?;
        Some((stations.get(index)?.clone(), sense))
    }

    /// Whether a rule is a `require` line: guards, stops, what was seen and heard.
    pub fn is_required(&self, step: &str, rule: &str) -> bool {
        self.step(step).is_some_and(|step| {
            step.judgements.iter().any(|it| it.name == rule && matches!(it.of, Judged::Require(_)))
        })
    }

    /// The lines of a survey along which a result is laid out, each with the number of cells it has.
    pub fn survey_rows(&self, step: &str, name: &str) -> Option<Vec<(String, usize)>> {
        let axes = &self.value(Some(step), name)?.axes;
        let [first, _] = axes.as_slice() else { return None };
        let Stations::SurveyLines(survey) = &self.program?.axes.get(first.0)?.stations else { return None };
        let cells = survey.longest() + 1;
        Some(survey.lines().map(|(name, _)| (name.to_owned(), cells)).collect())
    }

    /// Results of other tests that an adjustment says it moves, as `STEP.NAME` in two parts.
    pub fn predicted_results(&self, step: &str, adjustment: &str) -> Vec<(String, String)> {
        let (Some(program), Some(value)) = (self.program, self.value(Some(step), adjustment)) else {
            return Vec::new();
        };
        let Role::Adjustment { predicts } = &value.role else { return Vec::new() };
        let names = predicts.iter().filter_map(|prediction| {
            let result = program.values.get(prediction.result.0)?;
            let step = program.steps.get(result.step?.0)?;
            Some((step.name.clone(), result.name.clone()))
        });
        names.collect()
    }
}

/// A text without what it puts in, which differs from station to station and from walk to walk.
pub fn plain(text: &Text) -> String {
    let words = text.parts.iter().filter_map(|part| match part {
        Part::Plain(text) => Some(text.as_str()),
        Part::Value(..) => None,
    });
    words.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

/// A text of a walk that could not be reckoned again: what it puts in is not known.
pub(super) fn with_gaps(text: &Text) -> String {
    let words = text.parts.iter().map(|part| match part {
        Part::Plain(text) => text.as_str(),
        Part::Value(..) => "(not known)",
    });
    words.collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A number of the record with its unit: `+0.015 mm`; a quotient as a decimal; words as they are.
pub fn shown(value: &str, unit: Option<&str>, signed: bool) -> String {
    let Some(exact) = parse_exact(value) else {
        return arrow(value, unit).unwrap_or_else(|| value.to_owned());
    };
    let text = shown_number(&exact);
    let sign = if signed && Real::Exact(exact).is_positive() { "+" } else { "" };
    match unit {
        Some("1") | None => format!("{sign}{text}"),
        Some(unit) => format!("{sign}{text} {unit}"),
    }
}

/// An arrow, recorded as `0.01 at 90 deg`: its size in the unit, and where it is high.
fn arrow(value: &str, unit: Option<&str>) -> Option<String> {
    let (size, angle) = value.strip_suffix(" deg")?.split_once(" at ")?;
    let angle = fixed(&parse_exact(angle)?, 1);
    let tir = exact_text(&(parse_exact(size)? * Rational::from_integer(2.into())));
    Some(format!("{}, high at {angle} deg (TIR {})", shown(size, unit, false), shown(&tir, unit, false)))
}

/// Decimals that end are shown as they are, unless they are very long; others to six places.
fn shown_number(exact: &Rational) -> String {
    let text = exact_text(exact);
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    if text.contains('/') || decimals > 9 { fixed(exact, 6) } else { text }
}

/// An uncertainty as it stands on the record, to two significant digits.
pub fn rounded(value: &str, unit: Option<&str>) -> String {
    let short = value.parse().map_or_else(|_| value.to_owned(), |value: f64| significant(value, 2));
    match unit {
        Some("1") | None => short,
        Some(unit) => format!("{short} {unit}"),
    }
}

/// How u was worked out, behind "by", its figures to two significant digits as well.
pub fn method(recorded: &str, unit: Option<&str>) -> String {
    let method = match recorded.rsplit_once("gives u = ") {
        Some((method, u)) => format!("{method}gives u = {}", rounded(u, unit)),
        None => recorded.to_owned(),
    };
    if method.starts_with("Monte Carlo") { method } else { format!("the {method}") }
}

/// What a value says by its sign: `toward the operator`.
pub fn direction<'a>(value: &str, sense: Option<&'a Sense>) -> Option<&'a str> {
    sense?.say(&Real::Exact(parse_exact(value)?))
}

/// A bound of the record without the word behind it, and whether the bound itself does not pass.
pub fn bound(recorded: &str) -> (&str, bool) {
    match recorded.strip_suffix(" exclusive") {
        Some(number) => (number, true),
        None => (recorded, false),
    }
}

/// A band in words: `0 to +0.015 mm`, `within 0.010 mm`, `at most 0.010 mm`, `below 3 mm`.
pub fn band(lower: Option<&str>, upper: Option<&str>, unit: Option<&str>, signed: bool) -> String {
    let number = |value: &str, unit| shown(value, unit, signed);
    match (lower.map(bound), upper.map(bound)) {
        (Some((lower, _)), Some((upper, _)))
            if parse_exact(lower).zip(parse_exact(upper)).is_some_and(|(l, u)| -l == u) =>
        {
            format!("within {}", shown(upper, unit, false))
        }
        (Some((lower, _)), Some((upper, _))) => format!("{} to {}", number(lower, None), number(upper, unit)),
        (None, Some((upper, false))) => format!("at most {}", number(upper, unit)),
        (None, Some((upper, true))) => format!("below {}", number(upper, unit)),
        (Some((lower, false)), None) => format!("at least {}", number(lower, unit)),
        (Some((lower, true)), None) => format!("above {}", number(lower, unit)),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_said_with_their_signs_where_direction_counts() {
        assert_eq!(band(Some("0"), Some("0.015"), Some("mm"), true), "0 to +0.015 mm");
        assert_eq!(band(Some("-0.01"), Some("0.01"), Some("mm"), true), "within 0.01 mm");
        assert_eq!(band(None, Some("0.3"), Some("ohm"), false), "at most 0.3 ohm");
        assert_eq!(band(None, Some("3 exclusive"), Some("mm"), false), "below 3 mm");
        assert_eq!(band(Some("3 exclusive"), None, Some("mm"), false), "above 3 mm");
        assert_eq!(band(None, None, None, false), "");
    }

    #[test]
    fn a_third_is_shown_as_a_decimal_and_a_word_as_it_is() {
        assert_eq!(shown("1/3", Some("mm"), true), "+0.333333 mm");
        assert_eq!(shown("-0.0105", Some("mm"), true), "-0.0105 mm");
        assert_eq!(shown("not read: behind the wall", Some("mm"), true), "not read: behind the wall");
    }

    #[test]
    fn an_arrow_is_shown_by_size_and_direction_and_other_words_as_they_stand() {
        assert_eq!(shown("0.01 at 90 deg", Some("mm"), false), "0.01 mm, high at 90.0 deg (TIR 0.02 mm)");
        assert_eq!(shown("rear at 90 deg", Some("mm"), false), "rear at 90 deg");
        assert_eq!(shown("AC, 500 mm", None, false), "AC, 500 mm");
    }
}
