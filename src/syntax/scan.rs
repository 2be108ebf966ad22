//! Joins the lines of a file: where a line begins, how far it goes on, and what lies around it.
//!
//! Knows quotes, comments, brackets and the few tokens after which a line goes on; knows no grammar. Every byte is
//! looked at a fixed number of times, however the file is made.

use super::characters::look_alike;
use crate::diagnostic::{Code, Problem};
use crate::source::Span;

/// Walks over the text, a joined line at a time.
pub(super) struct Scanner<'a> {
    text: &'a str,
    at: usize,
}

/// Where a line begins.
#[derive(Clone, Copy)]
pub(super) struct Start {
    /// Blank lines, comment lines and the indentation above it.
    pub leading: Span,
    /// Its first word; empty if it begins with something else.
    pub word: Span,
}

/// A joined line.
pub(super) struct Joined {
    pub body: Span,
    pub trailing: Span,
    /// A fault in how it is put together; the line is not read any further then.
    pub fault: Option<Problem>,
    /// It goes on over a line whose first word an open block takes: perhaps by mistake.
    pub doubtful: Option<Doubt>,
}

/// The end of a line that goes on over a line of another kind.
#[derive(Clone, Copy)]
pub(super) struct Doubt {
    /// The token after which it goes on.
    pub ends_in: Span,
    /// The word that begins the next line.
    pub next: Span,
}

/// After which a line goes on.
const GOES_ON: [&str; 13] = [",", ";", "=", "+", "-", "*", "/", "^", "and", "or", "not", "then", "else"];

impl<'a> Scanner<'a> {
    pub fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    pub fn begin_at(&mut self, at: usize) {
        self.at = at;
    }

    /// Goes to the next line that says something; `Err` with what is left below the last one.
    pub fn start(&mut self) -> Result<Start, Span> {
        let begin = self.at;
        let Some(at) = self.next_said(begin, true) else {
            self.at = self.text.len();
            return Err(Span::new(begin, self.text.len()));
        };
        Ok(Start { leading: Span::new(begin, at), word: Span::new(at, self.word_end(at)) })
    }

    /// Goes back to where a line begins, to join it otherwise.
    pub fn back(&mut self, start: Start) {
        self.at = start.word.start;
    }

    /// Joins the line that begins at `start`. `taken` says whether an open block takes a line with that first word.
    /// With `strictly`, such a line is never gone on over.
    pub fn join(&mut self, start: Start, taken: &dyn Fn(&str) -> bool, strictly: bool) -> Joined {
        let mut open = Vec::new();
        let mut fault = None;
        let mut doubtful = None;
        let mut at = start.word.start;
        loop {
            let line = self.scan_line(at, &mut open, &mut fault);
            let end = Joined {
                body: Span::new(start.word.start, line.last.end),
                trailing: Span::new(line.last.end, line.end),
                fault: None,
                doubtful: None,
            };
            let next = self.next_said(line.end, false);
            let word = next.map(|next| Span::new(next, self.word_end(next)));
            let is_taken = word.is_some_and(|word| taken(self.slice(word)));
            let ends_in = self.slice(line.last);
            let goes_on = match next {
                None => false,
                Some(next) if self.text.as_bytes().get(next) == Some(&b'"') => true,
                Some(_) if !open.is_empty() => !is_taken,
                Some(_) => GOES_ON.contains(&ends_in) && !(is_taken && strictly),
            };
            match (goes_on, next, word) {
                (true, Some(next), Some(word)) => {
                    if is_taken && doubtful.is_none() {
                        doubtful = Some(Doubt { ends_in: line.last, next: word });
                    }
                    at = next;
                }
                _ => {
                    self.at = line.end;
                    let fault = fault.or_else(|| open.last().map(|&at| never_closed(self.text, at)));
                    return Joined { fault, doubtful, ..end };
                }
            }
        }
    }

    /// Looks at one line of the file from `at`: its last token and where the next line begins.
    fn scan_line(&self, mut at: usize, open: &mut Vec<usize>, fault: &mut Option<Problem>) -> LineEnd {
        let bytes = self.text.as_bytes();
        let mut last = Span::new(at, at);
        while let Some(&byte) = bytes.get(at) {
            let begin = at;
            match byte {
                b'\n' => return LineEnd { last, end: at + 1 },
                b' ' | b'\t' | b'\r' => {
                    at += 1;
                    continue;
                }
                b'#' => {
                    at = self.line_end(at);
                    continue;
                }
                b'"' => {
                    let (end, closed) = text_end(bytes, at);
                    at = end;
                    if !closed && fault.is_none() {
                        *fault = Some(open_text(Span::new(begin, at)));
                    }
                }
                b'(' | b'[' => {
                    open.push(at);
                    at += 1;
                }
                b')' | b']' => {
                    open.pop();
                    at += 1;
                }
                b',' => {
                    at += 1;
                    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
                    if fault.is_none() && begin > 0 && digit(begin - 1) && digit(at) {
                        *fault = Some(decimal_comma(Span::new(begin, at)));
                    }
                }
                _ if byte.is_ascii_alphabetic() => at = self.word_end(at),
                _ if byte.is_ascii() => at += 1,
                _ => {
                    let character = self.text.get(at..).and_then(|rest| rest.chars().next());
                    at += character.map_or(1, char::len_utf8);
                    if fault.is_none() {
                        *fault = character.and_then(|character| look_alike(character, Span::new(begin, at)));
                    }
                }
            }
            last = Span::new(begin, at);
        }
        LineEnd { last, end: at }
    }

    /// The first thing said at or below `at`, past comment lines and, if `past_blank`, past blank lines.
    fn next_said(&self, mut at: usize, past_blank: bool) -> Option<usize> {
        let bytes = self.text.as_bytes();
        let mut blank = true;
        while let Some(byte) = bytes.get(at) {
            match byte {
                b'\n' if blank && !past_blank => return None,
                b'\n' => {
                    blank = true;
                    at += 1;
                }
                b' ' | b'\t' | b'\r' => at += 1,
                b'#' => {
                    blank = false;
                    at = self.line_end(at);
                }
                _ => return Some(at),
            }
        }
        None
    }

    fn slice(&self, span: Span) -> &'a str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    fn word_end(&self, at: usize) -> usize {
        let bytes = self.text.as_bytes();
        if !bytes.get(at).is_some_and(u8::is_ascii_alphabetic) {
            return at;
        }
        let letter = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'_';
        at + bytes.get(at..).map_or(0, |rest| rest.iter().take_while(|byte| letter(byte)).count())
    }

    /// Where the line of the file ends, before its line feed.
    fn line_end(&self, at: usize) -> usize {
        let rest = self.text.as_bytes().get(at..).unwrap_or(&[]);
        rest.iter().position(|&byte| byte == b'\n').map_or(self.text.len(), |length| at + length)
    }
}

/// The end of one line of the file.
struct LineEnd {
    /// Its last token.
    last: Span,
    /// Behind its line feed.
    end: usize,
}

/// Where the text that begins at `at` ends, and whether a quote closes it on its line.
pub(super) fn text_end(bytes: &[u8], at: usize) -> (usize, bool) {
    let mut end = at + 1;
    while let Some(&byte) = bytes.get(end) {
        match byte {
            b'"' => return (end + 1, true),
            b'\\' if bytes.get(end + 1).is_some_and(|&next| next != b'\n') => end += 2,
            b'\n' => break,
            _ => end += 1,
        }
    }
    while end > at + 1 && bytes.get(end - 1).is_some_and(u8::is_ascii_whitespace) {
        end -= 1;
    }
    (end.min(bytes.len()), false)
}

fn open_text(span: Span) -> Problem {
    Problem::fault(Code::OpenText, span, "the text that begins here is not closed on its line")
        .label("from this quote on")
        .help("end it with `\"`; a long text goes on over the next line, each part in its own quotes")
}

fn never_closed(text: &str, at: usize) -> Problem {
    let (opener, closer) = if text.as_bytes().get(at) == Some(&b'[') { ("[", "]") } else { ("(", ")") };
    Problem::fault(
        Code::OpenBracket,
        Span::new(at, at + 1),
        format!("the bracket `{opener}` is never closed"),
    )
    .label("opened here")
    .help(format!("close it with `{closer}` before the line ends"))
}

fn decimal_comma(span: Span) -> Problem {
    Problem::fault(Code::DecimalComma, span, "a comma between two digits can be read in two ways")
        .label("a decimal mark, or two values?")
        .help("in files the decimal mark is a point: `0.02`; between two values put a blank behind the comma: `0, 2`")
}
