//! Whole walks through the machine, without a file: whatever is typed, what is on the record is enough to go on from
//! and to judge again, and nothing locks a walk for good.

use std::rc::Rc;

use bedway::check;
use bedway::check::program::{Kit, Program, Role, Stations};
use bedway::cli::clock::{Clock, TestClock};
use bedway::record::signature::{OsRng, SigningKey, Statement, check_signatures, sign_record};
use bedway::record::{MemoryStore, Writer, read};
use bedway::syntax;
use bedway::walk::event::{Event, How};
use bedway::walk::machine::Machine;
use bedway::walk::question::Expects;
use bedway::walk::replay::{self, Replayed};
use proptest::prelude::*;

use crate::any_input::cases;
use crate::opened::opened;

/// A walk by a made-up clock that goes on a minute at each look, with what it wrote down and when.
pub struct Walk {
    pub machine: Machine,
    pub events: Vec<(String, Event)>,
    pub clock: TestClock,
}

pub fn program(text: &str) -> Rc<Program> {
    let parsed = syntax::parse_text("walked.bedway", text);
    let checked = check::check(&parsed);
    Rc::new(checked.program.unwrap_or_else(|| panic!("{:#?}", checked.problems)))
}

/// Checked once for all the walks of a test.
fn corpus() -> Rc<Vec<(String, Rc<Program>)>> {
    thread_local!(static CORPUS: Rc<Vec<(String, Rc<Program>)>> = Rc::new(read_corpus()));
    CORPUS.with(Rc::clone)
}

fn read_corpus() -> Vec<(String, Rc<Program>)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let name = |path: &std::path::Path| path.file_name().unwrap().to_string_lossy().into_owned();
    files.retain(|path| path.is_file());
    let checked = |path: &std::path::PathBuf| bedway::cli::load::load(path).unwrap().program.unwrap();
    files.iter().map(|path| (name(path), checked(path))).collect()
}

/// With two of each instrument in the drawer, one of them past its date, and perhaps the record of a walk before.
pub fn begun(program: &Rc<Program>, how: How, before: Option<&Machine>) -> Walk {
    let clock = TestClock::new();
    let mut machine = Machine::new(Rc::clone(program));
    machine.entries_come(how);
    machine.bring(drawer(program));
    let time = clock.stamp();
    machine.set_time(&time);
    let mut events = machine.open(opened(&program.title)).events;
    if let Some(before) = before {
        events.extend(machine.take_over(before, "the walk before").events);
    }
    let events = events.into_iter().map(|event| (time.clone(), event)).collect();
    Walk { machine, events, clock }
}

fn drawer(program: &Program) -> Rc<Kit> {
    let mut text = "language 1\nkit \"Drawer\"\n".to_owned();
    for (at, instrument) in program.instruments.iter().enumerate() {
        for (letter, until) in [("A", "2020-01-01"), ("B", "2030-01-01")] {
            let name = &instrument.name;
            text.push_str(&format!("gauge \"{letter}-{at}\" is {name}\n  calibrated until {until}\n"));
        }
    }
    Rc::new(check::check(&syntax::parse_text("drawer.bedway", text)).kit.unwrap_or_default())
}

/// The digest of any picture that is named.
const PICTURE: &str = "0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f";

/// Types a line; what is refused leaves no event behind.
pub fn type_line(walk: &mut Walk, line: &str) -> bool {
    let time = walk.clock.stamp();
    walk.machine.set_time(&time);
    let is_file = !line.is_empty() && !line.starts_with([':', ' ']) && !line.starts_with("not read");
    let answered = match walk.machine.photo_named(line) {
        Some(_) => walk.machine.answer_with_photo(line, PICTURE),
        None if is_file && walk.machine.question().expects == Expects::Photo => {
            walk.machine.photo(line, PICTURE)
        }
        None => walk.machine.answer(line),
    };
    match answered {
        Ok(reply) => {
            walk.events.extend(reply.events.into_iter().map(|event| (time.clone(), event)));
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
        Expects::Photo => "plate.jpg".to_owned(),
        Expects::Defects if choice.is_multiple_of(2) => "done".to_owned(),
        Expects::Text | Expects::Defects => format!("text {choice}"),
        Expects::Name => format!("Ann {}", ["Example", "Other", "Third"][choice as usize % 3]),
        Expects::List => "one, two, three".to_owned(),
        Expects::Time => {
            let times = [
                "2026-03-01 09:00, Bo Example",
                "",
                "10 min 25",
                "2026-03-01 08:00 2026-03-01 18:00",
                "20 min",
                "done",
            ];
            times[choice as usize % times.len()].to_owned()
        }
        Expects::TakeOrRetype => "yes".to_owned(),
        Expects::AfterStep | Expects::Wait { .. } | Expects::Nothing => String::new(),
    }
}

#[derive(Clone, Debug)]
pub enum Move {
    Fitting(u32),
    Line(String),
    Command(&'static str, usize),
    /// Left, and taken up again from what is on the record; perhaps with the temperature of the room.
    Leave(bool),
    /// Closed with its verdict, if that may be.
    Close,
}

/// At the machine, or from a sheet of paper.
pub fn hows() -> impl Strategy<Value = How> {
    prop::sample::select(vec![How::Typed, How::Sheet])
}

pub fn moves() -> impl Strategy<Value = Vec<Move>> {
    let commands = prop::sample::select(vec![
        "back",
        "again",
        "again STEP",
        "take STEP",
        "adjust",
        "remeasure",
        "skip \"away\"",
        "skip STEP \"away\"",
        "waive STEP \"agreed\" by owner",
        "stop \"knocking\"",
        "altered STEP \"bolts\"",
        "defect \"crack\"",
        "defect \"crack\" photo \"crack.jpg\"",
        "crack photo crack.jpg",
        "adjust torque 25 Nm",
        "altered STEP \"bolts\" at \"the rear\" moved 0.1 mm toward \"the wall\" torque 25 Nm by \"Bo\"",
        "list LISTED = \"one\", \"two\", \"three\", \"four\"",
        "reopen forgotten",
        "reopen",
        "mended 1 \"welded\"",
        "note \"oil low\"",
        "keep \"sure\"",
        "nothing",
        "yes",
        "no",
        "",
        "accepted 1 \"cosmetic\" by owner",
        "adjust MOVED = 0.02",
        "adjust MOVED = -0.02 torque 25 Nm",
        "correct MOVED = 0.01 heard wrong",
        "correct move 1 = 0.01 because misheard",
        "correct move 2 = never",
        "correct move 1 never",
        "correct move 1 which MOVED",
        "correct move 1 torque = 30 Nm",
        "correct move 1 by Cem",
        "correct move 1 at = rear",
        "correct move 1",
        "correct move 2 = bolts turned back",
        "correct note 1 oil full",
        "correct defect 1 = \"scratch\" \"no crack\"",
        "correct defect 1 photo = \"rear.jpg\"",
        "correct mended 1 brazed",
        "correct accepted 1 by = \"Dee\"",
        "correct skip 1 stolen",
        "correct waive 1 by = \"Dee\"",
        "correct stop 1 smoke",
        "correct break 1 fell over",
        "correct keep 1 \"seen twice\"",
        "correct held 1 Dee",
        "correct by 1 Dee",
        "correct person 1 Dee",
        "correct reopen 1 asked for",
        "correct instrument 1 A-1 misread",
        "correct instrument 1 = B-7, 2026-12-31 because misread",
        "correct instrument 2 calibrated until 2025-12-31 misread",
        "correct correction 1 heard wrong",
        "correct room 1 = 18.5 misheard",
        "correct READING not read a burr",
        "using",
        "using dial",
        "using A-0",
        "1",
        "break knocked",
        "break READING \"knocked\"",
        "break knocked zero intact",
        "break READING \"knocked\" from the start",
        "rejoin READING at place 0 mm, 50 mm = 0.001, 0.001",
        "rejoin READING at place 50 mm, 100 mm = 0.01, 0.01",
    ]);
    let one = prop_oneof![
        6 => any::<u32>().prop_map(Move::Fitting),
        1 => "[ -~]{0,20}".prop_map(Move::Line),
        1 => any::<bool>().prop_map(Move::Leave),
        1 => Just(Move::Close),
        3 => (commands, any::<prop::sample::Index>()).prop_map(|(words, at)| Move::Command(words, at.index(64))),
    ];
    prop::collection::vec(one, 0..120)
}

pub fn line_of(machine: &Machine, it: &Move) -> String {
    match it {
        Move::Fitting(choice) => fitting(machine, *choice),
        Move::Line(line) => line.clone(),
        Move::Command(words, at) => {
            let steps = &machine.program().steps;
            let words = words.replace("STEP", &steps[at % steps.len().max(1)].name);
            let program = machine.program();
            let listed = program.axes.iter().find(|axis| matches!(axis.stations, Stations::Listed { .. }));
            let over = listed.and_then(|axis| {
                let is_over = |id: &bedway::check::program::AxisId| program.axes[id.0].name == axis.name;
                let step = program.values.iter().find(|it| it.axes.iter().any(is_over))?.step?;
                Some(format!("{}.{}", program.steps[step.0].name, axis.name))
            });
            let words = words.replace("LISTED", &over.unwrap_or_default());
            let readings =
                machine.program().values.iter().filter(|value| matches!(value.role, Role::Reading(_)));
            let readings: Vec<_> = readings.filter_map(|value| Some((value.step?, &value.name))).collect();
            let moved = program.values.iter().filter(|value| matches!(value.role, Role::Adjustment { .. }));
            let moved: Vec<_> = moved.filter_map(|value| Some((value.step?, &value.name))).collect();
            let words = match moved.get(at % moved.len().max(1)) {
                Some((step, name)) => words.replace("MOVED", &format!("{}.{name}", steps[step.0].name)),
                None => words,
            };
            let words = match readings.get(at % readings.len().max(1)) {
                Some((step, name)) => words.replace("READING", &format!("{}.{name}", steps[step.0].name)),
                None => words,
            };
            if machine.question().expects.is_text() { format!(":{words}") } else { words }
        }
        Move::Leave(_) | Move::Close => String::new(),
    }
}

pub fn make(walk: &mut Walk, it: &Move, how: How) {
    match it {
        Move::Leave(measured) => leave(walk, *measured, how),
        Move::Close => close(walk),
        _ => {
            let line = line_of(&walk.machine, it);
            type_line(walk, &line);
        }
    }
}

fn close(walk: &mut Walk) {
    let time = walk.clock.stamp();
    walk.machine.set_time(&time);
    if let Ok(reply) = walk.machine.close() {
        walk.events.extend(reply.events.into_iter().map(|event| (time.clone(), event)));
    }
}

/// Answers what is asked until nothing is, and leaves out what cannot be answered; false if there is no end to it.
fn answer_all(walk: &mut Walk) -> bool {
    for turn in 0..2000 {
        if walk.machine.question().expects == Expects::Nothing {
            return true;
        }
        // Twice the same in a row: two questions in turn get every answer, not each its half of them.
        let line = fitting(&walk.machine, turn / 2 * 7 + 1);
        if !type_line(walk, &line) {
            // What cannot be answered is left out, or gone back from where any text is an answer.
            let is_text = walk.machine.question().expects.is_text();
            let words =
                if is_text { [":skip \"left out\"", "", ":back"] } else { ["skip \"left out\"", "", ""] };
            let _ = words.iter().any(|words| type_line(walk, words));
        }
    }
    false
}

/// Finishes what is open, takes again what is stale, has a party accept what does not pass, and closes.
fn bring_to_its_end(walk: &mut Walk) {
    type_line(walk, "reopen \"it is not over\"");
    answer_all(walk);
    let names: Vec<String> = walk.machine.program().steps.iter().map(|step| step.name.clone()).collect();
    let party = walk.machine.program().parties.first().map(|party| party.name.clone()).unwrap_or_default();
    for name in &names {
        type_line(walk, &format!("skip {name} \"left out\""));
        type_line(walk, &format!("waive {name} \"agreed\" by {party}"));
        type_line(walk, "Bo Example");
        if walk.machine.standing().stale().iter().any(|stale| stale.starts_with(&format!("{name} "))) {
            type_line(walk, &format!("altered {name} \"seen to\""));
            type_line(walk, &format!("again {name}"));
            answer_all(walk);
        }
    }
    close(walk);
}

fn leave(walk: &mut Walk, measured: bool, how: How) {
    let room = |walk: &Walk| measured.then(|| walk.machine.temperature("19.5").unwrap());
    let time = walk.clock.stamp();
    walk.machine.set_time(&time);
    let reply = walk.machine.paused("asked for", room(walk));
    walk.events.extend(reply.events.into_iter().map(|event| (time.clone(), event)));
    let program = Rc::new(walk.machine.program().clone());
    let times = walk.events.iter().map(|(time, event)| (time.as_str(), event));
    let Replayed { machine, due, otherwise } = replay::replay(program, times).unwrap();
    assert!(otherwise.is_empty(), "in other words: {otherwise:?}");
    assert!(due.events.is_empty(), "still due: {:?}", due.events);
    walk.machine = machine;
    walk.machine.entries_come(how);
    let time = walk.clock.stamp();
    walk.machine.set_time(&time);
    let reply = walk.machine.resumed(None, None, room(walk));
    walk.events.extend(reply.events.into_iter().map(|event| (time.clone(), event)));
}

fn play(walk: &mut Walk, moves: &[Move], how: How) {
    for it in moves {
        make(walk, it, how);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(15), failure_persistence: None, ..ProptestConfig::default() })]

    /// A walk that is broken off anywhere goes on from its record as if it had not been: the same question stands,
    /// with the same lists, nothing is due, and every verdict follows from the entries.
    #[test]
    fn any_walk_can_be_taken_up_and_judged_again(moves in moves(), how in hows()) {
        for (file, program) in corpus().iter() {
            let mut walk = begun(program, how, None);
            play(&mut walk, &moves, how);
            // The same once more, with what the first walk left.
            let mut walk = begun(program, how, Some(&walk.machine));
            play(&mut walk, &moves, how);
            let times = walk.events.iter().map(|(time, event)| (time.as_str(), event));
            let taken_up = replay::replay(Rc::clone(program), times);
            prop_assert!(taken_up.is_ok(), "{file}: {:?}", taken_up.err());
            let Replayed { machine: mut again, due, .. } = taken_up.unwrap();
            // What goes on by the clock is said by the time it is.
            let now = walk.clock.stamp();
            again.set_time(&now);
            walk.machine.set_time(&now);
            prop_assert!(due.events.is_empty(), "{file}: still due: {:?}", due.events);
            // Whether it is typed in from a sheet, which no clock drives, is said anew when it is taken up.
            again.entries_come(how);
            prop_assert_eq!(again.status(), walk.machine.status(), "{}", file);
        }
    }

    /// What any walk gives can stand on a record; once it is closed it can be signed, and amended behind that, and all
    /// of it is proved.
    #[test]
    fn any_walk_can_be_closed_signed_and_amended(
        moves in moves(),
        how in hows(),
        at in any::<prop::sample::Index>(),
    ) {
        let corpus = corpus();
        let (file, program) = at.get(&corpus);
        let mut walk = begun(program, how, None);
        play(&mut walk, &moves, how);
        if walk.machine.state().closed.is_none() {
            bring_to_its_end(&mut walk);
        }
        prop_assert!(walk.machine.state().closed.is_some(), "{file}: {:?}", walk.machine.status());
        let store = MemoryStore::default();
        let mut writer = Writer::begin(store.clone()).unwrap();
        for (time, event) in &walk.events {
            writer.append(time, "operator", event.clone()).unwrap();
        }
        let folder = tempfile::tempdir().unwrap();
        let key = SigningKey::make(&folder.path().join("key"), "Ann", None, &mut OsRng).unwrap();
        let time = walk.clock.stamp();
        let status = walk.machine.status();
        let said = || Statement {
            party: "operator".into(),
            name: "Ann Example".into(),
            verdict: status.verdict.words().into(),
            exceptions: status.exceptions.clone(),
        };
        sign_record(&mut writer, &key, &time, "operator", "ann", said()).unwrap();
        writer.append(&time, "operator", Event::Amended { text: "a nameplate was found".into(), name: None }).unwrap();
        sign_record(&mut writer, &key, &time, "operator", "ann", said()).unwrap();
        let record = read(&store.bytes()).map_err(|it| it.damage.to_string());
        prop_assert!(record.is_ok(), "{file}: {:?}", record.err());
        let record = record.unwrap();
        let times = record.lines.iter().map(|line| (line.time.as_str(), &line.event));
        let proved = replay::verify(Rc::clone(program), times);
        prop_assert!(proved.is_ok(), "{file}: {:?}", proved.err());
        let signatures = check_signatures(&store.bytes(), &record, None);
        prop_assert!(signatures.findings.iter().all(|it| it.standing.fits()), "{file}: {signatures:?}");
        prop_assert!(signatures.contradictions.is_empty(), "{file}: {:?}", signatures.contradictions);
        prop_assert!(signatures.amending.unsigned.is_empty() && signatures.uncovered.is_none());
    }

    /// From wherever a walk has got to, answering what is asked, repeating what is stale and leaving out or waiving
    /// what does not pass leads to its end: a walk can never lock itself.
    #[test]
    fn no_walk_locks_itself(moves in moves(), how in hows()) {
        for (file, program) in corpus().iter() {
            let mut walk = begun(program, how, None);
            play(&mut walk, &moves, how);
            prop_assert!(answer_all(&mut walk), "{}: {:?} never ends", file, walk.machine.question());
        }
    }
}
