//! From the events of a record to the report, in one pass and in step with their number.

use std::collections::{HashMap, HashSet};

use indexmap::IndexMap;

use crate::check::program::{Kind, StepId};
use crate::record::Line;
use crate::record::signature::{Amending, fingerprint};
use crate::walk::event::{Answer, Entry, Event, JudgedStep, ResultLine, RuleLine};
use crate::walk::machine::Machine;
use crate::walk::uncertainty;

use super::labels::{Labels, plain, with_gaps};
use super::model::{
    Closed, DefectLine, EntryLine, FactLine, Held, Kept, Readings, Report, ResultPart, SignatureLine,
    StepPart, Struck, StruckPart, Try,
};
use super::put_right::{Righted, righted};
use super::said::{file_name, when};

/// Builds the report of the lines of a record, in one pass.
///
/// `machine` is the walk as the lines left it; it knows the prose of each step with its values put in.
pub fn build(lines: &[Line], labels: &Labels, machine: Option<&Machine>) -> Report {
    let Righted { lines, struck } = righted(lines);
    let mut builder = Builder {
        struck,
        opened: HashMap::new(),
        labels,
        report: Report::default(),
        at: HashMap::new(),
        steps: HashMap::new(),
        read_with: HashSet::new(),
        amending: Amending::default(),
    };
    builder.prepare();
    for line in lines.iter() {
        builder.take(line);
    }
    if let Some(machine) = machine {
        builder.prose(machine);
        builder.past_their_dates(machine);
        builder.lay_out(machine);
        builder.counted(machine);
    }
    builder.finish(&lines, machine)
}

/// The name under which a step says that its defects are all noted.
const DEFECTS: &str = "defects";

/// How the remark begins that a step was left without a pass.
const LEFT: &str = "Left as it is (";

pub(super) struct Builder<'a> {
    pub(super) labels: &'a Labels<'a>,
    pub(super) report: Report,
    /// Where the entry of a line stands: step, try, set of readings, entry.
    pub(super) at: HashMap<u64, At>,
    steps: HashMap<String, usize>,
    /// What was put right of what a line said.
    pub(super) struck: IndexMap<u64, Vec<StruckPart>>,
    /// The line that opened a try.
    pub(super) opened: HashMap<(String, u32), u64>,
    /// Instruments that something was read with since it was said which one they are.
    pub(super) read_with: HashSet<String>,
    pub(super) amending: Amending,
}

#[derive(Clone, Copy)]
pub(super) enum At {
    Fact(usize),
    /// `again`: among the stations read once more.
    Entry {
        step: usize,
        attempt: usize,
        readings: usize,
        entry: usize,
        again: bool,
    },
}

impl Builder<'_> {
    fn prepare(&mut self) {
        let Some(program) = self.labels.program() else { return };
        self.report.revision.clone_from(&program.revision);
        self.report.decision = uncertainty::wording::decided(&program.decision, program.by_draws);
        self.report.scope = program.scope.iter().map(plain).collect();
        self.report.basis = program.basis.iter().map(plain).collect();
        self.report.parties = program.parties.iter().map(|it| (it.name.clone(), plain(&it.who))).collect();
        for step in &program.steps {
            self.step(&step.name);
        }
    }

    /// The prose of each step with its values, in place of the bare words of the file.
    fn prose(&mut self, machine: &Machine) {
        for (index, step) in machine.program().steps.iter().enumerate() {
            let at = self.step(&step.name);
            let briefing = machine.briefing(StepId(index));
            if let Some(part) = self.report.steps.get_mut(at) {
                part.basis = briefing.basis;
                part.setup = briefing.setup;
                part.conditions = briefing.conditions;
                // A step that was never begun rests on nothing yet.
                if !part.tries.is_empty() {
                    let earlier = super::earlier::taken(machine, step);
                    part.remarks.splice(0..0, earlier);
                }
            }
        }
    }

    pub(super) fn step(&mut self, name: &str) -> usize {
        if let Some(index) = self.steps.get(name) {
            return *index;
        }
        let texts = |texts: &[crate::check::program::Text]| texts.iter().map(with_gaps).collect::<Vec<_>>();
        let part = match self.labels.step(name) {
            Some(step) => StepPart {
                name: name.to_owned(),
                title: plain(&step.title),
                section: self.labels.section(step),
                decision: uncertainty::wording::decided(&step.decision, step.by_draws),
                basis: texts(&step.basis),
                setup: texts(&step.setup),
                conditions: texts(&step.conditions),
                ..StepPart::default()
            },
            None => StepPart { name: name.to_owned(), ..StepPart::default() },
        };
        self.report.steps.push(part);
        let index = self.report.steps.len() - 1;
        self.steps.insert(name.to_owned(), index);
        index
    }

    fn remark(&mut self, step: &str, text: String) {
        let index = self.step(step);
        if let Some(part) = self.report.steps.get_mut(index) {
            part.remarks.push(text);
        }
    }

    pub(super) fn attempt(&mut self, step: &str, number: u32) -> (usize, usize) {
        let index = self.step(step);
        let Some(part) = self.report.steps.get_mut(index) else { return (index, 0) };
        let found = part.tries.iter().position(|it| it.number == number);
        let at = found.unwrap_or_else(|| {
            part.tries.push(Try { number, ..Try::default() });
            part.tries.len() - 1
        });
        (index, at)
    }

    pub(super) fn attempt_mut(&mut self, (step, attempt): (usize, usize)) -> Option<&mut Try> {
        self.report.steps.get_mut(step)?.tries.get_mut(attempt)
    }

    fn take(&mut self, line: &Line) {
        match &line.event {
            Event::Opened { program, rehearsal, title, files, previous, parties, .. } => {
                let report = &mut self.report;
                report.title.clone_from(title);
                report.rehearsal = *rehearsal;
                report.program.clone_from(program);
                report.files =
                    files.iter().map(|file| (file_name(&file.name), file.sha256.clone())).collect();
                report.previous.clone_from(previous);
                report.expected =
                    std::iter::once("operator".to_owned()).chain(parties.iter().cloned()).collect();
                report.opened.clone_from(&line.time);
            }
            Event::Person { role, name } => self.person(line.seq, role, name),
            Event::Fact { name, answer } => {
                let label = self.labels.label(None, name);
                self.at.insert(line.seq, At::Fact(self.report.machine.len()));
                let (name, answer) = (name.clone(), answer.clone());
                let unit = self.labels.unit(None, &name);
                let kind = self.labels.value(None, &name).map(|value| &value.kind);
                let free_text = kind.is_some_and(|kind| *kind == Kind::Text);
                self.report.machine.push(FactLine {
                    seq: line.seq,
                    time: line.time.clone(),
                    name,
                    label,
                    unit,
                    free_text,
                    choice: matches!(kind, Some(Kind::Choice(_))),
                    answer,
                    struck: Vec::new(),
                });
            }
            Event::Instrument(card) => self.instrument(card, line),
            Event::InUse { instrument, resolution, uncertainty } => {
                let mut text = format!("{instrument} in use");
                for part in resolution.iter().map(|it| format!("resolution {it}")).chain(uncertainty.clone())
                {
                    text.push_str(&format!(", {part}"));
                }
                self.report.history.push((line.time.clone(), text));
            }
            Event::PreviousValue { name, reason: Some(reason), .. } => {
                let text = format!("{name} of the record before is not compared: {reason}");
                self.report.history.push((line.time.clone(), text));
            }
            // What else was brought along is no finding of this walk.
            Event::PreviousValue { name, answers, stations, expanded, .. } => {
                if let Some((step, text)) = self.labels.lent(name, answers, stations, expanded) {
                    self.remark(&step, text);
                }
            }
            Event::PreviousInstrument(_) | Event::PreviousMove { .. } => {}
            Event::StepOpened { step, number, after } => {
                self.opened.insert((step.clone(), *number), line.seq);
                let at = self.attempt(step, *number);
                if let Some(attempt) = self.attempt_mut(at) {
                    attempt.opened.clone_from(&line.time);
                    attempt.after.clone_from(after);
                }
            }
            Event::SetOpened { step, reading, reason: Some(reason), .. } => {
                let label = self.labels.label(Some(step), reading);
                self.remark(step, format!("{label} measured again: {reason}"));
            }
            Event::SetOpened { .. } | Event::HalfSaid { .. } => {}
            Event::SetupGivenUp { step, of } => {
                self.remark(step, format!("Taken although another step still needed the set-up of {of}"));
            }
            Event::Confirmed { step, text, answer } => {
                let asked = if *answer { "Confirmed" } else { "Not confirmed at first" };
                self.remark(step, format!("{asked}: {text}"));
            }
            Event::Performed { step, role, name } => {
                self.performed(role, name);
                self.remark(step, format!("By {name}, {role}"));
            }
            Event::Entered(entry) | Event::NotRead(entry) | Event::Observed(entry) => {
                self.reads(&entry.step, &entry.name, &line.time);
                self.entry(line, entry);
            }
            Event::Listed { step, axis, items } => {
                let index = self.step(step);
                let last = self.report.steps.get_mut(index).and_then(|part| part.tries.last_mut());
                // The list of defects only says that all are noted; they stand in a part of their own.
                if let Some(attempt) = last.filter(|_| !items.is_empty() && axis != DEFECTS) {
                    let before = attempt.list(axis, items);
                    before.into_iter().for_each(|text| self.remark(step, text));
                }
            }
            Event::Corrected { of, answer, reason } => self.corrected(line, *of, answer.as_ref(), reason),
            Event::Kept { of, query, reason } => {
                if let Some(entry) = self.at.get(of).copied().and_then(|at| self.entry_mut(at)) {
                    entry.kept = Some(Kept { query: query.clone(), reason: reason.clone() });
                }
            }
            Event::LeftAsIs { step, state } => self.remark(step, format!("{LEFT}{state})")),
            Event::Noted { step: Some(step), text } => self.remark(step, format!("Note: {text}")),
            Event::PutRight(_) => {}
            Event::Noted { step: None, text } => self.report.notes.push(text.clone()),
            Event::Defect { number, step, text, photo } => self.report.defects.push(DefectLine {
                number: *number,
                step: step.clone(),
                text: text.clone(),
                photo: photo.as_ref().map(|it| (it.value.clone(), it.sha256.clone().unwrap_or_default())),
                standing: "open".to_owned(),
                struck: self.struck.get(&line.seq).cloned().unwrap_or_default(),
            }),
            Event::Mended { number, text } => self.defect(*number, format!("mended: {text}")),
            Event::Accepted { number, party, name, reason } => {
                let reason = reason.as_ref().map(|reason| format!(": {reason}")).unwrap_or_default();
                self.defect(*number, format!("accepted by {name}, {party}{reason}"));
            }
            Event::Adjusted(alteration) => self.moved(line, alteration),
            Event::Justified { step, adjustment, reason } => {
                self.justified(step, adjustment, reason);
            }
            Event::Withdrawn { step, adjustment, number } => self.withdrawn(step, adjustment, *number),
            Event::Broken { step, reading, .. } | Event::Joined { step, reading, .. } => {
                let label = self.labels.label(Some(step), reading);
                self.remark(step, format!("{label}: {}", super::breaks::said(&line.event)));
            }
            Event::ReadAgain(entry) => self.read_again(line, entry),
            Event::SeriesStarted { step, .. } | Event::SeriesEnded { step, .. } => {
                self.remark(step, self.labels.series(&line.event, &line.time));
            }
            Event::WaitStarted { step, text, at } => {
                let begun = when(at.as_ref().unwrap_or(&line.time));
                self.remark(step, format!("Wait begun {begun}: {text}"));
            }
            Event::WaitDone { step, at, .. } => {
                self.remark(step, format!("Wait ended {}", when(at.as_ref().unwrap_or(&line.time))));
            }
            Event::Sheet { step, number, taken, by, of } => {
                self.remark(step, self.labels.sheet(*number, taken, by.as_deref(), *of, &line.time));
            }
            Event::Held { step, party, name, signed } => {
                let print = signed.as_ref().map(|it| fingerprint(&it.key).unwrap_or_default());
                let print = print.map(|it| format!(", who signed with the key {it}")).unwrap_or_default();
                self.remark(step, format!("Witnessed by {name}, {party}{print}"));
            }
            Event::Skipped { step, reason } => self.remark(step, format!("Skipped: {reason}")),
            Event::Waived { step, reason, party, name } => {
                let by = [name.as_str(), party.as_str()].into_iter().filter(|it| !it.is_empty());
                let by = by.collect::<Vec<_>>().join(", ");
                self.remark(step, format!("Waived by {by}: {reason}"));
            }
            Event::Paused { .. } | Event::Resumed { .. } => self.came_and_went(line),
            Event::Judged(judged) => self.judged(judged),
            Event::Changed { step, was, now, because } => {
                let index = self.step(step);
                if let Some(part) = self.report.steps.get_mut(index) {
                    part.state.clone_from(now);
                }
                self.remark(step, super::said::changed(was, now, because));
            }
            Event::Stopped { step, by_hand, text } => {
                let by = if *by_hand { "STOP by hand" } else { "STOP" };
                self.remark(step, format!("{by}: {text}"));
            }
            Event::Cleared { step, because } => self.remark(step, format!("Stop cleared: {because}")),
            Event::Reopened { reason } => {
                let was = self.report.closed.take().map(|closed| closed.verdict).unwrap_or_default();
                let when = when(&line.time);
                self.report.notes.push(format!("Closed as {was}, and taken up again {when}: {reason}"));
            }
            Event::Closed { verdict, exceptions, open, stale } => {
                self.report.closed = Some(Closed {
                    verdict: verdict.clone(),
                    exceptions: exceptions.clone(),
                    open: open.clone(),
                    stale: stale.clone(),
                });
            }
            Event::Signing { party, name, identity, key, verdict, .. } => {
                self.report.signatures.push(SignatureLine {
                    party: party.clone(),
                    name: name.clone(),
                    identity: identity.clone(),
                    fingerprint: fingerprint(key).unwrap_or_default(),
                    time: line.time.clone(),
                    verdict: verdict.clone(),
                    bytes: 0,
                    amends: self.amending.by(party, name).next().is_some(),
                });
            }
            Event::Signed { bytes, .. } => {
                self.sign_amendments();
                if let Some(last) = self.report.signatures.last_mut() {
                    last.bytes = *bytes;
                }
            }
            Event::Amended { .. } => self.amended(line),
        }
        self.walked_to(line);
    }

    fn entry(&mut self, line: &Line, entry: &Entry) {
        let at = self.attempt(&entry.step, entry.number);
        let value = self.labels.value(Some(&entry.step), &entry.name);
        let label = self.labels.label(Some(&entry.step), &entry.name);
        let sense = value.and_then(|value| value.sense.clone());
        let unit = value.and_then(|value| value.unit).map(|unit| unit.symbol().to_owned());
        let axes = value.map(|value| self.labels.axes(value)).unwrap_or_default();
        let choice = value.is_some_and(|value| matches!(value.kind, Kind::Choice(_)));
        let own = value
            .filter(|value| !value.station_senses.is_empty())
            .and_then(|value| self.labels.own_sense(value, &entry.stations));
        let Some(attempt) = self.attempt_mut(at) else { return };
        let found = attempt.readings.iter().rposition(|it| it.name == entry.name && it.set == entry.set);
        // The first station once more: the series was broken off, or its stations moved, and it begins again.
        let again = |it: &Readings| it.entries.first().is_some_and(|first| first.stations == entry.stations);
        let found = found.filter(|at| match attempt.readings.get_mut(*at) {
            Some(before) if again(before) => {
                before.left_off = true;
                false
            }
            _ => true,
        });
        let readings = found.unwrap_or_else(|| {
            let (name, set, own) = (entry.name.clone(), entry.set, Vec::new());
            attempt.readings.push(Readings {
                name,
                label,
                observed: matches!(line.event, Event::Observed(_)),
                set,
                unit,
                axes,
                sense,
                own,
                entries: Vec::new(),
                read_again: Vec::new(),
                left_off: false,
            });
            attempt.readings.len() - 1
        });
        let Some(set) = attempt.readings.get_mut(readings) else { return };
        if let Some((station, sense)) = own.filter(|(station, _)| set.own.iter().all(|it| it.0 != *station)) {
            set.own.push((station, sense));
        }
        set.entries.push(EntryLine { choice, ..EntryLine::of(line, entry) });
        let entry = set.entries.len() - 1;
        self.at.insert(line.seq, At::Entry { step: at.0, attempt: at.1, readings, entry, again: false });
    }

    pub(super) fn entry_mut(&mut self, at: At) -> Option<&mut EntryLine> {
        match at {
            At::Fact(_) => None,
            At::Entry { step, attempt, readings, entry, again } => {
                let set = self.attempt_mut((step, attempt))?.readings.get_mut(readings)?;
                let entries = if again { &mut set.read_again } else { &mut set.entries };
                entries.get_mut(entry)
            }
        }
    }

    fn corrected(&mut self, line: &Line, of: u64, answer: Option<&Answer>, reason: &str) {
        let Some(at) = self.at.get(&of).copied() else { return };
        self.at.insert(line.seq, at);
        let struck = |was, not_read, choice| Struck {
            choice,
            seq: line.seq,
            time: line.time.clone(),
            was,
            not_read,
            reason: reason.to_owned(),
        };
        match at {
            At::Fact(index) => {
                if let (Some(fact), Some(answer)) = (self.report.machine.get_mut(index), answer) {
                    let was = std::mem::replace(&mut fact.answer, answer.clone());
                    fact.struck.push(struck(Some(was), None, fact.choice));
                }
            }
            At::Entry { .. } => {
                if let Some(entry) = self.entry_mut(at) {
                    let was = std::mem::replace(&mut entry.answer, answer.cloned());
                    let now = answer.is_none().then(|| reason.to_owned());
                    let not_read = std::mem::replace(&mut entry.reason, now);
                    entry.struck.push(struck(was, not_read, entry.choice));
                    // It was asked about the old value.
                    entry.kept = None;
                }
                if let At::Entry { step, .. } = at
                    && let Some(part) = self.report.steps.get_mut(step)
                {
                    let left = part.remarks.iter_mut().filter(|it| it.starts_with(LEFT) && it.ends_with(')'));
                    left.for_each(|it| it.push_str("; an entry was corrected after that"));
                }
            }
        }
    }

    fn judged(&mut self, judged: &JudgedStep) {
        let at = self.attempt(&judged.step, judged.number);
        let result = |line: &ResultLine| ResultPart {
            label: self.labels.label(Some(&judged.step), &line.name),
            sense: self.labels.value(Some(&judged.step), &line.name).and_then(|value| value.sense.clone()),
            axes: Vec::new(),
            survey: self.labels.survey_rows(&judged.step, &line.name),
            line: line.clone(),
        };
        let held = |rule: &RuleLine| Held {
            label: self.labels.rule(&judged.step, &rule.name),
            sense: self.labels.rule_sense(&judged.step, &rule.name, rule.place.as_deref()),
            window: None,
            rule: rule.clone(),
        };
        let results = judged.results.iter().map(result).collect();
        let rules = judged.rules.iter().map(held).collect();
        if let Some(attempt) = self.attempt_mut(at) {
            attempt.state = Some(judged.state.clone());
            attempt.results = results;
            attempt.rules = rules;
            attempt.advice.clone_from(&judged.advice);
        }
        if let Some(part) = self.report.steps.get_mut(at.0)
            && part.tries.last().is_some_and(|last| last.number == judged.number)
        {
            part.state.clone_from(&judged.state);
        }
    }

    fn finish(mut self, lines: &[Line], machine: Option<&Machine>) -> Report {
        let mut rows = Vec::new();
        for part in &self.report.steps {
            rows.extend(super::rows::of_step(self.labels, part));
        }
        self.report.rows = rows;
        super::papers::fill(&mut self.report, lines);
        super::temperatures::fill(&mut self.report, lines);
        super::effects::fill(&mut self.report.moves, lines, self.labels, machine);
        let is_untouched = |part: &StepPart| part.tries.is_empty() && part.remarks.is_empty();
        let untouched = self.report.steps.extract_if(.., |part| is_untouched(part));
        self.report.untouched = untouched.map(|part| (part.name, part.title)).collect();
        self.report
    }
}
