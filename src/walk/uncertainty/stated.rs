//! What a line of an instrument states, as a size of an unknown.

use crate::check::program::{Spread as Stated, Uncertainty};
use crate::metrology::Shape;
use crate::quantity::Real;

use super::sources::Spread;

/// How large an unknown is, how it is spread, and how well that is known.
#[derive(Clone, Debug)]
pub struct Size {
    /// Standard uncertainty, squared.
    pub variance: Real,
    pub spread: Spread,
    /// Degrees of freedom; None: infinitely many.
    pub freedom: Option<f64>,
}

/// `size`: what is stated in base units, of a scale as a part of one.
pub fn size(size: Real, stated: &Uncertainty) -> Option<Size> {
    let (shape, spread) = match &stated.spread {
        Stated::Coverage(factor) => {
            (Shape::Certificate { expanded: size, factor: Real::Exact(factor.clone()) }, Spread::Normal)
        }
        Stated::Rectangular => (Shape::Rectangular(size), Spread::Even),
        Stated::Triangular => (Shape::Triangular(size), Spread::Triangular),
        Stated::Trapezoidal(top) => {
            let own = Real::Exact(top.clone());
            (Shape::Trapezoid(size.clone(), &size * &own), Spread::Trapezoidal(own.to_f64()))
        }
        Stated::Loose(known) => {
            let own = Real::Exact(known.clone());
            (Shape::Loose(size.clone(), &size * &own), Spread::Loose(own.to_f64()))
        }
        Stated::Arcsine => (Shape::UShaped(size), Spread::Arcsine),
    };
    let freedom = stated.freedom.as_ref().map(|it| Real::Exact(it.clone()).to_f64());
    Some(Size { variance: shape.variance().ok()?, spread, freedom })
}

/// The value that a sum of `freedom` squared standard normal numbers exceeds once in twenty; the approximation of Wilson
/// and Hilferty (from memory).
pub fn chi_square_95(freedom: f64) -> f64 {
    let part = 2.0 / (9.0 * freedom);
    let root = 1.0 - part + 1.644_854 * libm::sqrt(part);
    freedom * root * root * root
}

#[cfg(test)]
mod tests {
    /// Upper 5 % points of chi-square, from memory of any table: 3.84, 11.07, 18.31, 31.41.
    #[test]
    fn the_scatter_that_is_more_than_chance_would_bring() {
        for (freedom, wanted) in [(1.0, 3.84), (5.0, 11.07), (10.0, 18.31), (20.0, 31.41)] {
            let found = super::chi_square_95(freedom);
            assert!((found - wanted).abs() < 0.1, "{freedom}: {found}");
        }
    }
}
