//! A store that fails when told to, so that tests can show what a failing disk does to a record.

use std::io::{self, ErrorKind};

use super::store::Store;

/// How the chosen operation fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Nothing is done: a full disk. Later operations work again.
    Full,
    /// An append puts half of its bytes; whatever else does nothing. Later operations work again.
    Half,
    /// As `Half`, and the store stays dead: the cable is out.
    Dead,
}

/// Passes every operation on, but the `at`-th (from 0) fails.
#[derive(Clone, Debug)]
pub struct FaultyStore<S> {
    inner: S,
    at: u64,
    fault: Fault,
    done: u64,
}

impl<S: Store> FaultyStore<S> {
    pub fn new(inner: S, at: u64, fault: Fault) -> Self {
        Self { inner, at, fault, done: 0 }
    }

    /// How many operations were asked for so far, the failed one included.
    pub fn operations(&self) -> u64 {
        self.done
    }

    fn fails(&mut self) -> io::Result<()> {
        let number = self.done;
        self.done += 1;
        match self.fault {
            Fault::Full if number == self.at => Err(ErrorKind::StorageFull.into()),
            Fault::Half if number == self.at => Err(ErrorKind::StorageFull.into()),
            Fault::Dead if number >= self.at => Err(ErrorKind::NotFound.into()),
            Fault::Full | Fault::Half | Fault::Dead => Ok(()),
        }
    }

    fn first_half(&self, bytes: &[u8]) -> usize {
        let breaks_here = self.done == self.at + 1 && self.fault != Fault::Full;
        if breaks_here { bytes.len().div_ceil(2) } else { 0 }
    }
}

impl<S: Store> Store for FaultyStore<S> {
    fn name(&self) -> String {
        self.inner.name()
    }

    fn read_all(&mut self) -> io::Result<Vec<u8>> {
        self.fails()?;
        self.inner.read_all()
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        if let Err(error) = self.fails() {
            let half = self.first_half(bytes);
            if half > 0 {
                self.inner.append(bytes.get(..half).unwrap_or_default())?;
            }
            return Err(error);
        }
        self.inner.append(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.fails()?;
        self.inner.sync()
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        self.fails()?;
        self.inner.truncate(length)
    }

    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>> {
        self.fails()?;
        self.inner.read_beside(suffix)
    }

    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()> {
        if let Err(error) = self.fails() {
            let half = self.first_half(bytes);
            if half > 0 {
                self.inner.append_beside(suffix, bytes.get(..half).unwrap_or_default())?;
            }
            return Err(error);
        }
        self.inner.append_beside(suffix, bytes)
    }
}
