//! What is said of uncertainties: before the walk, on the screen, on the record and in the report.

use std::rc::Rc;

use bedway::check::program::Program;
use bedway::cli::load;
use bedway::record::{Line, MemoryStore};
use bedway::report::{Labels, Proof, build, render as render_report};
use bedway::walk::event::Event;
use bedway::walk::replay;

use crate::walking::{lines, walk};

const WALKED: &str = "language 1\nprocedure \"Walked\"\ndecide guarded U\n\
    instrument dial \"Dial\"\n  uncertainty fresh 0.002 mm k 2\n\
    step A \"Height\"\n  read high in mm using dial\n    unsigned\n  tolerance high at most 0.010 mm\n";

fn walked(answers: &str) -> (Rc<Program>, Vec<Line>, String) {
    let loaded = load::check("walked.bedway", WALKED.as_bytes());
    let store = MemoryStore::default();
    let screen = walk(&loaded, store.clone(), answers).screen;
    (loaded.program.unwrap(), lines(&store), screen)
}

#[test]
fn undecided_is_never_accepted_and_says_why_on_screen_and_record() {
    let (_, lines, screen) = walked("Ann Example\nDI-07\n0.009\n\nshow\nsign\n");
    assert!(screen.contains("A UNDECIDED"), "{screen}");
    assert!(
        screen.contains("dial, each reading, high: 0.001 mm"),
        "the budget is shown on request: {screen}"
    );
    let verdict = lines.iter().find_map(|line| match &line.event {
        Event::Closed { verdict, .. } => Some(verdict.as_str()),
        _ => None,
    });
    assert_eq!(verdict, Some("not accepted"));
    let judged = lines.iter().find_map(|line| match &line.event {
        Event::Judged(judged) => judged.rules.first(),
        _ => None,
    });
    let own = judged.and_then(|rule| rule.uncertainty.as_ref()).unwrap();
    assert_eq!(own.rule, "guarded U (ISO 14253-1:1998)");
    assert_eq!((own.u.as_str(), own.k.as_str(), own.expanded.as_str()), ("0.001", "2", "0.002"));
    assert_eq!(own.budget, ["dial, each reading, high: 0.001"]);
}

/// A figure changed by hand does not follow from the entries, however small the change.
#[test]
fn an_uncertainty_that_was_changed_on_the_record_is_found() {
    let (program, mut lines, _) = walked("Ann Example\nDI-07\n0.007\nsign\n");
    let verify = |lines: &[Line]| {
        let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
        replay::verify(Rc::clone(&program), events).map(|_| ()).map_err(|mismatch| mismatch.to_string())
    };
    assert_eq!(verify(&lines), Ok(()));
    for line in &mut lines {
        if let Event::Judged(judged) = &mut line.event {
            judged.rules[0].uncertainty.as_mut().unwrap().u = "0.00100001".to_owned();
        }
    }
    let told = verify(&lines).unwrap_err();
    assert!(
        told.contains(
            "found A try 1: high, its u, is 0.00100001 mm, expected A try 1: high, its u, is 0.001 mm"
        ),
        "{told}"
    );
}

/// A later version may say its advice and remarks better; a record of today stays good, and what differs is named.
#[test]
fn other_words_beside_the_same_figures_are_told_and_are_no_fault() {
    let (program, mut lines, _) = walked("Ann Example\nDI-07\n0.009\nsign\n");
    let mut reworded = None;
    for (at, line) in lines.iter_mut().enumerate() {
        if let Event::Judged(judged) = &mut line.event {
            assert!(!judged.rules[0].notes.is_empty(), "undecided is said with what would decide it");
            judged.rules[0].notes[0].push_str(", as it was said of old");
            judged.rules[0].uncertainty.as_mut().unwrap().method.push_str(", as it was called of old");
            reworded = Some(at);
        }
    }
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    let verified = replay::verify(Rc::clone(&program), events).unwrap();
    assert_eq!(verified.otherwise, [reworded.unwrap()]);
    // A verdict is no wording.
    for line in &mut lines {
        if let Event::Judged(judged) = &mut line.event {
            judged.rules[0].verdict = "passed".to_owned();
        }
    }
    let events = lines.iter().map(|line| (line.time.as_str(), &line.event));
    assert!(replay::verify(program, events).is_err());
}

/// The codes of all that `check` finds.
fn codes(text: &str) -> Vec<&'static str> {
    load::check("faulty.bedway", text.as_bytes()).problems.iter().map(|problem| problem.code.name()).collect()
}

/// Whoever mistypes such a line is told all the words that can stand in it.
#[test]
fn a_faulty_line_says_what_may_stand_in_it() {
    let of = |from: &str, to: &str| {
        let loaded = load::check("trial.bedway", WALKED.replace(from, to).as_bytes());
        let help = loaded.problems.first().and_then(|problem| problem.help.clone());
        help.unwrap_or_else(|| panic!("{:?}", loaded.problems))
    };
    let words = [
        "`rectangular`",
        "`triangular`",
        "`arcsine`",
        "`trapezoidal flat",
        "degrees of freedom`",
        "by draws`",
    ];
    for wrong in
        ["k", "square", "triangle", "by draws", "k 2 with 8 degrees", "trapezoidal 0.001 mm", "flat 0.001 mm"]
    {
        let help = of("k 2", wrong);
        assert!(words.iter().all(|word| help.contains(word)), "{wrong}: {help}");
    }
    for (from, to) in [
        ("fresh 0.002 mm k 2", "freshly 0.002 mm k 2"),
        ("fresh 0.002 mm k 2", "by draws"),
        ("  tolerance", "  uncertainty fresh 0.001 mm k 2\n  tolerance"),
        ("  tolerance", "  uncertainty by draws\n  tolerance"),
    ] {
        let help = of(from, to);
        assert!(words.iter().all(|word| help.contains(word)), "{to}: {help}");
    }
    for wrong in ["guarded", "by draws", "guarded U draws", "guarded 95 % by", "simply"] {
        let help = of("guarded U", wrong);
        let words = ["`decide simple`", "`guarded U`", "`guarded 95 %`", "`by draws`"];
        assert!(words.iter().all(|word| help.contains(word)), "{wrong}: {help}");
    }
}

#[test]
fn what_cannot_be_an_uncertainty_or_a_rule_is_said_before_the_walk() {
    let example = "example \"one\"\n  enter A.high = 0.001\n";
    let of = |from: &str, to: &str| {
        let text = format!("{WALKED}{example}");
        assert!(text.contains(from), "{from}");
        codes(&text.replace(from, to))
    };
    assert_eq!(of("guarded U", "guarded U"), [""; 0]);
    assert_eq!(of("guarded U", "guarded 50 %"), [""; 0]);
    for wrong in ["guarded 49 %", "guarded 100 %", "guarded 95 mm"] {
        assert_eq!(of("guarded U", wrong), ["unit::number"], "{wrong}");
    }
    assert_eq!(of("fresh 0.002 mm", "fresh 0.002 K"), ["unit::mismatch"]);
    assert_eq!(of("fresh 0.002 mm", "scale 0.002 mm"), ["unit::mismatch"]);
    assert_eq!(of("fresh 0.002 mm", "fresh 0 mm"), ["unit::number"]);
    assert_eq!(of("k 2", "k 0"), ["unit::number"]);
    assert_eq!(of("k 2", "k 2 with 18 degrees of freedom"), [""; 0]);
    assert_eq!(of("k 2", "trapezoidal flat 0.001 mm with 18 degrees of freedom"), [""; 0]);
    assert_eq!(of("k 2", "trapezoidal flat 0.002 mm"), ["unit::number"]);
    assert_eq!(of("k 2", "trapezoidal flat 0 mm"), ["unit::number"]);
    assert_eq!(of("k 2", "trapezoidal flat 0.5 K"), ["unit::mismatch"]);
    assert_eq!(of("  enter", "  using dial fresh 2 um trapezoidal flat 0.003 mm\n  enter"), ["unit::number"]);
    assert_eq!(of("k 2", "k 2 with 0 degrees of freedom"), ["unit::number"]);
    assert_eq!(of("  enter", "  using dial fresh 0.3 K k 2\n  enter"), ["unit::mismatch"]);
    assert_eq!(of("  enter", "  using dial resolution 0 mm\n  enter"), ["unit::number"]);
    assert_eq!(
        of("  tolerance", "  uncertainty set_up 1 K k 2 on high \"seating\"\n  tolerance"),
        ["unit::mismatch"]
    );
}

/// A band of 2 U has one point in it that passes; a narrower one has none, and `check` says so with the figures.
#[test]
fn a_limit_that_the_instruments_cannot_decide_is_warned_of_with_the_figures() {
    let of = |limit: &str, decide: &str| {
        let text = WALKED.replace("high at most 0.010 mm", limit).replace("guarded U", decide);
        let loaded = load::check("narrow.bedway", text.as_bytes());
        loaded.problems.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(of("high within 0.002 mm of 5 mm", "guarded U"), "");
    let narrow = of("high within 0.0019 mm of 5 mm", "guarded U");
    assert!(narrow.contains("U is 0.002 mm, and the limit leaves 0.0019 mm either side"), "{narrow}");
    assert_eq!(of("high at most 0.002 mm", "guarded U"), "");
    assert!(of("high at most 0.0019 mm", "guarded U").contains("the limit leaves at most 0.0019 mm"));
    assert!(of("high at most 0.0019 mm", "simple").contains("the limit leaves at most 0.0019 mm"));
    // 1.645 u = 0.00164 mm is all that 95 % wants of one limit.
    assert_eq!(of("high at most 0.0019 mm", "guarded 95 %"), "");
    // What may be as small as it likes can always pass.
    assert_eq!(of("high at least 0.0001 mm", "guarded U"), "");
}

/// Before the walk readings are made up, and differ by next to nothing: which way a bar is high cannot be told of them, and
/// a result may stand where it bends. Neither is a fault of the instruments.
#[test]
fn what_only_made_up_readings_hide_is_not_warned_of() {
    let of = |value: &str, limit: &str| {
        codes(&format!(
            "language 1\nprocedure \"Made up\"\ndecide guarded U\ninstrument dial \"Dial\"\n  uncertainty fresh 1 um k 2\n\
             section s \"S\"\nstep A \"A\"\n  read off in mm using dial\n    over turn 0 deg to 315 deg by 45 deg\n\
             \x20   plus \"out\"\n    minus \"in\"\n  let it \"It\" = {value}\n    unsigned\n  tolerance it {limit}\n"
        ))
    };
    assert_eq!(of("high_at(eccentricity(off over turn))", "at most 360 deg"), [""; 0]);
    assert_eq!(of("height_effect(30 mm, off[turn 0 deg])", "at most 1 mm"), [""; 0]);
    // What does cancel is told as ever.
    assert_eq!(of("abs(off[turn 0 deg] - off[turn 0 deg])", "at most 1 mm"), ["rule::cancels"]);
}

/// The report has U beside each value, the rule with its edition and risk, and what u is made of when it is asked for.
#[test]
fn the_report_says_how_well_a_value_is_known() {
    let (program, lines, _) = walked("Ann Example\nDI-07\n0.0079\nsign\n");
    let labels = Labels::new(Some(&program));
    let mut report = build(&lines, &labels, None);
    let short = render_report(&report, &Proof::default());
    assert!(short.contains("passed: 0.0079") && short.contains("(U 0.002 mm)"), "{short}");
    assert!(!short.contains("each reading"), "{short}");
    report.budgets = true;
    let long = render_report(&report, &Proof::default()).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        long.contains(
            "at most 0.01 mm U = 0.002 mm (k 2), decided guarded U (ISO 14253-1:1998), probability of conformity 98.2 %, specific risk 1.8 %"
        ),
        "{long}"
    );
    assert!(long.contains("u = 0.001 mm, by the law of propagation"), "{long}");
    assert!(long.contains("dial, each reading, high: 0.001 mm, 100 % of u squared"), "{long}");
}

/// Who asks what U is made of sees no digits that nobody knows.
#[test]
fn figures_of_a_budget_are_rounded_on_the_screen_and_in_the_report() {
    let text = WALKED.replace("fresh 0.002 mm", "fresh 0.00217 mm").replace(
        "tolerance high",
        "let size \"Size\" = greatest(high, 0.004 mm)\n    unsigned\n  tolerance size",
    );
    let loaded = load::check("walked.bedway", text.as_bytes());
    let store = MemoryStore::default();
    let screen = walk(&loaded, store.clone(), "Ann Example\nDI-07\n0.0079\nshow\nsign\n").screen;
    let rounded = "the law of propagation gives u = 0.0011 mm";
    assert!(screen.split_whitespace().collect::<Vec<_>>().join(" ").contains(rounded), "{screen}");
    let program = loaded.program.unwrap();
    let mut report = build(&lines(&store), &Labels::new(Some(&program)), None);
    report.budgets = true;
    let long = render_report(&report, &Proof::default()).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(long.contains(rounded), "{long}");
}
