//! How fast printouts are read, as a ratio to splitting the same bytes into lines and to hashing them.
//!
//! Timings on shared machines are noisy, so each part is run in turn, several times, and its best time counts; what is
//! worth quoting is the ratio within one run: `cargo bench --bench read`.

use loadbook::parse::{Strictness, read_bytes};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

const N_CYCLES: u32 = 4_000;
const N_READINGS: u32 = 90;
const N_ROUNDS: usize = 7;

/// Printouts in the neutral format: the same shape each time, other values.
fn printouts() -> String {
    let mut text = String::new();
    for counter in 1..=N_CYCLES {
        let started = "loadbook printout 1\nunit: PL-1\nserial: 20417\nsoftware: 4.2\nprocess: plasma\nprogram: standard";
        let _ = write!(
            text,
            "{started}\ncounter: {counter}\nload: P1-{counter}\noperator: HB\nstarted: 2026-03-12 07:41:20\n\
             consumable: sterilant, lot K4471, expiry 2026-09-30, use 3 of 10\n\
             stage: evacuate, at 07:41:30, limit pressure 53 Pa max, limit duration 20 min max\n"
        );
        for n in 0..N_READINGS {
            let (minute, second) = (42 + n / 6, n % 6 * 10);
            let (hour, minute) = (7 + minute / 60, minute % 60);
            let _ = writeln!(
                text,
                "{hour:02}:{minute:02}:{second:02} pressure {}.{} Pa, temperature 4{}.{} C",
                (counter * 31 + n * 977) % 9000 + 50,
                n % 10,
                n % 7,
                counter % 10
            );
        }
        text.push_str("ended: 08:22:05\noutcome: completed\nend\n");
    }
    text
}

fn best<T>(mut run: impl FnMut() -> T) -> Duration {
    (0..N_ROUNDS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn main() {
    let text = printouts();
    let bytes = text.as_bytes();
    let n_megabytes = bytes.len() as f64 / 1e6;
    let rate = |time: Duration| n_megabytes / time.as_secs_f64();
    let split = best(|| memchr::memchr_iter(b'\n', black_box(bytes)).count());
    let hash = best(|| Sha256::digest(black_box(bytes)));
    let read = best(|| {
        let records = read_bytes(black_box(bytes), Strictness::Infer);
        assert!(records.unread.is_empty() && records.cycles.len() == N_CYCLES as usize);
        records
    });
    println!("{n_megabytes:.1} MB of printouts, best of {N_ROUNDS}, one core");
    println!("split into lines   {:>8.0} MB/s", rate(split));
    println!("SHA-256            {:>8.0} MB/s", rate(hash));
    println!("read into records  {:>8.0} MB/s", rate(read));
    println!(
        "read / split = {:.3}   read / hash = {:.3}",
        rate(read) / rate(split),
        rate(read) / rate(hash)
    );
}
