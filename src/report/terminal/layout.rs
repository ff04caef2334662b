//! Layouts drawn: which there are, how one did on strips, what a draft asks for.
//!
//! Each line of a strip stands with what it became and the fields found in it; colour marks the fields, and their names
//! stand beside them. Read [`draw_trial`] first.

use super::prose::{count, paragraph, shorten_middle, width_of};
use super::{Color, Terminal};
use crate::parse::layout::compile::Layout;
use crate::parse::layout::draft::Draft;
use crate::parse::layout::trial::{Account, Became, Trial};
use crate::report::inert;
use std::fmt::Write;
use std::sync::Arc;

/// How many lines of each kind are drawn when not all are asked for.
const SHORT: usize = 40;
/// Columns of a line's number and of what it became.
const LEAD: usize = 17;

/// Draws the list of layouts.
pub fn draw_layouts(layouts: &[Arc<Layout>], terminal: &Terminal) -> String {
    let widest = layouts
        .iter()
        .map(|layout| layout.name.len())
        .max()
        .unwrap_or(0);
    let mut text = String::new();
    for layout in layouts {
        let lead = format!("{:<widest$}  ", layout.name);
        text.push_str(&paragraph(&lead, &layout.about, terminal.width));
        text.push('\n');
    }
    text
}

/// Draws how a layout did: the score, unread lines first, what never came up, then every line.
pub fn draw_trial(trial: &Trial, layout: &Layout, terminal: &Terminal) -> String {
    let mut text = String::new();
    let score = format!(
        "{} of {} lines that are not blank were read ({} %), in {}.",
        trial.n_read,
        trial.n_lines,
        trial.score(),
        count(trial.cycles.len(), "cycle", "cycles")
    );
    push_lead(
        &mut text,
        &format!("LAYOUT {}", trial.layout),
        &score,
        terminal,
    );
    if trial.is_complete() {
        push_paragraph(
            &mut text,
            "Every line is read, and every cycle has what it should.",
            terminal,
        );
    }
    for (what, n) in &trial.lacking {
        let said = format!(
            "{} of {} have none",
            n,
            count(trial.cycles.len(), "cycle", "cycles")
        );
        push_lead(&mut text, &format!("LACKING {what}"), &said, terminal);
    }
    if !trial.own_words.is_empty() {
        let said = format!(
            "{}. No rule of loadbook knows them; give them their meaning in [words.stage] and [words.alarm].",
            trial.own_words.join(", ")
        );
        push_lead(&mut text, "THE PRINTER'S OWN WORDS", &said, terminal);
    }
    let unread: Vec<&Account> = of_kind(trial, |became| became == Became::Unread);
    push_lines(&mut text, "NOT READ", &unread, trial, terminal);
    if !trial.fields_never_found.is_empty() {
        push_lead(
            &mut text,
            "FIELDS NEVER FOUND",
            &trial.fields_never_found.join(", "),
            terminal,
        );
    }
    if !trial.never_found.is_empty() {
        text.push('\n');
        let _ = writeln!(text, "{}", terminal.heading("FORMS THAT FITTED NO LINE"));
        for never in &trial.never_found {
            let own = never.place.file.0 == 0;
            let lead = if own {
                format!("  line {:>3}  ", never.place.line)
            } else {
                "  extended  ".to_owned()
            };
            let _ = writeln!(
                text,
                "{}",
                paragraph(&lead, &never.shown, terminal.width).trim_end()
            );
        }
    }
    let read: Vec<&Account> = of_kind(trial, |became| {
        !matches!(became, Became::Unread | Became::Idle)
    });
    push_lines(&mut text, "READ", &read, trial, terminal);
    for warning in &layout.warnings {
        let line = warning.primary.map_or(0, |span| span.line);
        push_paragraph(
            &mut text,
            &format!("line {line} of the layout: {}", warning.headline),
            terminal,
        );
    }
    text
}

fn of_kind(trial: &Trial, is: impl Fn(Became) -> bool) -> Vec<&Account> {
    trial
        .accounts
        .iter()
        .filter(|account| is(account.became))
        .collect()
}

fn push_lead(text: &mut String, heading: &str, said: &str, terminal: &Terminal) {
    text.push_str(terminal.lead(heading, said).trim_end());
    text.push('\n');
}

fn push_paragraph(text: &mut String, said: &str, terminal: &Terminal) {
    text.push_str(paragraph("", said, terminal.width).trim_end());
    text.push('\n');
}

fn push_lines(
    text: &mut String,
    heading: &str,
    accounts: &[&Account],
    trial: &Trial,
    terminal: &Terminal,
) {
    if accounts.is_empty() {
        return;
    }
    text.push('\n');
    let _ = writeln!(text, "{}", terminal.heading(heading));
    let n_drawn = terminal.n_drawn(accounts.len(), SHORT);
    let mut strip = None;
    for account in accounts.iter().take(n_drawn) {
        let number = account.span.file.0 as usize;
        if trial.strips.len() > 1 && strip != Some(number) {
            strip = Some(number);
            let name = trial.strips.get(number).map_or("", String::as_str);
            let _ = writeln!(text, "in {}", inert::text(name));
        }
        push_account(text, account, terminal);
    }
    let n_left = accounts.len().saturating_sub(n_drawn);
    if n_left > 0 {
        let _ = writeln!(text, "  {n_left} more lines; --all shows them");
    }
}

/// A line, what it became, and the fields found in it or why it was not read.
fn push_account(text: &mut String, account: &Account, terminal: &Terminal) {
    let room = terminal.width.saturating_sub(LEAD).max(20);
    let shown = match (&account.diagnostic, account.text.is_empty()) {
        (Some(_), true) => "(not repeated here)".to_owned(),
        _ => marked(account, room, terminal),
    };
    let _ = writeln!(
        text,
        "{:>6}  {:<8} {shown}",
        account.number,
        account.became.word()
    );
    let below = match &account.diagnostic {
        Some(diagnostic) => diagnostic.headline.clone(),
        None => fields(account),
    };
    if !below.is_empty() {
        let lead = " ".repeat(LEAD);
        text.push_str(paragraph(&lead, &below, terminal.width).trim_end());
        text.push('\n');
    }
}

/// The fields by name with what was found for each.
fn fields(account: &Account) -> String {
    let named: Vec<String> = account
        .fields
        .iter()
        .map(|field| {
            let value = account.text.get(field.start..field.end).unwrap_or_default();
            match &field.meaning {
                Some(meaning) => format!("{} = {value}, read as {meaning}", field.name),
                None => format!("{} = {value}", field.name),
            }
        })
        .collect();
    named.join("; ")
}

/// The line's text, inert and within its room, with the fields in colour where that is allowed.
fn marked(account: &Account, room: usize, terminal: &Terminal) -> String {
    let plain = inert::text(account.text.trim_end());
    let is_changed = plain != account.text.trim_end();
    if terminal.color == Color::Plain || is_changed || width_of(&plain) > room {
        return shorten_middle(&plain, room);
    }
    let mut fields: Vec<(usize, usize)> = account
        .fields
        .iter()
        .map(|field| (field.start, field.end))
        .collect();
    fields.sort_unstable();
    let mut shown = String::new();
    let mut at = 0;
    for (start, end) in fields {
        if start < at {
            continue;
        }
        shown.push_str(plain.get(at..start).unwrap_or_default());
        let _ = write!(
            shown,
            "\u{1b}[36m{}\u{1b}[0m",
            plain.get(start..end).unwrap_or_default()
        );
        at = end;
    }
    shown.push_str(plain.get(at..).unwrap_or_default());
    shown
}

/// Draws what a person must settle of a draft, and what to do next. `file` is where it was written.
pub fn draw_draft_notes(draft: &Draft, file: &str, terminal: &Terminal) -> String {
    let mut text = String::new();
    let n = draft.toml.lines().count();
    push_lead(
        &mut text,
        "DRAFT",
        &format!("a layout of {}", count(n, "line", "lines")),
        terminal,
    );
    if !draft.to_settle.is_empty() {
        text.push('\n');
        let _ = writeln!(text, "{}", terminal.heading("TO SETTLE"));
        for what in &draft.to_settle {
            text.push_str(paragraph("  - ", what, terminal.width).trim_end());
            text.push('\n');
        }
    }
    text.push('\n');
    push_lead(
        &mut text,
        "NEXT",
        &format!(
            "compare the lines marked CHECK and SETTLE with the strip, then: loadbook layout try {file} STRIP"
        ),
        terminal,
    );
    text
}
