//! Reading a file: good ones whole, broken ones with one exact problem a line, odd ones with a plain message.

use bedway::syntax::{Parsed, parse_bytes};

fn corpus(path: &str) -> Parsed {
    let path = format!("{}/tests/corpus/{path}", env!("CARGO_MANIFEST_DIR"));
    parse_bytes(path.as_str(), &std::fs::read(&path).unwrap())
}

/// Each problem as its place, message, label and help.
fn told(parsed: &Parsed) -> Vec<String> {
    let told = parsed.problems.iter().map(|problem| {
        let (line, column) = parsed.source.place(problem.span().start);
        let help = problem.help.as_deref().unwrap_or("");
        format!(
            "{line}:{column} {} {} ({}) [{help}]",
            problem.code.name(),
            problem.message,
            problem.labels[0].1
        )
    });
    told.collect()
}

#[test]
fn a_small_whole_procedure_is_read_without_a_problem() {
    assert_eq!(told(&corpus("good/small-lathe.bedway")), Vec::<String>::new());
}

#[test]
fn every_line_of_the_language_is_read() {
    assert_eq!(told(&corpus("good/every-line.bedway")), Vec::<String>::new());
}
