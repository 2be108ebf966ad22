//! What a reader copies must work, and the reference must be whole: every block of the documents that is marked as a
//! procedure is free of faults and its examples come out; no word of the language goes without an explanation.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use bedway::diagnostic;
use bedway::syntax::{self, Parsed};
use bedway::tidy::tidy;
use bedway::walk::examples;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()))
}

/// The blocks between a line of three back quotes with the word `bedway` and the next such line without it; each with
/// the number of its first line.
fn blocks(document: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut inside = false;
    for (number, line) in document.lines().enumerate() {
        match (inside, line.trim_end()) {
            (false, "```bedway") => {
                found.push((number + 2, String::new()));
                inside = true;
            }
            (true, "```") => inside = false,
            (true, _) => {
                let (_, text) = found.last_mut().unwrap();
                text.push_str(line);
                text.push('\n');
            }
            (false, _) => {}
        }
    }
    assert!(!inside, "a block is not closed");
    found
}

/// The files of a folder with this ending, in the order of their names.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(root().join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == ending))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "no .{ending} in {folder}");
    files
}

/// What `bedway check` says of a text, its examples worked out; a warning is too much as well.
fn said_of(parsed: &Parsed) -> String {
    let mut checked = bedway::check::check(parsed);
    if let Some(program) = checked.program.map(Rc::new) {
        checked.problems.extend(examples::prove(&program));
    }
    diagnostic::render(&parsed.source, &checked.problems, 100, false)
}

#[test]
fn every_whole_procedure_in_the_documents_can_be_copied_and_walked() {
    let (mut count, mut wrong) = (0, Vec::new());
    for path in ["", "grammar", "procedures"].iter().flat_map(|folder| files(folder, "md")) {
        for (line, text) in blocks(&read(&path)) {
            let name = format!("{}, block at line {line}", path.display());
            let parsed = syntax::parse_bytes(name.as_str(), text.as_bytes());
            wrong.push(said_of(&parsed));
            let tidied = tidy(&parsed);
            if tidied != text {
                wrong.push(format!("{name} is not tidy; it would be\n{tidied}"));
            }
            count += 1;
        }
    }
    wrong.retain(|said| !said.is_empty());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(count >= 6, "the language reference has lost its examples: {count} blocks");
}

/// A language word that the reference does not know is one that an author can only find by reading the program.
#[test]
fn the_reference_lists_every_reserved_word() {
    let reference = read(&root().join("grammar/README.md"));
    let (_, list) = reference.split_once("## Reserved words").unwrap();
    let (_, list) = list.split_once("```text\n").unwrap();
    let (list, _) = list.split_once("```").unwrap();
    let listed: Vec<&str> = list.split_whitespace().collect();
    assert_eq!(listed, syntax::RESERVED);
}

/// Keys of the entries, read from their types: `` `step` `try` `after` ``, with a `?` behind one that may be absent.
fn keys(fields: &str) -> String {
    let (mut keys, mut name, mut absent) = (Vec::new(), None, false);
    for line in fields.lines().map(str::trim) {
        if line.starts_with("#[serde") {
            absent |= line.contains("skip_serializing_if");
            name = line.split_once("rename = \"").map(|(_, rest)| rest.split('"').next().unwrap());
        } else if let Some((field, _)) = line.trim_start_matches("pub ").split_once(": ")
            && !line.starts_with("//")
        {
            let mark = if absent { "?" } else { "" };
            keys.push(format!("`{}`{mark}", name.unwrap_or(field)));
            (name, absent) = (None, false);
        }
    }
    keys.join(" ")
}

fn snake(name: &str) -> String {
    let lower = |(at, letter): (usize, char)| match letter {
        'A'..='Z' if at > 0 => format!("_{}", letter.to_ascii_lowercase()),
        _ => letter.to_ascii_lowercase().to_string(),
    };
    name.char_indices().map(lower).collect()
}

/// A judge reads the record by hand with the reference beside it, so the reference names every key in its order.
#[test]
fn the_reference_lists_every_entry_of_the_record_with_its_keys_in_order() {
    let source = ["src/walk/event.rs", "src/walk/alteration.rs", "src/walk/judged.rs", "src/walk/sayings.rs"]
        .map(|file| read(&root().join(file)))
        .concat();
    let reference = read(&root().join("grammar/README.md"));
    let part = |name: &str| {
        let (_, after) = source.split_once(&format!("pub struct {name} {{\n")).unwrap();
        keys(after.split("\n}").next().unwrap())
    };
    let (_, after) = source.split_once("pub enum Event {\n").unwrap();
    let mut lines = after.split("\n}\n").next().unwrap().lines();
    let mut count = 0;
    while let Some(line) = lines.next() {
        let Some(variant) =
            line.strip_prefix("    ").filter(|it| it.starts_with(|c: char| c.is_ascii_uppercase()))
        else {
            continue;
        };
        let (name, keys) = match variant.split_once('(') {
            Some((name, held)) => (name, part(held.trim_end_matches("),"))),
            None => {
                let fields: Vec<&str> = lines.by_ref().take_while(|line| *line != "    },").collect();
                (variant.trim_end_matches(" {"), keys(&fields.join("\n")))
            }
        };
        let row = format!("| `{}` | {keys} |", snake(name));
        assert!(reference.contains(&row), "the table of entries lacks the row\n{row}");
        count += 1;
    }
    assert!(count > 30, "only {count} entries were found");
    for name in ["FileText", "Torn", "Answer", "ResultLine", "RuleLine", "UncertaintyLine"] {
        let row = format!("| {} |", part(name));
        assert!(reference.contains(&row), "the table of parts lacks the keys of {name}: {row}");
    }
}

/// The words that stand in double quotes in a source file of the language.
fn quoted(path: &str) -> Vec<String> {
    let source = read(&root().join(path));
    let code = source.lines().filter(|line| !line.trim_start().starts_with("//"));
    let words = code.flat_map(|line| line.split('"').skip(1).step_by(2));
    let is_word = |text: &&str| !text.is_empty() && text.chars().all(|c| c.is_alphanumeric() || c == '_');
    words.filter(is_word).map(str::to_string).collect()
}

#[test]
fn the_reference_says_what_every_first_word_and_every_function_is_for() {
    let reference = read(&root().join("grammar/README.md"));
    // In the back quotes of running text, not only in an example.
    let spoken: Vec<&str> =
        reference.split("```").step_by(2).flat_map(|text| text.split('`').skip(1).step_by(2)).collect();
    let words: BTreeSet<&str> =
        spoken.iter().flat_map(|span| span.split(|c: char| !c.is_ascii_alphanumeric() && c != '_')).collect();
    let (lines, functions) = (quoted("src/syntax/block.rs"), quoted("src/check/functions.rs"));
    assert!(
        lines.len() > 100 && functions.len() > 40,
        "{} lines, {} functions",
        lines.len(),
        functions.len()
    );
    for word in lines.iter().chain(&functions) {
        assert!(words.contains(word.as_str()), "the reference does not explain `{word}`");
    }
}
