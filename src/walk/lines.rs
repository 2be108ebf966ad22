//! A judged try as it stands on the record and as it is said at the bench.

use std::rc::Rc;

use crate::check::program::{Judged as Plan, Program, StepId, ValueId};
use crate::quantity::{Real, Unit};

use super::asked_words;
use super::eval::Evaluator;
use super::event::{JudgedStep, ResultLine, RuleLine};
use super::question::Refusal;
use super::question::{Said, Tone};
use super::state::State;
use super::text;
use super::uncertainty;
use super::value::{Cell, Laid};
use super::verdict::{Judged, Limit, Outcome, StepResults, Verdict};
use super::view::View;
use super::wording;

/// Which value of a row cannot be taken; or that the line is no row at all.
pub fn in_row(refusal: Refusal, at: usize, typed: &[String]) -> Refusal {
    match typed {
        [_] => refusal,
        words if !words.iter().any(|word| word.chars().any(|letter| letter.is_ascii_digit())) => {
            let help = refusal.help.unwrap_or_default();
            Refusal::new(format!("\"{}\" is not understood here.", words.join(" ")))
                .help(format!("{help} help lists the words that can be used.").trim().to_owned())
        }
        _ => Refusal { message: format!("Value {} of the row: {}", at + 1, refusal.message), ..refusal },
    }
}

/// Said beside what was not measured.
pub const PROJECTION: &str = "a projection, not measured";

/// A reason in words, of a cell that is not known.
pub(super) fn why_not(cell: &Cell) -> String {
    match cell {
        Cell::Awaited => "Something that it rests on is not known yet.".to_owned(),
        other => text::cell(other, None),
    }
}

pub(super) fn judged_step(
    program: &Program,
    state: &State,
    step: StepId,
    attempt: usize,
    results: &StepResults,
) -> JudgedStep {
    let view = View::of(program, state, step, attempt);
    let evaluator = Evaluator::new(program, &view).of_step(step);
    let mut invalid: Vec<RuleLine> =
        results.invalid.iter().map(|words| bare("valid", "invalid", words)).collect();
    let mut rules: Vec<RuleLine> = results.judged.iter().map(|it| rule_line(&evaluator, step, it)).collect();
    rules.extend(results.not_steady.iter().map(|words| bare("until", "failed", words)));
    rules.append(&mut invalid);
    JudgedStep {
        step: program.steps[step.0].name.clone(),
        number: attempt as u32 + 1,
        state: results.outcome.words().to_owned(),
        results: results
            .values
            .iter()
            .map(|(id, laid)| result_line(&evaluator, results, *id, laid))
            .collect(),
        rules,
        advice: advice(&evaluator, results, text::say_value),
    }
}

fn bare(name: &str, verdict: &str, words: &str) -> RuleLine {
    RuleLine {
        name: name.to_owned(),
        verdict: verdict.to_owned(),
        value: None,
        lower: None,
        upper: None,
        unit: None,
        place: None,
        uncertainty: None,
        notes: vec![words.to_owned()],
    }
}

fn result_line(evaluator: &Evaluator, results: &StepResults, id: ValueId, laid: &Laid) -> ResultLine {
    let definition = &evaluator.program.values[id.0];
    let unit = evaluator.shown_in(id);
    let says = match (laid.as_single(), &definition.sense) {
        _ if definition.projection => Some(PROJECTION.to_owned()),
        (cell, Some(sense)) => cell.as_number().and_then(|value| sense.say(value)).map(str::to_owned),
        _ => None,
    };
    ResultLine {
        name: definition.name.clone(),
        values: laid.cells.iter().map(|cell| text::record_text(cell, unit)).collect(),
        unit: unit.map(|unit| unit.symbol().to_owned()),
        says,
        expanded: expanded(results, id, unit),
    }
}

/// U of each cell of a reported result. A judged one has it with its rule.
fn expanded(results: &StepResults, id: ValueId, unit: Option<Unit>) -> Vec<String> {
    let spread = results.spreads.iter().find(|(of, _)| *of == id).map(|(_, spread)| spread);
    // A word or an arrow has none in any cell.
    let spread = spread.filter(|spread| spread.cells.iter().any(Result::is_ok));
    let cells = spread.into_iter().flat_map(|spread| &spread.cells).map(|cell| match cell {
        Ok(uncertain) => uncertainty::wording::recorded(uncertain.expanded(), unit),
        Err(_) => String::new(),
    });
    cells.collect()
}

/// The unit in which a rule is judged: that of the value, differences for a temperature point's spread.
fn judged_unit(evaluator: &Evaluator, step: StepId, judged: &Judged) -> Option<Unit> {
    let judgement = evaluator.program.steps[step.0].judgements.get(judged.judgement.0)?;
    match &judgement.of {
        Plan::Tolerance { value, rule, .. } => super::rules::unit_judged(rule, evaluator.shown_in(*value)),
        Plan::Require(_) => None,
    }
}

fn rule_line(evaluator: &Evaluator, step: StepId, judged: &Judged) -> RuleLine {
    let unit = judged_unit(evaluator, step, judged);
    let exact = |value: &Real| text::record_text(&Cell::number(value.clone()), unit);
    let limit = |limit: &Limit| {
        let sign = if limit.exclusive { " exclusive" } else { "" };
        format!("{}{sign}", exact(&limit.scaled))
    };
    let name = evaluator.program.steps[step.0].judgements.get(judged.judgement.0).map(|it| it.name.clone());
    let how = [&judged.lower, &judged.upper].into_iter().flatten().map(|it| it.how.to_string());
    let mut notes: Vec<String> = how.filter(|how| !how.is_empty()).collect();
    notes.dedup();
    let reason = match &judged.verdict {
        Verdict::Undecided(reason) | Verdict::Invalid(reason) => Some(reason.to_string()),
        _ => None,
    };
    notes.extend(reason);
    notes.extend(judged.notes.iter().map(|note| note.to_string()));
    RuleLine {
        name: name.unwrap_or_default(),
        verdict: verdict_words(&judged.verdict).to_owned(),
        value: judged.value.as_ref().map(exact),
        lower: judged.lower.as_ref().map(limit),
        upper: judged.upper.as_ref().map(limit),
        unit: unit.filter(|_| judged.value.is_some()).map(|unit| unit.symbol().to_owned()),
        place: judged.place.as_ref().map(|place| place.to_string()),
        uncertainty: judged.certainty.as_ref().map(|certainty| certainty.line(unit)),
        notes,
    }
}

/// How the limits were scaled, at the bench. Zero is zero over any length.
fn scaled_how(judged: &Judged) -> Vec<String> {
    let limits = [&judged.lower, &judged.upper].into_iter().flatten();
    let how = limits.filter(|limit| !limit.scaled.is_zero()).map(|limit| limit.how.to_string());
    let mut how: Vec<String> = how.filter(|how| !how.is_empty()).collect();
    how.dedup();
    how
}

pub fn verdict_words(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Passed => "passed",
        Verdict::Failed => "failed",
        Verdict::Undecided(_) => "undecided",
        Verdict::Waiting => "waiting",
        Verdict::Invalid(_) => "invalid",
        Verdict::NotApplicable => "not applicable",
    }
}

/// `say`: an amount as it stands on the record, or as it is said at the bench.
fn advice(
    evaluator: &Evaluator,
    results: &StepResults,
    say: fn(&Evaluator<'_>, ValueId, &Laid) -> String,
) -> Vec<String> {
    let mut lines = Vec::new();
    for remedy in &results.remedies {
        lines.push(remedy.text.clone());
        lines.extend(remedy.advised.iter().map(|(id, laid)| amount(evaluator, *id, laid, say)));
    }
    lines
}

/// "Shim under the front foot: +0.02 mm, shim added".
fn amount(
    evaluator: &Evaluator,
    id: ValueId,
    laid: &Rc<Laid>,
    say: fn(&Evaluator<'_>, ValueId, &Laid) -> String,
) -> String {
    let label = wording::plain(&evaluator.program.values[id.0].label);
    format!("{label}: {}", say(evaluator, id, laid))
}

// ------------------------------------------------------------------------------------------------ at the bench

/// Results, verdicts and advice of a try, for the person at the machine.
pub(super) fn results_said(
    program: &Program,
    state: &State,
    step: StepId,
    attempt: usize,
    results: &StepResults,
) -> Vec<Said> {
    let view = View::of(program, state, step, attempt);
    let evaluator = Evaluator::new(program, &view).of_step(step);
    let say = |tone, text: String| Said { tone, text };
    let mut said: Vec<Said> = results
        .values
        .iter()
        .flat_map(|(id, laid)| {
            let label = wording::plain(&program.values[id.0].label);
            let unit = evaluator.shown_in(*id);
            let known = results.spreads.iter().find(|(of, _)| of == id).map(|(_, spread)| &spread.cells);
            let expanded = match known.map(Vec::as_slice) {
                Some([Ok(own)]) if !own.variance.is_zero() => {
                    format!(" (U = {})", uncertainty::wording::size(own.expanded(), unit))
                }
                _ => String::new(),
            };
            let known = known.map_or(&[][..], Vec::as_slice);
            let cut = text::to_their_digits(laid, known, unit);
            let line = format!("{label}: {}{expanded}", text::say_value(&evaluator, *id, &cut));
            let before = super::before::result_before(&evaluator, state.previous.get(id), *id, laid);
            let before = before.map(|before| say(Tone::Notice, format!("last time: {before}")));
            std::iter::once(say(Tone::Notice, line)).chain(before).collect::<Vec<_>>()
        })
        .collect();
    said.extend(results.judged.iter().filter(|it| it.verdict != Verdict::NotApplicable).map(|it| {
        let tone = if it.verdict == Verdict::Passed { Tone::Well } else { Tone::NotWell };
        say(tone, rule_said(&evaluator, step, it))
    }));
    said.extend(results.not_steady.iter().map(|words| say(Tone::NotWell, words.clone())));
    said.extend(results.invalid.iter().map(|words| say(Tone::NotWell, format!("Not valid: {words}"))));
    let outcome = results.outcome;
    let well = matches!(outcome, Outcome::Passed | Outcome::Recorded);
    let tone = if well { Tone::Well } else { Tone::NotWell };
    let outcome = outcome.words().to_uppercase();
    // Of a try that is over nothing is left to be done.
    if !is_over(state, step, attempt) {
        said.extend(
            advice(&evaluator, results, text::say_amount).into_iter().map(|line| say(Tone::Advice, line)),
        );
    }
    said.push(say(tone, format!("{} {outcome}", try_in_words(program, state, step, attempt))));
    said
}

/// Another try has been begun since.
pub(super) fn is_over(state: &State, step: StepId, attempt: usize) -> bool {
    attempt + 1 < state.step(step).attempts.len()
}

/// The step, and which try of it where that is not the one that stands: "R1 as found", "R1 try 2".
pub(super) fn try_in_words(program: &Program, state: &State, step: StepId, attempt: usize) -> String {
    let name = &program.steps[step.0].name;
    match (is_over(state, step, attempt), attempt) {
        (false, _) => name.clone(),
        (true, 0) => format!("{name} as found"),
        (true, _) => format!("{name} try {}", attempt + 1),
    }
}

/// "Lean over the bar: failed, -0.004 mm is not from 0 mm to 0.015 mm (per 300 mm over 300 mm)".
fn rule_said(evaluator: &Evaluator, step: StepId, judged: &Judged) -> String {
    let judgement = &evaluator.program.steps[step.0].judgements[judged.judgement.0];
    let label = asked_words::judged(evaluator.program, judgement);
    let unit = judged_unit(evaluator, step, judged);
    let limits: Vec<Real> =
        [&judged.lower, &judged.upper].into_iter().flatten().map(|limit| limit.scaled.clone()).collect();
    let mut line = format!("{label}: {}", verdict_words(&judged.verdict));
    if let Some(value) = &judged.value {
        let (mut text, shown) = text::against(value, &limits, unit, None);
        if let Some(cut) = judged.certainty.as_ref().and_then(|it| text::cut(value, it, &limits, unit)) {
            text = cut;
        }
        let value = text;
        line.push_str(&format!(", {value}"));
        let (lowest, highest) = (shown.first().cloned(), shown.last().cloned());
        let (lowest, highest) = (lowest.unwrap_or_default(), highest.unwrap_or_default());
        let allowed = match (&judged.lower, &judged.upper) {
            (Some(_), Some(_)) => Some(format!("from {lowest} to {highest}")),
            (Some(lower), None) => {
                Some(format!("{} {}", if lower.exclusive { "above" } else { "at least" }, lowest))
            }
            (None, Some(upper)) => {
                Some(format!("{} {}", if upper.exclusive { "below" } else { "at most" }, highest))
            }
            (None, None) => None,
        };
        if let Some(allowed) = allowed {
            line.push_str(&format!("; allowed {allowed}"));
        }
    }
    if let Some(place) = &judged.place {
        line.push_str(&format!(", at {}", wording::spoken(place)));
    }
    let mut notes = scaled_how(judged);
    if let Verdict::Invalid(reason) | Verdict::Undecided(reason) = &judged.verdict {
        notes.push(reason.to_string());
    }
    notes.extend(judged.certainty.iter().filter_map(|certainty| certainty.said(&judged.verdict, unit)));
    notes.extend(judged.notes.iter().map(|note| note.to_string()));
    if !notes.is_empty() {
        line.push_str(&format!(" ({})", notes.join("; ")));
    }
    line
}
