//! Texts, values and stations as a line of an example has them.

use crate::check::program::Value;
use crate::quantity::{Real, Unit, exact_text, parse_exact};

pub use super::super::commands::quoted;
use super::super::event::Answer;

/// A value as it is entered: a bare number in the unit of the question, a word, a text.
pub fn value(definition: &Value, answer: Option<&Answer>, not_read: Option<&str>) -> String {
    use crate::check::program::Kind;
    if let Some(reason) = not_read {
        return format!("not read {}", quoted(reason));
    }
    let Some(answer) = answer else { return "not read \"\"".to_owned() };
    match &definition.kind {
        Kind::Text | Kind::Photo => quoted(&answer.value),
        // A choice may be any word, also one that the grammar has for something else.
        Kind::Choice(_) if !is_plain_word(&answer.value) => quoted(&answer.value),
        Kind::Quantity(_) | Kind::Point => number(definition.unit, answer),
        _ => answer.value.clone(),
    }
}

fn is_plain_word(word: &str) -> bool {
    word.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
        && word.starts_with(|c: char| c.is_ascii_alphabetic())
}

/// With its unit, as a fact or an amount is written.
pub fn amount(definition: &Value, answer: &Answer) -> String {
    let bare = value(definition, Some(answer), None);
    let is_bare = !bare.contains(' ') && parse_exact(&bare).is_some();
    match definition.unit.filter(|_| is_bare) {
        Some(unit) => format!("{bare} {}", unit.symbol()),
        None => bare,
    }
}

fn number(unit: Option<Unit>, answer: &Answer) -> String {
    let (bound, text) = match answer.value.split_once(' ') {
        Some((bound, text)) => (format!("{bound} "), text),
        None => (String::new(), answer.value.as_str()),
    };
    if !text.contains('/') {
        return format!("{bound}{text}");
    }
    // A third of a degree has no decimal: it goes back to the unit in which it was typed.
    let typed_in = answer.unit.as_deref().and_then(Unit::parse);
    let back = typed_in.zip(unit).zip(parse_exact(text)).and_then(|((typed_in, unit), exact)| {
        let back = Unit::convert(&Real::Exact(exact), unit, typed_in)?;
        Some(format!("{bound}{} {}", exact_text(back.exact()?), typed_in.symbol()))
    });
    back.unwrap_or_else(|| format!("{bound}{text}"))
}
