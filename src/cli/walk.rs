//! `bedway walk`: begins a walk or takes one up again, and ends it with signatures.

use std::fs::File;
use std::io::{self, BufReader, IsTerminal};
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

use super::args::{Bring, Walk};
use super::clock::{Clock, between, is_before};
use super::console::{BesideGauge, Cable, Console, LineSource, LinesConsole, Look, Shown, TerminalConsole};
use super::failure::{Failure, Status};
use super::interruption::RoomAsked;
use super::session::{Ending, Session};
use super::{ascii, brought, check, example, holder, keys, layout, load, sign};
use crate::check::program::Program;
use crate::quantity::Unit;
use crate::record::{FileStore, Record, Store, StoreFault, Torn, Writer, skim};
use crate::walk::event::{self, Event, FileText, How};
use crate::walk::machine::{Machine, Reply};
use crate::walk::replay::{Replayed, follows, replay};

/// How a walk is walked.
#[derive(Clone, Copy, Debug)]
pub struct Manner<'a> {
    pub how: How,
    /// The unit of a number that a gauge sends without one.
    pub gauge_unit: Option<Unit>,
    /// Where to write the walk as an example.
    pub as_example: Option<&'a Path>,
}

pub fn run(arguments: &Walk, clock: &dyn Clock) -> Result<Status, Failure> {
    let mut console = console_for(arguments.answers.as_deref(), arguments.cable().as_ref(), arguments.bell)?;
    let console = console.as_mut();
    let as_example = arguments.as_example.as_deref();
    as_example.map_or(Ok(()), example::refuse_if_there)?;
    let manner = Manner { how: How::Typed, gauge_unit: arguments.from_unit, as_example };
    if let (Some(path), Some(unit)) = (&arguments.from, arguments.from_unit) {
        let text = format!(
            "The gauge at {} is heard beside the keyboard. A number without a unit is in {}.",
            path.display(),
            unit.symbol()
        );
        let width = console.width();
        console.show(&layout::plain(&text, width, "", "  "))?;
    }
    match (&arguments.file, &arguments.resume) {
        (_, Some(record)) => {
            arguments.bring.refuse_on_resume(record)?;
            resume(record, manner, console, clock)
        }
        (Some(file), None) => {
            begin(file, arguments.record.as_deref(), &arguments.bring, manner, console, clock)
        }
        (None, None) => Err(Failure::usage("name the procedure to walk: bedway walk FILE")),
    }
}

/// A terminal where there is one, else lines.
pub fn console_for(
    answers: Option<&Path>,
    cable: Option<&Cable>,
    rings: bool,
) -> Result<Box<dyn Console>, Failure> {
    if let Some(path) = answers {
        let fault = |source| StoreFault::new("could not read", path.display().to_string(), source);
        let file = File::open(path).map_err(fault)?;
        return Ok(Box::new(LinesConsole::of_answers(BufReader::new(file), io::stdout())));
    }
    if io::stdin().is_terminal() && io::stdout().is_terminal() {
        let moves = std::env::var_os("TERM").is_none_or(|term| term != "dumb");
        let look = Look { bold: check::use_colour(), moves, ascii: ascii::is_wanted(), rings };
        return Ok(Box::new(TerminalConsole::new(look, cable)?));
    }
    let keyboard = BufReader::new(io::stdin());
    let (is_typed, out) = (io::stdin().is_terminal(), io::stdout());
    let source: Box<dyn LineSource> = match cable {
        Some(cable) => Box::new(BesideGauge::new(keyboard, cable)?),
        None => Box::new(keyboard),
    };
    // Whoever sends lines from a file or a pipe sees nothing refused.
    Ok(match is_typed {
        true => Box::new(LinesConsole::new(source, out)),
        false => Box::new(LinesConsole::of_answers(source, out)),
    })
}

pub fn begin(
    file: &Path,
    record: Option<&Path>,
    bring: &Bring,
    manner: Manner,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<Status, Failure> {
    let loaded = load::load_procedure(file)?;
    let Some(program) = loaded.program.clone() else {
        check::show(&loaded, &mut io::stdout().lock())?;
        return Ok(Status::FaultyProcedure);
    };
    let brought = brought::bring(bring, &program, &loaded.frozen, false)?;
    let store = match record {
        Some(path) => create(path)?,
        None => create_default(file, &clock.now().date().to_string())?,
    };
    let store = store.held_by(&holder::words(clock));
    let path = store.path().to_owned();
    show_beginning(&program, &path, manner.how, console)?;
    if record.is_none()
        && let Some(other) = unfinished_beside(&path, &stem_of(file))
    {
        let text = format!(
            "{0} is not finished. To go on with it, leave here with :pause, then: bedway walk --resume {0}",
            other.display()
        );
        let width = console.width();
        console.show(&layout::plain(&text, width, "! ", "  "))?;
    }
    brought.show(console)?;
    let opened =
        opened(&program, brought.frozen(loaded.frozen, loaded.included), brought.digest_before(), false);
    let mut session =
        Session::new(Machine::new(program), Writer::begin(store)?, console, clock, &digest_of_file);
    session.keys = Some(&keys::of_witness);
    session.machine.entries_come(manner.how);
    session.gauge_unit = manner.gauge_unit;
    session.open(opened)?;
    session.bring(&brought)?;
    finish(session, &path, manner.as_example)
}

/// The first line of a record.
pub fn opened(program: &Program, files: Vec<FileText>, previous: Option<String>, rehearsal: bool) -> Event {
    Event::Opened {
        format: event::FORMAT,
        language: program.language,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        rehearsal,
        title: program.title.clone(),
        files,
        previous,
        parties: program.parties.iter().map(|party| party.name.clone()).collect(),
    }
}

fn create(path: &Path) -> Result<FileStore, Failure> {
    FileStore::create(path).map_err(|fault| {
        let there = fault.source.kind() == io::ErrorKind::AlreadyExists;
        let help = if there {
            format!(", or go on with it: bedway walk --resume {}", path.display())
        } else {
            String::new()
        };
        Failure::environment(format!("{fault}{help}"))
    })
}

/// `bench-lathe-2026-03-02.record.jsonl` in this folder, with the next number where that is there already.
fn create_default(file: &Path, day: &str) -> Result<FileStore, Failure> {
    let stem = stem_of(file);
    for number in 1_u32..=9999 {
        let number = if number == 1 { String::new() } else { format!("-{number}") };
        match FileStore::create(Path::new(&format!("{stem}-{day}{number}.record.jsonl"))) {
            Err(fault) if fault.source.kind() == io::ErrorKind::AlreadyExists => {}
            other => return Ok(other?),
        }
    }
    Err(Failure::environment("there are too many records of today here; name one with --record PATH"))
}

/// Another walk of this procedure in the folder of its record that nobody has closed, the latest by name.
fn unfinished_beside(own: &Path, stem: &str) -> Option<PathBuf> {
    let folder = own.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let begins = format!("{stem}-");
    let is_open = |path: &PathBuf| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name != own.file_name().unwrap_or_default().to_string_lossy()
            && name.starts_with(&begins)
            && name.ends_with(".record.jsonl")
            && is_left_open(path)
    };
    let there = std::fs::read_dir(folder).ok()?.filter_map(|entry| Some(entry.ok()?.path()));
    let latest = there.filter(is_open).max()?;
    Some(latest.strip_prefix(".").map(Path::to_owned).unwrap_or(latest))
}

/// A record that is whole, whose walk is not closed, or was taken up again since.
fn is_left_open(path: &Path) -> bool {
    let skimmed = std::fs::read(path).ok().and_then(|bytes| {
        // The power may have gone in the middle of its last line.
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        skim(bytes.get(..whole)?, &["closed", "reopened"]).ok()
    });
    skimmed.is_some_and(|record| !matches!(record.lines.last(), Some((_, _, Event::Closed { .. }))))
}

/// The name of a procedure file without its ending.
pub fn stem_of(file: &Path) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    if stem.is_empty() { "walk".to_owned() } else { stem.into_owned() }
}

fn show_beginning(
    program: &Program,
    record: &Path,
    how: How,
    console: &mut dyn Console,
) -> Result<(), Failure> {
    let width = console.width();
    let revision = program.revision.as_ref().map(|it| format!(", revision {it}")).unwrap_or_default();
    let title = layout::plain(&format!("{}{revision}", program.title), width, "", "  ");
    let mut lines: Vec<Shown> = title.into_iter().map(|line| Shown { strong: true, ..line }).collect();
    for text in program.scope.iter().chain(&program.basis).chain(&program.notes) {
        lines.extend(layout::plain(&crate::report::plain(text), width, "", ""));
    }
    lines.push(Shown::blank());
    if how == How::Sheet {
        let text = "What is typed now was read on a sheet: its times are asked for, and stand on the record.";
        lines.extend(layout::plain(text, width, "", "  "));
    }
    let text = format!("Each answer goes to {} before the next question.", record.display());
    lines.extend(layout::plain(&text, width, "", "  "));
    lines.extend(layout::plain("Type :help for the words you can use, :pause to leave.", width, "", "  "));
    let text = "Local codes, the maker's instructions and licensed practice come before this procedure. Isolate the \
                machine before you reach into it.";
    let caution = layout::plain(text, width, "Caution: ", "  ");
    lines.extend(caution.into_iter().map(|line| Shown { strong: true, ..line }));
    Ok(console.show(&lines)?)
}

pub fn resume(
    path: &Path,
    manner: Manner,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<Status, Failure> {
    let (mut writer, resumed) = Writer::resume(open(path, clock)?)?;
    let record = &resumed.record;
    if record.lines.iter().any(|line| matches!(line.event, Event::Signed { .. })) {
        note_torn(&mut writer, resumed.torn.as_ref(), clock)?;
        return Err(Failure::usage(format!(
            "{0} is signed, so nothing can be changed in it. See it with: bedway report {0}. What became known later is \
             added with: bedway amend {0} \"what\" --as \"NAME, ROLE\"",
            path.display()
        )));
    }
    let file_now = changed_file(record);
    show_resumption(record, resumed.torn.as_ref(), file_now.as_ref(), path, console, clock)?;
    let file_now = file_now.map(|(_, digest)| digest);
    let asks = manner.how != How::Sheet;
    let mut session = take_up(writer, record, resumed.torn, file_now, asks, console, clock)?;
    session.machine.entries_come(manner.how);
    session.gauge_unit = manner.gauge_unit;
    finish(session, path, manner.as_example)
}

/// The machine as the record left it, and what a tear kept from being written.
pub fn stood(record: &Record) -> Result<(Machine, Reply), Failure> {
    let program = load::frozen(record.lines.first().map(|line| &line.event))
        .map_err(|fault| Failure::damaged(format!("{fault}")))?;
    let events = record.lines.iter().map(|line| (line.time.as_str(), &line.event));
    let Replayed { machine, due, .. } =
        replay(program, events).map_err(|mismatch| Failure::damaged(mismatch.to_string()))?;
    Ok((machine, due))
}

/// The machine as the record left it, and a `resumed` line. `asks`: for the temperature of the room, before it.
pub fn take_up<'a, S: Store>(
    writer: Writer<S>,
    record: &Record,
    torn: Option<Torn>,
    file_now: Option<String>,
    asks: bool,
    console: &'a mut dyn Console,
    clock: &'a dyn Clock,
) -> Result<Session<'a, S>, Failure> {
    let opened = record.lines.first().map(|line| &line.event);
    let (machine, due) = stood(record)?;
    let mut session = Session::new(machine, writer, console, clock, &digest_of_file);
    session.keys = Some(&keys::of_witness);
    if let Some(kit) = load::frozen_kit(opened) {
        session.machine.bring(kit);
    }
    session.tick();
    // What the tear kept from being written comes first, as if there had been no tear.
    session.commit(due, "")?;
    if let Some(last) = record.lines.iter().rfind(|line| !follows(&line.event)) {
        let reply = session.machine.kept_unsaid(last.seq);
        session.commit(reply, "")?;
    }
    let said_again = session.machine.say_again();
    let torn = torn.as_ref().map(noted);
    let mut temperature = None;
    if asks && session.machine.has_readings() && session.machine.state().closed.is_none() {
        session.show_where()?;
        match session.room_on_return()? {
            RoomAsked::Measured(answer) => temperature = Some(answer),
            RoomAsked::NotMeasured => {}
            RoomAsked::Left(reason) => session.left = Some(reason),
        }
        session.tick();
    }
    let reply = session.machine.resumed(torn, file_now, temperature);
    session.commit(reply, "")?;
    session.commit(Reply { events: Vec::new(), said: said_again }, "")?;
    Ok(session)
}

/// What was set aside of a signed record is named in it like any other.
pub fn note_torn(
    writer: &mut Writer<FileStore>,
    torn: Option<&Torn>,
    clock: &dyn Clock,
) -> Result<(), Failure> {
    if let Some(torn) = torn {
        let event = Event::Resumed { torn: Some(noted(torn)), file_now: None, temperature: None };
        writer.append(&clock.stamp(), sign::OPERATOR, event)?;
    }
    Ok(())
}

fn noted(torn: &Torn) -> event::Torn {
    event::Torn { bytes: torn.bytes.len() as u64, sha256: torn.sha256.to_string() }
}

/// Opens a record to go on with it, and leaves word of who does.
pub fn open(path: &Path, clock: &dyn Clock) -> Result<FileStore, Failure> {
    Ok(FileStore::open(path)?.held_by(&holder::words(clock)))
}

/// The procedure file of a record, if it is still there and says something else now, with its digest.
fn changed_file(record: &Record) -> Option<(String, String)> {
    let Event::Opened { files, .. } = &record.lines.first()?.event else { return None };
    files.iter().find_map(|file| {
        let bytes = std::fs::read(&file.name).ok()?;
        let digest = crate::record::Digest::of(&bytes).to_string();
        (digest != file.sha256).then(|| (file.name.clone(), digest))
    })
}

fn show_resumption(
    record: &Record,
    torn: Option<&Torn>,
    file_now: Option<&(String, String)>,
    path: &Path,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<(), Failure> {
    let width = console.width();
    let title = match record.lines.first().map(|line| &line.event) {
        Some(Event::Opened { title, .. }) => title.as_str(),
        _ => "",
    };
    let last = record.lines.last().map(|line| line.time.as_str()).unwrap_or_default();
    let now = clock.stamp();
    let set_back = is_before(&now, last);
    let ago = between(last, &now).map(|ago| format!(", {ago} ago")).unwrap_or_default();
    let title = layout::plain(title, width, "", "  ").into_iter();
    let mut lines: Vec<Shown> = title.map(|line| Shown { strong: true, ..line }).collect();
    let text = format!(
        "Taken up again. {} lines stand in {}; the last was written {}{ago}.",
        record.lines.len(),
        path.display(),
        crate::report::when(last)
    );
    lines.extend(layout::plain(&text, width, "", "  "));
    if set_back {
        let text = format!(
            "By the clock of this computer it is {} now, which is earlier: was it set back? Waits and the rows of a series go \
             by it. If it is wrong, leave (pause), set it right, and take the walk up again.",
            crate::report::when(&now)
        );
        lines.extend(layout::plain(&text, width, "! ", "  "));
    }
    if let Some(torn) = torn {
        let text = format!(
            "The last line was torn ({} bytes). It was set aside in {}.torn; what it was to say is asked again.",
            torn.bytes.len(),
            path.with_file_name(crate::record::side_name(path)).display()
        );
        lines.extend(layout::plain(&text, width, "Note: ", "  "));
    }
    if let Some((name, _)) = file_now {
        let text = format!(
            "{name} has changed since. The walk goes on under the text that is frozen in its record."
        );
        lines.extend(layout::plain(&text, width, "Note: ", "  "));
    }
    Ok(console.show(&lines)?)
}

/// Walks on, and at the end asks for signatures.
fn finish(
    mut session: Session<'_, FileStore>,
    path: &Path,
    as_example: Option<&Path>,
) -> Result<Status, Failure> {
    let ending = session.run()?;
    let status = session.machine.status();
    let (console, clock, mut writer) = (session.console, session.clock, session.writer);
    let width = console.width();
    let status = match ending {
        Ending::Paused | Ending::OutOfStep => {
            let place = session.machine.question().place;
            let place = place.map(|it| format!(" at {} {}", it.name, it.title)).unwrap_or_default();
            let text =
                format!("Left{place}. {} lines stand in {}. Go on with:", writer.seq(), path.display());
            if session.machine.state().closed.is_none() {
                console.show(&layout::exit_for_now(&status, width))?;
                console.show(&[Shown::blank()])?;
            }
            let command = match session.machine.is_from_paper() {
                true => "enter",
                false => "walk --resume",
            };
            let command = format!("bedway {command} {}", path.display());
            if let (Some(line), Some(refusal)) = (console.line_of_answers(), &session.refusal)
                && ending == Ending::OutOfStep
            {
                let text = format!(
                    "Line {line} of the answers was refused: {} Neither it nor what comes after it is taken: that \
                     could meet other questions than it was meant for.",
                    refusal.message
                );
                console.show(&layout::plain(&text, width, "! ", "  "))?;
            }
            console.show(&layout::plain(&text, width, "", "  "))?;
            console.show(&layout::command(&command, width))?;
            if ending == Ending::OutOfStep {
                let room = match session.machine.has_readings() && !session.machine.is_from_paper() {
                    true => "; its first line is the temperature of the room, or empty",
                    false => "",
                };
                let text = format!("Or with the rest of the answers, put right, in a file REST{room}:");
                console.show(&layout::plain(&text, width, "", "  "))?;
                console.show(&layout::command(&format!("{command} --answers REST"), width))?;
            }
            Status::NotAccepted
        }
        Ending::Closed => {
            console.show(&[Shown::blank()])?;
            console.show(&layout::strong(&format!("Closed: {}", status.verdict.words()), width))?;
            sign::offer(&mut writer, path, console, clock)?;
            console.show(&[Shown::plain("The report:")])?;
            console.show(&layout::command(&format!("bedway report {}", path.display()), width))?;
            if status.verdict.is_accepted() { Status::Well } else { Status::NotAccepted }
        }
    };
    if let Some(example) = as_example {
        example::write_at_end(path, example, console)?;
    }
    Ok(status)
}

/// SHA-256 of a file, read piece by piece.
fn digest_of_file(name: &str) -> io::Result<String> {
    let mut hasher = Sha256::new();
    io::copy(&mut File::open(PathBuf::from(name))?, &mut hasher)?;
    Ok(hex::encode(hasher.finalize()))
}
