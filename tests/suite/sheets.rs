//! Blank forms: everything that is asked has its box, everything that warns stands on the page, and nothing runs over it.

use bedway::cli::load::{self, Loaded};
use bedway::report::sheet::{Sheet, page, render};
use bedway::walk::blank;

use crate::walking::{program, transcript};

fn sheet(loaded: &Loaded, facts: &[(&str, &str)], only: &[&str]) -> Sheet {
    let program = program(loaded);
    let fact = |(name, typed): &(&str, &str)| {
        let found = program.facts.iter().find(|fact| program.values[fact.0].name == *name);
        (*found.unwrap_or_else(|| panic!("no fact {name}")), (*typed).to_owned())
    };
    let facts: Vec<_> = facts.iter().map(fact).collect();
    let form = blank::form(&program, &loaded.source, &facts).unwrap_or_else(|refusal| panic!("{refusal:?}"));
    Sheet {
        form,
        file: "file.bedway".to_owned(),
        digest: loaded.frozen.sha256.clone(),
        only: only.iter().map(|step| (*step).to_owned()).collect(),
    }
}

fn of(name: &str) -> Loaded {
    load::check(name, transcript(name).as_bytes())
}

fn library() -> Vec<(String, Loaded)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|it| it == "bedway"));
    files.sort();
    let load = |path: std::path::PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        (name, load::load(&path).unwrap())
    };
    // A kit is no procedure: nothing in it is read.
    files.into_iter().map(load).filter(|(_, loaded)| loaded.kit.is_none()).collect()
}

/// On one line.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn too_wide(text: &str) -> Option<&str> {
    text.split(['\u{c}', '\n']).find(|line| bedway::report::width_of(line) > 80)
}

fn snapshot(name: &str, loaded: &Loaded, sheet: &Sheet) {
    let text = render(sheet).replace(&loaded.frozen.sha256[..8], "<digest>");
    insta::with_settings!({ prepend_module_to_snapshot => false, snapshot_path => "../snapshots" }, {
        insta::assert_snapshot!(format!("sheet-{name}"), text);
    });
}

#[test]
fn a_sheet_has_a_grid_a_witness_a_choice_and_a_list_of_defects() {
    let loaded = of("drill-press.bedway");
    snapshot("drill-press", &loaded, &sheet(&loaded, &[("reach", "150"), ("kind", "belt")], &[]));
}

#[test]
fn a_sheet_of_a_series_has_a_row_each_time_it_is_due() {
    let loaded = of("run-in.bedway");
    snapshot("run-in", &loaded, &sheet(&loaded, &[], &[]));
}

const OPEN: &str = r#"language 1
procedure "Stations that hang on facts"
decide simple
fact class "Class" one of fine, plain
fact reach "Length" in mm from 100 to 300
instrument dial "Dial" 
  resolution 0.001 mm
table most "Most"
  when class is fine  then 0.010 mm
  when class is plain then 0.020 mm
section one "One"
step A "Along"
  setup "Run it over {reach}."
  only when class is fine
  read x in mm using dial
    over  place 0 mm up to reach by 50 mm
    plus  "high"
    minus "low"
    ask   "At {place}"
  let rise "Rise" = gain(x over place)
  tolerance rise within most
step B "Ends"
  keeps A "Leave it"
  read y in mm using dial
    over  place 0 mm, reach
    plus  "high"
    minus "low"
  let rise "Rise" = gain(y over place)
  tolerance rise from 0 mm to most per 300 mm over reach
"#;

#[test]
fn what_hangs_on_facts_keeps_its_words_until_they_are_given() {
    let loaded = load::check("open.bedway", OPEN.as_bytes());
    let open = render(&sheet(&loaded, &[], &[]));
    for words in [
        "Run it over [reach].",
        "Only when: [class] is fine",
        "place: 0 mm up to [reach] by 50 mm",
        "0 mm         [reach]",
        "Limit. Rise: within table 1\n",
        "Table 1: Most",
        "[class] is fine, 0.010 mm",
    ] {
        assert!(open.contains(words), "{words}:\n{open}");
    }
    // At most 300 mm: seven stations may have to be written down.
    assert_eq!(open.matches("  ________________________  ___________").count(), 7);

    let given = flat(&render(&sheet(&loaded, &[("class", "fine"), ("reach", "6 inch")], &[])));
    for words in [
        "Run it over 152.4 mm.",
        "150 mm",
        "within 0.01 mm (here from -0.01 mm to 0.01 mm)",
        "(here from 0 mm to 0.00508 mm)",
    ] {
        assert!(given.contains(words), "{words}:\n{given}");
    }
    assert!(!given.contains("[reach]."), "{given}");

    let plain = render(&sheet(&loaded, &[("class", "plain")], &[]));
    assert!(plain.contains("Not taken: only when \"Class\" is fine."), "{plain}");
    assert!(plain.contains("A Along: only when \"Class\" is fine"), "{plain}");
}

#[test]
fn a_fact_that_the_procedure_is_not_for_is_refused() {
    let loaded = load::check("open.bedway", OPEN.as_bytes());
    let program = program(&loaded);
    let reach = program.facts[1];
    let refusal = blank::form(&program, &loaded.source, &[(reach, "400".to_owned())]).unwrap_err();
    assert!(refusal.message.contains("not for that machine"), "{refusal:?}");
}

#[test]
fn set_ups_that_are_kept_stand_together_and_cost_less() {
    let loaded = load::check("open.bedway", OPEN.as_bytes());
    let visit = sheet(&loaded, &[("class", "fine"), ("reach", "300")], &[]).form.visit;
    let steps: Vec<_> = visit.set_ups.iter().map(|it| it.steps.join(" ")).collect();
    assert_eq!(steps, ["A B"]);
    // 7 and 2 readings; a new set-up with prose, and one without.
    assert_eq!(visit.effort.readings, 9);
    assert_eq!(visit.effort.total(), 9 * 20 + 600);
}

#[test]
fn only_the_steps_that_are_named_are_printed() {
    let loaded = of("drill-press.bedway");
    let text = render(&sheet(&loaded, &[], &["R2"]));
    assert!(text.contains("R2  Bore of the spindle") && !text.contains("R1  Table"), "{text}");
    assert!(!text.contains("Before the visit"), "{text}");
}

/// Whatever the library asks, warns of or stops for stands on paper, on pages that a printer takes.
#[test]
fn every_procedure_of_the_library_prints_whole() {
    for (name, loaded) in library() {
        let sheet = sheet(&loaded, &[], &[]);
        let text = render(&sheet);
        for page in text.split('\u{c}') {
            assert!(page.lines().count() <= 60, "{name}: a page of {} lines", page.lines().count());
        }
        let wide = too_wide(&text);
        assert_eq!(wide, None, "{name}");
        let flat_text = flat(&text);
        let has = |words: &str| {
            assert!(flat_text.contains(&flat(words)), "{name}: \"{words}\" is not on the sheet");
        };
        for step in &sheet.form.steps {
            has(&step.title);
            step.cautions.iter().chain(&step.setup).chain(&step.confirms).for_each(|words| has(words));
            step.basis.iter().chain(step.remedies.iter().map(|(_, text)| text)).for_each(|words| has(words));
            step.stops.iter().for_each(|(when, what)| has(&format!("when {when}: {what}")));
            for item in &step.items {
                if let Some((plus, minus)) = &item.sense {
                    has(&format!("plus: {plus}; minus: {minus}"));
                }
                let stations = item.axes.iter().flat_map(|axis| &axis.stations);
                stations.for_each(|station| has(&station.words()));
            }
        }
        // Words for people: no name of the file with its strokes, no formula.
        let is_raw = |word: &&str| {
            let letters: Vec<char> = word.chars().collect();
            let name = |it: &[char]| it[0].is_lowercase() && it[1] == '_' && it[2].is_lowercase();
            letters.windows(3).any(name) || letters.windows(2).any(|it| it[0].is_lowercase() && it[1] == '(')
        };
        assert_eq!(flat_text.split(' ').find(is_raw), None, "{name}");
        // On a clipboard several steps lie on a page; what is read and not filled in stands behind the last.
        let with_steps = text.split("\u{c}").filter(|page| page.contains("\nRead ____")).count();
        let steps = sheet.form.steps.len();
        assert!(steps < 10 || with_steps * 4 <= steps * 3, "{name}: {with_steps} pages for {steps} steps");
        let html = page(&sheet);
        assert!(html.contains("<main>") && html.ends_with("</html>"), "{name}");
        assert!(!html.contains("<script") && !html.contains("http"), "{name}: the page is whole in itself");
    }
}

const ODD: &str = r#"language 1
procedure "旋盤の水準 <b>\"x\"</b> & שלום עולם"
revision "1\"}"
decide simple
fact serial "番号 <i>" text
section one "مقدمة"
step A "水準器を往復台の上に置き、前後左右の傾きを読み取って記録するための試験、主軸台側と心押台側の両方で行うこと"
  setup "前 <script>alert(1)</script>"
  read x in mm/m
    over  place 前側, 後側
    plus  "前が高い"
    minus "前が低い"
    ask   "傾き {place}"
  tolerance every x within 0.02 mm/m
"#;

#[test]
fn other_scripts_and_angle_brackets_come_through_whole_and_harmless() {
    let text = ODD.replace("前側, 後側", "head, tail");
    let loaded = load::check("odd.bedway", text.as_bytes());
    let sheet = sheet(&loaded, &[], &[]);
    let text = render(&sheet);
    assert_eq!(too_wide(&text), None);
    assert!(text.contains("前が高い"), "{text}");
    let html = page(&sheet);
    assert!(!html.contains("<script") && !html.contains("<i>") && !html.contains("<b>\""), "{html}");
    assert!(html.contains("&lt;script&gt;alert(1)&lt;/script&gt;"), "{html}");
    assert!(html.contains("<h1 dir=\"auto\">旋盤の水準"), "{html}");
}

#[test]
fn a_title_of_five_hundred_letters_breaks_and_is_cut_only_in_the_head_of_the_page() {
    let title = "long ".repeat(100);
    let text = ODD.replace("旋盤の水準", &title).replace("前側, 後側", "head, tail");
    let loaded = load::check("odd.bedway", text.as_bytes());
    let text = render(&sheet(&loaded, &[], &[]));
    assert_eq!(too_wide(&text), None);
}
