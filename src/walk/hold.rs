//! Hold points: the walk waits for a witness, who may sign for what stands so far.

use serde::{Deserialize, Serialize};

use crate::check::program::{PartyId, StepId};

use super::answer::Taken;
use super::ask::Ask;
use super::event::Event;
use super::machine::Machine;
use super::question::{Refusal, Tone};

/// A signature over the record up to the word `signed` of the line that it stands in: what the witness found there, and
/// that it was they, for that party, at that step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldSignature {
    /// How many bytes from the start are signed. None on an early record: those before the line, which did not say at which
    /// step.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bytes: Option<u64>,
    pub identity: String,
    pub key: String,
    pub signature: String,
}

impl Machine {
    /// Whether the question is for the name of a witness.
    pub fn awaits_witness(&self) -> bool {
        self.dialog.is_none() && matches!(self.next_ask(), Ask::Hold(..))
    }

    pub(super) fn hold(&mut self, step: StepId, party: PartyId, name: &str) -> Taken {
        let is_operator = |it: &str| it.trim().to_lowercase() == name.trim().to_lowercase();
        if self.state.operator().is_some_and(is_operator) {
            return Err(Refusal::new("The operator cannot be the witness of a hold.")
                .help("Type the name of the other person."));
        }
        let role = self.program.parties[party.0].name.clone();
        if self.party_name(party).is_none() {
            self.emit(Event::Person { role: role.clone(), name: name.to_owned() });
        }
        let step = self.name_of(step);
        self.say(Tone::Echo, format!("{name}, {role}, witnesses {step}"));
        self.emit(Event::Held { step, party: role, name: name.to_owned(), signed: None });
        Ok(())
    }
}
