//! Which files the user's paths name, in a fixed order; and their lines again, for whoever shows them.

use super::decode::{Charset, Decoded, Decoding, decode_line, decode_utf16_line};
use super::lines::{Line, StreamTally, find_compression, read_lines_as};
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, LineResolver, ShownLine, Span};
use serde::Serialize;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{OnceLock, mpsc};
use std::time::Duration;

/// How much of a line is shown, in bytes.
const SHOWN: usize = 400;
/// How long a named pipe may wait for someone to open it for writing.
const PATIENCE_WITH_PIPES: Duration = Duration::from_secs(5);
/// The longest pipe that is taken: more than a large department prints in a century, less than a disk.
const LONGEST_PIPE: u64 = 8 << 30;
/// Kept bytes of this size or less are unpacked anew whenever lines of them are shown; more are unpacked once, to an
/// unnamed file.
const UNPACKED_ANEW: u64 = 4 << 20;

/// One input file, after it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SourceFile {
    /// Its number.
    pub id: FileId,
    /// Its name as the user gave it, or as found in a folder that the user gave; `-` for standard input.
    pub name: String,
    /// Its size in bytes.
    pub n_bytes: u64,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
    /// The number of its lines.
    pub n_lines: u64,
    /// Its encoding: `utf-8`, `windows-1252`, `cp437`, `utf-16le`, `utf-16be`, `not text`.
    pub encoding: &'static str,
}

/// Where a file's bytes can be had again.
#[derive(Debug)]
enum Store {
    Path(PathBuf),
    /// A pipe, spooled to an unnamed file.
    Spool(File),
    Memory(Vec<u8>),
    /// Something else keeps them, in a form of its own.
    Kept(KeptStore),
}

/// Bytes that something else keeps, and gives again from their beginning as often as it is asked.
pub trait Kept: std::fmt::Debug + Send + Sync {
    /// The bytes from their beginning.
    ///
    /// # Errors
    /// They can't be had.
    fn open(&self) -> io::Result<Box<dyn Read + '_>>;
}

#[derive(Debug)]
struct KeptStore {
    kept: Box<dyn Kept>,
    n_bytes: u64,
    /// What their SHA-256 is known to be.
    sha256: String,
    /// The bytes in an unnamed file, once lines of a large one were shown.
    spool: OnceLock<File>,
}

impl KeptStore {
    fn seekable(&self) -> io::Result<Box<dyn ReadSeek + '_>> {
        if self.n_bytes <= UNPACKED_ANEW {
            let mut bytes = Vec::new();
            self.kept
                .open()?
                .take(UNPACKED_ANEW)
                .read_to_end(&mut bytes)?;
            return Ok(Box::new(io::Cursor::new(bytes)));
        }
        if let Some(spool) = self.spool.get() {
            return Ok(Box::new(spool));
        }
        let mut spool = tempfile::tempfile()?;
        io::copy(&mut self.kept.open()?.take(self.n_bytes), &mut spool)?;
        Ok(Box::new(self.spool.get_or_init(|| spool)))
    }
}

impl Store {
    /// The bytes, to be read from any place.
    fn seekable(&self) -> io::Result<Box<dyn ReadSeek + '_>> {
        Ok(match self {
            Store::Memory(bytes) => Box::new(io::Cursor::new(bytes)),
            Store::Spool(file) => Box::new(file),
            Store::Path(path) => Box::new(File::open(path)?),
            Store::Kept(kept) => kept.seekable()?,
        })
    }

    /// The bytes from their beginning.
    fn open(&self) -> io::Result<Box<dyn Read + '_>> {
        match self {
            Store::Kept(kept) => kept.kept.open(),
            _ => {
                let mut stream = self.seekable()?;
                stream.seek(SeekFrom::Start(0))?;
                Ok(Box::new(stream))
            }
        }
    }
}

/// An input that is still to be read.
#[derive(Debug)]
pub struct Input {
    name: String,
    store: Store,
}

impl Input {
    /// An input that lies in memory.
    pub fn from_bytes(name: &str, bytes: &[u8]) -> Self {
        Input {
            name: name.to_owned(),
            store: Store::Memory(bytes.to_vec()),
        }
    }

    /// An input that something else keeps, under a name of its own. That the bytes are those of the SHA-256 is checked
    /// when they are read.
    pub fn kept(name: String, n_bytes: u64, sha256: String, kept: Box<dyn Kept>) -> Self {
        Input {
            name,
            store: Store::Kept(KeptStore {
                kept,
                n_bytes,
                sha256,
                spool: OnceLock::new(),
            }),
        }
    }

    /// Its name as the user gave it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where it lies, if it is a file with a path.
    pub fn path(&self) -> Option<&Path> {
        match &self.store {
            Store::Path(path) => Some(path),
            _ => None,
        }
    }

    /// Its bytes from their beginning.
    ///
    /// # Errors
    /// It can't be read.
    pub fn open(&self) -> io::Result<Box<dyn Read + '_>> {
        self.store.open()
    }

    /// Its first bytes, for whoever has to tell what it is before it is read.
    ///
    /// # Errors
    /// It can't be read.
    pub fn head(&self, n_bytes: u64) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.open()?.take(n_bytes).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    /// Its size in bytes, if that is known before it is read.
    pub fn n_bytes(&self) -> Option<u64> {
        match &self.store {
            Store::Path(path) => std::fs::metadata(path).ok().map(|metadata| metadata.len()),
            Store::Spool(file) => file.metadata().ok().map(|metadata| metadata.len()),
            Store::Memory(bytes) => Some(bytes.len() as u64),
            Store::Kept(kept) => Some(kept.n_bytes),
        }
    }
}

/// The inputs that paths name, and what was wrong with some of the paths.
#[derive(Debug, Default)]
pub struct Gathered {
    /// The inputs in the order in which they are to be read.
    pub inputs: Vec<Input>,
    /// Paths that name nothing, can't be read, or were passed over.
    pub diagnostics: Vec<Diagnostic>,
}

/// Finds the inputs that paths name.
///
/// A path is a file, a folder (all regular files below it, sorted by name, hidden ones left out), a pattern with `*`, `?`
/// or `[…]`, or `-` for standard input. Links inside a folder are not followed, so that what is read lies in the folder.
/// A file that two paths name is read once.
pub fn gather(paths: &[String]) -> Gathered {
    let mut gathered = Gathered::default();
    let mut seen = std::collections::BTreeSet::new();
    for path in paths {
        if path == "-" {
            if seen.insert(PathBuf::from("-")) {
                if is_standard_input_a_device() {
                    gathered.unreadable("-", &io::Error::other(NO_FILE));
                } else {
                    gathered.take_pipe("-", &mut io::stdin().lock());
                }
            }
            continue;
        }
        let literal = Path::new(path);
        if literal.symlink_metadata().is_ok() {
            gathered.take_path(literal, path, &mut seen);
            continue;
        }
        let matches = if path.contains(['*', '?', '[']) {
            glob::glob(path).ok()
        } else {
            None
        };
        let mut n_matched = 0_usize;
        // `glob` gives its matches in alphabetical order.
        for found in matches.into_iter().flatten() {
            n_matched = n_matched.saturating_add(1);
            match found {
                Ok(found) => gathered.take_path(&found, &found.to_string_lossy(), &mut seen),
                Err(error) => gathered.unreadable(&error.path().to_string_lossy(), error.error()),
            }
        }
        if n_matched == 0 {
            gathered.unreadable(path, &io::Error::from(io::ErrorKind::NotFound));
        }
    }
    gathered
}

impl Gathered {
    fn unreadable(&mut self, name: &str, error: &io::Error) {
        self.diagnostics.push(unreadable(name, error));
    }

    fn skipped(&mut self, name: &str, why: &str) {
        self.diagnostics.push(Diagnostic::general(
            Code::FileSkipped,
            format!("`{name}` was passed over: {why}"),
        ));
    }

    fn take_path(
        &mut self,
        path: &Path,
        name: &str,
        seen: &mut std::collections::BTreeSet<PathBuf>,
    ) {
        let metadata = match path.metadata() {
            Ok(metadata) => metadata,
            Err(error) => return self.unreadable(name, &error),
        };
        if metadata.is_dir() {
            self.take_folder(path, seen);
        } else if metadata.is_file() {
            self.take_file(path, name, seen);
        } else if is_pipe(&metadata) {
            match open_pipe(path) {
                Ok(mut pipe) => self.take_pipe(name, &mut pipe),
                Err(error) => self.unreadable(name, &error),
            }
        } else {
            self.unreadable(name, &io::Error::other(NO_FILE));
        }
    }

    fn take_file(
        &mut self,
        path: &Path,
        name: &str,
        seen: &mut std::collections::BTreeSet<PathBuf>,
    ) {
        let identity = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        if seen.insert(identity) {
            self.inputs.push(Input {
                name: name.to_owned(),
                store: Store::Path(path.to_owned()),
            });
        }
    }

    fn take_folder(&mut self, folder: &Path, seen: &mut std::collections::BTreeSet<PathBuf>) {
        let walk = walkdir::WalkDir::new(folder)
            .sort_by_file_name()
            .into_iter();
        let visible = walk.filter_entry(|entry| {
            entry.depth() == 0 || !entry.file_name().as_encoded_bytes().starts_with(b".")
        });
        for entry in visible {
            match entry {
                Ok(entry) if entry.file_type().is_dir() => {}
                Ok(entry) if entry.file_type().is_file() => {
                    self.take_file(entry.path(), &entry.path().to_string_lossy(), seen);
                }
                Ok(entry) if entry.path_is_symlink() && entry.depth() > 0 => {
                    self.skipped(
                        &entry.path().to_string_lossy(),
                        "it is a link inside a folder",
                    );
                }
                Ok(entry) => {
                    self.skipped(&entry.path().to_string_lossy(), "it is not a regular file")
                }
                Err(error) => {
                    let name = error
                        .path()
                        .unwrap_or(folder)
                        .to_string_lossy()
                        .into_owned();
                    let cause = error
                        .into_io_error()
                        .unwrap_or_else(|| io::Error::other("the folder loops"));
                    self.unreadable(&name, &cause);
                }
            }
        }
    }

    fn take_pipe(&mut self, name: &str, pipe: &mut impl Read) {
        let spooled = tempfile::tempfile().and_then(|mut spool| {
            let n_bytes = io::copy(&mut pipe.take(LONGEST_PIPE + 1), &mut spool)?;
            if n_bytes > LONGEST_PIPE {
                return Err(io::Error::other("it gives more than 8 gigabytes"));
            }
            spool.flush()?;
            Ok(spool)
        });
        match spooled {
            Ok(spool) => self.inputs.push(Input {
                name: name.to_owned(),
                store: Store::Spool(spool),
            }),
            Err(error) => self.unreadable(name, &error),
        }
    }
}

fn unreadable(name: &str, error: &io::Error) -> Diagnostic {
    // Words of our own: the system's differ from system to system.
    let cause = match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        io::ErrorKind::Other => error.to_string(),
        kind => kind.to_string(),
    };
    Diagnostic::general(
        Code::FileUnreadable,
        format!("`{name}` can't be read: {cause}"),
    )
}

/// What is said of devices, sockets and whatever else a path may name.
const NO_FILE: &str = "it is neither a file, a folder nor a pipe";

/// Opens a named pipe, which waits until someone opens it for writing; not for ever.
fn open_pipe(path: &Path) -> io::Result<File> {
    let (give, take) = mpsc::channel();
    let path = path.to_owned();
    // A wait that is given up ends with the program.
    std::thread::spawn(move || give.send(File::open(path)));
    take.recv_timeout(PATIENCE_WITH_PIPES)
        .unwrap_or_else(|_| Err(io::Error::other("it is a pipe, and no one writes to it")))
}

/// Whether standard input is a device such as `/dev/zero`, which never ends. A terminal is one, but a person types there.
#[cfg(unix)]
fn is_standard_input_a_device() -> bool {
    use std::io::IsTerminal;
    use std::os::fd::AsFd;
    use std::os::unix::fs::FileTypeExt;
    let stdin = io::stdin();
    let is_device = || {
        let file = File::from(stdin.as_fd().try_clone_to_owned().ok()?);
        Some(file.metadata().ok()?.file_type().is_char_device())
    };
    !stdin.is_terminal() && is_device().unwrap_or(false)
}

#[cfg(not(unix))]
fn is_standard_input_a_device() -> bool {
    false
}

#[cfg(unix)]
fn is_pipe(metadata: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::FileTypeExt;
    metadata.file_type().is_fifo()
}

#[cfg(not(unix))]
fn is_pipe(_: &std::fs::Metadata) -> bool {
    false
}

/// The files that were read, with access to their lines.
#[derive(Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
    stores: Vec<Store>,
}

impl Sources {
    /// The files in the order of their numbers.
    pub fn files(&self) -> &[SourceFile] {
        &self.files
    }

    /// Reads an input to its end, hands on each line, and keeps the file's particulars.
    ///
    /// What is wrong with the file as a whole comes back; the lines that were handed on stand all the same.
    pub fn read(&mut self, input: Input, take: impl FnMut(&Line<'_>)) -> Vec<Diagnostic> {
        self.read_as(input, Charset::Detected, take)
    }

    /// Reads an input whose bytes are of a charset, as [`Sources::read`] does.
    pub fn read_as(
        &mut self,
        input: Input,
        charset: Charset,
        take: impl FnMut(&Line<'_>),
    ) -> Vec<Diagnostic> {
        let (source, diagnostics) = read_source(self.next_id(), input, charset, take);
        self.keep(source);
        diagnostics
    }

    /// The number of the file that is kept next.
    pub fn next_id(&self) -> FileId {
        FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX))
    }

    /// Keeps a file that was read. Files are kept in the order of their numbers.
    pub fn keep(&mut self, source: ReadSource) {
        self.files.push(source.file);
        self.stores.push(source.store);
    }

    fn bytes_from(&self, file: FileId, offset: u64) -> Option<Vec<u8>> {
        let mut stream = self.stores.get(file.0 as usize)?.seekable().ok()?;
        stream.seek(SeekFrom::Start(offset)).ok()?;
        let mut bytes = Vec::new();
        stream.take(SHOWN as u64).read_to_end(&mut bytes).ok()?;
        Some(bytes)
    }
}

/// A file that was read, and where its bytes can be had again.
#[derive(Debug)]
pub struct ReadSource {
    file: SourceFile,
    store: Store,
}

impl ReadSource {
    /// The file's particulars.
    pub fn file(&self) -> &SourceFile {
        &self.file
    }
}

/// Reads an input as the file of a number, as [`Sources::read_as`] does; [`Sources::keep`] takes it up.
pub fn read_source(
    id: FileId,
    input: Input,
    charset: Charset,
    take: impl FnMut(&Line<'_>),
) -> (ReadSource, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let compression = input.head(8).ok().and_then(|head| find_compression(&head));
    let size_before = input.n_bytes();
    let (tally, result) = match &input.store {
        Store::Memory(bytes) => read_lines_as(id, &bytes[..], charset, take),
        Store::Spool(file) => {
            let mut file = file;
            match file.seek(SeekFrom::Start(0)) {
                Ok(_) => read_lines_as(id, file, charset, take),
                Err(error) => (nothing_read(), Err(error)),
            }
        }
        Store::Path(path) => match File::open(path) {
            Ok(file) => read_lines_as(id, file, charset, take),
            Err(error) => (nothing_read(), Err(error)),
        },
        Store::Kept(kept) => match kept.kept.open() {
            Ok(stream) => read_lines_as(id, stream, charset, take),
            Err(error) => (nothing_read(), Err(error)),
        },
    };
    let about = |code, headline: String| Diagnostic::of_file(code, id, headline);
    let expected = match &input.store {
        Store::Kept(kept) => Some(kept.sha256.as_str()),
        _ => None,
    };
    match result {
        _ if expected.is_some_and(|expected| expected != tally.sha256) => {
            diagnostics.push(about(
                Code::ArchiveDamaged,
                format!("`{}` is not in the archive as it was added", input.name),
            ));
        }
        Err(error) => diagnostics.push(Diagnostic {
            file: Some(id),
            ..unreadable(&input.name, &error)
        }),
        Ok(()) if tally.n_bytes == 0 => {
            diagnostics.push(about(Code::FileEmpty, format!("`{}` is empty", input.name)));
        }
        Ok(()) if size_before.is_some_and(|size| size != tally.n_bytes) => {
            diagnostics.push(about(
                Code::FileChanged,
                format!("`{}` changed while it was read", input.name),
            ));
        }
        Ok(()) => {}
    }
    if let Some(kind) = compression {
        let said = format!("`{}` is compressed ({kind}) and was not read", input.name);
        diagnostics.push(about(Code::FileNotText, said).help(
            "unpack it, or give what it holds through a pipe: `zcat FILE | loadbook review -`",
        ));
    }
    if tally.encoding == "windows-1252" {
        let said = format!("`{}` is not UTF-8; it was read as Windows-1252", input.name);
        diagnostics.push(about(Code::EncodingInferred, said));
    }
    let file = SourceFile {
        id,
        name: input.name,
        n_bytes: tally.n_bytes,
        sha256: tally.sha256,
        n_lines: tally.n_lines,
        encoding: tally.encoding,
    };
    let store = input.store;
    (ReadSource { file, store }, diagnostics)
}

/// The offsets at which the lines of a stream begin, the stream itself beginning at `offset`; at most `n_lines` of them.
fn line_starts(
    stream: impl Read,
    offset: u64,
    n_lines: usize,
    unit: usize,
) -> io::Result<Vec<u64>> {
    let mut starts = Vec::new();
    let mut at = offset;
    let mut start = Some(offset);
    let mut stream = BufReader::new(stream);
    let mut code = [0_u8; 2];
    let mut n_in_code = 0;
    loop {
        let block = stream.fill_buf()?;
        if block.is_empty() {
            return Ok(starts);
        }
        for &byte in block {
            if let Some(start) = start.take() {
                if starts.len() >= n_lines {
                    return Ok(starts);
                }
                starts.push(start);
            }
            at = at.saturating_add(1);
            if let Some(place) = code.get_mut(n_in_code) {
                *place = byte;
            }
            n_in_code = n_in_code.saturating_add(1);
            if n_in_code < unit {
                continue;
            }
            n_in_code = 0;
            // LF alone, or beside the NUL that UTF-16 writes before or after it.
            let ends = match (unit, code) {
                (2, code) => code == [b'\n', 0] || code == [0, b'\n'],
                (_, [byte, _]) => byte == b'\n',
            };
            if ends {
                start = Some(at);
            }
        }
        let n = block.len();
        stream.consume(n);
    }
}

fn nothing_read() -> StreamTally {
    StreamTally {
        n_bytes: 0,
        n_lines: 0,
        sha256: String::new(),
        encoding: "utf-8",
    }
}

trait ReadSeek: Read + Seek {}

impl<S: Read + Seek> ReadSeek for S {}

impl LineResolver for Sources {
    fn file_name(&self, file: FileId) -> &str {
        self.files
            .get(file.0 as usize)
            .map_or("?", |file| &file.name)
    }

    fn lines_from(&self, first: &Span, n_lines: usize) -> Vec<ShownLine> {
        let unit = match self.files.get(first.file.0 as usize) {
            Some(file) if file.encoding.starts_with("utf-16") => 2,
            _ => 1,
        };
        let Some(store) = self.stores.get(first.file.0 as usize) else {
            return Vec::new();
        };
        let starts = store.seekable().and_then(|mut stream| {
            stream.seek(SeekFrom::Start(first.line_start))?;
            line_starts(stream, first.line_start, n_lines, unit)
        });
        let lines = starts.unwrap_or_default();
        let lines = lines.into_iter().zip(first.line..);
        lines
            .map_while(|(line_start, line)| {
                self.line(&Span {
                    line,
                    line_start,
                    start: 0,
                    end: 0,
                    ..*first
                })
            })
            .collect()
    }

    fn line(&self, span: &Span) -> Option<ShownLine> {
        let encoding = self.files.get(span.file.0 as usize)?.encoding;
        let bytes = self.bytes_from(span.file, span.line_start)?;
        let mut decoded = Decoded::default();
        let verbatim = match encoding {
            "utf-16le" | "utf-16be" => {
                let unit = if encoding == "utf-16le" {
                    u16::from_le_bytes
                } else {
                    u16::from_be_bytes
                };
                let (pairs, _) = bytes.as_chunks::<2>();
                let units = pairs.iter().map(|&pair| unit(pair));
                let units: Vec<u16> = units.take_while(|&unit| unit != u16::from(b'\n')).collect();
                decode_utf16_line(&units, &mut decoded);
                None
            }
            _ => {
                let end = memchr::memchr(b'\n', &bytes).unwrap_or(bytes.len());
                let line = bytes.get(..end)?.trim_ascii_end();
                // The cut may have gone through a character.
                let charset = if encoding == "cp437" {
                    Charset::CodePage437
                } else {
                    Charset::Detected
                };
                let line = match std::str::from_utf8(line) {
                    Err(error) if charset == Charset::Detected && error.error_len().is_none() => {
                        line.get(..error.valid_up_to())?
                    }
                    _ => line,
                };
                match decode_line(line, charset, &mut decoded) {
                    Decoding::Verbatim => Some(String::from_utf8(line.to_vec()).ok()?),
                    _ => None,
                }
            }
        };
        let place = |origin: u32| {
            let place = decoded.origin().partition_point(|&from| from < origin);
            u32::try_from(place.min(decoded.text().len())).unwrap_or(u32::MAX)
        };
        Some(match verbatim {
            Some(text) => {
                let length = u32::try_from(text.len()).unwrap_or(u32::MAX);
                ShownLine {
                    start: span.start.min(length),
                    end: span.end.min(length),
                    text,
                }
            }
            None => ShownLine {
                start: place(span.start),
                end: place(span.end),
                text: decoded.text().to_owned(),
            },
        })
    }
}
