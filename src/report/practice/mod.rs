//! A small invented day for the tests of reports: strips and a log page, read by the parsers and joined.

use crate::parse::{Records, Strictness, read_inputs};
use crate::reconcile::history::{
    CycleIx, EntryIx, History, KnownCycle, KnownEntry, Lack, Load, LoadIx, MissingPrintouts,
    Moment, Unit,
};
use crate::record::Inferred;
use crate::record::entry::EntryBody;
use crate::source::gather::{Input, Sources};

pub(crate) struct Day {
    pub sources: Sources,
    pub records: Records,
    pub history: History,
}

pub(crate) fn day() -> Day {
    let inputs = vec![
        Input::from_bytes("printouts/strips.txt", include_bytes!("strips.txt")),
        Input::from_bytes("logs/page.log", include_bytes!("page.log")),
    ];
    let (sources, records) = read_inputs(inputs, Strictness::Infer, |_| {});
    let history = history(&records);
    Day {
        sources,
        records,
        history,
    }
}

fn history(records: &Records) -> History {
    let mut history = History::default();
    let mut cycles = records.cycles.clone();
    cycles.sort_by_key(|c| {
        (
            c.unit.as_ref().map(|u| u.value.clone()),
            c.started.as_ref().map(|s| s.value.local),
        )
    });
    for cycle in cycles {
        let moment = cycle.started.as_ref().map(|s| Moment {
            local: s.value.local,
            utc: None,
        });
        history.cycles.push(KnownCycle {
            began: moment.map(Inferred::printed),
            ended: None,
            reprints: Vec::new(),
            load: None,
            first_of_day: false,
            cycle,
        });
    }
    for entry in records.entries.clone() {
        let written = entry.written.as_ref().map(|s| Moment {
            local: s.value.local,
            utc: None,
        });
        history.entries.push(KnownEntry { entry, written });
    }
    let mut numbers: Vec<_> = history
        .cycles
        .iter()
        .filter_map(|k| k.cycle.load.as_ref())
        .chain(history.entries.iter().filter_map(|k| k.entry.load.as_ref()))
        .map(|l| l.value.clone())
        .collect();
    numbers.sort();
    numbers.dedup();
    for number in numbers {
        let ix = LoadIx(history.loads.len());
        let mut load = Load {
            number: number.clone(),
            unit: None,
            first: None,
            cycles: vec![],
            starts: vec![],
            contents: vec![],
            cis: vec![],
            bis: vec![],
            superseded_bis: vec![],
            decisions: vec![],
            remarks: vec![],
            lacking: vec![],
        };
        for (n, k) in history.cycles.iter_mut().enumerate() {
            if k.cycle.load.as_ref().is_some_and(|l| l.value == number) {
                k.load = Some(ix);
                load.unit = k.cycle.unit.as_ref().map(|u| u.value.clone());
                load.first = k.began.as_ref().map(|b| b.value);
                load.cycles.push(CycleIx(n));
            }
        }
        for (n, k) in history.entries.iter().enumerate() {
            if k.entry.load.as_ref().is_some_and(|l| l.value == number) {
                let list = match k.entry.body {
                    EntryBody::Load(_) => &mut load.starts,
                    EntryBody::Content(_) => &mut load.contents,
                    EntryBody::Ci(_) => &mut load.cis,
                    EntryBody::Bi(_) => &mut load.bis,
                    EntryBody::Release | EntryBody::Hold | EntryBody::Recall => &mut load.decisions,
                    _ => &mut load.remarks,
                };
                list.push(EntryIx(n));
            }
        }
        if number.0 == "E1-0311-01" {
            load.lacking.push(Lack::BiNotRead);
        }
        if load.decisions.is_empty() {
            load.lacking.push(Lack::NotSigned);
        }
        history.loads.push(load);
    }
    let mut units: Vec<_> = history
        .cycles
        .iter()
        .filter_map(|k| k.cycle.unit.as_ref())
        .map(|u| u.value.clone())
        .collect();
    units.dedup();
    for name in units {
        history.units.push(Unit {
            name,
            process: None,
            serials: vec![],
            software: vec![],
            cycles: vec![],
            services: vec![],
            clock: None,
        });
    }
    let at = |counter: u32| {
        CycleIx(
            history
                .cycles
                .iter()
                .position(|k| k.cycle.counter.as_ref().is_some_and(|c| c.value == counter))
                .unwrap(),
        )
    };
    history.missing.push(MissingPrintouts {
        unit: crate::record::name::UnitName("PL-1".into()),
        first: 1045,
        last: 1047,
        after: at(1044),
        before: at(1048),
    });
    history
}

#[test]
fn print() {
    use crate::report::{review, scope, terminal};
    use terminal::{Color, Extent, Terminal};
    let day = day();
    let scope = scope::Scope::default();
    let as_of = review::AsOf {
        local: "2026-03-12T14:00:00".parse().unwrap(),
        newest_record: None,
        n_later: 0,
    };
    let reviewed = review::Reviewed {
        history: &day.history,
        files: day.sources.files(),
        unread: &day.records.unread,
        diagnostics: &day.records.diagnostics,
        lines: &day.sources,
        scope: &scope,
        as_of: Some(&as_of),
    };
    let width = std::env::var("W").map_or(80, |w| w.parse().unwrap());
    let t = Terminal {
        width,
        color: Color::Plain,
        extent: Extent::Short,
    };
    println!(
        "{}",
        terminal::review::draw_review(&review::write_review(&reviewed), &t)
    );
    println!(
        "=================== show\n{}",
        terminal::show::draw_shown(
            &crate::report::show::find_shown("pl-1:1042", &reviewed).unwrap(),
            &t
        )
    );
    let rr = crate::report::read::Reading {
        files: day.sources.files(),
        history: &day.history,
        unread: &day.records.unread,
        diagnostics: &day.records.diagnostics,
        lines: &day.sources,
        scope: &scope,
    };
    println!(
        "=================== read\n{}",
        terminal::read::draw_read_report(
            &crate::report::read::write_read_report(&rr),
            &day.sources,
            &t
        )
    );
}
