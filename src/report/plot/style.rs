//! How lines and marks differ without colour, and how wide a text is.

use maud::{Markup, html};
use unicode_width::UnicodeWidthStr;

use crate::report::page::clean;

/// The form of a line and of its marks. Six can be told apart; beyond that they begin again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Form(pub usize);

const DASHES: [&str; 6] = ["none", "8 4", "2 3", "10 3 2 3", "14 4", "5 2 1 2 1 2"];

impl Form {
    fn at(self) -> usize {
        self.0 % DASHES.len()
    }

    pub(super) fn class(self) -> String {
        format!("plot-f{}", self.at())
    }

    pub(super) fn dash(self) -> &'static str {
        DASHES.get(self.at()).copied().unwrap_or("none")
    }

    /// A mark at a place: dot, ring, square, triangle, open square, cross.
    pub(super) fn mark(self, x: f64, y: f64) -> Markup {
        let class = self.class();
        let open = format!("{class} plot-open");
        let corner = |side: f64| (shown(x - side / 2.0), shown(y - side / 2.0));
        html! {
            @match self.at() {
                0 => circle class=(class) cx=(shown(x)) cy=(shown(y)) r="3" {},
                1 => circle class=(open) cx=(shown(x)) cy=(shown(y)) r="3.4" {},
                2 => rect class=(class) x=(corner(5.6).0) y=(corner(5.6).1) width="5.6" height="5.6" {},
                3 => path class=(class) d=(format!("M{} {}l4 7h-8z", shown(x), shown(y - 4.5))) {},
                4 => rect class=(open) x=(corner(6.4).0) y=(corner(6.4).1) width="6.4" height="6.4" {},
                _ => path class={ "plot-line " (class) } d=(format!("M{} {}l7 7m0-7l-7 7", shown(x - 3.5), shown(y - 3.5))) {},
            }
        }
    }
}

/// How an area is told from its surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tint {
    /// What is allowed.
    Allowed,
    /// What was measured: from the least to the greatest.
    Band,
    /// What is not allowed, or the worst place.
    Hatched,
    /// What cannot be decided.
    Dotted,
    /// Where two parts of a series were joined.
    Seam,
}

impl Tint {
    pub(super) fn class(self) -> &'static str {
        match self {
            Tint::Allowed => "plot-allowed",
            Tint::Band => "plot-band",
            Tint::Hatched => "plot-hatch",
            Tint::Dotted => "plot-dots",
            Tint::Seam => "plot-seam",
        }
    }
}

/// The patterns that areas are filled with; once on each page.
pub fn definitions() -> Markup {
    html! {
        defs {
            pattern id="plot-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                rect width="6" height="6" fill="#fff" {}
                path d="M0 0v6" stroke="#8b93a0" stroke-width="1.6" {}
            }
            pattern id="plot-seam" width="5" height="5" patternUnits="userSpaceOnUse" {
                path d="M2 0v5" stroke="#8b93a0" stroke-width="1" {}
            }
            pattern id="plot-dots" width="6" height="6" patternUnits="userSpaceOnUse" {
                circle cx="2" cy="2" r="1.1" fill="#7d8592" {}
            }
        }
    }
}

/// A coordinate, to a tenth: more cannot be seen.
pub fn shown(coordinate: f64) -> String {
    let tenths = (coordinate * 10.0).round() / 10.0;
    // No minus nought.
    let tenths = if tenths == 0.0 { 0.0 } else { tenths };
    format!("{tenths}")
}

/// About how wide a text is in a letter of this size: fonts differ, so a little more than most.
pub fn width_of_text(text: &str, size: f64) -> f64 {
    UnicodeWidthStr::width(text) as f64 * size * 0.56
}

/// A text at a place, safe to show, cut at a width.
pub(super) fn label(text: &str, (x, y): (f64, f64), anchor: &str, class: &str) -> Markup {
    html! { text class=(class) x=(shown(x)) y=(shown(y)) text-anchor=(anchor) { (clean(text)) } }
}

/// Breaks a text at blanks into lines no wider than this.
pub(super) fn broken(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width_of_text(line, size) + width_of_text(word, size) + size * 0.5 <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
