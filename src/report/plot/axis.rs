//! Axes: marks, numbers, units, and at the ends what the sign means.

use maud::{Markup, html};

use super::scale::{Scale, ticks};
use super::style::{label, shown, width_of_text};

/// What an axis shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// With its unit: `place, in mm`.
    pub label: String,
    /// What greater and what less means, where a sign has a meaning.
    pub ends: Option<Ends>,
    /// Named places instead of numbers.
    pub names: Vec<(f64, String)>,
    /// From where to where it must reach, beside what is drawn.
    pub reach: Option<(f64, f64)>,
}

/// The words for the two directions of an axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ends {
    pub plus: String,
    pub minus: String,
}

impl Axis {
    pub fn new(label: impl Into<String>) -> Self {
        Self { label: label.into(), ..Self::default() }
    }

    pub fn with_ends(self, ends: Option<Ends>) -> Self {
        Self { ends, ..self }
    }

    /// Whether the words of the plus end do not fit beside its label.
    pub(super) fn needs_row(&self, right: f64) -> bool {
        let plus = self.ends.as_ref().map(|ends| width_of_text(&ends.plus, 11.0) + 30.0);
        plus.is_some_and(|plus| plus + width_of_text(&self.label, 12.5) > right)
    }

    /// Marks with their texts. A sign is written where it means something.
    pub(super) fn marks(&self, range: (f64, f64), about: usize) -> Vec<(f64, String)> {
        if !self.names.is_empty() {
            return self.names.clone();
        }
        let (values, decimals) = ticks(range, about);
        let text = |value: f64| number(value, decimals, self.ends.is_some());
        values.into_iter().map(|value| (value, text(value))).collect()
    }
}

/// `+0.010`, `−0.010` with a true minus, `0`.
pub fn number(value: f64, decimals: usize, signed: bool) -> String {
    let text = format!("{:.decimals$}", value.abs());
    if !text.contains(|c| ('1'..='9').contains(&c)) {
        return "0".to_owned();
    }
    match (value < 0.0, signed) {
        (true, _) => format!("\u{2212}{text}"),
        (false, true) => format!("+{text}"),
        (false, false) => text,
    }
}

/// The part of the page that is drawn in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

/// How far the numbers of an upright axis reach to its left.
pub(super) fn room_for(marks: &[(f64, String)]) -> f64 {
    marks.iter().map(|(_, text)| width_of_text(text, 12.0)).fold(0.0, f64::max).min(150.0) + 10.0
}

/// Whether the words of the plus end need a row of their own, under the label of the axis.
fn rows_of_ends(axis: &Axis, frame: &Frame) -> f64 {
    f64::from(u8::from(axis.needs_row(frame.right)))
}

/// The upright axis: lines across, numbers at the left, its label above, what plus and minus say above and below.
pub(super) fn upright(axis: &Axis, marks: &[(f64, String)], scale: &Scale, frame: &Frame) -> Markup {
    let (low, high) = scale.range();
    let inside = |value: f64| value >= low - 1e-12 && value <= high + 1e-12;
    html! {
        @for (value, text) in marks.iter().filter(|(value, _)| inside(*value)) {
            @let y = shown(scale.at(*value));
            line class="plot-grid" x1=(shown(frame.left)) x2=(shown(frame.right)) y1=(y) y2=(y) {}
            (label(text, (frame.left - 6.0, scale.at(*value) + 4.0), "end", "plot-text"))
        }
        // The words of its ends stand outside, where no line can run through them.
        (label(&axis.label, (2.0, frame.top - 8.0 - rows_of_ends(axis, frame) * 15.0), "start", "plot-strong"))
        @if let Some(ends) = &axis.ends {
            (label(&format!("\u{2191} + {}", ends.plus), (frame.right, frame.top - 8.0), "end", "plot-small"))
            (label(&format!("\u{2193} \u{2212} {}", ends.minus), (2.0, frame.bottom + 33.0), "start", "plot-small"))
        }
    }
}

/// The level axis below. Texts that would run into each other are left out, the first and the last never.
pub(super) fn level(axis: &Axis, marks: &[(f64, String)], scale: &Scale, frame: &Frame) -> Markup {
    let (low, high) = scale.range();
    let slack = (high - low) * 1e-9;
    let places: Vec<(f64, &str)> = marks
        .iter()
        .filter(|(value, _)| *value >= low - slack && *value <= high + slack)
        .map(|(value, text)| (scale.at(*value), text.as_str()))
        .collect();
    html! {
        @for (x, _) in &places {
            line class="plot-grid" x1=(shown(*x)) x2=(shown(*x)) y1=(shown(frame.top)) y2=(shown(frame.bottom)) {}
        }
        @for (x, text) in apart(&places) {
            (label(text, (x, frame.bottom + 16.0), "middle", "plot-text"))
        }
        (label(&axis.label, (frame.right, frame.bottom + 33.0), "end", "plot-strong"))
        @if let Some(ends) = &axis.ends {
            (label(&format!("\u{2190} \u{2212} {}", ends.minus), (frame.left, frame.bottom + 33.0), "start", "plot-small"))
        }
    }
}

/// Texts with room between them.
fn apart<'t>(places: &[(f64, &'t str)]) -> Vec<(f64, &'t str)> {
    let half = |text: &str| width_of_text(text, 12.0) / 2.0 + 3.0;
    let Some((last, others)) = places.split_last() else { return Vec::new() };
    let mut kept: Vec<(f64, &str)> = Vec::new();
    for place in others {
        let clear_of = |other: &(f64, &str)| (place.0 - other.0).abs() >= half(place.1) + half(other.1);
        let first = kept.is_empty();
        if kept.last().is_none_or(clear_of) && (first || clear_of(last)) {
            kept.push(*place);
        }
    }
    if kept.last().is_none_or(|before| (last.0 - before.0).abs() >= half(last.1) + half(before.1)) {
        kept.push(*last);
    }
    kept
}
