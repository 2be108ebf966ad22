//! Times of rows as they stand on the record: `30 min`, `30 min 12 s`, exact and back again.

use num_traits::Zero;

use crate::quantity::{Rational, exact_text, parse_exact};

fn sixty() -> Rational {
    Rational::from_integer(60.into())
}

/// Seconds since the start of a series, in words that read back exactly.
pub fn name(seconds: &Rational) -> String {
    let minutes = (seconds / sixty()).floor();
    let rest = seconds - &minutes * sixty();
    match (minutes.is_zero(), rest.is_zero()) {
        (_, true) => format!("{} min", exact_text(&minutes)),
        (true, false) => format!("{} s", exact_text(&rest)),
        (false, false) => format!("{} min {} s", exact_text(&minutes), exact_text(&rest)),
    }
}

/// The way back of `name`.
pub fn parse(text: &str) -> Option<Rational> {
    let (minutes, rest) = match text.split_once(" min") {
        Some((minutes, rest)) => (parse_exact(minutes)?, rest.trim()),
        None => (Rational::zero(), text),
    };
    let rest = match rest {
        "" => Rational::zero(),
        rest => parse_exact(rest.strip_suffix(" s")?)?,
    };
    let seconds = minutes * sixty() + rest;
    // One time has one name.
    (name(&seconds) == text).then_some(seconds)
}

/// ` at 30 min`, ` at 1872 s`: as a row of a series is said in a line.
pub fn at(seconds: &Rational) -> String {
    let minutes = seconds / sixty();
    match minutes.is_integer() {
        true => format!(" at {} min", exact_text(&minutes)),
        false => format!(" at {} s", exact_text(seconds)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::ratio;

    #[test]
    fn times_are_named_as_they_are_said_and_read_back_exactly() {
        for (seconds, said) in [
            (ratio(0, 1), "0 min"),
            (ratio(12, 1), "12 s"),
            (ratio(1800, 1), "30 min"),
            (ratio(1812, 1), "30 min 12 s"),
            (ratio(7200, 1), "120 min"),
            (ratio(1, 2), "0.5 s"),
        ] {
            assert_eq!(name(&seconds), said);
            assert_eq!(parse(said), Some(seconds));
        }
        assert_eq!(parse("90 s"), None, "one time has one name");
        assert_eq!(parse("soon"), None);
    }
}
