//! How long the strips of each shipped layout take to read, beside neutral text of the same cycles: `cargo bench --bench
//! layout`. Both are the samples of `samples/layouts/`, many times over. A layout is to stay within 4 times the time of
//! neutral text; the two have not the same number of bytes, so that times and not rates are to be compared.

use criterion::{Criterion, Throughput};
use loadbook::parse::layout::shipped::shipped;
use loadbook::parse::{LayoutChoice, Records, Strictness, read_bytes_by};
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

const N_TIMES: usize = 50;

fn read(bytes: &[u8], choice: &LayoutChoice) -> Records {
    read_bytes_by(black_box(bytes), Strictness::Infer, choice)
}

fn sample(layout: &str, file: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/layouts");
    let bytes = std::fs::read(folder.join(layout).join(file));
    bytes
        .expect("each shipped layout has its sample")
        .repeat(N_TIMES)
}

fn shipped_layouts(criterion: &mut Criterion) {
    for layout in shipped() {
        let mut group = criterion.benchmark_group(&layout.name);
        let by_layout = LayoutChoice::Forced(Arc::clone(layout));
        let neutral = sample(&layout.name, "same.neutral.txt");
        let strip = sample(&layout.name, "strip.txt");
        let n_cycles = read(&neutral, &LayoutChoice::Neutral).cycles.len();
        assert_eq!(
            read(&strip, &by_layout).cycles.len(),
            n_cycles,
            "{}",
            layout.name
        );
        group.throughput(Throughput::Bytes(neutral.len() as u64));
        group.bench_function("neutral", |bencher| {
            bencher.iter(|| read(&neutral, &LayoutChoice::Neutral));
        });
        group.throughput(Throughput::Bytes(strip.len() as u64));
        group.bench_function("strip", |bencher| bencher.iter(|| read(&strip, &by_layout)));
        group.finish();
    }
}

fn main() {
    let mut criterion = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(2))
        .configure_from_args();
    shipped_layouts(&mut criterion);
    criterion.final_summary();
}
