//! What a procedure will ask for, before anything is read: for a sheet of paper, and for a list of what to bring.
//!
//! Facts that are known are put in; for others stands a word in brackets that is beside them on the sheet too. Nothing is
//! judged.

mod items;
mod limits;
mod spelled;
mod visit;

use std::cell::RefCell;
use std::collections::HashSet;
use std::rc::Rc;

use crate::check::program::{Expr, InstrumentId, Node, Part, Program, Role, StepId, TableId, Text, ValueId};
use crate::source::{SourceFile, Span};

use super::directory::item_value;
use super::eval::Evaluator;
use super::machine::Machine;
use super::preliminaries::in_words;
use super::question::Refusal;
use super::state::State;
use super::text;
use super::view::View;
use super::wording;
use spelled::Speller;

pub use items::{Answer, AxisForm, Group, ItemForm, SeriesForm, StationForm};
pub use visit::{Effort, SetUp, Visit};

/// All that is printed of a procedure.
#[derive(Clone, Debug)]
pub struct Form {
    pub title: String,
    pub revision: Option<String>,
    pub scope: Vec<String>,
    pub basis: Vec<String>,
    pub notes: Vec<String>,
    pub facts: Vec<FactForm>,
    pub instruments: Vec<InstrumentForm>,
    /// Name and who it is.
    pub parties: Vec<(String, String)>,
    pub steps: Vec<StepForm>,
    /// Steps whose results must agree, and why.
    pub crosschecks: Vec<(String, String)>,
    /// Tables that are named by their number, in this order, as facts still settle them: title, rows.
    pub tables: Vec<(String, Vec<String>)>,
    pub visit: Visit,
}

#[derive(Clone, Debug)]
pub struct FactForm {
    pub name: String,
    /// The word that stands for it elsewhere on the sheet; none where it is named nowhere.
    pub tag: Option<String>,
    pub label: String,
    pub answer: Answer,
    /// As given.
    pub value: Option<String>,
    /// What it may be.
    pub bounds: Option<String>,
}

#[derive(Clone, Debug)]
pub struct InstrumentForm {
    pub name: String,
    pub title: String,
    pub resolution: Option<String>,
    pub range: Option<String>,
    pub uncertainty: Vec<String>,
    /// The steps that read with it.
    pub steps: Vec<String>,
    /// Another may be taken in its place.
    pub or_else: Vec<String>,
}

#[derive(Clone, Debug, Default)]
pub struct StepForm {
    pub name: String,
    pub title: String,
    pub section: Option<String>,
    /// The condition under which it is taken at all, where it is not known yet.
    pub only_when: Option<String>,
    /// By the facts that are given it is not taken, for this reason.
    pub not_applicable: Option<String>,
    pub optional: bool,
    pub powered: bool,
    pub by: Vec<String>,
    pub needs: Vec<String>,
    pub keeps: Vec<String>,
    pub basis: Vec<String>,
    pub cautions: Vec<String>,
    pub conditions: Vec<String>,
    pub setup: Vec<String>,
    pub notes: Vec<String>,
    pub instruments: Vec<String>,
    pub confirms: Vec<String>,
    /// Who, and what for.
    pub holds: Vec<(String, String)>,
    /// How long, and what for.
    pub waits: Vec<(String, String)>,
    pub items: Vec<ItemForm>,
    pub stops: Vec<(String, String)>,
    pub valid: Vec<(String, String)>,
    pub limits: Vec<LimitForm>,
    pub adjustments: Vec<ItemForm>,
    pub unsettles: Vec<String>,
    /// What to do where it does not pass: the condition, if it has one, and the text.
    pub remedies: Vec<(Option<String>, String)>,
    pub tries: Option<u32>,
}

/// A rule: what is judged, in words, and what that comes to here if it is known.
#[derive(Clone, Debug)]
pub struct LimitForm {
    /// None: a condition that is required.
    pub what: Option<String>,
    pub rule: String,
    pub here: Option<String>,
    pub when: Option<String>,
}

/// Lays a procedure out as a form. `facts` are names with what was typed for them.
///
/// # Errors
/// What is wrong with a fact, and what to type instead.
pub fn form(
    program: &Rc<Program>,
    source: &SourceFile,
    facts: &[(ValueId, String)],
) -> Result<Form, Refusal> {
    let mut machine = Machine::of_example(Rc::clone(program), HashSet::new());
    for (fact, typed) in facts {
        machine.give(*fact, typed)?;
    }
    let blank = Blank {
        program,
        source,
        state: machine.state(),
        machine: &machine,
        tagged: RefCell::default(),
        numbered: RefCell::default(),
    };
    Ok(blank.form())
}

struct Blank<'a> {
    program: &'a Program,
    source: &'a SourceFile,
    state: &'a State,
    machine: &'a Machine,
    /// Facts that were named somewhere by their word in brackets.
    tagged: RefCell<HashSet<ValueId>>,
    /// Tables that were named by their number, in this order.
    numbered: RefCell<Vec<TableId>>,
}

impl Blank<'_> {
    fn form(&self) -> Form {
        let program = self.program;
        let texts = |texts: &[Text]| texts.iter().map(|text| self.say(text, None)).collect::<Vec<_>>();
        let steps: Vec<StepForm> = (0..program.steps.len()).map(|step| self.step(StepId(step))).collect();
        let taken: Vec<bool> = steps.iter().map(|step| step.not_applicable.is_none()).collect();
        Form {
            title: program.title.clone(),
            revision: program.revision.clone(),
            scope: texts(&program.scope),
            basis: texts(&program.basis),
            notes: texts(&program.notes),
            instruments: self.instruments(&taken),
            parties: program
                .parties
                .iter()
                .map(|party| (party.name.clone(), self.say(&party.who, None)))
                .collect(),
            crosschecks: self.crosschecks(&taken),
            visit: self.visit(&steps, &taken),
            steps,
            tables: self.open_tables(),
            // Last: by now it is known which of them are named elsewhere.
            facts: program.facts.iter().map(|fact| self.fact(*fact)).collect(),
        }
    }

    fn view(&self) -> View<'_> {
        View::latest(self.program, self.state)
    }

    /// A condition as it is known now.
    fn truth(&self, condition: &Expr) -> Option<bool> {
        Evaluator::new(self.program, &self.view()).holds(condition).as_yes_no()
    }

    /// The words of the file, on one line.
    fn written(&self, span: Span) -> String {
        let words = self.source.slice(span).lines().map(|line| line.split(" #").next().unwrap_or(line));
        words.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
    }

    /// A condition or a formula in words.
    fn spelled(&self, expr: &Expr, step: Option<StepId>) -> String {
        Speller { blank: self, step }.expr(expr)
    }

    /// The word for a fact that is not known.
    fn tag(&self, fact: ValueId) -> String {
        self.tagged.borrow_mut().insert(fact);
        wording::spoken(&self.program.values[fact.0].name)
    }

    /// The number by which a table is named on the sheet.
    fn table_number(&self, table: TableId) -> usize {
        let mut numbered = self.numbered.borrow_mut();
        match numbered.iter().position(|known| *known == table) {
            Some(at) => at + 1,
            None => {
                numbered.push(table);
                numbered.len()
            }
        }
    }

    /// A quantity that is not known, in brackets.
    fn unknown(&self, expr: &Expr, step: Option<StepId>) -> String {
        let words = self.spelled(expr, step);
        if words.starts_with('[') && words.ends_with(']') { words } else { format!("[{words}]") }
    }

    /// A text with the values that are known; what is not known in brackets.
    fn say(&self, words: &Text, step: Option<StepId>) -> String {
        let view = self.view();
        let evaluator = Evaluator::new(self.program, &view);
        let evaluator = match step {
            Some(step) => evaluator.of_step(step),
            None => evaluator,
        };
        let mut said = String::new();
        let mut axes: Vec<String> = Vec::new();
        for part in &words.parts {
            match part {
                Part::Plain(plain) => said.push_str(plain),
                Part::Value(expr, unit) => match station_named(self.program, expr) {
                    Some(axis) => {
                        let name = format!("[{}]", wording::spoken(axis));
                        said.push_str(&name);
                        axes.push(name);
                    }
                    None => {
                        let value = evaluator.expr(expr);
                        let is_known = !value.cells.is_empty() && value.cells.iter().all(|it| it.is_known());
                        match is_known {
                            true => {
                                let unit = unit.or_else(|| text::unit_of(&evaluator, expr));
                                said.push_str(&text::show_laid(&value, unit, expr.sense.as_ref(), None));
                            }
                            false => said.push_str(&self.unknown(expr, step)),
                        }
                    }
                },
            }
        }
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        // "Level of the bed, direction": the boxes say which.
        let mut said = said.as_str();
        while let Some((before, _)) =
            said.rsplit_once(", ").filter(|(_, last)| axes.iter().any(|axis| axis == last))
        {
            said = before;
        }
        said.to_owned()
    }

    /// Those of which all steps are taken.
    fn crosschecks(&self, taken: &[bool]) -> Vec<(String, String)> {
        let taken = |step: &StepId| taken.get(step.0).copied().unwrap_or(false);
        let checks = self.program.crosschecks.iter().filter(|check| check.steps.iter().all(taken));
        let check = checks.map(|check| {
            let names: Vec<&str> =
                check.steps.iter().map(|step| self.program.steps[step.0].name.as_str()).collect();
            (names.join(" and "), self.say(&check.why, None))
        });
        check.collect()
    }

    fn fact(&self, fact: ValueId) -> FactForm {
        let value = &self.program.values[fact.0];
        let bounds = self.machine.bounds_of(fact).map(|(from, to)| {
            let show = |bound| text::limit(bound, value.unit);
            format!("{} to {}", show(&from), show(&to))
        });
        let given = self.state.facts.get(&fact);
        FactForm {
            name: value.name.clone(),
            tag: self.tagged.borrow().contains(&fact).then(|| wording::spoken(&value.name)),
            label: wording::plain(&value.label),
            answer: Answer::of(value),
            value: given.map(|it| text::cell(&it.cell, value.unit)),
            bounds,
        }
    }

    fn instruments(&self, taken: &[bool]) -> Vec<InstrumentForm> {
        let program = self.program;
        let forms = program.instruments.iter().enumerate().map(|(index, it)| {
            let id = InstrumentId(index);
            let mut steps = Vec::new();
            let mut or_else = Vec::new();
            for (step, _) in program.steps.iter().zip(taken).filter(|(_, taken)| **taken) {
                for value in step.items.iter().filter_map(item_value) {
                    let Role::Reading(reading) = &program.values[value.0].role else { continue };
                    if !reading.instruments.contains(&id) {
                        continue;
                    }
                    if !steps.contains(&step.name) {
                        steps.push(step.name.clone());
                    }
                    for other in reading.instruments.iter().filter(|other| **other != id) {
                        let name = self.say(&program.instruments[other.0].title, None);
                        if !or_else.contains(&name) {
                            or_else.push(name);
                        }
                    }
                }
            }
            InstrumentForm {
                name: it.name.clone(),
                title: self.say(&it.title, None),
                resolution: it.resolution.as_ref().map(wording::literal),
                range: it
                    .range
                    .as_ref()
                    .map(|(from, to)| format!("{} to {}", wording::literal(from), wording::literal(to))),
                uncertainty: it.uncertainties.iter().map(wording::uncertainty).collect(),
                steps,
                or_else,
            }
        });
        forms.filter(|form| !form.steps.is_empty()).collect()
    }

    fn step(&self, id: StepId) -> StepForm {
        let step = &self.program.steps[id.0];
        let texts = |texts: &[Text]| texts.iter().map(|text| self.say(text, Some(id))).collect::<Vec<_>>();
        let condition = step.only_when.as_ref();
        let holds = condition.and_then(|condition| self.truth(condition));
        let words = condition.map(|condition| self.spelled(condition, Some(id)));
        let name = |step: &StepId| self.program.steps[step.0].name.clone();
        let mut instruments: Vec<String> = Vec::new();
        for value in step.items.iter().filter_map(item_value) {
            let Role::Reading(reading) = &self.program.values[value.0].role else { continue };
            let names: Vec<String> = reading
                .instruments
                .iter()
                .map(|it| wording::plain(&self.program.instruments[it.0].title))
                .collect();
            let names = names.join(", or ");
            if !names.is_empty() && !instruments.contains(&names) {
                instruments.push(names);
            }
        }
        StepForm {
            name: step.name.clone(),
            title: self.say(&step.title, Some(id)),
            section: step.section.map(|section| self.say(&self.program.sections[section.0].title, None)),
            only_when: words.clone().filter(|_| holds.is_none()),
            not_applicable: words.filter(|_| holds == Some(false)),
            optional: step.optional,
            powered: step.powered,
            by: texts(&step.by),
            needs: step.needs.iter().map(|need| needed(&name(&need.step), need.kind)).collect(),
            keeps: step
                .keeps
                .iter()
                .map(|(kept, words)| {
                    format!("The set-up of {} is kept. {}", name(kept), self.say(words, Some(id)))
                })
                .collect(),
            basis: texts(&step.basis),
            cautions: texts(&step.cautions),
            conditions: texts(&step.conditions),
            setup: texts(&step.setup),
            notes: texts(&step.notes),
            instruments,
            confirms: texts(&step.confirms),
            holds: step
                .holds
                .iter()
                .map(|(party, words)| {
                    let who = self.say(&self.program.parties[party.0].who, None);
                    (who, self.say(words, Some(id)))
                })
                .collect(),
            waits: step
                .waits
                .iter()
                .map(|(seconds, words)| {
                    let seconds = seconds.to_integer().try_into().unwrap_or(i64::MAX);
                    (in_words(seconds), self.say(words, Some(id)))
                })
                .collect(),
            items: self.items(id),
            stops: step
                .stops
                .iter()
                .map(|(when, what)| (self.spelled(when, Some(id)), self.say(what, Some(id))))
                .collect(),
            valid: step
                .valid
                .iter()
                .map(|(when, what)| (self.spelled(when, Some(id)), self.say(what, Some(id))))
                .collect(),
            limits: self.limits(id),
            adjustments: step.adjustments.iter().map(|value| self.item(id, *value)).collect(),
            remedies: step
                .remedies
                .iter()
                .map(|it| {
                    let when = it.when.as_ref().map(|when| self.spelled(when, Some(id)));
                    (when, self.say(&it.text, Some(id)))
                })
                .collect(),
            unsettles: step.unsettles.iter().map(name).collect(),
            tries: step.tries,
        }
    }
}

fn needed(name: &str, kind: crate::check::program::NeedKind) -> String {
    use crate::check::program::NeedKind;
    match kind {
        NeedKind::Done => format!("{name} done"),
        NeedKind::Passed => format!("{name} passed"),
        NeedKind::PassedBeforeAdjusting => format!("{name} passed before anything is adjusted"),
    }
}

/// The axis whose station a text names.
fn station_named<'p>(program: &'p Program, expr: &Expr) -> Option<&'p str> {
    match expr.node {
        Node::CurrentStation(axis) => program.axes.get(axis.0).map(|axis| axis.name.as_str()),
        _ => None,
    }
}
