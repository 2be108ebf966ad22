//! What was altered on the machine: as it stands on the record, and as it is called across the shop.

use serde::{Deserialize, Serialize};

use crate::check::program::{Beside, Kind};
use crate::quantity::{Dimension, Unit};

use super::commands::quoted;
use super::entry::{self, Asked, understand};
use super::event::Answer;
use super::question::Refusal;

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alteration {
    pub step: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adjustment: Option<String>,
    /// What was altered, in words; of an adjustment a remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// Where: stations of the adjustment, or one place in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stations: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amount: Option<Answer>,
    /// Which way, in words. The amount of an adjustment says it by its sign.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub toward: Option<String>,
    /// With which its bolts were tightened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torque: Option<Answer>,
    /// Who did it, if not the operator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advised: Option<String>,
}

impl Alteration {
    /// Of `step`, with all that was said beside it.
    pub(super) fn of(step: String, beside: &Beside) -> Result<Self, Refusal> {
        let torque = beside.torque.as_deref().map(torque).transpose()?;
        let amount = beside.moved.as_deref().map(amount).transpose()?;
        let by = beside.by.as_deref().map(name).transpose()?;
        Ok(Self {
            step,
            stations: beside.at.iter().cloned().collect(),
            amount,
            toward: beside.toward.clone(),
            torque,
            by,
            ..Self::default()
        })
    }

    /// `; torque 25 Nm; by Bo Example`
    pub(super) fn beside_in_words(&self) -> String {
        let torque = self.torque.as_ref().map(|torque| format!("; torque {}", torque.in_words()));
        let by = self.by.as_ref().map(|by| format!("; by {by}"));
        torque.into_iter().chain(by).collect()
    }

    /// What was altered in words, with where, by how much and which way.
    pub(super) fn in_words(&self) -> String {
        let mut said = self.what.clone().unwrap_or_default();
        if let Some(place) = self.stations.first() {
            said.push_str(&format!(", at {place}"));
        }
        if let Some(amount) = &self.amount {
            said.push_str(&format!(", moved {}", amount.in_words()));
        }
        if let Some(toward) = &self.toward {
            said.push_str(&format!(", toward {toward}"));
        }
        said + &self.beside_in_words()
    }
}

impl Answer {
    /// As typed, with its unit.
    pub(super) fn in_words(&self) -> String {
        match &self.unit {
            Some(unit) if !self.typed.ends_with(|c: char| c.is_alphabetic()) => {
                format!("{} {unit}", self.typed)
            }
            _ => self.typed.clone(),
        }
    }
}

pub(super) fn torque(typed: &str) -> Result<Answer, Refusal> {
    let answer = quantity(typed, Dimension::TORQUE, Unit::Nm)?;
    match answer.value.starts_with('-') || answer.value == "0" {
        true => Err(Refusal::new(format!("\"{typed}\" is no torque.")).help("Type it so: torque 25 Nm")),
        false => Ok(answer),
    }
}

/// In the unit in which it is said.
pub(super) fn amount(typed: &str) -> Result<Answer, Refusal> {
    let unit = typed.trim_start_matches(|c: char| !c.is_alphabetic() && c != '%' && c != '/');
    match Unit::parse(unit.trim()) {
        Some(unit) => quantity(typed, unit.dimension(), unit),
        None => Err(Refusal::new(format!("\"{typed}\" does not say by how much."))
            .help("Type it with its unit: moved 0.05 mm")),
    }
}

fn quantity(typed: &str, dimension: Dimension, unit: Unit) -> Result<Answer, Refusal> {
    let kind = Kind::Quantity(dimension);
    let asked = Asked { kind: &kind, unit: Some(unit), not_read_allowed: false, open_ended_allowed: false };
    Ok(understand(typed, &asked)?.answer)
}

fn name(typed: &str) -> Result<String, Refusal> {
    match typed.trim() {
        "" => Err(Refusal::new("It is not said who did it.").help("Type the name: by \"Bo Example\"")),
        name => Ok(name.to_owned()),
    }
}

// ------------------------------------------------------------------------------------------------ at the bench

const WORDS: [&str; 5] = ["at", "moved", "toward", "torque", "by"];

/// Parts what was done from what is said beside it: `feet raised, at the front, torque 25 N m, by Bo Example`. Of words
/// without quotes each such part begins behind a comma, unless `plain`: then a blank will do. A part that cannot be
/// what its word says stays with the words before it: one may raise a foot, by hand.
pub(super) fn parted(typed: &str, plain: bool) -> (&str, Beside) {
    let mut beside = Beside::default();
    let (mut done, mut end) = (typed, typed.len());
    for at in starts(typed, plain).into_iter().rev() {
        let part = typed.get(at..end).unwrap_or_default().trim_start_matches([',', ' ', '\t']);
        let (word, said) = part.split_once(char::is_whitespace).unwrap_or((part, ""));
        let said = said.trim().trim_end_matches(',').trim_end();
        let place = match word {
            "at" => &mut beside.at,
            "moved" => &mut beside.moved,
            "toward" => &mut beside.toward,
            "torque" => &mut beside.torque,
            _ => &mut beside.by,
        };
        if !may_be(word, said) || place.is_some() {
            continue;
        }
        *place = Some(entry::unquoted(said));
        done = typed.get(..at).unwrap_or_default();
        end = at;
    }
    (done.trim().trim_end_matches(',').trim_end(), beside)
}

/// Where a part may begin, outside quotes.
fn starts(typed: &str, plain: bool) -> Vec<usize> {
    let mut starts = Vec::new();
    let mut quotes = 0;
    let whole = typed.matches('"').count().is_multiple_of(2);
    for (at, character) in typed.char_indices() {
        if character == '"' && whole {
            quotes += 1;
        }
        let parts = character == ',' || (plain && character.is_whitespace());
        if !parts || quotes % 2 == 1 {
            continue;
        }
        let rest = typed.get(at..).unwrap_or_default().trim_start_matches([',', ' ', '\t']);
        let word = rest.split(char::is_whitespace).next().unwrap_or_default();
        if WORDS.contains(&word) {
            starts.push(at);
        }
    }
    starts
}

fn may_be(word: &str, said: &str) -> bool {
    let first = said.trim_start_matches('"').chars().next();
    match word {
        // Names begin with a capital, where a script has them.
        "by" => first.is_some_and(|c| c.is_alphabetic() && !c.is_lowercase()) || said.starts_with('"'),
        "moved" | "torque" => first.is_some_and(|c| c.is_ascii_digit() || matches!(c, '+' | '-' | '.')),
        _ => first.is_some(),
    }
}

/// As the grammar has it.
pub(super) fn put(beside: &Beside) -> String {
    let mut line = String::new();
    for (word, said) in [
        ("at", beside.at.as_deref().map(quoted)),
        ("moved", beside.moved.as_deref().map(closed_up)),
        ("toward", beside.toward.as_deref().map(quoted)),
        ("torque", beside.torque.as_deref().map(closed_up)),
        ("by", beside.by.as_deref().map(quoted)),
    ] {
        if let Some(said) = said {
            line.push_str(&format!(" {word} {said}"));
        }
    }
    line
}

/// A quantity with a point and the symbol of its unit: `25 N m` is `25 Nm`.
fn closed_up(typed: &str) -> String {
    let comma = typed.replace(',', ".");
    let (number, unit) = comma.split_at(comma.find(|c: char| c.is_alphabetic()).unwrap_or(comma.len()));
    let unit = unit.replace(['\u{b7}', ' '], "");
    format!("{} {unit}", number.trim().trim_start_matches('+')).trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_called_is_parted_and_what_only_sounds_so_stays() {
        let (done, beside) =
            parted("front foot raised, at the left, moved 0,05 mm, torque 25 N m, by Bo Example", false);
        assert_eq!(done, "front foot raised");
        assert_eq!(put(&beside), " at \"the left\" moved 0.05 mm torque 25 Nm by \"Bo Example\"");
        for whole in [
            "swivelled, by hand",
            "belt slackened by Bo",
            "moved, torque unknown",
            "raised 1/2\" at the front",
        ] {
            assert_eq!(parted(whole, false), (whole, Beside::default()));
        }
        let (done, beside) = parted("0.06 mm torque 30 N\u{b7}m by Bo Example", true);
        assert_eq!((done, put(&beside).as_str()), ("0.06 mm", " torque 30 Nm by \"Bo Example\""));
        let (done, beside) = parted("\"loosened, at last\" by \"bo\"", true);
        assert_eq!((done, put(&beside).as_str()), ("\"loosened, at last\"", " by \"bo\""));
    }

    #[test]
    fn a_torque_is_more_than_none_and_an_amount_has_a_unit() {
        assert_eq!(torque("25 N m").map(|it| it.value), Ok("25".to_owned()));
        assert!(torque("-25 Nm").is_err() && torque("0").is_err() && torque("25 mm").is_err());
        assert_eq!(
            amount("-0.05 mm").map(|it| (it.value, it.unit)),
            Ok(("-0.05".to_owned(), Some("mm".to_owned())))
        );
        assert!(amount("0.05").is_err() && amount("much").is_err());
    }
}
