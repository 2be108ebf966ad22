//! Quotes that are part of the words of a command: `note the "rear" foot is loose`.

/// Words that begin with a quote may be half of a text in quotes, and before those a misspelt step may stand: such a line
/// is refused rather than guessed at.
pub(super) fn has_own_quotes(command: &str, head: &str, words: &str) -> bool {
    let begins = words.starts_with('"');
    let quotes = words.matches('"').count();
    match command {
        // Nothing but one text follows these; a quote that is not closed may be a slip.
        "note" | "keep" => !begins || (!is_one_text(words, quotes) && quotes.is_multiple_of(2)),
        "defect" => !begins && !words.contains(" photo "),
        _ => !begins && !head.is_empty(),
    }
}

fn is_one_text(words: &str, quotes: usize) -> bool {
    words.contains('\\') || (quotes == 2 && words.ends_with('"'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_inside_of_words_are_part_of_them() {
        for (command, head, words) in [
            ("note", "", r#"the "rear" foot is loose"#),
            ("note", "", r#""rear" foot is loose"#),
            ("note", "", r#"the shim of 1/2" was lost"#),
            ("keep", "", r#"read "twice" over"#),
            ("defect", "", r#"the "new" tray cracked"#),
            ("waive", "L3", r#"agreed in "the letter" by owner"#),
        ] {
            assert!(has_own_quotes(command, head, words), "{command} {words}");
        }
    }

    #[test]
    fn a_text_in_quotes_and_what_may_be_half_of_one_stay_as_they_are() {
        for (command, head, words) in [
            ("note", "", r#""lamp moved""#),
            ("note", "", r#""it said \"on\"""#),
            ("note", "", r#""lamp moved"#),
            ("skip", "", r#"L9 "a step that is misspelt""#),
            ("defect", "", r#"the "new" tray photo drain.jpg"#),
            ("mended", "1", r#""welded""#),
        ] {
            assert!(!has_own_quotes(command, head, words), "{command} {words}");
        }
    }
}
