//! Lines → typed records, and unread lines with a reason. Knows nothing of other files or of policy.

pub mod fault;
pub mod gs1;
pub mod layout;
pub mod ledger;
pub mod log;
pub mod lot;
pub mod printout;
pub mod read;
pub mod suggest;
pub mod text;
pub mod token;

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId};
use crate::parallel::Threads;
use crate::record::cycle::Cycle;
use crate::record::entry::Entry;
use crate::record::line_set::LineSet;
use crate::source::decode::Charset;
use crate::source::gather::{Input, ReadSource, Sources, read_source};
use crate::source::lines::read_lines_as;
use layout::compile::Layout;
use layout::recognise::{LOOKED_AT, Recognised, recognise};
use layout::shipped::shipped;
use read::{FileReader, Within};
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError, mpsc};

/// The version of what is read from a line. Whoever makes any line be read otherwise raises it; the archive notes it
/// beside what was read, and reads again whatever it says.
pub const READER_VERSION: u32 = 1;

/// How the input is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strictness {
    /// Infer where there is a good reason, and say so.
    Infer,
    /// Refuse every line that needs inference.
    Strict,
}

/// A run of lines that could not be read, for one reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnreadLines {
    /// The lines.
    pub lines: LineSet,
    /// What is wrong with the first of them, and what to do.
    pub diagnostic: Diagnostic,
}

/// All that was read from all files, in the order of the files and their lines.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Records {
    /// The printouts.
    pub cycles: Vec<Cycle>,
    /// The log entries.
    pub entries: Vec<Entry>,
    /// The lines that could not be read.
    pub unread: Vec<UnreadLines>,
    /// Blank lines, comments, and the opening and heading lines of logs: lines that hold no record and lack nothing.
    pub idle: Vec<LineSet>,
    /// What else is worth saying.
    pub diagnostics: Vec<Diagnostic>,
    /// The files that were read by a layout, in their order.
    pub by_layout: Vec<ReadByLayout>,
}

/// A file that was read by a layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadByLayout {
    /// The file.
    pub file: FileId,
    /// The layout's name.
    pub layout: String,
}

/// By which layout the lines outside neutral records are read.
#[derive(Debug, Clone)]
pub enum LayoutChoice {
    /// By none.
    Neutral,
    /// By the one of these that fits the file's content.
    ByContent(Vec<Arc<Layout>>),
    /// By this one, whatever the file holds.
    Forced(Arc<Layout>),
    /// Some files in ways of their own, by their names; the others in one way.
    ByName {
        /// The files that have a way of their own.
        named: BTreeMap<String, LayoutChoice>,
        /// The way of the others.
        others: Box<LayoutChoice>,
    },
}

impl LayoutChoice {
    /// The choice for a file of this name.
    fn of_file(&self, name: &str) -> &LayoutChoice {
        match self {
            LayoutChoice::ByName { named, others } => {
                named.get(name).unwrap_or(others).of_file(name)
            }
            _ => self,
        }
    }
}

impl Records {
    fn extend(&mut self, more: Records) {
        self.cycles.extend(more.cycles);
        self.entries.extend(more.entries);
        self.unread.extend(more.unread);
        self.idle.extend(more.idle);
        self.diagnostics.extend(more.diagnostics);
        self.by_layout.extend(more.by_layout);
    }
}

/// Reads inputs one after the other, by the shipped layouts where they fit. After each, `progress` is told its size in
/// bytes.
///
/// A file that can't be read, or only in part, is a diagnostic; the others are read all the same.
pub fn read_inputs(
    inputs: Vec<Input>,
    strictness: Strictness,
    progress: impl FnMut(u64),
) -> (Sources, Records) {
    let shipped = LayoutChoice::ByContent(shipped().to_vec());
    read_inputs_by(inputs, strictness, &shipped, progress)
}

/// Reads inputs as [`read_inputs`] does, by other layouts.
pub fn read_inputs_by(
    inputs: Vec<Input>,
    strictness: Strictness,
    choice: &LayoutChoice,
    progress: impl FnMut(u64),
) -> (Sources, Records) {
    read_inputs_on(inputs, strictness, choice, Threads::available(), progress)
}

/// Reads inputs as [`read_inputs_by`] does, on so many threads. `progress` hears of files as they are done; everything else
/// comes in the order of the files.
pub fn read_inputs_on(
    inputs: Vec<Input>,
    strictness: Strictness,
    choice: &LayoutChoice,
    threads: Threads,
    progress: impl FnMut(u64),
) -> (Sources, Records) {
    let (sources, records, _) =
        read_inputs_keeping(inputs, strictness, choice, threads, |_| (), progress);
    (sources, records)
}

/// Reads inputs as [`read_inputs_on`] does; of the records of each file only what `keep` leaves of them is kept, and what it
/// makes of them, file by file. So what is only counted need not be in memory all at once.
///
/// Each thread takes the largest file that is left.
pub fn read_inputs_keeping<T: Send>(
    inputs: Vec<Input>,
    strictness: Strictness,
    choice: &LayoutChoice,
    threads: Threads,
    keep: impl Fn(&mut Records) -> T + Sync,
    mut progress: impl FnMut(u64),
) -> (Sources, Records, Vec<T>) {
    let n_threads = threads.get().min(inputs.len());
    let numbered = inputs
        .into_iter()
        .zip(0..)
        .map(|(input, number)| (FileId(number), input));
    let read_one = |file: FileId, input: Input| {
        let mut done = read_file(file, input, strictness, choice);
        let made = keep(&mut done.records);
        (done, made)
    };
    let mut read: BTreeMap<FileId, (ReadFile, T)> = BTreeMap::new();
    let mut take = |file: FileId, done: (ReadFile, T)| {
        progress(done.0.source.file().n_bytes);
        read.insert(file, done);
    };
    if n_threads <= 1 {
        for (file, input) in numbered {
            take(file, read_one(file, input));
        }
    } else {
        let mut queue: Vec<(FileId, Input)> = numbered.collect();
        queue.sort_by_cached_key(|(file, input)| (input.n_bytes(), Reverse(*file)));
        let queue = Mutex::new(queue);
        let (sender, receiver) = mpsc::channel();
        std::thread::scope(|scope| {
            for _ in 0..n_threads {
                let (queue, read_one, sender) = (&queue, &read_one, sender.clone());
                scope.spawn(move || {
                    loop {
                        // Nothing that holds the lock can panic.
                        let next = queue.lock().unwrap_or_else(PoisonError::into_inner).pop();
                        let Some((file, input)) = next else { return };
                        if sender.send((file, read_one(file, input))).is_err() {
                            return;
                        }
                    }
                });
            }
            drop(sender);
            for (file, done) in receiver {
                take(file, done);
            }
        });
    }
    let mut sources = Sources::default();
    let mut records = Records::default();
    // Room for all at once: growing would hold the cycles twice over for a while.
    let n_of =
        |count: fn(&Records) -> usize| read.values().map(|(done, _)| count(&done.records)).sum();
    records
        .cycles
        .reserve_exact(n_of(|records| records.cycles.len()));
    records
        .entries
        .reserve_exact(n_of(|records| records.entries.len()));
    let mut made = Vec::with_capacity(read.len());
    for (done, made_of_file) in read.into_values() {
        sources.keep(done.source);
        records.extend(done.records);
        made.push(made_of_file);
    }
    (sources, records, made)
}

/// A file and what was read from it.
struct ReadFile {
    source: ReadSource,
    records: Records,
}

fn read_file(
    file: FileId,
    input: Input,
    strictness: Strictness,
    choice: &LayoutChoice,
) -> ReadFile {
    let mut said = Vec::new();
    let choice = choice.of_file(input.name());
    let head = match choice {
        LayoutChoice::ByContent(layouts) if !layouts.is_empty() => {
            // What can't be read is said when it is read.
            input.head(LOOKED_AT).unwrap_or_default()
        }
        _ => Vec::new(),
    };
    let layout = choose(choice, &head, file, input.name(), &mut said);
    let charset = layout
        .as_ref()
        .map_or(Charset::Detected, |layout| layout.charset);
    let by_layout = layout.as_ref().map(|layout| ReadByLayout {
        file,
        layout: layout.name.clone(),
    });
    let mut reader = FileReader::by(strictness, layout);
    let (source, of_file) = read_source(file, input, charset, |line| reader.take_line(line));
    said.extend(of_file);
    let mut records = reader.finish();
    records.by_layout.extend(by_layout);
    said.append(&mut records.diagnostics);
    records.diagnostics = said;
    ReadFile { source, records }
}

/// The layout by which a file is read. That several fit is said, and then none is taken.
fn choose(
    choice: &LayoutChoice,
    head: &[u8],
    file: FileId,
    name: &str,
    said: &mut Vec<Diagnostic>,
) -> Option<Arc<Layout>> {
    let layouts = match choice.of_file(name) {
        // What stands behind a name is never another table of names.
        LayoutChoice::Neutral | LayoutChoice::ByName { .. } => return None,
        LayoutChoice::Forced(layout) => return Some(Arc::clone(layout)),
        LayoutChoice::ByContent(layouts) => layouts,
    };
    match recognise(layouts, head) {
        Recognised::None => None,
        Recognised::One(layout) => Some(layout),
        Recognised::Ambiguous(names) => {
            let diagnostic = Diagnostic::of_file(
                Code::LayoutAmbiguous,
                file,
                format!("several layouts fit `{name}`: {}", names.join(", ")),
            );
            said.push(diagnostic);
            None
        }
    }
}

/// Reads bytes as one file with the number 0; neutral records alone.
pub fn read_bytes(bytes: &[u8], strictness: Strictness) -> Records {
    read_bytes_by(bytes, strictness, &LayoutChoice::Neutral)
}

/// Reads bytes as one file with the number 0.
pub fn read_bytes_by(bytes: &[u8], strictness: Strictness, choice: &LayoutChoice) -> Records {
    read_part(FileId(0), "the file", bytes, strictness, choice).records
}

/// The beginning of a file that may still be growing, read as if it were the whole.
#[derive(Debug)]
pub struct ReadPart {
    /// What was read.
    pub records: Records,
    /// Where the part ends.
    pub end: PartEnd,
}

/// Where a part of a file ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartEnd {
    /// Between records.
    Between,
    /// Within the printout that is the last of the records; its opening line begins at this byte.
    WithinCycle {
        /// Where.
        from: u64,
    },
    /// Within a row of a CSV log.
    WithinRow,
}

/// Reads the beginning of a file that may still be growing.
pub fn read_part(
    file: FileId,
    name: &str,
    bytes: &[u8],
    strictness: Strictness,
    choice: &LayoutChoice,
) -> ReadPart {
    let mut said = Vec::new();
    let looked_at = usize::try_from(LOOKED_AT).unwrap_or(usize::MAX);
    let head = bytes.get(..looked_at).unwrap_or(bytes);
    let layout = choose(choice, head, file, name, &mut said);
    let charset = layout
        .as_ref()
        .map_or(Charset::Detected, |layout| layout.charset);
    let by_layout = layout.as_ref().map(|layout| ReadByLayout {
        file,
        layout: layout.name.clone(),
    });
    let mut reader = FileReader::by(strictness, layout);
    // A stream of bytes in memory has no errors.
    let _ = read_lines_as(file, bytes, charset, |line| reader.take_line(line));
    let within = reader.is_within();
    let mut records = reader.finish();
    records.by_layout.extend(by_layout);
    said.append(&mut records.diagnostics);
    records.diagnostics = said;
    let end = match (within, records.cycles.last()) {
        (Within::Cycle, Some(cycle)) if !cycle.closed => PartEnd::WithinCycle {
            from: cycle.opening.line_start,
        },
        (Within::Row, _) => PartEnd::WithinRow,
        _ => PartEnd::Between,
    };
    ReadPart { records, end }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of a shipped layout, written by tests/layouts/make_samples.py.
    const STRIP: &[u8] = include_bytes!("../../samples/layouts/steam-24-column/strip.txt");
    const NEUTRAL: &[u8] = b"loadbook printout 1\nunit: ST-1\nend\n";

    fn layout(name: &str) -> Arc<Layout> {
        let found = shipped().iter().find(|layout| layout.name == name);
        Arc::clone(found.unwrap())
    }

    #[test]
    fn inputs_are_read_by_the_layout_that_fits_or_that_is_asked_for() {
        let read = |choice: &LayoutChoice| {
            let inputs = vec![
                Input::from_bytes("strip.txt", STRIP),
                Input::from_bytes("neutral.txt", NEUTRAL),
            ];
            let mut sizes = Vec::new();
            let (sources, records) =
                read_inputs_by(inputs, Strictness::Infer, choice, |n| sizes.push(n));
            sizes.sort_unstable();
            assert_eq!(sizes, [NEUTRAL.len() as u64, STRIP.len() as u64]);
            assert_eq!(sources.files().len(), 2);
            let by: Vec<_> = records
                .by_layout
                .iter()
                .map(|one| (one.file.0, one.layout.clone()))
                .collect();
            (by, records.cycles.len())
        };
        let own = (0, "steam-24-column".to_owned());
        let n_cycles = read(&LayoutChoice::ByContent(shipped().to_vec()));
        assert_eq!(n_cycles.0, slice(&own));
        assert!(n_cycles.1 > 1);
        // By none, the strip is no record.
        assert_eq!(read(&LayoutChoice::ByContent(Vec::new())), (vec![], 1));
        assert_eq!(read(&LayoutChoice::Neutral), (vec![], 1));
        let forced = LayoutChoice::Forced(layout("steam-24-column"));
        assert_eq!(read(&forced).0.len(), 2);
        let named = |name: &str, others: LayoutChoice| LayoutChoice::ByName {
            named: [(name.to_owned(), forced.clone())].into(),
            others: Box::new(others),
        };
        assert_eq!(
            read(&named("strip.txt", LayoutChoice::Neutral)).0,
            slice(&own)
        );
        assert_eq!(read(&named("other.txt", LayoutChoice::Neutral)).0, []);
        assert_eq!(read(&named("other.txt", forced.clone())).0.len(), 2);
        // The shipped layouts are asked where nothing else is.
        let inputs = vec![Input::from_bytes("strip.txt", STRIP)];
        let (_, records) = read_inputs(inputs, Strictness::Infer, |_| ());
        assert_eq!(records.by_layout.len(), 1);
    }

    fn slice(own: &(u32, String)) -> Vec<(u32, String)> {
        vec![own.clone()]
    }

    #[test]
    fn part_of_a_file_ends_within_a_record_or_between_two() {
        let end = |text: &str, choice: &LayoutChoice| {
            let part = read_part(FileId(0), "x", text.as_bytes(), Strictness::Infer, choice);
            part.end
        };
        let neutral = LayoutChoice::Neutral;
        for (text, expected) in [
            ("", PartEnd::Between),
            ("loadbook printout 1\nunit: ST-1\nend\n", PartEnd::Between),
            (
                "loadbook printout 1\nunit: ST-1\n",
                PartEnd::WithinCycle { from: 0 },
            ),
            (
                "loadbook printout 1\nend\nloadbook printout 1\nunit: ST-1\n",
                PartEnd::WithinCycle { from: 24 },
            ),
            ("loadbook log 1\nremark: x\n", PartEnd::Between),
            ("loadbook log 1,about\nremark,x\n", PartEnd::Between),
            ("loadbook log 1,about\nremark,\"x\n", PartEnd::WithinRow),
            ("rubbish\n", PartEnd::Between),
        ] {
            assert_eq!(end(text, &neutral), expected, "{text:?}");
        }
        // The same by a layout: a strip that stops within a cycle.
        let strip = String::from_utf8_lossy(STRIP);
        let forced = LayoutChoice::Forced(layout("steam-24-column"));
        assert_eq!(end(&strip, &forced), PartEnd::Between);
        let lines: Vec<&str> = strip.lines().collect();
        let first = format!("{}\n", lines[..6].join("\n"));
        assert!(
            matches!(end(&first, &forced), PartEnd::WithinCycle { .. }),
            "{first}"
        );
    }
}
