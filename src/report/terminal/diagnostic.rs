//! A diagnostic drawn: its headline and code, the line it speaks of with a caret below, and what to do next.
//!
//! The line is the user's own, made inert. A line that is withheld is not shown.

use super::prose::{shorten_middle, width_of, wrap};
use super::{Color, Terminal};
use crate::diagnose::{Diagnostic, LineResolver, Severity, Span};
use crate::measure::count::Counting;
use crate::report::inert;
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use unicode_width::UnicodeWidthChar;

/// Columns that the renderer needs beside a headline and a help line.
const FRAME: usize = 14;
/// Columns that the renderer needs left of a line, for its number.
const GUTTER: usize = 14;
/// What stands where a line was cut.
const CUT: &str = "...";
/// The longest path shown, in columns less than the terminal's width.
const PATH_FRAME: usize = 24;

/// What the renderer shows of one line: its text, where it is, and what is marked in it.
struct Shown {
    path: String,
    line: usize,
    text: String,
    marks: Vec<(AnnotationKind, std::ops::Range<usize>, String)>,
}

impl Shown {
    /// The same, cut to a width around the first mark, with dots where something was cut off.
    fn within(self, width: usize) -> Self {
        if width_of(&self.text) <= width {
            return self;
        }
        let mark = self.marks.first().map_or(0, |(_, range, _)| range.start);
        let before = self.text.get(..mark).map_or(0, width_of);
        let room = width.saturating_sub(CUT.len().saturating_mul(2));
        // A third of the room for what stands before the mark.
        let skipped = before.saturating_sub(room / 3);
        let (mut column, mut from, mut to) = (0, self.text.len(), self.text.len());
        for (at, c) in self.text.char_indices() {
            if column >= skipped {
                from = from.min(at);
            }
            column.add_many(c.width().unwrap_or(0));
            if column > skipped.saturating_add(room) {
                to = to.min(at);
            }
        }
        let to = to.max(from);
        let kept = self.text.get(from..to).unwrap_or_default();
        let lead = if from > 0 { CUT } else { "" };
        let tail = if to < self.text.len() { CUT } else { "" };
        let moved = |at: usize| {
            let kept = at.min(to).saturating_sub(from);
            kept.saturating_add(lead.len())
        };
        Shown {
            text: format!("{lead}{kept}{tail}"),
            marks: self
                .marks
                .into_iter()
                .map(|(kind, range, text)| (kind, moved(range.start)..moved(range.end), text))
                .collect(),
            path: self.path,
            line: self.line,
        }
    }
}

/// Draws a diagnostic. It ends with a line end.
pub fn draw_diagnostic(
    diagnostic: &Diagnostic,
    lines: &dyn LineResolver,
    terminal: &Terminal,
) -> String {
    let renderer = match terminal.color {
        Color::Plain => Renderer::plain(),
        Color::Ansi => Renderer::styled(),
    };
    let renderer = renderer
        .term_width(terminal.width)
        .decor_style(DecorStyle::Ascii);
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let words = |text: &str, frame: usize| {
        wrap(
            &inert::text(text),
            terminal.width.saturating_sub(frame).max(20),
        )
        .join("\n")
    };
    let title_frame = diagnostic
        .severity
        .word()
        .len()
        .saturating_add(diagnostic.code.id().len())
        .saturating_add(4);
    let headline = words(&diagnostic.headline, title_frame);
    let help = words(&diagnostic.help, FRAME);
    let path_of = |name: &str| {
        shorten_middle(
            &inert::text(name),
            terminal.width.saturating_sub(PATH_FRAME),
        )
    };
    let shown = if diagnostic.withheld {
        Vec::new()
    } else {
        find_shown(diagnostic, lines, &path_of)
    };
    let mut group: Group<'_> =
        Group::with_title(level.primary_title(headline).id(diagnostic.code.id()));
    if shown.is_empty() {
        let name = diagnostic
            .primary
            .map(|span| span.file)
            .or(diagnostic.file)
            .map(|file| lines.file_name(file));
        if let Some(name) = name {
            let origin = Origin::path(path_of(name));
            group = group.element(match diagnostic.primary {
                Some(span) => origin
                    .line(span.line as usize)
                    .char_column(span.column() as usize),
                None => origin,
            });
        }
    }
    let mut asides = Vec::new();
    for line in shown {
        let line = line.within(terminal.width.saturating_sub(GUTTER));
        let ends: Vec<usize> = line
            .marks
            .iter()
            .map(|(_, range, _)| line.text.get(..range.end).map_or(0, width_of))
            .collect();
        let mut snippet = Snippet::source(line.text)
            .line_start(line.line)
            .path(line.path)
            .fold(false);
        for ((kind, range, text), end) in line.marks.into_iter().zip(ends) {
            // Words that have no room beside the caret stand below the line.
            let has_room =
                end.saturating_add(width_of(&text)).saturating_add(FRAME) < terminal.width;
            if !has_room && !text.is_empty() {
                asides.push(words(&text, FRAME));
            }
            let annotation = kind.span(range);
            snippet = snippet.annotation(if text.is_empty() || !has_room {
                annotation
            } else {
                annotation.label(text)
            });
        }
        group = group.element(snippet);
    }
    for aside in asides {
        group = group.element(Level::NOTE.message(aside));
    }
    if !help.is_empty() {
        group = group.element(Level::HELP.message(help));
    }
    let mut out = String::new();
    for line in renderer.render(&[group]).lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// The lines to show: the primary one first, then those of the labels; marks on one line are shown together.
fn find_shown(
    diagnostic: &Diagnostic,
    lines: &dyn LineResolver,
    path_of: &dyn Fn(&str) -> String,
) -> Vec<Shown> {
    let mut shown: Vec<(Span, Shown)> = Vec::new();
    let primary = diagnostic
        .primary
        .iter()
        .map(|span| (span, AnnotationKind::Primary, &diagnostic.caption));
    let labels = diagnostic
        .labels
        .iter()
        .map(|label| (&label.span, AnnotationKind::Context, &label.text));
    for (span, kind, text) in primary.chain(labels) {
        let Some(there) = lines.line(span) else {
            continue;
        };
        let line = inert::Line::of_text(&there.text);
        let start = usize::try_from(there.start).unwrap_or(usize::MAX);
        let end = usize::try_from(there.end).unwrap_or(usize::MAX);
        let mark = (kind, line.shown(start..end), inert::text(text).into_owned());
        let same =
            |(other, _): &&mut (Span, Shown)| other.file == span.file && other.line == span.line;
        match shown.iter_mut().find(same) {
            Some((_, there)) => there.marks.push(mark),
            None => shown.push((
                *span,
                Shown {
                    path: path_of(lines.file_name(span.file)),
                    line: span.line as usize,
                    text: line.text,
                    marks: vec![mark],
                },
            )),
        }
    }
    shown.into_iter().map(|(_, shown)| shown).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnose::codes::Code;
    use crate::diagnose::{FileId, ShownLine};
    use crate::report::terminal::Extent;
    use proptest::prelude::*;

    struct Strip(Vec<u8>);

    impl LineResolver for Strip {
        fn file_name(&self, _file: FileId) -> &str {
            "samples/damaged/torn-\u{1b}[2J-strip.txt"
        }
        fn line(&self, span: &Span) -> Option<ShownLine> {
            Some(ShownLine {
                text: String::from_utf8_lossy(&self.0).into_owned(),
                start: span.start,
                end: span.end,
            })
        }
    }

    fn span(line: u32, start: u32, end: u32) -> Span {
        Span {
            file: FileId(0),
            line,
            line_start: 0,
            start,
            end,
        }
    }

    fn terminal(width: usize) -> Terminal {
        Terminal {
            width,
            color: Color::Plain,
            extent: Extent::Short,
            folder: String::new(),
        }
    }

    #[test]
    fn a_line_is_shown_with_a_caret_and_what_to_do() {
        let strip = Strip(b"07:42:30 pressure 8,124 Pa, temperature 45.1 C".to_vec());
        let diagnostic = Diagnostic::at(
            Code::NumberAmbiguous,
            span(12, 18, 23),
            "a comma that can mean two things",
        )
        .caption("8124 or 8.124?");
        insta::assert_snapshot!(draw_diagnostic(&diagnostic, &strip, &terminal(80)));
    }

    #[test]
    fn what_stands_in_the_line_is_inert_and_the_caret_is_below_it() {
        let strip = Strip(b"unit: \x1b[31mPL-1\x1b[0m".to_vec());
        let diagnostic = Diagnostic::at(
            Code::ValueInvalid,
            span(3, 6, 19),
            "a name with control characters",
        )
        .label(span(3, 0, 4), "of this field");
        let drawn = draw_diagnostic(&diagnostic, &strip, &terminal(80));
        assert!(!drawn.contains('\u{1b}'));
        insta::assert_snapshot!(drawn);
    }

    #[test]
    fn a_withheld_line_is_not_repeated() {
        let strip = Strip(b"patient: somebody".to_vec());
        let diagnostic =
            Diagnostic::at(Code::PatientData, span(3, 0, 5), "looks like patient data");
        assert!(!draw_diagnostic(&diagnostic, &strip, &terminal(80)).contains("somebody"));
    }

    #[test]
    fn a_file_without_a_line_and_no_file_at_all_are_drawn() {
        let strip = Strip(Vec::new());
        let of_file = Diagnostic::of_file(Code::FileEmpty, FileId(0), "the file is empty");
        let general = Diagnostic::general(Code::FileUnreadable, "no/such/path can't be opened");
        let drawn = [of_file, general].map(|d| draw_diagnostic(&d, &strip, &terminal(80)));
        insta::assert_snapshot!(drawn.join("\n"));
    }

    proptest! {
        #[test]
        fn any_bytes_and_any_span_are_drawn_and_stay_inert(
            bytes in proptest::collection::vec(any::<u8>(), 0..300),
            start in 0_u32..400, end in 0_u32..400, label in 0_u32..400, width in 60_usize..200,
        ) {
            let diagnostic = Diagnostic::at(Code::LineUnknown, span(7, start, end), "unknown")
                .caption("here")
                .label(span(7, label, start), "there");
            let drawn = draw_diagnostic(&diagnostic, &Strip(bytes), &terminal(width));
            prop_assert!(drawn.lines().all(|line| !line.chars().any(inert::is_active)), "{drawn}");
            let widest = drawn.lines().map(width_of).max().unwrap_or(0);
            prop_assert!(widest <= width, "{widest}: {drawn}");
        }
    }
}
