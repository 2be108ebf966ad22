//! `survey eight lines L by W foot F`: the lines of a plate, each a whole number of feet.
//!
//! Corners A front left, B front right, C rear right, D rear left; E F G H the middles of front, right, rear, left.
//! Each line goes from the first of its two letters to the second. Nothing here works heights out.

use num_integer::Integer;
use num_traits::{Signed, ToPrimitive};

use crate::diagnostic::{Code, Problem};
use crate::quantity::{Dimension, Rational, Real, ratio, show};
use crate::source::Span;
use crate::syntax::ast;

use super::Checker;
use super::program::{Axis, AxisId, Stations, Survey, Text};

/// The eight lines in the order in which they are read.
pub const LINES: [&str; 8] = ["AC", "DB", "AB", "DC", "AD", "BC", "EG", "HF"];

/// More feet along a side than anyone steps.
const MOST_FEET: usize = 1000;

/// One line of a survey.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyLine {
    pub name: &'static str,
    pub feet: usize,
    /// Where it begins and ends, along and across the plate from corner A, in base units.
    pub from: (Rational, Rational),
    pub to: (Rational, Rational),
}

impl Survey {
    /// Feet along the length, along the width, along a diagonal. `None`: they do not come out whole.
    pub fn feet(&self) -> Option<(usize, usize, usize)> {
        let whole = |side: &Rational| {
            let feet = side / &self.foot;
            feet.is_integer().then(|| feet.to_integer().to_usize()).flatten()
        };
        let (along, across) = (whole(&self.length)?, whole(&self.width)?);
        Some((along, across, diagonal(along, across)?))
    }

    /// Empty if the feet do not come out whole.
    pub fn lines(&self) -> Vec<SurveyLine> {
        let Some((along, across, diagonal)) = self.feet() else { return Vec::new() };
        let zero = || ratio(0, 1);
        let half = |side: &Rational| side * ratio(1, 2);
        let at = |letter: u8| match letter {
            b'A' => (zero(), zero()),
            b'B' => (self.length.clone(), zero()),
            b'C' => (self.length.clone(), self.width.clone()),
            b'D' => (zero(), self.width.clone()),
            b'E' => (half(&self.length), zero()),
            b'F' => (self.length.clone(), half(&self.width)),
            b'G' => (half(&self.length), self.width.clone()),
            _ => (zero(), half(&self.width)),
        };
        let line = |(name, feet): (&'static str, usize)| {
            let mut letters = name.bytes();
            let (from, to) = (letters.next().unwrap_or_default(), letters.next().unwrap_or_default());
            SurveyLine { name, feet, from: at(from), to: at(to) }
        };
        let feet = [diagonal, diagonal, along, along, across, across, across, along];
        LINES.into_iter().zip(feet).map(line).collect()
    }

    /// The names of all feet in the order in which they are read: `AC_1`, `AC_2`, ...
    pub fn foot_names(&self) -> Vec<String> {
        let of_line = |line: SurveyLine| (1..=line.feet).map(move |foot| format!("{}_{foot}", line.name));
        self.lines().into_iter().flat_map(of_line).collect()
    }
}

/// The whole diagonal of a rectangle of so many feet; even sides, so that the middles stand at a foot's end.
fn diagonal(along: usize, across: usize) -> Option<usize> {
    if along < 2 || across < 2 || along > MOST_FEET || across > MOST_FEET {
        return None;
    }
    let square = along * along + across * across;
    let root = num_integer::Roots::sqrt(&square);
    (along.is_even() && across.is_even() && root * root == square).then_some(root)
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
        let survey =
            Survey { length: length.clone(), width: width.clone(), foot: foot.clone(), unit: *foot_unit };
        if survey.feet().is_none() {
            let fitting = nearest(&survey);
            let shown = |side: &Rational| show(&unit.from_base(&Real::Exact(side.clone())), 3);
            let named = |(a, b): &(Rational, Rational)| {
                format!("{0} {2} by {1} {2}", shown(a), shown(b), unit.symbol())
            };
            let nearest: Vec<String> = fitting.iter().map(named).collect();
            let help = match nearest.is_empty() {
                true => {
                    "take a shorter foot: sides of 8 by 6 feet, and all in that proportion, fit".to_string()
                }
                false => format!("with this foot the nearest that fit are {}", nearest.join(" and ")),
            };
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
        }
        Some(self.made_axis("foot", Stations::Survey(survey), span))
    }

    /// The axes of heights over a survey: `line`, and `step` from the beginning of each line.
    pub(super) fn map_axes(&mut self, feet: AxisId) -> Option<Vec<AxisId>> {
        if let Some(known) = self.map_axes.get(&feet) {
            return Some(known.clone());
        }
        let axis = self.axes.get(feet.0)?.clone();
        let Stations::Survey(survey) = axis.stations else { return None };
        let (_, _, longest) = survey.feet()?;
        let longest = Rational::from_integer(longest.into()) * &survey.foot;
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

/// The two sizes nearest to a survey's that fit with its foot.
fn nearest(survey: &Survey) -> Vec<(Rational, Rational)> {
    let feet = |side: &Rational| (side / &survey.foot).to_f64().unwrap_or(0.0);
    let (along, across) = (feet(&survey.length), feet(&survey.width));
    let far = |a: usize, b: usize| {
        let apart =
            |feet: usize, wanted: f64| (f64::from(u32::try_from(feet).unwrap_or(u32::MAX)) - wanted).abs();
        apart(a, along) + apart(b, across)
    };
    let even = |wanted: f64| {
        let middle = wanted.clamp(2.0, 200.0).to_usize().unwrap_or(2);
        (middle.saturating_sub(24).max(2)..=middle + 24).filter(|feet| feet.is_even())
    };
    let mut found: Vec<(usize, usize)> = even(along)
        .flat_map(|a| even(across).map(move |b| (a, b)))
        .filter(|(a, b)| diagonal(*a, *b).is_some())
        .collect();
    found.sort_by(|x, y| far(x.0, x.1).total_cmp(&far(y.0, y.1)));
    let size = |feet: usize| Rational::from_integer(feet.into()) * &survey.foot;
    found.into_iter().take(2).map(|(a, b)| (size(a), size(b))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn survey(length: i64, width: i64, foot: i64) -> Survey {
        Survey { length: ratio(length, 1), width: ratio(width, 1), foot: ratio(foot, 1), unit: Unit::Mm }
    }

    #[test]
    fn each_line_is_a_whole_number_of_feet_or_the_survey_does_not_fit() {
        let fits = survey(800, 600, 100);
        let feet: Vec<usize> = fits.lines().iter().map(|line| line.feet).collect();
        assert_eq!(feet, [10, 10, 8, 8, 6, 6, 6, 8]);
        assert_eq!(fits.foot_names().len(), 62);
        assert_eq!(fits.foot_names()[10], "DB_1");
        assert!(survey(800, 500, 100).lines().is_empty());
        assert!(survey(300, 400, 100).lines().is_empty(), "the middles would fall between feet");
        let size = |a: i64, b: i64| (ratio(a, 1), ratio(b, 1));
        assert!(nearest(&survey(820, 600, 100)).contains(&size(800, 600)));
    }
}
