//! Rules against values: limits as stated and as scaled, verdicts, and the element or window that settled them.
//!
//! Compared unrounded. A value with an error bound meets a limit that it reaches within the bound; where the bound is too
//! wide to tell, the verdict is invalid. A value that is not there never passes.

mod conditions;
mod guarded;
mod limits;
mod steady;
mod windows;

use std::rc::Rc;

use crate::check::program::{AxisId, Expr, JudgementId, Over, Rule, Test, ValueId};
use crate::quantity::{Real, Unit};

use super::eval::{Evaluator, map, one};
use super::layout::{Aligned, align, without_closing};
use super::text;
use super::uncertainty::decide::Certainty;
use super::value::{Cell, Laid, NOT_APPLICABLE, NOT_TAKEN, Scalar};
use super::verdict::{Judged, Verdict};
use guarded::{Guard, Known};
use limits::{Bounds, Quantities, Resolution};

pub use limits::noted_lengths;

pub(super) use conditions::{aim, band, outside, place_of, value_outside};
pub(super) use steady::what_is_awaited;

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
        certainty: None,
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
        Verdict::NotApplicable => Cell::NotRead(NOT_APPLICABLE.into()),
    }
}

/// Judges a value of the program.
pub(super) fn judge_value(
    evaluator: &Evaluator<'_>,
    id: JudgementId,
    value: ValueId,
    subject: &Rc<Laid>,
    over: Over,
    rule: &Rule,
) -> Judged {
    let axes = evaluator.program.values.get(value.0).map_or(&[][..], |value| &value.axes);
    let shown = |guard: Option<Guard<'_>>| {
        let resolution: Resolution<'_> = &|| evaluator.finest_resolution(value);
        let unit = unit_judged(rule, evaluator.shown_in(value));
        Subject { evaluator, unit, resolution, axes, guard }.judge(id, subject, over, rule)
    };
    let judged = shown(Guard::of(evaluator, value));
    if judged.certainty.as_ref().is_some_and(|certainty| certainty.draws_leave_open) {
        return shown(Guard::of(evaluator, value).map(Guard::drawn_out));
    }
    judged
}

/// `x at most 3 mm` in a condition: at every element, or once where the rule takes the axis itself.
pub(super) fn meets(evaluator: &Evaluator<'_>, of: &Expr, rule: &Rule) -> Rc<Laid> {
    let value = evaluator.expr(of);
    let subject = Subject {
        evaluator,
        unit: unit_judged(rule, text::unit_of(evaluator, of)),
        resolution: &|| evaluator.finest_resolution_of(of),
        axes: &of.axes,
        guard: None,
    };
    let value = match steady::spreads(evaluator, &of.axes, &value, rule) {
        Some(spreads) => spreads,
        None => value,
    };
    if takes_axis(rule) && !matches!(rule.test, Test::Steady { .. }) {
        let judged = subject.judge(JudgementId(0), &value, Over::Whole, rule);
        return one(cell_of(&judged.verdict));
    }
    let value = without_closing(&value);
    let quantities = Quantities::of(evaluator, rule);
    match subject.elements(&value, &quantities, rule, None) {
        Ok(elements) => {
            let cells = elements.each.iter().map(|element| cell_of(&element.verdict)).collect();
            Rc::new(Laid { cells, axes: elements.aligned.axes.clone() })
        }
        Err(fault) => map(&fault, |cell| cell_of(&verdict_of(cell))),
    }
}

fn takes_axis(rule: &Rule) -> bool {
    rule.window.is_some() || rule.test.takes_axis()
}

/// How far a temperature moved is so many kelvin.
pub(super) fn unit_judged(rule: &Rule, unit: Option<Unit>) -> Option<Unit> {
    match rule.test {
        Test::Steady { .. } => unit.map(Unit::of_differences),
        _ => unit,
    }
}

/// What is judged, beside its cells.
struct Subject<'s> {
    evaluator: &'s Evaluator<'s>,
    unit: Option<Unit>,
    resolution: Resolution<'s>,
    axes: &'s [AxisId],
    /// How its uncertainty is taken into account; conditions compare values alone.
    guard: Option<Guard<'s>>,
}

struct Elements<'l> {
    aligned: Aligned<'l>,
    each: Vec<Element>,
}

struct Element {
    verdict: Verdict,
    bounds: Option<Bounds>,
    certainty: Option<Certainty>,
}

impl Subject<'_> {
    fn judge(&self, id: JudgementId, value: &Rc<Laid>, over: Over, rule: &Rule) -> Judged {
        let value = without_closing(value);
        let quantities = Quantities::of(self.evaluator, rule);
        if let Some(spreads) = steady::spreads(self.evaluator, self.axes, &value, rule) {
            let uncertain = self.guard.as_ref().and_then(|guard| guard.of_steady(self.axes, rule));
            return self.settle(id, &spreads, over, &quantities, rule, uncertain.as_ref());
        }
        if let Some(window) = &rule.window {
            let length = self.evaluator.single(&window.length);
            if let Some(second) = &window.second {
                let across = self.evaluator.single(second);
                return match windows::worst_area(&value, &length, &across) {
                    Ok((found, notes)) => {
                        let one = Laid::single(Cell::number(found.value.clone()));
                        let spread =
                            self.guard.as_ref().and_then(|guard| guard.of_area(rule, &window.length, second));
                        let mut judged = self.settle(id, &one, over, &quantities, rule, spread.as_ref());
                        judged.place = Some(windows::area_place(&found));
                        judged.window = Some((found.from.0, found.to.0));
                        judged.notes.extend(notes);
                        judged
                    }
                    Err(missing) => bare(id, verdict_of(&missing)),
                };
            }
            return match windows::worst_window(&value, &length, window.by) {
                Ok((found, line, notes)) => {
                    let one = Laid::single(Cell::number(found.value.clone()));
                    let spread =
                        self.guard.as_ref().and_then(|guard| guard.of_window(rule, &found, window.by, line));
                    let mut judged = self.settle(id, &one, over, &quantities, rule, spread.as_ref());
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
        let spread = || self.guard.as_ref().and_then(|guard| guard.of_elements(rule));
        if takes_axis(rule) {
            let value = self.what_was_read(&value);
            return self.settle(id, &value, Over::Every, &quantities, rule, spread().as_ref());
        }
        self.settle(id, &value, over, &quantities, rule, spread().as_ref())
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
            Cell::NotRead(_) => Cell::NotRead(NOT_TAKEN.into()),
            other => other.clone(),
        };
        map(value, cell)
    }

    fn elements<'l>(
        &self,
        value: &'l Laid,
        quantities: &'l Quantities,
        rule: &Rule,
        known: Option<&Known>,
    ) -> Result<Elements<'l>, Laid> {
        let mut values = vec![value];
        values.extend(quantities.laid());
        let aligned = align(&values)?;
        let own = known.filter(|known| !known.by_element).map(|_| guarded::place_in(value, &aligned));
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
                Ok(bounds) => {
                    let plain = bounds.verdict(cell, self.resolution);
                    let place = own.as_ref().map_or(element, |own| own(element));
                    let uncertain = known.and_then(|known| known.spread.cells.get(place));
                    let (verdict, certainty) = match &self.guard {
                        Some(guard) => guard.settle(plain, cell, &bounds, uncertain, self.unit),
                        None => (plain, None),
                    };
                    Element { verdict, bounds: Some(bounds), certainty }
                }
                Err(missing) => {
                    let gravest = Cell::gravest([cell, &missing]).unwrap_or(&missing).clone();
                    Element { verdict: verdict_of(&gravest), bounds: None, certainty: None }
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
        known: Option<&Known>,
    ) -> Judged {
        let elements = match self.elements(value, quantities, rule, known) {
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
        for (element, found) in elements.each.iter().enumerate() {
            if found.verdict == Verdict::NotApplicable {
                continue;
            }
            let bounds = found.bounds.as_ref();
            let margin = bounds.and_then(|bounds| bounds.margin(elements.aligned.cell(0, element)));
            let margin = margin.map(|margin| guarded::less_uncertainty(margin, found.certainty.as_ref()));
            let weight = weight(&found.verdict, any);
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
        let Some(Element { verdict, bounds, certainty }) = elements.each.get(element) else {
            return bare(id, Verdict::NotApplicable);
        };
        let mut judged = bare(id, verdict.clone());
        judged.certainty.clone_from(certainty);
        judged.notes.extend(self.guard.iter().flat_map(|guard| guard.notes(known, certainty.as_ref())));
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
