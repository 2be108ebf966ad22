//! Pictures of defects: on the record with the digest of their file, refused where there is no such file, and named
//! wherever the defect is.

use bedway::cli::load;
use bedway::record::{Digest, MemoryStore};
use bedway::report::html::{Page, page};
use bedway::report::{Labels, Proof, build, export, render};
use bedway::walk::event::{Answer, Event};

use crate::walking::{lines, walk};

const CHECK: &str = "language 1\nprocedure \"Defects\"\ndecide simple\nsection s \"S\"\nstep A \"As received\"\n  \
    observe whole \"Is the plate there?\" yes or no\n  defects \"Wear, cracks, leaks\"\n  require whole is yes\n";

fn photos(store: &MemoryStore) -> Vec<(String, Option<Answer>)> {
    let found = |event| match event {
        Event::Defect { text, photo, .. } => Some((text, photo)),
        _ => None,
    };
    lines(store).into_iter().filter_map(|line| found(line.event)).collect()
}

#[test]
fn a_picture_is_on_the_record_with_the_digest_of_its_file_and_named_at_the_exit() {
    let store = MemoryStore::default();
    // As a command in quotes at another question, and called across at the question for what is found.
    let answers = "Ann\ndefect \"tray cracked\" photo \"drain.jpg\"\nyes\npaint gone photo lid.jpg\nno paint in the photo\ndone\npause\n";
    let walked = walk(&load::check("d.bedway", CHECK.as_bytes()), store.clone(), answers);
    let said: Vec<(String, Option<(String, String)>)> = photos(&store)
        .into_iter()
        .map(|(text, photo)| (text, photo.map(|it| (it.value, it.sha256.unwrap()))))
        .collect();
    let taken = |name: &str| Some((name.to_owned(), Digest::of(name.as_bytes()).to_string()));
    assert_eq!(
        said,
        [
            ("tray cracked".to_owned(), taken("drain.jpg")),
            ("paint gone".to_owned(), taken("lid.jpg")),
            ("no paint in the photo".to_owned(), None),
        ],
        "{}",
        walked.screen
    );
    assert!(walked.screen.contains("1: tray cracked (photo drain.jpg)"), "{}", walked.screen);

    let report = build(&lines(&store), &Labels::default(), None);
    let digest = Digest::of(b"lid.jpg").to_string();
    let proof = Proof::default();
    let squeezed = |text: String| text.split_whitespace().collect::<String>();
    for shown in [
        render(&report, &proof),
        export::markdown(&report, &proof),
        export::json(&export::document(&report, &proof)),
        page(&Page { report: &report, proof: &proof, machine: None, texts: &[] }),
    ] {
        let shown = squeezed(shown);
        assert!(shown.contains("lid.jpg") && shown.contains(&digest), "{shown}");
    }
}

#[test]
fn a_picture_that_is_not_there_is_refused_with_what_to_type_and_nothing_is_noted() {
    let store = MemoryStore::default();
    let answers =
        "Ann\ndefect \"tray cracked\" photo missing.jpg\nyes\npaint gone photo missing.jpg\npause\n";
    let walked = walk(&load::check("d.bedway", CHECK.as_bytes()), store.clone(), answers);
    assert_eq!(photos(&store), []);
    let text = walked.screen.split_whitespace().collect::<Vec<_>>().join(" ");
    let refusal = "The picture missing.jpg cannot be read: there is no such file.";
    assert_eq!(text.matches(refusal).count(), 2, "{}", walked.screen);
    assert!(text.contains("defect \"what\" photo pictures/drain.jpg"), "{}", walked.screen);
}
