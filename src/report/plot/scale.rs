//! From values to places on the page, and where the marks of an axis stand.

/// A straight scale: `from` lies at `start`, `to` at `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Scale {
    /// A range without extent is widened, so that a single value lies in the middle.
    pub fn new((from, to): (f64, f64), (start, end): (f64, f64)) -> Self {
        let (from, to) = widened(from, to);
        Self { from, to, start, end }
    }

    pub fn at(&self, value: f64) -> f64 {
        self.start + (value - self.from) / (self.to - self.from) * (self.end - self.start)
    }

    /// As `at`, kept on the page.
    pub fn within(&self, value: f64) -> f64 {
        let (low, high) = (self.start.min(self.end), self.start.max(self.end));
        self.at(value).clamp(low, high)
    }

    pub fn range(&self) -> (f64, f64) {
        (self.from, self.to)
    }
}

fn widened(from: f64, to: f64) -> (f64, f64) {
    if from.is_finite() && to.is_finite() && to > from {
        return (from, to);
    }
    let middle = if from.is_finite() { from } else { 0.0 };
    let half = if middle == 0.0 { 1.0 } else { middle.abs() * 0.1 };
    (middle - half, middle + half)
}

/// The least and the greatest of several numbers; those that are none are passed over.
pub(super) fn extent(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().filter(|value| value.is_finite()).fold(None, |found, value| match found {
        None => Some((value, value)),
        Some((least, greatest)) => Some((least.min(value), greatest.max(value))),
    })
}

/// A range with some air at both ends.
pub(super) fn aired((from, to): (f64, f64), share: f64) -> (f64, f64) {
    let (from, to) = widened(from, to);
    let air = (to - from) * share;
    (from - air, to + air)
}

/// Round numbers in a range, about so many, and how many decimals it takes to write them.
pub fn ticks((from, to): (f64, f64), about: usize) -> (Vec<f64>, usize) {
    let (from, to) = widened(from, to);
    let rough = (to - from) / about.max(1) as f64;
    let power = libm::floor(libm::log10(rough)) as i32;
    let unit = libm::pow(10.0, f64::from(power));
    let digit = [1.0, 2.0, 5.0, 10.0].into_iter().find(|digit| digit * unit >= rough * 0.999).unwrap_or(10.0);
    let step = digit * unit;
    let decimals = if digit >= 10.0 { -(power + 1) } else { -power };
    let (first, last) = (libm::ceil(from / step - 1e-9) as i64, libm::floor(to / step + 1e-9) as i64);
    let values = (first..=last.min(first.saturating_add(50))).map(|at| at as f64 * step);
    (values.collect(), usize::try_from(decimals).unwrap_or(0))
}
