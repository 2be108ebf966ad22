//! A procedure whose own texts are odd: titles, labels, senses, sources, remedies. Whoever wrote it, no form of the report,
//! no drawing and no sheet comes apart, and each text stands there whole.

use std::process::Command;

use bedway::report::{clean, width_of};
use pulldown_cmark::{Event as Mark, Options, Parser, Tag};
use scraper::Html;

use crate::exports::{read_back, unguarded, valid};
use crate::html::{all, rehearsed, text};
use crate::looked_over::faults;

/// Every place of a procedure that takes a text, as `TEXT`.
const FORM: &str = r#"language 1
procedure "TEXT title"
revision "TEXT revision"
scope "TEXT scope"
basis "TEXT basis"
note "TEXT note"
decide simple
party owner "TEXT party"
fact kind "TEXT fact" one of low_one, high_one
instrument dial "TEXT instrument"
  resolution 0.001 mm
  uncertainty fresh 0.001 mm k 2
section one "TEXT section"
step A "TEXT step"
  setup "TEXT setup"
  conditions "TEXT conditions"
  caution "TEXT caution"
  basis "TEXT source"
  note "TEXT remark"
  confirm "TEXT confirm"
  read x in mm using dial
    over place 0 mm, 100 mm, 200 mm
    plus "TEXT plus"
    minus "TEXT minus"
    ask "TEXT asked"
  let form "Form" = ordinates(x over place by ends)
    plus "TEXT hump"
    minus "TEXT hollow"
  let peak "TEXT result" = hump(x over place by ends)
  tolerance peak at most 0.001 mm
  tolerance again "TEXT rule" peak at most 0.002 mm
  remedy when peak outside "TEXT remedy"
  observe seen "TEXT seen" one of well, ill
  require seen is well
example "walked"
  given kind = low_one
  enter A.x = 0, 0.005, 0
  observe A.seen = well
"#;

/// What must be read again in the report of it.
const SAID: [&str; 17] = [
    "title",
    "revision",
    "scope",
    "basis",
    "fact",
    "instrument",
    "step",
    "setup",
    "conditions",
    "source",
    "confirm",
    "plus",
    "minus",
    "asked",
    "result",
    "rule",
    "remedy",
];

fn long() -> String {
    "long ".repeat(100)
}

fn odd() -> Vec<String> {
    let mut odd: Vec<String> = [
        "\"quoted\" 'single' <script>alert(1)</script> </style></title> & &amp; <b>",
        "=SUM(A1)",
        "+1 up",
        "-1 down",
        "@name",
        "'apostrophe",
        "עברית العربية 12 + 3",
        "心押し台の傾き、試験",
        "a | b `code` *strong* _low_ [link](http://x) ~~gone~~ $x$ # none",
        "{braces} \\ stroke",
        "e\u{301}\u{200b} marks",
    ]
    .map(str::to_owned)
    .to_vec();
    odd.push(long());
    odd
}

fn written(text: &str) -> String {
    let text = text.replace('\\', "\\\\").replace('"', "\\\"").replace('{', "{{").replace('}', "}}");
    FORM.replace("TEXT", &text)
}

/// One blank for each run of them, as a browser and a page of text show it.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn form_of(record: &[u8], arguments: &[&str]) -> String {
    let folder = tempfile::TempDir::new().unwrap();
    std::fs::write(folder.path().join("walk.record.jsonl"), record).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_bedway"))
        .args(["report", "walk.record.jsonl"])
        .args(arguments)
        .current_dir(folder.path())
        .output()
        .unwrap();
    String::from_utf8(out.stdout).unwrap()
}

/// Nothing that a terminal or a reader's eye would be led astray by.
fn is_safe(text: &str) -> bool {
    !text.contains(['\u{1b}', '\u{7}', '\0', '\u{202e}', '\u{2066}', '\u{200b}', '\u{feff}'])
}

#[test]
fn whatever_the_texts_of_a_procedure_are_each_form_says_them_whole_and_stays_what_it_is() {
    for odd in odd() {
        let (page, record) = rehearsed("odd.bedway", &written(&odd));
        assert_eq!(faults(&page), Vec::<String>::new(), "{odd}");
        let html = Html::parse_document(&page);
        let said = flat(&text(html.root_element()));
        let shown = |name: &str| flat(&clean(&format!("{odd} {name}")));
        for name in SAID {
            assert!(said.contains(&shown(name)), "{name}: {} is not on the page", shown(name));
        }
        assert!(is_safe(&page), "{odd}");
        // Its drawings say what plus and minus are in these words too, cut where they would not fit.
        let drawn: String = all(&html, "svg text").into_iter().map(text).collect();
        let begins: String = shown("hump").chars().take(12).collect();
        assert!(drawn.contains(&flat(&begins)), "{begins}: {drawn}");

        let plain = form_of(&record, &[]);
        assert!(is_safe(&plain) && plain.lines().all(|line| width_of(line) <= 80), "{plain}");
        let json = form_of(&record, &["--json"]);
        valid(&form_of(&record, &["--json-schema"]), &json);
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(json["procedure"]["title"], format!("{odd} title"));
        let rule = json["tests"][0]["tries"][0]["rules"][1]["label"].as_str().unwrap();
        assert_eq!(flat(rule), flat(&format!("{odd} rule")));

        let rows = read_back(&form_of(&record, &["--csv"]));
        assert_eq!(rows.len(), 1 + 3 + 1, "a fact, three readings, what was seen");
        for row in &rows {
            let is_well = |cell: &String| {
                let is_number = cell.trim_start_matches(['+', '-']).parse::<f64>().is_ok();
                let works_out =
                    cell.starts_with(['=', '@', '\t']) || (cell.starts_with(['+', '-']) && !is_number);
                !works_out && is_safe(cell)
            };
            assert!(row.values().all(is_well), "{row:?}");
        }
        let label = rows.iter().find(|row| row["kind"] == "reading").unwrap()["label"].clone();
        assert_eq!(flat(unguarded(&label)), shown("asked"));

        let markdown = form_of(&record, &["--markdown"]);
        assert!(is_safe(&markdown), "{markdown}");
        let made = |mark: &Mark<'_>| {
            matches!(
                mark,
                Mark::Html(_)
                    | Mark::InlineHtml(_)
                    | Mark::Code(_)
                    | Mark::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis | Tag::Strikethrough)
            )
        };
        let options = Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH;
        assert_eq!(Parser::new_ext(&markdown, options).find(made), None, "{odd}");
    }
}

#[test]
fn and_so_does_its_sheet() {
    for odd in odd() {
        let folder = tempfile::TempDir::new().unwrap();
        std::fs::write(folder.path().join("odd.bedway"), written(&odd)).unwrap();
        let sheet = |arguments: &[&str]| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_bedway"));
            let out = command
                .args(["sheet", "odd.bedway"])
                .args(arguments)
                .current_dir(folder.path())
                .output()
                .unwrap();
            String::from_utf8(out.stdout).unwrap()
        };
        let plain = sheet(&[]);
        let wide = plain.split(['\u{c}', '\n']).find(|line| width_of(line) > 80);
        assert!(is_safe(&plain.replace('\u{c}', "")) && wide.is_none(), "{odd}: {wide:?}");
        sheet(&["--html", "out.html"]);
        let page = std::fs::read_to_string(folder.path().join("out.html")).unwrap();
        assert_eq!(faults(&page), Vec::<String>::new(), "{odd}");
        let said = flat(&text(Html::parse_document(&page).root_element()));
        for name in
            ["title", "fact", "instrument", "step", "setup", "caution", "plus", "asked", "remedy", "source"]
        {
            let shown = flat(&clean(&format!("{odd} {name}")));
            assert!(is_safe(&page) && said.contains(&shown), "{shown}: {said}");
        }
    }
}

/// A character that no reader sees, or that moves the cursor, has no place in a procedure: its line is named.
#[test]
fn control_characters_in_a_procedure_are_refused_with_their_line() {
    let folder = tempfile::TempDir::new().unwrap();
    for control in ["\u{1b}[2J", "\u{7}", "\0", "\u{202e}", "\u{2066}"] {
        std::fs::write(folder.path().join("odd.bedway"), written(control)).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_bedway"));
        let out = command.args(["check", "odd.bedway"]).current_dir(folder.path()).output().unwrap();
        let said = String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
        assert!(out.status.code() == Some(3) && said.contains("odd.bedway:2"), "{control:?}: {said}");
        assert!(
            !said.contains(['\u{7}', '\0', '\u{202e}', '\u{2066}']) && !said.contains("\u{1b}[2J"),
            "{said:?}"
        );
    }
}
