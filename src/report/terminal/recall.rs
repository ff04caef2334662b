//! Recall sheets, drawn to be printed on 80 columns: a tick box for each package, and lines to sign.

use super::Terminal;
use super::caution::draw_cautions_in_full;
use super::policy::draw_policy_notes;
use super::prose::{paragraph, width_of, wrap};
use super::table::draw_table;
use crate::report::inert;
use crate::report::recall::{
    Asked, CallWord, CheckRow, LotRow, RecallReport, SetRow, Sheet, SheetLoad, SheetRow, Totals,
    Where,
};
use crate::report::table::{Cell, Column, Table};

/// So many packages of one set have a box each; more share one box and a count to fill in.
const MOST_BOXES: u32 = 4;
/// Columns left of a set's name: the boxes.
const BOXES: usize = 14;

/// Columns that hold what is signed for.
const LABEL: usize = 42;

/// Draws the sheets.
pub fn draw_recall(report: &RecallReport, terminal: &Terminal) -> String {
    let mut out = draw_title(report, terminal);
    out.push_str(&draw_policy_notes(&report.policies, terminal));
    for (n, sheet) in report.sheets.iter().enumerate() {
        let heading = format!(
            "RECALL SHEET {} of {}: {}",
            n.saturating_add(1),
            report.sheets.len(),
            inert::text(&sheet.title)
        );
        out.push_str(&format!("\n{}", rule_of("=", terminal)));
        for line in wrap(&heading, terminal.width) {
            out.push_str(&format!("{}\n", terminal.heading(&line)));
        }
        out.push_str(&draw_sheet(sheet, report, terminal));
    }
    if !report.without_role.is_empty() {
        out.push_str(&format!("\n{}\n", terminal.heading("FIND OUT FIRST")));
        out.push_str(&draw_checks(&report.without_role, terminal));
    }
    out
}

fn rule_of(mark: &str, terminal: &Terminal) -> String {
    format!("{}\n", mark.repeat(terminal.width.min(80)))
}

fn draw_title(report: &RecallReport, terminal: &Terminal) -> String {
    let mut words = match (&report.asked, report.sheets.len()) {
        (Asked::Growth, 0) => "no biological indicator grew in these records.".to_owned(),
        (Asked::Growth, 1) => "1 scope of a biological indicator that grew.".to_owned(),
        (Asked::Growth, n) => format!("{n} scopes of biological indicators that grew."),
        (Asked::Lot { lot, .. }, 0) => format!("no record has lot {lot}."),
        (Asked::Lot { lot, .. }, _) => format!("the loads that used lot {lot}."),
    };
    if let Some(as_of) = &report.as_of {
        words.push_str(&format!(" As of {}.", as_of.local.format("%Y-%m-%d %H:%M")));
    }
    if let Some(scope) = report.scope.said() {
        words.push_str(&format!(" Narrowed: {scope}."));
    }
    terminal.lead("RECALL", &words)
}

fn draw_sheet(sheet: &Sheet, report: &RecallReport, terminal: &Terminal) -> String {
    let mut out = String::new();
    for growth in &sheet.growths {
        let about: Vec<&str> = [&growth.load, &growth.cycle, &growth.began]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect();
        let words = format!(
            "{}: {} ({})",
            about.join(", "),
            growth.said,
            terminal.place(&growth.place)
        );
        out.push_str(&terminal.lead("WHY", &words));
        if let Some(spores) = &growth.spores {
            out.push_str(&paragraph("  ", &spores.said, terminal.width));
        }
    }
    for (n, said) in sheet.scope.iter().enumerate() {
        out.push_str(&match n {
            0 => terminal.lead("SCOPE", said),
            _ => paragraph("  ", said, terminal.width),
        });
    }
    if !sheet.scope_places.is_empty() {
        let places: Vec<String> = sheet
            .scope_places
            .iter()
            .map(|place| terminal.place(place))
            .collect();
        let words = format!("Its boundaries: {}", places.join(", "));
        out.push_str(&paragraph("  ", &words, terminal.width));
    }
    out.push_str(&terminal.lead("TO GET BACK", &say_totals(&sheet.totals)));
    out.push_str(&draw_cautions_in_full(&report.cautions, terminal));
    out.push_str(&format!("\n{}\n", terminal.heading("WHAT TO DO")));
    for (n, step) in sheet.steps.iter().enumerate() {
        let lead = format!("{:>2}. ", n.saturating_add(1));
        out.push_str(&paragraph(&lead, step, terminal.width));
    }
    out.push_str(&format!("\n{}\n", terminal.heading("PACKAGES")));
    out.push_str(&paragraph(
        "",
        "[ ] a package to find and tick; [ ] ___ of n: write how many were found. No box: not to be looked for.",
        terminal.width,
    ));
    for row in &sheet.rows {
        match row {
            SheetRow::Missing { said, place, .. } => {
                let at = place
                    .as_ref()
                    .map(|place| format!(" (after {})", terminal.place(place)));
                let words = format!("{said}{}", at.unwrap_or_default());
                out.push('\n');
                out.push_str(&paragraph("?? ", &words, terminal.width));
            }
            SheetRow::Load(load) => out.push_str(&draw_load(load, terminal)),
        }
    }
    if !sheet.not_ending.is_empty() {
        out.push_str(&format!(
            "\n{}\n",
            terminal.heading("TESTS WITHIN THE SCOPE THAT DO NOT END IT")
        ));
        out.push_str(&draw_checks(&sheet.not_ending, terminal));
    }
    if !sheet.checks.is_empty() {
        out.push_str(&format!("\n{}\n", terminal.heading("ALSO CHECK")));
        out.push_str(&draw_checks(&sheet.checks, terminal));
    }
    if !sheet.lots.is_empty() {
        out.push_str(&draw_lots(&sheet.lots, terminal));
    }
    out.push_str(&draw_signatures(&sheet.totals, terminal));
    let sources = format!("Source: {}.", sheet.sources.join("; "));
    out.push_str(&paragraph("", &sources, terminal.width));
    out
}

fn say_totals(totals: &Totals) -> String {
    let n =
        |n: u64, one: &str, several: &str| format!("{n} {}", if n == 1 { one } else { several });
    let mut said = format!(
        "{}, {}, {}, {}.",
        n(totals.n_loads as u64, "load", "loads"),
        n(totals.n_sets as u64, "set", "sets"),
        n(totals.n_items, "item", "items"),
        n(totals.n_packages, "package", "packages"),
    );
    let mut places = Vec::new();
    for (loads, packages, words) in [
        (
            totals.n_loads_left,
            totals.n_packages_left,
            "released and gone",
        ),
        (
            totals.n_loads_called_back,
            totals.n_packages_called_back,
            "called back in the log",
        ),
        (
            totals.n_loads_here,
            totals.n_packages_here,
            "should still be here",
        ),
    ] {
        if loads > 0 {
            // What the log does not count is none the fewer for it.
            let packages = match packages {
                0 => "packages not counted".to_owned(),
                packages => n(packages, "package", "packages"),
            };
            places.push(format!(
                "{words}: {packages} of {}",
                n(loads as u64, "load", "loads")
            ));
        }
    }
    if !places.is_empty() {
        said.push_str(&format!(" Of these {}.", places.join("; ")));
    }
    if totals.n_sets_uncounted > 0 {
        said.push_str(&format!(
            " Of {} the log does not count the packages.",
            n(totals.n_sets_uncounted as u64, "set", "sets")
        ));
    }
    if totals.n_loads_unlisted > 0 {
        said.push_str(&format!(
            " Of {} the log lists no contents: ask who packed.",
            n(totals.n_loads_unlisted as u64, "load", "loads")
        ));
    }
    if totals.n_cycles_missing > 0 {
        said.push_str(&format!(
            " {} without a printout may hold more.",
            n(totals.n_cycles_missing, "cycle", "cycles")
        ));
    }
    said
}

fn draw_load(load: &SheetLoad, terminal: &Terminal) -> String {
    let name = load.load.as_deref().unwrap_or("no load number");
    let mut parts: Vec<String> = Vec::new();
    parts.extend(load.cycle.clone());
    parts.extend(load.began.clone());
    if load.outcome != "completed" {
        parts.push(load.outcome.to_owned());
    }
    if load.grew {
        parts.push("ITS BI GREW".to_owned());
    }
    parts.push(match load.whereabouts {
        Where::Left => format!("LEFT, {}", load.signed),
        Where::CalledBack => load.signed.clone(),
        Where::Here => format!("here, {}", load.signed),
    });
    if let Some(place) = &load.place {
        parts.push(terminal.place(place));
    }
    let mut out = String::from("\n");
    out.push_str(&terminal.lead(&inert::text(name), &parts.join("; ")));
    for note in load.not_counted.iter().chain(&load.notes) {
        out.push_str(&paragraph("  ", &format!("({note})"), terminal.width));
    }
    for set in &load.sets {
        out.push_str(&draw_set(set, terminal));
    }
    out
}

fn draw_set(set: &SetRow, terminal: &Terminal) -> String {
    let boxes = match (set.call, set.n_packages) {
        (CallWord::Wait, _) => "wait".to_owned(),
        (CallWord::Cleared, _) => "need not".to_owned(),
        (CallWord::GetBack, Some(n)) if n > 0 && n <= MOST_BOXES => {
            let boxes: Vec<&str> = (0..n).map(|_| "[ ]").collect();
            boxes.concat()
        }
        (CallWord::GetBack, Some(n)) => format!("[ ] ___ of {n}"),
        (CallWord::GetBack, None) => "[ ] ___ of ?".to_owned(),
    };
    let mut words = match (&set.set, set.is_listed()) {
        (Some(name), _) => name.clone(),
        (None, true) => "no set named".to_owned(),
        (None, false) => "contents not listed in the log: ask who packed it".to_owned(),
    };
    if set.implant == Some(true) {
        words.push_str(", IMPLANT");
    }
    let count = |n: Option<u32>, one: &str, several: &str| {
        n.map(|n| format!(", {n} {}", if n == 1 { one } else { several }))
            .unwrap_or_default()
    };
    words.push_str(&count(set.n_items, "item", "items"));
    words.push_str(&count(set.n_packages, "package", "packages"));
    if let Some(packaging) = &set.packaging {
        words.push_str(&format!(", {packaging}"));
    }
    if set.is_listed() {
        match &set.to {
            Some(to) => words.push_str(&format!("; to {to}")),
            None => words.push_str("; not written where to"),
        }
    }
    if let Some(again) = &set.again {
        words.push_str(&format!(" ({again})"));
    }
    let lead = format!("  {boxes:<BOXES$}");
    let lead = if width_of(&lead) > BOXES + 2 {
        format!("  {boxes} ")
    } else {
        lead
    };
    paragraph(&lead, &words, terminal.width)
}

fn draw_checks(checks: &[CheckRow], terminal: &Terminal) -> String {
    let mut out = String::new();
    for check in checks {
        let at = check
            .place
            .as_ref()
            .map(|place| format!(" ({})", terminal.place(place)));
        let words = format!("{}{}", check.said, at.unwrap_or_default());
        out.push_str(&paragraph("- ", &words, terminal.width));
    }
    out
}

fn draw_lots(lots: &[LotRow], terminal: &Terminal) -> String {
    let mut table = Table::new([
        Column::name("Kind"),
        Column::name("Lot"),
        Column::number("Loads"),
        Column::number("Not on this sheet"),
        Column::words("By unit"),
        Column::words("Days"),
    ]);
    for lot in lots {
        let by_unit: Vec<String> = lot
            .by_unit
            .iter()
            .map(|(unit, n)| format!("{unit} {n}"))
            .collect();
        table.push([
            lot.kind.into(),
            lot.lot.as_str().into(),
            lot.n_loads.into(),
            lot.n_elsewhere.into(),
            by_unit.join(", ").into(),
            Cell::maybe(lot.days.as_ref().map(|(first, last)| match first == last {
                true => first.clone(),
                false => format!("{first} to {last}"),
            })),
        ]);
    }
    let mut out = format!(
        "\n{}\n{}",
        terminal.heading("WHERE ELSE THE LOTS WERE USED"),
        draw_table(&table, 0, terminal)
    );
    out.push_str(&paragraph(
        "",
        "`loadbook recall --lot LOT PATH` lists the loads of a lot.",
        terminal.width,
    ));
    out
}

fn draw_signatures(totals: &Totals, terminal: &Terminal) -> String {
    let mut out = format!("\n{}\n", terminal.heading("SIGNED"));
    let found = format!("Found ______ of {} packages", totals.n_packages);
    let room = (terminal.width.min(80).saturating_sub(LABEL + 2) / 2).max(6);
    let line = "_".repeat(room);
    for words in [
        found.as_str(),
        "Used and not to be found ______ packages",
        "Infection prevention told",
        "Unit taken out of use",
        "Sheet closed",
    ] {
        out.push_str(&format!("{words:<LABEL$}{line}  {line}\n"));
    }
    out.push_str(&format!("{:<LABEL$}{:<room$}  by\n\n", "", "when"));
    out
}
