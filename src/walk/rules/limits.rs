//! The limits of a rule at one element: as stated, as scaled, and what a value makes of them.

use std::rc::Rc;

use crate::check::program::{Expr, Kind, Rule, Test};
use crate::metrology::{self, Counted};
use crate::quantity::{Rational, Real, Unit, parse_exact, ratio};
use crate::walk::cells::Extent;
use crate::walk::eval::Evaluator;
use crate::walk::layout::Aligned;
use crate::walk::text;
use crate::walk::value::{Cell, Laid};
use crate::walk::verdict::{Limit, Verdict};

use super::verdict_of;

/// The widest error bound that a verdict may rest on, in parts of the resolution: a millionth.
const WIDEST_BOUND: (i64, i64) = (1, 1_000_000);

#[derive(Clone, Debug, Default)]
pub(super) struct Bounds {
    pub lower: Option<Limit>,
    pub upper: Option<Limit>,
}

/// The quantities of a rule, worked out: the one or two of its test, `per`, `over`, `floor`, `cap`.
pub(super) struct Quantities {
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
    pub(super) fn of(evaluator: &Evaluator<'_>, rule: &Rule) -> Self {
        let (first, second) = match &rule.test {
            Test::AtMost(a) | Test::AtLeast(a) | Test::Above(a) | Test::Below(a) => (Some(a), None),
            Test::FromTo(a, b) => (Some(a), Some(b)),
            Test::Within { size, of } => (Some(size), of.as_ref()),
            Test::Convex { allowance } | Test::Concave { allowance } => (allowance.as_ref(), None),
            Test::Steady { within, .. } => (Some(within), None),
        };
        let (per, over) = rule.per.as_ref().map_or((None, None), |(per, over)| (Some(per), Some(over)));
        let all: [Option<&Expr>; 6] = [first, second, per, over, rule.floor.as_ref(), rule.cap.as_ref()];
        Self {
            values: all.iter().map(|expr| expr.map(|expr| evaluator.expr(expr))).collect(),
            kinds: all.iter().map(|expr| expr.map(|expr| expr.kind.clone())).collect(),
        }
    }

    pub(super) fn laid(&self) -> impl Iterator<Item = &Laid> {
        self.values.iter().flatten().map(|value| &**value)
    }

    /// The limits at one element of `aligned`, in which the subject is number 0 and the quantities follow.
    pub(super) fn bounds(
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
            Test::AtMost(_) | Test::Steady { .. } => {
                Bounds { lower: None, upper: Some(limit(needed(FIRST)?)?) }
            }
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

const NOTED_PER: &str = "per ";
const NOTED_OVER: &str = " over ";

/// `per 300 mm over 150 mm`, as it is noted beside a limit that was scaled: the length that it is stated for, and that over
/// which it was read, in the base unit.
pub fn noted_lengths(note: &str) -> Option<(Rational, Rational)> {
    let (per, over) = note.strip_prefix(NOTED_PER)?.split_once(NOTED_OVER)?;
    let length = |text: &str| {
        let (number, unit) = text.split_once(' ')?;
        Unit::parse(unit)?.to_base(&Real::Exact(parse_exact(number)?)).exact().cloned()
    };
    // Behind a comma stands whether a floor or a cap counted.
    length(per).zip(length(over.split(',').next()?))
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
            how.push(format!("{NOTED_PER}{}{NOTED_OVER}{}", self.length(PER, per), self.length(OVER, over)));
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

/// What the error bound of an approximate value is measured by.
pub(super) type Resolution<'r> = &'r dyn Fn() -> Option<Real>;

impl Bounds {
    pub(super) fn verdict(&self, cell: &Cell, resolution: Resolution<'_>) -> Verdict {
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
    pub(super) fn margin(&self, cell: &Cell) -> Option<Real> {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A record keeps the lengths of a limit in words only: what is written must be read back as it was meant.
    #[test]
    fn the_lengths_that_are_noted_are_read_back() {
        let kinds = vec![Some(Kind::Quantity(Unit::Mm.dimension())); 5];
        let (per, over, floor) = (Real::from(300), Real::from(150), Real::from(9));
        let scale = |floor| Scale {
            per: Some(&per),
            over: Some(&over),
            floor,
            cap: None,
            kinds: &kinds,
            unit: Some(Unit::Mm),
        };
        for scale in [scale(None), scale(Some(&floor))] {
            let limit = scale.limit(&Real::from(1), false).unwrap();
            assert_eq!(noted_lengths(&limit.how), Some((ratio(300, 1), ratio(150, 1))), "{}", limit.how);
        }
        assert_eq!(noted_lengths("judged over 400 mm, all there is"), None);
    }
}
