//! Uncertainty and decision, as far as the file tells: rules that are one, sizes that fit what is read, and tolerances
//! that are to be guarded by an uncertainty that nobody has stated.

use num_traits::Signed;

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Rational, Real, Unit, parse_decimal, ratio};
use crate::source::Span;
use crate::syntax::ast::{self, Decide, DecideRule, Item};

use super::Checker;
use super::carried::{difference_of, kind_name};
use super::program::{
    Decision, Instrument, InstrumentId, Judged, Kind, Literal, Node, Role, Spread, StepId, Uncertainty,
    UncertaintySource, ValueId,
};

impl Checker<'_> {
    /// The decision rule of a `decide` line; one that is none is reported and counts as simple.
    pub(super) fn decision(&mut self, decide: &Decide, span: Span) -> Decision {
        decision_of(decide).unwrap_or_else(|| {
            self.report(
                Problem::fault(
                    Code::UnitNumber,
                    span,
                    format!("`{}` is no probability that a decision can rest on", self.words(span)),
                )
                .label("from 50 % up to less than 100 %")
                .help("write `decide guarded 95 %`, `decide guarded U` or `decide simple`"),
            );
            Decision::Simple
        })
    }

    /// The rule of the whole file, for steps that state none of their own.
    pub(super) fn decision_of_file(&self) -> Decision {
        self.decide_of_file().and_then(decision_of).unwrap_or_default()
    }

    /// Whether uncertainties come from draws, in steps that state no rule of their own.
    pub(super) fn draws_of_file(&self) -> bool {
        self.decide_of_file().is_some_and(|decide| decide.by_draws)
    }

    fn decide_of_file(&self) -> Option<&Decide> {
        self.file.items.iter().find_map(|line| match &line.what {
            Item::Decide(decide) => Some(decide),
            _ => None,
        })
    }

    /// `zero Q k 2`: what a certificate says, with its coverage factor.
    pub(super) fn stated(
        &mut self,
        source: UncertaintySource,
        size: &ast::Quantity,
        spread: &ast::Spread,
    ) -> Option<Uncertainty> {
        let literal = self.positive(size, "an uncertainty");
        let literal = literal?;
        let (spread, freedom) = match spread_of(spread, &literal) {
            Ok(spread) => spread,
            Err(problem) => {
                self.report(*problem);
                return None;
            }
        };
        if source == UncertaintySource::Scale && literal.unit.dimension() != Dimension::NONE {
            self.report(
                Problem::fault(
                    Code::UnitMismatch,
                    size.span,
                    format!("an uncertainty of the scale is a part of the reading, not `{}`", self.words(size.span)),
                )
                .help("write it in %, as `uncertainty scale 0.5 % k 2`; one that does not grow with the reading is `fresh` or `zero`"),
            );
            return None;
        }
        Some(Uncertainty { source, size: literal, spread, freedom })
    }

    /// An uncertainty of an instrument is of the kind of what is read with it.
    pub(super) fn uncertainties_fit(&mut self, read: &ast::Read, instruments: &[InstrumentId], kind: &Kind) {
        let Some(wanted) = difference_of(kind) else { return };
        for id in instruments {
            let Some(instrument) = self.instruments.get(id.0) else { continue };
            let odd = instrument.uncertainties.iter().find(|stated| {
                stated.source != UncertaintySource::Scale && dimension_in(instrument, stated) != wanted
            });
            if let Some(odd) = odd {
                let found = dimension_in(instrument, odd).name();
                let message = format!(
                    "`{}` is {}, and an uncertainty of `{}` is {found}",
                    read.name.text,
                    kind_name(kind),
                    instrument.name
                );
                let (own, span) = (read.unit.span, instrument.span);
                self.report(
                    Problem::fault(Code::UnitMismatch, own, message)
                        .label("read in this unit")
                        .and(span, "the instrument")
                        .help("state the uncertainty in the unit of the reading, or in div where the instrument has a `scale`"),
                );
            }
        }
    }

    /// A part of the uncertainty that no instrument carries: of the kind of its result.
    pub(super) fn set_up_fits(&mut self, part: &Uncertainty, on: ValueId, span: Span) -> bool {
        let Some(value) = self.values.get(on.0) else { return true };
        let fits = difference_of(&value.kind) == Some(part.size.unit.dimension());
        if !fits {
            let (found, wanted) = (part.size.unit.dimension().name(), kind_name(&value.kind));
            let name = value.name.clone();
            self.fault(
                Code::UnitMismatch,
                span,
                format!("`{name}` is {wanted}, and its uncertainty is given as {found}"),
            );
        }
        fits
    }

    /// Under a guarded rule every reading that a tolerance rests on states how uncertain it is.
    pub(super) fn check_guarded(&mut self) {
        // A source that was refused may be the one that is missing.
        if !self.file.broken.is_empty() || self.problems.iter().any(Problem::is_fault) {
            return;
        }
        let mut found = Vec::new();
        for (at, step) in self.steps.iter().enumerate() {
            if step.decision == Decision::Simple {
                continue;
            }
            for judgement in &step.judgements {
                let Judged::Tolerance { value, .. } = &judgement.of else { continue };
                if let Some(reading) = self.reading_without(*value) {
                    found.push((StepId(at), judgement.span, reading));
                }
            }
        }
        for (step, span, reading) in found {
            let name = self.value_name(reading, Some(step));
            let at = self.names.declared.get(reading.0).map(|declared| declared.name.span);
            let mut problem = Problem::fault(
                Code::RuleNoUncertainty,
                span,
                format!("a guarded decision, and nothing says how uncertain `{name}` is"),
            )
            .label("judged by an uncertainty that is not known")
            .help(
                "read it `using` an instrument with `resolution` and `uncertainty fresh Q k 2`, state `uncertainty set_up Q k 2 on` it, \
                 or write `decide simple` in this step",
            );
            if let Some(at) = at {
                problem = problem.and(at, "no instrument that states anything");
            }
            self.report(problem);
        }
    }

    /// A reading under this value for which nothing is stated.
    fn reading_without(&self, value: ValueId) -> Option<ValueId> {
        let mut waiting = vec![value];
        let mut seen = std::collections::HashSet::from([value]);
        while let Some(id) = waiting.pop() {
            if self.steps.iter().any(|step| step.set_up.iter().any(|(_, on, _)| *on == id)) {
                continue;
            }
            let Some(value) = self.values.get(id.0) else { continue };
            match &value.role {
                Role::Reading(reading) if difference_of(&value.kind).is_some() => {
                    let states = |id: &InstrumentId| {
                        let instrument = self.instruments.get(id.0);
                        instrument.is_some_and(|it| it.resolution.is_some() || !it.uncertainties.is_empty())
                    };
                    let known = !reading.instruments.is_empty() && reading.instruments.iter().all(states);
                    if !known && value.kind != Kind::Count {
                        return Some(id);
                    }
                }
                Role::Let(expr) => expr.each(&mut |inner| {
                    if let Node::Value(below) = &inner.node
                        && seen.insert(*below)
                    {
                        waiting.push(*below);
                    }
                }),
                _ => {}
            }
        }
        None
    }
}

/// What the size of an uncertainty means, and its degrees of freedom.
pub(super) fn spread_of(
    spread: &ast::Spread,
    size: &Literal,
) -> Result<(Spread, Option<Rational>), Box<Problem>> {
    let freedom = spread.freedom.as_ref().map(|number| {
        parse_decimal(&number.text).filter(Signed::is_positive).ok_or_else(|| {
            let message = format!("`{}` cannot be a number of degrees of freedom", number.text);
            let problem = Problem::fault(Code::UnitNumber, number.span, message);
            Box::new(problem.help("n readings have n - 1; leave it away where the certificate names none"))
        })
    });
    Ok((shape_of(&spread.shape, size)?, freedom.transpose()?))
}

fn shape_of(shape: &ast::Shape, size: &Literal) -> Result<Spread, Box<Problem>> {
    let coverage = match shape {
        ast::Shape::Rectangular => return Ok(Spread::Rectangular),
        ast::Shape::Triangular => return Ok(Spread::Triangular),
        ast::Shape::Arcsine => return Ok(Spread::Arcsine),
        ast::Shape::Trapezoidal(top) => return part_of(&TOP, top, size).map(Spread::Trapezoidal),
        ast::Shape::Loose(known) => return part_of(&LOOSE, known, size).map(Spread::Loose),
        ast::Shape::Coverage(coverage) => coverage,
    };
    parse_decimal(&coverage.text).filter(Signed::is_positive).map(Spread::Coverage).ok_or_else(|| {
        let message = format!("`{}` cannot be a coverage factor", coverage.text);
        let problem = Problem::fault(Code::UnitNumber, coverage.span, message);
        Box::new(problem.help("certificates mostly state U with k 2; a standard uncertainty has k 1"))
    })
}

/// What is said where a second width does not go with the half width before it.
struct Second {
    other_kind: &'static str,
    name: &'static str,
    too_wide: &'static str,
    help: &'static str,
}

const TOP: Second = Second {
    other_kind: "top and foot of a trapezoid are of one kind",
    name: "flat top",
    too_wide: "the flat top of a trapezoid is narrower than its foot",
    help: "the half width within which it surely lies, then that within which no place is likelier: `0.002 mm trapezoidal flat 0.001 mm`; as wide it is `rectangular`, without a top `triangular`",
};

const LOOSE: Second = Second {
    other_kind: "a width and what it is known to are of one kind",
    name: "give or take",
    too_wide: "a half width is known to less than itself",
    help: "the half width, then to how much it is known: `0.002 mm rectangular give or take 0.0005 mm`",
};

/// Which part of the half width the second one is.
fn part_of(second: &Second, stated: &ast::Quantity, half: &Literal) -> Result<Rational, Box<Problem>> {
    let (span, stated) = (stated.span, super::answers::literal(stated)?);
    let base = |of: &Literal| of.unit.of_differences().to_base(&Real::Exact(of.number.clone()));
    let both_in_div = (stated.unit == Unit::Div) == (half.unit == Unit::Div);
    if !both_in_div || stated.unit.dimension() != half.unit.dimension() {
        let problem = Problem::fault(Code::UnitMismatch, span, second.other_kind);
        return Err(Box::new(problem.help(format!(
            "state the {} in {} too",
            second.name,
            half.unit.symbol()
        ))));
    }
    let part = base(&stated).div(&base(half)).and_then(|part| part.exact().cloned());
    part.filter(|part| part.is_positive() && *part < Rational::from_integer(1.into()))
        .ok_or_else(|| Box::new(Problem::fault(Code::UnitNumber, span, second.too_wide).help(second.help)))
}

/// The dimension of a stated uncertainty: in div that of what a division means.
fn dimension_in(instrument: &Instrument, stated: &Uncertainty) -> Dimension {
    match &instrument.scale {
        Some(scale) if stated.size.unit == Unit::Div => scale.unit.dimension(),
        _ => stated.size.unit.dimension(),
    }
}

/// `None`: a probability below a half would pass what more likely fails, and certainty is never reached.
fn decision_of(decide: &Decide) -> Option<Decision> {
    match &decide.rule {
        DecideRule::Simple => Some(Decision::Simple),
        DecideRule::GuardedU => Some(Decision::GuardedU),
        DecideRule::GuardedBy(quantity) => {
            let number = parse_decimal(&quantity.number.text)?;
            let unit = quantity.unit.as_ref().and_then(|unit| Unit::parse(&unit.text))?;
            let least = number * ratio(1, 100);
            let sound =
                unit == Unit::Percent && least >= ratio(1, 2) && least < Rational::from_integer(1.into());
            sound.then_some(Decision::GuardedBy(least))
        }
    }
}
