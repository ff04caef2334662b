//! Biological indicators that grew, controls that did not, and implants released before the result: facts, listed with
//! what they put in doubt. Read [`find_indicator_facts`] first.

use super::Asking;
use super::catalogue::FindingKind;
use super::finding::{Evidence, Finding, Subject};
use super::frame::{Frame, IndicatorRow, UNKNOWN};
use super::phrase::{Phrase, term};
use super::question::Answer;
use crate::measure::count::Counting;
use crate::reconcile::history::{History, Load};
use crate::record::entry::{BiRole, EntryBody};
use std::collections::BTreeMap;

/// Finds growth, controls without growth, and early releases.
pub fn find_indicator_facts(history: &History, frame: &Frame, asking: &mut Asking) {
    let mut growth = Vec::new();
    let mut controls = Vec::new();
    for row in frame.indicators.iter().filter(|row| row.failed) {
        match row.role {
            Some(BiRole::Test) => growth.push(say_growth(history, frame, row)),
            Some(BiRole::Control) => controls.push(say_control(history, row)),
            None => {}
        }
    }
    let take = |asking: &mut Asking, kind, findings| {
        asking.take(
            kind,
            Answer {
                findings,
                ..Answer::default()
            },
        );
    };
    take(asking, FindingKind::BiGrowth, growth);
    take(asking, FindingKind::BiControlNoGrowth, controls);
    let early = history
        .loads
        .iter()
        .filter_map(|load| say_early_release(history, load))
        .collect();
    take(asking, FindingKind::ReleasedBeforeBi, early);
}

fn load_of<'h>(history: &'h History, row: &IndicatorRow) -> Option<&'h Load> {
    history.loads.get(row.load.0)
}

fn number_of(history: &History, row: &IndicatorRow) -> String {
    load_of(history, row).map_or_else(|| "?".to_owned(), |load| load.number.0.clone())
}

fn evidence_of(row: &IndicatorRow, number: &str) -> Evidence {
    Evidence {
        day: row.at.map(|at| at.date()),
        said: Phrase::of("evidence-bi")
            .and("record", number)
            .and("shown", term("shown", row.shown)),
        span: row.span,
    }
}

fn say_growth(history: &History, frame: &Frame, row: &IndicatorRow) -> Finding {
    let number = number_of(history, row);
    let unit = &row.unit;
    let control = frame.indicators.iter().find(|other| {
        other.role == Some(BiRole::Control)
            && other.lot == row.lot
            && other.incubated == row.incubated
    });
    let control = match control {
        Some(control) if control.failed => "bi-growth-control-dead",
        Some(_) => "bi-growth-control-grew",
        None => "bi-growth-control-none",
    };
    let grew = Phrase::of("bi-growth-said")
        .and("unit", unit)
        .and("load", &number)
        .and("day", row.at.map(|at| at.date()))
        .and("control", Phrase::of(control));
    // Which loads it puts in doubt is drawn by the policy: a second count here could differ from that of the recall sheet.
    let said = Phrase::sentences(vec![grew, Phrase::of("bi-growth-recall")]);
    let subject = Subject {
        unit: Some(unit.clone()),
        lot: Some(row.lot.clone()),
        ..Subject::default()
    };
    let mut finding = Finding::new(FindingKind::BiGrowth, subject, said)
        .of_matter(format!("BI growth of {unit}"));
    finding.else_explains.push(Phrase::of("bi-growth-else"));
    finding.resting_on(vec![evidence_of(row, &number)])
}

fn say_control(history: &History, row: &IndicatorRow) -> Finding {
    let number = number_of(history, row);
    let said = Phrase::of("bi-control-said")
        .and("unit", &row.unit)
        .and("load", &number)
        .and("day", row.at.map(|at| at.date()))
        .and("lot", &row.lot);
    let subject = Subject {
        unit: Some(row.unit.clone()),
        lot: Some(row.lot.clone()),
        ..Subject::default()
    };
    let mut finding = Finding::new(FindingKind::BiControlNoGrowth, subject, said)
        .of_matter(format!("BI control of lot {}", row.lot));
    finding.else_explains.push(Phrase::of("bi-control-else"));
    finding.resting_on(vec![evidence_of(row, &number)])
}

/// A load with an implant that was released before its biological indicator was read.
fn say_early_release(history: &History, load: &Load) -> Option<Finding> {
    let entry = |ix: &crate::reconcile::history::EntryIx| history.entries.get(ix.0);
    let implant = load.contents.iter().filter_map(entry).any(|known| {
        matches!(&known.entry.body, EntryBody::Content(content)
            if content.implant.as_ref().is_some_and(|implant| implant.value))
    });
    if !implant {
        return None;
    }
    let release = load
        .decisions
        .iter()
        .filter_map(entry)
        .find(|known| known.entry.body == EntryBody::Release)?;
    let released = release.written?.local;
    let test = load.bis.iter().filter_map(entry).find(|known| {
        matches!(&known.entry.body, EntryBody::Bi(bi)
            if bi.role.as_ref().is_none_or(|role| role.value == BiRole::Test))
    })?;
    let EntryBody::Bi(bi) = &test.entry.body else {
        return None;
    };
    let read = bi.read.as_ref().map(|stamp| stamp.value.local);
    let too_early = match (read, bi.growth.is_some()) {
        (Some(read), true) => released < read,
        _ => true,
    };
    if !too_early {
        return None;
    }
    let when = match read {
        Some(read) => Phrase::of("early-release-read").and("at", read),
        None => Phrase::of("early-release-unread"),
    };
    let unit = load.unit.as_ref().map(|unit| unit.0.clone());
    let said = Phrase::of("early-release-said")
        .and("load", &load.number.0)
        .and("unit", unit.as_deref().unwrap_or(UNKNOWN))
        .and("at", released)
        .and("when", when);
    let subject = Subject {
        unit,
        factor: Some(Phrase::name(&load.number.0)),
        ..Subject::default()
    };
    let mut finding = Finding::new(FindingKind::ReleasedBeforeBi, subject, said)
        .of_matter("implants released early");
    finding.else_explains.push(Phrase::of("early-release-else"));
    let day = Some(released.date());
    let evidence = vec![
        Evidence {
            day,
            said: Phrase::of("evidence-released").and("record", &load.number.0),
            span: release.entry.span,
        },
        Evidence {
            day: read.map(|at| at.date()),
            said: Phrase::of("evidence-its-bi").and("record", &load.number.0),
            span: test.entry.span,
        },
    ];
    Some(finding.resting_on(evidence))
}

/// So many failures by unit, for the ranking: facts have no p.
pub fn count_growth(frame: &Frame) -> BTreeMap<&str, usize> {
    let mut n: BTreeMap<&str, usize> = BTreeMap::new();
    for row in frame
        .indicators
        .iter()
        .filter(|row| row.failed && row.role == Some(BiRole::Test))
    {
        n.entry(row.unit.as_str()).or_default().add_one();
    }
    n
}
