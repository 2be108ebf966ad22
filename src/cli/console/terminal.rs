//! A terminal: a line that can be edited, with the answers before it to go back to.

use std::io::{self, Write};

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor};

use super::{Console, PROMPT, Shown, Typed};

/// Wider lines are hard to read from an arm's length.
const WIDEST: usize = 80;

const BOLD: &str = "\x1b[1m";
const PLAIN: &str = "\x1b[0m";

pub struct TerminalConsole {
    editor: DefaultEditor,
    bold: bool,
}

impl std::fmt::Debug for TerminalConsole {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TerminalConsole").field("bold", &self.bold).finish_non_exhaustive()
    }
}

impl TerminalConsole {
    /// `bold`: whether the terminal is to be sent anything but text.
    pub fn new(bold: bool) -> io::Result<Self> {
        let config = Config::builder().auto_add_history(true).build();
        let editor = DefaultEditor::with_config(config).map_err(io::Error::other)?;
        Ok(Self { editor, bold })
    }
}

impl Console for TerminalConsole {
    fn width(&mut self) -> usize {
        let columns = self.editor.dimensions().map_or(WIDEST, |(columns, _)| usize::from(columns));
        // A terminal that does not know its size says 0.
        if columns < 20 { WIDEST } else { columns.min(WIDEST) }
    }

    fn show(&mut self, lines: &[Shown]) -> io::Result<()> {
        let mut out = io::stdout().lock();
        for line in lines {
            if self.bold && line.strong {
                writeln!(out, "{BOLD}{}{PLAIN}", line.text)?;
            } else {
                writeln!(out, "{}", line.text)?;
            }
        }
        out.flush()
    }

    fn read(&mut self) -> io::Result<Typed> {
        match self.editor.readline(PROMPT) {
            // A pasted column of numbers arrives as one line.
            Ok(line) => Ok(Typed::Line(line.replace(['\n', '\r'], " "))),
            Err(ReadlineError::Interrupted) => Ok(Typed::Interrupted),
            Err(ReadlineError::Signal(_)) => {
                Ok(Typed::Unreadable("the window changed while you typed".to_owned()))
            }
            // Ctrl-D, or the terminal is gone: the walk is left in good order.
            Err(_) => Ok(Typed::End),
        }
    }

    fn secret(&mut self, ask: &str) -> io::Result<Option<String>> {
        super::secret::read(ask)
    }

    fn is_interactive(&self) -> bool {
        true
    }
}
