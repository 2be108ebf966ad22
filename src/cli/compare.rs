//! `bedway compare`: what has changed from one record of a machine to a later one. Both are only read.

use std::io::Write;
use std::path::Path;
use std::rc::Rc;

use super::args;
use super::examine::{Examined, examine, read_bytes};
use super::failure::{Failure, Status};
use super::judge::{carried, file_name, replayed, walk_of};
use super::output::{Form, to_file};
use crate::report::compare::{Walked, compare, render};
use crate::report::export;
use crate::walk::event::Event;

pub fn run(arguments: &args::Compare, out: &mut dyn Write) -> Result<Status, Failure> {
    let output = &arguments.output;
    let (Some(old_path), Some(new_path)) = (&arguments.old, &arguments.new) else {
        output.write(export::schema::<export::CompareDocument>().as_bytes(), out)?;
        return Ok(Status::Well);
    };
    let read = |path: &Path| Ok::<_, Failure>(examine(read_bytes(path)?, None));
    let (old, new) = (read(old_path)?, read(new_path)?);
    let (was, is) = (walked(&old, old_path)?, walked(&new, new_path)?);
    // Under one and the same text nothing has to be judged again.
    let carried = match &new.program {
        Ok(program) if was.walk.sha256 != is.walk.sha256 => {
            Some(carried(&old, was.machine, &Rc::clone(program)))
        }
        _ => None,
    };
    let found = compare(&was, &is, carried.as_ref());
    if let Some(file) = &arguments.html {
        to_file(file, export::comparison_html(&found).as_bytes())?;
    } else {
        let text = match output.form() {
            Form::Text => render(&found),
            Form::Markdown => export::comparison_page(&found),
            Form::Csv => export::comparison_table(&found),
            Form::Json => export::json(&export::comparison(&found)),
            Form::JsonSchema => export::schema::<export::CompareDocument>(),
        };
        output.write(text.as_bytes(), out)?;
    }
    Ok(if old.is_sound() && new.is_sound() { Status::Well } else { Status::Damaged })
}

fn walked<'a>(examined: &'a Examined, path: &Path) -> Result<Walked<'a>, Failure> {
    let machine = replayed(examined, path)?;
    let (report, proof) = super::report::model(examined, path);
    let text = match examined.opened() {
        Some(Event::Opened { files, .. }) => files.first().map(|file| file.text.as_str()).unwrap_or_default(),
        _ => "",
    };
    Ok(Walked {
        file: file_name(path),
        end: examined.record.end.to_string(),
        warnings: crate::report::warnings_of_figures(&report, &proof),
        walk: walk_of(examined, machine),
        report,
        machine,
        text,
    })
}
