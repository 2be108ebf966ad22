//! Rehearsals: an example is walked as it says, in its order and on a made-up clock, and what was walked, told as an
//! example, is walked again to the same verdict.

use std::path::{Path, PathBuf};
use std::rc::Rc;

use bedway::check::program::{Act, Example, Expect, Program};
use bedway::cli::brought::Brought;
use bedway::cli::clock::{RehearsalClock, TestClock};
use bedway::cli::console::LinesConsole;
use bedway::cli::load::{self, Loaded};
use bedway::cli::rehearse::play;
use bedway::record::{MemoryStore, Writer};
use bedway::report::{Labels, Proof, build, export};
use bedway::walk::as_example::as_example;
use bedway::walk::event::Event;
use bedway::walk::examples::{touched, walk_one};
use bedway::walk::rehearsal::Player;
use bedway::walk::replay;

use crate::commands::Folder;
use crate::exports::valid;
use crate::walking::{lines, procedure, program, resume_asked, transcript, walk};
use crate::whole_day;

/// What was shown, and what stands on the record.
struct Rehearsed {
    screen: String,
    store: MemoryStore,
}

impl Rehearsed {
    /// As it stands at the end, whether it could be closed or not.
    fn verdict(&self, program: &Rc<Program>) -> &'static str {
        let lines = lines(&self.store);
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        replay::verify(Rc::clone(program), events).unwrap().machine.status().verdict.words()
    }

    /// What `report --json` gives of it.
    fn document(&self, program: &Rc<Program>) -> String {
        let lines = lines(&self.store);
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        let machine = replay::verify(Rc::clone(program), events).unwrap().machine;
        let report = build(&lines, &Labels::new(Some(program)), Some(&machine));
        export::json(&export::document(&report, &Proof::default()))
    }

    fn has(&self, of: fn(&Event) -> bool) -> bool {
        lines(&self.store).iter().any(|line| of(&line.event))
    }
}

fn rehearse(loaded: &Loaded, example: &Example) -> Rehearsed {
    let store = MemoryStore::default();
    let writer = Writer::begin(store.clone()).unwrap();
    let clock = RehearsalClock::new(&TestClock::new());
    let player = Player::new(Some(example), &loaded.source, 1);
    let mut screen = Vec::new();
    let mut console = LinesConsole::new(&b""[..], &mut screen);
    play(loaded, Some(example), player, &Brought::default(), writer, &mut console, &clock).unwrap();
    Rehearsed { screen: String::from_utf8(screen).unwrap(), store }
}

fn example<'a>(program: &'a Program, title: &str) -> &'a Example {
    program.examples.iter().find(|it| it.title == title).unwrap()
}

fn files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders = [root.join("tests/corpus/good"), root.join("procedures")];
    let entries = folders.iter().flat_map(|folder| std::fs::read_dir(folder).unwrap());
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file() && path.extension().is_some_and(|it| it == "bedway"));
    files.sort();
    files
}

fn expected(example: &Example) -> impl Iterator<Item = &Expect> {
    example.lines.iter().filter_map(|(act, _)| match act {
        Act::Expect(expect) => Some(expect),
        _ => None,
    })
}

/// How many answers were not taken, without a walk that cannot be closed yet.
fn refused(screen: &str) -> usize {
    screen.matches("Not taken: ").count() - screen.matches("Not taken: Not everything is finished").count()
}

/// What an example takes for granted (needs, a confirmation, facts) is answered, what it leaves open is made up; so
/// only one that speaks of every step must come to its own verdict. Refused is what it says is refused, and no more.
#[test]
fn every_example_is_rehearsed_to_its_own_verdict() {
    let mut compared = 0;
    let schema = export::schema::<export::Document>();
    for path in files() {
        let mut documents = 0;
        let loaded = load::load(&path).unwrap();
        let Some(program) = &loaded.program else { continue };
        for example in &program.examples {
            let proved = walk_one(program, example).0;
            let verdict = proved.status().verdict.words();
            if touched(program, example).len() < program.steps.len() || verdict == "unfinished" {
                continue;
            }
            let what = format!("{}, \"{}\"", path.display(), example.title);
            let rehearsed = rehearse(&loaded, example);
            let screen = &rehearsed.screen;
            assert_eq!(rehearsed.verdict(program), verdict, "{what}:\n{screen}");
            let refused = refused(screen);
            let to_be_refused = expected(example).filter(|it| matches!(it, Expect::Refused)).count();
            assert!(refused <= to_be_refused, "{what}: {refused} refused, not {to_be_refused}:\n{screen}");
            compared += 1;
            // Of each file one, as a document that keeps to its schema.
            if documents == 0 {
                valid(&schema, &rehearsed.document(program));
            }
            documents += 1;
        }
    }
    assert!(compared > 100, "{compared}");
}

/// A day with a joined series, a slip on whose advice something was moved, a pause, a defect with its picture, a series
/// in time that begins again, a stop by hand that is cleared: told as an example, checked and rehearsed.
#[test]
fn a_whole_day_told_as_an_example_is_rehearsed_to_the_same_verdict() {
    let (loaded, store) = whole_day::walked();
    let rehearsed = told_and_rehearsed(&loaded, &store, "the day");
    let has = |what: &str, of: fn(&Event) -> bool| {
        assert!(rehearsed.has(of), "no {what}:\n{}", rehearsed.screen);
    };
    has("joined series", |it| matches!(it, Event::Joined { agreed: true, .. }));
    has("broken series in time", |it| matches!(it, Event::Broken { reading, .. } if reading == "temp"));
    has("withdrawn advice", |it| matches!(it, Event::Withdrawn { .. }));
    has("adjustment", |it| matches!(it, Event::Adjusted(it) if it.torque.is_some() && it.by.is_some()));
    has("picture", |it| matches!(it, Event::Defect { photo: Some(_), .. }));
    has("mended defect", |it| matches!(it, Event::Mended { .. }));
    has("stop", |it| matches!(it, Event::Stopped { by_hand: true, .. }));
    has("stop that is cleared", |it| matches!(it, Event::Cleared { .. }));
    has("odd entry that was kept", |it| matches!(it, Event::Kept { .. }));
}

#[test]
fn the_walks_of_the_transcripts_are_rehearsed_to_the_same_verdict() {
    for (name, file) in [
        ("whole-walk", "drill-press.bedway"),
        ("slips-and-words", "drill-press.bedway"),
        ("adjusted", "drill-press.bedway"),
        ("knock", "drill-press.bedway"),
        ("withdrawn", "feet.bedway"),
        ("at-the-end", "feet.bedway"),
        ("run-in", "run-in.bedway"),
    ] {
        let (loaded, store) = (procedure(file), MemoryStore::default());
        walk(&loaded, store.clone(), &transcript(&format!("{name}.answers")));
        told_and_rehearsed(&loaded, &store, name);
    }
    let (loaded, store) = (procedure("bed.bedway"), MemoryStore::default());
    walk(&loaded, store.clone(), &transcript("left.answers"));
    resume_asked(store.clone(), &transcript("taken-up.answers"));
    told_and_rehearsed(&loaded, &store, "taken up");
}

/// With its example behind it the procedure has no fault, and the rehearsal ends as the walk did.
fn told_and_rehearsed(loaded: &Loaded, store: &MemoryStore, name: &str) -> Rehearsed {
    let walked = lines(store);
    let events: Vec<(&str, &Event)> = walked.iter().map(|line| (line.time.as_str(), &line.event)).collect();
    let written = as_example(&events, name).unwrap();
    assert!(written.differences.is_empty(), "{name}: {:#?}", written.differences);
    let text = format!("{}\n\n{}", loaded.frozen.text.trim_end(), written.text);
    let with_example = load::check("told.bedway", text.as_bytes());
    assert!(with_example.problems.iter().all(|it| !it.is_fault()), "{:#?}\n{text}", with_example.problems);
    let program = program(&with_example);
    let rehearsed = rehearse(&with_example, example(&program, name));
    let closed = walked.iter().rev().find_map(|line| match &line.event {
        Event::Closed { verdict, .. } => Some(verdict.clone()),
        _ => None,
    });
    assert_eq!(refused(&rehearsed.screen), 0, "{name}:\n{}\n{}", written.text, rehearsed.screen);
    // Of a walk that was left the rest is made up.
    if let Some(verdict) = closed {
        assert_eq!(rehearsed.verdict(&program), verdict, "{name}:\n{}\n{}", written.text, rehearsed.screen);
        let (was, is) = (judged(store), judged(&rehearsed.store));
        assert_eq!(was, is, "{name}:\n{}\n{}", written.text, rehearsed.screen);
    }
    rehearsed
}

/// Each try with the state in which it was left.
fn judged(store: &MemoryStore) -> Vec<String> {
    let mut states = std::collections::BTreeMap::new();
    for line in lines(store) {
        if let Event::Judged(it) = line.event {
            states.insert((it.step, it.number), it.state);
        }
    }
    states.into_iter().map(|((step, number), state)| format!("{step} try {number}: {state}")).collect()
}

/// The clock is put to the day of the example, so that a certificate that was good on that day is good.
#[test]
fn a_rehearsal_is_on_the_day_of_its_example() {
    let text = "language 1\nprocedure \"p\"\ndecide simple\ninstrument dial \"Dial\"\nstep A \"A\"\n  read x in mm using dial\n    \
                plus \"high\"\n    minus \"low\"\n  tolerance x within 0.01 mm\nexample \"in date\"\n  day 2026-01-10\n  using dial \
                \"DI-07\", calibrated until 2026-01-31\n  enter A.x = 0.001\n  expect verdict accepted\n";
    let loaded = load::check("p.bedway", text.as_bytes());
    let program = program(&loaded);
    let rehearsed = rehearse(&loaded, example(&program, "in date"));
    assert_eq!(rehearsed.verdict(&program), "accepted", "{}", rehearsed.screen);
    assert!(lines(&rehearsed.store).iter().all(|line| line.time.starts_with("2026-01-10T08:")));
}

/// The folder of a rehearsal holds all that a walk leaves, for a walk told as an example at the command line too.
#[test]
fn a_walk_told_at_the_command_line_is_checked_and_rehearsed_there() {
    let folder = Folder::new();
    let (loaded, store) = whole_day::walked();
    std::fs::write(folder.path("day.record.jsonl"), store.bytes()).unwrap();
    let (status, told) = folder.run(&["example", "day.record.jsonl"]);
    assert_eq!(status, 0, "{told}");
    std::fs::write(folder.path("day.bedway"), format!("{}\n\n{told}", loaded.frozen.text.trim_end()))
        .unwrap();
    let (status, checked) = folder.run(&["check", "day.bedway"]);
    assert_eq!(status, 0, "{checked}");
    let (status, screen) = folder.run(&["rehearse", "day.bedway"]);
    assert_eq!(status, 0, "{screen}");
    for said in ["REHEARSAL: nothing is measured", "ACCEPTED WITH EXCEPTIONS", "Verified:"] {
        assert!(screen.to_uppercase().contains(&said.to_uppercase()), "{said}:\n{screen}");
    }
}

/// What is made up could have been read: within the limits where they are known, and the high of a turn no lower than
/// its low.
#[test]
fn made_up_readings_are_such_as_could_be_read() {
    let text = "language 1\nprocedure \"p\"\ndecide simple\ninstrument dial \"Dial\"\n  resolution 0.001 mm\nstep A \"A\"\n  read x \
                in mm using dial\n    times 8\n    high and low\n    plus \"in\"\n    minus \"out\"\n  read speed in rpm\n  let tir \
                \"Run-out\" = greatest(runout(x over extreme) over repeat)\n  tolerance tir at most 0.01 mm\n  tolerance speed \
                from 950 rpm to 1050 rpm\n";
    let loaded = load::check("p.bedway", text.as_bytes());
    for seed in 1..6 {
        let (store, clock) = (MemoryStore::default(), RehearsalClock::new(&TestClock::new()));
        let mut console = LinesConsole::new(&b""[..], Vec::new());
        let player = Player::new(None, &loaded.source, seed);
        let writer = Writer::begin(store.clone()).unwrap();
        play(&loaded, None, player, &Brought::default(), writer, &mut console, &clock).unwrap();
        let read: Vec<f64> = lines(&store)
            .into_iter()
            .filter_map(|line| match line.event {
                Event::Entered(entry) if entry.name == "x" => {
                    entry.answer.map(|it| it.value.parse().unwrap())
                }
                _ => None,
            })
            .collect();
        assert_eq!(read.len(), 16);
        assert!(read.chunks(2).all(|turn| turn[0] >= turn[1]), "{read:?}");
        let rehearsed = Rehearsed { screen: String::new(), store };
        assert_eq!(rehearsed.verdict(&program(&loaded)), "accepted");
    }
}
