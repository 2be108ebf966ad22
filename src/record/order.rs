//! Which entries may stand where in a record. The writer refuses what the reader would refuse.

use crate::walk::event::Event;

/// How far a record has come, as far as the order of its lines goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Order {
    opened: bool,
    closed: bool,
    signed: bool,
}

impl Order {
    /// Takes the next entry, or says what could have stood in its place.
    pub fn take(&mut self, event: &Event) -> Result<(), &'static str> {
        match event {
            Event::Opened { .. } if self.opened => return Err("`opened` only on the first line"),
            Event::Opened { .. } => self.opened = true,
            _ if !self.opened => return Err("`opened` on the first line"),
            Event::Signing { .. } if !self.closed => return Err("`closed` before the first `signing`"),
            Event::Person { .. } | Event::Signing { .. } | Event::Resumed { .. } | Event::Noted { .. } => {}
            Event::Signed { .. } => self.signed = true,
            Event::Amended { .. } if !self.signed => return Err("`amended` only after the first `signed`"),
            Event::Amended { .. } => {}
            Event::Reopened { .. } if self.closed && !self.signed => self.closed = false,
            _ if self.signed => {
                return Err(
                    "after a signature only `person`, `signing`, `signed`, `amended`, `resumed` or `noted`",
                );
            }
            Event::Reopened { .. } => return Err("`reopened` only after `closed`"),
            Event::Paused { .. } => {}
            _ if self.closed => {
                return Err(
                    "after `closed` only `reopened`, `person`, `signing`, `signed`, `paused`, `resumed` or `noted`",
                );
            }
            Event::Closed { .. } => self.closed = true,
            _ => {}
        }
        Ok(())
    }
}

/// The word for an entry in the record, such as `step_opened`.
pub(super) fn kind(line: &str) -> &str {
    let after = line.split_once("\"event\":\"").map_or("", |(_, after)| after);
    after.split('"').next().unwrap_or_default()
}
