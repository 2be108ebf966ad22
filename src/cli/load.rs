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
use crate::syntax::{Reader, parse_whole};
use crate::walk::event::{Event, FileText};

/// So much is read at most, of a device that never ends for instance; `syntax` refuses far smaller files.
const MOST_READ: u64 = 256 * 1024 * 1024;

/// A file that was read and checked.
#[derive(Debug)]
pub struct Loaded {
    pub source: SourceFile,
    pub program: Option<Rc<Program>>,
    /// Without a fault of its own, but its worked examples come out otherwise.
    pub untried: Option<Rc<Program>>,
    /// Shared parts without a fault, for other files to include.
    pub library: Option<Rc<Program>>,
    /// Of a file of the shop's instruments.
    pub kit: Option<Rc<Kit>>,
    pub problems: Vec<Problem>,
    /// The bytes of the file as text, for freezing.
    pub frozen: FileText,
    /// Those of the libraries that it includes.
    pub included: Vec<FileText>,
}

/// Reads and checks a procedure file, its examples included.
pub fn load(path: &Path) -> Result<Loaded, Failure> {
    let folder = path.parent().map(Path::to_path_buf).unwrap_or_default();
    let mut reader = |name: &str| read_included(&folder, name);
    let (name, bytes) = (path.display(), read(path)?);
    if is_record(&bytes) {
        return Err(Failure::usage(format!(
            "{name} is the record of a walk, and a procedure is wanted here. To go on with that walk: bedway walk --resume {name}; to \
             read it: bedway report {name}"
        )));
    }
    Ok(check_whole(&name.to_string(), &bytes, &mut reader))
}

/// A record begins with a brace; no procedure does.
pub fn is_record(bytes: &[u8]) -> bool {
    bytes.first() == Some(&b'{')
}

/// The same, of a file that is to be walked: a procedure.
pub fn load_procedure(path: &Path) -> Result<Loaded, Failure> {
    let loaded = load(path)?;
    let what = match (&loaded.library, &loaded.kit) {
        (Some(_), _) => "a library: a procedure includes it, and is walked in its place",
        (_, Some(_)) => "a kit: name the procedure, and bring the kit with --kit",
        (None, None) => return Ok(loaded),
    };
    Err(Failure::usage(format!("{} is {what}", path.display())))
}

/// A library in the folder of the file that includes it, or beneath. A link that leads out of it is not followed.
fn read_included(folder: &Path, name: &str) -> Result<Vec<u8>, String> {
    let path = folder.join(name);
    let said = |fault: &std::io::Error| reason(fault);
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let inside = here.canonicalize().map_err(|fault| said(&fault))?;
    let whole = path.canonicalize().map_err(|fault| said(&fault))?;
    if !whole.starts_with(&inside) {
        return Err("it lies outside the folder of the procedure".to_owned());
    }
    let mut bytes = Vec::new();
    let file = File::open(&whole).map_err(|fault| said(&fault))?;
    if file.metadata().map_err(|fault| said(&fault))?.is_dir() {
        return Err(reason(&ErrorKind::IsADirectory.into()));
    }
    file.take(MOST_READ).read_to_end(&mut bytes).map_err(|fault| said(&fault))?;
    Ok(bytes)
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
    Failure::environment(format!("could not read {}: {}", path.display(), reason(fault)))
}

fn reason(fault: &std::io::Error) -> String {
    match fault.kind() {
        ErrorKind::NotFound => {
            "there is no such file; look at the name, and whether you are in its folder".to_owned()
        }
        ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        ErrorKind::IsADirectory => "that is a folder; name a file in it".to_owned(),
        _ => fault.to_string(),
    }
}

/// Checks the bytes of a file that includes nothing.
pub fn check(name: &str, bytes: &[u8]) -> Loaded {
    check_whole(name, bytes, &mut |_| Err("nothing can be included here".to_owned()))
}

/// Checks the bytes of a file with what it includes.
pub fn check_whole(name: &str, bytes: &[u8], read: Reader<'_>) -> Loaded {
    let whole = parse_whole(name, bytes, read);
    let checked = crate::check::check(&whole.parsed);
    let mut problems = checked.problems;
    let program = checked.program.map(Rc::new);
    if let Some(program) = &program {
        problems.extend(crate::walk::examples::prove(program));
        problems.extend(crate::walk::impossible::impossible(program));
        problems.extend(crate::walk::uncertainty::foresee::foresee(program));
    }
    let problems = crate::diagnostic::in_file_order(problems);
    let sound = !problems.iter().any(Problem::is_fault);
    let untried = program.clone().filter(|program| !sound && !program.is_library);
    let program = program.filter(|_| sound);
    let is_library = program.as_ref().is_some_and(|program| program.is_library);
    let (library, program) = if is_library { (program, None) } else { (None, program) };
    let folder = folder_of(name);
    let included = whole.included.iter().map(|(own, bytes)| frozen_text(format!("{folder}{own}"), bytes));
    Loaded {
        included: included.collect(),
        source: whole.parsed.source,
        program,
        untried,
        library,
        kit: checked.kit.map(Rc::new).filter(|_| sound),
        problems,
        frozen: frozen_text(name.to_owned(), bytes),
    }
}

/// All of a name before that of the file itself.
fn folder_of(name: &str) -> &str {
    name.rfind(['/', '\\']).and_then(|at| name.get(..=at)).unwrap_or("")
}

fn frozen_text(name: String, bytes: &[u8]) -> FileText {
    let text = String::from_utf8_lossy(bytes).into_owned();
    FileText { name, sha256: Digest::of(text.as_bytes()).to_string(), text }
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
            return Err(FrozenFault::Digest(crate::report::file_name(&file.name)));
        }
    }
    let Some(main) = files.first() else { return Err(FrozenFault::NotOpened) };
    let folder = folder_of(&main.name);
    let mut read = |name: &str| {
        let wanted = format!("{folder}{name}");
        let file = files.iter().skip(1).find(|file| file.name == wanted);
        file.map(|file| file.text.as_bytes().to_vec()).ok_or_else(|| "it is not in the record".to_owned())
    };
    let whole = parse_whole(&main.name, main.text.as_bytes(), &mut read);
    let checked = crate::check::check(&whole.parsed);
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
