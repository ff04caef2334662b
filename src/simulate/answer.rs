//! The answer sheet: the truth of a run, told to people in Markdown.
//!
//! It stands outside the folder of the records, so that a review can't read it. Read [`write_answer_sheet`] first.

use super::Plan;
use super::department::units;
use super::trouble::{
    self, AERATION_SHORT_DAY, AERATION_STOPPED_DAY, BAD_CI_LOT_INDEX, BI_GROWTH_DAY, CONTROL_DAY,
    EARLY_RELEASE_DAY, PAGE_DAY, RESET_DAY, SOFTWARE_DAY, Troubles, UNSIGNED_DAY,
};
use super::truth::{Listed, Truth, day_text};
use std::io::{self, Write};

/// Writes the answer sheet. `command` is the command that made the records, as it was typed.
///
/// # Errors
/// Those of `out`.
pub fn write_answer_sheet(
    plan: &Plan,
    truth: &Truth,
    command: &str,
    out: &mut impl Write,
) -> io::Result<()> {
    let last = plan.date(plan.n_days.saturating_sub(1));
    writeln!(out, "# Answer sheet to practice records\n")?;
    writeln!(
        out,
        "For practice only. Fennmarsh General and its day-surgery annexe do not exist; no unit, load or person here is \
         real. The records were made by\n\n```sh\n{command}\n```\n\nwith seed {}, for the {} days from {} to {}. The \
         same command makes the same records and this sheet, byte for byte. The sheet stands outside the folder of \
         the records, so that a review of that folder can't read it.\n",
        plan.seed,
        plan.n_days,
        day_text(plan.from),
        day_text(last)
    )?;
    writeln!(
        out,
        "What a review should say, as given here, is common practice and defers to the device's instructions for use, \
         local policy and licensed practice.\n"
    )?;
    write_counts(truth, out)?;
    if plan.troubles == Troubles::Planted {
        write_troubles(plan, truth, out)?;
    } else {
        writeln!(out, "## Planted troubles\n\nNone.\n")?;
    }
    write_texture(plan, truth, out)
}

fn write_counts(truth: &Truth, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "## Counts\n")?;
    writeln!(
        out,
        "The files hold printouts of {} cycles, each counted once; {} of them are printed twice. {} cycles ran and have \
         no printout. The logs hold {} entries. {} completed loads hold an implant.\n",
        truth.n_printouts(),
        truth.reprints.n,
        truth.missing_printouts.n,
        truth.n_entries,
        truth.n_implant_loads
    )?;
    writeln!(
        out,
        "| unit | purpose | outcome | cycles |\n| - | - | - | -: |"
    )?;
    for ((unit, purpose, outcome), n) in &truth.n_cycles {
        writeln!(out, "| {unit} | {purpose} | {outcome} | {n} |")?;
    }
    writeln!(
        out,
        "\n| unit | aborted in stage | cause | cycles |\n| - | - | - | -: |"
    )?;
    for ((unit, stage, cause), n) in &truth.aborts {
        writeln!(out, "| {unit} | {stage} | {cause} | {n} |")?;
    }
    writeln!(
        out,
        "\n| unit | load rejected because | cycles |\n| - | - | -: |"
    )?;
    for ((unit, cause), n) in &truth.rejections {
        writeln!(out, "| {unit} | {cause} | {n} |")?;
    }
    writeln!(out)
}

fn write_troubles(plan: &Plan, truth: &Truth, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "## Planted troubles\n")?;
    let mut n = 0;
    let mut heading = |out: &mut dyn Write, day: Option<u32>, words: &str| {
        n += 1;
        let reached = day.is_none_or(|day| day < plan.n_days);
        let left = if reached {
            ""
        } else {
            " (not planted: the records end before it)"
        };
        writeln!(out, "### {n}. {words}{left}\n").map(|()| reached)
    };
    if heading(out, None, "PL-2 pumps down ever more slowly")? {
        writeln!(
            out,
            "The evacuation grows by {:.1} % a week, towards its limit of 20 minutes. A review should show the trend \
             within each program, because programs differ in length and the first cycle of a day is slower, say when it would reach the limit, and ask for a look at the pump, its oil and the seals before loads abort.\n",
            100.0 * trouble::PUMP_DOWN_GROWTH
        )?;
        writeln!(
            out,
            "| week | completed cycles | mean evacuation, min |\n| -: | -: | -: |"
        )?;
        for (week, mean) in truth.pump_down.iter().take(60) {
            writeln!(out, "| {week} | {} | {:.2} |", mean.n, mean.mean() / 60.0)?;
        }
        writeln!(out)?;
    }
    if heading(out, None, "The leak rate of ST-2 creeps towards its limit")? {
        writeln!(
            out,
            "Every test passes, and the rate comes nearer to 1.3 mbar/min from week to week. A review should show it \
             before a test fails, and ask for a look at the door seal and the valves.\n"
        )?;
        writeln!(
            out,
            "| week | tests | mean leak rate, mbar/min |\n| -: | -: | -: |"
        )?;
        for (week, mean) in truth.leak.iter().take(60) {
            writeln!(out, "| {week} | {} | {:.2} |", mean.n, mean.mean() / 100.0)?;
        }
        writeln!(out)?;
    }
    if heading(out, None, "ENT scopes abort for moisture on the late shift")? {
        writeln!(
            out,
            "At the General, a plasma load with an ENT scope on the late shift aborts for moisture with a probability of \
             {:.1} %, every other load with {:.1} %. Neither the set nor the shift alone explains it. A review should show \
             the two together with their counts, and ask how these scopes are dried in the evening. All cycles that ran, \
             rejections left out, with or without printout:\n",
            100.0 * trouble::MOISTURE_RATE_ENT_LATE,
            100.0 * trouble::MOISTURE_RATE
        )?;
        writeln!(
            out,
            "| load | shift | cycles | aborted for moisture |\n| - | - | -: | -: |"
        )?;
        for ((sets, shift), share) in &truth.moisture {
            writeln!(out, "| {sets} | {shift} | {} | {} |", share.of, share.n)?;
        }
        writeln!(out)?;
    }
    let bad_lot_day = BAD_CI_LOT_INDEX * 12;
    if heading(
        out,
        Some(bad_lot_day),
        "A bad lot of internal CIs on two units",
    )? {
        writeln!(
            out,
            "The lot is in use at the General from {} to {}, on PL-1 and PL-2; with it an internal CI does not show its \
             endpoint with a probability of {:.1} %, otherwise with {:.1} %. The annexe has another lot. A review should \
             see that the failures follow the lot and not a unit, and say that each load stays held: \
             that the lot is to blame is a guess until the manufacturer or a comparison with another lot has shown it.\n",
            day_text(plan.date(bad_lot_day)),
            day_text(plan.date(bad_lot_day + 11)),
            100.0 * trouble::CI_FAULT_RATE_BAD_LOT,
            100.0 * trouble::CI_FAULT_RATE
        )?;
        write_rows(truth.planted.get("ci-lot"), out)?;
        writeln!(out, "Internal plasma CIs in the log by lot and unit:\n")?;
        writeln!(
            out,
            "| lot | unit | CIs | endpoint not shown |\n| - | - | -: | -: |"
        )?;
        for ((lot, unit), share) in truth.cis.iter().take(120) {
            if unit.starts_with("PL-") {
                writeln!(out, "| {lot} | {unit} | {} | {} |", share.of, share.n)?;
            }
        }
        writeln!(out)?;
    }
    if heading(out, Some(BI_GROWTH_DAY), "A BI of PL-1 grows")? {
        write_rows(truth.planted.get("bi-growth"), out)?;
        writeln!(
            out,
            "Its control grew, so the test is valid. The next day has no BI on PL-1, and the next negative one is of two \
             days later. The log calls back that one load. A review should say that the scope is larger: after a positive \
             BI in a process other than steam, everything since the cycle with the last negative BI up to the next \
             satisfactory one (CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, \
             recommendations on sterilization, 16). The loads of PL-1, in order; those between \
             the two negative BIs are the scope:\n"
        )?;
        write_rows(Some(&truth.recall_scope), out)?;
    }
    if heading(out, Some(CONTROL_DAY), "A control BI does not grow")? {
        write_rows(truth.planted.get("control"), out)?;
        writeln!(
            out,
            "The test BI of that load shows no growth, and neither does the control: the test proves nothing (CDC, \
             Guidelines for Infection Control in Dental Health-Care Settings, MMWR 52(RR-17), 2003, VI.F.6, asks for a \
             control of the same lot). A review should not count it as negative, and should ask for incubator and lot to \
             be checked.\n"
        )?;
    }
    if heading(
        out,
        Some(EARLY_RELEASE_DAY),
        "An implant released before its BI was read",
    )? {
        write_rows(truth.planted.get("early-release"), out)?;
        writeln!(
            out,
            "The BI shows no growth later on. A review should say that the release came before the evidence (MMWR \
             52(RR-17), 2003, VI.F.7: quarantined until the results are known), whatever the result.\n"
        )?;
    }
    if heading(out, Some(65), "PL-3 rejects loads for an obstructed sensor")? {
        write_rows(truth.planted.get("sensor"), out)?;
        writeln!(
            out,
            "So many within four days, and none on other days or units. A review should say that they come in a \
             cluster on one unit, and ask for a look at the sensor and at how its loads are laid.\n"
        )?;
    }
    if heading(
        out,
        Some(AERATION_STOPPED_DAY),
        "Aerations of EO-1 cut short",
    )? {
        write_rows(truth.planted.get("aeration"), out)?;
        if AERATION_SHORT_DAY >= plan.n_days {
            writeln!(
                out,
                "The second one is not planted: the records end before it.\n"
            )?;
        }
        writeln!(
            out,
            "One says so in its outcome; one is printed as completed and signed, and only its stage is shorter than its \
             limit. A review should name both, with the caution that ethylene oxide is toxic, a carcinogen and flammable, \
             and that the load needs the rest of its aeration by the instructions for use before anyone handles it \
             (8 to 12 hours at 50 to 60 °C: CDC 2008, Table 1).\n"
        )?;
    }
    if heading(out, None, "BIs read late at weekends")? {
        writeln!(
            out,
            "A BI is due 24 hours after it was put to incubation. A review should show that those due at a weekend are \
             read late far more often (the annexe is closed then). Test vials read more than 30 hours after:\n"
        )?;
        writeln!(out, "| due on a | read | late |\n| - | -: | -: |")?;
        for (day, share) in &truth.bi_reads {
            writeln!(out, "| {day} | {} | {} |", share.of, share.n)?;
        }
        writeln!(out)?;
    }
    if heading(out, Some(UNSIGNED_DAY), "A late shift without signatures")? {
        writeln!(
            out,
            "No one signed these completed loads of one evening at the General. A review should list them as not signed, \
             beside the single ones below.\n"
        )?;
        write_rows(truth.planted.get("unsigned"), out)?;
    }
    if heading(
        out,
        Some(SOFTWARE_DAY.min(RESET_DAY)),
        "Services and clocks",
    )? {
        write_rows(truth.planted.get("service"), out)?;
        writeln!(
            out,
            "A counter that begins again after service is not a gap, and new software with a counter that goes on is not a \
             new unit. The clock of PL-3 is set to summer time three days late: until then its strips are an hour behind \
             the log. The clock of ST-2 gains ten seconds a day, from a minute and a half behind to a quarter of an hour \
             ahead in three months. A review should state the other clocks as steady: PL-1 1 min ahead, PL-2 2 min \
             behind, PL-3 4 min ahead, ST-1 right, EO-1 2 min ahead.\n"
        )?;
    }
    if heading(out, Some(PAGE_DAY), "A page without order")? {
        write_rows(truth.planted.get("page"), out)?;
        writeln!(
            out,
            "The General's page of that late shift stands in the log after the next day's. Nothing is missing; a review \
             should not mind.\n"
        )?;
    }
    Ok(())
}

fn write_texture(plan: &Plan, truth: &Truth, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "## What is usual and still has to be seen\n")?;
    writeln!(out, "### Missing printouts\n")?;
    writeln!(
        out,
        "The counter skips these; the log may know the load. Those of the very first or last cycles of a unit can't be \
         seen from the counter.\n"
    )?;
    write_rows(Some(&truth.missing_printouts), out)?;
    writeln!(out, "### Printed twice\n")?;
    write_rows(Some(&truth.reprints), out)?;
    writeln!(out, "### Slips of the hand in the log\n")?;
    for (slip, listed) in &truth.slips {
        writeln!(out, "{} ({}):\n", slip.said(), listed.n)?;
        write_rows(Some(listed), out)?;
    }
    writeln!(out, "### Not signed\n")?;
    write_rows(Some(&truth.unsigned), out)?;
    writeln!(out, "### BI still to be read on the last day\n")?;
    write_rows(Some(&truth.bi_pending), out)?;
    writeln!(out, "### Units\n")?;
    let n_copies = plan
        .n_cycles_per_day
        .unwrap_or(super::department::N_CYCLES_PER_DAY)
        .max(1)
        .div_ceil(super::department::N_CYCLES_PER_DAY);
    writeln!(
        out,
        "| unit | process | place | serial | prints |\n| - | - | - | - | - |"
    )?;
    for unit in units(n_copies.min(20)) {
        writeln!(
            out,
            "| {} | {} | {} | {} | {}, {} |",
            unit.name,
            unit.process.word(),
            unit.site.place(),
            unit.serial,
            unit.gauges.pressure.symbol(),
            unit.gauges.temperature.symbol()
        )?;
    }
    Ok(())
}

fn write_rows(listed: Option<&Listed>, out: &mut dyn Write) -> io::Result<()> {
    let Some(listed) = listed.filter(|listed| listed.n > 0) else {
        return writeln!(out, "- none\n");
    };
    for row in &listed.rows {
        writeln!(out, "- {row}")?;
    }
    if listed.n > listed.rows.len() {
        writeln!(out, "- … {} more", listed.n - listed.rows.len())?;
    }
    writeln!(out)
}
