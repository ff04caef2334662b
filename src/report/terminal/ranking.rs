//! Units ranked for service, drawn.

use super::Terminal;
use super::findings::say_p;
use super::prose::paragraph;
use super::table::draw_table;
use crate::report::ranking::{METHOD, RankRow, Ranking};
use crate::report::table::{Column, Table};

/// What counts as worth a line of its own among the parts of a unit's evidence.
const WORTH_A_LINE: f64 = 0.05;

/// Draws the ranking: the table, each unit with what was found, the method.
pub fn draw_ranking(ranking: &Ranking, terminal: &Terminal) -> String {
    let first = match ranking.units.first() {
        None => "there is no unit in what was read.".to_owned(),
        Some(unit) if unit.p < WORTH_A_LINE => {
            format!("look at {} first ({} evidence).", unit.unit, unit.evidence)
        }
        Some(_) => "no unit stands out beyond chance.".to_owned(),
    };
    let mut out = terminal.lead("SERVICE", &first);
    let mut table = Table::new([
        Column::number("Rank"),
        Column::name("Unit"),
        Column::name("Evidence"),
        Column::number("Combined p"),
        Column::words("Most of it from"),
    ]);
    for row in &ranking.units {
        let from: Vec<String> = row
            .parts
            .iter()
            .filter(|part| part.p < WORTH_A_LINE)
            .map(|part| format!("{} (p {})", part.about.to_lowercase(), say_p(part.p)))
            .collect();
        table.push([
            row.rank.into(),
            row.unit.clone().into(),
            row.evidence.into(),
            say_p(row.p).into(),
            from.join(", ").into(),
        ]);
    }
    out.push_str(&draw_table(&table, 0, terminal));
    for row in ranking.units.iter().filter(|row| !row.findings.is_empty()) {
        out.push_str(&draw_unit(row, terminal));
    }
    out.push('\n');
    out.push_str(&terminal.lead("HOW THE ORDER IS MADE", METHOD));
    out.push_str(&paragraph(
        "",
        &format!("{} comparisons were made in all.", ranking.n_comparisons),
        terminal.width,
    ));
    out
}

fn draw_unit(row: &RankRow, terminal: &Terminal) -> String {
    let mut out = format!("\n{}\n", terminal.heading(&row.unit));
    for finding in &row.findings {
        out.push_str(&paragraph("- ", &finding.said, terminal.width));
        out.push_str(&paragraph(
            "  ",
            &format!("Next: {}", finding.next.join(" ")),
            terminal.width,
        ));
        if let Some(evidence) = finding.evidence.first() {
            let place = terminal.place(&evidence.place);
            let more = finding.n_evidence.saturating_sub(1);
            let more = if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            };
            out.push_str(&paragraph(
                "  ",
                &format!("Evidence: {place}{more}"),
                terminal.width,
            ));
        }
    }
    out
}
