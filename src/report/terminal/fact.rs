//! A fact in one line, or in two where its place has no room beside it. Read [`draw_fact`] first.

use super::Terminal;
use super::prose::{shorten_middle, width_of, wrap};
use crate::measure::count::Counting;
use crate::report::fact::Fact;
use crate::report::inert;
use crate::report::moment::to_minute;
use unicode_width::UnicodeWidthChar;

/// The most columns that a unit's and a load's name take each, of which real ones need few.
const NAME: usize = 14;
/// What begins the second line.
const INDENT: &str = "    ";
/// What stands for the rest of a text.
const LEFT_OUT: &str = "...";
/// Fewer columns than this hold no word.
const SCRAP: usize = 8;

/// The time on the record, unit, load, what, and file and line; in two lines at most, none wider than the terminal.
pub fn draw_fact(fact: &Fact, terminal: &Terminal) -> String {
    let name = |text: &str| shorten_middle(&inert::text(text), NAME);
    let mut words = match fact.at {
        Some(at) => to_minute(at),
        None => "no time on it   ".to_owned(),
    };
    words.push_str("  ");
    words.push_str(
        &fact
            .unit
            .as_deref()
            .map_or_else(|| "unit ?".to_owned(), name),
    );
    // A test has no load; its cycle tells which it is.
    match (&fact.load, &fact.cycle) {
        (Some(load), _) => words.push_str(&format!("  {}", name(load))),
        (None, Some(cycle)) => words.push_str(&format!("  {}", name(cycle))),
        (None, None) => words.push_str("  load ?"),
    }
    words.push_str(&format!("  {}:", fact.what.to_uppercase()));
    let head = shorten_end(&words, terminal.width);
    let seen = inert::text(&fact.seen);
    let place = fact.place.as_ref().map_or_else(
        || "nowhere in the records".to_owned(),
        |place| terminal.place(place),
    );
    let place = inert::text(&place).into_owned();
    let left = terminal
        .width
        .saturating_sub(width_of(&head))
        .saturating_sub(1);
    let both = width_of(&seen).saturating_add(width_of(&place));
    if both.saturating_add(2) <= left {
        return format!("{head} {seen}  {place}\n");
    }
    let room = terminal.width.saturating_sub(width_of(INDENT));
    let place = shorten_middle(&place, room);
    let (first, rest) = match left < SCRAP {
        true => (String::new(), seen.into_owned()),
        false => {
            let lines = wrap(&seen, left);
            let mut lines = lines.into_iter();
            let first = lines.next().unwrap_or_default();
            (first, lines.collect::<Vec<_>>().join(" "))
        }
    };
    let first = format!("{head} {first}");
    let room_beside = room.saturating_sub(width_of(&place)).saturating_sub(2);
    let rest = shorten_end(&rest, room_beside);
    if rest.is_empty() || rest == LEFT_OUT {
        return format!("{}\n{INDENT}{place}\n", first.trim_end());
    }
    format!("{}\n{INDENT}{rest}  {place}\n", first.trim_end())
}

/// The beginning of a text, for the most telling comes first.
fn shorten_end(text: &str, width: usize) -> String {
    if width_of(text) <= width {
        return text.to_owned();
    }
    let kept = cut_at(text, width.saturating_sub(width_of(LEFT_OUT)));
    format!("{}{LEFT_OUT}", kept.trim_end())
}

/// The characters that have room in so many columns.
fn cut_at(text: &str, width: usize) -> String {
    let mut n_taken = 0;
    let fits = |c: &char| {
        n_taken.add_many(c.width().unwrap_or(0));
        n_taken <= width
    };
    text.chars().take_while(fits).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place::Place;
    use crate::report::terminal::{Color, Extent};

    fn drawn(seen: &str, file: &str, load: &str) -> String {
        let fact = Fact {
            key: String::new(),
            at: "2026-03-12T08:22:05".parse().ok(),
            unit: Some("PL-1".to_owned()),
            load: Some(load.to_owned()),
            cycle: None,
            what: "Cycle aborted",
            seen: seen.to_owned(),
            place: Some(Place {
                file: file.to_owned(),
                line: 12,
            }),
            caution: None,
        };
        let terminal = Terminal {
            width: 80,
            color: Color::Plain,
            extent: Extent::All,
            folder: String::new(),
        };
        draw_fact(&fact, &terminal)
    }

    #[test]
    fn a_fact_takes_one_line_where_it_fits_and_two_where_not() {
        assert_eq!(
            drawn("aborted", "PL-1.txt", "P1-07"),
            "2026-03-12 08:22  PL-1  P1-07  CYCLE ABORTED: aborted  PL-1.txt:12\n"
        );
        assert_eq!(
            drawn(
                "aborted in inject: pressure-high",
                "strips/PL-1.txt",
                "P1-07"
            ),
            "2026-03-12 08:22  PL-1  P1-07  CYCLE ABORTED: aborted in inject: pressure-high\n    strips/PL-1.txt:12\n"
        );
    }

    #[test]
    fn hostile_text_neither_steers_the_terminal_nor_runs_over() {
        let long = "x".repeat(500);
        for hostile in [
            "\u{1b}[2J\u{7}\r\n\u{202e}",
            &long,
            "蒸気\u{301}\u{301}\u{301}\u{301}\u{301}",
        ] {
            let drawn = drawn(hostile, hostile, hostile);
            assert!(
                !drawn.chars().any(|c| c != '\n' && inert::is_active(c)),
                "{drawn:?}"
            );
            assert!(drawn.lines().count() <= 2, "{drawn}");
            assert!(drawn.lines().all(|line| width_of(line) <= 80), "{drawn}");
        }
    }
}
