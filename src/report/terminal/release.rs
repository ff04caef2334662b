//! What the records of each load support, drawn: the counts, then the loads, what needs a person first.

use super::caution::{draw_cautions, draw_cautions_in_full};
use super::policy::draw_policy_notes;
use super::prose::paragraph;
use super::reason::draw_reason;
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::judge::decision::Decision;
use crate::report::caution::Caution;
use crate::report::inert;
use crate::report::release::{DecisionCount, ReleaseReport, ReleaseRow, RuleCount, Urgency};
use crate::report::table::{Cell, Column, Table};

/// Loads of one urgency shown in a short list.
const SHORT_LOADS: usize = 6;

/// Draws the report.
pub fn draw_release(report: &ReleaseReport, terminal: &Terminal) -> String {
    let mut out = draw_title(report, terminal);
    out.push_str(&draw_policy_notes(&report.policies, terminal));
    out.push('\n');
    out.push_str(&draw_counts(&report.counts, terminal));
    let mut urgent: Vec<Caution> = report
        .rows
        .iter()
        .filter(|row| row.urgency.needs_person())
        .filter_map(|row| row.caution)
        .collect();
    urgent.sort_unstable();
    urgent.dedup();
    if !urgent.is_empty() {
        out.push('\n');
        out.push_str(&draw_cautions(&urgent, terminal));
    }
    out.push_str(&draw_rules(&report.rules, &report.notes, terminal));
    for (urgency, n) in &report.urgencies {
        out.push_str(&draw_section(report, *urgency, *n, terminal));
    }
    if !report.cautions.is_empty() {
        out.push_str(&format!("\n{}\n", terminal.heading("CAUTIONS IN FULL")));
        out.push_str(&draw_cautions_in_full(&report.cautions, terminal));
    }
    out.push_str(&format!("\n{}\n", terminal.heading("HOW TO GO ON")));
    out.push_str(&paragraph(
        "",
        "`loadbook show LOAD PATH` tells of one load why, and what would change it. --decision hold,quarantine lists \
         these alone; --all lists every load. loadbook tells what the records support; people release.",
        terminal.width,
    ));
    out
}

fn draw_title(report: &ReleaseReport, terminal: &Terminal) -> String {
    let n_needing: usize = report
        .urgencies
        .iter()
        .filter(|(urgency, _)| urgency.needs_person())
        .map(|(_, n)| n)
        .sum();
    let n_loads: usize = report.counts.iter().map(|count| count.n_loads).sum();
    let mut words = format!(
        "{n_loads} {}, of which {n_needing} {} a person.",
        if n_loads == 1 { "load" } else { "loads" },
        if n_needing == 1 { "needs" } else { "need" }
    );
    if let Some(as_of) = &report.as_of {
        words.push_str(&format!(" As of {}.", as_of.local.format("%Y-%m-%d %H:%M")));
    }
    if let Some(scope) = report.scope.said() {
        words.push_str(&format!(" Narrowed: {scope}."));
    }
    terminal.lead("WHAT THE RECORDS SUPPORT", &words)
}

/// The counts by decision.
pub fn draw_counts(counts: &[DecisionCount], terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::name("Decision"),
        Column::number("Loads"),
        Column::number("Let go"),
        Column::number("Nothing signed"),
        Column::number("Held, called back"),
        Column::words("What the records say"),
    ]);
    for count in counts {
        let n = |n: usize| Cell::count_or_dash(n as u64);
        table.push([
            count.decision.word().into(),
            n(count.n_loads),
            n(count.n_released),
            n(count.n_open),
            n(count.n_settled),
            say_decision(count.decision).into(),
        ]);
    }
    draw_table(&table, 0, terminal)
}

/// The rules that decide, with how many loads; nothing where every load is supported.
pub fn draw_rules(rules: &[RuleCount], notes: &[RuleCount], terminal: &Terminal) -> String {
    let mut out = String::new();
    if !rules.is_empty() {
        out.push_str(&draw_deciding(rules, terminal));
    }
    if !notes.is_empty() {
        let mut table = Table::new([
            Column::words("Rule").at_least(20),
            Column::number("Loads"),
            Column::name("Newest"),
            Column::place("Where"),
        ]);
        for count in notes {
            table.push([
                count.rule.0.into(),
                count.n_loads.into(),
                Cell::maybe(count.newest.clone()),
                Cell::from(count.place.as_ref()),
            ]);
        }
        out.push_str(&format!(
            "\n{}\n{}",
            terminal.heading("NOTED, AND DECIDING NOTHING"),
            draw_table(&table, 0, terminal)
        ));
    }
    if !out.is_empty() {
        out.push_str(&paragraph(
            "",
            "A load can stand in several rows. `loadbook policy` tells of each rule what it asks, and where it comes \
             from.",
            terminal.width,
        ));
    }
    out
}

fn draw_deciding(rules: &[RuleCount], terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::words("Rule that decides").at_least(20),
        Column::name("Does"),
        Column::number("Loads"),
        Column::number("Let go"),
        Column::number("Nothing signed"),
        Column::name("To begin with"),
    ]);
    let n = |n: usize| Cell::count_or_dash(n as u64);
    for count in rules {
        table.push([
            count.rule.0.into(),
            count.effect.word().into(),
            count.n_loads.into(),
            n(count.n_released),
            n(count.n_open),
            Cell::maybe(count.newest.clone()),
        ]);
    }
    format!(
        "\n{}\n{}",
        terminal.heading("LOADS BY THE RULE THAT DECIDES"),
        draw_table(&table, 0, terminal)
    )
}

/// What a decision means, in a few words.
pub fn say_decision(decision: Decision) -> &'static str {
    match decision {
        Decision::Release => "complete, nothing against",
        Decision::Quarantine => "complete, awaits a BI",
        Decision::Hold => "lacking or contradictory",
        Decision::Reject => "evidence against",
        Decision::Recall => "evidence against, had left",
    }
}

fn draw_section(report: &ReleaseReport, urgency: Urgency, n: usize, terminal: &Terminal) -> String {
    let heading = format!("{}: {n}", urgency.said().to_uppercase());
    let mut out = format!("\n{}\n", terminal.heading(&heading));
    out.push_str(&paragraph("", urgency.next(), terminal.width));
    let of_it = report.rows.iter().filter(|row| row.urgency == urgency);
    // What has left and must come back is never cut short; what people have settled is only counted.
    let n_drawn = match (urgency, terminal.extent) {
        (_, Extent::All) | (Urgency::GetBack, _) => n,
        (Urgency::Done | Urgency::Settled | Urgency::HeldAllTheSame, Extent::Short)
            if report.urgencies.len() > 1 =>
        {
            0
        }
        _ => terminal.n_drawn(n, SHORT_LOADS),
    };
    for row in of_it.take(n_drawn) {
        out.push_str(&draw_load(row, terminal));
    }
    let n_left = n.saturating_sub(n_drawn);
    if n_left > 0 {
        let words = match n_drawn {
            0 => "Not listed here; --all lists every one.".to_owned(),
            _ => format!("... and {n_left} more; --all lists every one."),
        };
        out.push_str(&paragraph("", &words, terminal.width));
    }
    out
}

fn draw_load(row: &ReleaseRow, terminal: &Terminal) -> String {
    let heading = format!(
        "{}  {}",
        inert::text(&row.load),
        row.decision.word().to_uppercase()
    );
    let mut parts: Vec<String> = Vec::new();
    parts.extend(row.cycle.clone().or_else(|| row.unit.clone()));
    parts.extend(row.began.clone());
    parts.push(row.signed.clone());
    let at = row
        .place
        .as_ref()
        .map(|place| format!(" ({})", terminal.place(place)));
    let words = format!("{}{}", parts.join("; "), at.unwrap_or_default());
    let mut out = format!("\n{}", terminal.lead(&heading, &words));
    for reason in &row.reasons {
        out.push_str(&draw_reason(reason, 0, terminal));
    }
    if !row.further.is_empty() {
        let names: Vec<&str> = row.further.iter().map(|rule| rule.0).collect();
        let words = format!("Besides: {}.", names.join(", "));
        out.push_str(&paragraph("  ", &words, terminal.width));
    }
    out
}
