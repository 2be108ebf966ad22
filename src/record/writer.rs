//! Adds lines to a record, one append and one sync each, and takes a record up again after an interruption.
//!
//! When an append or a sync fails, nothing is built on what may be half there: a half-written line is cut off again,
//! and where even that fails, or the disk did not confirm, the writer stops and the record must be resumed.

use std::io;

use thiserror::Error;

use super::line::{Digest, Line, LineFault};
use super::order::{Order, kind};
use super::reader::{Damage, Damaged, Record, Torn, read};
use super::store::{Store, StoreFault};
use crate::walk::event::Event;

/// The one that adds to a record.
#[derive(Debug)]
pub struct Writer<S> {
    store: S,
    length: u64,
    seq: u64,
    prev: Digest,
    order: Order,
    stuck: bool,
}

/// A record taken up again: what stands in it, and the torn last line that was set aside.
#[derive(Debug)]
pub struct Resumed {
    pub record: Record,
    /// To be named, length and digest, in the `resumed` line. Its bytes are in `NAME.torn`; so are those of an earlier
    /// one that no `resumed` line names, because the power went again before it was written.
    pub torn: Option<Torn>,
}

/// Why a record cannot be begun or taken up again. Nothing was changed in it, except that a torn last line may stand
/// in `NAME.torn` already.
#[derive(Debug, Error)]
pub enum OpenFault {
    #[error(transparent)]
    Store(#[from] StoreFault),
    #[error("{0} is not empty; a record is never overwritten, choose another name")]
    NotEmpty(String),
    #[error(
        "{name} holds no whole entry, so nothing was recorded in it; start a new walk under another name"
    )]
    NothingRecorded { name: String },
    #[error("{name} is damaged and was left as it is: {damage}")]
    Damaged { name: String, damage: Box<Damage> },
}

/// Why an entry is not in the record.
#[derive(Debug, Error)]
pub enum AppendFault {
    /// Nothing of the entry stands; the same entry can be given again once the cause is gone.
    #[error("{fault}. {} Mend that and enter it again", where_it_stands(fault, *stands))]
    NotWritten { fault: StoreFault, stands: u64 },
    /// The entry may stand whole, in part or not at all; the writer takes no more.
    #[error(
        "{fault}. The {stands} entries before this one stand in the record; this one may stand only in part. Mend that, then \
         resume the record: what stands is kept, and the question is asked again if this entry is not there"
    )]
    Unsure { fault: StoreFault, stands: u64 },
    /// An earlier append left this writer unsure.
    #[error("the record could not be written before, so no more is added to it; resume the record")]
    Stuck,
    #[error("an entry `{found}` cannot stand here; the record takes {expected}")]
    Misplaced { found: String, expected: &'static str },
    #[error("this entry cannot be recorded: {0}")]
    Line(#[from] LineFault),
}

impl AppendFault {
    /// What is wrong and what stands, for whoever can have the same entry written once more. None: not so.
    pub fn to_be_tried_again(&self) -> Option<String> {
        let Self::NotWritten { fault, stands } = self else { return None };
        Some(format!("{fault}. {}", where_it_stands(fault, *stands)))
    }
}

fn where_it_stands(fault: &StoreFault, stands: u64) -> String {
    match fault.is_gone() {
        true => format!(
            "The {stands} entries before it are in that file, wherever it is now: put it back. This one is not written yet."
        ),
        false => format!("The {stands} entries before it stand in the record; this one does not."),
    }
}

impl<S: Store> Writer<S> {
    /// Begins a record in an empty store.
    pub fn begin(mut store: S) -> Result<Self, OpenFault> {
        let bytes =
            store.read_all().map_err(|source| StoreFault::new("could not read", store.name(), source))?;
        if !bytes.is_empty() {
            return Err(OpenFault::NotEmpty(store.name()));
        }
        Ok(Self { store, length: 0, seq: 0, prev: Digest::ZERO, order: Order::default(), stuck: false })
    }

    /// Takes a record up again. A torn last line is moved, bytes and all, to `NAME.torn`; any other damage is refused.
    pub fn resume(mut store: S) -> Result<(Self, Resumed), OpenFault> {
        let name = store.name();
        let bytes = store.read_all().map_err(|source| StoreFault::new("could not read", &name, source))?;
        let mut record: Record = match read(&bytes) {
            Ok(record) => record,
            Err(Damaged { damage, good }) if good.lines.is_empty() && damage.is_empty() => {
                return Err(OpenFault::NothingRecorded { name });
            }
            Err(Damaged { damage, .. }) => return Err(OpenFault::Damaged { name, damage: Box::new(damage) }),
        };
        let torn = set_aside(&mut store, &mut record)
            .map_err(|source| StoreFault::new("could not set aside the torn last line of", &name, source))?;
        let (length, seq) = (record.length, record.lines.len() as u64);
        let writer = Self { store, length, seq, prev: record.chain, order: record.order, stuck: false };
        Ok((writer, Resumed { record, torn }))
    }

    /// Adds one entry and returns when it is on the disk.
    pub fn append(&mut self, time: &str, who: &str, event: Event) -> Result<Line, AppendFault> {
        if self.stuck {
            return Err(AppendFault::Stuck);
        }
        let mut order = self.order;
        let misplaced = order.take(&event).err();
        let (line, bytes) = Line::seal(self.seq + 1, time, who, event, self.prev)?;
        if let Some(expected) = misplaced {
            let found = kind(&String::from_utf8_lossy(&bytes)).to_owned();
            return Err(AppendFault::Misplaced { found, expected });
        }
        if let Err(source) = self.store.append(&bytes) {
            let fault = self.fault("could not write to", source);
            let undone = self.store.truncate(self.length).and_then(|()| self.store.sync());
            let stands = self.seq;
            return Err(match undone {
                Ok(()) => AppendFault::NotWritten { fault, stands },
                Err(_) => self.unsure(fault),
            });
        }
        if let Err(source) = self.store.sync() {
            // Asking again proves nothing: a disk that failed to write may forget that it did.
            let fault = self.fault("the disk did not confirm what was written to", source);
            return Err(self.unsure(fault));
        }
        self.length += bytes.len() as u64;
        self.seq = line.seq;
        self.prev = Digest::of(&bytes);
        self.order = order;
        Ok(line)
    }

    fn fault(&self, doing: &'static str, source: io::Error) -> StoreFault {
        StoreFault::new(doing, self.store.name(), source)
    }

    fn unsure(&mut self, fault: StoreFault) -> AppendFault {
        self.stuck = true;
        AppendFault::Unsure { fault, stands: self.seq }
    }

    /// How many bytes the record has; what a `signed` line written next must name.
    pub fn length(&self) -> u64 {
        self.length
    }

    /// The number of the last line.
    pub fn seq(&self) -> u64 {
        self.seq
    }

    /// All bytes of the record, as they are to be signed.
    pub fn bytes(&mut self) -> Result<Vec<u8>, StoreFault> {
        let bytes = self.store.read_all().map_err(|source| self.fault("could not read", source))?;
        if bytes.len() as u64 != self.length {
            let grown = io::Error::other("its length changed while it was walked");
            return Err(self.fault("will not sign", grown));
        }
        Ok(bytes)
    }

    pub fn store(&mut self) -> &mut S {
        &mut self.store
    }
}

/// Moves the torn bytes before they are cut off, so that a failure between leaves them twice, never nowhere. Gives all
/// that stands in `NAME.torn` and that no `resumed` line names yet.
fn set_aside<S: Store>(store: &mut S, record: &mut Record) -> io::Result<Option<Torn>> {
    let named = |line: &Line| match &line.event {
        Event::Resumed { torn: Some(torn), .. } => torn.bytes,
        _ => 0,
    };
    let named = usize::try_from(record.lines.iter().map(named).sum::<u64>()).map_err(io::Error::other)?;
    let beside = store.read_beside("torn")?.unwrap_or_default();
    let mut waiting = beside.get(named..).unwrap_or_default().to_vec();
    if let Some(torn) = record.torn.take() {
        // The first try to move it may have come half-way, or all the way.
        let there = if torn.bytes.starts_with(&waiting) { waiting.len() } else { 0 };
        let missing = torn.bytes.get(there..).unwrap_or_default();
        if !missing.is_empty() && !waiting.ends_with(&torn.bytes) {
            store.append_beside("torn", missing)?;
            waiting.extend_from_slice(missing);
        }
        store.truncate(record.length)?;
        store.sync()?;
    }
    Ok((!waiting.is_empty()).then(|| Torn { sha256: Digest::of(&waiting), bytes: waiting }))
}
