//! One cycle or load in full, drawn.

use super::plot::draw_plot;
use super::prose::{paragraph, width_of};
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::report::caution::Caution;
use crate::report::inert;
use crate::report::show::{CycleView, EntryRow, Fact, LoadView, Shown, say_length};
use crate::report::table::{Cell, Column, Table};

/// Source lines shown from the beginning of a long printout in a short list, and from its end.
const SHORT_LINES: (usize, usize) = (24, 8);

/// Draws what was asked for.
pub fn draw_shown(shown: &Shown, terminal: &Terminal) -> String {
    let mut out = String::new();
    for cycle in &shown.cycles {
        out.push_str(&draw_cycle_head(cycle, terminal));
    }
    for load in shown.loads.iter().filter(|_| shown.cycles.is_empty()) {
        out.push_str(&terminal.heading(&format!("LOAD {}", inert::text(&load.load))));
        out.push_str(" has no printout.\n");
    }
    out.push_str(&draw_needs(shown, terminal));
    for cycle in &shown.cycles {
        out.push_str(&draw_cycle(cycle, terminal));
    }
    for load in &shown.loads {
        out.push_str(&draw_load(load, terminal));
    }
    for cycle in &shown.cycles {
        out.push_str(&draw_lines(cycle, terminal));
    }
    out
}

fn draw_cycle_head(cycle: &CycleView, terminal: &Terminal) -> String {
    let heading = terminal.heading(&format!("CYCLE {}", inert::text(&cycle.cycle)));
    let at = cycle
        .outcome_place
        .as_ref()
        .map(|place| format!(" ({})", terminal.place(place)))
        .unwrap_or_default();
    let said = inert::text(&format!("  {}{at}", cycle.outcome_said)).into_owned();
    format!("{heading}{said}\n")
}

fn draw_needs(shown: &Shown, terminal: &Terminal) -> String {
    let mut out = String::new();
    for need in &shown.needs {
        for case in &need.cases {
            let words = format!("{}: {}; {}.", need.said, case.seen, case.state_said);
            out.push_str(&paragraph("* ", &words, terminal.width));
        }
        if need.is_open() {
            out.push_str(&paragraph("  ", need.next, terminal.width));
        }
    }
    if !shown.cautions.is_empty() {
        let mut said: Vec<&str> = shown
            .cautions
            .iter()
            .map(|caution| caution.said())
            .collect();
        said.push(Caution::DEFERS);
        out.push_str(&terminal.lead("TAKE CARE", &said.join(" ")));
    }
    out
}

fn draw_cycle(cycle: &CycleView, terminal: &Terminal) -> String {
    let mut out = section("WHO AND WHAT", &facts_table(&cycle.facts), terminal);
    if !cycle.reprints.is_empty() {
        let places: Vec<String> = cycle
            .reprints
            .iter()
            .map(|place| terminal.place(place))
            .collect();
        out.push_str(&paragraph(
            "Printed again: ",
            &places.join(", "),
            terminal.width,
        ));
    }
    if !cycle.stages.is_empty() {
        let mut table = Table::new([
            Column::number("#"),
            Column::name("Stage"),
            Column::name("Began"),
            Column::number("Length"),
            Column::number("Pulses"),
            Column::number("Values"),
            Column::words("Limits printed"),
            Column::number("Line").priority(1),
        ]);
        for stage in &cycle.stages {
            table.push([
                stage.n.into(),
                stage.stage.as_str().into(),
                stage.began.as_str().into(),
                say_length(stage.length_seconds).into(),
                stage
                    .n_pulses
                    .map_or(Cell::Blank, |n| Cell::Count(u64::from(n))),
                stage.n_readings.into(),
                stage.limits.join("; ").into(),
                Cell::Count(u64::from(stage.place.line)),
            ]);
        }
        out.push_str(&section("STAGES", &table.without_blank_columns(), terminal));
    }
    let plot = draw_plot(cycle, terminal);
    if !plot.is_empty() {
        out.push_str(&format!("\n{}\n{plot}", terminal.heading("READINGS")));
    }
    if !cycle.events.is_empty() {
        let mut table = Table::new([
            Column::name("At"),
            Column::words("Alarm"),
            Column::words("Words printed"),
            Column::number("Line"),
        ]);
        for event in &cycle.events {
            table.push([
                event.at.as_str().into(),
                Cell::maybe(event.alarm_said.clone()),
                event.text.as_str().into(),
                Cell::Count(u64::from(event.place.line)),
            ]);
        }
        out.push_str(&section(
            "ALARMS AND EVENTS",
            &table.without_blank_columns(),
            terminal,
        ));
    }
    if !cycle.consumables.is_empty() {
        let mut table = Table::new([
            Column::name("Consumable"),
            Column::name("Lot"),
            Column::name("Expiry"),
            Column::name("Use"),
            Column::name("GTIN").priority(1),
            Column::number("Line"),
        ]);
        for used in &cycle.consumables {
            table.push([
                used.kind.into(),
                Cell::maybe(used.lot.clone()),
                Cell::maybe(used.expiry.clone()),
                Cell::maybe(used.use_count.clone()),
                Cell::maybe(used.gtin.clone()),
                Cell::Count(u64::from(used.place.line)),
            ]);
        }
        out.push_str(&section(
            "CONSUMABLES",
            &table.without_blank_columns(),
            terminal,
        ));
    }
    if !cycle.inferences.is_empty() {
        let mut table = Table::new([
            Column::words("Inferred while reading"),
            Column::number("Line"),
        ]);
        for fact in &cycle.inferences {
            let line = fact
                .place
                .as_ref()
                .map_or(Cell::Blank, |place| Cell::Count(u64::from(place.line)));
            table.push([fact.value.as_str().into(), line]);
        }
        out.push_str(&section("WHAT WAS INFERRED", &table, terminal));
    }
    out
}

fn facts_table(facts: &[Fact]) -> Table {
    let mut table = Table::new([
        Column::name("Field"),
        Column::words("Value"),
        Column::place("Where").priority(1),
    ]);
    for fact in facts {
        let value = match &fact.reason {
            Some(reason) => format!("{} (inferred: {reason})", fact.value),
            None => fact.value.clone(),
        };
        table.push([
            fact.name.into(),
            value.into(),
            Cell::from(fact.place.as_ref()),
        ]);
    }
    table
}

fn draw_load(load: &LoadView, terminal: &Terminal) -> String {
    let mut out = section(
        &format!("LOAD {}", inert::text(&load.load)),
        &facts_table(&load.facts),
        terminal,
    );
    let support = match load.lacking.as_slice() {
        [] => "Nothing is lacking from its records; what they show stands here.".to_owned(),
        lacking => format!("Its records lack: {}.", lacking.join(", ")),
    };
    out.push_str(&paragraph("", &support, terminal.width));
    if load.cycles.len() > 1 {
        let words = format!("Run as {}.", load.cycles.join(", "));
        out.push_str(&paragraph("", &words, terminal.width));
    }
    for (heading, what, rows) in [
        ("CONTENTS", "Set", &load.contents),
        ("CHEMICAL INDICATORS", "CI", &load.cis),
        ("BIOLOGICAL INDICATORS", "BI", &load.bis),
        ("WHAT WAS SIGNED", "Decision", &load.decisions),
        ("OTHER ENTRIES", "Entry", &load.others),
    ] {
        if !rows.is_empty() {
            let table = entries_table(what, rows).without_blank_columns();
            out.push_str(&section(heading, &table, terminal));
        }
    }
    out
}

fn entries_table(what: &'static str, rows: &[EntryRow]) -> Table {
    let mut table = Table::new([
        Column::words(what),
        Column::words("What the log says").at_least(24),
        Column::words("Lot").priority(2),
        Column::words("Note").priority(3),
        Column::name("By"),
        Column::name("Written").priority(4),
        Column::place("Where"),
    ]);
    for row in rows {
        table.push([
            row.what.as_str().into(),
            row.said.as_str().into(),
            Cell::maybe(row.lot.clone()),
            Cell::maybe(row.note.clone()),
            Cell::maybe(row.by.clone()),
            Cell::maybe(row.when.clone()),
            Cell::from(&row.place),
        ]);
    }
    table
}

/// The lines of a printout as they stand in the file, with their numbers.
fn draw_lines(cycle: &CycleView, terminal: &Terminal) -> String {
    let heading = terminal.lead("THE PRINTOUT'S LINES", &format!("from {}", cycle.file));
    let mut out = format!("\n{heading}");
    let digits = cycle
        .lines
        .last()
        .map_or(1, |line| line.line.to_string().len());
    let n = cycle.lines.len();
    let (n_first, n_last) = match terminal.extent {
        Extent::Short if n > SHORT_LINES.0 + SHORT_LINES.1 + 1 => SHORT_LINES,
        _ => (n, 0),
    };
    for (at, line) in cycle.lines.iter().enumerate() {
        if at == n_first && n_last > 0 {
            let left = n - n_first - n_last;
            out.push_str(&format!(
                "{}  ... {left} lines not shown; --all shows them\n",
                " ".repeat(digits)
            ));
        }
        if at >= n_first && at + n_last < n {
            continue;
        }
        let text = line
            .text
            .as_deref()
            .unwrap_or("(not part of the record, or not to be read again)");
        let lead = format!("{:>digits$}  ", line.line);
        // Broken anywhere rather than between words: the line is shown as it is.
        let room = terminal.width.saturating_sub(width_of(&lead)).max(10);
        let indent = " ".repeat(width_of(&lead));
        for (n, part) in cut(text, room).iter().enumerate() {
            let start = if n == 0 { &lead } else { &indent };
            out.push_str(format!("{start}{part}").trim_end());
            out.push('\n');
        }
    }
    out
}

fn cut(text: &str, room: usize) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut width = 0;
    for c in text.chars() {
        let char_width = unicode_width::UnicodeWidthChar::width(c).unwrap_or(0);
        if width + char_width > room {
            parts.push(String::new());
            width = 0;
        }
        if let Some(part) = parts.last_mut() {
            part.push(c);
        }
        width += char_width;
    }
    parts
}

fn section(heading: &str, table: &Table, terminal: &Terminal) -> String {
    format!(
        "\n{}\n{}",
        terminal.heading(heading),
        draw_table(table, 0, terminal)
    )
}
