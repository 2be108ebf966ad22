//! How the parts of a report are said: one wording for the page of text and for every other form.

use super::digits;
use super::labels::{band, direction, method, rounded, shown};
use super::model::{
    EntryLine, FactLine, Held, Move, Paper, Report, SignatureLine, StepPart, Struck, StruckPart, Try,
};
use super::summary::loud;
use crate::quantity::{Real, parse_exact, significant};
use crate::walk::called::written;
use crate::walk::event::{Answer, How, RuleLine, UncertaintyLine};
pub(super) use crate::walk::spoken;
use crate::walk::uncertainty::wording::{self, Chance, percent};

/// A file without its folders: whose computer it lay on is nobody else's business. Folders are parted as on any system.
pub fn file_name(typed: &str) -> String {
    typed.rsplit(['/', '\\']).next().unwrap_or(typed).to_owned()
}

impl Held {
    /// The value with its unit, what its sign says, and where it stands; empty where there is none.
    pub fn value(&self) -> String {
        let rule = &self.rule;
        let mut value = self.bare().unwrap_or_default();
        if let Some(words) = self.direction() {
            value.push_str(&format!(", {words}"));
        }
        if let Some(place) = &rule.place {
            // A figure in brackets could be anything; a window reaches from one place to another.
            let figure = place.starts_with(|first: char| first.is_ascii_digit() || first == '-');
            let at = if figure && !place.contains(" to ") { "at " } else { "" };
            value.push_str(&format!(" ({at}{})", spoken(place)));
        }
        value
    }

    /// `FAILED: -0.004 mm, away from the operator (U 0.0014 mm)`.
    pub fn told(&self) -> String {
        let expanded = self.expanded().map(|it| format!(" (U {it})")).unwrap_or_default();
        match self.value() {
            value if value.is_empty() => loud(&self.rule.verdict),
            value => format!("{}: {value}{expanded}", loud(&self.rule.verdict)),
        }
    }

    /// The same with what it was held against, and what must be known of it.
    pub fn told_in_full(&self) -> String {
        let limit = Some(self.limit()).filter(|limit| !limit.is_empty());
        let parts = [self.told()].into_iter().chain(limit).chain(self.rule.notes.iter().cloned());
        format!("{}: {}", self.label, parts.collect::<Vec<_>>().join("; "))
    }

    /// The value with its unit alone, to the digits that its U allows.
    pub fn bare(&self) -> Option<String> {
        let value = self.rule.value.as_deref()?;
        Some(self.number(digits::of_rule(&self.rule).as_deref().unwrap_or(value)))
    }

    /// What the sign of its value says.
    pub fn direction(&self) -> Option<&str> {
        direction(self.rule.value.as_deref()?, self.sense.as_ref())
    }

    /// How sure the verdict is, where a guarded rule asks for it; with budgets always, and what its uncertainty is made of.
    pub fn certainty(&self, budgets: bool) -> Vec<String> {
        let rule = &self.rule;
        let asked = |own: &&UncertaintyLine| budgets || own.rule != "simple";
        let Some(own) = rule.uncertainty.as_ref().filter(asked) else { return Vec::new() };
        let freedom = freedom(own).map(|it| format!(", {it}")).unwrap_or_default();
        let conformity = Chance::recorded(own);
        let risk = conformity.risk_of(&rule.verdict);
        let risk = risk.map(|it| format!(", specific risk {}", it.said())).unwrap_or_default();
        let expanded = rounded(&own.expanded, rule.unit.as_deref());
        let said = format!(
            "U = {expanded} (k {}{freedom}), decided {}, probability of conformity {}{risk}",
            own.k,
            own.rule,
            conformity.said()
        );
        std::iter::once(said).chain(budgets.then(|| self.budget()).into_iter().flatten()).collect()
    }

    /// What its uncertainty is made of, the greatest part first, each with its share of u squared as the sensitivities have
    /// it; the first line says how u was worked out.
    pub fn budget(&self) -> Vec<String> {
        let Some(own) = &self.rule.uncertainty else { return Vec::new() };
        let unit = self.rule.unit.as_deref();
        let of = if own.budget.is_empty() { "nothing that is stated is left in it" } else { "of it" };
        let mut lines =
            vec![format!("u = {}, by {}; {of}", rounded(&own.u, unit), method(&own.method, unit))];
        let parts: Vec<(&str, &str)> = own.budget.iter().filter_map(|part| part.rsplit_once(": ")).collect();
        let square = |u: &str| u.parse::<f64>().map_or(0.0, |u| u * u);
        let sum: f64 = parts.iter().map(|(_, u)| square(u)).sum();
        let line = |(source, u): &(&str, &str)| {
            format!("{source}: {}, {} of u squared", rounded(u, unit), percent(square(u) / sum))
        };
        lines.extend(parts.iter().map(line));
        lines
    }

    pub fn limit(&self) -> String {
        let RuleLine { lower, upper, unit, .. } = &self.rule;
        band(lower.as_deref(), upper.as_deref(), unit.as_deref(), self.sense.is_some())
    }

    /// U, where it was worked out.
    pub fn expanded(&self) -> Option<String> {
        let own = self.rule.uncertainty.as_ref()?;
        Some(rounded(&own.expanded, self.rule.unit.as_deref()))
    }

    /// A number in the unit of the rule.
    pub fn number(&self, number: &str) -> String {
        shown(number, self.rule.unit.as_deref(), self.sense.is_some())
    }
}

/// The effective degrees of freedom, where there are not infinitely many.
pub fn freedom(own: &UncertaintyLine) -> Option<String> {
    own.freedom.as_ref()?.parse().ok().map(wording::freedom)
}

impl FactLine {
    /// What counts, without its history.
    pub fn value(&self) -> String {
        let text = answer_text(&self.answer);
        if self.choice { spoken(&text) } else { text }
    }

    pub fn said(&self) -> String {
        with_struck(self.value(), &self.struck)
    }
}

impl Move {
    /// What was moved, and where.
    pub fn said(&self) -> String {
        match self.stations.as_slice() {
            [] => self.what.clone(),
            stations => format!("{} at {}", self.what, spoken(&stations.join(", "))),
        }
    }

    /// How much, with its direction.
    pub fn amount_said(&self) -> Option<String> {
        let amount = self.amount.as_ref()?;
        let text = answer_text(amount);
        let toward = self.toward.as_ref().map(|toward| format!("toward {toward}"));
        Some(match direction(&amount.value, self.sense.as_ref()).map(str::to_owned).or(toward) {
            Some(words) => format!("{text}, {words}"),
            None => text,
        })
    }

    /// What stood there before, oldest first.
    pub fn struck_said(&self) -> Vec<String> {
        self.struck
            .iter()
            .map(|struck| StruckPart { was: self.was(struck), ..struck.clone() }.said())
            .collect()
    }

    /// What a part was, an amount with its direction.
    pub fn was(&self, struck: &StruckPart) -> String {
        let words = struck.answer.as_ref().and_then(|was| direction(&was.value, self.sense.as_ref()));
        match words {
            Some(words) => format!("{}, {words}", struck.was),
            None => struck.was.clone(),
        }
    }

    /// What a correction that took the advice away says of it.
    pub fn withdrawn_said(&self) -> Option<&'static str> {
        match (self.withdrawn && !self.never, &self.justified, self.undone) {
            (true, None, true) => Some("Made on advice that a correction took away, and moved back since."),
            (true, None, false) => Some("MADE ON WITHDRAWN ADVICE: a correction took its reason away."),
            _ => None,
        }
    }

    /// How tight, by whom, and what was advised: `; torque 25 Nm; by Bo Example`.
    pub fn beside_said(&self) -> String {
        let torque = self.torque.as_ref().map(|torque| format!("; torque {}", answer_text(torque)));
        let by = self.by.as_ref().map(|by| format!("; by {by}"));
        let advised = self.advised.as_ref().map(|advised| format!("; advised {}", to_three_figures(advised)));
        torque.into_iter().chain(by).chain(advised).collect()
    }
}

impl SignatureLine {
    /// What the name stands under.
    pub fn signs(&self) -> String {
        match self.amends {
            true => "what was added after the signing; the verdict stands as it was signed before".to_owned(),
            false => format!("the verdict: {}", self.verdict),
        }
    }
}

impl Report {
    /// The pictures that readings name, with the digest by which each can be told from any other: `L49 plate.jpg`.
    pub fn pictures(&self) -> Vec<(String, &str)> {
        self.steps.iter().flat_map(pictures_of).collect()
    }

    /// When it was walked; of what stood on paper first, when it was read.
    pub fn walked_said(&self) -> String {
        let typed = format!("{} to {}", when(&self.opened), when(&self.last));
        match &self.paper {
            None => format!("walked {typed}"),
            Some(Paper { from, to, all: true }) => {
                format!("read on paper {} to {}, typed in {typed}", when(from), when(to))
            }
            Some(Paper { from, to, all: false }) => {
                format!("walked {typed}, in part read on paper {} to {}", when(from), when(to))
            }
        }
    }
}

impl Try {
    /// When it was begun; of what stood on paper first, when it was read.
    pub fn when_said(&self) -> String {
        match &self.read_at {
            None => when(&self.opened),
            Some(read) => format!("read on paper {}", when(read)),
        }
    }
}

impl EntryLine {
    /// What counts, without its history.
    pub fn value(&self) -> String {
        match (&self.answer, &self.reason) {
            (_, Some(reason)) => format!("not read ({reason})"),
            (Some(answer), None) => entered(answer, self.choice),
            (None, None) => "not read".to_owned(),
        }
    }

    /// Where it was read.
    pub fn place(&self) -> String {
        spoken(&self.stations.join(", "))
    }

    /// Where on the innermost axis.
    pub fn last_place(&self) -> String {
        self.stations.last().map(|station| spoken(station)).unwrap_or_default()
    }

    /// Where on the axes around it.
    pub fn outer_place(&self) -> String {
        self.stations.split_last().map(|(_, outer)| spoken(&outer.join(", "))).unwrap_or_default()
    }

    /// What a reader must know beside it.
    pub fn note(&self) -> Option<String> {
        let kept = match (&self.kept, self.how) {
            (Some(kept), _) if kept.reason.is_empty() => Some(kept.query.clone()),
            (Some(kept), _) => Some(format!("{}; kept: {}", kept.query, kept.reason)),
            // It spoke of the value that was struck out.
            (None, How::Seeded) if self.struck.is_empty() => Some("made up".to_owned()),
            (None, _) => None,
        };
        let counts = self.counts_as.as_ref().map(|answer| format!("counts as {}", answer_text(answer)));
        let parts: Vec<String> = counts.into_iter().chain(kept).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }

    pub fn said(&self) -> String {
        let mut text = with_struck(self.value(), &self.struck);
        if let Some(note) = self.note() {
            text.push_str(&format!(" ({note})"));
        }
        text
    }
}

impl Try {
    /// Names listed on the spot. Given anew, they take the place of those before, which are told.
    pub(super) fn list(&mut self, axis: &str, items: &[String]) -> Option<String> {
        let Some((_, listed)) = self.lists.iter_mut().find(|(name, _)| name == axis) else {
            self.lists.push((axis.to_owned(), items.to_vec()));
            return None;
        };
        let before = std::mem::replace(listed, items.to_vec());
        (before != items).then(|| format!("{}: first listed as {}", spoken(axis), before.join(", ")))
    }
}

impl Struck {
    pub fn value(&self) -> String {
        match (&self.was, &self.not_read) {
            (Some(answer), _) => entered(answer, self.choice),
            (None, Some(reason)) => format!("not read ({reason})"),
            (None, None) => "not read".to_owned(),
        }
    }
}

fn with_struck(mut text: String, struck: &[Struck]) -> String {
    for before in struck.iter().rev() {
        text.push_str(&format!(" (was {}, corrected: {})", before.value(), before.reason));
    }
    text
}

/// An amount as a hand can follow it; the record has all its figures.
fn to_three_figures(said: &str) -> String {
    let one = |said: &str| match said.split_once(' ').and_then(|(it, rest)| Some((parse_exact(it)?, rest))) {
        Some((number, rest)) => {
            let sign = if said.starts_with('+') { "+" } else { "" };
            format!("{sign}{} {rest}", significant(Real::Exact(number).to_f64(), 3))
        }
        None => said.to_owned(),
    };
    said.split("; ").map(one).collect::<Vec<_>>().join("; ")
}

fn pictures_of(part: &StepPart) -> Vec<(String, &str)> {
    let sets = part.tries.iter().flat_map(|attempt| &attempt.readings);
    let answers = sets
        .flat_map(|set| &set.entries)
        .flat_map(|entry| entry.struck.iter().filter_map(|struck| struck.was.as_ref()).chain(&entry.answer));
    let named = answers.filter_map(|answer| {
        Some((format!("{} {}", part.name, file_name(&answer.value)), answer.sha256.as_deref()?))
    });
    named.collect()
}

/// What was entered, a picture by the name of its file.
fn entered(answer: &Answer, choice: bool) -> String {
    match (&answer.sha256, choice) {
        (Some(_), _) => file_name(&answer.value),
        (None, true) => spoken(&answer_text(answer)),
        (None, false) => answer_text(answer),
    }
}

/// What was answered: the figures that were typed, in the unit they were typed in.
pub fn answer_text(answer: &Answer) -> String {
    if answer.sha256.is_some() {
        return answer.value.clone();
    }
    if let Some(written) =
        answer.unit.as_deref().filter(|unit| *unit != "1").and_then(|unit| written(&answer.typed, unit))
    {
        return written;
    }
    let unit = answer.unit.as_deref();
    let typed = answer.typed.trim();
    let has_unit = unit.is_some_and(|unit| typed.ends_with(unit) || typed.contains(' '));
    match unit {
        _ if typed.is_empty() => answer.value.clone(),
        Some(unit) if !has_unit && unit != "1" => format!("{typed} {unit}"),
        Some(_) => typed.to_owned(),
        None => answer.value.clone(),
    }
}

/// `Stale since: L3 adjusted. It had passed.`
pub fn changed(was: &str, now: &str, because: &str) -> String {
    let before = was.strip_suffix(", stale").unwrap_or(was);
    match now.strip_suffix(", stale") {
        Some(same) if same == before => format!("Became stale ({because}); it was {before} until then"),
        _ => format!("Was {was}, became {now} ({because})"),
    }
}

/// `2026-03-02 09:14` of a stamp.
pub fn when(stamp: &str) -> String {
    match (stamp.get(..10), stamp.get(11..16)) {
        (Some(date), Some(time)) => format!("{date} {time}"),
        _ => stamp.to_owned(),
    }
}

/// What a decision rule says, behind its name as it stands on the record.
pub fn decided(rule: &str) -> String {
    let meaning = match rule {
        simple if simple.starts_with("simple") => "a value is held against its limit as it stands",
        guarded if guarded.starts_with("guarded U") => {
            "it passes inside every limit by U or more, fails outside one by more than U, and is undecided between"
        }
        guarded if guarded.starts_with("guarded") => {
            "it passes or fails where that is so probable, and is undecided else"
        }
        _ => return "as the procedure says, which could not be read".to_owned(),
    };
    format!("{rule}: {meaning}; U is 2u, given where it is known")
}
