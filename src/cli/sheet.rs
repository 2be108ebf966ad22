//! `bedway sheet`: a procedure as a blank form for paper.

use std::io::Write;

use super::args;
use super::check;
use super::failure::{Failure, Status};
use super::load;
use super::output;
use crate::check::program::{Program, ValueId};
use crate::diagnostic::nearest;
use crate::report::clean;
use crate::report::sheet::{Sheet, page, render};
use crate::walk::blank;

pub fn run(arguments: &args::Sheet, out: &mut dyn Write) -> Result<Status, Failure> {
    let loaded = load::load(&arguments.file)?;
    let Some(program) = &loaded.program else {
        check::show(&loaded, &mut std::io::stderr().lock())?;
        return Ok(Status::FaultyProcedure);
    };
    let facts: Vec<(ValueId, String)> =
        arguments.facts.iter().map(|typed| fact(program, typed)).collect::<Result<_, _>>()?;
    for step in &arguments.steps {
        if program.steps.iter().all(|it| it.name != *step) {
            let names: Vec<&str> = program.steps.iter().map(|it| it.name.as_str()).collect();
            return Err(Failure::usage(format!(
                "there is no step {}{}; the steps are {}",
                clean(step),
                did_you_mean(step, &names),
                names.join(", ")
            )));
        }
    }
    let form = blank::form(program, &loaded.source, &facts).map_err(|refusal| {
        let help = refusal.help.map(|help| format!(" {help}")).unwrap_or_default();
        Failure::usage(format!("{}{help}", refusal.message))
    })?;
    let sheet = Sheet {
        form,
        file: arguments.file.display().to_string(),
        digest: loaded.frozen.sha256.clone(),
        only: arguments.steps.clone(),
    };
    match &arguments.html {
        Some(path) => {
            output::to_file(path, page(&sheet).as_bytes())?;
            writeln!(out, "Written: {}", path.display())?;
        }
        None => out.write_all(render(&sheet).as_bytes())?,
    }
    Ok(Status::Well)
}

/// `reach=300`, as typed at the prompt.
fn fact(program: &Program, typed: &str) -> Result<(ValueId, String), Failure> {
    let Some((name, value)) = typed.split_once('=') else {
        return Err(Failure::usage(format!(
            "--fact {}: type NAME=VALUE, such as --fact reach=300",
            clean(typed)
        )));
    };
    let name = name.trim();
    let found = program.facts.iter().find(|fact| program.values[fact.0].name == name);
    match found {
        Some(fact) => Ok((*fact, value.trim().to_owned())),
        None => {
            let names: Vec<&str> =
                program.facts.iter().map(|fact| program.values[fact.0].name.as_str()).collect();
            Err(Failure::usage(format!(
                "--fact {}: there is no fact {}{}; the facts are {}",
                clean(typed),
                clean(name),
                did_you_mean(name, &names),
                names.join(", ")
            )))
        }
    }
}

fn did_you_mean(typed: &str, names: &[&str]) -> String {
    nearest(typed, names.iter().copied()).map(|name| format!(", did you mean {name}?")).unwrap_or_default()
}
