//! `expect` lines, resolved and typed. Whether they come out is for the walk to try.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Real, Unit};
use crate::syntax::ast::{self, AnswerOf, Expected, Figure, Item};

use super::Checker;
use super::answers::{count, literal_expr, plain, unknown, value_name};
use super::carried::{difference_of, dimension_of, kind_name};
use super::command::{Commands, Found, Standing};
use super::program::{
    Example, Expect, Expr, JudgementId, Kind, Node, Program, Role, StateWord, StepId, ValueId, WalkVerdict,
    Which,
};

impl Checker<'_> {
    /// Examples are resolved against the finished program, with the words of the prompt.
    pub(super) fn lower_examples(&mut self, program: &mut Program) {
        if self.problems.iter().any(Problem::is_fault) {
            // What an example names may have failed above; it is looked at when the rest is sound.
            return;
        }
        let commands = Commands::new(program);
        let file = self.file;
        let mut titles = std::collections::HashMap::new();
        let mut examples = Vec::new();
        for line in &file.items {
            let Item::Example(node) = &line.what else { continue };
            let title = node.title.plain().unwrap_or_default();
            if let Some(first) = titles.insert(title.clone(), node.title.span) {
                self.report(
                    Problem::fault(Code::NameTaken, node.title.span, "there are two examples of this title")
                        .and(first, "the first")
                        .help("give one of them another title, so that it can be asked for"),
                );
            }
            let mut example = Example { title, lines: Vec::new(), span: line.span };
            for line in &node.lines {
                match commands.resolve(program, None, &line.what, line.span) {
                    Ok(act) => example.lines.push((act, line.span)),
                    Err(problems) => problems.into_iter().for_each(|problem| self.report(problem)),
                }
            }
            examples.push(example);
        }
        program.examples = examples;
    }
}

impl Commands {
    pub(super) fn expect(&self, at: Standing, expect: &ast::Expect) -> Found<Expect> {
        let which = match expect.as_when {
            None => Which::Now,
            Some(ast::AsWhen::Found) => Which::AsFound,
            Some(ast::AsWhen::Left) => Which::AsLeft,
        };
        Ok(match &expect.what {
            Expected::Values { target, rows, within } => {
                let (value, picks) = self.target(at, target)?;
                let mut values = Vec::new();
                for answer in rows.rows.iter().flatten() {
                    values.push(self.expected_value(at, value, answer)?);
                }
                let within = self.allowance(at, value, within.as_ref())?;
                Expect::Value { which, value, picks, values, within }
            }
            Expected::State { path, state, window } => {
                self.state(at, which, path, *state, window.as_ref())?
            }
            Expected::Figure { target, figure, value, within } => {
                self.figure(at, target, *figure, value, within.as_ref())?
            }
            Expected::NotAdvised(target) => {
                let (adjustment, picks) = self.target(at, target)?;
                self.is_adjustment(at, adjustment, target.span)?;
                Expect::Advised { adjustment, picks, value: None }
            }
            Expected::WithdrawnAdvice(target) => {
                let (adjustment, _) = self.target(at, target)?;
                self.is_adjustment(at, adjustment, target.span)?;
                Expect::WithdrawnAdvice(adjustment)
            }
            Expected::Joined(path) => Expect::Joined(self.step(path.step.as_ref().unwrap_or(&path.name))?),
            Expected::Agrees(name) => self.crosscheck_named(name, true)?,
            Expected::LookAgain(name) => self.crosscheck_named(name, false)?,
            Expected::Query => Expect::Query,
            Expected::Refused => Expect::Refused,
            Expected::Exceptions(number) => {
                Expect::Exceptions(usize::try_from(count(number)?).unwrap_or(usize::MAX))
            }
            Expected::Verdict(verdict) => Expect::Verdict(match verdict {
                ast::Verdict::Accepted => WalkVerdict::Accepted,
                ast::Verdict::AcceptedWithExceptions => WalkVerdict::AcceptedWithExceptions,
                ast::Verdict::NotAccepted => WalkVerdict::NotAccepted,
                ast::Verdict::Unfinished => WalkVerdict::Unfinished,
            }),
        })
    }

    fn crosscheck_named(&self, name: &ast::Name, agrees: bool) -> Found<Expect> {
        match self.crosschecks.get(&name.text) {
            Some(crosscheck) => Ok(Expect::Crosscheck { crosscheck: *crosscheck, agrees }),
            None => Err(unknown(
                Code::NameUnknown,
                name,
                "crosscheck",
                self.crosschecks.keys().map(String::as_str),
            )),
        }
    }

    fn state(
        &self,
        at: Standing,
        which: Which,
        path: &ast::Path,
        state: ast::State,
        window: Option<&ast::Range>,
    ) -> Found<Expect> {
        let state = state_word(state);
        if path.step.is_none() {
            if let Some(window) = window {
                return Err(Box::new(
                    Problem::fault(Code::ExampleEntry, window.span, "a step has no window")
                        .help("name the tolerance, as `L4.local fails from 250 mm to 500 mm`"),
                ));
            }
            return Ok(Expect::Step { which, step: self.step(&path.name)?, state });
        }
        let (step, judgement) = self.judgement(at, path)?;
        let window = match window {
            None => None,
            Some(window) => Some((self.bound(&window.from)?, self.bound(&window.to)?)),
        };
        Ok(Expect::Judgement { which, step, judgement, state, window })
    }

    fn bound(&self, node: &ast::Expr) -> Found<Expr> {
        match &node.what {
            ast::ExprKind::Quantity(quantity) => literal_expr(quantity, None),
            _ => Err(Box::new(Problem::fault(
                Code::ExampleEntry,
                node.span,
                "a number with its unit is wanted here",
            ))),
        }
    }

    /// A named tolerance, or the only one on a value.
    fn judgement(&self, at: Standing, path: &ast::Path) -> Found<(StepId, JudgementId)> {
        let step = match &path.step {
            Some(step) => self.step(step)?,
            None => at.step.ok_or_else(|| {
                Box::new(Problem::fault(
                    Code::NameUnknownTolerance,
                    path.span,
                    "a tolerance is named with its step",
                ))
            })?,
        };
        if let Some(judgement) = self.tolerances.get(&(step, path.name.text.clone())) {
            return Ok((step, *judgement));
        }
        let value = self.value(at, path).ok();
        match value.and_then(|value| self.judging.get(&value)).map(Vec::as_slice) {
            Some([judgement]) => Ok((step, *judgement)),
            Some(_) => Err(Box::new(
                Problem::fault(
                    Code::NameUnknownTolerance,
                    path.span,
                    format!("more than one tolerance judges `{}`", path.name.text),
                )
                .help("give each tolerance a name, and name the one that is meant"),
            )),
            None => {
                let names =
                    self.tolerances.keys().filter(|(of, _)| *of == step).map(|(_, name)| name.as_str());
                Err(unknown(Code::NameUnknownTolerance, &path.name, "tolerance", names))
            }
        }
    }

    fn figure(
        &self,
        at: Standing,
        target: &ast::Target,
        figure: Figure,
        value: &ast::Quantity,
        within: Option<&ast::Quantity>,
    ) -> Found<Expect> {
        match figure {
            Figure::Uncertainty => {
                let (of, picks) = self.target(at, target)?;
                let expected = self.difference(at, of, value)?;
                let within = self.allowance(at, of, within)?;
                Ok(Expect::Uncertainty { value: of, picks, expected, within })
            }
            Figure::Advised => {
                let (adjustment, picks) = self.target(at, target)?;
                self.is_adjustment(at, adjustment, target.span)?;
                let amount = self.difference(at, adjustment, value)?;
                let within = self.allowance(at, adjustment, within)?;
                Ok(Expect::Advised { adjustment, picks, value: Some((amount, within)) })
            }
            Figure::Predicted => {
                let (result, _) = self.target(at, target)?;
                let within = self.allowance(at, result, within)?;
                Ok(Expect::Predicted { result, value: self.quantity_of(at, result, value)?, within })
            }
            Figure::Limit => {
                let (step, judgement) = self.judgement(at, &target.path)?;
                let judged = at.program.steps.get(step.0).and_then(|step| step.judgements.get(judgement.0));
                let of = match judged.map(|judgement| &judgement.of) {
                    Some(super::program::Judged::Tolerance { value, .. }) => Some(*value),
                    _ => None,
                };
                let (limit, within) = match of {
                    Some(of) => (self.quantity_of(at, of, value)?, self.allowance(at, of, within)?),
                    None => (literal_expr(value, None)?, None),
                };
                Ok(Expect::Limit { step, judgement, value: limit, within })
            }
        }
    }

    fn expected_value(&self, at: Standing, value: ValueId, answer: &ast::Answer) -> Found<Expr> {
        let Some(of) = at.program.values.get(value.0) else {
            return Err(Box::new(Problem::fault(Code::ExampleEntry, answer.span, "there is no such value")));
        };
        let made = |node: Node| Expr {
            node,
            kind: of.kind.clone(),
            axes: Vec::new(),
            sense: None,
            span: answer.span,
        };
        match (&of.kind, &answer.what) {
            (Kind::Quantity(_) | Kind::Point | Kind::Count, AnswerOf::Quantity(quantity)) => {
                self.quantity_of(at, value, quantity)
            }
            (Kind::Choice(words), AnswerOf::Word(word)) if words.contains(&word.text) => {
                Ok(made(Node::Word(word.text.clone())))
            }
            (Kind::YesNo, AnswerOf::Word(word)) if word.text == "yes" || word.text == "no" => {
                Ok(made(Node::YesNo(word.text == "yes")))
            }
            (Kind::Text, AnswerOf::Text(text)) => Ok(made(Node::Text(plain(text)))),
            (Kind::Text, AnswerOf::Word(word)) => Ok(made(Node::Text(word.text.clone()))),
            (Kind::Date, AnswerOf::Date(date)) => match date.text.parse() {
                Ok(date) => Ok(made(Node::Date(date))),
                Err(_) => Err(Box::new(Problem::fault(
                    Code::UnitDate,
                    date.span,
                    format!("there is no day {}", date.text),
                ))),
            },
            _ => Err(Box::new(
                Problem::fault(
                    Code::ExampleEntry,
                    answer.span,
                    format!("`{}` is {}, and can never be this", of.name, kind_name(&of.kind)),
                )
                .help("write what is expected in the unit of the value"),
            )),
        }
    }

    /// A literal that is held against a value; bare, it is in the unit of the value.
    fn quantity_of(&self, at: Standing, value: ValueId, quantity: &ast::Quantity) -> Found<Expr> {
        let Some(of) = at.program.values.get(value.0) else { return literal_expr(quantity, None) };
        let mut expr = literal_expr(quantity, of.unit)?;
        self.scale(at, value, &mut expr);
        let fits = expr.kind == of.kind
            || dimension_of(&expr.kind).is_some_and(|found| Some(found) == dimension_of(&of.kind));
        match fits {
            true => Ok(expr),
            false => Err(mismatch(at, value, &expr, &kind_name(&of.kind))),
        }
    }

    /// As `quantity_of`, for a change of the value or an amount.
    fn difference(&self, at: Standing, value: ValueId, quantity: &ast::Quantity) -> Found<Expr> {
        let Some(of) = at.program.values.get(value.0) else { return literal_expr(quantity, None) };
        let mut expr = literal_expr(quantity, of.unit.map(Unit::of_differences))?;
        self.scale(at, value, &mut expr);
        let wanted = difference_of(&of.kind);
        match dimension_of(&expr.kind).is_some_and(|found| Some(found) == wanted) {
            true => Ok(expr),
            false => {
                let wanted = wanted.map_or("a number".to_string(), Dimension::name);
                Err(mismatch(at, value, &expr, &wanted))
            }
        }
    }

    fn allowance(&self, at: Standing, value: ValueId, within: Option<&ast::Quantity>) -> Found<Option<Expr>> {
        within.map(|within| self.difference(at, value, within)).transpose()
    }

    /// A literal in div of a reading whose instrument has a scale means div x scale, as in every expression.
    fn scale(&self, at: Standing, value: ValueId, expr: &mut Expr) {
        if expr.kind != Kind::Quantity(Dimension::DIVISION) {
            return;
        }
        let reading = at.program.values.get(value.0).map(|value| &value.role);
        let Some(Role::Reading(reading)) = reading else { return };
        let instrument = reading.instruments.first().and_then(|id| at.program.instruments.get(id.0));
        let Some(scale) = instrument.and_then(|instrument| instrument.scale.as_ref()) else { return };
        if let (Node::Number(number), Real::Exact(factor)) =
            (&mut expr.node, scale.unit.to_base(&Real::Exact(scale.number.clone())))
        {
            *number = &*number * &factor;
            expr.kind = Kind::Quantity(scale.unit.dimension());
        }
    }
}

fn mismatch(at: Standing, value: ValueId, expr: &Expr, wanted: &str) -> Box<Problem> {
    let found = kind_name(&expr.kind);
    Box::new(
        Problem::fault(
            Code::UnitMismatch,
            expr.span,
            format!("`{}` is {wanted}, and this is {found}", value_name(at, value)),
        )
        .help("write it in the unit of the value"),
    )
}

fn state_word(state: ast::State) -> StateWord {
    match state {
        ast::State::Passes => StateWord::Passes,
        ast::State::Fails => StateWord::Fails,
        ast::State::Undecided => StateWord::Undecided,
        ast::State::Invalid => StateWord::Invalid,
        ast::State::Recorded => StateWord::Recorded,
        ast::State::Stale => StateWord::Stale,
        ast::State::Blocked => StateWord::Blocked,
        ast::State::Skipped => StateWord::Skipped,
        ast::State::Waived => StateWord::Waived,
        ast::State::NotApplicable => StateWord::NotApplicable,
        ast::State::NotReached => StateWord::NotReached,
        ast::State::ToDo => StateWord::ToDo,
        ast::State::Stopped => StateWord::Stopped,
    }
}
