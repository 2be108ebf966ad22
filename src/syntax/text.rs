//! Texts in quotes: joined, escapes undone, `{expression in UNIT}` read.

use pest::iterators::Pair;

use super::ast::{Piece, Prose, Span};
use super::cursor::{Cursor, Lowered, span};
use super::grammar::{Rule, read};
use crate::diagnostic::{Code, Problem};

/// A text that may go on over several lines, joined by one blank.
pub(super) fn lower_prose(pair: Pair<'_, Rule>, base: usize) -> Lowered<Prose> {
    let whole = span(&pair, base);
    let mut parts = Vec::new();
    for (index, string) in pair.into_inner().enumerate() {
        if index > 0 {
            push(&mut parts, " ");
        }
        read_string(&string, base, &mut parts)?;
    }
    Ok(Prose { span: whole, parts })
}

/// A text that does not go on: after `is`, and as a value in an example.
pub(super) fn lower_string(pair: &Pair<'_, Rule>, base: usize) -> Lowered<Prose> {
    let mut parts = Vec::new();
    read_string(pair, base, &mut parts)?;
    Ok(Prose { span: span(pair, base), parts })
}

fn push(parts: &mut Vec<Piece>, text: &str) {
    match parts.last_mut() {
        Some(Piece::Text(before)) => before.push_str(text),
        _ if text.is_empty() => {}
        _ => parts.push(Piece::Text(text.to_string())),
    }
}

/// Reads one quoted text onto `parts`.
fn read_string(pair: &Pair<'_, Rule>, base: usize, parts: &mut Vec<Piece>) -> Lowered<()> {
    let quoted = pair.as_str();
    let inner = quoted.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or("");
    let base = base + pair.as_span().start() + 1;
    let mut at = 0;
    while let Some(rest) = inner.get(at..).filter(|rest| !rest.is_empty()) {
        let plain = rest.find(['\\', '{', '}']).unwrap_or(rest.len());
        push(parts, rest.get(..plain).unwrap_or(""));
        at += plain;
        let rest = inner.get(at..).unwrap_or("");
        let mut ahead = rest.chars();
        match (ahead.next(), ahead.next()) {
            (None, _) => break,
            (Some('\\'), Some(escaped @ ('"' | '\\'))) => {
                push(parts, escaped.encode_utf8(&mut [0; 4]));
                at += 2;
            }
            (Some('\\'), _) => return Err(unknown_escape(Span::new(base + at, base + at + 1))),
            (Some('{'), Some('{')) => {
                push(parts, "{");
                at += 2;
            }
            (Some('}'), next) => {
                push(parts, "}");
                at += if next == Some('}') { 2 } else { 1 };
            }
            (Some(_), _) => {
                let inset = rest.get(1..).unwrap_or("");
                let Some(length) = inset.find('}') else {
                    return Err(open_brace(Span::new(base + at, base + at + 1)));
                };
                parts.push(read_inset(inset.get(..length).unwrap_or(""), base + at + 1)?);
                at += length + 2;
            }
        }
    }
    Ok(())
}

fn read_inset(text: &str, base: usize) -> Lowered<Piece> {
    if text.trim().is_empty() {
        return Err(Problem::fault(
            Code::OpenBrace,
            Span::new(base - 1, base + text.len() + 1),
            "no value stands in the braces",
        )
        .label("expected a value")
        .help("write `{lean}` or `{lean in mm}`; a brace as such is written `{{`"));
    }
    let mut cursor = Cursor::over_line(read(Rule::inset, text, base)?);
    Ok(Piece::Value(cursor.expression()?, cursor.maybe_in_unit()?))
}

fn unknown_escape(span: Span) -> Problem {
    Problem::fault(
        Code::UnknownEscape,
        span,
        "a backslash in a text stands before `\"` or before another backslash",
    )
    .label("neither follows here")
    .help("write `\\\\` for a backslash; a text needs no other sign of that kind")
}

fn open_brace(span: Span) -> Problem {
    Problem::fault(Code::OpenBrace, span, "the brace that opens here is never closed in its text")
        .label("opened here")
        .help("close it with `}` in the same quotes, or write `{{` for a brace as such")
}
