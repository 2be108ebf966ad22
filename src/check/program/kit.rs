//! What the shop has to measure with: a kit, checked, ready to be offered on a walk.

use jiff::civil::Date;

use super::{Literal, Uncertainty};
use crate::source::Span;

#[derive(Clone, Debug, Default)]
pub struct Kit {
    pub title: String,
    pub gauges: Vec<Gauge>,
}

/// One instrument as it lies in its box, by its number.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    pub number: String,
    /// What procedures may call it: names of `instrument` lines.
    pub kinds: Vec<String>,
    pub serial: Option<String>,
    pub certificate: Option<String>,
    pub calibrated_until: Option<Date>,
    pub resolution: Option<Literal>,
    pub scale: Option<Literal>,
    pub range: Option<(Literal, Literal)>,
    pub uncertainties: Vec<Uncertainty>,
    pub notes: Vec<String>,
    pub span: Span,
}
