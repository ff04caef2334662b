//! Reading on several threads gives what one thread gives, which takes the files in their order with no queue between.

use loadbook::parse::layout::shipped::shipped;
use loadbook::parse::{LayoutChoice, Records, Strictness, Threads, read_inputs_on};
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
