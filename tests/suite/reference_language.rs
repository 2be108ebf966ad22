//! Evaluations through the language, against answers from outside the project (see `reference`): a step with its readings as
//! a procedure says them, entered as they are at the bench, and each figure as it stands on the record.

use std::rc::Rc;

use bedway::check::check;
use bedway::quantity::{Real, parse_exact};
use bedway::syntax::parse_text;
use bedway::walk::event::JudgedStep;
use bedway::walk::examples;

use crate::reference_case::{Case, each};

/// A result, with words for its sign where `check` asks for them.
fn result(at: usize, value: &str, words: bool) -> String {
    let words = if words { "\n    plus \"more\"\n    minus \"less\"" } else { "" };
    format!("  let r{at} \"R\" = {value}{words}\n  report r{at}\n")
}

/// The procedure of a case. What is expected of a `rule` is the value that it judges, of all else that of the expression.
fn procedure(case: &Case, words: &[bool]) -> String {
    let indented = |lines: &str| lines.lines().map(|line| format!("  {line}\n")).collect::<String>();
    let head = if case.has("head") { case.text("head") } else { "" };
    let mut text = format!(
        "language 1\nprocedure \"Trial\"\ndecide simple\n{head}\nsection one \"One\"\nstep A \"A\"\n"
    );
    text += &indented(case.text("step"));
    for (at, (value, words)) in case.expect.keys().zip(words).enumerate() {
        text += &match value.strip_prefix("rule ") {
            Some(rule) => format!("  tolerance r{at} \"R\" {rule}\n"),
            None => result(at, value, *words),
        };
    }
    text + "example \"one\"\n" + &indented(case.text("example"))
}

fn faults(text: &str) -> Vec<String> {
    let checked = check(&parse_text("trial.bedway", text));
    checked.problems.iter().filter(|problem| problem.is_fault()).map(|fault| fault.message.clone()).collect()
}

fn judged(case: &Case) -> JudgedStep {
    let mut words = vec![false; case.expect.len()];
    for at in 0..words.len() {
        let before = faults(&procedure(case, &words)).len();
        words[at] = true;
        if faults(&procedure(case, &words)).len() >= before {
            words[at] = false;
        }
    }
    let text = procedure(case, &words);
    assert_eq!(faults(&text), Vec::<String>::new(), "{}:\n{text}", case.case);
    let program = Rc::new(check(&parse_text("trial.bedway", text)).program.unwrap());
    let (machine, problems) = examples::walk_one(&program, &program.examples[0]);
    let refused: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(refused, Vec::<&str>::new(), "{}", case.case);
    machine.state().steps[0].attempts.last().unwrap().recorded.clone().expect("every value is read")
}

#[test]
fn figures_on_the_record() {
    each("language.json", |case| {
        let judged = judged(case);
        for (at, value) in case.expect.keys().enumerate() {
            let name = format!("r{at}");
            let texts: Vec<String> = if value.starts_with("rule ") {
                let rule = judged.rules.iter().find(|rule| *rule.name == *name).unwrap();
                vec![rule.value.as_ref().unwrap().to_string()]
            } else {
                let result = judged.results.iter().find(|result| *result.name == *name).unwrap();
                result.values.iter().map(ToString::to_string).collect()
            };
            // The lines of a survey are not all equally long.
            let there = texts.iter().filter(|text| *text != "not applicable");
            let number = |text: &String| {
                Real::Exact(parse_exact(text).unwrap_or_else(|| panic!("{}: {value}: {text}", case.case)))
            };
            case.is(value, &there.map(number).collect::<Vec<_>>());
        }
    });
}
