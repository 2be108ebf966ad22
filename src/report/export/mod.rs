//! The report in forms that other programs read: a table of readings (CSV), a document (JSON, with its schema), Markdown.
//!
//! Each says in its first line if it is a rehearsal, damaged or not signed, and holds numbers exactly, beside their unit.

mod csv;
mod document;
mod fill;
mod markdown;
mod pages;
mod pairs;
mod tested;

pub use csv::table;
pub use document::Document;
pub use fill::document;
pub use markdown::report as markdown;
pub use pages::{comparison_html, comparison_page, comparison_table, under_html, under_page, under_table};
pub use pairs::{CompareDocument, UnderDocument, comparison, under};

/// The JSON Schema of a document.
pub fn schema<T: schemars::JsonSchema>() -> String {
    json(&schemars::schema_for!(T))
}

/// A document as JSON: its first line says what a reader must know first.
pub fn json<T: serde::Serialize>(document: &T) -> String {
    match serde_json::to_string_pretty(document) {
        // The warning is the first key, and stands on the first line.
        Ok(text) => format!("{}\n", text.replacen("{\n  ", "{ ", 1)),
        // Texts and lists alone always have a form.
        Err(fault) => format!("{{ \"warning\": \"could not be written: {fault}\" }}\n"),
    }
}
