//! Where questions are shown and answers typed: a terminal, or plain lines from a pipe, a file or a test.
//!
//! A console shows and reads; it knows nothing of walks. What is shown is plain text with, at most, bold: nothing is
//! said by colour.

use std::fmt::Debug;
use std::io;
use std::path::PathBuf;
use std::time::Duration;

use super::gauge::{News, SerialSettings};

mod beside;
mod drawing;
mod editor;
mod keys;
mod lines;
mod terminal;
mod waiting;

pub use beside::BesideGauge;
pub use lines::{LineSource, LinesConsole};
pub use terminal::{Look, TerminalConsole};

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
    /// A line that the gauge sent. `late`: it came while a line was being typed that has been sent since.
    Gauge {
        line: String,
        late: bool,
    },
    /// Something is to be known of the gauge itself.
    GaugeNews(News),
    /// The time that was waited for has come.
    Due,
    /// The window has another width.
    Resized,
}

/// Where a gauge is heard.
#[derive(Clone, Debug)]
pub struct Cable {
    pub path: PathBuf,
    pub serial: SerialSettings,
}

pub trait Console: Debug {
    /// Columns to lay out for.
    fn width(&mut self) -> usize;

    fn show(&mut self, lines: &[Shown]) -> io::Result<()>;

    /// Shows the prompt and reads one line without its line end; waits no longer than `due`.
    fn read(&mut self, due: Option<Duration>) -> io::Result<Typed>;

    /// One line of the keyboard, where no gauge has a say: it is told so.
    fn read_keys(&mut self) -> io::Result<Typed> {
        loop {
            let said = match self.read(None)? {
                Typed::Gauge { line, .. } => {
                    format!("  Not taken from the gauge: {}. This is answered by keyboard.", line.trim())
                }
                Typed::GaugeNews(news) => format!("{}{}", news.mark(), news.text),
                Typed::Due | Typed::Resized => continue,
                typed => return Ok(typed),
            };
            let width = self.width();
            self.show(&super::layout::plain(&said, width, "", "    "))?;
        }
    }

    /// Reads one line that is not shown. None at the end of input.
    fn secret(&mut self, ask: &str) -> io::Result<Option<String>>;

    /// Whether a person sits there, who can be asked again.
    fn is_interactive(&self) -> bool;

    /// The line of answers that was read last, where they were written before anything was asked, in a file or down a
    /// pipe. Nobody saw the questions: after a line that is refused, the next ones would meet questions they were not
    /// meant for.
    fn line_of_answers(&self) -> Option<u64> {
        None
    }
}
