//! Parts of the report that stand outside the steps: instruments, defects, and what was moved.

use crate::record::Line;
use crate::walk::event::Answer;

use super::build::Builder;
use super::labels::plain;
use super::model::{InstrumentLine, Move};

impl Builder<'_> {
    pub(super) fn instrument(
        &mut self,
        name: &str,
        number: &str,
        until: Option<&String>,
        resolution: Option<&String>,
        uncertainty: &[String],
    ) {
        let instruments =
            self.labels.program().map(|program| program.instruments.as_slice()).unwrap_or_default();
        let title =
            instruments.iter().find(|it| it.name == name).map(|it| plain(&it.title)).unwrap_or_default();
        let opened = self.report.opened.get(..10).unwrap_or_default();
        let resolution = resolution.map(|text| format!("reads to {text}"));
        // Said anew: the later one counts, the first is told.
        if let Some(at) = self.report.instruments.iter().position(|it| it.name == name) {
            let first = self.report.instruments.remove(at);
            let time = self.report.opened.clone();
            self.report.history.push((time, format!("{name}: first given as {}", first.number)));
        }
        self.report.instruments.push(InstrumentLine {
            name: name.to_owned(),
            title,
            number: number.to_owned(),
            until: until.cloned(),
            // Dates written year first compare as text.
            past: until.is_some_and(|until| until.as_str() < opened),
            details: resolution.into_iter().chain(uncertainty.iter().cloned()).collect(),
        });
    }

    pub(super) fn defect(&mut self, number: u32, standing: String) {
        if let Some(defect) = self.report.defects.iter_mut().find(|it| it.number == number) {
            defect.standing = standing;
        }
    }

    pub(super) fn moved(
        &mut self,
        line: &Line,
        step: &str,
        adjustment: Option<&str>,
        what: Option<&str>,
        stations: &[String],
        amount: Option<&Answer>,
    ) {
        let named = adjustment.map(|name| self.labels.label(Some(step), name));
        let parts = [named.as_deref(), what].into_iter().flatten().map(str::to_owned);
        let what = parts.collect::<Vec<_>>().join(": ");
        let sense = adjustment.and_then(|name| self.labels.value(Some(step), name)?.sense.clone());
        self.report.moves.push(Move {
            seq: line.seq,
            time: line.time.clone(),
            step: step.to_owned(),
            adjustment: adjustment.map(str::to_owned),
            what,
            stations: stations.to_vec(),
            amount: amount.cloned(),
            sense,
            advised: None,
            withdrawn: false,
            justified: None,
            effects: Vec::new(),
        });
    }

    pub(super) fn each_move(&mut self, step: &str, adjustment: &str, change: impl Fn(&mut Move)) {
        let meant = |it: &&mut Move| it.step == step && it.adjustment.as_deref() == Some(adjustment);
        self.report.moves.iter_mut().filter(meant).for_each(change);
    }
}
