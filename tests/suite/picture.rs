//! The picture in the README is what the program draws, and what the model of that walk says is held whole.

use bedway::cli::load;
use bedway::record::MemoryStore;
use bedway::report::{Labels, Report, build, figures};
use bedway::walk::machine::Machine;
use bedway::walk::replay;

use crate::walking::{lines, program, walk};

/// An invented bed: hump, worst window and the limits of both.
const BED: &str = r#"language  1
procedure "An invented bed"
decide    simple
instrument dial "Dial gauge"
  resolution  0.001 mm
  uncertainty fresh 0.0008 mm k 2
section one "One"
step BED "Straightness of the bed, vertical plane"
  read height in mm using dial
    over    place 0 mm to 1000 mm by 125 mm
    plus    "bed high"
    minus   "bed low"
  let form "Straightness of the bed" = ordinates(height over place by ends)
    plus    "hump"
    minus   "hollow"
  let peak "Greatest hump" = hump(height over place by ends)
  tolerance form convex allowance 0.001 mm
  tolerance peak at most 0.020 mm
  tolerance local "In any 250 mm" form at most 0.0075 mm in any 250 mm by spread
"#;

const READ: &str = "Ann Example\nD-1\n0 0.003 0.007 0.012 0.0145 0.0135 0.010 0.003 0\nyes\n";

fn walked() -> (Report, Machine) {
    let loaded = load::check("bed.bedway", BED.as_bytes());
    let store = MemoryStore::default();
    let screen = walk(&loaded, store.clone(), READ).screen;
    let program = program(&loaded);
    let lines = lines(&store);
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    let verified =
        replay::verify(program.clone(), events).unwrap_or_else(|fault| panic!("{fault}: {screen}"));
    let machine = verified.machine;
    assert!(lines.len() > 5, "{screen}");
    let report = build(&lines, &Labels::new(Some(&program)), Some(&machine));
    (report, machine)
}

/// `BEDWAY_NEW_SCREENS=1` writes it anew; look at it then.
#[test]
fn the_picture_in_the_readme_is_what_the_program_draws() {
    let (report, machine) = walked();
    let attempt = &report.steps[0].tries[0];
    let figure = figures::of_try(&machine, "BED", attempt).into_iter().next().expect("a drawing");
    let drawn = figure.drawing.alone(&figure.title, &figure.words);
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let place = "tests/snapshots/straightness.svg";
    if std::env::var_os("BEDWAY_NEW_SCREENS").is_some() {
        std::fs::write(root.join(place), &drawn).unwrap();
    }
    assert_eq!(std::fs::read_to_string(root.join(place)).unwrap(), drawn);
    assert!(drawn.len() < 8_000, "small enough for a README: {}", drawn.len());
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    assert!(readme.contains(place), "the README shows it");
    // What it shows is said in it, for those who do not see it.
    for words in ["hump at 500 mm", "In any 250 mm", "worst window"] {
        assert!(drawn.contains(words), "{words}: {drawn}");
    }
}

#[test]
fn the_model_of_a_walk() {
    let (report, _) = walked();
    // How uncertain a value is, is held elsewhere; its digits change with the number of draws.
    let mut model = serde_json::to_value(&report).unwrap();
    without_uncertainty(&mut model);
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!("report-model", serde_json::to_string_pretty(&model).unwrap()));
}

fn without_uncertainty(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Object(keys) => {
            keys.retain(|key, _| !["uncertainty", "U"].contains(&key.as_str()));
            keys.values_mut().for_each(without_uncertainty);
        }
        serde_json::Value::Array(items) => items.iter_mut().for_each(without_uncertainty),
        _ => {}
    }
}
