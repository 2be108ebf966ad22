//! The end of a walk: closed with its verdict, and taken up again as long as nobody has signed it.

use super::answer::Taken;
use super::entry::unquoted;
use super::event::Event;
use super::machine::{Machine, Reply, Status};
use super::question::{Refusal, Tone};

impl Machine {
    /// Ends the walk with its verdict. Refused while something is to be done, or stale and not waived.
    pub fn close(&mut self) -> Result<Reply, Refusal> {
        if self.state.closed.is_some() {
            return Err(Refusal::new("The walk is closed already."));
        }
        let status = self.status();
        if !status.may_be_closed() {
            let to_do = status.open.iter().take(status.open.len() - status.apart);
            let list: Vec<String> = to_do.chain(&status.stale).cloned().collect();
            return Err(Refusal::new(format!("Not everything is finished: {}.", list.join("; "))).help(
                "Finish it, take what is stale once more (again STEP), or say why it is left out: skip STEP \
                     \"reason\", or waive STEP \"reason\" by PARTY.",
            ));
        }
        // What was only half said goes with it.
        self.dialog = None;
        self.emit(closing(&status));
        Ok(self.finish())
    }

    /// What is typed while the walk is closed: nothing is taken but that it is to be taken up again.
    pub(super) fn answer_closed(&mut self, typed: &str) -> Taken {
        match reopening(typed) {
            Some(reason) => self.reopen(reason),
            None => Err(Refusal::new("The walk is closed: nothing can be entered.")
                .help("To take it up again, say why: reopen \"a reading was forgotten\".")),
        }
    }

    pub(super) fn reopen(&mut self, reason: &str) -> Taken {
        if self.state.signed {
            return Err(Refusal::new("The walk is signed, so that nothing in it can be changed.")
                .help("What became known later is added behind the signature: bedway amend."));
        }
        if self.state.closed.is_none() {
            return Err(Refusal::new("The walk is not closed: go on with it."));
        }
        let reason = unquoted(reason);
        if reason.is_empty() {
            return Err(Refusal::new("Why is it taken up again?")
                .help("The reason stands on the record: reopen \"a reading was forgotten\"."));
        }
        self.say(
            Tone::Notice,
            format!("Taken up again: {reason}. It is to be closed anew, with sign, before anyone signs."),
        );
        self.emit(Event::Reopened { reason });
        Ok(())
    }
}

/// What stands behind the word `reopen`.
pub(super) fn reopening(typed: &str) -> Option<&str> {
    let typed = typed.trim().trim_start_matches(':').trim_start();
    let (word, reason) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
    word.eq_ignore_ascii_case("reopen").then_some(reason.trim())
}

pub(super) fn closing(status: &Status) -> Event {
    Event::Closed {
        verdict: status.verdict_if_closed.words().to_owned(),
        exceptions: status.exceptions.clone(),
        open: status.open.clone(),
        stale: status.stale.clone(),
    }
}
