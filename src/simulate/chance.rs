//! Chance: numbers from a seed, the same on every computer and for ever.
//!
//! The generator is ChaCha with 8 rounds, whose stream is specified; every unit and day has a stream of its own, so that
//! a change to one leaves the others as they were. Only additions and multiplications are used on the way to a number,
//! because functions such as the logarithm may differ in the last place between computers. Read [`Chance::of`] first.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of numbers.
#[derive(Debug, Clone)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of a seed with this number.
    pub fn of(seed: u64, stream: u64) -> Self {
        let mut key = *b"........loadbook practice record";
        for (place, byte) in key.iter_mut().zip(seed.to_le_bytes()) {
            *place = byte;
        }
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(stream);
        Chance(generator)
    }

    /// A share: at least 0 and less than 1.
    pub fn share(&mut self) -> f64 {
        // 53 bits, which is what a double holds.
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Anything between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: i32, high: i32) -> i32 {
        let n = f64::from(high) - f64::from(low) + 1.0;
        low + (n * self.share()) as i32
    }

    /// Whether something happens that happens with this probability.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.share() < probability
    }

    /// A number spread about a mean like the normal distribution, never further than six standard deviations from it:
    /// the sum of twelve shares has the variance 1.
    pub fn spread(&mut self, mean: f64, deviation: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.share()).sum();
        mean + deviation * (sum - 6.0)
    }

    /// One of several, or nothing if there are none.
    pub fn pick<'a, T>(&mut self, choices: &'a [T]) -> Option<&'a T> {
        choices.get((choices.len() as f64 * self.share()) as usize)
    }
}

/// `e` to the power of `-x`, for `x` from 0 to some tens, by multiplications alone (1/(1 + x/n)ⁿ with n = 2²⁰, which is
/// within x²/2²¹ of it in proportion).
pub fn decay(x: f64) -> f64 {
    let mut factor = 1.0 / (1.0 + x / f64::from(1 << 20));
    for _ in 0..20 {
        factor *= factor;
    }
    factor
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generator_is_the_published_chacha_with_eight_rounds() {
        // The key stream of ChaCha8 for a key and a nonce of zeros, from the eSTREAM-style test vectors in
        // J. Strombergson, "Test Vectors for the Stream Cipher ChaCha" (draft-strombergson-chacha-test-vectors, 2013),
        // TC1, 8 rounds, 256 bits: 3e 00 ef 2f 89 5f 40 d6 … (from memory).
        let mut generator = ChaCha8Rng::from_seed([0; 32]);
        assert_eq!(
            generator.next_u64().to_le_bytes(),
            [0x3e, 0x00, 0xef, 0x2f, 0x89, 0x5f, 0x40, 0xd6]
        );
    }

    #[test]
    fn decay_is_the_exponential_function() {
        for x in [0.0, 0.1, 1.0, 7.7, 20.0_f64] {
            let exact = (-x).exp();
            assert!((decay(x) - exact).abs() <= exact * 3e-4, "{x}");
        }
    }

    #[test]
    fn spread_has_the_mean_and_the_deviation_asked_for() {
        let mut chance = Chance::of(1, 2);
        let sample: Vec<f64> = (0..20_000).map(|_| chance.spread(10.0, 2.0)).collect();
        let n = sample.len() as f64;
        let mean = sample.iter().sum::<f64>() / n;
        let variance = sample.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n;
        // Four standard errors: 2/√20000 and, for the variance, 4·√(2/20000).
        assert!((mean - 10.0).abs() < 4.0 * 0.0142, "{mean}");
        assert!((variance - 4.0).abs() < 4.0 * 0.04, "{variance}");
    }
}
