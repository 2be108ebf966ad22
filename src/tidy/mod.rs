//! The tidy form of a procedure: indentation by block, one blank between tokens, columns where lines stand together.
//!
//! Works on the lines as they were read, so that nothing is lost: comments stay at their lines, line breaks where the
//! author put them, and a line that could not be read stays as it is. Knows `syntax` only.

mod columns;
mod spacing;

use crate::source::Span;
use crate::syntax::Parsed;
use crate::syntax::ast::Layout;
use columns::{Row, align};
use spacing::{Kind, Token, is_parted, tokens};

/// Blanks a block.
const INDENT: usize = 2;

/// The text in its tidy form. Reads the same as before, and is its own tidy form.
pub fn tidy(parsed: &Parsed) -> String {
    if parsed.file.layout.is_empty() {
        return parsed.source.text().to_string();
    }
    let mut rows = Vec::new();
    let mut words: Vec<&str> = Vec::new();
    for layout in &parsed.file.layout {
        let body = parsed.source.slice(layout.body);
        let word = body.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').next().unwrap_or("");
        words.truncate(layout.depth);
        let parent = words.last().copied().unwrap_or("");
        words.push(word);
        rows.push(row(parsed, layout, word, parent));
    }
    align(&mut rows);
    let mut text = String::new();
    for row in &rows {
        row.write(&mut text);
    }
    for line in leading(&format!("{}\n", parsed.source.slice(parsed.file.tail)), 0) {
        text.push_str(&line);
        text.push('\n');
    }
    let end = text.trim_end().len();
    text.truncate(end);
    text.push('\n');
    text.trim_start_matches('\n').to_string()
}

/// One line of the procedure, tidy by itself.
fn row<'a>(parsed: &'a Parsed, layout: &Layout, word: &'a str, parent: &'a str) -> Row<'a> {
    let slice = |span: Span| parsed.source.slice(span);
    let above = leading(slice(layout.leading), layout.depth * INDENT);
    let trailing = slice(layout.trailing).trim();
    let comment = (!trailing.is_empty()).then(|| trailing.to_string());
    let body = slice(layout.body);
    if !layout.sound {
        // Its indentation is all that stands before it on its line.
        let leading = slice(layout.leading);
        let indent = leading.len() - leading.trim_end_matches([' ', '\t']).len();
        let lines = body.lines().map(|line| line.trim_end().to_string()).collect();
        return Row {
            above,
            indent,
            cells: Vec::new(),
            below: lines,
            comment,
            word,
            parent,
            depth: layout.depth,
        };
    }
    let tokens = tokens(body);
    let split = tokens.iter().position(|token| token.on_new_line).unwrap_or(tokens.len());
    let (first, below) = tokens.split_at(split);
    let indent = layout.depth * INDENT;
    let cells = columns::cells(word, parent, first, below.is_empty());
    let below = further(first, &cells, below, indent);
    Row { above, indent, cells, below, comment, word, parent, depth: layout.depth }
}

/// Blank lines and comment lines above a line: at most one blank line at a place, comments at its indentation.
fn leading(text: &str, indent: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    // What stands behind the last line end is the indentation of the line itself.
    let Some((above, _)) = text.rsplit_once('\n') else { return lines };
    for line in above.split('\n').map(str::trim) {
        let line = if line.is_empty() { String::new() } else { format!("{}{line}", " ".repeat(indent)) };
        if !(line.is_empty() && lines.last().is_some_and(String::is_empty)) {
            lines.push(line);
        }
    }
    lines
}

/// The further lines over which a line goes on: a text under the text that it goes on, all else further in.
fn further(first: &[Token<'_>], cells: &[String], below: &[Token<'_>], indent: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut column_of_text = text_column(first, &cells.concat(), indent);
    let mut rest = below;
    while let Some(head) = rest.first() {
        let more = rest.iter().skip(1).position(|token| token.on_new_line).map_or(rest.len(), |at| at + 1);
        let (line, left) = rest.split_at(more);
        let column = match (head.kind, column_of_text) {
            (Kind::Text | Kind::Comment, Some(column)) => column,
            (Kind::Text, None) => indent + INDENT,
            _ => indent + 2 * INDENT,
        };
        let said = joined(line);
        if head.kind != Kind::Comment {
            column_of_text = text_column(line, &said, column);
        }
        lines.push(format!("{}{said}", " ".repeat(column)));
        rest = left;
    }
    lines
}

/// Where the text begins that ends a line, if one does.
fn text_column(line: &[Token<'_>], said: &str, column: usize) -> Option<usize> {
    let mut said_last = line.iter().rev().filter(|token| token.kind != Kind::Comment);
    let (last, before) = (said_last.next()?, said_last.next());
    // A text after `is` does not go on; what follows it is another text.
    if before.is_some_and(|token| matches!(token.text, "is" | "not")) {
        return None;
    }
    let from = said.rfind(last.text)?;
    (last.kind == Kind::Text).then(|| column + said.get(..from).map_or(0, |before| before.chars().count()))
}

/// Tokens of one line of the file with the blanks between them.
fn joined(line: &[Token<'_>]) -> String {
    let mut text = String::new();
    for (at, token) in line.iter().enumerate() {
        if let Some(left) = at.checked_sub(1).and_then(|at| line.get(at)) {
            let before = at.checked_sub(2).and_then(|at| line.get(at));
            if token.kind == Kind::Comment {
                text.push_str("  ");
            } else if is_parted(before, left, token) {
                text.push(' ');
            }
        }
        text.push_str(token.text);
    }
    text
}
