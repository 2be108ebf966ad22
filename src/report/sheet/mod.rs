//! A procedure as a blank form, for where no computer goes: what to bring and how long it takes, then each step with
//! boxes in the order in which they are typed in later (`bedway enter`).
//!
//! ```text
//! walk::blank::Form -> layout of the boxes -> a page of 80 columns, or one that prints from a browser
//! ```

mod boxes;
mod html;
mod pages;
mod text;
mod words;

use crate::walk::blank::Form;

pub use html::page;
pub use text::render;

/// What is printed: the form, and from what.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub form: Form,
    /// The file of the procedure, for the command that types the sheet in.
    pub file: String,
    /// SHA-256 of its text: which revision the paper belongs to.
    pub digest: String,
    /// Only these steps; empty: all, with the list of what to bring before them.
    pub only: Vec<String>,
}

impl Sheet {
    /// The steps that are printed, in their order.
    fn steps(&self) -> impl Iterator<Item = &crate::walk::blank::StepForm> {
        let is_wanted = |name: &String| self.only.is_empty() || self.only.contains(name);
        self.form.steps.iter().filter(move |step| is_wanted(&step.name))
    }
}
