//! Defects: noted in words, perhaps with a picture; mended, or accepted by a party.

use crate::check::program::{Act, PartyId, StepId};

use super::answer::Taken;
use super::called;
use super::commands::{self, Command};
use super::entry;
use super::event::{Answer, Event, How};
use super::fold::DEFECTS;
use super::machine::{Dialog, Machine, Reply};
use super::question::{Expects, Refusal, Tone};
use super::state::Defect;

impl Defect {
    /// What was found, with the name of its picture.
    pub fn in_words(&self) -> String {
        match &self.photo {
            Some(file) => format!("{} (photo {file})", self.text),
            None => self.text.clone(),
        }
    }
}

impl Machine {
    /// The picture that a line as typed names, of a defect or in a correction: the console reads it and answers with its
    /// digest.
    pub fn photo_named(&self, typed: &str) -> Option<String> {
        let expects = self.question().expects;
        let line = match commands::read(typed.trim(), &expects) {
            Some(Command::Line(line)) => line,
            None if expects == Expects::Defects => typed.trim().to_owned(),
            _ => return None,
        };
        if let Some(photo) = super::correct_said::photo(&line) {
            return Some(photo);
        }
        if let Some(photo) = self.picture_corrected(&line) {
            return Some(photo);
        }
        let is_asked = expects == Expects::Defects;
        let (_, photo) = commands::with_photo(commands::defect_said(&line).or(is_asked.then_some(&line))?)?;
        Some(photo)
    }

    /// The line that names a picture, with the digest of that picture.
    pub fn answer_with_photo(&mut self, typed: &str, sha256: &str) -> Result<Reply, Refusal> {
        self.photo_read = Some(sha256.to_owned());
        let reply = self.answer(typed);
        self.photo_read = None;
        reply
    }

    pub(super) fn answer_defects(&mut self, step: StepId, typed: &str) -> Taken {
        let lower = typed.to_lowercase();
        if matches!(lower.as_str(), "" | "none" | "done" | "no") {
            let numbers = self.state.defects.iter().filter(|it| it.step == Some(step));
            let items = numbers.map(|it| it.number.to_string()).collect();
            self.ensure_opened(step);
            let step = self.name_of(step);
            self.emit(Event::Listed { step, axis: DEFECTS.to_owned(), items });
            return Ok(());
        }
        let words = commands::defect_said(typed).unwrap_or(typed);
        let (text, photo) = match commands::with_photo(words) {
            Some((text, photo)) => (text, Some(photo)),
            None => (words, None),
        };
        if matches!(lower.as_str(), "yes" | "y") {
            return Err(Refusal::new("What was found?")
                .help("Type it in words, such as: chip tray cracked at the drain. Or none."));
        }
        if text.trim().parse::<u64>().is_ok() || called::looks_like_a_reading(text.trim()) {
            return Err(Refusal::new(format!(
                "\"{}\" looks like a reading, and defects are asked for.",
                text.trim()
            ))
            .help("Type in words what was found, or none. If it is meant so, put it in quotes."));
        }
        self.ensure_opened(step);
        self.note_defect(Some(step), entry::unquoted(text.trim()), photo)
    }

    pub(super) fn note_defect(&mut self, step: Option<StepId>, text: String, photo: Option<String>) -> Taken {
        let photo = photo.map(|file| self.picture(&file)).transpose()?;
        let number = self.state.defects.iter().map(|defect| defect.number).max().unwrap_or(0) + 1;
        let step = step.map(|step| self.name_of(step));
        let shown = photo.as_ref().map(|it| format!(" (photo {})", it.value)).unwrap_or_default();
        self.say(Tone::Echo, format!("defect {number}: {text}{shown}"));
        self.emit(Event::Defect { number, step, text, photo });
        Ok(())
    }

    /// The picture of that name, as it was read.
    pub(super) fn picture(&self, file: &str) -> Result<Answer, Refusal> {
        match (&self.photo_read, self.how) {
            (Some(sha256), _) => Ok(entry::photo(file, sha256).answer),
            // Examples name a picture that nobody took.
            (None, How::Example | How::Seeded) => Ok(entry::photo(file, "").answer),
            (None, _) => Err(Refusal::new(format!("The picture {file} has not been read."))),
        }
    }

    pub(super) fn open_defect(&self, number: u32) -> Taken {
        match self.state.defects.iter().find(|defect| defect.number == number) {
            None => Err(Refusal::new(format!("There is no defect {number}."))),
            Some(defect) if defect.mended.is_some() => {
                Err(Refusal::new(format!("Defect {number} is mended already.")))
            }
            Some(_) => Ok(()),
        }
    }

    pub(super) fn accept_defect(&mut self, number: u32, reason: String, by: PartyId) -> Taken {
        self.open_defect(number)?;
        let party = self.program.parties[by.0].name.clone();
        let name = match (self.party_name(by), self.touched.is_some()) {
            (Some(name), _) => name,
            (None, true) => party.clone(),
            (None, false) => {
                self.dialog =
                    Some(Dialog::Party { party: by, then: Box::new(Act::Accepted { number, reason, by }) });
                return Ok(());
            }
        };
        self.say(Tone::Echo, format!("defect {number} stays, accepted by {name}: {reason}"));
        let reason = Some(reason).filter(|reason| !reason.is_empty());
        self.emit(Event::Accepted { number, party, name, reason });
        Ok(())
    }
}
