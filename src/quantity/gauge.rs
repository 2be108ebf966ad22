//! A line as a gauge sends it down its cable: one number, with what such lines have around it.
//!
//! Taken are a sign with or without blanks, leading and trailing blanks, leading zeros, point or comma, a power of ten,
//! a unit behind the number, and a channel before it: `01A+00012.345`, `X: -0,004 mm`, `CH1 +1.25E-02`. Anything that
//! is not surely one number is no reading: to guess would put a wrong figure on the record.

use num_traits::Zero;

use super::format::exact_text;
use super::number::{Rational, parse_decimal};

/// What one press of a gauge sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GaugeLine {
    /// The input that it came from, where the line names one.
    pub channel: Option<String>,
    pub number: Rational,
    /// As sent, not yet looked up; empty where the line has none.
    pub unit: String,
}

/// Why a line is no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoReading {
    #[error("there is no number in it")]
    NoNumber,
    #[error("there is more than one number in it")]
    MoreNumbers,
    #[error("it reads like a fault of the gauge")]
    GaugeFault,
    #[error("what stands before the number is no channel")]
    Prefix,
    #[error("it is no plain text")]
    NotText,
    #[error("its number is too long or too large")]
    TooLarge,
}

/// Longer lines are not looked at.
const LONGEST: usize = 80;

/// The largest power of ten that a gauge may send, either way.
const LARGEST_POWER: u32 = 18;

/// First words of lines by which gauges tell that they have no reading.
const FAULTS: [&str; 12] =
    ["err", "error", "fail", "ol", "ovl", "over", "under", "ovr", "low", "bat", "batt", "nan"];

impl GaugeLine {
    /// Reads one line, without its line end. `None` if nothing stands in it.
    pub fn parse(line: &str) -> Option<Result<Self, NoReading>> {
        let line = line.trim_matches(|c: char| c.is_whitespace() || c.is_control());
        (!line.is_empty()).then(|| read(line))
    }

    /// The number as it would be typed, with the unit sent or, without one, this one: `-0.004 mm`.
    pub fn as_typed(&self, unit: &str) -> String {
        let unit = if self.unit.is_empty() { unit } else { &self.unit };
        format!("{} {unit}", exact_text(&self.number))
    }
}

fn read(line: &str) -> Result<GaugeLine, NoReading> {
    if line.len() > LONGEST || line.contains(char::is_control) {
        return Err(NoReading::NotText);
    }
    if !line.contains(|c: char| c.is_ascii_digit()) {
        return Err(if is_fault(line) { NoReading::GaugeFault } else { NoReading::NoNumber });
    }
    let (channel, rest) = channel(line)?;
    let (figures, rest) = figures(rest).ok_or(NoReading::Prefix)?;
    let (power, rest) = power(rest)?;
    let unit = rest.trim();
    // `1,234.5`, `0.1.2`, `12 13`, `0.012 A2`: nobody can tell which number was meant.
    if unit.contains(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',')) {
        return Err(NoReading::MoreNumbers);
    }
    if is_fault(unit) {
        return Err(NoReading::GaugeFault);
    }
    let number = parse_decimal(&figures).ok_or(NoReading::TooLarge)? * power;
    Ok(GaugeLine { channel: channel.map(str::to_owned), number, unit: unit.to_owned() })
}

fn is_fault(text: &str) -> bool {
    let word = text.split(|c: char| !c.is_ascii_alphabetic()).next().unwrap_or_default().to_ascii_lowercase();
    FAULTS.contains(&word.as_str())
}

/// `01A` glued to a sign, `X:` or `X=`, `CH1` with a blank behind it; and the rest.
fn channel(line: &str) -> Result<(Option<&str>, &str), NoReading> {
    let end = line.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(line.len());
    let (word, rest) = line.split_at(end);
    if word.is_empty() {
        return Ok((None, line));
    }
    if is_fault(word) {
        return Err(NoReading::GaugeFault);
    }
    let behind = rest.trim_start();
    if let Some(number) = behind.strip_prefix([':', '=']) {
        return Ok((Some(word), number.trim_start()));
    }
    let letters = word.chars().filter(char::is_ascii_alphabetic).count();
    // A number, or a number with its unit or its power of ten.
    if letters == 0 || word.starts_with(|c: char| c.is_ascii_digit()) && !word.ends_with(is_letter) {
        return Ok((None, line));
    }
    let is_glued = rest.starts_with(['+', '-', '\u{2212}']);
    let digits = word.len() - letters;
    // One letter, or letters with a number: a word alone is rather a message than a channel, and `E1` a fault.
    let names_one = (letters == 1 || digits > 0) && !(word.starts_with(['E', 'e']) && digits > 0);
    match (is_glued, word.starts_with(|c: char| c.is_ascii_digit())) {
        // `12E-3` and `01A+5` begin alike: a power of ten is no channel.
        (true, true) if word.ends_with(['E', 'e']) => Ok((None, line)),
        (true, _) if names_one || letters < word.len() => Ok((Some(word), rest)),
        // `12mm`: a number and its unit.
        (false, true) => Ok((None, line)),
        (false, false) if names_one && !rest.is_empty() => Ok((Some(word), behind)),
        _ => Err(NoReading::Prefix),
    }
}

fn is_letter(c: char) -> bool {
    c.is_ascii_alphabetic()
}

/// Sign and digits with at most one mark, and the rest.
fn figures(text: &str) -> Option<(String, &str)> {
    let (sign, rest) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => ("-", rest),
        None => ("", text.strip_prefix('+').unwrap_or(text)),
    };
    let rest = rest.trim_start();
    let mut marks = 0;
    let end = rest.find(|c: char| {
        marks += usize::from(matches!(c, '.' | ','));
        !(c.is_ascii_digit() || matches!(c, '.' | ',')) || marks > 1
    });
    let (digits, rest) = rest.split_at(end.unwrap_or(rest.len()));
    digits.contains(|c: char| c.is_ascii_digit()).then(|| (format!("{sign}{digits}"), rest))
}

/// `E-03` behind the digits, as a factor.
fn power(text: &str) -> Result<(Rational, &str), NoReading> {
    let one = || Rational::from_integer(1.into());
    let Some(rest) = text.strip_prefix(['E', 'e']) else { return Ok((one(), text)) };
    let digits_at = usize::from(rest.starts_with(['+', '-']));
    let (sign, rest) = rest.split_at(digits_at);
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (digits, rest) = rest.split_at(end);
    if digits.is_empty() {
        return Ok((one(), text));
    }
    let size = digits.parse::<u32>().ok().filter(|size| *size <= LARGEST_POWER).ok_or(NoReading::TooLarge)?;
    let ten = Rational::from_integer(num_bigint::BigInt::from(10).pow(size));
    Ok((if sign == "-" && !ten.is_zero() { one() / ten } else { ten }, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(line: &str) -> (Option<String>, String, String) {
        let line = GaugeLine::parse(line).unwrap().unwrap_or_else(|fault| panic!("{line:?}: {fault}"));
        (line.channel, exact_text(&line.number), line.unit)
    }

    #[test]
    fn the_usual_forms_are_taken() {
        for (line, channel, number, unit) in [
            ("0.012", None, "0.012", ""),
            ("+0.012", None, "0.012", ""),
            ("  -00.0040  ", None, "-0.004", ""),
            ("-0,004 mm", None, "-0.004", "mm"),
            ("- 0.004mm", None, "-0.004", "mm"),
            ("\u{2212}0.5\"", None, "-0.5", "\""),
            (".5", None, "0.5", ""),
            ("21.4\u{b0}C", None, "21.4", "\u{b0}C"),
            ("12", None, "12", ""),
            ("12mm", None, "12", "mm"),
            ("01A+00012.345", Some("01A"), "12.345", ""),
            ("01A-0.004 mm", Some("01A"), "-0.004", "mm"),
            ("A+0.1", Some("A"), "0.1", ""),
            ("CH1-0.1", Some("CH1"), "-0.1", ""),
            ("CH1 0.1 mm", Some("CH1"), "0.1", "mm"),
            ("X: -0.004", Some("X"), "-0.004", ""),
            ("X=+0.004", Some("X"), "0.004", ""),
            ("2: 0.004", Some("2"), "0.004", ""),
            ("T 21.4 C", Some("T"), "21.4", "C"),
            ("+1.25000E-02", None, "0.0125", ""),
            ("12E-3", None, "0.012", ""),
            ("2e1 um", None, "20", "um"),
            ("\u{2}+0.012\u{3}", None, "0.012", ""),
        ] {
            let expected = (channel.map(str::to_owned), number.to_owned(), unit.to_owned());
            assert_eq!(taken(line), expected, "{line:?}");
        }
    }

    #[test]
    fn what_is_not_surely_one_number_is_no_reading() {
        for line in [
            "ERR 12",
            "err: 12",
            "E1",
            "E12 0.0",
            "OL",
            "0.5 OL",
            "-----",
            "1,234.5",
            "0.1.2",
            "12 13",
            "12+13",
            "0.012 A2",
            "+-0.1",
            "READY 1",
            "1E99",
            "hello",
            "0.01\u{7}2",
            &"7".repeat(200),
        ] {
            assert!(GaugeLine::parse(line).unwrap().is_err(), "{line:?}");
        }
        assert_eq!(GaugeLine::parse(" \r"), None);
    }
}
