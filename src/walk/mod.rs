//! The walk: a state machine without IO. It asks, takes answers, and gives events; the events alone make its state.

mod cells;
mod entered;
pub mod eval;
pub mod event;
mod finest;
mod functions;
pub mod judge;
pub mod layout;
pub mod question;
mod rules;
pub mod scope;
mod stations;
mod tables;
pub mod text;
pub mod value;
pub mod verdict;
