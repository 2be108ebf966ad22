//! From the model of a report to its JSON document.

use super::csv::how;
use super::document::*;
use crate::report::labels::{bound, direction};
use crate::report::model::{
    self, AmendmentLine, AxisPart, EntryLine, Held, Proof, Report, StepPart, Struck, Try,
};
use crate::report::summary::{exceptions, state, warnings};
use crate::walk::event::{Answer, UncertaintyLine};

/// The whole report. Texts stand as they were typed: JSON spells control characters out.
pub fn document(report: &Report, proof: &Proof) -> Document {
    let person = |(role, name): &(String, String)| Person { role: role.clone(), name: name.clone() };
    let remark = |(time, text): &(String, String)| Remark { time: time.clone(), text: text.clone() };
    Document {
        warning: warnings(report, proof).join(" "),
        schema: SCHEMA.to_owned(),
        record: RecordPart {
            file: proof.record.clone(),
            sha256: proof.end.clone(),
            previous: report.previous.clone(),
            program: report.program.clone(),
            rehearsal: report.rehearsal,
            opened: report.opened.clone(),
            last: report.last.clone(),
        },
        procedure: Procedure {
            title: report.title.clone(),
            revision: report.revision.clone(),
            scope: report.scope.clone(),
            basis: report.basis.clone(),
            decision: report.decision.clone(),
            files: report
                .files
                .iter()
                .map(|(name, sha256)| File { name: name.clone(), sha256: sha256.clone() })
                .collect(),
        },
        verdict: Verdict {
            verdict: report
                .closed
                .as_ref()
                .map_or_else(|| "unfinished".to_owned(), |closed| closed.verdict.clone()),
            exceptions: exceptions(report, proof),
        },
        machine: report.machine.iter().map(fact).collect(),
        people: report.people.iter().map(person).collect(),
        temperatures: report.temperatures.iter().map(temperature).collect(),
        instruments: report.instruments.iter().map(instrument).collect(),
        tests: report.steps.iter().map(|part| test(part, report, proof)).collect(),
        crosschecks: proof.crosschecks.clone(),
        moves: report.moves.iter().map(moved).collect(),
        defects: report.defects.iter().map(defect).collect(),
        notes: report.notes.clone(),
        amendments: report.amendments.iter().map(amendment).collect(),
        history: report.history.iter().map(remark).collect(),
        signatures: signatures(report, proof),
        still_to_sign: proof.missing.clone(),
    }
}

fn temperature(it: &model::Temperature) -> Temperature {
    let model::Temperature { step, what, unit, least, greatest, readings, from, to } = it.clone();
    Temperature { step, what, unit, least, greatest, readings, from, to }
}

fn amendment(it: &AmendmentLine) -> Amendment {
    let (name, party) = it.by.clone().unzip();
    Amendment { time: it.time.clone(), text: it.text.clone(), name, party }
}

fn value(answer: Option<&Answer>, unit: Option<&str>, sense: Option<&crate::quantity::Sense>) -> Value {
    let Some(answer) = answer else { return Value::default() };
    Value {
        value: Some(answer.value.clone()),
        unit: unit.map(str::to_owned),
        says: direction(&answer.value, sense).map(str::to_owned),
        typed: Some(answer.typed.clone()),
        typed_unit: answer.unit.clone(),
        sha256: answer.sha256.clone(),
    }
}

fn struck(struck: &Struck, unit: Option<&str>, sense: Option<&crate::quantity::Sense>) -> StruckOut {
    StruckOut {
        value: value(struck.was.as_ref(), unit, sense),
        not_read: struck.not_read.clone(),
        reason: struck.reason.clone(),
        line: struck.seq,
        time: struck.time.clone(),
    }
}

fn fact(fact: &model::FactLine) -> Fact {
    let unit = fact.unit.as_deref();
    Fact {
        line: fact.seq,
        time: fact.time.clone(),
        name: fact.name.clone(),
        label: fact.label.clone(),
        value: value(Some(&fact.answer), unit, None),
        struck_out: fact.struck.iter().map(|it| struck(it, unit, None)).collect(),
    }
}

fn instrument(it: &model::InstrumentLine) -> Instrument {
    Instrument {
        name: it.name.clone(),
        title: it.title.clone(),
        number: it.number.clone(),
        calibrated_until: it.until.clone(),
        past_its_date: it.past,
        details: it.details.clone(),
        struck_out: it.struck.iter().map(|struck| struck_part(struck, struck.was.clone())).collect(),
    }
}

fn test(part: &StepPart, report: &Report, proof: &Proof) -> Test {
    Test {
        step: part.name.clone(),
        title: part.title.clone(),
        section: part.section.clone(),
        state: state(part, &proof.states).to_owned(),
        decision: part.decision.clone(),
        basis: part.basis.clone(),
        set_up: part.setup.clone(),
        conditions: part.conditions.clone(),
        tries: part.tries.iter().map(|attempt| of_try(attempt, part, report)).collect(),
        remarks: part.remarks.clone(),
    }
}

fn of_try(attempt: &Try, part: &StepPart, report: &Report) -> Attempt {
    let label = |name: &str| {
        let row = report.rows.iter().find(|row| {
            row.step == part.name && row.found.iter().chain(&row.left).any(|held| held.rule.name == name)
        });
        row.map_or_else(|| name.to_owned(), |row| row.what.clone())
    };
    Attempt {
        number: attempt.number,
        opened: attempt.opened.clone(),
        after: attempt.after.clone(),
        state: attempt.state.clone(),
        readings: attempt.readings.iter().map(reading).collect(),
        lists: attempt
            .lists
            .iter()
            .map(|(axis, items)| List { axis: axis.clone(), items: items.clone() })
            .collect(),
        results: attempt.results.iter().map(result).collect(),
        rules: attempt.rules.iter().map(|held| rule(held, label(&held.rule.name))).collect(),
        advice: attempt.advice.clone(),
    }
}

fn words(sense: &crate::quantity::Sense, station: Option<&str>) -> Sense {
    Sense { plus: sense.plus.clone(), minus: sense.minus.clone(), station: station.map(str::to_owned) }
}

fn reading(set: &model::Readings) -> Reading {
    let own = set.own.iter().map(|(station, sense)| words(sense, Some(station)));
    Reading {
        name: set.name.clone(),
        label: set.label.clone(),
        observed: set.observed,
        set: set.set,
        senses: set.sense.iter().map(|sense| words(sense, None)).chain(own).collect(),
        left_off: set.left_off,
        entries: set.entries.iter().map(|it| entry(it, set)).collect(),
        read_again: set.read_again.iter().map(|it| entry(it, set)).collect(),
    }
}

fn entry(it: &EntryLine, set: &model::Readings) -> Entry {
    let sense = super::csv::sense_of(set, it);
    let unit = set.unit.as_deref();
    let axis = |at: usize| set.axes.get(at).cloned().unwrap_or_default();
    Entry {
        line: it.seq,
        time: it.time.clone(),
        read_at: it.read_at.clone(),
        at: it
            .stations
            .iter()
            .enumerate()
            .map(|(at, station)| Station { axis: axis(at), station: station.clone() })
            .collect(),
        value: if it.reason.is_some() { Value::default() } else { value(it.answer.as_ref(), unit, sense) },
        not_read: it.reason.clone(),
        counts_as: it.counts_as.as_ref().map(|answer| answer.value.clone()),
        how: how(it.how).to_owned(),
        struck_out: it.struck.iter().map(|it| struck(it, unit, sense)).collect(),
        queried: it.kept.as_ref().map(|kept| kept.query.clone()),
        kept_because: it.kept.as_ref().map(|kept| kept.reason.clone()).filter(|reason| !reason.is_empty()),
    }
}

fn result(part: &model::ResultPart) -> Outcome {
    let line = &part.line;
    let cell = |(at, value): (usize, &String)| Cell {
        at: stations(&part.axes, at),
        value: value.clone(),
        says: match line.values.as_slice() {
            [_] => line.says.clone(),
            _ => direction(value, part.sense.as_ref()).map(str::to_owned),
        },
        expanded: line.expanded.get(at).filter(|own| !own.is_empty()).cloned(),
    };
    Outcome {
        name: line.name.clone(),
        label: part.label.clone(),
        unit: line.unit.clone(),
        sense: part.sense.as_ref().map(|sense| words(sense, None)),
        cells: line.values.iter().enumerate().map(cell).collect(),
    }
}

/// Where a cell stands: the last axis runs fastest.
fn stations(axes: &[AxisPart], cell: usize) -> Vec<Station> {
    let mut rest = cell;
    let mut found: Vec<Station> = axes
        .iter()
        .rev()
        .filter_map(|axis| {
            let count = axis.stations.len().max(1);
            let station = axis.stations.get(rest % count)?.name.clone();
            rest /= count;
            Some(Station { axis: axis.name.clone(), station })
        })
        .collect();
    found.reverse();
    found
}

pub(crate) fn rule(held: &Held, label: String) -> Rule {
    let line = &held.rule;
    let limit = |recorded: &Option<String>| {
        recorded
            .as_deref()
            .map(bound)
            .map(|(value, left_out)| Bound { value: value.to_owned(), included: !left_out })
    };
    Rule {
        name: line.name.clone(),
        label,
        verdict: line.verdict.clone(),
        value: line.value.clone(),
        unit: line.unit.clone(),
        says: held.direction().map(str::to_owned),
        place: line.place.clone(),
        lower: limit(&line.lower),
        upper: limit(&line.upper),
        uncertainty: line.uncertainty.as_ref().map(uncertainty),
        notes: line.notes.clone(),
    }
}

fn uncertainty(line: &UncertaintyLine) -> Uncertainty {
    Uncertainty {
        rule: line.rule.clone(),
        u: line.u.clone(),
        k: line.k.clone(),
        expanded: line.expanded.clone(),
        freedom: line.freedom.clone(),
        conformity: line.conformity.clone(),
        conformity_from: line.conformity_from.clone(),
        conformity_to: line.conformity_to.clone(),
        method: line.method.clone(),
        budget: line.budget.clone(),
    }
}

fn moved(it: &model::Move) -> Move {
    let effect = |effect: &model::Effect| Effect {
        what: effect.what.clone(),
        before: effect.before.clone(),
        predicted: effect.predicted.clone(),
        after: effect.after.clone(),
        per_unit: effect.per_unit.clone(),
    };
    Move {
        line: it.seq,
        time: it.time.clone(),
        step: it.step.clone(),
        adjustment: it.adjustment.clone(),
        what: it.what.clone(),
        at: it.stations.clone(),
        amount: value(it.amount.as_ref(), it.unit.as_deref(), it.sense.as_ref()),
        toward: it.toward.clone(),
        torque: it.torque.as_ref().map(|torque| torque.value.clone()),
        by: it.by.clone(),
        advised: it.advised.clone(),
        withdrawn: it.withdrawn,
        undone: it.undone,
        justified: it.justified.clone(),
        never: it.never,
        struck_out: it.struck.iter().map(|part| struck_part(part, it.was(part))).collect(),
        effects: it.effects.iter().map(effect).collect(),
    }
}

fn defect(it: &model::DefectLine) -> Defect {
    let photo = it.photo.as_ref().map(|(name, sha256)| File { name: name.clone(), sha256: sha256.clone() });
    Defect {
        number: it.number,
        step: it.step.clone(),
        text: it.text.clone(),
        photo,
        standing: it.standing.clone(),
        struck_out: it.struck.iter().map(|part| struck_part(part, part.was.clone())).collect(),
    }
}

fn struck_part(it: &model::StruckPart, was: String) -> StruckPart {
    StruckPart { part: it.part.clone(), was, reason: it.reason.clone(), line: it.seq, time: it.time.clone() }
}

fn signatures(report: &Report, proof: &Proof) -> Vec<Signature> {
    let one = |(at, it): (usize, &model::SignatureLine)| Signature {
        party: it.party.clone(),
        name: it.name.clone(),
        identity: it.identity.clone(),
        key_fingerprint: it.fingerprint.clone(),
        time: it.time.clone(),
        verdict: it.verdict.clone(),
        amends: it.amends,
        bytes: it.bytes,
        standing: proof.signatures.get(at).cloned().unwrap_or_default(),
    };
    report.signatures.iter().enumerate().map(one).collect()
}
