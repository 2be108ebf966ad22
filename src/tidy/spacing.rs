//! The blanks inside a line: its tokens, and what stands between two of them.
//!
//! Where a blank carries meaning (`-3` and `- 3`, `per (` and `per(`) it is kept as written.

use crate::syntax::RESERVED;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Text,
    Comment,
    Word,
    Number,
    Unit,
    Sign,
}

/// A token, and how it stands behind the one before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'a> {
    pub kind: Kind,
    pub text: &'a str,
    /// A blank or a line end stands before it.
    pub apart: bool,
    /// It begins a new line of the file.
    pub on_new_line: bool,
}

/// The tokens of a line that was read without a problem.
pub(super) fn tokens(line: &str) -> Vec<Token<'_>> {
    let mut tokens: Vec<Token<'_>> = Vec::new();
    let mut rest = line;
    while !rest.is_empty() {
        let said = rest.trim_start();
        let blank = rest.get(..rest.len() - said.len()).unwrap_or("");
        if said.is_empty() {
            break;
        }
        let unit = tokens.last().is_some_and(|last| {
            last.kind == Kind::Number || (last.kind == Kind::Word && matches!(last.text, "in" | "per"))
        });
        let (kind, length) = token(said, unit);
        let (text, left) = said.split_at_checked(length).unwrap_or((said, ""));
        tokens.push(Token { kind, text, apart: !blank.is_empty(), on_new_line: blank.contains('\n') });
        rest = left;
    }
    tokens
}

/// What the text begins with, and how long that is. `unit` if a unit may stand here.
fn token(text: &str, unit: bool) -> (Kind, usize) {
    let letter = |c: char| c.is_alphanumeric() || matches!(c, '_' | '°');
    let run = |text: &str, takes: &dyn Fn(char) -> bool| text.find(|c| !takes(c)).unwrap_or(text.len());
    let first = text.chars().next().unwrap_or(' ');
    match first {
        '"' => (Kind::Text, text_length(text)),
        '#' => (
            Kind::Comment,
            text.get(..text.find('\n').unwrap_or(text.len())).map_or(0, |line| line.trim_end().len()),
        ),
        '%' if unit => (Kind::Unit, 1),
        '/' if unit && text.get(1..).is_some_and(|rest| rest.starts_with("min")) => {
            (Kind::Unit, 1 + text.get(1..).map_or(0, |rest| run(rest, &letter)))
        }
        _ if first.is_ascii_digit() => {
            // A date hangs together as well; a unit written close to its number does not.
            let mut length = run(text, &|c| c.is_ascii_digit());
            while let Some(more) = text.get(length..).and_then(|rest| fraction(rest, length)) {
                length += more;
            }
            (Kind::Number, length)
        }
        _ if letter(first) && unit => (Kind::Unit, run(text, &|c| letter(c) || c == '/')),
        _ if letter(first) => (Kind::Word, run(text, &letter)),
        _ => (Kind::Sign, first.len_utf8()),
    }
}

/// The length of a decimal part, or of a further part of a date.
fn fraction(rest: &str, before: usize) -> Option<usize> {
    let mark = rest.chars().next()?;
    let digits = rest.get(1..)?.chars().take_while(char::is_ascii_digit).count();
    let is_part = match mark {
        '.' => digits > 0,
        '-' => digits == 2 && before >= 4,
        _ => false,
    };
    is_part.then_some(1 + digits)
}

fn text_length(text: &str) -> usize {
    let mut escaped = false;
    for (at, character) in text.char_indices().skip(1) {
        match character {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    text.len()
}

/// Whether a blank stands between two tokens of one line; `before` is the one before `left`.
pub(super) fn is_parted(before: Option<&Token<'_>>, left: &Token<'_>, right: &Token<'_>) -> bool {
    let is_sign = |token: &Token<'_>, signs: &str| token.kind == Kind::Sign && signs.contains(token.text);
    if is_sign(right, ",;)].") || is_sign(left, "([.") || is_sign(right, "[") {
        return false;
    }
    if is_sign(right, "(") {
        return match left.kind {
            Kind::Word if left.text == "per" => right.apart,
            Kind::Word => RESERVED.contains(&left.text),
            _ => !is_sign(left, "-") || before.is_some_and(ends_value),
        };
    }
    if is_sign(left, "-") {
        return match right.kind {
            Kind::Number => right.apart,
            _ => before.is_some_and(ends_value),
        };
    }
    true
}

/// Whether a value may end with this token, so that a minus behind it takes away.
fn ends_value(token: &Token<'_>) -> bool {
    match token.kind {
        Kind::Number | Kind::Unit => true,
        Kind::Word => matches!(token.text, "yes" | "no") || !RESERVED.contains(&token.text),
        Kind::Sign => matches!(token.text, ")" | "]"),
        Kind::Text | Kind::Comment => false,
    }
}
