//! `back`: to the entry before, or to what was moved or said in words after it, which is typed anew.

use crate::check::program::{PutTo, SaidKind, SaidPart};

use super::answer::Taken;
use super::event::Event;
use super::machine::{Dialog, Machine};
use super::question::{Expects, Question, Tone};
use super::sayings::{self, Saying};

impl Machine {
    /// Said as an answer of its own, so that `back` means it.
    pub(super) fn is_gone_back_to(saying: &Saying) -> bool {
        use SaidKind::{Accepted, By, Defect, Held, Mended, Move, Note, Person, Skip, Waive};
        let kinds = [Move, Note, Defect, Mended, Accepted, Skip, Waive, Held, By, Person];
        kinds.contains(&saying.kind) && saying.never.is_none()
    }

    pub(super) fn put_right_question(&self, line: u64) -> Option<Question> {
        let saying = self.state.sayings.iter().find(|it| it.line == line)?;
        let (part, _) = sayings::parts(&saying.event).into_iter().next()?;
        let expects = match (&saying.event, part) {
            (Event::Adjusted(moved), SaidPart::Amount) => {
                self.adjustment_of(moved).map_or(Expects::Text, |it| self.expects(&self.program.values[it.0]))
            }
            (_, SaidPart::Name | SaidPart::By) => Expects::Name,
            _ => Expects::Text,
        };
        let mut hint =
            "what is right; the old words stay on the record, struck out. Enter alone leaves them.";
        if saying.kind == SaidKind::Move {
            hint = "what is right; the old one stays on the record, struck out. never: it was not moved at all. Enter \
                    alone leaves it.";
        }
        let mut hints = vec![hint.to_owned()];
        if let Event::Instrument(card) = &saying.event {
            hints.extend(self.numbers_offered(&card.name));
        }
        let more = sayings::part_words(&saying.event);
        if !more.is_empty() {
            let number = saying.number;
            let kind = saying.kind.word();
            let prefix = if expects.is_text() { ":" } else { "" };
            hints.push(format!(
                "another part of it ({}): {prefix}correct {kind} {number} {} = ... \"why\"",
                more.join(", "),
                more.first().unwrap_or(&"")
            ));
        }
        let ask = format!("Back to {}: {}", saying.target(part), self.in_words(&saying.event));
        Some(Question { place: None, ask, hints, expects })
    }

    pub(super) fn put_right_answer(&mut self, line: u64, typed: &str) -> Taken {
        let Some(saying) = self.state.sayings.iter().find(|it| it.line == line) else { return Ok(()) };
        let which = (saying.kind, saying.number);
        let first = sayings::parts(&saying.event).into_iter().next();
        let word = first.map(|(part, _)| sayings::word_of(&saying.event, part)).filter(|it| !it.is_empty());
        match typed.to_lowercase().as_str() {
            "" => {
                self.say(Tone::Notice, "Nothing was changed.");
                Ok(())
            }
            "never" if which.0 == SaidKind::Move => self.put_right(which, None, PutTo::Never, "typed wrong"),
            _ => self.put_right(which, word, PutTo::Typed(typed.to_owned()), "typed wrong"),
        }
    }

    /// `correct move 1`: what is right is asked for.
    pub(super) fn go_back_to(&mut self, kind: SaidKind, number: u32) -> Taken {
        let line = self.saying(kind, number)?.line;
        self.dialog = Some(Dialog::PutRight(line));
        Ok(())
    }

    /// Of a correction: `L3.bed` or `move 1 torque`.
    pub fn what_it_corrects(&self, event: &Event) -> Option<String> {
        match event {
            Event::Corrected { of, .. } => Some(self.entry_in_words(*of).name),
            Event::PutRight(by) => {
                let saying = self.state.sayings.iter().find(|it| it.line == by.of)?;
                Some(saying.target(by.part))
            }
            _ => None,
        }
    }

    /// The line to go back to: of an entry, or of what was said.
    pub(super) fn line_before(&self, line: u64) -> Option<u64> {
        let entry = (1..line).rev().find(|line| self.state.places.contains_key(line));
        let said = self.state.sayings.iter().rev().find(|it| it.line < line && Self::is_gone_back_to(it));
        entry.max(said.map(|it| it.line))
    }

    /// The dialog that goes back to that line.
    pub(super) fn back_to(&self, line: u64) -> Dialog {
        match self.state.places.contains_key(&line) {
            true => Dialog::Correct(line),
            false => Dialog::PutRight(line),
        }
    }
}
