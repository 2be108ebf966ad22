//! Two records of a machine side by side: how the last one left it, how this one found it, and how it left it.
//!
//! Where the two were walked under different revisions, the older entries are judged once more under the newer one, and
//! that is said; what was signed stands beside it. Figures are brought to one unit, one sense and one length first. A
//! change is said only where it is larger than the uncertainty of both figures together. Both records are only read.

mod change;
mod text;

use crate::check::program::StepId;
use crate::walk::SERIAL;
use crate::walk::carry::{Carried, Remarks};
use crate::walk::machine::Machine;

use super::model::Report;
use super::sides::{Figure, Key, Side, Tries, UNTIL, VALID};
use super::under::Walk;

pub use change::{Change, Kind};
pub(super) use text::changed;
pub use text::render;

/// One of the two records.
#[derive(Debug)]
pub struct Walked<'a> {
    pub file: String,
    /// SHA-256 of its end.
    pub end: String,
    pub report: Report,
    pub walk: Walk,
    /// What a reader of it must know first.
    pub warnings: Vec<String>,
    pub machine: &'a Machine,
    /// The text of its procedure.
    pub text: &'a str,
}

/// The two, compared.
#[derive(Debug)]
pub struct Comparison {
    pub warnings: Vec<String>,
    pub old: Which,
    pub new: Which,
    /// Facts that are not the same: label, then, now.
    pub facts: Vec<(String, String, String)>,
    /// Instruments that are not the same, alike.
    pub instruments: Vec<(String, String, String)>,
    /// The verdict of the older entries under the newer revision; none where both are under the same.
    pub old_under_new: Option<String>,
    pub rows: Vec<Row>,
    pub only_old: Vec<String>,
    pub only_new: Vec<String>,
    /// How the older entries went over to the newer revision.
    pub remarks: Remarks,
}

#[derive(Clone, Debug)]
pub struct Which {
    pub file: String,
    pub end: String,
    pub opened: String,
    pub last: String,
    pub walk: Walk,
}

/// One line of a step.
#[derive(Debug)]
pub struct Row {
    pub step: String,
    pub title: String,
    pub what: String,
    /// Under its own revision, as it was signed.
    pub old: Tries,
    /// The same entries under the newer revision: not what was signed.
    pub old_under_new: Option<Tries>,
    pub new: Tries,
    /// From how the old walk left it to how the new one found it.
    pub between: Change,
    /// Which of the older figures was taken for it.
    pub taken: Taken,
    /// From as found to as left in the new walk; none where it was read once.
    pub work: Option<Change>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// Both walks under one revision.
    SameRevision,
    /// The older entries worked out under the newer revision.
    JudgedAgain,
    /// Each by its own revision, which work it out alike.
    OwnRevision,
    Nothing,
}

/// Compares two records. `carried`: the older entries under the newer procedure, where it is another text.
pub fn compare(old: &Walked<'_>, new: &Walked<'_>, carried: Option<&Carried>) -> Comparison {
    let (was, is) = (Side::new(old.machine, old.text), Side::new(new.machine, new.text));
    let again = carried.map(|carried| Side::new(&carried.machine, new.text));
    let mut found = Comparison {
        warnings: warnings(old, new),
        old: which(old),
        new: which(new),
        facts: facts(&old.report, &new.report),
        instruments: instruments(&old.report, &new.report),
        old_under_new: carried.map(|carried| carried.machine.status().verdict.words().to_owned()),
        rows: Vec::new(),
        only_old: Vec::new(),
        only_new: Vec::new(),
        remarks: carried.map(|carried| carried.remarks.clone()).unwrap_or_default(),
    };
    let (states_then, states_now) = (was.states(), is.states());
    for (index, step) in is.program().steps.iter().enumerate() {
        let (id, before) = (StepId(index), was.step(&step.name));
        let now = is.of_step(id);
        let then = before.map(|before| was.of_step(before)).unwrap_or_default();
        match (then.is_empty(), now.is_empty()) {
            (true, true) => continue,
            (true, false) => {
                found.only_new.push(with_state(&is.title(id), &step.name, &states_then));
                continue;
            }
            (false, true) => {
                found.only_old.push(with_state(&is.title(id), &step.name, &states_now));
                continue;
            }
            (false, false) => {}
        }
        let gone = then
            .iter()
            .filter(|(key, _)| of(&now, key).is_none() && ![VALID, UNTIL].contains(&key.name.as_str()));
        for (key, _) in gone {
            let what = before.map(|before| was.what(before, key)).unwrap_or_default();
            found.only_old.push(format!("{} {what}", step.name));
        }
        let judged_again = again.as_ref().map(|again| again.of_step(id)).unwrap_or_default();
        let judged = now.into_iter().filter(|(key, _)| ![VALID, UNTIL].contains(&key.name.as_str()));
        for (key, new_tries) in judged {
            let what = is.what(id, &key);
            let Some(old_tries) = of(&then, &key) else {
                found.only_new.push(format!("{} {what}", step.name));
                continue;
            };
            let under = again.is_some().then(|| of(&judged_again, &key).cloned().unwrap_or_default());
            let alike = before.is_some_and(|before| was.definition(before, &key) == is.definition(id, &key));
            let (taken, figure) = taken(old_tries, under.as_ref(), alike);
            let earlier = match (taken, before) {
                (Taken::JudgedAgain, _) => again.as_ref().map(|again| (again, id)),
                (_, before) => before.map(|before| (&was, before)),
            };
            let between = match (figure, &new_tries.found) {
                (Some(figure), Some(later)) => told((earlier, figure), (Some((&is, id)), later)),
                (None, _) => Change::not_compared(
                    "the two revisions do not work it out alike, and the older entries do not fit the newer",
                ),
                (_, None) => Change::not_compared("it was not judged as found"),
            };
            let work = new_tries.found.as_ref().zip(new_tries.left.as_ref());
            found.rows.push(Row {
                step: step.name.clone(),
                title: is.title(id),
                what,
                old: old_tries.clone(),
                old_under_new: under,
                work: work.map(|(found, left)| told((Some((&is, id)), found), (Some((&is, id)), left))),
                new: new_tries,
                between,
                taken,
            });
        }
    }
    for (index, step) in was.program().steps.iter().enumerate() {
        if is.step(&step.name).is_none() && !was.of_step(StepId(index)).is_empty() {
            found.only_old.push(was.title(StepId(index)));
        }
    }
    found
}

/// A figure with the side and the step that it comes from.
type From<'a, 's> = (Option<(&'s Side<'a>, StepId)>, &'s Figure);

/// The change; where only an uncertainty is wanting to tell, it is worked out first.
fn told((was, earlier): From<'_, '_>, (is, later): From<'_, '_>) -> Change {
    let first = change::change(earlier, later);
    if first.kind != Kind::Unknown {
        return first;
    }
    let known = |side: Option<(&Side<'_>, StepId)>, figure: &Figure| {
        let mut known = figure.clone();
        if let (Some((side, step)), Some(exact)) = (side, &mut known.exact) {
            exact.expanded = exact.expanded.take().or_else(|| side.further(step, figure));
        }
        known
    };
    change::change(&known(was, earlier), &known(is, later))
}

fn of<'t>(lines: &'t [(Key, Tries)], key: &Key) -> Option<&'t Tries> {
    lines.iter().find(|(own, _)| own == key).map(|(_, tries)| tries)
}

/// `L18 Three-jaw chuck (the other: skipped)`.
fn with_state(title: &str, step: &str, states: &[(String, String)]) -> String {
    match states.iter().find(|(name, _)| name == step) {
        Some((_, state)) => format!("{title} (in the other: {state})"),
        None => title.to_owned(),
    }
}

/// The older figure that is compared.
fn taken<'t>(old: &'t Tries, under: Option<&'t Tries>, alike: bool) -> (Taken, Option<&'t Figure>) {
    let Some(under) = under else { return (Taken::SameRevision, old.last()) };
    match under.last().filter(|figure| figure.exact.is_some() || figure.held.rule.value.is_none()) {
        Some(figure) if figure.verdict() != "waiting" => (Taken::JudgedAgain, Some(figure)),
        _ if alike => (Taken::OwnRevision, old.last()),
        _ => (Taken::Nothing, None),
    }
}

fn which(walked: &Walked<'_>) -> Which {
    Which {
        file: walked.file.clone(),
        end: walked.end.clone(),
        opened: walked.report.opened.clone(),
        last: walked.report.last.clone(),
        walk: walked.walk.clone(),
    }
}

fn warnings(old: &Walked<'_>, new: &Walked<'_>) -> Vec<String> {
    let mut said = Vec::new();
    for walked in [old, new] {
        said.extend(walked.warnings.iter().map(|warning| format!("{}: {warning}", walked.file)));
    }
    said.extend(two_machines(&old.report, &new.report));
    let at = |walked: &Walked<'_>| walked.report.opened.parse::<jiff::Timestamp>().ok();
    if at(old).zip(at(new)).is_some_and(|(old, new)| new < old) {
        said.push(format!(
            "THE OTHER WAY ROUND: {} was begun before {}; then is the later one here.",
            new.file, old.file
        ));
    }
    said
}

/// Two machines are set side by side like any other two records, but nobody shall take it for a change of one.
fn two_machines(old: &Report, new: &Report) -> Option<String> {
    let serial = |report: &Report| {
        report.machine.iter().find(|fact| fact.name == SERIAL).map(|fact| (fact.label.clone(), fact.value()))
    };
    let ((_, was), (label, is)) = serial(old).zip(serial(new))?;
    (was != is).then(|| format!("TWO MACHINES: {label} was {was} then, and is {is} now."))
}

/// What was answered of the machine, where it is not the same.
fn facts(old: &Report, new: &Report) -> Vec<(String, String, String)> {
    let mut apart = Vec::new();
    for fact in &new.machine {
        let Some(before) = old.machine.iter().find(|it| it.name == fact.name) else { continue };
        // In the unit of the question, whatever was typed: 2.5 inch then is 63.5 mm now.
        let alike = before.answer.value == fact.answer.value && before.unit == fact.unit;
        if !alike {
            apart.push((fact.label.clone(), before.said(), fact.said()));
        }
    }
    apart
}

fn instruments(old: &Report, new: &Report) -> Vec<(String, String, String)> {
    let mut apart = Vec::new();
    for it in &new.instruments {
        let Some(before) = old.instruments.iter().find(|other| other.name == it.name) else { continue };
        if before.number != it.number {
            let title = if it.title.is_empty() { &it.name } else { &it.title };
            apart.push((title.clone(), format!("no. {}", before.number), format!("no. {}", it.number)));
        }
    }
    apart
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::model::FactLine;
    use crate::walk::event::Answer;

    fn of(serial: &str) -> Report {
        let answer = Answer { typed: serial.to_owned(), unit: None, value: serial.to_owned(), sha256: None };
        let fact = FactLine {
            seq: 2,
            time: String::new(),
            name: SERIAL.to_owned(),
            label: "Serial number".to_owned(),
            unit: None,
            free_text: true,
            choice: false,
            answer,
            struck: Vec::new(),
        };
        Report { machine: vec![fact], ..Report::default() }
    }

    #[test]
    fn two_machines_are_not_taken_for_a_change_of_one() {
        assert_eq!(two_machines(&of("A-1"), &of("A-1")), None);
        let said = two_machines(&of("A-1"), &of("B-7")).unwrap();
        assert_eq!(said, "TWO MACHINES: Serial number was A-1 then, and is B-7 now.");
        assert_eq!(two_machines(&of("A-1"), &Report::default()), None, "of which nothing is known");
    }
}
