//! What a gauge sends as the answer to the question that stands: a reading where a number is read, and nothing else.
//! A press must never land where nobody looked, so whatever else is asked refuses it.

use crate::check::program::Kind;
use crate::quantity::{GaugeLine, Unit};

use super::answer::Taken;
use super::ask::Ask;
use super::event::How;
use super::half_said::Heard;
use super::machine::{Machine, Reply};
use super::question::Refusal;

impl Machine {
    /// One line as the gauge sent it; a number without a unit is in `unit`.
    pub fn gauge(&mut self, sent: &str, unit: Unit) -> Result<Reply, Refusal> {
        let reply = self.hear_gauge(sent, unit)?;
        Ok(self.note_half_said(Heard::Gauge(sent.trim(), unit), reply))
    }

    pub(super) fn hear_gauge(&mut self, sent: &str, unit: Unit) -> Result<Reply, Refusal> {
        match self.gauge_answer(sent.trim(), unit) {
            Ok(()) => Ok(self.finish()),
            Err(refusal) => {
                let message = format!("The gauge sent \"{}\". {}", sent.trim(), refusal.message);
                self.refuse(Refusal { message, ..refusal })
            }
        }
    }

    fn gauge_answer(&mut self, sent: &str, unit: Unit) -> Taken {
        if self.dialog.is_some() {
            return Err(Refusal::new("What is asked now is answered by keyboard.")
                .help("Answer it, then press again."));
        }
        let Ask::Entry { step, value, cell } = self.next_ask() else {
            return Err(Refusal::new("No reading is asked for now.")
                .help("Press again when the question is for a reading."));
        };
        if !matches!(self.program.values[value.0].kind, Kind::Quantity(_) | Kind::Point) {
            return Err(Refusal::new("The question is not for a number.").help("Answer it by keyboard."));
        }
        let line = GaugeLine::parse(sent).ok_or_else(|| Refusal::new("Nothing stands in it."))?;
        let line = line.map_err(|fault| {
            Refusal::new(format!("That is no reading: {fault}."))
                .help("Press again, or type the value as it is shown.")
        })?;
        let typed = [line.as_typed(unit.symbol())];
        let mut pending = self.prepare(step, value, cell, &typed)?;
        pending.how = How::Gauge;
        for (_, understood) in &mut pending.entries {
            // The record holds what was sent, to the letter.
            understood.answer.typed = sent.to_owned();
        }
        self.take_or_query(pending)
    }
}
