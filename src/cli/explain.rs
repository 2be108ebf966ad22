//! `bedway explain`: what a fault means at the bench and how to mend it.

use std::io::Write;

use super::args::Explain;
use super::failure::{Failure, Status};
use crate::diagnostic::{Code, nearest};
use crate::report::wrapped;

pub fn run(arguments: &Explain, out: &mut dyn Write) -> Result<Status, Failure> {
    let Some(name) = &arguments.code else {
        for code in Code::ALL {
            writeln!(out, "{}", code.name())?;
        }
        return Ok(Status::Well);
    };
    let Some(code) = Code::parse(name) else {
        let known = nearest(name, Code::ALL.iter().map(|code| code.name()));
        let help = match known {
            Some(known) => format!("Did you mean {known}?"),
            None => "`bedway explain` lists all codes.".to_owned(),
        };
        return Err(Failure::usage(format!(
            "there is no fault with the code {}. {help}",
            crate::report::clean(name)
        )));
    };
    writeln!(out, "{}\n", code.name())?;
    for line in code.explanation().lines() {
        for line in wrapped(line, 80, "", "") {
            writeln!(out, "{line}")?;
        }
    }
    Ok(Status::Well)
}
