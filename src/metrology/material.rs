//! What a material does: a bar sags under its own weight, a length grows with temperature.
//!
//! - sag of the free end of a round bar held at one end = rho g A L^4 / (8 E I) = 2 rho g L^4 / (E (D^2 + d^2)),
//!   d the bore (beam formula, from memory); unsigned, downward
//! - length at 20 degC (ISO 1, from memory) = L - alpha L (t - 20); linear, the next term is below 10 nm a metre for
//!   steel within 9 K of 20 degC
//!
//! Lengths in mm, temperatures in degC. The constants are round handbook values and exact here; a real alloy differs by some per cent.

use super::Fault;
use crate::quantity::{Real, ratio};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Material {
    Steel,
    CastIron,
    Aluminium,
    Brass,
    Granite,
    Invar,
}

impl Material {
    pub const ALL: [Material; 6] = [
        Material::Steel,
        Material::CastIron,
        Material::Aluminium,
        Material::Brass,
        Material::Granite,
        Material::Invar,
    ];

    /// As it is written in a procedure.
    pub fn name(self) -> &'static str {
        match self {
            Material::Steel => "steel",
            Material::CastIron => "cast_iron",
            Material::Aluminium => "aluminium",
            Material::Brass => "brass",
            Material::Granite => "granite",
            Material::Invar => "invar",
        }
    }

    pub fn parse(name: &str) -> Option<Material> {
        Material::ALL.into_iter().find(|material| material.name() == name)
    }

    /// Linear expansion in 1e-7 per K. Steel and aluminium: seen in a course text; the others from memory.
    fn expansion(self) -> i64 {
        match self {
            Material::Steel => 115,
            Material::CastIron => 105,
            Material::Aluminium => 230,
            Material::Brass => 190,
            Material::Granite => 65,
            Material::Invar => 12,
        }
    }

    /// Density in kg/m3 and modulus of elasticity in GPa, all from memory.
    fn density_and_modulus(self) -> (i64, i64) {
        match self {
            Material::Steel => (7850, 206),
            Material::CastIron => (7200, 110),
            Material::Aluminium => (2700, 70),
            Material::Brass => (8500, 105),
            Material::Granite => (2800, 50),
            Material::Invar => (8100, 141),
        }
    }
}

/// The sag in mm of the free end of a round bar, `length` out of its holder, of outer `diameter` and with a `bore`
/// (zero if solid).
pub fn sag(length: &Real, diameter: &Real, bore: &Real, material: Material) -> Result<Real, Fault> {
    if !length.is_positive() {
        return Err(Fault::NotPositive("the free length of the bar"));
    }
    if !diameter.is_positive() {
        return Err(Fault::NotPositive("the diameter of the bar"));
    }
    if bore.is_negative() || !bore.is_less(diameter) {
        return Err(Fault::BoreTooLarge);
    }
    let (density, modulus) = material.density_and_modulus();
    // 2 rho g / E with the standard gravity of 9.80665 m/s2; 1e9 for GPa, and 1e-3 for lengths in mm.
    let stiffness = &Real::Exact(ratio(2 * density * 980_665, 100_000))
        * &Real::Exact(ratio(1, modulus * 1_000_000_000_000));
    let squares = &(diameter * diameter) + &(bore * bore);
    let fourth = length.powi(4).ok_or(Fault::IllConditioned)?;
    (&stiffness * &fourth).div(&squares).ok_or(Fault::IllConditioned)
}

/// What a length measured at `temperature` (degC) is at 20 degC.
pub fn at_20_deg_c(length: &Real, material: Material, temperature: &Real) -> Real {
    let above = temperature - &Real::from(20);
    let growth = &(&Real::Exact(ratio(material.expansion(), 10_000_000)) * length) * &above;
    length - &growth
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bore_stiffens_a_bar_against_its_own_weight_and_must_fit_in_it() {
        let (length, diameter) = (Real::from(300), Real::from(40));
        let solid = sag(&length, &diameter, &Real::zero(), Material::Steel).unwrap();
        let hollow = sag(&length, &diameter, &Real::from(20), Material::Steel).unwrap();
        assert_eq!(&hollow * &Real::Exact(ratio(5, 4)), solid, "D2 + d2 is a quarter more");
        assert_eq!(sag(&length, &diameter, &diameter, Material::Steel), Err(Fault::BoreTooLarge));
        assert!(matches!(
            sag(&length, &Real::zero(), &Real::zero(), Material::Steel),
            Err(Fault::NotPositive(_))
        ));
    }

    #[test]
    fn a_warm_length_is_shorter_at_20_degrees() {
        assert!(at_20_deg_c(&Real::from(500), Material::Brass, &Real::from(27)).is_less(&Real::from(500)));
        assert_eq!(at_20_deg_c(&Real::from(500), Material::Brass, &Real::from(20)), Real::from(500));
        for material in Material::ALL {
            assert_eq!(Material::parse(material.name()), Some(material));
        }
    }
}
