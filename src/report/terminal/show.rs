//! One cycle or load in full, drawn.

use super::caution::draw_cautions_in_full;
use super::plot::draw_plot;
use super::policy::draw_policy_notes;
use super::prose::{paragraph, width_of};
use super::reason::{draw_reason, say_places};
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::judge::rulebook::Effect;
use crate::measure::count::Counting;
use crate::report::attention::NeedKind;
use crate::report::inert;
use crate::report::reason::ReasonRow;
use crate::report::show::{CycleView, EntryRow, Fact, LoadView, Shown, say_length};
use crate::report::table::{Cell, Column, Table};

/// Source lines shown from the beginning of a long printout in a short list, and from its end.
const SHORT_LINES: (usize, usize) = (24, 8);

/// Records that moved a decision at one moment shown in a short list.
const SHORT_RECORDS: usize = 4;

/// Draws what was asked for.
pub fn draw_shown(shown: &Shown, terminal: &Terminal) -> String {
    let mut out = String::new();
    for cycle in &shown.cycles {
        out.push_str(&draw_cycle_head(cycle, terminal));
    }
    for load in shown.loads.iter().filter(|_| shown.cycles.is_empty()) {
        let words = format!("{} has no printout.", load.load);
        out.push_str(&paragraph("", &words, terminal.width));
    }
    for load in &shown.loads {
        out.push_str(&draw_decision(load, terminal));
    }
    out.push_str(&draw_needs(shown, terminal));
    for load in &shown.loads {
        out.push_str(&draw_grounds(load, terminal));
    }
    for load in &shown.loads {
        out.push_str(&draw_load(load, terminal));
    }
    for cycle in &shown.cycles {
        out.push_str(&draw_cycle(cycle, terminal));
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

/// What needs a person beside what the decision says already.
fn draw_needs(shown: &Shown, terminal: &Terminal) -> String {
    let is_decided = shown.loads.iter().any(|load| load.decision.is_some());
    let mut out = String::new();
    for need in &shown.needs {
        if is_decided && need.kind <= NeedKind::EvidenceLacking {
            continue;
        }
        for case in &need.cases {
            let words = format!("{}: {}; {}.", need.said, case.seen, case.state_said);
            out.push_str(&paragraph("* ", &words, terminal.width));
        }
        if need.is_open() {
            out.push_str(&paragraph("  ", need.next, terminal.width));
        }
    }
    if !out.is_empty() && is_decided {
        out = format!(
            "\n{}\n{out}",
            terminal.heading("BESIDES, A PERSON IS NEEDED FOR")
        );
    }
    if !shown.cautions.is_empty() {
        out.push('\n');
        out.push_str(&draw_cautions_in_full(&shown.cautions, terminal));
    }
    out
}

/// The decision in plain sentences: what, why, the lines, what would change it.
fn draw_decision(load: &LoadView, terminal: &Terminal) -> String {
    let Some(view) = &load.decision else {
        return String::new();
    };
    let heading = format!(
        "\nLOAD {}: {}",
        inert::text(&load.load),
        view.decision.word().to_uppercase()
    );
    let mut out = format!("{}\n", terminal.heading(&heading));
    out.push_str(&paragraph("", &view.said, terminal.width));
    for said in &view.recalls {
        out.push_str(&paragraph("", said, terminal.width));
    }
    if !view.because.is_empty() {
        out.push_str("Why:\n");
        for reason in &view.because {
            out.push_str(&draw_reason(reason, 0, terminal));
        }
    }
    let (notes, weaker): (Vec<&ReasonRow>, Vec<&ReasonRow>) = view
        .besides
        .iter()
        .partition(|reason| reason.effect == Effect::Note);
    if !weaker.is_empty() {
        out.push_str("Besides, of less weight:\n");
        for reason in weaker {
            out.push_str(&draw_reason(reason, 0, terminal));
        }
    }
    if !view.would_change.is_empty() {
        out.push_str("What would change it:\n");
        for said in &view.would_change {
            out.push_str(&paragraph("- ", said, terminal.width));
        }
    }
    if !notes.is_empty() {
        out.push_str("Noted, without weight:\n");
        for reason in notes {
            out.push_str(&draw_reason(reason, 0, terminal));
        }
    }
    out.push_str(&draw_policy_notes(
        std::slice::from_ref(&view.policy),
        terminal,
    ));
    if !view.in_force {
        out.push_str(&paragraph(
            "",
            "That policy was not in force on the day of the load; it is the nearest there is.",
            terminal.width,
        ));
    }
    for (lot, spores) in &load.spores {
        let lead = lot.as_ref().map_or_else(
            || "BI: ".to_owned(),
            |lot| format!("BI lot {}: ", inert::text(lot)),
        );
        out.push_str(&paragraph(
            "",
            &format!("{lead}{}", spores.said),
            terminal.width,
        ));
    }
    out
}

/// How the decision moved, and what speaks for the load: behind what has to be read first.
fn draw_grounds(load: &LoadView, terminal: &Terminal) -> String {
    let Some(view) = &load.decision else {
        return String::new();
    };
    let mut out = String::new();
    if !view.history.is_empty() {
        out.push_str(&format!(
            "\n{}\n",
            terminal.heading("HOW THE DECISION MOVED")
        ));
        for step in &view.history {
            let rules: Vec<&str> = step.rules.iter().map(|rule| rule.0).collect();
            let since = step.since.as_deref().unwrap_or("no time written ");
            let words = match rules.as_slice() {
                [] => step.decision.word().to_uppercase(),
                rules => format!(
                    "{}: {}",
                    step.decision.word().to_uppercase(),
                    rules.join(", ")
                ),
            };
            let lead = format!("{}  ", inert::text(since));
            out.push_str(&paragraph(&lead, &words, terminal.width));
            let indent = " ".repeat(width_of(&lead));
            let n_drawn = terminal.n_drawn(step.moved_by.len(), SHORT_RECORDS);
            for record in step.moved_by.iter().take(n_drawn) {
                let words = format!("{}: {}", say_places(&record.places, terminal), record.words);
                out.push_str(&paragraph(&format!("{indent}by "), &words, terminal.width));
            }
            let n_left = step.moved_by.len().saturating_sub(n_drawn);
            if n_left > 0 {
                let words = format!("and {n_left} more of that moment; --all shows them");
                out.push_str(&paragraph(&indent, &words, terminal.width));
            }
        }
    }
    if !view.met.is_empty() {
        let mut table = Table::new([
            Column::words("What speaks for it").at_least(24),
            Column::name("Rule that found nothing"),
            Column::words("Where").at_least(20),
        ]);
        for met in &view.met {
            table.push([
                met.evidence.words.as_str().into(),
                met.rule.0.into(),
                say_places(&met.evidence.places, terminal).into(),
            ]);
        }
        out.push_str(&section("WHAT SPEAKS FOR IT", &table, terminal));
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
    let mut out = section("THE LOAD", &facts_table(&load.facts), terminal);
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
        // No gap for a single line: the words of the gap take one as well.
        Extent::Short if n.saturating_sub(SHORT_LINES.0) > SHORT_LINES.1.saturating_add(1) => {
            SHORT_LINES
        }
        _ => (n, 0),
    };
    for (at, line) in cycle.lines.iter().enumerate() {
        if at == n_first && n_last > 0 {
            let left = n.saturating_sub(n_first).saturating_sub(n_last);
            out.push_str(&format!(
                "{}  ... {left} lines not shown; --all shows them\n",
                " ".repeat(digits)
            ));
        }
        if at >= n_first && at.saturating_add(n_last) < n {
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
    let mut width = 0_usize;
    for c in text.chars() {
        let char_width = unicode_width::UnicodeWidthChar::width(c).unwrap_or(0);
        if width.saturating_add(char_width) > room {
            parts.push(String::new());
            width = 0;
        }
        if let Some(part) = parts.last_mut() {
            part.push(c);
        }
        width.add_many(char_width);
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
