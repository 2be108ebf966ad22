//! What a reader of a report needs beside the figures (who they are whose names stand there, how warm it was, which
//! picture is meant) and what is nobody's business or means nothing to them.

use bedway::record::Digest;
use scraper::Html;

use crate::commands::Folder;
use crate::html::{all, everything, of_corpus, rehearsed, text};

const WALK: &str = r#"language 1
procedure "With pictures and temperatures"
decide simple
party owner "Customer, or who witnesses for them"
fact serial "Serial number" text
step P "As received"
  observe plate "Photograph of the plate" photo
  read warmth in degC
    over    spot room, bed
    ask     "Temperature of the {spot}"
  let warm "Warmest" = greatest(warmth over spot)
  tolerance warm from 10 degC to 30 degC
step Q "Time to rest"
  read rest in s
    times   2
    ask     "Time to rest, stop {repeat}"
    unsigned
  tolerance every rest at most 6 s
"#;

/// A walk that is left when the plate is photographed and the temperatures are read.
fn walked(folder: &Folder) {
    std::fs::write(folder.path("w.bedway"), WALK).unwrap();
    std::fs::create_dir(folder.path("private")).unwrap();
    std::fs::write(folder.path("private/plate.jpg"), b"a picture").unwrap();
    let photo = folder.path("private/plate.jpg");
    let procedure = folder.path("w.bedway").display().to_string();
    let answers = format!("Ann Example\nM-1\n{}\n20\n19,5\npause\n21.5\n", photo.display());
    std::fs::write(folder.path("answers"), answers).unwrap();
    let (status, said) =
        folder.run(&["walk", &procedure, "--record", "w.record.jsonl", "--answers", "answers"]);
    assert_eq!(status, 1, "{said}");
}

#[test]
fn it_says_how_warm_it_was_who_people_are_and_which_picture_is_meant() {
    let folder = Folder::new();
    walked(&folder);
    let digest = Digest::of(b"a picture").to_string();
    let home = folder.path("").display().to_string();
    let (status, _) = folder.run(&["report", "w.record.jsonl", "--html", "w.html"]);
    assert_eq!(status, 0);
    let page = std::fs::read_to_string(folder.path("w.html")).unwrap();
    let page = text(Html::parse_document(&page).root_element());
    for form in [
        page,
        folder.run(&["report", "w.record.jsonl"]).1,
        folder.run(&["report", "w.record.jsonl", "--markdown"]).1,
    ] {
        let said = form.split_whitespace().collect::<Vec<_>>().join(" ").replace('\\', "");
        // The room as it was read and as it was said when the walk was left; the bed as it was read.
        assert!(said.contains("Room: 20 to 21.5 degC, 2 readings, 20"), "{said}");
        assert!(said.contains("P Temperature: bed: 19.5 degC, 20"), "{said}");
        assert!(said.contains("plate.jpg") && said.contains(&digest), "{said}");
        assert!(!said.contains(&home), "whose folder it lay in is nobody's business: {said}");
    }
    std::fs::copy(folder.path("w.record.jsonl"), folder.path("v.record.jsonl")).unwrap();
    for side in [
        ["compare", "w.record.jsonl", "v.record.jsonl", ""],
        ["judge", "w.record.jsonl", "--under", "w.bedway"],
    ] {
        let side: Vec<&str> = side.into_iter().filter(|it| !it.is_empty()).collect();
        for form in ["--text", "--markdown", "--csv", "--json"] {
            let (_, said) = folder.run(&[&side[..], &[form]].concat());
            assert!(said.contains("w.record.jsonl") && !said.contains(&home), "{form}: {said}");
        }
    }
}

#[test]
fn a_party_is_named_with_what_the_procedure_says_of_it_and_unknown_temperatures_are_said() {
    let folder = Folder::new();
    let record = folder.signed();
    for form in ["--text", "--markdown"] {
        let (_, said) = folder.run(&["report", record, form]);
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("owner (Owner of the machine)"), "{said}");
        assert!(said.contains("No temperature was measured."), "{said}");
    }
}

/// A question is asked station by station; over all of them stands a gap, and nothing where it says no more.
#[test]
fn no_label_shows_a_placeholder() {
    let (page, _) = rehearsed("w.bedway", WALK);
    let html = Html::parse_document(&page);
    let said = text(all(&html, "section[aria-labelledby=readings]")[0]);
    assert!(said.contains("Time to rest") && !said.contains("stop"), "{said}");
    assert!(said.contains("Temperature room bed") && !said.contains("[spot]"), "{said}");
}

/// A drawing stays whole when it is printed; one that is as high as half a page leaves half a page empty before it.
#[test]
fn no_drawing_is_too_high_to_find_room_on_a_printed_page() {
    let (page, _) = everything();
    for page in [page.to_owned(), of_corpus("small-lathe")] {
        let html = Html::parse_document(&page);
        for drawing in all(&html, "figure svg") {
            let sizes: Vec<f64> = drawing
                .value()
                .attr("viewBox")
                .unwrap()
                .split(' ')
                .filter_map(|size| size.parse().ok())
                .collect();
            assert!(sizes[3] / sizes[2] < 0.85, "{}", text(drawing));
        }
    }
}
