//! Seeded draws: the project's one generator. The same seed gives the same numbers on every platform.

use std::f64::consts::TAU;

use num_complex::Complex64;
use rand_core::{RngCore, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::phasor;

/// A stream of random numbers that its seed decides.
#[derive(Clone, Debug)]
pub struct Random(Pcg64Mcg);

/// One seed from several numbers: streams whose numbers differ in a single bit share nothing that shows.
///
/// The finisher of the SplitMix64 generator (from memory) after each number.
pub fn seed_of(numbers: &[u64]) -> u64 {
    numbers.iter().fold(0x6a09_e667_f3bc_c909, |seed: u64, &number| {
        let mut mixed = (seed ^ number).wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    })
}

impl Random {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::seed_from_u64(seed))
    }

    /// A number from 0 to below 1.
    pub fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number below `count`; 0 for a count of 0.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// A unit phasor of any angle.
    pub fn phasor(&mut self) -> Complex64 {
        phasor(TAU * self.uniform())
    }

    /// A complex number whose parts are independent and normal, each of variance ½, so that its mean square is 1
    /// (the method of Box and Muller, from memory).
    pub fn normal(&mut self) -> Complex64 {
        // From above 0 to 1: its logarithm is finite.
        let square = -libm::log(1.0 - self.uniform());
        self.phasor() * square.sqrt()
    }

    /// A Poisson number: the product method, in portions, because `e^{-mean}` must not vanish. Zero for a mean of zero or
    /// less.
    pub fn poisson(&mut self, mean: f64) -> usize {
        const PORTION: f64 = 16.0;
        let (mut rest, mut count) = (mean, 0);
        while rest > 0.0 {
            let limit = libm::exp(-rest.min(PORTION));
            let mut product = self.uniform();
            while product > limit {
                count += 1;
                product *= self.uniform();
            }
            rest -= PORTION;
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_the_moments_of_the_normal_distribution() {
        let mut random = Random::new(3);
        let count = 200_000.0;
        let (mut mean, mut square, mut fourth, mut product) = (0.0, 0.0, 0.0, 0.0);
        for _ in 0..200_000 {
            let drawn = random.normal();
            mean += (drawn.re + drawn.im) / (2.0 * count);
            square += drawn.norm_sqr() / count;
            fourth += drawn.norm_sqr() * drawn.norm_sqr() / count;
            product += drawn.re * drawn.im / count;
        }
        // Standard errors: 1/√(4·10⁵)/√2 of the mean, 1/√(2·10⁵) of the square, √20/√(2·10⁵) of the fourth moment,
        // ½/√(2·10⁵) of the product.
        assert!(mean.abs() < 4.0 * 0.0012, "{mean}");
        assert!((square - 1.0).abs() < 4.0 * 0.0023, "{square}");
        assert!((fourth - 2.0).abs() < 4.0 * 0.01, "{fourth}");
        assert!(product.abs() < 4.0 * 0.0012, "{product}");
    }

    #[test]
    fn a_whole_number_stays_below_its_count_and_reaches_all() {
        let mut random = Random::new(9);
        let mut seen = [0; 5];
        for _ in 0..1000 {
            seen[random.below(5)] += 1;
        }
        assert!(seen.iter().all(|&count| (140..260).contains(&count)), "{seen:?}");
        assert_eq!(random.below(0), 0);
    }

    #[test]
    fn seeds_that_differ_in_one_bit_differ_in_half() {
        for bit in 0..64 {
            let differing = (seed_of(&[7, 0]) ^ seed_of(&[7, 1 << bit])).count_ones();
            assert!((14..=50).contains(&differing), "bit {bit}: {differing}");
        }
        assert_ne!(seed_of(&[1, 2]), seed_of(&[2, 1]));
    }
}
