//! Reads a record back and believes it only as far as it is whole.
//!
//! Each line must have the one form, its own sum, its number and the digest of the line before. The first that has not
//! is named; nothing from there on is believed, and nothing is mended. Only the very end may be torn, by a loss of power
//! in the middle of a write: that is told apart and is not damage.
//!
//! What reading alone cannot find: whole lines cut from the end. For that a judge keeps the digest of the end
//! ([`find_end`]) or a signature.

use sha2::{Digest as _, Sha256};
use std::fmt;

use super::line::{Digest, Line, check_time, split_head, split_tail};
use super::order::{Order, kind};
use crate::walk::event::{Event, FORMAT};

/// The whole lines of a record.
#[derive(Clone, Debug)]
pub struct Record {
    pub lines: Vec<Line>,
    /// Where each line begins, in bytes from the start.
    pub starts: Vec<u64>,
    /// How many bytes the whole lines have; a torn last line begins here.
    pub length: u64,
    pub torn: Option<Torn>,
    /// The numbers of lines whose time is before that of the line above: noted, not refused.
    pub clock_went_back: Vec<u64>,
    /// SHA-256 of the whole lines: what `sha256sum` says of a file that is not torn, and what `--ends` compares.
    pub end: Digest,
    /// SHA-256 of the last line: what the next line will name as `prev`.
    pub(super) chain: Digest,
    pub(super) order: Order,
}

/// What stands after the last whole line.
#[derive(Clone, PartialEq, Eq)]
pub struct Torn {
    pub bytes: Vec<u8>,
    pub sha256: Digest,
}

impl fmt::Debug for Torn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Torn({} bytes, {})", self.bytes.len(), self.sha256)
    }
}

/// A record that cannot be believed as a whole.
#[derive(Clone, Debug)]
pub struct Damaged {
    pub damage: Damage,
    /// The lines before the damage.
    pub good: Box<Record>,
}

/// What is wrong, and with which line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// Counted in the file, from 1.
    pub line: u64,
    pub kind: DamageKind,
    pub found: String,
    pub expected: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DamageKind {
    /// There is not one whole line.
    Empty,
    /// Not a line of a record, or not in its one form.
    Form,
    /// The bytes do not give the sum that the line ends in.
    Changed,
    /// One or more lines are not there.
    Missing,
    /// A line stands here a second time.
    Doubled,
    /// Two lines have changed places.
    Swapped,
    /// The line before is not the one that this line was written after.
    Chain,
    /// An entry that cannot stand in this place, such as a reading after a signature.
    Misplaced,
    /// A kind of entry or a format that this program does not know.
    Later,
}

impl Damage {
    pub(super) fn is_empty(&self) -> bool {
        self.kind == DamageKind::Empty
    }

    /// Without the sums, which a reader of the first line of a report has nothing to hold against.
    pub fn in_short(&self) -> String {
        let line = self.line;
        match self.kind {
            DamageKind::Changed => format!("line {line} was changed after it had been written"),
            DamageKind::Chain => format!("line {line} was not written after the line that stands before it"),
            _ => self.to_string(),
        }
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, kind, found, expected } = self;
        match kind {
            DamageKind::Empty => write!(f, "there is no whole line in it"),
            DamageKind::Form => {
                write!(f, "line {line} is not as a record is written: found {found}, expected {expected}")
            }
            DamageKind::Changed => {
                write!(
                    f,
                    "line {line} was changed: its text gives the sum {found}, but it ends in the sum {expected}"
                )
            }
            DamageKind::Missing => {
                write!(
                    f,
                    "before line {line} something is missing: found entry {found}, expected entry {expected}"
                )
            }
            DamageKind::Doubled => {
                write!(f, "line {line} is doubled: found entry {found} again, expected entry {expected}")
            }
            DamageKind::Swapped => {
                write!(f, "line {line} is not in its place: found entry {found}, expected entry {expected}")
            }
            DamageKind::Chain => write!(
                f,
                "line {line} was not written after the line that stands before it: it names {found}, and the line before \
                 gives {expected}"
            ),
            DamageKind::Misplaced => {
                write!(f, "line {line} cannot stand there: found `{found}`, expected {expected}")
            }
            DamageKind::Later => write!(
                f,
                "line {line} was made by a later version of Bedway: found {found}, this version knows {expected}. Use a \
                 newer version to read this record"
            ),
        }
    }
}

/// Reads the bytes of a record. Time and memory are in step with their number.
pub fn read(bytes: &[u8]) -> Result<Record, Damaged> {
    let mut whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    // A page that was given to the file but never written reads as zeros, and its line may still have its end.
    let last = bytes.get(..whole.saturating_sub(1)).unwrap_or_default();
    let last_start = last.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    if last.get(last_start..).unwrap_or_default().contains(&0) {
        whole = last_start;
    }
    let (lines, tail) = bytes.split_at_checked(whole).unwrap_or((bytes, &[]));

    let mut reading = Reading::new();
    let mut damage = None;
    for line in lines.split_inclusive(|byte| *byte == b'\n') {
        if let Err(found) = reading.take(line) {
            damage = Some(reading.explain(found, lines));
            break;
        }
    }
    let mut record = reading.finish();
    match damage {
        None if record.lines.is_empty() => {
            let found = format!("{} bytes without a line end", tail.len());
            let damage =
                Damage { line: 1, kind: DamageKind::Empty, found, expected: "a first line".to_owned() };
            Err(Damaged { damage, good: Box::new(record) })
        }
        None => {
            record.torn = (!tail.is_empty()).then(|| Torn { bytes: tail.to_vec(), sha256: Digest::of(tail) });
            Ok(record)
        }
        Some(damage) => Err(Damaged { damage, good: Box::new(record) }),
    }
}

/// The lines believed so far.
struct Reading {
    record: Record,
    whole: Sha256,
    last_time: Option<jiff::Timestamp>,
}

impl Reading {
    fn new() -> Self {
        let record = Record {
            lines: Vec::new(),
            starts: Vec::new(),
            length: 0,
            torn: None,
            clock_went_back: Vec::new(),
            end: Digest::of(&[]),
            chain: Digest::ZERO,
            order: Order::default(),
        };
        Self { record, whole: Sha256::new(), last_time: None }
    }

    /// Takes one line with its `\n`, or says what is wrong with it and takes nothing.
    fn take(&mut self, bytes: &[u8]) -> Result<(), Damage> {
        let number = self.record.lines.len() as u64 + 1;
        let damage = |kind, found: String, expected: &dyn fmt::Display| Damage {
            line: number,
            kind,
            found,
            expected: expected.to_string(),
        };
        let text = std::str::from_utf8(bytes).map_err(|fault| {
            damage(DamageKind::Form, format!("byte {} that is no text", fault.valid_up_to() + 1), &"UTF-8")
        })?;
        let text = text.strip_suffix('\n').unwrap_or(text);
        let tail = split_tail(text).ok_or_else(|| {
            let end = text.char_indices().rev().take(24).last().map_or(0, |(at, _)| at);
            let found = format!("`{}` at the end", text.get(end..).unwrap_or_default());
            damage(DamageKind::Form, found, &"`,\"prev\":` and `,\"sum\":` with their digests")
        })?;

        let mut hasher = Sha256::new();
        hasher.update(bytes.get(..tail.summed).unwrap_or_default());
        let sum = Digest::finish(hasher.clone());
        if sum != tail.sum {
            return Err(damage(DamageKind::Changed, sum.to_string(), &tail.sum));
        }
        hasher.update(bytes.get(tail.summed..).unwrap_or_default());

        let head = split_head(text).map_err(|expected| {
            damage(DamageKind::Form, format!("`{}`", text.chars().take(40).collect::<String>()), &expected)
        })?;
        if head.seq != number {
            let kind = if head.seq > number { DamageKind::Missing } else { DamageKind::Doubled };
            return Err(damage(kind, head.seq.to_string(), &number));
        }
        if tail.prev != self.record.chain {
            return Err(damage(DamageKind::Chain, tail.prev.to_string(), &self.record.chain));
        }
        let time = check_time(&head.time)
            .map_err(|fault| damage(DamageKind::Form, fault.to_string(), &"a time with its offset"))?;

        let body = format!("{{{}}}", text.get(head.body_start..tail.body_end).unwrap_or_default());
        let event =
            parse_event(&body, number).map_err(|(kind, found, expected)| damage(kind, found, &expected))?;
        let line =
            Line { seq: head.seq, time: head.time, who: head.who, event, prev: tail.prev, sum: tail.sum };
        match line.to_bytes() {
            Ok(again) if again == bytes => {}
            Ok(again) => {
                let at = again.iter().zip(bytes).take_while(|(a, b)| a == b).count();
                let part = |bytes: &[u8]| {
                    let from = at.saturating_sub(8);
                    let part = bytes.get(from..bytes.len().min(at + 16)).unwrap_or_default();
                    format!("`{}`", String::from_utf8_lossy(part).trim_end())
                };
                return Err(damage(DamageKind::Form, part(bytes), &part(&again)));
            }
            Err(fault) => return Err(damage(DamageKind::Form, fault.to_string(), &"an entry of its kind")),
        }

        let mut order = self.record.order;
        order
            .take(&line.event)
            .map_err(|expected| damage(DamageKind::Misplaced, kind(text).to_owned(), &expected))?;

        if self.last_time.is_some_and(|last| time < last) {
            self.record.clock_went_back.push(number);
        }
        self.last_time = Some(time);
        self.whole.update(bytes);
        self.record.chain = Digest::finish(hasher);
        self.record.order = order;
        self.record.starts.push(self.record.length);
        self.record.length += bytes.len() as u64;
        self.record.lines.push(line);
        Ok(())
    }

    /// Tells lines that are missing from lines that stand in another order: looks whether the expected one comes later.
    fn explain(&self, mut damage: Damage, lines: &[u8]) -> Damage {
        if damage.kind != DamageKind::Missing {
            return damage;
        }
        let from = usize::try_from(self.record.length).unwrap_or(usize::MAX);
        let rest = lines.get(from..).unwrap_or_default();
        let wanted = format!("{{\"seq\":{},", damage.line);
        if rest.split(|byte| *byte == b'\n').skip(1).any(|line| line.starts_with(wanted.as_bytes())) {
            damage.kind = DamageKind::Swapped;
        }
        damage
    }

    fn finish(self) -> Record {
        Record { end: Digest::finish(self.whole), ..self.record }
    }
}

/// Just enough of an entry to tell an unknown one from a bad one.
#[derive(serde::Deserialize)]
struct Peek {
    event: Option<String>,
    format: Option<u64>,
}

pub(super) fn parse_event(text: &str, number: u64) -> Result<Event, (DamageKind, String, String)> {
    let parsed = serde_json::from_str::<Event>(text);
    // The first line says in which format all are written; what a later one means is not for this program to guess.
    if number > 1
        && let Ok(event) = parsed
    {
        return Ok(event);
    }
    let peek = serde_json::from_str::<Peek>(text).unwrap_or(Peek { event: None, format: None });
    if number == 1
        && let Some(format) = peek.format.filter(|format| *format > u64::from(FORMAT))
    {
        return Err((DamageKind::Later, format!("format {format}"), format!("format {FORMAT}")));
    }
    parsed.map_err(|fault| {
        let reason = fault.to_string();
        match peek.event {
            Some(kind) if reason.starts_with(&format!("unknown variant `{kind}`")) => {
                (DamageKind::Later, format!("an entry `{kind}`"), "no such entry".to_owned())
            }
            Some(kind) => (
                DamageKind::Form,
                format!("{reason} (in its text without the chain)"),
                format!("what an entry `{kind}` holds"),
            ),
            None => (DamageKind::Form, reason, "an entry that begins with `\"event\":`".to_owned()),
        }
    })
}

/// Where a kept end digest is found in a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// The record ends exactly so.
    Here,
    /// The record ended so after this line and was added to since.
    Earlier(u64),
    /// The record never ended so: it was cut back, or it is another one.
    Never,
}

/// Looks for an end digest that someone kept.
pub fn find_end(bytes: &[u8], record: &Record, kept: Digest) -> Ends {
    if record.end == kept {
        return Ends::Here;
    }
    let whole = bytes.get(..usize::try_from(record.length).unwrap_or(usize::MAX)).unwrap_or_default();
    let mut hasher = Sha256::new();
    for (index, line) in whole.split_inclusive(|byte| *byte == b'\n').enumerate() {
        hasher.update(line);
        if Digest::finish(hasher.clone()) == kept {
            return Ends::Earlier(index as u64 + 1);
        }
    }
    Ends::Never
}
