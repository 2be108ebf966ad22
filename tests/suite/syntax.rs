//! Reading a file: good ones whole, broken ones with one exact problem a line, odd ones with a plain message.

use bedway::diagnostic::render;
use bedway::source::SourceFile;
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
    let entries = std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().path());
    let files = entries
        .filter(|path| path.is_file())
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned());
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

/// Each broken file with what is said about it: one problem a broken line, none for the lines beside it.
#[test]
fn each_broken_line_is_told_once_at_its_place() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for file in
        folder("faults").iter().filter(|file| file.contains("/line-") || file.contains("/unit-unknown"))
    {
        let name = file.trim_start_matches("faults/").trim_end_matches(".bedway");
        let parsed = corpus(file);
        assert!(
            parsed.problems.iter().any(|problem| problem.code.name().replace("::", "-") == name),
            "{file} does not show its code: {:?}",
            told(&parsed)
        );
        let named = SourceFile::new(name, parsed.source.text());
        let input: String = named.text().lines().take(40).map(|line| format!("{}\n", cut(line))).collect();
        let output = render(&named, &parsed.problems, 80, false);
        settings.bind(|| insta::assert_snapshot!(format!("syntax-{name}"), format!("{input}---\n{output}")));
    }
}

fn cut(line: &str) -> String {
    line.chars().take(110).collect()
}
