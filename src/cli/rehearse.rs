//! `bedway rehearse`: a whole walk shown, answered from a worked example, to a signed record and its report. Nothing is
//! measured, and everything it writes says so.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::args::{self, Rehearse};
use super::brought::{self, Brought};
use super::clock::{Clock, RehearsalClock};
use super::console::{Console, LinesConsole, Shown};
use super::examine::{examine, read_bytes};
use super::failure::{Failure, Status};
use super::keys::KeySource;
use super::layout;
use super::load::{self, Loaded};
use super::session::{Ending, Session};
use super::sign::{OPERATOR, Sheet, Signer, show_signed, sign};
use super::walk::{opened, stem_of};
use super::{check, report, verify};
use crate::check::program::{Act, Example, Program};
use crate::record::{Digest, FileStore, Store, StoreFault, Writer, read};
use crate::report::clean;
use crate::walk::event::{Event, How};
use crate::walk::machine::Machine;
use crate::walk::question::Expects;
use crate::walk::rehearsal::Player;

/// Everything a rehearsal writes lies below it.
const FOLDER: &str = "rehearsal";

pub fn run(arguments: &Rehearse, clock: &dyn Clock) -> Result<Status, Failure> {
    let loaded = load::load_procedure(&arguments.file)?;
    let Some(program) = loaded.program.clone() else {
        check::show(&loaded, &mut io::stdout().lock())?;
        return Ok(Status::FaultyProcedure);
    };
    let example = choose(&program, arguments.example.as_deref())?.cloned();
    let brought = brought::bring(&arguments.bring, &program, &loaded.frozen, true)?;
    let stem = stem_of(&arguments.file);
    let folder = make_folder(&stem)?;
    let path = folder.join(format!("{stem}.record.jsonl"));
    let mut console = LinesConsole::new(&b""[..], io::stdout());
    show_beginning(&program, example.as_ref(), &mut console)?;
    brought.show(&mut console)?;

    let writer = Writer::begin(FileStore::create(&path)?)?;
    let clock = RehearsalClock::new(clock);
    let player = Player::new(example.as_ref(), &loaded.source, arguments.seed);
    let (ending, mut writer) =
        play(&loaded, example.as_ref(), player, &brought, writer, &mut console, &clock)?;
    if ending == Ending::Closed {
        sign_all(&mut writer, &path, &folder, &mut console, &clock)?;
    }
    drop(writer);
    conclude(&path, arguments.bring.previous.clone(), &folder, &mut console)
}

/// The walk itself, to its end or as far as it comes.
pub fn play<S: Store>(
    loaded: &Loaded,
    example: Option<&Example>,
    mut player: Player,
    brought: &Brought,
    writer: Writer<S>,
    console: &mut dyn Console,
    clock: &RehearsalClock,
) -> Result<(Ending, Writer<S>), Failure> {
    let Some(program) = loaded.program.clone() else { return Ok((Ending::Paused, writer)) };
    if let Some(day) = player.first_day() {
        clock.begin_on(day);
    }
    let mut script = |machine: &mut Machine| {
        if let Expects::Wait { seconds } = machine.question().expects {
            clock.put_forward(seconds);
        }
        let typed = player.next(machine);
        clock.put_forward(player.waits(machine));
        if let Some(day) = player.turns_to_day() {
            clock.put_to(day);
        }
        machine.entries_come(if player.made_up() { How::Seeded } else { How::Example });
        typed
    };
    let photos = |name: &str| Ok(Digest::of(name.as_bytes()).to_string());
    let mut session = Session::new(Machine::new(Rc::clone(&program)), writer, console, clock, &photos);
    session.script = Some(&mut script);
    let files = brought.frozen(loaded.frozen.clone(), loaded.included.clone());
    session.open(opened(&program, files, brought.digest_before(), true))?;
    session.bring(brought)?;
    // What the example says of the record before is there from the beginning, as it would be.
    for (act, _) in example.iter().flat_map(|example| &example.lines) {
        if let Act::PreviousValue(..) = act
            && let Ok(reply) = session.machine.act(act.clone())
        {
            session.commit(reply, "")?;
        }
    }
    let ending = session.run()?;
    Ok((ending, session.writer))
}

/// The example named, or the one that says most.
fn choose<'a>(program: &'a Program, title: Option<&str>) -> Result<Option<&'a Example>, Failure> {
    let Some(title) = title else {
        return Ok(program.examples.iter().max_by_key(|example| example.lines.len()));
    };
    let wanted = title.trim().to_lowercase();
    let found = program.examples.iter().find(|example| example.title.to_lowercase() == wanted);
    let found = found.or_else(|| {
        program.examples.iter().find(|example| example.title.to_lowercase().starts_with(&wanted))
    });
    match found {
        Some(example) => Ok(Some(example)),
        None => {
            let titles: Vec<String> =
                program.examples.iter().map(|example| format!("  {}", clean(&example.title))).collect();
            let known = if titles.is_empty() {
                "the file has no example; leave --example out".to_owned()
            } else {
                format!("its examples are:\n{}", titles.join("\n"))
            };
            Err(Failure::usage(format!("there is no example \"{}\"; {known}", clean(title))))
        }
    }
}

/// A folder of its own for each rehearsal, so that none overwrites another.
fn make_folder(stem: &str) -> Result<PathBuf, Failure> {
    let fault = |path: &Path, source| {
        StoreFault::new("could not create the folder", path.display().to_string(), source)
    };
    let base = Path::new(FOLDER);
    fs::create_dir_all(base).map_err(|source| fault(base, source))?;
    for number in 1_u32..=99_999 {
        let name = if number == 1 { stem.to_owned() } else { format!("{stem}-{number}") };
        let folder = base.join(name);
        match fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(source) if source.kind() == io::ErrorKind::AlreadyExists => {}
            Err(source) => return Err(fault(&folder, source).into()),
        }
    }
    Err(Failure::environment(format!("{FOLDER} is full of rehearsals; delete the old ones")))
}

fn show_beginning(
    program: &Program,
    example: Option<&Example>,
    console: &mut dyn Console,
) -> Result<(), Failure> {
    let from = match example {
        Some(example) => {
            format!("Answers from the example \"{}\"; where it is silent, made up.", example.title)
        }
        None => "The file has no example: all answers are made up.".to_owned(),
    };
    let width = console.width();
    let mut lines = vec![Shown::strong("REHEARSAL: nothing is measured.")];
    lines.extend(layout::strong(&program.title, width));
    lines.extend(layout::plain(&from, width, "", "  "));
    Ok(console.show(&lines)?)
}

/// The operator and each party sign with keys made for this rehearsal only.
fn sign_all(
    writer: &mut Writer<FileStore>,
    path: &Path,
    folder: &Path,
    console: &mut dyn Console,
    clock: &dyn Clock,
) -> Result<(), Failure> {
    let bytes = writer.bytes()?;
    let record = read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
    let sheet = Sheet::of(&record);
    let witness = |role: &str| {
        record.lines.iter().find_map(|line| match &line.event {
            Event::Held { party, name, .. } | Event::Waived { party, name, .. } if party == role => {
                Some(name.clone())
            }
            _ => None,
        })
    };
    let mut allowed = String::new();
    for role in sheet.missing() {
        let name = match sheet.operator().filter(|_| role == OPERATOR) {
            Some(operator) => operator.to_owned(),
            None => witness(&role).unwrap_or_else(|| format!("Rehearsal {role}")),
        };
        let signer = Signer { name, role };
        let source = KeySource::Rehearsal(folder.join("keys"));
        let signed = sign(writer, &signer, &source, console, clock)?;
        show_signed(&signed, path, console)?;
        if let Event::Signing { identity, key, .. } = &signed.signing.event {
            allowed.push_str(&format!("{identity} namespaces=\"bedway\" {key}\n"));
        }
    }
    write_new(&folder.join("allowed_signers"), allowed.as_bytes())
}

/// Report, proof, and where everything lies.
fn conclude(
    path: &Path,
    previous: Option<PathBuf>,
    folder: &Path,
    console: &mut dyn Console,
) -> Result<Status, Failure> {
    let report = folder.join("report.txt");
    let signers = Some(folder.join("allowed_signers")).filter(|path| path.exists());
    let examined = examine(read_bytes(path)?, None);
    write_new(&report, report::text(&examined, path, false).as_bytes())?;
    let page = folder.join("report.html");
    write_new(&page, report::html(&examined, path, false).as_bytes())?;
    console.show(&[Shown::blank(), Shown::strong("Verified:")])?;
    let arguments = args::Verify { record: path.to_owned(), signers, ends: None, previous, rehearsal: true };
    let mut proof = Vec::new();
    let status = verify::run(&arguments, &mut proof)?;
    io::stdout().lock().write_all(&proof)?;
    let width = console.width();
    let mut lines = vec![Shown::blank()];
    for (what, path) in [("Record: ", path), ("Report: ", &report), ("        ", &page)] {
        lines.extend(layout::plain(&path.display().to_string(), width, what, "        "));
    }
    console.show(&lines)?;
    Ok(status)
}

fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let write = || -> io::Result<()> {
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().map_err(|source| StoreFault::new("could not write", path.display().to_string(), source).into())
}
