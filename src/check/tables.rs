//! Tables of limits: columns of one kind, rows that can be reached, no gap over what the facts may be.

use num_traits::{Signed, Zero};

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Rational, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, Item};

use super::carried::{Carried, Typed, kind_name};
use super::constant::{constant, same};
use super::expression::{Mood, Place};
use super::program::{AxisId, Expr, Kind, Node, Reach, Row, Table, TableId, Text};
use super::texts::When;
use super::{Checker, Slot};

/// What a look-up in a table carries.
#[derive(Clone, Debug)]
pub(super) struct TableState {
    pub carried: Carried,
    pub axes: Vec<AxisId>,
}

impl<'a> Checker<'a> {
    /// Room for all tables, so that their identifiers stand before they are lowered.
    pub(super) fn reserve_tables(&mut self) {
        for line in &self.names.tables {
            let Item::Table(node) = &line.what else { continue };
            self.tables.push(Table {
                name: node.name.text.clone(),
                title: Text::default(),
                over: None,
                columns: node.columns.iter().map(|column| column.text.clone()).collect(),
                kind: Kind::Text,
                rows: Vec::new(),
                span: line.span,
            });
        }
    }

    pub(super) fn fail_table(&mut self, id: TableId) {
        if let Some(state) = self.table_state.get_mut(id.0) {
            *state = Slot::Failed;
        }
    }

    fn table_node(&self, id: TableId) -> Option<&'a ast::Table> {
        match self.names.tables.get(id.0).map(|line| &line.what) {
            Some(Item::Table(node)) => Some(node),
            _ => None,
        }
    }

    pub(super) fn lower_table(&mut self, id: TableId) {
        if !matches!(self.table_state.get(id.0), Some(Slot::Waiting)) {
            return;
        }
        let state = self.table(id);
        if let Some(slot) = self.table_state.get_mut(id.0) {
            *slot = state.map_or(Slot::Failed, Slot::Ready);
        }
    }

    fn table(&mut self, id: TableId) -> Option<TableState> {
        let node = self.table_node(id)?;
        let title = self.text(&node.title, None, When::Header)?;
        let over = match &node.over {
            None => None,
            Some((name, None)) => {
                self.report(
                    Problem::fault(Code::UnitMissing, name.span, format!("`{}` has no unit", name.text))
                        .help(format!("write `over {} in mm`", name.text)),
                );
                return None;
            }
            Some((_, Some(unit))) => Some(self.unit(unit)?),
        };
        self.columns_differ(node)?;
        if node.rows.is_empty() {
            if !self.file.broken.is_empty() {
                return None;
            }
            self.report(
                Problem::fault(
                    Code::TableEmpty,
                    node.name.span,
                    format!("table `{}` has no row", node.name.text),
                )
                .help("add a line beneath it, as `when class is general then 0.02 mm`"),
            );
            return None;
        }
        let place = Place::of(None).with(Mood::Table);
        let mut rows = Vec::new();
        let mut first: Option<Typed> = None;
        let mut axes: Vec<AxisId> = Vec::new();
        let mut groups: Vec<Option<Expr>> = Vec::new();
        let mut fine = true;
        for line in &node.rows {
            match self.row(&line.what, line.span, node, over, &mut first, place) {
                Some((when, reach, values)) => {
                    let group = group_of(&mut groups, when.as_ref());
                    for axis in when.iter().flat_map(|when| when.axes.iter()) {
                        if !axes.contains(axis) {
                            axes.push(*axis);
                        }
                    }
                    rows.push(Row { when, group, reach, values, span: line.span });
                }
                None => fine = false,
            }
        }
        if !fine {
            return None;
        }
        let first = first?;
        let positive = rows
            .iter()
            .flat_map(|row| &row.values)
            .all(|value| constant(value).is_some_and(|value| !value.is_negative()));
        let carried = Carried {
            positive: positive.then_some(true),
            unit: first.carried.unit,
            slope: first.carried.slope,
            ..Carried::default()
        };
        let table = self.tables.get_mut(id.0)?;
        table.title = title;
        table.over = over;
        table.kind = first.expr.kind;
        table.rows = rows;
        self.check_rows(id);
        Some(TableState { carried, axes })
    }

    fn columns_differ(&mut self, node: &ast::Table) -> Option<()> {
        let mut seen = std::collections::HashMap::new();
        for column in &node.columns {
            if let Some(first) = seen.insert(column.text.as_str(), column.span) {
                self.report(
                    Problem::fault(
                        Code::NameTaken,
                        column.span,
                        format!("there are two columns called `{}`", column.text),
                    )
                    .and(first, "the first"),
                );
                return None;
            }
        }
        Some(())
    }

    #[allow(clippy::type_complexity)]
    fn row(
        &mut self,
        row: &ast::Row,
        span: Span,
        node: &ast::Table,
        over: Option<Unit>,
        first: &mut Option<Typed>,
        place: Place,
    ) -> Option<(Option<Expr>, Reach, Vec<Expr>)> {
        let when = match &row.when {
            None => Some(None),
            Some(condition) => self.condition(condition, place).map(|typed| Some(typed.expr)),
        };
        let reach = self.reach(&row.reach, over, node, place);
        let wanted = node.columns.len().max(1);
        if row.values.len() != wanted {
            let columns =
                node.columns.iter().map(|column| column.text.as_str()).collect::<Vec<_>>().join(", ");
            let of = if columns.is_empty() { String::new() } else { format!(" ({columns})") };
            self.report(
                Problem::fault(
                    Code::TableColumns,
                    span,
                    format!("the row has {} values, and the table {wanted}{of}", row.values.len()),
                )
                .and(node.name.span, "the table")
                .help("write a value for every column, parted by commas"),
            );
            return None;
        }
        let mut values = Vec::new();
        for value in &row.values {
            let mut value = self.single(value, place)?;
            self.must_be_number(&value)?;
            match first {
                None => *first = Some(value.clone()),
                Some(first) => {
                    let mut against = first.clone();
                    self.same_kind(&mut against, &mut value, "limits of one table")?;
                }
            }
            values.push(value.expr);
        }
        Some((when?, reach?, values))
    }

    fn reach(
        &mut self,
        reach: &ast::Reach,
        over: Option<Unit>,
        node: &ast::Table,
        place: Place,
    ) -> Option<Reach> {
        let at = match reach {
            ast::Reach::All => return Some(Reach::Whole),
            ast::Reach::UpTo(at) | ast::Reach::EveryFurther(at) => at,
        };
        let Some(unit) = over else {
            self.report(
                Problem::fault(
                    Code::TableNotOver,
                    at.span,
                    format!("table `{}` does not say what this length is of", node.name.text),
                )
                .and(node.name.span, "the table")
                .help("write `over length in mm` behind its title"),
            );
            return None;
        };
        let at = self.single(at, place.bare(Some(unit)))?;
        if at.expr.kind != super::literal::kind_of(unit) {
            let found = kind_name(&at.expr.kind);
            self.fault(
                Code::UnitMismatch,
                at.expr.span,
                format!(
                    "the table goes over a value in {}, and `{}` is {found}",
                    unit.symbol(),
                    self.words(at.expr.span)
                ),
            );
            return None;
        }
        Some(match reach {
            ast::Reach::EveryFurther(_) => {
                if constant(&at.expr).is_none_or(|size| !size.is_positive()) {
                    self.report(
                        Problem::fault(
                            Code::TableFurther,
                            at.expr.span,
                            format!("`{}` cannot be a further part", self.words(at.expr.span)),
                        )
                        .help("write a length above zero, as `every further 1000 mm or part`"),
                    );
                    return None;
                }
                Reach::EveryFurther(at.expr)
            }
            _ => Reach::UpTo(at.expr),
        })
    }

    /// `limit`, `limit.whole`, without an argument.
    pub(super) fn look_up(
        &mut self,
        id: TableId,
        path: &ast::Path,
        at: Option<Typed>,
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        let Some(Slot::Ready(state)) = self.table_state.get(id.0) else { return None };
        let state = state.clone();
        let node = self.table_node(id)?;
        let column = self.column(node, path, span)?;
        let over = self.tables.get(id.0)?.over;
        match (over, &at) {
            (Some(unit), None) => {
                self.report(
                    Problem::fault(
                        Code::TableArgument,
                        span,
                        format!("table `{}` goes over a value in {}", node.name.text, unit.symbol()),
                    )
                    .and(node.name.span, "the table")
                    .help(format!("give it: `{}(LENGTH)`", self.words(path.span))),
                );
                return None;
            }
            (None, Some(_)) => {
                self.report(
                    Problem::fault(
                        Code::TableArgument,
                        span,
                        format!("table `{}` takes no value", node.name.text),
                    )
                    .and(node.name.span, "it does not go `over` anything")
                    .help(format!("write `{}`", self.words(path.span))),
                );
                return None;
            }
            (Some(unit), Some(at)) if at.expr.kind != super::literal::kind_of(unit) => {
                let found = kind_name(&at.expr.kind);
                self.fault(
                    Code::UnitMismatch,
                    at.expr.span,
                    format!(
                        "table `{}` goes over a value in {}, and `{}` is {found}",
                        node.name.text,
                        unit.symbol(),
                        self.words(at.expr.span)
                    ),
                );
                return None;
            }
            _ => {}
        }
        if let Some(at) = &at {
            self.check_reach_of(id, at);
        }
        let mut axes = state.axes.clone();
        if let Some(at) = &at {
            let whole = Expr { axes: axes.clone(), ..at.expr.clone() };
            axes = self.meet(&at.expr, &whole, span)?;
        }
        if let Some(step) = place.step {
            self.table_uses(id, step, span);
        }
        let at = at.map(|at| Box::new(at.expr));
        let kind = self.tables.get(id.0)?.kind.clone();
        let expr = Expr { node: Node::Table { table: id, column, at }, kind, axes, sense: None, span };
        Some(Typed::new(expr, state.carried))
    }

    /// Observations that a table's conditions test must be there in the step that uses it.
    fn table_uses(&mut self, id: TableId, step: super::program::StepId, span: Span) {
        let mut found = Vec::new();
        if let Some(table) = self.tables.get(id.0) {
            for when in table.rows.iter().filter_map(|row| row.when.as_ref()).take(1000) {
                super::texts::each_value(when, &mut |value| found.push(value));
            }
        }
        for value in found {
            if let Some(owner) = self.names.declared.get(value.0).and_then(|declared| declared.step)
                && owner != step
            {
                self.uses.entry((step, owner)).or_insert(span);
            }
        }
    }

    fn column(&mut self, node: &'a ast::Table, path: &ast::Path, span: Span) -> Option<usize> {
        if path.step.is_none() {
            if node.columns.len() < 2 {
                return Some(0);
            }
            let columns: Vec<&str> = node.columns.iter().map(|column| column.text.as_str()).collect();
            self.report(
                Problem::fault(
                    Code::TableUnknownColumn,
                    span,
                    format!("table `{}` has the columns {}", node.name.text, columns.join(", ")),
                )
                .label("which of them?")
                .help(format!(
                    "write `{}.{}`",
                    node.name.text,
                    columns.first().copied().unwrap_or_default()
                )),
            );
            return None;
        }
        let found = node.columns.iter().position(|column| column.text == path.name.text);
        if found.is_none() {
            let help = self
                .guess(&path.name.text, node.columns.iter().map(|column| column.text.as_str()))
                .unwrap_or_else(|| match node.columns.is_empty() {
                    true => format!("it has no columns: write `{}`", node.name.text),
                    false => {
                        let columns: Vec<&str> =
                            node.columns.iter().map(|column| column.text.as_str()).collect();
                        format!("it has {}", columns.join(", "))
                    }
                });
            self.report(
                Problem::fault(
                    Code::TableUnknownColumn,
                    path.name.span,
                    format!("table `{}` has no column `{}`", node.name.text, path.name.text),
                )
                .help(help),
            );
        }
        found
    }

    /// `limit(between)`, `limit.whole(between)`.
    pub(super) fn table_call(
        &mut self,
        id: TableId,
        path: &ast::Path,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        self.wants_arguments::<1>(&self.words(path.span), "one value", arguments, span)?;
        let argument = arguments.first()?;
        if !argument.over.is_empty()
            || argument.by.is_some()
            || argument.within.is_some()
            || argument.otherwise.is_some()
        {
            self.fault(
                Code::NameArguments,
                argument.span,
                "a look-up in a table takes one value, and nothing behind it",
            );
            return None;
        }
        let at = self.expr(&argument.value, place)?;
        self.look_up(id, path, Some(at), span, place)
    }

    /// The least limit in a column that is not zero.
    pub(super) fn least_in_table(&self, id: TableId, column: usize) -> Option<Rational> {
        let table = self.tables.get(id.0)?;
        let rows = table.rows.iter().filter(|row| !matches!(row.reach, Reach::EveryFurther(_)));
        let sizes = rows.filter_map(|row| constant(row.values.get(column)?)).map(|size| size.abs());
        sizes.filter(|size| !size.is_zero()).min()
    }
}

/// Rows with the same condition, as written, belong together.
fn group_of(groups: &mut Vec<Option<Expr>>, when: Option<&Expr>) -> usize {
    // Tables are short; those that are not are compared against their latest conditions only.
    let from = groups.len().saturating_sub(64);
    for (at, group) in groups.iter().enumerate().skip(from) {
        let alike = match (group, when) {
            (None, None) => true,
            (Some(a), Some(b)) => same(a, b),
            _ => false,
        };
        if alike {
            return at;
        }
    }
    groups.push(when.cloned());
    groups.len() - 1
}
