//! Where a report goes and in which form: to the screen, or to a file that takes the place of an older one whole or not at
//! all. A record is never written over.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::failure::Failure;

/// The form of what is reported.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    #[default]
    Text,
    Markdown,
    Csv,
    Json,
    JsonSchema,
}

#[derive(Clone, Debug, Default, Args)]
pub struct Output {
    /// As text of 80 columns; so it is if nothing is said
    #[arg(long, group = "form")]
    pub text: bool,
    /// As Markdown
    #[arg(long, group = "form")]
    pub markdown: bool,
    /// As comma-separated values (RFC 4180), a line of headings first
    #[arg(long, group = "form")]
    pub csv: bool,
    /// As JSON; every number is a text, exact, beside its unit
    #[arg(long, group = "form")]
    pub json: bool,
    /// Print the JSON Schema of what --json gives, and nothing else
    #[arg(long, group = "form")]
    pub json_schema: bool,
    /// Write it to this file instead of the screen
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

impl Output {
    pub fn form(&self) -> Form {
        match () {
            () if self.markdown => Form::Markdown,
            () if self.csv => Form::Csv,
            () if self.json => Form::Json,
            () if self.json_schema => Form::JsonSchema,
            () => Form::Text,
        }
    }

    /// Writes it where it is to go.
    pub fn write(&self, what: &[u8], screen: &mut dyn Write) -> Result<(), Failure> {
        match &self.out {
            Some(path) => to_file(path, what),
            None => Ok(screen.write_all(what)?),
        }
    }
}

/// A file that is whole or not there, whatever happens meanwhile.
pub fn to_file(path: &Path, what: &[u8]) -> Result<(), Failure> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if name.ends_with(".record.jsonl") || name.ends_with(".sig") {
        return Err(Failure::usage(format!(
            "{} is the name of a record or of its signature, and neither is ever written over; name another file",
            path.display()
        )));
    }
    let fault =
        |fault: std::io::Error| Failure::environment(format!("could not write {}: {fault}", path.display()));
    let beside = path.with_file_name(format!("{name}.part"));
    let written = fs::write(&beside, what).and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        // What was there before is still there.
        let _ = fs::remove_file(&beside);
    }
    written.map_err(fault)
}
