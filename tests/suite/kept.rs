//! Uncertainties that were worked out before: good again where nothing has changed, and nowhere else.

use std::rc::Rc;

use bedway::check::program::{Program, StepId};
use bedway::cli::load;
use bedway::walk::machine::Machine;
use bedway::walk::uncertainty::{Effort, Kept};
use bedway::walk::verdict::StepResults;
use bedway::walk::view::View;
use bedway::walk::{examples, judge};

/// Files of the corpus that state an uncertainty.
fn programs() -> Vec<(String, Rc<Program>)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
    files.sort();
    files.retain(|path| std::fs::read_to_string(path).is_ok_and(|text| text.contains("\n  uncertainty ")));
    let checked =
        |path: &std::path::PathBuf| (path.display().to_string(), load::load(path).unwrap().program.unwrap());
    let found: Vec<_> = files.iter().map(checked).collect();
    assert!(found.len() > 5);
    found
}

/// Every try of a walk, judged with what is kept.
fn judged(machine: &Machine, kept: &Kept) -> Vec<StepResults> {
    let program = machine.program();
    let tries = machine
        .state()
        .steps
        .iter()
        .enumerate()
        .flat_map(|(step, own)| (0..own.attempts.len()).map(move |attempt| (StepId(step), attempt)));
    let judge = |(step, attempt)| {
        let view = View::of(program, machine.state(), step, attempt);
        judge::judge(program, step, &view, Effort::Decided, kept)
    };
    tries.map(judge).collect()
}

/// The second time nothing is worked out, and what comes is what comes without anything kept. Examples of one file share
/// what is kept, so that each finds the figures of those before it.
#[test]
fn what_is_kept_is_what_would_be_worked_out_afresh() {
    for (name, program) in programs() {
        let shared = Kept::default();
        for example in &program.examples {
            let (machine, _) = examples::walk_one(&program, example);
            let first = judged(&machine, &shared);
            let count = shared.count();
            assert_eq!(judged(&machine, &shared), first, "{name}");
            assert_eq!(shared.count(), count, "{name}: something was worked out twice");
            assert_eq!(judged(&machine, &Kept::default()), first, "{name}: {}", example.title);
        }
    }
}
