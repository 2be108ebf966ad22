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
    /// The sum of each line: of two copies of one walk one has all of the other's.
    pub sums: Vec<Digest>,
}

/// Looks through the bytes of a record.
///
/// # Errors
/// In words, what is not as it was written.
pub fn skim(bytes: &[u8], wanted: &[&str]) -> Result<Skimmed, String> {
    let mut found = Skimmed { lines: Vec::new(), sums: Vec::new() };
    let mut chain = Digest::ZERO;
    for (line, number) in bytes.split_inclusive(|byte| *byte == b'\n').zip(1..) {
        let Some(whole) = line.strip_suffix(b"\n") else {
            return Err("its last line is torn".to_owned());
        };
        let text = std::str::from_utf8(whole).map_err(|_| format!("line {number} is no text"))?;
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
        found.sums.push(tail.sum);
    }
    match found.sums.is_empty() {
        true => Err("there is no whole line in it".to_owned()),
        false => Ok(found),
    }
}
