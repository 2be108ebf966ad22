//! Reads what is typed as a value: at the prompt, in a row, in an answers file and in a worked example alike.
//!
//! Gives the answer as it goes on the record and the cell that rules see, or says what to type instead. Knows
//! nothing of steps; never guesses a unit or a sign.

use std::rc::Rc;

use crate::check::program::Kind;
use crate::diagnostic::nearest;
use crate::quantity::{PromptUnit, Real, Unit, exact_text, parse_decimal, record_text, unit_words_at_prompt};

use super::called;
use super::event::Answer;
use super::question::Refusal;
use super::value::{Cell, Scalar};
use super::wording;

/// What a question takes.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    pub kind: &'a Kind,
    pub unit: Option<Unit>,
    pub not_read_allowed: bool,
    pub open_ended_allowed: bool,
}

/// An answer as recorded and as it counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Understood {
    pub answer: Answer,
    pub cell: Cell,
    /// The reason of a station that was declared as not read.
    pub not_read: Option<String>,
}

/// One value.
pub fn understand(typed: &str, asked: &Asked) -> Result<Understood, Refusal> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Err(Refusal::new("Nothing was typed.").help(what_to_type(asked)));
    }
    if let Some(rest) = strip_words(typed, "not read") {
        return not_read(typed, rest, asked);
    }
    match asked.kind {
        Kind::Quantity(_) | Kind::Point => number(typed, asked),
        Kind::Count => count(typed),
        Kind::YesNo => yes_no(typed),
        Kind::Choice(words) => choice(typed, words),
        Kind::Date => date(typed),
        Kind::Text => Ok(text(typed)),
        Kind::Photo => Err(Refusal::new("A photograph is given by its file name.")),
        Kind::Arrow(_) => Err(Refusal::new("An arrow is worked out, never typed.")),
    }
}

/// What a question of this kind takes, for a person.
pub fn what_to_type(asked: &Asked) -> String {
    match asked.kind {
        Kind::Quantity(_) | Kind::Point | Kind::Arrow(_) => match asked.unit {
            Some(unit) => format!("Type a number in {}, or a number with its unit.", unit.symbol()),
            None => "Type a number with its unit.".to_owned(),
        },
        Kind::Count => "Type a whole number, 0 or more.".to_owned(),
        Kind::YesNo => "Type yes or no.".to_owned(),
        Kind::Choice(words) => one_of(words),
        Kind::Date => "Type a date as year-month-day, such as 2026-03-02.".to_owned(),
        Kind::Text => "Type a text.".to_owned(),
        Kind::Photo => "Type the name of the picture's file, or not read \"why\".".to_owned(),
    }
}

fn not_read(typed: &str, rest: &str, asked: &Asked) -> Result<Understood, Refusal> {
    if !asked.not_read_allowed {
        return Err(Refusal::new(
            "This reading must be taken at every station: the procedure has no \"not read allowed\" here.",
        )
        .help("Type the value. If it cannot be had, skip the step with its reason: skip \"why\"."));
    }
    let reason = unquoted(rest);
    if reason.is_empty() {
        return Err(Refusal::new("A station that is not read needs its reason.")
            .help("Type it so: not read \"behind the wall\""));
    }
    Ok(Understood {
        answer: Answer { typed: typed.to_owned(), unit: None, value: "not read".to_owned(), sha256: None },
        cell: Cell::NotRead(reason.clone().into()),
        not_read: Some(reason),
    })
}

fn number(typed: &str, asked: &Asked) -> Result<Understood, Refusal> {
    let open_ended = [("over", true), ("above", true), ("below", false), ("under", false)]
        .into_iter()
        .find_map(|(word, above)| strip_words(typed, word).map(|rest| (rest, above)));
    let said = open_ended.map_or(typed, |(rest, _)| rest);
    let written = called::part_of_a_whole(said).or_else(|| called::whole_and_part(said));
    let (figures, unit_words) = split_number(written.as_deref().unwrap_or(said));
    let Some(value) = parse_decimal(&figures) else {
        return Err(Refusal::new(format!("\"{typed}\" is not a number.")).help(what_to_type(asked)));
    };
    let Some(question_unit) = asked.unit else {
        return Err(Refusal::new("This question has no unit.").help(what_to_type(asked)));
    };
    let unit = match unit_words.trim() {
        "" => question_unit,
        words => match unit_words_at_prompt(words, question_unit) {
            PromptUnit::Known(unit) => unit,
            PromptUnit::Ambiguous(meanings) => {
                let words_of = meanings.iter().map(|m| m.words).collect::<Vec<_>>().join(" or ");
                let typed_as = meanings.iter().map(|m| m.as_typed(&value)).collect::<Vec<_>>().join(" or ");
                return Err(Refusal::new(format!("\"{words}\" is used for two things: {words_of}."))
                    .help(format!("Type {typed_as}.")));
            }
            PromptUnit::Unknown { nearest } => {
                let refusal = Refusal::new(format!("\"{words}\" is not a unit that is known here."));
                return Err(match nearest {
                    Some(unit) => {
                        refusal.help(format!("Did you mean {}? {}", unit.symbol(), what_to_type(asked)))
                    }
                    None => refusal.help(what_to_type(asked)),
                });
            }
        },
    };
    let Some(converted) = Unit::convert(&Real::Exact(value), unit, question_unit) else {
        return Err(Refusal::new(format!(
            "{} is {}; the question is in {}.",
            unit.symbol(),
            unit.dimension().name(),
            question_unit.symbol()
        ))
        .help(what_to_type(asked)));
    };
    let base = question_unit.to_base(&converted);
    let in_unit = record_text(&converted);
    let (cell, value) = match open_ended {
        None => (Cell::number(base), in_unit),
        Some(_) if !asked.open_ended_allowed => {
            return Err(Refusal::new(
                "An open-ended value cannot be judged here: the procedure has no \"open ended allowed\".",
            )
            .help("Type the value itself."));
        }
        Some((_, above)) => (
            Cell::OpenEnded { bound: base, above },
            format!("{} {in_unit}", if above { "over" } else { "below" }),
        ),
    };
    Ok(Understood {
        answer: Answer { typed: typed.to_owned(), unit: Some(unit.symbol().to_owned()), value, sha256: None },
        cell,
        not_read: None,
    })
}

fn count(typed: &str) -> Result<Understood, Refusal> {
    let whole = parse_decimal(typed).filter(|value| value.is_integer() && *value >= Default::default());
    match whole {
        Some(value) => Ok(plain(typed, exact_text(&value), Scalar::Number(Real::Exact(value)))),
        None => {
            Err(Refusal::new(format!("\"{typed}\" is not a count.")).help("Type a whole number, 0 or more."))
        }
    }
}

fn yes_no(typed: &str) -> Result<Understood, Refusal> {
    match typed.to_lowercase().as_str() {
        "yes" | "y" => Ok(plain(typed, "yes".to_owned(), Scalar::YesNo(true))),
        "no" | "n" => Ok(plain(typed, "no".to_owned(), Scalar::YesNo(false))),
        _ => Err(Refusal::new(format!("\"{typed}\" is neither yes nor no.")).help("Type yes or no.")),
    }
}

fn choice(typed: &str, words: &[String]) -> Result<Understood, Refusal> {
    let lower = joined(typed);
    let exact = words.iter().find(|word| word.to_lowercase() == lower);
    let begins: Vec<_> = words.iter().filter(|word| word.to_lowercase().starts_with(&lower)).collect();
    match (exact, begins.as_slice()) {
        (Some(word), _) => Ok(plain(typed, word.clone(), Scalar::Word(word.as_str().into()))),
        (None, [word]) => Ok(plain(typed, word.to_string(), Scalar::Word(word.as_str().into()))),
        _ => Err(Refusal::new(match nearest(&lower, words.iter().map(String::as_str)) {
            Some(word) => {
                format!("\"{typed}\" is not one of the answers; did you mean {}?", wording::spoken(word))
            }
            None => format!("\"{typed}\" is not one of the answers."),
        })
        .help(one_of(words))),
    }
}

fn one_of(words: &[String]) -> String {
    format!("Type one of: {}.", wording::spoken(&words.join(", ")))
}

/// A word of the procedure as it is said: `three point` for `three_point`.
fn joined(typed: &str) -> String {
    typed.to_lowercase().split_whitespace().collect::<Vec<_>>().join("_")
}

/// Several words that are one answer, and no row.
pub fn is_one_choice(typed: &str, kind: &Kind) -> bool {
    matches!(kind, Kind::Choice(words) if words.iter().any(|word| word.to_lowercase() == joined(typed)))
}

fn date(typed: &str) -> Result<Understood, Refusal> {
    match called::day(typed) {
        Some(date) => Ok(plain(typed, date.to_string(), Scalar::Date(date))),
        None => Err(Refusal::new(format!("\"{typed}\" is not a date."))
            .help("Type it as year-month-day, such as 2026-03-02.")),
    }
}

fn text(typed: &str) -> Understood {
    let meant = unquoted(typed);
    plain(typed, meant.clone(), Scalar::Text(meant.as_str().into()))
}

fn plain(typed: &str, value: String, scalar: Scalar) -> Understood {
    Understood {
        answer: Answer { typed: typed.to_owned(), unit: None, value, sha256: None },
        cell: Cell::Known(scalar),
        not_read: None,
    }
}

/// The answer of a photograph whose file has been read by the caller.
pub fn photo(file: &str, sha256: &str) -> Understood {
    Understood {
        answer: Answer {
            typed: file.to_owned(),
            unit: None,
            value: file.to_owned(),
            sha256: Some(sha256.to_owned()),
        },
        cell: Cell::Known(Scalar::Photo { file: file.into(), sha256: sha256.into() }),
        not_read: None,
    }
}

/// The cell of an answer that stands on the record: the way back of `understand`.
pub fn recorded(answer: &Answer, kind: &Kind, unit: Option<Unit>, not_read: Option<&str>) -> Cell {
    let bad = |what: &str| Cell::Invalid(Rc::from(format!("the record holds {what} \"{}\"", answer.value)));
    if let Some(reason) = not_read {
        return Cell::NotRead(reason.into());
    }
    let number = |text: &str| {
        let value = crate::quantity::parse_exact(text).map(Real::Exact)?;
        Some(unit.map_or(value.clone(), |unit| unit.to_base(&value)))
    };
    match kind {
        Kind::Quantity(_) | Kind::Point | Kind::Count => {
            let (text, open) = match answer.value.split_once(' ') {
                Some(("over", rest)) => (rest, Some(true)),
                Some(("below", rest)) => (rest, Some(false)),
                _ => (answer.value.as_str(), None),
            };
            match (number(text), open) {
                (Some(value), None) => Cell::number(value),
                (Some(bound), Some(above)) => Cell::OpenEnded { bound, above },
                (None, _) => bad("as a number"),
            }
        }
        Kind::Arrow(_) => bad("as an arrow"),
        Kind::YesNo => Cell::yes_no(answer.value == "yes"),
        Kind::Choice(_) => Cell::Known(Scalar::Word(answer.value.as_str().into())),
        Kind::Text => Cell::Known(Scalar::Text(answer.value.as_str().into())),
        Kind::Date => match answer.value.parse() {
            Ok(date) => Cell::Known(Scalar::Date(date)),
            Err(_) => bad("as a date"),
        },
        Kind::Photo => Cell::Known(Scalar::Photo {
            file: answer.value.as_str().into(),
            sha256: answer.sha256.as_deref().unwrap_or_default().into(),
        }),
    }
}

// ------------------------------------------------------------------------------------------------ pieces

/// The values of a row: parted by blanks, by a comma with a blank, or by `;`. A number keeps the unit that follows it.
pub fn split_row(typed: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for part in split_separators(typed) {
        if strip_words(&part, "not read").is_some() || called::part_of_a_whole(&part).is_some() {
            values.push(part);
            continue;
        }
        let mut open_ended = false;
        for word in part.split_whitespace() {
            let begins_value =
                starts_number(word) || sign_of(word).is_some() || !open_ended_follows(values.last(), word);
            let joined = open_ended || !begins_value;
            open_ended = matches!(word.to_lowercase().as_str(), "over" | "above" | "below" | "under");
            match values.last_mut() {
                // A sign called out before its number.
                Some(last) if sign_of(last).is_some() && starts_number(word) => {
                    *last = sign_of(last).into_iter().chain(word.chars()).collect();
                }
                Some(last) if joined => {
                    last.push(' ');
                    last.push_str(word);
                }
                _ => values.push(word.to_owned()),
            }
        }
    }
    values
}

/// A sign that stands alone, also as it is called across the shop.
fn sign_of(word: &str) -> Option<char> {
    match word.to_lowercase().as_str() {
        "+" | "plus" => Some('+'),
        "\u{2212}" => Some('\u{2212}'),
        "-" | "minus" => Some('-'),
        _ => None,
    }
}

/// A word that is no number belongs to the number before it: its unit.
fn open_ended_follows(last: Option<&String>, word: &str) -> bool {
    let is_bound_word = matches!(word.to_lowercase().as_str(), "over" | "above" | "below" | "under");
    !is_bound_word
        && last.is_some_and(|last| {
            starts_number(last.trim_start_matches(|c: char| c.is_alphabetic() || c == ' '))
        })
}

fn split_separators(typed: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut quoted = false;
    let mut characters = typed.chars().peekable();
    while let Some(c) = characters.next() {
        let next_is_blank = characters.peek().is_none_or(|next| next.is_whitespace());
        let parts_here = !quoted && (c == ';' || (c == ',' && next_is_blank));
        if c == '"' {
            quoted = !quoted;
        }
        match parts.last_mut() {
            Some(part) if !parts_here => part.push(c),
            _ => parts.push(String::new()),
        }
    }
    parts.into_iter().map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
}

fn starts_number(word: &str) -> bool {
    let mut characters = word.chars();
    match characters.next() {
        Some(c) if c.is_ascii_digit() => true,
        Some('+' | '-' | '\u{2212}' | '.' | ',') => {
            characters.next().is_some_and(|c| c.is_ascii_digit() || c == '.' || c == ',')
        }
        _ => false,
    }
}

/// Figures (with sign, blank after the sign closed up) and what follows them.
pub(super) fn split_number(typed: &str) -> (String, String) {
    let typed = typed.trim();
    if let Some((word, rest)) = typed.split_once(char::is_whitespace)
        && let Some(sign) = sign_of(word)
        && rest.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
    {
        let (figures, after) = split_number(rest);
        return (std::iter::once(sign).chain(figures.chars()).collect(), after);
    }
    let (sign, rest) = match typed.chars().next() {
        Some(c @ ('+' | '-' | '\u{2212}')) => (Some(c), typed.get(c.len_utf8()..).unwrap_or("").trim_start()),
        _ => (None, typed),
    };
    let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(rest.len());
    let (figures, after) = rest.split_at(end);
    (sign.into_iter().chain(figures.chars()).collect(), after.to_owned())
}

/// What follows the leading words, if the text begins with them as whole words.
pub fn strip_words<'a>(text: &'a str, words: &str) -> Option<&'a str> {
    let head = text.get(..words.len())?;
    let rest = text.get(words.len()..)?;
    let ends = rest.chars().next().is_none_or(|c| !c.is_alphanumeric() && c != '_');
    (head.eq_ignore_ascii_case(words) && ends).then(|| rest.trim())
}

/// A text without the quotes around it, its escapes undone.
pub fn unquoted(text: &str) -> String {
    let text = text.trim();
    match text.strip_prefix('"').and_then(|inner| inner.strip_suffix('"')) {
        Some(inner) => inner.replace("\\\"", "\"").replace("\\\\", "\\"),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn in_mm() -> Kind {
        Kind::Quantity(Unit::Mm.dimension())
    }

    fn asked(kind: &Kind) -> Asked<'_> {
        Asked { kind, unit: Some(Unit::Mm), not_read_allowed: true, open_ended_allowed: true }
    }

    fn value(typed: &str) -> String {
        understand(typed, &asked(&in_mm())).unwrap().answer.value
    }

    #[test]
    fn a_bare_number_takes_the_unit_of_the_question() {
        assert_eq!(value("-0.0040"), "-0.004");
        assert_eq!(value("+0,006"), "0.006");
        assert_eq!(value("\u{2212} 0.006"), "-0.006");
    }

    #[test]
    fn another_unit_is_converted_exactly() {
        assert_eq!(value("0.4 thou"), "0.01016");
        assert_eq!(value("4um"), "0.004");
        assert_eq!(value("over 1 inch"), "over 25.4");
    }

    #[test]
    fn a_sign_with_a_blank_behind_it_belongs_to_its_number() {
        assert_eq!(split_row("\u{2212} 0,004"), ["\u{2212}0,004"]);
        assert_eq!(split_row("0 - 0.002 + 4 um"), ["0", "-0.002", "+4 um"]);
    }

    #[test]
    fn a_sign_may_be_said_in_words() {
        assert_eq!(value("minus 0,004"), "-0.004");
        assert_eq!(value("Plus 4 um"), "0.004");
        assert_eq!(split_row("minus 0,004 plus 0,002, minus 3 um"), ["-0,004", "+0,002", "-3 um"]);
        assert_eq!(split_row("plus minus plus"), ["plus", "minus", "plus"], "answers, and no signs");
        for typed in ["minus", "minus four", "minus -4", "minus minus 4", "plus minus 4"] {
            assert!(understand(typed, &asked(&in_mm())).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_word_of_two_meanings_is_refused_with_both() {
        let refusal = understand("4 tenths", &asked(&in_mm())).unwrap_err();
        assert!(refusal.message.contains("tenths of a millimetre"), "{refusal:?}");
        assert!(refusal.help.unwrap().contains("0.4 mm"));
    }

    #[test]
    fn a_unit_of_another_kind_is_refused() {
        assert!(understand("3 min", &asked(&in_mm())).is_err());
        assert!(understand("rubbish", &asked(&in_mm())).is_err());
        assert!(understand("1.2.3", &asked(&in_mm())).is_err());
    }

    #[test]
    fn rows_are_parted_by_blanks_commas_with_a_blank_and_semicolons() {
        assert_eq!(split_row("0, -0.002; 0,5 1 um"), ["0", "-0.002", "0,5", "1 um"]);
        assert_eq!(split_row("over 200, 3"), ["over 200", "3"]);
        assert_eq!(split_row("0.4 thou 0.5 thou"), ["0.4 thou", "0.5 thou"]);
        assert_eq!(split_row("yes yes no"), ["yes", "yes", "no"]);
        assert_eq!(split_row("1, not read \"wall, far side\", 2"), ["1", "not read \"wall, far side\"", "2"]);
    }

    #[test]
    fn a_recorded_answer_gives_the_same_cell_back() {
        let kind = in_mm();
        for typed in ["0.4 thou", "-3 um", "over 2", "below 0.1 mm"] {
            let understood = understand(typed, &asked(&kind)).unwrap();
            assert_eq!(recorded(&understood.answer, &kind, Some(Unit::Mm), None), understood.cell);
        }
    }
}
