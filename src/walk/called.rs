//! Values as they are called across the shop and not written: `half a division`, `1/64 in`, a row with one unit for all.

use jiff::civil::Date;

use crate::check::program::{Kind, StepId, ValueId};
use crate::quantity::Unit;

use super::entry::{self, Asked, Understood, split_row, what_to_type};
use super::machine::Machine;
use super::question::Refusal;

/// Parts of a whole that people name, as figures.
const PARTS: [(&str, &str); 4] =
    [("half", "0.5"), ("three quarters", "0.75"), ("three-quarters", "0.75"), ("quarter", "0.25")];

/// What a rule or a drill is marked in, with the figures of one of them.
const MARKED: [(&str, u32, usize); 6] =
    [("2", 2, 1), ("4", 4, 2), ("8", 8, 3), ("16", 16, 4), ("32", 32, 5), ("64", 64, 6)];

/// `half a division`, `minus a quarter`, `1/64 in` as it is written: `0.5 division`. None: it is something else.
pub(super) fn part_of_a_whole(typed: &str) -> Option<String> {
    let typed = typed.trim();
    let (sign, rest) = signed(typed).unwrap_or(("", typed));
    let sign = if matches!(sign.trim(), "minus" | "-" | "\u{2212}") { "-" } else { "" };
    let (figures, unit) = named_part(rest).or_else(|| fraction(rest))?;
    Some(format!("{sign}{figures} {unit}").trim_end().to_owned())
}

fn signed(typed: &str) -> Option<(&'static str, &str)> {
    ["minus ", "plus ", "-", "+", "\u{2212}"].into_iter().find_map(|sign| {
        let head = typed.get(..sign.len())?;
        head.eq_ignore_ascii_case(sign).then(|| (sign, typed[sign.len()..].trim_start()))
    })
}

fn named_part(rest: &str) -> Option<(String, &str)> {
    let rest = without_word(without_word(rest, "one"), "a");
    let (name, figures) = PARTS.iter().find(|(name, _)| {
        let head = rest.get(..name.len()).unwrap_or_default();
        head.eq_ignore_ascii_case(name) && rest[name.len()..].chars().next().is_none_or(char::is_whitespace)
    })?;
    let unit = without_word(rest[name.len()..].trim_start(), "of");
    let unit = without_word(without_word(unit, "a"), "an");
    Some(((*figures).to_owned(), unit))
}

fn without_word<'t>(text: &'t str, word: &str) -> &'t str {
    match text.split_once(' ') {
        Some((first, rest)) if first.eq_ignore_ascii_case(word) => rest.trim_start(),
        _ => text,
    }
}

/// `3/64 in`.
fn fraction(rest: &str) -> Option<(String, &str)> {
    let (over, behind) = rest.split_once('/')?;
    let over: u32 = over.parse().ok().filter(|over| *over <= 1000)?;
    let end = behind.find(|c: char| !c.is_ascii_digit()).unwrap_or(behind.len());
    let (_, under, decimals) = MARKED.iter().find(|(digits, ..)| *digits == &behind[..end])?;
    Some((format!("{:.*}", decimals, f64::from(over) / f64::from(*under)), behind[end..].trim_start()))
}

/// `10 1/2 in`, `10-1/2 in` where only one value is asked for: `10.5 in`.
pub(super) fn whole_and_part(typed: &str) -> Option<String> {
    let (sign, rest) = signed(typed.trim()).unwrap_or(("", typed.trim()));
    let sign = if matches!(sign.trim(), "minus" | "-" | "\u{2212}") { "-" } else { "" };
    let (whole, part) = rest.split_once([' ', '-'])?;
    let whole: u32 = whole.parse().ok()?;
    let (part, unit) = fraction(part.trim_start())?;
    let decimals = part.strip_prefix("0.")?;
    Some(format!("{sign}{whole}.{decimals} {unit}").trim_end().to_owned())
}

/// Signed or decimal numbers, perhaps with a unit: readings called out too early.
pub fn looks_like_a_reading(text: &str) -> bool {
    if part_of_a_whole(text).is_some() {
        return true;
    }
    let row = split_row(text);
    if row.len() > 1 {
        return row.iter().all(|value| looks_like_a_reading(value) || value.parse::<u64>().is_ok());
    }
    let text = row.first().map_or(text, String::as_str);
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let digits = number.trim_start_matches(['+', '-']);
    let is_number = digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let is_decimal = digits.len() < number.len() || digits.contains(['.', ',']);
    let is_unit = || Unit::parse(unit.trim()).is_some() || matches!(unit.trim(), "C" | "F");
    is_number && if unit.is_empty() { is_decimal } else { is_unit() }
}

/// A number as it was typed, put as it is written: `minus ,5um` is `-0.5 um`. All its figures stay.
pub fn written(typed: &str, unit: &str) -> Option<String> {
    let part = part_of_a_whole(typed).or_else(|| whole_and_part(typed));
    let (figures, _) = entry::split_number(part.as_deref().unwrap_or(typed.trim()));
    let figures = figures.replace(',', ".").replace('\u{2212}', "-");
    let (sign, figures) = match figures.strip_prefix('-') {
        Some(figures) => ("-", figures),
        None => ("", figures.strip_prefix('+').unwrap_or(&figures)),
    };
    let nought = if figures.starts_with('.') { "0" } else { "" };
    figures.contains(|c: char| c.is_ascii_digit()).then(|| format!("{sign}{nought}{figures} {unit}"))
}

/// A day as year-month-day, or with points as 24.11.2026, where the day always comes first.
pub(super) fn day(typed: &str) -> Option<Date> {
    let typed = typed.trim();
    if let Ok(date) = typed.parse::<Date>() {
        return Some(date);
    }
    let parts: Vec<&str> = typed.split('.').collect();
    let [day, month, year] = parts.as_slice() else { return None };
    let is_year = year.len() == 4;
    Date::new(year.parse().ok().filter(|_| is_year)?, month.parse().ok()?, day.parse().ok()?).ok()
}

impl Machine {
    /// What is typed for the stations from `first` on, parted into its values.
    pub(super) fn parts(&self, step: StepId, value: ValueId, first: usize, typed: &str) -> Vec<String> {
        let kind = &self.program.values[value.0].kind;
        let one = || vec![typed.to_owned()];
        let is_last = || self.sheet(step, value).is_ok_and(|sheet| sheet.cells.len() == first + 1);
        match kind {
            Kind::Text | Kind::Photo => one(),
            // Of one that is left, `not sure` is no row of two.
            Kind::Choice(_) | Kind::YesNo if entry::is_one_choice(typed, kind) || is_last() => one(),
            Kind::Quantity(_) | Kind::Point if !typed.contains(|c: char| c.is_ascii_digit()) && is_last() => {
                one()
            }
            _ => row(typed),
        }
    }

    /// One value. A picture is known by its digest, which the caller has read.
    pub(super) fn understood(&self, value: ValueId, typed: &str) -> Result<Understood, Refusal> {
        let is_not_read = entry::strip_words(typed, "not read").is_some();
        if self.program.values[value.0].kind == Kind::Photo && !is_not_read {
            let file = entry::unquoted(typed);
            self.picture(&file)?;
            return Ok(entry::photo(&file, self.photo_read.as_deref().unwrap_or_default()));
        }
        entry::understand(typed, &self.asked(value))
    }
}

/// What people put before the date.
const UNTIL: [&str; 3] = ["calibrated until ", "until ", "calibrated "];

/// `DI-07, 2027-03-01`; the comma may be left out.
pub(super) fn number_and_date(typed: &str) -> Result<(&str, Option<Date>), Refusal> {
    let is_date = |text: &str| day(text).is_some();
    let (number, date) = match (typed.rsplit_once(','), typed.rsplit_once(char::is_whitespace)) {
        (Some((number, date)), _) => (number.trim(), Some(date.trim())),
        (None, Some((number, date))) if is_date(date) => (number.trim(), Some(date)),
        _ => (typed, None),
    };
    // As the question has it: `DI-07, calibrated until 2027-03-01`.
    let date =
        date.map(|date| UNTIL.iter().find_map(|words| date.strip_prefix(words)).unwrap_or(date).trim());
    let before = date.and_then(|_| UNTIL.iter().find_map(|words| number.strip_suffix(words.trim_end())));
    let number = before.unwrap_or(number).trim();
    if number.is_empty() {
        return Err(Refusal::new("Nothing was typed.").help("Type its number, such as DI-07."));
    }
    if let Some(reading) = [typed, number].into_iter().find(|it| looks_like_a_reading(it)) {
        return Err(Refusal::new(format!(
            "\"{reading}\" looks like a reading, and the instrument is asked for."
        ))
        .help("Type its number first, such as DI-07. If that is its number, put it in quotes."));
    }
    if ["yes", "y", "no", "n", "none", "ok", "?"].contains(&number.to_lowercase().as_str()) {
        return Err(Refusal::new(format!("\"{number}\" is no instrument's number.")).help(
            "Type what is marked on it, such as DI-07, or what it is known by. If it is marked so, put it in quotes.",
        ));
    }
    match date.map(day) {
        None => Ok((number, None)),
        Some(Some(date)) => Ok((number, Some(date))),
        Some(None) => Err(Refusal::new("What stands behind the comma is not a date.")
            .help("Type it as year-month-day: DI-07, 2027-03-01")),
    }
}

/// The values of a row. `0 0.4 -0.2 all in thou` gives each of them its unit.
pub(super) fn row(typed: &str) -> Vec<String> {
    let lower = typed.to_lowercase();
    let Some(at) = lower.rfind(" all ").filter(|_| lower.len() == typed.len()) else {
        return split_row(typed);
    };
    let unit = without_word(typed[at + " all ".len()..].trim(), "in");
    let values = split_row(&typed[..at]);
    let has_own = |value: &str| !value.ends_with(|c: char| c.is_ascii_digit());
    match values.is_empty() || unit.is_empty() || unit.contains(' ') {
        true => split_row(typed),
        false => values
            .into_iter()
            .map(|value| if has_own(&value) { value } else { format!("{value} {unit}") })
            .collect(),
    }
}

/// Of a row whose last value alone has a unit, and another one than is asked for, nobody knows what the others are in.
/// So it is with `1 1/2`: one value or two.
pub(super) fn is_clear(typed: &[String], understood: &[&Understood], asked: &Asked) -> Result<(), Refusal> {
    let is_bare = |it: &str| it.ends_with(|c: char| c.is_ascii_digit());
    let is_whole = |it: &str| it.chars().all(|c| c.is_ascii_digit());
    for pair in typed.windows(2) {
        if let [whole, part] = pair
            && is_whole(whole)
            && part.starts_with(|c: char| c.is_ascii_digit())
            && fraction(part).is_some()
        {
            return Err(Refusal::new(format!("{whole} {part} may be one value or two."))
                .help(format!("Type it with a point. {}", what_to_type(asked))));
        }
    }
    let (Some((last, before)), Some(of_last), Some(unit)) =
        (typed.split_last(), understood.last(), asked.unit)
    else {
        return Ok(());
    };
    let Some(own) = of_last.answer.unit.as_deref() else { return Ok(()) };
    let is_alone = !before.is_empty() && !is_bare(last) && before.iter().all(|it| is_bare(it));
    let counts = understood.iter().take(before.len()).any(|it| it.answer.value != "0");
    if !is_alone || own == unit.symbol() || !counts {
        return Ok(());
    }
    let bare: Vec<&str> = typed.iter().map(|it| it.trim_end_matches(|c: char| !c.is_ascii_digit())).collect();
    Err(Refusal::new(format!("Only the last value says {own}; the others would be {}.", unit.symbol()))
        .help(format!("If all of them are: {} all in {own}. Else type each with its unit.", bare.join(" "))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_a_whole_are_taken_as_they_are_called() {
        for (called, written) in [
            ("half a division", "0.5 division"),
            ("Half", "0.5"),
            ("minus half a div", "-0.5 div"),
            ("plus a quarter", "0.25"),
            ("-three quarters of a thou", "-0.75 thou"),
            ("1/2", "0.5"),
            ("-3/64 in", "-0.046875 in"),
            ("1/64\"", "0.015625 \""),
        ] {
            assert_eq!(part_of_a_whole(called).as_deref(), Some(written), "{called}");
        }
        for (called, written) in
            [("10 1/2 in", "10.5 in"), ("-3-3/16\"", "-3.1875 \""), ("minus 1 1/2", "-1.5")]
        {
            assert_eq!(whole_and_part(called).as_deref(), Some(written), "{called}");
        }
        for other in ["10 4/2 in", "1 1/3", "10 in", "2026-11-24", "1/2"] {
            assert_eq!(whole_and_part(other), None, "{other}");
        }
        for other in ["0.5", "-4", "1/3", "halfway", "1 1/2", "one and a half", "2026/03/02", "/min"] {
            assert_eq!(part_of_a_whole(other), None, "{other}");
        }
    }

    #[test]
    fn what_was_typed_is_written_with_all_its_figures() {
        for (typed, unit, shown) in [
            ("-.04", "mm", "-0.04 mm"),
            ("0,010", "mm", "0.010 mm"),
            ("minus 12um", "um", "-12 um"),
            ("+4", "mm", "4 mm"),
            ("67 \u{b0}F", "degF", "67 degF"),
            ("half a division", "div", "0.5 div"),
        ] {
            assert_eq!(written(typed, unit).as_deref(), Some(shown), "{typed}");
        }
        assert_eq!(written("over 2", "mm"), None);
    }

    #[test]
    fn one_unit_is_said_for_a_whole_row() {
        assert_eq!(row("0 0.4 -.2 all in thou"), ["0 thou", "0.4 thou", "-.2 thou"]);
        assert_eq!(row("minus 4; 0,5; 3 um all thou"), ["-4 thou", "0,5 thou", "3 um"]);
        assert_eq!(row("0 0.4"), ["0", "0.4"]);
    }

    #[test]
    fn readings_called_too_early_are_told_from_a_number_marked_on_an_instrument() {
        for text in ["0.06", "-4", "minus 4", "0.06 -0.4", "0 0,5 1", "4 um", "plus 0.1 mm", "68 F"] {
            assert!(looks_like_a_reading(text), "{text}");
        }
        for text in ["DI-07", "7", "7 a", "LV 2", "minus", "DI-07 0.5"] {
            assert!(!looks_like_a_reading(text), "{text}");
        }
    }

    #[test]
    fn a_day_is_written_with_its_year_first_or_with_points() {
        let written = |typed| day(typed).map(|it| it.to_string());
        assert_eq!(written("2026-11-24").as_deref(), Some("2026-11-24"));
        assert_eq!(written("24.11.2026").as_deref(), Some("2026-11-24"));
        for other in ["11/24/2026", "24.11.26", "24.13.2026", "4.5"] {
            assert_eq!(written(other), None, "{other}");
        }
    }
}
