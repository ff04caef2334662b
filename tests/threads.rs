//! Reading on several threads gives what one thread gives, which takes the files in their order with no queue between;
//! and so do judging and finding, where one thread takes loads and questions in their order.

use loadbook::analyse::find_findings_on;
use loadbook::judge::judge_history_on;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::parallel;
use loadbook::parallel::Threads;
use loadbook::parse::layout::shipped::shipped;
use loadbook::parse::{LayoutChoice, Records, Strictness, read_inputs_on};
use loadbook::reconcile::history::History;
use loadbook::reconcile::{Site, join_history};
use loadbook::source::gather::{Input, Sources, gather};
use std::num::NonZeroUsize;

/// The samples, all of them: healthy, damaged, by layout, in several encodings; and an empty file among them.
fn inputs() -> Vec<Input> {
    let samples = concat!(env!("CARGO_MANIFEST_DIR"), "/samples").to_owned();
    let mut inputs = gather(&[samples]).inputs;
    assert!(inputs.len() > 50);
    inputs.insert(7, Input::from_bytes("empty", b""));
    inputs
}

fn read_on(n_threads: usize, progress: impl FnMut(u64)) -> (Sources, Records) {
    let choice = LayoutChoice::ByContent(shipped().to_vec());
    let threads = Threads::of(NonZeroUsize::new(n_threads).unwrap());
    read_inputs_on(inputs(), Strictness::Infer, &choice, threads, progress)
}

#[test]
fn any_number_of_threads_reads_the_same() {
    let (sources, records) = read_on(1, |_| {});
    let expected = format!("{:?} {records:?}", sources.files());
    for n_threads in [2, 7, 200] {
        let (sources, records) = read_on(n_threads, |_| {});
        let read = format!("{:?} {records:?}", sources.files());
        assert!(read == expected, "{n_threads} threads");
    }
}

#[test]
fn files_are_numbered_as_they_were_given_and_each_is_told_once() {
    let names: Vec<String> = inputs()
        .iter()
        .map(|input| input.name().to_owned())
        .collect();
    let sizes: u64 = inputs().iter().filter_map(Input::n_bytes).sum();
    let (mut n_told, mut n_bytes) = (0, 0);
    let (sources, records) = read_on(7, |size| {
        n_told += 1;
        n_bytes += size;
    });
    let read: Vec<&str> = sources
        .files()
        .iter()
        .map(|file| file.name.as_str())
        .collect();
    assert_eq!(read, names);
    assert!((0..).zip(sources.files()).all(|(at, file)| file.id.0 == at));
    assert_eq!((n_told, n_bytes), (names.len(), sizes));
    let files: Vec<u32> = records.unread.iter().map(|run| run.lines.file.0).collect();
    assert!(files.is_sorted() && files.last() > files.first());
}

/// The history of all samples, and numbers of threads that divide its loads evenly and unevenly, and that are more than
/// there is to do.
fn history_and_threads() -> (History, [parallel::Threads; 3]) {
    let (_, records) = read_on(1, |_| {});
    let (history, _) = join_history(records.cycles, records.entries, Site::default());
    assert!(history.loads.len() > 500);
    let threads = |n| parallel::Threads::of(NonZeroUsize::new(n).unwrap());
    (history, [threads(2), threads(7), threads(5_000)])
}

#[test]
fn any_number_of_threads_judges_the_same() {
    let (history, threads) = history_and_threads();
    let book = PolicyBook::of_preset(Preset::Cdc2008);
    let expected = judge_history_on(&history, &book, None, parallel::Threads::ONE);
    for threads in threads {
        let judged = judge_history_on(&history, &book, None, threads);
        assert!(judged == expected, "{threads:?}");
    }
}

#[test]
fn any_number_of_threads_finds_the_same() {
    let (history, threads) = history_and_threads();
    let expected = find_findings_on(&history, parallel::Threads::ONE).unwrap();
    assert!(!expected.findings.is_empty());
    for threads in threads {
        let found = find_findings_on(&history, threads).unwrap();
        assert!(found == expected, "{threads:?}");
    }
}
