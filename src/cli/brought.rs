//! What is brought to a walk: the shop's kit, and the record before. Both are looked at before anything is asked.

use std::io;
use std::path::Path;
use std::rc::Rc;

use super::args::Bring;
use super::console::{Console, Shown};
use super::examine::{Examined, examine, read_bytes};
use super::failure::{Failure, Status};
use super::{check, layout, load};
use crate::check::program::{Kit, Program};
use crate::record::signature::Standing;
use crate::report::when;
use crate::walk::event::{Event, FileText};
use crate::walk::machine::Machine;

#[derive(Debug, Default)]
pub struct Brought {
    pub kit: Option<(Rc<Kit>, FileText)>,
    pub before: Option<Before>,
}

/// A record that was proved, and what is to be said of it.
#[derive(Debug)]
pub struct Before {
    pub machine: Machine,
    /// SHA-256 of the whole of it.
    pub digest: String,
    /// One sentence for the new record.
    pub summary: String,
    /// What else a person should know before trusting it.
    pub remarks: Vec<String>,
}

/// Reads both. `rehearsal`: values that nobody took may be compared with values that nobody takes.
pub fn bring(
    bring: &Bring,
    program: &Program,
    procedure: &FileText,
    rehearsal: bool,
) -> Result<Brought, Failure> {
    let kit = bring.kit.as_ref().map(|path| read_kit(path)).transpose()?;
    let before = match &bring.previous {
        Some(path) => {
            let name = path.display().to_string();
            Some(prove(&name, read_bytes(path)?, program, procedure, rehearsal)?)
        }
        None => None,
    };
    Ok(Brought { kit, before })
}

impl Bring {
    /// A walk that goes on has all that was brought to it in its record.
    pub fn refuse_on_resume(&self, record: &Path) -> Result<(), Failure> {
        if self.kit.is_none() && self.previous.is_none() {
            return Ok(());
        }
        Err(Failure::usage(format!(
            "{0} goes on with the kit and the record before that were brought when it was begun; leave --kit and --previous \
             away: bedway walk --resume {0}",
            record.display()
        )))
    }
}

fn read_kit(path: &Path) -> Result<(Rc<Kit>, FileText), Failure> {
    let loaded = load::load(path)?;
    match &loaded.kit {
        Some(kit) => Ok((Rc::clone(kit), loaded.frozen)),
        None if loaded.program.is_some() => Err(Failure::usage(format!(
            "{} is a procedure; --kit takes a file of instruments, which begins with `kit \"title\"`",
            path.display()
        ))),
        None => {
            check::show(&loaded, &mut io::stdout().lock())?;
            let message = format!("the kit {} has faults, so nothing was begun", path.display());
            Err(Failure::new(Status::FaultyProcedure, message))
        }
    }
}

/// A record is only taken as the one before if it is whole and its verdicts come out again.
pub fn prove(
    name: &str,
    bytes: Vec<u8>,
    program: &Program,
    procedure: &FileText,
    rehearsal: bool,
) -> Result<Before, Failure> {
    let examined = examine(bytes, None);
    let refused = |why: String| {
        Failure::damaged(format!(
            "{name} is not taken as the record before: {why}. See what can be proved of it with: bedway verify {name}"
        ))
    };
    if let Some(damage) = &examined.damage {
        return Err(refused(damage.to_string()));
    }
    if examined.record.torn.is_some() {
        return Err(refused(
            "its last line was not finished; take it up with --resume, which sets that aside".to_owned(),
        ));
    }
    if !examined.signatures.hold() {
        return Err(refused("a signature on it is not good".to_owned()));
    }
    if examined.rehearsal() && !rehearsal {
        return Err(Failure::usage(format!(
            "{name} is a rehearsal: nothing was measured in it, so there is nothing to compare with. Name the record of a walk"
        )));
    }
    let (summary, remarks) = in_words(&examined, program, procedure);
    let digest = examined.record.end.to_string();
    let machine = examined.replayed.map_err(refused)?;
    Ok(Before { machine, digest, summary, remarks })
}

fn in_words(examined: &Examined, program: &Program, procedure: &FileText) -> (String, Vec<String>) {
    let mut remarks = Vec::new();
    let last = examined.record.lines.last().map(|line| when(&line.time)).unwrap_or_default();
    let (title, files) = match examined.opened() {
        Some(Event::Opened { title, files, .. }) => (title.as_str(), files.as_slice()),
        _ => ("", &[][..]),
    };
    let revision = examined.program.as_ref().ok().and_then(|program| program.revision.clone());
    let named = |title: &str, revision: Option<&String>| match revision {
        Some(revision) => format!("\"{title}\", revision {revision}"),
        None => format!("\"{title}\""),
    };
    let walked = named(title, revision.as_ref());
    let verdict = examined.verdict().unwrap_or("not finished");
    let summary = format!("Record before: {walked}, ended {last}, {verdict}.");
    if files.first().is_none_or(|file| file.sha256 != procedure.sha256) {
        let now = named(&program.title, program.revision.as_ref());
        let text = match (title == program.title, revision == program.revision) {
            (false, _) => format!("That was another procedure: {walked}; this is {now}. Only what has the same names and senses is compared."),
            (true, false) => format!("That was another revision: {walked}; this is {now}. Only what has the same names and senses is compared."),
            (true, true) => "The text of the procedure has changed since, its revision has not. Only what has the same names and senses is compared.".to_owned(),
        };
        remarks.push(text);
    }
    if examined.rehearsal() {
        remarks.push("It is a REHEARSAL: nothing was measured in it.".to_owned());
    }
    if examined.verdict().is_none() {
        remarks
            .push("It was never closed: what is left in it may not be how the machine was left.".to_owned());
    }
    let findings = &examined.signatures.findings;
    let signed = findings.iter().any(|finding| !matches!(finding.standing, Standing::NotSigned));
    if !signed {
        remarks.push("Nobody has signed it: it is whole, and who wrote it is not proved.".to_owned());
    }
    let has_serial =
        program.facts.iter().any(|fact| program.values.get(fact.0).is_some_and(|it| it.name == "serial"));
    if !has_serial {
        remarks.push(
            "The procedure asks for no `serial`, so nobody is asked whether it is the same machine."
                .to_owned(),
        );
    }
    (summary, remarks)
}

impl Brought {
    /// The texts to be frozen, the procedure first.
    pub fn frozen(&self, procedure: FileText, included: Vec<FileText>) -> Vec<FileText> {
        let kit = self.kit.iter().map(|(_, text)| text.clone());
        std::iter::once(procedure).chain(included).chain(kit).collect()
    }

    pub fn digest_before(&self) -> Option<String> {
        self.before.as_ref().map(|before| before.digest.clone())
    }

    pub fn show(&self, console: &mut dyn Console) -> Result<(), Failure> {
        let width = console.width();
        let mut lines: Vec<Shown> = Vec::new();
        if let Some((kit, text)) = &self.kit {
            let said = format!("Kit: {}, {} gauges ({}).", kit.title, kit.gauges.len(), text.name);
            lines.extend(layout::plain(&said, width, "", "  "));
        }
        if let Some(before) = &self.before {
            lines.extend(layout::plain(&before.summary, width, "", "  "));
            for remark in &before.remarks {
                lines.extend(layout::plain(remark, width, "Note: ", "  "));
            }
        }
        Ok(console.show(&lines)?)
    }
}
