//! Sentences that a sheet has on paper and in a browser alike.

use crate::walk::blank::{Answer, Effort, FactForm, InstrumentForm, ItemForm, SetUp, StepForm};

use super::Sheet;

pub const CAUTION: &str = "Local codes, the maker's instructions and licensed practice come before this sheet. Isolate \
                           the machine before you reach into it.";

pub const ESTIMATE: &str = "Waits and series are as the procedure says, a series at its longest. The rest is an \
                            estimate: 10 min for a new set-up, 2 min where one is kept, 20 s for a reading, 15 s for an \
                            answer (common practice, no source). Adjusting and reading again come on top.";

pub const LIMITS: &str = "Limits are the procedure's: examples, until its author has agreed them.";

pub const END: &str =
    "This is a sheet of readings. The verdict, and the signatures that count, come with the record.";

pub const OTHER_ORDER: &str = "This order spares set-ups; the pages follow the order of the file.";

/// How the sheet is filled in.
pub fn how_to(sheet: &Sheet) -> Vec<String> {
    let mut lines = vec![
        "Write what the instrument shows, with its sign; do not round. A slip: strike it through, write beside it, \
         never over it."
            .to_owned(),
        "Plus and minus mean what stands beside each reading.".to_owned(),
        "Write beside each step when it was read, and by whom if not always the same.".to_owned(),
        "A reading outside what is usual: look again before you write it.".to_owned(),
    ];
    if brackets(sheet) {
        lines.push(
            "A word in brackets [ ] stands for the station of the box, or for what is written beside it under The \
             machine; quotes, for what is read or worked out under that name."
                .to_owned(),
        );
    }
    if sheet.steps().any(|step| adjusting(step).is_some()) {
        lines.push(
            "Adjust only after the as-found readings stand. Write down what, by whom and, where bolts were tightened, the torque \
             in Nm. Then read again on a further sheet of that step, and what is named beneath it with it."
                .to_owned(),
        );
    }
    if !remedies(sheet).is_empty() {
        lines.push("Where a limit is not met: what to do stands behind the last step.".to_owned());
    }
    lines.push(format!("Nothing is judged on paper. Type it in with: bedway enter {}", sheet.file));
    lines
}

fn brackets(sheet: &Sheet) -> bool {
    let labels = || sheet.steps().flat_map(|step| &step.items).map(|item| &item.label);
    sheet.form.facts.iter().any(|fact| fact.tag.is_some()) || labels().any(|label| label.contains('['))
}

/// What a fact is called, with the word that stands for it elsewhere.
pub fn fact(fact: &FactForm) -> String {
    match &fact.tag {
        // No line breaks within it.
        Some(tag) => format!("{} [{}]", fact.label, tag.replace(' ', "\u{a0}")),
        None => fact.label.clone(),
    }
}

/// `under 1 h`, `about 3 h 40 min`: an estimate is not known to the minute.
pub fn about(seconds: u64) -> String {
    let minutes = seconds.div_ceil(60);
    let rounded = if minutes > 20 { minutes.div_ceil(5) * 5 } else { minutes };
    match (rounded / 60, rounded % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

pub fn effort(effort: &Effort) -> String {
    let mut parts = vec![format!("about {} of set-ups, readings and answers", about(effort.estimated))];
    if effort.waits > 0 {
        parts.push(format!("{} of waiting", about(effort.waits)));
    }
    if effort.series > 0 {
        let most = if effort.may_end { "at most " } else { "" };
        parts.push(format!("{most}{} of readings by the clock", about(effort.series)));
    }
    format!(
        "{} and {}: {}; together about {}.",
        counted(effort.readings, "reading"),
        counted(effort.answers, "answer"),
        parts.join(", "),
        about(effort.total())
    )
}

fn counted(count: u64, what: &str) -> String {
    let several = if count == 1 { "" } else { "s" };
    format!("{count} {what}{several}")
}

/// The time of a set-up, in a column.
pub fn time_of(set_up: &SetUp) -> String {
    let most = if set_up.effort.may_end { "up to " } else { "" };
    format!("{most}{}", about(set_up.effort.total()))
}

pub fn steps_of(set_up: &SetUp) -> String {
    set_up.steps.join(", ")
}

/// Who is needed besides the operator, and for which steps.
pub fn people(sheet: &Sheet) -> Vec<String> {
    let mut people: Vec<(&String, Vec<&str>)> = Vec::new();
    for step in sheet.form.steps.iter().filter(|step| step.not_applicable.is_none()) {
        for person in step.by.iter().chain(step.holds.iter().map(|(who, _)| who)) {
            match people.iter_mut().find(|(known, _)| *known == person) {
                Some((_, steps)) => steps.push(&step.name),
                None => people.push((person, vec![&step.name])),
            }
        }
    }
    people.into_iter().map(|(person, steps)| format!("{person}: {}", steps.join(", "))).collect()
}

/// What an instrument must be able to do.
pub fn demands(it: &InstrumentForm) -> String {
    let mut parts = Vec::new();
    parts.extend(it.resolution.as_ref().map(|step| format!("reads to {step}")));
    parts.extend(it.range.as_ref().map(|range| format!("range {range}")));
    parts.extend((!it.uncertainty.is_empty()).then(|| format!("U {}", it.uncertainty.join(", "))));
    if !it.or_else.is_empty() {
        parts.push(format!("or {} in its place", it.or_else.join(", ")));
    }
    parts.join("; ")
}

/// What a fact may be, beside its box.
pub fn fact_hint(fact: &FactForm) -> String {
    match (&fact.bounds, &fact.answer) {
        (Some(bounds), Answer::Number { unit }) => format!("{unit}, {bounds}"),
        (Some(bounds), _) => bounds.clone(),
        (None, Answer::Number { unit }) => unit.clone(),
        (None, Answer::Date) => "year-month-day".to_owned(),
        _ => String::new(),
    }
}

/// The same where the unit stands beside the box.
pub fn hints_beside(item: &ItemForm) -> Vec<String> {
    let mut hints = hints(item);
    if matches!(&item.answer, Answer::Number { unit } if !unit.is_empty()) {
        hints.remove(0);
    }
    hints
}

/// What to write for an item: its unit, what its sign means, what is usual.
pub fn hints(item: &ItemForm) -> Vec<String> {
    let mut hints = Vec::new();
    match &item.answer {
        Answer::Number { unit } if !unit.is_empty() => hints.push(format!("in {unit}")),
        Answer::Words(words) if !item.axes.is_empty() => hints.push(format!("one of: {}", words.join(", "))),
        Answer::Date => hints.push("year-month-day".to_owned()),
        Answer::Photo => hints.push("the name of the picture's file, or why there is none".to_owned()),
        Answer::Findings => hints.push("each in words, with the place; none if there is none".to_owned()),
        _ => {}
    }
    if let Some((plus, minus)) = &item.sense {
        hints.push(format!("plus: {plus}"));
        hints.push(format!("minus: {minus}"));
    }
    for (station, plus, minus) in &item.own_senses {
        hints.push(format!("at {station} plus: {plus}; minus: {minus}"));
    }
    hints.extend(item.usual.as_ref().map(|usual| format!("usual {usual}")));
    for axis in &item.axes {
        hints.extend(axis.laid_out.as_ref().map(|words| format!("{}: {words}", axis.name)));
    }
    if item.axes.iter().any(|axis| axis.stations.iter().any(is_if_wanted)) {
        hints.push("boxes in ( ) if wanted".to_owned());
    }
    if item.not_read_allowed {
        hints.push("a place that cannot be read: not read, and why".to_owned());
    }
    if item.open_ended_allowed {
        hints.push("over or below may stand before the number".to_owned());
    }
    hints
}

fn is_if_wanted(station: &crate::walk::blank::StationForm) -> bool {
    matches!(station, crate::walk::blank::StationForm::IfWanted(_))
}

/// What stands over the boxes of a step, in order: a word and its text.
pub fn before(step: &StepForm) -> Vec<(&'static str, String)> {
    let mut lines: Vec<(&str, String)> = Vec::new();
    let mut all = |word: &'static str, texts: &[String]| {
        lines.extend(texts.iter().map(|text| (word, text.clone())));
    };
    all("Only when", step.only_when.as_slice());
    if step.powered {
        all(
            "CAUTION",
            &["This step runs the machine. Guards on, bar, key and spanners out, stand clear.".to_owned()],
        );
    }
    all("CAUTION", &step.cautions);
    let stops: Vec<String> = step.stops.iter().map(|(when, what)| format!("when {when}: {what}")).collect();
    all("STOP AT ONCE", &stops);
    if step.optional {
        all("Optional", &["may be left out; write why".to_owned()]);
    }
    if !step.needs.is_empty() {
        all("First", &[step.needs.join(", ")]);
    }
    all("Kept", &step.keeps);
    all("Conditions", &step.conditions);
    all("Set-up", &step.setup);
    all("Note", &step.notes);
    if !step.instruments.is_empty() {
        all("With", &[step.instruments.join("; ")]);
    }
    lines
}

/// What must hold of the readings themselves.
pub fn valid(step: &StepForm) -> Vec<String> {
    step.valid.iter().map(|(when, what)| format!("{when}. Else: {what}")).collect()
}

pub fn limits(step: &StepForm) -> Vec<String> {
    let limit = |limit: &crate::walk::blank::LimitForm| {
        let here = limit.here.as_ref().map(|here| format!(" (here {here})")).unwrap_or_default();
        let when = limit.when.as_ref().map(|when| format!(", when {when}")).unwrap_or_default();
        match &limit.what {
            Some(what) => format!("Limit. {what}: {}{here}{when}", limit.rule),
            None => format!("Required: {}{when}", limit.rule),
        }
    };
    step.limits.iter().map(limit).collect()
}

/// What to do where a step does not pass: the step, and each remedy with the case it is for.
pub fn remedies<'a>(sheet: &'a Sheet) -> Vec<(&'a StepForm, Vec<String>)> {
    let remedy = |(when, text): &(Option<String>, String)| match when {
        Some(when) => format!("({when}) {text}"),
        None => text.clone(),
    };
    let of = |step: &'a StepForm| {
        let texts = step.remedies.iter().filter(|(_, text)| !text.is_empty()).map(remedy);
        (step, texts.collect::<Vec<_>>())
    };
    taken(sheet).map(of).filter(|(_, texts)| !texts.is_empty()).collect()
}

/// Where methods and limits are from: each text once, with the steps it is for.
pub fn bases(sheet: &Sheet) -> Vec<String> {
    let mut bases: Vec<(String, Vec<&str>)> = Vec::new();
    for step in taken(sheet).filter(|step| !step.basis.is_empty()) {
        let text = step.basis.join(" ");
        match bases.iter_mut().find(|(known, _)| *known == text) {
            Some((_, steps)) => steps.push(&step.name),
            None => bases.push((text, vec![&step.name])),
        }
    }
    bases.into_iter().map(|(text, steps)| format!("{}: {text}", steps.join(", "))).collect()
}

fn taken(sheet: &Sheet) -> impl Iterator<Item = &StepForm> {
    sheet.steps().filter(|step| step.not_applicable.is_none())
}

pub const REMEDIES: &str = "Where a limit is not met";
pub const BASES: &str = "Where methods and limits are from";

/// Which steps must agree: looked at when all is typed in.
pub fn crosschecks(sheet: &Sheet) -> Vec<String> {
    sheet.form.crosschecks.iter().map(|(steps, why)| format!("{steps}: {why}")).collect()
}

pub const CROSSCHECKS: &str = "These must agree, each measured on its own. Where they do not, look for the cause before the machine is left; what \
     they come to is worked out when the sheet is typed in.";

/// What an adjustment in this step leads to.
pub fn adjusting(step: &StepForm) -> Option<String> {
    if step.adjustments.is_empty() && step.unsettles.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    parts.extend(step.tries.map(|tries| format!("{tries} tries at most, then take advice")));
    if !step.unsettles.is_empty() {
        parts.push(format!("read again {}", step.unsettles.join(", ")));
    }
    if parts.is_empty() {
        parts.push("write down what and how much".to_owned());
    }
    Some(format!("{}.", parts.join("; ")))
}

pub fn series(item: &ItemForm) -> Option<String> {
    let series = item.series.as_ref()?;
    let until = series.until.as_ref().map(|until| format!(", or until {until}")).unwrap_or_default();
    Some(format!(
        "A row every {}, for {} at most{until}. Write the time at which each was really read.",
        series.every, series.at_most
    ))
}
