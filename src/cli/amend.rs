//! `bedway amend`: adds what became known after the signing. Nothing that was signed is changed; the amendment is dated and
//! has a signature of its own, over the record with the amendment in it.

use super::args::Amend;
use super::clock::Clock;
use super::console::Console;
use super::failure::{Failure, Status};
use super::keys::KeySource;
use super::sign::{Sheet, Signer, ready, show_signed, sign_with};
use super::walk;
use crate::record::Writer;
use crate::walk::event::Event;

pub fn run(arguments: &Amend, console: &mut dyn Console, clock: &dyn Clock) -> Result<Status, Failure> {
    let text = arguments.text.trim();
    if text.is_empty() {
        return Err(Failure::usage(
            "say what is to be amended: bedway amend RECORD \"what\" --as \"NAME, ROLE\"",
        ));
    }
    let signer = Signer::parse(&arguments.signer)?;
    let source = KeySource::choose(arguments.key.as_deref())?;
    let (mut writer, resumed) = Writer::resume(walk::open(&arguments.record, clock)?)?;
    walk::note_torn(&mut writer, resumed.torn.as_ref(), clock)?;
    if !resumed.record.lines.iter().any(|line| matches!(line.event, Event::Signed { .. })) {
        let record = arguments.record.display();
        return Err(Failure::usage(match Sheet::of(&resumed.record).is_closed() {
            true => format!(
                "{record} is closed and not signed yet; an amendment goes behind the first signature. Sign it first: \
                 bedway sign {record} --as \"NAME, ROLE\". Or put it right itself: bedway walk --resume {record}, \
                 then reopen and why"
            ),
            false => format!(
                "{record} is not signed yet, so it can still be put right itself: bedway walk --resume {record}"
            ),
        }));
    }
    // The key is had first: an amendment that nobody signs is no amendment.
    let sheet = Sheet::of(&resumed.record).amended_by(&signer, text);
    let ready = ready(&resumed.record, sheet, &signer, &source, console)?;
    let event = Event::Amended { text: text.to_owned(), name: Some(signer.name.clone()) };
    writer.append(&clock.stamp(), &signer.role, event)?;
    let signed = sign_with(&mut writer, &ready, &signer, clock)?;
    show_signed(&signed, &arguments.record, console)?;
    Ok(Status::Well)
}
