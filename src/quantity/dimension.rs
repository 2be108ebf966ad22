//! What kind of thing a value is: exponents over the base kinds. A slope (mm/m) is a plain ratio; an angle is a kind
//! of its own, so that only a tangent takes one to the other; a division of an instrument is a kind of its own, so
//! that `div x scale` comes out by itself.

use std::fmt;

/// The base kinds, in the order of the exponents, with the symbol of the base unit of each.
const BASE_SYMBOLS: [&str; 8] = ["mm", "deg", "s", "K", "kg", "A", "dB", "div"];

/// Exponents over length, angle, time, temperature difference, mass, current, level and division.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Dimension([i8; 8]);

impl Dimension {
    /// A plain number: counts, ratios, slopes, percentages.
    pub const NONE: Dimension = Dimension([0; 8]);
    pub const LENGTH: Dimension = Dimension::of(1, 0, 0, 0);
    pub const ANGLE: Dimension = Dimension([0, 1, 0, 0, 0, 0, 0, 0]);
    pub const TIME: Dimension = Dimension::of(0, 1, 0, 0);
    pub const TEMPERATURE: Dimension = Dimension([0, 0, 0, 1, 0, 0, 0, 0]);
    pub const TEMPERATURE_RATE: Dimension = Dimension([0, 0, -1, 1, 0, 0, 0, 0]);
    pub const MASS: Dimension = Dimension::of(0, 0, 1, 0);
    pub const CURRENT: Dimension = Dimension::of(0, 0, 0, 1);
    pub const LEVEL: Dimension = Dimension([0, 0, 0, 0, 0, 0, 1, 0]);
    pub const DIVISION: Dimension = Dimension([0, 0, 0, 0, 0, 0, 0, 1]);
    pub const FREQUENCY: Dimension = Dimension::of(0, -1, 0, 0);
    pub const SPEED: Dimension = Dimension::of(1, -1, 0, 0);
    pub const FORCE: Dimension = Dimension::of(1, -2, 1, 0);
    pub const TORQUE: Dimension = Dimension::of(2, -2, 1, 0);
    pub const MASS_PER_LENGTH: Dimension = Dimension::of(-1, 0, 1, 0);
    pub const VOLTAGE: Dimension = Dimension::of(2, -3, 1, -1);
    pub const RESISTANCE: Dimension = Dimension::of(2, -3, 1, -2);

    const fn of(length: i8, time: i8, mass: i8, current: i8) -> Self {
        Dimension([length, 0, time, 0, mass, current, 0, 0])
    }

    pub fn is_none(self) -> bool {
        self == Dimension::NONE
    }

    /// A difference of position, where signs get lost unless plus and minus have words: length, angle, slope.
    /// A slope is a plain ratio, so the caller must know from the unit whether a plain number is one.
    pub fn is_length_or_angle(self) -> bool {
        self == Dimension::LENGTH || self == Dimension::ANGLE
    }

    /// The dimension of a product; `None` where exponents run out of all sense (beyond 100).
    pub fn times(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, |a, b| a.checked_add(b))
    }

    /// The dimension of a quotient.
    pub fn over(self, other: Dimension) -> Option<Dimension> {
        self.combine(other, |a, b| a.checked_sub(b))
    }

    pub fn powi(self, power: i32) -> Option<Dimension> {
        let power = i8::try_from(power).ok()?;
        self.combine(self, |a, _| a.checked_mul(power))
    }

    /// The dimension of a square root; `None` unless every exponent is even.
    pub fn sqrt(self) -> Option<Dimension> {
        self.combine(self, |a, _| (a % 2 == 0).then_some(a / 2))
    }

    fn combine(self, other: Dimension, with: impl Fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        let mut exponents = [0; 8];
        for (place, (a, b)) in exponents.iter_mut().zip(self.0.into_iter().zip(other.0)) {
            *place = with(a, b).filter(|exponent| exponent.unsigned_abs() <= 100)?;
        }
        Some(Dimension(exponents))
    }

    /// In bench words, with an article: "a length".
    pub fn name(self) -> String {
        let name = match self {
            Dimension::NONE => "a plain number or ratio",
            Dimension::LENGTH => "a length",
            Dimension::ANGLE => "an angle",
            Dimension::TIME => "a time",
            Dimension::TEMPERATURE => "a temperature difference",
            Dimension::TEMPERATURE_RATE => "a change of temperature with time",
            Dimension::MASS => "a mass",
            Dimension::CURRENT => "a current",
            Dimension::LEVEL => "a sound level",
            Dimension::DIVISION => "divisions of an instrument",
            Dimension::FREQUENCY => "a frequency or speed of rotation",
            Dimension::SPEED => "a speed",
            Dimension::FORCE => "a force",
            Dimension::TORQUE => "a torque",
            Dimension::MASS_PER_LENGTH => "a mass per length",
            Dimension::VOLTAGE => "a voltage",
            Dimension::RESISTANCE => "a resistance",
            _ => return format!("a value in {}", self.base_symbol()),
        };
        name.to_string()
    }

    /// The base units put together: `mm`, `mm^2`, `kg mm/s^2`, `1/s`; empty for a plain number.
    pub fn base_symbol(self) -> String {
        let part = |sign: i8| {
            let powers = BASE_SYMBOLS.iter().zip(self.0).filter(|(_, exponent)| exponent.signum() == sign);
            powers
                .map(|(symbol, exponent)| match exponent.unsigned_abs() {
                    1 => (*symbol).to_string(),
                    size => format!("{symbol}^{size}"),
                })
                .collect::<Vec<_>>()
        };
        let (above, below) = (part(1), part(-1));
        let over = if below.is_empty() { String::new() } else { format!("/{}", below.join("/")) };
        match above.is_empty() {
            true if over.is_empty() => String::new(),
            true => format!("1{over}"),
            false => format!("{}{over}", above.join(" ")),
        }
    }
}

impl fmt::Debug for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Dimension({})", if self.is_none() { "1".to_string() } else { self.base_symbol() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_and_quotients_keep_their_kind() {
        assert_eq!(Dimension::LENGTH.over(Dimension::LENGTH), Some(Dimension::NONE));
        assert_eq!(Dimension::CURRENT.times(Dimension::RESISTANCE), Some(Dimension::VOLTAGE));
        assert_eq!(Dimension::LENGTH.powi(2).and_then(Dimension::sqrt), Some(Dimension::LENGTH));
        assert_eq!(Dimension::LENGTH.sqrt(), None);
        assert_ne!(Dimension::ANGLE, Dimension::NONE, "an angle is no ratio");
        assert_eq!(Dimension::LENGTH.powi(60).and_then(|long| long.times(long)), None);
    }

    #[test]
    fn every_kind_has_a_name() {
        assert_eq!(Dimension::LENGTH.name(), "a length");
        assert_eq!(Dimension::LENGTH.powi(2).unwrap().name(), "a value in mm^2");
        assert_eq!(Dimension::TIME.over(Dimension::LENGTH).unwrap().name(), "a value in s/mm");
        assert_eq!(Dimension::FREQUENCY.powi(2).unwrap().name(), "a value in 1/s^2");
    }
}
