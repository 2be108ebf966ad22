//! `survey eight lines L by W foot F`: the lines of a plate, each a whole number of feet.
//!
//! Corners A front left, B front right, C rear right, D rear left; E F G H the middles of front, right, rear, left.
//! Each line goes from the first of its two letters to the second. Nothing here works heights out.

use std::rc::Rc;

use num_traits::Signed;

use crate::diagnostic::{Code, Problem};
use crate::metrology;
use crate::quantity::{Dimension, Rational, Real, Unit, ratio, record_text};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::program::{Axis, AxisId, Stations, Survey, Text};

/// The eight lines in the order in which they are read.
pub const LINES: [&str; 8] = ["AC", "DB", "AB", "DC", "AD", "BC", "EG", "HF"];

/// More feet than anyone steps.
const MOST_FEET: i64 = 2000;

impl Survey {
    /// `None` if its feet do not come out whole.
    fn new(length: &Rational, width: &Rational, foot: &Rational, unit: Unit) -> Option<Self> {
        let most = foot * ratio(MOST_FEET, 1);
        let real = |side: &Rational| Real::Exact(side.clone());
        let reasonable = foot.is_positive() && *length <= most && *width <= most;
        let plan = reasonable.then(|| metrology::Survey::new(&real(length), &real(width), &real(foot)));
        Some(Self { plan: Rc::new(plan?.ok()?), foot: foot.clone(), unit })
    }

    /// The lines by name, and the feet of each.
    pub fn lines(&self) -> impl Iterator<Item = (&'static str, usize)> {
        LINES.into_iter().zip(self.plan.feet())
    }

    /// Feet of the longest line.
    pub fn longest(&self) -> usize {
        self.plan.feet().into_iter().max().unwrap_or(0)
    }

    /// The names of all feet in the order in which they are read: `AC_1`, `AC_2`, ...
    pub fn foot_names(&self) -> Vec<String> {
        let of_line = |(name, feet)| (1..=feet).map(move |foot| format!("{name}_{foot}"));
        self.lines().flat_map(of_line).collect()
    }
}

impl Stations {
    /// Stations that are words and known from the file.
    pub(super) fn fixed_words(&self) -> Option<Vec<String>> {
        match self {
            Stations::Words(words) => Some(words.clone()),
            Stations::Survey(survey) => Some(survey.foot_names()),
            Stations::SurveyLines(_) => Some(LINES.map(str::to_string).to_vec()),
            _ => None,
        }
    }
}

/// "its stations are A, B, ...", the first eight of them.
pub(super) fn some_of(words: &[String]) -> String {
    let few = words.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
    format!("its stations are {few}{}", if words.len() > 8 { ", ..." } else { "" })
}

impl Checker<'_> {
    pub(super) fn survey_axis(
        &mut self,
        lines: &ast::Name,
        sides: [&ast::Quantity; 3],
        span: Span,
    ) -> Option<AxisId> {
        if lines.text != "eight" {
            self.report(
                Problem::fault(
                    Code::AxisSurvey,
                    lines.span,
                    format!("a survey of `{}` lines is not known", lines.text),
                )
                .help("write `survey eight lines 800 mm by 600 mm foot 100 mm`"),
            );
            return None;
        }
        let [length, width, foot] = sides;
        let mut sizes = Vec::new();
        for (side, what) in [(length, "length"), (width, "width"), (foot, "foot")] {
            let literal = self.literal_of(side, Dimension::LENGTH, &format!("the {what} of a survey"))?;
            let base = literal.unit.to_base(&Real::Exact(literal.number.clone())).middle();
            if !base.is_positive() {
                self.fault(Code::AxisSurvey, side.span, format!("the {what} must be more than zero"));
                return None;
            }
            sizes.push((base, literal.unit));
        }
        let [(length, unit), (width, _), (foot, foot_unit)] = sizes.as_slice() else { return None };
        let Some(survey) = Survey::new(length, width, foot, *foot_unit) else {
            let real = |side: &Rational| Real::Exact(side.clone());
            let fitting = metrology::Survey::sizes_that_fit(&real(length), &real(width), &real(foot));
            let shown = |side: &Real| record_text(&unit.from_base(side));
            let named =
                |(a, b): &(Real, Real)| format!("{0} {2} by {1} {2}", shown(a), shown(b), unit.symbol());
            let nearest: Vec<String> = fitting.unwrap_or_default().iter().take(2).map(named).collect();
            let help = format!("with this foot the nearest that fit are {}", nearest.join(" and "));
            self.report(
                Problem::fault(
                    Code::AxisSurvey,
                    span,
                    "the lines of this survey are no whole number of feet",
                )
                .label("both sides an even number of feet, and the diagonals a whole number")
                .help(help),
            );
            return None;
        };
        Some(self.made_axis("foot", Stations::Survey(survey), span))
    }

    /// The axes of heights over a survey: `line`, and `step` from the beginning of each line.
    pub(super) fn map_axes(&mut self, feet: AxisId) -> Option<Vec<AxisId>> {
        if let Some(known) = self.map_axes.get(&feet) {
            return Some(known.clone());
        }
        let axis = self.axes.get(feet.0)?.clone();
        let Stations::Survey(survey) = axis.stations else { return None };
        let longest = Rational::from_integer(survey.longest().into()) * &survey.foot;
        let place = |number: Rational| super::program::Expr {
            node: super::program::Node::Number(number),
            kind: super::program::Kind::Quantity(Dimension::LENGTH),
            axes: Vec::new(),
            sense: None,
            span: axis.span,
        };
        let stations = Stations::Range {
            from: place(ratio(0, 1)),
            to: place(longest),
            step: place(survey.foot.clone()),
            up_to: false,
            unit: survey.unit,
        };
        let line = self.made_axis("line", Stations::SurveyLines(survey), axis.span);
        let step = Axis {
            name: "step".to_string(),
            label: Text::plain("step"),
            dimension: Some(Dimension::LENGTH),
            stations,
            closing: false,
            pair: None,
            rise: None,
            span: axis.span,
        };
        let axes = vec![line, self.add_axis(step)];
        self.map_axes.insert(feet, axes.clone());
        Some(axes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn survey(length: i64, width: i64, foot: Rational) -> Option<Survey> {
        Survey::new(&ratio(length, 1), &ratio(width, 1), &foot, Unit::Mm)
    }

    #[test]
    fn the_feet_are_named_line_by_line() {
        let fits = survey(800, 600, ratio(100, 1)).unwrap();
        let feet: Vec<usize> = fits.lines().map(|(_, feet)| feet).collect();
        assert_eq!(feet, [10, 10, 8, 8, 6, 6, 6, 8]);
        assert_eq!((fits.foot_names().len(), fits.longest()), (62, 10));
        assert_eq!(fits.foot_names()[10], "DB_1");
        assert!(survey(800, 500, ratio(100, 1)).is_none());
        assert!(survey(300, 400, ratio(100, 1)).is_none(), "the middles would fall between feet");
        assert!(survey(800, 600, ratio(1, 1_000_000)).is_none(), "endless");
    }
}
