//! Whether a figure has changed between two walks: in one unit, one sense and per one length, and by more than both
//! uncertainties together.

use crate::quantity::{Real, Unit, record_text};
use crate::report::sides::{Exact, Figure};
use crate::walk::{spoken, text};

/// What can be said of two figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// By more than the uncertainty of both together; of what has no figure, another verdict.
    Changed,
    /// Within that uncertainty: nobody can tell.
    Within,
    /// They differ, and no uncertainty is known.
    Unknown,
    /// The same figure, or the same verdict of what has none.
    Same,
    /// They must not be compared; `Change::why` says why.
    NotCompared,
}

impl Kind {
    pub fn words(self) -> &'static str {
        match self {
            Kind::Changed => "changed",
            Kind::Within => "no change that can be told",
            Kind::Unknown => "uncertainty not known",
            Kind::Same => "the same",
            Kind::NotCompared => "not compared",
        }
    }
}

#[derive(Clone, Debug)]
pub struct Change {
    pub kind: Kind,
    /// Later less earlier, exact, in `unit`.
    pub difference: Option<String>,
    pub unit: Option<String>,
    /// The difference as it is said: `-0.008 mm, away from the operator`.
    pub said: Option<String>,
    /// U of the difference, in `unit` and as it is said.
    pub expanded: Option<String>,
    pub expanded_said: Option<String>,
    /// The length that both figures were brought to first, where they stood over different ones.
    pub per: Option<String>,
    /// The earlier figure had its plus and minus the other way round and was turned.
    pub turned: bool,
    pub why: Option<String>,
}

impl Change {
    fn of(kind: Kind) -> Self {
        Self {
            kind,
            difference: None,
            unit: None,
            said: None,
            expanded: None,
            expanded_said: None,
            per: None,
            turned: false,
            why: None,
        }
    }

    pub fn not_compared(why: impl Into<String>) -> Self {
        Self { why: Some(why.into()), ..Self::of(Kind::NotCompared) }
    }
}

/// From the earlier figure to the later one.
pub fn change(earlier: &Figure, later: &Figure) -> Change {
    let (Some(was), Some(is)) = (&earlier.exact, &later.exact) else {
        return without_figures(earlier, later);
    };
    let (Some(unit), Some(other)) = (is.unit, was.unit) else {
        return change_of(was.clone(), is.clone(), later);
    };
    if !other.converts_to(unit) {
        return Change::not_compared(format!("it was in {} and is now in {}", other.symbol(), unit.symbol()));
    }
    if was.window != is.window {
        let length = |window: &Option<Real>| match window {
            Some(length) => format!("in windows of {}", text::name(length, Unit::Mm)),
            None => "over all".to_owned(),
        };
        return Change::not_compared(format!(
            "it was judged {} and is now judged {}",
            length(&was.window),
            length(&is.window)
        ));
    }
    let (before, after) = (&earlier.held.sense, &later.held.sense);
    let turned = match (before, after) {
        (was, is) if was == is => false,
        (Some(was), Some(is)) if was.flipped() == *is => true,
        (was, is) => {
            let plus = |sense: &Option<crate::quantity::Sense>| match sense {
                Some(sense) => format!("\"{}\"", sense.plus),
                None => "no direction".to_owned(),
            };
            return Change::not_compared(format!("plus meant {} and now means {}", plus(was), plus(is)));
        }
    };
    let mut was = was.clone();
    if turned {
        was.value = &Real::zero() - &was.value;
    }
    // The worst of several places, on one side of zero then and on the other now: two places, and no change of one.
    let places = (earlier.held.rule.place.as_deref(), later.held.rule.place.as_deref());
    if let (Some(before), Some(after)) = places
        && before != after
        && later.held.sense.is_some()
        && was.value.is_positive() != is.value.is_positive()
    {
        let (before, after) = (spoken(before), spoken(after));
        return Change::not_compared(format!("the worst was at {before} and is at {after}, the other way"));
    }
    let (was, now, per) = match over_one_length(&was, is) {
        Ok(brought) => brought,
        Err(why) => return Change::not_compared(why),
    };
    Change { turned, per: per.map(|per| text::name(&per, Unit::Mm)), ..change_of(was, now, later) }
}

/// Of what is only required, and of what was not read: the words alone.
fn without_figures(earlier: &Figure, later: &Figure) -> Change {
    let (was, is) = (&earlier.held.rule, &later.held.rule);
    if was.value.is_some() || is.value.is_some() {
        return Change::not_compared("one of them is no single number");
    }
    Change::of(if was.verdict == is.verdict { Kind::Same } else { Kind::Changed })
}

/// Both brought to the length for which the later limit is stated, where they stand over different ones.
fn over_one_length(was: &Exact, is: &Exact) -> Result<(Exact, Exact, Option<Real>), String> {
    let (before, after) = match (&was.per, &is.per) {
        (None, None) => return Ok((was.clone(), is.clone(), None)),
        (Some(before), Some(after)) => (before, after),
        _ => return Err("one limit is stated per length and the other is not".to_owned()),
    };
    if before.1.equals(&after.1) {
        return Ok((was.clone(), is.clone(), None));
    }
    let brought = |exact: &Exact, over: &Real| {
        let factor = after.0.div(over)?;
        let expanded = exact.expanded.as_ref().map(|own| own * &factor);
        Some(Exact { value: &exact.value * &factor, expanded, ..exact.clone() })
    };
    match (brought(was, &before.1), brought(is, &after.1)) {
        (Some(was), Some(is)) => Ok((was, is, Some(after.0.clone()))),
        _ => Err("the length that it was read over is zero".to_owned()),
    }
}

fn change_of(was: Exact, is: Exact, later: &Figure) -> Change {
    let difference = &is.value - &was.value;
    let unit = is.unit.map(Unit::of_differences);
    let in_unit = |value: &Real| unit.map_or_else(|| value.clone(), |unit| unit.from_base(value));
    // The two walks are taken to be independent; what they share, such as one instrument's scale, makes U too large
    // rather than too small.
    let expanded = was
        .expanded
        .as_ref()
        .zip(is.expanded.as_ref())
        .and_then(|(was, is)| (&(was * was) + &(is * is)).sqrt());
    let kind = match &expanded {
        _ if difference.is_zero() => Kind::Same,
        None => Kind::Unknown,
        Some(own) if own.is_less(&difference.abs()) => Kind::Changed,
        Some(_) => Kind::Within,
    };
    Change {
        kind,
        difference: Some(record_text(&in_unit(&difference))),
        unit: unit.map(|unit| unit.symbol().to_owned()),
        said: Some(text::show(&difference, unit, later.held.sense.as_ref(), None, &[])),
        expanded: expanded.as_ref().map(|own| record_text(&in_unit(own))),
        expanded_said: expanded
            .as_ref()
            .map(|own| crate::walk::uncertainty::wording::size(own.to_f64(), unit)),
        ..Change::of(kind)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Sense, ratio};
    use crate::report::Held;
    use crate::walk::event::RuleLine;

    fn figure(um: i64, expanded_um: Option<i64>, sense: Option<Sense>, per: Option<(i64, i64)>) -> Figure {
        let real = |um: i64| Real::Exact(ratio(um, 1000));
        let rule = RuleLine {
            name: "lean".into(),
            verdict: "passed".into(),
            value: Some("x".into()),
            lower: None,
            upper: None,
            unit: Some("mm".into()),
            place: None,
            uncertainty: None,
            notes: Vec::new(),
        };
        Figure {
            held: Held { label: String::new(), rule, sense, window: None },
            exact: Some(Exact {
                value: real(um),
                expanded: expanded_um.map(real),
                unit: Some(Unit::Mm),
                per: per.map(|(per, over)| (Real::from(per), Real::from(over))),
                window: None,
            }),
            of: None,
        }
    }

    fn toward() -> Sense {
        Sense::new("toward the operator", "away from the operator")
    }

    #[test]
    fn a_change_is_one_only_beyond_both_uncertainties_together() {
        // U of the difference is the root of 3^2 + 4^2 = 5 um.
        let kind = |um| change(&figure(0, Some(3), None, None), &figure(um, Some(4), None, None)).kind;
        assert_eq!(kind(6), Kind::Changed);
        assert_eq!(kind(5), Kind::Within, "at U itself nobody can tell");
        assert_eq!(kind(-6), Kind::Changed);
        assert_eq!(kind(0), Kind::Same);
        let unknown = change(&figure(0, None, None, None), &figure(6, Some(4), None, None));
        assert_eq!(unknown.kind, Kind::Unknown);
    }

    #[test]
    fn swapped_words_turn_the_earlier_figure_and_others_are_refused() {
        let was = figure(4, Some(1), Some(toward().flipped()), None);
        let now = figure(4, Some(1), Some(toward()), None);
        let found = change(&was, &now);
        assert!(found.turned);
        assert_eq!(found.said.as_deref(), Some("+0.008 mm, toward the operator"));
        let other = figure(4, Some(1), Some(Sense::new("up", "down")), None);
        let refused = change(&other, &now);
        assert_eq!(refused.kind, Kind::NotCompared);
        assert_eq!(refused.why.as_deref(), Some("plus meant \"up\" and now means \"toward the operator\""));
    }

    #[test]
    fn the_worst_of_two_places_with_other_signs_is_no_change_of_either() {
        let at = |um, place: &str| {
            let mut figure = figure(um, Some(1), Some(toward()), None);
            figure.held.rule.place = Some(place.to_owned());
            figure
        };
        let refused = change(&at(-2, "head_front"), &at(4, "tail_rear"));
        assert_eq!(
            refused.why.as_deref(),
            Some("the worst was at head front and is at tail rear, the other way")
        );
        assert_eq!(change(&at(-2, "head_front"), &at(4, "head_front")).kind, Kind::Changed);
        assert_eq!(change(&at(2, "head_front"), &at(4, "tail_rear")).kind, Kind::Changed);
    }

    #[test]
    fn over_different_lengths_both_are_brought_to_the_length_of_the_limit() {
        // 4 um over 100 mm is 12 um per 300 mm, and so is 2 um over 50 mm: nothing has changed.
        let found =
            change(&figure(4, Some(1), None, Some((300, 100))), &figure(2, Some(1), None, Some((300, 50))));
        assert_eq!((found.kind, found.per.as_deref()), (Kind::Same, Some("300 mm")));
        let found =
            change(&figure(4, Some(1), None, Some((300, 100))), &figure(4, Some(1), None, Some((300, 50))));
        assert_eq!(found.difference.as_deref(), Some("0.012"), "24 less 12 um per 300 mm");
        // Its U grows with it: the root of 3^2 + 6^2.
        assert_eq!(found.kind, Kind::Changed);
        let refused = change(&figure(4, None, None, None), &figure(4, None, None, Some((300, 50))));
        assert_eq!(refused.kind, Kind::NotCompared);
    }
}
