//! Odd input: nothing that is in a file may stop the program, take long, or go unsaid.

use bedway::diagnostic::Problem;
use bedway::source::Span;
use bedway::syntax::{Parsed, parse_bytes, parse_command_line, parse_expression, parse_text};
use proptest::prelude::*;

fn codes(problems: &[Problem]) -> Vec<&'static str> {
    problems.iter().map(|problem| problem.code.name()).collect()
}

fn codes_of(text: &str) -> Vec<&'static str> {
    codes(&parse_text("odd", text).problems)
}

/// The pieces of the file, put together again.
fn pieces(parsed: &Parsed) -> String {
    let lines = parsed.file.layout.iter().flat_map(|line| [line.leading, line.body, line.trailing]);
    lines.chain([parsed.file.tail]).map(|span| parsed.source.slice(span)).collect()
}

fn good() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/lines/every-line.bedway");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn an_empty_file_is_said_to_be_empty() {
    for text in ["", "\n\n", "# only a comment", "   "] {
        assert_eq!(codes_of(text), ["line::empty"], "{text:?}");
    }
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_text() {
    let parsed = parse_bytes("odd", b"\xef\xbb\xbflanguage 1\n");
    assert!(parsed.byte_order_mark && parsed.problems.is_empty());
    assert_eq!(parsed.source.text(), "language 1\n");
}

#[test]
fn text_of_another_encoding_is_named() {
    let parsed = parse_bytes("odd", b"\xff\xfel\0a\0n\0");
    assert_eq!(codes(&parsed.problems), ["line::not-text"]);
    assert!(parsed.problems[0].message.contains("UTF-16"), "{}", parsed.problems[0].message);
    assert_eq!(codes_of("language 1\0\n"), ["line::not-text"]);
    // A text that is shown in another order than it stands could be read as another limit.
    assert_eq!(codes_of("note \"\u{202e}mm 01.0\"\n"), ["line::not-text"]);
}

#[test]
fn windows_line_ends_and_a_missing_last_one_make_no_difference() {
    let text = good();
    let plain = parse_text("odd", text.clone());
    let windows = parse_text("odd", text.replace('\n', "\r\n"));
    assert!(plain.problems.is_empty() && windows.problems.is_empty());
    assert_eq!(windows.file.items.len(), plain.file.items.len());
    let cut = parse_text("odd", text.trim_end());
    assert_eq!(cut.file.items, plain.file.items);
}

#[test]
fn ten_thousand_brackets_are_one_problem() {
    let closed = format!("let a \"A\" = {}1{}\n", "(".repeat(10_000), ")".repeat(10_000));
    assert_eq!(codes_of(&closed), ["line::too-deep"]);
    let open = format!("let a \"A\" = {}\nlanguage 1\n", "f[".repeat(10_000));
    let parsed = parse_text("odd", open);
    assert_eq!(codes(&parsed.problems), ["line::open-bracket"]);
    assert_eq!(parsed.file.items.len(), 1, "the line beneath is read");
}

#[test]
fn long_chains_of_one_sign_are_one_problem() {
    for part in ["not ", "- ", "5 % of ", "every ", "if h then ", "1 + ", "x is y or "] {
        let line = format!("let a \"A\" = {}x\n", part.repeat(5_000));
        assert_eq!(codes_of(&line).len(), 1, "{part}");
    }
    assert_eq!(codes_of(&format!("require a {}\n", "at most 1 ".repeat(3_000))).len(), 1);
}

#[test]
fn a_line_or_a_file_beyond_all_measure_is_refused_plainly() {
    let line = "x".repeat(100 * 1024 * 1024);
    let parsed = parse_bytes("odd", line.as_bytes());
    assert_eq!(codes(&parsed.problems), ["line::too-long"]);
    assert_eq!(parsed.problems[0].message, "the file is 100 MB large; a procedure has at most 16 MB");
    for line in ["x".repeat(2 << 20), format!("note \"{}\"", "x".repeat(2 << 20)), "(".repeat(2 << 20)] {
        assert_eq!(codes_of(&line).len(), 1);
    }
}

#[test]
fn a_thousand_problems_are_kept_and_the_rest_is_counted_out() {
    let parsed = parse_text("odd", "nonsense\n".repeat(50_000));
    assert_eq!(parsed.problems.len(), 1001);
    assert_eq!(parsed.problems.last().unwrap().code.name(), "line::too-many");
}

#[test]
fn a_broken_header_does_not_take_the_lines_beneath_with_it() {
    let parsed =
        parse_text("odd", "step L1 Bed\n  read tilt in mmm\n    plus \"up\"\n  tries 3\n  trise 4\n");
    assert_eq!(codes(&parsed.problems), ["line::unexpected", "unit::unknown", "line::unknown-word"]);
    assert!(parsed.broken_words().contains("tilt"), "so that nobody calls it unknown");
}

#[test]
fn the_prompt_takes_the_words_of_an_example_and_decimal_commas() {
    for text in [
        "correct L4.tilt[place 0 mm] = 0,6 \"sign mistyped\"",
        "skip \"no time\"",
        "waive L19 \"agreed\" by owner",
        "again",
        "held by owner",
        "adjust L3.shim = 0.016 mm",
    ] {
        assert!(parse_command_line(text).is_ok(), "{text}: {:?}", parse_command_line(text));
    }
    let problems = parse_command_line("skp L19 \"x\"").unwrap_err();
    assert_eq!(problems[0].help.as_deref(), Some("perhaps `skip`"));
    assert_eq!(codes(&parse_command_line("").unwrap_err()), ["line::empty"]);
    assert_eq!(codes(&parse_command_line("skip L19 \"x").unwrap_err()), ["line::open-text"]);
}

#[test]
fn the_prompt_is_told_the_place_in_what_was_typed() {
    let problems = parse_command_line("waive L19 \"agreed\" for owner").unwrap_err();
    assert_eq!(problems[0].span(), Span::new(19, 22));
    assert_eq!(problems[0].message, "expected `by`, found `for`");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever the bytes are, there is a file, and its pieces are the text.
    #[test]
    fn any_bytes_are_read_to_pieces_that_give_them_back(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let parsed = parse_bytes("odd", &bytes);
        prop_assert_eq!(pieces(&parsed), parsed.source.text());
        prop_assert!(!parsed.problems.is_empty() || !parsed.file.layout.is_empty());
    }

    /// The same for texts made of the parts of the language, which go deeper than noise.
    #[test]
    fn any_heap_of_tokens_is_read_to_pieces_that_give_it_back(
        tokens in proptest::collection::vec(proptest::sample::select(TOKENS), 0..120)
    ) {
        let text = tokens.join(" ");
        let parsed = parse_text("odd", text.clone());
        prop_assert_eq!(pieces(&parsed), text.clone());
        for line in &parsed.file.layout {
            prop_assert!(!line.body.is_empty());
        }
        for problem in &parsed.problems {
            prop_assert!(problem.span().end <= text.len());
            prop_assert!(text.get(problem.span().start..problem.span().end).is_some());
        }
    }

    /// A good file with a piece cut out: still a file, and every line that can still be read is there.
    #[test]
    fn a_file_with_a_piece_cut_out_is_read_around_it(start in 0_usize..9000, length in 1_usize..60) {
        let text = good();
        let cut: String = text.chars().take(start).chain(text.chars().skip(start + length)).collect();
        let parsed = parse_text("odd", cut.clone());
        prop_assert_eq!(pieces(&parsed), cut);
        let lost = text.chars().skip(start).take(length).filter(|&c| c == '\n').count();
        prop_assert!(parsed.problems.len() <= 4 * (lost + 2), "{:?}", codes(&parsed.problems));
    }

    #[test]
    fn any_expression_is_read_or_refused(tokens in proptest::collection::vec(proptest::sample::select(TOKENS), 0..40)) {
        let text = tokens.join(" ");
        if let Err(problems) = parse_expression(&text) {
            prop_assert_eq!(problems.len(), 1);
        }
        let _ = parse_command_line(&text);
    }
}

const TOKENS: &[&str] = &[
    "step",
    "read",
    "let",
    "over",
    "tolerance",
    "example",
    "enter",
    "expect",
    "remedy",
    "when",
    "\n",
    "\n",
    "\n",
    "\n\n",
    "a",
    "L3",
    "L3.a",
    "\"text\"",
    "\"{a}\"",
    "\"{",
    "\"",
    "# note\n",
    "(",
    ")",
    "[",
    "]",
    "=",
    ",",
    ";",
    "+",
    "-",
    "*",
    "/",
    "^",
    "1",
    "-2.5",
    "mm",
    "5 %",
    "of",
    "in",
    "any",
    "by",
    "spread",
    "at most",
    "within",
    "is",
    "not",
    "and",
    "or",
    "if",
    "then",
    "else",
    "outside",
    "every",
    "place 0 mm",
    "2026-03-02",
    "to",
    "up to",
    "closing",
    "\u{201c}",
    "µm",
    "\r\n",
    "plus",
    "table",
    "up",
    "adds",
    "per",
    "yes",
    "instrument",
    "scale",
    "over a and b",
    "f(",
];
