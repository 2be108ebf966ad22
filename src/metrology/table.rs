//! Published tables and rules of thumb, as data with their source. Guidance, to be confirmed against the edition that
//! was agreed; units in the names.
//!
//! - vibration zones A to D by r.m.s. velocity, boundaries of ISO 10816-1:1995, annex B (two secondary tables seen; the
//!   standard has been replaced; machine-tool spindles are outside its scope). A reading on a boundary takes the better
//! - surface plates: t = c1 l + c2 um, l the diagonal in mm rounded up to 100 mm (ISO 8512-1 and -2, from memory; the
//!   printed tables round to whole um); AA: (1 + 1.6 D^2 / 10^6) um, D the diagonal in mm, A twice, B four times that
//!   (GGG-P-463c: AA seen, A and B from memory); 2, 4, 10, 20 (1 + L) um for grades 00, 0, 1, 2, L the longer side in m
//!   (DIN 876, from memory)
//! - tolerance grades IT1 to IT11 to 500 mm in um (ISO 286-1, table 1, seen)
//! - mid-span deflection of a V-belt: 1/64 of the span (makers' rule of thumb, from memory)
//! - run-in: ten equal stages of speed; advised from a bearing speed of 500,000 mm/min on, mean diameter times speed
//!   (bearing maker's sheet, seen)

use super::Fault;
use crate::quantity::{Rational, Real, ratio};

/// Rigidity and power of the machine, ISO 10816-1 (ISO 2372).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum VibrationClass {
    /// Up to 15 kW.
    I,
    /// 15 to 75 kW.
    II,
    /// Large on a rigid base.
    III,
    /// Large on a soft base.
    IV,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VibrationZone {
    A,
    B,
    C,
    D,
}

impl VibrationClass {
    /// A to B, B to C, C to D, in hundredths of mm/s.
    fn boundaries(self) -> [i64; 3] {
        match self {
            VibrationClass::I => [71, 180, 450],
            VibrationClass::II => [112, 280, 710],
            VibrationClass::III => [180, 450, 1120],
            VibrationClass::IV => [280, 710, 1800],
        }
    }
}

/// Of a velocity in mm/s r.m.s.
pub fn vibration_zone(velocity: &Real, class: VibrationClass) -> Result<VibrationZone, Fault> {
    if velocity.is_negative() {
        return Err(Fault::NotPositive("the velocity"));
    }
    let zones = [VibrationZone::A, VibrationZone::B, VibrationZone::C];
    let within = class.boundaries().map(|boundary| velocity.is_at_most(&Real::Exact(ratio(boundary, 100))));
    Ok(zones.into_iter().zip(within).find(|(_, within)| *within).map_or(VibrationZone::D, |(zone, _)| zone))
}

/// Grades 0 to 3 of ISO 8512.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlateGrade {
    Zero,
    One,
    Two,
    Three,
}

/// Flatness allowed, in um, of a plate of `length` by `width` mm, and the rounded diagonal in mm.
pub fn plate_flatness(length: &Real, width: &Real, grade: PlateGrade) -> Result<(Real, Real), Fault> {
    let diagonal = diagonal(length, width)?;
    let rounded = match diagonal.exact() {
        Some(exact) => exact / ratio(100, 1),
        None => Rational::from_float(diagonal.to_f64() / 100.0).ok_or(Fault::IllConditioned)?,
    };
    let rounded = Real::Exact(rounded.ceil() * ratio(100, 1));
    // c1 in 1/1000 um a mm and c2 in 1/10 um.
    let (slope, offset) = match grade {
        PlateGrade::Zero => (3, 25),
        PlateGrade::One => (6, 50),
        PlateGrade::Two => (12, 100),
        PlateGrade::Three => (24, 200),
    };
    let allowed = &(&rounded * &Real::Exact(ratio(slope, 1000))) + &Real::Exact(ratio(offset, 10));
    Ok((allowed, rounded))
}

fn diagonal(length: &Real, width: &Real) -> Result<Real, Fault> {
    if !(length.is_positive() && width.is_positive()) {
        return Err(Fault::NotPositive("the length and the width of the plate"));
    }
    (&(length * length) + &(width * width)).sqrt().ok_or(Fault::IllConditioned)
}

/// Flatness allowed, in um, by GGG-P-463c; `times` is 1 for AA, 2 for A, 4 for B.
pub fn federal_plate_flatness(length: &Real, width: &Real, times: i64) -> Result<Real, Fault> {
    if ![1, 2, 4].contains(&times) {
        return Err(Fault::OutsideTable("the grade"));
    }
    diagonal(length, width)?;
    let square = &(length * length) + &(width * width);
    let finest = &Real::from(1) + &(&square * &Real::Exact(ratio(16, 10_000_000)));
    Ok(&finest * &Real::from(times))
}

/// Flatness allowed, in um, by DIN 876; grade "00", "0", "1" or "2", `longer` the longer side in mm.
pub fn ruled_plate_flatness(longer: &Real, grade: &str) -> Result<Real, Fault> {
    if !longer.is_positive() {
        return Err(Fault::NotPositive("the length of the plate"));
    }
    let factor = match grade {
        "00" => 2,
        "0" => 4,
        "1" => 10,
        "2" => 20,
        _ => return Err(Fault::OutsideTable("the grade")),
    };
    Ok(&(&Real::from(1) + &(longer * &Real::Exact(ratio(1, 1000)))) * &Real::from(factor))
}

/// IT1 to IT11 in tenths of um, each row for sizes up to the first figure in mm.
const IT: [(i64, [i64; 11]); 13] = [
    (3, [8, 12, 20, 30, 40, 60, 100, 140, 250, 400, 600]),
    (6, [10, 15, 25, 40, 50, 80, 120, 180, 300, 480, 750]),
    (10, [10, 15, 25, 40, 60, 90, 150, 220, 360, 580, 900]),
    (18, [12, 20, 30, 50, 80, 110, 180, 270, 430, 700, 1100]),
    (30, [15, 25, 40, 60, 90, 130, 210, 330, 520, 840, 1300]),
    (50, [15, 25, 40, 70, 110, 160, 250, 390, 620, 1000, 1600]),
    (80, [20, 30, 50, 80, 130, 190, 300, 460, 740, 1200, 1900]),
    (120, [25, 40, 60, 100, 150, 220, 350, 540, 870, 1400, 2200]),
    (180, [35, 50, 80, 120, 180, 250, 400, 630, 1000, 1600, 2500]),
    (250, [45, 70, 100, 140, 200, 290, 460, 720, 1150, 1850, 2900]),
    (315, [60, 80, 120, 160, 230, 320, 520, 810, 1300, 2100, 3200]),
    (400, [70, 90, 130, 180, 250, 360, 570, 890, 1400, 2300, 3600]),
    (500, [80, 100, 150, 200, 270, 400, 630, 970, 1550, 2500, 4000]),
];

/// The tolerance in um of a grade for a nominal size in mm; a size at the end of a step belongs to it.
pub fn it_grade(size: &Real, grade: usize) -> Result<Real, Fault> {
    if !size.is_positive() {
        return Err(Fault::NotPositive("the nominal size"));
    }
    let row = IT.iter().find(|(up_to, _)| size.is_at_most(&Real::from(*up_to)));
    let (_, row) = row.ok_or(Fault::OutsideTable("the nominal size"))?;
    let tenths =
        grade.checked_sub(1).and_then(|place| row.get(place)).ok_or(Fault::OutsideTable("the grade"))?;
    Ok(Real::Exact(ratio(*tenths, 10)))
}

/// Deflection at mid-span, in the unit of the span.
pub fn belt_deflection(span: &Real) -> Result<Real, Fault> {
    if span.is_positive() {
        Ok(span * &Real::Exact(ratio(1, 64)))
    } else {
        Err(Fault::NotPositive("the span"))
    }
}

/// Mean diameter in mm times speed in r/min, and whether a run-in is advised.
pub fn bearing_speed(bore: &Real, outside: &Real, speed: &Real) -> (Real, bool) {
    let value = &(bore + outside).half() * speed;
    let advised = value.is_at_least(&Real::from(500_000));
    (value, advised)
}

/// The stages of a run-in up to the greatest speed.
pub fn run_in_speeds(greatest: &Real) -> Vec<Real> {
    (1..=10).map(|stage| greatest * &Real::Exact(ratio(stage, 10))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_at_the_end_of_a_step_belongs_to_it_and_beyond_the_table_there_is_none() {
        assert_eq!(it_grade(&Real::from(30), 7), Ok(Real::from(21)));
        assert_eq!(it_grade(&Real::Exact(ratio(3001, 100)), 7), Ok(Real::from(25)));
        assert_eq!(it_grade(&Real::from(501), 7), Err(Fault::OutsideTable("the nominal size")));
        for grade in [0, 12] {
            assert_eq!(it_grade(&Real::from(30), grade), Err(Fault::OutsideTable("the grade")));
        }
    }

    #[test]
    fn every_grade_is_coarser_than_the_one_before_and_every_step_than_the_smaller() {
        for (_, row) in IT {
            assert!(row.windows(2).all(|pair| pair[0] < pair[1]));
        }
        for pair in IT.windows(2) {
            assert!(pair[0].1.iter().zip(pair[1].1).all(|(a, b)| *a <= b));
        }
    }

    #[test]
    fn plates() {
        let (length, width) = (Real::from(600), Real::from(800));
        assert_eq!(
            plate_flatness(&length, &width, PlateGrade::Zero),
            Ok((Real::Exact(ratio(55, 10)), Real::from(1000)))
        );
        let finest = federal_plate_flatness(&length, &width, 1).unwrap();
        assert_eq!(finest, Real::Exact(ratio(26, 10)));
        assert_eq!(federal_plate_flatness(&length, &width, 3), Err(Fault::OutsideTable("the grade")));
        assert_eq!(ruled_plate_flatness(&Real::from(1000), "0"), Ok(Real::from(8)));
        assert_eq!(ruled_plate_flatness(&Real::from(1000), "A"), Err(Fault::OutsideTable("the grade")));
        assert!(matches!(
            plate_flatness(&length, &Real::zero(), PlateGrade::One),
            Err(Fault::NotPositive(_))
        ));
    }
}
