//! How well a result is known, by trying it out (JCGM 101:2008, Monte Carlo method; clauses from memory).
//!
//! Each trial draws every source and works the result out. Blocks of trials are added until the mean, u and both ends
//! of the interval are settled to half of the last of the digits wanted in u (adaptive procedure, 7.9.4). There
//! twice the standard deviation of the average of the blocks has to be below delta; of few blocks that deviation is hardly
//! known, and two may lie together by chance, so that Student's factor stands for the two. The seed is the caller's and goes on the record: the same
//! seed gives the same answer everywhere. Needed where the result is not smooth in its sources (greatest, ranges,
//! zones), and as a check of the linear propagation (clause 8).

use std::sync::Arc;

use super::Fault;
use super::columns::{Place, Standard, column, draw};
use super::distribution::coverage_factor;
use super::ranked::Ranked;

/// A source about its own value: what is drawn has the mean zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Draw {
    /// Standard uncertainty.
    Normal(f64),
    /// Student's t, scaled: the Type A uncertainty of a mean, and its degrees of freedom (6.4.9).
    Student { u: f64, freedom: f64 },
    /// A factor, not an error: by how much the standard deviation that repeats have shown may be off, sqrt(v / chi^2).
    /// Times a normal number it is Student's t, for all readings of the group together (6.4.9).
    Scatter { freedom: f64 },
    /// Half width.
    Rectangular(f64),
    /// Half width.
    Triangular(f64),
    /// Half widths of foot and top.
    Trapezoid(f64, f64),
    /// Even; the half width, and what that is known to, give or take: the curvilinear trapezoid (6.4.3).
    Loose(f64, f64),
    /// Half width.
    UShaped(f64),
}

impl Draw {
    /// What is drawn, and how large one of it is.
    fn parts(self) -> (Standard, f64) {
        match self {
            Draw::Rectangular(half) => (Standard::Even, half),
            Draw::Triangular(half) => (Standard::Triangular, half),
            Draw::Trapezoid(foot, top) if foot > 0.0 => (Standard::Trapezoid((top / foot).to_bits()), foot),
            Draw::Trapezoid(..) => (Standard::Even, 0.0),
            Draw::Loose(half, known) if half > 0.0 => (Standard::Loose((known / half).to_bits()), half),
            Draw::Loose(..) => (Standard::Even, 0.0),
            Draw::UShaped(half) => (Standard::Arcsine, half),
            Draw::Normal(u) => (Standard::Normal, u),
            Draw::Student { u, freedom } => (Standard::Student(freedom.to_bits()), u),
            Draw::Scatter { freedom } => (Standard::Scatter(freedom.to_bits()), 1.0),
        }
    }

    fn is_sound(self) -> bool {
        let size = |value: f64| value >= 0.0 && value.is_finite();
        match self {
            Draw::Normal(u) | Draw::Rectangular(u) | Draw::Triangular(u) | Draw::UShaped(u) => size(u),
            Draw::Student { u, freedom } => size(u) && freedom > 0.0 && freedom.is_finite(),
            Draw::Scatter { freedom } => freedom > 0.0 && freedom.is_finite(),
            Draw::Trapezoid(half, second) | Draw::Loose(half, second) => {
                size(half) && size(second) && second <= half
            }
        }
    }
}

/// How far to go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trials {
    pub seed: u64,
    /// Coverage probability of the interval.
    pub coverage: f64,
    /// Significant digits wanted in u: 1 or 2.
    pub digits: u32,
    /// Whether the shortest interval is wanted: all values have to be put in order for it.
    pub shortest: bool,
    /// Of as many trials as the standard asks for, at least ten thousand. Two at least.
    pub least_blocks: usize,
    pub most_blocks: usize,
}

impl Trials {
    /// 95 %, two digits, at most a million trials.
    pub fn with_seed(seed: u64) -> Self {
        Trials { seed, coverage: 0.95, digits: 2, least_blocks: 2, most_blocks: 100, shortest: true }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    pub mean: f64,
    pub u: f64,
    /// The interval that leaves as much below as above (7.7.1).
    pub interval: (f64, f64),
    /// The shortest interval of the same coverage (7.7.2), where it is asked for.
    pub shortest: Option<(f64, f64)>,
    pub trials: usize,
    /// All of them.
    pub ranked: Ranked,
    /// Half of the last digit wanted.
    pub tolerance: f64,
    /// What the draws leave open of the ends of the interval.
    pub open: f64,
    /// Whether it was settled to that before the blocks ran out.
    pub settled: bool,
}

impl Outcome {
    /// Whether the interval mean +- U of the linear propagation stands at the same place (clause 8.1), as far as the draws
    /// can tell.
    pub fn agrees_with(&self, mean: f64, expanded: f64) -> bool {
        let (low, high) = self.interval;
        let within = self.tolerance + self.open;
        (mean - expanded - low).abs() <= within && (mean + expanded - high).abs() <= within
    }
}

/// Trials of `result`, which is given what each source was drawn as. A trial without a value is a fault.
pub fn monte_carlo(
    sources: &[Draw],
    trials: Trials,
    result: impl Fn(&[f64]) -> Option<f64>,
) -> Result<Outcome, Fault> {
    let all = monte_carlo_of_several(sources, trials, 1, |block| {
        let values: Option<Vec<f64>> = (0..block.trials).map(|trial| result(&block.trial(trial))).collect();
        vec![values]
    })?;
    all.into_iter().next().unwrap_or(Err(Fault::NoTrial))
}

/// All trials of a block.
#[derive(Clone, Debug)]
pub struct Block {
    pub trials: usize,
    /// Of each source its draws with the size one, and its size.
    pub sources: Vec<(Arc<[f64]>, f64)>,
}

impl Block {
    /// What each source was drawn as in one trial.
    pub fn trial(&self, trial: usize) -> Vec<f64> {
        let drawn = |(column, size): &(Arc<[f64]>, f64)| size * column.get(trial).copied().unwrap_or(0.0);
        self.sources.iter().map(drawn).collect()
    }
}

/// A few trials to look at a result by, which are none of those that are counted.
pub fn few_trials(sources: &[Draw], seed: u64, trials: usize) -> Block {
    let drawn = |(at, source): (usize, &Draw)| {
        let (shape, size) = source.parts();
        (draw(shape, Place { seed, source: at, block: 0, trials }).into(), size)
    };
    Block { trials, sources: sources.iter().enumerate().map(drawn).collect() }
}

/// Several results of the same trials, which go on until each is settled. `results` gives of each result its values in
/// all trials of a block; one that has no value in some trial is left out from there on.
pub fn monte_carlo_of_several(
    sources: &[Draw],
    trials: Trials,
    count: usize,
    mut results: impl FnMut(&Block) -> Vec<Option<Vec<f64>>>,
) -> Result<Vec<Result<Outcome, Fault>>, Fault> {
    if !(trials.coverage > 0.0 && trials.coverage < 1.0) {
        return Err(Fault::NotAProbability);
    }
    if !sources.iter().all(|source| source.is_sound()) {
        return Err(Fault::NotPositive("the size of a source of uncertainty"));
    }
    let many = sources.len() > MANY_SOURCES;
    let size = if many { TRIALS_OF_MANY } else { block_size(trials.coverage) };
    let mut all: Vec<Option<Blocks>> = (0..count).map(|_| Some(Blocks::default())).collect();
    let least = trials.least_blocks.max(2);
    for number in 1..=trials.most_blocks.max(least) {
        let drawn = |(at, source): (usize, &Draw)| {
            let (shape, own) = source.parts();
            let place = Place { seed: trials.seed, source: at, block: number, trials: size };
            (column(shape, place), own)
        };
        let block = Block { trials: size, sources: sources.iter().enumerate().map(drawn).collect() };
        let mut values = results(&block).into_iter();
        for own in &mut all {
            match values.next().flatten().filter(|values| values.iter().all(|value| value.is_finite())) {
                Some(values) => own.iter_mut().for_each(|own| own.add(&values, trials, many)),
                None => *own = None,
            }
        }
        if number >= least && all.iter().flatten().all(|own| own.settled) {
            break;
        }
    }
    Ok(all.into_iter().map(|own| own.map(|own| own.outcome(trials)).ok_or(Fault::NoTrial)).collect())
}

/// What the trials gave for one result.
#[derive(Default)]
struct Blocks {
    values: Vec<f64>,
    /// Mean, u and the ends of the interval of each block.
    blocks: Vec<[f64; 4]>,
    tolerance: f64,
    open: f64,
    settled: bool,
}

impl Blocks {
    fn add(&mut self, values: &[f64], trials: Trials, many: bool) {
        self.values.extend(values);
        let mut own = values.to_vec();
        let (mean, u) = moments(&own);
        let (low, high) = middle_interval(&mut own, trials.coverage);
        self.blocks.push([mean, u, low, high]);
        if self.blocks.len() >= 2 {
            self.tolerance = half_digit(moments(&self.values).1, trials.digits);
            let n = self.blocks.len() as f64;
            let factor = coverage_factor(0.95, Some(n - 1.0)).unwrap_or(f64::INFINITY);
            let open = |of: usize| {
                let column: Vec<f64> =
                    self.blocks.iter().filter_map(|block| block.get(of).copied()).collect();
                factor * moments(&column).1 / libm::sqrt(n)
            };
            self.open = open(2).max(open(3));
            let ends = if many { 0.0 } else { self.open };
            self.settled = ends.max(open(0)).max(open(1)) <= self.tolerance;
        }
    }

    fn outcome(mut self, trials: Trials) -> Outcome {
        let (mean, u) = moments(&self.values);
        self.values.sort_unstable_by(f64::total_cmp);
        Outcome {
            mean,
            u,
            shortest: trials.shortest.then(|| shortest_interval(&self.values, trials.coverage)),
            trials: self.values.len(),
            ranked: Ranked::of(&self.values),
            interval: middle_interval(&mut self.values, trials.coverage),
            tolerance: self.tolerance,
            open: self.open,
            settled: self.settled,
        }
    }
}

/// Expanded uncertainty of the linear propagation for the same coverage.
pub fn expanded(u: f64, coverage: f64, freedom: Option<f64>) -> Result<f64, Fault> {
    coverage_factor(coverage, freedom).map(|factor| factor * u)
}

/// Of more sources a trial costs too much to have ten thousand of them: then it is mean and u alone that have to settle,
/// and the interval is left to them (7.2.3, note on models that take long; from memory).
const MANY_SOURCES: usize = 1000;

const TRIALS_OF_MANY: usize = 200;

/// At least ten thousand, and a hundred beyond either end together (7.9.2).
fn block_size(coverage: f64) -> usize {
    let tail = 100.0 / (1.0 - coverage);
    if tail > 1e6 { 1_000_000 } else { 10_000.max(tail.ceil() as usize) }
}

/// Half of one in the last of the significant digits of u (7.9.2).
fn half_digit(u: f64, digits: u32) -> f64 {
    if u <= 0.0 {
        return 0.0;
    }
    let digits = f64::from(digits.max(1));
    // 0.998 to two digits is 1.0: the power is that of the rounded number.
    let power = libm::floor(libm::log10(u) + 1e-12) - (digits - 1.0);
    let scale = libm::exp10(power);
    let rounded = libm::round(u / scale);
    let power = if rounded >= libm::exp10(digits) { power + 1.0 } else { power };
    0.5 * libm::exp10(power)
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    // About the first value, so that a large mean takes no digits.
    let origin = values.first().copied().unwrap_or(0.0);
    let shift = values.iter().map(|value| value - origin).sum::<f64>() / n;
    let mean = origin + shift;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, libm::sqrt(squares / (n - 1.0).max(1.0)))
}

fn within(values: &[f64], coverage: f64) -> usize {
    ((coverage * values.len() as f64 + 0.5) as usize).min(values.len().saturating_sub(1))
}

/// Puts no more in order than has to be.
fn middle_interval(values: &mut [f64], coverage: f64) -> (f64, f64) {
    let inside = within(values, coverage);
    let below = (values.len() - inside) / 2;
    // The r-th of M in order, counted from one (7.7.1).
    let mut at = |place: usize| match place.min(values.len().saturating_sub(1)) {
        place if place < values.len() => *values.select_nth_unstable_by(place, f64::total_cmp).1,
        _ => 0.0,
    };
    (at(below.saturating_sub(1)), at((below + inside).saturating_sub(1)))
}

/// Of values in order.
fn shortest_interval(values: &[f64], coverage: f64) -> (f64, f64) {
    let inside = within(values, coverage);
    let pairs = values.iter().zip(values.iter().skip(inside));
    let best = pairs.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
    best.map_or((0.0, 0.0), |(low, high)| (*low, *high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_seed_gives_one_answer_and_another_gives_nearly_the_same() {
        let sources = [Draw::Normal(3.0), Draw::Rectangular(4.0 * 3f64.sqrt())];
        let run =
            |seed| monte_carlo(&sources, Trials::with_seed(seed), |x| Some(100.0 + x[0] + x[1])).unwrap();
        assert_eq!(run(5), run(5));
        assert_ne!(run(5), run(6));
        for seed in [1, 2, 3] {
            let found = run(seed);
            assert!(
                found.settled && (found.mean - 100.0).abs() < 0.1 && (found.u - 5.0).abs() < 0.05,
                "{found:?}"
            );
        }
    }

    #[test]
    fn every_shape_has_its_width() {
        let widths = [
            (Draw::Normal(2.0), 2.0),
            (Draw::Student { u: 2.0, freedom: 6.0 }, 2.0 * libm::sqrt(1.5)),
            (Draw::Rectangular(2.0), 2.0 / libm::sqrt(3.0)),
            (Draw::Triangular(2.0), 2.0 / libm::sqrt(6.0)),
            (Draw::Trapezoid(2.0, 1.0), libm::sqrt(5.0 / 6.0)),
            (Draw::Loose(2.0, 1.0), libm::sqrt(4.0 / 3.0 + 1.0 / 9.0)),
            (Draw::UShaped(2.0), libm::sqrt(2.0)),
        ];
        for (source, width) in widths {
            let found = monte_carlo(&[source], Trials::with_seed(11), |x| Some(x[0])).unwrap();
            assert!((found.u / width - 1.0).abs() < 0.02 && found.mean.abs() < 0.02, "{source:?} {found:?}");
        }
    }

    #[test]
    fn where_the_result_is_not_smooth_the_linear_way_is_told_to_be_off() {
        // The range of two equal readings of u 1: linear propagation has no slope there.
        let sources = [Draw::Normal(1.0), Draw::Normal(1.0)];
        let found = monte_carlo(&sources, Trials::with_seed(3), |x| Some((x[0] - x[1]).abs())).unwrap();
        // |N(0, 2)|: mean 2/sqrt(pi), variance 2 - 4/pi.
        assert!((found.mean - 2.0 / std::f64::consts::PI.sqrt()).abs() < 0.02);
        assert!((found.u - (2.0 - 4.0 / std::f64::consts::PI).sqrt()).abs() < 0.02);
        assert!(!found.agrees_with(0.0, 1.96 * 2f64.sqrt()));
        let shortest = found.shortest.unwrap();
        assert!(shortest.1 - shortest.0 < found.interval.1 - found.interval.0);
    }

    /// Tables of Student's t: 95 % lie within 3.182, 2.571, 2.262 standard errors for 3, 5, 9 degrees of freedom (JCGM
    /// 100:2008, table G.2, from memory). The mean of repeats, and their scatter common to a group.
    #[test]
    fn student_draws_have_the_published_quantiles() {
        for (freedom, wanted) in [(3.0, 3.182), (5.0, 2.571), (9.0, 2.262)] {
            let trials = Trials { most_blocks: 20, digits: 3, ..Trials::with_seed(11) };
            let alone = [Draw::Student { u: 1.0, freedom }];
            let grouped = [Draw::Scatter { freedom }, Draw::Normal(1.0)];
            for found in [
                monte_carlo(&alone, trials, |x| Some(x[0])).unwrap(),
                monte_carlo(&grouped, trials, |x| Some(x[0] * x[1])).unwrap(),
            ] {
                let (low, high) = found.interval;
                assert!((high - wanted).abs() < 0.03 * wanted, "{freedom}: {high}");
                assert!((low + wanted).abs() < 0.03 * wanted, "{freedom}: {low}");
            }
        }
    }

    #[test]
    fn half_of_the_last_digit() {
        for (u, digits, half) in
            [(0.0352, 2, 0.0005), (9.99, 2, 0.5), (9.94, 2, 0.05), (10.0, 1, 5.0), (0.1, 1, 0.05)]
        {
            assert!(
                (half_digit(u, digits) / half - 1.0).abs() < 1e-9,
                "{u} {digits} {}",
                half_digit(u, digits)
            );
        }
    }

    #[test]
    fn nonsense_is_refused() {
        let trials = Trials { coverage: 1.0, ..Trials::with_seed(1) };
        assert_eq!(monte_carlo(&[], trials, |_| Some(0.0)), Err(Fault::NotAProbability));
        assert_eq!(
            monte_carlo(&[Draw::Normal(1.0)], Trials::with_seed(1), |x| (x[0] < 0.0).then_some(0.0)),
            Err(Fault::NoTrial)
        );
        for source in [Draw::Normal(-1.0), Draw::Trapezoid(1.0, 2.0), Draw::Student { u: 1.0, freedom: 0.0 }]
        {
            assert!(matches!(
                monte_carlo(&[source], Trials::with_seed(1), |x| Some(x[0])),
                Err(Fault::NotPositive(_))
            ));
        }
        let fixed = monte_carlo(&[], Trials::with_seed(1), |_| Some(7.0)).unwrap();
        assert_eq!((fixed.u, fixed.interval, fixed.settled), (0.0, (7.0, 7.0), true));
    }
}
