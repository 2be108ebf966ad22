//! Expressions: what binds to what, shown with all brackets written out.

use bedway::syntax::ast::{Binary, Choice, Expr, ExprKind, Path, Pick, Rule, RuleOf, Station};
use bedway::syntax::parse_expression;

/// The expression with a bracket round everything that has parts.
fn shape(expr: &Expr) -> String {
    match &expr.what {
        ExprKind::Chosen(word, _) => word.text.clone(),
        ExprKind::Quantity(q) => match &q.unit {
            Some(unit) => format!("{} {}", q.number.text, unit.text),
            None => q.number.text.clone(),
        },
        ExprKind::Date(date) => date.text.clone(),
        ExprKind::YesNo(yes) => if *yes { "yes" } else { "no" }.to_string(),
        ExprKind::Name(path) => name(path),
        ExprKind::Call(path, arguments) => {
            let each = arguments.iter().map(|argument| {
                let mut text = shape(&argument.value);
                for axis in &argument.over {
                    text += &format!(" over {}", axis.text);
                }
                argument.by.iter().for_each(|by| text += &format!(" by {}", by.text));
                argument.within.iter().for_each(|within| text += &format!(" within {}", shape(within)));
                argument.otherwise.iter().for_each(|other| text += &format!(" else {}", shape(other)));
                text
            });
            format!("{}({})", name(path), each.collect::<Vec<_>>().join(", "))
        }
        ExprKind::Pick(inner, picks) => {
            format!("{}[{}]", shape(inner), picks.iter().map(pick).collect::<Vec<_>>().join(", "))
        }
        ExprKind::Negate(inner) => format!("(- {})", shape(inner)),
        ExprKind::Not(inner) => format!("(not {})", shape(inner)),
        ExprKind::Every(inner) => format!("(every {})", shape(inner)),
        ExprKind::Any(inner) => format!("(any {})", shape(inner)),
        ExprKind::PartOf(share, inner) => format!("({} % of {})", share.number.text, shape(inner)),
        ExprKind::Power(inner, power) => format!("({} ^ {})", shape(inner), power.text),
        ExprKind::Binary(binary, left, right) => {
            let sign = match binary {
                Binary::Add => "+",
                Binary::Subtract => "-",
                Binary::Multiply => "*",
                Binary::Divide => "/",
                Binary::And => "and",
                Binary::Or => "or",
            };
            format!("({} {sign} {})", shape(left), shape(right))
        }
        ExprKind::Is { left, not, choice } => {
            let choice = match choice {
                Choice::Word(word) => word.text.clone(),
                Choice::Text(text) => format!("{:?}", text.plain().unwrap()),
            };
            format!("({} is {}{choice})", shape(left), if *not { "not " } else { "" })
        }
        ExprKind::Meets(inner, rule) => format!("({} {})", shape(inner), limit(rule)),
        ExprKind::Outside(inner) => format!("({} outside)", shape(inner)),
        ExprKind::OutsideTolerance(path) => format!("(outside {})", name(path)),
        ExprKind::If { condition, then, otherwise } => {
            format!("(if {} then {} else {})", shape(condition), shape(then), shape(otherwise))
        }
    }
}

fn name(path: &Path) -> String {
    path.step.iter().map(|step| format!("{}.", step.text)).collect::<String>() + &path.name.text
}

fn pick(pick: &Pick) -> String {
    let axis = pick.axis.iter().map(|axis| format!("{} ", axis.text)).collect::<String>();
    match &pick.station {
        Station::Word(word) => axis + &word.text,
        Station::Value(value) => axis + &shape(value),
    }
}

fn limit(rule: &Rule) -> String {
    let mut text = match &rule.what {
        RuleOf::AtMost(bound) => format!("at most {}", shape(bound)),
        RuleOf::AtLeast(bound) => format!("at least {}", shape(bound)),
        RuleOf::Above(bound) => format!("above {}", shape(bound)),
        RuleOf::Below(bound) => format!("below {}", shape(bound)),
        RuleOf::FromTo(from, to) => format!("from {} to {}", shape(from), shape(to)),
        RuleOf::Within { bound, of: None } => format!("within {}", shape(bound)),
        RuleOf::Within { bound, of: Some(of) } => format!("within {} of {}", shape(bound), shape(of)),
        RuleOf::Before(date) => format!("before {}", shape(date)),
        other => format!("{other:?}"),
    };
    rule.per.iter().for_each(|(per, over)| text += &format!(" per {} over {}", shape(per), shape(over)));
    rule.window
        .iter()
        .for_each(|window| text += &format!(" in any {} by {:?}", shape(&window.length), window.by));
    text
}

fn is_read_as(text: &str, expected: &str) {
    match parse_expression(text) {
        Ok(expr) => assert_eq!(shape(&expr), expected, "{text}"),
        Err(problems) => panic!("{text}: {problems:?}"),
    }
}

fn is_refused(text: &str, code: &str) {
    assert_eq!(parse_expression(text).unwrap_err()[0].code.name(), code, "{text}");
}

#[test]
fn arithmetic_binds_as_on_paper() {
    is_read_as("a - b - c", "((a - b) - c)");
    is_read_as("a + b * c ^ 2 / d", "(a + ((b * (c ^ 2)) / d))");
    is_read_as("-a * b", "((- a) * b)");
    is_read_as("-(a + b)", "(- (a + b))");
    is_read_as("(a - b) * c", "((a - b) * c)");
    is_read_as("a * -b", "(a * (- b))");
}

#[test]
fn a_minus_where_a_value_may_begin_belongs_to_the_number() {
    is_read_as("-4 um", "-4 um");
    is_read_as("a - -4 um", "(a - -4 um)");
    is_read_as("a -4 um", "(a - 4 um)");
    is_read_as("a-4", "(a - 4)");
    is_read_as("2 * -3", "(2 * -3)");
}

#[test]
fn conditions_bind_looser_than_arithmetic_and_tighter_than_words() {
    is_read_as("a + b at most c + d and e", "(((a + b) at most (c + d)) and e)");
    is_read_as("a or b and not c or d", "((a or (b and (not c))) or d)");
    is_read_as("not every a at most 3 and b", "((not (every (a at most 3))) and b)");
    is_read_as("any shake above 2 mm/s or h is not yes", "((any (shake above 2 mm/s)) or (h is not yes))");
    is_read_as(
        "noise is smooth or noise is \"hum, quiet\"",
        "((noise is smooth) or (noise is \"hum, quiet\"))",
    );
    is_read_as("bought before 2026-03-02", "(bought before 2026-03-02)");
    is_read_as("lean outside and not outside local", "((lean outside) and (not (outside local)))");
    is_read_as("if a then b else if c then d else e + f", "(if a then b else (if c then d else (e + f)))");
}

#[test]
fn rules_take_arithmetic_and_their_own_words() {
    is_read_as("x within 0.2 * w of w", "(x within (0.2 * w) of w)");
    is_read_as("x within 5 % of w", "(x within (5 % of w))");
    is_read_as("5 % of a + b", "((5 % of a) + b)");
    is_read_as(
        "x from 0 mm to 0.015 mm per 300 mm over span(d over place)",
        "(x from 0 mm to 0.015 mm per 300 mm over span(d over place))",
    );
    is_read_as(
        "x at most 0.0075 mm in any 250 mm by spread",
        "(x at most 0.0075 mm in any 250 mm by Spread)",
    );
    is_read_as("x at most per(a, 300 mm, b)", "(x at most per(a, 300 mm, b))");
}

#[test]
fn functions_take_axes_ways_and_what_to_fall_back_on() {
    is_read_as("flatness(h over a and b by least_squares)", "flatness(h over a over b by least_squares)");
    is_read_as("change(x over time within 30 min)", "change(x over time within 30 min)");
    is_read_as("previous(L40.shake else 1.2 mm/s)", "previous(L40.shake else 1.2 mm/s)");
    is_read_as(
        "gain(machine(x over turn) over place) + bed.whole(l)",
        "(gain(machine(x over turn) over place) + bed.whole(l))",
    );
}

#[test]
fn stations_are_picked_by_axis_or_by_one_word() {
    is_read_as("x[turn 180 deg, place reach]", "x[turn 180 deg, place reach]");
    is_read_as("x[tail] - x[head]", "(x[tail] - x[head])");
    is_read_as("x[approach plus]", "x[approach plus]");
    is_read_as("x[place -10 mm]", "x[place -10 mm]");
    is_read_as("x[reach - 10 mm]", "x[(reach - 10 mm)]");
    is_read_as("x[0 mm]", "x[0 mm]");
}

#[test]
fn what_reads_in_two_ways_is_refused() {
    is_refused("a above 1 below 2", "line::chained");
    is_refused("a is b is c", "line::chained");
    is_refused("a = b", "line::unexpected");
    is_refused("a +", "line::breaks-off");
    is_refused("(a", "line::breaks-off");
    is_refused("from + 1", "line::reserved-word");
    is_refused("1.5 in", "line::unexpected");
    is_refused("a at most 3 mm/reach", "unit::unknown");
    is_refused("", "line::breaks-off");
}
