//! The uncertainty of an arrow: that of its tip in the direction in which it is known least, so that no direction has
//! more. Where all directions are alike, as round a turn read at equal angles, it is that of the arrow's size.

/// The unit vector along which the variance of the tip is greatest. Each movement gives what one unit of it adds to
/// both parts of the arrow, and its variance.
pub fn worst_direction(moved: impl Iterator<Item = ([f64; 2], f64)>) -> (f64, f64) {
    let (mut along, mut both, mut across) = (0.0, 0.0, 0.0);
    for ([x, y], variance) in moved {
        along += variance * x * x;
        both += variance * x * y;
        across += variance * y * y;
    }
    // Of all alike any will do; rounding must not choose.
    if libm::hypot(along - across, 2.0 * both) <= 1e-9 * (along + across) {
        return (1.0, 0.0);
    }
    let angle = 0.5 * libm::atan2(2.0 * both, along - across);
    (libm::cos(angle), libm::sin(angle))
}

#[cfg(test)]
mod tests {
    use super::worst_direction;

    #[test]
    fn the_direction_in_which_most_is_unknown() {
        let near = |found: (f64, f64), wanted: (f64, f64)| {
            let product = found.0 * wanted.0 + found.1 * wanted.1;
            assert!((product.abs() - 1.0).abs() < 1e-12, "{found:?} {wanted:?}");
        };
        let root = 0.5f64.sqrt();
        near(worst_direction([([1.0, 0.0], 4.0), ([0.0, 1.0], 1.0)].into_iter()), (1.0, 0.0));
        near(worst_direction([([1.0, 0.0], 1.0), ([0.0, 1.0], 4.0)].into_iter()), (0.0, 1.0));
        near(worst_direction([([1.0, 1.0], 1.0), ([1.0, -1.0], 0.5)].into_iter()), (root, root));
        assert_eq!(worst_direction([([1.0, 0.0], 1.0), ([0.0, 1.0], 1.0)].into_iter()), (1.0, 0.0));
    }
}
