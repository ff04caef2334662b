//! Many sites side by side, drawn for a quality meeting: the totals, the sites, what shows across them, what to do next.

use super::Terminal;
use super::caution::draw_cautions;
use super::findings::say_p;
use super::prose::{count, draw_rest, paragraph};
use super::table::draw_table;
use crate::analyse::across_sites::{ACCEPTED, FEWEST_SITES};
use crate::analyse::contrast::{Contrast, LEAST_RATIO};
use crate::judge::decision::Decision;
use crate::report::sites::{SiteKind, SiteRow, SiteState, SitesReport};
use crate::report::table::{Cell, Column, Table};

/// Sites in a short list.
const SHORT_SITES: usize = 20;
/// Sites, lots and left-out paths in a shorter one.
const SHORT_ROWS: usize = 8;
/// Sites that a next step is given for.
const MOST_STEPS: usize = 5;
/// What the columns of the table of sites mean.
const LEGEND: &str = "Recall to Wait: loads whose records support that, let go or with nothing signed; Wait is quarantine. \
    Aborted, rejected: of the cycles with a load. Unusual: findings beyond chance, and facts.";

/// Draws the report.
pub fn draw_sites(report: &SitesReport, terminal: &Terminal) -> String {
    [
        draw_title(report, terminal),
        draw_faults(report, terminal),
        draw_table_of_sites(report, terminal),
        draw_gravest(report, terminal),
        draw_across(report, terminal),
        draw_next_steps(report, terminal),
        draw_cautions(&report.cautions, terminal),
    ]
    .concat()
}

fn draw_title(report: &SitesReport, terminal: &Terminal) -> String {
    let totals = &report.totals;
    let days = match (totals.first_day, totals.last_day) {
        (Some(first), Some(last)) => format!(
            ", {first} to {last} ({})",
            count(
                usize::try_from(totals.n_days).unwrap_or_default(),
                "day",
                "days"
            )
        ),
        _ => String::new(),
    };
    let counts = format!(
        "{}, {}, {}{days}, {} a person.",
        count(totals.n_sites, "site", "sites"),
        count(totals.n_units, "unit", "units"),
        count(totals.n_cycles, "cycle", "cycles"),
        match totals.n_loads_for_person {
            1 => "1 load that needs".to_owned(),
            n => format!("{n} loads that need"),
        },
    );
    let mut out = terminal.lead("SITES", &counts);
    let mut parts = vec![format!(
        "Of {}, {} let go against the records, {} with evidence lacking.",
        count(totals.n_loads, "load", "loads"),
        count(totals.n_let_go_against, "was", "were"),
        totals.n_let_go_lacking,
    )];
    parts.push(match report.as_of {
        Some(as_of) => format!("As of {}.", as_of.format("%Y-%m-%d %H:%M")),
        None => "Each site as of its newest record.".to_owned(),
    });
    if !report.policies.is_empty() {
        parts.push(format!("Policy: {}.", report.policies.join("; ")));
    }
    if let Some(said) = report.scope.said() {
        parts.push(format!("Narrowed: {said}."));
    }
    out.push_str(&paragraph("", &parts.join(" "), terminal.width));
    out
}

/// Sites that could not be read, and what is no site.
fn draw_faults(report: &SitesReport, terminal: &Terminal) -> String {
    let mut out = String::new();
    let faulty: Vec<&SiteRow> = report
        .sites
        .iter()
        .filter(|site| site.state != SiteState::Read)
        .collect();
    let n_drawn = terminal.n_drawn(faulty.len(), SHORT_ROWS);
    for site in faulty.iter().take(n_drawn) {
        let why = match site.problems.first() {
            Some(first) => format!(": {first}"),
            None => String::new(),
        };
        let more = match site.problems.len() {
            0 | 1 => String::new(),
            n => format!(" (and {} more)", n.saturating_sub(1)),
        };
        let said = format!("{} {}{why}{more}.", site.site, site.state.said());
        let lead = match site.state {
            SiteState::LeftOut => "LEFT OUT",
            _ => "NOT READ",
        };
        out.push_str(&terminal.lead(lead, &said));
    }
    out.push_str(&draw_rest(faulty.len().saturating_sub(n_drawn), terminal));
    if let Some(first) = report.left_out.first() {
        let n_drawn = terminal.n_drawn(report.left_out.len(), SHORT_ROWS);
        let names: Vec<&str> = report
            .left_out
            .iter()
            .take(n_drawn)
            .map(|left| left.path.as_str())
            .collect();
        let rest = match report.left_out.len().saturating_sub(n_drawn) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        let said = format!("{}{rest}: {}.", names.join(", "), first.why);
        out.push_str(&terminal.lead("LEFT OUT", &said));
    }
    out
}

fn draw_table_of_sites(report: &SitesReport, terminal: &Terminal) -> String {
    let known: Vec<&SiteRow> = known_sites(report).collect();
    if known.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::short_place("Site"),
        Column::number("Cycles"),
        Column::number("Loads").priority(1),
        Column::number("Recall"),
        Column::number("Reject"),
        Column::number("Hold"),
        Column::number("Wait"),
        Column::number("Aborted, rejected"),
        Column::number("BI growth"),
        Column::number("Unusual"),
    ]);
    let n_drawn = terminal.n_drawn(known.len(), SHORT_SITES);
    for site in known.iter().take(n_drawn) {
        table.push([
            site.site.clone().into(),
            site.n_cycles.into(),
            site.n_loads.into(),
            Cell::count_or_dash(site.n_for_person(Decision::Recall) as u64),
            Cell::count_or_dash(site.n_for_person(Decision::Reject) as u64),
            Cell::count_or_dash(site.n_for_person(Decision::Hold) as u64),
            Cell::count_or_dash(site.n_for_person(Decision::Quarantine) as u64),
            say_share(site.n_failed, site.n_load_cycles).into(),
            Cell::count_or_dash(site.n_bi_growths),
            Cell::count_or_dash(site.n_findings as u64),
        ]);
    }
    if known.len() > 1 {
        let totals = &report.totals;
        let sum = |decision| -> u64 {
            let counts = known.iter().map(|site| site.n_for_person(decision) as u64);
            counts.sum()
        };
        table.push([
            "all".into(),
            totals.n_cycles.into(),
            totals.n_loads.into(),
            Cell::count_or_dash(sum(Decision::Recall)),
            Cell::count_or_dash(sum(Decision::Reject)),
            Cell::count_or_dash(sum(Decision::Hold)),
            Cell::count_or_dash(sum(Decision::Quarantine)),
            say_share(totals.n_failed, totals.n_load_cycles).into(),
            Cell::count_or_dash(totals.n_bi_growths),
            Cell::count_or_dash(totals.n_findings as u64),
        ]);
    }
    let mut out = format!("\n{}", draw_table(&table, 0, terminal));
    out.push_str(&draw_rest(known.len().saturating_sub(n_drawn), terminal));
    out.push_str(&paragraph("", LEGEND, terminal.width));
    out
}

fn draw_gravest(report: &SitesReport, terminal: &Terminal) -> String {
    let with: Vec<&SiteRow> = known_sites(report)
        .filter(|site| site.gravest.is_some())
        .collect();
    if with.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::short_place("Site"),
        Column::short_place("Gravest finding"),
        Column::words("About"),
    ]);
    let n_drawn = terminal.n_drawn(with.len(), SHORT_ROWS);
    for site in with.iter().take(n_drawn) {
        if let Some(gravest) = &site.gravest {
            table.push([
                site.site.clone().into(),
                gravest.what.into(),
                gravest.about.clone().into(),
            ]);
        }
    }
    let mut out = format!("\n{}", draw_table(&table, 0, terminal));
    out.push_str(&draw_rest(with.len().saturating_sub(n_drawn), terminal));
    out
}

fn draw_across(report: &SitesReport, terminal: &Terminal) -> String {
    if report.totals.n_sites < FEWEST_SITES {
        return String::new();
    }
    let mut out = format!("\n{}\n", terminal.heading("ACROSS SITES"));
    out.push_str(&draw_lots(report, terminal));
    out.push_str(&draw_shares(report, terminal));
    let level = 100.0 * ACCEPTED;
    let said = format!(
        "What stands out is at least {LEAST_RATIO} times as often and beyond chance after correction for the number of \
         comparisons (Benjamini and Hochberg, J. R. Statist. Soc. B 57, 1995; {level:.0} % false ones accepted). It is a \
         reason to look, not a verdict: it can't tell whether the lot or unit is to blame or how it was kept, handled \
         and written down."
    );
    out.push_str(&paragraph("", &said, terminal.width));
    out
}

fn draw_lots(report: &SitesReport, terminal: &Terminal) -> String {
    let lots = &report.lots;
    let asked = format!(
        "Lots used at {FEWEST_SITES} sites or more, each beside the other lots at the same sites: "
    );
    let said = say_outcome(lots.n_comparisons, lots.n_stand_out);
    let mut out = paragraph("- ", &format!("{asked}{said}"), terminal.width);
    if lots.n_stand_out == 0 {
        return out;
    }
    let mut table = Table::new([
        Column::name("Lot"),
        Column::words("Used as"),
        Column::number("Sites"),
        Column::number("Failed"),
        Column::number("Expected"),
        Column::words("Times as often (90 % interval)"),
        Column::number("p").priority(1),
    ]);
    let n_drawn = terminal.n_drawn(lots.n_stand_out, SHORT_ROWS);
    for row in lots.rows.iter().take(n_drawn) {
        table.push([
            row.lot.clone().into(),
            row.sort_said().into(),
            format!("{} of {}", row.n_sites_failed, row.n_sites).into(),
            format!("{} of {}", row.n_failed, row.n_used).into(),
            say_expected(row.n_expected).into(),
            Cell::maybe(row.outcome.effect.as_ref().map(say_effect)),
            Cell::maybe(row.outcome.p_adjusted.map(say_p)),
        ]);
    }
    out.push_str(&draw_table(&table, 2, terminal));
    out.push_str(&draw_rest(
        lots.n_stand_out.saturating_sub(n_drawn),
        terminal,
    ));
    out
}

fn draw_shares(report: &SitesReport, terminal: &Terminal) -> String {
    let shares = &report.shares;
    let asked = "Aborted and rejected cycles of each site beside those of the others, within each process: ";
    let said = say_outcome(shares.n_comparisons, shares.n_stand_out);
    let mut out = paragraph("- ", &format!("{asked}{said}"), terminal.width);
    if shares.n_stand_out == 0 {
        return out;
    }
    let mut table = Table::new([
        Column::short_place("Site"),
        Column::number("Aborted, rejected"),
        Column::number("Expected"),
        Column::words("Times as often (90 % interval)"),
        Column::number("p").priority(1),
    ]);
    let n_drawn = terminal.n_drawn(shares.n_stand_out, SHORT_ROWS);
    for row in shares.rows.iter().take(n_drawn) {
        table.push([
            row.site.clone().into(),
            format!("{} of {}", row.n_failed, row.n_cycles).into(),
            say_expected(row.n_expected).into(),
            Cell::maybe(row.outcome.effect.as_ref().map(say_effect)),
            Cell::maybe(row.outcome.p_adjusted.map(say_p)),
        ]);
    }
    out.push_str(&draw_table(&table, 2, terminal));
    out.push_str(&draw_rest(
        shares.n_stand_out.saturating_sub(n_drawn),
        terminal,
    ));
    out
}

fn say_outcome(n_comparisons: usize, n_stand_out: usize) -> String {
    match (n_comparisons, n_stand_out) {
        (0, _) => "nothing to compare.".to_owned(),
        (n, 0) => format!(
            "nothing stands out in {}.",
            count(n, "comparison", "comparisons")
        ),
        (n, out) => format!(
            "{} out in {}.",
            if out == 1 {
                "1 stands".to_owned()
            } else {
                format!("{out} stand")
            },
            count(n, "comparison", "comparisons")
        ),
    }
}

/// `18.8 (11.2 to 30)`.
fn say_effect(effect: &Contrast) -> String {
    format!(
        "{} ({} to {})",
        say_ratio(effect.ratio),
        say_ratio(effect.low),
        say_ratio(effect.high),
    )
}

fn say_ratio(ratio: f64) -> String {
    match ratio {
        _ if ratio.is_infinite() => "no end".to_owned(),
        _ if ratio >= 20.0 => format!("{ratio:.0}"),
        _ => format!("{ratio:.1}"),
    }
}

fn say_expected(expected: f64) -> String {
    if expected >= 20.0 {
        format!("{expected:.0}")
    } else {
        format!("{expected:.1}")
    }
}

fn draw_next_steps(report: &SitesReport, terminal: &Terminal) -> String {
    let mut steps: Vec<String> = Vec::new();
    if report.totals.n_at_fault > 0 {
        steps.push(
            "See to the sites that could not be read: nothing, or not all, is known of them."
                .to_owned(),
        );
    }
    if report.lots.n_stand_out > 0 {
        steps.push(
            "Ask every site that has a lot named above to set it aside until a comparison with another lot in the same \
             cycle, or the manufacturer, has told what is wrong. Loads stay held as their own records say."
                .to_owned(),
        );
    }
    let sites = known_sites(report).filter(|site| site.needs_person);
    for site in sites.take(MOST_STEPS) {
        steps.push(format!("`{}`", command_for(site)));
    }
    if steps.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}\n", terminal.heading("WHAT TO DO NEXT"));
    for (n, step) in (1..).zip(&steps) {
        out.push_str(&paragraph(&format!("{n:>2}. "), step, terminal.width));
    }
    let n_more = known_sites(report)
        .filter(|site| site.needs_person)
        .count()
        .saturating_sub(MOST_STEPS);
    if n_more > 0 {
        let said = format!(
            "{} more in the order of the table.",
            count(n_more, "site", "sites")
        );
        out.push_str(&paragraph("    ", &said, terminal.width));
    }
    out
}

/// The command that reviews a site alone, as it can be typed.
fn command_for(site: &SiteRow) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || matches!(c, '/' | '.' | '-' | '_');
    let path = if site.path.chars().all(is_plain) {
        site.path.clone()
    } else {
        format!("'{}'", site.path.replace('\'', "'\\''"))
    };
    match site.kind {
        SiteKind::Folder => format!("loadbook review {path}"),
        SiteKind::Archive => format!("loadbook review --archive {path}"),
    }
}

fn known_sites(report: &SitesReport) -> impl Iterator<Item = &SiteRow> {
    report
        .sites
        .iter()
        .filter(|site| matches!(site.state, SiteState::Read | SiteState::PartlyRead))
}

fn say_share(n: u64, of: u64) -> String {
    if of == 0 {
        return "-".to_owned();
    }
    format!("{n} {:.1} %", 100.0 * n as f64 / of as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::across_sites::{LotSort, LotUse, Tally};
    use crate::record::cycle::Process;
    use crate::record::entry::CiPosition;
    use crate::report::release::DecisionCount;
    use crate::report::scope::Scope;
    use crate::report::sites::{SitePlace, SiteSummary, write_sites};
    use crate::report::terminal::{Color, Extent};

    /// A site with so many loads to recall that were let go, and with these lots: failed and used.
    fn site(name: &str, n_recall: usize, lots: &[(&str, u64, u64)]) -> SiteSummary {
        let place = SitePlace {
            name: name.to_owned(),
            path: format!("a region/{name}"),
            kind: SiteKind::Folder,
        };
        let mut site = SiteSummary::unread(&place, SiteState::Read, String::new());
        site.row.problems.clear();
        site.row.needs_person = n_recall > 0;
        site.row.decisions = vec![DecisionCount {
            decision: Decision::Recall,
            n_loads: n_recall,
            n_released: n_recall,
            n_open: 0,
            n_settled: 0,
        }];
        let sort = LotSort {
            used_as: LotUse::Ci(Some(CiPosition::Internal)),
            process: Some(Process::Plasma),
        };
        for (lot, n_failed, n) in lots {
            let tally = Tally {
                n: *n,
                n_failed: *n_failed,
            };
            let of_sort = site.tally.lots.entry(sort).or_default();
            of_sort.insert((*lot).to_owned(), tally);
        }
        site
    }

    fn drawn(sites: Vec<SiteSummary>, width: usize) -> String {
        let report = write_sites(sites, Vec::new(), Scope::default(), None);
        let terminal = Terminal {
            width,
            color: Color::Plain,
            folder: String::new(),
            extent: Extent::Short,
        };
        draw_sites(&report, &terminal)
    }

    #[test]
    fn sites_stand_in_the_order_of_need_and_the_lot_with_its_numbers() {
        // The numbers of the lot are those worked out by hand in analyse::across_sites: 24 of 180 failed, 6.4 expected.
        let sites = || {
            vec![
                site("ash", 0, &[("A", 9, 60), ("B", 6, 120)]),
                site("birch", 3, &[("A", 8, 80), ("B", 3, 100), ("C", 1, 60)]),
                site("cedar", 1, &[("A", 7, 40), ("C", 5, 140)]),
            ]
        };
        for width in [60, 80, 120] {
            let text = drawn(sites(), width);
            assert!(text.lines().all(|line| line.len() <= width), "{text}");
            let places: Vec<usize> = ["\nbirch", "\ncedar", "\nash", "\nall"]
                .iter()
                .map(|name| text.find(name).unwrap())
                .collect();
            assert!(places.is_sorted(), "{text}");
            let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.starts_with("SITES: 3 sites,"), "{text}");
            assert!(words.contains("4 loads that need a person."), "{text}");
            assert!(words.contains("1 stands out in 3 comparisons."), "{text}");
            let row = text.lines().find(|line| line.starts_with("  A ")).unwrap();
            for number in ["3 of 3", "24 of 180", "6.4"] {
                assert!(row.contains(number), "{text}");
            }
            assert!(
                words.contains("`loadbook review 'a region/birch'`"),
                "{text}"
            );
            assert!(
                !words.contains("ash'`"),
                "nothing needs a person there: {text}"
            );
        }
    }

    #[test]
    fn where_nothing_stands_out_it_says_so() {
        let sites = vec![
            site("ash", 0, &[("A", 6, 120), ("B", 6, 120)]),
            site("birch", 0, &[("A", 5, 100), ("B", 5, 100)]),
        ];
        let words = drawn(sites, 80)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(
            words.contains("nothing stands out in 2 comparisons."),
            "{words}"
        );
        assert!(words.contains("0 loads that need a person."), "{words}");
        assert!(!words.contains("WHAT TO DO NEXT"), "{words}");
    }
}
