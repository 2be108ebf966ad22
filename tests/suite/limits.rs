//! The tables of published limits in `procedures/`, row by row: each limit of `tests/reference/limits.json` is met by a
//! value that lies on it and not by one just beyond. Judged in the language, behind the library itself.

use std::fmt::Write as _;
use std::rc::Rc;

use bedway::check::check;
use bedway::diagnostic::render;
use bedway::syntax::parse_whole;
use bedway::walk::examples::prove;

use crate::reference_case::{Case, read};

/// A step that holds a reading against the limit, and for each published value an example at it and one just beyond.
/// How many there were.
fn tried(case: &Case, name: &str, text: &mut String) -> usize {
    let (limit, unit) = (case.text("limit"), case.text("unit"));
    let head = format!("step {name} \"{}\"\n  read tried in {unit}\n    unsigned\n", case.case);
    // Writing to a String does not fail.
    let _ = write!(text, "\n{head}  tolerance tried at most {limit}\n");
    let places: Vec<&str> = case.text("at").split("; ").collect();
    let mut count = 0;
    for (choice, limits) in &case.expect {
        let limits: Vec<&str> = limits.split(' ').collect();
        assert_eq!(limits.len(), places.len(), "{}, {choice}: a limit each", case.case);
        let chosen = match case.has("choice") {
            true => format!(", {} = {choice}", case.text("choice")),
            false => String::new(),
        };
        for (limit, place) in limits.iter().zip(&places) {
            let point = if limit.contains('.') { "" } else { "." };
            for (value, verdict) in
                [((*limit).to_string(), "passes"), (format!("{limit}{point}001"), "fails")]
            {
                let _ = write!(
                    text,
                    "\nexample \"{name}, {choice}, {place}: {value}\"\n  given {place}{chosen}\n  \
                     enter {name}.tried = {value}\n  expect {name} {verdict}\n",
                );
            }
        }
        count += limits.len();
    }
    count
}

#[test]
fn every_row_is_met_at_its_limit_and_not_just_beyond() {
    for (library, at_least) in [("limits-of-lathes", 150), ("limits-of-standards", 300)] {
        let path = format!("{}/procedures/{library}.bedway", env!("CARGO_MANIFEST_DIR"));
        let whole = std::fs::read_to_string(path).unwrap();
        // Its own examples are worked out elsewhere.
        let mut text = whole.split("\nexample ").next().unwrap().to_string();
        let cases = read("limits.json").into_iter().filter(|case| case.text("library") == library);
        let count: usize =
            cases.enumerate().map(|(row, case)| tried(&case, &format!("ROW{row}"), &mut text)).sum();
        let mut read = |part: &str| {
            let path = format!("{}/procedures/{part}", env!("CARGO_MANIFEST_DIR"));
            std::fs::read(path).map_err(|error| error.to_string())
        };
        let parsed = parse_whole(library, text.as_bytes(), &mut read).parsed;
        let checked = check(&parsed);
        let mut problems = checked.problems;
        problems.extend(checked.program.map(|program| prove(&Rc::new(program))).unwrap_or_default());
        assert!(problems.is_empty(), "{}", render(&parsed.source, &problems, 100, false));
        assert!(count >= at_least, "{library}: {count} limits");
    }
}
