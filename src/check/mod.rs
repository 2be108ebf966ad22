//! From the parsed file to the checked `Program`: names, dimensions, senses, axes, order.

pub mod program;
mod visit;
