//! Whose key signs: the one named, or the person's own, made where there is none.
//!
//! A key of its own lies in `bedway/keys/IDENTITY` of the configuration folder: `$XDG_CONFIG_HOME`, else `~/.config`,
//! on Windows `%APPDATA%`. It is an ordinary OpenSSH key and always has a passphrase.

use std::path::{Path, PathBuf};

use super::console::{Console, Shown};
use super::failure::Failure;
use super::layout;
use crate::record::signature::{KeyFault, OsRng, SigningKey};

/// Holds the passphrase where nobody can be asked: on a build server, in a test.
pub const PASSPHRASE_VARIABLE: &str = "BEDWAY_PASSPHRASE";

/// How often two passphrases that differ are asked for again.
const TRIES: u32 = 3;

/// Where a key comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeySource {
    /// A file that the person named.
    Named(PathBuf),
    /// The person's own in this folder.
    Own(PathBuf),
    /// A rehearsal's: made in this folder without a passphrase, good for nothing else.
    Rehearsal(PathBuf),
}

impl KeySource {
    pub fn choose(named: Option<&Path>) -> Result<Self, Failure> {
        match named {
            Some(path) => Ok(Self::Named(path.to_owned())),
            None => keys_folder().map(Self::Own).ok_or_else(|| {
                Failure::environment(
                    "there is no home folder to keep a key in; name a key with --key PATH, or set HOME or XDG_CONFIG_HOME",
                )
            }),
        }
    }

    /// Whether the key of a person need not be made first.
    pub fn is_there(&self, identity: &str) -> bool {
        match self {
            Self::Named(_) | Self::Rehearsal(_) => true,
            Self::Own(folder) => folder.join(identity).exists(),
        }
    }

    /// The key of a person, made where it may be and there is none.
    pub fn key(&self, identity: &str, console: &mut dyn Console) -> Result<SigningKey, Failure> {
        let key = match self {
            Self::Named(path) => load(path, console),
            Self::Own(folder) => {
                let path = folder.join(identity);
                if path.exists() { load(&path, console) } else { make(&path, identity, console) }
            }
            Self::Rehearsal(folder) => {
                SigningKey::make(&folder.join(identity), &format!("{identity} rehearsal"), None, &mut OsRng)
            }
        };
        key.map_err(|fault| Failure::environment(format!("{fault}. Nothing was signed")))
    }
}

/// The key of a witness, from the file that they name; `~/` is their home folder.
pub fn of_witness(named: &str, console: &mut dyn Console) -> Result<SigningKey, KeyFault> {
    load(&at_home(named), console)
}

/// A file as a person names it.
pub fn at_home(named: &str) -> PathBuf {
    let home = std::env::var_os("HOME").filter(|home| !home.is_empty());
    match (named.strip_prefix("~/"), home) {
        (Some(rest), Some(home)) => Path::new(&home).join(rest),
        _ => PathBuf::from(named),
    }
}

fn keys_folder() -> Option<PathBuf> {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let config = match set("XDG_CONFIG_HOME").filter(|path| path.is_absolute()) {
        Some(folder) => folder,
        None if cfg!(windows) => set("APPDATA")?,
        None => set("HOME")?.join(".config"),
    };
    Some(config.join("bedway").join("keys"))
}

fn load(path: &Path, console: &mut dyn Console) -> Result<SigningKey, KeyFault> {
    let given = std::env::var(PASSPHRASE_VARIABLE).ok();
    SigningKey::load(path, |attempt| match (&given, attempt) {
        (Some(given), 1) => Some(given.clone()),
        (Some(_), _) => None,
        (None, 1) => console.secret(&format!("Passphrase of {}", path.display())).ok().flatten(),
        (None, _) => console.secret("That was not it. Passphrase").ok().flatten(),
    })
}

fn make(path: &Path, identity: &str, console: &mut dyn Console) -> Result<SigningKey, KeyFault> {
    let width = console.width();
    let text = format!("There is no key for {identity} yet. One is made:");
    let mut lines = layout::plain(&text, width, "", "  ");
    lines.extend(layout::plain(&path.display().to_string(), width, "  ", "  "));
    let text = "Its passphrase is asked whenever it signs. Nobody can tell you it again.";
    lines.extend(layout::plain(text, width, "", "  "));
    let _ = console.show(&lines);
    let passphrase = new_passphrase(console).ok_or_else(|| KeyFault::NoPassphrase(path.to_owned()))?;
    SigningKey::make(path, identity, Some(&passphrase), &mut OsRng)
}

fn new_passphrase(console: &mut dyn Console) -> Option<String> {
    if let Ok(given) = std::env::var(PASSPHRASE_VARIABLE) {
        return Some(given);
    }
    for _ in 0..TRIES {
        let first = console.secret("A new passphrase").ok()??;
        if first.is_empty() {
            let _ = console.show(&[Shown::plain("It must not be empty.")]);
            continue;
        }
        if console.secret("The same once more").ok()?? == first {
            return Some(first);
        }
        let _ = console.show(&[Shown::plain("The two differ.")]);
    }
    None
}
