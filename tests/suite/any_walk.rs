//! Whole walks through the machine, without a file: whatever is typed, what is on the record is enough to go on from
//! and to judge again, and nothing locks a walk for good.

use std::rc::Rc;

use bedway::check;
use bedway::check::program::Program;
use bedway::syntax;
use bedway::walk::event::{Event, FORMAT};
use bedway::walk::machine::Machine;
use bedway::walk::question::Expects;
use bedway::walk::replay;
use proptest::prelude::*;

const TIME: &str = "2026-03-02T09:14:07+01:00";

pub fn program(text: &str) -> Rc<Program> {
    let parsed = syntax::parse_text("walked.bedway", text);
    let checked = check::check(&parsed);
    Rc::new(checked.program.unwrap_or_else(|| panic!("{:#?}", checked.problems)))
}

fn corpus() -> Vec<(String, Rc<Program>)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let name = |path: &std::path::Path| path.file_name().unwrap().to_string_lossy().into_owned();
    files.iter().map(|path| (name(path), program(&std::fs::read_to_string(path).unwrap()))).collect()
}

fn opened(program: &Program) -> Event {
    Event::Opened {
        format: FORMAT,
        language: 1,
        program: "test".to_owned(),
        rehearsal: false,
        title: program.title.clone(),
        files: Vec::new(),
        previous: None,
        parties: Vec::new(),
    }
}

fn begun(program: &Rc<Program>) -> (Machine, Vec<Event>) {
    let mut machine = Machine::new(Rc::clone(program));
    machine.set_time(TIME);
    let reply = machine.open(opened(program));
    (machine, reply.events)
}

/// Types a line; what is refused leaves no event behind.
fn type_line(machine: &mut Machine, events: &mut Vec<Event>, line: &str) -> bool {
    match machine.answer(line) {
        Ok(reply) => {
            events.extend(reply.events);
            true
        }
        Err(refusal) => {
            assert!(!refusal.message.is_empty());
            false
        }
    }
}

/// A line that answers the question that stands, so that a walk gets on.
fn fitting(machine: &Machine, choice: u32) -> String {
    match machine.question().expects {
        Expects::Number { .. } => {
            ["0", "0.01", "-0.01", "1", "25", "100", "300", "0.5"][choice as usize % 8].to_owned()
        }
        Expects::Count => (choice % 4).to_string(),
        Expects::Words(words) => words[choice as usize % words.len()].clone(),
        Expects::YesNo => if choice.is_multiple_of(5) { "no" } else { "yes" }.to_owned(),
        Expects::Date => "2026-05-01".to_owned(),
        Expects::Photo => String::new(),
        Expects::Defects if choice.is_multiple_of(2) => "done".to_owned(),
        Expects::Text | Expects::Defects | Expects::Name => format!("text {choice}"),
        Expects::List => "one, two, three".to_owned(),
        Expects::TakeOrRetype => "yes".to_owned(),
        Expects::AfterStep | Expects::Wait { .. } | Expects::Nothing => String::new(),
    }
}

#[derive(Clone, Debug)]
enum Move {
    Fitting(u32),
    Line(String),
    Command(&'static str, usize),
}

fn moves() -> impl Strategy<Value = Vec<Move>> {
    let commands = prop::sample::select(vec![
        "back",
        "again",
        "again STEP",
        "adjust",
        "remeasure",
        "skip \"away\"",
        "skip STEP \"away\"",
        "waive STEP \"agreed\" by owner",
        "stop \"knocking\"",
        "altered STEP \"bolts\"",
        "defect \"crack\"",
        "mended 1 \"welded\"",
        "note \"oil low\"",
        "keep \"sure\"",
        "nothing",
        "yes",
        "no",
        "",
        "accepted 1 \"cosmetic\" by owner",
    ]);
    let one = prop_oneof![
        6 => any::<u32>().prop_map(Move::Fitting),
        1 => "[ -~]{0,20}".prop_map(Move::Line),
        2 => (commands, any::<prop::sample::Index>()).prop_map(|(words, at)| Move::Command(words, at.index(64))),
    ];
    prop::collection::vec(one, 0..120)
}

fn line_of(machine: &Machine, it: &Move) -> String {
    match it {
        Move::Fitting(choice) => fitting(machine, *choice),
        Move::Line(line) => line.clone(),
        Move::Command(words, at) => {
            let steps = &machine.program().steps;
            let words = words.replace("STEP", &steps[at % steps.len().max(1)].name);
            if machine.question().expects.is_text() { format!(":{words}") } else { words }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    /// A walk that is broken off anywhere goes on from its record as if it had not been: the same question stands,
    /// with the same lists, nothing is due, and every verdict follows from the entries.
    #[test]
    fn any_walk_can_be_taken_up_and_judged_again(moves in moves()) {
        for (file, program) in corpus() {
            let (mut machine, mut events) = begun(&program);
            for it in &moves {
                let line = line_of(&machine, it);
                type_line(&mut machine, &mut events, &line);
            }
            let times = events.iter().map(|event| (TIME, event));
            let taken_up = replay::replay(Rc::clone(&program), times);
            prop_assert!(taken_up.is_ok(), "{file}: {:?}", taken_up.err());
            let (again, due) = taken_up.unwrap();
            prop_assert!(due.events.is_empty(), "{file}: still due: {:?}", due.events);
            prop_assert_eq!(again.status(), machine.status(), "{}", file);
        }
    }

    /// From wherever a walk has got to, answering what is asked, repeating what is stale and leaving out or waiving
    /// what does not pass leads to its end: a walk can never lock itself.
    #[test]
    fn no_walk_locks_itself(moves in moves()) {
        for (file, program) in corpus() {
            let (mut machine, mut events) = begun(&program);
            for it in &moves {
                let line = line_of(&machine, it);
                type_line(&mut machine, &mut events, &line);
            }
            let mut turns = 0;
            while machine.question().expects != Expects::Nothing {
                // Twice the same in a row: two questions in turn get every answer, not each its half of them.
                let line = fitting(&machine, turns / 2 * 7 + 1);
                if !type_line(&mut machine, &mut events, &line) || matches!(machine.question().expects, Expects::Photo) {
                    // What cannot be answered is left out, or gone back from where any text is an answer.
                    let is_text = machine.question().expects.is_text();
                    let words = if is_text { [":skip \"left out\"", ":back"] } else { ["skip \"left out\"", ""] };
                    let _ = words.iter().any(|words| type_line(&mut machine, &mut events, words));
                }
                turns += 1;
                prop_assert!(turns < 2000, "{}: {:?} never ends", file, machine.question());
            }
        }
    }
}
