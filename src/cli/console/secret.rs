//! A passphrase typed at a terminal: not shown, and Ctrl-C leaves the terminal as it was.

use std::borrow::Cow;
use std::io;

use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::{CmdKind, Highlighter};
use rustyline::hint::Hinter;
use rustyline::history::DefaultHistory;
use rustyline::validate::Validator;
use rustyline::{ColorMode, Config, Editor, Helper};

use crate::report::width_of;

/// Terminals on which the line editor cannot hide anything.
const PLAIN_TERMINALS: [&str; 3] = ["dumb", "cons25", "emacs"];

/// None if the person gave up with Ctrl-C or Ctrl-D.
pub fn read(ask: &str) -> io::Result<Option<String>> {
    let prompt = format!("{ask}: ");
    if std::env::var("TERM").is_ok_and(|term| PLAIN_TERMINALS.contains(&term.to_lowercase().as_str())) {
        // It reads without echo, but after Ctrl-C the terminal stays so: only where there is no better way.
        return rpassword::prompt_password(prompt).map(Some);
    }
    let config = Config::builder().auto_add_history(false).color_mode(ColorMode::Forced).build();
    let mut editor: Editor<Hidden, DefaultHistory> = Editor::with_config(config).map_err(io::Error::other)?;
    editor.set_helper(Some(Hidden));
    match editor.readline(&prompt) {
        Ok(secret) => Ok(Some(secret)),
        Err(ReadlineError::Io(fault)) => Err(fault),
        Err(_) => Ok(None),
    }
}

/// Shows blanks in place of what is typed.
struct Hidden;

impl Highlighter for Hidden {
    fn highlight<'l>(&self, line: &'l str, _pos: usize) -> Cow<'l, str> {
        Cow::Owned(" ".repeat(width_of(line)))
    }

    fn highlight_char(&self, _line: &str, _pos: usize, kind: CmdKind) -> bool {
        kind != CmdKind::MoveCursor
    }
}

impl Completer for Hidden {
    type Candidate = String;
}

impl Hinter for Hidden {
    type Hint = String;
}

impl Validator for Hidden {}

impl Helper for Hidden {}
