//! What the record before lends to a rule is as uncertain as it was then.

use bedway::cli::brought::Brought;
use bedway::cli::load::Loaded;
use bedway::record::MemoryStore;
use bedway::walk::event::{Event, RuleLine};

use crate::brought::{text, verifies, walked, with_before};
use crate::commands::Folder;
use crate::record::rechained;
use crate::walking::{lines, resume};

/// A dial whose readings have this U, and how far something moved since last time.
fn moved(unit: &str, stated: &str, rules: &str) -> Loaded {
    text(&format!(
        "language 1\nprocedure \"Moved\"\ndecide guarded U\nfact serial \"Serial number\" text\n\
         instrument dial \"Dial\"\n  uncertainty fresh {stated} k 2\nsection s \"s\"\nstep A \"a\"\n  \
         read x in {unit} using dial\n    plus \"up\"\n    minus \"down\"\n{rules}"
    ))
}

const CHANGE: &str = "  let dx \"change\" = x - previous(A.x else 0 mm)\n    plus \"more\"\n    minus \"less\"\n  tolerance dx within 0.1 mm\n";

fn last_time(loaded: &Loaded, read: &str) -> MemoryStore {
    walked(loaded, &Brought::default(), &format!("Ann Example\nM-1\nD1\n{read}\nsign\n")).1
}

fn first_rule(loaded: &Loaded, store: &MemoryStore) -> RuleLine {
    verifies(loaded, store);
    let judged = lines(store).into_iter().rev().find_map(|line| match line.event {
        Event::Judged(judged) => judged.rules.into_iter().next(),
        _ => None,
    });
    judged.expect("a rule was judged")
}

fn this_time(loaded: &Loaded, before: &MemoryStore, read: &str) -> RuleLine {
    let answers = format!("Ann Example\n\nD2\n{read}\n");
    first_rule(loaded, &walked(loaded, &with_before(loaded, before), &answers).1)
}

fn expanded(rule: &RuleLine) -> &str {
    &rule.uncertainty.as_ref().expect("it is uncertain").expanded
}

/// 2 root(0.002^2 + 0.0015^2) = 0.005 mm, by hand: 0.0955 mm is inside 0.1 mm by more than 0.004 mm, and not by 0.005.
#[test]
fn a_change_since_last_time_has_the_uncertainty_of_both_and_may_become_undecided_by_it() {
    let before = last_time(&moved("mm", "0.003 mm", CHANGE), "0.02");
    let now = moved("mm", "0.004 mm", CHANGE);
    let rule = this_time(&now, &before, "0.1155");
    assert_eq!((rule.verdict.as_str(), expanded(&rule)), ("undecided", "0.005"));
    let budget = rule.uncertainty.unwrap().budget.join("\n");
    assert!(budget.contains("A.x, from the record before"), "{budget}");
    assert_eq!(this_time(&now, &before, "0.115").verdict, "passed", "inside by 0.005 mm to the last digit");
    // Nothing before: what stands behind `else` is exact.
    let alone = first_rule(&now, &last_time(&now, "0.0955"));
    assert_eq!((alone.verdict.as_str(), expanded(&alone)), ("passed", "0.004"));
}

/// Records of before this was written have no U beside what was lent, and are judged as they were.
#[test]
fn a_value_that_was_lent_without_its_uncertainty_has_none() {
    let before = last_time(&moved("mm", "0.003 mm", CHANGE), "0.02");
    let now = moved("mm", "0.004 mm", CHANGE);
    let (_, store) = walked(&now, &with_before(&now, &before), "Ann Example\n\nD2\npause\n");
    let mut old = lines(&store);
    let mut lent = Vec::new();
    for line in &mut old {
        if let Event::PreviousValue { expanded, .. } = &mut line.event {
            lent.append(expanded);
        }
    }
    assert_eq!(lent, ["0.003"]);
    let store = MemoryStore::new(rechained(&old));
    resume(store.clone(), "0.1155\n");
    let rule = first_rule(&now, &store);
    assert_eq!((rule.verdict.as_str(), expanded(&rule)), ("passed", "0.004"));
}

/// The distance to the limit: 2 root(0.002^2 + (2 x 0.0015)^2) mm; read in thou then.
#[test]
fn a_limit_that_rests_on_the_value_of_last_time_is_as_uncertain_as_that() {
    let limit = "  tolerance x within 2 * previous(A.x else 2 mm)\n";
    let before = last_time(&moved("thou", "0.003 mm", limit), "10");
    // Twice 0.254 mm.
    let now = moved("mm", "0.004 mm", limit);
    let rule = this_time(&now, &before, "0.5");
    assert_eq!((rule.verdict.as_str(), expanded(&rule)), ("passed", "0.0072111"));
    assert_eq!(this_time(&now, &before, "0.502").verdict, "undecided");
}

/// What bends is drawn: far from nothing the size of a change is as uncertain as the change.
#[test]
fn the_uncertainty_of_last_time_is_drawn_where_a_result_bends() {
    let size = CHANGE.replace("= x - previous(A.x else 0 mm)", "= abs(x - previous(A.x else 0 mm))");
    let size = size.replace("    plus \"more\"\n    minus \"less\"\n", "    unsigned\n");
    let before = last_time(&moved("mm", "0.003 mm", &size), "0.02");
    let rule = this_time(&moved("mm", "0.004 mm", &size), &before, "0.08");
    let uncertainty = rule.uncertainty.expect("it is uncertain");
    assert!(uncertainty.method.contains("Monte Carlo"), "{}", uncertainty.method);
    let expanded: f64 = uncertainty.expanded.parse().unwrap();
    assert!((expanded - 0.005).abs() < 0.0001, "{expanded}");
}

/// Of a level of 0.02 mm/m a division: U = 0.01 root 2 mm/m.
#[test]
fn divisions_lend_their_uncertainty_in_what_a_division_means() {
    let level = text(
        "language 1\nprocedure \"p\"\ndecide guarded U\nfact serial \"Serial number\" text\n\
         instrument level \"l\"\n  scale 0.02 mm/m per div\n  uncertainty fresh 0.01 mm/m k 2\nsection s \"s\"\n\
         step A \"a\"\n  read x in div using level\n    plus \"up\"\n    minus \"down\"\n  \
         let dx \"change\" = x - previous(A.x else 0 mm/m) in mm/m\n    plus \"more\"\n    minus \"less\"\n  \
         tolerance dx within 0.1 mm/m\n",
    );
    let rule = this_time(&level, &last_time(&level, "1"), "2");
    assert_eq!(expanded(&rule), "0.0141421");
}

#[test]
fn the_report_says_how_uncertain_it_was_and_verify_proves_it() {
    let folder = Folder::new();
    let loaded = moved("mm", "0.003 mm", CHANGE);
    let before = last_time(&loaded, "0.02");
    let answers = "Ann Example\n\n\n0.05\nsign\n";
    let (_, now) = walked(&loaded, &with_before(&loaded, &before), answers);
    std::fs::write(folder.path("before.record.jsonl"), before.bytes()).unwrap();
    std::fs::write(folder.path("now.record.jsonl"), now.bytes()).unwrap();
    let (_, report) = folder.run(&["report", "now.record.jsonl"]);
    let report = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(report.contains("From the record before, for a rule: x +0.02 mm (U = 0.003"), "{report}");
    let (_, said) = folder.run(&["verify", "now.record.jsonl", "--previous", "before.record.jsonl"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("proved: The record before is the one that is named, and all"), "{said}");
    // Another U lent, and the chain made anew.
    let mut lines = lines(&now);
    for line in &mut lines {
        if let Event::PreviousValue { expanded, .. } = &mut line.event {
            expanded.iter_mut().for_each(|size| "0.001".clone_into(size));
        }
    }
    std::fs::write(folder.path("now.record.jsonl"), rechained(&lines)).unwrap();
    let (_, said) = folder.run(&["verify", "now.record.jsonl", "--previous", "before.record.jsonl"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("NOT GOOD: What was lent from the record before"), "{said}");
}

/// Told again as an example the walk has the U that was lent, and so the same verdict.
#[test]
fn a_walk_that_is_told_again_says_how_uncertain_last_time_was() {
    let folder = Folder::new();
    let loaded = moved("mm", "0.003 mm", CHANGE);
    let before = last_time(&loaded, "0.02");
    // Inside by 0.004 mm: enough for U = 0.003 mm, and not for that of both.
    let (_, now) = walked(&loaded, &with_before(&loaded, &before), "Ann Example\n\n\n0.116\nsign\n");
    std::fs::write(folder.path("now.record.jsonl"), now.bytes()).unwrap();
    let (_, told) = folder.run(&["example", "now.record.jsonl"]);
    assert!(told.contains("previous A.x = 0.02 uncertainty 0.003\n"), "{told}");
    assert!(told.contains("expect A undecided\n"), "{told}");
}

/// 2 root(0.002^2 + 0.002^2) = 0.0057 mm: where last time was as uncertain as now, no change could be told to be within
/// 0.0055 mm, though now alone would do. `check` knows that before anybody walks.
#[test]
fn before_the_walk_the_record_before_is_taken_to_be_as_uncertain() {
    let of = |limit: &str| {
        let loaded = moved("mm", "0.004 mm", &CHANGE.replace("0.1 mm", limit));
        loaded.problems.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join("\n")
    };
    let told = of("0.0055 mm");
    assert!(told.contains("U is 0.0057 mm") && told.contains("with a record before"), "{told}");
    assert_eq!(of("0.0058 mm"), "");
    assert!(of("0.003 mm").contains("cannot decide"));
}
