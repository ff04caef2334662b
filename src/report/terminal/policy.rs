//! Policies, drawn: in a line or a short table for every report, and in full with each rule and its sources.

use super::Terminal;
use super::prose::paragraph;
use super::table::draw_table;
use crate::report::inert;
use crate::report::policy::{ParameterRow, PolicyNote, PolicyReport, PolicyRow, RuleRow};
use crate::report::table::{Column, Table};

/// Deviations shown in a short table.
const SHORT_DEVIATIONS: usize = 6;

/// The policies of a report: a line for each, and a table of deviations where there are any.
pub fn draw_policy_notes(notes: &[PolicyNote], terminal: &Terminal) -> String {
    let mut out = String::new();
    for note in notes {
        out.push_str(&paragraph("", &say_policy(note), terminal.width));
        if note.deviations.is_empty() {
            continue;
        }
        let mut table = Table::new([
            Column::words("Departs from the preset in").at_least(24),
            Column::words("Preset"),
            Column::words("This policy"),
        ]);
        let n_drawn = terminal.n_drawn(note.deviations.len(), SHORT_DEVIATIONS);
        for deviation in note.deviations.iter().take(n_drawn) {
            table.push([
                deviation.key.as_str().into(),
                deviation.preset.as_str().into(),
                deviation.policy.as_str().into(),
            ]);
        }
        out.push_str(&draw_table(&table, 2, terminal));
        let n_left = note.deviations.len().saturating_sub(n_drawn);
        if n_left > 0 {
            let words = format!("... and {n_left} more; `loadbook policy` shows every one.");
            out.push_str(&paragraph("  ", &words, terminal.width));
        }
    }
    out
}

/// A policy in a line: `Policy: CDC 2008 (preset cdc-2008), no deviations.`
pub fn say_policy(note: &PolicyNote) -> String {
    let period = match (&note.from, &note.to) {
        (None, None) => String::new(),
        (Some(from), None) => format!(", in force from {from}"),
        (None, Some(to)) => format!(", in force until before {to}"),
        (Some(from), Some(to)) => format!(", in force from {from} until before {to}"),
    };
    let deviations = match note.deviations.len() {
        0 => "no deviations".to_owned(),
        1 => "1 deviation".to_owned(),
        n => format!("{n} deviations"),
    };
    format!(
        "Policy: {} (preset {}), {deviations}{period}.",
        note.name, note.preset
    )
}

/// Draws policies in full.
pub fn draw_policy_report(report: &PolicyReport, terminal: &Terminal) -> String {
    let drawn: Vec<String> = report
        .policies
        .iter()
        .map(|policy| draw_policy(policy, terminal))
        .collect();
    drawn.join("\n")
}

fn draw_policy(policy: &PolicyRow, terminal: &Terminal) -> String {
    let note = &policy.note;
    let mut out = terminal.heading(&format!("POLICY {}", inert::text(&note.name)));
    out.push('\n');
    out.push_str(&draw_policy_notes(std::slice::from_ref(note), terminal));
    for basis in &policy.basis {
        out.push_str(&paragraph("Based on: ", basis, terminal.width));
    }
    out.push_str(&draw_schedules(policy, terminal));
    out.push_str(&format!("\n{}\n", terminal.heading("RULES")));
    out.push_str(&paragraph(
        "",
        "Each asks its question of one load. What it finds is said (note), makes the load wait (quarantine), holds it \
         or rejects it; the most serious decides. [seen]: its wording was read; [calculated]: worked out; [from \
         memory]: check it before quoting it.",
        terminal.width,
    ));
    for rule in &policy.rules {
        out.push('\n');
        out.push_str(&draw_rule(rule, terminal));
    }
    out
}

fn draw_schedules(policy: &PolicyRow, terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::name("Process"),
        Column::name("BI due"),
        Column::name("For each"),
        Column::name("Read after (h)"),
        Column::name("and before (h)"),
        Column::words("Programs of their own"),
    ]);
    for schedule in &policy.schedules {
        let programs: Vec<String> = schedule
            .programs
            .iter()
            .map(|(program, frequency)| format!("{program}: {frequency}"))
            .collect();
        table.push([
            schedule.process.into(),
            schedule.frequency.into(),
            schedule.per.into(),
            schedule.min_incubation_hours.to_string().into(),
            schedule.max_incubation_hours.to_string().into(),
            programs.join(", ").into(),
        ]);
    }
    format!(
        "\n{}\n{}",
        terminal.heading("BIOLOGICAL INDICATORS"),
        draw_table(&table.without_blank_columns(), 0, terminal)
    )
}

fn draw_rule(rule: &RuleRow, terminal: &Terminal) -> String {
    let effect = rule.effect.map_or("off", |effect| effect.word());
    let own = if rule.effect == Some(rule.own_effect) {
        String::new()
    } else {
        format!(" (by itself {})", rule.own_effect)
    };
    let floor = match rule.floor {
        Some(floor) => format!("at least {floor}"),
        None => "may be switched off".to_owned(),
    };
    let heading = terminal.heading(rule.rule.0);
    let mut out = format!("{heading}  {effect}{own}; {floor}\n");
    out.push_str(&paragraph("  ", rule.question, terminal.width));
    for parameter in &rule.parameters {
        out.push_str(&paragraph(
            "  * ",
            &say_parameter(parameter),
            terminal.width,
        ));
    }
    for source in &rule.sources {
        out.push_str(&paragraph("  Source: ", source, terminal.width));
    }
    out
}

fn say_parameter(parameter: &ParameterRow) -> String {
    let own = if parameter.value == parameter.own_value {
        String::new()
    } else {
        format!(" (by itself {})", parameter.own_value)
    };
    format!(
        "{} = {}{own}: {}. {}",
        parameter.name,
        parameter.value,
        parameter.meaning.trim_end_matches('.'),
        parameter.source
    )
}
