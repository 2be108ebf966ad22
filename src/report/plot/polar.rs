//! Readings round a turn, twice: as they were read, with the circle and the arrow of the eccentricity; and what is left
//! when that is taken out, the form alone.

use maud::{Markup, html};

use super::axis::number;
use super::chart::path;
use super::scale::{extent, ticks};
use super::style::{Form, broken, label, shown};
use super::{Drawing, WIDTH};

/// Readings round a turn, in one unit; angles in degrees, counted as the spindle is.
#[derive(Clone, Debug, Default)]
pub struct Turn {
    pub points: Vec<TurnPoint>,
    /// Size of the eccentricity and where the dial reads high.
    pub arrow: Option<(f64, f64)>,
    /// Mean of the readings.
    pub mean: f64,
    pub unit: String,
    /// What plus says.
    pub outward: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnPoint {
    pub angle: f64,
    pub read: f64,
    /// Less mean and eccentricity.
    pub form: f64,
}

const RADIUS: f64 = 92.0;
const PANEL: f64 = 300.0;

impl Turn {
    pub fn draw(&self) -> Drawing {
        let read: Vec<(f64, f64)> = self.points.iter().map(|it| (it.angle, it.read - self.mean)).collect();
        let form: Vec<(f64, f64)> = self.points.iter().map(|it| (it.angle, it.form)).collect();
        let outward = match &self.outward {
            Some(words) => format!("outward is plus: {words}"),
            None => "outward is plus".to_owned(),
        };
        let size = |points: &[(f64, f64)]| points.iter().map(|point| point.1.abs()).fold(0.0, f64::max);
        let most = self.arrow.map_or(0.0, |arrow| arrow.0).max(size(&read));
        // A form of nothing is not blown up to the noise of its last digit.
        let ring_of_form = rings(if size(&form) < most * 1e-6 { most } else { size(&form) });
        let content = html! {
            (self.panel(&read, self.arrow, PANEL / 2.0, "as read, less the mean", rings(most)))
            (self.panel(&form, None, WIDTH - PANEL / 2.0, "form: eccentricity taken out", ring_of_form))
            @for (at, line) in broken(&outward, 11.0, WIDTH - 20.0).iter().take(2).enumerate() {
                (label(line, (WIDTH / 2.0, 286.0 + at as f64 * 14.0), "middle", "plot-small"))
            }
        };
        Drawing { height: 306.0, content }
    }

    fn panel(
        &self,
        points: &[(f64, f64)],
        arrow: Option<(f64, f64)>,
        middle: f64,
        title: &str,
        (ring, decimals): (f64, usize),
    ) -> Markup {
        let centre = (middle, 138.0);
        // The rim is the outermost ring; the innermost keeps clear of the centre, where all angles meet.
        let radius = |value: f64| RADIUS * (0.62 + 0.38 * value / ring);
        let place = |angle: f64, value: f64| {
            let (sin, cos) = (libm::sin(angle.to_radians()), libm::cos(angle.to_radians()));
            (centre.0 + radius(value) * sin, centre.1 - radius(value) * cos)
        };
        let closed: Vec<(f64, f64)> = match points.first() {
            Some(first) => points.iter().copied().chain([(first.0 + 360.0, first.1)]).collect(),
            None => Vec::new(),
        };
        let spoke = |angle: f64| {
            let (sin, cos) = (libm::sin(angle.to_radians()), libm::cos(angle.to_radians()));
            (centre.0 + (RADIUS + 18.0) * sin, centre.1 - (RADIUS + 13.0) * cos + 4.0)
        };
        html! {
            (label(title, (middle, 14.0), "middle", "plot-strong"))
            @for value in [-ring, 0.0, ring] {
                circle class=(if value == 0.0 { "plot-frame" } else { "plot-ring" }) cx=(shown(centre.0)) cy=(shown(centre.1)) r=(shown(radius(value).max(0.5))) {}
            }
            @for quarter in [0.0, 90.0, 180.0, 270.0] {
                @let (from, to) = (place(quarter, -ring), place(quarter, ring));
                line class="plot-grid" x1=(shown(from.0)) y1=(shown(from.1)) x2=(shown(to.0)) y2=(shown(to.1)) {}
                (label(&format!("{quarter}\u{b0}"), spoke(quarter), "middle", "plot-small"))
            }
            @if let Some((size, high)) = arrow.filter(|it| it.0 > 0.0) {
                @let circle = (0..=72).map(|step| {
                    let angle = f64::from(step) * 5.0;
                    place(angle, size * libm::cos((angle - high).to_radians()))
                });
                path class="plot-line plot-f1" stroke-dasharray="8 4" d=(path(circle)) {}
                @let tip = place(high, size);
                path class="plot-line plot-f1" d=(path([centre, tip].into_iter())) {}
                (Form(1).mark(tip.0, tip.1))
            }
            path class="plot-line plot-f0" d=(path(closed.iter().map(|(angle, value)| place(*angle, *value)))) {}
            @for (angle, value) in points { @let at = place(*angle, *value); (Form(0).mark(at.0, at.1)) }
            (label(&format!("rim {} {unit}, middle ring 0", number(ring, decimals, true), unit = self.unit), (middle, 268.0), "middle", "plot-small"))
        }
    }
}

/// The value of the outermost ring: the first round number beyond all.
fn rings(most: f64) -> (f64, usize) {
    let (values, decimals) = ticks((0.0, most * 2.0), 4);
    let found = values.into_iter().find(|value| *value >= most && *value > 0.0);
    match extent(found) {
        Some((ring, _)) => (ring, decimals),
        None => (1.0, 0),
    }
}
