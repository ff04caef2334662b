//! Tables for a terminal: a heading, a rule of dashes, rows; two spaces between columns and no other lines.
//!
//! Where the table is wider than the terminal, columns of words go on in the next line and paths lose their middle; if
//! that is not enough, the columns of the lowest standing are left out and named below the table.

use super::prose::{path_parts, shorten_middle, width_of, wrap, wrap_path};
use super::{Color, Terminal};
use crate::report::inert;
use crate::report::table::{Align, Cell, Column, Fit, Table};
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::style::{HorizontalLine, Style};
use tabled::settings::{Alignment, Padding};

/// Columns between two columns of a table.
const GAP: usize = 2;
/// Widths are chosen by so many rows; further ones follow suit.
const SAMPLED: usize = 60;
/// No path is made shorter than this.
const MIN_MIDDLE: usize = 16;
/// No column of paths that go on in the next line is made narrower than this.
const MIN_PATH: usize = 14;
/// A part of a path that is longer than this is broken within.
const MAX_PATH: usize = 24;

/// Draws a table, indented by `indent` columns. Each line ends with a line end, and none has spaces at its end.
pub fn draw_table(table: &Table, indent: usize, terminal: &Terminal) -> String {
    let room = terminal.width.saturating_sub(indent);
    let texts: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| {
            (0..table.columns.len())
                .map(|n| cell_text(row.get(n), terminal))
                .collect()
        })
        .collect();
    let (shown, widths) = choose_widths(&table.columns, &texts, room);
    let mut builder = Builder::default();
    builder.push_record(shown.iter().zip(&widths).map(|(&n, &width)| {
        table
            .columns
            .get(n)
            .map_or_else(String::new, |column| wrap(column.head, width).join("\n"))
    }));
    for row in &texts {
        builder.push_record(shown.iter().zip(&widths).map(|(&n, &width)| {
            let text = row.get(n).map_or("", String::as_str);
            match table.columns.get(n).map(|column| column.fit) {
                Some(Fit::Words) => wrap(text, width).join("\n"),
                Some(Fit::Path) => wrap_path(text, width).join("\n"),
                _ => shorten_middle(text, width),
            }
        }));
    }
    let mut drawn = builder.build();
    drawn.with(Style::empty().horizontals([(1, HorizontalLine::new('-'))]));
    drawn.with(Padding::new(0, GAP, 0, 0));
    let last = shown.len().checked_sub(1);
    for (at, &n) in shown.iter().enumerate() {
        let right = table
            .columns
            .get(n)
            .is_some_and(|column| column.align == Align::Right);
        if right {
            drawn.modify(Columns::one(at), Alignment::right());
        }
        if Some(at) == last {
            drawn.modify(Columns::one(at), Padding::new(0, 0, 0, 0));
        }
    }
    let margin = " ".repeat(indent);
    let mut out = String::new();
    let mut in_heading = true;
    for line in drawn.to_string().lines() {
        let line = line.trim_end();
        in_heading = in_heading && !line.starts_with("--");
        match terminal.color {
            Color::Ansi if in_heading => {
                out.push_str(&margin);
                out.push_str(&terminal.heading(line));
            }
            _ => out.push_str(format!("{margin}{line}").trim_end()),
        }
        out.push('\n');
    }
    if shown.len() < table.columns.len() {
        let left: Vec<&str> = table
            .columns
            .iter()
            .enumerate()
            .filter(|(n, _)| !shown.contains(n))
            .map(|(_, column)| column.head)
            .collect();
        let words = format!("(no room for: {})", left.join(", "));
        out.push_str(&super::prose::paragraph(&margin, &words, terminal.width));
    }
    out
}

fn cell_text(cell: Option<&Cell>, terminal: &Terminal) -> String {
    match cell {
        None | Some(Cell::Blank) => String::new(),
        Some(Cell::Text(text)) => inert::text(text).into_owned(),
        Some(Cell::Count(n)) => n.to_string(),
        Some(Cell::Place(place)) => inert::text(&terminal.place(place)).into_owned(),
    }
}

/// Which columns are shown, by index, and how wide each is.
///
/// Each column that gives way begins at its least width, and the room that is left goes where it saves most: lines of
/// wrapped words, and paths that need not be shortened.
fn choose_widths(
    columns: &[Column],
    texts: &[Vec<String>],
    room: usize,
) -> (Vec<usize>, Vec<usize>) {
    let column_texts = |n: usize| {
        texts
            .iter()
            .filter_map(move |row| row.get(n))
            .map(String::as_str)
    };
    let mut spans: Vec<Span> = Vec::new();
    for (n, column) in columns.iter().enumerate() {
        let cells = column_texts(n).map(width_of).max().unwrap_or(0);
        let natural = cells.max(width_of(column.head));
        let longest_of_head = column.head.split(' ').map(width_of).max().unwrap_or(0);
        let longest_word = column_texts(n)
            .flat_map(|text| text.split(' '))
            .map(width_of)
            .chain([longest_of_head])
            .max()
            .unwrap_or(0);
        let least = match column.fit {
            Fit::Whole => cells.max(longest_of_head),
            Fit::Words => natural.min(column.least.max(longest_word)),
            Fit::Path => {
                let parts = column_texts(n).flat_map(path_parts).map(width_of);
                let longest = parts.max().unwrap_or(0).clamp(MIN_PATH, MAX_PATH);
                natural.min(longest.max(longest_of_head))
            }
            Fit::Middle => natural.min(MIN_MIDDLE),
        };
        spans.push(Span {
            n,
            least,
            natural,
            fit: column.fit,
        });
    }
    let mut shown = spans;
    let needed = |shown: &[Span]| {
        let gaps = shown.len().saturating_sub(1).saturating_mul(GAP);
        let least = shown.iter().map(|span| span.least).sum::<usize>();
        least.saturating_add(gaps)
    };
    while needed(&shown) > room {
        let last = shown
            .iter()
            .enumerate()
            .filter_map(|(at, span)| columns.get(span.n).map(|column| (column.priority, at)))
            .filter(|(priority, _)| *priority > 0)
            .max();
        match last {
            Some((_, at)) => {
                shown.remove(at);
            }
            None => break,
        }
    }
    let indices = shown.iter().map(|span| span.n).collect();
    match room.checked_sub(needed(&shown)) {
        Some(left) => (indices, spread(&shown, columns, texts, left)),
        None => {
            let over = needed(&shown).saturating_sub(room);
            (indices, squeeze(&shown, over))
        }
    }
}

/// A column and what widths it can have.
struct Span {
    n: usize,
    least: usize,
    natural: usize,
    fit: Fit,
}

/// The widths where not even the least have room: the widest column gives a column of its own, again and again.
fn squeeze(shown: &[Span], over: usize) -> Vec<usize> {
    let mut widths: Vec<usize> = shown.iter().map(|span| span.least).collect();
    for _ in 0..over {
        let widest = widths
            .iter_mut()
            .filter(|width| **width > 1)
            .max_by_key(|width| **width);
        if let Some(width) = widest {
            *width = width.saturating_sub(1);
        }
    }
    widths
}

/// The least widths, and `left` columns spread where they save most.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "lines and columns of a sample of rows, whose products are far below 2^64; what is given is part of what is left"
)]
fn spread(
    shown: &[Span],
    columns: &[Column],
    texts: &[Vec<String>],
    mut left: usize,
) -> Vec<usize> {
    let mut widths: Vec<usize> = shown.iter().map(|span| span.least).collect();
    let head = |span: &Span| columns.get(span.n).map_or("", |column| column.head);
    let mut sample: Vec<Vec<&str>> = vec![shown.iter().map(head).collect()];
    sample.extend(texts.iter().take(SAMPLED).map(|row| {
        shown
            .iter()
            .map(|span| row.get(span.n).map_or("", String::as_str))
            .collect::<Vec<&str>>()
    }));
    // For each row, the first being the heading, how many lines the column's text takes at a width.
    let lines_at = |at: usize, width: usize| -> Vec<usize> {
        let fit = shown.get(at).map_or(Fit::Whole, |span| span.fit);
        let lines = |(row, texts): (usize, &Vec<&str>)| match (texts.get(at), fit) {
            (Some(text), _) if row == 0 => wrap(text, width).len(),
            (Some(text), Fit::Words) => wrap(text, width).len(),
            (Some(text), Fit::Path) => wrap_path(text, width).len(),
            _ => 1,
        };
        sample.iter().enumerate().map(lines).collect()
    };
    let mut heights: Vec<Vec<usize>> = widths
        .iter()
        .enumerate()
        .map(|(at, width)| lines_at(at, *width))
        .collect();
    loop {
        let mut best: Option<(usize, usize, usize, Vec<usize>)> = None;
        for (at, span) in shown.iter().enumerate() {
            let width = widths.get(at).copied().unwrap_or(0);
            for more in 1..=left.min(span.natural.saturating_sub(width)) {
                let lines = lines_at(at, width + more);
                let mut saved = 0;
                for (row, fewer) in lines.iter().enumerate() {
                    let column = |n: usize| {
                        heights
                            .get(n)
                            .and_then(|column| column.get(row))
                            .copied()
                            .unwrap_or(1)
                    };
                    let others = (0..shown.len())
                        .filter(|n| *n != at)
                        .map(column)
                        .max()
                        .unwrap_or(1);
                    // A line of the row counts most; a line of this column alone is on the way to it.
                    saved += 4 * column(at).max(others).saturating_sub(others.max(*fewer));
                    saved += column(at).saturating_sub(*fewer);
                }
                if span.fit == Fit::Middle {
                    let fits = |row: &&Vec<&str>| {
                        row.get(at).is_some_and(|text| {
                            (width + 1..=width + more).contains(&width_of(text))
                        })
                    };
                    saved += 2 * sample.iter().filter(fits).count();
                }
                let is_better = best
                    .as_ref()
                    .is_none_or(|(_, most, at_cost, _)| saved * at_cost > most * more);
                if saved > 0 && is_better {
                    best = Some((at, saved, more, lines));
                }
            }
        }
        let Some((at, _, more, lines)) = best else {
            break;
        };
        if let (Some(width), Some(column)) = (widths.get_mut(at), heights.get_mut(at)) {
            *width += more;
            *column = lines;
            left -= more;
        }
    }
    // What saves no line still reads better: the rest goes to the columns that are narrower than their text.
    while left > 0 {
        let narrowest = widths
            .iter_mut()
            .zip(shown)
            .filter(|(width, span)| **width < span.natural)
            .min_by_key(|(width, _)| **width);
        let Some((width, _)) = narrowest else { break };
        *width += 1;
        left -= 1;
    }
    widths
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place::Place;
    use crate::report::terminal::Extent;

    fn terminal(width: usize) -> Terminal {
        Terminal {
            width,
            color: Color::Plain,
            extent: Extent::Short,
            folder: String::new(),
        }
    }

    fn loads() -> Table {
        let mut table = Table::new([
            Column::name("Load"),
            Column::number("Items"),
            Column::words("What was seen"),
            Column::name("Operator").priority(2),
            Column::place("Where").priority(1),
        ]);
        let place = Place {
            file: "samples/fennmarsh/logs/2026-03-week-11.log".into(),
            line: 1423,
        };
        table.push([
            "P1-0312-01".into(),
            14_usize.into(),
            "the biological indicator grew, and the load was released by MK".into(),
            "HB".into(),
            Cell::from(&place),
        ]);
        table.push([
            "P1-\u{1b}[2J".into(),
            3_usize.into(),
            "CI not reached".into(),
            "MK".into(),
            Cell::from(&place),
        ]);
        table
    }

    #[test]
    fn no_line_is_wider_than_the_terminal_and_none_ends_in_spaces() {
        for width in [20, 40, 60, 80, 120] {
            for indent in [0, 4] {
                for line in draw_table(&loads(), indent, &terminal(width)).lines() {
                    assert!(width_of(line) <= width, "{width}: {line:?}");
                    assert_eq!(line, line.trim_end());
                }
            }
        }
    }

    #[test]
    fn an_escape_sequence_in_a_cell_is_inert() {
        assert!(!draw_table(&loads(), 0, &terminal(80)).contains('\u{1b}'));
    }

    #[test]
    fn a_table_at_three_widths() {
        let drawn: Vec<String> = [60, 80, 120]
            .map(|width| draw_table(&loads(), 0, &terminal(width)))
            .into();
        insta::assert_snapshot!(drawn.join("\n"));
    }
}
