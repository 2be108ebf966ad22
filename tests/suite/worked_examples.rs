//! Every good file is without a fault or a warning, and its worked examples come out as they say. The arithmetic in
//! the files was worked by hand, so these are the outside check of what the words mean.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

fn good_files() -> Vec<PathBuf> {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<PathBuf> = ["procedures", "procedures/parts", "tests/corpus/good"]
        .iter()
        .flat_map(|folder| fs::read_dir(root.join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|it| it == "bedway"))
        .collect();
    files.sort();
    files
}

#[test]
fn every_good_file_checks_and_its_examples_come_out() {
    let mut wrong = Vec::new();
    for path in good_files() {
        let loaded = bedway::cli::load::load(&path).unwrap();
        if !loaded.problems.is_empty() {
            wrong.push(bedway::diagnostic::render(&loaded.source, &loaded.problems, 80, false));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What an author copies from the library is in the order in which `bedway tidy` would set it.
#[test]
fn the_library_is_tidy() {
    let mut untidy = Vec::new();
    for path in good_files().into_iter().filter(|path| {
        path.parent().is_some_and(|it| it.ends_with("procedures") || it.ends_with("procedures/parts"))
    }) {
        let text = fs::read_to_string(&path).unwrap();
        let name = path.display().to_string();
        if bedway::tidy::tidy(&bedway::syntax::parse_text(name.as_str(), text.as_str())) != text {
            untidy.push(name);
        }
    }
    assert!(untidy.is_empty(), "set it right with bedway tidy: {untidy:?}");
}

/// An author may copy any step of it, so each must show what passes it and what does not.
#[test]
fn each_step_of_the_bench_lathe_has_an_example_that_passes_and_one_that_does_not() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/bench-lathe.bedway");
    let text = fs::read_to_string(path).unwrap();
    let words = |line: &str| line.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let steps: Vec<String> = text
        .lines()
        .map(words)
        .filter(|line| line.first().is_some_and(|it| it == "step"))
        .map(|line| line[1].clone())
        .collect();
    assert!(steps.len() >= 22, "only {} steps", steps.len());
    let (mut passes, mut does_not) = (BTreeSet::new(), BTreeSet::new());
    for line in text.lines().map(words).filter(|line| line.first().is_some_and(|it| it == "expect")) {
        match line.get(2).map(String::as_str) {
            // A step that only keeps readings for another is recorded.
            Some("passes" | "recorded") => passes.insert(line[1].clone()),
            Some("fails" | "invalid" | "stopped") => does_not.insert(line[1].clone()),
            _ => false,
        };
    }
    for step in steps {
        assert!(passes.contains(&step), "no example passes {step}");
        assert!(does_not.contains(&step), "no example shows what {step} finds");
    }
}
