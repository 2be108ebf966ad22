//! Which characters a file may hold, and what to type for those that only look right.

use crate::diagnostic::{Code, Problem};
use crate::source::Span;

/// A character that is not of the language but looks like one that is: a problem that says what to type.
pub(super) fn look_alike(character: char, span: Span) -> Option<Problem> {
    let (what, write) = match character {
        '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{201f}' | '\u{ab}' | '\u{bb}' | '\u{2033}' | '\u{ff02}' => {
            ("a typographic quote", "the straight quote `\"`")
        }
        '\u{2018}' | '\u{2019}' | '\u{201a}' | '\u{2032}' => {
            ("a typographic quote", "texts in straight quotes `\"`")
        }
        '\u{2212}' | '\u{2010}'..='\u{2015}' | '\u{fe63}' | '\u{ff0d}' => ("a dash that is no minus", "`-`"),
        '\u{d7}' | '\u{b7}' | '\u{2022}' | '\u{22c5}' | '\u{2217}' => ("a sign for times", "`*`"),
        '\u{f7}' | '\u{2215}' | '\u{2044}' => ("a sign for a division", "`/`"),
        '\u{2264}' => ("a sign for a limit", "`at most`"),
        '\u{2265}' => ("a sign for a limit", "`at least`"),
        '\u{b1}' => ("a sign for a limit", "`within`"),
        '\u{ff0c}' => ("a comma of another script", "`,`"),
        '\u{a0}'
        | '\u{2007}'
        | '\u{202f}'
        | '\u{2000}'..='\u{2006}'
        | '\u{2008}'..='\u{200a}'
        | '\u{3000}' => ("a blank that is no plain blank", "a plain blank"),
        _ => return None,
    };
    let message = format!("{what} (U+{:04X}) stands here", u32::from(character));
    Some(
        Problem::fault(Code::LookAlike, span, message)
            .label("looks right, but is another character")
            .help(format!("write {write}")),
    )
}

/// The first character of `text` that no plain text holds: a control character, or one that turns the direction of
/// what is shown round, so that a line would read otherwise than it is taken.
pub(super) fn not_text(text: &str) -> Option<(usize, char)> {
    text.char_indices().find(|&(_, character)| match character {
        '\t' | '\n' | '\r' => false,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' => true,
        _ => character.is_control(),
    })
}

/// The first return that no line feed follows.
pub(super) fn lone_return(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    (0..bytes.len()).find(|&at| bytes.get(at) == Some(&b'\r') && bytes.get(at + 1) != Some(&b'\n'))
}
