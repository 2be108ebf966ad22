//! How the boxes of one item lie: one, a table, or a run of labelled boxes, always in the order in which they are read.

use crate::walk::blank::{Answer, AxisForm, ItemForm, StationForm};

/// More columns than this do not fit beside each other.
const MOST_COLUMNS: usize = 6;
/// More rows of a single box leave the page beside them blank.
const MOST_ROWS: usize = 6;
/// Wider words do not stand over a column.
const WIDEST_TITLE: usize = 16;

#[derive(Clone, Debug, PartialEq)]
pub enum Boxes {
    /// One box.
    One,
    /// Titles over the columns; rows with their labels, empty where they are filled in by hand.
    Table { corner: String, columns: Vec<Column>, rows: Vec<String> },
    /// Each box with its own label, in lines that begin with a label of their own.
    Run(Vec<(String, Vec<String>)>),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    pub title: String,
    pub answer: Answer,
}

/// The boxes of an item without a series.
pub fn of(item: &ItemForm) -> Boxes {
    let column = |title: String| Column { title, answer: item.answer.clone() };
    let titles = |axis: &AxisForm| axis.stations.iter().map(StationForm::words).collect::<Vec<_>>();
    let fit = |axis: &AxisForm| {
        let short = |station: &StationForm| {
            let words = station.words();
            !words.is_empty() && super::super::page::width_of(&words) <= WIDEST_TITLE
        };
        axis.groups.is_empty()
            && axis.laid_out.is_none()
            && axis.stations.len() <= MOST_COLUMNS
            && axis.stations.iter().all(short)
    };
    match item.axes.as_slice() {
        [] => Boxes::One,
        [axis] if fit(axis) => Boxes::Table {
            corner: axis.name.clone(),
            columns: titles(axis).into_iter().map(column).collect(),
            rows: vec![String::new()],
        },
        [axis] if axis.laid_out.is_some() => Boxes::Table {
            corner: axis.name.clone(),
            columns: vec![column(String::new())],
            rows: titles(axis),
        },
        [axis] if axis.groups.is_empty() => Boxes::Run(vec![(String::new(), titles(axis))]),
        [axis] => Boxes::Run(in_groups(axis)),
        [outer @ .., inner] => {
            let rows = products(outer);
            match fit(inner) {
                true => Boxes::Table {
                    corner: outer.iter().map(|axis| axis.name.as_str()).collect::<Vec<_>>().join(", "),
                    columns: titles(inner).into_iter().map(column).collect(),
                    rows,
                },
                false => Boxes::Run(rows.into_iter().map(|row| (row, titles(inner))).collect()),
            }
        }
    }
}

/// A long table of one column stands in two halves beside each other.
pub fn side_by_side<'a>(columns: &[Column], rows: &'a [String]) -> impl Iterator<Item = &'a [String]> {
    let halves = columns.len() == 1 && rows.len() > MOST_ROWS;
    rows.chunks(if halves { rows.len().div_ceil(2) } else { rows.len().max(1) })
}

/// Whether the rows of a table get their names by hand.
pub fn is_open(rows: &[String]) -> bool {
    rows.len() > 1 && rows.iter().any(String::is_empty)
}

/// The boxes of a series: a row each time, the boxes of its readings and of what is asked with them beside each other.
pub fn of_series(item: &ItemForm, with: &[ItemForm]) -> Vec<Column> {
    let cells = |item: &ItemForm| {
        let stations = products(&item.axes);
        let name = |station: String| match station.is_empty() {
            true => crate::walk::spoken(&item.name),
            false => station,
        };
        stations
            .into_iter()
            .map(move |station| Column { title: name(station), answer: item.answer.clone() })
            .collect::<Vec<_>>()
    };
    std::iter::once(item).chain(with).flat_map(cells).collect()
}

/// The feet of a survey, line by line.
fn in_groups(axis: &AxisForm) -> Vec<(String, Vec<String>)> {
    let mut stations = axis.stations.iter().map(StationForm::words);
    axis.groups
        .iter()
        .map(|group| (group.name.clone(), stations.by_ref().take(group.count).collect()))
        .collect()
}

/// All combinations of the stations of some axes, the last running fastest.
fn products(axes: &[AxisForm]) -> Vec<String> {
    let mut rows = vec![String::new()];
    for axis in axes {
        let longer = rows.iter().flat_map(|row| {
            axis.stations.iter().map(move |station| {
                let parts = [row.clone(), station.words()];
                parts.iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join(", ")
            })
        });
        rows = longer.collect();
    }
    rows
}
