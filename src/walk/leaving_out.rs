//! Confirmations, what is left out or accepted, findings, and stops raised by hand.

use crate::check::program::{Act, PartyId, StateWord, StepId, ValueId};

use super::answer::Taken;
use super::event::Event;
use super::machine::{Dialog, Machine};
use super::question::{Refusal, Tone};
use super::wording;

impl Machine {
    pub(super) fn confirm(&mut self, step: StepId, answer: bool) -> Taken {
        let definition = &self.program.steps[step.0];
        if self.touched.is_some() {
            // An example says how it goes on from here; without the line it counts as yes.
            let text = definition.confirms.first().map(wording::plain).unwrap_or_default();
            match answer {
                true => self.state.refused.remove(&step),
                false => self.state.refused.insert(step, text),
            };
            return Ok(());
        }
        let done = self.state.step(step).attempt().map_or(0, |attempt| attempt.confirmed);
        let Some(words) = definition.confirms.get(done) else {
            return Err(Refusal::new("There is nothing to confirm."));
        };
        let text = wording::plain(words);
        self.ensure_opened(step);
        let name = self.name_of(step);
        self.emit(Event::Confirmed { step: name, text, answer });
        if !answer {
            self.say(Tone::Notice, "The step does not go on until this is yes.");
        }
        Ok(())
    }

    /// The name of a party that has not been named yet, before it waives or accepts something.
    pub(super) fn name_party(&mut self, party: PartyId, then: Act, typed: &str) -> Taken {
        let name = super::entry::unquoted(typed);
        if name.is_empty() {
            return Err(Refusal::new("Nothing was typed.").help("Type that person's name."));
        }
        self.may_act_for(party, &name)?;
        let role = self.program.parties[party.0].name.clone();
        self.emit(Event::Person { role, name });
        self.perform(then)
    }

    /// Nobody but the operator themselves acts for a party.
    pub(super) fn may_act_for(&self, party: PartyId, name: &str) -> Taken {
        let is_operator = |it: &str| it.trim().to_lowercase() == name.trim().to_lowercase();
        if self.state.operator().is_some_and(is_operator) {
            let who = wording::plain(&self.program.parties[party.0].who);
            return Err(Refusal::new("The operator cannot act for another party.")
                .help(format!("Type the name of the other person ({who}).")));
        }
        Ok(())
    }

    pub(super) fn party_name(&self, party: PartyId) -> Option<String> {
        self.state.people.get(&self.program.parties[party.0].name).cloned()
    }

    pub(super) fn skip(&mut self, step: StepId, reason: String) -> Taken {
        if reason.is_empty() {
            return Err(Refusal::new("A step that is left out needs its reason.").help("skip \"why\""));
        }
        let state = self.standing().state_of(step);
        if matches!(state, StateWord::Passes | StateWord::Fails | StateWord::Undecided | StateWord::Recorded)
        {
            let name = self.name_of(step);
            let help = match (self.program.parties.as_slice(), self.standing().is_stale(step)) {
                ([], true) => format!("It is stale, and is to be taken again: again {name}"),
                ([], false) => "It stands as it was found; the walk can be closed with it.".to_owned(),
                _ => format!("What was found can be accepted by a party: waive {name} \"why\" by PARTY"),
            };
            let refusal = Refusal::new(format!("{name} has been taken: it cannot be skipped."));
            return Err(refusal.help(help));
        }
        if state == StateWord::Stopped {
            return Err(Refusal::new(format!(
                "{} was stopped; a stop cannot be skipped.",
                self.name_of(step)
            )));
        }
        self.drop_half_said(step);
        let step = self.name_of(step);
        self.say(Tone::Notice, format!("{step} is skipped: {reason}"));
        self.emit(Event::Skipped { step, reason });
        Ok(())
    }

    /// `take STEP`: steps may be taken as they come, as long as nothing stands before them.
    pub(super) fn turn_to(&mut self, name: &str) -> Taken {
        let Some(step) = self.directory.step(name) else {
            let names = self.program.steps.iter().map(|step| step.name.as_str());
            let near = crate::diagnostic::nearest(name, names.clone());
            let there_are = format!("The steps are {}.", crate::diagnostic::a_few(names));
            return Err(Refusal::new(match name {
                "" => "Which step?".to_owned(),
                _ => format!("There is no step {name}."),
            })
            .help(match near {
                Some(near) => format!("Type it so: take {near}. {there_are}"),
                None => format!("Type take and the name of a step. {there_are}"),
            }));
        };
        self.may_be_read(step)?;
        if self.ask_in(step).is_none() {
            let state = self.standing().stand_of(step);
            return Err(Refusal::new(format!("{name} has all its answers: {state}."))
                .help(format!("To measure it once more: again {name}, or remeasure {name}.READING")));
        }
        self.dialog = None;
        self.wanted = Some(step);
        Ok(())
    }

    pub(super) fn waive(&mut self, step: StepId, reason: String, by: Option<PartyId>) -> Taken {
        let Some(party) = by else {
            return Err(Refusal::new("A party must waive it.").help("waive STEP \"why\" by PARTY"));
        };
        if self.state.step(step).stop.is_some() {
            return Err(Refusal::new(format!(
                "{} was stopped; a stop cannot be waived.",
                self.name_of(step)
            )));
        }
        let role = self.program.parties[party.0].name.clone();
        let name = match (self.party_name(party), self.touched.is_some()) {
            (Some(name), _) => name,
            (None, true) => role.clone(),
            (None, false) => {
                let then = Box::new(Act::Waive { step, reason, by });
                self.dialog = Some(Dialog::Party { party, then });
                return Ok(());
            }
        };
        self.drop_half_said(step);
        let step = self.name_of(step);
        self.say(Tone::Notice, format!("{step} is waived by {name}: {reason}"));
        self.emit(Event::Waived { step, reason, party: role, name });
        Ok(())
    }

    /// What was altered, or why, is no longer asked of a step that is left out.
    fn drop_half_said(&mut self, step: StepId) {
        if let Some(Dialog::Altered { step: of, .. } | Dialog::Reason(of)) = &self.dialog
            && *of == step
        {
            self.dialog = None;
        }
    }

    pub(super) fn stop(&mut self, step: Option<StepId>, text: String) -> Taken {
        let step = step.map_or_else(|| self.current_step(), Ok)?;
        if self.state.step(step).stop.is_some() {
            return Err(Refusal::new(format!("{} is stopped already.", self.name_of(step))));
        }
        self.ensure_opened(step);
        let step = self.name_of(step);
        let said = format!("{}. Switch off and isolate.", text.trim_end_matches('.'));
        self.say_stopped(&step, &said);
        self.emit(Event::Stopped { step, by_hand: true, text });
        Ok(())
    }

    /// What to do at once, and how it goes on after that.
    pub(super) fn say_stopped(&mut self, step: &str, text: &str) {
        self.say(Tone::NotWell, format!("STOP. {text}"));
        self.say(
            Tone::Notice,
            format!(
                "No step that runs the machine goes on until this is cleared; the others do. See to the cause, then type \
                 altered {step} \"what was done\", then again {step}."
            ),
        );
    }

    pub(super) fn justify(&mut self, adjustment: ValueId, reason: String) -> Taken {
        let step = self.step_of(adjustment)?;
        let flagged =
            |it: &&super::state::Move| it.adjustment == Some(adjustment) && it.is_on_withdrawn_advice();
        if !self.state.moves.iter().any(|it| flagged(&it)) {
            return Err(Refusal::new(
                "That adjustment was not made on withdrawn advice: there is nothing to justify.",
            ));
        }
        let (step, adjustment) = (self.name_of(step), self.program.values[adjustment.0].name.clone());
        self.say(Tone::Echo, format!("{step}.{adjustment} stays: {reason}"));
        self.emit(Event::Justified { step, adjustment, reason });
        Ok(())
    }
}
