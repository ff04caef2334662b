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

/// What one line adds to the findings, a word for each kind of them.
fn sorted(text: &str, next: Option<&str>) -> Vec<String> {
    let mut findings = Findings::default();
    let next = next.map(line);
    sort_line(
        &line(text),
        next.as_ref(),
        &Habits::default(),
        &mut findings,
    );
    told(&findings)
}

fn told(findings: &Findings) -> Vec<String> {
    let mut told = Vec::new();
    for (kind, texts) in [
        ("line", &findings.lines),
        ("ignore", &findings.ignore),
        ("stage", &findings.stages),
        ("alarm", &findings.alarms),
        ("outcome", &findings.outcomes),
        ("purpose", &findings.purposes),
        ("missing", &findings.missing),
        ("unknown", &findings.unknown),
        ("settle", &findings.to_settle),
    ] {
        told.extend(texts.iter().map(|text| format!("{kind} {text}")));
    }
    for (key, labels) in &findings.labels {
        told.push(format!("label {key} = {}", labels.join(", ")));
    }
    let units = findings.units.iter();
    told.extend(units.map(|(unit, printed)| format!("unit {unit} = {printed}")));
    told
}

#[test]
fn readings_are_a_time_with_numbers_and_their_units() {
    let guess = |template: &str| {
        format!("settle the readings print no unit: `{template}` is a guess at quantity and unit")
    };
    for (text, expected) in [
        (
            "07:42:30 12.5 kPa 88.0 C",
            vec!["line {time} {pressure} {temperature}".to_owned()],
        ),
        (
            "07:42:30 12.5 hPa",
            vec!["line {time} {pressure}".into(), "unit mbar = hPa".into()],
        ),
        (
            "07:42:30 12.5 88.0",
            vec![
                "line {time} {pressure kPa} {temperature C}".into(),
                guess("{time} {pressure kPa} {temperature C}"),
            ],
        ),
        (
            "07:42:30 12.5 kPa ----",
            vec![
                "line {time} {pressure} {pressure kPa}".into(),
                "missing ----".into(),
                guess("{time} {pressure} {pressure kPa}"),
            ],
        ),
        (
            "07:42:30 12.5 kPa, 88.0 C;",
            vec!["line {time} {pressure}, {temperature};".into()],
        ),
        (
            "07:42:30 P 12.5 kPa",
            vec!["line {time} P {pressure}".into()],
        ),
        ("07:42 * 5 kPa", vec!["line {time} {*} {pressure}".into()]),
        // Of more numbers than there are guesses none is guessed; nor is a line with a second moment a reading.
        (
            "07:42:30 1 2 3 4 5",
            vec!["unknown <time> <number> <number> <number> <number> <number>".into()],
        ),
        (
            "07:42:30 12.5 kPa 2026-03-12",
            vec!["unknown <time> <number> kPa <date>".into()],
        ),
        (
            "07:42:30 12.5 kPa 07:43",
            vec!["unknown <time> <number> kPa <time>".into()],
        ),
    ] {
        assert_eq!(sorted(text, None), expected, "{text}");
    }
    // Where a line names the units of the columns, they are no guess at the quantity.
    let habits = Habits {
        units_of_columns: vec!["temperature C".into(), "pressure mbar".into()],
        ..Habits::default()
    };
    let mut findings = Findings::default();
    assert!(take_reading(
        &line("07:42:30 88 125"),
        &habits,
        &mut findings
    ));
    assert_eq!(findings.lines, ["{time} {temperature C} {pressure mbar}"]);
    assert!(!take_reading(
        &line("07:42:30 88 125 7"),
        &habits,
        &mut findings
    ));
}

#[test]
fn time_with_words_is_a_stage_an_alarm_an_outcome_or_a_remark() {
    let reading = Some("07:42:30 5 kPa");
    for (text, next, expected) in [
        (
            "07:42:00 EVACUATION",
            None,
            &["line {time} {stage}", "stage EVACUATION"][..],
        ),
        (
            "EVACUATION 07:42:00",
            None,
            &["line {stage} {time}", "stage EVACUATION"],
        ),
        (
            "07:42:00 [EVACUATION]",
            None,
            &["line {time} [{stage}]", "stage EVACUATION"],
        ),
        (
            "07:42:00 Phase: EVACUATION",
            None,
            &["line {time} Phase: {stage}", "stage EVACUATION"],
        ),
        // Before a reading any words are a stage.
        (
            "07:42:00 quiet time",
            reading,
            &["line {time} {stage}", "stage quiet time"],
        ),
        ("07:42:00 quiet time", None, &["line {time} {text}"]),
        ("07:42:00 > quiet time", None, &["line {time} > {text}"]),
        ("quiet time 07:42:00", None, &["unknown quiet time <time>"]),
        ("a 07:42:00 b", None, &["unknown a <time> b"]),
        (
            "07:42:00 ALARM LOAD TOO WET",
            None,
            &["line {time} ALARM {alarm}", "alarm LOAD TOO WET"],
        ),
        (
            "LOAD TOO WET 07:42:00",
            None,
            &["line {alarm} {time}", "alarm LOAD TOO WET"],
        ),
        (
            "07:42:00 !! LOAD TOO WET",
            None,
            &["line {time} !! {alarm}", "alarm LOAD TOO WET"],
        ),
        (
            "07:42:00 > LOAD TOO WET",
            None,
            &["line {time} > {alarm}", "alarm LOAD TOO WET"],
        ),
        (
            "07:42:00 CYCLE COMPLETE",
            None,
            &["line {time} {outcome}", "outcome CYCLE COMPLETE"],
        ),
        // A label's word is none of these.
        ("07:42:00 End", None, &["unknown <time> End"]),
        ("07:42:00", None, &["unknown <time>"]),
        ("07:42:00 ...", reading, &["line {time} {text}"]),
    ] {
        assert_eq!(sorted(text, next), expected, "{text} {next:?}");
    }
}

#[test]
fn label_and_value_are_told_by_the_words_of_the_label() {
    for (text, expected) in [
        ("Load: S1", &["label load = Load"][..]),
        ("Load = S1", &["label load = Load"]),
        ("Load no S1", &["label load = Load no"]),
        ("Load:  S1", &["label load = Load"]),
        ("Load  : S1", &["label load = Load"]),
        ("Load....  S1", &["label load = Load"]),
        ("Model room unit = PL-1", &["label unit = Model room unit"]),
        // A name has no spaces, and a counter begins with a figure.
        ("Load: S1 2", &["unknown Load : S1 <number>"]),
        ("Cycle: A12", &["unknown Cycle : A12"]),
        ("Cycle: 12", &["label counter = Cycle"]),
        ("Cycle No. 12", &["label counter = Cycle No"]),
        ("Start: 07:41:20", &["label start time = Start"]),
        ("Start: 2026-03-12", &["label start date = Start"]),
        (
            "Start: 2026-03-12, 07:41",
            &["line Start: {start date}, {start time}"],
        ),
        (
            "Start: 2026-03-12 07:41:20",
            &["line Start: {start date} {start time}"],
        ),
        ("Start: now", &["unknown Start : now"]),
        ("End: 08:23:05", &["label end time = End"]),
        ("End: 07:41 08:00", &["unknown End : <time> <time>"]),
        (
            "End: 2026-03-12 2026-03-13",
            &["unknown End : <date> <date>"],
        ),
        ("End: 07:41 5", &["unknown End : <time> <number>"]),
        ("Total: 00:40:45", &["label total = Total"]),
        ("Total: 5", &["unknown Total : <number>"]),
        (
            "Result: COMPLETE",
            &["outcome COMPLETE", "label outcome = Result"],
        ),
        (
            "Result: stopped in evacuation (too wet)",
            &[
                "line Result: {outcome} in {stage} ({cause})",
                "stage evacuation",
                "alarm too wet",
                "outcome stopped",
            ],
        ),
        (
            "Result: stopped, too wet",
            &[
                "line Result: {outcome}, {cause}",
                "alarm too wet",
                "outcome stopped",
            ],
        ),
        (
            "Result: stopped during evacuation",
            &[
                "line Result: {outcome} during {stage}",
                "stage evacuation",
                "outcome stopped",
            ],
        ),
        ("Cause: too wet", &["alarm too wet", "label cause = Cause"]),
        (
            "Purpose: leak test",
            &["purpose leak test", "label purpose = Purpose"],
        ),
        ("Purpose: nonsense", &["unknown Purpose : nonsense"]),
        (
            "Program: leak test",
            &["purpose leak test", "label program = Program"],
        ),
        ("Program: fast", &["label program = Program"]),
        (
            "Stopped in: evacuation",
            &["stage evacuation", "label outcome stage = Stopped in"],
        ),
        (
            "Agent expiry: 2026-09-30",
            &["label sterilant expiry = Agent expiry"],
        ),
        ("Agent expiry: soon", &["unknown Agent expiry : soon"]),
        // Several fields in a line, two spaces or more between them.
        (
            "Load: S1   Operator: MK",
            &["line Load: {load} Operator: {operator}"],
        ),
        ("Load: S1  Colour: red", &["line Load: {load} Colour: *"]),
        ("Load: S1  red*", &["line Load: {load} red{*}"]),
    ] {
        assert_eq!(sorted(text, None), expected, "{text}");
    }
    // Another way to write the same label stands beside the first.
    let mut findings = Findings::default();
    for text in ["Load: S1", "Batch: S2", "Load: S3"] {
        sort_line(&line(text), None, &Habits::default(), &mut findings);
    }
    assert_eq!(told(&findings), ["label load = Load, Batch"]);
}

#[test]
fn limit_is_a_number_with_its_unit_and_a_word_for_its_side() {
    let limit = |text: &str, template: &str| {
        let said = format!("settle whether `{text}` is a limit, and on which side");
        assert_eq!(sorted(text, None), [format!("line {template}"), said]);
    };
    limit("Pressure max 53 Pa", "Pressure max {pressure Pa max} Pa");
    limit(
        "Pressure at least 50 kPa",
        "Pressure at least {pressure kPa min} kPa",
    );
    limit("Hold max 6 min", "Hold max {duration min max} min");
    limit("A* max 5 kPa", "A{*} max {pressure kPa max} kPa");
    limit(
        "Leak rate 0.52 mbar/min",
        "Leak rate {leak mbar/min} mbar/min",
    );
    limit(
        "Leak rate 0.52 mbar/min 1.3 mbar/min",
        "Leak rate {leak mbar/min} mbar/min {leak mbar/min max} mbar/min",
    );
    limit(
        "Allowed 1.3 mbar/min",
        "Allowed {leak mbar/min max} mbar/min",
    );
    limit(
        "Rise allowed 1.3 mbar/min",
        "Rise allowed {leak mbar/min} mbar/min",
    );
    for (text, frame) in [
        ("Pressure 50 kPa", "Pressure <number> kPa"),
        ("max 5 apples", "max <number> apples"),
        ("max 5", "max <number>"),
        ("max 5 kPa 07:42", "max <number> kPa <time>"),
        ("max nothing at all of it", "max nothing at all of it"),
    ] {
        assert_eq!(sorted(text, None), [format!("unknown {frame}")]);
    }
}

#[test]
fn few_words_alone_are_an_outcome_or_a_stage() {
    let reading = Some("07:42:30 5 kPa");
    for (text, next, expected) in [
        (
            "** COMPLETE **",
            None,
            &["line {*}{*} {outcome} {*}{*}", "outcome COMPLETE"][..],
        ),
        (
            "CYCLE COMPLETE",
            reading,
            &["line {outcome}", "outcome CYCLE COMPLETE"],
        ),
        (
            "one two three complete",
            None,
            &["line {outcome}", "outcome one two three complete"],
        ),
        (
            "one two three four complete",
            None,
            &["unknown one two three four complete"],
        ),
        ("Heating", reading, &["line {stage}", "stage Heating"]),
        ("[Heating]", reading, &["line [{stage}]", "stage Heating"]),
        ("Heating", None, &["unknown Heating"]),
        ("Heating", Some("07:42:30 on"), &["unknown Heating"]),
        ("a, b", reading, &["unknown a , b"]),
        ("-----", None, &["ignore ----*"]),
    ] {
        assert_eq!(sorted(text, next), expected, "{text} {next:?}");
    }
}

#[test]
fn words_before_a_date_are_a_day_or_a_lot() {
    let lot = |text: &str, template: &str, kind: &str| {
        let said = format!("settle whether `{text}` is the lot of the {kind}");
        assert_eq!(sorted(text, None), [format!("line {template}"), said]);
    };
    lot(
        "Lot K4471 exp 2026-09-30",
        "Lot {sterilant lot} exp {sterilant expiry}",
        "sterilant",
    );
    for (word, kind) in [
        ("Spore", "bi"),
        ("Biolog.", "bi"),
        ("Indicator", "ci"),
        ("Tape", "ci"),
        ("Pouch", "packaging"),
        ("Wrap", "packaging"),
        ("Supply", "sterilant"),
    ] {
        lot(
            &format!("{word} lot B771 good till 2026-12-31"),
            &format!("{word} lot {{{kind} lot}} good till {{{kind} expiry}}"),
            kind,
        );
    }
    for (text, expected) in [
        ("Sheet of 2026-03-12", "line Sheet of {day}"),
        ("Sheet* 2026-03-12", "line Sheet{*} {day}"),
        ("Something 2026-03-12", "unknown Something <date>"),
        ("K4471 2026-09-30", "unknown K4471 <date>"),
        ("Sheet K4471 2026-09-30", "unknown Sheet K4471 <date>"),
        ("Sheet 12 x 2026-03-12", "unknown Sheet <number> x <date>"),
    ] {
        assert_eq!(sorted(text, None), [expected], "{text}");
    }
}

#[test]
fn sixty_forms_that_are_not_understood_are_asked_about_and_no_more() {
    let mut findings = Findings::default();
    for at in 0..70 {
        let word: String = [b'a' + at / 26, b'a' + at % 26]
            .map(char::from)
            .iter()
            .collect();
        sort_line(&line(&word), None, &Habits::default(), &mut findings);
    }
    assert_eq!(findings.unknown.len(), 60);
}

#[test]
fn first_line_is_a_template_with_its_counter_and_moments() {
    for (text, template, n_asked) in [
        ("CYCLE NO 12", "CYCLE NO {counter}", 0),
        ("STRIP NUMBER 5", "STRIP NUMBER {counter}", 0),
        ("CYCLE NO 12 OF 7", "CYCLE NO {counter} OF *", 1),
        ("RUN 12 RUN 13", "RUN {counter} RUN *", 1),
        ("PAGE 3 4", "PAGE *", 1),
        (
            "RUN 12 AT 2026-03-12 07:41",
            "RUN {counter} AT {start date} {start time}",
            0,
        ),
        ("A*B", "A{*}B", 0),
        ("PRINTER X9", "PRINTER X9", 0),
    ] {
        let mut findings = Findings::default();
        assert_eq!(template_of(&line(text), &mut findings), template, "{text}");
        let asked = format!("`{text}` has a number that may be worth keeping");
        assert_eq!(findings.to_settle, vec![asked; n_asked], "{text}");
    }
    assert_eq!(quoted("a\"b\\c\u{7}d"), "\"a\\\"b\\\\cd\"");
}

#[test]
fn word_that_ends_every_stage_is_no_part_of_its_name() {
    let factored = |stages: &[&str]| {
        let mut findings = Findings {
            lines: vec!["{time} {stage}".to_owned()],
            stages: stages.iter().map(|stage| (*stage).to_owned()).collect(),
            ..Findings::default()
        };
        factor_last_word(&mut findings);
        (findings.lines.remove(0), findings.stages)
    };
    let (line, stages) = factored(&["HEAT  BEGIN", "HOLD  BEGIN", "HEAT  BEGIN"]);
    assert_eq!(line, "{time} {stage} BEGIN");
    assert_eq!(stages, ["HEAT", "HOLD"]);
    // Half of them suffice; fewer, or one alone, do not.
    let (line, stages) = factored(&["HEAT  BEGIN", "HOLD  BEGIN", "DRY", "VENT"]);
    assert_eq!(line, "{time} {stage} BEGIN");
    assert_eq!(stages, ["HEAT", "HOLD", "DRY", "VENT"]);
    for stages in [
        &["HEAT  BEGIN", "HOLD  BEGIN", "DRY", "VENT", "X"][..],
        &["HEAT  BEGIN", "HOLD"],
        &["HEAT BEGIN", "HOLD BEGIN"],
    ] {
        let (line, left) = factored(stages);
        assert_eq!(line, "{time} {stage}");
        assert_eq!(left, stages);
    }
}

#[test]
fn process_is_told_by_the_stages_and_the_unit_is_asked_for() {
    let always = |stages: &[&str], unit: &str| {
        let mut findings = Findings {
            stages: stages.iter().map(|stage| (*stage).to_owned()).collect(),
            ..Findings::default()
        };
        match unit {
            "label" => {
                findings.labels.insert("unit".into(), vec!["Unit".into()]);
            }
            "line" => findings.lines.push("UNIT {unit} OF".into()),
            _ => {}
        }
        let mut toml = String::new();
        write_always(&mut toml, &mut findings);
        let lines = part(&toml, "[always]").join(" ");
        (lines, findings.to_settle.len())
    };
    for (stages, process) in [
        (&["EVACUATION", "PLASMA ON"][..], "plasma"),
        (&["INJECTION"], "plasma"),
        (&["DIFFUSION", "AERATION"], "plasma"),
        (&["AERATION"], "eo"),
        (&["EVACUATION", "PLATEAU"], "steam"),
        (&[], "steam"),
    ] {
        let process = format!("process = \"{process}\"");
        assert_eq!(always(stages, "label"), (process.clone(), 0));
        assert_eq!(always(stages, "line"), (process.clone(), 0));
        assert_eq!(
            always(stages, "none"),
            (format!("{process} unit = \"UNIT-1\""), 1)
        );
    }
}

#[test]
fn habits_are_written_where_they_differ_from_those_of_neutral_text() {
    let written = |habits: &Habits, findings: &mut Findings| {
        let mut toml = String::new();
        write_habits(&mut toml, habits, findings);
        toml
    };
    let plain = Habits {
        date: Some("YYYY-MM-DD".into()),
        date_is_sure: true,
        time: Some("HH:MM:SS".into()),
        ..Habits::default()
    };
    assert_eq!(written(&plain, &mut Findings::default()), "");
    let sure = Habits {
        date: Some("DD.MM.YYYY".into()),
        decimal_comma: true,
        has_month_names: Some("german"),
        ..plain.clone()
    };
    let mut findings = Findings {
        missing: vec!["----".into()],
        units: vec![("mbar".into(), "hPa".into())],
        ..Findings::default()
    };
    assert_eq!(
        written(&sure, &mut findings),
        "[numbers]\ndecimal = \"comma\"\nmissing = [\"----\"]\n\
         [units] # CHECK: loadbook's unit = the printer's\n\"mbar\" = \"hPa\"\n\
         [dates]\ndate = \"DD.MM.YYYY\"\nmonths = \"german\"\n"
    );
    assert!(findings.to_settle.is_empty());
    let mut findings = Findings {
        missing: vec!["--".into()],
        ..Findings::default()
    };
    assert_eq!(
        written(&plain, &mut findings),
        "[numbers]\nmissing = [\"--\"]\n"
    );
    let unsure = Habits {
        date: Some("DD/MM/YY".into()),
        date_is_sure: false,
        time: Some("H:MM AM".into()),
        ..Habits::default()
    };
    let mut findings = Findings::default();
    findings.labels.insert("total".into(), vec!["Total".into()]);
    assert_eq!(
        written(&unsure, &mut findings),
        "[dates]\ndate = \"DD/MM/YY\" # CHECK: is the day first?\n\
         \"first year\" = 1990 # two digits stand for 1990 to 2089\n\
         time = \"H:MM AM\"\nlength = \"H:MM\"\n"
    );
    assert_eq!(findings.to_settle.len(), 1);
    let elapsed = Habits {
        length: Some("MM:SS".into()),
        ..plain
    };
    assert_eq!(
        written(&elapsed, &mut Findings::default()),
        "[dates]\nlength = \"MM:SS\"\n"
    );
}

#[test]
fn words_are_mapped_where_their_meaning_is_known_and_asked_for_otherwise() {
    let own = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect();
    let mut findings = Findings {
        stages: own(&["STERILIZING", "DWELL", "Warp 9/x", "***"]),
        alarms: own(&["TOO WET", "12 O'clock"]),
        outcomes: own(&["CYCLE COMPLETE", "Strange"]),
        purposes: own(&["Leak test"]),
        ..Findings::default()
    };
    let mut toml = String::new();
    write_words(&mut toml, &mut findings);
    assert_eq!(
        toml,
        "[words.stage] # CHECK each: loadbook's word = the printer's\n\
         a-stage = \"***\"\nexpose = [\"STERILIZING\", \"DWELL\"]\nwarp-9-x = \"Warp 9/x\"\n\
         [words.alarm] # CHECK each: loadbook's word = the printer's\n\
         moisture = \"TOO WET\"\no-clock = \"12 O'clock\"\n\
         [words.outcome] # CHECK each: loadbook's word = the printer's\n\
         # SETTLE: completed = \"Strange\"\ncompleted = \"CYCLE COMPLETE\"\n\
         [words.purpose] # CHECK each: loadbook's word = the printer's\n\
         leak-test = \"Leak test\"\n"
    );
    assert_eq!(
        findings.to_settle,
        [
            "what `Warp 9/x` means as a word of [words.stage]",
            "what `***` means as a word of [words.stage]",
            "what `12 O'clock` means as a word of [words.alarm]",
            "what `Strange` means as an outcome",
        ]
    );
    // A word of one's own has forty letters at most.
    let mut findings = Findings {
        stages: vec!["x".repeat(41)],
        ..Findings::default()
    };
    let mut toml = String::new();
    write_words(&mut toml, &mut findings);
    assert!(toml.contains(&format!("\n{} = ", "x".repeat(40))), "{toml}");
}

#[test]
fn table_is_rows_of_as_many_cells() {
    let found = |text: &str| find_table(&lines(text));
    let table =
        found("Printer X\n5;6\ntime;kPa;C\n07:41;5;6\n07:42;\"7\"; 8 \n07:43;7;8\n").unwrap();
    assert_eq!(table.separator, ';');
    assert_eq!(table.header, ["time", "kPa", "C"]);
    assert_eq!(table.rows.len(), 3);
    assert_eq!(table.rows[1], ["07:42", "7", "8"]);
    assert_eq!(table.outside, ["Printer X", "5;6"]);
    // A row above the header stands outside.
    let table = found("1;2;3\ntime;kPa;C\n07:41;5;6\n07:42;7;8").unwrap();
    assert_eq!(table.header, ["time", "kPa", "C"]);
    assert_eq!(table.outside, ["1;2;3"]);
    // A header has most of its cells filled, and none begins with a figure.
    let table = found(";;C\ntime;;C\n07:41;5;6\n07:42;7;8").unwrap();
    assert_eq!(table.header, ["time", "", "C"]);
    for text in [
        // Three rows of three cells are the least, and two lines of three.
        "time;kPa\n07:41;5\n07:42;7\n07:43;8",
        "time;kPa;C\n07:41;5;6",
        "time;kPa;C\n07:41;5;6\n07:42;7;8\na\nb",
        "1;2;3\n4;5;6\n7;8;9",
    ] {
        assert!(found(text).is_none(), "{text}");
    }
    assert!(found("time;kPa;C\n07:41;5;6\n07:42;7;8\n07:43;7;8\na\nb").is_some());
    assert_eq!(
        found("time|kPa|C\n07:41|5|6\n07:42|7|8").unwrap().separator,
        '|'
    );
    assert_eq!(
        found("time,kPa,C\n07:41,5,6\n07:42,7,8").unwrap().separator,
        ','
    );
}

#[test]
fn column_is_told_by_its_cells_its_unit_and_its_heading() {
    let guess = |heading: &str, cells: &[&str]| {
        let cells: Vec<String> = cells.iter().map(|cell| (*cell).to_owned()).collect();
        let cells: Vec<&String> = cells.iter().collect();
        let mut findings = Findings::default();
        let guess = column_guess(heading, &cells, &mut findings);
        (guess, told(&findings))
    };
    for (heading, cells, expected, found) in [
        (
            "x",
            &["", "2026-03-12 07:41"][..],
            Some("{date} {time}"),
            &[][..],
        ),
        ("x", &["2026-03-12"], Some("date"), &[]),
        ("x", &["07:41"], Some("time"), &[]),
        ("P [kPa]", &["5"], Some("pressure kPa"), &[]),
        ("T (°C)", &["5"], Some("temperature C"), &[]),
        (
            "Alarm",
            &["", "wet", "cold", "wet"],
            Some("alarm"),
            &["alarm cold", "alarm wet"],
        ),
        ("Phase", &["heat", "heat"], Some("stage"), &["stage heat"]),
        ("Cycle [no]", &["5"], Some("counter"), &[]),
        (
            "Result",
            &["complete", "stopped in drying"],
            Some("{outcome} in {stage}\n{outcome}"),
            &["stage drying", "outcome complete", "outcome stopped"],
        ),
        ("Start", &["x"], None, &[]),
        ("Colour", &["red"], None, &[]),
    ] {
        let (guess, told) = guess(heading, cells);
        assert_eq!(guess.as_deref(), expected, "{heading}");
        assert_eq!(told, found, "{heading}");
    }
}

#[test]
fn table_is_drafted_with_its_columns() {
    let draft = draft(
        "Printer X*\ntime;Cycle;P [kPa];Colour;Phase;;Result\n07:41:00;12;5,5;red;Plasma;;\n07:42:00;12;6,5;blue;Plasma;;complete\n07:43:00;12;6,5;blue;Plasma;;complete\n",
    );
    assert_eq!(
        draft.toml,
        "layout = 1\nname = \"draft\" # a name for the printer, without spaces\n\
         ignore = [\"Printer X{*}\"] # CHECK: they stand outside the table\n\
         [always]\nprocess = \"plasma\" # CHECK: plasma, steam or eo\n\
         unit = \"UNIT-1\" # SETTLE: the strip prints no name of the unit\n\
         [numbers]\ndecimal = \"comma\"\n\
         [table]\nseparator = \";\"\nstart = \"first row\" # CHECK: the first row of a cycle is its start\nend = \"last row\"\n\
         [table.columns]\n\"time\" = \"time\"\n\"Cycle\" = \"counter\"\n\"P [kPa]\" = \"pressure kPa\"\n# SETTLE: \"Colour\" = \"\"\n\"Phase\" = \"stage\"\n\"Result\" = \"{outcome}\"\n\
         [words.stage] # CHECK each: loadbook's word = the printer's\nplasma = \"Plasma\"\n\
         [words.outcome] # CHECK each: loadbook's word = the printer's\ncompleted = \"complete\"\n"
    );
    assert_eq!(
        draft.to_settle,
        [
            "what the column `Colour` holds",
            "the strip prints no name of the unit: give it under [always]",
        ]
    );
    // A tab is named, and a unit that has a column is not asked for.
    let tabs = super::draft_layout(&[Strip {
        name: "strip.txt".to_owned(),
        bytes: b"time\tUnit\tP [kPa]\n07:41:00\tA\t5\n07:42:00\tA\t6\n".to_vec(),
    }]);
    assert!(tabs.toml.contains("separator = \"tab\"\n"), "{}", tabs.toml);
    assert!(!tabs.toml.contains("UNIT-1"), "{}", tabs.toml);
}

const CYCLE: &str = "================================\nPRINTER SEVEN\nCycle No. 12\nLoad: S1-0312-01   Operator: MK\n\
    Start: 12.03.2026 07:41:20\nProgram: wrapped 134\n07:42:00 EVACUATION\n07:42:30 12.5 kPa 88.0 C\n07:50:00 PLATEAU\n\
    07:50:10 305.0 kPa 134.5 C\n08:10:00 ALARM LOAD TOO WET\nservice soon\nkeep dry 5 colours\nEnd: 08:23:05\nResult: COMPLETE\nEND OF STRIP\n";

#[test]
fn strip_of_two_cycles_is_drafted_as_a_whole() {
    let second = CYCLE
        .replace("12.03.2026", "13.03.2026")
        .replace("No. 12", "No. 13");
    let drafted = draft(&format!("{CYCLE}{second}"));
    assert_eq!(
        drafted.toml,
        "layout = 1\nname = \"draft\" # a name for the printer, without spaces\n\
         begin = \"PRINTER SEVEN\" # found 2 times\n\
         end = \"END OF STRIP\" # before every next beginning\n\
         ignore = [\"====*\", \"service soon\"]\n\
         lines = [\n    \
         \"{time} {pressure} {temperature}\",\n    \
         \"Load: {load} Operator: {operator}\",\n    \
         \"Start: {start date} {start time}\",\n    \
         \"{time} ALARM {alarm}\",\n    \
         \"{time} {stage}\",\n    \
         # SETTLE: \"keep dry * colours\",\n\
         ]\n\
         [always]\nprocess = \"steam\" # CHECK: plasma, steam or eo\n\
         unit = \"UNIT-1\" # SETTLE: the strip prints no name of the unit\n\
         [dates]\ndate = \"DD.MM.YYYY\"\n\
         [labels]\ncounter = \"Cycle No\"\n\"end time\" = \"End\"\noutcome = \"Result\"\nprogram = \"Program\"\n\
         [words.stage] # CHECK each: loadbook's word = the printer's\nevacuate = \"EVACUATION\"\nexpose = \"PLATEAU\"\n\
         [words.alarm] # CHECK each: loadbook's word = the printer's\nmoisture = \"LOAD TOO WET\"\n\
         [words.outcome] # CHECK each: loadbook's word = the printer's\ncompleted = \"COMPLETE\"\n"
    );
    assert_eq!(
        drafted.to_settle,
        [
            "1 forms of lines were not understood: put placeholders in them, or move them to `ignore`",
            "the strip prints no name of the unit: give it under [always]",
        ]
    );
}

#[test]
fn strip_of_one_cycle_is_drafted_with_its_doubts() {
    let drafted = draft(
        "RUN 42\n00:10 EVACUATION\n00:20 5,5 kPa\nUnit: A\nMade 07:41:20\nservice soon\nlast line of it all\n",
    );
    assert_eq!(
        drafted.toml,
        "layout = 1\nname = \"draft\" # a name for the printer, without spaces\n\
         begin = \"RUN {counter}\" # CHECK: seen once only\n\
         end = \"last line of it all\" # before every next beginning\n\
         lines = [\n    \"{elapsed} {pressure}\",\n    \"{elapsed} {stage}\",\n    # SETTLE: \"Made *\",\n    # SETTLE: \"service soon\",\n]\n\
         [always]\nprocess = \"steam\" # CHECK: plasma, steam or eo\n\
         [numbers]\ndecimal = \"comma\"\n\
         [dates]\nlength = \"MM:SS\"\n\
         [labels]\nunit = \"Unit\"\n\
         [words.stage] # CHECK each: loadbook's word = the printer's\nevacuate = \"EVACUATION\"\n"
    );
    assert_eq!(
        drafted.to_settle,
        [
            "the first line of a cycle was seen once only",
            "whether the times at the front of lines count from the start",
            "2 forms of lines were not understood: put placeholders in them, or move them to `ignore`",
        ]
    );
    // Of lines that are all drawn or timed no first one is found.
    let none = draft("-----\n07:41:00 5 kPa\n");
    assert!(
        none.toml
            .contains("begin = \"\" # SETTLE: the first line of a cycle\n")
    );
    assert!(
        none.to_settle
            .contains(&"no first line was found".to_owned())
    );
    assert!(
        none.to_settle
            .iter()
            .any(|one| one.starts_with("no line stands at the end"))
    );
}

#[test]
fn lines_cut_at_the_papers_edge_are_put_together() {
    // Twenty-four columns; `Department of the` fills them with one space less.
    let text = "Place: Fennmarsh General\nannexe\nUnit: A\nPlace: Fennmarsh Genera\nother wing\nlast one\n";
    let (joined, columns) = unwrap(lines(text));
    let texts: Vec<&str> = joined.iter().map(|line| line.text.as_str()).collect();
    assert_eq!(
        texts,
        [
            "Place: Fennmarsh Generalannexe",
            "Unit: A",
            "Place: Fennmarsh Genera other wing",
            "last one",
        ]
    );
    assert_eq!(columns, Some(24));
    assert_eq!(joined[0].tokens, cut("Place: Fennmarsh Generalannexe"));
    // What is a line of its own goes on from none: three words, a label, an outcome, a figure, a rule, a line that comes again.
    for next in ["one two three", "Unit: A", "COMPLETE", "wing 5", "-----"] {
        let text = format!("Place: Fennmarsh General\n{next}\n");
        assert_eq!(unwrap(lines(&text)).1, None, "{next}");
    }
    let again = "Place: Fennmarsh General\nannexe\nx\nannexe\n";
    assert_eq!(unwrap(lines(again)).1, None);
    // A rule or a reading that fills the paper is whole, and so is a shorter line.
    for first in ["------------------------", "07:42:30 12.5 kPa 88.0 C"] {
        assert_eq!(
            unwrap(lines(&format!("{first}\nannexe"))).1,
            None,
            "{first}"
        );
    }
    assert_eq!(
        unwrap(lines(
            "Place: Fennmarsh General\nx\nPlace: Fennmarsh\nannexe"
        ))
        .1,
        Some(24)
    );
    assert_eq!(
        unwrap(lines(
            "Place: Fennmarsh General\n07:00 a\nPlace: Fennmarsh\nannexe"
        ))
        .1,
        None
    );
    // Paper of more than forty-eight columns is not a strip's.
    let (wide, just) = ("x".repeat(49), "x".repeat(48));
    assert_eq!(unwrap(lines(&format!("{wide}\nannexe"))).1, None);
    assert_eq!(unwrap(lines(&format!("{just}\nannexe"))).1, Some(48));
    assert_eq!(unwrap(Vec::new()).1, None);
    let drafted = draft(text);
    assert!(
        drafted
            .toml
            .contains("[wrap] # CHECK: the paper's width\ncolumns = 24\nrule = \"full line\"\n")
    );
}

#[test]
fn code_page_437_is_told_by_four_of_one_of_its_lines() {
    let of = |bytes: &[u8]| {
        charset_of(&[Strip {
            name: "strip.txt".to_owned(),
            bytes: bytes.to_vec(),
        }])
    };
    assert_eq!(of(b"\xC4\xC4\xC4\xC4"), Charset::CodePage437);
    assert_eq!(of(b"\xB0\xB0\xB0\xB0"), Charset::CodePage437);
    assert_eq!(of(b"\xDF\xDF\xDF\xDF"), Charset::CodePage437);
    assert_eq!(of(b"\xC4\xC4\xC4"), Charset::Detected);
    assert_eq!(of(b"\xC4\xC4\xC5\xC4\xC4"), Charset::Detected);
    assert_eq!(of(b"\xE0\xE0\xE0\xE0"), Charset::Detected);
    assert_eq!(of(b"\xAF\xAF\xAF\xAF"), Charset::Detected);
    assert_eq!(of(b"----"), Charset::Detected);
    // UTF-8 may have the same byte four times and more apart; four in a row never.
    assert_eq!(of("ÄÄÄÄ".as_bytes()), Charset::Detected);
    let strips = [Strip {
        name: "strip.txt".to_owned(),
        bytes: b"\xC4\xC4\xC4\xC4\nRUN 5\n".to_vec(),
    }];
    let toml = draft_layout(&strips).toml;
    assert!(toml.contains("encoding = \"cp437\""), "{toml}");
}

#[test]
fn lines_of_patients_and_those_beyond_the_first_thousands_are_not_looked_at() {
    let drafted = draft("RUN 5\nRUN 6\nPatient name: Example\n");
    assert!(!drafted.toml.contains("Example"), "{}", drafted.toml);
    let strip = |n: usize| Strip {
        name: "strip.txt".to_owned(),
        bytes: "x y\n\n".repeat(n).into_bytes(),
    };
    assert_eq!(
        read_cut_lines(&[strip(4_999), strip(5)], Charset::Detected).len(),
        5_000
    );
    assert_eq!(read_cut_lines(&[strip(3)], Charset::Detected).len(), 3);
    assert_eq!(
        read_cut_lines(&[strip(3)], Charset::Detected)[0].text,
        "x y"
    );
}
