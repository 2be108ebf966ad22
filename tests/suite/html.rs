//! The page of HTML: valid, readable by eye and ear, safe whatever was typed, and honest in its first line.

use std::process::Command;
use std::sync::OnceLock;

use bedway::report::Proof;
use bedway::report::html::{Page, page};
use bedway::walk::event::{Entry, Event};
use scraper::{ElementRef, Html, Selector};
use tempfile::TempDir;

use crate::chained::{answer, read, report_of};
use crate::looked_over::faults;
use crate::opened::opened;

/// One walk with every kind of drawing that needs no clock, with corrections, two tries, and texts meant to break a page.
const ALL: &str = r#"language 1
procedure "Everything that is drawn <script>alert(1)</script> & \"quotes\" </style> مرحبا 精密"
decide simple
fact name "Name </title><b>" text
instrument dial "Dial 'A' & <B>"
  resolution 0.001 mm
  uncertainty fresh 0.001 mm k 2
step LINE "Straightness"
  read height in mm using dial
    over    place 0 mm to 500 mm by 125 mm
    plus    "high <i>"
    minus   "low & below"
  let form "Form" = ordinates(height over place by ends)
    plus    "hump"
    minus   "hollow"
  let peak "Hump" = hump(height over place by ends)
  tolerance local "In any 250 mm" form at most 0.0075 mm in any 250 mm by spread
  tolerance peak at most 0.030 mm
step TURN "Round a turn"
  read face in mm using dial
    over    turn 0 deg to 315 deg by 45 deg
    plus    "out"
    minus   "in"
  let off "Eccentricity" = eccentricity(face over turn)
  let tir "Run-out" = runout(face over turn)
  tolerance tir at most 0.030 mm
  report off
step COLLARS "Taper"
  read d in mm using dial
    over    place 0 mm, 40 mm, 80 mm
    unsigned
  let taper "Taper" = taper(d over place by least_squares)
    plus    "free end larger"
    minus   "free end smaller"
  tolerance taper from -0.020 mm to 0.005 mm
  decide guarded U
  adjustment swivel "Swivel" in mm
    plus    "toward the operator"
    minus   "away"
    predicts taper by -1 * swivel
  tries 3
step PLATE "A table"
  read h in mm using dial
    over    along  0 mm to 200 mm by 100 mm
    over    across 0 mm to 200 mm by 100 mm
    plus    "high"
    minus   "low"
  let flat "Flatness" = flatness(h over along and across by least_squares)
  tolerance flat at most 0.030 mm
step AGAIN "Repeats"
  read nose in mm using dial
    times   4
    plus    "toward the dial"
    minus   "away from the dial"
  let spread "Spread" = range(nose over repeat)
  tolerance spread at most 0.020 mm
step SLIDE "Positioning"
  read off in mm using dial
    times   3
    over    approach plus, minus
    over    target 0 mm to 200 mm by 100 mm
    plus    "beyond the target"
    minus   "short of the target"
  let acc "Accuracy" = accuracy(off by iso_230_2_2014)
  tolerance acc at most 0.030 mm
example "all"
  given name = "Hostile </style> <img src=x> & \"q\" مرحبا"
  enter LINE.height = 0, 0.002, 0.012, 0.005, 0
  expect LINE fails
  correct LINE.height[place 250 mm] = 0.010 "misread <u>"
  enter TURN.face = 0, 0.007, 0.010, 0.007, 0, -0.007, -0.010, -0.006
  enter COLLARS.d = 20.000, 20.020, 20.030
  adjust COLLARS.swivel = 0.030 mm
  again COLLARS
  enter COLLARS.d = 20.000, 19.995, 19.990
  enter PLATE.h = 0, 0.002, 0; 0.001, 0.006, 0; 0, 0, 0.003
  enter AGAIN.nose = 0.001, 0.003, 0.002, 0.004
  enter SLIDE.off = 0, 0.001, 0.003; 0.001, 0.003, 0.004; 0, 0.001, 0.002; 0.002, 0.003, 0.005; 0, 0.002, 0.003; 0.001, 0.002, 0.004
"#;

/// The page that a rehearsal writes, and its record.
pub fn rehearsed(name: &str, text: &str) -> (String, Vec<u8>) {
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join(name), text).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_bedway"))
        .args(["rehearse", name])
        .current_dir(folder.path())
        .env("XDG_CONFIG_HOME", folder.path().join("config"))
        .output()
        .unwrap();
    let stem = name.strip_suffix(".bedway").unwrap();
    let written = folder.path().join("rehearsal").join(stem);
    let page = std::fs::read_to_string(written.join("report.html"));
    let page = page.unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&out.stdout)));
    (page, std::fs::read(written.join(format!("{stem}.record.jsonl"))).unwrap())
}

/// The walk of `ALL`, rehearsed once for all tests.
pub fn everything() -> (&'static str, &'static [u8]) {
    static WALKED: OnceLock<(String, Vec<u8>)> = OnceLock::new();
    let (page, record) = WALKED.get_or_init(|| rehearsed("all.bedway", ALL));
    (page, record)
}

/// `bedway report --html` of these bytes: exit status and page.
fn reported(record: &[u8]) -> (i32, String) {
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join("walk.record.jsonl"), record).unwrap();
    let status = Command::new(env!("CARGO_BIN_EXE_bedway"))
        .args(["report", "walk.record.jsonl", "--html", "out.html"])
        .current_dir(folder.path())
        .output()
        .unwrap()
        .status;
    (status.code().unwrap(), std::fs::read_to_string(folder.path().join("out.html")).unwrap())
}

pub fn all<'h>(html: &'h Html, selector: &str) -> Vec<ElementRef<'h>> {
    html.select(&Selector::parse(selector).unwrap()).collect()
}

pub fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_is_valid_and_can_be_followed_by_eye_and_ear() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    assert!(html.errors.is_empty(), "{:?}", html.errors);
    assert_eq!(all(&html, "html[lang=en]").len(), 1);
    assert_eq!(faults(page), Vec::<String>::new());
}

#[test]
fn every_drawing_says_in_words_with_its_figures_what_it_shows() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    let figures = all(&html, "figure");
    for figure in &figures {
        let svg = figure.select(&Selector::parse("svg[role=img][aria-labelledby]").unwrap()).next();
        assert!(svg.is_some(), "{}", figure.html());
        let words = text(figure.select(&Selector::parse("figcaption").unwrap()).next().unwrap());
        assert!(words.len() > 40 && words.chars().any(|it| it.is_ascii_digit()), "{words}");
    }
    let words: Vec<String> = figures.iter().map(|figure| text(*figure)).collect();
    let expected = [
        "Highest +0.010 mm, hump at 250 mm, lowest 0.000 mm at 0 mm",
        "allowed at most 0.0075 mm",
        "worst window, In any 250 mm",
        "Eccentricity 0.00977 mm, high at 89\u{b0}",
        "allowed: -0.02 to +0.005 mm",
        "as found: +0.03 mm, free end larger",
        "Departures from the plane of least squares, in mm",
        "1 +0.001 mm, toward the dial; 2 +0.003 mm",
        "3 targets, 3 runs from each side, by ISO 230-2:2014",
        "within U of a limit: cannot be decided",
        "As found and as left",
    ];
    for part in expected {
        assert!(words.iter().any(|words| words.contains(part)), "{part}: {words:#?}");
    }
}

#[test]
fn a_sign_in_a_drawing_has_its_words() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    // Where an axis shows +0.005, the same drawing says what plus means.
    for figure in all(&html, "figure") {
        let marks: Vec<String> =
            figure.select(&Selector::parse("text").unwrap()).map(|it| text(it)).collect();
        if marks.iter().any(|mark| mark.starts_with('+') && mark[1..].parse::<f64>().is_ok()) {
            let said = marks.iter().any(|mark| mark.contains("+ ") || mark.contains("plus"));
            assert!(said, "{marks:?}");
        }
    }
}

#[test]
fn nothing_typed_breaks_out_of_its_place() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    for forbidden in ["script", "b > b", "img", "i", "u", "link", "iframe", "object"] {
        assert!(all(&html, forbidden).is_empty(), "{forbidden}");
    }
    assert_eq!(all(&html, "style").len(), 1);
    assert!(
        !page.contains("http://") && !page.contains("https://") && !page.contains("url(h"),
        "loads nothing"
    );
    assert!(page.contains("Hostile &lt;/style&gt; &lt;img src=x&gt; &amp; &quot;q&quot; مرحبا"), "{page}");
    assert!(text(all(&html, "h1")[0]).contains("<script>alert(1)</script> & \"quotes\" </style> مرحبا 精密"));
    // The running lines of the printed page hold the name of the machine, spelled so that no quote ends it.
    let style = text(all(&html, "style")[0]);
    assert!(style.contains("counter(page)") && style.contains(r"Hostile \3c \2f style\3e"), "{style}");
}

#[test]
fn a_correction_is_struck_out_with_its_reason() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    let struck: Vec<String> = all(&html, "del").into_iter().map(text).collect();
    assert_eq!(struck, ["0.012 mm"]);
    assert!(
        page.contains("<del>0.012 mm</del> 0.010 mm<small>corrected: misread &lt;u&gt;</small>"),
        "{page}"
    );
}

#[test]
fn the_order_is_the_customers_then_the_inspectors() {
    let (page, _) = everything();
    let html = Html::parse_document(page);
    let heads: Vec<String> = all(&html, "h2").into_iter().map(text).collect();
    assert_eq!(
        heads,
        [
            "Verdict",
            "The machine",
            "Scope and conditions",
            "Exceptions, and what was not tested",
            "Tests",
            "What was altered, and what it did",
            "Each test with its readings",
            "Instruments",
            "Procedure and record",
            "Signatures",
        ]
    );
    let row = all(&html, ".tests tr").into_iter().map(text).find(|row| row.contains("Taper")).unwrap();
    assert!(row.contains("+0.03 mm FAILED free end larger"), "{row}");
    assert!(
        row.contains("-0.01 mm passed free end smaller") && row.contains("guarded U (ISO 14253-1:1998)"),
        "{row}"
    );
    let signature = text(*all(&html, "section[aria-labelledby=signatures]").first().unwrap());
    assert!(signature.contains("SHA256:") && signature.contains("ssh-keygen -Y verify"), "{signature}");
}

#[test]
fn the_first_line_says_what_the_record_is_not() {
    let (page, record) = everything();
    let first = |page: &str| text(all(&Html::parse_document(page), "body > header > *")[0]);
    assert!(first(page).starts_with("REHEARSAL"), "{}", first(page));
    // One digit of a reading changed by hand.
    let damaged =
        String::from_utf8(record.to_vec()).unwrap().replacen("\"value\":\"20.03\"", "\"value\":\"20.01\"", 1);
    let (status, page) = reported(damaged.as_bytes());
    assert_eq!(status, 5);
    assert!(first(&page).starts_with("DAMAGED"), "{}", first(&page));
    // Cut off in the middle of its last line.
    let (status, page) = reported(&record[..record.len() - 20]);
    assert_eq!(status, 5);
    assert!(first(&page).starts_with("TORN"), "{}", first(&page));
    assert!(page.contains("REHEARSAL") && page.contains("has not signed"), "{page}");
}

#[test]
fn a_series_is_drawn_against_the_clock_with_its_fit_and_its_last_span() {
    let series = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good/series.bedway");
    let (page, _) = rehearsed("series.bedway", &std::fs::read_to_string(series).unwrap());
    let html = Html::parse_document(&page);
    assert!(html.errors.is_empty(), "{:?}", html.errors);
    let words = all(&html, "figure").into_iter().map(text).collect::<Vec<_>>().join("\n");
    assert!(words.contains("time since the start, in min"), "{words}");
    assert!(words.contains("The fit seems to settle at 74.0 degC"), "{words}");
    assert!(words.contains("steady is at most"), "{words}");
}

fn entered(at: u32, title: &str) -> Event {
    let typed = format!("0.{at:05}");
    let value = typed.trim_end_matches('0').to_owned();
    let entry = read("A", "x", &[&format!("{at} mm")], answer(&typed, Some("mm"), &value));
    Event::Entered(Entry { reason: (at == 7).then(|| title.to_owned()), ..entry })
}

#[test]
fn fifty_thousand_readings_and_a_title_of_five_hundred_letters_stay_readable() {
    let title = "A very long title \u{202e}\u{7}<&> ".repeat(18);
    let events = [opened(&title), Event::StepOpened { step: "A".into(), number: 1, after: Vec::new() }];
    let events = events.into_iter().chain((1..=50_000).map(|at| entered(at, &title)));
    let report = report_of(events);
    let proof = Proof { record: "x.record.jsonl".into(), ..Proof::default() };
    let written = page(&Page { report: &report, proof: &proof, machine: None, texts: &[] });
    assert!(written.len() < 6_000_000, "{}", written.len());
    assert!(!written.contains('\u{202e}') && !written.contains('\u{7}'));
    let html = Html::parse_document(&written);
    assert!(html.errors.is_empty(), "{:?}", html.errors);
    // In its place it is told in short; every entry stands at the end.
    let step = text(all(&html, "#step-A")[0]);
    assert!(step.len() < 1000 && step.contains("50000 entries, least 0.00001"), "{step}");
    let long = text(all(&html, "section[aria-labelledby=long]")[0]);
    assert!(long.contains("0.49999 mm") && long.contains("not read (A very long title"), "{}", &long[..500]);
}

/// The page of a file of the corpus.
pub fn of_corpus(name: &str) -> String {
    let path = format!("{}/tests/corpus/good/{name}.bedway", env!("CARGO_MANIFEST_DIR"));
    rehearsed(&format!("{name}.bedway"), &std::fs::read_to_string(path).unwrap()).0
}

#[test]
fn a_joined_series_shows_what_was_read_again_and_where_it_was_joined() {
    let page = of_corpus("joined");
    let html = Html::parse_document(&page);
    let step = text(all(&html, "#step-A")[0]);
    assert!(
        step.contains("Read again behind the break, to join both parts: 150 mm 0.015 mm 200 mm"),
        "{step}"
    );
    assert!(step.contains("0.016 mm counts as 0.0055 mm"), "{step}");
    let drawn = all(&html, "#step-A figure").into_iter().map(text).collect::<String>();
    assert!(drawn.contains("joined through 150 mm and 200 mm, read again"), "{drawn}");
}

#[test]
fn an_earlier_value_that_a_rule_rests_on_is_shown_with_its_rule() {
    let page = of_corpus("previous");
    assert!(page.contains("From the record before: A.shake 1.1 mm/s"), "{page}");
}

#[test]
fn what_is_required_is_told_in_the_words_of_the_questions() {
    let page = of_corpus("require-any-of");
    assert!(page.contains("must be from 6 /min to 12 /min"), "{page}");
}
