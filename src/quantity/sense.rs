//! Which way plus and minus point, in the words of the person who wrote the procedure.

use super::number::Real;

/// What a positive and a negative value say, for instance "toward the operator" and "away from the operator". Two
/// senses are the same if their texts are.
#[derive(Clone, Debug, PartialEq, Eq, Hash, serde::Serialize)]
pub struct Sense {
    pub plus: String,
    pub minus: String,
}

impl Sense {
    pub fn new(plus: impl Into<String>, minus: impl Into<String>) -> Self {
        Self { plus: plus.into(), minus: minus.into() }
    }

    /// The sense of the negated value.
    pub fn flipped(&self) -> Sense {
        Sense { plus: self.minus.clone(), minus: self.plus.clone() }
    }

    /// What a value says; nothing at zero.
    pub fn say(&self, value: &Real) -> Option<&str> {
        if value.is_positive() {
            Some(&self.plus)
        } else if value.is_negative() {
            Some(&self.minus)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_says_its_direction_and_zero_says_nothing() {
        let sense = Sense::new("front high", "front low");
        assert_eq!(sense.say(&Real::from(2)), Some("front high"));
        assert_eq!(sense.flipped().say(&Real::from(2)), Some("front low"));
        assert_eq!(sense.say(&Real::from(-2)), sense.flipped().say(&Real::from(2)));
        assert_eq!(sense.say(&Real::zero()), None);
    }
}
