//! What a number means at the bench: exact numbers, units with their dimensions, how a number is shown, and which way
//! plus and minus point.
//!
//! Knows nothing of the language, of files or of verdicts. A value is held as a [`Real`] in the base unit of its
//! dimension (mm, deg, s, K, kg, A, dB, div); [`Unit`] takes it there and back without loss.
//!
//! ```
//! use bedway::quantity::{Real, Unit, parse_decimal, show_against};
//! let entry = Real::Exact(parse_decimal("0.4").unwrap());
//! let value = Unit::convert(&entry, Unit::Thou, Unit::Mm).unwrap();
//! let limit = Real::Exact(parse_decimal("0.010").unwrap());
//! assert!(!value.is_at_most(&limit));
//! assert_eq!(show_against(&value, &limit, 3), ("0.01016".to_string(), "0.010".to_string()));
//! ```

mod dimension;
mod format;
mod functions;
mod gauge;
mod literal;
mod number;
mod prompt;
mod sense;
mod unit;

pub use dimension::Dimension;
pub use format::{
    decimals_of, exact_text, fixed, parse_exact, record_text, show, show_against, show_signed, significant,
};
pub use gauge::{GaugeLine, NoReading};
pub use literal::Quantity;
pub use number::{Rational, Real, parse_decimal, ratio};
pub use prompt::{Meaning, PromptUnit, unit_words_at_prompt};
pub use sense::Sense;
pub use unit::Unit;
