//! What a draft makes of single lines and of small strips, worked out by hand from the words of the functions: a form is
//! what a person reads off the figures, and each length is counted in bytes.

use super::*;

fn token(kind: Kind, text: &str, n_spaces: usize) -> Token {
    Token {
        kind,
        text: text.to_owned(),
        n_spaces,
    }
}

fn lines(text: &str) -> Vec<Cut> {
    let lines = text.lines().map(|line| Cut {
        text: line.trim().to_owned(),
        tokens: cut(line.trim()),
    });
    lines.filter(|line| !line.text.is_empty()).collect()
}

fn line(text: &str) -> Cut {
    lines(text).remove(0)
}

fn draft(text: &str) -> Draft {
    draft_layout(&[Strip {
        name: "strip.txt".to_owned(),
        bytes: text.as_bytes().to_vec(),
    }])
}

/// The lines of a draft between a line and the next table or the end, without what is said behind `#`.
fn part<'t>(toml: &'t str, from: &str) -> Vec<&'t str> {
    let of_part = toml.lines().skip_while(|line| !line.starts_with(from));
    let mut of_part = of_part.map(|line| line.split(" #").next().unwrap_or(line).trim());
    let first = of_part.next();
    let rest = of_part.take_while(|line| !line.starts_with('['));
    assert!(first.is_some(), "no {from} in\n{toml}");
    rest.collect()
}

#[test]
fn dates_are_told_by_their_figures() {
    for (text, form) in [
        ("2026-03-12", Some(("YYYY-MM-DD", 10))),
        ("2026/03/12 07:00", Some(("YYYY/MM/DD", 10))),
        ("2026.03.12", Some(("YYYY.MM.DD", 10))),
        ("2026-03/12", None),
        ("2026-3-12", None),
        ("2026-03-1", None),
        ("2026:03:12", None),
        ("12.03.2026", Some(("?.?.YYYY", 10))),
        ("1-2-2026", Some(("?-?-YYYY", 8))),
        ("12/3/26", Some(("?/?/YY", 7))),
        ("31/12/26", Some(("?/?/YY", 8))),
        ("12/31/2026", Some(("?/?/YYYY", 10))),
        // With points and two figures it is a time.
        ("12.03.26", None),
        // No day has these figures, or no month.
        ("13/14/2026", None),
        ("32/01/2026", None),
        ("0/1/2026", None),
        ("123/1/2026", None),
        ("12/03/206", None),
        ("12/03-2026", None),
        ("12/123/2026", None),
        ("12 Mar 2026", Some(("D MMM YYYY", 11))),
        // `ä` has two bytes.
        ("12. März 2026", Some(("D. MMM YYYY", 14))),
        ("5 Mar. 2026 x", Some(("D MMM YYYY", 11))),
        ("5 Mar-2026", Some(("D MMM YYYY", 10))),
        ("5Mar 2026", None),
        ("5 Mar 26", None),
        ("5 Xyz 2026", None),
        ("Mar 12, 2026", Some(("MMM D, YYYY", 12))),
        ("Mar 5 2026", Some(("MMM D YYYY", 10))),
        ("Mar 123, 2026", None),
        ("Mar12, 2026", None),
        ("Mar 12, 20266", None),
        ("Ma 12, 2026", None),
        ("March", None),
        ("", None),
        ("12", None),
    ] {
        let expected = form.map(|(form, n)| (form.to_owned(), n));
        assert_eq!(date_form(text), expected, "{text:?}");
    }
}

#[test]
fn times_are_told_by_their_figures() {
    for (text, form) in [
        ("7:05", Some(("H:MM", 4))),
        ("07:05:09", Some(("HH:MM:SS", 8))),
        ("07:05:09 x", Some(("HH:MM:SS", 8))),
        ("123:05", Some(("H:MM", 6))),
        ("07h15", Some(("HHhMM", 5))),
        ("07.15.02", Some(("HH.MM.SS", 8))),
        ("07:05 AM", Some(("HH:MM AM", 8))),
        ("7:05:09pm", Some(("H:MM:SSAM", 9))),
        ("07:05 AMx", Some(("HH:MM", 5))),
        ("07:05:1", Some(("HH:MM", 5))),
        ("07:05.10", Some(("HH:MM", 5))),
        ("07.15", None),
        ("1234:05", None),
        ("07:5", None),
        ("07:055", None),
        ("07:05x", None),
        ("07:05AMx", None),
        ("07-05", None),
        (":05", None),
        ("07", None),
        ("", None),
    ] {
        let expected = form.map(|(form, n)| (form.to_owned(), n));
        assert_eq!(time_form(text), expected, "{text:?}");
    }
}

#[test]
fn figures_are_dates_times_or_numbers_that_stand_alone() {
    for (text, found) in [
        ("2026-03-12", Some((Kind::Date, 10))),
        ("07:05", Some((Kind::Time, 5))),
        ("12", Some((Kind::Number, 2))),
        ("-5.2 x", Some((Kind::Number, 4))),
        ("+3", Some((Kind::Number, 2))),
        ("12%", Some((Kind::Number, 2))),
        // A point or comma behind the number is none of it.
        ("1,5.", Some((Kind::Number, 3))),
        ("12.50,x", Some((Kind::Number, 5))),
        ("134C", None),
        ("4O", None),
        ("12-", None),
        ("12_", None),
        ("12/", None),
        ("-.5", None),
        ("--5", None),
        (".", None),
        ("-", None),
        ("S4", None),
        ("", None),
    ] {
        assert_eq!(figures(text), found, "{text:?}");
    }
}

#[test]
fn line_is_cut_into_its_parts() {
    use Kind::{Date, Mark, Number, Time, Word};
    for (text, expected) in [
        (
            "07:15:02  P=12.5 kPa",
            vec![
                token(Time, "07:15:02", 0),
                token(Word, "P", 2),
                token(Mark, "=", 0),
                token(Number, "12.5", 0),
                token(Word, "kPa", 1),
            ],
        ),
        // A name may hold figures; a point behind a word is a mark.
        ("S4-0312-01", vec![token(Word, "S4-0312-01", 0)]),
        ("a12.5", vec![token(Word, "a12.5", 0)]),
        ("ok.", vec![token(Word, "ok", 0), token(Mark, ".", 0)]),
        ("x/", vec![token(Word, "x", 0), token(Mark, "/", 0)]),
        (
            "---- 5",
            vec![token(Mark, "----", 0), token(Number, "5", 1)],
        ),
        (
            "(°C %)",
            vec![
                token(Mark, "(", 0),
                token(Word, "°C", 0),
                token(Word, "%", 1),
                token(Mark, ")", 0),
            ],
        ),
        (
            "12.03.2026 07:41",
            vec![token(Date, "12.03.2026", 0), token(Time, "07:41", 1)],
        ),
        // A unit of two words is one part; with two spaces between them it is two.
        (
            "1.2 bar Ü x",
            vec![
                token(Number, "1.2", 0),
                token(Word, "bar Ü", 1),
                token(Word, "x", 1),
            ],
        ),
        ("bar  Ü", vec![token(Word, "bar", 0), token(Word, "Ü", 2)]),
        ("bar 5", vec![token(Word, "bar", 0), token(Number, "5", 1)]),
        ("", vec![]),
    ] {
        assert_eq!(cut(text), expected, "{text:?}");
    }
}

#[test]
fn three_figures_behind_a_comma_may_be_thousands() {
    for (number, is) in [
        ("1,5", true),
        ("1,50", true),
        ("1,5000", true),
        ("1,500", false),
        ("1,", false),
        ("15", false),
    ] {
        assert_eq!(is_decimal(number, ','), is, "{number}");
    }
    // What most numbers have is the mark.
    assert!(habits_of(&lines("x 1,5\nx 2,5\nx 3.5")).decimal_comma);
    assert!(!habits_of(&lines("x 1,5\nx 3.5")).decimal_comma);
    assert!(!habits_of(&lines("x 1,500\nx 2,500")).decimal_comma);
}

#[test]
fn figure_above_twelve_is_the_day() {
    for (form, dates, expected, is_sure) in [
        (
            "?.?.YYYY",
            &["12.03.2026", "13.03.2026"][..],
            "DD.MM.YYYY",
            true,
        ),
        (
            "?/?/YYYY",
            &["03/12/2026", "03/13/2026"],
            "MM/DD/YYYY",
            true,
        ),
        ("?/?/YY", &["03/12/26"], "DD/MM/YY", false),
        ("?/?/YY", &["12/12/26"], "DD/MM/YY", false),
        ("?/?/YY", &["12/13/26"], "MM/DD/YY", true),
        ("?/?/YY", &["13/12/26"], "DD/MM/YY", true),
        // Above twelve on both sides: nothing is told.
        ("?/?/YY", &["13/01/26", "01/13/26"], "DD/MM/YY", false),
        ("YYYY-MM-DD", &["2026-03-12"], "YYYY-MM-DD", true),
    ] {
        let dates: Vec<Token> = dates
            .iter()
            .map(|date| token(Kind::Date, date, 0))
            .collect();
        assert_eq!(
            settle_day_and_month(form, dates.iter()),
            (expected.to_owned(), is_sure),
            "{dates:?}"
        );
    }
}

#[test]
fn language_is_the_first_that_has_all_names_of_months() {
    for (dates, language) in [
        (&["12 March 2026"][..], "english"),
        (&["12. März 2026"], "german"),
        // `mai` is German and French, `août` French alone.
        (&["12 mai 2026", "12 août 2026"], "french"),
        (&["12 mai 2026"], "german"),
        (&["12 enero 2026"], "spanish"),
        (&["12 gennaio 2026"], "italian"),
        (&["12 maart 2026"], "dutch"),
        (&["12 xyz 2026"], "english"),
        // Two letters are no name of a month.
        (&["12 de mayo 2026"], "spanish"),
    ] {
        let dates: Vec<Token> = dates
            .iter()
            .map(|date| token(Kind::Date, date, 0))
            .collect();
        assert_eq!(language_of(dates.iter()), language, "{dates:?}");
    }
}

#[test]
fn times_at_the_front_without_seconds_count_from_the_start() {
    let habits = habits_of(&lines("START 07:41:20\n00:10 5 kPa\n01:30 6 kPa"));
    assert!(habits.body_is_elapsed);
    assert_eq!(habits.time.as_deref(), Some("HH:MM:SS"));
    // Minutes and seconds, as two digits of each were seen.
    assert_eq!(habits.length.as_deref(), Some("MM:SS"));
    // With seconds at the front they are times of day.
    let habits = habits_of(&lines("START 07:41:20\n07:42:00 5 kPa"));
    assert!(!habits.body_is_elapsed);
    assert_eq!(habits.time.as_deref(), Some("HH:MM:SS"));
    assert_eq!(habits.length, None);
    // Without seconds anywhere too.
    let habits = habits_of(&lines("START 07:41\n07:42 5 kPa"));
    assert!(!habits.body_is_elapsed);
    assert_eq!(habits.time.as_deref(), Some("HH:MM"));
    // An hour of one digit is seen once.
    let habits = habits_of(&lines("10:41 5 kPa\n9:42 5 kPa\n11:00 5 kPa"));
    assert_eq!(habits.time.as_deref(), Some("H:MM"));
    assert_eq!(habits_of(&lines("no time")).time, None);
}

#[test]
fn most_frequent_form_is_the_habit_and_of_equals_the_first_in_the_alphabet() {
    let most = |texts: &[&str]| most_frequent(texts.iter().map(|text| (*text).to_owned()));
    assert_eq!(most(&["b", "a", "b"]).as_deref(), Some("b"));
    assert_eq!(most(&["b", "a"]).as_deref(), Some("a"));
    assert_eq!(most(&[]), None);
    let habits = habits_of(&lines("ON 12.03.2026\nON 13.03.2026\nEXP 2026-09-30"));
    assert_eq!(habits.date.as_deref(), Some("DD.MM.YYYY"));
    assert!(habits.date_is_sure);
    assert_eq!(habits.has_month_names, None);
    let habits = habits_of(&lines("ON 12. März 2026"));
    assert_eq!(habits.has_month_names, Some("german"));
}

#[test]
fn line_of_units_names_the_columns() {
    assert_eq!(
        units_of_columns(&lines("P T\nkPa °C\n07:41:10 5 6")),
        ["pressure kPa", "temperature C"]
    );
    // One unit is no table, and a word among them is none.
    assert!(units_of_columns(&lines("kPa\nkPa x")).is_empty());
}

#[test]
fn lines_drawn_across_the_paper_have_one_sign() {
    for (text, is) in [
        ("-----", true),
        ("- - -", true),
        ("=", true),
        ("-=-", false),
        ("aaa", false),
        ("111", false),
    ] {
        assert_eq!(is_rule(&line(text)), is, "{text}");
    }
    assert_eq!(rule_template(&line("-----")), "----*");
    assert_eq!(rule_template(&line("*****")), "{*}{*}{*}{*}*");
}

#[test]
fn first_line_of_a_cycle_is_the_first_that_comes_again() {
    let begin = |text: &str| find_begin(&lines(text));
    assert_eq!(
        begin("====\nUNIT A\nCYCLE 1\nx\n====\nUNIT A\nCYCLE 2\ny").as_deref(),
        Some("UNIT A")
    );
    // None comes again: the first is taken.
    assert_eq!(begin("07:00 a\nfirst\nsecond").as_deref(), Some("first"));
    assert_eq!(begin("----"), None);
    // A heading of four in five cycles may be it, one of three in five is none.
    let cycles = |n_heads: usize| {
        let cycle = |at: usize| {
            let head = if at < n_heads { "HEAD\n" } else { "" };
            format!("{head}CYCLE {at}\n07:00 a\n07:01 b\n")
        };
        (0..5).map(cycle).collect::<String>()
    };
    assert_eq!(begin(&cycles(4)).as_deref(), Some("HEAD"));
    assert_eq!(begin(&cycles(3)).as_deref(), Some("CYCLE <number>"));
    // What stands behind the eighth line is not looked at.
    let late = "07:00 a\n07:01 a\n07:02 a\n07:03 a\n07:04 a\n07:05 a\n07:06 a\n07:07 a\nX\nX\n";
    assert_eq!(begin(late), None);
}

#[test]
fn last_line_of_a_cycle_stands_before_every_next_one() {
    let end = |text: &str| find_end(&lines(text), "CYCLE <number>");
    assert_eq!(
        end("CYCLE 1\na\nEND OK\nCYCLE 2\nb\nEND OK").as_deref(),
        Some("END OK")
    );
    // A line drawn above the beginning belongs to the next cycle: within three lines the end is found.
    assert_eq!(
        end("CYCLE 1\na\nEND OK\nx\n====\nCYCLE 2\nb\nEND OK").as_deref(),
        Some("END OK")
    );
    assert_eq!(
        end("CYCLE 1\na\nEND OK\nx\ny\n====\nCYCLE 2\nb\nc\nEND OK"),
        None
    );
    assert_eq!(end("CYCLE 1\na\nb\nEND OK\nCYCLE 2\nc\nd\nOTHER"), None);
    // Of one cycle alone, its last line.
    assert_eq!(end("head\nCYCLE 1\na\nlast").as_deref(), Some("last"));
}
