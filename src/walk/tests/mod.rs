//! What values, functions, rules and steps come to, on small programs built by hand.

mod functions;
mod rules;
mod scenarios;
mod steps;
mod values;
