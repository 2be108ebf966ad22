//! Series that were interrupted: what happened, which stations were read again to join the parts, and what each reading
//! behind the break counts as.

use crate::check::program::StepId;
use crate::record::Line;
use crate::walk::event::{Answer, Entry, Event};
use crate::walk::machine::Machine;

use super::build::{At, Builder};
use super::labels::shown;
use super::model::EntryLine;

/// What happened to a series, without its name.
pub(super) fn said(event: &Event) -> String {
    match event {
        Event::Broken { reason, zero_intact: true, .. } => {
            format!("interrupted ({reason}), zero intact: gone on with")
        }
        Event::Broken { reason, from_the_start: true, .. } => {
            format!("series broken ({reason}), begun again from its start")
        }
        Event::Broken { reason, .. } => format!("series broken ({reason})"),
        Event::Joined { stations, shift, disagreement, within, unit, agreed, .. } => {
            let shown = |number: &str, signed: bool| shown(number, unit.as_deref(), signed);
            let stations = stations.join(" and ");
            let figures = format!(
                "shift {}, disagreement {}, allowed {within}",
                shown(shift, true),
                shown(disagreement, false)
            );
            match agreed {
                true => format!("joined through {stations}, read again: {figures}"),
                false => format!("not joined: {stations} read again, {figures}"),
            }
        }
        _ => String::new(),
    }
}

impl EntryLine {
    pub(super) fn of(line: &Line, entry: &Entry) -> Self {
        Self {
            seq: line.seq,
            time: line.time.clone(),
            stations: entry.stations.clone(),
            answer: entry.answer.clone(),
            reason: entry.reason.clone(),
            how: entry.how,
            choice: false,
            read_at: None,
            counts_as: None,
            struck: Vec::new(),
            kept: None,
        }
    }
}

impl Builder<'_> {
    /// A station read again stands beside its set, so that no reading seems to be there twice.
    pub(super) fn read_again(&mut self, line: &Line, entry: &Entry) {
        let at = self.attempt(&entry.step, entry.number);
        let Some(attempt) = self.attempt_mut(at) else { return };
        let found = attempt.readings.iter().rposition(|it| it.name == entry.name && it.set == entry.set);
        let Some((readings, set)) = found.and_then(|at| Some((at, attempt.readings.get_mut(at)?))) else {
            return;
        };
        set.read_again.push(EntryLine::of(line, entry));
        let entry = set.read_again.len() - 1;
        let (step, attempt) = at;
        self.at.insert(line.seq, At::Entry { step, attempt, readings, entry, again: true });
    }

    /// What the readings behind a break count as, and which sets do not count, now that all corrections are in.
    pub(super) fn counted(&mut self, machine: &Machine) {
        let mut counted: Vec<(u64, Answer)> = Vec::new();
        let mut left_off: Vec<u64> = Vec::new();
        for index in 0..machine.program().steps.len() {
            for attempt in &machine.state().step(StepId(index)).attempts {
                for (value, sheets) in &attempt.sheets {
                    let unit = machine.program().values.get(value.0).and_then(|value| value.unit);
                    for sheet in sheets {
                        let kept = sheet.cells.iter().flatten().filter(|_| sheet.retired);
                        left_off.extend(kept.map(|answered| answered.sequence));
                        let later = sheet.cells.iter().flatten().filter(|answered| answered.part > 0);
                        counted.extend(later.map(|answered| {
                            let value = crate::walk::text::record_text(&sheet.counts(answered), unit);
                            let unit = unit.map(|unit| unit.symbol().to_owned());
                            let (typed, sha256) = (value.clone(), None);
                            (answered.sequence, Answer { typed, unit, value, sha256 })
                        }));
                    }
                }
            }
        }
        for seq in left_off {
            if let Some(&At::Entry { step, attempt, readings, .. }) = self.at.get(&seq)
                && let Some(set) =
                    self.attempt_mut((step, attempt)).and_then(|it| it.readings.get_mut(readings))
            {
                set.left_off = true;
            }
        }
        for (seq, counts_as) in counted {
            if let Some(entry) = self.at.get(&seq).copied().and_then(|at| self.entry_mut(at)) {
                entry.counts_as = Some(counts_as);
            }
        }
    }
}
