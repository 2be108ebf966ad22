//! When readings that were typed in from paper were read: what a sheet says holds for what is entered behind it in its try.

use std::collections::HashMap;

use crate::record::Line;
use crate::walk::event::{Event, How};

use super::model::{Paper, Report};

/// Puts the time of reading beside each entry that came from a sheet.
pub(super) fn fill(report: &mut Report, lines: &[Line]) {
    let mut sheet_of: HashMap<(&str, u32), u64> = HashMap::new();
    // A line that corrects an earlier one speaks of the same sheet.
    let mut first: HashMap<u64, u64> = HashMap::new();
    let mut taken: HashMap<u64, &str> = HashMap::new();
    let mut entered: HashMap<u64, u64> = HashMap::new();
    for line in lines {
        match &line.event {
            Event::Sheet { step, number, taken: when, of, .. } => {
                let sheet = of.and_then(|of| first.get(&of).copied()).unwrap_or(line.seq);
                first.insert(line.seq, sheet);
                taken.insert(sheet, when);
                sheet_of.insert((step, *number), sheet);
            }
            Event::Entered(entry)
            | Event::Observed(entry)
            | Event::NotRead(entry)
            | Event::ReadAgain(entry)
                if entry.how == How::Sheet =>
            {
                let sheet = sheet_of.get(&(entry.step.as_str(), entry.number)).copied();
                entered.extend(sheet.map(|sheet| (line.seq, sheet)));
            }
            _ => {}
        }
    }
    let (mut moments, mut all): (Vec<String>, bool) = (Vec::new(), true);
    for attempt in report.steps.iter_mut().flat_map(|part| &mut part.tries) {
        let of_try = moments.len();
        for set in &mut attempt.readings {
            for entry in set.entries.iter_mut().chain(&mut set.read_again) {
                entry.read_at =
                    entered.get(&entry.seq).and_then(|sheet| taken.get(sheet)).map(|it| (*it).to_owned());
                all &= entry.read_at.is_some();
                moments.extend(entry.read_at.clone());
            }
        }
        attempt.read_at = moments.get(of_try..).and_then(|own| own.iter().min()).cloned();
    }
    let ends = moments.iter().min().zip(moments.iter().max());
    report.paper = ends.map(|(from, to)| Paper { from: from.clone(), to: to.clone(), all });
}
