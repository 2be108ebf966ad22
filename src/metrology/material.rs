//! What a material does: a bar sags under its own weight, a length grows with temperature.
//!
//! - sag of the free end of a round bar held at one end = rho g A L^4 / (8 E I) = 2 rho g L^4 / (E (D^2 + d^2)),
//!   d the bore (beam formula, from memory); unsigned, downward
//! - length at 20 degC (ISO 1, from memory) = L - alpha L (t - 20); linear, the next term is below 10 nm a metre for
//!   steel within 9 K of 20 degC
//!
//! Lengths in mm, temperatures in degC. The constants are round handbook values; a real alloy differs by some per cent, cast
//! iron and granite by much more.

use super::Fault;
use crate::quantity::{Real, ratio};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Material {
    Steel,
    CastIron,
    Aluminium,
    Brass,
    Bronze,
    Granite,
    Invar,
    /// Of gauge blocks.
    ChromiumCarbide,
    /// Of gauge blocks and anvils.
    TungstenCarbide,
}

impl Material {
    pub const ALL: [Material; 9] = [
        Material::Steel,
        Material::CastIron,
        Material::Aluminium,
        Material::Brass,
        Material::Bronze,
        Material::Granite,
        Material::Invar,
        Material::ChromiumCarbide,
        Material::TungstenCarbide,
    ];

    /// As it is written in a procedure.
    pub fn name(self) -> &'static str {
        match self {
            Material::Steel => "steel",
            Material::CastIron => "cast_iron",
            Material::Aluminium => "aluminium",
            Material::Brass => "brass",
            Material::Bronze => "bronze",
            Material::Granite => "granite",
            Material::Invar => "invar",
            Material::ChromiumCarbide => "chromium_carbide",
            Material::TungstenCarbide => "tungsten_carbide",
        }
    }

    pub fn parse(name: &str) -> Option<Material> {
        Material::ALL.into_iter().find(|material| material.name() == name)
    }

    /// Linear expansion in 1e-7 per K. Steel, aluminium, bronze and both carbides: seen in a course text; the others
    /// from memory.
    fn expansion(self) -> i64 {
        match self {
            Material::Steel => 115,
            Material::CastIron => 105,
            Material::Aluminium => 230,
            Material::Brass => 190,
            Material::Bronze => 167,
            Material::Granite => 65,
            Material::Invar => 12,
            Material::ChromiumCarbide => 84,
            Material::TungstenCarbide => 40,
        }
    }

    /// Density in kg/m3 and modulus of elasticity in GPa, all from memory.
    fn density_and_modulus(self) -> (i64, i64) {
        match self {
            Material::Steel => (7850, 206),
            Material::CastIron => (7200, 110),
            Material::Aluminium => (2700, 70),
            Material::Brass => (8500, 105),
            Material::Bronze => (8800, 110),
            Material::Granite => (2800, 50),
            Material::Invar => (8100, 141),
            Material::ChromiumCarbide => (6700, 370),
            Material::TungstenCarbide => (14_900, 620),
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

/// A stretch of a round bar, of one outer and one inner diameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    pub length: Real,
    pub diameter: Real,
    /// Zero if solid.
    pub bore: Real,
}

/// The sag in mm, at a distance from the holder, of a bar made of stretches, the first of them in the holder. By the
/// unit-load integral of M(x) (at - x) / (E I) from the holder to there, M the moment of all weight farther out; exact.
pub fn sag_at(stretches: &[Stretch], at: &Real, material: Material) -> Result<Real, Fault> {
    super::enough(stretches, 1)?;
    for stretch in stretches {
        if !(stretch.length.is_positive() && stretch.diameter.is_positive()) {
            return Err(Fault::NotPositive("each length and diameter of the bar"));
        }
        if stretch.bore.is_negative() || !stretch.bore.is_less(&stretch.diameter) {
            return Err(Fault::BoreTooLarge);
        }
    }
    let whole = super::statistics::total(stretches.iter().map(|stretch| stretch.length.clone()));
    if at.is_negative() || whole.is_less(at) {
        return Err(Fault::BeyondTheBar);
    }
    let (density, modulus) = material.density_and_modulus();
    // rho g / E with lengths in mm, times 16 from (pi/4) (D2 - d2) over (pi/64) (D4 - d4) = 16 / (D2 + d2).
    let factor = &Real::Exact(ratio(16 * density * 980_665, 100_000))
        * &Real::Exact(ratio(1, modulus * 1_000_000_000_000));
    // From the free end inward: weight and moment of what lies farther out, in units of rho g pi / 4.
    let (mut weight, mut moment, mut sag) = (Real::zero(), Real::zero(), Real::zero());
    let mut outer_end = whole;
    for stretch in stretches.iter().rev() {
        let (outer, bore) = (&stretch.diameter * &stretch.diameter, &stretch.bore * &stretch.bore);
        let (area, squares) = (&outer - &bore, &outer + &bore);
        let inner_end = &outer_end - &stretch.length;
        // Where the point asked for lies within a stretch, only what is inward of it bends it.
        let mut pieces = vec![(outer_end.clone(), inner_end.clone())];
        if at.is_less(&outer_end) && inner_end.is_less(at) {
            pieces = vec![(outer_end.clone(), at.clone()), (at.clone(), inner_end.clone())];
        }
        for (from, to) in pieces {
            let length = &from - &to;
            let power = |n: i32| length.powi(n).ok_or(Fault::IllConditioned);
            let share = |value: Real, n: i64| &value * &Real::Exact(ratio(1, n));
            if from.is_at_most(at) {
                // Integral of (moment + weight s + area s^2 / 2) (lever + s) ds over the length.
                let lever = at - &from;
                let terms = [
                    &(&moment * &lever) * &length,
                    share(&(&moment + &(&weight * &lever)) * &power(2)?, 2),
                    share(&(&weight + &share(&area * &lever, 2)) * &power(3)?, 3),
                    share(&area * &power(4)?, 8),
                ];
                let sum = super::statistics::total(terms.into_iter());
                sag = &sag + &sum.div(&(&area * &squares)).ok_or(Fault::IllConditioned)?;
            }
            moment = &(&moment + &(&weight * &length)) + &share(&area * &power(2)?, 2);
            weight = &weight + &(&area * &length);
        }
        outer_end = inner_end;
    }
    Ok(&sag * &factor)
}

/// What a length measured at `temperature` (degC) is at 20 degC, if the coefficient is `off` by this part of itself.
pub fn at_20_deg_c(length: &Real, material: Material, temperature: &Real, off: &Real) -> Real {
    let above = temperature - &Real::from(20);
    let growth = &(&Real::Exact(ratio(material.expansion(), 10_000_000)) * length) * &above;
    length - &(&growth * &(&Real::from(1) + off))
}

/// The coefficient of a real alloy lies within a tenth of the handbook's average, no place likelier than another (from
/// memory).
pub fn variance_of_expansion() -> Real {
    Real::Exact(ratio(1, 300))
}

/// Density over modulus of a real alloy lies within such a part of that of the handbook's averages, no place likelier than
/// another. The half widths hold the moduli of common grades (from memory: steel 193 to 215 GPa, grey iron 85 to 150, aluminium
/// 68 to 73, brass 97 to 115, bronze 100 to 120, granite 35 to 80, invar 137 to 148, carbides by their binder) with their densities: common practice, no source.
pub fn variance_of_droop(material: Material) -> Real {
    let percent = match material {
        Material::Aluminium => 5,
        Material::Invar => 7,
        Material::Steel => 8,
        Material::Brass | Material::Bronze | Material::ChromiumCarbide | Material::TungstenCarbide => 10,
        Material::CastIron => 30,
        Material::Granite => 40,
    };
    Real::Exact(ratio(percent * percent, 3 * 100 * 100))
}

/// The variance in mm2 that the correction to 20 degC brings: the coefficient is taken as known to a tenth, evenly
/// spread (handbook averages, from memory), the temperature with its own variance in K2. What the length itself is known
/// to comes besides.
pub fn variance_at_20_deg_c(
    length: &Real,
    material: Material,
    temperature: &Real,
    temperature_variance: &Real,
) -> Real {
    let expansion = Real::Exact(ratio(material.expansion(), 10_000_000));
    let above = temperature - &Real::from(20);
    let growth = &(length * &expansion) * &above;
    let per_degree = length * &expansion;
    let of_coefficient = &(&growth * &growth) * &variance_of_expansion();
    &of_coefficient + &(&(&per_degree * &per_degree) * temperature_variance)
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
    fn a_bar_in_stretches_sags_like_the_same_bar_in_one_piece() {
        let stretch = |length: i64, diameter: i64, bore: i64| Stretch {
            length: Real::from(length),
            diameter: Real::from(diameter),
            bore: Real::from(bore),
        };
        let (length, diameter, bore) = (Real::from(300), Real::from(40), Real::from(20));
        let whole = sag(&length, &diameter, &bore, Material::Steel).unwrap();
        assert_eq!(sag_at(&[stretch(300, 40, 20)], &length, Material::Steel), Ok(whole.clone()));
        let pieces = [stretch(100, 40, 20), stretch(50, 40, 20), stretch(150, 40, 20)];
        assert_eq!(sag_at(&pieces, &length, Material::Steel), Ok(whole.clone()));
        // Nearer than the free end: w x^2 (6 L^2 - 4 L x + x^2) / (24 E I), for x = L / 2 17/48 of that at the end.
        let half = sag_at(&pieces, &Real::from(150), Material::Steel).unwrap();
        assert_eq!(half, &whole * &Real::Exact(ratio(17, 48)));
        assert_eq!(sag_at(&pieces, &Real::zero(), Material::Steel), Ok(Real::zero()));
        let lighter = [stretch(100, 40, 20), stretch(200, 30, 20)];
        assert!(
            sag_at(&lighter, &length, Material::Steel).unwrap().is_less(&whole),
            "lighter beyond where it bends"
        );
        assert_eq!(sag_at(&pieces, &Real::from(301), Material::Steel), Err(Fault::BeyondTheBar));
    }

    #[test]
    fn far_from_20_degrees_the_coefficient_counts_and_at_20_degrees_only_the_thermometer() {
        let (metre, thermometer) = (Real::from(1000), Real::Exact(ratio(1, 100)));
        let at = |t: i64| variance_at_20_deg_c(&metre, Material::Steel, &Real::from(t), &thermometer);
        // 11.5 um/K: 0.1 K of the thermometer is 1.15 um; 10 K away a tenth of 115 um over root 3 comes to it.
        let thermometer_alone = Real::Exact(ratio(115 * 115, 100_000_i64 * 100_000));
        assert_eq!(at(20), thermometer_alone);
        assert_eq!(at(30), &thermometer_alone + &Real::Exact(ratio(115 * 115, 300_000_000)));
    }

    #[test]
    fn a_warm_length_is_shorter_at_20_degrees() {
        let cold = |t: i64| at_20_deg_c(&Real::from(500), Material::Brass, &Real::from(t), &Real::zero());
        assert!(cold(27).is_less(&Real::from(500)));
        assert_eq!(cold(20), Real::from(500));
        for material in Material::ALL {
            assert_eq!(Material::parse(material.name()), Some(material));
        }
    }
}
