//! How fast the parts of reading are, in bytes a second on one core: `cargo bench --bench read`. The records are the
//! practice records of a hundred days.
//!
//! Times on shared machines are noisy; what is worth quoting is the ratio of two parts within one run. Whole commands,
//! which also read files, join records and draw, are timed by `benches/commands.sh`.

use criterion::{Criterion, Throughput};
use loadbook::parse::{Strictness, read_bytes};
use loadbook::simulate::trouble::Troubles;
use loadbook::simulate::{InMemory, Plan, write_practice};
use sha2::{Digest, Sha256};
use std::hint::black_box;
use std::time::Duration;

/// The files of one form: printouts, text logs or CSV logs.
struct Files {
    bytes: Vec<Vec<u8>>,
}

impl Files {
    fn n_bytes(&self) -> u64 {
        self.bytes.iter().map(|bytes| bytes.len() as u64).sum()
    }

    /// How many records are in them, every one read in full.
    fn read(&self) -> usize {
        let n_records = |bytes: &Vec<u8>| {
            let records = read_bytes(black_box(bytes), Strictness::Infer);
            black_box(&records);
            records.cycles.len() + records.entries.len()
        };
        self.bytes.iter().map(n_records).sum()
    }
}

/// Practice records without troubles, so that no line is an exception.
fn practice() -> InMemory {
    let mut files = InMemory::default();
    let plan = Plan {
        n_days: 100,
        troubles: Troubles::None,
        ..Plan::of_samples()
    };
    write_practice(&plan, &mut files).expect("memory takes everything");
    files
}

fn of_form(files: &InMemory, folder: &str, ending: &str) -> Files {
    let files = files.0.iter();
    let of_form = files.filter(|(name, _)| name.starts_with(folder) && name.ends_with(ending));
    let bytes = of_form.map(|(_, bytes)| bytes.clone()).collect();
    Files { bytes }
}

fn parts_of_reading(criterion: &mut Criterion) {
    let practice = practice();
    for (form, folder, ending) in [
        ("printouts", "printouts/", ".txt"),
        ("text logs", "logs/", ".txt"),
        ("CSV logs", "logs/", ".csv"),
    ] {
        let files = of_form(&practice, folder, ending);
        assert!(files.read() > 0, "there are {form}");
        let mut group = criterion.benchmark_group(form);
        group.throughput(Throughput::Bytes(files.n_bytes()));
        if form == "printouts" {
            group.bench_function("split into lines", |bencher| {
                bencher.iter(|| {
                    let ends =
                        |bytes: &Vec<u8>| memchr::memchr_iter(b'\n', black_box(bytes)).count();
                    files.bytes.iter().map(ends).sum::<usize>()
                });
            });
            group.bench_function("SHA-256", |bencher| {
                bencher.iter(|| {
                    for bytes in &files.bytes {
                        black_box(Sha256::digest(black_box(bytes)));
                    }
                });
            });
        }
        group.bench_function("read", |bencher| bencher.iter(|| files.read()));
        group.finish();
    }
}

fn main() {
    let mut criterion = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_secs(1))
        .measurement_time(Duration::from_secs(3))
        .configure_from_args();
    parts_of_reading(&mut criterion);
    criterion.final_summary();
}
