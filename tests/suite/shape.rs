//! The shape of the source: who may use whom, where the outside world is touched, and how long a file may be.

use std::path::{Path, PathBuf};

/// Each module may use those before it, never those behind it. `check` and `walk` share the program's types.
const ORDER: &[&str] = &[
    "source",
    "quantity",
    "metrology",
    "diagnostic",
    "syntax",
    "tidy",
    "check",
    "walk",
    "record",
    "report",
    "cli",
];

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn all() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let name = |path: &Path| path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
    sources(&root).iter().map(|path| (name(path), std::fs::read_to_string(path).unwrap())).collect()
}

fn module(file: &str) -> &str {
    file.split(['/', '.']).next().unwrap()
}

/// The code of a file, without its comments and its unit tests.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap();
    text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

#[test]
fn modules_use_only_what_lies_below_them() {
    let rank = |name: &str| ORDER.iter().position(|it| *it == name);
    let mut wrong = Vec::new();
    for (file, text) in all() {
        let Some(own) = rank(module(&file)) else { continue };
        for used in code(&text).split("crate::").skip(1) {
            let used = used.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap();
            if rank(used).is_some_and(|used| used > own) {
                wrong.push(format!("{file} uses {used}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn only_the_record_and_the_command_line_touch_the_world() {
    const WORLD: &[&str] = &[
        "std::fs",
        "std::env",
        "std::net",
        "std::process",
        "println!",
        "eprintln!",
        "Zoned::now",
        "SystemTime",
        "Instant::now",
    ];
    let mut wrong = Vec::new();
    for (file, text) in all() {
        if ["record", "cli", "main"].contains(&module(&file)) {
            continue;
        }
        wrong.extend(WORLD.iter().filter(|it| code(&text).contains(*it)).map(|it| format!("{file}: {it}")));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_file_holds_one_concept_and_stays_short() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let tests = sources(&tests).into_iter().map(|path| {
        let text = std::fs::read_to_string(&path).unwrap();
        (path.to_string_lossy().replace('\\', "/"), text)
    });
    let long: Vec<String> = all()
        .into_iter()
        .chain(tests)
        .filter(|(_, text)| text.lines().count() > 500)
        .map(|(file, text)| format!("{file}: {} lines", text.lines().count()))
        .collect();
    assert!(long.is_empty(), "{long:#?}");
}
