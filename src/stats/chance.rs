//! Chance for Monte-Carlo methods: a stream of numbers fixed by its seed, the same on every computer.
//!
//! ChaCha with 8 rounds (D. J. Bernstein, 2008), whose stream is specified.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of numbers.
#[derive(Debug, Clone)]
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of a seed.
    pub(super) fn of(seed: u64) -> Self {
        let mut key = *b"........loadbook statistics 2026";
        for (place, byte) in key.iter_mut().zip(seed.to_le_bytes()) {
            *place = byte;
        }
        Chance(ChaCha8Rng::from_seed(key))
    }

    /// At least 0 and less than 1, with the 53 bits of a double.
    pub(super) fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number less than `n`, or 0 if `n` is 0.
    pub(super) fn below(&mut self, n: u64) -> u64 {
        #[expect(
            clippy::arithmetic_side_effects,
            reason = "the product of two numbers of 64 bits fits 128"
        )]
        let product = u128::from(self.0.next_u64()) * u128::from(n);
        // The upper half of a 128-bit product; its bias is less than n / 2^64.
        (product >> 64) as u64
    }
}
