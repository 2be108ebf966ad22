//! One line of a record: its canonical bytes and its two hashes.
//!
//! A record has exactly one form, so that equal content is equal bytes and a changed byte always shows. The form is
//! the order of the fields in the types, no blanks, and the fewest escapes JSON allows: `\"`, `\\` and lower-case
//! `\u00xx` for the control characters U+0000 to U+001F.
//!
//! This is not the JSON Canonicalization Scheme (RFC 8785): that one sorts keys by UTF-16 units, which puts `sum`
//! before `time` and hides the order in which a line is read; it prescribes how binary floating-point numbers are
//! printed, and a record holds none, numbers being strings as they were typed; and it needs a parser to check. Here a
//! judge cuts the line at `,"sum"` and runs `sha256sum`.
//!
//! ```text
//! {"seq":1,"time":"2026-03-02T09:14:07+01:00","who":"operator","event":"noted",...,"prev":"<64 hex>","sum":"<64 hex>"}
//! ```

use std::fmt;
use std::io;
use std::str::FromStr;

use serde::Serialize;
use sha2::{Digest as _, Sha256};
use thiserror::Error;

use crate::walk::event::Event;

/// A SHA-256 digest, shown as 64 lower-case hex digits.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Digest([u8; 32]);

impl Digest {
    /// What the first line names as the line before it.
    pub const ZERO: Digest = Digest([0; 32]);

    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    pub(super) fn finish(hasher: Sha256) -> Self {
        Self(hasher.finalize().into())
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex::encode(self.0))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = LineFault;

    /// Takes exactly 64 lower-case hex digits: another spelling would be another form of the same record.
    fn from_str(text: &str) -> Result<Self, LineFault> {
        let fault = |text: &str| LineFault::Digest(text.chars().take(80).collect());
        let value = |digit: u8| match digit {
            b'0'..=b'9' => Some(digit - b'0'),
            b'a'..=b'f' => Some(digit - b'a' + 10),
            _ => None,
        };
        let digits: &[u8; 64] = text.as_bytes().try_into().map_err(|_| fault(text))?;
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            let [high, low] = pair else { return Err(fault(text)) };
            *byte = value(*high)
                .zip(value(*low))
                .map(|(high, low)| high << 4 | low)
                .ok_or_else(|| fault(text))?;
        }
        Ok(Self(bytes))
    }
}

/// One entry of the record with its place in the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Counts from 1, without gaps.
    pub seq: u64,
    /// To the second, with its offset from UTC: `2026-03-02T09:14:07+01:00`.
    pub time: String,
    /// The role that made the entry, or `bedway` where it follows from others.
    pub who: String,
    /// What happened.
    pub event: Event,
    /// SHA-256 of the whole line before, its `\n` included; [`Digest::ZERO`] on the first.
    pub prev: Digest,
    /// SHA-256 of this line's bytes before `,"sum"`.
    pub sum: Digest,
}

/// Why something cannot be a line of a record. Each of these is a fault of the program, not of the person.
#[derive(Debug, Error)]
pub enum LineFault {
    #[error("`{0}` is no SHA-256 digest (64 digits 0-9 and a-f)")]
    Digest(String),
    #[error("`{0}` is no time to the second with its offset, such as 2026-03-02T09:14:07+01:00")]
    Time(String),
    #[error("an entry must be an object whose first key is `event`; this one begins `{0}`")]
    Shape(String),
    #[error("an entry cannot be put into words: {0}")]
    Body(#[from] serde_json::Error),
}

impl Line {
    /// Puts an entry into its place after the line whose digest is `prev`. Gives the line and its bytes with `\n`.
    pub fn seal(
        seq: u64,
        time: &str,
        who: &str,
        event: Event,
        prev: Digest,
    ) -> Result<(Self, Vec<u8>), LineFault> {
        check_time(time)?;
        let mut bytes = unsealed(seq, time, who, &event, prev)?;
        let sum = Digest::of(&bytes);
        close(&mut bytes, sum);
        let line = Self { seq, time: time.to_owned(), who: who.to_owned(), event, prev, sum };
        Ok((line, bytes))
    }

    /// The bytes of this line as it stands, `\n` included. The sum is written as held, not worked out again.
    pub fn to_bytes(&self) -> Result<Vec<u8>, LineFault> {
        let mut bytes = unsealed(self.seq, &self.time, &self.who, &self.event, self.prev)?;
        close(&mut bytes, self.sum);
        Ok(bytes)
    }
}

/// A line as far as its event, without what seals it: what a witness signs of the line that names them.
pub fn opening(seq: u64, time: &str, who: &str, event: &Event) -> Result<Vec<u8>, LineFault> {
    check_time(time)?;
    begun(seq, time, who, event)
}

/// Checks the shape and the value of a time and gives the instant.
pub fn check_time(time: &str) -> Result<jiff::Timestamp, LineFault> {
    const SHAPE: &[u8; 25] = b"0000-00-00T00:00:00+00:00";
    let fits = time.len() == SHAPE.len()
        && time.bytes().zip(SHAPE).all(|(b, shape)| match shape {
            b'0' => b.is_ascii_digit(),
            b'+' => b == b'+' || b == b'-',
            _ => b == *shape,
        });
    let instant = if fits { time.parse::<jiff::Timestamp>().ok() } else { None };
    instant.ok_or_else(|| LineFault::Time(time.chars().take(40).collect()))
}

fn unsealed<B: Serialize>(
    seq: u64,
    time: &str,
    who: &str,
    body: &B,
    prev: Digest,
) -> Result<Vec<u8>, LineFault> {
    let mut bytes = begun(seq, time, who, body)?;
    bytes.extend_from_slice(format!(",\"prev\":\"{prev}\"").as_bytes());
    Ok(bytes)
}

fn begun<B: Serialize>(seq: u64, time: &str, who: &str, body: &B) -> Result<Vec<u8>, LineFault> {
    let mut bytes = Vec::with_capacity(512);
    bytes.extend_from_slice(format!("{{\"seq\":{seq},\"time\":\"{time}\",\"who\":").as_bytes());
    put(&mut bytes, &who)?;
    bytes.push(b',');
    // The body is an object of its own; its braces give way to those of the line.
    let open = bytes.len();
    put(&mut bytes, body)?;
    let written = bytes.get(open..).unwrap_or_default();
    if !written.starts_with(b"{\"event\":\"") || bytes.pop() != Some(b'}') {
        let begins = bytes.get(open..).unwrap_or_default();
        return Err(LineFault::Shape(String::from_utf8_lossy(begins).chars().take(40).collect()));
    }
    bytes.remove(open);
    Ok(bytes)
}

fn close(bytes: &mut Vec<u8>, sum: Digest) {
    bytes.extend_from_slice(format!(",\"sum\":\"{sum}\"}}\n").as_bytes());
}

fn put<T: Serialize + ?Sized>(bytes: &mut Vec<u8>, value: &T) -> Result<(), serde_json::Error> {
    value.serialize(&mut serde_json::Serializer::with_formatter(bytes, Canonical))
}

/// Writes JSON without blanks and with one spelling for each escape; holds the two rules on content that a type could
/// break by oversight: no null, no binary floating-point number.
struct Canonical;

impl serde_json::ser::Formatter for Canonical {
    fn write_null<W: ?Sized + io::Write>(&mut self, _: &mut W) -> io::Result<()> {
        Err(io::Error::other("a key that does not apply must be left out, not null"))
    }

    fn write_f32<W: ?Sized + io::Write>(&mut self, _: &mut W, value: f32) -> io::Result<()> {
        Err(io::Error::other(format!("numbers are kept as text, not as the binary number {value}")))
    }

    fn write_f64<W: ?Sized + io::Write>(&mut self, _: &mut W, value: f64) -> io::Result<()> {
        Err(io::Error::other(format!("numbers are kept as text, not as the binary number {value}")))
    }

    fn write_char_escape<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        escape: serde_json::ser::CharEscape,
    ) -> io::Result<()> {
        use serde_json::ser::CharEscape as E;
        let control = match escape {
            E::Quote => return writer.write_all(b"\\\""),
            E::ReverseSolidus => return writer.write_all(b"\\\\"),
            E::Solidus => return writer.write_all(b"/"),
            E::Backspace => 0x08,
            E::FormFeed => 0x0c,
            E::LineFeed => 0x0a,
            E::CarriageReturn => 0x0d,
            E::Tab => 0x09,
            E::AsciiControl(byte) => byte,
        };
        write!(writer, "\\u{control:04x}")
    }
}

/// The fixed end of a line: `,"prev":"` 64 `","sum":"` 64 `"}`.
pub(super) struct Tail {
    pub prev: Digest,
    pub sum: Digest,
    /// How many bytes of the line the sum covers.
    pub summed: usize,
    /// Where `,"prev"` begins.
    pub body_end: usize,
}

/// Finds the end of a line given without its `\n`; `None` when the line does not end as every line does.
pub(super) fn split_tail(line: &str) -> Option<Tail> {
    let rest = line.strip_suffix("\"}")?;
    let (rest, sum) = rest.split_at_checked(rest.len().checked_sub(64)?)?;
    let rest = rest.strip_suffix(",\"sum\":\"")?;
    let summed = rest.len();
    let rest = rest.strip_suffix('"')?;
    let (rest, prev) = rest.split_at_checked(rest.len().checked_sub(64)?)?;
    let body_end = rest.strip_suffix(",\"prev\":\"")?.len();
    Some(Tail { prev: prev.parse().ok()?, sum: sum.parse().ok()?, summed, body_end })
}

/// The fixed beginning of a line.
pub(super) struct Head {
    pub seq: u64,
    pub time: String,
    pub who: String,
    /// Where the keys of the body begin.
    pub body_start: usize,
}

/// Reads `{"seq":N,"time":"...","who":"...",`; on failure says what should have stood there.
pub(super) fn split_head(line: &str) -> Result<Head, &'static str> {
    let rest = line.strip_prefix("{\"seq\":").ok_or("`{\"seq\":` at the start")?;
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let (digits, rest) = rest.split_at_checked(digits).ok_or("a number after `\"seq\":`")?;
    let seq = digits.parse().map_err(|_| "a number after `\"seq\":`")?;
    let rest = rest.strip_prefix(",\"time\":\"").ok_or("`,\"time\":\"` after the number")?;
    let (time, rest) = rest.split_once('"').ok_or("a time in quotes")?;
    let rest = rest.strip_prefix(",\"who\":").ok_or("`,\"who\":` after the time")?;
    let plain = rest.strip_prefix('"').and_then(|rest| rest.split_once('"'));
    let (who, rest) = match plain {
        // Nothing in it is escaped.
        Some((who, rest)) if !who.contains('\\') && !who.contains(|c: char| c.is_ascii_control()) => {
            (who.to_owned(), rest)
        }
        _ => {
            let mut words = serde_json::Deserializer::from_str(rest).into_iter::<String>();
            let who = words.next().and_then(Result::ok).ok_or("a name in quotes after `\"who\":`")?;
            (who, rest.get(words.byte_offset()..).unwrap_or_default())
        }
    };
    let rest = rest.strip_prefix(',').ok_or("a comma after the name")?;
    Ok(Head { seq, time: time.to_owned(), who, body_start: line.len() - rest.len() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written<T: Serialize>(value: T) -> Result<String, serde_json::Error> {
        let mut bytes = Vec::new();
        put(&mut bytes, &value)?;
        Ok(String::from_utf8(bytes).unwrap())
    }

    #[test]
    fn escapes_are_the_fewest_and_have_one_spelling() {
        assert_eq!(
            written("\"a\\b\"/\n\t\u{8}\u{c}\r\u{1f}\u{0}\u{7f}é—\u{2028}").unwrap(),
            "\"\\\"a\\\\b\\\"/\\u000a\\u0009\\u0008\\u000c\\u000d\\u001f\\u0000\u{7f}é—\u{2028}\""
        );
    }

    #[test]
    fn a_line_has_its_keys_in_order_and_its_sum_is_that_of_the_bytes_before_it() {
        let event = Event::Noted { step: None, text: "way wiped".to_owned() };
        let (_, bytes) = Line::seal(1, "2026-03-02T09:14:07+01:00", "operator", event, Digest::ZERO).unwrap();
        let line = String::from_utf8(bytes).unwrap();
        let (summed, sum) = line.split_once(",\"sum\":\"").unwrap();
        assert_eq!(
            summed,
            format!(
                "{{\"seq\":1,\"time\":\"2026-03-02T09:14:07+01:00\",\"who\":\"operator\",\"event\":\"noted\",\
                 \"text\":\"way wiped\",\"prev\":\"{}\"",
                "0".repeat(64)
            )
        );
        assert_eq!(sum, format!("{}\"}}\n", Digest::of(summed.as_bytes())));
    }

    #[test]
    fn null_and_binary_numbers_never_reach_a_record() {
        assert!(written([None::<u8>]).unwrap_err().to_string().contains("left out"));
        assert!(written([0.1_f64]).unwrap_err().to_string().contains("kept as text"));
        assert!(written([0.1_f32]).unwrap_err().to_string().contains("kept as text"));
    }

    #[test]
    fn a_time_has_one_shape_and_must_exist() {
        assert!(check_time("2026-03-02T09:14:07+01:00").is_ok());
        assert!(check_time("2026-03-02T09:14:07-03:30").is_ok());
        for bad in [
            "2026-03-02T09:14:07Z",
            "2026-03-02T09:14:07.5+01:00",
            "2026-03-02 09:14:07+01:00",
            "2026-02-30T09:14:07+01:00",
            "2026-03-02T25:14:07+01:00",
            "",
        ] {
            assert!(check_time(bad).is_err(), "{bad}");
        }
    }
}
