//! Text to syntax tree: always a file, plus the problems found on the way. Knows no meaning: names, units and kinds
//! are for `check`.

pub mod ast;
mod ast_example;
mod ast_expression;
mod ast_step;

use crate::diagnostic::Problem;
use crate::source::SourceFile;

/// A file as read: its text, its tree, and what is wrong with its lines.
#[derive(Clone, Debug)]
pub struct Parsed {
    pub source: SourceFile,
    pub file: ast::File,
    pub problems: Vec<Problem>,
    /// The bytes began with a byte-order mark, which is not part of the text.
    pub byte_order_mark: bool,
}
