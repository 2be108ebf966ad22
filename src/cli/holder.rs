//! Who walks a record, in words: for whoever finds it locked.

use super::clock::Clock;
use crate::report::when;

/// `ann on bench-pc, process 4711, since 2026-03-02 09:14`.
pub fn words(clock: &dyn Clock) -> String {
    let user = ["USER", "LOGNAME", "USERNAME"].iter().find_map(|name| std::env::var(name).ok());
    let user = user.filter(|user| !user.trim().is_empty()).unwrap_or_else(|| "somebody".to_owned());
    let host = gethostname::gethostname();
    let (host, process) = (host.to_string_lossy(), std::process::id());
    format!("{user} on {host}, process {process}, since {}", when(&clock.stamp()))
}
