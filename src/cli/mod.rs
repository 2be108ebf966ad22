//! The command line: the only place that prints, reads the clock, the environment and the keyboard.
//!
//! ```text
//! args -> one file a command -> session (machine, record, console, clock) -> exit status
//! ```

mod amend;
pub mod args;
pub mod ascii;
pub mod brought;
mod check;
pub mod clock;
mod compare;
pub mod console;
mod enter;
mod examine;
mod example;
mod explain;
pub mod failure;
pub mod gauge;
mod holder;
mod interruption;
mod judge;
mod keys;
pub mod layout;
pub mod load;
mod output;
pub mod rehearse;
mod report;
pub mod session;
mod sheet;
mod show;
mod sign;
mod tidy;
mod trend;
mod verify;
pub mod walk;
mod witness;
mod words;

use std::ffi::OsString;
use std::io::{self, IsTerminal as _, Write};
use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};
use ascii::Output;
use clock::SystemClock;
use console::TerminalConsole;
use failure::{Failure, Status};

/// Reads the command line, does what it says, and gives the exit status.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(fault) => {
            let status = if fault.use_stderr() { Status::Usage } else { Status::Well };
            // Help that nobody reads to its end is no fault.
            let _ = fault.print();
            return status.into();
        }
    };
    match dispatch(&arguments.command) {
        Ok(status) => status.into(),
        Err(failure) if failure.is_broken_pipe() => Status::Well.into(),
        Err(Failure::Said { status, message }) => {
            let said = format!("bedway: {message}");
            // A person reads whole words; a script reads lines as they are.
            let lines = match io::stderr().is_terminal() {
                true => layout::plain(&said, TerminalConsole::reading_width(), "", "  ")
                    .into_iter()
                    .map(|line| line.text)
                    .collect(),
                false => vec![said],
            };
            for line in lines {
                let _ = writeln!(io::stderr(), "{line}");
            }
            status.into()
        }
        Err(Failure::Screen(fault)) => {
            let _ = writeln!(io::stderr(), "bedway: what it had to say could not be written: {fault}");
            Status::Environment.into()
        }
    }
}

fn dispatch(command: &Command) -> Result<Status, Failure> {
    let clock = SystemClock;
    let out = &mut Output::new();
    match command {
        Command::Check(arguments) => check::run(arguments, out),
        Command::Tidy(arguments) => tidy::run(arguments, out),
        Command::Explain(arguments) => explain::run(arguments, out),
        Command::Rehearse(arguments) => rehearse::run(arguments, &clock),
        Command::Walk(arguments) => walk::run(arguments, &clock),
        Command::Sheet(arguments) => sheet::run(arguments, out),
        Command::Enter(arguments) => enter::run(arguments, &clock),
        Command::Sign(arguments) => {
            let mut console = walk::console_for(None, None, false)?;
            sign::run(arguments, console.as_mut(), &clock)
        }
        Command::Amend(arguments) => {
            let mut console = walk::console_for(None, None, false)?;
            amend::run(arguments, console.as_mut(), &clock)
        }
        Command::Verify(arguments) => verify::run(arguments, out),
        Command::Report(arguments) => report::run(arguments, out),
        Command::Judge(arguments) => judge::run(arguments, out),
        Command::Compare(arguments) => compare::run(arguments, out),
        Command::Trend(arguments) => trend::run(arguments, out),
        Command::Example(arguments) => example::run(arguments, out),
    }
}
