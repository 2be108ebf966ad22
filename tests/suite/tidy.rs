//! The tidy form: what it looks like, that it reads the same, that it is its own tidy form.

use bedway::syntax::parse_text;
use bedway::tidy::tidy;
use proptest::prelude::*;

fn tidied(text: &str) -> String {
    tidy(&parse_text("t", text))
}

/// The tree without its places.
fn meaning(text: &str) -> String {
    let items = format!("{:?}", parse_text("t", text).file.items);
    let mut parts = items.split("Span { start: ");
    let mut said = parts.next().unwrap_or_default().to_string();
    for part in parts {
        said.push_str(part.split_once('}').map_or("", |(_, rest)| rest));
    }
    said
}

fn files() -> Vec<(String, String)> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus");
    let mut files = Vec::new();
    for folder in ["good", "lines", "faults"] {
        for entry in std::fs::read_dir(format!("{root}/{folder}")).unwrap() {
            let path = entry.unwrap().path();
            if let Ok(text) = std::fs::read_to_string(&path) {
                files.push((path.display().to_string(), text));
            }
        }
    }
    files.sort();
    files
}

#[test]
fn every_file_keeps_its_meaning_and_its_comments_and_is_tidy_then() {
    for (path, text) in files() {
        let tidy = tidied(&text);
        assert_eq!(meaning(&tidy), meaning(&text), "{path}");
        assert_eq!(tidied(&tidy), tidy, "{path}");
        let comments = |text: &str| text.matches('#').count();
        assert_eq!(comments(&tidy), comments(&text), "{path}");
    }
}

#[test]
fn a_procedure_as_we_show_it_is_tidy() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good/small-lathe.bedway");
    let text = std::fs::read_to_string(path).unwrap();
    pretty_equal(&tidied(&text), &text);
}

/// What others read to learn the language, and one file that is untidy on purpose.
#[test]
fn all_procedures_that_we_show_are_tidy() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    for folder in ["procedures", "tests/corpus/good", "tests/corpus/good/parts", "tests/transcripts"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|it| it != "bedway") || path.ends_with("layout.bedway") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            assert!(tidied(&text) == text, "{}: bedway tidy sets it in order", path.display());
        }
    }
}

fn pretty_equal(left: &str, right: &str) {
    for (number, (left, right)) in left.lines().zip(right.lines()).enumerate() {
        assert_eq!(left, right, "line {}", number + 1);
    }
    assert_eq!(left, right);
}

#[test]
fn untidy_lines_come_out_in_blocks_and_columns() {
    let text = "language 1\n\n\n\nprocedure \"T\"\r\nfact a \"A long question?\" text\nfact longer \"B?\" in mm   # why\n\
                step S \"Title\"\nsetup \"One\"\n\"and two.\"\n    # about the reading\nread r in mm/m\nover place 0mm,\n300 mm\n\
                minus \"down\"\ntolerance r from -0.1 mm/m to (2+3*x)/4 in any 250 mm by spread\n\n\n# the end";
    let tidy = "language  1\n\nprocedure \"T\"\nfact a      \"A long question?\" text\nfact longer \"B?\"               in mm  # why\n\
                step S \"Title\"\n  setup     \"One\"\n            \"and two.\"\n  # about the reading\n  read r in mm/m\n    over    place 0 mm,\n        300 mm\n    \
                minus   \"down\"\n  tolerance r from -0.1 mm/m to (2 + 3 * x) / 4 in any 250 mm by spread\n\n# the end\n";
    pretty_equal(&tidied(text), tidy);
}

#[test]
fn a_line_that_cannot_be_read_stays_as_it_is() {
    let text = "language  1\nstep S \"T\"\n    setpu   \"One\"    # hm\n  tries     3\n";
    assert_eq!(tidied(text), "language  1\nstep S \"T\"\n    setpu   \"One\"  # hm\n  tries     3\n");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Blanks put in and taken out anywhere between two tokens of a line lead to the same tidy form.
    #[test]
    fn blanks_at_the_ends_of_lines_and_between_blocks_do_not_matter(
        choice in proptest::collection::vec(0_usize..4, 300)
    ) {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/lines/every-line.bedway");
        let text = std::fs::read_to_string(path).unwrap();
        let mut untidy = String::new();
        for (line, choice) in text.lines().zip(choice.iter().cycle()) {
            untidy.push_str(&" ".repeat(*choice));
            untidy.push_str(line.trim_start());
            untidy.push_str(&" ".repeat(3 - choice));
            untidy.push('\n');
        }
        prop_assert_eq!(tidied(&untidy), tidied(&text));
    }
}
