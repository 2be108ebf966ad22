//! The words of the language as lists, and how an "expected ..." is said.

use super::grammar::Rule;
pub(super) use super::vocabulary::plain;

/// Words that begin or follow an expression, and so cannot name a value. The grammar's `reserved` is the same list.
pub const RESERVED: [&str; 34] = [
    "above", "after", "against", "and", "any", "at", "before", "below", "by", "cap", "concave", "convex",
    "else", "every", "floor", "for", "from", "if", "in", "is", "no", "not", "of", "or", "outside", "over",
    "per", "steady", "then", "to", "up", "when", "within", "yes",
];

/// Words that begin a comparison.
pub(super) const COMPARISONS: [&str; 12] = [
    "above", "after", "at", "before", "below", "concave", "convex", "from", "is", "outside", "steady",
    "within",
];

/// A token with one spelling: it parts what stands beside it and says nothing by itself.
pub(super) fn is_mark(rule: Rule) -> bool {
    rule == Rule::EOI || spelling(rule).is_some()
}

/// The one spelling of a token.
fn spelling(rule: Rule) -> Option<&'static str> {
    let inner = plain(rule).strip_prefix('`')?.strip_suffix('`')?;
    (!inner.contains('`')).then_some(inner)
}

/// Words that might have been meant where that rule was expected.
pub(super) fn typed(rule: Rule) -> impl Iterator<Item = &'static str> {
    plain(rule).split('`').skip(1).step_by(2).filter(|word| word.chars().all(|c| c.is_ascii_alphabetic()))
}

/// The first token of a text, for "found ...". Cut where it would be long.
pub(super) fn token(text: &str) -> &str {
    let Some(first) = text.chars().next() else { return "" };
    let letter = |c: char| c.is_alphanumeric() || c == '_';
    let end = match first {
        '"' => text.get(1..).and_then(|rest| rest.find(['"', '\n'])).map_or(1, |end| end + 2),
        _ if letter(first) => text.find(|c: char| !letter(c)).unwrap_or(text.len()),
        _ => first.len_utf8(),
    };
    let mut end = end.min(40).min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    text.get(..end).unwrap_or("").trim_end()
}

/// "a, b or c" of what the rules take, each said once, the telling ones first.
pub(super) fn list(rules: impl Iterator<Item = Rule>) -> String {
    let rules: Vec<Rule> = rules.collect();
    let has = |rule: Rule| rules.contains(&rule);
    let value = (has(Rule::number) || has(Rule::quantity)) && (has(Rule::reference) || has(Rule::path));
    let operator = has(Rule::plus) && has(Rule::times);
    let mut said: Vec<&str> = Vec::new();
    let mut last: Vec<&str> = Vec::new();
    for &rule in &rules {
        let (words, telling) = match rule {
            _ if value && VALUE.contains(&rule) => ("a value", true),
            _ if operator && OPERATORS.contains(&rule) => ("an operator", false),
            _ if operator && is_comparison(rule) => ("a comparison", false),
            _ => (plain(rule), true),
        };
        let list = if telling { &mut said } else { &mut last };
        if !list.contains(&words) {
            list.push(words);
        }
    }
    said.sort_unstable_by_key(|words| (*words == plain(Rule::EOI), *words));
    last.sort_unstable();
    said.extend(last);
    match said.as_slice() {
        [] => "something else".to_string(),
        [only] => (*only).to_string(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

const VALUE: [Rule; 20] = [
    Rule::called_per,
    Rule::bracket,
    Rule::open_bracket,
    Rule::outside_tolerance,
    Rule::word_outside,
    Rule::truth,
    Rule::word_yes,
    Rule::word_no,
    Rule::date,
    Rule::quantity,
    Rule::number,
    Rule::reference,
    Rule::path,
    Rule::conditional,
    Rule::word_if,
    Rule::word_not,
    Rule::word_every,
    Rule::word_any,
    Rule::part_of,
    Rule::negate,
];

/// What may follow any value, besides a comparison.
const OPERATORS: [Rule; 12] = [
    Rule::word_and,
    Rule::word_or,
    Rule::open_bracket,
    Rule::plus,
    Rule::minus,
    Rule::times,
    Rule::divide,
    Rule::power,
    Rule::caret,
    Rule::picks,
    Rule::arguments,
    Rule::open_square,
];

fn is_comparison(rule: Rule) -> bool {
    let first = plain(rule).trim_start_matches('`').split(['`', ' ']).next().unwrap_or("");
    COMPARISONS.contains(&first) || plain(rule) == plain(Rule::limit)
}

/// What to type instead of something that other notations use.
pub(super) fn help(found: &str) -> Option<&'static str> {
    Some(match found {
        "<" => "comparisons are words: `below`, or `at most` where the limit itself is allowed",
        ">" => "comparisons are words: `above`, or `at least` where the limit itself is allowed",
        "=" => "a choice is compared with `is`, a number with `at most`, `at least` or `from .. to`",
        "!" => "write `not` before a condition, `is not` before a choice",
        "&" => "write `and`",
        "|" => "write `or`",
        "'" => "a text stands in straight double quotes: `\"...\"`",
        "{" | "}" => "braces put a value into a text; elsewhere brackets are `( )`",
        ":" => "no colon is needed here",
        ";" => "`;` only parts the rows of an example and the parameters of a method",
        "." => {
            "a name may have one point, as in `STEP.NAME`; a number has a digit on both sides of its point"
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::grammar;

    #[test]
    fn no_reserved_word_is_taken_as_a_name_and_all_others_are() {
        for word in RESERVED {
            assert!(grammar::read(Rule::name_line, word, 0).is_err(), "{word} is reserved");
            assert!(grammar::read(Rule::name_line, &format!("{word}s"), 0).is_ok(), "{word}s is not");
        }
        for word in ["bar", "h", "A", "closing", "mean", "time", "note", "or_else", "nothing", "tolerance"] {
            assert!(grammar::read(Rule::name_line, word, 0).is_ok(), "{word} may be a name");
        }
    }

    #[test]
    fn what_is_expected_is_said_once_with_the_end_last() {
        let rules = [Rule::EOI, Rule::prose, Rule::string, Rule::comma];
        assert_eq!(list(rules.into_iter()), "`,`, a text in quotes or the end of the line");
    }
}
