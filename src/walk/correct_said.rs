//! `correct` as it is called across the shop, put as the grammar has it: `correct move 1 to 0.05 mm because heard wrong`.

use crate::check::program::{Program, SaidKind};
use crate::quantity::Unit;

use super::commands::quoted;
use super::entry;
use super::question::Refusal;

/// Where no reason is given.
const SLIP: &str = "typed wrong";

/// The words that name a part, behind the number.
const PARTS: [&str; 8] = ["which", "at", "moved", "toward", "torque", "by", "remark", "photo"];

/// What stands behind `correct`, if it names something that was said by its number.
pub(super) fn completed(rest: &str) -> Option<String> {
    let (head, rest) = head(rest)?;
    let rest = without_equals(rest);
    if rest.is_empty() {
        return None;
    }
    let (value, reason) = value_and_reason(&head, rest);
    Some(format!("correct {head} = {value} because {}", as_text(reason)))
}

/// The picture that `correct defect 1 photo = ...` names.
pub(super) fn photo(line: &str) -> Option<String> {
    let (first, rest) = line.split_once(char::is_whitespace)?;
    let (head, rest) = head(rest.trim()).filter(|_| first.eq_ignore_ascii_case("correct"))?;
    let (value, _) = value_and_reason(&head, without_equals(rest));
    head.ends_with(" photo").then(|| entry::unquoted(&value))
}

/// `correct move 1` without what is right: it is asked for.
pub(super) fn alone(line: &str) -> Option<(SaidKind, u32)> {
    let (first, rest) = line.split_once(char::is_whitespace)?;
    let (head, rest) = head(rest.trim()).filter(|_| first.eq_ignore_ascii_case("correct"))?;
    let mut words = head.split(' ');
    let (kind, number) = (SaidKind::parse(words.next()?)?, words.next()?.parse().ok()?);
    (words.next().is_none() && without_equals(rest).is_empty()).then_some((kind, number))
}

/// Why something that was said is not corrected by that word, and what to type.
pub(super) fn what_to_type(line: &str, is_instrument: impl Fn(&str) -> bool) -> Option<Refusal> {
    let rest = line.strip_prefix("correct ")?.trim();
    let word = rest.split([' ', '.', '=']).next()?.to_lowercase();
    let stands =
        |what: &str, help: &str| Some(Refusal::new(format!("{what} stands as it was given.")).help(help));
    let note = "If it was wrong, say so beside it: note \"...\"";
    match word.as_str() {
        "confirm" => stands("A confirmation", "If it is not so, stop: stop \"why\". What is so can be noted: note \"...\""),
        "sign" | "signature" => stands("A signature", "What became known later is added with: bedway amend"),
        "pause" | "wait" | "take" | "again" | "end" | "rejoin" => stands("That", note),
        "using" => Some(Refusal::new("Another instrument is said with using, one that was typed wrong by its number.").help(
            "Typed wrong: correct instrument 1 = \"DI-07\" \"why\"; show words lists them. Another one from here on: using and \
             its name; what was read before stays with the one it was read with.",
        )),
        "adjust" | "altered" => Some(how("move", "what was moved has a number")),
        "defects" | "list" => Some(Refusal::new("A list is given anew.").help("Type it so: list L2.foot = \"front\", \"rear\"")),
        word if word == SaidKind::Instrument.word() || is_instrument(word) => {
            Some(Refusal::new("Which one is meant? The first instrument that was given is instrument 1.").help(
                "Type it so: correct instrument 1 = \"DI-07\" \"why\". show words lists them.",
            ))
        }
        _ => SaidKind::parse(&word).map(|kind| how(kind.word(), "it is named by its number")),
    }
}

/// `correct L4 125 = 0.6`: a step is named, and not which of its readings.
pub(super) fn of_a_step(program: &Program, line: &str) -> Option<Refusal> {
    let rest = line.strip_prefix("correct ")?.trim();
    let name = rest.split([' ', '=', '[']).next().filter(|name| !name.is_empty())?;
    let step = program.steps.iter().find(|step| step.name.eq_ignore_ascii_case(name))?;
    let readings: Vec<String> = step
        .items
        .iter()
        .filter_map(super::directory::item_value)
        .map(|value| format!("{}.{}", step.name, program.values[value.0].name))
        .collect();
    let first = readings.first()?;
    let asked = program.values.iter().find(|value| format!("{}.{}", step.name, value.name) == *first);
    let at = if asked.is_some_and(|value| value.axes.is_empty()) { "" } else { "[PLACE]" };
    Some(Refusal::new(format!("Which of the answers in {} is meant?", step.name)).help(format!(
        "It has {}. Type it so: correct {first}{at} = VALUE \"why\". show {} has them as they are written.",
        readings.join(", "),
        step.name
    )))
}

fn how(word: &str, why: &str) -> Refusal {
    Refusal::new(format!("Which {word} is meant? Of what was said, {why}.")).help(format!(
        "Type it so: correct {word} 1 = ... \"why\". show words lists what was said, show L3 what was moved in L3."
    ))
}

/// `move 1 torque`, and what stands behind it.
fn head(rest: &str) -> Option<(String, &str)> {
    let (kind, rest) = rest.split_once(char::is_whitespace)?;
    let kind = SaidKind::parse(&kind.to_lowercase())?;
    let rest = rest.trim_start();
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (number, behind) = rest.split_at(end);
    let number: u32 = number.parse().ok()?;
    let named = behind.trim_start();
    let word = named.split([' ', '\t', '=']).next().unwrap_or_default();
    if let Some(behind) =
        named.strip_prefix("calibrated").and_then(|it| it.trim_start().strip_prefix("until"))
    {
        return Some((format!("{} {number} calibrated until", kind.word()), behind));
    }
    let is_part = PARTS.contains(&word) && named.len() < behind.len();
    // Behind a part the value follows; "by hand" alone would be a text.
    match is_part {
        true => Some((format!("{} {number} {word}", kind.word()), &named[word.len()..])),
        false => Some((format!("{} {number}", kind.word()), behind)),
    }
}

/// Behind the equals sign, or behind `to`, which is said instead.
pub(super) fn without_equals(rest: &str) -> &str {
    let rest = rest.trim();
    let rest = rest.strip_prefix("to ").unwrap_or(rest);
    rest.trim_start_matches(['=', ' ', '\t'])
}

fn value_and_reason<'r>(head: &str, rest: &'r str) -> (String, &'r str) {
    let (said, because) = match split_because(rest) {
        Some((said, because)) => (said, Some(because)),
        None => (rest, None),
    };
    let (value, behind) = value(head, said);
    let reason = because.or(Some(behind).filter(|it| !it.is_empty())).unwrap_or(SLIP);
    (value, reason)
}

/// The value at the beginning, as the grammar has it, and what stands behind it.
fn value<'r>(head: &str, said: &'r str) -> (String, &'r str) {
    if let Some((text, behind)) = quoted_head(said) {
        return (text.to_owned(), behind);
    }
    let word_end = said.find(char::is_whitespace).unwrap_or(said.len());
    let (first, behind) = said.split_at(word_end);
    if first == "never" {
        return (first.to_owned(), behind.trim());
    }
    if head.ends_with("until") {
        return (first.trim_end_matches(',').to_owned(), behind.trim());
    }
    if head.starts_with("instrument") {
        return instrument(said);
    }
    if head.ends_with("which") {
        let end = said.find(']').map_or(word_end, |at| at + 1);
        return (said[..end].to_owned(), said[end..].trim());
    }
    let takes_number =
        head.ends_with("torque") || head.ends_with("moved") || head.ends_with(|c: char| c.is_ascii_digit());
    let is_of_numbers = head.starts_with("move") || head.starts_with("room");
    let taken = if takes_number && is_of_numbers { number(said) } else { None };
    taken.unwrap_or_else(|| (as_text(said), ""))
}

/// `DI-07`, `DI-07, 2027-03-01`, or `dial "DI-07", resolution 0.001 mm` as behind `using`.
fn instrument(said: &str) -> (String, &str) {
    let (first, rest) = word(said);
    if rest.starts_with('"') && said.contains("\",") {
        // A reason in quotes stands last, and the number first.
        let ends = said.trim_end().strip_suffix('"').and_then(|it| it.rfind('"'));
        let reason = ends.filter(|at| said[..*at].matches('"').count() == 2);
        return match reason {
            Some(at) => (said[..at].trim().to_owned(), &said[at..]),
            None => (said.to_owned(), ""),
        };
    }
    let is_number = first.contains(|c: char| c.is_ascii_digit());
    if let (false, Some((number, behind))) = (is_number, quoted_head(rest)) {
        return (number.to_owned(), behind);
    }
    if let Some(number) = first.strip_suffix(',') {
        let (date, behind) = word(rest);
        return (as_text(&format!("{number}, {date}")), behind);
    }
    match is_number {
        true => (as_text(first), rest),
        false => (as_text(said), ""),
    }
}

/// A number with its sign and its unit, each as it is called: `minus 0,05`, `25 N m`.
fn number(said: &str) -> Option<(String, &str)> {
    let (first, rest) = word(said);
    let (sign, number, rest) = match first.to_lowercase().as_str() {
        "minus" | "-" => ("-", word(rest).0, word(rest).1),
        "plus" | "+" => ("", word(rest).0, word(rest).1),
        _ => ("", first.strip_prefix('+').unwrap_or(first), rest),
    };
    if !number.trim_start_matches('-').starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return None;
    }
    let value = format!("{sign}{number}");
    let ((one, behind_one), (two, behind_two)) = (word(rest), word(word(rest).1));
    let joined = format!("{one}{two}").replace('\u{b7}', "");
    let is_unit = |unit: &str| !unit.is_empty() && Unit::parse(unit).is_some();
    Some(match (is_unit(one), is_unit(two) && is_unit(&joined)) {
        (_, true) => (format!("{value} {joined}"), behind_two),
        (true, false) => (format!("{value} {one}"), behind_one),
        (false, false) => (value, rest),
    })
}

/// The first word and what stands behind it.
fn word(text: &str) -> (&str, &str) {
    let text = text.trim_start();
    let (word, rest) = text.split_at(text.find(char::is_whitespace).unwrap_or(text.len()));
    (word, rest.trim_start())
}

/// A text in quotes at the beginning.
pub(super) fn quoted_head(said: &str) -> Option<(&str, &str)> {
    let inner = said.strip_prefix('"')?;
    let mut escaped = false;
    let end = inner.char_indices().find(|(_, c)| {
        let ends = *c == '"' && !escaped;
        escaped = *c == '\\' && !escaped;
        ends
    });
    let end = end.map(|(at, _)| at + 2)?;
    Some((said.get(..end)?, said.get(end..)?.trim()))
}

/// `because` outside quotes, and no word of the value before it.
pub(super) fn split_because(text: &str) -> Option<(&str, &str)> {
    let mut from = 0;
    while let Some(at) = text.get(from..)?.find(" because ").map(|at| at + from) {
        if text[..at].matches('"').count().is_multiple_of(2) {
            return Some((text[..at].trim(), text[at + " because ".len()..].trim()));
        }
        from = at + 1;
    }
    None
}

fn as_text(text: &str) -> String {
    if text.starts_with('"') { text.to_owned() } else { quoted(text) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_called_is_put_as_it_is_written() {
        for (called, put) in [
            ("move 1 0,05 mm", r#"correct move 1 = 0,05 mm because "typed wrong""#),
            ("move 2 = minus 0,05 heard wrong", r#"correct move 2 = -0,05 because "heard wrong""#),
            (
                "move 1 to 0.05 because one nought too many",
                r#"correct move 1 = 0.05 because "one nought too many""#,
            ),
            ("move 1 never", r#"correct move 1 = never because "typed wrong""#),
            ("Move 1 = never \"it was L4\"", r#"correct move 1 = never because "it was L4""#),
            ("move 1 torque 25 N m misheard", r#"correct move 1 torque = 25 Nm because "misheard""#),
            ("move 1 by Bo Example", r#"correct move 1 by = "Bo Example" because "typed wrong""#),
            (
                "move 3 front bolt turned back",
                r#"correct move 3 = "front bolt turned back" because "typed wrong""#,
            ),
            ("move 1 at rear because misheard", r#"correct move 1 at = "rear" because "misheard""#),
            (
                "move 1 which L3.shim[rear] misheard",
                r#"correct move 1 which = L3.shim[rear] because "misheard""#,
            ),
            (r#"instrument 1 = DI-07 "misread""#, r#"correct instrument 1 = "DI-07" because "misread""#),
            (r#"instrument 1 = dial "DI-07" misread"#, r#"correct instrument 1 = "DI-07" because "misread""#),
            ("room 1 19,5 misheard", r#"correct room 1 = 19,5 because "misheard""#),
            ("note 2 lamp moved left", r#"correct note 2 = "lamp moved left" because "typed wrong""#),
            ("instrument 1 DI-07 misread", r#"correct instrument 1 = "DI-07" because "misread""#),
            (
                "instrument 1 to DI-07, 2027-03-01 because misread",
                r#"correct instrument 1 = "DI-07, 2027-03-01" because "misread""#,
            ),
            (
                "instrument 1 calibrated until 2027-03-01 one year off",
                r#"correct instrument 1 calibrated until = 2027-03-01 because "one year off""#,
            ),
            (
                r#"instrument 1 = dial "DI-07", resolution 0.001 mm because "misread""#,
                r#"correct instrument 1 = dial "DI-07", resolution 0.001 mm because "misread""#,
            ),
            (
                r#"instrument 1 = dial "DI-07", resolution 0.001 mm "misread""#,
                r#"correct instrument 1 = dial "DI-07", resolution 0.001 mm because "misread""#,
            ),
            (
                r#"note 2 "lamp moved left" misheard"#,
                r#"correct note 2 = "lamp moved left" because "misheard""#,
            ),
            (
                r#"defect 1 = "tray" "it was the tray""#,
                r#"correct defect 1 = "tray" because "it was the tray""#,
            ),
        ] {
            assert_eq!(completed(called).as_deref(), Some(put), "{called}");
        }
        assert_eq!(completed("L3.tilt = 5 \"why\""), None);
        assert_eq!(photo(r#"correct defect 1 photo = "a b.jpg" "wrong one""#).as_deref(), Some("a b.jpg"));
    }
}
