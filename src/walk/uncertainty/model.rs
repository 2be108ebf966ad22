//! A figure as a function of its unknowns: its fixed and linear parts worked out once, exactly, each with its
//! sensitivities; what stands above them is worked out again for each move, in exact numbers or in binary ones.
//!
//! So a trial costs a few products of binary numbers and the part of a result that bends, however long the way from
//! the readings to it.

use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Role, ValueId};
use crate::metrology::Arrow;
use crate::quantity::{Real, ratio};
use crate::walk::eval::Evaluator;
use crate::walk::off::Off;
use crate::walk::value::{Cell, Laid, Scalar};

use super::column::add;
use super::drawn::{Block, Drawn, Each};
use super::kept::FigureOf;
use super::lent::Lent;
use super::linear::{Linear, Root};
use super::material::OfMaterial;
use super::sources::{FreshPart, Shared, Sources};

/// A figure that is made of the values of a program.
pub(in crate::walk) struct Figure<'f, 'p> {
    pub value: ValueId,
    pub what: FigureOf,
    /// All that it is worked out from.
    pub roots: &'f [Root<'p>],
    /// Worked out by the evaluator that is given.
    pub of: &'f dyn Fn(&Evaluator<'_>) -> Rc<Laid>,
    /// The same in all trials of a block, where that can be.
    pub drawn: &'f dyn Fn(&Block<'_>) -> Option<Rc<Drawn>>,
}

/// What moves together: a shared unknown, one cell of the record before, a figure of a material, or all that is new at
/// one reading.
pub enum Movement<'s> {
    Shared(&'s Shared),
    Lent(&'s Lent),
    Material(&'s OfMaterial),
    /// The parts of a reading, and at which of its cells.
    Fresh(ValueId, &'s [FreshPart], usize),
}

impl Movement<'_> {
    /// u squared of all that moves it.
    pub fn variance(&self) -> Real {
        match self {
            Movement::Shared(shared) => shared.variance.clone(),
            Movement::Lent(lent) => lent.variance.clone(),
            Movement::Material(own) => own.variance.clone(),
            Movement::Fresh(_, parts, at) => {
                let own = parts.iter().filter_map(|part| part.variances.get(*at));
                own.fold(Real::zero(), |sum, own| &sum + own)
            }
        }
    }

    /// What one unit of it adds to the cells of each value: an amount a cell, or one for all.
    fn moves(&self) -> Vec<(ValueId, Vec<Real>)> {
        match self {
            Movement::Shared(shared) => shared.moves.clone(),
            Movement::Lent(_) | Movement::Material(_) => Vec::new(),
            Movement::Fresh(reading, parts, at) => {
                let count = parts.first().map_or(0, |part| part.variances.len());
                let mut by = vec![Real::zero(); count];
                if let Some(own) = by.get_mut(*at) {
                    *own = Real::from(1);
                }
                vec![(*reading, by)]
            }
        }
    }

    /// Takes what it moves beside the values of this record to be off by so much.
    fn put_beside(&self, off: &mut Off, amount: &Real) {
        match self {
            Movement::Lent(lent) => {
                let by = off.before.entry(lent.result).or_insert_with(|| vec![Real::zero(); lent.count]);
                by.iter_mut().skip(lent.cell).take(1).for_each(|own| *own = &*own + amount);
            }
            Movement::Material(own) => {
                off.materials.insert(own.of, amount.clone());
            }
            Movement::Shared(_) | Movement::Fresh(..) => {}
        }
    }
}

/// Components of a value (see `components`), and by how much one unit of a movement moves each.
type Column = Vec<(usize, Real)>;

/// What one unit of a movement adds to each number of a figure, where it adds something; None: it leaves no number.
pub type Slopes = Vec<(usize, Option<Real>)>;

/// A part of a figure that is fixed or linear.
struct Part<'p> {
    root: Root<'p>,
    base: Rc<Laid>,
    /// One a movement.
    columns: Vec<Column>,
    /// The components of the base and the columns in binary numbers.
    binary: Vec<f64>,
    binary_columns: Vec<Vec<(usize, f64)>>,
}

impl Part<'_> {
    /// What is new at one reading moves that one alone: of very many readings nothing else may be gone through.
    fn take_new_at(&mut self, reading: ValueId, at: usize) {
        let moved = matches!(self.root, Root::Value(id) if id == reading)
            && self.base.cells.get(at).is_some_and(|cell| cell.as_number().is_some());
        let column: Column = moved.then(|| (2 * at, Real::from(1))).into_iter().collect();
        self.binary_columns.push(column.iter().map(|(at, by)| (*at, by.to_f64())).collect());
        self.columns.push(column);
    }
}

pub struct Model<'m, 'p> {
    evaluator: &'m Evaluator<'p>,
    figure: &'m Figure<'m, 'p>,
    pub movements: Vec<Movement<'m>>,
    parts: Vec<Part<'p>>,
    /// What movements do to values above the parts: of each movement the value and the amounts.
    above: Vec<Vec<(ValueId, Vec<Real>)>>,
    pub base: Rc<Laid>,
}

/// So many movements are taken in the trials of one block.
const AT_ONCE: usize = 100;

pub const LEAVES_NOTHING: &str = "a reading that is a little off leaves no result";

impl<'m, 'p> Model<'m, 'p> {
    /// `readings_only`: sensitivities of what follows from the readings are not worked out.
    pub fn new(
        evaluator: &'m Evaluator<'p>,
        sources: &'m Sources,
        figure: &'m Figure<'m, 'p>,
        readings_only: bool,
    ) -> Result<Self, &'static str> {
        let linear = Linear::new(evaluator.program, sources, readings_only);
        let (roots, above) = linear.parts(figure.roots);
        let shared = sources.shared.iter().map(Movement::Shared);
        let fresh = sources.fresh.iter().flat_map(|fresh| {
            let count = fresh.parts.first().map_or(0, |part| part.variances.len());
            (0..count).map(|at| Movement::Fresh(fresh.reading, &fresh.parts, at))
        });
        let lent = sources.lent.iter().map(Movement::Lent);
        let materials = sources.materials.iter().map(Movement::Material);
        let movements: Vec<Movement<'m>> = shared.chain(lent).chain(materials).chain(fresh).collect();
        let base = |root: &Root<'p>| match root {
            Root::Value(id) => evaluator.value(*id),
            Root::Expr(expr) => evaluator.expr(expr),
        };
        let parts = roots.iter().map(|root| Part {
            root: *root,
            base: base(root),
            columns: Vec::new(),
            binary: Vec::new(),
            binary_columns: Vec::new(),
        });
        let mut model = Self {
            evaluator,
            figure,
            above: movements.iter().map(|it| directly(it, &above)).collect(),
            movements,
            parts: parts.collect(),
            base: (figure.of)(evaluator),
        };
        model.work_out_columns(readings_only)?;
        Ok(model)
    }

    fn work_out_columns(&mut self, readings_only: bool) -> Result<(), &'static str> {
        for part in &mut self.parts {
            let number = |component: &Option<&Real>| component.map_or(0.0, Real::to_f64);
            part.binary = components(&part.base).iter().map(number).collect();
        }
        let of_reading =
            |part: &Part<'_>| matches!(part.root, Root::Value(id) if is_reading(self.evaluator, id));
        let readings_only = readings_only || self.parts.iter().all(of_reading);
        for movement in &self.movements {
            if let (Movement::Fresh(reading, _, at), true) = (movement, readings_only) {
                for part in &mut self.parts {
                    part.take_new_at(*reading, *at);
                }
                continue;
            }
            let moves: HashMap<ValueId, Vec<Real>> = movement.moves().into_iter().collect();
            let step = power_of_ten(&movement.variance(), 0);
            let by = moves.iter().map(|(id, by)| (*id, by.iter().map(|by| by * &step).collect()));
            let mut off = Off { by: by.collect(), ..Off::default() };
            movement.put_beside(&mut off, &step);
            let shifted = self.evaluator.shifted(&off);
            for part in &mut self.parts {
                let column = match part.root {
                    Root::Value(id) if is_reading(self.evaluator, id) => {
                        moves.get(&id).map_or_else(Vec::new, |by| own_column(&part.base, by))
                    }
                    Root::Value(id) => slope(&part.base, &shifted.value(id), &step)?,
                    Root::Expr(expr) => slope(&part.base, &shifted.expr(expr), &step)?,
                };
                part.binary_columns.push(column.iter().map(|(at, by)| (*at, by.to_f64())).collect());
                part.columns.push(column);
            }
        }
        Ok(())
    }

    /// The figure as a part of its own: then it is linear.
    fn whole(&self) -> Option<&Part<'p>> {
        match (self.parts.as_slice(), self.figure.roots) {
            ([part], [_]) if Rc::ptr_eq(&part.base, &self.base) => Some(part),
            _ => None,
        }
    }

    pub fn is_linear(&self) -> bool {
        self.whole().is_some()
    }

    /// Of all movements. Of many that are not taken exactly, a hundred at once, as if each were off in trials of its own.
    pub fn all_slopes(&self, exactly: bool) -> Vec<Slopes> {
        let count = self.movements.len();
        let at_once = || self.slopes_at_once().filter(|all| all.len() == count);
        let many = !exactly && !self.is_linear() && count > AT_ONCE;
        many.then(at_once)
            .flatten()
            .unwrap_or_else(|| (0..count).map(|at| self.slopes(at, exactly)).collect())
    }

    fn slopes_at_once(&self) -> Option<Vec<Slopes>> {
        let steps: Vec<f64> =
            self.movements.iter().map(|own| power_of_ten(&own.variance(), -3).to_f64()).collect();
        let mut all = Vec::with_capacity(steps.len());
        for (number, some) in steps.chunks(AT_ONCE).enumerate() {
            let mut amounts = vec![vec![0.0; 2 * some.len()]; steps.len()];
            for (place, (amounts, step)) in amounts.iter_mut().skip(number * AT_ONCE).zip(some).enumerate() {
                amounts.iter_mut().skip(2 * place).zip([*step, -step]).for_each(|(own, off)| *own = off);
            }
            let drawn = self.drawn(&amounts, 2 * some.len())?;
            all.extend(some.iter().enumerate().map(|(place, step)| self.slopes_in(&drawn, 2 * place, *step)));
        }
        Some(all)
    }

    /// Of one movement, from the trial in which it is up and the one behind it, in which it is down.
    fn slopes_in(&self, drawn: &Drawn, trial: usize, step: f64) -> Slopes {
        let base = components(&self.base);
        let of = |at: usize| {
            let base = (*base.get(at)?)?;
            let Some((up, down)) = drawn.component(at).and_then(|own| own.get(trial).zip(own.get(trial + 1)))
            else {
                // The same in all trials, or no number any more.
                let same = drawn
                    .cells
                    .get(at / 2)
                    .is_some_and(|each| matches!(each, Each::Same(cell) if cell.is_known()));
                return (!same).then_some((at, None));
            };
            let noise = 1e-14 * up.abs().max(base.to_f64().abs());
            let slope = ((up - down).abs() > noise).then(|| binary((up - down) / (2.0 * step)))?;
            Some((at, Some(slope)))
        };
        (0..base.len()).filter_map(of).collect()
    }

    /// `exactly`: exact where the readings are, else in binary numbers.
    pub fn slopes(&self, movement: usize, exactly: bool) -> Slopes {
        if let Some(part) = self.whole() {
            let column = part.columns.get(movement).into_iter().flatten();
            return column.map(|(at, by)| (*at, Some(by.clone()))).collect();
        }
        let Some(own) = self.movements.get(movement) else { return Vec::new() };
        let step = power_of_ten(&own.variance(), -3);
        let side = |step: &Real| match exactly {
            true => self.moved_exactly(movement, step),
            false => {
                let mut amounts = vec![0.0; self.movements.len()];
                amounts.iter_mut().skip(movement).take(1).for_each(|own| *own = step.to_f64());
                self.moved(&amounts)
            }
        };
        let (up, down) = (side(&step), side(&-&step));
        let twice = &step * &Real::from(2);
        let (up, down) = (components(&up), components(&down));
        let mut slopes = Vec::new();
        for (at, (up, down)) in up.into_iter().zip(down).enumerate() {
            if component(&self.base, at).is_none() {
                continue;
            }
            let slope = up.zip(down).and_then(|(up, down)| (up - down).div(&twice));
            if !slope.as_ref().is_some_and(is_nothing) {
                slopes.push((at, slope));
            }
        }
        slopes
    }

    fn moved_exactly(&self, movement: usize, step: &Real) -> Rc<Laid> {
        let mut off = Off::default();
        for part in &self.parts {
            let column = part.columns.get(movement).map_or(&[][..], Vec::as_slice);
            let mut by = column.iter().peekable();
            let laid = with_numbers(&part.base, |at, number| match by.next_if(|(own, _)| *own == at) {
                Some((_, by)) => number + &(by * step),
                None => number.clone(),
            });
            put(&mut off, part.root, laid);
        }
        for (id, by) in self.above.get(movement).into_iter().flatten() {
            off.by.insert(*id, by.iter().map(|by| by * step).collect());
        }
        if let Some(movement) = self.movements.get(movement) {
            movement.put_beside(&mut off, step);
        }
        (self.figure.of)(&self.evaluator.shifted(&off))
    }

    /// The figure in all trials of a block, in which each movement is off by its amounts. `None`: it has to be worked out
    /// trial by trial.
    pub fn drawn(&self, amounts: &[Vec<f64>], trials: usize) -> Option<Rc<Drawn>> {
        let mut block = Block::new(self.evaluator, trials);
        for part in &self.parts {
            let column = |number: Option<&Real>| number.map_or_else(Vec::new, |it| vec![it.to_f64(); trials]);
            let mut columns: Vec<Vec<f64>> = components(&part.base).into_iter().map(column).collect();
            for (moves, amounts) in part.binary_columns.iter().zip(amounts) {
                for (at, by) in moves {
                    columns.iter_mut().skip(*at).take(1).for_each(|own| add(own, *by, amounts));
                }
            }
            let drawn = Rc::new(Drawn::of(&part.base, columns));
            match part.root {
                Root::Value(id) => block.values.insert(id, drawn),
                Root::Expr(expr) => block.parts.insert(std::ptr::from_ref(expr), drawn),
            };
        }
        for (moves, amounts) in self.above.iter().zip(amounts) {
            for (id, by) in moves {
                let own = block.off.entry(*id).or_default();
                if own.len() < by.len() {
                    let first = own.first().cloned().unwrap_or_else(|| vec![0.0; trials]);
                    own.resize(by.len(), first);
                }
                for (at, own) in own.iter_mut().enumerate() {
                    add(own, by.get(at).or(by.first()).map_or(0.0, Real::to_f64), amounts);
                }
            }
        }
        (self.figure.drawn)(&block)
    }

    /// The figure with each movement off by its amount, in binary numbers.
    pub fn moved(&self, amounts: &[f64]) -> Rc<Laid> {
        let mut off = Off::default();
        for part in &self.parts {
            let mut numbers = part.binary.clone();
            for (column, amount) in part.binary_columns.iter().zip(amounts) {
                for (at, by) in column {
                    if let Some(number) = numbers.get_mut(*at) {
                        *number += by * amount;
                    }
                }
            }
            put(
                &mut off,
                part.root,
                with_numbers(&part.base, |at, _| binary(numbers.get(at).copied().unwrap_or(0.0))),
            );
        }
        let mut direct: HashMap<ValueId, Vec<f64>> = HashMap::new();
        for (moves, amount) in self.above.iter().zip(amounts) {
            for (id, by) in moves {
                let own = direct.entry(*id).or_default();
                if own.len() < by.len() {
                    // What moves all cells alike stands in one number until others are added.
                    own.resize(by.len(), own.first().copied().unwrap_or(0.0));
                }
                for (at, own) in own.iter_mut().enumerate() {
                    *own += amount * by.get(at).or(by.first()).map_or(0.0, Real::to_f64);
                }
            }
        }
        for (movement, amount) in self.movements.iter().zip(amounts) {
            movement.put_beside(&mut off, &binary(*amount));
        }
        off.by = direct.into_iter().map(|(id, by)| (id, by.into_iter().map(binary).collect())).collect();
        (self.figure.of)(&self.evaluator.shifted(&off))
    }
}

fn is_reading(evaluator: &Evaluator<'_>, id: ValueId) -> bool {
    evaluator.program.values.get(id.0).is_some_and(|value| matches!(value.role, Role::Reading(_)))
}

/// What a movement does to values above the parts.
fn directly(movement: &Movement<'_>, above: &[ValueId]) -> Vec<(ValueId, Vec<Real>)> {
    if matches!(movement, Movement::Fresh(reading, ..) if !above.contains(reading)) {
        return Vec::new();
    }
    movement.moves().into_iter().filter(|(id, _)| above.contains(id)).collect()
}

fn put(off: &mut Off, root: Root<'_>, laid: Rc<Laid>) {
    match root {
        Root::Value(id) => off.instead.insert(id, laid),
        Root::Expr(expr) => off.parts.insert(std::ptr::from_ref(expr), laid),
    };
}

fn binary(value: f64) -> Real {
    Real::approximate(value, 0.0).unwrap_or_else(Real::zero)
}

/// A power of ten about a standard uncertainty, or so many powers from it.
fn power_of_ten(variance: &Real, further: i32) -> Real {
    let u = libm::sqrt(variance.to_f64());
    let power = libm::floor(libm::log10(u)).clamp(-30.0, 30.0) as i32 + further;
    Real::from(10).powi(power).unwrap_or_else(|| Real::Exact(ratio(1, 1_000_000)))
}

// ------------------------------------------------------------------------------------------------ components

/// Two places a cell, so that a cell that is no number any more shifts none of the others: a number has the first, an
/// arrow both.
pub fn components(laid: &Laid) -> Vec<Option<&Real>> {
    laid.cells.iter().flat_map(in_cell).collect()
}

fn in_cell(cell: &Cell) -> [Option<&Real>; 2] {
    match cell {
        Cell::Known(Scalar::Number(number)) => [Some(number), None],
        Cell::Known(Scalar::Arrow(arrow)) => [Some(&arrow.along), Some(&arrow.across)],
        _ => [None, None],
    }
}

fn component(laid: &Laid, at: usize) -> Option<&Real> {
    in_cell(laid.cells.get(at / 2)?).get(at % 2).copied().flatten()
}

/// The same value with other numbers in its cells, of each component in turn.
fn with_numbers(laid: &Laid, mut other: impl FnMut(usize, &Real) -> Real) -> Rc<Laid> {
    let cells = laid.cells.iter().enumerate().map(|(at, cell)| match cell {
        Cell::Known(Scalar::Number(number)) => Cell::number(other(2 * at, number)),
        Cell::Known(Scalar::Arrow(arrow)) => {
            let (along, across) = (other(2 * at, &arrow.along), other(2 * at + 1, &arrow.across));
            Cell::Known(Scalar::Arrow(Box::new(Arrow { along, across })))
        }
        other => other.clone(),
    });
    Rc::new(Laid { cells: cells.collect(), axes: laid.axes.clone() })
}

/// What a unit of a movement adds to a reading, of which it moves the cells.
fn own_column(base: &Laid, by: &[Real]) -> Column {
    let numbers = base.cells.iter().enumerate().filter(|(_, cell)| cell.as_number().is_some());
    let moved = numbers.filter_map(|(at, _)| Some((2 * at, by.get(at).or(by.first())?.clone())));
    moved.filter(|(_, by)| !is_nothing(by)).collect()
}

fn slope(base: &Laid, moved: &Laid, step: &Real) -> Result<Column, &'static str> {
    let mut column = Vec::new();
    for (at, pair) in components(base).into_iter().zip(components(moved)).enumerate() {
        match pair {
            (None, _) => {}
            (Some(_), None) => return Err(LEAVES_NOTHING),
            (Some(base), Some(moved)) => {
                let slope = (moved - base).div(step).ok_or(LEAVES_NOTHING)?;
                if !is_nothing(&slope) {
                    column.push((at, slope));
                }
            }
        }
    }
    Ok(column)
}

/// Zero as far as can be told, and something can be told.
fn is_nothing(slope: &Real) -> bool {
    slope.is_bounded() && slope.is_zero()
}
