//! Where the bytes of a record are kept: a file that only grows, or memory.
//!
//! A store knows bytes and names, not lines. It never overwrites what exists: a record is created anew or opened to be
//! added to. Only a torn last line or a half-written one is ever cut off, and only by the [`Writer`](super::Writer).

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use thiserror::Error;

/// What a record is written to. Every call either does the whole of its work or says why not.
pub trait Store {
    /// What messages call it: the path of a file.
    fn name(&self) -> String;
    /// All bytes from the start.
    fn read_all(&mut self) -> io::Result<Vec<u8>>;
    /// Adds at the end. After a failure some of the bytes may stand there.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Returns when everything that was added is on the disk.
    fn sync(&mut self) -> io::Result<()>;
    /// Cuts the end off; for a torn or half-written last line only.
    fn truncate(&mut self, length: u64) -> io::Result<()>;
    /// The whole of the file `NAME.SUFFIX` beside the record, `None` when there is none.
    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>>;
    /// Adds to the file `NAME.SUFFIX` beside the record, which is created when there is none, and syncs it.
    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()>;
}

/// A fault of the disk in plain words.
#[derive(Debug, Error)]
#[error("{doing} {name}: {}", plain(doing, source))]
pub struct StoreFault {
    /// What was being done: `could not open`.
    pub doing: &'static str,
    pub name: String,
    #[source]
    pub source: io::Error,
}

impl StoreFault {
    pub fn new(doing: &'static str, name: impl Into<String>, source: io::Error) -> Self {
        Self { doing, name: name.into(), source }
    }

    /// The file was moved, or its disk unplugged: what it holds is not there now.
    pub fn is_gone(&self) -> bool {
        self.source.kind() == ErrorKind::NotFound
    }
}

fn plain(doing: &str, error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::StorageFull => "the disk is full; make room on it".to_owned(),
        ErrorKind::FileTooLarge => {
            "the system lets this file grow no further; raise that limit, or copy the record to another disk"
                .to_owned()
        }
        ErrorKind::QuotaExceeded => "your share of the disk is used up; make room in it".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read; use one that can be written".to_owned(),
        ErrorKind::PermissionDenied if doing == "could not read" => {
            "you may not read it; ask whose it is for leave".to_owned()
        }
        ErrorKind::PermissionDenied => {
            "you may not write there; choose another folder or ask for leave".to_owned()
        }
        ErrorKind::NotFound => {
            "there is no such file or folder (was it moved, or a disk unplugged?)".to_owned()
        }
        ErrorKind::AlreadyExists => {
            "it exists already and is never overwritten; choose another name".to_owned()
        }
        ErrorKind::IsADirectory => "that is a folder; name a file in it".to_owned(),
        ErrorKind::ResourceBusy => match error.get_ref() {
            Some(holder) => format!("another walk has it open, of {holder}; finish that one first"),
            None => "another walk has it open; finish that one first".to_owned(),
        },
        ErrorKind::Unsupported => {
            "this disk cannot lock a file; keep the record on a disk of this computer".to_owned()
        }
        _ => error.to_string(),
    }
}

/// The name that files beside a record begin with: `lathe.record.jsonl` gives `lathe`.
pub fn side_name(record: &Path) -> String {
    let name = record.file_name().unwrap_or_default().to_string_lossy();
    name.strip_suffix(".record.jsonl").unwrap_or(&name).to_owned()
}

/// A record in a file, locked for as long as this value lives.
#[derive(Debug)]
pub struct FileStore {
    path: PathBuf,
    file: File,
    /// Word of who walks it lies beside it.
    told: bool,
}

impl FileStore {
    /// Creates the file, which must not exist, and makes its name durable.
    pub fn create(path: &Path) -> Result<Self, StoreFault> {
        let fault = |source| StoreFault::new("could not create", path.display().to_string(), source);
        let file = OpenOptions::new().read(true).append(true).create_new(true).open(path).map_err(fault)?;
        let store = Self::locked(path, file)?;
        store.file.sync_all().and_then(|()| sync_folder(path)).map_err(fault)?;
        Ok(store)
    }

    /// Opens a record to add to it.
    pub fn open(path: &Path) -> Result<Self, StoreFault> {
        let fault = |source| StoreFault::new("could not open", path.display().to_string(), source);
        let file = OpenOptions::new().read(true).append(true).open(path).map_err(fault)?;
        Self::locked(path, file)
    }

    fn locked(path: &Path, file: File) -> Result<Self, StoreFault> {
        let fault = |source| StoreFault::new("could not lock", path.display().to_string(), source);
        match file.try_lock() {
            Ok(()) => Ok(Self { path: path.to_owned(), file, told: false }),
            Err(TryLockError::WouldBlock) => Err(fault(match holder(path) {
                Some(holder) => io::Error::new(ErrorKind::ResourceBusy, holder),
                None => ErrorKind::ResourceBusy.into(),
            })),
            Err(TryLockError::Error(error)) => Err(fault(error)),
        }
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Leaves word beside the record of who walks it, for whoever finds it locked. Nothing rests on it: the lock is the
    /// system's and ends with the process, whatever a killed one left here.
    pub fn held_by(mut self, who: &str) -> Self {
        self.told = std::fs::write(self.beside(HELD), who).is_ok();
        self
    }

    /// The path of `NAME.SUFFIX` beside the record.
    pub fn beside(&self, suffix: &str) -> PathBuf {
        beside(&self.path, suffix)
    }

    /// A file that was moved or deleted takes more bytes without a word, and they are lost with it. So each append
    /// first makes sure that the name still leads to this file.
    fn still_there(&self) -> io::Result<()> {
        let named = std::fs::metadata(&self.path)?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let held = self.file.metadata()?;
            if (named.dev(), named.ino()) != (held.dev(), held.ino()) {
                return Err(ErrorKind::NotFound.into());
            }
        }
        #[cfg(not(unix))]
        let _ = named;
        Ok(())
    }
}

/// The ending of the file that says who walks a record.
const HELD: &str = "held";

fn beside(record: &Path, suffix: &str) -> PathBuf {
    record.with_file_name(format!("{}.{suffix}", side_name(record)))
}

/// What the one that holds the lock has left word of.
fn holder(record: &Path) -> Option<String> {
    let text = std::fs::read_to_string(beside(record, HELD)).ok()?;
    let words: String = text.chars().filter(|letter| !letter.is_control()).take(200).collect();
    (!words.trim().is_empty()).then(|| words.trim().to_owned())
}

impl Drop for FileStore {
    /// Before the lock is given up, so that nobody else's word is taken away.
    fn drop(&mut self) {
        if self.told {
            let _ = std::fs::remove_file(self.beside(HELD));
        }
    }
}

/// A new name is only durable when its folder has been synced too.
fn sync_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        File::open(folder)?.sync_all()?;
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

impl Store for FileStore {
    fn name(&self) -> String {
        self.path.display().to_string()
    }

    fn read_all(&mut self) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.file.rewind()?;
        self.file.read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.still_there()?;
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)
    }

    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>> {
        match std::fs::read(self.beside(suffix)) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()> {
        let path = self.beside(suffix);
        let mut file = OpenOptions::new().append(true).create(true).open(&path)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        sync_folder(&path)
    }
}

/// A record in memory, for tests and for trying a procedure. Clones look at the same bytes, so that a test can go on
/// with what a failed walk left behind.
#[derive(Clone, Debug, Default)]
pub struct MemoryStore {
    held: Arc<Mutex<Held>>,
}

#[derive(Debug, Default)]
struct Held {
    bytes: Vec<u8>,
    beside: BTreeMap<String, Vec<u8>>,
    appends: u64,
    syncs: u64,
    reads: u64,
}

impl MemoryStore {
    pub fn new(bytes: Vec<u8>) -> Self {
        let store = Self::default();
        store.held().bytes = bytes;
        store
    }

    pub fn bytes(&self) -> Vec<u8> {
        self.held().bytes.clone()
    }

    pub fn beside(&self, suffix: &str) -> Option<Vec<u8>> {
        self.held().beside.get(suffix).cloned()
    }

    /// How many appends, syncs and whole reads were asked for so far.
    pub fn counts(&self) -> (u64, u64, u64) {
        let held = self.held();
        (held.appends, held.syncs, held.reads)
    }

    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Store for MemoryStore {
    fn name(&self) -> String {
        "the record in memory".to_owned()
    }

    fn read_all(&mut self) -> io::Result<Vec<u8>> {
        let mut held = self.held();
        held.reads += 1;
        Ok(held.bytes.clone())
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut held = self.held();
        held.appends += 1;
        held.bytes.extend_from_slice(bytes);
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        self.held().syncs += 1;
        Ok(())
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        let length = usize::try_from(length).map_err(io::Error::other)?;
        self.held().bytes.truncate(length);
        Ok(())
    }

    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>> {
        Ok(self.beside(suffix))
    }

    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()> {
        self.held().beside.entry(suffix.to_owned()).or_default().extend_from_slice(bytes);
        Ok(())
    }
}

impl<S: Store + ?Sized> Store for &mut S {
    fn name(&self) -> String {
        (**self).name()
    }

    fn read_all(&mut self) -> io::Result<Vec<u8>> {
        (**self).read_all()
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).append(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        (**self).sync()
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        (**self).truncate(length)
    }

    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>> {
        (**self).read_beside(suffix)
    }

    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()> {
        (**self).append_beside(suffix, bytes)
    }
}
