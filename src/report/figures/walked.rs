//! One try of a step as it is looked at for drawing: its expressions, their values along an axis, its limits.

use std::rc::Rc;

use crate::check::program::{
    AxisId, By, Expr, Function, Judged as Plan, Judgement, Node, Program, Role, Step, ValueId,
};
use crate::quantity::{Real, Sense, Unit, parse_exact};
use crate::report::labels::{bound, plain};
use crate::report::model::{Held, Try};
use crate::report::plot::{Ends, Stretch, Tint};
use crate::report::said::spoken;
use crate::report::summary::loud;
use crate::walk::asked_words;
use crate::walk::eval::Evaluator;
use crate::walk::value::{Laid, Stations};
use crate::walk::verdict::StepResults;
use crate::walk::{layout, text};

use super::Shown;

/// More lines than this in one drawing cannot be told apart.
pub(super) const MOST_LINES: usize = 6;

#[derive(Debug)]
pub(super) struct Walked<'a> {
    pub program: &'a Program,
    pub plan: &'a Step,
    pub evaluator: Evaluator<'a>,
    pub attempt: &'a Try,
    pub results: Option<&'a StepResults>,
}

/// A function as a result of the step uses it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Use<'a> {
    pub result: ValueId,
    pub function: Function,
    pub argument: &'a Expr,
    /// What the function asks of it, such as a place on the axis.
    pub place: Option<&'a Expr>,
    pub over: &'a [AxisId],
    pub by: Option<By>,
    /// The whole expression of the result.
    pub expr: &'a Expr,
    /// The result is this function and nothing else.
    pub whole: bool,
}

/// Values along one axis, a line for each combination of the other stations.
#[derive(Clone, Debug)]
pub(super) struct Laying {
    pub axis: AxisId,
    /// Stations are words: they stand one after the other.
    pub named: bool,
    pub lines: Vec<Along>,
}

#[derive(Clone, Debug)]
pub(super) struct Along {
    /// The other stations; empty where there are none.
    pub name: String,
    pub stations: Vec<Real>,
    /// Names of these stations.
    pub places: Vec<String>,
    pub values: Vec<Real>,
}

/// A rule of this try with the line of the procedure that it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rule<'a> {
    pub held: &'a Held,
    pub judgement: &'a Judgement,
}

impl<'a> Walked<'a> {
    /// Every use of a function in the results of the step, in the order of the file.
    pub fn uses(&self, wanted: &[Function]) -> Vec<Use<'a>> {
        let mut ids: Vec<ValueId> = self.plan.lets.clone();
        ids.sort_by_key(|id| (self.program.values[id.0].span.start, *id));
        let mut found = Vec::new();
        for result in ids {
            let Role::Let(whole) = &self.program.values[result.0].role else { continue };
            whole.each(&mut |part: &'a Expr| {
                let Node::Call { function, arguments, over, by } = &part.node else { return };
                let Some(argument) = arguments.first().filter(|_| wanted.contains(function)) else { return };
                found.push(Use {
                    result,
                    function: *function,
                    argument,
                    place: arguments.get(1),
                    over,
                    by: *by,
                    expr: whole,
                    whole: std::ptr::eq(whole, part),
                });
            });
        }
        found
    }

    /// The axis that a function is taken over.
    pub fn axis_of(&self, of: &Use<'a>) -> Option<AxisId> {
        let axes = if of.over.is_empty() { &of.argument.axes } else { of.over };
        if let [axis] = axes { Some(*axis) } else { None }
    }

    /// The values of an expression along an axis, those that are known; None if it has no such stations here.
    pub fn along(&self, expr: &Expr, axis: AxisId) -> Option<Laying> {
        self.laid_along(&self.evaluator.expr(expr), axis)
    }

    pub fn laid_along(&self, laid: &Laid, axis: AxisId) -> Option<Laying> {
        let name = &self.program.axes.get(axis.0)?.name;
        let position = laid.axes.iter().position(|own| *own.axis == **name)?;
        let stations: Rc<Stations> = laid.axes.get(position)?.clone();
        let gathered = layout::gather(laid, &[position], false);
        let named = stations.open().iter().any(|station| station.position.is_none());
        let mut lines = Vec::new();
        for (number, group) in gathered.groups().enumerate() {
            let mut line = Along {
                name: spoken(&layout::place(&gathered.kept, number)),
                stations: Vec::new(),
                places: Vec::new(),
                values: Vec::new(),
            };
            for (at, (station, cell)) in stations.open().iter().zip(group).enumerate() {
                let Some(value) = cell.as_number() else { continue };
                let place = if named { None } else { station.position.clone() };
                line.stations.push(place.unwrap_or_else(|| Real::from(at as i64)));
                line.places.push(spoken(&station.name));
                line.values.push(value.clone());
            }
            if !line.values.is_empty() {
                lines.push(line);
            }
        }
        (!lines.is_empty()).then_some(Laying { axis, named, lines })
    }

    pub fn label(&self, id: ValueId) -> String {
        asked_words::named(self.program, id)
    }

    pub fn unit(&self, id: ValueId) -> Option<Unit> {
        self.evaluator.shown_in(id)
    }

    /// The unit in which the argument of a function is shown where the result keeps its kind.
    pub fn unit_of(&self, of: &Use<'a>) -> Option<Unit> {
        let own = &self.program.values[of.result.0];
        match of.whole && own.kind == of.argument.kind {
            true => self.unit(of.result),
            false => text::unit_of(&self.evaluator, of.argument),
        }
    }

    pub fn sense(&self, id: ValueId) -> Option<&'a Sense> {
        self.program.values[id.0].sense.as_ref()
    }

    /// A number with its unit and what its sign says.
    pub fn said(&self, value: &Real, unit: Option<Unit>, sense: Option<&Sense>, of: ValueId) -> String {
        text::show(value, unit, sense, self.evaluator.finest_resolution(of).as_ref(), &[])
    }

    /// What an axis is called, with its unit.
    pub fn axis_label(&self, axis: AxisId) -> String {
        let Some(plan) = self.program.axes.get(axis.0) else { return String::new() };
        let name = plain(&plan.label);
        let name = if name.is_empty() { plan.name.clone() } else { name };
        match text::station_unit(&self.evaluator, axis.0) {
            Some(unit) => format!("{name}, in {}", unit.symbol()),
            None => name,
        }
    }

    /// The place of a station on the page.
    pub fn station(&self, laying: &Laying, station: &Real) -> f64 {
        let unit = text::station_unit(&self.evaluator, laying.axis.0).filter(|_| !laying.named);
        unit.map_or_else(|| station.to_f64(), |unit| unit.from_base(station).to_f64())
    }

    /// Where parts of a series along this axis were joined: between the outermost stations that were read again.
    pub fn seams(&self, laying: &Laying) -> Vec<Stretch> {
        let axis = self.program.axes.get(laying.axis.0).map(|axis| axis.name.as_str());
        let sets = self.attempt.readings.iter().filter(|set| !set.left_off);
        let sets = sets.filter(|set| set.axes.last().map(String::as_str) == axis);
        let mut found: Vec<Stretch> = Vec::new();
        for set in sets {
            let names: Vec<String> =
                set.read_again.iter().filter_map(|entry| Some(spoken(entry.stations.last()?))).collect();
            let place = |name: &String| {
                let of_line = |line: &Along| {
                    let at = line.places.iter().position(|place| place == name)?;
                    Some(self.station(laying, line.stations.get(at)?))
                };
                laying.lines.iter().find_map(of_line)
            };
            let places: Vec<f64> = names.iter().filter_map(place).collect();
            let from = places.iter().copied().fold(f64::INFINITY, f64::min);
            let to = places.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let name = format!("joined through {}, read again", names.join(" and "));
            if from <= to && found.iter().all(|it| it.name != name) {
                found.push(Stretch { from, to, tint: Tint::Seam, name });
            }
        }
        found
    }

    /// The rules on a value that were judged in this try.
    pub fn rules_on(&self, id: ValueId) -> Vec<Rule<'a>> {
        let judged = self.results.map(|results| results.judged.as_slice()).unwrap_or_default();
        let rules = self.attempt.rules.iter().zip(judged).filter_map(|(held, judged)| {
            let judgement = self.plan.judgements.get(judged.judgement.0)?;
            let on = matches!(&judgement.of, Plan::Tolerance { value, .. } if *value == id);
            (on && held.rule.verdict != "not applicable").then_some(Rule { held, judgement })
        });
        rules.collect()
    }

    /// Remembers that a value is drawn with all that it rests on in this step.
    pub fn take(&self, shown: &mut Shown, expr: &Expr) {
        expr.each(&mut |part| {
            if let Node::Value(id) = &part.node
                && shown.0.insert(*id)
                && let Some(Role::Let(below)) = self.program.values.get(id.0).map(|value| &value.role)
            {
                self.take(shown, below);
            }
        });
    }
}

impl Rule<'_> {
    pub fn lower(&self) -> Option<f64> {
        number(self.held.rule.lower.as_deref())
    }

    pub fn upper(&self) -> Option<f64> {
        number(self.held.rule.upper.as_deref())
    }

    /// "Greatest hump: 0.012 mm, allowed at most 0.010 mm: FAILED."
    pub fn sentence(&self) -> String {
        let (value, limit) = (self.held.value(), self.held.limit());
        let value = if value.is_empty() { String::new() } else { format!(" {value},") };
        let limit = if limit.is_empty() { String::new() } else { format!(" allowed {limit}:") };
        format!("{}:{value}{limit} {}.", self.held.label, loud(&self.held.rule.verdict))
    }
}

/// A number of the record, for drawing.
pub(super) fn number(recorded: Option<&str>) -> Option<f64> {
    let (number, _) = bound(recorded?);
    Some(Real::Exact(parse_exact(number)?).to_f64())
}

/// A value in its unit, for drawing.
pub(super) fn drawn(value: &Real, unit: Option<Unit>) -> f64 {
    unit.map_or_else(|| value.to_f64(), |unit| unit.from_base(value).to_f64())
}

/// `Height, in mm`.
pub(super) fn with_unit(name: &str, unit: Option<Unit>) -> String {
    match unit.filter(|unit| *unit != Unit::One) {
        Some(unit) => format!("{name}, in {}", unit.symbol()),
        None => name.to_owned(),
    }
}

pub(super) fn ends(sense: Option<&Sense>) -> Option<Ends> {
    sense.map(|sense| Ends { plus: sense.plus.clone(), minus: sense.minus.clone() })
}

/// What is said of a row of readings, behind its name; a sentence of its own where it has none.
pub(super) fn begun(name: &str, said: &str) -> String {
    let mut letters = said.chars();
    match (name.is_empty(), letters.next()) {
        (true, Some(first)) => first.to_uppercase().chain(letters).collect(),
        _ => format!("{name}: {said}"),
    }
}

/// Sentences one behind the other.
pub(super) fn joined(sentences: impl IntoIterator<Item = String>) -> String {
    sentences.into_iter().filter(|it| !it.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Uses that look at the same values over the same axis in the same way, in the order of the first of each.
pub(super) fn grouped<'a>(
    walked: &Walked<'a>,
    uses: Vec<Use<'a>>,
    by_way: bool,
) -> Vec<(Rc<Laid>, Vec<Use<'a>>)> {
    let mut groups: Vec<(Rc<Laid>, Vec<Use<'a>>)> = Vec::new();
    for of in uses {
        let laid = walked.evaluator.expr(of.argument);
        let same = groups.iter_mut().find(|(known, members)| {
            let way = members.first().is_some_and(|first| {
                walked.axis_of(first) == walked.axis_of(&of) && (!by_way || first.by == of.by)
            });
            way && *known == laid
        });
        match same {
            Some((_, members)) => members.push(of),
            None => groups.push((laid, vec![of])),
        }
    }
    groups
}
