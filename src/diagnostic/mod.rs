//! What is wrong with a procedure file, as data: one `Problem` type, collected in the order of the file, rendered
//! once by `cli`. The wording names the thing, gives found and expected with units, and the help says what to type.

mod code;
mod json;
mod render;

pub use code::Code;
pub use json::to_json;
pub use render::{SHOWN, render};

use crate::source::Span;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file cannot be walked.
    Fault,
    /// The file can be walked; the author should look.
    Warning,
}

/// One thing that is wrong, with the places that show it. The first label is where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    pub code: Code,
    pub severity: Severity,
    /// One sentence: the thing, what was found, what was expected.
    pub message: String,
    /// Each place and why it matters.
    pub labels: Vec<(Span, String)>,
    /// What to type instead.
    pub help: Option<String>,
}

impl Problem {
    pub fn fault(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Fault,
            message: message.into(),
            labels: vec![(span, String::new())],
            help: None,
        }
    }

    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::fault(code, span, message) }
    }

    /// The words beneath the first place.
    pub fn label(mut self, text: impl Into<String>) -> Self {
        if let Some(first) = self.labels.first_mut() {
            first.1 = text.into();
        }
        self
    }

    /// A further place that has to do with it.
    pub fn and(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push((span, text.into()));
        self
    }

    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = Some(text.into());
        self
    }

    pub fn span(&self) -> Span {
        self.labels.first().map(|label| label.0).unwrap_or_default()
    }

    pub fn is_fault(&self) -> bool {
        self.severity == Severity::Fault
    }
}

/// Puts problems in the order of the file, without doubles.
pub fn in_file_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|a, b| {
        (a.span().start, a.severity, a.code.name()).cmp(&(b.span().start, b.severity, b.code.name()))
    });
    problems.dedup();
    problems
}

/// The names that there are, the first eight of them: `L1, L2, L3, ...`.
pub fn a_few<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    let few = names.iter().take(8).copied().collect::<Vec<_>>().join(", ");
    format!("{few}{}", if names.len() > 8 { ", ..." } else { "" })
}

/// The word of `known` nearest to `found`, if it is near enough to be a slip of the fingers.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A heap of letters is no slip, and comparing it would take long.
    if found.len() > 60 {
        return None;
    }
    let allowed = (found.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|word| (strsim::damerau_levenshtein(found, word), word))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}
