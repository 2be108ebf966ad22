//! Where questions are shown and answers typed: a terminal, or plain lines from a pipe, a file or a test.
//!
//! A console shows and reads; it knows nothing of walks. What is shown is plain text with, at most, bold: nothing is
//! said by colour.

use std::fmt::Debug;
use std::io;

mod lines;
mod secret;
mod terminal;

pub use lines::{LineSource, LinesConsole};
pub use terminal::TerminalConsole;

/// Stands before what is typed.
pub const PROMPT: &str = "> ";

/// A line as it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    pub text: String,
    /// A heading, a caution, a verdict: what the eye should find.
    pub strong: bool,
}

impl Shown {
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: false }
    }

    pub fn strong(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: true }
    }

    pub fn blank() -> Self {
        Self::plain("")
    }
}

/// What came from the keyboard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    Line(String),
    /// A line that cannot be taken, and why: too long, or no text.
    Unreadable(String),
    /// End of input: Ctrl-D, or the pipe or the file of answers has run out.
    End,
    /// Ctrl-C.
    Interrupted,
}

pub trait Console: Debug {
    /// Columns to lay out for.
    fn width(&mut self) -> usize;

    fn show(&mut self, lines: &[Shown]) -> io::Result<()>;

    /// Shows the prompt and reads one line without its line end.
    fn read(&mut self) -> io::Result<Typed>;

    /// Reads one line that is not shown. None at the end of input.
    fn secret(&mut self, ask: &str) -> io::Result<Option<String>>;

    /// Whether a person sits there, who can be asked again.
    fn is_interactive(&self) -> bool;
}
