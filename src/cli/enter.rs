//! `bedway enter`: types in what was read on paper. The walk of `bedway walk`, told that its entries stood on a sheet.

use super::args::Enter;
use super::clock::Clock;
use super::failure::{Failure, Status};
use super::{load, walk};
use crate::walk::event::How;

pub fn run(arguments: &Enter, clock: &dyn Clock) -> Result<Status, Failure> {
    let manner = walk::Manner { how: How::Sheet, gauge_unit: None, as_example: None };
    let mut console = walk::console_for(arguments.answers.as_deref(), None, false)?;
    let console = console.as_mut();
    if !load::is_record(&load::read(&arguments.file)?) {
        let record = arguments.record.as_deref();
        return walk::begin(&arguments.file, record, &arguments.bring, manner, console, clock);
    }
    arguments.bring.refuse_on_resume(&arguments.file)?;
    if let Some(record) = &arguments.record {
        return Err(Failure::usage(format!(
            "{0} is a record: it goes on as it is, so leave out --record {1}",
            arguments.file.display(),
            record.display()
        )));
    }
    walk::resume(&arguments.file, manner, console, clock)
}
