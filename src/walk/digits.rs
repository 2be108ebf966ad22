//! How many digits of a value its uncertainty allows (JCGM 100:2008, 7.2.6, from memory): no more decimals than two
//! significant digits of U have. A verdict must still be seen to follow: where the rounded value would lie on another side
//! of a limit, or of a limit less U that settled the verdict, further digits are shown.

use std::cmp::Ordering;

use crate::quantity::{Rational, decimals_of, fixed, parse_decimal};

/// More decimals are nowhere shown.
const MOST: usize = 9;

/// A number and all that it is held against, in one unit.
#[derive(Clone, Copy, Debug)]
pub struct Digits<'d> {
    pub value: &'d Rational,
    pub expanded: f64,
    /// Limits that the value must be seen on the right side of.
    pub limits: &'d [Rational],
    /// A guard band of this U was kept from them.
    pub guard: Option<&'d Rational>,
}

impl Digits<'_> {
    /// The value to the digits that its U allows. `None`: as it stands it has no more.
    pub fn cut(&self) -> Option<String> {
        if !(self.expanded > 0.0 && self.expanded.is_finite()) {
            return None;
        }
        let first = (1.0 - libm::floor(libm::log10(self.expanded))).max(0.0) as usize;
        // A quotient has no end.
        let own = decimals_of(self.value).min(MOST);
        let wanted = self.sides(self.value);
        let texts = (first..own).map(|decimals| fixed(self.value, decimals));
        texts
            .into_iter()
            .find(|text| parse_decimal(text).is_some_and(|rounded| self.sides(&rounded) == wanted))
    }

    fn sides(&self, value: &Rational) -> Vec<(Ordering, Option<(Ordering, Ordering)>)> {
        let of = |limit: &Rational| {
            let with_u = self.guard.map(|u| ((value + u).cmp(limit), (value - u).cmp(limit)));
            (value.cmp(limit), with_u)
        };
        self.limits.iter().map(of).collect()
    }
}
