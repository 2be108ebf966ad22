//! Words that may be typed at any question: the words of the worked examples, and a few of the prompt's own.
//!
//! At a question that takes any text a command needs a leading colon, so that no answer is ever mistaken for one.

use crate::check::Commands;
use crate::check::program::{Act, Program, StepId};
use crate::diagnostic::Problem;
use crate::source::Span;
use crate::syntax;

use super::question::Expects;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Command {
    /// To the entry just made.
    Back,
    /// Of the step that stands, without further words.
    Again,
    Adjust,
    Remeasure,
    Skip,
    /// A whole line in the words of the examples.
    Line(String),
}

/// Words that begin a command line. `observe`, `enter` and the like only make sense with more behind them.
const WORDS: &[&str] = &[
    "correct",
    "remeasure",
    "adjust",
    "altered",
    "again",
    "take",
    "skip",
    "waive",
    "defect",
    "mended",
    "accepted",
    "note",
    "stop",
    "justify",
    "break",
    "rejoin",
    "held",
    "using",
    "enter",
    "observe",
];

/// The words of the prompt, for help and for the choice of words in answers.
pub fn words() -> impl Iterator<Item = &'static str> {
    WORDS.iter().copied().chain(["back"])
}

/// A command, if the line is one at a question of this kind.
pub(super) fn read(typed: &str, expects: &Expects) -> Option<Command> {
    let (colon, line) = match typed.strip_prefix(':') {
        Some(rest) => (true, rest.trim()),
        None => (false, typed),
    };
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let first = first.to_lowercase();
    if !colon && (expects.is_text() || is_choice(&first, rest, expects)) {
        return None;
    }
    // `keep` answers a query; elsewhere it is no command.
    let keep = first == "keep" && *expects == Expects::TakeOrRetype;
    if !keep && !words().any(|word| word == first) {
        return colon.then(|| Command::Line(line.to_owned()));
    }
    Some(match (first.as_str(), rest.trim()) {
        ("back", _) | ("correct", "") => Command::Back,
        ("again", "") => Command::Again,
        ("adjust" | "altered", "") => Command::Adjust,
        ("remeasure", "") => Command::Remeasure,
        ("skip", "") => Command::Skip,
        _ => Command::Line(line.to_owned()),
    })
}

fn is_choice(first: &str, rest: &str, expects: &Expects) -> bool {
    matches!(expects, Expects::Words(words) if rest.is_empty() && words.iter().any(|word| word.to_lowercase() == first))
}

/// A command line with its names looked up. `current` is the step that is meant where none is named.
pub(super) fn resolve(program: &Program, line: &str, current: Option<StepId>) -> Result<Act, Vec<Problem>> {
    let parsed = syntax::parse_command_line(line)?;
    Commands::new(program).resolve(program, current, &parsed, Span::new(0, line.len()))
}
