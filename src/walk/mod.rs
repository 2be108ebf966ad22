//! The walk: a state machine without IO. It asks, takes answers, and gives events; the events alone make its state.

mod acts;
mod adjusting;
mod answer;
mod arrows;
mod ask;
mod asking;
mod cells;
mod clock_answers;
mod commands;
mod directory;
mod entered;
mod entry;
pub mod eval;
pub mod event;
pub mod examples;
mod expectations;
mod finest;
mod fold;
mod fold_series;
mod functions;
pub mod judge;
pub mod layout;
mod leaving_out;
mod lines;
pub mod machine;
pub mod paper;
mod preliminaries;
pub mod question;
mod reading_again;
pub mod rehearsal;
pub mod replay;
mod rows;
mod rules;
pub mod scope;
mod series;
mod series_said;
mod settle;
pub mod standing;
pub mod state;
mod stations;
mod tables;
mod tail;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
pub mod text;
pub mod times;
pub mod uncertainty;
pub mod value;
pub mod verdict;
pub mod view;
mod wording;

pub use commands::words as command_words;
pub use lines::PROJECTION;
pub use wording::sense_at;
