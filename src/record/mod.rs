//! The record of a walk: one file that is only ever added to, chained, synced, signed and read back.
//!
//! ```text
//! Event -> Line (canonical bytes, sum, prev) -> Writer -> Store (file)      while it is walked
//! file  -> read -> Record (whole lines) or Damage (names the line)          whenever it is judged
//! ```
//!
//! This module knows bytes, order and proof. It must not know what a reading means, ask anybody anything, print, or
//! look at the clock: times and names are handed in. Nothing in it repairs a record; a torn last line is moved to a
//! file beside it, and whatever else is wrong is named and left as it is.

mod faulty;
mod line;
mod order;
mod reader;
pub mod signature;
mod skim;
mod store;
mod writer;

pub use faulty::{Fault, FaultyStore};
pub use line::{Digest, Line, LineFault, check_time};
pub use reader::{Damage, DamageKind, Damaged, Ends, Record, Torn, find_end, read};
pub use skim::{Skimmed, skim, sum_of_line};
pub use store::{FileStore, MemoryStore, Store, StoreFault, side_name};
pub use writer::{AppendFault, OpenFault, Resumed, Writer};
