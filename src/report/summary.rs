//! What a reader must know first, in every form of the report: warnings, exceptions, what is not well.

use super::model::{Proof, Report, StepPart};
use super::page::clean;
use crate::check::program::StateWord;
use crate::walk::stand::Stand;

/// What stands above all else: damage, a rehearsal, no end, no signature.
pub fn warnings(report: &Report, proof: &Proof) -> Vec<String> {
    let mut said = proof.warnings.clone();
    if report.rehearsal {
        said.push("REHEARSAL: nothing was measured. This is no proof of any machine.".to_owned());
    }
    if report.closed.is_none() && proof.damaged {
        said.push(
            "UNFINISHED as far as it can be believed: no end of the walk stands before the damage."
                .to_owned(),
        );
    } else if report.closed.is_none() {
        said.push("UNFINISHED: the walk has not been closed.".to_owned());
    } else if report.signatures.iter().all(|signature| signature.bytes == 0) {
        said.push("NOT SIGNED: anybody could have written this.".to_owned());
    }
    said
}

/// What stands above all else where only the figures of a record are shown: what became known of it later as well.
pub fn warnings_of_figures(report: &Report, proof: &Proof) -> Vec<String> {
    let later = report.amendments.iter().map(|it| format!("ADDED AFTER THE SIGNING: {}", it.said()));
    warnings(report, proof).into_iter().chain(later).collect()
}

/// Exceptions, what is open or stale, and what was not tested.
pub fn exceptions(report: &Report, proof: &Proof) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(closed) = &report.closed {
        let parts = [("", &closed.exceptions), ("open: ", &closed.open), ("stale: ", &closed.stale)];
        for (word, items) in parts {
            said.extend(items.iter().map(|item| format!("{word}{item}")));
        }
    }
    // Without a `closed` line the states say what is not there yet. What was not tested is said in any case: a step that
    // may be left out is no exception, and nobody shall take it for one that passed.
    let wanted = |words: &str| match (&report.closed, Stand::parse(words)) {
        (_, None) => true,
        (Some(_), Some(stand)) => {
            matches!(stand.state, StateWord::NotApplicable | StateWord::Skipped | StateWord::ToDo)
        }
        (None, Some(stand)) => stand.stale || !matches!(stand.state, StateWord::Passes | StateWord::Recorded),
    };
    let is_said = |name: &str| {
        let begins = format!("{name} ");
        report
            .closed
            .iter()
            .flat_map(|closed| closed.exceptions.iter().chain(&closed.open))
            .any(|it| it.starts_with(&begins))
    };
    let states = proof.states.iter().filter(|(name, state)| wanted(state) && !is_said(name));
    let states: Vec<String> = states
        .map(|(name, state)| {
            let part = report.steps.iter().find(|part| part.name == *name);
            let walked = part.map(|part| part.title.as_str());
            let untouched =
                || report.untouched.iter().find(|(own, _)| own == name).map(|(_, title)| title.as_str());
            let title = walked.or_else(untouched).unwrap_or_default();
            let why =
                part.and_then(|part| part.remarks.iter().find_map(|remark| remark.strip_prefix("Skipped: ")));
            let why = why.filter(|_| state == "skipped").map(|why| format!(": {why}")).unwrap_or_default();
            format!("{}: {state}{why}", format!("{name} {title}").trim_end())
        })
        .collect();
    said.extend(states);
    let known = if said.is_empty() { "What they are" } else { "Whether that is all" };
    said.extend(proof.untold.iter().map(|why| format!("{known} is not known: {why}.")));
    said
}

/// The words of a warning that stand in capitals: `NOT SIGNED`.
pub fn capitals(warning: &str) -> Option<&str> {
    let is_loud =
        |part: &&str| part.len() > 3 && part.chars().all(|it| it.is_uppercase() || " ;".contains(it));
    warning.split([':', '.']).map(str::trim).find(is_loud)
}

/// Where a step stands at the end.
pub fn state<'a>(part: &'a StepPart, states: &'a [(String, String)]) -> &'a str {
    states.iter().find(|(name, _)| *name == part.name).map_or(&part.state, |(_, state)| state)
}

/// What the step has become since, whatever its last try came to: that must not be read as a pass.
pub fn left_out(states: &[(String, String)], step: &str) -> Option<&'static str> {
    let stand = Stand::parse(&states.iter().find(|(name, _)| name == step)?.1)?;
    match stand.state {
        StateWord::Skipped => Some("SKIPPED"),
        StateWord::Waived => Some("WAIVED"),
        StateWord::Blocked => Some("BLOCKED"),
        StateWord::Stopped => Some("STOPPED"),
        _ => stand.stale.then_some("STALE"),
    }
}

/// Whether a verdict or a state gives nobody cause to look again.
pub fn is_well(verdict: &str) -> bool {
    Stand::parse(verdict).is_some_and(Stand::is_well)
}

/// What is not well stands in capitals: it must be found without colour.
pub fn loud(verdict: &str) -> String {
    let verdict = clean(verdict);
    if is_well(&verdict) { verdict } else { verdict.to_uppercase() }
}
