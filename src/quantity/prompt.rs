//! Units as people type them at a prompt: usual spellings are taken, a word that the trade uses for two things is
//! refused with both meanings, and anything else gets the nearest word. Never guesses.

use super::dimension::Dimension;
use super::format::exact_text;
use super::number::{Rational, ratio};
use super::unit::Unit;

/// What a unit word at a prompt turns out to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PromptUnit {
    Known(Unit),
    /// The trade uses this word for more than one thing.
    Ambiguous(Vec<Meaning>),
    Unknown {
        nearest: Option<Unit>,
    },
}

/// One thing that an ambiguous word may mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meaning {
    /// In plain words: "tenths of a millimetre".
    pub words: &'static str,
    /// One of it is `numerator / denominator` of `unit`.
    numerator: i64,
    denominator: i64,
    pub unit: Unit,
}

impl Meaning {
    const fn new(words: &'static str, numerator: i64, denominator: i64, unit: Unit) -> Self {
        Self { words, numerator, denominator, unit }
    }

    /// What to type for this meaning: `0.4 mm` for 4 of the tenths of a millimetre.
    pub fn as_typed(&self, number: &Rational) -> String {
        let value = number * ratio(self.numerator, self.denominator);
        format!("{} {}", exact_text(&value), self.unit.symbol())
    }
}

const TENTHS: [Meaning; 2] = [
    Meaning::new("tenths of a millimetre", 1, 10, Unit::Mm),
    Meaning::new("tenths of a thou (0.0001 inch)", 1, 10, Unit::Thou),
];
const HUNDREDTHS: [Meaning; 2] = [
    Meaning::new("hundredths of a millimetre", 1, 100, Unit::Mm),
    Meaning::new("hundredths of an inch", 1, 100, Unit::Inch),
];
const THOUSANDTHS: [Meaning; 2] = [
    Meaning::new("thousandths of a millimetre", 1, 1, Unit::Um),
    Meaning::new("thousandths of an inch", 1, 1, Unit::Thou),
];
const MILS: [Meaning; 2] =
    [Meaning::new("thousandths of an inch", 1, 1, Unit::Thou), Meaning::new("millimetres", 1, 1, Unit::Mm)];
const SMALL_OR_LARGE_OHMS: [Meaning; 2] = [
    Meaning::new("thousandths of an ohm", 1, 1000, Unit::Ohm),
    Meaning::new("millions of ohms", 1, 1, Unit::MegaOhm),
];
const DEGREES: [Meaning; 2] =
    [Meaning::new("degrees Celsius", 1, 1, Unit::DegC), Meaning::new("degrees Fahrenheit", 1, 1, Unit::DegF)];
const FEET_OR_ARCMIN: [Meaning; 2] =
    [Meaning::new("feet", 1, 1, Unit::Ft), Meaning::new("minutes of angle", 1, 1, Unit::Arcmin)];
const INCHES_OR_ARCSEC: [Meaning; 2] =
    [Meaning::new("inches", 1, 1, Unit::Inch), Meaning::new("seconds of angle", 1, 1, Unit::Arcsec)];

/// Spellings beside the symbols, in lower case.
const SPELLINGS: &[(&str, Unit)] = &[
    ("millimetre", Unit::Mm),
    ("millimetres", Unit::Mm),
    ("millimeter", Unit::Mm),
    ("millimeters", Unit::Mm),
    ("\u{b5}m", Unit::Um),
    ("\u{3bc}m", Unit::Um),
    ("micron", Unit::Um),
    ("microns", Unit::Um),
    ("micrometre", Unit::Um),
    ("micrometres", Unit::Um),
    ("micrometer", Unit::Um),
    ("micrometers", Unit::Um),
    ("metre", Unit::M),
    ("metres", Unit::M),
    ("meter", Unit::M),
    ("meters", Unit::M),
    ("in", Unit::Inch),
    ("inches", Unit::Inch),
    ("foot", Unit::Ft),
    ("feet", Unit::Ft),
    ("thous", Unit::Thou),
    ("arcmins", Unit::Arcmin),
    ("arcsecs", Unit::Arcsec),
    ("radian", Unit::Rad),
    ("radians", Unit::Rad),
    ("\u{b5}m/m", Unit::UmPerM),
    ("\u{3bc}m/m", Unit::UmPerM),
    ("in/ft", Unit::InchPerFt),
    ("percent", Unit::Percent),
    ("\u{b0}c", Unit::DegC),
    ("c", Unit::DegC),
    ("celsius", Unit::DegC),
    ("\u{b0}f", Unit::DegF),
    ("f", Unit::DegF),
    ("fahrenheit", Unit::DegF),
    ("kelvin", Unit::K),
    ("sec", Unit::S),
    ("secs", Unit::S),
    ("second", Unit::S),
    ("seconds", Unit::S),
    ("minute", Unit::Min),
    ("minutes", Unit::Min),
    ("mins", Unit::Min),
    ("hour", Unit::H),
    ("hours", Unit::H),
    ("hr", Unit::H),
    ("hrs", Unit::H),
    ("1/min", Unit::PerMin),
    ("per minute", Unit::PerMin),
    ("r/min", Unit::Rpm),
    ("rev/min", Unit::Rpm),
    ("revs", Unit::Rpm),
    ("hertz", Unit::Hz),
    ("1/s", Unit::Hz),
    ("kilo", Unit::Kg),
    ("kilos", Unit::Kg),
    ("kilogram", Unit::Kg),
    ("kilograms", Unit::Kg),
    ("newton", Unit::N),
    ("newtons", Unit::N),
    ("n\u{b7}m", Unit::Nm),
    ("n m", Unit::Nm),
    ("volt", Unit::V),
    ("volts", Unit::V),
    ("amp", Unit::A),
    ("amps", Unit::A),
    ("ampere", Unit::A),
    ("amperes", Unit::A),
    ("\u{3c9}", Unit::Ohm),
    ("\u{2126}", Unit::Ohm),
    ("ohms", Unit::Ohm),
    ("milliohm", Unit::MilliOhm),
    ("milliohms", Unit::MilliOhm),
    ("k\u{3c9}", Unit::KiloOhm),
    ("k\u{2126}", Unit::KiloOhm),
    ("kilohm", Unit::KiloOhm),
    ("kilohms", Unit::KiloOhm),
    ("megohm", Unit::MegaOhm),
    ("megohms", Unit::MegaOhm),
    ("meg", Unit::MegaOhm),
    ("db(a)", Unit::Db),
    ("dba", Unit::Db),
    ("decibel", Unit::Db),
    ("decibels", Unit::Db),
    ("divs", Unit::Div),
    ("division", Unit::Div),
    ("divisions", Unit::Div),
];

/// Reads a unit word typed where a value in `expected` is asked for. The expected unit only decides between
/// spellings that belong to different kinds (`"` is an inch or a second of angle), never between sizes.
pub fn unit_words_at_prompt(words: &str, expected: Unit) -> PromptUnit {
    let words = words.trim().trim_end_matches('.');
    let lower = words.to_lowercase();
    let wanted = expected.dimension();
    if let Some(unit) = Unit::parse(words) {
        return match unit {
            Unit::M if wanted == Dimension::TIME => PromptUnit::Known(Unit::Min),
            Unit::Min if wanted == Dimension::ANGLE => PromptUnit::Known(Unit::Arcmin),
            Unit::Deg if wanted == Dimension::TEMPERATURE => PromptUnit::Ambiguous(DEGREES.to_vec()),
            // One capital is a factor of 10^9, and small letters are quicker to type.
            Unit::MilliOhm if matches!(expected, Unit::MegaOhm | Unit::KiloOhm) => {
                PromptUnit::Ambiguous(SMALL_OR_LARGE_OHMS.to_vec())
            }
            _ => PromptUnit::Known(unit),
        };
    }
    let ambiguous = |meanings: &[Meaning]| PromptUnit::Ambiguous(meanings.to_vec());
    let by_kind = |length: Unit, angle: Unit, both: &[Meaning]| match wanted {
        Dimension::LENGTH => PromptUnit::Known(length),
        Dimension::ANGLE => PromptUnit::Known(angle),
        _ => PromptUnit::Ambiguous(both.to_vec()),
    };
    match lower.as_str() {
        "tenth" | "tenths" => return ambiguous(&TENTHS),
        "hundredth" | "hundredths" => return ambiguous(&HUNDREDTHS),
        "thousandth" | "thousandths" => return ambiguous(&THOUSANDTHS),
        "mil" | "mils" => return ambiguous(&MILS),
        "\"" | "\u{2033}" | "\u{201d}" | "''" => return by_kind(Unit::Inch, Unit::Arcsec, &INCHES_OR_ARCSEC),
        "'" | "\u{2032}" | "\u{2019}" => return by_kind(Unit::Ft, Unit::Arcmin, &FEET_OR_ARCMIN),
        "\u{b0}" | "degs" | "degree" | "degrees" if wanted == Dimension::TEMPERATURE => {
            return ambiguous(&DEGREES);
        }
        "\u{b0}" | "degs" | "degree" | "degrees" => return PromptUnit::Known(Unit::Deg),
        "sec" | "secs" | "second" | "seconds" if wanted == Dimension::ANGLE => {
            return PromptUnit::Known(Unit::Arcsec);
        }
        "mins" | "minute" | "minutes" if wanted == Dimension::ANGLE => {
            return PromptUnit::Known(Unit::Arcmin);
        }
        "lines" if wanted == Dimension::DIVISION => return PromptUnit::Known(Unit::Div),
        "m" if wanted == Dimension::RESISTANCE => return by_case(words),
        "k" if wanted == Dimension::RESISTANCE => return PromptUnit::Known(Unit::KiloOhm),
        // The size hangs on one capital here.
        "mohm" | "mohms" => return by_case(words),
        "m\u{3c9}" | "m\u{2126}" => return by_case(words),
        _ => {}
    }
    if let Some((_, unit)) = SPELLINGS.iter().find(|(spelling, _)| *spelling == lower) {
        return PromptUnit::Known(*unit);
    }
    let same_letters: Vec<Unit> =
        Unit::ALL.iter().copied().filter(|unit| unit.symbol().to_lowercase() == lower).collect();
    match same_letters.as_slice() {
        [unit] => PromptUnit::Known(*unit),
        _ => PromptUnit::Unknown { nearest: nearest(&lower, wanted) },
    }
}

/// `Mohm` is a million ohms, `mohm` a thousandth; anything else with these letters is asked about.
fn by_case(words: &str) -> PromptUnit {
    let rest = words.get(1..).unwrap_or_default();
    let settled = rest == rest.to_lowercase() || rest.starts_with(['\u{3a9}', '\u{2126}']);
    match words.chars().next() {
        Some('M') if settled => PromptUnit::Known(Unit::MegaOhm),
        Some('m') if settled && !rest.is_empty() => PromptUnit::Known(Unit::MilliOhm),
        _ => PromptUnit::Ambiguous(SMALL_OR_LARGE_OHMS.to_vec()),
    }
}

/// The unit that was probably meant; one of the expected kind is preferred.
fn nearest(lower: &str, wanted: Dimension) -> Option<Unit> {
    if lower.len() > 24 {
        return None;
    }
    let symbols = Unit::ALL.iter().map(|unit| (unit.symbol().to_lowercase(), *unit));
    let spellings = SPELLINGS.iter().map(|(spelling, unit)| ((*spelling).to_string(), *unit));
    let allowed = (lower.chars().count() / 3).max(1);
    symbols
        .chain(spellings)
        .map(|(word, unit)| (strsim::damerau_levenshtein(lower, &word), unit.dimension() != wanted, unit))
        .filter(|(distance, _, _)| *distance <= allowed)
        .min_by_key(|(distance, other_kind, _)| (*other_kind, *distance))
        .map(|(_, _, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use PromptUnit::{Ambiguous, Known, Unknown};

    #[test]
    fn usual_spellings_are_taken() {
        for (typed, expected, unit) in [
            ("mm", Unit::Mm, Unit::Mm),
            ("MM", Unit::Mm, Unit::Mm),
            ("thou", Unit::Mm, Unit::Thou),
            ("microns", Unit::Mm, Unit::Um),
            ("\u{b5}m", Unit::Mm, Unit::Um),
            ("\u{3bc}m", Unit::Mm, Unit::Um),
            ("in", Unit::Mm, Unit::Inch),
            ("\"", Unit::Mm, Unit::Inch),
            ("\"", Unit::Deg, Unit::Arcsec),
            ("'", Unit::Deg, Unit::Arcmin),
            ("\u{b0}C", Unit::DegC, Unit::DegC),
            ("C", Unit::DegC, Unit::DegC),
            ("\u{b0}", Unit::Deg, Unit::Deg),
            ("min", Unit::Deg, Unit::Arcmin),
            ("min", Unit::S, Unit::Min),
            ("m", Unit::S, Unit::Min),
            ("RPM", Unit::Rpm, Unit::Rpm),
            ("M", Unit::MegaOhm, Unit::MegaOhm),
            ("M\u{3a9}", Unit::Ohm, Unit::MegaOhm),
            ("m\u{3a9}", Unit::Ohm, Unit::MilliOhm),
            ("dB(A)", Unit::Db, Unit::Db),
        ] {
            assert_eq!(
                unit_words_at_prompt(typed, expected),
                Known(unit),
                "{typed} where {expected:?} is asked for"
            );
        }
    }

    #[test]
    fn a_word_with_two_meanings_is_refused_with_both() {
        let Ambiguous(meanings) = unit_words_at_prompt("tenths", Unit::Mm) else {
            panic!("tenths is ambiguous")
        };
        let typed: Vec<_> = meanings.iter().map(|meaning| meaning.as_typed(&ratio(4, 1))).collect();
        assert_eq!(typed, ["0.4 mm", "0.4 thou"]);
        for word in ["mil", "hundredths", "thousandths"] {
            assert!(
                matches!(unit_words_at_prompt(word, Unit::Mm), Ambiguous(both) if both.len() == 2),
                "{word}"
            );
        }
        assert!(matches!(unit_words_at_prompt("degrees", Unit::DegC), Ambiguous(_)));
        assert!(
            matches!(unit_words_at_prompt("MOHM", Unit::Ohm), Ambiguous(_)),
            "one capital is a factor of 10^9"
        );
        assert!(matches!(unit_words_at_prompt("deg", Unit::DegF), Ambiguous(_)));
        let Ambiguous(ohms) = unit_words_at_prompt("mohm", Unit::MegaOhm) else {
            panic!("a slip of one capital")
        };
        for meaning in ohms {
            let answer = meaning.as_typed(&ratio(5, 1));
            let unit = answer.split_once(' ').unwrap().1;
            assert_eq!(
                unit_words_at_prompt(unit, Unit::MegaOhm),
                Known(meaning.unit),
                "what is offered is taken"
            );
        }
    }

    #[test]
    fn an_unknown_word_gets_the_nearest() {
        assert_eq!(unit_words_at_prompt("thuo", Unit::Mm), Unknown { nearest: Some(Unit::Thou) });
        assert_eq!(unit_words_at_prompt("furlongs", Unit::Mm), Unknown { nearest: None });
        assert_eq!(unit_words_at_prompt(&"x".repeat(1_000_000), Unit::Mm), Unknown { nearest: None });
    }
}
