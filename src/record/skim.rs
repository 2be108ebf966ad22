//! Reads a record for what is wanted of it: every line is held against its sum and the one before it, only the kinds
//! that are asked for are understood. Cheap, so that thousands can be looked through.
//!
//! It does not prove what [`super::read`] and a replay prove: the form of each line, the order of entries, that verdicts
//! follow from them. Whoever shows what comes of it says so.

use sha2::{Digest as _, Sha256};

use super::line::{Digest, split_head, split_tail};
use super::order::kind;
use super::reader::parse_event;
use crate::walk::event::Event;

/// The lines of the kinds that were asked for.
#[derive(Clone, Debug)]
pub struct Skimmed {
    /// Number, time and what is on it.
    pub lines: Vec<(u64, String, Event)>,
    pub first: Digest,
    pub last: Digest,
    /// How many lines it has.
    pub count: u64,
}

/// Looks through the bytes of a record.
///
/// # Errors
/// In words, what is not as it was written.
pub fn skim(bytes: &[u8], wanted: &[&str]) -> Result<Skimmed, String> {
    let mut found = Skimmed { lines: Vec::new(), first: Digest::ZERO, last: Digest::ZERO, count: 0 };
    let mut chain = Digest::ZERO;
    let whole = std::str::from_utf8(bytes).map_err(|fault| {
        let before = bytes.get(..fault.valid_up_to()).unwrap_or_default();
        format!("line {} is no text", before.iter().filter(|byte| **byte == b'\n').count() + 1)
    })?;
    for (line, number) in whole.split_inclusive('\n').zip(1..) {
        let Some(text) = line.strip_suffix('\n') else {
            return Err("its last line is torn".to_owned());
        };
        let line = line.as_bytes();
        let tail = split_tail(text).ok_or_else(|| format!("line {number} is not as a record is written"))?;
        let mut hasher = Sha256::new();
        hasher.update(line.get(..tail.summed).unwrap_or_default());
        if Digest::finish(hasher.clone()) != tail.sum {
            return Err(format!("line {number} was changed"));
        }
        hasher.update(line.get(tail.summed..).unwrap_or_default());
        if tail.prev != chain {
            return Err(format!("line {number} was not written after the line before it"));
        }
        chain = Digest::finish(hasher);
        let head = split_head(text).map_err(|expected| format!("line {number}: expected {expected}"))?;
        if head.seq != number {
            return Err(format!("line {number} has the number {}", head.seq));
        }
        let body = text.get(head.body_start..tail.body_end).unwrap_or_default();
        if number == 1 || wanted.contains(&kind(body)) {
            let event = parse_event(&format!("{{{body}}}"), number).map_err(|(_, found, expected)| {
                format!("line {number}: found {found}, expected {expected}")
            })?;
            found.lines.push((number, head.time, event));
        }
        if number == 1 {
            found.first = tail.sum;
        }
        (found.last, found.count) = (tail.sum, number);
    }
    match found.count {
        0 => Err("there is no whole line in it".to_owned()),
        _ => Ok(found),
    }
}

/// The sum of a line. As each sum covers the line before, two records that share one share all lines up to it.
pub fn sum_of_line(bytes: &[u8], number: u64) -> Option<Digest> {
    let mut lines = bytes.split(|byte| *byte == b'\n');
    let line = lines.nth(usize::try_from(number.checked_sub(1)?).ok()?)?;
    split_tail(std::str::from_utf8(line).ok()?).map(|tail| tail.sum)
}
