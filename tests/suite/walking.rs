//! Walks in memory for the tests: a procedure, answers, a clock of its own; what was on the screen and on the disk.

use std::path::Path;
use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::brought::Brought;
use bedway::cli::clock::{Clock, TestClock};
use bedway::cli::console::LinesConsole;
use bedway::cli::failure::Failure;
use bedway::cli::load::{self, Loaded};
use bedway::cli::session::{Ending, Session};
use bedway::cli::walk::{opened, take_up};
use bedway::diagnostic::render;
use bedway::record::{Digest, Line, MemoryStore, Store, Writer, read};
use bedway::walk::event::How;
use bedway::walk::machine::Machine;

pub fn transcript(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()))
}

/// A procedure of the transcripts, which must have no fault.
pub fn procedure(name: &str) -> Loaded {
    let loaded = load::check(name, transcript(name).as_bytes());
    assert!(loaded.program.is_some(), "{}", render(&loaded.source, &loaded.problems, 80, false));
    loaded
}

pub fn program(loaded: &Loaded) -> Rc<Program> {
    Rc::clone(loaded.program.as_ref().unwrap())
}

/// What came of a walk.
pub struct Walked {
    pub screen: String,
    pub ending: Result<Ending, Failure>,
}

fn photo(name: &str) -> std::io::Result<String> {
    match name.starts_with("missing") {
        true => Err(std::io::ErrorKind::NotFound.into()),
        false => Ok(Digest::of(name.as_bytes()).to_string()),
    }
}

/// Begins a walk in a store and types the answers, one a line.
pub fn walk<S: Store>(loaded: &Loaded, store: S, answers: &str) -> Walked {
    walk_at(loaded, store, answers, &TestClock::new())
}

/// The same from a sheet of paper.
pub fn enter<S: Store>(loaded: &Loaded, store: S, answers: &str) -> Walked {
    walk_how(loaded, &Brought::default(), store, answers, &TestClock::new(), How::Sheet)
}

pub fn walk_at<S: Store>(loaded: &Loaded, store: S, answers: &str, clock: &dyn Clock) -> Walked {
    walk_with(loaded, &Brought::default(), store, answers, clock)
}

/// With a kit, or with the record before.
pub fn walk_with<S: Store>(
    loaded: &Loaded,
    brought: &Brought,
    store: S,
    answers: &str,
    clock: &dyn Clock,
) -> Walked {
    walk_how(loaded, brought, store, answers, clock, How::Typed)
}

fn walk_how<S: Store>(
    loaded: &Loaded,
    brought: &Brought,
    store: S,
    answers: &str,
    clock: &dyn Clock,
    how: How,
) -> Walked {
    let mut screen = Vec::new();
    let ending = {
        let mut console = LinesConsole::with_remarks(answers.as_bytes(), &mut screen);
        let writer = Writer::begin(store).unwrap();
        let program = program(loaded);
        let files = brought.frozen(loaded.frozen.clone(), loaded.included.clone());
        let first = opened(&program, files, brought.digest_before(), false);
        let mut session = Session::new(Machine::new(program), writer, &mut console, clock, &photo);
        session.machine.entries_come(how);
        session.open(first).and_then(|()| session.bring(brought)).and_then(|()| session.run())
    };
    Walked { screen: String::from_utf8(screen).unwrap(), ending }
}

/// Takes a walk up again from what stands in a store.
pub fn resume(store: MemoryStore, answers: &str) -> Walked {
    resume_how(store, answers, &two_hours_later(), How::Typed, false)
}

pub fn resume_at(store: MemoryStore, answers: &str, clock: &dyn Clock) -> Walked {
    resume_how(store, answers, clock, How::Typed, false)
}

fn two_hours_later() -> TestClock {
    let clock = TestClock::new();
    clock.advance(7200);
    clock
}

/// The same, with the temperature asked for as at the command line.
pub fn resume_asked(store: MemoryStore, answers: &str) -> Walked {
    resume_how(store, answers, &two_hours_later(), How::Typed, true)
}

/// Goes on typing in from a sheet of paper.
pub fn resume_entering(store: MemoryStore, answers: &str) -> Walked {
    resume_how(store, answers, &two_hours_later(), How::Sheet, false)
}

fn resume_how(store: MemoryStore, answers: &str, clock: &dyn Clock, how: How, asks: bool) -> Walked {
    let mut screen = Vec::new();
    let ending = {
        let mut console = LinesConsole::with_remarks(answers.as_bytes(), &mut screen);
        let (writer, resumed) = Writer::resume(store).unwrap();
        take_up(writer, &resumed.record, resumed.torn, None, asks, &mut console, clock).and_then(
            |mut session| {
                session.machine.entries_come(how);
                session.run()
            },
        )
    };
    Walked { screen: String::from_utf8(screen).unwrap(), ending }
}

pub fn lines(store: &MemoryStore) -> Vec<Line> {
    read(&store.bytes()).unwrap_or_else(|damaged| panic!("{}", damaged.damage)).lines
}
