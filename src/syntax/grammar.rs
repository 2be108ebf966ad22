//! The derived parser, kept private: one line in, its tokens or one problem out.

use pest::Parser;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;

use super::words;
use crate::diagnostic::{Code, Problem};
use crate::quantity::Unit;
use crate::source::Span;

#[derive(pest_derive::Parser)]
#[grammar = "../grammar/bedway.pest"]
struct Grammar;

/// How deep brackets may stand in each other. The parser and every walk over the tree recurse, so this is counted
/// before.
pub const BRACKET_LIMIT: usize = 64;

/// How long one joined line may be, in bytes: far beyond any line that a person writes.
pub const LINE_LIMIT: usize = 64 * 1024;

/// A read line, and where in the file its tokens count from.
#[derive(Debug)]
pub(super) struct Tokens<'i> {
    pub pair: Pair<'i, Rule>,
    pub base: usize,
}

/// Reads `text`, which begins at `base` in the file, as `rule`.
pub(super) fn read(rule: Rule, text: &str, base: usize) -> Result<Tokens<'_>, Problem> {
    if text.len() > LINE_LIMIT {
        let message = format!("the line is {} kB long; at most {} kB", text.len() / 1024, LINE_LIMIT / 1024);
        return Err(Problem::fault(Code::TooLong, Span::new(base, base + 1), message)
            .label("this line")
            .help("break it into several lines"));
    }
    if let Some(at) = too_deep(text) {
        let message = format!("brackets stand more than {BRACKET_LIMIT} deep in each other");
        return Err(Problem::fault(Code::TooDeep, Span::new(base + at, base + at + 1), message)
            .label("one bracket too many")
            .help("work a part out in a `let` of its own"));
    }
    // A rule begins with its first token.
    let blank = skipped(text, 0);
    let (text, base) = (text.get(blank..).unwrap_or(""), base + blank);
    match Grammar::parse(rule, text) {
        Ok(mut pairs) => match pairs.next() {
            Some(pair) => Ok(Tokens { pair, base }),
            None => Err(unreadable(Span::new(base, base + text.len()))),
        },
        Err(error) => {
            let at = match error.location {
                InputLocation::Pos(at) | InputLocation::Span((at, _)) => at.min(text.len()),
            };
            let expected = match error.variant {
                ErrorVariant::ParsingError { positives, .. } => positives,
                ErrorVariant::CustomError { .. } => Vec::new(),
            };
            Err(unexpected(text, at, base, expected))
        }
    }
}

/// A line that the grammar took and the tree did not: a fault of the program, told as plainly as one of the file.
pub(super) fn unreadable(span: Span) -> Problem {
    Problem::fault(Code::Unexpected, span, "this line cannot be read").label("here")
}

/// Where brackets, or conditions in each other, go beyond the limit.
fn too_deep(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let (mut depth, mut ifs, mut at) = (0_usize, 0_usize, 0);
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'"' => {
                at = super::scan::text_end(bytes, at).0;
                continue;
            }
            b'#' => {
                at +=
                    bytes.get(at..).map_or(0, |rest| rest.iter().take_while(|&&byte| byte != b'\n').count());
                continue;
            }
            b'(' | b'[' => depth += 1,
            b')' | b']' => depth = depth.saturating_sub(1),
            b'i' if bytes.get(at + 1) == Some(&b'f') => ifs += 1,
            _ => {}
        }
        if depth > BRACKET_LIMIT || ifs > BRACKET_LIMIT {
            return Some(at);
        }
        at += 1;
    }
    None
}

/// The problem of a line that breaks off at `at`.
fn unexpected(text: &str, at: usize, base: usize, expected: Vec<Rule>) -> Problem {
    let at = at + skipped(text, at);
    let found = words::token(text.get(at..).unwrap_or(""));
    let span = Span::new(base + at, base + at + found.len());
    // Behind a text its continuation is not what anybody waits for.
    let after_text = text.get(..at).is_some_and(|before| before.trim_end().ends_with('"'));
    let said = expected.iter().copied().filter(|&rule| !(after_text && rule == Rule::string));
    let wanted = words::list(said);
    let label =
        if wanted.len() > 50 { "this cannot stand here".to_string() } else { format!("expected {wanted}") };
    let wants = |rule: Rule| expected.contains(&rule);
    if found.is_empty() {
        let end = base + text.trim_end().len();
        return Problem::fault(
            Code::BreaksOff,
            Span::new(end, end),
            format!("the line breaks off: expected {wanted}"),
        )
        .label(format!("expected {wanted} here"));
    }
    let names = |rule: &Rule| matches!(words::plain(*rule), "a name" | "a value");
    if words::RESERVED.contains(&found) && expected.iter().any(names) && !wants(Rule::word) {
        return Problem::fault(
            Code::ReservedWord,
            span,
            format!("`{found}` is a word of conditions and rules and cannot be a name"),
        )
        .label("expected a name here")
        .help(format!("take another name, perhaps `{found}_1` or a longer word"));
    }
    if words::COMPARISONS.contains(&found) && wants(Rule::word_and) && !wants(Rule::at_most) {
        return Problem::fault(Code::Chained, span, format!("`{found}` cannot follow another comparison"))
            .label("a second comparison")
            .help("join two conditions with `and`, or write `from A to B`");
    }
    let mut problem =
        Problem::fault(Code::Unexpected, span, format!("expected {wanted}, found `{found}`")).label(label);
    let known = expected.iter().flat_map(|&rule| words::typed(rule));
    let states = super::shape::STATES.into_iter().filter(|_| wants(Rule::outcome) || wants(Rule::state));
    let known = known.chain(states);
    if let Some(near) = crate::diagnostic::nearest(found, known).filter(|&near| near != found) {
        problem = problem.help(format!("perhaps `{near}`"));
    } else if Unit::parse(found).is_some() && (wants(Rule::in_unit) || wants(Rule::word_in)) {
        problem = problem.help(format!("write `in {found}`"));
    } else if let Some(help) = words::help(found).filter(|_| found != "=" || !wants(Rule::string)) {
        problem = problem.help(help);
    } else if found != "=" && (wants(Rule::prose) || (wants(Rule::string) && !after_text)) {
        problem = problem.help("a text stands in quotes: `\"...\"`");
    }
    problem
}

/// How many bytes of blanks and comments stand at `at`.
fn skipped(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or("");
    let mut left = rest.trim_start();
    while left.starts_with('#') {
        left = left.find('\n').and_then(|end| left.get(end..)).unwrap_or("").trim_start();
    }
    rest.len() - left.len()
}
