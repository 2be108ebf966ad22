//! The words of worked examples and of the prompt, resolved against a program: which step, reading or party is meant.
//!
//! One resolver for both, so that an example is a walk and a walk can be made an example. Built once a walk; a
//! command costs no more than its own length.

use std::collections::HashMap;

use crate::diagnostic::{Code, Problem, a_few};
use crate::quantity::Dimension;
use crate::source::Span;
use crate::syntax::ast::{self, ExampleLine};

use super::answers::{
    beside, count, day, entries, literal_expr, plain, properties, quantity_text, sizes, typed, unknown,
    value_name,
};
use super::program::{
    Act, AxisId, CrosscheckId, Expr, InstrumentId, Judged, JudgementId, Kind, Node, PartyId, Program,
    Properties, StationPick, Stations, StepId, ValueId,
};
use super::survey::some_of;

/// What a command may name, by name.
#[derive(Clone, Debug)]
pub struct Commands {
    steps: HashMap<String, StepId>,
    instruments: HashMap<String, InstrumentId>,
    parties: HashMap<String, PartyId>,
    pub(super) crosschecks: HashMap<String, CrosscheckId>,
    values: HashMap<(Option<StepId>, String), ValueId>,
    pub(super) tolerances: HashMap<(StepId, String), JudgementId>,
    /// The tolerances on a value, in the order of the file.
    pub(super) judging: HashMap<ValueId, Vec<JudgementId>>,
}

pub(super) type Found<T> = Result<T, Box<Problem>>;

/// Where a command stands: the program, and the step whose name may be left out at the prompt.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing<'p> {
    pub program: &'p Program,
    pub step: Option<StepId>,
}

impl Commands {
    pub fn new(program: &Program) -> Self {
        fn by_name<T>(names: impl Iterator<Item = String>, id: fn(usize) -> T) -> HashMap<String, T> {
            names.enumerate().map(|(at, name)| (name, id(at))).collect()
        }
        let mut tolerances = HashMap::new();
        let mut judging: HashMap<ValueId, Vec<JudgementId>> = HashMap::new();
        for (step, of) in program.steps.iter().enumerate() {
            for (at, judgement) in of.judgements.iter().enumerate() {
                if let Judged::Tolerance { value, named, .. } = &judgement.of {
                    judging.entry(*value).or_default().push(JudgementId(at));
                    if *named {
                        tolerances.insert((StepId(step), judgement.name.clone()), JudgementId(at));
                    }
                }
            }
        }
        Self {
            steps: by_name(program.steps.iter().map(|step| step.name.clone()), StepId),
            instruments: by_name(program.instruments.iter().map(|one| one.name.clone()), InstrumentId),
            parties: by_name(program.parties.iter().map(|party| party.name.clone()), PartyId),
            crosschecks: by_name(program.crosschecks.iter().map(|one| one.name.clone()), CrosscheckId),
            values: program
                .values
                .iter()
                .enumerate()
                .map(|(at, value)| ((value.step, value.name.clone()), ValueId(at)))
                .collect(),
            tolerances,
            judging,
        }
    }

    /// A line of an example, or a command typed at a prompt; `span` is all of it. `step` is the one that stands at the
    /// prompt: there its name may be left out. The places in a problem are those of the line.
    pub fn resolve(
        &self,
        program: &Program,
        step: Option<StepId>,
        line: &ExampleLine,
        span: Span,
    ) -> Result<Act, Vec<Problem>> {
        self.line(Standing { program, step }, line, span).map_err(|problem| vec![*problem])
    }

    fn line(&self, at: Standing, line: &ExampleLine, span: Span) -> Found<Act> {
        Ok(match line {
            ExampleLine::Given(facts) => {
                let mut given = Vec::new();
                for (name, answer) in facts {
                    let id = self.fact(at, name)?;
                    self.fits(at, id, answer)?;
                    given.push((id, typed(answer)));
                }
                Act::Given(given)
            }
            ExampleLine::Previous(target, rows, known) => {
                let (value, _) = self.target(at, target)?;
                Act::PreviousValue(value, entries(rows), sizes(at, value, known)?)
            }
            ExampleLine::Using { instrument: name, number, calibrated_until, lines } => {
                let instrument = self.instrument(name)?;
                let properties = match at.program.instruments.get(instrument.0) {
                    Some(of) => properties(of, lines)?,
                    None => Properties::default(),
                };
                let calibrated_until = calibrated_until.as_ref().map(day).transpose()?;
                Act::Using { instrument, number: number.as_ref().map(plain), calibrated_until, properties }
            }
            ExampleLine::Day(date) => Act::Day(day(date)?),
            ExampleLine::List(path, items) => {
                let (axis, step) = self.listed(at, path)?;
                let items = items.iter().map(typed).collect();
                Act::List { axis, step, items }
            }
            ExampleLine::Expect(expect) => Act::Expect(self.expect(at, expect)?),
            ExampleLine::Act(act) => self.act(at, act, span)?,
        })
    }

    #[allow(clippy::too_many_lines)]
    fn act(&self, at: Standing, act: &ast::Act, span: Span) -> Found<Act> {
        Ok(match act {
            ast::Act::Enter { target, at: time, rows } | ast::Act::Observe { target, at: time, rows } => {
                let (value, picks) = self.target(at, target)?;
                self.is_asked(at, value, target.span)?;
                self.rows_fit(at, value, rows)?;
                let time = self.time_of_row(at, value, time.as_ref(), target.span)?;
                Act::Enter { value, picks, at: time, entries: entries(rows) }
            }
            ast::Act::Confirm { step, yes } => {
                Act::Confirm { step: self.step_or_here(at, step.as_ref(), span)?, answer: *yes }
            }
            ast::Act::Type(text) => Act::Type { value: None, text: plain(text) },
            ast::Act::Keep(text) => Act::Keep(plain(text)),
            ast::Act::Correct { target, which, at: time, rows, reason } => {
                self.correct(at, target, which, time.as_ref(), rows, reason)?
            }
            ast::Act::PutRight { kind, number, part, to, reason } => {
                self.put_right(at, (kind, number), part.as_ref(), to, reason)?
            }
            ast::Act::Remeasure { target, rows, reason } => {
                let (value, _) = self.target(at, target)?;
                self.is_asked(at, value, target.span)?;
                if let Some(rows) = rows {
                    self.rows_fit(at, value, rows)?;
                }
                let entries = rows.as_ref().map(entries).unwrap_or_default();
                Act::Remeasure { value, entries, reason: reason.as_ref().map(plain) }
            }
            ast::Act::Adjust { target, rows, text, beside: more } => {
                let (adjustment, picks) = self.target(at, target)?;
                self.is_adjustment(at, adjustment, target.span)?;
                self.rows_fit(at, adjustment, rows)?;
                let what = text.as_ref().map(plain);
                Act::Adjust { adjustment, picks, entries: entries(rows), what, beside: beside(more)? }
            }
            ast::Act::Altered { step, text, beside: more } => {
                let step = self.step_or_here(at, step.as_ref(), span)?;
                Act::Altered { step, what: plain(text), beside: beside(more)? }
            }
            ast::Act::Take { step } => Act::Take(self.step_or_here(at, step.as_ref(), span)?),
            ast::Act::Defects { step, done } => Act::Defects { step: self.step(step)?, done: *done },
            ast::Act::End(path) => {
                let value = self.value(at, path)?;
                self.may_end(at, value, path.span)?;
                Act::End(value)
            }
            ast::Act::Again { step } => Act::Again(self.step_or_here(at, step.as_ref(), span)?),
            ast::Act::Break { reading, text, zero_intact, from_the_start } => {
                let Some(path) = reading else {
                    return Err(Box::new(
                        Problem::fault(
                            Code::ExampleEntry,
                            span,
                            "it is not said which reading was interrupted",
                        )
                        .help("write `break STEP.READING \"what happened\"`"),
                    ));
                };
                let value = self.value(at, path)?;
                self.is_reading(at, value, path.span)?;
                Act::Break {
                    value,
                    reason: plain(text),
                    zero_intact: *zero_intact,
                    from_the_start: *from_the_start,
                }
            }
            ast::Act::Rejoin { reading, at: picks, rows } => {
                let value = self.value(at, reading)?;
                self.is_reading(at, value, reading.span)?;
                self.rows_fit(at, value, rows)?;
                let picks = self.rejoined(at, value, picks)?;
                Act::Rejoin { value, picks, entries: entries(rows) }
            }
            ast::Act::Skip { step, reason } => {
                Act::Skip { step: self.step_or_here(at, step.as_ref(), span)?, reason: plain(reason) }
            }
            ast::Act::Waive { step, reason, by } => Act::Waive {
                step: self.step_or_here(at, step.as_ref(), span)?,
                reason: plain(reason),
                by: Some(self.party(by)?),
            },
            ast::Act::Held { step, by } => {
                Act::Held { step: self.step_or_here(at, step.as_ref(), span)?, by: self.party(by)? }
            }
            ast::Act::Defect { text, photo } => {
                Act::Defect { text: plain(text), photo: photo.as_ref().map(plain) }
            }
            ast::Act::Mended { number, text } => Act::Mended { number: count(number)?, text: plain(text) },
            ast::Act::Accepted { number, text, by } => {
                Act::Accepted { number: count(number)?, reason: plain(text), by: self.party(by)? }
            }
            ast::Act::Stop { step, text } => {
                let step = step.as_ref().map(|step| self.step(step)).transpose()?;
                Act::Stop { step, text: plain(text) }
            }
            ast::Act::Justify { adjustment, reason } => {
                let id = self.value(at, adjustment)?;
                self.is_adjustment(at, id, adjustment.span)?;
                Act::Justify { adjustment: id, reason: plain(reason) }
            }
            ast::Act::Note(text) => Act::Note { text: plain(text) },
        })
    }

    pub(super) fn step(&self, name: &ast::Name) -> Found<StepId> {
        self.steps.get(&name.text).copied().ok_or_else(|| {
            unknown(Code::NameUnknownStep, name, "step", self.steps.keys().map(String::as_str))
        })
    }

    fn step_or_here(&self, at: Standing, name: Option<&ast::Name>, span: Span) -> Found<StepId> {
        match name {
            Some(name) => self.step(name),
            None => at.step.ok_or_else(|| {
                Box::new(
                    Problem::fault(Code::NameUnknownStep, span, "it is not said which step is meant")
                        .help("write the name of the step behind the first word"),
                )
            }),
        }
    }

    pub(super) fn instrument(&self, name: &ast::Name) -> Found<InstrumentId> {
        self.instruments.get(&name.text).copied().ok_or_else(|| {
            unknown(
                Code::NameUnknownInstrument,
                name,
                "instrument",
                self.instruments.keys().map(String::as_str),
            )
        })
    }

    fn party(&self, name: &ast::Name) -> Found<PartyId> {
        self.parties.get(&name.text).copied().ok_or_else(|| {
            unknown(Code::NameUnknownParty, name, "party", self.parties.keys().map(String::as_str))
        })
    }

    fn fact(&self, at: Standing, name: &ast::Name) -> Found<ValueId> {
        let id = self.values.get(&(None, name.text.clone())).copied();
        let is_fact = |id: &ValueId| at.program.facts.contains(id);
        id.filter(is_fact).ok_or_else(|| {
            let facts = at
                .program
                .facts
                .iter()
                .filter_map(|id| at.program.values.get(id.0))
                .map(|value| value.name.as_str());
            unknown(Code::NameUnknown, name, "fact", facts)
        })
    }

    pub(super) fn value(&self, at: Standing, path: &ast::Path) -> Found<ValueId> {
        let step = match &path.step {
            Some(step) => Some(self.step(step)?),
            None => at.step,
        };
        let named = |step| self.values.get(&(step, path.name.text.clone())).copied();
        let id = named(step).or_else(|| named(None).filter(|_| path.step.is_none()));
        id.ok_or_else(|| {
            let own =
                at.program.values.iter().filter(|value| value.step == step).map(|value| value.name.as_str());
            let mut problem = unknown(Code::NameUnknown, &path.name, "value", own.clone());
            let near = problem.help.map(|help| format!("{help} ")).unwrap_or_default();
            problem.help = Some(match step.and_then(|step| at.program.steps.get(step.0)) {
                None => format!("write its step before it: `STEP.{}`", path.name.text),
                Some(step) => format!("{near}{} has {}", step.name, a_few(own)),
            });
            problem
        })
    }

    pub(super) fn target(
        &self,
        at: Standing,
        target: &ast::Target,
    ) -> Found<(ValueId, Vec<(AxisId, StationPick)>)> {
        let value = self.value(at, &target.path)?;
        let picks = self.picks(at, value, &target.picks)?;
        Ok((value, picks))
    }

    /// The list that is filled in: `L45.part`.
    fn listed(&self, at: Standing, path: &ast::Path) -> Found<(AxisId, Option<StepId>)> {
        let step = match &path.step {
            Some(step) => Some(self.step(step)?),
            None => at.step,
        };
        let listed = |id: &AxisId| {
            at.program.axes.get(id.0).is_some_and(|axis| {
                axis.name == path.name.text && matches!(axis.stations, Stations::Listed { .. })
            })
        };
        let own = step.and_then(|step| at.program.steps.get(step.0));
        let found = own.into_iter().flat_map(|step| &step.items).find_map(|item| {
            let id = match item {
                super::program::Item::Reading(id) | super::program::Item::Observation(id) => id,
                super::program::Item::Defects(_) => return None,
            };
            at.program.values.get(id.0)?.axes.iter().copied().find(listed)
        });
        match found {
            Some(axis) => Ok((axis, step)),
            None => Err(Box::new(
                Problem::fault(Code::AxisUnknown, path.span, format!("there is no list `{}` to be filled in", path.name.text))
                    .help("a list is laid out as `over part as listed \"Name each part\"`, and named with its step: `L45.part`"),
            )),
        }
    }

    // -------------------------------------------------------------------------------------------- picks

    pub(super) fn picks(
        &self,
        at: Standing,
        value: ValueId,
        picks: &[ast::Pick],
    ) -> Found<Vec<(AxisId, StationPick)>> {
        let axes = at.program.values.get(value.0).map(|value| value.axes.as_slice()).unwrap_or_default();
        // One bare station an axis, in their order, as the walk says them back: `[tail, first]`.
        let in_order = picks.len() == axes.len() && picks.iter().all(|pick| pick.axis.is_none());
        let axis = |index: usize| axes.get(index).copied().filter(|_| in_order);
        picks.iter().enumerate().map(|(index, pick)| self.pick(at, value, pick, axis(index))).collect()
    }

    /// `at place 150 mm, 200 mm`: the axis of the first station is that of all.
    fn rejoined(
        &self,
        at: Standing,
        value: ValueId,
        picks: &[ast::Pick],
    ) -> Found<Vec<(AxisId, StationPick)>> {
        let mut axis = None;
        let mut all = Vec::new();
        for pick in picks {
            let (found, station) = self.pick(at, value, pick, axis)?;
            axis = Some(found);
            all.push((found, station));
        }
        Ok(all)
    }

    fn pick(
        &self,
        at: Standing,
        value: ValueId,
        pick: &ast::Pick,
        usual: Option<AxisId>,
    ) -> Found<(AxisId, StationPick)> {
        let axes = at.program.values.get(value.0).map(|value| value.axes.as_slice()).unwrap_or_default();
        let name = |id: &AxisId| at.program.axes.get(id.0).map_or("", |axis| axis.name.as_str());
        let axis = match (&pick.axis, usual, axes) {
            (Some(wanted), ..) => {
                axes.iter().copied().find(|id| name(id) == wanted.text).ok_or_else(|| {
                    let mut problem = unknown(Code::AxisNotOver, wanted, "axis", axes.iter().map(name));
                    problem.message =
                        format!("`{}` is not laid out over `{}`", value_name(at, value), wanted.text);
                    problem
                })?
            }
            (None, Some(axis), _) => axis,
            (None, None, [axis]) => *axis,
            _ => {
                // A word that is a station of one axis only says enough.
                let mut fitting = axes.iter().filter(|id| self.station(at, **id, &pick.station).is_ok());
                match (fitting.next(), fitting.next()) {
                    (Some(only), None) => *only,
                    _ => return Err(which_axis(at, value, axes.iter().map(name), pick.span)),
                }
            }
        };
        Ok((axis, self.station(at, axis, &pick.station)?))
    }

    fn station(&self, at: Standing, axis: AxisId, station: &ast::Station) -> Found<StationPick> {
        let no_such = |text: &str, span: Span| {
            let name = at.program.axes.get(axis.0).map_or("", |axis| axis.name.as_str());
            let mut problem = Problem::fault(
                Code::AxisNoSuchStation,
                span,
                format!("`{text}` was never laid out on `{name}`"),
            );
            if let Some(words) = at.program.axes.get(axis.0).and_then(|axis| axis.stations.fixed_words()) {
                problem = problem.help(some_of(&words));
            }
            Box::new(problem)
        };
        let laid = at.program.axes.get(axis.0);
        if let (ast::Station::Word(word), Some(words)) =
            (station, laid.and_then(|axis| axis.stations.fixed_words()))
        {
            return match words.contains(&word.text) {
                true => Ok(StationPick::Word(word.text.clone())),
                false => Err(no_such(&word.text, word.span)),
            };
        }
        match (station, laid.map(|axis| &axis.stations)) {
            (ast::Station::Word(word), Some(Stations::Time { .. }))
                if matches!(word.text.as_str(), "first" | "last") =>
            {
                Ok(StationPick::Word(word.text.clone()))
            }
            (ast::Station::Word(word), Some(Stations::Listed { .. })) => {
                Ok(StationPick::Word(word.text.clone()))
            }
            (ast::Station::Word(word), _) => {
                let id = self
                    .values
                    .get(&(None, word.text.clone()))
                    .or_else(|| self.values.get(&(at.step, word.text.clone())));
                let value = id.and_then(|id| Some((*id, at.program.values.get(id.0)?)));
                let Some((id, value)) = value.filter(|(_, value)| value.axes.is_empty()) else {
                    return Err(no_such(&word.text, word.span));
                };
                let expr = Expr {
                    node: Node::Value(id),
                    kind: value.kind.clone(),
                    axes: Vec::new(),
                    sense: None,
                    span: word.span,
                };
                Ok(StationPick::Value(Box::new(expr)))
            }
            (ast::Station::Value(value), _) => match &value.what {
                ast::ExprKind::Quantity(quantity) => {
                    let expr = literal_expr(quantity, None)?;
                    let wanted = laid.and_then(|axis| axis.dimension).unwrap_or(Dimension::NONE);
                    match expr.kind == Kind::Quantity(wanted) {
                        true => Ok(StationPick::Value(Box::new(expr))),
                        false => Err(no_such(&quantity_text(quantity), value.span)),
                    }
                }
                _ => Err(Box::new(Problem::fault(
                    Code::AxisNoSuchStation,
                    value.span,
                    "a station is named here by a word, a number or a fact",
                ))),
            },
        }
    }
}

fn which_axis<'n>(
    at: Standing,
    value: ValueId,
    axes: impl Iterator<Item = &'n str>,
    span: Span,
) -> Box<Problem> {
    let name = value_name(at, value);
    let axes: Vec<String> = axes.map(|axis| format!("{axis} ...")).collect();
    let (message, help) = match axes.is_empty() {
        true => (format!("`{name}` is one value, without stations"), "leave the brackets away".to_owned()),
        false => (
            format!("`{name}` is laid out over {} axes", axes.len()),
            format!("say the station on each: `{name}[{}]`", axes.join(", ")),
        ),
    };
    Box::new(Problem::fault(Code::AxisWhich, span, message).help(help))
}
