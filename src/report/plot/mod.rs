//! Small pieces to draw with: scales, axes, charts over a length or a time, strips against a limit, turns, maps. Plain
//! numbers in, SVG out; nothing here knows of steps or records.
//!
//! What is measured is told apart by the form of line and mark, what is allowed by a tint with a dashed edge, what is
//! beyond it by hatching: colour only helps. Wherever a sign has a meaning, the words stand at that end of the axis.

mod axis;
mod chart;
mod map;
mod polar;
mod scale;
mod strips;
mod style;

pub use axis::{Axis, Ends, number};
pub use chart::{Bar, Chart, Edge, Level, Line, Marks, Stretch, Zone};
pub use map::{HeightMap, MapPoint};
pub use polar::{Turn, TurnPoint};
pub use scale::{Scale, ticks};
pub use strips::{Dot, Strip, Strips};
pub use style::{Form, Tint, definitions, shown, width_of_text};

use maud::{Markup, PreEscaped, html};

use super::page::clean;

/// Every drawing is as wide; the page scales it.
pub const WIDTH: f64 = 600.0;

/// The rules that a drawing needs, for the page or for a drawing that stands alone.
pub const STYLE: &str = include_str!("plot.css");

/// A drawing without its frame, and how high it is.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub height: f64,
    pub content: Markup,
}

impl Drawing {
    /// As part of a page, named and described by elements with these ids.
    pub fn on_page(&self, title: &str, words: &str) -> Markup {
        html! {
            svg viewBox=(self.view_box()) role="img" aria-labelledby={ (title) " " (words) } { (self.content) }
        }
    }

    /// As a file of its own.
    pub fn alone(&self, title: &str, words: &str) -> String {
        let svg = html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(self.view_box()) role="img" {
                title { (clean(title)) }
                desc { (clean(words)) }
                style { (PreEscaped(STYLE)) }
                (definitions())
                rect width="100%" height="100%" fill="#fff" {}
                (self.content)
            }
        };
        svg.into_string()
    }

    fn view_box(&self) -> String {
        format!("0 0 {} {}", shown(WIDTH), shown(self.height))
    }
}

#[cfg(test)]
mod tests;
