//! How a command ends: its exit status, or why it could not be done.

use std::io::{self, ErrorKind};
use std::process::ExitCode;

/// What the shell is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Accepted, or all well.
    Well = 0,
    /// Judged and not accepted; also undecided or unfinished.
    NotAccepted = 1,
    Usage = 2,
    FaultyProcedure = 3,
    /// A file could not be read or written.
    Environment = 4,
    /// The record is damaged, or a signature is not good.
    Damaged = 5,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        ExitCode::from(status as u8)
    }
}

/// Why a command ended early.
#[derive(Debug)]
pub enum Failure {
    /// In plain words, with what to type.
    Said { status: Status, message: String },
    /// The screen or the pipe could not be written.
    Screen(io::Error),
}

impl Failure {
    pub fn new(status: Status, message: impl Into<String>) -> Self {
        Failure::Said { status, message: message.into() }
    }

    pub fn environment(message: impl Into<String>) -> Self {
        Self::new(Status::Environment, message)
    }

    pub fn usage(message: impl Into<String>) -> Self {
        Self::new(Status::Usage, message)
    }

    pub fn damaged(message: impl Into<String>) -> Self {
        Self::new(Status::Damaged, message)
    }

    /// Nobody reads on at the other end of the pipe: `bedway report R | head` is well.
    pub fn is_broken_pipe(&self) -> bool {
        matches!(self, Failure::Screen(fault) if fault.kind() == ErrorKind::BrokenPipe)
    }
}

impl From<io::Error> for Failure {
    fn from(fault: io::Error) -> Self {
        Failure::Screen(fault)
    }
}

impl From<crate::record::StoreFault> for Failure {
    fn from(fault: crate::record::StoreFault) -> Self {
        Failure::environment(fault.to_string())
    }
}

impl From<crate::record::OpenFault> for Failure {
    fn from(fault: crate::record::OpenFault) -> Self {
        let status = match fault {
            crate::record::OpenFault::Damaged { .. } => Status::Damaged,
            _ => Status::Environment,
        };
        Failure::new(status, fault.to_string())
    }
}

impl From<crate::record::AppendFault> for Failure {
    fn from(fault: crate::record::AppendFault) -> Self {
        Failure::environment(fault.to_string())
    }
}
