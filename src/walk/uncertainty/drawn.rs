//! A figure in all trials of a block at once: numbers become columns of numbers, and what bends above the linear parts is
//! worked out column by column. Only what is common at a machine is taken; for the rest the caller goes trial by trial.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use crate::check::program::{Arithmetic, AxisId, Expr, Node, Role, StationPick, ValueId};
use crate::quantity::Real;
use crate::walk::eval::Evaluator;
use crate::walk::layout::{align, gather};
use crate::walk::value::{Cell, Laid, Scalar, Stations};

use super::column::{Column, fold, to_power};
use super::smooth::rests_on_readings;

/// The axes that are kept, and of each of their elements the columns along the others.
type Groups = (Vec<Rc<Stations>>, Vec<Vec<Column>>);

/// What was read of an element: each column with its place among those along the others.
pub(super) type Placed = Vec<(usize, Column)>;

/// The same of what was read.
type ReadGroups = (Vec<Rc<Stations>>, Vec<Placed>);

/// A laid-out value in all trials.
#[derive(Clone)]
pub struct Drawn {
    pub axes: Vec<Rc<Stations>>,
    pub cells: Vec<Each>,
}

#[derive(Clone)]
pub enum Each {
    /// The same in all trials.
    Same(Cell),
    Number(Column),
    Arrow(Column, Column),
}

/// What is known of a block: the parts worked out already, and by how much values above them are off.
pub struct Block<'e> {
    pub evaluator: &'e Evaluator<'e>,
    pub trials: usize,
    pub values: HashMap<ValueId, Rc<Drawn>>,
    pub parts: HashMap<*const Expr, Rc<Drawn>>,
    pub off: HashMap<ValueId, Vec<Vec<f64>>>,
    known: RefCell<HashMap<ValueId, Option<Rc<Drawn>>>>,
}

impl<'e> Block<'e> {
    pub fn new(evaluator: &'e Evaluator<'e>, trials: usize) -> Self {
        Self {
            evaluator,
            trials,
            values: HashMap::new(),
            parts: HashMap::new(),
            off: HashMap::new(),
            known: RefCell::default(),
        }
    }

    /// `None`: it has to be worked out trial by trial.
    pub fn value(&self, id: ValueId) -> Option<Rc<Drawn>> {
        if let Some(part) = self.values.get(&id) {
            return Some(part.clone());
        }
        if let Some(known) = self.known.borrow().get(&id) {
            return known.clone();
        }
        let found = match self.evaluator.program.values.get(id.0).map(|value| &value.role) {
            Some(Role::Let(expr)) => self.expr(expr),
            _ => None,
        };
        let found = match (found, self.off.get(&id)) {
            (Some(found), Some(off)) => shifted(&found, off),
            (found, _) => found,
        };
        self.known.borrow_mut().insert(id, found.clone());
        found
    }

    pub(super) fn expr(&self, expr: &Expr) -> Option<Rc<Drawn>> {
        if let Some(part) = self.parts.get(&std::ptr::from_ref(expr)) {
            return Some(part.clone());
        }
        match &expr.node {
            Node::Number(number) => Some(Rc::new(Drawn {
                axes: Vec::new(),
                cells: vec![Each::Same(Cell::number(Real::Exact(number.clone())))],
            })),
            Node::Value(id) => self.value(*id),
            Node::Negate(of) => self.map(&*self.expr(of)?, |value| -value),
            Node::Arithmetic(operation, a, b) => {
                let (a, b) = (self.expr(a)?, self.expr(b)?);
                let with: fn(f64, f64) -> f64 = match operation {
                    Arithmetic::Add => |a, b| a + b,
                    Arithmetic::Subtract => |a, b| a - b,
                    Arithmetic::Multiply => |a, b| a * b,
                    Arithmetic::Divide => |a, b| a / b,
                };
                self.meet(&[&a, &b], |columns| fold(columns, with))
            }
            Node::Power(of, power) => self.map(&*self.expr(of)?, |value| to_power(value, *power)),
            Node::Pick(of, picks) => self.pick(&*self.expr(of)?, picks),
            Node::If { condition, then, otherwise }
                if condition.axes.is_empty() && !rests_on_readings(self.evaluator.program, condition) =>
            {
                match self.evaluator.single(condition).as_yes_no()? {
                    true => self.expr(then),
                    false => self.expr(otherwise),
                }
            }
            Node::Call { function, arguments, over, by } => self.call(*function, arguments, over, *by),
            _ => None,
        }
    }

    // ---------------------------------------------------------------------------------------- layouts

    pub(super) fn column(&self, each: &Each) -> Option<Column> {
        match each {
            Each::Number(column) => Some(column.clone()),
            Each::Same(cell) => Some(vec![cell.as_number()?.to_f64(); self.trials].into()),
            Each::Arrow(..) => None,
        }
    }

    pub(super) fn map(&self, drawn: &Drawn, with: impl Fn(f64) -> f64) -> Option<Rc<Drawn>> {
        let of = |each: &Each| Some(Each::Number(self.column(each)?.iter().map(|own| with(*own)).collect()));
        let cells = drawn.cells.iter().map(of).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes: drawn.axes.clone(), cells }))
    }

    /// Several values over the axes of all of them.
    pub(super) fn meet(
        &self,
        values: &[&Drawn],
        with: impl Fn(&[Column]) -> Option<Column>,
    ) -> Option<Rc<Drawn>> {
        let numbered: Vec<Laid> = values.iter().map(|value| numbered(value)).collect();
        let aligned = align(&numbered.iter().collect::<Vec<_>>()).ok()?;
        let cell = |element: usize| {
            let columns: Option<Vec<Column>> = values
                .iter()
                .enumerate()
                .map(|(at, value)| self.column(value.cells.get(number(aligned.cell(at, element))?)?))
                .collect();
            Some(Each::Number(with(&columns?)?))
        };
        let cells = (0..aligned.count()).map(cell).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes: aligned.axes.clone(), cells }))
    }

    /// The columns along some axes, a list for each element of the axes that are kept.
    pub(super) fn groups(&self, value: &Drawn, positions: &[usize]) -> Option<Groups> {
        let numbered = numbered(value);
        let gathered = gather(&numbered, positions, false);
        let group = |cells: Vec<&Cell>| -> Option<Vec<Column>> {
            cells.into_iter().map(|cell| self.column(value.cells.get(number(cell)?)?)).collect()
        };
        let groups: Option<Vec<Vec<Column>>> = gathered.groups().map(group).collect();
        Some((gathered.kept.clone(), groups?))
    }

    /// The same without what was not read: of each column its place in the group.
    pub(super) fn read(&self, value: &Drawn, positions: &[usize]) -> Option<ReadGroups> {
        let numbered = numbered(value);
        let gathered = gather(&numbered, positions, false);
        let read = |(at, cell): (usize, &Cell)| match value.cells.get(number(cell)?)? {
            Each::Same(Cell::NotRead(_)) => Some(None),
            each => Some(Some((at, self.column(each)?))),
        };
        let group = |cells: Vec<&Cell>| -> Option<Vec<(usize, Column)>> {
            cells
                .into_iter()
                .enumerate()
                .map(read)
                .collect::<Option<Vec<_>>>()
                .map(|it| it.into_iter().flatten().collect())
        };
        let groups: Option<_> = gathered.groups().map(group).collect();
        Some((gathered.kept.clone(), groups?))
    }

    pub(super) fn collapse(
        &self,
        value: &Drawn,
        positions: &[usize],
        with: impl Fn(&[Column]) -> Option<Column>,
    ) -> Option<Rc<Drawn>> {
        let (axes, groups) = self.groups(value, positions)?;
        let cells = groups.iter().map(|columns| with(columns).map(Each::Number)).collect::<Option<_>>()?;
        Some(Rc::new(Drawn { axes, cells }))
    }

    fn pick(&self, value: &Drawn, picks: &[(AxisId, StationPick)]) -> Option<Rc<Drawn>> {
        let fixed = |(_, pick): &(AxisId, StationPick)| match pick {
            StationPick::Word(_) => true,
            StationPick::Value(expr) => !rests_on_readings(self.evaluator.program, expr),
        };
        if !picks.iter().all(fixed) {
            return None;
        }
        let picked = self.evaluator.pick(Rc::new(numbered(value)), picks);
        let cells = picked.cells.iter().map(|cell| value.cells.get(number(cell)?).cloned());
        Some(Rc::new(Drawn { axes: picked.axes.clone(), cells: cells.collect::<Option<_>>()? }))
    }
}

impl Drawn {
    /// The same layout, with two columns a cell, as components stand (see `components`).
    pub fn of(base: &Laid, columns: Vec<Vec<f64>>) -> Self {
        let mut columns = columns.into_iter();
        let of = |cell: &Cell| {
            let mut next = || Column::from(columns.next().unwrap_or_default());
            let (first, second) = (next(), next());
            match cell {
                Cell::Known(Scalar::Number(_)) => Each::Number(first),
                Cell::Known(Scalar::Arrow(_)) => Each::Arrow(first, second),
                other => Each::Same(other.clone()),
            }
        };
        Self { axes: base.axes.clone(), cells: base.cells.iter().map(of).collect() }
    }

    /// The numbers of one component (see `components`).
    pub fn component(&self, at: usize) -> Option<&[f64]> {
        match (self.cells.get(at / 2)?, at % 2) {
            (Each::Number(column) | Each::Arrow(column, _), 0) => Some(column),
            (Each::Arrow(_, column), 1) => Some(column),
            _ => None,
        }
    }

    /// The numbers of one cell.
    pub fn column(&self, at: usize) -> Option<Option<Vec<f64>>> {
        match self.cells.get(at)? {
            Each::Number(column) => Some(Some(column.to_vec())),
            _ => None,
        }
    }
}

fn shifted(drawn: &Drawn, off: &[Vec<f64>]) -> Option<Rc<Drawn>> {
    let cells = drawn.cells.iter().enumerate().map(|(at, each)| match each {
        Each::Number(column) => {
            let off = off.get(at).or(off.first())?;
            Some(Each::Number(column.iter().zip(off).map(|(own, off)| own + off).collect()))
        }
        _ => None,
    });
    Some(Rc::new(Drawn { axes: drawn.axes.clone(), cells: cells.collect::<Option<_>>()? }))
}

pub(super) fn numbered(value: &Drawn) -> Laid {
    let numbers = (0..value.cells.len()).filter_map(|at| i64::try_from(at).ok());
    Laid { axes: value.axes.clone(), cells: numbers.map(|at| Cell::number(Real::from(at))).collect() }
}

pub(super) fn number(cell: &Cell) -> Option<usize> {
    cell.as_number().map(|at| at.to_f64() as usize)
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::check::program::StepId;
    use crate::metrology::Generator;
    use crate::walk::uncertainty::linear::Root;
    use crate::walk::uncertainty::model::{Figure, Model, components};
    use crate::walk::uncertainty::{FigureOf, sources};
    use crate::walk::view::View;
    use crate::{check, syntax, walk::examples};

    const FILE: &str = "language 1\nprocedure \"Columns\"\ndecide simple\n\
        instrument dial \"Dial\"\n  resolution 1 um\n  uncertainty zero 2 um k 2\n  uncertainty scale 5 % k 2\n\
        instrument level \"Level\"\n  resolution 1 um/m\n  uncertainty fresh 2 um/m k 2\n\
        step A \"A\"\n\
        \x20 read x in um using dial\n    over place 0 mm to 300 mm by 100 mm\n    over side left, right\n    plus \"a\"\n    minus \"b\"\n\
        \x20 read round in um using dial\n    over turn 0 deg to 315 deg by 45 deg\n    plus \"a\"\n    minus \"b\"\n    not read allowed\n\
        \x20 read full in um using dial\n    over along 0 mm, 100 mm\n    over across 0 mm to 300 mm by 100 mm\n    plus \"a\"\n    minus \"b\"\n\
        \x20 read grid in um using dial\n    over along 0 mm, 100 mm, 250 mm\n    over across 0 mm to 300 mm by 100 mm\n    plus \"a\"\n    minus \"b\"\n    not read allowed\n\
        \x20 read tilt in um/m using level\n    survey eight lines 800 mm by 600 mm foot 100 mm\n    plus \"a\"\n    minus \"b\"\n\
        \x20 read px in um using dial\n    over point a, b, c, d, e, f\n    plus \"a\"\n    minus \"b\"\n\
        \x20 read py in um using dial\n    over point a, b, c, d, e, f\n    plus \"a\"\n    minus \"b\"\n\
        \x20 let spread \"\" = range(x over place)\n\
        \x20 let all \"\" = greatest(range(x over place) over side)\n\
        \x20 let least_ \"\" = mean(least(x over side) over place)\n\
        \x20 let straight \"\" = straightness(x over place by ends)\n\
        \x20 let fitted \"\" = straightness(x over place by least_squares)\n\
        \x20 let humped \"\" = hump(x over place by ends)\n\
        \x20 let hollowed \"\" = hollow(x over place by least_squares)\n\
        \x20 let picked \"\" = abs(spread[left] - half(spread[right]))\n\
        \x20 let two \"\" = root_sum_squares(all, size(eccentricity(round over turn)))\n\
        \x20 let either \"\" = if 1 mm above 2 mm then all else -2 * all / 3\n\
        \x20 let scattered \"\" = greatest(stdev(x over place) over side)\n\
        \x20 let squared \"\" = sqrt(all ^ 2 + 4 * all * all)\n\
        \x20 let steep \"\" = atan(all / 1 mm) + atan(all / 3 mm)\n    unsigned\n\
        \x20 let turned \"\" = sin(atan(all / 1 mm)) + cos(steep) + tan(steep) in 1\n    unsigned\n\
        \x20 let coarse \"\" = rounded(all, 1 um)\n\
        \x20 let zone \"\" = straightness(x over place by minimum_zone)\n\
        \x20 let true_ \"\" = roundness(round over turn by least_squares)\n\
        \x20 let ring \"\" = roundness(round over turn by minimum_zone)\n\
        \x20 let within_ \"\" = roundness(round over turn by inscribed)\n\
        \x20 let ring_around \"\" = roundness(round over turn by circumscribed)\n\
        \x20 let zone_top \"\" = hump(x over place by minimum_zone)\n\
        \x20 let zone_form \"\" = greatest(ordinates(x over place by minimum_zone) over place)\n\
        \x20 let surface \"\" = ordinates(grid over along and across by minimum_zone)\n\
        \x20 let risen \"\" = slope(abs(x) over place) in 1\n\
        \x20 let gap \"\" = closure(tilt)\n\
        \x20 let map \"\" = greatest(plate_map(tan(atan(tilt)) by closing))\n\
        \x20 let out_of_round \"\" = circle_form(px, py over point by least_squares)\n\
        \x20 let narrow \"\" = circle_form(px, py over point by minimum_zone)\n\
        \x20 let held_ \"\" = circle_form(px, py over point by inscribed)\n\
        \x20 let holding \"\" = circle_form(px, py over point by circumscribed)\n\
        \x20 let across_ \"\" = circle_diameter(px, py over point by inscribed)\n\
        \x20 let off_ \"\" = size(circle_centre(px, py over point by minimum_zone))\n\
        \x20 let flat \"\" = flatness(grid over along and across by least_squares)\n\
        \x20 let flattest \"\" = flatness(grid over along and across by minimum_zone)\n\
        \x20 let cornered \"\" = flatness(full over along and across by three_corners)\n\
        \x20 tolerance all at most 1 mm\n\
        example \"one\"\n  enter A.x = 0, 5, 3, -4, 8, 1, 2, 2\n  enter A.round = 3, 1, -4, 0, not read \"x\", 2, 5, 1\n\
        \x20 enter A.full = 0, 3, 1, 2; 4, 4, 3, -1\n\
        \x20 enter A.grid = 0, 3, 1, 2; 4, 4, not read \"x\", -1; 0, 2, 2, 6\n\
        \x20 enter A.tilt = 18, 14, 10, 6, 2, -2, -6, -10, -14, -18; 18, 14, 10, 6, 2, -2, -6, -10, -14, -18;\n\
        \x20   14, 10, 6, 2, -2, -6, -10, -14; 14, 10, 6, 2, -2, -6, -10, -14; 10, 6, 2, -2, -6, -10;\n\
        \x20   10, 6, 2, -2, -6, -10; 10, 6, 4, -2, -6, -10; 14, 10, 6, 2, -2, -6, -10, -14\n\
        \x20 enter A.px = 21, 9, -8, -19, -7, 10\n  enter A.py = 1, 17, 18, 0, -17, -16\n";

    /// What comes by the column is what comes trial by trial, and all of the usual functions come by the column.
    #[test]
    fn columns_hold_what_single_trials_give() {
        let parsed = syntax::parse_text("columns.bedway", FILE);
        let checked = check::check(&parsed);
        let program = Rc::new(checked.program.unwrap_or_else(|| panic!("{:#?}", checked.problems)));
        let (machine, problems) = examples::walk_one(&program, &program.examples[0]);
        assert!(problems.is_empty(), "{problems:?}");
        let view = View::of(&program, machine.state(), StepId(0), 0);
        let evaluator = Evaluator::new(&program, &view).of_step(StepId(0));
        let mut generator = Generator::new(1);
        for id in program.steps[0].lets.iter().copied() {
            let name = &program.values[id.0].name;
            let sources = sources::sources(&evaluator, &[Root::Value(id)]);
            let figure = Figure {
                value: id,
                what: FigureOf::Itself,
                roots: &[Root::Value(id)],
                of: &|evaluator| evaluator.value(id),
                drawn: &|block| block.value(id),
            };
            let model = Model::new(&evaluator, &sources, &figure, false).unwrap();
            let amounts: Vec<Vec<f64>> = model
                .movements
                .iter()
                .map(|movement| {
                    let u = libm::sqrt(movement.variance().to_f64());
                    generator.normals(5).into_iter().map(|own| u * own).collect()
                })
                .collect();
            let drawn = model.drawn(&amounts, 5);
            let drawn = drawn.unwrap_or_else(|| panic!("{name} goes trial by trial"));
            for trial in 0..5 {
                let own: Vec<f64> = amounts.iter().map(|column| column[trial]).collect();
                let laid = model.moved(&own);
                assert_eq!(laid.cells.len(), drawn.cells.len(), "{name}");
                for (at, number) in components(&laid).into_iter().step_by(2).enumerate() {
                    // What was not read is no number in either.
                    let (wanted, column) = (number.map(Real::to_f64), drawn.column(at));
                    let Some((wanted, column)) = wanted.zip(column.flatten()) else {
                        assert!(number.is_none() && drawn.column(at).is_none(), "{name}");
                        continue;
                    };
                    assert!((column[trial] - wanted).abs() < 1e-9, "{name}: {} {wanted}", column[trial]);
                }
            }
        }
    }
}
