//! Staff marks replaced for wider circulation: each by the same number throughout, in records and in quoted lines.
//!
//! A mark is replaced where a record has it as a field, and as a whole word in remarks, in words that a unit printed, and
//! in lines that could not be read. What a person wrote without being a field of any record can't be known to be a mark.
//! Read [`Masks::of`] first.

use crate::diagnose::{FileId, LineResolver, ShownLine, Span};
use crate::parse::UnreadLines;
use crate::reconcile::history::History;
use crate::record::line_set::LineSet;
use std::collections::BTreeMap;

/// What each staff mark is replaced by.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Masks {
    by_mark: BTreeMap<String, String>,
}

impl Masks {
    /// Numbers the staff marks of a history in the order in which they first come, entries before printouts.
    pub fn of(history: &History) -> Self {
        let mut masks = Masks::default();
        let of_entries = history
            .entries
            .iter()
            .filter_map(|known| known.entry.by.as_ref());
        let of_cycles = history
            .cycles
            .iter()
            .filter_map(|known| known.cycle.operator.as_ref());
        for mark in of_entries.chain(of_cycles) {
            let n = masks.by_mark.len().saturating_add(1);
            masks
                .by_mark
                .entry(mark.value.0.clone())
                .or_insert_with(|| format!("[{n:02}]"));
        }
        masks
    }

    fn of_mark<'a>(&'a self, mark: &'a str) -> &'a str {
        self.by_mark.get(mark).map_or("[--]", String::as_str)
    }

    /// A text in which every word that is a mark is replaced.
    pub fn words(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut word = String::new();
        // One more character than the text has, so that its last word is looked at as well.
        for c in text.chars().map(Some).chain([None]) {
            match c {
                Some(c) if c.is_alphanumeric() => word.push(c),
                other => {
                    out.push_str(
                        self.by_mark
                            .get(&word)
                            .map_or(word.as_str(), String::as_str),
                    );
                    word.clear();
                    out.extend(other);
                }
            }
        }
        out
    }

    /// The lines of the input with the marks replaced. Must be made from the history before its own marks are.
    pub fn lines<'a>(
        &'a self,
        inner: &'a dyn LineResolver,
        history: &History,
        unread: &[UnreadLines],
    ) -> MaskedLines<'a> {
        let mut spans: BTreeMap<(FileId, u32), Vec<(Span, Replacement)>> = BTreeMap::new();
        let mut note = |span: Span, by: Replacement| {
            spans
                .entry((span.file, span.line))
                .or_default()
                .push((span, by));
        };
        for known in &history.entries {
            if let Some(by) = &known.entry.by {
                note(
                    by.span,
                    Replacement::Mark(self.of_mark(&by.value.0).to_owned()),
                );
            }
            if let Some(remark) = &known.entry.note {
                note(remark.span, Replacement::Words);
            }
        }
        for known in &history.cycles {
            if let Some(operator) = &known.cycle.operator {
                note(
                    operator.span,
                    Replacement::Mark(self.of_mark(&operator.value.0).to_owned()),
                );
            }
            for event in &known.cycle.events {
                note(event.span, Replacement::Words);
            }
        }
        let reprints = history.cycles.iter().flat_map(|known| &known.reprints);
        MaskedLines {
            masks: self,
            inner,
            spans,
            unread: unread
                .iter()
                .map(|unread| unread.lines.clone())
                .chain(reprints.cloned())
                .collect(),
        }
    }

    /// Replaces the marks of a history.
    pub fn apply(&self, history: &mut History) {
        for known in &mut history.entries {
            if let Some(by) = &mut known.entry.by {
                by.value.0 = self.of_mark(&by.value.0).to_owned();
            }
            if let Some(note) = &mut known.entry.note {
                note.value = self.words(&note.value);
            }
        }
        for known in &mut history.cycles {
            if let Some(operator) = &mut known.cycle.operator {
                operator.value.0 = self.of_mark(&operator.value.0).to_owned();
            }
            for event in &mut known.cycle.events {
                event.text = self.words(&event.text);
            }
        }
    }
}

/// What a part of a line becomes.
#[derive(Debug, Clone)]
enum Replacement {
    Mark(String),
    Words,
}

/// Lines with the marks replaced.
pub struct MaskedLines<'a> {
    masks: &'a Masks,
    inner: &'a dyn LineResolver,
    spans: BTreeMap<(FileId, u32), Vec<(Span, Replacement)>>,
    unread: Vec<LineSet>,
}

impl MaskedLines<'_> {
    fn masked(&self, file: FileId, line: u32, shown: ShownLine) -> ShownLine {
        let is_in = |set: &LineSet| {
            set.file == file
                && set
                    .runs()
                    .iter()
                    .any(|run| run.first <= line && line <= run.last)
        };
        if self.unread.iter().any(is_in) {
            return ShownLine {
                text: self.masks.words(&shown.text),
                start: 0,
                end: 0,
            };
        }
        let Some(spans) = self.spans.get(&(file, line)) else {
            return shown;
        };
        let mut text = shown.text;
        let mut parts: Vec<(usize, usize, &Replacement)> = spans
            .iter()
            .filter_map(|(span, by)| {
                let there = self.inner.line(span)?;
                Some((there.start as usize, there.end as usize, by))
            })
            .collect();
        // From the right, so that what comes before stays where it is.
        parts.sort_by_key(|(start, _, _)| std::cmp::Reverse(*start));
        for (start, end, by) in parts {
            let Some(part) = text.get(start..end) else {
                continue;
            };
            let masked = match by {
                Replacement::Mark(mark) => mark.clone(),
                Replacement::Words => self.masks.words(part),
            };
            text.replace_range(start..end, &masked);
        }
        // Carets are not drawn under masked lines.
        ShownLine {
            text,
            start: 0,
            end: 0,
        }
    }
}

impl LineResolver for MaskedLines<'_> {
    fn file_name(&self, file: FileId) -> &str {
        self.inner.file_name(file)
    }

    fn line(&self, span: &Span) -> Option<ShownLine> {
        let shown = self.inner.line(span)?;
        Some(self.masked(span.file, span.line, shown))
    }

    fn lines_from(&self, first: &Span, n_lines: usize) -> Vec<ShownLine> {
        (first.line..)
            .zip(self.inner.lines_from(first, n_lines))
            .map(|(line, shown)| self.masked(first.file, line, shown))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Masks;

    #[test]
    fn only_whole_words_are_replaced() {
        let masks = Masks {
            by_mark: [("AO".to_owned(), "[01]".to_owned())].into(),
        };
        assert_eq!(masks.words("AO told AOK, (AO)."), "[01] told AOK, ([01]).");
        assert_eq!(masks.words("last word AO"), "last word [01]");
        assert_eq!(masks.words(""), "");
    }
}
