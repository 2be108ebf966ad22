//! What can be proved about a record: chain, verdicts, signatures. `verify` says it in sentences, `report` puts it on
//! its first lines.

use std::fs;
use std::path::Path;
use std::rc::Rc;

use jiff::tz::TimeZone;

use super::failure::Failure;
use super::load;
use crate::check::program::Program;
use crate::record::signature::{AllowedSigners, Signatures, check_signatures};
use crate::record::{Damage, Record, StoreFault, read};
use crate::walk::event::Event;
use crate::walk::machine::Machine;
use crate::walk::replay::{self, Replayed};

/// A record with all that was found out about it.
#[derive(Debug)]
pub struct Examined {
    pub bytes: Vec<u8>,
    /// The lines that can be believed.
    pub record: Record,
    pub damage: Option<Damage>,
    pub program: Result<Rc<Program>, String>,
    /// The machine at the end of the walk, or which line says other than what follows from the entries.
    pub replayed: Result<Machine, String>,
    /// Indices of the lines that say what follows in other words than this version does.
    pub otherwise: Vec<usize>,
    pub signatures: Signatures,
}

impl Examined {
    pub fn rehearsal(&self) -> bool {
        matches!(self.opened(), Some(Event::Opened { rehearsal: true, .. }))
    }

    pub fn opened(&self) -> Option<&Event> {
        self.record.lines.first().map(|line| &line.event)
    }

    /// The verdict that the walk was closed with.
    pub fn verdict(&self) -> Option<&str> {
        let of = |event| matches!(event, &Event::Closed { .. } | &Event::Reopened { .. });
        match self.record.lines.iter().rev().map(|line| &line.event).find(|event| of(event)) {
            Some(Event::Closed { verdict, .. }) => Some(verdict),
            _ => None,
        }
    }

    /// Whether the record is whole and its verdicts follow from its entries.
    pub fn is_sound(&self) -> bool {
        self.damage.is_none() && self.record.torn.is_none() && self.replayed.is_ok() && self.signatures.hold()
    }
}

/// Reads a file of a record, whatever is in it.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path)
        .map_err(|source| StoreFault::new("could not read", path.display().to_string(), source).into())
}

/// Reads a file of allowed signers.
pub fn read_signers(path: &Path) -> Result<AllowedSigners, Failure> {
    let bytes = read_bytes(path)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::environment(format!("{} is no text in UTF-8", path.display())))?;
    Ok(AllowedSigners::parse(&text, &TimeZone::system()))
}

pub fn examine(bytes: Vec<u8>, signers: Option<&AllowedSigners>) -> Examined {
    let (record, damage) = match read(&bytes) {
        Ok(record) => (record, None),
        Err(damaged) => (*damaged.good, Some(damaged.damage)),
    };
    let opened = record.lines.first().map(|line| &line.event);
    let program = load::frozen(opened).map_err(|fault| fault.to_string());
    let replayed = match &program {
        Ok(program) => replay_lines(Rc::clone(program), &record),
        Err(fault) => Err(fault.clone()),
    };
    let (replayed, otherwise) = match replayed {
        Ok(Replayed { machine, otherwise, .. }) => (Ok(machine), otherwise),
        Err(fault) => (Err(fault), Vec::new()),
    };
    let signatures = check_signatures(&bytes, &record, signers);
    Examined { bytes, record, damage, program, replayed, otherwise, signatures }
}

fn replay_lines(program: Rc<Program>, record: &Record) -> Result<Replayed, String> {
    let events = record.lines.iter().map(|line| (line.time.as_str(), &line.event));
    replay::verify(program, events).map_err(|mismatch| mismatch.to_string())
}
