//! Functions whose arguments are names of results, tolerances or materials rather than values.

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Unit};
use crate::source::Span;
use crate::syntax::ast::{self, ExprKind};

use super::Checker;
use super::carried::{Carried, Typed, kind_name};
use super::expression::{Mood, Place, plain};
use super::names::What;
use super::program::{Expr, Function, JudgementId, Kind, Node, StepId, ValueId};
use super::sense::Direction;

/// Materials whose expansion and stiffness are known.
const MATERIALS: &[&str] = &[
    "steel",
    "cast_iron",
    "aluminium",
    "brass",
    "bronze",
    "granite",
    "invar",
    "chromium_carbide",
    "tungsten_carbide",
];

impl<'a> Checker<'a> {
    pub(super) fn special_call(
        &mut self,
        name: &str,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<Typed> {
        match name {
            "aim" => self.aim(arguments, span, place),
            "previous" => self.previous(arguments, span, place),
            "resolution" => self.resolution(arguments, span, place),
            "where" => self.where_worst(arguments, span, place),
            "per" => self.per(arguments, span, place),
            "without_background" => {
                self.wants_arguments::<2>(name, "the total and the background", arguments, span)?;
                let level = Kind::Quantity(Dimension::LEVEL);
                let arguments = self.arguments_of(arguments, &[level.clone(), level], name, place)?;
                self.made(Function::WithoutBackground, arguments, span)
            }
            "at_20_degC" => {
                self.wants_arguments::<3>(name, "a length, a material and a temperature", arguments, span)?;
                let length = Kind::Quantity(Dimension::LENGTH);
                let kinds = [length, materials(), Kind::Point];
                let arguments = self.arguments_of(arguments, &kinds, name, place)?;
                self.made(Function::At20DegC, arguments, span)
            }
            "undulation" => self.undulation(arguments, span, place),
            "circle_form" => self.circle(Function::CircleForm, name, arguments, span, place),
            "circle_diameter" => self.circle(Function::CircleDiameter, name, arguments, span, place),
            "circle_centre" => self.circle(Function::CircleCentre, name, arguments, span, place),
            "rounded" => self.rounded(arguments, span, place),
            "twist_shims" => self.twist_shims(arguments, span, place),
            "shims_to_level" => self.shims_to_level(arguments, span, place),
            "seating_shims" => self.seating_shims(arguments, span, place),
            "time_to_rate" => self.time_to_rate(arguments, span, place),
            _ if let Some(made) = self.formula(name, arguments, span, place) => made,
            _ => {
                // A stepped bar has three sizes a section, from where it is held outward.
                if arguments.len() < 4 || arguments.len() % 3 != 1 {
                    self.argument_count(
                        name,
                        span,
                        "length, diameter, bore of each section from where it is held, and the material",
                        arguments.len(),
                    );
                    return None;
                }
                let mut kinds = vec![Kind::Quantity(Dimension::LENGTH); arguments.len() - 1];
                kinds.push(materials());
                let arguments = self.arguments_of(arguments, &kinds, name, place)?;
                self.sizes_of_a_bar(&arguments)?;
                let mut sag = self.made(Function::Sag, arguments, span)?;
                // How far a bar hangs down: an amount, to be added with the sign that the author gives it.
                sag.carried = Carried { positive: Some(true), unit: Some(Unit::Mm), ..Carried::default() };
                Some(sag)
            }
        }
    }

    pub(super) fn arguments_of(
        &mut self,
        arguments: &[ast::Argument],
        kinds: &[Kind],
        name: &str,
        place: Place,
    ) -> Option<Vec<Typed>> {
        let mut lowered = Vec::new();
        for (argument, wanted) in arguments.iter().zip(kinds) {
            let typed = match (wanted, &argument.value.what) {
                (Kind::Choice(words), ExprKind::Name(path))
                    if path.step.is_none() && self.names.value(place.step, &path.name.text).is_none() =>
                {
                    if !words.contains(&path.name.text) {
                        let words = words.clone();
                        let help = self
                            .guess(&path.name.text, words.iter().map(String::as_str))
                            .unwrap_or_else(|| format!("it is one of {}", words.join(", ")));
                        self.report(
                            Problem::fault(
                                Code::NameUnknownChoice,
                                path.span,
                                format!("`{}` is no material that `{name}` knows", path.name.text),
                            )
                            .help(help),
                        );
                        return None;
                    }
                    plain(Node::Word(path.name.text.clone()), wanted.clone(), path.span)
                }
                _ => self.expr(&argument.value, place)?,
            };
            let fits = match (wanted, &typed.expr.kind) {
                (Kind::Choice(known), Kind::Choice(words)) => words.iter().all(|word| known.contains(word)),
                (wanted, found) => wanted == found,
            };
            if !fits {
                let (wanted, found) = (kind_name(wanted), kind_name(&typed.expr.kind));
                self.report(Problem::fault(
                    Code::UnitArgument,
                    argument.value.span,
                    format!(
                        "`{name}` wants {wanted} here, and `{}` is {found}",
                        self.words(argument.value.span)
                    ),
                ));
                return None;
            }
            lowered.push(typed);
        }
        Some(lowered)
    }

    /// A call that keeps kind and sense of its first argument, element by element.
    pub(super) fn made(&mut self, function: Function, arguments: Vec<Typed>, span: Span) -> Option<Typed> {
        let mut axes = Vec::new();
        let mut whole: Option<Expr> = None;
        for typed in &arguments {
            axes = match &whole {
                None => typed.expr.axes.clone(),
                Some(before) => self.meet(before, &typed.expr, span)?,
            };
            whole = Some(Expr { axes: axes.clone(), ..typed.expr.clone() });
        }
        let first = arguments.first()?;
        let (kind, mut carried) = (first.expr.kind.clone(), first.carried.clone());
        for typed in arguments.iter().skip(1) {
            carried.resolution = carried.resolution_with(&typed.carried);
        }
        let arguments = arguments.into_iter().map(|typed| typed.expr).collect();
        let node = Node::Call { function, arguments, over: Vec::new(), by: None };
        Some(Typed::new(Expr { node, kind, axes, sense: None, span }, carried))
    }

    /// `rounded(x, 0.002 mm)`: x to the nearest multiple of the step.
    fn rounded(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        self.wants_arguments::<2>("rounded", "a value and the step to round to", arguments, span)?;
        let [value, step] = arguments else { return None };
        let (value, step) = (self.expr(&value.value, place), self.single(&step.value, place));
        let (mut value, mut step) = (value?, step?);
        self.must_be_number(&value)?;
        self.same_kind(&mut value, &mut step, "rounded to each other")?;
        self.more_than_nothing(&step, "the step to round to")?;
        self.made(Function::Rounded, vec![value, step], span)
    }

    /// `per(x, 300 mm, span)`: x scaled from the span to that length.
    fn per(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        self.wants_arguments::<3>(
            "per",
            "a value, a length and the length it was taken over",
            arguments,
            span,
        )?;
        let [value, length, over] = arguments else { return None };
        let value = self.expr(&value.value, place);
        let length = self.expr(&length.value, place);
        let over = self.expr(&over.value, place);
        let (value, mut length, mut over) = (value?, length?, over?);
        self.must_be_number(&value)?;
        self.same_kind(&mut length, &mut over, "set against each other by `per`")?;
        self.more_than_nothing(&length, "the length that is scaled to")?;
        self.more_than_nothing(&over, "the length that was measured over")?;
        self.made(Function::Per, vec![value, length, over], span)
    }

    /// A result that stands as an argument by its name.
    fn result_argument(
        &mut self,
        function: &str,
        arguments: &[ast::Argument],
        span: Span,
        place: Place,
    ) -> Option<ValueId> {
        self.wants_arguments::<1>(function, "the name of one value", arguments, span)?;
        let argument = arguments.first()?;
        match &argument.value.what {
            ExprKind::Name(path) => self.find_value(path, place.step),
            _ => {
                self.report(
                    Problem::fault(
                        Code::RuleByName,
                        argument.value.span,
                        format!("`{function}` takes a value by its name"),
                    )
                    .help("give the value a name with `let`, and write that"),
                );
                None
            }
        }
    }

    fn aim(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        let id = self.result_argument("aim", arguments, span, place)?;
        let value = self.value(id, span, place)?;
        let tolerances = self.tolerances_on(id);
        let bands = tolerances.into_iter().filter(|tolerance| super::judge::is_band(tolerance));
        let (always, sometimes): (Vec<&ast::Tolerance>, Vec<&ast::Tolerance>) =
            bands.partition(|tolerance| tolerance.when.is_none());
        if always.len() > 1 || (always.is_empty() && sometimes.is_empty()) {
            let many = always.len() > 1;
            let name = self.value_name(id, place.step);
            let message = match many {
                true => format!("`{name}` has more than one band to aim at"),
                false => {
                    format!("no tolerance with two sides judges `{name}`, so there is no middle to aim at")
                }
            };
            let mut problem = Problem::fault(Code::RuleNoBand, span, message)
                .help("`aim` takes the middle of the one `from .. to` or `within` on a value; or write the aim as a number");
            for tolerance in always.iter().filter(|_| many) {
                problem = problem.and(tolerance.rule.span, "a band");
            }
            self.report(problem);
            return None;
        }
        let expr = Expr { node: Node::Aim(id), axes: value.expr.axes.clone(), ..value.expr };
        let carried = Carried { positive: None, resolution: Vec::new(), ..value.carried };
        Some(Typed::new(expr, carried))
    }

    fn previous(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        let id = self.result_argument("previous", arguments, span, place)?;
        let value = self.value(id, span, place.with(Mood::Forecast))?;
        if matches!(
            self.names.declared.get(id.0).map(|declared| declared.what),
            Some(What::Fact(_) | What::Adjustment(_))
        ) {
            self.report(
                Problem::fault(
                    Code::NameNotThat,
                    span,
                    "the record before holds readings and results of its steps",
                )
                .help("name one of them, as `previous(L40.shake)`"),
            );
            return None;
        }
        let otherwise = match arguments.first().and_then(|argument| argument.otherwise.as_ref()) {
            None => None,
            Some(node) => {
                let mut otherwise = self.single(node, place)?;
                let mut against = value.clone();
                self.same_kind(&mut against, &mut otherwise, "one in place of the other")?;
                Some(Box::new(otherwise.expr))
            }
        };
        if !self.lent.contains(&id) {
            self.lent.push(id);
        }
        let expr = Expr { node: Node::Previous { result: id, otherwise }, ..value.expr };
        Some(Typed::new(expr, Carried { resolution: Vec::new(), ..value.carried }))
    }

    fn resolution(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        let id = self.result_argument("resolution", arguments, span, place)?;
        let value = self.value(id, span, place)?;
        let Some(What::Read(read)) = self.names.declared.get(id.0).map(|declared| declared.what) else {
            let name = self.value_name(id, place.step);
            self.report(
                Problem::fault(
                    Code::NameNotThat,
                    span,
                    format!("`{name}` is not a reading, so no instrument reads it"),
                )
                .help("`resolution` takes the name of a `read` line"),
            );
            return None;
        };
        if read.using.is_empty() {
            self.report(
                Problem::fault(
                    Code::NameNotThat,
                    span,
                    format!("`{}` does not say which instrument reads it", read.name.text),
                )
                .and(read.name.span, "the reading")
                .help("add `using INSTRUMENT` to the reading"),
            );
            return None;
        }
        let kind =
            super::carried::difference_of(&value.expr.kind).map_or(value.expr.kind.clone(), Kind::Quantity);
        let expr = Expr { node: Node::Resolution(id), kind, axes: Vec::new(), ..value.expr };
        let carried = Carried {
            direction: Direction::Plain,
            positive: Some(true),
            unit: value.carried.unit.map(Unit::of_differences),
            ..value.carried
        };
        Some(Typed::new(expr, carried))
    }

    /// `where(local)`: the worst window of a tolerance, in words.
    fn where_worst(&mut self, arguments: &[ast::Argument], span: Span, place: Place) -> Option<Typed> {
        self.wants_arguments::<1>("where", "the name of one tolerance", arguments, span)?;
        let ExprKind::Name(path) = &arguments.first()?.value.what else {
            self.fault(Code::RuleByName, span, "`where` takes a tolerance by its name");
            return None;
        };
        let (step, judgement, tolerance) = self.tolerance_named(path, place)?;
        if tolerance.rule.window.is_none() {
            self.report(
                Problem::fault(Code::RuleNoWindow, span, format!("tolerance `{}` has no window, so there is no worst one", path.name.text))
                    .and(tolerance.rule.span, "its rule")
                    .help("`where` speaks of a rule with `in any LENGTH`; `station_of_greatest(x over axis)` gives a station"),
            );
            return None;
        }
        Some(plain(Node::Where(step, judgement), Kind::Text, span))
    }

    /// A tolerance by its own name.
    pub(super) fn tolerance_named(
        &mut self,
        path: &ast::Path,
        place: Place,
    ) -> Option<(StepId, JudgementId, &'a ast::Tolerance)> {
        let step = match &path.step {
            Some(step) => {
                let named = self.step_named(step)?;
                self.names.meant(place.step, named, path.span)
            }
            None => match place.step {
                Some(step) => step,
                None => {
                    self.fault(
                        Code::NameUnknownTolerance,
                        path.span,
                        "a tolerance is named with its step, as `L4.local`",
                    );
                    return None;
                }
            },
        };
        let found = self
            .names
            .scopes
            .get(step.0)
            .and_then(|scope| scope.tolerances.get(path.name.text.as_str()))
            .copied();
        let Some((judgement, tolerance)) = found else {
            let value = self
                .names
                .scopes
                .get(step.0)
                .is_some_and(|scope| scope.values.contains_key(path.name.text.as_str()));
            let help = match value {
                true => Some(format!("`{0}` is a value; write `{0} outside`", path.name.text)),
                false => self.guess_name(&path.name.text, |names| {
                    let scope = names.scopes.get(step.0);
                    scope.map(|scope| scope.tolerances.keys().copied().collect()).unwrap_or_default()
                }),
            };
            let name = &path.name.text;
            let mut problem = Problem::fault(
                Code::NameUnknownTolerance,
                path.span,
                format!("step {} has no tolerance called `{name}`", self.step_name(step)),
            );
            problem.help = help.or_else(|| {
                Some(format!("give one that name: tolerance {name} \"what it limits\" RESULT ..."))
            });
            self.report(problem);
            return None;
        };
        if place.step.is_some_and(|own| own != step)
            && let Some(own) = place.step
            && place.mood == Mood::Works
        {
            self.uses.entry((own, step)).or_insert(path.span);
        }
        Some((step, judgement, tolerance))
    }

    /// The tolerances that judge a value, in its own step.
    pub(super) fn tolerances_on(&self, value: ValueId) -> Vec<&'a ast::Tolerance> {
        let Some(step) = self.names.declared.get(value.0).and_then(|declared| declared.step) else {
            return Vec::new();
        };
        self.names.scopes.get(step.0).and_then(|scope| scope.judged.get(&value)).cloned().unwrap_or_default()
    }
}

fn materials() -> Kind {
    Kind::Choice(MATERIALS.iter().map(|word| (*word).to_string()).collect())
}
