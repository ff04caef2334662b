//! What is unusual, drawn: a block that fits what a first screen has left, and every finding in full.

use super::prose::paragraph;
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::report::findings::{FindingRow, Findings};
use crate::report::table::{Cell, Column, Table};

/// Lines of the block for a first screen, where little room is left.
const FEWEST_LINES: usize = 8;
/// Records of a finding in a short list.
const SHORT_EVIDENCE: usize = 6;

/// The block for the head of a review, in so many lines at most, but never fewer than [`FEWEST_LINES`].
pub fn draw_findings_head(findings: &Findings, n_lines: usize, terminal: &Terminal) -> String {
    if findings.is_empty() {
        return terminal.lead(
            "UNUSUAL",
            &format!(
                "nothing beyond chance in {} comparisons.",
                findings.n_comparisons
            ),
        );
    }
    let n = findings.findings.len();
    let mut out = terminal.lead(
        "UNUSUAL",
        &format!(
            "{n} from {} comparisons, worst first; each in full below.",
            findings.n_comparisons
        ),
    );
    let mut table = Table::new([
        Column::short_place("What"),
        Column::short_place("About"),
        Column::name("How much"),
    ]);
    // The heading of the table and the rule below it take two lines, and the rest that is not drawn one.
    let n_room = n_lines
        .max(FEWEST_LINES)
        .saturating_sub(out.lines().count().saturating_add(2));
    let n_drawn = if n <= n_room {
        n
    } else {
        n_room.saturating_sub(1)
    };
    for row in findings.findings.iter().take(n_drawn) {
        table.push([
            row.about.into(),
            row.named.clone().into(),
            how_much(row).into(),
        ]);
    }
    out.push_str(&draw_table(&table, 0, terminal));
    if n > n_drawn {
        out.push_str(&paragraph(
            "",
            &format!("... and {} more.", n.saturating_sub(n_drawn)),
            terminal.width,
        ));
    }
    out
}

/// The effect in a few words.
fn how_much(row: &FindingRow) -> String {
    if let Some(forecast) = &row.forecast {
        return format!("limit by {}", forecast.day);
    }
    match &row.effect {
        Some(effect) if effect.measure == "times as often" && effect.estimate.is_finite() => {
            match effect.estimate {
                many if many >= 20.0 => format!("{many:.0} times"),
                few => format!("{few:.1} times"),
            }
        }
        Some(effect) if effect.measure.starts_with('%') => {
            format!("{:+.1} {}", effect.estimate, effect.measure)
        }
        _ => match row.n_evidence {
            1 => "1 record".to_owned(),
            n => format!("{n} records"),
        },
    }
}

/// Every finding in full, and what stands behind them.
pub fn draw_findings(findings: &Findings, terminal: &Terminal) -> String {
    if findings.is_empty() {
        return String::new();
    }
    let heading = format!("WHAT IS UNUSUAL: {}", findings.findings.len());
    let mut out = format!("\n{}\n", terminal.heading(&heading));
    let said = format!(
        "{} comparisons were made for {} questions. Each is corrected for the number of its question's (Benjamini and \
         Hochberg, J. R. Statist. Soc. B 57, 1995); the share of chance findings that is accepted stands with each. Facts \
         that need no statistics have no p. A finding is a reason to look, not a verdict; the device's service instructions \
         and local policy decide. {}",
        findings.n_comparisons,
        findings.n_questions,
        match terminal.extent {
            Extent::Short => "--all tells the method of each and lists all its records.",
            Extent::All => "Each tells its method.",
        }
    );
    out.push_str(&paragraph("", &said, terminal.width));
    for (n, row) in (1..).zip(&findings.findings) {
        out.push('\n');
        out.push_str(&draw_finding(n, row, terminal));
    }
    out
}

fn draw_finding(n: usize, row: &FindingRow, terminal: &Terminal) -> String {
    let width = terminal.width;
    let mut out = paragraph(&format!("{n:>2}. "), &row.said, width);
    let mut line = |heading: &str, text: &str| {
        out.push_str(&paragraph("    ", &format!("{heading}: {text}"), width));
    };
    if let Some(effect) = &row.effect {
        line("How much", &effect.said);
    }
    match &row.surety {
        Some(surety) => line(
            "How sure",
            &format!(
                "p {}, {} after correction for {}; up to {:.2} is accepted.",
                say_p(surety.p),
                say_p(surety.p_adjusted),
                match surety.n_comparisons {
                    1 => "one comparison".to_owned(),
                    n => format!("{n} comparisons"),
                },
                surety.accepted
            ),
        ),
        None => line("How sure", "a fact of the records, no statistics."),
    }
    for also in &row.also {
        line("Also", also);
    }
    if !row.else_explains.is_empty() {
        line("What else explains it", &row.else_explains.join(" "));
    }
    line("It can't tell", row.cannot_tell);
    line("Next", &row.next.join(" "));
    if terminal.extent == Extent::All {
        line("Method", row.method);
    }
    let mut table = Table::new([
        Column::name("Day"),
        Column::words("Evidence"),
        Column::place("Where"),
    ]);
    let n_drawn = terminal.n_drawn(row.evidence.len(), SHORT_EVIDENCE);
    for evidence in row.evidence.iter().take(n_drawn) {
        table.push([
            Cell::maybe(evidence.day.clone()),
            evidence.said.clone().into(),
            Cell::from(&evidence.place),
        ]);
    }
    if n_drawn > 0 {
        out.push_str(&draw_table(&table, 4, terminal));
    }
    if row.n_evidence > n_drawn {
        let left = row.n_evidence.saturating_sub(n_drawn);
        out.push_str(&paragraph(
            "    ",
            &format!("... and {left} more records."),
            width,
        ));
    }
    out
}

/// A probability to two digits; a very small one as a bound.
pub fn say_p(p: f64) -> String {
    match p {
        _ if p < 0.000_1 => "below 0.0001".to_owned(),
        _ if p < 0.01 => format!("{p:.4}"),
        _ => format!("{p:.2}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::catalogue::FindingKind;
    use crate::analyse::finding::{Finding, Subject};
    use crate::analyse::phrase::Phrase;
    use crate::report::findings::{EvidenceRow, SubjectRow};
    use crate::report::place::Place;
    use crate::report::terminal::prose::width_of;
    use crate::report::terminal::{Color, Extent};

    fn terminal(width: usize) -> Terminal {
        Terminal {
            width,
            color: Color::Plain,
            extent: Extent::Short,
            folder: String::new(),
        }
    }

    fn row(said: &str) -> FindingRow {
        let kind = FindingKind::StageDrift;
        FindingRow {
            kind,
            about: kind.about(),
            subject: SubjectRow::default(),
            named: "PL-1, evacuate, a name that is longer than any line has room for".to_owned(),
            said: said.to_owned(),
            effect: None,
            surety: None,
            forecast: None,
            attribution: None,
            also: Vec::new(),
            else_explains: vec!["other loads".to_owned()],
            next: vec!["look".to_owned()],
            question: kind.question(),
            method: kind.method(),
            cannot_tell: kind.cannot_tell(),
            evidence: vec![EvidenceRow {
                day: None,
                said: "PL-1:7".to_owned(),
                place: Place {
                    file: "strip.txt".to_owned(),
                    line: 7,
                },
            }],
            n_evidence: 1,
            finding: Finding::new(kind, Subject::default(), Phrase::name(said)),
        }
    }

    fn findings(n: usize) -> Findings {
        Findings {
            findings: vec![row("PL-1 takes ever longer."); n],
            n_comparisons: 100,
            n_questions: 3,
        }
    }

    #[test]
    fn the_head_keeps_to_its_lines() {
        for width in [60, 80, 120] {
            for (n, n_lines) in [
                (0, 10),
                (1, 8),
                (6, 10),
                (7, 10),
                (8, 10),
                (30, 14),
                (30, 16),
            ] {
                let drawn = draw_findings_head(&findings(n), n_lines, &terminal(width));
                assert!(drawn.lines().count() <= n_lines, "{n} in {width}:\n{drawn}");
                assert!(drawn.lines().all(|line| width_of(line) <= width), "{drawn}");
            }
        }
    }

    #[test]
    fn what_stands_in_the_records_is_inert() {
        let mut all = findings(1);
        all.findings = vec![row("lot \u{1b}[31mX failed")];
        all.findings[0].evidence[0].said = "\u{1b}]0;x\u{7}".to_owned();
        let drawn = draw_findings(&all, &terminal(80));
        assert!(
            !drawn.contains('\u{1b}') && !drawn.contains('\u{7}'),
            "{drawn}"
        );
        assert!(drawn.contains("strip.txt:7"));
    }
}
