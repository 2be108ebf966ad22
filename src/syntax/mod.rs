//! Text to syntax tree: always a file, plus the problems found on the way. Knows no meaning: names and kinds are for
//! `check`.
//!
//! `scan` joins lines, `block` chooses the rule for each, `grammar` reads it, `lower*` makes nodes of it, `parse`
//! drives them. Memory and time grow with the size of the text and with nothing else.
//!
//! ```
//! let parsed = bedway::syntax::parse_text("a.bedway", "language 1\nprocedur \"Bench lathe\"\n");
//! assert_eq!(parsed.file.items.len(), 1);
//! assert_eq!(parsed.problems[0].help.as_deref(), Some("perhaps `procedure`"));
//! ```

pub mod ast;
mod ast_example;
mod ast_expression;
mod ast_step;
mod block;
mod characters;
mod command;
mod cursor;
mod expression;
mod grammar;
mod include;
mod limit;
mod lower;
mod lower_example;
mod lower_step;
mod lower_top;
mod node;
mod parse;
mod scan;
mod shape;
mod text;
mod vocabulary;
mod words;

use std::collections::BTreeSet;
use std::sync::Arc;

pub use expression::DEPTH_LIMIT;
pub use grammar::{BRACKET_LIMIT, LINE_LIMIT};
pub use include::{Reader, Whole, parse_whole};
pub use parse::PROBLEM_LIMIT;
pub use words::RESERVED;

use crate::diagnostic::{Code, Problem};
use crate::source::{SourceFile, Span};

/// How large a file may be, in bytes.
pub const FILE_LIMIT: usize = 16 * 1024 * 1024;

/// A file as read: its text, its tree, and what is wrong with its lines.
#[derive(Clone, Debug)]
pub struct Parsed {
    pub source: SourceFile,
    pub file: ast::File,
    pub problems: Vec<Problem>,
    /// The bytes began with a byte-order mark, which is not part of the text.
    pub byte_order_mark: bool,
}

impl Parsed {
    /// The words that stand in lines that could not be read. A name among them may have been given there, so that its
    /// absence is not worth a problem of its own.
    pub fn broken_words(&self) -> BTreeSet<&str> {
        let lines = self.file.broken.iter().map(|&span| self.source.slice(span));
        let words = lines.flat_map(|line| line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_'));
        words.filter(|word| !word.is_empty()).collect()
    }

    /// A file of which nothing was read, for one reason.
    fn refused(name: impl Into<Arc<str>>, text: impl Into<Arc<str>>, mark: bool, problem: Problem) -> Self {
        let source = SourceFile::new(name, text);
        let tail = Span::new(0, source.text().len());
        Self {
            file: ast::File { tail, ..Default::default() },
            source,
            problems: vec![problem],
            byte_order_mark: mark,
        }
    }
}

/// Reads the bytes of a file: UTF-8, with or without a byte-order mark, lines ended by LF or CRLF.
pub fn parse_bytes(name: impl Into<Arc<str>>, bytes: &[u8]) -> Parsed {
    let (mark, bytes) = match bytes.strip_prefix(b"\xef\xbb\xbf") {
        Some(rest) => (true, rest),
        None => (false, bytes),
    };
    if bytes.len() > FILE_LIMIT {
        let megabytes = |bytes: usize| bytes / (1024 * 1024);
        let message = format!(
            "the file is {} MB large; a procedure has at most {} MB",
            megabytes(bytes.len()),
            megabytes(FILE_LIMIT)
        );
        let problem =
            Problem::fault(Code::TooLong, Span::default(), message).help("is this a procedure file?");
        return Parsed::refused(name, "", mark, problem);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Parsed { byte_order_mark: mark, ..parse_text(name, text) },
        Err(error) => {
            let at = error.valid_up_to();
            let byte = bytes.get(at).copied().unwrap_or_default();
            let wide = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
            let found = if wide {
                "UTF-16 text".to_string()
            } else {
                format!("a byte (hex {byte:02x}) that is not UTF-8 text")
            };
            let text = String::from_utf8_lossy(bytes);
            let problem = not_text(Span::new(at, at + '\u{fffd}'.len_utf8()), found);
            Parsed::refused(name, text.into_owned(), mark, problem)
        }
    }
}

/// Reads a text.
pub fn parse_text(name: impl Into<Arc<str>>, text: impl Into<Arc<str>>) -> Parsed {
    let text: Arc<str> = text.into();
    if let Some((at, character)) = characters::not_text(&text) {
        let found = format!("a control character (U+{:04X})", u32::from(character));
        return Parsed::refused(name, text, false, not_text(Span::new(at, at + character.len_utf8()), found));
    }
    if let Some(at) = characters::lone_return(&text) {
        let problem = Problem::fault(
            Code::LoneReturn,
            Span::new(at, at + 1),
            "a line ends in a return without a line feed",
        )
        .label("here")
        .help("save the file with line ends LF or CRLF");
        return Parsed::refused(name, text, false, problem);
    }
    let (file, mut problems) = parse::parse_file(&text);
    if file.layout.is_empty() {
        problems.push(
            Problem::fault(Code::Empty, Span::default(), "the file holds no line")
                .help("a procedure begins with `language 1` and `procedure \"title\"`"),
        );
    }
    Parsed { source: SourceFile::new(name, text), file, problems, byte_order_mark: false }
}

fn not_text(span: Span, found: String) -> Problem {
    Problem::fault(Code::NotText, span, format!("the file holds {found}"))
        .label("nothing of the file was read")
        .help("save it as plain text, UTF-8")
}

/// Reads one line of an example, or what is typed at the prompt, where a comma between two digits is a decimal mark.
/// Spans are places in `text`.
pub fn parse_command_line(text: &str) -> Result<ast::ExampleLine, Vec<Problem>> {
    command::read_command(text).map_err(|problem| vec![problem])
}

/// Reads an expression or a condition by itself.
pub fn parse_expression(text: &str) -> Result<ast::Expr, Vec<Problem>> {
    command::read_expression(text).map_err(|problem| vec![problem])
}
