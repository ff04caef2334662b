//! The same work for many things on all cores, with what comes of it in the order of the things.
//!
//! Knows nothing of the work. What comes of it does not hang on how many threads there are. Read [`Threads`].

use std::num::NonZeroUsize;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How many parts each thread gets on average: things next to one another are alike, and some take longer than others.
const PARTS_EACH: usize = 8;

/// How many threads share a work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Threads(NonZeroUsize);

impl Threads {
    /// One.
    pub const ONE: Threads = Threads(NonZeroUsize::MIN);

    /// So many.
    pub fn of(n_threads: NonZeroUsize) -> Self {
        Threads(n_threads)
    }

    /// As many as the system says would run at once; one if it does not say.
    pub fn available() -> Self {
        std::thread::available_parallelism().map_or(Threads::ONE, Threads)
    }

    /// Their number, at least one.
    pub fn get(self) -> usize {
        self.0.get()
    }

    /// What is made of each number below `n`, in order.
    pub fn map_in_order<T: Send>(self, n: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
        let n_parts = self.get().min(n).saturating_mul(PARTS_EACH).max(1);
        self.map_by(n.div_ceil(n_parts).max(1), n, make)
    }

    /// The same where each takes long, and some far longer than others: each thread takes the next as soon as it is free.
    pub fn map_one_by_one<T: Send>(self, n: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
        self.map_by(1, n, make)
    }

    /// The same, so many at a time.
    fn map_by<T: Send>(self, n_each: usize, n: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
        let n_threads = self.get().min(n);
        if n_threads <= 1 {
            return (0..n).map(make).collect();
        }
        let next = AtomicUsize::new(0);
        let done: Mutex<Vec<(usize, Vec<T>)>> = Mutex::new(Vec::new());
        std::thread::scope(|scope| {
            for _ in 0..n_threads {
                scope.spawn(|| {
                    loop {
                        let from = next.fetch_add(n_each, Ordering::Relaxed);
                        if from >= n {
                            return;
                        }
                        let to = from.saturating_add(n_each).min(n);
                        let part: Vec<T> = (from..to).map(&make).collect();
                        // Nothing that holds the lock can panic.
                        let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                        done.push((from, part));
                    }
                });
            }
        });
        let mut parts = done.into_inner().unwrap_or_else(PoisonError::into_inner);
        parts.sort_unstable_by_key(|(from, _)| *from);
        let mut all = Vec::with_capacity(n);
        for (_, mut part) in parts {
            all.append(&mut part);
        }
        all
    }

    /// What two works make that know nothing of each other: at the same time, if there is a second thread.
    pub fn both<A: Send, B>(
        self,
        one: impl FnOnce() -> A + Send,
        other: impl FnOnce() -> B,
    ) -> (A, B) {
        if self.get() == 1 {
            return (one(), other());
        }
        std::thread::scope(|scope| {
            let one = scope.spawn(one);
            let other = other();
            match one.join() {
                Ok(one) => (one, other),
                // As it would where it stands.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        })
    }

    /// What each of several works makes, in their order.
    pub fn run_in_order<T: Send>(self, works: &[&(dyn Fn() -> T + Sync)]) -> Vec<T> {
        let made = self.map_one_by_one(works.len(), |at| works.get(at).map(|work| work()));
        made.into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_comes_in_order_whatever_the_number_of_threads() {
        for n in [0, 1, 2, 7, 8, 9, 1000] {
            let expected: Vec<usize> = (0..n).map(|at| at * at).collect();
            for n_threads in [1, 2, 3, 8] {
                let threads = Threads::of(NonZeroUsize::new(n_threads).unwrap());
                assert_eq!(threads.map_in_order(n, |at| at * at), expected);
                assert_eq!(threads.map_one_by_one(n, |at| at * at), expected);
            }
        }
    }

    #[test]
    fn both_works_are_done_whatever_the_number_of_threads() {
        for n_threads in [1, 2, 3] {
            let threads = Threads::of(NonZeroUsize::new(n_threads).unwrap());
            let given = "ab".to_owned();
            assert_eq!(threads.both(|| given.len(), || "other"), (2, "other"));
            let stopped = std::panic::catch_unwind(|| threads.both(|| panic!("one"), || ()));
            let said = stopped.unwrap_err();
            assert_eq!(said.downcast_ref::<&str>(), Some(&"one"));
        }
    }

    #[test]
    fn works_of_different_kinds_come_in_their_order() {
        let (one, two) = (|| "first", || "second");
        assert_eq!(
            Threads::available().run_in_order(&[&one, &two]),
            ["first", "second"]
        );
    }
}
