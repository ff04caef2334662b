//! How long each stage of a review takes for a cycle, when there are one, four and eight times as many days:
//! `cargo bench --bench review`.
//!
//! A stage whose last column stays near 1 takes time in proportion to the records. Timings on shared machines are noisy,
//! so that each stage runs several times and its best time counts; what is worth quoting are the ratios within one run.

use loadbook::analyse::find_findings;
use loadbook::cli::intake::list_files;
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::judge::recall::find_recalls;
use loadbook::parse::{Strictness, read_inputs};
use loadbook::reconcile::{Site, join_history};
use loadbook::report::findings::write_findings;
use loadbook::report::html::review::{ReviewParts, draw_review as draw_review_as_html};
use loadbook::report::html::{Made, Masking, Sheet};
use loadbook::report::lang::{Language, Texts};
use loadbook::report::lengths::{Measure, list_lengths};
use loadbook::report::lots::count_lots;
use loadbook::report::recall::write_recall;
use loadbook::report::release::write_release;
use loadbook::report::review::{Judged, Reviewed, write_review};
use loadbook::report::scope::Scope;
use loadbook::report::terminal::review::draw_review;
use loadbook::report::terminal::{Color, Extent, Terminal};
use loadbook::simulate::{InMemory, Plan, write_practice};
use loadbook::source::gather::Input;
use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::{Duration, Instant};

/// The days of 1×: the samples have as many.
const N_DAYS: u32 = 91;
const TIMES: [u32; 3] = [1, 4, 8];
const N_ROUNDS: usize = 5;

/// The stages in order, with the best time of each, and how many cycles went through them.
struct Timed {
    n_cycles: usize,
    stages: Vec<(&'static str, Duration)>,
}

/// Runs a stage on fresh input each time; making that and dropping what came of it are not counted.
fn best<I, T>(mut fresh: impl FnMut() -> I, mut run: impl FnMut(I) -> T) -> Duration {
    let rounds = (0..N_ROUNDS).map(|_| {
        let input = fresh();
        let start = Instant::now();
        let made = black_box(run(black_box(input)));
        let took = start.elapsed();
        drop(made);
        took
    });
    rounds.min().unwrap_or_default()
}

fn time_stages(n_days: u32) -> Timed {
    let mut files = InMemory::default();
    let plan = Plan {
        n_days,
        ..Plan::of_samples()
    };
    write_practice(&plan, &mut files).expect("memory takes everything");
    let inputs = || -> Vec<Input> {
        let files = files.0.iter();
        files
            .map(|(name, bytes)| Input::from_bytes(name, bytes))
            .collect()
    };
    let read_all = |inputs| read_inputs(inputs, Strictness::Infer, |_| ());
    let read = best(inputs, read_all);

    let (sources, records) = read_all(inputs());
    let n_cycles = records.cycles.len();
    let join = |(cycles, entries)| join_history(cycles, entries, Site::default());
    let reconcile = best(|| (records.cycles.clone(), records.entries.clone()), join);

    let (history, diagnostics) = join((records.cycles, records.entries));
    let book = PolicyBook::of_preset(Preset::Cdc2008);
    let judge = best(|| (), |()| judge_history(&history, &book, None));
    let recall = best(|| (), |()| find_recalls(&history, &book, None));

    let judgements = judge_history(&history, &book, None);
    let recalls = find_recalls(&history, &book, None);
    let files = list_files(&sources);
    let scope = Scope::default();
    let reviewed = Reviewed {
        history: &history,
        files: &files,
        unread: &records.unread,
        diagnostics: &diagnostics,
        lines: &sources,
        scope: &scope,
        as_of: None,
        judged: Judged {
            book: &book,
            judgements: &judgements,
            recalls: &recalls,
        },
    };
    let analyse = best(|| (), |()| find_findings(&history));
    let analysis = find_findings(&history).expect("the tables of the analysis hold");
    let findings = || write_findings(&analysis, &scope, &sources);
    let value = best(findings, |findings| write_review(&reviewed, findings));
    let review = write_review(&reviewed, findings());
    let terminal = Terminal {
        width: 80,
        color: Color::Plain,
        extent: Extent::Short,
        folder: String::new(),
    };
    let draw = best(|| (), |()| draw_review(&review, &terminal));

    let write_parts = || ReviewParts {
        review: write_review(&reviewed, findings()),
        lengths: list_lengths(&reviewed, Measure::Cycle),
        // What `report review` draws where a finding speaks of a stage: those of the unit that was found.
        found_lengths: list_lengths(&reviewed, Measure::EachStage)
            .into_iter()
            .take(1)
            .collect(),
        lots: count_lots(&reviewed),
        release: write_release(&reviewed, &[]),
        recall: write_recall(&reviewed),
    };
    let parts_value = best(|| (), |()| write_parts());
    let parts = write_parts();
    let texts = Texts::of(Language::English);
    let made = Made {
        version: env!("CARGO_PKG_VERSION"),
        masking: Masking::Shown,
        strictness: Strictness::Infer,
        layouts: BTreeMap::new(),
    };
    let html = best(
        || Sheet::new(&texts, &reviewed, made.clone()),
        |sheet| draw_review_as_html(&parts, &sheet),
    );
    Timed {
        n_cycles,
        stages: vec![
            ("read", read),
            ("reconcile", reconcile),
            ("judge", judge),
            ("find recalls", recall),
            ("find findings", analyse),
            ("review value", value),
            ("draw on a terminal", draw),
            ("report values", parts_value),
            ("draw as HTML", html),
        ],
    }
}

fn main() {
    let runs: Vec<Timed> = TIMES
        .iter()
        .map(|times| time_stages(N_DAYS * times))
        .collect();
    println!("microseconds for a cycle, best of {N_ROUNDS}, one core");
    print!("{:<20}", "cycles");
    for run in &runs {
        print!("{:>10}", run.n_cycles);
    }
    println!("   last / first");
    let names = runs.first().map_or(&[][..], |run| &run.stages);
    let mut sums = vec![0.0; runs.len()];
    for (at, (name, _)) in names.iter().enumerate() {
        let each: Vec<f64> = runs
            .iter()
            .filter_map(|run| {
                let (_, time) = run.stages.get(at)?;
                Some(time.as_secs_f64() * 1e6 / run.n_cycles as f64)
            })
            .collect();
        for (sum, one) in sums.iter_mut().zip(&each) {
            *sum += one;
        }
        print_row(name, &each);
    }
    print_row("all of these", &sums);
}

fn print_row(name: &str, each: &[f64]) {
    print!("{name:<20}");
    for one in each {
        print!("{one:>10.2}");
    }
    match (each.first(), each.last()) {
        (Some(first), Some(last)) if *first > 0.0 => println!("{:>15.2}", last / first),
        _ => println!(),
    }
}
