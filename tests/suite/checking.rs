//! What the checker knows about a procedure without a fault: where a sense carries over, what a literal means, what
//! stands in the way of a table.

use bedway::check::check;
use bedway::check::program::{Expr, Node, Program, Role, Stations};
use bedway::diagnostic::{Code, Problem};
use bedway::quantity::{Dimension, Unit, ratio};
use bedway::syntax::parse_text;

fn checked(text: &str) -> (Option<Program>, Vec<Problem>) {
    let parsed = parse_text("trial.bedway", text);
    let checked = check(&parsed);
    (checked.program, checked.problems)
}

fn sound(text: &str) -> Program {
    let (program, problems) = checked(text);
    program.unwrap_or_else(|| panic!("{problems:#?}\n{text}"))
}

fn codes(text: &str) -> Vec<Code> {
    checked(text).1.iter().map(|problem| problem.code).collect()
}

const READINGS: &str = r#"language 1
procedure "Trial"
decide simple
fact reach "Reach" in mm from 10 to 300
fact offset "Offset" in mm from -5 to 5
instrument level "Level"
  scale 0.02 mm/m per div
  resolution 0.2 div
step A "A"
  read x in mm
    over turn 0 deg, 180 deg
    over place 0 mm, 100 mm, 200 mm
    plus "toward the operator"
    minus "away from the operator"
    sense stays with the machine
  read y in mm
    over turn 0 deg, 180 deg
    over place 0 mm, 100 mm, 200 mm
    plus "up"
    minus "down"
    sense turns with the bar
  read tilt in div using level
    over place 0 mm up to 500 mm stepped by 125 mm
    plus "far side high"
    minus "near side high"
    sense rises along place
  read size_at in mm
    unsigned
"#;

/// The words for plus of a result that has no words of its own; "unsigned" and "none" are told apart by `at most`,
/// which an unsigned value takes and one without direction does not.
fn plus_of(expression: &str, unit: &str) -> String {
    let text = format!("{READINGS}  let result \"Result\" = {expression}{unit}\n  report result\n");
    let program = sound(&text);
    let value = program.values.iter().find(|value| value.name == "result").unwrap();
    value.sense.as_ref().map_or("none".to_string(), |sense| sense.plus.clone())
}

#[test]
fn a_sense_is_kept_where_it_is_plain_and_lost_elsewhere() {
    let kept = "toward the operator";
    for expression in [
        "mean(x)",
        "gain(machine(x over turn) over place)",
        "artefact(x over turn)",
        "half(first(x over place))",
        "last(x over place) - first(x over place)",
        "greatest(x) + sag(reach, 20 mm, 0 mm, steel)",
        "2 * sum(x)",
        "x / 3",
        "per(mean(x), 300 mm, reach)",
        "ordinates(mean(x over turn) over place by ends)",
        "reach / reach * x",
        "if reach at most 100 mm then x else 2 * x",
    ] {
        assert_eq!(plus_of(expression, ""), kept, "{expression}");
    }
    for expression in ["-x", "-2 * x", "x * -1"] {
        assert_eq!(plus_of(expression, ""), "away from the operator", "{expression}");
    }
    assert_eq!(plus_of("slope(mean(x over turn) over place)", " in mm/m"), kept);
    assert_eq!(plus_of("heights(tilt over place)", ""), "far side high");
    for expression in [
        "abs(x)",
        "range(x)",
        "straightness(mean(x over turn) over place by ends)",
        "x - y",
        "mean(x) * mean(y) / (1 mm)",
        "offset / (1 mm) * x",
        "machine(y over turn)",
        "taper(mean(x over turn) over place by ends)",
        "5 mm - x",
        "reach",
    ] {
        assert_eq!(plus_of(expression, ""), "none", "{expression}");
    }
}

#[test]
fn a_rule_with_a_direction_asks_for_a_value_with_one() {
    let judge = |lines: &str| {
        codes(&format!("{READINGS}{lines}"))
            .into_iter()
            .filter(|code| *code != Code::FlowUnjudged)
            .collect::<Vec<_>>()
    };
    assert_eq!(judge("  let a \"A\" = mean(x)\n  tolerance a from 0 mm to 1 mm\n"), []);
    assert_eq!(judge("  let a \"A\" = mean(x)\n  tolerance a at most 1 mm\n"), [Code::SenseAtMost]);
    assert_eq!(judge("  let a \"A\" = abs(mean(x))\n  tolerance a at most 1 mm\n"), []);
    assert_eq!(judge("  let a \"A\" = mean(x) - mean(y)\n  tolerance a at most 1 mm\n"), [Code::SenseNeeded]);
    // The same on both sides of zero has no direction.
    assert_eq!(judge("  let a \"A\" = mean(x) - mean(y)\n  tolerance a within 1 mm\n"), []);
    assert_eq!(judge("  let a \"A\" = mean(x) - mean(y)\n  tolerance a from -1 mm to 1 mm\n"), []);
    assert_eq!(judge("  let a \"A\" = mean(x) - mean(y)\n  tolerance a from -reach to reach\n"), []);
    assert_eq!(judge("  let a \"A\" = mean(x) - mean(y)\n    unsigned\n  tolerance a at most 1 mm\n"), []);
    // In what a step must meet as well.
    assert_eq!(judge("  require every x at most 1 mm\n"), [Code::SenseAtMost]);
    assert_eq!(judge("  require every x within 1 mm\n"), []);
    // The spread of a window has no sign.
    assert_eq!(
        judge(
            "  let a \"A\" = ordinates(mean(x over turn) over place by ends)\n  tolerance w \"W\" a at most 1 mm in any 100 mm by spread\n"
        ),
        []
    );
}

#[test]
fn divisions_mean_what_the_scale_of_their_instrument_says() {
    let program = sound(&format!("{READINGS}  let most \"Most\" = mean(tilt) - 0.5 div\n  report most\n"));
    let most = program.values.iter().find(|value| value.name == "most").unwrap();
    assert_eq!(most.unit, Some(Unit::MmPerM), "shown in the unit of the scale");
    let Role::Let(Expr { node: Node::Arithmetic(_, _, half), .. }) = &most.role else { panic!("{most:?}") };
    // 0.5 div x 0.02 mm/m.
    assert!(matches!(&half.node, Node::Number(number) if *number == ratio(1, 100_000)), "{half:?}");
    let tilt = program.values.iter().find(|value| value.name == "tilt").unwrap();
    assert_eq!(tilt.unit, Some(Unit::Div), "asked in divisions");
    assert_eq!(tilt.kind, bedway::check::program::Kind::Quantity(Dimension::NONE));
}

#[test]
fn a_foot_stepped_four_times_gives_heights_at_five_stations() {
    let program =
        sound(&format!("{READINGS}  let line \"Line\" = heights(tilt over place)\n  report line\n"));
    let axis = |name: &str| {
        let value = program.values.iter().find(|value| value.name == name).unwrap();
        &program.axes[value.axes[0].0].stations
    };
    assert!(matches!(axis("tilt"), Stations::Stepped { .. }));
    assert!(matches!(axis("line"), Stations::Range { .. }));
}

fn table(facts: &str, rows: &str, limit: &str) -> Vec<Code> {
    codes(&format!(
        "language 1\nprocedure \"Trial\"\ndecide simple\n{facts}\ntable limit \"Limit\" {rows}\nstep A \"A\"\n  read x in mm\n    unsigned\n  tolerance x at most {limit}\n"
    ))
}

#[test]
fn tables_are_tried_over_all_that_their_facts_may_be() {
    let class = "fact class \"Class\" one of a, b, c\nfact length \"Length\" in mm from 10 to 100";
    let whole = "\n  when class is a then 1 mm\n  when class is b or class is c then 2 mm";
    assert_eq!(table(class, whole, "limit"), []);
    assert_eq!(table(class, "\n  when class is a then 1 mm\n  when not class is a then 2 mm", "limit"), []);
    assert_eq!(table(class, "\n  when class is a then 1 mm\n  then 2 mm", "limit"), []);
    assert_eq!(table(class, "\n  when class is a then 1 mm", "limit"), [Code::TableGap]);
    let hidden = "\n  when class is a or class is b then 1 mm\n  when class is b then 2 mm\n  then 3 mm";
    assert_eq!(table(class, hidden, "limit"), [Code::TableUnreachable]);
    // Numbers, at their limits and between them.
    let full = "\n  when length at most 50 mm then 1 mm\n  when length above 50 mm then 2 mm";
    assert_eq!(table(class, full, "limit"), []);
    let holed = "\n  when length below 50 mm then 1 mm\n  when length above 50 mm then 2 mm";
    assert_eq!(table(class, holed, "limit"), [Code::TableGap]);
    let beyond = "\n  when length at most 100 mm then 1 mm\n  when length above 100 mm then 2 mm";
    assert_eq!(table(class, beyond, "limit"), [Code::TableUnreachable]);
    // Rows by length.
    let over = "over l in mm\n  up to 50 mm then 1 mm\n  up to 100 mm then 2 mm";
    assert_eq!(table(class, over, "limit(length)"), []);
    assert_eq!(table(class, "over l in mm\n  up to 50 mm then 1 mm", "limit(length)"), [Code::TableGap]);
    let turned = "over l in mm\n  up to 100 mm then 2 mm\n  up to 50 mm then 1 mm";
    assert_eq!(table(class, turned, "limit(length)"), [Code::TableUnreachable]);
    let further = "over l in mm\n  up to 50 mm then 1 mm\n  every further 10 mm or part adds 1 mm";
    assert_eq!(table(class, further, "limit(length)"), []);
}

#[test]
fn a_result_may_have_the_name_of_a_function() {
    let text = format!(
        "{READINGS}  let taper \"Taper\" = taper(mean(x over turn) over place by ends)\n  report taper\n"
    );
    sound(&text);
}

#[test]
fn a_repeat_has_values_of_its_own_and_is_unsettled_with_its_base() {
    let program = sound(
        "language 1\nprocedure \"Trial\"\ndecide simple\nstep A \"A\"\n  read x in mm\n    unsigned\n  let twice \"Twice\" = 2 * x\n  tolerance limit \"Limit\" twice at most 1 mm\nstep B \"B\" repeats A\n  tolerance limit \"Limit\" twice at most 2 mm\nstep C \"C\"\n  observe seen \"Seen\" yes or no\n  require seen\n  unsettles A\n",
    );
    let [a, b, c] = program.steps.as_slice() else { panic!("three steps") };
    assert_eq!(b.repeats, Some(bedway::check::program::StepId(0)));
    assert_ne!(a.lets, b.lets);
    assert_eq!(
        (a.judgements.len(), b.judgements.len()),
        (1, 1),
        "the named tolerance is replaced in its place"
    );
    assert_eq!(c.unsettles.len(), 2);
}

#[test]
fn a_reference_to_another_step_implies_that_it_is_done() {
    let program = sound(
        "language 1\nprocedure \"Trial\"\ndecide simple\nstep A \"A\"\n  read x in mm\n    unsigned\n  report x\nstep B \"B\"\n  read y in mm\n    unsigned\n  let sum \"Sum\" = y + A.x\n  tolerance sum at most 1 mm\n",
    );
    assert_eq!(program.steps[1].needs.len(), 1);
    assert_eq!(program.steps[1].uses, [bedway::check::program::StepId(0)]);
}

/// The base speaks of its own result by its full name; in the repeat that is the repeat's own. What the repeat itself
/// says of the base stays so.
#[test]
fn in_a_repeat_the_name_of_the_base_is_the_repeat_itself() {
    let program = sound(
        "language 1\nprocedure \"Trial\"\ndecide simple\nstep A \"A\"\n  read x in mm\n    unsigned\n  let twice \"Twice\" = 2 * A.x\n  tolerance twice at most 1 mm\nstep B \"B\" repeats A\n  let more \"More\" = twice - A.twice\n  report more\n",
    );
    let value = |step: usize, name: &str| {
        let id = program.steps[step].lets.iter().find(|id| program.values[id.0].name == name).unwrap();
        let Role::Let(Expr { node: Node::Arithmetic(_, _, right), .. }) = &program.values[id.0].role else {
            panic!()
        };
        let Node::Value(id) = right.node else { panic!() };
        program.values[id.0].step.unwrap().0
    };
    assert_eq!((value(0, "twice"), value(1, "twice"), value(1, "more")), (0, 1, 0));
    assert_eq!(program.steps[1].uses, [bedway::check::program::StepId(0)]);
}
