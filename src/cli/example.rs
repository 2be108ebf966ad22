//! `bedway example`: a walk as a worked example of its procedure. The procedure's own file is left alone.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use super::args::Example;
use super::console::{Console, Shown};
use super::examine::read_bytes;
use super::failure::{Failure, Status};
use super::layout;
use crate::record::{Record, StoreFault, read};
use crate::walk::as_example::{Written, as_example};
use crate::walk::event::Event;

pub fn run(arguments: &Example, out: &mut dyn Write) -> Result<Status, Failure> {
    let bytes = read_bytes(&arguments.record)?;
    let record = read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
    let written = written(&record, arguments.title.as_deref())?;
    out.write_all(written.text.as_bytes())?;
    if written.differences.is_empty() {
        return Ok(Status::Well);
    }
    let list: Vec<String> = written.differences.iter().map(|it| format!("\n  - {it}")).collect();
    Err(Failure::new(Status::NotAccepted, format!("the example is not the whole walk:{}", list.concat())))
}

fn written(record: &Record, title: Option<&str>) -> Result<Written, Failure> {
    let events: Vec<(&str, &Event)> =
        record.lines.iter().map(|line| (line.time.as_str(), &line.event)).collect();
    let day = events.first().and_then(|(time, _)| time.get(..10)).unwrap_or_default();
    let title = title.map_or_else(|| format!("as walked on {day}"), str::to_owned);
    as_example(&events, &title)
        .map_err(|why| Failure::environment(format!("no example can be written: {why}")))
}

/// The file must not be there yet: it is told before the walk begins.
pub fn refuse_if_there(path: &Path) -> Result<(), Failure> {
    match path.exists() {
        true => Err(Failure::environment(format!(
            "{} is there already, and nothing is ever overwritten",
            path.display()
        ))),
        false => Ok(()),
    }
}

/// At the end of a walk, whether it is finished or left.
pub fn write_at_end(record: &Path, path: &Path, console: &mut dyn Console) -> Result<(), Failure> {
    let bytes = read_bytes(record)?;
    let record = read(&bytes).map_err(|damaged| Failure::damaged(damaged.damage.to_string()))?;
    let written = written(&record, None)?;
    let fault = |source| StoreFault::new("could not write", path.display().to_string(), source);
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(fault)?;
    file.write_all(written.text.as_bytes()).map_err(fault)?;
    let width = console.width();
    console.show(&[Shown::plain("The walk as an example:")])?;
    console.show(&layout::plain(&path.display().to_string(), width, "  ", "    "))?;
    Ok(console.show(&layout::list("It is not the whole walk:", &written.differences, width))?)
}
