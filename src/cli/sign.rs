//! Signing: who may, what is shown to them before, and the signature itself.

use std::path::Path;

use super::args::Sign;
use super::clock::Clock;
use super::console::{Console, Shown, Typed};
use super::failure::{Failure, Status};
use super::keys::{KeySource, at_home};
use super::layout;
use super::witness::EXAMPLE;
use crate::check::program::{StateWord, WalkVerdict};
use crate::record::signature::{
    Added, Amending, SignFault, SignedLines, SigningKey, Statement, fingerprint, identity_for, same_person,
    sign_record,
};
use crate::record::{Record, Store, StoreFault, Writer, read};
use crate::report::clean;
use crate::walk::event::{Event, HoldSignature};
use crate::walk::machine::StepStatus;

pub const OPERATOR: &str = "operator";

/// Who puts a name to it, and as what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signer {
    pub name: String,
    pub role: String,
}

impl Signer {
    /// `"Ann Example, owner"`.
    pub fn parse(text: &str) -> Result<Self, Failure> {
        let parts = text.rsplit_once(',').map(|(name, role)| (tidy(name), tidy(role).to_lowercase()));
        match parts {
            Some((name, role)) if !name.is_empty() && !role.is_empty() => Ok(Self { name, role }),
            _ => Err(Failure::usage(format!(
                "--as needs a name and a role, parted by a comma, such as --as \"Ann Example, operator\"; found \"{}\"",
                clean(text)
            ))),
        }
    }
}

fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a record says about who may sign it and what for.
#[derive(Debug, Default)]
pub struct Sheet {
    pub rehearsal: bool,
    pub verdict: String,
    pub exceptions: Vec<String>,
    closed: bool,
    parties: Vec<String>,
    operators: Vec<String>,
    /// Party and name of who was there at a hold.
    held: Vec<(String, String)>,
    /// Role, name, identity and key of those who have signed.
    signed: Vec<(String, String, String, String)>,
    /// The same, of what was signed before the last amendment.
    signed_before: Vec<(String, String, String, String)>,
    /// The same, of who has signed only what they added, and not the verdict.
    amended: Vec<(String, String, String, String)>,
    /// What was added, and who added it has not signed yet.
    amending: Amending,
    /// The same, of the witnesses who have signed at a hold.
    witnessed: Vec<(String, String, String, String)>,
}

impl Sheet {
    pub fn of(record: &Record) -> Self {
        let mut sheet = Self::default();
        let mut pending = None;
        for line in &record.lines {
            match &line.event {
                Event::Opened { parties, rehearsal, .. } => {
                    sheet.parties.clone_from(parties);
                    sheet.rehearsal = *rehearsal;
                }
                Event::Person { role, name } if role == OPERATOR => sheet.operators.push(name.clone()),
                Event::Closed { verdict, exceptions, .. } => {
                    sheet.closed = true;
                    sheet.verdict.clone_from(verdict);
                    sheet.exceptions.clone_from(exceptions);
                }
                Event::Signing { party, name, identity, key, .. } => {
                    pending = Some((party.clone(), name.clone(), identity.clone(), key.clone()));
                }
                Event::Held { party, name, signed, .. } => {
                    sheet.closed = false;
                    sheet.held.push((party.clone(), name.clone()));
                    if let Some(HoldSignature { identity, key, .. }) = signed {
                        sheet.witnessed.push((party.clone(), name.clone(), identity.clone(), key.clone()));
                    }
                }
                Event::Signed { .. } => sheet.take(pending.take()),
                Event::Amended { .. } => {
                    sheet.signed_before.append(&mut sheet.signed);
                    sheet.amending.read(line);
                }
                // What is added to a closed walk opens it again.
                Event::Person { .. } | Event::Resumed { .. } | Event::Paused { .. } | Event::Noted { .. } => {
                }
                _ => sheet.closed = false,
            }
        }
        sheet
    }

    /// For an amendment that this person is about to add: whoever has signed the walk may sign that too.
    pub fn amended_by(mut self, signer: &Signer, text: &str) -> Self {
        self.signed_before.append(&mut self.signed);
        let (party, name) = (signer.role.clone(), Some(signer.name.clone()));
        self.amending.unsigned.push(Added { line: 0, party, name, text: text.to_owned() });
        self
    }

    /// Who signs what they have added, and has not signed the verdict, still may.
    fn take(&mut self, signed: Option<(String, String, String, String)>) {
        let Some(signed) = signed else { return };
        let has_signed = self.signed_before.iter().any(|(role, ..)| *role == signed.0);
        match self.amending.sign(&signed.0, &signed.1) && !has_signed {
            true => self.amended.push(signed),
            false => self.signed.push(signed),
        }
    }

    pub fn is_closed(&self) -> bool {
        self.closed
    }

    pub fn operator(&self) -> Option<&str> {
        self.operators.last().map(String::as_str)
    }

    /// Roles that are expected to sign and have not, the operator first.
    pub fn missing(&self) -> Vec<String> {
        let roles = std::iter::once(OPERATOR.to_owned()).chain(self.parties.iter().cloned());
        let on_the_verdict = || self.signed.iter().chain(&self.signed_before);
        roles.filter(|role| !on_the_verdict().any(|(signed, ..)| signed == role)).collect()
    }

    /// Why this person may not sign so.
    fn refusal(&self, signer: &Signer) -> Option<String> {
        let Signer { name, role } = signer;
        if role != OPERATOR && !self.parties.contains(role) {
            let roles: Vec<&str> =
                std::iter::once(OPERATOR).chain(self.parties.iter().map(String::as_str)).collect();
            return Some(format!("nobody signs this record as {role}; its roles are: {}", roles.join(", ")));
        }
        if let Some((_, by, ..)) = self.signed.iter().find(|(signed, ..)| signed == role) {
            return Some(format!("{by} has signed it as {role} already"));
        }
        let is_operator = self.operators.iter().any(|operator| same_person(operator, name));
        if role == OPERATOR && !is_operator && !self.operators.is_empty() {
            let operators = self.operators.join(", ");
            return Some(format!(
                "the operator of this walk is {operators}; only that person signs as operator"
            ));
        }
        if role != OPERATOR && is_operator {
            return Some(format!(
                "{name} took the readings and cannot sign as {role} too; that is another person"
            ));
        }
        let mut all = self.signed.iter().chain(&self.signed_before).chain(&self.amended);
        let twice = all.find(|(signed, by, ..)| signed != role && same_person(by, name));
        twice.map(|(as_role, ..)| format!("{name} has signed as {as_role} and cannot sign as {role} too"))
    }
}

/// `bedway sign`.
pub fn run(arguments: &Sign, console: &mut dyn Console, clock: &dyn Clock) -> Result<Status, Failure> {
    let signer = Signer::parse(&arguments.signer)?;
    let source = KeySource::choose(arguments.key.as_deref())?;
    let (mut writer, mut resumed) = Writer::resume(super::walk::open(&arguments.record, clock)?)?;
    let torn = resumed.torn.take();
    let is_closed = Sheet::of(&resumed.record).is_closed();
    if !is_closed {
        must_be_at_its_end(&resumed.record, &arguments.record, console, clock)?;
    }
    if !is_closed || torn.is_some() {
        let mut walk = super::walk::take_up(writer, &resumed.record, torn, None, false, console, clock)?;
        if !is_closed {
            close(&mut walk)?;
        }
        writer = walk.writer;
    }
    let signed = sign(&mut writer, &signer, &source, console, clock)?;
    show_signed(&signed, &arguments.record, console)?;
    Ok(Status::Well)
}

/// From outside a walk is closed only where nothing is left to say: that it ends with something open, with results that
/// do not agree or with a stop, is for whoever walks it. Nothing is written.
fn must_be_at_its_end(
    record: &Record,
    path: &Path,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<(), Failure> {
    let (mut machine, _) = super::walk::stood(record)?;
    machine.set_time(&clock.stamp());
    let status = machine.status();
    let is_held_up = |step: &&StepStatus| matches!(step.stand.state, StateWord::Stopped | StateWord::Blocked);
    let held_up = status.steps.iter().filter(is_held_up);
    let held_up: Vec<String> = held_up.map(|it| format!("{}: {}", it.name, it.stand)).collect();
    let left = match (status.open.is_empty() && status.stale.is_empty(), held_up.is_empty()) {
        (true, true) => return Ok(()),
        (false, _) => "the walk is not finished".to_owned(),
        (true, false) => format!("the walk is stopped ({})", held_up.join("; ")),
    };
    let width = console.width();
    console.show(&layout::exit(&status, width))?;
    let as_it_is = match status.may_be_closed() {
        true => ". Or, if nothing more comes of it, close it there as it is, not accepted: sign",
        false => "",
    };
    Err(Failure::new(
        Status::NotAccepted,
        format!(
            "{left}; nothing was closed and nothing was signed. Go on with: bedway walk --resume {}{as_it_is}",
            path.display()
        ),
    ))
}

/// Closes a walk from outside of it.
fn close<S: Store>(walk: &mut super::session::Session<'_, S>) -> Result<(), Failure> {
    walk.tick();
    let width = walk.console.width();
    walk.console.show(&layout::exit(&walk.machine.status(), width))?;
    match walk.machine.close() {
        Ok(reply) => walk.commit(reply, ""),
        Err(refusal) => {
            let help = refusal.help.unwrap_or_default();
            Err(Failure::new(Status::NotAccepted, format!("{} {help}", refusal.message)))
        }
    }
}

/// Shows what is signed and signs it.
pub fn sign<S: Store>(
    writer: &mut Writer<S>,
    signer: &Signer,
    source: &KeySource,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<SignedLines, Failure> {
    let bytes = writer.bytes()?;
    let record = read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
    let ready = ready(&record, Sheet::of(&record), signer, source, console)?;
    sign_with(writer, &ready, signer, clock)
}

/// All that a signature takes, had before anything is written.
#[derive(Debug)]
pub struct Ready {
    sheet: Sheet,
    identity: String,
    key: SigningKey,
}

/// Looks whether this person may sign so, shows what is signed, and gets the key.
pub fn ready(
    record: &Record,
    sheet: Sheet,
    signer: &Signer,
    source: &KeySource,
    console: &mut dyn Console,
) -> Result<Ready, Failure> {
    if let Some(reason) = sheet.refusal(signer) {
        return Err(Failure::usage(format!("{reason}. Nothing was signed")));
    }
    if sheet.rehearsal && !matches!(source, KeySource::Rehearsal(_)) {
        return Err(Failure::usage("this is a rehearsal: nothing was measured, so there is nothing to sign"));
    }
    show_statement(&sheet, signer, console)?;
    let identity = identity_for(&record.lines, &signer.name);
    let key = source.key(&identity, console)?;
    let print = key.fingerprint();
    let same_key = |line: &str| fingerprint(line).is_ok_and(|other| other == print);
    let mut before =
        sheet.signed.iter().chain(&sheet.signed_before).chain(&sheet.amended).chain(&sheet.witnessed);
    if let Some((role, name, ..)) = before.find(|(_, name, _, line)| same_key(line) && *name != signer.name) {
        return Err(Failure::usage(format!(
            "that key has signed as {name}, {role}; each person signs with a key of their own. Nothing was signed"
        )));
    }
    Ok(Ready { sheet, identity, key })
}

pub fn sign_with<S: Store>(
    writer: &mut Writer<S>,
    ready: &Ready,
    signer: &Signer,
    clock: &dyn Clock,
) -> Result<SignedLines, Failure> {
    let Ready { sheet, identity, key } = ready;
    let statement = Statement {
        party: signer.role.clone(),
        name: signer.name.clone(),
        verdict: sheet.verdict.clone(),
        exceptions: sheet.exceptions.clone(),
    };
    sign_record(writer, key, &clock.stamp(), &signer.role, identity, statement).map_err(|fault| match fault {
        SignFault::Append(fault) => fault.into(),
        SignFault::Store(fault) => fault.into(),
        SignFault::Key(fault) => Failure::environment(fault.to_string()),
    })
}

fn show_statement(sheet: &Sheet, signer: &Signer, console: &mut dyn Console) -> Result<(), Failure> {
    let width = console.width();
    let (name, role) = (clean(&signer.name), clean(&signer.role));
    let mut lines = vec![Shown::blank()];
    let added: Vec<String> =
        sheet.amending.by(&signer.role, &signer.name).map(|added| clean(&added.text)).collect();
    if !added.is_empty() {
        lines.extend(layout::list(&format!("{name}, {role}, signs what they add:"), &added, width));
        let text = format!("The verdict stands as it was signed before: {}", sheet.verdict);
        lines.extend(layout::plain(&text, width, "  ", "    "));
        return Ok(console.show(&lines)?);
    }
    let heading = format!("{name}, {role}, signs: {}", sheet.verdict);
    lines.extend(layout::strong(&heading, width));
    if sheet.exceptions.is_empty() && WalkVerdict::accepts(&sheet.verdict) {
        lines.push(Shown::plain("  without exceptions"));
    }
    lines.extend(layout::list("  with these exceptions:", &sheet.exceptions, width));
    Ok(console.show(&lines)?)
}

/// Says what was written and what to give to those who want to check it.
pub fn show_signed(signed: &SignedLines, record: &Path, console: &mut dyn Console) -> Result<(), Failure> {
    let Event::Signing { name, party, identity, key, .. } = &signed.signing.event else { return Ok(()) };
    let width = console.width();
    let mut lines = layout::strong(&format!("Signed by {}, {}.", clean(name), clean(party)), width);
    let text = match &signed.beside {
        Ok(suffix) => format!("signature also in {}", beside(record, suffix)),
        Err(fault) => format!("{fault}; the record itself is signed"),
    };
    lines.extend(layout::plain(&text, width, "  ", "    "));
    lines.extend(key_words(key, identity, &signed.signer, record, width));
    Ok(console.show(&lines)?)
}

/// What somebody else needs to check a signature: the line of the key, and its fingerprint to be told by voice.
pub(super) fn key_words(
    key: &str,
    identity: &str,
    signer: &Result<String, StoreFault>,
    record: &Path,
    width: usize,
) -> Vec<Shown> {
    let text = match signer {
        Ok(suffix) => format!("its line for the file of allowed signers: {}", beside(record, suffix)),
        Err(fault) => {
            format!("{fault}; for the file of allowed signers: {identity} namespaces=\"bedway\" {key}")
        }
    };
    let mut lines = layout::plain(&text, width, "  ", "    ");
    let print = format!("key {}", fingerprint(key).unwrap_or_default());
    lines.extend(layout::plain(&print, width, "  ", "    "));
    lines
}

fn beside(record: &Path, suffix: &str) -> String {
    record.with_file_name(format!("{}.{suffix}", crate::record::side_name(record))).display().to_string()
}

/// At the end of a walk: the operator first, then each party that is there.
pub fn offer<S: Store>(
    writer: &mut Writer<S>,
    record: &Path,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<(), Failure> {
    loop {
        let bytes = writer.bytes()?;
        let sheet = Sheet::of(&read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?);
        let missing = sheet.missing();
        if missing.is_empty() {
            return Ok(());
        }
        let mut signed_one = false;
        for role in &missing {
            let Some(signer) = ask_signer(&sheet, role, console)? else { continue };
            let source = ask_key(&bytes, &signer, console)?;
            match sign(writer, &signer, &source, console, clock) {
                Ok(signed) => {
                    show_signed(&signed, record, console)?;
                    signed_one = true;
                    break;
                }
                Err(Failure::Said { message, .. }) => {
                    let width = console.width();
                    console.show(&layout::plain(&message, width, "! ", "  "))?;
                    // Another name may be typed where a person sits; Enter leaves it for later.
                    signed_one = console.is_interactive();
                    if signed_one {
                        break;
                    }
                }
                Err(screen) => return Err(screen),
            }
        }
        if !signed_one {
            let width = console.width();
            let text = format!("Not signed yet by: {}. Later:", missing.join(", "));
            let mut lines = layout::plain(&text, width, "", "  ");
            let command = |role: &String| format!("bedway sign {} --as \"NAME, {role}\"", record.display());
            lines.extend(missing.iter().flat_map(|role| layout::command(&command(role), width)));
            console.show(&lines)?;
            return Ok(());
        }
    }
}

/// The person's own key, or where there is none yet the file that they name.
fn ask_key(record: &[u8], signer: &Signer, console: &mut dyn Console) -> Result<KeySource, Failure> {
    let own = KeySource::choose(None)?;
    let record = read(record).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
    if own.is_there(&identity_for(&record.lines, &signer.name)) || !console.is_interactive() {
        return Ok(own);
    }
    let width = console.width();
    let ask = format!("The key of {}: {EXAMPLE}. Enter alone makes a new one", clean(&signer.name));
    console.show(&layout::plain(&ask, width, "", "  "))?;
    Ok(match console.read_keys()? {
        Typed::Line(line) if !line.trim().is_empty() => KeySource::Named(at_home(line.trim())),
        _ => own,
    })
}

fn ask_signer(sheet: &Sheet, role: &str, console: &mut dyn Console) -> Result<Option<Signer>, Failure> {
    let width = console.width();
    let known = match role {
        OPERATOR => sheet.operator(),
        party => sheet.held.iter().rfind(|(held, _)| held == party).map(|(_, name)| name.as_str()),
    };
    let ask = match known {
        Some(name) if role == OPERATOR => format!("{name}, {role}: sign now? yes, or Enter for later"),
        Some(name) => format!("Who signs as {role}? yes for {name}, another name, or Enter for later"),
        None => format!("Who signs as {role}? The name, or Enter for later"),
    };
    console.show(&[Shown::blank()])?;
    console.show(&layout::plain(&ask, width, "", "  "))?;
    let Typed::Line(line) = console.read_keys()? else { return Ok(None) };
    let line = tidy(&line);
    let signer = |name: &str| Ok(Some(Signer { name: name.to_owned(), role: role.to_owned() }));
    let refused = match (known, line.to_lowercase().as_str()) {
        (_, "" | "no" | "n" | "later") => return Ok(None),
        (Some(name), "yes" | "y") => return signer(name),
        (Some(name), said) if role == OPERATOR && said != name.to_lowercase() => {
            format!("\"{line}\" is neither yes nor Enter. A key is asked for next.")
        }
        (None, "yes" | "y") => "\"yes\" is nobody's name.".to_owned(),
        _ if at_home(&line).is_file() => {
            format!("{line} is a file. First the name; a key is asked for next.")
        }
        _ => return signer(&line),
    };
    console.show(&layout::plain(&format!("Not taken: {refused}"), width, "  ", "  "))?;
    ask_signer(sheet, role, console)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signer_is_a_name_and_a_role() {
        let signer = Signer::parse("Example, Ann,  Owner ").unwrap();
        assert_eq!(signer, Signer { name: "Example, Ann".into(), role: "owner".into() });
        for bad in ["Ann", "", ",", "Ann,", ", owner"] {
            assert!(Signer::parse(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn the_operator_cannot_be_a_party_nor_a_party_the_operator() {
        let sheet = Sheet {
            parties: vec!["owner".into()],
            operators: vec!["Ann Example".into()],
            ..Sheet::default()
        };
        let refusal = |name: &str, role: &str| {
            sheet.refusal(&Signer { name: name.into(), role: role.into() }).unwrap_or_default()
        };
        assert_eq!(refusal("Ann Example", "operator"), "");
        assert_eq!(refusal("Bo Example", "owner"), "");
        assert!(refusal("ann  example", "owner").contains("took the readings"));
        assert!(refusal("Bo Example", "operator").contains("is Ann Example"));
        assert!(refusal("Bo Example", "buyer").contains("operator, owner"));
    }
}
