//! Looking a limit up in a table that depends on facts.
//!
//! Read from the top: the first condition that holds settles which rows count; it does not fall through to others.
//! Among these the first whose `up to` is not passed gives the value, the boundary belonging to its row; beyond the last,
//! `every further` adds its part for each begun length. Nothing fits: invalid, naming the facts, never a pass.

use std::rc::Rc;

use crate::check::program::{Arithmetic, Expr, Node, Reach, Role, Row, Table, TableId};
use crate::quantity::Real;

use super::cells;
use super::eval::{Evaluator, one};
use super::layout::align;
use super::text;
use super::value::{Cell, Laid};

pub(super) fn look_up(evaluator: &Evaluator<'_>, id: TableId, column: usize, at: Option<&Expr>) -> Rc<Laid> {
    let Some(table) = evaluator.program.tables.get(id.0) else {
        return one(Cell::invalid("there is no such table"));
    };
    let mut groups: Vec<Group<'_>> = Vec::new();
    for row in &table.rows {
        match groups.iter_mut().find(|group| group.number == row.group) {
            Some(group) => group.rows.push(row),
            None => {
                let holds =
                    row.when.as_ref().map_or_else(|| one(Cell::yes_no(true)), |when| evaluator.expr(when));
                groups.push(Group { number: row.group, holds, rows: vec![row] });
            }
        }
    }
    let place = at.map_or_else(|| one(Cell::number(Real::zero())), |at| evaluator.expr(at));
    let mut values: Vec<&Laid> = vec![&place];
    values.extend(groups.iter().map(|group| &*group.holds));
    let aligned = match align(&values) {
        Ok(aligned) => aligned,
        Err(fault) => return Rc::new(fault),
    };
    let found = |element: usize| {
        for (number, group) in groups.iter().enumerate() {
            let holds = aligned.cell(number + 1, element);
            match holds.as_yes_no() {
                Some(true) => {
                    let place = aligned.cell(0, element);
                    return group
                        .value(evaluator, column, place)
                        .unwrap_or_else(|| no_row(evaluator, table, at, place));
                }
                Some(false) => {}
                None => return cells::not(holds),
            }
        }
        no_row(evaluator, table, at, aligned.cell(0, element))
    };
    let cells = (0..aligned.count()).map(found).collect();
    Rc::new(Laid { cells, axes: aligned.axes.clone() })
}

/// Rows with the same condition.
struct Group<'p> {
    number: usize,
    holds: Rc<Laid>,
    rows: Vec<&'p Row>,
}

impl Group<'_> {
    /// `None`: no row fits.
    fn value(&self, evaluator: &Evaluator<'_>, column: usize, place: &Cell) -> Option<Cell> {
        let of = |row: &Row| row.values.get(column).map(|value| evaluator.single(value));
        let mut last: Option<(Real, &Row)> = None;
        for row in &self.rows {
            let length = match &row.reach {
                Reach::Whole => return of(row),
                Reach::UpTo(length) | Reach::EveryFurther(length) => evaluator.single(length),
            };
            if let Some(missing) = Cell::gravest([place, &length]) {
                return Some(missing.clone());
            }
            let (Some(at), Some(length)) = (place.as_number(), length.as_number()) else {
                return Some(Cell::invalid("a table needs a number to look up"));
            };
            match &row.reach {
                Reach::EveryFurther(_) => {
                    let (from, base) = last.as_ref()?;
                    let parts = (at - from).div(length)?;
                    let parts = Cell::number(Real::Exact(parts.middle().ceil()));
                    let added = cells::arithmetic(Arithmetic::Multiply, &parts, &of(row)?);
                    return Some(cells::arithmetic(Arithmetic::Add, &of(base)?, &added));
                }
                _ if at.is_at_most(length) => return of(row),
                _ => last = Some((length.clone(), row)),
            }
        }
        None
    }
}

/// "bed_limit has no row for between = 1200 mm, class = general".
fn no_row(evaluator: &Evaluator<'_>, table: &Table, at: Option<&Expr>, place: &Cell) -> Cell {
    let mut facts: Vec<String> = Vec::new();
    if let Some(at) = at {
        let shown = text::cell(place, text::unit_of(evaluator, at));
        facts.push(match &at.node {
            Node::Value(id) => evaluator
                .program
                .values
                .get(id.0)
                .map_or(shown.clone(), |value| format!("{} = {shown}", value.name)),
            _ => shown,
        });
    }
    let mut seen = Vec::new();
    for condition in table.rows.iter().filter_map(|row| row.when.as_ref()) {
        condition.each(&mut |inner| {
            if let Node::Value(id) = &inner.node
                && !seen.contains(id)
            {
                seen.push(*id);
            }
        });
    }
    for id in seen {
        if let Some(value) =
            evaluator.program.values.get(id.0).filter(|value| !matches!(value.role, Role::Let(_)))
        {
            let shown = text::laid(&evaluator.value(id), evaluator.shown_in(id));
            facts.push(format!("{} = {shown}", value.name));
        }
    }
    Cell::invalid(format!("table {} has no row for {}", table.name, facts.join(", ")))
}
