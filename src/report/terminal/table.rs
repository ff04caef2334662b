//! Tables for a terminal: a heading, a rule of dashes, rows; two spaces between columns and no other lines.
//!
//! Where the table is wider than the terminal, columns of words go on in the next line and paths lose their middle; if
//! that is not enough, the columns of the lowest standing are left out and named below the table.

use super::prose::{shorten_middle, width_of, wrap};
use super::{Color, Terminal};
use crate::report::inert;
use crate::report::table::{Align, Cell, Column, Fit, Table};
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::style::{HorizontalLine, Style};
use tabled::settings::{Alignment, Padding};

/// Columns between two columns of a table.
const GAP: usize = 2;
/// No column of words is made narrower than this, unless it is narrower by itself.
const MIN_WORDS: usize = 16;
/// No path is made shorter than this.
const MIN_MIDDLE: usize = 18;

/// Draws a table, indented by `indent` columns. Each line ends with a line end, and none has spaces at its end.
pub fn draw_table(table: &Table, indent: usize, terminal: &Terminal) -> String {
    let room = terminal.width.saturating_sub(indent);
    let texts: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| {
            (0..table.columns.len())
                .map(|n| cell_text(row.get(n)))
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
                _ => shorten_middle(text, width),
            }
        }));
    }
    let mut drawn = builder.build();
    drawn.with(Style::empty().horizontals([(1, HorizontalLine::new('-'))]));
    drawn.with(Padding::new(0, GAP, 0, 0));
    for (at, &n) in shown.iter().enumerate() {
        let right = table
            .columns
            .get(n)
            .is_some_and(|column| column.align == Align::Right);
        if right {
            drawn.modify(Columns::one(at), Alignment::right());
        }
        if at + 1 == shown.len() {
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
        let words = format!("(no room at this width for: {})", left.join(", "));
        out.push_str(&super::prose::paragraph(&margin, &words, terminal.width));
    }
    out
}

fn cell_text(cell: Option<&Cell>) -> String {
    match cell {
        None | Some(Cell::Blank) => String::new(),
        Some(Cell::Text(text)) => inert::text(text).into_owned(),
        Some(Cell::Count(n)) => n.to_string(),
        Some(Cell::Place(place)) => inert::text(&place.to_string()).into_owned(),
    }
}

/// Which columns are shown, by index, and how wide each is.
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
    let natural: Vec<usize> = columns
        .iter()
        .enumerate()
        .map(|(n, column)| {
            column_texts(n)
                .map(width_of)
                .chain([width_of(column.head)])
                .max()
                .unwrap_or(0)
        })
        .collect();
    let least: Vec<usize> = columns
        .iter()
        .enumerate()
        .map(|(n, column)| {
            let natural = natural.get(n).copied().unwrap_or(0);
            let longest_word = column_texts(n)
                .chain([column.head])
                .flat_map(|text| text.split(' '))
                .map(width_of)
                .max()
                .unwrap_or(0);
            match column.fit {
                Fit::Whole => natural,
                Fit::Words => natural.min(MIN_WORDS.max(longest_word)),
                Fit::Middle => natural.min(MIN_MIDDLE),
            }
        })
        .collect();
    let sum = |shown: &[usize], widths: &[usize]| {
        shown.iter().filter_map(|&n| widths.get(n)).sum::<usize>()
            + GAP * shown.len().saturating_sub(1)
    };
    let mut shown: Vec<usize> = (0..columns.len()).collect();
    while sum(&shown, &least) > room {
        let last = shown
            .iter()
            .enumerate()
            .filter_map(|(at, &n)| columns.get(n).map(|column| (column.priority, at)))
            .filter(|(priority, _)| *priority > 0)
            .max();
        match last {
            Some((_, at)) => {
                shown.remove(at);
            }
            None => break,
        }
    }
    let mut widths: Vec<usize> = shown
        .iter()
        .filter_map(|&n| natural.get(n).copied())
        .collect();
    let floor: Vec<usize> = shown
        .iter()
        .filter_map(|&n| least.get(n).copied())
        .collect();
    let mut over =
        (widths.iter().sum::<usize>() + GAP * shown.len().saturating_sub(1)).saturating_sub(room);
    // The widest column that can still give way gives a column of its own; at the last, every column may.
    for floor in [floor, vec![1; widths.len()]] {
        while over > 0 {
            let widest = widths
                .iter_mut()
                .zip(&floor)
                .filter(|(width, least)| **width > **least)
                .max_by_key(|(width, _)| **width);
            match widest {
                Some((width, _)) => {
                    *width -= 1;
                    over -= 1;
                }
                None => break,
            }
        }
    }
    (shown, widths)
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
