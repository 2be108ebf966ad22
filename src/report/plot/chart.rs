//! Lines over a length, a time or named places, with what is allowed, what was found and the worst stretch behind them.

use maud::{Markup, html};

use super::axis::{self, Axis, Frame};
use super::scale::{Scale, aired, extent};
use super::style::{Form, Tint, broken, label, shown, width_of_text};
use super::{Drawing, WIDTH};

/// More points than this are thinned: of each column of the page the least and the greatest stay.
const MOST_POINTS: usize = 1200;

#[derive(Clone, Debug, Default)]
pub struct Chart {
    pub x: Axis,
    pub y: Axis,
    pub lines: Vec<Line>,
    pub zones: Vec<Zone>,
    pub levels: Vec<Level>,
    pub stretches: Vec<Stretch>,
    pub bars: Vec<Bar>,
    /// Of the part that is drawn in.
    pub height: Option<f64>,
}

#[derive(Clone, Debug)]
pub struct Line {
    pub name: String,
    pub form: Form,
    pub points: Vec<(f64, f64)>,
    pub marks: Marks,
    /// Points are joined.
    pub joined: bool,
}

/// How the points of a line are marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marks {
    None,
    Full,
    /// Single readings beside what was worked out from them.
    Small,
}

/// An area between two edges.
#[derive(Clone, Debug)]
pub struct Zone {
    pub tint: Tint,
    pub edges: Vec<Edge>,
    /// Its edges are drawn: it is a limit.
    pub edged: bool,
    pub name: String,
}

/// From where to where an area reaches at one place; without an end it goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    pub at: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// A line across, named at the right.
#[derive(Clone, Debug)]
pub struct Level {
    pub at: f64,
    pub name: String,
    pub limit: bool,
}

/// How far something scatters at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    pub form: Form,
    pub at: f64,
    pub from: f64,
    pub to: f64,
}

/// A part of the level axis.
#[derive(Clone, Debug)]
pub struct Stretch {
    pub from: f64,
    pub to: f64,
    pub tint: Tint,
    pub name: String,
}

/// Names at the right of the frame stand in so wide a column.
const COLUMN: f64 = 122.0;

impl Chart {
    pub fn draw(&self) -> Drawing {
        let keys = self.keys();
        let (key, key_height) = legend(&keys);
        let height = self.height.unwrap_or(210.0);
        let (xs, ys) = (self.xs(), self.ys());
        let marks = self.y.marks(ys, 6);
        let named = self.levels.iter().any(|level| !level.name.is_empty());
        let right = WIDTH - if named { COLUMN } else { 14.0 };
        let top = key_height + if self.y.needs_row(right) { 41.0 } else { 26.0 };
        let frame = Frame { left: axis::room_for(&marks), right, top, bottom: top + height };
        let x = Scale::new(xs, (frame.left, frame.right));
        let y = Scale::new(ys, (frame.bottom, frame.top));
        let about = ((frame.right - frame.left) / 64.0) as usize;
        let content = html! {
            (key)
            @for zone in &self.zones { (area(zone, &x, &y, &frame)) }
            @for stretch in &self.stretches { (strip(stretch, &x, &frame)) }
            (axis::upright(&self.y, &marks, &y, &frame))
            (axis::level(&self.x, &self.x.marks(xs, about), &x, &frame))
            @if ys.0 < 0.0 && ys.1 > 0.0 {
                line class="plot-zero" x1=(shown(frame.left)) x2=(shown(frame.right)) y1=(shown(y.at(0.0))) y2=(shown(y.at(0.0))) {}
            }
            rect class="plot-frame" x=(shown(frame.left)) y=(shown(frame.top)) width=(shown(frame.right - frame.left)) height=(shown(height)) {}
            @for zone in self.zones.iter().filter(|zone| zone.edged) { (edges(zone, &x, &y)) }
            @for level in &self.levels {
                line class=(if level.limit { "plot-level" } else { "plot-thin" }) x1=(shown(frame.left)) x2=(shown(frame.right)) y1=(shown(y.within(level.at))) y2=(shown(y.within(level.at))) {}
            }
            @for bar in &self.bars { (whisker(bar, &x, &y)) }
            @for line in &self.lines { (drawn(line, &x, &y)) }
            (self.names(&y, &frame))
        };
        Drawing { height: frame.bottom + 40.0, content }
    }

    fn xs(&self) -> (f64, f64) {
        let points = self.lines.iter().flat_map(|line| line.points.iter().map(|point| point.0));
        let stretches = self.stretches.iter().flat_map(|stretch| [stretch.from, stretch.to]);
        let reach = self.x.reach.iter().flat_map(|reach| [reach.0, reach.1]);
        let found = extent(points.chain(stretches).chain(reach)).unwrap_or((0.0, 1.0));
        if self.x.names.is_empty() { aired(found, 0.02) } else { (found.0 - 0.5, found.1 + 0.5) }
    }

    fn ys(&self) -> (f64, f64) {
        let points = self.lines.iter().flat_map(|line| line.points.iter().map(|point| point.1));
        let edges = self.zones.iter().flat_map(|zone| &zone.edges);
        let edges = edges.flat_map(|edge| [edge.low, edge.high]).flatten();
        let levels = self.levels.iter().map(|level| level.at);
        let reach = self.y.reach.iter().flat_map(|reach| [reach.0, reach.1]);
        let bars = self.bars.iter().flat_map(|bar| [bar.from, bar.to]);
        let points = points.chain(bars);
        aired(extent(points.chain(edges).chain(levels).chain(reach)).unwrap_or((0.0, 1.0)), 0.12)
    }

    fn keys(&self) -> Vec<Key<'_>> {
        let lines = self.lines.iter().filter(|line| !line.name.is_empty()).map(Key::Line);
        let zones = self.zones.iter().filter(|zone| !zone.name.is_empty());
        let zones = zones.map(|zone| Key::Area(zone.tint, zone.edged, &zone.name));
        let stretches = self.stretches.iter().filter(|stretch| !stretch.name.is_empty());
        let stretches = stretches.map(|stretch| Key::Area(stretch.tint, false, &stretch.name));
        lines.chain(zones).chain(stretches).collect()
    }

    /// The names of the levels in the column at the right, moved apart where they would cover each other.
    fn names(&self, y: &Scale, frame: &Frame) -> Markup {
        let mut names: Vec<(f64, Vec<String>)> = self
            .levels
            .iter()
            .filter(|level| !level.name.is_empty())
            .map(|level| (y.within(level.at), broken(&level.name, 11.0, COLUMN - 10.0)))
            .collect();
        names.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut free = frame.top - 4.0;
        let mut placed = Vec::new();
        for (at, lines) in names {
            let height = (lines.len() as f64 - 1.0) * 13.0;
            let first = (at - height / 2.0 + 4.0).max(free + 11.0);
            free = first + height + 7.0;
            placed.extend((0..).zip(lines).map(|(number, line)| (first + f64::from(number) * 13.0, line)));
        }
        html! {
            @for (y, line) in &placed { (label(line, (frame.right + 6.0, *y), "start", "plot-small")) }
        }
    }
}

pub(super) enum Key<'c> {
    Line(&'c Line),
    Area(Tint, bool, &'c str),
}

/// What each form of line and area means, and how high that stands.
pub(super) fn legend(keys: &[Key<'_>]) -> (Markup, f64) {
    let (mut x, mut y) = (2.0, 10.0);
    let mut places = Vec::new();
    for key in keys {
        let name = match key {
            Key::Line(line) => line.name.as_str(),
            Key::Area(_, _, name) => name,
        };
        let name = super::super::page::cut(name, 84);
        let width = 34.0 + width_of_text(&name, 12.0) + 16.0;
        if x + width > WIDTH && x > 2.0 {
            (x, y) = (2.0, y + 18.0);
        }
        places.push((key, name, x, y));
        x += width;
    }
    let height = if keys.is_empty() { 0.0 } else { y + 8.0 };
    let drawn = html! {
        @for (key, name, x, y) in &places {
            @match key {
                Key::Line(line) => {
                    @if line.joined {
                        path class={ "plot-line " (line.form.class()) } stroke-dasharray=(line.form.dash()) d=(format!("M{} {}h26", shown(*x), shown(*y))) {}
                    }
                    (marked(line, x + 13.0, *y))
                },
                Key::Area(tint, edged, _) => {
                    rect class=(tint.class()) x=(shown(*x)) y=(shown(y - 6.0)) width="26" height="12" {}
                    rect class=(if *edged { "plot-edge" } else { "plot-frame" }) x=(shown(*x)) y=(shown(y - 6.0)) width="26" height="12" {}
                },
            }
            (label(name, (x + 32.0, y + 4.0), "start", "plot-text"))
        }
    };
    (drawn, height)
}

fn area(zone: &Zone, x: &Scale, y: &Scale, frame: &Frame) -> Markup {
    let high = zone.edges.iter().map(|edge| (edge.at, edge.high.map_or(frame.top, |high| y.within(high))));
    let low =
        zone.edges.iter().rev().map(|edge| (edge.at, edge.low.map_or(frame.bottom, |low| y.within(low))));
    let corners: Vec<String> =
        high.chain(low).map(|(at, y)| format!("{} {}", shown(x.within(at)), shown(y))).collect();
    html! { path class=(zone.tint.class()) d={ "M" (corners.join("L")) "z" } {} }
}

/// The edges of what is allowed.
fn edges(zone: &Zone, x: &Scale, y: &Scale) -> Markup {
    let edge = |pick: fn(&Edge) -> Option<f64>| {
        let places = zone.edges.iter().filter_map(|edge| Some((edge.at, pick(edge)?)));
        path(places.map(|(at, edge)| (x.within(at), y.within(edge))))
    };
    html! {
        @for edge in [edge(|edge| edge.low), edge(|edge| edge.high)].iter().filter(|edge| !edge.is_empty()) {
            path class="plot-edge" d=(edge) {}
        }
    }
}

fn strip(stretch: &Stretch, x: &Scale, frame: &Frame) -> Markup {
    let (from, to) = (x.within(stretch.from), x.within(stretch.to));
    html! {
        rect class=(stretch.tint.class()) x=(shown(from)) y=(shown(frame.top)) width=(shown(to - from)) height=(shown(frame.bottom - frame.top)) {}
    }
}

fn drawn(line: &Line, x: &Scale, y: &Scale) -> Markup {
    let places: Vec<(f64, f64)> = line.points.iter().map(|(at, value)| (x.at(*at), y.at(*value))).collect();
    let many = places.len() > MOST_POINTS;
    let places = if many { thinned(&places) } else { places };
    html! {
        @if line.joined || many {
            path class={ "plot-line " (line.form.class()) } stroke-dasharray=(line.form.dash()) d=(path(places.iter().copied())) {}
        }
        // Marks that would cover each other say nothing.
        @if places.len() <= 150 {
            @for (x, y) in &places { (marked(line, *x, *y)) }
        }
    }
}

fn marked(line: &Line, x: f64, y: f64) -> Markup {
    match line.marks {
        Marks::None => html! {},
        Marks::Full => line.form.mark(x, y),
        Marks::Small => html! { circle class="plot-run" cx=(shown(x)) cy=(shown(y)) r="1.7" {} },
    }
}

fn whisker(bar: &Bar, x: &Scale, y: &Scale) -> Markup {
    let (at, from, to) = (x.at(bar.at), y.within(bar.from), y.within(bar.to));
    let left = shown(at - 4.0);
    html! {
        path class={ "plot-line " (bar.form.class()) } d=(format!("M{left} {}h8m-4 0V{}m-4 0h8", shown(from), shown(to))) {}
    }
}

pub(super) fn path(places: impl Iterator<Item = (f64, f64)>) -> String {
    let mut path = String::new();
    for (x, y) in places {
        path.push(if path.is_empty() { 'M' } else { 'L' });
        path.push_str(&format!("{} {}", shown(x), shown(y)));
    }
    path
}

/// Of each column of the page the first, the least, the greatest and the last, so that no peak is lost.
fn thinned(places: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for column in places.chunk_by(|a, b| a.0.round() == b.0.round()) {
        let by = |order: std::cmp::Ordering| {
            column.iter().enumerate().reduce(|a, b| if b.1.1.total_cmp(&a.1.1) == order { b } else { a })
        };
        let ends = [Some(0), column.len().checked_sub(1)];
        let peaks = [by(std::cmp::Ordering::Less), by(std::cmp::Ordering::Greater)];
        let mut at: Vec<usize> =
            ends.into_iter().chain(peaks.map(|it| it.map(|it| it.0))).flatten().collect();
        at.sort_unstable();
        at.dedup();
        kept.extend(at.into_iter().filter_map(|at| column.get(at).copied()));
    }
    kept
}
