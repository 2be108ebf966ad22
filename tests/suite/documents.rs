//! What a reader copies must work: every block of the documents that is marked as a whole procedure, every procedure
//! of the library and every good file of the corpus is free of faults, and its examples come out.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use bedway::check::check;
use bedway::diagnostic;
use bedway::syntax;
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
fn faults(name: &str, text: &str) -> String {
    let parsed = syntax::parse_bytes(name, text.as_bytes());
    let checked = check(&parsed);
    let mut problems = checked.problems;
    if let Some(program) = checked.program {
        problems.extend(examples::prove(&Rc::new(program)));
    }
    diagnostic::render(&parsed.source, &problems, 100, false)
}

fn demand_sound(texts: impl IntoIterator<Item = (String, String)>) {
    let said: Vec<String> = texts
        .into_iter()
        .map(|(name, text)| faults(&name, &text))
        .filter(|faults| !faults.is_empty())
        .collect();
    assert!(said.is_empty(), "{}", said.join("\n"));
}

fn demand_sound_files(folder: &str) {
    demand_sound(files(folder, "bedway").iter().map(|path| (path.display().to_string(), read(path))));
}

#[test]
fn every_whole_procedure_in_the_documents_can_be_copied_and_walked() {
    let mut texts = Vec::new();
    for path in ["", "grammar", "procedures"].iter().flat_map(|folder| files(folder, "md")) {
        for (line, text) in blocks(&read(&path)) {
            texts.push((format!("{}, block at line {line}", path.display()), text));
        }
    }
    assert!(texts.len() >= 6, "the language reference has lost its examples: {} blocks", texts.len());
    demand_sound(texts);
}

#[test]
fn every_procedure_of_the_library_is_sound_and_its_examples_come_out() {
    demand_sound_files("procedures");
}

#[test]
fn every_good_file_of_the_corpus_is_sound_and_its_examples_come_out() {
    demand_sound_files("tests/corpus/good");
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
    let source = read(&root().join("src/walk/event.rs"));
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
    for name in ["FileText", "Torn", "Answer", "ResultLine", "RuleLine"] {
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
