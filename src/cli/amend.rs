//! `bedway amend`: adds what became known after the signing. Nothing that was signed is changed; the amendment is dated and
//! has a signature of its own, over the record with the amendment in it.

use super::args::Amend;
use super::clock::Clock;
use super::console::{Console, Shown};
use super::failure::{Failure, Status};
use super::keys::KeySource;
use super::sign::{Sheet, Signer, ready, show_signed, sign_with};
use super::{layout, walk};
use crate::record::Writer;
use crate::report::clean;
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
        return Err(Failure::usage(format!(
            "{0} is not signed yet, so it can still be put right itself: bedway walk --resume {0}",
            arguments.record.display()
        )));
    }
    let width = console.width();
    console.show(&[Shown::blank()])?;
    console.show(&layout::plain(&format!("Amended: {}", clean(text)), width, "", "  "))?;
    // The key is had first: an amendment that nobody signs is no amendment.
    let sheet = Sheet::of(&resumed.record).of_amendment();
    let ready = ready(&resumed.record, sheet, &signer, &source, console)?;
    let event = Event::Amended { text: text.to_owned() };
    writer.append(&clock.stamp(), &signer.role, event)?;
    let signed = sign_with(&mut writer, &ready, &signer, clock)?;
    show_signed(&signed, &arguments.record, console)?;
    Ok(Status::Well)
}
