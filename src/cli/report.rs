//! `bedway report`: the text report of a record, whatever state it is in.

use std::io::Write;
use std::path::Path;

use super::args;
use super::examine::{Examined, examine, read_bytes};
use super::failure::{Failure, Status};
use super::output::{Form, to_file};
use crate::record::signature::{Signatures, Standing};
use crate::report::{Labels, Proof, Report, build, export, file_name, html, render};
use crate::walk::event::Event;

pub fn run(arguments: &args::Report, out: &mut dyn Write) -> Result<Status, Failure> {
    let output = &arguments.output;
    let Some(path) = &arguments.record else {
        output.write(export::schema::<export::Document>().as_bytes(), out)?;
        return Ok(Status::Well);
    };
    let examined = examine(read_bytes(path)?, None);
    if examined.record.lines.is_empty() {
        let reason = examined.damage.map(|damage| damage.to_string()).unwrap_or_default();
        return Err(Failure::damaged(format!("{} cannot be reported on: {reason}", path.display())));
    }
    if let Some(file) = &arguments.html {
        to_file(file, html(&examined, path, arguments.budgets).as_bytes())?;
        return Ok(if examined.is_sound() { Status::Well } else { Status::Damaged });
    }
    let (mut report, proof) = model(&examined, path);
    report.budgets = arguments.budgets;
    let text = match output.form() {
        Form::Text => render(&report, &proof),
        Form::Markdown => export::markdown(&report, &proof),
        Form::Csv => export::table(&report, &proof),
        Form::Json => export::json(&export::document(&report, &proof)),
        Form::JsonSchema => export::schema::<export::Document>(),
    };
    output.write(text.as_bytes(), out)?;
    Ok(if examined.is_sound() { Status::Well } else { Status::Damaged })
}

/// The report with what could be proved about its record.
pub fn text(examined: &Examined, path: &Path, budgets: bool) -> String {
    let (mut report, proof) = model(examined, path);
    report.budgets = budgets;
    render(&report, &proof)
}

/// What a report says, and what could be proved about its record.
pub fn model(examined: &Examined, path: &Path) -> (Report, Proof) {
    let lines = &examined.record.lines;
    let program = examined.program.as_ref().ok();
    let labels = Labels::new(program.map(|program| &**program));
    (build(lines, &labels, examined.replayed.as_ref().ok()), proof(examined, path))
}

/// The same as one page of HTML.
pub fn html(examined: &Examined, path: &Path, budgets: bool) -> String {
    let (mut report, proof) = model(examined, path);
    report.budgets = budgets;
    let texts = match examined.opened() {
        Some(Event::Opened { files, .. }) => {
            files.iter().map(|file| (file_name(&file.name), file.text.clone())).collect()
        }
        _ => Vec::new(),
    };
    let machine = examined.replayed.as_ref().ok();
    html::page(&html::Page { report: &report, proof: &proof, machine, texts: &texts })
}

fn proof(examined: &Examined, path: &Path) -> Proof {
    let mut warnings = Vec::new();
    if let Some(damage) = &examined.damage {
        warnings.push(format!("DAMAGED: {}. Only what stands before that is shown.", damage.in_short()));
    }
    if examined.record.torn.is_some() {
        warnings.push("TORN: the last line was not finished and is left out.".to_owned());
    }
    match (&examined.program, &examined.replayed) {
        (Err(fault), _) => warnings.push(format!("NOT RECKONED AGAIN: {fault}.")),
        (Ok(_), Err(mismatch)) => warnings.push(format!("WRONGLY JUDGED: {mismatch}.")),
        (Ok(_), Ok(_)) => {}
    }
    warnings.extend(wrongly_signed(&examined.signatures));
    let states = examined.replayed.as_ref().map(|machine| machine.status().steps).unwrap_or_default();
    let untold = match (&examined.damage, &examined.replayed) {
        (Some(_), _) => {
            Some("the record is damaged, and what stands behind the damage is not shown".to_owned())
        }
        (None, Err(_)) => Some("the walk could not be reckoned again, see above".to_owned()),
        (None, Ok(_)) => None,
    };
    Proof {
        record: path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned(),
        end: examined.record.end.to_string(),
        warnings,
        damaged: examined.damage.is_some(),
        untold,
        signatures: examined.signatures.findings.iter().map(|it| standing_words(&it.standing)).collect(),
        missing: examined.signatures.missing.clone(),
        crosschecks: examined.replayed.as_ref().map(|it| it.standing().agreements()).unwrap_or_default(),
        states: states.into_iter().map(|step| (step.name, step.stand.to_string())).collect(),
    }
}

/// What is wrong with what was signed, for who has not this program.
fn wrongly_signed(signatures: &Signatures) -> Vec<String> {
    let mut said = Vec::new();
    for it in signatures.findings.iter().chain(&signatures.holds) {
        if let Standing::Bad(why) | Standing::NotAllowed(why) = &it.standing {
            let hold = it.hold.as_ref().map(|step| format!(", witness of {step}")).unwrap_or_default();
            said.push(format!("A SIGNATURE IS NOT GOOD: that of {}, {}{hold}: {why}.", it.name, it.party));
        }
    }
    said.extend(signatures.amending.unsigned.iter().map(|added| {
        format!(
            "NOT SIGNED: what was added after the signing, in line {}, it says by {}. Anybody could have written that.",
            added.line,
            added.said_by()
        )
    }));
    said.extend(
        signatures.contradictions.iter().map(|(line, how)| format!("CONTRADICTED: line {line}: {how}.")),
    );
    said
}

fn standing_words(standing: &Standing) -> String {
    match standing {
        Standing::Proved { .. } => "signature good, key known".to_owned(),
        Standing::KnownOnlyFromRecord => {
            "signature good; whose key it is, is known only from this record".to_owned()
        }
        Standing::NotAllowed(reason) | Standing::Bad(reason) => format!("NOT GOOD: {reason}"),
        Standing::NotSigned => "began to sign and did not".to_owned(),
    }
}
