//! Rules against values: limits as stated and as scaled, verdicts, and the element or window that settled them.
//!
//! Compared unrounded. A value with an error bound meets a limit that it reaches within the bound; where the bound is too
//! wide to tell, the verdict is invalid. A value that is not there never passes.

use std::rc::Rc;

use crate::check::program::{
    Expr, Judged as Plan, JudgementId, Kind, Over, Rule, StepId, Test, ValueId, WindowBy,
};
use crate::metrology::{self, Counted};
use crate::quantity::{Real, Unit, ratio};

use super::cells::Extent;
use super::eval::{Evaluator, map};
use super::judge;
use super::layout::{Aligned, align, gather, place, without_closing};
use super::text;
use super::value::{Cell, Laid, Scalar};
use super::verdict::{Judged, Limit, Verdict};

/// The widest error bound that a verdict may rest on, in parts of the resolution: a millionth.
const WIDEST_BOUND: (i64, i64) = (1, 1_000_000);

/// A verdict with nothing beside it.
pub(super) fn bare(judgement: JudgementId, verdict: Verdict) -> Judged {
    Judged {
        judgement,
        verdict,
        value: None,
        lower: None,
        upper: None,
        place: None,
        window: None,
        notes: Vec::new(),
    }
}

/// What a condition says of a rule.
pub(super) fn verdict_of(cell: &Cell) -> Verdict {
    match cell {
        Cell::Known(Scalar::YesNo(true)) => Verdict::Passed,
        Cell::Known(Scalar::YesNo(false)) => Verdict::Failed,
        Cell::Awaited => Verdict::Waiting,
        Cell::Undecided(reason) => Verdict::Undecided(reason.clone()),
        Cell::NotRead(_) if cell.is_no_element() => Verdict::NotApplicable,
        Cell::NotRead(reason) => Verdict::Invalid(format!("not read: {reason}").into()),
        Cell::Invalid(reason) => Verdict::Invalid(reason.clone()),
        Cell::Known(_) | Cell::OpenEnded { .. } => Verdict::Invalid("a yes or no was expected".into()),
    }
}

fn cell_of(verdict: &Verdict) -> Cell {
    match verdict {
        Verdict::Passed => Cell::yes_no(true),
        Verdict::Failed => Cell::yes_no(false),
        Verdict::Waiting => Cell::Awaited,
        Verdict::Undecided(reason) => Cell::Undecided(reason.clone()),
        Verdict::Invalid(reason) => Cell::Invalid(reason.clone()),
        Verdict::NotApplicable => Cell::NotRead(super::value::NOT_APPLICABLE.into()),
    }
}

// ------------------------------------------------------------------------------------------------ limits

#[derive(Clone, Debug, Default)]
struct Bounds {
    lower: Option<Limit>,
    upper: Option<Limit>,
}

/// The quantities of a rule, worked out: the one or two of its test, `per`, `over`, `floor`, `cap`.
struct Quantities {
    values: Vec<Option<Rc<Laid>>>,
    kinds: Vec<Option<Kind>>,
}

const FIRST: usize = 0;
const SECOND: usize = 1;
const PER: usize = 2;
const OVER: usize = 3;
const FLOOR: usize = 4;
const CAP: usize = 5;

impl Quantities {
    fn of(evaluator: &Evaluator<'_>, rule: &Rule) -> Self {
        let (first, second) = match &rule.test {
            Test::AtMost(a) | Test::AtLeast(a) | Test::Above(a) | Test::Below(a) => (Some(a), None),
            Test::FromTo(a, b) => (Some(a), Some(b)),
            Test::Within { size, of } => (Some(size), of.as_ref()),
            Test::Convex { allowance } | Test::Concave { allowance } => (allowance.as_ref(), None),
        };
        let (per, over) = rule.per.as_ref().map_or((None, None), |(per, over)| (Some(per), Some(over)));
        let all: [Option<&Expr>; 6] = [first, second, per, over, rule.floor.as_ref(), rule.cap.as_ref()];
        Self {
            values: all.iter().map(|expr| expr.map(|expr| evaluator.expr(expr))).collect(),
            kinds: all.iter().map(|expr| expr.map(|expr| expr.kind.clone())).collect(),
        }
    }

    fn laid(&self) -> impl Iterator<Item = &Laid> {
        self.values.iter().flatten().map(|value| &**value)
    }

    /// The limits at one element of `aligned`, in which the subject is number 0 and the quantities follow.
    fn bounds(
        &self,
        test: &Test,
        aligned: &Aligned<'_>,
        element: usize,
        unit: Option<Unit>,
    ) -> Result<Bounds, Cell> {
        let mut number = 0;
        let mut found: Vec<Option<Real>> = Vec::with_capacity(self.values.len());
        let mut missing: Vec<&Cell> = Vec::new();
        for value in &self.values {
            if value.is_none() {
                found.push(None);
                continue;
            }
            number += 1;
            let cell = aligned.cell(number, element);
            found.push(cell.as_number().cloned());
            if !cell.is_known() {
                missing.push(cell);
            }
        }
        if let Some(missing) = Cell::gravest(missing.iter().copied()) {
            return Err(missing.clone());
        }
        if !missing.is_empty() {
            return Err(Cell::invalid("a limit cannot be open-ended"));
        }
        let get = |place: usize| found.get(place).and_then(Option::as_ref);
        let scale = Scale {
            per: get(PER),
            over: get(OVER),
            floor: get(FLOOR),
            cap: get(CAP),
            kinds: &self.kinds,
            unit,
        };
        let limit = |value: &Real| scale.limit(value, false);
        let exclusive = |value: &Real| scale.limit(value, true);
        let needed = |place: usize| get(place).ok_or_else(|| Cell::invalid("a limit must be a number"));
        let nought = Real::zero();
        let bounds = match test {
            Test::AtMost(_) => Bounds { lower: None, upper: Some(limit(needed(FIRST)?)?) },
            Test::AtLeast(_) => Bounds { lower: Some(limit(needed(FIRST)?)?), upper: None },
            Test::Above(_) => Bounds { lower: Some(exclusive(needed(FIRST)?)?), upper: None },
            Test::Below(_) => Bounds { lower: None, upper: Some(exclusive(needed(FIRST)?)?) },
            Test::FromTo(..) => {
                Bounds { lower: Some(limit(needed(FIRST)?)?), upper: Some(limit(needed(SECOND)?)?) }
            }
            Test::Within { .. } => {
                let size = limit(needed(FIRST)?)?;
                let middle = get(SECOND);
                let at = |offset: &Real| middle.map_or_else(|| offset.clone(), |middle| middle + offset);
                let turned = |size: &Real| at(&-size);
                Bounds {
                    lower: Some(Limit {
                        stated: turned(&size.stated),
                        scaled: turned(&size.scaled),
                        ..size.clone()
                    }),
                    upper: Some(Limit { stated: at(&size.stated), scaled: at(&size.scaled), ..size }),
                }
            }
            Test::Convex { .. } => {
                Bounds { lower: Some(limit(&-get(FIRST).unwrap_or(&nought))?), upper: None }
            }
            Test::Concave { .. } => {
                Bounds { lower: None, upper: Some(limit(get(FIRST).unwrap_or(&nought))?) }
            }
        };
        if let (Some(lower), Some(upper)) = (&bounds.lower, &bounds.upper)
            && upper.scaled.is_less(&lower.scaled)
        {
            let (lower, upper) = (text::limit(&lower.scaled, unit), text::limit(&upper.scaled, unit));
            return Err(Cell::invalid(format!("the limits cross: from {lower} to {upper}")));
        }
        Ok(bounds)
    }
}

/// How a bound is scaled to the length that was measured.
struct Scale<'q> {
    per: Option<&'q Real>,
    over: Option<&'q Real>,
    floor: Option<&'q Real>,
    cap: Option<&'q Real>,
    kinds: &'q [Option<Kind>],
    unit: Option<Unit>,
}

impl Scale<'_> {
    fn limit(&self, stated: &Real, exclusive: bool) -> Result<Limit, Cell> {
        let one = Real::from(1);
        let (per, over) = self.per.zip(self.over).unwrap_or((&one, &one));
        let scaled = metrology::scaled(stated, per, over, self.floor, self.cap)
            .map_err(|fault| Cell::invalid(fault.to_string()))?;
        let mut how = Vec::new();
        if self.per.is_some() {
            how.push(format!("per {} over {}", self.length(PER, per), self.length(OVER, over)));
        }
        match scaled.counted {
            Counted::Proportion => {}
            Counted::Floor => {
                how.extend(self.floor.map(|floor| format!("floor {} counted", text::limit(floor, self.unit))))
            }
            Counted::Cap => {
                how.extend(self.cap.map(|cap| format!("cap {} counted", text::limit(cap, self.unit))))
            }
        }
        Ok(Limit { stated: stated.clone(), scaled: scaled.limit, exclusive, how: how.join(", ").into() })
    }

    fn length(&self, place: usize, value: &Real) -> String {
        let unit = match self.kinds.get(place) {
            Some(Some(Kind::Quantity(dimension))) => Unit::usual(*dimension),
            _ => None,
        };
        text::limit(value, unit)
    }
}

// ------------------------------------------------------------------------------------------------ one element

/// What the error bound of an approximate value is measured by.
type Resolution<'r> = &'r dyn Fn() -> Option<Real>;

impl Bounds {
    fn verdict(&self, cell: &Cell, resolution: Resolution<'_>) -> Verdict {
        if Cell::gravest([cell]).is_some() {
            return verdict_of(cell);
        }
        let value = match Extent::of(cell) {
            Ok(Extent::At(value)) => value,
            Ok(open) => return self.open_ended(&open),
            Err(fault) => return verdict_of(&fault),
        };
        if let Some(reason) = self.ill_conditioned(&value, resolution) {
            return Verdict::Invalid(reason);
        }
        let meets = self.lower.as_ref().is_none_or(|limit| limit.is_met_from_above(&value))
            && self.upper.as_ref().is_none_or(|limit| limit.is_met_from_below(&value));
        if meets { Verdict::Passed } else { Verdict::Failed }
    }

    /// Met if every value beyond the bound meets it, failed if none does.
    fn open_ended(&self, open: &Extent) -> Verdict {
        let (above, bound) = (matches!(open, Extent::Above(_)), open.bound());
        let (near, far) = if above { (&self.lower, &self.upper) } else { (&self.upper, &self.lower) };
        let clear = |limit: &Limit| {
            if above { limit.scaled.is_at_most(bound) } else { limit.scaled.is_at_least(bound) }
        };
        if far.as_ref().is_some_and(clear) {
            return Verdict::Failed;
        }
        if far.is_none() && near.as_ref().is_none_or(clear) {
            return Verdict::Passed;
        }
        Verdict::Undecided("the open-ended reading does not settle it".into())
    }

    fn ill_conditioned(&self, value: &Real, resolution: Resolution<'_>) -> Option<Rc<str>> {
        let limits = [&self.lower, &self.upper].into_iter().flatten().map(|limit| &limit.scaled);
        if value.is_exact() && limits.clone().all(Real::is_exact) {
            return None;
        }
        let widest = limits.clone().map(Real::bound).fold(value.bound(), f64::max);
        if !widest.is_finite() {
            return Some("too ill-conditioned: the numbers do not settle a result".into());
        }
        let step = resolution().or_else(|| limits.map(Real::abs).max().filter(Real::is_positive))?;
        let allowed = &step * &Real::Exact(ratio(WIDEST_BOUND.0, WIDEST_BOUND.1));
        (widest > allowed.to_f64()).then(|| {
            "too ill-conditioned: the error bound is wider than a millionth of the resolution".into()
        })
    }

    /// How far inside the limits a value lies; negative outside. None without limits or without a number.
    fn margin(&self, cell: &Cell) -> Option<Real> {
        let value = match cell {
            Cell::OpenEnded { bound, .. } => bound,
            other => other.as_number()?,
        };
        let lower = self.lower.as_ref().map(|limit| value - &limit.scaled);
        let upper = self.upper.as_ref().map(|limit| &limit.scaled - value);
        [lower, upper].into_iter().flatten().min()
    }
}

impl Limit {
    fn is_met_from_above(&self, value: &Real) -> bool {
        if self.exclusive { self.scaled.is_less(value) } else { value.is_at_least(&self.scaled) }
    }

    fn is_met_from_below(&self, value: &Real) -> bool {
        if self.exclusive { value.is_less(&self.scaled) } else { value.is_at_most(&self.scaled) }
    }
}

// ------------------------------------------------------------------------------------------------ a whole value

/// Judges a value of the program.
pub(super) fn judge_value(
    evaluator: &Evaluator<'_>,
    id: JudgementId,
    value: ValueId,
    subject: &Rc<Laid>,
    over: Over,
    rule: &Rule,
) -> Judged {
    let shown = Subject {
        evaluator,
        unit: evaluator.shown_in(value),
        resolution: &|| evaluator.finest_resolution(value),
    };
    shown.judge(id, subject, over, rule)
}

/// `x at most 3 mm` in a condition: at every element, or once where the rule takes the axis itself.
pub(super) fn meets(evaluator: &Evaluator<'_>, of: &Expr, rule: &Rule) -> Rc<Laid> {
    let value = evaluator.expr(of);
    let subject = Subject {
        evaluator,
        unit: text::unit_of(evaluator, of),
        resolution: &|| evaluator.finest_resolution_of(of),
    };
    if takes_axis(rule) {
        let judged = subject.judge(JudgementId(0), &value, Over::Whole, rule);
        return super::eval::one(cell_of(&judged.verdict));
    }
    let value = without_closing(&value);
    let quantities = Quantities::of(evaluator, rule);
    match subject.elements(&value, &quantities, rule) {
        Ok(elements) => {
            let cells = elements.each.iter().map(|(verdict, _)| cell_of(verdict)).collect();
            Rc::new(Laid { cells, axes: elements.aligned.axes.clone() })
        }
        Err(fault) => map(&fault, |cell| cell_of(&verdict_of(cell))),
    }
}

fn takes_axis(rule: &Rule) -> bool {
    rule.window.is_some() || matches!(rule.test, Test::Convex { .. } | Test::Concave { .. })
}

/// What is judged, beside its cells.
struct Subject<'s> {
    evaluator: &'s Evaluator<'s>,
    unit: Option<Unit>,
    resolution: Resolution<'s>,
}

struct Elements<'l> {
    aligned: Aligned<'l>,
    each: Vec<(Verdict, Option<Bounds>)>,
}

impl Subject<'_> {
    fn judge(&self, id: JudgementId, value: &Rc<Laid>, over: Over, rule: &Rule) -> Judged {
        let value = without_closing(value);
        let quantities = Quantities::of(self.evaluator, rule);
        if let Some(window) = &rule.window {
            let length = self.evaluator.single(&window.length);
            return match self.worst_window(&value, &length, window.by) {
                Ok((found, notes)) => {
                    let one = Laid::single(Cell::number(found.value.clone()));
                    let mut judged = self.settle(id, &one, over, &quantities, rule);
                    judged.place = Some(
                        format!(
                            "{} to {}",
                            text::limit(&found.from, Some(Unit::Mm)),
                            text::limit(&found.to, Some(Unit::Mm))
                        )
                        .into(),
                    );
                    judged.window = Some((found.from, found.to));
                    judged.notes.extend(notes);
                    judged
                }
                Err(missing) => bare(id, verdict_of(&missing)),
            };
        }
        if takes_axis(rule) {
            let value = self.what_was_read(&value);
            return self.settle(id, &value, Over::Every, &quantities, rule);
        }
        self.settle(id, &value, over, &quantities, rule)
    }

    /// A form that is judged whole leaves out what was not read, and says so.
    fn what_was_read(&self, value: &Rc<Laid>) -> Rc<Laid> {
        let not_read = value.cells.iter().filter(|cell| matches!(cell, Cell::NotRead(_))).count();
        let all = value.cells.len();
        if not_read == 0 || all < not_read + 2 {
            return value.clone();
        }
        self.evaluator.note(format!("{} of {all} read", all - not_read).into());
        let cell = |cell: &Cell| match cell {
            Cell::NotRead(_) => Cell::NotRead(super::value::NOT_TAKEN.into()),
            other => other.clone(),
        };
        map(value, cell)
    }

    fn elements<'l>(
        &self,
        value: &'l Laid,
        quantities: &'l Quantities,
        rule: &Rule,
    ) -> Result<Elements<'l>, Laid> {
        let mut values = vec![value];
        values.extend(quantities.laid());
        let aligned = align(&values)?;
        let alike = quantities.laid().all(|quantity| quantity.axes.is_empty());
        let mut common: Option<Result<Bounds, Cell>> = None;
        let mut each = Vec::with_capacity(aligned.count());
        for element in 0..aligned.count() {
            let bounds = match &common {
                Some(common) if alike => common.clone(),
                _ => quantities.bounds(&rule.test, &aligned, element, self.unit),
            };
            if alike && common.is_none() {
                common = Some(bounds.clone());
            }
            let cell = aligned.cell(0, element);
            each.push(match bounds {
                Ok(bounds) => (bounds.verdict(cell, self.resolution), Some(bounds)),
                Err(missing) => {
                    let gravest = Cell::gravest([cell, &missing]).unwrap_or(&missing).clone();
                    (verdict_of(&gravest), None)
                }
            });
        }
        Ok(Elements { aligned, each })
    }

    fn settle(
        &self,
        id: JudgementId,
        value: &Laid,
        over: Over,
        quantities: &Quantities,
        rule: &Rule,
    ) -> Judged {
        let elements = match self.elements(value, quantities, rule) {
            Ok(elements) => elements,
            Err(fault) => {
                let missing = Cell::gravest(&fault.cells)
                    .cloned()
                    .unwrap_or_else(|| Cell::invalid("nothing is listed"));
                return bare(id, verdict_of(&missing));
            }
        };
        if elements.each.is_empty() {
            return bare(id, Verdict::Invalid("nothing is listed".into()));
        }
        let any = over == Over::Any;
        let mut settled: Option<(usize, u8, Option<Real>)> = None;
        for (element, (verdict, bounds)) in elements.each.iter().enumerate() {
            if *verdict == Verdict::NotApplicable {
                continue;
            }
            let margin = bounds.as_ref().and_then(|bounds| bounds.margin(elements.aligned.cell(0, element)));
            let weight = weight(verdict, any);
            let counts = match &settled {
                None => true,
                Some((_, heaviest, _)) if weight != *heaviest => weight > *heaviest,
                Some((_, _, known)) => match (&margin, known) {
                    (Some(margin), Some(known)) => {
                        if any {
                            known.is_less(margin)
                        } else {
                            margin.is_less(known)
                        }
                    }
                    (margin, known) => margin.is_some() && known.is_none(),
                },
            };
            if counts {
                settled = Some((element, weight, margin));
            }
        }
        let Some((element, _, _)) = settled else { return bare(id, Verdict::NotApplicable) };
        let Some((verdict, bounds)) = elements.each.get(element) else {
            return bare(id, Verdict::NotApplicable);
        };
        let mut judged = bare(id, verdict.clone());
        let cell = elements.aligned.cell(0, element);
        if let Cell::OpenEnded { bound, .. } = cell {
            judged.value = Some(bound.clone());
            judged.notes.push(format!("the reading is open-ended: {}", text::cell(cell, self.unit)).into());
        } else {
            judged.value = cell.as_number().cloned();
        }
        judged.lower = bounds.as_ref().and_then(|bounds| bounds.lower.clone());
        judged.upper = bounds.as_ref().and_then(|bounds| bounds.upper.clone());
        judged.place =
            Some(elements.aligned.place(element)).filter(|place| !place.is_empty()).map(Into::into);
        judged
    }

    /// The worst window over all lines that the value is laid out along. `Err`: what stands in the way.
    fn worst_window(
        &self,
        value: &Laid,
        length: &Cell,
        by: WindowBy,
    ) -> Result<(metrology::Window, Vec<Rc<str>>), Cell> {
        if let Some(missing) =
            Cell::gravest(value.cells.iter().filter(|cell| !matches!(cell, Cell::NotRead(_))).chain([length]))
        {
            return Err(missing.clone());
        }
        let length = length.as_number().ok_or_else(|| Cell::invalid("a window needs a length"))?;
        let placed = |axis: &Rc<super::value::Stations>| {
            axis.stations.iter().any(|station| station.position.is_some())
        };
        let Some(position) = value.axes.iter().position(placed) else {
            return Err(Cell::gravest(&value.cells)
                .cloned()
                .unwrap_or_else(|| Cell::invalid("a window needs stations along a length")));
        };
        let stations = value.axes.get(position).map_or(&[][..], |axis| &axis.stations);
        let rule = match by {
            WindowBy::Spread => metrology::Rule::Spread,
            WindowBy::Chord => metrology::Rule::Chord,
        };
        let lines = gather(value, &[position], false);
        let mut worst: Option<metrology::Window> = None;
        let mut notes: Vec<Rc<str>> = Vec::new();
        for (number, line) in lines.groups().enumerate() {
            let read = stations
                .iter()
                .zip(&line)
                .filter_map(|(station, cell)| Some((station.position.clone()?, cell.as_number()?.clone())));
            let (places, values): (Vec<Real>, Vec<Real>) = read.unzip();
            if values.len() < stations.len() {
                notes.push(format!("{} of {} read", values.len(), stations.len()).into());
            }
            let found = metrology::worst_window(&places, &values, length, rule)
                .map_err(|fault| Cell::invalid(fault.to_string()))?;
            if worst.as_ref().is_none_or(|worst| worst.value.is_less(&found.value)) {
                if !lines.kept.is_empty() {
                    notes.retain(|note| !note.starts_with("worst along "));
                    notes.push(format!("worst along {}", place(&lines.kept, number)).into());
                }
                worst = Some(found);
            }
        }
        let worst = worst.ok_or_else(|| Cell::invalid("nothing is listed"))?;
        if worst.shortened {
            let measured = text::limit(&(&worst.to - &worst.from), Some(Unit::Mm));
            notes.push(format!("judged over {measured}, all there is").into());
        }
        notes.dedup();
        Ok((worst, notes))
    }
}

/// Which verdict settles `every` (one no is no) or `any` (one yes is yes).
fn weight(verdict: &Verdict, any: bool) -> u8 {
    match verdict {
        Verdict::Failed => {
            if any {
                0
            } else {
                5
            }
        }
        Verdict::Passed => {
            if any {
                5
            } else {
                0
            }
        }
        Verdict::Invalid(_) => 4,
        Verdict::Waiting => 3,
        Verdict::Undecided(_) => 2,
        Verdict::NotApplicable => 0,
    }
}

// ------------------------------------------------------------------------------------------------ in conditions

/// Whether this tolerance has failed.
pub(super) fn outside(evaluator: &Evaluator<'_>, step: StepId, id: JudgementId) -> Cell {
    if evaluator.step != Some(step) {
        return evaluator.scope.failed(step, id).map_or(Cell::Awaited, Cell::yes_no);
    }
    match judge::judgement(evaluator, step, id).map(|judged| judged.verdict.clone()) {
        Some(Verdict::Failed) => Cell::yes_no(true),
        Some(Verdict::Passed | Verdict::NotApplicable) => Cell::yes_no(false),
        Some(verdict) => cell_of(&verdict),
        None => Cell::invalid("a tolerance cannot rest on itself"),
    }
}

/// Whether some tolerance on the value has failed.
pub(super) fn value_outside(evaluator: &Evaluator<'_>, value: ValueId) -> Cell {
    let cells: Vec<Cell> =
        on_value(evaluator, value).map(|(step, id, _)| outside(evaluator, step, id)).collect();
    super::cells::together(cells.iter(), true)
}

/// The tolerances on a value, in its step.
fn on_value<'e>(
    evaluator: &'e Evaluator<'_>,
    value: ValueId,
) -> impl Iterator<Item = (StepId, JudgementId, &'e Rule)> {
    let step = evaluator.program.values.get(value.0).and_then(|value| value.step);
    let plan = step.and_then(|step| evaluator.program.steps.get(step.0).map(|plan| (step, plan)));
    plan.into_iter().flat_map(move |(step, plan)| {
        plan.judgements.iter().enumerate().filter_map(move |(number, judgement)| match &judgement.of {
            Plan::Tolerance { value: judged, rule, .. } if *judged == value => {
                Some((step, JudgementId(number), rule))
            }
            _ => None,
        })
    })
}

/// The middle of the one two-sided band in force on a value.
pub(super) fn aim(evaluator: &Evaluator<'_>, value: ValueId) -> Cell {
    let mut middles = Vec::new();
    for (step, id, rule) in on_value(evaluator, value) {
        if rule.window.is_some() || !matches!(rule.test, Test::FromTo(..) | Test::Within { .. }) {
            continue;
        }
        let when =
            evaluator.program.steps.get(step.0).and_then(|plan| plan.judgements.get(id.0)?.when.as_ref());
        match when.map(|when| evaluator.holds(when)) {
            Some(cell) if cell.as_yes_no() == Some(false) => continue,
            Some(cell) if cell.as_yes_no().is_none() => return cell,
            _ => {}
        }
        let quantities = Quantities::of(evaluator, rule);
        let mut values = vec![];
        let subject = Laid::single(Cell::Awaited);
        values.push(&subject);
        values.extend(quantities.laid());
        let bounds = match align(&values) {
            Ok(aligned) if aligned.axes.is_empty() => {
                quantities.bounds(&rule.test, &aligned, 0, evaluator.shown_in(value))
            }
            _ => Err(Cell::invalid("a band that is laid out has no one middle")),
        };
        match bounds {
            Ok(Bounds { lower: Some(lower), upper: Some(upper) }) => {
                middles.push((&lower.scaled + &upper.scaled).half())
            }
            Ok(_) => {}
            Err(missing) => return missing,
        }
    }
    match middles.as_slice() {
        [middle] => Cell::number(middle.clone()),
        [] => Cell::invalid("no band with two sides is in force"),
        _ => Cell::invalid("more than one band with two sides is in force"),
    }
}

/// The worst window or element of a tolerance, in words.
pub(super) fn place_of(evaluator: &Evaluator<'_>, step: StepId, id: JudgementId) -> Cell {
    if evaluator.step != Some(step) {
        return Cell::invalid("the place is known while its own step is judged");
    }
    let judged = judge::judgement(evaluator, step, id);
    match judged {
        Some(judged) => match (&judged.place, &judged.verdict) {
            (Some(place), _) => Cell::Known(Scalar::Word(place.clone())),
            (None, Verdict::Waiting) => Cell::Awaited,
            (None, _) => Cell::invalid("no place was found"),
        },
        None => Cell::invalid("a tolerance cannot rest on itself"),
    }
}
