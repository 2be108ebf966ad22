//! The closed list of units, each with its symbol, its dimension and its factor to the base unit.
//!
//! Base units are mm, deg, s, K, kg, A, dB and div; a plain ratio is 1. A temperature *point* is held in degC, so
//! that the difference of two points is in K. Every factor is exact (1 inch = 25.4 mm, NIST SP 811, from memory) but that
//! of the radian. A `div` is a kind of its own: the scale of an instrument (`0.02 mm/m per div`) takes it further.

use num_traits::Zero;

use super::dimension::Dimension;
use super::number::{Rational, Real, ratio};

macro_rules! units {
    ($($unit:ident $symbol:literal $dimension:ident $numerator:literal / $denominator:literal,)*) => {
        /// A unit of the closed list.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Unit { $($unit,)* }

        impl Unit {
            pub const ALL: &'static [Unit] = &[$(Unit::$unit,)*];

            /// As it is written in a procedure and on the record.
            pub fn symbol(self) -> &'static str {
                match self { $(Unit::$unit => $symbol,)* }
            }

            pub fn dimension(self) -> Dimension {
                match self { $(Unit::$unit => Dimension::$dimension,)* }
            }

            fn exact_factor(self) -> (i64, i64) {
                match self { $(Unit::$unit => ($numerator, $denominator),)* }
            }
        }
    };
}

units! {
    Mm "mm" LENGTH 1/1,
    Um "um" LENGTH 1/1000,
    M "m" LENGTH 1000/1,
    Inch "inch" LENGTH 127/5,
    Ft "ft" LENGTH 1524/5,
    Thou "thou" LENGTH 127/5000,
    Deg "deg" ANGLE 1/1,
    Arcmin "arcmin" ANGLE 1/60,
    Arcsec "arcsec" ANGLE 1/3600,
    Rad "rad" ANGLE 1/1,
    MmPerM "mm/m" NONE 1/1000,
    UmPerM "um/m" NONE 1/1000000,
    InchPerFt "inch/ft" NONE 1/12,
    Percent "%" NONE 1/100,
    One "1" NONE 1/1,
    DegC "degC" TEMPERATURE 1/1,
    DegF "degF" TEMPERATURE 5/9,
    K "K" TEMPERATURE 1/1,
    S "s" TIME 1/1,
    Min "min" TIME 60/1,
    H "h" TIME 3600/1,
    KPerMin "K/min" TEMPERATURE_RATE 1/60,
    KPerH "K/h" TEMPERATURE_RATE 1/3600,
    PerMin "/min" FREQUENCY 1/60,
    Rpm "rpm" FREQUENCY 1/60,
    Hz "Hz" FREQUENCY 1/1,
    MmPerS "mm/s" SPEED 1/1,
    MPerS "m/s" SPEED 1000/1,
    MmPerMin "mm/min" SPEED 1/60,
    Kg "kg" MASS 1/1,
    N "N" FORCE 1000/1,
    Nm "Nm" TORQUE 1000000/1,
    KgPerM "kg/m" MASS_PER_LENGTH 1/1000,
    V "V" VOLTAGE 1000000/1,
    A "A" CURRENT 1/1,
    Ohm "ohm" RESISTANCE 1000000/1,
    MilliOhm "mohm" RESISTANCE 1000/1,
    KiloOhm "kohm" RESISTANCE 1000000000/1,
    MegaOhm "Mohm" RESISTANCE 1000000000000/1,
    Db "dB" LEVEL 1/1,
    Div "div" DIVISION 1/1,
}

impl Unit {
    /// The unit with exactly this symbol.
    pub fn parse(symbol: &str) -> Option<Unit> {
        Unit::ALL.iter().copied().find(|unit| unit.symbol() == symbol)
    }

    /// A scale of temperature points (degC, degF): its values have no sum, and their differences are in K.
    pub fn is_point(self) -> bool {
        matches!(self, Unit::DegC | Unit::DegF)
    }

    /// The unit of differences: K for a temperature point, else the unit itself.
    pub fn of_differences(self) -> Unit {
        if self.is_point() { Unit::K } else { self }
    }

    /// mm/m, um/m or inch/ft: a difference of position, though its dimension is that of a plain number.
    pub fn is_slope(self) -> bool {
        matches!(self, Unit::MmPerM | Unit::UmPerM | Unit::InchPerFt)
    }

    /// The value of one of this unit in the base unit of its dimension.
    pub fn factor(self) -> Real {
        if self == Unit::Rad {
            // 180/pi, correctly rounded, so good to half a unit in the last place.
            return Real::Approximate { value: 180.0 / std::f64::consts::PI, bound: 2e-14 };
        }
        let (numerator, denominator) = self.exact_factor();
        Real::Exact(ratio(numerator, denominator))
    }

    /// Where the scale stands at zero, in the base unit: -160/9 degC for degF.
    fn offset(self) -> Rational {
        if self == Unit::DegF { ratio(-160, 9) } else { Rational::zero() }
    }

    /// A value in this unit, taken to the base unit of its dimension.
    pub fn to_base(self, value: &Real) -> Real {
        let scaled = value * &self.factor();
        if self == Unit::DegF { &scaled + &Real::Exact(self.offset()) } else { scaled }
    }

    /// A value in the base unit, given in this unit.
    pub fn from_base(self, value: &Real) -> Real {
        let value = if self == Unit::DegF { value - &Real::Exact(self.offset()) } else { value.clone() };
        if self == Unit::Rad {
            let per_degree = Real::Approximate { value: std::f64::consts::PI / 180.0, bound: 1e-17 };
            return &value * &per_degree;
        }
        let (numerator, denominator) = self.exact_factor();
        &value * &Real::Exact(ratio(denominator, numerator))
    }

    /// Whether a value in one of the units can be given in the other. A temperature point is no difference.
    pub fn converts_to(self, other: Unit) -> bool {
        self.dimension() == other.dimension() && self.is_point() == other.is_point()
    }

    /// `None` where the units are of different kinds. Exact but for radians.
    pub fn convert(value: &Real, from: Unit, to: Unit) -> Option<Real> {
        if from == to {
            return Some(value.clone());
        }
        from.converts_to(to).then(|| to.from_base(&from.to_base(value)))
    }

    /// The unit in which a value of this dimension is shown if nothing else is said; `None` for a kind that has no
    /// unit in the list, and for a plain number, where the author must say which (`in mm/m`, `in %` or `in 1`).
    pub fn usual(dimension: Dimension) -> Option<Unit> {
        if dimension.is_none() {
            return None;
        }
        let unit = match dimension {
            Dimension::TEMPERATURE => Unit::K,
            Dimension::FREQUENCY => Unit::PerMin,
            Dimension::RESISTANCE => Unit::Ohm,
            Dimension::TEMPERATURE_RATE => Unit::KPerMin,
            _ => return Unit::ALL.iter().copied().find(|unit| unit.dimension() == dimension),
        };
        Some(unit)
    }

    /// All units of one kind, for "type it in one of ...".
    pub fn of(dimension: Dimension) -> impl Iterator<Item = Unit> {
        Unit::ALL.iter().copied().filter(move |unit| unit.dimension() == dimension)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse_decimal;
    use proptest::prelude::*;

    fn converted(text: &str, from: Unit, to: Unit) -> Real {
        Unit::convert(&Real::Exact(parse_decimal(text).unwrap()), from, to).unwrap()
    }

    fn real(text: &str) -> Real {
        Real::Exact(parse_decimal(text).unwrap())
    }

    #[test]
    fn every_symbol_is_its_own() {
        for unit in Unit::ALL {
            assert_eq!(Unit::parse(unit.symbol()), Some(*unit));
        }
        assert_eq!(Unit::parse("MM"), None);
    }

    #[test]
    fn lengths_and_slopes_convert_exactly() {
        assert_eq!(converted("0.4", Unit::Thou, Unit::Mm), real("0.01016"));
        assert_eq!(converted("1", Unit::Inch, Unit::Thou), real("1000"));
        assert_eq!(converted("1", Unit::Ft, Unit::Mm), real("304.8"));
        assert_eq!(converted("0.02", Unit::MmPerM, Unit::UmPerM), real("20"));
        assert_eq!(converted("0.0005", Unit::InchPerFt, Unit::MmPerM), Real::Exact(ratio(1, 24)));
        assert_eq!(converted("2000", Unit::KiloOhm, Unit::MegaOhm), real("2"));
        assert_eq!(converted("1", Unit::Hz, Unit::Rpm), real("60"));
    }

    #[test]
    fn temperature_points_have_a_zero_and_differences_have_none() {
        assert_eq!(converted("68", Unit::DegF, Unit::DegC), real("20"));
        assert_eq!(converted("-40", Unit::DegC, Unit::DegF), real("-40"));
        assert_eq!(Unit::convert(&real("20"), Unit::DegC, Unit::K), None, "a point is no difference");
        assert_eq!(Unit::DegF.of_differences(), Unit::K);
    }

    #[test]
    fn different_kinds_do_not_convert() {
        assert_eq!(Unit::convert(&real("1"), Unit::Deg, Unit::MmPerM), None);
        assert_eq!(Unit::convert(&real("1"), Unit::Div, Unit::One), None);
        assert!(
            converted("180", Unit::Deg, Unit::Rad)
                .equals(&Real::approximate(std::f64::consts::PI, 1e-15).unwrap())
        );
    }

    #[test]
    fn derived_units_agree_with_their_parts() {
        // 1 V = 1 A x 1 ohm; 1 Nm = 1 N x 1 m.
        assert_eq!(Unit::V.factor(), &Unit::A.factor() * &Unit::Ohm.factor());
        assert_eq!(Unit::Nm.factor(), &Unit::N.factor() * &Unit::M.factor());
        let newton = &Unit::Kg.factor() * &Unit::M.factor();
        assert_eq!(Unit::N.factor(), newton, "1 N = 1 kg m/s2");
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_number(value in -1_000_000i64..1_000_000, a in 0..Unit::ALL.len(), b in 0..Unit::ALL.len()) {
            let (a, b) = (Unit::ALL[a], Unit::ALL[b]);
            let value = Real::Exact(ratio(value, 10_000));
            if let Some(there) = Unit::convert(&value, a, b) {
                prop_assert!(Unit::convert(&there, b, a).unwrap().equals(&value));
            }
        }
    }
}
