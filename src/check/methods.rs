//! `step R2 "..." follows run_in(600 rpm)`: the lines of a method, with what is given for its parameters, become lines of
//! the step before anything is looked up. The step's own lines are put in as those of a step that repeats another.
//!
//! A parameter becomes a value of the step, so that it stands on the record beside the results.

use std::borrow::Cow;
use std::collections::HashMap;

use crate::diagnostic::{Code, Problem, nearest};
use crate::quantity::{Real, Unit, parse_decimal};
use crate::source::Span;
use crate::syntax::ast::{self, Expr, ExprKind, Item, KindOf, Line, StepLine};

use super::repeats::{MOST_LINES, key};

/// The file with every step that follows a method written out, and what is wrong with how they follow it.
pub(super) fn written_out(file: &ast::File) -> (Cow<'_, ast::File>, Vec<Problem>) {
    let follows = |line: &Line<Item>| matches!(&line.what, Item::Step(step) if step.follows.is_some());
    if !file.items.iter().any(follows) {
        return (Cow::Borrowed(file), Vec::new());
    }
    let mut methods: HashMap<&str, &ast::Method> = HashMap::new();
    for line in &file.items {
        if let Item::Method(method) = &line.what {
            methods.entry(&method.name.text).or_insert(method);
        }
    }
    let mut whole = file.clone();
    let mut problems = Vec::new();
    let mut total = 0;
    for line in &mut whole.items {
        let Item::Step(step) = &mut line.what else { continue };
        let Some(follows) = step.follows.clone() else { continue };
        let Some(method) = methods.get(follows.method.text.as_str()) else {
            problems.push(unknown(&follows.method, methods.keys().copied()));
            continue;
        };
        let Some(given) = given(method, &follows, &mut problems) else { continue };
        step.lines = merged(given, &method.lines, std::mem::take(&mut step.lines));
        total += step.lines.len();
        if total > MOST_LINES {
            let text = format!("steps that follow methods make more than {MOST_LINES} lines");
            problems.push(Problem::fault(Code::FlowRepeatsCycle, follows.span, text));
            break;
        }
    }
    (Cow::Owned(whole), problems)
}

fn unknown<'n>(name: &ast::Name, known: impl Iterator<Item = &'n str>) -> Problem {
    let mut known: Vec<&str> = known.collect();
    known.sort_unstable();
    let help = match nearest(&name.text, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("add it: method {}(speed in rpm), with the lines of a step beneath", name.text),
    };
    Problem::fault(Code::NameUnknownMethod, name.span, format!("there is no method `{}`", name.text))
        .help(help)
}

/// The parameters as values of the step. None has been reported.
fn given(
    method: &ast::Method,
    follows: &ast::Follows,
    problems: &mut Vec<Problem>,
) -> Option<Vec<Line<StepLine>>> {
    let (wanted, found) = (method.parameters.len(), follows.arguments.len());
    if wanted != found {
        let names: Vec<&str> = method.parameters.iter().map(|it| it.name.text.as_str()).collect();
        problems.push(
            Problem::fault(
                Code::NameArguments,
                follows.span,
                format!("`{}` takes {wanted} values, and {found} are given", method.name.text),
            )
            .and(method.name.span, "the method")
            .help(format!("write `follows {}({})`", method.name.text, names.join(", "))),
        );
        return None;
    }
    let mut lines = Vec::new();
    for (parameter, argument) in method.parameters.iter().zip(&follows.arguments) {
        match value(parameter, argument) {
            Ok(value) => lines.push(Line {
                span: argument.span,
                layout: usize::MAX,
                what: StepLine::Let(ast::Let { argument: true, ..value }),
            }),
            Err(problem) => problems.push(problem.and(parameter.name.span, "the parameter")),
        }
    }
    (lines.len() == wanted).then_some(lines)
}

fn value(parameter: &ast::Parameter, argument: &Expr) -> Result<ast::Let, Problem> {
    let name = &parameter.name.text;
    let mismatch = |text: String| Problem::fault(Code::UnitMismatch, argument.span, text);
    let (value, unit) = match &parameter.kind.what {
        KindOf::OneOf(words) => {
            let chosen = match &argument.what {
                ExprKind::Name(path) if path.step.is_none() => Some(&path.name),
                _ => None,
            };
            let Some(word) = chosen.filter(|word| words.iter().any(|it| it.text == word.text)) else {
                let words: Vec<&str> = words.iter().map(|it| it.text.as_str()).collect();
                return Err(mismatch(format!("`{name}` is one of {}", words.join(", ")))
                    .help("write one of these words"));
            };
            let what = ExprKind::Chosen(word.clone(), words.clone());
            (Expr { span: argument.span, what }, None)
        }
        KindOf::In(unit, range) => {
            if let Some(range) = range
                && let (Some(from), Some(to), Some(own)) =
                    (size(&range.from, &unit.text), size(&range.to, &unit.text), size(argument, &unit.text))
                && !(own.is_at_least(&from) && own.is_at_most(&to))
            {
                return Err(mismatch(format!("`{name}` lies outside what the method is for"))
                    .and(range.span, "it is for these"));
            }
            let mut argument = argument.clone();
            // As at a question: a bare number is in the unit that is asked for.
            if let ExprKind::Quantity(quantity) = &mut argument.what {
                quantity.unit.get_or_insert_with(|| unit.clone());
            }
            (argument, Some(unit.clone()))
        }
        KindOf::YesOrNo | KindOf::Date | KindOf::Count => (argument.clone(), None),
        KindOf::Text | KindOf::Photo => {
            return Err(Problem::fault(
                Code::NameArguments,
                parameter.kind.span,
                format!("`{name}` cannot be a parameter: a text or a picture is no value to work with"),
            )
            .help("a parameter is `in UNIT`, `one of ...`, `yes or no`, a `date` or a `count`"));
        }
    };
    let at = |text: &str| ast::Prose { span: argument.span, parts: vec![ast::Piece::Text(text.to_owned())] };
    Ok(ast::Let {
        name: ast::Name { text: name.clone(), span: argument.span },
        label: at(name),
        value,
        unit,
        sense: Vec::new(),
        argument: true,
    })
}

/// A number with its unit in base units; a bare one is in the unit of the parameter.
fn size(expr: &Expr, bare: &str) -> Option<Real> {
    let ExprKind::Quantity(quantity) = &expr.what else { return None };
    let unit = Unit::parse(quantity.unit.as_ref().map_or(bare, |unit| &unit.text))?;
    Some(unit.to_base(&Real::Exact(parse_decimal(&quantity.number.text)?)))
}

/// The values of the parameters, the lines of the method, and the step's own in their place or behind.
fn merged(
    mut lines: Vec<Line<StepLine>>,
    method: &[Line<StepLine>],
    own: Vec<Line<StepLine>>,
) -> Vec<Line<StepLine>> {
    let given = lines.len();
    lines.extend(method.iter().cloned());
    let mut places = HashMap::new();
    for (at, line) in method.iter().enumerate() {
        if let Some(key) = key(&line.what) {
            places.insert(key, given + at);
        }
    }
    for line in own {
        let place = key(&line.what).and_then(|key| places.get(&key).copied());
        match place.and_then(|at| lines.get_mut(at)) {
            Some(there) => *there = line,
            None => lines.push(line),
        }
    }
    lines
}

/// A method that no step of a procedure follows is text that nobody has checked.
/// What a library has more is for others.
pub(super) fn not_followed(file: &ast::File, main: Span) -> Vec<Problem> {
    let names = |line: &Line<Item>| match &line.what {
        Item::Step(step) => step.follows.as_ref().map(|follows| follows.method.text.clone()),
        _ => None,
    };
    let followed: Vec<String> = file.items.iter().filter_map(names).collect();
    let is_library = file.items.iter().any(|line| matches!(line.what, Item::Library(_)));
    let unused = |line: &Line<Item>| match &line.what {
        Item::Method(method) if !followed.contains(&method.name.text) && line.span.start < main.end => {
            Some(warn(&method.name.text, method.name.span))
        }
        _ => None,
    };
    if is_library { Vec::new() } else { file.items.iter().filter_map(unused).collect() }
}

fn warn(name: &str, span: Span) -> Problem {
    Problem::warning(Code::FlowUnusedMethod, span, format!("no step follows the method `{name}`"))
        .label("its lines are checked only where a step follows it")
        .help(format!("write `step NAME \"what is tested\" follows {name}(...)`, or take the method away"))
}
