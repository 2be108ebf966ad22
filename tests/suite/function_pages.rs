//! Each function of the language has its page in the reference: what it gives, its sign, its source, and one worked line
//! that a procedure beneath really works out.

use std::collections::BTreeSet;

/// The section of the functions.
fn section() -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/README.md");
    let text = std::fs::read_to_string(path).unwrap();
    text.split("\n## Functions\n").nth(1).unwrap().split("\n## ").next().unwrap().to_string()
}

/// One row of a table: the functions that it speaks of, and its other cells.
struct Page {
    functions: Vec<String>,
    cells: Vec<String>,
    /// The procedure beneath the table.
    block: String,
}

fn pages() -> Vec<Page> {
    let section = section();
    let mut parts = section.split("```");
    let mut pages = Vec::new();
    while let Some(prose) = parts.next() {
        let block = parts.next().unwrap_or_default();
        for row in prose.lines().filter(|line| line.starts_with("| `")) {
            let cells: Vec<String> =
                row.trim_matches('|').split(" | ").map(|cell| cell.trim().to_string()).collect();
            let spoken = cells[0].split('`').skip(1).step_by(2);
            let heads = spoken.filter_map(|text| text.split('(').next()).filter(|head| !head.is_empty());
            let is_name = |head: &&str| head.chars().all(|c| c.is_alphanumeric() || c == '_');
            let functions = heads.filter(is_name).filter(|head| *head != "least_squares").map(str::to_string);
            pages.push(Page { functions: functions.collect(), cells, block: block.to_string() });
        }
    }
    pages
}

/// The numbers of a text, as they stand there.
fn figures(text: &str) -> BTreeSet<String> {
    let pieces = text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'));
    let numbers = pieces.map(|piece| piece.trim_end_matches('.'));
    numbers.filter(|piece| piece.parse::<f64>().is_ok()).map(str::to_string).collect()
}

/// What the examples of a block expect of the results that call a function: the text behind the name, without `within`.
fn expected(block: &str, function: &str) -> Vec<String> {
    let lines: Vec<&str> = block.lines().map(str::trim).collect();
    let mut found = Vec::new();
    for line in &lines {
        let Some((name, formula)) = line.strip_prefix("let ").and_then(|line| line.split_once(" = ")) else {
            continue;
        };
        let call = format!("{function}(");
        let called = formula.match_indices(&call).any(|(at, _)| {
            !formula[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_')
        });
        let name = name.split_whitespace().next().unwrap();
        for expectation in lines.iter().filter_map(|line| line.strip_prefix("expect ")) {
            if let Some((path, value)) = expectation.split_once(" = ")
                && called
                && path.split_once('.').is_some_and(|(_, result)| result == name)
            {
                found.push(value.split(" within ").next().unwrap().to_string());
            }
        }
    }
    found
}

#[test]
fn every_function_says_what_it_gives_its_sign_and_its_source() {
    let pages = pages();
    for page in &pages {
        assert_eq!(page.cells.len(), 5, "function, gives, sign, source, worked: {:?}", page.cells);
        for cell in &page.cells {
            assert!(!cell.is_empty(), "an empty cell: {:?}", page.cells);
        }
    }
    let known: BTreeSet<String> = pages.into_iter().flat_map(|page| page.functions).collect();
    let source =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/check/functions.rs")).unwrap();
    let (_, tables) = source.split_once("functions! {").unwrap();
    let (tables, _) = tables.split_once("/// The words that may stand after `by`.").unwrap();
    let lines = tables.lines().map(str::trim);
    let names = lines.filter_map(|line| line.trim_start_matches('(').strip_prefix('"')?.split('"').next());
    let names: BTreeSet<String> = names.map(str::to_string).collect();
    assert!(names.len() > 65, "{}", names.len());
    assert_eq!(known, names);
}

/// `where` gives words for a text; its worked line stands with the tolerance.
#[test]
fn every_worked_line_is_worked_out_beneath_its_table() {
    for page in pages() {
        let worked = figures(&page.cells[4]);
        for function in &page.functions {
            if function == "where" {
                assert!(page.block.contains("{where(bow)}"), "{}", page.block);
                assert!(page.block.contains("expect RESULTS.bow fails from 100 mm to 300 mm"));
                assert!(page.cells[4].ends_with("100 mm to 300 mm"), "{}", page.cells[4]);
                continue;
            }
            let expected = expected(&page.block, function);
            assert!(!expected.is_empty(), "no example beneath its table expects a result of `{function}`");
            let told = expected.iter().any(|value| {
                let figures = figures(value);
                !figures.is_empty() && figures.is_subset(&worked)
            });
            assert!(told, "`{function}`: the example has {expected:?}, its page {:?}", page.cells[4]);
        }
    }
}
