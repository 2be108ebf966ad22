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

/// All corpus files of a folder, by path.
fn folder(name: &str) -> Vec<String> {
    let path = format!("{}/tests/corpus/{name}", env!("CARGO_MANIFEST_DIR"));
    let files = std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut files: Vec<String> = files.map(|file| format!("{name}/{file}")).collect();
    files.sort();
    files
}

#[test]
fn every_good_file_is_read_without_a_problem() {
    for file in folder("good").into_iter().chain(folder("lines")) {
        assert_eq!(told(&corpus(&file)), Vec::<String>::new(), "{file}");
    }
}
