//! `bedway judge`: the entries of a record under another revision of its procedure. The record is only read.

use std::io::Write;
use std::rc::Rc;

use super::args;
use super::examine::{Examined, examine, read_bytes};
use super::failure::{Failure, Status};
use super::output::{Form, to_file};
use super::{check, load};
use crate::check::program::WalkVerdict;
use crate::report::export;
use crate::report::under::{Of, Walk, machine, other_title, render, walk};
use crate::walk::carry::{Carried, carry};
use crate::walk::event::Event;
use crate::walk::machine::Machine;

pub fn run(arguments: &args::Judge, out: &mut dyn Write) -> Result<Status, Failure> {
    let output = &arguments.output;
    let (Some(record), Some(under)) = (&arguments.record, &arguments.under) else {
        output.write(export::schema::<export::UnderDocument>().as_bytes(), out)?;
        return Ok(Status::Well);
    };
    let examined = examine(read_bytes(record)?, None);
    let recorded = replayed(&examined, record)?;
    let loaded = load::load_procedure(under)?;
    // Other limits than before make a worked example come out otherwise, and what they would have said is what is asked.
    let untried = loaded.untried.is_some().then(|| {
        format!("worked examples of {} do not come out: bedway check {0} says which", loaded.frozen.name)
    });
    let Some(program) = loaded.program.clone().or_else(|| loaded.untried.clone()) else {
        check::show(&loaded, out)?;
        return Ok(Status::FaultyProcedure);
    };
    let carried = carried(&examined, recorded, &program);
    let (was, is) =
        (walk_of(&examined, recorded), walk(&program, &loaded.frozen.name, &loaded.frozen.sha256, ""));
    let (report, proof) = super::report::model(&examined, record);
    let of = Of {
        file: file_name(record),
        end: examined.record.end.to_string(),
        machine: machine(&report),
        warnings: other_title(&was, &is)
            .into_iter()
            .chain(untried)
            .chain(crate::report::warnings_of_figures(&report, &proof))
            .collect(),
        recorded: was,
        under: is,
    };
    let found = crate::report::under::under(&of, recorded, &carried);
    if let Some(file) = &arguments.html {
        to_file(file, export::under_html(&found).as_bytes())?;
    } else {
        let text = match output.form() {
            Form::Text => render(&found, &of),
            Form::Markdown => export::under_page(&found),
            Form::Csv => export::under_table(&found),
            Form::Json => export::json(&export::under(&found)),
            Form::JsonSchema => export::schema::<export::UnderDocument>(),
        };
        output.write(text.as_bytes(), out)?;
    }
    Ok(match () {
        () if !examined.is_sound() => Status::Damaged,
        () if examined.rehearsal() || !WalkVerdict::accepts(&found.under.verdict) => Status::NotAccepted,
        () => Status::Well,
    })
}

/// The walk that a record holds, or why it cannot be reckoned with.
pub fn replayed<'a>(examined: &'a Examined, path: &std::path::Path) -> Result<&'a Machine, Failure> {
    examined.replayed.as_ref().map_err(|fault| {
        let damage = examined.damage.as_ref().map(|damage| format!("{damage}; ")).unwrap_or_default();
        Failure::damaged(format!(
            "the entries of {} cannot be reckoned with: {damage}{fault}",
            path.display()
        ))
    })
}

/// The entries of a record under another procedure.
pub fn carried(
    examined: &Examined,
    recorded: &Machine,
    program: &Rc<crate::check::program::Program>,
) -> Carried {
    let lines = examined.record.lines.iter().map(|line| (line.seq, line.time.as_str(), &line.event));
    carry(recorded, Rc::clone(program), lines)
}

/// What a record says of its own procedure and verdict.
pub fn walk_of(examined: &Examined, recorded: &Machine) -> Walk {
    let (file, sha256) = match examined.opened() {
        Some(Event::Opened { files, .. }) => {
            files.first().map(|file| (file.name.as_str(), file.sha256.as_str())).unwrap_or_default()
        }
        _ => ("", ""),
    };
    walk(recorded.program(), file, sha256, examined.verdict().unwrap_or("unfinished"))
}

pub fn file_name(path: &std::path::Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}
