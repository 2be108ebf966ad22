//! Reports: what a record says, laid out for the people who read it. Built from the events of the record alone; the
//! procedure frozen in it lends labels and senses. Nothing here reads files or judges anything anew.
//!
//! ```text
//! lines of the record -> model (data) -> text (a page of 80 columns)
//! ```

mod beside;
mod blocks;
mod breaks;
mod build;
mod by_hand;
pub mod compare;
mod digits;
mod earlier;
mod effects;
pub mod export;
pub mod figures;
mod frame;
pub mod html;
mod labels;
mod laid;
mod model;
mod page;
mod papers;
pub mod plot;
mod put_right;
mod results;
mod rows;
mod said;
pub mod sheet;
mod sides;
mod summary;
mod temperatures;
mod text;
pub mod trend;
pub mod under;

pub use build::build;
pub use labels::{Labels, method, plain, rounded};
pub use model::{
    AxisPart, Closed, DefectLine, Effect, EntryLine, FactLine, Held, InstrumentLine, Kept, Move, Proof,
    Readings, Report, ResultPart, Row, SignatureLine, StationPart, StepPart, Struck, StruckPart, Temperature,
    Try,
};
pub use page::{clean, columns, cut, padded, width_of, wrapped};
pub use said::{answer_text, file_name, when};
pub use summary::{exceptions, is_well, left_out, loud, state, warnings, warnings_of_figures};
pub use text::render;
