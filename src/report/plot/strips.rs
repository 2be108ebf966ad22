//! Values on one scale against what is allowed: tries of one rule, or many rules each in its own band.

use maud::{Markup, html};

use super::axis::{Axis, Frame};
use super::chart::{Key, legend};
use super::scale::{Scale, aired, extent};
use super::style::{Form, Tint, label, shown, width_of_text};
use super::{Drawing, WIDTH};
use crate::report::page::cut;

/// Strips one below the other over one scale.
#[derive(Clone, Debug, Default)]
pub struct Strips {
    pub axis: Axis,
    pub rows: Vec<Strip>,
    /// What each form of dot means.
    pub forms: Vec<(Form, String)>,
    /// What the tinted and the hatched parts mean.
    pub tints: Vec<(Tint, String)>,
    /// A line is drawn from here to each value: a bar without its width.
    pub from: Option<f64>,
}

#[derive(Clone, Debug, Default)]
pub struct Strip {
    pub name: String,
    /// What is allowed on the scale; an end that is not there goes on.
    pub allowed: Option<(Option<f64>, Option<f64>)>,
    /// From where to where nothing can be decided, at each limit.
    pub undecided: Vec<(f64, f64)>,
    pub dots: Vec<Dot>,
    /// Said at the right.
    pub said: String,
}

#[derive(Clone, Debug)]
pub struct Dot {
    pub form: Form,
    pub at: f64,
    /// Half the width of the interval in which the true value lies.
    pub uncertain: Option<f64>,
}

const ROW: f64 = 24.0;
const SAID: f64 = 96.0;

impl Strips {
    pub fn draw(&self) -> Drawing {
        let lines: Vec<super::Line> = self.forms.iter().map(|(form, name)| key_of(*form, name)).collect();
        let keys: Vec<Key<'_>> = lines
            .iter()
            .map(Key::Line)
            .chain(self.tints.iter().map(|(tint, name)| Key::Area(*tint, *tint == Tint::Allowed, name)))
            .collect();
        let (key, key_height) = legend(&keys);
        let names = self.rows.iter().map(|row| width_of_text(&row.name, 12.0)).fold(0.0, f64::max).min(262.0);
        let said = if self.rows.iter().any(|row| !row.said.is_empty()) { SAID } else { 14.0 };
        let frame = Frame {
            left: names + 10.0,
            right: WIDTH - said,
            top: key_height + 6.0,
            bottom: key_height + 6.0 + self.rows.len() as f64 * ROW,
        };
        let range = self.range();
        let x = Scale::new(range, (frame.left, frame.right));
        let about = ((frame.right - frame.left) / 72.0) as usize;
        let content = html! {
            (key)
            @for (number, row) in self.rows.iter().enumerate() {
                (backdrop(row, &x, &frame, frame.top + number as f64 * ROW))
            }
            (super::axis::level(&self.axis, &self.axis.marks(range, about), &x, &frame))
            @if let Some(ends) = &self.axis.ends {
                (label(&format!("+ {} \u{2192}", ends.plus), (frame.right, frame.bottom + 46.0), "end", "plot-small"))
            }
            rect class="plot-frame" x=(shown(frame.left)) y=(shown(frame.top)) width=(shown(frame.right - frame.left)) height=(shown(frame.bottom - frame.top)) {}
            @for (number, row) in self.rows.iter().enumerate() {
                (self.row(row, &x, &frame, frame.top + (number as f64 + 0.5) * ROW))
            }
        };
        Drawing { height: frame.bottom + if self.axis.ends.is_some() { 52.0 } else { 40.0 }, content }
    }

    fn range(&self) -> (f64, f64) {
        let dots = self.rows.iter().flat_map(|row| &row.dots);
        let dots = dots.flat_map(|dot| {
            let half = dot.uncertain.unwrap_or(0.0);
            [dot.at - half, dot.at + half]
        });
        let allowed = self.rows.iter().filter_map(|row| row.allowed);
        let allowed = allowed.flat_map(|(low, high)| [low, high]).flatten();
        let undecided = self.rows.iter().flat_map(|row| &row.undecided).flat_map(|(low, high)| [*low, *high]);
        let found = match self.axis.reach {
            Some(reach) => Some(reach),
            None => extent(dots.chain(allowed).chain(undecided).chain(self.from)),
        };
        aired(found.unwrap_or((0.0, 1.0)), 0.06)
    }

    fn row(&self, row: &Strip, x: &Scale, frame: &Frame, y: f64) -> Markup {
        html! {
            (label(&cut(&row.name, 39), (frame.left - 6.0, y + 4.0), "end", "plot-text"))
            @if !row.said.is_empty() {
                (label(&cut(&row.said, 16), (frame.right + 6.0, y + 4.0), "start", "plot-small"))
            }
            @for dot in row.dots.iter().rev() {
                @if let Some(from) = self.from {
                    path class={ "plot-line " (dot.form.class()) } d=(format!("M{} {}H{}", shown(x.within(from)), shown(y), shown(x.within(dot.at)))) {}
                }
                @if let Some(half) = dot.uncertain {
                    @let (low, high) = (x.within(dot.at - half), x.within(dot.at + half));
                    path class={ "plot-line " (dot.form.class()) } d=(format!("M{} {y1}v8m0-4H{}m0-4v8", shown(low), shown(high), y1 = shown(y - 4.0))) {}
                }
                (dot.form.mark(x.within(dot.at), y))
                @if x.at(dot.at) > frame.right + 0.5 {
                    (label("\u{2192}", (frame.right - 5.0, y + 4.0), "end", "plot-strong plot-halo"))
                }
                @if x.at(dot.at) < frame.left - 0.5 {
                    (label("\u{2190}", (frame.left + 5.0, y + 4.0), "start", "plot-strong plot-halo"))
                }
            }
        }
    }
}

fn key_of(form: Form, name: &str) -> super::Line {
    super::Line { name: name.to_owned(), form, points: Vec::new(), marks: super::Marks::Full, joined: false }
}

/// What is allowed in a row, what is not, and what lies between.
fn backdrop(row: &Strip, x: &Scale, frame: &Frame, top: f64) -> Markup {
    let Some((low, high)) = row.allowed else { return html! {} };
    let from = low.map_or(frame.left, |low| x.within(low));
    let to = high.map_or(frame.right, |high| x.within(high));
    let part = |class: &str, from: f64, to: f64| {
        html! {
            @if to > from {
                rect class=(class) x=(shown(from)) y=(shown(top + 2.0)) width=(shown(to - from)) height=(shown(ROW - 4.0)) {}
            }
        }
    };
    html! {
        (part("plot-hatch", frame.left, from))
        (part("plot-hatch", to, frame.right))
        (part("plot-allowed", from, to))
        @for (low, high) in &row.undecided { (part("plot-dots", x.within(*low), x.within(*high))) }
        @for edge in [low.map(|_| from), high.map(|_| to)].into_iter().flatten() {
            path class="plot-edge" d=(format!("M{} {}v{}", shown(edge), shown(top + 1.0), shown(ROW - 2.0))) {}
        }
    }
}
