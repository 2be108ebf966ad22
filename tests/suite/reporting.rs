//! Reports as a person or a script asks for them: forms, files, exit status.

use bedway::record::{Digest, Line};
use bedway::walk::event::Event;

use crate::commands::Folder;
use crate::exports::{read_back, valid};

const FORMS: [&str; 4] = ["--text", "--markdown", "--csv", "--json"];

#[test]
fn a_report_comes_in_four_forms_on_the_screen_or_in_a_file() {
    let folder = Folder::new();
    let record = folder.signed();
    let before = std::fs::read(folder.path(record)).unwrap();
    for form in FORMS {
        let (status, screen) = folder.run(&["report", record, form]);
        assert_eq!(status, 0, "{form}: {screen}");
        let (status, said) = folder.run(&["report", record, form, "--out", "report.out"]);
        assert_eq!((status, said.as_str()), (0, ""));
        assert_eq!(std::fs::read_to_string(folder.path("report.out")).unwrap(), screen, "{form}");
    }
    let (_, schema) = folder.run(&["report", "--json-schema"]);
    let (_, json) = folder.run(&["report", record, "--json"]);
    valid(&schema, &json);
    assert!(
        read_back(&folder.run(&["report", record, "--csv"]).1).iter().any(|row| row["kind"] == "reading")
    );
    assert_eq!(folder.run(&["report", record, "--csv", "--json"]).0, 2, "one form at a time");
    assert_eq!(folder.run(&["report"]).0, 2);
    let (status, said) = folder.run(&["report", record, "--out", record]);
    assert!(status == 2 && said.contains("ever written over"), "{said}");
    assert_eq!(folder.run(&["report", record, "--out", "no/such/folder/x"]).0, 4);
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), before, "a report only reads");
}

#[test]
fn a_damaged_or_unsigned_record_says_so_in_the_first_line_of_each_form() {
    let folder = Folder::new();
    let record = folder.walked();
    for form in FORMS {
        let (status, said) = folder.run(&["report", record, form]);
        assert!(status == 0 && said.lines().next().unwrap().contains("NOT SIGNED"), "{form}: {said}");
    }
    let text = std::fs::read_to_string(folder.path(record)).unwrap();
    std::fs::write(folder.path("spoilt.record.jsonl"), text.replacen("Ann Example", "Eve Example", 1))
        .unwrap();
    let (status, said) = folder.run(&["report", "spoilt.record.jsonl", "--json"]);
    assert!(status == 5 && said.lines().next().unwrap().contains("DAMAGED"), "{said}");
    for arguments in [
        &["compare", "spoilt.record.jsonl", record][..],
        &["judge", "spoilt.record.jsonl", "--under", "drill.bedway"],
    ] {
        let (status, said) = folder.run(arguments);
        assert!(status == 5 && said.lines().next().unwrap().contains("DAMAGED"), "{said}");
    }
    let (_, said) = folder.run(&["judge", record, "--under", "drill.bedway"]);
    assert!(said.starts_with("*** NOT THE SIGNED VERDICT; NOT SIGNED:"), "{said}");
}

#[test]
fn what_was_added_after_the_signing_is_told_where_its_figures_are_used() {
    let folder = Folder::new();
    let record = folder.signed();
    let as_operator = "Ann Example, operator";
    let (status, said) = folder.run(&["amend", record, "The bar was found bent", "--as", as_operator]);
    assert_eq!(status, 0, "{said}");
    std::fs::copy(folder.path(record), folder.path("later.record.jsonl")).unwrap();
    for arguments in
        [&["compare", record, "later.record.jsonl"][..], &["judge", record, "--under", "drill.bedway"]]
    {
        for form in FORMS {
            let (status, said) = folder.run(&[arguments, &[form]].concat());
            let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
            let at = said.find("ADDED AFTER THE SIGNING");
            assert!(status == 0 && at.is_some_and(|at| at < 300), "{form}: {said}");
            assert!(said.contains("The bar was found bent"), "{form}: {said}");
        }
    }
}

/// Whoever adds a line behind the last signature, with sums that fit, has signed nothing.
#[test]
fn what_nobody_signed_is_said_in_the_first_line_and_the_commands_stand_in_each_page() {
    let folder = Folder::new();
    let record = folder.signed();
    let mut bytes = std::fs::read(folder.path(record)).unwrap();
    for form in ["--text", "--markdown"] {
        let (_, said) = folder.run(&["report", record, form]);
        assert!(
            said.contains("ssh-keygen -Y verify -f allowed_signers") && said.contains("sha256sum"),
            "{said}"
        );
    }
    let lines: Vec<&[u8]> = bytes.split_inclusive(|byte| *byte == b'\n').collect();
    let (count, before) = (lines.len() as u64, Digest::of(lines.last().unwrap()));
    let event = Event::Amended { text: "all limits halved".into(), name: None };
    bytes.extend(Line::seal(count + 1, "2026-03-03T09:00:00+00:00", "operator", event, before).unwrap().1);
    std::fs::write(folder.path("added.record.jsonl"), bytes).unwrap();
    for form in FORMS {
        let (status, said) = folder.run(&["report", "added.record.jsonl", form]);
        let first = said.lines().next().unwrap();
        assert!(
            status == 5 && first.contains("NOT SIGNED: what was added after the signing"),
            "{form}: {said}"
        );
    }
}

#[test]
fn another_revision_is_tried_on_a_record_and_what_was_signed_stands() {
    let folder = Folder::new();
    let record = folder.signed();
    let before = std::fs::read(folder.path(record)).unwrap();
    let procedure = std::fs::read_to_string(folder.path("drill.bedway")).unwrap();
    let (status, said) = folder.run(&["judge", record, "--under", "drill.bedway"]);
    assert_eq!(status, 0, "{said}");
    assert!(said.starts_with("*** NOT THE SIGNED VERDICT"), "{said}");
    // The examples of the file prove its own limits: without them, and with a limit that nothing meets.
    let head = procedure.split("\nexample ").next().unwrap();
    let tighter = head.lines().map(|line| match line.trim_start().starts_with("tolerance shake") {
        true => "  tolerance shake at most 0.000001 mm".to_owned(),
        false => line.to_owned(),
    });
    let tighter = tighter.collect::<Vec<_>>().join("\n") + "\n";
    std::fs::write(folder.path("tighter.bedway"), tighter).unwrap();
    let (status, said) = folder.run(&["judge", record, "--under", "tighter.bedway"]);
    assert_eq!(status, 1, "{said}");
    let (_, schema) = folder.run(&["judge", "--json-schema"]);
    let (_, json) = folder.run(&["judge", record, "--under", "tighter.bedway", "--json"]);
    valid(&schema, &json);
    let turned = read_back(&folder.run(&["judge", record, "--under", "tighter.bedway", "--csv"]).1);
    assert!(turned.iter().any(|row| row["turns"] == "yes"), "{turned:?}");
    std::fs::write(folder.path("bad.bedway"), "language 1\n").unwrap();
    assert_eq!(folder.run(&["judge", record, "--under", "bad.bedway"]).0, 3);
    assert_eq!(folder.run(&["judge", record]).0, 2);
    assert_eq!(std::fs::read(folder.path(record)).unwrap(), before);
}

#[test]
fn a_record_held_against_itself_has_changed_in_nothing_but_what_its_own_work_did() {
    let folder = Folder::new();
    let record = folder.signed();
    let (status, said) = folder.run(&["compare", record, record, "--csv"]);
    assert_eq!(status, 0, "{said}");
    for row in read_back(&said) {
        let by_work = !row["work kind"].is_empty();
        assert!(row["between kind"] == "the same" || by_work, "{row:?}");
    }
    // As a page for people: valid, and with the same first line.
    assert_eq!(folder.run(&["compare", record, record, "--html", "out.html"]).0, 0);
    let page = std::fs::read_to_string(folder.path("out.html")).unwrap();
    let html = scraper::Html::parse_document(&page);
    assert!(html.errors.is_empty(), "{:?}", html.errors);
    assert!(page.contains("Two records compared</h1>"), "{page}");
    let (_, refused) = folder.run(&["compare", record, record, "--html", "out.html", "--csv"]);
    assert!(refused.contains("cannot be used with"), "{refused}");
    let (status, page) = folder.run(&["compare", record, record]);
    assert!(status == 0 && page.contains("Two records compared"), "{page}");
}

/// What does not follow from the entries proves nothing about the steps: "None" under the exceptions would be a pass.
#[test]
fn of_a_walk_that_cannot_be_reckoned_again_the_report_says_what_is_not_known() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(folder.path("drill.bedway")).unwrap();
    let text = text.replace("at the radius of the sweep.", "at {reach}.");
    std::fs::write(folder.path("drill.bedway"), text).unwrap();
    let record = folder.walked();
    let (_, sound) = folder.run(&["report", record]);
    assert!(sound.contains("its tip at 150 mm.") && !sound.contains("not known"), "{sound}");

    let lines = bedway::record::read(&std::fs::read(folder.path(record)).unwrap()).unwrap().lines;
    let (mut bytes, mut before) = (Vec::new(), Digest::ZERO);
    for line in lines.into_iter().take_while(|line| !matches!(line.event, Event::Closed { .. })) {
        let mut event = line.event;
        if let Event::Judged(judged) = &mut event {
            judged.state = "passed".into();
        }
        let (_, sealed) = Line::seal(line.seq, &line.time, &line.who, event, before).unwrap();
        before = Digest::of(&sealed);
        bytes.extend(sealed);
    }
    std::fs::write(folder.path("forged.record.jsonl"), &bytes).unwrap();
    let torn = String::from_utf8(bytes).unwrap().replacen("Ann Example", "Eve Example", 1);
    std::fs::write(folder.path("spoilt.record.jsonl"), torn).unwrap();
    for (record, why) in [
        ("forged.record.jsonl", "is not known: the walk could not be reckoned again"),
        ("spoilt.record.jsonl", "is not known: the record is damaged"),
    ] {
        assert_eq!(folder.run(&["report", record, "--html", "page.html"]).0, 5);
        let page = std::fs::read_to_string(folder.path("page.html")).unwrap();
        let forms = ["--text", "--markdown", "--json"].map(|form| folder.run(&["report", record, form]).1);
        for said in forms.iter().chain([&page]) {
            let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains(why), "{record}: {said}");
        }
    }
    let (_, forged) = folder.run(&["report", "forged.record.jsonl"]);
    let words = forged.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("its tip at (not known). Turn the spindle by hand."), "{forged}");
}

/// A report goes to the customer: whose computer the procedure lay on does not.
#[test]
fn a_report_names_the_file_of_the_procedure_without_its_folders() {
    let folder = Folder::new();
    std::fs::create_dir_all(folder.path("home/cy")).unwrap();
    std::fs::copy(folder.path("drill.bedway"), folder.path("home/cy/drill.bedway")).unwrap();
    folder.run(&["walk", "home/cy/drill.bedway", "--record", "r.record.jsonl", "--answers", "answers"]);
    folder.run(&["report", "r.record.jsonl", "--html", "page.html"]);
    let page = std::fs::read_to_string(folder.path("page.html")).unwrap();
    let forms =
        ["--text", "--markdown", "--json"].map(|form| folder.run(&["report", "r.record.jsonl", form]).1);
    for said in forms.iter().chain([&page]) {
        assert!(said.contains("drill.bedway") && !said.contains("home/cy"), "{said}");
    }
}
