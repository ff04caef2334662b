//! The bound that reading is held against: the bytes of files, read in blocks and split into lines, and nothing else.
//! `benches/commands.sh` runs it beside whole commands:
//!
//! ```sh
//! cargo bench --bench split -- [--threads N] FILE…
//! ```
//!
//! Threads (as many as there are cores, unless said) share the files. It prints how many lines there are, their bytes and
//! the longest, so that no part of the work can be left out.

use std::fs::File;
use std::io::{self, Read};
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

const BLOCK: usize = 256 * 1024;

#[derive(Default)]
struct Lines {
    n_lines: u64,
    n_bytes: u64,
    longest: u64,
}

impl Lines {
    fn take(&mut self, length: u64) {
        self.n_lines += 1;
        self.n_bytes += length;
        self.longest = self.longest.max(length);
    }

    /// Splits what `file` still holds. A line over the end of a block is counted where it ends.
    fn split(&mut self, mut file: File, block: &mut [u8]) -> io::Result<()> {
        let mut begun = 0;
        loop {
            let n = file.read(block)?;
            if n == 0 {
                break;
            }
            let mut from = 0;
            for end in memchr::memchr_iter(b'\n', &block[..n]) {
                self.take(begun + (end - from) as u64);
                begun = 0;
                from = end + 1;
            }
            begun += (n - from) as u64;
        }
        if begun > 0 {
            self.take(begun);
        }
        Ok(())
    }
}

fn split_all(files: &[String], n_threads: usize) -> io::Result<Lines> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut lines = Lines::default();
        let mut block = vec![0; BLOCK];
        while let Some(name) = files.get(next.fetch_add(1, Ordering::Relaxed)) {
            lines.split(File::open(name)?, &mut block)?;
        }
        Ok(lines)
    };
    thread::scope(|scope| {
        let threads: Vec<_> = (0..n_threads).map(|_| scope.spawn(work)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().expect("splitting does not panic"))
            .reduce(|sum: io::Result<Lines>, more| {
                let (sum, more) = (sum?, more?);
                Ok(Lines {
                    n_lines: sum.n_lines + more.n_lines,
                    n_bytes: sum.n_bytes + more.n_bytes,
                    longest: sum.longest.max(more.longest),
                })
            })
            .unwrap_or_else(|| Ok(Lines::default()))
    })
}

fn main() -> ExitCode {
    // `cargo bench` adds `--bench`.
    let mut args = std::env::args().skip(1).filter(|arg| arg != "--bench");
    let mut n_threads = thread::available_parallelism().map_or(1, |n| n.get());
    let mut files = Vec::new();
    while let Some(arg) = args.next() {
        if arg != "--threads" {
            files.push(arg);
            continue;
        }
        match args.next().and_then(|n| n.parse().ok()) {
            Some(n) => n_threads = n,
            None => {
                eprintln!("--threads wants a number");
                return ExitCode::from(2);
            }
        }
    }
    match split_all(&files, n_threads) {
        Ok(lines) => {
            println!(
                "{} lines, {} bytes, the longest {}, in {} files",
                lines.n_lines,
                lines.n_bytes,
                lines.longest,
                files.len()
            );
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}
