//! Values at their places: the stations of the last axis above them, those of the axes around it at their left.

use maud::{Markup, html};

use super::said;

/// So many values stand side by side.
const COLUMNS: usize = 8;

/// Values side by side, all stations but the last the same.
pub(super) struct Row {
    pub outer: String,
    /// The last station of each, and what stands there.
    pub cells: Vec<(String, Markup)>,
}

/// The table, named by an element of the page.
pub(super) fn table(name: &str, corner: &str, rows: &[Row]) -> Markup {
    let heads: Vec<&str> = match rows.first() {
        Some(row) => row.cells.iter().map(|(place, _)| place.as_str()).collect(),
        None => Vec::new(),
    };
    let alike = rows.iter().all(|row| {
        row.cells.len() <= heads.len() && row.cells.iter().zip(&heads).all(|((place, _), head)| place == head)
    });
    html! {
        table.cells aria-labelledby=(name) {
            @if alike && heads.len() <= COLUMNS { (matrix(corner, &heads, rows)) } @else { (listed(rows)) }
        }
    }
}

fn matrix(corner: &str, heads: &[&str], rows: &[Row]) -> Markup {
    let named = rows.iter().any(|row| !row.outer.is_empty());
    html! {
        // A value without stations needs no head.
        @if heads.iter().any(|head| !head.is_empty()) {
            thead {
                tr {
                    @if named { th scope="col" { (said(corner)) } }
                    @for head in heads { th scope="col" dir="auto" { (said(head)) } }
                }
            }
        }
        tbody {
            @for row in rows {
                tr {
                    @if named { th scope="row" dir="auto" { (said(&row.outer)) } }
                    @for (_, content) in &row.cells { td dir="auto" { (content) } }
                }
            }
        }
    }
}

/// Rows too long for one line: each outer station once, its values in lines of eight.
fn listed(rows: &[Row]) -> Markup {
    html! {
        @for row in rows {
            @for part in row.cells.chunks(COLUMNS) {
                tbody {
                    tr {
                        @if row.outer.is_empty() { td {} } @else { th scope="row" dir="auto" { (said(&row.outer)) } }
                        @for (place, _) in part { @if place.is_empty() { td {} } @else { th scope="col" dir="auto" { (said(place)) } } }
                    }
                    tr { td {} @for (_, content) in part { td dir="auto" { (content) } } }
                }
            }
        }
    }
}
