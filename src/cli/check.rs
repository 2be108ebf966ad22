//! `bedway check`: faults of procedure files, their worked examples included.

use std::io::{IsTerminal, Write};

use super::args::Check;
use super::failure::{Failure, Status};
use super::load::{self, Loaded};
use crate::diagnostic::{Problem, render, to_json};

pub fn run(arguments: &Check, out: &mut dyn Write) -> Result<Status, Failure> {
    let mut status = Status::Well;
    let mut unread = Vec::new();
    for path in &arguments.files {
        let loaded = match load::load(path) {
            Ok(loaded) => loaded,
            // The other files are checked all the same.
            Err(Failure::Said { status, message }) => {
                unread.push((status, message));
                continue;
            }
            Err(other) => return Err(other),
        };
        let shown = match arguments.json {
            true => writeln!(out, "{}", to_json(&loaded.source, &loaded.problems)).map_err(Failure::from),
            false => show(&loaded, out),
        };
        // A faulty file stays one, also where nobody reads to the end of its faults.
        if let Err(failure) = shown
            && !failure.is_broken_pipe()
        {
            return Err(failure);
        }
        if loaded.program.is_none() && loaded.kit.is_none() && loaded.library.is_none() {
            status = Status::FaultyProcedure;
        }
    }
    let Some((last, _)) = unread.last() else { return Ok(status) };
    let last = *last;
    Err(Failure::new(
        last,
        unread.into_iter().map(|(_, message)| message).collect::<Vec<_>>().join("\nbedway: "),
    ))
}

/// The faults as a person reads them, and a line that counts.
pub fn show(loaded: &Loaded, out: &mut dyn Write) -> Result<(), Failure> {
    let name = loaded.source.name();
    write!(out, "{}", render(&loaded.source, &loaded.problems, 80, use_colour()))?;
    let faults = loaded.problems.iter().filter(|problem| problem.is_fault()).count();
    let remarks = loaded.problems.len() - faults;
    let plural = |count: usize, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    let remarks = if remarks == 0 { String::new() } else { format!(", {}", plural(remarks, "warning")) };
    match (loaded.program.as_ref().or(loaded.library.as_ref()), &loaded.kit) {
        (None, None) => writeln!(out, "{name}: {}{remarks}", plural(faults, "fault"))?,
        (None, Some(kit)) => {
            writeln!(out, "{name}: no faults{remarks}; {}", plural(kit.gauges.len(), "gauge"))?;
        }
        (Some(program), _) => {
            let (steps, examples) =
                (plural(program.steps.len(), "step"), plural(program.examples.len(), "example"));
            writeln!(out, "{name}: no faults{remarks}; {steps}, {examples} worked out")?;
        }
    }
    if let Some(code) = loaded.problems.iter().find(|problem| problem.is_fault()).map(|it: &Problem| it.code)
    {
        writeln!(out, "What a code means: bedway explain {}", code.name())?;
    }
    Ok(())
}

/// Colour only for a person who has not asked to be spared it.
pub fn use_colour() -> bool {
    let asked_not = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    !asked_not && !dumb && std::io::stdout().is_terminal()
}
