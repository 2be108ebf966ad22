//! What is known of a value besides its kind and axes: which way it points, how it is shown, how finely it was read.

use crate::quantity::{Dimension, Rational, Unit};

use super::program::{Expr, Kind, Literal};
use super::sense::Direction;

/// A lowered expression with what it carries.
#[derive(Clone, Debug)]
pub(super) struct Typed {
    pub expr: Expr,
    pub carried: Carried,
}

#[derive(Clone, Debug)]
pub(super) struct Carried {
    pub direction: Direction,
    /// A ratio that is a slope (mm/m), so a difference of position.
    pub slope: bool,
    /// The unit in which it would be shown.
    pub unit: Option<Unit>,
    /// It comes from a reading in div; a literal in div beside it is of that instrument.
    pub scale: Option<Literal>,
    /// Whether it is known to be above (or below) zero.
    pub positive: Option<bool>,
    /// The coarsest instrument behind it, one for each dimension, in base units.
    pub resolution: Vec<(Dimension, Rational)>,
}

impl Default for Carried {
    fn default() -> Self {
        Self {
            direction: Direction::Plain,
            slope: false,
            unit: None,
            scale: None,
            positive: None,
            resolution: Vec::new(),
        }
    }
}

impl Carried {
    pub fn in_unit(unit: Unit) -> Self {
        Self { unit: Some(unit), slope: unit.is_slope(), ..Self::default() }
    }

    /// Instruments behind either value.
    pub fn resolution_with(&self, other: &Carried) -> Vec<(Dimension, Rational)> {
        let mut all = self.resolution.clone();
        for (dimension, size) in &other.resolution {
            match all.iter_mut().find(|(known, _)| known == dimension) {
                Some((_, coarsest)) if *coarsest < *size => *coarsest = size.clone(),
                Some(_) => {}
                None => all.push((*dimension, size.clone())),
            }
        }
        all
    }
}

impl Typed {
    pub fn new(expr: Expr, carried: Carried) -> Self {
        Self { expr, carried }.with_sense()
    }

    /// Keeps the words on the expression in step with the direction.
    fn with_sense(mut self) -> Self {
        self.expr.sense = self.carried.direction.words().cloned();
        self
    }

    /// A length, an angle or a slope: signs get lost on these unless plus and minus have words.
    pub fn is_position(&self) -> bool {
        is_position(&self.expr.kind, self.carried.slope)
    }
}

pub(super) fn is_position(kind: &Kind, slope: bool) -> bool {
    match kind {
        Kind::Quantity(dimension) => dimension.is_length_or_angle() || (dimension.is_none() && slope),
        _ => false,
    }
}

/// The dimension of a number; `None` for a temperature point and all that is no number.
pub(super) fn dimension_of(kind: &Kind) -> Option<Dimension> {
    match kind {
        Kind::Quantity(dimension) => Some(*dimension),
        Kind::Count => Some(Dimension::NONE),
        _ => None,
    }
}

/// The dimension of a difference of two such values.
pub(super) fn difference_of(kind: &Kind) -> Option<Dimension> {
    match kind {
        Kind::Point => Some(Dimension::TEMPERATURE),
        _ => dimension_of(kind),
    }
}

pub(super) fn is_number(kind: &Kind) -> bool {
    matches!(kind, Kind::Quantity(_) | Kind::Count | Kind::Point)
}

/// In bench words, with an article.
pub(super) fn kind_name(kind: &Kind) -> String {
    match kind {
        Kind::Quantity(dimension) => dimension.name(),
        Kind::Point => "a temperature".to_string(),
        Kind::Arrow(_) => "an arrow (a size and the angle where it is high)".to_string(),
        Kind::Choice(words) => format!("a choice ({})", words.join(", ")),
        Kind::YesNo => "a yes or no".to_string(),
        Kind::Text => "a text".to_string(),
        Kind::Date => "a date".to_string(),
        Kind::Count => "a count".to_string(),
        Kind::Photo => "a photo".to_string(),
    }
}
