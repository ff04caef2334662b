//! Counts of things: lines, cycles, bytes. They stop at the largest number, and never wrap or panic.

/// A count that is added to as things are met.
///
/// What is held in memory can't be more than a count holds, so that the largest number is never reached in earnest; where it
/// were, too low a count is told rather than a wrapped one.
pub trait Counting {
    /// One more.
    fn add_one(&mut self);

    /// So many more.
    fn add_many(&mut self, more: Self);
}

macro_rules! count {
    ($($number:ty),+) => {$(
        impl Counting for $number {
            fn add_one(&mut self) {
                *self = self.saturating_add(1);
            }

            fn add_many(&mut self, more: $number) {
                *self = self.saturating_add(more);
            }
        }
    )+};
}

count!(u32, u64, usize);

#[cfg(test)]
mod tests {
    use super::Counting;

    #[test]
    fn a_count_stops_at_the_largest_number() {
        let mut n = u32::MAX - 1;
        n.add_one();
        n.add_one();
        assert_eq!(n, u32::MAX);
        n.add_many(7);
        assert_eq!(n, u32::MAX);
    }

    #[test]
    fn a_count_counts() {
        let mut n = 0_usize;
        n.add_one();
        n.add_many(2);
        assert_eq!(n, 3);
    }
}
