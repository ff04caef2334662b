//! A layout's TOML as a tree in which every key and value knows its place, and how one layout extends another.
//!
//! Knows TOML and nothing of what a layout may hold; that is `compile`'s. All faults are gathered, not only the first.
//! Read [`read_document`] first, then [`Node`] and [`Section`].

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, FileId, LineResolver, ShownLine, Span};
use crate::parse::suggest::suggest;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A layout may extend one that extends another, and so on, this deep.
const DEEPEST_EXTENSION: usize = 8;
/// A layout longer than this is not one that a person wrote.
const LONGEST_LAYOUT: usize = 1024 * 1024;

/// The text of a layout, and its name as the user gave it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayoutText {
    /// The file's name, or the name of a layout that comes with loadbook.
    pub name: String,
    /// The TOML.
    pub text: String,
}

/// The texts that one layout is made of: its own, and those it extends. Shows their lines for diagnostics.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LayoutFiles {
    files: Vec<LayoutText>,
}

impl LayoutFiles {
    /// The texts, the layout's own first.
    pub fn files(&self) -> &[LayoutText] {
        &self.files
    }

    fn span(&self, file: usize, range: &Range<usize>) -> Span {
        let text = self.files.get(file).map_or("", |file| file.text.as_str());
        let start = range.start.min(text.len());
        let before = text.as_bytes().get(..start).unwrap_or_default();
        let line_start = memchr::memrchr(b'\n', before).map_or(0, |at| at.saturating_add(1));
        let rest = text.as_bytes().get(start..).unwrap_or_default();
        let line_end =
            memchr::memchr(b'\n', rest).map_or(text.len(), |at| start.saturating_add(at));
        let end = range.end.clamp(start, line_end.max(start));
        let narrow = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span {
            file: FileId(narrow(file)),
            line: narrow(memchr::memchr_iter(b'\n', before).count().saturating_add(1)),
            line_start: line_start as u64,
            start: narrow(start.saturating_sub(line_start)),
            end: narrow(end.saturating_sub(line_start)),
        }
    }
}

impl LineResolver for LayoutFiles {
    fn file_name(&self, file: FileId) -> &str {
        let file = usize::try_from(file.0).unwrap_or(usize::MAX);
        self.files.get(file).map_or("", |file| file.name.as_str())
    }

    fn line(&self, span: &Span) -> Option<ShownLine> {
        let file = self.files.get(usize::try_from(span.file.0).ok()?)?;
        let from = usize::try_from(span.line_start).ok()?;
        let rest = file.text.get(from..)?;
        let line = rest.lines().next().unwrap_or_default();
        let narrow = |n: u32| n.min(u32::try_from(line.len()).unwrap_or(u32::MAX));
        Some(ShownLine {
            text: line.to_owned(),
            start: narrow(span.start),
            end: narrow(span.end),
        })
    }
}

/// A value of the tree.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A string.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// True or false.
    Truth(bool),
    /// A list.
    List(Vec<Node>),
    /// A table; keys in the order of the alphabet, those of one file before those it extends where both are lists.
    Table(Vec<Entry>),
    /// A value of a type that no layout needs: a fraction or a date.
    Other(&'static str),
}

/// A value with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Where it stands.
    pub span: Span,
    /// Whether the text in the file is the string between two quotation marks, so that a place in the one is a place in
    /// the other.
    pub is_verbatim: bool,
    /// The value.
    pub value: Value,
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key stands.
    pub span: Span,
    /// The value.
    pub node: Node,
}

impl Node {
    /// The place of a part of a string's text.
    pub fn part(&self, range: Range<usize>) -> Span {
        if !self.is_verbatim {
            return self.span;
        }
        let narrow = |n: usize| u32::try_from(n).unwrap_or(0);
        let at = |offset: usize| {
            let at = self
                .span
                .start
                .saturating_add(narrow(offset).saturating_add(1));
            at.min(self.span.end.saturating_sub(1))
        };
        Span {
            start: at(range.start),
            end: at(range.end),
            ..self.span
        }
    }

    fn is_called(&self) -> &'static str {
        match self.value {
            Value::Text(_) => "text",
            Value::Whole(_) => "a whole number",
            Value::Truth(_) => "true or false",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
            Value::Other(called) => called,
        }
    }
}

/// The tree of a layout, with all that it extends.
#[derive(Debug)]
pub struct Document {
    /// The tree.
    pub root: Node,
    /// Its texts.
    pub files: LayoutFiles,
    /// The names of the layouts it extends, nearest first.
    pub extends: Vec<String>,
}

/// Reads a layout and what it extends. `find` gives the text of a layout by the name that an `extends` gives.
///
/// # Errors
/// What is wrong with the TOML, or with the chain of extensions.
pub fn read_document(
    text: LayoutText,
    find: &dyn Fn(&str) -> Option<LayoutText>,
) -> Result<Document, (LayoutFiles, Vec<Diagnostic>)> {
    let mut files = LayoutFiles::default();
    let mut extends = Vec::new();
    let mut said = Vec::new();
    let mut root: Option<Node> = None;
    let mut next = Some(text);
    while let Some(text) = next.take() {
        let tree = parse(text, &mut files, &mut said);
        if !said.is_empty() {
            return Err((files, said));
        }
        let parent = text_of(&tree, "extends");
        root = Some(match root {
            None => tree,
            Some(own) => merge(own, tree),
        });
        let Some((name, span)) = parent else { break };
        let is_in_a_ring = files.files.iter().any(|file| file.name == name)
            || extends.contains(&name)
            || files.files.len() > DEEPEST_EXTENSION;
        let found = if is_in_a_ring { None } else { find(&name) };
        match found {
            Some(found) if files.files.iter().all(|file| file.text != found.text) => {
                extends.push(name);
                next = Some(found);
            }
            Some(_) => said.push(ring(span, &name)),
            None if is_in_a_ring => said.push(ring(span, &name)),
            None => said.push(
                Diagnostic::at(
                    Code::LayoutInvalid,
                    span,
                    format!("there is no layout `{name}` to extend"),
                )
                .help("give the name of a layout that `loadbook layout list` shows, or the path of a file"),
            ),
        }
    }
    match root {
        Some(root) if said.is_empty() => Ok(Document {
            root,
            files,
            extends,
        }),
        _ => Err((files, said)),
    }
}

fn ring(span: Span, name: &str) -> Diagnostic {
    Diagnostic::at(
        Code::LayoutInvalid,
        span,
        format!("`{name}` extends itself, directly or by way of others"),
    )
    .help("let one of them stand alone")
}

fn text_of(tree: &Node, key: &str) -> Option<(String, Span)> {
    let Value::Table(entries) = &tree.value else {
        return None;
    };
    let entry = entries.iter().find(|entry| entry.key == key)?;
    match &entry.node.value {
        Value::Text(text) => Some((text.clone(), entry.node.span)),
        _ => None,
    }
}

fn parse(text: LayoutText, files: &mut LayoutFiles, said: &mut Vec<Diagnostic>) -> Node {
    let number = files.files.len();
    files.files.push(text);
    let nothing = |files: &LayoutFiles| Node {
        span: files.span(number, &(0..0)),
        is_verbatim: false,
        value: Value::Table(Vec::new()),
    };
    let text = files
        .files
        .get(number)
        .map_or_else(String::new, |file| file.text.clone());
    if text.len() > LONGEST_LAYOUT {
        said.push(Diagnostic::at(
            Code::LayoutInvalid,
            files.span(number, &(0..0)),
            "the layout is longer than one megabyte",
        ));
        return nothing(files);
    }
    let (table, errors) = DeTable::parse_recoverable(&text);
    for error in &errors {
        let range = error.span().unwrap_or(0..0);
        said.push(Diagnostic::at(
            Code::LayoutInvalid,
            files.span(number, &range),
            format!("the layout is not TOML: {}", error.message()),
        ));
    }
    if !errors.is_empty() {
        return nothing(files);
    }
    let range = table.span();
    let entries = table_entries(table.into_inner(), number, &text, files);
    Node {
        span: files.span(number, &range),
        is_verbatim: false,
        value: Value::Table(entries),
    }
}

fn table_entries(table: DeTable<'_>, number: usize, text: &str, files: &LayoutFiles) -> Vec<Entry> {
    table
        .into_iter()
        .map(|(key, value)| Entry {
            span: files.span(number, &key.span()),
            key: key.into_inner().into_owned(),
            node: node(value, number, text, files),
        })
        .collect()
}

fn node(value: Spanned<DeValue<'_>>, number: usize, text: &str, files: &LayoutFiles) -> Node {
    let range = value.span();
    let mut is_verbatim = false;
    let value = match value.into_inner() {
        DeValue::String(string) => {
            let within = text.get(range.start.saturating_add(1)..range.end.saturating_sub(1));
            is_verbatim = within == Some(string.as_ref());
            Value::Text(string.into_owned())
        }
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .map_or(Value::Other("a number too large"), Value::Whole),
        DeValue::Boolean(truth) => Value::Truth(truth),
        DeValue::Float(_) => Value::Other("a fraction"),
        DeValue::Datetime(_) => Value::Other("a date"),
        DeValue::Array(items) => Value::List(
            items
                .into_iter()
                .map(|item| node(item, number, text, files))
                .collect(),
        ),
        DeValue::Table(table) => Value::Table(table_entries(table, number, text, files)),
    };
    Node {
        span: files.span(number, &range),
        is_verbatim,
        value,
    }
}

/// A layout's own tree over the one it extends: tables are joined key by key, lists are put before those they extend,
/// and anything else replaces what was there.
fn merge(own: Node, extended: Node) -> Node {
    let value = match (own.value, extended.value) {
        (Value::Table(own), Value::Table(extended)) => {
            let mut joined = own;
            for entry in extended {
                match joined.iter().position(|known| known.key == entry.key) {
                    Some(at) => {
                        let known = joined.remove(at);
                        joined.insert(
                            at,
                            Entry {
                                node: merge(known.node, entry.node),
                                ..known
                            },
                        );
                    }
                    None => joined.push(entry),
                }
            }
            joined.sort_by(|a, b| a.key.cmp(&b.key));
            Value::Table(joined)
        }
        (Value::List(mut own), Value::List(extended)) => {
            own.extend(extended);
            Value::List(own)
        }
        (own, _) => own,
    };
    Node {
        span: own.span,
        is_verbatim: own.is_verbatim,
        value,
    }
}

/// A table being read: each key is taken once, and what is left over at the end is unknown.
pub struct Section<'d> {
    /// Where it stands.
    pub span: Span,
    entries: Vec<(&'d Entry, bool)>,
    asked: Vec<&'static str>,
}

impl<'d> Section<'d> {
    /// A table as a section. Anything but a table is said, and reads as an empty one.
    pub fn of(node: &'d Node, said: &mut Vec<Diagnostic>) -> Self {
        let entries = match &node.value {
            Value::Table(entries) => entries.iter().map(|entry| (entry, false)).collect(),
            _ => {
                said.push(wrong_type(node, "a table"));
                Vec::new()
            }
        };
        Section {
            span: node.span,
            entries,
            asked: Vec::new(),
        }
    }

    /// Takes a key's value.
    pub fn take(&mut self, key: &'static str) -> Option<&'d Node> {
        self.asked.push(key);
        let (entry, taken) = self
            .entries
            .iter_mut()
            .find(|(entry, _)| entry.key == key)?;
        *taken = true;
        Some(&entry.node)
    }

    /// Takes a key's text.
    pub fn take_text(
        &mut self,
        key: &'static str,
        said: &mut Vec<Diagnostic>,
    ) -> Option<(&'d str, &'d Node)> {
        let node = self.take(key)?;
        match &node.value {
            Value::Text(text) => Some((text, node)),
            _ => {
                said.push(wrong_type(node, "text"));
                None
            }
        }
    }

    /// Takes a key's whole number.
    pub fn take_whole(
        &mut self,
        key: &'static str,
        range: std::ops::RangeInclusive<i64>,
        said: &mut Vec<Diagnostic>,
    ) -> Option<i64> {
        let node = self.take(key)?;
        match node.value {
            Value::Whole(whole) if range.contains(&whole) => Some(whole),
            _ => {
                said.push(Diagnostic::at(
                    Code::LayoutInvalid,
                    node.span,
                    format!(
                        "`{key}` is a whole number from {} to {}",
                        range.start(),
                        range.end()
                    ),
                ));
                None
            }
        }
    }

    /// Takes a key's texts: one, or a list of them.
    pub fn take_texts(
        &mut self,
        key: &'static str,
        said: &mut Vec<Diagnostic>,
    ) -> Vec<(&'d str, &'d Node)> {
        self.take(key)
            .map_or_else(Vec::new, |node| texts(node, said))
    }

    /// Takes a key's table as a section of its own.
    pub fn take_section(
        &mut self,
        key: &'static str,
        said: &mut Vec<Diagnostic>,
    ) -> Option<Section<'d>> {
        self.take(key).map(|node| Section::of(node, said))
    }

    /// Takes every key that is left, in the order of the alphabet.
    pub fn take_rest(&mut self) -> Vec<&'d Entry> {
        let rest = self.entries.iter_mut().filter(|(_, taken)| !*taken);
        rest.map(|(entry, taken)| {
            *taken = true;
            *entry
        })
        .collect()
    }

    /// Its keys with their places.
    pub fn keys(&self) -> impl Iterator<Item = (&'d str, Span)> {
        self.entries
            .iter()
            .map(|(entry, _)| (entry.key.as_str(), entry.span))
    }

    /// Says which keys nobody asked for.
    pub fn finish(self, what: &str, said: &mut Vec<Diagnostic>) {
        for (entry, _) in self.entries.iter().filter(|(_, taken)| !taken) {
            let diagnostic = Diagnostic::at(
                Code::LayoutInvalid,
                entry.span,
                format!("{what} has no key `{}`", entry.key),
            )
            .caption("not known");
            said.push(match suggest(&entry.key, &self.asked) {
                Some(near) => diagnostic.help(format!("write `{near}` if that is what is meant")),
                None => diagnostic.help(format!("its keys are: {}", self.asked.join(", "))),
            });
        }
    }
}

/// The texts of a value: one, or a list of them.
pub fn texts<'d>(node: &'d Node, said: &mut Vec<Diagnostic>) -> Vec<(&'d str, &'d Node)> {
    match &node.value {
        Value::Text(text) => vec![(text, node)],
        Value::List(items) => items
            .iter()
            .filter_map(|item| match &item.value {
                Value::Text(text) => Some((text.as_str(), item)),
                _ => {
                    said.push(wrong_type(item, "text"));
                    None
                }
            })
            .collect(),
        _ => {
            said.push(wrong_type(node, "text, or a list of texts"));
            Vec::new()
        }
    }
}

fn wrong_type(node: &Node, wanted: &str) -> Diagnostic {
    Diagnostic::at(
        Code::LayoutInvalid,
        node.span,
        format!("this is {}, where {wanted} is expected", node.is_called()),
    )
    .caption(format!("expected {wanted}"))
}

/// A fault in a layout, at a place.
pub fn invalid(span: Span, headline: impl Into<String>) -> Diagnostic {
    Diagnostic::at(Code::LayoutInvalid, span, headline)
}
