//! Sentences in a given width: broken between words, and shortened in the middle where they can't be broken.
//!
//! Widths are those of the terminal's columns, not of bytes or characters.

use super::Terminal;
use crate::measure::count::Counting;
use crate::report::inert;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// What stands for the part that was left out of a text.
const LEFT_OUT: &str = "...";

/// The number of columns that a text takes.
pub fn width_of(text: &str) -> usize {
    if is_plain(text) {
        text.len()
    } else {
        text.width()
    }
}

/// Whether each byte takes one column.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|byte| (b' '..=b'~').contains(&byte))
}

/// Breaks a text between words so that no line is wider than `width`. A word that is wider than a line is broken
/// within, since nothing else is left.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut line_width = 0_usize;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let word_width = width_of(word);
        let behind = line_width.saturating_add(1).saturating_add(word_width);
        if line_width > 0 && behind <= width {
            line.push(' ');
            line.push_str(word);
            line_width = behind;
            continue;
        }
        if line_width > 0 {
            lines.push(std::mem::take(&mut line));
            line_width = 0;
        }
        for c in word.chars() {
            let char_width = c.width().unwrap_or(0);
            if line_width.saturating_add(char_width) > width && line_width > 0 {
                lines.push(std::mem::take(&mut line));
                line_width = 0;
            }
            line.push(c);
            line_width.add_many(char_width);
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Breaks a path between its folders so that no line is wider than `width`; a name that is wider than that is broken
/// after `-`, `_`, `:` and spaces, and at the last anywhere.
pub fn wrap_path(path: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = vec![String::new()];
    let fits_behind = |lines: &[String], part: &str| {
        lines
            .last()
            .map_or(0, |line| width_of(line))
            .saturating_add(width_of(part))
            <= width
    };
    let mut push = |part: &str| {
        if !fits_behind(&lines, part) && lines.last().is_some_and(|line| !line.is_empty()) {
            lines.push(String::new());
        }
        if is_plain(part)
            && fits_behind(&lines, part)
            && let Some(line) = lines.last_mut()
        {
            line.push_str(part);
            return;
        }
        for c in part.chars() {
            if !fits_behind(&lines, c.encode_utf8(&mut [0; 4])) {
                lines.push(String::new());
            }
            if let Some(line) = lines.last_mut() {
                line.push(c);
            }
        }
    };
    for name in path.split_inclusive(['/', '\\']) {
        if width_of(name) <= width {
            push(name);
        } else {
            path_parts(name).for_each(&mut push);
        }
    }
    lines
}

/// The parts of a path that are kept whole where there is room, each with the separator that ends it.
pub fn path_parts(path: &str) -> impl Iterator<Item = &str> {
    path.split_inclusive(['/', '\\', '-', '_', ':', ' '])
}

/// A paragraph made inert: the first line after `lead`, the others below its text.
pub fn paragraph(lead: &str, text: &str, width: usize) -> String {
    let text = inert::text(text);
    let indent = " ".repeat(width_of(lead));
    let mut out = String::new();
    for (n, line) in wrap(&text, width.saturating_sub(width_of(lead)))
        .iter()
        .enumerate()
    {
        let start = if n == 0 { lead } else { &indent };
        out.push_str(format!("{start}{line}").trim_end());
        out.push('\n');
    }
    out
}

/// A number of things: `1 load`, `2 loads`.
pub fn count(n: usize, one: &str, several: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { several })
}

/// That so many rows of a list are not drawn; nothing if all are.
pub fn draw_rest(n_left: usize, terminal: &Terminal) -> String {
    match n_left {
        0 => String::new(),
        n => paragraph(
            "",
            &format!("... and {n} more; --all lists every one."),
            terminal.width,
        ),
    }
}

/// The text in at most `width` columns: shortened in the middle, so that beginning and end remain.
///
/// Of a path the last part stays whole where it has room, for the file's name and the line say most.
pub fn shorten_middle(text: &str, width: usize) -> String {
    if width_of(text) <= width {
        return text.to_owned();
    }
    let room = width.saturating_sub(LEFT_OUT.len());
    if let Some(slash) = text.rfind(['/', '\\']) {
        let (folder, name) = text.split_at(slash);
        let left = room.checked_sub(width_of(name));
        if let Some(left) = left {
            // One or two letters of a folder's name tell nothing.
            let start = if left < 3 {
                String::new()
            } else {
                take_width(folder.chars(), left)
            };
            return format!("{start}{LEFT_OUT}{name}");
        }
        let end: Vec<char> = take_width(name.chars().rev(), room).chars().collect();
        return format!("{LEFT_OUT}{}", end.iter().rev().collect::<String>());
    }
    let n_end = room.saturating_sub(room / 3);
    let end = take_width(text.chars().rev(), n_end);
    let start = take_width(text.chars(), room.saturating_sub(n_end));
    let end: String = end.chars().rev().collect();
    format!("{start}{LEFT_OUT}{end}")
}

fn take_width(chars: impl Iterator<Item = char>, width: usize) -> String {
    let mut taken = 0;
    chars
        .take_while(|c| {
            taken.add_many(c.width().unwrap_or(0));
            taken <= width
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_none_is_too_wide() {
        assert_eq!(
            wrap("the load was not run again", 10),
            ["the load", "was not", "run again"]
        );
        assert_eq!(wrap("", 10), [""]);
        assert_eq!(wrap("0123456789ABC de", 10), ["0123456789", "ABC de"]);
    }

    #[test]
    fn a_wide_character_counts_as_two_columns() {
        // East Asian Wide in Unicode Standard Annex #11: two columns each.
        assert_eq!(width_of("蒸気"), 4);
        assert_eq!(wrap("蒸気", 3), ["蒸", "気"]);
    }

    #[test]
    fn a_long_path_keeps_its_beginning_and_its_end() {
        let path = "samples/fennmarsh/printouts/2026-03/PL-1.txt:1423";
        assert_eq!(shorten_middle(path, 30), "samples/fennm.../PL-1.txt:1423");
        assert_eq!(shorten_middle(path, 18), ".../PL-1.txt:1423");
        assert_eq!(shorten_middle(path, 10), "...xt:1423");
        assert_eq!(
            shorten_middle("no-folder-at-all.txt:12", 14),
            "no-...l.txt:12"
        );
        assert_eq!(shorten_middle(path, 60), path);
    }

    #[test]
    fn a_path_goes_on_in_the_next_line_after_a_separator() {
        let path = "logs/fennmarsh-general-2026-03.txt:1906";
        assert_eq!(
            wrap_path(path, 20),
            ["logs/fennmarsh-", "general-2026-03.txt:", "1906"]
        );
        assert_eq!(
            wrap_path("printouts/ST-1/2026-04.txt:569", 22),
            ["printouts/ST-1/", "2026-04.txt:569"]
        );
        assert_eq!(wrap_path(path, 40), [path]);
        assert_eq!(wrap_path(path, 8).concat(), path);
    }

    #[test]
    fn a_paragraph_hangs_below_its_lead() {
        assert_eq!(
            paragraph("1. ", "find the strip \u{1b}", 14),
            "1. find the\n   strip <ESC>\n"
        );
    }
}
