//! Working out values: expressions of the checked program over what was entered.
//!
//! An [`Evaluator`] sees one state of the walk (a [`Scope`]) and keeps what it has worked out; after a further entry a new
//! one is made. Nothing is entered, judged for the record or shown here, and nothing ends in a panic: what cannot be
//! worked out is an invalid cell with its reason.

use std::cell::{Cell as Flag, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{AxisId, Expr, JudgementId, Node, Program, Role, StationPick, StepId, ValueId};
use crate::metrology::Material;
use crate::quantity::Real;

use super::cells;
use super::layout::{self, align};
use super::off::{Off, Property};
use super::scope::Scope;
use super::stations::{named_station, numbered_station};
use super::uncertainty::{Effort, Kept};
use super::value::{Cell, Laid, NOT_APPLICABLE, Scalar, Stations};
use super::verdict::Judged;
use super::{functions, rules, tables, text};

/// Deeper than any file that was checked nests.
const DEEPEST: usize = 300;

pub struct Evaluator<'a> {
    pub program: &'a Program,
    pub scope: &'a dyn Scope,
    /// The step that is judged: its own tolerances are worked out, those of others asked of the scope.
    pub(super) step: Option<StepId>,
    /// Axis functions take what is there and leave out what is awaited (for `stop when`).
    pub(super) partial: bool,
    values: RefCell<HashMap<ValueId, Known>>,
    /// Stations hang on no reading: an evaluator whose values are off shares them.
    axes: Rc<RefCell<Axes>>,
    judged: RefCell<HashMap<JudgementId, Option<Rc<Judged>>>>,
    /// What a reader must know beside what is being worked out ("7 of 8 read").
    notes: RefCell<Vec<Rc<str>>>,
    current: RefCell<Vec<(Rc<str>, Cell)>>,
    depth: Flag<usize>,
    /// By how much readings and results are taken to be off, for their uncertainty; None in plain working out.
    off: Option<&'a Off>,
    /// Before the walk: uncertainties are looked at with this effort, and judge nothing.
    pub(super) foreseen: Option<Effort>,
    /// For uncertainties that no verdict hangs on.
    pub(super) effort: Effort,
    /// Uncertainties that were worked out before.
    pub(super) kept: Option<&'a Kept>,
}

/// The stations of each axis, or what stands in their way.
type Axes = HashMap<AxisId, Result<Rc<Stations>, Cell>>;

#[derive(Clone)]
struct Known {
    laid: Rc<Laid>,
    notes: Rc<[Rc<str>]>,
}

impl std::fmt::Debug for Evaluator<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Evaluator")
            .field("step", &self.step)
            .field("partial", &self.partial)
            .finish_non_exhaustive()
    }
}

impl<'a> Evaluator<'a> {
    pub fn new(program: &'a Program, scope: &'a dyn Scope) -> Self {
        Self {
            program,
            scope,
            step: None,
            partial: false,
            values: RefCell::default(),
            axes: Rc::default(),
            judged: RefCell::default(),
            notes: RefCell::default(),
            current: RefCell::default(),
            depth: Flag::new(0),
            off: None,
            foreseen: None,
            effort: Effort::Shown,
            kept: None,
        }
    }

    /// The same, asking another scope.
    pub(super) fn before<'s>(&self, scope: &'s dyn Scope) -> Evaluator<'s>
    where
        'a: 's,
    {
        Evaluator {
            step: self.step,
            foreseen: self.foreseen,
            effort: self.effort,
            ..Evaluator::new(self.program, scope)
        }
    }

    /// The same state, its values off by so much.
    pub(super) fn shifted<'s>(&self, off: &'s Off) -> Evaluator<'s>
    where
        'a: 's,
    {
        Evaluator {
            step: self.step,
            off: Some(off),
            axes: self.axes.clone(),
            ..Evaluator::new(self.program, self.scope)
        }
    }

    /// By which part of itself a figure of a material is taken to be off.
    pub(super) fn material_off(&self, material: Material, property: Property) -> Real {
        let off = self.off.and_then(|off| off.materials.get(&(material, property)));
        off.cloned().unwrap_or_else(Real::zero)
    }

    /// For judging this step: its own tolerances are worked out.
    pub fn of_step(self, step: StepId) -> Self {
        Self { step: Some(step), ..self }
    }

    /// Uncertainties that were worked out before are good again where nothing has changed.
    pub fn keeping(self, kept: &'a Kept) -> Self {
        Self { kept: Some(kept), ..self }
    }

    pub(super) fn with_effort(self, effort: Effort) -> Self {
        Self { effort, ..self }
    }

    /// Before the walk.
    pub(super) fn foreseeing(self, effort: Effort) -> Self {
        Self { foreseen: Some(effort), ..self }
    }

    /// Axis functions leave out what is awaited.
    pub fn on_what_is_known(self) -> Self {
        Self { partial: true, ..self }
    }

    // -------------------------------------------------------------------------------------------- values

    /// A value as expressions see it: entered, worked out, or awaited over its stations. A reading in div is taken to
    /// the scale of its instrument.
    pub fn value(&self, id: ValueId) -> Rc<Laid> {
        if let Some(known) = self.known(id) {
            return known;
        }
        // Lets that rest on lets are worked out from the ground up, so that a long chain does not pile up calls.
        let mut waiting = vec![(id, false)];
        let mut opened = std::collections::HashSet::new();
        while let Some((next, ready)) = waiting.pop() {
            if self.values.borrow().contains_key(&next) {
                continue;
            }
            let rests_on = match self.program.values.get(next.0).map(|value| &value.role) {
                Some(Role::Let(expr)) if !ready && !self.is_given(next) && opened.insert(next) => {
                    let is_given = |part: &Expr| self.part(part).is_some();
                    lets_below(self.program, expr, &is_given)
                }
                _ => Vec::new(),
            };
            if rests_on.is_empty() {
                self.work_out(next);
            } else {
                waiting.push((next, true));
                waiting.extend(rests_on.into_iter().map(|below| (below, false)));
            }
        }
        self.known(id).unwrap_or_else(|| Rc::new(Laid::single(Cell::invalid("there is no such value"))))
    }

    /// Whether something stands in place of a value, so that nothing beneath it need be worked out.
    fn is_given(&self, id: ValueId) -> bool {
        self.off.is_some_and(|off| off.instead.contains_key(&id))
    }

    fn part(&self, expr: &Expr) -> Option<&'a Rc<Laid>> {
        self.off.filter(|off| !off.parts.is_empty())?.parts.get(&std::ptr::from_ref(expr))
    }

    fn known(&self, id: ValueId) -> Option<Rc<Laid>> {
        let known = self.values.borrow().get(&id).cloned()?;
        known.notes.iter().for_each(|note| self.note(note.clone()));
        Some(known.laid)
    }

    fn work_out(&self, id: ValueId) {
        let Some(value) = self.program.values.get(id.0) else { return };
        if let Some(laid) = self.off.and_then(|off| off.instead.get(&id)) {
            let known = Known { laid: laid.clone(), notes: Rc::default() };
            self.values.borrow_mut().insert(id, known);
            return;
        }
        let outer = self.notes.take();
        let laid = match &value.role {
            Role::Let(expr) => self.expr(expr),
            Role::Fact { .. } | Role::Adjustment { .. } => self.as_entered(id),
            Role::Reading(reading) => {
                let entered = self.applicable(reading.only_when.as_ref(), self.as_entered(id));
                self.scaled(id, value, entered)
            }
            Role::Observation { only_when, .. } => self.applicable(only_when.as_ref(), self.as_entered(id)),
        };
        let laid = match self.off.and_then(|off| off.by.get(&id)) {
            Some(by) => shift(&laid, by),
            None => laid,
        };
        let notes = self.notes.replace(outer).into();
        self.values.borrow_mut().insert(id, Known { laid, notes });
    }

    // -------------------------------------------------------------------------------------------- notes, stations

    pub(super) fn note(&self, note: Rc<str>) {
        let mut notes = self.notes.borrow_mut();
        if !notes.contains(&note) {
            notes.push(note);
        }
    }

    /// Does something, and gives what a reader must know beside it.
    pub(super) fn with_notes<T>(&self, work: impl FnOnce() -> T) -> (T, Vec<Rc<str>>) {
        let outer = self.notes.take();
        let result = work();
        (result, self.notes.replace(outer))
    }

    pub(super) fn known_stations(&self, axis: AxisId) -> Option<Result<Rc<Stations>, Cell>> {
        self.axes.borrow().get(&axis).cloned()
    }

    pub(super) fn keep_stations(&self, axis: AxisId, found: Result<Rc<Stations>, Cell>) {
        self.axes.borrow_mut().insert(axis, found);
    }

    /// The stations that are being asked for, by the names of their axes, for `{turn}` in a question.
    pub(super) fn stand_at(&self, current: Vec<(Rc<str>, Cell)>) {
        *self.current.borrow_mut() = current;
    }

    pub(super) fn axis_name(&self, axis: AxisId) -> &'a str {
        self.program.axes.get(axis.0).map_or("", |axis| &axis.name)
    }

    // -------------------------------------------------------------------------------------------- expressions

    /// The one cell of an expression.
    pub fn single(&self, expr: &Expr) -> Cell {
        self.expr(expr).as_single()
    }

    /// Whether a condition holds: yes, no, or the cell that says why it cannot be told. Laid out: at every element.
    pub fn holds(&self, condition: &Expr) -> Cell {
        let laid = self.expr(condition);
        if laid.axes.is_empty() { laid.as_single() } else { over_all(&laid, false) }
    }

    /// Works out an expression over its axes.
    pub fn expr(&self, expr: &Expr) -> Rc<Laid> {
        if self.depth.get() >= DEEPEST {
            return one(Cell::invalid("nested too deeply"));
        }
        if let Some(part) = self.part(expr) {
            return part.clone();
        }
        self.depth.set(self.depth.get() + 1);
        let result = self.node(expr);
        self.depth.set(self.depth.get() - 1);
        result
    }

    fn node(&self, expr: &Expr) -> Rc<Laid> {
        match &expr.node {
            Node::Number(number) => one(Cell::number(Real::Exact(number.clone()))),
            Node::Inexact(value) => one(inexact(*value)),
            Node::Word(word) => one(Cell::Known(Scalar::Word(word.as_str().into()))),
            Node::YesNo(yes) => one(Cell::yes_no(*yes)),
            Node::Text(text) => one(Cell::Known(Scalar::Text(text.as_str().into()))),
            Node::Date(date) => one(Cell::Known(Scalar::Date(*date))),
            Node::Value(id) => self.value(*id),
            Node::Pick(of, picks) => self.pick(self.expr(of), picks),
            Node::Table { table, column, at } => tables::look_up(self, *table, *column, at.as_deref()),
            Node::Negate(of) => map(&self.expr(of), cells::negate),
            Node::Arithmetic(operation, a, b) => {
                zip(&self.expr(a), &self.expr(b), |a, b| cells::arithmetic(*operation, a, b))
            }
            Node::Power(of, power) => map(&self.expr(of), |cell| {
                cells::number(cell, |value| {
                    value.powi(*power).map_or_else(|| Cell::invalid("division by zero"), Cell::number)
                })
            }),
            Node::Not(of) => map(&self.expr(of), cells::not),
            Node::And(a, b) => {
                zip(&self.expr(a), &self.expr(b), |a, b| cells::together([a, b].into_iter(), false))
            }
            Node::Or(a, b) => {
                zip(&self.expr(a), &self.expr(b), |a, b| cells::together([a, b].into_iter(), true))
            }
            Node::Every(of) => one(over_all(&self.expr(of), false)),
            Node::Any(of) => one(over_all(&self.expr(of), true)),
            Node::If { condition, then, otherwise } => self.branch(expr, condition, then, otherwise),
            Node::Is(a, b) => zip(&self.expr(a), &self.expr(b), cells::is),
            Node::Meets(of, rule) => rules::meets(self, of, rule),
            Node::Dates { left, before, right } => {
                zip(&self.expr(left), &self.expr(right), |left, right| cells::dates(left, *before, right))
            }
            Node::ValueOutside(value) => one(rules::value_outside(self, *value)),
            Node::JudgementOutside(step, judgement) => one(rules::outside(self, *step, *judgement)),
            Node::Call { function, arguments, over, by } => {
                functions::call(self, *function, arguments, over, *by)
            }
            Node::Aim(value) => one(rules::aim(self, *value)),
            Node::Resolution(reading) => {
                let unknown = || Cell::NotRead("the resolution of the instrument is not known".into());
                one(self.resolution(*reading).map_or_else(unknown, Cell::number))
            }
            Node::Where(step, judgement) => one(rules::place_of(self, *step, *judgement)),
            Node::Previous { result, otherwise } => {
                let found = self.scope.previous(*result).map(Rc::new);
                match (found, otherwise, self.program.values.get(result.0)) {
                    (Some(found), _, Some(value)) => {
                        let found = self.scaled(*result, value, found);
                        let by = self.off.and_then(|off| off.before.get(result));
                        by.map_or(found.clone(), |by| shift(&found, by))
                    }
                    (_, Some(otherwise), _) => self.expr(otherwise),
                    _ => one(Cell::NotRead("no earlier record says it".into())),
                }
            }
            Node::CurrentStation(axis) => {
                let name = self.axis_name(*axis);
                let current = self.current.borrow();
                let found = current.iter().find(|(axis, _)| **axis == *name).map(|(_, cell)| cell.clone());
                one(found
                    .unwrap_or_else(|| Cell::invalid(format!("no station of {name} is being asked for"))))
            }
        }
    }

    /// Only the branch that is taken is looked at.
    fn branch(&self, whole: &Expr, condition: &Expr, then: &Expr, otherwise: &Expr) -> Rc<Laid> {
        let condition = self.expr(condition);
        if let ([cell], true) = (condition.cells.as_slice(), condition.axes.is_empty()) {
            return match cell.as_yes_no() {
                Some(true) => self.expr(then),
                Some(false) => self.expr(otherwise),
                None => match self.layout(&whole.axes) {
                    Ok(axes) => Rc::new(Laid::filled(axes, cells::not(cell))),
                    Err(_) => one(cells::not(cell)),
                },
            };
        }
        let taken = |wanted: bool| condition.cells.iter().any(|cell| cell.as_yes_no() == Some(wanted));
        let nothing = one(Cell::Awaited);
        let then = if taken(true) { self.expr(then) } else { nothing.clone() };
        let otherwise = if taken(false) { self.expr(otherwise) } else { nothing };
        combine(&[&condition, &then, &otherwise], |cells| match cells {
            [condition, then, otherwise] => match condition.as_yes_no() {
                Some(true) => (*then).clone(),
                Some(false) => (*otherwise).clone(),
                None => cells::not(condition),
            },
            _ => Cell::Awaited,
        })
    }

    /// The cells at picked stations; axes that are not picked stay.
    pub(super) fn pick(&self, mut laid: Rc<Laid>, picks: &[(AxisId, StationPick)]) -> Rc<Laid> {
        for (axis, pick) in picks {
            let name = self.axis_name(*axis);
            let Some(position) = laid.axes.iter().position(|own| *own.axis == *name) else {
                // What is not known yet may not be laid out yet; anything else has no such axis.
                if laid.axes.is_empty() && laid.cells.iter().all(|cell| Cell::gravest([cell]).is_some()) {
                    continue;
                }
                return one(Cell::invalid(format!("there are no stations of {name}")));
            };
            let Some(stations) = laid.axes.get(position) else { continue };
            let wanted = match pick {
                StationPick::Word(word) => Cell::Known(Scalar::Word(word.as_str().into())),
                StationPick::Value(value) => self.single(value),
            };
            let found = match &wanted {
                Cell::Known(Scalar::Number(place)) => numbered_station(stations, place),
                Cell::Known(Scalar::Word(word) | Scalar::Text(word)) => named_station(stations, word),
                Cell::Known(_) | Cell::OpenEnded { .. } => None,
                missing => return one(missing.clone()),
            };
            let Some(station) = found else {
                let wanted = text::cell(&wanted, text::station_unit(self, axis.0));
                return one(Cell::invalid(format!("{name} has no station {wanted}")));
            };
            laid = Rc::new(layout::at(&laid, position, station));
        }
        laid
    }

    // -------------------------------------------------------------------------------------------- judgements

    /// A judgement of the step that is judged, worked out once. `None` while it is being worked out.
    pub(super) fn judged(&self, id: JudgementId, work: impl FnOnce() -> Judged) -> Option<Rc<Judged>> {
        if let Some(known) = self.judged.borrow().get(&id) {
            return known.clone();
        }
        self.judged.borrow_mut().insert(id, None);
        let judged = Rc::new(work());
        self.judged.borrow_mut().insert(id, Some(judged.clone()));
        Some(judged)
    }
}

fn shift(laid: &Laid, by: &[Real]) -> Rc<Laid> {
    let cells = laid.cells.iter().enumerate().map(|(at, cell)| match (cell, by.get(at).or(by.first())) {
        (Cell::Known(Scalar::Number(value)), Some(by)) => Cell::number(value + by),
        _ => cell.clone(),
    });
    Rc::new(Laid { cells: cells.collect(), axes: laid.axes.clone() })
}

pub(super) fn one(cell: Cell) -> Rc<Laid> {
    Rc::new(Laid::single(cell))
}

fn inexact(value: f64) -> Cell {
    let bound = value.abs() * 4.0 * f64::EPSILON + f64::MIN_POSITIVE;
    Real::approximate(value, bound).map_or_else(|| Cell::invalid("not a number"), Cell::number)
}

pub(super) fn map(laid: &Laid, with: impl Fn(&Cell) -> Cell) -> Rc<Laid> {
    Rc::new(Laid { axes: laid.axes.clone(), cells: laid.cells.iter().map(with).collect() })
}

/// Element by element over two values.
pub(super) fn zip(a: &Laid, b: &Laid, with: impl Fn(&Cell, &Cell) -> Cell) -> Rc<Laid> {
    match align(&[a, b]) {
        Ok(aligned) => {
            let cells =
                (0..aligned.count()).map(|element| with(aligned.cell(0, element), aligned.cell(1, element)));
            Rc::new(Laid { cells: cells.collect(), axes: aligned.axes.clone() })
        }
        Err(fault) => Rc::new(fault),
    }
}

/// Element by element over several.
pub(super) fn combine(values: &[&Laid], with: impl Fn(&[&Cell]) -> Cell) -> Rc<Laid> {
    match align(values) {
        Ok(aligned) => {
            let cells = (0..aligned.count()).map(|element| {
                with(&(0..values.len()).map(|value| aligned.cell(value, element)).collect::<Vec<_>>())
            });
            Rc::new(Laid { cells: cells.collect(), axes: aligned.axes.clone() })
        }
        Err(fault) => Rc::new(fault),
    }
}

/// `every` and `any` over all elements, the closing station left out.
pub(super) fn over_all(laid: &Laid, any: bool) -> Cell {
    let positions: Vec<usize> = (0..laid.axes.len()).collect();
    let gathered = layout::gather(laid, &positions, false);
    let cells: Vec<&Cell> = gathered.groups().flatten().filter(|cell| !cell.is_no_element()).collect();
    if cells.is_empty() {
        let reason = if laid.cells.is_empty() { "nothing is listed" } else { NOT_APPLICABLE };
        return if laid.cells.is_empty() { Cell::invalid(reason) } else { Cell::NotRead(reason.into()) };
    }
    cells::together(cells.into_iter(), any)
}

/// The lets that an expression names, but for those within parts that are left out.
pub(super) fn lets_below(program: &Program, expr: &Expr, left_out: &dyn Fn(&Expr) -> bool) -> Vec<ValueId> {
    fn look(program: &Program, expr: &Expr, left_out: &dyn Fn(&Expr) -> bool, found: &mut Vec<ValueId>) {
        if left_out(expr) {
            return;
        }
        if let Node::Value(id) = &expr.node
            && matches!(program.values.get(id.0).map(|value| &value.role), Some(Role::Let(_)))
        {
            found.push(*id);
        }
        expr.inner(&mut |inner| look(program, inner, left_out, found));
    }
    let mut found = Vec::new();
    look(program, expr, left_out, &mut found);
    found
}
