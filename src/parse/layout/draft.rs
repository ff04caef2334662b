//! A layout proposed from sample strips alone: where cycles begin and end, labels, dates and times, readings with their
//! units, stage words, outcomes; written as commented TOML that says what it was sure of and what a person must settle.
//!
//! A draft is a beginning: it never maps a word of the printer to one of loadbook's without saying so. Read
//! [`draft_layout`] first.

use super::field::UnitOf;
use super::trial::Strip;
use super::vocabulary::{
    Guess, alarm_meaning, is_alarm_word, is_stage_announcement, label_meaning, outcome_meaning,
    purpose_meaning, stage_meaning, unit_meaning,
};
use crate::diagnose::FileId;
use crate::measure::count::Counting;
use crate::measure::unit::{DurationUnit, LeakRateUnit};
use crate::parse::text::fills_paper;
use crate::source::decode::Charset;
use crate::source::lines::{Fitness, read_lines_as};
use std::collections::BTreeMap;
use std::fmt::Write;

/// No more lines than these are looked at: a few cycles suffice.
const MOST_LINES: usize = 5_000;
/// No more forms that were not understood are asked about than this.
const MOST_UNKNOWN: usize = 60;

/// A layout proposed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// The TOML.
    pub toml: String,
    /// What a person must settle, a sentence each.
    pub to_settle: Vec<String>,
}

/// What a part of a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Date,
    Time,
    Number,
    Word,
    Mark,
}

/// A part of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Token {
    kind: Kind,
    text: String,
    /// How many spaces stand before it.
    n_spaces: usize,
}

/// A line cut into its parts.
#[derive(Debug, Clone)]
struct Cut {
    text: String,
    tokens: Vec<Token>,
}

/// How the strips write dates, times and numbers.
#[derive(Debug, Clone, Default)]
struct Habits {
    date: Option<String>,
    date_is_sure: bool,
    time: Option<String>,
    length: Option<String>,
    /// Times of the body count from the start.
    body_is_elapsed: bool,
    /// Quantity and unit of each column, where a line of the strip names the units.
    units_of_columns: Vec<String>,
    decimal_comma: bool,
    /// The columns at which the printer cuts lines that go on in the next.
    wrapped: Option<usize>,
    charset: Charset,
    has_month_names: Option<&'static str>,
}

/// What becomes of the lines, as it is found out.
#[derive(Debug, Default)]
struct Findings {
    lines: Vec<String>,
    labels: BTreeMap<String, Vec<String>>,
    ignore: Vec<String>,
    stages: Vec<String>,
    alarms: Vec<String>,
    outcomes: Vec<String>,
    purposes: Vec<String>,
    /// Our unit, and the printer's word for it.
    units: Vec<(String, String)>,
    missing: Vec<String>,
    unknown: Vec<String>,
    to_settle: Vec<String>,
}

impl Findings {
    fn line(&mut self, template: String) {
        if !self.lines.contains(&template) {
            self.lines.push(template);
        }
    }

    fn settle(&mut self, what: String) {
        if !self.to_settle.contains(&what) {
            self.to_settle.push(what);
        }
    }
}

/// Proposes a layout for the printer of some strips.
pub fn draft_layout(strips: &[Strip]) -> Draft {
    let charset = charset_of(strips);
    let (lines, wrapped) = unwrap(read_cut_lines(strips, charset));
    let habits = Habits {
        wrapped,
        charset,
        ..habits_of(&lines)
    };
    if let Some(table) = find_table(&lines) {
        return draft_table(&table, &habits);
    }
    let mut findings = Findings::default();
    let begin = find_begin(&lines);
    let end = begin.as_deref().and_then(|begin| find_end(&lines, begin));
    let shape = |line: &Cut| frame(line);
    for (at, line) in lines.iter().enumerate() {
        let own = shape(line);
        if begin.as_ref() == Some(&own) || end.as_ref() == Some(&own) {
            continue;
        }
        let next = lines.get(at.saturating_add(1));
        sort_line(line, next, &habits, &mut findings);
    }
    let toml = write_toml(
        &lines,
        begin.as_deref(),
        end.as_deref(),
        &habits,
        &mut findings,
    );
    Draft {
        toml,
        to_settle: findings.to_settle,
    }
}

/// Code page 437 where a strip that is not UTF-8 has a line drawn across it: one byte of 0xB0 to 0xDF, which hold that code
/// page's lines and boxes, many times in a row.
fn charset_of(strips: &[Strip]) -> Charset {
    let is_drawn = |four: &[u8]| {
        four.first().is_some_and(|first| {
            (0xB0..=0xDF).contains(first) && four.iter().all(|byte| byte == first)
        })
    };
    let is_code_page_437 = strips.iter().any(|strip| {
        std::str::from_utf8(&strip.bytes).is_err() && strip.bytes.windows(4).any(is_drawn)
    });
    if is_code_page_437 {
        Charset::CodePage437
    } else {
        Charset::Detected
    }
}

fn read_cut_lines(strips: &[Strip], charset: Charset) -> Vec<Cut> {
    let mut lines = Vec::new();
    for strip in strips {
        // Bytes in memory have no errors.
        let _ = read_lines_as(FileId(0), &strip.bytes[..], charset, |line| {
            let text = String::from_utf8_lossy(line.text);
            if line.fitness == Fitness::Text
                && !text.trim().is_empty()
                && lines.len() < MOST_LINES
                && !crate::parse::text::looks_like_patient_data(line.text)
            {
                lines.push(Cut {
                    tokens: cut(text.trim()),
                    text: text.trim().to_owned(),
                });
            }
        });
    }
    lines
}

/// Puts together lines that were cut at the paper's edge, and says at how many columns.
///
/// A line that fills the paper goes on in the next if that is words alone which are no line of their own.
fn unwrap(lines: Vec<Cut>) -> (Vec<Cut>, Option<usize>) {
    let width = |line: &Cut| line.text.chars().count();
    let Some(columns) = lines.iter().map(width).max().filter(|n| *n <= 48) else {
        return (lines, None);
    };
    let n_of = |text: &str| lines.iter().filter(|line| line.text == text).count();
    let goes_on = |next: &Cut| {
        next.text.split_whitespace().count() <= 2
            && !is_rule(next)
            && next.tokens.iter().all(|token| token.kind == Kind::Word)
            && n_of(&next.text) == 1
            && outcome_meaning(&next.text).is_none()
            && split_label(&next.text).is_none()
    };
    let mut joined: Vec<Cut> = Vec::new();
    let mut is_wrapped = false;
    for line in &lines {
        match joined.last_mut() {
            Some(last)
                if !is_rule(last)
                    && fills_paper(width(last), columns)
                    && !is_reading(last)
                    && goes_on(line) =>
            {
                is_wrapped = true;
                let gap = " ".repeat(columns.saturating_sub(width(last)));
                last.text = format!("{}{gap}{}", last.text, line.text);
                last.tokens = cut(&last.text);
            }
            _ => joined.push(line.clone()),
        }
    }
    (joined, is_wrapped.then_some(columns))
}

/// A line cut into dates, times, numbers, words and marks.
fn cut(text: &str) -> Vec<Token> {
    let mut tokens = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let trimmed = rest.trim_start();
        let n_spaces = rest.len().saturating_sub(trimmed.len());
        rest = trimmed;
        let Some(first) = rest.chars().next() else {
            break;
        };
        let after_word = tokens
            .last()
            .is_some_and(|last: &Token| n_spaces == 0 && last.kind == Kind::Word);
        let found = if after_word { None } else { figures(rest) };
        let (kind, n) = found.unwrap_or_else(|| {
            let is_word = |c: char| c.is_alphanumeric() || "-_/.'°%".contains(c);
            if first.is_alphanumeric() || first == '°' || first == '%' {
                let n: usize = rest
                    .chars()
                    .take_while(|c| is_word(*c))
                    .map(char::len_utf8)
                    .sum();
                let word = rest.get(..n).unwrap_or(rest);
                (
                    Kind::Word,
                    word.trim_end_matches(['.', '-', '/'])
                        .len()
                        .max(first.len_utf8()),
                )
            } else {
                let n: usize = rest
                    .chars()
                    .take_while(|c| *c == first)
                    .map(char::len_utf8)
                    .sum();
                (Kind::Mark, n)
            }
        });
        // A unit of two words, such as `bar Ü`.
        let n = if kind == Kind::Word {
            n.saturating_add(second_word_of_unit(rest, n))
        } else {
            n
        };
        let (token, after) = rest.split_at_checked(n).unwrap_or((rest, ""));
        tokens.push(Token {
            kind,
            text: token.to_owned(),
            n_spaces,
        });
        rest = after;
    }
    tokens
}

/// How much longer a unit is whose first word ends at an offset.
fn second_word_of_unit(text: &str, n: usize) -> usize {
    let (first, rest) = text.split_at_checked(n).unwrap_or((text, ""));
    let second = rest.trim_start();
    let space = rest.len().saturating_sub(second.len());
    let word: usize = second
        .chars()
        .take_while(|c| c.is_alphabetic())
        .map(char::len_utf8)
        .sum();
    let is_unit = space == 1
        && word > 0
        && second
            .get(..word)
            .is_some_and(|second| unit_meaning(&format!("{first} {second}")).is_some());
    if is_unit { word.saturating_add(1) } else { 0 }
}

/// A date, a time or a number at the front of a text.
fn figures(text: &str) -> Option<(Kind, usize)> {
    if let Some((_, n)) = date_form(text) {
        return Some((Kind::Date, n));
    }
    if let Some((_, n)) = time_form(text) {
        return Some((Kind::Time, n));
    }
    let bytes = text.as_bytes();
    let sign = usize::from(matches!(bytes.first(), Some(b'-' | b'+')));
    let n = bytes
        .iter()
        .skip(sign)
        .take_while(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','))
        .count();
    let number = text
        .get(..n.saturating_add(sign))?
        .trim_end_matches(['.', ',']);
    let has_digit = number
        .bytes()
        .next_back()
        .is_some_and(|b| b.is_ascii_digit());
    let starts_well = bytes.get(sign).is_some_and(u8::is_ascii_digit);
    let next = text.get(number.len()..)?.chars().next();
    // `134C` is a number and its unit, `4O` is a word, `S4-0312` is a name.
    let ends_well = next.is_none_or(|c| !c.is_alphanumeric() && !"-_/".contains(c));
    (has_digit && starts_well && ends_well).then_some((Kind::Number, number.len()))
}

/// The form of the date at the front of a text. Day and month are told apart later.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "each place is the one before and the bytes that were counted behind it; what is trimmed is part of its text"
)]
fn date_form(text: &str) -> Option<(String, usize)> {
    let bytes = text.as_bytes();
    let digits = |at: usize| {
        bytes
            .iter()
            .skip(at)
            .take_while(|byte| byte.is_ascii_digit())
            .count()
    };
    let first = digits(0);
    let mark = *bytes.get(first)?;
    if first == 4 && matches!(mark, b'-' | b'/' | b'.') {
        let (second, third) = (digits(5), digits(5 + digits(5) + 1));
        let end = 5 + second + 1 + third;
        let is_date = second == 2 && third == 2 && bytes.get(5 + second) == Some(&mark);
        let mark = char::from(mark);
        return is_date.then(|| (format!("YYYY{mark}MM{mark}DD"), end));
    }
    if matches!(first, 1 | 2) && matches!(mark, b'-' | b'/' | b'.') {
        let second = digits(first + 1);
        let at = first + 1 + second;
        let third = digits(at + 1);
        if matches!(second, 1 | 2) && bytes.get(at) == Some(&mark) && matches!(third, 2 | 4) {
            let numbers: Vec<u32> = [(0, first), (first + 1, second)]
                .iter()
                .filter_map(|(from, n)| text.get(*from..from + n)?.parse().ok())
                .collect();
            let plausible =
                numbers.iter().all(|n| (1..=31).contains(n)) && numbers.iter().any(|n| *n <= 12);
            // `08.15.02` is a time, unless its last part is a year of four digits.
            let year = if third == 4 { "YYYY" } else { "YY" };
            let mark_char = char::from(mark);
            let is_time_like = mark == b'.' && third == 2;
            return (plausible && !is_time_like)
                .then(|| (format!("?{mark_char}?{mark_char}{year}"), at + 1 + third));
        }
    }
    if matches!(first, 1 | 2) {
        // `12 Mar 2026`, `12. März 2026`
        let dot = usize::from(mark == b'.');
        let rest = text.get(first + dot..)?;
        let space = rest.len() - rest.trim_start().len();
        let word = month_word(rest.trim_start())?;
        let at = first + dot + space + word;
        let gap = text.get(at..)?;
        let gap = gap.len() - gap.trim_start_matches([' ', '.', ',', '-']).len();
        let year = digits(at + gap);
        let form = if dot == 1 {
            "D. MMM YYYY"
        } else {
            "D MMM YYYY"
        };
        return (year == 4 && space > 0).then(|| (form.to_owned(), at + gap + 4));
    }
    // `Mar 12, 2026`
    let word = month_word(text)?;
    let rest = text.get(word..)?;
    let space = rest.len() - rest.trim_start().len();
    let day = digits(word + space);
    let comma = usize::from(bytes.get(word + space + day) == Some(&b','));
    let at = word + space + day + comma;
    let gap = text.get(at..)?;
    let gap = gap.len() - gap.trim_start().len();
    let year = digits(at + gap);
    let form = if comma == 1 {
        "MMM D, YYYY"
    } else {
        "MMM D YYYY"
    };
    (space > 0 && matches!(day, 1 | 2) && year == 4).then(|| (form.to_owned(), at + gap + 4))
}

/// How long the name of a month at the front of a text is, in any language that loadbook knows.
fn month_word(text: &str) -> Option<usize> {
    let n: usize = text
        .chars()
        .take_while(|c| c.is_alphabetic())
        .map(char::len_utf8)
        .sum();
    let word = text.get(..n)?.to_lowercase();
    let is_known = word.chars().count() >= 3
        && super::moment::LANGUAGES.iter().any(|language| {
            super::moment::months_in(language)
                .into_iter()
                .flatten()
                .flatten()
                .any(|name| name.starts_with(&word))
        });
    is_known.then_some(n)
}

/// The form of the time at the front of a text.
#[expect(
    clippy::arithmetic_side_effects,
    reason = "each place is the one before and the bytes that were counted behind it; what is trimmed is part of its text"
)]
fn time_form(text: &str) -> Option<(String, usize)> {
    let bytes = text.as_bytes();
    let digits = |at: usize| {
        bytes
            .iter()
            .skip(at)
            .take_while(|byte| byte.is_ascii_digit())
            .count()
    };
    let first = digits(0);
    if !(1..=3).contains(&first) {
        return None;
    }
    let mark = *bytes.get(first)?;
    if !matches!(mark, b':' | b'.' | b'h') || digits(first + 1) != 2 {
        return None;
    }
    let second = first + 3;
    let has_seconds = bytes.get(second) == Some(&mark) && digits(second + 1) == 2;
    // With points, two groups are a decimal number.
    if mark == b'.' && !has_seconds {
        return None;
    }
    let mut end = if has_seconds { second + 3 } else { second };
    let mark = char::from(mark);
    let hour = if first == 2 { "HH" } else { "H" };
    let mut form = if has_seconds {
        format!("{hour}{mark}MM{mark}SS")
    } else {
        format!("{hour}{mark}MM")
    };
    let rest = text.get(end..).unwrap_or_default();
    let word = rest.trim_start();
    let half = word.get(..2).map(str::to_ascii_uppercase);
    if matches!(half.as_deref(), Some("AM" | "PM"))
        && !word
            .get(2..)
            .is_some_and(|after| after.starts_with(char::is_alphanumeric))
    {
        let space = rest.len() - word.len();
        end += space + 2;
        form.push_str(if space > 0 { " AM" } else { "AM" });
    }
    let ends_well = !text
        .get(end..)
        .unwrap_or_default()
        .starts_with(char::is_alphanumeric);
    ends_well.then_some((form, end))
}

/// The most frequent of some texts.
fn most_frequent(texts: impl Iterator<Item = String>) -> Option<String> {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for text in texts {
        counts.entry(text).or_default().add_one();
    }
    // Of equals the first in the alphabet, so that a draft is the same each time.
    let most = counts.values().max().copied()?;
    counts
        .into_iter()
        .find(|(_, n)| *n == most)
        .map(|(text, _)| text)
}

fn habits_of(lines: &[Cut]) -> Habits {
    let mut habits = Habits::default();
    let tokens = || lines.iter().flat_map(|line| &line.tokens);
    let texts = |kind: Kind| tokens().filter(move |token| token.kind == kind);
    let forms = texts(Kind::Date).filter_map(|token| date_form(&token.text));
    if let Some(form) = most_frequent(forms.map(|(form, _)| form)) {
        let (date, is_sure) = settle_day_and_month(&form, texts(Kind::Date));
        habits.has_month_names = date.contains("MMM").then(|| language_of(texts(Kind::Date)));
        habits.date = Some(date);
        habits.date_is_sure = is_sure;
    }
    // Times at the front of a line, and those within it, may be of two kinds.
    let is_at_front = |line: &&Cut| {
        line.tokens
            .first()
            .is_some_and(|token| token.kind == Kind::Time)
    };
    let fronts = lines
        .iter()
        .filter(is_at_front)
        .filter_map(|line| line.tokens.first());
    let others = lines
        .iter()
        .flat_map(|line| line.tokens.iter().skip(1))
        .filter(|token| token.kind == Kind::Time);
    let front = time_of(fronts);
    let other = time_of(others);
    let has_seconds = |form: &Option<String>| form.as_ref().is_some_and(|form| form.contains("SS"));
    if front.is_some() && other.is_some() && has_seconds(&other) && !has_seconds(&front) {
        habits.body_is_elapsed = true;
        habits.length = front.map(|form| {
            form.replace("MM", "SS")
                .replacen("HH", "H", 1)
                .replacen('H', "MM", 1)
        });
        habits.time = other;
    } else {
        habits.time = front.or(other);
    }
    habits.units_of_columns = units_of_columns(lines);
    let (mut n_commas, mut n_points) = (0_usize, 0_usize);
    for token in texts(Kind::Number) {
        n_commas.add_many(usize::from(is_decimal(&token.text, ',')));
        n_points.add_many(usize::from(token.text.contains('.')));
    }
    habits.decimal_comma = n_commas > n_points;
    habits
}

/// The form of most of some times.
fn time_of<'t>(tokens: impl Iterator<Item = &'t Token>) -> Option<String> {
    let forms: Vec<String> = tokens
        .filter_map(|token| time_form(&token.text))
        .map(|(form, _)| form)
        .collect();
    let simple = |form: &String| form.replace("HH", "H");
    let most = most_frequent(forms.iter().map(simple))?;
    // Two digits are printed unless one was seen.
    let has_short = forms
        .iter()
        .any(|form| simple(form) == most && !form.starts_with("HH"));
    Some(if has_short {
        most
    } else {
        most.replacen('H', "HH", 1)
    })
}

/// A line of units alone, as it stands above a table.
fn units_of_columns(lines: &[Cut]) -> Vec<String> {
    let of_line = |line: &Cut| {
        let units: Vec<&str> = line.text.split_whitespace().collect();
        let named: Vec<String> = units
            .iter()
            .filter_map(|unit| {
                unit_meaning(unit).map(|(quantity, unit)| format!("{quantity} {unit}"))
            })
            .collect();
        (named.len() == units.len() && named.len() > 1).then_some(named)
    };
    lines.iter().find_map(of_line).unwrap_or_default()
}

fn is_decimal(number: &str, mark: char) -> bool {
    number
        .rsplit_once(mark)
        .is_some_and(|(_, decimals)| decimals.len() != 3 && !decimals.is_empty())
}

/// Which of two figures is the day. It is sure if one of them was seen above twelve.
fn settle_day_and_month<'t>(form: &str, dates: impl Iterator<Item = &'t Token>) -> (String, bool) {
    let Some(mark) = form.strip_prefix('?').and_then(|rest| rest.chars().next()) else {
        return (form.to_owned(), true);
    };
    let year = if form.ends_with("YYYY") { "YYYY" } else { "YY" };
    let (mut first, mut second) = (0, 0);
    for date in dates {
        let mut parts = date
            .text
            .split(mark)
            .map_while(|part| part.parse::<u32>().ok());
        first = first.max(parts.next().unwrap_or(0));
        second = second.max(parts.next().unwrap_or(0));
    }
    let month_first = second > 12 && first <= 12;
    let is_sure = (first > 12) != (second > 12);
    let date = if month_first {
        format!("MM{mark}DD{mark}{year}")
    } else {
        format!("DD{mark}MM{mark}{year}")
    };
    (date, is_sure)
}

fn language_of<'t>(dates: impl Iterator<Item = &'t Token>) -> &'static str {
    let words: Vec<String> = dates
        .flat_map(|date| {
            date.text
                .split(|c: char| !c.is_alphabetic())
                .filter(|word| word.chars().count() >= 3)
                .map(str::to_lowercase)
                .collect::<Vec<_>>()
        })
        .collect();
    super::moment::LANGUAGES
        .iter()
        .copied()
        .find(|language| {
            let names: Vec<String> = super::moment::months_in(language)
                .into_iter()
                .flatten()
                .flatten()
                .collect();
            words
                .iter()
                .all(|word| names.iter().any(|name| name.starts_with(word.as_str())))
        })
        .unwrap_or("english")
}

/// A line with its figures left out, by which lines of one form are known.
fn frame(line: &Cut) -> String {
    let parts: Vec<&str> = line
        .tokens
        .iter()
        .map(|token| match token.kind {
            Kind::Date => "<date>",
            Kind::Time => "<time>",
            Kind::Number => "<number>",
            Kind::Word | Kind::Mark => token.text.as_str(),
        })
        .collect();
    parts.join(" ")
}

/// Whether a line is drawn across the paper.
fn is_rule(line: &Cut) -> bool {
    let mut characters = line.text.chars().filter(|c| !c.is_whitespace());
    let first = characters.next();
    first.is_some_and(|first| !first.is_alphanumeric() && characters.all(|c| c == first))
}

/// The frame of the first line of a cycle: the first line that is not drawn, if it comes again.
fn find_begin(lines: &[Cut]) -> Option<String> {
    let n_of = |wanted: &str| lines.iter().filter(|line| frame(line) == wanted).count();
    let candidates: Vec<String> = lines
        .iter()
        .take(8)
        .filter(|line| !is_rule(line))
        .filter(|line| {
            line.tokens
                .first()
                .is_none_or(|token| token.kind != Kind::Time)
        })
        .map(frame)
        .collect();
    let most = candidates.iter().map(|frame| n_of(frame)).max()?;
    let again = candidates
        .iter()
        .find(|frame| most > 1 && n_of(frame).saturating_mul(5) >= most.saturating_mul(4));
    again.or(candidates.first()).cloned()
}

/// The frame of the last line of a cycle: the line before every next beginning, and the last of all.
fn find_end(lines: &[Cut], begin: &str) -> Option<String> {
    let mut before = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        if frame(line) != begin {
            continue;
        }
        // A line drawn above the beginning belongs to the next cycle.
        let last = lines
            .get(..at)?
            .iter()
            .rev()
            .take(3)
            .map(frame)
            .collect::<Vec<_>>();
        let is_first = lines.get(..at)?.iter().all(|line| frame(line) != begin);
        if !is_first {
            before.push(last);
        }
    }
    before.push(lines.iter().rev().take(3).map(frame).collect());
    let n = before.len();
    let first = before.last()?;
    first
        .iter()
        .find(|candidate| {
            before
                .iter()
                .filter(|last| last.contains(candidate))
                .count()
                == n
        })
        .cloned()
}

/// Puts a line where it belongs.
fn sort_line(line: &Cut, next: Option<&Cut>, habits: &Habits, findings: &mut Findings) {
    if is_rule(line) {
        return push_new(&mut findings.ignore, rule_template(line));
    }
    let tokens = &line.tokens;
    let n_times = tokens
        .iter()
        .filter(|token| token.kind == Kind::Time)
        .count();
    let has_number = tokens.iter().any(|token| token.kind == Kind::Number);
    let is_timed_first = tokens.first().is_some_and(|token| token.kind == Kind::Time);
    if is_timed_first && has_number && take_reading(line, habits, findings) {
        return;
    }
    if n_times == 1 && !has_number && take_timed_words(line, next, findings) {
        return;
    }
    if take_labels(line, habits, findings) {
        return;
    }
    if take_limit(line, findings) {
        return;
    }
    let words = line
        .text
        .trim_matches(['[', ']', '<', '>', '-', '*', '=', ' ']);
    let is_short = words.split_whitespace().count() <= 4
        && !words.contains([':', '=', ',', '(', '"'])
        && tokens
            .iter()
            .all(|token| matches!(token.kind, Kind::Word | Kind::Mark));
    if is_short && outcome_meaning(words).is_some() {
        if !findings.outcomes.contains(&words.to_owned()) {
            findings.outcomes.push(words.to_owned());
        }
        let template = line.text.replacen(words, "{outcome}", 1);
        findings.line(escape_star(&template));
        return;
    }
    let next_is_reading = next.is_some_and(is_reading);
    if is_short && next_is_reading {
        let (template, word) = around(&line.text, words, "{stage}");
        findings.line(template);
        push_new(&mut findings.stages, word);
        return;
    }
    if tokens.last().is_some_and(|token| token.kind == Kind::Date) && take_dated(line, findings) {
        return;
    }
    if findings.unknown.len() < MOST_UNKNOWN {
        push_new(&mut findings.unknown, frame(line));
    }
}

/// Words and a date at the end: the day above the cycles, or a lot and its expiry.
fn take_dated(line: &Cut, findings: &mut Findings) -> bool {
    let Some((date, before)) = line.tokens.split_last() else {
        return false;
    };
    let lower = line.text.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| lower.contains(word));
    let words = line.text.strip_suffix(&date.text).unwrap_or_default();
    let is_words = |token: &Token| matches!(token.kind, Kind::Word | Kind::Mark);
    if !before.iter().all(is_words) {
        return false;
    }
    let lot = before
        .iter()
        .rev()
        .find(|token| token.kind == Kind::Word && token.text.chars().any(|c| c.is_ascii_digit()));
    if let Some(lot) = lot.filter(|_| has(&["lot", "exp", "until", "good", "use by", "charge"])) {
        let kind = if has(&["spore", "bi ", "biolog"]) {
            "bi"
        } else if has(&["indicator", "ci ", "tape"]) {
            "ci"
        } else if has(&["pouch", "wrap"]) {
            "packaging"
        } else {
            "sterilant"
        };
        let (before, after) = words.split_once(&lot.text).unwrap_or((words, ""));
        findings.settle(format!("whether `{}` is the lot of the {kind}", line.text));
        findings.line(format!(
            "{}{{{kind} lot}}{}{{{kind} expiry}}",
            escape_star(before),
            escape_star(after)
        ));
        return true;
    }
    if has(&["day", "date", "tag", "datum", "sheet"]) && lot.is_none() {
        findings.line(format!("{}{{day}}", escape_star(words)));
        return true;
    }
    false
}

/// A limit, a leak rate or a number of pulses: words with one number and its unit.
fn take_limit(line: &Cut, findings: &mut Findings) -> bool {
    let mut template = String::new();
    let mut tokens = line.tokens.iter().peekable();
    let lower = line.text.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| lower.contains(word));
    let is_max = has(&["max", "high", "most", "allowed", "höchst", "limit", "until"]);
    let is_min = has(&["min ", "low", "least", "mindest", "or more", "minim"]);
    let mut n_found = 0_usize;
    while let Some(token) = tokens.next() {
        if !template.is_empty() && token.n_spaces > 0 {
            template.push(' ');
        }
        if token.kind != Kind::Number {
            if matches!(token.kind, Kind::Date | Kind::Time) {
                return false;
            }
            template.push_str(&escape_star(&token.text));
            continue;
        }
        let Some(unit) = tokens.peek().filter(|next| next.kind == Kind::Word) else {
            return false;
        };
        n_found.add_one();
        if let Some(unit) = LeakRateUnit::from_symbol(unit.text.as_bytes()) {
            let is_allowed = n_found > 1 || is_max && !has(&["rise", "rate", "leak"]);
            let max = if is_allowed { " max" } else { "" };
            let _ = write!(template, "{{leak {}{max}}}", unit.symbol());
            continue;
        }
        let side = if is_min { "min" } else { "max" };
        let placeholder = match (
            unit_meaning(&unit.text),
            DurationUnit::from_symbol(unit.text.as_bytes()),
        ) {
            (Some((quantity, unit)), _) => format!("{{{quantity} {unit} {side}}}"),
            (None, Some(unit)) => format!("{{duration {} {side}}}", unit.symbol()),
            (None, None) => return false,
        };
        if !is_min && !is_max {
            return false;
        }
        template.push_str(&placeholder);
    }
    if n_found == 0 {
        return false;
    }
    findings.settle(format!(
        "whether `{}` is a limit, and on which side",
        line.text
    ));
    findings.line(template);
    true
}

/// A line drawn across the paper as a template: four of its character and whatever follows.
fn rule_template(line: &Cut) -> String {
    let first = line.text.chars().next().unwrap_or('-');
    format!("{}*", escape_star(&first.to_string().repeat(4)))
}

fn escape_star(template: &str) -> String {
    template.replace('*', "{*}")
}

fn push_new<T: PartialEq>(list: &mut Vec<T>, item: T) {
    if !list.contains(&item) {
        list.push(item);
    }
}

/// A text with one part in it replaced by a placeholder.
fn around(text: &str, part: &str, placeholder: &str) -> (String, String) {
    let (before, after) = text.split_once(part).unwrap_or(("", ""));
    (
        format!("{}{placeholder}{}", escape_star(before), escape_star(after)),
        part.to_owned(),
    )
}

fn is_reading(line: &Cut) -> bool {
    line.tokens
        .first()
        .is_some_and(|token| token.kind == Kind::Time)
        && line.tokens.iter().any(|token| token.kind == Kind::Number)
}

/// A time with numbers, each with a unit after it or without.
fn take_reading(line: &Cut, habits: &Habits, findings: &mut Findings) -> bool {
    let mut template = String::new();
    let mut n_without_unit = 0;
    let mut tokens = line.tokens.iter().peekable();
    while let Some(token) = tokens.next() {
        match token.kind {
            Kind::Time if template.is_empty() => template.push_str("{time}"),
            Kind::Number => {
                let next = tokens.peek().filter(|next| next.kind == Kind::Word);
                let meaning = next.and_then(|next| unit_meaning(&next.text));
                template.push(' ');
                match meaning {
                    Some((quantity, unit)) => {
                        let printed = tokens.next().map_or("", |next| next.text.as_str());
                        if !is_own_symbol(printed, quantity) {
                            push_new(&mut findings.units, (unit.to_owned(), printed.to_owned()));
                        }
                        let _ = write!(template, "{{{quantity}}}");
                    }
                    None => {
                        let _ = write!(template, "{{#{n_without_unit}}}");
                        n_without_unit.add_one();
                    }
                }
            }
            // Where a value is missing, some printers print dashes.
            Kind::Mark if token.text.len() > 1 && token.text.starts_with('-') => {
                push_new(&mut findings.missing, token.text.clone());
                let _ = write!(template, " {{#{n_without_unit}}}");
                n_without_unit.add_one();
            }
            Kind::Mark if matches!(token.text.as_str(), "," | ";" | "|") => {
                template.push_str(&token.text);
            }
            Kind::Word | Kind::Mark => {
                template.push(' ');
                template.push_str(&escape_star(&token.text));
            }
            Kind::Date | Kind::Time => return false,
        }
    }
    if n_without_unit > 0 {
        // Where no unit is printed, the first is taken for the pressure and the next for the temperature.
        let guesses = [
            "pressure kPa",
            "temperature C",
            "concentration mg/L",
            "humidity %",
        ];
        let guesses: Vec<&str> = match habits.units_of_columns.as_slice() {
            [] => guesses.to_vec(),
            named => named.iter().map(String::as_str).collect(),
        };
        for (n, guess) in guesses.iter().enumerate().take(n_without_unit) {
            template = template.replace(&format!("{{#{n}}}"), &format!("{{{guess}}}"));
        }
        if template.contains("{#") {
            return false;
        }
        findings.settle(format!(
            "the readings print no unit: `{template}` is a guess at quantity and unit"
        ));
    }
    findings.line(template);
    true
}

/// Whether a layout reads a printed unit without being told.
fn is_own_symbol(printed: &str, quantity: &str) -> bool {
    UnitOf::all().iter().any(|(symbol, unit)| {
        unit.kind().word() == quantity && symbol.eq_ignore_ascii_case(printed)
    })
}

/// A time with words: a stage, an alarm or an event.
fn take_timed_words(line: &Cut, next: Option<&Cut>, findings: &mut Findings) -> bool {
    let Some(at) = line
        .tokens
        .iter()
        .position(|token| token.kind == Kind::Time)
    else {
        return false;
    };
    let is_first = at == 0;
    let is_last = at.saturating_add(1) == line.tokens.len();
    if !is_first && !is_last {
        return false;
    }
    let Some(time) = line.tokens.get(at) else {
        return false;
    };
    let words = if is_first {
        line.text.get(time.text.len()..).unwrap_or_default().trim()
    } else {
        line.text
            .get(..line.text.len().saturating_sub(time.text.len()))
            .unwrap_or_default()
            .trim()
    };
    if words.is_empty() || label_meaning(words.trim_end_matches([':', '=', ' '])).is_some() {
        return false;
    }
    let placed = |inner: &str| {
        if is_first {
            format!("{{time}} {inner}")
        } else {
            format!("{inner} {{time}}")
        }
    };
    // A word or mark that announces what follows.
    let (announced, rest) = match words.split_once(' ') {
        Some((first, rest))
            if is_alarm_word(first)
                || !first.chars().any(char::is_alphanumeric)
                || is_stage_announcement(first) =>
        {
            (Some(first), rest.trim())
        }
        _ => (None, words),
    };
    if announced.is_some_and(is_alarm_word) || announced == Some("!!") {
        let first = announced.unwrap_or_default();
        findings.line(placed(&format!("{} {{alarm}}", escape_star(first))));
        push_new(&mut findings.alarms, rest.to_owned());
        return true;
    }
    let bare = rest.trim_matches(|c: char| !c.is_alphanumeric() && c != ')' && c != '(');
    let is_stage = stage_meaning(bare).is_some() || next.is_some_and(is_reading);
    if is_stage && !bare.is_empty() {
        let lead = announced.map_or(String::new(), |first| format!("{} ", escape_star(first)));
        let (inner, word) = around(rest, bare, "{stage}");
        findings.line(placed(&format!("{lead}{inner}")));
        push_new(&mut findings.stages, word);
        return true;
    }
    if outcome_meaning(words).is_some() {
        findings.line(placed("{outcome}"));
        push_new(&mut findings.outcomes, words.to_owned());
        return true;
    }
    if alarm_meaning(rest).is_some() {
        let lead = announced.map_or(String::new(), |first| format!("{} ", escape_star(first)));
        findings.line(placed(&format!("{lead}{{alarm}}")));
        push_new(&mut findings.alarms, rest.to_owned());
        return true;
    }
    if is_first {
        let lead = announced.map_or(String::new(), |first| format!("{} ", escape_star(first)));
        findings.line(placed(&format!("{lead}{{text}}")));
        return true;
    }
    false
}

/// One label with its value, or several in a line with two spaces or more between them.
fn take_labels(line: &Cut, habits: &Habits, findings: &mut Findings) -> bool {
    let segments: Vec<&str> = line
        .text
        .split("  ")
        .map(str::trim)
        .filter(|segment| !segment.is_empty())
        .collect();
    // A gap between a label and its value is not one between two fields.
    let segments = join_gaps(&segments);
    let read: Vec<Option<(String, String)>> = segments
        .iter()
        .map(|segment| take_label(segment, habits, findings))
        .collect();
    if read.iter().all(Option::is_none) {
        return false;
    }
    if let [Some((template, key))] = read.as_slice() {
        if let Some((label, _)) = template.split_once(" {").filter(|_| !key.is_empty()) {
            let label = label.trim_end_matches([':', '=', ' ', '.']).to_owned();
            let known = findings.labels.entry(key.clone()).or_default();
            push_new(known, label);
        } else {
            findings.line(template.clone());
        }
        return true;
    }
    let parts: Vec<String> = segments
        .iter()
        .zip(&read)
        .map(|(segment, read)| match read {
            Some((template, _)) => template.clone(),
            None => {
                let first = segment.split([':', '=']).next().unwrap_or(segment);
                if first.len() < segment.len() {
                    format!("{}: *", escape_star(first.trim()))
                } else {
                    escape_star(segment)
                }
            }
        })
        .collect();
    findings.line(parts.join(" "));
    true
}

fn join_gaps(segments: &[&str]) -> Vec<String> {
    let mut joined: Vec<String> = Vec::new();
    for segment in segments {
        let is_bare_label = |text: &String| {
            text.ends_with([':', '=']) || label_meaning(text.trim_end_matches(['.', ' '])).is_some()
        };
        let starts_with_mark = segment.starts_with([':', '=']);
        match joined.last_mut() {
            Some(last) if starts_with_mark || is_bare_label(last) => {
                last.push(' ');
                last.push_str(segment);
            }
            _ => joined.push((*segment).to_owned()),
        }
    }
    joined
}

/// A label and its value as a template, and the key under which it can stand in `labels`; the key is empty where the
/// value is more than one field.
fn take_label(segment: &str, habits: &Habits, findings: &mut Findings) -> Option<(String, String)> {
    let (label, value) = split_label(segment)?;
    let guess = label_meaning(&label)?;
    let kinds: Vec<Kind> = cut(&value).iter().map(|token| token.kind).collect();
    let shown = segment
        .split_once(&value)
        .map_or_else(|| label.clone(), |(before, _)| before.trim_end().to_owned());
    let moment = |date: &str, time: &str| {
        let n_of = |wanted: Kind| kinds.iter().filter(|kind| **kind == wanted).count();
        let (n_dates, n_times) = (n_of(Kind::Date), n_of(Kind::Time));
        if n_dates > 1 || n_times > 1 || n_dates == 0 && n_times == 0 || n_of(Kind::Number) > 0 {
            return None;
        }
        let mut template = String::new();
        for token in cut(&value) {
            if !template.is_empty() && token.n_spaces > 0 {
                template.push(' ');
            }
            match token.kind {
                Kind::Date => {
                    let _ = write!(template, "{{{date}}}");
                }
                Kind::Time => {
                    let _ = write!(template, "{{{time}}}");
                }
                _ => template.push_str(&escape_star(&token.text)),
            }
        }
        let key = match kinds.as_slice() {
            [Kind::Date] => date.to_owned(),
            [Kind::Time] => time.to_owned(),
            _ => String::new(),
        };
        Some((template, key))
    };
    let (placeholder, key) = match guess {
        Guess::Start => moment("start date", "start time")?,
        Guess::End => moment("end date", "end time")?,
        Guess::Total => {
            if kinds.first() != Some(&Kind::Time) {
                return None;
            }
            let _ = habits;
            ("{total}".to_owned(), "total".to_owned())
        }
        Guess::Outcome => outcome_value(&value, findings),
        Guess::Cause => {
            push_new(&mut findings.alarms, value.clone());
            ("{cause}".to_owned(), "cause".to_owned())
        }
        Guess::Purpose => {
            purpose_meaning(&value)?;
            push_new(&mut findings.purposes, value.clone());
            ("{purpose}".to_owned(), "purpose".to_owned())
        }
        Guess::Field("outcome stage") => {
            push_new(&mut findings.stages, value.clone());
            ("{outcome stage}".to_owned(), "outcome stage".to_owned())
        }
        Guess::Field("program") => {
            // Printers have programs for tests, and name the purpose by the program alone.
            if purpose_meaning(&value).is_some() {
                push_new(&mut findings.purposes, value.clone());
            }
            ("{program}".to_owned(), "program".to_owned())
        }
        Guess::Field(key) => {
            let needs_number = matches!(key, "counter" | "readings" | "pulses");
            if needs_number && kinds.first() != Some(&Kind::Number) {
                return None;
            }
            let is_name = matches!(key, "unit" | "load" | "operator");
            if is_name && value.contains(' ') {
                return None;
            }
            if key.ends_with("expiry") && kinds.first() != Some(&Kind::Date) {
                return None;
            }
            (format!("{{{key}}}"), key.to_owned())
        }
    };
    Some((format!("{} {placeholder}", escape_star(&shown)), key))
}

/// An outcome, and the stage and cause that may stand after it: `stopped in evacuation (too wet)`.
fn outcome_value(value: &str, findings: &mut Findings) -> (String, String) {
    let mut template = String::new();
    let (rest, cause) = match value.split_once(" (").or_else(|| value.split_once(", ")) {
        Some((rest, cause)) if value.contains(" (") => {
            let inner = cause.trim_end_matches(')');
            push_new(&mut findings.alarms, inner.to_owned());
            (rest, " ({cause})")
        }
        Some((rest, cause)) => {
            push_new(&mut findings.alarms, cause.to_owned());
            (rest, ", {cause}")
        }
        None => (value, ""),
    };
    let joints = [" in ", " during ", " beim ", " while "];
    let parts = joints
        .iter()
        .find_map(|joint| Some((joint, rest.split_once(joint)?)));
    match parts {
        Some((joint, (outcome, stage))) => {
            push_new(&mut findings.outcomes, outcome.trim().to_owned());
            push_new(&mut findings.stages, stage.trim().to_owned());
            let _ = write!(template, "{{outcome}}{joint}{{stage}}");
        }
        None => {
            push_new(&mut findings.outcomes, rest.trim().to_owned());
            template.push_str("{outcome}");
        }
    }
    template.push_str(cause);
    let key = if template == "{outcome}" {
        "outcome"
    } else {
        ""
    };
    (template, key.to_owned())
}

/// A label and what stands after it: after a colon or an equals sign, or after the longest words that are a label.
fn split_label(segment: &str) -> Option<(String, String)> {
    if let Some((label, value)) = segment.split_once([':', '='])
        && !value.trim().is_empty()
    {
        // `Model room unit = …` is about the unit.
        let words: Vec<&str> = label.split_whitespace().collect();
        let known = (0..words.len())
            .map(|at| words.get(at..).unwrap_or_default().join(" "))
            .find(|label| label_meaning(label).is_some());
        if let Some(known) = known {
            return Some((known, value.trim().to_owned()));
        }
    }
    let ends: Vec<usize> = segment.match_indices(' ').map(|(at, _)| at).collect();
    ends.iter().rev().find_map(|&at| {
        let (label, value) = segment.split_at_checked(at)?;
        let label = label.trim_end_matches(['.', ' ', ':']);
        let value = value.trim_start_matches(['.', ' ', ':']);
        (label_meaning(label).is_some() && !value.is_empty())
            .then(|| (label.to_owned(), value.to_owned()))
    })
}

/// Strips that are a table of delimited cells: the separator, the header, the rows below it.
struct TableFound {
    separator: char,
    header: Vec<String>,
    rows: Vec<Vec<String>>,
    outside: Vec<String>,
}

fn find_table(lines: &[Cut]) -> Option<TableFound> {
    for separator in [';', '\t', '|', ','] {
        let n_of = |line: &Cut| line.text.matches(separator).count();
        let most = lines.iter().map(n_of).max().unwrap_or(0);
        let rows: Vec<&Cut> = lines.iter().filter(|line| n_of(line) == most).collect();
        if most < 2
            || rows.len().saturating_mul(3) < lines.len().saturating_mul(2)
            || rows.len() < 3
        {
            continue;
        }
        let cells = |line: &Cut| {
            let cells = line.text.split(separator);
            cells
                .map(|cell| cell.trim().trim_matches('"').to_owned())
                .collect::<Vec<String>>()
        };
        let is_header = |line: &&Cut| {
            let cells = cells(line);
            let n_filled = cells.iter().filter(|cell| !cell.is_empty()).count();
            n_filled > cells.len() / 2
                && cells
                    .iter()
                    .all(|cell| !cell.starts_with(|c: char| c.is_ascii_digit()))
        };
        let at = rows.iter().position(is_header)?;
        let header = rows.get(at)?;
        return Some(TableFound {
            separator,
            header: cells(header),
            rows: rows
                .iter()
                .skip(at.saturating_add(1))
                .map(|line| cells(line))
                .collect(),
            outside: lines
                .iter()
                .filter(|line| n_of(line) != most)
                .chain(rows.iter().take(at).copied())
                .map(|line| line.text.clone())
                .collect(),
        });
    }
    None
}

/// What a column of a table may hold, by its heading and its cells.
fn column_guess(heading: &str, cells: &[&String], findings: &mut Findings) -> Option<String> {
    let kinds = |cell: &&String| cut(cell).iter().map(|token| token.kind).collect::<Vec<_>>();
    let first = cells.iter().find(|cell| !cell.is_empty()).map(kinds);
    match first.as_deref() {
        Some([Kind::Date, Kind::Time]) => return Some("{date} {time}".to_owned()),
        Some([Kind::Date]) => return Some("date".to_owned()),
        Some([Kind::Time]) => return Some("time".to_owned()),
        _ => {}
    }
    let distinct = || {
        let mut words: Vec<&String> = cells
            .iter()
            .copied()
            .filter(|cell| !cell.is_empty())
            .collect();
        words.sort();
        words.dedup();
        words
    };
    let bare = heading.split(['[', '(']).next().unwrap_or(heading).trim();
    let unit = heading
        .split(['[', '(', ']', ')'])
        .nth(1)
        .unwrap_or_default();
    if let Some((quantity, unit)) = unit_meaning(unit) {
        return Some(format!("{quantity} {unit}"));
    }
    if is_alarm_word(bare) {
        for word in distinct() {
            push_new(&mut findings.alarms, word.clone());
        }
        return Some("alarm".to_owned());
    }
    if is_stage_announcement(bare) {
        for word in distinct() {
            push_new(&mut findings.stages, word.clone());
        }
        return Some("stage".to_owned());
    }
    match label_meaning(bare)? {
        Guess::Field(key) => Some(key.to_owned()),
        Guess::Outcome => {
            let mut templates: Vec<String> = Vec::new();
            for word in distinct() {
                push_new(&mut templates, outcome_value(word, findings).0);
            }
            templates.sort_by_key(|template| std::cmp::Reverse(template.len()));
            Some(templates.join("\n"))
        }
        _ => None,
    }
}

fn draft_table(table: &TableFound, habits: &Habits) -> Draft {
    let mut findings = Findings::default();
    let mut toml =
        String::from("layout = 1\nname = \"draft\" # a name for the printer, without spaces\n");
    let outside: Vec<String> = table
        .outside
        .iter()
        .map(|text| quoted(&escape_star(text)))
        .collect();
    if !outside.is_empty() {
        let _ = writeln!(
            toml,
            "ignore = [{}] # CHECK: they stand outside the table",
            outside.join(", ")
        );
    }
    let separator = if table.separator == '\t' {
        "tab".to_owned()
    } else {
        table.separator.to_string()
    };
    let mut columns = String::new();
    for (at, heading) in table
        .header
        .iter()
        .enumerate()
        .filter(|(_, heading)| !heading.is_empty())
    {
        let cells: Vec<&String> = table.rows.iter().filter_map(|row| row.get(at)).collect();
        match column_guess(heading, &cells, &mut findings) {
            Some(field) => {
                findings.labels.insert(field.clone(), vec![heading.clone()]);
                let fields: Vec<String> = field.lines().map(quoted).collect();
                let value = match fields.as_slice() {
                    [one] => one.clone(),
                    several => format!("[{}]", several.join(", ")),
                };
                let _ = writeln!(columns, "{} = {value}", quoted(heading));
            }
            None => {
                findings.settle(format!("what the column `{heading}` holds"));
                let _ = writeln!(columns, "# SETTLE: {} = \"\"", quoted(heading));
            }
        }
    }
    write_always(&mut toml, &mut findings);
    findings.labels.clear();
    write_habits(&mut toml, habits, &mut findings);
    let _ = writeln!(toml, "[table]\nseparator = {}", quoted(&separator));
    toml.push_str("start = \"first row\" # CHECK: the first row of a cycle is its start\nend = \"last row\"\n[table.columns]\n");
    toml.push_str(&columns);
    write_words(&mut toml, &mut findings);
    Draft {
        toml,
        to_settle: findings.to_settle,
    }
}

fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                quoted.push('\\');
                quoted.push(c);
            }
            _ if c.is_control() => {}
            _ => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// A line as a template: figures become `*`, and the number after a word for the counter becomes its placeholder.
fn template_of(line: &Cut, findings: &mut Findings) -> String {
    let mut template = String::new();
    let mut words_before = String::new();
    let mut was_star = false;
    for token in &line.tokens {
        let placed = match token.kind {
            Kind::Number => {
                let tail: Vec<&str> = words_before.split_whitespace().rev().take(2).collect();
                let both: Vec<&str> = tail.iter().rev().copied().collect();
                let is_counter = [
                    both.join(" "),
                    tail.first().map_or_else(String::new, |w| (*w).to_owned()),
                ]
                .iter()
                .any(|words| matches!(label_meaning(words), Some(Guess::Field("counter"))));
                if is_counter && !template.contains("{counter}") {
                    "{counter}".to_owned()
                } else {
                    "*".to_owned()
                }
            }
            Kind::Date => "{start date}".to_owned(),
            Kind::Time => "{start time}".to_owned(),
            Kind::Word | Kind::Mark => escape_star(&token.text),
        };
        if token.kind == Kind::Word {
            words_before.push(' ');
            words_before.push_str(&token.text);
        }
        let is_star = placed == "*";
        if is_star && was_star {
            continue;
        }
        was_star = is_star;
        if is_star {
            findings.settle(format!(
                "`{}` has a number that may be worth keeping",
                line.text
            ));
        }
        if !template.is_empty() && token.n_spaces > 0 {
            template.push(' ');
        }
        template.push_str(&placed);
    }
    template
}

fn write_toml(
    lines: &[Cut],
    begin: Option<&str>,
    end: Option<&str>,
    habits: &Habits,
    findings: &mut Findings,
) -> String {
    let mut toml =
        String::from("layout = 1\nname = \"draft\" # a name for the printer, without spaces\n");
    if habits.charset == Charset::CodePage437 {
        toml.push_str("encoding = \"cp437\" # its lines are drawn with this code page\n");
    }
    match begin {
        Some(begin) => {
            let n = lines.iter().filter(|line| frame(line) == begin).count();
            let first = lines.iter().find(|line| frame(line) == begin);
            let template = first.map_or_else(String::new, |line| template_of(line, findings));
            let sure = if n > 1 {
                format!("found {n} times")
            } else {
                findings.settle("the first line of a cycle was seen once only".to_owned());
                "CHECK: seen once only".to_owned()
            };
            let _ = writeln!(toml, "begin = {} # {sure}", quoted(&template));
        }
        None => {
            toml.push_str("begin = \"\" # SETTLE: the first line of a cycle\n");
            findings.settle("no first line was found".to_owned());
        }
    }
    if let Some(end) = end {
        let first = lines.iter().find(|line| frame(line) == end);
        let template = match first {
            Some(line) if is_rule(line) => rule_template(line),
            Some(line) => template_of(line, findings),
            None => String::new(),
        };
        let _ = writeln!(
            toml,
            "end = {} # before every next beginning",
            quoted(&template)
        );
        findings.ignore.retain(|ignored| *ignored != template);
    } else {
        findings.settle(
            "no line stands at the end of every cycle; without one, the outcome ends it".to_owned(),
        );
    }
    let n_begin = begin.map_or(0, |begin| {
        lines.iter().filter(|line| frame(line) == begin).count()
    });
    let mut unknown = std::mem::take(&mut findings.unknown);
    // The same words in every cycle, without a figure, say nothing.
    unknown.retain(|shown| {
        let n = lines.iter().filter(|line| frame(line) == *shown).count();
        let says_nothing = n_begin > 1 && n >= n_begin && !shown.contains('<');
        if says_nothing {
            let text = lines.iter().find(|line| frame(line) == *shown);
            let text = text.map_or_else(String::new, |line| {
                line.text.split_whitespace().collect::<Vec<_>>().join(" ")
            });
            push_new(&mut findings.ignore, escape_star(&text));
        }
        !says_nothing
    });
    if habits.body_is_elapsed {
        for line in &mut findings.lines {
            if line.starts_with("{time}") {
                *line = line.replacen("{time}", "{elapsed}", 1);
            }
        }
        findings.settle("whether the times at the front of lines count from the start".to_owned());
    }
    if !findings.ignore.is_empty() {
        let ignored: Vec<String> = findings.ignore.iter().map(|text| quoted(text)).collect();
        let _ = writeln!(toml, "ignore = [{}]", ignored.join(", "));
    }
    factor_last_word(findings);
    // The more a template holds, the earlier it is tried; texts of any length come last.
    let weight = |template: &String| {
        let n_fields = template.matches('{').count();
        let is_open = template.contains("{text}") || template.contains("{program}");
        (
            is_open,
            std::cmp::Reverse(n_fields),
            std::cmp::Reverse(template.len()),
        )
    };
    findings.lines.sort_by_key(weight);
    toml.push_str("lines = [\n");
    for line in &findings.lines {
        let _ = writeln!(toml, "    {},", quoted(line));
    }
    for shown in &unknown {
        let Some(line) = lines.iter().find(|line| frame(line) == *shown) else {
            continue;
        };
        let mut template = String::new();
        for token in &line.tokens {
            let is_figure = !matches!(token.kind, Kind::Word | Kind::Mark);
            if is_figure && template.ends_with('*') {
                continue;
            }
            if !template.is_empty() && token.n_spaces > 0 {
                template.push(' ');
            }
            template.push_str(&if is_figure {
                "*".to_owned()
            } else {
                escape_star(&token.text)
            });
        }
        let _ = writeln!(toml, "    # SETTLE: {},", quoted(&template));
    }
    toml.push_str("]\n");
    if !unknown.is_empty() {
        findings.settle(format!(
            "{} forms of lines were not understood: put placeholders in them, or move them to `ignore`",
            unknown.len()
        ));
    }
    write_always(&mut toml, findings);
    if let Some(columns) = habits.wrapped {
        let _ = writeln!(
            toml,
            "[wrap] # CHECK: the paper's width\ncolumns = {columns}\nrule = \"full line\""
        );
    }
    write_habits(&mut toml, habits, findings);
    if !findings.labels.is_empty() {
        toml.push_str("[labels]\n");
        for (key, labels) in &findings.labels {
            let key = if key.contains(' ') {
                quoted(key)
            } else {
                key.clone()
            };
            let list: Vec<String> = labels.iter().map(|label| quoted(label)).collect();
            let value = match list.as_slice() {
                [one] => one.clone(),
                several => format!("[{}]", several.join(", ")),
            };
            let _ = writeln!(toml, "{key} = {value}");
        }
    }
    write_words(&mut toml, findings);
    toml
}

/// A word that ends every stage's line is no part of the stages' names.
fn factor_last_word(findings: &mut Findings) {
    const TEMPLATE: &str = "{time} {stage}";
    let last = |word: &String| word.split_whitespace().next_back().map(str::to_owned);
    let Some(at) = findings.lines.iter().position(|line| line == TEMPLATE) else {
        return;
    };
    let mut words = findings.stages.iter().filter(|word| word.contains("  "));
    let Some(ending) = words.next().and_then(last) else {
        return;
    };
    let n = findings
        .stages
        .iter()
        .filter(|word| last(word).as_ref() == Some(&ending))
        .count();
    if n < 2 || n.saturating_mul(2) < findings.stages.len() {
        return;
    }
    if let Some(line) = findings.lines.get_mut(at) {
        *line = format!("{TEMPLATE} {}", escape_star(&ending));
    }
    let stages = std::mem::take(&mut findings.stages);
    for word in stages {
        let bare = word
            .strip_suffix(&ending)
            .unwrap_or(&word)
            .trim()
            .to_owned();
        push_new(&mut findings.stages, bare);
    }
}

fn write_always(toml: &mut String, findings: &mut Findings) {
    toml.push_str("[always]\n");
    let is_plasma = findings
        .stages
        .iter()
        .any(|stage| matches!(stage_meaning(stage), Some("inject" | "diffuse" | "plasma")));
    let is_eo = findings
        .stages
        .iter()
        .any(|stage| stage_meaning(stage) == Some("aerate"));
    let process = match (is_plasma, is_eo) {
        (true, _) => "plasma",
        (_, true) => "eo",
        _ => "steam",
    };
    let _ = writeln!(toml, "process = \"{process}\" # CHECK: plasma, steam or eo");
    let prints_unit = findings.labels.contains_key("unit")
        || findings.lines.iter().any(|line| line.contains("{unit}"));
    if !prints_unit {
        toml.push_str("unit = \"UNIT-1\" # SETTLE: the strip prints no name of the unit\n");
        findings.settle("the strip prints no name of the unit: give it under [always]".to_owned());
    }
}

fn write_habits(toml: &mut String, habits: &Habits, findings: &mut Findings) {
    if habits.decimal_comma || !findings.missing.is_empty() {
        toml.push_str("[numbers]\n");
    }
    if habits.decimal_comma {
        toml.push_str("decimal = \"comma\"\n");
    }
    if !findings.missing.is_empty() {
        let missing: Vec<String> = findings.missing.iter().map(|text| quoted(text)).collect();
        let _ = writeln!(toml, "missing = [{}]", missing.join(", "));
    }
    if !findings.units.is_empty() {
        toml.push_str("[units] # CHECK: loadbook's unit = the printer's\n");
        for (unit, printed) in &findings.units {
            let _ = writeln!(toml, "{} = {}", quoted(unit), quoted(printed));
        }
    }
    let date = habits.date.as_deref().filter(|date| *date != "YYYY-MM-DD");
    let time = habits.time.as_deref().filter(|time| *time != "HH:MM:SS");
    if date.is_none() && time.is_none() && habits.length.is_none() {
        return;
    }
    toml.push_str("[dates]\n");
    if let Some(date) = date {
        let sure = if habits.date_is_sure {
            ""
        } else {
            findings.settle(
                "whether the day or the month stands first can't be told from these dates"
                    .to_owned(),
            );
            " # CHECK: is the day first?"
        };
        let _ = writeln!(toml, "date = {}{sure}", quoted(date));
        if date.contains("YY") && !date.contains("YYYY") {
            toml.push_str("\"first year\" = 1990 # two digits stand for 1990 to 2089\n");
        }
    }
    if let Some(language) = habits.has_month_names {
        let _ = writeln!(toml, "months = \"{language}\"");
    }
    if let Some(time) = time {
        let _ = writeln!(toml, "time = {}", quoted(time));
    }
    // A length of time is written as a time of day is, but for AM and PM.
    if let Some(length) = &habits.length {
        let _ = writeln!(toml, "length = {}", quoted(length));
    } else if let Some(time) = time.filter(|_| findings.labels.contains_key("total")) {
        let length = time.trim_end_matches("AM").trim_end();
        let _ = writeln!(toml, "length = {}", quoted(length));
    }
}

fn write_words(toml: &mut String, findings: &mut Findings) {
    type Meaning = fn(&str) -> Option<&'static str>;
    let tables: [(&str, &Vec<String>, Meaning, &str); 4] = [
        ("stage", &findings.stages, stage_meaning, "a-stage"),
        ("alarm", &findings.alarms, alarm_meaning, "a-cause"),
        ("outcome", &findings.outcomes, outcome_meaning, ""),
        ("purpose", &findings.purposes, purpose_meaning, "load"),
    ];
    let mut to_settle = Vec::new();
    for (name, words, meaning, fallback) in tables {
        if words.is_empty() {
            continue;
        }
        let _ = writeln!(
            toml,
            "[words.{name}] # CHECK each: loadbook's word = the printer's"
        );
        let mut by_meaning: BTreeMap<String, Vec<&String>> = BTreeMap::new();
        for word in words {
            if name == "outcome" && meaning(word).is_none() {
                // An outcome is never guessed.
                to_settle.push(format!("what `{word}` means as an outcome"));
                let _ = writeln!(toml, "# SETTLE: completed = {}", quoted(word));
                continue;
            }
            let key = match meaning(word) {
                Some(key) => key.to_owned(),
                None => {
                    to_settle.push(format!("what `{word}` means as a word of [words.{name}]"));
                    let own: String = word
                        .to_lowercase()
                        .chars()
                        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
                        .collect();
                    let own = own.split('-').filter(|part| !part.is_empty());
                    let own = own.collect::<Vec<_>>().join("-");
                    let own = own
                        .trim_start_matches(|c: char| !c.is_ascii_alphabetic())
                        .to_owned();
                    if own.is_empty() {
                        fallback.to_owned()
                    } else {
                        own.get(..40.min(own.len())).unwrap_or(&own).to_owned()
                    }
                }
            };
            by_meaning.entry(key).or_default().push(word);
        }
        for (key, words) in by_meaning {
            let list: Vec<String> = words.iter().map(|word| quoted(word)).collect();
            let value = match list.as_slice() {
                [one] => one.clone(),
                several => format!("[{}]", several.join(", ")),
            };
            let _ = writeln!(toml, "{key} = {value}");
        }
    }
    for what in to_settle {
        findings.settle(what);
    }
}

#[cfg(test)]
mod tests;
