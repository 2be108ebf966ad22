//! The walk: a state machine without IO. It asks, takes answers, and gives events; the events alone make its state.

pub mod event;
pub mod question;
pub mod scope;
pub mod value;
pub mod verdict;
