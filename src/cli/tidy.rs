//! `bedway tidy`: procedure files in their tidy form. A file is replaced in one stroke or left as it is.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use super::args::Tidy;
use super::failure::{Failure, Status};
use super::load;
use crate::record::StoreFault;

const MARK: &[u8] = b"\xef\xbb\xbf";

pub fn run(arguments: &Tidy, out: &mut dyn Write) -> Result<Status, Failure> {
    let mut status = Status::Well;
    for path in &arguments.files {
        let bytes = load::read(path)?;
        let name = path.display();
        if std::str::from_utf8(&bytes).is_err() {
            return Err(Failure::new(
                Status::FaultyProcedure,
                format!("{name} is no text in UTF-8 and is left as it is; `bedway check {name}` says where"),
            ));
        }
        let parsed = crate::syntax::parse_bytes(name.to_string(), &bytes);
        let mut tidy = if parsed.byte_order_mark { MARK.to_vec() } else { Vec::new() };
        tidy.extend_from_slice(crate::tidy::tidy(&parsed).as_bytes());
        if tidy == bytes {
            continue;
        }
        if arguments.check {
            status = Status::NotAccepted;
            writeln!(out, "{name} is not tidy; set it right with: bedway tidy {name}")?;
        } else {
            replace(path, &tidy)
                .map_err(|source| StoreFault::new("could not write", name.to_string(), source))?;
            writeln!(out, "{name} is tidy now")?;
        }
    }
    Ok(status)
}

/// Writes beside the file and puts the new one in its place, so that a power cut leaves the one or the other.
fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let path = path.canonicalize()?;
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".tidy-new");
    let beside = path.with_file_name(name);
    let write = || -> io::Result<()> {
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(&beside)?;
        file.set_permissions(fs::metadata(&path)?.permissions())?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&beside, &path)
    };
    let written = write();
    if written.as_ref().is_err_and(|fault| fault.kind() != io::ErrorKind::AlreadyExists) {
        // What is half written is of no use; the file itself is untouched.
        let _ = fs::remove_file(&beside);
    }
    written
}
