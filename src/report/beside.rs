//! Parts of the report that stand outside the steps: instruments, defects, and what was moved.

use crate::check::program::Role;
use crate::quantity::{Rational, parse_exact};
use crate::record::Line;
use crate::walk::brought::Card;
use crate::walk::event::{Alteration, Event, InstrumentCard};
use crate::walk::machine::Machine;

use super::build::Builder;
use super::labels::plain;
use super::model::{AmendmentLine, DefectLine, InstrumentLine, Move};
use super::said::{file_name, when};

impl DefectLine {
    /// `photo drain.jpg, SHA-256 ...`; a picture that an example names has no digest.
    pub fn photo_in_words(&self) -> Option<String> {
        self.photo.as_ref().map(|(file, sha256)| match sha256.is_empty() {
            true => format!("photo {}", file_name(file)),
            false => format!("photo {}, SHA-256 {sha256}", file_name(file)),
        })
    }
}

impl AmendmentLine {
    /// `2026-03-02 09:14 the bar was bent (NAME, owner)`, and that nobody has signed it, if so.
    pub fn said(&self) -> String {
        let by = match &self.by {
            Some((name, party)) => format!("signed by {name}, {party}"),
            None => format!("NOT SIGNED by {}, who is said to have added it", self.said_by),
        };
        format!("{} {} ({by})", when(&self.time), self.text)
    }
}

impl Builder<'_> {
    pub(super) fn instrument(&mut self, card: &InstrumentCard, line: &Line) {
        let time = line.time.as_str();
        let instruments =
            self.labels.program().map(|program| program.instruments.as_slice()).unwrap_or_default();
        let title = instruments.iter().find(|it| it.name == card.name).map(|it| plain(&it.title));
        let day = time.get(..10).unwrap_or_default();
        let resolution = card.resolution.as_ref().map(|text| format!("reads to {text}"));
        let papers = [("serial number", &card.serial), ("certificate", &card.certificate)];
        let papers = papers.iter().filter_map(|(what, text)| Some(format!("{what} {}", text.as_ref()?)));
        let mut details: Vec<String> = papers.chain(resolution).collect();
        details.extend(card.uncertainty.iter().cloned());
        let same = self.report.instruments.iter().rposition(|it| it.name == card.name);
        if let Some(before) = same.and_then(|at| self.report.instruments.get_mut(at)) {
            if self.read_with.remove(&card.name) {
                // Something was read with it: both are told.
                before.details.push(format!("until {}", when(time)));
                details.insert(0, format!("from {}", when(time)));
            } else if let Some(at) = same {
                let first = self.report.instruments.remove(at);
                self.report
                    .history
                    .push((time.to_owned(), format!("{}: first given as {}", first.title, first.number)));
            }
        }
        self.report.instruments.push(InstrumentLine {
            name: card.name.clone(),
            title: title.unwrap_or_default(),
            number: card.number.clone(),
            until: card.calibrated_until.clone(),
            // Dates written year first compare as text.
            past: card.calibrated_until.as_deref().is_some_and(|until| until < day),
            line: line.seq,
            details,
            struck: self.struck.get(&line.seq).cloned().unwrap_or_default(),
        });
    }

    /// A reading is taken: by which instruments, and whether their dates have passed meanwhile.
    pub(super) fn reads(&mut self, step: &str, name: &str, time: &str) {
        let Some(Role::Reading(reading)) = self.labels.value(Some(step), name).map(|value| &value.role)
        else {
            return;
        };
        let all = self.labels.program().map(|program| program.instruments.as_slice()).unwrap_or_default();
        let names = reading.instruments.iter().filter_map(|id| all.get(id.0)).map(|it| it.name.as_str());
        let day = time.get(..10).unwrap_or_default();
        for name in names {
            self.read_with.insert(name.to_owned());
            if let Some(line) = self.report.instruments.iter_mut().rev().find(|it| it.name == name) {
                line.past |= line.until.as_deref().is_some_and(|until| until < day);
            }
        }
    }

    /// What was typed in from paper was read on the day of its sheet: the walk knows.
    pub(super) fn past_their_dates(&mut self, machine: &Machine) {
        for it in &mut self.report.instruments {
            it.past = machine.state().card(it.line).map_or(it.past, Card::is_expired);
        }
    }

    /// The walk lasts until here; signing and what is added later belong to it no more.
    pub(super) fn walked_to(&mut self, line: &Line) {
        if !matches!(line.event, Event::Signing { .. } | Event::Signed { .. } | Event::Amended { .. }) {
            self.report.last.clone_from(&line.time);
        }
    }

    pub(super) fn amended(&mut self, line: &Line) {
        self.amending.read(line);
        let Some(added) = self.amending.unsigned.last() else { return };
        self.report.amendments.push(AmendmentLine {
            time: line.time.clone(),
            text: added.text.clone(),
            line: line.seq,
            said_by: added.said_by(),
            by: None,
        });
    }

    /// Who signed last has signed all that they had added.
    pub(super) fn sign_amendments(&mut self) {
        let Some(signer) = self.report.signatures.last() else { return };
        let (name, party) = (signer.name.clone(), signer.party.clone());
        let signed: Vec<u64> = self.amending.by(&party, &name).map(|added| added.line).collect();
        self.amending.sign(&party, &name);
        for it in self.report.amendments.iter_mut().filter(|it| signed.contains(&it.line)) {
            it.by = Some((name.clone(), party.clone()));
        }
    }

    pub(super) fn person(&mut self, line: u64, role: &str, name: &str) {
        self.report.people.push((role.to_owned(), name.to_owned()));
        for struck in self.struck.get(&line).into_iter().flatten() {
            let text = format!("{name}, {role}: first given as {} ({})", struck.was, struck.reason);
            self.report.history.push((struck.time.clone(), text));
        }
    }

    /// Who took a step that is for such a person, once each. What was put right stands with the step.
    pub(super) fn performed(&mut self, role: &str, name: &str) {
        let name = name.split(" (was ").next().unwrap_or(name);
        let person = (role.to_owned(), name.to_owned());
        if !self.report.people.contains(&person) {
            self.report.people.push(person);
        }
    }

    /// The walk was left, or taken up again.
    pub(super) fn came_and_went(&mut self, line: &Line) {
        let (mut text, temperature) = match &line.event {
            Event::Paused { reason, temperature } => (format!("paused ({reason})"), temperature),
            Event::Resumed { temperature, .. } => ("resumed".to_owned(), temperature),
            _ => return,
        };
        if let Some(temperature) = temperature {
            text.push_str(&format!(", {}", super::said::answer_text(temperature)));
        }
        if let Event::Resumed { torn, file_now, .. } = &line.event {
            if let Some(torn) = torn {
                text.push_str(&format!("; a torn last line of {} bytes was set aside", torn.bytes));
            }
            if file_now.is_some() {
                text.push_str("; the procedure file had changed, the frozen text was used");
            }
        }
        self.report.history.push((line.time.clone(), text));
    }

    pub(super) fn defect(&mut self, number: u32, standing: String) {
        if let Some(defect) = self.report.defects.iter_mut().find(|it| it.number == number) {
            defect.standing = standing;
        }
    }

    pub(super) fn moved(&mut self, line: &Line, of: &Alteration) {
        let (step, adjustment) = (of.step.as_str(), of.adjustment.as_deref());
        let named = adjustment.map(|name| self.labels.label(Some(step), name));
        let parts = [named.as_deref(), of.what.as_deref()].into_iter().flatten().map(str::to_owned);
        let what = parts.collect::<Vec<_>>().join(": ");
        let sense = adjustment.and_then(|name| self.labels.value(Some(step), name)?.sense.clone());
        self.report.moves.push(Move {
            seq: line.seq,
            time: line.time.clone(),
            step: step.to_owned(),
            adjustment: adjustment.map(str::to_owned),
            what,
            stations: of.stations.clone(),
            amount: of.amount.clone(),
            unit: adjustment.and_then(|name| self.labels.unit(Some(step), name)),
            sense,
            toward: of.toward.clone(),
            torque: of.torque.clone(),
            by: of.by.clone().or_else(|| self.operator()),
            advised: of.advised.clone(),
            withdrawn: false,
            justified: None,
            undone: false,
            never: self.struck.get(&line.seq).is_some_and(|parts| parts.last().is_some_and(|it| it.never)),
            struck: self.struck.get(&line.seq).cloned().unwrap_or_default(),
            effects: Vec::new(),
        });
        self.mark_undone();
    }

    fn mark_undone(&mut self) {
        let moves = &mut self.report.moves;
        for at in 0..moves.len() {
            let place = |it: &Move| (it.step.clone(), it.adjustment.clone(), it.stations.clone());
            let later = moves[at..].iter().filter(|it| !it.never && place(it) == place(&moves[at]));
            let exact = later.map(|it| it.amount.as_ref().and_then(|amount| parse_exact(&amount.value)));
            let total = exact.sum::<Option<Rational>>();
            let is_named = !moves[at].never && moves[at].adjustment.is_some();
            moves[at].undone = is_named && total.is_some_and(|it| it == Rational::default());
        }
    }

    /// Who takes the readings.
    fn operator(&self) -> Option<String> {
        let of = |(role, _): &&(String, String)| role == "operator";
        self.report.people.iter().rfind(of).map(|(_, name)| name.clone())
    }

    /// Of the advised moves after that try; of an early record, which does not say, of all of them.
    pub(super) fn withdrawn(&mut self, step: &str, adjustment: &str, number: Option<u32>) {
        let opened = |number: u32| self.opened.get(&(step.to_owned(), number)).copied();
        let from = number.and_then(opened).unwrap_or(0);
        let until = number.and_then(|number| opened(number + 1)).unwrap_or(u64::MAX);
        let meant = |it: &Move| it.advised.is_some() && !it.never && (from..until).contains(&it.seq);
        self.each_move(step, adjustment, meant, |it| it.withdrawn = true);
    }

    pub(super) fn justified(&mut self, step: &str, adjustment: &str, reason: &str) {
        let open = |it: &Move| it.withdrawn && !it.undone && it.justified.is_none();
        self.each_move(step, adjustment, open, |it| it.justified = Some(reason.to_owned()));
    }

    /// Those of an adjustment that are meant.
    pub(super) fn each_move(
        &mut self,
        step: &str,
        adjustment: &str,
        meant: impl Fn(&Move) -> bool,
        change: impl Fn(&mut Move),
    ) {
        let of = |it: &Move| it.step == step && it.adjustment.as_deref() == Some(adjustment);
        self.report.moves.iter_mut().filter(|it| of(it) && meant(it)).for_each(change);
    }
}
