//! Single lines outside a file: what is typed at the prompt, and expressions by themselves.

use super::ast::{ExampleLine, Expr, Span};
use super::block::Block;
use super::cursor::{Cursor, Lowered};
use super::grammar::{Rule, read};
use super::node::lower_example_line;
use super::scan::{Scanner, text_end};
use super::shape;
use crate::diagnostic::{Code, Problem, nearest};

pub(super) fn read_command(text: &str) -> Lowered<ExampleLine> {
    let text = decimal_points(text);
    let mut scanner = Scanner::new(&text);
    let Ok(start) = scanner.start() else {
        return Err(Problem::fault(Code::Empty, Span::default(), "nothing was typed"));
    };
    let joined = scanner.join(start, &|_| false, false);
    if let Some(fault) = joined.fault {
        return Err(fault);
    }
    let word = text.get(start.word.start..start.word.end).unwrap_or("");
    let Some(line) = Block::Example.takes(word) else {
        let problem = Problem::fault(Code::UnknownWord, start.word, format!("no line begins with `{word}`"))
            .label("not known here");
        let known = Block::Example.lines().iter().map(|line| line.word);
        return Err(match nearest(&word.to_ascii_lowercase(), known) {
            Some(near) => problem.help(format!("perhaps `{near}`")),
            None => problem,
        });
    };
    let base = start.word.end;
    let tokens = read(line.rule, text.get(base..).unwrap_or(""), base)
        .map_err(|problem| shape::shown(problem, line))?;
    lower_example_line(line.word, Cursor::over_line(tokens))
}

pub(super) fn read_expression(text: &str) -> Lowered<Expr> {
    Cursor::over_line(read(Rule::lone_expression, text, 0)?).expression()
}

/// At the prompt a comma between two digits is a decimal mark. Texts stay as they are.
fn decimal_points(text: &str) -> String {
    let bytes = text.as_bytes();
    let digit = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit);
    let mut texts_until = 0;
    text.char_indices()
        .map(|(at, character)| {
            if at >= texts_until && character == '"' {
                texts_until = text_end(bytes, at).0;
            }
            let is_mark =
                character == ',' && at >= texts_until && digit(at.checked_sub(1)) && digit(Some(at + 1));
            if is_mark { '.' } else { character }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_between_digits_are_decimal_marks_but_not_in_texts() {
        assert_eq!(decimal_points(r#"0,5, 1,25 "at 0,5""#), r#"0.5, 1.25 "at 0,5""#);
    }
}
