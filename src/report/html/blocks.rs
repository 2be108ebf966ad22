//! A page that grows block by block, from the same words as its Markdown.

use maud::{Markup, html};

use super::{STYLE, said, wide};
use crate::report::blocks::Blocks;
use crate::report::frame::{self, Running};
use crate::report::page::cut;

/// A page of headings, tables and lists.
#[derive(Debug, Default)]
pub struct Plain {
    warnings: Vec<String>,
    title: String,
    parts: Vec<Markup>,
    /// What the last heading says: the name of the table beneath it.
    heading: String,
}

impl Plain {
    /// The whole page; `foot` stands at the foot of each printed page.
    pub fn into_page(self, foot: &str) -> String {
        let warning = self.warnings.first().map(|words| frame::in_short(words)).unwrap_or_default();
        let left = cut(&self.title, 60);
        let running = Running { left: &left, right: warning, foot }.style();
        let body = html! {
            header {
                @for warning in &self.warnings { p.first dir="auto" { (said(warning)) } }
                h1 dir="auto" { (said(&self.title)) }
            }
            main { @for part in &self.parts { (part) } }
            footer { p { "Both walks are only read. What was signed stands in their records." } }
        };
        frame::page(&self.title, &[STYLE, &running], &body)
    }
}

impl Blocks for Plain {
    fn warnings(&mut self, warnings: &[String]) {
        self.warnings.extend(warnings.iter().cloned());
    }

    fn heading(&mut self, level: usize, text: &str) {
        self.heading = text.to_owned();
        match level {
            1 => self.title = text.to_owned(),
            2 => self.parts.push(html! { h2 dir="auto" { (said(text)) } }),
            _ => self.parts.push(html! { h3 dir="auto" { (said(text)) } }),
        }
    }

    fn paragraph(&mut self, text: &str) {
        self.parts.push(html! { p.prose dir="auto" { (said(text)) } });
    }

    fn items(&mut self, items: &[String]) {
        if !items.is_empty() {
            self.parts.push(html! { ul { @for item in items { li dir="auto" { (said(item)) } } } });
        }
    }

    fn table(&mut self, heading: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let table = html! {
            table.plain {
                // A column without a heading holds the names of the rows.
                thead { tr { @for head in heading { @if head.is_empty() { td {} } @else { th scope="col" { (said(head)) } } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (at, cell) in row.iter().enumerate() {
                                @if at == 0 { th scope="row" dir="auto" { (said(cell)) } } @else { td dir="auto" { (said(cell)) } }
                            }
                        }
                    }
                }
            }
        };
        self.parts.push(wide(&self.heading, table));
    }
}
