//! Heights over a surface: a number at each place, the higher the darker, what is below zero hatched.

use maud::{Markup, html};

use super::axis::Axis;
use super::scale::{Scale, aired, extent};
use super::style::{label, shown, width_of_text};
use super::{Drawing, WIDTH};

#[derive(Clone, Debug, Default)]
pub struct HeightMap {
    pub x: Axis,
    pub y: Axis,
    pub points: Vec<MapPoint>,
    /// Lines along which was measured, by their ends.
    pub lines: Vec<((f64, f64), (f64, f64))>,
    /// What the numbers mean.
    pub note: String,
}

#[derive(Clone, Debug)]
pub struct MapPoint {
    pub x: f64,
    pub y: f64,
    pub value: f64,
    /// As it is written at its place.
    pub text: String,
    /// Something that is marked: the highest, the lowest.
    pub marked: bool,
}

impl HeightMap {
    pub fn draw(&self) -> Drawing {
        let xs = extent(self.points.iter().map(|point| point.x)).unwrap_or((0.0, 1.0));
        let ys = extent(self.points.iter().map(|point| point.y)).unwrap_or((0.0, 1.0));
        let (left, right, top) = (64.0, WIDTH - 14.0, 26.0);
        // The plate keeps its proportions, within reason.
        let share = ((ys.1 - ys.0) / (xs.1 - xs.0).max(f64::MIN_POSITIVE)).clamp(0.22, 0.62);
        let bottom = top + (right - left) * share;
        let x = Scale::new(aired(xs, 0.07), (left, right));
        let y = Scale::new(aired(ys, 0.07), (bottom, top));
        let values = extent(self.points.iter().map(|point| point.value)).unwrap_or((0.0, 1.0));
        let widest = self.points.iter().map(|point| width_of_text(&point.text, 11.0)).fold(20.0, f64::max);
        let frame = super::axis::Frame { left, right, top, bottom };
        let content = html! {
            (super::axis::upright(&self.y, &self.y.marks(y.range(), 6), &y, &frame))
            (super::axis::level(&self.x, &self.x.marks(x.range(), 8), &x, &frame))
            @for (from, to) in &self.lines {
                line class="plot-thin" x1=(shown(x.at(from.0))) y1=(shown(y.at(from.1))) x2=(shown(x.at(to.0))) y2=(shown(y.at(to.1))) {}
            }
            @for point in &self.points { (cell(point, (x.at(point.x), y.at(point.y)), widest, values)) }
            (label(&self.note, (left, bottom + 50.0), "start", "plot-small"))
        };
        Drawing { height: bottom + 58.0, content }
    }
}

fn cell(point: &MapPoint, (x, y): (f64, f64), widest: f64, (least, greatest): (f64, f64)) -> Markup {
    // From white at the lowest to a grey on which the number can still be read.
    let share = (point.value - least) / (greatest - least).max(f64::MIN_POSITIVE);
    let grey = 255.0 - 80.0 * share.clamp(0.0, 1.0);
    let fill = format!(
        "rgb({},{},{})",
        shown((grey - 8.0).round()),
        shown(grey.round()),
        shown((grey + 6.0).min(255.0).round())
    );
    let class = match (point.marked, point.value < 0.0) {
        (true, _) => "plot-cell plot-marked",
        (false, true) => "plot-cell plot-below",
        (false, false) => "plot-cell",
    };
    html! {
        rect class=(class) x=(shown(x - widest / 2.0 - 3.0)) y=(shown(y - 9.0)) width=(shown(widest + 6.0)) height="18" rx="2" fill=(fill) {}
        (label(&point.text, (x, y + 4.0), "middle", "plot-small"))
    }
}
