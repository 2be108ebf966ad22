//! The key of a witness at a hold: given behind the name (`NAME with key PATH`, `held STEP by PARTY with key PATH`), or
//! asked for where a person sits. Enter alone will do; a key that cannot be used never costs the name that was typed.

use std::path::Path;

use super::console::{Console, Shown, Typed};
use super::failure::Failure;
use super::layout;
use super::session::{Session, maker};
use crate::record::signature::{KeyFault, SignFault, SigningKey, put_signer, sign_hold};
use crate::record::{Store, read};
use crate::report::clean;
use crate::walk::event::Event;
use crate::walk::machine::Reply;
use crate::walk::question::Refusal;

/// Takes a key from the file that is named; may ask for its passphrase.
pub type Keys<'a> = &'a dyn Fn(&str, &mut dyn Console) -> Result<SigningKey, KeyFault>;

const WORDS: &str = " with key";
pub const EXAMPLE: &str = "the file of the private key, such as ~/.ssh/id_ed25519";

impl<S: Store> Session<'_, S> {
    /// Gets the key that is named behind a witness, before anything comes of the line; gives the line without it.
    pub(super) fn take_key<'t>(&mut self, typed: &'t str) -> Result<&'t str, Refusal> {
        let line = typed.trim();
        let command = line.strip_prefix(':').unwrap_or(line).trim_start().to_lowercase();
        let names_witness = self.machine.awaits_witness() && !line.starts_with(':');
        if !names_witness && !command.starts_with("held ") {
            return Ok(typed);
        }
        let Some((rest, named)) = split(line) else { return Ok(typed) };
        let again = format!("Type it again with {EXAMPLE}, or without \"with key\".");
        let refusal = |message: String| Refusal::new(message).help(again.clone());
        let Some(keys) = self.keys else {
            return Err(refusal("Nobody signs here.".to_owned()));
        };
        if named.is_empty() {
            return Err(refusal("The key is not named.".to_owned()));
        }
        let key = keys(named, self.console);
        self.witness = Some(key.map_err(|fault| refusal(said(&fault)))?);
        Ok(rest)
    }

    /// Asks a witness for their key, as long as it takes to get one or Enter alone.
    pub(super) fn ask_key(&mut self, reply: &Reply) -> Result<(), Failure> {
        let held = reply.events.iter().find_map(|event| match event {
            Event::Held { party, name, .. } => Some((name, party)),
            _ => None,
        });
        let (Some((name, party)), Some(keys)) = (held, self.keys) else { return Ok(()) };
        // The witness of a sheet stood at the machine, not here; and a file of answers has said it behind the name.
        if self.witness.is_some() || !self.console.is_interactive() || self.machine.is_from_paper() {
            return Ok(());
        }
        let width = self.console.width();
        let text = format!(
            "{}, {}: your key, to sign what stands so far; or Enter without one\n{EXAMPLE}",
            clean(name),
            clean(party)
        );
        loop {
            self.console.show(&[Shown::blank()])?;
            self.console.show(&layout::plain(&text, width, "", "  "))?;
            let message = match self.console.read_keys()? {
                Typed::Line(line) => match unquoted(line.trim()) {
                    "" => return Ok(()),
                    named => match keys(named, self.console) {
                        Ok(key) => {
                            self.witness = Some(key);
                            return Ok(());
                        }
                        Err(fault) => said(&fault),
                    },
                },
                Typed::Unreadable(reason) => format!("{reason}."),
                // What was typed before stands, without a signature.
                _ => return Ok(()),
            };
            let message = format!("{message}\nType {EXAMPLE}, or Enter to go on without a signature.");
            self.console.show(&layout::plain(&message, width, "! ", "  "))?;
        }
    }

    /// A hold with the signature of its witness, if they gave a key.
    pub(super) fn witnessed(&mut self, time: &str, event: Event) -> Result<Event, Failure> {
        if !matches!(event, Event::Held { signed: None, .. }) {
            return Ok(event);
        }
        let Some(key) = self.witness.take() else { return Ok(event) };
        let bytes = self.writer.bytes()?;
        let record = read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
        let line = (time, maker(&event));
        let signature =
            sign_hold(&mut self.writer, &record.lines, &key, line, &event).map_err(|fault| match fault {
                SignFault::Append(fault) => fault.into(),
                SignFault::Store(fault) => fault.into(),
                SignFault::Key(fault) => Failure::environment(fault.to_string()),
            })?;
        Ok(match event {
            Event::Held { step, party, name, .. } => {
                Event::Held { step, party, name, signed: Some(signature) }
            }
            other => other,
        })
    }

    /// Says that the signature of a witness stands, with what others need to check it.
    pub(super) fn show_witness(&mut self, held: &Event) -> Result<(), Failure> {
        let Event::Held { name, signed: Some(signed), .. } = held else { return Ok(()) };
        let signer = put_signer(&mut self.writer, &signed.identity, &signed.key);
        let record = self.writer.store().name();
        let width = self.console.width();
        let mut lines = layout::plain(&format!("{} has signed", clean(name)), width, "  ", "    ");
        let record = Path::new(&record);
        lines.extend(super::sign::key_words(&signed.key, &signed.identity, &signer, record, width));
        Ok(self.console.show(&lines)?)
    }
}

fn said(fault: &KeyFault) -> String {
    format!("That key cannot be used: {}.", clean(&fault.to_string()))
}

/// What stands before and after ` with key`.
fn split(line: &str) -> Option<(&str, &str)> {
    if let Some(rest) = line.strip_suffix(WORDS) {
        return Some((rest, ""));
    }
    let (rest, named) = line.rsplit_once(" with key ")?;
    Some((rest.trim_end(), unquoted(named.trim())))
}

fn unquoted(text: &str) -> &str {
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}
