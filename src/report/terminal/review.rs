//! The review, drawn: a first screen of 24 lines that says what needs a person, then what to do, each case, the counts.

use super::caution::draw_cautions;
use super::findings::{draw_findings, draw_findings_head};
use super::policy::draw_policy_notes;
use super::prose::{count, draw_rest, paragraph};
use super::release::{draw_counts, draw_rules};
use super::table::draw_table;
use super::{Extent, Terminal};
use crate::judge::decision::Decision;
use crate::measure::count::Counting;
use crate::report::attention::{Case, Need, NeedKind, State, find_first};
use crate::report::caution::Caution;
use crate::report::moment::length;
use crate::report::naming::CycleRow;
use crate::report::review::{AbortRow, Review};
use crate::report::table::{Cell, Column, Table};
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Lines of the first screen.
const SCREEN: usize = 24;
/// Lines of the first screen that are headings, rules and gaps of its two tables.
const HEADS: usize = 6;
/// The fewest cases that the first screen names, if there are so many.
const FEWEST_CASES: usize = 3;
/// The most cases that the first screen names.
const MOST_CASES: usize = 8;
/// The fewest kinds that the first screen names, if there are so many.
const FEWEST_KINDS: usize = 4;
/// The most kinds that the second screen names, where findings take the first.
const MOST_KINDS: usize = 16;
/// What the columns of the first table mean.
const LEGEND: &str = "Open: nothing signed. Settled: on hold, recalled, run again or passed since.";
/// Cases of one kind shown in a short list.
const SHORT_CASES: usize = 10;
/// Rows of other lists shown in a short list.
const SHORT_ROWS: usize = 12;

/// Draws the review.
pub fn draw_review(review: &Review, terminal: &Terminal) -> String {
    let mut out = draw_first_screen(review, terminal);
    for section in [
        draw_findings(&review.findings, terminal),
        draw_next_steps(review, terminal),
        draw_decisions(review, terminal),
        review
            .needs
            .iter()
            .map(|need| draw_need(need, terminal))
            .collect(),
        draw_programs(review, terminal),
        draw_tests(review, terminal),
        draw_aborts(review, terminal),
        draw_rejections(review, terminal),
        draw_resets(review, terminal),
        draw_clocks(review, terminal),
        draw_inferred(review, terminal),
        draw_counted(review, terminal),
        draw_closing(terminal),
    ] {
        out.push_str(&section);
    }
    out
}

/// The first screen: what was reviewed, what needs a person, where to begin, what to mind.
pub fn draw_first_screen(review: &Review, terminal: &Terminal) -> String {
    let mut out = draw_title(review, terminal);
    if let Some((heading, said)) = say_decisions(review) {
        out.push_str(&terminal.lead(&heading, &said));
    }
    out.push('\n');
    let needs = terminal.lead("NEEDS A PERSON", &say_needs(review));
    if !review.findings.is_empty() {
        out.push_str(&draw_unusual_screen(review, &out, &needs, terminal));
        return out;
    }
    if review.findings.n_comparisons > 0 {
        out.push_str(&draw_findings_head(&review.findings, SCREEN, terminal));
    }
    out.push_str(&needs);
    if review.needs.is_empty() {
        return out;
    }
    let care = draw_care(review, terminal);
    let n_used = out
        .lines()
        .count()
        .saturating_add(care.lines().count())
        .saturating_add(HEADS);
    let n_left = SCREEN.saturating_sub(n_used);
    let n_kinds = n_left
        .saturating_sub(find_first(&review.needs).len().min(FEWEST_CASES))
        .max(FEWEST_KINDS);
    let kinds = first_kinds(review, n_kinds);
    let n_cases = n_left
        .saturating_sub(kinds.rows.len())
        .clamp(FEWEST_CASES, MOST_CASES);
    out.push_str(&draw_kinds(&kinds, terminal));
    out.push_str(&draw_cases(review, n_cases, terminal));
    out.push_str(&care);
    out
}

/// The rest of a first screen below `title` where something is unusual: that leads, then the cases to begin with as far as
/// there is room. The kinds of what needs a person open the next screen.
fn draw_unusual_screen(review: &Review, title: &str, needs: &str, terminal: &Terminal) -> String {
    let care = draw_cautions(&review.cautions, terminal);
    let n_left = SCREEN.saturating_sub(
        title
            .lines()
            .count()
            .saturating_add(needs.lines().count())
            .saturating_add(care.lines().count()),
    );
    let unusual = draw_findings_head(&review.findings, n_left, terminal);
    // A gap, the heading and its rule go before the cases.
    let n_cases = n_left.saturating_sub(unusual.lines().count().saturating_add(3));
    let mut out = format!("{needs}{unusual}");
    let fits = n_cases >= FEWEST_CASES.min(find_first(&review.needs).len());
    if fits {
        out.push_str(&draw_cases(review, n_cases.min(MOST_CASES), terminal));
    }
    if !care.is_empty()
        && out.lines().count()
            < SCREEN.saturating_sub(title.lines().count().saturating_add(care.lines().count()))
    {
        out.push('\n');
    }
    out.push_str(&care);
    if !review.needs.is_empty() {
        out.push('\n');
        out.push_str(&draw_kinds(&first_kinds(review, MOST_KINDS), terminal));
        if !fits {
            out.push_str(&draw_cases(review, MOST_CASES, terminal));
        }
    }
    out
}

fn draw_kinds(kinds: &Table, terminal: &Terminal) -> String {
    let mut out = draw_table(kinds, 0, terminal);
    out.push_str(&paragraph("", LEGEND, terminal.width));
    out
}

/// The cases to begin with; nothing where none is open.
fn draw_cases(review: &Review, n_cases: usize, terminal: &Terminal) -> String {
    let first = find_first(&review.needs);
    if first.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Begin with"),
        Column::name("Day"),
        Column::words("What was seen"),
        Column::short_place("Where"),
    ]);
    for (kind, case) in first.iter().take(n_cases) {
        table.push(first_row(*kind, case));
    }
    format!(
        "\n{}",
        draw_table(&table.without_blank_columns(), 0, terminal)
    )
}

/// The kinds of what needs a person, in the order of harm; those that do not fit into `n_rows` rows in the last row.
fn first_kinds(review: &Review, n_rows: usize) -> Table {
    let mut table = Table::new([
        Column::words("What was seen"),
        Column::number("Found"),
        Column::number("Released"),
        Column::number("Open"),
        Column::number("Settled"),
        Column::name("Newest"),
    ]);
    let n_shown = if review.needs.len() <= n_rows {
        n_rows
    } else {
        n_rows.saturating_sub(1)
    };
    for need in review.needs.iter().take(n_shown) {
        let unsettled = need
            .cases
            .iter()
            .filter(|case| case.state != State::Settled);
        let newest = unsettled.filter_map(|case| case.when.as_deref()).max();
        table.push([
            need.said.into(),
            need.n_found.into(),
            Cell::count_or_dash(need.n_released),
            Cell::count_or_dash(need.n_open),
            Cell::count_or_dash(need.n_settled),
            Cell::maybe(newest.map(day_of)),
        ]);
    }
    let rest = review.needs.get(n_shown..).unwrap_or_default();
    if !rest.is_empty() {
        let sum = |count: fn(&Need) -> u64| rest.iter().map(count).sum::<u64>();
        table.push([
            format!("{} further kinds, below", rest.len()).into(),
            sum(|need| need.n_found).into(),
            Cell::count_or_dash(sum(|need| need.n_released)),
            Cell::count_or_dash(sum(|need| need.n_open)),
            Cell::count_or_dash(sum(|need| need.n_settled)),
            Cell::Blank,
        ]);
    }
    table
}

fn draw_title(review: &Review, terminal: &Terminal) -> String {
    let days = match (&review.first_cycle, &review.last_cycle) {
        (Some(first), Some(last)) => match (day_of(first), day_of(last)) {
            (first, last) if first == last => format!(", {first}"),
            (first, last) => format!(", {first} to {last}"),
        },
        _ => String::new(),
    };
    let counts = format!(
        "{}, {} of {}{days}",
        count(review.n_cycles, "cycle", "cycles"),
        count(review.n_loads, "load", "loads"),
        count(review.n_units, "unit", "units"),
    );
    let mut out = terminal.lead("REVIEW", &counts);
    let mut parts: Vec<String> = Vec::new();
    if !review.sites.is_empty() {
        parts.push(format!("{}.", review.sites.join(", ")));
    }
    if let Some(as_of) = &review.as_of {
        let origin = if as_of.newest_record.is_some() {
            " (newest record)"
        } else {
            ""
        };
        parts.push(format!(
            "As of {}{origin}.",
            as_of.local.format("%Y-%m-%d %H:%M")
        ));
        if as_of.n_later > 0 {
            parts.push(format!(
                "{} later are left out.",
                count(as_of.n_later, "record", "records")
            ));
        }
    }
    if !terminal.folder.is_empty() {
        parts.push(format!(
            "{} in {}.",
            count(review.intake.n_files, "file", "files"),
            terminal.folder
        ));
    }
    if let Some(said) = review.scope.said() {
        parts.push(format!("Narrowed: {said}."));
    }
    if !parts.is_empty() {
        out.push_str(&paragraph("", &parts.join(" "), terminal.width));
    }
    out
}

/// The first sentence of the review.
fn say_needs(review: &Review) -> String {
    if review.n_cycles == 0 && review.n_loads == 0 {
        return "There is no cycle and no load in what was read.".to_owned();
    }
    if review.needs.is_empty() {
        return "Nothing in these records asks for a person: what was read is complete and agrees."
            .to_owned();
    }
    let against = review.n_let_go(&[Decision::Recall, Decision::Reject]);
    let lacking = review.n_let_go(&[Decision::Hold, Decision::Quarantine]);
    let open = review.needs.iter().filter(|need| need.is_open()).count();
    let loads = |n: usize| count(n, "load", "loads");
    let mut said = match (against, lacking) {
        (0, 0) => "No load was let go without support in its records.".to_owned(),
        (0, n) => format!("{} let go with evidence lacking.", loads(n)),
        (n, 0) => format!("{} let go against the records.", loads(n)),
        (n, m) => format!(
            "{} let go against the records, {m} with evidence lacking.",
            loads(n)
        ),
    };
    let released = against.saturating_add(lacking);
    if open == 0 && released == 0 {
        said.push_str(" All that was seen is settled.");
    }
    said
}

fn first_row(kind: NeedKind, case: &Case) -> Vec<Cell> {
    let state = match case.state {
        State::Released if kind <= NeedKind::PrintoutTorn => ", released",
        _ => "",
    };
    vec![
        Cell::maybe(case.subject()),
        Cell::maybe(case.when.as_deref().map(day_of)),
        format!("{}{state}", kind.said()).into(),
        Cell::from(case.places.first()),
    ]
}

/// The cautions of what is still open, on the first screen.
fn draw_care(review: &Review, terminal: &Terminal) -> String {
    if review.cautions.is_empty() {
        return String::new();
    }
    format!("\n{}", draw_cautions(&review.cautions, terminal))
}

fn draw_next_steps(review: &Review, terminal: &Terminal) -> String {
    let open: Vec<&Need> = review.needs.iter().filter(|need| need.is_open()).collect();
    if open.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}\n", terminal.heading("WHAT TO DO NEXT"));
    for (n, need) in (1..).zip(&open) {
        let lead = format!("{n:>2}. ");
        let words = format!(
            "{} ({} not settled). {}",
            need.said,
            need.n_for_person(),
            need.next
        );
        out.push_str(&paragraph(&lead, &words, terminal.width));
    }
    out
}

fn draw_need(need: &Need, terminal: &Terminal) -> String {
    let heading = format!("{}: {}", need.said.to_uppercase(), need.n_found);
    let mut out = format!("\n{}\n", terminal.heading(&heading));
    // Whether it is settled or not: whoever works through the list handles what is on it.
    let cautions: BTreeSet<Caution> = need.cases.iter().filter_map(|case| case.caution).collect();
    if !cautions.is_empty() {
        let cautions: Vec<Caution> = cautions.into_iter().collect();
        out.push_str(&draw_cautions(&cautions, terminal));
    }
    let mut table = Table::new([
        Column::words("About"),
        Column::words("When").priority(1),
        Column::number("Number"),
        Column::words("What was seen"),
        Column::words("Signed"),
        Column::place("Where"),
    ]);
    let n_drawn = terminal.n_drawn(need.cases.len(), SHORT_CASES);
    for case in need.cases.iter().take(n_drawn) {
        // The name of a cycle holds that of its unit; a near miss names its loads itself.
        let load = case
            .load
            .as_ref()
            .filter(|_| need.kind != NeedKind::NearMiss);
        let about: Vec<&str> = [load, case.cycle.as_ref().or(case.unit.as_ref())]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect();
        let n = if matches!(
            need.kind,
            NeedKind::LinesUnread | NeedKind::PatientData | NeedKind::PrintoutMissing
        ) {
            Cell::from(case.n)
        } else {
            Cell::Blank
        };
        let signed = match need.kind {
            kind if kind <= NeedKind::EvidenceLacking => Cell::from(case.state_said.clone()),
            _ => Cell::Blank,
        };
        table.push([
            about.join(" ").into(),
            Cell::maybe(case.when.clone()),
            n,
            case.seen.clone().into(),
            signed,
            Cell::from(case.places.first()),
        ]);
    }
    out.push_str(&draw_table(&table.without_blank_columns(), 0, terminal));
    out.push_str(&draw_rest(
        need.cases.len().saturating_sub(n_drawn),
        terminal,
    ));
    out
}

fn draw_programs(review: &Review, terminal: &Terminal) -> String {
    if review.programs.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Unit"),
        Column::words("Program"),
        Column::number("Cycles"),
        Column::number("Complete"),
        Column::number("Aborted"),
        Column::number("Rejected"),
        Column::number("Not proven"),
        Column::place("First").priority(1),
    ]);
    let mut total = [0; 5];
    for row in &review.programs {
        let counts = [
            row.n_cycles,
            row.n_completed,
            row.n_aborted,
            row.n_rejected,
            row.n_unproven,
        ];
        for (sum, n) in total.iter_mut().zip(counts) {
            sum.add_many(n);
        }
        let mut cells = vec![
            name_or_unknown(row.unit.as_deref()),
            name_or_unknown(row.program.as_deref()),
        ];
        cells.extend(counts.map(Cell::from));
        cells.push(Cell::from(&row.first));
        table.push(cells);
    }
    if review.programs.len() > 1 {
        let mut cells = vec![Cell::from("all"), Cell::Blank];
        cells.extend(total.map(Cell::from));
        table.push(cells);
    }
    let mut out = section("CYCLES WITH A LOAD, BY UNIT AND PROGRAM", &table, terminal);
    out.push_str(&paragraph(
        "",
        "Not proven: the printout has no outcome or is torn off. A cycle that was printed more than once counts once.",
        terminal.width,
    ));
    out
}

fn draw_tests(review: &Review, terminal: &Terminal) -> String {
    if review.tests.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Unit"),
        Column::name("Run as"),
        Column::number("Cycles"),
        Column::number("Passed"),
        Column::number("Failed"),
        Column::number("Not proven"),
        Column::place("First").priority(1),
    ]);
    for row in &review.tests {
        table.push([
            name_or_unknown(row.unit.as_deref()),
            row.purpose.word().into(),
            row.n_cycles.into(),
            row.n_passed.into(),
            row.n_failed.into(),
            row.n_unproven.into(),
            Cell::from(&row.first),
        ]);
    }
    section("TESTS AND WARM-UPS, BY UNIT", &table, terminal)
}

fn draw_aborts(review: &Review, terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::name("Process"),
        Column::name("Stage"),
        Column::words("Cause"),
        Column::number("Cycles"),
        Column::words("By unit"),
        Column::name("Newest").priority(1),
        Column::place("Where"),
    ]);
    for row in &review.aborts {
        let AbortRow {
            process,
            stage,
            cause_said,
            n_cycles,
            by_unit,
            cycles,
            ..
        } = row;
        let newest = newest_of(cycles);
        table.push([
            name_or_unknown(*process),
            name_or_unknown(stage.as_deref()),
            name_or_unknown(cause_said.as_deref()),
            (*n_cycles).into(),
            say_by_unit(by_unit).into(),
            Cell::maybe(newest.map(|row| row.cycle.clone())),
            Cell::from(newest.map(|row| &row.place)),
        ]);
    }
    if review.aborts.is_empty() {
        return String::new();
    }
    section("ABORTED CYCLES, BY STAGE AND CAUSE", &table, terminal)
}

fn draw_rejections(review: &Review, terminal: &Terminal) -> String {
    if review.rejections.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Process"),
        Column::words("Cause"),
        Column::number("Loads"),
        Column::words("By unit"),
        Column::name("Newest").priority(1),
        Column::place("Where"),
    ]);
    for row in &review.rejections {
        let newest = newest_of(&row.cycles);
        table.push([
            name_or_unknown(row.process),
            name_or_unknown(row.cause_said.as_deref()),
            row.n_cycles.into(),
            say_by_unit(&row.by_unit).into(),
            Cell::maybe(newest.map(|row| row.cycle.clone())),
            Cell::from(newest.map(|row| &row.place)),
        ]);
    }
    section("LOADS REJECTED BEFORE EXPOSURE, BY CAUSE", &table, terminal)
}

/// What the records of the loads support under the policy, and which rules decide.
fn draw_decisions(review: &Review, terminal: &Terminal) -> String {
    let n_loads: usize = review.decisions.iter().map(|count| count.n_loads).sum();
    if n_loads == 0 {
        return String::new();
    }
    let mut out = format!("\n{}\n", terminal.heading("WHAT THE RECORDS SUPPORT"));
    out.push_str(&draw_policy_notes(&review.policies, terminal));
    out.push_str(&draw_counts(&review.decisions, terminal));
    out.push_str(&draw_rules(&review.rules, &review.notes, terminal));
    out.push_str(&paragraph(
        "",
        "`loadbook release` lists the loads, `loadbook recall` the packages to get back.",
        terminal.width,
    ));
    out
}

/// The decisions in a line, for the first screen.
fn say_decisions(review: &Review) -> Option<(String, String)> {
    let counts: Vec<String> = review
        .decisions
        .iter()
        .filter(|count| count.n_loads > 0)
        .map(|count| format!("{} {}", count.decision.word(), count.n_loads))
        .collect();
    if counts.is_empty() {
        return None;
    }
    let policies: Vec<String> = review
        .policies
        .iter()
        .map(|note| match note.deviations.len() {
            0 => note.name.clone(),
            n => format!("{}, {n} deviations from {}", note.name, note.preset),
        })
        .collect();
    Some((
        "DECISIONS".to_owned(),
        format!("{}. Policy: {}.", counts.join(", "), policies.join("; ")),
    ))
}

fn draw_resets(review: &Review, terminal: &Terminal) -> String {
    if review.counter_resets.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Unit"),
        Column::name("Last of old count"),
        Column::name("First of new count"),
        Column::name("When"),
        Column::name("Service in the log"),
        Column::place("Where").priority(1),
    ]);
    for row in &review.counter_resets {
        table.push([
            row.unit.as_str().into(),
            row.after.as_str().into(),
            row.before.as_str().into(),
            Cell::maybe(row.when.clone()),
            if row.service.is_some() {
                "yes".into()
            } else {
                "none".into()
            },
            Cell::from(row.place.as_ref()),
        ]);
    }
    section("COUNTERS THAT BEGAN AGAIN", &table, terminal)
}

fn draw_clocks(review: &Review, terminal: &Terminal) -> String {
    if review.clocks.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Unit"),
        Column::words("Its clock"),
        Column::name("Usual spread").priority(1),
        Column::name("More than habits explain"),
    ]);
    for row in &review.clocks {
        table.push([
            row.unit.as_str().into(),
            row.said.as_str().into(),
            // Saturates; no clock is off by more.
            length(row.mad_seconds.round() as i64).into(),
            if row.conflict {
                "YES".into()
            } else {
                "no".into()
            },
        ]);
    }
    section("CLOCKS OF UNITS AGAINST THE LOG", &table, terminal)
}

fn draw_inferred(review: &Review, terminal: &Terminal) -> String {
    if review.inferred.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::number("Times"),
        Column::words("What was inferred or left out"),
        Column::place("First"),
    ]);
    let n_drawn = terminal.n_drawn(review.inferred.len(), SHORT_ROWS);
    for row in review.inferred.iter().take(n_drawn) {
        table.push([
            row.n.into(),
            row.reason.as_str().into(),
            Cell::from(row.places.first()),
        ]);
    }
    let mut out = section("WHAT WAS INFERRED", &table, terminal);
    out.push_str(&draw_rest(
        review.inferred.len().saturating_sub(n_drawn),
        terminal,
    ));
    out.push_str(&paragraph(
        "",
        "--strict refuses every line that needs inference.",
        terminal.width,
    ));
    out
}

/// Every cycle that was counted, where all is asked for.
fn draw_counted(review: &Review, terminal: &Terminal) -> String {
    if terminal.extent == Extent::Short || review.cycles.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        Column::name("Cycle"),
        Column::name("Began"),
        Column::name("Load").priority(2),
        Column::name("Program").priority(1),
        Column::name("Outcome"),
        Column::place("Where"),
    ]);
    for counted in &review.cycles {
        table.push([
            counted.row.cycle.as_str().into(),
            Cell::maybe(counted.row.began.clone()),
            Cell::maybe(
                counted
                    .row
                    .load
                    .clone()
                    .or_else(|| Some(counted.purpose.word().to_owned())),
            ),
            Cell::maybe(counted.program.clone()),
            counted.outcome.into(),
            Cell::from(&counted.row.place),
        ]);
    }
    section("EVERY CYCLE COUNTED", &table, terminal)
}

fn draw_closing(terminal: &Terminal) -> String {
    let mut out = format!("\n{}\n", terminal.heading("HOW TO FOLLOW A NUMBER"));
    out.push_str(&paragraph(
        "",
        "`loadbook show UNIT:COUNTER PATH` or `loadbook show LOAD PATH` shows a cycle or load in full, with its lines. \
         --all lists every case and every cycle counted; --format json gives every place. loadbook tells what the \
         records support; people release.",
        terminal.width,
    ));
    out
}

fn section(heading: &str, table: &Table, terminal: &Terminal) -> String {
    format!(
        "\n{}\n{}",
        terminal.heading(heading),
        draw_table(table, 0, terminal)
    )
}

fn newest_of(cycles: &[CycleRow]) -> Option<&CycleRow> {
    cycles.iter().max_by(|a, b| a.began.cmp(&b.began))
}

fn say_by_unit(by_unit: &BTreeMap<String, usize>) -> String {
    let parts: Vec<String> = by_unit
        .iter()
        .map(|(unit, n)| format!("{unit} {n}"))
        .collect();
    parts.join(", ")
}

fn day_of(when: &str) -> &str {
    when.split(' ').next().unwrap_or(when)
}

fn name_or_unknown(name: Option<&str>) -> Cell {
    name.unwrap_or("not printed").into()
}
