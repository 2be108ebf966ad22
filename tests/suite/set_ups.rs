//! What must not matter does not: through the language, the same piece set up otherwise (shifted, tilted, turned, its
//! stations listed the other way, typed in another unit) gives the same figures; no reference beats the minimum zone; what
//! a reversal is made of comes out of it; and twice the uncertainty stated is twice the uncertainty of the result.

use std::collections::BTreeMap;
use std::fmt::Display;
use std::rc::Rc;

use bedway::check::check;
use bedway::diagnostic::{Problem, render};
use bedway::syntax::parse_text;
use bedway::walk::event::{JudgedStep, ResultLine};
use bedway::walk::examples::walk_one;
use proptest::prelude::*;

/// Step A as judged after its one example.
fn judged(head: &str, step: &str, entries: &str) -> JudgedStep {
    let text =
        format!("language 1\nprocedure \"Trial\"\ndecide {head}\n{step}\nexample \"one\"\n{entries}\n");
    let parsed = parse_text("trial.bedway", text);
    let checked = check(&parsed);
    let shown = |problems: &[Problem]| render(&parsed.source, problems, 100, false);
    let program = Rc::new(checked.program.unwrap_or_else(|| panic!("{}", shown(&checked.problems))));
    let (machine, problems) = walk_one(&program, &program.examples[0]);
    assert!(problems.is_empty(), "{}", shown(&problems));
    machine.state().steps[0].attempts.last().unwrap().recorded.clone().unwrap()
}

/// Its results by name.
fn results(step: &str, entries: &str) -> BTreeMap<String, ResultLine> {
    let results = judged("simple", step, entries).results;
    results.into_iter().map(|result| (result.name.clone(), result)).collect()
}

fn figure(results: &BTreeMap<String, ResultLine>, name: &str) -> f64 {
    let text = &results[name].values[0];
    let (above, below) = text.split_once('/').unwrap_or((text, "1"));
    above.parse::<f64>().unwrap_or_else(|_| panic!("{name}: {text}")) / below.parse::<f64>().unwrap()
}

fn joined<T: Display>(list: impl IntoIterator<Item = T>, unit: &str) -> String {
    list.into_iter().map(|value| format!("{value}{unit}")).collect::<Vec<_>>().join(", ")
}

const LINE: &str = "
  let ends \"Ends\" = straightness(x over place by ends) in um
  let squares \"Squares\" = straightness(x over place by least_squares) in um
  let zone \"Zone\" = straightness(x over place by minimum_zone) in um
  let hump_ \"Hump\" = hump(x over place by ends) in um
  tolerance ends at most 1 m
  report squares
  report zone
  report hump_";

/// Stations in mm and heights in um, each typed with its unit, at a reading in some other.
fn line(places: &[i64], heights: &[i64], unit: &str) -> BTreeMap<String, ResultLine> {
    let places = joined(places, " mm");
    let step = format!(
        "step A \"A\"\n  read x in {unit}\n    over place {places}\n    plus \"high\"\n    minus \"low\"\n    usual from -9 m to 9 m{LINE}"
    );
    results(&step, &format!("  enter A.x = {}", joined(heights, " um")))
}

const PLANE: &str = "
  let squares \"Squares\" = flatness(x over a and b by least_squares) in um
  let zone \"Zone\" = flatness(x over a and b by minimum_zone) in um
  tolerance zone at most 1 m
  report squares";

fn plane(rows: &[Vec<i64>], first: &str, second: &str) -> BTreeMap<String, ResultLine> {
    let step = format!(
        "step A \"A\"\n  read x in um\n    over {first}\n    over {second}\n    plus \"high\"\n    minus \"low\"\n    usual from -9 m to 9 m{PLANE}"
    );
    let rows: Vec<String> = rows.iter().map(|row| joined(row, "")).collect();
    results(&step, &format!("  enter A.x = {}", rows.join("; ")))
}

const WAYS: [&str; 4] = ["minimum_zone", "least_squares", "inscribed", "circumscribed"];

fn circle(angles: &[i64], readings: &[i64]) -> BTreeMap<String, ResultLine> {
    let lets: Vec<String> = WAYS
        .iter()
        .map(|way| format!("  let {way}_ \"Way\" = roundness(x over turn by {way})\n  report {way}_\n"))
        .collect();
    let step = format!(
        "step A \"A\"\n  read x in um\n    over turn {}\n    plus \"out\"\n    minus \"in\"\n    usual from -9 m to 9 m\n{}  tolerance minimum_zone_ at most 1 m",
        joined(angles, " deg"),
        lets.concat().replace("  report minimum_zone_\n", "")
    );
    results(&step, &format!("  enter A.x = {}", joined(readings, "")))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_line_is_as_straight_however_it_is_set_up(heights in prop::collection::vec(-60i64..60, 6), tilt in -9i64..9, shift in -99i64..99) {
        let places = [0, 40, 100, 150, 230, 300];
        let plain = line(&places, &heights, "um");
        prop_assert!(figure(&plain, "zone") <= figure(&plain, "ends"));
        prop_assert!(figure(&plain, "zone") <= figure(&plain, "squares"));
        let moved: Vec<i64> = heights.iter().zip(places).map(|(height, place)| height + tilt * place + shift).collect();
        let backward: Vec<i64> = heights.iter().rev().copied().collect();
        let from_the_end: Vec<i64> = places.iter().rev().copied().collect();
        for (other, said) in [
            (line(&places, &moved, "um"), "shifted and tilted"),
            (line(&from_the_end, &backward, "um"), "stations from the other end"),
            (line(&places, &heights, "mm"), "read in mm"),
            (line(&places, &heights, "thou"), "read in thou"),
        ] {
            prop_assert_eq!(&other, &plain, "{}", said);
        }
    }

    #[test]
    fn a_surface_is_as_flat_however_it_is_set_up(heights in prop::collection::vec(-60i64..60, 12), tilt in -9i64..9, shift in -99i64..99) {
        let (along, across) = ("a 0 mm, 100 mm, 250 mm, 300 mm", "b 0 mm, 80 mm, 200 mm");
        let rows: Vec<Vec<i64>> = heights.chunks(3).map(<[i64]>::to_vec).collect();
        let plain = plane(&rows, along, across);
        prop_assert!(figure(&plain, "zone") <= figure(&plain, "squares"));
        let places = [0, 100, 250, 300];
        let moved: Vec<Vec<i64>> =
            rows.iter().zip(places).map(|(row, place)| row.iter().map(|height| height + tilt * place + shift).collect()).collect();
        let turned: Vec<Vec<i64>> = (0..3).map(|column| rows.iter().map(|row| row[column]).collect()).collect();
        let backward: Vec<Vec<i64>> = rows.iter().rev().cloned().collect();
        for (other, said) in [
            (plane(&moved, along, across), "shifted and tilted"),
            (plane(&turned, across, along), "a quarter turned"),
            (plane(&backward, "a 300 mm, 250 mm, 100 mm, 0 mm", across), "rows from the other end"),
        ] {
            prop_assert_eq!(&other, &plain, "{}", said);
        }
    }

    #[test]
    fn a_circle_is_as_round_however_it_is_set_up(readings in prop::collection::vec(-60i64..60, 8), turn in 1i64..350, shift in -99i64..99) {
        let angles = [0, 40, 95, 130, 180, 230, 275, 320];
        let plain = circle(&angles, &readings);
        let moved: Vec<i64> = readings.iter().map(|reading| reading + shift).collect();
        let turned: Vec<i64> = angles.iter().map(|angle| angle + turn).collect();
        let backward: (Vec<i64>, Vec<i64>) = (angles.iter().rev().copied().collect(), readings.iter().rev().copied().collect());
        for other in [circle(&angles, &moved), circle(&turned, &readings), circle(&backward.0, &backward.1)] {
            for way in WAYS.map(|way| format!("{way}_")) {
                prop_assert!((figure(&other, &way) - figure(&plain, &way)).abs() < 1e-4, "{way}");
                prop_assert!(figure(&plain, "minimum_zone_") <= figure(&plain, &way) + 1e-4, "{way}");
            }
        }
    }

    /// The bar goes round with the spindle, the straightedge and the square are turned over, the level end for end: each is
    /// taken apart at two places into the machine and itself.
    #[test]
    fn a_reversal_gives_back_what_went_into_it(machine in prop::collection::vec(-99i64..99, 2), artefact in prop::collection::vec(-99i64..99, 2)) {
        for (way, sense, turns) in [
            ("0 deg, 180 deg", "stays with the machine", false),
            ("as_marked, turned_over", "stays with the slide", false),
            ("first_side, other_side", "stays with the axis", false),
            ("front, rear", "turns with the level", true),
        ] {
            let signs = "\n    plus \"to the front\"\n    minus \"to the rear\"";
            let step = format!(
                "step A \"A\"\n  read x in mm/m\n    over place 0 mm, 300 mm\n    over way {way}\n    plus \"marked end high\"\n    minus \"plain end high\"\n    usual from -1 to 1\n    sense {sense}\n  \
                 let machine_ \"Machine\" = machine(x over way) in um/m{signs}\n  let artefact_ \"Artefact\" = artefact(x over way) in um/m{signs}\n  tolerance every machine_ within 1\n  report artefact_"
            );
            let rows = machine.iter().zip(&artefact).map(|(machine, artefact)| {
                let second = if turns { artefact - machine } else { machine - artefact };
                format!("{} um/m, {second} um/m", machine + artefact)
            });
            let found = results(&step, &format!("  enter A.x = {}", rows.collect::<Vec<_>>().join("; ")));
            let texts = |list: &[i64]| list.iter().map(ToString::to_string).collect::<Vec<_>>();
            prop_assert_eq!(&found["machine_"].values, &texts(&machine), "{}", sense);
            prop_assert_eq!(&found["artefact_"].values, &texts(&artefact), "{}", sense);
        }
    }

    /// Of a result that is linear, and of one that bends where it is read.
    #[test]
    fn twice_the_uncertainty_in_is_twice_out_whatever_the_unit(readings in prop::collection::vec(-40i64..40, 4), tenths in 1i64..30) {
        let found = |tenths: i64, unit: &str| {
            let u = format!("{}.{} um", tenths / 10, tenths % 10);
            let layout = "using dial\n    over place 0 mm, 50 mm, 200 mm, 300 mm\n    plus \"high\"\n    minus \"low\"\n    usual from -9 m to 9 m";
            let step = format!(
                "instrument dial \"Dial\"\n  uncertainty fresh {u} k 2\nstep A \"A\"\n  read x in {unit} {layout}\n  read flat in {unit} {layout}\n  \
                 let rise \"Rise\" = gain(x over place) in um\n  let form \"Form\" = straightness(flat over place by least_squares) in um\n  \
                 tolerance rise within 1 m\n  tolerance form at most 1 m"
            );
            let entries = format!("  enter A.x = {}\n  enter A.flat = 0, 0, 0, 0", joined(&readings, " um"));
            let rules = judged("guarded U", &step, &entries).rules;
            let u = |at: usize| rules[at].uncertainty.as_ref().unwrap().expanded.parse::<f64>().unwrap();
            (u(0), u(1))
        };
        let (one, two, inches) = (found(tenths, "um"), found(2 * tenths, "um"), found(tenths, "thou"));
        // By propagation, U of a difference of two readings: the root of two times that of one.
        let stated = tenths as f64 / 10.0;
        prop_assert!((one.0 - stated * std::f64::consts::SQRT_2).abs() <= 1e-5 * one.0, "{one:?}");
        // By draws, whose number hangs on the first digit of u, to a few parts in a hundred.
        for (found, wanted, part) in
            [(two.0, 2.0 * one.0, 1e-5), (two.1, 2.0 * one.1, 0.05), (inches.0, one.0, 1e-5), (inches.1, one.1, 0.05)]
        {
            prop_assert!((found - wanted).abs() <= part * wanted, "{one:?} {two:?} {inches:?}");
        }
    }
}
