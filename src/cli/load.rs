//! From a file, or from the text frozen in a record, to a checked program. The only place in `cli` that knows the stages.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;
use std::rc::Rc;

use super::failure::Failure;
use crate::check::program::{Kit, Program};
use crate::diagnostic::Problem;
use crate::record::Digest;
use crate::source::SourceFile;
use crate::walk::event::{Event, FileText};

/// So much is read at most, of a device that never ends for instance; `syntax` refuses far smaller files.
const MOST_READ: u64 = 256 * 1024 * 1024;

/// A file that was read and checked.
#[derive(Debug)]
pub struct Loaded {
    pub source: SourceFile,
    pub program: Option<Rc<Program>>,
    /// Of a file of the shop's instruments.
    pub kit: Option<Rc<Kit>>,
    pub problems: Vec<Problem>,
    /// The bytes of the file as text, for freezing.
    pub frozen: FileText,
}

/// Reads and checks a procedure file, its examples included.
pub fn load(path: &Path) -> Result<Loaded, Failure> {
    Ok(check(&path.display().to_string(), &read(path)?))
}

/// Reads the bytes of a procedure file.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    open(path)?.take(MOST_READ).read_to_end(&mut bytes).map_err(|fault| failure(path, &fault))?;
    Ok(bytes)
}

/// Opens a file, or says in words why it cannot be.
pub fn open(path: &Path) -> Result<File, Failure> {
    let file = File::open(path).map_err(|fault| failure(path, &fault))?;
    if file.metadata().map_err(|fault| failure(path, &fault))?.is_dir() {
        return Err(failure(path, &ErrorKind::IsADirectory.into()));
    }
    Ok(file)
}

fn failure(path: &Path, fault: &std::io::Error) -> Failure {
    let reason = match fault.kind() {
        ErrorKind::NotFound => {
            "there is no such file; look at the name, and whether you are in its folder".to_owned()
        }
        ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        ErrorKind::IsADirectory => "that is a folder; name a file in it".to_owned(),
        _ => fault.to_string(),
    };
    Failure::environment(format!("could not read {}: {reason}", path.display()))
}

/// Checks the bytes of a procedure.
pub fn check(name: &str, bytes: &[u8]) -> Loaded {
    let parsed = crate::syntax::parse_bytes(name, bytes);
    let checked = crate::check::check(&parsed);
    let mut problems = checked.problems;
    let program = checked.program.map(Rc::new);
    if let Some(program) = &program {
        problems.extend(crate::walk::examples::prove(program));
        problems.extend(crate::walk::uncertainty::foresee::foresee(program));
    }
    let problems = crate::diagnostic::in_file_order(problems);
    let sound = !problems.iter().any(Problem::is_fault);
    let text = String::from_utf8_lossy(bytes).into_owned();
    let frozen = FileText { name: name.to_owned(), sha256: Digest::of(text.as_bytes()).to_string(), text };
    let kit = checked.kit.map(Rc::new);
    Loaded { source: parsed.source, program: program.filter(|_| sound), kit, problems, frozen }
}

/// Why a frozen procedure cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum FrozenFault {
    #[error("the first line is not `opened`, so there is no procedure in it")]
    NotOpened,
    #[error("the text of {0} frozen in it does not have the digest that stands beside it")]
    Digest(String),
    #[error(
        "this version of the program finds faults in the procedure frozen in it (made by version {made_by}): {first}"
    )]
    Faulty { made_by: String, first: String },
}

/// The program that a record was walked under, from its first event. Its examples are not worked out again.
pub fn frozen(opened: Option<&Event>) -> Result<Rc<Program>, FrozenFault> {
    let Some(Event::Opened { files, program: made_by, .. }) = opened else {
        return Err(FrozenFault::NotOpened);
    };
    for file in files {
        if Digest::of(file.text.as_bytes()).to_string() != file.sha256 {
            return Err(FrozenFault::Digest(file.name.clone()));
        }
    }
    let Some(main) = files.first() else { return Err(FrozenFault::NotOpened) };
    let parsed = crate::syntax::parse_bytes(main.name.as_str(), main.text.as_bytes());
    let checked = crate::check::check(&parsed);
    checked.program.map(Rc::new).ok_or_else(|| {
        let first = checked.problems.iter().find(|problem| problem.is_fault());
        let first = first.map(|problem| problem.message.clone()).unwrap_or_default();
        FrozenFault::Faulty { made_by: made_by.clone(), first }
    })
}

/// The kit that was brought to a walk, as it was then.
pub fn frozen_kit(opened: Option<&Event>) -> Option<Rc<Kit>> {
    let Some(Event::Opened { files, .. }) = opened else { return None };
    files.iter().skip(1).find_map(|file| {
        let parsed = crate::syntax::parse_bytes(file.name.as_str(), file.text.as_bytes());
        crate::check::check(&parsed).kit.map(Rc::new)
    })
}
