//! Bedway proves that a machine tool is right: a procedure is written once as text, checked like code, walked at
//! the bench, judged, and ends in a signed record.
//!
//! ```text
//! text -> syntax -> Parsed -> check -> Program -> walk (Machine asks, answers become Events) -> record -> report
//! ```
//!
//! Modules depend downward only: `source`, `quantity`, `metrology` -> `diagnostic` -> `syntax` -> `check` -> `walk`
//! -> `record`, `report` -> `cli`. No IO outside `record` and `cli`; clock and randomness are passed in.

pub mod check;
pub mod cli;
pub mod diagnostic;
pub mod metrology;
pub mod quantity;
pub mod record;
pub mod report;
pub mod source;
pub mod syntax;
pub mod tidy;
pub mod walk;
