//! Problems as text for a terminal: the message, the line it stands in, what is wrong with it and what to type.
//!
//! The only place that knows how a problem looks. It never prints; `cli` does. Places are found through the line
//! index of the source, so that the time grows with what is shown and not with the length of the file.

use std::borrow::Cow;
use std::fmt::{self, Write as _};

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    SourceCode, SourceSpan, SpanContents, ThemeCharacters, ThemeStyles,
};

use super::{Problem, Severity};
use crate::source::{SourceFile, Span};

/// So many problems are shown; the rest is counted.
pub const SHOWN: usize = 20;

/// A line longer than this is not shown whole: only the part around the place.
const LONG_LINE: usize = 400;

/// The first `SHOWN` problems in the order given, then how many more there are. Ends with a newline unless there is
/// nothing to show. `width` in columns.
pub fn render(source: &SourceFile, problems: &[Problem], width: usize, colour: bool) -> String {
    let styles = if colour { ThemeStyles::ansi() } else { ThemeStyles::none() };
    let source = &*without_controls(source);
    let handler =
        GraphicalReportHandler::new_themed(GraphicalTheme { characters: ThemeCharacters::ascii(), styles })
            .with_width(width)
            .with_links(false)
            .with_context_lines(1)
            .without_cause_chain();
    let mut text = String::new();
    for problem in problems.iter().take(SHOWN) {
        let shown = Shown::new(source, problem);
        if handler.render_report(&mut text, &shown).is_err() {
            let (line, column) = source.place(problem.span().start);
            // Writing to a String does not fail; the place and the message are said whatever happens.
            let _ = writeln!(
                text,
                "{}:{line}:{column}: {}",
                source.part(problem.span().start).0,
                problem.message
            );
        }
        text.push('\n');
    }
    let more = problems.len().saturating_sub(SHOWN);
    if more > 0 {
        let _ = writeln!(text, "and {more} more");
    }
    text
}

/// Control characters of a file must not work on the terminal that its faults are shown on, nor those that turn the
/// direction of what is shown round: each byte of one becomes a question mark, so that all places stay what they are.
fn without_controls(source: &SourceFile) -> Cow<'_, SourceFile> {
    let works = |letter: char| match letter {
        '\n' | '\r' | '\t' => false,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        _ => letter.is_control(),
    };
    if !source.text().contains(works) {
        return Cow::Borrowed(source);
    }
    let text: String = source
        .text()
        .chars()
        .flat_map(|letter| {
            let (shown, times) = if works(letter) { ('?', letter.len_utf8()) } else { (letter, 1) };
            std::iter::repeat_n(shown, times)
        })
        .collect();
    Cow::Owned(source.with_text(text))
}

/// One problem with the file it stands in, as the renderer wants it.
#[derive(Debug)]
struct Shown<'a> {
    problem: &'a Problem,
    source: Lines<'a>,
    labels: Vec<LabeledSpan>,
}

impl<'a> Shown<'a> {
    fn new(source: &'a SourceFile, problem: &'a Problem) -> Self {
        let labels = problem
            .labels
            .iter()
            .enumerate()
            .map(|(at, (span, text))| {
                let span = on_one_line(source, *span);
                let text = (!text.is_empty()).then(|| text.clone());
                let (offset, length) = (span.start, span.end - span.start);
                match at {
                    0 => LabeledSpan::new_primary_with_span(text, (offset, length)),
                    _ => LabeledSpan::new(text, offset, length),
                }
            })
            .collect();
        Self { problem, source: Lines(source), labels }
    }
}

/// The part of a span that stands on its first line, without the line end; inside the text, whatever came in.
fn on_one_line(source: &SourceFile, span: Span) -> Span {
    let length = source.text().len();
    let start = span.start.min(length);
    let line = source.line_span(start);
    Span::new(start, span.end.min(line.end).max(start))
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.problem.message)
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn code<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        Some(Box::new(self.problem.code.name()))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.problem.severity {
            Severity::Fault => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
        })
    }

    fn help<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        self.problem.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// Lines of the source looked up by the index instead of by reading the text from its start for each label.
#[derive(Debug)]
struct Lines<'a>(&'a SourceFile);

impl SourceCode for Lines<'_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let source = self.0;
        let asked = Span::new(span.offset(), span.offset() + span.len());
        let mut shown = asked;
        let (name, part) = source.part(asked.start);
        // Two places in two files are never shown as if one stood below the other.
        if asked.end > part.end && part.end < source.text().len() {
            return Err(MietteError::OutOfBounds);
        }
        if before > 0 || after > 0 {
            shown = source.line_span(asked.start).to(source.line_span(asked.end.max(asked.start)));
            for _ in 0..before {
                let line = source.line_span(shown.start.saturating_sub(1));
                if shown.start <= part.start || line.end - line.start > LONG_LINE {
                    break;
                }
                shown.start = line.start;
            }
            for _ in 0..after {
                let next = (shown.end + 1).min(source.text().len());
                let line = source.line_span(next);
                if shown.end + 1 >= part.end || line.end - line.start > LONG_LINE {
                    break;
                }
                shown.end = line.end;
            }
            shown = shorten(source, shown, asked);
        }
        let (line, column) = source.place(shown.start);
        let text = source.slice(shown);
        let line_count = text.matches('\n').count();
        Ok(Box::new(MietteSpanContents::new_named(
            name.to_string(),
            text.as_bytes(),
            (shown.start, text.len()).into(),
            line - 1,
            column - 1,
            line_count,
        )))
    }
}

/// Of a very long line only the surroundings of the place that was asked for.
fn shorten(source: &SourceFile, shown: Span, asked: Span) -> Span {
    let text = source.text();
    let mut cut = shown;
    if asked.start.saturating_sub(cut.start) > LONG_LINE {
        cut.start = asked.start - 60;
        while !text.is_char_boundary(cut.start) {
            cut.start += 1;
        }
    }
    if cut.end.saturating_sub(asked.end) > LONG_LINE {
        cut.end = asked.end + 60;
        while !text.is_char_boundary(cut.end) {
            cut.end -= 1;
        }
    }
    cut
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Code;

    fn not_text(start: usize, end: usize) -> Problem {
        Problem::fault(Code::NotText, Span::new(start, end), "it is wrong").label("here")
    }

    #[test]
    fn the_line_is_shown_with_its_place() {
        let source = SourceFile::new("lathe.bedway", "one\ntwo three\nfour\n");
        let text = render(&source, &[not_text(8, 13).help("type it again")], 80, false);
        assert!(text.contains("lathe.bedway:2:5"), "{text}");
        assert!(text.contains("two three"), "{text}");
        assert!(text.contains("type it again"), "{text}");
        assert!(!text.contains('\u{1b}'), "{text}");
    }

    #[test]
    fn control_characters_of_a_file_do_not_reach_the_terminal() {
        let source = SourceFile::new("f", "one\n\u{1b}[31m\u{9b}red\u{202e}\n");
        let text = render(&source, &[not_text(4, 5)], 80, false);
        assert!(text.contains("?[31m??red"), "{text}");
        assert!(!text.contains(['\u{1b}', '\u{9b}', '\u{202e}']), "{text}");
    }

    #[test]
    fn twenty_are_shown_and_the_rest_is_counted() {
        let source = SourceFile::new("f", "x\n".repeat(50));
        let problems: Vec<_> = (0..33).map(|at| not_text(at * 2, at * 2 + 1)).collect();
        let text = render(&source, &problems, 80, false);
        assert_eq!(text.matches("it is wrong").count(), SHOWN);
        assert!(text.ends_with("and 13 more\n"), "{text}");
    }

    #[test]
    fn places_at_the_very_end_or_beyond_are_shown_too() {
        for text in ["", "x", "x\n", "ä\r\n"] {
            let source = SourceFile::new("f", text);
            assert!(render(&source, &[not_text(text.len(), text.len())], 80, false).contains("it is wrong"));
            assert!(
                render(&source, &[not_text(text.len() + 7, text.len() + 9)], 80, false)
                    .contains("it is wrong")
            );
        }
    }

    #[test]
    fn of_a_very_long_line_only_a_part_is_shown() {
        let source = SourceFile::new("f", "ä".repeat(100_000));
        let text = render(&source, &[not_text(100_000, 100_002)], 80, false);
        assert!(text.len() < 2_000, "{} bytes", text.len());
        assert!(text.contains("it is wrong"));
    }
}
