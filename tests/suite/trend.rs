//! A machine over years: what came back from each visit, what must not be compared, what is left out and why.

use bedway::cli::clock::TestClock;
use bedway::cli::load;
use bedway::record::{Digest, Line, MemoryStore};
use bedway::report::trend::KINDS;
use bedway::walk::event::Event;

use crate::commands::Folder;
use crate::looked_over::faults;
use crate::walking::{enter, lines, walk_at};

const FIRST: &str = r#"language  1
procedure "Yearly check"
revision  "1"
decide    simple
fact serial "Serial number" text
instrument dial "Dial gauge"
  resolution 0.001 mm
section one "One"
step R1 "Table square to the spindle"
  read sweep in mm using dial
    over    place  front, back
    plus    "table high"
    minus   "table low"
  let nod "Nod" = sweep[front] - sweep[back]
    plus    "front high"
    minus   "front low"
  tolerance nod from -0.05 mm to 0.10 mm
  adjustment shim "Shim" in mm
    plus    "shim added"
    minus   "shim taken out"
    predicts nod by shim
  remedy when nod outside
    "Shim."
    advise  shim = aim(nod) - nod
"#;

/// A machine's records in a folder; the days are counted back from 2026-03-02.
struct Shelf(Folder);

impl Shelf {
    fn new() -> Self {
        let shelf = Self(Folder::new());
        std::fs::create_dir(shelf.0.path("shelf")).unwrap();
        shelf
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.0.path(&format!("shelf/{name}.record.jsonl")), bytes).unwrap();
    }

    /// Machine M1, measured with DG-1: the dial at the front, 0 at the back.
    fn year(&self, ago: i64, front: &str) {
        self.put(
            &format!("{ago}"),
            &signed(FIRST, ago, &format!("Ann Example\nM1\nDG-1\n{front}\n0\nsign\n")),
        );
    }

    fn run(&self, more: &[&str]) -> (i32, String) {
        let (status, said) = self.0.run(&[&["trend", "shelf"], more].concat());
        (status, said.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    /// Each row of the table, as heading and cell.
    fn table(&self) -> Vec<Vec<(String, String)>> {
        let (status, said) = self.run(&["--csv", "out.csv", "--serial", "M1"]);
        assert_eq!(status, 0, "{said}");
        let mut reader = csv::Reader::from_path(self.0.path("out.csv")).unwrap();
        let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let row = |row: csv::StringRecord| heads.iter().cloned().zip(row.iter().map(str::to_owned)).collect();
        reader.records().map(|it| row(it.unwrap())).collect()
    }
}

fn cell<'r>(row: &'r [(String, String)], head: &str) -> &'r str {
    &row.iter().find(|(name, _)| name == head).unwrap_or_else(|| panic!("no column {head}")).1
}

fn unsigned(text: &str, years_ago: i64, answers: &str) -> MemoryStore {
    let (store, clock) = (MemoryStore::default(), TestClock::new());
    clock.advance(-years_ago * 31_557_600);
    let loaded = load::check("check.bedway", text.as_bytes());
    assert!(loaded.program.is_some(), "{:#?}", loaded.problems);
    let walked = walk_at(&loaded, store.clone(), answers, &clock);
    assert!(walked.ending.is_ok(), "{}", walked.screen);
    store
}

/// The trend says that it does not check signatures, so that a line that only looks like one will do here.
fn signed(text: &str, years_ago: i64, answers: &str) -> Vec<u8> {
    let store = unsigned(text, years_ago, answers);
    let mut bytes = store.bytes();
    let last = lines(&store).pop().unwrap();
    let before = bytes.split_inclusive(|it| *it == b'\n').next_back().map(Digest::of).unwrap();
    let event = Event::Signed { bytes: bytes.len() as u64, signature: "none".to_owned() };
    bytes.extend(Line::seal(last.seq + 1, &last.time, "operator", event, before).unwrap().1);
    bytes
}

#[test]
fn what_was_adjusted_is_taken_out_of_the_drift() {
    let shelf = Shelf::new();
    shelf.year(3, "0.00");
    shelf.year(2, "-0.02");
    // Found at -0.04, shimmed up to +0.05.
    let shimmed = "Ann Example\nM1\nDG-1\n-0.04\n0\nadjust R1.shim = 0.09\nagain R1\n0.05\n0\nsign\n";
    shelf.put("1", &signed(FIRST, 1, shimmed));
    shelf.year(0, "0.03");
    let (status, said) = shelf.run(&[]);
    assert_eq!(status, 0, "{said}");
    // Down by 0.02 mm each year, whatever the shim did; a line through all values as found would rise.
    assert!(said.contains("It moved 0.02 mm a year toward \"front low\""), "{said}");
    assert!(said.contains("4 visits, adjustments taken out"), "{said}");
    // JCGM 100:2008, table G.2, from memory: t for 95.45 % and 2 degrees of freedom.
    assert!(said.contains("k 4.53 for 95.45 %, degrees of freedom 2"), "{said}");
    let values: Vec<_> = shelf.table().iter().map(|row| cell(row, "value").to_owned()).collect();
    assert_eq!(values, ["0", "0", "-0.02", "-0.02", "-0.04", "0.05", "0.03", "0.03"]);
}

#[test]
fn scatter_is_not_called_drift() {
    let shelf = Shelf::new();
    for (ago, front) in [(4, "0.01"), (3, "-0.01"), (2, "0.01"), (1, "-0.02"), (0, "0.01")] {
        shelf.year(ago, front);
    }
    assert!(shelf.run(&[]).1.contains("No drift stands out of the scatter"));
}

#[test]
fn two_visits_make_no_drift() {
    let shelf = Shelf::new();
    shelf.year(1, "0.01");
    shelf.year(0, "0.02");
    assert!(shelf.run(&[]).1.contains("A drift is worked out from three visits on."));
}

#[test]
fn another_revision_another_instrument_another_unit_and_sign_are_told() {
    let shelf = Shelf::new();
    shelf.year(3, "0.04");
    // The same place read the other way round, in micrometres, and with a tighter limit.
    let second = FIRST
        .replace("\"1\"", "\"2\"")
        .replace("sweep[front] - sweep[back]", "sweep[back] - sweep[front] in um")
        .replace("plus    \"front high\"", "plus    \"front low\"")
        .replace("minus   \"front low\"", "minus   \"front high\"")
        .replace("from -0.05 mm to 0.10 mm", "from -80 um to 50 um")
        .replace("nod by shim", "nod by -shim")
        .replace("aim(nod) - nod", "nod - aim(nod)");
    shelf.put("2", &signed(&second, 2, "Ann Example\nM1\nDG-1\n0.03\n0\nsign\n"));
    shelf.put("1", &signed(&second, 1, "Ann Example\nM1\nDG-2\n0.02\n0\nsign\n"));
    let found: Vec<_> = shelf.table().into_iter().step_by(2).collect();
    let column = |head: &str| found.iter().map(|row| cell(row, head).to_owned()).collect::<Vec<_>>();
    assert_eq!(column("value"), ["-40", "-30", "-20"]);
    assert_eq!(column("unit"), ["um", "um", "um"]);
    // Of the first the limits change places with their signs.
    assert_eq!(
        (column("lower"), column("upper")),
        (vec!["-100".into(), "-80".into(), "-80".into()], vec!["50".into(), "50".into(), "50".into()],)
    );
    let remarks =
        ["its sign was the other way round then", "procedure changed, now revision 2", "dial is now DG-2"];
    assert_eq!(column("remarks"), remarks);
    let (_, said) = shelf.run(&[]);
    assert!(said.contains("toward \"front high\"") || said.contains("toward \"front low\""), "{said}");
    assert!(said.contains("The procedure or an instrument changed in between"), "{said}");
}

/// A limit stated per length makes figures of different lengths comparable, and nothing else does: a bar half as long shows
/// half the lean.
#[test]
fn what_was_read_over_another_length_is_brought_to_one() {
    let text = FIRST
        .replace("text\n", "text\nfact reach \"Length of the bar\" in mm from 50 to 300\n")
        .replace("from -0.05 mm to 0.10 mm", "within 0.03 mm per 300 mm over reach floor 0.005 mm");
    let shelf = Shelf::new();
    for (ago, reach, front) in
        [(3, "300", "0.010"), (2, "300", "0.012"), (1, "150", "0.007"), (0, "60", "0.0032")]
    {
        shelf.put(
            &ago.to_string(),
            &signed(&text, ago, &format!("Ann Example\nM1\n{reach}\nDG-1\n{front}\n0\nsign\n")),
        );
    }
    let (_, said) = shelf.run(&[]);
    assert!(said.contains("Nod, each brought to 300 mm, in mm"), "{said}");
    assert!(said.contains("It moved 0.002 mm a year toward \"front high\""), "{said}");
    let cells =
        |head| shelf.table().iter().step_by(2).map(|row| cell(row, head).to_owned()).collect::<Vec<_>>();
    assert_eq!(cells("value"), ["0.01", "0.012", "0.014", "0.016"]);
    // 0.006 mm over 60 mm: the floor is not reached yet.
    assert_eq!(cells("upper"), ["0.03"; 4]);
}

#[test]
fn an_instrument_that_was_exchanged_within_a_walk_is_told() {
    let shelf = Shelf::new();
    shelf.year(2, "0.02");
    let exchanged =
        "Ann Example\nM1\nDG-1\n-0.04\n0\nadjust R1.shim = 0.09\nagain R1\nusing DG-7\n0.05\n0\nsign\n";
    shelf.put("1", &signed(FIRST, 1, exchanged));
    shelf.put("0", &signed(FIRST, 0, "Ann Example\nM1\nDG-7\n0.05\n0\nsign\n"));
    let found: Vec<_> = shelf.table().into_iter().step_by(2).collect();
    let remarks: Vec<_> = found.iter().map(|row| cell(row, "remarks").to_owned()).collect();
    assert_eq!(remarks, ["", "dial was DG-7 when it was left", ""]);
}

#[test]
fn a_sign_that_meant_something_else_is_shown_and_not_compared() {
    let shelf = Shelf::new();
    let other = FIRST.replace("\"front high\"", "\"left high\"").replace("\"front low\"", "\"left low\"");
    shelf.put("3", &signed(&other, 3, "Ann Example\nM1\nDG-1\n0.09\n0\nsign\n"));
    for (ago, front) in [(2, "0.01"), (1, "0.02")] {
        shelf.year(ago, front);
    }
    let (_, said) = shelf.run(&[]);
    assert!(said.contains("not compared: its sign meant something else"), "{said}");
    assert!(said.contains("from three visits on"), "two are compared, not three: {said}");
}

#[test]
fn what_proves_nothing_is_left_out_and_named() {
    let shelf = Shelf::new();
    shelf.year(1, "0.01");
    let kept = signed(FIRST, 0, "Ann Example\nM1\nDG-1\n0.04\n0\nsign\n");
    shelf.put("kept", &kept);
    shelf.put("copy", &kept);
    let text = String::from_utf8(kept).unwrap();
    shelf.put("forged", text.replace("0.04", "0.01").as_bytes());
    shelf.put("torn", &text.as_bytes()[..text.len() - 9]);
    shelf.put("empty", b"");
    shelf.put("nobody", &unsigned(FIRST, 2, "Ann Example\nM1\nDG-1\n0.09\n0\nsign\n").bytes());
    let bare = FIRST.replace("fact serial", "fact place");
    shelf.put("nameless", &signed(&bare, 2, "Ann Example\nhall\nDG-1\n0\n0\nsign\n"));
    let (status, rehearsed) = shelf.0.run(&["rehearse", "drill.bedway"]);
    assert_eq!(status, 0, "{rehearsed}");
    let (_, said) = shelf.0.run(&["trend", "shelf", "rehearsal"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for (file, why) in [
        ("kept", "the same walk as shelf/copy.record.jsonl"),
        ("forged", "DAMAGED: line"),
        ("torn", "DAMAGED: its last line is torn"),
        ("empty", "DAMAGED: there is no whole line in it"),
        ("nobody", "not signed; --unsigned takes it in, marked"),
        ("nameless", "it has no fact serial, so its machine is not known"),
    ] {
        assert!(said.contains(&format!("- shelf/{file}.record.jsonl: {why}")), "{file}: {said}");
    }
    assert!(said.contains("a rehearsal: nothing was measured"), "{said}");
    assert_eq!(said.matches("passed").count(), 2, "{said}");
    let (_, said) = shelf.run(&["--unsigned"]);
    assert!(said.contains("accepted, NOT SIGNED"), "{said}");
    assert!(said.starts_with("*** NOT SIGNED: 1 of"), "the first line says so too: {said}");
}

#[test]
fn of_several_machines_one_must_be_named() {
    let shelf = Shelf::new();
    shelf.year(1, "0.01");
    shelf.put("other", &signed(FIRST, 0, "Ann Example\nM2\nDG-1\n0.04\n0\nsign\n"));
    let (status, said) = shelf.run(&[]);
    assert_eq!(status, 0);
    assert!(said.contains("--serial NUMBER") && said.contains("M1 1") && said.contains("M2 1"), "{said}");
    assert_eq!(shelf.run(&["--html", "out.html"]).0, 2);
    assert_eq!(shelf.run(&["--serial", "M3"]).0, 2);
    let (_, said) = shelf.run(&["--serial", " m2"]);
    assert!(said.contains("+0.04") && !said.contains("+0.01"), "{said}");
}

#[test]
fn the_page_draws_what_has_more_than_one_visit() {
    let shelf = Shelf::new();
    let charts = || {
        assert_eq!(shelf.run(&["--html", "out.html"]).0, 0);
        let page = std::fs::read_to_string(shelf.0.path("out.html")).unwrap();
        assert_eq!(faults(&page), Vec::<String>::new());
        page.matches("class=\"plot-frame\"").count()
    };
    shelf.year(1, "0.01");
    assert_eq!(charts(), 0);
    shelf.year(0, "0.02");
    assert_eq!(charts(), 1);
}

#[test]
fn a_serial_that_was_put_right_counts_as_put_right() {
    let shelf = Shelf::new();
    let answers = "Ann Example\nM9\nDG-1\n0.01\n0\ncorrect serial = M1 \"misread\"\nsign\n";
    shelf.put("0", &signed(FIRST, 0, answers));
    let (status, said) = shelf.run(&["--serial", "M1"]);
    assert!(status == 0 && said.contains("Machine M1 over time"), "{said}");
    assert_eq!(shelf.run(&["--serial", "M9"]).0, 2);
}

#[test]
fn an_instrument_whose_number_was_put_right_is_no_other_one() {
    let shelf = Shelf::new();
    shelf.year(1, "0.02");
    let read = "Ann Example\nM1\nDG-7\n0.05\n0\n";
    shelf.put("0", &signed(FIRST, 0, &format!("{read}correct instrument 1 = DG-1 because misread\nsign\n")));
    let remarks = |shelf: &Shelf| -> Vec<String> {
        shelf.table().into_iter().step_by(2).map(|row| cell(&row, "remarks").to_owned()).collect()
    };
    assert_eq!(remarks(&shelf), ["", ""]);
    shelf.put("0", &signed(FIRST, 0, &format!("{read}sign\n")));
    assert_ne!(remarks(&shelf), ["", ""], "another one is told");
}

#[test]
fn what_was_typed_in_from_paper_stands_at_the_day_of_its_sheet() {
    let shelf = Shelf::new();
    let loaded = load::check("check.bedway", FIRST.as_bytes());
    let store = MemoryStore::default();
    let sheet = "Ann Example\nM1\n2019-05-04 09:40, Ann Example\nDG-1\n0.01\n0\nsign\n";
    assert!(enter(&loaded, store.clone(), sheet).ending.is_ok());
    shelf.put("paper", &store.bytes());
    shelf.year(1, "0.02");
    let (_, said) = shelf.run(&["--unsigned"]);
    assert_eq!(said.matches("2019-05-04").count(), 2, "{said}");
    assert!(said.find("2019-05-04") < said.find("2025-03-02"), "the oldest first: {said}");
}

/// A kind that was renamed would be looked over without a word.
#[test]
fn the_kinds_that_are_looked_for_are_kinds_of_entries() {
    let known = serde_json::from_str::<Event>(r#"{"event":"none"}"#).unwrap_err().to_string();
    for kind in KINDS {
        assert!(known.contains(&format!("`{kind}`")), "{kind}: {known}");
    }
}

#[test]
fn what_was_added_after_the_signing_stands_with_the_visit_and_its_figures() {
    let shelf = Shelf::new();
    shelf.year(1, "0.01");
    shelf.year(0, "0.02");
    let amend = ["amend", "shelf/1.record.jsonl", "The bar was found bent", "--as", "Ann Example, operator"];
    let (status, said) = shelf.0.run(&amend);
    assert_eq!(status, 0, "{said}");
    let (_, said) = shelf.run(&[]);
    assert!(said.contains("Added after the signing") && said.contains("The bar was found bent"), "{said}");
    assert_eq!(shelf.run(&["--html", "out.html"]).0, 0);
    let page = std::fs::read_to_string(shelf.0.path("out.html")).unwrap();
    assert!(page.contains("The bar was found bent"), "{page}");
    assert_eq!(faults(&page), Vec::<String>::new());
    let remarks: Vec<bool> =
        shelf.table().iter().map(|row| cell(row, "remarks").contains("added to after")).collect();
    assert_eq!(remarks, [true, true, false, false]);
}
