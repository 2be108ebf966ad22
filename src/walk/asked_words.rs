//! What is asked and what is judged, in words: for the person at the machine and for the report alike.

use crate::check::program::{Expr, Judged, Judgement, Node, Part, Program, Rule, Test, Text, ValueId};
use crate::quantity::Real;

use super::text;
use super::wording::plain;

/// Between what was asked and the answer that was required.
const MUST: &str = " must be ";
const MUST_NOT: &str = " must not be ";

/// What a `tolerance` or `require` line judges: its own label, else what was asked or worked out, else as written.
pub fn judged(program: &Program, judgement: &Judgement) -> String {
    let words = match (&judgement.label, &judgement.of) {
        (Some(label), _) => Some(plain(label)),
        (None, Judged::Tolerance { value, .. }) => question(program, *value),
        (None, Judged::Require(condition)) => required(program, condition),
    };
    words.unwrap_or_else(|| judgement.name.clone())
}

/// What is asked of a value or worked out, in words; its name where there are none.
pub fn named(program: &Program, value: ValueId) -> String {
    question(program, value).unwrap_or_else(|| program.values[value.0].name.clone())
}

/// Words that say nothing at the end of what is asked, once the station behind them is left away.
const LEADING_ON: [&str; 17] = [
    "a", "an", "and", "at", "behind", "by", "for", "from", "in", "near", "of", "on", "over", "the", "to",
    "under", "with",
];

/// What a reading is called as a whole: what is asked, as far as it is the same at every station. `Temperature` of
/// "Temperature of the {part}", `Dial` of "Dial {place} from the nose".
pub fn titled(program: &Program, value: ValueId) -> String {
    let Some(definition) = program.values.get(value.0) else { return String::new() };
    let common = definition.label.parts.iter().map_while(|part| match part {
        Part::Plain(text) => Some(text.as_str()),
        Part::Value(..) => None,
    });
    let common: String = common.collect();
    let mut words: Vec<&str> = common.split_whitespace().collect();
    if definition.label.parts.iter().any(|part| matches!(part, Part::Value(..))) {
        while words.last().is_some_and(|last| LEADING_ON.contains(&last.to_lowercase().as_str())) {
            words.pop();
        }
    }
    let said = words.join(" ");
    match said.trim_end_matches([',', ':', ';']) {
        "" => named(program, value),
        said => super::wording::spoken(said),
    }
}

/// A condition that was required, by the questions that it rests on: `Did the button stop it? must be yes`. What was
/// answered is another matter.
fn required(program: &Program, condition: &Expr) -> Option<String> {
    let answered = |value: &Expr, answer: &str| match value.node {
        Node::Value(id) => Some(format!("{}{MUST}{answer}", question(program, id)?)),
        _ => None,
    };
    match &condition.node {
        Node::Value(_) => answered(condition, "yes"),
        Node::Every(inner) => Some(format!("{}, every one", required(program, inner)?)),
        Node::Any(inner) => Some(format!("{}, at least one", required(program, inner)?)),
        Node::Meets(value, rule) => answered(value, &bounds(program, value, rule)?),
        Node::Is(value, answer) => match &answer.node {
            Node::Word(word) => answered(value, &word.replace('_', " ")),
            Node::YesNo(yes) => answered(value, if *yes { "yes" } else { "no" }),
            _ => None,
        },
        Node::Not(inner) => match &inner.node {
            // Not one of them.
            Node::Any(inner) => Some(required(program, inner)?.replace(MUST, MUST_NOT) + ", any of them"),
            Node::Value(_) | Node::Is(..) => Some(required(program, inner)?.replace(MUST, MUST_NOT)),
            _ => None,
        },
        Node::And(left, right) => {
            Some(format!("{}; {}", required(program, left)?, required(program, right)?))
        }
        // The same question with another answer is not asked twice.
        Node::Or(left, right) => {
            let (left, right) = (required(program, left)?, required(program, right)?);
            let common = left.rsplit_once(MUST).zip(right.rsplit_once(MUST));
            Some(match common {
                Some(((asked, one), (again, other))) if asked == again => {
                    format!("{asked}{MUST}{one} or {other}")
                }
                _ => format!("{left}; or {right}"),
            })
        }
        _ => None,
    }
}

/// The plain numbers of a rule, in the unit in which its value is asked for.
fn bounds(program: &Program, value: &Expr, rule: &Rule) -> Option<String> {
    let Node::Value(id) = value.node else { return None };
    let unit = program.values.get(id.0)?.unit;
    let number = |expr: &Expr| match &expr.node {
        Node::Number(number) => Some(text::limit(&Real::Exact(number.clone()), unit)),
        _ => None,
    };
    if rule.per.is_some() || rule.window.is_some() {
        return None;
    }
    Some(match &rule.test {
        Test::AtMost(most) => format!("at most {}", number(most)?),
        Test::AtLeast(least) => format!("at least {}", number(least)?),
        Test::Above(least) => format!("above {}", number(least)?),
        Test::Below(most) => format!("below {}", number(most)?),
        Test::FromTo(least, most) => format!("from {} to {}", number(least)?, number(most)?),
        _ => return None,
    })
}

/// What is asked of a value, its stations by the names of their axes.
pub fn question(program: &Program, value: ValueId) -> Option<String> {
    of(program, &program.values.get(value.0)?.label)
}

/// What a question puts in, which differs from station to station.
const GAP: &str = "\u{2026}";

/// The words of a question with a gap where it puts something in, since they stand over all its stations:
/// `Dial at \u{2026}`. None where there are no words.
pub fn of(program: &Program, label: &Text) -> Option<String> {
    let mut said = String::new();
    let mut axes: Vec<&str> = vec![GAP];
    let mut counted = false;
    for (at, part) in label.parts.iter().enumerate() {
        match part {
            Part::Plain(text) => said.push_str(text),
            Part::Value(expr, _) => {
                let mut shown = GAP;
                if let Node::CurrentStation(axis) = expr.node {
                    axes.extend(program.axes.get(axis.0).map(|axis| axis.name.as_str()));
                    counted = axes.last() == Some(&"repeat");
                    if said.ends_with("the ") && label.parts.get(at + 1).is_some_and(goes_on) {
                        shown = axes.last().copied().unwrap_or(GAP);
                    }
                }
                said.push_str(shown);
            }
        }
    }
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut said = said.trim_end_matches([',', ':']);
    // "Level of the bed, {direction}" of all directions is the level of the bed, "Gap, foot {foot}" the gap, and "Time to
    // rest, stop {repeat}" the time.
    let counts = |part: &str| counted && part.split_once(' ').is_some_and(|(_, last)| last == GAP);
    while let Some((before, last)) = said.rsplit_once(", ")
        && (counts(last) || last.split(' ').all(|word| axes.contains(&word)))
    {
        said = before;
    }
    (!said.is_empty()).then(|| super::wording::spoken(without_place(said)))
}

/// "Between the {part} and the terminal" is a sentence of the part; "the {place} end" has a gap.
fn goes_on(behind: &Part) -> bool {
    let Part::Plain(text) = behind else { return false };
    ["and", "or", "to", "of", "is"].iter().any(|word| text.starts_with(&format!(" {word} ")))
}

/// "Diameter of the collar at {place}" of all places is the diameter of the collar.
fn without_place(said: &str) -> &str {
    let Some(before) = said.strip_suffix(GAP).map(str::trim_end).filter(|it| !it.contains(GAP)) else {
        return said;
    };
    let before = before.strip_suffix(" the").unwrap_or(before);
    let words = [" at", " of", " on", " in", " over"];
    words.iter().find_map(|word| before.strip_suffix(word)).unwrap_or(said)
}
