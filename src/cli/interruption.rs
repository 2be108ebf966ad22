//! What is asked when a walk is left and when it is taken up again: the temperature of the room. Enter alone will do for
//! "not measured"; nothing rests on it.

use super::console::Typed;
use super::failure::Failure;
use super::layout;
use super::session::{OUT_OF_STEP, Session};
use crate::record::Store;
use crate::walk::event::Answer;
use crate::walk::question::Refusal;

/// An answer, or why the walk is left instead.
pub(super) enum RoomAsked {
    Measured(Answer),
    NotMeasured,
    Left(&'static str),
}

impl<S: Store> Session<'_, S> {
    /// Asks for the temperature of the room, as long as it takes to get a number or Enter alone.
    pub(super) fn ask_room(&mut self, ask: &str) -> Result<RoomAsked, Failure> {
        let width = self.console.width();
        loop {
            if self.is_out_of_step() {
                return Ok(RoomAsked::Left(OUT_OF_STEP));
            }
            let text = format!("{ask}\nin degC; Enter alone: not measured");
            self.console.show(&[super::console::Shown::blank()])?;
            self.console.show(&layout::plain(&text, width, "", "  "))?;
            let typed = match self.console.read_keys()? {
                Typed::Line(line) => line,
                Typed::Unreadable(reason) => {
                    self.refused(Refusal::new(format!("{reason}.")).help("Type it again."))?;
                    continue;
                }
                Typed::End => return Ok(RoomAsked::Left("end of input")),
                Typed::Interrupted => return Ok(RoomAsked::Left("Ctrl-C")),
                _ => continue,
            };
            match typed.trim().trim_start_matches(':') {
                "" => return Ok(RoomAsked::NotMeasured),
                "pause" => return Ok(RoomAsked::Left("asked for")),
                typed => match self.machine.temperature(typed) {
                    Ok(answer) => return Ok(RoomAsked::Measured(answer)),
                    Err(refusal) => self.refused(refusal)?,
                },
            }
        }
    }

    /// The temperature now, when the walk is taken up again; says what a change means.
    pub(super) fn room_on_return(&mut self) -> Result<RoomAsked, Failure> {
        let before = match self.machine.room_before() {
            Some(before) => format!("it was {before} when it was measured last"),
            None => "it was not measured before".to_owned(),
        };
        let asked = self.ask_room(&format!("The temperature of the room now; {before}."))?;
        if let RoomAsked::Measured(now) = &asked
            && let Some(said) = self.machine.room_changed(now)
        {
            let width = self.console.width();
            self.console.show(&layout::plain(&said, width, "! ", "  "))?;
        }
        Ok(asked)
    }
}
