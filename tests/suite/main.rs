//! The one test binary: each module tests what a user cares about.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::unreachable)]

mod evaluation;
mod commands;
mod record;
mod record_faults;
mod reference;
mod report;
mod signatures;
mod syntax;
mod syntax_expression;
mod syntax_odd;
mod tidy;
mod terminal;
mod transcripts;
mod walking;
