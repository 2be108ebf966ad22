//! Every code has a small file that shows it, an explanation, and a rendering that a person can act on.

use bedway::diagnostic::{Code, Problem, in_file_order, render};
use bedway::syntax::{Parsed, parse_bytes, parse_whole};

fn corpus(name: &str) -> Option<Vec<u8>> {
    std::fs::read(format!("{}/tests/corpus/faults/{name}.bedway", env!("CARGO_MANIFEST_DIR"))).ok()
}

/// What `bedway check` finds, worked examples included.
fn found(name: &str, bytes: &[u8]) -> (Parsed, Vec<Problem>) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/faults/");
    let mut read =
        |library: &str| std::fs::read(format!("{folder}{library}")).map_err(|_| "it is not there".to_owned());
    let parsed = parse_whole(&format!("{name}.bedway"), bytes, &mut read).parsed;
    let checked = bedway::check::check(&parsed);
    let mut problems = checked.problems;
    if let Some(program) = checked.program.map(std::rc::Rc::new) {
        problems.extend(bedway::walk::examples::prove(&program));
        problems.extend(bedway::walk::impossible::impossible(&program));
        problems.extend(bedway::walk::uncertainty::foresee::foresee(&program));
    }
    (parsed, in_file_order(problems))
}

fn file_of(code: Code) -> String {
    code.name().replace("::", "-")
}

#[test]
fn every_code_has_a_file_that_shows_it_and_says_why_it_exists() {
    let mut missing = Vec::new();
    for code in Code::ALL {
        let name = file_of(*code);
        let Some(bytes) = corpus(&name) else {
            missing.push(format!("{name}: no file"));
            continue;
        };
        let (_, problems) = found(&name, &bytes);
        if !problems.iter().any(|problem| problem.code == *code) {
            missing.push(format!(
                "{name}: found {:?}",
                problems.iter().map(|p| p.code.name()).collect::<Vec<_>>()
            ));
        }
        let comment = String::from_utf8_lossy(&bytes).trim_start_matches('\u{feff}').starts_with('#');
        // A file without a line, one that is no text and one of a single line have no room for a comment.
        let no_room =
            ["line-empty", "line-not-text", "line-lone-return", "line-too-long"].contains(&name.as_str());
        if !comment && !no_room {
            missing.push(format!("{name}: the first line does not say why it exists"));
        }
    }
    assert_eq!(missing, Vec::<String>::new());
}

#[test]
fn there_are_enough_codes_and_each_is_explained_in_words() {
    assert!(Code::ALL.len() >= 60, "{}", Code::ALL.len());
    for code in Code::ALL {
        let explanation = code.explanation();
        assert!(
            explanation.len() > 40 && explanation.ends_with(['.', '"']),
            "{}: {explanation}",
            code.name()
        );
        assert_eq!(Code::parse(code.name()), Some(*code));
    }
}

/// A fault in one place must not set off others: each file shows its own code and nothing else. Files of broken lines
/// may show a second fault of the same line.
#[test]
fn one_mistake_is_one_fault() {
    let mut others = Vec::new();
    for code in Code::ALL.iter().filter(|code| !code.name().starts_with("line::")) {
        let name = file_of(*code);
        let Some(bytes) = corpus(&name) else { continue };
        let (_, problems) = found(&name, &bytes);
        others.extend(
            problems.iter().filter(|p| p.code != *code).map(|p| format!("{name}: {}", p.code.name())),
        );
    }
    assert_eq!(others, Vec::<String>::new());
}

#[test]
fn faults_as_they_are_shown() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for code in Code::ALL.iter().filter(|code| !code.name().starts_with("line::")) {
        let name = file_of(*code);
        let Some(bytes) = corpus(&name) else { continue };
        let (parsed, problems) = found(&name, &bytes);
        let shown = render(&parsed.source, &problems, 80, false);
        let text = format!("{}\n----------------------------------------\n\n{shown}", parsed.source.text());
        settings.bind(|| insta::assert_snapshot!(format!("faults-{name}"), text));
    }
}

/// Places in the order of the file, and not the same thing twice.
#[test]
fn many_faults_come_in_the_order_of_the_file() {
    let text = b"language 1\nprocedure \"Many\"\ndecide simple\nstep A \"A\"\n  read x in mm using dial\n    plus \"up\"\n    minus \"up\"\n  tolerance y within 0.01 mm\n  needs B done\n  hold owner \"Look\"\n";
    let (parsed, problems) = found("many", text);
    let places: Vec<_> =
        problems.iter().map(|p| (parsed.source.place(p.span().start).0, p.code.name())).collect();
    assert_eq!(
        places,
        [
            (5, "name::unknown-instrument"),
            (7, "sense::same-words"),
            (8, "name::unknown"),
            (9, "name::unknown-step"),
            (10, "name::unknown-party"),
        ]
    );
}

/// Ten thousand results, each resting on the one before it and the last on a name that is not there; ten thousand
/// steps in one chain of needs. Neither takes a stack or says the same thing ten thousand times.
#[test]
fn long_chains_are_followed_without_end() {
    let mut text = String::from(
        "language 1\nprocedure \"Chain\"\ndecide simple\nstep A \"A\"\n  read x in mm\n    plus \"up\"\n    minus \"down\"\n",
    );
    for at in 0..10_000 {
        text.push_str(&format!("  let r{at} \"R\" = r{} + x\n", at + 1));
    }
    text.push_str("  tolerance r0 within 1 mm\n");
    let (_, problems) = found("chain", text.as_bytes());
    assert_eq!(problems.iter().map(|p| p.code.name()).collect::<Vec<_>>(), ["name::unknown"]);

    let mut text =
        String::from("language 1\nprocedure \"Chain\"\ndecide simple\nsection all \"All\" in any order\n");
    for at in 0..10_000 {
        text.push_str(&format!(
            "step S{at} \"S\"\n  needs S{} done\n  observe seen \"Seen?\" yes or no\n",
            (at + 1) % 10_000
        ));
    }
    let (_, problems) = found("circle", text.as_bytes());
    assert_eq!(problems.iter().map(|p| p.code.name()).collect::<Vec<_>>(), ["flow::needs-cycle"]);
}

/// A line that could not be read may have given a name: what it may have named is not called unknown.
#[test]
fn names_of_broken_lines_are_not_called_unknown() {
    let text = b"language 1\nprocedure \"Broken\"\ndecide simple\nfact reach \"Reach\" in\nstep A \"A\"\n  read x in mm\n    plus \"up\"\n    minus \"down\"\n  let lean \"Lean\" = x / reach in mm/m\n  tolerance lean within 0.01 mm/m\n";
    let (_, problems) = found("broken", text);
    assert!(problems.iter().all(|problem| problem.code.name().starts_with("line::")), "{problems:?}");
}

/// A line left out, or taken for another, gives plain problems or a sound procedure; each problem can be shown.
#[test]
fn a_line_lost_or_doubled_is_never_more_than_a_fault() {
    let folder = format!("{}/tests/corpus/good", env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file());
    files.sort();
    for path in files.iter().step_by(6) {
        let text = std::fs::read_to_string(path).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for at in 0..lines.len() {
            let mut lost = lines.clone();
            let line = lost.remove(at);
            let mut moved = lost.clone();
            moved.insert((at * 7 + 3) % lines.len(), line);
            for text in [lost.join("\n"), moved.join("\n")] {
                let parsed = parse_bytes("trial.bedway", text.as_bytes());
                let checked = bedway::check::check(&parsed);
                assert_eq!(
                    checked.program.is_none(),
                    checked.problems.iter().any(Problem::is_fault),
                    "{path:?} {at}"
                );
                let shown = render(&parsed.source, &checked.problems, 80, false);
                assert!(!shown.contains("Failed to read"), "{shown}");
            }
        }
    }
}
