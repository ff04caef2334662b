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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_whole_numbers_lie_evenly() {
        // 10 000 in ten parts: 1000 each ± 4.3 standard deviations of 30.
        let mut chance = Chance::of(1);
        let (mut shares, mut numbers) = ([0; 10], [0; 10]);
        for _ in 0..10_000 {
            let share = chance.share();
            assert!((0.0..1.0).contains(&share));
            shares[(share * 10.0) as usize] += 1;
            numbers[chance.below(10) as usize] += 1;
        }
        for n in shares.into_iter().chain(numbers) {
            assert!((870..1130).contains(&n), "{shares:?} {numbers:?}");
        }
        assert_eq!(chance.below(0), 0);
        assert_eq!(chance.below(1), 0);
        assert!((0..9).any(|_| chance.below(u64::MAX) > u64::MAX / 2));
    }

    #[test]
    fn seed_fixes_the_stream() {
        let first = |seed| Chance::of(seed).share();
        assert_eq!(first(7), first(7));
        assert_ne!(first(7), first(8));
        // The last byte of the seed counts as well.
        assert_ne!(first(1), first(1 | 1 << 63));
    }
}
