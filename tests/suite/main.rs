//! The one test binary: each module tests what a user cares about.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::unreachable)]

mod any_walk;
mod brought;
mod checking;
mod commands;
mod documents;
mod entering;
mod evaluation;
mod evaluation_rules;
mod faults;
mod gauge;
mod pty;
mod record;
mod record_faults;
mod reference;
mod reference_case;
mod reference_form;
mod reference_machine;
mod reference_uncertainty;
mod report;
mod series;
mod shape;
mod signatures;
mod surfaces;
mod syntax;
mod syntax_expression;
mod syntax_odd;
mod terminal;
mod tidy;
mod transcripts;
mod two_records;
mod two_revisions;
mod uncertainty;
mod waiting;
mod walking;
mod worked_examples;
