//! For terminals that show nothing but ASCII: signs of the trade are spelled out, and any other letter as its code, so
//! that a name in another script is not lost. What goes to a file or a pipe is never touched.

use std::borrow::Cow;
use std::env;
use std::io::{self, IsTerminal, Write};

/// Signs with a usual spelling.
const SPELLINGS: &[(char, &str)] = &[
    ('\u{b0}', "deg"),
    ('\u{b5}', "u"),
    ('\u{3bc}', "u"),
    ('\u{3a9}', "ohm"),
    ('\u{2126}', "ohm"),
    ('\u{b1}', "+/-"),
    ('\u{b7}', "*"),
    ('\u{d7}', "x"),
    ('\u{f7}', "/"),
    ('\u{b2}', "^2"),
    ('\u{b3}', "^3"),
    ('\u{bd}', "1/2"),
    ('\u{bc}', "1/4"),
    ('\u{be}', "3/4"),
    ('\u{a0}', " "),
    ('\u{2212}', "-"),
    ('\u{2010}', "-"),
    ('\u{2011}', "-"),
    ('\u{2013}', "-"),
    ('\u{2014}', "-"),
    ('\u{2018}', "'"),
    ('\u{2019}', "'"),
    ('\u{2032}', "'"),
    ('\u{201c}', "\""),
    ('\u{201d}', "\""),
    ('\u{2033}', "\""),
    ('\u{2026}', "..."),
    ('\u{2022}', "*"),
    ('\u{2264}', "<="),
    ('\u{2265}', ">="),
    ('\u{2192}', "->"),
    ('\u{2190}', "<-"),
];

/// The text in ASCII: `0.02 mm/m \u{4e2d}`.
pub fn to_ascii(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    let mut plain = String::with_capacity(text.len() + 8);
    for letter in text.chars() {
        match SPELLINGS.iter().find(|(sign, _)| *sign == letter) {
            _ if letter.is_ascii() => plain.push(letter),
            Some((_, spelling)) => plain.push_str(spelling),
            None => plain.extend(letter.escape_unicode()),
        }
    }
    Cow::Owned(plain)
}

/// Whether the terminal is one that shows ASCII only, by what the environment says of it.
pub fn is_wanted() -> bool {
    let value = |name: &str| env::var(name).ok().filter(|value| !value.is_empty());
    if value("TERM").as_deref() == Some("dumb") {
        return true;
    }
    // On such systems the variable says nothing of the terminal.
    if cfg!(windows) {
        return false;
    }
    let locale = value("LC_ALL").or_else(|| value("LC_CTYPE")).or_else(|| value("LANG"));
    !locale.is_some_and(|locale| {
        let locale = locale.to_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}

/// Standard output, in ASCII where it is a terminal that shows nothing else.
#[derive(Debug)]
pub struct Output {
    ascii: bool,
    /// The beginning of a letter whose end is not written yet.
    half: Vec<u8>,
}

impl Output {
    pub fn new() -> Self {
        Self { ascii: io::stdout().is_terminal() && is_wanted(), half: Vec::new() }
    }
}

impl Default for Output {
    fn default() -> Self {
        Self::new()
    }
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if !self.ascii {
            return io::stdout().write(bytes);
        }
        self.half.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&self.half) {
            Ok(text) => text.len(),
            Err(fault) if fault.error_len().is_none() => fault.valid_up_to(),
            Err(_) => self.half.len(),
        };
        let rest = self.half.split_off(whole);
        let text = String::from_utf8_lossy(&self.half);
        io::stdout().write_all(to_ascii(&text).as_bytes())?;
        self.half = rest;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        io::stdout().flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_spelled_and_letters_of_other_scripts_keep_their_code() {
        assert_eq!(to_ascii("21.4 \u{b0}C"), "21.4 degC");
        assert_eq!(to_ascii("\u{2212}4 \u{b5}m"), "-4 um");
        assert_eq!(to_ascii("\u{738b}, operator"), "\\u{738b}, operator");
        assert!(matches!(to_ascii("plain"), Cow::Borrowed("plain")));
    }

    #[test]
    fn a_letter_that_is_written_in_two_parts_is_whole() {
        let mut output = Output { ascii: true, half: Vec::new() };
        output.write_all(&[0xc2]).unwrap();
        assert_eq!(output.half, [0xc2]);
        output.write_all(&[0xb5]).unwrap();
        assert!(output.half.is_empty());
    }
}
