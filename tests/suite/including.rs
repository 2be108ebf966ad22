//! Shared parts: libraries and methods. A procedure with all that it includes is one thing, also in the record.

use std::path::Path;

use bedway::cli::load::{self, Loaded};
use bedway::diagnostic::{render, to_json};
use bedway::record::MemoryStore;
use bedway::walk::event::Event;

use crate::walking::{lines, resume, walk};

const PROCEDURE: &str = "language 1\nprocedure \"Nose\"\ndecide simple\ninclude \"parts/dial.bedway\"\nsection s \"s\"\n\
    step A \"Nose\" follows nose(0.01 mm)\n";
const LIBRARY: &str = "language 1\nlibrary \"Dials\"\ninstrument dial \"Lever indicator\"\n\
    method nose(limit in mm)\n  read x in mm using dial\n    unsigned\n  tolerance x at most limit\n";

/// A folder with a procedure and its library.
fn folder(procedure: &str, library: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("parts")).unwrap();
    std::fs::write(folder.path().join("parts/dial.bedway"), library).unwrap();
    let path = folder.path().join("nose.bedway");
    std::fs::write(&path, procedure).unwrap();
    (folder, path)
}

fn said(path: &Path) -> (Loaded, String) {
    let loaded = load::load(path).unwrap();
    let said = render(&loaded.source, &loaded.problems, 200, false);
    (loaded, said)
}

/// Years later the libraries are elsewhere or say something else: the record holds what was walked.
#[test]
fn the_record_holds_every_text_and_is_judged_and_taken_up_without_them() {
    let (folder, path) = folder(PROCEDURE, LIBRARY);
    let (loaded, said) = said(&path);
    assert_eq!(said, "");
    let store = MemoryStore::default();
    let walked = walk(&loaded, store.clone(), "Ann\nDI-1\n");
    folder.close().unwrap();
    assert!(walked.ending.is_ok());
    let opened = lines(&store).remove(0).event;
    let Event::Opened { files, .. } = &opened else { panic!("{opened:?}") };
    let ends: Vec<bool> = files.iter().map(|file| file.name.ends_with("parts/dial.bedway")).collect();
    assert_eq!(ends, [false, true]);
    assert_eq!(files[1].text, LIBRARY);
    let program = load::frozen(Some(&opened)).unwrap();
    assert_eq!(program.steps.len(), 1);
    let resumed = resume(store.clone(), "0.02\n\nsign\n");
    assert!(resumed.screen.contains("x: failed, 0.02 mm; allowed at most 0.01 mm"), "{}", resumed.screen);
    // A library that was changed in the record is found by its digest.
    let Event::Opened { mut files, format, language, program, rehearsal, title, previous, parties } = opened
    else {
        unreachable!()
    };
    files[1].text = LIBRARY.replace("at most", "at least");
    let forged = Event::Opened { files, format, language, program, rehearsal, title, previous, parties };
    assert!(load::frozen(Some(&forged)).unwrap_err().to_string().contains("dial.bedway"));
}

#[test]
fn a_fault_of_a_library_is_shown_in_the_library_at_its_own_line() {
    let (_folder, path) = folder(PROCEDURE, &LIBRARY.replace("at most limit", "at most limitt"));
    let (loaded, said) = said(&path);
    assert!(said.contains("parts/dial.bedway:7:"), "{said}");
    assert!(said.contains("did you mean `limit`?"), "{said}");
    let json = to_json(&loaded.source, &loaded.problems);
    assert!(json.contains("parts/dial.bedway\"") && json.contains("\"line\":7"), "{json}");
    // A line that cannot be read is told there too.
    let (_folder, path) = folder_with_broken_line();
    assert!(self::said(&path).1.contains("parts/dial.bedway:3:1"), "{}", self::said(&path).1);
}

fn folder_with_broken_line() -> (tempfile::TempDir, std::path::PathBuf) {
    folder(PROCEDURE, &LIBRARY.replace("instrument dial", "instrumend dial"))
}

#[test]
fn a_name_that_is_given_twice_is_shown_in_both_files() {
    let clash = PROCEDURE.replace("section", "instrument dial \"Another\"\nsection");
    let (_folder, path) = folder(&clash, LIBRARY);
    let (_, said) = said(&path);
    assert!(said.contains("there are two instruments called `dial`"), "{said}");
    assert!(said.contains("nose.bedway:5:") && said.contains("parts/dial.bedway:3:"), "{said}");
}

/// By name it lies within the folder, and the file system leads elsewhere.
#[cfg(unix)]
#[test]
fn a_link_that_leads_out_of_the_folder_is_not_followed() {
    let (_elsewhere, secret) = folder(PROCEDURE, LIBRARY);
    let (folder, path) = folder(PROCEDURE, LIBRARY);
    let link = folder.path().join("parts/dial.bedway");
    std::fs::remove_file(&link).unwrap();
    std::os::unix::fs::symlink(secret.with_file_name("parts").join("dial.bedway"), &link).unwrap();
    let (_, said) = said(&path);
    assert!(said.contains("it lies outside the folder of the procedure"), "{said}");
}

/// Two libraries that rest on the same third one have it once.
#[test]
fn what_two_libraries_share_is_there_once() {
    let (folder, path) =
        folder(&PROCEDURE.replace("section", "include \"parts/more.bedway\"\nsection"), LIBRARY);
    std::fs::write(
        folder.path().join("parts/more.bedway"),
        "language 1\nlibrary \"More\"\ninclude \"dial.bedway\"\n",
    )
    .unwrap();
    assert_eq!(said(&path).1, "");
}

#[test]
fn a_library_is_checked_by_itself_and_not_walked() {
    let (folder, _) = folder(PROCEDURE, LIBRARY);
    let path = folder.path().join("parts/dial.bedway");
    let (loaded, said) = said(&path);
    assert_eq!(said, "");
    assert!(loaded.program.is_none() && loaded.library.is_some());
    let refused = format!("{:?}", load::load_procedure(&path).unwrap_err());
    assert!(refused.contains("is a library: a procedure includes it"), "{refused}");
}

/// Whoever names the record where the procedure is wanted means to go on with it.
#[test]
fn a_record_in_the_place_of_a_procedure_is_told_from_one_with_what_to_type() {
    let (folder, _) = folder(PROCEDURE, LIBRARY);
    let path = folder.path().join("lathe.record.jsonl");
    std::fs::write(&path, "{\"seq\":1,\"event\":\"opened\"}\n").unwrap();
    for refused in [load::load(&path).unwrap_err(), load::load_procedure(&path).unwrap_err()] {
        let refused = format!("{refused:?}");
        assert!(
            refused.contains("bedway walk --resume") && refused.contains("lathe.record.jsonl"),
            "{refused}"
        );
    }
}

/// A method is given what its parameters are for, or it is said where and why not.
#[test]
fn what_is_given_to_a_method_must_fit_its_parameters() {
    let method = "language 1\nprocedure \"p\"\ndecide simple\nsection s \"s\"\n\
        method m(speed in rpm from 50 to 4000; kind one of belt, gear)\n  read x in rpm\n  tolerance x within 9 rpm of speed when kind is belt\n\
        step A \"a\" follows m";
    let of = |given: &str| {
        let loaded = load::check("p.bedway", format!("{method}{given}\n").as_bytes());
        render(&loaded.source, &loaded.problems, 200, false)
    };
    assert_eq!(of("(300 rpm, belt)"), "");
    assert_eq!(of("(5 /min * 60, gear)"), "", "a value that is worked out, in another unit");
    assert!(
        of("(300 rpm)").contains("`m` takes 2 values, and 1 is given")
            || of("(300 rpm)").contains("1 are given")
    );
    assert!(of("(300 rpm, chain)").contains("`kind` is one of belt, gear"), "{}", of("(300 rpm, chain)"));
    assert!(
        of("(9000 rpm, belt)").contains("lies outside what the method is for"),
        "{}",
        of("(9000 rpm, belt)")
    );
    assert!(of("(300 mm, belt)").contains("unit::"), "{}", of("(300 mm, belt)"));
}
