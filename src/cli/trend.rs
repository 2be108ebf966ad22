//! `bedway trend`: a machine over years, from the records of a folder, however many there are.

use std::collections::{HashMap, HashSet};
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::args;
use super::failure::{Failure, Status};
use super::{load, output};
use crate::check::program::Program;
use crate::record::{skim, sum_of_line};
use crate::report::trend::{self, KINDS, LeftOut, NAMES, Visit};
use crate::report::{Labels, clean};
use crate::walk::event::Event;

/// What came of one file.
type Looked = Result<Visit, LeftOut>;

/// The first line of a record with each procedure, by the digest of its texts: thousands of records have but a few.
type FirstLines = HashMap<String, Event>;

pub fn run(arguments: &args::Trend, out: &mut dyn Write) -> Result<Status, Failure> {
    let mut files = Vec::new();
    for path in &arguments.records {
        gather(path, &mut files)?;
    }
    files.sort();
    files.dedup();
    if files.is_empty() {
        return Err(Failure::usage("there is no record there: their names end in .record.jsonl"));
    }
    // First which machine each is of, then the figures of the one: of thousands of records few are wanted.
    let (looked, _) = look_through(&files, NAMES, arguments);
    let (visits, mut left_out) = sorted_out(looked, arguments);
    let mut machines: Vec<(String, Vec<Visit>)> = Vec::new();
    for visit in visits {
        let name = visit.machine.clone().unwrap_or_default();
        match machines.iter_mut().find(|(known, _)| same(known, &name)) {
            Some((_, visits)) => visits.push(visit),
            None => machines.push((name, vec![visit])),
        }
    }
    machines.sort_by(|a, b| a.0.cmp(&b.0));
    if let Some(serial) = &arguments.serial {
        machines.retain(|(name, _)| same(name, serial));
        if machines.is_empty() {
            return Err(Failure::usage(format!(
                "no record of a machine {} can be used here; without --serial the machines are listed",
                clean(serial)
            )));
        }
    }
    if machines.len() != 1 {
        let listed: Vec<(String, Vec<&Visit>)> =
            machines.iter().map(|(name, visits)| (name.clone(), visits.iter().collect())).collect();
        if arguments.html.is_some() || arguments.csv.is_some() {
            write!(out, "{}", trend::machines(&listed, &left_out))?;
            return Err(Failure::usage("a page or a table is of one machine: name it with --serial"));
        }
        write!(out, "{}", trend::machines(&listed, &left_out))?;
        return Ok(Status::Well);
    }
    let Some((machine, visits)) = machines.pop() else { return Ok(Status::Well) };
    let wanted: HashSet<String> = visits.into_iter().map(|visit| visit.file).collect();
    files.retain(|path| wanted.contains(&path.display().to_string()));
    let (looked, first_lines) = look_through(&files, KINDS, arguments);
    let (visits, again) = sorted_out(looked, arguments);
    left_out.extend(again);
    let programs = programs(&visits, &first_lines, &mut left_out);
    let labels: HashMap<String, Labels> =
        programs.iter().map(|(digest, program)| (digest.clone(), Labels::new(Some(program)))).collect();
    let trend = trend::build(machine, &visits, &labels, left_out);
    if let Some(path) = &arguments.html {
        output::to_file(path, trend::page(&trend).as_bytes())?;
        writeln!(out, "Written: {}", path.display())?;
    }
    if let Some(path) = &arguments.csv {
        let table = trend::table(&trend).map_err(|fault| Failure::environment(fault.to_string()))?;
        output::to_file(path, &table)?;
        writeln!(out, "Written: {}", path.display())?;
    }
    if arguments.html.is_none() && arguments.csv.is_none() {
        out.write_all(trend::render(&trend).as_bytes())?;
    }
    Ok(Status::Well)
}

/// One number, whatever the case of its letters and the blanks around it.
fn same(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// A record that is named, or all in a folder and its folders.
fn gather(path: &Path, files: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let fault =
        |fault: std::io::Error| Failure::environment(format!("could not read {}: {fault}", path.display()));
    if !fs::metadata(path).map_err(fault)?.is_dir() {
        files.push(path.to_owned());
        return Ok(());
    }
    let mut folders = vec![path.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).map_err(fault)? {
            let entry = entry.map_err(fault)?;
            let kind = entry.file_type().map_err(fault)?;
            // A link could lead round in a circle.
            if kind.is_dir() {
                folders.push(entry.path());
            } else if entry.file_name().to_string_lossy().ends_with(".record.jsonl") {
                files.push(entry.path());
            }
        }
    }
    Ok(())
}

/// All files, on as many threads as there are processors.
fn look_through(files: &[PathBuf], wanted: &[&str], arguments: &args::Trend) -> (Vec<Looked>, FirstLines) {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let part = files.len().div_ceil(threads).max(1);
    let look_at = |part: &[PathBuf]| {
        let mut first_lines = FirstLines::new();
        let mut bytes = Vec::new();
        let look = |path: &PathBuf| look(path, &mut bytes, wanted, arguments, &mut first_lines);
        let looked: Vec<Looked> = part.iter().map(look).collect();
        (looked, first_lines)
    };
    let parts = std::thread::scope(|scope| {
        let running: Vec<_> = files.chunks(part).map(|part| scope.spawn(move || look_at(part))).collect();
        running.into_iter().map(|thread| thread.join().unwrap_or_default()).collect::<Vec<_>>()
    });
    let (mut looked, mut first_lines) = (Vec::new(), FirstLines::new());
    for (some, first) in parts {
        looked.extend(some);
        first_lines.extend(first);
    }
    (looked, first_lines)
}

/// `bytes` is room for a file, used again for the next.
fn look(
    path: &Path,
    bytes: &mut Vec<u8>,
    wanted: &[&str],
    arguments: &args::Trend,
    first_lines: &mut FirstLines,
) -> Looked {
    let file = path.display().to_string();
    let left_out = |why: String| LeftOut { file: file.clone(), why };
    bytes.clear();
    let read = fs::File::open(path).and_then(|mut file| file.read_to_end(bytes));
    read.map_err(|fault| left_out(format!("could not be read: {fault}")))?;
    let skimmed = skim(bytes, wanted).map_err(|fault| left_out(format!("DAMAGED: {fault}")))?;
    let visit = trend::visit(file.clone(), &skimmed, &arguments.by)
        .ok_or_else(|| left_out("DAMAGED: it does not begin as a record".to_owned()))?;
    if let Some((.., first)) = skimmed.lines.into_iter().next()
        && !first_lines.contains_key(&visit.digest)
    {
        first_lines.insert(visit.digest.clone(), first);
    }
    Ok(visit)
}

/// Those that are taken in, oldest first, and the others with the reason.
fn sorted_out(looked: Vec<Looked>, arguments: &args::Trend) -> (Vec<Visit>, Vec<LeftOut>) {
    let mut visits: Vec<Visit> = Vec::new();
    let mut left_out = Vec::new();
    for visit in looked {
        let visit = match visit {
            Ok(visit) => visit,
            Err(record) => {
                left_out.push(record);
                continue;
            }
        };
        let why = match &visit {
            it if it.rehearsal => Some("a rehearsal: nothing was measured".to_owned()),
            it if it.machine.is_none() => {
                Some(format!("it has no fact {}, so its machine is not known", arguments.by))
            }
            it if !it.signed && !arguments.unsigned => {
                Some("not signed; --unsigned takes it in, marked".to_owned())
            }
            _ => None,
        };
        match why {
            Some(why) => left_out.push(LeftOut { file: visit.file, why }),
            None => visits.push(visit),
        }
    }
    // Of copies of one walk the longest counts.
    visits.sort_by(|a, b| a.beside_copies(b).then_with(|| a.file.cmp(&b.file)));
    let mut kept: Vec<Visit> = Vec::new();
    for visit in visits {
        // Two that were begun in the same second are not yet copies.
        let mut beside = kept.iter().rev().take_while(|it| it.begins_as(&visit));
        let held = beside.find(|it| {
            it.holds(&visit, |number| fs::read(&it.file).ok().and_then(|bytes| sum_of_line(&bytes, number)))
        });
        match held.map(|it| it.file.clone()) {
            Some(file) => {
                left_out.push(LeftOut { file: visit.file, why: format!("the same walk as {file}") })
            }
            None => kept.push(visit),
        }
    }
    kept.sort_by(|a, b| a.read.cmp(&b.read));
    left_out.sort_by(|a, b| a.file.cmp(&b.file));
    (kept, left_out)
}

/// Each procedure once, by the digest of its text. Without it names stand bare.
fn programs(
    visits: &[Visit],
    first_lines: &FirstLines,
    left_out: &mut Vec<LeftOut>,
) -> HashMap<String, Rc<Program>> {
    let mut programs = HashMap::new();
    let mut looked_at: HashSet<&str> = HashSet::new();
    for visit in visits {
        // What is wrong with a text is said once, not of each record that holds it.
        if !looked_at.insert(&visit.digest) {
            continue;
        }
        match load::frozen(first_lines.get(&visit.digest)) {
            Ok(program) => {
                programs.insert(visit.digest.clone(), program);
            }
            Err(fault) => left_out.push(LeftOut {
                file: visit.file.clone(),
                why: format!("taken in without the words of its procedure: {fault}"),
            }),
        }
    }
    programs
}
