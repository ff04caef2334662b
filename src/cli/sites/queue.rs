//! Sites on all cores, with a limit on what is in memory at once. Read [`reduce_all`].

use super::super::input::{InputOptions, find_inputs};
use super::super::intake::bar_on_terminal;
use super::{Reduced, SitesCommand, reduce};
use crate::judge::policy::PolicyBook;
use crate::parallel::Threads;
use crate::report::sites::{SiteKind, SitePlace, SiteState};
use crate::source::gather::Input;
use indicatif::ProgressBar;
use std::path::PathBuf;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// So many bytes of input are worked on beside the largest site at work. While a site is worked on, its records take about
/// eight times the room of their text, and an allocator that serves two large sites at once keeps room of both: two of
/// 29 MB side by side came to more than 1 GiB after some hundred sites, one after the other on all cores stay far below, in
/// hardly more time.
pub const BESIDE_THE_LARGEST: u64 = 8 << 20;

/// Fewer sites are through before a bar could be seen.
const BAR_FROM: usize = 4;

/// Reduces every site, and gives them in their order. Each thread takes the next site as soon as it has room beside those at
/// work; what comes out hangs neither on their number nor on which is through first.
pub fn reduce_all(
    sites: &[SitePlace],
    command: &SitesCommand,
    book: &PolicyBook,
    threads: Threads,
) -> Vec<Reduced> {
    let n_threads = threads.get().min(sites.len());
    let room = Room::default();
    let bar = open_bar(sites.len());
    let reduced = threads.map_one_by_one(sites.len(), |at| {
        let place = sites.get(at)?;
        let reduced = reduce_when_there_is_room(place, command, book, n_threads, &room);
        bar.inc(1);
        Some(reduced)
    });
    bar.finish_and_clear();
    reduced.into_iter().flatten().collect()
}

fn reduce_when_there_is_room(
    place: &SitePlace,
    command: &SitesCommand,
    book: &PolicyBook,
    n_threads: usize,
    room: &Room,
) -> Reduced {
    let input = match place.kind {
        SiteKind::Folder => InputOptions {
            paths: vec![place.path.clone()],
            archive: None,
        },
        SiteKind::Archive => InputOptions {
            paths: Vec::new(),
            archive: Some(PathBuf::from(&place.path)),
        },
    };
    let found = match find_inputs(&input, &command.options.layout) {
        Ok(found) => found,
        Err(refusal) => return Reduced::refused(place, SiteState::Refused, &refusal),
    };
    let n_bytes = found
        .inputs
        .iter()
        .filter_map(Input::n_bytes)
        .fold(0, u64::saturating_add);
    // A site that leaves others little room is read on all cores; the others each on one.
    let threads = if n_threads <= 1 || n_bytes > BESIDE_THE_LARGEST {
        Threads::available()
    } else {
        Threads::ONE
    };
    let _held = room.take(n_bytes);
    reduce(place, found, command, book, threads)
}

/// The sites at work, by their size in bytes.
#[derive(Default)]
struct Room {
    at_work: Mutex<Vec<u64>>,
    changed: Condvar,
}

impl Room {
    /// Waits until a site of this size may be worked on beside those at work. One alone always may.
    fn take(&self, n_bytes: u64) -> Held<'_> {
        let mut at_work = lock(&self.at_work);
        while !has_room(&at_work, n_bytes) {
            at_work = self
                .changed
                .wait(at_work)
                .unwrap_or_else(PoisonError::into_inner);
        }
        at_work.push(n_bytes);
        Held {
            room: self,
            n_bytes,
        }
    }
}

/// Whether a site of this size may be worked on beside others: all but the largest together stay within the limit.
fn has_room(at_work: &[u64], n_bytes: u64) -> bool {
    // Wide enough that no sum of sizes overflows.
    let sizes = || {
        at_work
            .iter()
            .chain([&n_bytes])
            .map(|size| u128::from(*size))
    };
    let largest = sizes().max().unwrap_or_default();
    sizes().sum::<u128>().saturating_sub(largest) <= u128::from(BESIDE_THE_LARGEST)
}

/// The room of one site, given back when it is through.
struct Held<'r> {
    room: &'r Room,
    n_bytes: u64,
}

impl Drop for Held<'_> {
    fn drop(&mut self) {
        let mut at_work = lock(&self.room.at_work);
        if let Some(at) = at_work.iter().position(|own| *own == self.n_bytes) {
            at_work.swap_remove(at);
        }
        drop(at_work);
        self.room.changed.notify_all();
    }
}

/// What holds a lock here leaves nothing half done, even where it panics.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A progress bar on standard error, hidden unless that is a terminal and there are several sites.
fn open_bar(n_sites: usize) -> ProgressBar {
    if n_sites < BAR_FROM {
        return ProgressBar::hidden();
    }
    bar_on_terminal(n_sites as u64, "reviewing [{bar:40}] {pos} of {len} sites")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    const MB: u64 = 1 << 20;

    #[test]
    fn two_large_sites_are_never_at_work_at_once() {
        assert!(has_room(&[], 900 * MB));
        assert!(!has_room(&[900 * MB], 9 * MB));
        assert!(has_room(&[900 * MB], 8 * MB));
        assert!(has_room(&[3 * MB, 5 * MB], 900 * MB));
        assert!(!has_room(&[900 * MB, 3 * MB], 6 * MB));
        assert!(!has_room(&[u64::MAX], u64::MAX));
    }

    #[test]
    fn room_is_given_back_to_whoever_waits() {
        let room = Room::default();
        let (n_at_once, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let held = room.take(200 * MB);
                    let n = n_at_once.fetch_add(1, Ordering::SeqCst) + 1;
                    most.fetch_max(n, Ordering::SeqCst);
                    n_at_once.fetch_sub(1, Ordering::SeqCst);
                    drop(held);
                });
            }
        });
        assert_eq!(most.load(Ordering::SeqCst), 1);
        assert!(lock(&room.at_work).is_empty());
    }
}
