//! Our own seeded numbers, so that one recorded seed gives the same trials on every platform and for all time.
//!
//! xoshiro256++ 1.0 with its state filled by splitmix64 (Blackman and Vigna, public domain algorithms, from memory).
//! Normal numbers by Box and Muller (JCGM 101:2008, C.4, from memory) where many are drawn, else by the inverse of the
//! distribution; gamma numbers by Marsaglia and Tsang (2000). Not for secrets.

use super::distribution::normal_quantile;

#[derive(Clone, Debug)]
pub struct Generator {
    state: [u64; 4],
}

impl Generator {
    pub fn new(seed: u64) -> Self {
        let mut filler = seed;
        let mut next = || {
            filler = filler.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut mixed = filler;
            mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            mixed ^ (mixed >> 31)
        };
        Self { state: [next(), next(), next(), next()] }
    }

    /// A generator of its own for each place under a seed.
    pub fn of(seed: u64, place: &[u64]) -> Self {
        place.iter().fold(Self::new(seed), |mut generator, part| {
            let word = generator.next_word();
            Self::new(word ^ part.wrapping_mul(0x9e37_79b9_7f4a_7c15))
        })
    }

    pub fn next_word(&mut self) -> u64 {
        let [a, b, c, d] = &mut self.state;
        let word = a.wrapping_add(*d).rotate_left(23).wrapping_add(*a);
        let shifted = *b << 17;
        *c ^= *a;
        *d ^= *b;
        *b ^= *c;
        *a ^= *d;
        *c ^= shifted;
        *d = d.rotate_left(45);
        word
    }

    /// Evenly spread over 0 to 1, neither end included.
    pub fn unit(&mut self) -> f64 {
        ((self.next_word() >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        // A unit never is 0 or 1, so there always is a quantile.
        normal_quantile(self.unit()).unwrap_or(0.0)
    }

    /// So many of them, in pairs: sqrt(-2 ln r) cos and sin of an angle.
    pub fn normals(&mut self, count: usize) -> Vec<f64> {
        let mut drawn = Vec::with_capacity(count + 1);
        while drawn.len() < count {
            let size = libm::sqrt(-2.0 * libm::log(self.unit()));
            let (sin, cos) = libm::sincos(2.0 * std::f64::consts::PI * self.unit());
            drawn.extend([size * cos, size * sin]);
        }
        drawn.truncate(count);
        drawn
    }

    /// Student's t with more than zero degrees of freedom.
    pub fn student(&mut self, freedom: f64) -> f64 {
        let scatter = self.scatter(freedom);
        self.normal() * scatter
    }

    /// sqrt(freedom / chi-square of so many degrees of freedom).
    pub fn scatter(&mut self, freedom: f64) -> f64 {
        libm::sqrt(freedom / (2.0 * self.gamma(0.5 * freedom)))
    }

    /// Gamma with scale 1.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let boost = libm::pow(self.unit(), 1.0 / shape);
            return self.gamma(shape + 1.0) * boost;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / libm::sqrt(9.0 * d);
        loop {
            let z = self.normal();
            let v = 1.0 + c * z;
            if v > 0.0 {
                let v = v * v * v;
                if libm::log(self.unit()) < 0.5 * z * z + d * (1.0 - v + libm::log(v)) {
                    return d * v;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_words_of_a_seed_are_those_of_the_published_algorithm() {
        // splitmix64 from 0 begins with these words (its reference output, from memory); they are the state.
        let state = Generator::new(0).state;
        assert_eq!(state[0], 0xe220_a839_7b1d_cdaf);
        assert_eq!(state[1], 0x6e78_9e6a_a1b9_65f4);
        // xoshiro256++ from the state 1, 2, 3, 4 begins so (from memory of its reference output).
        let mut generator = Generator { state: [1, 2, 3, 4] };
        let words: Vec<u64> = (0..4).map(|_| generator.next_word()).collect();
        assert_eq!(words, [41_943_041, 58_720_359, 3_588_806_011_781_223, 3_591_011_842_654_386]);
    }

    #[test]
    fn the_moments_are_those_of_the_distributions() {
        let mut generator = Generator::new(7);
        let moments = |draw: &mut dyn FnMut() -> f64| {
            let values: Vec<f64> = (0..200_000).map(|_| draw()).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            let square = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / values.len() as f64;
            (mean, square)
        };
        let (mean, square) = moments(&mut || generator.unit());
        assert!((mean - 0.5).abs() < 0.003 && (square - 1.0 / 12.0).abs() < 0.001);
        let (mean, square) = moments(&mut || generator.normal());
        assert!(mean.abs() < 0.01 && (square - 1.0).abs() < 0.015);
        let mut many = generator.normals(200_000).into_iter();
        let (mean, square) = moments(&mut || many.next().unwrap());
        assert!(mean.abs() < 0.01 && (square - 1.0).abs() < 0.015);
        let (mean, square) = moments(&mut || generator.student(9.0));
        assert!(mean.abs() < 0.012 && (square - 9.0 / 7.0).abs() < 0.04, "variance v / (v - 2)");
    }
}
